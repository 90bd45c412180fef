//! Between the domain and format 1.

use jiff::Timestamp;

use super::*;
use crate::domain::{BagId, Channel, DrinkerId, PullId, RecordKey, Stamp, StationId};
use crate::units::{Quantity, UnitPreferences};

fn num(value: Option<f64>) -> Option<Num> {
    value.map(Num)
}

fn bare(value: Option<Num>) -> Option<f64> {
    value.map(|num| num.0)
}

fn stamp(made: Timestamp, changed: Timestamp, removed: Option<Timestamp>) -> Stamp {
    Stamp { made, changed, removed }
}

impl From<&domain::Recipe> for Recipe {
    fn from(recipe: &domain::Recipe) -> Self {
        Self {
            grind: Num(recipe.grind),
            dose_g: Num(recipe.dose_g),
            yield_g: Num(recipe.yield_g),
            temperature_c: num(recipe.temperature_c),
            unknown: Default::default(),
        }
    }
}

impl From<Recipe> for domain::Recipe {
    fn from(recipe: Recipe) -> Self {
        Self {
            grind: recipe.grind.0,
            dose_g: recipe.dose_g.0,
            yield_g: recipe.yield_g.0,
            temperature_c: bare(recipe.temperature_c),
        }
    }
}

impl From<&domain::Taste> for Taste {
    fn from(taste: &domain::Taste) -> Self {
        use domain::Attribute as A;
        let mark = |attribute| taste.mark(attribute).map(MarkText);
        Self {
            sourness: mark(A::Sourness),
            bitterness: mark(A::Bitterness),
            strength: mark(A::Strength),
            body: mark(A::Body),
            astringency: mark(A::Astringency),
            sweetness: mark(A::Sweetness),
            liking: taste.liking().map(Liking),
            unknown: Default::default(),
        }
    }
}

impl From<Taste> for domain::Taste {
    fn from(disk: Taste) -> Self {
        use domain::Attribute as A;
        let mut taste = Self::default();
        let marks = [
            (A::Sourness, disk.sourness),
            (A::Bitterness, disk.bitterness),
            (A::Strength, disk.strength),
            (A::Body, disk.body),
            (A::Astringency, disk.astringency),
            (A::Sweetness, disk.sweetness),
        ];
        for (attribute, mark) in marks {
            taste.set_mark(attribute, mark.map(|mark| mark.0));
        }
        taste.set_liking(disk.liking.map(|liking| i64::from(liking.0)));
        taste
    }
}

impl From<&domain::Pull> for Pull {
    fn from(pull: &domain::Pull) -> Self {
        Self {
            id: IdText(pull.id.0),
            made: pull.stamp.made,
            changed: pull.stamp.changed,
            removed: pull.stamp.removed,
            pulled_at: pull.pulled_at,
            station: IdText(pull.station.0),
            pulled_by: pull.pulled_by.clone(),
            plan: pull.plan.as_ref().map(Recipe::from),
            used: Recipe::from(&pull.used),
            time_s: num(pull.time_s),
            first_drip_s: num(pull.first_drip_s),
            tds_pct: num(pull.tds_pct),
            taste: (!pull.taste.is_empty()).then(|| Taste::from(&pull.taste)),
            choked: pull.flags.choked,
            spurting: pull.flags.spurting,
            sink: pull.flags.sink,
            note: pull.note.clone(),
            has_trace: pull.has_trace,
            unknown: Default::default(),
        }
    }
}

impl From<Pull> for domain::Pull {
    fn from(disk: Pull) -> Self {
        Self {
            id: PullId(disk.id.0),
            stamp: stamp(disk.made, disk.changed, disk.removed),
            pulled_at: disk.pulled_at,
            station: StationId(disk.station.0),
            pulled_by: disk.pulled_by,
            plan: disk.plan.map(Into::into),
            used: disk.used.into(),
            time_s: bare(disk.time_s),
            first_drip_s: bare(disk.first_drip_s),
            tds_pct: bare(disk.tds_pct),
            taste: disk.taste.map(Into::into).unwrap_or_default(),
            flags: domain::Flags { choked: disk.choked, spurting: disk.spurting, sink: disk.sink },
            note: disk.note,
            has_trace: disk.has_trace,
        }
    }
}

impl From<&domain::Keeper> for Keeper {
    fn from(keeper: &domain::Keeper) -> Self {
        let tolerance = keeper.tolerance;
        Self {
            recipe: Recipe::from(&keeper.recipe),
            time_s: num(keeper.time_s),
            tolerance: (tolerance != domain::Tolerance::default()).then(|| Tolerance {
                time_s: num(tolerance.time_s),
                dose_g: num(tolerance.dose_g),
                yield_g: num(tolerance.yield_g),
                temperature_c: num(tolerance.temperature_c),
                unknown: Default::default(),
            }),
            kept_at: keeper.kept_at,
            from_pull: keeper.from_pull.map(|id| IdText(id.0)),
            unknown: Default::default(),
        }
    }
}

