//! Tests that run the program as a person or a script would.

mod advise;
mod commands;
mod demo;
mod practice;
mod simulate;
