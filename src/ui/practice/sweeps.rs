//! Sweeps of one handle as curves, and the prepared studies.

use eframe::egui::{self, Id, Layout, Role, Sense, Ui, WidgetInfo, vec2};

use crate::domain::WayOfLiving;
use crate::practice::Handle;
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Curve, body, fault_line, heading, overline, pick, size_for, small, soft, tab_row,
};
use crate::workbench::view::practice::sweeps::{
    ALIKE, CurvesView, StudyView, WATCHED, curves, studies_of, study,
};

/// Height of a curve with its words before a class, points.
const CLASS_CURVE: f32 = 320.0;

impl App {
    pub(super) fn sweeps_ui(&mut self, ui: &mut Ui, height: f32) {
        let ctx = ui.ctx().clone();
        let top = ui.cursor().top();
        let words = [
            word!("view-words-grind"),
            word!("view-words-dose"),
            word!("view-words-yield"),
            word!("view-words-temperature"),
            word!("practice-sweeps-pressure"),
            word!("practice-sweeps-unevenness"),
            word!("practice-sweeps-age"),
            word!("practice-sweeps-roast"),
        ];
        ui.horizontal_wrapped(|ui| {
            let mut swept = Some(self.practice.swept.unwrap_or(0));
            tab_row(
                ui,
                Id::unique("practice-swept"),
                word!("practice-sweeps-what-moves"),
                &words,
                &mut swept,
            );
            self.practice.swept = swept;
        });
        let handle = self.practice.swept.and_then(|at| Handle::ALL.get(at)).copied().unwrap_or(Handle::Grind);
        let bench = self.practice.bench(&ctx);
        let here = bench.now().bench.get(handle);
        let view = match bench.swept(handle).cloned() {
            Some(Ok(swept)) => curves(&swept, &WATCHED, Some(here), &studies_of(bench.pack(), handle)),
            Some(Err(why)) => {
                fault_line(ui, &why);
                return;
            }
            None => {
                soft(ui, word!("practice-sweeps-pulling-sixty-times"));
                return;
            }
        };
        let lost = if view.lost.is_empty() { String::new() } else { format!(" {}", view.lost) };
        let text = say!("practice-sweeps-all-else-as-the-bench-stands", handle = view.handle, lost = lost);
        small(ui, text);
        let room = height - (ui.cursor().top() - top) - 30.0;
        let class = self.way() == WayOfLiving::Class;
        let least = if class { CLASS_CURVE } else { 0.0 };
        curves_ui(ui, &view, (room * 0.5).max(least), class);
        measured_ui(ui, &view.measured, class);
    }

