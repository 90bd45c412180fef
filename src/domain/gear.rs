//! What can be set, in which steps: the grinder's own scale, dose, yield and temperature.

use thiserror::Error;

use super::recipe::{Lever, Recipe};

/// Why a description of gear is refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GearFault {
    /// A number is NaN or infinite.
    #[error("{}", say!("domain-gear-not-finite", what = what))]
    NotFinite {
        /// Which scale.
        what: &'static str,
    },
    /// The range is upside down.
    #[error("{}", say!("domain-gear-upside-down", what = what, min = min, max = max))]
    UpsideDown {
        /// Which scale.
        what: &'static str,
        /// Smallest value given.
        min: f64,
        /// Largest value given.
        max: f64,
    },
    /// The step is zero, negative or so small that the scale has over a million steps.
    #[error("{}", say!("domain-gear-step", what = what, step = step))]
    Step {
        /// Which scale.
        what: &'static str,
        /// Step given.
        step: f64,
    },
    /// A value outside what can be real.
    #[error("{}", say!("domain-gear-range", what = what, value = value, min = min, max = max))]
    Range {
        /// Which number.
        what: &'static str,
        /// Value given.
        value: f64,
        /// Smallest possible.
        min: f64,
        /// Largest possible.
        max: f64,
    },
}

/// A settable range with its own step, for example 0 to 30 in steps of 0.5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    min: f64,
    max: f64,
    step: f64,
}

impl Scale {
    /// Checks and makes a scale. `what` names it in the message. One value (`min == max`) is allowed.
    ///
    /// # Errors
    /// [`GearFault`] when a number is not finite, the range is upside down, or the step is unusable.
    pub fn new(what: &'static str, min: f64, max: f64, step: f64) -> Result<Self, GearFault> {
        if !(min.is_finite() && max.is_finite() && step.is_finite()) {
            return Err(GearFault::NotFinite { what });
        }
        if min > max {
            return Err(GearFault::UpsideDown { what, min, max });
        }
        if step <= 0.0 || (max - min) / step > 1e6 {
            return Err(GearFault::Step { what, step });
        }
        Ok(Self { min, max, step })
    }

    /// Smallest settable value.
    #[must_use]
    pub fn min(&self) -> f64 {
        self.min
    }

    /// Largest settable value.
    #[must_use]
    pub fn max(&self) -> f64 {
        self.max
    }

    /// Distance of neighbouring settings.
    #[must_use]
    pub fn step(&self) -> f64 {
        self.step
    }

    /// Number of settings, at least 1.
    #[must_use]
    pub fn count(&self) -> usize {
        // The small allowance keeps 0.1-steps from losing their last mark to rounding.
        ((self.max - self.min) / self.step + 1e-6).floor() as usize + 1
    }

    /// The setting with index `index`, counted from the smallest; past the end gives the last one.
    #[must_use]
    pub fn at(&self, index: usize) -> f64 {
        tidy(self.min + self.step * index.min(self.count() - 1) as f64)
    }

    /// Index of the setting nearest to `value`. A value that is not finite counts as the smallest.
    #[must_use]
    pub fn index_of(&self, value: f64) -> usize {
        if !value.is_finite() {
            return 0;
        }
        let raw = ((value - self.min) / self.step).round();
        (raw.max(0.0) as usize).min(self.count() - 1)
    }

    /// The setting nearest to `value`.
    #[must_use]
    pub fn snap(&self, value: f64) -> f64 {
        self.at(self.index_of(value))
    }

    /// Whether `value` lies on the scale, within a thousandth of a step.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        (self.snap(value) - value).abs() <= self.step * 1e-3
    }

    /// Signed count of steps from one setting to another (positive: upwards).
    #[must_use]
    pub fn steps_between(&self, from: f64, to: f64) -> i64 {
        self.index_of(to) as i64 - self.index_of(from) as i64
    }

    /// Decimals needed to write a setting exactly, 0 to 3.
    #[must_use]
    pub fn decimals(&self) -> usize {
        (0..3)
            .find(|&n| {
                let factor = 10f64.powi(n);
                [self.step, self.min].iter().all(|v| ((v * factor).round() - v * factor).abs() < 1e-6)
            })
            .unwrap_or(3) as usize
    }
}

/// Rounds away the dust of repeated additions (12 significant decimals).
fn tidy(value: f64) -> f64 {
    let rounded = (value * 1e9).round() / 1e9;
    if rounded.is_finite() { rounded } else { value }
}

/// Which way on the grinder's scale is finer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Finer {
    /// Lower numbers grind finer.
    Lower,
    /// Higher numbers grind finer.
    Higher,
}

impl Finer {
    /// +1.0 when a higher number is coarser, −1.0 when it is finer.
    #[must_use]
    pub fn coarser_sign(self) -> f64 {
        match self {
            Self::Lower => 1.0,
            Self::Higher => -1.0,
        }
    }

    /// The other direction.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Lower => Self::Higher,
            Self::Higher => Self::Lower,
        }
    }
}

