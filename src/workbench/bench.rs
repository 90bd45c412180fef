//! The open notebook and everything done to it.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::asking::Question;
use super::edit::{Command, Refusal};
use super::keeping::Lent;
use super::notice::{Notice, NoticeAction, Notices};
use super::task::Task;
use super::undo::{Step, TraceSwap, UndoStack};
use crate::domain::{BagId, Notebook, PullId, Record, RecordKey, Stamp, Trace};
use crate::rules::{self, Pack, Packs};
use crate::store::{Aside, Folder, Merged};

/// Where the notebook is kept. The store's folder is one; tests bring their own.
pub trait Backing: Send {
    /// Makes an edit durable: when this returns `Ok`, it survives a kill.
    ///
    /// # Errors
    /// A sentence that says what failed and what to do.
    fn commit(
        &mut self,
        after: &[Record],
        taken_out: &[RecordKey],
        name: &str,
        now: Timestamp,
    ) -> Result<(), String>;

    /// Keeps a pull's trace.
    ///
    /// # Errors
    /// A sentence that says what failed and what to do.
    fn save_trace(&mut self, pull: PullId, trace: &Trace) -> Result<(), String>;

    /// Fetches a pull's trace; `None` when none is kept.
    ///
    /// # Errors
    /// A sentence that says what failed and what to do.
    fn load_trace(&mut self, pull: PullId) -> Result<Option<Trace>, String>;

    /// Does what can wait (rewriting files from a journal); called when nobody waits for anything.
    ///
    /// # Errors
    /// A sentence that says what failed and what to do. Nothing is lost by it.
    fn tidy(&mut self) -> Result<(), String> {
        Ok(())
    }

    /// What went wrong in the background since the last call, as sentences. Nothing acknowledged is lost by it.
    fn trouble(&mut self) -> Vec<String> {
        Vec::new()
    }

    /// The notebook's folder, where it is kept in one.
    fn folder(&mut self) -> Option<&mut Folder> {
        None
    }
}

/// The open notebook: state, edits, undo, notices, traces at hand.
pub struct Workbench {
    pub(super) notebook: Notebook,
    pub(super) backing: Option<Box<dyn Backing>>,
    pub(super) read_only: Option<String>,
    pub(super) undo: UndoStack,
    pub(super) unwritten: Vec<Step>,
    pub(super) notices: Notices,
    pub(super) traces: BTreeMap<PullId, Option<Arc<Trace>>>,
    pub(super) revision: u64,
    /// Long work that has the folder.
    pub(super) lent: Option<Lent>,
    /// What came together last, for looking at.
    pub(super) merged: Option<(Arc<Notebook>, Merged)>,
    /// The day's backup in the making, and when one was last thought of.
    pub(super) daily: Option<Task<Result<(), String>>>,
    pub(super) thought_of_backup: Option<Timestamp>,
    packs: Packs,
    aside: Option<Aside>,
}

impl Workbench {
    /// Opens over a notebook. `backing` keeps it (`None`: in memory only); `read_only` says why nothing may be
    /// changed, if so.
    #[must_use]
    pub fn new(notebook: Notebook, backing: Option<Box<dyn Backing>>, read_only: Option<String>) -> Self {
        Self {
            notebook,
            backing,
            read_only,
            undo: UndoStack::default(),
            unwritten: Vec::new(),
            notices: Notices::default(),
            traces: BTreeMap::new(),
            revision: 0,
            lent: None,
            merged: None,
            daily: None,
            thought_of_backup: None,
            packs: rules::own_packs(),
            aside: None,
        }
    }

    /// Where bags are kept aside as they were read, so that other notebooks open as fast as this one.
    pub fn keep_aside(&mut self, aside: Option<Aside>) {
        self.aside = aside;
    }

    /// Where bags are kept aside as they were read, if they are.
    #[must_use]
    pub fn aside(&self) -> Option<&Aside> {
        self.aside.as_ref()
    }

    /// Hears a person's own rule packs after the program's.
    pub fn hear_rules(&mut self, persons: Vec<Pack>) {
        self.packs = rules::with_own(persons);
        self.revision += 1;
    }

