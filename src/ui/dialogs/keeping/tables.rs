//! Tables for R, Python and spreadsheets.

use eframe::egui::{Modifiers, Ui};

use super::{Ask, PathField, proposed};
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::widgets::{Button, body, small};
use crate::workbench::Job;

/// Where to.
#[derive(Default)]
pub struct TablesForm {
    to: PathField,
    seen: bool,
}

impl App {
    pub(super) fn tables_sheet(&mut self, ui: &mut Ui, form: &mut TablesForm) -> Option<Result<Job, String>> {
        if !form.seen {
            form.seen = true;
            form.to.text = proposed(word!("dialogs-keeping-tables-thirdpull-tables"));
        }
        body(ui, word!("dialogs-keeping-tables-every-pull-as-pulls-csv-and"));
        small(ui, word!("dialogs-keeping-tables-commas-between-fields-decimal-points"));
        form.to.show(
            ui,
            word!("dialogs-keeping-tables-into-which-folder"),
            word!("dialogs-keeping-tables-tables"),
            &[(word!("dialogs-keeping-tables-choose"), Ask::Folder)],
        );
        let ready = self.bench.job().is_none();
        let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
        let button = Button::primary(word!("dialogs-keeping-tables-write-the-tables"))
            .key(Cap::CTRL_ENTER.text())
            .icon(Icon::Check);
        let asked = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        asked.then(|| {
            form.to
                .path()
                .map(Job::Tables)
                .ok_or_else(|| word!("dialogs-keeping-tables-say-into-which-folder").to_owned())
        })
    }
}
