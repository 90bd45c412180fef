//! Core tests: everything that needs no window.

mod exchange;
mod open_data;
mod trace;
//! Tests of the library without a window, one file an area.
mod control;
mod layers;
mod practice;
mod puck;

mod store;
