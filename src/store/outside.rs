//! What someone else changed in the folder while it was open: file sync, another program, a hand with an editor.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::disk::{Disk, SystemDisk};
use super::fault::{Doing, Problem, StoreFault};
use super::folder::Folder;
use super::journal::FileKey;
use super::load::{Kind, NOTEBOOK, Twin, find, shown};
use super::settle::Document;
use super::together::{Conflict, Merged, read_document};
use super::v1;
use super::versions;
use crate::domain::{Bag, Drinker, Preferences, Record, RecordKey, Station};

/// What tells one state of a file from another without reading it: length and moment of the last change.
pub(super) type Sign = (u64, Option<SystemTime>);

/// The record files of a folder at one moment, without their content.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Glance(pub(super) BTreeMap<PathBuf, Sign>);

/// What a look at the folder from outside says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outside {
    /// The folder is not there any more.
    Vanished,
    /// It is there.
    There {
        /// Its record files.
        glance: Glance,
        /// Why nothing can be written any more, if so.
        refused: Option<String>,
        /// Whether somebody has it open for writing (only looked at for a reader).
        held: bool,
    },
}

pub(super) fn glance(disk: &dyn Disk, root: &Path) -> Glance {
    let mut seen = BTreeMap::new();
    let mut unread = Vec::new();
    let files: BTreeSet<PathBuf> = find(disk, root, &mut unread).into_iter().map(|(_, path)| path).collect();
    let folders: BTreeSet<&Path> = files.iter().filter_map(|path| path.parent()).collect();
    for folder in folders {
        for entry in disk.list(folder).unwrap_or_default() {
            if files.contains(&entry.path) {
                seen.insert(entry.path, (entry.len, entry.modified));
            }
        }
    }
    Glance(seen)
}

/// Looks at the notebook at `root` without opening it or changing anything; for a watcher beside the window. A `reader`
/// also wants to know whether the writer is still there, which only the lock tells after a crash.
#[must_use]
pub fn look(root: &Path, reader: bool) -> Outside {
    look_on(&SystemDisk, root, reader)
}

/// [`look`] on other files than the operating system's.
#[must_use]
pub fn look_on(disk: &dyn Disk, root: &Path, reader: bool) -> Outside {
    if !matches!(disk.stat(root), Ok(Some(_))) {
        return Outside::Vanished;
    }
    let glance = glance(disk, root);
    let lock = root.join(super::lock::LOCK);
    let refused = match disk.stat(&lock) {
        Ok(Some(_)) => disk.may_write(&lock).err().map(|fault| super::fault::plain(&fault)),
        _ => None,
    };
    let held = !reader
        || match disk.lock(&lock) {
            // Given back at once.
            Ok(super::disk::LockAnswer::Held(_guard)) => false,
            Ok(super::disk::LockAnswer::Taken) => true,
            Ok(super::disk::LockAnswer::Unsupported) | Err(_) => {
                matches!(disk.stat(&root.join(super::lock::HOLDER)), Ok(Some(_)))
            }
        };
    Outside::There { glance, refused, held }
}

/// What was read anew.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Refreshed {
    /// Bags with all their pulls, as they stand now.
    pub bags: Vec<Bag>,
    /// Stations, as they stand now.
    pub stations: Vec<Station>,
    /// Preferences and drinkers, where their file changed.
    pub main: Option<(Option<Preferences>, Vec<Drinker>)>,
    /// Records whose files are gone.
    pub gone: Vec<RecordKey>,
    /// Records that had been changed on both sides.
    pub conflicts: Vec<Conflict>,
    /// What could not be read, and what was merged.
    pub problems: Vec<Problem>,
}

impl Folder {
    /// Files that differ from what was last read or written here.
    #[must_use]
    pub fn changed_outside(&self, glance: &Glance) -> Vec<PathBuf> {
        let differs = |path: &Path| {
            let now = match self.disk.stat(path) {
                Ok(now) => now.filter(|entry| !entry.is_dir).map(|entry| (entry.len, entry.modified)),
                // Cannot be told now; the next look will.
                Err(_unknown) => return false,
            };
            now != self.seen.0.get(path).copied()
        };
        let mut changed: BTreeSet<&PathBuf> = BTreeSet::new();
        changed.extend(
            glance.0.iter().filter(|(path, sign)| self.seen.0.get(*path) != Some(sign)).map(|(p, _)| p),
        );
        changed.extend(self.seen.0.keys().filter(|path| !glance.0.contains_key(*path)));
        // The glance may be older than our own last write.
        changed.into_iter().filter(|path| differs(path)).cloned().collect()
    }

    /// Notes what stands at `path` as known.
    pub(super) fn saw(&mut self, path: &Path) {
        match self.disk.stat(path) {
            Ok(Some(entry)) => self.seen.0.insert(path.to_owned(), (entry.len, entry.modified)),
            _ => self.seen.0.remove(path),
        };
    }

