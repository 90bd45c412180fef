//! Cleaning in named steps, each with a sentence on what it did. Nothing is cleaned silently: events and measures take
//! their own robust views of raw samples; these steps are for whoever wants mended numbers.

use crate::domain::{Channel, Trace};

use super::events::Event;
use super::filter::{FLOW_HALF_WINDOW_S, derived_flow, despike, median, noise, rounding};
use super::gaps::{gaps, own_step_s, usual_step_s};
use crate::units::{Quantity, capital, figure, rounded};

/// One step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Says how many samples are missing and where; fills none.
    Dropped,
    /// Values that only repeat because the sensor had nothing new are marked as missing, so that no step is seen where
    /// none was.
    Repeated,
    /// Single samples far from their neighbours become the neighbours' median.
    Spikes,
    /// The scale's reading is moved to when the drink was in the cup: its clock set forward by a known lag, seconds.
    ScaleLag(f64),
    /// The scale's own smoothing is undone: a first-order lag of this time constant, seconds, by adding back its slope.
    ScaleSmoothing(f64),
    /// Steps of a coarse display are joined from middle to middle.
    Quantisation,
    /// What the empty cup read, and how that drifted before the first drip, is taken off.
    TareDrift,
    /// Flow from cup mass.
    FlowFromMass,
    /// Cup mass from flow.
    MassFromFlow,
}

impl Step {
    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Dropped => word!("trace-clean-step-dropped"),
            Self::Repeated => word!("trace-clean-step-repeated"),
            Self::Spikes => word!("trace-clean-step-spikes"),
            Self::ScaleLag(_) => word!("trace-clean-step-scale-lag"),
            Self::ScaleSmoothing(_) => word!("trace-clean-step-scale-smoothing"),
            Self::Quantisation => word!("trace-clean-step-quantisation"),
            Self::TareDrift => word!("trace-clean-step-tare-drift"),
            Self::FlowFromMass => word!("trace-clean-step-flow-from-mass"),
            Self::MassFromFlow => word!("trace-clean-step-mass-from-flow"),
        }
    }
}

/// What a step did.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// The step.
    pub step: Step,
    /// Samples it changed (or, for dropped ones, counted).
    pub changed: usize,
    /// What it did, with noise gain and delay where it has them.
    pub sentence: String,
}

impl Cleaned {
    /// "Spikes: Nothing to do."
    #[must_use]
    pub fn words(&self) -> String {
        say!("trace-clean-step", step = capital(self.step.name()), sentence = self.sentence)
    }
}

/// The usual steps, in the order in which they make sense: a coarse display is told by its repeats, so that it comes before
/// these. Lag and smoothing are left out: they need a known scale.
pub const USUAL: [Step; 6] =
    [Step::Dropped, Step::Spikes, Step::Quantisation, Step::Repeated, Step::TareDrift, Step::FlowFromMass];

/// Carries out steps in the order given and reports each; a step that finds nothing to do says so.
#[must_use]
pub fn clean(trace: &Trace, steps: &[Step]) -> (Trace, Vec<Cleaned>) {
    let mut now = trace.clone();
    let mut report = Vec::with_capacity(steps.len());
    for step in steps {
        let (next, changed, sentence) = carry_out(&now, *step, trace);
        now = next.unwrap_or(now);
        report.push(Cleaned { step: *step, changed, sentence });
    }
    (now, report)
}

type Outcome = (Option<Trace>, usize, String);

/// Carries out one step on what the steps before made of `recorded`.
fn carry_out(trace: &Trace, step: Step, recorded: &Trace) -> Outcome {
    match step {
        Step::Dropped => dropped(trace),
        Step::Repeated => every_channel(
            trace,
            |channel, values| repeated(channel, trace.time_s(), values),
            |n| say!("trace-clean-repeated", n = n),
        ),
        Step::Spikes => spikes(trace),
        Step::ScaleLag(lag_s) => scale_lag(trace, lag_s),
        Step::ScaleSmoothing(tau_s) => unsmooth(trace, tau_s),
        Step::Quantisation => {
            let join = |_, values: &[f64]| joined_steps(trace.time_s(), values);
            every_channel(trace, join, |n| say!("trace-clean-joined", n = n))
        }
        Step::TareDrift => tare(trace),
        Step::FlowFromMass => flow_from_mass(trace, recorded),
        Step::MassFromFlow => mass_from_flow(trace),
    }
}

