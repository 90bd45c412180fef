//! The strips of the bench: this pull, the one before as a ghost, a real one beside.

use crate::domain::{Channel, Trace};
use crate::puck::PullTrace;
use crate::units::{Quantity, UnitPreferences};
use crate::workbench::view::strips::{Emphasis, LineView, value_at};

/// What has a strip of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shown {
    /// Pressure before the machine's own losses.
    Pressure,
    /// Flow into the cup.
    Flow,
    /// Mass in the cup.
    CupMass,
    /// Strength of what falls into the cup at the moment.
    Strength,
    /// Temperature of the liquid leaving the puck.
    ExitTemperature,
}

impl Shown {
    /// All, from the top.
    pub const ALL: [Self; 5] =
        [Self::Pressure, Self::Flow, Self::CupMass, Self::Strength, Self::ExitTemperature];

    /// Name on the strip.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Pressure => word!("view-practice-strips-pressure"),
            Self::Flow => word!("view-practice-strips-flow"),
            Self::CupMass => word!("view-practice-strips-cup-mass"),
            Self::Strength => word!("view-practice-strips-strength-now"),
            Self::ExitTemperature => word!("view-practice-strips-exit-temp"),
        }
    }

    fn quantity(self) -> Quantity {
        match self {
            Self::Pressure => Quantity::Pressure,
            Self::Flow => Quantity::Flow,
            Self::CupMass => Quantity::Yield,
            Self::Strength => Quantity::Strength,
            Self::ExitTemperature => Quantity::Temperature,
        }
    }

    /// The channel of a recorded pull that measures the same; its thermometer sits elsewhere, so none for temperature.
    fn channel(self) -> Option<Channel> {
        match self {
            Self::Pressure => Some(Channel::Pressure),
            Self::Flow => Some(Channel::Flow),
            Self::CupMass => Some(Channel::CupMass),
            Self::Strength | Self::ExitTemperature => None,
        }
    }

    /// Range of the axis in the program's unit for values up to `most` from `least`, in steps so large that it stands
    /// still while a handle is moved.
    fn range(self, least: f64, most: f64) -> (f64, f64) {
        let up = |base: f64, step: f64| if most <= base { base } else { (most / step).ceil() * step };
        match self {
            Self::Pressure => (0.0, up(12.0, 4.0)),
            Self::Flow => (0.0, up(4.0, 4.0)),
            Self::CupMass => (0.0, up(50.0, 25.0)),
            Self::Strength => (0.0, up(25.0, 10.0)),
            Self::ExitTemperature => (if least < 60.0 { 20.0 } else { 60.0 }, 100.0),
        }
    }
}

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticeStrip {
    /// What it shows.
    pub shown: Shown,
    /// Unit shown.
    pub unit: &'static str,
    /// Decimals worth showing.
    pub decimals: usize,
    /// Range of the value axis, in the unit shown.
    pub range: (f64, f64),
    /// Lines, the least important first.
    pub lines: Vec<LineView>,
}

/// All strips.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PracticeStrips {
    /// From the top.
    pub strips: Vec<PracticeStrip>,
    /// The whole span of time, seconds.
    pub span_s: (f64, f64),
}

/// Points of one line at most.
const MOST_POINTS: usize = 300;

fn thinned(points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let stride = points.len().div_ceil(MOST_POINTS).max(1);
    let last = points.last().copied();
    let mut thin: Vec<[f64; 2]> = points.into_iter().step_by(stride).collect();
    if let Some(last) = last.filter(|last| thin.last() != Some(last)) {
        thin.push(last);
    }
    thin
}

fn simulated(trace: &PullTrace, shown: Shown) -> Vec<Vec<[f64; 2]>> {
    let series = match shown {
        Shown::Pressure => &trace.head_bar,
        Shown::Flow => &trace.flow_g_s,
        Shown::CupMass => &trace.cup_g,
        Shown::Strength => &trace.stream_tds_pct,
        Shown::ExitTemperature => &trace.exit_c,
    };
    // Before something falls there is neither strength nor an exit temperature.
    let from_s = match shown {
        Shown::Strength | Shown::ExitTemperature => trace.first_drip_s.unwrap_or(f64::INFINITY),
        _ => f64::NEG_INFINITY,
    };
    let points = trace.time_s.iter().zip(series).filter(|(t, _)| **t >= from_s).map(|(t, v)| [*t, *v]);
    vec![thinned(points.collect())]
}

fn recorded(trace: &Trace, shown: Shown) -> Vec<Vec<[f64; 2]>> {
    let Some(samples) = shown.channel().and_then(|channel| trace.get(channel)) else { return Vec::new() };
    let start_s = trace.time_s().first().copied().unwrap_or(0.0).min(0.0);
    let mut runs = vec![Vec::new()];
    for (t, v) in trace.time_s().iter().zip(samples) {
        match (v.is_finite(), runs.last_mut()) {
            (true, Some(run)) => run.push([t - start_s, *v]),
            (false, Some(run)) if !run.is_empty() => runs.push(Vec::new()),
            _ => {}
        }
    }
    runs.retain(|run| run.len() > 1);
    runs.into_iter().map(thinned).collect()
}

