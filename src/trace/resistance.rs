//! Flow into the cup and the resistance of the puck along a pull.

use crate::domain::{Channel, Trace};

use super::events::{Events, Instruments};
use super::filter::{FLOW_HALF_WINDOW_S, despike, median, noise, slope_everywhere};
use super::gaps::{gap_limit_s, own_step_s};

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

    /// When the cup held so many grams: the time, s, the resistance, bar s/ml, and its standard deviation (interpolated);
    /// `None` outside.
    #[must_use]
    pub fn row_at_mass(&self, grams: f64) -> Option<[f64; 3]> {
        let at = self.mass_g.iter().position(|m| *m >= grams)?;
        let before = at.checked_sub(1)?;
        let (m0, m1) = (*self.mass_g.get(before)?, *self.mass_g.get(at)?);
        let share = if m1 > m0 { (grams - m0) / (m1 - m0) } else { 1.0 };
        let between = |list: &[f64]| Some(list.get(before)? + (list.get(at)? - list.get(before)?) * share);
        Some([between(&self.time_s)?, between(&self.bar_s_ml)?, between(&self.sd)?])
    }
}

/// Least flow at which resistance is formed, g/s.
pub(super) const LEAST_FLOW_G_S: f64 = 0.15;

/// Flow into the cup with the scale's lag taken off, the cup's mass, and the flow's standard deviation.
pub(super) struct Outflow {
    pub(super) flow: Vec<f64>,
    pub(super) mass: Vec<f64>,
    pub(super) sd: f64,
}

pub(super) fn outflow(trace: &Trace, events: &Events, instruments: &Instruments) -> Option<Outflow> {
    let time = trace.time_s();
    if let Some(mass) = trace.get(Channel::CupMass) {
        let (clean, _) = despike(mass, 0.5);
        let earlier: Vec<f64> = time.iter().map(|t| t - instruments.scale_lag_s).collect();
        let flow = slope_everywhere(&earlier, &clean, FLOW_HALF_WINDOW_S);
        let n = (2.0 * FLOW_HALF_WINDOW_S / own_step_s(time, &clean).max(0.1)).max(3.0);
        let sd = noise(&clean).max(0.01) * (12.0 / n).sqrt() / (2.0 * FLOW_HALF_WINDOW_S);
        let (flow, cup) = (Line::of(&earlier, &flow), Line::of(&earlier, &clean));
        let tare = events.first_drip.and_then(|e| cup.at(e.time_s - 0.3)).unwrap_or(0.0);
        return Some(Outflow {
            flow: time.iter().map(|t| flow.at(*t).unwrap_or(f64::NAN)).collect(),
            mass: time.iter().map(|t| cup.at(*t).map_or(f64::NAN, |m| m - tare)).collect(),
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
    let n = (2.0 * FLOW_HALF_WINDOW_S / own_step_s(time, &clean).max(1e-3)).max(1.0);
    Some(Outflow { flow: smooth, mass, sd: noise(&clean).max(0.005) / n.sqrt() })
}

/// The samples of a series that are there, joined by straight lines; a gap by the series' own pace is not bridged.
struct Line {
    points: Vec<(f64, f64)>,
    limit_s: f64,
}

impl Line {
    fn of(time: &[f64], values: &[f64]) -> Self {
        let points: Vec<(f64, f64)> =
            time.iter().copied().zip(values.iter().copied()).filter(|(_, v)| v.is_finite()).collect();
        let limit_s = gap_limit_s(&points.iter().map(|p| p.0).collect::<Vec<f64>>());
        Self { points, limit_s }
    }

    /// The value at a time; `None` outside and in a gap.
    fn at(&self, t: f64) -> Option<f64> {
        let after = self.points.partition_point(|p| p.0 < t);
        let (t1, v1) = *self.points.get(after)?;
        let Some(before) = after.checked_sub(1).filter(|_| t1 > t) else { return (t1 == t).then_some(v1) };
        let (t0, v0) = *self.points.get(before)?;
        (t1 - t0 <= self.limit_s).then(|| v0 + (v1 - v0) * (t - t0) / (t1 - t0))
    }
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
pub(super) fn running(trace: &Trace, events: &Events) -> Option<(f64, f64)> {
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
    let n = (2.0 * FLOW_HALF_WINDOW_S / own_step_s(trace.time_s(), &clean).max(1e-3)).max(1.0);
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
