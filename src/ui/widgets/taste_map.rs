//! The taste map drawn: fill and lines of equal liking with their figures, hatching where it is not known, the pulls in
//! order, the next pull, the best, and a cross that arrow keys, clicks and drags move in the gear's own steps.

use eframe::egui::{
    Align2, Color32, CornerRadius, EventFilter, Id, Key, Mesh, Modifiers, Pos2, Rect, Response, Role, Sense,
    Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use crate::domain::{Gear, Lever, Recipe};
use crate::ui::theme::{Palette, focus_ring, palette, scale};
use crate::units::{Quantity, UnitPreferences};
use crate::workbench::view::lever_word;
use crate::workbench::view::page::setting;
use crate::workbench::view::taste_map::{MapView, UNKNOWN_SD};

const LEFT: f32 = 58.0;
/// Room for half of the last figure on the right.
const RIGHT: f32 = 20.0;
const FOOT: f32 = 46.0;

/// What the map asks for: the recipe looked at, if it was moved.
pub struct MapOutcome {
    /// The map as a control.
    pub response: Response,
    /// The recipe now looked at.
    pub moved: Option<Recipe>,
}

/// How the map is shown.
#[derive(Debug, Clone, Copy)]
pub struct MapLook {
    /// Height, points.
    pub height: f32,
    /// The best and the next pull are hidden.
    pub covered: bool,
}

/// Draws the map; `at` is the recipe looked at.
pub fn taste_map(
    ui: &mut Ui,
    id: Id,
    view: &MapView,
    gear: &Gear,
    units: &UnitPreferences,
    at: &Recipe,
    MapLook { height, covered }: MapLook,
) -> MapOutcome {
    let p = palette(ui);
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let response = ui.interact(area, id, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, view.summary(gear, units, covered)));
    let frame = Rect::from_min_max(
        pos2(area.left() + LEFT, area.top() + 6.0),
        pos2(area.right() - RIGHT, area.bottom() - FOOT),
    );
    let ranges = view.ranges();
    let spot = |[x, y]: [f64; 2]| -> Pos2 {
        let share = |(from, to): (f64, f64), v: f64| ((v - from) / (to - from)) as f32;
        pos2(
            frame.left() + frame.width() * share(ranges[0], x),
            frame.bottom() - frame.height() * share(ranges[1], y),
        )
    };
    let painter = ui.painter().with_clip_rect(frame);
    fill(&painter, view, &spot, p);
    hatch(&painter, view, &spot, p);
    let mut labels = Vec::new();
    for contour in &view.contours {
        let whole = contour.level.fract() == 0.0;
        let stroke = Stroke::new(if whole { 1.8 } else { 1.0 }, p.soft);
        let mut best: Option<(f32, Pos2)> = None;
        for [a, b] in &contour.pieces {
            let (a, b) = (spot(*a), spot(*b));
            painter.line_segment([a, b], stroke);
            let middle = a + (b - a) * 0.5;
            // On the falling diagonal, where lines of a hill are met one after the other.
            let (u, v) =
                ((middle.x - frame.left()) / frame.width(), (middle.y - frame.top()) / frame.height());
            let off = (u - v).abs()
                + if (0.06..0.94).contains(&u) && (0.06..0.94).contains(&v) { 0.0 } else { 1.0 };
            if best.is_none_or(|(least, _)| off < least) {
                best = Some((off, middle));
            }
        }
        if let (Some((_, middle)), true) = (best, whole || view.contours.len() < 6) {
            labels.push((middle, units.number(contour.level, usize::from(!whole))));
        }
    }
    for (middle, text) in labels {
        plate(&painter, p, middle, Align2::CENTER_CENTER, &text, false);
    }
    path(&painter, view, &spot, p);
    if !covered {
        marks(&painter, view, &spot, p);
    }
    let ends = (!covered).then_some((view.best, view.next));
    let moved = steer(ui, &response, view, gear, at, frame, ends);
    let here = view.place(moved.as_ref().unwrap_or(at)).map(&spot);
    if let Some(here) = here {
        let here = here.clamp(frame.min, frame.max);
        painter.vline(here.x, frame.y_range(), Stroke::new(1.5, p.accent));
        painter.hline(frame.x_range(), here.y, Stroke::new(1.5, p.accent));
    }
    ui.painter().rect_stroke(frame, CornerRadius::ZERO, Stroke::new(1.0, p.edge), StrokeKind::Outside);
    axes(ui, view, gear, units, frame, &spot);
    focus_ring(ui, &response, 4.0);
    MapOutcome { response, moved }
}

