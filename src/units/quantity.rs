//! The quantities of a pull, their units and the ranges within which a value can be real.

use thiserror::Error;

use super::{NumberFault, parse_number};

/// What a number measures. Decides its unit, its physical range and its resolution on screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Dry ground coffee in the basket, grams.
    Dose,
    /// Drink in the cup, grams (often called "drink out").
    Yield,
    /// Pump on to cup away, seconds.
    Time,
    /// Pressure above the puck or in the line, bar gauge.
    Pressure,
    /// Flow of drink or water, grams a second.
    Flow,
    /// Brew water temperature, degrees Celsius.
    Temperature,
    /// Dissolved solids of the drink, percent by mass.
    Strength,
    /// Dissolved mass in the cup over the dose, percent.
    Extraction,
    /// A mass of beans, grams.
    BeanMass,
}

/// A unit that a person may write behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Grams.
    Gram,
    /// Kilograms.
    Kilogram,
    /// Avoirdupois ounces, 28.349523125 g (exact, international yard and pound agreement 1959).
    Ounce,
    /// Seconds.
    Second,
    /// Milliseconds.
    Millisecond,
    /// Minutes.
    Minute,
    /// Bar.
    Bar,
    /// Kilopascal.
    Kilopascal,
    /// Megapascal.
    Megapascal,
    /// Pound-force per square inch, 6894.757293168 Pa.
    Psi,
    /// Millibar.
    Millibar,
    /// Grams a second.
    GramPerSecond,
    /// Millilitres a second; read as grams a second (water at 20 °C weighs 0.998 g/ml, hot drink a little less).
    MillilitrePerSecond,
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Percent.
    Percent,
    /// Microseconds.
    Microsecond,
    /// Hours.
    Hour,
    /// Milligrams.
    Milligram,
    /// Millilitres of drink; read as grams, like millilitres a second.
    Millilitre,
    /// Pascal.
    Pascal,
    /// Kilogram-force per square centimetre (technical atmosphere), 98066.5 Pa exactly.
    KilogramForcePerSquareCentimetre,
    /// Grams a minute.
    GramPerMinute,
    /// Millilitres a minute; read as grams, like millilitres a second.
    MillilitrePerMinute,
    /// Kelvin.
    Kelvin,
}

impl Unit {
    /// Every unit, in the order in which a chooser shows them.
    pub const ALL: [Self; 25] = [
        Self::Second,
        Self::Millisecond,
        Self::Microsecond,
        Self::Minute,
        Self::Hour,
        Self::Bar,
        Self::Kilopascal,
        Self::Megapascal,
        Self::Psi,
        Self::Millibar,
        Self::Pascal,
        Self::KilogramForcePerSquareCentimetre,
        Self::GramPerSecond,
        Self::MillilitrePerSecond,
        Self::GramPerMinute,
        Self::MillilitrePerMinute,
        Self::Gram,
        Self::Millilitre,
        Self::Ounce,
        Self::Kilogram,
        Self::Milligram,
        Self::Celsius,
        Self::Fahrenheit,
        Self::Kelvin,
        Self::Percent,
    ];

