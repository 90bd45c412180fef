//! Backups: list, make one, unpack one, go back to one.

use std::path::PathBuf;

use eframe::egui::{Ui, WidgetInfo};

use super::{Ask, PathField, middle, proposed};
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, Caution, caution_line, empty_state, small, text_line};
use crate::workbench::Job;
use crate::workbench::view::keeping::{BackupRow, backups};

#[derive(Clone, Copy, PartialEq, Eq)]
enum Wish {
    GoBack,
    Unpack,
}

/// Which backup is asked about.
#[derive(Default)]
pub struct BackupsForm {
    asked: Option<(PathBuf, String, Wish)>,
    into: PathField,
    /// The list, read once a second.
    rows: Option<(i64, Vec<BackupRow>)>,
}

impl BackupsForm {
    /// The list may be another one by now.
    pub(super) fn read_again(&mut self) {
        self.rows = None;
    }
}

impl App {
    pub(super) fn backups_sheet(
        &mut self,
        ui: &mut Ui,
        form: &mut BackupsForm,
        height: f32,
    ) -> Option<Result<Job, String>> {
        let now = self.now();
        let second = ui.input(|input| input.time) as i64;
        let busy = self.bench.job().is_some();
        let writes = self.bench.read_only().is_none();
        // While work has the folder it cannot be asked; the last list stays.
        if !busy && form.rows.as_ref().is_none_or(|(at, _)| *at != second) {
            form.rows = Some((second, backups(&self.bench.backups(), now, &self.zone)));
        }
        let rows: &[BackupRow] = form.rows.as_ref().map_or(&[], |(_, rows)| rows);
        let mut job = None;
        small(ui, word!("dialogs-keeping-backups-one-is-made-by-itself-once"));
        let p = palette(ui);
        let mut asked = None;
        let question = if form.asked.is_some() { 190.0 } else { 0.0 };
        middle(ui, "backups", height - 60.0 - question, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            if rows.is_empty() {
                empty_state(
                    ui,
                    Icon::Keeper,
                    word!("dialogs-keeping-backups-no-backup-yet"),
                    word!("dialogs-keeping-backups-make-one-now-or-wait-for"),
                    None,
                );
            }
            for row in rows {
                ui.push_id(&row.path, |ui| {
                    ui.horizontal(|ui| {
                        let room = (ui.available_width() - 330.0).max(100.0);
                        ui.allocate_ui_with_layout(
                            eframe::egui::vec2(room, 44.0),
                            eframe::egui::Layout::top_down(eframe::egui::Align::LEFT),
                            |ui| {
                                ui.set_width(room);
                                ui.spacing_mut().item_spacing.y = 0.0;
                                text_line(ui, &row.when, scale::semibold(scale::BODY), p.ink);
                                small(ui, format!("{} · {}", row.ago, row.size));
                            },
                        );
                        for (label, wish, can) in [
                            (word!("dialogs-keeping-backups-go-back-to-it"), Wish::GoBack, writes),
                            (word!("dialogs-keeping-backups-unpack"), Wish::Unpack, true),
                        ] {
                            let response = ui.add_enabled(can && !busy, Button::new(label));
                            if response.clicked() {
                                asked = Some((row.path.clone(), row.when.clone(), wish));
                            }
                            response.widget_info(|| {
                                let label = format!("{label} {}", row.label);
                                WidgetInfo::labeled(eframe::egui::Role::Button, can && !busy, label)
                            });
                        }
                    });
                    hairline(ui);
                });
            }
        });
        if let Some((path, when, wish)) = asked {
            let day = when.split(' ').next().unwrap_or_default().to_owned();
            form.into.text = proposed(&say!("dialogs-keeping-backups-notebook-of", day = day));
            form.asked = Some((path, when, wish));
        }
        let mut answered = false;
        if let Some((path, when, wish)) = form.asked.clone() {
            match wish {
                Wish::GoBack => {
                    let text = say!("dialogs-keeping-backups-the-notebook-will-stand-as-it", when = when);
                    caution_line(ui, Caution::Note, &text);
                }
                Wish::Unpack => {
                    form.into.show(
                        ui,
                        word!("dialogs-keeping-backups-into-which-folder-new-or-empty"),
                        "backup-into",
                        &[(word!("dialogs-keeping-backups-choose"), Ask::Folder)],
                    );
                }
            }
            ui.horizontal(|ui| {
                let label = if wish == Wish::GoBack {
                    say!("dialogs-keeping-backups-go-back-to", when = when)
                } else {
                    word!("dialogs-keeping-backups-unpack-it").to_owned()
                };
                if ui.add_enabled(!busy, Button::primary(&label).icon(Icon::Check)).clicked() {
                    answered = true;
                    job = Some(match (wish, form.into.path()) {
                        (Wish::GoBack, _) => Ok(Job::GoBack {
                            backup: path,
                            name: say!("dialogs-keeping-backups-the-backup-of", when = when),
                        }),
                        (Wish::Unpack, Some(target)) => Ok(Job::Unpack { backup: path, target }),
                        (Wish::Unpack, None) => {
                            Err(word!("dialogs-keeping-backups-say-into-which-folder").to_owned())
                        }
                    });
                }
                answered |= ui.add(Button::quiet(word!("dialogs-keeping-backups-not-now"))).clicked();
            });
        } else {
            let make = Button::primary(word!("dialogs-keeping-backups-make-one-now")).icon(Icon::Plus);
            if ui.add_enabled(writes && !busy, make).clicked() {
                job = Some(Ok(Job::BackUp));
            }
        }
        if answered {
            form.asked = None;
        }
        job
    }
}
