//! The small picture of a trace in a ledger's row, drawn to the scale of the rows around it.

use crate::domain::{Channel, Trace};

/// A trace as a sparkline: one channel at equal distances of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Spark {
    /// Which channel: cup mass, which tells most about how a pull ran; else flow; else pressure.
    pub channel: Channel,
    /// Seconds from the first sample to the last.
    pub span_s: f32,
    /// Values in the channel's own unit; NaN in gaps.
    pub values: Vec<f32>,
}

/// The sparkline of a trace with `count` values; `None` where there is nothing to draw.
#[must_use]
pub fn spark(trace: &Trace, count: usize) -> Option<Spark> {
    let (channel, samples) = [Channel::CupMass, Channel::Flow, Channel::Pressure]
        .into_iter()
        .find_map(|channel| trace.get(channel).map(|samples| (channel, samples)))?;
    let times = trace.time_s();
    let (first, last) = (times.first()?, times.last()?);
    if count < 2 || samples.iter().all(|v| !v.is_finite() || *v <= 0.0) {
        return None;
    }
    let values = (0..count)
        .map(|at| {
            let t = first + (last - first) * at as f64 / (count - 1) as f64;
            let index = times.partition_point(|time| *time < t).min(samples.len().saturating_sub(1));
            samples.get(index).map_or(f32::NAN, |v| *v as f32)
        })
        .collect();
    Some(Spark { channel, span_s: (last - first) as f32, values })
}

impl Spark {
    /// Points of the sparkline within a unit square, up being 1, where all `others` would fit too: a faster pull is
    /// steeper and ends sooner, a larger cup ends higher. NaN in gaps.
    #[must_use]
    pub fn points<'a>(&self, others: impl IntoIterator<Item = &'a Spark>) -> Vec<(f32, f32)> {
        let (mut longest, mut highest) = (self.span_s, self.highest());
        for other in others {
            longest = longest.max(other.span_s);
            if other.channel == self.channel {
                highest = highest.max(other.highest());
            }
        }
        let last = self.values.len().saturating_sub(1).max(1) as f32;
        let share = if longest > 0.0 { self.span_s / longest } else { 1.0 };
        let high = if highest > 0.0 { highest } else { 1.0 };
        let point = |(at, v): (usize, &f32)| {
            let up = v / high;
            (share * at as f32 / last, if up.is_finite() { up.clamp(0.0, 1.0) } else { f32::NAN })
        };
        self.values.iter().enumerate().map(point).collect()
    }

    fn highest(&self) -> f32 {
        self.values.iter().copied().filter(|v| v.is_finite()).fold(0.0, f32::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(end_s: f64, grams: f64, mass: bool) -> Trace {
        let times: Vec<f64> = (0..=(end_s * 10.0) as usize).map(|i| i as f64 / 10.0).collect();
        let pressure: Vec<f64> =
            times.iter().map(|t| if (10.0..11.0).contains(t) { f64::NAN } else { 9.0 }).collect();
        let cup: Vec<f64> = times.iter().map(|t| ((t - 6.0) / (end_s - 6.0)).max(0.0) * grams).collect();
        let mut channels = vec![(Channel::Pressure, pressure)];
        if mass {
            channels.push((Channel::CupMass, cup));
        }
        Trace::new(times, channels).unwrap()
    }

    #[test]
    fn cup_mass_comes_before_pressure() {
        assert_eq!(spark(&trace(28.0, 36.0, true), 40).unwrap().channel, Channel::CupMass);
        let other = spark(&trace(28.0, 36.0, false), 40).unwrap();
        assert_eq!(other.channel, Channel::Pressure);
        assert!(other.values.iter().any(|v| v.is_nan()) && other.points([]).iter().any(|p| p.1.is_nan()));
        assert_eq!(spark(&trace(28.0, 0.0, true), 40), None);
    }

    #[test]
    fn rows_share_their_scale() {
        let fast = spark(&trace(15.0, 36.0, true), 40).unwrap();
        let slow = spark(&trace(30.0, 18.0, true), 40).unwrap();
        let (a, b) = (fast.points([&slow]), slow.points([&fast]));
        let end = |points: &[(f32, f32)]| *points.last().unwrap();
        assert!((end(&a).0 - 0.5).abs() < 1e-3 && (end(&a).1 - 1.0).abs() < 1e-3, "{:?}", end(&a));
        assert!((end(&b).0 - 1.0).abs() < 1e-3 && (end(&b).1 - 0.5).abs() < 1e-3, "{:?}", end(&b));
        assert!(a.iter().chain(&b).all(|p| (0.0..=1.0).contains(&p.0) && (0.0..=1.0).contains(&p.1)));
    }
}
