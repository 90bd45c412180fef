//! Strips: one stacked plot per quantity on a shared time axis. Colour, dash and end label tell which pull; the strip
//! tells which quantity. One cursor reads all strips, by pointer or by the left and right keys.

use eframe::egui::{
    Align2, EventFilter, Id, Key, Modifiers, Pos2, Rect, Response, Role, Sense, Stroke, Ui, Vec2b,
    WidgetInfo, pos2, vec2,
};
use egui_plot::{AxisHints, FilledArea, GridMark, Line, LineStyle, Plot, PlotBounds, PlotPoint, PlotPoints};

use super::crowd::{Crowd, Making};
use crate::ui::theme::{Palette, focus_ring, palette, scale};
use crate::units::{figure, shortest};

/// How a line is emphasised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stroke3 {
    /// The pull looked at: solid, heaviest.
    This,
    /// The one before: dashed.
    Before,
    /// The keeper, or the one to compare with: dotted.
    Keeper,
    /// Any other: thin, grey.
    Rest,
}

impl Stroke3 {
    /// Colour of the line.
    #[must_use]
    pub fn colour(self, p: &Palette) -> eframe::egui::Color32 {
        match self {
            Self::This => p.this_pull,
            Self::Before => p.before,
            Self::Keeper => p.keeper,
            Self::Rest => p.rest,
        }
    }

    /// Draws a short sample of the line, for a legend.
    pub fn sample(self, ui: &Ui, rect: Rect) {
        let p = palette(ui);
        let stroke = Stroke::new(self.width(p), self.colour(p));
        let (from, to) = (rect.left_center(), rect.right_center());
        let dash = |on: f32, off: f32| {
            let shapes = eframe::egui::Shape::dashed_line(&[from, to], stroke, on, off);
            ui.painter().extend(shapes);
        };
        match self {
            Self::This | Self::Rest => {
                ui.painter().line_segment([from, to], stroke);
            }
            Self::Before => dash(8.0, 5.0),
            Self::Keeper => dash(2.5, 3.5),
        }
    }

    fn width(self, p: &Palette) -> f32 {
        match self {
            Self::This => p.line_width + 0.5,
            Self::Before | Self::Keeper => p.line_width,
            // A little below a pixel: such lines take the fewest triangles.
            Self::Rest => 0.9,
        }
    }

    fn style(self) -> LineStyle {
        match self {
            Self::This | Self::Rest => LineStyle::Solid,
            Self::Before => LineStyle::Dashed { length: 8.0 },
            Self::Keeper => LineStyle::Dotted { spacing: 5.0 },
        }
    }
}

/// One pull's line in one strip. `runs` are stretches without a gap; every value is finite.
#[derive(Debug, Clone)]
pub struct StripLine {
    /// Name of the pull, for screen readers.
    pub name: String,
    /// Written at the end of the line; empty for none.
    pub end: String,
    /// Emphasis.
    pub stroke: Stroke3,
    /// Seconds against value in the unit shown.
    pub runs: Vec<Vec<PlotPoint>>,
}

/// A band drawn behind the lines.
#[derive(Debug, Clone, Default)]
pub struct StripBand {
    /// Name written in the band.
    pub name: String,
    /// Seconds.
    pub time_s: Vec<f64>,
    /// Lower edge.
    pub low: Vec<f64>,
    /// Upper edge.
    pub high: Vec<f64>,
}

/// One strip.
#[derive(Debug, Clone)]
pub struct Strip {
    /// "Pressure".
    pub name: String,
    /// Unit shown.
    pub unit: String,
    /// Fixed range of the value axis.
    pub range: (f64, f64),
    /// Bands behind the lines.
    pub bands: Vec<StripBand>,
    /// The lines, the least important first. Whoever changes them gives a new `making`.
    pub lines: Vec<StripLine>,
    /// Which making of lines this is.
    pub making: Making,
}

/// Where the strips are looked at; kept by the screen.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StripCursor {
    /// Part of time shown, seconds; `None` shows all.
    pub shown: Option<(f64, f64)>,
    /// Cursor, seconds.
    pub cursor_s: Option<f64>,
}

