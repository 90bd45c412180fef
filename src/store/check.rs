//! Looks through a notebook for what a person should mend: what does not parse, what cannot be real, what points to
//! nothing, what is there twice.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;

use super::disk::{Disk, SystemDisk};
use super::fault::Problem;
use super::journal;
use super::load::{Kind, NOTEBOOK, find, shown, side_by_side};
use super::locate::{Step, placed};
use super::read::{LARGEST_FILE, parse, read_text};
use super::text::{DiskValue, Num};
use super::v1;
use crate::domain::Id;
use crate::units::Quantity;
use crate::words::Name;

/// Most findings told of one file; a file with more is broken in one way, not in many.
const MOST_PER_FILE: usize = 100;

/// Clocks of two machines may differ by this much before a time counts as lying ahead, seconds.
const CLOCK_SLACK_S: i64 = 600;

/// Validates the notebook at `path` as of `now`; an empty list means that all is well. Nothing is changed.
#[must_use]
pub fn check(path: &Path, now: Timestamp) -> Vec<Problem> {
    check_on(&SystemDisk, path, now)
}

/// [`check`] on other files than the operating system's.
#[must_use]
pub fn check_on(disk: &dyn Disk, path: &Path, now: Timestamp) -> Vec<Problem> {
    if let Err(fault) = super::folder::check_folder(disk, path) {
        return vec![Problem::of_file(path, fault.to_string(), word!("store-check-todo-folder"))];
    }
    let mut problems = Vec::new();
    let jobs = find(disk, path, &mut problems);
    let facts = side_by_side(&jobs, |(kind, file)| look_at(disk, path, *kind, file, now));
    problems.extend(across_files(disk, path, facts));
    problems.extend(journals(disk, path));
    problems.sort();
    problems
}

/// What one file says to the others.
#[derive(Default)]
struct Facts {
    file: PathBuf,
    problems: Vec<Problem>,
    stations: Vec<Id>,
    drinkers: Vec<Id>,
    bags: Vec<Id>,
    pulls: Vec<(Id, bool)>,
    /// References: what kind, to which, and the place.
    points_to: Vec<(&'static str, Id, Problem)>,
    missing: bool,
}

/// Findings of one file while it is looked at.
struct Look<'a> {
    text: &'a str,
    file: &'a Path,
    now: Timestamp,
    problems: Vec<Problem>,
}

