//! The left side: which pulls are on, bag by bag, or what the chosen one says.

use std::collections::BTreeSet;

use eframe::egui::{self, Id, Ui};

use super::{CompareForm, Who};
use crate::ui::app::App;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, choice_row, soft, text_line, toggle};
use crate::units::UnitPreferences;
use crate::workbench::view::reading::words;

impl App {
    pub(super) fn compare_side_ui(&mut self, ui: &mut Ui, form: &mut CompareForm, height: f32) {
        choice_row(
            ui,
            Id::unique("compare-side"),
            word!("dialogs-compare-side-shown-at-the-left"),
            &[word!("dialogs-compare-side-pulls"), word!("dialogs-compare-side-reading")],
            &mut form.shows_reading,
            false,
        );
        let left = (height - 64.0).max(120.0);
        let salt = if form.shows_reading == Some(1) { "compare-reading" } else { "compare-pulls" };
        let area = egui::ScrollArea::vertical().id_salt(salt).max_height(left).auto_shrink([false, false]);
        area.show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            if form.shows_reading == Some(1) {
                reading_ui(ui, form, self.units())
            } else {
                self.members_ui(ui, form)
            }
        });
    }

    fn members_ui(&mut self, ui: &mut Ui, form: &mut CompareForm) {
        let p = palette(ui);
        let units = self.units();
        let mut any = false;
        let mut bags: Vec<&crate::domain::Bag> =
            self.bench.notebook().bags.iter().filter(|bag| bag.stamp.is_live()).collect();
        // The bag of the page first, then the newest.
        bags.sort_by_key(|bag| (Some(bag.id) != self.page.bag, std::cmp::Reverse(bag.id)));
        for bag in bags {
            let traced: Vec<Who> =
                bag.live_pulls().filter(|pull| pull.has_trace).map(|pull| (bag.id, pull.id)).collect();
            if traced.is_empty() {
                continue;
            }
            any = true;
            let on: BTreeSet<Who> = traced.iter().copied().filter(|who| form.members.contains(who)).collect();
            ui.horizontal(|ui| {
                ui.set_min_height(40.0);
                text_line(ui, bag.name.clone(), scale::semibold(scale::BODY), p.ink);
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let all = on.len() < traced.len();
                    let word = if all {
                        word!("dialogs-compare-side-all")
                    } else {
                        word!("dialogs-compare-side-none")
                    };
                    let button = ui.add(Button::quiet(word).height(36.0));
                    button.widget_info(|| {
                        egui::WidgetInfo::labeled(
                            egui::Role::Button,
                            true,
                            say!("dialogs-compare-side-of", word = word, name = bag.name),
                        )
                    });
                    if button.clicked() {
                        for who in &traced {
                            if all {
                                form.members.insert(*who)
                            } else {
                                form.members.remove(who)
                            };
                        }
                    }
                });
            });
            for who in traced {
                let Some(pull) = bag.pulls.iter().find(|pull| pull.id == who.1) else { continue };
                let number = crate::workbench::number_of(bag, who.1);
                let mut words = vec![format!("{number}")];
                words.extend(pull.time_s.map(|s| format!("{} s", units.number(s, 1))));
                words.extend(
                    pull.taste.liking().map(|liking| say!("dialogs-compare-side-liking", liking = liking)),
                );
                let mut on = form.members.contains(&who);
                if toggle(ui, &words.join(" · "), &mut on).changed() {
                    if on {
                        form.members.insert(who)
                    } else {
                        form.members.remove(&who)
                    };
                }
            }
        }
        if !any {
            soft(ui, word!("dialogs-compare-side-no-pull-has-a-trace-yet"));
        }
    }
}

fn reading_ui(ui: &mut Ui, form: &CompareForm, units: UnitPreferences) {
    let p = palette(ui);
    let reading = form.reading.as_ref().filter(|(who, _)| Some(*who) == form.chosen);
    let Some((_, reading)) = reading else {
        soft(
            ui,
            if form.chosen.is_some() {
                word!("dialogs-compare-side-reading-the-trace")
            } else {
                word!("dialogs-compare-side-choose-a-pull")
            },
        );
        return;
    };
    for part in words(reading, &units) {
        ui.add_space(scale::GAP_2);
        text_line(ui, part.heading, scale::semibold(scale::SMALL), p.soft);
        for line in part.lines {
            sentence(ui, &line.sentence, if line.outside { p.warn } else { p.ink });
            if !line.figure.is_empty() {
                text_line(ui, line.figure, scale::regular(scale::TICK), p.soft);
            }
        }
    }
}

fn sentence(ui: &mut Ui, text: &str, colour: egui::Color32) {
    let words = egui::RichText::new(text).font(scale::regular(scale::SMALL)).color(colour);
    ui.add(egui::Label::new(words).wrap());
}
