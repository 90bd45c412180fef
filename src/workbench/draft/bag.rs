//! The sheet of a bag as typed.

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Faults, Field, Filled, Form, typed_setting};
use crate::domain::{
    Bag, BagId, DrinkerId, Gear, Notebook, Price, Process, Roast, Stamp, StartRecipe, StationId,
};
use crate::units::{Quantity, UnitPreferences, dates};

/// A bag's own sheet as typed so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BagDraft {
    /// The bag being changed; `None` for a new one.
    pub id: Option<BagId>,
    /// Name on the bag.
    pub name: String,
    /// Who roasted it.
    pub roaster: String,
    /// Roast level.
    pub roast: Option<Roast>,
    /// Process.
    pub process: Option<Process>,
    /// Roast date, as YYYY-MM-DD.
    pub roasted_on: String,
    /// Day of opening, as YYYY-MM-DD; empty while it rests.
    pub opened_on: String,
    /// Mass when full.
    pub mass: String,
    /// Amount paid.
    pub price: String,
    /// Currency.
    pub currency: String,
    /// The station.
    pub station: Option<StationId>,
    /// The drinker.
    pub drinker: Option<DrinkerId>,
    /// Where to begin on the grinder; empty for "no idea".
    pub grind: String,
    /// Dose to begin with.
    pub dose: String,
    /// Yield to begin with.
    pub yield_: String,
    /// Temperature to begin with.
    pub temperature: String,
    /// Time window: from, seconds; empty for none.
    pub time_from: String,
    /// Time window: to, seconds.
    pub time_to: String,
    /// Free words.
    pub note: String,
    /// What the fields were filled with.
    pub(crate) filled: Filled,
}

impl BagDraft {
    /// A draft for a new bag: opened today, on the station and for the drinker of the newest bag in use (else the
    /// first there are), starting from that station's nearest earlier keeper by roast, else from the middle of the
    /// scales with the grind left open.
    #[must_use]
    pub fn new(notebook: &Notebook, today: Date, units: &UnitPreferences) -> Self {
        let newest = notebook.bags.iter().rev().find(|bag| bag.stamp.is_live());
        let station = newest
            .map(|bag| bag.station)
            .filter(|id| usable_station(notebook, *id))
            .or_else(|| notebook.stations.iter().find(|s| s.stamp.is_live() && !s.archived).map(|s| s.id));
        let drinker = newest
            .map(|bag| bag.drinker)
            .or_else(|| notebook.drinkers.iter().find(|d| d.stamp.is_live() && !d.archived).map(|d| d.id));
        let mut filled = Filled::default();
        let mut draft = Self {
            station,
            drinker,
            opened_on: today.to_string(),
            currency: newest
                .and_then(|bag| bag.price.as_ref())
                .map(|p| p.currency.clone())
                .unwrap_or_default(),
            mass: filled.quantity(Field::Mass, Quantity::BeanMass, 250.0, units),
            filled,
            ..Self::default()
        };
        draft.start_from_history(notebook, units);
        draft
    }

    /// Fills the start recipe from the nearest earlier bag on the chosen station: the same roast level first, the
    /// newest among equals, its keeper if it has one, else its last liked pull, else its start.
    pub fn start_from_history(&mut self, notebook: &Notebook, units: &UnitPreferences) {
        let Some(gear) = self.station.and_then(|id| notebook.station(id)).map(|s| s.gear) else { return };
        let distance = |bag: &Bag| match (self.roast, bag.roast) {
            (Some(a), Some(b)) => (a as i32 - b as i32).abs(),
            _ => 2,
        };
        // What was pulled or kept on another station says nothing of this grinder.
        let here = self.station;
        let kept =
            |bag: &Bag| bag.keeper.as_ref().filter(|_| bag.kept_on() == here).map(|keeper| keeper.recipe);
        let nearest = notebook
            .bags
            .iter()
            .filter(|bag| bag.stamp.is_live() && Some(bag.station) == self.station && Some(bag.id) != self.id)
            .filter(|bag| bag.live_pulls().any(|pull| Some(pull.station) == here) || kept(bag).is_some())
            .min_by_key(|bag| (distance(bag), std::cmp::Reverse(bag.id)));
        let recipe = nearest.map(|bag| {
            let pulled = bag.live_pulls().filter(|pull| Some(pull.station) == here);
            let liked = pulled.max_by_key(|pull| (pull.taste.liking(), pull.pulled_at));
            kept(bag).or_else(|| liked.map(|pull| pull.used))
        });
        let start = match recipe.flatten() {
            Some(recipe) => {
                let recipe = gear.snap(&recipe);
                StartRecipe {
                    grind: Some(recipe.grind),
                    dose_g: recipe.dose_g,
                    yield_g: recipe.yield_g,
                    temperature_c: recipe.temperature_c,
                }
            }
            None => {
                let dose_g = gear.dose_g.snap((gear.dose_g.min() + gear.dose_g.max()) / 2.0);
                StartRecipe {
                    grind: None,
                    dose_g,
                    yield_g: gear.yield_g.snap(dose_g * 2.0),
                    temperature_c: gear.temperature_c.map(|t| t.snap(93.0)),
                }
            }
        };
        self.fill_start(&start, &gear, units);
    }

