//! Random pulls in a sensible box around the start recipe.

use super::{Agent, Record, plain};
use crate::protocol::{Advice, Gear, Open, Recipe, Shot};
use crate::rng::Rng;

/// Picks at random; serves the best-liked so far.
#[derive(Debug)]
pub struct Random {
    rng: Rng,
    record: Record,
    last: Option<Recipe>,
}

impl Random {
    /// A random agent with a stream of its own.
    pub fn new(key: u64) -> Self {
        Self { rng: Rng::keyed(&[key, 11]), record: Record::default(), last: None }
    }

    fn next(&mut self, status: &str) -> Advice {
        let recipe = sensible(&self.record, &mut self.rng);
        self.last = Some(recipe);
        plain(status, recipe, self.record.best())
    }
}

/// A recipe in the box that a sensible person would not leave: about ±45 µm of grind (a tenth of the scale where its
/// micrometres are unknown), ±1 g of dose, ratio 1.6–2.8, 90–96 °C.
pub fn sensible(record: &Record, rng: &mut Rng) -> Recipe {
    let begin = record.begin();
    let gear: &Gear = &record.open.gear;
    let reach = grind_reach(record);
    let reach = if record.open.aim.recipe.grind.is_none() { 2.0 * reach } else { reach };
    let dose_g = begin.dose_g + rng.range(-1.0, 1.0);
    gear.snap(Recipe {
        grind: begin.grind + rng.range(-reach, reach),
        dose_g,
        yield_g: dose_g * rng.range(1.6, 2.8),
        temperature_c: gear.temperature_c.map(|_| rng.range(90.0, 96.0)),
    })
}

/// Half width of the box in grinder units.
pub fn grind_reach(record: &Record) -> f64 {
    let g = &record.open.gear.grind;
    g.um_per_unit.map_or(0.1 * (g.max - g.min), |um| 45.0 / um)
}

impl Agent for Random {
    fn open(&mut self, open: &Open) -> Result<Advice, String> {
        self.record = Record::start(open);
        Ok(self.next("adjust"))
    }

    fn shot(&mut self, shot: &Shot) -> Result<Advice, String> {
        self.record.push(shot, self.last);
        Ok(self.next("adjust"))
    }

    fn ask(&mut self) -> Result<Advice, String> {
        Ok(self.next("adjust"))
    }
}
