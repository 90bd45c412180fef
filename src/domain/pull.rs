//! One pulled shot, as it really was.

use super::{PullId, Recipe, Stamp, StationId, Taste};

/// What went wrong, or was done, that numbers do not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct Flags {
    /// No flow; the pull was abandoned.
    pub choked: bool,
    /// Visible jets: the water tunnelled.
    pub spurting: bool,
    /// Poured away.
    pub sink: bool,
}

/// One pull.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Pull {
    /// Identifier; sorts by time.
    pub id: PullId,
    /// When made, changed, removed.
    pub stamp: Stamp,
    /// When it was pulled.
    #[serde(with = "jiff::fmt::serde::timestamp::nanosecond::required")]
    pub pulled_at: jiff::Timestamp,
    /// Where.
    pub station: StationId,
    /// Who pulled it (initials or a name; may be empty).
    pub pulled_by: String,
    /// What was planned, if a plan stood when it was pulled.
    pub plan: Option<Recipe>,
    /// What was really used: grind, dose, drink in the cup, temperature.
    pub used: Recipe,
    /// Pump on to cup away, seconds (0–300). `None` when not timed.
    pub time_s: Option<f64>,
    /// Pump on to first drip, seconds.
    pub first_drip_s: Option<f64>,
    /// Strength, percent by mass.
    pub tds_pct: Option<f64>,
    /// Marks and liking.
    pub taste: Taste,
    /// What went wrong.
    pub flags: Flags,
    /// Free words.
    pub note: String,
    /// Whether a trace is kept for it.
    pub has_trace: bool,
}

impl Pull {
    /// The recipe that was aimed at: see [`Recipe::meant`] and [`Recipe::aimed`].
    #[must_use]
    pub fn aimed(&self, usual_yield_g: f64) -> Recipe {
        self.used.meant(self.plan, self.flags.choked, usual_yield_g).aimed(self.plan)
    }

    /// Extraction, percent of the dry dose: strength times drink over dose. `None` without a strength or with a
    /// dose that is not above zero. (Definition: Batali, Ristenpart and Guinard, Sci. Rep. 10, 16450, 2020.)
    #[must_use]
    pub fn extraction_pct(&self) -> Option<f64> {
        let strength = self.tds_pct?;
        let value = strength * self.used.yield_g / self.used.dose_g;
        (self.used.dose_g > 0.0 && value.is_finite()).then_some(value)
    }
}
