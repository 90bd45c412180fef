//! What the puck model expects of a pull whose flow at half way is known, and where the trace leaves that.
//!
//! The model's permeability is set so that it runs as the trace does around the middle of the pull; what it then says
//! of the first drip and of the end is a prediction. It is made with several pucks that cover what is not known of this
//! one (liquid held, gain of porosity by dissolution, swelling, unevenness); their spread is the band.

use super::compare::ExpectedBand;
use crate::domain::{Bag, Channel, Notebook, Pull, Trace};
use crate::puck::{
    Drive, DriveSpec, FlowLaw, Profile, Puck, PuckSpec, PullTrace, Settings, Unevenness, simulate, water,
};
use crate::trace::{
    Cleaned, Event, Events, Instruments, MeasureKind, Measures, Setup, USUAL_STEPS, clean, derived_flow,
    find_events, measure,
};
use crate::units::figure;

/// What is known of a pull beside its trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct About {
    /// Dry dose, grams.
    pub dose_g: f64,
    /// Inner diameter of the basket, millimetres.
    pub basket_mm: f64,
    /// Temperature asked for, °C.
    pub target_c: Option<f64>,
    /// Pressure of the machine where the trace has none, bar.
    pub pressure_bar: f64,
}

impl About {
    /// What a notebook knows of a pull; `None` when its station is gone.
    #[must_use]
    pub fn of(notebook: &Notebook, bag: &Bag, pull: &Pull) -> Option<Self> {
        let station = notebook.station(pull.station).or_else(|| notebook.station(bag.station))?;
        Some(Self {
            dose_g: pull.used.dose_g,
            basket_mm: station.basket.diameter_mm,
            target_c: pull.used.temperature_c,
            pressure_bar: station.gear.pressure_bar.unwrap_or(9.0),
        })
    }
}

/// Something that the trace does and the model does not explain, or that agrees with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// "First drip".
    pub name: &'static str,
    /// What was measured.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// What the model expects, from and to.
    pub expected: (f64, f64),
    /// Outside of what the model expects, by more than two standard deviations.
    pub outside: bool,
    /// What it says.
    pub sentence: String,
}

/// A pull read as an expert would.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Events.
    pub events: Events,
    /// Measures.
    pub measures: Measures,
    /// The model's band, where one could be made.
    pub band: Option<ExpectedBand>,
    /// The trace against the model.
    pub findings: Vec<Finding>,
    /// What the usual steps of cleaning find to mend.
    pub cleaning: Vec<Cleaned>,
}

/// Coarse enough to be quick; flow and cup mass differ from a fine grid by less than the band is wide.
pub(super) const GRID: Settings = Settings { cells: 12, tubes: 4, pools: 3, step_s: 0.2 };

/// Reads a trace: events, measures, the model's band and what lies outside of it. Takes some tens of milliseconds: not
/// for the thread that draws.
#[must_use]
pub fn read(trace: &Trace, about: &About) -> Reading {
    let events = find_events(trace);
    let water_c = about.target_c.unwrap_or(93.0).clamp(1.0, 110.0);
    let setup = Setup {
        dose_g: Some(about.dose_g),
        basket_diameter_mm: Some(about.basket_mm),
        target_c: about.target_c,
        density_g_ml: water::density_kg_m3(water_c, 1.0) / 1000.0,
        viscosity_pa_s: water::viscosity_pa_s(water_c, 1.0),
        ..Setup::default()
    };
    let measures = measure(trace, &events, &setup, &Instruments::default());
    let (band, findings) =
        expect(trace, &events, &measures, about).map_or((None, Vec::new()), |(b, f)| (Some(b), f));
    let (_, cleaning) = clean(trace, &USUAL_STEPS);
    Reading { events, measures, band, findings, cleaning }
}

struct Recorded {
    on_s: f64,
    drip_s: f64,
    off_s: f64,
    middle_flow: f64,
    drive: Drive,
}

