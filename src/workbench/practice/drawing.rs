//! The drawn drive, changed point by point: by dragging, by keys or by numbers, always within what can be pulled.

use crate::practice::{Bench, Drawn, Handle};
use crate::puck::Profile;

/// What can be drawn over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Line {
    /// Pressure above the bed, bar.
    Pressure,
    /// Ceiling of the flow, mL/s.
    Flow,
    /// Water temperature, °C.
    Temperature,
}

/// Points that can be told apart and taken hold of.
pub const MOST_POINTS: usize = 12;
/// Last second that can be drawn.
pub const LAST_S: f64 = 60.0;
/// Points are set on this raster of time, seconds.
pub const TIME_STEP_S: f64 = 0.5;

/// One change of a drawn line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stroke {
    /// Point `at` goes to a time (s) and a value.
    Move {
        /// Which point, counted from 0.
        at: usize,
        /// Seconds.
        time_s: f64,
        /// Value in the line's own unit.
        value: f64,
    },
    /// A point is added on the line behind point `at`, half-way to the next one or 5 s later.
    AddAfter(usize),
    /// Point `at` is taken out.
    Remove(usize),
}

impl Line {
    /// All lines.
    pub const ALL: [Self; 3] = [Self::Pressure, Self::Flow, Self::Temperature];

    /// Name for a label.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Pressure => word!("work-practice-drawing-pressure"),
            Self::Flow => word!("work-practice-drawing-flow"),
            Self::Temperature => word!("work-practice-drawing-temperature"),
        }
    }

    /// Smallest and largest value, and the step of the keys: bar, mL/s or °C.
    #[must_use]
    pub fn range(self) -> (f64, f64, f64) {
        match self {
            Self::Pressure => (0.0, 12.0, 0.5),
            Self::Flow => (0.0, 8.0, 0.2),
            Self::Temperature => (80.0, 100.0, 1.0),
        }
    }

    /// The line as drawn; `None` where it follows the machine.
    #[must_use]
    pub fn of(self, drawn: &Drawn) -> Option<&Profile> {
        match self {
            Self::Pressure => drawn.pressure_bar.as_ref(),
            Self::Flow => drawn.flow_ml_s.as_ref(),
            Self::Temperature => drawn.temperature_c.as_ref(),
        }
    }

    fn put(self, drawn: &mut Drawn, profile: Option<Profile>) {
        match self {
            Self::Pressure => drawn.pressure_bar = profile,
            Self::Flow => drawn.flow_ml_s = profile,
            Self::Temperature => drawn.temperature_c = profile,
        }
    }

    /// The line that holds on a bench, drawn or not, `(time_s, value)`; empty for a flow that nothing limits.
    #[must_use]
    pub fn points(self, bench: &Bench) -> Vec<(f64, f64)> {
        if let Some(profile) = self.of(&bench.drawn) {
            return profile.points().to_vec();
        }
        match self {
            Self::Pressure => bench.bar.pressure().points().to_vec(),
            Self::Flow => Vec::new(),
            Self::Temperature => vec![(0.0, bench.get(Handle::Temperature))],
        }
    }

    /// Whether its points can be taken hold of: a recorded line has too many.
    #[must_use]
    pub fn can_be_held(self, bench: &Bench) -> bool {
        self.points(bench).len() <= MOST_POINTS
    }

    /// Draws what holds now, so that it can be changed; a recorded line is put into few points.
    pub fn begin(self, bench: &mut Bench) {
        let (low, high, step) = self.range();
        let mut points = self.points(bench);
        if points.is_empty() {
            points.push((0.0, 4.0));
        }
        if let [only] = points.as_slice() {
            points = vec![*only, (10.0, only.1), (30.0, only.1)];
        }
        let mut tolerance = 0.5 * step;
        let all: Vec<[f64; 2]> = points.iter().map(|(t, v)| [*t, v.clamp(low, high)]).collect();
        let mut few = all.clone();
        while few.len() > MOST_POINTS {
            few = crate::trace::simplify(&all, tolerance);
            tolerance *= 1.5;
        }
        let points = few.into_iter().map(|[t, v]| (snap(t.clamp(0.0, LAST_S), TIME_STEP_S), v)).collect();
        self.put(&mut bench.drawn, Some(Profile::lines(points)));
    }

    /// Gives the line back to the machine.
    pub fn let_go(self, bench: &mut Bench) {
        self.put(&mut bench.drawn, None);
    }

    /// Carries out one change; a line that is not drawn yet is drawn first. Times keep their order, values their range.
    pub fn change(self, bench: &mut Bench, stroke: Stroke) {
        if self.of(&bench.drawn).is_none() || !self.can_be_held(bench) {
            self.begin(bench);
        }
        let (low, high, step) = self.range();
        let mut points = self.points(bench);
        match stroke {
            Stroke::Move { at, time_s, value } => {
                let from = at.checked_sub(1).and_then(|before| points.get(before)).map_or(0.0, |p| p.0);
                let to = points.get(at + 1).map_or(LAST_S, |p| p.0).max(from);
                // The first point is where the pump goes on.
                let to = if at == 0 { 0.0 } else { to };
                let Some(point) = points.get_mut(at) else { return };
                if time_s.is_finite() && value.is_finite() {
                    // A tenth of a step: dragging is finer than the keys.
                    let value = snap(value.clamp(low, high), 0.2 * step);
                    *point = (snap(time_s.clamp(from, to), TIME_STEP_S).clamp(from, to), value);
                }
            }
            Stroke::AddAfter(at) => {
                let Some(&(from, value)) = points.get(at).filter(|_| points.len() < MOST_POINTS) else {
                    return;
                };
                let next = points.get(at + 1).copied();
                let time_s =
                    next.map_or((from + 5.0).min(LAST_S), |next| snap(0.5 * (from + next.0), TIME_STEP_S));
                let share = next.filter(|n| n.0 > from).map_or(0.0, |n| (time_s - from) / (n.0 - from));
                let value = value + share * (next.map_or(value, |n| n.1) - value);
                points.insert(at + 1, (time_s, value));
            }
            Stroke::Remove(at) => {
                if points.len() > 1 && at < points.len() {
                    points.remove(at);
                    if let Some(first) = points.first_mut() {
                        first.0 = 0.0;
                    }
                }
            }
        }
        self.put(&mut bench.drawn, Some(Profile::lines(points)));
    }
}

