//! A just-about-right scale: five cells from far too little over just right to far too much.

use eframe::egui::{
    Align2, CornerRadius, CursorIcon, Event, EventFilter, Id, Key, Modifiers, Rect, Response, Role, Sense,
    Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::text::line_at;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{focus_ring, look, palette, scale};
use crate::workbench::view::MARK_WORDS;

const LABEL_WIDTH: f32 = 116.0;
/// Above and below the outline of a row's cells: rows touch, so that all of their height can be hit.
const AIR: f32 = 3.0;

/// The words over a block of mark rows.
pub fn mark_head(ui: &mut Ui, width: f32) {
    let p = palette(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(width, 20.0), Sense::hover());
    let font = scale::regular(scale::TICK);
    let cells = Rect::from_min_max(pos2(rect.left() + LABEL_WIDTH, rect.top()), rect.max);
    let painter = ui.painter();
    painter.text(
        cells.left_center(),
        Align2::LEFT_CENTER,
        word!("widgets-mark-row-1-too-little"),
        font.clone(),
        p.soft,
    );
    painter.text(
        cells.center(),
        Align2::CENTER_CENTER,
        word!("widgets-mark-row-3-right"),
        font.clone(),
        p.soft,
    );
    painter.text(
        cells.right_center(),
        Align2::RIGHT_CENTER,
        word!("widgets-mark-row-too-much-5"),
        font,
        p.soft,
    );
}

/// What the keyboard asked of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RowKeys {
    /// Go to the next row.
    pub next: bool,
    /// Go to the row before.
    pub previous: bool,
    /// Enter: done with the marks.
    pub done: bool,
}

/// One row for `name`. `value` is −2…2. Keys with the focus on it: 1–5 set a step and ask for the next row, left and
/// right or the signs + and − move the mark, up and down change the row, 0 or Delete takes the mark back, Enter is done.
pub fn mark_row(ui: &mut Ui, id: Id, name: &str, value: &mut Option<i8>, width: f32) -> (Response, RowKeys) {
    let look = look(ui);
    let p = look.palette;
    let before = *value;
    let (rect, _) = ui.allocate_exact_size(vec2(width, look.target), Sense::hover());
    let mut response = ui.interact(rect, id, Sense::focusable_noninteractive());
    let mut keys = RowKeys::default();
    if response.has_focus() {
        lock_arrows(ui, id);
        keys = row_keys(ui);
        let digit = take_digit(ui, 5);
        match digit {
            Some(0) => *value = None,
            Some(step) => {
                *value = Some(step as i8 - 3);
                keys.next = true;
            }
            None => {}
        }
        let (left, right) = left_right(ui);
        let (minus, plus) = signs(ui);
        if left || minus {
            *value = Some(value.map_or(-1, |v| (v - 1).max(-2)));
        }
        if right || plus {
            *value = Some(value.map_or(1, |v| (v + 1).min(2)));
        }
    }
    let said = value.and_then(|v| usize::try_from(v + 2).ok()).and_then(|at| MARK_WORDS.get(at));
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::RadioGroup, true, name);
        info.current_text_value =
            Some(said.map_or(word!("widgets-mark-row-no-mark"), |word| word.word()).to_owned());
        info
    });
    let painter = ui.painter().clone();
    let font = if value.is_some() { scale::semibold(scale::BODY) } else { scale::regular(scale::BODY) };
    line_at(ui, rect.left_center(), name, font, p.ink, LABEL_WIDTH - scale::GAP_1);
    let cells = Rect::from_min_max(pos2(rect.left() + LABEL_WIDTH, rect.top()), rect.max);
    painter.rect(
        cells.shrink2(vec2(0.0, AIR)),
        CornerRadius::same(7),
        p.raised,
        Stroke::new(1.0, p.edge),
        StrokeKind::Inside,
    );
    let cell_width = cells.width() / 5.0;
    for (at, word) in MARK_WORDS.iter().enumerate() {
        let step = at as i8 - 2;
        let cell = Rect::from_min_size(
            pos2(cells.left() + at as f32 * cell_width, cells.top()),
            vec2(cell_width, cells.height()),
        );
        let hit = ui.interact(cell, id.with(at), Sense::CLICK).on_hover_cursor(CursorIcon::PointingHand);
        if hit.clicked() {
            *value = if *value == Some(step) { None } else { Some(step) };
            response.request_focus();
        }
        let on = *value == Some(step);
        hit.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, on, format!("{name} {word}")));
        if on {
            painter.rect_filled(cell.shrink2(vec2(2.0, AIR + 2.0)), CornerRadius::same(5), p.accent);
        } else if hit.hovered() {
            painter.rect_filled(cell.shrink2(vec2(2.0, AIR + 2.0)), CornerRadius::same(5), p.hover);
        }
        if at > 0 {
            painter.vline(cell.left(), cell.y_range().shrink(AIR + 8.0), Stroke::new(1.0, p.hairline));
        }
        let ink = if on { p.on_accent } else { p.soft };
        if step == 0 {
            let mark = Rect::from_center_size(cell.center(), vec2(16.0, 16.0));
            Icon::Check.paint(&painter, mark, ink);
        } else {
            let text = ["−−", "−", "", "+", "++"].get(at).copied().unwrap_or_default();
            painter.text(cell.center(), Align2::CENTER_CENTER, text, scale::semibold(scale::BODY), ink);
        }
    }
    let outline = rect.shrink2(vec2(0.0, AIR - 1.0));
    focus_ring(ui, &response.clone().with_new_rect(outline), 7.0);
    if *value != before {
        response.mark_changed();
    }
    (response, keys)
}

