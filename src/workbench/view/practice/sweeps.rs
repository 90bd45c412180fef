//! Sweeps and studies as curves: what one handle does to time, strength, extraction, balance and evenness, and what has
//! been measured about it.

use crate::practice::study::{Measured, MeasuredCurve, Read, curve_sentence, lost_sentence, worth_naming};
use crate::practice::{Bench, Handle, Pack, Study, StudyRun, Sweep, Watch};
use crate::units::{UnitPreferences, capital};
use crate::words::Name;

/// What every sweep shows.
pub const WATCHED: [Watch; 5] =
    [Watch::Time, Watch::Strength, Watch::Extraction, Watch::Balance, Watch::Unevenness];

/// Pulls of a sweep.
pub const COUNT: usize = 60;

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveView {
    /// "Extraction, %".
    pub title: String,
    /// The points, `(handle, value)`.
    pub points: Vec<(f64, f64)>,
    /// Where the bench stands on it.
    pub here: Option<(f64, f64)>,
    /// Measured points that belong on these axes.
    pub measured: Vec<(f64, f64)>,
    /// Where the measured points are from, or that there are none.
    pub source: String,
    /// Range of the handle.
    pub across: (f64, f64),
    /// Range of the value axis.
    pub range: (f64, f64),
    /// Decimals of the value axis.
    pub decimals: usize,
    /// What the curve says, in a sentence.
    pub says: String,
}

/// Curves of one handle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CurvesView {
    /// "Grind", with its unit.
    pub handle: String,
    /// One for each thing watched.
    pub curves: Vec<CurveView>,
    /// How many pulls never filled the cup; empty where all did.
    pub lost: String,
    /// What has been measured about it: a sentence each, with its source.
    pub measured: Vec<String>,
}

/// A handle with its unit.
#[must_use]
pub fn handle_name(handle: Handle) -> String {
    let unit = handle.unit();
    if unit.is_empty() { handle.name().to_owned() } else { format!("{}, {unit}", handle.name()) }
}

/// "… (Cameron et al., Matter 2, 631 (2020); the abstract was read)".
#[must_use]
pub fn measured_line(measured: &Measured) -> String {
    let read = match measured.read {
        Read::Data => word!("view-practice-sweeps-its-data-were-read"),
        Read::Paper => word!("view-practice-sweeps-the-paper-was-read"),
        Read::Abstract => word!("view-practice-sweeps-only-the-abstract-was-read"),
        Read::SecondHand => word!("view-practice-sweeps-read-second-hand"),
    };
    let what = measured.what.trim_end_matches('.');
    let under = measured.under.trim_end_matches('.');
    let gap = if under.is_empty() { "" } else { " · " };
    format!("{what}{gap}{under} — {}; {read}.", measured.source)
}

/// "Cameron et al., Matter 2, 631 (2020), summary" as "Cameron et al. 2020", for a plot; the whole stands in the list below.
fn short_source(source: &str) -> String {
    let who = source.split(',').next().unwrap_or(source).trim();
    let year = source.rsplit('(').next().and_then(|rest| rest.split(')').next()).unwrap_or("");
    if year.len() == 4 && year.bytes().all(|digit| digit.is_ascii_digit()) {
        format!("{who} {year}")
    } else {
        source.to_owned()
    }
}

/// Every measured curve of a study, with what it belongs to.
fn measured_curves(study: &Study) -> impl Iterator<Item = (&Measured, &MeasuredCurve)> {
    study.measured.iter().flat_map(|found| found.curves.iter().map(move |curve| (found, curve)))
}

fn range_of(points: impl Iterator<Item = f64>, least_span: f64) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in points {
        low = low.min(value);
        high = high.max(value);
    }
    if low > high {
        return (0.0, 1.0);
    }
    let span = (high - low).max(least_span);
    let step = 10f64.powf(span.log10().floor()) * 0.5;
    let middle = 0.5 * (low + high);
    let (low, high) = (low.min(middle - 0.5 * span), high.max(middle + 0.5 * span));
    (((low / step).floor() * step).max(0.0), (high / step).ceil() * step)
}

