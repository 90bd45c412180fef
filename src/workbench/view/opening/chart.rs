//! Control charts of one coffee: individuals with moving range, weighted average, cumulative sum, run rules, cut into
//! phases by deliberate changes.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::costly::Costly;
use super::held::Series;
use crate::control::charts::{Cusum, CusumPoint, Ewma, EwmaPoint, Individuals, Limits};
use crate::control::pulls::Watched;
use crate::control::rules::{RunRule, run_rules};
use crate::control::runlength::{self, Marks};
use crate::control::series::{PhaseStart, phases};
use crate::units::{dates, figure, in_a_row};

/// Weight of the newest value in the weighted average (0.2–0.3 by habit; NIST/SEMATECH e-Handbook 6.3.2.4).
const LAMBDA: f64 = 0.25;
/// Shift that the cumulative sum is to find soonest, standard deviations.
const SHIFT_SD: f64 = 1.5;
/// A phase's centre counts this many pulls of the centre before it, so that one pull does not make a centre.
const CARRIED: f64 = 1.0;

/// One point.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartPoint {
    /// When it was pulled.
    pub at: Timestamp,
    /// "Tue 17 Nov 06:43".
    pub when: String,
    /// As it was measured, raw unit.
    pub measured: f64,
    /// Dose, cup, warmth of the grinder and ageing taken out, raw unit.
    pub value: f64,
    /// Centre of its phase, raw unit.
    pub centre: f64,
    /// Lower and upper limit, raw unit.
    pub limits: (f64, f64),
    /// Distance from the centre, standard deviations of the pull.
    pub z: f64,
    /// Moving range, standard deviations; `None` at the start of a phase.
    pub range: Option<f64>,
    /// Weighted average, standard deviations.
    pub ewma: EwmaPoint,
    /// Cumulative sums, standard deviations.
    pub cusum: CusumPoint,
    /// Which phase it belongs to.
    pub phase: usize,
    /// Seen to be badly prepared.
    pub suspect: bool,
}

/// One quantity's chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What is charted.
    pub what: Watched,
    /// "Time", "Strength", "Yield".
    pub name: &'static str,
    /// "s", "%", "g".
    pub unit: &'static str,
    /// Where it should be, raw unit.
    pub target: f64,
    /// The window about the target, raw unit; only for the time.
    pub window: Option<(f64, f64)>,
    /// The points, oldest first.
    pub points: Vec<ChartPoint>,
    /// Where each phase begins and why: index of the point, words.
    pub phases: Vec<(usize, String)>,
    /// Rules that fired: index of the point, words.
    pub signals: Vec<(usize, String)>,
    /// Upper limit of the moving range, standard deviations.
    pub range_limit: f64,
    /// Decision value of the cumulative sums, standard deviations.
    pub cusum_limit: f64,
    /// Points between two false alarms of each chart, as the café chose.
    pub run_length: f64,
    /// Points between two false alarms of the run rules, which are the same for every café.
    pub rules_run_length: f64,
    /// Points until something is marked, whichever chart or rule marks it, while nothing happens.
    pub all_run_length: f64,
    /// Standard deviation on the log scale of a pull out of which nothing uncertain was taken: 0.04 is about 4 %.
    pub sigma: f64,
    /// Fewer than twenty points stand behind the limits.
    pub provisional: bool,
}

impl Chart {
    /// The points to look at, oldest first: the index of each with the rules that fired on it and the charts on which it
    /// lies outside the limits.
    #[must_use]
    pub fn marked(&self) -> Vec<(usize, Vec<&str>)> {
        let outside = |value: f64, (low, high): (f64, f64)| value < low || value > high;
        let sums = (-self.cusum_limit, self.cusum_limit);
        let mut list = Vec::new();
        for (at, point) in self.points.iter().enumerate() {
            let mut words: Vec<&str> =
                self.signals.iter().filter(|(i, _)| *i == at).map(|(_, words)| words.as_str()).collect();
            if outside(point.value, point.limits) {
                words.push(word!("view-opening-chart-pull-outside"));
            }
            if point.range.is_some_and(|range| range > self.range_limit) {
                words.push(word!("view-opening-chart-range-outside"));
            }
            if outside(point.ewma.z, (point.ewma.lower, point.ewma.upper)) {
                words.push(word!("view-opening-chart-average-outside"));
            }
            if outside(point.cusum.upper, sums) || outside(-point.cusum.lower, sums) {
                words.push(word!("view-opening-chart-sum-outside"));
            }
            if !words.is_empty() {
                list.push((at, words));
            }
        }
        list
    }