type Spot<'a> = &'a dyn Fn([f64; 2]) -> Pos2;

fn fill(painter: &eframe::egui::Painter, view: &MapView, spot: Spot<'_>, p: &Palette) {
    let (low, high) = view.span();
    let mix = |share: f64| -> Color32 {
        let one = |a: u8, b: u8| (f64::from(a) + share * (f64::from(b) - f64::from(a))).round() as u8;
        let (a, b) = (p.map_low, p.map_high);
        Color32::from_rgb(one(a.r(), b.r()), one(a.g(), b.g()), one(a.b(), b.b()))
    };
    let (xs, ys) = (&view.map.across_values, &view.map.up_values);
    let mut mesh = Mesh::default();
    let mut means = view.map.mean.iter();
    for y in ys {
        for x in xs {
            let mean = means.next().copied().unwrap_or(low);
            mesh.colored_vertex(spot([*x, *y]), mix(((mean - low) / (high - low).max(0.3)).clamp(0.0, 1.0)));
        }
    }
    let width = xs.len() as u32;
    for row in 0..(ys.len() as u32).saturating_sub(1) {
        for column in 0..width.saturating_sub(1) {
            let a = row * width + column;
            mesh.add_triangle(a, a + 1, a + width);
            mesh.add_triangle(a + 1, a + width, a + width + 1);
        }
    }
    painter.add(Shape::mesh(mesh));
}

/// One stroke through each cell that is not known, a cross where it is known even less.
fn hatch(painter: &eframe::egui::Painter, view: &MapView, spot: Spot<'_>, p: &Palette) {
    let width = view.map.across_values.len();
    let stroke = Stroke::new(0.8, p.soft);
    for (row, ups) in view.map.up_values.windows(2).enumerate() {
        for (column, across) in view.map.across_values.windows(2).enumerate() {
            let ([x0, x1], [y0, y1]) = (across, ups) else { continue };
            let sd = |r: usize, c: usize| view.map.sd.get((row + r) * width + column + c).copied();
            let corners = [sd(0, 0), sd(0, 1), sd(1, 0), sd(1, 1)];
            let mean = corners.iter().flatten().sum::<f64>() / 4.0;
            if mean >= UNKNOWN_SD {
                painter.line_segment([spot([*x0, *y0]), spot([*x1, *y1])], stroke);
            }
            if mean >= 1.5 * UNKNOWN_SD {
                painter.line_segment([spot([*x0, *y1]), spot([*x1, *y0])], stroke);
            }
        }
    }
}

/// The pulls in order: a cased line, and a disc with the numbers of the pulls at each place.
fn path(painter: &eframe::egui::Painter, view: &MapView, spot: Spot<'_>, p: &Palette) {
    let stops: Vec<(Pos2, usize)> =
        view.path.iter().filter_map(|point| Some((spot(view.place(&point.recipe)?), point.number))).collect();
    let points: Vec<Pos2> = stops.iter().map(|(at, _)| *at).collect();
    painter.line(points.clone(), Stroke::new(5.0, p.page));
    painter.line(points, Stroke::new(2.0, p.ink));
    let mut places: Vec<(Pos2, Vec<usize>)> = Vec::new();
    for (at, number) in stops {
        match places.iter_mut().find(|(other, _)| other.distance(at) < 9.0) {
            Some((_, numbers)) => numbers.push(number),
            None => places.push((at, vec![number])),
        }
    }
    for (at, numbers) in places {
        let text = match numbers.as_slice() {
            [first, .., last] if numbers.len() > 2 => format!("{first}…{last}"),
            all => all.iter().map(usize::to_string).collect::<Vec<_>>().join(" "),
        };
        plate(painter, p, at, Align2::CENTER_CENTER, &text, true);
    }
}

