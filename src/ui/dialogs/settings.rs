//! Settings: how things look, in which units, how one lives in the window.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, middle, part};
use crate::domain::{ThemeChoice, WayOfLiving};
use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{Button, choice_row, fault_line, small};
use crate::units::{MassUnit, PressureUnit, TemperatureUnit};
use crate::words::{self, Language};

const ZOOMS: [f64; 7] = [0.8, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5];

/// The sizes to choose from, with the one that the keys made in its place among them.
fn zooms(own: f64) -> Vec<(f64, String)> {
    let mut all = ZOOMS.to_vec();
    if !all.contains(&own) {
        all.push(own);
        all.sort_by(f64::total_cmp);
    }
    all.into_iter().map(|zoom| (zoom, format!("{:.0} %", zoom * 100.0))).collect()
}

/// A row of choices under its label; gives the place of the chosen one.
fn choose(ui: &mut Ui, label: &str, words: &[&str], at: usize) -> usize {
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        small(ui, label);
        let mut chosen = Some(at);
        choice_row(ui, Id::unique(("settings", label)), label, words, &mut chosen, false);
        chosen.unwrap_or(at)
    })
    .inner
}

/// As [`choose`] among values, each with its word.
fn one_of<T: Copy + PartialEq>(ui: &mut Ui, label: &str, all: &[(T, &str)], now: T) -> T {
    let words: Vec<&str> = all.iter().map(|(_, word)| *word).collect();
    let at = all.iter().position(|(value, _)| *value == now).unwrap_or(0);
    all.get(choose(ui, label, &words, at)).map_or(now, |(value, _)| *value)
}

impl App {
    pub(super) fn settings_ui(&mut self, ui: &mut Ui, height: f32) -> Fate {
        let old = self.preferences();
        let mut new = old;
        let mut notebook = false;
        middle(ui, "settings", height - 30.0, |ui| {
            part(ui, word!("dialogs-settings-way-of-living"));
            let ways = [
                (WayOfLiving::Home, word!("dialogs-settings-home-one-bag-calm")),
                (WayOfLiving::Bar, word!("dialogs-settings-bar-large-targets")),
                (WayOfLiving::Class, word!("dialogs-settings-class-large-type")),
            ];
            new.way = one_of(ui, word!("dialogs-settings-how-the-window-is-used"), &ways, old.way);
            part(ui, word!("dialogs-settings-advice"));
            let levers = [
                (false, word!("dialogs-settings-one-lever-or-more")),
                (true, word!("dialogs-settings-one-lever-only")),
            ];
            new.one_lever = one_of(ui, word!("dialogs-settings-from-pull-to-pull"), &levers, old.one_lever);
            part(ui, word!("dialogs-settings-looks"));
            let themes = [
                (ThemeChoice::System, word!("dialogs-settings-as-the-system")),
                (ThemeChoice::Light, word!("dialogs-settings-light")),
                (ThemeChoice::Dark, word!("dialogs-settings-dark")),
            ];
            new.theme = one_of(ui, word!("dialogs-settings-theme"), &themes, old.theme);
            let zooms = zooms(old.zoom);
            let zooms: Vec<(f64, &str)> = zooms.iter().map(|(zoom, word)| (*zoom, word.as_str())).collect();
            new.zoom = one_of(ui, word!("dialogs-settings-zoom-ctrl-and-ctrl"), &zooms, old.zoom);
            self.language_ui(ui);
            part(ui, word!("dialogs-settings-units"));
            ui.horizontal_wrapped(|ui| {
                let (now, units) = (old.units, &mut new.units);
                let masses = [(MassUnit::Gram, "g"), (MassUnit::Ounce, "oz")];
                units.mass = one_of(ui, word!("dialogs-settings-mass"), &masses, now.mass);
                let degrees = [(TemperatureUnit::Celsius, "°C"), (TemperatureUnit::Fahrenheit, "°F")];
                units.temperature =
                    one_of(ui, word!("dialogs-settings-temperature"), &degrees, now.temperature);
                let pressures = [(PressureUnit::Bar, "bar"), (PressureUnit::Psi, "psi")];
                units.pressure = one_of(ui, word!("dialogs-settings-pressure"), &pressures, now.pressure);
                let marks = [(false, "18.2"), (true, "18,2")];
                units.decimal_comma =
                    one_of(ui, word!("dialogs-settings-decimal-mark"), &marks, now.decimal_comma);
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
    fn language_ui(&mut self, ui: &mut Ui) {
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
            self.say_again(ui.ctx());
        }
        for damage in all.iter().filter_map(|language| language.damage.as_deref()) {
            fault_line(ui, damage);
        }
    }
}
