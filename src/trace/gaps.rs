//! Where a trace has no samples.

pub(crate) use crate::domain::gap_limit_s;
pub use crate::domain::usual_step_s;

/// A stretch without samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Index of the last sample before it.
    pub before: usize,
    /// Its length, seconds.
    pub seconds: f64,
}

/// All gaps in a rising time base: steps of more than five usual ones and more than half a second.
#[must_use]
pub fn gaps(time_s: &[f64]) -> Vec<Gap> {
    let limit = gap_limit_s(time_s);
    time_s
        .windows(2)
        .enumerate()
        .filter_map(|(before, pair)| match pair {
            [a, b] if b - a > limit => Some(Gap { before, seconds: b - a }),
            _ => None,
        })
        .collect()
}

/// Ranges of samples that may be joined by a line: values finite, no gap of time in between. Single missing samples
/// between finite neighbours do not break a line when the step over them is no gap by the channel's own pace.
#[must_use]
pub fn segments(time_s: &[f64], values: &[f64]) -> Vec<Vec<[f64; 2]>> {
    let point = |at: usize| Some([*time_s.get(at)?, *values.get(at)?]);
    joined(time_s, values).into_iter().map(|run| run.into_iter().filter_map(point).collect()).collect()
}

/// Places of the finite values, run by run: within one run no step is a gap. A channel that comes more slowly than the log
/// has gaps by its own pace, not by that of the log.
pub(crate) fn joined(time_s: &[f64], values: &[f64]) -> Vec<Vec<usize>> {
    let there = || {
        let all = time_s.iter().zip(values).enumerate();
        all.filter(|(_, (t, v))| t.is_finite() && v.is_finite()).map(|(at, (&t, _))| (at, t))
    };
    let limit = gap_limit_s(&there().map(|(_, t)| t).collect::<Vec<f64>>());
    let mut runs: Vec<Vec<usize>> = Vec::new();
    let mut last_s = f64::NEG_INFINITY;
    for (at, t) in there() {
        match runs.last_mut() {
            Some(run) if t - last_s <= limit => run.push(at),
            _ => runs.push(vec![at]),
        }
        last_s = t;
    }
    runs
}

/// The median step between the samples that a channel has, seconds; 0 for fewer than two.
pub(crate) fn own_step_s(time_s: &[f64], values: &[f64]) -> f64 {
    let there = time_s.iter().zip(values).filter(|(_, v)| v.is_finite());
    usual_step_s(&there.map(|(t, _)| *t).collect::<Vec<f64>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_gaps_and_never_carry_nan() {
        let time: Vec<f64> = [0.0, 0.1, 0.2, 0.3, 2.0, 2.1, 2.2, 2.3, 2.4].to_vec();
        let mut value = vec![1.0; 9];
        value[1] = f64::NAN;
        let parts = segments(&time, &value);
        assert_eq!(parts.iter().map(Vec::len).collect::<Vec<_>>(), [3, 5]);
        assert!(parts.iter().flatten().flatten().all(|v| v.is_finite()));
        assert_eq!(gaps(&time), [Gap { before: 3, seconds: 1.7 }]);
        assert_eq!(joined(&time, &value), [vec![0, 2, 3], vec![4, 5, 6, 7, 8]]);
        // One reading a second beside a log of 10 Hz, and a pause of ten seconds.
        let time: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.1).collect();
        let slow: Vec<f64> = (0..400)
            .map(|i| if i % 10 == 0 && !(201..300).contains(&i) { f64::from(i) } else { f64::NAN })
            .collect();
        assert_eq!(segments(&time, &slow).iter().map(Vec::len).collect::<Vec<_>>(), [21, 10]);
        assert!((own_step_s(&time, &slow) - 1.0).abs() < 1e-9);
    }
}
