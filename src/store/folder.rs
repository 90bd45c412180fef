//! An open notebook folder: opening, committing edits, keeping traces.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;

use super::disk::{Disk, LockGuard, SystemDisk, TEMPORARY, Tail, replace};
use super::fault::{Problem, StoreFault, plain};
use super::journal::{self, Change, FileKey, Pending};
use super::load::{Loaded, NOTEBOOK, load, shown};
use super::lock::{self, Asked, Holder};
use super::text::Ron;
use super::v1;
use crate::domain::{BagId, Notebook, Record, RecordKey, StationId};

/// Whether edits can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Access {
    /// We are the one writer.
    Writer,
    /// The notebook can be read only; [`Opened::why_read_only`] has the sentence.
    ReadOnly {
        /// Who holds it, where someone does; else empty.
        holder: String,
        /// Since when, where known.
        since: Option<Timestamp>,
    },
}

/// A notebook, opened.
#[derive(Debug)]
pub struct Opened {
    /// The folder, for further edits and for traces.
    pub folder: Folder,
    /// What it holds, the journal included.
    pub notebook: Notebook,
    /// What could not be read or looks odd.
    pub problems: Vec<Problem>,
    /// Whether edits can be made.
    pub access: Access,
    /// Why only reading is possible, as a sentence.
    pub why_read_only: Option<String>,
}

/// An open notebook folder. Dropping it settles the journal where that is possible and gives the lock back.
pub struct Folder {
    pub(super) disk: Arc<dyn Disk>,
    pub(super) root: PathBuf,
    pub(super) bags: BTreeMap<BagId, PathBuf>,
    pub(super) stations: BTreeMap<StationId, PathBuf>,
    pub(super) writer: Option<Writer>,
    why_read_only: String,
}

impl std::fmt::Debug for Folder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Folder").field("root", &self.root).field("writer", &self.writer.is_some()).finish()
    }
}

/// What only the writer has.
pub(super) struct Writer {
    _guard: Option<Box<dyn LockGuard>>,
    pub(super) journal_path: PathBuf,
    journal: Option<Box<dyn Tail>>,
    /// Bytes of whole, synced lines.
    journal_len: u64,
    /// Whether bytes of a failed append may stand behind them.
    torn: bool,
    lines: usize,
    pub(super) pending: Pending,
    /// Moment of the last commit; commits never go back in time, even when the clock does.
    pub(super) clock: Timestamp,
    pub(super) trouble: Vec<Problem>,
}

/// Lines in the journal after which a commit also writes the files.
const MANY_LINES: usize = 2000;
/// Lines in the journal after which [`Folder::wants_settling`] says yes.
const SOME_LINES: usize = 50;

impl Folder {
    /// Opens the notebook at `path`. `now` stamps what the store itself writes.
    ///
    /// # Errors
    /// [`StoreFault`] when there is no notebook at all. A notebook that can be read in part opens, with
    /// [`Opened::problems`]; one that cannot be written opens read-only.
    pub fn open(path: &Path, now: Timestamp, holder: &Holder) -> Result<Opened, StoreFault> {
        Self::open_on(Arc::new(SystemDisk), path, now, holder)
    }

