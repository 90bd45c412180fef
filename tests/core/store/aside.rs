//! Bags kept aside as they were read: used for files that did not change, and for nothing else.

use std::fs::{self, File};
use std::time::{Duration, SystemTime};

use thirdpull::store::Aside;

use super::*;

/// A notebook whose bag file was last changed an hour ago, and a place to keep bags aside.
fn settled() -> (tempfile::TempDir, PathBuf, PathBuf, Aside) {
    let (dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(0), &me()).unwrap());
    let file = bag_file(&path);
    changed_ago(&file, 3600);
    let place = dir.path().join("aside");
    let aside = Aside::at(place.clone()).unwrap();
    (dir, path, place, aside)
}

fn changed_ago(file: &Path, seconds: u64) {
    let then = SystemTime::now() - Duration::from_secs(seconds);
    File::options().write(true).open(file).unwrap().set_modified(then).unwrap();
}

fn read(path: &Path, aside: &Aside) -> Opened {
    Folder::open_beside(path, at(10), &me(), false, Some(aside)).unwrap()
}

/// All that lies aside.
fn leaves(place: &Path) -> Vec<PathBuf> {
    let Ok(notebooks) = fs::read_dir(place) else { return Vec::new() };
    notebooks
        .flat_map(|one| fs::read_dir(one.unwrap().path()).unwrap())
        .map(|one| one.unwrap().path())
        .collect()
}

/// Puts something that does not read in place of a file's text, with the length and the moment that it had.
fn spoil_unseen(file: &Path) {
    let meta = fs::metadata(file).unwrap();
    fs::write(file, vec![b'?'; usize::try_from(meta.len()).unwrap()]).unwrap();
    File::options().write(true).open(file).unwrap().set_modified(meta.modified().unwrap()).unwrap();
}

#[test]
fn an_unchanged_bag_comes_from_aside_whole() {
    let (_dir, path, place, aside) = settled();
    let first = read(&path, &aside);
    assert_eq!((first.notebook, first.problems), (notebook(), Vec::new()));
    assert_eq!(leaves(&place).len(), 1);
    // Nobody changes a file so that neither length nor moment shows; here it proves that it was not read.
    spoil_unseen(&bag_file(&path));
    let again = read(&path, &aside);
    assert_eq!((again.notebook, again.problems), (notebook(), Vec::new()));
    // Without the place the file itself is read, and named.
    assert_eq!(Folder::read(&path, at(10), &me()).unwrap().problems.len(), 1);
}

#[test]
fn a_changed_bag_is_read_anew() {
    let (_dir, path, _place, aside) = settled();
    drop(read(&path, &aside));
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    let name = notebook().bags[0].name.clone();
    // The same length, another moment.
    let other: String = name.chars().rev().collect();
    assert_ne!(other, name);
    fs::write(&file, text.replacen(&name, &other, 1)).unwrap();
    changed_ago(&file, 1800);
    assert_eq!(read(&path, &aside).notebook.bags[0].name, other);
    // Another length, the same moment.
    let moment = fs::metadata(&file).unwrap().modified().unwrap();
    fs::write(&file, text.replacen(&name, "Longer than before by far", 1)).unwrap();
    File::options().write(true).open(&file).unwrap().set_modified(moment).unwrap();
    assert_eq!(read(&path, &aside).notebook.bags[0].name, "Longer than before by far");
}

#[test]
fn a_bag_changed_a_moment_ago_is_not_kept() {
    let (_dir, path, place, aside) = settled();
    changed_ago(&bag_file(&path), 1);
    assert_eq!(read(&path, &aside).notebook, notebook());
    assert_eq!(leaves(&place), Vec::<PathBuf>::new());
}

#[test]
fn what_is_damaged_aside_is_read_anew_and_mended() {
    let (_dir, path, place, aside) = settled();
    drop(read(&path, &aside));
    let leaf = leaves(&place).pop().unwrap();
    let sound = fs::read(&leaf).unwrap();
    for at in 0..sound.len() {
        let mut damaged = sound.clone();
        damaged[at] ^= 1 << (at % 8);
        fs::write(&leaf, &damaged).unwrap();
        assert_eq!(read(&path, &aside).notebook, notebook(), "byte {at}");
        assert_eq!(fs::read(&leaf).unwrap(), sound, "byte {at}");
    }
    for len in [0, 1, 4, 5, sound.len() / 2, sound.len() - 1] {
        fs::write(&leaf, &sound[..len]).unwrap();
        assert_eq!(read(&path, &aside).notebook, notebook(), "cut to {len}");
    }
    // A place that cannot be written to costs nothing but time.
    fs::remove_dir_all(&place).unwrap();
    fs::write(&place, "a file, no folder").unwrap();
    assert_eq!(read(&path, &aside).notebook, notebook());
}

#[test]
fn edits_on_top_of_a_bag_from_aside_are_kept_and_a_removed_file_is_forgotten() {
    let (_dir, path, place, aside) = settled();
    drop(read(&path, &aside));
    let mut opened = Folder::open_beside(&path, at(10), &me(), true, Some(&aside)).unwrap();
    let mut bag = opened.notebook.bags[0].sheet();
    bag.note = "kept".into();
    bag.stamp = bag.stamp.edited(at(20));
    opened.folder.commit(&[Record::Bag(Box::new(bag))], &[], "Note", at(20)).unwrap();
    drop(opened);
    assert_eq!(read(&path, &aside).notebook.bags[0].note, "kept");
    assert_eq!(read(&path, &aside).notebook, Folder::read(&path, at(30), &me()).unwrap().notebook);
    fs::remove_file(bag_file(&path)).unwrap();
    assert!(read(&path, &aside).notebook.bags.is_empty());
    assert_eq!(leaves(&place), Vec::<PathBuf>::new());
}

#[test]
fn two_notebooks_share_a_place_without_mixing() {
    let (_dir, path, _place, aside) = settled();
    let (other_dir, other) = fresh();
    let mut second = notebook();
    second.bags[0].note = "another bar".into();
    drop(Folder::create(&other, &second, at(0), &me()).unwrap());
    changed_ago(&bag_file(&other), 3600);
    for _ in 0..2 {
        assert_eq!(read(&path, &aside).notebook, notebook());
        assert_eq!(read(&other, &aside).notebook, second);
    }
    drop(other_dir);
}
