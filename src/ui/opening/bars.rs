//! Other bars: the notebooks of several shops in one view, read as they stand on disk, never written.

use eframe::egui::{Id, Ui};

use super::bar::head;
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, TextField, body, entered, fault_line, icon_button, small, soft, text_line};
use crate::workbench::view::opening::{Wish, name_of};
use crate::workbench::{BarAnswers, Desk, ManyBars, bar_reader, typed_path};

/// The folders and what was found in them.
#[derive(Default)]
pub(super) struct OtherBars {
    typed: String,
    desk: Option<Desk<ManyBars, BarAnswers>>,
    found: Option<BarAnswers>,
    fault: Option<String>,
}

impl OtherBars {
    pub(super) fn poll(&mut self) {
        if let Some(desk) = &mut self.desk
            && desk.poll()
        {
            match desk.take() {
                Some(Ok(found)) => self.found = Some(found),
                Some(Err(sentence)) => self.fault = Some(sentence),
                None => {}
            }
        }
    }

    /// Forgets what was found, to be said in another language.
    pub(super) fn say_again(&mut self) {
        (self.found, self.fault) = (None, None);
    }

    pub(super) fn is_busy(&self) -> bool {
        self.desk.as_ref().is_some_and(Desk::is_busy)
    }
}

impl App {
    pub(super) fn opening_bars_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        soft(ui, word!("opening-bars-the-notebooks-of-other-shops-beside"));
        let (mut add, mut again, mut drop) = (false, false, None);
        ui.horizontal(|ui| {
            let id = Id::unique("opening-bars");
            let width = (ui.available_width() - 260.0).clamp(160.0, 620.0);
            let field = TextField::new(word!("opening-bars-folder-of-another-bars-notebook"), id)
                .hint(word!("opening-bars-folder-of-a-notebook"))
                .width(width);
            let response = field.bare(ui, &mut self.opening.bars.typed);
            let response = response.accessible_name(word!("opening-bars-folder-of-another-bars-notebook"));
            add |= entered(ui, &response, &self.opening.bars.typed);
            add |= ui.add(Button::new(word!("opening-bars-add")).icon(Icon::Plus)).clicked();
            if !self.standing.bars(&self.place).is_empty() {
                again = ui.add(Button::quiet(word!("opening-bars-look-again"))).clicked();
            }
        });
        if add && let Some(folder) = typed_path(&self.opening.bars.typed) {
            let kept = self.standing.show_bar(&self.place, &folder, true);
            self.tell_refused(kept);
            self.opening.bars.typed.clear();
            again = true;
        }
        if let Some(fault) = &self.opening.bars.fault {
            fault_line(ui, fault);
        }
        let found = self.opening.bars.found.clone().unwrap_or_default();
        for folder in self.standing.bars(&self.place).to_vec() {
            ui.horizontal(|ui| {
                ui.set_min_height(crate::ui::theme::look(ui).target);
                let label = say!("opening-bars-take-off", name_of = name_of(&folder));
                if icon_button(ui, Icon::Cross, &label, true).clicked() {
                    drop = Some(folder.clone());
                }
                head(ui, &name_of(&folder));
            });
            match found.iter().find(|(of, _)| *of == folder).map(|(_, bar)| bar) {
                None => {
                    soft(ui, word!("opening-bars-looking"));
                }
                Some(Err(sentence)) => {
                    fault_line(ui, sentence);
                }
                Some(Ok(bar)) => {
                    body(ui, format!("{} · {}", bar.opening.headline, bar.opening.hand_over.sunk));
                    for row in &bar.opening.coffees {
                        let words = format!("{} · {} · {}", row.name, row.station_name, row.verdict);
                        text_line(ui, words, scale::semibold(scale::BODY), p.ink);
                        let last =
                            row.last.as_ref().map_or(word!("opening-bars-no-pull-yet").to_owned(), |l| {
                                format!("{} {}", l.time, l.when)
                            });
                        let parts =
                            [row.how.as_str(), row.figure.as_str(), row.window.as_str(), last.as_str()];
                        let parts: Vec<&str> = parts.into_iter().filter(|w| !w.is_empty()).collect();
                        small(ui, parts.join(" · "));
                    }
                    for one in &bar.opening.unkept {
                        small(ui, format!("{} · {}: {}", one.name, one.station, one.words));
                    }
                    if !bar.problems.is_empty() {
                        small(
                            ui,
                            say!("opening-bars-of-its-files-could-not-be", problems = bar.problems.len()),
                        );
                    }
                }
            }
        }
        if let Some(folder) = drop {
            let kept = self.standing.show_bar(&self.place, &folder, false);
            self.tell_refused(kept);
        }
        let bars = &self.opening.bars;
        let unseen = bars.found.is_none() && bars.fault.is_none() && !bars.is_busy();
        if again || (unseen && !self.standing.bars(&self.place).is_empty()) {
            self.look_at_bars();
        }
    }

    fn look_at_bars(&mut self) {
        let preferences = self.preferences();
        let wish = Wish {
            false_a_month: preferences.false_a_month,
            hide_names: preferences.hide_names,
            ..Wish::default()
        };
        let asked = ManyBars {
            folders: self.standing.bars(&self.place).to_vec(),
            now: self.now(),
            zone: self.zone.clone(),
            wish,
            aside: self.bench.aside().cloned(),
        };
        let ctx = self.opening.ctx.clone();
        let bars = &mut self.opening.bars;
        bars.fault = None;
        let desk = bars.desk.get_or_insert_with(|| {
            Desk::start("bars", bar_reader(), Box::new(move || ctx.request_repaint()))
        });
        desk.ask(asked);
    }
}
