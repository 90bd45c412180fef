//! What a record is called and what it says, field by field, so that two versions of it can be laid side by side.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::domain::{
    Attribute, Bag, Notebook, Preferences, Process, Pull, Recipe, Record, RecordKey, Roast, Scale, Station,
    ThemeChoice, WayOfLiving,
};
use crate::units::capital;
use crate::units::{MassUnit, PressureUnit, Quantity, TemperatureUnit, UnitPreferences};
use crate::workbench::number_of;

/// In which words, units and time zone records are shown, and where the names that they point to are looked up.
#[derive(Debug, Clone, Copy)]
pub struct Showing<'a> {
    /// Names of stations, drinkers and bags.
    pub notebook: &'a Notebook,
    /// Units.
    pub units: &'a UnitPreferences,
    /// Time zone of dates.
    pub zone: &'a TimeZone,
}

/// One field that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Differs {
    /// The field, for example "Yield".
    pub what: String,
    /// What the one says; "–" for nothing.
    pub before: String,
    /// What the other says; "–" for nothing.
    pub after: String,
}

impl Differs {
    /// As a line: "Yield 36.0 g → 41.0 g".
    #[must_use]
    pub fn line(&self) -> String {
        format!("{} {} → {}", self.what, self.before, self.after)
    }

    /// What stands: "Yield 36.0 g".
    #[must_use]
    pub fn what_stands(&self) -> String {
        format!("{} {}", self.what, self.before)
    }

    /// For a screen reader: "Yield from 36.0 g to 41.0 g".
    #[must_use]
    pub fn spoken(&self) -> String {
        let word = |text: &str| if text == "–" { "nothing".to_owned() } else { text.to_owned() };
        format!("{} from {} to {}", self.what, word(&self.before), word(&self.after))
    }
}

/// A moment as people write it, in the person's time zone.
#[must_use]
pub fn moment(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M").to_string()
}

/// What a record is called, for example "pull 3 of Quarry Road". `content` helps with one that is not in the notebook.
#[must_use]
pub fn record_name(showing: Showing<'_>, key: RecordKey, content: Option<&Record>) -> String {
    let notebook = showing.notebook;
    match key {
        RecordKey::Preferences => "the preferences".to_owned(),
        RecordKey::Drinker(id) => match (notebook.drinker(id), content) {
            (Some(drinker), _) => format!("drinker {}", drinker.name),
            (None, Some(Record::Drinker(drinker))) => format!("drinker {}", drinker.name),
            _ => "a drinker".to_owned(),
        },
        RecordKey::Station(id) => match (notebook.station(id), content) {
            (Some(station), _) => format!("station {}", station.name),
            (None, Some(Record::Station(station))) => format!("station {}", station.name),
            _ => "a station".to_owned(),
        },
        RecordKey::Bag(id) => match (notebook.bag(id), content) {
            (Some(bag), _) => format!("bag {}", bag.name),
            (None, Some(Record::Bag(bag))) => format!("bag {}", bag.name),
            _ => "a bag".to_owned(),
        },
        RecordKey::Pull(bag_id, id) => {
            let bag = notebook.bag(bag_id);
            let of = bag.map(|bag| format!(" of {}", bag.name)).unwrap_or_default();
            let number = bag.map_or(0, |bag| number_of(bag, id));
            if number > 0 {
                return format!("pull {number}{of}");
            }
            let pull = notebook.pull(bag_id, id).or(match content {
                Some(Record::Pull(_, pull)) => Some(&**pull),
                _ => None,
            });
            match pull {
                Some(pull) => format!("the pull of {}{of}", moment(pull.pulled_at, showing.zone)),
                None => format!("a pull{of}"),
            }
        }
    }
}

/// What differs between two contents of a record, in the order of a sheet.
#[must_use]
pub fn differences(showing: Showing<'_>, before: &Record, after: &Record) -> Vec<Differs> {
    let (old, new) = (fields(showing, before), fields(showing, after));
    old.into_iter()
        .zip(new)
        .filter(|(old, new)| old.1 != new.1)
        .map(|((what, before), (_, after))| Differs {
            what: what.to_owned(),
            before: or_dash(before),
            after: or_dash(after),
        })
        .collect()
}

fn or_dash(text: String) -> String {
    if text.is_empty() { "–".to_owned() } else { text }
}

