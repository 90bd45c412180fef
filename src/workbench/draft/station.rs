//! A station and a drinker as typed.

use jiff::Timestamp;

use super::temperature::{BREWING_C, other_scale};
use super::{Faults, Field, Filled, Filling, Form, Part, typed, typed_setting};
use crate::domain::{
    Basket, Drinker, DrinkerId, Finer, Gear, GearFault, GrindScale, Notebook, Scale, Stamp, Station,
    StationId,
};
use crate::units::{Quantity, UnitPreferences, parse_number};
use crate::words::kept;

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
    /// The texts of a range, remembered in `filled`; `text` writes smallest, largest and step.
    fn of(
        field: fn(Part) -> Field,
        values: [f64; 3],
        filled: &mut Filled,
        units: &UnitPreferences,
        texts: [String; 3],
    ) -> Self {
        for (part, (value, text)) in Part::ALL.into_iter().zip(values.into_iter().zip(&texts)) {
            filled.put(field(part), value, text.clone(), units);
        }
        let [min, max, step] = texts;
        Self { min, max, step }
    }

    fn text(&self, part: Part) -> &str {
        match part {
            Part::Smallest => &self.min,
            Part::Largest => &self.max,
            Part::Step => &self.step,
        }
    }

    fn read(
        &self,
        faults: &mut Faults,
        field: fn(Part) -> Field,
        what: &'static str,
        form: Form<'_>,
    ) -> Option<Scale> {
        let mut number = |part: Part| match form.kept(field(part), self.text(part)) {
            Some(value) => Some(value),
            None => {
                let read = parse_number(self.text(part)).map_err(|fault| named(part, what, &fault));
                faults.take(field(part), read)
            }
        };
        let (min, max, step) = (number(Part::Smallest)?, number(Part::Largest)?, number(Part::Step)?);
        scale(faults, field, what, (min, max, step))
    }

    /// Reads a range of `quantity`, which must be real for it: bare numbers in its preferred unit, others in the unit
    /// behind them. A text as it was filled in stands for its very value.
    fn read_as(
        &self,
        faults: &mut Faults,
        field: fn(Part) -> Field,
        quantity: Quantity,
        form: Form<'_>,
    ) -> Option<Scale> {
        let units = form.units;
        let (what, unit) = (quantity.name(), units.typed_unit(quantity));
        let kept = |part| form.kept(field(part), self.text(part));
        let read = |part| quantity.read(self.text(part), unit).map_err(|fault| named(part, what, &fault));
        // The range is checked in the preferred unit, in which its faults are told.
        let own = |base: f64| units.convert(quantity, base).0;
        let end = |part| {
            if let Some(base) = kept(part) {
                return Ok(own(base));
            }
            let (number, of) = read(part)?;
            let asked = match quantity {
                Quantity::Temperature => other_scale(number, of, BREWING_C, units),
                _ => None,
            };
            match asked {
                Some(question) => Err(named(part, what, &question)),
                None => Ok(if of == unit { number } else { own(of.to_base(number)) }),
            }
        };
        let min = faults.take(field(Part::Smallest), end(Part::Smallest))?;
        let max = faults.take(field(Part::Largest), end(Part::Largest))?;
        // A step is a difference: where its scale begins does not count.
        let difference = |base: f64| own(base) - own(0.0);
        let step = match kept(Part::Step) {
            Some(base) => difference(base),
            None => {
                let (step, of) = faults.take(field(Part::Step), read(Part::Step))?;
                if of == unit { step } else { difference(of.to_base(step) - of.to_base(0.0)) }
            }
        };
        let typed = scale(faults, field, what, (min, max, step))?;
        let mut real = |part, value: f64| {
            let checked = quantity.check(kept(part).unwrap_or_else(|| unit.to_base(value)));
            faults.take(field(part), checked.map_err(|fault| named(part, what, &fault)))
        };
        let (min, max) = (real(Part::Smallest, typed.min())?, real(Part::Largest, typed.max())?);
        let step = kept(Part::Step).unwrap_or_else(|| unit.to_base(typed.step()) - unit.to_base(0.0));
        faults.take(field(Part::Step), Scale::new(what, min, max, step))
    }
}

