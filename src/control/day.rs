//! Through the day: heat of the grinder in a rush, hopper refills, and a bag change with old beans still in the
//! hopper.

use crate::maths::dense;

/// Heat of a grinder from its recent use: every gram ground adds, and the heat leaves with a half-life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrinderHeat {
    /// Minutes in which half of the heat is gone (about 20; common practice, no source).
    pub half_life_min: f64,
    /// Change of the chart's value for 100 g of heat (negative: faster when hot).
    pub per_100_g: f64,
    /// Its doubt, a standard deviation; what has not been learnt is noise.
    pub per_100_g_sd: f64,
}

impl Default for GrinderHeat {
    fn default() -> Self {
        // Trade: a rush makes shots faster by half to one step; no number has a source. Nothing is expected before a
        // station's own days have shown it; what the trade says gives the size of the doubt.
        Self { half_life_min: 20.0, per_100_g: 0.0, per_100_g_sd: 0.015 }
    }
}

impl GrinderHeat {
    /// Heat at `at_s` (grams still felt) after doses of (seconds, grams) before it.
    #[must_use]
    pub fn grams_felt(&self, doses: &[(f64, f64)], at_s: f64) -> f64 {
        let half = (self.half_life_min * 60.0).max(1.0);
        doses
            .iter()
            .filter(|(t, g)| *t < at_s && g.is_finite() && *g > 0.0)
            .map(|(t, g)| g * libm::exp2(-(at_s - t) / half))
            .sum()
    }

    /// Expected change of the chart's value at `at_s`, and its doubt.
    #[must_use]
    pub fn effect(&self, doses: &[(f64, f64)], at_s: f64) -> (f64, f64) {
        let felt = self.grams_felt(doses, at_s) / 100.0;
        (felt * self.per_100_g, felt * self.per_100_g_sd)
    }

    /// Learns the effect from deviations seen at known heats: (grams felt, deviation, its standard deviation).
    /// (Conjugate normal update.)
    #[must_use]
    pub fn learn(mut self, seen: &[(f64, f64, f64)]) -> Self {
        let mut precision = 1.0 / (self.per_100_g_sd * self.per_100_g_sd).max(1e-12);
        let mut sum = precision * self.per_100_g;
        for (felt, deviation, sd) in seen {
            let x = felt / 100.0;
            let w = 1.0 / (sd * sd);
            if x.is_finite() && deviation.is_finite() && w.is_finite() {
                precision += x * x * w;
                sum += x * deviation * w;
            }
        }
        self.per_100_g = sum / precision;
        self.per_100_g_sd = (1.0 / precision).sqrt();
        self
    }

    /// Learns the effect from groups of pulls between which nothing is known to differ but the heat (one day, bag and
    /// setting): (grams felt, value), each value with standard deviation `sd`. A group's own level says nothing, only
    /// what its pulls differ by. (Bayesian straight-line fit, the group's mean free.)
    #[must_use]
    pub fn learn_groups(self, groups: &[Vec<(f64, f64)>], sd: f64) -> Self {
        let mut seen = Vec::new();
        for group in groups {
            let kept = || group.iter().filter(|(felt, value)| felt.is_finite() && value.is_finite());
            let n = kept().count().max(1) as f64;
            let (felt, value) = kept().fold((0.0, 0.0), |sum, one| (sum.0 + one.0 / n, sum.1 + one.1 / n));
            seen.extend(kept().map(|one| (one.0 - felt, one.1 - value, sd)));
        }
        self.learn(&seen)
    }
}

/// Effect of the room on a coffee overnight: for one kelvin warmer and one percent of relative humidity more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomEffect {
    /// Change of the chart's value for one kelvin warmer, and its doubt.
    pub per_kelvin: (f64, f64),
    /// Change for one percent of relative humidity more, and its doubt.
    pub per_percent: (f64, f64),
    /// What the two doubts have in common (covariance): warm days are often damp ones.
    pub both: f64,
}

impl Default for RoomEffect {
    fn default() -> Self {
        // Direction and size differ between bars and no source gives a number: nothing much is expected, and learnt.
        Self { per_kelvin: super::verdict::ROOM_PER_KELVIN, per_percent: (0.0, 0.001), both: 0.0 }
    }
}

