//! Plain numerics on slices and seeded random numbers. Knows nothing of coffee.

pub mod gauss;
pub mod root;
pub mod dense;
pub mod draw;
pub mod general;
pub mod normal;
pub mod tails;
