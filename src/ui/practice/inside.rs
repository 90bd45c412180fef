//! Inside the puck: the bed as a picture that the strips' cursor scrubs, and the same as a table.

use eframe::egui::{
    self, Align2, CornerRadius, Id, Layout, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    pos2, vec2,
};

use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::ordered::cividis;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, fault_line, icon_button, line_at, tab_row};
use crate::words::Name;
use crate::workbench::view::practice::inside::{
    EVERY_S, HEADS, InsideView, Tint, film, inside, row_told, rows, told,
};

impl App {
    pub(super) fn inside_ui(&mut self, ui: &mut Ui, height: f32) {
        let width = ui.available_width();
        if width < 820.0 {
            self.bed_ui(ui, 560.0);
            self.practice_strips_ui(ui, 420.0);
            return;
        }
        let left_width = (width * 0.5).clamp(420.0, 760.0);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.allocate_ui_with_layout(vec2(left_width, height), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(left_width);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.bed_ui(ui, height);
            });
            ui.add_space(scale::GAP_5);
            let rest = width - left_width - scale::GAP_5 - 10.0;
            ui.allocate_ui_with_layout(vec2(rest, height), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(rest);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.practice_strips_ui(ui, height - 8.0);
            });
        });
    }

    fn bed_ui(&mut self, ui: &mut Ui, height: f32) {
        let ctx = ui.ctx().clone();
        let p = palette(ui);
        let units = self.units();
        let bench = self.practice.bench(&ctx);
        let (revision, stand) = (bench.revision(), bench.now().clone());
        let end_s = match &stand.pull {
            Ok(pull) => pull.trace.end_s,
            Err(why) => {
                fault_line(ui, why);
                return;
            }
        };
        let made = self.practice.film.get(revision, || film(&stand.bench, end_s));
        let film = match made.as_ref() {
            Ok(film) => film,
            Err(why) => {
                fault_line(ui, why);
                return;
            }
        };
        let first_drip = stand.pull.as_ref().ok().and_then(|pull| pull.trace.first_drip_s);
        let t = self.practice.cursor.cursor_s.unwrap_or(first_drip.unwrap_or(0.3 * end_s)).clamp(0.0, end_s);
        let mut wanted = None;
        ui.horizontal(|ui| {
            let words = [word!("practice-inside-water"), word!("practice-inside-grains")];
            let mut tint = Some(usize::from(self.practice.tint == Tint::Grains));
            tab_row(
                ui,
                Id::unique("practice-tint"),
                word!("practice-inside-colours-show"),
                &words,
                &mut tint,
            );
            self.practice.tint = if tint == Some(1) { Tint::Grains } else { Tint::Water };
            if icon_button(ui, Icon::Minus, word!("practice-inside-earlier"), t > 0.0).clicked() {
                wanted = Some(t - 0.5);
            }
            if icon_button(ui, Icon::Plus, word!("practice-inside-later"), t < end_s).clicked() {
                wanted = Some(t + 0.5);
            }
            let label = if self.practice.playing {
                word!("practice-inside-pause")
            } else {
                word!("practice-inside-play")
            };
            if ui.add(Button::new(label).key("P")).clicked() {
                self.play_or_pause();
            }
        });
        if self.practice.playing {
            let next = t + f64::from(ui.input(|input| input.stable_dt)).min(0.2);
            wanted = Some(next);
            self.practice.playing = next < end_s;
            ctx.request_repaint_after(std::time::Duration::from_millis(30));
        }
        let tint = self.practice.tint;
        let Some(view) = inside(film, t + 0.5 * EVERY_S, tint) else { return };
        let table = 24.0 * (view.paths.len() as f32 + 1.0) + 52.0;
        let room = (height - 44.0 - table - 64.0).max(150.0);
        let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), room), Sense::hover());
        response.widget_info(|| {
            WidgetInfo::labeled(
                Role::Canvas,
                true,
                say!("practice-inside-inside-the-puck", told = told(&view, tint, &units)),
            )
        });
        draw(ui, area, &view, tint);
        let line = told(&view, tint, &units);
        crate::ui::widgets::small(ui, line);
        let each = ui.available_width() / HEADS.len() as f32;
        ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
        // One line of the table is one thing for a screen reader.
        let line = |ui: &mut Ui, cells: [&str; 7], said: Option<String>| {
            let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
            let (font, ink) = match said {
                Some(_) => (scale::regular(scale::SMALL), p.ink),
                None => (scale::semibold(scale::SMALL), p.soft),
            };
            for (at, cell) in cells.into_iter().enumerate() {
                let place = pos2(rect.left() + each * at as f32, rect.center().y);
                line_at(ui, place, cell, font.clone(), ink, each - scale::GAP_1);
            }
            if let Some(said) = said {
                response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &said));
            }
        };
        line(ui, HEADS.map(Name::word), None);
        for row in rows(&view, &units) {
            line(ui, row.each_ref().map(String::as_str), Some(row_told(&row)));
        }
        if let Some(wanted) = wanted {
            self.practice.cursor.cursor_s = Some(wanted.clamp(0.0, end_s));
        }
    }

    /// Plays the pull through, or pauses it.
    pub(super) fn play_or_pause(&mut self) {
        self.practice.playing = !self.practice.playing;
        let end_s = self
            .practice
            .bench
            .as_ref()
            .and_then(|bench| bench.now().pull.as_ref().ok())
            .map_or(0.0, |pull| pull.trace.end_s);
        if self.practice.playing && self.practice.cursor.cursor_s.is_none_or(|t| t >= end_s - 0.3) {
            self.practice.cursor.cursor_s = Some(0.0);
        }
    }
}

