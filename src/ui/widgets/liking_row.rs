//! Liking on nine points (Peryam and Pilgrim, Food Technology 11, 1957).

use eframe::egui::{
    Align2, CornerRadius, CursorIcon, Id, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo,
    pos2, vec2,
};

use crate::ui::theme::{focus_ring, look, scale};

use super::mark_row::{RowKeys, left_right, lock_arrows, row_keys, take_digit};
use crate::words::Name;

/// The nine steps in words.
const WORDS: [Name; 9] = [
    name!("widgets-liking-row-dislike-extremely"),
    name!("widgets-liking-row-dislike-very-much"),
    name!("widgets-liking-row-dislike-moderately"),
    name!("widgets-liking-row-dislike-slightly"),
    name!("widgets-liking-row-neither-like-nor-dislike"),
    name!("widgets-liking-row-like-slightly"),
    name!("widgets-liking-row-like-moderately"),
    name!("widgets-liking-row-like-very-much"),
    name!("widgets-liking-row-like-extremely"),
];

/// The row; `value` is 1…9. Keys with the focus on it: 1–9 set it, left and right move it, 0 or Delete takes it
/// back, up and down ask for another row, Enter is done.
pub fn liking_row(ui: &mut Ui, id: Id, value: &mut Option<u8>, width: f32) -> (Response, RowKeys) {
    let look = look(ui);
    let p = look.palette;
    let before = *value;
    let (rect, _) = ui.allocate_exact_size(vec2(width, look.target), Sense::hover());
    let mut response = ui.interact(rect, id, Sense::focusable_noninteractive());
    let mut keys = RowKeys::default();
    if response.has_focus() {
        lock_arrows(ui, id);
        keys = row_keys(ui);
        match take_digit(ui, 9) {
            Some(0) => *value = None,
            Some(step) => *value = u8::try_from(step).ok(),
            None => {}
        }
        let (left, right) = left_right(ui);
        if left {
            *value = Some(value.map_or(4, |v| v.saturating_sub(1).max(1)));
        }
        if right {
            *value = Some(value.map_or(6, |v| (v + 1).min(9)));
        }
    }
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::RadioGroup, true, word!("widgets-liking-row-liking"));
        let said = value.and_then(|v| WORDS.get(usize::from(v) - 1));
        info.current_text_value =
            Some(said.map_or(word!("widgets-liking-row-not-said"), |word| word.word()).to_owned());
        info
    });
    let painter = ui.painter().clone();
    painter.rect(rect, CornerRadius::same(7), p.raised, Stroke::new(1.0, p.edge), StrokeKind::Inside);
    let cell_width = rect.width() / 9.0;
    for (at, word) in WORDS.iter().enumerate() {
        let step = at as u8 + 1;
        let cell = Rect::from_min_size(
            pos2(rect.left() + at as f32 * cell_width, rect.top()),
            vec2(cell_width, rect.height()),
        );
        let hit = ui.interact(cell, id.with(at), Sense::CLICK).on_hover_cursor(CursorIcon::PointingHand);
        if hit.clicked() {
            *value = if *value == Some(step) { None } else { Some(step) };
            response.request_focus();
        }
        let on = *value == Some(step);
        hit.widget_info(|| {
            WidgetInfo::selected(
                Role::RadioButton,
                true,
                on,
                say!("widgets-liking-row-liking-2", step = step, word = word),
            )
        });
        if on {
            painter.rect_filled(cell.shrink(2.0), CornerRadius::same(5), p.accent);
        } else if hit.hovered() {
            painter.rect_filled(cell.shrink(2.0), CornerRadius::same(5), p.hover);
        }
        if at > 0 {
            painter.vline(cell.left(), cell.y_range().shrink(8.0), Stroke::new(1.0, p.hairline));
        }
        let ink = if on { p.on_accent } else { p.soft };
        let font = if on { scale::semibold(scale::BODY) } else { scale::regular(scale::BODY) };
        painter.text(cell.center(), Align2::CENTER_CENTER, step.to_string(), font, ink);
    }
    focus_ring(ui, &response, 7.0);
    if *value != before {
        response.mark_changed();
    }
    (response, keys)
}
