//! Plain numerics on slices and seeded random numbers. Knows nothing of coffee.

pub mod gauss;
pub mod root;
