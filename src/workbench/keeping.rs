//! What keeps the notebook: long work on its folder, earlier versions, changes from outside, another place to write.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;

use super::bench::{Backing, Workbench};
use super::edit::{Command, Refusal};
use super::notice::{Notice, NoticeAction};
use super::tables::write_tables;
use super::task::{Progress, Task};
use super::undo::Step;
use super::view::keeping::bytes;
use crate::domain::{BagId, Notebook, Record, RecordKey};
use crate::store::{
    self, Access, Backup, Conflict, Folder, Glance, Holder, Merged, Opened, Outside, PackOptions, Packet,
    StoreFault, Version,
};

/// Long work on the notebook's folder.
#[derive(Debug, Clone)]
pub enum Job {
    /// Writes bags as one file to pass on.
    Pass {
        /// Which.
        bags: Vec<BagId>,
        /// With what.
        options: PackOptions,
        /// Who passes it on, as the receiver sees it (only with names).
        from: String,
        /// The file to write.
        target: PathBuf,
    },
    /// Reads a packet and says what taking it would change.
    LookAtPacket(PathBuf),
    /// Takes a packet that was looked at.
    TakePacket(Box<Packet>),
    /// Says what merging another notebook's folder would change.
    LookAtFolder(PathBuf),
    /// Merges another notebook's folder.
    TakeFolder(PathBuf),
    /// Makes a backup.
    BackUp,
    /// Unpacks a backup into a folder that is missing or empty.
    Unpack {
        /// The backup.
        backup: PathBuf,
        /// The folder.
        target: PathBuf,
    },
    /// Backs up the present, then goes back to a backup, as an edit that can be undone.
    GoBack {
        /// The backup.
        backup: PathBuf,
        /// What to call it: "the backup of 2026-11-25 14:02".
        name: String,
    },
    /// Writes the notebook as it stands into another folder, and goes on there.
    SaveElsewhere(PathBuf),
    /// Writes tables for other programs into a folder.
    Tables(PathBuf),
}

impl Job {
    /// What a person would call it while it runs.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Pass { .. } => word!("work-keeping-writing-the-packet"),
            Self::LookAtPacket(_) => word!("work-keeping-reading-the-packet"),
            Self::TakePacket(_) => word!("work-keeping-taking-the-packet"),
            Self::LookAtFolder(_) => word!("work-keeping-reading-the-other-notebook"),
            Self::TakeFolder(_) => word!("work-keeping-merging"),
            Self::BackUp => word!("work-keeping-making-the-backup"),
            Self::Unpack { .. } => word!("work-keeping-unpacking-the-backup"),
            Self::GoBack { .. } => word!("work-keeping-going-back-to-the-backup"),
            Self::SaveElsewhere(_) => word!("work-keeping-writing-the-notebook-elsewhere"),
            Self::Tables(_) => word!("work-keeping-writing-the-tables"),
        }
    }

    /// Whether it changes the notebook, so that a reader cannot do it.
    fn writes(&self) -> bool {
        matches!(
            self,
            Self::LookAtPacket(_)
                | Self::TakePacket(_)
                | Self::LookAtFolder(_)
                | Self::TakeFolder(_)
                | Self::BackUp
                | Self::GoBack { .. }
        )
    }
}

/// What came of a job.
#[derive(Debug)]
pub enum Finished {
    /// The packet was written.
    Passed {
        /// Where.
        file: PathBuf,
        /// Its size in words.
        size: String,
    },
    /// What a packet or a folder would bring; a packet can be taken now.
    Seen {
        /// The packet; `None` for a folder.
        packet: Option<Box<Packet>>,
        /// What it would bring.
        merged: Box<Merged>,
    },
    /// A packet or a folder was taken; [`Workbench::last_merged`] has what it brought.
    Taken,
    /// A backup was made.
    BackedUp(Backup),
    /// A backup was unpacked here.
    Unpacked(PathBuf),
    /// The notebook stands as in the backup; one of the present was made before.
    WentBack,
    /// The notebook is written here from now on.
    Elsewhere(PathBuf),
    /// Tables were written.
    Tabled {
        /// Into this folder.
        folder: PathBuf,
        /// What was left out because it cannot be read, in one sentence.
        left_out: Option<String>,
    },
}

enum Came {
    Finished(Finished),
    Taken { merged: Box<Merged>, notebook: Box<Notebook> },
    Former { earlier: Box<Notebook>, name: String },
    Moved(Box<Opened>),
}

type Answer = (Box<dyn Backing>, Result<Came, String>);

