//! Strips of simulated pulls with the values under the cursor beside them.

use eframe::egui::{self, Align2, Context, Id, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::ui::app::App;
use crate::ui::page::strips::stroke;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Making, Strip, StripCursor, StripLine, Stroke3, line_at, overline, strips, text_line,
};
use crate::units::UnitPreferences;
use crate::workbench::view::practice::strips::{
    PracticeStrip, PracticeStrips, strips as strips_view, values, values_told,
};

/// Width of the values beside the strips.
pub(super) const TABLE: f32 = 118.0;

/// Strips as numbers, and as they are drawn.
pub(super) type Made = (PracticeStrips, Vec<Strip>);

/// Strips ready to be drawn.
pub(super) fn made(view: PracticeStrips) -> Made {
    let lines = view.strips.iter().map(drawn).collect();
    (view, lines)
}

impl App {
    pub(super) fn practice_strips(&mut self, ctx: &Context) -> std::rc::Rc<Made> {
        let units = self.units();
        self.practice.bench(ctx);
        let Some(bench) = &self.practice.bench else { return std::rc::Rc::default() };
        let key = (bench.revision(), units.decimal_comma);
        self.practice.strips.get(key, || {
            let now = bench.now().pull.as_ref().ok().map(|pull| &pull.trace);
            let before = bench.before().and_then(|stand| stand.pull.as_ref().ok()).map(|pull| &pull.trace);
            let real = bench.beside().map(|real| (real.name.as_str(), real.trace.as_ref()));
            made(strips_view(now, before, real, &units))
        })
    }

    pub(super) fn practice_strips_ui(&mut self, ui: &mut Ui, height: f32) {
        let ctx = ui.ctx().clone();
        let made = self.practice_strips(&ctx);
        let bench = self.practice.bench(&ctx);
        let mut legend = vec![(Stroke3::This, word!("practice-strips-now").to_owned())];
        if bench.before().is_some() {
            legend.push((Stroke3::Before, word!("practice-strips-before").to_owned()));
        }
        legend.extend(bench.beside().map(|real| (Stroke3::Keeper, real.name.clone())));
        let units = self.units();
        strips_ui(ui, &made, &legend, &mut self.practice.cursor, &units, height);
    }
}

/// Draws strips into `height` points: the legend above, the values under the cursor at the right.
pub(super) fn strips_ui(
    ui: &mut Ui,
    (view, lines): &Made,
    legend: &[(Stroke3, String)],
    cursor: &mut StripCursor,
    units: &UnitPreferences,
    height: f32,
) {
    let p = palette(ui);
    let top = ui.cursor().top();
    ui.horizontal(|ui| {
        ui.spacing_mut().interact_size.y = 22.0;
        overline(ui, word!("practice-strips-strips"));
        for (stroke, name) in legend {
            let (rect, _) = ui.allocate_exact_size(vec2(26.0, 20.0), Sense::hover());
            stroke.sample(ui, rect);
            text_line(ui, name, scale::regular(scale::SMALL), p.ink);
        }
    });
    let left = (height - (ui.cursor().top() - top)).max(200.0);
    let width = ui.available_width();
    let (area, _) = ui.allocate_exact_size(vec2(width, left), Sense::hover());
    let plots = Rect::from_min_max(area.min, pos2(area.right() - TABLE, area.bottom()));
    let mut child = ui.new_child(egui::UiBuilder::new().max_rect(plots).id_salt("practice-strips"));
    strips(&mut child, Id::unique("practice-strips"), lines, view.span_s, cursor, left, false);
    let table = Rect::from_min_max(pos2(plots.right() + 10.0, area.top()), area.max);
    values_ui(ui, view, cursor.cursor_s, units, table);
}

fn values_ui(ui: &Ui, view: &PracticeStrips, cursor: Option<f64>, units: &UnitPreferences, area: Rect) {
    let p = palette(ui);
    let foot = 24.0;
    let each = (area.height() - foot) / view.strips.len().max(1) as f32;
    let shown = values(view, cursor.unwrap_or(f64::NEG_INFINITY), units);
    for (at, (strip, values)) in view.strips.iter().zip(&shown).enumerate() {
        let slot = Rect::from_min_size(
            pos2(area.left(), area.top() + each * at as f32),
            vec2(area.width(), each - 6.0),
        );
        let line_height = (slot.height() / 4.0).clamp(14.0, 19.0);
        let middle = |row: f32| pos2(slot.left(), slot.top() + line_height * (row + 0.5));
        let title = format!("{}, {}", strip.shown.name(), strip.unit);
        line_at(ui, middle(0.0), &title, scale::semibold(scale::TICK), p.ink, slot.width());
        for (row, (emphasis, value)) in values.iter().enumerate().filter(|_| cursor.is_some()) {
            let y = middle(row as f32 + 1.0).y;
            let sample = Rect::from_center_size(pos2(slot.left() + 10.0, y), vec2(20.0, 4.0));
            stroke(*emphasis).sample(ui, sample);
            let colour = stroke(*emphasis).colour(p);
            let font = scale::semibold(scale::TICK);
            ui.painter().text(pos2(slot.right() - 2.0, y), Align2::RIGHT_CENTER, value, font, colour);
        }
    }
    if let Some(t) = cursor {
        let response = ui.interact(area, Id::unique("practice-values"), Sense::hover());
        let told = values_told(view, t, units);
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &told));
    }
    let text = cursor.map_or(word!("practice-strips-point-at-a-strip").to_owned(), |t| {
        say!("practice-strips-at-s", number = units.number(t, 1))
    });
    let at = pos2(area.left(), area.bottom() - foot / 2.0);
    line_at(ui, at, &text, scale::regular(scale::TICK), p.soft, area.width());
}

fn drawn(strip: &PracticeStrip) -> Strip {
    let run = |run: &Vec<[f64; 2]>| run.iter().map(|[x, y]| egui_plot::PlotPoint::new(*x, *y)).collect();
    Strip {
        name: strip.shown.name().to_owned(),
        unit: strip.unit.to_owned(),
        range: strip.range,
        bands: Vec::new(),
        lines: strip
            .lines
            .iter()
            .map(|line| StripLine {
                name: line.name.clone(),
                end: line.end.clone(),
                stroke: stroke(line.emphasis),
                runs: line.runs.iter().map(run).collect(),
            })
            .collect(),
        making: Making::default(),
    }
}
