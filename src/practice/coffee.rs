//! A coffee as the practice bench and the demo know it: the truth that a person at the machine can only guess.

use serde::{Deserialize, Serialize};

use crate::domain::{Process, Roast};
use crate::puck::{FlowLaw, Grains, Puck, PuckFault, PuckSpec, Solute, Unevenness, usual_solutes};

/// How [`Roast`] is written in files.
#[derive(Serialize, Deserialize)]
#[serde(remote = "Roast")]
enum RoastWord {
    Light,
    MediumLight,
    Medium,
    MediumDark,
    Dark,
}

/// How [`Process`] is written in files.
#[derive(Serialize, Deserialize)]
#[serde(remote = "Process")]
enum ProcessWord {
    Washed,
    Natural,
    Honey,
    Other,
}

fn medium() -> Roast {
    Roast::Medium
}

fn washed() -> Process {
    Process::Washed
}

/// Coarse Sauter diameter, µm, at which [`Coffee::flow`] is given: a usual espresso grind.
pub const USUAL_COARSE_UM: f64 = 270.0;

/// Coarse Sauter diameter, µm, below which a bed prepared with usual care begins to run unevenly enough to cost
/// extraction (fineness 1 of [`Unevenness::spread_for`]).
pub const ONSET_COARSE_UM: f64 = 245.0;

/// Exponent beyond Kozeny and Carman's with which permeability follows the coarse size, so that time goes about as size
/// to the power −3.5 (2 to 4 is common practice; it must be fitted for each grinder and bag).
const EXTRA_SLOPE: f64 = 0.7;

/// Largest spread of ln k that grinding finer alone brings; measured losses of extraction end near 0.6 (Cameron et al.,
/// Matter 2, 631, 2020) and nothing is known beyond.
const MOST_SPREAD: f64 = 0.8;

/// One coffee. Fields left out of a file keep the value of a usual medium roast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Coffee {
    /// Name.
    pub name: String,
    /// What to say about it once it is revealed.
    pub about: String,
    /// Roast level.
    #[serde(with = "RoastWord")]
    pub roast: Roast,
    /// Process.
    #[serde(with = "ProcessWord")]
    pub process: Process,
    /// How easily its bed lets water through against a usual coffee at the same grind, 0.1–10.
    pub flow: f64,
    /// Opening of the bed while solids leave (porosity gained), 0–0.2.
    pub opening: f64,
    /// Soluble share of the dry mass, 0.15–0.40.
    pub solubles: f64,
    /// Early acids against a usual coffee of this roast, 0.3–3.
    pub acids: f64,
    /// Sugars against a usual coffee of this roast, 0.3–3.
    pub sugars: f64,
    /// Late bitter matter against a usual coffee of this roast, 0.3–3.
    pub bitters: f64,
    /// How fast it gives its solubles against a usual coffee of this roast, 0.3–3.
    pub speed: f64,
    /// How unevenly it runs against a usual coffee at the same fineness and care, 0.2–3.
    pub unruly: f64,
    /// Share by which gas slows it on the day of roasting, 0–0.7.
    pub gas: f64,
    /// Days in which that share falls to 37 %, 1–60.
    pub gas_days: f64,
    /// Days since roast between which it tastes at its best.
    pub best_days: (f64, f64),
}

impl Default for Coffee {
    fn default() -> Self {
        Self {
            name: String::new(),
            about: String::new(),
            roast: medium(),
            process: washed(),
            flow: 1.0,
            opening: 0.05,
            solubles: 0.255,
            acids: 1.0,
            sugars: 1.0,
            bitters: 1.0,
            speed: 1.0,
            unruly: 1.0,
            gas: 0.3,
            gas_days: 8.0,
            best_days: (7.0, 28.0),
        }
    }
}

