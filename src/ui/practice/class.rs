//! The class: who sits down, the score and what is uncovered after it, results, and what is written to files.

use std::path::Path;

use eframe::egui::{self, Context, Id, Role, Ui, WidgetInfo};

use crate::domain::WayOfLiving;
use crate::practice::{Exercise, results_csv};
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::dialogs::ask::FileToWrite;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, TextField, body, fault_line, overline, pick, small, tab_row, text_line, toggle,
};
use crate::words::Name;
use crate::workbench::practice::{Classroom, Seat};
use crate::workbench::view::practice::exercises::{covered, grind_decimals, result_line, score_words};
use crate::workbench::view::practice::sheet::worksheet_page;

/// Class list, and the file to be written.
#[derive(Default)]
pub(super) struct ClassForm {
    names: String,
    shows_names: bool,
    what: Option<usize>,
    file: FileToWrite,
}

/// What can be written to a file.
const FILES: [Name; 3] =
    [name!("practice-class-worksheet"), name!("practice-class-answers"), name!("practice-class-results")];

impl App {
    pub(super) fn class_room(&mut self, ctx: &Context) -> &mut Classroom {
        let waker = ctx.clone();
        let pack = self.practice.bench(ctx).pack().clone();
        let adviser = self.adviser.clone();
        self.practice.class.get_or_insert_with(|| {
            Classroom::new(pack, adviser, std::sync::Arc::new(move || waker.request_repaint()))
        })
    }

