//! Exercises: the list, and the one that is chosen: who sits down, what is planned, pulled and hinted.

use std::collections::BTreeMap;

use eframe::egui::{self, Context, Id, Key, Layout, Modifiers, Role, Ui, WidgetInfo, vec2};

use super::class::ClassForm;
use super::strips::{Made, made, strips_ui};
use crate::domain::Lever;
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::cache::Kept;
use crate::ui::shelf::hairline;
use crate::ui::theme::scale;
use crate::ui::widgets::{
    Button, Caution, NumberField, StripCursor, Stroke3, body, caution_line, fault_line, heading, overline,
    pick, small, soft,
};
use crate::units::Quantity;
use crate::workbench::practice::Seat;
use crate::workbench::view::practice::exercises::{
    ExerciseItem, bag_words, grind_decimals, list, pull_line, rules,
};
use crate::workbench::view::practice::strips::strips as strips_view;

/// What the exercises remember between frames.
#[derive(Default)]
pub(super) struct ExercisePage {
    /// The one looked at.
    pub exercise: Option<String>,
    /// The word on the board.
    pub word: String,
    /// Who sits down next.
    pub student: String,
    /// How much of the end is uncovered.
    pub uncovered: usize,
    /// Class list, results, files.
    pub form: ClassForm,
    texts: BTreeMap<Lever, String>,
    pub fault: Option<String>,
    cursor: StripCursor,
    strips: Kept<(String, usize, bool), Made>,
}

impl App {
    /// Keys of the exercises.
    pub(super) fn exercise_keys(&mut self, ctx: &Context) {
        let pressed = |key| ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        let free = ctx.memory(|memory| memory.focused().is_none());
        if free && pressed(Key::Space) {
            self.exercise_next(ctx);
        }
        if pressed(Key::H) {
            self.exercise_hint(ctx);
        }
        if pressed(Key::R) {
            self.uncover(ctx);
        }
    }

