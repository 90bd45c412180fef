//! What an expert reads off a trace: resistance and permeability, pressure, flow, water balance, temperature, and signs
//! of channelling; each with an uncertainty and a sentence.

use crate::domain::{Channel, Trace};

use super::events::{Events, Instruments};
use super::filter::{FLOW_HALF_WINDOW_S, despike, median, noise, quantile, slope_at_points};
use super::gaps::usual_step_s;
use super::overlay::value_at;

/// What is known of the pull beside its trace. The default is water at 93 °C and nothing else.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// Dry dose, grams.
    pub dose_g: Option<f64>,
    /// Inner diameter of the basket at the bed, millimetres.
    pub basket_diameter_mm: Option<f64>,
    /// Temperature asked for, °C.
    pub target_c: Option<f64>,
    /// Density of the drink as it falls, g/ml. Default 0.963, water at 93 °C (IAPWS SR6-08).
    pub density_g_ml: f64,
    /// Viscosity of the water in the bed, Pa s. Default 3.04e-4, water at 93 °C (IAPWS SR6-08, Eq. 7).
    pub viscosity_pa_s: f64,
    /// What the machine loses between the place of the pressure reading and the bed, bar: `.0 + .1 q + .2 q²`, q in g/s.
    pub loss_bar: (f64, f64, f64),
    /// Bulk density of the tamped dry bed, kg/m³; sets the bed's depth from dose and basket. Default 400 (common
    /// practice, no source).
    pub bulk_density_kg_m3: f64,
}

impl Default for Setup {
    fn default() -> Self {
        Self {
            dose_g: None,
            basket_diameter_mm: None,
            target_c: None,
            density_g_ml: 0.963,
            viscosity_pa_s: 3.04e-4,
            loss_bar: (0.0, 0.0, 0.0),
            bulk_density_kg_m3: 400.0,
        }
    }
}

impl Setup {
    /// Area (m²) and depth (m) of the bed, where dose and basket are known.
    #[must_use]
    pub fn bed(&self) -> Option<(f64, f64)> {
        let radius_m = self.basket_diameter_mm.filter(|d| *d > 0.0)? / 2000.0;
        let area = std::f64::consts::PI * radius_m * radius_m;
        let depth = self.dose_g.filter(|d| *d > 0.0)? / 1000.0 / (self.bulk_density_kg_m3 * area);
        Some((area, depth))
    }
}

/// Resistance of the puck along a pull. All vectors have one length and hold finite numbers only.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ResistanceCurve {
    /// Time on the trace's own clock, seconds.
    pub time_s: Vec<f64>,
    /// Mass in the cup then, grams (NaN never; without a scale the flow summed up).
    pub mass_g: Vec<f64>,
    /// Bed pressure over flow, bar s/ml.
    pub bar_s_ml: Vec<f64>,
    /// Standard deviation of each value from the noise of the instruments.
    pub sd: Vec<f64>,
    /// Flow, g/s, as used.
    pub flow_g_s: Vec<f64>,
}

impl ResistanceCurve {
    /// Median over a part of the times, with its standard deviation; `None` when nothing lies there.
    #[must_use]
    pub fn median_between(&self, from_s: f64, to_s: f64) -> Option<(f64, f64)> {
        let inside = |t: &f64| *t >= from_s && *t <= to_s;
        let mut values: Vec<f64> =
            self.time_s.iter().zip(&self.bar_s_ml).filter(|(t, _)| inside(t)).map(|(_, r)| *r).collect();
        let mut sds: Vec<f64> =
            self.time_s.iter().zip(&self.sd).filter(|(t, _)| inside(t)).map(|(_, s)| *s).collect();
        let value = median(&mut values)?;
        // Neighbouring values share most of their window: about one independent value a window.
        let independent = ((to_s - from_s) / (2.0 * FLOW_HALF_WINDOW_S)).max(1.0);
        Some((value, median(&mut sds)? * 1.253 / independent.sqrt()))
    }

