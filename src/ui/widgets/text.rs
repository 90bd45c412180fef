//! Text at the sizes of the type scale.

use std::sync::Arc;

use eframe::egui::text::{LayoutJob, TextWrapping};
use eframe::egui::{
    Color32, CornerRadius, FontId, Galley, Label, Pos2, Response, RichText, Sense, Stroke, StrokeKind, Ui,
    vec2,
};

use crate::ui::theme::{palette, scale};

/// Body text, wrapped.
pub fn body(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.add(Label::new(RichText::new(text).font(scale::regular(scale::BODY)).color(palette(ui).ink)).wrap())
}

/// Body text of second rank, wrapped.
pub fn soft(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.add(Label::new(RichText::new(text).font(scale::regular(scale::BODY)).color(palette(ui).soft)).wrap())
}

/// Small text of second rank, wrapped.
pub fn small(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.add(Label::new(RichText::new(text).font(scale::regular(scale::SMALL)).color(palette(ui).soft)).wrap())
}

/// The height that [`small`] takes for a text in the width at hand.
#[must_use]
pub fn small_height(ui: &Ui, text: &str) -> f32 {
    let font = scale::regular(scale::SMALL);
    ui.painter().layout(text.to_owned(), font, palette(ui).soft, ui.available_width()).size().y
}

/// Heading of a dialog or a group.
pub fn heading(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.add(Label::new(RichText::new(text).font(scale::semibold(scale::HEADING)).color(palette(ui).ink)))
}

/// Title of a page: smaller before it is cut.
pub fn title(ui: &mut Ui, text: impl Into<String>) -> Response {
    let text = text.into();
    let sizes = [scale::TITLE, scale::HEADING];
    let size = size_for(ui, std::iter::once(text.as_str()), scale::semibold, &sizes, ui.available_width());
    let font = scale::semibold(size);
    ui.add(Label::new(RichText::new(text).font(font).color(palette(ui).ink)).truncate())
}

/// The small heading over a part of a page.
pub fn overline(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.add(Label::new(RichText::new(text).font(scale::semibold(scale::SMALL)).color(palette(ui).soft)))
}

/// One line in any font and colour, cut with an ellipsis where it does not fit.
pub fn text_line(ui: &mut Ui, text: impl Into<String>, font: FontId, colour: Color32) -> Response {
    ui.add(Label::new(RichText::new(text).font(font).color(colour)).truncate())
}

/// Text in any font and colour, wrapped into at most `rows` lines and cut with an ellipsis where that is too few.
fn text_lines(ui: &mut Ui, text: &str, font: FontId, colour: Color32, rows: usize) -> Response {
    let galley = wrapped(ui, text, font, colour, ui.available_width(), rows);
    ui.add(Label::new(galley))
}

/// Facts parted by dots, in at most `rows` lines that break at a dot where each fact finds room.
pub fn fact_lines(ui: &mut Ui, text: &str, font: FontId, colour: Color32, rows: usize) -> Response {
    const DOT: &str = " · ";
    let width = |line: &str| {
        ui.painter().layout_no_wrap(line.to_owned(), font.clone(), Color32::PLACEHOLDER).size().x
    };
    let (room, mut lines, mut line) = (ui.available_width(), String::new(), String::new());
    for fact in text.split(DOT) {
        let longer = if line.is_empty() { fact.to_owned() } else { format!("{line}{DOT}{fact}") };
        if line.is_empty() || width(&longer) <= room {
            line = longer;
        } else {
            lines += &format!("{line}\n");
            line = fact.to_owned();
        }
    }
    text_lines(ui, &(lines + &line), font, colour, rows)
}

/// At most `rows` lines of at most `width` points, cut with an ellipsis where that is too few.
#[must_use]
pub fn wrapped(ui: &Ui, text: &str, font: FontId, colour: Color32, width: f32, rows: usize) -> Arc<Galley> {
    let mut job = LayoutJob::simple(text.to_owned(), font, colour, width.max(0.0));
    job.wrap.max_rows = rows;
    ui.painter().layout_job(job)
}

/// Paints text with its left edge and its middle at `at`, in at most `rows` lines of at most `width` points.
pub fn lines_at(ui: &Ui, at: Pos2, text: &str, font: FontId, colour: Color32, width: f32, rows: usize) {
    let galley = wrapped(ui, text, font, colour, width, rows);
    ui.painter().galley(at - vec2(0.0, galley.size().y / 2.0), galley, colour);
}

/// One line laid out, cut with an ellipsis where it is wider than `width` points.
pub fn elided(ui: &Ui, text: &str, font: FontId, colour: Color32, width: f32) -> Arc<Galley> {
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font, colour);
    job.wrap = TextWrapping::truncate_at_width(width.max(0.0));
    ui.painter().layout_job(job)
}

/// Paints one line with its left edge and its middle at `at`, cut with an ellipsis where it is wider than `width` points.
pub fn line_at(ui: &Ui, at: Pos2, text: &str, font: FontId, colour: Color32, width: f32) {
    let galley = elided(ui, text, font, colour, width);
    ui.painter().galley(at - vec2(0.0, galley.size().y / 2.0), galley, colour);
}

/// The first of `sizes` at which each of `pieces` stays whole within `width` points, or the last.
pub fn size_for<'p>(
    ui: &Ui,
    pieces: impl Iterator<Item = &'p str> + Clone,
    font: fn(f32) -> FontId,
    sizes: &[f32],
    width: f32,
) -> f32 {
    let whole = |piece: &str, size: f32| {
        let galley = ui.painter().layout_no_wrap(piece.to_owned(), font(size), Color32::PLACEHOLDER);
        galley.size().x <= width
    };
    let fits = |size: &f32| pieces.clone().all(|piece| whole(piece, *size));
    sizes.iter().copied().find(fits).or(sizes.last().copied()).unwrap_or(scale::TICK)
}

/// A key as it stands on the keyboard. Decoration for the eye; the action's own name carries the meaning.
pub fn key_cap(ui: &mut Ui, key: &str) {
    let p = palette(ui);
    let galley = ui.painter().layout_no_wrap(key.to_owned(), scale::regular(scale::TICK), p.soft);
    let size = vec2((galley.size().x + 12.0).max(26.0), 24.0);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter().rect(rect, CornerRadius::same(4), p.page, Stroke::new(1.0, p.edge), StrokeKind::Inside);
    ui.painter().galley(rect.center() - galley.size() / 2.0, galley, p.soft);
}
