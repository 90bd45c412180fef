//! Tests of the library without a window, one file an area.
mod control;
mod layers;
mod sensory;
