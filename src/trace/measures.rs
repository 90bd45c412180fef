//! What an expert reads off a trace: resistance and permeability, pressure, flow, water balance, temperature, and signs
//! of channelling; each with an uncertainty and a sentence.

use crate::domain::{Channel, Trace};
use crate::units::{Quantity, degrees, figure, rounded};

use super::channels::{ChannelSign, sudden_falls};
use super::events::{Event, Events, Instruments};
use super::filter::{FLOW_HALF_WINDOW_S, despike, median, noise, quantile};
use super::overlay::value_at;
use super::resistance::{
    LEAST_FLOW_G_S, Outflow, ResistanceCurve, Setup, mean_at_points, outflow, resistance, running,
};

/// What a measure is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureKind {
    /// Highest pressure, bar.
    PeakPressure,
    /// Mean pressure from first drip to pump off, bar.
    MeanPressure,
    /// Mean flow from first drip to pump off, g/s.
    MeanFlow,
    /// Flow over the last three seconds, g/s.
    EndFlow,
    /// Resistance in the middle of the pull, bar s/ml.
    Resistance,
    /// From the first drip until resistance keeps to within [`SETTLED_WITHIN`] of what it is half way, seconds.
    Settling,
    /// Change of resistance over the second half of the pull, percent of its middle in ten seconds.
    ResistanceSlope,
    /// Permeability of the bed in the middle of the pull, 10⁻¹⁵ m².
    Permeability,
    /// Liquid per bed volume behind the wetting front, from first drip and flow.
    WetShare,
    /// Sudden falls of resistance.
    Channels,
    /// Water that went in and did not come out, grams.
    WaterKept,
    /// Mean temperature less what was asked for, K.
    TemperatureError,
    /// Spread of temperature from first drip to pump off (5 to 95 %), K.
    TemperatureSwing,
    /// Flow at the end over flow at the middle.
    FlowGain,
}

/// Share of its value half way within which resistance counts as settled.
pub const SETTLED_WITHIN: f64 = 0.15;

/// Fewest rows of resistance, or of flow, by which it can be said that nothing fell suddenly.
const LEAST_ROWS: usize = 5;

/// Share of true channels that is missed on simulated pulls (`cargo bench --bench trace -- accuracy` counts them).
const MISSED_CHANNELS: f64 = 0.1;

/// One number read off a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// What it is about.
    pub kind: MeasureKind,
    /// The number, in the unit its kind names.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Unit as text.
    pub unit: &'static str,
    /// What it says, for a person.
    pub sentence: String,
}

/// Everything read off a trace.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measures {
    /// Numbers, in the order of [`MeasureKind`]; only those that the trace can give.
    pub list: Vec<Measure>,
    /// Resistance along the pull.
    pub resistance: Option<ResistanceCurve>,
    /// Sudden falls of resistance (of flow's inverse, when pressure was not recorded).
    pub channels: Vec<ChannelSign>,
}

impl Measures {
    /// The measure of a kind.
    #[must_use]
    pub fn get(&self, kind: MeasureKind) -> Option<&Measure> {
        self.list.iter().find(|measure| measure.kind == kind)
    }
}

