//! Sentences beside things: a fault, a caution.

use eframe::egui::{CornerRadius, Frame, Margin, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};

/// What a caution warns of; decides nothing but its icon's name for screen readers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caution {
    /// A hand is about to be hurt.
    Harm,
    /// Something to know.
    Note,
}

/// A sentence about what is wrong with the thing above it.
pub fn fault_line(ui: &mut Ui, text: &str) -> Response {
    let p = palette(ui);
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = scale::GAP_1;
        let (rect, _) = ui.allocate_exact_size(Vec2::splat(18.0), Sense::hover());
        Icon::Caution.paint(ui.painter(), rect, p.bad);
        let mut text = text.to_owned();
        if let Some(first) = text.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        let text = eframe::egui::RichText::new(text).font(scale::regular(scale::SMALL)).color(p.bad);
        ui.add(eframe::egui::Label::new(text).wrap())
    })
    .inner
}

/// A sentence of caution, on its own ground.
pub fn caution_line(ui: &mut Ui, kind: Caution, text: &str) -> Response {
    let p = palette(ui);
    let (icon, colour, back) = match kind {
        Caution::Harm => (Icon::Caution, p.warn, p.warn_back),
        Caution::Note => (Icon::About, p.soft, p.shelf),
    };
    let inner = Frame::NONE
        .fill(back)
        .stroke(Stroke::new(1.0, if kind == Caution::Harm { p.warn } else { p.hairline }))
        .corner_radius(CornerRadius::same(6))
        .inner_margin(Margin::symmetric(scale::GAP_2 as i8, 6))
        .show(ui, |ui| {
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(Vec2::splat(20.0), Sense::hover());
                icon.paint(ui.painter(), Rect::from_center_size(rect.center(), Vec2::splat(18.0)), colour);
                let text = eframe::egui::RichText::new(text).font(scale::regular(scale::SMALL)).color(p.ink);
                ui.add(eframe::egui::Label::new(text).wrap());
            });
        });
    inner.response.widget_info(|| WidgetInfo::labeled(Role::Note, true, text));
    inner.response
}

/// What is asked about before something is saved that can hardly be as it was typed.
pub fn doubt_lines(ui: &mut Ui, doubts: &[String]) {
    for text in doubts {
        caution_line(ui, Caution::Note, &say!("widgets-notice-save-once-more", text = text));
    }
}

/// A sentence of caution that stands there all the time: small, and without a ground of its own.
pub fn standing_caution(ui: &mut Ui, text: &str) -> Response {
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = scale::GAP_1;
        caution_mark(ui);
        super::small(ui, text)
    })
    .inner
}

/// The same in the rest of a row of buttons, whose height holds two lines. False, and nothing drawn, where they are too
/// few.
pub fn standing_caution_beside(ui: &mut Ui, text: &str) -> bool {
    let room = ui.available_size_before_wrap().x - MARK - scale::GAP_2;
    let galley = super::wrapped(ui, text, scale::regular(scale::SMALL), palette(ui).soft, room, 2);
    if room < LEAST_BESIDE || galley.elided {
        return false;
    }
    ui.spacing_mut().item_spacing.x = scale::GAP_1;
    caution_mark(ui);
    ui.add(eframe::egui::Label::new(galley));
    true
}

/// Side of the mark before a standing caution, points.
const MARK: f32 = 18.0;

/// Width below which nothing is said beside a row of buttons, points.
const LEAST_BESIDE: f32 = 240.0;

fn caution_mark(ui: &mut Ui) {
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(MARK), Sense::hover());
    Icon::Caution.paint(ui.painter(), rect.shrink(1.0), palette(ui).warn);
}
