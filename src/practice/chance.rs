//! Seeded chance: the same seed gives the same numbers for ever.

use crate::maths::draw::Draws;

/// A stream of random numbers that belongs to a seed and a place, so that one part of a story can change without
/// moving the luck of all the others.
#[derive(Debug, Clone)]
pub struct Chance(Draws);

impl Chance {
    /// The stream of `place` under `seed`.
    #[must_use]
    pub fn new(seed: u64, place: u64) -> Self {
        // Fibonacci hashing keeps neighbouring places apart (D. Knuth, The Art of Computer Programming 3, 6.4).
        Self(Draws::new(seed ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(17)))
    }

    /// Uniform, strictly between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        self.0.uniform()
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        self.0.normal()
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
        std::array::from_fn(|_| (self.uniform() * 256.0) as u8)
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
}
