//! A station: grinder, machine, basket, and what can be measured.

use eframe::egui::{Id, Ui};

use super::{Dialog, Fate, first_focus, middle, part, save_row};
use crate::domain::Finer;
use crate::ui::app::App;
use crate::ui::widgets::{
    Caution, NumberField, TextField, caution_line, choice_row, fault_line, let_go_of_focus, small, soft,
    toggle,
};
use crate::units::{Quantity, UnitPreferences};
use crate::workbench::Command;
use crate::workbench::draft::{Faults, Field, Part, ScaleDraft, StationDraft};
use crate::workbench::view::care;

/// A station as typed.
pub struct StationForm {
    /// The fields.
    pub draft: StationDraft,
    opened: StationDraft,
    /// A new bag is waiting for it.
    pub then_bag: bool,
    insist: bool,
    seen: bool,
    /// The field that is to get the focus in the next frame.
    focus: Option<Id>,
}

impl StationForm {
    /// A form for a new station.
    #[must_use]
    pub fn new(units: &UnitPreferences) -> Self {
        Self::over(StationDraft::new(units))
    }

    /// A form over a draft.
    #[must_use]
    pub fn over(draft: StationDraft) -> Self {
        Self { opened: draft.clone(), draft, then_bag: false, insist: false, seen: false, focus: None }
    }

    /// Whether anything was typed in it.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.draft != self.opened
    }
}

fn id(what: &str) -> Id {
    Id::unique(("station-form", what))
}

/// The field that a fault is about.
fn field_id(field: Field) -> Option<Id> {
    Some(match field {
        Field::Name => id("name"),
        Field::GrindScale(_) | Field::DoseScale(_) | Field::YieldScale(_) | Field::TemperatureScale(_) => {
            Id::unique(("station-form", field))
        }
        Field::Micrometres => id("um"),
        Field::Retained => id("retained"),
        Field::BasketDiameter => id("diameter"),
        Field::BasketDose => id("stated"),
        Field::Pressure => id("pressure"),
        _ => return None,
    })
}

impl App {
    pub(super) fn station_form_ui(&mut self, ui: &mut Ui, mut form: Box<StationForm>, height: f32) -> Fate {
        let units = self.units();
        let faults = form.draft.faults(self.bench.notebook(), &units);
        let insist = form.insist;
        form.seen = form.seen || first_focus(ui, id("name"));
        if form.then_bag {
            soft(ui, word!("dialogs-station-first-the-station-your-grinders-own"));
        }
        let bad = form.focus.take();
        if let Some(bad) = bad {
            ui.memory_mut(|memory| memory.request_focus(bad));
            ui.ctx().request_repaint();
        }
        middle(ui, "station-form", height - if form.then_bag { 130.0 } else { 90.0 }, |ui| {
            fields(ui, &mut form.draft, &units, &faults, insist);
            if let Some(response) = bad.and_then(|bad| ui.ctx().read_response(bad)) {
                response.scroll_to_me(None);
            }
        });
        let first = if form.insist { faults.iter().next().map(|(_, text)| text) } else { None };
        if save_row(ui, word!("dialogs-station-save-the-station"), first) {
            let now = self.now();
            match form.draft.finish(self.bench.notebook(), now, &units) {
                Ok(station) => {
                    if self.edit(Command::SaveStation(Box::new(station))) {
                        if form.then_bag {
                            self.new_bag();
                            return Fate::Go(self.dialog.take());
                        }
                        return Fate::Go(Some(Dialog::Stations));
                    }
                }
                Err(faults) => {
                    form.insist = true;
                    let_go_of_focus(ui.ctx());
                    ui.ctx().request_repaint();
                    form.focus = faults.iter().find_map(|(field, _)| field_id(field));
                }
            }
        }
        Fate::Stay(Dialog::Station(form))
    }
}