impl StripCursor {
    /// Zooms about the middle (or the cursor) by a factor; below 1 shows more.
    pub fn zoom(&mut self, by: f64, all: (f64, f64)) {
        let (from, to) = self.shown.unwrap_or(all);
        let about = self.cursor_s.filter(|t| (from..=to).contains(t)).unwrap_or((from + to) / 2.0);
        let (from, to) = (about + (from - about) / by, about + (to - about) / by);
        self.shown = (to - from > 0.5 && (to - from) < (all.1 - all.0)).then_some((from, to));
        if to - from <= 0.5 {
            self.shown = Some((about - 0.25, about + 0.25));
        }
    }

    /// Moves the shown part by a share of its width.
    pub fn pan(&mut self, share: f64, all: (f64, f64)) {
        if let Some((from, to)) = self.shown {
            let by = ((to - from) * share).clamp(all.0 - from, (all.1 - to).max(all.0 - from));
            self.shown = Some((from + by, to + by));
        }
    }
}

/// One sentence that says what the strips show, for screen readers and for the list beside them.
#[must_use]
pub fn summary(strips: &[Strip]) -> String {
    let mut parts = Vec::new();
    for strip in strips {
        let mut peaks = Vec::new();
        for line in strip.lines.iter().filter(|line| line.stroke != Stroke3::Rest) {
            let peak = line.runs.iter().flatten().map(|point| point.y).fold(f64::NEG_INFINITY, f64::max);
            if peak.is_finite() {
                peaks.push(say!("widgets-strips-up-to", name = line.name, peak = figure(peak, 1)));
            }
        }
        let count = strip.lines.len();
        parts.push(say!(
            "widgets-strips-in",
            name = strip.name,
            unit = strip.unit,
            count = count,
            part = if peaks.is_empty() { "" } else { ": " },
            join = peaks.join(", ")
        ));
    }
    parts.join(". ")
}

/// More other pulls than this are drawn as one.
const CROWD: usize = 12;
const AXIS: f32 = 44.0;
const FOOT: f32 = 24.0;
/// Height of a figure of the value axis with its line, points.
const FIGURE: f64 = 18.5;

/// Draws the strips into `height` points. `all` is the whole span of time; `titles` writes each strip's name into it
/// (a caller that names them beside it needs none, and keeps the lines free).
pub fn strips(
    ui: &mut Ui,
    id: Id,
    strips: &[Strip],
    all: (f64, f64),
    view: &mut StripCursor,
    height: f32,
    titles: bool,
) -> Response {
    let p = palette(ui);
    let width = ui.available_width();
    let (area, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let response = ui.interact(area, id, Sense::click_and_drag());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Canvas, true, say!("widgets-strips-strips", summary = summary(strips)))
    });
    if strips.is_empty() {
        return response;
    }
    let (from, to) = view.shown.unwrap_or(all);
    keys(ui, &response, view, all);
    let each = (area.height() - FOOT) / strips.len() as f32;
    let mut frames: Vec<Rect> = Vec::with_capacity(strips.len());
    for (at, strip) in strips.iter().enumerate() {
        let last = at + 1 == strips.len();
        let slot = Rect::from_min_size(
            pos2(area.left(), area.top() + each * at as f32),
            vec2(width, each + if last { FOOT } else { -6.0 }),
        );
        let mut child =
            ui.new_child(eframe::egui::UiBuilder::new().max_rect(slot).id_salt(id.with(("strip", at))));
        frames.push(one(&mut child, id.with(at), strip, (from, to), last, p));
    }
    for (frame, strip) in frames.iter().zip(strips) {
        end_labels(ui, *frame, strip, (from, to), p);
        if !titles {
            continue;
        }
        let text = format!("{}  {}", strip.name, strip.unit);
        let galley = ui.painter().layout_no_wrap(text, scale::semibold(scale::TICK), p.ink);
        let at = frame.left_top() + vec2(6.0, 2.0);
        let back = Rect::from_min_size(at, galley.size()).expand2(vec2(3.0, 0.0));
        ui.painter().rect_filled(back, 2.0, p.page.gamma_multiply(0.8));
        ui.painter().galley(at, galley, p.ink);
    }
    pointer(ui, &response, &frames, view, (from, to), all);
    if let Some(t) = view.cursor_s.filter(|t| (from..=to).contains(t)) {
        for frame in &frames {
            let x = frame.left() + frame.width() * ((t - from) / (to - from)) as f32;
            ui.painter().vline(x, frame.y_range(), Stroke::new(1.5, p.accent));
        }
    }
    focus_ring(ui, &response, 4.0);
    response
}

