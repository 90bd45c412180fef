//! The four levers and a value for each.

/// One thing that a person can set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Lever {
    /// Grind, on the grinder's own scale.
    Grind,
    /// Dry dose, grams.
    Dose,
    /// Drink in the cup, grams.
    Yield,
    /// Brew water temperature, °C.
    Temperature,
}

impl Lever {
    /// All levers, in the trade's usual order of moves.
    pub const ALL: [Self; 4] = [Self::Grind, Self::Dose, Self::Yield, Self::Temperature];
}

/// A value for each lever.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Recipe {
    /// Setting on the grinder's own scale.
    pub grind: f64,
    /// Dry dose, grams.
    pub dose_g: f64,
    /// Drink in the cup, grams.
    pub yield_g: f64,
    /// Brew water temperature, °C; `None` where it cannot be set.
    pub temperature_c: Option<f64>,
}

impl Recipe {
    /// Value of a lever; `None` for a temperature that cannot be set.
    #[must_use]
    pub fn get(&self, lever: Lever) -> Option<f64> {
        match lever {
            Lever::Grind => Some(self.grind),
            Lever::Dose => Some(self.dose_g),
            Lever::Yield => Some(self.yield_g),
            Lever::Temperature => self.temperature_c,
        }
    }

    /// The same recipe with one lever moved to `value`.
    #[must_use]
    pub fn with(mut self, lever: Lever, value: f64) -> Self {
        match lever {
            Lever::Grind => self.grind = value,
            Lever::Dose => self.dose_g = value,
            Lever::Yield => self.yield_g = value,
            Lever::Temperature => self.temperature_c = Some(value),
        }
        self
    }

    /// Drink over dose, grams per gram ("1:2.0" has 2.0). `None` for a dose that is not above zero.
    #[must_use]
    pub fn ratio(&self) -> Option<f64> {
        (self.dose_g > 0.0 && self.yield_g.is_finite()).then(|| self.yield_g / self.dose_g)
    }
}

/// Where to begin with a new bag: like a [`Recipe`], but the grind may be unknown.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct StartRecipe {
    /// Setting on the grinder's own scale, or `None` for "no idea".
    pub grind: Option<f64>,
    /// Dry dose, grams.
    pub dose_g: f64,
    /// Drink in the cup, grams.
    pub yield_g: f64,
    /// Brew water temperature, °C; `None` where it cannot be set.
    pub temperature_c: Option<f64>,
}
