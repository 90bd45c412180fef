//! Control charts on one shared axis of pulls: panels above each other, limits as lines with their values, points outside
//! them or that a rule fired on in another shape, phases as named rules over the whole height.

use eframe::egui::{
    Align2, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use crate::ui::theme::{Palette, focus_ring, palette, scale};
use crate::units::figure;

/// One panel.
#[derive(Debug, Clone, Default)]
pub struct ChartPanel {
    /// Quantity and unit, over the panel.
    pub title: String,
    /// Values; `None` leaves a gap.
    pub values: Vec<Option<f64>>,
    /// A second line, thinner (the lower sum).
    pub second: Vec<Option<f64>>,
    /// Centre at each point; empty without.
    pub centre: Vec<f64>,
    /// Lower limit at each point; empty without.
    pub lower: Vec<f64>,
    /// Upper limit at each point; empty without.
    pub upper: Vec<f64>,
    /// A band behind everything: where it should lie.
    pub band: Option<(f64, f64)>,
    /// Decimals of the values on the axis.
    pub decimals: usize,
    /// Share of the height.
    pub weight: f32,
}

/// The whole chart.
#[derive(Debug, Clone, Default)]
pub struct ControlChart {
    /// Panels, top to bottom.
    pub panels: Vec<ChartPanel>,
    /// Where phases begin and why.
    pub phases: Vec<(usize, String)>,
    /// Points on which a rule fired, in rising order.
    pub fired: Vec<usize>,
    /// Points that are not learnt from, in rising order.
    pub hollow: Vec<usize>,
    /// Words under the axis: first point, last point.
    pub ends: (String, String),
    /// What a screen reader says.
    pub summary: String,
}

const LEFT: f32 = 62.0;
const RIGHT: f32 = 66.0;
const FOOT: f32 = 24.0;
const HEAD: f32 = 22.0;

impl ControlChart {
    /// Points along the axis.
    #[must_use]
    pub fn count(&self) -> usize {
        self.panels.iter().map(|panel| panel.values.len()).max().unwrap_or(0)
    }
}

/// The part of a chart's room between its axes, over all panels.
#[must_use]
pub fn plotted(rect: Rect) -> Rect {
    Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + 2.0 * HEAD),
        pos2(rect.right() - RIGHT, rect.bottom() - FOOT),
    )
}

/// Draws the chart; gives the point under the pointer.
pub fn control_chart(ui: &mut Ui, chart: &ControlChart, size: Vec2) -> (Response, Option<usize>) {
    let p = palette(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::DRAG);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &chart.summary));
    let count = chart.count();
    if count == 0 || !ui.is_rect_visible(rect) {
        return (response, None);
    }
    let painter = ui.painter().with_clip_rect(rect);
    let inner = plotted(rect);
    let x = |i: usize| inner.left() + inner.width() * (i as f32 + 0.5) / count as f32;
    let under = response.hover_pos().filter(|at| inner.x_range().contains(at.x)).map(|at| {
        let share = (at.x - inner.left()) / inner.width();
        ((share * count as f32) as usize).min(count - 1)
    });
    let total: f32 = chart.panels.iter().map(|panel| panel.weight.max(0.1)).sum();
    let gap = HEAD;
    let room = inner.height() - gap * chart.panels.len().saturating_sub(1) as f32;
    let mut top = inner.top();
    for panel in &chart.panels {
        let height = room * panel.weight.max(0.1) / total;
        let area = Rect::from_min_size(pos2(inner.left(), top), vec2(inner.width(), height));
        top += height + gap;
        phases(&painter, p, chart, area, &x);
        draw(&painter, p, chart, panel, area, &x);
        if let Some(at) = under {
            painter.vline(x(at), area.y_range(), Stroke::new(1.0, p.accent));
        }
    }
    phase_words(&painter, p, chart, inner, rect.top(), &x);
    let at = inner.bottom() + 4.0;
    let tick = scale::regular(scale::TICK);
    painter.text(pos2(inner.left(), at), Align2::LEFT_TOP, &chart.ends.0, tick.clone(), p.soft);
    painter.text(pos2(inner.right(), at), Align2::RIGHT_TOP, &chart.ends.1, tick, p.soft);
    focus_ring(ui, &response, 2.0);
    (response, under)
}

fn phases(painter: &Painter, p: &Palette, chart: &ControlChart, area: Rect, x: &impl Fn(usize) -> f32) {
    for (start, _) in chart.phases.iter().filter(|(start, _)| *start > 0) {
        let at = (x(*start) + x(start - 1)) / 2.0;
        let line = [pos2(at, area.top()), pos2(at, area.bottom())];
        painter.extend(Shape::dashed_line(&line, Stroke::new(1.0, p.edge), 4.0, 3.0));
    }
}

/// The words of the phases, newest first, as many as fit beside each other.
fn phase_words(
    painter: &Painter,
    p: &Palette,
    chart: &ControlChart,
    inner: Rect,
    top: f32,
    x: &impl Fn(usize) -> f32,
) {
    let mut free = inner.right() + RIGHT;
    for (start, words) in chart.phases.iter().rev() {
        let galley = painter.layout_no_wrap(words.clone(), scale::regular(scale::TICK), p.soft);
        let left = x(*start).min(inner.right() + RIGHT - galley.size().x);
        if left + galley.size().x < free - 8.0 || free > inner.right() + RIGHT - 1.0 {
            free = left;
            painter.galley(pos2(left, top), galley, p.soft);
        }
    }
}