    /// [`Folder::open`] on other files than the operating system's.
    ///
    /// # Errors
    /// As [`Folder::open`].
    pub fn open_on(
        disk: Arc<dyn Disk>,
        path: &Path,
        now: Timestamp,
        holder: &Holder,
    ) -> Result<Opened, StoreFault> {
        check_folder(&*disk, path)?;
        let mut folder = Self {
            disk: disk.clone(),
            root: path.to_owned(),
            bags: BTreeMap::new(),
            stations: BTreeMap::new(),
            writer: None,
            why_read_only: String::new(),
        };
        let mut problems = Vec::new();
        let mut access = Access::Writer;
        let mut guard = None;
        match lock::ask(&*disk, path) {
            Ok(Asked::Ours { guard: ours, stale }) => {
                if ours.is_none() {
                    let what =
                        "this disk knows no file locks, so a second window could write at the same time";
                    problems.push(Problem::of_file(
                        Path::new(lock::LOCK),
                        what,
                        "Open it in one window only",
                    ));
                }
                guard = Some(ours);
                if let Some((other, since)) = stale.filter(|(other, _)| other.machine != holder.machine) {
                    folder.why_read_only = format!(
                        "{} has it open on {} since {since} and has not closed it; take it over if that is over",
                        named(&other),
                        other.machine
                    );
                    access = Access::ReadOnly { holder: named(&other), since: Some(since) };
                    guard = None;
                }
            }
            Ok(Asked::Theirs(other)) => {
                let (name, since) = match other {
                    Some((other, since)) => (format!("{} on {}", named(&other), other.machine), Some(since)),
                    None => ("another window".to_owned(), None),
                };
                let when = since.map(|since| format!(" since {since}")).unwrap_or_default();
                folder.why_read_only = format!("{name} has it open{when}");
                access = Access::ReadOnly { holder: name, since };
            }
            Err(fault) => {
                folder.why_read_only = format!("the folder cannot be written: {}", plain(&fault));
                access = Access::ReadOnly { holder: String::new(), since: None };
            }
        }

        let mut loaded = load(&*disk, path);
        problems.append(&mut loaded.problems);
        if !loaded.has_notebook {
            let what = "the file with drinkers and preferences is missing";
            let todo = "It will be made anew; restore it from a backup if it was deleted by mistake";
            problems.push(Problem::of_file(Path::new(NOTEBOOK), what, todo));
        }
        if loaded.newer && access == Access::Writer {
            folder.why_read_only =
                "it was written by a newer version of the program; update the program to edit it".into();
            access = Access::ReadOnly { holder: String::new(), since: None };
            guard = None;
        }
        folder.bags = std::mem::take(&mut loaded.bags);
        folder.stations = std::mem::take(&mut loaded.stations);

        let mut replayed = replay(&*disk, path, holder, &mut loaded, &mut problems);
        if let Some(guard) = guard {
            let writer = Writer {
                _guard: guard,
                journal_path: journal_path(path, holder),
                journal: None,
                journal_len: replayed.own_len,
                torn: replayed.own_torn,
                lines: replayed.own_lines,
                pending: std::mem::take(&mut replayed.pending),
                clock: now.max(loaded.newest.unwrap_or(now)).max(replayed.last.unwrap_or(now)),
                trouble: Vec::new(),
            };
            folder.writer = Some(writer);
            if let Err(fault) = folder.prepare_writing(now, holder) {
                folder.why_read_only = format!("the folder cannot be written: {fault}");
                access = Access::ReadOnly { holder: String::new(), since: None };
                folder.writer = None;
            }
        }
        let why_read_only = (access != Access::Writer).then(|| folder.why_read_only.clone());
        problems.sort();
        Ok(Opened { folder, notebook: loaded.notebook, problems, access, why_read_only })
    }

    /// Makes a new notebook folder with this content and opens it.
    ///
    /// # Errors
    /// [`StoreFault::AlreadyThere`] when a notebook stands there, or a fault of the file system.
    pub fn create(
        path: &Path,
        notebook: &Notebook,
        now: Timestamp,
        holder: &Holder,
    ) -> Result<Opened, StoreFault> {
        Self::create_on(Arc::new(SystemDisk), path, notebook, now, holder)
    }

