//! Thirdpull helps people dial in espresso: it keeps a bean-by-bean notebook, reads and overlays shot
//! traces, models the puck, and says what to change next, by how much on the person's own grinder, what to
//! expect, how sure it is, and why.
//!
//! The modules stand on floors; a module uses only floors below its own (a test keeps this true).
//! `DEVELOPERS.md` has the picture.

// Floor 0
#[macro_use]
pub mod words;
pub mod units;
// Floor 1
pub mod domain;
pub mod maths;
// Floor 2
pub mod control;
pub mod puck;
pub mod sensory;
pub mod trace;
// Floor 3
pub mod infer;
// Floor 4
pub mod advisor;
pub mod practice;
pub mod rules;
// Floor 5
pub mod capture;
pub mod exchange;
pub mod store;
// Floor 6
pub mod workbench;
// Floor 7
pub mod cli;
#[cfg(feature = "gui")]
pub mod ui;