impl Recorded {
    fn middle(&self) -> (f64, f64) {
        let (middle, half) = (0.5 * (self.drip_s + self.off_s), 0.15 * (self.off_s - self.drip_s));
        (middle - half, middle + half)
    }

    fn of(trace: &Trace, events: &Events, about: &About) -> Option<Self> {
        let on = events.filled.or(events.pump_on).filter(Event::is_seen)?;
        let drip = events.first_drip?;
        let off_s = events.pump_off.or(events.end)?.time_s;
        if off_s - drip.time_s < 6.0 || drip.time_s - on.time_s < 0.3 {
            return None;
        }
        let flow = derived_flow(trace)?;
        let mut recorded = Self {
            on_s: on.time_s,
            drip_s: drip.time_s,
            off_s,
            middle_flow: 0.0,
            drive: drive(trace, on.time_s, off_s, about)?,
        };
        let (from, to) = recorded.middle();
        recorded.middle_flow = mean_between(trace.time_s(), &flow, from, to)?;
        (recorded.middle_flow > 0.15).then_some(recorded)
    }
}

fn mean_between(time: &[f64], values: &[f64], from: f64, to: f64) -> Option<f64> {
    let (mut sum, mut n) = (0.0, 0.0);
    for (_, v) in time.iter().zip(values).filter(|(t, v)| **t >= from && **t <= to && v.is_finite()) {
        sum += v;
        n += 1.0;
    }
    (n > 0.0).then(|| sum / n)
}

/// The machine as the trace shows it: recorded pressure in half seconds, or a flat one.
fn drive(trace: &Trace, on_s: f64, off_s: f64, about: &About) -> Option<Drive> {
    let pressure = match trace.get(Channel::Pressure) {
        Some(values) => {
            let (clean, _) = crate::trace::despike(values, 0.8);
            let places = (((off_s - on_s) / 0.5).ceil() as usize).clamp(2, 1000);
            let points: Vec<(f64, f64)> = (0..=places)
                .filter_map(|at| {
                    let t = on_s + at as f64 * 0.5;
                    let bar = mean_between(trace.time_s(), &clean, t - 0.25, t + 0.25)?;
                    Some((at as f64 * 0.5, bar.clamp(0.0, 20.0)))
                })
                .collect();
            Profile::lines(points)
        }
        None => Profile::lines(vec![(0.0, 0.0), (0.8, about.pressure_bar.clamp(0.5, 20.0))]),
    };
    Drive::new(DriveSpec {
        pressure_bar: pressure,
        temperature_c: Profile::flat(about.target_c.unwrap_or(93.0).clamp(1.0, 120.0)),
        duration_s: (off_s - on_s).clamp(1.0, 590.0),
        stop_at_g: None,
        ..DriveSpec::default()
    })
    .ok()
}

/// The pucks that cover what is not known. The ranges are the puck model's own for coffees (common practice, no source).
pub(super) fn pucks(about: &About) -> Vec<PuckSpec> {
    let mut all = Vec::new();
    for liquid_share in [0.22, 0.42] {
        for porosity_gain in [0.02, 0.09] {
            for (swelling_share, spread) in [(0.0, 0.0), (0.0, 0.2), (0.2, 0.05)] {
                all.push(PuckSpec {
                    dose_g: about.dose_g,
                    basket_diameter_mm: about.basket_mm,
                    liquid_share,
                    flow: FlowLaw { porosity_gain, swelling_share, ..FlowLaw::default() },
                    unevenness: Unevenness { spread, channels: Vec::new() },
                    ..PuckSpec::default()
                });
            }
        }
    }
    all
}

