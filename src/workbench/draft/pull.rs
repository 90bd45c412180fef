//! The entry row of a pull: prefilled from the plan and the clock, so that only what differs is typed.

use jiff::Timestamp;

use super::{Faults, Field, Filled, Form, typed, typed_setting};
use crate::advisor::unlikely;
use crate::domain::{Flags, Gear, Pull, PullId, Recipe, Stamp, StationId, Taste};
use crate::units::{Quantity, UnitPreferences};
use crate::workbench::clock::ShotClock;

/// A pull as typed so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PullDraft {
    /// The pull being changed; `None` for a new one.
    pub id: Option<PullId>,
    /// The plan it was pulled to.
    pub plan: Option<Recipe>,
    /// Grinder setting.
    pub grind: String,
    /// Dose.
    pub dose: String,
    /// Drink in the cup.
    pub yield_: String,
    /// Brew temperature; ignored where it cannot be set.
    pub temperature: String,
    /// Pump on to cup away.
    pub time: String,
    /// Pump on to first drip.
    pub first_drip: String,
    /// Strength.
    pub strength: String,
    /// Marks and liking.
    pub taste: Taste,
    /// What went wrong.
    pub flags: Flags,
    /// Free words.
    pub note: String,
    /// Who pulled it.
    pub pulled_by: String,
    /// What the fields were filled with.
    pub(crate) filled: Filled,
}

impl PullDraft {
    /// A draft prefilled with what the plan and the clock already know.
    #[must_use]
    pub fn from_plan(plan: Recipe, clock: ShotClock, gear: &Gear, units: &UnitPreferences) -> Self {
        let mut filled = Filled::default();
        let grind = typed_setting(plan.grind, gear.grind.scale.decimals(), units);
        let mut draft = Self {
            plan: Some(plan),
            grind: filled.put(Field::Grind, plan.grind, grind, units),
            dose: filled.quantity(Field::Dose, Quantity::Dose, plan.dose_g, units),
            yield_: filled.quantity(Field::Yield, Quantity::Yield, plan.yield_g, units),
            temperature: filled.optional(
                Field::Temperature,
                Quantity::Temperature,
                plan.temperature_c,
                units,
            ),
            filled,
            ..Self::default()
        };
        if let ShotClock::Stopped { time_s, first_drip_s } = clock {
            draft.time = typed(Quantity::Time, time_s, units);
            draft.first_drip = first_drip_s.map(|s| typed(Quantity::Time, s, units)).unwrap_or_default();
        }
        draft
    }

    /// A draft to change a pull that is in the ledger.
    #[must_use]
    pub fn from_pull(pull: &Pull, gear: &Gear, units: &UnitPreferences) -> Self {
        let mut filled = Filled::default();
        let used = &pull.used;
        let grind = typed_setting(used.grind, decimals_of(used.grind, gear), units);
        let strength = pull.tds_pct.map(|tds| filled.put(Field::Strength, tds, units.number(tds, 2), units));
        Self {
            id: Some(pull.id),
            plan: pull.plan,
            grind: filled.put(Field::Grind, used.grind, grind, units),
            dose: filled.quantity(Field::Dose, Quantity::Dose, used.dose_g, units),
            yield_: filled.quantity(Field::Yield, Quantity::Yield, used.yield_g, units),
            temperature: filled.optional(
                Field::Temperature,
                Quantity::Temperature,
                used.temperature_c,
                units,
            ),
            time: filled.optional(Field::Time, Quantity::Time, pull.time_s, units),
            first_drip: filled.optional(Field::FirstDrip, Quantity::Time, pull.first_drip_s, units),
            strength: strength.unwrap_or_default(),
            taste: pull.taste,
            flags: pull.flags,
            note: pull.note.clone(),
            pulled_by: pull.pulled_by.clone(),
            filled,
        }
    }

    /// What is wrong with what is typed.
    #[must_use]
    pub fn faults(&self, gear: &Gear, units: &UnitPreferences) -> Faults {
        self.read(gear, units).1
    }