impl From<Keeper> for domain::Keeper {
    fn from(disk: Keeper) -> Self {
        Self {
            recipe: disk.recipe.into(),
            time_s: bare(disk.time_s),
            tolerance: disk.tolerance.map_or_else(Default::default, |tolerance| domain::Tolerance {
                time_s: bare(tolerance.time_s),
                dose_g: bare(tolerance.dose_g),
                yield_g: bare(tolerance.yield_g),
                temperature_c: bare(tolerance.temperature_c),
            }),
            kept_at: disk.kept_at,
            from_pull: disk.from_pull.map(|id| PullId(id.0)),
        }
    }
}

impl From<&domain::Bag> for Bag {
    fn from(bag: &domain::Bag) -> Self {
        Self {
            format: Some(FORMAT),
            id: IdText(bag.id.0),
            made: bag.stamp.made,
            changed: bag.stamp.changed,
            removed: bag.stamp.removed,
            name: bag.name.clone(),
            roaster: bag.roaster.clone(),
            roast: bag.roast.map(RoastWord),
            process: bag.process.map(ProcessWord),
            roasted_on: bag.roasted_on,
            opened_on: bag.opened_on,
            mass_g: num(bag.mass_g),
            price: bag.price.as_ref().map(|price| Price {
                amount: Num(price.amount),
                currency: price.currency.clone(),
                unknown: Default::default(),
            }),
            station: IdText(bag.station.0),
            drinker: IdText(bag.drinker.0),
            start: Start {
                grind: num(bag.start.grind),
                dose_g: Num(bag.start.dose_g),
                yield_g: Num(bag.start.yield_g),
                temperature_c: num(bag.start.temperature_c),
                unknown: Default::default(),
            },
            time_window: bag.time_window_s.map(|(from, to)| Window {
                from_s: Num(from),
                to_s: Num(to),
                unknown: Default::default(),
            }),
            keeper: bag.keeper.as_ref().map(Keeper::from),
            finished: bag.finished,
            note: bag.note.clone(),
            pulls: bag.pulls.iter().map(Pull::from).collect(),
            unknown: Default::default(),
        }
    }
}

impl From<Bag> for domain::Bag {
    fn from(disk: Bag) -> Self {
        let mut bag = Self {
            id: BagId(disk.id.0),
            stamp: stamp(disk.made, disk.changed, disk.removed),
            name: disk.name,
            roaster: disk.roaster,
            roast: disk.roast.map(|word| word.0),
            process: disk.process.map(|word| word.0),
            roasted_on: disk.roasted_on,
            opened_on: disk.opened_on,
            mass_g: bare(disk.mass_g),
            price: disk.price.map(|price| domain::Price { amount: price.amount.0, currency: price.currency }),
            station: StationId(disk.station.0),
            drinker: DrinkerId(disk.drinker.0),
            start: domain::StartRecipe {
                grind: bare(disk.start.grind),
                dose_g: disk.start.dose_g.0,
                yield_g: disk.start.yield_g.0,
                temperature_c: bare(disk.start.temperature_c),
            },
            time_window_s: disk.time_window.map(|window| (window.from_s.0, window.to_s.0)),
            keeper: disk.keeper.map(Into::into),
            finished: disk.finished,
            note: disk.note,
            pulls: disk.pulls.into_iter().map(Into::into).collect(),
        };
        bag.sort_pulls();
        bag
    }
}

impl From<&domain::Drinker> for Drinker {
    fn from(drinker: &domain::Drinker) -> Self {
        Self {
            id: IdText(drinker.id.0),
            made: drinker.stamp.made,
            changed: drinker.stamp.changed,
            removed: drinker.stamp.removed,
            name: drinker.name.clone(),
            archived: drinker.archived,
            note: drinker.note.clone(),
            unknown: Default::default(),
        }
    }
}

impl From<Drinker> for domain::Drinker {
    fn from(disk: Drinker) -> Self {
        Self {
            id: DrinkerId(disk.id.0),
            stamp: stamp(disk.made, disk.changed, disk.removed),
            name: disk.name,
            archived: disk.archived,
            note: disk.note,
        }
    }
}

