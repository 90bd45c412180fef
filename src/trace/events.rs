//! Events of a pull, found from whatever channels there are, each with an uncertainty and how sure it is.

use crate::domain::{Channel, Trace};

use super::onset;

use super::filter::{derived_flow, despike, median, noise, quantile, quantum, running_median};

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EventKind {
    /// The pump starts.
    PumpOn,
    /// The space above the bed is full; pressure begins to build.
    Filled,
    /// The first drip reaches the cup (which also shows that the bed is wet through).
    FirstDrip,
    /// The flow has come to what it keeps, more or less.
    Steady,
    /// The pump stops.
    PumpOff,
    /// The pull is over: the last drips have fallen, the cup is taken away, or the trace ends.
    End,
}

impl EventKind {
    /// All kinds, in the order of a pull.
    pub const ALL: [Self; 6] =
        [Self::PumpOn, Self::Filled, Self::FirstDrip, Self::Steady, Self::PumpOff, Self::End];

    /// The trade's word for it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::PumpOn => word!("trace-events-pump-on"),
            Self::Filled => word!("trace-events-filled"),
            Self::FirstDrip => word!("trace-events-first-drip"),
            Self::Steady => word!("trace-events-steady"),
            Self::PumpOff => word!("trace-events-pump-off"),
            Self::End => word!("trace-events-end"),
        }
    }
}

/// One event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// When, seconds on the trace's own time.
    pub time_s: f64,
    /// Standard deviation of that time, seconds.
    pub sd_s: f64,
    /// How sure it is that the event is there at all, 0…1.
    pub confidence: f64,
    /// Where it was seen, as words for a person.
    pub seen_in: &'static str,
}

impl Event {
    /// Whether it was seen, and not guessed where the trace begins or ends in the middle of a pull.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        self.confidence >= SEEN
    }
}

/// Confidence from which an event counts as seen.
const SEEN: f64 = 0.5;

/// The events of one trace; `None` where a trace does not show one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Events {
    /// The pump starts. When a trace begins with the pump running, its first sample, with low confidence.
    pub pump_on: Option<Event>,
    /// The space above the bed is full; seen only when flow into the machine and pressure are both there.
    pub filled: Option<Event>,
    /// The first drip.
    pub first_drip: Option<Event>,
    /// The flow has come to what it keeps.
    pub steady: Option<Event>,
    /// The pump stops; `None` when the trace ends before.
    pub pump_off: Option<Event>,
    /// The pull is over.
    pub end: Option<Event>,
}

impl Events {
    /// The event of a kind.
    #[must_use]
    pub fn get(&self, kind: EventKind) -> Option<Event> {
        match kind {
            EventKind::PumpOn => self.pump_on,
            EventKind::Filled => self.filled,
            EventKind::FirstDrip => self.first_drip,
            EventKind::Steady => self.steady,
            EventKind::PumpOff => self.pump_off,
            EventKind::End => self.end,
        }
    }

    /// Pump on to first drip, seconds, when both are known.
    #[must_use]
    pub fn first_drip_after_s(&self) -> Option<f64> {
        Some(self.first_drip?.time_s - self.pump_on?.time_s)
    }

    /// Pump on to pump off (or to the end), seconds, when known.
    #[must_use]
    pub fn pull_time_s(&self) -> Option<f64> {
        let off = self.pump_off.or(self.end)?;
        Some(off.time_s - self.pump_on?.time_s)
    }
}

/// Finite samples of one channel.
struct Series {
    time: Vec<f64>,
    value: Vec<f64>,
}

impl Series {
    fn of(time_s: &[f64], values: &[f64]) -> Option<Self> {
        let (time, value): (Vec<f64>, Vec<f64>) = time_s
            .iter()
            .zip(values)
            .filter(|(t, v)| t.is_finite() && v.is_finite())
            .map(|(&t, &v)| (t, v))
            .unzip();
        (time.len() >= 5).then_some(Self { time, value })
    }

    fn len(&self) -> usize {
        self.time.len()
    }