pub(super) fn lock_arrows(ui: &Ui, id: Id) {
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
}

pub(super) fn row_keys(ui: &Ui) -> RowKeys {
    ui.input_mut(|input| RowKeys {
        next: input.consume_key(Modifiers::NONE, Key::ArrowDown),
        previous: input.consume_key(Modifiers::NONE, Key::ArrowUp),
        done: input.consume_key(Modifiers::NONE, Key::Enter),
    })
}

pub(super) fn left_right(ui: &Ui) -> (bool, bool) {
    ui.input_mut(|input| {
        (
            input.consume_key(Modifiers::NONE, Key::ArrowLeft),
            input.consume_key(Modifiers::NONE, Key::ArrowRight),
        )
    })
}

/// Whether − or + was typed, wherever they lie on the keyboard.
fn signs(ui: &Ui) -> (bool, bool) {
    ui.input_mut(|input| {
        let typed = |sign: &[&str]| {
            input.events.iter().any(|e| matches!(e, Event::Text(text) if sign.contains(&text.as_str())))
        };
        let found = (typed(&["-", "−"]), typed(&["+"]));
        if found.0 || found.1 {
            input.events.retain(|event| !matches!(event, Event::Text(_)));
        }
        found
    })
}

/// Takes one typed digit up to `max` out of the input; Delete and Backspace count as 0.
pub(super) fn take_digit(ui: &Ui, max: u32) -> Option<u32> {
    const KEYS: [Key; 10] = [
        Key::Num0,
        Key::Num1,
        Key::Num2,
        Key::Num3,
        Key::Num4,
        Key::Num5,
        Key::Num6,
        Key::Num7,
        Key::Num8,
        Key::Num9,
    ];
    ui.input_mut(|input| {
        let mut digit = None;
        for (at, key) in (0..=max).zip(KEYS) {
            if input.consume_key(Modifiers::NONE, key) {
                digit = Some(at);
            }
        }
        if input.consume_key(Modifiers::NONE, Key::Delete)
            || input.consume_key(Modifiers::NONE, Key::Backspace)
        {
            digit = Some(0);
        }
        if digit.is_some() {
            input.events.retain(|event| !matches!(event, Event::Text(_)));
        }
        digit
    })
}
