//! Carrying out an assignment: from columns to a trace, with notes on everything that was mended on the way.

use crate::domain::{Channel, Trace};

use crate::trace::naming as header;
use crate::trace::naming::Role;

use super::number::said;
use super::runs::{Run, tolerated};
use super::{Assignment, Column, ImportFault, Table, TimeSource, TimeZero};

/// What a note is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteKind {
    /// Stretches without samples.
    Gap,
    /// Rows with a time already seen.
    Repeat,
    /// Rows whose time lay before an earlier one.
    Backwards,
    /// Rows without a readable time.
    NoTime,
    /// Cells that hold no number.
    Unreadable,
    /// NaN or infinite cells.
    NotFinite,
    /// Values that cannot be real.
    OutOfRange,
    /// Rows with another number of fields, or broken objects.
    Rows,
    /// Time has a coarse clock; samples were spread within its step.
    CoarseClock,
    /// The clock starts again: several runs in one file.
    SeveralRuns,
    /// A channel without any sample.
    EmptyChannel,
}

/// One thing that was mended or left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What it is about.
    pub kind: NoteKind,
    /// Line of the first case, counted from 1.
    pub line: Option<u64>,
    /// How many cases.
    pub count: usize,
    /// The note as a sentence.
    pub sentence: String,
}

/// A trace taken from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// The trace, in the program's units.
    pub trace: Trace,
    /// What was mended or left out.
    pub notes: Vec<Note>,
    /// Which run of the file this is, from 0, and how many there are.
    pub part: usize,
    /// Runs in the file.
    pub parts: usize,
    /// Seconds taken off the times of the file.
    pub start_s: f64,
    /// First and last line used.
    pub lines: (u64, u64),
}

/// Share of values out of range that shows a wrong unit.
const WRONG_UNIT: usize = 5;

/// What a channel's numbers can be, in its base unit. Wide: a cup may stand on the scale, a sensor may drift.
/// (Common practice and physics, no single source.)
fn range(channel: Channel) -> (f64, f64) {
    match channel {
        Channel::Pressure => (-1.5, 30.0),
        Channel::Flow => (-50.0, 50.0),
        Channel::CupMass => (-3_000.0, 6_000.0),
        Channel::Temperature => (-20.0, 170.0),
    }
}

impl Table {
    /// Carries out an assignment.
    ///
    /// # Errors
    /// [`ImportFault`] when the assignment does not fit the table, or too much of what it needs is unreadable.
    /// The table is not changed; another assignment can be tried.
    pub fn import(&self, assignment: &Assignment) -> Result<Imported, ImportFault> {
        self.check(assignment)?;
        let mut notes = self.row_notes();
        let runs = self.runs(assignment.time, &mut notes)?;
        let Some(run) = runs.get(assignment.part) else {
            return Err(ImportFault::new(say!(
                "exchange-table-import-no-run",
                runs = runs.len(),
                run = assignment.part + 1
            )));
        };
        if runs.len() > 1 {
            let line = runs.get(1).and_then(|next| next.rows.first()).map(|&row| self.line_of(row));
            notes.push(Note {
                kind: NoteKind::SeveralRuns,
                line,
                count: runs.len(),
                sentence: say!(
                    "exchange-table-import-several-runs",
                    runs = runs.len(),
                    run = assignment.part + 1
                ),
            });
        }
        self.build(assignment, run, runs.len(), notes)
    }

    /// Imports every run of the file, each as its own trace. Runs that hold too little are left out.
    ///
    /// # Errors
    /// As [`Table::import`]; when no run gives a trace, the fault of the first.
    pub fn import_all(&self, assignment: &Assignment) -> Result<Vec<Imported>, ImportFault> {
        self.check(assignment)?;
        let mut first_fault = None;
        let mut all = Vec::new();
        let mut notes = self.row_notes();
        let runs = self.runs(assignment.time, &mut notes)?;
        for (part, run) in runs.iter().enumerate() {
            let one = Assignment { part, ..assignment.clone() };
            match self.build(&one, run, runs.len(), notes.clone()) {
                Ok(imported) => all.push(imported),
                Err(fault) => {
                    first_fault.get_or_insert(fault);
                }
            }
        }
        match first_fault {
            Some(fault) if all.is_empty() => Err(fault),
            _ => Ok(all),
        }
    }

    /// Guesses and imports in one go.
    ///
    /// # Errors
    /// As [`Table::import`].
    pub fn import_guessed(&self) -> Result<Imported, ImportFault> {
        self.import(&self.guess().assignment)
    }

