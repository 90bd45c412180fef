//! Strips as a picture for a page or a slide: one drawing, written as SVG ([`svg`]), PDF ([`pdf`]) or PNG ([`png()`]).
//!
//! A [`Figure`] says what is shown; [`draw`] lays it out as plain shapes; the writers only put shapes down, so that all
//! three kinds of file show the same.

mod card;
mod font;
mod layout;
mod pdf;
mod png;
mod svg;

use std::fmt;
use std::path::Path;

pub use self::png::png;
pub use card::{Card, CardFigure, CardPart, draw_card};
pub use layout::draw;
pub use pdf::pdf;
pub use svg::svg;

/// How a line stands out. Colours are Okabe and Ito's colour-universal set (2002), with a dash of its own for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mark {
    /// Any other pull: thin, grey.
    Rest,
    /// The median of a group: dashed, blue.
    Median,
    /// The picked one: dotted, vermilion.
    Picked,
    /// The one looked at: solid, black.
    This,
}

/// One line of a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Written at its end; empty for none.
    pub label: String,
    /// How it stands out.
    pub mark: Mark,
    /// Stretches of (seconds, value), finite and rising in time.
    pub runs: Vec<Vec<[f64; 2]>>,
}

/// A filled band: (seconds, low, high).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ribbon {
    /// What it is, for the legend.
    pub name: String,
    /// Its edges, finite, rising in time.
    pub edges: Vec<[f64; 3]>,
}

/// One quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// "Pressure".
    pub name: String,
    /// "bar".
    pub unit: String,
    /// Range of the value axis.
    pub range: (f64, f64),
    /// Bands behind the lines.
    pub bands: Vec<Ribbon>,
    /// The lines, the least important first.
    pub curves: Vec<Curve>,
}

/// What a picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Over the picture.
    pub title: String,
    /// Under the time axis: what zero is.
    pub time_axis: String,
    /// Part of time shown, seconds.
    pub span_s: (f64, f64),
    /// The panels from the top.
    pub panels: Vec<Panel>,
    /// Names of the lines that stand out.
    pub legend: Vec<(Mark, String)>,
}

/// A colour, red, green and blue.
pub type Rgb = [u8; 3];

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// At its left end.
    Left,
    /// At its middle.
    Middle,
    /// At its right end.
    Right,
}

/// One shape; lengths in points, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A filled polygon.
    Area {
        /// Its corners.
        points: Vec<[f64; 2]>,
        /// Fill.
        colour: Rgb,
    },
    /// An open line.
    Line {
        /// Its points.
        points: Vec<[f64; 2]>,
        /// Stroke.
        colour: Rgb,
        /// Width.
        width: f64,
        /// Lengths on and off; `None` is solid.
        dash: Option<[f64; 2]>,
    },
    /// A text on its base line.
    Text {
        /// Where it is held.
        at: [f64; 2],
        /// At which end.
        hold: Hold,
        /// Size of the type.
        size: f64,
        /// Weight 600 in place of 400.
        bold: bool,
        /// Colour.
        colour: Rgb,
        /// The words.
        text: String,
    },
}

/// Shapes on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width, points.
    pub width: f64,
    /// Height, points.
    pub height: f64,
    /// Title, for the file's own data.
    pub title: String,
    /// Paper.
    pub paper: Rgb,
    /// From the back to the front.
    pub shapes: Vec<Shape>,
}

/// Kinds of picture files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Pixels, at two a point.
    Png,
    /// Scalable vector graphics.
    Svg,
    /// A page of its own.
    Pdf,
}

impl Kind {
    /// The kind that a file's name asks for.
    #[must_use]
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "png" => Some(Self::Png),
            "svg" => Some(Self::Svg),
            "pdf" => Some(Self::Pdf),
            _ => None,
        }
    }
}

/// Why no picture was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureFault(pub String);

impl fmt::Display for PictureFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for PictureFault {}

/// The bytes of a drawing as a file of a kind.
///
/// # Errors
/// [`PictureFault`] when the picture is too large for pixels.
pub fn write(drawing: &Drawing, kind: Kind) -> Result<Vec<u8>, PictureFault> {
    match kind {
        Kind::Svg => Ok(svg(drawing).into_bytes()),
        Kind::Pdf => Ok(pdf(drawing)),
        Kind::Png => png(drawing, 2.0),
    }
}

/// Width of a text as the writers set it, points; 0 when the typeface cannot be read.
#[must_use]
pub fn text_width(text: &str, size: f64, bold: bool) -> f64 {
    font::width(text, size, bold)
}

#[cfg(test)]
mod tests;