/// Reads everything off a trace that it can give.
#[must_use]
pub fn measure(trace: &Trace, events: &Events, setup: &Setup, instruments: &Instruments) -> Measures {
    let mut list = Vec::new();
    let mut push = |kind, value: f64, sd: f64, unit, sentence: String| {
        if value.is_finite() && sd.is_finite() {
            list.push(Measure { kind, value, sd, unit, sentence });
        }
    };
    let part = running(trace, events);
    let (from, to) = part.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
    let within = |channel: Channel, least: f64| -> Option<(Vec<f64>, f64)> {
        let (clean, _) = despike(trace.get(channel)?, least);
        let sigma = noise(&clean);
        let values: Vec<f64> = trace
            .time_s()
            .iter()
            .zip(&clean)
            .filter(|(t, v)| **t >= from && **t <= to && v.is_finite())
            .map(|(_, v)| *v)
            .collect();
        (values.len() >= 3).then_some((values, sigma))
    };
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;

    if let Some(pressure) = trace.get(Channel::Pressure) {
        let (clean, _) = despike(pressure, 0.8);
        let smooth = mean_at_points(trace.time_s(), &clean, 0.25);
        let peak = smooth.iter().copied().filter(|v| v.is_finite()).fold(f64::NEG_INFINITY, f64::max);
        let sd = noise(&clean);
        push(
            MeasureKind::PeakPressure,
            peak,
            sd,
            "bar",
            say!("trace-measures-peak-pressure", pressure = rounded(Quantity::Pressure, peak, 1)),
        );
    }
    if let Some((values, sigma)) = within(Channel::Pressure, 0.8) {
        let (m, n) = (mean(&values), values.len() as f64);
        push(
            MeasureKind::MeanPressure,
            m,
            sigma / n.sqrt(),
            "bar",
            say!("trace-measures-mean-pressure", pressure = rounded(Quantity::Pressure, m, 1)),
        );
    }
    let out = outflow(trace, events, instruments);
    if let (Some(out), Some((from, to))) = (&out, part) {
        let flows = |a: f64, b: f64| -> Vec<f64> {
            let pairs = trace.time_s().iter().zip(&out.flow);
            pairs.filter(|(t, q)| **t >= a && **t <= b && q.is_finite()).map(|(_, q)| *q).collect()
        };
        let all = flows(from, to);
        if !all.is_empty() {
            let m = mean(&all);
            let windows = ((to - from) / (2.0 * FLOW_HALF_WINDOW_S)).max(1.0);
            let text = say!("trace-measures-mean-flow", flow = figure(m, 1));
            push(MeasureKind::MeanFlow, m, out.sd / windows.sqrt(), "g/s", text);
        }
        let late = flows(to - 3.0, to - 0.5);
        let middle = flows(0.5 * (from + to) - 1.5, 0.5 * (from + to) + 1.5);
        if !late.is_empty() {
            let m = mean(&late);
            push(
                MeasureKind::EndFlow,
                m,
                out.sd / 1.4,
                "g/s",
                say!("trace-measures-end-flow", flow = figure(m, 1)),
            );
            if !middle.is_empty() && mean(&middle) > LEAST_FLOW_G_S {
                let gain = m / mean(&middle);
                let text = match gain {
                    g if g > 1.5 => say!("trace-measures-flow-grows", gain = figure(g, 1)),
                    g if g < 0.8 => word!("trace-measures-flow-falls").to_owned(),
                    _ => word!("trace-measures-flow-keeps").to_owned(),
                };
                push(MeasureKind::FlowGain, gain, gain * out.sd / m.max(LEAST_FLOW_G_S), "", text);
            }
        }
    }
    let curve = resistance(trace, events, setup, instruments);
    if let (Some(curve), Some((from, to))) = (&curve, part) {
        let middle = 0.5 * (from + to);
        let width = (0.15 * (to - from)).max(1.0);
        if let Some((value, sd)) = curve.median_between(middle - width, middle + width) {
            let text = say!("trace-measures-resistance", value = figure(value, 1));
            push(MeasureKind::Resistance, value, sd, "bar s/ml", text);
            if let Some((after, sd)) = settling(curve, from, middle, value) {
                let text = if from + after > middle - 1.0 {
                    word!("trace-measures-unsettled").to_owned()
                } else {
                    say!("trace-measures-settled", after_s = figure(after, 1))
                };
                push(MeasureKind::Settling, after, sd, "s", text);
            }
            let (slope, slope_sd) = slope_of_half(curve, middle, to);
            let share = 100.0 * slope * 10.0 / value;
            let text = match share {
                s if s > 8.0 => say!("trace-measures-late-rise", percent = figure(s, 0)),
                s if s < -30.0 => say!("trace-measures-late-collapse", percent = figure(-s, 0)),
                s if s < -8.0 => say!("trace-measures-late-fall", percent = figure(-s, 0)),
                _ => word!("trace-measures-late-same").to_owned(),
            };
            push(MeasureKind::ResistanceSlope, share, 100.0 * slope_sd * 10.0 / value, "%/10 s", text);
            if let Some((area, depth)) = setup.bed() {
                // k = μ L / (A R), R in Pa s/m³ (1 bar s/ml is 1e11).
                let k = setup.viscosity_pa_s * depth / (area * value * 1e11) * 1e15;
                // The depth of a tamped bed is known to about a tenth (common practice, no source).
                let sd = k * ((sd / value).powi(2) + 0.01).sqrt();
                push(
                    MeasureKind::Permeability,
                    k,
                    sd,
                    "10⁻¹⁵ m²",
                    say!("trace-measures-permeability", value = figure(k, 1)),
                );
            }
        }
    }
    if let Some((value, sd, text)) = wet_share(events, setup, out.as_ref(), trace) {
        push(MeasureKind::WetShare, value, sd, "", text);
    }
    // Nothing where too little could be read to tell.
    let signs = match (&curve, &out, part) {
        (Some(curve), _, Some(part)) => {
            let log: Vec<f64> = curve.bar_s_ml.iter().map(|r| libm::log(*r)).collect();
            let sd: Vec<f64> = curve.bar_s_ml.iter().zip(&curve.sd).map(|(r, s)| s / r).collect();
            (log.len() >= LEAST_ROWS).then(|| sudden_falls(&curve.time_s, &log, &sd, part, 1.0))
        }
        (None, Some(out), Some(part)) => {
            let rows: Vec<(f64, f64)> = trace
                .time_s()
                .iter()
                .zip(&out.flow)
                .filter(|(t, q)| **t >= part.0 && **t <= part.1 - FLOW_HALF_WINDOW_S && **q >= LEAST_FLOW_G_S)
                .map(|(t, q)| (*t, *q))
                .collect();
            let time: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let log: Vec<f64> = rows.iter().map(|r| -libm::log(r.1)).collect();
            let sd: Vec<f64> = rows.iter().map(|r| out.sd / r.1).collect();
            (log.len() >= LEAST_ROWS).then(|| sudden_falls(&time, &log, &sd, part, 0.7))
        }
        _ => None,
    };
    let seen = signs.is_some();
    let channels = signs.unwrap_or_default();
    if seen {
        let text = match channels.as_slice() {
            [] => word!("trace-measures-no-channel").to_owned(),
            [one] => {
                // The fall is that of the logarithm, which stands out by `strength` standard deviations.
                let doubt = (100.0 * one.left * -libm::log(one.left) / one.strength).max(1.0);
                say!(
                    "trace-measures-one-channel",
                    percent = figure(100.0 * (1.0 - one.left), 0),
                    doubt = figure(doubt, 0),
                    at_s = figure(one.time_s, 1)
                )
            }
            many => say!("trace-measures-channels", n = many.len()),
        };
        // Each that was found may be none, and one that is there may have been missed.
        let doubts = channels.iter().map(|sign| sign.confidence * (1.0 - sign.confidence));
        let sd = (doubts.sum::<f64>() + MISSED_CHANNELS * (1.0 - MISSED_CHANNELS)).sqrt();
        push(MeasureKind::Channels, channels.len() as f64, sd, "", text);
    }
    if let Some((kept, sd)) = water_kept(trace, events, out.as_ref()) {
        push(
            MeasureKind::WaterKept,
            kept,
            sd,
            "g",
            say!("trace-measures-water-kept", water = rounded(Quantity::Yield, kept, 0)),
        );
    }
    if let Some((values, sigma)) = within(Channel::Temperature, 3.0) {
        let m = mean(&values);
        if let Some(target) = setup.target_c {
            let off = m - target;
            let text = if off.abs() < 1.0 {
                say!("trace-measures-temperature-kept", target = rounded(Quantity::Temperature, target, 0))
            } else {
                let off = degrees(off.abs(), 1);
                if m > target {
                    say!("trace-measures-hotter", off = off)
                } else {
                    say!("trace-measures-cooler", off = off)
                }
            };
            push(MeasureKind::TemperatureError, off, sigma / (values.len() as f64).sqrt() + 0.3, "K", text);
        }
        let mut sorted = values;
        let (low, high) = (quantile(&mut sorted, 0.05), quantile(&mut sorted, 0.95));
        if let (Some(low), Some(high)) = (low, high) {
            let swing = high - low;
            let text = say!("trace-measures-temperature-swing", swing = degrees(swing, 1));
            push(MeasureKind::TemperatureSwing, swing, sigma, "K", text);
        }
    }
    list.sort_by_key(|measure| measure.kind);
    Measures { list, resistance: curve, channels }
}

