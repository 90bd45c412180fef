//! Values as text, by preference: grams or ounces, °C or °F, bar or psi, decimal point or comma.

use super::Quantity;

/// The text with its first letter in upper case.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Words as one list, for example "sour, weak and thin"; empty for none.
#[must_use]
pub fn listed<S: std::borrow::Borrow<str>>(words: &[S]) -> String {
    match words {
        [] | [_] => in_a_row(words),
        [rest @ .., last] => say!("units-show-list-last", before = in_a_row(rest), last = last.borrow()),
    }
}

/// Words one behind the other, for example "sour, weak, thin"; empty for none.
#[must_use]
pub fn in_a_row<S: std::borrow::Borrow<str>>(words: &[S]) -> String {
    let mut words = words.iter().map(|word| word.borrow().to_owned());
    let first = words.next().unwrap_or_default();
    words.fold(first, |before, next| say!("units-show-list-next", before = before, next = next))
}

/// How masses are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MassUnit {
    /// Grams.
    #[default]
    Gram,
    /// Ounces.
    Ounce,
}

/// How temperatures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

/// How pressures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PressureUnit {
    /// Bar.
    #[default]
    Bar,
    /// Pounds per square inch.
    Psi,
}

/// A person's choice of units and decimal mark. Only display and bare typed numbers follow it; the notebook and
/// every command keep grams, seconds, bar and °C.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UnitPreferences {
    /// Dose, yield, beans.
    pub mass: MassUnit,
    /// Brew temperature.
    pub temperature: TemperatureUnit,
    /// Pressure.
    pub pressure: PressureUnit,
    /// Write 18,2 instead of 18.2.
    pub decimal_comma: bool,
}

impl UnitPreferences {
    /// Grams, °C, bar and a decimal point.
    pub const BASE: Self = Self {
        mass: MassUnit::Gram,
        temperature: TemperatureUnit::Celsius,
        pressure: PressureUnit::Bar,
        decimal_comma: false,
    };

    /// A plain number with a fixed count of decimals and the preferred decimal mark. Not-finite values show as a dash.
    #[must_use]
    pub fn number(&self, value: f64, decimals: usize) -> String {
        if !value.is_finite() {
            return "–".to_owned();
        }
        let mut text = format!("{value:.decimals$}");
        if text.starts_with('-') && text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
            text.remove(0);
        }
        let text = text.replace('-', "\u{2212}");
        if self.decimal_comma { text.replace('.', ",") } else { text }
    }

    /// The value in the preferred unit, that unit's text, and the decimals that suit it.
    #[must_use]
    pub fn convert(&self, quantity: Quantity, base: f64) -> (f64, &'static str, usize) {
        match quantity {
            Quantity::Dose | Quantity::Yield => match self.mass {
                MassUnit::Gram => (base, "g", 1),
                MassUnit::Ounce => (base / 28.349_523_125, "oz", 2),
            },
            Quantity::BeanMass => match self.mass {
                MassUnit::Gram => (base, "g", 0),
                MassUnit::Ounce => (base / 28.349_523_125, "oz", 1),
            },
            Quantity::Time => (base, "s", 1),
            Quantity::Pressure => match self.pressure {
                PressureUnit::Bar => (base, "bar", 1),
                PressureUnit::Psi => (base / 0.068_947_572_931_68, "psi", 0),
            },
            Quantity::Flow => (base, "g/s", 2),
            Quantity::Temperature => match self.temperature {
                TemperatureUnit::Celsius => (base, "°C", 1),
                TemperatureUnit::Fahrenheit => (base * 1.8 + 32.0, "°F", 0),
            },
            Quantity::Strength | Quantity::Extraction => (base, "%", 1),
        }
    }

    /// The value with its unit, for example "18.0 g" or "200 °F".
    #[must_use]
    pub fn value(&self, quantity: Quantity, base: f64) -> String {
        let (value, unit, decimals) = self.convert(quantity, base);
        format!("{} {unit}", self.number(value, decimals))
    }

    /// A range with one unit, for example "25–31 s".
    #[must_use]
    pub fn span(&self, quantity: Quantity, from: f64, to: f64, decimals: usize) -> String {
        let (from, unit, _) = self.convert(quantity, from);
        let (to, _, _) = self.convert(quantity, to);
        format!("{}–{} {unit}", self.number(from, decimals), self.number(to, decimals))
    }

    /// The unit in which a bare typed number is read.
    #[must_use]
    pub fn typed_unit(&self, quantity: Quantity) -> super::Unit {
        use super::Unit;
        match quantity {
            Quantity::Dose | Quantity::Yield | Quantity::BeanMass => match self.mass {
                MassUnit::Gram => Unit::Gram,
                MassUnit::Ounce => Unit::Ounce,
            },
            Quantity::Time => Unit::Second,
            Quantity::Pressure => match self.pressure {
                PressureUnit::Bar => Unit::Bar,
                PressureUnit::Psi => Unit::Psi,
            },
            Quantity::Flow => Unit::GramPerSecond,
            Quantity::Temperature => match self.temperature {
                TemperatureUnit::Celsius => Unit::Celsius,
                TemperatureUnit::Fahrenheit => Unit::Fahrenheit,
            },
            Quantity::Strength | Quantity::Extraction => Unit::Percent,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_by_preference_and_reads_back() {
        let imperial = UnitPreferences {
            mass: MassUnit::Ounce,
            temperature: TemperatureUnit::Fahrenheit,
            pressure: PressureUnit::Psi,
            decimal_comma: true,
        };
        assert_eq!(imperial.value(Quantity::Dose, 18.0), "0,63 oz");
        assert_eq!(imperial.value(Quantity::Temperature, 93.0), "199 °F");
        assert_eq!(UnitPreferences::default().value(Quantity::Dose, 18.04), "18.0 g");
        assert_eq!(UnitPreferences::default().number(-0.01, 1), "0.0");
        let back = Quantity::Pressure.parse("130,5", imperial.typed_unit(Quantity::Pressure)).unwrap();
        assert!((back - 9.0).abs() < 0.01);
    }
}
