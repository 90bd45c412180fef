//! Pulls over each other: aligned, cut at gaps, thinned to the screen. Numbers only; what they look like is the
//! window's business. No value here is ever NaN or infinite.

use crate::domain::{Channel, Trace};

use super::events::Events;
use super::gaps::{gap_limit_s, segments};
use super::{min_max, simplify};

/// What is put at zero on the shared time axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Alignment {
    /// Each trace's own zero.
    AsRecorded,
    /// The pump going on.
    PumpOn,
    /// The first drip.
    FirstDrip,
    /// The moment when so many grams are in the cup.
    CupMass(f64),
}

impl Alignment {
    /// The time on a trace that becomes zero; `None` when the trace does not show it.
    #[must_use]
    pub fn zero_s(self, trace: &Trace, events: &Events) -> Option<f64> {
        match self {
            Self::AsRecorded => Some(0.0),
            Self::PumpOn => events.pump_on.map(|event| event.time_s),
            Self::FirstDrip => events.first_drip.map(|event| event.time_s),
            Self::CupMass(grams) => time_of_cup_mass(trace, grams),
        }
    }
}

/// When the cup first holds `grams` and keeps them (interpolated), seconds on the trace's own time. `None` when never
/// reached or without cup mass.
#[must_use]
pub fn time_of_cup_mass(trace: &Trace, grams: f64) -> Option<f64> {
    let mass = trace.get(Channel::CupMass)?;
    let points: Vec<[f64; 2]> = segments(trace.time_s(), mass).into_iter().flatten().collect();
    // The last crossing upwards before the highest point: earlier ones are knocks against the scale.
    let peak = points.iter().enumerate().max_by(|a, b| a.1[1].total_cmp(&b.1[1])).map(|(at, _)| at)?;
    let before = points.get(..=peak)?;
    let below = before.iter().rposition(|p| p[1] < grams);
    match below {
        None => before.first().filter(|p| p[1] == grams).map(|p| p[0]),
        Some(at) => match (before.get(at), before.get(at + 1)) {
            (Some(a), Some(b)) => Some(a[0] + (grams - a[1]) / (b[1] - a[1]) * (b[0] - a[0])),
            _ => None,
        },
    }
}

/// By how many seconds `other` comes later than `reference`, on the traces' own times, by the best match of the first
/// channel of cup mass, pressure, flow that both have (normalised cross-correlation on a 0.1 s grid, at most 30 s).
/// `None` when they share none or one is flat. Add it to the reference's zero to align the other.
#[must_use]
pub fn best_match_s(reference: &Trace, other: &Trace) -> Option<f64> {
    const STEP_S: f64 = 0.1;
    let even = |trace: &Trace, channel: Channel| -> Option<Vec<f64>> {
        let parts = segments(trace.time_s(), trace.get(channel)?);
        let points: Vec<[f64; 2]> = parts.into_iter().flatten().collect();
        let (first, last) = (points.first()?[0], points.last()?[0].min(points.first()?[0] + 600.0));
        let places = ((last - first) / STEP_S) as usize;
        (0..=places).map(|i| interpolate(&points, first + i as f64 * STEP_S)).collect()
    };
    let starts = |trace: &Trace, channel: Channel| -> Option<f64> {
        let values = trace.get(channel)?;
        trace.time_s().iter().zip(values).find(|(_, v)| v.is_finite()).map(|(t, _)| *t)
    };
    [Channel::CupMass, Channel::Pressure, Channel::Flow].into_iter().find_map(|channel| {
        let delay = super::delay(&even(reference, channel)?, &even(other, channel)?, 300)?;
        Some(delay.samples * STEP_S + starts(other, channel)? - starts(reference, channel)?)
    })
}

/// One pull to overlay.
#[derive(Debug, Clone, Copy)]
pub struct OverlayPull<'a> {
    /// The caller's own number for it, handed through.
    pub key: usize,
    /// Its trace.
    pub trace: &'a Trace,
    /// Its events.
    pub events: &'a Events,
}

/// What part of time is seen, how wide it is drawn, and how exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Left edge, seconds after the alignment point.
    pub from_s: f64,
    /// Right edge, seconds.
    pub to_s: f64,
    /// Width of a strip, pixels.
    pub width_px: usize,
    /// Height of a strip, pixels; with a crowd, points that move a line by less than half a pixel are dropped.
    pub height_px: usize,
}