/// The pull of a puck whose permeability makes it run as recorded around the middle (to a hundredth).
fn matched(mut spec: PuckSpec, recorded: &Recorded) -> Option<PullTrace> {
    let (from, to) = recorded.middle();
    let mut run = |log_k: f64| -> Option<(PullTrace, f64)> {
        spec.flow.permeability_m2 = libm::exp(log_k);
        let pull = simulate(&Puck::new(spec.clone()).ok()?, &recorded.drive, &GRID).ok()?;
        let flow = mean_between(&pull.time_s, &pull.flow_g_s, from - recorded.on_s, to - recorded.on_s);
        Some((pull, flow.unwrap_or(0.0)))
    };
    // Flow grows nearly in proportion to permeability, so a few steps in the logarithm are enough.
    let (least, most) = (libm::log(1e-16), libm::log(5e-13));
    let mut log_k = libm::log(3.8e-15);
    for _ in 0..8 {
        let (pull, flow) = run(log_k)?;
        let off = libm::log(recorded.middle_flow / flow.max(1e-3));
        if off.abs() < 0.01 {
            return Some(pull);
        }
        if (log_k <= least && off < 0.0) || (log_k >= most && off > 0.0) {
            return None;
        }
        log_k = (log_k + off.clamp(-2.5, 2.5)).clamp(least, most);
    }
    None
}

fn expect(
    trace: &Trace,
    events: &Events,
    measures: &Measures,
    about: &About,
) -> Option<(ExpectedBand, Vec<Finding>)> {
    let recorded = Recorded::of(trace, events, about)?;
    let pulls: Vec<PullTrace> =
        pucks(about).into_iter().filter_map(|spec| matched(spec, &recorded)).collect();
    if pulls.len() < 3 {
        return None;
    }
    let places = (((recorded.off_s - recorded.on_s) / 0.25) as usize).min(4000);
    let edges = |series: fn(&PullTrace) -> &[f64], slack: f64| -> Vec<[f64; 3]> {
        (0..=places)
            .map(|at| {
                let t = at as f64 * 0.25;
                let values = pulls.iter().map(|pull| pull.sample(series(pull), t));
                let (low, high) =
                    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
                [recorded.on_s + t, low - slack, high + slack]
            })
            .filter(|edge| edge.iter().all(|v| v.is_finite()))
            .collect()
    };
    let mut channels = vec![(Channel::CupMass, edges(|pull| &pull.cup_g, 0.3))];
    if trace.get(Channel::Flow).is_some() && events.filled.is_none() {
        channels.insert(0, (Channel::Flow, edges(|pull| &pull.flow_g_s, 0.1)));
    }
    let band = ExpectedBand { channels };
    Some((band, findings(&recorded, &pulls, events, measures)))
}

fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    // The model itself is not better than about a twentieth.
    (low <= high).then_some((low * 0.95, high * 1.05))
}