impl Look<'_> {
    fn place(&self, way: &[Step<'_>], what: impl Into<String>, todo: &str) -> Problem {
        placed(self.text, way, Problem::of_file(self.file, what, todo))
    }

    fn say(&mut self, way: &[Step<'_>], what: impl Into<String>, todo: &str) {
        if self.problems.len() < MOST_PER_FILE {
            let problem = self.place(way, what, todo);
            self.problems.push(problem);
        }
    }

    fn quantity(&mut self, way: &[Step<'_>], quantity: Quantity, value: impl Into<Option<Num>>) {
        if let Some(num) = value.into()
            && let Err(fault) = quantity.check(num.0)
        {
            self.say(way, fault.to_string(), word!("store-check-todo-number"));
        }
    }

    fn within(&mut self, way: &[Step<'_>], what: Name, value: impl Into<Option<Num>>, min: f64, max: f64) {
        if let Some(Num(value)) = value.into()
            && !(min..=max).contains(&value)
        {
            self.say(
                way,
                say!("store-check-outside", what = what, min = min, max = max, value = value),
                word!("store-check-todo-number"),
            );
        }
    }

    fn moment(&mut self, way: &[Step<'_>], moment: Timestamp) {
        if moment.as_second() > self.now.as_second().saturating_add(CLOCK_SLACK_S) {
            self.say(way, say!("store-check-future", when = moment), word!("store-check-todo-clock"));
        }
    }

    fn stamp(&mut self, at: &[Step<'_>], made: Timestamp, changed: Timestamp, removed: Option<Timestamp>) {
        let way = |field| [at, &[Step::Field(field)]].concat();
        self.moment(&way("made"), made);
        self.moment(&way("changed"), changed);
        if let Some(removed) = removed {
            self.moment(&way("removed"), removed);
        }
        if changed < made {
            self.say(
                &way("changed"),
                word!("store-check-changed-before-made"),
                word!("store-check-todo-changed"),
            );
        }
    }

    fn recipe(&mut self, at: &[Step<'_>], recipe: &v1::Recipe) {
        let way = |field| [at, &[Step::Field(field)]].concat();
        self.quantity(&way("dose_g"), Quantity::Dose, recipe.dose_g);
        self.quantity(&way("yield_g"), Quantity::Yield, recipe.yield_g);
        self.quantity(&way("temperature_c"), Quantity::Temperature, recipe.temperature_c);
    }

    fn unknown(&mut self, document: &impl DiskValue) {
        let mut found = Vec::new();
        document.unknown_fields(&mut Vec::new(), &mut |way, name| {
            if found.len() < MOST_PER_FILE && name != super::merge::PARTIAL {
                found.push(([way, &[Step::Field(name)]].concat(), name));
            }
        });
        for (way, name) in found {
            let what = say!("store-check-unknown-field", name = name);
            self.say(&way, what, word!("store-check-todo-unknown-field"));
        }
    }
}

fn look_at(disk: &dyn Disk, root: &Path, kind: Kind, path: &Path, now: Timestamp) -> Facts {
    let file = shown(root, path);
    let mut facts = Facts { file: file.to_owned(), ..Facts::default() };
    if kind == Kind::Notebook && matches!(disk.stat(path), Ok(None)) {
        facts.missing = true;
        let what = word!("store-load-no-notebook");
        facts.problems.push(Problem::of_file(
            Path::new(NOTEBOOK),
            what,
            word!("store-check-todo-no-notebook"),
        ));
        return facts;
    }
    let text = match read_text(disk, path, file, LARGEST_FILE) {
        Ok(text) => text,
        Err(problem) => {
            facts.missing = true;
            facts.problems.push(problem);
            return facts;
        }
    };
    let mut look = Look { text: &text, file, now, problems: Vec::new() };
    let answer = match kind {
        Kind::Notebook => parse(&text, file).map(|document| look.notebook(&document, &mut facts)),
        Kind::NotebookCopy => parse::<v1::Notebook>(&text, file).map(|_| {
            let what = word!("store-check-second-notebook");
            look.say(&[], what, word!("store-check-todo-second-notebook"));
        }),
        Kind::Station => parse(&text, file).map(|document| look.station(&document, &mut facts)),
        Kind::Bag => parse(&text, file).map(|document| look.bag(&document, &mut facts)),
    };
    facts.problems.append(&mut look.problems);
    if let Err(fault) = answer {
        facts.missing = true;
        facts.problems.push(fault.problem);
    }
    facts
}

impl Look<'_> {
    fn notebook(&mut self, document: &v1::Notebook, facts: &mut Facts) {
        self.unknown(document);
        if let Some(preferences) = &document.preferences {
            let way = [Step::Field("preferences"), Step::Field("zoom")];
            self.within(&way, name!("store-check-zoom"), preferences.zoom, 0.8, 2.5);
            let way = [Step::Field("preferences"), Step::Field("false_a_month")];
            self.within(&way, name!("store-check-false-a-month"), preferences.false_a_month, 0.1, 10.0);
        }
        for (at, drinker) in document.drinkers.iter().enumerate() {
            let way = [Step::Field("drinkers"), Step::Item(at)];
            self.stamp(&way, drinker.made, drinker.changed, drinker.removed);
            if facts.drinkers.contains(&drinker.id.0) {
                self.say(&way, word!("store-check-drinker-twice"), word!("store-read-todo-twice"));
            }
            facts.drinkers.push(drinker.id.0);
        }
    }

    fn station(&mut self, station: &v1::Station, facts: &mut Facts) {
        use Step::Field as F;
        self.unknown(station);
        self.stamp(&[], station.made, station.changed, station.removed);
        self.within(
            &[F("basket"), F("diameter_mm")],
            name!("store-check-basket-diameter"),
            station.basket.diameter_mm,
            30.0,
            80.0,
        );
        self.quantity(&[F("basket"), F("stated_dose_g")], Quantity::Dose, station.basket.stated_dose_g);
        self.within(
            &[F("grinder"), F("um_per_unit")],
            name!("store-check-micrometres-per-unit"),
            station.grinder.um_per_unit,
            0.1,
            2000.0,
        );
        self.within(
            &[F("grinder"), F("retained_g")],
            name!("store-check-grams-retained"),
            station.grinder.retained_g,
            0.0,
            50.0,
        );
        self.quantity(&[F("machine"), F("pressure_bar")], Quantity::Pressure, station.machine.pressure_bar);
        for (quantity, scale, way) in [
            (Quantity::Dose, Some(&station.dose_g), &[F("dose_g")][..]),
            (Quantity::Yield, Some(&station.yield_g), &[F("yield_g")][..]),
            (
                Quantity::Temperature,
                station.machine.temperature_c.as_ref(),
                &[F("machine"), F("temperature_c")][..],
            ),
        ] {
            if let Some(scale) = scale {
                self.quantity(&[way, &[F("min")]].concat(), quantity, scale.min);
                self.quantity(&[way, &[F("max")]].concat(), quantity, scale.max);
            }
        }
        facts.stations.push(station.id.0);
    }

    fn day(&mut self, way: &[Step<'_>], day: Option<Date>) {
        let latest =
            jiff::Timestamp::from_second(self.now.as_second().saturating_add(86_400)).unwrap_or(self.now);
        let tomorrow = jiff::tz::TimeZone::UTC.to_datetime(latest).date();
        if let Some(day) = day.filter(|&day| day > tomorrow) {
            self.say(way, say!("store-check-future", when = day), word!("store-check-todo-date"));
        }
    }

    fn bag(&mut self, bag: &v1::Bag, facts: &mut Facts) {
        use Step::Field as F;
        self.unknown(bag);
        self.stamp(&[], bag.made, bag.changed, bag.removed);
        self.day(&[F("roasted_on")], bag.roasted_on);
        self.day(&[F("opened_on")], bag.opened_on);
        if let (Some(roasted), Some(opened)) = (bag.roasted_on, bag.opened_on)
            && opened < roasted
        {
            self.say(
                &[F("opened_on")],
                word!("store-check-opened-before-roasted"),
                word!("store-check-todo-dates"),
            );
        }
        self.quantity(&[F("mass_g")], Quantity::BeanMass, bag.mass_g);
        self.quantity(&[F("start"), F("dose_g")], Quantity::Dose, bag.start.dose_g);
        self.quantity(&[F("start"), F("yield_g")], Quantity::Yield, bag.start.yield_g);
        self.quantity(&[F("start"), F("temperature_c")], Quantity::Temperature, bag.start.temperature_c);
        if let Some(price) = &bag.price {
            self.within(&[F("price"), F("amount")], name!("store-check-price"), price.amount, 0.0, 1e9);
        }
        if let Some(window) = &bag.time_window {
            self.quantity(&[F("time_window"), F("from_s")], Quantity::Time, window.from_s);
            self.quantity(&[F("time_window"), F("to_s")], Quantity::Time, window.to_s);
            if window.from_s.0 > window.to_s.0 {
                self.say(&[F("time_window")], word!("store-check-window"), word!("store-check-todo-window"));
            }
        }
        facts.bags.push(bag.id.0);
        let place = self.place(
            &[F("station")],
            word!("store-check-no-station-of-bag"),
            word!("store-check-todo-no-station"),
        );
        facts.points_to.push(("station", bag.station.0, place));
        let place = self.place(
            &[F("drinker")],
            word!("store-check-no-drinker"),
            word!("store-check-todo-no-drinker"),
        );
        facts.points_to.push(("drinker", bag.drinker.0, place));
        let mut seen = BTreeSet::new();
        let mut stations = BTreeSet::new();
        for (at, pull) in bag.pulls.iter().enumerate() {
            let way = [F("pulls"), Step::Item(at)];
            self.pull(&way, pull);
            if !seen.insert(pull.id) {
                let todo = word!("store-check-todo-pull-twice");
                self.say(&way, word!("store-check-pull-twice"), todo);
            }
            facts.pulls.push((pull.id.0, pull.has_trace));
            if pull.station != bag.station && stations.insert(pull.station) {
                let place = self.place(
                    &[&way[..], &[F("station")]].concat(),
                    word!("store-check-no-station-of-pull"),
                    word!("store-check-todo-no-station"),
                );
                facts.points_to.push(("station", pull.station.0, place));
            }
        }
        if let Some(keeper) = &bag.keeper {
            self.recipe(&[F("keeper"), F("recipe")], &keeper.recipe);
            self.quantity(&[F("keeper"), F("time_s")], Quantity::Time, keeper.time_s);
            self.moment(&[F("keeper"), F("kept_at")], keeper.kept_at);
            if let Some(from) = keeper.from_pull.filter(|from| !seen.contains(from)) {
                let what = say!("store-check-keeper-from-elsewhere", pull = from.0);
                self.say(&[F("keeper"), F("from_pull")], what, word!("store-check-todo-keeper"));
            }
        }
    }

    fn pull(&mut self, at: &[Step<'_>], pull: &v1::Pull) {
        let way = |field| [at, &[Step::Field(field)]].concat();
        self.stamp(at, pull.made, pull.changed, pull.removed);
        self.moment(&way("pulled_at"), pull.pulled_at);
        self.recipe(&way("used"), &pull.used);
        if let Some(plan) = &pull.plan {
            self.recipe(&way("plan"), plan);
        }
        self.quantity(&way("time_s"), Quantity::Time, pull.time_s);
        self.quantity(&way("first_drip_s"), Quantity::Time, pull.first_drip_s);
        self.quantity(&way("tds_pct"), Quantity::Strength, pull.tds_pct);
        if let (Some(drip), Some(end)) = (pull.first_drip_s, pull.time_s)
            && drip.0 > end.0
        {
            self.say(
                &way("first_drip_s"),
                word!("store-check-drip-after-end"),
                word!("store-check-todo-times"),
            );
        }
    }
}

/// What only shows when all files are seen together.
fn across_files(disk: &dyn Disk, root: &Path, all: Vec<Facts>) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut owners: BTreeMap<(&'static str, Id), PathBuf> = BTreeMap::new();
    let mut traced: BTreeMap<Id, (bool, PathBuf)> = BTreeMap::new();
    for facts in &all {
        let ids =
            facts.stations.iter().map(|id| ("station", *id)).chain(facts.bags.iter().map(|id| ("bag", *id)));
        for (kind, id) in ids {
            if let Some(first) = owners.insert((kind, id), facts.file.clone()) {
                let what = say!("store-check-also-in", kind = kind, id = id, file = first.display());
                problems.push(Problem::of_file(&facts.file, what, word!("store-check-todo-also-in")));
            }
        }
        owners.extend(facts.drinkers.iter().map(|id| (("drinker", *id), facts.file.clone())));
        for &(id, has_trace) in &facts.pulls {
            if let Some((_, first)) = traced.insert(id, (has_trace, facts.file.clone()))
                && first != facts.file
            {
                let what = say!("store-check-pull-also-in", id = id, file = first.display());
                problems.push(Problem::of_file(&facts.file, what, word!("store-read-todo-twice")));
            }
        }
    }
    // With a file missing or unreadable, what points into it is not wrong.
    let unread = |kind: &str| {
        all.iter().any(|facts| {
            facts.missing
                && match kind {
                    "station" => facts.file.starts_with("stations"),
                    "drinker" => facts.file == Path::new(NOTEBOOK),
                    _ => facts.file.starts_with("bags"),
                }
        })
    };
    let (no_stations, no_drinkers, no_bags) = (unread("station"), unread("drinker"), unread("bag"));
    for facts in all {
        problems.extend(facts.problems);
        for (kind, id, place) in facts.points_to {
            let excused = if kind == "station" { no_stations } else { no_drinkers };
            if !excused && !owners.contains_key(&(kind, id)) {
                problems.push(place);
            }
        }
    }
    problems.extend(traces(disk, root, &traced, no_bags));
    problems
}

/// Traces: each readable, each of a known pull, each there that should be.
fn traces(
    disk: &dyn Disk,
    root: &Path,
    pulls: &BTreeMap<Id, (bool, PathBuf)>,
    no_bags: bool,
) -> Vec<Problem> {
    let entries = disk.list(&root.join("traces")).unwrap_or_default();
    let files: Vec<PathBuf> = entries
        .into_iter()
        .filter(|entry| !entry.is_dir && entry.path.extension().is_some_and(|ending| ending == "ron"))
        .map(|entry| entry.path)
        .collect();
    let found = side_by_side(&files, |path| -> (Option<Id>, Option<Problem>) {
        let file = shown(root, path);
        let named = path.file_stem().and_then(|stem| stem.to_string_lossy().parse::<Id>().ok());
        let text = match read_text(disk, path, file, LARGEST_FILE) {
            Ok(text) => text,
            Err(problem) => return (named, Some(problem)),
        };
        let trace = match parse::<v1::Trace>(&text, file) {
            Ok(trace) => trace,
            Err(fault) => return (named, Some(fault.problem)),
        };
        let id = trace.pull.0;
        let problem = if named != Some(id) {
            let what = say!("store-check-trace-misnamed", pull = id);
            Some(placed(
                &text,
                &[Step::Field("pull")],
                Problem::of_file(file, what, word!("store-check-todo-trace-misnamed")),
            ))
        } else if !no_bags && !pulls.contains_key(&id) {
            let what = word!("store-check-trace-of-no-pull");
            Some(Problem::of_file(file, what, word!("store-check-todo-trace-of-no-pull")))
        } else {
            let fault = crate::domain::Trace::try_from(trace).err();
            fault.map(|fault| Problem::of_file(file, fault.to_string(), word!("store-traces-todo")))
        };
        (named, problem)
    });
    let there: BTreeSet<Id> = found.iter().filter_map(|(id, _)| *id).collect();
    let mut problems: Vec<Problem> = found.into_iter().filter_map(|(_, problem)| problem).collect();
    for (id, (_, file)) in pulls.iter().filter(|(id, (traced, _))| *traced && !there.contains(id)) {
        let what = say!("store-check-no-trace", pull = id);
        problems.push(Problem::of_file(file, what, word!("store-check-todo-no-trace")));
    }
    problems
}

fn journals(disk: &dyn Disk, root: &Path) -> Vec<Problem> {
    let mut problems = Vec::new();
    for entry in disk.list(&root.join("journal")).unwrap_or_default() {
        let Ok(bytes) = disk.read(&entry.path, journal::LARGEST) else { continue };
        for (line, why) in journal::decode(&bytes).bad {
            let todo = word!("store-check-todo-journal");
            let what = say!("store-journal-unread", why = why);
            problems.push(Problem { line, ..Problem::of_file(shown(root, &entry.path), what, todo) });
        }
    }
    problems
}