    fn check(&self, assignment: &Assignment) -> Result<(), ImportFault> {
        let rows = self.rows();
        if let Some((line, got, want)) = self.first_ragged
            && self.ragged > tolerated(rows)
        {
            return Err(ImportFault::cell(
                line,
                got.min(want) + 1,
                say!(
                    "exchange-table-import-too-ragged",
                    got = got,
                    want = want,
                    n = self.ragged,
                    rows = rows
                ),
            ));
        }
        let mut used = Vec::new();
        match assignment.time {
            TimeSource::Column { index, unit } => {
                self.check_column(index, Role::Time, unit)?;
                used.push(index);
            }
            TimeSource::Every { step_s } if step_s > 0.0 && step_s <= 60.0 => {}
            TimeSource::Every { .. } => {
                return Err(ImportFault::new(word!("exchange-table-import-step")));
            }
        }
        if let TimeZero::At(seconds) = assignment.zero
            && !seconds.is_finite()
        {
            return Err(ImportFault::new(word!("exchange-table-import-zero")));
        }
        if assignment.channels.is_empty() {
            return Err(ImportFault::new(word!("exchange-table-import-no-channel")));
        }
        for source in &assignment.channels {
            self.check_column(source.index, Role::Channel(source.channel), source.unit)?;
            if used.contains(&source.index) {
                return Err(ImportFault::new(say!(
                    "exchange-table-import-column-twice",
                    name = self.columns.get(source.index).map_or("", |column| column.name.as_str())
                )));
            }
            used.push(source.index);
        }
        let mut channels: Vec<Channel> = assignment.channels.iter().map(|source| source.channel).collect();
        channels.sort();
        if let Some(twice) =
            channels.windows(2).find(|pair| pair.first() == pair.last()).and_then(|p| p.first())
        {
            return Err(ImportFault::new(say!(
                "exchange-table-import-channel-twice",
                channel = twice.word()
            )));
        }
        Ok(())
    }

    fn check_column(&self, index: usize, role: Role, unit: crate::units::Unit) -> Result<(), ImportFault> {
        let Some(column) = self.columns.get(index) else {
            return Err(ImportFault::new(say!(
                "exchange-table-import-no-column",
                column = index + 1,
                columns = self.columns.len()
            )));
        };
        let quantity = header::quantity(role);
        if !quantity.takes(unit) {
            return Err(ImportFault::new(say!(
                "exchange-table-import-unit",
                name = column.name,
                unit = unit.symbol(),
                quantity = quantity.name()
            )));
        }
        if let Some(first) = &column.first_unreadable
            && (column.unreadable > tolerated(self.rows()) || column.samples() == 0)
        {
            return Err(ImportFault::cell(
                first.line,
                index + 1,
                say!(
                    "exchange-table-import-no-numbers",
                    first = first.excerpt,
                    name = column.name,
                    n = column.unreadable
                ),
            ));
        }
        if let (Some(point), Some(comma)) = (column.first_point, column.first_comma) {
            return Err(ImportFault::cell(
                point.max(comma),
                index + 1,
                say!("exchange-table-import-mixed-marks", name = column.name, point = point, comma = comma),
            ));
        }
        if let Some((line, first)) = column.first_parted
            && column.thousands.doubtful(unit, role == Role::Time)
        {
            let comma = column.first_comma.is_some();
            let written = format!("{first:.3}");
            return Err(ImportFault::cell(
                line,
                index + 1,
                say!(
                    "exchange-table-import-thousands",
                    name = column.name,
                    written = if comma { written.replace('.', ",") } else { written },
                    small = said(first, 3),
                    large = said(first * 1000.0, 0)
                ),
            ));
        }
        if column.samples() == 0 {
            return Err(ImportFault {
                line: None,
                column: Some(index + 1),
                sentence: say!("exchange-table-import-not-one-finite", name = column.name),
            });
        }
        Ok(())
    }

    fn row_notes(&self) -> Vec<Note> {
        let mut notes = Vec::new();
        if let Some((line, _, want)) = self.first_ragged {
            notes.push(Note {
                kind: NoteKind::Rows,
                line: Some(line),
                count: self.ragged,
                sentence: say!("exchange-table-import-ragged", n = self.ragged, want = want),
            });
        }
        if let Some((line, _, why)) = &self.first_broken {
            notes.push(Note {
                kind: NoteKind::Rows,
                line: Some(*line),
                count: self.broken,
                sentence: say!("exchange-table-import-broken", n = self.broken, why = why),
            });
        }
        notes
    }

