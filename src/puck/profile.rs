//! A quantity prescribed against time: straight lines between points, with jumps where two points share a time.

use super::fault::{PuckFault, misshapen, within};
use serde::{Deserialize, Serialize};

/// Most points a profile may have (a recorded trace of ten minutes at 50 Hz fits).
pub const MOST_POINTS: usize = 32_768;

/// Piecewise-linear function of time. Before the first point and after the last it keeps their values. Two points at
/// one time make a step. Written in RON as a list of `(time_s, value)` pairs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Profile {
    points: Vec<(f64, f64)>,
}

impl Profile {
    /// One value for ever.
    pub fn flat(value: f64) -> Self {
        Self { points: vec![(0.0, value)] }
    }

    /// Straight lines through the points, `(time_s, value)`, times not decreasing. Checked by [`Profile::check`].
    pub fn lines(points: Vec<(f64, f64)>) -> Self {
        Self { points }
    }

    /// Constant pieces: each `(from_s, value)` holds until the next begins.
    pub fn steps(pieces: &[(f64, f64)]) -> Self {
        let mut points = Vec::with_capacity(2 * pieces.len());
        for &(from_s, value) in pieces {
            if let Some(&(_, before)) = points.last() {
                points.push((from_s, before));
            }
            points.push((from_s, value));
        }
        Self { points }
    }

    /// Replay of recorded samples; surplus samples beyond the shorter slice are dropped.
    pub fn recorded(times_s: &[f64], values: &[f64]) -> Self {
        Self { points: times_s.iter().copied().zip(values.iter().copied()).collect() }
    }

    /// The points, `(time_s, value)`.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// The largest value at any time.
    pub fn largest(&self) -> f64 {
        self.points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Refuses an empty list, too many points, times that run backwards and values outside `low..=high`.
    pub fn check(&self, field: &str, low: f64, high: f64) -> Result<(), PuckFault> {
        if self.points.is_empty() {
            return misshapen(field, word!("puck-profile-no-point"));
        }
        if self.points.len() > MOST_POINTS {
            return misshapen(
                field,
                say!("puck-profile-too-many", n = self.points.len(), most = MOST_POINTS),
            );
        }
        let mut before = f64::NEG_INFINITY;
        for (i, &(time_s, value)) in self.points.iter().enumerate() {
            within(&format!("{field}[{i}].time_s"), time_s, -3600.0, 3600.0)?;
            if time_s < before {
                return misshapen(
                    field,
                    say!("puck-profile-out-of-order", at = i, time_s = time_s, before_s = before),
                );
            }
            before = time_s;
            within(&format!("{field}[{i}].value"), value, low, high)?;
        }
        Ok(())
    }

    /// Value at a time (at a step: the later value).
    pub fn at(&self, time_s: f64) -> f64 {
        let after = self.points.partition_point(|p| p.0 <= time_s);
        match (after.checked_sub(1).and_then(|i| self.points.get(i)), self.points.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * ((time_s - a.0) / (b.0 - a.0)),
            (Some(a), None) => a.1,
            (None, Some(b)) => b.1,
            (None, None) => 0.0,
        }
    }

    /// Mean over `from_s..to_s`, exact for the piecewise-linear function. `cursor` remembers where the last call
    /// ended, so that calls at rising times cost nothing; start it at 0.
    pub fn mean(&self, from_s: f64, to_s: f64, cursor: &mut usize) -> f64 {
        let [only] = self.points.as_slice() else {
            return self.mean_of_many(from_s, to_s, cursor);
        };
        only.1
    }

    fn mean_of_many(&self, from_s: f64, to_s: f64, cursor: &mut usize) -> f64 {
        // The cursor is the first point later than `from_s`.
        while self.points.get(*cursor).is_some_and(|p| p.0 <= from_s) {
            *cursor += 1;
        }
        if to_s <= from_s {
            return self.at(from_s);
        }
        let value = |before: Option<&(f64, f64)>, after: Option<&(f64, f64)>, t: f64| match (before, after) {
            (Some(a), Some(b)) if b.0 > a.0 => a.1 + (b.1 - a.1) * ((t - a.0) / (b.0 - a.0)),
            (Some(a), _) => a.1,
            (None, Some(b)) => b.1,
            (None, None) => 0.0,
        };
        let (mut t, mut area, mut next) = (from_s, 0.0, *cursor);
        while t < to_s {
            let before = next.checked_sub(1).and_then(|i| self.points.get(i));
            let after = self.points.get(next);
            let end = after.map_or(to_s, |p| p.0.min(to_s));
            area += 0.5 * (value(before, after, t) + value(before, after, end)) * (end - t);
            t = end;
            next += 1;
        }
        area / (to_s - from_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_are_exact_over_steps_and_ramps() {
        let p = Profile::lines(vec![(1.0, 2.0), (3.0, 2.0), (3.0, 9.0), (5.0, 5.0)]);
        let mut c = 0;
        assert!((p.mean(0.0, 2.0, &mut c) - 2.0).abs() < 1e-15);
        assert!((p.mean(2.0, 4.0, &mut c) - (2.0 + 8.0) / 2.0).abs() < 1e-15);
        assert!((p.mean(4.0, 6.0, &mut c) - (6.0 + 5.0) / 2.0).abs() < 1e-15);
        assert!((p.at(3.0) - 9.0).abs() < 1e-15);
        assert!((Profile::steps(&[(0.0, 3.0), (8.0, 9.0)]).at(7.999) - 3.0).abs() < 1e-12);
    }

    #[test]
    fn backward_times_and_empty_lists_are_refused() {
        assert!(Profile::lines(vec![(2.0, 1.0), (1.0, 1.0)]).check("p", 0.0, 9.0).is_err());
        assert!(Profile::lines(vec![]).check("p", 0.0, 9.0).is_err());
        assert!(Profile::flat(f64::NAN).check("p", 0.0, 9.0).is_err());
    }
}
