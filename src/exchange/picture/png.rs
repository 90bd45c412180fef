//! Pixels.

use tiny_skia::{
    FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};

use super::font::{self, Pen};
use super::{Drawing, Hold, PictureFault, Rgb, Shape};

struct Outline(PathBuilder);

impl Pen for Outline {
    fn move_to(&mut self, x: f64, y: f64) {
        self.0.move_to(x as f32, y as f32);
    }
    fn line_to(&mut self, x: f64, y: f64) {
        self.0.line_to(x as f32, y as f32);
    }
    fn curve_to(&mut self, a: [f64; 2], b: [f64; 2], to: [f64; 2]) {
        let [[ax, ay], [bx, by], [x, y]] = [a, b, to].map(|p| p.map(|v| v as f32));
        self.0.cubic_to(ax, ay, bx, by, x, y);
    }
    fn close(&mut self) {
        self.0.close();
    }
}

fn path(points: &[[f64; 2]], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (at, [x, y]) in points.iter().map(|p| p.map(|v| v as f32)).enumerate() {
        if at == 0 {
            builder.move_to(x, y);
        } else {
            builder.line_to(x, y);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

fn paint([r, g, b]: Rgb) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(r, g, b, 255);
    paint
}

/// A drawing as PNG, with so many pixels a point.
///
/// # Errors
/// [`PictureFault`] when so many pixels cannot be held.
pub fn png(drawing: &Drawing, scale: f64) -> Result<Vec<u8>, PictureFault> {
    let side = |points: f64| (points * scale).ceil().clamp(1.0, 12_000.0) as u32;
    let (width, height) = (side(drawing.width), side(drawing.height));
    let mut map = Pixmap::new(width, height).ok_or_else(|| {
        PictureFault(say!("exchange-picture-too-many-pixels", width = width, height = height))
    })?;
    let [r, g, b] = drawing.paper;
    map.fill(tiny_skia::Color::from_rgba8(r, g, b, 255));
    let to_pixels = Transform::from_scale(scale as f32, scale as f32);
    for shape in &drawing.shapes {
        match shape {
            Shape::Area { points, colour } => {
                if let Some(path) = path(points, true) {
                    map.fill_path(&path, &paint(*colour), FillRule::Winding, to_pixels, None);
                }
            }
            Shape::Line { points, colour, width, dash } => {
                let stroke = Stroke {
                    width: *width as f32,
                    line_cap: LineCap::Butt,
                    line_join: LineJoin::Round,
                    dash: dash.and_then(|d| StrokeDash::new(d.map(|v| v as f32).to_vec(), 0.0)),
                    ..Stroke::default()
                };
                if let Some(path) = path(points, false) {
                    map.stroke_path(&path, &paint(*colour), &stroke, to_pixels, None);
                }
            }
            Shape::Text { at, hold, size, bold, colour, text } => {
                let mut outline = Outline(PathBuilder::new());
                font::outline(text, held(*at, *hold, text, *size, *bold), *size, *bold, &mut outline);
                if let Some(path) = outline.0.finish() {
                    map.fill_path(&path, &paint(*colour), FillRule::Winding, to_pixels, None);
                }
            }
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let written = encoder.write_header().and_then(|mut writer| writer.write_image_data(map.data()));
    written.map_err(|why| PictureFault(why.to_string()))?;
    Ok(bytes)
}

/// Where a text's left end lies.
pub(super) fn held(at: [f64; 2], hold: Hold, text: &str, size: f64, bold: bool) -> [f64; 2] {
    let width = font::width(text, size, bold);
    let left = match hold {
        Hold::Left => at[0],
        Hold::Middle => at[0] - width / 2.0,
        Hold::Right => at[0] - width,
    };
    [left, at[1]]
}