    fn build(
        &self,
        assignment: &Assignment,
        run: &Run,
        parts: usize,
        mut notes: Vec<Note>,
    ) -> Result<Imported, ImportFault> {
        let columns: Vec<usize> = assignment.channels.iter().map(|source| source.index).collect();
        let (mut time_s, groups) = self.even_out(run, &columns, &mut notes);
        let start_s = match assignment.zero {
            TimeZero::AsWritten => 0.0,
            TimeZero::FirstSample => time_s.first().copied().unwrap_or(0.0),
            TimeZero::At(seconds) => seconds,
        };
        for t in &mut time_s {
            *t -= start_s;
        }
        let row_at = |at: usize| run.rows.get(at).copied().unwrap_or(0);
        let mut channels = Vec::new();
        for source in &assignment.channels {
            let Some(column) = self.columns.get(source.index) else { continue };
            let (low, high) = range(source.channel);
            let mut outside: Option<(usize, f64, usize)> = None;
            let mut samples = Vec::with_capacity(time_s.len());
            let mut known = 0usize;
            for group in &groups {
                // Of rows with one time, the first that has this channel speaks.
                let cell = group
                    .clone()
                    .filter_map(|at| column.values.get(row_at(at)).map(|&v| (row_at(at), v)))
                    .find(|(_, v)| v.is_finite());
                let value = cell.map_or(f64::NAN, |(row, v)| {
                    let value = source.unit.to_base(v);
                    if value >= low && value <= high {
                        known += 1;
                        value
                    } else {
                        outside.get_or_insert((row, v, 0)).2 += 1;
                        f64::NAN
                    }
                });
                samples.push(value);
            }
            if let Some((row, value, count)) = outside {
                if count * WRONG_UNIT > known + count {
                    return Err(ImportFault::cell(
                        self.line_of(row),
                        source.index + 1,
                        say!(
                            "exchange-table-import-wrong-unit",
                            value = said(value, 6),
                            unit = source.unit.symbol(),
                            channel = source.channel.word(),
                            n = count,
                            values = known + count
                        ),
                    ));
                }
                notes.push(Note {
                    kind: NoteKind::OutOfRange,
                    line: Some(self.line_of(row)),
                    count,
                    sentence: say!(
                        "exchange-table-import-out-of-range",
                        n = count,
                        name = column.name,
                        value = said(value, 6),
                        unit = source.unit.symbol()
                    ),
                });
            }
            column_notes(column, &mut notes);
            if known == 0 {
                notes.push(Note {
                    kind: NoteKind::EmptyChannel,
                    line: None,
                    count: 1,
                    sentence: say!("exchange-table-import-empty-channel", name = column.name),
                });
            } else {
                channels.push((source.channel, samples));
            }
        }
        let lines = (
            run.rows.first().map_or(0, |&row| self.line_of(row)),
            run.rows.last().map_or(0, |&row| self.line_of(row)),
        );
        let trace = Trace::new(time_s, channels)
            .map_err(|why| ImportFault::at(lines.0, say!("exchange-table-import-no-trace", why = why)))?;
        gap_note(&trace, &mut notes, |index| {
            groups.get(index).map(|group| self.line_of(row_at(group.start)))
        });
        Ok(Imported { trace, notes, part: assignment.part, parts, start_s, lines })
    }
}

fn column_notes(column: &Column, notes: &mut Vec<Note>) {
    if let Some(first) = &column.first_unreadable {
        notes.push(Note {
            kind: NoteKind::Unreadable,
            line: Some(first.line),
            count: column.unreadable,
            sentence: say!(
                "exchange-table-import-unreadable",
                name = column.name,
                n = column.unreadable,
                first = first.excerpt
            ),
        });
    }
    if column.not_finite > 0 {
        notes.push(Note {
            kind: NoteKind::NotFinite,
            line: None,
            count: column.not_finite,
            sentence: say!("exchange-table-import-not-finite", name = column.name, n = column.not_finite),
        });
    }
}

/// A gap is a step of more than five usual ones and more than half a second.
fn gap_note(trace: &Trace, notes: &mut Vec<Note>, line: impl Fn(usize) -> Option<u64>) {
    let gaps = crate::trace::gaps(trace.time_s());
    let Some(first) = gaps.first() else { return };
    let longest = gaps.iter().map(|gap| gap.seconds).fold(0.0, f64::max);
    let place = trace.time_s().get(first.before).copied().unwrap_or(0.0);
    notes.push(Note {
        kind: NoteKind::Gap,
        line: line(first.before),
        count: gaps.len(),
        sentence: say!(
            "exchange-table-import-gaps",
            n = gaps.len(),
            place_s = said(place, 1),
            longest_s = said(longest, 1)
        ),
    });
}
