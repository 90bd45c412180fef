//! An open notebook folder: opening, committing edits, keeping traces.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;

use super::aside::Aside;
use super::commit::Writer;
use super::disk::{Disk, SystemDisk, TEMPORARY, durable_dir, replace};
use super::fault::{Doing, Problem, StoreFault, plain};
use super::load::{NOTEBOOK, load_beside, shown};
use super::lock::{self, Asked, Holder};
use super::outside::{Glance, glance};
use super::replay::replay;
use super::text::Ron;
use super::together::{Conflict, Merged};
use super::v1;
use crate::domain::{BagId, Notebook, StationId};
use crate::units::dates::with_year;

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
    /// Records that differed in conflict copies of file sync, which were merged on opening.
    pub conflicts: Vec<Conflict>,
}

/// An open notebook folder. Dropping it settles the journal where that is possible and gives the lock back.
pub struct Folder {
    pub(super) disk: Arc<dyn Disk>,
    pub(super) root: PathBuf,
    pub(super) bags: BTreeMap<BagId, PathBuf>,
    pub(super) stations: BTreeMap<StationId, PathBuf>,
    pub(super) writer: Option<Writer>,
    pub(super) why_read_only: String,
    held: bool,
    pub(super) holder: Holder,
    pub(super) seen: Glance,
}

impl std::fmt::Debug for Folder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Folder").field("root", &self.root).field("writer", &self.writer.is_some()).finish()
    }
}

/// A moment on this machine's own clock, for people: "25 November 2026, 13:16".
fn local_time(at: Timestamp) -> String {
    in_words(at, &jiff::tz::TimeZone::system())
}