/// Long work that has the folder; nothing can be edited until it is done.
pub struct Lent {
    task: Task<Answer>,
    name: &'static str,
}

impl Lent {
    /// What a person would call it.
    #[must_use]
    pub fn name(&self) -> &str {
        self.name
    }

    /// Part done, 0 to 1, where known.
    #[must_use]
    pub fn part(&self) -> Option<f32> {
        self.task.part()
    }

    /// Asks it to stop.
    pub fn stop(&self) {
        self.task.stop();
    }

    /// Whether it was asked to stop.
    #[must_use]
    pub fn is_stopping(&self) -> bool {
        self.task.is_stopping()
    }
}

/// Why work ended without an outcome, in one sentence.
struct Stop(String);

impl From<StoreFault> for Stop {
    fn from(fault: StoreFault) -> Self {
        Self(fault.to_string())
    }
}

impl From<String> for Stop {
    fn from(sentence: String) -> Self {
        Self(sentence)
    }
}

fn carry_out(
    folder: &mut Folder,
    job: Job,
    notebook: &Notebook,
    now: Timestamp,
    progress: &Progress,
) -> Result<Came, Stop> {
    let watch = |done: usize, total: usize| progress.step(done, total);
    let taken = |folder: &mut Folder, merged: Merged| {
        let (notebook, problems) = folder.reload();
        let mut merged = merged;
        merged.problems.extend(problems);
        Came::Taken { merged: Box::new(merged), notebook: Box::new(notebook) }
    };
    Ok(match job {
        Job::Pass { bags, options, from, target } => {
            folder.pack_watched(&bags, options, &from, now, &target, &watch)?;
            let size = std::fs::metadata(&target).map(|about| bytes(about.len())).unwrap_or_default();
            Came::Finished(Finished::Passed { file: target, size })
        }
        Job::LookAtPacket(path) => {
            let packet = store::read_packet(&path)?;
            let merged = Box::new(folder.preview_packet(&packet)?);
            Came::Finished(Finished::Seen { packet: Some(Box::new(packet)), merged })
        }
        Job::TakePacket(packet) => {
            let merged = folder.take_packet_watched(&packet, &watch)?;
            taken(folder, merged)
        }
        Job::LookAtFolder(path) => {
            let merged = Box::new(folder.merge_watched(&path, false, &watch)?);
            Came::Finished(Finished::Seen { packet: None, merged })
        }
        Job::TakeFolder(path) => {
            let merged = folder.merge_watched(&path, true, &watch)?;
            taken(folder, merged)
        }
        Job::BackUp => {
            folder.settle()?;
            Came::Finished(Finished::BackedUp(store::back_up_watched(folder.path(), now, &watch)?))
        }
        Job::Unpack { backup, target } => {
            store::unpack_backup_watched(&backup, &target, &watch)?;
            Came::Finished(Finished::Unpacked(target))
        }
        Job::GoBack { backup, name } => {
            folder.settle()?;
            // Read first: thinning out after the new backup may take this very one away.
            let (earlier, problems) = store::read_backup(&backup)?;
            if let Some(problem) = problems.into_iter().next() {
                return Err(StoreFault::Text(problem).into());
            }
            store::back_up_watched(folder.path(), now, &watch)?;
            Came::Former { earlier: Box::new(earlier), name }
        }
        Job::Tables(target) => {
            let left_out = write_tables(folder, notebook, &target, &watch)?;
            let names = left_out.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
            let left_out = (!names.is_empty()).then(|| say!("work-keeping-left-out", problems = names));
            Came::Finished(Finished::Tabled { folder: target, left_out })
        }
        Job::SaveElsewhere(target) => {
            let (disk, holder) = (folder.disk(), folder.holder().clone());
            let opened =
                store::save_elsewhere_on(disk, folder.path(), &target, notebook, now, &holder, &watch)?;
            Came::Moved(Box::new(opened))
        }
    })
}

impl Workbench {
    /// The notebook's folder, where it is kept in one; `None` also while long work has it.
    #[must_use]
    pub fn place(&mut self) -> Option<PathBuf> {
        Some(self.folder()?.path().to_owned())
    }

    /// The disk that the folder lies on.
    #[must_use]
    pub fn disk(&mut self) -> Option<Arc<dyn store::Disk>> {
        Some(self.folder()?.disk())
    }

    fn folder(&mut self) -> Option<&mut Folder> {
        self.backing.as_mut()?.folder()
    }

