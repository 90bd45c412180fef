//! What a drinker likes, how much they mind, and how they fill in the marks.

use super::Cup;
use super::taste::Intensities;
use crate::rng::{Draw, phi};

/// Kinds of drinkers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Minds "too much" and "too little" differently, attribute by attribute.
    Uneven,
    /// Judges by strength.
    Strength,
    /// Judges by how much was extracted.
    Extraction,
    /// Happy anywhere on a plateau, quickly unhappy outside.
    Plateau,
    /// Judges by ratio and, a little, by the clock.
    Ratio,
    /// A smooth hill.
    Hill,
}

const KINDS: [Kind; 6] =
    [Kind::Uneven, Kind::Strength, Kind::Extraction, Kind::Plateau, Kind::Ratio, Kind::Hill];

/// One drinker.
#[derive(Debug, Clone)]
pub struct Drinker {
    pub kind: Kind,
    /// The cup they dream of.
    pub ideal_tds_pct: f64,
    pub ideal_extraction_pct: f64,
    /// Factor on the ratio of the dreamt cup, for those who judge by ratio.
    ratio_whim: f64,
    ideal_time_s: f64,
    jitter: Intensities,
    /// Ideal intensities, set once the taste map is known.
    pub ideal: Intensities,
    peak: f64,
    keen: f64,
    low: Intensities,
    high: Intensities,
    plateau: f64,
    /// Squeeze of the scale around 5 (1 uses all of it).
    squeeze: f64,
    /// Noise of a mark and of a liking, standard deviations.
    pub mark_noise: f64,
    pub liking_noise: f64,
    /// Deviations at which a mark leaves 0 and reaches ±2.
    pub first: f64,
    pub second: f64,
}

/// Overall strictness: how fast liking falls, calibrated against the reference rows of the issue.
const KEENNESS: f64 = 0.92;

impl Drinker {
    /// Draws a drinker (the ideal intensities come later, by [`Self::settle`]).
    pub fn draw(d: &mut Draw) -> Self {
        let kind = KINDS[d.pick(KINDS.len())];
        let mut ideal_tds_pct = d.normal(9.3, 0.8);
        let mut ideal_extraction_pct = d.normal(19.8, 0.6);
        match kind {
            Kind::Strength => ideal_tds_pct += 0.8,
            Kind::Extraction => ideal_extraction_pct += 0.6,
            _ => {}
        }
        let shy = d.chance(0.25);
        let noisy = d.chance(0.25);
        Self {
            kind,
            ideal_tds_pct: ideal_tds_pct.clamp(6.5, 12.5),
            ideal_extraction_pct: ideal_extraction_pct.clamp(18.0, 22.5),
            ratio_whim: d.log_normal(1.0, 0.06),
            ideal_time_s: d.log_normal(27.0, 0.12),
            jitter: std::array::from_fn(|_| d.normal(0.0, 0.12)),
            ideal: [0.0; 6],
            peak: d.uniform(7.4, 8.8),
            keen: KEENNESS * d.log_normal(1.0, 0.2),
            low: std::array::from_fn(|i| [0.5, 0.4, 0.9, 0.5, 0.25, 0.6][i] * d.log_normal(1.0, 0.4)),
            high: std::array::from_fn(|i| [0.9, 0.9, 0.7, 0.4, 0.7, 0.2][i] * d.log_normal(1.0, 0.4)),
            plateau: d.uniform(0.4, 0.9),
            squeeze: if shy { 0.75 } else { 1.0 },
            mark_noise: d.log_normal(if noisy { 0.6 } else { 0.3 }, 0.2),
            liking_noise: d.log_normal(if noisy { 0.85 } else { 0.45 }, 0.2),
            first: d.uniform(0.35, 0.65),
            second: if shy { 2.3 } else { 1.5 },
        }
    }

    /// Fixes the ideal intensities, given those of the cup they dream of.
    pub fn settle(&mut self, dream: Intensities) {
        self.ideal = std::array::from_fn(|i| dream[i] + self.jitter[i]);
    }

    /// Deviations of a cup from the ideal, attribute by attribute.
    pub fn deviations(&self, x: &Intensities) -> Intensities {
        std::array::from_fn(|i| x[i] - self.ideal[i])
    }

    /// Mean liking of a cup, 1 … 9.
    pub fn liking(&self, x: &Intensities, c: &Cup, merit: f64) -> f64 {
        let d = self.deviations(x);
        let wings: f64 = (0..6)
            .map(|i| if d[i] < 0.0 { self.low[i] } else { self.high[i] } * d[i].abs() * d[i].abs().sqrt())
            .sum();
        let radius = (0..6).map(|i| 0.5 * (self.low[i] + self.high[i]) * d[i] * d[i]).sum::<f64>().sqrt();
        let k = self.keen;
        let loss = match self.kind {
            Kind::Uneven => k * 0.8 * wings,
            Kind::Strength => {
                let s = d[2];
                k * (if s < 0.0 { 2.0 } else { 1.2 } * s.abs().powf(1.4) + 0.35 * wings)
            }
            Kind::Extraction => {
                // Half by what was extracted, half by how sour and bitter it seems.
                let e = 0.5 * (c.extraction_pct - self.ideal_extraction_pct) / 2.0 + 0.3 * (d[1] - d[0]);
                k * (if e < 0.0 { 2.2 } else { 1.3 } * e.abs().powf(1.4) + 0.35 * wings)
            }
            Kind::Plateau => k * 1.9 * (radius - self.plateau).max(0.0).powf(1.2),
            Kind::Ratio => {
                let r = (c.ratio / (self.ratio_whim * self.ideal_extraction_pct / self.ideal_tds_pct)).ln()
                    / 0.22;
                let t = (c.time_s / self.ideal_time_s).ln() / 0.3;
                k * (1.0 * r * r + 1.1 * t.abs().powf(1.5) + 0.2 * wings)
            }
            Kind::Hill => (self.peak - 1.5) * (1.0 - (-0.2 * k * radius * radius).exp()),
        };
        let raw = self.peak + merit - loss - 0.8 * c.uneven;
        // A soft floor at 1: nothing is worse than "dislike extremely".
        let floored = 1.0 + ((raw - 1.0) / 0.6).exp().ln_1p() * 0.6;
        let floored = if raw > 20.0 { raw } else { floored };
        (5.0 + self.squeeze * (floored.min(9.0) - 5.0)).clamp(1.0, 9.0)
    }

    /// Probability of each mark −2 … 2 given the true deviation.
    pub fn mark_chances(&self, deviation: f64) -> [f64; 5] {
        let cuts = [-self.second, -self.first, self.first, self.second];
        let below = cuts.map(|c| phi((c - deviation) / self.mark_noise));
        [below[0], below[1] - below[0], below[2] - below[1], below[3] - below[2], 1.0 - below[3]]
    }

    /// The mark for a deviation that already carries its noise.
    pub fn mark(&self, noisy: f64) -> i32 {
        let size = noisy.abs();
        let mark = i32::from(size > self.first) + i32::from(size > self.second);
        if noisy < 0.0 { -mark } else { mark }
    }
}
