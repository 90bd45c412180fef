//! All actions by name: type a few letters, Enter does the first.

use eframe::egui::{self, Id, Key, Modifiers, Ui};

use super::{Dialog, Fate, middle};
use crate::ui::actions::{Action, Row, TABLE};
use crate::ui::app::App;
use crate::ui::widgets::{Button, TextField, small};

/// What was typed.
#[derive(Debug, Clone, Default)]
pub struct PaletteForm {
    typed: String,
    at: usize,
}

impl App {
    pub(super) fn palette_ui(&mut self, ui: &mut Ui, mut form: PaletteForm, height: f32) -> Fate {
        let id = Id::unique("palette");
        ui.memory_mut(|memory| memory.request_focus(id));
        let (up, down, enter, away) = ui.input_mut(|input| {
            (
                input.consume_key(Modifiers::NONE, Key::ArrowUp),
                input.consume_key(Modifiers::NONE, Key::ArrowDown),
                input.consume_key(Modifiers::NONE, Key::Enter),
                input.consume_key(Modifiers::NONE, Key::Escape),
            )
        });
        if away {
            return Fate::Go(None);
        }
        let field = TextField::new(word!("dialogs-palette-action"), id)
            .hint(word!("dialogs-palette-type-a-few-letters"))
            .width(500.0);
        if field.bare(ui, &mut form.typed).accessible_name(word!("dialogs-palette-action")).changed() {
            form.at = 0;
        }
        let needle = form.typed.to_lowercase();
        let fits = |row: &&Row| {
            row.action != Action::Palette
                && needle.split_whitespace().all(|word| self.action_name(row).to_lowercase().contains(word))
        };
        let found: Vec<&Row> = TABLE.iter().filter(fits).collect();
        form.at = match (up, down) {
            (true, _) => form.at.saturating_sub(1),
            (_, true) => (form.at + 1).min(found.len().saturating_sub(1)),
            _ => form.at,
        };
        let mut chosen = enter.then(|| found.get(form.at).map(|row| row.action)).flatten();
        middle(ui, "palette", height - 80.0, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            for (at, row) in found.iter().enumerate() {
                let name = self.action_name(row);
                let button = if at == form.at { Button::new(&name) } else { Button::quiet(&name) };
                let response = ui.add(button.key(row.key.text()).width(500.0).height(40.0).left());
                if at == form.at && (up || down) {
                    response.scroll_to_me(Some(egui::Align::Center));
                }
                if response.clicked() {
                    chosen = Some(row.action);
                }
            }
            if found.is_empty() {
                small(ui, word!("dialogs-palette-nothing-is-called-so"));
            }
        });
        match chosen {
            Some(Action::Cancel) => Fate::Go(None),
            Some(action) => {
                self.act(&ui.ctx().clone(), action);
                Fate::Go(self.dialog.take())
            }
            None => Fate::Stay(Dialog::Palette(form)),
        }
    }
}
