//! Core tests: everything that needs no window.

mod exchange;
mod open_data;
mod trace;
