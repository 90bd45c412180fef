//! Two folders, or two files of one folder, brought together.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::Watch;
use super::disk::{Disk, durable_dir, replace};
use super::elsewhere::files;
use super::fault::{Doing, Problem, StoreFault, plain};
use super::folder::Folder;
use super::journal::{FileKey, Pending};
use super::load::{Kind, Twin, find, load, shown, side_by_side};
use super::merge;
use super::read::{LARGEST_FILE, read, read_text};
use super::replay::other_journals;
use super::settle::{BagOutcome, Document, bag_with, current_lines, notebook_with, station_with};
use super::v1;
use super::versions;
use crate::domain::{Notebook, Record, RecordKey, StationId};

/// Two contents of one record of which neither is an earlier version of the other.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// The record.
    pub key: RecordKey,
    /// What stands now.
    pub kept: Record,
    /// What is kept as an earlier version.
    pub other: Record,
}

/// What a merge did, or would do.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Merged {
    /// Records that were not here.
    pub added: Vec<RecordKey>,
    /// Records that were here in an earlier version.
    pub updated: Vec<RecordKey>,
    /// How the added and the updated records stand afterwards.
    pub contents: BTreeMap<RecordKey, Record>,
    /// Records that had been changed on both sides.
    pub conflicts: Vec<Conflict>,
    /// Traces that were not here.
    pub traces: usize,
    /// Rule packs and practice files that were not here: their paths within a notebook.
    pub packs: Vec<PathBuf>,
    /// What could not be read or taken.
    pub problems: Vec<Problem>,
}

impl Merged {
    /// Whether nothing changes.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        self.added.is_empty()
            && self.updated.is_empty()
            && self.conflicts.is_empty()
            && self.traces == 0
            && self.packs.is_empty()
    }
}

/// The content of another copy, file by file.
pub(super) struct Other {
    pub(super) documents: BTreeMap<FileKey, Document>,
    pub(super) versions: BTreeMap<FileKey, BTreeSet<(Timestamp, String)>>,
    pub(super) problems: Vec<Problem>,
}

impl Other {
    /// Adds a document, merging it with one of the same record.
    pub(super) fn add(&mut self, document: Document) {
        let file = document.key();
        match self.documents.get_mut(&file) {
            Some(mine) => {
                let mut lost = Vec::new();
                mine.merge(document, &mut lost);
                let lines = lost
                    .into_iter()
                    .map(|entry| (entry.changed().unwrap_or(Timestamp::UNIX_EPOCH), versions::line(entry).1));
                self.versions.entry(file).or_default().extend(lines);
            }
            None => {
                self.documents.insert(file, document);
            }
        }
    }
}

impl Document {
    pub(super) fn key(&self) -> FileKey {
        match self {
            Self::Notebook(_) => FileKey::Notebook,
            Self::Station(station) => FileKey::Station(StationId(station.id.0)),
            Self::Bag(bag) => FileKey::Bag(crate::domain::BagId(bag.id.0)),
        }
    }

    /// Merges another copy of the same file.
    fn merge(&mut self, other: Self, lost: &mut Vec<v1::Entry>) {
        match (self, other) {
            (Self::Notebook(mine), Self::Notebook(other)) => merge::notebook(mine, other, lost),
            (Self::Station(mine), Self::Station(other)) => merge::station(mine, *other, lost),
            (Self::Bag(mine), Self::Bag(other)) => merge::bag(mine, *other, lost),
            _ => {}
        }
    }
}

pub(super) fn read_document(
    disk: &dyn Disk,
    root: &Path,
    kind: Kind,
    path: &Path,
) -> Result<Document, Problem> {
    let name = shown(root, path);
    match kind {
        Kind::Notebook | Kind::NotebookCopy => read(disk, path, name).map(Document::Notebook),
        Kind::Station => read(disk, path, name).map(|station| Document::Station(Box::new(station))),
        Kind::Bag => read::<v1::Bag>(disk, path, name).map(|mut bag| {
            merge::without_doubles(&mut bag);
            Document::Bag(Box::new(bag))
        }),
    }
    .map_err(|fault| fault.problem)
}

