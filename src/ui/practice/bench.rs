//! The bench itself: handles at the left; cup, drawn drive and strips at the right.

use eframe::egui::{self, Align2, Context, Id, Layout, Role, Sense, Slider, Ui, WidgetInfo, vec2};

use crate::practice::presets;
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{look, palette, scale};
use crate::ui::widgets::{
    Button, DriveEdit, DriveEditor, NumberField, fault_line, lines_at, pick, size_for, small, tab_row,
    text_line, toggle,
};
use crate::workbench::practice::drawing::TIME_STEP_S;
use crate::workbench::practice::{Line, Stroke, beside};
use crate::workbench::view::practice::cup::{against_real, cup};
use crate::workbench::view::practice::handles::{HandleView, handles, read, typed};

use super::strips::TABLE;

/// Width of the handles.
const SIDE: f32 = 348.0;
/// Width of a handle's name.
const LABEL: f32 = 112.0;

impl App {
    /// Lays the pull looked at on the bag's page beside the bench, or takes it away.
    pub(super) fn lay_beside(&mut self, ctx: &Context) {
        if self.practice.bench(ctx).beside().is_some() {
            return self.practice.bench(ctx).lay_beside(None);
        }
        let Some(bag) = self.page.bag else {
            return self.say(word!("practice-bench-open-a-bag-with-a-pull"));
        };
        // The pull looked at, else the last one with a trace.
        let Some(pull) = self.bag().and_then(|bag| {
            let looked_at = self.pull().filter(|pull| pull.has_trace).map(|pull| pull.id);
            looked_at.or_else(|| bag.live_pulls().rfind(|pull| pull.has_trace).map(|pull| pull.id))
        }) else {
            return self.say(word!("practice-bench-no-pull-of-this-bag-has"));
        };
        let trace = self.bench.trace(bag, pull);
        let real =
            self.bag().zip(trace).and_then(|(bag, trace)| beside(self.bench.notebook(), bag, pull, trace));
        match real {
            Some(real) => self.practice.bench(ctx).lay_beside(Some(real)),
            None => self.say_problem(word!("practice-bench-that-pulls-trace-could-not-be")),
        }
    }

    /// Makes the bench behave like the open bag: one action.
    pub(super) fn fit_the_bench(&mut self, ctx: &Context) {
        if self.practice.bench(ctx).beside().is_none() {
            self.lay_beside(ctx);
        }
        self.practice.bench(ctx).fit();
    }