/// The trace with some channels replaced or added.
fn with(trace: &Trace, changed: Vec<(Channel, Vec<f64>)>) -> Option<Trace> {
    let kept = Channel::ALL.into_iter().filter(|c| changed.iter().all(|(other, _)| other != c));
    let mut channels: Vec<(Channel, Vec<f64>)> =
        kept.filter_map(|c| Some((c, trace.get(c)?.to_vec()))).collect();
    channels.extend(changed);
    Trace::new(trace.time_s().to_vec(), channels).ok()
}

fn every_channel(
    trace: &Trace,
    mend: impl Fn(Channel, &[f64]) -> (Vec<f64>, usize),
    say: impl Fn(usize) -> String,
) -> Outcome {
    let mut changed = Vec::new();
    let mut count = 0;
    for channel in Channel::ALL {
        let Some(values) = trace.get(channel) else { continue };
        let (out, n) = mend(channel, values);
        if n > 0 {
            count += n;
            changed.push((channel, out));
        }
    }
    if count == 0 {
        return (None, 0, word!("trace-clean-nothing-to-do").to_owned());
    }
    (with(trace, changed), count, say(count))
}

fn dropped(trace: &Trace) -> Outcome {
    let step = usual_step_s(trace.time_s());
    let missing: f64 = trace
        .time_s()
        .windows(2)
        .map(|pair| match pair {
            [a, b] if step > 0.0 => ((b - a) / step).round() - 1.0,
            _ => 0.0,
        })
        .filter(|n| *n > 0.0)
        .sum();
    let holes = gaps(trace.time_s());
    let longest = holes.iter().map(|gap| gap.seconds).fold(0.0, f64::max);
    let count = missing.clamp(0.0, 1e9) as usize;
    let sentence = match (count, holes.len()) {
        (0, _) => word!("trace-clean-none-missing").to_owned(),
        (n, 0) => say!("trace-clean-missing", n = n),
        (n, gaps) => {
            say!("trace-clean-gaps", n = n, gaps = gaps, longest_s = figure(longest, 1))
        }
    };
    (None, count, sentence)
}

/// The samples of a channel that are there, and what their repeats look like.
struct Repeats {
    place: Vec<usize>,
    time: Vec<f64>,
    value: Vec<f64>,
    /// Where the values first and last move: a dry scale repeats because nothing happens.
    moving: (usize, usize),
    /// Repeats in between.
    count: usize,
}

/// Repeats for so long are rest, and not the pace of a sensor, seconds. Common practice, no source.
const REST_S: f64 = 1.0;
/// A sensor that has something new at even times, and always the same step, is told from a display that rounds by being
/// quicker than this, seconds. Common practice, no source.
const SLOWEST_PACE_S: f64 = 0.34;

impl Repeats {
    fn of(time_s: &[f64], values: &[f64]) -> Self {
        let there = || time_s.iter().zip(values).enumerate().filter(|(_, (_, v))| v.is_finite());
        let place = there().map(|(at, _)| at).collect();
        let (time, value): (Vec<f64>, Vec<f64>) = there().map(|(_, (&t, &v))| (t, v)).unzip();
        let moves = |pair: &[f64]| matches!(pair, [a, b] if a != b);
        let first = value.windows(2).position(moves).map_or(0, |at| at + 1);
        let last = value.windows(2).rposition(moves).map_or(0, |at| at + 1);
        let count =
            value.get(first..=last).map_or(0, |part| part.windows(2).filter(|pair| !moves(pair)).count());
        Self { place, time, value, moving: (first, last), count }
    }

    /// At least this share of the samples where the channel moves are repeats.
    fn share_is(&self, least: f64) -> bool {
        let (first, last) = self.moving;
        last > first + 8 && self.count as f64 >= least * (last - first) as f64
    }