    /// [`Folder::create`] on other files than the operating system's.
    ///
    /// # Errors
    /// As [`Folder::create`].
    pub fn create_on(
        disk: Arc<dyn Disk>,
        path: &Path,
        notebook: &Notebook,
        now: Timestamp,
        holder: &Holder,
    ) -> Result<Opened, StoreFault> {
        let stat = |path: &Path| {
            disk.stat(path).map_err(|fault| StoreFault::io(path, "could not be looked at", &fault))
        };
        if stat(path)?.is_some_and(|entry| !entry.is_dir) {
            return Err(StoreFault::NotAFolder(path.to_owned()));
        }
        if stat(&path.join(NOTEBOOK))?.is_some() || stat(&path.join("bags"))?.is_some() {
            return Err(StoreFault::AlreadyThere(path.to_owned()));
        }
        for folder in [
            path.to_owned(),
            path.join("stations"),
            path.join("bags"),
            path.join("traces"),
            path.join("rules"),
        ] {
            disk.create_dir(&folder).map_err(|fault| StoreFault::io(&folder, "could not be made", &fault))?;
        }
        let write = |file: PathBuf, text: String| {
            replace(&*disk, &file, text.as_bytes())
                .map_err(|fault| StoreFault::io(&file, "could not be written", &fault))
        };
        for station in &notebook.stations {
            write(station_path(path, station.id), Ron::document(&v1::Station::from(station)))?;
        }
        for bag in &notebook.bags {
            write(bag_path(&*disk, path, bag), Ron::document(&v1::Bag::from(bag)))?;
        }
        let main = v1::Notebook {
            format: Some(v1::FORMAT),
            demo: notebook.demo,
            preferences: Some(v1::Preferences::at(&notebook.preferences, now)),
            drinkers: notebook.drinkers.iter().map(v1::Drinker::from).collect(),
            unknown: Default::default(),
        };
        // Last, so that a notebook that was interrupted in the making is not taken for a whole one.
        write(path.join(NOTEBOOK), Ron::document(&main))?;
        Self::open_on(disk, path, now, holder)
    }

    /// Takes over a notebook whose named holder is gone (another machine that never closed it).
    ///
    /// # Errors
    /// As [`Folder::open`]. When the other window is in truth still open on this machine, the notebook opens
    /// read-only again.
    pub fn take_over(path: &Path, now: Timestamp, holder: &Holder) -> Result<Opened, StoreFault> {
        Self::take_over_on(Arc::new(SystemDisk), path, now, holder)
    }

    /// [`Folder::take_over`] on other files than the operating system's.
    ///
    /// # Errors
    /// As [`Folder::take_over`].
    pub fn take_over_on(
        disk: Arc<dyn Disk>,
        path: &Path,
        now: Timestamp,
        holder: &Holder,
    ) -> Result<Opened, StoreFault> {
        check_folder(&*disk, path)?;
        if let Ok(Asked::Ours { .. }) = lock::ask(&*disk, path) {
            lock::sign(&*disk, path, holder, now)
                .map_err(|fault| StoreFault::io(&path.join(lock::HOLDER), "could not be written", &fault))?;
        }
        Self::open_on(disk, path, now, holder)
    }