    fn t(&self, at: usize) -> f64 {
        self.time.get(at).copied().unwrap_or(0.0)
    }

    /// Index of the first sample at or after a time.
    fn at_or_after(&self, t: f64) -> usize {
        self.time.partition_point(|&x| x < t)
    }

    fn high(&self) -> f64 {
        quantile(&mut self.value.clone(), 0.95).unwrap_or(0.0)
    }

    fn step_s(&self) -> f64 {
        super::usual_step_s(&self.time)
    }
}

/// Least pressure rise that shows a pump, bar; least mass in the cup that shows a drip, grams; least flow, g/s.
/// Common practice, no source.
const PRESSURE_RISE_BAR: f64 = 0.5;
const CUP_RISE_G: f64 = 1.0;
const FLOW_RISE_G_S: f64 = 0.3;

/// What is known of the instruments behind a trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instruments {
    /// By how much the scale's reading trails the cup, seconds: the time constant of its own smoothing and half its
    /// reporting step. Taken off the first drip. Usual kitchen scales trail by 0.1–0.3 s (common practice, no source).
    pub scale_lag_s: f64,
}

impl Default for Instruments {
    fn default() -> Self {
        Self { scale_lag_s: 0.2 }
    }
}

/// Finds the events of a trace seen through usual instruments.
#[must_use]
pub fn find_events(trace: &Trace) -> Events {
    find_events_with(trace, &Instruments::default())
}

/// Finds the events of a trace. Never fails: what cannot be seen is `None`.
#[must_use]
pub fn find_events_with(trace: &Trace, instruments: &Instruments) -> Events {
    let time = trace.time_s();
    let series = |channel: Channel, least: f64| -> Option<Series> {
        let (clean, _) = despike(trace.get(channel)?, least);
        Series::of(time, &clean)
    };
    let pressure = series(Channel::Pressure, 0.8);
    let mass = series(Channel::CupMass, 0.5);
    let flow = series(Channel::Flow, 0.5);
    let first = time.first().copied().unwrap_or(0.0);
    let last = time.last().copied().unwrap_or(0.0);

    let drip_mass = mass.as_ref().and_then(|m| first_drip_by_mass(m, instruments.scale_lag_s));
    let flow_onset = flow.as_ref().and_then(|s| rise_onset(s, FLOW_RISE_G_S));
    // A flow that begins well before anything is in the cup is water going in; else it is drink coming out.
    let water_in = match (&flow_onset, &drip_mass) {
        (Some(flow), Some(drip)) => flow.time_s < drip.time_s - 1.5,
        (Some(flow), None) => {
            let pressure_rise = pressure.as_ref().and_then(|s| rise_onset(s, PRESSURE_RISE_BAR));
            pressure_rise.is_some_and(|p| (flow.time_s - p.time_s).abs() < 1.0)
        }
        _ => false,
    };
    let first_drip = drip_mass.or_else(|| {
        let onset = flow_onset.filter(|_| !water_in)?;
        if !onset.is_seen() {
            return Some(Event { seen_in: word!("trace-events-already-fills"), ..onset });
        }
        Some(Event { confidence: 0.6, seen_in: word!("trace-events-flow-begins"), ..onset })
    });

    let by_pressure = pressure.as_ref().and_then(|s| rise_onset(s, PRESSURE_RISE_BAR));
    let by_flow = flow_onset
        .filter(|_| water_in)
        .map(|e| if e.is_seen() { Event { seen_in: word!("trace-events-water-begins"), ..e } } else { e });
    let filled = match (by_pressure, by_flow) {
        (Some(p), Some(f)) if p.is_seen() && p.time_s > f.time_s + 0.3 => Some(p),
        _ => None,
    };
    let pump_on = match (by_pressure, by_flow) {
        // What runs already when the trace begins says less than a beginning that is seen.
        (Some(p), Some(f)) if p.is_seen() != f.is_seen() => Some(if p.is_seen() { p } else { f }),
        (Some(p), Some(f)) => Some(if f.time_s <= p.time_s { f } else { p }),
        (one, other) => one.or(other),
    }
    .or_else(|| {
        let running = pressure.as_ref().is_some_and(|s| s.high() > PRESSURE_RISE_BAR) || first_drip.is_some();
        running.then(|| already_on(first))
    });

    let flow_out = match flow {
        Some(flow) if !water_in => Some(flow),
        _ => derived_flow(trace).and_then(|v| Series::of(time, &v)),
    };
    let after = first_drip.map_or(first, |e| e.time_s);
    let by_flow = flow_out.as_ref().and_then(|s| falls_of_flow(s, after));
    let pump_off = pressure.as_ref().and_then(fall).or(by_flow.map(|(begins, _)| begins));
    let end = by_flow
        .map(|(_, over)| Event { time_s: over.time_s.max(pump_off.map_or(f64::MIN, |p| p.time_s)), ..over })
        .or(pump_off)
        .or_else(|| {
            pump_on.map(|_| Event {
                time_s: last,
                sd_s: 0.0,
                confidence: 0.3,
                seen_in: word!("trace-events-still-runs"),
            })
        });
    let until = pump_off.or(end).map_or(last, |e| e.time_s);
    let steady = flow_out.as_ref().filter(|_| first_drip.is_some()).and_then(|s| steady(s, after, until));
    Events { pump_on, filled, first_drip, steady, pump_off, end }
}