/// The curves of a sweep. `studies` says what was measured; `here` is where the handle stands.
#[must_use]
pub fn curves(swept: &Sweep, watched: &[Watch], here: Option<f64>, studies: &[&Study]) -> CurvesView {
    let across = (swept.at.first().copied().unwrap_or(0.0), swept.at.last().copied().unwrap_or(1.0));
    let curve = |watch: &Watch| {
        let points = swept.curve(*watch);
        let inside = |point: &(f64, f64)| (across.0..=across.1).contains(&point.0);
        let mut measured: Vec<(f64, f64)> = Vec::new();
        let mut sources: Vec<String> = Vec::new();
        for (found, curve) in studies.iter().flat_map(|study| measured_curves(study)) {
            let belongs = curve.of == *watch && curve.over == swept.handle;
            for point in curve.points.iter().copied().filter(|point| belongs && inside(point)) {
                if !measured.contains(&point) {
                    measured.push(point);
                }
                let short = short_source(&found.source);
                if !sources.contains(&short) {
                    sources.push(short);
                }
            }
        }
        let source = if measured.is_empty() {
            word!("view-practice-sweeps-no-published-measurement").to_owned()
        } else {
            say!("view-practice-sweeps-measured", source = sources.join("; "))
        };
        let here = here.and_then(|x| Some((x, at(&points, x)?)));
        let unit = watch.unit();
        let comma = if unit.is_empty() { String::new() } else { format!(", {unit}") };
        let least = 4.0 * 10f64.powi(-(watch.decimals() as i32));
        CurveView {
            title: format!("{}{comma}", capital(watch.name())),
            range: range_of(points.iter().chain(&measured).map(|point| point.1), least),
            source,
            says: curve_sentence(swept, *watch)
                .unwrap_or_else(|| say!("view-practice-sweeps-no-pull-in-the-range-has", what = watch.one())),
            decimals: watch.decimals().min(if *watch == Watch::Time { 0 } else { 2 }),
            points,
            here,
            measured,
            across,
        }
    };
    let mut lines: Vec<String> = Vec::new();
    for measured in studies.iter().flat_map(|study| &study.measured) {
        // A study that sweeps another handle lends only what was measured over this one.
        let lent = measured.curves.is_empty() || measured.curves.iter().any(|c| c.over == swept.handle);
        let line = measured_line(measured);
        if lent && !lines.contains(&line) {
            lines.push(line);
        }
    }
    CurvesView {
        handle: handle_name(swept.handle),
        curves: watched.iter().map(curve).collect(),
        lost: lost_sentence(swept).unwrap_or_default(),
        measured: lines,
    }
}

fn at(points: &[(f64, f64)], x: f64) -> Option<f64> {
    let after = points.partition_point(|point| point.0 < x);
    let b = points.get(after)?;
    let Some(a) = after.checked_sub(1).and_then(|before| points.get(before)) else {
        return ((b.0 - x).abs() < 1e-9).then_some(b.1);
    };
    let share = if b.0 > a.0 { (x - a.0) / (b.0 - a.0) } else { 1.0 };
    Some(a.1 + share * (b.1 - a.1))
}

/// Studies that sweep a handle or know something measured over it.
#[must_use]
pub fn studies_of(pack: &Pack, handle: Handle) -> Vec<&Study> {
    let sweeps = |study: &Study| study.sweep.is_some_and(|sweep| sweep.handle == handle);
    let knows = |study: &Study| measured_curves(study).any(|(_, curve)| curve.over == handle);
    pack.studies.values().filter(|study| sweeps(study) || knows(study)).collect()
}

/// A study, computed, as it is shown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StudyView {
    /// Title.
    pub title: String,
    /// The question.
    pub question: String,
    /// Its swept curves.
    pub curves: CurvesView,
    /// Heads of the table of things compared; empty where nothing is.
    pub heads: Vec<String>,
    /// A row for each thing compared.
    pub rows: Vec<Vec<String>>,
    /// What the model says.
    pub says: Vec<String>,
    /// What has been measured, with sources.
    pub measured: Vec<String>,
    /// What nobody knows.
    pub unknown: Vec<String>,
    /// Questions for a class.
    pub ask: Vec<String>,
}

/// The view of a study that was run.
#[must_use]
pub fn study(study: &Study, run: &StudyRun, units: &UnitPreferences) -> StudyView {
    let curves =
        run.sweep.as_ref().map(|swept| curves(swept, &study.watch, None, &[study])).unwrap_or_default();
    let mut heads = Vec::new();
    let mut rows = Vec::new();
    if !run.arms.is_empty() {
        heads.push(if study.same_time {
            word!("view-practice-sweeps-at-the-same-time").to_owned()
        } else {
            String::new()
        });
        heads.extend(study.watch.iter().map(|watch| match watch.unit() {
            "" => watch.short().to_owned(),
            unit => format!("{}, {unit}", watch.short()),
        }));
        for arm in &run.arms {
            let name = if arm.matched {
                arm.name.clone()
            } else {
                say!("view-practice-sweeps-not-the-same-time", name = arm.name)
            };
            let mut row = vec![name];
            row.extend(study.watch.iter().map(|watch| {
                let value = arm.seen.get(*watch);
                let base = run.arms.first().and_then(|first| first.seen.get(*watch));
                let change = value.zip(base).map(|(value, base)| value - base);
                let first = run.arms.first().is_some_and(|first| first.name == arm.name);
                let change = change.filter(|_| !first);
                let mark = change.map_or(String::new(), |change| against(*watch, change, units));
                value.map_or("–".to_owned(), |value| units.number(value, watch.decimals()) + &mark)
            }));
            rows.push(row);
        }
    }
    StudyView {
        title: study.title.clone(),
        question: study.question.clone(),
        curves,
        heads,
        rows,
        says: run.says.clone(),
        measured: study.measured.iter().map(measured_line).collect(),
        unknown: study.unknown.clone(),
        ask: study.ask.clone(),
    }
}

