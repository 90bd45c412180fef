//! The frame of reference in which recipes are measured: relative to one recipe on this gear, so that nothing
//! depends on the grinder's arbitrary scale.

use crate::domain::{Gear, Process, Recipe, Roast, Scale, StartRecipe};

/// What is known of a bag before the first pull.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BagFacts {
    /// Name on the bag.
    pub name: String,
    /// Roast level, where known.
    pub roast: Option<Roast>,
    /// Process, where known.
    pub process: Option<Process>,
    /// Age in days since the roast when it was opened, where known.
    pub days_since_roast: Option<f64>,
}

impl BagFacts {
    /// Roast as a number, −2 light to +2 dark; 0 where not known.
    #[must_use]
    pub fn darkness(&self) -> f64 {
        match self.roast {
            Some(Roast::Light) => -2.0,
            Some(Roast::MediumLight) => -1.0,
            Some(Roast::Medium) | None => 0.0,
            Some(Roast::MediumDark) => 1.0,
            Some(Roast::Dark) => 2.0,
        }
    }
}

/// The reference recipe and the direction of the grinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Reference setting of the grinder.
    pub grind: f64,
    /// +1 when a higher number is coarser, −1 when it is finer.
    pub coarser_sign: f64,
    /// Reference dose, grams.
    pub dose_g: f64,
    /// Reference yield, grams.
    pub yield_g: f64,
    /// Temperature (°C) used where it cannot be set or was not said.
    pub temperature_c: f64,
    /// Whether temperature can be set.
    pub temperature_settable: bool,
    /// Day since roast that counts as zero.
    pub day: f64,
    /// Whether the start recipe named a grind setting.
    pub grind_known: bool,
}

/// Temperature at which priors are stated, °C.
pub const STANDARD_TEMPERATURE_C: f64 = 93.0;

/// One recipe on one day in the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Units of the grinder's scale toward coarser.
    pub coarser: f64,
    /// ln dose over the reference dose.
    pub ln_dose: f64,
    /// ln yield over the reference yield.
    pub ln_yield: f64,
    /// ln of ratio over 2.
    pub ln_ratio: f64,
    /// Kelvin above 93 °C; 0 where temperature cannot be set.
    pub kelvin: f64,
    /// Days of age after the reference day.
    pub day: f64,
}

/// How far the hand slips from a recipe: ln dose, ln ratio, kelvin; the grinder stays where it is set.
const SLIPS: [f64; 3] = [0.02, 0.05, 0.6];

impl Point {
    /// What dose and yield add to ln time by what is usual (common practice, no source).
    #[must_use]
    pub fn usual_ln_time(&self) -> f64 {
        2.0 * self.ln_dose + 0.8 * self.ln_yield
    }

    /// Whether two pulls were of one recipe, but for the slips of a hand.
    #[must_use]
    pub fn same_but_for_slips(&self, other: &Self) -> bool {
        let apart =
            [self.ln_dose - other.ln_dose, self.ln_ratio - other.ln_ratio, self.kelvin - other.kelvin];
        (self.coarser - other.coarser).abs() < 1e-6 && apart.iter().zip(SLIPS).all(|(d, slip)| d.abs() < slip)
    }
}

impl Frame {
    /// The frame for a bag that begins at `start` on `gear`, or as near to it as the gear can.
    #[must_use]
    pub fn new(gear: &Gear, start: &StartRecipe, day: Option<f64>) -> Self {
        let within = |scale: Scale, asked: f64| asked.max(scale.min()).min(scale.max());
        Self {
            grind: start.recipe(gear.grind.usual()).grind,
            coarser_sign: gear.grind.finer.coarser_sign(),
            dose_g: within(gear.dose_g, start.dose_g).max(0.1),
            yield_g: within(gear.yield_g, start.yield_g).max(0.1),
            temperature_c: match (gear.temperature_c, start.temperature_c) {
                (Some(scale), Some(asked)) => within(scale, asked),
                (_, asked) => asked.unwrap_or(STANDARD_TEMPERATURE_C),
            },
            temperature_settable: gear.temperature_c.is_some(),
            day: day.unwrap_or(0.0),
            grind_known: start.grind.is_some(),
        }
    }

    /// Where a recipe lies in the frame. Not-finite or non-positive values are replaced by the reference.
    #[must_use]
    pub fn point(&self, recipe: &Recipe, day: Option<f64>) -> Point {
        let positive = |v: f64, fallback: f64| if v.is_finite() && v > 0.0 { v } else { fallback };
        let dose = positive(recipe.dose_g, self.dose_g);
        let drink = positive(recipe.yield_g, self.yield_g);
        let grind = if recipe.grind.is_finite() { recipe.grind } else { self.grind };
        let temperature = if self.temperature_settable {
            recipe.temperature_c.filter(|t| t.is_finite()).unwrap_or(self.temperature_c)
        } else {
            STANDARD_TEMPERATURE_C
        };
        Point {
            coarser: (grind - self.grind) * self.coarser_sign,
            ln_dose: libm::log(dose / self.dose_g),
            ln_yield: libm::log(drink / self.yield_g),
            ln_ratio: libm::log(drink / dose * 0.5),
            kelvin: temperature - STANDARD_TEMPERATURE_C,
            day: day.filter(|d| d.is_finite()).map_or(0.0, |d| d - self.day),
        }
    }
}
