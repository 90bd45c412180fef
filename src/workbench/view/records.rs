//! What a record is called and what it says, field by field, so that two versions of it can be laid side by side.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::domain::{
    Attribute, Bag, Notebook, Preferences, Process, Pull, Recipe, Record, RecordKey, Roast, Scale, Station,
    ThemeChoice, WayOfLiving,
};
use crate::units::{MassUnit, PressureUnit, Quantity, TemperatureUnit, UnitPreferences, capital, figure};
use crate::words::Name;
use crate::workbench::number_of;
use crate::workbench::view::MARK_WORDS;

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
        let word = |text: &str| {
            if text == "–" { word!("view-records-nothing").to_owned() } else { text.to_owned() }
        };
        say!("view-records-from-to", what = self.what, word = word(&self.before), word_2 = word(&self.after))
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
        RecordKey::Preferences => word!("view-records-the-preferences").to_owned(),
        RecordKey::Drinker(id) => match (notebook.drinker(id), content) {
            (Some(drinker), _) => say!("view-records-drinker", name = drinker.name),
            (None, Some(Record::Drinker(drinker))) => say!("view-records-drinker", name = drinker.name),
            _ => word!("view-records-a-drinker").to_owned(),
        },
        RecordKey::Station(id) => match (notebook.station(id), content) {
            (Some(station), _) => say!("view-records-station", name = station.name),
            (None, Some(Record::Station(station))) => say!("view-records-station", name = station.name),
            _ => word!("view-records-a-station").to_owned(),
        },
        RecordKey::Bag(id) => match (notebook.bag(id), content) {
            (Some(bag), _) => say!("view-records-bag", name = bag.name),
            (None, Some(Record::Bag(bag))) => say!("view-records-bag", name = bag.name),
            _ => word!("view-records-a-bag").to_owned(),
        },
        RecordKey::Pull(bag_id, id) => {
            let bag = notebook.bag(bag_id);
            let of = bag.map(|bag| say!("view-records-of", name = bag.name)).unwrap_or_default();
            let number = bag.map_or(0, |bag| number_of(bag, id));
            if number > 0 {
                return say!("view-records-pull", number = number, of = of);
            }
            let pull = notebook.pull(bag_id, id).or(match content {
                Some(Record::Pull(_, pull)) => Some(&**pull),
                _ => None,
            });
            match pull {
                Some(pull) => {
                    say!("view-records-the-pull-of", moment = moment(pull.pulled_at, showing.zone), of = of)
                }
                None => say!("view-records-a-pull", of = of),
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
                (word!("view-records-name"), drinker.name.clone()),
                (word!("view-records-put-away"), yes(drinker.archived)),
                (word!("view-records-note"), drinker.note.clone()),
            ]
        }
        Record::Station(station) => of_station(showing, station),
        Record::Bag(bag) => of_bag(showing, bag),
        Record::Pull(_, pull) => of_pull(showing, pull),
    };
    if let Some(stamp) = record.stamp() {
        fields.push((word!("view-records-removed"), yes(stamp.removed.is_some())));
    }
    fields
}

