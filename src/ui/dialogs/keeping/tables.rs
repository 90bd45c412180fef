//! Tables for R, Python and spreadsheets.

use eframe::egui::{Modifiers, Ui};

use super::{Ask, PathField, proposed};
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
            form.to.text = proposed("thirdpull tables");
        }
        body(
            ui,
            "Every pull as pulls.csv (and pulls.xlsx for spreadsheets), every sample of every trace as traces.csv, and \
             columns.txt, which says what each column means and in which unit.",
        );
        small(
            ui,
            "Commas between fields, decimal points, UTF-8. R, Python and spreadsheets read it at once.",
        );
        form.to.show(ui, "Into which folder", "tables", &[("Choose…", Ask::Folder)]);
        let ready = self.bench.job().is_none();
        let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
        let button = Button::primary("Write the tables").key("Ctrl Enter").icon(Icon::Check);
        let asked = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        asked.then(|| form.to.path().map(Job::Tables).ok_or_else(|| "say into which folder".to_owned()))
    }
}
