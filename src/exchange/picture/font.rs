//! Letters as outlines, from the typeface that the window uses.

use ttf_parser::{Face, GlyphId, OutlineBuilder, Tag};

const PLEX: &[u8] = include_bytes!("../../../assets/fonts/IBMPlexSans-variable.ttf");

/// Takes the pieces of outlines, in points, y downwards.
pub(super) trait Pen {
    fn move_to(&mut self, x: f64, y: f64);
    fn line_to(&mut self, x: f64, y: f64);
    fn curve_to(&mut self, a: [f64; 2], b: [f64; 2], to: [f64; 2]);
    fn close(&mut self);
}

fn face(bold: bool) -> Option<Face<'static>> {
    let mut face = Face::parse(PLEX, 0).ok()?;
    face.set_variation(Tag::from_bytes(b"wght"), if bold { 600.0 } else { 400.0 });
    Some(face)
}

fn glyph(face: &Face<'_>, letter: char) -> GlyphId {
    face.glyph_index(letter).unwrap_or(GlyphId(0))
}

fn advance(face: &Face<'_>, letter: char, size: f64) -> f64 {
    let units = f64::from(face.units_per_em().max(1));
    f64::from(face.glyph_hor_advance(glyph(face, letter)).unwrap_or(0)) / units * size
}

/// Width of a text, points; 0 when the typeface cannot be read.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    face(bold).map_or(0.0, |face| text.chars().map(|letter| advance(&face, letter, size)).sum())
}

struct Placed<'a> {
    pen: &'a mut dyn Pen,
    x: f64,
    y: f64,
    scale: f64,
    at: [f64; 2],
}

impl Placed<'_> {
    fn place(&self, x: f32, y: f32) -> [f64; 2] {
        [self.x + f64::from(x) * self.scale, self.y - f64::from(y) * self.scale]
    }
}

impl OutlineBuilder for Placed<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = self.place(x, y);
        self.pen.move_to(self.at[0], self.at[1]);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.at = self.place(x, y);
        self.pen.line_to(self.at[0], self.at[1]);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (c, to) = (self.place(x1, y1), self.place(x, y));
        let toward =
            |from: [f64; 2]| [from[0] + 2.0 / 3.0 * (c[0] - from[0]), from[1] + 2.0 / 3.0 * (c[1] - from[1])];
        let (a, b) = (toward(self.at), toward(to));
        self.at = to;
        self.pen.curve_to(a, b, to);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (a, b, to) = (self.place(x1, y1), self.place(x2, y2), self.place(x, y));
        self.at = to;
        self.pen.curve_to(a, b, to);
    }

    fn close(&mut self) {
        self.pen.close();
    }
}

/// Hands the outlines of a text to a pen, the first letter's base line starting at a place.
pub(super) fn outline(text: &str, [x, y]: [f64; 2], size: f64, bold: bool, pen: &mut dyn Pen) {
    let Some(face) = face(bold) else { return };
    let scale = size / f64::from(face.units_per_em().max(1));
    let mut x = x;
    for letter in text.chars() {
        let mut placed = Placed { pen, x, y, scale, at: [x, y] };
        // A blank has no outline.
        let _bounds = face.outline_glyph(glyph(&face, letter), &mut placed);
        x += advance(&face, letter, size);
    }
}
