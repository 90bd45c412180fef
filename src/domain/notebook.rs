//! The notebook: drinkers, stations, bags, preferences.

use super::{Bag, BagId, DrinkerId, Pull, PullId, Stamp, Station, StationId};
use crate::units::UnitPreferences;

/// Someone whose taste is to be met.
#[derive(Debug, Clone, PartialEq)]
pub struct Drinker {
    /// Identifier; sorts by time.
    pub id: DrinkerId,
    /// When made, changed, removed.
    pub stamp: Stamp,
    /// Name.
    pub name: String,
    /// Put away.
    pub archived: bool,
    /// Free words.
    pub note: String,
}

/// Light, dark, or as the system says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ThemeChoice {
    /// As the system says.
    #[default]
    System,
    /// Like paper.
    Light,
    /// For a dim bar.
    Dark,
}

/// The three ways of living in the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WayOfLiving {
    /// One bag, calm.
    #[default]
    Home,
    /// Large targets.
    Bar,
    /// Large type, the advice covered until revealed.
    Class,
}

/// What a person prefers; belongs to the notebook, not to the machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Preferences {
    /// Units and decimal mark.
    pub units: UnitPreferences,
    /// Theme.
    pub theme: ThemeChoice,
    /// Way of living.
    pub way: WayOfLiving,
    /// Zoom of the whole window, 0.8–2.5.
    pub zoom: f64,
    /// False adjustments a month and coffee that the bar puts up with, 0.1–10.
    pub false_a_month: f64,
    /// Letters stand in place of names where people are compared.
    pub hide_names: bool,
    /// Advice moves one lever at a time, however much more two would promise.
    pub one_lever: bool,
}

impl Preferences {
    /// The same in the looks of another: theme, zoom and way of living are about the window, not about what is kept.
    #[must_use]
    pub fn with_looks_of(self, other: &Self) -> Self {
        Self { theme: other.theme, zoom: other.zoom, way: other.way, ..self }
    }
}

impl Default for Preferences {
    fn default() -> Self {
        Self {
            units: UnitPreferences::default(),
            theme: ThemeChoice::default(),
            way: WayOfLiving::default(),
            zoom: 1.0,
            false_a_month: 1.0,
            hide_names: false,
            one_lever: false,
        }
    }
}

/// A whole notebook, traces apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Notebook {
    /// Whether this is a copy of the demo.
    pub demo: bool,
    /// Preferences.
    pub preferences: Preferences,
    /// Drinkers, by id.
    pub drinkers: Vec<Drinker>,
    /// Stations, by id.
    pub stations: Vec<Station>,
    /// Bags, by id.
    pub bags: Vec<Bag>,
}

/// Names one record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RecordKey {
    /// The preferences.
    Preferences,
    /// A drinker.
    Drinker(DrinkerId),
    /// A station.
    Station(StationId),
    /// A bag's own sheet, without its pulls.
    Bag(BagId),
    /// A pull of a bag.
    Pull(BagId, PullId),
}

/// One record with its content: the unit of edit, undo, journal and merge.
#[derive(Debug, Clone, PartialEq)]
pub enum Record {
    /// The preferences.
    Preferences(Preferences),
    /// A drinker.
    Drinker(Box<Drinker>),
    /// A station.
    Station(Box<Station>),
    /// A bag's own sheet; its `pulls` are ignored (kept empty).
    Bag(Box<Bag>),
    /// A pull of a bag.
    Pull(BagId, Box<Pull>),
}

impl Record {
    /// When the record was made, last changed and removed; preferences do not say.
    #[must_use]
    pub fn stamp(&self) -> Option<Stamp> {
        match self {
            Self::Drinker(drinker) => Some(drinker.stamp),
            Self::Station(station) => Some(station.stamp),
            Self::Bag(bag) => Some(bag.stamp),
            Self::Pull(_, pull) => Some(pull.stamp),
            Self::Preferences(_) => None,
        }
    }

    /// The same, to be changed.
    pub fn stamp_mut(&mut self) -> Option<&mut Stamp> {
        match self {
            Self::Drinker(drinker) => Some(&mut drinker.stamp),
            Self::Station(station) => Some(&mut station.stamp),
            Self::Bag(bag) => Some(&mut bag.stamp),
            Self::Pull(_, pull) => Some(&mut pull.stamp),
            Self::Preferences(_) => None,
        }
    }