    /// The folder's path.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.root
    }

    /// Signs the holder file, opens the journal and tidies up after an interrupted write.
    fn prepare_writing(&mut self, now: Timestamp, holder: &Holder) -> Result<(), StoreFault> {
        lock::sign(&*self.disk, &self.root, holder, now)
            .map_err(|fault| StoreFault::io(&self.root.join(lock::HOLDER), "could not be written", &fault))?;
        for folder in [self.root.clone(), self.root.join("stations"), self.root.join("journal")] {
            for entry in self.disk.list(&folder).unwrap_or_default() {
                if entry.path.to_string_lossy().ends_with(TEMPORARY) {
                    // Nobody's: there is one writer. If it cannot go now, it can go later.
                    let _ = self.disk.remove(&entry.path);
                }
            }
        }
        self.open_journal()
    }

    fn open_journal(&mut self) -> Result<(), StoreFault> {
        let Some(writer) = &mut self.writer else { return Ok(()) };
        let path = writer.journal_path.clone();
        let fault = |fault: std::io::Error| StoreFault::io(&path, "could not be opened for writing", &fault);
        let folder = path.parent().unwrap_or(&self.root);
        self.disk.create_dir(folder).map_err(fault)?;
        let mut tail = self.disk.tail(&path).map_err(fault)?;
        if writer.torn {
            tail.cut(writer.journal_len).map_err(fault)?;
            writer.torn = false;
        }
        self.disk.sync_dir(folder).map_err(fault)?;
        self.disk.sync_dir(&self.root).map_err(fault)?;
        writer.journal = Some(tail);
        Ok(())
    }

    /// Makes an edit durable: when this returns `Ok`, the edit survives a kill or a power cut. `put` holds the
    /// records after the edit, `taken_out` the names of records that are gone altogether. The cost does not depend
    /// on the size of the notebook.
    ///
    /// # Errors
    /// [`StoreFault`]; the edit is then not acknowledged, and nothing acknowledged before is lost. Trying again is
    /// safe.
    pub fn commit(
        &mut self,
        put: &[Record],
        taken_out: &[RecordKey],
        name_of_edit: &str,
        now: Timestamp,
    ) -> Result<(), StoreFault> {
        let at = self.writer()?.clock.max(now);
        let line = journal::encode(at, name_of_edit, put, taken_out);
        // What cannot be read back must never be acknowledged (a NaN where a number has to be, for instance).
        if let Err(why) = journal::decode_line(line.trim_end_matches('\n').as_bytes()) {
            let file = self.writer()?.journal_path.clone();
            return Err(StoreFault::Text(Problem::of_file(
                shown(&self.root, &file),
                format!("the edit “{name_of_edit}” cannot be written: {why}"),
                "Correct the value and save again",
            )));
        }
        self.append(line.as_bytes())?;
        let writer = self.writer()?;
        writer.clock = at;
        writer.lines += 1;
        for record in put {
            writer.pending.note(record.key(), Change { at, record: Some(record.clone()) });
        }
        for &key in taken_out {
            writer.pending.note(key, Change { at, record: None });
        }
        if writer.lines >= MANY_LINES
            && let Err(fault) = self.settle()
        {
            // The edit itself is safe in the journal.
            let problem =
                Problem::of_file(Path::new(""), fault.to_string(), "Nothing is lost; it will be tried again");
            let writer = self.writer()?;
            writer.lines = 0;
            writer.trouble.push(problem);
        }
        Ok(())
    }

    pub(super) fn writer(&mut self) -> Result<&mut Writer, StoreFault> {
        let why = &self.why_read_only;
        self.writer.as_mut().ok_or_else(|| StoreFault::ReadOnly(why.clone()))
    }

    /// Appends whole lines to the journal and syncs it.
    fn append(&mut self, bytes: &[u8]) -> Result<(), StoreFault> {
        if self.writer()?.journal.is_none() {
            self.reopen_journal()?;
        }
        let disk = self.disk.clone();
        let root = self.root.clone();
        let writer = self.writer()?;
        let Some(tail) = &mut writer.journal else { return Err(StoreFault::Vanished(root)) };
        let before = writer.journal_len;
        let written = if writer.torn { tail.cut(before) } else { Ok(()) }
            .and_then(|()| tail.append(bytes))
            .and_then(|()| tail.sync());
        // The open file swallows writes gladly after its folder was deleted or replaced; its name tells.
        let after = before + bytes.len() as u64;
        let stands = written.and_then(|()| disk.stat(&writer.journal_path));
        match stands {
            Ok(Some(entry)) if entry.len == after => {
                writer.torn = false;
                writer.journal_len = after;
                Ok(())
            }
            Ok(_) => {
                // Gone or replaced behind our back: next time it is made anew from what is pending.
                writer.journal = None;
                if matches!(disk.stat(&root), Ok(Some(_))) {
                    self.reopen_journal()?;
                    self.append_once_more(bytes)
                } else {
                    Err(StoreFault::Vanished(root))
                }
            }
            Err(fault) => {
                writer.torn = tail.cut(before).is_err();
                if matches!(disk.stat(&root), Ok(None)) {
                    writer.journal = None;
                    return Err(StoreFault::Vanished(root));
                }
                Err(StoreFault::io(
                    &writer.journal_path,
                    "could not be written, so the edit is not saved yet",
                    &fault,
                ))
            }
        }
    }

    fn append_once_more(&mut self, bytes: &[u8]) -> Result<(), StoreFault> {
        let writer = self.writer()?;
        let path = writer.journal_path.clone();
        let Some(tail) = &mut writer.journal else { return Err(StoreFault::Vanished(path)) };
        tail.append(bytes).and_then(|()| tail.sync()).map_err(|fault| {
            StoreFault::io(&path, "could not be written, so the edit is not saved yet", &fault)
        })?;
        writer.journal_len += bytes.len() as u64;
        Ok(())
    }

    /// Writes a journal of what is pending, whatever stood there, and opens it.
    pub(super) fn reopen_journal(&mut self) -> Result<(), StoreFault> {
        if !matches!(self.disk.stat(&self.root), Ok(Some(_))) {
            return Err(StoreFault::Vanished(self.root.clone()));
        }
        let disk = self.disk.clone();
        let writer = self.writer()?;
        writer.journal = None;
        let mut text = String::new();
        let mut lines = 0;
        for (&key, change) in writer.pending.iter() {
            let (put, take) = match &change.record {
                Some(record) => (std::slice::from_ref(record), &[][..]),
                None => (&[][..], std::slice::from_ref(&key)),
            };
            text.push_str(&journal::encode(change.at, "not yet settled", put, take));
            lines += 1;
        }
        let path = writer.journal_path.clone();
        replace(&*disk, &path, text.as_bytes())
            .map_err(|fault| StoreFault::io(&path, "could not be written", &fault))?;
        writer.journal_len = text.len() as u64;
        writer.lines = lines;
        writer.torn = false;
        self.open_journal()
    }

    /// Whether enough edits have gathered in the journal that an idle moment should be used for
    /// [`Folder::settle`].
    #[must_use]
    pub fn wants_settling(&self) -> bool {
        self.writer.as_ref().is_some_and(|writer| writer.lines >= SOME_LINES)
    }

    /// Whether edits stand in the journal that are not yet in the files.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.writer.as_ref().is_none_or(|writer| writer.pending.is_empty())
    }

    /// What went wrong in the background since the last call (nothing acknowledged is lost by it).
    pub fn take_trouble(&mut self) -> Vec<Problem> {
        self.writer.as_mut().map(|writer| std::mem::take(&mut writer.trouble)).unwrap_or_default()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if self.writer.is_some() {
            // What cannot be settled stays in the journal and is read from there at the next opening.
            let _ = self.settle();
            let _ = self.disk.remove(&self.root.join(lock::HOLDER));
        }
    }
}

