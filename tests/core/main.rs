//! Tests of the library without a window, one file an area.
mod layers;
mod practice;

mod store;
