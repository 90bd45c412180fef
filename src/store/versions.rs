//! Earlier versions of records: one text file for each record file, one line a version, in the form of the journal.
//!
//! A version's line follows from its record alone, so that the versions of two copies unite as sets.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::disk::{Disk, replace};
use super::fault::{Doing, StoreFault};
use super::folder::Folder;
use super::journal::{self, FileKey};
use super::v1;
use crate::domain::{Record, RecordKey};

/// Most versions kept for one file; the oldest go first.
const MOST_LINES: usize = 400;
/// Most bytes of versions kept for one file.
const MOST_BYTES: usize = 512 << 10;

/// An earlier content of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Version {
    /// When this content was the latest edit.
    pub changed: Timestamp,
    /// The content.
    pub record: Record,
}

pub(crate) fn path(root: &Path, file: FileKey) -> PathBuf {
    let name = match file {
        FileKey::Notebook => "notebook".to_owned(),
        FileKey::Station(id) => id.to_string(),
        FileKey::Bag(id) => id.to_string(),
    };
    root.join("versions").join(format!("{name}.txt"))
}

/// A record's content as a version's line.
pub(crate) fn line(entry: v1::Entry) -> (RecordKey, String) {
    let key = entry.key();
    let at = entry.changed().unwrap_or(Timestamp::UNIX_EPOCH);
    let edit =
        v1::Edit { at, name: String::new(), put: vec![entry], take: Vec::new(), unknown: Default::default() };
    (key, journal::line(&edit))
}

/// The lines kept for a file, each with its record.
pub(crate) fn read(
    disk: &dyn Disk,
    root: &Path,
    file: FileKey,
) -> std::io::Result<BTreeSet<(Timestamp, String)>> {
    let path = path(root, file);
    if disk.stat(&path)?.is_none() {
        return Ok(BTreeSet::new());
    }
    let bytes = disk.read(&path, journal::LARGEST)?;
    let lines = bytes.split(|&b| b == b'\n').filter(|line| !line.is_empty());
    Ok(lines
        .filter_map(|line| {
            let edit = journal::decode_line(line).ok()?;
            Some((edit.at, format!("{}\n", std::str::from_utf8(line).ok()?)))
        })
        .collect())
}

/// Unites `lost` with the versions of a file. `current` has the lines of what stands in the file now; those are no
/// versions.
pub(crate) fn keep(
    disk: &dyn Disk,
    root: &Path,
    file: FileKey,
    lost: Vec<v1::Entry>,
    others: BTreeSet<(Timestamp, String)>,
    current: &BTreeMap<RecordKey, String>,
) -> std::io::Result<()> {
    if lost.is_empty() && others.is_empty() {
        return Ok(());
    }
    let before = read(disk, root, file)?;
    let mut all = before.clone();
    all.extend(others);
    for entry in lost {
        let at = entry.changed().unwrap_or(Timestamp::UNIX_EPOCH);
        all.insert((at, line(entry).1));
    }
    let standing: BTreeSet<&String> = current.values().collect();
    all.retain(|(_, line)| !standing.contains(line));
    let mut bytes: usize = all.iter().map(|(_, line)| line.len()).sum();
    while all.len() > MOST_LINES || bytes > MOST_BYTES {
        bytes -= all.pop_first().map_or(bytes, |(_, line)| line.len());
    }
    if all == before {
        return Ok(());
    }
    let text: String = all.into_iter().map(|(_, line)| line).collect();
    replace(disk, &path(root, file), text.as_bytes())
}

impl Folder {
    /// Earlier versions of a record, oldest first: what it was before an edit that has been settled, or what lost in
    /// a merge.
    ///
    /// # Errors
    /// [`StoreFault`] when the file of versions cannot be read.
    pub fn versions(&self, key: RecordKey) -> Result<Vec<Version>, StoreFault> {
        let file = FileKey::of(key);
        let lines = read(&*self.disk, &self.root, file)
            .map_err(|fault| StoreFault::io(&path(&self.root, file), Doing::Read, &fault))?;
        let edits =
            lines.into_iter().filter_map(|(_, line)| journal::decode_line(line.trim_end().as_bytes()).ok());
        Ok(edits
            .flat_map(|edit| edit.put.into_iter().map(move |entry| (edit.at, entry)))
            .filter(|(_, entry)| entry.key() == key)
            .filter_map(|(changed, entry)| Some(Version { changed, record: entry.into_record().ok()? }))
            .collect())
    }
}