fn one(ui: &mut Ui, id: Id, strip: &Strip, (from, to): (f64, f64), last: bool, p: &'static Palette) -> Rect {
    let (low, high) = strip.range;
    let room = ui.available_height() - if last { FOOT } else { 0.0 };
    let ticks = AxisHints::new_y()
        .min_thickness(AXIS)
        .tick_label_font(scale::regular(scale::TICK))
        .tick_label_color(p.soft)
        .label_spacing(4.0..=12.0)
        .formatter(|mark, _| shortest(mark.value, 1));
    // The first moment stands below the axis where the lowest figure stands before it: never both in one place.
    let lowest = marks(low, high, room).first().map_or(f64::INFINITY, |mark| mark.value);
    let crowded = (lowest - low) / (high - low) * f64::from(room) < 12.0;
    let first_s = from + (to - from) * f64::from(16.0 / (ui.available_width() - AXIS).max(1.0));
    let times = AxisHints::new_x()
        .tick_label_font(scale::regular(scale::TICK))
        .tick_label_color(p.soft)
        // A label is there in full or not at all: one that fades cannot be read.
        .label_spacing(44.0..=44.0)
        .formatter(move |mark, _| {
            if crowded && mark.value < first_s {
                return String::new();
            }
            format!("{} s", shortest(mark.value, 1))
        });
    let plot = Plot::new(id)
        .height(ui.available_height())
        .width(ui.available_width())
        .show_axes(Vec2b::new(last, true))
        .custom_y_axes(vec![ticks])
        .y_grid_spacer(move |_| marks(low, high, room))
        .grid_spacing(4.0..=60.0)
        .custom_x_axes(vec![times])
        .allow_zoom(false)
        .allow_drag(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .allow_axis_zoom_drag(false)
        .show_crosshair(false)
        .show_background(true)
        .grid_color(p.hairline)
        .label_formatter(|_| None)
        .set_margin_fraction(vec2(0.0, 0.0))
        .sense(Sense::hover())
        .show_x(false)
        .show_y(false);
    let shown = plot.show(ui, |plot| {
        plot.set_plot_bounds(PlotBounds::from_min_max([from, low], [to, high]));
        for (at, band) in strip.bands.iter().enumerate() {
            let fill = if at == 0 { p.band } else { p.selected.gamma_multiply(0.8) };
            plot.add(
                FilledArea::new(band.name.clone(), &band.time_s, &band.low, &band.high)
                    .fill_color(fill)
                    .stroke(Stroke::new(1.2, p.band_edge))
                    .allow_hover(false),
            );
        }
        let of_crowd = |line: &&StripLine| line.stroke == Stroke3::Rest;
        let crowd = strip.lines.iter().filter(of_crowd).count() > CROWD;
        if crowd {
            let runs = strip.lines.iter().filter(of_crowd).flat_map(|line| &line.runs);
            let look = (Stroke3::Rest.colour(p), Stroke3::Rest.width(p));
            plot.add(Crowd::new(id.with("crowd"), strip.making, runs.map(Vec::as_slice).collect(), look));
        }
        for (at, line) in strip.lines.iter().enumerate().filter(|(_, line)| !(crowd && of_crowd(line))) {
            for (part, run) in line.runs.iter().enumerate() {
                plot.line(
                    Line::new(line.name.clone(), PlotPoints::Borrowed(run))
                        .id((at, part))
                        .color(line.stroke.colour(p))
                        .width(line.stroke.width(p))
                        .style(line.stroke.style())
                        .allow_hover(false),
                );
            }
        }
    });
    shown.response.rect
}

/// Marks of a value axis: round steps, as many as there is room for at 26 points each, two at least.
fn marks(low: f64, high: f64, room: f32) -> Vec<GridMark> {
    if low.partial_cmp(&high) != Some(std::cmp::Ordering::Less) {
        return Vec::new();
    }
    // The topmost mark would touch the strip above.
    let top = high - (high - low) * 0.1;
    let on = |step: f64| ((low / step).ceil() as i64, (top / step).floor() as i64);
    let most = f64::from((room / 26.0).floor().max(1.0));
    let rough = (high - low) / most;
    let decade = 10f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|n| n * decade);
    let wanted = steps.into_iter().find(|step| *step >= rough * 0.999).unwrap_or(decade * 10.0);
    let tall = |value: f64| value / (high - low) * f64::from(room) >= FIGURE;
    // One figure is no scale: two at least, far enough apart to be read.
    let two = |step: &f64| tall((on(*step).1 - on(*step).0) as f64 * step);
    let finer = steps.into_iter().rev().chain([0.5 * decade, 0.2 * decade]).filter(|step| *step < wanted);
    let step = std::iter::once(wanted).chain(finer).find(two).unwrap_or(wanted);
    let (first, last) = on(step);
    // Where not all of them can be read, the lowest and the highest.
    let by = if tall(step) { 1 } else { (last - first).max(1) };
    (first..=last.min(first + 100 * by))
        .step_by(by as usize)
        .map(|n| GridMark { value: n as f64 * step, step_size: by as f64 * step })
        .collect()
}