fn draw(
    painter: &Painter,
    p: &Palette,
    chart: &ControlChart,
    panel: &ChartPanel,
    area: Rect,
    x: &impl Fn(usize) -> f32,
) {
    let shown = panel.values.iter().chain(&panel.second).flatten().chain(&panel.lower).chain(&panel.upper);
    let shown = shown.chain(panel.band.iter().flat_map(|(a, b)| [a, b])).filter(|v| v.is_finite());
    let (low, high) = shown.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
    if low > high {
        return;
    }
    let pad = ((high - low) * 0.06).max(1e-6);
    let (low, high) = (low - pad, high + pad);
    let y = |v: f64| area.bottom() - area.height() * ((v - low) / (high - low)) as f32;
    if let Some((from, to)) = panel.band {
        let band = Rect::from_x_y_ranges(area.x_range(), y(to)..=y(from));
        painter.rect_filled(band, 0.0, p.band);
        for edge in [band.top(), band.bottom()] {
            painter.hline(area.x_range(), edge, Stroke::new(1.2, p.band_edge));
        }
    }
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, p.hairline), eframe::egui::StrokeKind::Inside);
    let tick = scale::regular(scale::TICK);
    // Limits belong to a phase: level over it, from edge to edge, and broken at the next.
    let half = if panel.values.len() > 1 { (x(1) - x(0)) / 2.0 } else { 0.0 };
    let line = |values: &[f64], stroke: Stroke, dash: Option<f32>| {
        let mut start = 0;
        while start < values.len() {
            let end = chart.phases.iter().map(|(at, _)| *at).find(|at| *at > start).unwrap_or(values.len());
            let part = values.iter().enumerate().take(end).skip(start);
            let mut points: Vec<Pos2> = part.map(|(i, v)| pos2(x(i), y(*v))).collect();
            if let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) {
                points.insert(0, pos2(first.x - half, first.y));
                points.push(pos2(last.x + half, last.y));
            }
            match dash {
                Some(dash) => {
                    painter.extend(Shape::dashed_line(&points, stroke, dash, dash * 0.7));
                }
                None => {
                    painter.line(points, stroke);
                }
            }
            start = end.max(start + 1);
        }
    };
    line(&panel.centre, Stroke::new(1.0, p.soft), Some(5.0));
    line(&panel.lower, Stroke::new(1.2, p.warn), None);
    line(&panel.upper, Stroke::new(1.2, p.warn), None);
    // Values at the right, the newest limits; one line of type apart at least.
    let mut taken: Vec<f32> = Vec::new();
    for value in [panel.upper.last(), panel.lower.last(), panel.centre.last()].into_iter().flatten() {
        let at = y(*value).clamp(area.top() + 7.0, area.bottom() - 7.0);
        if taken.iter().all(|t| (t - at).abs() > 14.0) {
            taken.push(at);
            let text = figure(*value, panel.decimals);
            painter.text(pos2(area.right() + 6.0, at), Align2::LEFT_CENTER, text, tick.clone(), p.soft);
        }
    }
    for value in [low + pad, high - pad] {
        let at = y(value).clamp(area.top() + 7.0, area.bottom() - 7.0);
        let text = figure(value, panel.decimals);
        painter.text(pos2(area.left() - 6.0, at), Align2::RIGHT_CENTER, text, tick.clone(), p.soft);
    }
    let title = pos2(area.left(), area.top() - 3.0);
    painter.text(title, Align2::LEFT_BOTTOM, &panel.title, scale::semibold(scale::TICK), p.soft);
    runs(painter, &panel.second, Stroke::new(1.2, p.before), x, &y);
    runs(painter, &panel.values, Stroke::new(p.line_width * 0.75, p.this_pull), x, &y);
    let outside = |i: usize, v: f64| {
        panel.upper.get(i).is_some_and(|u| v > *u) || panel.lower.get(i).is_some_and(|l| v < *l)
    };
    let diamond = |at: Pos2| {
        let corners = [vec2(0.0, -6.0), vec2(6.0, 0.0), vec2(0.0, 6.0), vec2(-6.0, 0.0)].map(|d| at + d);
        painter.add(Shape::convex_polygon(corners.to_vec(), p.bad, Stroke::new(1.0, p.page)));
    };
    for (i, value) in panel.values.iter().enumerate() {
        let Some(v) = value.filter(|v| v.is_finite()) else { continue };
        let at = pos2(x(i), y(v));
        if outside(i, v) || (chart.fired.binary_search(&i).is_ok() && !panel.centre.is_empty()) {
            diamond(at);
        } else if chart.hollow.binary_search(&i).is_ok() {
            painter.circle(at, 3.0, p.page, Stroke::new(1.3, p.rest));
        } else if panel.values.len() <= 150 {
            painter.circle_filled(at, 2.6, p.this_pull);
        }
    }
    for (i, value) in panel.second.iter().enumerate() {
        if let Some(v) = value.filter(|v| v.is_finite() && outside(i, *v)) {
            diamond(pos2(x(i), y(v)));
        }
    }
}

fn runs(
    painter: &Painter,
    values: &[Option<f64>],
    stroke: Stroke,
    x: &impl Fn(usize) -> f32,
    y: &impl Fn(f64) -> f32,
) {
    let mut run: Vec<Pos2> = Vec::new();
    for (i, value) in values.iter().enumerate() {
        match value.filter(|v| v.is_finite()) {
            Some(v) => run.push(pos2(x(i), y(v))),
            None if run.len() > 1 => {
                painter.line(std::mem::take(&mut run), stroke);
            }
            None => run.clear(),
        }
    }
    if run.len() > 1 {
        painter.line(run, stroke);
    }
}
