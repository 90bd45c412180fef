//! Holding a recipe: did anything move, is it noise, and what to touch.

pub mod charts;
pub mod rules;
pub mod runlength;