    pub(super) fn studies_ui(&mut self, ui: &mut Ui) {
        let width = ui.available_width();
        if width < 820.0 {
            self.study_pick_ui(ui);
            self.study_ui(ui);
            return;
        }
        let list = 312.0;
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.allocate_ui_with_layout(vec2(list, 10.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(list);
                self.study_list_ui(ui);
            });
            ui.add_space(scale::GAP_5);
            let rest = width - list - scale::GAP_5 - 10.0;
            ui.allocate_ui_with_layout(vec2(rest, 10.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(rest);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.study_ui(ui);
            });
        });
    }

    /// The studies, name and title; the first is chosen where none is.
    fn study_list(&mut self, ctx: &egui::Context) -> Vec<(String, String)> {
        let studies = &self.practice.bench(ctx).pack().studies;
        let list: Vec<(String, String)> =
            studies.iter().map(|(name, study)| (name.clone(), study.title.clone())).collect();
        if self.practice.study.is_none() {
            self.practice.study = list.first().map(|(name, _)| name.clone());
        }
        list
    }

    /// The studies where there is no room for a list beside the study.
    fn study_pick_ui(&mut self, ui: &mut Ui) {
        let (names, titles): (Vec<_>, Vec<_>) = self.study_list(&ui.ctx().clone()).into_iter().unzip();
        let on = names.iter().position(|name| self.practice.study.as_ref() == Some(name));
        let shown = on.and_then(|at| titles.get(at)).map_or("", String::as_str);
        let width = ui.available_width().min(420.0);
        let label = word!("practice-studies");
        if let Some(at) = pick(ui, Id::unique("practice-study"), label, shown, &titles, width) {
            self.practice.study = names.into_iter().nth(at);
            self.practice.uncovered = 0;
        }
    }

    fn study_list_ui(&mut self, ui: &mut Ui) {
        let list = self.study_list(&ui.ctx().clone());
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        for (name, title) in list {
            let on = self.practice.study.as_ref() == Some(&name);
            let button = if on { Button::new(&title) } else { Button::quiet(&title) };
            if ui.add(button.width(ui.available_width().min(308.0)).left()).clicked() {
                self.practice.study = Some(name);
                self.practice.uncovered = 0;
            }
        }
    }

    fn study_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let Some(name) = self.practice.study.clone() else { return };
        let bench = self.practice.bench(&ctx);
        let Some(found) = bench.pack().studies.get(&name).cloned() else { return };
        heading(ui, found.title.clone());
        body(ui, found.question.clone());
        let view = match bench.studied(&name) {
            Some(Ok(run)) => study(&found, run, &units),
            Some(Err(why)) => {
                let why = why.clone();
                fault_line(ui, &why);
                return;
            }
            None => {
                soft(ui, word!("practice-sweeps-pulling"));
                return;
            }
        };
        // A class is shown one part after another, its own questions first.
        let class = self.way() == WayOfLiving::Class;
        let parts: [StudyPart; 4] =
            [StudyPart::Ask, StudyPart::Model, StudyPart::Measured, StudyPart::Unknown];
        let shown = if class { (1 + self.practice.uncovered).min(parts.len()) } else { parts.len() };
        let order = if class { parts } else { [parts[1], parts[2], parts[3], parts[0]] };
        let mut view = view;
        if !order.iter().take(shown).any(|part| *part == StudyPart::Measured) {
            for curve in &mut view.curves.curves {
                curve.measured.clear();
                curve.source.clear();
            }
        }
        for part in order.into_iter().take(shown) {
            study_part_ui(ui, part, &view, class);
        }
        if let Some(next) = order.get(shown) {
            let label = say!("practice-sweeps-uncover", to_lowercase = next.title().to_lowercase());
            if ui.add(Button::primary(&label).key("R").icon(Icon::Eye)).clicked() {
                self.practice.uncovered += 1;
            }
        }
        ui.add_space(scale::GAP_1);
        let put = Button::new(word!("practice-sweeps-put-its-coffee-and-recipe-on"));
        if ui.add(put).clicked() {
            let bench = self.practice.bench(&ctx);
            let pack = bench.pack();
            let start = pack
                .coffees
                .get(&found.coffee)
                .zip(pack.stations.get(&found.station))
                .map(|(coffee, station)| found.bench(coffee, station));
            if let Some(start) = start {
                let name = start.coffee.name.clone();
                bench.put(start, &name);
                self.practice.tab = Some(0);
            }
        }
    }
}

/// A part of a study.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum StudyPart {
    Ask,
    Model,
    Measured,
    Unknown,
}

impl StudyPart {
    fn title(self) -> &'static str {
        match self {
            Self::Ask => word!("practice-sweeps-ask-the-class"),
            Self::Model => word!("practice-sweeps-what-the-model-says"),
            Self::Measured => word!("practice-sweeps-what-has-been-measured"),
            Self::Unknown => word!("practice-sweeps-what-nobody-knows"),
        }
    }
}

/// Size of running text: what a class reads from the back of a room is larger.
fn size_of_words(class: bool) -> f32 {
    if class { scale::BODY } else { scale::SMALL }
}

fn words_ui(ui: &mut Ui, line: &str, class: bool) {
    if class {
        body(ui, line);
    } else {
        small(ui, line);
    }
}

fn study_part_ui(ui: &mut Ui, part: StudyPart, view: &StudyView, class: bool) {
    let lines = match part {
        StudyPart::Model => {
            overline(ui, part.title());
            return model_ui(ui, view, class);
        }
        StudyPart::Measured => return measured_ui(ui, &view.measured, class),
        StudyPart::Ask => &view.ask,
        StudyPart::Unknown => &view.unknown,
    };
    if !lines.is_empty() {
        overline(ui, part.title());
        for line in lines {
            words_ui(ui, line, class);
        }
    }
}

