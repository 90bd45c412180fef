//! Tests that run the program as a person or a script would.
mod simulate;

mod commands;
mod demo;
mod practice;
