//! Committing edits: one synced line in the journal each.

use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::disk::{LockGuard, Tail, durable_dir, replace};
use super::fault::{Doing, Problem, StoreFault};
use super::folder::Folder;
use super::journal::{self, Change, Pending};
use super::load::shown;
use super::replay::Replayed;
use super::v1;
use crate::domain::{Record, RecordKey};

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

impl Writer {
    pub(super) fn new(
        guard: Option<Box<dyn LockGuard>>,
        journal_path: PathBuf,
        replayed: Replayed,
        clock: Timestamp,
    ) -> Self {
        Self {
            _guard: guard,
            journal_path,
            journal: None,
            journal_len: replayed.own_len,
            torn: replayed.own_torn,
            lines: replayed.own_lines,
            pending: replayed.pending,
            clock: replayed.last.map_or(clock, |last| last.max(clock)),
            trouble: Vec::new(),
        }
    }

    /// Keeps a problem for [`Folder::take_trouble`], once.
    pub(super) fn tell(&mut self, problem: Problem) {
        if !self.trouble.contains(&problem) {
            self.trouble.push(problem);
        }
    }

    pub(super) fn journal_is_empty(&self) -> bool {
        self.lines == 0 && !self.torn
    }
}

/// Lines in the journal after which a commit also writes the files, should nobody have called [`Folder::settle`].
const MANY_LINES: usize = 20_000;
/// Lines in the journal after which [`Folder::wants_settling`] says yes.
const SOME_LINES: usize = 50;

impl Folder {
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
        let latest = put.iter().filter_map(|record| v1::Entry::of(record, now).changed()).max();
        let at = self.writer()?.clock.max(now).max(latest.unwrap_or(now));
        let line = journal::encode(at, name_of_edit, put, taken_out);
        // What cannot be read back must never be acknowledged (a NaN where a number has to be, for instance).
        if let Err(why) = journal::decode_line(line.trim_end_matches('\n').as_bytes()) {
            let file = self.writer()?.journal_path.clone();
            return Err(StoreFault::Text(Problem::of_file(
                shown(&self.root, &file),
                say!("store-commit-unwritable", edit = name_of_edit, why = why),
                word!("store-commit-todo-unwritable"),
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
                Problem::of_file(Path::new(""), fault.to_string(), word!("store-commit-todo-unsettled"));
            let writer = self.writer()?;
            writer.lines = 0;
            writer.tell(problem);
        }
        Ok(())
    }

    pub(super) fn open_journal(&mut self) -> Result<(), StoreFault> {
        let Some(writer) = &mut self.writer else { return Ok(()) };
        let path = writer.journal_path.clone();
        let fault = |fault: std::io::Error| StoreFault::io(&path, Doing::Open, &fault);
        let folder = path.parent().unwrap_or(&self.root);
        durable_dir(&*self.disk, folder).map_err(fault)?;
        let mut tail = self.disk.tail(&path).map_err(fault)?;
        if writer.torn {
            tail.cut(writer.journal_len).map_err(fault)?;
            writer.torn = false;
        }
        self.disk.sync_dir(folder).map_err(fault)?;
        writer.journal = Some(tail);
        Ok(())
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
                Err(StoreFault::io(&writer.journal_path, Doing::Write, &fault))
            }
        }
    }

    fn append_once_more(&mut self, bytes: &[u8]) -> Result<(), StoreFault> {
        let writer = self.writer()?;
        let path = writer.journal_path.clone();
        let Some(tail) = &mut writer.journal else { return Err(StoreFault::Vanished(path)) };
        tail.append(bytes)
            .and_then(|()| tail.sync())
            .map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))?;
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
            .map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))?;
        writer.journal_len = text.len() as u64;
        writer.lines = lines;
        writer.torn = false;
        self.open_journal()
    }

    pub(super) fn writer(&mut self) -> Result<&mut Writer, StoreFault> {
        let why = &self.why_read_only;
        self.writer.as_mut().ok_or_else(|| StoreFault::ReadOnly(why.clone()))
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
