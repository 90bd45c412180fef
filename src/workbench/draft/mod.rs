//! Half-typed records: what a person has in the fields before it is saved. Text stays as typed until it is checked;
//! checking says, field by field, what to do.

mod asked;
mod bag;
mod pull;
mod station;
mod temperature;

pub use asked::AskedOnce;
pub use bag::BagDraft;
pub use pull::PullDraft;
pub use station::{DrinkerDraft, ScaleDraft, StationDraft};

use crate::units::{Quantity, UnitPreferences, parse_number};

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
    GrindScale(Part),
    DoseScale(Part),
    YieldScale(Part),
    TemperatureScale(Part),
    Micrometres,
    Retained,
    Pressure,
    BasketDiameter,
    BasketDose,
    Station,
    Drinker,
}

/// Which number of a settable range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Part {
    /// The smallest value.
    Smallest,
    /// The largest value.
    Largest,
    /// The step.
    Step,
}

impl Part {
    /// All three, in the order of the form.
    pub const ALL: [Self; 3] = [Self::Smallest, Self::Largest, Self::Step];

    /// Label of its field in a range of `what`: "Smallest grind".
    #[must_use]
    pub fn label(self, what: &str) -> String {
        match self {
            Self::Smallest => say!("work-draft-smallest", what = what),
            Self::Largest => say!("work-draft-largest", what = what),
            Self::Step => say!("work-draft-step", what = what),
        }
    }
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
        form: Form<'_>,
    ) -> Option<f64> {
        if text.trim().is_empty() {
            return None;
        }
        self.needed(field, quantity, text, form)
    }

    /// Reads a quantity that must be there.
    pub(crate) fn needed(
        &mut self,
        field: Field,
        quantity: Quantity,
        text: &str,
        form: Form<'_>,
    ) -> Option<f64> {
        let read = match form.kept(field, text) {
            Some(value) => quantity.check(value),
            None => quantity.parse(text, form.units.typed_unit(quantity)),
        };
        self.take(field, read)
    }

    /// Reads a number without a unit that must be there.
    pub(crate) fn number(&mut self, field: Field, text: &str, form: Form<'_>) -> Option<f64> {
        match form.kept(field, text) {
            Some(value) => Some(value),
            None => self.take(field, parse_number(text)),
        }
    }
}

/// What a draft was filled with: each text and the value that it stands for. A field whose text is still that one keeps
/// the value to the last bit, so that nothing changes by having been shown rounded or in another unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Filled(Vec<Filling>);

#[derive(Debug, Clone, PartialEq)]
struct Filling {
    field: Field,
    text: String,
    value: f64,
    units: UnitPreferences,
}

impl Filled {
    /// Remembers what a field's text stands for and gives the text back.
    fn put(&mut self, field: Field, value: f64, text: String, units: &UnitPreferences) -> String {
        self.0.retain(|filling| filling.field != field);
        self.0.push(Filling { field, text: text.clone(), value, units: *units });
        text
    }

    /// A quantity, as [`typed`].
    fn quantity(&mut self, field: Field, quantity: Quantity, base: f64, units: &UnitPreferences) -> String {
        self.put(field, base, typed(quantity, base, units), units)
    }

    /// A quantity that may be missing; no text then.
    fn optional(
        &mut self,
        field: Field,
        quantity: Quantity,
        base: Option<f64>,
        units: &UnitPreferences,
    ) -> String {
        base.map(|base| self.quantity(field, quantity, base, units)).unwrap_or_default()
    }
}

/// A form while it is read: what it was filled with, and the units in which bare numbers are typed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Form<'a> {
    filled: &'a Filled,
    units: &'a UnitPreferences,
}

impl Form<'_> {
    /// The value that a field was filled with, while its text is what was put there.
    fn kept(&self, field: Field, text: &str) -> Option<f64> {
        let put = self.filled.0.iter().find(|filling| filling.field == field)?;
        (put.text == text && put.units == *self.units).then_some(put.value)
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
