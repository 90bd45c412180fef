//! Format 1 on disk. Every struct here is the text of a file, field by field; the domain knows nothing of it.
//! New fields may be added as `may` without a new format number; anything else needs `v2`.

mod convert;
mod gear;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::de;

use super::text::{DiskValue, Layout, Num, Ron, Samples, record, words};
use crate::domain;
use crate::units::{MassUnit, PressureUnit, TemperatureUnit};

pub(crate) use gear::{Basket, Grinder, Machine, Scale, Station};

/// The number that a file of this format carries.
pub(crate) const FORMAT: u32 = 1;

/// An identifier, as a string.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct IdText(pub(crate) domain::Id);

impl DiskValue for IdText {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&format!("\"{}\"", self.0));
    }
}

impl<'de> de::Deserialize<'de> for IdText {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = IdText;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an identifier as a string")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<IdText, E> {
                text.parse().map(IdText).map_err(E::custom)
            }
        }
        deserializer.deserialize_str(Visitor)
    }
}

/// A just-about-right mark, −2…2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct MarkText(pub(crate) domain::Mark);

impl DiskValue for MarkText {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&self.0.value().to_string());
    }
}

impl<'de> de::Deserialize<'de> for MarkText {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = i64::deserialize(deserializer)?;
        domain::Mark::new(value)
            .map(Self)
            .ok_or_else(|| de::Error::custom(say!("store-v1-mark", value = value)))
    }
}

/// Liking, 1…9.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Liking(pub(crate) u8);

impl DiskValue for Liking {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&self.0.to_string());
    }
}

impl<'de> de::Deserialize<'de> for Liking {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match i64::deserialize(deserializer)? {
            value @ 1..=9 => Ok(Self(value as u8)),
            value => Err(de::Error::custom(say!("store-v1-liking", value = value))),
        }
    }
}

words!(
    /// Roast level.
    RoastWord of domain::Roast {
        "light" = domain::Roast::Light,
        "medium_light" = domain::Roast::MediumLight,
        "medium" = domain::Roast::Medium,
        "medium_dark" = domain::Roast::MediumDark,
        "dark" = domain::Roast::Dark,
    }
);

words!(
    /// Process.
    ProcessWord of domain::Process {
        "washed" = domain::Process::Washed,
        "natural" = domain::Process::Natural,
        "honey" = domain::Process::Honey,
        "other" = domain::Process::Other,
    }
);

words!(
    /// Unit of mass on screen.
    MassWord of MassUnit { "gram" = MassUnit::Gram, "ounce" = MassUnit::Ounce, }
);

words!(
    /// Unit of temperature on screen.
    TemperatureWord of TemperatureUnit {
        "celsius" = TemperatureUnit::Celsius, "fahrenheit" = TemperatureUnit::Fahrenheit,
    }
);

words!(
    /// Unit of pressure on screen.
    PressureWord of PressureUnit { "bar" = PressureUnit::Bar, "psi" = PressureUnit::Psi, }
);

words!(
    /// Theme.
    ThemeWord of domain::ThemeChoice {
        "system" = domain::ThemeChoice::System,
        "light" = domain::ThemeChoice::Light,
        "dark" = domain::ThemeChoice::Dark,
    }
);

words!(
    /// Way of living.
    WayWord of domain::WayOfLiving {
        "home" = domain::WayOfLiving::Home,
        "bar" = domain::WayOfLiving::Bar,
        "class" = domain::WayOfLiving::Class,
    }
);

record!(
    /// A value for each lever.
    Recipe Inline {
        must grind: Num,
        must dose_g: Num,
        must yield_g: Num,
        may temperature_c: Option<Num>,
    }
);

record!(
    /// Where to begin.
    Start Inline {
        may grind: Option<Num>,
        must dose_g: Num,
        must yield_g: Num,
        may temperature_c: Option<Num>,
    }
);

record!(
    /// Marks and liking.
    Taste Inline {
        may sourness: Option<MarkText>,
        may bitterness: Option<MarkText>,
        may strength: Option<MarkText>,
        may body: Option<MarkText>,
        may astringency: Option<MarkText>,
        may sweetness: Option<MarkText>,
        may liking: Option<Liking>,
    }
);

record!(
    /// One pull.
    Pull Lines {
        must id: IdText,
        must made: Timestamp,
        must changed: Timestamp,
        may removed: Option<Timestamp>,
        must pulled_at: Timestamp,
        must station: IdText,
        may pulled_by: String,
        may plan: Option<Recipe>,
        must used: Recipe,
        may time_s: Option<Num>,
        may first_drip_s: Option<Num>,
        may tds_pct: Option<Num>,
        may taste: Option<Taste>,
        may choked: bool,
        may spurting: bool,
        may sink: bool,
        may note: String,
        may has_trace: bool,
    }
);

record!(
    /// What a bag cost.
    Price Inline { must amount: Num, may currency: String, }
);

record!(
    /// A time window.
    Window Inline { must from_s: Num, must to_s: Num, }
);

record!(
    /// How far things may wander.
    Tolerance Inline {
        may time_s: Option<Num>,
        may dose_g: Option<Num>,
        may yield_g: Option<Num>,
        may temperature_c: Option<Num>,
    }
);

