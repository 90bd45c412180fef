//! What the window remembers between frames that is no part of the notebook.

use std::collections::{BTreeMap, BTreeSet};

use eframe::egui::Id;

use super::widgets::StripCursor;
use crate::domain::{BagId, BagState, PullId, Recipe};
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::{AskedOnce, PullDraft};
use crate::workbench::view::ledger::{LedgerFilter, LedgerOrder};

/// What stands at the head of a bag's page.
#[derive(Debug, Clone, Default)]
pub enum Mode {
    /// The next pull.
    #[default]
    Advice,
    /// The running clock.
    Pulling(ShotClock),
    /// The entry row.
    Entry(Box<Entry>),
}

/// A pull as it is being entered or changed.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The fields.
    pub draft: PullDraft,
    /// The fields as they were when it was opened.
    pub opened: PullDraft,
    /// The pull being changed; `None` for a new one.
    pub original: Option<PullId>,
    /// What the pull was decided from, where whoever pulled it decided without the advice (class).
    pub decided_from: Option<Recipe>,
    /// Saving was tried: faults are shown at once.
    pub insist: bool,
    /// What was asked about when saving was tried.
    pub doubted: AskedOnce,
    /// Distinguishes this visit's fields from those of the last.
    pub visit: u64,
    /// The field that is to get the focus in the next frame.
    pub focus: Option<EntryField>,
}

impl Entry {
    /// Whether something would be lost with it: a typed field, or a time that was taken.
    #[must_use]
    pub fn is_worth_keeping(&self) -> bool {
        self.draft != self.opened || (self.original.is_none() && !self.draft.time.trim().is_empty())
    }

    /// The id of one of its fields.
    #[must_use]
    pub fn id(&self, field: EntryField) -> Id {
        Id::unique(("entry", self.visit, field))
    }
}

/// The fields of the entry, in the order of the keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum EntryField {
    Yield,
    Time,
    Dose,
    Grind,
    Temperature,
    FirstDrip,
    Strength,
    Mark(u8),
    Liking,
    Note,
    PulledBy,
}

/// How traces are laid on each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Aligned {
    /// The pump goes on at zero.
    #[default]
    PumpOn,
    /// The first drip falls at zero.
    FirstDrip,
}

/// The state of the page.
#[derive(Debug, Default)]
pub struct PageState {
    /// The bag shown.
    pub bag: Option<BagId>,
    /// What stands at the head, bag by bag, so that leaving a page loses nothing.
    pub modes: BTreeMap<BagId, Mode>,
    /// Bags whose clock was started while the advice was covered: that pull is the class's own to its end.
    pub own_clock: BTreeSet<BagId>,
    /// The pull looked at; `None` is the newest.
    pub selected: Option<PullId>,
    /// Pulls laid over the others besides the emphasised ones.
    pub overlay: BTreeSet<PullId>,
    /// All pulls of the bag are laid over each other.
    pub overlay_all: bool,
    /// The trace to expect of the next pull is not shown behind them.
    pub no_expected: bool,
    /// How traces are aligned.
    pub aligned: Aligned,
    /// Where the strips are looked at.
    pub cursor: StripCursor,
    /// Which rows of the ledger are shown.
    pub filter: LedgerFilter,
    /// In which order.
    pub order: LedgerOrder,
    /// All reasons are shown.
    pub why: bool,
    /// Reasons shown so far (class).
    pub step: usize,
    /// The bag whose tab was brought into view last.
    pub tab_shown: Option<BagId>,
    /// Which idea is shown: 0 is the advice itself.
    pub idea: usize,
    /// The advice is uncovered (class).
    pub revealed: bool,
    /// Text searched on the shelf.
    pub search: String,
    /// Groups of the shelf whose folding was switched.
    pub folded: BTreeSet<BagState>,
    /// The selected row is to be scrolled into view.
    pub scroll_to_row: bool,
    /// Counts entries, so that their fields never share an id.
    pub visits: u64,
}

impl PageState {
    /// Goes to a bag's page.
    pub fn go_to(&mut self, bag: Option<BagId>) {
        if self.bag != bag {
            self.bag = bag;
            self.selected = None;
            self.overlay.clear();
            self.overlay_all = false;
            self.cursor = StripCursor::default();
            self.idea = 0;
            self.why = false;
            self.step = 0;
            self.revealed = false;
        }
    }

    /// What stands at the head of the page shown.
    #[must_use]
    pub fn mode(&self) -> &Mode {
        const NONE: &Mode = &Mode::Advice;
        self.bag.and_then(|bag| self.modes.get(&bag)).unwrap_or(NONE)
    }

    /// Puts something at the head of the page shown.
    pub fn set_mode(&mut self, mode: Mode) {
        if let Some(bag) = self.bag {
            match mode {
                Mode::Advice => {
                    self.modes.remove(&bag);
                    self.own_clock.remove(&bag);
                }
                other => {
                    self.modes.insert(bag, other);
                }
            }
        }
    }
}