    /// The rules that are heard.
    #[must_use]
    pub fn packs(&self) -> Packs {
        Arc::clone(&self.packs)
    }

    /// The question about a bag as it stands, with the rules and the traces that bear on it; `None` when the bag or its
    /// station is gone. `zone`, where the bar is, decides which day each pull belongs to.
    pub fn question(&mut self, bag: BagId, today: Date, zone: &TimeZone) -> Option<Question> {
        let mut question = Question::about(&self.notebook, bag, today, zone, self.revision)?;
        question.packs = Arc::clone(&self.packs);
        question.look_at_traces(|pull| self.trace(bag, pull));
        Some(question)
    }

    /// The notebook as it stands.
    #[must_use]
    pub fn notebook(&self) -> &Notebook {
        &self.notebook
    }

    /// Why nothing may be changed, if so.
    #[must_use]
    pub fn read_only(&self) -> Option<&str> {
        self.read_only.as_deref()
    }

    /// Rises with every change of the notebook; caches compare it.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// What the person should know.
    #[must_use]
    pub fn notices(&self) -> &Notices {
        &self.notices
    }

    /// To add or dismiss notices.
    pub fn notices_mut(&mut self) -> &mut Notices {
        &mut self.notices
    }

    /// Whether edits wait to be written because the disk refused them.
    #[must_use]
    pub fn has_unwritten(&self) -> bool {
        !self.unwritten.is_empty()
    }

    /// Carries out a command: changes the notebook, writes it, remembers how to undo it (but for a change of looks alone).
    /// Gives the edit's name.
    ///
    /// When the disk refuses, the change stands in memory, a lasting notice says so with a way to retry, and the
    /// next edit tries again.
    ///
    /// # Errors
    /// [`Refusal`] when the command itself cannot be done; then nothing has changed.
    pub fn apply(&mut self, command: Command, now: Timestamp) -> Result<String, Refusal> {
        self.writable()?;
        let step = command.plan(&self.notebook, now)?;
        let name = step.name.clone();
        self.carry_out(&step, now);
        if !step.is_of_looks() {
            self.undo.push(step);
        }
        Ok(name)
    }

    /// Takes back the last step; gives its name.
    ///
    /// # Errors
    /// [`Refusal::NothingToUndo`] or [`Refusal::ReadOnly`].
    pub fn undo(&mut self, now: Timestamp) -> Result<String, Refusal> {
        self.writable()?;
        let step = self.undo.next_undo().ok_or(Refusal::NothingToUndo)?.reversed();
        let step = restamped(step, &self.notebook, now);
        self.swap_trace(&step)?;
        self.carry_out(&step, now);
        self.undo.undone();
        Ok(step.name)
    }

    /// Does the last undone step again; gives its name.
    ///
    /// # Errors
    /// [`Refusal::NothingToRedo`] or [`Refusal::ReadOnly`].
    pub fn redo(&mut self, now: Timestamp) -> Result<String, Refusal> {
        self.writable()?;
        let step = self.undo.next_redo().ok_or(Refusal::NothingToRedo)?.clone();
        let step = restamped(step, &self.notebook, now);
        self.swap_trace(&step)?;
        self.carry_out(&step, now);
        self.undo.redone();
        Ok(step.name)
    }

    /// Name of the step that undo would take back.
    #[must_use]
    pub fn undo_name(&self) -> Option<&str> {
        self.undo.next_undo().map(|step| step.name.as_str())
    }

    /// Name of the step that redo would do again.
    #[must_use]
    pub fn redo_name(&self) -> Option<&str> {
        self.undo.next_redo().map(|step| step.name.as_str())
    }

