//! A field for words.

use eframe::egui::text::CCursorRange;
use eframe::egui::{
    Context, CornerRadius, EventFilter, Frame, Id, Key, Margin, Modifiers, Response, Stroke, StrokeKind,
    TextEdit, Ui, vec2,
};

use crate::ui::theme::{look, scale};

/// Which keys stay with a field: arrows move in it, Esc is its own first.
pub(super) const FILTER: EventFilter =
    EventFilter { tab: false, horizontal_arrows: true, vertical_arrows: true, escape: true };

/// A labelled field for one line or several lines of text.
#[derive(Debug, Clone, Copy)]
pub struct TextField<'a> {
    label: &'a str,
    id: Id,
    hint: &'a str,
    width: f32,
    rows: usize,
    limit: usize,
}

impl<'a> TextField<'a> {
    /// One line; `label` stands above it and is its name.
    #[must_use]
    pub fn new(label: &'a str, id: Id) -> Self {
        Self { label, id, hint: "", width: 280.0, rows: 1, limit: 200 }
    }

    /// Grey words while it is empty.
    #[must_use]
    pub fn hint(mut self, hint: &'a str) -> Self {
        self.hint = hint;
        self
    }

    /// Width, points.
    #[must_use]
    pub fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// Several lines.
    #[must_use]
    pub fn rows(mut self, rows: usize) -> Self {
        self.rows = rows;
        self.limit = 4000;
        self
    }

    /// At most so many characters.
    #[must_use]
    pub fn limit(mut self, limit: usize) -> Self {
        self.limit = limit;
        self
    }

    /// Draws label and field.
    pub fn show(self, ui: &mut Ui, text: &mut String) -> Response {
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            let label = super::small(ui, self.label);
            self.bare(ui, text).labelled_by(label.id)
        })
        .inner
    }

    /// Draws the field alone, named by its label.
    pub fn bare(self, ui: &mut Ui, text: &mut String) -> Response {
        let look = look(ui);
        let p = look.palette;
        let edit = if self.rows > 1 {
            TextEdit::multiline(text).desired_rows(self.rows)
        } else {
            TextEdit::singleline(text)
        };
        let margin = ((look.target - scale::BODY * 1.3) / 2.0).max(4.0);
        let response = ui.add(
            edit.id(self.id)
                .hint_text(self.hint)
                .desired_width(self.width)
                .event_filter(FILTER)
                .char_limit(self.limit)
                .font(scale::regular(scale::BODY))
                .min_size(vec2(0.0, look.target))
                .align(if self.rows > 1 {
                    eframe::egui::Align2::LEFT_TOP
                } else {
                    eframe::egui::Align2::LEFT_CENTER
                })
                .frame(
                    Frame::NONE
                        .inner_margin(Margin::symmetric(10, margin as i8))
                        .fill(p.raised)
                        .corner_radius(CornerRadius::same(7)),
                ),
        );
        let before = self.id.with("before");
        if response.gained_focus() {
            ui.data_mut(|data| data.insert_temp(before, text.clone()));
        }
        // The first Esc leaves a field in which something was typed; else the key is left to whoever wants it next.
        if response.has_focus()
            && ui.data(|data| data.get_temp::<String>(before)).is_some_and(|before| before != *text)
            && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape))
        {
            response.surrender_focus();
        }
        field_edge(ui, &response, false);
        response
    }
}

/// The outline of a field: grey, accent with focus, red with a fault.
pub(super) fn field_edge(ui: &Ui, response: &Response, fault: bool) {
    let p = look(ui).palette;
    let stroke = match (fault, response.has_focus()) {
        (true, _) => Stroke::new(2.0, p.bad),
        (false, true) => Stroke::new(2.5, p.accent),
        (false, false) => Stroke::new(1.0, p.edge),
    };
    ui.painter().rect_stroke(response.rect, CornerRadius::same(7), stroke, StrokeKind::Inside);
}

/// Takes the focus from wherever it is, so that the field that gets it in the next frame is come to afresh, with its text
/// selected, even where it is the same one.
pub fn let_go_of_focus(ctx: &Context) {
    ctx.memory_mut(|memory| {
        if let Some(id) = memory.focused() {
            memory.surrender_focus(id);
        }
    });
}

/// Whether Enter was pressed in a field of one line. The field keeps the keyboard with its text selected, so that what is
/// typed next takes its place and goes nowhere else.
pub fn entered(ui: &Ui, response: &Response, text: &str) -> bool {
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if entered {
        response.request_focus();
        select_all(ui, response.id, text);
        // What was given is no longer half-typed: Esc goes on to whoever wants it next.
        ui.data_mut(|data| data.insert_temp(response.id.with("before"), text.to_owned()));
    }
    entered
}

/// Selects the whole text when a field has just got the focus, so that typing replaces it.
pub fn select_all_on_focus(ui: &Ui, response: &Response, text: &str) {
    if response.gained_focus() {
        select_all(ui, response.id, text);
    }
}

/// Selects the whole text of a field.
pub(super) fn select_all(ui: &Ui, id: Id, text: &str) {
    if let Some(mut state) = TextEdit::load_state(ui.ctx(), id) {
        state.cursor.set_char_range(Some(CCursorRange::select_all_str(text)));
        state.store(ui.ctx(), id);
    }
}
