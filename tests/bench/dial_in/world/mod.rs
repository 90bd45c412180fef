//! Worlds with a hidden truth: gear, bag, puck and drinker from which shots are drawn.
//!
//! What the person can know is a [`Setup`], drawn by plain random numbers. What nobody knows is a [`Truth`], a fixed
//! function of the setup and of a standard-normal point: [`SHARED`] coordinates for station and drinker and [`OWN`] for a
//! bag. Other bags on the same gear share the first part.

pub mod best;
pub mod drinker;
pub mod extract;
pub mod flow;
pub mod setup;
pub mod shot;
pub mod taste;

use crate::protocol::{Recipe, Shot};
use crate::rng::{Draw, Rng, phi_inverse};
use drinker::Drinker;
use extract::Extract;
use flow::{Flow, REFERENCE_S, Run, Site};
use setup::{BagFacts, Setup};
use taste::{Flavour, TasteMap};

/// Coordinates of station and drinker.
pub const SHARED: usize = 64;
/// Coordinates of one bag.
pub const OWN: usize = 16;

/// The structurally different families of truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Power-law time, kinetics with a spread of paths.
    Power,
    /// Exponential time behind a wetting delay, extraction a plain hump.
    Wetting,
    /// Machine and puck resistance in series, two grain populations.
    Series,
    /// Compaction cliff that chokes, strength limited by saturation.
    Cliff,
    /// Channels that open when finer: time turns back.
    Channel,
    /// Bed that erodes during the pull, three classes of solubles.
    Erosion,
    /// Temperature rules time, extraction and taste.
    Thermal,
}

/// All families, in the order of the tables.
pub const FAMILIES: [Family; 7] = [
    Family::Power,
    Family::Wetting,
    Family::Series,
    Family::Cliff,
    Family::Channel,
    Family::Erosion,
    Family::Thermal,
];

impl Family {
    /// Name on the command line and in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Wetting => "wetting",
            Self::Series => "series",
            Self::Cliff => "cliff",
            Self::Channel => "channel",
            Self::Erosion => "erosion",
            Self::Thermal => "thermal",
        }
    }
}

/// A cup before anyone tastes it.
#[derive(Debug, Clone, Copy)]
pub struct Cup {
    pub time_s: f64,
    pub first_drip_s: f64,
    pub choked: bool,
    pub uneven: f64,
    pub extraction_pct: f64,
    pub tds_pct: f64,
    pub ratio: f64,
    pub temperature_c: f64,
}

/// Everything hidden about one bag at one station with one drinker.
#[derive(Debug, Clone)]
pub struct Truth {
    pub family: Family,
    /// Setting at which the reference pull takes [`REFERENCE_S`].
    pub reference_grind: f64,
    um_per_unit: f64,
    finer_sign: f64,
    size_um: f64,
    nominal_dose_g: f64,
    flow: Flow,
    extract: Extract,
    map: TasteMap,
    pub drinker: Drinker,
    flavour: Flavour,
    merit: f64,
    reference_pct: f64,
    /// Error of the temperature setting, or the fixed temperature less 93 °C.
    temperature_shift_c: f64,
    /// Age at opening, days.
    opened_at_days: f64,
    ease_amount: f64,
    ease_days: f64,
    /// Water at which this coffee shows best, and what 3 °C away from it costs in liking.
    happy_at_c: f64,
    heat_cost: f64,
    pub time_noise: f64,
}