/// What roast does to a usual coffee: acids, sugars, bitters (shares against medium) and speed of giving. Directions
/// from drip coffee (Frost, Ristenpart and Guinard 2020; Rune et al., Curr. Res. Food Sci. 6, 100485, 2023, for the
/// acids); sizes are common practice, no source.
fn roast_factors(roast: Roast) -> [f64; 4] {
    match roast {
        Roast::Light => [1.25, 0.98, 0.86, 0.80],
        Roast::MediumLight => [1.12, 1.00, 0.93, 0.90],
        Roast::Medium => [1.0, 1.0, 1.0, 1.0],
        Roast::MediumDark => [0.86, 0.94, 1.12, 1.12],
        Roast::Dark => [0.72, 0.86, 1.25, 1.25],
    }
}

impl Coffee {
    /// Solubles for the simulator, scaled to [`Coffee::solubles`].
    #[must_use]
    pub fn solutes(&self) -> Vec<Solute> {
        let [acids, sugars, bitters, speed] = roast_factors(self.roast);
        let mut classes = usual_solutes();
        for class in &mut classes {
            class.share *= match class.name.as_str() {
                "acids" => acids * self.acids,
                "sugars" => sugars * self.sugars,
                "bitters" => bitters * self.bitters,
                _ => 1.0,
            };
            class.diffusivity_m2_s *= speed * self.speed;
            class.broken_rate_s *= speed * self.speed;
        }
        let total: f64 = classes.iter().map(|class| class.share).sum();
        for class in &mut classes {
            class.share *= self.solubles / total;
        }
        classes
    }

    /// How much slower gas makes it at an age: factor on permeability, 0–1. Direction from the gravimetric work on
    /// degassing (Wang, thesis, Guelph 2014, abstract); the law and its size are common practice, no source.
    #[must_use]
    pub fn gas_factor(&self, age_days: f64) -> f64 {
        1.0 - self.gas * libm::exp(-age_days.clamp(0.0, 400.0) / self.gas_days)
    }

    /// Sharpness of too fresh and flatness of too old, each 0–1, at an age in days since roast.
    #[must_use]
    pub fn age_marks(&self, age_days: f64) -> (f64, f64) {
        let (from, to) = self.best_days;
        (((from - age_days) / 8.0).clamp(0.0, 1.0), ((age_days - to) / 30.0).clamp(0.0, 1.0))
    }

    /// The puck that this coffee makes.
    ///
    /// `coarse_um` is the coarse Sauter diameter of the grounds (80–1500), `care` the preparation (1 usual, below 1
    /// better, above 1 worse), `loosen` a factor on permeability (1 as it should be).
    ///
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn puck(&self, made: &Made) -> Result<Puck, PuckFault> {
        let grains = Grains::at_coarse_diameter_um(made.coarse_um);
        let usual = Grains::at_coarse_diameter_um(USUAL_COARSE_UM);
        let law = FlowLaw::default();
        let permeability = law.permeability_m2
            * self.flow
            * grains.permeability_ratio(&usual)
            * libm::pow(made.coarse_um / USUAL_COARSE_UM, EXTRA_SLOPE)
            * self.gas_factor(made.age_days)
            * made.loosen;
        let fineness = ONSET_COARSE_UM / made.coarse_um;
        let spread = Unevenness::spread_for(fineness, made.care * self.unruly);
        Puck::new(PuckSpec {
            dose_g: made.dose_g,
            basket_diameter_mm: made.basket_mm,
            headspace_ml: made.headspace_ml,
            grains,
            flow: FlowLaw { permeability_m2: permeability, porosity_gain: self.opening, ..law },
            unevenness: Unevenness {
                spread: MOST_SPREAD * libm::tanh(spread / MOST_SPREAD),
                channels: made.channels.clone(),
            },
            solutes: self.solutes(),
            ..PuckSpec::default()
        })
    }
}

/// How one puck was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// Coarse Sauter diameter of the grounds, µm.
    pub coarse_um: f64,
    /// Dose, grams.
    pub dose_g: f64,
    /// Basket, mm.
    pub basket_mm: f64,
    /// Space above the bed that fills before pressure acts, mL.
    pub headspace_ml: f64,
    /// Days since roast.
    pub age_days: f64,
    /// Preparation: 1 usual, below 1 more even, above 1 less.
    pub care: f64,
    /// Factor on permeability, 1 as it should be.
    pub loosen: f64,
    /// Cracks and soft spots.
    pub channels: Vec<crate::puck::Channel>,
}
