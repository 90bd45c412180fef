//! A station and a drinker as typed.

use jiff::Timestamp;

use super::temperature::{BREWING_C, other_scale};
use super::{Faults, Field, typed, typed_setting};
use crate::domain::{
    Basket, Drinker, DrinkerId, Finer, Gear, GrindScale, Notebook, Scale, Stamp, Station, StationId,
};
use crate::units::{Quantity, UnitPreferences, parse_number};

/// A settable range as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ScaleDraft {
    /// Smallest value.
    pub min: String,
    /// Largest value.
    pub max: String,
    /// Step.
    pub step: String,
}

impl ScaleDraft {
    fn of(scale: Scale, units: &UnitPreferences) -> Self {
        let text = |v| typed_setting(v, scale.decimals().max(1), units);
        Self { min: text(scale.min()), max: text(scale.max()), step: text(scale.step()) }
    }

    fn read(&self, faults: &mut Faults, field: Field, what: &'static str) -> Option<Scale> {
        let number =
            |part: &str, text: &str| parse_number(text).map_err(|fault| format!("{what}, {part}: {fault}"));
        let min = faults.take(field, number(word!("work-draft-station-smallest"), &self.min))?;
        let max = faults.take(field, number(word!("work-draft-station-largest"), &self.max))?;
        let step = faults.take(field, number(word!("work-draft-station-step"), &self.step))?;
        faults.take(field, Scale::new(what, min, max, step))
    }

    /// Reads a range of `quantity`, which must be real for it: bare numbers in its preferred unit, others in the unit
    /// behind them.
    fn read_as(
        &self,
        faults: &mut Faults,
        field: Field,
        quantity: Quantity,
        units: &UnitPreferences,
    ) -> Option<Scale> {
        let (what, unit) = (quantity.name(), units.typed_unit(quantity));
        let named = |part: &str, fault: String| format!("{what}, {part}: {fault}");
        let read =
            |part, text: &str| quantity.read(text, unit).map_err(|fault| named(part, fault.to_string()));
        // The range is checked in the preferred unit, in which its faults are told.
        let own = |base: f64| units.convert(quantity, base).0;
        let end = |part, text: &str| {
            let (number, of) = read(part, text)?;
            let asked = match quantity {
                Quantity::Temperature => other_scale(number, of, BREWING_C, units),
                _ => None,
            };
            match asked {
                Some(question) => Err(named(part, question)),
                None => Ok(if of == unit { number } else { own(of.to_base(number)) }),
            }
        };
        let min = faults.take(field, end(word!("work-draft-station-smallest"), &self.min))?;
        let max = faults.take(field, end(word!("work-draft-station-largest"), &self.max))?;
        let (step, of) = faults.take(field, read(word!("work-draft-station-step"), &self.step))?;
        // A step is a difference: where its scale begins does not count.
        let step = if of == unit { step } else { own(of.to_base(step) - of.to_base(0.0)) - own(0.0) };
        let typed = faults.take(field, Scale::new(what, min, max, step))?;
        let min = faults.take(field, quantity.check(unit.to_base(typed.min())))?;
        let max = faults.take(field, quantity.check(unit.to_base(typed.max())))?;
        let step = unit.to_base(typed.step()) - unit.to_base(0.0);
        faults.take(field, Scale::new(what, min, max, step))
    }
}

/// A station as typed so far.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDraft {
    /// The station being changed; `None` for a new one.
    pub id: Option<StationId>,
    /// Name.
    pub name: String,
    /// Own words for the grinder.
    pub grinder_name: String,
    /// Own words for the machine.
    pub machine_name: String,
    /// Range and step of the grinder's scale.
    pub grind: ScaleDraft,
    /// Which way is finer.
    pub finer: Finer,
    /// Whether any value can be set.
    pub stepless: bool,
    /// Micrometres of burr travel for one unit of the scale; empty where not known.
    pub um_per_unit: String,
    /// Grounds retained.
    pub retained: String,
    /// Doses.
    pub dose: ScaleDraft,
    /// Yields.
    pub yield_: ScaleDraft,
    /// Whether the temperature can be set.
    pub temperature_settable: bool,
    /// Temperatures.
    pub temperature: ScaleDraft,
    /// Pump pressure; empty where not known.
    pub pressure: String,
    /// Whether strength can be measured.
    pub refractometer: bool,
    /// Basket diameter, millimetres.
    pub basket_diameter: String,
    /// Dose that the basket's maker states.
    pub basket_dose: String,
    /// Free words.
    pub note: String,
}

