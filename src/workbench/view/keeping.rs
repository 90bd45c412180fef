//! What keeps a notebook, in words: earlier versions, backups, what a merge or a packet brings.

use std::collections::BTreeMap;
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::records::{Differs, Showing, differences, moment, record_name};
use crate::domain::{Notebook, Record, RecordKey};
use crate::store::{Backup, Merged, Version};
use crate::units::{capital, figure};

/// An earlier version of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct VersionRow {
    /// When it was the latest word: "2026-11-25 14:02".
    pub when: String,
    /// What going back to it would change: from what stands now to what it says.
    pub differs: Vec<Differs>,
    /// Its content.
    pub record: Record,
    /// The whole row in one sentence, for screen readers.
    pub label: String,
}

/// Earlier versions of a record, newest first, each against what stands now. One that says the same in every field is
/// left out.
#[must_use]
pub fn versions(showing: Showing<'_>, key: RecordKey, list: &[Version]) -> Vec<VersionRow> {
    let Some(now) = showing.notebook.record(key) else { return Vec::new() };
    let mut rows: Vec<VersionRow> = Vec::new();
    for version in list.iter().rev() {
        let differs = differences(showing, &now, &version.record);
        if differs.is_empty() || rows.last().is_some_and(|newer| newer.differs == differs) {
            continue;
        }
        let when = moment(version.changed, showing.zone);
        let spoken: Vec<String> = differs.iter().map(Differs::spoken).collect();
        let label = format!("{when}: {}", spoken.join("; "));
        rows.push(VersionRow { when, differs, record: version.record.clone(), label });
    }
    rows
}

/// A backup.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupRow {
    /// Its file.
    pub path: PathBuf,
    /// When it was made: "2026-11-25 14:02".
    pub when: String,
    /// How long ago: "yesterday", "3 weeks ago".
    pub ago: String,
    /// How large: "1.2 MB".
    pub size: String,
    /// The whole row in one sentence, for screen readers.
    pub label: String,
}

/// Backups, newest first.
#[must_use]
pub fn backups(list: &[Backup], now: Timestamp, zone: &TimeZone) -> Vec<BackupRow> {
    list.iter()
        .rev()
        .map(|backup| {
            let ago = if backup.is_of_the_future(now) {
                word!("view-keeping-in-the-future").to_owned()
            } else {
                ago(backup.made, now)
            };
            let (when, size) = (moment(backup.made, zone), bytes(backup.bytes));
            let label = say!("view-keeping-backup-of", when = when, ago = ago, size = size);
            BackupRow { path: backup.path.clone(), when, ago, size, label }
        })
        .collect()
}

/// How long ago a moment was, in the largest unit that says something.
#[must_use]
pub fn ago(then: Timestamp, now: Timestamp) -> String {
    let seconds = now.as_second().saturating_sub(then.as_second());
    match seconds {
        ..60 => word!("view-keeping-just-now").to_owned(),
        60..3600 => say!("view-keeping-minutes-ago", n = seconds / 60),
        3600..86_400 => say!("view-keeping-hours-ago", n = seconds / 3600),
        86_400..1_209_600 => say!("view-keeping-days-ago", n = seconds / 86_400),
        1_209_600..5_184_000 => say!("view-keeping-weeks-ago", n = seconds / 604_800),
        5_184_000..63_072_000 => say!("view-keeping-months-ago", n = seconds / 2_629_746),
        _ => say!("view-keeping-years-ago", n = seconds / 31_556_952),
    }
}

/// A size for people: "830 bytes", "12 kB", "1.2 MB" (powers of ten).
#[must_use]
pub fn bytes(bytes: u64) -> String {
    match bytes {
        0..1000 => say!("view-keeping-count-bytes", n = usize::try_from(bytes).unwrap_or(0)),
        1000..1_000_000 => say!("view-keeping-kb", bytes = (bytes + 500) / 1000),
        1_000_000..1_000_000_000 => say!("view-keeping-mb", bytes = figure(bytes as f64 / 1e6, 1)),
        _ => say!("view-keeping-gb", bytes = figure(bytes as f64 / 1e9, 1)),
    }
}

