//! The trace of one pull: time and any of pressure, flow, cup mass, temperature.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use thiserror::Error;

use crate::units::capital;

/// What a trace can hold beside time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Channel {
    /// Pressure, bar gauge.
    Pressure,
    /// Flow, grams a second.
    Flow,
    /// Mass in the cup, grams.
    CupMass,
    /// Water temperature, °C.
    Temperature,
}

impl Channel {
    /// All channels, in the order of the strips.
    pub const ALL: [Self; 4] = [Self::Pressure, Self::Flow, Self::CupMass, Self::Temperature];

    /// The channel in running text.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::CupMass => word!("domain-trace-cup-mass"),
            _ => self.quantity().name(),
        }
    }

    /// Its name in files, the same in every language.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::Flow => "flow",
            Self::CupMass => "cup mass",
            Self::Temperature => "temperature",
        }
    }

    /// The quantity that the channel measures (cup mass counts as a yield in grams).
    #[must_use]
    pub fn quantity(self) -> crate::units::Quantity {
        use crate::units::Quantity;
        match self {
            Self::Pressure => Quantity::Pressure,
            Self::Flow => Quantity::Flow,
            Self::CupMass => Quantity::Yield,
            Self::Temperature => Quantity::Temperature,
        }
    }
}

/// Why samples make no trace.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TraceFault {
    /// A channel's length differs from that of time.
    #[error("{}", say!("domain-trace-length", channel = capital(channel.word()), got = got, want = want))]
    Length {
        /// Which channel.
        channel: Channel,
        /// Its samples.
        got: usize,
        /// Samples of time.
        want: usize,
    },
    /// Time is not finite or does not rise.
    #[error("{}", say!("domain-trace-time", index = index))]
    Time {
        /// Index of the offending sample, counted from 0.
        index: usize,
    },
    /// A time further from zero than [`Trace::FARTHEST_S`], such as a date's.
    #[error("{}", say!("domain-trace-far", index = index))]
    Far {
        /// Index of the offending sample, counted from 0.
        index: usize,
    },
    /// Fewer than two samples, or no channel.
    #[error("{}", word!("domain-trace-too-short"))]
    TooShort,
    /// An infinite sample.
    #[error("{}", say!("domain-trace-infinite", channel = capital(channel.word()), index = index))]
    Infinite {
        /// Which channel.
        channel: Channel,
        /// Index of the sample, counted from 0.
        index: usize,
    },
}

/// Samples of one pull on one time base. Time is finite and strictly rising, in seconds, at most [`Trace::FARTHEST_S`]
/// from zero and usually with the pump going on near zero. A sample that is missing in one channel is NaN there; nothing
/// is infinite.
#[derive(Debug, Clone, Default)]
pub struct Trace {
    time_s: Vec<f64>,
    channels: [Option<Vec<f64>>; 4],
    // Shared by copies, whose samples are the same.
    extents: Arc<[OnceLock<Extent>; 4]>,
}

/// Steps longer than this many usual steps (and than [`LEAST_GAP_S`]) are gaps. Common practice, no source.
const GAP_STEPS: f64 = 5.0;
/// Shortest gap, seconds.
const LEAST_GAP_S: f64 = 0.5;

/// The median step between samples, seconds; 0 for fewer than two samples.
#[must_use]
pub fn usual_step_s(time_s: &[f64]) -> f64 {
    let mut steps: Vec<f64> = time_s
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] => Some(b - a),
            _ => None,
        })
        .collect();
    if steps.is_empty() {
        return 0.0;
    }
    let middle = steps.len() / 2;
    let (_, median, _) = steps.select_nth_unstable_by(middle, f64::total_cmp);
    *median
}

/// The step above which two neighbouring samples are not joined, seconds.
pub(crate) fn gap_limit_s(time_s: &[f64]) -> f64 {
    (usual_step_s(time_s) * GAP_STEPS).max(LEAST_GAP_S)
}

/// Where a channel has samples, and between which values they lie.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Extent {
    /// Places of the samples between two gaps, stretch by stretch, from a sample that is there to one that is there. Single
    /// ones may be missing in between, where the step over them is no gap by the channel's own pace: a scale that is slower
    /// than the log is one stretch. A sample that stands alone is in none.
    pub stretches: Vec<Range<usize>>,
    /// Lowest and highest of them, in the channel's base unit; `None` without a stretch.
    pub range: Option<(f64, f64)>,
}

