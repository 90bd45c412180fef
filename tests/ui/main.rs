//! The window, driven by its accessible names: no display and no graphics processor needed.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod beliefs;
mod covered;
mod entry;
mod exercises;
#[path = "../shared/folders.rs"]
mod folders;
mod forms;
mod import;
mod keeper;
mod keeping;
mod live;
mod opening;
mod opening_entry;
mod pages;
mod painter;
mod panels;
mod pictures;
mod practice;
mod slips;
mod support;
mod widgets;
mod words;
