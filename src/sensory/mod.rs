//! Blind side-by-side tests: plans with balanced orders and codes, and exact statistics for few cups.

pub mod discrimination;
pub mod likings;
pub mod plan;
pub mod ranking;
