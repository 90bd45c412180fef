//! Edits: what a person can do to the notebook, checked and named.

use jiff::Timestamp;
use thiserror::Error;

use super::undo::{RecordChange, Step};
use crate::domain::{
    Bag, BagId, Drinker, Keeper, Notebook, Preferences, Pull, PullId, Record, RecordKey, Stamp, Station,
};

/// One thing that a person does. Records come with their content only: stamps are set when it is applied.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Makes or changes a drinker.
    SaveDrinker(Drinker),
    /// Makes or changes a station.
    SaveStation(Box<Station>),
    /// Makes or changes a bag's own sheet (its pulls are not touched).
    SaveBag(Box<Bag>),
    /// Makes or changes a pull.
    SavePull(BagId, Box<Pull>),
    /// Puts a drinker or a station away, or takes it out again.
    Archive(RecordKey, bool),
    /// Marks a bag used up, or takes it back to the shelf.
    Finish(BagId, bool),
    /// Settles a bag's recipe, or lets it go.
    Keep(BagId, Option<Box<Keeper>>),
    /// Removes a record (undo brings it back).
    Remove(RecordKey),
    /// Changes the preferences.
    SetPreferences(Preferences),
    /// Notes whether a trace is kept for a pull (the samples are stored apart, before this).
    MarkTrace(BagId, PullId, bool),
    /// Goes back to an earlier version of a record, or to the losing side of a merge.
    Restore(Box<Record>),
    /// Goes back to an earlier state of the whole notebook, called so ("the backup of 2026-11-25 14:02").
    GoBack(Box<Notebook>, String),
}

/// Why an edit was not done. Nothing has changed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Refusal {
    /// The record is not in the notebook.
    #[error("{}", word!("work-edit-refused-missing"))]
    Missing,
    /// The notebook is open for reading only.
    #[error("{}", say!("work-edit-refused-read-only", why = .0))]
    ReadOnly(String),
    /// Something else still needs the record.
    #[error("{0}")]
    InUse(String),
    /// A name is needed.
    #[error("{}", word!("work-edit-refused-no-name"))]
    NoName,
    /// There is nothing to undo.
    #[error("{}", word!("work-edit-refused-nothing-to-undo"))]
    NothingToUndo,
    /// There is nothing to redo.
    #[error("{}", word!("work-edit-refused-nothing-to-redo"))]
    NothingToRedo,
    /// It could not be written.
    #[error("{0}")]
    NotWritten(String),
    /// Long work has the notebook.
    #[error("{}", say!("work-edit-refused-busy", work = .0))]
    Busy(String),
}

/// A change as carried out: its step and the name to show beside "undo".
pub type Change = Step;

