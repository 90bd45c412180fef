//! From the journal into the files.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::disk::replace;
use super::fault::{Problem, StoreFault};
use super::folder::{Folder, bag_path, station_path};
use super::journal::{Change, FileKey};
use super::load::{NOTEBOOK, shown};
use super::read::read;
use super::text::{DiskValue, Ron};
use super::v1;
use crate::domain::{BagId, Record, RecordKey, StationId};

/// What came of settling one file.
enum Done {
    /// The edits are in the file.
    Written,
    /// The file cannot be read, so it is not touched; its edits stay in the journal.
    Waits(Problem),
}

impl Folder {
    /// Writes what stands in the journal into the files, and empties the journal. Fields of a newer version and
    /// records that someone else changed meanwhile are kept, since every file is read again first. Files that cannot
    /// be read are not touched; their edits stay in the journal.
    ///
    /// # Errors
    /// [`StoreFault`] of the first file that could not be written; the journal still holds everything.
    pub fn settle(&mut self) -> Result<(), StoreFault> {
        let files = self.writer()?.pending.files();
        let mut waiting = Vec::new();
        for file in files {
            let changes = self.writer()?.pending.of(file).cloned().unwrap_or_default();
            match self.settle_file(file, &changes)? {
                Done::Written => {}
                Done::Waits(problem) => waiting.push((file, problem)),
            }
        }
        let writer = self.writer()?;
        for file in writer.pending.files() {
            if !waiting.iter().any(|(waits, _)| *waits == file) {
                writer.pending.settled(file);
            }
        }
        writer.trouble.extend(waiting.into_iter().map(|(_, problem)| problem));
        self.reopen_journal()
    }

    fn settle_file(
        &mut self,
        file: FileKey,
        changes: &BTreeMap<RecordKey, Change>,
    ) -> Result<Done, StoreFault> {
        match file {
            FileKey::Notebook => self.settle_notebook(changes),
            FileKey::Station(id) => self.settle_station(id, changes),
            FileKey::Bag(id) => self.settle_bag(id, changes),
        }
    }

    /// The document at `path`, `None` when there is none.
    fn document<T: serde::de::DeserializeOwned + v1::FormatNumber>(
        &self,
        path: &Path,
    ) -> Result<Result<Option<T>, Problem>, StoreFault> {
        match self.disk.stat(path) {
            Ok(None) => return Ok(Ok(None)),
            Ok(Some(_)) => {}
            Err(fault) => return Err(StoreFault::io(path, "could not be looked at", &fault)),
        }
        Ok(read::<T>(&*self.disk, path, shown(&self.root, path)).map(Some).map_err(|fault| fault.problem))
    }

    fn write(&self, path: &Path, value: &impl DiskValue) -> Result<(), StoreFault> {
        replace(&*self.disk, path, Ron::document(value).as_bytes())
            .map_err(|fault| StoreFault::io(path, "could not be written", &fault))
    }

    fn settle_notebook(&mut self, changes: &BTreeMap<RecordKey, Change>) -> Result<Done, StoreFault> {
        let path = self.root.join(NOTEBOOK);
        let document: Option<v1::Notebook> = match self.document(&path)? {
            Ok(document) => document,
            Err(problem) => return Ok(Done::Waits(problem)),
        };
        let mut document = document.unwrap_or_else(|| v1::Notebook {
            format: Some(v1::FORMAT),
            demo: false,
            preferences: None,
            drinkers: Vec::new(),
            unknown: Default::default(),
        });
        for (key, change) in changes {
            match (key, &change.record) {
                (RecordKey::Preferences, Some(Record::Preferences(preferences))) => {
                    let mut new = v1::Preferences::at(preferences, change.at);
                    if let Some(old) = document.preferences.take() {
                        new.adopt(old);
                    }
                    document.preferences = Some(new);
                }
                (RecordKey::Preferences, _) => document.preferences = None,
                (RecordKey::Drinker(_), Some(Record::Drinker(drinker))) => {
                    put(&mut document.drinkers, v1::Drinker::from(&**drinker), |drinker| drinker.id);
                }
                (RecordKey::Drinker(id), None) => document.drinkers.retain(|drinker| drinker.id.0 != id.0),
                _ => {}
            }
        }
        document.drinkers.sort_by_key(|drinker| drinker.id);
        self.write(&path, &document)?;
        Ok(Done::Written)
    }

