//! The sheet of a bag.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, first_focus, middle, part, save_row};
use crate::domain::{DrinkerId, Process, RecordKey, Roast, StationId};
use crate::ui::app::App;
use crate::ui::widgets::{Button, NumberField, TextField, choice_row, fault_line, pick, small};
use crate::units::Quantity;
use crate::workbench::Command;
use crate::workbench::draft::{BagDraft, Field};

/// A bag's sheet as typed.
pub struct BagForm {
    /// The fields.
    pub draft: BagDraft,
    opened: BagDraft,
    insist: bool,
    fresh: bool,
}

impl BagForm {
    /// A form over a draft.
    #[must_use]
    pub fn new(draft: BagDraft) -> Self {
        Self { opened: draft.clone(), draft, insist: false, fresh: true }
    }

    /// Whether anything was typed in it.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.draft != self.opened
    }
}

fn id(what: &str) -> Id {
    Id::unique(("bag-form", what))
}

impl App {
    pub(super) fn bag_form_ui(&mut self, ui: &mut Ui, mut form: Box<BagForm>, height: f32) -> Fate {
        let (units, today) = (self.units(), self.today());
        let faults = form.draft.faults(self.bench.notebook(), today, &units);
        let insist = form.insist;
        form.fresh = form.fresh && !first_focus(ui, id("name"));
        let stations: Vec<(StationId, String)> = self
            .bench
            .notebook()
            .stations
            .iter()
            .filter(|s| s.stamp.is_live() && (!s.archived || Some(s.id) == form.draft.station))
            .map(|s| (s.id, s.name.clone()))
            .collect();
        let drinkers: Vec<(DrinkerId, String)> = self
            .bench
            .notebook()
            .drinkers
            .iter()
            .filter(|d| d.stamp.is_live() && (!d.archived || Some(d.id) == form.draft.drinker))
            .map(|d| (d.id, d.name.clone()))
            .collect();
        let station = form.draft.station.and_then(|id| self.bench.notebook().station(id)).cloned();
        let mut restart = false;
        middle(ui, "bag-form", height - 90.0, |ui| {
            let draft = &mut form.draft;
            let text_fault = |ui: &mut Ui, field: Field| {
                if let Some(fault) = faults.of(field).filter(|_| insist) {
                    fault_line(ui, fault);
                }
            };
            ui.horizontal_wrapped(|ui| {
                ui.vertical(|ui| {
                    TextField::new(word!("dialogs-bag-name-on-the-bag"), id("name"))
                        .width(320.0)
                        .show(ui, &mut draft.name);
                    text_fault(ui, Field::Name);
                });
                TextField::new(word!("dialogs-bag-roaster"), id("roaster"))
                    .width(260.0)
                    .show(ui, &mut draft.roaster);
            });
            small(ui, word!("dialogs-bag-roast"));
            let mut roast = draft.roast.and_then(|r| Roast::ALL.iter().position(|one| *one == r));
            if choice_row(
                ui,
                id("roast"),
                word!("dialogs-bag-roast"),
                &Roast::ALL.map(Roast::word),
                &mut roast,
                true,
            )
            .changed()
            {
                draft.roast = roast.and_then(|at| Roast::ALL.get(at).copied());
                restart = draft.id.is_none();
            }
            small(ui, word!("dialogs-bag-process"));
            let mut process = draft.process.and_then(|p| Process::ALL.iter().position(|one| *one == p));
            let words = Process::ALL.map(Process::word);
            if choice_row(ui, id("process"), word!("dialogs-bag-process"), &words, &mut process, true)
                .changed()
            {
                draft.process = process.and_then(|at| Process::ALL.get(at).copied());
            }
            ui.horizontal_wrapped(|ui| {
                for (label, key, text, field) in [
                    (
                        word!("dialogs-bag-roasted-on"),
                        word!("dialogs-bag-roasted"),
                        &mut draft.roasted_on,
                        Field::RoastedOn,
                    ),
                    (
                        word!("dialogs-bag-opened-on-empty-resting"),
                        word!("dialogs-bag-opened"),
                        &mut draft.opened_on,
                        Field::OpenedOn,
                    ),
                ] {
                    ui.vertical(|ui| {
                        TextField::new(label, id(key)).hint("2026-11-25").width(190.0).show(ui, text);
                        ui.set_max_width(260.0);
                        text_fault(ui, field);
                    });
                }
            });
            ui.horizontal_wrapped(|ui| {
                NumberField::quantity(
                    word!("dialogs-bag-mass-when-full"),
                    id("mass"),
                    Quantity::BeanMass,
                    units,
                )
                .fault(faults.of(Field::Mass), insist)
                .show(ui, &mut draft.mass);
                NumberField::plain(word!("dialogs-bag-price"), id("price"), 2, units)
                    .step(0.5)
                    .without_steppers()
                    .fault(faults.of(Field::Price), insist)
                    .show(ui, &mut draft.price);
                TextField::new(word!("dialogs-bag-currency"), id("currency"))
                    .hint(word!("dialogs-bag-eur"))
                    .width(80.0)
                    .show(ui, &mut draft.currency);
            });
            part(ui, word!("dialogs-bag-where-and-for-whom"));
            ui.horizontal_wrapped(|ui| {
                ui.vertical(|ui| {
                    small(ui, word!("dialogs-bag-station"));
                    let shown = name_of(&stations, draft.station);
                    let names: Vec<String> = stations.iter().map(|one| one.1.clone()).collect();
                    if let Some(at) =
                        pick(ui, id("station"), word!("dialogs-bag-station"), &shown, &names, 280.0)
                    {
                        draft.station = stations.get(at).map(|one| one.0);
                        restart = true;
                    }
                    text_fault(ui, Field::Station);
                });
                ui.vertical(|ui| {
                    small(ui, word!("dialogs-bag-drinker"));
                    let shown = name_of(&drinkers, draft.drinker);
                    let names: Vec<String> = drinkers.iter().map(|one| one.1.clone()).collect();
                    if let Some(at) =
                        pick(ui, id("drinker"), word!("dialogs-bag-drinker"), &shown, &names, 280.0)
                    {
                        draft.drinker = drinkers.get(at).map(|one| one.0);
                    }
                    text_fault(ui, Field::Drinker);
                });
            });
            part(ui, word!("dialogs-bag-where-to-begin-leave-the-grind"));
            ui.horizontal_wrapped(|ui| {
                let decimals = station.as_ref().map_or(1, |s| s.gear.grind.scale.decimals());
                let step = station.as_ref().map_or(1.0, |s| s.gear.grind.scale.step());
                NumberField::plain(word!("view-words-grind"), id("grind"), decimals, units)
                    .step(step)
                    .fault(faults.of(Field::Grind), insist)
                    .show(ui, &mut draft.grind);
                NumberField::quantity(word!("view-words-dose"), id("dose"), Quantity::Dose, units)
                    .fault(faults.of(Field::Dose), insist)
                    .show(ui, &mut draft.dose);
                NumberField::quantity(word!("view-words-yield"), id("yield"), Quantity::Yield, units)
                    .fault(faults.of(Field::Yield), insist)
                    .show(ui, &mut draft.yield_);
                if station.as_ref().is_some_and(|s| s.gear.temperature_c.is_some()) {
                    NumberField::quantity(
                        word!("view-words-temperature"),
                        id("temperature"),
                        Quantity::Temperature,
                        units,
                    )
                    .fault(faults.of(Field::Temperature), insist)
                    .show(ui, &mut draft.temperature);
                }
            });
            part(ui, word!("dialogs-bag-time-window-of-the-house-may"));
            ui.horizontal_wrapped(|ui| {
                NumberField::quantity(word!("dialogs-bag-from"), id("from"), Quantity::Time, units)
                    .start(25.0)
                    .fault(faults.of(Field::TimeFrom), insist)
                    .show(ui, &mut draft.time_from);
                NumberField::quantity(word!("dialogs-bag-to"), id("to"), Quantity::Time, units)
                    .start(32.0)
                    .fault(faults.of(Field::TimeTo), insist)
                    .show(ui, &mut draft.time_to);
            });
            TextField::new(word!("dialogs-bag-note"), id("note"))
                .rows(2)
                .width(640.0)
                .show(ui, &mut draft.note);
        });
        if restart {
            form.draft.start_from_history(self.bench.notebook(), &units);
        }
        let mut fate = None;
        ui.horizontal(|ui| {
            let label = if form.draft.id.is_some() {
                word!("dialogs-bag-save")
            } else {
                word!("dialogs-bag-put-it-on-the-shelf")
            };
            let first = if form.insist { faults.iter().next().map(|(_, text)| text) } else { None };
            if save_row(ui, label, first) {
                let now = self.now();
                match form.draft.finish(self.bench.notebook(), today, now, &units) {
                    Ok(bag) => {
                        let id = bag.id;
                        if self.edit(Command::SaveBag(Box::new(bag))) {
                            self.page.go_to(Some(id));
                            fate = Some(Fate::Go(None));
                        }
                    }
                    Err(_) => form.insist = true,
                }
            }
            if let Some(id) = form.draft.id
                && ui.add(Button::quiet(word!("dialogs-bag-remove-this-bag"))).clicked()
                && self.edit(Command::Remove(RecordKey::Bag(id)))
            {
                self.page.go_to(crate::workbench::view::shelf::first_bag(self.bench.notebook()));
                fate = Some(Fate::Go(None));
            }
        });
        fate.unwrap_or(Fate::Stay(Dialog::Bag(form)))
    }
}

fn name_of<T: PartialEq + Copy>(list: &[(T, String)], chosen: Option<T>) -> String {
    list.iter()
        .find(|one| Some(one.0) == chosen)
        .map_or(word!("dialogs-bag-choose").to_owned(), |one| one.1.clone())
}