impl Command {
    /// Works out what the command changes in `notebook` at `now`, without changing anything.
    ///
    /// # Errors
    /// [`Refusal`] when a record is missing, nameless or still in use.
    pub fn plan(self, notebook: &Notebook, now: Timestamp) -> Result<Change, Refusal> {
        match self {
            Self::SaveDrinker(mut drinker) => {
                named(&drinker.name)?;
                let before = notebook.drinker(drinker.id).cloned();
                drinker.stamp = stamp_after(before.as_ref().map(|d| d.stamp), now);
                let verb =
                    if before.is_some() { word!("work-edit-change-to") } else { word!("work-edit-new") };
                let name = say!("work-edit-drinker", verb = verb, name = drinker.name);
                Ok(one(
                    name,
                    before.map(|d| Record::Drinker(Box::new(d))),
                    Record::Drinker(Box::new(drinker)),
                ))
            }
            Self::SaveStation(mut station) => {
                named(&station.name)?;
                let before = notebook.station(station.id).cloned();
                station.stamp = stamp_after(before.as_ref().map(|s| s.stamp), now);
                let verb =
                    if before.is_some() { word!("work-edit-change-to") } else { word!("work-edit-new") };
                let name = say!("work-edit-station", verb = verb, name = station.name);
                Ok(one(name, before.map(|s| Record::Station(Box::new(s))), Record::Station(station)))
            }
            Self::SaveBag(mut bag) => {
                named(&bag.name)?;
                let before = notebook.bag(bag.id).map(Bag::sheet);
                bag.pulls.clear();
                bag.stamp = stamp_after(before.as_ref().map(|b| b.stamp), now);
                let name = match &before {
                    Some(_) => say!("work-edit-change-to-bag", name = bag.name),
                    None => say!("work-edit-new-bag", name = bag.name),
                };
                Ok(one(name, before.map(|b| Record::Bag(Box::new(b))), Record::Bag(bag)))
            }
            Self::SavePull(bag_id, mut pull) => {
                let bag = notebook.bag(bag_id).ok_or(Refusal::Missing)?;
                let before = bag.pulls.iter().find(|p| p.id == pull.id);
                pull.stamp = stamp_after(before.map(|p| p.stamp), now);
                let name = match before {
                    Some(old) => {
                        say!(
                            "work-edit-of-pull",
                            pull_difference = pull_difference(old, &pull),
                            number_of = number_of(bag, pull.id)
                        )
                    }
                    None => say!("work-edit-pull", count = bag.live_pulls().count() + 1),
                };
                let before = before.map(|p| Record::Pull(bag_id, Box::new(p.clone())));
                Ok(one(name, before, Record::Pull(bag_id, pull)))
            }
            Self::Archive(key, away) => {
                let verb = if away { word!("work-edit-putting-away") } else { word!("work-edit-taking-out") };
                match notebook.record(key).ok_or(Refusal::Missing)? {
                    Record::Drinker(old) => {
                        let mut new = old.clone();
                        new.archived = away;
                        new.stamp = old.stamp.edited(now);
                        let name = format!("{verb} {}", old.name);
                        Ok(one(name, Some(Record::Drinker(old)), Record::Drinker(new)))
                    }
                    Record::Station(old) => {
                        let mut new = old.clone();
                        new.archived = away;
                        new.stamp = old.stamp.edited(now);
                        let name = format!("{verb} {}", old.name);
                        Ok(one(name, Some(Record::Station(old)), Record::Station(new)))
                    }
                    _ => Err(Refusal::Missing),
                }
            }
            Self::Finish(id, finished) => edit_bag(notebook, id, now, |bag| {
                bag.finished = finished;
                if finished {
                    say!("work-edit-finishing", name = bag.name)
                } else {
                    say!("work-edit-reopening", name = bag.name)
                }
            }),
            Self::Keep(id, keeper) => edit_bag(notebook, id, now, |bag| {
                bag.keeper = keeper.map(|boxed| *boxed);
                match bag.keeper {
                    Some(_) => say!("work-edit-keeper-of", name = bag.name),
                    None => say!("work-edit-letting-go-the-keeper-of", name = bag.name),
                }
            }),
            Self::Remove(key) => remove(notebook, key, now),
            Self::Restore(record) => restore(notebook, *record, now),
            Self::GoBack(earlier, name) => go_back(notebook, *earlier, &name, now),
            Self::SetPreferences(new) => Ok(one(
                word!("work-edit-preferences").to_owned(),
                Some(Record::Preferences(notebook.preferences)),
                Record::Preferences(new),
            )),
            Self::MarkTrace(bag_id, pull_id, kept) => {
                let bag = notebook.bag(bag_id).ok_or(Refusal::Missing)?;
                let old = bag.pulls.iter().find(|p| p.id == pull_id).ok_or(Refusal::Missing)?;
                let mut new = old.clone();
                new.has_trace = kept;
                new.stamp = old.stamp.edited(now);
                let name = say!("work-edit-trace-of-pull", number_of = number_of(bag, pull_id));
                Ok(one(
                    name,
                    Some(Record::Pull(bag_id, Box::new(old.clone()))),
                    Record::Pull(bag_id, Box::new(new)),
                ))
            }
        }
    }
}

fn named(name: &str) -> Result<(), Refusal> {
    if name.trim().is_empty() { Err(Refusal::NoName) } else { Ok(()) }
}

/// Keeps the making date of an existing record; an edit is never older than the edit before it.
fn stamp_after(before: Option<Stamp>, now: Timestamp) -> Stamp {
    match before {
        Some(old) => Stamp { removed: None, ..old.edited(now) },
        None => Stamp::new(now),
    }
}