    /// The unit's usual symbol; [`Unit::from_text`] reads it back.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Ounce => "oz",
            Self::Second => "s",
            Self::Millisecond => "ms",
            Self::Minute => "min",
            Self::Bar => "bar",
            Self::Kilopascal => "kPa",
            Self::Megapascal => "MPa",
            Self::Psi => "psi",
            Self::Millibar => "mbar",
            Self::GramPerSecond => "g/s",
            Self::MillilitrePerSecond => "ml/s",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Percent => "%",
            Self::Microsecond => "µs",
            Self::Hour => "h",
            Self::Milligram => "mg",
            Self::Millilitre => "ml",
            Self::Pascal => "Pa",
            Self::KilogramForcePerSquareCentimetre => "kgf/cm²",
            Self::GramPerMinute => "g/min",
            Self::MillilitrePerMinute => "ml/min",
            Self::Kelvin => "K",
        }
    }

    /// Reads a unit's usual spellings (`g`, `oz`, `°C`, `C`, `degC`, `bar`, `kPa`, `psi`, `ml/s`, `%` …), any case.
    /// `None` when the text is no known unit.
    #[must_use]
    pub fn from_text(text: &str) -> Option<Self> {
        let flat: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '(' | ')' | '[' | ']' | '_'))
            .flat_map(char::to_lowercase)
            .collect();
        Some(match flat.as_str() {
            "g" | "gr" | "gram" | "grams" | "gramm" => Self::Gram,
            "kg" => Self::Kilogram,
            "oz" | "ounce" | "ounces" => Self::Ounce,
            "s" | "sec" | "secs" | "second" | "seconds" | "sek" => Self::Second,
            "ms" | "msec" | "millisecond" | "milliseconds" | "millis" => Self::Millisecond,
            "µs" | "μs" | "us" | "usec" | "microsecond" | "microseconds" => Self::Microsecond,
            "min" | "minute" | "minutes" => Self::Minute,
            "h" | "hr" | "hour" | "hours" => Self::Hour,
            "mg" => Self::Milligram,
            "ml" | "cc" | "millilitre" | "millilitres" | "milliliter" | "milliliters" => Self::Millilitre,
            "bar" | "bars" | "barg" => Self::Bar,
            "mbar" | "hpa" => Self::Millibar,
            "pa" | "pascal" => Self::Pascal,
            "kgf/cm2" | "kgf/cm²" | "kg/cm2" | "kg/cm²" | "kp/cm2" | "kp/cm²" | "ata" => {
                Self::KilogramForcePerSquareCentimetre
            }
            "kpa" => Self::Kilopascal,
            "mpa" => Self::Megapascal,
            "psi" | "psig" | "lb/in2" => Self::Psi,
            "g/s" | "gps" | "gs" | "gs-1" | "g·s-1" | "gs⁻¹" | "gramspersecond" | "grampersecond"
            | "g/sec" => Self::GramPerSecond,
            "ml/s"
            | "mls"
            | "mls-1"
            | "ml·s-1"
            | "mls⁻¹"
            | "mlps"
            | "millilitrespersecond"
            | "ml/sec"
            | "cc/s"
            | "cm3/s"
            | "cm³/s" => Self::MillilitrePerSecond,
            "g/min" | "gpm" => Self::GramPerMinute,
            "ml/min" | "mlpm" | "cc/min" => Self::MillilitrePerMinute,
            "k" | "kelvin" => Self::Kelvin,
            "c" | "°c" | "ºc" | "degc" | "celsius" | "℃" => Self::Celsius,
            "f" | "°f" | "ºf" | "degf" | "fahrenheit" | "℉" => Self::Fahrenheit,
            "%" | "pct" | "percent" => Self::Percent,
            _ => return None,
        })
    }

    /// Converts a value in this unit to the program's own unit for that kind of quantity (g, s, bar, g/s, °C, %).
    #[must_use]
    pub fn to_base(self, value: f64) -> f64 {
        match self {
            Self::Gram
            | Self::Second
            | Self::Bar
            | Self::GramPerSecond
            | Self::MillilitrePerSecond
            | Self::Celsius
            | Self::Millilitre
            | Self::Percent => value,
            Self::Microsecond => value / 1.0e6,
            Self::Hour => value * 3600.0,
            Self::Milligram => value / 1000.0,
            Self::Pascal => value / 1.0e5,
            Self::KilogramForcePerSquareCentimetre => value * 0.980_665,
            Self::GramPerMinute | Self::MillilitrePerMinute => value / 60.0,
            Self::Kelvin => value - 273.15,
            Self::Kilogram => value * 1000.0,
            Self::Ounce => value * 28.349_523_125,
            Self::Millisecond | Self::Millibar => value / 1000.0,
            Self::Minute => value * 60.0,
            Self::Kilopascal => value / 100.0,
            Self::Megapascal => value * 10.0,
            Self::Psi => value * 0.068_947_572_931_68,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }
}

/// Why a text or a number is no usable value of a quantity. Messages can be shown as they are.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuantityFault {
    /// Not a number.
    #[error("{0}")]
    Number(#[from] NumberFault),
    /// A unit of another kind, or an unknown one.
    #[error("{}", say!("units-quantity-wrong-unit", text = text, what = what, usual = usual))]
    Unit {
        /// What was typed behind the number.
        text: String,
        /// The quantity's name.
        what: &'static str,
        /// The unit to use.
        usual: &'static str,
    },
    /// Outside what can be real.
    #[error("{}", say!("units-quantity-out-of-range", what = what, min = min, max = max, unit = unit, value = value, hint = hint))]
    Range {
        /// The quantity's name.
        what: &'static str,
        /// The value in the program's unit.
        value: f64,
        /// Smallest value that can be real.
        min: f64,
        /// Largest value that can be real.
        max: f64,
        /// The program's unit.
        unit: &'static str,
        /// A guess at what went wrong, or empty.
        hint: String,
    },
    /// NaN or infinite.
    #[error("{}", say!("units-quantity-not-finite", what = what))]
    NotFinite {
        /// The quantity's name.
        what: &'static str,
    },
}

