//! From a figure to shapes.

use super::{Drawing, Figure, Hold, Mark, Panel, Rgb, Shape};
use crate::units;

const INK: Rgb = [0x21, 0x1D, 0x17];
const SOFT: Rgb = [0x5C, 0x54, 0x46];
const HAIR: Rgb = [0xDD, 0xD5, 0xC5];
const BAND: Rgb = [0xE9, 0xE1, 0xCF];
const SECOND_BAND: Rgb = [0xD5, 0xE4, 0xEE];
const PAPER: Rgb = [0xFF, 0xFF, 0xFF];

const LEFT: f64 = 54.0;
const RIGHT: f64 = 78.0;
const FOOT: f64 = 44.0;

impl Mark {
    fn colour(self) -> Rgb {
        match self {
            Self::Rest => [0x8F, 0x87, 0x75],
            Self::Median => [0x00, 0x72, 0xB2],
            Self::Picked => [0xD5, 0x5E, 0x00],
            Self::This => [0x11, 0x11, 0x11],
        }
    }

    fn width(self) -> f64 {
        match self {
            Self::Rest => 0.7,
            Self::Median | Self::Picked => 1.6,
            Self::This => 2.0,
        }
    }

    fn dash(self) -> Option<[f64; 2]> {
        match self {
            Self::Rest | Self::This => None,
            Self::Median => Some([7.0, 4.0]),
            Self::Picked => Some([1.8, 2.6]),
        }
    }
}

/// Lays a figure out on a page of `width` × `height` points (at least 240 × 160).
#[must_use]
pub fn draw(figure: &Figure, width: f64, height: f64) -> Drawing {
    let (width, height) = (clean(width).clamp(240.0, 4000.0), clean(height).clamp(160.0, 4000.0));
    let mut shapes = Vec::new();
    let mut top = 14.0;
    if !figure.title.is_empty() {
        top += 14.0;
        shapes.push(text([LEFT, top], Hold::Left, 14.0, true, INK, &figure.title));
        top += 8.0;
    }
    top = legend(&mut shapes, figure, top, width);
    let panels = figure.panels.len().max(1) as f64;
    let each = ((height - top - FOOT) / panels).max(20.0);
    let (from, to) = figure.span_s;
    let (from, to) = if to > from { (from, to) } else { (0.0, 1.0) };
    let x_of = |t: f64| LEFT + (width - LEFT - RIGHT) * (t - from) / (to - from);
    let times = ticks(from, to, (width - LEFT - RIGHT) / 60.0);
    for (at, panel) in figure.panels.iter().enumerate() {
        let frame = (top + each * at as f64 + 4.0, top + each * (at as f64 + 1.0) - 6.0);
        for t in &times {
            shapes.push(line(vec![[x_of(*t), frame.0], [x_of(*t), frame.1]], HAIR, 0.5));
        }
        one(&mut shapes, panel, frame, (from, to), width, &x_of);
    }
    let base = top + each * panels;
    for t in &times {
        let label = number(*t, &times);
        shapes.push(text([x_of(*t), base + 10.0], Hold::Middle, 9.0, false, SOFT, &label));
    }
    shapes.push(text([width - RIGHT, base + 24.0], Hold::Right, 9.0, false, SOFT, &figure.time_axis));
    Drawing { width, height, title: figure.title.clone(), paper: PAPER, shapes }
}

