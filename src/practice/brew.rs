//! One simulated pull of one coffee on one station: from settings to clock, cup and taste.

use super::chance::Chance;
use super::coffee::{Coffee, Made};
use super::gear::{Bar, Grinder};
use super::palate::Cup;
use crate::domain::Recipe;
use crate::puck::{Channel, Drive, DriveSpec, Profile, Puck, PuckFault, PullTrace, Settings, simulate};

/// What chance and the hand did to one pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Luck {
    /// Preparation, 1 usual.
    pub care: f64,
    /// Factor on permeability.
    pub loosen: f64,
    /// Dose put in beside the one meant, grams.
    pub dose_off_g: f64,
    /// Drink in the cup beside the one meant, grams.
    pub yield_off_g: f64,
    /// Temperature beside the one set, K.
    pub temperature_off_c: f64,
    /// Cracks and soft spots.
    pub channels: Vec<Channel>,
}

impl Luck {
    /// Everything as meant.
    #[must_use]
    pub fn none() -> Self {
        Self {
            care: 1.0,
            loosen: 1.0,
            dose_off_g: 0.0,
            yield_off_g: 0.0,
            temperature_off_c: 0.0,
            channels: Vec::new(),
        }
    }

    /// Ordinary scatter of a steady hand: permeability 3 %, dose 0.08 g, drink 0.5 g, water 0.4 K, preparation 12 %
    /// (common practice, no source).
    #[must_use]
    pub fn drawn(chance: &mut Chance) -> Self {
        Self {
            care: chance.factor(0.12),
            loosen: chance.factor(0.03),
            dose_off_g: chance.around(0.08),
            yield_off_g: chance.around(0.5),
            temperature_off_c: chance.around(0.4),
            channels: Vec::new(),
        }
    }
}

/// Everything that one pull depends on.
#[derive(Debug, Clone, Copy)]
pub struct Brew<'a> {
    /// The coffee.
    pub coffee: &'a Coffee,
    /// The grinder.
    pub grinder: &'a Grinder,
    /// Machine, basket, instruments.
    pub bar: &'a Bar,
    /// Days since roast.
    pub age_days: f64,
}

/// A simulated pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// Samples and ledgers.
    pub trace: PullTrace,
    /// What is in the cup.
    pub cup: Cup,
    /// Recipe as it really was: dose and drink with the hand's errors, the setting of the grinder, real temperature.
    pub used: Recipe,
}

impl Brew<'_> {
    /// Coarse size of the grounds when `kept_g` grams of the dose were ground at `before`.
    fn coarse_um(&self, setting: f64, before: Option<f64>, dose_g: f64) -> f64 {
        let now = self.grinder.coarse_um(setting);
        let Some(before) = before else { return now };
        let share = (self.grinder.retained_g / dose_g.max(1.0)).clamp(0.0, 0.8);
        now + share * (self.grinder.coarse_um(before) - now)
    }

    /// The puck that a recipe makes. `unpurged` is the setting whose grounds still lie in the chute, if any do.
    ///
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn puck(&self, recipe: &Recipe, luck: &Luck, unpurged: Option<f64>) -> Result<Puck, PuckFault> {
        let dose_g = recipe.dose_g + luck.dose_off_g;
        self.coffee.puck(&Made {
            coarse_um: self.coarse_um(recipe.grind, unpurged, dose_g),
            dose_g,
            basket_mm: self.bar.basket_mm,
            headspace_ml: self.bar.headspace_ml,
            age_days: self.age_days,
            care: luck.care,
            loosen: luck.loosen,
            channels: luck.channels.clone(),
        })
    }

    /// What the machine does for a recipe; `longest_s` ends a pull that does not get there.
    ///
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn drive(&self, recipe: &Recipe, luck: &Luck, longest_s: f64) -> Result<Drive, PuckFault> {
        let water_c = recipe.temperature_c.unwrap_or(self.bar.usual_c) + luck.temperature_off_c;
        let pressure = self.bar.pressure_bar;
        Drive::new(DriveSpec {
            pressure_bar: if self.bar.ramp_s > 0.0 {
                Profile::lines(vec![(0.0, 0.15 * pressure), (self.bar.ramp_s, pressure)])
            } else {
                Profile::flat(pressure)
            },
            temperature_c: Profile::flat(water_c),
            duration_s: longest_s,
            stop_at_g: Some((recipe.yield_g + luck.yield_off_g).max(0.5)),
            ..DriveSpec::default()
        })
    }

    /// Pulls it.
    ///
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn pull(
        &self,
        recipe: &Recipe,
        luck: &Luck,
        unpurged: Option<f64>,
        longest_s: f64,
        settings: &Settings,
    ) -> Result<Shot, PuckFault> {
        let puck = self.puck(recipe, luck, unpurged)?;
        let drive = self.drive(recipe, luck, longest_s)?;
        let trace = simulate(&puck, &drive, settings)?;
        let cup = cup_at(&puck, &trace, trace.end_s, self.coffee.age_marks(self.age_days));
        let used = Recipe {
            grind: recipe.grind,
            dose_g: puck.spec().dose_g,
            yield_g: trace.yield_g,
            temperature_c: recipe.temperature_c,
        };
        Ok(Shot { trace, cup, used })
    }
}

/// What the cup holds at a moment of a pull. `age` is sharpness and flatness by [`Coffee::age_marks`].
#[must_use]
pub fn cup_at(puck: &Puck, trace: &PullTrace, time_s: f64, age: (f64, f64)) -> Cup {
    let yield_g = trace.sample(&trace.cup_g, time_s);
    let class = |name: &str| {
        let found = trace.classes.iter().position(|class| class == name);
        let mass = found.and_then(|at| trace.dissolved_g.get(at)).map_or(0.0, |s| trace.sample(s, time_s));
        (mass, if yield_g > 0.05 { 100.0 * mass / yield_g } else { 0.0 })
    };
    let [acids, sugars, caffeine, bitters] = ["acids", "sugars", "caffeine", "bitters"].map(class);
    let dissolved = acids.0 + sugars.0 + caffeine.0 + bitters.0;
    Cup {
        yield_g,
        tds_pct: if yield_g > 0.05 { 100.0 * dissolved / yield_g } else { 0.0 },
        extraction_pct: 100.0 * dissolved / puck.spec().dose_g,
        acids_pct: acids.1,
        sugars_pct: sugars.1,
        caffeine_pct: caffeine.1,
        bitters_pct: bitters.1,
        unevenness: unevenness(puck),
        gassy: age.0,
        stale: age.1,
    }
}

/// One number for how unevenly a bed gives: the share of extraction that the spread of its paths costs at equal drink
/// (41.5 σ² (1 − 0.3 σ²) %, computed for parallel streamtubes), plus a tenth of the flow that channels could carry.
#[must_use]
pub fn unevenness(puck: &Puck) -> f64 {
    let bed = &puck.spec().unevenness;
    let square = bed.spread * bed.spread;
    let spread = 0.415 * square * (1.0 - 0.3 * square.min(1.5));
    let carried: f64 = bed
        .channels
        .iter()
        .map(|channel| {
            let flow = channel.area_share * channel.gain;
            flow / (1.0 + flow)
        })
        .sum();
    (spread + 0.4 * carried).clamp(0.0, 1.0)
}
