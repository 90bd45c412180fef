//! What the columns of files of one make mean, as someone corrected it once: kept by the file's shape.

use std::collections::BTreeMap;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::{Assignment, ChannelSource, Table, TimeSource, TimeZero};
use crate::domain::Channel;
use crate::exchange::kept::Kept;
use crate::units::Unit;

/// Most shapes kept; beyond it the one used longest ago goes.
const MOST: usize = 200;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Settled {
    /// Column and unit of time, or none and the step in seconds.
    time: (Option<(usize, String)>, f64),
    /// Quantity, column, unit.
    channels: Vec<(String, usize, String)>,
    /// Turn when it was last used.
    used: u64,
}

#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
struct Book {
    turn: u64,
    shapes: BTreeMap<String, Settled>,
}

/// Corrections by shape, kept in a file of their own beside the other settings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Remembered(Kept<Book>);

impl Remembered {
    /// Opens the file; a missing one is empty, one that cannot be read is left as it is and not used.
    #[must_use]
    pub fn open(path: PathBuf) -> Self {
        Self(Kept::open(path))
    }

    /// The assignment that someone settled on for files of this shape, where it fits the table.
    #[must_use]
    pub fn recall(&self, table: &Table) -> Option<Assignment> {
        let kept = self.0.value.shapes.get(&table.shape_key())?;
        let columns = table.column_names().count();
        let unit = |text: &str| Unit::from_text(text);
        let time = match &kept.time {
            (Some((index, text)), _) if *index < columns => {
                TimeSource::Column { index: *index, unit: unit(text)? }
            }
            (None, step_s) if *step_s > 0.0 && step_s.is_finite() => TimeSource::Every { step_s: *step_s },
            _ => return None,
        };
        let channels: Option<Vec<ChannelSource>> = kept
            .channels
            .iter()
            .map(|(word, index, text)| {
                let channel = Channel::ALL.into_iter().find(|channel| channel.key() == word)?;
                (*index < columns).then_some(ChannelSource { channel, index: *index, unit: unit(text)? })
            })
            .collect();
        let zero = table.guess().assignment.zero;
        Some(Assignment { time, channels: channels?, zero, part: 0 }).filter(|a| !a.channels.is_empty())
    }

    /// Keeps an assignment for files of this shape and writes the file.
    ///
    /// # Errors
    /// One sentence when the file cannot be written; what was kept stays in memory.
    pub fn keep(&mut self, table: &Table, assignment: &Assignment) -> Result<(), String> {
        self.0.value.turn += 1;
        let time = match assignment.time {
            TimeSource::Column { index, unit } => (Some((index, unit.symbol().to_owned())), 0.0),
            TimeSource::Every { step_s } => (None, step_s),
        };
        let channels = assignment
            .channels
            .iter()
            .map(|source| (source.channel.key().to_owned(), source.index, source.unit.symbol().to_owned()))
            .collect();
        let kept = Settled { time, channels, used: self.0.value.turn };
        self.0.value.shapes.insert(table.shape_key(), kept);
        while self.0.value.shapes.len() > MOST {
            let oldest =
                self.0.value.shapes.iter().min_by_key(|(_, kept)| kept.used).map(|(key, _)| key.clone());
            let Some(oldest) = oldest else { break };
            self.0.value.shapes.remove(&oldest);
        }
        self.0.write()
    }
}

/// Whether two assignments give the same trace of a part: what a person would call the same.
#[must_use]
pub fn same_meaning(a: &Assignment, b: &Assignment) -> bool {
    let plain = |a: &Assignment| Assignment { zero: TimeZero::AsWritten, part: 0, ..a.clone() };
    plain(a) == plain(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(head: &str) -> Table {
        let mut text = format!("{head}\n");
        for i in 0..60 {
            text += &format!("{},{},{}\n", i * 100, i, i * 2);
        }
        Table::parse(text.as_bytes()).unwrap()
    }

    #[test]
    fn a_correction_comes_back_for_the_same_shape_only() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("settings/columns.ron");
        let first = table("t,a,b");
        let mut wanted = first.guess().assignment;
        wanted.time = TimeSource::Column { index: 0, unit: Unit::Millisecond };
        wanted.set(Channel::Pressure, Some((1, Unit::Psi)));
        wanted.set(Channel::CupMass, Some((2, Unit::Ounce)));
        let mut book = Remembered::open(path.clone());
        assert_eq!(book.recall(&first), None);
        book.keep(&first, &wanted).unwrap();
        let again = Remembered::open(path.clone());
        assert!(same_meaning(&again.recall(&table("t,a,b")).unwrap(), &wanted));
        assert_eq!(again.recall(&table("t,a,c")), None);
        // A file that someone broke is neither used nor overwritten.
        std::fs::write(&path, "(turn: 1, shapes: {\"x\": ").unwrap();
        let mut broken = Remembered::open(path.clone());
        assert_eq!(broken.recall(&first), None);
        assert!(broken.keep(&first, &wanted).is_err());
        assert!(std::fs::read_to_string(&path).unwrap().starts_with("(turn: 1"));
    }
}
