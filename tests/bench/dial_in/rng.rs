//! Seeded random numbers and the standard-normal coordinates from which worlds are built.

use rand_core::{Rng as _, SeedableRng as _};
use rand_pcg::Pcg64Mcg;

/// A stream of random numbers; the same key always gives the same stream.
#[derive(Debug, Clone)]
pub struct Rng {
    inner: Pcg64Mcg,
}

impl Rng {
    /// A stream named by a list of integers (seed, world, pull, purpose …).
    pub fn keyed(key: &[u64]) -> Self {
        let mut h: u64 = 0x9E37_79B9_7F4A_7C15;
        for &k in key {
            h = mix(h ^ mix(k.wrapping_add(0x9E37_79B9_7F4A_7C15)));
        }
        Self { inner: Pcg64Mcg::seed_from_u64(h) }
    }

    /// Uniform on [0, 1).
    pub fn uniform(&mut self) -> f64 {
        (self.inner.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Uniform on [a, b).
    pub fn range(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.uniform()
    }

    /// Standard normal (Box and Muller, one of the pair).
    pub fn normal(&mut self) -> f64 {
        let u = 1.0 - self.uniform();
        let v = self.uniform();
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// An index below `n` (0 when `n` is 0).
    pub fn below(&mut self, n: usize) -> usize {
        ((self.uniform() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.uniform() < p
    }
}

/// Finaliser of the splitmix64 generator: spreads neighbouring keys.
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Standard normal distribution function.
pub fn phi(x: f64) -> f64 {
    0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2)
}

/// Inverse of [`phi`] by bisection; only used when a world is set up.
pub fn phi_inverse(p: f64) -> f64 {
    let (mut lo, mut hi) = (-8.0, 8.0);
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if phi(mid) < p { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}

/// Reads hidden parameters one after another from a point in standard-normal space.
///
/// Every hidden parameter of a world is a fixed function of one coordinate, so that "a world drawn from the
/// prior" is the same as "a standard-normal point", and an agent that knows the prior can move in that space.
#[derive(Debug)]
pub struct Draw<'a> {
    z: &'a [f64],
    at: usize,
}

impl<'a> Draw<'a> {
    /// Starts at the first coordinate.
    pub fn new(z: &'a [f64]) -> Self {
        Self { z, at: 0 }
    }

    /// The next coordinate itself; 0 behind the end.
    pub fn raw(&mut self) -> f64 {
        let v = self.z.get(self.at).copied().unwrap_or(0.0);
        self.at += 1;
        v
    }

    /// Normal with a mean and a standard deviation.
    pub fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        mean + sd * self.raw()
    }

    /// Log-normal with a median and a standard deviation of the logarithm.
    pub fn log_normal(&mut self, median: f64, sd: f64) -> f64 {
        median * (sd * self.raw()).exp()
    }

    /// Uniform between two values.
    pub fn uniform(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * phi(self.raw())
    }

    /// One of `n`, all equally likely.
    pub fn pick(&mut self, n: usize) -> usize {
        ((phi(self.raw()) * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        phi(self.raw()) < p
    }
}
