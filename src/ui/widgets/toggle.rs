//! A switch with a text.

use eframe::egui::{
    CornerRadius, CursorIcon, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2,
    vec2,
};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{focus_ring, look, scale};

/// A box with a check mark and its text; the whole of it is the target. Space or a click switches it.
pub fn toggle(ui: &mut Ui, label: &str, on: &mut bool) -> Response {
    let look = look(ui);
    let p = look.palette;
    let galley = ui.painter().layout_no_wrap(label.to_owned(), scale::regular(scale::BODY), p.ink);
    let size = vec2(22.0 + scale::GAP_2 + galley.size().x + scale::GAP_3 * 2.0, look.target);
    let (rect, mut response) = ui.allocate_exact_size(size, Sense::click());
    if response.clicked() {
        *on = !*on;
        response.mark_changed();
    }
    let enabled = ui.is_enabled();
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, enabled, *on, label));
    if ui.is_rect_visible(rect) {
        let fill = match (*on, response.hovered()) {
            (true, _) => p.selected,
            (false, true) => p.hover,
            (false, false) => p.button,
        };
        let edge = if *on { p.accent } else { p.edge };
        ui.painter().rect(rect, CornerRadius::same(7), fill, Stroke::new(1.0, edge), StrokeKind::Inside);
        let square =
            Rect::from_min_size(pos2(rect.left() + scale::GAP_3, rect.center().y - 11.0), Vec2::splat(22.0));
        ui.painter().rect(square, 4.0, p.raised, Stroke::new(1.5, edge), StrokeKind::Inside);
        if *on {
            Icon::Check.paint(ui.painter(), square.shrink(3.0), p.accent);
        }
        let at = pos2(square.right() + scale::GAP_2, rect.center().y - galley.size().y / 2.0);
        ui.painter().galley(at, galley, p.ink);
        focus_ring(ui, &response, 7.0);
    }
    response.on_hover_cursor(CursorIcon::PointingHand)
}