    /// The finished pull, or what is wrong. `original` is the pull being changed, if one; `now` is when a new one
    /// was pulled.
    ///
    /// # Errors
    /// [`Faults`], field by field.
    pub fn finish(
        &self,
        gear: &Gear,
        units: &UnitPreferences,
        original: Option<&Pull>,
        station: StationId,
        now: Timestamp,
    ) -> Result<Pull, Faults> {
        let (values, faults) = self.read(gear, units);
        let Some(values) = values.filter(|_| faults.is_empty()) else { return Err(faults) };
        Ok(Pull {
            id: original.map_or_else(|| PullId::fresh(now), |pull| pull.id),
            stamp: original.map_or_else(|| Stamp::new(now), |pull| pull.stamp),
            pulled_at: original.map_or(now, |pull| pull.pulled_at),
            station: original.map_or(station, |pull| pull.station),
            pulled_by: self.pulled_by.trim().to_owned(),
            plan: self.plan,
            used: values.used,
            time_s: values.time_s,
            first_drip_s: values.first_drip_s,
            tds_pct: values.tds_pct,
            taste: self.taste,
            flags: self.flags,
            note: self.note.trim().to_owned(),
            // One may have been attached or taken off while the form was open.
            has_trace: original.is_some_and(|pull| pull.has_trace),
        })
    }

    /// What cannot well be as it is typed, in sentences that ask about it; nothing where the form has faults, of a choke, or
    /// where the pull being changed says the same. `number` is the pull's, from 1.
    #[must_use]
    pub fn doubts(
        &self,
        gear: &Gear,
        units: &UnitPreferences,
        original: Option<&Pull>,
        number: usize,
    ) -> Vec<String> {
        let (values, faults) = self.read(gear, units);
        let Some(values) = values.filter(|_| faults.is_empty() && !self.flags.choked) else {
            return Vec::new();
        };
        let label = u32::try_from(number).unwrap_or(u32::MAX);
        let before = original.map(|pull| unlikely(label, &pull.used, pull.time_s)).unwrap_or_default();
        let now = unlikely(label, &values.used, values.time_s);
        if now == before { Vec::new() } else { now }
    }

    fn read(&self, gear: &Gear, units: &UnitPreferences) -> (Option<Values>, Faults) {
        let mut faults = Faults::default();
        let form = Form { filled: &self.filled, units };
        let scale = gear.grind.scale;
        let grind = faults.number(Field::Grind, &self.grind, form).and_then(|value| {
            if value < scale.min() || value > scale.max() {
                let decimals = scale.decimals();
                faults.add(
                    Field::Grind,
                    say!(
                        "work-draft-pull-this-grinders-scale-runs-from-to",
                        number = units.number(scale.min(), decimals),
                        number_2 = units.number(scale.max(), decimals)
                    ),
                );
                return None;
            }
            Some(value)
        });
        let dose_g = faults.needed(Field::Dose, Quantity::Dose, &self.dose, form);
        let yield_g = if self.flags.choked && self.yield_.trim().is_empty() {
            Some(0.0)
        } else {
            faults.needed(Field::Yield, Quantity::Yield, &self.yield_, form)
        };
        let temperature_c = if gear.temperature_c.is_some() {
            faults.brew_temperature(&self.temperature, gear.temperature_c, form)
        } else {
            None
        };
        let time_s = faults.optional(Field::Time, Quantity::Time, &self.time, form);
        if time_s.is_some_and(|time_s| time_s <= 0.0) {
            faults.add(Field::Time, word!("work-draft-pull-the-time-must-be-above"));
        }
        let first_drip_s = faults.optional(Field::FirstDrip, Quantity::Time, &self.first_drip, form);
        if let (Some(time), Some(drip)) = (time_s, first_drip_s)
            && drip > time
        {
            faults.add(Field::FirstDrip, word!("work-draft-pull-the-first-drip-cannot-come-after"));
        }
        let tds_pct = faults.optional(Field::Strength, Quantity::Strength, &self.strength, form);
        if let (Some(tds), Some(drink), Some(dose)) = (tds_pct, yield_g, dose_g)
            && tds * drink / dose > 35.0
        {
            faults.add(
                Field::Strength,
                say!(
                    "work-draft-pull-that-would-be-extraction-more-than",
                    number = units.number(tds * drink / dose, 0)
                ),
            );
        }
        let values = match (grind, dose_g, yield_g) {
            (Some(grind), Some(dose_g), Some(yield_g)) => Some(Values {
                used: Recipe { grind, dose_g, yield_g, temperature_c },
                time_s,
                first_drip_s,
                tds_pct,
            }),
            _ => None,
        };
        (values, faults)
    }
}

