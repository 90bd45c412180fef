//! Exercises: choose one, pull, taste, serve, be scored; what was hidden; the class's results and the worksheet.

use std::io::Write as _;
use std::path::Path;

use eframe::egui::{self, Id, Layout, Role, Ui, WidgetInfo, vec2};

use crate::domain::Lever;
use crate::practice::{Exercise, results_csv};
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Caution, NumberField, TextField, body, caution_line, fault_line, heading, overline, small, soft,
    text_line,
};
use crate::units::Quantity;
use crate::workbench::practice::Seat;
use crate::workbench::view::practice::exercises::{
    engine_words, grind_decimals, list, pull_line, result_line, revealed, rules, score_words, worksheet_page,
};

impl App {
    pub(super) fn exercises_ui(&mut self, ui: &mut Ui) {
        let width = ui.available_width();
        if width < 820.0 {
            self.exercise_list_ui(ui);
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

    fn exercise_list_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        ui.spacing_mut().item_spacing.y = 2.0;
        let items = list(self.practice.bench(&ctx).pack());
        if self.practice.exercise.is_none() {
            self.practice.exercise = items.first().map(|item| item.name.clone());
        }
        let mut level = "";
        for item in items {
            if item.level != level {
                overline(ui, crate::units::capital(item.level));
                level = item.level;
            }
            let on = self.practice.exercise.as_ref() == Some(&item.name);
            let button = if on { Button::new(&item.title) } else { Button::quiet(&item.title) };
            if ui.add(button.width(ui.available_width().min(276.0)).height(38.0).left()).clicked() {
                self.practice.exercise = Some(item.name);
                self.practice.fault = None;
            }
        }
    }

    fn exercise_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let Some(name) = self.practice.exercise.clone() else { return };
        let bench = self.practice.bench(&ctx);
        let Some(exercise) = bench.pack().exercises.get(&name).cloned() else { return };
        let seated = bench.seat().filter(|seat| seat.name == name).cloned();
        heading(ui, exercise.title.clone());
        body(ui, exercise.task.clone());
        small(ui, rules(&exercise));
        if let Some(fault) = self.practice.fault.clone() {
            fault_line(ui, &fault);
        }
        match seated {
            None => self.sit_down_ui(ui, &name),
            Some(seat) => self.seat_ui(ui, &seat, &exercise),
        }
        self.results_ui(ui, &name, &exercise);
    }

    fn sit_down_ui(&mut self, ui: &mut Ui, name: &str) {
        let ctx = ui.ctx().clone();
        ui.horizontal_wrapped(|ui| {
            let field = TextField::new("Who sits here", Id::unique("practice-student")).hint("name").width(180.0);
            field.bare(ui, &mut self.practice.student).accessible_name("Who sits here");
            let field = TextField::new("Word", Id::unique("practice-word")).hint("word on the board").width(200.0);
            let response = field.bare(ui, &mut self.practice.word).accessible_name("Word on the board");
            response.on_hover_text("Everybody with the same word meets the same coffee");
            if ui.add(Button::primary("Begin").key("Space")).clicked() {
                self.sit_down(&ctx);
            }
        });
        let _ = name;
    }

    fn sit_down(&mut self, ctx: &egui::Context) {
        let Some(name) = self.practice.exercise.clone() else { return };
        let (word, student) = (self.practice.word.clone(), self.practice.student.clone());
        self.practice.plan_texts.clear();
        let bench = self.practice.bench(ctx);
        let sat = bench.sit_down(&name, &word, &student);
        self.practice.fault = sat.err();
    }

    /// Begins, or pulls: whatever comes next.
    pub(super) fn exercise_next(&mut self, ctx: &egui::Context) {
        let name = self.practice.exercise.clone();
        let bench = self.practice.bench(ctx);
        let seated = bench.seat().is_some_and(|seat| Some(&seat.name) == name.as_ref());
        if !seated {
            return self.sit_down(ctx);
        }
        self.practice.fault = self.practice.bench(ctx).with_seat(Seat::pull).err();
    }

    /// The next hint.
    pub(super) fn exercise_hint(&mut self, ctx: &egui::Context) {
        let hinted = self.practice.bench(ctx).with_seat(|seat| {
            if seat.hint() { Ok(()) } else { Err("No hint is left".to_owned()) }
        });
        self.practice.fault = hinted.err();
    }

