//! A small curve with its axes: one value against one handle, where the bench stands, and measured points.

use eframe::egui::{
    Align2, CornerRadius, Pos2, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::line_at;
use crate::ui::theme::{palette, scale};

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Curve<'a> {
    /// "Extraction, %".
    pub title: &'a str,
    /// "Grind".
    pub across_name: &'a str,
    /// The points, rising.
    pub points: &'a [(f64, f64)],
    /// Where the bench stands.
    pub here: Option<(f64, f64)>,
    /// Measured points.
    pub measured: &'a [(f64, f64)],
    /// Where the measured points are from, or that there are none.
    pub source: &'a str,
    /// Range of the handle.
    pub across: (f64, f64),
    /// Range of the value.
    pub range: (f64, f64),
    /// Decimals of the value axis.
    pub decimals: usize,
    /// What the curve says, for screen readers.
    pub says: &'a str,
}

impl Curve<'_> {
    /// Draws it.
    pub fn show(self, ui: &mut Ui, width: f32, height: f32) -> Response {
        let p = palette(ui);
        let (area, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let said = say!(
            "widgets-curve-against",
            title = self.title,
            across_name = self.across_name,
            says = self.says,
            source = self.source
        );
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &said));
        let frame = Rect::from_min_max(area.min + vec2(48.0, 44.0), area.max - vec2(10.0, 22.0));
        let font = scale::regular(scale::TICK);
        let head = pos2(area.left(), area.top() + 12.0);
        line_at(ui, head, self.title, scale::semibold(scale::SMALL), p.ink, area.width());
        ui.painter().rect(
            frame,
            CornerRadius::ZERO,
            p.raised,
            Stroke::new(1.0, p.hairline),
            StrokeKind::Inside,
        );
        let (left, right) = self.across;
        let (low, high) = self.range;
        let place = |(x, y): (f64, f64)| -> Pos2 {
            let across = (x - left) / (right - left).max(1e-9);
            let up = (y - low) / (high - low).max(1e-9);
            pos2(frame.left() + frame.width() * across as f32, frame.bottom() - frame.height() * up as f32)
        };
        for part in [0.0, 0.5, 1.0] {
            let value = low + part * (high - low);
            let y = place((left, value)).y;
            ui.painter().hline(frame.x_range(), y, Stroke::new(1.0, p.hairline));
            let y = y.clamp(frame.top() + 6.0, frame.bottom() - 6.0);
            let text = format!("{value:.*}", self.decimals);
            ui.painter().text(pos2(frame.left() - 5.0, y), Align2::RIGHT_CENTER, text, font.clone(), p.soft);
            let value = left + part * (right - left);
            let align = match part {
                0.0 => Align2::LEFT_TOP,
                1.0 => Align2::RIGHT_TOP,
                _ => Align2::CENTER_TOP,
            };
            let decimals = usize::from((value - value.round()).abs() > 0.05);
            let at = pos2(place((value, low)).x, frame.bottom() + 3.0);
            ui.painter().text(at, align, format!("{value:.decimals$}"), font.clone(), p.soft);
        }
        let paint = ui.painter().with_clip_rect(frame.expand(4.0));
        if let Some(here) = self.here {
            let at = place(here);
            paint.vline(at.x, frame.y_range(), Stroke::new(1.5, p.accent));
            paint.circle(at, 5.5, p.raised, Stroke::new(2.0, p.accent));
        }
        let line: Vec<Pos2> = self.points.iter().copied().map(place).collect();
        if line.len() > 1 {
            paint.line(line, Stroke::new(p.line_width + 0.5, p.this_pull));
        }
        for point in self.measured {
            let at = place(*point);
            let square = Rect::from_center_size(at, vec2(9.0, 9.0));
            paint.rect(square, CornerRadius::ZERO, p.raised, Stroke::new(2.0, p.keeper), StrokeKind::Inside);
        }
        // Under the title, where it hides no point; whatever is too long ends in dots and is whole in the list below.
        let ink = if self.measured.is_empty() { p.soft } else { p.keeper };
        line_at(ui, pos2(area.left(), area.top() + 32.0), self.source, font, ink, area.width());
        response
    }
}
