//! A packet, or another copy of the notebook: what it would change, then taking it or not.

use eframe::egui::{Modifiers, Ui, WidgetInfo};

use super::{Ask, PathField, middle, part};
use crate::domain::Record;
use crate::store::{Merged, Packet};
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, Caution, body, caution_line, fault_line, heading, small, soft, text_line};
use crate::workbench::view::keeping::{MergedView, merged};
use crate::workbench::{Command, Job};

#[derive(Default)]
enum Stage {
    /// Nothing was looked at yet.
    #[default]
    Asking,
    /// It was looked at and may be taken.
    Seen { packet: Option<Box<Packet>>, merged: Box<Merged>, view: Option<MergedView> },
    /// It was taken; the bench has what came.
    Taken { view: Option<MergedView> },
}

/// Where it comes from, and how far it has come.
#[derive(Default)]
pub struct TakeForm {
    pub(super) place: PathField,
    stage: Stage,
}

impl TakeForm {
    pub(super) fn title(&self) -> &'static str {
        match self.stage {
            Stage::Taken { .. } => word!("dialogs-keeping-take-in-taken-in"),
            _ => word!("dialogs-keeping-take-in-take-in"),
        }
    }

    /// The work that looks at what is named.
    pub(super) fn look(&mut self) -> Result<Job, String> {
        let path = self.place.path().ok_or(word!("dialogs-keeping-take-in-choose-a-file-or-a-folder"))?;
        self.stage = Stage::Asking;
        Ok(if path.is_dir() { Job::LookAtFolder(path) } else { Job::LookAtPacket(path) })
    }

    pub(super) fn see(&mut self, packet: Option<Box<Packet>>, merged: Box<Merged>) {
        self.stage = Stage::Seen { packet, merged, view: None };
    }

    pub(super) fn taken(&mut self) {
        self.stage = Stage::Taken { view: None };
    }
}

impl App {
    pub(super) fn take_in_sheet(
        &mut self,
        ui: &mut Ui,
        form: &mut TakeForm,
        height: f32,
    ) -> Option<Result<Job, String>> {
        let units = self.units();
        let busy = self.bench.job().is_some();
        let mut job = None;
        if !matches!(form.stage, Stage::Taken { .. }) {
            let asks = [
                (word!("dialogs-keeping-take-in-file"), Ask::Packet),
                (word!("dialogs-keeping-take-in-folder"), Ask::Folder),
            ];
            if matches!(form.stage, Stage::Asking) && !busy {
                form.place.focus_first(ui, "take-in");
            }
            let given = form.place.show(
                ui,
                word!("dialogs-keeping-take-in-a-file-that-was-passed-on"),
                "take-in",
                &asks,
            );
            let look = matches!(form.stage, Stage::Asking);
            let keyed = look && ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
            let button = if look {
                Button::primary(word!("dialogs-keeping-take-in-look-at-it")).key(Cap::CTRL_ENTER.text())
            } else {
                Button::new(word!("dialogs-keeping-take-in-look-again"))
            };
            if (ui.add_enabled(!busy, button).clicked() || given || keyed) && !busy {
                return Some(form.look());
            }
        }
        match &mut form.stage {
            Stage::Asking => {
                if !busy {
                    soft(ui, word!("dialogs-keeping-take-in-you-will-see-what-would-change"));
                }
            }
            Stage::Seen { packet, merged: seen, view } => {
                let view = view.get_or_insert_with(|| merged(self.showing(&units), seen));
                if let Some(packet) = packet {
                    let from = if packet.from.is_empty() {
                        word!("dialogs-keeping-take-in-someone-who-left-out-the-name")
                    } else {
                        &packet.from
                    };
                    let made = packet.made.to_zoned_datetime(self.zone.clone()).strftime("%Y-%m-%d");
                    body(
                        ui,
                        say!(
                            "dialogs-keeping-take-in-from",
                            from = from,
                            made = made,
                            join = packet.bags.join(", ")
                        ),
                    );
                }
                let other = view_ui(ui, view, false, height - 210.0);
                debug_assert!(other.is_none(), "nothing to go back to before it was taken");
                ui.horizontal(|ui| {
                    let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
                    let ready = !view.nothing && !busy;
                    let button = Button::primary(word!("dialogs-keeping-take-in-take-it-in"))
                        .key(Cap::CTRL_ENTER.text())
                        .icon(Icon::Check);
                    if (ui.add_enabled(ready, button).clicked() || keyed) && ready {
                        job = Some(match (packet.take(), form.place.path()) {
                            (Some(packet), _) => Ok(Job::TakePacket(packet)),
                            (None, Some(path)) => Ok(Job::TakeFolder(path)),
                            (None, None) => {
                                Err(word!("dialogs-keeping-take-in-choose-a-file-or-a-folder").to_owned())
                            }
                        });
                    }
                    if ui.add(Button::quiet(word!("dialogs-keeping-take-in-decline"))).clicked() {
                        form.place.text.clear();
                        job = None;
                        self.say(word!("dialogs-keeping-take-in-nothing-was-taken-in"));
                        self.dialog = Some(crate::ui::dialogs::Dialog::notebook());
                    }
                });
                if job.is_some() {
                    form.stage = Stage::Asking;
                }
            }
            Stage::Taken { view } => {
                if view.is_none() {
                    let made = self.bench.last_merged().map(|(before, came)| {
                        let showing = crate::workbench::view::records::Showing {
                            notebook: before,
                            units: &units,
                            zone: &self.zone,
                        };
                        merged(showing, came)
                    });
                    *view = made;
                }
                let Some(view) = view else {
                    soft(ui, word!("dialogs-keeping-take-in-nothing-was-taken-in-since-the"));
                    return None;
                };
                let name = self
                    .bench
                    .undo_name()
                    .map(|name| say!("dialogs-keeping-take-in-undo-now-takes-back", name = name));
                let other = view_ui(ui, view, self.bench.read_only().is_none(), height - 60.0);
                if let Some(name) = name {
                    small(ui, name);
                }
                if let Some(record) = other {
                    self.edit(Command::Restore(Box::new(record)));
                }
            }
        }
        job
    }
}

