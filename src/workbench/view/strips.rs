//! The strips: which pulls are laid over each other, and their lines, thinned to what a screen can show.

use super::compare::ExpectedBand;
use crate::domain::{Channel, Trace};
use std::ops::Range;

use crate::trace::{extremes_of_every, simplify};
use crate::units::UnitPreferences;

/// How a pull stands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Emphasis {
    /// Any other pull.
    Rest,
    /// The keeper's pull.
    Keeper,
    /// The pull before.
    Before,
    /// The pull looked at.
    This,
}

/// One pull to lay over the others.
#[derive(Debug, Clone)]
pub struct Laid<'a> {
    /// "pull 3".
    pub name: String,
    /// Written at the line's end: "3".
    pub end: String,
    /// How it stands out.
    pub emphasis: Emphasis,
    /// Seconds taken off its time, to align it.
    pub shift_s: f64,
    /// The samples.
    pub trace: &'a Trace,
}

/// One line: stretches without a gap of (seconds, value in the unit shown).
#[derive(Debug, Clone, PartialEq)]
pub struct LineView {
    /// "pull 3".
    pub name: String,
    /// "3".
    pub end: String,
    /// How it stands out.
    pub emphasis: Emphasis,
    /// The stretches.
    pub runs: Vec<Vec<[f64; 2]>>,
}

/// A band behind the lines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BandView {
    /// What it is: "expected".
    pub name: String,
    /// (seconds, low, high), in the unit shown; finite, rising in time.
    pub edges: Vec<[f64; 3]>,
}

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct StripView {
    /// Which quantity.
    pub channel: Channel,
    /// "Pressure".
    pub name: &'static str,
    /// Unit shown.
    pub unit: &'static str,
    /// Range of the value axis.
    pub range: (f64, f64),
    /// Bands behind the lines.
    pub bands: Vec<BandView>,
    /// The lines, the least important first.
    pub lines: Vec<LineView>,
}

/// All strips.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StripsView {
    /// The strips that any pull has samples for.
    pub strips: Vec<StripView>,
    /// The whole span of time, seconds.
    pub span_s: (f64, f64),
}

impl StripsView {
    /// Lays a band given in base units behind the strips, `zero_s` taken off its time. A strip that only the band has
    /// anything for is added; value axes grow as far as half again to hold it.
    pub fn lay_band(&mut self, name: &str, band: &ExpectedBand, zero_s: f64, units: &UnitPreferences) {
        for (channel, edges) in &band.channels {
            let shown = |v: f64| units.convert(channel.quantity(), v).0;
            let edges: Vec<[f64; 3]> = edges
                .iter()
                .map(|[t, low, high]| [t - zero_s, shown(*low), shown(*high)])
                .filter(|edge| edge.iter().all(|v| v.is_finite()))
                .collect();
            let (Some(first), Some(last)) = (edges.first(), edges.last()) else { continue };
            let most = edges.iter().map(|edge| edge[2]).fold(f64::NEG_INFINITY, f64::max);
            let least = edges.iter().map(|edge| edge[1]).fold(f64::INFINITY, f64::min);
            if let Some(strip) = self.strips.iter_mut().find(|strip| strip.channel == *channel) {
                strip.range.1 = strip.range.1.max(most.min(strip.range.1 * 1.5));
                strip.bands.push(BandView { name: name.to_owned(), edges });
                continue;
            }
            let span = (first[0].floor().min(0.0), (last[0] * 1.06 + 0.5).ceil());
            self.span_s = (self.span_s.0.min(span.0), self.span_s.1.max(span.1));
            let strip = StripView {
                channel: *channel,
                name: channel_name(*channel),
                unit: units.convert(channel.quantity(), 0.0).1,
                range: round_range(*channel, least.max(0.0), most),
                bands: vec![BandView { name: name.to_owned(), edges }],
                lines: Vec::new(),
            };
            let order = |channel: Channel| Channel::ALL.iter().position(|one| *one == channel);
            let place = self.strips.iter().position(|other| order(other.channel) > order(*channel));
            self.strips.insert(place.unwrap_or(self.strips.len()), strip);
        }
    }
}

