//! Guessing which column is what, and in which unit: from the header, and where it is silent from the numbers.

use crate::domain::Channel;
use crate::trace::naming::{self as header, Role};
use crate::units::Unit;

use super::{Assignment, ChannelSource, Column, Table, TimeSource, TimeZero};

/// A guessed assignment and how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// The assignment, ready for [`Table::import`].
    pub assignment: Assignment,
    /// How sure each role is, 0…1.
    pub confidence: Vec<(Role, f64)>,
    /// Further columns that could have been a role, best first.
    pub others: Vec<(Role, Vec<usize>)>,
}

/// Steady step assumed when no column holds time, seconds (10 Hz; common practice, no source).
const DEFAULT_STEP_S: f64 = 0.1;

/// What the numbers of a column look like.
pub(crate) struct Shape {
    pub(crate) count: usize,
    pub(crate) min: f64,
    pub(crate) max: f64,
    /// 95th percentile.
    high: f64,
    /// Share of steps that rise.
    rising: f64,
    /// Share of steps that fall.
    falling: f64,
    falls: usize,
    /// Median of the steps that are not zero.
    step: f64,
    whole: bool,
}

pub(crate) fn shape(column: &Column) -> Shape {
    // At most about 20 000 numbers, spread evenly, say enough; the steps are taken between true neighbours.
    let stride = (column.values.len() / 20_000).max(1);
    let mut sample: Vec<f64> = column.finite().step_by(stride).collect();
    let mut steps: Vec<f64> = Vec::new();
    let (mut rises, mut falls, mut pairs) = (0usize, 0usize, 0usize);
    for pair in column.values.windows(2).step_by(stride) {
        if let [a, b] = pair
            && a.is_finite()
            && b.is_finite()
        {
            pairs += 1;
            rises += usize::from(b > a);
            falls += usize::from(b < a);
            if b != a {
                steps.push((b - a).abs());
            }
        }
    }
    let (mut min, mut max) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in column.finite() {
        min = min.min(value);
        max = max.max(value);
    }
    let whole = sample.iter().all(|v| v.fract() == 0.0);
    sample.sort_by(f64::total_cmp);
    steps.sort_by(f64::total_cmp);
    #[allow(clippy::cast_precision_loss)]
    let share = |n: usize| if pairs == 0 { 0.0 } else { n as f64 / pairs as f64 };
    Shape {
        count: column.samples(),
        min: if min.is_finite() { min } else { 0.0 },
        max: if max.is_finite() { max } else { 0.0 },
        high: sample.get(sample.len() * 95 / 100).copied().unwrap_or(0.0),
        rising: share(rises),
        falling: share(falls),
        falls,
        step: steps.get(steps.len() / 2).copied().unwrap_or(0.0),
        whole,
    }
}

impl Shape {
    fn could_be_time(&self) -> bool {
        self.count >= 2
            && self.rising > 0.0
            && (self.falling <= 0.02 || self.falls <= 1)
            && self.max > self.min
    }
}

/// A unit for a role, from the cells, the header or, failing both, the size of the numbers; and whether it was read.
pub(crate) fn unit_for(column: &Column, shape: &Shape, role: Role) -> (Unit, bool) {
    if column.clock && role == Role::Time {
        return (Unit::Second, true);
    }
    let takes = |unit: &Unit| header::quantity(role).takes(*unit);
    let written = column.unit_text.as_deref().and_then(Unit::from_text).filter(takes);
    if let Some(unit) = column.cell_unit.filter(takes).or(written) {
        return (unit, true);
    }
    (unit_by_size(shape, role), false)
}

/// Times that span less are no milliseconds (or microseconds): no pull is over within two seconds, but one noted by hand has
/// a time every few seconds.
const SHORTEST_MS: f64 = 2_000.0;
const SHORTEST_US: f64 = 2_000_000.0;