fn named(holder: &Holder) -> String {
    if holder.name.trim().is_empty() { "someone".to_owned() } else { holder.name.clone() }
}

fn check_folder(disk: &dyn Disk, path: &Path) -> Result<(), StoreFault> {
    let stat =
        |path: &Path| disk.stat(path).map_err(|fault| StoreFault::io(path, "could not be looked at", &fault));
    match stat(path)? {
        None => return Err(StoreFault::Missing(path.to_owned())),
        Some(entry) if !entry.is_dir => return Err(StoreFault::NotAFolder(path.to_owned())),
        Some(_) => {}
    }
    if stat(&path.join(NOTEBOOK))?.is_none() && stat(&path.join("bags"))?.is_none() {
        return Err(StoreFault::NoNotebook(path.to_owned()));
    }
    Ok(())
}

/// A text as part of a file name: lower-case letters, digits and single hyphens, at most 40 characters.
pub(super) fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
        if slug.chars().count() >= 40 {
            break;
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() { "unnamed".to_owned() } else { slug.to_owned() }
}

fn journal_path(root: &Path, holder: &Holder) -> PathBuf {
    root.join("journal").join(format!("{}.txt", slug(&holder.machine)))
}

pub(super) fn station_path(root: &Path, id: StationId) -> PathBuf {
    root.join("stations").join(format!("{id}.ron"))
}

/// Where a new bag's file goes.
pub(super) fn bag_path(disk: &dyn Disk, root: &Path, bag: &crate::domain::Bag) -> PathBuf {
    let year = jiff::tz::TimeZone::UTC.to_datetime(bag.stamp.made).year();
    let folder = root.join("bags").join(format!("{year:04}"));
    let short = folder.join(format!("{}-{}.ron", slug(&bag.name), bag.id.0.short()));
    // The name is taken only by a bag whose random digits agree by chance.
    if matches!(disk.stat(&short), Ok(None)) {
        short
    } else {
        folder.join(format!("{}-{}.ron", slug(&bag.name), bag.id))
    }
}

#[derive(Default)]
struct Replayed {
    pending: Pending,
    own_len: u64,
    own_torn: bool,
    own_lines: usize,
    last: Option<Timestamp>,
}

