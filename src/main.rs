//! Chooses the window or a command; everything else is in the library.

fn main() {}
