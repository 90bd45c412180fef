//! Can it be told apart? Triangle, duo-trio and paired tests by the exact binomial sum.

use crate::maths::tails;

/// How cups are served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Three cups, two alike: pick the odd one (ISO 4120). Chance 1/3.
    Triangle,
    /// A named reference and two cups: pick its match (ISO 10399). Chance 1/2.
    DuoTrio,
    /// Two cups: which has more of something, the direction fixed beforehand (ISO 5495). Chance 1/2.
    PairedOneSided,
    /// Two cups: which is preferred or has more, either way (ISO 5495). Chance 1/2.
    PairedTwoSided,
}

impl Method {
    /// Probability of a right answer by guessing.
    #[must_use]
    pub fn chance(self) -> f64 {
        match self {
            Self::Triangle => 1.0 / 3.0,
            _ => 0.5,
        }
    }

    /// Probability of a result at least as telling as `right` of `n`, if nobody could tell. For the two-sided
    /// paired test `right` is the count for either cup.
    #[must_use]
    pub fn p_value(self, right: u32, n: u32) -> f64 {
        let right = right.min(n);
        match self {
            Self::PairedTwoSided => two_sided(right, n, 0.5),
            _ => tails::binomial_at_least(right, n, self.chance()),
        }
    }

    /// Smallest number of right answers that is significant at `alpha`; `None` where even all right are not. For
    /// the two-sided test: the larger of the two counts.
    #[must_use]
    pub fn critical(self, n: u32, alpha: f64) -> Option<u32> {
        if n == 0 || alpha.is_nan() || alpha <= 0.0 || n > MOST {
            return None;
        }
        let alpha = if self == Self::PairedTwoSided { alpha / 2.0 } else { alpha };
        // Sum the tail downwards until it exceeds alpha.
        let mut tail = 0.0;
        let mut found = None;
        for k in (0..=n).rev() {
            tail += tails::binomial_point(k, n, self.chance());
            if tail > alpha * (1.0 + 1e-12) {
                break;
            }
            found = Some(k);
        }
        found
    }

    /// Chance of a significant result when a share `can_tell` (0–1) of the answers comes from people who truly
    /// perceive the difference and the rest guess. For the two-sided test the right direction counts.
    #[must_use]
    pub fn power(self, n: u32, alpha: f64, can_tell: f64) -> f64 {
        let Some(c) = self.critical(n, alpha) else { return 0.0 };
        let share = if can_tell.is_finite() { can_tell.clamp(0.0, 1.0) } else { 0.0 };
        tails::binomial_at_least(c, n, share + (1.0 - share) * self.chance())
    }

    /// Fewest cups-in-turn (answers) from which on the power stays at `power` or more, up to 400 (the power of an
    /// exact test is a saw-tooth: 24 may be no better than 18).
    #[must_use]
    pub fn answers_for(self, alpha: f64, can_tell: f64, power: f64) -> Option<u32> {
        let mut first = None;
        for n in (1..=400).rev() {
            if self.power(n, alpha, can_tell) < power {
                break;
            }
            first = Some(n);
        }
        first.filter(|n| *n < 400)
    }

    /// Estimated share of people who can tell (0–1), from the share of right answers, with the exact (Clopper and
    /// Pearson 1934) range of probability `level`. `None` without answers.
    #[must_use]
    pub fn can_tell(self, right: u32, n: u32, level: f64) -> Option<(f64, (f64, f64))> {
        if n == 0 {
            return None;
        }
        let (low, high) = exact_range(right, n, level);
        let back = |p: f64| ((p - self.chance()) / (1.0 - self.chance())).max(0.0);
        Some((back(f64::from(right.min(n)) / f64::from(n)), (back(low), back(high))))
    }
}

/// Most answers that the exact sums are run for.
const MOST: u32 = 100_000;

/// Two-sided exact binomial test: the probability of all results no likelier than the one seen.
#[must_use]
pub fn two_sided(k: u32, n: u32, p: f64) -> f64 {
    let n = n.min(MOST);
    let seen = tails::binomial_point(k.min(n), n, p) * (1.0 + 1e-7);
    (0..=n).map(|i| tails::binomial_point(i, n, p)).filter(|q| *q <= seen).sum::<f64>().min(1.0)
}

/// Exact range of a share (Clopper and Pearson, Biometrika 26:404, 1934 \[memory\]).
#[must_use]
pub fn exact_range(k: u32, n: u32, level: f64) -> (f64, f64) {
    let k = k.min(n);
    let a = (1.0 - if level.is_finite() { level.clamp(0.0, 0.999_999) } else { 0.95 }) / 2.0;
    let (kf, nf) = (f64::from(k), f64::from(n));
    let low = if k == 0 { 0.0 } else { tails::beta_quantile(a, kf, nf - kf + 1.0) };
    let high = if k == n { 1.0 } else { tails::beta_quantile(1.0 - a, kf + 1.0, nf - kf) };
    (low, high)
}