impl RoomEffect {
    /// Expected change and its doubt for a room that is `kelvin` warmer and `percent` damper than at the last opening.
    #[must_use]
    pub fn expected(&self, kelvin: f64, percent: f64) -> (f64, f64) {
        let (k, p) = (tame(kelvin, 40.0), tame(percent, 100.0));
        let variance =
            (k * self.per_kelvin.1).powi(2) + (p * self.per_percent.1).powi(2) + 2.0 * k * p * self.both;
        (k * self.per_kelvin.0 + p * self.per_percent.0, variance.max(0.0).sqrt())
    }

    /// Learns from nights: (kelvin warmer, percent damper, change that nothing else explains, its standard deviation).
    /// Bayesian straight-line fit through the origin with the present values as normal prior.
    #[must_use]
    pub fn learn(self, nights: &[(f64, f64, f64, f64)]) -> Self {
        let prior = [self.per_kelvin.1.powi(2), self.both, self.both, self.per_percent.1.powi(2)];
        let Some(l) = dense::cholesky(&prior, 2) else { return self };
        let mut a = dense::inverse(&l, 2);
        let mut b = dense::times(&a, &[self.per_kelvin.0, self.per_percent.0]);
        for (k, p, change, sd) in nights {
            let w = 1.0 / (sd * sd);
            if k.is_finite() && p.is_finite() && change.is_finite() && w.is_finite() {
                let x = [*k, *p];
                for i in 0..2 {
                    b[i] += w * x[i] * change;
                    for j in 0..2 {
                        a[i * 2 + j] += w * x[i] * x[j];
                    }
                }
            }
        }
        let Some(l) = dense::cholesky(&a, 2) else { return self };
        dense::solve(&l, &mut b);
        let cov = dense::inverse(&l, 2);
        Self {
            per_kelvin: (b[0], cov[0].max(0.0).sqrt()),
            per_percent: (b[1], cov[3].max(0.0).sqrt()),
            both: cov[1],
        }
    }
}

fn tame(v: f64, limit: f64) -> f64 {
    if v.is_finite() { v.clamp(-limit, limit) } else { 0.0 }
}

/// Beans of a new bag poured onto what is left in the hopper: share of new beans in the grounds after `ground_g`
/// grams. Below the `left_g` old grams the beans move as a plug; the last part mixes. `mixing` (0 plug … 1 fully
/// stirred) says how much of `left_g` behaves as one stirred volume; 0.3 suits a funnel (common practice, no source).
/// A stirred volume washes out exponentially (mass balance).
#[must_use]
pub fn new_bean_share(left_g: f64, ground_g: f64, mixing: f64) -> f64 {
    if !(left_g.is_finite() && ground_g.is_finite()) || ground_g <= 0.0 {
        return if left_g <= 0.0 && left_g.is_finite() { 1.0 } else { 0.0 };
    }
    if left_g <= 0.0 {
        return 1.0;
    }
    let mixing = if mixing.is_finite() { mixing.clamp(0.0, 1.0) } else { 0.3 };
    let stirred = mixing * left_g;
    // The plug ahead of the stirred part, kept so that all the old grams come out in the end.
    let past_plug = ground_g - (left_g - stirred);
    if past_plug <= 0.0 {
        0.0
    } else if stirred <= 0.0 {
        1.0
    } else {
        1.0 - libm::exp(-past_plug / stirred)
    }
}

/// Grams to grind until the share of new beans reaches `share` (for example 0.95).
#[must_use]
pub fn grams_until(left_g: f64, share: f64, mixing: f64) -> f64 {
    let left = if left_g.is_finite() { left_g.max(0.0) } else { 0.0 };
    let mixing = if mixing.is_finite() { mixing.clamp(0.0, 1.0) } else { 0.3 };
    let stirred = mixing * left;
    (left - stirred) - stirred * libm::log1p(-share.clamp(0.0, 0.999_999))
}

/// Whether a verdict on the grind should wait: between a tenth and nine tenths of new beans the level is passing
/// through, not holding.
#[must_use]
pub fn wait_for_new_bag(share: f64) -> bool {
    (0.1..=0.9).contains(&share)
}