fn snap(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_change_leaves_something_that_pulls() {
        let mut bench = Bench::default();
        for line in Line::ALL {
            let wild = [f64::NAN, f64::INFINITY, -1e300, 1e300, 0.0, 7.3];
            for at in [0, 1, 2, 99] {
                for time_s in wild {
                    for value in wild {
                        line.change(&mut bench, Stroke::Move { at, time_s, value });
                    }
                }
                line.change(&mut bench, Stroke::AddAfter(at));
                line.change(&mut bench, Stroke::Remove(at));
            }
            for _ in 0..20 {
                line.change(&mut bench, Stroke::AddAfter(0));
            }
            let points = line.points(&bench);
            assert!(points.len() <= MOST_POINTS && points.is_sorted_by(|a, b| a.0 <= b.0), "{points:?}");
            assert_eq!(points[0].0, 0.0);
            assert!(bench.drive().is_ok());
            for _ in 0..20 {
                line.change(&mut bench, Stroke::Remove(0));
            }
            assert_eq!(line.points(&bench).len(), 1);
            line.let_go(&mut bench);
            assert!(line.of(&bench.drawn).is_none());
        }
    }

    #[test]
    fn a_recorded_line_becomes_few_points_that_lie_on_it() {
        let mut bench = Bench::default();
        let points: Vec<(f64, f64)> =
            (0..200).map(|k| (f64::from(k) * 0.25, 9.0 - f64::from(k) * 0.02)).collect();
        bench.drawn.pressure_bar = Some(Profile::lines(points.clone()));
        assert!(!Line::Pressure.can_be_held(&bench));
        Line::Pressure.begin(&mut bench);
        let drawn = Profile::lines(Line::Pressure.points(&bench));
        assert!(Line::Pressure.can_be_held(&bench));
        for (t, v) in points {
            assert!((drawn.at(t) - v).abs() < 0.3, "{t}: {v} {}", drawn.at(t));
        }
    }
}