/// Where a rise begins: a flat stretch followed by a bend, fitted by least squares over the place of the bend.
#[derive(Debug, Clone, Copy)]
struct Bend {
    time_s: f64,
    sd_s: f64,
}

/// Fits `b + s·(t−τ)₊ + a·(t−τ)₊²` (s, a ≥ 0) to the samples `from..to` for every τ of a fine grid and takes the best.
/// The standard deviation comes from the width of the valley of the residual sum of squares around its bottom.
fn bend(series: &Series, from: usize, to: usize, latest: usize) -> Option<Bend> {
    let (time, value) = (series.time.get(from..to)?, series.value.get(from..to)?);
    if time.len() < 5 {
        return None;
    }
    let (start, end) = (time.first().copied()?, series.t(latest.min(series.len() - 1)));
    let step = (series.step_s() / 4.0).max((end - start) / 400.0);
    if step <= 0.0 || step.is_nan() {
        return None;
    }
    let mut best: Option<(f64, f64)> = None;
    let mut valley: Vec<(f64, f64)> = Vec::new();
    // Counted, since a time far from zero does not grow by a small step.
    let moments = ((end - start) / step + 1e-9).floor().clamp(-1.0, 401.0);
    #[allow(clippy::cast_possible_truncation)]
    for at in 0..=(moments as i32) {
        let tau = start + step * f64::from(at);
        let sse = bend_residual(time, value, tau);
        valley.push((tau, sse));
        if best.is_none_or(|(_, least)| sse < least) {
            best = Some((tau, sse));
        }
    }
    let (time_s, least) = best?;
    #[allow(clippy::cast_precision_loss)]
    let limit = least * (1.0 + 1.0 / (time.len() as f64 - 4.0).max(1.0)) + 1e-12;
    let inside = valley.iter().filter(|(_, sse)| *sse <= limit).map(|(tau, _)| *tau);
    let (low, high) = inside.fold((time_s, time_s), |(l, h), t| (l.min(t), h.max(t)));
    Some(Bend { time_s, sd_s: ((high - low) / 2.0).max(series.step_s() / 12.0_f64.sqrt()) })
}