/// Draws what comes; gives the losing side of a conflict when somebody wants that instead.
fn view_ui(ui: &mut Ui, view: &MergedView, may_choose: bool, height: f32) -> Option<Record> {
    let p = palette(ui);
    let mut other = None;
    heading(ui, view.headline.clone());
    middle(ui, "merged", height, |ui| {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        for problem in &view.problems {
            fault_line(ui, problem);
        }
        if !view.conflicts.is_empty() {
            part(ui, word!("dialogs-keeping-take-in-changed-on-both-sides"));
            caution_line(ui, Caution::Note, word!("dialogs-keeping-take-in-the-later-edit-stands-the-other"));
            for (at, conflict) in view.conflicts.iter().enumerate() {
                ui.push_id((word!("dialogs-keeping-take-in-conflict"), at), |ui| {
                    text_line(ui, &conflict.name, scale::semibold(scale::BODY), p.ink);
                    small(
                        ui,
                        say!(
                            "dialogs-keeping-take-in-stands-the-other",
                            kept = conflict.kept,
                            other = conflict.other
                        ),
                    );
                    for differs in &conflict.differs {
                        small(
                            ui,
                            say!(
                                "dialogs-keeping-take-in-the-other-says",
                                what_stands = differs.what_stands(),
                                after = differs.after
                            ),
                        );
                    }
                    if may_choose {
                        let response = ui.add(
                            Button::new(word!("dialogs-keeping-take-in-take-the-other-one")).height(36.0),
                        );
                        if response.clicked() {
                            other = Some(conflict.record.clone());
                        }
                        response.widget_info(|| {
                            let label =
                                say!("dialogs-keeping-take-in-take-the-other-one-2", name = conflict.name);
                            WidgetInfo::labeled(eframe::egui::Role::Button, true, label)
                        });
                    }
                    hairline(ui);
                });
            }
        }
        for (title, lines) in &view.groups {
            part(ui, title);
            for line in lines {
                small(ui, line.clone());
            }
        }
    });
    other
}
