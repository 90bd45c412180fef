//! Copies that went apart come together without loss: in any order, any number of times.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use proptest::prelude::*;

use super::faulty::FaultyDisk;
use super::*;

/// One copy's state of a few records: for each, absent or an edit number. Equal numbers mean equal content, as when
/// both copies have the same edit.
#[derive(Debug, Clone)]
struct Copy {
    bag: [Option<u8>; 2],
    pulls: [Option<u8>; 3],
    drinker: Option<u8>,
    station: u8,
    preferences: u8,
}

fn copies() -> impl Strategy<Value = Copy> {
    let edit = || proptest::option::of(0_u8..4);
    ([edit(), edit()], [edit(), edit(), edit()], edit(), 0_u8..4, 0_u8..4).prop_map(
        |(bag, pulls, drinker, station, preferences)| Copy { bag, pulls, drinker, station, preferences },
    )
}

/// Content number `edit` of a record; two different contents share the moment of change now and then.
fn stamp(edit: u8) -> Stamp {
    let changed = at(100 + i64::from(edit / 2));
    Stamp { made: at(0), changed, removed: (edit == 3).then_some(changed) }
}

fn build(disk: &FaultyDisk, path: &str, copy: &Copy) {
    let mut notebook = Notebook::default();
    let mut bench = station();
    (bench.stamp, bench.note) = (stamp(copy.station), copy.station.to_string());
    notebook.put(Record::Station(Box::new(bench)));
    if let Some(edit) = copy.drinker {
        let mut person = drinker();
        (person.stamp, person.note) = (stamp(edit), edit.to_string());
        notebook.put(Record::Drinker(Box::new(person)));
    }
    for (number, edit) in (10..).zip(copy.bag) {
        let mut sheet = bag(number);
        // Pulls need a sheet; a copy without an edit of its own has the first one.
        (sheet.stamp, sheet.note) = (stamp(edit.unwrap_or(0)), edit.unwrap_or(0).to_string());
        if edit.is_some() || number == 10 {
            notebook.put(Record::Bag(Box::new(sheet)));
        }
    }
    for (number, edit) in (100..).zip(copy.pulls) {
        if let Some(edit) = edit {
            let mut pull = pull(number);
            (pull.stamp, pull.note) = (stamp(edit), edit.to_string());
            notebook.put(Record::Pull(BagId(id(10)), Box::new(pull)));
        }
    }
    notebook.preferences.zoom = 1.0 + f64::from(copy.preferences) / 10.0;
    let now = at(100 + i64::from(copy.preferences / 2));
    drop(Folder::create_on(Arc::new(disk.clone()), Path::new(path), &notebook, now, &me()).unwrap());
}

fn merge(disk: &FaultyDisk, into: &str, from: &str) {
    let mut opened = Folder::open_on(Arc::new(disk.clone()), Path::new(into), at(2000), &me()).unwrap();
    let preview = opened.folder.preview_merge(Path::new(from)).unwrap();
    let merged = opened.folder.merge_from(Path::new(from)).unwrap();
    assert_eq!(preview, merged);
    assert_eq!(merged.problems, []);
    assert!(opened.folder.preview_merge(Path::new(from)).unwrap().is_nothing());
}

/// What a notebook says: its records and their earlier versions (file names may differ).
fn says(disk: &FaultyDisk, path: &str) -> (Notebook, Vec<(String, String)>) {
    let opened = Folder::open_on(Arc::new(disk.clone()), Path::new(path), at(2000), &me()).unwrap();
    assert_eq!(opened.problems, []);
    let versions = disk.below(&Path::new(path).join("versions")).into_iter();
    let versions = versions.map(|(path, text)| {
        (path.file_name().unwrap().to_string_lossy().into_owned(), String::from_utf8(text).unwrap())
    });
    (opened.notebook, versions.collect())
}