impl Truth {
    /// Builds the truth of a bag from the setup and the hidden point.
    pub fn build(setup: &Setup, facts: &BagFacts, shared: &[f64], own: &[f64]) -> Self {
        let mut d = Draw::new(shared);
        let family = FAMILIES[d.pick(FAMILIES.len())];
        let grind = &setup.gear.grind;
        let um_per_unit = match setup.gear.grind.um_per_unit {
            Some(um) => d.log_normal(um, 0.04),
            None => d.log_normal(setup.um_median, 0.3),
        };
        let finer_sign = grind.finer_sign();
        let size_um = d.log_normal(270.0, 0.15);
        let station_grind = match setup.start.grind {
            Some(g) => d.normal(g, START_ERROR_UM / um_per_unit),
            None => {
                let depth = d.uniform(0.2, 0.5);
                if finer_sign < 0.0 {
                    grind.min + depth * (grind.max - grind.min)
                } else {
                    grind.max - depth * (grind.max - grind.min)
                }
            }
        };
        let flow = Flow::draw(family, &mut d);
        let extract = Extract::draw(family, &mut d);
        let map = TasteMap::draw(family, &mut d);
        let temperature_shift_c =
            if setup.gear.temperature_c.is_some() { d.normal(0.0, 0.7) } else { d.normal(0.0, 1.5) };
        let time_noise = d.uniform(0.04, 0.08);
        let mut drinker = Drinker::draw(&mut d);

        let mut b = Draw::new(own);
        let guessed = b.pick(5);
        let roast = facts.roast.unwrap_or(guessed);
        let dark = roast as f64 - 2.0;
        let shift_um = b.normal(4.0 * dark, 14.0);
        let flavour = Flavour {
            sour: b.normal(-0.2 * dark, 0.2),
            bitter: b.normal(0.2 * dark, 0.2),
            sweet: b.normal(0.0, 0.2),
        };
        let merit = b.normal(0.0, 0.35);
        let reference_pct = b.normal(19.8 + 0.25 * dark, 0.7);
        let guess = b.uniform(4.0, 30.0);
        let opened_at_days = facts.days_since_roast.unwrap_or(guess);
        let ease_amount = b.uniform(0.05, 0.35);
        let ease_days = b.uniform(6.0, 14.0);
        let happy_at_c = b.normal(92.8 - 0.5 * dark, 1.0);
        let heat_cost = b.log_normal(if family == Family::Thermal { 0.5 } else { 0.2 }, 0.4);

        let mut truth = Self {
            family,
            reference_grind: station_grind - finer_sign * shift_um / um_per_unit,
            um_per_unit,
            finer_sign,
            size_um,
            nominal_dose_g: setup.nominal_dose_g,
            flow,
            extract,
            map,
            drinker: drinker.clone(),
            flavour,
            merit,
            reference_pct,
            temperature_shift_c,
            opened_at_days,
            ease_amount,
            ease_days,
            happy_at_c,
            heat_cost,
            time_noise,
        };
        let dream = Cup {
            time_s: REFERENCE_S,
            first_drip_s: 6.0,
            choked: false,
            uneven: 0.0,
            extraction_pct: drinker.ideal_extraction_pct,
            tds_pct: drinker.ideal_tds_pct,
            ratio: drinker.ideal_extraction_pct / drinker.ideal_tds_pct,
            temperature_c: 93.0,
        };
        drinker.settle(truth.map.intensities(&dream, &Flavour::default()));
        truth.drinker = drinker;
        truth
    }

    /// Factor on the bed's conductance `days` after opening (1 at opening): older coffee runs faster.
    pub fn ease(&self, days: f64) -> f64 {
        let faded = |age: f64| 1.0 - (-age / self.ease_days).exp();
        (self.ease_amount * (faded(self.opened_at_days + days) - faded(self.opened_at_days))).exp()
    }

    /// The setting that gives a size relative to the reference.
    pub fn grind_at(&self, rho: f64) -> f64 {
        self.reference_grind - self.finer_sign * (rho - 1.0) * self.size_um / self.um_per_unit
    }

    /// The cup that a recipe gives when nothing goes wrong, with `ease` on the bed's conductance.
    pub fn cup(&self, r: &Recipe, ease: f64) -> Cup {
        let rho = 1.0 - self.finer_sign * self.um_per_unit * (r.grind - self.reference_grind) / self.size_um;
        let warmer_c = r.temperature_c.map_or(0.0, |t| t - 93.0) + self.temperature_shift_c;
        let site = Site {
            rho: rho.clamp(0.3, 2.5),
            dose: r.dose_g / self.nominal_dose_g,
            drink: r.yield_g / (2.0 * self.nominal_dose_g),
            warmer_c,
            ease,
        };
        let run = self.flow.run(&site);
        self.finish(r, &site, &run)
    }

