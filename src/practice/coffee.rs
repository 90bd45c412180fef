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

/// The law by which a coffee's bed lets water through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Bed {
    /// The simulator's usual law; `opening`, `packing` and `wet` shape it.
    #[default]
    Usual,
    /// The law of one real coffee, measured from 0.8 to 12.5 bar ([`PuckSpec::measured_2026`]), with its grains and the
    /// speed at which its solids leave; `flow` and `wet` shape it. Taken as ground to [`USUAL_COARSE_UM`].
    Measured,
}

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
    /// The law of its bed.
    pub bed: Bed,
    /// How easily its bed lets water through against a usual coffee at the same grind, 0.1–10.
    pub flow: f64,
    /// Opening of the bed while solids leave (porosity gained), 0–0.35.
    pub opening: f64,
    /// Share of its porosity that the bed loses for good under the stress of wetting, 0–0.9.
    pub packing: f64,
    /// Liquid per bed volume behind the wetting front, 0.06–0.75; more means a later first drip.
    pub wet: f64,
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
            bed: Bed::Usual,
            flow: 1.0,
            opening: 0.05,
            packing: 0.0,
            wet: 0.30,
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
    /// Takes the name and the description of a coffee that is the same in all else, so that they are in its language.
    /// False, and nothing changes, where it is another one.
    pub fn say_as(&mut self, other: &Self) -> bool {
        let said = Self { name: other.name.clone(), about: other.about.clone(), ..self.clone() };
        let same = said == *other;
        if same {
            *self = said;
        }
        same
    }

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
        if self.bed == Bed::Measured {
            slowed(&mut classes);
        }
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
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn puck(&self, made: &Made) -> Result<Puck, PuckFault> {
        let (base, grains, usual) = match self.bed {
            Bed::Usual => (
                PuckSpec::default(),
                Grains::at_coarse_diameter_um(made.coarse_um),
                Grains::at_coarse_diameter_um(USUAL_COARSE_UM),
            ),
            Bed::Measured => {
                let base = PuckSpec::measured_2026();
                let grains = base.grains;
                (base, grains.coarser(made.coarse_um / USUAL_COARSE_UM), grains)
            }
        };
        let permeability = base.flow.permeability_m2
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
            liquid_share: self.wet,
            grains,
            flow: match self.bed {
                Bed::Usual => FlowLaw {
                    permeability_m2: permeability,
                    porosity_gain: self.opening,
                    packing_share: self.packing,
                    ..base.flow
                },
                Bed::Measured => FlowLaw { permeability_m2: permeability, ..base.flow },
            },
            unevenness: Unevenness {
                spread: MOST_SPREAD * libm::tanh(spread / MOST_SPREAD),
                channels: made.channels.clone(),
            },
            solutes: self.solutes(),
            ..base
        })
    }
}

/// Makes classes of solubles leave together as fast as the one class of the measured coffee, each keeping its place
/// among the others.
fn slowed(classes: &mut [Solute]) {
    let measured = PuckSpec::measured_2026();
    let Some(whole) = measured.solutes.first() else { return };
    let total: f64 = classes.iter().map(|class| class.share).sum();
    let mean =
        |of: fn(&Solute) -> f64| classes.iter().map(|class| class.share * of(class)).sum::<f64>() / total;
    let (speed, liquid) = (mean(|class| class.diffusivity_m2_s), mean(|class| class.liquid_share));
    for class in classes {
        class.diffusivity_m2_s *= whole.diffusivity_m2_s / speed;
        class.liquid_share *= whole.liquid_share / liquid;
        class.broken_share = whole.broken_share;
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
