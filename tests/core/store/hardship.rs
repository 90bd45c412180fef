//! Bad input and bad disks: a clear sentence each time, and nothing lost.

use std::fs;
use std::io;
use std::path::Path;
use std::sync::Arc;

use thirdpull::store::{StoreFault, check};

use super::faulty::FaultyDisk;
use super::*;

fn refusal(path: &Path) -> String {
    Folder::open(path, at(1000), &me()).map(|_| ()).unwrap_err().to_string()
}

#[test]
fn what_is_no_notebook_is_refused_with_a_sentence() {
    let (dir, path) = fresh();
    assert!(refusal(&path).contains("there is no folder"), "{}", refusal(&path));
    assert!(refusal(dir.path()).contains("holds no notebook"));
    fs::write(&path, "x").unwrap();
    assert!(refusal(&path).contains("a notebook is a folder"));
    assert!(matches!(Folder::create(&path, &notebook(), at(0), &me()), Err(StoreFault::NotAFolder(_))));
    fs::remove_file(&path).unwrap();
    drop(Folder::create(&path, &notebook(), at(0), &me()).unwrap());
    assert!(matches!(Folder::create(&path, &notebook(), at(0), &me()), Err(StoreFault::AlreadyThere(_))));
    assert_eq!(open(&path).notebook, notebook());
}

#[test]
fn odd_files_are_named_and_left_alone() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let year = bag_file(&path).parent().unwrap().to_owned();
    fs::write(year.join("noise.ron"), [0xff, 0xfe, 0, 1, 2]).unwrap();
    fs::write(year.join("empty.ron"), "").unwrap();
    fs::write(year.join("deep.ron"), "(".repeat(1_000_000)).unwrap();
    fs::write(year.join("newer.ron"), "(format: 7, shape: round)").unwrap();
    fs::create_dir(year.join("folder.ron")).unwrap();
    let huge = fs::File::create(year.join("huge.ron")).unwrap();
    huge.set_len(1 << 30).unwrap(); // sparse: a gigabyte that takes no room
    fs::write(path.join("journal").join("other.txt"), b"no journal\n\xff\xff\n").unwrap();
    let opened = open(&path);
    assert_eq!(opened.notebook, notebook());
    assert_eq!(opened.access, Access::Writer);
    let said: Vec<String> = opened.problems.iter().map(ToString::to_string).collect();
    for words in [
        "noise.ron:1:1: the file is not text",
        "empty.ron:1:1:",
        "deep.ron:1:",
        "format 7",
        "larger than 64 MB",
        "other.txt:1:",
    ] {
        assert!(said.iter().any(|line| line.contains(words)), "“{words}” is not in {said:#?}");
    }
    drop(opened);
    assert_eq!(fs::metadata(year.join("huge.ron")).unwrap().len(), 1 << 30);
    assert_eq!(fs::read(year.join("noise.ron")).unwrap(), [0xff, 0xfe, 0, 1, 2]);
    assert!(check(&path, at(5000)).len() >= 6);
}

#[test]
fn a_newer_notebook_opens_for_reading_only() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let main = path.join("notebook.ron");
    let text = fs::read_to_string(&main).unwrap().replace("format: 1", "format: 2");
    fs::write(&main, &text).unwrap();
    let opened = open(&path);
    assert!(matches!(opened.access, Access::ReadOnly { .. }));
    assert!(opened.why_read_only.unwrap().contains("newer version"));
    assert_eq!(opened.notebook.bags, notebook().bags);
    assert_eq!(fs::read_to_string(&main).unwrap(), text);
}

#[test]
fn a_disk_that_cannot_be_written_opens_for_reading_only() {
    let disk = FaultyDisk::default();
    let root = Path::new("/n");
    drop(Folder::create_on(Arc::new(disk.clone()), root, &notebook(), at(1000), &me()).unwrap());
    // Opening looks at three names, then asks for the lock.
    let operation = (0..9)
        .find(|&operation| {
            disk.fail_once(operation, io::ErrorKind::ReadOnlyFilesystem);
            let opened = Folder::open_on(Arc::new(disk.clone()), root, at(1000), &me());
            opened.is_ok_and(|opened| {
                assert_eq!(opened.notebook, notebook());
                opened.why_read_only.is_some_and(|why| why.contains("can only be read"))
            })
        })
        .unwrap();
    assert!(operation > 0);
}