    /// Extraction and strength once the run is known.
    fn finish(&self, r: &Recipe, site: &Site, run: &Run) -> Cup {
        let ratio = r.yield_g / r.dose_g;
        // No more than a fifth of the drink can be solids.
        let extraction_pct = self.extract.percent(self.reference_pct, site, run, ratio).min(20.0 * ratio);
        Cup {
            time_s: run.time_s,
            first_drip_s: run.first_drip_s,
            choked: run.choked,
            uneven: run.uneven,
            extraction_pct,
            tds_pct: extraction_pct / ratio,
            ratio,
            temperature_c: 93.0 + site.warmer_c,
        }
    }

    /// Deviations of a cup from the drinker's ideal.
    pub fn deviations(&self, c: &Cup) -> taste::Intensities {
        self.drinker.deviations(&self.map.intensities(c, &self.flavour))
    }

    /// Mean liking of a cup; 1 for a choked pull.
    pub fn cup_liking(&self, c: &Cup) -> f64 {
        if c.choked {
            return 1.0;
        }
        let away = (c.temperature_c - self.happy_at_c) / 3.0;
        self.drinker.liking(
            &self.map.intensities(c, &self.flavour),
            c,
            self.merit - self.heat_cost * away * away,
        )
    }

    /// True mean liking of a recipe `days` after opening.
    pub fn mean_liking(&self, r: &Recipe, days: f64) -> f64 {
        self.cup_liking(&self.cup(r, self.ease(days)))
    }
}

/// How far the start recipe's grind is from the reference, standard deviation in micrometres.
const START_ERROR_UM: f64 = 32.0;

/// A world: what is known and what is true, for the bag in hand and for two earlier ones.
#[derive(Debug, Clone)]
pub struct World {
    pub index: usize,
    pub setup: Setup,
    pub truth: Truth,
    /// Earlier bags: facts and truths.
    pub others: Vec<(BagFacts, Truth)>,
}

impl World {
    /// World number `index` of a seed; families take turns unless one is asked for.
    pub fn new(seed: u64, index: usize, only: Option<Family>) -> Self {
        let family = only.unwrap_or(FAMILIES[index % FAMILIES.len()]);
        let at = FAMILIES.iter().position(|f| *f == family).unwrap_or(0);
        let mut rng = Rng::keyed(&[seed, index as u64, 1, at as u64]);
        let setup = Setup::draw(&mut rng);
        let mut shared: Vec<f64> = (0..SHARED).map(|_| rng.normal()).collect();
        shared[0] = phi_inverse((at as f64 + rng.range(0.02, 0.98)) / FAMILIES.len() as f64);
        let own = |rng: &mut Rng| -> Vec<f64> { (0..OWN).map(|_| rng.normal()).collect() };
        let truth = Truth::build(&setup, &setup.facts, &shared, &own(&mut rng));
        let others = (0..2)
            .map(|i| {
                let facts = BagFacts::draw(&mut rng, ["Mill Lane lot 4", "Ferry Hill lot 9"][i]);
                let other = Truth::build(&setup, &facts, &shared, &own(&mut rng));
                (facts, other)
            })
            .collect();
        Self { index, setup, truth, others }
    }

    /// A shot of the bag in hand; the stream depends on seed, world and pull number only.
    pub fn pull(&self, seed: u64, n: usize, r: &Recipe, when: shot::When) -> Shot {
        let mut rng = Rng::keyed(&[seed, self.index as u64, 2, n as u64]);
        shot::pull(&self.truth, &self.setup, &self.setup.facts, r, when, &mut rng)
    }
}
