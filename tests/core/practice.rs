//! The practice bench and the demo notebook.

mod bench;
mod demo;
mod packs;
mod sitting;