    fn fill_start(&mut self, start: &StartRecipe, gear: &Gear, units: &UnitPreferences) {
        let filled = &mut self.filled;
        let grind = start.grind.map(|grind| {
            let text = typed_setting(grind, gear.grind.scale.decimals(), units);
            filled.put(Field::Grind, grind, text, units)
        });
        self.grind = grind.unwrap_or_default();
        self.dose = filled.quantity(Field::Dose, Quantity::Dose, start.dose_g, units);
        self.yield_ = filled.quantity(Field::Yield, Quantity::Yield, start.yield_g, units);
        self.temperature =
            filled.optional(Field::Temperature, Quantity::Temperature, start.temperature_c, units);
    }

    /// A draft to change a bag's sheet.
    #[must_use]
    pub fn from_bag(bag: &Bag, gear: &Gear, units: &UnitPreferences) -> Self {
        let date = |d: Option<Date>| d.map(|d| d.to_string()).unwrap_or_default();
        let mut filled = Filled::default();
        let price = bag
            .price
            .as_ref()
            .map(|price| filled.put(Field::Price, price.amount, units.number(price.amount, 2), units));
        let (from, to) = (bag.time_window_s.map(|w| w.0), bag.time_window_s.map(|w| w.1));
        let mut draft = Self {
            id: Some(bag.id),
            name: bag.name.clone(),
            roaster: bag.roaster.clone(),
            roast: bag.roast,
            process: bag.process,
            roasted_on: date(bag.roasted_on),
            opened_on: date(bag.opened_on),
            mass: filled.optional(Field::Mass, Quantity::BeanMass, bag.mass_g, units),
            price: price.unwrap_or_default(),
            currency: bag.price.as_ref().map(|p| p.currency.clone()).unwrap_or_default(),
            station: Some(bag.station),
            drinker: Some(bag.drinker),
            time_from: filled.optional(Field::TimeFrom, Quantity::Time, from, units),
            time_to: filled.optional(Field::TimeTo, Quantity::Time, to, units),
            note: bag.note.clone(),
            filled,
            ..Self::default()
        };
        draft.fill_start(&bag.start, gear, units);
        draft
    }

    /// What is wrong with what is typed.
    #[must_use]
    pub fn faults(&self, notebook: &Notebook, today: Date, units: &UnitPreferences) -> Faults {
        let epoch = Timestamp::UNIX_EPOCH;
        self.finish(notebook, today, epoch, units).err().unwrap_or_default()
    }

    /// The finished sheet, or what is wrong.
    ///
    /// # Errors
    /// [`Faults`], field by field.
    pub fn finish(
        &self,
        notebook: &Notebook,
        today: Date,
        now: Timestamp,
        units: &UnitPreferences,
    ) -> Result<Bag, Faults> {
        let mut faults = Faults::default();
        let form = Form { filled: &self.filled, units };
        if self.name.trim().is_empty() {
            faults.add(Field::Name, word!("work-draft-bag-give-the-bag-a-name-as"));
        }
        let station = self.station.and_then(|id| notebook.station(id));
        if station.is_none() {
            faults.add(Field::Station, word!("work-draft-bag-choose-the-station-on-which-it"));
        }
        let drinker = self.drinker.and_then(|id| notebook.drinker(id));
        if drinker.is_none() {
            faults.add(Field::Drinker, word!("work-draft-bag-choose-for-whom-it-is-dialled"));
        }
        let roasted_on = read_date(&mut faults, Field::RoastedOn, &self.roasted_on, today);
        if let Some(date) = roasted_on
            && date > today
        {
            faults.add(Field::RoastedOn, say!("work-draft-bag-lies-in-the-future-check-the", date = date));
        }
        let opened_on = read_date(&mut faults, Field::OpenedOn, &self.opened_on, today);
        if let (Some(roasted), Some(opened)) = (roasted_on, opened_on)
            && opened < roasted
        {
            faults.add(Field::OpenedOn, word!("work-draft-bag-it-cannot-have-been-opened-before"));
        }
        let mass_g = faults.optional(Field::Mass, Quantity::BeanMass, &self.mass, form);
        let price = self.read_price(&mut faults, form);
        let grind = self.read_grind(&mut faults, station.map(|s| &s.gear), form);
        let dose_g = faults.needed(Field::Dose, Quantity::Dose, &self.dose, form);
        let yield_g = faults.needed(Field::Yield, Quantity::Yield, &self.yield_, form);
        let temperature_c = station
            .and_then(|station| station.gear.temperature_c)
            .and_then(|settable| faults.brew_temperature(&self.temperature, Some(settable), form));
        let time_window_s = self.read_window(&mut faults, form);
        let old = self.id.and_then(|id| notebook.bag(id));
        match (station, drinker, dose_g, yield_g) {
            (Some(station), Some(drinker), Some(dose_g), Some(yield_g)) if faults.is_empty() => Ok(Bag {
                id: self.id.unwrap_or_else(|| BagId::fresh(now)),
                stamp: old.map_or_else(|| Stamp::new(now), |bag| bag.stamp),
                name: self.name.trim().to_owned(),
                roaster: self.roaster.trim().to_owned(),
                roast: self.roast,
                process: self.process,
                roasted_on,
                opened_on,
                mass_g,
                price,
                station: station.id,
                drinker: drinker.id,
                start: StartRecipe { grind, dose_g, yield_g, temperature_c },
                time_window_s,
                // A keeper that no pull ties to the old grinder would be taken for one of the new.
                keeper: old
                    .filter(|bag| bag.station == station.id || bag.keeper_pull().is_some())
                    .and_then(|bag| bag.keeper.clone()),
                finished: old.is_some_and(|bag| bag.finished),
                note: self.note.trim().to_owned(),
                pulls: Vec::new(),
            }),
            _ => Err(faults),
        }
    }

