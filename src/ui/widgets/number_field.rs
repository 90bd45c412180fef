//! A field for one number, with steppers. Esc puts the old text back; a comma is as good as a point; a text that
//! cannot be read stays, with the reason under it once the field has been left; Enter leaves it only once it can be read.
//! A blank is never typed, and as long as nothing is typed the keys of the page count.

use eframe::egui::{
    Context, CornerRadius, CursorIcon, Event, Frame, Id, Key, Margin, Modifiers, Response, Role, Sense,
    Stroke, StrokeKind, TextEdit, Ui, Vec2, WidgetInfo, vec2,
};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{look, palette, scale};
use crate::units::{Quantity, UnitPreferences, parse_number};
use crate::workbench::draft::{typed, typed_setting};

use super::text_field::{field_edge, select_all, select_all_on_focus};

/// Width of the text without anything else said, points.
const WIDTH: f32 = 88.0;

/// How the steppers read and write the text.
#[derive(Debug, Clone, Copy)]
enum Measure {
    Quantity(Quantity),
    Plain { decimals: usize },
}

/// A number field to be shown. Its value is text, as typed; whoever owns the text reads it and says what is wrong.
#[derive(Debug, Clone, Copy)]
pub struct NumberField<'a> {
    label: &'a str,
    id: Id,
    measure: Measure,
    units: UnitPreferences,
    step: f64,
    start: f64,
    width: f32,
    unit: &'a str,
    steppers: bool,
    fault: Option<&'a str>,
    insist: bool,
}

/// What a person did to a number field in this frame.
#[derive(Debug)]
pub struct NumberOutcome {
    /// The text field itself.
    pub response: Response,
    /// The text changed.
    pub changed: bool,
    /// Enter was pressed in it, and nothing is wrong with its text.
    pub entered: bool,
}

#[derive(Debug, Clone, Default)]
struct Visit {
    /// The text when the field got the focus; Esc puts it back.
    before: String,
    /// The person has been in it and left.
    left: bool,
}

/// Whether the field with the focus is one for a number in which nothing was typed since it got the focus: it has no use
/// for letters and for the keys that undo.
#[must_use]
pub fn number_untouched(ctx: &Context) -> Option<bool> {
    let focused = ctx.memory(|memory| memory.focused())?;
    let (id, untouched) = ctx.data(|data| data.get_temp::<(Id, bool)>(untouched_id()))?;
    let begins =
        |event: &Event| matches!(event, Event::Text(text) if text.contains(|c: char| c.is_numeric()));
    (id == focused).then(|| untouched && !ctx.input(|input| input.events.iter().any(begins)))
}

fn untouched_id() -> Id {
    Id::unique("number-field-untouched")
}

impl<'a> NumberField<'a> {
    /// A field for a quantity, typed and shown in the preferred unit.
    #[must_use]
    pub fn quantity(label: &'a str, id: Id, quantity: Quantity, units: UnitPreferences) -> Self {
        let (step, start) = match quantity {
            Quantity::Dose => (0.1, 18.0),
            Quantity::Yield => (0.5, 36.0),
            Quantity::Time => (0.5, 27.0),
            Quantity::Temperature => (0.5, 93.0),
            Quantity::BeanMass => (10.0, 250.0),
            _ => (0.1, 8.0),
        };
        let unit = units.convert(quantity, 0.0).1;
        let measure = Measure::Quantity(quantity);
        Self { unit, ..Self::bare(label, id, measure, step, start, units) }
    }

    /// A field for a plain number.
    #[must_use]
    pub fn plain(label: &'a str, id: Id, decimals: usize, units: UnitPreferences) -> Self {
        Self::bare(label, id, Measure::Plain { decimals }, 10f64.powi(-(decimals as i32)), 0.0, units)
    }

    fn bare(label: &'a str, id: Id, measure: Measure, step: f64, start: f64, units: UnitPreferences) -> Self {
        Self {
            label,
            id,
            measure,
            units,
            step,
            start,
            width: WIDTH,
            unit: "",
            steppers: true,
            fault: None,
            insist: false,
        }
    }

    /// How far the steppers and the up and down keys move the value, in the program's own unit.
    #[must_use]
    pub fn step(mut self, step: f64) -> Self {
        self.step = step;
        self
    }

    /// The value that a stepper starts from where there is none.
    #[must_use]
    pub fn start(mut self, start: f64) -> Self {
        self.start = start;
        self
    }

    /// Width of the text, points.
    #[must_use]
    pub fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// A unit shown behind the number.
    #[must_use]
    pub fn unit(mut self, unit: &'a str) -> Self {
        self.unit = unit;
        self
    }

    /// No steppers; the up and down keys still step.
    #[must_use]
    pub fn without_steppers(mut self) -> Self {
        self.steppers = false;
        self
    }

