//! The gist of a trace: the few numbers that bear on what to pull next.

use crate::domain::{Recipe, Trace};

use super::events::{Event, Instruments, find_events};
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
            channel: channels
                .into_iter()
                .max_by(|a, b| a.confidence.total_cmp(&b.confidence))
                .map(|sign| (sign.time_s - zero, sign.confidence.clamp(0.0, 1.0))),
        }
    }
}