/// The outcome of merging copies along a list of (into, from).
fn outcome(copies: &[Copy; 3], steps: &[(usize, usize)]) -> (Notebook, Vec<(String, String)>) {
    const PATHS: [&str; 3] = ["/a", "/b", "/c"];
    let disk = FaultyDisk::default();
    for (path, copy) in PATHS.iter().zip(copies) {
        build(&disk, path, copy);
    }
    for &(into, from) in steps {
        merge(&disk, PATHS[into], PATHS[from]);
    }
    says(&disk, PATHS[steps.last().unwrap().0])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn merging_is_commutative_associative_and_idempotent(copies in [copies(), copies(), copies()]) {
        let expected = outcome(&copies, &[(0, 1), (0, 2)]);
        for steps in [
            &[(1, 0), (1, 2)][..],
            &[(2, 1), (2, 0)],
            &[(1, 2), (0, 1)],
            &[(0, 2), (1, 0)],
            &[(0, 1), (0, 2), (0, 1), (0, 2)],
            &[(0, 1), (1, 0), (2, 1), (0, 2), (0, 1)],
        ] {
            let found = outcome(&copies, steps);
            prop_assert_eq!(&found, &expected, "{:?}", steps);
        }
        // Nothing is lost: every content of every copy stands, or is an earlier version.
        let text = expected.1.iter().map(|(_, text)| text.as_str()).collect::<String>();
        for copy in &copies {
            for (number, edit) in (100..).zip(copy.pulls) {
                let Some(edit) = edit else { continue };
                let stands = expected.0.pull(BagId(id(10)), PullId(id(number))).unwrap().note == edit.to_string();
                let line = text.lines().any(|line| {
                    line.contains(&format!("pull: (id: \"{}\"", id(number))) && line.contains(&format!("note: \"{edit}\""))
                });
                prop_assert!(stands || line, "content {} of pull {} is gone", edit, number);
            }
        }
    }
}

#[test]
fn a_conflict_is_listed_and_the_loser_can_be_read() {
    let (dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let other = dir.path().join("other");
    copy_all(&path, &other);
    let note = |path: &Path, note: &str, second| {
        let mut opened = open(path);
        let mut pull = pull(101);
        (pull.note, pull.stamp.changed) = (note.into(), at(second));
        opened
            .folder
            .commit(&[Record::Pull(BagId(id(10)), Box::new(pull))], &[], "note", at(second))
            .unwrap();
        opened
    };
    drop(note(&path, "at home", 1100));
    std::mem::forget(note(&other, "in the bar", 1200).folder); // still in its journal
    let mut opened = open(&path);
    let merged = opened.folder.merge_from(&other).unwrap();
    let key = RecordKey::Pull(BagId(id(10)), PullId(id(101)));
    assert_eq!((merged.updated.as_slice(), merged.added.as_slice()), (&[key][..], &[][..]));
    let [conflict] = &merged.conflicts[..] else { panic!("{merged:?}") };
    let words = |record: &Record| match record {
        Record::Pull(_, pull) => pull.note.clone(),
        _ => String::new(),
    };
    assert_eq!((words(&conflict.kept), words(&conflict.other)), ("in the bar".into(), "at home".into()));
    let earlier: Vec<String> =
        opened.folder.versions(key).unwrap().iter().map(|v| words(&v.record)).collect();
    assert_eq!(earlier, ["a bit thin", "at home"]);
    assert_eq!(opened.folder.reload().0.pull(BagId(id(10)), PullId(id(101))).unwrap().note, "in the bar");
}

#[test]
fn conflict_copies_of_file_sync_are_merged_and_set_aside() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
    let copy = file.with_file_name(format!("{stem} (conflicted copy of bar-laptop).ron"));
    let made = |number: u64| format!("changed: \"{}\"", at(i64::try_from(number).unwrap()));
    let changed = text
        .replacen(&made(102), &format!("changed: \"{}\"", at(900)), 1)
        .replace("a bit thin", "bar's note");
    fs::write(&copy, changed).unwrap();
    let main = fs::read_to_string(path.join("notebook.ron")).unwrap();
    let main = main.replace(&format!("changed: \"{}\"", at(0)), &format!("changed: \"{}\"", at(950)));
    fs::write(path.join("notebook.sync-conflict-20260921.ron"), main.replace("Ilse", "Ilse V.")).unwrap();
    let opened = open(&path);
    assert_eq!(opened.problems.len(), 2, "{:?}", opened.problems);
    assert!(
        opened.problems.iter().all(|problem| problem.what.contains("merged into")),
        "{:?}",
        opened.problems
    );
    assert_eq!(opened.notebook.pull(BagId(id(10)), PullId(id(102))).unwrap().note, "bar's note");
    assert_eq!(opened.notebook.drinkers[0].name, "Ilse V.");
    assert!(!copy.exists() && file.exists());
    assert_eq!(fs::read_dir(path.join("set-aside")).unwrap().count(), 2);
    let seen = opened.notebook.clone();
    drop(opened);
    let again = open(&path);
    assert_eq!((again.notebook, again.problems), (seen, vec![]));
}