/// Puts edits of a journal into a document.
fn with_edits(file: FileKey, old: Option<Document>, pending: &Pending) -> Option<Document> {
    let Some(changes) = pending.of(file) else { return old };
    let mut lost = Vec::new();
    match (file, old) {
        (FileKey::Notebook, Some(Document::Notebook(old))) => {
            Some(Document::Notebook(notebook_with(Some(old), changes, &mut lost)))
        }
        (FileKey::Notebook, _) => Some(Document::Notebook(notebook_with(None, changes, &mut lost))),
        (FileKey::Station(_), old) => {
            let old = match old {
                Some(Document::Station(old)) => Some(*old),
                _ => None,
            };
            station_with(old, changes, &mut lost).map(|station| Document::Station(Box::new(station)))
        }
        (FileKey::Bag(id), old) => {
            let old = match old {
                Some(Document::Bag(old)) => Some(*old),
                _ => None,
            };
            match bag_with(old, id, changes, &mut lost) {
                BagOutcome::Stands(bag) => Some(Document::Bag(bag)),
                BagOutcome::Gone | BagOutcome::NoSheet => None,
            }
        }
    }
}

/// Reads another folder, its journals included. Nothing there is changed.
fn read_other(disk: &dyn Disk, root: &Path) -> Other {
    let mut other = Other { documents: BTreeMap::new(), versions: BTreeMap::new(), problems: Vec::new() };
    let jobs = find(disk, root, &mut other.problems);
    let answers = side_by_side(&jobs, |(kind, path)| {
        let missing = *kind == Kind::Notebook && matches!(disk.stat(path), Ok(None));
        (!missing).then(|| read_document(disk, root, *kind, path))
    });
    for answer in answers.into_iter().flatten() {
        match answer {
            Ok(document) => other.add(document),
            Err(problem) => other.problems.push(problem),
        }
    }
    let pending = other_journals(disk, root, &mut other.problems);
    for file in pending.files() {
        let old = other.documents.remove(&file);
        if let Some(document) = with_edits(file, old, &pending) {
            other.documents.insert(file, document);
        }
    }
    for &file in other.documents.keys() {
        match versions::read(disk, root, file) {
            Ok(lines) if lines.is_empty() => {}
            Ok(lines) => other.versions.entry(file).or_default().extend(lines),
            Err(fault) => {
                let path = versions::path(root, file);
                let what = say!("store-together-versions-unread", why = plain(&fault));
                other.problems.push(Problem::of_file(
                    shown(root, &path),
                    what,
                    word!("store-together-todo-versions-unread"),
                ));
            }
        }
    }
    other
}

impl Folder {
    /// What [`Folder::merge_from`] would do; nothing is changed.
    ///
    /// # Errors
    /// [`StoreFault`] when there is no notebook at `other`, or this one is read-only.
    pub fn preview_merge(&mut self, other: &Path) -> Result<Merged, StoreFault> {
        self.merge_watched(other, false, super::UNWATCHED)
    }

    /// Brings another copy of the notebook into this one, record by record: the later edit wins, the other one is
    /// kept as an earlier version. The other folder is not changed. May be repeated and done in any order with the
    /// same outcome. Load the notebook anew afterwards with [`Folder::reload`].
    ///
    /// # Errors
    /// [`StoreFault`]; what was merged before the fault stays merged, and trying again completes it.
    pub fn merge_from(&mut self, other: &Path) -> Result<Merged, StoreFault> {
        self.merge_watched(other, true, super::UNWATCHED)
    }

