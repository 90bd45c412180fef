//! The key sheet, and the list of what was found wrong.

use eframe::egui::{self, Ui};

use super::{Dialog, Fate, middle};
use crate::ui::actions::{Cap, Group, TABLE};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::scale;
use crate::ui::widgets::{body, empty_state, fault_line, heading, key_cap, overline, small};
use crate::words::Name;

/// A part of the key sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    Of(Group),
    Entering,
    Opening,
    Practice,
}

/// Parts by column, where the window is wide and where it is not.
const THREE: [&[Part]; 3] = [
    &[Part::Of(Group::Pull), Part::Entering, Part::Opening],
    &[Part::Of(Group::Ledger), Part::Of(Group::Shelf), Part::Practice],
    &[Part::Of(Group::Notebook), Part::Of(Group::Everywhere)],
];
const TWO: [&[Part]; 2] = [
    &[Part::Of(Group::Pull), Part::Of(Group::Shelf), Part::Entering, Part::Opening],
    &[Part::Of(Group::Ledger), Part::Of(Group::Notebook), Part::Of(Group::Everywhere), Part::Practice],
];

const ENTRY: [(Cap, Name); 7] = [
    (Cap::Each(&[Cap::TAB, Cap::ENTER]), name!("dialogs-sheets-next-field-from-the-numbers-to-the")),
    (Cap::Sign("1 … 5"), name!("dialogs-sheets-a-mark-from-far-too-little-to")),
    (Cap::Sign("S B T O A W"), name!("dialogs-sheets-to-a-row-sour-bitter-strength-body")),
    (Cap::Sign("L, N"), name!("dialogs-sheets-to-liking-to-the-note")),
    (Cap::Sign("0"), name!("dialogs-sheets-take-a-mark-back")),
    (Cap::Sign("↑ ↓"), name!("dialogs-sheets-step-a-number-change-the-row")),
    (Cap::ENTER, name!("dialogs-sheets-in-the-marks-save-and-show-the")),
];

/// Draws the key sheet.
pub(super) fn keys_ui(ui: &mut Ui, height: f32) {
    middle(ui, "keys", height - 20.0, |ui| {
        let part = |ui: &mut Ui, part: Part| match part {
            Part::Of(group) => {
                overline(ui, group.name().word());
                for row in TABLE.iter().filter(|row| row.group == group) {
                    line(ui, row.key.text(), row.name);
                }
            }
            Part::Entering => {
                overline(ui, word!("dialogs-sheets-while-entering-a-pull"));
                for (key, text) in ENTRY {
                    line(ui, key.text(), text);
                }
            }
            Part::Opening => {
                overline(ui, word!("dialogs-sheets-on-the-opening"));
                for (key, text) in crate::ui::opening::KEYS {
                    line(ui, key.text(), text);
                }
            }
            Part::Practice => {
                overline(ui, word!("dialogs-sheets-on-the-practice-bench"));
                for (key, text) in crate::ui::practice::KEYS {
                    line(ui, key.text(), text);
                }
            }
        };
        let columns: &[&[Part]] = if ui.available_width() >= 960.0 { &THREE } else { &TWO };
        ui.columns(columns.len(), |places| {
            for (ui, parts) in places.iter_mut().zip(columns) {
                ui.spacing_mut().item_spacing = egui::vec2(scale::GAP_2, scale::GAP_1);
                for one in *parts {
                    part(ui, *one);
                    ui.add_space(scale::GAP_3);
                }
            }
        });
    });
}

fn line(ui: &mut Ui, key: &str, text: Name) {
    ui.horizontal_top(|ui| {
        ui.scope(|ui| {
            ui.set_min_width(96.0);
            ui.set_max_width(96.0);
            key_cap(ui, key);
        });
        small(ui, text.word());
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
        for part in [Part::Entering, Part::Opening, Part::Practice] {
            assert!(THREE.iter().any(|column| column.contains(&part)), "{part:?}");
            assert!(TWO.iter().any(|column| column.contains(&part)), "{part:?}");
        }
        for row in TABLE {
            let part = Part::Of(row.group);
            assert!(THREE.iter().any(|column| column.contains(&part)), "{:?} of {part:?}", row.action);
            assert!(TWO.iter().any(|column| column.contains(&part)), "{:?} of {part:?}", row.action);
        }
    }
}