    /// The record's name.
    #[must_use]
    pub fn key(&self) -> RecordKey {
        match self {
            Self::Preferences(_) => RecordKey::Preferences,
            Self::Drinker(drinker) => RecordKey::Drinker(drinker.id),
            Self::Station(station) => RecordKey::Station(station.id),
            Self::Bag(bag) => RecordKey::Bag(bag.id),
            Self::Pull(bag, pull) => RecordKey::Pull(*bag, pull.id),
        }
    }
}

/// How one record differs between two notebooks. `None` means "not there".
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Which record.
    pub key: RecordKey,
    /// Its content in the one.
    pub before: Option<Record>,
    /// Its content in the other.
    pub after: Option<Record>,
}

impl Notebook {
    /// What has to change in this notebook to make it `after`, in an order in which it can be done: a bag's sheet
    /// before its pulls where they come, after them where they go.
    #[must_use]
    pub fn changes_to(&self, after: &Self) -> Vec<Difference> {
        let mut list = Vec::new();
        let mut note = |key: RecordKey, before: Option<Record>, after: Option<Record>| {
            list.push(Difference { key, before, after });
        };
        if self.preferences != after.preferences {
            let (before, after) = (self.preferences, after.preferences);
            note(RecordKey::Preferences, Some(Record::Preferences(before)), Some(Record::Preferences(after)));
        }
        side_by_side(
            &self.drinkers,
            &after.drinkers,
            |d| d.id,
            |id, before, after| {
                if before != after {
                    let record = |d: Option<&Drinker>| d.map(|d| Record::Drinker(Box::new(d.clone())));
                    note(RecordKey::Drinker(id), record(before), record(after));
                }
            },
        );
        side_by_side(
            &self.stations,
            &after.stations,
            |s| s.id,
            |id, before, after| {
                if before != after {
                    let record = |s: Option<&Station>| s.map(|s| Record::Station(Box::new(s.clone())));
                    note(RecordKey::Station(id), record(before), record(after));
                }
            },
        );
        side_by_side(
            &self.bags,
            &after.bags,
            |b| b.id,
            |id, before, after| {
                if before == after {
                    return;
                }
                let (old, new) = (before.map(Bag::sheet), after.map(Bag::sheet));
                let sheet = |sheet: Option<Bag>| sheet.map(|sheet| Record::Bag(Box::new(sheet)));
                let goes = new.is_none();
                let changed = (old != new).then(|| (sheet(old), sheet(new)));
                if let Some((old, new)) = changed.clone().filter(|_| !goes) {
                    note(RecordKey::Bag(id), old, new);
                }
                let by_id = |bag: Option<&Bag>| {
                    let mut pulls: Vec<Pull> = bag.map(|bag| bag.pulls.clone()).unwrap_or_default();
                    pulls.sort_by_key(|pull| pull.id);
                    pulls
                };
                side_by_side(
                    &by_id(before),
                    &by_id(after),
                    |p| p.id,
                    |pull, before, after| {
                        if before != after {
                            let record = |p: Option<&Pull>| p.map(|p| Record::Pull(id, Box::new(p.clone())));
                            note(RecordKey::Pull(id, pull), record(before), record(after));
                        }
                    },
                );
                if let Some((old, new)) = changed.filter(|_| goes) {
                    note(RecordKey::Bag(id), old, new);
                }
            },
        );
        list
    }

    /// The bag with this id, removed ones included.
    #[must_use]
    pub fn bag(&self, id: BagId) -> Option<&Bag> {
        let at = self.bags.binary_search_by_key(&id, |bag| bag.id).ok()?;
        self.bags.get(at)
    }

    /// The station with this id, removed ones included.
    #[must_use]
    pub fn station(&self, id: StationId) -> Option<&Station> {
        let at = self.stations.binary_search_by_key(&id, |station| station.id).ok()?;
        self.stations.get(at)
    }

    /// The drinker with this id, removed ones included.
    #[must_use]
    pub fn drinker(&self, id: DrinkerId) -> Option<&Drinker> {
        let at = self.drinkers.binary_search_by_key(&id, |drinker| drinker.id).ok()?;
        self.drinkers.get(at)
    }

