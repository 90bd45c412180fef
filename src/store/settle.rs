//! From the journal into the files.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::disk::replace;
use super::fault::{Doing, Problem, StoreFault};
use super::folder::{Folder, bag_path, station_path};
use super::journal::{Change, FileKey};
use super::load::{NOTEBOOK, shown};
use super::merge::Stamped;
use super::read::read;
use super::text::Ron;
use super::v1;
use super::versions;
use crate::domain::{Bag, BagId, Record, RecordKey};

/// Edits of one file.
pub(super) type Changes = BTreeMap<RecordKey, Change>;

/// The content of one record file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Document {
    Notebook(v1::Notebook),
    Station(Box<v1::Station>),
    Bag(Box<v1::Bag>),
}

/// Puts edits into a record's old content. Returns the new content (`None`: the record is gone) and adds to `lost`
/// what is no longer current. What someone else changed later than the edit stays, and the edit is the loser.
fn put<T: Stamped>(
    old: Option<T>,
    change: &Change,
    new: Option<T>,
    lost: &mut Vec<v1::Entry>,
    entry: impl Fn(T) -> v1::Entry,
) -> Option<T> {
    let Some(mut new) = new else {
        lost.extend(old.map(entry));
        return None;
    };
    let Some(old) = old else { return Some(new) };
    if old.changed() > Some(change.at) {
        lost.push(entry(new));
        return Some(old);
    }
    new.adopt(old.clone());
    if new != old {
        lost.push(entry(old));
    }
    Some(new)
}

fn put_in_list<T: Stamped>(
    list: &mut Vec<T>,
    id: v1::IdText,
    id_of: impl Fn(&T) -> v1::IdText,
    change: &Change,
    new: Option<T>,
    lost: &mut Vec<v1::Entry>,
    entry: impl Fn(T) -> v1::Entry,
) {
    let at = list.iter().position(|old| id_of(old) == id);
    let old = at.map(|at| list.remove(at));
    if let Some(new) = put(old, change, new, lost, entry) {
        list.insert(at.unwrap_or(list.len()), new);
    }
}

/// `notebook.ron` with edits put in.
pub(super) fn notebook_with(
    old: Option<v1::Notebook>,
    changes: &Changes,
    lost: &mut Vec<v1::Entry>,
) -> v1::Notebook {
    let mut document = old.unwrap_or_else(v1::Notebook::empty);
    for (key, change) in changes {
        match key {
            RecordKey::Preferences => {
                let new = match &change.record {
                    Some(Record::Preferences(preferences)) => {
                        Some(v1::Preferences::at(preferences, change.at))
                    }
                    _ => None,
                };
                document.preferences =
                    put(document.preferences.take(), change, new, lost, v1::Entry::Preferences);
            }
            RecordKey::Drinker(id) => {
                let new = match &change.record {
                    Some(Record::Drinker(drinker)) => Some(v1::Drinker::from(&**drinker)),
                    _ => None,
                };
                let list = &mut document.drinkers;
                put_in_list(
                    list,
                    v1::IdText(id.0),
                    |drinker| drinker.id,
                    change,
                    new,
                    lost,
                    v1::Entry::Drinker,
                );
            }
            _ => {}
        }
    }
    document.drinkers.sort_by_key(|drinker| drinker.id);
    document
}

/// A station's file with edits put in; `None` when it is gone.
pub(super) fn station_with(
    old: Option<v1::Station>,
    changes: &Changes,
    lost: &mut Vec<v1::Entry>,
) -> Option<v1::Station> {
    changes.values().fold(old, |old, change| {
        let new = match &change.record {
            Some(Record::Station(station)) => Some(v1::Station::from(&**station)),
            _ => None,
        };
        put(old, change, new, lost, |station| v1::Entry::Station(Box::new(station)))
    })
}

/// What becomes of a bag's file.
pub(super) enum BagOutcome {
    /// It has this content.
    Stands(Box<v1::Bag>),
    /// It is gone.
    Gone,
    /// There are pulls for it, but no sheet.
    NoSheet,
}

/// A bag's file with edits put in.
pub(super) fn bag_with(
    old: Option<v1::Bag>,
    id: BagId,
    changes: &Changes,
    lost: &mut Vec<v1::Entry>,
) -> BagOutcome {
    let (mut sheet, mut pulls) = match old {
        Some(mut old) => {
            let pulls = std::mem::take(&mut old.pulls);
            (Some(old), pulls)
        }
        None => (None, Vec::new()),
    };
    let mut taken_out = false;
    for (key, change) in changes {
        match key {
            RecordKey::Bag(_) => match &change.record {
                Some(Record::Bag(bag)) => {
                    let new = Some(v1::Bag::from(&bag.sheet()));
                    sheet = put(sheet, change, new, lost, |bag| v1::Entry::Bag(Box::new(bag)));
                }
                _ => taken_out = true,
            },
            RecordKey::Pull(_, pull) => {
                let new = match &change.record {
                    Some(Record::Pull(_, pull)) => Some(v1::Pull::from(&**pull)),
                    _ => None,
                };
                let entry = |pull| v1::Entry::Pull { bag: v1::IdText(id.0), pull: Box::new(pull) };
                put_in_list(&mut pulls, v1::IdText(pull.0), |pull| pull.id, change, new, lost, entry);
            }
            _ => {}
        }
    }
    // A bag is taken out only with all its pulls; if someone else added one, it stays.
    if taken_out && pulls.is_empty() {
        lost.extend(sheet.map(|sheet| v1::Entry::Bag(Box::new(sheet))));
        return BagOutcome::Gone;
    }
    let Some(mut bag) = sheet else {
        return if pulls.is_empty() { BagOutcome::Gone } else { BagOutcome::NoSheet };
    };
    pulls.sort_by_key(|pull| (pull.pulled_at, pull.id));
    bag.pulls = pulls;
    BagOutcome::Stands(Box::new(bag))
}