    fn read_price(&self, faults: &mut Faults, form: Form<'_>) -> Option<Price> {
        if self.price.trim().is_empty() {
            return None;
        }
        let amount = faults.number(Field::Price, &self.price, form)?;
        if !(0.0..=1e6).contains(&amount) {
            faults.add(Field::Price, word!("work-draft-bag-the-price-must-be-between-0"));
            return None;
        }
        Some(Price { amount, currency: self.currency.trim().to_owned() })
    }

    fn read_grind(&self, faults: &mut Faults, gear: Option<&Gear>, form: Form<'_>) -> Option<f64> {
        if self.grind.trim().is_empty() {
            return None;
        }
        let value = faults.number(Field::Grind, &self.grind, form)?;
        let scale = gear?.grind.scale;
        if value < scale.min() || value > scale.max() {
            let decimals = scale.decimals();
            faults.add(
                Field::Grind,
                say!(
                    "work-draft-bag-this-grinders-scale-runs-from-to",
                    number = form.units.number(scale.min(), decimals),
                    number_2 = form.units.number(scale.max(), decimals)
                ),
            );
            return None;
        }
        Some(value)
    }

    fn read_window(&self, faults: &mut Faults, form: Form<'_>) -> Option<(f64, f64)> {
        let from = faults.optional(Field::TimeFrom, Quantity::Time, &self.time_from, form);
        let to = faults.optional(Field::TimeTo, Quantity::Time, &self.time_to, form);
        match (from, to) {
            (Some(from), Some(to)) if from < to => Some((from, to)),
            (Some(_), Some(_)) => {
                faults.add(Field::TimeTo, word!("work-draft-bag-the-window-must-end-after-it"));
                None
            }
            (Some(_), None) if self.time_to.trim().is_empty() => {
                faults.add(Field::TimeTo, word!("work-draft-bag-give-the-end-of-the-window"));
                None
            }
            (None, Some(_)) if self.time_from.trim().is_empty() => {
                faults.add(Field::TimeFrom, word!("work-draft-bag-give-the-beginning-of-the-window"));
                None
            }
            _ => None,
        }
    }
}

fn usable_station(notebook: &Notebook, id: StationId) -> bool {
    notebook.station(id).is_some_and(|s| s.stamp.is_live() && !s.archived)
}