/// Thresholds: common practice, no source. A pull lasts seconds to minutes and is logged at 1–200 Hz; pressures stay
/// under 25 bar; brew water is between 60 and 100 °C.
fn unit_by_size(shape: &Shape, role: Role) -> Unit {
    match role {
        Role::Time => {
            if shape.step >= 2_000.0 && shape.max - shape.min >= SHORTEST_US {
                Unit::Microsecond
            } else if (shape.step > 3.0 || (shape.whole && shape.step > 1.5))
                && shape.max - shape.min >= SHORTEST_MS
            {
                Unit::Millisecond
            } else {
                Unit::Second
            }
        }
        Role::Channel(Channel::Pressure) => match shape.high {
            high if high <= 25.0 => Unit::Bar,
            high if high <= 250.0 && shape.max <= 300.0 => Unit::Psi,
            high if high <= 2_500.0 => Unit::Kilopascal,
            high if high <= 25_000.0 => Unit::Millibar,
            _ => Unit::Pascal,
        },
        Role::Channel(Channel::Flow) => {
            if shape.high > 30.0 {
                Unit::GramPerMinute
            } else {
                Unit::GramPerSecond
            }
        }
        Role::Channel(Channel::CupMass) => {
            if shape.high > 2_500.0 && shape.whole {
                Unit::Milligram
            } else {
                Unit::Gram
            }
        }
        Role::Channel(Channel::Temperature) => match shape.high {
            high if high <= 115.0 => Unit::Celsius,
            high if high <= 260.0 => Unit::Fahrenheit,
            _ => Unit::Kelvin,
        },
    }
}

/// How well the numbers suit a role, 0…1, as a factor on what the header says.
fn fits(column: &Column, shape: &Shape, role: Role) -> f64 {
    if shape.count == 0 && role != Role::Time {
        return 0.0;
    }
    let (unit, _) = unit_for(column, shape, role);
    let (low, high) = (unit.to_base(shape.min), unit.to_base(shape.high));
    match role {
        // A column called time that does not rise is still meant to be time; the import then says where it fails.
        Role::Time => {
            if shape.could_be_time() {
                1.0
            } else {
                0.4
            }
        }
        Role::Channel(_) if column.clock => 0.0,
        Role::Channel(Channel::Pressure) if high > 30.0 || low < -2.0 => 0.4,
        Role::Channel(Channel::Flow) if high > 30.0 => 0.4,
        Role::Channel(Channel::Temperature) if !(10.0..=160.0).contains(&high) => 0.3,
        Role::Channel(_) => 1.0,
    }
}

/// What a column without a telling name could be, from its numbers alone; low confidence.
fn by_numbers(shape: &Shape) -> Option<(Channel, f64)> {
    if shape.count < 3 || shape.max <= shape.min {
        return None;
    }
    if shape.min > 60.0 && shape.max < 115.0 {
        return Some((Channel::Temperature, 0.3));
    }
    let span = shape.max - shape.min;
    if shape.max > 5.0 && shape.falling < 0.3 && shape.high > shape.min + 0.7 * span && shape.rising > 0.3 {
        return Some((Channel::CupMass, 0.3));
    }
    if (3.0..=16.0).contains(&shape.max) && shape.min > -1.5 {
        return Some((Channel::Pressure, 0.25));
    }
    if (0.3..=10.0).contains(&shape.max) && shape.min > -3.0 {
        return Some((Channel::Flow, 0.2));
    }
    None
}

/// Smallest score that makes a column a candidate.
const LEAST: f64 = 0.25;

