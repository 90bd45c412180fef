//! What the user sees of a file before it is taken in.

use crate::units::Unit;

use crate::trace::naming::Role;

use super::guess::{shape, unit_for};
use super::{Assignment, Layout, Problem, Table, TimeSource};

/// Where a column's unit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitSource {
    /// Written in the header or behind the numbers.
    Written,
    /// Guessed from the size and step of the numbers.
    Guessed,
}

/// One column, as found.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnPreview {
    /// Index, from 0.
    pub index: usize,
    /// Name without its unit, or "column 3".
    pub name: String,
    /// Unit and where it comes from; `None` for a column without a guessed role and without a known written unit.
    pub unit: Option<(Unit, UnitSource)>,
    /// Cells that hold a number.
    pub samples: usize,
    /// Cells that are empty, unreadable or not finite.
    pub missing: usize,
    /// Smallest and largest number as written (0 and 0 without numbers).
    pub range: (f64, f64),
    /// What the column is guessed to be.
    pub role: Option<Role>,
    /// How sure that guess is, 0…1.
    pub confidence: f64,
}

/// What the user sees before taking a file in.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// One sentence on how the text is laid out.
    pub layout: String,
    /// Rows of numbers.
    pub rows: usize,
    /// Columns in order.
    pub columns: Vec<ColumnPreview>,
    /// The first rows as written, at most eight.
    pub first_rows: Vec<Vec<String>>,
    /// Oddities with their places.
    pub problems: Vec<Problem>,
    /// The guessed assignment, for the user to correct.
    pub assignment: Assignment,
}

impl Table {
    /// Makes the preview, with the guessed assignment in it.
    #[must_use]
    pub fn preview(&self) -> Preview {
        let guess = self.guess();
        let role_of = |index: usize| -> Option<Role> {
            match guess.assignment.time {
                TimeSource::Column { index: at, .. } if at == index => Some(Role::Time),
                _ => guess
                    .assignment
                    .channels
                    .iter()
                    .find(|source| source.index == index)
                    .map(|source| Role::Channel(source.channel)),
            }
        };
        let columns = self
            .columns
            .iter()
            .enumerate()
            .map(|(index, column)| {
                let shape = shape(column);
                let role = role_of(index);
                let unit = match role {
                    Some(role) => {
                        let (unit, written) = unit_for(column, &shape, role);
                        Some((unit, if written { UnitSource::Written } else { UnitSource::Guessed }))
                    }
                    None => column
                        .cell_unit
                        .or_else(|| column.unit_text.as_deref().and_then(Unit::from_text))
                        .map(|unit| (unit, UnitSource::Written)),
                };
                let confidence = role
                    .and_then(|role| guess.confidence.iter().find(|(r, _)| *r == role))
                    .map_or(0.0, |&(_, sure)| sure);
                ColumnPreview {
                    index,
                    name: column.name.clone(),
                    unit,
                    samples: column.samples(),
                    missing: column.values.len() - column.samples().min(column.values.len()),
                    range: (shape.min, shape.max),
                    role,
                    confidence,
                }
            })
            .collect();
        Preview {
            layout: self.layout_words(),
            rows: self.rows(),
            columns,
            first_rows: self.first_rows.clone(),
            problems: self.problems.clone(),
            assignment: guess.assignment,
        }
    }

    fn layout_words(&self) -> String {
        match self.layout {
            Layout::JsonLines => word!("exchange-table-preview-log").to_owned(),
            Layout::Delimited(delimiter) => {
                let commas = self.columns.iter().any(|column| column.first_comma.is_some());
                say!(
                    "exchange-table-preview-table",
                    between = delimiter.key(),
                    mark = if commas { "comma" } else { "point" },
                    header = if self.has_header { "yes" } else { "no" }
                )
            }
        }
    }
}
