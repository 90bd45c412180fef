//! Checks practice files and says file, line, column, what is wrong and what to do.

use std::fmt;

use super::best::{best, liking_of};
use super::brew::{Brew, Luck};
use super::coffee::Coffee;
use super::exercise::{Exercise, Move, Setting, Station};
use super::gear::Marks;
use super::locate::locate;
use super::pack::{Entry, Pack, read, stem};
use super::palate::Palate;
use super::sitting::GRID;
use super::study::Study;
use super::sweep::Watch;
use crate::domain::{Attribute, Gear, Lever, Recipe, Scale};
use crate::units::{figure, in_a_row};

/// Something that a teacher should mend.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    /// The file.
    pub file: String,
    /// Line, counted from 1; 0 when the whole file is meant.
    pub line: usize,
    /// Column, counted from 1; 0 when the whole line or file is meant.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub todo: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if self.line > 0 {
            write!(f, ":{}:{}", self.line, self.column)?;
        }
        write!(f, ": {}. {}", self.what, self.todo)
    }
}

/// How much a check does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// Reads, compares with ranges, follows names: milliseconds.
    Quick,
    /// Also simulates: whether exercises can be solved and studies bear out their claims; a second or so each.
    Full,
}

/// Checks files, each `(file name, text)`. Names are looked up among them and among what ships. Findings come in order
/// of file, line and column.
#[must_use]
pub fn check<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>, depth: Depth) -> Vec<Finding> {
    let files: Vec<(&str, &str)> = files.into_iter().collect();
    let pack = Pack::with(files.iter().copied());
    let mut findings = Vec::new();
    for (at, &(file, text)) in files.iter().enumerate() {
        let mut page = Page { file, text, findings: &mut findings };
        let entry = match read(text) {
            Ok(entry) => entry,
            Err(fault) => {
                page.unreadable(&fault);
                continue;
            }
        };
        let same = |other: &(&str, &str)| {
            stem(other.0) == stem(file)
                && read(other.1).is_ok_and(|o| std::mem::discriminant(&o) == std::mem::discriminant(&entry))
        };
        if let Some((other, _)) = files.iter().take(at).find(|other| same(other)) {
            page.whole(say!("practice-check-same-name", other = other), word!("practice-check-todo-rename"));
        }
        match &entry {
            Entry::Coffee(coffee) => page.coffee(coffee),
            Entry::Drinker(palate) => page.drinker(palate),
            Entry::Station(station) => drop(page.station(station)),
            Entry::Exercise(exercise) => page.exercise(exercise, &pack, depth),
            Entry::Study(study) => page.study(study, &pack, depth),
        }
    }
    findings.sort();
    findings
}

/// One file under check.
struct Page<'a> {
    file: &'a str,
    text: &'a str,
    findings: &'a mut Vec<Finding>,
}