    /// What is wrong with the text. Shown once the person has left the field, or at once with `insist`.
    #[must_use]
    pub fn fault(mut self, fault: Option<&'a str>, insist: bool) -> Self {
        self.fault = fault;
        self.insist = insist;
        self
    }

    fn stepped(&self, text: &str, steps: f64) -> String {
        match self.measure {
            Measure::Quantity(quantity) => {
                let (min, max) = quantity.range();
                let old = quantity.parse(text, self.units.typed_unit(quantity)).ok();
                let new = old.map_or(self.start, |old| old + steps * self.step).clamp(min, max);
                typed(quantity, new, &self.units)
            }
            Measure::Plain { decimals } => {
                let new = parse_number(text).ok().map_or(self.start, |old| old + steps * self.step);
                typed_setting(new, decimals, &self.units)
            }
        }
    }

    /// Width of a field of the usual width with its steppers, points.
    #[must_use]
    pub fn usual_width(ui: &Ui) -> f32 {
        WIDTH + 2.0 * look(ui).target
    }

    /// Draws label, steppers and field.
    pub fn show(self, ui: &mut Ui, text: &mut String) -> NumberOutcome {
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            super::small(ui, self.label);
            self.row(ui, text)
        })
        .inner
    }

    /// Draws steppers and field; the label names them for screen readers only.
    pub fn alone(self, ui: &mut Ui, text: &mut String) -> NumberOutcome {
        self.row(ui, text)
    }

    fn row(&self, ui: &mut Ui, text: &mut String) -> NumberOutcome {
        let visit_id = self.id.with("visit");
        let mut visit: Visit = ui.data(|data| data.get_temp(visit_id)).unwrap_or_default();
        let old = text.clone();
        if ui.memory(|memory| memory.has_focus(self.id)) {
            let steps = ui.input_mut(|input| {
                let up = input.count_and_consume_key(Modifiers::NONE, Key::ArrowUp) as f64;
                let down = input.count_and_consume_key(Modifiers::NONE, Key::ArrowDown) as f64;
                up - down
            });
            if steps != 0.0 {
                *text = self.stepped(text, steps);
            }
            // With nothing to put back the key is left to whoever wants it next.
            if *text != visit.before && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape))
            {
                text.clone_from(&visit.before);
                ui.memory_mut(|memory| memory.surrender_focus(self.id));
            }
            // No number has a blank in it, and one typed over a selected number would take its place.
            ui.input_mut(|input| {
                input.events.retain(|event| !matches!(event, Event::Text(text) if text.trim().is_empty()));
            });
        }
        let showing = self.fault.is_some() && (visit.left || self.insist);
        let whole = ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            let less =
                self.steppers.then(|| stepper(ui, self.id.with("less"), Icon::Minus, self.label, true));
            if let Some(steps) = less.filter(|steps| *steps > 0) {
                *text = self.stepped(text, -f64::from(steps));
            }
            let response = self.edit(ui, text, showing);
            let more =
                self.steppers.then(|| stepper(ui, self.id.with("more"), Icon::Plus, self.label, false));
            if let Some(steps) = more.filter(|steps| *steps > 0) {
                *text = self.stepped(text, f64::from(steps));
            }
            response
        });
        let response = whole.inner;
        if response.gained_focus() {
            visit.before.clone_from(text);
        }
        let mut entered = false;
        if response.lost_focus() {
            visit.left = true;
            let enter = ui.input(|input| input.key_pressed(Key::Enter));
            entered = enter && self.fault.is_none();
            if enter && !entered {
                // It stays where it is, to be typed over.
                response.request_focus();
                select_all(ui, self.id, text);
            }
        }
        if response.has_focus() {
            let untouched = (self.id, *text == visit.before);
            ui.data_mut(|data| data.insert_temp(untouched_id(), untouched));
        }
        if let Some(fault) = self.fault.filter(|_| showing) {
            // No wider than the field, so that those beside it keep their places.
            ui.scope(|ui| {
                ui.set_max_width(whole.response.rect.width());
                super::fault_line(ui, fault);
            });
        }
        ui.data_mut(|data| data.insert_temp(visit_id, visit));
        NumberOutcome { response, changed: *text != old, entered }
    }

    fn edit(&self, ui: &mut Ui, text: &mut String, faulty: bool) -> Response {
        let look = look(ui);
        let p = look.palette;
        let radius = if self.steppers { 0 } else { 7 };
        let unit = ui.painter().layout_no_wrap(self.unit.to_owned(), scale::regular(scale::SMALL), p.soft);
        let room = unit.size().x + if self.unit.is_empty() { 9.0 } else { 13.0 };
        let output = TextEdit::singleline(text)
            .id(self.id)
            .desired_width(self.width)
            .event_filter(super::text_field::FILTER)
            .char_limit(60)
            .font(scale::regular(scale::BODY))
            .min_size(vec2(0.0, look.target))
            .align(eframe::egui::Align2::LEFT_CENTER)
            .frame(
                Frame::NONE
                    .inner_margin(Margin { left: 9, right: room as i8, top: 6, bottom: 6 })
                    .fill(p.raised)
                    .corner_radius(CornerRadius::same(radius)),
            )
            .show(ui);
        let response = output.response.response;
        select_all_on_focus(ui, &response, text);
        let name = if self.unit.is_empty() {
            self.label.to_owned()
        } else {
            format!("{}, {}", self.label, self.unit)
        };
        let response = response.accessible_name(name);
        let at = response.rect.right_center() - vec2(unit.size().x + 9.0, unit.size().y / 2.0);
        ui.painter().galley(at, unit, p.soft);
        field_edge(ui, &response, faulty);
        response
    }
}