fn yes(value: bool) -> String {
    if value { word!("view-records-yes") } else { word!("view-records-no") }.to_owned()
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
            say!(
                "view-records-by",
                text = text(scale.min()),
                text_2 = text(scale.max()),
                text_3 = text(scale.step())
            )
        })
    }

    fn recipe(&self, recipe: Option<&Recipe>) -> String {
        recipe.map_or_else(String::new, |recipe| {
            let mut parts = vec![
                say!("view-records-grind", plain = self.plain(Some(recipe.grind))),
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
        (word!("view-records-mass"), if units.mass == MassUnit::Ounce { "oz" } else { "g" }.to_owned()),
        (
            word!("view-words-temperature"),
            if units.temperature == TemperatureUnit::Fahrenheit { "°F" } else { "°C" }.to_owned(),
        ),
        (
            word!("view-records-pressure"),
            if units.pressure == PressureUnit::Psi {
                word!("view-records-psi")
            } else {
                word!("view-records-bar")
            }
            .to_owned(),
        ),
        (word!("view-records-decimal-comma"), yes(units.decimal_comma)),
        (
            word!("view-records-theme"),
            match preferences.theme {
                ThemeChoice::System => word!("view-records-as-the-system"),
                ThemeChoice::Light => word!("view-records-light"),
                ThemeChoice::Dark => word!("view-records-dark"),
            }
            .to_owned(),
        ),
        (
            word!("view-records-way-of-living"),
            match preferences.way {
                WayOfLiving::Home => word!("view-records-home"),
                WayOfLiving::Bar => word!("view-records-bar"),
                WayOfLiving::Class => word!("view-records-class"),
            }
            .to_owned(),
        ),
        (word!("view-records-zoom"), format!("{:.0} %", preferences.zoom * 100.0)),
        (word!("view-records-false-adjustments-a-month"), figure(preferences.false_a_month, 1)),
        (
            word!("view-records-names-of-people"),
            if preferences.hide_names { word!("view-records-letters") } else { word!("view-records-shown") }
                .to_owned(),
        ),
        (
            word!("view-records-levers-at-once"),
            if preferences.one_lever {
                word!("view-records-one")
            } else {
                word!("view-records-as-many-as-pay")
            }
            .to_owned(),
        ),
    ]
}

fn of_station(showing: Showing<'_>, station: &Station) -> Fields {
    let gear = &station.gear;
    let finer = match gear.grind.finer {
        crate::domain::Finer::Lower => word!("view-records-lower-numbers"),
        crate::domain::Finer::Higher => word!("view-records-higher-numbers"),
    };
    vec![
        (word!("view-records-name"), station.name.clone()),
        (word!("view-records-grinder"), station.grinder_name.clone()),
        (word!("view-records-machine"), station.machine_name.clone()),
        (word!("view-records-grind-settings"), showing.range(Some(gear.grind.scale))),
        (word!("view-records-finer"), finer.to_owned()),
        (word!("view-records-micrometres-a-unit"), showing.plain(gear.grind.um_per_unit)),
        (word!("view-records-grounds-retained"), showing.value(Quantity::Dose, Some(gear.grind.retained_g))),
        (word!("view-records-stepless"), yes(gear.grind.stepless)),
        (word!("view-records-dose-range-g"), showing.range(Some(gear.dose_g))),
        (word!("view-records-yield-range-g"), showing.range(Some(gear.yield_g))),
        (word!("view-records-temperature-range-c"), showing.range(gear.temperature_c)),
        (word!("view-records-pressure"), showing.value(Quantity::Pressure, gear.pressure_bar)),
        (word!("view-records-refractometer"), yes(gear.refractometer)),
        (word!("view-records-basket-diameter-mm"), showing.plain(Some(station.basket.diameter_mm))),
        (
            word!("view-records-basket-made-for"),
            showing.value(Quantity::Dose, Some(station.basket.stated_dose_g)),
        ),
        (word!("view-records-put-away"), yes(station.archived)),
        (word!("view-records-note"), station.note.clone()),
    ]
}

fn of_bag(showing: Showing<'_>, bag: &Bag) -> Fields {
    let day = |day: Option<jiff::civil::Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let price =
        bag.price.as_ref().map(|price| format!("{} {}", showing.plain(Some(price.amount)), price.currency));
    let start = &bag.start;
    let window = bag.time_window_s.map(|(from, to)| showing.units.span(Quantity::Time, from, to, 0));
    let station = showing
        .notebook
        .station(bag.station)
        .map_or(word!("view-records-a-station-that-is-not-here"), |s| &s.name);
    let drinker = showing
        .notebook
        .drinker(bag.drinker)
        .map_or(word!("view-records-a-drinker-who-is-not-here"), |d| &d.name);
    let keeper = bag.keeper.as_ref();
    vec![
        (word!("view-records-name"), bag.name.clone()),
        (word!("view-records-roaster"), bag.roaster.clone()),
        (word!("view-records-roast"), bag.roast.map(Roast::word).unwrap_or_default().to_owned()),
        (word!("view-records-process"), bag.process.map(Process::word).unwrap_or_default().to_owned()),
        (word!("view-records-roasted-on"), day(bag.roasted_on)),
        (word!("view-records-opened-on"), day(bag.opened_on)),
        (word!("view-records-mass-when-full"), showing.value(Quantity::BeanMass, bag.mass_g)),
        (word!("view-records-price"), price.unwrap_or_default()),
        (word!("view-records-station-2"), station.to_owned()),
        (word!("view-records-drinker-2"), drinker.to_owned()),
        (word!("view-records-start-grind"), showing.plain(start.grind)),
        (word!("view-records-start-dose"), showing.value(Quantity::Dose, Some(start.dose_g))),
        (word!("view-records-start-yield"), showing.value(Quantity::Yield, Some(start.yield_g))),
        (word!("view-records-start-temperature"), showing.value(Quantity::Temperature, start.temperature_c)),
        (word!("view-records-time-window"), window.unwrap_or_default()),
        (word!("view-records-keeper"), showing.recipe(keeper.map(|keeper| &keeper.recipe))),
        (
            word!("view-records-keeper-time"),
            showing.value(Quantity::Time, keeper.and_then(|keeper| keeper.time_s)),
        ),
        (word!("view-records-finished"), yes(bag.finished)),
        (word!("view-records-note"), bag.note.clone()),
    ]
}

fn of_pull(showing: Showing<'_>, pull: &Pull) -> Fields {
    let mark = |attribute: Attribute| {
        let at =
            pull.taste.mark(attribute).and_then(|mark| usize::try_from(i32::from(mark.value()) + 2).ok());
        at.and_then(|at| MARK_WORDS.get(at)).map(Name::to_string).unwrap_or_default()
    };
    let station = showing
        .notebook
        .station(pull.station)
        .map_or(word!("view-records-a-station-that-is-not-here"), |s| &s.name);
    vec![
        (word!("view-records-pulled-at"), moment(pull.pulled_at, showing.zone)),
        (word!("view-records-station-2"), station.to_owned()),
        (word!("view-records-pulled-by"), pull.pulled_by.clone()),
        (word!("view-records-plan"), showing.recipe(pull.plan.as_ref())),
        (word!("view-words-grind"), showing.plain(Some(pull.used.grind))),
        (word!("view-words-dose"), showing.value(Quantity::Dose, Some(pull.used.dose_g))),
        (word!("view-words-yield"), showing.value(Quantity::Yield, Some(pull.used.yield_g))),
        (word!("view-words-temperature"), showing.value(Quantity::Temperature, pull.used.temperature_c)),
        (word!("view-words-time"), showing.value(Quantity::Time, pull.time_s)),
        (word!("view-records-first-drip"), showing.value(Quantity::Time, pull.first_drip_s)),
        (word!("view-words-strength"), showing.value(Quantity::Strength, pull.tds_pct)),
        (word!("view-records-sourness"), mark(Attribute::Sourness)),
        (word!("view-records-bitterness"), mark(Attribute::Bitterness)),
        (word!("view-records-strength-in-the-cup"), mark(Attribute::Strength)),
        (word!("view-records-body"), mark(Attribute::Body)),
        (word!("view-records-astringency"), mark(Attribute::Astringency)),
        (word!("view-records-sweetness"), mark(Attribute::Sweetness)),
        (
            word!("view-records-liking"),
            pull.taste.liking().map(|liking| liking.to_string()).unwrap_or_default(),
        ),
        (word!("view-records-choked"), yes(pull.flags.choked)),
        (word!("view-records-spurting"), yes(pull.flags.spurting)),
        (word!("view-records-sink"), yes(pull.flags.sink)),
        (word!("view-records-trace"), yes(pull.has_trace)),
        (word!("view-records-note"), pull.note.clone()),
    ]
}

/// A name at the beginning of a line.
#[must_use]
pub fn at_the_head(name: &str) -> String {
    capital(name)
}