/// One pull's line in one strip.
#[derive(Debug, Clone, PartialEq)]
pub struct StripLine {
    /// The caller's number.
    pub key: usize,
    /// Joined stretches of points `[seconds after zero, value]`, finite, rising in time.
    pub segments: Vec<Vec<[f64; 2]>>,
}

/// One quantity on the shared time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// The quantity.
    pub channel: Channel,
    /// Smallest and largest value of all pulls over all time (so that the axis stays put while panning).
    pub range: (f64, f64),
    /// A line for each pull that has the channel.
    pub lines: Vec<StripLine>,
}

/// All points of the overlay at full resolution, aligned once; [`Overlay::strips`] thins them for a view.
#[derive(Debug, Clone, Default)]
pub struct Overlay {
    strips: Vec<Strip>,
    zeros: Vec<(usize, f64)>,
    missing: Vec<usize>,
    span: (f64, f64),
}

impl Overlay {
    /// Aligns the pulls. A pull that does not show the alignment point is left out and named by
    /// [`Overlay::not_aligned`].
    #[must_use]
    pub fn new(pulls: &[OverlayPull<'_>], alignment: Alignment) -> Self {
        let mut out = Self { span: (f64::INFINITY, f64::NEG_INFINITY), ..Self::default() };
        for channel in Channel::ALL {
            out.strips.push(Strip { channel, range: (f64::INFINITY, f64::NEG_INFINITY), lines: Vec::new() });
        }
        for pull in pulls {
            let Some(zero) = alignment.zero_s(pull.trace, pull.events).filter(|z| z.is_finite()) else {
                out.missing.push(pull.key);
                continue;
            };
            out.zeros.push((pull.key, zero));
            if let (Some(first), Some(last)) = (pull.trace.time_s().first(), pull.trace.time_s().last()) {
                out.span = (out.span.0.min(first - zero), out.span.1.max(last - zero));
            }
            for strip in &mut out.strips {
                let Some(values) = pull.trace.get(strip.channel) else { continue };
                let mut parts = segments(pull.trace.time_s(), values);
                for point in parts.iter_mut().flatten() {
                    point[0] -= zero;
                    strip.range = (strip.range.0.min(point[1]), strip.range.1.max(point[1]));
                }
                strip.lines.push(StripLine { key: pull.key, segments: parts });
            }
        }
        out.strips.retain(|strip| strip.lines.iter().any(|line| !line.segments.is_empty()));
        if !(out.span.0.is_finite() && out.span.1.is_finite()) {
            out.span = (0.0, 1.0);
        }
        out
    }

    /// First and last time of all pulls, seconds after the alignment point.
    #[must_use]
    pub fn span_s(&self) -> (f64, f64) {
        self.span
    }

    /// Keys of the pulls left out because they do not show the alignment point.
    #[must_use]
    pub fn not_aligned(&self) -> &[usize] {
        &self.missing
    }

    /// The time on a pull's own trace that lies at zero.
    #[must_use]
    pub fn zero_s(&self, key: usize) -> Option<f64> {
        self.zeros.iter().find(|(k, _)| *k == key).map(|&(_, zero)| zero)
    }

    /// The strips at full resolution, in the order of [`Channel::ALL`]; channels that no pull has are left out.
    #[must_use]
    pub fn full(&self) -> &[Strip] {
        &self.strips
    }

    /// The strips thinned for a view: pulls in `exact` keep every extreme of every pixel column ([`min_max`]); the rest
    /// are also rid of points that move their line by less than half a pixel ([`simplify`]).
    #[must_use]
    pub fn strips(&self, view: View, exact: &[usize]) -> Vec<Strip> {
        self.strips
            .iter()
            .map(|strip| {
                #[allow(clippy::cast_precision_loss)]
                let pixel = (strip.range.1 - strip.range.0) / view.height_px.max(1) as f64;
                let lines = strip
                    .lines
                    .iter()
                    .map(|line| StripLine {
                        key: line.key,
                        segments: line
                            .segments
                            .iter()
                            .map(|part| {
                                let kept = min_max(part, view.from_s, view.to_s, view.width_px);
                                if exact.contains(&line.key) { kept } else { simplify(&kept, 0.5 * pixel) }
                            })
                            .filter(|part| !part.is_empty())
                            .collect(),
                    })
                    .collect();
                Strip { channel: strip.channel, range: strip.range, lines }
            })
            .collect()
    }

    /// What every pull reads at a time after the alignment point, for the table beside the strips.
    #[must_use]
    pub fn cursor(&self, time_s: f64) -> Vec<Cursor> {
        self.zeros
            .iter()
            .map(|&(key, _)| {
                let mut values = [None; 4];
                for strip in &self.strips {
                    let line = strip.lines.iter().find(|line| line.key == key);
                    if let (Some(line), Some(slot)) = (line, values.get_mut(strip.channel as usize)) {
                        *slot = line.segments.iter().find_map(|part| interpolate(part, time_s));
                    }
                }
                Cursor { key, values }
            })
            .collect()
    }
}

/// A trace less another, sample by sample of the first, each on the time that counts from its own zero; NaN where the
/// other has no value. `None` when they share no channel or no time.
#[must_use]
pub fn difference(trace: &Trace, zero_s: f64, other: &Trace, other_zero_s: f64) -> Option<Trace> {
    let channels: Vec<(Channel, Vec<f64>)> = Channel::ALL
        .into_iter()
        .filter_map(|channel| {
            let (values, _) = (trace.get(channel)?, other.get(channel)?);
            let less = |(t, v): (&f64, &f64)| {
                value_at(other, channel, t - zero_s + other_zero_s).map_or(f64::NAN, |w| v - w)
            };
            let out: Vec<f64> = trace.time_s().iter().zip(values).map(less).collect();
            out.iter().any(|v| v.is_finite()).then_some((channel, out))
        })
        .collect();
    Trace::new(trace.time_s().to_vec(), channels).ok()
}

/// What one pull reads under the cursor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cursor {
    /// The caller's number.
    pub key: usize,
    values: [Option<f64>; 4],
}