    fn settle_station(
        &mut self,
        id: StationId,
        changes: &BTreeMap<RecordKey, Change>,
    ) -> Result<Done, StoreFault> {
        let path = self.stations.get(&id).cloned().unwrap_or_else(|| station_path(&self.root, id));
        let document: Option<v1::Station> = match self.document(&path)? {
            Ok(document) => document,
            Err(problem) => return Ok(Done::Waits(problem)),
        };
        for change in changes.values() {
            match &change.record {
                Some(Record::Station(station)) => {
                    let mut new = v1::Station::from(&**station);
                    if let Some(old) = document.clone() {
                        new.adopt(old);
                    }
                    self.write(&path, &new)?;
                    self.stations.insert(id, path.clone());
                }
                _ => {
                    self.remove(&path)?;
                    self.stations.remove(&id);
                }
            }
        }
        Ok(Done::Written)
    }

    fn settle_bag(&mut self, id: BagId, changes: &BTreeMap<RecordKey, Change>) -> Result<Done, StoreFault> {
        let sheet = changes.get(&RecordKey::Bag(id));
        let new_sheet = sheet.and_then(|change| match &change.record {
            Some(Record::Bag(bag)) => Some(&**bag),
            _ => None,
        });
        let path = match (self.bags.get(&id), new_sheet) {
            (Some(path), _) => path.clone(),
            (None, Some(bag)) => bag_path(&*self.disk, &self.root, bag),
            (None, None) if sheet.is_some() => return Ok(Done::Written), // made and taken out again
            (None, None) => return Ok(Done::Waits(self.no_file(Path::new("bags")))),
        };
        let document: Option<v1::Bag> = match self.document(&path)? {
            Ok(document) => document,
            Err(problem) => return Ok(Done::Waits(problem)),
        };
        let mut bag = match (new_sheet, document) {
            (Some(sheet), Some(old)) => {
                let mut new = v1::Bag::from(&sheet.sheet());
                let pulls = old.pulls.clone();
                new.adopt(old);
                new.pulls = pulls;
                new
            }
            (Some(sheet), None) => v1::Bag::from(&sheet.sheet()),
            (None, Some(old)) => old,
            (None, None) => return Ok(Done::Waits(self.no_file(&path))),
        };
        for (key, change) in changes {
            match (key, &change.record) {
                (RecordKey::Pull(..), Some(Record::Pull(_, pull))) => {
                    put(&mut bag.pulls, v1::Pull::from(&**pull), |pull| pull.id);
                }
                (RecordKey::Pull(_, id), None) => bag.pulls.retain(|pull| pull.id.0 != id.0),
                _ => {}
            }
        }
        bag.pulls.sort_by_key(|pull| (pull.pulled_at, pull.id));
        let taken_out = sheet.is_some() && new_sheet.is_none();
        if taken_out && bag.pulls.is_empty() {
            self.remove(&path)?;
            self.bags.remove(&id);
            return Ok(Done::Written);
        }
        self.write(&path, &bag)?;
        self.bags.insert(id, path);
        Ok(Done::Written)
    }

    fn no_file(&self, path: &Path) -> Problem {
        let what = "the file of a bag with new pulls is gone";
        Problem::of_file(shown(&self.root, path), what, "Put it back; the pulls are kept in the journal")
    }

    fn remove(&self, path: &Path) -> Result<(), StoreFault> {
        let folder: PathBuf = path.parent().unwrap_or(&self.root).to_owned();
        self.disk
            .remove(path)
            .and_then(|()| self.disk.sync_dir(&folder))
            .map_err(|fault| StoreFault::io(path, "could not be removed", &fault))
    }
}

/// Puts a record in place of the one with its id, keeping what this version does not know of it.
fn put<T: DiskValue>(list: &mut Vec<T>, mut new: T, id: impl Fn(&T) -> v1::IdText) {
    let key = id(&new);
    match list.iter().position(|old| id(old) == key) {
        Some(at) => {
            let old = list.remove(at);
            new.adopt(old);
            list.insert(at.min(list.len()), new);
        }
        None => list.push(new),
    }
}
