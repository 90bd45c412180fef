//! Holding a recipe: did anything move, is it noise, and what to touch.

pub mod calibrate;
pub mod charts;
pub mod day;
pub mod habits;
pub mod mixed;
pub mod opening;
pub mod pulls;
pub mod rules;
pub mod runlength;
pub mod series;
pub mod sunk;
pub mod tracker;
pub mod verdict;
