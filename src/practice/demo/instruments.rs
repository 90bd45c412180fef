//! What scales, gauges and thermometers would have recorded of a simulated pull: noise, resolution, lag, gaps.

use super::scenario::{ClockHand, Event, Line, Probe};
use crate::domain::{Channel, Trace};
use crate::practice::brew::Shot;
use crate::practice::chance::Chance;

/// Rounds to a count of decimals.
#[must_use]
pub fn round(value: f64, decimals: i32) -> f64 {
    let factor = 10f64.powi(decimals);
    (value * factor).round() / factor
}

/// A time as somebody at this clock would write it, seconds.
#[must_use]
pub fn read_clock(hand: ClockHand, time_s: f64, chance: &mut Chance) -> f64 {
    let thumb = chance.around(0.25);
    match hand {
        ClockHand::Tenths => round(time_s, 1),
        ClockHand::Halves => round(2.0 * (time_s + thumb), 0) / 2.0,
        ClockHand::Wholes => round(time_s + 1.4 * thumb, 0),
    }
    .max(0.0)
}

/// Records a pull. The last sample lies at the pull's end, on the sampling grid; cup mass there is the drink.
#[must_use]
pub fn record(
    shot: &Shot,
    water_c: f64,
    probes: &[Probe],
    line: &Line,
    chance: &mut Chance,
) -> Option<Trace> {
    let step_s = if line.has(Event::Fast) { 0.05 } else { 0.1 };
    let count = (shot.trace.end_s / step_s).round().max(2.0) as usize;
    let time_s: Vec<f64> = (0..=count).map(|k| round(k as f64 * step_s, 2)).collect();
    let gap = line.has(Event::Gap).then(|| {
        let from = (0.35 + 0.2 * chance.uniform()) * shot.trace.end_s;
        (from, from + 1.0 + 1.4 * chance.uniform())
    });
    let lost = |t: f64| gap.is_some_and(|(from, to)| t >= from && t <= to);
    let ripple = 0.04 + 0.05 * chance.uniform();
    let mut channels = Vec::new();
    for probe in [Probe::Pressure, Probe::Flow, Probe::CupMass, Probe::Temperature] {
        let missing = (probe == Probe::Flow && line.has(Event::NoFlow))
            || (probe == Probe::Temperature && line.has(Event::NoTemperature));
        if missing || !probes.contains(&probe) {
            continue;
        }
        let samples: Vec<f64> = time_s
            .iter()
            .map(|&t| {
                let at = t.min(shot.trace.end_s);
                let value = match probe {
                    Probe::Pressure => {
                        let bar = shot.trace.sample(&shot.trace.head_bar, at);
                        let wave = libm::sin(std::f64::consts::TAU * 3.1 * t) * ripple * (bar / 9.0);
                        round((bar + wave + chance.around(0.05)).max(0.0), 2)
                    }
                    Probe::Flow => {
                        let flow = shot.trace.sample(&shot.trace.flow_g_s, at);
                        let rough = if flow > 0.02 { chance.around(0.05 + 0.03 * flow) } else { 0.0 };
                        round((flow + rough).max(0.0), 2)
                    }
                    Probe::CupMass => {
                        let mass = shot.trace.sample(&shot.trace.cup_g, at);
                        let jitter = if mass > 0.05 { chance.around(0.06) } else { 0.0 };
                        round((mass + jitter).max(0.0), 1)
                    }
                    Probe::Temperature => {
                        let settling = 2.2 * libm::exp(-t / 3.5);
                        round(water_c - settling + 0.25 * libm::sin(t / 4.0) + chance.around(0.12), 1)
                    }
                };
                // The scale is what drops out; a gauge on a wire does not.
                let wireless = matches!(probe, Probe::Flow | Probe::CupMass);
                if wireless && lost(t) { f64::NAN } else { value }
            })
            .collect();
        let channel = match probe {
            Probe::Pressure => Channel::Pressure,
            Probe::Flow => Channel::Flow,
            Probe::CupMass => Channel::CupMass,
            Probe::Temperature => Channel::Temperature,
        };
        channels.push((channel, samples));
    }
    Trace::new(time_s, channels).ok()
}