/// A fault with the label of its field before it.
fn named(part: Part, what: &str, fault: &dyn std::fmt::Display) -> String {
    format!("{}: {fault}", part.label(what))
}

/// The range itself, or what is wrong with it, beside the number that is to be corrected. Where it has more than one value,
/// its step must lead from one to another.
fn scale(
    faults: &mut Faults,
    of: fn(Part) -> Field,
    what: &'static str,
    (min, max, step): (f64, f64, f64),
) -> Option<Scale> {
    let label = |part: Part| kept(part.label(what));
    let (part, fault) = match Scale::new(what, min, max, step) {
        Ok(scale) if max > min && step > (max - min) * (1.0 + 1e-9) => {
            let (label, min, max) = (label(Part::Step), scale.min(), scale.max());
            faults.add(
                of(Part::Step),
                say!("work-draft-station-step-must-fit", label = label, min = min, max = max),
            );
            return None;
        }
        Ok(scale) => return Some(scale),
        Err(GearFault::UpsideDown { min, max, .. }) => {
            (Part::Largest, GearFault::UpsideDown { what: label(Part::Largest), min, max })
        }
        Err(GearFault::Step { step, .. }) => (Part::Step, GearFault::Step { what: label(Part::Step), step }),
        Err(other) => (Part::Smallest, other),
    };
    faults.add(of(part), fault.to_string());
    None
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
    /// What the fields were filled with.
    pub(crate) filled: Filled,
}

impl StationDraft {
    /// A draft with common starting values (common practice, no source): 18 g basket of 58 mm, 9 bar, 88–96 °C.
    #[must_use]
    pub fn new(units: &UnitPreferences) -> Self {
        let mut filled = Filled::default();
        let mass = |g: f64| typed(Quantity::Dose, g, units);
        let degrees = |c: f64| typed(Quantity::Temperature, c, units);
        let text = |t: &str| t.to_owned();
        let mut masses = |field: fn(Part) -> Field, (min, max, step): (f64, f64, f64)| {
            let texts = [mass(min), mass(max), mass_step(step, units)];
            ScaleDraft::of(field, [min, max, step], &mut filled, units, texts)
        };
        let dose = masses(Field::DoseScale, (16.0, 20.0, 0.1));
        let yield_ = masses(Field::YieldScale, (20.0, 60.0, 0.5));
        for (part, value) in [(Part::Smallest, 88.0), (Part::Largest, 96.0)] {
            filled.put(Field::TemperatureScale(part), value, degrees(value), units);
        }
        Self {
            id: None,
            name: String::new(),
            grinder_name: String::new(),
            machine_name: String::new(),
            grind: ScaleDraft { min: text("0"), max: text("30"), step: text("1") },
            finer: Finer::Lower,
            stepless: false,
            um_per_unit: String::new(),
            retained: filled.quantity(Field::Retained, Quantity::Dose, 1.0, units),
            dose,
            yield_,
            temperature_settable: true,
            temperature: ScaleDraft { min: degrees(88.0), max: degrees(96.0), step: text("1") },
            pressure: filled.quantity(Field::Pressure, Quantity::Pressure, 9.0, units),
            refractometer: false,
            basket_diameter: text("58"),
            basket_dose: filled.quantity(Field::BasketDose, Quantity::Dose, 18.0, units),
            note: String::new(),
            filled,
        }
    }