/// Less than that is written "=".
pub const ALIKE: Name = name!("view-practice-sweeps-no-difference-worth-naming");

/// A change against the first thing compared: " +0.31", or " =".
fn against(watch: Watch, change: f64, units: &UnitPreferences) -> String {
    if change.abs() < worth_naming(watch) {
        return " =".to_owned();
    }
    let sign = if change > 0.0 { "+" } else { "" };
    format!(" {sign}{}", units.number(change, watch.decimals()))
}

/// The bench on which a study begins, and what came of it.
///
/// # Errors
/// One sentence when it names something that is not there or lies outside the simulator's range.
pub fn run_study(pack: &Pack, name: &str) -> Result<(Bench, StudyRun), String> {
    let study =
        pack.studies.get(name).ok_or_else(|| say!("view-practice-sweeps-there-is-no-study", name = name))?;
    let missing = |what: &str, name: &str| {
        say!("view-practice-sweeps-the-study-names-the-which-is", what = what, name = name)
    };
    let coffee = pack
        .coffees
        .get(&study.coffee)
        .ok_or_else(|| missing(word!("view-practice-sweeps-coffee"), &study.coffee))?;
    let station = pack
        .stations
        .get(&study.station)
        .ok_or_else(|| missing(word!("view-practice-sweeps-station"), &study.station))?;
    let palate = pack
        .drinkers
        .get(&study.drinker)
        .ok_or_else(|| missing(word!("view-practice-sweeps-drinker"), &study.drinker))?;
    let bench = study.bench(coffee, station);
    let run = study.run(&bench, palate).map_err(|fault| fault.to_string())?;
    Ok((bench, run))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::{Palate, sweep};

    #[test]
    fn curves_hold_the_swept_points_where_the_bench_stands_and_what_was_measured() {
        let pack = Pack::shipped();
        let bench = Bench::default();
        let swept = sweep(&bench, Handle::Grind, (10.0, 34.0), 25, &Palate::default()).unwrap();
        let studies = studies_of(&pack, Handle::Grind);
        assert!(!studies.is_empty());
        let view = curves(&swept, &WATCHED, Some(22.0), &studies);
        assert_eq!(view.curves.len(), WATCHED.len());
        let time = &view.curves[0];
        let direct = bench.pull(&crate::practice::sweep::SWEEP_GRID).unwrap().trace.end_s;
        assert!((time.here.unwrap().1 - direct).abs() < 1e-6, "{:?} {direct}", time.here);
        for curve in &view.curves {
            let inside = |(_, y): &(f64, f64)| (curve.range.0..=curve.range.1).contains(y);
            assert!(curve.points.iter().all(inside), "{} {:?}", curve.title, curve.range);
            assert!(curve.says.ends_with('.'));
        }
        assert!(view.measured.iter().any(|line| line.contains("Cameron et al., Matter 2, 631 (2020)")));
    }

    #[test]
    fn a_plot_names_its_source_shortly() {
        assert_eq!(short_source("Cameron et al., Matter 2, 631 (2020), summary"), "Cameron et al. 2020");
        assert_eq!(short_source("our own bench"), "our own bench");
    }

    #[test]
    fn every_study_that_ships_has_something_to_show() {
        let pack = Pack::shipped();
        for (name, found) in &pack.studies {
            let (_, run) = run_study(&pack, name).unwrap();
            let view = study(found, &run, &UnitPreferences::default());
            assert!(!view.says.is_empty() && !view.unknown.is_empty(), "{name}");
            assert!(!view.curves.curves.is_empty() || view.rows.len() > 1, "{name}");
            assert!(view.rows.iter().all(|row| row.len() == view.heads.len()), "{name}");
        }
        assert!(run_study(&pack, "no such thing").is_err());
    }
}
