//! Small pictures in a ledger row: the shape of a trace, the taste at a glance.

use eframe::egui::{Painter, Pos2, Rect, Stroke, pos2, vec2};

use crate::ui::theme::Palette;

/// A trace's shape for a sparkline: values between 0 and 1 at equal distances; NaN is a gap.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spark(pub Vec<f32>);

/// Draws a sparkline; values that are not finite leave a gap.
pub fn sparkline(painter: &Painter, rect: Rect, spark: &Spark, stroke: Stroke) {
    let last = spark.0.len().saturating_sub(1).max(1) as f32;
    let mut run: Vec<Pos2> = Vec::with_capacity(spark.0.len());
    for (at, value) in spark.0.iter().enumerate() {
        if value.is_finite() {
            let x = rect.left() + rect.width() * at as f32 / last;
            run.push(pos2(x, rect.bottom() - rect.height() * value.clamp(0.0, 1.0)));
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
