//! Cleaning in named steps, each with a sentence on what it did. Nothing is cleaned silently: events and measures take
//! their own robust views of raw samples; these steps are for whoever wants mended numbers.

use crate::domain::{Channel, Trace};

use super::events::Event;
use super::filter::{FLOW_HALF_WINDOW_S, derived_flow, despike, median, noise};
use super::gaps::{gaps, usual_step_s};
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

/// The usual steps, in the order in which they make sense. Lag and smoothing are left out: they need a known scale.
pub const USUAL: [Step; 6] =
    [Step::Dropped, Step::Repeated, Step::Spikes, Step::Quantisation, Step::TareDrift, Step::FlowFromMass];

/// Carries out steps in the order given and reports each; a step that finds nothing to do says so.
#[must_use]
pub fn clean(trace: &Trace, steps: &[Step]) -> (Trace, Vec<Cleaned>) {
    let mut now = trace.clone();
    let mut report = Vec::with_capacity(steps.len());
    for step in steps {
        let (next, changed, sentence) = carry_out(&now, *step);
        now = next.unwrap_or(now);
        report.push(Cleaned { step: *step, changed, sentence });
    }
    (now, report)
}

type Outcome = (Option<Trace>, usize, String);

fn carry_out(trace: &Trace, step: Step) -> Outcome {
    match step {
        Step::Dropped => dropped(trace),
        Step::Repeated => every_channel(trace, repeated, |n| say!("trace-clean-repeated", n = n)),
        Step::Spikes => spikes(trace),
        Step::ScaleLag(lag_s) => scale_lag(trace, lag_s),
        Step::ScaleSmoothing(tau_s) => unsmooth(trace, tau_s),
        Step::Quantisation => {
            every_channel(trace, |_, v| joined_steps(v), |n| say!("trace-clean-joined", n = n))
        }
        Step::TareDrift => tare(trace),
        Step::FlowFromMass => flow_from_mass(trace),
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

/// Repeats at a sensor's own pace: a channel most of whose values equal the one before while others in between differ.
fn repeated(channel: Channel, values: &[f64]) -> (Vec<f64>, usize) {
    let same = |at: usize| at > 0 && values.get(at) == values.get(at - 1);
    let last = values.len().saturating_sub(1);
    let (first_move, last_move) = (
        (1..values.len()).find(|at| !same(*at)).unwrap_or(last),
        (1..values.len()).rev().find(|at| !same(*at)).unwrap_or(0),
    );
    if last_move <= first_move + 8 || channel == Channel::Temperature {
        return (values.to_vec(), 0);
    }
    // Only where the values move: a dry scale repeats because nothing happens.
    let moving = first_move..=last_move;
    let repeats = moving.clone().filter(|at| same(*at)).count();
    if repeats * 10 < (last_move - first_move) * 4 {
        return (values.to_vec(), 0);
    }
    let mut count = 0;
    let out = values
        .iter()
        .enumerate()
        .map(|(at, v)| {
            // Runs longer than a second's worth of any sensor are rest, not pace.
            let run = (0..12).take_while(|back| at >= *back && same(at - back)).count();
            if moving.contains(&at) && (1..12).contains(&run) {
                count += 1;
                f64::NAN
            } else {
                *v
            }
        })
        .collect();
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
/// the middle between two changes of step; between these anchors straight lines.
fn joined_steps(values: &[f64]) -> (Vec<f64>, usize) {
    let mut steps: Vec<f64> = values
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] if a != b && a.is_finite() && b.is_finite() => Some((b - a).abs()),
            _ => None,
        })
        .collect();
    let same = values.windows(2).filter(|pair| matches!(pair, [a, b] if a == b)).count();
    let Some(step) = median(&mut steps) else { return (values.to_vec(), 0) };
    // Only a display whose step stands well above the noise, and which stands still at least half of the time.
    let odd = steps.iter().filter(|s| ((**s / step) - (**s / step).round()).abs() > 0.05).count();
    if same * 2 < values.len() || odd * 10 > steps.len() || steps.len() < 4 {
        return (values.to_vec(), 0);
    }
    // Changes of step: the true value crossed the border between the two steps there.
    let mut anchors: Vec<(f64, f64)> = Vec::new();
    for (at, pair) in values.windows(2).enumerate() {
        if let [a, b] = pair
            && a != b
            && a.is_finite()
            && b.is_finite()
            && (b - a).abs() < 3.0 * step
        {
            anchors.push((at as f64 + 0.5, 0.5 * (a + b)));
        }
    }
    let mut out = values.to_vec();
    let mut count = 0;
    for pair in anchors.windows(2) {
        let [(x0, y0), (x1, y1)] = pair else { continue };
        for at in (x0.ceil() as usize)..=(x1.floor() as usize) {
            if let Some(slot) = out.get_mut(at).filter(|v| v.is_finite()) {
                let mended = y0 + (y1 - y0) * (at as f64 - x0) / (x1 - x0);
                // Never further from what was shown than the display's rounding.
                let mended = mended.clamp(*slot - 0.5 * step, *slot + 0.5 * step);
                count += usize::from(mended != *slot);
                *slot = mended;
            }
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

fn flow_from_mass(trace: &Trace) -> Outcome {
    if trace.get(Channel::Flow).is_some() {
        return (None, 0, word!("trace-clean-flow-recorded").to_owned());
    }
    let Some(flow) = derived_flow(trace) else { return (None, 0, word!("trace-clean-no-mass").to_owned()) };
    let n = (2.0 * FLOW_HALF_WINDOW_S / usual_step_s(trace.time_s()).max(1e-3)).max(3.0);
    let gain = (12.0 / n).sqrt() / (2.0 * FLOW_HALF_WINDOW_S);
    let sigma = trace.get(Channel::CupMass).map_or(0.0, noise);
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
