//! Undo and redo over whole records, across the session.

use std::sync::Arc;

use crate::domain::{Notebook, PullId, Record, Trace};

pub use crate::domain::Difference as RecordChange;

/// One named step that can be undone.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What a person would call it, for example "yield of pull 7".
    pub name: String,
    /// The records that it changed, in order.
    pub changes: Vec<RecordChange>,
    /// The trace that it put in place of another one.
    pub trace: Option<TraceSwap>,
}

/// Samples that took the place of others. Both are at hand, since a trace's file has no earlier versions.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceSwap {
    /// Of which pull.
    pub pull: PullId,
    /// What was there.
    pub before: Arc<Trace>,
    /// What is there now.
    pub after: Arc<Trace>,
}

impl TraceSwap {
    fn reversed(&self) -> Self {
        Self { pull: self.pull, before: self.after.clone(), after: self.before.clone() }
    }
}

impl Step {
    /// The step that takes this one back.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let changes = self
            .changes
            .iter()
            .rev()
            .map(|change| RecordChange {
                key: change.key,
                before: change.after.clone(),
                after: change.before.clone(),
            })
            .collect();
        Self { name: self.name.clone(), changes, trace: self.trace.as_ref().map(TraceSwap::reversed) }
    }

    /// Whether it changes nothing but how the window looks, which is seen at once and is no step to take back.
    #[must_use]
    pub fn is_of_looks(&self) -> bool {
        !self.changes.is_empty()
            && self.changes.iter().all(|change| match (&change.before, &change.after) {
                (Some(Record::Preferences(before)), Some(Record::Preferences(after))) => {
                    before.with_looks_of(after) == *after
                }
                _ => false,
            })
    }

    /// Carries the step out on a notebook.
    pub fn apply_to(&self, notebook: &mut Notebook) {
        for change in &self.changes {
            match &change.after {
                Some(record) => {
                    notebook.put(record.clone());
                }
                None => notebook.take(change.key),
            }
        }
    }
}

/// The steps done and undone in this session; the oldest are forgotten beyond [`UndoStack::LIMIT`].
#[derive(Debug, Default)]
pub struct UndoStack {
    done: std::collections::VecDeque<Step>,
    undone: Vec<Step>,
}

impl UndoStack {
    /// Steps kept.
    pub const LIMIT: usize = 50_000;

    /// Remembers a step just done; what had been undone can no longer be redone.
    pub fn push(&mut self, step: Step) {
        self.undone.clear();
        self.done.push_back(step);
        if self.done.len() > Self::LIMIT {
            self.done.pop_front();
        }
    }

    /// The step that undo would take back.
    #[must_use]
    pub fn next_undo(&self) -> Option<&Step> {
        self.done.back()
    }

    /// The step that redo would do again.
    #[must_use]
    pub fn next_redo(&self) -> Option<&Step> {
        self.undone.last()
    }

    /// Notes that the last step was taken back.
    pub fn undone(&mut self) {
        if let Some(step) = self.done.pop_back() {
            self.undone.push(step);
        }
    }

    /// Notes that the last undone step was done again.
    pub fn redone(&mut self) {
        if let Some(step) = self.undone.pop() {
            self.done.push_back(step);
        }
    }
}
