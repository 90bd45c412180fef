//! What would be written over or emptied is kept first: damaged journals, replaced traces, backups, practice files.

use std::fs;
use std::path::Path;

use thirdpull::store::{
    PackOptions, Problem, UNWATCHED, back_up, back_up_if_due, backups, check, fix, read_packet,
    save_elsewhere, unpack_backup,
};

use super::*;

/// The texts of everything in `set-aside`, sorted.
fn aside(path: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(path.join("set-aside")) else { return Vec::new() };
    let mut texts: Vec<String> =
        entries.map(|entry| fs::read_to_string(entry.unwrap().path()).unwrap()).collect();
    texts.sort();
    texts
}

fn says_kept(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.to_string().contains("copy of the journal is kept in set-aside"))
}

#[test]
fn a_damaged_journal_is_copied_before_it_is_emptied_and_only_then_said_to_be() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let journal = path.join("journal/bar-laptop.txt");
    fs::write(&journal, "no line of a journal\n").unwrap();
    // Whoever only reads makes no copy and does not speak of one.
    let read = Folder::read(&path, at(1000), &me()).unwrap();
    assert!(read.problems.len() == 1 && !says_kept(&read.problems), "{:?}", read.problems);
    drop(read);
    assert_eq!(aside(&path), Vec::<String>::new());
    for (turn, text) in ["no line of a journal\n", "nor is this\n"].into_iter().enumerate() {
        fs::write(&journal, text).unwrap();
        let opened = open(&path);
        assert!(says_kept(&opened.problems), "{:?}", opened.problems);
        drop(opened);
        assert_eq!(fs::read_to_string(&journal).unwrap(), "");
        assert_eq!(aside(&path).len(), turn + 1, "{:?}", aside(&path));
        assert!(aside(&path).contains(&text.to_owned()));
    }
    // Opened twice before it is emptied, as after a kill, it is kept once.
    fs::write(&journal, "a third\n").unwrap();
    for _ in 0..2 {
        std::mem::forget(open(&path).folder);
        fs::remove_file(path.join("holder.ron")).unwrap();
        fs::rename(path.join("lock"), path.join("old-lock")).unwrap();
    }
    assert_eq!(aside(&path).len(), 3, "{:?}", aside(&path));
    // One of another machine is not emptied, so that no copy is made or spoken of.
    let other = path.join("journal/another.txt");
    fs::write(&other, "from elsewhere\n").unwrap();
    fs::write(&journal, "").unwrap();
    let opened = open(&path);
    assert!(opened.problems.len() == 1 && !says_kept(&opened.problems), "{:?}", opened.problems);
    drop(opened);
    assert_eq!((fs::read_to_string(&other).unwrap().as_str(), aside(&path).len()), ("from elsewhere\n", 3));
}

#[test]
fn mending_keeps_each_damaged_journal_under_a_name_of_its_own() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    for (second, text) in (2000..).zip(["first damage\n", "second damage\n"]) {
        fs::write(path.join("journal/another.txt"), text).unwrap();
        fix(&path, at(second), &me()).unwrap();
    }
    assert_eq!(aside(&path), ["first damage\n", "second damage\n"]);
}

#[test]
fn a_replaced_trace_is_set_aside() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let trace = |grams: f64| Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, grams])]).unwrap();
    let pull = PullId(id(101));
    let file = path.join("traces").join(format!("{pull}.ron"));
    let mut texts = Vec::new();
    for grams in [1.0, 1.0, 2.0, 3.0] {
        opened.folder.save_trace(pull, &trace(grams)).unwrap();
        texts.push(fs::read_to_string(&file).unwrap());
    }
    assert_eq!(opened.folder.load_trace(pull), Ok(Some(trace(3.0))));
    assert_eq!(aside(&path), [texts[0].clone(), texts[2].clone()]);
}

#[test]
fn two_backups_of_one_second_are_both_kept() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let first = back_up(&path, at(5000)).unwrap();
    let bytes = fs::read(&first.path).unwrap();
    opened.folder.commit(&[Record::Pull(BagId(id(10)), Box::new(pull(300)))], &[], "pull", at(4000)).unwrap();
    opened.folder.settle().unwrap();
    let (second, third) = (back_up(&path, at(5000)).unwrap(), back_up(&path, at(5000)).unwrap());
    assert!(first.path != second.path && second.path != third.path, "{first:?} {second:?} {third:?}");
    assert_eq!(fs::read(&first.path).unwrap(), bytes);
    let listed: Vec<_> = backups(&path).into_iter().map(|backup| backup.path).collect();
    assert_eq!(listed, [first.path, second.path, third.path]);
    assert!(backups(&path).iter().all(|backup| backup.made == at(5000)));
}

#[test]
fn a_backup_from_the_future_neither_stops_new_ones_nor_thins_them() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let future = back_up(&path, at(70 * 31_556_952)).unwrap();
    for hours in 0..6 {
        back_up(&path, at(5000 + hours * 3600)).unwrap();
    }
    assert_eq!(backups(&path).len(), 7);
    assert!(back_up_if_due(&path, at(5000 + 6 * 3600)).unwrap().is_none());
    assert!(back_up_if_due(&path, at(5000 + 26 * 3600)).unwrap().is_some());
    assert_eq!(backups(&path).last().map(|backup| backup.path.clone()), Some(future.path));
}