    /// Resistance when the cup held so many grams (interpolated); `None` outside.
    #[must_use]
    pub fn at_mass(&self, grams: f64) -> Option<f64> {
        let at = self.mass_g.iter().position(|m| *m >= grams)?;
        let before = at.checked_sub(1)?;
        let (m0, m1) = (*self.mass_g.get(before)?, *self.mass_g.get(at)?);
        let (r0, r1) = (*self.bar_s_ml.get(before)?, *self.bar_s_ml.get(at)?);
        Some(if m1 > m0 { r0 + (r1 - r0) * (grams - m0) / (m1 - m0) } else { r1 })
    }
}

/// A sudden fall of resistance: water has found an easier way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelSign {
    /// When, on the trace's own clock, seconds.
    pub time_s: f64,
    /// Resistance afterwards over before, 0…1.
    pub left: f64,
    /// How many standard deviations the fall stands out.
    pub strength: f64,
    /// How sure, 0…1.
    pub confidence: f64,
}

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

/// Least flow at which resistance is formed, g/s.
const LEAST_FLOW_G_S: f64 = 0.15;

/// Flow into the cup with the scale's lag taken off, the cup's mass, and the flow's standard deviation.
struct Outflow {
    flow: Vec<f64>,
    mass: Vec<f64>,
    sd: f64,
}

fn outflow(trace: &Trace, events: &Events, instruments: &Instruments) -> Option<Outflow> {
    let time = trace.time_s();
    let step = usual_step_s(time).max(1e-3);
    if let Some(mass) = trace.get(Channel::CupMass) {
        let (clean, _) = despike(mass, 0.5);
        let earlier: Vec<f64> = time.iter().map(|t| t - instruments.scale_lag_s).collect();
        let flow = slope_at_points(&earlier, &clean, FLOW_HALF_WINDOW_S);
        let n = (2.0 * FLOW_HALF_WINDOW_S / step.max(0.1)).max(3.0);
        let sd = noise(&clean).max(0.01) * (12.0 / n).sqrt() / (2.0 * FLOW_HALF_WINDOW_S);
        let at = |values: &[f64], t: f64| at_time(&earlier, values, t);
        let tare = events.first_drip.and_then(|e| at(&clean, e.time_s - 0.3)).unwrap_or(0.0);
        return Some(Outflow {
            flow: time.iter().map(|t| at(&flow, *t).unwrap_or(f64::NAN)).collect(),
            mass: time.iter().map(|t| at(&clean, *t).map_or(f64::NAN, |m| m - tare)).collect(),
            sd,
        });
    }
    let flow = trace.get(Channel::Flow)?;
    let (clean, _) = despike(flow, 0.5);
    let smooth = mean_at_points(time, &clean, FLOW_HALF_WINDOW_S);
    let mut sum = 0.0;
    let mut mass = Vec::with_capacity(time.len());
    let mut before: Option<(f64, f64)> = None;
    for (&t, &q) in time.iter().zip(&smooth) {
        if q.is_finite() {
            if let Some((t0, q0)) = before {
                sum += 0.5 * (q + q0) * (t - t0);
            }
            before = Some((t, q));
        }
        mass.push(sum);
    }
    let n = (2.0 * FLOW_HALF_WINDOW_S / step).max(1.0);
    Some(Outflow { flow: smooth, mass, sd: noise(&clean).max(0.005) / n.sqrt() })
}

/// A series' value at a time by a straight line between finite neighbours.
fn at_time(time: &[f64], values: &[f64], t: f64) -> Option<f64> {
    let after = time.partition_point(|x| *x < t);
    let (t1, v1) = (*time.get(after)?, *values.get(after)?);
    let Some(before) = after.checked_sub(1) else { return (t1 == t && v1.is_finite()).then_some(v1) };
    let (t0, v0) = (*time.get(before)?, *values.get(before)?);
    let value = v0 + (v1 - v0) * (t - t0) / (t1 - t0);
    value.is_finite().then_some(value)
}

