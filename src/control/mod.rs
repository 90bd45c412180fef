//! Holding a recipe: did anything move, is it noise, and what to touch.

pub mod calibrate;
pub mod charts;
pub mod habits;
pub mod rules;
pub mod runlength;
pub mod series;
pub mod tracker;
pub mod verdict;
