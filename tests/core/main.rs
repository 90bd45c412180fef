//! Tests of the library without a window, one file an area.
mod advisor;
mod control;
mod exchange;
mod infer;
mod layers;
mod open_data;
mod practice;
mod puck;
mod rules;
mod store;
mod trace;
