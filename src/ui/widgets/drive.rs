//! A line over time that is drawn by hand: points to be dragged, or moved by the arrow keys once they have the focus.

use eframe::egui::{
    Align2, CornerRadius, CursorIcon, EventFilter, Id, Key, Modifiers, Pos2, Rect, Role, Sense, Shape,
    Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use crate::ui::theme::{focus_ring, palette, scale};
use crate::units::figure;

/// What was done to the line in this frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DriveEdit {
    /// A point goes to a time (s) and a value.
    Move(usize, f64, f64),
    /// A point is wanted behind this one.
    AddAfter(usize),
    /// A point goes.
    Remove(usize),
}

/// The line and its axes.
#[derive(Debug, Clone, Copy)]
pub struct DriveEditor<'a> {
    /// Name of the quantity, for screen readers.
    pub name: &'a str,
    /// Unit shown.
    pub unit: &'a str,
    /// The points, `(time_s, value)` in the unit shown; the line holds its last value.
    pub points: &'a [(f64, f64)],
    /// Whether the points can be moved.
    pub held: bool,
    /// Range of the value axis.
    pub range: (f64, f64),
    /// Steps of the arrow keys: seconds, value.
    pub steps: (f64, f64),
    /// Last second shown.
    pub last_s: f64,
    /// Where the strips are looked at, seconds.
    pub cursor_s: Option<f64>,
    /// Decimals of a value.
    pub decimals: usize,
}

const AXIS: f32 = 44.0;
const FOOT: f32 = 22.0;

