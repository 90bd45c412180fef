//! The key sheet, and the list of what was found wrong.

use eframe::egui::{self, Ui};

use super::{Dialog, Fate, middle};
use crate::ui::actions::{Row, TABLE};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::scale;
use crate::ui::widgets::{body, empty_state, fault_line, heading, key_cap, overline, small};

const ENTERING: &str = "While entering a pull";
const PRACTICE: &str = "On the practice bench";
/// Groups of keys by column, where the window is wide and where it is not.
const THREE: [&[&str]; 3] =
    [&["Pull", ENTERING], &["Ledger and strips", "Shelf", PRACTICE], &["Notebook", "Everywhere"]];
const TWO: [&[&str]; 2] =
    [&["Pull", "Shelf", ENTERING], &["Ledger and strips", "Notebook", "Everywhere", PRACTICE]];

const ENTRY: [(&str, &str); 7] = [
    ("Tab, Enter", "Next field; from the numbers to the marks"),
    ("1 … 5", "A mark from far too little to far too much, then the next row"),
    ("S B T O A W", "To a row: sour, bitter, strength, body, astringent, sweet"),
    ("L, N", "To liking, to the note"),
    ("0", "Take a mark back"),
    ("↑ ↓", "Step a number, change the row"),
    ("Enter", "In the marks: save and show the next pull"),
];

/// Draws the key sheet.
pub(super) fn keys_ui(ui: &mut Ui, height: f32) {
    let mut groups: Vec<(&str, Vec<&Row>)> = Vec::new();
    for row in TABLE {
        match groups.iter_mut().find(|(name, _)| *name == row.group) {
            Some((_, rows)) => rows.push(row),
            None => groups.push((row.group, vec![row])),
        }
    }
    middle(ui, "keys", height - 20.0, |ui| {
        let group = |ui: &mut Ui, name: &str| {
            let rows = groups.iter().find(|(known, _)| *known == name).map_or(&[][..], |(_, rows)| rows);
            overline(ui, name);
            for row in rows {
                line(ui, row.key, row.name);
            }
            for (key, text) in ENTRY.iter().filter(|_| name == ENTERING) {
                line(ui, key, text);
            }
            for (key, text) in crate::ui::practice::KEYS.iter().filter(|_| name == PRACTICE) {
                line(ui, key, text);
            }
            ui.add_space(scale::GAP_3);
        };
        let columns: &[&[&str]] = if ui.available_width() >= 960.0 { &THREE } else { &TWO };
        ui.columns(columns.len(), |places| {
            for (ui, names) in places.iter_mut().zip(columns) {
                ui.spacing_mut().item_spacing = egui::vec2(scale::GAP_2, scale::GAP_1);
                for name in *names {
                    group(ui, name);
                }
            }
        });
    });
}

fn line(ui: &mut Ui, key: &str, text: &str) {
    ui.horizontal_top(|ui| {
        ui.scope(|ui| {
            ui.set_min_width(96.0);
            ui.set_max_width(96.0);
            key_cap(ui, key);
        });
        small(ui, text);
    });
}

impl App {
    pub(super) fn problems_ui(&mut self, ui: &mut Ui, height: f32) -> Fate {
        let problems = self.all_problems();
        middle(ui, "problems", height - 40.0, |ui| {
            if problems.is_empty() {
                empty_state(
                    ui,
                    Icon::Check,
                    word!("dialogs-sheets-all-is-well"),
                    word!("dialogs-sheets-every-file-of-the-notebook-was"),
                    None,
                );
                return;
            }
            body(ui, word!("dialogs-sheets-the-rest-of-the-notebook-is"));
            heading(ui, say!("dialogs-sheets-to-look-at", problems = problems.len()));
            for problem in &problems {
                fault_line(ui, problem);
            }
        });
        Fate::Stay(Dialog::Problems)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_has_its_place_on_the_sheet() {
        for row in TABLE {
            assert!(THREE.iter().any(|column| column.contains(&row.group)), "{} of {}", row.name, row.group);
            assert!(TWO.iter().any(|column| column.contains(&row.group)), "{} of {}", row.name, row.group);
        }
    }
}
