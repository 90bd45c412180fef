//! A drinker.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, first_focus, save_row};
use crate::ui::app::App;
use crate::ui::widgets::{TextField, fault_line, soft};
use crate::workbench::Command;
use crate::workbench::draft::{DrinkerDraft, Field};

/// A drinker as typed.
#[derive(Default)]
pub struct DrinkerForm {
    /// The fields.
    pub draft: DrinkerDraft,
    opened: DrinkerDraft,
    /// A new bag is waiting for it.
    pub then_bag: bool,
    insist: bool,
    seen: bool,
}

impl DrinkerForm {
    /// A form over a draft.
    #[must_use]
    pub fn new(draft: DrinkerDraft) -> Self {
        Self { opened: draft.clone(), draft, ..Self::default() }
    }

    /// An empty form; a new bag waits for it.
    #[must_use]
    pub fn for_a_bag() -> Self {
        Self { then_bag: true, ..Self::default() }
    }

    /// Whether anything was typed in it.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.draft != self.opened
    }
}

impl App {
    pub(super) fn drinker_form_ui(&mut self, ui: &mut Ui, mut form: DrinkerForm) -> Fate {
        let name_id = Id::unique("drinker-name");
        form.seen = form.seen || first_focus(ui, name_id);
        soft(ui, word!("dialogs-drinker-whose-taste-is-to-be-met"));
        let response = TextField::new(word!("dialogs-drinker-name"), name_id)
            .width(480.0)
            .show(ui, &mut form.draft.name);
        let entered = response.lost_focus() && ui.input(|input| input.key_pressed(eframe::egui::Key::Enter));
        let now = self.now();
        let outcome = form.draft.finish(self.bench.notebook(), now);
        if form.insist
            && let Err(faults) = &outcome
            && let Some(text) = faults.of(Field::Name)
        {
            fault_line(ui, text);
        }
        TextField::new(word!("dialogs-drinker-note"), Id::unique("drinker-note"))
            .rows(2)
            .width(480.0)
            .show(ui, &mut form.draft.note);
        if save_row(ui, word!("dialogs-drinker-save"), None) || entered {
            match outcome {
                Ok(drinker) => {
                    if self.edit(Command::SaveDrinker(drinker)) {
                        if form.then_bag {
                            self.new_bag();
                            return Fate::Go(self.dialog.take());
                        }
                        return Fate::Go(Some(Dialog::Drinkers));
                    }
                }
                Err(_) => form.insist = true,
            }
        }
        Fate::Stay(Dialog::Drinker(form))
    }
}