    /// The step of a display that rounds coarsely: while the channel moves it stands still half of the time, then goes on by
    /// one and the same step or, seldom, several at once. A sensor slower than the log stands still too, but moves by what
    /// came in meanwhile, or at even times.
    fn display_step(&self) -> Option<f64> {
        let mut sizes: Vec<f64> = Vec::new();
        let mut changes_s: Vec<f64> = Vec::new();
        for (at, pair) in self.value.windows(2).enumerate() {
            if let [a, b] = pair
                && a != b
            {
                sizes.push((b - a).abs());
                changes_s.push(self.time.get(at + 1).copied().unwrap_or(0.0));
            }
        }
        let step = median(&mut sizes)?;
        let odd = sizes.iter().filter(|s| ((**s / step) - (**s / step).round()).abs() > 0.05).count();
        let single = sizes.iter().filter(|s| ((**s / step) - 1.0).abs() < 1e-3).count();
        if sizes.len() < 4 || odd * 10 > sizes.len() || single * 4 < sizes.len() * 3 || !self.share_is(0.5) {
            return None;
        }
        let mut spans: Vec<f64> = changes_s.windows(2).filter_map(|w| Some(w.last()? - w.first()?)).collect();
        let span = median(&mut spans)?;
        let slack = 0.3 * usual_step_s(&self.time);
        let even = spans.iter().filter(|s| (**s - span).abs() <= slack).count();
        let at_pace = even * 10 >= spans.len() * 9 && span < SLOWEST_PACE_S;
        (!at_pace).then_some(step)
    }
}

/// Repeats at a sensor's own pace: a channel many of whose values equal the one before while others in between differ.
fn repeated(channel: Channel, time_s: &[f64], values: &[f64]) -> (Vec<f64>, usize) {
    let repeats = Repeats::of(time_s, values);
    let mut out = values.to_vec();
    if channel == Channel::Temperature || !repeats.share_is(0.4) || repeats.display_step().is_some() {
        return (out, 0);
    }
    let mut count = 0;
    let mut at = repeats.moving.0;
    for run in
        repeats.value.get(repeats.moving.0..=repeats.moving.1).unwrap_or_default().chunk_by(|a, b| a == b)
    {
        let places = repeats.place.get(at..at + run.len()).unwrap_or_default();
        let time = repeats.time.get(at..at + run.len()).unwrap_or_default();
        at += run.len();
        if time.last().zip(time.first()).is_none_or(|(last, first)| last - first >= REST_S) {
            continue;
        }
        for place in places.iter().skip(1) {
            if let Some(slot) = out.get_mut(*place) {
                *slot = f64::NAN;
                count += 1;
            }
        }
    }
    (out, count)
}

fn least_spike(channel: Channel) -> f64 {
    match channel {
        Channel::Pressure => 0.8,
        Channel::Flow | Channel::CupMass => 0.5,
        Channel::Temperature => 3.0,
    }
}

fn spikes(trace: &Trace) -> Outcome {
    every_channel(
        trace,
        |channel, values| {
            let (out, changed) = despike(values, least_spike(channel));
            (out, changed.len())
        },
        |n| say!("trace-clean-despiked", n = n),
    )
}

/// Cup mass read later by a fixed time: values at the old times by straight lines.
fn scale_lag(trace: &Trace, lag_s: f64) -> Outcome {
    let Some(mass) = trace.get(Channel::CupMass) else {
        return (None, 0, word!("trace-clean-no-mass").to_owned());
    };
    if !(lag_s > 0.0 && lag_s < 5.0) {
        return (None, 0, word!("trace-clean-nothing-to-do").to_owned());
    }
    let moved: Vec<f64> = trace
        .time_s()
        .iter()
        .map(|t| super::value_at(trace, Channel::CupMass, t + lag_s).unwrap_or(f64::NAN))
        .collect();
    let sentence = say!("trace-clean-moved", lag_s = figure(lag_s, 2));
    (with(trace, vec![(Channel::CupMass, moved)]), mass.len(), sentence)
}

