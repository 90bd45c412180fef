//! Reading samples from text: delimited tables and logs of one JSON object a line.
//!
//! The way in is [`Table::open`] (or [`Table::parse`] for bytes), which reads every number once. From the table come a
//! [`Preview`] for the eye, a guessed [`Assignment`] that the user can correct, and [`Table::import`], which turns an
//! assignment into a trace without reading the file again.
//!
//! Limits, each refused with a sentence: [`MAX_TEXT_BYTES`], [`MAX_LINE_BYTES`], [`MAX_ROWS`], [`MAX_COLUMNS`],
//! [`MAX_CELLS`].

mod delimited;
mod guess;
mod import;
mod json_lines;
mod number;
mod preview;
mod remembered;
mod runs;
mod text;

use std::fmt;
use std::path::Path;

use crate::domain::Channel;
use crate::units::Unit;

pub use crate::trace::naming::Role;
pub use guess::Guess;
pub use import::{Imported, Note, NoteKind};
pub use preview::{ColumnPreview, Preview, UnitSource};
pub use remembered::{Remembered, same_meaning};

/// Largest text that is read, bytes (256 MiB; an hour at 100 Hz is about 15 MB).
pub const MAX_TEXT_BYTES: usize = 256 << 20;
/// Longest line that is read, bytes.
pub const MAX_LINE_BYTES: usize = 64 << 10;
/// Most rows that are read (an hour at 100 Hz is 360 000).
pub const MAX_ROWS: usize = 5_000_000;
/// Most columns that are read.
pub const MAX_COLUMNS: usize = 200;
/// Most numbers that are kept (eight bytes each).
pub const MAX_CELLS: usize = 40_000_000;

/// Longest name of a column that is kept, letters.
const MAX_NAME_CHARS: usize = 60;

/// Why a file gives no trace: one sentence, with the place where the trouble lies. Nothing was changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ImportFault {
    /// Line, counted from 1.
    pub line: Option<u64>,
    /// Column (field of the line), counted from 1.
    pub column: Option<usize>,
    /// What is wrong and what to do, without the place.
    pub sentence: String,
}

impl ImportFault {
    pub(crate) fn new(sentence: impl Into<String>) -> Self {
        Self { line: None, column: None, sentence: sentence.into() }
    }

    pub(crate) fn at(line: u64, sentence: impl Into<String>) -> Self {
        Self { line: Some(line), column: None, sentence: sentence.into() }
    }

    pub(crate) fn cell(line: u64, column: usize, sentence: impl Into<String>) -> Self {
        Self { line: Some(line), column: Some(column), sentence: sentence.into() }
    }
}

impl fmt::Display for ImportFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, self.column) {
            (Some(line), Some(column)) => f.write_str(&say!(
                "exchange-table-in-column",
                line = line,
                column = column,
                sentence = self.sentence
            )),
            (Some(line), None) => {
                f.write_str(&say!("exchange-table-in-line", line = line, sentence = self.sentence))
            }
            _ => f.write_str(&self.sentence),
        }
    }
}

impl std::error::Error for ImportFault {}

/// Where time comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeSource {
    /// A column (index from 0) in a unit of time.
    Column {
        /// Index of the column, from 0.
        index: usize,
        /// Its unit.
        unit: Unit,
    },
    /// No column: samples came at a steady rate.
    Every {
        /// Seconds from sample to sample, above zero.
        step_s: f64,
    },
}

/// Which column feeds a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelSource {
    /// The channel fed.
    pub channel: Channel,
    /// Index of the column, from 0.
    pub index: usize,
    /// The column's unit; must measure the channel's quantity.
    pub unit: Unit,
}

/// What time is called zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeZero {
    /// Keep the times of the file.
    AsWritten,
    /// The first sample is zero.
    FirstSample,
    /// Take this many seconds off every time.
    At(f64),
}

/// Which column means what. Guessed by [`Table::guess`], corrected by the user, carried out by [`Table::import`].
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Time.
    pub time: TimeSource,
    /// Channels; at most one entry for each.
    pub channels: Vec<ChannelSource>,
    /// Where time begins.
    pub zero: TimeZero,
    /// Which run of time to take when the clock starts again within the file, from 0.
    pub part: usize,
}