/// The strips of a pull, the one before it and a recorded one.
#[must_use]
pub fn strips(
    now: Option<&PullTrace>,
    before: Option<&PullTrace>,
    beside: Option<(&str, &Trace)>,
    units: &UnitPreferences,
) -> PracticeStrips {
    let mut last_s: f64 = 0.0;
    for pull in [now, before].into_iter().flatten() {
        last_s = last_s.max(pull.end_s);
    }
    let strips = Shown::ALL
        .into_iter()
        .map(|shown| {
            let mut lines = Vec::new();
            let mut line = |name: &str, end: &str, emphasis, runs: Vec<Vec<[f64; 2]>>| {
                if !runs.is_empty() {
                    lines.push(LineView { name: name.to_owned(), end: end.to_owned(), emphasis, runs });
                }
            };
            if let Some((name, trace)) = beside {
                line(name, word!("view-practice-strips-real"), Emphasis::Keeper, recorded(trace, shown));
            }
            if let Some(pull) = before {
                line(word!("view-practice-strips-before"), "", Emphasis::Before, simulated(pull, shown));
            }
            if let Some(pull) = now {
                line(word!("view-practice-strips-now"), "", Emphasis::This, simulated(pull, shown));
            }
            // A long tail of a record is not what the bench is about.
            let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
            for point in lines.iter().flat_map(|line| &line.runs).flatten() {
                least = least.min(point[1]);
                most = most.max(point[1]);
            }
            let (low, high) = shown.range(least, most);
            let convert = |value: f64| units.convert(shown.quantity(), value);
            for point in lines.iter_mut().flat_map(|line| &mut line.runs).flatten() {
                point[1] = convert(point[1]).0;
            }
            let (_, unit, decimals) = convert(0.0);
            PracticeStrip {
                shown,
                unit,
                decimals: decimals.min(1),
                range: (convert(low).0, convert(high).0),
                lines,
            }
        })
        .collect();
    if let Some((_, trace)) = beside {
        let start_s = trace.time_s().first().copied().unwrap_or(0.0).min(0.0);
        last_s = last_s.max(trace.time_s().last().copied().unwrap_or(0.0) - start_s);
    }
    // Steps of ten seconds, so that the axis stands still while a handle is moved.
    PracticeStrips { strips, span_s: (0.0, ((last_s * 1.02 / 10.0).ceil() * 10.0).max(30.0)) }
}

/// Values under the cursor: for each strip the values of its lines, the most important first.
#[must_use]
pub fn values(view: &PracticeStrips, t: f64, units: &UnitPreferences) -> Vec<Vec<(Emphasis, String)>> {
    view.strips
        .iter()
        .map(|strip| {
            let value = |line: &LineView| {
                let text = value_at(line, t).map_or("–".to_owned(), |v| units.number(v, strip.decimals));
                (line.emphasis, text)
            };
            strip.lines.iter().rev().map(value).collect()
        })
        .collect()
}

/// The values under the cursor as one sentence.
#[must_use]
pub fn values_told(view: &PracticeStrips, t: f64, units: &UnitPreferences) -> String {
    let told: Vec<String> = view
        .strips
        .iter()
        .zip(values(view, t, units))
        .map(|(strip, values)| {
            let list: Vec<String> = strip
                .lines
                .iter()
                .rev()
                .zip(&values)
                .map(|(line, (_, value))| format!("{} {value}", line.name))
                .collect();
            format!("{} {}: {}", strip.shown.name(), strip.unit, list.join(", "))
        })
        .collect();
    say!("view-practice-strips-at-s", number = units.number(t, 1), join = told.join(". "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::sitting::GRID;
    use crate::practice::{Bench, Handle};

    #[test]
    fn now_before_and_real_are_told_apart_and_read_at_one_moment() {
        let bench = Bench::default();
        let now = bench.pull(&GRID).unwrap();
        let before = bench.with(Handle::Grind, 25.0).pull(&GRID).unwrap();
        let mass: Vec<f64> = now.trace.time_s.iter().map(|t| 2.0 * t).collect();
        let real = Trace::new(now.trace.time_s.clone(), [(Channel::CupMass, mass)]).unwrap();
        let units = UnitPreferences::default();
        let view = strips(Some(&now.trace), Some(&before.trace), Some(("Two Lakes 3", &real)), &units);
        let counts: Vec<usize> = view.strips.iter().map(|strip| strip.lines.len()).collect();
        assert_eq!(counts, [2, 2, 3, 2, 2]);
        assert!(view.strips.iter().all(|s| s.lines.last().unwrap().emphasis == Emphasis::This));
        let at = values(&view, 12.0, &units);
        assert_eq!(at[2][2], (Emphasis::Keeper, "24.0".to_owned()));
        let exact = now.trace.sample(&now.trace.cup_g, 12.0);
        let shown: f64 = at[2][0].1.parse().unwrap();
        assert!((shown - exact).abs() < 0.1, "{shown} {exact}");
        assert!(values_told(&view, 12.0, &units).contains("Two Lakes 3 24.0"));
        // Nothing falls yet.
        assert_eq!(values(&view, 0.5, &units)[3][0].1, "–");
        for strip in &view.strips {
            for point in strip.lines.iter().flat_map(|line| &line.runs).flatten() {
                assert!((strip.range.0..=strip.range.1).contains(&point[1]), "{:?} {point:?}", strip.shown);
            }
        }
    }
}