/// A grinder's own scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrindScale {
    /// Settings: range and step, in the grinder's own unit. For a stepless grinder the step is the smallest move
    /// that its owner can repeat.
    pub scale: Scale,
    /// Which way is finer.
    pub finer: Finer,
    /// How far the burrs move for one unit of the scale, micrometres (0.1–2000), where known.
    pub um_per_unit: Option<f64>,
    /// Grounds that stay in the grinder and come out with the next dose, grams (0–50).
    pub retained_g: f64,
    /// Whether the owner can set any value (true) or only marks (false). Decides words ("1.5 marks", "3 clicks").
    pub stepless: bool,
}

/// Where on a grinder's scale espresso lies when nobody says, from the finest (0) to the coarsest setting (1): rather in
/// the finer half, for many grinders also serve brews that are ground coarser (common practice, no source).
const USUAL_PLACE: f64 = 0.4;

impl GrindScale {
    /// The setting to begin at where nobody says; on the scale, but not always on one of its steps.
    #[must_use]
    pub fn usual(&self) -> f64 {
        let (finest, coarsest) = match self.finer {
            Finer::Lower => (self.scale.min(), self.scale.max()),
            Finer::Higher => (self.scale.max(), self.scale.min()),
        };
        finest + USUAL_PLACE * (coarsest - finest)
    }

    /// Signed count of steps toward coarser (positive) from one setting to another.
    #[must_use]
    pub fn steps_coarser(&self, from: f64, to: f64) -> i64 {
        let up = self.scale.steps_between(from, to);
        match self.finer {
            Finer::Lower => up,
            Finer::Higher => -up,
        }
    }

    /// The setting that lies `steps` toward coarser (negative: finer) from `from`, kept on the scale.
    #[must_use]
    pub fn coarser_by(&self, from: f64, steps: i64) -> f64 {
        let up = match self.finer {
            Finer::Lower => steps,
            Finer::Higher => steps.saturating_neg(),
        };
        let index = (self.scale.index_of(from) as i64).saturating_add(up).max(0);
        self.scale.at(usize::try_from(index).unwrap_or(0))
    }
}

/// All that can be set at a station, and what can be measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gear {
    /// The grinder.
    pub grind: GrindScale,
    /// Doses that the basket takes, grams.
    pub dose_g: Scale,
    /// Yields that make sense, grams in the cup.
    pub yield_g: Scale,
    /// Brew temperatures, °C; `None` where the temperature cannot be set.
    pub temperature_c: Option<Scale>,
    /// Pump pressure at flow, bar gauge, where known.
    pub pressure_bar: Option<f64>,
    /// Whether strength can be measured.
    pub refractometer: bool,
}

impl Gear {
    /// The scale of one lever; `None` for temperature where it cannot be set.
    #[must_use]
    pub fn scale(&self, lever: Lever) -> Option<Scale> {
        match lever {
            Lever::Grind => Some(self.grind.scale),
            Lever::Dose => Some(self.dose_g),
            Lever::Yield => Some(self.yield_g),
            Lever::Temperature => self.temperature_c,
        }
    }

    /// The nearest recipe that can be set on this gear. Temperature becomes `None` where it cannot be set, and the
    /// middle of the range where it can be but none was given.
    #[must_use]
    pub fn snap(&self, recipe: &Recipe) -> Recipe {
        Recipe {
            grind: self.grind.scale.snap(recipe.grind),
            dose_g: self.dose_g.snap(recipe.dose_g),
            yield_g: self.yield_g.snap(recipe.yield_g),
            temperature_c: self.temperature_c.map(|scale| {
                scale.snap(recipe.temperature_c.unwrap_or_else(|| (scale.min() + scale.max()) / 2.0))
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_keeps_to_its_marks() {
        let scale = Scale::new("grind", 0.0, 30.0, 0.1).unwrap();
        assert_eq!(scale.count(), 301);
        assert_eq!(scale.at(300), 30.0);
        assert_eq!(scale.snap(12.3456), 12.3);
        assert_eq!(scale.snap(f64::NAN), 0.0);
        assert_eq!(scale.snap(1e300), 30.0);
        assert_eq!(scale.steps_between(14.0, 12.5), -15);
        assert_eq!(scale.decimals(), 1);
        assert_eq!(Scale::new("dose", 18.0, 18.0, 0.5).unwrap().count(), 1);
        assert!(Scale::new("grind", 5.0, 1.0, 1.0).is_err());
        assert!(Scale::new("grind", 0.0, 1.0, 0.0).is_err());
        assert!(Scale::new("grind", 0.0, f64::INFINITY, 1.0).is_err());
    }

    #[test]
    fn coarser_follows_the_grinders_own_direction() {
        let scale = Scale::new("grind", 0.0, 30.0, 0.5).unwrap();
        let mut grind =
            GrindScale { scale, finer: Finer::Lower, um_per_unit: None, retained_g: 0.5, stepless: false };
        assert_eq!(grind.coarser_by(14.0, -3), 12.5);
        assert_eq!(grind.steps_coarser(14.0, 12.5), -3);
        grind.finer = Finer::Higher;
        assert_eq!(grind.coarser_by(14.0, -3), 15.5);
        assert_eq!(grind.coarser_by(14.0, i64::MIN), 30.0);
    }
}