impl Assignment {
    /// The column that feeds a channel, if any.
    #[must_use]
    pub fn source(&self, channel: Channel) -> Option<ChannelSource> {
        self.channels.iter().copied().find(|source| source.channel == channel)
    }

    /// Sets or clears (with `None`) the column of a channel.
    pub fn set(&mut self, channel: Channel, source: Option<(usize, Unit)>) {
        self.channels.retain(|entry| entry.channel != channel);
        if let Some((index, unit)) = source {
            self.channels.push(ChannelSource { channel, index, unit });
            self.channels.sort_by_key(|entry| entry.channel);
        }
    }
}

/// How the text is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Layout {
    /// One row a line, fields between a mark.
    Delimited(Delimiter),
    /// One JSON object a line.
    JsonLines,
}

/// What stands between fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// Tab.
    Tab,
    /// `|`
    Pipe,
    /// One or more spaces (or tabs among them).
    Spaces,
}

impl Delimiter {
    /// The key for it, by which remembered columns and messages tell it.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Pipe => "bar",
            Self::Spaces => "spaces",
        }
    }
}

/// Something odd that does not stop the reading, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Line, counted from 1.
    pub line: Option<u64>,
    /// Column, counted from 1.
    pub column: Option<usize>,
    /// What is odd.
    pub sentence: String,
}

/// The first cell of a column that is no number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Unreadable {
    pub(crate) line: u64,
    pub(crate) excerpt: String,
}

/// One column of numbers; NaN where a cell is empty or unreadable.
#[derive(Debug, Clone, Default)]
pub(crate) struct Column {
    pub(crate) name: String,
    /// The file gives it no name; it bears its number.
    pub(crate) nameless: bool,
    pub(crate) unit_text: Option<String>,
    pub(crate) values: Vec<f64>,
    pub(crate) missing: usize,
    pub(crate) unreadable: usize,
    pub(crate) first_unreadable: Option<Unreadable>,
    pub(crate) not_finite: usize,
    pub(crate) first_point: Option<u64>,
    pub(crate) first_comma: Option<u64>,
    /// The first number whose mark may part thousands, with its line, and what speaks for and against that.
    pub(crate) first_parted: Option<(u64, f64)>,
    pub(crate) thousands: number::Thousands,
    pub(crate) cell_unit: Option<Unit>,
    pub(crate) clock: bool,
}

impl Column {
    /// The values that are numbers.
    pub(crate) fn finite(&self) -> impl Iterator<Item = f64> + '_ {
        self.values.iter().copied().filter(|v| v.is_finite())
    }

    /// How many cells hold a number.
    pub(crate) fn samples(&self) -> usize {
        self.values.len().saturating_sub(self.missing + self.unreadable + self.not_finite)
    }

    #[inline]
    pub(crate) fn push_number(&mut self, value: f64, mark: number::Mark, line: u64) {
        self.values.push(value);
        self.thousands.weigh(value, mark);
        if mark.may_part_thousands() && self.first_parted.is_none() {
            self.first_parted = Some((line, value));
        }
    }

    pub(crate) fn push_missing(&mut self) {
        self.values.push(f64::NAN);
        self.missing += 1;
    }

    pub(crate) fn push_unreadable(&mut self, line: u64, cell: &[u8]) {
        self.values.push(f64::NAN);
        self.unreadable += 1;
        if self.first_unreadable.is_none() {
            self.first_unreadable = Some(Unreadable { line, excerpt: text::excerpt(cell) });
        }
    }
}

/// A file read whole: every number in it, and what was odd.
#[derive(Debug, Clone)]
pub struct Table {
    pub(crate) layout: Layout,
    pub(crate) columns: Vec<Column>,
    /// Line of each row, from 1.
    pub(crate) lines: Vec<u32>,
    pub(crate) has_header: bool,
    pub(crate) first_rows: Vec<Vec<String>>,
    pub(crate) problems: Vec<Problem>,
    /// Rows whose field count differs, with the first such line.
    pub(crate) ragged: usize,
    pub(crate) first_ragged: Option<(u64, usize, usize)>,
    /// JSON lines that could not be read.
    pub(crate) broken: usize,
    pub(crate) first_broken: Option<(u64, usize, String)>,
}

