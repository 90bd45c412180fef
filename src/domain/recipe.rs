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

/// How far (g) a dose and a cup may miss the plan by the hand's own slip: a tenth or two from the scale, a gram from taking
/// the cup away (common practice, no source; twice that where it is rounded).
const SLIP_DOSE_G: f64 = 0.35;
const SLIP_YIELD_G: f64 = 1.6;
/// Share of the planned drink by which a pull, all else as planned, may miss it before its cup is another one that nobody
/// asked for (common practice, no source).
const OTHER_DRINK: f64 = 0.15;

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

    /// The recipe that a cup of this one used came from, had it been finished. A choked pull was stopped early: what little
    /// ran is not its yield, which is then taken to be the planned one at least, or `usual_yield_g` without a plan.
    #[must_use]
    pub fn meant(self, plan: Option<Self>, choked: bool, usual_yield_g: f64) -> Self {
        let planned_g = plan.map_or(usual_yield_g, |plan| plan.yield_g);
        if choked { Self { yield_g: self.yield_g.max(planned_g), ..self } } else { self }
    }

    /// The recipe that was aimed at where this one was meant, to measure changes from: the plan where the hand missed it by
    /// no more than usual, else this one.
    #[must_use]
    pub fn aimed(self, plan: Option<Self>) -> Self {
        let slip = |plan: &Self| self.was_set_as(plan) && (plan.yield_g - self.yield_g).abs() <= SLIP_YIELD_G;
        plan.filter(slip).unwrap_or(self)
    }

    /// Whether grinder and machine were set as `plan` has it.
    fn was_pulled_as(&self, plan: &Self) -> bool {
        let warmer = plan.temperature_c.zip(self.temperature_c).map_or(0.0, |(a, b)| (a - b).abs());
        (plan.grind - self.grind).abs() < 1e-6 && warmer < 1e-6
    }

    /// Whether it is `plan` but for the drink, a slip of the dose allowed.
    fn was_set_as(&self, plan: &Self) -> bool {
        self.was_pulled_as(plan) && (plan.dose_g - self.dose_g).abs() <= SLIP_DOSE_G
    }

    /// Whether it is `plan` but for the dose, which no slip of the hand explains.
    #[must_use]
    pub fn has_another_dose(&self, plan: &Self) -> bool {
        let same_drink = (plan.yield_g - self.yield_g).abs() <= SLIP_YIELD_G;
        self.was_pulled_as(plan) && same_drink && (plan.dose_g - self.dose_g).abs() > SLIP_DOSE_G
    }

    /// Whether a pull that was set as planned ran on, or was cut off, so far from the planned drink that its cup is another
    /// one, by accident and not by choice.
    #[must_use]
    pub fn ran_past(&self, plan: &Self) -> bool {
        let off = (self.yield_g / plan.yield_g - 1.0).abs();
        self.was_set_as(plan) && off.is_finite() && off > OTHER_DRINK
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

impl StartRecipe {
    /// The start as a recipe, at `usual_grind` where nobody named a setting.
    #[must_use]
    pub fn recipe(&self, usual_grind: f64) -> Recipe {
        Recipe {
            grind: self.grind.filter(|grind| grind.is_finite()).unwrap_or(usual_grind),
            dose_g: self.dose_g,
            yield_g: self.yield_g,
            temperature_c: self.temperature_c,
        }
    }
}
