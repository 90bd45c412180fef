//! What was typed and not saved, kept for a moment so that a slip of the hand loses nothing.

use super::app::App;
use super::dialogs::Dialog;
use super::opening::Quick;
use super::state::{Entry, EntryField, Mode};
use crate::domain::BagId;
use crate::workbench::clock::ShotClock;
use crate::workbench::{Notice, NoticeAction};

/// Something half-typed or half-timed that was put away.
pub enum PutAway {
    /// A form.
    Dialog(Dialog),
    /// The entry of a pull on a bag's page.
    Entry(BagId, Box<Entry>),
    /// The running clock of a bag's page; whether it was started while the advice was covered.
    Clock(BagId, ShotClock, bool),
    /// The entry of a pull on the opening.
    Quick(BagId, Box<Quick>),
    /// The running clock of the opening.
    QuickClock(BagId, ShotClock),
}

/// Things put away that can still come back; the oldest go first.
const KEPT: usize = 8;

impl App {
    /// Puts a dialog away; a form with something typed in it can be brought back.
    pub(super) fn put_dialog_away(&mut self, dialog: Dialog) {
        if !dialog.is_worth_keeping() {
            return;
        }
        let text = say!("put-away-put-away-not-saved", title = dialog.title());
        self.set_aside(PutAway::Dialog(dialog), text);
    }

    /// Puts the entry of the page away.
    pub(super) fn put_entry_away(&mut self) {
        let (Some(bag), Mode::Entry(entry)) = (self.page.bag, self.page.mode()) else { return };
        let entry = entry.clone();
        self.page.set_mode(Mode::Advice);
        let changed = entry.original.is_some();
        let text = if changed {
            word!("put-away-the-pull-stays-as-it-was")
        } else {
            word!("put-away-the-pull-was-not-recorded")
        };
        if entry.is_worth_keeping() {
            self.set_aside(PutAway::Entry(bag, entry), text);
        } else {
            self.say(text);
        }
    }

    /// Stops the clock of the page.
    pub(super) fn put_clock_away(&mut self) {
        let (Some(bag), Mode::Pulling(clock)) = (self.page.bag, self.page.mode()) else { return };
        let (clock, own) = (*clock, self.page.own_clock.contains(&bag));
        self.page.set_mode(Mode::Advice);
        let text = word!("acts-the-clock-was-stopped-nothing-was");
        self.set_aside(PutAway::Clock(bag, clock, own), text);
    }

    /// Keeps something that was put away, and offers to bring it back.
    pub(super) fn set_aside(&mut self, what: PutAway, text: impl Into<String>) {
        self.put_away.push(what);
        if self.put_away.len() > KEPT {
            self.put_away.remove(0);
        }
        let text = crate::units::capital(&text.into());
        let notices = self.bench.notices_mut();
        notices.drop_action(NoticeAction::BringBack);
        notices.add(Notice { action: Some(NoticeAction::BringBack), ..Notice::info(text) });
    }

    /// Brings back what was put away last; what stands in its place is put away.
    pub(super) fn bring_back(&mut self) {
        self.bench.notices_mut().drop_action(NoticeAction::BringBack);
        let Some(what) = self.put_away.pop() else {
            return self.say(word!("put-away-there-is-nothing-to-bring-back"));
        };
        if let Some(open) = self.dialog.take() {
            self.put_dialog_away(open);
        }
        match what {
            PutAway::Dialog(dialog) => self.dialog = Some(dialog),
            PutAway::Entry(bag, mut entry) => {
                let timed = !entry.draft.time.trim().is_empty();
                entry.focus = Some(if timed { EntryField::Yield } else { EntryField::Time });
                self.put_at_head(bag, Mode::Entry(entry));
            }
            PutAway::Clock(bag, clock, own) => {
                if self.put_at_head(bag, Mode::Pulling(clock)) && own {
                    self.page.own_clock.insert(bag);
                }
            }
            PutAway::Quick(bag, quick) => self.bring_back_quick(bag, *quick),
            PutAway::QuickClock(bag, clock) => self.bring_back_quick_clock(bag, clock),
        }
    }

    /// Goes to a bag's page and puts something at its head; whether the bag is still there.
    fn put_at_head(&mut self, bag: BagId, mode: Mode) -> bool {
        if !self.bench.notebook().bag(bag).is_some_and(|bag| bag.stamp.is_live()) {
            return false;
        }
        self.practice.open = false;
        self.opening.open = false;
        self.page.go_to(Some(bag));
        match self.page.mode() {
            Mode::Pulling(clock) if clock.is_running() => self.put_clock_away(),
            Mode::Entry(entry) if entry.is_worth_keeping() => self.put_entry_away(),
            _ => {}
        }
        self.page.set_mode(mode);
        true
    }

    /// Whether closing now would lose something typed: the entry of any bag's pull, a running clock, an open form.
    pub(super) fn would_lose(&self) -> bool {
        let entered = self.page.modes.values().any(|mode| match mode {
            Mode::Entry(entry) => entry.is_worth_keeping(),
            Mode::Pulling(clock) => clock.is_running(),
            Mode::Advice => false,
        });
        entered || self.opening.would_lose() || self.dialog.as_ref().is_some_and(Dialog::is_worth_keeping)
    }

    /// Whether nothing can be changed here, which is then said.
    pub(super) fn refused_here(&mut self) -> bool {
        let Some(why) = self.bench.read_only().map(str::to_owned) else { return false };
        self.say_problem(say!("put-away-nothing-can-be-changed-here", why = why));
        true
    }
}
