//! The practice bench and the demo notebook.

mod demo;
