//! What stands where nothing is yet: what comes here, and the one thing to do.

use eframe::egui::{Sense, Ui, Vec2};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};

use super::Button;

/// Draws an icon, a sentence, and perhaps one button. Returns whether the button was pressed.
pub fn empty_state(ui: &mut Ui, icon: Icon, title: &str, text: &str, action: Option<(&str, &str)>) -> bool {
    let p = palette(ui);
    let mut pressed = false;
    ui.vertical_centered(|ui| {
        ui.add_space(scale::GAP_5);
        let (rect, _) = ui.allocate_exact_size(Vec2::splat(56.0), Sense::hover());
        icon.paint(ui.painter(), rect, p.edge);
        ui.add_space(scale::GAP_2);
        super::heading(ui, title);
        ui.scope(|ui| {
            ui.set_max_width(440.0);
            super::soft(ui, text);
        });
        if let Some((label, key)) = action {
            ui.add_space(scale::GAP_3);
            pressed = ui.add(Button::primary(label).key(key)).clicked();
        }
    });
    pressed
}
