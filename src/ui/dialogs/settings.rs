//! Settings: how things look, in which units, how one lives in the window.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, middle, part};
use crate::domain::{ThemeChoice, WayOfLiving};
use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{Button, choice_row, small};
use crate::units::{MassUnit, PressureUnit, TemperatureUnit};

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
            part(ui, "Way of living");
            let ways = [WayOfLiving::Home, WayOfLiving::Bar, WayOfLiving::Class];
            let at = ways.iter().position(|way| *way == old.way).unwrap_or(0);
            let words = ["home: one bag, calm", "bar: large targets", "class: large type"];
            new.way = ways.get(choose(ui, "How the window is used", &words, at)).copied().unwrap_or_default();
            part(ui, "Looks");
            let themes = [ThemeChoice::System, ThemeChoice::Light, ThemeChoice::Dark];
            let at = themes.iter().position(|theme| *theme == old.theme).unwrap_or(0);
            let words = ["as the system", "light", "dark"];
            new.theme = themes.get(choose(ui, "Theme", &words, at)).copied().unwrap_or_default();
            let at = ZOOMS
                .iter()
                .enumerate()
                .min_by(|a, b| (a.1.0 - old.zoom).abs().total_cmp(&(b.1.0 - old.zoom).abs()))
                .map_or(1, |(at, _)| at);
            let zoomed = choose(ui, "Zoom  (Ctrl + and Ctrl −)", &ZOOMS.map(|zoom| zoom.1), at);
            if zoomed != at {
                new.zoom = ZOOMS.get(zoomed).map_or(1.0, |zoom| zoom.0);
            }
            part(ui, "Units");
            ui.horizontal_wrapped(|ui| {
                let at = usize::from(old.units.mass == MassUnit::Ounce);
                new.units.mass =
                    if choose(ui, "Mass", &["g", "oz"], at) == 1 { MassUnit::Ounce } else { MassUnit::Gram };
                let at = usize::from(old.units.temperature == TemperatureUnit::Fahrenheit);
                new.units.temperature = if choose(ui, "Temperature", &["°C", "°F"], at) == 1 {
                    TemperatureUnit::Fahrenheit
                } else {
                    TemperatureUnit::Celsius
                };
                let at = usize::from(old.units.pressure == PressureUnit::Psi);
                new.units.pressure = if choose(ui, "Pressure", &["bar", "psi"], at) == 1 {
                    PressureUnit::Psi
                } else {
                    PressureUnit::Bar
                };
                let at = usize::from(old.units.decimal_comma);
                new.units.decimal_comma = choose(ui, "Decimal mark", &["18.2", "18,2"], at) == 1;
            });
            part(ui, "The notebook");
            small(ui, format!("It lies in {}", self.place));
            small(ui, "Every change is on disk at once; closing the window loses nothing.");
            let key = crate::ui::actions::key(crate::ui::actions::Action::Notebook);
            notebook = ui.add(Button::new("Backups, versions, sharing…").key(key)).clicked();
        });
        self.prefer(|preferences| *preferences = new);
        if notebook {
            return Fate::Go(Some(Dialog::notebook()));
        }
        Fate::Stay(Dialog::Settings)
    }
}
