//! Scalable vector graphics (W3C, SVG 1.1): texts stay texts, so that they can be searched and edited.

use std::fmt::Write as _;

use super::{Drawing, Hold, Rgb, Shape};

fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A text for a document; characters that XML 1.0 forbids (production 2) are left out.
fn escaped(text: &str) -> String {
    let allowed = |c: &char| matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..);
    let text: String = text.chars().filter(allowed).collect();
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn points(points: &[[f64; 2]]) -> String {
    let mut out = String::with_capacity(points.len() * 12);
    for (at, [x, y]) in points.iter().enumerate() {
        if at > 0 {
            out.push(' ');
        }
        // Writing to a string cannot fail.
        let _written = write!(out, "{x:.2},{y:.2}");
    }
    out
}

/// A drawing as SVG.
#[must_use]
pub fn svg(drawing: &Drawing) -> String {
    let (w, h) = (drawing.width, drawing.height);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}pt\" height=\"{h}pt\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"'IBM Plex Sans', 'Noto Sans', Arial, sans-serif\">\n<title>{}</title>\n\
         <rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n",
        escaped(&drawing.title),
        hex(drawing.paper)
    );
    for shape in &drawing.shapes {
        let line = match shape {
            Shape::Area { points: corners, colour } => {
                format!("<polygon points=\"{}\" fill=\"{}\"/>", points(corners), hex(*colour))
            }
            Shape::Line { points: line, colour, width, dash } => {
                let dash =
                    dash.map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{on} {off}\""));
                format!(
                    "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\" \
                     stroke-linejoin=\"round\"{dash}/>",
                    points(line),
                    hex(*colour)
                )
            }
            Shape::Text { at: [x, y], hold, size, bold, colour, text } => {
                let anchor = match hold {
                    Hold::Left => "start",
                    Hold::Middle => "middle",
                    Hold::Right => "end",
                };
                let weight = if *bold { " font-weight=\"600\"" } else { "" };
                format!(
                    "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\" font-size=\"{size}\"{weight} \
                     fill=\"{}\">{}</text>",
                    hex(*colour),
                    escaped(text)
                )
            }
        };
        out.push_str(&line);
        out.push('\n');
    }
    out.push_str("</svg>\n");
    out
}