    /// Starts long work on the folder; `wake` is called when it is done, then [`Workbench::poll_job`] has the outcome.
    ///
    /// # Errors
    /// [`Refusal`] when other work runs, the notebook is read-only, or edits wait that the disk refuses.
    pub fn begin(&mut self, job: Job, now: Timestamp, wake: Box<dyn Fn() + Send>) -> Result<(), Refusal> {
        if let Some(lent) = &self.lent {
            return Err(Refusal::Busy(lent.name().to_owned()));
        }
        if job.writes() {
            self.writable()?;
        }
        if !matches!(job, Job::SaveElsewhere(_)) && self.has_unwritten() && !self.write_pending(now) {
            return Err(Refusal::NotWritten(self.refused_sentence()));
        }
        if self.folder().is_none() {
            return Err(Refusal::NotWritten(
                word!("work-keeping-this-notebook-lies-in-no-folder").to_owned(),
            ));
        }
        let Some(mut backing) = self.backing.take() else { return Err(Refusal::Missing) };
        let name = job.name();
        let whole = matches!(job, Job::SaveElsewhere(_) | Job::Tables(_));
        let notebook = if whole { self.notebook.clone() } else { Notebook::default() };
        let work = move |progress: &Progress| -> Answer {
            let came = match backing.folder() {
                Some(folder) => {
                    let run = || {
                        carry_out(folder, job, &notebook, now, progress).map_err(|Stop(sentence)| sentence)
                    };
                    std::panic::catch_unwind(std::panic::AssertUnwindSafe(run)).unwrap_or_else(|_panic| {
                        Err(say!("work-keeping-failed-within-look-at-the-notebook", name = name))
                    })
                }
                None => Err(word!("work-keeping-this-notebook-lies-in-no-folder").to_owned()),
            };
            (backing, came)
        };
        self.lent = Some(Lent { task: Task::start(name, work, wake), name });
        Ok(())
    }

    /// Long work that runs, if any.
    #[must_use]
    pub fn job(&self) -> Option<&Lent> {
        self.lent.as_ref()
    }

    /// The outcome of long work, once, when it is done.
    pub fn poll_job(&mut self, now: Timestamp) -> Option<Result<Finished, String>> {
        let answer = self.lent.as_mut()?.task.poll()?;
        Some(self.take_back(answer, now))
    }

    /// Waits for long work, at most `limit`.
    pub fn wait_for_job(&mut self, limit: Duration, now: Timestamp) -> Option<Result<Finished, String>> {
        let answer = self.lent.as_mut()?.task.wait(limit)?;
        Some(self.take_back(answer, now))
    }

    fn take_back(&mut self, answer: Result<Answer, String>, now: Timestamp) -> Result<Finished, String> {
        self.lent = None;
        let (backing, came) = match answer {
            Ok(answer) => answer,
            Err(sentence) => {
                // No thread, so the folder went with the work: nothing more can be written here.
                self.read_only = Some(say!("work-keeping-close-the-window-and-open-it", sentence = sentence));
                return Err(sentence);
            }
        };
        self.backing = Some(backing);
        match came? {
            Came::Finished(finished) => Ok(finished),
            Came::Taken { merged, notebook } => {
                let before = Arc::new(self.notebook.clone());
                let name = if merged.conflicts.is_empty() {
                    word!("work-keeping-what-was-taken-in")
                } else {
                    word!("work-keeping-the-merge")
                };
                self.absorb(*notebook, name.to_owned());
                self.merged = Some((before, *merged));
                Ok(Finished::Taken)
            }
            Came::Former { earlier, name } => {
                self.apply(Command::GoBack(earlier, name), now).map_err(|refusal| refusal.to_string())?;
                Ok(Finished::WentBack)
            }
            Came::Moved(opened) => {
                let place = opened.folder.path().to_owned();
                self.unwritten.clear();
                self.backing = Some(Box::new(opened.folder));
                self.read_only = opened.why_read_only;
                self.traces.clear();
                self.revision += 1;
                self.notices.drop_action(NoticeAction::RetryWriting);
                self.notices.drop_action(NoticeAction::SaveElsewhere);
                Ok(Finished::Elsewhere(place))
            }
        }
    }

    /// Takes a notebook that the files say for the open one, as a step that can be undone.
    fn absorb(&mut self, after: Notebook, name: String) -> usize {
        let changes = self.notebook.changes_to(&after);
        self.notebook = after;
        self.revision += 1;
        self.traces.clear();
        let changed = changes.len();
        if changed > 0 {
            self.undo.push(Step { name, changes, trace: None });
        }
        changed
    }

