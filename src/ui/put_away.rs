//! What was typed and not saved, kept for a moment so that a slip of the hand loses nothing.

use super::app::App;
use super::dialogs::Dialog;
use super::state::{Entry, Mode};
use crate::domain::BagId;
use crate::workbench::{Notice, NoticeAction};

/// Something half-typed that was put away.
pub enum PutAway {
    /// A form.
    Dialog(Dialog),
    /// The entry of a pull on a bag's page.
    Entry(BagId, Box<Entry>),
}

impl App {
    /// Puts a dialog away; a form with something typed in it can be brought back.
    pub(super) fn put_dialog_away(&mut self, dialog: Dialog) {
        if !dialog.is_worth_keeping() {
            return;
        }
        let text = say!("put-away-put-away-not-saved", title = dialog.title());
        self.put_away = Some(PutAway::Dialog(dialog));
        self.offer_to_bring_back(text);
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
            self.put_away = Some(PutAway::Entry(bag, entry));
            self.offer_to_bring_back(text.to_owned());
        } else {
            self.say(text);
        }
    }

    fn offer_to_bring_back(&mut self, text: String) {
        let notices = self.bench.notices_mut();
        notices.drop_action(NoticeAction::BringBack);
        notices.add(Notice { action: Some(NoticeAction::BringBack), ..Notice::info(text) });
    }

    /// Brings back what was put away last.
    pub(super) fn bring_back(&mut self) {
        self.bench.notices_mut().drop_action(NoticeAction::BringBack);
        match self.put_away.take() {
            Some(PutAway::Dialog(dialog)) => self.dialog = Some(dialog),
            Some(PutAway::Entry(bag, entry)) => {
                let is_there = self.bench.notebook().bag(bag).is_some_and(|bag| bag.stamp.is_live());
                if is_there {
                    self.page.go_to(Some(bag));
                    self.page.set_mode(Mode::Entry(entry));
                }
            }
            None => {}
        }
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