impl StationDraft {
    /// A draft with common starting values (common practice, no source): 18 g basket of 58 mm, 9 bar, 88–96 °C.
    #[must_use]
    pub fn new(units: &UnitPreferences) -> Self {
        let mass = |g: f64| typed(Quantity::Dose, g, units);
        let degrees = |c: f64| typed(Quantity::Temperature, c, units);
        let text = |t: &str| t.to_owned();
        Self {
            id: None,
            name: String::new(),
            grinder_name: String::new(),
            machine_name: String::new(),
            grind: ScaleDraft { min: text("0"), max: text("30"), step: text("1") },
            finer: Finer::Lower,
            stepless: false,
            um_per_unit: String::new(),
            retained: mass(1.0),
            dose: ScaleDraft { min: mass(16.0), max: mass(20.0), step: mass_step(0.1, units) },
            yield_: ScaleDraft { min: mass(20.0), max: mass(60.0), step: mass_step(0.5, units) },
            temperature_settable: true,
            temperature: ScaleDraft { min: degrees(88.0), max: degrees(96.0), step: text("1") },
            pressure: typed(Quantity::Pressure, 9.0, units),
            refractometer: false,
            basket_diameter: text("58"),
            basket_dose: mass(18.0),
            note: String::new(),
        }
    }

    /// A draft to change a station.
    #[must_use]
    pub fn from_station(station: &Station, units: &UnitPreferences) -> Self {
        let gear = &station.gear;
        let of = |quantity: Quantity, scale: Scale| {
            let (_, _, decimals) = units.convert(quantity, 0.0);
            let decimals = decimals.max(1);
            let step = units.convert(quantity, scale.step()).0 - units.convert(quantity, 0.0).0;
            ScaleDraft {
                min: typed_setting(units.convert(quantity, scale.min()).0, decimals, units),
                max: typed_setting(units.convert(quantity, scale.max()).0, decimals, units),
                step: typed_setting(step, 3, units),
            }
        };
        let fresh = Self::new(units);
        Self {
            id: Some(station.id),
            name: station.name.clone(),
            grinder_name: station.grinder_name.clone(),
            machine_name: station.machine_name.clone(),
            grind: ScaleDraft::of(gear.grind.scale, units),
            finer: gear.grind.finer,
            stepless: gear.grind.stepless,
            um_per_unit: gear.grind.um_per_unit.map(|v| units.number(v, 2)).unwrap_or_default(),
            retained: typed(Quantity::Dose, gear.grind.retained_g, units),
            dose: of(Quantity::Dose, gear.dose_g),
            yield_: of(Quantity::Yield, gear.yield_g),
            temperature_settable: gear.temperature_c.is_some(),
            temperature: gear.temperature_c.map_or(fresh.temperature, |t| of(Quantity::Temperature, t)),
            pressure: gear.pressure_bar.map(|p| typed(Quantity::Pressure, p, units)).unwrap_or_default(),
            refractometer: gear.refractometer,
            basket_diameter: units.number(station.basket.diameter_mm, 1),
            basket_dose: typed(Quantity::Dose, station.basket.stated_dose_g, units),
            note: station.note.clone(),
        }
    }

    /// What is wrong with what is typed.
    #[must_use]
    pub fn faults(&self, notebook: &Notebook, units: &UnitPreferences) -> Faults {
        self.finish(notebook, Timestamp::UNIX_EPOCH, units).err().unwrap_or_default()
    }

    /// The finished station, or what is wrong.
    ///
    /// # Errors
    /// [`Faults`], field by field.
    pub fn finish(
        &self,
        notebook: &Notebook,
        now: Timestamp,
        units: &UnitPreferences,
    ) -> Result<Station, Faults> {
        let mut faults = Faults::default();
        if self.name.trim().is_empty() {
            faults.add(Field::Name, word!("work-draft-station-give-the-station-a-name-for"));
        }
        let grind =
            self.grind.read(&mut faults, Field::GrindScale, word!("work-draft-station-grinder-scale"));
        let um_per_unit = optional_between(&mut faults, Field::Micrometres, &self.um_per_unit, 0.1, 2000.0);
        let retained_g = bounded_mass(&mut faults, Field::Retained, &self.retained, 50.0, units);
        let dose_g = self.dose.read_as(&mut faults, Field::DoseScale, Quantity::Dose, units);
        let yield_g = self.yield_.read_as(&mut faults, Field::YieldScale, Quantity::Yield, units);
        let temperature_c = if self.temperature_settable {
            self.temperature.read_as(&mut faults, Field::TemperatureScale, Quantity::Temperature, units)
        } else {
            None
        };
        let pressure_bar = faults.optional(Field::Pressure, Quantity::Pressure, &self.pressure, units);
        let diameter_mm =
            optional_between(&mut faults, Field::BasketDiameter, &self.basket_diameter, 30.0, 80.0);
        if self.basket_diameter.trim().is_empty() {
            faults
                .add(Field::BasketDiameter, word!("work-draft-station-give-the-baskets-inner-diameter-for"));
        }
        let stated_dose_g = faults.needed(Field::BasketDose, Quantity::Dose, &self.basket_dose, units);
        let old = self.id.and_then(|id| notebook.station(id));
        match (grind, dose_g, yield_g, diameter_mm, stated_dose_g) {
            (Some(scale), Some(dose_g), Some(yield_g), Some(diameter_mm), Some(stated_dose_g))
                if faults.is_empty() =>
            {
                Ok(Station {
                    id: self.id.unwrap_or_else(|| StationId::fresh(now)),
                    stamp: old.map_or_else(|| Stamp::new(now), |station| station.stamp),
                    name: self.name.trim().to_owned(),
                    grinder_name: self.grinder_name.trim().to_owned(),
                    machine_name: self.machine_name.trim().to_owned(),
                    gear: Gear {
                        grind: GrindScale {
                            scale,
                            finer: self.finer,
                            um_per_unit,
                            retained_g: retained_g.unwrap_or(0.0),
                            stepless: self.stepless,
                        },
                        dose_g,
                        yield_g,
                        temperature_c,
                        pressure_bar,
                        refractometer: self.refractometer,
                    },
                    basket: Basket { diameter_mm, stated_dose_g },
                    archived: old.is_some_and(|station| station.archived),
                    note: self.note.trim().to_owned(),
                })
            }
            _ => Err(faults),
        }
    }
}

