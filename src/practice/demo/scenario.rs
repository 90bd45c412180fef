//! The invented scenario as data: `assets/practice/demo.ron`.
//!
//! Stations, drinkers and bags with the truth behind them, and a script of pulls: what somebody set, when, and what
//! they wrote. Times, strengths, traces and tastes are not written there; they come from the simulator.

use serde::{Deserialize, Serialize};

use crate::domain::Attribute;
use crate::practice::coffee::Coffee;
use crate::practice::gear::{Bar, Grinder};
use crate::practice::palate::Palate;

/// The whole scenario.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Drinkers.
    pub drinkers: Vec<DemoDrinker>,
    /// Stations.
    pub stations: Vec<DemoStation>,
    /// Bags, in the order of opening.
    pub bags: Vec<DemoBag>,
}

/// A drinker.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoDrinker {
    /// Short name by which bags refer to it.
    pub key: String,
    /// Truth.
    pub palate: Palate,
    /// Free words.
    #[serde(default)]
    pub note: String,
}

/// How the clock is read at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ClockHand {
    /// The program's own clock: tenths.
    Tenths,
    /// A kitchen timer: half seconds, and a human thumb.
    Halves,
    /// A wall clock: whole seconds, and a human eye.
    Wholes,
}

/// What a trace recorded there holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Probe {
    /// Pressure.
    Pressure,
    /// Flow.
    Flow,
    /// Cup mass.
    CupMass,
    /// Temperature.
    Temperature,
}

/// A station.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoStation {
    /// Short name by which bags refer to it.
    pub key: String,
    /// Name.
    pub name: String,
    /// Grinder.
    pub grinder: Grinder,
    /// The person's words for the machine.
    pub machine: String,
    /// Machine, basket, instruments.
    pub bar: Bar,
    /// How its clock is read.
    pub clock: ClockHand,
    /// What its traces hold.
    pub probes: Vec<Probe>,
    /// Days before the anchor on which it was set up.
    pub since: i32,
    /// Free words.
    #[serde(default)]
    pub note: String,
}

/// A recipe with a time and an age, from which the coffee's permeability is worked out.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aim {
    /// Grinder setting.
    pub grind: f64,
    /// Dose, grams.
    pub dose: f64,
    /// Drink, grams.
    pub drink: f64,
    /// Days since roast.
    pub age: f64,
    /// Time to reach the drink, seconds.
    pub time: f64,
}

/// A bag and its script.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoBag {
    /// Truth about the coffee, and its name, roast and process.
    pub coffee: Coffee,
    /// Roaster.
    pub roaster: String,
    /// Days before the anchor on which it was roasted.
    pub roasted: i32,
    /// Days before the anchor on which it was bought and written down.
    pub bought: i32,
    /// Mass, grams.
    pub mass: f64,
    /// Price and currency.
    pub price: (f64, String),
    /// Station.
    pub station: String,
    /// Drinker.
    pub drinker: String,
    /// Where to begin: grind (absent: no idea), dose, drink, temperature (absent: not settable).
    pub start: (Option<f64>, f64, f64, Option<f64>),
    /// Time window wanted.
    #[serde(default)]
    pub window: Option<(f64, f64)>,
    /// What the coffee's permeability is worked out from; absent for a bag that was never pulled.
    #[serde(default)]
    pub aim: Option<Aim>,
    /// The pull (counted from 1) whose recipe was kept.
    #[serde(default)]
    pub keeper: Option<usize>,
    /// Used up.
    #[serde(default)]
    pub finished: bool,
    /// Free words.
    #[serde(default)]
    pub note: String,
    /// The script.
    #[serde(default)]
    pub pulls: Vec<Line>,
}

/// What happened to a pull beyond ordinary scatter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Event {
    /// The station keeps a trace of it.
    Trace,
    /// A trace at twice the usual rate.
    Fast,
    /// Samples were lost for a while.
    Gap,
    /// One recorded quantity is missing.
    NoFlow,
    /// One recorded quantity is missing.
    NoTemperature,
    /// Strength was measured.
    Strength,
    /// The marks of this pull were not asked for; only liking.
    LikingOnly,
    /// Nobody tasted it.
    NotTasted,
    /// Poured away.
    Sink,
    /// Stopped before any drink came (seconds).
    Abandoned(f64),
    /// A channel: it opens at a second, with visible jets.
    Spurt(f64),
    /// Badly prepared without a visible jet: loose and uneven.
    Sloppy,
    /// The grounds of the setting before were still in the chute.
    NotPurged,
    /// The cup was taken away late or early by so many grams.
    Late(f64),
    /// The machine was not hot yet: so many kelvin below.
    Cold(f64),
    /// Grinder or room had warmed: permeability up by this share.
    Warm(f64),
    /// The dose was off by so many grams.
    Dose(f64),
}

/// One line of the script. What is left out stays as it was in the line before.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Days before the anchor.
    pub d: i32,
    /// Hour and minute.
    pub t: (i8, i8),
    /// Who.
    #[serde(default)]
    pub by: Option<String>,
    /// Grinder setting.
    #[serde(default)]
    pub g: Option<f64>,
    /// Dose, grams.
    #[serde(default)]
    pub dose: Option<f64>,
    /// Drink, grams.
    #[serde(default)]
    pub y: Option<f64>,
    /// Temperature, °C.
    #[serde(default)]
    pub c: Option<f64>,
    /// What happened.
    #[serde(default)]
    pub x: Vec<Event>,
    /// What they wrote.
    #[serde(default)]
    pub n: String,
}

impl Line {
    /// The seconds after which it was abandoned.
    #[must_use]
    pub fn abandoned_s(&self) -> Option<f64> {
        self.x.iter().find_map(|event| if let Event::Abandoned(s) = event { Some(*s) } else { None })
    }

    /// Whether something happened.
    #[must_use]
    pub fn has(&self, event: Event) -> bool {
        self.x.contains(&event)
    }

    /// Marks that are asked for after this pull.
    #[must_use]
    pub fn wanted(&self, at: usize) -> &'static [Attribute] {
        use Attribute as A;
        if self.has(Event::LikingOnly) {
            return &[];
        }
        match at % 3 {
            0 => &[A::Sourness, A::Bitterness, A::Strength, A::Body],
            1 => &[A::Sourness, A::Bitterness],
            _ => &Attribute::ALL,
        }
    }
}
