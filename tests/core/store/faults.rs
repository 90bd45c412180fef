//! Every single write, sync and rename fails once; and the power goes at every one of them.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;
use std::sync::Arc;

use super::faulty::{FaultyDisk, Leaves};
use super::*;
use thirdpull::store::StoreFault;

const ROOT: &str = "/n";

/// What each record may be after the storm: the acknowledged content, or one that was tried later.
#[derive(Default)]
struct Promises(BTreeMap<RecordKey, Vec<Option<Record>>>);

impl Promises {
    fn tried(&mut self, edit: &Edit) {
        for (key, content) in edit.contents() {
            self.0.entry(key).or_insert_with(|| vec![notebook().record(key)]).push(content);
        }
    }

    fn acknowledged(&mut self, edit: &Edit) {
        for (key, content) in edit.contents() {
            self.0.insert(key, vec![content]);
        }
    }

    fn check(&self, notebook: &Notebook, story: &str) {
        for (key, allowed) in &self.0 {
            let is = notebook.record(*key);
            assert!(allowed.contains(&is), "{story}: {key:?} is {is:?}, promised {allowed:?}");
        }
    }
}

struct Edit {
    put: Vec<Record>,
    take: Vec<RecordKey>,
}

impl Edit {
    fn contents(&self) -> impl Iterator<Item = (RecordKey, Option<Record>)> {
        let put = self.put.iter().map(|record| (record.key(), Some(record.clone())));
        put.chain(self.take.iter().map(|&key| (key, None)))
    }
}

/// A dozen edits of every kind.
fn edits() -> Vec<Edit> {
    let noted = |number: u64, note: &str, second| {
        let mut pull = pull(number);
        pull.note = note.into();
        pull.stamp.changed = at(second);
        Record::Pull(BagId(id(10)), Box::new(pull))
    };
    let put = |put| Edit { put, take: vec![] };
    let mut new_bag = bag(11);
    new_bag.name = "Harbour blend".into();
    let mut renamed = new_bag.clone();
    renamed.name = "Harbour blend, second".into();
    renamed.stamp.changed = at(1106);
    let mut person = drinker();
    person.name = "Ilse, later".into();
    person.stamp.changed = at(1104);
    let mut bench = station();
    bench.note = "moved".into();
    bench.stamp.changed = at(1105);
    vec![
        put(vec![noted(101, "first", 1101)]),
        put(vec![noted(200, "new", 1102)]),
        put(vec![noted(101, "second", 1103), noted(102, "both", 1103)]),
        put(vec![Record::Drinker(Box::new(person))]),
        put(vec![Record::Station(Box::new(bench))]),
        put(vec![Record::Bag(Box::new(new_bag)), Record::Pull(BagId(id(11)), Box::new(pull(300)))]),
        put(vec![Record::Bag(Box::new(renamed))]),
        Edit { put: vec![], take: vec![RecordKey::Pull(BagId(id(10)), PullId(id(200)))] },
        put(vec![Record::Preferences(Preferences { zoom: 2.0, ..Preferences::default() })]),
        put(vec![noted(103, "last", 1110)]),
    ]
}

fn prepared() -> FaultyDisk {
    let disk = FaultyDisk::default();
    drop(Folder::create_on(Arc::new(disk.clone()), Path::new(ROOT), &notebook(), at(1000), &me()).unwrap());
    disk
}

/// Opens, edits (settling after the fourth and the eighth edit), closes. Edits that are refused are tried `tries`
/// times.
fn storm(disk: &FaultyDisk, tries: usize) -> Promises {
    let mut promises = Promises::default();
    let Ok(mut opened) = Folder::open_on(Arc::new(disk.clone()), Path::new(ROOT), at(1100), &me()) else {
        return promises;
    };
    for (number, edit) in edits().into_iter().enumerate() {
        let now = at(1101 + i64::try_from(number).unwrap());
        promises.tried(&edit);
        for _ in 0..tries {
            match opened.folder.commit(&edit.put, &edit.take, "edit", now) {
                Ok(()) => {
                    promises.acknowledged(&edit);
                    break;
                }
                Err(StoreFault::ReadOnly(_)) => break,
                Err(_) => {}
            }
        }
        if number == 3 || number == 7 {
            // A refusal is fine; a loss is not, and shows at the end.
            let _ = opened.folder.settle();
        }
    }
    promises
}