impl Quantity {
    /// The trade's word for it, as used in messages.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Dose => word!("units-quantity-dose"),
            Self::Yield => word!("units-quantity-yield"),
            Self::Time => word!("units-quantity-time"),
            Self::Pressure => word!("units-quantity-pressure"),
            Self::Flow => word!("units-quantity-flow"),
            Self::Temperature => word!("units-quantity-temperature"),
            Self::Strength => word!("units-quantity-strength"),
            Self::Extraction => word!("units-quantity-extraction"),
            Self::BeanMass => word!("units-quantity-bean-mass"),
        }
    }

    /// The program's own unit, as text.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Dose | Self::Yield | Self::BeanMass => "g",
            Self::Time => "s",
            Self::Pressure => "bar",
            Self::Flow => "g/s",
            Self::Temperature => "°C",
            Self::Strength | Self::Extraction => "%",
        }
    }

    /// Closed range of values that can be real, in the program's unit. Wide on purpose: it catches a slipped
    /// decimal mark or a wrong unit, not an unusual recipe. (Common practice and physics, no single source.)
    #[must_use]
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Dose => (1.0, 60.0),
            Self::Yield => (0.0, 300.0),
            Self::Time => (0.0, 300.0),
            Self::Pressure => (-1.0, 25.0),
            Self::Flow => (-50.0, 50.0),
            Self::Temperature => (0.0, 130.0),
            Self::Strength => (0.0, 40.0),
            Self::Extraction => (0.0, 40.0),
            Self::BeanMass => (0.0, 100_000.0),
        }
    }

    /// Checks that a value is finite and can be real.
    ///
    /// # Errors
    /// [`QuantityFault::NotFinite`] or [`QuantityFault::Range`].
    pub fn check(self, value: f64) -> Result<f64, QuantityFault> {
        if !value.is_finite() {
            return Err(QuantityFault::NotFinite { what: self.name() });
        }
        let (min, max) = self.range();
        if value < min || value > max {
            let hint = match self {
                Self::Yield | Self::Dose | Self::Time if value > max && value <= max * 10.0 => {
                    word!("units-quantity-hint-decimal-mark").to_owned()
                }
                Self::Temperature if value > max && value <= 266.0 => {
                    say!(
                        "units-quantity-hint-fahrenheit",
                        value = super::figure(Unit::Fahrenheit.to_base(value), 1)
                    )
                }
                Self::Time if value > max && value <= 300_000.0 => {
                    say!(
                        "units-quantity-hint-milliseconds",
                        value = super::figure(Unit::Millisecond.to_base(value), 1)
                    )
                }
                _ => String::new(),
            };
            return Err(QuantityFault::Range { what: self.name(), value, min, max, unit: self.unit(), hint });
        }
        Ok(value)
    }

    /// Whether a unit measures this quantity.
    #[must_use]
    pub fn takes(self, unit: Unit) -> bool {
        use Unit as U;
        match self {
            Self::Dose | Self::Yield | Self::BeanMass => {
                matches!(unit, U::Gram | U::Kilogram | U::Ounce | U::Milligram | U::Millilitre)
            }
            Self::Time => matches!(unit, U::Second | U::Millisecond | U::Minute | U::Microsecond | U::Hour),
            Self::Pressure => matches!(
                unit,
                U::Bar
                    | U::Kilopascal
                    | U::Megapascal
                    | U::Psi
                    | U::Millibar
                    | U::Pascal
                    | U::KilogramForcePerSquareCentimetre
            ),
            Self::Flow => matches!(
                unit,
                U::GramPerSecond | U::MillilitrePerSecond | U::GramPerMinute | U::MillilitrePerMinute
            ),
            Self::Temperature => matches!(unit, U::Celsius | U::Fahrenheit | U::Kelvin),
            Self::Strength | Self::Extraction => matches!(unit, U::Percent),
        }
    }

    /// Reads a value as typed, with an optional unit behind it (`36`, `36,2 g`, `1.3 oz`, `200 °F`), and checks its
    /// range. A bare number is taken in `bare`.
    ///
    /// # Errors
    /// [`QuantityFault`], whose text can be shown as it is.
    ///
    /// # Examples
    /// ```
    /// use thirdpull::units::{Quantity, Unit};
    /// assert_eq!(Quantity::Pressure.parse("900 kPa", Unit::Bar).unwrap(), 9.0);
    /// assert!(Quantity::Yield.parse("360", Unit::Gram).is_err());
    /// ```
    pub fn parse(self, text: &str, bare: Unit) -> Result<f64, QuantityFault> {
        let (value, unit) = self.read(text, bare)?;
        self.check(unit.to_base(value))
    }

    /// Reads a number and the unit in which it was typed, `bare` where none stands behind it. Whether it can be real is
    /// not checked.
    ///
    /// # Errors
    /// [`QuantityFault`], whose text can be shown as it is.
    pub fn read(self, text: &str, bare: Unit) -> Result<(f64, Unit), QuantityFault> {
        let trimmed = text.trim();
        let split = trimmed
            .char_indices()
            .find(|&(at, c)| {
                let exponent = matches!(c, 'e' | 'E')
                    && trimmed.get(at + 1..).is_some_and(|rest| {
                        rest.starts_with(|d: char| d.is_ascii_digit() || d == '-' || d == '+')
                    });
                !(c.is_ascii_digit()
                    || c.is_whitespace()
                    || exponent
                    || matches!(c, '+' | '-' | '.' | ',' | '\u{2212}' | '\u{2013}'))
            })
            .map(|(at, _)| at);
        let (number, unit) = match split {
            Some(at) if at > 0 => {
                let (number, unit) = trimmed.split_at(at);
                match Unit::from_text(unit) {
                    Some(found) if self.takes(found) => (number, found),
                    _ => {
                        return Err(QuantityFault::Unit {
                            text: unit.chars().take(20).collect(),
                            what: self.name(),
                            usual: self.unit(),
                        });
                    }
                }
            }
            _ => (trimmed, bare),
        };
        Ok((parse_number(number)?, unit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Special Publication 811 (2008), Appendix B.8: 1 kgf/cm² = 98 066.5 Pa; kelvin by definition.
    #[test]
    fn every_symbol_reads_back_and_further_units_convert() {
        for unit in Unit::ALL {
            assert_eq!(Unit::from_text(unit.symbol()), Some(unit));
        }
        assert!((Unit::KilogramForcePerSquareCentimetre.to_base(1.0) - 0.980_665).abs() < 1e-12);
        assert!((Unit::Kelvin.to_base(366.15) - 93.0).abs() < 1e-9);
        assert!((Unit::MillilitrePerMinute.to_base(120.0) - 2.0).abs() < 1e-12);
        assert!((Unit::Pascal.to_base(900_000.0) - 9.0).abs() < 1e-12);
    }

    /// NIST Special Publication 811 (2008), Appendix B: 1 oz = 28.349 52 g, 1 psi = 6.894 757 kPa; °F to °C.
    #[test]
    fn conversions_agree_with_the_published_factors() {
        assert!((Unit::Ounce.to_base(1.0) - 28.349_52).abs() < 5e-6);
        assert!((Unit::Psi.to_base(1.0) - 0.068_947_57).abs() < 5e-9);
        assert!((Unit::Fahrenheit.to_base(212.0) - 100.0).abs() < 1e-12);
        assert!((Unit::Fahrenheit.to_base(-40.0) + 40.0).abs() < 1e-12);
    }

    #[test]
    fn a_unit_behind_the_number_is_obeyed() {
        assert_eq!(Quantity::Time.parse("27500ms", Unit::Second), Ok(27.5));
        assert!((Quantity::Temperature.parse("200 °F", Unit::Celsius).unwrap() - 93.333).abs() < 1e-3);
        assert!((Quantity::Yield.parse("1,27 oz", Unit::Gram).unwrap() - 36.0).abs() < 0.01);
        assert!(matches!(Quantity::Yield.parse("36 bar", Unit::Gram), Err(QuantityFault::Unit { .. })));
    }

    #[test]
    fn slips_are_named() {
        let slip = Quantity::Yield.parse("360", Unit::Gram).unwrap_err().to_string();
        assert!(slip.contains("decimal mark"), "{slip}");
        let slip = Quantity::Temperature.check(200.0).unwrap_err().to_string();
        assert!(slip.contains("it is 93.3 °C"), "{slip}");
        let slip = |text| Quantity::Time.parse(text, Unit::Second).unwrap_err().to_string();
        assert!(slip("27400").contains("it is 27.4 s"), "{}", slip("27400"));
        assert!(slip("2740").contains("decimal mark"), "{}", slip("2740"));
        assert!(Quantity::Dose.check(f64::NAN).is_err());
    }
}