fn in_words(at: Timestamp, zone: &jiff::tz::TimeZone) -> String {
    with_year(&at.to_zoned_datetime(zone.clone()))
}

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
        Self::open_for(disk, path, now, holder, true, None)
    }

    /// Reads the notebook at `path` as it stands on disk: asks for no lock and writes nothing, so that whoever works
    /// in it is not disturbed.
    ///
    /// # Errors
    /// As [`Folder::open`].
    pub fn read(path: &Path, now: Timestamp, holder: &Holder) -> Result<Opened, StoreFault> {
        Self::open_beside(path, now, holder, false, None)
    }

    /// [`Folder::open`], or [`Folder::read`] where not `to_write`, with bags that did not change since they were last
    /// read taken from aside; the others are put there.
    ///
    /// # Errors
    /// As [`Folder::open`].
    pub fn open_beside(
        path: &Path,
        now: Timestamp,
        holder: &Holder,
        to_write: bool,
        aside: Option<&Aside>,
    ) -> Result<Opened, StoreFault> {
        Self::open_for(Arc::new(SystemDisk), path, now, holder, to_write, aside)
    }

    fn open_for(
        disk: Arc<dyn Disk>,
        path: &Path,
        now: Timestamp,
        holder: &Holder,
        to_write: bool,
        aside: Option<&Aside>,
    ) -> Result<Opened, StoreFault> {
        check_folder(&*disk, path)?;
        let mut folder = Self {
            disk: disk.clone(),
            root: path.to_owned(),
            bags: BTreeMap::new(),
            stations: BTreeMap::new(),
            writer: None,
            why_read_only: String::new(),
            held: false,
            holder: holder.clone(),
            seen: Glance::default(),
        };
        let mut problems = Vec::new();
        let mut access = Access::Writer;
        let mut guard = None;
        match to_write.then(|| lock::ask(&*disk, path)).transpose() {
            Ok(None) => {
                folder.why_read_only = word!("store-folder-opened-to-be-read").into();
                access = Access::ReadOnly { holder: String::new(), since: None };
            }
            Ok(Some(Asked::Ours { guard: ours, stale })) => {
                if ours.is_none() {
                    let what = word!("store-folder-no-locks");
                    problems.push(Problem::of_file(
                        Path::new(lock::LOCK),
                        what,
                        word!("store-folder-todo-no-locks"),
                    ));
                }
                guard = Some(ours);
                if let Some((other, since)) = stale.filter(|(other, _)| other.machine != holder.machine) {
                    folder.why_read_only = say!(
                        "store-folder-held-and-not-closed",
                        name = named(&other),
                        machine = other.machine,
                        when = local_time(since)
                    );
                    access = Access::ReadOnly { holder: named(&other), since: Some(since) };
                    folder.held = true;
                    guard = None;
                }
            }
            Ok(Some(Asked::Theirs(other))) => {
                let (name, since) = match other {
                    Some((other, since)) => {
                        let name = say!(
                            "store-folder-name-on-machine",
                            name = named(&other),
                            machine = other.machine
                        );
                        (name, Some(since))
                    }
                    None => (word!("store-folder-another-window").to_owned(), None),
                };
                folder.why_read_only = match since {
                    Some(since) => say!("store-folder-held-since", name = name, when = local_time(since)),
                    None => say!("store-folder-held", name = name),
                };
                access = Access::ReadOnly { holder: name, since };
                folder.held = true;
            }
            Err(fault) => {
                folder.why_read_only = say!("store-folder-unwritable", why = plain(&fault));
                access = Access::ReadOnly { holder: String::new(), since: None };
            }
        }

        folder.seen = glance(&*disk, path);
        let shelf = aside.map(|aside| aside.of(path));
        let mut loaded = load_beside(&*disk, path, shelf.as_ref().map(|shelf| (shelf, &folder.seen)));
        problems.append(&mut loaded.problems);
        if !loaded.has_notebook {
            let what = word!("store-load-no-notebook");
            let todo = word!("store-folder-todo-no-notebook");
            problems.push(Problem::of_file(Path::new(NOTEBOOK), what, todo));
        }
        if loaded.newer && access == Access::Writer {
            folder.why_read_only = word!("store-folder-newer").into();
            access = Access::ReadOnly { holder: String::new(), since: None };
            guard = None;
        }
        folder.bags = std::mem::take(&mut loaded.bags);
        folder.stations = std::mem::take(&mut loaded.stations);

        let mut replayed = replay(&*disk, path, holder, &mut loaded, &mut problems);
        if let Some(why) = replayed.own_unread.take().filter(|_| guard.is_some()) {
            folder.why_read_only = {
                let journal = journal_path(path, holder);
                say!("store-folder-journal-unread", file = shown(path, &journal).display(), why = why)
            };
            access = Access::ReadOnly { holder: String::new(), since: None };
            guard = None;
        }
        if let Some(guard) = guard {
            let damaged = replayed.own_damaged.take();
            let clock = now.max(loaded.newest.unwrap_or(now));
            let writer = Writer::new(guard, journal_path(path, holder), replayed, clock);
            folder.writer = Some(writer);
            let ready = folder
                .keep_journal(damaged.as_deref(), holder, &mut problems)
                .and_then(|()| folder.prepare_writing(now, holder));
            if let Err(fault) = ready {
                folder.why_read_only = say!("store-folder-unwritable", why = fault);
                access = Access::ReadOnly { holder: String::new(), since: None };
                folder.writer = None;
            }
        }
        let mut merged = Merged::default();
        if folder.writer.is_some() {
            problems.extend(folder.merge_twins(&loaded.twins, &mut merged));
        } else {
            problems.extend(loaded.twins.iter().map(|twin| twin.problem(path)));
        }
        let why_read_only = (access != Access::Writer).then(|| folder.why_read_only.clone());
        problems.sort();
        let conflicts = merged.conflicts;
        Ok(Opened { folder, notebook: loaded.notebook, problems, access, why_read_only, conflicts })
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
        let stat = |path: &Path| disk.stat(path).map_err(|fault| StoreFault::io(path, Doing::Look, &fault));
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
            durable_dir(&*disk, &folder).map_err(|fault| StoreFault::io(&folder, Doing::Make, &fault))?;
        }
        let write = |file: PathBuf, text: String| {
            replace(&*disk, &file, text.as_bytes())
                .map_err(|fault| StoreFault::io(&file, Doing::Write, &fault))
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
                .map_err(|fault| StoreFault::io(&path.join(lock::HOLDER), Doing::Write, &fault))?;
        }
        Self::open_on(disk, path, now, holder)
    }

    /// The folder's path.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.root
    }

    /// As whom it was opened.
    #[must_use]
    pub fn holder(&self) -> &Holder {
        &self.holder
    }

    /// The disk that it lies on.
    #[must_use]
    pub fn disk(&self) -> Arc<dyn Disk> {
        self.disk.clone()
    }

    /// Whether edits can be made.
    #[must_use]
    pub fn is_writer(&self) -> bool {
        self.writer.is_some()
    }

    /// Whether it can only be read because someone else has it open.
    #[must_use]
    pub fn is_held(&self) -> bool {
        self.held
    }

    /// Copies the own journal to `set-aside` where lines of it could not be read, since settling empties it, and says
    /// so.
    fn keep_journal(
        &self,
        damaged: Option<&[u8]>,
        holder: &Holder,
        problems: &mut [Problem],
    ) -> Result<(), StoreFault> {
        let Some(bytes) = damaged else { return Ok(()) };
        let journal = journal_path(&self.root, holder);
        self.keep_copy(&journal, bytes)?;
        let name = shown(&self.root, &journal);
        for problem in problems.iter_mut().filter(|problem| problem.file == name && problem.line > 0) {
            problem.todo = word!("store-folder-todo-journal-kept").to_owned();
        }
        Ok(())
    }

    /// Signs the holder file, opens the journal and tidies up after an interrupted write.
    fn prepare_writing(&mut self, now: Timestamp, holder: &Holder) -> Result<(), StoreFault> {
        lock::sign(&*self.disk, &self.root, holder, now)
            .map_err(|fault| StoreFault::io(&self.root.join(lock::HOLDER), Doing::Write, &fault))?;
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
    if holder.name.trim().is_empty() { word!("store-folder-someone").to_owned() } else { holder.name.clone() }
}

pub(super) fn check_folder(disk: &dyn Disk, path: &Path) -> Result<(), StoreFault> {
    let stat = |path: &Path| disk.stat(path).map_err(|fault| StoreFault::io(path, Doing::Look, &fault));
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

pub(super) fn journal_path(root: &Path, holder: &Holder) -> PathBuf {
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

#[cfg(test)]
mod wording {
    #[test]
    fn a_moment_is_told_on_the_clock_of_the_place() {
        let at: jiff::Timestamp = "2026-11-25T13:16:01.232177235Z".parse().unwrap();
        let zone = jiff::tz::TimeZone::fixed(jiff::tz::offset(2));
        assert_eq!(super::in_words(at, &zone), "25 November 2026, 15:16");
    }
}
