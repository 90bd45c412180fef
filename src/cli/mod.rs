//! Commands beside the window.

pub mod advise;