fn reopened(disk: &FaultyDisk, story: &str) -> Notebook {
    disk.heal();
    for turn in 0..2 {
        let opened = Folder::open_on(Arc::new(disk.clone()), Path::new(ROOT), at(2000), &me()).unwrap();
        assert_eq!(opened.problems, [], "{story}");
        assert_eq!(opened.access, Access::Writer, "{story}");
        if turn == 1 {
            return opened.notebook;
        }
    }
    unreachable!()
}

#[test]
fn every_operation_may_fail_once() {
    let disk = prepared();
    let before = disk.operations();
    storm(&disk, 2).check(&reopened(&disk, "no fault"), "no fault");
    let operations = disk.operations() - before;
    assert!(operations > 100, "{operations} operations are too few to mean anything");
    let mut unacknowledged = 0;
    for operation in 0..operations {
        let kinds = [io::ErrorKind::StorageFull, io::ErrorKind::PermissionDenied, io::ErrorKind::Other];
        let kind = kinds[operation % 3];
        let story = format!("operation {operation} fails with {kind:?}");
        let disk = prepared();
        disk.fail_once(operation, kind);
        let promises = storm(&disk, 2);
        unacknowledged += promises.0.values().filter(|allowed| allowed.len() > 1).count();
        promises.check(&reopened(&disk, &story), &story);
    }
    println!("{operations} operations, {unacknowledged} records with an unacknowledged edit");
}

/// What was entered before the program was killed is in the journal alone until the next opening has settled it.
#[test]
fn what_waits_in_the_journal_outlives_any_fault_at_the_next_opening() {
    let killed = || {
        let disk = prepared();
        let mut opened = Folder::open_on(Arc::new(disk.clone()), Path::new(ROOT), at(1100), &me()).unwrap();
        let mut entered = pull(101);
        entered.note = "entered before the kill".into();
        entered.stamp.changed = at(1101);
        let entered = Record::Pull(BagId(id(10)), Box::new(entered));
        opened.folder.commit(std::slice::from_ref(&entered), &[], "edit", at(1101)).unwrap();
        std::mem::forget(opened.folder);
        (disk.after_power_cut(Leaves::Prefix(usize::MAX)), entered)
    };
    let opens = |disk: &FaultyDisk| {
        let opened = Folder::open_on(Arc::new(disk.clone()), Path::new(ROOT), at(1200), &me());
        let Ok(mut opened) = opened else { return false };
        let mut person = drinker();
        person.name = "Ilse, later".into();
        person.stamp.changed = at(1201);
        let later = Record::Drinker(Box::new(person));
        opened.folder.commit(&[later], &[], "edit", at(1201)).is_ok()
    };
    let (disk, entered) = killed();
    let before = disk.operations();
    assert!(opens(&disk));
    let operations = disk.operations() - before;
    assert_eq!(reopened(&disk, "no fault").record(entered.key()), Some(entered));
    let mut refused = 0;
    for operation in 0..operations {
        for kind in [io::ErrorKind::PermissionDenied, io::ErrorKind::Other, io::ErrorKind::NotFound] {
            let story = format!("operation {operation} fails with {kind:?}");
            let (disk, entered) = killed();
            disk.fail_once(operation, kind);
            refused += usize::from(!opens(&disk));
            let now = reopened(&disk, &story).record(entered.key());
            assert_eq!(now, Some(entered), "{story}");
        }
    }
    assert!(refused > 0 && operations > 20, "{refused} of {operations}");
}

#[test]
fn the_power_may_go_at_every_operation() {
    let disk = prepared();
    let before = disk.operations();
    storm(&disk, 1);
    let operations = disk.operations() - before;
    let mut cuts = 0;
    for operation in 0..operations {
        let disk = prepared();
        disk.die_at(operation);
        let promises = storm(&disk, 1);
        let all = (0..=disk.unsynced()).map(Leaves::Prefix);
        for leaves in all.chain([Leaves::OnlyNames, Leaves::OnlyData]) {
            let story = format!("power goes at operation {operation}, leaving {leaves:?}");
            let found = disk.after_power_cut(leaves);
            promises.check(&reopened(&found, &story), &story);
            cuts += 1;
        }
    }
    println!("{operations} operations, {cuts} states after a power cut");
}