    pub(super) fn practice_bench_ui(&mut self, ui: &mut Ui, height: f32) {
        let width = ui.available_width();
        if width < 820.0 {
            self.cup_ui(ui);
            self.side_ui(ui);
            self.drive_ui(ui, 150.0);
            self.practice_strips_ui(ui, 480.0);
            return;
        }
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.allocate_ui_with_layout(vec2(SIDE, height), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(SIDE);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.side_ui(ui);
            });
            ui.add_space(scale::GAP_5);
            let rest = width - SIDE - scale::GAP_5 - 10.0;
            ui.allocate_ui_with_layout(vec2(rest, height), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(rest);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                let top = ui.cursor().top();
                self.cup_ui(ui);
                self.drive_ui(ui, (height * 0.19).clamp(96.0, 200.0));
                let left = (height - (ui.cursor().top() - top) - 4.0).max(240.0);
                self.practice_strips_ui(ui, left);
            });
        });
    }

    fn side_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        ui.spacing_mut().item_spacing.y = 2.0;
        let views = handles(&self.practice.bench(&ctx).now().bench);
        for view in &views {
            self.handle_ui(ui, view);
        }
        let bench = self.practice.bench(&ctx);
        let names: Vec<String> = bench.coffees().into_iter().map(|coffee| coffee.name).collect();
        let shown = bench.coffee_name().to_owned();
        let mut coffee = None;
        let mut preset = None;
        let drives: Vec<String> = presets().iter().map(|preset| preset.name.clone()).collect();
        let drive = bench.preset_at().and_then(|at| drives.get(at).cloned());
        let drive = drive.unwrap_or_else(|| word!("practice-bench-drawn-by-hand").to_owned());
        for (label, id, shown, words, chosen) in [
            (word!("practice-bench-coffee"), "practice-coffee", &shown, &names, &mut coffee),
            (word!("practice-bench-drive"), "practice-drive", &drive, &drives, &mut preset),
        ] {
            ui.horizontal(|ui| {
                label_cell(ui, label, "");
                let width = (ui.available_width() - 8.0).max(120.0);
                *chosen = pick(ui, Id::unique(id), label, shown, words, width);
            });
        }
        if let Some(at) = coffee {
            self.practice.bench(&ctx).put_coffee(at);
        }
        if let Some(at) = preset {
            self.practice.bench(&ctx).preset(at);
        }
        ui.horizontal_wrapped(|ui| {
            let mut held = self.practice.bench(&ctx).is_held();
            let hold = toggle(ui, word!("practice-bench-hold-before"), &mut held);
            if hold.on_hover_text(word!("practice-bench-compare-everything-with-how-it-stands")).changed() {
                self.practice.bench(&ctx).hold();
            }
            let reset = Button::quiet(word!("practice-bench-start-again")).key("U");
            if ui.add(reset).clicked() {
                self.practice.bench(&ctx).reset();
            }
        });
        self.real_ui(ui);
    }

    fn handle_ui(&mut self, ui: &mut Ui, view: &HandleView) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let id = Id::unique(("practice-handle", view.handle));
        let mut wanted = None;
        ui.add_enabled_ui(view.settable, |ui| {
            ui.horizontal(|ui| {
                label_cell(ui, view.name, view.hint);
                ui.spacing_mut().slider_width = (ui.available_width() - 108.0).max(80.0);
                let mut value = view.value;
                let (low, high, step) = view.marks;
                let slider =
                    Slider::new(&mut value, low..=high.max(low + 1e-9)).step_by(step).show_value(false);
                let slider = slider.handle_shape(egui::style::HandleShape::Rect { aspect_ratio: 0.45 });
                let response = ui.add(slider).on_hover_text(view.hint);
                let unit = view.handle.unit();
                let said = view.word.map_or(format!("{} {unit}", typed(view, &units)), str::to_owned);
                response.widget_info(|| {
                    let mut info = WidgetInfo::slider(
                        view.settable,
                        value,
                        say!("practice-bench-slider", name = view.name),
                    );
                    info.current_text_value = Some(said.trim().to_owned());
                    info
                });
                crate::ui::theme::focus_ring(ui, &response, 4.0);
                if response.changed() {
                    wanted = Some(value);
                }
                if let Some(word) = view.word {
                    let p = palette(ui);
                    text_line(ui, word, scale::regular(scale::BODY), p.ink);
                    return;
                }
                let focused = ui.memory(|memory| memory.has_focus(id));
                let kept = self.practice.texts.iter().position(|(handle, _)| *handle == view.handle);
                let at = kept.unwrap_or_else(|| {
                    self.practice.texts.push((view.handle, String::new()));
                    self.practice.texts.len() - 1
                });
                let Some((_, text)) = self.practice.texts.get_mut(at) else { return };
                let fault = read(view, text, &units).err();
                if !focused && (fault.is_none() || text.is_empty()) || kept.is_none() {
                    *text = typed(view, &units);
                }
                let fault = read(view, text, &units).err();
                let field = match view.quantity {
                    Some(quantity) => NumberField::quantity(view.name, id, quantity, units),
                    None => NumberField::plain(view.name, id, view.decimals, units).unit(unit),
                };
                let field = field.step(step).width(88.0).without_steppers();
                let outcome = field.alone(ui, text);
                if outcome.changed {
                    wanted = read(view, text, &units).ok().or(wanted);
                }
                if let Some(fault) = fault.filter(|_| !focused) {
                    outcome.response.on_hover_text(fault);
                }
            });
        });
        let faulty = self.practice.texts.iter().find(|(handle, _)| *handle == view.handle);
        let focused = ui.memory(|memory| memory.has_focus(id));
        if let Some(fault) = faulty.and_then(|(_, text)| read(view, text, &units).err())
            && !focused
            && view.word.is_none()
        {
            fault_line(ui, &fault);
        }
        if let Some(value) = wanted {
            self.practice.bench(&ctx).set(view.handle, value);
        }
    }

    /// The real pull beside, and the bench made like it.
    fn real_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        ui.add_space(scale::GAP_1);
        let bag = self.bag().map(|bag| bag.name.clone());
        let bench = self.practice.bench(&ctx);
        let laid = bench.beside().map(|real| real.name.clone());
        let part = bench.fitting();
        let said = bench.said().cloned();
        let (mut lay, mut fit, mut stop) = (false, false, false);
        match (&laid, &bag) {
            (None, None) => {
                small(ui, word!("practice-bench-open-a-bag-whose-pulls-have"));
                return;
            }
            (laid, _) => {
                ui.horizontal(|ui| {
                    let mut on = laid.is_some();
                    let label = match laid {
                        Some(name) => say!("practice-bench-beside", name = name),
                        None => word!("practice-bench-a-real-pull-beside").to_owned(),
                    };
                    lay = toggle(ui, &label, &mut on)
                        .on_hover_text(word!("practice-bench-the-pull-looked-at-in-the"))
                        .changed();
                });
            }
        }
        if let Some(part) = part {
            ui.horizontal(|ui| {
                let bar = egui::ProgressBar::new(part).desired_width(SIDE - 110.0).show_percentage();
                let response = ui.add(bar);
                response.widget_info(|| {
                    let label = say!("practice-bench-fitting-done", part = format!("{:.0}", part * 100.0));
                    WidgetInfo::labeled(Role::ProgressIndicator, true, label)
                });
                stop = ui.add(Button::new(word!("practice-bench-stop"))).clicked();
            });
            ctx.request_repaint_after(std::time::Duration::from_millis(60));
        } else {
            let button = Button::new(word!("practice-bench-make-the-bench-behave-like-this"))
                .key("F")
                .width(SIDE - 12.0);
            fit = ui.add(button).clicked();
        }
        match said {
            Some(Ok(sentence)) => {
                small(ui, sentence);
            }
            Some(Err(sentence)) => {
                fault_line(ui, &sentence);
            }
            None => {}
        }
        if lay {
            self.lay_beside(&ctx);
        }
        if fit {
            self.fit_the_bench(&ctx);
        }
        if stop {
            self.practice.bench(&ctx).stop();
        }
    }

    fn cup_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        let units = self.units();
        let bench = self.practice.bench(&ui.ctx().clone());
        let before = bench.before().and_then(|stand| stand.pull.as_ref().ok());
        let view = match &bench.now().pull {
            Ok(pull) => cup(pull, before, &units),
            Err(why) => {
                let why = why.clone();
                fault_line(ui, &why);
                return;
            }
        };
        ui.spacing_mut().item_spacing.y = 2.0;
        let columns = if ui.available_width() < 480.0 { 3 } else { 6 };
        for facts in view.facts.chunks(columns) {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                let each = ui.available_width() / columns as f32;
                let values = facts.iter().map(|fact| fact.value.as_str());
                let sizes = [scale::HEADING, scale::BODY, scale::SMALL];
                let size = size_for(ui, values, scale::semibold, &sizes, each - scale::GAP_2);
                for fact in facts {
                    let (rect, response) = ui.allocate_exact_size(vec2(each, 58.0), Sense::hover());
                    let said = [&fact.name, &fact.value, &fact.change].map(String::as_str).join(" ");
                    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, said.trim()));
                    let paint = ui.painter().with_clip_rect(rect.with_max_x(rect.right() - 4.0));
                    let small = scale::regular(scale::TICK);
                    paint.text(rect.left_top(), Align2::LEFT_TOP, &fact.name, small.clone(), p.soft);
                    let font = scale::semibold(size);
                    let at = rect.left_top() + vec2(0.0, 15.0);
                    paint.text(at, Align2::LEFT_TOP, &fact.value, font, p.ink);
                    paint.text(rect.left_bottom(), Align2::LEFT_BOTTOM, &fact.change, small, p.before);
                }
            });
        }
        let against = if view.against.is_empty() { String::new() } else { format!("  {}", view.against) };
        let words = egui::RichText::new(format!("{}{against}", view.words));
        ui.add(egui::Label::new(words.font(scale::regular(scale::SMALL)).color(p.ink)).wrap());
        let Some(real) = bench.beside() else { return };
        let apart = bench.now().pull.as_ref().ok().map(|p| against_real(p, &real.name, &real.trace, &units));
        let mut pull_as = false;
        ui.horizontal_wrapped(|ui| {
            let button = Button::new(word!("practice-bench-pull-it-as-the-real-one")).height(32.0);
            let hint = word!("practice-bench-its-recipe-and-its-pressure-the-coffee-stays");
            pull_as = ui.add(button).on_hover_text(hint).clicked();
            small(ui, apart.unwrap_or_default());
        });
        if pull_as {
            bench.pull_as_beside();
        }
    }

    fn drive_ui(&mut self, ui: &mut Ui, height: f32) {
        let ctx = ui.ctx().clone();
        let units = self.units();
        let line = self.practice.drawn_line();
        let (quantity, unit) = match line {
            Line::Pressure => (Some(crate::units::Quantity::Pressure), ""),
            Line::Temperature => (Some(crate::units::Quantity::Temperature), ""),
            Line::Flow => (None, word!("practice-bench-ml-s")),
        };
        let convert = |value: f64| quantity.map_or(value, |quantity| units.convert(quantity, value).0);
        let scaled = convert(1.0) - convert(0.0);
        let unit = quantity.map_or(unit, |quantity| units.convert(quantity, 0.0).1);
        let bench = self.practice.bench(&ctx);
        let is_drawn = line.of(&bench.now().bench.drawn).is_some();
        let held = is_drawn && line.can_be_held(&bench.now().bench);
        let points: Vec<(f64, f64)> =
            line.points(&bench.now().bench).into_iter().map(|(t, v)| (t, convert(v))).collect();
        let chosen = self.practice.point.filter(|at| *at < points.len() && held);
        let mut edit = None;
        let (mut begin, mut let_go) = (false, false);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_2;
            let words = Line::ALL.map(Line::name);
            let mut which = Some(self.practice.line.unwrap_or(0));
            tab_row(
                ui,
                Id::unique("practice-line"),
                word!("practice-bench-drawn-over-time"),
                &words,
                &mut which,
            );
            if which != Some(self.practice.line.unwrap_or(0)) {
                self.practice.line = which;
                self.practice.point = None;
            }
            if !held {
                begin = ui
                    .add(Button::new(if is_drawn {
                        word!("practice-bench-draw-in-few-points")
                    } else {
                        word!("practice-bench-draw-it")
                    }))
                    .clicked();
            }
            if is_drawn {
                let_go = ui.add(Button::quiet(word!("practice-bench-as-the-machine"))).clicked();
            }
            if held {
                edit = self.point_ui(ui, &points, chosen, unit, line);
            }
        });
        let mut picked = chosen;
        let editor = DriveEditor {
            name: line.name(),
            unit,
            points: &points,
            held,
            range: (convert(line.range().0), convert(line.range().1)),
            steps: (TIME_STEP_S, line.range().2 * scaled),
            last_s: self.span_s(&ctx).max(points.last().map_or(0.0, |p| p.0).min(60.0)),
            cursor_s: self.practice.cursor.cursor_s,
            decimals: 1,
        };
        let dragged = ui
            .scope(|ui| {
                // The same axis as the strips below.
                let room = (ui.available_width() - TABLE).max(200.0);
                ui.set_max_width(room);
                editor.show(ui, Id::unique(("practice-editor", line)), height, &mut picked)
            })
            .inner;
        if !held && points.is_empty() {
            small(ui, word!("practice-bench-nothing-limits-the-flow-but-the"));
        }
        self.practice.point = picked;
        let back = |value: f64| (value - convert(0.0)) / scaled;
        let stroke = dragged.or(edit).map(|edit| match edit {
            DriveEdit::Move(at, time_s, value) => Stroke::Move { at, time_s, value: back(value) },
            DriveEdit::AddAfter(at) => Stroke::AddAfter(at),
            DriveEdit::Remove(at) => Stroke::Remove(at),
        });
        let bench = self.practice.bench(&ctx);
        if let Some(stroke) = stroke {
            bench.draw(line, stroke);
        }
        if begin {
            bench.begin_line(line);
            self.practice.point = Some(0);
        } else if let_go {
            bench.let_go(line);
        }
    }

    /// The chosen point in numbers, and the buttons that add and remove one.
    fn point_ui(
        &mut self,
        ui: &mut Ui,
        points: &[(f64, f64)],
        chosen: Option<usize>,
        unit: &str,
        line: Line,
    ) -> Option<DriveEdit> {
        let at = chosen.unwrap_or(0);
        let point = *points.get(at)?;
        let units = self.units();
        let mut edit = None;
        let name = say!("practice-bench-point", at = at + 1);
        for (n, (label, value, unit)) in
            [(word!("practice-bench-time"), point.0, "s"), (word!("practice-bench-value"), point.1, unit)]
                .into_iter()
                .enumerate()
        {
            let id = Id::unique(("practice-point", n));
            let focused = ui.memory(|memory| memory.has_focus(id));
            let Some(text) = self.practice.point_texts.get_mut(n) else { continue };
            if !focused {
                *text = crate::workbench::draft::typed_setting(value, 1, &units);
            }
            let label = format!("{name} {label}");
            let step = if n == 0 { TIME_STEP_S } else { line.range().2 };
            let field = NumberField::plain(&label, id, 1, units).unit(unit).step(step).width(64.0);
            let outcome = field.without_steppers().alone(ui, text);
            if outcome.changed
                && let Ok(typed) = crate::units::parse_number(text)
            {
                let (t, v) = if n == 0 { (typed, point.1) } else { (point.0, typed) };
                edit = Some(DriveEdit::Move(at, t, v));
            }
        }
        if crate::ui::widgets::icon_button(ui, Icon::Plus, word!("practice-bench-add-a-point-ins"), true)
            .clicked()
        {
            edit = Some(DriveEdit::AddAfter(at));
        }
        let more = points.len() > 1;
        if crate::ui::widgets::icon_button(
            ui,
            Icon::Minus,
            word!("practice-bench-remove-the-point-del"),
            more,
        )
        .clicked()
        {
            edit = Some(DriveEdit::Remove(at));
        }
        edit
    }

    fn span_s(&mut self, ctx: &Context) -> f64 {
        self.practice_strips(ctx).0.span_s.1
    }
}

/// The name of a handle in a cell of fixed width, in two lines where it is long.
fn label_cell(ui: &mut Ui, text: &str, hint: &str) {
    let p = palette(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(LABEL, look(ui).target), Sense::hover());
    let font = scale::regular(scale::SMALL);
    let colour = if ui.is_enabled() { p.ink } else { p.soft };
    lines_at(ui, rect.left_center(), text, font, colour, rect.width(), 2);
    if !hint.is_empty() {
        response.on_hover_text(hint);
    }
}
