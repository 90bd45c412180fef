//! The window and the target of a coffee, changed with the reason.

use eframe::egui::{Id, Ui};

use crate::domain::{Bag, BagId};
use crate::ui::app::App;
use crate::ui::dialogs::{Dialog, Fate, save_row};
use crate::ui::theme::scale;
use crate::ui::widgets::{Button, NumberField, TextField, small, soft};
use crate::units::{Quantity, UnitPreferences};
use crate::workbench::Command;
use crate::workbench::draft::typed;
use crate::workbench::view::opening::CoffeeRow;
use crate::workbench::view::opening::notes::{window_line, window_reason, with_window_line};

/// A window as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowForm {
    bag: BagId,
    name: String,
    why: String,
    target: String,
    from: String,
    to: String,
    reason: String,
    opened: Option<Box<WindowForm>>,
    insist: bool,
}

impl WindowForm {
    /// The form of a coffee with a keeper.
    pub(super) fn of(bag: &Bag, row: &CoffeeRow, units: &UnitPreferences) -> Option<Self> {
        let target = bag.keeper.as_ref()?.time_s?;
        let (from, to) = row.window_s;
        let time = |s: f64| typed(Quantity::Time, s, units);
        let mut form = Self {
            bag: bag.id,
            name: row.name.clone(),
            why: row.window_why.clone(),
            target: time(target),
            from: time(from),
            to: time(to),
            reason: window_reason(&bag.note, (from, to)).unwrap_or_default().to_owned(),
            opened: None,
            insist: false,
        };
        form.opened = Some(Box::new(form.clone()));
        Some(form)
    }

    /// The dialog's title.
    #[must_use]
    pub fn title(&self) -> String {
        format!("Window of {}", self.name)
    }

    /// Whether anything was typed in it.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.opened.as_ref().is_some_and(|opened| {
            (&opened.target, &opened.from, &opened.to, &opened.reason)
                != (&self.target, &self.from, &self.to, &self.reason)
        })
    }

    /// Target, from and to, seconds, or what is wrong.
    fn read(&self, units: &UnitPreferences) -> Result<(f64, f64, f64), String> {
        let time = |name: &str, text: &str| {
            let unit = units.typed_unit(Quantity::Time);
            Quantity::Time.parse(text, unit).map_err(|fault| format!("{name}: {fault}"))
        };
        let (target, from, to) =
            (time("target", &self.target)?, time("from", &self.from)?, time("to", &self.to)?);
        if !(from < target && target < to) {
            return Err("the target must lie between the two ends".to_owned());
        }
        if self.reason.trim().is_empty() {
            return Err("say why, so that the next shift knows".to_owned());
        }
        Ok((target, from, to))
    }
}

impl App {
    pub(in crate::ui) fn window_form_ui(&mut self, ui: &mut Ui, mut form: Box<WindowForm>) -> Fate {
        let units = self.units();
        soft(ui, format!("Now from: {}.", form.why));
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_4;
            for (label, text) in
                [("Target", &mut form.target), ("From", &mut form.from), ("To", &mut form.to)]
            {
                let id = Id::unique(("window-form", label));
                NumberField::quantity(label, id, Quantity::Time, units).step(0.5).show(ui, text);
            }
        });
        let reason = TextField::new("Why", Id::unique("window-reason"));
        reason.hint("for example: the queue is long").width(480.0).show(ui, &mut form.reason);
        let read = form.read(&units);
        let fault = read.as_ref().err().filter(|_| form.insist).cloned();
        let mut usual = false;
        let set = self.bench.notebook().bag(form.bag).is_some_and(|bag| bag.time_window_s.is_some());
        if set {
            usual = ui.add(Button::quiet("Back to the model's window")).clicked();
        }
        small(ui, "The reason is kept in the bag's note.");
        if save_row(ui, "Save", fault.as_deref()) {
            match read {
                Ok((target, from, to)) => {
                    if self.set_window(&form, target, Some((from, to))) {
                        return Fate::Go(None);
                    }
                }
                Err(_) => form.insist = true,
            }
        }
        if usual {
            let target = form.read(&units).map_or(None, |(target, ..)| Some(target));
            let kept = self.bench.notebook().bag(form.bag).and_then(|b| b.keeper.as_ref()?.time_s);
            if let Some(target) = target.or(kept)
                && self.set_window(&form, target, None)
            {
                return Fate::Go(None);
            }
        }
        Fate::Stay(Dialog::Window(form))
    }

    fn set_window(&mut self, form: &WindowForm, target: f64, window: Option<(f64, f64)>) -> bool {
        let Some(bag) = self.bench.notebook().bag(form.bag) else { return false };
        let mut sheet = bag.sheet();
        sheet.time_window_s = window;
        if let Some((from, to)) = window {
            sheet.note = with_window_line(&sheet.note, &window_line(from, to, &form.reason));
        }
        if let Some(keeper) = &mut sheet.keeper {
            keeper.time_s = Some(target);
        }
        self.edit(Command::SaveBag(Box::new(sheet)))
    }
}