impl DriveEditor<'_> {
    fn place(&self, frame: Rect, (t, v): (f64, f64)) -> Pos2 {
        let (low, high) = self.range;
        let x = frame.left() + frame.width() * (t / self.last_s) as f32;
        let y = frame.bottom() - frame.height() * ((v - low) / (high - low)).clamp(0.0, 1.0) as f32;
        pos2(x.min(frame.right()), y)
    }

    fn axes(&self, ui: &Ui, frame: Rect) {
        let p = palette(ui);
        ui.painter().rect(
            frame,
            CornerRadius::ZERO,
            p.raised,
            Stroke::new(1.0, p.hairline),
            StrokeKind::Inside,
        );
        let (low, high) = self.range;
        let font = scale::regular(scale::TICK);
        for part in [0.0, 0.5, 1.0] {
            let value = low + (high - low) * part;
            let y = self.place(frame, (0.0, value)).y;
            ui.painter().hline(frame.x_range(), y, Stroke::new(1.0, p.hairline));
            let text = figure(value, 0);
            let y = y.clamp(frame.top() + 7.0, frame.bottom() - 7.0);
            ui.painter().text(pos2(frame.left() - 6.0, y), Align2::RIGHT_CENTER, text, font.clone(), p.soft);
        }
        // As many marks as have room for "120 s" beside each other.
        let room_s = 56.0 * self.last_s / f64::from(frame.width()).max(1.0);
        let step_s = [10.0, 20.0, 30.0, 60.0].into_iter().find(|step| *step >= room_s).unwrap_or(120.0);
        let mut t = 0.0;
        while t <= self.last_s {
            let x = self.place(frame, (t, low)).x;
            let at = pos2(x.clamp(frame.left() + 10.0, frame.right() - 16.0), frame.bottom() + 4.0);
            ui.painter().text(at, Align2::CENTER_TOP, format!("{t:.0} s"), font.clone(), p.soft);
            t += step_s;
        }
        if let Some(t) = self.cursor_s.filter(|t| (0.0..=self.last_s).contains(t)) {
            let x = self.place(frame, (t, low)).x;
            ui.painter().vline(x, frame.y_range(), Stroke::new(1.5, p.accent));
        }
    }

    /// Draws it into `height` points; `chosen` is the point that buttons and fields beside it mean.
    pub fn show(mut self, ui: &mut Ui, id: Id, height: f32, chosen: &mut Option<usize>) -> Option<DriveEdit> {
        let p = palette(ui);
        // While a point is dragged the axis of time stands still, whatever the pull does meanwhile.
        let axis = id.with("axis");
        if let Some(last_s) = ui.data(|data| data.get_temp::<f64>(axis)) {
            self.last_s = last_s;
        }
        let mut dragging = false;
        let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        let frame = Rect::from_min_max(
            pos2(area.left() + AXIS, area.top() + 4.0),
            pos2(area.right() - 2.0, area.bottom() - FOOT),
        );
        let canvas = ui.interact(frame, id, Sense::hover());
        let said = |point: &(f64, f64)| {
            format!("{} s {} {}", figure(point.0, 1), figure(point.1, self.decimals), self.unit)
        };
        canvas.widget_info(|| {
            let list: Vec<String> = self.points.iter().take(16).map(said).collect();
            let line = if list.is_empty() {
                word!("widgets-drive-nothing-limits-it").to_owned()
            } else {
                list.join(", ")
            };
            WidgetInfo::labeled(
                Role::Canvas,
                true,
                say!("widgets-drive-over-time", name = self.name, line = line),
            )
        });
        self.axes(ui, frame);
        let mut line: Vec<Pos2> = self.points.iter().map(|point| self.place(frame, *point)).collect();
        if let Some(last) = self.points.last() {
            line.push(self.place(frame, (self.last_s, last.1)));
        }
        let stroke = Stroke::new(p.line_width, if self.held { p.accent } else { p.rest });
        if line.len() > 1 {
            if self.held {
                ui.painter().line(line, stroke);
            } else {
                ui.painter().extend(Shape::dashed_line(&line, stroke, 8.0, 5.0));
            }
        }
        if !self.held {
            ui.data_mut(|data| data.remove::<f64>(axis));
            return None;
        }
        let mut edit = None;
        for (at, point) in self.points.iter().enumerate() {
            let centre = self.place(frame, *point);
            let hit = Rect::from_center_size(centre, Vec2::splat(36.0));
            let response = ui.interact(hit, id.with(("point", at)), Sense::click_and_drag());
            let label = say!(
                "widgets-drive-point-of",
                name = self.name,
                at = at + 1,
                points = self.points.len(),
                said = said(point)
            );
            response.widget_info(|| WidgetInfo::labeled(Role::Slider, true, &label));
            if response.clicked() || response.drag_started() {
                response.request_focus();
            }
            if response.has_focus() {
                *chosen = Some(at);
            }
            if response.dragged()
                && let Some(pointer) = response.interact_pointer_pos()
            {
                let (low, high) = self.range;
                let t = f64::from((pointer.x - frame.left()) / frame.width()) * self.last_s;
                let v = low + f64::from((frame.bottom() - pointer.y) / frame.height()) * (high - low);
                edit = Some(DriveEdit::Move(at, t, v));
            }
            edit = self.keys(ui, response.id, response.has_focus(), at, *point).or(edit);
            dragging |= response.dragged();
            let on = *chosen == Some(at);
            let warm = response.hovered() || response.dragged();
            let fill = if on { p.accent } else { p.raised };
            let radius = if warm || on { 8.0 } else { 6.5 };
            ui.painter().circle(centre, radius, fill, Stroke::new(2.0, p.accent));
            focus_ring(ui, &response.with_new_rect(Rect::from_center_size(centre, Vec2::splat(16.0))), 8.0);
            if warm {
                ui.ctx().set_cursor_icon(CursorIcon::Grab);
            }
        }
        ui.data_mut(|data| {
            if dragging {
                data.insert_temp(axis, self.last_s);
            } else {
                data.remove::<f64>(axis);
            }
        });
        edit
    }

    fn keys(&self, ui: &Ui, id: Id, focus: bool, at: usize, (t, v): (f64, f64)) -> Option<DriveEdit> {
        if !focus {
            return None;
        }
        let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
        ui.input_mut(|input| {
            let mut count = |key| input.count_and_consume_key(Modifiers::NONE, key) as f64;
            let along = count(Key::ArrowRight) - count(Key::ArrowLeft);
            let up = count(Key::ArrowUp) - count(Key::ArrowDown);
            if along != 0.0 || up != 0.0 {
                return Some(DriveEdit::Move(at, t + along * self.steps.0, v + up * self.steps.1));
            }
            if input.consume_key(Modifiers::NONE, Key::Delete) {
                return Some(DriveEdit::Remove(at));
            }
            input.consume_key(Modifiers::NONE, Key::Insert).then_some(DriveEdit::AddAfter(at))
        })
    }
}