/// m + τ·dm/dt undoes a first-order lag exactly; the slope is that of a line over a window about as long as τ.
fn unsmooth(trace: &Trace, tau_s: f64) -> Outcome {
    let Some(mass) = trace.get(Channel::CupMass) else {
        return (None, 0, word!("trace-clean-no-mass").to_owned());
    };
    if !(tau_s > 0.0 && tau_s < 5.0) {
        return (None, 0, word!("trace-clean-nothing-to-do").to_owned());
    }
    let half = (tau_s / 2.0).max(2.0 * usual_step_s(trace.time_s()));
    let slope = super::slope_at_points(trace.time_s(), mass, half);
    let out: Vec<f64> =
        mass.iter().zip(&slope).map(|(m, s)| if s.is_finite() { m + tau_s * s } else { *m }).collect();
    let n = (2.0 * half / usual_step_s(trace.time_s()).max(1e-3)).max(3.0);
    let gain = (1.0 + (tau_s * (12.0 / n).sqrt() / (2.0 * half)).powi(2)).sqrt();
    let sentence = say!("trace-clean-unsmoothed", tau_s = figure(tau_s, 2), gain = figure(gain, 1));
    (with(trace, vec![(Channel::CupMass, out)]), mass.len(), sentence)
}

/// A coarse display: where values stay on one step for several samples while the quantity moves, the reading is right in
/// the middle between two changes of step; between these anchors straight lines. Before the first and behind the last the
/// line goes on until it meets what was shown.
fn joined_steps(time_s: &[f64], values: &[f64]) -> (Vec<f64>, usize) {
    let repeats = Repeats::of(time_s, values);
    let mut out = values.to_vec();
    let Some(step) = repeats.display_step() else { return (out, 0) };
    // Changes of step: the true value crossed the border between the two steps there.
    let mut anchors: Vec<(f64, f64)> = Vec::new();
    for (value, time) in repeats.value.windows(2).zip(repeats.time.windows(2)) {
        if let ([a, b], [t0, t1]) = (value, time)
            && a != b
            && (b - a).abs() < 3.0 * step
        {
            anchors.push((0.5 * (t0 + t1), 0.5 * (a + b)));
        }
    }
    let line = |pair: Option<&[(f64, f64)]>, t: f64| match pair {
        Some([(t0, y0), (t1, y1)]) => Some(y0 + (y1 - y0) * (t - t0) / (t1 - t0)),
        _ => None,
    };
    let (first, last) = (anchors.first().copied(), anchors.last().copied());
    let mut count = 0;
    for ((&place, &t), &shown) in repeats.place.iter().zip(&repeats.time).zip(&repeats.value) {
        let after = anchors.partition_point(|anchor| anchor.0 <= t);
        let inside = after.clamp(1, anchors.len().saturating_sub(1).max(1));
        let Some(on_line) = line(anchors.get(inside - 1..=inside), t) else { continue };
        // Beyond the ends no further than to what was shown; never further from that than the display's rounding.
        let end = if after == 0 { first } else { last.filter(|_| after == anchors.len()) };
        let mended = match end {
            Some((_, y)) if (y - shown).abs() <= 1.5 * step => on_line.clamp(y.min(shown), y.max(shown)),
            Some(_) => shown,
            None => on_line,
        };
        let mended = mended.clamp(shown - 0.5 * step, shown + 0.5 * step);
        if let Some(slot) = out.get_mut(place) {
            count += usize::from(mended != shown);
            *slot = mended;
        }
    }
    (out, count)
}