#[test]
fn practice_files_are_in_backups_in_merges_and_in_what_is_saved_elsewhere() {
    let (dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    for (file, text) in [("practice/coffees/own.ron", "(coffee)"), ("rules/cases/own.ron", "(cases)")] {
        fs::create_dir_all(path.join(file).parent().unwrap()).unwrap();
        fs::write(path.join(file), text).unwrap();
    }
    let [unpacked, elsewhere, merged] = ["unpacked", "elsewhere", "merged"].map(|name| dir.path().join(name));
    unpack_backup(&back_up(&path, at(2000)).unwrap().path, &unpacked).unwrap();
    drop(save_elsewhere(&path, &elsewhere, &notebook(), at(2000), &me(), UNWATCHED).unwrap());
    let mut other = Folder::create(&merged, &Notebook::default(), at(1000), &me()).unwrap();
    other.folder.merge_from(&path).unwrap();
    for to in [unpacked, elsewhere, merged] {
        for (file, text) in [("practice/coffees/own.ron", "(coffee)"), ("rules/cases/own.ron", "(cases)")] {
            assert_eq!(fs::read_to_string(to.join(file)).unwrap_or_default(), text, "{}", to.display());
        }
    }
    // One that differs is left alone and named.
    fs::write(path.join("practice/coffees/own.ron"), "(other)").unwrap();
    let again = other.folder.merge_from(&path).unwrap();
    assert!(again.problems.len() == 1, "{again:?}");
    assert_eq!(fs::read_to_string(other.folder.path().join("practice/coffees/own.ron")).unwrap(), "(coffee)");
}

#[test]
fn a_pull_that_goes_out_without_its_trace_claims_none_and_comes_back_without_a_conflict() {
    let (dir, path) = fresh();
    let mut mine = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let trace = Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, 1.5])]).unwrap();
    mine.folder.save_trace(PullId(id(101)), &trace).unwrap();
    let mut traced = pull(101);
    (traced.has_trace, traced.stamp.changed) = (true, at(1001));
    // Of this one the trace is gone.
    let mut lost = pull(102);
    (lost.has_trace, lost.stamp.changed) = (true, at(1001));
    let records = [traced, lost].map(|pull| Record::Pull(BagId(id(10)), Box::new(pull)));
    mine.folder.commit(&records, &[], "trace", at(1001)).unwrap();
    let claims = |notebook: &Notebook| {
        notebook.bags[0].pulls.iter().filter(|pull| pull.has_trace).map(|pull| pull.id.0).collect::<Vec<_>>()
    };
    let packet = |mine: &mut Opened, name: &str, traces| {
        let file = dir.path().join(name);
        let options = PackOptions { names: true, notes: true, traces };
        mine.folder.pack(&[BagId(id(10))], options, "", at(1010), &file).unwrap();
        read_packet(&file).unwrap()
    };
    let of_traces = |path: &Path| {
        let found = check(path, at(5000)).into_iter();
        found.filter(|problem| problem.to_string().contains("trace")).collect::<Vec<_>>()
    };
    let bare = packet(&mut mine, "bare.thirdpull", false);
    let whole = packet(&mut mine, "whole.thirdpull", true);
    let theirs_path = dir.path().join("theirs");
    let mut theirs = Folder::create(&theirs_path, &Notebook::default(), at(1000), &me()).unwrap();
    theirs.folder.take_packet(&bare).unwrap();
    let (got, _) = theirs.folder.reload();
    assert_eq!((claims(&got), of_traces(&theirs_path)), (vec![], vec![]));
    // They edit it and send it back: their note counts, and the trace that is here is not forgotten.
    let mut answer = got.bags[0].pulls[1].clone();
    (answer.note, answer.stamp.changed) = ("sweeter here".into(), at(1200));
    let answer = Record::Pull(BagId(id(10)), Box::new(answer));
    theirs.folder.commit(&[answer], &[], "note", at(1200)).unwrap();
    let back = packet(&mut theirs, "back.thirdpull", false);
    mine.folder.take_packet(&back).unwrap();
    let (here, _) = mine.folder.reload();
    assert_eq!(here.bags[0].pulls[1].note, "sweeter here");
    assert_eq!(claims(&here), [id(101), id(102)]);
    assert!(mine.folder.preview_packet(&back).unwrap().is_nothing());
    // The whole bag later: what it says more comes in, and nothing is called changed on both sides.
    let mut third = Folder::create(&dir.path().join("third"), &Notebook::default(), at(1000), &me()).unwrap();
    third.folder.take_packet(&bare).unwrap();
    let merged = third.folder.take_packet(&whole).unwrap();
    assert_eq!((merged.conflicts.len(), merged.traces), (0, 1), "{merged:?}");
    assert_eq!(claims(&third.folder.reload().0), [id(101)]);
    assert!(third.folder.preview_packet(&bare).unwrap().is_nothing());
    assert_eq!(of_traces(&dir.path().join("third")), Vec::<Problem>::new());
}
