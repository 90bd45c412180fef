//! Small pictures in a ledger row: the shape of a trace, the taste at a glance.

use eframe::egui::{Painter, Pos2, Rect, Stroke, pos2, vec2};

use crate::ui::theme::Palette;

/// Draws a sparkline through points of the unit square; those that are not finite leave a gap.
pub fn sparkline(painter: &Painter, rect: Rect, points: &[(f32, f32)], stroke: Stroke) {
    let mut run: Vec<Pos2> = Vec::with_capacity(points.len());
    for &(x, y) in points {
        if x.is_finite() && y.is_finite() {
            run.push(pos2(rect.left() + rect.width() * x, rect.bottom() - rect.height() * y));
        } else if run.len() > 1 {
            painter.line(std::mem::take(&mut run), stroke);
        } else {
            run.clear();
        }
    }
    if run.len() > 1 {
        painter.line(run, stroke);
    }
}

/// Draws six marks as six small columns about a middle line: up is too much, down is too little, a dot is just
/// right, nothing is no mark. Order as in the entry: sour, bitter, strength, body, astringent, sweet.
pub fn taste_glyph(painter: &Painter, rect: Rect, marks: &[Option<i8>; 6], palette: &Palette) {
    let middle = rect.center().y;
    painter.hline(rect.x_range(), middle, Stroke::new(1.0, palette.edge));
    let pitch = rect.width() / 6.0;
    for (at, mark) in marks.iter().enumerate() {
        let x = rect.left() + pitch * (at as f32 + 0.5);
        match mark {
            None => {}
            Some(0) => {
                painter.circle_filled(pos2(x, middle), 2.5, palette.good);
            }
            Some(mark) => {
                let half = rect.height() / 2.0 * f32::from(*mark).abs() / 2.0;
                let top = if *mark > 0 { middle - half } else { middle };
                let bar = Rect::from_min_size(pos2(x - pitch * 0.32, top), vec2(pitch * 0.64, half));
                painter.rect_filled(bar, 1.0, palette.keeper);
            }
        }
    }
}