/// A record that was changed on both sides.
#[derive(Debug, Clone, PartialEq)]
pub struct ConflictRow {
    /// What it is called.
    pub name: String,
    /// When the one that stands was changed.
    pub kept: String,
    /// When the other one was changed.
    pub other: String,
    /// From what stands to what the other one says.
    pub differs: Vec<Differs>,
    /// The other one, to go back to.
    pub record: Record,
}

/// What a merge or a packet does, or would do.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MergedView {
    /// In one sentence.
    pub headline: String,
    /// What comes and what changes: a heading and its lines each.
    pub groups: Vec<(String, Vec<String>)>,
    /// Records that were changed on both sides.
    pub conflicts: Vec<ConflictRow>,
    /// What could not be read or taken.
    pub problems: Vec<String>,
    /// Whether nothing changes.
    pub nothing: bool,
}

/// Lines that one group shows at most; a last line counts the rest.
const LINES: usize = 200;

/// What a merge brings to the notebook of `showing`, which is the one before it.
#[must_use]
pub fn merged(showing: Showing<'_>, merged: &Merged) -> MergedView {
    let content = |key: &RecordKey| merged.contents.get(key);
    // Names of bags that only come with it.
    let mut coming = Notebook::default();
    for record in merged.contents.values().filter(|record| !matches!(record, Record::Pull(..))) {
        coming.put(record.clone());
    }
    let name = |key: &RecordKey| match key {
        RecordKey::Pull(bag, _) if showing.notebook.bag(*bag).is_none() => {
            record_name(Showing { notebook: &coming, ..showing }, *key, content(key))
        }
        _ => record_name(showing, *key, content(key)),
    };
    let mut groups = Vec::new();
    let mut fresh: Vec<String> = Vec::new();
    let mut pulls: BTreeMap<String, usize> = BTreeMap::new();
    for key in &merged.added {
        match key {
            RecordKey::Pull(bag, _) => {
                let of = showing.notebook.bag(*bag).or_else(|| coming.bag(*bag));
                *pulls
                    .entry(
                        of.map_or(word!("view-keeping-a-bag-that-is-not-here"), |bag| &bag.name).to_owned(),
                    )
                    .or_default() += 1;
            }
            _ => fresh.push(capital(&name(key))),
        }
    }
    fresh.extend(pulls.iter().map(|(bag, n)| {
        say!("view-keeping-of", counted = say!("view-keeping-count-pulls", n = *n), bag = bag)
    }));
    let added = merged.added.len();
    if !fresh.is_empty() {
        groups.push((
            say!("view-keeping-comes-new", counted = say!("view-keeping-count-records", n = added)),
            cut(fresh),
        ));
    }
    let changed: Vec<String> = merged
        .updated
        .iter()
        .map(|key| {
            let lines = match (showing.notebook.record(*key), content(key)) {
                (Some(before), Some(after)) => differences(showing, &before, after),
                _ => Vec::new(),
            };
            let lines: Vec<String> = lines.iter().map(Differs::line).collect();
            let name = capital(&name(key));
            if lines.is_empty() { name } else { format!("{name}: {}", lines.join("; ")) }
        })
        .collect();
    if !changed.is_empty() {
        groups.push((
            say!("view-keeping-changes", counted = say!("view-keeping-count-records", n = changed.len())),
            cut(changed),
        ));
    }
    if merged.traces > 0 {
        groups.push((
            say!("view-keeping-comes-new", counted = say!("view-keeping-count-traces", n = merged.traces)),
            Vec::new(),
        ));
    }
    if !merged.packs.is_empty() {
        let packs = merged.packs.iter().map(|path| path.display().to_string()).collect();
        let n = merged.packs.len();
        groups.push((
            say!("view-keeping-comes-new", counted = say!("view-keeping-count-packs", n = n)),
            cut(packs),
        ));
    }
    let when = |record: &Record| {
        record.stamp().map_or_else(String::new, |stamp| moment(stamp.changed, showing.zone))
    };
    let conflicts: Vec<ConflictRow> = merged
        .conflicts
        .iter()
        .map(|conflict| ConflictRow {
            name: capital(&record_name(showing, conflict.key, Some(&conflict.kept))),
            kept: when(&conflict.kept),
            other: when(&conflict.other),
            differs: differences(showing, &conflict.kept, &conflict.other),
            record: conflict.other.clone(),
        })
        .collect();
    let nothing = merged.is_nothing();
    let headline = if nothing {
        word!("view-keeping-nothing-new-everything-in-it-is").to_owned()
    } else {
        let mut parts = Vec::new();
        if added > 0 {
            parts.push(say!("view-keeping-new", counted = say!("view-keeping-count-records", n = added)));
        }
        if !merged.updated.is_empty() {
            parts.push(say!(
                "view-keeping-changed",
                counted = say!("view-keeping-count-records", n = merged.updated.len())
            ));
        }
        if merged.traces > 0 {
            parts.push(say!("view-keeping-count-traces", n = merged.traces));
        }
        if !merged.packs.is_empty() {
            parts.push(say!("view-keeping-count-packs", n = merged.packs.len()));
        }
        if !conflicts.is_empty() {
            parts.push(say!("view-keeping-changed-on-both-sides", conflicts = conflicts.len()));
        }
        format!("{}.", parts.join(", "))
    };
    let problems = merged.problems.iter().map(ToString::to_string).collect();
    MergedView { headline, groups, conflicts, problems, nothing }
}

