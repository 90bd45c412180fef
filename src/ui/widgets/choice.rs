//! One of few: a row of cells, or a list that opens.

use eframe::egui::{
    ComboBox, CornerRadius, CursorIcon, EventFilter, Id, Key, Modifiers, Rect, Response, Role, Sense, Stroke,
    StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use crate::ui::theme::{focus_ring, look, scale};

/// Line and left edge of each cell, so that no line is wider than `row`, points.
fn lines_of(widths: &[f32], row: f32) -> Vec<(usize, f32)> {
    let (mut line, mut x) = (0, 0.0);
    let mut places = Vec::with_capacity(widths.len());
    for width in widths {
        if x > 0.0 && x + width > row {
            (line, x) = (line + 1, 0.0);
        }
        places.push((line, x));
        x += width;
    }
    places
}

/// A row of cells of which one is chosen, in more than one line where it is wider than its place. One stop for the Tab key; arrows move the choice. `chosen` is `None`
/// where nothing has been said; with `may_clear` a second click on the chosen cell (or Delete) takes it back.
pub fn choice_row(
    ui: &mut Ui,
    id: Id,
    label: &str,
    words: &[&str],
    chosen: &mut Option<usize>,
    may_clear: bool,
) -> Response {
    cells(ui, (id, label), words, chosen, may_clear, true)
}

/// The same on a page, whose keys count as soon as the mouse has chosen: only the Tab key gives it the keyboard.
pub fn tab_row(ui: &mut Ui, id: Id, label: &str, words: &[&str], chosen: &mut Option<usize>) -> Response {
    cells(ui, (id, label), words, chosen, false, false)
}

fn cells(
    ui: &mut Ui,
    (id, label): (Id, &str),
    words: &[&str],
    chosen: &mut Option<usize>,
    may_clear: bool,
    holds: bool,
) -> Response {
    let look = look(ui);
    let p = look.palette;
    let galleys: Vec<_> = words
        .iter()
        .map(|word| ui.painter().layout_no_wrap((*word).to_owned(), scale::regular(scale::BODY), p.ink))
        .collect();
    let widths: Vec<f32> =
        galleys.iter().map(|g| (g.size().x + scale::GAP_3 * 2.0).max(look.target)).collect();
    let places = lines_of(&widths, ui.max_rect().width());
    let wide = places.iter().zip(&widths).map(|((_, x), width)| x + width).fold(0.0, f32::max);
    let lines = places.last().map_or(1, |(line, _)| line + 1);
    let size = vec2(wide, lines as f32 * look.target);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let mut response = ui.interact(rect, id, Sense::focusable_noninteractive());
    let before = *chosen;
    if response.has_focus() {
        ui.memory_mut(|memory| {
            memory
                .set_focus_lock_filter(id, EventFilter { horizontal_arrows: true, ..EventFilter::default() });
        });
        let (left, right, clear) = ui.input_mut(|input| {
            (
                input.consume_key(Modifiers::NONE, Key::ArrowLeft),
                input.consume_key(Modifiers::NONE, Key::ArrowRight),
                input.consume_key(Modifiers::NONE, Key::Delete),
            )
        });
        let last = words.len().saturating_sub(1);
        if right {
            *chosen = Some(chosen.map_or(0, |at| (at + 1).min(last)));
        }
        if left {
            *chosen = Some(chosen.map_or(last, |at| at.saturating_sub(1)));
        }
        if clear && may_clear {
            *chosen = None;
        }
    }
    response.widget_info(|| WidgetInfo::labeled(Role::RadioGroup, true, label));
    ui.painter().rect(rect, CornerRadius::same(7), p.raised, Stroke::new(1.0, p.edge), StrokeKind::Inside);
    for (at, ((galley, width), (line, x))) in galleys.into_iter().zip(widths).zip(places).enumerate() {
        let corner = pos2(rect.left() + x, rect.top() + line as f32 * look.target);
        let cell = Rect::from_min_size(corner, vec2(width, look.target));
        let hit = ui.interact(cell, id.with(at), Sense::CLICK).on_hover_cursor(CursorIcon::PointingHand);
        if hit.clicked() {
            *chosen = if may_clear && *chosen == Some(at) { None } else { Some(at) };
            if holds {
                response.request_focus();
            } else {
                response.surrender_focus();
            }
        }
        let on = *chosen == Some(at);
        let word = words.get(at).copied().unwrap_or_default();
        hit.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, on, format!("{label}: {word}")));
        let ink = if on { p.on_accent } else { p.ink };
        if on {
            ui.painter().rect_filled(cell.shrink(2.0), CornerRadius::same(5), p.accent);
        } else if hit.hovered() {
            ui.painter().rect_filled(cell.shrink(2.0), CornerRadius::same(5), p.hover);
        }
        let at = cell.center() - galley.size() / 2.0;
        ui.painter().galley_with_override_text_color(at, galley, ink);
    }
    focus_ring(ui, &response, 7.0);
    if *chosen != before {
        response.mark_changed();
        // Cells before the one clicked were drawn with the old choice.
        ui.ctx().request_repaint();
    }
    response
}

/// A list that opens: one of many by name. Returns the index picked, if one was.
pub fn pick(ui: &mut Ui, id: Id, label: &str, shown: &str, words: &[String], width: f32) -> Option<usize> {
    let mut picked = None;
    // What has no room ends in dots and stands whole in the list.
    let combo = ComboBox::from_id_salt(id).selected_text(shown).width(width).truncate();
    let inner = combo.show_ui(ui, |ui| {
        for (at, word) in words.iter().enumerate() {
            if ui.selectable_label(word == shown, word).clicked() {
                picked = Some(at);
            }
        }
    });
    inner.response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::ComboBox, true, label);
        info.current_text_value = Some(shown.to_owned());
        info
    });
    picked
}

#[cfg(test)]
mod tests {
    use super::lines_of;

    #[test]
    fn cells_that_do_not_fit_go_to_the_next_line() {
        assert_eq!(lines_of(&[40.0, 50.0, 30.0], 120.0), [(0, 0.0), (0, 40.0), (0, 90.0)]);
        assert_eq!(lines_of(&[40.0, 50.0, 31.0, 40.0], 120.0), [(0, 0.0), (0, 40.0), (1, 0.0), (1, 31.0)]);
        // A cell wider than the row stands alone; nothing is lost.
        assert_eq!(lines_of(&[200.0, 10.0], 120.0), [(0, 0.0), (1, 0.0)]);
    }
}