    /// What came together last, and the notebook as it stood before: a packet, a folder, or conflict copies.
    #[must_use]
    pub fn last_merged(&self) -> Option<(&Notebook, &Merged)> {
        self.merged.as_ref().map(|(before, merged)| (&**before, merged))
    }

    /// Tells of records that differed in conflict copies of file sync.
    pub(super) fn tell_conflicts(&mut self, conflicts: Vec<Conflict>) {
        if conflicts.is_empty() {
            return;
        }
        let n = conflicts.len();
        let records = say!("work-keeping-records-begin", n = n);
        let merged = Merged { conflicts, ..Merged::default() };
        self.merged = Some((Arc::new(self.notebook.clone()), merged));
        self.notices.drop_action(NoticeAction::ShowMerged);
        self.notices.add(Notice::lasting(
            say!("work-keeping-a-conflict-copy-that-file-sync", records = records),
            NoticeAction::ShowMerged,
        ));
    }

    /// Earlier versions of a record, oldest first.
    ///
    /// # Errors
    /// A sentence when they cannot be read.
    pub fn versions(&mut self, key: RecordKey) -> Result<Vec<Version>, String> {
        let Some(folder) = self.folder() else { return Ok(Vec::new()) };
        folder.settle_record(key).map_err(|fault| fault.to_string())?;
        folder.versions(key).map_err(|fault| fault.to_string())
    }

    /// Backups of the notebook, oldest first.
    #[must_use]
    pub fn backups(&mut self) -> Vec<Backup> {
        self.place().map(|place| store::backups(&place)).unwrap_or_default()
    }

    /// Makes the day's backup beside everything else, unless one is younger than a day; called now and then. A failure is
    /// told by the next call after it.
    pub fn back_up_if_due(&mut self, now: Timestamp, wake: Box<dyn Fn() + Send>) {
        if let Some(daily) = &mut self.daily {
            match daily.poll() {
                Some(Ok(Err(sentence)) | Err(sentence)) => {
                    self.notices.add(Notice::problem(say!(
                        "work-keeping-the-days-backup-could-not-be",
                        sentence = sentence
                    )));
                    self.daily = None;
                }
                Some(Ok(Ok(()))) => self.daily = None,
                None => {}
            }
            return;
        }
        let hour = 3600;
        let thought = self.thought_of_backup.map(|then| now.as_second().saturating_sub(then.as_second()));
        if self.read_only.is_some() || thought.is_some_and(|seconds| seconds < hour) {
            return;
        }
        let Some(place) = self.place() else { return };
        self.thought_of_backup = Some(now);
        let work = move |_: &Progress| match store::back_up_if_due(&place, now) {
            Ok(_made) => Ok(()),
            Err(fault) => Err(fault.to_string()),
        };
        self.daily = Some(Task::start(word!("work-keeping-backup"), work, wake));
    }

    /// Takes in what a look from outside says. True when the notebook on screen has changed.
    pub fn heard(&mut self, outside: &Outside, now: Timestamp) -> bool {
        if self.lent.is_some() {
            return false; // our own work is what it saw; the next look tells the rest
        }
        self.notices.drop_action(NoticeAction::SaveElsewhere);
        match outside {
            Outside::Vanished => {
                let text = word!("work-keeping-the-notebooks-folder-is-no-longer");
                self.notices.add(Notice::lasting(text, NoticeAction::SaveElsewhere));
                false
            }
            Outside::There { glance, refused, held } => {
                if self.read_only.is_some() {
                    return (!held && self.reopen(now, false)) | self.refresh(glance, now);
                }
                if let Some(why) = refused {
                    let text = say!("work-keeping-the-notebooks-folder-can-no-longer", why = why);
                    self.notices.add(Notice::lasting(text, NoticeAction::SaveElsewhere));
                    return false;
                }
                if self.has_unwritten() && !self.write_pending(now) {
                    return false;
                }
                self.refresh(glance, now)
            }
        }
    }