fn one(name: String, before: Option<Record>, after: Record) -> Change {
    Step { name, changes: vec![RecordChange { key: after.key(), before, after: Some(after) }], trace: None }
}

fn edit_bag(
    notebook: &Notebook,
    id: BagId,
    now: Timestamp,
    edit: impl FnOnce(&mut Bag) -> String,
) -> Result<Change, Refusal> {
    let old = notebook.bag(id).ok_or(Refusal::Missing)?.sheet();
    let mut new = old.clone();
    let name = edit(&mut new);
    new.stamp = old.stamp.edited(now);
    Ok(one(name, Some(Record::Bag(Box::new(old))), Record::Bag(Box::new(new))))
}

fn remove(notebook: &Notebook, key: RecordKey, now: Timestamp) -> Result<Change, Refusal> {
    let mut record = notebook.record(key).ok_or(Refusal::Missing)?;
    let before = record.clone();
    let in_use = |what: &str, used: usize| {
        let bags = say!("work-edit-bags-need-it", used = used);
        Refusal::InUse(say!("work-edit-cannot-be-removed-put-it-away", what = what, bags = bags))
    };
    let name = match &mut record {
        Record::Preferences(_) => return Err(Refusal::Missing),
        Record::Drinker(drinker) => {
            let used = notebook.bags.iter().filter(|b| b.stamp.is_live() && b.drinker == drinker.id).count();
            if used > 0 {
                return Err(in_use(&drinker.name, used));
            }
            mark_removed(&mut drinker.stamp, now);
            say!("work-edit-removing", name = drinker.name)
        }
        Record::Station(station) => {
            let used = notebook.bags.iter().filter(|b| b.stamp.is_live() && b.station == station.id).count();
            if used > 0 {
                return Err(in_use(&station.name, used));
            }
            mark_removed(&mut station.stamp, now);
            say!("work-edit-removing", name = station.name)
        }
        Record::Bag(bag) => {
            mark_removed(&mut bag.stamp, now);
            say!("work-edit-removing-bag", name = bag.name)
        }
        Record::Pull(bag, pull) => {
            let number = notebook.bag(*bag).map_or(0, |b| number_of(b, pull.id));
            mark_removed(&mut pull.stamp, now);
            say!("work-edit-removing-pull", number = number)
        }
    };
    Ok(Step {
        name,
        changes: vec![RecordChange { key, before: Some(before), after: Some(record) }],
        trace: None,
    })
}

/// Gives an old content of a record the stamp of an edit at `now` over what stands.
fn renewed(mut record: Record, standing: Option<Record>, now: Timestamp) -> Record {
    let standing = standing.and_then(|standing| standing.stamp());
    if let Some(stamp) = record.stamp_mut() {
        let removed = stamp.removed.is_some();
        let base = standing.map_or(stamp.changed, |standing| standing.changed.max(stamp.changed));
        *stamp = Stamp { changed: base, ..*stamp }.edited(now);
        stamp.removed = removed.then_some(stamp.changed);
    }
    record
}

fn restore(notebook: &Notebook, mut record: Record, now: Timestamp) -> Result<Change, Refusal> {
    let key = record.key();
    let before = notebook.record(key).ok_or(Refusal::Missing)?;
    let name = match (&mut record, &before) {
        (Record::Pull(bag, pull), Record::Pull(_, standing)) => {
            // The samples lie in a file of their own, which has no versions.
            pull.has_trace = standing.has_trace;
            let number = notebook.bag(*bag).map_or(0, |bag| number_of(bag, pull.id));
            if number == 0 {
                word!("work-edit-earlier-version-of-a-pull").to_owned()
            } else {
                say!("work-edit-earlier-version-of-pull", number = number)
            }
        }
        (Record::Bag(sheet), _) => {
            sheet.pulls.clear();
            say!("work-edit-earlier-version-of-bag", name = sheet.name)
        }
        (Record::Station(station), _) => say!("work-edit-earlier-version-of-station", name = station.name),
        (Record::Drinker(drinker), _) => say!("work-edit-earlier-version-of-drinker", name = drinker.name),
        _ => word!("work-edit-earlier-preferences").to_owned(),
    };
    let after = renewed(record, Some(before.clone()), now);
    Ok(Step {
        name,
        changes: vec![RecordChange { key, before: Some(before), after: Some(after) }],
        trace: None,
    })
}

