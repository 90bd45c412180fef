//! Events of a pull, found from whatever channels there are, each with an uncertainty and how sure it is.

use crate::domain::{Channel, Trace};

use super::filter::{derived_flow, despike, median, noise, quantile, running_median};

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EventKind {
    /// The pump starts.
    PumpOn,
    /// The first drip reaches the cup.
    FirstDrip,
    /// The pump stops.
    PumpOff,
    /// The pull is over: the last drips have fallen, the cup is taken away, or the trace ends.
    End,
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

/// The events of one trace; `None` where a trace does not show one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Events {
    /// The pump starts. When a trace begins with the pump running, its first sample, with low confidence.
    pub pump_on: Option<Event>,
    /// The first drip.
    pub first_drip: Option<Event>,
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
            EventKind::FirstDrip => self.first_drip,
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

/// Finds the events of a trace. Never fails: what cannot be seen is `None`.
#[must_use]
pub fn find_events(trace: &Trace) -> Events {
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

    let drip_mass = mass.as_ref().and_then(first_drip_by_mass);
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
        Some(Event { confidence: 0.6, seen_in: "the flow begins", ..onset })
    });

    let by_pressure = pressure.as_ref().and_then(|s| rise_onset(s, PRESSURE_RISE_BAR));
    let by_flow = flow_onset.filter(|_| water_in).map(|e| Event { seen_in: "water begins to flow", ..e });
    let pump_on = match (by_pressure, by_flow) {
        (Some(p), Some(f)) => Some(if f.time_s <= p.time_s { f } else { p }),
        (one, other) => one.or(other),
    }
    .or_else(|| {
        let running = pressure.as_ref().is_some_and(|s| s.high() > PRESSURE_RISE_BAR) || first_drip.is_some();
        running.then_some(Event {
            time_s: first,
            sd_s: 2.0,
            confidence: 0.2,
            seen_in: "the trace begins with the pump already on, or does not show it",
        })
    });

    let flow_out = if flow.is_some() && !water_in {
        flow
    } else {
        derived_flow(trace).and_then(|v| Series::of(time, &v))
    };
    let by_pressure = pressure.as_ref().and_then(fall);
    let by_flow = flow_out.as_ref().and_then(|s| fall_of_flow(s, first_drip.map_or(first, |e| e.time_s)));
    let pump_off = by_pressure
        .or_else(|| by_flow.map(|e| Event { confidence: e.confidence * 0.7, sd_s: e.sd_s.max(0.5), ..e }));
    let end = by_flow
        .map(|e| Event {
            seen_in: "the flow has died away",
            time_s: e.time_s.max(pump_off.map_or(f64::MIN, |p| p.time_s)),
            ..e
        })
        .or(pump_off)
        .or_else(|| {
            pump_on.map(|_| Event {
                time_s: last,
                sd_s: 0.0,
                confidence: 0.5,
                seen_in: "the trace ends while the pull still runs",
            })
        });
    Events { pump_on, first_drip, pump_off, end }
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
    let mut tau = start;
    while tau <= end {
        let sse = bend_residual(time, value, tau);
        valley.push((tau, sse));
        if best.is_none_or(|(_, least)| sse < least) {
            best = Some((tau, sse));
        }
        tau += step;
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

/// Mass: walks back from the middle of the rise to where the cup was still empty, then fits the bend.
fn first_drip_by_mass(mass: &Series) -> Option<Event> {
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
    let sigma = noise(&mass.value);
    let threshold = (5.0 * sigma).clamp(0.25, 2.0);
    let late = smooth.get(..half)?.iter().rposition(|&v| v < lowest + threshold);
    let Some(late) = late else {
        return Some(Event {
            time_s: mass.t(0),
            sd_s: 1.0,
            confidence: 0.3,
            seen_in: "the cup already fills when the trace begins",
        });
    };
    let crossing = mass.t(late);
    let from = mass.at_or_after(crossing - 5.0);
    let to = mass.at_or_after(crossing + 1.5).max((late + 4).min(mass.len()));
    let found = bend(mass, from, to, late + 1)?;
    // Once more, closer: the scale's drift over long stretches must not pull the bend.
    let from = mass.at_or_after(found.time_s - 2.5);
    let to = mass.at_or_after(found.time_s + 2.0).max((late + 4).min(mass.len()));
    let found = bend(mass, from, to, late + 1).unwrap_or(found);
    Some(Event {
        time_s: found.time_s,
        sd_s: found.sd_s.clamp(0.02, 3.0),
        confidence: if top - bottom > 5.0 { 0.95 } else { 0.8 },
        seen_in: "cup mass begins to rise",
    })
}

/// Pressure or flow: where it leaves its resting level for good.
fn rise_onset(series: &Series, least: f64) -> Option<Event> {
    let high = series.high();
    let half = series.value.iter().position(|&v| v > 0.6 * high)?;
    let mut early: Vec<f64> = series.value.iter().copied().take(half.clamp(1, 60)).collect();
    let rest = median(&mut early)?;
    if high - rest < least || rest > 0.7 * high {
        return None;
    }
    let level = rest + 0.15 * (high - rest);
    let late = series.value.get(..=half)?.iter().rposition(|&v| v < level)?;
    let crossing = series.t(late);
    let from = series.at_or_after(crossing - 3.0);
    let steep = series.value.iter().skip(late).position(|&v| v > rest + 0.5 * (high - rest)).unwrap_or(1);
    let to = (late + steep.clamp(2, 8) + 1).min(series.len());
    let to = to.max((late + 3).min(series.len()));
    let found = bend(series, from, to, late + 1);
    let (time_s, sd_s) = match found {
        Some(found) => (found.time_s, found.sd_s),
        None => (crossing, series.step_s()),
    };
    Some(Event {
        time_s,
        sd_s: sd_s.clamp(0.02, 2.0),
        confidence: ((high - rest) / (4.0 * least)).clamp(0.5, 0.95),
        seen_in: "pressure begins to rise",
    })
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
        seen_in: "pressure falls",
    })
}

/// Flow: where it has died away for good.
fn fall_of_flow(series: &Series, after: f64) -> Option<Event> {
    let from = series.at_or_after(after);
    let mut running: Vec<f64> = series.value.get(from..)?.iter().copied().filter(|&v| v > 0.2).collect();
    let usual = median(&mut running)?;
    let level = (0.25 * usual).max(0.05);
    let last = series.value.iter().rposition(|&v| v > level)?;
    if last + 3 >= series.len() || series.t(series.len() - 1) - series.t(last) < 1.0 {
        return None;
    }
    Some(Event { time_s: series.t(last), sd_s: 0.4, confidence: 0.8, seen_in: "the flow dies away" })
}
