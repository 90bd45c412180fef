//! A field for one number, with steppers. The text is read on Enter, Tab or leaving the field; Esc puts the old value
//! back; a comma is as good as a point; a text that cannot be read stays, with the reason under it.

use eframe::egui::{
    Align, CornerRadius, CursorIcon, Frame, Id, Key, Margin, Modifiers, Response, Role, Sense, Stroke, StrokeKind,
    TextEdit, Ui, Vec2, WidgetInfo, vec2,
};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{look, palette, scale};
use crate::units::{Quantity, UnitPreferences, parse_number};

use super::text_field::{field_edge, select_all_on_focus};

/// What the field measures: decides how text is read and shown.
#[derive(Debug, Clone, Copy)]
enum Measure {
    Quantity(Quantity),
    Plain { min: f64, max: f64, decimals: usize },
}

/// A number field to be shown.
#[derive(Debug, Clone, Copy)]
pub struct NumberField<'a> {
    label: &'a str,
    id: Id,
    measure: Measure,
    units: UnitPreferences,
    step: f64,
    start: f64,
    optional: bool,
    width: f32,
    unit: Option<&'a str>,
    steppers: bool,
}

/// What a person did to a number field in this frame.
#[derive(Debug)]
pub struct NumberOutcome {
    /// The text field itself.
    pub response: Response,
    /// The value changed.
    pub changed: bool,
    /// Enter was pressed in it and its text was good.
    pub entered: bool,
    /// Its text cannot be read; the value is still the old one.
    pub faulty: bool,
}

#[derive(Debug, Clone, Default)]
struct Typed {
    text: String,
    fault: Option<String>,
    /// The text is the person's own, not the value's.
    own: bool,
}

impl<'a> NumberField<'a> {
    /// A field for a quantity, read and shown in the preferred units.
    #[must_use]
    pub fn quantity(label: &'a str, id: Id, quantity: Quantity, units: UnitPreferences) -> Self {
        let (step, start) = match quantity {
            Quantity::Dose => (0.1, 18.0),
            Quantity::Yield => (0.5, 36.0),
            Quantity::Time | Quantity::Temperature => (0.5, 27.0),
            Quantity::BeanMass => (10.0, 250.0),
            _ => (0.1, 8.0),
        };
        Self {
            label,
            id,
            measure: Measure::Quantity(quantity),
            units,
            step,
            start,
            optional: false,
            width: 96.0,
            unit: None,
            steppers: true,
        }
    }

    /// A field for a plain number between `min` and `max`.
    #[must_use]
    pub fn plain(label: &'a str, id: Id, (min, max): (f64, f64), decimals: usize, units: UnitPreferences) -> Self {
        Self {
            label,
            id,
            measure: Measure::Plain { min, max, decimals },
            units,
            step: 10f64.powi(-(decimals as i32)),
            start: min,
            optional: false,
            width: 96.0,
            unit: None,
            steppers: true,
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

    /// Empty is allowed and means "not known".
    #[must_use]
    pub fn optional(mut self) -> Self {
        self.optional = true;
        self
    }

    /// Width of the text, points.
    #[must_use]
    pub fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// A unit shown behind a plain number.
    #[must_use]
    pub fn unit(mut self, unit: &'a str) -> Self {
        self.unit = Some(unit);
        self
    }

    /// No steppers; the up and down keys still step.
    #[must_use]
    pub fn without_steppers(mut self) -> Self {
        self.steppers = false;
        self
    }

    fn written(&self, value: Option<f64>) -> String {
        match (value, self.measure) {
            (None, _) => String::new(),
            (Some(value), Measure::Quantity(quantity)) => {
                let (value, _, decimals) = self.units.convert(quantity, value);
                self.units.number(value, decimals)
            }
            (Some(value), Measure::Plain { decimals, .. }) => self.units.number(value, decimals),
        }
    }

    fn read(&self, text: &str) -> Result<Option<f64>, String> {
        if text.trim().is_empty() && self.optional {
            return Ok(None);
        }
        match self.measure {
            Measure::Quantity(quantity) => {
                let bare = self.units.typed_unit(quantity);
                quantity.parse(text, bare).map(Some).map_err(|fault| fault.to_string())
            }
            Measure::Plain { min, max, .. } => {
                let value = parse_number(text).map_err(|fault| fault.to_string())?;
                if value < min || value > max {
                    let name = self.label.to_lowercase();
                    let (min, max) = (self.units.number(min, 0), self.units.number(max, 0));
                    return Err(format!("{name} must be between {min} and {max}"));
                }
                Ok(Some(value))
            }
        }
    }

    fn limits(&self) -> (f64, f64) {
        match self.measure {
            Measure::Quantity(quantity) => quantity.range(),
            Measure::Plain { min, max, .. } => (min, max),
        }
    }

    fn stepped(&self, value: Option<f64>, steps: f64) -> f64 {
        let (min, max) = self.limits();
        let moved = value.map_or(self.start, |value| value + steps * self.step);
        ((moved * 1e6).round() / 1e6).clamp(min, max)
    }

    fn unit_text(&self) -> &str {
        match (self.unit, self.measure) {
            (Some(unit), _) => unit,
            (None, Measure::Quantity(quantity)) => self.units.convert(quantity, 0.0).1,
            (None, Measure::Plain { .. }) => "",
        }
    }

    /// Draws label, steppers and field; writes a good value to `value`.
    pub fn show(self, ui: &mut Ui, value: &mut Option<f64>) -> NumberOutcome {
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            super::small(ui, self.label);
            self.row(ui, value)
        })
        .inner
    }

