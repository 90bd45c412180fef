//! The puck simulator against published tables, exact solutions, real pulls and its own promises.

// Helpers of tests may fail loudly.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::type_complexity,
    clippy::needless_range_loop
)]

mod composed;
mod drives;
mod emulator;
mod exact;
mod film;
mod hydraulics;
pub mod measured;
mod nonlinear;
pub mod open_data;
mod properties;
mod saturation;
mod water;
