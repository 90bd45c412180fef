//! Buttons.

use eframe::egui::{
    CornerRadius, CursorIcon, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, Vec2, Widget, WidgetInfo,
    pos2, vec2,
};

use super::text::elided;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{focus_ring, look, scale};

/// How much weight a button has on its screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ButtonKind {
    /// The main action; at most one on a screen.
    Primary,
    /// An ordinary action.
    #[default]
    Plain,
    /// An action in a row of many: no outline until pointed at.
    Quiet,
}

/// A button with a text, perhaps an icon before it and the key that does the same behind it.
#[derive(Debug, Clone)]
pub struct Button<'a> {
    label: &'a str,
    key: Option<&'a str>,
    icon: Option<Icon>,
    kind: ButtonKind,
    width: Option<f32>,
    height: Option<f32>,
    left: bool,
    on: Option<bool>,
}

impl<'a> Button<'a> {
    /// An ordinary button.
    #[must_use]
    pub fn new(label: &'a str) -> Self {
        Self {
            label,
            key: None,
            icon: None,
            kind: ButtonKind::Plain,
            width: None,
            height: None,
            left: false,
            on: None,
        }
    }

    /// The main action of the screen.
    #[must_use]
    pub fn primary(label: &'a str) -> Self {
        Self { kind: ButtonKind::Primary, ..Self::new(label) }
    }

    /// A button without an outline.
    #[must_use]
    pub fn quiet(label: &'a str) -> Self {
        Self { kind: ButtonKind::Quiet, ..Self::new(label) }
    }

    /// Shows the key that does the same.
    #[must_use]
    pub fn key(mut self, key: &'a str) -> Self {
        self.key = (!key.is_empty()).then_some(key);
        self
    }

    /// Draws an icon before the text.
    #[must_use]
    pub fn icon(mut self, icon: Icon) -> Self {
        self.icon = Some(icon);
        self
    }

    /// At least this wide, points.
    #[must_use]
    pub fn width(mut self, width: f32) -> Self {
        self.width = Some(width);
        self
    }

    /// It switches something, which is on or off now; an outline shows that it is on.
    #[must_use]
    pub fn on(mut self, on: bool) -> Self {
        self.on = Some(on);
        self
    }

    /// The text stands at the left edge.
    #[must_use]
    pub fn left(mut self) -> Self {
        self.left = true;
        self
    }

    /// This high, points, in place of the look's target height.
    #[must_use]
    pub fn height(mut self, height: f32) -> Self {
        self.height = Some(height);
        self
    }
}

impl Widget for Button<'_> {
    fn ui(self, ui: &mut Ui) -> Response {
        let look = look(ui);
        let p = look.palette;
        let primary = self.kind == ButtonKind::Primary;
        let ink = if primary { p.on_accent } else { p.ink };
        let font = if primary { scale::semibold(scale::BODY) } else { scale::regular(scale::BODY) };
        let key_ink = if primary { p.on_accent } else { p.soft };
        let key = self
            .key
            .map(|key| ui.painter().layout_no_wrap(key.to_owned(), scale::regular(scale::TICK), key_ink));
        let pad = scale::GAP_3;
        let icon = if self.icon.is_some() { 20.0 + scale::GAP_2 } else { 0.0 };
        // Where a language is too long for the row, the key goes first, then the end of the label.
        let row = ui.max_rect().width() - pad * 2.0 - icon;
        let label = elided(ui, self.label, font, ink, row);
        let key = key.filter(|key| label.size().x + key.size().x + 12.0 + scale::GAP_2 <= row);
        let cap = key.as_ref().map_or(0.0, |key| key.size().x + 12.0 + scale::GAP_2);
        let wanted = pad * 2.0 + icon + label.size().x + cap;
        let size = vec2(wanted.max(self.width.unwrap_or(0.0)), self.height.unwrap_or(look.target));
        let (rect, response) = ui.allocate_exact_size(size, Sense::click());
        let enabled = ui.is_enabled();
        response.widget_info(|| match self.on {
            Some(on) => WidgetInfo::selected(Role::Button, enabled, on, self.label),
            None => WidgetInfo::labeled(Role::Button, enabled, self.label),
        });
        if ui.is_rect_visible(rect) {
            let warm = response.hovered() && enabled;
            let pressed = response.is_pointer_button_down_on();
            let (fill, edge) = match self.kind {
                _ if self.on == Some(true) => (if warm { p.hover } else { p.selected }, p.accent),
                ButtonKind::Primary if warm || pressed => (p.ink, p.ink),
                ButtonKind::Primary => (p.accent, p.accent),
                ButtonKind::Plain if pressed => (p.selected, p.accent),
                ButtonKind::Plain => (if warm { p.hover } else { p.button }, p.edge),
                ButtonKind::Quiet if warm || pressed => (p.hover, p.hover),
                ButtonKind::Quiet => (eframe::egui::Color32::TRANSPARENT, eframe::egui::Color32::TRANSPARENT),
            };
            let ink = if primary && (warm || pressed) { p.page } else { ink };
            let key_ink = if primary && (warm || pressed) { p.page } else { key_ink };
            ui.painter().rect(rect, CornerRadius::same(7), fill, Stroke::new(1.0, edge), StrokeKind::Inside);
            let content = icon + label.size().x + cap;
            let mut x = match self.kind {
                _ if self.left => rect.left() + pad,
                ButtonKind::Quiet => rect.left() + pad,
                _ => rect.center().x - content / 2.0,
            };
            if let Some(icon) = self.icon {
                let square = Rect::from_min_size(pos2(x, rect.center().y - 10.0), Vec2::splat(20.0));
                icon.paint(ui.painter(), square, ink);
                x += 20.0 + scale::GAP_2;
            }
            let at = pos2(x, rect.center().y - label.size().y / 2.0);
            x += label.size().x + scale::GAP_2;
            ui.painter().galley_with_override_text_color(at, label, ink);
            if let Some(key) = key {
                let cap =
                    Rect::from_min_size(pos2(x, rect.center().y - 11.0), vec2(key.size().x + 12.0, 22.0));
                ui.painter().rect_stroke(cap, 4.0, Stroke::new(1.0, key_ink), StrokeKind::Inside);
                let at = cap.center() - key.size() / 2.0;
                ui.painter().galley_with_override_text_color(at, key, key_ink);
            }
            focus_ring(ui, &response, 7.0);
        }
        response.on_hover_cursor(CursorIcon::PointingHand)
    }
}

/// A square button that shows only an icon; `label` is its name for screen readers and its hint.
pub fn icon_button(ui: &mut Ui, icon: Icon, label: &str, enabled: bool) -> Response {
    let look = look(ui);
    let p = look.palette;
    ui.add_enabled_ui(enabled, |ui| {
        let (rect, response) = ui.allocate_exact_size(Vec2::splat(look.target), Sense::click());
        response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, label));
        if ui.is_rect_visible(rect) {
            if response.hovered() || response.is_pointer_button_down_on() {
                ui.painter().rect_filled(rect, CornerRadius::same(7), p.hover);
            }
            icon.paint(ui.painter(), rect.shrink(11.0), p.ink);
            focus_ring(ui, &response, 7.0);
        }
        response.on_hover_text(label).on_disabled_hover_text(label)
    })
    .inner
}