record!(
    /// The settled recipe.
    Keeper Lines {
        must recipe: Recipe,
        may time_s: Option<Num>,
        may tolerance: Option<Tolerance>,
        must kept_at: Timestamp,
        may from_pull: Option<IdText>,
    }
);

record!(
    /// A bag's file.
    Bag Lines {
        may format: Option<u32>,
        must id: IdText,
        must made: Timestamp,
        must changed: Timestamp,
        may removed: Option<Timestamp>,
        must name: String,
        may roaster: String,
        may roast: Option<RoastWord>,
        may process: Option<ProcessWord>,
        may roasted_on: Option<Date>,
        may opened_on: Option<Date>,
        may mass_g: Option<Num>,
        may price: Option<Price>,
        must station: IdText,
        must drinker: IdText,
        must start: Start,
        may time_window: Option<Window>,
        may keeper: Option<Keeper>,
        may finished: bool,
        may note: String,
        may pulls: Vec<Pull>,
    }
);

record!(
    /// A drinker.
    Drinker Lines {
        must id: IdText,
        must made: Timestamp,
        must changed: Timestamp,
        may removed: Option<Timestamp>,
        must name: String,
        may archived: bool,
        may note: String,
    }
);

record!(
    /// Preferences.
    Preferences Lines {
        may changed: Option<Timestamp>,
        may mass: Option<MassWord>,
        may temperature: Option<TemperatureWord>,
        may pressure: Option<PressureWord>,
        may decimal_comma: bool,
        may theme: Option<ThemeWord>,
        may way: Option<WayWord>,
        may zoom: Option<Num>,
        may false_a_month: Option<Num>,
        may hide_names: bool,
        may one_lever: bool,
    }
);

record!(
    /// `notebook.ron`.
    Notebook Lines {
        may format: Option<u32>,
        may demo: bool,
        may preferences: Option<Preferences>,
        may drinkers: Vec<Drinker>,
    }
);

record!(
    /// A trace's file.
    Trace Lines {
        may format: Option<u32>,
        must pull: IdText,
        must time_s: Samples,
        may pressure_bar: Option<Samples>,
        may flow_g_s: Option<Samples>,
        may cup_mass_g: Option<Samples>,
        may temperature_c: Option<Samples>,
    }
);

impl Notebook {
    /// A notebook without anything.
    pub(crate) fn empty() -> Self {
        Self {
            format: Some(FORMAT),
            demo: false,
            preferences: None,
            drinkers: Vec::new(),
            unknown: Default::default(),
        }
    }
}

/// A file whose first field is its format number.
pub(crate) trait FormatNumber {
    /// The number, where the file has one.
    fn format(&self) -> Option<u32>;
}

macro_rules! numbered {
    ($($name:ident),*) => { $(
        impl FormatNumber for $name {
            fn format(&self) -> Option<u32> { self.format }
        }
    )* };
}
numbered!(Bag, Station, Notebook, Trace);

/// One record in the journal.
#[derive(Debug, Clone, PartialEq, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Entry {
    /// The preferences.
    Preferences(Preferences),
    /// A drinker.
    Drinker(Drinker),
    /// A station.
    Station(Box<Station>),
    /// A bag's sheet.
    Bag(Box<Bag>),
    /// A pull.
    Pull {
        /// The bag that it belongs to.
        bag: IdText,
        /// The pull.
        pull: Box<Pull>,
    },
}

impl DiskValue for Entry {
    fn write(&self, ron: &mut Ron) {
        match self {
            Self::Preferences(value) => variant("preferences", value, ron),
            Self::Drinker(value) => variant("drinker", value, ron),
            Self::Station(value) => variant("station", &**value, ron),
            Self::Bag(value) => variant("bag", &**value, ron),
            Self::Pull { bag, pull } => {
                ron.raw("pull");
                ron.begin('(', Layout::Inline);
                ron.field("bag", bag);
                ron.field("pull", &**pull);
                ron.end(')');
            }
        }
    }
}

fn variant(word: &str, value: &impl DiskValue, ron: &mut Ron) {
    ron.raw(word);
    ron.raw("(");
    value.write(ron);
    ron.raw(")");
}

/// The name of a record in the journal.
#[derive(Debug, Clone, Copy, PartialEq, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Key {
    /// The preferences.
    Preferences,
    /// A drinker.
    Drinker(IdText),
    /// A station.
    Station(IdText),
    /// A bag.
    Bag(IdText),
    /// A pull of a bag.
    Pull {
        /// The bag.
        bag: IdText,
        /// The pull.
        pull: IdText,
    },
}

impl DiskValue for Key {
    fn write(&self, ron: &mut Ron) {
        match self {
            Self::Preferences => ron.raw("preferences"),
            Self::Drinker(id) => variant("drinker", id, ron),
            Self::Station(id) => variant("station", id, ron),
            Self::Bag(id) => variant("bag", id, ron),
            Self::Pull { bag, pull } => {
                ron.raw("pull");
                ron.begin('(', Layout::Inline);
                ron.field("bag", bag);
                ron.field("pull", pull);
                ron.end(')');
            }
        }
    }
}

record!(
    /// One edit in the journal.
    Edit Inline {
        must at: Timestamp,
        may name: String,
        may put: Vec<Entry>,
        may take: Vec<Key>,
    }
);