impl Page<'_> {
    fn put(&mut self, (line, column): (usize, usize), what: impl Into<String>, todo: impl Into<String>) {
        self.findings.push(Finding {
            file: self.file.to_owned(),
            line,
            column,
            what: what.into(),
            todo: todo.into(),
        });
    }

    fn whole(&mut self, what: impl Into<String>, todo: impl Into<String>) {
        self.put((0, 0), what, todo);
    }

    fn at(&mut self, path: &str, what: impl Into<String>, todo: impl Into<String>) {
        let place = locate(self.text, path).map_or((1, 1), |place| (place.line, place.column));
        self.put(place, what, todo);
    }

    fn unreadable(&mut self, fault: &ron::error::SpannedError) {
        use ron::Error as E;
        let todo = match &fault.code {
            E::NoSuchStructField { expected, .. } | E::NoSuchEnumVariant { expected, .. } => {
                say!("practice-check-todo-known-here", names = in_a_row(expected))
            }
            E::MissingStructField { field, .. } => say!("practice-check-todo-add-field", field = field),
            E::ExpectedComma => word!("practice-check-todo-comma").to_owned(),
            E::ExpectedString => word!("practice-check-todo-quotes").to_owned(),
            E::ExpectedFloat | E::ExpectedInteger => word!("practice-check-todo-plain-number").to_owned(),
            _ => word!("practice-check-todo-compare").to_owned(),
        };
        let at = fault.span.start;
        self.put((at.line, at.col), fault.code.to_string(), todo);
    }

    fn within(&mut self, path: &str, value: f64, low: f64, high: f64) {
        if !(value >= low && value <= high) {
            self.at(
                path,
                say!("practice-check-is", path = path, value = value),
                say!("practice-check-todo-between", low = low, high = high),
            );
        }
    }

    fn said(&mut self, path: &str, text: &str) {
        if text.trim().is_empty() {
            self.at(
                path,
                say!("practice-check-says-nothing", path = path),
                word!("practice-check-todo-sentence"),
            );
        }
    }

    fn coffee(&mut self, c: &Coffee) {
        self.said("name", &c.name);
        self.within("flow", c.flow, 0.1, 10.0);
        self.within("opening", c.opening, 0.0, 0.35);
        self.within("packing", c.packing, 0.0, 0.9);
        self.within("wet", c.wet, 0.06, 0.75);
        self.within("solubles", c.solubles, 0.15, 0.40);
        for (path, value) in
            [("acids", c.acids), ("sugars", c.sugars), ("bitters", c.bitters), ("speed", c.speed)]
        {
            self.within(path, value, 0.3, 3.0);
        }
        self.within("unruly", c.unruly, 0.2, 3.0);
        self.within("gas", c.gas, 0.0, 0.7);
        self.within("gas_days", c.gas_days, 1.0, 60.0);
        let (from, to) = c.best_days;
        self.within("best_days[0]", from, 0.0, 120.0);
        self.within("best_days[1]", to, 0.0, 365.0);
        if from > to {
            self.at(
                "best_days",
                say!("practice-check-best-days", from = from, to = to),
                word!("practice-check-todo-smaller-first"),
            );
        }
    }

    fn drinker(&mut self, p: &Palate) {
        self.said("name", &p.name);
        for (attribute, name) in Attribute::ALL.into_iter().zip([
            "sourness",
            "bitterness",
            "strength",
            "body",
            "astringency",
            "sweetness",
        ]) {
            self.within(&format!("ideal.{name}"), p.ideal.get(attribute), -3.0, 3.0);
        }
        self.within("fussiness", p.fussiness, 0.2, 3.0);
        self.within("best_liking", p.best_liking, 5.0, 9.0);
        self.within("wobble", p.wobble, 0.0, 1.0);
    }

    fn station(&mut self, s: &Station) -> Option<Gear> {
        self.said("name", &s.name);
        self.within("grinder.um_per_unit", s.grinder.um_per_unit, 0.05, 500.0);
        self.within("grinder.gives_um[1]", s.grinder.gives_um.1, 100.0, 1000.0);
        self.within("grinder.retained_g", s.grinder.retained_g, 0.0, 50.0);
        self.within("bar.usual_c", s.bar.usual_c, 60.0, 100.0);
        self.within("bar.pressure_bar", s.bar.pressure_bar, 1.0, 15.0);
        self.within("bar.ramp_s", s.bar.ramp_s, 0.0, 30.0);
        self.within("bar.headspace_ml", s.bar.headspace_ml, 0.0, 40.0);
        self.within("bar.basket_mm", s.bar.basket_mm, 40.0, 70.0);
        self.within("bar.dose_g[0]", s.bar.dose_g.0, 5.0, 30.0);
        self.within("bar.dose_g[1]", s.bar.dose_g.1, 5.0, 30.0);
        self.within("bar.yield_g[0]", s.bar.yield_g.0, 5.0, 120.0);
        self.within("bar.yield_g[1]", s.bar.yield_g.1, 5.0, 120.0);
        if let Some((low, high, _)) = s.bar.temperature_c {
            self.within("bar.temperature_c[0]", low, 60.0, 100.0);
            self.within("bar.temperature_c[1]", high, 60.0, 100.0);
        }
        match s.bar.gear(&s.grinder) {
            Ok(gear) => Some(gear),
            Err(fault) => {
                let sound = |(min, max, step): Marks| Scale::new("", min, max, step).is_ok();
                let marks = [
                    ("grinder.marks", s.grinder.marks),
                    ("bar.dose_g", s.bar.dose_g),
                    ("bar.yield_g", s.bar.yield_g),
                ];
                let path =
                    marks.iter().find(|(_, marks)| !sound(*marks)).map_or("bar.temperature_c", |m| m.0);
                self.at(path, fault.to_string(), word!("practice-check-todo-scale"));
                None
            }
        }
    }

    fn known<'p, T>(
        &mut self,
        path: &str,
        name: &str,
        folder: &str,
        all: &'p std::collections::BTreeMap<String, T>,
    ) -> Option<&'p T> {
        let found = all.get(name);
        if found.is_none() {
            let names: Vec<&str> = all.keys().map(String::as_str).collect();
            self.at(
                path,
                say!("practice-check-no-file", file = format!("{folder}/{name}.ron")),
                say!("practice-check-todo-known", names = in_a_row(&names)),
            );
        }
        found
    }

    /// Checks a recipe against what can be set.
    fn setting(&mut self, path: &str, start: &Setting, gear: &Gear) -> Recipe {
        let recipe: Recipe = (*start).into();
        for (lever, name) in [
            (Lever::Grind, "grind"),
            (Lever::Dose, "dose_g"),
            (Lever::Yield, "yield_g"),
            (Lever::Temperature, "temperature_c"),
        ] {
            let path = format!("{path}.{name}");
            match (recipe.get(lever), gear.scale(lever)) {
                (Some(value), Some(scale)) if !scale.holds(value) => self.at(
                    &path,
                    say!("practice-check-cannot-be-set", name = name, value = value),
                    say!(
                        "practice-check-todo-steps",
                        min = scale.min(),
                        max = scale.max(),
                        step = scale.step(),
                        near = scale.snap(value)
                    ),
                ),
                (Some(_), None) => self.at(
                    &path,
                    word!("practice-check-no-temperature"),
                    word!("practice-check-todo-leave-temperature-out"),
                ),
                _ => {}
            }
        }
        recipe
    }

    fn exercise(&mut self, e: &Exercise, pack: &Pack, depth: Depth) {
        for (path, text) in [("title", &e.title), ("task", &e.task), ("answer", &e.answer)] {
            self.said(path, text);
        }
        let before = self.findings.len();
        if !(1..=30).contains(&e.most_pulls) {
            self.at(
                "most_pulls",
                say!("practice-check-is", path = "most_pulls", value = e.most_pulls),
                word!("practice-check-todo-most-pulls"),
            );
        }
        self.within("near", e.near, 0.1, 3.0);
        self.within("age_days", e.age_days, 0.0, 120.0);
        self.within("scatter", e.scatter, 0.0, 3.0);
        self.within("variety", e.variety, 0.0, 3.0);
        if e.moves.is_empty() {
            self.at("moves", word!("practice-check-no-moves"), word!("practice-check-todo-moves"));
        }
        if e.shows.is_empty() {
            self.at("shows", word!("practice-check-no-shows"), word!("practice-check-todo-shows"));
        }
        for (at, surprise) in e.surprises.iter().enumerate() {
            if !(1..=e.most_pulls).contains(&surprise.pull) {
                self.at(
                    &format!("surprises[{at}].pull"),
                    say!("practice-check-surprise", pull = surprise.pull, most_pulls = e.most_pulls),
                    word!("practice-check-todo-surprise"),
                );
            }
        }
        for (at, hint) in e.hints.iter().enumerate() {
            self.said(&format!("hints[{at}]"), hint);
        }
        if e.hints.is_empty() {
            self.at("hints", word!("practice-check-no-hint"), word!("practice-check-todo-hint"));
        }
        let coffee = self.known("coffee", &e.coffee, "coffees", &pack.coffees);
        let palate = self.known("drinker", &e.drinker, "drinkers", &pack.drinkers);
        let station = self.known("station", &e.station, "stations", &pack.stations);
        let (Some(coffee), Some(palate), Some(station)) = (coffee, palate, station) else { return };
        let Ok(gear) = station.bar.gear(&station.grinder) else { return };
        let start = self.setting("start", &e.start, &gear);
        if e.moves.contains(&Move::Temperature) && gear.temperature_c.is_none() {
            self.at(
                "moves",
                word!("practice-check-no-temperature"),
                word!("practice-check-todo-take-temperature-out"),
            );
        }
        if depth == Depth::Quick || self.findings.len() > before {
            return;
        }
        let brew = Brew { coffee, grinder: &station.grinder, bar: &station.bar, age_days: e.age_days };
        let levers: Vec<Lever> = e.moves.iter().map(|m| m.lever()).collect();
        let (first, reached) =
            match (liking_of(&brew, palate, &start), best(&brew, palate, &gear, &start, &levers)) {
                (Ok(first), Ok(reached)) => (first, reached),
                (Err(fault), _) | (_, Err(fault)) => {
                    self.at("coffee", fault.to_string(), word!("practice-check-todo-coffee"));
                    return;
                }
            };
        if reached.liking < 6.0 {
            self.at(
                "moves",
                say!("practice-check-too-little", liking = figure(reached.liking, 1)),
                word!("practice-check-todo-too-little"),
            );
        } else if reached.liking - first <= e.near {
            self.at(
                "start",
                say!("practice-check-solved", first = figure(first, 1), best = figure(reached.liking, 1)),
                word!("practice-check-todo-solved"),
            );
        }
    }

    fn study(&mut self, s: &Study, pack: &Pack, depth: Depth) {
        self.said("title", &s.title);
        self.said("question", &s.question);
        let before = self.findings.len();
        self.within("age_days", s.age_days, 0.0, 120.0);
        if s.sweep.is_none() && s.arms.len() < 2 {
            self.whole(
                word!("practice-check-compares-nothing"),
                word!("practice-check-todo-compares-nothing"),
            );
        }
        if s.watch.is_empty() {
            self.at("watch", word!("practice-check-no-watch"), word!("practice-check-todo-watch"));
        }
        if s.unknown.is_empty() {
            self.at("unknown", word!("practice-check-no-unknown"), word!("practice-check-todo-unknown"));
        }
        for (at, measured) in s.measured.iter().enumerate() {
            self.said(&format!("measured[{at}].what"), &measured.what);
            self.said(&format!("measured[{at}].source"), &measured.source);
            for (nth, curve) in measured.curves.iter().enumerate() {
                let sound = !curve.points.is_empty()
                    && curve.points.iter().all(|(x, y)| x.is_finite() && y.is_finite())
                    && curve.points.is_sorted_by(|a, b| a.0 < b.0);
                if !sound {
                    self.at(
                        &format!("measured[{at}].curves[{nth}].points"),
                        word!("practice-check-points"),
                        word!("practice-check-todo-points"),
                    );
                }
            }
        }
        for (at, arm) in s.arms.iter().enumerate() {
            self.said(&format!("arms[{at}].name"), &arm.name);
            for (profile, name, most) in [
                (&arm.drawn.pressure_bar, "pressure_bar", 20.0),
                (&arm.drawn.flow_ml_s, "flow_ml_s", 50.0),
                (&arm.drawn.temperature_c, "temperature_c", 130.0),
            ] {
                let path = format!("arms[{at}].drawn.{name}");
                if let Some(Err(fault)) = profile.as_ref().map(|p| p.check(name, 0.0, most)) {
                    self.at(&path, fault.to_string(), word!("practice-check-todo-profile"));
                }
            }
        }
        if let Some(range) = &s.sweep
            && (range.from - range.to).abs() < 1e-9
        {
            self.at(
                "sweep",
                word!("practice-check-sweep-nowhere"),
                word!("practice-check-todo-sweep-nowhere"),
            );
        }
        let coffee = self.known("coffee", &s.coffee, "coffees", &pack.coffees);
        let palate = self.known("drinker", &s.drinker, "drinkers", &pack.drinkers);
        let station = self.known("station", &s.station, "stations", &pack.stations);
        let (Some(coffee), Some(palate), Some(station)) = (coffee, palate, station) else { return };
        let Ok(gear) = station.bar.gear(&station.grinder) else { return };
        let _recipe = self.setting("start", &s.start, &gear);
        if depth == Depth::Quick || self.findings.len() > before {
            return;
        }
        match s.run(&s.bench(coffee, station), palate) {
            Err(fault) => self.at("start", fault.to_string(), word!("practice-check-todo-start")),
            Ok(run) => {
                for (at, arm) in run.arms.iter().enumerate().filter(|(_, arm)| !arm.matched) {
                    self.at(
                        &format!("arms[{at}]"),
                        say!("practice-check-not-matched", arm = arm.name),
                        word!("practice-check-todo-not-matched"),
                    );
                }
                for (at, claim) in s.claims.iter().enumerate() {
                    if let Err(instead) = run.bears_out(claim) {
                        self.at(
                            &format!("claims[{at}]"),
                            say!("practice-check-claim", instead = instead),
                            word!("practice-check-todo-claim"),
                        );
                    }
                }
                if run.says.is_empty() {
                    let what = s.watch.iter().map(|watch: &Watch| watch.one().to_owned());
                    let either = |before: String, next: String| {
                        say!("practice-check-either", before = before, next = next)
                    };
                    let what = what.reduce(either).unwrap_or_default();
                    self.at(
                        "watch",
                        say!("practice-check-no-pull-has", what = what),
                        word!("practice-check-todo-no-pull-has"),
                    );
                }
            }
        }
    }
}

/// Whether one coffee can be pulled at all at one setting: a teacher's quick look.
///
/// # Errors
/// One sentence.
pub fn try_coffee(coffee: &Coffee, station: &Station, setting: &Setting) -> Result<String, String> {
    let brew = Brew { coffee, grinder: &station.grinder, bar: &station.bar, age_days: 14.0 };
    let shot = brew.pull(&(*setting).into(), &Luck::none(), None, 75.0, &GRID);
    shot.map(|shot| shot.trace.summary()).map_err(|fault| fault.to_string())
}