    /// [`Folder::merge_from`], or with `write` off [`Folder::preview_merge`], watched.
    ///
    /// # Errors
    /// As [`Folder::merge_from`]; [`StoreFault::Stopped`].
    pub fn merge_watched(
        &mut self,
        other: &Path,
        write: bool,
        watch: Watch<'_>,
    ) -> Result<Merged, StoreFault> {
        super::folder::check_folder(&*self.disk, other)?;
        let same = |a: &Path, b: &Path| match (a.canonicalize(), b.canonicalize()) {
            (Ok(a), Ok(b)) => a == b,
            _ => a == b,
        };
        if same(other, &self.root) {
            return Err(StoreFault::Itself(other.to_owned()));
        }
        self.settle()?;
        let content = read_other(&*self.disk, other);
        self.bring_together(content, Some(other), write, watch)
    }

    /// The notebook as it stands in the files now; call [`Folder::settle`] first.
    #[must_use]
    pub fn reload(&mut self) -> (Notebook, Vec<Problem>) {
        self.seen = super::outside::glance(&*self.disk, &self.root);
        let loaded = load(&*self.disk, &self.root);
        self.bags = loaded.bags;
        self.stations = loaded.stations;
        (loaded.notebook, loaded.problems)
    }

    pub(super) fn bring_together(
        &mut self,
        other: Other,
        traces_of: Option<&Path>,
        write: bool,
        watch: Watch<'_>,
    ) -> Result<Merged, StoreFault> {
        self.writer()?;
        let mut merged = Merged { problems: other.problems, ..Merged::default() };
        let total = other.documents.len();
        for (done, (file, theirs)) in other.documents.into_iter().enumerate() {
            if !watch(done, total) {
                return Err(StoreFault::Stopped);
            }
            let their_versions = other.versions.get(&file).cloned().unwrap_or_default();
            self.one_document(file, theirs, their_versions, write, &mut merged)?;
        }
        if let Some(root) = traces_of {
            self.copy_traces(root, write, &mut merged, watch)?;
            self.copy_packs(root, write, &mut merged)?;
        }
        Ok(merged)
    }

    fn one_document(
        &mut self,
        file: FileKey,
        theirs: Document,
        their_versions: BTreeSet<(Timestamp, String)>,
        write: bool,
        merged: &mut Merged,
    ) -> Result<(), StoreFault> {
        let (path, mine) = match self.path_of(file) {
            Some(path) => {
                let mine = match file {
                    FileKey::Notebook => self.document(&path)?.map(|found| found.map(Document::Notebook)),
                    FileKey::Station(_) => self
                        .document(&path)?
                        .map(|found| found.map(|station| Document::Station(Box::new(station)))),
                    FileKey::Bag(_) => {
                        self.document(&path)?.map(|found| found.map(|bag| Document::Bag(Box::new(bag))))
                    }
                };
                match mine {
                    Ok(mine) => (path, mine),
                    // Ours cannot be read, so it is not touched.
                    Err(problem) => {
                        merged.problems.push(problem);
                        return Ok(());
                    }
                }
            }
            None => match &theirs {
                Document::Bag(bag) => (self.new_bag_path(&(**bag).clone().into()), None),
                _ => return Ok(()),
            },
        };
        let before = current_lines(mine.as_ref());
        let our_versions = versions::read(&*self.disk, &self.root, file)
            .map_err(|fault| StoreFault::io(&versions::path(&self.root, file), Doing::Read, &fault))?;
        let mut lost = Vec::new();
        let document = match mine.clone() {
            Some(mut document) => {
                document.merge(theirs, &mut lost);
                document
            }
            None => theirs,
        };
        let after = current_lines(Some(&document));
        for (key, line) in &after {
            match before.get(key) {
                None => merged.added.push(*key),
                Some(old) if old != line => merged.updated.push(*key),
                Some(_) => continue,
            }
            merged.contents.extend(record_of(line).map(|record| (*key, record)));
        }
        let known: BTreeSet<&String> =
            our_versions.iter().chain(&their_versions).map(|(_, line)| line).collect();
        for entry in &lost {
            let (key, line) = versions::line(entry.clone());
            let kept = after.get(&key).and_then(|line| record_of(line));
            if !known.contains(&line)
                && let (Some(kept), Ok(other)) = (kept, entry.clone().into_record())
            {
                merged.conflicts.push(Conflict { key, kept, other });
            }
        }
        let same = mine.as_ref() == Some(&document);
        if write && !(same && lost.is_empty() && their_versions.is_subset(&our_versions)) {
            self.store(file, &path, Some(&document), lost, their_versions)?;
        }
        Ok(())
    }