/// Fields of these widths, points, in as many rows as they need: none stands outside the room at hand. `show` draws the
/// field of a number.
pub fn field_rows(ui: &mut Ui, widths: &[f32], mut show: impl FnMut(&mut Ui, usize)) {
    let room = ui.available_width();
    let mut first = 0;
    while first < widths.len() {
        let mut used = -scale::GAP_3;
        let rest = widths.get(first..).unwrap_or(&[]);
        let fit = rest.iter().take_while(|width| {
            used += **width + scale::GAP_3;
            used <= room
        });
        let end = first + fit.count().max(1);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_3;
            for (at, width) in widths.iter().enumerate().take(end).skip(first) {
                ui.vertical(|ui| {
                    ui.set_max_width(*width);
                    show(ui, at);
                });
            }
        });
        first = end;
    }
}

/// Seconds that a stepper is held before it goes on by itself.
const HELD_S: f64 = 0.6;

/// Seconds from there to its next step, and the least that they come to.
const EACH_S: (f64, f64) = (0.16, 0.05);

/// How much sooner each step comes than the one before.
const SOONER: f64 = 0.9;

/// Steps in one frame at most, so that a late frame does not make a leap.
const LEAP: u32 = 4;

/// A stepper that is held: when it makes its next step, and how long after that the next.
#[derive(Debug, Clone, Copy)]
struct Held {
    next_s: f64,
    each_s: f64,
}

/// Steps made in this frame by a stepper: one when it is pressed, however long the finger stays, more while it is held.
/// One that is pressed without a pointer makes one.
fn steps_of(ui: &Ui, response: &Response) -> u32 {
    let id = response.id.with("held");
    let held: Option<Held> = ui.data(|data| data.get_temp(id));
    // Whether it is still held only the pointer knows: the library takes a long press for no click and forgets it.
    let down = ui.input(|input| input.pointer.primary_down());
    if !down || (held.is_none() && !response.is_pointer_button_down_on()) {
        ui.data_mut(|data| data.remove::<Held>(id));
        return u32::from(response.clicked() && held.is_none());
    }
    let (now_s, at) = ui.input(|input| (input.time, input.pointer.interact_pos()));
    let (mut held, mut steps) = match held {
        Some(held) => (held, 0),
        None => (Held { next_s: now_s + HELD_S, each_s: EACH_S.0 }, 1),
    };
    let over = at.is_some_and(|at| response.rect.expand(8.0).contains(at));
    while held.next_s <= now_s {
        steps += u32::from(over && steps < LEAP);
        held.next_s += held.each_s;
        held.each_s = (held.each_s * SOONER).max(EACH_S.1);
    }
    ui.data_mut(|data| data.insert_temp(id, held));
    ui.ctx().request_repaint_after(std::time::Duration::from_secs_f64((held.next_s - now_s).max(0.01)));
    steps
}

fn stepper(ui: &mut Ui, id: Id, icon: Icon, label: &str, less: bool) -> u32 {
    let way = if less { word!("widgets-number-field-less") } else { word!("widgets-number-field-more") };
    let p = palette(ui);
    let target = look(ui).target;
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(target), Sense::hover());
    let response = ui.interact(rect, id, Sense::CLICK).on_hover_cursor(CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{label} {way}")));
    let fill = match (response.is_pointer_button_down_on(), response.hovered()) {
        (true, _) => p.selected,
        (false, true) => p.hover,
        (false, false) => p.button,
    };
    let round = if less {
        CornerRadius { nw: 7, sw: 7, ..CornerRadius::ZERO }
    } else {
        CornerRadius { ne: 7, se: 7, ..CornerRadius::ZERO }
    };
    ui.painter().rect(rect, round, fill, Stroke::new(1.0, p.edge), StrokeKind::Inside);
    icon.paint(ui.painter(), eframe::egui::Rect::from_center_size(rect.center(), Vec2::splat(16.0)), p.ink);
    let steps = steps_of(ui, &response);
    if steps > 0 {
        // The field before it was drawn with the old text.
        ui.ctx().request_repaint();
    }
    steps
}
