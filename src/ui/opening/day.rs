//! Through the day: warmth, mixed beans, the room, who pulled what; where the spread comes from; coffee sunk.

use eframe::egui::{Rect, Sense, Ui, vec2};

use super::bar::{fact, head};
use crate::ui::app::App;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{body, small, soft, text_line, toggle};
use crate::workbench::view::opening::{Cause, Opening};

impl App {
    pub(super) fn opening_day_ui(&mut self, ui: &mut Ui, view: &Opening) {
        let wide = ui.available_width() > 860.0;
        if wide {
            let half = (ui.available_width() - scale::GAP_6) / 2.0;
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| {
                    ui.set_width(half);
                    self.through_ui(ui, view);
                    self.sunk_ui(ui, view);
                });
                ui.add_space(scale::GAP_5);
                ui.vertical(|ui| {
                    ui.set_width(half);
                    self.causes_ui(ui, view);
                });
            });
        } else {
            self.through_ui(ui, view);
            self.sunk_ui(ui, view);
            self.causes_ui(ui, view);
        }
    }

    fn through_ui(&mut self, ui: &mut Ui, view: &Opening) {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        head(ui, word!("opening-day-through-the-day"));
        if view.room.is_empty() {
            soft(ui, word!("opening-day-nobody-has-written-down-the-room"));
        } else {
            soft(ui, view.room.clone());
        }
        let mut any = false;
        for row in &view.coffees {
            for words in [&row.warmth, &row.mixing] {
                if !words.is_empty() {
                    any = true;
                    body(ui, format!("{}: {words}", row.name));
                }
            }
        }
        if !any {
            soft(ui, word!("opening-day-no-grinder-is-warm-enough-from"));
        }
        let mut pulls: Vec<_> =
            view.coffees.iter().flat_map(|row| row.judged.iter().map(move |pull| (row, pull))).collect();
        pulls.sort_by_key(|(_, pull)| std::cmp::Reverse(pull.at));
        if !view.hand_over.people.is_empty() {
            fact(ui, word!("opening-day-pulled-today"), &view.hand_over.people);
        }
        for (row, pull) in pulls.iter().take(8) {
            let who = if pull.who.is_empty() { word!("opening-day-nobody-named") } else { pull.who.as_str() };
            small(ui, format!("{} {who}: {}, {} · {}", pull.when, row.name, pull.time, pull.words));
        }
        if pulls.len() > 8 {
            small(ui, say!("opening-day-and-more", pulls = pulls.len() - 8));
        }
    }

    fn sunk_ui(&mut self, ui: &mut Ui, view: &Opening) {
        head(ui, word!("opening-day-coffee-sunk-and-purged-today"));
        for sunk in &view.sunk {
            body(ui, format!("{}: {}", sunk.coffee, sunk.words));
            if !sunk.week.is_empty() {
                small(ui, crate::units::capital(&sunk.week));
            }
        }
        if !view.week.is_empty() {
            body(ui, crate::units::capital(&view.week));
        }
    }

    fn causes_ui(&mut self, ui: &mut Ui, view: &Opening) {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        head(ui, word!("opening-day-where-the-spread-comes-from"));
        let causes = self.opening_causes(view).cloned();
        let Some(causes) = causes else {
            soft(ui, word!("opening-day-working-it-out"));
            return;
        };
        body(ui, causes.headline.clone());
        for cause in &causes.parts {
            cause_ui(ui, cause);
        }
        for person in &causes.people {
            soft(ui, person.clone());
        }
        if !causes.parts.is_empty() {
            small(ui, say!("opening-day-from-timed-pulls-of-four-weeks", pulls = causes.pulls));
        }
        let mut hide = self.preferences().hide_names;
        if toggle(ui, word!("opening-day-hide-names"), &mut hide).changed() {
            self.prefer(|preferences| preferences.hide_names = hide);
        }
    }
}

/// One cause with its share as a bar.
fn cause_ui(ui: &mut Ui, cause: &Cause) {
    let p = palette(ui);
    ui.add_space(scale::GAP_1);
    text_line(ui, crate::units::capital(cause.source.name()), scale::semibold(scale::BODY), p.ink);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width().min(420.0), 10.0), Sense::hover());
    ui.painter().rect_filled(rect, 3.0, p.band);
    let part = Rect::from_min_size(rect.min, vec2(rect.width() * cause.share.clamp(0.0, 1.0) as f32, 10.0));
    ui.painter().rect_filled(part, 3.0, p.before);
    small(ui, cause.words.clone());
}