    /// Copies traces that are not here. Of two traces of one pull the one whose text sorts later stays; the other one
    /// goes to `set-aside`.
    fn copy_traces(
        &mut self,
        root: &Path,
        write: bool,
        merged: &mut Merged,
        watch: Watch<'_>,
    ) -> Result<(), StoreFault> {
        let disk = self.disk.clone();
        let entries = disk.list(&root.join("traces")).unwrap_or_default();
        let total = entries.len();
        for (done, entry) in entries.into_iter().enumerate() {
            if !watch(done, total) {
                return Err(StoreFault::Stopped);
            }
            let Some(name) = entry.path.file_name().filter(|_| !entry.is_dir) else { continue };
            let text = match read_text(&*disk, &entry.path, shown(root, &entry.path), LARGEST_FILE) {
                Ok(text) => text,
                Err(problem) => {
                    merged.problems.push(problem);
                    continue;
                }
            };
            if let Err(fault) = super::read::parse::<v1::Trace>(&text, shown(root, &entry.path)) {
                merged.problems.push(fault.problem);
                continue;
            }
            let mine = self.root.join("traces").join(name);
            let old = match disk.stat(&mine) {
                Ok(Some(_)) => read_text(&*disk, &mine, shown(&self.root, &mine), LARGEST_FILE).ok(),
                _ => None,
            };
            if old.as_ref().is_some_and(|old| *old >= text) {
                continue;
            }
            merged.traces += 1;
            if !write {
                continue;
            }
            if old.is_some() {
                self.set_aside(&mine)?;
            }
            replace(&*disk, &mine, text.as_bytes())
                .map_err(|fault| StoreFault::io(&mine, Doing::Write, &fault))?;
        }
        Ok(())
    }

    /// Copies rule packs with their cases, and practice files, that are not here; one that differs is left alone and
    /// named.
    fn copy_packs(&mut self, root: &Path, write: bool, merged: &mut Merged) -> Result<(), StoreFault> {
        let disk = self.disk.clone();
        let mut found = Vec::new();
        for folder in ["rules", "practice"] {
            files(&*disk, &root.join(folder), &mut found);
        }
        for theirs in found {
            let name = shown(root, &theirs);
            let mine = self.root.join(name);
            let bytes = match disk.read(&theirs, LARGEST_FILE) {
                Ok(bytes) => bytes,
                Err(fault) => {
                    let what = say!("store-together-pack-unread", why = plain(&fault));
                    merged.problems.push(Problem::of_file(
                        name,
                        what,
                        word!("store-together-todo-pack-unread"),
                    ));
                    continue;
                }
            };
            match disk.read(&mine, LARGEST_FILE) {
                Ok(ours) if ours == bytes => {}
                Err(fault) if fault.kind() == std::io::ErrorKind::NotFound => {
                    merged.packs.push(name.to_owned());
                    if write {
                        replace(&*disk, &mine, &bytes)
                            .map_err(|fault| StoreFault::io(&mine, Doing::Write, &fault))?;
                    }
                }
                Ok(_) | Err(_) => merged.problems.push(Problem::of_file(
                    name,
                    word!("store-together-other-pack"),
                    word!("store-together-todo-other-pack"),
                )),
            }
        }
        Ok(())
    }