    /// A draft to change a station.
    #[must_use]
    pub fn from_station(station: &Station, units: &UnitPreferences) -> Self {
        let gear = &station.gear;
        let mut filled = Filled::default();
        let values = |scale: Scale| [scale.min(), scale.max(), scale.step()];
        let range = |field, quantity: Quantity, scale: Scale, filled: &mut Filled| {
            let (_, _, decimals) = units.convert(quantity, 0.0);
            let decimals = decimals.max(1);
            let step = units.convert(quantity, scale.step()).0 - units.convert(quantity, 0.0).0;
            let end = |value: f64| typed_setting(units.convert(quantity, value).0, decimals, units);
            let text = [end(scale.min()), end(scale.max()), typed_setting(step, 3, units)];
            ScaleDraft::of(field, values(scale), filled, units, text)
        };
        let scale = gear.grind.scale;
        let marks = values(scale).map(|v| typed_setting(v, scale.decimals().max(1), units));
        let um_per_unit =
            gear.grind.um_per_unit.map(|um| filled.put(Field::Micrometres, um, units.number(um, 2), units));
        let temperature = match gear.temperature_c {
            Some(scale) => range(Field::TemperatureScale, Quantity::Temperature, scale, &mut filled),
            // Stands ready for when it is said that it can be set.
            None => {
                let fresh = Self::new(units);
                let of_it = |filling: &Filling| matches!(filling.field, Field::TemperatureScale(_));
                filled.0.extend(fresh.filled.0.into_iter().filter(of_it));
                fresh.temperature
            }
        };
        let (diameter, dose) = (station.basket.diameter_mm, station.basket.stated_dose_g);
        Self {
            id: Some(station.id),
            name: station.name.clone(),
            grinder_name: station.grinder_name.clone(),
            machine_name: station.machine_name.clone(),
            grind: ScaleDraft::of(Field::GrindScale, values(scale), &mut filled, units, marks),
            finer: gear.grind.finer,
            stepless: gear.grind.stepless,
            um_per_unit: um_per_unit.unwrap_or_default(),
            retained: filled.quantity(Field::Retained, Quantity::Dose, gear.grind.retained_g, units),
            dose: range(Field::DoseScale, Quantity::Dose, gear.dose_g, &mut filled),
            yield_: range(Field::YieldScale, Quantity::Yield, gear.yield_g, &mut filled),
            temperature_settable: gear.temperature_c.is_some(),
            temperature,
            pressure: filled.optional(Field::Pressure, Quantity::Pressure, gear.pressure_bar, units),
            refractometer: gear.refractometer,
            basket_diameter: filled.put(Field::BasketDiameter, diameter, units.number(diameter, 1), units),
            basket_dose: filled.quantity(Field::BasketDose, Quantity::Dose, dose, units),
            note: station.note.clone(),
            filled,
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
        let form = Form { filled: &self.filled, units };
        if self.name.trim().is_empty() {
            faults.add(Field::Name, word!("work-draft-station-give-the-station-a-name-for"));
        }
        let grind = self.grind.read(&mut faults, Field::GrindScale, word!("work-draft-station-grind"), form);
        let um_per_unit =
            optional_between(&mut faults, Field::Micrometres, &self.um_per_unit, (0.1, 2000.0), form);
        let retained_g = bounded_mass(&mut faults, Field::Retained, &self.retained, 50.0, form);
        let dose_g = self.dose.read_as(&mut faults, Field::DoseScale, Quantity::Dose, form);
        let yield_g = self.yield_.read_as(&mut faults, Field::YieldScale, Quantity::Yield, form);
        let temperature_c = if self.temperature_settable {
            self.temperature.read_as(&mut faults, Field::TemperatureScale, Quantity::Temperature, form)
        } else {
            None
        };
        let pressure_bar = faults.optional(Field::Pressure, Quantity::Pressure, &self.pressure, form);
        let diameter_mm =
            optional_between(&mut faults, Field::BasketDiameter, &self.basket_diameter, (30.0, 80.0), form);
        if self.basket_diameter.trim().is_empty() {
            faults
                .add(Field::BasketDiameter, word!("work-draft-station-give-the-baskets-inner-diameter-for"));
        }
        let stated_dose_g = faults.needed(Field::BasketDose, Quantity::Dose, &self.basket_dose, form);
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

fn optional_between(
    faults: &mut Faults,
    field: Field,
    text: &str,
    (min, max): (f64, f64),
    form: Form<'_>,
) -> Option<f64> {
    if text.trim().is_empty() {
        return None;
    }
    let value = faults.number(field, text, form)?;
    if !(min..=max).contains(&value) {
        faults.add(field, say!("work-draft-station-must-be-between-and", min = min, max = max));
        return None;
    }
    Some(value)
}

fn bounded_mass(faults: &mut Faults, field: Field, text: &str, max_g: f64, form: Form<'_>) -> Option<f64> {
    let value = faults.optional(field, Quantity::BeanMass, text, form)?;
    if value > max_g {
        faults.add(
            field,
            say!("work-draft-station-must-be-at-most-g", most = form.units.value(Quantity::BeanMass, max_g)),
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
        assert_eq!(&back, station);
        // Numbers finer than a form shows them.
        let mut odd = station.clone();
        odd.gear.grind.retained_g = 0.37;
        odd.gear.grind.um_per_unit = Some(12.3456);
        odd.gear.pressure_bar = Some(9.04);
        odd.basket = Basket { diameter_mm: 58.35, stated_dose_g: 18.04 };
        odd.gear.grind.scale = Scale::new("grinder", 0.125, 30.0, 0.0625).unwrap();
        odd.gear.dose_g = Scale::new("dose", 16.02, 20.0, 0.01).unwrap();
        for units in [metric, imperial] {
            let back = StationDraft::from_station(&odd, &units).finish(&notebook, now, &units).unwrap();
            assert_eq!(back, odd);
            // What is typed counts, and only that.
            let mut draft = StationDraft::from_station(&odd, &units);
            draft.dose.max = "22 g".to_owned();
            let dose = draft.finish(&notebook, now, &units).unwrap().gear.dose_g;
            assert_eq!((dose.min(), dose.step()), (16.02, 0.01));
            assert!((dose.max() - 22.0).abs() < 1e-9, "{dose:?}");
        }
        // What a new station begins with are whole grams and degrees, whatever they are shown in.
        let begun = |units: &UnitPreferences| {
            let draft = StationDraft { name: "Window".to_owned(), ..StationDraft::new(units) };
            let made = draft.finish(&notebook, now, units).unwrap();
            (made.gear.dose_g, made.gear.yield_g, made.gear.pressure_bar, made.basket)
        };
        assert_eq!(begun(&imperial), begun(&metric));
    }

    #[test]
    fn nonsense_is_named_beside_its_field() {
        let units = UnitPreferences::default();
        let mut draft = StationDraft::new(&units);
        draft.grind.step = "0".to_owned();
        draft.dose.min = "NaN".to_owned();
        draft.basket_diameter = "5.8".to_owned();
        let faults = draft.faults(&Notebook::default(), &units);
        let (grind, dose) = (Field::GrindScale(Part::Step), Field::DoseScale(Part::Smallest));
        for field in [Field::Name, grind, dose, Field::BasketDiameter] {
            assert!(faults.of(field).is_some(), "{field:?}");
        }
    }

    #[test]
    fn a_step_must_lead_from_one_setting_to_another() {
        let units = UnitPreferences::default();
        let mut draft = StationDraft::new(&units);
        draft.name = "Shed".to_owned();
        let said = |draft: &StationDraft| {
            let faults = draft.faults(&Notebook::default(), &units);
            let mut all = faults.iter().map(|(field, text)| (field, text.to_owned())).collect::<Vec<_>>();
            assert!(all.len() <= 1, "{all:?}");
            all.pop()
        };
        let step = Field::GrindScale(Part::Step);
        for (wanted, fault) in [
            ("30.5", Some((step, "Step grind: the step must fit at least once between 0 and 30"))),
            ("30", None),
            ("0.1", None),
        ] {
            draft.grind.step = wanted.to_owned();
            assert_eq!(said(&draft), fault.map(|(field, text)| (field, text.to_owned())), "{wanted}");
        }
        // One setting is a scale too, whatever its step.
        (draft.dose.min, draft.dose.max) = ("18".to_owned(), "18".to_owned());
        assert_eq!(said(&draft), None);
        draft.dose.max = "17".to_owned();
        let (field, text) = said(&draft).unwrap();
        assert_eq!(field, Field::DoseScale(Part::Largest));
        assert!(text.starts_with("Largest dose: "), "{text}");
    }
}
