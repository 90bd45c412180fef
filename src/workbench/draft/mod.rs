//! Half-typed records: what a person has in the fields before it is saved. Text stays as typed until it is checked;
//! checking says, field by field, what to do.

mod bag;
mod pull;
mod station;
mod temperature;

pub use bag::BagDraft;
pub use pull::PullDraft;
pub use station::{DrinkerDraft, ScaleDraft, StationDraft};

use crate::units::{Quantity, UnitPreferences};

/// A field of any draft, to put a fault beside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Field {
    Name,
    Grind,
    Dose,
    Yield,
    Temperature,
    Time,
    FirstDrip,
    Strength,
    Liking,
    RoastedOn,
    OpenedOn,
    Mass,
    Price,
    TimeFrom,
    TimeTo,
    GrindScale,
    DoseScale,
    YieldScale,
    TemperatureScale,
    Micrometres,
    Retained,
    Pressure,
    BasketDiameter,
    BasketDose,
    Station,
    Drinker,
}

/// What is wrong, field by field, in sentences that say what to do. Empty when all is well.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Faults(Vec<(Field, String)>);

impl Faults {
    /// The sentence for one field.
    #[must_use]
    pub fn of(&self, field: Field) -> Option<&str> {
        self.0.iter().find(|(at, _)| *at == field).map(|(_, text)| text.as_str())
    }

    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All faults, in the order of the fields.
    pub fn iter(&self) -> impl Iterator<Item = (Field, &str)> {
        self.0.iter().map(|(field, text)| (*field, text.as_str()))
    }

    pub(crate) fn add(&mut self, field: Field, text: impl Into<String>) {
        self.0.push((field, text.into()));
    }

    /// Notes the fault, if any, and gives the value back.
    pub(crate) fn take<T, E: std::fmt::Display>(&mut self, field: Field, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(fault) => {
                self.add(field, fault.to_string());
                None
            }
        }
    }

    /// Reads an optional quantity: empty text is `None` without a fault.
    pub(crate) fn optional(
        &mut self,
        field: Field,
        quantity: Quantity,
        text: &str,
        units: &UnitPreferences,
    ) -> Option<f64> {
        if text.trim().is_empty() {
            return None;
        }
        self.take(field, quantity.parse(text, units.typed_unit(quantity)))
    }

    /// Reads a quantity that must be there.
    pub(crate) fn needed(
        &mut self,
        field: Field,
        quantity: Quantity,
        text: &str,
        units: &UnitPreferences,
    ) -> Option<f64> {
        self.take(field, quantity.parse(text, units.typed_unit(quantity)))
    }
}

/// A value as a person would type it back: in the preferred unit, without the unit.
#[must_use]
pub fn typed(quantity: Quantity, base: f64, units: &UnitPreferences) -> String {
    let (value, _, decimals) = units.convert(quantity, base);
    units.number(value, decimals).replace('\u{2212}', "-")
}

/// A setting of the grinder as a person would type it.
#[must_use]
pub fn typed_setting(value: f64, decimals: usize, units: &UnitPreferences) -> String {
    units.number(value, decimals).replace('\u{2212}', "-")
}