/// Seconds from the first drip until resistance stays near `value`, up to the middle, with the standard deviation of
/// that moment: a flow of a window's width cannot tell closer, and noise moves the crossing by its share of the slope.
fn settling(curve: &ResistanceCurve, from: f64, middle: f64, value: f64) -> Option<(f64, f64)> {
    let rows: Vec<(f64, f64, f64)> = curve
        .time_s
        .iter()
        .zip(&curve.bar_s_ml)
        .zip(&curve.sd)
        .map(|((t, r), sd)| (*t, *r, *sd))
        .filter(|row| row.0 <= middle)
        .collect();
    let last_off = rows.iter().rposition(|row| (row.1 / value - 1.0).abs() > SETTLED_WITHIN);
    let at = last_off.map_or(0, |at| (at + 1).min(rows.len().saturating_sub(1)));
    let (t, r, sd) = *rows.get(at)?;
    let window = FLOW_HALF_WINDOW_S / 3.0_f64.sqrt();
    let earlier = rows.iter().take(at).rev().find(|row| t - row.0 >= FLOW_HALF_WINDOW_S);
    let slope = earlier.map_or(0.0, |row| (r - row.1).abs() / (t - row.0));
    let by_noise = if slope > 0.0 { (sd / slope).min(0.5 * (middle - from)) } else { 0.0 };
    Some((t - from, window.hypot(by_noise)))
}

