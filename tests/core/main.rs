//! Tests of the library without a window, one file an area.
mod control;
mod exchange;
mod layers;
mod open_data;
mod practice;
mod puck;
mod sensory;
mod store;
mod trace;
mod trace_truth;
