//! Exercises as data: a hidden coffee, drinker and station, what the student may move and is shown, hints, an answer.

use serde::{Deserialize, Serialize};

use super::coffee::Coffee;
use super::gear::{Bar, Grinder};
use super::palate::Palate;
use crate::domain::{Lever, Recipe};

/// A station of the practice packs.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Station {
    /// What it is called.
    pub name: String,
    /// Its grinder.
    pub grinder: Grinder,
    /// Machine, basket, instruments.
    pub bar: Bar,
}

/// How hard an exercise is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Level {
    /// Never pulled a shot.
    FirstDay,
    /// Knows the words.
    Early,
    /// Dials in with help.
    Steady,
    /// Dials in alone.
    Advanced,
    /// Teaches others.
    Expert,
}

impl Level {
    /// All, easiest first.
    pub const ALL: [Self; 5] = [Self::FirstDay, Self::Early, Self::Steady, Self::Advanced, Self::Expert];

    /// Name for a list.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::FirstDay => word!("practice-exercise-level-first-day"),
            Self::Early => word!("practice-exercise-level-early"),
            Self::Steady => word!("practice-exercise-level-steady"),
            Self::Advanced => word!("practice-exercise-level-advanced"),
            Self::Expert => word!("practice-exercise-level-expert"),
        }
    }
}

/// A recipe as written in a pack.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// Grinder setting.
    pub grind: f64,
    /// Dose, grams.
    pub dose_g: f64,
    /// Drink, grams.
    pub yield_g: f64,
    /// Water, °C; absent where it cannot be set.
    #[serde(default)]
    pub temperature_c: Option<f64>,
}

impl From<Setting> for Recipe {
    fn from(s: Setting) -> Self {
        Self { grind: s.grind, dose_g: s.dose_g, yield_g: s.yield_g, temperature_c: s.temperature_c }
    }
}

/// What a student may move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Move {
    /// The grinder.
    Grind,
    /// The dose.
    Dose,
    /// The drink.
    Yield,
    /// The water.
    Temperature,
}

impl Move {
    /// All.
    pub const ALL: [Self; 4] = [Self::Grind, Self::Dose, Self::Yield, Self::Temperature];

    /// The lever it moves.
    #[must_use]
    pub fn lever(self) -> Lever {
        match self {
            Self::Grind => Lever::Grind,
            Self::Dose => Lever::Dose,
            Self::Yield => Lever::Yield,
            Self::Temperature => Lever::Temperature,
        }
    }

    /// Why it is not moved where the exercise keeps it, in a sentence.
    #[must_use]
    pub fn kept(self) -> &'static str {
        match self {
            Self::Grind => word!("practice-exercise-keeps-grind"),
            Self::Dose => word!("practice-exercise-keeps-dose"),
            Self::Yield => word!("practice-exercise-keeps-yield"),
            Self::Temperature => word!("practice-exercise-keeps-temperature"),
        }
    }
}

/// What a student is shown of a pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Show {
    /// The clock and the first drip.
    Clock,
    /// Strength and extraction.
    Strength,
    /// The drinker's marks.
    Marks,
    /// The drinker's liking.
    Liking,
    /// The strips.
    Trace,
}

/// What goes wrong in a pull on purpose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Fault {
    /// A channel with visible jets, opening at a second.
    Spurt(f64),
    /// Badly distributed and tamped, without a jet.
    Sloppy,
    /// The water is so many kelvin too cool.
    Cool(f64),
    /// So many grams of coffee too much (negative: too little).
    Dose(f64),
    /// The grinder has warmed: permeability up by this share.
    Warm(f64),
}

/// A planned surprise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Surprise {
    /// In which pull, counted from 1.
    pub pull: usize,
    /// What goes wrong.
    pub fault: Fault,
}

/// An exercise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exercise {
    /// Title.
    pub title: String,
    /// How hard it is.
    pub level: Level,
    /// What the student is told.
    pub task: String,
    /// The hidden coffee: name of a file under `coffees/`, without `.ron`.
    pub coffee: String,
    /// The hidden drinker: name of a file under `drinkers/`.
    pub drinker: String,
    /// The station: name of a file under `stations/`.
    pub station: String,
    /// Where it begins.
    pub start: Setting,
    /// What may be moved.
    pub moves: Vec<Move>,
    /// What is shown.
    pub shows: Vec<Show>,
    /// Pulls at hand, 1–30.
    pub most_pulls: usize,
    /// The served cup passes when it lies within so many liking points of the best reachable, 0.1–3.
    #[serde(default = "half_a_point")]
    pub near: f64,
    /// Days since roast, 0–120.
    #[serde(default = "two_weeks")]
    pub age_days: f64,
    /// How much chance there is in a pull: 1 a steady hand, 0 none, up to 3.
    #[serde(default = "one")]
    pub scatter: f64,
    /// How far seeds make the hidden coffee differ: 1 as usual, 0 always the same, up to 3.
    #[serde(default = "one")]
    pub variety: f64,
    /// Planned surprises.
    #[serde(default)]
    pub surprises: Vec<Surprise>,
    /// Hints, one at a time.
    #[serde(default)]
    pub hints: Vec<String>,
    /// Questions for the worksheet.
    #[serde(default)]
    pub questions: Vec<Question>,
    /// What the teacher says at the end.
    pub answer: String,
}

/// A question with its answer, printed apart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// The question.
    pub ask: String,
    /// The answer.
    pub answer: String,
}

impl Exercise {
    /// Takes the sentences of an exercise that is the same in all else, so that they are in its language. False, and
    /// nothing changes, where it is another one.
    pub fn say_as(&mut self, other: &Self) -> bool {
        let said = Self {
            title: other.title.clone(),
            task: other.task.clone(),
            hints: other.hints.clone(),
            questions: other.questions.clone(),
            answer: other.answer.clone(),
            ..self.clone()
        };
        let same = said == *other && self.hints.len() == other.hints.len();
        if same {
            *self = said;
        }
        same
    }
}

fn half_a_point() -> f64 {
    0.5
}

fn two_weeks() -> f64 {
    14.0
}

fn one() -> f64 {
    1.0
}

/// Everything hidden in an exercise.
#[derive(Debug, Clone, PartialEq)]
pub struct Hidden {
    /// The coffee.
    pub coffee: Coffee,
    /// The drinker.
    pub palate: Palate,
    /// The station.
    pub station: Station,
}