impl Extent {
    fn of(time_s: &[f64], samples: &[f64]) -> Self {
        let there = || samples.iter().zip(time_s).enumerate().filter(|(_, (v, _))| v.is_finite());
        let limit = if samples.iter().all(|v| v.is_finite()) {
            f64::INFINITY
        } else {
            gap_limit_s(&there().map(|(_, (_, t))| *t).collect::<Vec<f64>>())
        };
        let mut stretches: Vec<Range<usize>> = Vec::new();
        let mut last_s = f64::NEG_INFINITY;
        for (at, (_, &t)) in there() {
            match stretches.last_mut() {
                Some(stretch) if stretch.end == at || t - last_s <= limit => stretch.end = at + 1,
                _ => stretches.push(at..at + 1),
            }
            last_s = t;
        }
        stretches.retain(|stretch| stretch.len() > 1);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for v in stretches.iter().filter_map(|stretch| samples.get(stretch.clone())).flatten() {
            // A missing one is neither lower nor higher.
            (low, high) = (low.min(*v), high.max(*v));
        }
        Self { stretches, range: (low <= high).then_some((low, high)) }
    }
}

impl PartialEq for Trace {
    /// Two traces are equal when every sample is; missing samples (NaN) equal each other.
    fn eq(&self, other: &Self) -> bool {
        let same = |a: &[f64], b: &[f64]| {
            a.len() == b.len() && a.iter().zip(b).all(|(x, y)| x == y || (x.is_nan() && y.is_nan()))
        };
        same(&self.time_s, &other.time_s)
            && Channel::ALL.iter().all(|&channel| match (self.get(channel), other.get(channel)) {
                (None, None) => true,
                (Some(a), Some(b)) => same(a, b),
                _ => false,
            })
    }
}

impl Trace {
    /// How far from zero the time of a sample may lie, seconds (over eleven days). Further out differences of doubles
    /// lose the thousandths of a second that a trace is read by, and in the end the seconds.
    pub const FARTHEST_S: f64 = 1e6;

    /// Checks and makes a trace.
    ///
    /// # Errors
    /// [`TraceFault`] when a length differs, time does not rise or lies too far from zero, a sample is infinite, or there
    /// is too little.
    pub fn new(
        time_s: Vec<f64>,
        channels: impl IntoIterator<Item = (Channel, Vec<f64>)>,
    ) -> Result<Self, TraceFault> {
        let rises = |pair: &[f64]| matches!(pair, [a, b] if a.is_finite() && b.is_finite() && b > a);
        if let Some(at) = time_s.windows(2).position(|pair| !rises(pair)) {
            return Err(TraceFault::Time { index: at + 1 });
        }
        if let Some(index) = time_s.iter().position(|t| t.abs() > Self::FARTHEST_S) {
            return Err(TraceFault::Far { index });
        }
        let mut trace = Self { time_s, ..Self::default() };
        for (channel, samples) in channels {
            if samples.len() != trace.time_s.len() {
                return Err(TraceFault::Length { channel, got: samples.len(), want: trace.time_s.len() });
            }
            if let Some(index) = samples.iter().position(|v| v.is_infinite()) {
                return Err(TraceFault::Infinite { channel, index });
            }
            if let Some(slot) = trace.channels.get_mut(channel as usize) {
                *slot = Some(samples);
            }
        }
        if trace.time_s.len() < 2 || trace.channels.iter().all(Option::is_none) {
            return Err(TraceFault::TooShort);
        }
        Ok(trace)
    }

    /// Time, seconds, strictly rising.
    #[must_use]
    pub fn time_s(&self) -> &[f64] {
        &self.time_s
    }

    /// A channel's samples in its base unit (bar, g/s, g, °C), NaN where missing; `None` where it was not recorded.
    #[must_use]
    pub fn get(&self, channel: Channel) -> Option<&[f64]> {
        self.channels.get(channel as usize)?.as_deref()
    }