type Fields = Vec<(&'static str, String)>;

fn fields(showing: Showing<'_>, record: &Record) -> Fields {
    let mut fields = match record {
        Record::Preferences(preferences) => of_preferences(preferences),
        Record::Drinker(drinker) => {
            vec![
                ("Name", drinker.name.clone()),
                ("Put away", yes(drinker.archived)),
                ("Note", drinker.note.clone()),
            ]
        }
        Record::Station(station) => of_station(showing, station),
        Record::Bag(bag) => of_bag(showing, bag),
        Record::Pull(_, pull) => of_pull(showing, pull),
    };
    if let Some(stamp) = record.stamp() {
        fields.push(("Removed", yes(stamp.removed.is_some())));
    }
    fields
}

fn yes(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

impl Showing<'_> {
    fn value(&self, quantity: Quantity, value: Option<f64>) -> String {
        value.map(|value| self.units.value(quantity, value)).unwrap_or_default()
    }

    fn plain(&self, value: Option<f64>) -> String {
        let text = |value: f64| {
            // The shortest text that says the number, not a fixed count of decimals.
            let text = value.to_string().replace('-', "\u{2212}");
            if self.units.decimal_comma { text.replace('.', ",") } else { text }
        };
        value.filter(|value| value.is_finite()).map(text).unwrap_or_default()
    }

    fn range(&self, scale: Option<Scale>) -> String {
        scale.map_or_else(String::new, |scale| {
            let text = |value: f64| self.plain(Some(value));
            format!("{}–{} by {}", text(scale.min()), text(scale.max()), text(scale.step()))
        })
    }

    fn recipe(&self, recipe: Option<&Recipe>) -> String {
        recipe.map_or_else(String::new, |recipe| {
            let mut parts = vec![
                format!("grind {}", self.plain(Some(recipe.grind))),
                self.value(Quantity::Dose, Some(recipe.dose_g)),
                self.value(Quantity::Yield, Some(recipe.yield_g)),
            ];
            parts.extend(recipe.temperature_c.map(|t| self.value(Quantity::Temperature, Some(t))));
            parts.join(", ")
        })
    }
}

fn of_preferences(preferences: &Preferences) -> Fields {
    let units = preferences.units;
    vec![
        ("Mass", if units.mass == MassUnit::Ounce { "oz" } else { "g" }.to_owned()),
        (
            "Temperature",
            if units.temperature == TemperatureUnit::Fahrenheit { "°F" } else { "°C" }.to_owned(),
        ),
        ("Pressure", if units.pressure == PressureUnit::Psi { "psi" } else { "bar" }.to_owned()),
        ("Decimal comma", yes(units.decimal_comma)),
        (
            "Theme",
            match preferences.theme {
                ThemeChoice::System => "as the system",
                ThemeChoice::Light => "light",
                ThemeChoice::Dark => "dark",
            }
            .to_owned(),
        ),
        (
            "Way of living",
            match preferences.way {
                WayOfLiving::Home => "home",
                WayOfLiving::Bar => "bar",
                WayOfLiving::Class => "class",
            }
            .to_owned(),
        ),
        ("Zoom", format!("{:.0} %", preferences.zoom * 100.0)),
        ("False adjustments a month", format!("{:.1}", preferences.false_a_month)),
        ("Names of people", if preferences.hide_names { "letters" } else { "shown" }.to_owned()),
    ]
}

fn of_station(showing: Showing<'_>, station: &Station) -> Fields {
    let gear = &station.gear;
    let finer = match gear.grind.finer {
        crate::domain::Finer::Lower => "lower numbers",
        crate::domain::Finer::Higher => "higher numbers",
    };
    vec![
        ("Name", station.name.clone()),
        ("Grinder", station.grinder_name.clone()),
        ("Machine", station.machine_name.clone()),
        ("Grind settings", showing.range(Some(gear.grind.scale))),
        ("Finer", finer.to_owned()),
        ("Micrometres a unit", showing.plain(gear.grind.um_per_unit)),
        ("Grounds retained", showing.value(Quantity::Dose, Some(gear.grind.retained_g))),
        ("Stepless", yes(gear.grind.stepless)),
        ("Dose range (g)", showing.range(Some(gear.dose_g))),
        ("Yield range (g)", showing.range(Some(gear.yield_g))),
        ("Temperature range (°C)", showing.range(gear.temperature_c)),
        ("Pressure", showing.value(Quantity::Pressure, gear.pressure_bar)),
        ("Refractometer", yes(gear.refractometer)),
        ("Basket diameter (mm)", showing.plain(Some(station.basket.diameter_mm))),
        ("Basket made for", showing.value(Quantity::Dose, Some(station.basket.stated_dose_g))),
        ("Put away", yes(station.archived)),
        ("Note", station.note.clone()),
    ]
}

fn of_bag(showing: Showing<'_>, bag: &Bag) -> Fields {
    let day = |day: Option<jiff::civil::Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let price =
        bag.price.as_ref().map(|price| format!("{} {}", showing.plain(Some(price.amount)), price.currency));
    let start = &bag.start;
    let window = bag.time_window_s.map(|(from, to)| showing.units.span(Quantity::Time, from, to, 0));
    let station = showing.notebook.station(bag.station).map_or("a station that is not here", |s| &s.name);
    let drinker = showing.notebook.drinker(bag.drinker).map_or("a drinker who is not here", |d| &d.name);
    let keeper = bag.keeper.as_ref();
    vec![
        ("Name", bag.name.clone()),
        ("Roaster", bag.roaster.clone()),
        ("Roast", bag.roast.map(Roast::word).unwrap_or_default().to_owned()),
        ("Process", bag.process.map(Process::word).unwrap_or_default().to_owned()),
        ("Roasted on", day(bag.roasted_on)),
        ("Opened on", day(bag.opened_on)),
        ("Mass when full", showing.value(Quantity::BeanMass, bag.mass_g)),
        ("Price", price.unwrap_or_default()),
        ("Station", station.to_owned()),
        ("Drinker", drinker.to_owned()),
        ("Start grind", showing.plain(start.grind)),
        ("Start dose", showing.value(Quantity::Dose, Some(start.dose_g))),
        ("Start yield", showing.value(Quantity::Yield, Some(start.yield_g))),
        ("Start temperature", showing.value(Quantity::Temperature, start.temperature_c)),
        ("Time window", window.unwrap_or_default()),
        ("Keeper", showing.recipe(keeper.map(|keeper| &keeper.recipe))),
        ("Keeper time", showing.value(Quantity::Time, keeper.and_then(|keeper| keeper.time_s))),
        ("Finished", yes(bag.finished)),
        ("Note", bag.note.clone()),
    ]
}

fn of_pull(showing: Showing<'_>, pull: &Pull) -> Fields {
    const MARKS: [&str; 5] =
        ["far too little", "a little too little", "just right", "a little too much", "far too much"];
    let mark = |attribute: Attribute| {
        let at =
            pull.taste.mark(attribute).and_then(|mark| usize::try_from(i32::from(mark.value()) + 2).ok());
        at.and_then(|at| MARKS.get(at)).map(|word| (*word).to_owned()).unwrap_or_default()
    };
    let station = showing.notebook.station(pull.station).map_or("a station that is not here", |s| &s.name);
    vec![
        ("Pulled at", moment(pull.pulled_at, showing.zone)),
        ("Station", station.to_owned()),
        ("Pulled by", pull.pulled_by.clone()),
        ("Plan", showing.recipe(pull.plan.as_ref())),
        ("Grind", showing.plain(Some(pull.used.grind))),
        ("Dose", showing.value(Quantity::Dose, Some(pull.used.dose_g))),
        ("Yield", showing.value(Quantity::Yield, Some(pull.used.yield_g))),
        ("Temperature", showing.value(Quantity::Temperature, pull.used.temperature_c)),
        ("Time", showing.value(Quantity::Time, pull.time_s)),
        ("First drip", showing.value(Quantity::Time, pull.first_drip_s)),
        ("Strength", showing.value(Quantity::Strength, pull.tds_pct)),
        ("Sourness", mark(Attribute::Sourness)),
        ("Bitterness", mark(Attribute::Bitterness)),
        ("Strength in the cup", mark(Attribute::Strength)),
        ("Body", mark(Attribute::Body)),
        ("Astringency", mark(Attribute::Astringency)),
        ("Sweetness", mark(Attribute::Sweetness)),
        ("Liking", pull.taste.liking().map(|liking| liking.to_string()).unwrap_or_default()),
        ("Choked", yes(pull.flags.choked)),
        ("Spurting", yes(pull.flags.spurting)),
        ("Sink", yes(pull.flags.sink)),
        ("Trace", yes(pull.has_trace)),
        ("Note", pull.note.clone()),
    ]
}

/// A name at the beginning of a line.
#[must_use]
pub fn at_the_head(name: &str) -> String {
    capital(name)
}