    pub(super) fn sit_down_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let exercise = self.practice.exercises.exercise.clone().unwrap_or_default();
        let word = self.practice.exercises.word.clone();
        let class = self.class_room(&ctx);
        let names = class.names().to_vec();
        let next = class.next_student(&exercise, &word).map(str::to_owned);
        let page = &mut self.practice.exercises;
        // A name of the list, the next one first.
        if !names.is_empty() && !names.contains(&page.student) {
            page.student = next.unwrap_or_default();
        }
        let mut begin = false;
        ui.horizontal_wrapped(|ui| {
            if names.is_empty() {
                let field =
                    TextField::new(word!("practice-class-who-sits-here"), Id::unique("practice-student"))
                        .width(180.0);
                field
                    .hint(word!("practice-class-your-name"))
                    .bare(ui, &mut page.student)
                    .accessible_name(word!("practice-class-who-sits-here"));
            } else {
                let shown = if page.student.is_empty() {
                    word!("practice-class-everyone-is-done").to_owned()
                } else {
                    page.student.clone()
                };
                let id = Id::unique("practice-student-pick");
                if let Some(at) = pick(ui, id, word!("practice-class-who-sits-here"), &shown, &names, 180.0) {
                    page.student = names.get(at).cloned().unwrap_or_default();
                }
            }
            let field = TextField::new(word!("practice-class-word"), Id::unique("practice-word"))
                .hint(word!("practice-class-word-on-the-board"))
                .width(180.0);
            let response =
                field.bare(ui, &mut page.word).accessible_name(word!("practice-class-word-on-the-board-2"));
            response.on_hover_text(word!("practice-class-everybody-with-the-same-word-meets"));
            begin =
                ui.add(Button::primary(word!("practice-class-sit-down")).key(Cap::SPACE.text())).clicked();
        });
        if begin {
            self.sit_down(&ctx);
        }
    }

    /// Uncovers one thing more.
    pub(super) fn uncover(&mut self, ctx: &Context) {
        if self.class_room(ctx).seat().is_some_and(|seat| seat.score.is_some()) {
            self.practice.exercises.uncovered += 1;
        }
    }

    pub(super) fn score_ui(&mut self, ui: &mut Ui, seat: &Seat, exercise: &Exercise) {
        let ctx = ui.ctx().clone();
        let p = palette(ui);
        let units = self.units();
        let class = self.class_room(&ctx);
        if class.is_scoring() {
            ui.horizontal(|ui| {
                let label = word!("practice-class-looking-for-the-best-cup-that");
                ui.add(egui::Spinner::new())
                    .widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, label));
                small(ui, label);
            });
        }
        if let Some(said) = class.said() {
            fault_line(ui, said);
        }
        let engine = class.engine().cloned();
        let Some(score) = &seat.score else { return };
        for (at, sentence) in score_words(score, &units).into_iter().enumerate() {
            if at == 0 {
                let colour = if score.passed { p.good } else { p.warn };
                text_line(ui, sentence, scale::semibold(scale::HEADING), colour);
            } else {
                body(ui, sentence);
            }
        }
        let things =
            covered(score, engine.as_ref(), seat.sitting().hidden(), exercise, grind_decimals(seat), &units);
        // A class is shown one thing after another; a person alone wants the first two at once.
        let first = if self.way() == WayOfLiving::Class { 0 } else { 2 };
        let shown = (first + self.practice.exercises.uncovered).min(things.len());
        ui.horizontal(|ui| {
            if let Some(next) = things.get(shown) {
                let label = say!("practice-class-uncover", to_lowercase = next.title.to_lowercase());
                if ui.add(Button::primary(&label).key("R").icon(Icon::Eye)).clicked() {
                    self.uncover(&ctx);
                }
            }
            if ui.add(Button::new(word!("practice-class-next-student"))).clicked() {
                self.class_room(&ctx).leave();
                self.practice.exercises.student.clear();
                self.practice.exercises.uncovered = 0;
            }
        });
        for thing in things.iter().take(shown) {
            overline(ui, thing.title);
            for sentence in &thing.says {
                body(ui, sentence);
            }
        }
    }

    /// The class list, its results and the files.
    pub(super) fn class_ui(&mut self, ui: &mut Ui, name: &str, exercise: &Exercise) {
        let ctx = ui.ctx().clone();
        let results = self.class_room(&ctx).results().to_vec();
        let here = results.iter().rev().filter(|line| line.exercise == name).take(40);
        let lines: Vec<String> = here.map(result_line).collect();
        if !lines.is_empty() {
            overline(ui, word!("practice-class-results-of-this-exercise"));
            for line in lines {
                small(ui, line);
            }
        }
        let form = &mut self.practice.exercises.form;
        let mut changed = false;
        ui.horizontal_wrapped(|ui| {
            toggle(ui, word!("practice-class-class-list"), &mut form.shows_names);
            overline(ui, word!("practice-class-write-to-a-file"));
            let mut what = Some(form.what.unwrap_or(0));
            tab_row(
                ui,
                Id::unique("practice-files"),
                word!("practice-class-write-to-a-file-2"),
                &FILES.map(Name::word),
                &mut what,
            );
            if what != Some(form.what.unwrap_or(0)) {
                form.what = what;
                form.file = FileToWrite::default();
            }
        });
        if form.shows_names {
            let field =
                TextField::new(word!("practice-class-names-of-the-class"), Id::unique("practice-names"))
                    .rows(6)
                    .width(280.0);
            changed = field.hint(word!("practice-class-one-name-a-line")).show(ui, &mut form.names).changed();
        }
        let what = form.what.unwrap_or(0);
        let able = what != 2 || !results.is_empty();
        let word = self.practice.exercises.word.clone();
        let proposed = match what {
            0 => say!("practice-class-html", name = name),
            1 => say!("practice-class-answers-html", name = name),
            _ => "results.csv".to_owned(),
        };
        let file = &mut self.practice.exercises.form.file;
        let hint = say!("practice-class-or-type-its-path", proposed = proposed);
        let button = Button::new(word!("practice-class-save-as"));
        let bytes = |_: &Path| {
            if what < 2 {
                return Ok(worksheet_page(exercise, &word, what == 1).into_bytes());
            }
            if results.is_empty() {
                return Err(word!("practice-class-there-is-no-result-yet").to_owned());
            }
            results_csv(&results).map(String::into_bytes).map_err(|why| why.to_string())
        };
        file.show(ui, &hint, (able, button), || dialog(proposed), bytes);
        if changed {
            let names = self.practice.exercises.form.names.clone();
            self.class_room(&ctx).set_names(&names);
        }
    }
}

fn dialog(name: String) -> impl Future<Output = Option<rfd::FileHandle>> + Send + 'static {
    rfd::AsyncFileDialog::new()
        .set_title(word!("practice-class-write-to-a-file-2"))
        .set_file_name(name)
        .save_file()
}