    /// Keeps a trace for a pull and notes it in the ledger. The samples are written before the pull points at them.
    ///
    /// # Errors
    /// [`Refusal`] when the pull is missing, the notebook is read-only or the samples cannot be written.
    pub fn attach_trace(
        &mut self,
        bag: BagId,
        pull: PullId,
        trace: Trace,
        now: Timestamp,
    ) -> Result<String, Refusal> {
        self.writable()?;
        self.notebook.pull(bag, pull).ok_or(Refusal::Missing)?;
        let before = self.trace(bag, pull);
        if let Some(backing) = &mut self.backing {
            backing.save_trace(pull, &trace).map_err(Refusal::NotWritten)?;
        }
        let after = Arc::new(trace);
        self.traces.insert(pull, Some(after.clone()));
        let mut step = Command::MarkTrace(bag, pull, true).plan(&self.notebook, now)?;
        step.trace = before.map(|before| TraceSwap { pull, before, after });
        let name = step.name.clone();
        self.carry_out(&step, now);
        self.undo.push(step);
        Ok(name)
    }

    /// Puts the samples of a step in place, before its records say so.
    fn swap_trace(&mut self, step: &Step) -> Result<(), Refusal> {
        let Some(swap) = &step.trace else { return Ok(()) };
        if let Some(backing) = &mut self.backing {
            backing.save_trace(swap.pull, &swap.after).map_err(Refusal::NotWritten)?;
        }
        self.traces.insert(swap.pull, Some(swap.after.clone()));
        Ok(())
    }

    /// The trace of a pull, fetched once and then kept at hand. A trace that cannot be read gives one notice and
    /// `None`.
    pub fn trace(&mut self, bag: BagId, pull: PullId) -> Option<Arc<Trace>> {
        if !self.notebook.pull(bag, pull)?.has_trace {
            return None;
        }
        if let Some(known) = self.traces.get(&pull) {
            return known.clone();
        }
        let fetched = match self.backing.as_mut().map(|backing| backing.load_trace(pull)) {
            Some(Ok(found)) => found.map(Arc::new),
            Some(Err(sentence)) => {
                self.notices.add(Notice::problem(sentence));
                None
            }
            None => None,
        };
        self.traces.insert(pull, fetched.clone());
        fetched
    }

    /// Whether [`Workbench::trace`] would answer for this pull without reading a file.
    #[must_use]
    pub fn has_trace_at_hand(&self, pull: PullId) -> bool {
        self.traces.contains_key(&pull)
    }

    /// Tries again to write what the disk refused.
    ///
    /// # Errors
    /// [`Refusal::NotWritten`] when it is refused again.
    pub fn retry_writing(&mut self, now: Timestamp) -> Result<(), Refusal> {
        if self.write_pending(now) { Ok(()) } else { Err(Refusal::NotWritten(self.refused_sentence())) }
    }

    /// Lets the disk do what can wait. A failure gives a notice; nothing is lost by it.
    pub fn tidy(&mut self) {
        let Some(backing) = &mut self.backing else { return };
        let mut sentences = backing.trouble();
        sentences.extend(backing.tidy().err());
        for sentence in sentences {
            self.notices.add(Notice::problem(sentence));
        }
    }

    pub(super) fn writable(&self) -> Result<(), Refusal> {
        if let Some(lent) = &self.lent {
            return Err(Refusal::Busy(lent.name().to_owned()));
        }
        match &self.read_only {
            Some(why) => Err(Refusal::ReadOnly(why.clone())),
            None => Ok(()),
        }
    }

    fn carry_out(&mut self, step: &Step, now: Timestamp) {
        step.apply_to(&mut self.notebook);
        self.revision += 1;
        if self.backing.is_some() {
            self.unwritten.push(step.clone());
            self.write_pending(now);
        }
    }

    pub(super) fn write_pending(&mut self, now: Timestamp) -> bool {
        let Some(backing) = &mut self.backing else { return true };
        let mut written = 0;
        let mut refused = None;
        for step in &self.unwritten {
            let after: Vec<Record> = step.changes.iter().filter_map(|c| c.after.clone()).collect();
            let taken: Vec<RecordKey> =
                step.changes.iter().filter(|c| c.after.is_none()).map(|c| c.key).collect();
            match backing.commit(&after, &taken, &step.name, now) {
                Ok(()) => written += 1,
                Err(sentence) => {
                    refused = Some(sentence);
                    break;
                }
            }
        }
        self.unwritten.drain(..written);
        self.notices.drop_action(NoticeAction::RetryWriting);
        match refused {
            None => true,
            Some(sentence) => {
                self.notices.add(Notice::lasting(
                    say!("work-bench-not-saved-yet", sentence = sentence),
                    NoticeAction::RetryWriting,
                ));
                false
            }
        }
    }

