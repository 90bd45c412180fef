//! Whether pulls scatter more widely than usual, with badly prepared ones expected now and then.

use super::habits::Habits;
use super::tracker::FARTHEST;

/// How wide the recent pulls scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Probability that the scatter is well above the usual.
    pub p: f64,
    /// Pooled standard deviation seen.
    pub seen: f64,
    /// Degrees of freedom behind it.
    pub dof: f64,
}

impl Scatter {
    /// Whether it counts as wide.
    #[must_use]
    pub fn is_wide(&self) -> bool {
        self.p >= 0.8 && self.dof >= 3.0
    }
}

/// Compares the scatter of groups of pulls (each group one opening, one setting) with the usual one: see [`Pool`].
#[must_use]
pub fn scatter(groups: &[&[f64]], habits: &Habits) -> Scatter {
    let mut pool = Pool::new(habits);
    for group in groups {
        pool.add(group);
    }
    pool.scatter()
}

/// What groups of pulls (each group one opening, one setting) say of their scatter: the probability that it is about two
/// or three times the usual rather than the usual, prior odds 1 in 25. Under either some pulls are badly prepared, as the
/// habits expect, so that one of them is no wide scatter.
#[derive(Debug, Clone, Copy)]
pub struct Pool {
    habits: Habits,
    /// Log likelihood under each of [`Pool::SCALES`].
    log: [f64; 4],
    squares: f64,
    dof: f64,
}

impl Pool {
    /// Scatter over the usual: the usual first, then what counts as wide.
    const SCALES: [f64; 4] = [1.0, 1.8, 2.5, 3.5];
    /// Probability of a wide scatter before any pull.
    const PRIOR: f64 = 0.04;

    /// Nothing pulled yet.
    #[must_use]
    pub fn new(habits: &Habits) -> Self {
        Self { habits: *habits, log: [0.0; 4], squares: 0.0, dof: 0.0 }
    }

    /// One more group, deviations on the chart's scale; what is not finite, or beyond anything real, is passed over.
    pub fn add(&mut self, group: &[f64]) {
        let mut kept: Vec<f64> = group.iter().copied().filter(|v| v.abs() <= FARTHEST).collect();
        if kept.len() < 2 {
            return;
        }
        let mean = kept.iter().sum::<f64>() / kept.len() as f64;
        self.squares += kept.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
        self.dof += kept.len() as f64 - 1.0;
        // From the middle outwards, so that a bad pull meets a level that the good ones have shown.
        kept.sort_by(f64::total_cmp);
        let upper = kept.get(kept.len() / 2).copied().unwrap_or(mean);
        let lower = kept.get((kept.len() - 1) / 2).copied().unwrap_or(mean);
        let middle = (lower + upper) / 2.0;
        kept.sort_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs()));
        let habits = self.habits.sane();
        for (log, scale) in self.log.iter_mut().zip(Self::SCALES) {
            *log += log_likelihood(&kept, scale * habits.sigma, &habits);
        }
    }

    /// What they say so far. Two or more degrees of freedom are needed, else the prior is returned.
    #[must_use]
    pub fn scatter(&self) -> Scatter {
        let dof = self.dof;
        let seen = if dof > 0.0 { (self.squares / dof).sqrt() } else { 0.0 };
        if dof < 2.0 || self.habits.sigma.is_nan() || self.habits.sigma <= 0.0 {
            return Scatter { p: Self::PRIOR, seen, dof };
        }
        let top = self.log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let [usual, wide @ ..] = self.log.map(|log| libm::exp(log - top));
        let calm = (1.0 - Self::PRIOR) * usual;
        let wide = Self::PRIOR * wide.iter().sum::<f64>() / wide.len() as f64;
        Scatter { p: wide / (wide + calm), seen, dof }
    }
}

/// Log likelihood of a group whose level is not known beforehand (up to a constant that is the same for every `sigma`):
/// pulls of scatter `sigma`, a share of them badly prepared and wider. What is believed of the level is collapsed to one
/// Gaussian after each pull, as in [`super::tracker::Tracker::pull`]; without badly prepared pulls that is exact.
fn log_likelihood(group: &[f64], sigma: f64, habits: &Habits) -> f64 {
    let Some((first, rest)) = group.split_first() else { return 0.0 };
    let (share, wider) = (habits.bad_share, habits.bad_width * habits.bad_width);
    let good = sigma * sigma;
    let (log_good, log_bad) = (libm::log(1.0 - share), libm::log(share.max(1e-300)));
    let (mut level, mut v) = (*first, good * (1.0 - share + share * wider));
    let mut sum = 0.0;
    for value in rest {
        let e = value - level;
        let part = |log_share: f64, s: f64| log_share - 0.5 * (e * e / s + libm::log(s));
        let (s_good, s_bad) = (v + good, v + good * wider);
        let (a, b) = (part(log_good, s_good), part(log_bad, s_bad));
        let top = a.max(b);
        let (a, b) = (libm::exp(a - top), libm::exp(b - top));
        sum += top + libm::log(a + b);
        let bad = b / (a + b);
        let (gain, gain_bad) = (v / s_good, v / s_bad);
        let apart = (gain - gain_bad) * e;
        level += ((1.0 - bad) * gain + bad * gain_bad) * e;
        v = v * (1.0 - (1.0 - bad) * gain - bad * gain_bad) + bad * (1.0 - bad) * apart * apart;
    }
    sum
}