    fn refresh(&mut self, glance: &Glance, _now: Timestamp) -> bool {
        let Some(folder) = self.folder() else { return false };
        let paths = folder.changed_outside(glance);
        if paths.is_empty() {
            return false;
        }
        let fresh = match folder.refresh(&paths) {
            Ok(fresh) => fresh,
            Err(fault) => {
                self.notices.add(Notice::problem(fault.to_string()));
                return false;
            }
        };
        let mut after = self.notebook.clone();
        if let Some((preferences, drinkers)) = fresh.main {
            after.preferences = preferences.unwrap_or(after.preferences);
            after.drinkers.clear();
            for drinker in drinkers {
                after.put(Record::Drinker(Box::new(drinker)));
            }
        }
        for station in fresh.stations {
            after.put(Record::Station(Box::new(station)));
        }
        for bag in fresh.bags {
            after.take(RecordKey::Bag(bag.id));
            after.put(Record::Bag(Box::new(bag.sheet())));
            let id = bag.id;
            for pull in bag.pulls {
                after.put(Record::Pull(id, Box::new(pull)));
            }
        }
        for key in fresh.gone {
            after.take(key);
        }
        for problem in fresh.problems {
            self.notices.add(Notice::problem(problem.to_string()));
        }
        let changes = self.notebook.changes_to(&after);
        let replaced: Vec<Record> = changes.iter().filter_map(|change| change.before.clone()).collect();
        let n = changes.len();
        if self.read_only.is_some() {
            // A reader follows the writer without a word.
            self.notebook = after;
            self.revision += u64::from(n > 0);
            self.traces.clear();
            return n > 0;
        }
        if n > 0 {
            if let Some(Err(fault)) = self.folder().map(|folder| folder.keep_earlier(&replaced)) {
                self.notices.add(Notice::problem(fault.to_string()));
            }
            self.absorb(after, word!("work-keeping-changes-from-outside").to_owned());
            self.notices.drop_action(NoticeAction::Undo);
            let records = say!("work-keeping-records", n = n);
            self.notices.add(Notice::done(say!(
                "work-keeping-changed-from-outside-file-sync-another",
                records = records
            )));
        }
        self.tell_conflicts(fresh.conflicts);
        n > 0
    }

    /// Opens a read-only notebook again, for writing if that is possible now. With `take_over` also when its named
    /// holder on another machine never closed it. True when it can be written now.
    pub fn reopen(&mut self, now: Timestamp, take_over: bool) -> bool {
        if self.read_only.is_none() {
            return true;
        }
        let Some(folder) = self.folder() else { return false };
        let (disk, root, holder) = (folder.disk(), folder.path().to_owned(), folder.holder().clone());
        let opened = if take_over {
            Folder::take_over_on(disk, &root, now, &holder)
        } else {
            Folder::open_on(disk, &root, now, &holder)
        };
        let opened = match opened {
            Ok(opened) => opened,
            Err(fault) => {
                self.notices.add(Notice::problem(fault.to_string()));
                return false;
            }
        };
        let writes = opened.access == Access::Writer;
        if !writes && !take_over {
            return false;
        }
        self.notebook = opened.notebook;
        self.backing = Some(Box::new(opened.folder));
        self.read_only = opened.why_read_only;
        self.traces.clear();
        self.revision += 1;
        for problem in &opened.problems {
            self.notices.add(Notice::problem(problem.to_string()));
        }
        if writes {
            self.notices.add(Notice::info(word!("work-keeping-the-notebook-is-yours-to-write")));
        } else if let Some(why) = self.read_only.clone() {
            self.notices.add(Notice::problem(say!("work-keeping-it-could-not-be-taken-over", why = why)));
        }
        self.tell_conflicts(opened.conflicts);
        writes
    }

    /// Whether the notebook can only be read because someone else has it open.
    #[must_use]
    pub fn is_held(&mut self) -> bool {
        self.folder().is_some_and(|folder| folder.is_held())
    }

    /// Whether another machine is named as the holder and never closed the notebook, so that taking it over is up to
    /// the person.
    #[must_use]
    pub fn may_take_over(&mut self) -> bool {
        if self.read_only.is_none() {
            return false;
        }
        let Some(folder) = self.folder() else { return false };
        let here: Holder = folder.holder().clone();
        store::holder_of(&*folder.disk(), folder.path()).is_some_and(|other| other.machine != here.machine)
    }

    /// Whether edits stand in the journal that are not yet in the files that people read.
    #[must_use]
    pub fn wants_tidying(&mut self) -> bool {
        self.folder().is_some_and(|folder| folder.is_writer() && !folder.is_settled())
    }
}

/// The folder that another notebook is expected in, as typed: quotation marks and blanks around it do not count.
#[must_use]
pub fn typed_path(text: &str) -> Option<PathBuf> {
    let text = text.trim().trim_matches(['"', '\'']);
    let home = || std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE"));
    match text.strip_prefix("~/") {
        _ if text.is_empty() => None,
        Some(rest) => home().map(|home| Path::new(&home).join(rest)),
        None => Some(PathBuf::from(text)),
    }
}