/// Decimals of a setting as it is typed back: those of the grinder's scale, and more only where it was set between steps.
fn decimals_of(grind: f64, gear: &Gear) -> usize {
    let least = gear.grind.scale.decimals();
    let whole = |decimals: &usize| {
        let shown = grind * 10f64.powi(*decimals as i32);
        (shown - shown.round()).abs() < 1e-6
    };
    (least..2).find(whole).unwrap_or(least.max(2))
}

struct Values {
    used: Recipe,
    time_s: Option<f64>,
    first_drip_s: Option<f64>,
    tds_pct: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{MassUnit, PressureUnit, TemperatureUnit};
    use crate::workbench::samples;

    fn plan() -> Recipe {
        Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) }
    }

    #[test]
    fn only_what_differs_is_typed() {
        let units = UnitPreferences::default();
        let gear = samples::gear();
        let clock = ShotClock::Stopped { time_s: 27.04, first_drip_s: Some(6.5) };
        let mut draft = PullDraft::from_plan(plan(), clock, &gear, &units);
        draft.yield_ = "37,2".to_owned();
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let station = samples::notebook_with_pulls(0, now).0.stations[0].id;
        let pull = draft.finish(&gear, &units, None, station, now).unwrap();
        assert_eq!(pull.used, Recipe { yield_g: 37.2, ..plan() });
        assert_eq!((pull.time_s, pull.first_drip_s), (Some(27.0), Some(6.5)));
        assert_eq!(pull.plan, Some(plan()));
    }

    #[test]
    fn every_wrong_field_says_what_to_do() {
        let units = UnitPreferences::default();
        let gear = samples::gear();
        let mut draft = PullDraft::from_plan(plan(), ShotClock::Idle, &gear, &units);
        draft.grind = "99".to_owned();
        draft.dose = "eighteen".to_owned();
        draft.yield_ = "360".to_owned();
        draft.strength = "nan".to_owned();
        draft.time = "20".to_owned();
        draft.first_drip = "25".to_owned();
        let faults = draft.faults(&gear, &units);
        for field in [Field::Grind, Field::Dose, Field::Yield, Field::Strength, Field::FirstDrip] {
            assert!(faults.of(field).is_some(), "{field:?}");
        }
        assert!(faults.of(Field::Yield).unwrap().contains("decimal mark"));
    }

    fn imperial() -> UnitPreferences {
        UnitPreferences {
            mass: MassUnit::Ounce,
            temperature: TemperatureUnit::Fahrenheit,
            pressure: PressureUnit::Psi,
            decimal_comma: true,
        }
    }

    #[test]
    fn a_pull_survives_its_form_in_any_unit() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, id) = samples::notebook_with_pulls(1, now);
        let mut pull = notebook.bag(id).unwrap().pulls[0].clone();
        pull.used = Recipe { grind: 14.123, dose_g: 18.04, yield_g: 36.27, temperature_c: Some(93.26) };
        (pull.time_s, pull.first_drip_s, pull.tds_pct) = (Some(27.46), Some(6.54), Some(9.127));
        let gear = samples::gear();
        for units in [UnitPreferences::default(), imperial()] {
            let draft = PullDraft::from_pull(&pull, &gear, &units);
            assert_eq!(draft.finish(&gear, &units, Some(&pull), pull.station, now).unwrap(), pull);
            let mut draft = draft;
            draft.dose = "18.5 g".to_owned();
            let edited = draft.finish(&gear, &units, Some(&pull), pull.station, now).unwrap();
            assert!((edited.used.dose_g - 18.5).abs() < 1e-9, "{edited:?}");
            assert_eq!(edited.used, Recipe { dose_g: edited.used.dose_g, ..pull.used });
            // A new one to a plan: what is not typed is as planned.
            let draft = PullDraft::from_plan(pull.used, ShotClock::Idle, &gear, &units);
            let new = draft.finish(&gear, &units, None, pull.station, now).unwrap();
            assert_eq!(new.used, pull.used);
        }
    }

    #[test]
    fn a_trace_attached_while_the_form_is_open_stays() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, id) = samples::notebook_with_pulls(1, now);
        let mut pull = notebook.bag(id).unwrap().pulls[0].clone();
        let (gear, units) = (samples::gear(), UnitPreferences::default());
        let draft = PullDraft::from_pull(&pull, &gear, &units);
        pull.has_trace = true;
        assert!(draft.finish(&gear, &units, Some(&pull), pull.station, now).unwrap().has_trace);
        let draft = PullDraft::from_pull(&pull, &gear, &units);
        pull.has_trace = false;
        assert!(!draft.finish(&gear, &units, Some(&pull), pull.station, now).unwrap().has_trace);
    }

    #[test]
    fn more_than_coffee_holds_is_asked_about() {
        let units = UnitPreferences::default();
        let mut draft = PullDraft::from_plan(plan(), ShotClock::Idle, &samples::gear(), &units);
        draft.strength = "19".to_owned();
        let faults = draft.faults(&samples::gear(), &units);
        assert!(faults.of(Field::Strength).unwrap().contains("38 % extraction"));
    }

    /// What can hardly be is asked about, in the words of the advice; what was saved so before is not asked about again.
    #[test]
    fn numbers_that_can_hardly_be_are_asked_about() {
        let (units, gear) = (UnitPreferences::default(), samples::gear());
        let mut draft = PullDraft::from_plan(plan(), ShotClock::Idle, &gear, &units);
        draft.time = "27".to_owned();
        assert!(draft.doubts(&gear, &units, None, 3).is_empty());
        draft.time = "0.5".to_owned();
        let doubts = draft.doubts(&gear, &units, None, 3);
        assert!(
            doubts.len() == 1 && doubts[0].contains("Pull 3") && doubts[0].contains("minutes"),
            "{doubts:?}"
        );
        (draft.time, draft.yield_) = ("27".to_owned(), "9".to_owned());
        assert!(draft.doubts(&gear, &units, None, 3)[0].contains("9.0 g of drink"));
        draft.flags.choked = true;
        assert!(draft.doubts(&gear, &units, None, 3).is_empty());
        draft.flags.choked = false;
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let station = samples::notebook_with_pulls(0, now).0.stations[0].id;
        let saved = draft.finish(&gear, &units, None, station, now).unwrap();
        assert!(draft.doubts(&gear, &units, Some(&saved), 3).is_empty());
        draft.dose = "eighteen".to_owned();
        assert!(draft.doubts(&gear, &units, None, 3).is_empty(), "a fault is told first");
    }

    #[test]
    fn a_time_of_nothing_is_none() {
        let units = UnitPreferences::default();
        let gear = samples::gear();
        let mut draft = PullDraft::from_plan(plan(), ShotClock::Idle, &gear, &units);
        draft.time = "0".to_owned();
        assert!(draft.faults(&gear, &units).of(Field::Time).unwrap().contains("leave it empty"));
        draft.flags.choked = true;
        assert!(draft.faults(&gear, &units).of(Field::Time).is_some());
        draft.time = String::new();
        assert!(draft.faults(&gear, &units).is_empty());
    }
}