/// Mean of the finite samples within `half_s` of each sample; NaN where there is none.
pub(crate) fn mean_at_points(time: &[f64], values: &[f64], half_s: f64) -> Vec<f64> {
    let (mut from, mut to) = (0, 0);
    time.iter()
        .map(|&now| {
            while time.get(from).is_some_and(|&t| t < now - half_s) {
                from += 1;
            }
            while time.get(to).is_some_and(|&t| t <= now + half_s) {
                to += 1;
            }
            let (mut sum, mut n) = (0.0, 0.0);
            for v in values.get(from..to).unwrap_or_default().iter().filter(|v| v.is_finite()) {
                sum += v;
                n += 1.0;
            }
            if n > 0.0 { sum / n } else { f64::NAN }
        })
        .collect()
}

/// The part of a pull in which water runs through: first drip to pump off (or the end of the trace).
fn running(trace: &Trace, events: &Events) -> Option<(f64, f64)> {
    let from = events.first_drip?.time_s;
    let last = *trace.time_s().last()?;
    let to = events.pump_off.or(events.end).map_or(last, |e| e.time_s).min(last);
    (to - from > 2.0).then_some((from, to))
}

/// Resistance along a pull: bed pressure over flow into the cup (Darcy; the definition of Waszkiewicz et al., Phys.
/// Fluids 38, 063113, 2026: bed pressure is line pressure less the machine's own loss at that flow). Flow is the local
/// slope of cup mass over ±0.75 s, pressure is averaged over the same window. `None` without pressure, or when no water
/// runs, or less than 0.15 g/s for most of the time.
#[must_use]
pub fn resistance(
    trace: &Trace,
    events: &Events,
    setup: &Setup,
    instruments: &Instruments,
) -> Option<ResistanceCurve> {
    let out = outflow(trace, events, instruments)?;
    let (clean, _) = despike(trace.get(Channel::Pressure)?, 0.8);
    let pressure = mean_at_points(trace.time_s(), &clean, FLOW_HALF_WINDOW_S);
    let (from, to) = running(trace, events)?;
    let n = (2.0 * FLOW_HALF_WINDOW_S / usual_step_s(trace.time_s()).max(1e-3)).max(1.0);
    let pressure_sd = noise(&clean) / n.sqrt();
    let mut curve = ResistanceCurve::default();
    let mut looked_at = 0usize;
    for (at, &t) in trace.time_s().iter().enumerate() {
        if t < from + 0.5 * FLOW_HALF_WINDOW_S || t > to - FLOW_HALF_WINDOW_S {
            continue;
        }
        let (Some(&p), Some(&q), Some(&m)) = (pressure.get(at), out.flow.get(at), out.mass.get(at)) else {
            continue;
        };
        looked_at += usize::from(q.is_finite());
        let bed = p - (setup.loss_bar.0 + q * (setup.loss_bar.1 + q * setup.loss_bar.2));
        if !(q >= LEAST_FLOW_G_S && bed > 0.05 && m.is_finite()) {
            continue;
        }
        let value = bed * setup.density_g_ml / q;
        curve.time_s.push(t);
        curve.mass_g.push(m);
        curve.bar_s_ml.push(value);
        curve.sd.push(value * ((out.sd / q).powi(2) + (pressure_sd / bed).powi(2)).sqrt());
        curve.flow_g_s.push(q);
    }
    // Of a flow that hardly runs only the larger half would be kept, which would make the puck look too open.
    (curve.time_s.len() >= 5 && curve.time_s.len() * 10 >= looked_at * 6).then_some(curve)
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
        push(MeasureKind::PeakPressure, peak, sd, "bar", format!("Pressure peaks at {peak:.1} bar."));
    }
    if let Some((values, sigma)) = within(Channel::Pressure, 0.8) {
        let (m, n) = (mean(&values), values.len() as f64);
        push(
            MeasureKind::MeanPressure,
            m,
            sigma / n.sqrt(),
            "bar",
            format!("Pressure is {m:.1} bar on average while the cup fills."),
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
            let text = format!("{m:.1} g/s fall into the cup on average.");
            push(MeasureKind::MeanFlow, m, out.sd / windows.sqrt(), "g/s", text);
        }
        let late = flows(to - 3.0, to - 0.5);
        let middle = flows(0.5 * (from + to) - 1.5, 0.5 * (from + to) + 1.5);
        if !late.is_empty() {
            let m = mean(&late);
            push(MeasureKind::EndFlow, m, out.sd / 1.4, "g/s", format!("At the end {m:.1} g/s run."));
            if !middle.is_empty() && mean(&middle) > LEAST_FLOW_G_S {
                let gain = m / mean(&middle);
                let text = match gain {
                    g if g > 1.5 => format!("Flow grows {g:.1}-fold from the middle to the end."),
                    g if g < 0.8 => "Flow falls towards the end: the bed closes up.".to_owned(),
                    _ => "Flow keeps about even over the second half.".to_owned(),
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
            let text = format!("The puck resists with {value:.1} bar s/ml half way.");
            push(MeasureKind::Resistance, value, sd, "bar s/ml", text);
            let (slope, slope_sd) = slope_of_half(curve, middle, to);
            let share = 100.0 * slope * 10.0 / value;
            let text = match share {
                s if s > 8.0 => format!(
                    "Resistance rises late, by {s:.0} % in ten seconds: fines settle or the bed swells."
                ),
                s if s < -30.0 => format!("Resistance collapses late, by {:.0} % in ten seconds.", -s),
                s if s < -8.0 => format!("Resistance falls by {:.0} % in ten seconds as solids leave.", -s),
                _ => "Resistance stays about the same over the second half.".to_owned(),
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
                    format!("The bed's permeability is {k:.1}·10⁻¹⁵ m² half way."),
                );
            }
        }
    }
    if let Some((value, sd, text)) = wet_share(events, setup, out.as_ref(), trace) {
        push(MeasureKind::WetShare, value, sd, "", text);
    }
    let channels = match (&curve, &out, part) {
        (Some(curve), _, Some(part)) => {
            let log: Vec<f64> = curve.bar_s_ml.iter().map(|r| libm::log(*r)).collect();
            let sd: Vec<f64> = curve.bar_s_ml.iter().zip(&curve.sd).map(|(r, s)| s / r).collect();
            sudden_falls(&curve.time_s, &log, &sd, part, 1.0)
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
            sudden_falls(&time, &log, &sd, part, 0.7)
        }
        _ => Vec::new(),
    };
    if curve.is_some() || out.is_some() {
        let text = match channels.as_slice() {
            [] => "No sudden fall of resistance: no sign of a channel.".to_owned(),
            [one] => format!(
                "Resistance falls by {:.0} % at once at {:.1} s: water has found an easier way.",
                100.0 * (1.0 - one.left),
                one.time_s
            ),
            many => format!("Resistance falls suddenly {} times: the bed is breaking up.", many.len()),
        };
        push(MeasureKind::Channels, channels.len() as f64, 0.0, "", text);
    }
    if let Some((kept, sd)) = water_kept(trace, events, out.as_ref()) {
        push(
            MeasureKind::WaterKept,
            kept,
            sd,
            "g",
            format!("{kept:.0} g of water went in and did not come out."),
        );
    }
    if let Some((values, sigma)) = within(Channel::Temperature, 3.0) {
        let m = mean(&values);
        if let Some(target) = setup.target_c {
            let off = m - target;
            let text = if off.abs() < 1.0 {
                format!("The water keeps to {target:.0} °C.")
            } else {
                format!(
                    "The water is {:.1} K {} than asked for.",
                    off.abs(),
                    if off > 0.0 { "hotter" } else { "cooler" }
                )
            };
            push(MeasureKind::TemperatureError, off, sigma / (values.len() as f64).sqrt() + 0.3, "K", text);
        }
        let mut sorted = values;
        let (low, high) = (quantile(&mut sorted, 0.05), quantile(&mut sorted, 0.95));
        if let (Some(low), Some(high)) = (low, high) {
            let swing = high - low;
            let text = format!("Temperature swings by {swing:.1} K while the cup fills.");
            push(MeasureKind::TemperatureSwing, swing, sigma, "K", text);
        }
    }
    list.sort_by_key(|measure| measure.kind);
    Measures { list, resistance: curve, channels }
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
    let begin = events.filled.or(events.pump_on).filter(|e| e.confidence > 0.4)?;
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
        format!(
            "The first drip came early for this flow (wetted share {share:.2}): part of the bed was by-passed."
        )
    } else {
        format!("The first drip came when an evenly wetted bed would let it (wetted share {share:.2}).")
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
        .last()?;
    // A flow meter is good to about three percent (common practice, no source).
    Some((sum - cup, 0.03 * sum + 0.3))
}

