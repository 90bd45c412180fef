//! A trace played as a live instrument: for tests, classes and demos.

use std::io::{self, Write};
use std::time::Duration;

use crate::domain::{Channel, Trace};

/// The lines of a trace in the live format, each with the time at which it is due, seconds after the first.
pub fn replay_lines(trace: &Trace) -> impl Iterator<Item = (f64, String)> + '_ {
    let channels: Vec<(Channel, &[f64])> =
        Channel::ALL.into_iter().filter_map(|channel| Some((channel, trace.get(channel)?))).collect();
    let mut header = String::from("time_s");
    for (channel, _) in &channels {
        header.push_str(match channel {
            Channel::Pressure => ",pressure_bar",
            Channel::Flow => ",flow_g_s",
            Channel::CupMass => ",cup_mass_g",
            Channel::Temperature => ",temperature_c",
        });
    }
    let first = trace.time_s().first().copied().unwrap_or(0.0);
    let rows = trace.time_s().iter().enumerate().map(move |(at, time)| {
        let mut line = format!("{time}");
        for (_, values) in &channels {
            line.push(',');
            if let Some(value) = values.get(at).filter(|v| v.is_finite()) {
                line.push_str(&value.to_string());
            }
        }
        (time - first, line)
    });
    std::iter::once((0.0, header)).chain(rows)
}

/// Plays a trace into `to`: every line when it is due, `rate` times as fast as it was (0 or less: without waiting).
/// `wait` sleeps; it is handed in so that tests need not.
///
/// # Errors
/// Whatever the writer reports (a reader that has gone away: `BrokenPipe` or `ConnectionReset`).
pub fn replay(
    trace: &Trace,
    rate: f64,
    mut to: impl Write,
    mut wait: impl FnMut(Duration),
) -> io::Result<()> {
    let mut now = 0.0;
    for (due, line) in replay_lines(trace) {
        if rate > 0.0 && rate.is_finite() && due > now {
            // At most a minute at a time: a gap of hours is not sat out.
            wait(Duration::from_secs_f64(((due - now) / rate).clamp(0.0, 60.0)));
            now = due;
        }
        writeln!(to, "{line}")?;
        to.flush()?;
    }
    Ok(())
}
