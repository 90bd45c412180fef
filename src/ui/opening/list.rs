//! The opening list: every step with a box to tick. Steps that the records show as done are ticked by themselves.

use eframe::egui::{Id, Ui};

use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{Caution, NumberField, caution_line, overline, small, soft, tick_row};
use crate::units::Quantity;
use crate::workbench::view::opening::{ListStep, Opening};

impl App {
    /// Whether a step is done, by the records or by hand.
    pub(super) fn is_ticked(&self, step: &ListStep) -> bool {
        let (place, today) = (&self.place, self.today());
        self.standing.is_ticked(place, today, step.kind, step.bag)
            || (step.done && !self.standing.is_unticked(place, today, step.kind, step.bag))
    }

    pub(super) fn opening_list_ui(&mut self, ui: &mut Ui, view: &Opening) {
        if view.list.is_empty() {
            soft(ui, word!("opening-list-the-list-is-made-from-coffees"));
            return;
        }
        let today = self.today();
        let next = view.list.iter().position(|step| !self.is_ticked(step));
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_3;
            let units = self.units();
            let unit = units.convert(Quantity::Temperature, 0.0).1;
            let (temperature, humidity) = &mut self.opening.room;
            let field = NumberField::plain(word!("opening-list-room"), Id::unique("opening-room"), 0, units)
                .unit(unit)
                .start(21.0);
            field.show(ui, temperature);
            let field =
                NumberField::plain(word!("opening-list-humidity"), Id::unique("opening-humidity"), 0, units)
                    .unit("%");
            field.step(5.0).start(50.0).show(ui, humidity);
            ui.vertical(|ui| {
                small(ui, say!("opening-list-the-whole-list-costs-about", list_cost = view.list_cost));
                let text = if view.room.is_empty() {
                    word!("opening-list-what-you-type-here-is-noted")
                } else {
                    view.room.as_str()
                };
                small(ui, text);
            });
        });
        let mut bag = None;
        for (at, step) in view.list.iter().enumerate() {
            if at == 0 {
                overline(ui, word!("opening-list-the-bar"));
            } else if step.bag != bag {
                let name = view.coffees.iter().find(|row| Some(row.bag) == step.bag);
                overline(ui, name.map_or("", |row| row.name.as_str()));
            }
            bag = step.bag;
            let mut on = self.is_ticked(step);
            // Under its own heading a coffee need not be named again.
            let name =
                view.coffees.iter().find(|row| Some(row.bag) == bag).map_or("", |row| row.name.as_str());
            let short = step.words.strip_prefix(name).and_then(|rest| rest.strip_prefix(": "));
            let words = crate::units::capital(short.unwrap_or(&step.words));
            if tick_row(ui, &words, &mut on, next == Some(at)).changed() {
                let kept = self.standing.tick(&self.place, today, step.kind, step.bag, on);
                self.tell_refused(kept);
            }
            // A caution stands where a hand is about to act: at the step that comes next.
            if next == Some(at)
                && let Some(caution) = step.caution
            {
                caution_line(ui, Caution::Harm, caution);
            }
        }
        if view.list.iter().any(|step| step.done) {
            small(ui, word!("opening-list-steps-tick-themselves"));
        }
        if next.is_none() {
            soft(ui, word!("opening-list-all-done"));
        }
    }
}