fn bend_residual(time: &[f64], value: &[f64], tau: f64) -> f64 {
    // Sums for the basis 1, x, x² with x = (t − τ)₊.
    #[allow(clippy::cast_precision_loss)]
    let n = time.len() as f64;
    let (mut x1, mut x2, mut x3, mut x4, mut y, mut xy, mut x2y, mut yy) =
        (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (&t, &v) in time.iter().zip(value) {
        let x = (t - tau).max(0.0);
        let sq = x * x;
        x1 += x;
        x2 += sq;
        x3 += sq * x;
        x4 += sq * sq;
        y += v;
        xy += x * v;
        x2y += sq * v;
        yy += v * v;
    }
    let (c11, c12, c22) = (x2 - x1 * x1 / n, x3 - x1 * x2 / n, x4 - x2 * x2 / n);
    let (d1, d2, dy) = (xy - x1 * y / n, x2y - x2 * y / n, yy - y * y / n);
    let det = c11 * c22 - c12 * c12;
    let mut gain: f64 = 0.0;
    if det > 1e-9 * c11 * c22 {
        let (s, a) = ((d1 * c22 - d2 * c12) / det, (d2 * c11 - d1 * c12) / det);
        if s >= 0.0 && a >= 0.0 {
            gain = s * d1 + a * d2;
        }
    }
    if c11 > 0.0 && d1 > 0.0 {
        gain = gain.max(d1 * d1 / c11);
    }
    if c22 > 0.0 && d2 > 0.0 {
        gain = gain.max(d2 * d2 / c22);
    }
    (dy - gain).max(0.0)
}

/// Mass: walks back from the middle of the rise to where the cup was still empty, then fits the onset.
fn first_drip_by_mass(mass: &Series, lag_s: f64) -> Option<Event> {
    let smooth = running_median(&mass.value, 2);
    let top = quantile(&mut smooth.clone(), 0.98)?;
    let mut early: Vec<f64> = smooth.iter().copied().take((smooth.len() / 20).clamp(3, 50)).collect();
    let before = median(&mut early)?;
    let bottom = smooth.iter().copied().fold(f64::INFINITY, f64::min).max(before - 1.0).min(before);
    if top - bottom < CUP_RISE_G {
        return None;
    }
    let half = smooth.iter().position(|&v| v > bottom + 0.5 * (top - bottom))?;
    let lowest = smooth.get(..=half)?.iter().copied().fold(f64::INFINITY, f64::min);
    let sigma = noise(&mass.value).max(quantum(&mass.value) / 12.0_f64.sqrt()).max(0.003);
    let threshold = (6.0 * sigma).clamp(0.25, 2.0);
    let Some(late) = smooth.get(..half)?.iter().rposition(|&v| v < lowest + threshold) else {
        return Some(Event {
            time_s: mass.t(0),
            sd_s: 1.0,
            confidence: 0.3,
            seen_in: word!("trace-events-already-fills"),
        });
    };
    let crossing = mass.t(late);
    let from = mass.at_or_after(crossing - 5.0);
    let full =
        smooth.iter().skip(late).position(|&v| v > lowest + threshold + 0.8).map_or(half, |n| late + n + 1);
    let to = full.max(mass.at_or_after(crossing + 0.8)).max((late + 4).min(mass.len())).min(mass.len());
    let (time_s, sd_s) =
        onset::first_drop(mass.time.get(from..to)?, mass.value.get(from..to)?, sigma, crossing)?;
    Some(Event {
        time_s: time_s - lag_s,
        sd_s: (sd_s * sd_s + 0.25 * lag_s * lag_s).sqrt().clamp(0.03, 3.0),
        confidence: if top - bottom > 5.0 { 0.95 } else { 0.8 },
        seen_in: word!("trace-events-mass-rises"),
    })
}

/// A rise that lasts so long is the pump's and no knock, seconds. Common practice, no source.
const LASTING_S: f64 = 1.0;
/// Longest pause between a first wetting and the rest of the pull, seconds. Common practice, no source.
const LONGEST_PAUSE_S: f64 = 40.0;

/// Pressure or flow: where it first leaves its resting level for a lasting while. A first wetting counts, also when a pause
/// follows it in which all falls to rest again.
fn rise_onset(series: &Series, least: f64) -> Option<Event> {
    let high = series.high();
    let half = series.value.iter().position(|&v| v > 0.6 * high)?;
    let early: Vec<f64> = series.value.iter().copied().take(half.clamp(1, 60)).collect();
    // What a first wetting has lifted is no rest.
    let lifted = quantile(&mut early.clone(), 0.1)? + least + 3.0 * noise(&early);
    let rest = median(&mut early.into_iter().filter(|v| *v <= lifted).collect::<Vec<f64>>())?;
    if high - rest < least || rest > 0.7 * high {
        return None;
    }
    let level = rest + 0.15 * (high - rest);
    let main = series.value.get(..=half)?.iter().rposition(|&v| v < level)?;
    let wetting = first_rise(series, rest + least.max(0.08 * (high - rest)), main)
        .filter(|(before, _)| series.t(main) - series.t(*before) > LASTING_S);
    let (late, top) = wetting.unwrap_or((main, high));
    let crossing = series.t(late);
    let from = series.at_or_after(crossing - 3.0);
    let steep = series.value.iter().skip(late).position(|&v| v > rest + 0.5 * (top - rest)).unwrap_or(1);
    let to = (late + steep.clamp(2, 8) + 1).min(series.len());
    let to = to.max((late + 3).min(series.len()));
    let found = bend(series, from, to, late + 1);
    let (time_s, sd_s) = match found {
        Some(found) => (found.time_s, found.sd_s),
        None => (crossing, series.step_s()),
    };
    let slope = (0.5 * (top - rest)).max(least) / (series.t(late + steep) - time_s).max(series.step_s());
    let sd_s = if is_flat_before(series, time_s, 0.2 * slope) {
        sd_s
    } else {
        // Without a stretch of rest before it a rise begins where the trace does only if it begins from nothing.
        let first = series.value.first().copied()?;
        if first >= least {
            return Some(already_on(series.t(0)));
        }
        sd_s.hypot(first.max(0.0) / slope.max(1e-9))
    };
    Some(Event {
        time_s,
        sd_s: sd_s.clamp(0.02, 2.0),
        confidence: ((high - rest) / (4.0 * least)).clamp(0.5, 0.95),
        seen_in: word!("trace-events-pressure-rises"),
    })
}

/// The first time that a series rises above a level to stay there for [`LASTING_S`], before the sample `until`: the last
/// sample below the level, and how high it then comes. What was over for longer than [`LONGEST_PAUSE_S`] is another story.
fn first_rise(series: &Series, level: f64, until: usize) -> Option<(usize, f64)> {
    let smooth = running_median(series.value.get(..=until)?, 2);
    let mut begin: Option<usize> = None;
    let mut found: Option<(usize, f64)> = None;
    let (mut above_s, mut open) = (f64::NEG_INFINITY, false);
    for (at, &v) in smooth.iter().enumerate() {
        let now = series.t(at);
        if v <= level {
            (begin, open) = (None, false);
            found = found.filter(|_| now - above_s <= LONGEST_PAUSE_S);
            continue;
        }
        above_s = now;
        let from = *begin.get_or_insert(at);
        match &mut found {
            Some((_, top)) if open => *top = top.max(v),
            None if now - series.t(from) >= LASTING_S && at >= from + 3 => {
                let top = smooth.get(from..=at)?.iter().copied().fold(v, f64::max);
                let before = series.value.get(..=from)?.iter().rposition(|&v| v < level);
                (found, open) = (Some((before.unwrap_or(from), top)), true);
            }
            _ => {}
        }
    }
    found
}

/// Whether samples before a time show a stretch that rises by less than `slope` a second.
fn is_flat_before(series: &Series, time_s: f64, slope: f64) -> bool {
    let to = series.at_or_after(time_s);
    let from = series.at_or_after(time_s - 3.0);
    let (Some(time), Some(value)) = (series.time.get(from..to), series.value.get(from..to)) else {
        return false;
    };
    let (Some(first), Some(last)) = (time.first(), time.last()) else { return false };
    if time.len() < 3 || last - first < 0.19 {
        return false;
    }
    let n = time.len() as f64;
    let (centre, level) = (time.iter().sum::<f64>() / n, value.iter().sum::<f64>() / n);
    let spread: f64 = time.iter().map(|t| (t - centre).powi(2)).sum();
    let rise =
        time.iter().zip(value).map(|(t, v)| (t - centre) * (v - level)).sum::<f64>() / spread.max(1e-12);
    rise < slope
}

/// A pump that ran when the trace began, about then.
fn already_on(time_s: f64) -> Event {
    Event { time_s, sd_s: 2.0, confidence: 0.2, seen_in: word!("trace-events-already-on") }
}

/// Pressure: where it falls for good.
fn fall(series: &Series) -> Option<Event> {
    let high = series.high();
    let mut tail: Vec<f64> = series.value.iter().rev().copied().take(3).collect();
    let rest = median(&mut tail)?;
    if high < PRESSURE_RISE_BAR || rest > 0.6 * high {
        return None;
    }
    let level = rest + 0.8 * (high - rest);
    let last_high = series.value.iter().rposition(|&v| v > level)?;
    let next = (last_high + 1).min(series.len() - 1);
    let step = series.t(next) - series.t(last_high);
    Some(Event {
        time_s: series.t(last_high) + 0.5 * step,
        sd_s: (step / 12.0_f64.sqrt()).max(0.05),
        confidence: 0.9,
        seen_in: word!("trace-events-pressure-falls"),
    })
}

/// Flow: where it begins to die away for good, and where it has.
fn falls_of_flow(series: &Series, after: f64) -> Option<(Event, Event)> {
    let from = series.at_or_after(after);
    let mut running: Vec<f64> = series.value.get(from..)?.iter().copied().filter(|&v| v > 0.2).collect();
    let usual = median(&mut running)?;
    let last_above = |level: f64| series.value.iter().rposition(|&v| v > level);
    let over = last_above((0.12 * usual).max(0.05))?;
    if over + 3 >= series.len() || series.t(series.len() - 1) - series.t(over) < 1.0 {
        return None;
    }
    // What ran in the last seconds before the end, not the whole pull's: flow grows as solids leave.
    let recent = series.at_or_after(series.t(over) - 4.0);
    let mut late: Vec<f64> = series.value.get(recent.max(from)..over)?.to_vec();
    let before = quantile(&mut late, 0.75)?.max(usual * 0.5);
    let begins = last_above(0.65 * before)?;
    Some((
        Event {
            time_s: series.t(begins),
            sd_s: 0.4,
            confidence: 0.6,
            seen_in: word!("trace-events-flow-fades"),
        },
        Event {
            time_s: series.t(over),
            sd_s: 0.5,
            confidence: 0.8,
            seen_in: word!("trace-events-flow-over"),
        },
    ))
}

/// Flow out: where it first reaches nine tenths of what it runs at in the second half of the pull.
fn steady(series: &Series, after: f64, until: f64) -> Option<Event> {
    let middle = series.at_or_after(0.5 * (after + until));
    let (from, to) = (series.at_or_after(after), series.at_or_after(until - 0.5));
    let mut late: Vec<f64> = series.value.get(middle..to)?.to_vec();
    let level = 0.9 * median(&mut late)?;
    let at = series.value.get(from..to)?.iter().position(|&v| v >= level)? + from;
    Some(Event {
        time_s: series.t(at),
        sd_s: 0.5,
        confidence: 0.7,
        seen_in: word!("trace-events-flow-settles"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps of the grid are far below what a double can tell apart at such times.
    #[test]
    fn the_grid_of_bends_ends_whatever_the_clock_says() {
        let time: Vec<f64> = (0..40).map(|i| 1e17 + 16.0 * f64::from(i)).collect();
        let value: Vec<f64> = (0..40).map(|i| f64::from((i - 20).max(0))).collect();
        let found = bend(&Series { time, value }, 0, 40, 39);
        assert!(found.is_none_or(|found| found.time_s.is_finite()), "{found:?}");
    }
}