/// What the earlier state does not hold is marked as removed, so that a merge does not bring it back.
fn go_back(
    notebook: &Notebook,
    mut earlier: Notebook,
    name: &str,
    now: Timestamp,
) -> Result<Change, Refusal> {
    for bag in &mut earlier.bags {
        for pull in &mut bag.pulls {
            if let Some(standing) = notebook.pull(bag.id, pull.id) {
                pull.has_trace = standing.has_trace;
            }
        }
    }
    let mut changes = notebook.changes_to(&earlier);
    for change in &mut changes {
        change.after = match (change.after.take(), &change.before) {
            (Some(after), before) => Some(renewed(after, before.clone(), now)),
            (None, Some(before)) => {
                let mut gone = before.clone();
                if let Some(stamp) = gone.stamp_mut() {
                    mark_removed(stamp, now);
                }
                Some(gone)
            }
            (None, None) => None,
        };
    }
    // Sheets before the pulls in them, also where a bag comes back as a marker.
    changes.sort_by_key(|change| matches!(change.key, RecordKey::Pull(..)));
    Ok(Step { name: say!("work-edit-going-back-to", name = name), changes, trace: None })
}

fn mark_removed(stamp: &mut Stamp, now: Timestamp) {
    *stamp = stamp.edited(now);
    stamp.removed = Some(stamp.changed);
}

/// A pull's number in its ledger, counted from 1 over the pulls in use.
#[must_use]
pub fn number_of(bag: &Bag, pull: PullId) -> usize {
    bag.live_pulls().position(|candidate| candidate.id == pull).map_or(0, |at| at + 1)
}

/// What differs between two versions of a pull, in one or two words.
fn pull_difference(old: &Pull, new: &Pull) -> &'static str {
    let mut found: Vec<&'static str> = Vec::new();
    let mut note = |differs: bool, what: &'static str| {
        if differs {
            found.push(what);
        }
    };
    note(old.used.grind != new.used.grind, word!("work-edit-grind"));
    note(old.used.dose_g != new.used.dose_g, word!("work-edit-dose"));
    note(old.used.yield_g != new.used.yield_g, word!("work-edit-yield"));
    note(old.used.temperature_c != new.used.temperature_c, word!("work-edit-temperature"));
    note(old.time_s != new.time_s || old.first_drip_s != new.first_drip_s, word!("work-edit-time"));
    note(old.tds_pct != new.tds_pct, word!("work-edit-strength"));
    note(old.taste != new.taste, word!("work-edit-taste"));
    note(old.flags != new.flags, word!("work-edit-flags"));
    note(old.note != new.note, word!("work-edit-note"));
    match found.as_slice() {
        [only] => only,
        _ => word!("work-edit-change"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    #[test]
    fn an_edit_is_named_after_what_it_changed() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, bag) = samples::notebook_with_pulls(2, now);
        let mut pull = notebook.bag(bag).unwrap().pulls[1].clone();
        pull.used.yield_g = 41.0;
        let change = Command::SavePull(bag, Box::new(pull)).plan(&notebook, now).unwrap();
        assert_eq!(change.name, "yield of pull 2");
    }

    #[test]
    fn a_station_in_use_is_not_removed() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, bag) = samples::notebook_with_pulls(1, now);
        let station = notebook.bag(bag).unwrap().station;
        let refusal = Command::Remove(RecordKey::Station(station)).plan(&notebook, now).unwrap_err();
        assert!(refusal.to_string().contains("Put it away"), "{refusal}");
    }

    #[test]
    fn a_change_never_looks_older_than_the_one_before() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let earlier = Timestamp::from_second(1_700_000_000).unwrap();
        let (notebook, bag) = samples::notebook_with_pulls(1, now);
        let change = Command::Finish(bag, true).plan(&notebook, earlier).unwrap();
        let Some(Record::Bag(sheet)) = &change.changes[0].after else { panic!("a bag's sheet") };
        assert!(sheet.stamp.changed >= now);
    }
}
