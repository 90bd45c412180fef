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
            || "None yet; one is made by itself once a day.".to_owned(),
            |row| format!("The newest is of {} ({}).", row.when, row.ago),
        );
        let problems = self.all_problems().len();
        let standing = standing(self.bench.notebook());
        let mut go = None;
        middle(ui, "notebook", height, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_2;
            small(ui, format!("It lies in {}", self.place));
            small(ui, standing);
            if self.bench.has_unwritten() {
                caution_line(
                    ui,
                    Caution::Harm,
                    "Some edits are not on disk yet, because the disk refused them.",
                );
            } else if self.bench.read_only().is_none() {
                small(ui, "Every change is on disk. Closing the window loses nothing.");
            }
            part(ui, "Share");
            let merged = self.bench.last_merged().is_some();
            let wrong = match problems {
                0 => "Nothing was found wrong.".to_owned(),
                1 => "One thing to look at.".to_owned(),
                n => format!("{n} things to look at."),
            };
            let rows = [
                (
                    Go::PassOn,
                    "Pass on…",
                    actions::key(Action::PassOn),
                    "A bag, or several, as one file that anyone can open, answer and send back.".to_owned(),
                    true,
                ),
                (
                    Go::TakeIn,
                    "Take in…",
                    actions::key(Action::TakeIn),
                    "A file that someone passed on, or another copy of this notebook: first see what would change."
                        .to_owned(),
                    true,
                ),
                (Go::Merged, "Last taken in…", "", "What came in last, and where both sides differed.".to_owned(), merged),
                (
                    Go::Tables,
                    "Tables…",
                    "",
                    "Pulls and traces for R, Python and spreadsheets.".to_owned(),
                    true,
                ),
                (
                    Go::Versions,
                    "Earlier versions…",
                    actions::key(Action::Versions),
                    "What a bag, pull, station or drinker said before.".to_owned(),
                    true,
                ),
                (Go::Backups, "Backups…", "", newest, true),
                (
                    Go::Elsewhere,
                    "Save elsewhere…",
                    "",
                    "Write everything into another folder and go on there.".to_owned(),
                    true,
                ),
                (Go::Problems, "What was found wrong…", actions::key(Action::Problems), wrong, true),
            ];
            for (target, label, key, text, shown) in rows {
                if !shown {
                    continue;
                }
                if matches!(target, Go::Versions) {
                    part(ui, "Keep");
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