    /// Reads files anew that someone else changed. Edits that are still in the journal are put into them first,
    /// record by record, so the later edit of each record stands. A conflict copy is merged and set aside.
    ///
    /// # Errors
    /// [`StoreFault`] of the file system; what is named in no answer is found again by the next look.
    pub fn refresh(&mut self, paths: &[PathBuf]) -> Result<Refreshed, StoreFault> {
        let mut fresh = Refreshed::default();
        let mut again: BTreeSet<FileKey> = BTreeSet::new();
        let mut gone = Vec::new();
        for path in paths {
            match self.disk.stat(path) {
                Ok(Some(_)) => self.refresh_file(path, &mut again, &mut fresh)?,
                Ok(None) => gone.push(path),
                Err(fault) => return Err(StoreFault::io(path, Doing::Look, &fault)),
            }
            self.saw(path);
        }
        for path in gone {
            let key =
                self.bags.iter().find(|(_, known)| *known == path).map(|(id, _)| FileKey::Bag(*id)).or_else(
                    || {
                        let station = self.stations.iter().find(|(_, known)| *known == path);
                        station.map(|(id, _)| FileKey::Station(*id))
                    },
                );
            let Some(key) = key else { continue };
            let waiting = self.writer.as_ref().is_some_and(|writer| writer.pending.of(key).is_some());
            if waiting {
                continue; // its edits make it anew, or say that they cannot
            }
            match key {
                FileKey::Bag(id) => self.bags.remove(&id),
                FileKey::Station(id) => self.stations.remove(&id),
                FileKey::Notebook => None,
            };
            again.remove(&key);
            fresh.gone.push(key.sheet());
        }
        for key in again {
            self.take_fresh(key, &mut fresh)?;
        }
        fresh.problems.extend(self.take_trouble());
        Ok(fresh)
    }

    fn refresh_file(
        &mut self,
        path: &Path,
        again: &mut BTreeSet<FileKey>,
        fresh: &mut Refreshed,
    ) -> Result<(), StoreFault> {
        let kind = self.kind_of(path);
        let document = match read_document(&*self.disk, &self.root, kind, path) {
            Ok(document) => document,
            Err(problem) => {
                fresh.problems.push(problem);
                return Ok(());
            }
        };
        let key = document.key();
        let main = self.root.join(NOTEBOOK);
        let known = match key {
            FileKey::Notebook => Some(main.clone()),
            FileKey::Station(id) => self.stations.get(&id).cloned(),
            FileKey::Bag(id) => self.bags.get(&id).cloned(),
        };
        let twin = known.filter(|known| known != path && matches!(self.disk.stat(known), Ok(Some(_))));
        let stays = match twin {
            None if kind == Kind::NotebookCopy => return Ok(()),
            None => path.to_owned(),
            Some(known) => {
                let twin = match key {
                    FileKey::Notebook => Twin { file: key, stays: main, copy: path.to_owned() },
                    _ => Twin::new(key, known, path.to_owned()),
                };
                let (stays, copy) = (twin.stays.clone(), twin.copy.clone());
                self.note_path(key, &stays);
                if self.writer.is_some() {
                    let mut merged = Merged::default();
                    fresh.problems.extend(self.merge_twins(&[twin], &mut merged));
                    fresh.conflicts.append(&mut merged.conflicts);
                    self.saw(&copy);
                } else {
                    fresh.problems.push(twin.problem(&self.root));
                }
                stays
            }
        };
        self.note_path(key, &stays);
        again.insert(key);
        Ok(())
    }

    fn note_path(&mut self, key: FileKey, path: &Path) {
        match key {
            FileKey::Bag(id) => drop(self.bags.insert(id, path.to_owned())),
            FileKey::Station(id) => drop(self.stations.insert(id, path.to_owned())),
            FileKey::Notebook => {}
        }
    }

    fn kind_of(&self, path: &Path) -> Kind {
        if path.parent() == Some(&*self.root) {
            if path == self.root.join(NOTEBOOK) { Kind::Notebook } else { Kind::NotebookCopy }
        } else if path.starts_with(self.root.join("stations")) {
            Kind::Station
        } else {
            Kind::Bag
        }
    }

    /// Puts waiting edits into a file, then takes its content.
    fn take_fresh(&mut self, key: FileKey, fresh: &mut Refreshed) -> Result<(), StoreFault> {
        self.settle_record(key.sheet())?;
        let Some(path) = self.path_of(key) else { return Ok(()) };
        let document = match read_document(&*self.disk, &self.root, self.kind_of(&path), &path) {
            Ok(document) => document,
            Err(problem) => {
                fresh.problems.push(problem);
                return Ok(());
            }
        };
        let name = shown(&self.root, &path).to_owned();
        self.saw(&path);
        match document {
            Document::Notebook(main) => {
                let drinkers = main.drinkers.into_iter().map(Into::into).collect();
                fresh.main = Some((main.preferences.map(Into::into), drinkers));
            }
            Document::Station(station) => match Station::try_from(*station) {
                Ok(station) => fresh.stations.push(station),
                Err(fault) => {
                    fresh.problems.push(Problem::of_file(
                        &name,
                        fault.to_string(),
                        word!("store-load-todo-scale"),
                    ));
                }
            },
            Document::Bag(bag) => fresh.bags.push((*bag).into()),
        }
        Ok(())
    }

    /// Keeps contents of records as earlier versions, because someone else wrote over them.
    ///
    /// # Errors
    /// [`StoreFault`] when this notebook is read-only or the versions cannot be written.
    pub fn keep_earlier(&mut self, records: &[Record]) -> Result<(), StoreFault> {
        self.writer()?;
        let mut files: BTreeMap<FileKey, Vec<v1::Entry>> = BTreeMap::new();
        for record in records {
            // Preferences carry no moment of their own and are not worth a version here.
            if !matches!(record, Record::Preferences(_)) {
                let entry = v1::Entry::of(record, jiff::Timestamp::UNIX_EPOCH);
                files.entry(FileKey::of(record.key())).or_default().push(entry);
            }
        }
        for (file, lost) in files {
            versions::keep(&*self.disk, &self.root, file, lost, BTreeSet::new(), &BTreeMap::new())
                .map_err(|fault| StoreFault::io(&versions::path(&self.root, file), Doing::Write, &fault))?;
        }
        Ok(())
    }
}