impl Cursor {
    /// The value of a channel (bar, g/s, g, °C); `None` outside the trace, within a gap, or without the channel.
    #[must_use]
    pub fn get(&self, channel: Channel) -> Option<f64> {
        self.values.get(channel as usize).copied().flatten()
    }
}

fn interpolate(part: &[[f64; 2]], t: f64) -> Option<f64> {
    let after = part.partition_point(|p| p[0] < t);
    let right = part.get(after)?;
    if right[0] == t {
        return Some(right[1]);
    }
    let left = part.get(after.checked_sub(1)?)?;
    Some(left[1] + (right[1] - left[1]) * (t - left[0]) / (right[0] - left[0]))
}

/// A channel's value at a time of the trace's own, between samples by a straight line; `None` outside, in a gap, or
/// without the channel.
#[must_use]
pub fn value_at(trace: &Trace, channel: Channel, time_s: f64) -> Option<f64> {
    let (time, values) = (trace.time_s(), trace.get(channel)?);
    let after = time.partition_point(|&t| t < time_s);
    let right = (after..time.len()).find(|&at| values.get(at).is_some_and(|v| v.is_finite()))?;
    let (tr, vr) = (*time.get(right)?, *values.get(right)?);
    if tr == time_s {
        return Some(vr);
    }
    let left = (0..after).rev().find(|&at| values.get(at).is_some_and(|v| v.is_finite()))?;
    let (tl, vl) = (*time.get(left)?, *values.get(left)?);
    let limit = gap_limit_near(time, values, after);
    (tr - tl <= limit).then(|| vl + (vr - vl) * (time_s - tl) / (tr - tl))
}

/// The gap limit from the channel's own steps near a place, so that a lookup need not read the whole trace.
fn gap_limit_near(time: &[f64], values: &[f64], near: usize) -> f64 {
    let there = |at: &usize| values.get(*at).is_some_and(|v| v.is_finite());
    let mut places: Vec<usize> = (0..near).rev().filter(there).take(25).collect();
    places.reverse();
    places.extend((near..time.len()).filter(there).take(25));
    gap_limit_s(&places.iter().filter_map(|&at| time.get(at).copied()).collect::<Vec<f64>>())
}
