//! Seeded random numbers: one named generator (PCG XSL RR 128/64) and an inverse distribution function, so that a
//! seed gives the same numbers for ever.

use rand_core::{Rng as _, SeedableRng as _};

use super::normal;

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Draws(rand_pcg::Pcg64);

impl Draws {
    /// The stream that belongs to a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(rand_pcg::Pcg64::seed_from_u64(seed))
    }

    /// Uniform, strictly between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) as f64 + 0.5) * (1.0 / (1u64 << 53) as f64)
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        normal::wichura(self.uniform())
    }
}
