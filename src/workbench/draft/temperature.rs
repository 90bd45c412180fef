//! Brew temperatures as typed: 93 °F where 93 °C was meant can be real for water, but not for brewing.

use super::{Faults, Field, Form};
use crate::domain::Scale;
use crate::units::{Quantity, TemperatureUnit, Unit, UnitPreferences};

/// Water that brews coffee under pressure, °C, with room either way (common practice, no source).
pub(super) const BREWING_C: (f64, f64) = (60.0, 110.0);

/// How far outside the range that its station can be set to a pull's water may have been, kelvin (common practice, no
/// source). Machines drift and overshoot by a few; the two scales lie 55 or more apart.
const FAR_K: f64 = 15.0;

impl Faults {
    /// Reads an optional brew temperature in °C. One far outside what the station can be set to is asked about, where it
    /// cannot be set one at which nothing is brewed.
    pub(super) fn brew_temperature(
        &mut self,
        text: &str,
        settable: Option<Scale>,
        form: Form<'_>,
    ) -> Option<f64> {
        let units = form.units;
        let value = self.optional(Field::Temperature, Quantity::Temperature, text, form)?;
        let usual = settable.map_or(BREWING_C, |scale| (scale.min() - FAR_K, scale.max() + FAR_K));
        if (usual.0..=usual.1).contains(&value) {
            return Some(value);
        }
        let typed = Quantity::Temperature.read(text, units.typed_unit(Quantity::Temperature)).ok();
        let sentence = typed.and_then(|(number, unit)| other_scale(number, unit, usual, units));
        self.add(
            Field::Temperature,
            sentence.unwrap_or_else(|| {
                let (low, high) = settable.map_or(BREWING_C, |scale| (scale.min(), scale.max()));
                say!(
                    "work-draft-temperature-far",
                    value = units.value(Quantity::Temperature, value),
                    range = units.span(Quantity::Temperature, low, high, 0)
                )
            }),
        );
        None
    }
}

/// The question about a number that is outside `usual`, °C, in the scale in which it was typed and inside it in the
/// other.
pub(super) fn other_scale(
    number: f64,
    unit: Unit,
    usual: (f64, f64),
    units: &UnitPreferences,
) -> Option<String> {
    let (other, there) = match unit {
        Unit::Fahrenheit => (Unit::Celsius, TemperatureUnit::Celsius),
        Unit::Celsius => (Unit::Fahrenheit, TemperatureUnit::Fahrenheit),
        _ => return None,
    };
    let inside = |unit: Unit| (usual.0..=usual.1).contains(&unit.to_base(number));
    if inside(unit) || !inside(other) {
        return None;
    }
    let shown = |value: f64, unit: Unit| {
        let decimals = usize::from((value - value.round()).abs() >= 0.05);
        format!("{} {}", units.number(value, decimals), unit.symbol())
    };
    let there = UnitPreferences { temperature: there, ..*units };
    let (understood, ..) = there.convert(Quantity::Temperature, unit.to_base(number));
    Some(say!(
        "work-draft-temperature-other-scale",
        typed = shown(number, unit),
        understood = shown(understood, other),
        meant = shown(number, other)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::draft::Filled;

    #[test]
    fn the_other_scale_is_asked_about_and_what_is_near_is_taken() {
        let units = UnitPreferences::default();
        let settable = Scale::new("temperature", 88.0, 96.0, 0.5).ok();
        let read = |text: &str, settable, units: &UnitPreferences| {
            let mut faults = Faults::default();
            let form = Form { filled: &Filled::default(), units };
            let value = faults.brew_temperature(text, settable, form);
            (value, faults.of(Field::Temperature).unwrap_or_default().to_owned())
        };
        let asked = "93 °F is 33.9 °C; did you mean 93 °C?";
        assert_eq!(read("93F", settable, &units), (None, asked.to_owned()));
        assert_eq!(read("93F", None, &units), (None, asked.to_owned()));
        assert_eq!(read("80", settable, &units), (Some(80.0), String::new()));
        assert_eq!(read("", settable, &units), (None, String::new()));
        let (none, far) = read("40", settable, &units);
        assert!(none.is_none() && far.contains("88–96 °C"), "{far}");
        let there = UnitPreferences { temperature: TemperatureUnit::Fahrenheit, ..units };
        assert_eq!(read("93", settable, &there), (None, asked.to_owned()));
        assert!(read("93 °C", settable, &there).0.is_some());
        let (none, far) = read("100", Scale::new("temperature", 110.0, 120.0, 1.0).ok(), &there);
        assert!(none.is_none() && far.contains("did you mean 100 °C?"), "{far}");
    }
}