/// Least fall of log resistance within [`FALL_S`] that counts: 12 %.
const LEAST_FALL: f64 = 0.13;
/// Standard deviations by which it must stand out.
const FALL_STRENGTH: f64 = 4.0;
/// Seconds within which a fall is sudden.
const FALL_S: f64 = 1.2;

/// Sudden falls in a series of log resistance: at each place a line through the 3 s before is carried on over the place
/// and compared with the 1.5 s after it.
fn sudden_falls(time: &[f64], log: &[f64], sd: &[f64], part: (f64, f64), trust: f64) -> Vec<ChannelSign> {
    let mut candidates: Vec<ChannelSign> = Vec::new();
    let range = |a: f64, b: f64| time.partition_point(|t| *t < a)..time.partition_point(|t| *t <= b);
    for &t in time {
        let (before, after) =
            (range(t - 3.5, t - 0.5 * FALL_S), range(t + 0.5 * FALL_S, t + 0.5 * FALL_S + 1.5));
        let (Some(bt), Some(bv), Some(av), Some(bs)) =
            (time.get(before.clone()), log.get(before.clone()), log.get(after.clone()), sd.get(before))
        else {
            continue;
        };
        let (Some(at), Some(first), Some(last)) = (time.get(after), bt.first(), bt.last()) else { continue };
        if bt.len() < 4 || av.len() < 3 || last - first < 1.2 || t < part.0 + 1.5 {
            continue;
        }
        let n = bt.len() as f64;
        let centre = bt.iter().sum::<f64>() / n;
        let level = bv.iter().sum::<f64>() / n;
        let spread: f64 = bt.iter().map(|x| (x - centre) * (x - centre)).sum();
        let slope =
            bt.iter().zip(bv).map(|(x, v)| (x - centre) * (v - level)).sum::<f64>() / spread.max(1e-9);
        // A falling trend is carried on whole; a rising one is not trusted to go on.
        let slope = slope.min(0.0);
        let ahead = at.iter().sum::<f64>() / at.len() as f64;
        let expected = level + slope * (ahead - centre);
        let got = av.iter().sum::<f64>() / av.len() as f64;
        let residual =
            bt.iter().zip(bv).map(|(x, v)| (v - level - slope * (x - centre)).powi(2)).sum::<f64>() / n;
        let typical = bs.iter().sum::<f64>() / bs.len().max(1) as f64;
        let reach = (ahead - centre) / (last - first).max(0.5);
        let error = (residual.sqrt().max(typical)).max(0.012) * (0.6 + 0.5 * reach);
        let fall = expected - got;
        if fall > LEAST_FALL && fall > FALL_STRENGTH * error {
            let strength = fall / error;
            candidates.push(ChannelSign {
                time_s: t,
                left: libm::exp(-fall),
                strength,
                confidence: trust * (1.0 - libm::exp(-strength / 5.0)),
            });
        }
    }
    // Of candidates within three seconds the deepest is the place.
    let mut found: Vec<ChannelSign> = Vec::new();
    for candidate in candidates {
        match found.last_mut() {
            Some(last) if candidate.time_s - last.time_s < 3.0 => {
                if candidate.left < last.left {
                    *last = candidate;
                }
            }
            _ => found.push(candidate),
        }
    }
    found
}
