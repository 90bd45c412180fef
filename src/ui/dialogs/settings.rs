//! Settings: how things look, in which units, how one lives in the window.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, middle, part};
use crate::domain::{ThemeChoice, WayOfLiving};
use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{Button, choice_row, fault_line, small};
use crate::units::{MassUnit, PressureUnit, TemperatureUnit};
use crate::words::{self, Language};

const ZOOMS: [(f64, &str); 7] = [
    (0.8, "80 %"),
    (1.0, "100 %"),
    (1.25, "125 %"),
    (1.5, "150 %"),
    (1.75, "175 %"),
    (2.0, "200 %"),
    (2.5, "250 %"),
];

impl App {
    pub(super) fn settings_ui(&mut self, ui: &mut Ui, height: f32) -> Fate {
        let old = self.preferences();
        let mut new = old;
        let choose = |ui: &mut Ui, label: &str, words: &[&str], at: usize| -> usize {
            ui.vertical(|ui| {
                ui.spacing_mut().item_spacing.y = scale::GAP_1;
                small(ui, label);
                let mut chosen = Some(at);
                choice_row(ui, Id::unique(("settings", label)), label, words, &mut chosen, false);
                chosen.unwrap_or(at)
            })
            .inner
        };
        let mut notebook = false;
        middle(ui, "settings", height - 30.0, |ui| {
            part(ui, word!("dialogs-settings-way-of-living"));
            let ways = [WayOfLiving::Home, WayOfLiving::Bar, WayOfLiving::Class];
            let at = ways.iter().position(|way| *way == old.way).unwrap_or(0);
            let words = [
                word!("dialogs-settings-home-one-bag-calm"),
                word!("dialogs-settings-bar-large-targets"),
                word!("dialogs-settings-class-large-type"),
            ];
            new.way = ways
                .get(choose(ui, word!("dialogs-settings-how-the-window-is-used"), &words, at))
                .copied()
                .unwrap_or_default();
            part(ui, word!("dialogs-settings-looks"));
            let themes = [ThemeChoice::System, ThemeChoice::Light, ThemeChoice::Dark];
            let at = themes.iter().position(|theme| *theme == old.theme).unwrap_or(0);
            let words = [
                word!("dialogs-settings-as-the-system"),
                word!("dialogs-settings-light"),
                word!("dialogs-settings-dark"),
            ];
            new.theme = themes
                .get(choose(ui, word!("dialogs-settings-theme"), &words, at))
                .copied()
                .unwrap_or_default();
            let at = ZOOMS
                .iter()
                .enumerate()
                .min_by(|a, b| (a.1.0 - old.zoom).abs().total_cmp(&(b.1.0 - old.zoom).abs()))
                .map_or(1, |(at, _)| at);
            let zoomed =
                choose(ui, word!("dialogs-settings-zoom-ctrl-and-ctrl"), &ZOOMS.map(|zoom| zoom.1), at);
            if zoomed != at {
                new.zoom = ZOOMS.get(zoomed).map_or(1.0, |zoom| zoom.0);
            }
            self.language_ui(ui, choose);
            part(ui, word!("dialogs-settings-units"));
            ui.horizontal_wrapped(|ui| {
                let at = usize::from(old.units.mass == MassUnit::Ounce);
                new.units.mass = if choose(ui, word!("dialogs-settings-mass"), &["g", "oz"], at) == 1 {
                    MassUnit::Ounce
                } else {
                    MassUnit::Gram
                };
                let at = usize::from(old.units.temperature == TemperatureUnit::Fahrenheit);
                new.units.temperature =
                    if choose(ui, word!("dialogs-settings-temperature"), &["°C", "°F"], at) == 1 {
                        TemperatureUnit::Fahrenheit
                    } else {
                        TemperatureUnit::Celsius
                    };
                let at = usize::from(old.units.pressure == PressureUnit::Psi);
                new.units.pressure =
                    if choose(ui, word!("dialogs-settings-pressure"), &["bar", "psi"], at) == 1 {
                        PressureUnit::Psi
                    } else {
                        PressureUnit::Bar
                    };
                let at = usize::from(old.units.decimal_comma);
                new.units.decimal_comma =
                    choose(ui, word!("dialogs-settings-decimal-mark"), &["18.2", "18,2"], at) == 1;
            });
            part(ui, word!("dialogs-settings-the-notebook"));
            small(ui, say!("dialogs-settings-it-lies-in", place = self.place));
            small(ui, word!("dialogs-settings-every-change-is-on-disk-at"));
            let key = crate::ui::actions::key(crate::ui::actions::Action::Notebook);
            notebook =
                ui.add(Button::new(word!("dialogs-settings-backups-versions-sharing")).key(key)).clicked();
        });
        self.prefer(|preferences| *preferences = new);
        if notebook {
            return Fate::Go(Some(Dialog::notebook()));
        }
        Fate::Stay(Dialog::Settings)
    }

    /// The choice of a language, shown only where there is more than English; a damaged file is named.
    fn language_ui(&mut self, ui: &mut Ui, choose: impl Fn(&mut Ui, &str, &[&str], usize) -> usize) {
        let Some(folder) = self.words.clone() else { return };
        // Looked through when the dialog opens and once a second, not in every frame.
        let second = ui.input(|input| input.time) as u64;
        let id = Id::unique("settings-languages");
        let kept = ui.data(|data| data.get_temp::<(u64, std::sync::Arc<Vec<Language>>)>(id));
        let all = match kept {
            Some((at, all)) if at == second => all,
            _ => {
                let all = std::sync::Arc::new(words::languages(&folder));
                ui.data_mut(|data| data.insert_temp(id, (second, all.clone())));
                all
            }
        };
        if all.len() < 2 {
            return;
        }
        let sound: Vec<&Language> = all.iter().filter(|language| language.damage.is_none()).collect();
        let names: Vec<&str> = sound.iter().map(|language| language.name.as_str()).collect();
        let at = sound.iter().position(|language| language.tag == words::current().tag()).unwrap_or(0);
        let chosen = choose(ui, word!("words-settings-language"), &names, at);
        if chosen != at
            && let Some(language) = sound.get(chosen)
        {
            self.unspoken = None;
            if let Err(sentence) = words::choose(&folder, Some(&language.tag)) {
                self.say(sentence);
            }
        }
        for damage in all.iter().filter_map(|language| language.damage.as_deref()) {
            fault_line(ui, damage);
        }
    }
}
