//! Seeded chance: the same seed gives the same numbers for ever (PCG XSL RR 128/64 by name).

use rand_core::{Rng as _, SeedableRng as _};

/// A stream of random numbers that belongs to a seed and a place, so that one part of a story can change without
/// moving the luck of all the others.
#[derive(Debug, Clone)]
pub struct Chance(rand_pcg::Pcg64);

impl Chance {
    /// The stream of `place` under `seed`.
    #[must_use]
    pub fn new(seed: u64, place: u64) -> Self {
        // Fibonacci hashing keeps neighbouring places apart (D. Knuth, The Art of Computer Programming 3, 6.4).
        Self(rand_pcg::Pcg64::seed_from_u64(seed ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(17)))
    }

    /// Uniform, strictly between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) as f64 + 0.5) * (1.0 / (1u64 << 53) as f64)
    }

    /// Standard normal (Box and Muller 1958, one of the pair).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.uniform())
    }

    /// Normal with a standard deviation, kept within three of them.
    pub fn around(&mut self, sd: f64) -> f64 {
        sd * self.normal().clamp(-3.0, 3.0)
    }

    /// A factor whose logarithm is normal with a standard deviation, kept within three of them.
    pub fn factor(&mut self, sd: f64) -> f64 {
        libm::exp(self.around(sd))
    }

    /// Ten bytes for an identifier.
    pub fn bytes(&mut self) -> [u8; 10] {
        let mut bytes = [0; 10];
        self.0.fill_bytes(&mut bytes);
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_repeat_and_differ() {
        let take = |seed, place| {
            let mut chance = Chance::new(seed, place);
            (0..5).map(|_| chance.uniform()).collect::<Vec<_>>()
        };
        assert_eq!(take(3, 1), take(3, 1));
        assert_ne!(take(3, 1), take(3, 2));
        assert_ne!(take(3, 1), take(4, 1));
    }

    /// Mean 0 and standard deviation 1 within four standard errors of 20 000 draws.
    #[test]
    fn normals_have_their_moments() {
        let mut chance = Chance::new(7, 0);
        let draws: Vec<f64> = (0..20_000).map(|_| chance.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let square = draws.iter().map(|x| x * x).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 4.0 / 20_000f64.sqrt() && (square - 1.0).abs() < 4.0 * (2.0 / 20_000f64).sqrt());
    }
}