/// A line through the cup's mass before the first drip, taken off everywhere; its slope only when it stands out of noise.
fn tare(trace: &Trace) -> Outcome {
    let Some(mass) = trace.get(Channel::CupMass) else {
        return (None, 0, word!("trace-clean-no-mass").to_owned());
    };
    let Some(drip) = super::find_events(trace).first_drip.filter(Event::is_seen) else {
        return (None, 0, word!("trace-clean-no-drip").to_owned());
    };
    let (clean, _) = despike(mass, 0.5);
    let until = drip.time_s - 2.0 * drip.sd_s - 0.2;
    let before: Vec<(f64, f64)> = trace
        .time_s()
        .iter()
        .zip(&clean)
        .filter(|(t, m)| **t < until && m.is_finite())
        .map(|(t, m)| (*t, *m))
        .collect();
    if before.len() < 5 {
        return (None, 0, word!("trace-clean-too-late").to_owned());
    }
    let n = before.len() as f64;
    let level = median(&mut before.iter().map(|p| p.1).collect::<Vec<f64>>()).unwrap_or(0.0);
    let centre = before.iter().map(|p| p.0).sum::<f64>() / n;
    let spread: f64 = before.iter().map(|p| (p.0 - centre).powi(2)).sum();
    let slope = before.iter().map(|p| (p.0 - centre) * (p.1 - level)).sum::<f64>() / spread.max(1e-9);
    let values: Vec<f64> = before.iter().map(|p| p.1).collect();
    let slope_sd = noise(&values).max(0.01) / spread.max(1e-9).sqrt();
    let slope = if slope.abs() > 3.0 * slope_sd && slope.abs() < 0.05 { slope } else { 0.0 };
    let out: Vec<f64> =
        mass.iter().zip(trace.time_s()).map(|(m, t)| m - level - slope * (t - centre)).collect();
    let sentence = if slope == 0.0 {
        say!("trace-clean-tared", level = rounded(Quantity::Yield, level, 2))
    } else {
        say!(
            "trace-clean-tared-drift",
            level = rounded(Quantity::Yield, level, 2),
            drift = rounded(Quantity::Yield, slope * 60.0, 2)
        )
    };
    (with(trace, vec![(Channel::CupMass, out)]), mass.len(), sentence)
}

fn flow_from_mass(trace: &Trace, recorded: &Trace) -> Outcome {
    if trace.get(Channel::Flow).is_some() {
        return (None, 0, word!("trace-clean-flow-recorded").to_owned());
    }
    let Some(flow) = derived_flow(trace) else { return (None, 0, word!("trace-clean-no-mass").to_owned()) };
    let mass = trace.get(Channel::CupMass).unwrap_or_default();
    let n = (2.0 * FLOW_HALF_WINDOW_S / own_step_s(trace.time_s(), mass).max(1e-3)).max(3.0);
    let gain = (12.0 / n).sqrt() / (2.0 * FLOW_HALF_WINDOW_S);
    // A display whose steps were joined has rounded all the same.
    let shown = recorded.get(Channel::CupMass).unwrap_or_default().iter().copied().filter(|v| v.is_finite());
    let sigma = noise(mass).max(rounding(&shown.collect::<Vec<f64>>()));
    let sentence = say!(
        "trace-clean-flow",
        window_s = figure(2.0 * FLOW_HALF_WINDOW_S, 1),
        gain = figure(gain, 2),
        here = figure(gain * sigma, 3)
    );
    let count = flow.iter().filter(|v| v.is_finite()).count();
    (with(trace, vec![(Channel::Flow, flow)]), count, sentence)
}

/// Trapezoids; over missing samples the line between neighbours.
fn mass_from_flow(trace: &Trace) -> Outcome {
    if trace.get(Channel::CupMass).is_some() {
        return (None, 0, word!("trace-clean-mass-recorded").to_owned());
    }
    let Some(flow) = trace.get(Channel::Flow) else {
        return (None, 0, word!("trace-clean-no-flow").to_owned());
    };
    let sigma = noise(flow);
    let step = usual_step_s(trace.time_s()).max(1e-3);
    let (mut sum, mut before) = (0.0, None::<(f64, f64)>);
    let mass: Vec<f64> = trace
        .time_s()
        .iter()
        .zip(flow)
        .map(|(&t, &q)| {
            if !q.is_finite() {
                return f64::NAN;
            }
            if let Some((t0, q0)) = before {
                sum += 0.5 * (q + q0) * (t - t0);
            }
            before = Some((t, q));
            sum
        })
        .collect();
    let error = sigma * (trace.duration_s() * step).sqrt();
    let sentence = say!(
        "trace-clean-mass",
        sum = rounded(Quantity::Yield, sum, 1),
        error = rounded(Quantity::Yield, error, 2),
        percent = rounded(Quantity::Yield, sum.abs() / 100.0, 1)
    );
    (with(trace, vec![(Channel::CupMass, mass)]), flow.len(), sentence)
}