    /// One sentence for screen readers and prints.
    #[must_use]
    pub fn summary(&self) -> String {
        let n = self.points.len();
        let Some(last) = self.points.last() else {
            return say!("view-opening-chart-no-points", name = self.name);
        };
        let fired = match self.marked().last().filter(|(i, _)| i + 1 == n) {
            Some((_, words)) => in_a_row(words),
            None => word!("view-opening-chart-nothing-at-the-last").to_owned(),
        };
        // What dose, cup, warmth and ageing account for moves a pull and its limits alike.
        let share = last.measured / last.value;
        let share = if share.is_finite() { share } else { 1.0 };
        say!(
            "view-opening-chart-points-last-limits",
            name = self.name,
            n = n,
            measured = figure(last.measured, 1),
            unit = self.unit,
            limits = figure(last.limits.0 * share, 1),
            limits_2 = figure(last.limits.1 * share, 1),
            fired = fired
        )
    }
}

/// What a chart needs beside the series.
pub(super) struct Frame<'a> {
    pub what: Watched,
    pub target: f64,
    pub window: Option<(f64, f64)>,
    /// Change a day, log scale.
    pub ageing: f64,
    pub false_a_month: f64,
    /// Points a month.
    pub points_a_month: f64,
    pub zone: &'a TimeZone,
    /// Words for a move of so many clicks towards coarser.
    pub moved: &'a dyn Fn(i64) -> String,
}

/// Limits of the charts for one run length, standard deviations, and what they and the run rules come to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Widths {
    marks: Marks,
    rules_run_length: f64,
    all_run_length: f64,
}

impl Widths {
    /// Works them out: three integral equations, turned round, and a simulation of all together.
    pub(super) fn for_run_length(run_length: f64) -> Self {
        let marks = Marks {
            single: runlength::individuals_width(run_length),
            range: runlength::moving_range_limit(run_length),
            lambda: LAMBDA,
            average: runlength::ewma_width(LAMBDA, run_length),
            slack: SHIFT_SD / 2.0,
            sums: runlength::cusum_limit(SHIFT_SD / 2.0, run_length),
        };
        Self {
            marks,
            rules_run_length: rounded(runlength::rules(&RunRule::CAFE, 0.0)),
            all_run_length: rounded(marks.run_length()),
        }
    }
}

/// Points between two false alarms, to two significant figures: what is shown is what the limits are made for.
fn rounded(run_length: f64) -> f64 {
    let step = libm::exp10(libm::floor(libm::log10(run_length.max(1.0))) - 1.0).max(1.0);
    (run_length / step).round() * step
}