fn read_date(faults: &mut Faults, field: Field, text: &str, today: Date) -> Option<Date> {
    if text.trim().is_empty() {
        return None;
    }
    let date = dates::read(text, today).filter(|date| (1900..=2999).contains(&date.year()));
    if date.is_none() {
        faults.add(field, word!("work-draft-bag-write-the-date"));
    }
    date
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Keeper, Recipe, Record, Tolerance};
    use crate::units::{MassUnit, TemperatureUnit};
    use crate::workbench::samples;

    fn today() -> Date {
        jiff::civil::date(2026, 11, 25)
    }

    #[test]
    fn a_new_bag_starts_from_the_keeper_of_the_nearest_one() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let mut sheet = notebook.bag(id).unwrap().sheet();
        sheet.keeper = Some(Keeper {
            recipe: Recipe { grind: 12.5, dose_g: 18.2, yield_g: 40.0, temperature_c: Some(94.0) },
            time_s: None,
            tolerance: Tolerance::default(),
            kept_at: now,
            from_pull: None,
        });
        notebook.put(Record::Bag(Box::new(sheet)));
        let units = UnitPreferences::default();
        let draft = BagDraft::new(&notebook, today(), &units);
        assert_eq!((draft.grind.as_str(), draft.yield_.as_str()), ("12.5", "40.0"));
        assert!(draft.faults(&notebook, today(), &units).of(Field::Name).is_some());
    }

    #[test]
    fn a_keeper_stays_with_the_grinder_it_was_kept_on() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let units = UnitPreferences::default();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let mut other = notebook.stations[0].clone();
        other.id = StationId(crate::domain::Id::from_parts(now, [8; 10]));
        notebook.put(Record::Station(Box::new(other.clone())));
        let mut bag = notebook.bag(id).unwrap().clone();
        bag.keeper = Some(Keeper {
            recipe: Recipe { grind: 12.5, dose_g: 18.2, yield_g: 40.0, temperature_c: Some(94.0) },
            time_s: None,
            tolerance: Tolerance::default(),
            kept_at: now,
            from_pull: Some(bag.pulls[0].id),
        });
        // Moved with its pulls, which tell where it was kept: it waits until the bag comes back.
        let moved = |bag: &Bag, notebook: &mut Notebook| {
            notebook.bags = vec![bag.clone()];
            let mut draft = BagDraft::from_bag(bag, &samples::gear(), &units);
            draft.station = Some(other.id);
            let mut moved = draft.finish(notebook, today(), now, &units).unwrap();
            moved.pulls = bag.pulls.clone();
            moved
        };
        let there = moved(&bag, &mut notebook);
        assert_eq!((there.keeper.as_ref(), there.kept_on()), (bag.keeper.as_ref(), Some(bag.station)));
        // A new bag on the other grinder does not begin at that setting.
        notebook.bags = vec![there];
        let draft = BagDraft::new(&notebook, today(), &units);
        assert_eq!((draft.station, draft.grind.as_str()), (Some(other.id), ""));
        // Without a pull nothing would tell that its setting is another grinder's.
        bag.pulls.clear();
        let there = moved(&bag, &mut notebook);
        assert_eq!((there.keeper, there.station), (None, other.id));
    }

    #[test]
    fn a_bag_survives_its_form_in_any_unit() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, id) = samples::notebook_with_pulls(0, now);
        let mut bag = notebook.bag(id).unwrap().clone();
        bag.mass_g = Some(251.6);
        bag.price = Some(Price { amount: 12.345, currency: "EUR".to_owned() });
        bag.start =
            StartRecipe { grind: Some(14.123), dose_g: 18.04, yield_g: 36.27, temperature_c: Some(93.26) };
        bag.time_window_s = Some((25.04, 29.46));
        let metric = UnitPreferences::default();
        let imperial = UnitPreferences {
            mass: MassUnit::Ounce,
            temperature: TemperatureUnit::Fahrenheit,
            decimal_comma: true,
            ..metric
        };
        let mut begun = Vec::new();
        for units in [metric, imperial] {
            let draft = BagDraft::from_bag(&bag, &samples::gear(), &units);
            assert_eq!(draft.finish(&notebook, today(), now, &units).unwrap(), bag);
            let mut draft = draft;
            draft.mass = "200 g".to_owned();
            let edited = draft.finish(&notebook, today(), now, &units).unwrap();
            assert!(edited.mass_g.is_some_and(|mass| (mass - 200.0).abs() < 1e-9), "{edited:?}");
            assert_eq!(edited.start, bag.start);
            let draft = BagDraft { name: "Tern".to_owned(), ..BagDraft::new(&notebook, today(), &units) };
            let new = draft.finish(&notebook, today(), now, &units).unwrap();
            begun.push((new.mass_g, new.start));
        }
        assert_eq!(begun[0], begun[1]);
    }

    #[test]
    fn dates_and_windows_are_checked() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, id) = samples::notebook_with_pulls(0, now);
        let units = UnitPreferences::default();
        let mut draft = BagDraft::from_bag(notebook.bag(id).unwrap(), &samples::gear(), &units);
        draft.roasted_on = "2027-01-01".to_owned();
        draft.opened_on = "yesterday".to_owned();
        draft.time_from = "30".to_owned();
        draft.time_to = "25".to_owned();
        let faults = draft.faults(&notebook, today(), &units);
        for field in [Field::RoastedOn, Field::OpenedOn, Field::TimeTo] {
            assert!(faults.of(field).is_some(), "{field:?}");
        }
    }
}
