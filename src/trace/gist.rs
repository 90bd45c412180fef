//! The gist of a trace: the few numbers that bear on what to pull next.

use crate::domain::{Channel, Recipe, Trace};

use super::events::{Event, Events, Instruments, find_events};
use super::measures::measure;
use super::resistance::Setup;

/// What a trace says about its pull.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gist {
    /// Pump on to pump off, or to the end of the flow, seconds, where both were seen: a trace that begins or breaks off in
    /// the middle of a pull tells no time.
    pub time_s: Option<f64>,
    /// Pump on to first drip, seconds, where both were seen.
    pub first_drip_s: Option<f64>,
    /// What the scale gained over the pull, grams, where first drip and end were seen.
    pub cup_g: Option<f64>,
    /// The surest sign of a channel: when after pump on (s; on the trace's own clock where pump on does not show), and how
    /// sure, 0…1.
    pub channel: Option<(f64, f64)>,
}

impl Gist {
    /// Reads a trace of a pull made with `recipe`. Never fails: what cannot be seen is `None`.
    #[must_use]
    pub fn read(trace: &Trace, recipe: &Recipe) -> Self {
        let events = find_events(trace);
        let setup = Setup { dose_g: Some(recipe.dose_g), target_c: recipe.temperature_c, ..Setup::default() };
        let channels = measure(trace, &events, &setup, &Instruments::default()).channels;
        let seen = |event: Option<Event>| Some(event.filter(Event::is_seen)?.time_s);
        let after_pump_on = |event| Some(seen(event)? - seen(events.pump_on)?);
        let zero = events.pump_on.map_or(0.0, |event| event.time_s);
        Self {
            time_s: after_pump_on(events.pump_off.or(events.end)),
            first_drip_s: after_pump_on(events.first_drip),
            cup_g: seen(events.first_drip).and(seen(events.end)).and_then(|_| cup_g(trace, &events)),
            channel: channels
                .into_iter()
                .max_by(|a, b| a.confidence.total_cmp(&b.confidence))
                .map(|sign| (sign.time_s - zero, sign.confidence.clamp(0.0, 1.0))),
        }
    }
}

/// What the scale gained over a pull, grams: from the last reading before the first drip to the highest before the end, or
/// to the ends of the trace where these do not show. `None` for a gram or less, or without a scale.
#[must_use]
pub fn cup_g(trace: &Trace, events: &Events) -> Option<f64> {
    let mass = trace.get(Channel::CupMass)?;
    let before = events.first_drip.map_or(f64::NEG_INFINITY, |e| e.time_s - 0.3);
    let end = events.end.map_or(f64::INFINITY, |e| e.time_s + 0.5);
    let rows = || trace.time_s().iter().zip(mass).filter(|(_, m)| m.is_finite());
    let tare = rows().filter(|(t, _)| **t <= before).map(|(_, m)| *m).next_back().unwrap_or(0.0);
    let high = rows().filter(|(t, _)| **t <= end).map(|(_, m)| *m).fold(f64::NEG_INFINITY, f64::max);
    (high - tare > 1.0 && high.is_finite()).then_some(high - tare)
}

/// Seconds, and part of the pull's time, by which a trace may be longer or shorter (common practice, no source).
const TIME_APART: (f64, f64) = (3.0, 0.15);
/// Grams, and part of the pull's yield, by which its cup may weigh more or less (common practice, no source).
const CUP_APART: (f64, f64) = (3.0, 0.1);

fn apart(said: f64, measured: f64, (least, part): (f64, f64)) -> bool {
    (said - measured).abs() > least.max(part * said)
}

/// Whether a time (s) that was written down and that of a trace cannot well be of one pull.
#[must_use]
pub fn times_apart(said_s: f64, measured_s: f64) -> bool {
    apart(said_s, measured_s, TIME_APART)
}

/// The same of a cup, grams.
#[must_use]
pub fn cups_apart(said_g: f64, measured_g: f64) -> bool {
    apart(said_g, measured_g, CUP_APART)
}
