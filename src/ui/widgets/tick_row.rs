//! One step of a list with a box to tick: the whole row is the target, its words wrap.

use eframe::egui::{
    CornerRadius, CursorIcon, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{focus_ring, look, scale};

/// A row with a tick. `next` marks the step that comes next. Space or a click switches it.
pub fn tick_row(ui: &mut Ui, words: &str, on: &mut bool, next: bool) -> Response {
    let look = look(ui);
    let p = look.palette;
    let width = ui.available_width();
    let font = if next { scale::semibold(scale::BODY) } else { scale::regular(scale::BODY) };
    let ink = if *on { p.soft } else { p.ink };
    let galley =
        ui.painter().layout(words.to_owned(), font, ink, (width - 24.0 - scale::GAP_3 * 3.0).max(60.0));
    let size = vec2(width, look.target.max(galley.size().y + scale::GAP_3));
    let (rect, mut response) = ui.allocate_exact_size(size, Sense::click());
    if response.clicked() {
        *on = !*on;
        response.mark_changed();
    }
    let enabled = ui.is_enabled();
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, enabled, *on, words));
    if ui.is_rect_visible(rect) {
        let fill = match (next, response.hovered()) {
            (_, true) => p.hover,
            (true, false) => p.selected,
            (false, false) => eframe::egui::Color32::TRANSPARENT,
        };
        ui.painter().rect_filled(rect, CornerRadius::same(6), fill);
        let middle = pos2(rect.left() + scale::GAP_3 + 12.0, rect.center().y);
        let square = Rect::from_center_size(middle, vec2(24.0, 24.0));
        let edge = Stroke::new(1.5, if *on { p.good } else { p.edge });
        ui.painter().rect(square, CornerRadius::same(5), p.raised, edge, StrokeKind::Inside);
        if *on {
            Icon::Check.paint(ui.painter(), square.shrink(4.0), p.good);
        }
        let at = pos2(square.right() + scale::GAP_3, rect.center().y - galley.size().y / 2.0);
        ui.painter().galley(at, galley, ink);
        focus_ring(ui, &response, 6.0);
    }
    response.on_hover_cursor(CursorIcon::PointingHand)
}