fn end_labels(ui: &Ui, frame: Rect, strip: &Strip, (from, to): (f64, f64), p: &Palette) {
    const PITCH: f32 = 14.0;
    const BROAD: f32 = 20.0;
    let (low, high) = strip.range;
    let mut labels: Vec<(Pos2, &StripLine)> = Vec::new();
    for line in strip.lines.iter().rev().filter(|line| !line.end.is_empty()) {
        let Some(end) = line.runs.iter().flatten().rfind(|point| (from..=to).contains(&point.x)) else {
            continue;
        };
        let x = frame.left() + frame.width() * ((end.x - from) / (to - from)) as f32 + 5.0;
        let y = frame.bottom() - frame.height() * ((end.y - low) / (high - low)).clamp(0.0, 1.0) as f32;
        labels.push((Pos2::new(x.min(frame.right() - 18.0), y), line));
    }
    // Spread labels that would lie on each other, then keep the lot inside the strip.
    labels.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    for at in 0..labels.len() {
        let (above, rest) = labels.split_at_mut(at);
        let Some(((place, _), below)) = rest.split_first_mut() else { break };
        let beside = |other: &&(Pos2, &StripLine)| (other.0.x - place.x).abs() < BROAD;
        let lowest = above.iter().filter(beside).map(|(other, _)| other.y + PITCH).reduce(f32::max);
        let next = lowest.unwrap_or(frame.top() + PITCH / 2.0);
        let last = frame.bottom() - PITCH * (below.iter().filter(beside).count() as f32 + 0.5);
        place.y = place.y.min(last).max(next);
    }
    for (place, line) in labels {
        let font = scale::semibold(scale::TICK);
        let galley = ui.painter().layout_no_wrap(line.end.clone(), font, line.stroke.colour(p));
        let at = Align2::LEFT_CENTER.anchor_size(place, galley.size());
        ui.painter().rect_filled(at.expand2(vec2(2.0, -1.0)), 2.0, p.page.gamma_multiply(0.8));
        ui.painter().galley(at.min, galley, p.ink);
    }
}

fn keys(ui: &Ui, response: &Response, view: &mut StripCursor, all: (f64, f64)) {
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let (left, right, closer, wider, whole) = ui.input_mut(|input| {
        (
            input.count_and_consume_key(Modifiers::NONE, Key::ArrowLeft) as f64,
            input.count_and_consume_key(Modifiers::NONE, Key::ArrowRight) as f64,
            input.consume_key(Modifiers::NONE, Key::PageUp),
            input.consume_key(Modifiers::NONE, Key::PageDown),
            input.consume_key(Modifiers::NONE, Key::Home),
        )
    });
    if left != 0.0 || right != 0.0 {
        let t = view.cursor_s.unwrap_or(all.0) + 0.5 * (right - left);
        view.cursor_s = Some(t.clamp(all.0, all.1));
    }
    if closer {
        view.zoom(1.5, all);
    }
    if wider {
        view.zoom(1.0 / 1.5, all);
    }
    if whole {
        view.shown = None;
    }
}