fn clean(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

fn legend(shapes: &mut Vec<Shape>, figure: &Figure, top: f64, width: f64) -> f64 {
    let mut bands: Vec<&str> = Vec::new();
    for band in figure.panels.iter().flat_map(|panel| &panel.bands) {
        if !bands.contains(&band.name.as_str()) {
            bands.push(&band.name);
        }
    }
    if figure.legend.is_empty() && bands.is_empty() {
        return top;
    }
    let (mut x, mut y) = (LEFT, top + 10.0);
    let place = |name: &str, x: &mut f64, y: &mut f64| {
        let room = 32.0 + super::font::width(name, 9.0, false) + 16.0;
        if *x + room > width - 10.0 && *x > LEFT {
            (*x, *y) = (LEFT, *y + 14.0);
        }
        let at = [*x, *y];
        *x += room;
        at
    };
    for (mark, name) in &figure.legend {
        let at = place(name, &mut x, &mut y);
        shapes.push(Shape::Line {
            points: vec![[at[0], at[1] - 3.0], [at[0] + 26.0, at[1] - 3.0]],
            colour: mark.colour(),
            width: mark.width(),
            dash: mark.dash(),
        });
        shapes.push(text([at[0] + 32.0, at[1]], Hold::Left, 9.0, false, INK, name));
    }
    for (n, name) in bands.iter().enumerate() {
        let at = place(name, &mut x, &mut y);
        let (left, right) = (at[0], at[0] + 26.0);
        shapes.push(Shape::Area {
            points: vec![
                [left, at[1] - 7.0],
                [right, at[1] - 7.0],
                [right, at[1] + 1.0],
                [left, at[1] + 1.0],
            ],
            colour: if n == 0 { BAND } else { SECOND_BAND },
        });
        shapes.push(text([at[0] + 32.0, at[1]], Hold::Left, 9.0, false, INK, name));
    }
    y + 8.0
}

fn one(
    shapes: &mut Vec<Shape>,
    panel: &Panel,
    (top, bottom): (f64, f64),
    (from, to): (f64, f64),
    width: f64,
    x_of: &dyn Fn(f64) -> f64,
) {
    let (low, high) = panel.range;
    let (low, high) =
        if high > low && low.is_finite() && high.is_finite() { (low, high) } else { (0.0, 1.0) };
    let y_of = |v: f64| bottom - (bottom - top) * (v.clamp(low, high) - low) / (high - low);
    let inside = |t: f64| t >= from && t <= to;
    for (n, band) in panel.bands.iter().enumerate() {
        let edges: Vec<&[f64; 3]> = band.edges.iter().filter(|edge| inside(edge[0])).collect();
        let lower = edges.iter().map(|[t, l, _]| [x_of(*t), y_of(*l)]);
        let upper = edges.iter().rev().map(|[t, _, h]| [x_of(*t), y_of(*h)]);
        let colour = if n == 0 { BAND } else { SECOND_BAND };
        shapes.push(Shape::Area { points: lower.chain(upper).collect(), colour });
    }
    let marks = ticks(low, high, (bottom - top) / 22.0);
    for v in &marks {
        shapes.push(line(vec![[LEFT, y_of(*v)], [width - RIGHT, y_of(*v)]], HAIR, 0.5));
        let label = number(*v, &marks);
        shapes.push(text([LEFT - 6.0, y_of(*v) + 3.0], Hold::Right, 9.0, false, SOFT, &label));
    }
    shapes.push(line(vec![[LEFT, top], [LEFT, bottom]], SOFT, 0.8));
    shapes.push(line(vec![[LEFT, bottom], [width - RIGHT, bottom]], SOFT, 0.8));
    let mut ends: Vec<(f64, f64, &str, Rgb)> = Vec::new();
    for curve in &panel.curves {
        let mut last = None;
        for run in &curve.runs {
            let points: Vec<[f64; 2]> = run
                .iter()
                .filter(|p| inside(p[0]) && p[1].is_finite())
                .map(|[t, v]| [x_of(*t), y_of(*v)])
                .collect();
            last = points.last().copied().or(last);
            if points.len() > 1 {
                let (colour, width, dash) = (curve.mark.colour(), curve.mark.width(), curve.mark.dash());
                shapes.push(Shape::Line { points, colour, width, dash });
            }
        }
        if let (Some([x, y]), false) = (last, curve.label.is_empty()) {
            ends.push((x, y, &curve.label, curve.mark.colour()));
        }
    }
    for (x, y, label, colour) in spread(ends, (top + 4.0, bottom - 3.0)) {
        shapes.push(text([x + 5.0, y + 3.0], Hold::Left, 9.0, true, colour, label));
    }
    let name = say!("exchange-picture-axis", name = panel.name, unit = panel.unit);
    shapes.push(text([LEFT + 5.0, top + 9.0], Hold::Left, 9.5, true, INK, &name));
}

type End<'a> = (f64, f64, &'a str, Rgb);

/// Moves labels of lines that end beside each other apart, within the panel.
fn spread(mut ends: Vec<End<'_>>, (top, bottom): (f64, f64)) -> Vec<End<'_>> {
    const PITCH: f64 = 10.0;
    const BESIDE: f64 = 50.0;
    ends.sort_by(|a, b| a.1.total_cmp(&b.1));
    let push = |ends: &mut Vec<End<'_>>, down: bool| {
        let order: Vec<usize> =
            if down { (0..ends.len()).collect() } else { (0..ends.len()).rev().collect() };
        let mut placed: Vec<(f64, f64)> = Vec::new();
        for at in order {
            let Some(end) = ends.get_mut(at) else { continue };
            let beside = placed.iter().filter(|(x, _)| (x - end.0).abs() < BESIDE).map(|(_, y)| *y);
            end.1 = if down {
                beside.fold(top, |y, other| y.max(other + PITCH)).max(end.1)
            } else {
                beside.fold(bottom, |y, other| y.min(other - PITCH)).min(end.1)
            };
            placed.push((end.0, end.1));
        }
    };
    push(&mut ends, true);
    push(&mut ends, false);
    ends
}

/// Round marks between two values, about `most` of them.
fn ticks(low: f64, high: f64, most: f64) -> Vec<f64> {
    let rough = (high - low) / most.max(1.0);
    if !(rough > 0.0 && rough.is_finite()) {
        return Vec::new();
    }
    let decade = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|n| n * decade).find(|step| *step >= rough * 0.999);
    let step = step.unwrap_or(10.0 * decade);
    let first = (low / step - 1e-9).ceil();
    (0..200).map(|n| (first + f64::from(n)) * step).take_while(|v| *v <= high + step * 1e-9).collect()
}

/// A mark's number with the decimals that its neighbours need.
fn number(value: f64, marks: &[f64]) -> String {
    let whole = marks.iter().all(|v| (v - v.round()).abs() < 1e-9);
    units::figure(value, usize::from(!whole))
}

fn line(points: Vec<[f64; 2]>, colour: Rgb, width: f64) -> Shape {
    Shape::Line { points, colour, width, dash: None }
}

fn text(at: [f64; 2], hold: Hold, size: f64, bold: bool, colour: Rgb, words: &str) -> Shape {
    let words: String = words.chars().filter(|c| !c.is_control()).take(200).collect();
    Shape::Text { at, hold, size, bold, colour, text: words }
}
