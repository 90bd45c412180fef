//! The entry row of a pull: prefilled from the plan and the clock, so that only what differs is typed.

use jiff::Timestamp;

use super::{Faults, Field, typed, typed_setting};
use crate::domain::{Flags, Gear, Pull, PullId, Recipe, Stamp, StationId, Taste};
use crate::units::{Quantity, UnitPreferences, parse_number};
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
    /// Whether a trace is kept for it already.
    pub has_trace: bool,
}

impl PullDraft {
    /// A draft prefilled with what the plan and the clock already know.
    #[must_use]
    pub fn from_plan(plan: Recipe, clock: ShotClock, gear: &Gear, units: &UnitPreferences) -> Self {
        let mut draft = Self {
            plan: Some(plan),
            grind: typed_setting(plan.grind, gear.grind.scale.decimals(), units),
            dose: typed(Quantity::Dose, plan.dose_g, units),
            yield_: typed(Quantity::Yield, plan.yield_g, units),
            temperature: plan
                .temperature_c
                .map(|t| typed(Quantity::Temperature, t, units))
                .unwrap_or_default(),
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
        let optional =
            |quantity, value: Option<f64>| value.map(|v| typed(quantity, v, units)).unwrap_or_default();
        Self {
            id: Some(pull.id),
            plan: pull.plan,
            grind: typed_setting(pull.used.grind, gear.grind.scale.decimals().max(2), units),
            dose: typed(Quantity::Dose, pull.used.dose_g, units),
            yield_: typed(Quantity::Yield, pull.used.yield_g, units),
            temperature: optional(Quantity::Temperature, pull.used.temperature_c),
            time: optional(Quantity::Time, pull.time_s),
            first_drip: optional(Quantity::Time, pull.first_drip_s),
            strength: pull.tds_pct.map(|v| units.number(v, 2)).unwrap_or_default(),
            taste: pull.taste,
            flags: pull.flags,
            note: pull.note.clone(),
            pulled_by: pull.pulled_by.clone(),
            has_trace: pull.has_trace,
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
            has_trace: self.has_trace,
        })
    }

    fn read(&self, gear: &Gear, units: &UnitPreferences) -> (Option<Values>, Faults) {
        let mut faults = Faults::default();
        let scale = gear.grind.scale;
        let grind = faults.take(Field::Grind, parse_number(&self.grind)).and_then(|value| {
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
        let dose_g = faults.needed(Field::Dose, Quantity::Dose, &self.dose, units);
        let yield_g = if self.flags.choked && self.yield_.trim().is_empty() {
            Some(0.0)
        } else {
            faults.needed(Field::Yield, Quantity::Yield, &self.yield_, units)
        };
        let temperature_c = if gear.temperature_c.is_some() {
            faults.brew_temperature(&self.temperature, gear.temperature_c, units)
        } else {
            None
        };
        let time_s = faults.optional(Field::Time, Quantity::Time, &self.time, units);
        let first_drip_s = faults.optional(Field::FirstDrip, Quantity::Time, &self.first_drip, units);
        if let (Some(time), Some(drip)) = (time_s, first_drip_s)
            && drip > time
        {
            faults.add(Field::FirstDrip, word!("work-draft-pull-the-first-drip-cannot-come-after"));
        }
        let tds_pct = faults.optional(Field::Strength, Quantity::Strength, &self.strength, units);
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

struct Values {
    used: Recipe,
    time_s: Option<f64>,
    first_drip_s: Option<f64>,
    tds_pct: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;
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

    #[test]
    fn more_than_coffee_holds_is_asked_about() {
        let units = UnitPreferences::default();
        let mut draft = PullDraft::from_plan(plan(), ShotClock::Idle, &samples::gear(), &units);
        draft.strength = "19".to_owned();
        let faults = draft.faults(&samples::gear(), &units);
        assert!(faults.of(Field::Strength).unwrap().contains("38 % extraction"));
    }
}
