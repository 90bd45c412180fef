//! Another folder for the notebook, because the one it lies in is full, read-only or gone.

use eframe::egui::{Modifiers, Ui};

use super::{Ask, PathField, proposed};
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
            form.to.text = proposed("thirdpull notebook");
        }
        body(
            ui,
            "Everything that the window shows is written into another folder, with traces, rule packs and earlier \
             versions where they can still be read. From then on edits go there.",
        );
        small(
            ui,
            format!(
                "Now it lies in {}. What is there stays as it is; the two can be merged later.",
                self.place
            ),
        );
        form.to.show(ui, "Into which folder (new or empty)", "elsewhere", &[("Choose…", Ask::Folder)]);
        let ready = self.bench.job().is_none();
        let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
        let button = Button::primary("Write it there").key("Ctrl Enter").icon(Icon::Check);
        let asked = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        asked
            .then(|| form.to.path().map(Job::SaveElsewhere).ok_or_else(|| "say into which folder".to_owned()))
    }
}