impl Table {
    /// Reads a file.
    ///
    /// # Errors
    /// [`ImportFault`] when the path is no ordinary file, cannot be read, is beyond the limits, is not text, or holds
    /// no table. A file that holds a table with bad cells is read; the cells are reported when they matter.
    pub fn open(path: &Path) -> Result<Self, ImportFault> {
        Self::parse(&text::load(path)?)
    }

    /// Reads a text held in memory (UTF-8 with or without a mark, UTF-16 with a mark, or Latin-1).
    ///
    /// # Errors
    /// As [`Table::open`].
    pub fn parse(bytes: &[u8]) -> Result<Self, ImportFault> {
        let text = text::clean(bytes)?;
        if json_lines::looks_like(&text) { json_lines::parse(&text) } else { delimited::parse(&text) }
    }

    /// Rows read.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.lines.len()
    }

    /// How the text is laid out.
    #[must_use]
    pub fn layout(&self) -> Layout {
        self.layout
    }

    /// Names of the columns, in order.
    pub fn column_names(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|column| column.name.as_str())
    }

    /// The numbers of a column as written, NaN where a cell is empty or unreadable.
    #[must_use]
    pub fn values(&self, index: usize) -> Option<&[f64]> {
        self.columns.get(index).map(|column| column.values.as_slice())
    }

    /// A key that is equal for files of one make: layout and column names with their units, in order.
    #[must_use]
    pub fn shape_key(&self) -> String {
        let mut key = match self.layout {
            Layout::JsonLines => String::from("json"),
            Layout::Delimited(delimiter) => format!("table {}", delimiter.key()),
        };
        for (at, column) in self.columns.iter().enumerate() {
            key.push_str(" | ");
            // The name that such a column is given depends on the language, and the key must not.
            if column.nameless {
                key.push_str(&format!("column {}", at + 1));
            } else {
                key.push_str(&column.name.to_lowercase());
            }
            if let Some(unit) = &column.unit_text {
                key.push(' ');
                key.push_str(unit);
            }
        }
        key
    }

    pub(crate) fn line_of(&self, row: usize) -> u64 {
        self.lines.get(row).copied().map_or(0, u64::from)
    }

    /// Last checks shared by both layouts.
    pub(crate) fn finish(mut self) -> Result<Self, ImportFault> {
        let nameless =
            |column: &Column| column.name.is_empty() && column.samples() == 0 && column.unreadable == 0;
        while self.columns.last().is_some_and(nameless) {
            self.columns.pop();
        }
        if self.lines.is_empty() || self.columns.is_empty() {
            return Err(ImportFault::new(word!("exchange-table-no-rows")));
        }
        for (at, column) in self.columns.iter_mut().enumerate() {
            if column.name.is_empty() {
                column.nameless = true;
                column.name = say!("control-mixed-column", at = at + 1);
            }
            // No name needs more; a broken header must not fill sentences, lists and what is remembered.
            if let Some((end, _)) = column.name.char_indices().nth(MAX_NAME_CHARS) {
                column.name.truncate(end);
                column.name.push('…');
            }
        }
        if let Some((line, got, want)) = self.first_ragged {
            self.problems.push(Problem {
                line: Some(line),
                column: Some(got.min(want) + 1),
                sentence: say!(
                    "exchange-table-ragged",
                    n = self.ragged,
                    rows = self.rows(),
                    want = want,
                    got = got
                ),
            });
        }
        if let Some((line, column, why)) = &self.first_broken {
            self.problems.push(Problem {
                line: Some(*line),
                column: Some(*column),
                sentence: say!("exchange-table-broken", n = self.broken, why = why),
            });
        }
        for (at, column) in self.columns.iter().enumerate() {
            if let Some(first) = &column.first_unreadable
                && column.samples() > 0
            {
                self.problems.push(Problem {
                    line: Some(first.line),
                    column: Some(at + 1),
                    sentence: say!(
                        "exchange-table-unreadable",
                        name = column.name,
                        n = column.unreadable,
                        first = first.excerpt
                    ),
                });
            }
            if let (Some(point), Some(comma)) = (column.first_point, column.first_comma) {
                self.problems.push(Problem {
                    line: Some(point.max(comma)),
                    column: Some(at + 1),
                    sentence: say!(
                        "exchange-table-mixed-marks",
                        name = column.name,
                        point = point,
                        comma = comma
                    ),
                });
            }
        }
        Ok(self)
    }
}
