//! What the opening reads of a notebook: borrowed where it lies, or copied for a worker thread as cheaply as can be.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use crate::domain::{Bag, BagId, BagState, Notebook, Station};

/// Stations and bags that are looked at.
#[derive(Debug, Clone, Default)]
pub struct Books<'a> {
    /// Stations in use.
    pub stations: Vec<&'a Station>,
    /// Bags that were not removed, in the order of their making.
    pub bags: Vec<&'a Bag>,
}

impl<'a> Books<'a> {
    /// Puts them in order.
    #[must_use]
    pub fn new(stations: impl Iterator<Item = &'a Station>, bags: impl Iterator<Item = &'a Bag>) -> Self {
        let mut bags: Vec<&Bag> = bags.filter(|b| b.stamp.is_live()).collect();
        bags.sort_by_key(|b| b.id);
        Self { stations: stations.filter(|s| s.stamp.is_live() && !s.archived).collect(), bags }
    }
}

impl<'a> From<&'a Notebook> for Books<'a> {
    fn from(notebook: &'a Notebook) -> Self {
        Self::new(notebook.stations.iter(), notebook.bags.iter())
    }
}

/// A copy that can go to another thread.
#[derive(Debug, Clone, Default)]
pub struct Snapshot {
    stations: Vec<Station>,
    bags: Vec<Arc<Bag>>,
}

impl Snapshot {
    /// Its books.
    #[must_use]
    pub fn books(&self) -> Books<'_> {
        Books::new(self.stations.iter(), self.bags.iter().map(Arc::as_ref))
    }

    /// Pulls in it.
    #[must_use]
    pub fn pulls(&self) -> usize {
        self.bags.iter().map(|bag| bag.pulls.len()).sum()
    }
}

/// Pulls up to which a notebook is copied whole.
const SMALL: usize = 20_000;
/// Days that are copied of a larger one: the eight weeks that losses are compared over, and one to spare.
const DAYS: i64 = 63;
/// Pulls of a bag on the bar that are copied at least.
const LEAST: usize = 600;

/// When a bag was last changed and how many pulls it has: what tells one state from another.
type Mark = (Timestamp, usize, Option<Timestamp>, Timestamp);

/// Keeps copies of bags from one snapshot to the next, so that only what was changed is copied anew.
#[derive(Debug, Default)]
pub struct Copies {
    bags: BTreeMap<BagId, (Mark, Arc<Bag>)>,
}

impl Copies {
    /// Copies what the opening needs of a notebook at a moment.
    #[must_use]
    pub fn snapshot(&mut self, notebook: &Notebook, now: Timestamp) -> Snapshot {
        let whole = notebook.bags.iter().map(|b| b.pulls.len()).sum::<usize>() <= SMALL;
        let from = now.checked_sub(SignedDuration::from_hours(24 * DAYS)).unwrap_or(Timestamp::MIN);
        let mut kept = BTreeMap::new();
        for bag in notebook.bags.iter().filter(|b| b.stamp.is_live()) {
            let newest = bag.pulls.last().map(|p| p.pulled_at);
            let open = matches!(bag.state(), BagState::DiallingIn | BagState::Holding);
            if !(whole || open || newest.is_some_and(|at| at >= from)) {
                continue;
            }
            let start = if whole { 0 } else { first_needed(bag, from) };
            let pulls = bag.pulls.get(start..).unwrap_or(&[]);
            let changed = pulls.iter().map(|p| p.stamp.changed).max().unwrap_or(bag.stamp.changed);
            let mark = (bag.stamp.changed, bag.pulls.len(), newest, changed);
            let copy = match self.bags.remove(&bag.id) {
                Some((known, copy)) if known == mark => copy,
                _ => Arc::new(part(bag, start)),
            };
            kept.insert(bag.id, (mark, copy));
        }
        self.bags = kept;
        Snapshot {
            stations: notebook.stations.clone(),
            bags: self.bags.values().map(|(_, bag)| Arc::clone(bag)).collect(),
        }
    }
}

fn first_needed(bag: &Bag, from: Timestamp) -> usize {
    let recent = bag.pulls.partition_point(|p| p.pulled_at < from);
    recent.min(bag.pulls.len().saturating_sub(LEAST))
}

/// A bag with its pulls from `start` on, and those that others are referred to: the first, and the keeper's own.
fn part(bag: &Bag, start: usize) -> Bag {
    let mut copy = bag.sheet();
    let kept = bag.keeper.as_ref().and_then(|k| k.from_pull);
    let head = bag.pulls.iter().take(start).enumerate();
    copy.pulls = head.filter(|(at, p)| *at == 0 || Some(p.id) == kept).map(|(_, p)| p.clone()).collect();
    copy.pulls.extend(bag.pulls.iter().skip(start).cloned());
    copy
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    #[test]
    fn only_what_changed_is_copied_anew() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(5, now);
        let mut copies = Copies::default();
        let first = copies.snapshot(&notebook, now);
        assert_eq!(first.pulls(), 5);
        let again = copies.snapshot(&notebook, now);
        assert!(first.bags.iter().zip(&again.bags).all(|(a, b)| Arc::ptr_eq(a, b)));
        let bag = notebook.bags.iter_mut().find(|b| b.id == id).unwrap();
        bag.pulls[2].stamp.changed = now + SignedDuration::from_secs(9);
        bag.pulls[2].time_s = Some(31.0);
        let after = copies.snapshot(&notebook, now);
        let changed = after.bags.iter().find(|b| b.id == id).unwrap();
        assert_eq!(changed.pulls[2].time_s, Some(31.0));
        assert_eq!(**changed, notebook.bags.iter().find(|b| b.id == id).unwrap().clone());
    }

    #[test]
    fn of_a_long_ledger_the_first_pull_and_the_keepers_stay() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(3, now);
        let bag = notebook.bags.iter_mut().find(|b| b.id == id).unwrap();
        let one = bag.pulls[0].clone();
        bag.pulls = (0..30_000i64)
            .map(|n| {
                let at = now - SignedDuration::from_mins(30 * (30_000 - n));
                let id = crate::domain::PullId(crate::domain::Id::from_parts(at, [1; 10]));
                crate::domain::Pull { id, pulled_at: at, ..one.clone() }
            })
            .collect();
        let keeper = bag.pulls[77].id;
        bag.keeper = Some(crate::domain::Keeper {
            recipe: one.used,
            time_s: Some(27.0),
            tolerance: crate::domain::Tolerance::default(),
            kept_at: now,
            from_pull: Some(keeper),
        });
        let (first, last) = (bag.pulls[0].id, bag.pulls[29_999].id);
        let got = Copies::default().snapshot(&notebook, now);
        let copy = got.bags.iter().find(|b| b.id == id).unwrap();
        assert!((3_000..3_100).contains(&copy.pulls.len()), "{}", copy.pulls.len());
        for wanted in [first, keeper, last] {
            assert!(copy.pulls.iter().any(|p| p.id == wanted));
        }
    }
}
