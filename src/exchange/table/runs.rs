//! From the column of time to runs of rising time: clocks that start again, step back, repeat or tick coarsely.

use std::ops::Range;

use super::import::{Note, NoteKind};
use super::number::said;
use super::{ImportFault, Table, TimeSource};

/// Share of rows that may be odd before the whole file is refused, beside two free cases.
const TOLERATED: usize = 50;
/// A step back in time by more than this starts a new run, seconds.
const RESTART_S: f64 = 0.5;
/// By how much a local clock goes back at the end of summer time, seconds.
const HOUR_S: f64 = 3600.0;

pub(super) fn tolerated(rows: usize) -> usize {
    2 + rows / TOLERATED
}

/// Rows of one run with their times in seconds.
pub(super) struct Run {
    pub(super) rows: Vec<usize>,
    pub(super) time_s: Vec<f64>,
}

impl Table {
    /// Cuts the rows into runs of rising time.
    pub(super) fn runs(&self, source: TimeSource, notes: &mut Vec<Note>) -> Result<Vec<Run>, ImportFault> {
        #[allow(clippy::cast_precision_loss)]
        let (index, mut time): (usize, Vec<(usize, f64)>) = match source {
            TimeSource::Every { step_s } => {
                let rows: Vec<usize> = (0..self.rows()).collect();
                let time_s = rows.iter().map(|&row| row as f64 * step_s).collect();
                return Ok(vec![Run { rows, time_s }]);
            }
            TimeSource::Column { index, unit } => {
                let column = self.columns.get(index).map_or(&[][..], |column| column.values.as_slice());
                let known = column.iter().enumerate().filter(|(_, v)| v.is_finite());
                (index, known.map(|(row, &v)| (row, unit.to_base(v))).collect())
            }
        };
        if self.columns.get(index).is_some_and(|column| column.clock) {
            let bare: Vec<f64> = time.iter().map(|&(_, t)| t).collect();
            // A clock that is put back by an hour, and nothing else, goes on within a sample or two.
            let soon = 2.5 * crate::trace::usual_step_s(&bare);
            let mut ahead = 0.0;
            let mut before = f64::NEG_INFINITY;
            for (_, t) in &mut time {
                let after_hour = *t + HOUR_S - before;
                if before - *t > 43_200.0 {
                    ahead += 86_400.0;
                } else if *t < before && after_hour >= 0.0 && after_hour <= soon {
                    ahead += HOUR_S;
                }
                before = *t;
                *t += ahead;
            }
        }
        let lost = self.rows() - time.len();
        if lost > 0 {
            let line = (0..self.rows())
                .find(|&row| {
                    self.columns.get(index).and_then(|c| c.values.get(row)).is_none_or(|v| !v.is_finite())
                })
                .map(|row| self.line_of(row));
            if lost > tolerated(self.rows()) + self.ragged {
                return Err(ImportFault {
                    line,
                    column: Some(index + 1),
                    sentence: say!("exchange-table-runs-without-time", n = lost, rows = self.rows()),
                });
            }
            notes.push(Note {
                kind: NoteKind::NoTime,
                line,
                count: lost,
                sentence: say!("exchange-table-runs-left-out", n = lost),
            });
        }
        let (stray, kept) = without_strays(&time);
        let mut backwards = stray;
        let mut runs: Vec<Run> = Vec::new();
        let mut falls = 0usize;
        let mut first_fall = None;
        for (row, t) in kept {
            let before = runs.last().and_then(|run| run.time_s.last()).copied();
            match (before, runs.last_mut()) {
                (Some(last), Some(run)) if t >= last => {
                    run.rows.push(row);
                    run.time_s.push(t);
                }
                (Some(last), Some(_)) if last - t <= RESTART_S => {
                    backwards.get_or_insert((row, 0)).1 += 1;
                }
                (last, _) => {
                    if let Some(last) = last {
                        falls += 1;
                        first_fall.get_or_insert((row, last, t));
                    }
                    runs.push(Run { rows: vec![row], time_s: vec![t] });
                }
            }
        }
        let back_count = backwards.map_or(0, |(_, count)| count);
        if back_count > tolerated(self.rows()) || falls > 3 + self.rows() / 100 {
            let (row, sentence) = match (first_fall, backwards) {
                (Some((row, from, to)), _) => (
                    row,
                    say!(
                        "exchange-table-runs-falls",
                        from_s = said(from, 3),
                        to_s = said(to, 3),
                        n = falls + back_count
                    ),
                ),
                (None, Some((row, _))) => (row, say!("exchange-table-runs-steps-back", n = back_count)),
                (None, None) => (0, String::new()),
            };
            return Err(ImportFault::cell(self.line_of(row), index + 1, sentence));
        }
        if let Some((row, count)) = backwards {
            notes.push(Note {
                kind: NoteKind::Backwards,
                line: Some(self.line_of(row)),
                count,
                sentence: say!("exchange-table-runs-out-of-order", n = count),
            });
        }
        let shortest = if runs.len() > 1 { 5 } else { 2 };
        let any = runs.iter().any(|run| run.rows.len() >= shortest);
        if any {
            runs.retain(|run| run.rows.len() >= shortest);
        }
        Ok(runs)
    }