impl Table {
    /// Guesses which column is what.
    #[must_use]
    pub fn guess(&self) -> Guess {
        let shapes: Vec<Shape> = self.columns.iter().map(shape).collect();
        let score = |at: usize, role: Role| -> f64 {
            let (Some(column), Some(shape)) = (self.columns.get(at), shapes.get(at)) else { return 0.0 };
            let unit = column.cell_unit.or_else(|| column.unit_text.as_deref().and_then(Unit::from_text));
            let mut said = header::score(&column.name, unit, role);
            if role == Role::Time && column.clock {
                said = said.max(0.6);
            }
            said * fits(column, shape, role)
        };
        let ranked = |role: Role, taken: &[usize]| -> Vec<(usize, f64)> {
            let mut list: Vec<(usize, f64, f64)> = (0..self.columns.len())
                .filter(|at| !taken.contains(at))
                .map(|at| (at, score(at, role), shapes.get(at).map_or(0.0, |s| s.high.abs())))
                .filter(|&(_, score, _)| score >= LEAST)
                .collect();
            // Best name first; among equal names the one with the larger numbers: a second sensor that hardly moves
            // is not the one that drives the pull.
            list.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.2.total_cmp(&a.2)).then(a.0.cmp(&b.0)));
            list.into_iter().map(|(at, score, _)| (at, score)).collect()
        };

        let mut confidence = Vec::new();
        let mut others = Vec::new();
        let mut taken = Vec::new();
        let times = ranked(Role::Time, &taken);
        let time_index = times.first().copied().or_else(|| {
            let any = |at: usize| {
                Channel::ALL.iter().all(|&channel| score(at, Role::Channel(channel)) < LEAST)
                    && shapes.get(at).is_some_and(|s| s.could_be_time() && s.rising > 0.95)
            };
            (0..self.columns.len()).find(|&at| any(at)).map(|at| (at, 0.3))
        });
        let time = match time_index {
            Some((index, sure)) => {
                taken.push(index);
                confidence.push((Role::Time, sure));
                let unit = match (self.columns.get(index), shapes.get(index)) {
                    (Some(column), Some(shape)) => unit_for(column, shape, Role::Time).0,
                    _ => Unit::Second,
                };
                let rest: Vec<usize> = times.iter().skip(1).map(|&(at, _)| at).collect();
                if !rest.is_empty() {
                    others.push((Role::Time, rest));
                }
                TimeSource::Column { index, unit }
            }
            None => TimeSource::Every { step_s: DEFAULT_STEP_S },
        };

        // Each channel takes its best column; a column wanted by two goes to the channel that wants it more.
        let mut wants: Vec<(Channel, usize, f64)> = Vec::new();
        for channel in Channel::ALL {
            for (at, score) in ranked(Role::Channel(channel), &taken) {
                wants.push((channel, at, score));
            }
        }
        let high = |at: usize| shapes.get(at).map_or(0.0, |s| s.high.abs());
        wants.sort_by(|a, b| {
            b.2.total_cmp(&a.2).then(high(b.1).total_cmp(&high(a.1))).then(a.0.cmp(&b.0)).then(a.1.cmp(&b.1))
        });
        let mut channels: Vec<ChannelSource> = Vec::new();
        for &(channel, index, sure) in &wants {
            if taken.contains(&index) || channels.iter().any(|source| source.channel == channel) {
                continue;
            }
            let (Some(column), Some(shape)) = (self.columns.get(index), shapes.get(index)) else { continue };
            taken.push(index);
            confidence.push((Role::Channel(channel), sure));
            channels.push(ChannelSource {
                channel,
                index,
                unit: unit_for(column, shape, Role::Channel(channel)).0,
            });
        }
        if channels.is_empty() || !self.has_header {
            // Only columns whose names say nothing; "colour" is a name that says it is something else.
            self.by_numbers(&shapes, &mut taken, &mut channels, &mut confidence);
        }
        for channel in Channel::ALL {
            let chosen = channels.iter().find(|source| source.channel == channel).map(|source| source.index);
            let rest: Vec<usize> = wants
                .iter()
                .filter(|&&(c, at, _)| c == channel && Some(at) != chosen && !taken.contains(&at))
                .map(|&(_, at, _)| at)
                .collect();
            if !rest.is_empty() {
                others.push((Role::Channel(channel), rest));
            }
        }
        channels.sort_by_key(|source| source.channel);
        let zero = self.guess_zero(time);
        Guess { assignment: Assignment { time, channels, zero, part: 0 }, confidence, others }
    }

    fn by_numbers(
        &self,
        shapes: &[Shape],
        taken: &mut Vec<usize>,
        channels: &mut Vec<ChannelSource>,
        confidence: &mut Vec<(Role, f64)>,
    ) {
        for (index, (column, shape)) in self.columns.iter().zip(shapes).enumerate() {
            if taken.contains(&index) || column.clock || !header::says_nothing(&column.name) {
                continue;
            }
            let Some((channel, sure)) = by_numbers(shape) else { continue };
            if channels.iter().any(|source| source.channel == channel) {
                continue;
            }
            taken.push(index);
            confidence.push((Role::Channel(channel), sure));
            channels.push(ChannelSource {
                channel,
                index,
                unit: unit_for(column, shape, Role::Channel(channel)).0,
            });
        }
    }

    /// Times far from zero (a wall clock, an instrument long switched on) are counted from the first sample.
    fn guess_zero(&self, time: TimeSource) -> TimeZero {
        let TimeSource::Column { index, unit } = time else { return TimeZero::AsWritten };
        match self.columns.get(index).and_then(|column| column.finite().next()) {
            Some(first) if unit.to_base(first).abs() > 60.0 => TimeZero::FirstSample,
            _ => TimeZero::AsWritten,
        }
    }
}