/// The bed: one column for each path, as wide as its share of the area, the water from above, speeds below.
fn draw(ui: &Ui, area: Rect, view: &InsideView, tint: Tint) {
    let p = palette(ui);
    let paint = ui.painter().with_clip_rect(area);
    let font = scale::regular(scale::TICK);
    let legend = 64.0;
    let bed = Rect::from_min_max(
        pos2(area.left(), area.top() + 6.0),
        pos2(area.right() - legend - 16.0, area.bottom() - 58.0),
    );
    paint.rect_filled(bed, CornerRadius::ZERO, p.band);
    let mut x = bed.left();
    for path in &view.paths {
        let column = Rect::from_min_max(
            pos2(x, bed.top()),
            pos2((x + bed.width() * path.area_share as f32).min(bed.right()), bed.bottom()),
        );
        x = column.right();
        let each = bed.height() / path.cells.len().max(1) as f32;
        let wet_to = bed.top() + bed.height() * path.front as f32;
        for (at, value) in path.cells.iter().enumerate() {
            let top = bed.top() + each * at as f32;
            let Some(value) = value else { continue };
            let bottom = if tint == Tint::Water { (top + each).min(wet_to.max(top)) } else { top + each };
            let cell = Rect::from_min_max(pos2(column.left(), top), pos2(column.right(), bottom + 0.5));
            paint.rect_filled(cell, CornerRadius::ZERO, cividis(value / tint.most()));
        }
        // The wetting front, so that it is seen without colour too.
        if path.front > 0.0 && path.front < 1.0 {
            paint.hline(column.x_range(), wet_to, Stroke::new(2.5, p.accent));
        }
        paint.vline(column.right(), bed.y_range(), Stroke::new(1.0, p.page));
        // How fast the water goes: an arrow as long as the speed against the mean.
        let length = 34.0 * (path.speed as f32).min(2.4) / 2.4;
        if length > 1.0 {
            let from = pos2(column.center().x, bed.bottom() + 5.0);
            let to = from + vec2(0.0, length);
            let width = (column.width() * 0.35).clamp(2.0, 9.0);
            paint.line_segment([from, to], Stroke::new(width, p.accent));
            let head = vec![to + vec2(-width, 0.0), to + vec2(width, 0.0), to + vec2(0.0, width * 1.1)];
            paint.add(Shape::convex_polygon(head, p.accent, Stroke::NONE));
        }
    }
    paint.rect(
        bed,
        CornerRadius::ZERO,
        egui::Color32::TRANSPARENT,
        Stroke::new(1.0, p.edge),
        StrokeKind::Inside,
    );
    let under = pos2(bed.left(), area.bottom() - 2.0);
    let text = word!("practice-inside-speed-of-the-water-path-by");
    paint.text(under, Align2::LEFT_BOTTOM, text, font.clone(), p.soft);
    let bar = Rect::from_min_max(pos2(bed.right() + 16.0, bed.top()), pos2(bed.right() + 34.0, bed.bottom()));
    let steps = 40;
    for step in 0..steps {
        let top = bar.bottom() - bar.height() * (step + 1) as f32 / steps as f32;
        let part =
            Rect::from_min_size(pos2(bar.left(), top), vec2(bar.width(), bar.height() / steps as f32 + 0.5));
        paint.rect_filled(part, CornerRadius::ZERO, cividis((f64::from(step) + 0.5) / f64::from(steps)));
    }
    for (y, value, align) in [
        (bar.top(), tint.most(), Align2::LEFT_TOP),
        (bar.center().y, tint.most() * 0.5, Align2::LEFT_CENTER),
        (bar.bottom(), 0.0, Align2::LEFT_BOTTOM),
    ] {
        paint.text(pos2(bar.right() + 5.0, y), align, format!("{value:.0} %"), font.clone(), p.soft);
    }
}