/// The chart of a series; `None` with fewer than three points.
pub(super) fn chart(series: &Series, frame: &Frame<'_>, costly: &mut Costly) -> Option<Chart> {
    let readings = &series.readings;
    if readings.len() < 3 {
        return None;
    }
    let cut = phases(readings);
    let mut level = vec![0.0; readings.len()];
    let mut phase_of = vec![0usize; readings.len()];
    let mut starts = Vec::new();
    for (number, phase) in cut.iter().enumerate() {
        let day = readings.get(phase.range.start).map_or(0, |r| r.day);
        for i in phase.range.clone() {
            if let (Some(r), Some(l), Some(p)) = (readings.get(i), level.get_mut(i), phase_of.get_mut(i)) {
                *l = r.value - f64::from(r.day.saturating_sub(day)) * frame.ageing;
                *p = number;
            }
        }
        let words = match phase.start {
            PhaseStart::First => word!("view-opening-chart-keeper").to_owned(),
            PhaseStart::Bag => word!("view-opening-chart-new-bag").to_owned(),
            PhaseStart::Moved(clicks) => (frame.moved)(clicks),
        };
        starts.push((phase.range.start, words));
    }
    let mut centres = Vec::new();
    let mut before = 0.0;
    for phase in &cut {
        let own: Vec<f64> = phase
            .range
            .clone()
            .filter(|i| readings.get(*i).is_some_and(|r| !r.suspect))
            .filter_map(|i| level.get(i).copied())
            .collect();
        before = (own.iter().sum::<f64>() + CARRIED * before) / (own.len() as f64 + CARRIED);
        centres.push(before);
    }
    let centre = |i: usize| centres.get(*phase_of.get(i).unwrap_or(&0)).copied().unwrap_or(0.0);
    // Ranges across a deliberate change are no scatter.
    let left: Vec<f64> = (0..level.len()).map(|i| level.get(i).copied().unwrap_or(0.0) - centre(i)).collect();
    let base = Individuals::from_baseline(&left, true)?;
    let sigma = base.sigma.max(1e-4);
    let run_length = rounded(runlength::from_false_alarms(frame.false_a_month, frame.points_a_month));
    let Widths { marks, rules_run_length, all_run_length } = costly.widths(run_length);
    let Marks { single: width, lambda, average, slack, sums, .. } = marks;
    let ewma = Ewma { target: 0.0, sigma: 1.0, lambda, width: average, limits: Limits::Steady };
    let cusum = Cusum { target: 0.0, slack, limit: sums, head_start: 0.0 };
    // What was taken out without certainty is part of a pull's scatter; neighbours share it, so that it is none of a range.
    let sd: Vec<f64> = readings.iter().map(|r| libm::hypot(sigma, r.doubt)).collect();
    let z: Vec<f64> = left.iter().zip(&sd).map(|(v, sd)| v / sd).collect();
    let at = |i: usize| left.get(i).copied().unwrap_or(0.0);
    let mut signals = Vec::new();
    let mut points = Vec::new();
    for phase in &cut {
        let own = z.get(phase.range.clone()).unwrap_or(&[]);
        for signal in run_rules(own, &RunRule::CAFE) {
            signals.push((phase.range.start + signal.index, signal.rule.words().to_owned()));
        }
        for (offset, (e, c)) in ewma.run(own).into_iter().zip(cusum.run(own)).enumerate() {
            let i = phase.range.start + offset;
            let (Some(pull), Some(r), Some(l)) = (series.pulls.get(i), readings.get(i), level.get(i)) else {
                continue;
            };
            let sd = sd.get(i).copied().unwrap_or(sigma);
            let back = |v: f64| frame.target * libm::exp(v.clamp(-5.0, 5.0));
            points.push(ChartPoint {
                at: pull.pulled_at,
                when: dates::short_with_weekday(&pull.pulled_at.to_zoned_datetime(frame.zone.clone())),
                measured: crate::control::pulls::raw(pull, frame.what).unwrap_or(f64::NAN),
                value: back(*l),
                centre: back(centre(i)),
                limits: (back(centre(i) - width * sd), back(centre(i) + width * sd)),
                z: z.get(i).copied().unwrap_or(0.0),
                range: (offset > 0).then(|| (at(i) - at(i - 1)).abs() / sigma),
                ewma: e,
                cusum: c,
                phase: phase_of.get(i).copied().unwrap_or(0),
                suspect: r.suspect,
            });
        }
    }
    let (name, unit) = match frame.what {
        Watched::FlowTime => (word!("view-words-time"), "s"),
        Watched::Strength => (word!("view-words-strength"), "%"),
        Watched::Yield => (word!("view-words-yield"), "g"),
    };
    Some(Chart {
        what: frame.what,
        name,
        unit,
        target: frame.target,
        window: frame.window,
        points,
        phases: starts,
        signals,
        range_limit: marks.range,
        cusum_limit: cusum.limit,
        run_length,
        rules_run_length,
        all_run_length,
        sigma,
        provisional: base.provisional(),
    })
}
