//! Plain numerics on slices and seeded random numbers. Knows nothing of coffee.

pub mod dense;
pub mod draw;
pub mod fast;
pub mod gauss;
pub mod general;
pub mod gp;
pub mod lanes;
pub mod least_squares;
pub mod normal;
pub mod real;
pub mod root;
pub mod shape;
pub mod tails;
