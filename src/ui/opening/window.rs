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
        say!("opening-window-window-of", name = self.name)
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
        let (target, from, to) = (
            time(word!("opening-window-target"), &self.target)?,
            time(word!("opening-window-from"), &self.from)?,
            time("to", &self.to)?,
        );
        if !(from < target && target < to) {
            return Err(word!("opening-window-the-target-must-lie-between-the").to_owned());
        }
        if self.reason.trim().is_empty() {
            return Err(word!("opening-window-say-why-so-that-the-next").to_owned());
        }
        Ok((target, from, to))
    }
}

impl App {
    pub(in crate::ui) fn window_form_ui(&mut self, ui: &mut Ui, mut form: Box<WindowForm>) -> Fate {
        let units = self.units();
        soft(ui, say!("opening-window-now-from", why = form.why));
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_4;
            for (label, text) in [
                (word!("opening-window-target-2"), &mut form.target),
                (word!("opening-window-from-2"), &mut form.from),
                (word!("opening-window-to"), &mut form.to),
            ] {
                let id = Id::unique(("window-form", label));
                NumberField::quantity(label, id, Quantity::Time, units).step(0.5).show(ui, text);
            }
        });
        let reason = TextField::new(word!("opening-window-why"), Id::unique("window-reason"));
        reason
            .hint(word!("opening-window-for-example-the-queue-is-long"))
            .width(480.0)
            .show(ui, &mut form.reason);
        let read = form.read(&units);
        let fault = read.as_ref().err().filter(|_| form.insist).cloned();
        let mut usual = false;
        let set = self.bench.notebook().bag(form.bag).is_some_and(|bag| bag.time_window_s.is_some());
        if set {
            usual = ui.add(Button::quiet(word!("opening-window-back-to-the-models-window"))).clicked();
        }
        small(ui, word!("opening-window-the-reason-is-kept-in-the"));
        if save_row(ui, word!("opening-window-save"), fault.as_deref()) {
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