    /// The pull with this id in this bag, removed ones included.
    #[must_use]
    pub fn pull(&self, bag: BagId, pull: PullId) -> Option<&Pull> {
        self.bag(bag)?.pulls.iter().find(|candidate| candidate.id == pull)
    }

    /// A copy of one record's content; a bag comes without its pulls.
    #[must_use]
    pub fn record(&self, key: RecordKey) -> Option<Record> {
        match key {
            RecordKey::Preferences => Some(Record::Preferences(self.preferences)),
            RecordKey::Drinker(id) => self.drinker(id).cloned().map(|d| Record::Drinker(Box::new(d))),
            RecordKey::Station(id) => self.station(id).cloned().map(|s| Record::Station(Box::new(s))),
            RecordKey::Bag(id) => self.bag(id).map(|bag| Record::Bag(Box::new(bag.sheet()))),
            RecordKey::Pull(bag, pull) => {
                self.pull(bag, pull).cloned().map(|pull| Record::Pull(bag, Box::new(pull)))
            }
        }
    }

    /// Puts a record in place of the one with its key, or adds it. A pull of an unknown bag is not taken: false.
    pub fn put(&mut self, record: Record) -> bool {
        match record {
            Record::Preferences(preferences) => self.preferences = preferences,
            Record::Drinker(drinker) => put_sorted(&mut self.drinkers, *drinker, |d| d.id),
            Record::Station(station) => put_sorted(&mut self.stations, *station, |s| s.id),
            Record::Bag(sheet) => {
                let mut sheet = *sheet;
                sheet.pulls = match self.bags.binary_search_by_key(&sheet.id, |bag| bag.id) {
                    Ok(at) => {
                        self.bags.get_mut(at).map(|bag| std::mem::take(&mut bag.pulls)).unwrap_or_default()
                    }
                    Err(_) => Vec::new(),
                };
                put_sorted(&mut self.bags, sheet, |bag| bag.id);
            }
            Record::Pull(bag, pull) => {
                let Ok(at) = self.bags.binary_search_by_key(&bag, |candidate| candidate.id) else {
                    return false;
                };
                let Some(bag) = self.bags.get_mut(at) else { return false };
                match bag.pulls.iter_mut().find(|candidate| candidate.id == pull.id) {
                    Some(slot) => *slot = *pull,
                    None => bag.pulls.push(*pull),
                }
                bag.sort_pulls();
            }
        }
        true
    }

    /// Takes a record out altogether (only undo of its making does this; removing marks it instead).
    pub fn take(&mut self, key: RecordKey) {
        match key {
            RecordKey::Preferences => self.preferences = Preferences::default(),
            RecordKey::Drinker(id) => self.drinkers.retain(|drinker| drinker.id != id),
            RecordKey::Station(id) => self.stations.retain(|station| station.id != id),
            RecordKey::Bag(id) => self.bags.retain(|bag| bag.id != id),
            RecordKey::Pull(bag, pull) => {
                if let Ok(at) = self.bags.binary_search_by_key(&bag, |candidate| candidate.id)
                    && let Some(bag) = self.bags.get_mut(at)
                {
                    bag.pulls.retain(|candidate| candidate.id != pull);
                }
            }
        }
    }
}

/// Walks two lists that are sorted by `key`, side by side.
fn side_by_side<T, K: Ord + Copy>(
    before: &[T],
    after: &[T],
    key: impl Fn(&T) -> K,
    mut pair: impl FnMut(K, Option<&T>, Option<&T>),
) {
    let (mut a, mut b) = (before.iter().peekable(), after.iter().peekable());
    loop {
        match (a.peek().map(|one| key(one)), b.peek().map(|one| key(one))) {
            (None, None) => return,
            (Some(left), Some(right)) if left == right => pair(left, a.next(), b.next()),
            (Some(left), None) => pair(left, a.next(), None),
            (Some(left), Some(right)) if left < right => pair(left, a.next(), None),
            (_, Some(right)) => pair(right, None, b.next()),
        }
    }
}

fn put_sorted<T, K: Ord>(list: &mut Vec<T>, item: T, key: impl Fn(&T) -> K) {
    match list.binary_search_by_key(&key(&item), &key) {
        Ok(at) => {
            if let Some(slot) = list.get_mut(at) {
                *slot = item;
            }
        }
        Err(at) => list.insert(at, item),
    }
}
