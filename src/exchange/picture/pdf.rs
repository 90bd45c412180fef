//! A page of its own (ISO 32000). Letters are outlines, so that no typeface needs to travel along.

use pdf_writer::types::LineJoinStyle;
use pdf_writer::{Content, Finish as _, Pdf, Rect, Ref, TextStr};

use super::font::{self, Pen};
use super::png::held;
use super::{Drawing, Rgb, Shape};

struct Outline<'a> {
    content: &'a mut Content,
    height: f64,
}

impl Outline<'_> {
    fn at(&self, x: f64, y: f64) -> (f32, f32) {
        (x as f32, (self.height - y) as f32)
    }
}

impl Pen for Outline<'_> {
    fn move_to(&mut self, x: f64, y: f64) {
        let (x, y) = self.at(x, y);
        self.content.move_to(x, y);
    }
    fn line_to(&mut self, x: f64, y: f64) {
        let (x, y) = self.at(x, y);
        self.content.line_to(x, y);
    }
    fn curve_to(&mut self, a: [f64; 2], b: [f64; 2], to: [f64; 2]) {
        let ((ax, ay), (bx, by), (x, y)) = (self.at(a[0], a[1]), self.at(b[0], b[1]), self.at(to[0], to[1]));
        self.content.cubic_to(ax, ay, bx, by, x, y);
    }
    fn close(&mut self) {
        self.content.close_path();
    }
}

fn parts(colour: Rgb) -> [f32; 3] {
    colour.map(|part| f32::from(part) / 255.0)
}

/// A drawing as a PDF of one page of its size.
#[must_use]
pub fn pdf(drawing: &Drawing) -> Vec<u8> {
    let (catalog, tree, page, content_id, about) =
        (Ref::new(1), Ref::new(2), Ref::new(3), Ref::new(4), Ref::new(5));
    let mut content = Content::new();
    let height = drawing.height;
    let fill = |content: &mut Content, colour: Rgb| {
        let [r, g, b] = parts(colour);
        content.set_fill_rgb(r, g, b);
    };
    fill(&mut content, drawing.paper);
    content.rect(0.0, 0.0, drawing.width as f32, height as f32).fill_nonzero();
    content.set_line_join(LineJoinStyle::RoundJoin);
    for shape in &drawing.shapes {
        match shape {
            Shape::Area { points, colour } if points.len() > 2 => {
                fill(&mut content, *colour);
                trace(&mut content, points, height);
                content.close_path();
                content.fill_nonzero();
            }
            Shape::Area { .. } => {}
            Shape::Line { points, colour, width, dash } => {
                let [r, g, b] = parts(*colour);
                content.set_stroke_rgb(r, g, b);
                content.set_line_width(*width as f32);
                content.set_dash_pattern(dash.map(|d| d.map(|v| v as f32)).into_iter().flatten(), 0.0);
                trace(&mut content, points, height);
                content.stroke();
            }
            Shape::Text { at, hold, size, bold, colour, text } => {
                fill(&mut content, *colour);
                let from = held(*at, *hold, text, *size, *bold);
                let mut outline = Outline { content: &mut content, height };
                font::outline(text, from, *size, *bold, &mut outline);
                content.fill_nonzero();
            }
        }
    }
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree);
    pdf.pages(tree).kids([page]).count(1);
    let mut one = pdf.page(page);
    one.media_box(Rect::new(0.0, 0.0, drawing.width as f32, height as f32));
    one.parent(tree).contents(content_id);
    one.resources();
    one.finish();
    pdf.stream(content_id, &content.finish());
    pdf.document_info(about).title(TextStr(&drawing.title));
    pdf.finish()
}

fn trace(content: &mut Content, points: &[[f64; 2]], height: f64) {
    for (at, [x, y]) in points.iter().enumerate() {
        let (x, y) = (*x as f32, (height - y) as f32);
        if at == 0 {
            content.move_to(x, y);
        } else {
            content.line_to(x, y);
        }
    }
}
