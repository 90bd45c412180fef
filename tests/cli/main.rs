//! Tests that run the program as a person or a script would.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod advise;
mod commands;
mod demo;
#[path = "../shared/folders.rs"]
mod folders;
mod keeping;
mod opening;
mod picture;
mod practice;
mod read;
mod replay;
mod simulate;
mod tasting;