/// A quantity's name on its strip.
#[must_use]
pub fn channel_name(channel: Channel) -> &'static str {
    match channel {
        Channel::Pressure => word!("view-strips-pressure"),
        Channel::Flow => word!("view-strips-flow"),
        Channel::CupMass => word!("view-strips-cup-mass"),
        Channel::Temperature => word!("view-strips-temperature"),
    }
}

/// Points kept of one line at most: two for each of as many columns as a strip is wide.
pub const COLUMNS: usize = 400;
/// More other pulls than this are a crowd, in which no single one is read closely.
const CROWD: usize = 12;
/// Columns that all lines of a crowd share in all strips together: what can be drawn anew in every frame without being
/// felt (`cargo bench --bench window` measures it), however noisy the lines are. Of each column both extremes stay.
const COLUMNS_OF_A_CROWD: usize = 16_000;
/// A line of a crowd has so many columns at least.
const LEAST_COLUMNS: usize = 24;
/// Height of a strip in a crowd, pixels.
const CROWD_PIXELS: f64 = 160.0;

/// Lays pulls over each other. Ranges of the value axes grow in round steps, so that they stand still from pull to
/// pull.
#[must_use]
pub fn strips(laid: &[Laid<'_>], units: &UnitPreferences) -> StripsView {
    strips_of(laid, units, None, false)
}

/// As [`strips`]: with the detail that a part of time needs when only that is looked at, and with values that are
/// differences (which a change of unit scales but does not shift).
#[must_use]
pub fn strips_of(
    laid: &[Laid<'_>],
    units: &UnitPreferences,
    shown: Option<(f64, f64)>,
    differences: bool,
) -> StripsView {
    let mut order: Vec<&Laid<'_>> = laid.iter().collect();
    order.sort_by_key(|one| one.emphasis);
    let mut span = (0.0f64, 0.0f64);
    for one in &order {
        if let (Some(first), Some(last)) = (one.trace.time_s().first(), one.trace.time_s().last()) {
            span = (span.0.min(first - one.shift_s), span.1.max(last - one.shift_s));
        }
    }
    let there = |channel: &Channel| order.iter().any(|one| one.trace.get(*channel).is_some());
    let channels = Channel::ALL.into_iter().filter(there).count();
    let strips = Channel::ALL
        .into_iter()
        .filter_map(|channel| strip(channel, &order, units, (shown, differences, channels)))
        .collect::<Vec<_>>();
    // Room at the right for the end labels.
    let span_s = (span.0.floor(), (span.1 * 1.06 + 0.5).ceil());
    StripsView { strips, span_s }
}

fn strip(
    channel: Channel,
    order: &[&Laid<'_>],
    units: &UnitPreferences,
    (shown, differences, channels): (Option<(f64, f64)>, bool, usize),
) -> Option<StripView> {
    let (zero, unit, _) = units.convert(channel.quantity(), 0.0);
    // A unit stretches and shifts; a difference is only stretched.
    let value = Shown {
        slope: units.convert(channel.quantity(), 1.0).0 - zero,
        shift: if differences { 0.0 } else { zero },
    };
    let rest = order.iter().filter(|one| one.emphasis == Emphasis::Rest).count();
    let crowd = rest > CROWD;
    let columns = (COLUMNS_OF_A_CROWD / (rest * channels).max(1)).clamp(LEAST_COLUMNS, COLUMNS);
    let mut lines = Vec::new();
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for one in order {
        let (Some(samples), Some(extent)) = (one.trace.get(channel), one.trace.extent(channel)) else {
            continue;
        };
        // Units only stretch and shift, so the ends of the range are those of the samples.
        if let Some((least, most)) = extent.range {
            (low, high) = (low.min(value.of(least)), high.max(value.of(most)));
        }
        let time = one.trace.time_s();
        let seen = shown.map_or(0..time.len(), |(from, to)| part(time, from + one.shift_s, to + one.shift_s));
        let stretches: Vec<Range<usize>> = extent
            .stretches
            .iter()
            .map(|stretch| {
                // A missing sample at the edge of what is seen gives way to the one before or after it.
                let there = |at: &usize| samples.get(*at).is_some_and(|v| v.is_finite());
                let (from, to) = (stretch.start.max(seen.start), stretch.end.min(seen.end));
                let start = (stretch.start..=from).rev().find(there).unwrap_or(from);
                start..(to.max(1) - 1..stretch.end).find(there).map_or(to, |last| last + 1)
            })
            .filter(|stretch| stretch.len() > 1)
            .collect();
        let columns = if one.emphasis == Emphasis::Rest { columns } else { COLUMNS };
        let point = |at: usize| Some([time.get(at)? - one.shift_s, value.of(*samples.get(at)?)]);
        let mut runs: Vec<Vec<[f64; 2]>> = thin(samples, stretches, columns)
            .into_iter()
            .map(|places| places.into_iter().filter_map(point).collect())
            .collect();
        runs.retain(|run| run.len() > 1);
        if !runs.is_empty() {
            lines.push(LineView {
                name: one.name.clone(),
                end: one.end.clone(),
                emphasis: one.emphasis,
                runs,
            });
        }
    }
    if lines.is_empty() {
        return None;
    }
    if crowd {
        // In a crowd, points that move their line by less than a pixel of a usual strip are left out.
        let pixel = (high - low) / CROWD_PIXELS;
        for line in lines.iter_mut().filter(|line| line.emphasis == Emphasis::Rest) {
            line.runs = line.runs.iter().map(|run| simplify(run, pixel)).collect();
        }
    }
    Some(StripView {
        channel,
        name: channel_name(channel),
        unit,
        range: round_range(channel, low, high),
        bands: Vec::new(),
        lines,
    })
}

/// The samples within a part of time, with one neighbour on each side.
fn part(time: &[f64], from: f64, to: f64) -> std::ops::Range<usize> {
    let first = time.partition_point(|t| *t < from).saturating_sub(1);
    first..(time.partition_point(|t| *t <= to) + 1).min(time.len())
}

/// How a sample becomes the figure that is shown.
struct Shown {
    slope: f64,
    shift: f64,
}

impl Shown {
    fn of(&self, sample: f64) -> f64 {
        sample * self.slope + self.shift
    }
}

/// Thins stretches to at most about two samples a column, keeping the smallest and largest of each, so that no spike is
/// lost. Gives the places of the samples that stay; missing ones never do, and the line goes on over them.
fn thin(samples: &[f64], stretches: Vec<Range<usize>>, columns: usize) -> Vec<Vec<usize>> {
    let there = |at: &usize| samples.get(*at).is_some_and(|v| v.is_finite());
    let total: usize = stretches.iter().map(ExactSizeIterator::len).sum();
    if total <= columns * 2 {
        return stretches.into_iter().map(|stretch| stretch.filter(there).collect()).collect();
    }
    let size = total.div_ceil(columns).max(2);
    stretches
        .into_iter()
        .map(|stretch| {
            let begin = stretch.start;
            let values = samples.get(stretch).unwrap_or_default();
            extremes_of_every(values, size).into_iter().map(|at| begin + at).filter(there).collect()
        })
        .collect()
}

fn round_range(channel: Channel, low: f64, high: f64) -> (f64, f64) {
    let span = (high - low).max(1e-9);
    let step = match channel {
        Channel::Pressure if high <= 16.0 => 3.0,
        Channel::Flow if high <= 12.0 => 2.0,
        Channel::CupMass if high > 3.0 && high <= 150.0 => 10.0,
        Channel::Temperature if span < 40.0 => 5.0,
        _ => 10f64.powf(span.log10().floor()),
    };
    let floor = match channel {
        Channel::Temperature => (low / step).floor() * step,
        // A little below zero (an empty scale's noise) is kept in sight in small steps.
        _ if low >= -0.3 * step => (low.min(0.0) / (0.05 * step)).floor() * 0.05 * step,
        _ => (low / step).floor() * step,
    };
    let ceiling = ((high + span * 0.06) / step).ceil() * step;
    (floor, if ceiling > floor { ceiling } else { floor + step })
}

/// Values of the emphasised pulls at one moment: for each strip its name and unit, then one text a pull.
#[must_use]
pub fn values_at(
    view: &StripsView,
    t: f64,
    units: &UnitPreferences,
) -> Vec<(String, Vec<(Emphasis, String)>)> {
    view.strips
        .iter()
        .map(|strip| {
            let values = strip
                .lines
                .iter()
                .filter(|line| line.emphasis != Emphasis::Rest)
                .map(|line| {
                    let decimals = if strip.range.1 - strip.range.0 >= 100.0 { 0 } else { 1 };
                    let text = value_at(line, t).map_or("–".to_owned(), |v| units.number(v, decimals));
                    (line.emphasis, text)
                })
                .collect();
            (format!("{} {}", strip.name, strip.unit), values)
        })
        .collect()
}

/// Value of a line at a moment, seconds; `None` in a gap and beyond its ends.
#[must_use]
pub fn value_at(line: &LineView, t: f64) -> Option<f64> {
    let run = line.runs.iter().find(
        |run| matches!((run.first(), run.last()), (Some(first), Some(last)) if first[0] <= t && t <= last[0]),
    )?;
    let next = run.partition_point(|point| point[0] < t);
    let b = run.get(next)?;
    let Some(a) = next.checked_sub(1).and_then(|at| run.get(at)) else { return Some(b[1]) };
    let share = if b[0] > a[0] { (t - a[0]) / (b[0] - a[0]) } else { 1.0 };
    Some(a[1] + share * (b[1] - a[1]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(rate: f64, end: f64) -> Trace {
        let times: Vec<f64> = (0..=(end * rate) as usize).map(|i| i as f64 / rate).collect();
        let pressure = times.iter().map(|t| if (10.0..11.0).contains(t) { f64::NAN } else { 9.0 - t * 0.01 });
        let mass = times.iter().map(|t| (t - 6.0).max(0.0) * 1.8);
        let channels = [(Channel::Pressure, pressure.collect()), (Channel::CupMass, mass.collect())];
        Trace::new(times, channels).unwrap()
    }

    fn laid(trace: &Trace, emphasis: Emphasis, shift_s: f64) -> Laid<'_> {
        Laid { name: "pull".into(), end: "1".into(), emphasis, shift_s, trace }
    }

    #[test]
    fn gaps_stay_gaps_and_the_axis_is_round() {
        let one = trace(10.0, 28.0);
        let view = strips(&[laid(&one, Emphasis::This, 0.0)], &UnitPreferences::default());
        assert_eq!(view.strips.len(), 2);
        assert_eq!(view.strips[0].range, (0.0, 12.0));
        assert_eq!(view.strips[0].lines[0].runs.len(), 2);
        assert_eq!(view.strips[1].range, (0.0, 50.0));
        let values = values_at(&view, 20.05, &UnitPreferences::default());
        assert_eq!(values[1].1[0].1, "25.3");
        assert_eq!(values_at(&view, 10.5, &UnitPreferences::default())[0].1[0].1, "–");
    }

    #[test]
    fn a_scale_slower_than_the_log_is_drawn_as_one_line() {
        // At 10 Hz few enough to be drawn whole, at 100 Hz thinned.
        for (rate, every) in [(10.0, 2), (100.0, 2), (100.0, 40)] {
            let times: Vec<f64> = (0..(28.0 * rate) as usize).map(|i| i as f64 / rate).collect();
            let shown =
                |(i, t): (usize, &f64)| if i % every == 0 { (t - 6.0).max(0.0) * 1.8 } else { f64::NAN };
            let mass: Vec<f64> = times.iter().enumerate().map(shown).collect();
            let flow = mass.iter().map(|m| m * 0.1).collect();
            let one = Trace::new(times, [(Channel::CupMass, mass), (Channel::Flow, flow)]).unwrap();
            for part in [None, Some((8.33, 20.17))] {
                let all = [laid(&one, Emphasis::This, 0.0)];
                let view = strips_of(&all, &UnitPreferences::default(), part, false);
                assert_eq!(view.strips.len(), 2, "{rate} Hz, every {every}");
                let line = view.strips.iter().find(|strip| strip.channel == Channel::CupMass).unwrap();
                let runs = &line.lines[0].runs;
                assert_eq!(runs.len(), 1, "{rate} Hz, every {every}");
                assert!(runs[0].iter().flatten().all(|v| v.is_finite()));
                assert!(runs[0].len() > 25 && runs[0].windows(2).all(|pair| pair[1][0] - pair[0][0] < 0.41));
                assert!((value_at(&line.lines[0], 16.05).unwrap() - 10.05 * 1.8).abs() < 0.4);
            }
        }
    }

    #[test]
    fn thinning_keeps_every_spike() {
        let times: Vec<f64> = (0..6000).map(|i| f64::from(i) / 100.0).collect();
        let mut flow = vec![1.0; 6000];
        flow[3217] = 9.0;
        let one = Trace::new(times, [(Channel::Flow, flow)]).unwrap();
        let view = strips(&[laid(&one, Emphasis::Rest, 0.0)], &UnitPreferences::default());
        let run = &view.strips[0].lines[0].runs[0];
        assert!(run.len() <= 2 * COLUMNS + 4, "{}", run.len());
        assert!(run.iter().any(|p| p[1] == 9.0));
        assert!(run.windows(2).all(|pair| pair[0][0] < pair[1][0]));
    }

    #[test]
    fn a_crowd_however_noisy_has_a_bounded_number_of_points_and_keeps_its_extremes() {
        let noisy = |n: u32| {
            let times: Vec<f64> = (0..3000).map(|i| f64::from(i) * 0.02).collect();
            let ripple = move |i: usize| (i as f64 * 12.9898 + f64::from(n)).sin() * 43_758.545_3;
            let pressure = (0..3000).map(|i| 9.0 + ripple(i).fract()).collect();
            let mass = (0..3000).map(|i| i as f64 * 0.01 + ripple(i + 1).fract()).collect();
            Trace::new(times, [(Channel::Pressure, pressure), (Channel::CupMass, mass)]).unwrap()
        };
        let all: Vec<Trace> = (0..100).map(noisy).collect();
        let crowd: Vec<Laid<'_>> = all.iter().map(|one| laid(one, Emphasis::Rest, 0.0)).collect();
        let spread = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        for shown in [None, Some((20.0, 26.0))] {
            let view = strips_of(&crowd, &UnitPreferences::default(), shown, false);
            let points: usize =
                view.strips.iter().flat_map(|s| &s.lines).flat_map(|l| &l.runs).map(Vec::len).sum();
            assert!(points <= 2 * COLUMNS_OF_A_CROWD + 2 * 2 * all.len(), "{points}");
            for strip in view.strips.iter().filter(|_| shown.is_none()) {
                for (line, trace) in strip.lines.iter().zip(&all) {
                    let drawn = spread(&mut line.runs.iter().flatten().map(|p| p[1]));
                    let recorded = spread(&mut trace.get(strip.channel).unwrap().iter().copied());
                    assert_eq!(drawn, recorded);
                }
            }
        }
    }

    #[test]
    fn the_pull_looked_at_is_drawn_last_and_shifts_align() {
        let (a, b) = (trace(10.0, 20.0), trace(10.0, 30.0));
        let both = [laid(&a, Emphasis::This, 5.0), laid(&b, Emphasis::Before, 0.0)];
        let view = strips(&both, &UnitPreferences::default());
        assert_eq!(view.strips[0].lines.last().unwrap().emphasis, Emphasis::This);
        assert_eq!(view.strips[0].lines.last().unwrap().runs[0][0][0], -5.0);
        assert_eq!(view.span_s.0, -5.0);
    }
}
