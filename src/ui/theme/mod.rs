//! The design system: type, distances, colours, icons. Nothing else in the window makes a colour or a font size.

pub mod colour;
mod fonts;
pub mod icons;
pub mod ordered;
pub mod scale;

use std::sync::Arc;

use eframe::egui::style::{HandleShape, ScrollStyle, Style, TextCursorStyle, WidgetVisuals, Widgets};
use eframe::egui::{
    self, Color32, Context, CornerRadius, Margin, Shadow, Stroke, TextStyle, Ui, Vec2, Visuals,
};

pub use colour::Palette;
pub use fonts::{definitions, install};

/// Which colours, how large the targets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The colours.
    pub palette: &'static Palette,
    /// Height of a control, points.
    pub target: f32,
}

impl Look {
    /// Home on light paper.
    pub const LIGHT: Self = Self { palette: &colour::LIGHT, target: scale::TARGET };
    /// Home in a dim room.
    pub const DARK: Self = Self { palette: &colour::DARK, target: scale::TARGET };
    /// For a projector.
    pub const PROJECTOR: Self = Self { palette: &colour::PROJECTOR, target: scale::TARGET };

    /// The same with the large targets of bar mode.
    #[must_use]
    pub fn for_bar(self) -> Self {
        Self { target: scale::TARGET_BAR, ..self }
    }
}

pub(super) fn look_id() -> egui::Id {
    egui::Id::unique("thirdpull-look")
}

/// Puts a look into force. Cheap when it already is.
pub fn apply(ctx: &Context, look: Look) {
    if ctx.data(|data| data.get_temp::<Look>(look_id())) == Some(look) {
        return;
    }
    ctx.data_mut(|data| data.insert_temp(look_id(), look));
    let style = Arc::new(style(look));
    ctx.set_theme(if look.palette.dark { egui::Theme::Dark } else { egui::Theme::Light });
    ctx.set_style_of(egui::Theme::Dark, Arc::clone(&style));
    ctx.set_style_of(egui::Theme::Light, style);
}

/// The look in force.
#[must_use]
pub fn look(ui: &Ui) -> Look {
    ui.ctx().data(|data| data.get_temp::<Look>(look_id())).unwrap_or(Look::LIGHT)
}

/// The colours in force.
#[must_use]
pub fn palette(ui: &Ui) -> &'static Palette {
    look(ui).palette
}

/// The focus ring: drawn around whatever the keyboard is on (WCAG 2.2, 2.4.13).
pub fn focus_ring(ui: &Ui, response: &egui::Response, radius: f32) {
    if response.has_focus() {
        let p = palette(ui);
        ui.painter().rect_stroke(
            response.rect.expand(2.0),
            CornerRadius::same((radius + 2.0) as u8),
            Stroke::new(2.5, p.accent),
            egui::StrokeKind::Outside,
        );
    }
}

fn widget(fill: Color32, edge: Color32, text: Color32) -> WidgetVisuals {
    WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: Stroke::new(1.0, edge),
        corner_radius: CornerRadius::same(6),
        fg_stroke: Stroke::new(1.5, text),
        expansion: 0.0,
    }
}

fn style(look: Look) -> Style {
    let p = look.palette;
    let mut style = Style {
        text_styles: [
            (TextStyle::Small, scale::regular(scale::SMALL)),
            (TextStyle::Body, scale::regular(scale::BODY)),
            (TextStyle::Button, scale::regular(scale::BODY)),
            (TextStyle::Monospace, scale::regular(scale::BODY)),
            (TextStyle::Heading, scale::semibold(scale::HEADING)),
        ]
        .into(),
        animation_time: 0.0,
        ..Style::default()
    };
    style.spacing.item_spacing = Vec2::new(scale::GAP_2, scale::GAP_2);
    style.spacing.button_padding = Vec2::new(scale::GAP_3, scale::GAP_2);
    style.spacing.interact_size = Vec2::new(look.target, look.target);
    style.spacing.window_margin = Margin::same(scale::GAP_5 as i8);
    style.spacing.menu_margin = Margin::same(scale::GAP_2 as i8);
    style.spacing.icon_width = 24.0;
    style.spacing.icon_width_inner = 14.0;
    style.spacing.combo_height = 360.0;
    style.spacing.scroll =
        ScrollStyle { bar_width: 8.0, floating_allocated_width: 8.0, ..ScrollStyle::thin() };
    style.interaction.selectable_labels = false;
    style.interaction.tooltip_delay = 0.4;
    style.visuals = Visuals {
        dark_mode: p.dark,
        override_text_color: None,
        weak_text_color: Some(p.soft),
        widgets: Widgets {
            noninteractive: widget(p.page, p.hairline, p.ink),
            // The stronger fill is that of rails, handles and scroll bars, which have no outline.
            inactive: WidgetVisuals { bg_fill: p.edge, ..widget(p.button, p.edge, p.ink) },
            hovered: WidgetVisuals { bg_fill: p.soft, ..widget(p.hover, p.ink, p.ink) },
            active: WidgetVisuals { bg_fill: p.accent, ..widget(p.selected, p.accent, p.ink) },
            open: widget(p.selected, p.accent, p.ink),
        },
        hyperlink_color: p.accent,
        faint_bg_color: p.shelf,
        extreme_bg_color: p.raised,
        text_edit_bg_color: Some(p.raised),
        code_bg_color: p.shelf,
        warn_fg_color: p.warn,
        error_fg_color: p.bad,
        window_corner_radius: CornerRadius::same(10),
        window_shadow: Shadow { offset: [0, 6], blur: 28, spread: 0, color: Color32::from_black_alpha(70) },
        window_fill: p.page,
        window_stroke: Stroke::new(1.0, p.edge),
        menu_corner_radius: CornerRadius::same(8),
        panel_fill: p.page,
        popup_shadow: Shadow { offset: [0, 3], blur: 14, spread: 0, color: Color32::from_black_alpha(60) },
        text_cursor: TextCursorStyle {
            stroke: Stroke::new(2.0, p.accent),
            blink: false,
            ..TextCursorStyle::default()
        },
        handle_shape: HandleShape::Circle,
        disabled_alpha: 0.55,
        ..if p.dark { Visuals::dark() } else { Visuals::light() }
    };
    style.visuals.selection.bg_fill = p.selected;
    style.visuals.selection.stroke = Stroke::new(1.5, p.ink);
    style
}

#[cfg(test)]
mod tests {
    use super::colour::contrast;
    use super::{Look, style};

    /// WCAG 2.2, 1.4.11: what is needed to find and use a control 3:1.
    #[test]
    fn rails_and_scroll_bars_can_be_seen() {
        for look in [Look::LIGHT, Look::DARK, Look::PROJECTOR] {
            let (p, style) = (look.palette, style(look));
            let widgets = &style.visuals.widgets;
            for (state, visuals) in [
                ("at rest", &widgets.inactive),
                ("under the pointer", &widgets.hovered),
                ("held", &widgets.active),
            ] {
                for ground in [p.page, p.shelf, p.raised, style.visuals.extreme_bg_color] {
                    let got = contrast(visuals.bg_fill, ground);
                    assert!(got >= 3.0, "dark {}, {state}: {got:.2}", p.dark);
                }
            }
        }
    }
}