impl Preferences {
    /// The preferences as of `changed`.
    pub(crate) fn at(preferences: &domain::Preferences, changed: Timestamp) -> Self {
        let usual = domain::Preferences::default();
        Self {
            changed: Some(changed),
            mass: Some(MassWord(preferences.units.mass)),
            temperature: Some(TemperatureWord(preferences.units.temperature)),
            pressure: Some(PressureWord(preferences.units.pressure)),
            decimal_comma: preferences.units.decimal_comma,
            theme: Some(ThemeWord(preferences.theme)),
            way: Some(WayWord(preferences.way)),
            zoom: Some(Num(preferences.zoom)),
            // Left out where nobody has chosen: older notebooks stay as they are, byte for byte.
            false_a_month: (preferences.false_a_month != usual.false_a_month)
                .then_some(Num(preferences.false_a_month)),
            hide_names: preferences.hide_names,
            one_lever: preferences.one_lever,
            unknown: Default::default(),
        }
    }
}

impl From<Preferences> for domain::Preferences {
    fn from(disk: Preferences) -> Self {
        let usual = Self::default();
        Self {
            units: UnitPreferences {
                mass: disk.mass.map_or(usual.units.mass, |word| word.0),
                temperature: disk.temperature.map_or(usual.units.temperature, |word| word.0),
                pressure: disk.pressure.map_or(usual.units.pressure, |word| word.0),
                decimal_comma: disk.decimal_comma,
            },
            theme: disk.theme.map_or(usual.theme, |word| word.0),
            way: disk.way.map_or(usual.way, |word| word.0),
            zoom: disk.zoom.map_or(usual.zoom, |num| num.0.clamp(0.8, 2.5)),
            false_a_month: disk.false_a_month.map_or(usual.false_a_month, |num| num.0.clamp(0.1, 10.0)),
            hide_names: disk.hide_names,
            one_lever: disk.one_lever,
        }
    }
}

impl From<&domain::Station> for Station {
    fn from(station: &domain::Station) -> Self {
        let gear = &station.gear;
        let scale = |scale: domain::Scale| Scale {
            min: Num(scale.min()),
            max: Num(scale.max()),
            step: Num(scale.step()),
            unknown: Default::default(),
        };
        Self {
            format: Some(FORMAT),
            id: IdText(station.id.0),
            made: station.stamp.made,
            changed: station.stamp.changed,
            removed: station.stamp.removed,
            name: station.name.clone(),
            grinder: Grinder {
                name: station.grinder_name.clone(),
                min: Num(gear.grind.scale.min()),
                max: Num(gear.grind.scale.max()),
                step: Num(gear.grind.scale.step()),
                finer: gear::FinerWord(gear.grind.finer),
                um_per_unit: num(gear.grind.um_per_unit),
                retained_g: Num(gear.grind.retained_g),
                stepless: gear.grind.stepless,
                unknown: Default::default(),
            },
            machine: Machine {
                name: station.machine_name.clone(),
                pressure_bar: num(gear.pressure_bar),
                temperature_c: gear.temperature_c.map(scale),
                unknown: Default::default(),
            },
            basket: Basket {
                diameter_mm: Num(station.basket.diameter_mm),
                stated_dose_g: Num(station.basket.stated_dose_g),
                unknown: Default::default(),
            },
            dose_g: scale(gear.dose_g),
            yield_g: scale(gear.yield_g),
            refractometer: gear.refractometer,
            archived: station.archived,
            note: station.note.clone(),
            unknown: Default::default(),
        }
    }
}

impl TryFrom<Station> for domain::Station {
    type Error = domain::GearFault;

    fn try_from(disk: Station) -> Result<Self, domain::GearFault> {
        let scale = |what, scale: &Scale| domain::Scale::new(what, scale.min.0, scale.max.0, scale.step.0);
        let grinder = &disk.grinder;
        Ok(Self {
            id: StationId(disk.id.0),
            stamp: stamp(disk.made, disk.changed, disk.removed),
            gear: domain::Gear {
                grind: domain::GrindScale {
                    scale: domain::Scale::new(
                        word!("store-v1-grinder"),
                        grinder.min.0,
                        grinder.max.0,
                        grinder.step.0,
                    )?,
                    finer: grinder.finer.0,
                    um_per_unit: bare(grinder.um_per_unit),
                    retained_g: grinder.retained_g.0,
                    stepless: grinder.stepless,
                },
                dose_g: scale(Quantity::Dose.name(), &disk.dose_g)?,
                yield_g: scale(Quantity::Yield.name(), &disk.yield_g)?,
                temperature_c: disk
                    .machine
                    .temperature_c
                    .as_ref()
                    .map(|range| scale(Quantity::Temperature.name(), range))
                    .transpose()?,
                pressure_bar: bare(disk.machine.pressure_bar),
                refractometer: disk.refractometer,
            },
            name: disk.name,
            grinder_name: disk.grinder.name,
            machine_name: disk.machine.name,
            basket: domain::Basket {
                diameter_mm: disk.basket.diameter_mm.0,
                stated_dose_g: disk.basket.stated_dose_g.0,
            },
            archived: disk.archived,
            note: disk.note,
        })
    }
}

