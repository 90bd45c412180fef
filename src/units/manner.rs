//! In which units and with which decimal mark this thread speaks, so that sentences of every floor follow the person's
//! choice. Commands never choose: they speak in grams, bar and °C with a decimal point.

use std::cell::Cell;

use super::{Quantity, UnitPreferences};
use crate::words::{self, Catalogue};

thread_local! {
    static IN_USE: Cell<UnitPreferences> = const { Cell::new(UnitPreferences::BASE) };
}

/// The units in use on this thread.
#[must_use]
pub fn in_use() -> UnitPreferences {
    IN_USE.with(Cell::get)
}

/// Chooses the units of this thread; whether they were others before.
pub fn put(units: UnitPreferences) -> bool {
    IN_USE.with(|own| own.replace(units)) != units
}

/// A plain number in the units in use, as [`UnitPreferences::number`].
#[must_use]
pub fn figure(value: f64, decimals: usize) -> String {
    in_use().number(value, decimals)
}

/// As [`figure`], with no more decimals than the number needs: "9", "9.5".
#[must_use]
pub fn shortest(value: f64, most_decimals: usize) -> String {
    let text = figure(value, most_decimals);
    if most_decimals == 0 { text } else { text.trim_end_matches('0').trim_end_matches(['.', ',']).to_owned() }
}

/// A value with its unit, in the units in use; `decimals` where that unit is the base one, else what suits it.
#[must_use]
pub fn rounded(quantity: Quantity, base: f64, decimals: usize) -> String {
    let units = in_use();
    let (value, unit, usual) = units.convert(quantity, base);
    let (_, own, _) = UnitPreferences::BASE.convert(quantity, base);
    format!("{} {unit}", units.number(value, if unit == own { decimals } else { usual }))
}

/// The unit in use.
#[must_use]
pub fn unit(quantity: Quantity) -> &'static str {
    in_use().convert(quantity, 0.0).1
}

/// A difference of temperatures, kelvin, in the degrees in use; `decimals` in either.
#[must_use]
pub fn degrees(kelvin: f64, decimals: usize) -> String {
    let units = in_use();
    let (from, unit, _) = units.convert(Quantity::Temperature, 0.0);
    let (to, _, _) = units.convert(Quantity::Temperature, kelvin);
    format!("{} {unit}", units.number(to - from, decimals))
}

/// Language and units of a thread, to be taken along to another.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    catalogue: &'static Catalogue,
    units: UnitPreferences,
}

impl Manner {
    /// How this thread speaks.
    #[must_use]
    pub fn here() -> Self {
        Self { catalogue: words::current(), units: in_use() }
    }

    /// Does something in this manner: a worker speaks as who asked it.
    pub fn within<T>(self, work: impl FnOnce() -> T) -> T {
        let before = in_use();
        put(self.units);
        let done = words::within(self.catalogue, work);
        put(before);
        done
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{MassUnit, PressureUnit, TemperatureUnit};

    #[test]
    fn sentences_follow_the_units_of_their_thread() {
        assert_eq!(rounded(Quantity::Temperature, 93.0, 0), "93 °C");
        assert_eq!(degrees(6.0, 0), "6 °C");
        let there = UnitPreferences {
            mass: MassUnit::Ounce,
            temperature: TemperatureUnit::Fahrenheit,
            pressure: PressureUnit::Psi,
            decimal_comma: true,
        };
        assert!(put(there) && !put(there));
        let manner = Manner::here();
        assert_eq!(figure(2.25, 1), "2,2");
        assert_eq!([shortest(10.0, 1), shortest(-2.5, 2), shortest(10.0, 0)], ["10", "\u{2212}2,5", "10"]);
        assert_eq!(rounded(Quantity::Temperature, 93.0, 1), "199 °F");
        assert_eq!(rounded(Quantity::Pressure, 9.0, 1), "131 psi");
        assert_eq!(rounded(Quantity::Dose, 18.0, 1), "0,63 oz");
        // 6 K are 10.8 degrees of Fahrenheit, from 32 on or from anywhere.
        assert_eq!(degrees(6.0, 1), "10,8 °F");
        put(UnitPreferences::BASE);
        assert_eq!(manner.within(|| figure(0.5, 1)), "0,5");
        assert_eq!(figure(0.5, 1), "0.5");
    }
}