    /// Strictly rising times, and which positions of the run stand behind each. Rows of one time that fill different columns
    /// (of `columns`, those that are used) are parts of one. A clock coarser than the sampling has its samples spread within
    /// each tick; otherwise rows with the same time count as one.
    pub(super) fn even_out(
        &self,
        run: &Run,
        columns: &[usize],
        notes: &mut Vec<Note>,
    ) -> (Vec<f64>, Vec<Range<usize>>) {
        let mut ticks: Vec<(f64, Range<usize>)> = Vec::with_capacity(run.rows.len());
        let parts = self.parts(run, columns);
        for (at, part) in parts.iter().enumerate() {
            let t = run.time_s.get(part.start).copied().unwrap_or(0.0);
            match ticks.last_mut() {
                Some((last, range)) if *last == t => range.end = at + 1,
                _ => ticks.push((t, at..at + 1)),
            }
        }
        let repeats = parts.len() - ticks.len();
        if repeats * 10 > parts.len() * 4
            && let Some((time_s, tick)) = spread(&ticks)
        {
            notes.push(Note {
                kind: NoteKind::CoarseClock,
                line: run.rows.first().map(|&row| self.line_of(row)),
                count: repeats,
                sentence: say!("exchange-table-runs-coarse-clock", tick_s = said(tick, 6)),
            });
            return (time_s, parts);
        }
        let rows_of = |range: &Range<usize>| {
            let (first, last) = (parts.get(range.start), parts.get(range.end - 1));
            first.map_or(0, |part| part.start)..last.map_or(0, |part| part.end)
        };
        if repeats > 0 {
            let line = ticks
                .iter()
                .find(|(_, range)| range.len() > 1)
                .and_then(|(_, range)| run.rows.get(parts.get(range.start + 1)?.start))
                .map(|&row| self.line_of(row));
            notes.push(Note {
                kind: NoteKind::Repeat,
                line,
                count: repeats,
                sentence: say!("exchange-table-runs-repeats", n = repeats),
            });
        }
        ticks.iter().map(|(t, range)| (*t, rows_of(range))).unzip()
    }

    /// Positions of the run that belong together: neighbours of one time of which no two fill the same of the columns. A
    /// row that fills none stands alone.
    fn parts(&self, run: &Run, columns: &[usize]) -> Vec<Range<usize>> {
        let fills = |row: usize| {
            let values = columns.iter().map(move |&index| self.columns.get(index)?.values.get(row).copied());
            values.map(|value| value.is_some_and(f64::is_finite))
        };
        let mut parts: Vec<Range<usize>> = Vec::with_capacity(run.rows.len());
        let mut filled: Vec<bool> = Vec::new();
        let mut before = f64::NAN;
        for (at, (&row, &t)) in run.rows.iter().zip(&run.time_s).enumerate() {
            let joins = t == before
                && filled.contains(&true)
                && fills(row).any(|is| is)
                && fills(row).zip(&filled).all(|(is, was)| !(is && *was));
            before = t;
            match parts.last_mut() {
                Some(part) if joins => {
                    part.end = at + 1;
                    for (was, is) in filled.iter_mut().zip(fills(row)) {
                        *was |= is;
                    }
                }
                _ => {
                    parts.push(at..at + 1);
                    filled.clear();
                    filled.extend(fills(row));
                }
            }
        }
        parts
    }
}

/// Times of samples spread within the ticks of a coarse clock, and the tick, seconds; `None` for fewer than three ticks
/// or when the times would not rise.
fn spread(ticks: &[(f64, Range<usize>)]) -> Option<(Vec<f64>, f64)> {
    let mut steps: Vec<f64> = ticks
        .windows(2)
        .map(|w| match w {
            [a, b] => b.0 - a.0,
            _ => 0.0,
        })
        .collect();
    steps.sort_by(f64::total_cmp);
    let tick = steps.get(steps.len() / 2).copied().filter(|_| ticks.len() >= 3)?;
    let last = ticks.len() - 1;
    // The length of a tick, and the step between its samples were they spread over it.
    #[allow(clippy::cast_precision_loss)]
    let step = |index: usize| {
        let (t, range) = ticks.get(index)?;
        let next = ticks.get(index + 1).map_or(t + tick, |(next, _)| *next);
        let span = (next - t).min(tick);
        Some((span, span / range.len() as f64))
    };
    let mut inner: Vec<f64> = (1..last).filter_map(|index| Some(step(index)?.1)).collect();
    inner.sort_by(f64::total_cmp);
    let usual = inner.get(inner.len() / 2).copied().unwrap_or(f64::INFINITY);
    let mut time_s = Vec::with_capacity(ticks.last()?.1.end);
    for (index, (t, range)) in ticks.iter().enumerate() {
        let (span, mut part) = step(index)?;
        // In the first tick logging may have begun late, and in the last one ended early: there the usual step holds,
        // counted back from the end of the first.
        let mut begin = *t;
        #[allow(clippy::cast_precision_loss)]
        if index == 0 || index == last {
            part = part.min(usual);
            if index == 0 {
                begin += span - part * range.len() as f64;
            }
        }
        #[allow(clippy::cast_precision_loss)]
        time_s.extend((0..range.len()).map(|place| begin + part * place as f64));
    }
    let rising = time_s.windows(2).all(|w| matches!(w, [a, b] if b > a));
    rising.then_some((time_s, tick))
}

/// Rows with their times, seconds.
type Timed = Vec<(usize, f64)>;

/// Takes out single rows whose time leaps away and comes back at once; also the first of them and their count.
fn without_strays(time: &[(usize, f64)]) -> (Option<(usize, usize)>, Timed) {
    let mut stray: Option<(usize, usize)> = None;
    let mut kept: Vec<(usize, f64)> = Vec::with_capacity(time.len());
    for (at, &(row, t)) in time.iter().enumerate() {
        let before = kept.last().map(|&(_, t)| t);
        let after = time.get(at + 1).map(|&(_, t)| t);
        let leaps = match (before, after) {
            (Some(before), Some(after)) => (t < before && after >= before) || (t > after && after > before),
            _ => false,
        };
        if leaps {
            stray.get_or_insert((row, 0)).1 += 1;
        } else {
            kept.push((row, t));
        }
    }
    (stray, kept)
}
