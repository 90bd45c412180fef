//! The gear of the practice bench: a grinder whose scale hides real sizes, and the machine, basket and instruments
//! around it.

use serde::{Deserialize, Serialize};

use crate::domain::{Finer, Gear, GearFault, GrindScale, Scale};
use crate::puck::Profile;

/// How [`Finer`] is written in files.
#[derive(Serialize, Deserialize)]
#[serde(remote = "Finer")]
enum FinerWord {
    Lower,
    Higher,
}

/// Smallest, largest and step of something that can be set, written `(0, 30, 0.5)`.
pub type Marks = (f64, f64, f64);

/// A grinder: its own scale, and the truth behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Grinder {
    /// Description.
    pub name: String,
    /// Scale: smallest, largest, step, in the grinder's own unit.
    pub marks: Marks,
    /// Which way is finer.
    #[serde(with = "FinerWord")]
    pub finer: Finer,
    /// Whether any value can be set.
    pub stepless: bool,
    /// A setting and the coarse Sauter diameter, µm, that it really gives.
    pub gives_um: (f64, f64),
    /// How far that diameter moves for one unit of the scale, µm, 0.05–500.
    pub um_per_unit: f64,
    /// Whether the person is told [`Grinder::um_per_unit`].
    pub told: bool,
    /// Grounds kept back and delivered with the next dose, grams, 0–50.
    pub retained_g: f64,
}

impl Default for Grinder {
    fn default() -> Self {
        Self {
            name: "practice grinder".to_owned(),
            marks: (0.0, 40.0, 1.0),
            finer: Finer::Lower,
            stepless: false,
            gives_um: (20.0, 270.0),
            um_per_unit: 8.0,
            told: false,
            retained_g: 0.5,
        }
    }
}

impl Grinder {
    /// Coarse Sauter diameter of the grounds at a setting, µm, kept within 60–1500.
    #[must_use]
    pub fn coarse_um(&self, setting: f64) -> f64 {
        let (at, um) = self.gives_um;
        (um + self.finer.coarser_sign() * self.um_per_unit * (setting - at)).clamp(60.0, 1500.0)
    }

    /// The scale as the notebook knows it.
    ///
    /// # Errors
    /// [`GearFault`] when the marks make no scale.
    pub fn scale(&self) -> Result<GrindScale, GearFault> {
        let (min, max, step) = self.marks;
        Ok(GrindScale {
            scale: Scale::new(word!("work-edit-grind"), min, max, step)?,
            finer: self.finer,
            um_per_unit: self.told.then_some(self.um_per_unit),
            retained_g: self.retained_g,
            stepless: self.stepless,
        })
    }
}

/// Machine, basket and instruments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Bar {
    /// Doses that the basket takes: smallest, largest, step, grams.
    pub dose_g: Marks,
    /// Drinks that make sense: smallest, largest, step, grams.
    pub yield_g: Marks,
    /// Temperatures that can be set, °C; absent where none can.
    pub temperature_c: Option<Marks>,
    /// Temperature of the water where none can be set, and the middle of the range otherwise, °C, 60–100.
    pub usual_c: f64,
    /// Pressure above the bed, bar, 1–15.
    pub pressure_bar: f64,
    /// Seconds in which the pressure builds up, 0–30.
    pub ramp_s: f64,
    /// Space above the bed, mL, 0–40.
    pub headspace_ml: f64,
    /// Basket, mm, 40–70.
    pub basket_mm: f64,
    /// Whether strength can be measured.
    pub refractometer: bool,
}

impl Default for Bar {
    fn default() -> Self {
        Self {
            dose_g: (16.0, 20.0, 0.5),
            yield_g: (24.0, 54.0, 1.0),
            temperature_c: Some((88.0, 96.0, 1.0)),
            usual_c: 93.0,
            pressure_bar: 9.0,
            ramp_s: 2.0,
            headspace_ml: 8.0,
            basket_mm: 58.0,
            refractometer: false,
        }
    }
}

impl Bar {
    /// Pressure above the bed over time: a ramp, then flat.
    #[must_use]
    pub fn pressure(&self) -> Profile {
        if self.ramp_s > 0.0 {
            Profile::lines(vec![(0.0, 0.15 * self.pressure_bar), (self.ramp_s, self.pressure_bar)])
        } else {
            Profile::flat(self.pressure_bar)
        }
    }

    /// The gear as the notebook knows it.
    ///
    /// # Errors
    /// [`GearFault`] names the range that cannot be.
    pub fn gear(&self, grinder: &Grinder) -> Result<Gear, GearFault> {
        let scale = |what, (min, max, step): Marks| Scale::new(what, min, max, step);
        Ok(Gear {
            grind: grinder.scale()?,
            dose_g: scale(word!("units-quantity-dose"), self.dose_g)?,
            yield_g: scale(word!("units-quantity-yield"), self.yield_g)?,
            temperature_c: match self.temperature_c {
                Some(marks) => Some(scale(word!("units-quantity-temperature"), marks)?),
                None => None,
            },
            pressure_bar: Some(self.pressure_bar),
            refractometer: self.refractometer,
        })
    }
}