fn cut(mut lines: Vec<String>) -> Vec<String> {
    let more = lines.len().saturating_sub(LINES);
    lines.truncate(LINES);
    if more > 0 {
        lines.push(say!("view-keeping-and-more", more = more));
    }
    lines
}

impl MergedView {
    /// As lines of text, for a terminal.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = format!("{}\n", self.headline);
        for (heading, lines) in &self.groups {
            text.push_str(&format!("{heading}\n"));
            for line in lines {
                text.push_str(&format!("  {line}\n"));
            }
        }
        if !self.conflicts.is_empty() {
            text.push_str(word!("view-keeping-changed-on-both-sides-the-later"));
            for conflict in &self.conflicts {
                let lines: Vec<String> = conflict.differs.iter().map(Differs::line).collect();
                let lines = lines.join("; ");
                text.push_str(&say!(
                    "view-keeping-stands-other",
                    name = conflict.name,
                    kept = conflict.kept,
                    other = conflict.other,
                    lines = lines
                ));
            }
        }
        for problem in &self.problems {
            text.push_str(&say!("view-keeping-not-taken", problem = problem));
        }
        text
    }
}

/// What a notebook holds, in one line: "9 bags · 124 pulls · 2 stations · 3 drinkers".
#[must_use]
pub fn standing(notebook: &Notebook) -> String {
    let bags = notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    let pulls: usize = bags.clone().map(|bag| bag.live_pulls().count()).sum();
    let stations = notebook.stations.iter().filter(|station| station.stamp.is_live()).count();
    let drinkers = notebook.drinkers.iter().filter(|drinker| drinker.stamp.is_live()).count();
    [
        say!("view-keeping-count-bags", n = bags.count()),
        say!("view-keeping-count-pulls", n = pulls),
        say!("view-keeping-count-stations", n = stations),
        say!("view-keeping-count-drinkers", n = drinkers),
    ]
    .join(" · ")
}

/// A bag that can be passed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassRow {
    /// Which.
    pub id: crate::domain::BagId,
    /// Its name.
    pub name: String,
    /// Roaster, pulls, traces.
    pub detail: String,
}

/// Bags that can be passed on, the newest first.
#[must_use]
pub fn bags_to_pass(notebook: &Notebook) -> Vec<PassRow> {
    let live = notebook.bags.iter().rev().filter(|bag| bag.stamp.is_live());
    live.map(|bag| {
        let (pulls, traces) = bag
            .live_pulls()
            .fold((0, 0), |(pulls, traces), pull| (pulls + 1, traces + usize::from(pull.has_trace)));
        let mut parts = vec![bag.roaster.clone(), say!("view-keeping-count-pulls", n = pulls)];
        if traces > 0 {
            parts.push(say!("view-keeping-count-traces", n = traces));
        }
        parts.retain(|part| !part.is_empty());
        PassRow { id: bag.id, name: bag.name.clone(), detail: parts.join(" · ") }
    })
    .collect()
}