/// What the model says: the table of what was compared, the curves, the sentences.
fn model_ui(ui: &mut Ui, view: &StudyView, class: bool) {
    let p = palette(ui);
    if !view.heads.is_empty() {
        let first = (ui.available_width() * 0.24).clamp(120.0, 260.0);
        let each = (ui.available_width() - first) / (view.heads.len().max(2) - 1) as f32;
        // One line of the table is one thing for a screen reader.
        // No word of a head or a row is broken.
        let cells = view.heads.iter().skip(1).chain(view.rows.iter().flat_map(|row| row.iter().skip(1)));
        let pieces = cells.flat_map(|cell| cell.split_whitespace());
        let sizes = [size_of_words(class), scale::SMALL, scale::TICK];
        let size = size_for(ui, pieces, scale::semibold, &sizes, each - scale::GAP_2);
        let line = |ui: &mut Ui, cells: &[String], head: bool| {
            let (font, ink) =
                if head { (scale::semibold(size), p.soft) } else { (scale::regular(size), p.ink) };
            // A cell that has no room on one line goes on below.
            let cells_laid: Vec<_> = cells
                .iter()
                .enumerate()
                .map(|(at, cell)| {
                    let width = if at == 0 { first } else { each };
                    ui.painter().layout(cell.clone(), font.clone(), ink, width - scale::GAP_2)
                })
                .collect();
            let tallest = cells_laid.iter().map(|cell| cell.size().y).fold(0.0, f32::max);
            let (rect, response) =
                ui.allocate_exact_size(vec2(ui.available_width(), tallest + scale::GAP_1), Sense::hover());
            let said: Vec<String> =
                view.heads.iter().zip(cells).map(|(head, cell)| format!("{head} {cell}")).collect();
            let said = said.join(", ");
            response.widget_info(|| WidgetInfo::labeled(Role::Label, true, said.trim()));
            for (at, cell) in cells_laid.into_iter().enumerate() {
                let left = if at == 0 { 0.0 } else { first + each * (at - 1) as f32 };
                // Heads stand on the line below them; what they head begins at the top of its own.
                let down = if head { tallest - cell.size().y } else { 0.0 };
                ui.painter().galley(rect.left_top() + vec2(left, down), cell, ink);
            }
        };
        line(ui, &view.heads, true);
        for row in &view.rows {
            line(ui, row, false);
        }
        words_ui(ui, ALIKE.word(), class);
    }
    if !view.curves.curves.is_empty() {
        if !view.curves.lost.is_empty() {
            words_ui(ui, &view.curves.lost, class);
        }
        curves_ui(ui, &view.curves, if class { CLASS_CURVE } else { 250.0 }, class);
    }
}

fn curves_ui(ui: &mut Ui, view: &CurvesView, height: f32, class: bool) {
    let columns = match ui.available_width() {
        wide if wide >= 900.0 && !class => 3,
        wide if wide >= 520.0 => 2,
        _ => 1,
    };
    let gap = scale::GAP_4;
    let each = (ui.available_width() - gap * (columns - 1) as f32 - 8.0) / columns as f32;
    for curves in view.curves.chunks(columns) {
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = gap;
            for curve in curves {
                ui.allocate_ui_with_layout(vec2(each, height), Layout::top_down(egui::Align::LEFT), |ui| {
                    ui.set_width(each);
                    ui.spacing_mut().item_spacing.y = 2.0;
                    Curve {
                        title: &curve.title,
                        across_name: &view.handle,
                        points: &curve.points,
                        here: curve.here,
                        measured: &curve.measured,
                        source: &curve.source,
                        across: curve.across,
                        range: curve.range,
                        decimals: curve.decimals,
                        says: &curve.says,
                    }
                    .show(ui, each, (height - 66.0).max(140.0));
                    words_ui(ui, &curve.says, class);
                });
            }
        });
    }
}

fn measured_ui(ui: &mut Ui, lines: &[String], class: bool) {
    overline(ui, word!("practice-sweeps-what-has-been-measured"));
    if lines.is_empty() {
        words_ui(ui, word!("practice-sweeps-nothing-published-is-at-hand-for"), class);
    }
    for line in lines {
        words_ui(ui, line, class);
    }
    hairline(ui);
}