    fn seat_ui(&mut self, ui: &mut Ui, seat: &Seat, exercise: &Exercise) {
        let ctx = ui.ctx().clone();
        let p = palette(ui);
        let units = self.units();
        let decimals = grind_decimals(seat);
        let served = seat.is_served();
        if !served {
            self.plan_ui(ui, seat);
            let (mut pull, mut hint) = (false, false);
            ui.horizontal(|ui| {
                let left = seat.sitting().left();
                let label = format!("Pull, {left} left");
                pull = ui.add_enabled(left > 0, Button::primary(&label).key("Space")).clicked();
                let left = seat.hints_left();
                let label = format!("Hint, {left} left");
                hint = ui.add_enabled(left > 0, Button::new(&label).key("H")).clicked();
            });
            if pull {
                self.exercise_next(&ctx);
            }
            if hint {
                self.exercise_hint(&ctx);
            }
        }
        for hint in &seat.hints {
            caution_line(ui, Caution::Note, hint);
        }
        let mut serve = None;
        for (at, pulled) in seat.sitting().pulled().iter().enumerate().rev() {
            ui.horizontal(|ui| {
                let room = ui.available_width() - if served { 0.0 } else { 120.0 };
                ui.allocate_ui_with_layout(vec2(room, 40.0), Layout::top_down(egui::Align::LEFT), |ui| {
                    ui.set_width(room);
                    body(ui, pull_line(at + 1, pulled, decimals, &units));
                });
                if !served {
                    let response = ui.add(Button::new("Serve it").height(38.0));
                    response.widget_info(|| {
                        WidgetInfo::labeled(Role::Button, true, format!("Serve pull {}", at + 1))
                    });
                    if response.clicked() {
                        serve = Some(at + 1);
                    }
                }
            });
            hairline(ui);
        }
        if seat.sitting().pulled().is_empty() {
            soft(ui, "Nothing pulled yet. Serve the best of your pulls when you are content.");
        }
        if let Some(number) = serve {
            let served = self.practice.bench(&ctx).with_seat(|seat| seat.serve(number));
            self.practice.fault = served.err();
            if self.practice.fault.is_none() {
                self.practice.bench(&ctx).score_seat();
            }
        }
        if !served {
            return;
        }
        if let Some(part) = self.practice.bench(&ctx).scoring() {
            let mut stop = false;
            ui.horizontal(|ui| {
                let response = ui.add(egui::ProgressBar::new(part).desired_width(300.0).show_percentage());
                let label = "Scoring, and the engine plays the same coffee";
                response.widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, label));
                small(ui, label);
                stop = ui.add(Button::new("Stop")).clicked();
            });
            ctx.request_repaint_after(std::time::Duration::from_millis(60));
            if stop {
                self.practice.bench(&ctx).stop();
            }
            return;
        }
        let said = self.practice.bench(&ctx).score_said().map(str::to_owned);
        if let Some(said) = said {
            fault_line(ui, &said);
            if ui.add(Button::new("Score it")).clicked() {
                self.practice.bench(&ctx).score_seat();
            }
        }
        if let Some(score) = &seat.score {
            for (at, sentence) in score_words(score, decimals, &units).into_iter().enumerate() {
                if at == 0 {
                    let colour = if score.passed { p.good } else { p.warn };
                    text_line(ui, sentence, scale::semibold(scale::HEADING), colour);
                } else {
                    body(ui, sentence);
                }
            }
            if let Some(engine) = &seat.engine {
                body(ui, engine_words(engine, &units));
            }
            overline(ui, "What was hidden");
            if self.practice.revealed {
                for sentence in revealed(seat.sitting().hidden(), exercise, &units) {
                    body(ui, sentence);
                }
            }
            ui.horizontal(|ui| {
                let label = if self.practice.revealed { "Cover it" } else { "Reveal it" };
                if ui.add(Button::new(label).key("R").icon(Icon::Eye)).clicked() {
                    self.practice.revealed = !self.practice.revealed;
                }
                if ui.add(Button::quiet("Next student")).clicked() {
                    self.practice.bench(&ctx).leave_seat();
                    self.practice.student.clear();
                    self.practice.revealed = false;
                }
            });
        }
    }

    fn plan_ui(&mut self, ui: &mut Ui, seat: &Seat) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let mut wanted = None;
        ui.horizontal_wrapped(|ui| {
            for (lever, marks) in seat.levers() {
                let (quantity, label) = match lever {
                    Lever::Grind => (None, "Next grind"),
                    Lever::Dose => (Some(Quantity::Dose), "Next dose"),
                    Lever::Yield => (Some(Quantity::Yield), "Next drink"),
                    Lever::Temperature => (Some(Quantity::Temperature), "Next water"),
                };
                let id = Id::unique(("practice-plan", lever));
                let value = seat.plan.get(lever).unwrap_or(marks.min());
                let shown = match quantity {
                    Some(quantity) => crate::workbench::draft::typed(quantity, value, &units),
                    None => crate::workbench::draft::typed_setting(value, marks.decimals(), &units),
                };
                let text = self.practice.plan_texts.entry(lever).or_insert_with(|| shown.clone());
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
            let set = self.practice.bench(&ctx).with_seat(|seat| {
                seat.set(lever, value);
                Ok(())
            });
            self.practice.fault = set.err();
        }
    }

    /// The class's results and what can be written to files.
    fn results_ui(&mut self, ui: &mut Ui, name: &str, exercise: &Exercise) {
        let ctx = ui.ctx().clone();
        let results = self.practice.bench(&ctx).results().to_vec();
        ui.add_space(scale::GAP_2);
        hairline(ui);
        if !results.is_empty() {
            overline(ui, "Results of the class");
            for line in results.iter().rev().take(40) {
                small(ui, result_line(line));
            }
        }
        let mut write = None;
        ui.horizontal_wrapped(|ui| {
            let hint = "path of a file or folder to write to";
            let field = TextField::new("Where to", Id::unique("practice-path")).hint(hint).width(300.0);
            field.bare(ui, &mut self.practice.path).accessible_name("Where to write");
            if ui.add_enabled(!results.is_empty(), Button::new("Results as CSV")).clicked() {
                write = Some(true);
            }
            if ui.add(Button::new("Worksheet and answers")).clicked() {
                write = Some(false);
            }
        });
        if let Some(results_wanted) = write {
            let typed = self.practice.path.trim().trim_matches('"').to_owned();
            let word = self.practice.word.clone();
            self.practice.told = Some(match typed.as_str() {
                "" => Err("say where to: the path of a file, or of a folder".to_owned()),
                typed if results_wanted => results_csv(&results)
                    .map_err(|why| why.to_string())
                    .and_then(|csv| put(&named(Path::new(typed), "results.csv"), &csv)),
                typed => {
                    let sheet = named(Path::new(typed), &format!("{name}.html"));
                    let stem = sheet.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
                    let answers = sheet.with_file_name(format!("{stem}-answers.html"));
                    put(&sheet, &worksheet_page(exercise, &word, false)).and_then(|told| {
                        put(&answers, &worksheet_page(exercise, &word, true)).map(|_| format!("{told}, answers beside it"))
                    })
                }
            });
        }
        match &self.practice.told {
            Some(Ok(sentence)) => {
                let good = palette(ui).good;
                text_line(ui, sentence.clone(), scale::regular(scale::SMALL), good);
            }
            Some(Err(sentence)) => {
                fault_line(ui, sentence);
            }
            None => {}
        }
    }
}

/// The path itself, or the file in it where it is a folder.
fn named(path: &Path, file: &str) -> std::path::PathBuf {
    if path.is_dir() { path.join(file) } else { path.to_owned() }
}

/// Writes a new file; one that is there already is left alone.
fn put(path: &Path, text: &str) -> Result<String, String> {
    let told = |why: std::io::Error| match why.kind() {
        std::io::ErrorKind::AlreadyExists => {
            format!("{} is there already; give another name", path.display())
        }
        _ => format!("{}: {why}", path.display()),
    };
    let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(path).map_err(told)?;
    file.write_all(text.as_bytes()).map_err(told)?;
    Ok(format!("Written to {}", path.display()))
}