/// When a record was last changed, as the files and the journals read so far say.
fn changed_at(notebook: &Notebook, preferences: Option<Timestamp>, key: RecordKey) -> Option<Timestamp> {
    match key {
        RecordKey::Preferences => preferences,
        RecordKey::Drinker(id) => notebook.drinker(id).map(|drinker| drinker.stamp.changed),
        RecordKey::Station(id) => notebook.station(id).map(|station| station.stamp.changed),
        RecordKey::Bag(id) => notebook.bag(id).map(|bag| bag.stamp.changed),
        RecordKey::Pull(bag, pull) => notebook.pull(bag, pull).map(|pull| pull.stamp.changed),
    }
}

/// Reads the journals into the notebook. The own one is taken in sequence; one of another machine (left by file
/// sync) counts only where it is newer than the files.
fn replay(
    disk: &dyn Disk,
    root: &Path,
    holder: &Holder,
    loaded: &mut Loaded,
    problems: &mut Vec<Problem>,
) -> Replayed {
    let own = journal_path(root, holder);
    let mut replayed = Replayed::default();
    let mut changes = Pending::default();
    let entries = disk.list(&root.join("journal")).unwrap_or_default();
    let mut files: Vec<PathBuf> = entries
        .into_iter()
        .filter(|entry| !entry.is_dir && entry.path.extension().is_some_and(|ending| ending == "txt"))
        .map(|entry| entry.path)
        .collect();
    // The own journal last, so that at equal moments its word counts.
    files.sort_by_key(|path| (*path == own, path.clone()));
    for path in files {
        let name = shown(root, &path).to_owned();
        let bytes = match disk.read(&path, journal::LARGEST) {
            Ok(bytes) => bytes,
            Err(fault) => {
                let what = format!("the journal could not be read: {}", plain(&fault));
                problems.push(Problem::of_file(
                    &name,
                    what,
                    "Edits made shortly before the last end may be missing",
                ));
                continue;
            }
        };
        let journal = journal::decode(&bytes);
        for (line, why) in &journal.bad {
            problems.push(Problem {
                file: name.clone(),
                line: *line,
                column: 0,
                what: format!("this edit cannot be read: {why}"),
                todo: "The other lines were taken; a copy of the journal is kept in set-aside".into(),
            });
        }
        let is_own = path == own;
        if is_own {
            replayed.own_len = journal.whole_len;
            replayed.own_torn = journal.whole_len < bytes.len() as u64;
            replayed.own_lines = journal.edits.len();
        }
        for edit in journal.edits {
            replayed.last = replayed.last.max(Some(edit.at));
            let at = edit.at;
            for entry in edit.put {
                if let Ok(record) = entry.into_record() {
                    let key = record.key();
                    note(&mut changes, loaded, key, Change { at, record: Some(record) }, is_own);
                }
            }
            for key in edit.take {
                note(&mut changes, loaded, key.into(), Change { at, record: None }, is_own);
            }
        }
    }
    for (&key, change) in changes.iter() {
        match &change.record {
            Some(record) => {
                if !loaded.notebook.put(record.clone()) {
                    let what =
                        "an edit in the journal belongs to a bag whose file is missing or cannot be read";
                    let todo = "It is kept and taken up as soon as the file is back";
                    problems.push(Problem::of_file(shown(root, &own), what, todo));
                }
            }
            None => loaded.notebook.take(key),
        }
    }
    replayed.pending = changes;
    replayed
}

fn note(changes: &mut Pending, loaded: &Loaded, key: RecordKey, change: Change, is_own: bool) {
    let on_disk = changed_at(&loaded.notebook, loaded.preferences_changed, key);
    let noted = changes.of(FileKey::of(key)).and_then(|file| file.get(&key)).map(|change| change.at);
    let wins = if is_own {
        on_disk.is_none_or(|then| then <= change.at) && noted.is_none_or(|then| then <= change.at)
    } else {
        on_disk.is_none_or(|then| then < change.at) && noted.is_none_or(|then| then < change.at)
    };
    if wins {
        changes.note(key, change);
    }
}