/// The lines of what stands in a document, by record.
pub(super) fn current_lines(document: Option<&Document>) -> BTreeMap<RecordKey, String> {
    let mut entries = Vec::new();
    match document {
        None => {}
        Some(Document::Notebook(notebook)) => {
            entries.extend(notebook.preferences.clone().map(v1::Entry::Preferences));
            entries.extend(notebook.drinkers.iter().cloned().map(v1::Entry::Drinker));
        }
        Some(Document::Station(station)) => entries.push(v1::Entry::Station(station.clone())),
        Some(Document::Bag(bag)) => {
            let pull = |pull: &v1::Pull| v1::Entry::Pull { bag: bag.id, pull: Box::new(pull.clone()) };
            entries.extend(bag.pulls.iter().map(pull));
            let mut sheet = bag.clone();
            sheet.pulls.clear();
            entries.push(v1::Entry::Bag(sheet));
        }
    }
    entries.into_iter().map(versions::line).collect()
}

/// The name by which a message tells the kinds of records apart.
fn kind_of(key: RecordKey) -> &'static str {
    match key {
        RecordKey::Preferences => "preferences",
        RecordKey::Drinker(_) => "drinker",
        RecordKey::Station(_) => "station",
        RecordKey::Bag(_) => "bag",
        RecordKey::Pull(..) => "pull",
    }
}

/// What came of settling one file.
enum Done {
    /// The edits are in the file.
    Written,
    /// The file cannot be read, so it is not touched; its edits stay in the journal.
    Waits(Problem),
}

impl Folder {
    /// Writes what stands in the journal into the files, and empties the journal. Fields of a newer version and
    /// records that someone else changed meanwhile are kept, since every file is read again first; replaced contents
    /// become [`Folder::versions`]. Files that cannot be read are not touched; their edits stay in the journal.
    ///
    /// # Errors
    /// [`StoreFault`] of the first file that could not be written; the journal still holds everything.
    pub fn settle(&mut self) -> Result<(), StoreFault> {
        self.settle_some(usize::MAX).map(|_| ())
    }

    /// As [`Folder::settle`], but writes at most `files` files, so that an idle moment stays short. Returns whether
    /// everything that can be settled is.
    ///
    /// # Errors
    /// As [`Folder::settle`].
    pub fn settle_some(&mut self, files: usize) -> Result<bool, StoreFault> {
        let all = self.writer()?.pending.files();
        if all.is_empty() && self.writer()?.journal_is_empty() {
            return Ok(true);
        }
        let mut written = 0;
        for file in all {
            if written == files {
                return Ok(false);
            }
            let changes = self.writer()?.pending.of(file).cloned().unwrap_or_default();
            match self.settle_file(file, &changes)? {
                Done::Written => {
                    self.writer()?.pending.settled(file);
                    written += 1;
                }
                Done::Waits(problem) => self.writer()?.tell(problem),
            }
        }
        self.reopen_journal()?;
        Ok(true)
    }

    /// Settles the one file that holds a record, so that [`Folder::versions`] of it are complete.
    ///
    /// # Errors
    /// As [`Folder::settle`].
    pub fn settle_record(&mut self, key: RecordKey) -> Result<(), StoreFault> {
        let file = FileKey::of(key);
        let Some(writer) = &self.writer else { return Ok(()) };
        let Some(changes) = writer.pending.of(file).cloned() else { return Ok(()) };
        match self.settle_file(file, &changes)? {
            Done::Written => self.writer()?.pending.settled(file),
            Done::Waits(problem) => self.writer()?.tell(problem),
        }
        Ok(())
    }

