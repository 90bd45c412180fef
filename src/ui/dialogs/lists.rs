//! Stations and drinkers as lists: change, put away, take out again.

use eframe::egui::{Align, Layout, Ui};

use super::{Dialog, DrinkerForm, Fate, StationForm, middle};
use crate::domain::RecordKey;
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, empty_state, small, text_line};
use crate::workbench::Command;
use crate::workbench::draft::{DrinkerDraft, StationDraft};
use crate::workbench::view::page::setting;

/// One line of a list.
struct Line {
    key: RecordKey,
    name: String,
    detail: String,
    away: bool,
}

/// What was asked of a line.
enum Asked {
    Change(RecordKey),
    Away(RecordKey, bool),
    Remove(RecordKey),
}

impl App {
    pub(super) fn stations_ui(&mut self, ui: &mut Ui, height: f32) -> Fate {
        let units = self.units();
        let lines: Vec<Line> = self
            .bench
            .notebook()
            .stations
            .iter()
            .filter(|station| station.stamp.is_live())
            .map(|station| {
                let gear = &station.gear;
                let scale = gear.grind.scale;
                let names = [station.grinder_name.as_str(), station.machine_name.as_str()];
                let mut parts: Vec<String> =
                    names.iter().filter(|name| !name.is_empty()).map(|name| (*name).to_owned()).collect();
                parts.push(say!(
                    "dialogs-lists-grind-by",
                    setting = setting(gear, scale.min(), &units),
                    setting_2 = setting(gear, scale.max(), &units),
                    number = units.number(scale.step(), scale.decimals())
                ));
                Line {
                    key: RecordKey::Station(station.id),
                    name: station.name.clone(),
                    detail: parts.join(" · "),
                    away: station.archived,
                }
            })
            .collect();
        let empty =
            (word!("dialogs-lists-no-station-yet"), word!("dialogs-lists-a-station-is-one-grinder-one"));
        let asked = list_ui(ui, Icon::Station, empty, &lines, height);
        if ui.add(Button::primary(word!("dialogs-lists-new-station")).icon(Icon::Plus)).clicked() {
            return Fate::Go(Some(Dialog::Station(Box::new(StationForm::new(&units)))));
        }
        if let Some(Asked::Change(RecordKey::Station(id))) = asked
            && let Some(station) = self.bench.notebook().station(id)
        {
            let form = StationForm::over(StationDraft::from_station(station, &units));
            return Fate::Go(Some(Dialog::Station(Box::new(form))));
        }
        self.put_away(asked);
        Fate::Stay(Dialog::Stations)
    }

    pub(super) fn drinkers_ui(&mut self, ui: &mut Ui, height: f32) -> Fate {
        let notebook = self.bench.notebook();
        let lines: Vec<Line> = notebook
            .drinkers
            .iter()
            .filter(|drinker| drinker.stamp.is_live())
            .map(|drinker| {
                let bags =
                    notebook.bags.iter().filter(|b| b.stamp.is_live() && b.drinker == drinker.id).count();
                let bags = say!("dialogs-lists-bags", bags = bags);
                let note =
                    if drinker.note.is_empty() { String::new() } else { format!(" · {}", drinker.note) };
                Line {
                    key: RecordKey::Drinker(drinker.id),
                    name: drinker.name.clone(),
                    detail: format!("{bags}{note}"),
                    away: drinker.archived,
                }
            })
            .collect();
        let empty =
            (word!("dialogs-lists-no-drinker-yet"), word!("dialogs-lists-a-drinker-is-whoevers-taste-is"));
        let asked = list_ui(ui, Icon::Person, empty, &lines, height);
        if ui.add(Button::primary(word!("dialogs-lists-new-drinker")).icon(Icon::Plus)).clicked() {
            return Fate::Go(Some(Dialog::Drinker(DrinkerForm::default())));
        }
        if let Some(Asked::Change(RecordKey::Drinker(id))) = asked
            && let Some(drinker) = self.bench.notebook().drinker(id)
        {
            let form = DrinkerForm::new(DrinkerDraft::from_drinker(drinker));
            return Fate::Go(Some(Dialog::Drinker(form)));
        }
        self.put_away(asked);
        Fate::Stay(Dialog::Drinkers)
    }

    fn put_away(&mut self, asked: Option<Asked>) {
        match asked {
            Some(Asked::Away(key, away)) => {
                self.edit(Command::Archive(key, away));
            }
            Some(Asked::Remove(key)) => {
                self.edit(Command::Remove(key));
            }
            Some(Asked::Change(_)) | None => {}
        }
    }
}

fn list_ui(ui: &mut Ui, icon: Icon, empty: (&str, &str), lines: &[Line], height: f32) -> Option<Asked> {
    let mut asked = None;
    let p = palette(ui);
    middle(ui, "list", height - 80.0, |ui| {
        if lines.is_empty() {
            empty_state(ui, icon, empty.0, empty.1, None);
        }
        for line in lines {
            ui.push_id(line.key, |ui| {
                ui.horizontal(|ui| {
                    let room = (ui.available_width() - 320.0).max(80.0);
                    ui.allocate_ui_with_layout(
                        eframe::egui::vec2(room, 48.0),
                        Layout::top_down(Align::LEFT),
                        |ui| {
                            ui.set_width(room);
                            ui.spacing_mut().item_spacing.y = 0.0;
                            let name = if line.away {
                                say!("dialogs-lists-put-away", name = line.name)
                            } else {
                                line.name.clone()
                            };
                            let colour = if line.away { p.soft } else { p.ink };
                            text_line(ui, name, scale::semibold(scale::BODY), colour);
                            small(ui, line.detail.clone());
                        },
                    );
                    ui.spacing_mut().item_spacing.x = scale::GAP_1;
                    let change = ui.add(Button::new(word!("dialogs-lists-change")));
                    if change.clicked() {
                        asked = Some(Asked::Change(line.key));
                    }
                    let label = if line.away {
                        word!("dialogs-lists-take-out")
                    } else {
                        word!("dialogs-lists-put-away-2")
                    };
                    if ui.add(Button::quiet(label)).clicked() {
                        asked = Some(Asked::Away(line.key, !line.away));
                    }
                    if ui.add(Button::quiet(word!("dialogs-lists-remove"))).clicked() {
                        asked = Some(Asked::Remove(line.key));
                    }
                });
            });
            hairline(ui);
        }
    });
    asked
}