fn findings(recorded: &Recorded, pulls: &[PullTrace], events: &Events, measures: &Measures) -> Vec<Finding> {
    let mut found = Vec::new();
    let on = events.filled.or(events.pump_on);
    if let (Some(drip), Some(on), Some(expected)) =
        (events.first_drip, on, range(pulls.iter().filter_map(|pull| pull.time_at_g(0.05))))
    {
        let (value, sd) = (drip.time_s - on.time_s, drip.sd_s.hypot(on.sd_s));
        let early = value < expected.0 - 2.0 * sd;
        let late = value > expected.1 + 2.0 * sd;
        let (from, to) = expected;
        let sentence = say!(
            "view-expected-first-drip-came",
            place = if early {
                "early"
            } else if late {
                "late"
            } else {
                "within"
            },
            value = figure(value, 1),
            from = figure(from, 1),
            to = figure(to, 1)
        );
        found.push(Finding {
            name: word!("view-expected-first-drip"),
            value,
            sd,
            expected,
            outside: early || late,
            sentence,
        });
    }
    // The same two means of the model's flow as the measure takes of the trace's.
    let shift = recorded.on_s;
    let (middle, end) = (0.5 * (recorded.drip_s + recorded.off_s), recorded.off_s);
    let gain = |pull: &PullTrace| -> Option<f64> {
        let mean = |from, to| mean_between(&pull.time_s, &pull.flow_g_s, from - shift, to - shift);
        Some(mean(end - 3.0, end - 0.5)? / mean(middle - 1.5, middle + 1.5)?.max(1e-6))
    };
    if let (Some(measured), Some(expected)) =
        (measures.get(MeasureKind::FlowGain), range(pulls.iter().filter_map(gain)))
    {
        let (value, sd) = (measured.value, measured.sd.max(0.03));
        let (from, to) = expected;
        let beyond = value > to + 2.0 * sd;
        let short = value < from - 2.0 * sd;
        let sentence = say!(
            "view-expected-flow-changed",
            place = if beyond {
                "beyond"
            } else if short {
                "short"
            } else {
                "within"
            },
            value = figure(value, 2),
            from = figure(from, 2),
            to = figure(to, 2)
        );
        found.push(Finding {
            name: word!("view-expected-growth-of-flow"),
            value,
            sd,
            expected,
            outside: beyond || short,
            sentence,
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pull of the model itself on the way of its own band.
    fn made(spec: PuckSpec, stop_g: f64) -> (Trace, PullTrace) {
        let drive = Drive::new(DriveSpec {
            pressure_bar: Profile::lines(vec![(0.0, 0.0), (0.6, 9.0)]),
            duration_s: 70.0,
            stop_at_g: Some(stop_g),
            ..DriveSpec::default()
        })
        .unwrap();
        let pull = simulate(&Puck::new(spec).unwrap(), &drive, &Settings::default()).unwrap();
        let time: Vec<f64> =
            (0..((pull.end_s + 5.0) * 20.0) as usize).map(|i| f64::from(i as u32) * 0.05).collect();
        let at = |series: &[f64], t: f64| if t < 2.0 { 0.0 } else { pull.sample(series, t - 2.0) };
        let off = 2.0 + pull.end_s;
        let bar = time.iter().map(|t| if *t < off { at(&pull.bed_bar, *t) } else { 0.0 }).collect();
        // As a scale shows it: 0.2 s late.
        let cup = time.iter().map(|t| at(&pull.cup_g, (t - 0.2).min(off))).collect();
        let trace = Trace::new(time, [(Channel::Pressure, bar), (Channel::CupMass, cup)]).unwrap();
        (trace, pull)
    }

    const ABOUT: About = About { dose_g: 18.0, basket_mm: 58.0, target_c: Some(93.0), pressure_bar: 9.0 };

    #[test]
    fn an_even_pull_lies_within_what_is_expected() {
        let (trace, _) = made(PuckSpec::default(), 36.0);
        let reading = read(&trace, &ABOUT);
        assert_eq!(reading.findings.len(), 2, "{reading:?}");
        for finding in &reading.findings {
            assert!(!finding.outside, "{finding:?}");
        }
        let band = reading.band.unwrap();
        let (_, edges) = &band.channels[0];
        for [t, low, high] in edges.iter().filter(|e| e[0] > 10.0) {
            let mass = crate::trace::value_at(&trace, Channel::CupMass, *t).unwrap();
            assert!(mass > low - 1.0 && mass < high + 1.0, "{t}: {mass} not in {low}–{high}");
        }
    }

    #[test]
    fn a_late_channel_is_more_than_dissolving_explains() {
        let mut spec = PuckSpec::default();
        let (_, plain) = made(spec.clone(), 36.0);
        spec.unevenness.channels.push(crate::puck::Channel {
            opens_at_s: plain.end_s * 0.75,
            area_share: 0.02,
            gain: 60.0,
            heals_in_s: None,
        });
        let (trace, _) = made(spec, 50.0);
        let reading = read(&trace, &ABOUT);
        let growth = reading.findings.iter().find(|f| f.name == "Growth of flow").unwrap();
        assert!(growth.outside && growth.value > growth.expected.1, "{growth:?}");
    }

    #[test]
    fn traces_that_show_too_little_get_no_band() {
        let time: Vec<f64> = (0..300).map(|i| f64::from(i) * 0.1).collect();
        let flat = Trace::new(time, [(Channel::CupMass, vec![0.1; 300])]).unwrap();
        let reading = read(&flat, &ABOUT);
        assert!(reading.band.is_none() && reading.findings.is_empty());
    }
}