    /// Where a channel has samples and how far they reach, looked for once; `None` where it was not recorded.
    #[must_use]
    pub fn extent(&self, channel: Channel) -> Option<&Extent> {
        let samples = self.get(channel)?;
        Some(self.extents.get(channel as usize)?.get_or_init(|| Extent::of(&self.time_s, samples)))
    }

    /// Number of samples.
    #[must_use]
    pub fn len(&self) -> usize {
        self.time_s.len()
    }

    /// Whether there is no sample (never true of a trace made by [`Trace::new`]).
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.time_s.is_empty()
    }

    /// Seconds from the first to the last sample.
    #[must_use]
    pub fn duration_s(&self) -> f64 {
        match (self.time_s.first(), self.time_s.last()) {
            (Some(first), Some(last)) => last - first,
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_part_the_stretches_and_a_lone_sample_counts_for_nothing() {
        let gap = f64::NAN;
        // A second missing on each side of a lone sample, at 10 Hz.
        let missing = vec![gap; 10];
        let mass = [&[2.0, 3.0], &missing[..], &[99.0], &missing, &[-1.0, 5.0, 4.0]].concat();
        let time: Vec<f64> = (0..26).map(|i| f64::from(i) * 0.1).collect();
        let trace = Trace::new(time.clone(), [(Channel::CupMass, mass)]).unwrap();
        let extent = trace.extent(Channel::CupMass).unwrap();
        assert_eq!(extent.stretches, [0..2, 23..26]);
        assert_eq!(extent.range, Some((-1.0, 5.0)));
        assert!(trace.extent(Channel::Flow).is_none());
        let alone = Trace::new(time, [(Channel::Flow, vec![gap; 26])]).unwrap();
        assert_eq!(alone.extent(Channel::Flow), Some(&Extent::default()));
    }

    #[test]
    fn a_channel_slower_than_the_clock_is_one_stretch() {
        for every in [2, 5, 50] {
            let time: Vec<f64> = (0..1000).map(|i| f64::from(i) * 0.02).collect();
            let mass = (0..1000).map(|i| if i % every == 0 { f64::from(i) } else { f64::NAN }).collect();
            let trace = Trace::new(time, [(Channel::CupMass, mass)]).unwrap();
            let extent = trace.extent(Channel::CupMass).unwrap();
            let last = (999 / every * every) as usize;
            let one = (extent.stretches.len(), extent.stretches.first());
            assert_eq!(one, (1, Some(&(0..last + 1))), "every {every}");
            assert_eq!(extent.range, Some((0.0, last as f64)));
        }
    }

    #[test]
    fn only_sound_samples_make_a_trace() {
        let mass = |v: Vec<f64>| [(Channel::CupMass, v)];
        assert!(Trace::new(vec![0.0, 0.1], mass(vec![0.0, f64::NAN])).is_ok());
        assert_eq!(Trace::new(vec![0.0, 0.2, 0.1], mass(vec![0.0; 3])), Err(TraceFault::Time { index: 2 }));
        assert_eq!(Trace::new(vec![0.0, f64::NAN], mass(vec![0.0; 2])), Err(TraceFault::Time { index: 1 }));
        assert!(matches!(
            Trace::new(vec![0.0, 0.1], mass(vec![0.0])),
            Err(TraceFault::Length { got: 1, want: 2, .. })
        ));
        // A wall clock that was never counted from the first sample.
        for time in
            [vec![0.0, 1.1e6], vec![-1.1e6, 0.0], (0..9).map(|i| 1e17 + 16.0 * f64::from(i)).collect()]
        {
            let made = Trace::new(time.clone(), mass(vec![0.0; time.len()]));
            let told = made.err().map(|fault| fault.to_string()).unwrap_or_default();
            assert!(told.contains("count time from the first sample"), "{time:?}: {told}");
        }
        assert!(Trace::new(vec![-1e6, 1e6], mass(vec![0.0; 2])).is_ok());
        assert_eq!(Trace::new(vec![0.0, 1.0], []), Err(TraceFault::TooShort));
        assert!(matches!(
            Trace::new(vec![0.0, 1.0], mass(vec![0.0, f64::INFINITY])),
            Err(TraceFault::Infinite { index: 1, .. })
        ));
    }
}
