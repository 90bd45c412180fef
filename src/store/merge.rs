//! Brings two copies together, record by record: the later edit wins, the loser is kept as an earlier version.
//!
//! "Later" is a total order (moment of change, then text), so that copies can be merged in any order, any number of
//! times, with the same outcome.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::text::{DiskValue, Ron};
use super::v1;
use crate::domain;

/// A record that knows when it was last changed.
pub(crate) trait Stamped: DiskValue + Clone + PartialEq {
    /// When it was last changed.
    fn changed(&self) -> Option<Timestamp>;

    /// Whether names, notes or traces were taken out before it was passed on.
    fn partial(&self) -> bool;

    /// Whether it says that a trace is kept; `None` for what has none.
    fn traced(&mut self) -> Option<&mut bool> {
        None
    }
}

/// Field that marks a record of which names, notes or the trace were taken out. It loses against the whole record of the
/// same moment, and is then not worth keeping.
pub(crate) const PARTIAL: &str = "passed_on_in_part";

macro_rules! stamped {
    ($($name:ident: $self:ident => $changed:expr;)*) => { $(
        impl Stamped for v1::$name {
            fn changed(&$self) -> Option<Timestamp> { $changed }
            fn partial(&self) -> bool { self.unknown.has(PARTIAL) }
        }
    )* };
}
stamped!(
    Preferences: self => self.changed;
    Drinker: self => Some(self.changed);
    Station: self => Some(self.changed);
    Bag: self => Some(self.changed);
);

impl Stamped for v1::Pull {
    fn changed(&self) -> Option<Timestamp> {
        Some(self.changed)
    }

    fn partial(&self) -> bool {
        self.unknown.has(PARTIAL)
    }

    fn traced(&mut self) -> Option<&mut bool> {
        Some(&mut self.has_trace)
    }
}

/// Which of two contents of one record is the later one.
pub(crate) fn order<T: Stamped>(a: &T, b: &T) -> Ordering {
    a.changed()
        .cmp(&b.changed())
        .then_with(|| b.partial().cmp(&a.partial()))
        .then_with(|| if a == b { Ordering::Equal } else { Ron::line(a).cmp(&Ron::line(b)) })
}

/// A partial record may have gone out without its trace, which says nothing about whether one is kept: it takes that
/// from what it meets.
fn claim<T: Stamped>(partial: &mut T, other: &mut T) {
    if partial.partial()
        && let (Some(mine), Some(theirs)) = (partial.traced(), other.traced())
    {
        *mine |= *theirs;
    }
}

/// Leaves the later of the two in `mine` and gives back the other one, unless they are the same.
fn one<T: Stamped>(mine: &mut T, mut other: T) -> Option<T> {
    claim(mine, &mut other);
    claim(&mut other, mine);
    let loser = match order(mine, &other) {
        Ordering::Equal => return None,
        Ordering::Less => std::mem::replace(mine, other),
        Ordering::Greater => other,
    };
    let worthless = loser.partial() && !mine.partial() && loser.changed() == mine.changed();
    (!worthless).then_some(loser)
}

/// Merges lists of records by id, leaving them sorted by `sort`.
fn lists<T: Stamped, K: Ord>(
    mine: &mut Vec<T>,
    other: Vec<T>,
    id: impl Fn(&T) -> v1::IdText,
    sort: impl Fn(&T) -> K,
    mut lost: impl FnMut(T),
) {
    let mut all: BTreeMap<v1::IdText, T> = BTreeMap::new();
    for record in mine.drain(..).chain(other) {
        match all.get_mut(&id(&record)) {
            Some(known) => {
                if let Some(loser) = one(known, record) {
                    lost(loser);
                }
            }
            None => {
                all.insert(id(&record), record);
            }
        }
    }
    mine.extend(all.into_values());
    mine.sort_by_key(sort);
}

/// Merges another copy of the same bag into `mine`; losers are added to `lost`.
pub(crate) fn bag(mine: &mut v1::Bag, mut other: v1::Bag, lost: &mut Vec<v1::Entry>) {
    let mut pulls = std::mem::take(&mut mine.pulls);
    let other_pulls = std::mem::take(&mut other.pulls);
    let id = mine.id;
    if let Some(loser) = one(mine, other) {
        lost.push(v1::Entry::Bag(Box::new(loser)));
    }
    lists(
        &mut pulls,
        other_pulls,
        |pull| pull.id,
        |pull| (pull.pulled_at, pull.id),
        |pull| lost.push(v1::Entry::Pull { bag: id, pull: Box::new(pull) }),
    );
    mine.pulls = pulls;
}

/// Merges another copy of the same station into `mine`.
pub(crate) fn station(mine: &mut v1::Station, other: v1::Station, lost: &mut Vec<v1::Entry>) {
    lost.extend(one(mine, other).map(|loser| v1::Entry::Station(Box::new(loser))));
}

/// Merges another copy of `notebook.ron` into `mine`.
pub(crate) fn notebook(mine: &mut v1::Notebook, other: v1::Notebook, lost: &mut Vec<v1::Entry>) {
    mine.demo &= other.demo;
    match (&mut mine.preferences, other.preferences) {
        (Some(mine), Some(other)) => lost.extend(one(mine, other).map(v1::Entry::Preferences)),
        (mine @ None, other) => *mine = other,
        (Some(_), None) => {}
    }
    let lose = |drinker| lost.push(v1::Entry::Drinker(drinker));
    lists(&mut mine.drinkers, other.drinkers, |drinker| drinker.id, |drinker| drinker.id, lose);
    for (name, raw) in other.unknown.iter() {
        if mine.unknown.iter().all(|(known, _)| known != name) {
            mine.unknown.push(name.clone(), raw.clone());
        }
    }
}

/// Merges pulls that stand twice in one bag (a slip of a hand editor or of a line-wise merge).
pub(crate) fn without_doubles(bag: &mut v1::Bag) {
    let ids: BTreeSet<v1::IdText> = bag.pulls.iter().map(|pull| pull.id).collect();
    if ids.len() < bag.pulls.len() {
        lists(&mut bag.pulls, Vec::new(), |pull| pull.id, |pull| (pull.pulled_at, pull.id), |_| ());
    }
}

/// Takes `other` for `mine`, another copy of the same station, if it is the later one by the same order.
pub(crate) fn domain_stations(mine: &mut domain::Station, other: domain::Station) {
    if order(&v1::Station::from(&*mine), &v1::Station::from(&other)) == Ordering::Less {
        *mine = other;
    }
}

/// Takes into `mine` what is newer in `other`, another copy of the same bag, by the same order.
pub(crate) fn domain_bags(mine: &mut domain::Bag, other: &domain::Bag) {
    let mut disk = v1::Bag::from(&*mine);
    bag(&mut disk, v1::Bag::from(other), &mut Vec::new());
    *mine = disk.into();
}
