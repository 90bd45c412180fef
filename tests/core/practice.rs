//! The practice bench and the demo notebook.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::panic)]

mod bench;
mod demo;
mod fits;
mod packs;
mod sitting;
