//! Tests of the library without a window, one file an area.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod advisor;
mod advisor_slips;
mod capture;
mod control;
mod exchange;
#[path = "../shared/folders.rs"]
mod folders;
mod fuzz;
mod fuzz_advise;
mod infer;
mod layers;
mod open_data;
mod practice;
mod published;
mod puck;
mod rules;
mod sensory;
mod store;
mod trace;
mod trace_clean;
mod trace_filters;
mod trace_truth;
mod words;