    pub(super) fn refused_sentence(&self) -> String {
        self.notices
            .iter()
            .find(|notice| notice.action == Some(NoticeAction::RetryWriting))
            .map_or_else(|| word!("work-bench-the-disk-refused").to_owned(), |notice| notice.text.clone())
    }
}

/// Undo and redo are edits too: they carry the moment at which they were done, so that a merge takes them for the
/// newest word. The looks of the window stay as they are.
fn restamped(mut step: Step, notebook: &Notebook, now: Timestamp) -> Step {
    for change in &mut step.changes {
        if let Some(Record::Preferences(preferences)) = &mut change.after {
            *preferences = preferences.with_looks_of(&notebook.preferences);
        }
        let standing = notebook.record(change.key).and_then(|record| record.stamp());
        if let Some(stamp) = change.after.as_mut().and_then(Record::stamp_mut) {
            // The record as it stands was changed at `standing`; the step puts an older content over it.
            let base = standing.map_or(stamp.changed, |standing| standing.changed.max(stamp.changed));
            let removed = stamp.removed;
            *stamp = Stamp { changed: base, ..*stamp }.edited(now);
            stamp.removed = removed;
        }
    }
    step
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;
    use crate::domain::Channel;
    use crate::workbench::samples;

    fn at(second: i64) -> Timestamp {
        Timestamp::from_second(1_790_000_000 + second).unwrap()
    }

    #[derive(Default, Clone)]
    struct Disk(Arc<Mutex<(Vec<String>, bool)>>);

    impl Backing for Disk {
        fn commit(&mut self, _: &[Record], _: &[RecordKey], name: &str, _: Timestamp) -> Result<(), String> {
            let mut disk = self.0.lock().unwrap();
            if disk.1 {
                return Err("the disk is full; free some space and retry".to_owned());
            }
            disk.0.push(name.to_owned());
            Ok(())
        }

        fn save_trace(&mut self, _: PullId, _: &Trace) -> Result<(), String> {
            Ok(())
        }

        fn load_trace(&mut self, _: PullId) -> Result<Option<Trace>, String> {
            Err("traces/x.ron cannot be read".to_owned())
        }
    }

    /// The notebook without the stamps, which undo rightly moves forward.
    fn content(notebook: &Notebook) -> Notebook {
        let mut plain = notebook.clone();
        for bag in &mut plain.bags {
            bag.stamp = crate::domain::Stamp::new(at(0));
            for pull in &mut bag.pulls {
                pull.stamp = crate::domain::Stamp::new(at(0));
            }
        }
        plain
    }

    #[test]
    fn undo_and_redo_are_inverse_over_a_whole_session() {
        let (notebook, bag) = samples::notebook_with_pulls(3, at(0));
        let start = content(&notebook);
        let mut bench = Workbench::new(notebook, None, None);
        let mut states = vec![start];
        for n in 0..3usize {
            let mut pull = bench.notebook().bag(bag).unwrap().pulls[n].clone();
            pull.time_s = Some(30.0 + n as f64);
            bench.apply(Command::SavePull(bag, Box::new(pull)), at(10)).unwrap();
            states.push(content(bench.notebook()));
        }
        let victim = bench.notebook().bag(bag).unwrap().pulls[1].id;
        bench.apply(Command::Remove(RecordKey::Pull(bag, victim)), at(11)).unwrap();
        states.push(content(bench.notebook()));
        assert_eq!(bench.undo_name(), Some("removing pull 2"));
        for state in states.iter().rev().skip(1) {
            bench.undo(at(20)).unwrap();
            assert_eq!(
                content(bench.notebook()).bags[0].live_pulls().count(),
                state.bags[0].live_pulls().count()
            );
            assert_eq!(
                content(bench.notebook()).bags[0].pulls.iter().map(|p| p.time_s).collect::<Vec<_>>(),
                state.bags[0].pulls.iter().map(|p| p.time_s).collect::<Vec<_>>()
            );
        }
        assert!(matches!(bench.undo(at(21)), Err(Refusal::NothingToUndo)));
        for _ in 0..4 {
            bench.redo(at(30)).unwrap();
        }
        assert_eq!(bench.notebook().bag(bag).unwrap().live_pulls().count(), 2);
    }

    #[test]
    fn the_last_word_is_always_the_newest_even_when_the_clock_stands_still() {
        let (notebook, bag) = samples::notebook_with_pulls(1, at(0));
        let mut bench = Workbench::new(notebook, None, None);
        let changed = |bench: &Workbench| bench.notebook().bag(bag).unwrap().stamp.changed;
        let mut last = changed(&bench);
        bench.apply(Command::Finish(bag, true), at(0)).unwrap();
        for step in 0..4 {
            assert!(changed(&bench) > last, "step {step}");
            last = changed(&bench);
            if step % 2 == 0 {
                bench.undo(at(-5)).unwrap()
            } else {
                bench.redo(at(0)).unwrap()
            };
        }
    }

    #[test]
    fn a_full_disk_is_told_and_written_later() {
        let (notebook, bag) = samples::notebook_with_pulls(1, at(0));
        let disk = Disk::default();
        let mut bench = Workbench::new(notebook, Some(Box::new(disk.clone())), None);
        disk.0.lock().unwrap().1 = true;
        bench.apply(Command::Finish(bag, true), at(1)).unwrap();
        assert!(bench.has_unwritten());
        assert!(bench.notices().iter().any(|n| n.text.contains("disk is full")));
        assert!(bench.retry_writing(at(2)).is_err());
        disk.0.lock().unwrap().1 = false;
        bench.apply(Command::Finish(bag, false), at(3)).unwrap();
        assert!(!bench.has_unwritten());
        assert!(bench.notices().iter().all(|n| n.action != Some(NoticeAction::RetryWriting)));
        assert_eq!(disk.0.lock().unwrap().0, ["finishing Quarry Road", "reopening Quarry Road"]);
    }

    #[test]
    fn a_read_only_notebook_refuses_with_the_reason() {
        let (notebook, bag) = samples::notebook_with_pulls(1, at(0));
        let mut bench = Workbench::new(notebook, None, Some("open in another window".to_owned()));
        let refusal = bench.apply(Command::Finish(bag, true), at(1)).unwrap_err();
        assert!(refusal.to_string().contains("another window"), "{refusal}");
        assert!(!bench.notebook().bag(bag).unwrap().finished);
    }

    #[test]
    fn an_unreadable_trace_is_told_once() {
        let (mut notebook, bag) = samples::notebook_with_pulls(1, at(0));
        notebook.bags[0].pulls[0].has_trace = true;
        let pull = notebook.bags[0].pulls[0].id;
        let mut bench = Workbench::new(notebook, Some(Box::new(Disk::default())), None);
        assert_eq!(bench.trace(bag, pull), None);
        assert_eq!(bench.trace(bag, pull), None);
        assert_eq!(bench.notices().iter().count(), 1);
        let trace = Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, 1.5])]).unwrap();
        bench.attach_trace(bag, pull, trace.clone(), at(5)).unwrap();
        assert_eq!(bench.trace(bag, pull).as_deref(), Some(&trace));
        // Another one in its place can be taken back, and put there again.
        let other = Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, 2.5])]).unwrap();
        bench.attach_trace(bag, pull, other.clone(), at(6)).unwrap();
        bench.undo(at(7)).unwrap();
        assert_eq!(bench.trace(bag, pull).as_deref(), Some(&trace));
        bench.redo(at(8)).unwrap();
        assert_eq!(bench.trace(bag, pull).as_deref(), Some(&other));
    }
}
