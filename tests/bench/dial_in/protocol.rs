//! Typed mirror of the advise protocol: one JSON object a line, units in the names.

use serde::{Deserialize, Serialize};

/// The bag as the person knows it.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Bag {
    pub name: String,
    pub roast: Option<String>,
    pub process: Option<String>,
    pub days_since_roast: Option<f64>,
}

/// A range with its step.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Steps {
    pub min: f64,
    pub max: f64,
    pub step: f64,
}

impl Steps {
    /// Number of settings.
    pub fn count(&self) -> usize {
        ((self.max - self.min) / self.step + 1e-6).floor() as usize + 1
    }

    /// Value of the setting with index `i`, rounded so that it prints as a person would write it.
    pub fn at(&self, i: usize) -> f64 {
        tidy(self.min + self.step * i.min(self.count() - 1) as f64)
    }

    /// Index of the nearest setting.
    pub fn index(&self, v: f64) -> usize {
        (((v - self.min) / self.step).round().max(0.0) as usize).min(self.count() - 1)
    }

    /// The nearest setting.
    pub fn snap(&self, v: f64) -> f64 {
        self.at(self.index(v))
    }
}

/// Rounds away the dust of binary fractions (to 1e-6).
pub fn tidy(v: f64) -> f64 {
    (v * 1e6).round() / 1e6
}

/// The grinder's own scale.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Grind {
    pub min: f64,
    pub max: f64,
    pub step: f64,
    /// `lower` or `higher`.
    pub finer: String,
    pub um_per_unit: Option<f64>,
}

impl Grind {
    /// Range and step.
    pub fn steps(&self) -> Steps {
        Steps { min: self.min, max: self.max, step: self.step }
    }

    /// +1 when a higher number is finer, −1 when a lower one is.
    pub fn finer_sign(&self) -> f64 {
        if self.finer == "higher" { 1.0 } else { -1.0 }
    }
}

/// The gear of the station.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Gear {
    pub grind: Grind,
    pub dose_g: Steps,
    pub yield_g: Steps,
    pub temperature_c: Option<Steps>,
    pub pressure_bar: Option<f64>,
    pub refractometer: bool,
}

impl Gear {
    /// The nearest recipe that the gear can be set to.
    pub fn snap(&self, r: Recipe) -> Recipe {
        Recipe {
            grind: self.grind.steps().snap(r.grind),
            dose_g: self.dose_g.snap(r.dose_g),
            yield_g: self.yield_g.snap(r.yield_g),
            temperature_c: self.temperature_c.map(|t| t.snap(r.temperature_c.unwrap_or(93.0))),
        }
    }
}

/// A settable recipe.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    pub grind: f64,
    pub dose_g: f64,
    pub yield_g: f64,
    pub temperature_c: Option<f64>,
}

/// Where to begin; `grind` null when nobody knows.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Start {
    pub grind: Option<f64>,
    pub dose_g: f64,
    pub yield_g: f64,
    pub temperature_c: Option<f64>,
}

/// What the person is after.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Aim {
    pub recipe: Start,
    pub time_s: Option<[f64; 2]>,
}

/// Another bag on this gear with its pulls.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Earlier {
    pub bag: Bag,
    pub shots: Vec<Shot>,
}

/// The request that starts a bag.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Open {
    pub bag: Bag,
    pub gear: Gear,
    pub aim: Aim,
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub earlier: Vec<Earlier>,
}

/// Just-about-right marks −2 … 2 and liking 1 … 9, each absent where not given.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Taste {
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sourness: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub bitterness: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub strength: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub body: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub astringency: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sweetness: Option<i32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub liking: Option<i32>,
}

impl Taste {
    /// The six marks in the order sourness, bitterness, strength, body, astringency, sweetness.
    pub fn marks(&self) -> [Option<i32>; 6] {
        [self.sourness, self.bitterness, self.strength, self.body, self.astringency, self.sweetness]
    }

    /// Sets the six marks, in the same order.
    pub fn set_marks(&mut self, m: [Option<i32>; 6]) {
        [self.sourness, self.bitterness, self.strength, self.body, self.astringency, self.sweetness] = m;
    }
}

/// One pulled shot as the person records it.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Shot {
    pub grind: f64,
    pub dose_g: f64,
    pub yield_g: f64,
    pub temperature_c: Option<f64>,
    pub time_s: f64,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub first_drip_s: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub tds_pct: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub days_since_roast: Option<f64>,
    #[serde(skip_serializing_if = "std::ops::Not::not", default)]
    pub choked: bool,
    #[serde(skip_serializing_if = "std::ops::Not::not", default)]
    pub spurting: bool,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub taste: Option<Taste>,
}

/// An 80 % interval with its middle.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Quantiles {
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
}

impl Quantiles {
    /// True when `v` lies between p10 and p90.
    pub fn covers(&self, v: f64) -> bool {
        self.p10 <= v && v <= self.p90
    }
}

/// What the next pull should give; a quantity that the agent does not state is absent.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Expect {
    pub time_s: Option<Quantiles>,
    pub tds_pct: Option<Quantiles>,
    #[serde(default)]
    pub extraction_pct: Option<Quantiles>,
    pub liking: Option<Quantiles>,
}

/// The recipe that the agent would serve now.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Best {
    pub recipe: Recipe,
    pub liking: Option<Quantiles>,
}

/// One answer.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// `adjust`, `repeat` or `settled`.
    pub status: String,
    pub recipe: Recipe,
    #[serde(default)]
    pub expect: Expect,
    pub best: Best,
    pub chance_near_best: Option<f64>,
}