    fn settle_file(&mut self, file: FileKey, changes: &Changes) -> Result<Done, StoreFault> {
        let mut lost = Vec::new();
        let superseded = self.writer()?.pending.superseded(file);
        let path = match (self.path_of(file), changes.get(&file.sheet())) {
            (Some(path), _) => path,
            (None, Some(Change { record: Some(Record::Bag(bag)), .. })) => self.new_bag_path(bag),
            (None, _) => PathBuf::from("bags"),
        };
        let outcome = match file {
            FileKey::Notebook => {
                let old = match self.document(&path)? {
                    Ok(old) => old,
                    Err(problem) => return Ok(Done::Waits(problem)),
                };
                Some(Document::Notebook(notebook_with(old, changes, &mut lost)))
            }
            FileKey::Station(_) => {
                let old = match self.document(&path)? {
                    Ok(old) => old,
                    Err(problem) => return Ok(Done::Waits(problem)),
                };
                station_with(old, changes, &mut lost).map(|station| Document::Station(Box::new(station)))
            }
            FileKey::Bag(id) => {
                let old = match self.bags.contains_key(&id).then(|| self.document(&path)).transpose()? {
                    Some(Err(problem)) => return Ok(Done::Waits(problem)),
                    Some(Ok(old)) => old,
                    None => None,
                };
                match bag_with(old, id, changes, &mut lost) {
                    BagOutcome::Stands(bag) => Some(Document::Bag(bag)),
                    BagOutcome::Gone if !self.bags.contains_key(&id) => return Ok(Done::Written),
                    BagOutcome::Gone => None,
                    BagOutcome::NoSheet => {
                        let what = word!("store-settle-no-bag");
                        let todo = word!("store-settle-todo-no-bag");
                        return Ok(Done::Waits(Problem::of_file(shown(&self.root, &path), what, todo)));
                    }
                }
            }
        };
        for (key, change) in changes {
            let ours = change.record.as_ref().map(|record| v1::Entry::of(record, change.at));
            if ours.is_some_and(|ours| lost.contains(&ours)) {
                let what = say!("store-settle-changed-by-another", kind = kind_of(*key));
                let todo = word!("store-settle-todo-changed-by-another");
                let problem = Problem::of_file(shown(&self.root, &path), what, todo);
                self.writer()?.tell(problem);
            }
        }
        lost.extend(superseded);
        self.store(file, &path, outcome.as_ref(), lost, BTreeSet::new())?;
        Ok(Done::Written)
    }

    /// The path of a file that is known, or that follows from its key.
    pub(super) fn path_of(&self, file: FileKey) -> Option<PathBuf> {
        match file {
            FileKey::Notebook => Some(self.root.join(NOTEBOOK)),
            FileKey::Station(id) => {
                Some(self.stations.get(&id).cloned().unwrap_or_else(|| station_path(&self.root, id)))
            }
            FileKey::Bag(id) => self.bags.get(&id).cloned(),
        }
    }

    pub(super) fn new_bag_path(&self, bag: &Bag) -> PathBuf {
        bag_path(&*self.disk, &self.root, bag)
    }

    /// The document at `path`, `None` when there is none.
    pub(super) fn document<T: serde::de::DeserializeOwned + v1::FormatNumber>(
        &self,
        path: &Path,
    ) -> Result<Result<Option<T>, Problem>, StoreFault> {
        match self.disk.stat(path) {
            Ok(None) => return Ok(Ok(None)),
            Ok(Some(_)) => {}
            Err(fault) => return Err(StoreFault::io(path, Doing::Look, &fault)),
        }
        Ok(read::<T>(&*self.disk, path, shown(&self.root, path)).map(Some).map_err(|fault| fault.problem))
    }

    /// Keeps the losers, then writes (or removes) the file.
    pub(super) fn store(
        &mut self,
        file: FileKey,
        path: &Path,
        document: Option<&Document>,
        lost: Vec<v1::Entry>,
        other_versions: BTreeSet<(jiff::Timestamp, String)>,
    ) -> Result<(), StoreFault> {
        let disk = self.disk.clone();
        versions::keep(&*disk, &self.root, file, lost, other_versions, &current_lines(document))
            .map_err(|fault| StoreFault::io(&versions::path(&self.root, file), Doing::Write, &fault))?;
        // Noted before it is written: a fault after the renaming must not lead to a second file on the next try.
        match (file, document) {
            (FileKey::Bag(id), Some(_)) => {
                self.bags.insert(id, path.to_owned());
            }
            (FileKey::Station(id), Some(_)) => {
                self.stations.insert(id, path.to_owned());
            }
            _ => {}
        }
        let Some(document) = document else {
            let folder = path.parent().unwrap_or(&self.root);
            disk.remove(path)
                .and_then(
                    |()| if matches!(disk.stat(folder), Ok(None)) { Ok(()) } else { disk.sync_dir(folder) },
                )
                .map_err(|fault| StoreFault::io(path, Doing::Remove, &fault))?;
            match file {
                FileKey::Bag(id) => self.bags.remove(&id),
                FileKey::Station(id) => self.stations.remove(&id),
                FileKey::Notebook => None,
            };
            self.saw(path);
            return Ok(());
        };
        let text = match document {
            Document::Notebook(notebook) => Ron::document(notebook),
            Document::Station(station) => Ron::document(&**station),
            Document::Bag(bag) => Ron::document(&**bag),
        };
        replace(&*disk, path, text.as_bytes()).map_err(|fault| StoreFault::io(path, Doing::Write, &fault))?;
        self.saw(path);
        Ok(())
    }
}