/// The next pull as a ring, the best as a filled diamond; both with their word.
fn marks(painter: &eframe::egui::Painter, view: &MapView, spot: Spot<'_>, p: &Palette) {
    let clip = painter.clip_rect();
    let beside = |at: Pos2, dy: f32, text: &str| {
        let right = at.x + 70.0 < clip.right();
        let place = at + vec2(if right { 15.0 } else { -15.0 }, dy);
        plate(painter, p, place, if right { Align2::LEFT_CENTER } else { Align2::RIGHT_CENTER }, text, false);
    };
    let (best, next) = (view.place(&view.best).map(spot), view.place(&view.next).map(spot));
    let same = matches!((best, next), (Some(a), Some(b)) if a.distance(b) < 70.0);
    if let Some(at) = best {
        let corners = [vec2(0.0, -9.0), vec2(9.0, 0.0), vec2(0.0, 9.0), vec2(-9.0, 0.0)].map(|by| at + by);
        painter.add(Shape::convex_polygon(corners.to_vec(), p.ink, Stroke::new(2.0, p.page)));
        beside(at, if same { -22.0 } else { 0.0 }, word!("widgets-taste-map-best"));
    }
    if let Some(at) = next {
        painter.circle_stroke(at, 12.0, Stroke::new(5.0, p.page));
        painter.circle_stroke(at, 12.0, Stroke::new(2.5, p.accent));
        beside(at, if same { 22.0 } else { 0.0 }, word!("widgets-taste-map-next"));
    }
}

/// A word on a ground of its own.
fn plate(painter: &eframe::egui::Painter, p: &Palette, at: Pos2, hold: Align2, text: &str, ring: bool) {
    let galley = painter.layout_no_wrap(text.to_owned(), scale::semibold(scale::TICK), p.ink);
    let rect = hold.anchor_size(at, galley.size());
    let back = if ring {
        Rect::from_center_size(rect.center(), vec2((rect.width() + 12.0).max(24.0), 24.0))
    } else {
        rect.expand2(vec2(4.0, 0.0))
    };
    let edge = if ring { Stroke::new(1.8, p.ink) } else { Stroke::NONE };
    painter.rect(back, CornerRadius::same(if ring { 12 } else { 3 }), p.page, edge, StrokeKind::Inside);
    painter.galley(rect.min, galley, p.ink);
}