fn fields(ui: &mut Ui, draft: &mut StationDraft, units: &UnitPreferences, faults: &Faults, insist: bool) {
    let fault = |ui: &mut Ui, field: Field| {
        if let Some(text) = faults.of(field).filter(|_| insist) {
            fault_line(ui, text);
        }
    };
    TextField::new(word!("dialogs-station-name-of-the-station"), id("name"))
        .hint(word!("dialogs-station-window-bar"))
        .width(320.0)
        .show(ui, &mut draft.name);
    fault(ui, Field::Name);
    ui.horizontal_wrapped(|ui| {
        TextField::new(word!("dialogs-station-grinder-in-your-words"), id("grinder"))
            .width(300.0)
            .show(ui, &mut draft.grinder_name);
        TextField::new(word!("dialogs-station-machine-in-your-words"), id("machine"))
            .width(300.0)
            .show(ui, &mut draft.machine_name);
    });
    part(ui, word!("dialogs-station-the-grinders-own-scale"));
    let scale_row = |ui: &mut Ui, of: fn(Part) -> Field, what: &str, unit: &str, draft: &mut ScaleDraft| {
        scale_row(ui, of, what, unit, draft, *units, (faults, insist));
    };
    scale_row(ui, Field::GrindScale, word!("work-draft-station-grind"), "", &mut draft.grind);
    ui.horizontal_wrapped(|ui| {
        ui.vertical(|ui| {
            small(ui, word!("dialogs-station-finer-is-toward"));
            let mut finer = Some(usize::from(draft.finer == Finer::Higher));
            choice_row(
                ui,
                id("finer"),
                word!("dialogs-station-finer-is-toward"),
                &[word!("dialogs-station-lower-numbers"), word!("dialogs-station-higher-numbers")],
                &mut finer,
                false,
            );
            draft.finer = if finer == Some(1) { Finer::Higher } else { Finer::Lower };
        });
        ui.vertical(|ui| {
            small(ui, word!("dialogs-station-the-dial"));
            let mut stepless = Some(usize::from(draft.stepless));
            choice_row(
                ui,
                id("stepless"),
                word!("dialogs-station-the-dial"),
                &[word!("dialogs-station-clicks"), word!("dialogs-station-stepless")],
                &mut stepless,
                false,
            );
            draft.stepless = stepless == Some(1);
        });
    });
    ui.horizontal_wrapped(|ui| {
        NumberField::plain(word!("dialogs-station-burr-travel-for-one-unit-if"), id("um"), 1, *units)
            .unit(word!("dialogs-station-m"))
            .without_steppers()
            .width(150.0)
            .fault(faults.of(Field::Micrometres), insist)
            .show(ui, &mut draft.um_per_unit);
        NumberField::quantity(
            word!("dialogs-station-grounds-retained"),
            id("retained"),
            Quantity::Dose,
            *units,
        )
        .without_steppers()
        .width(150.0)
        .fault(faults.of(Field::Retained), insist)
        .show(ui, &mut draft.retained);
    });
    let mass = units.convert(Quantity::Dose, 0.0).1;
    part(ui, word!("dialogs-station-doses-that-the-basket-takes"));
    scale_row(ui, Field::DoseScale, Quantity::Dose.name(), mass, &mut draft.dose);
    ui.horizontal_wrapped(|ui| {
        NumberField::plain(word!("dialogs-station-basket-inner-diameter"), id("diameter"), 1, *units)
            .unit("mm")
            .without_steppers()
            .width(150.0)
            .fault(faults.of(Field::BasketDiameter), insist)
            .show(ui, &mut draft.basket_diameter);
        NumberField::quantity(
            word!("dialogs-station-dose-stated-for-it"),
            id("stated"),
            Quantity::Dose,
            *units,
        )
        .without_steppers()
        .width(150.0)
        .fault(faults.of(Field::BasketDose), insist)
        .show(ui, &mut draft.basket_dose);
    });
    part(ui, word!("dialogs-station-yields-that-make-sense"));
    scale_row(ui, Field::YieldScale, Quantity::Yield.name(), mass, &mut draft.yield_);
    part(ui, word!("dialogs-station-the-machine"));
    ui.horizontal_wrapped(|ui| {
        toggle(ui, word!("dialogs-station-temperature-can-be-set"), &mut draft.temperature_settable);
        toggle(ui, word!("dialogs-station-strength-can-be-measured"), &mut draft.refractometer);
    });
    if draft.temperature_settable {
        let degrees = units.convert(Quantity::Temperature, 0.0).1;
        let what = Quantity::Temperature.name();
        scale_row(ui, Field::TemperatureScale, what, degrees, &mut draft.temperature);
    }
    NumberField::quantity(
        word!("dialogs-station-pump-pressure-if-known"),
        id("pressure"),
        Quantity::Pressure,
        *units,
    )
    .without_steppers()
    .width(150.0)
    .fault(faults.of(Field::Pressure), insist)
    .show(ui, &mut draft.pressure);
    TextField::new(word!("dialogs-station-note"), id("note")).rows(2).width(620.0).show(ui, &mut draft.note);
    caution_line(ui, Caution::Harm, care::AT_THE_STATION.word());
}

/// The three numbers of a range of `what`, each with what is wrong with it.
fn scale_row(
    ui: &mut Ui,
    of: fn(Part) -> Field,
    what: &str,
    unit: &str,
    draft: &mut ScaleDraft,
    units: UnitPreferences,
    (faults, insist): (&Faults, bool),
) {
    ui.horizontal_wrapped(|ui| {
        for (part, text) in Part::ALL.into_iter().zip([&mut draft.min, &mut draft.max, &mut draft.step]) {
            let (name, field) = (part.label(what), of(part));
            NumberField::plain(&name, Id::unique(("station-form", field)), 2, units)
                .unit(unit)
                .without_steppers()
                .width(150.0)
                .step(1.0)
                .fault(faults.of(field), insist)
                .show(ui, text);
        }
    });
}
