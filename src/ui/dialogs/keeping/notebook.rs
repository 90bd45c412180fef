//! The overview: where the notebook lies, how it stands, and what can be done with it.

use eframe::egui::{Align, Layout, Ui, vec2};

use super::{BackupsForm, ElsewhereForm, PassForm, Sheet, TablesForm, TakeForm, VersionsForm, middle, part};
use crate::ui::actions::{self, Action};
use crate::ui::app::App;
use crate::ui::dialogs::Dialog;
use crate::ui::shelf::hairline;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, Caution, caution_line, small, text_line};
use crate::workbench::view::keeping::{backups, standing};

#[derive(Clone, Copy)]
enum Go {
    PassOn,
    TakeIn,
    Backups,
    Versions,
    Merged,
    Tables,
    Elsewhere,
    Problems,
}

impl App {
    pub(super) fn notebook_sheet(&mut self, ui: &mut Ui, height: f32) -> Option<Sheet> {
        let now = self.now();
        let newest = backups(&self.bench.backups(), now, &self.zone).into_iter().next();
        let newest = newest.map_or_else(
            || word!("dialogs-keeping-notebook-none-yet-one-is-made-by").to_owned(),
            |row| say!("dialogs-keeping-notebook-the-newest-is-of", when = row.when, ago = row.ago),
        );
        let problems = self.all_problems().len();
        let standing = standing(self.bench.notebook());
        let mut go = None;
        middle(ui, "notebook", height, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_2;
            small(ui, say!("dialogs-keeping-notebook-it-lies-in", place = self.place));
            small(ui, standing);
            if self.bench.has_unwritten() {
                caution_line(ui, Caution::Harm, word!("dialogs-keeping-notebook-some-edits-are-not-on-disk"));
            } else if self.bench.read_only().is_none() {
                small(ui, word!("dialogs-keeping-notebook-every-change-is-on-disk-closing"));
            }
            part(ui, word!("dialogs-keeping-notebook-share"));
            let merged = self.bench.last_merged().is_some();
            let wrong = match problems {
                0 => word!("dialogs-keeping-notebook-nothing-was-found-wrong").to_owned(),
                1 => word!("dialogs-keeping-notebook-one-thing-to-look-at").to_owned(),
                n => say!("dialogs-keeping-notebook-things-to-look-at", n = n),
            };
            let rows = [
                (
                    Go::PassOn,
                    word!("dialogs-keeping-notebook-pass-on"),
                    actions::key(Action::PassOn),
                    word!("dialogs-keeping-notebook-a-bag-or-several-as-one").to_owned(),
                    true,
                ),
                (
                    Go::TakeIn,
                    word!("dialogs-keeping-notebook-take-in"),
                    actions::key(Action::TakeIn),
                    word!("dialogs-keeping-notebook-a-file-that-someone-passed-on").to_owned(),
                    true,
                ),
                (
                    Go::Merged,
                    word!("dialogs-keeping-notebook-last-taken-in"),
                    "",
                    word!("dialogs-keeping-notebook-what-came-in-last-and-where").to_owned(),
                    merged,
                ),
                (
                    Go::Tables,
                    word!("dialogs-keeping-notebook-tables"),
                    "",
                    word!("dialogs-keeping-notebook-pulls-and-traces-for-r-python").to_owned(),
                    true,
                ),
                (
                    Go::Versions,
                    word!("dialogs-keeping-notebook-earlier-versions"),
                    actions::key(Action::Versions),
                    word!("dialogs-keeping-notebook-what-a-bag-pull-station-or").to_owned(),
                    true,
                ),
                (Go::Backups, word!("dialogs-keeping-notebook-backups"), "", newest, true),
                (
                    Go::Elsewhere,
                    word!("dialogs-keeping-notebook-save-elsewhere"),
                    "",
                    word!("dialogs-keeping-notebook-write-everything-into-another-folder").to_owned(),
                    true,
                ),
                (
                    Go::Problems,
                    word!("dialogs-keeping-notebook-what-was-found-wrong"),
                    actions::key(Action::Problems),
                    wrong,
                    true,
                ),
            ];
            for (target, label, key, text, shown) in rows {
                if !shown {
                    continue;
                }
                if matches!(target, Go::Versions) {
                    part(ui, word!("dialogs-keeping-notebook-keep"));
                }
                if row(ui, label, key, &text) {
                    go = Some(target);
                }
                hairline(ui);
            }
        });
        Some(match go? {
            Go::PassOn => Sheet::PassOn(PassForm::new(self.page.bag, self.bench.notebook())),
            Go::TakeIn => Sheet::TakeIn(TakeForm::default()),
            Go::Backups => Sheet::Backups(BackupsForm::default()),
            Go::Versions => Sheet::Versions(VersionsForm::of_the_page(self.page.bag, self.page.selected)),
            Go::Merged => {
                let mut form = TakeForm::default();
                form.taken();
                Sheet::TakeIn(form)
            }
            Go::Tables => Sheet::Tables(TablesForm::default()),
            Go::Elsewhere => Sheet::Elsewhere(ElsewhereForm::default()),
            Go::Problems => {
                self.dialog = Some(Dialog::Problems);
                return None;
            }
        })
    }
}

/// A button, and beside it what it is for.
fn row(ui: &mut Ui, label: &str, key: &str, text: &str) -> bool {
    let p = palette(ui);
    let mut clicked = false;
    ui.horizontal(|ui| {
        clicked = ui.add(Button::new(label).key(key).width(272.0).left()).clicked();
        ui.add_space(scale::GAP_2);
        let room = (ui.available_width() - 8.0).max(120.0);
        ui.allocate_ui_with_layout(vec2(room, 44.0), Layout::left_to_right(Align::Center), |ui| {
            ui.set_width(room);
            if text.len() > 60 {
                small(ui, text);
            } else {
                text_line(ui, text, scale::regular(scale::SMALL), p.soft);
            }
        });
    });
    clicked
}
