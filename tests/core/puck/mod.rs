//! The puck simulator against published tables, exact solutions, real pulls and its own promises.

mod composed;
mod emulator;
mod exact;
mod hydraulics;
mod measured;
mod nonlinear;
mod open_data;
mod properties;
mod water;