/// A file name for a packet: the bag's name where it is one, else a count.
#[must_use]
pub fn packet_name(notebook: &Notebook, bags: &[crate::domain::BagId]) -> String {
    let stem = match bags {
        [one] => notebook.bag(*one).map_or(word!("view-keeping-bag"), |bag| &bag.name).to_lowercase(),
        many => say!("view-keeping-bags", many = many.len()),
    };
    let mut name = String::new();
    for c in stem.chars() {
        if c.is_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let name: String = name.chars().take(60).collect();
    let name = name.trim_end_matches('-');
    format!("{}.thirdpull", if name.is_empty() { word!("view-keeping-bag") } else { name })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Conflict;
    use crate::units::UnitPreferences;
    use crate::workbench::samples;

    fn at(second: i64) -> Timestamp {
        Timestamp::from_second(1_790_000_000 + second).unwrap()
    }

    #[test]
    fn versions_tell_what_going_back_would_change() {
        let (notebook, bag) = samples::notebook_with_pulls(2, at(0));
        let units = UnitPreferences::default();
        let showing = Showing { notebook: &notebook, units: &units, zone: &TimeZone::UTC };
        let now = notebook.bags[0].pulls[1].clone();
        let key = RecordKey::Pull(bag, now.id);
        let mut older = now.clone();
        older.used.yield_g += 5.0;
        older.note = "first".into();
        let version = |pull: &crate::domain::Pull, second| Version {
            changed: at(second),
            record: Record::Pull(bag, Box::new(pull.clone())),
        };
        let rows = versions(showing, key, &[version(&older, -50), version(&now, -10), version(&older, -5)]);
        // The one that says the same as now is not listed.
        assert_eq!(rows.len(), 1, "{rows:?}");
        assert_eq!(rows[0].differs[1].line(), "Note – → first");
        assert!(rows[0].label.contains("Note from nothing to first") && rows[0].label.contains("Yield from"));
    }

    #[test]
    fn a_merge_is_told_record_by_record() {
        let (notebook, bag) = samples::notebook_with_pulls(2, at(0));
        let units = UnitPreferences::default();
        let showing = Showing { notebook: &notebook, units: &units, zone: &TimeZone::UTC };
        let mut kept = notebook.bags[0].pulls[0].clone();
        let other = kept.clone();
        kept.note = "theirs".into();
        let key = RecordKey::Pull(bag, kept.id);
        let mut came = Merged { updated: vec![key], ..Merged::default() };
        came.contents.insert(key, Record::Pull(bag, Box::new(kept.clone())));
        came.conflicts.push(Conflict {
            key,
            kept: Record::Pull(bag, Box::new(kept)),
            other: Record::Pull(bag, Box::new(other)),
        });
        let view = merged(showing, &came);
        assert_eq!(view.headline, "1 record changed, 1 changed on both sides.");
        assert!(view.text().contains("Pull 1 of Quarry Road: Note – → theirs"), "{}", view.text());
        assert!(merged(showing, &Merged::default()).nothing);
    }

    #[test]
    fn sizes_and_ages_are_said_in_words() {
        assert_eq!(
            [bytes(1), bytes(830), bytes(12_400), bytes(1_240_000)],
            ["1 byte", "830 bytes", "12 kB", "1.2 MB"]
        );
        for (seconds, words) in [
            (5, "just now"),
            (3700, "1 hour ago"),
            (86_400 * 3, "3 days ago"),
            (86_400 * 400, "13 months ago"),
        ] {
            assert_eq!(ago(at(-seconds), at(0)), words);
        }
    }

    #[test]
    fn a_packet_is_named_after_its_bag() {
        let (notebook, bag) = samples::notebook_with_pulls(1, at(0));
        assert_eq!(packet_name(&notebook, &[bag]), "quarry-road.thirdpull");
        assert_eq!(packet_name(&notebook, &[bag, bag]), "2-bags.thirdpull");
    }
}
