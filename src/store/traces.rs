//! Traces: one file a pull, read only when shown.

use std::path::PathBuf;

use super::disk::replace;
use super::fault::{Doing, Problem, StoreFault};
use super::folder::Folder;
use super::load::shown;
use super::read::{LARGEST_FILE, read};
use super::text::Ron;
use super::v1;
use crate::domain::{PullId, Trace};

impl Folder {
    pub(super) fn trace_path(&self, pull: PullId) -> PathBuf {
        self.root.join("traces").join(format!("{pull}.ron"))
    }

    /// Writes a pull's trace, durably, in place of any earlier one, of which a copy goes to `set-aside` first where it
    /// says something else. (The pull's own `has_trace` is a record to commit.)
    ///
    /// # Errors
    /// [`StoreFault`]; an earlier trace then still stands.
    pub fn save_trace(&mut self, pull: PullId, trace: &Trace) -> Result<(), StoreFault> {
        self.writer()?;
        let path = self.trace_path(pull);
        if matches!(self.disk.stat(&self.root), Ok(None)) {
            return Err(StoreFault::Vanished(self.root.clone()));
        }
        let text = Ron::document(&v1::Trace::of(pull, trace));
        match self.disk.read(&path, LARGEST_FILE) {
            Ok(old) if old == text.as_bytes() => {}
            Ok(old) => self.keep_copy(&path, &old)?,
            Err(fault) if fault.kind() == std::io::ErrorKind::NotFound => {}
            Err(_unread) => {
                self.set_aside(&path)?;
            }
        }
        replace(&*self.disk, &path, text.as_bytes())
            .map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))
    }

    /// Reads a pull's trace; `None` when none is kept.
    ///
    /// # Errors
    /// [`StoreFault`] when the file cannot be read or is no trace.
    pub fn load_trace(&self, pull: PullId) -> Result<Option<Trace>, StoreFault> {
        let path = self.trace_path(pull);
        match self.disk.stat(&path) {
            Ok(None) => return Ok(None),
            Ok(Some(_)) => {}
            Err(fault) => return Err(StoreFault::io(&path, Doing::Look, &fault)),
        }
        let shown = shown(&self.root, &path);
        let disk: v1::Trace =
            read(&*self.disk, &path, shown).map_err(|fault| StoreFault::Text(fault.problem))?;
        Trace::try_from(disk).map(Some).map_err(|fault| {
            StoreFault::Text(Problem::of_file(shown, fault.to_string(), word!("store-traces-todo")))
        })
    }

    /// [`Folder::load_trace`] for a table of many, which goes on without the ones that cannot be read.
    ///
    /// # Errors
    /// What to say of a trace that was left out.
    pub fn trace_for_table(&self, pull: PullId) -> Result<Option<Trace>, Problem> {
        self.load_trace(pull).map_err(|fault| match fault {
            StoreFault::Text(problem) => problem,
            other => {
                let path = self.trace_path(pull);
                Problem::of_file(shown(&self.root, &path), other.to_string(), String::new())
            }
        })
    }

    /// Removes a pull's trace; fine when there is none.
    ///
    /// # Errors
    /// [`StoreFault`] of the file system.
    pub fn drop_trace(&mut self, pull: PullId) -> Result<(), StoreFault> {
        self.writer()?;
        let path = self.trace_path(pull);
        self.disk.remove(&path).map_err(|fault| StoreFault::io(&path, Doing::Remove, &fault))
    }
}
