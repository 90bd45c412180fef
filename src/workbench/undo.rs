//! Undo and redo over whole records, across the session.

use crate::domain::Notebook;

pub use crate::domain::Difference as RecordChange;

/// One named step that can be undone.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What a person would call it, for example "yield of pull 7".
    pub name: String,
    /// The records that it changed, in order.
    pub changes: Vec<RecordChange>,
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
        Self { name: self.name.clone(), changes }
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
    pub const LIMIT: usize = 1000;

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