fn pointer(
    ui: &Ui,
    response: &Response,
    frames: &[Rect],
    view: &mut StripCursor,
    (from, to): (f64, f64),
    all: (f64, f64),
) {
    let Some(frame) = frames.first() else { return };
    let moved =
        ui.input(|input| input.pointer.delta() != eframe::egui::Vec2::ZERO || input.pointer.any_down());
    if let Some(at) = ui.input(|input| input.pointer.hover_pos())
        && moved
        && ui.rect_contains_pointer(response.rect)
        && frame.x_range().contains(at.x)
    {
        view.cursor_s = Some(from + f64::from((at.x - frame.left()) / frame.width()) * (to - from));
    }
    if response.dragged() && view.shown.is_some() {
        view.pan(f64::from(-response.drag_delta().x / frame.width()), all);
    }
    if ui.rect_contains_pointer(response.rect) {
        let zoom = ui.input(|input| input.zoom_delta());
        if (zoom - 1.0).abs() > 1e-3 {
            view.zoom(f64::from(zoom), all);
        }
    }
}

#[cfg(test)]
mod scale_of_values {
    use super::marks;

    /// The lowest strips of the bench are some 40 points high; a figure with its line is 18 high.
    #[test]
    fn even_a_low_strip_has_a_scale() {
        for room in [32.0, 40.0, 46.0, 60.0, 120.0, 300.0] {
            for (low, high) in
                [(0.0, 12.0), (0.0, 4.3), (0.0, 40.0), (0.0, 9.99), (0.0, 1.0), (20.0, 101.0), (88.0, 96.5)]
            {
                let list = marks(low, high, room);
                assert!(list.len() >= 2, "{low}–{high} in {room}: {list:?}");
                let apart = (list[1].value - list[0].value) / (high - low) * f64::from(room);
                assert!(apart >= 18.0, "{low}–{high} in {room}: {apart} points apart");
                assert!(list.iter().all(|mark| (low..=high).contains(&mark.value)));
            }
        }
        assert!(marks(1.0, 1.0, 40.0).is_empty() && marks(f64::NAN, 1.0, 40.0).is_empty());
    }
}

#[cfg(test)]
mod sight {
    use super::{LineStyle, Stroke3};
    use crate::ui::theme::colour::{DARK, LIGHT, PROJECTOR, sight};

    /// Every pair of lines stays apart without red and without green, or differs in its dash; the three that stand out do
    /// both. Twenty units of CIE L*a*b* are far beyond what is told apart side by side (about 2; common practice).
    #[test]
    fn lines_stay_apart_without_red_and_without_green() {
        let all = [Stroke3::This, Stroke3::Before, Stroke3::Keeper, Stroke3::Rest];
        for (theme, p) in [("light", &LIGHT), ("dark", &DARK), ("projector", &PROJECTOR)] {
            for (name, kind) in sight::KINDS {
                for (at, a) in all.iter().enumerate() {
                    for b in all.iter().skip(at + 1) {
                        let apart = sight::apart(&kind, a.colour(p), b.colour(p));
                        let same_dash = a.style() == b.style();
                        assert!(apart >= 20.0 || !same_dash, "{theme}, {name}: {a:?} and {b:?}: {apart:.1}");
                        if *b != Stroke3::Rest {
                            assert!(apart >= 20.0 && !same_dash, "{theme}, {name}: {a:?}, {b:?}: {apart:.1}");
                        }
                    }
                }
                // The map's two ends, and what is drawn on them.
                assert!(
                    sight::apart(&kind, p.map_low, p.map_high) >= 15.0,
                    "{theme}, {name}: the map's ends"
                );
                for fill in [p.map_low, p.map_high] {
                    assert!(sight::apart(&kind, p.accent, fill) >= 20.0, "{theme}, {name}: the cross");
                }
            }
        }
        assert!(Stroke3::This.style() == LineStyle::Solid);
    }
}
