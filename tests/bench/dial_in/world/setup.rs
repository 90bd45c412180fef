//! What the person knows: gear, bag and start recipe.

use crate::protocol::{Aim, Bag, Gear, Grind, Open, Start, Steps, tidy};
use crate::rng::Rng;

/// Names of roasts, light to dark.
const ROASTS: [&str; 5] = ["light", "medium_light", "medium", "medium_dark", "dark"];
const PROCESSES: [&str; 4] = ["washed", "natural", "honey", "other"];

/// Facts of a bag; the roast is an index into the roasts, light to dark.
#[derive(Debug, Clone)]
pub struct BagFacts {
    pub name: String,
    pub roast: Option<usize>,
    pub process: Option<usize>,
    pub days_since_roast: Option<f64>,
}

impl BagFacts {
    /// A random bag.
    pub fn draw(rng: &mut Rng, name: &str) -> Self {
        let roast = rng.below(5);
        let process = rng.below(4);
        let days = rng.range(4.0, 30.0).round();
        Self {
            name: name.into(),
            roast: rng.chance(0.85).then_some(roast),
            process: rng.chance(0.75).then_some(process),
            days_since_roast: rng.chance(0.8).then_some(days),
        }
    }

    /// The bag in the protocol's words.
    pub fn bag(&self) -> Bag {
        Bag {
            name: self.name.clone(),
            roast: self.roast.and_then(|r| ROASTS.get(r)).map(|s| (*s).to_owned()),
            process: self.process.and_then(|p| PROCESSES.get(p)).map(|s| (*s).to_owned()),
            days_since_roast: self.days_since_roast,
        }
    }
}

/// Habits and gear known before the first pull.
#[derive(Debug, Clone)]
pub struct Setup {
    pub gear: Gear,
    pub start: Start,
    pub time_s: Option<[f64; 2]>,
    pub facts: BagFacts,
    /// The basket's nominal dose (the start recipe's dose).
    pub nominal_dose_g: f64,
    /// Median micrometres per unit of grinders with such a scale.
    pub um_median: f64,
    /// Which of the six marks this drinker bothers to give.
    pub gives: [bool; 6],
    /// Whether the clock is read to a tenth, and whether the first drip is noted.
    pub tenths: bool,
    pub notes_drip: bool,
}

/// One kind of grinder scale.
struct Scale {
    min: f64,
    max: f64,
    step: f64,
    um: f64,
    higher_is_finer: bool,
}

/// Stepped and stepless, plain and reversed, few and many numbers (invented; sizes of steps common practice).
const SCALES: [Scale; 8] = [
    Scale { min: 0.0, max: 40.0, step: 1.0, um: 10.0, higher_is_finer: false },
    Scale { min: 0.0, max: 120.0, step: 1.0, um: 4.0, higher_is_finer: false },
    Scale { min: 0.0, max: 10.0, step: 0.1, um: 60.0, higher_is_finer: false },
    Scale { min: 100.0, max: 600.0, step: 5.0, um: 1.0, higher_is_finer: false },
    Scale { min: 1.0, max: 31.0, step: 0.5, um: 14.0, higher_is_finer: true },
    Scale { min: 0.0, max: 12.0, step: 0.25, um: 32.0, higher_is_finer: false },
    Scale { min: 0.0, max: 90.0, step: 2.0, um: 5.0, higher_is_finer: true },
    Scale { min: 1.0, max: 50.0, step: 0.05, um: 9.0, higher_is_finer: false },
];

impl Setup {
    /// Draws gear, bag and start.
    pub fn draw(rng: &mut Rng) -> Self {
        let scale = &SCALES[rng.below(SCALES.len())];
        let nominal_dose_g = [14.0, 16.0, 18.0, 18.0, 20.0][rng.below(5)];
        let span = scale.max - scale.min;
        let depth = rng.range(0.28, 0.45);
        let sweet = if scale.higher_is_finer { scale.max - depth * span } else { scale.min + depth * span };
        // A scale of its own kind, known or not: the grinder in hand differs from the median by up to a third.
        let known_um = tidy((scale.um * (0.25 * rng.normal()).exp() * 100.0).round() / 100.0);
        let grind = Grind {
            min: scale.min,
            max: scale.max,
            step: scale.step,
            finer: if scale.higher_is_finer { "higher" } else { "lower" }.into(),
            um_per_unit: rng.chance(0.45).then_some(known_um),
        };
        let dose_step = [0.1, 0.2, 0.5][rng.below(3)];
        let yield_step = [0.5, 1.0, 1.0, 2.0][rng.below(4)];
        let temperature_step = [0.5, 1.0, 1.0][rng.below(3)];
        // A whole number of steps either side, so that the nominal dose is one of them.
        let reach = tidy((rng.range(1.0, 2.0) / dose_step).round() * dose_step);
        let controls = rng.chance(0.65);
        let gear = Gear {
            dose_g: Steps {
                min: tidy(nominal_dose_g - reach),
                max: tidy(nominal_dose_g + reach),
                step: dose_step,
            },
            yield_g: Steps {
                min: (nominal_dose_g * 1.0).round(),
                max: (nominal_dose_g * 3.5).round(),
                step: yield_step,
            },
            temperature_c: controls.then_some(Steps { min: 86.0, max: 97.0, step: temperature_step }),
            pressure_bar: rng.chance(0.7).then_some(9.0),
            refractometer: rng.chance(0.4),
            grind,
        };
        let ratio = [1.9, 2.0, 2.0, 2.0, 2.1, 2.3][rng.below(6)];
        let guess = gear.grind.steps().snap(sweet);
        let start = Start {
            grind: rng.chance(0.88).then_some(guess),
            dose_g: nominal_dose_g,
            yield_g: gear.yield_g.snap(nominal_dose_g * ratio),
            temperature_c: gear.temperature_c.map(|t| t.snap([91.0, 92.0, 93.0, 93.0, 94.0][rng.below(5)])),
        };
        let time_s = match rng.below(3) {
            0 => None,
            1 => Some([25.0, 30.0]),
            _ => Some([24.0, 32.0]),
        };
        let facts = BagFacts::draw(rng, "Quarry Road");
        let gives = match rng.below(4) {
            0 => [true, true, true, false, false, false],
            1 => [true, true, true, true, true, false],
            _ => [true; 6],
        };
        Self {
            gear,
            start,
            time_s,
            facts,
            nominal_dose_g,
            um_median: scale.um,
            gives,
            tenths: rng.chance(0.6),
            notes_drip: rng.chance(0.4),
        }
    }

    /// The request that opens the bag, without earlier bags.
    pub fn open(&self) -> Open {
        Open {
            bag: self.facts.bag(),
            gear: self.gear.clone(),
            aim: Aim { recipe: self.start, time_s: self.time_s },
            earlier: Vec::new(),
        }
    }
}