    pub(super) fn exercises_ui(&mut self, ui: &mut Ui) {
        let width = ui.available_width();
        if width < 820.0 {
            self.exercise_pick_ui(ui);
            self.exercise_ui(ui);
            return;
        }
        let side = 280.0;
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.allocate_ui_with_layout(vec2(side, 10.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(side);
                self.exercise_list_ui(ui);
            });
            ui.add_space(scale::GAP_5);
            let rest = width - side - scale::GAP_5 - 10.0;
            ui.allocate_ui_with_layout(vec2(rest, 10.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(rest);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.exercise_ui(ui);
            });
        });
    }

    /// The exercises, by level; the first is chosen where none is.
    fn exercise_list(&mut self, ctx: &Context) -> Vec<ExerciseItem> {
        let items = list(self.class_room(ctx).pack());
        if self.practice.exercises.exercise.is_none() {
            self.practice.exercises.exercise = items.first().map(|item| item.name.clone());
        }
        items
    }

    fn choose_exercise(&mut self, name: String) {
        let page = &mut self.practice.exercises;
        page.exercise = Some(name);
        page.fault = None;
        page.uncovered = 0;
    }

    /// The exercises where there is no room for a list beside the exercise.
    fn exercise_pick_ui(&mut self, ui: &mut Ui) {
        let items = self.exercise_list(&ui.ctx().clone());
        let titled = |item: &ExerciseItem| format!("{} · {}", crate::units::capital(item.level), item.title);
        let titles: Vec<String> = items.iter().map(titled).collect();
        let on = items.iter().position(|item| self.practice.exercises.exercise.as_ref() == Some(&item.name));
        let shown = on.and_then(|at| titles.get(at)).map_or("", String::as_str);
        let width = ui.available_width().min(420.0);
        let label = word!("practice-exercises");
        let picked = pick(ui, Id::unique("practice-exercise"), label, shown, &titles, width);
        if let Some(item) = picked.and_then(|at| items.into_iter().nth(at)) {
            self.choose_exercise(item.name);
        }
    }

    fn exercise_list_ui(&mut self, ui: &mut Ui) {
        let items = self.exercise_list(&ui.ctx().clone());
        ui.spacing_mut().item_spacing.y = 2.0;
        let mut level = "";
        for item in items {
            if item.level != level {
                overline(ui, crate::units::capital(item.level));
                level = item.level;
            }
            let on = self.practice.exercises.exercise.as_ref() == Some(&item.name);
            let button = if on { Button::new(&item.title) } else { Button::quiet(&item.title) };
            if ui.add(button.width(ui.available_width().min(276.0)).height(36.0).left()).clicked() {
                self.choose_exercise(item.name);
            }
        }
    }

    fn exercise_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let Some(name) = self.practice.exercises.exercise.clone() else { return };
        let class = self.class_room(&ctx);
        let Some(exercise) = class.pack().exercises.get(&name).cloned() else { return };
        let seated = class.seat().filter(|seat| seat.name == name).cloned();
        heading(ui, exercise.title.clone());
        body(ui, exercise.task.clone());
        small(ui, rules(&exercise));
        if let Some(fault) = self.practice.exercises.fault.clone() {
            fault_line(ui, &fault);
        }
        match &seated {
            None => self.sit_down_ui(ui),
            Some(seat) if seat.is_served() => self.score_ui(ui, seat, &exercise),
            Some(seat) => self.plan_and_pull_ui(ui, seat),
        }
        if let Some(seat) = &seated {
            self.pulls_ui(ui, seat);
        }
        hairline(ui);
        self.class_ui(ui, &name, &exercise);
    }

    pub(super) fn sit_down(&mut self, ctx: &Context) {
        let page = &self.practice.exercises;
        let Some(name) = page.exercise.clone() else { return };
        let (word, student) = (page.word.clone(), page.student.clone());
        let sat = self.class_room(ctx).sit_down(&name, &word, &student);
        let page = &mut self.practice.exercises;
        page.texts.clear();
        page.uncovered = 0;
        page.fault = sat.err();
    }

    /// Begins, or pulls: whatever comes next.
    fn exercise_next(&mut self, ctx: &Context) {
        let name = self.practice.exercises.exercise.clone();
        let class = self.class_room(ctx);
        match class.seat() {
            Some(seat) if Some(&seat.name) == name.as_ref() => {
                let pulled = class.at_seat(Seat::pull);
                self.practice.exercises.fault = pulled.err();
            }
            _ => self.sit_down(ctx),
        }
    }

    fn exercise_hint(&mut self, ctx: &Context) {
        let hinted = self.class_room(ctx).at_seat(|seat| {
            if seat.hint() { Ok(()) } else { Err(word!("practice-exercises-no-hint-is-left").to_owned()) }
        });
        self.practice.exercises.fault = hinted.err();
    }

    fn plan_and_pull_ui(&mut self, ui: &mut Ui, seat: &Seat) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let who = if seat.student.is_empty() { String::new() } else { format!("{}: ", seat.student) };
        body(ui, format!("{who}{}", bag_words(seat, &units)));
        self.plan_ui(ui, seat);
        let (mut pull, mut hint) = (false, false);
        ui.horizontal(|ui| {
            let left = seat.sitting().left();
            let label = say!("practice-exercises-pull-left", left = left);
            pull = ui.add_enabled(left > 0, Button::primary(&label).key(Cap::SPACE.text())).clicked();
            let left = seat.hints_left();
            let label = say!("practice-exercises-hint-left", left = left);
            hint = ui.add_enabled(left > 0, Button::new(&label).key("H")).clicked();
            if ui.add(Button::quiet(word!("practice-exercises-leave-the-seat"))).clicked() {
                self.class_room(&ctx).leave();
            }
        });
        if pull {
            self.exercise_next(&ctx);
        }
        if hint {
            self.exercise_hint(&ctx);
        }
        for hint in &seat.hints {
            caution_line(ui, Caution::Note, hint);
        }
    }

    fn plan_ui(&mut self, ui: &mut Ui, seat: &Seat) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let mut wanted = None;
        ui.horizontal_wrapped(|ui| {
            for (lever, marks) in seat.levers() {
                let (quantity, label) = match lever {
                    Lever::Grind => (None, word!("practice-exercises-next-grind")),
                    Lever::Dose => (Some(Quantity::Dose), word!("practice-exercises-next-dose")),
                    Lever::Yield => (Some(Quantity::Yield), word!("practice-exercises-next-drink")),
                    Lever::Temperature => {
                        (Some(Quantity::Temperature), word!("practice-exercises-next-water"))
                    }
                };
                let id = Id::unique(("practice-plan", lever));
                let value = seat.plan.get(lever).unwrap_or(marks.min());
                let shown = match quantity {
                    Some(quantity) => crate::workbench::draft::typed(quantity, value, &units),
                    None => crate::workbench::draft::typed_setting(value, marks.decimals(), &units),
                };
                let text = self.practice.exercises.texts.entry(lever).or_insert_with(|| shown.clone());
                if !ui.memory(|memory| memory.has_focus(id)) {
                    text.clone_from(&shown);
                }
                let field = match quantity {
                    Some(quantity) => NumberField::quantity(label, id, quantity, units),
                    None => NumberField::plain(label, id, marks.decimals(), units),
                };
                let outcome = field.step(marks.step()).width(84.0).show(ui, text);
                if outcome.changed {
                    let read = match quantity {
                        Some(quantity) => quantity.parse(text, units.typed_unit(quantity)).ok(),
                        None => crate::units::parse_number(text).ok(),
                    };
                    wanted = read.map(|value| (lever, value)).or(wanted);
                }
            }
        });
        if let Some((lever, value)) = wanted {
            let set = self.class_room(&ctx).at_seat(|seat| {
                seat.set(lever, value);
                Ok(())
            });
            self.practice.exercises.fault = set.err();
        }
    }

    /// What was pulled, the last one on top, each with its button; and the strips where the exercise shows them.
    fn pulls_ui(&mut self, ui: &mut Ui, seat: &Seat) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let decimals = grind_decimals(seat);
        let served = seat.is_served();
        let pulled = seat.sitting().pulled();
        if pulled.is_empty() {
            soft(ui, word!("practice-exercises-nothing-pulled-yet-when-you-are"));
        }
        let mut serve = None;
        for (at, one) in pulled.iter().enumerate().rev() {
            ui.horizontal(|ui| {
                let room = ui.available_width() - if served { 0.0 } else { 110.0 };
                ui.allocate_ui_with_layout(vec2(room, 36.0), Layout::top_down(egui::Align::LEFT), |ui| {
                    ui.set_width(room);
                    body(ui, pull_line(at + 1, one, decimals, &units));
                });
                if !served {
                    let response = ui.add(Button::new(word!("practice-exercises-serve-it")).height(36.0));
                    response.widget_info(|| {
                        WidgetInfo::labeled(
                            Role::Button,
                            true,
                            say!("practice-exercises-serve-pull", at = at + 1),
                        )
                    });
                    if response.clicked() {
                        serve = Some(at + 1);
                    }
                }
            });
        }
        if let Some(number) = serve {
            let served = self.class_room(&ctx).serve(number);
            self.practice.exercises.fault = served.err();
        }
        let traces: Vec<_> = pulled.iter().filter_map(|one| one.trace.as_ref()).collect();
        let Some((now, earlier)) = traces.split_last() else { return };
        let key =
            (format!("{} {} {}", seat.name, seat.word, seat.student), traces.len(), units.decimal_comma);
        let before = earlier.last().copied();
        let shown =
            self.practice.exercises.strips.get(key, || made(strips_view(Some(now), before, None, &units)));
        let mut legend = vec![(Stroke3::This, word!("practice-exercises-last-pull").to_owned())];
        if before.is_some() {
            legend.push((Stroke3::Before, word!("practice-exercises-the-one-before").to_owned()));
        }
        strips_ui(ui, &shown, &legend, &mut self.practice.exercises.cursor, &units, 420.0);
    }
}