impl Trace {
    /// The file of a pull's trace.
    pub(crate) fn of(pull: PullId, trace: &domain::Trace) -> Self {
        let samples = |channel| trace.get(channel).map(|row| Samples(row.to_vec()));
        Self {
            format: Some(FORMAT),
            pull: IdText(pull.0),
            time_s: Samples(trace.time_s().to_vec()),
            pressure_bar: samples(Channel::Pressure),
            flow_g_s: samples(Channel::Flow),
            cup_mass_g: samples(Channel::CupMass),
            temperature_c: samples(Channel::Temperature),
            unknown: Default::default(),
        }
    }
}

impl TryFrom<Trace> for domain::Trace {
    type Error = domain::TraceFault;

    fn try_from(disk: Trace) -> Result<Self, domain::TraceFault> {
        let channels = [
            (Channel::Pressure, disk.pressure_bar),
            (Channel::Flow, disk.flow_g_s),
            (Channel::CupMass, disk.cup_mass_g),
            (Channel::Temperature, disk.temperature_c),
        ];
        let rows = channels.into_iter().filter_map(|(channel, row)| Some((channel, row?.0)));
        Self::new(disk.time_s.0, rows)
    }
}

impl Entry {
    /// A record as a journal entry of the moment `at`.
    pub(crate) fn of(record: &domain::Record, at: Timestamp) -> Self {
        match record {
            domain::Record::Preferences(preferences) => Self::Preferences(Preferences::at(preferences, at)),
            domain::Record::Drinker(drinker) => Self::Drinker((&**drinker).into()),
            domain::Record::Station(station) => Self::Station(Box::new((&**station).into())),
            domain::Record::Bag(bag) => {
                let mut disk = Bag::from(&**bag);
                disk.pulls.clear();
                Self::Bag(Box::new(disk))
            }
            domain::Record::Pull(bag, pull) => {
                Self::Pull { bag: IdText(bag.0), pull: Box::new((&**pull).into()) }
            }
        }
    }

    /// The record.
    ///
    /// # Errors
    /// When a station's scales make no sense (its reader has refused them before).
    pub(crate) fn into_record(self) -> Result<domain::Record, domain::GearFault> {
        Ok(match self {
            Self::Preferences(disk) => domain::Record::Preferences(disk.into()),
            Self::Drinker(disk) => domain::Record::Drinker(Box::new(disk.into())),
            Self::Station(disk) => domain::Record::Station(Box::new((*disk).try_into()?)),
            Self::Bag(disk) => domain::Record::Bag(Box::new((*disk).into())),
            Self::Pull { bag, pull } => domain::Record::Pull(BagId(bag.0), Box::new((*pull).into())),
        })
    }
}

impl Entry {
    /// The record's name.
    pub(crate) fn key(&self) -> RecordKey {
        match self {
            Self::Preferences(_) => RecordKey::Preferences,
            Self::Drinker(disk) => RecordKey::Drinker(DrinkerId(disk.id.0)),
            Self::Station(disk) => RecordKey::Station(StationId(disk.id.0)),
            Self::Bag(disk) => RecordKey::Bag(BagId(disk.id.0)),
            Self::Pull { bag, pull } => RecordKey::Pull(BagId(bag.0), PullId(pull.id.0)),
        }
    }

    /// When the record was last changed, where it says so.
    pub(crate) fn changed(&self) -> Option<Timestamp> {
        match self {
            Self::Preferences(disk) => disk.changed,
            Self::Drinker(disk) => Some(disk.changed),
            Self::Station(disk) => Some(disk.changed),
            Self::Bag(disk) => Some(disk.changed),
            Self::Pull { pull, .. } => Some(pull.changed),
        }
    }
}

impl From<RecordKey> for Key {
    fn from(key: RecordKey) -> Self {
        match key {
            RecordKey::Preferences => Self::Preferences,
            RecordKey::Drinker(id) => Self::Drinker(IdText(id.0)),
            RecordKey::Station(id) => Self::Station(IdText(id.0)),
            RecordKey::Bag(id) => Self::Bag(IdText(id.0)),
            RecordKey::Pull(bag, pull) => Self::Pull { bag: IdText(bag.0), pull: IdText(pull.0) },
        }
    }
}

impl From<Key> for RecordKey {
    fn from(key: Key) -> Self {
        match key {
            Key::Preferences => Self::Preferences,
            Key::Drinker(id) => Self::Drinker(DrinkerId(id.0)),
            Key::Station(id) => Self::Station(StationId(id.0)),
            Key::Bag(id) => Self::Bag(BagId(id.0)),
            Key::Pull { bag, pull } => Self::Pull(BagId(bag.0), PullId(pull.0)),
        }
    }
}