/// Moves the recipe looked at: arrow keys one step of the gear (with Shift five), Home and End to the two `ends`, a click or
/// a drag to the nearest setting.
fn steer(
    ui: &Ui,
    response: &Response,
    view: &MapView,
    gear: &Gear,
    at: &Recipe,
    frame: Rect,
    ends: Option<(Recipe, Recipe)>,
) -> Option<Recipe> {
    let (across, up) = view.levers();
    let ranges = view.ranges();
    let mut recipe = *at;
    if response.is_pointer_button_down_on()
        && let Some(pointer) = response.interact_pointer_pos()
    {
        response.request_focus();
        let share = |v: f32| f64::from(v.clamp(0.0, 1.0));
        let x = share((pointer.x - frame.left()) / frame.width());
        let y = share((frame.bottom() - pointer.y) / frame.height());
        let value = |(from, to): (f64, f64), share: f64| from + share * (to - from);
        recipe = recipe.with(across, value(ranges[0], x)).with(up, value(ranges[1], y));
    }
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        for (modifiers, times) in [(Modifiers::SHIFT, 5.0), (Modifiers::NONE, 1.0)] {
            for (lever, more, less) in
                [(across, Key::ArrowRight, Key::ArrowLeft), (up, Key::ArrowUp, Key::ArrowDown)]
            {
                let by = ui.input_mut(|input| {
                    input.count_and_consume_key(modifiers, more) as f64
                        - input.count_and_consume_key(modifiers, less) as f64
                });
                if let (Some(scale), Some(now), true) = (gear.scale(lever), recipe.get(lever), by != 0.0) {
                    let (from, to) = if lever == across { ranges[0] } else { ranges[1] };
                    recipe = recipe.with(lever, (now + by * times * scale.step()).clamp(from, to));
                }
            }
        }
        if let Some((first, last)) = ends {
            let (home, end) = ui.input_mut(|input| {
                (input.consume_key(Modifiers::NONE, Key::Home), input.consume_key(Modifiers::NONE, Key::End))
            });
            if home {
                recipe = first;
            }
            if end {
                recipe = last;
            }
        }
    }
    let recipe = gear.snap(&recipe);
    (recipe != *at).then_some(recipe)
}

fn axes(ui: &Ui, view: &MapView, gear: &Gear, units: &UnitPreferences, frame: Rect, spot: Spot<'_>) {
    let p = palette(ui);
    let painter = ui.painter();
    let (across, up) = view.levers();
    let figure = |lever: Lever, value: f64| match lever {
        Lever::Grind => setting(gear, value, units),
        Lever::Dose => {
            units.number(units.convert(Quantity::Dose, value).0, units.convert(Quantity::Dose, value).2)
        }
        Lever::Yield => units.number(units.convert(Quantity::Yield, value).0, 0),
        Lever::Temperature => units.number(units.convert(Quantity::Temperature, value).0, 0),
    };
    let unit = |lever: Lever| match lever {
        Lever::Grind => String::new(),
        Lever::Dose => format!(", {}", units.convert(Quantity::Dose, 0.0).1),
        Lever::Yield => format!(", {}", units.convert(Quantity::Yield, 0.0).1),
        Lever::Temperature => format!(", {}", units.convert(Quantity::Temperature, 0.0).1),
    };
    let (xs, ys) = (&view.map.across_values, &view.map.up_values);
    let every = |count: usize, room: f32, pitch: f32| ((count as f32 * pitch / room).ceil() as usize).max(1);
    let font = scale::regular(scale::TICK);
    for x in xs.iter().step_by(every(xs.len(), frame.width(), 52.0)) {
        let at = spot([*x, view.ranges()[1].0]);
        painter.vline(at.x, frame.bottom()..=frame.bottom() + 4.0, Stroke::new(1.0, p.edge));
        painter.text(at + vec2(0.0, 6.0), Align2::CENTER_TOP, figure(across, *x), font.clone(), p.soft);
    }
    for y in ys.iter().step_by(every(ys.len(), frame.height(), 30.0)) {
        let at = spot([view.ranges()[0].0, *y]);
        painter.hline(frame.left() - 4.0..=frame.left(), at.y, Stroke::new(1.0, p.edge));
        painter.text(at - vec2(7.0, 0.0), Align2::RIGHT_CENTER, figure(up, *y), font.clone(), p.soft);
    }
    let name = |lever: Lever| format!("{}{}", lever_word(lever), unit(lever));
    let bold = scale::semibold(scale::TICK);
    let foot = pos2(frame.right(), frame.bottom() + 24.0);
    painter.text(foot, Align2::RIGHT_TOP, format!("{} →", name(across)), bold.clone(), p.ink);
    let foot = pos2(frame.left() - LEFT + 4.0, frame.bottom() + 24.0);
    painter.text(foot, Align2::LEFT_TOP, format!("↑ {}", name(up)), bold, p.ink);
}