/// Theil–Sen slope of resistance over the second half, per second, with a standard deviation from the spread of slopes.
fn slope_of_half(curve: &ResistanceCurve, from: f64, to: f64) -> (f64, f64) {
    let points: Vec<(f64, f64)> = curve
        .time_s
        .iter()
        .copied()
        .zip(curve.bar_s_ml.iter().copied())
        .filter(|p| p.0 >= from && p.0 <= to)
        .collect();
    let stride = (points.len() / 60).max(1);
    let few: Vec<(f64, f64)> = points.into_iter().step_by(stride).collect();
    let mut slopes = Vec::new();
    for (at, a) in few.iter().enumerate() {
        for b in few.iter().skip(at + 1) {
            if b.0 - a.0 > 1.0 {
                slopes.push((b.1 - a.1) / (b.0 - a.0));
            }
        }
    }
    let Some(middle) = median(&mut slopes) else { return (0.0, f64::INFINITY) };
    let spread =
        quantile(&mut slopes, 0.84).unwrap_or(middle) - quantile(&mut slopes, 0.16).unwrap_or(middle);
    (middle, 0.5 * spread / (few.len() as f64 / 4.0).max(1.0).sqrt())
}

/// Liquid per bed volume behind the front: t_first = ε L A/(2 Q) for a sharp front at constant pressure and permeability
/// (Darcy), so ε = 2 Q t_first/(A L); 0.3–0.6 for an even bed (common practice), less when water broke through early.
fn wet_share(
    events: &Events,
    setup: &Setup,
    out: Option<&Outflow>,
    trace: &Trace,
) -> Option<(f64, f64, String)> {
    let (area, depth) = setup.bed()?;
    let first = events.first_drip?;
    let begin = events.filled.or(events.pump_on).filter(Event::is_seen)?;
    let wetting = first.time_s - begin.time_s;
    let out = out?;
    // The first flow that is steady enough: two to four seconds after the first drip.
    let mut flows: Vec<f64> = trace
        .time_s()
        .iter()
        .zip(&out.flow)
        .filter(|(t, q)| **t >= first.time_s + 2.0 && **t <= first.time_s + 4.0 && q.is_finite())
        .map(|(_, q)| *q)
        .collect();
    let flow = median(&mut flows).filter(|q| *q > LEAST_FLOW_G_S)?;
    let share = 2.0 * (flow / setup.density_g_ml * 1e-6) * wetting / (area * depth);
    let sd = share
        * (((first.sd_s.powi(2) + begin.sd_s.powi(2)) / wetting.max(0.5).powi(2))
            + 0.01
            + (out.sd / flow).powi(2))
        .sqrt();
    let text = if share < 0.2 {
        say!("trace-measures-wet-early", share = figure(share, 2))
    } else {
        say!("trace-measures-wet-evenly", share = figure(share, 2))
    };
    Some((share, sd, text))
}

/// Water in less drink out, when a flow meter on the water side and a scale are both there.
fn water_kept(trace: &Trace, events: &Events, out: Option<&Outflow>) -> Option<(f64, f64)> {
    let flow = trace.get(Channel::Flow)?;
    trace.get(Channel::CupMass)?;
    let (on, drip) = (events.pump_on?, events.first_drip?);
    // Only a meter on the water side runs before the first drip.
    let early = value_at(trace, Channel::Flow, 0.5 * (on.time_s + drip.time_s))?;
    if early < 0.3 {
        return None;
    }
    let until = events.pump_off.or(events.end)?.time_s;
    let (clean, _) = despike(flow, 0.5);
    let mut sum = 0.0;
    let mut before: Option<(f64, f64)> = None;
    for (&t, &q) in
        trace.time_s().iter().zip(&clean).filter(|(t, q)| **t >= on.time_s && **t <= until && q.is_finite())
    {
        if let Some((t0, q0)) = before {
            sum += 0.5 * (q + q0) * (t - t0);
        }
        before = Some((t, q));
    }
    let cup = out?
        .mass
        .iter()
        .zip(trace.time_s())
        .filter(|(m, t)| m.is_finite() && **t <= until)
        .map(|(m, _)| *m)
        .next_back()?;
    // A flow meter is good to about three percent (common practice, no source).
    Some((sum - cup, 0.03 * sum + 0.3))
}