fn mass_step(step_g: f64, units: &UnitPreferences) -> String {
    let (step, _, decimals) = units.convert(Quantity::Dose, step_g);
    typed_setting(step, decimals + 1, units)
}

fn optional_between(faults: &mut Faults, field: Field, text: &str, min: f64, max: f64) -> Option<f64> {
    if text.trim().is_empty() {
        return None;
    }
    let value = faults.take(field, parse_number(text))?;
    if !(min..=max).contains(&value) {
        faults.add(field, say!("work-draft-station-must-be-between-and", min = min, max = max));
        return None;
    }
    Some(value)
}

fn bounded_mass(
    faults: &mut Faults,
    field: Field,
    text: &str,
    max_g: f64,
    units: &UnitPreferences,
) -> Option<f64> {
    let value = faults.optional(field, Quantity::BeanMass, text, units)?;
    if value > max_g {
        faults.add(
            field,
            say!("work-draft-station-must-be-at-most-g", most = units.value(Quantity::BeanMass, max_g)),
        );
        return None;
    }
    Some(value)
}

/// A drinker as typed so far.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DrinkerDraft {
    /// The drinker being changed; `None` for a new one.
    pub id: Option<DrinkerId>,
    /// Name.
    pub name: String,
    /// Free words.
    pub note: String,
}

impl DrinkerDraft {
    /// A draft to change a drinker.
    #[must_use]
    pub fn from_drinker(drinker: &Drinker) -> Self {
        Self { id: Some(drinker.id), name: drinker.name.clone(), note: drinker.note.clone() }
    }

    /// The finished drinker, or what is wrong.
    ///
    /// # Errors
    /// [`Faults`] when there is no name.
    pub fn finish(&self, notebook: &Notebook, now: Timestamp) -> Result<Drinker, Faults> {
        let mut faults = Faults::default();
        if self.name.trim().is_empty() {
            faults.add(Field::Name, word!("work-draft-station-give-the-drinker-a-name"));
            return Err(faults);
        }
        let old = self.id.and_then(|id| notebook.drinker(id));
        Ok(Drinker {
            id: self.id.unwrap_or_else(|| DrinkerId::fresh(now)),
            stamp: old.map_or_else(|| Stamp::new(now), |drinker| drinker.stamp),
            name: self.name.trim().to_owned(),
            archived: old.is_some_and(|drinker| drinker.archived),
            note: self.note.trim().to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{MassUnit, TemperatureUnit};
    use crate::workbench::samples;

    #[test]
    fn a_station_survives_its_form_in_any_unit() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, _) = samples::notebook_with_pulls(0, now);
        let station = &notebook.stations[0];
        let metric = UnitPreferences::default();
        let back = StationDraft::from_station(station, &metric).finish(&notebook, now, &metric).unwrap();
        assert_eq!(&back, station);
        let imperial = UnitPreferences {
            mass: MassUnit::Ounce,
            temperature: TemperatureUnit::Fahrenheit,
            decimal_comma: true,
            ..metric
        };
        let back = StationDraft::from_station(station, &imperial).finish(&notebook, now, &imperial).unwrap();
        let temperature = back.gear.temperature_c.unwrap();
        assert!((temperature.min() - 88.0).abs() < 0.3 && (temperature.step() - 0.5).abs() < 0.01);
    }

    #[test]
    fn nonsense_is_named_beside_its_field() {
        let units = UnitPreferences::default();
        let mut draft = StationDraft::new(&units);
        draft.grind.step = "0".to_owned();
        draft.dose.min = "NaN".to_owned();
        draft.basket_diameter = "5.8".to_owned();
        let faults = draft.faults(&Notebook::default(), &units);
        for field in [Field::Name, Field::GrindScale, Field::DoseScale, Field::BasketDiameter] {
            assert!(faults.of(field).is_some(), "{field:?}");
        }
    }
}
