//! The journal: one line an edit, checksum first, so that an acknowledged edit survives a kill at any instant.
//!
//! A line is eight hexadecimal digits (CRC-32 of the rest), a space, and the edit in RON. A last line that is torn
//! was never acknowledged and is dropped. Later lines win over earlier ones.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::read::options;
use super::text::Ron;
use super::v1;
use crate::domain::{BagId, Record, RecordKey, StationId};

/// Largest journal that is read, bytes.
pub(crate) const LARGEST: u64 = 256 << 20;

/// Which file a record lives in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum FileKey {
    /// `notebook.ron`.
    Notebook,
    /// A station's file.
    Station(StationId),
    /// A bag's file.
    Bag(BagId),
}

impl FileKey {
    pub(crate) fn of(key: RecordKey) -> Self {
        match key {
            RecordKey::Preferences | RecordKey::Drinker(_) => Self::Notebook,
            RecordKey::Station(id) => Self::Station(id),
            RecordKey::Bag(id) | RecordKey::Pull(id, _) => Self::Bag(id),
        }
    }

    /// The record that the file is named after (for `notebook.ron`, the preferences).
    pub(crate) fn sheet(self) -> RecordKey {
        match self {
            Self::Notebook => RecordKey::Preferences,
            Self::Station(id) => RecordKey::Station(id),
            Self::Bag(id) => RecordKey::Bag(id),
        }
    }
}

/// What became of a record, and when.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Change {
    /// When the edit was committed, never before an earlier one.
    pub(crate) at: Timestamp,
    /// The new content, or `None` when the record was taken out.
    pub(crate) record: Option<Record>,
}

/// Edits that are in the journal but not yet in the files, by file and record.
#[derive(Debug, Clone, Default)]
pub(crate) struct Pending {
    files: BTreeMap<FileKey, BTreeMap<RecordKey, Change>>,
    /// What an edit that is still in the journal replaced while it was in no file yet.
    superseded: BTreeMap<FileKey, Vec<Change>>,
}

impl Pending {
    /// Notes what became of a record; the later note wins.
    pub(crate) fn note(&mut self, key: RecordKey, change: Change) {
        let file = FileKey::of(key);
        let old = self.files.entry(file).or_default().insert(key, change);
        // Preferences change with every zoom; only how they stand is of interest.
        let worth = |old: &Change| old.record.is_some() && key != RecordKey::Preferences;
        if let Some(old) = old.filter(worth) {
            self.superseded.entry(file).or_default().push(old);
        }
    }

    /// Contents that later edits of the same session replaced, as entries for the earlier versions.
    pub(crate) fn superseded(&self, file: FileKey) -> Vec<v1::Entry> {
        let changes = self.superseded.get(&file).into_iter().flatten();
        changes.filter_map(|change| Some(v1::Entry::of(change.record.as_ref()?, change.at))).collect()
    }

    /// Files with edits.
    pub(crate) fn files(&self) -> Vec<FileKey> {
        self.files.keys().copied().collect()
    }

    /// Edits of one file.
    pub(crate) fn of(&self, file: FileKey) -> Option<&BTreeMap<RecordKey, Change>> {
        self.files.get(&file)
    }

    /// Forgets the edits of a file, since they are in it now.
    pub(crate) fn settled(&mut self, file: FileKey) {
        self.files.remove(&file);
        self.superseded.remove(&file);
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// All edits, in an order in which they can be put back: sheets before their pulls.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&RecordKey, &Change)> {
        self.files.values().flatten()
    }
}

/// One edit as a line.
pub(crate) fn encode(at: Timestamp, name: &str, put: &[Record], take: &[RecordKey]) -> String {
    let edit = v1::Edit {
        at,
        name: name.to_owned(),
        put: put.iter().map(|record| v1::Entry::of(record, at)).collect(),
        take: take.iter().map(|&key| key.into()).collect(),
        unknown: Default::default(),
    };
    line(&edit)
}

/// Stands for a line end within a line (which only kept text of unknown fields can have).
const LINE_END: &str = "\u{1e}";

/// One edit as a line, with its line end.
pub(crate) fn line(edit: &v1::Edit) -> String {
    let text = Ron::line(edit).replace('\n', LINE_END);
    format!("{:08x} {text}\n", checksum(text.as_bytes()))
}

/// The edit of one line (without its line end), or why it is none.
pub(crate) fn decode_line(line: &[u8]) -> Result<v1::Edit, String> {
    let head = line.get(..8).and_then(|head| std::str::from_utf8(head).ok());
    let sum = head.and_then(|head| u32::from_str_radix(head, 16).ok());
    let (Some(sum), Some(b' '), Some(text)) = (sum, line.get(8), line.get(9..)) else {
        return Err(word!("store-journal-no-checksum").into());
    };
    if sum != checksum(text) {
        return Err(word!("store-journal-wrong-checksum").into());
    }
    let text = std::str::from_utf8(text).map_err(|fault| fault.to_string())?;
    options().from_str(&text.replace(LINE_END, "\n")).map_err(|fault| fault.to_string())
}

/// A journal, read.
#[derive(Debug, Default)]
pub(crate) struct Journal {
    /// Edits, oldest first.
    pub(crate) edits: Vec<v1::Edit>,
    /// Lines that could not be read, other than a torn last one: number from 1 and reason.
    pub(crate) bad: Vec<(usize, String)>,
    /// Length up to the end of the last whole line, bytes.
    pub(crate) whole_len: u64,
}

/// Reads a journal.
pub(crate) fn decode(bytes: &[u8]) -> Journal {
    let mut journal = Journal::default();
    for (at, line) in bytes.split_inclusive(|&b| b == b'\n').enumerate() {
        let Some(content) = line.strip_suffix(b"\n") else {
            break; // torn: never acknowledged
        };
        journal.whole_len += line.len() as u64;
        if content.is_empty() {
            continue;
        }
        match decode_line(content) {
            Ok(edit) => journal.edits.push(edit),
            Err(why) => journal.bad.push((at + 1, why)),
        }
    }
    journal
}

fn checksum(bytes: &[u8]) -> u32 {
    let mut crc = flate2::Crc::new();
    crc.update(bytes);
    crc.sum()
}