#[test]
fn a_full_disk_refuses_the_edit_and_keeps_the_rest() {
    let disk = FaultyDisk::default();
    let root = Path::new("/n");
    let mut opened = Folder::create_on(Arc::new(disk.clone()), root, &notebook(), at(1000), &me()).unwrap();
    let record = [Record::Pull(BagId(id(10)), Box::new(pull(200)))];
    disk.fail_once(0, io::ErrorKind::StorageFull);
    let fault = opened.folder.commit(&record, &[], "pull", at(1001)).unwrap_err().to_string();
    assert!(fault.contains("disk is full") && fault.contains("free some space"), "{fault}");
    disk.heal();
    opened.folder.commit(&record, &[], "pull", at(1001)).unwrap();
    drop(opened);
    let again = Folder::open_on(Arc::new(disk), root, at(2000), &me()).unwrap();
    assert_eq!((again.notebook.bags[0].pulls.len(), again.problems.len()), (5, 0));
}

#[test]
fn a_folder_that_vanishes_is_told_at_once_and_found_again() {
    let (dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let commit = |opened: &mut Opened, number: u64| {
        let record = [Record::Pull(BagId(id(10)), Box::new(pull(number)))];
        opened.folder.commit(&record, &[], "pull", at(1001))
    };
    commit(&mut opened, 200).unwrap();
    let away = dir.path().join("away");
    fs::rename(&path, &away).unwrap();
    let fault = commit(&mut opened, 201).unwrap_err();
    assert!(matches!(fault, StoreFault::Vanished(_)), "{fault}");
    fs::rename(&away, &path).unwrap();
    commit(&mut opened, 201).unwrap();
    // Even the journal alone may be taken away: it is written anew.
    fs::remove_dir_all(path.join("journal")).unwrap();
    commit(&mut opened, 202).unwrap();
    drop(opened);
    assert_eq!(open(&path).notebook.bags[0].pulls.len(), 7);
}

#[test]
fn what_could_not_be_read_back_is_refused() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    for bad in [f64::NAN, f64::INFINITY] {
        let mut pull = pull(200);
        pull.used.dose_g = bad;
        let answer =
            opened.folder.commit(&[Record::Pull(BagId(id(10)), Box::new(pull))], &[], "dose", at(1001));
        assert!(answer.unwrap_err().to_string().contains("finite"));
    }
    // Any text is fine.
    let mut pull = pull(200);
    pull.note = "\u{0}\u{1b}[31m\r\n\"\\ (note: ]) // \u{1e} \u{feff}\u{202e}\u{10ffff} ".into();
    pull.pulled_by = "r#\"x\"#".into();
    let record = Record::Pull(BagId(id(10)), Box::new(pull));
    opened.folder.commit(std::slice::from_ref(&record), &[], "note", at(1001)).unwrap();
    drop(opened);
    assert_eq!(open(&path).notebook.record(record.key()), Some(record));
}

#[test]
fn another_machines_open_notebook_can_be_taken_over() {
    let (dir, path) = fresh();
    let other = Holder { name: "Ned".into(), machine: "kitchen".into() };
    let first = Folder::create(&path, &notebook(), at(1000), &other).unwrap();
    // As file sync brings it: the folder with the holder's name in it, but no lock.
    let copy = dir.path().join("copy");
    copy_all(&path, &copy);
    drop(first);
    let opened = open(&copy);
    assert_eq!(opened.access, Access::ReadOnly { holder: "Ned".into(), since: Some(at(1000)) });
    assert!(opened.why_read_only.unwrap().contains("kitchen"));
    let taken = Folder::take_over(&copy, at(2000), &me()).unwrap();
    assert_eq!(taken.access, Access::Writer);
}