    fn row(&self, ui: &mut Ui, value: &mut Option<f64>) -> NumberOutcome {
        let before = *value;
        let text_id = self.id.with("typed");
        let mut typed: Typed = ui.data(|data| data.get_temp(text_id)).unwrap_or_default();
        if !typed.own {
            typed.text = self.written(*value);
        }
        let focused = ui.memory(|memory| memory.has_focus(self.id));
        let mut entered = false;
        if focused {
            let steps = ui.input_mut(|input| {
                let up = input.count_and_consume_key(Modifiers::NONE, Key::ArrowUp) as f64;
                let down = input.count_and_consume_key(Modifiers::NONE, Key::ArrowDown) as f64;
                up - down
            });
            if steps != 0.0 {
                let from = self.read(&typed.text).ok().flatten().or(*value);
                self.take(&mut typed, value, self.stepped(from, steps));
            }
            if ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape)) {
                typed = Typed { text: self.written(*value), ..Typed::default() };
                ui.memory_mut(|memory| memory.surrender_focus(self.id));
            }
        }
        let response = ui
            .horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                if self.steppers && stepper(ui, self.id.with("less"), Icon::Minus, self.label, "less") {
                    self.take(&mut typed, value, self.stepped(*value, -1.0));
                }
                let response = self.edit(ui, &mut typed);
                if self.steppers && stepper(ui, self.id.with("more"), Icon::Plus, self.label, "more") {
                    self.take(&mut typed, value, self.stepped(*value, 1.0));
                }
                response
            })
            .inner;
        if response.changed() {
            typed.own = true;
        }
        if response.lost_focus() && typed.own {
            match self.read(&typed.text) {
                Ok(read) => {
                    *value = read;
                    typed = Typed { text: self.written(*value), ..Typed::default() };
                }
                Err(fault) => typed.fault = Some(fault),
            }
        }
        if response.lost_focus() && typed.fault.is_none() && ui.input(|input| input.key_pressed(Key::Enter)) {
            entered = true;
        }
        let faulty = typed.fault.is_some();
        if let Some(fault) = &typed.fault {
            super::fault_line(ui, fault);
        }
        ui.data_mut(|data| data.insert_temp(text_id, typed));
        NumberOutcome { response, changed: *value != before, entered, faulty }
    }

    fn take(&self, typed: &mut Typed, value: &mut Option<f64>, new: f64) {
        *value = Some(new);
        *typed = Typed { text: self.written(*value), ..Typed::default() };
    }

    fn edit(&self, ui: &mut Ui, typed: &mut Typed) -> Response {
        let look = look(ui);
        let p = look.palette;
        let radius = if self.steppers { 0 } else { 7 };
        let faulty = typed.fault.is_some();
        let unit = self.unit_text();
        let unit_galley = ui.painter().layout_no_wrap(unit.to_owned(), scale::regular(scale::SMALL), p.soft);
        let room = unit_galley.size().x + if unit.is_empty() { 10.0 } else { 16.0 };
        let output = TextEdit::singleline(&mut typed.text)
            .id(self.id)
            .desired_width(self.width - 10.0 - room)
            .char_limit(60)
            .margin(Margin { left: 10, right: room as i8, top: 10, bottom: 10 })
            .font(scale::regular(scale::BODY))
            .min_size(vec2(0.0, look.target))
            .vertical_align(Align::Center)
            .frame(Frame::NONE.fill(p.raised).corner_radius(CornerRadius::same(radius)))
            .show(ui);
        let response = output.response.response;
        select_all_on_focus(ui, &response, &typed.text);
        let label = if unit.is_empty() { self.label.to_owned() } else { format!("{}, {unit}", self.label) };
        let response = response.accessible_name(label);
        let at = response.rect.right_center() - vec2(unit_galley.size().x + 9.0, unit_galley.size().y / 2.0);
        ui.painter().galley(at, unit_galley, p.soft);
        field_edge(ui, &response, faulty);
        response
    }
}

fn stepper(ui: &mut Ui, id: Id, icon: Icon, label: &str, way: &str) -> bool {
    let p = palette(ui);
    let target = look(ui).target;
    let (rect, _) = ui.allocate_exact_size(Vec2::new(36.0_f32.max(target - 8.0), target), Sense::hover());
    let response = ui.interact(rect, id, Sense::CLICK).on_hover_cursor(CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{label} {way}")));
    let fill = if response.hovered() { p.hover } else { p.button };
    let round = if way == "less" {
        CornerRadius { nw: 7, sw: 7, ..CornerRadius::ZERO }
    } else {
        CornerRadius { ne: 7, se: 7, ..CornerRadius::ZERO }
    };
    ui.painter().rect(rect, round, fill, Stroke::new(1.0, p.edge), StrokeKind::Inside);
    icon.paint(
        ui.painter(),
        eframe::egui::Rect::from_center_size(rect.center(), Vec2::splat(16.0)),
        p.ink,
    );
    response.clicked()
}
