//! Tests of the core: no window, no command line.

mod puck;
