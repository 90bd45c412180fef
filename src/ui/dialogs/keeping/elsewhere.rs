//! Another folder for the notebook, because the one it lies in is full, read-only or gone.

use eframe::egui::{Modifiers, Ui};

use super::{Ask, PathField, proposed};
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::widgets::{Button, body, small};
use crate::workbench::Job;

/// Where to.
#[derive(Default)]
pub struct ElsewhereForm {
    to: PathField,
    seen: bool,
}

impl App {
    pub(super) fn elsewhere_sheet(
        &mut self,
        ui: &mut Ui,
        form: &mut ElsewhereForm,
    ) -> Option<Result<Job, String>> {
        if !form.seen {
            form.seen = true;
            form.to.text = proposed(word!("dialogs-keeping-elsewhere-thirdpull-notebook"));
        }
        body(ui, word!("dialogs-keeping-elsewhere-everything-that-the-window-shows-is"));
        small(ui, say!("dialogs-keeping-elsewhere-now-it-lies-in-what-is", place = self.place));
        form.to.show(
            ui,
            word!("dialogs-keeping-elsewhere-into-which-folder-new-or-empty"),
            word!("dialogs-keeping-elsewhere-elsewhere"),
            &[(word!("dialogs-keeping-elsewhere-choose"), Ask::Folder)],
        );
        let ready = self.bench.job().is_none();
        let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
        let button = Button::primary(word!("dialogs-keeping-elsewhere-write-it-there"))
            .key(Cap::CTRL_ENTER.text())
            .icon(Icon::Check);
        let asked = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        asked.then(|| {
            form.to
                .path()
                .map(Job::SaveElsewhere)
                .ok_or_else(|| word!("dialogs-keeping-elsewhere-say-into-which-folder").to_owned())
        })
    }
}
