//! Where a trace has no samples.

use std::ops::Range;

/// A stretch without samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Index of the last sample before it.
    pub before: usize,
    /// Its length, seconds.
    pub seconds: f64,
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
/// between finite neighbours do not break a line when the step over them is no gap.
#[must_use]
pub fn segments(time_s: &[f64], values: &[f64]) -> Vec<Vec<[f64; 2]>> {
    let limit = gap_limit_s(time_s);
    let mut all: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut current: Vec<[f64; 2]> = Vec::new();
    for (&t, &v) in time_s.iter().zip(values) {
        if !(t.is_finite() && v.is_finite()) {
            continue;
        }
        if current.last().is_some_and(|last| t - last[0] > limit) {
            all.push(std::mem::take(&mut current));
        }
        current.push([t, v]);
    }
    if !current.is_empty() {
        all.push(current);
    }
    all
}

/// Contiguous index ranges of finite values without a gap of time.
pub(crate) fn finite_runs(time_s: &[f64], values: &[f64]) -> Vec<Range<usize>> {
    let limit = gap_limit_s(time_s);
    let mut runs: Vec<Range<usize>> = Vec::new();
    let mut last: Option<f64> = None;
    for (at, (&t, &v)) in time_s.iter().zip(values).enumerate() {
        if !(t.is_finite() && v.is_finite()) {
            last = None;
            continue;
        }
        match (runs.last_mut(), last) {
            (Some(run), Some(before)) if t - before <= limit => run.end = at + 1,
            _ => runs.push(at..at + 1),
        }
        last = Some(t);
    }
    runs
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
        assert_eq!(finite_runs(&time, &value), [0..1, 2..4, 4..9]);
    }
}