    /// Merges files that hold the same records (conflict copies of file sync); the copies go to `set-aside`. What was
    /// done, or could not be, is told.
    pub(super) fn merge_twins(&mut self, twins: &[Twin], merged: &mut Merged) -> Vec<Problem> {
        let mut told = Vec::new();
        for twin in twins {
            let name = shown(&self.root, &twin.copy).to_owned();
            match self.merge_twin(twin) {
                Ok(mut differing) => {
                    let conflicts = differing.len();
                    merged.conflicts.append(&mut differing);
                    let what = say!("store-together-merged", file = shown(&self.root, &twin.stays).display());
                    let todo = match conflicts {
                        0 => String::new(),
                        n => say!("store-together-differed", n = n),
                    };
                    told.push(Problem { mended: true, ..Problem::of_file(&name, what, todo) });
                }
                Err(fault) => {
                    told.push(twin.problem(&self.root));
                    told.push(Problem::of_file(
                        &name,
                        fault.to_string(),
                        word!("store-together-todo-unmerged"),
                    ));
                }
            }
        }
        told
    }

    fn merge_twin(&mut self, twin: &Twin) -> Result<Vec<Conflict>, StoreFault> {
        let kind = match twin.file {
            FileKey::Notebook => Kind::Notebook,
            FileKey::Station(_) => Kind::Station,
            FileKey::Bag(_) => Kind::Bag,
        };
        let theirs = read_document(&*self.disk, &self.root, kind, &twin.copy).map_err(StoreFault::Text)?;
        let mut merged = Merged::default();
        self.one_document(twin.file, theirs, BTreeSet::new(), true, &mut merged)?;
        if let Some(problem) = merged.problems.pop() {
            return Err(StoreFault::Text(problem));
        }
        self.set_aside(&twin.copy)?;
        self.saw(&twin.copy);
        Ok(merged.conflicts)
    }

    /// Moves a file of the notebook into `set-aside`, under a name that is free.
    pub(super) fn set_aside(&mut self, path: &Path) -> Result<PathBuf, StoreFault> {
        let folder = self.root.join("set-aside");
        let io = |fault: std::io::Error| StoreFault::io(path, Doing::SetAside, &fault);
        durable_dir(&*self.disk, &folder).map_err(io)?;
        let mut number = 1;
        let target = loop {
            let target = self.place_aside(path, number);
            if self.disk.stat(&target).map_err(io)?.is_none() {
                break target;
            }
            number += 1;
        };
        self.disk.rename(path, &target).map_err(io)?;
        self.disk.sync_dir(&folder).map_err(io)?;
        self.disk.sync_dir(path.parent().unwrap_or(&self.root)).map_err(io)?;
        Ok(target)
    }

    /// Copies what a file of the notebook says into `set-aside`, under a name that is free; the same text only once.
    pub(super) fn keep_copy(&self, path: &Path, bytes: &[u8]) -> Result<(), StoreFault> {
        let io = |fault: std::io::Error| StoreFault::io(path, Doing::SetAside, &fault);
        let mut number = 1;
        loop {
            let target = self.place_aside(path, number);
            match self.disk.stat(&target).map_err(io)? {
                None => return replace(&*self.disk, &target, bytes).map_err(io),
                Some(there) if there.len == bytes.len() as u64 => {
                    if self.disk.read(&target, there.len).is_ok_and(|kept| kept == bytes) {
                        return Ok(());
                    }
                }
                Some(_) => {}
            }
            number += 1;
        }
    }

    /// Where a file of the notebook may lie in `set-aside`: the first place, the second one, and so on.
    fn place_aside(&self, path: &Path, number: usize) -> PathBuf {
        let flat = shown(&self.root, path).to_string_lossy().replace(['/', '\\'], "-");
        let name = if number == 1 { flat } else { format!("{number}-{flat}") };
        self.root.join("set-aside").join(name)
    }
}

fn record_of(line: &str) -> Option<Record> {
    let edit = super::journal::decode_line(line.trim_end().as_bytes()).ok()?;
    edit.put.into_iter().next()?.into_record().ok()
}
