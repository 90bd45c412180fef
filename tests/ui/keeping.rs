//! Keeping the notebook from the window: versions, backups, packets, merging, a second window, a full disk, a folder
//! that goes away, files that change from outside.

use crate::folders::copy;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use eframe::egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::Notebook;
use thirdpull::store::{Disk, Entry, Folder, Holder, LockAnswer, Opened, SystemDisk, Tail};
use thirdpull::workbench::Workbench;

use crate::support::*;

fn me() -> Holder {
    Holder { name: "Odile".into(), machine: "attic".into() }
}

fn over(opened: Opened) -> Window {
    let place = opened.folder.path().display().to_string();
    let mut own = options(Notebook::default(), None);
    own.opened.problems = opened.problems.iter().map(ToString::to_string).collect();
    own.opened.bench = Workbench::new(opened.notebook, Some(Box::new(opened.folder)), opened.why_read_only);
    own.opened.place = place;
    let mut window = window_of(own, [1280.0, 900.0], 1.0);
    window.state_mut().look_every(Duration::from_millis(20));
    settle(&mut window);
    window
}

fn made(path: &Path, pulls: usize) -> Window {
    over(Folder::create(path, &notebook(pulls), start(), &me()).unwrap())
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    (dir, path)
}

fn wait_to_read(window: &mut Window, part: &str) {
    let wanted = part.to_owned();
    wait_for(window, part, |window| shows(window, &wanted));
}

fn click_with(window: &mut Window, part: &str) {
    // What has just come up takes its final place in the next frames.
    settle_some(window);
    let found =
        window.query_all_by(|node| node.label().is_some_and(|label| label.contains(part))).next().is_some();
    assert!(found, "“{part}” is not among: {}", names(window));
    window
        .query_all_by(|node| node.label().is_some_and(|label| label.contains(part)))
        .next()
        .unwrap()
        .click();
    settle_some(window);
}

/// A few frames; work may still run.
fn settle_some(window: &mut Window) {
    window.run_steps(4);
}

fn type_path(window: &mut Window, label: &str, path: &Path) {
    window.get_by_role_and_label(Role::TextInput, label).focus();
    settle_some(window);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_steps(2);
    window.event(eframe::egui::Event::Text(path.display().to_string()));
    window.run_steps(2);
}

fn ctrl(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    settle_some(window);
}

fn note(window: &mut Window, at: usize, words: &str) {
    let mut bag = bag(window);
    let id = bag.id;
    let mut pull = bag.pulls.remove(at);
    pull.note = words.into();
    apply(window, thirdpull::workbench::Command::SavePull(id, Box::new(pull)));
}

/// An edit as the forms would make it.
fn apply(window: &mut Window, command: thirdpull::workbench::Command) {
    window.state_mut().bench_mut().apply(command, start()).unwrap();
    settle_some(window);
}

#[test]
fn an_earlier_version_is_seen_and_gone_back_to() {
    let (_dir, path) = place();
    let mut window = made(&path, 2);
    for words in ["first", "second", "third"] {
        note(&mut window, 1, words);
    }
    press(&mut window, Key::ArrowUp);
    press(&mut window, Key::ArrowDown);
    press(&mut window, Key::ArrowUp);
    press(&mut window, Key::H);
    assert!(
        shows(&window, "Earlier versions") && shows(&window, "pull 2 of Quarry Road"),
        "{}",
        names(&window)
    );
    // Every one of the three edits of this session can be seen, not only the last state before it.
    for words in ["Note third → second", "Note third → first", "Note third → –"] {
        assert!(shows(&window, words), "{words}: {}", names(&window));
    }
    click_with(&mut window, "Note from third to first");
    assert_eq!(bag(&window).pulls[1].note, "first");
    assert!(
        shows(&window, "earlier version of pull 2") && shows(&window, "Note first → third"),
        "{}",
        names(&window)
    );
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Undo: earlier version of pull 2"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::K);
    assert!(shows(&window, "Undo: earlier version of pull 2"));
    press(&mut window, Key::Escape);
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(bag(&window).pulls[1].note, "third");
    assert!(shows(&window, "Redo: earlier version of pull 2"));
}

#[test]
fn a_backup_is_made_gone_back_to_and_unpacked() {
    let (dir, path) = place();
    let mut window = made(&path, 2);
    press(&mut window, Key::N);
    assert!(shows(&window, "2 bags · 2 pulls · 1 station · 1 drinker"), "{}", names(&window));
    click(&mut window, "Backups…");
    // The day's backup is made by itself, beside everything else.
    wait_to_read(&mut window, "Backup of 2026-11-25 09:00, just now");
    click_with(&mut window, "Make one now");
    wait_to_read(&mut window, "The backup was made");
    assert!(shows(&window, "Backup of 2026-11-25 09:00, just now"), "{}", names(&window));
    press(&mut window, Key::Escape);
    note(&mut window, 0, "after the backup");
    press(&mut window, Key::N);
    click(&mut window, "Backups…");
    click_with(&mut window, "Go back to it… Backup of");
    assert!(shows(&window, "a backup of the present is made first"), "{}", names(&window));
    click(&mut window, "Go back to 2026-11-25 09:00");
    wait_to_read(&mut window, "stands as it did then");
    assert_eq!(bag(&window).pulls[0].note, "");
    click_with(&mut window, "Unpack… Backup of");
    let target = dir.path().join("then");
    type_path(&mut window, "Into which folder (new or empty)", &target);
    click(&mut window, "Unpack it");
    wait_to_read(&mut window, "Unpacked. Open it");
    let unpacked = Folder::open(&target, start(), &me()).unwrap().notebook;
    assert_eq!((unpacked.bags.len(), unpacked.bags[0].pulls.len()), (2, 2));
    press(&mut window, Key::Escape);
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(bag(&window).pulls[0].note, "after the backup");
}

#[test]
fn a_bag_is_passed_on_declined_taken_and_taken_back() {
    let (dir, path) = place();
    let mut mine = made(&path, 3);
    let file = dir.path().join("quarry.thirdpull");
    ctrl(&mut mine, Key::P);
    assert!(shows(&mine, "Write 1 bag") && shows(&mine, "Tin Gable · 3 pulls"), "{}", names(&mine));
    type_path(&mut mine, "Into which file", &file);
    click_with(&mut mine, "Write 1 bag");
    wait_to_read(&mut mine, "Send it as it is");
    click_with(&mut mine, "Write 1 bag");
    assert!(shows(&mine, "is there already"), "{}", names(&mine));
    assert!(file.exists());

    let theirs = dir.path().join("theirs");
    let mut window = over(Folder::create(&theirs, &Notebook::default(), start(), &me()).unwrap());
    ctrl(&mut window, Key::O);
    type_path(&mut window, "A file that was passed on, or a notebook's folder", &file);
    click_with(&mut window, "Look at it");
    wait_to_read(&mut window, "records new");
    for words in ["Bag Quarry Road", "Station Attic kitchen", "Drinker Odile", "3 pulls of Quarry Road"] {
        assert!(shows(&window, words), "{words}: {}", names(&window));
    }
    assert!(window.state().bench().notebook().bags.is_empty(), "nothing has changed yet");
    click(&mut window, "Decline");
    assert!(window.state().bench().notebook().bags.is_empty());
    press(&mut window, Key::Escape);
    ctrl(&mut window, Key::O);
    type_path(&mut window, "A file that was passed on, or a notebook's folder", &file);
    ctrl(&mut window, Key::Enter);
    wait_to_read(&mut window, "records new");
    click_with(&mut window, "Take it in");
    wait_to_read(&mut window, "Undo now takes back");
    assert_eq!(bag(&window).pulls.len(), 3);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Next pull · fourth"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(window.state().bench().notebook().bags.is_empty());
    press_with(&mut window, Modifiers::COMMAND, Key::Y);
    assert_eq!(bag(&window).pulls.len(), 3);
    // What is no packet is refused with a sentence.
    let noise = dir.path().join("noise.thirdpull");
    std::fs::write(&noise, "noise").unwrap();
    ctrl(&mut window, Key::O);
    type_path(&mut window, "A file that was passed on, or a notebook's folder", &noise);
    ctrl(&mut window, Key::Enter);
    wait_to_read(&mut window, "not a file of this program");
}

#[test]
fn another_copy_is_merged_and_the_other_side_of_a_conflict_can_be_taken() {
    let (dir, path) = place();
    drop(Folder::create(&path, &notebook(2), start(), &me()).unwrap());
    let other = dir.path().join("other");
    copy(&path, &other);
    let mut away = over(Folder::open(&other, start(), &me()).unwrap());
    note(&mut away, 0, "in the bar");
    drop(away);
    let mut window = over(Folder::open(&path, start(), &me()).unwrap());
    note(&mut window, 0, "at home");
    ctrl(&mut window, Key::O);
    type_path(&mut window, "A file that was passed on, or a notebook's folder", &other);
    click_with(&mut window, "Look at it");
    wait_to_read(&mut window, "changed on both sides");
    assert!(shows(&window, "Pull 1 of Quarry Road"), "{}", names(&window));
    click_with(&mut window, "Take it in");
    wait_to_read(&mut window, "Take the other one: Pull 1 of Quarry Road");
    let stands = bag(&window).pulls[0].note.clone();
    click_with(&mut window, "Take the other one: Pull 1");
    let after = bag(&window).pulls[0].note.clone();
    assert!(
        stands != after && ["at home", "in the bar"].contains(&after.as_str()),
        "{stands}, then {after}: {}",
        names(&window)
    );
    // The window itself is refused as the other copy.
    ctrl(&mut window, Key::O);
    press(&mut window, Key::Escape);
    ctrl(&mut window, Key::O);
    type_path(&mut window, "A file that was passed on, or a notebook's folder", &path);
    ctrl(&mut window, Key::Enter);
    wait_to_read(&mut window, "is this notebook itself");
}

#[test]
fn a_second_window_names_the_holder_follows_and_takes_over_when_the_holder_is_gone() {
    let (_dir, path) = place();
    let mut first = made(&path, 1);
    let mut second = over(Folder::open(&path, start(), &me()).unwrap());
    assert!(shows(&second, "Reading only: Odile on attic has it open since"), "{}", names(&second));
    assert!(shows(&second, "It is handed over as soon as that is closed"));
    assert!(!shows(&second, "Take it over"));
    note(&mut first, 0, "by the writer");
    // The writer's idle moment brings the edit into the files, and the reader follows.
    for _ in 0..40 {
        first.step();
    }
    wait_for(&mut second, "the reader follows", |second| bag(second).pulls[0].note == "by the writer");
    drop(first);
    wait_to_read(&mut second, "yours to write in now");
    assert!(!shows(&second, "Reading only"));
    note(&mut second, 0, "by the second");
    drop(second);
    let again = Folder::open(&path, start(), &me()).unwrap();
    assert_eq!(again.notebook.bags[0].pulls[0].note, "by the second");
}

#[test]
fn a_holder_on_another_machine_is_named_and_taken_over_only_when_asked() {
    let (dir, path) = place();
    let ned = Holder { name: "Ned".into(), machine: "kitchen".into() };
    let other = Folder::create(&path, &notebook(1), start(), &ned).unwrap();
    let copied = dir.path().join("copy");
    copy(&path, &copied);
    drop(other);
    let mut window = over(Folder::open(&copied, start(), &me()).unwrap());
    assert!(shows(&window, "Ned has it open on kitchen"), "{}", names(&window));
    std::thread::sleep(Duration::from_millis(200));
    settle_some(&mut window);
    assert!(window.state().bench().read_only().is_some(), "never by itself");
    click(&mut window, "Take it over");
    wait_to_read(&mut window, "yours to write in now");
    note(&mut window, 0, "mine now");
    assert_eq!(bag(&window).pulls[0].note, "mine now");
}

/// The system's disk, which is full below one folder while asked to be.
/// With the third switch on it lets nothing be opened for writing, as after a change of permissions.
struct Full(PathBuf, Arc<AtomicBool>, Arc<AtomicBool>);

impl Full {
    fn check(&self, path: &Path) -> io::Result<()> {
        let full = self.1.load(Ordering::Relaxed) && path.starts_with(&self.0);
        if full { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) }
    }
}

struct FullTail(Box<dyn Tail>, Arc<AtomicBool>);

impl Tail for FullTail {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        if self.1.load(Ordering::Relaxed) {
            // As a real one does: some of it goes in.
            self.0.append(bytes.get(..bytes.len() / 3).unwrap_or_default())?;
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.0.append(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync()
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        self.0.cut(len)
    }
}

impl Disk for Full {
    fn stat(&self, path: &Path) -> io::Result<Option<Entry>> {
        SystemDisk.stat(path)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        SystemDisk.list(folder)
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        SystemDisk.read(path, limit)
    }

    fn create_dir(&self, folder: &Path) -> io::Result<()> {
        self.check(folder)?;
        SystemDisk.create_dir(folder)
    }

    fn write_new(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.check(path)?;
        SystemDisk.write_new(path, bytes)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        SystemDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        SystemDisk.remove(path)
    }

    fn sync_dir(&self, folder: &Path) -> io::Result<()> {
        SystemDisk.sync_dir(folder)
    }

    fn tail(&self, path: &Path) -> io::Result<Box<dyn Tail>> {
        let tail = SystemDisk.tail(path)?;
        let never = Arc::new(AtomicBool::new(false));
        let full = if path.starts_with(&self.0) { self.1.clone() } else { never };
        Ok(Box::new(FullTail(tail, full)))
    }

    fn may_write(&self, path: &Path) -> io::Result<()> {
        if self.2.load(Ordering::Relaxed) {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        SystemDisk.may_write(path)
    }

    fn lock(&self, path: &Path) -> io::Result<LockAnswer> {
        SystemDisk.lock(path)
    }
}

fn on_a_full_disk(path: &Path) -> (Window, Arc<AtomicBool>) {
    let full = Arc::new(AtomicBool::new(false));
    let disk = Arc::new(Full(path.to_owned(), full.clone(), Arc::default()));
    (over(Folder::create_on(disk, path, &notebook(1), start(), &me()).unwrap()), full)
}

#[test]
fn a_full_disk_is_told_at_once_and_the_edit_is_written_when_there_is_room() {
    let (_dir, path) = place();
    let (mut window, full) = on_a_full_disk(&path);
    full.store(true, Ordering::Relaxed);
    press(&mut window, Key::F);
    assert!(shows(&window, "Not saved yet") && shows(&window, "disk is full"), "{}", names(&window));
    assert!(window.state().bench().has_unwritten());
    assert!(shows(&window, "Not on disk yet: finishing Quarry Road"), "{}", names(&window));
    click(&mut window, "Try again");
    assert!(shows(&window, "Not saved yet"), "{}", names(&window));
    full.store(false, Ordering::Relaxed);
    click(&mut window, "Try again");
    assert!(!window.state().bench().has_unwritten());
    // Nobody has to press anything: it is tried again every few seconds.
    full.store(true, Ordering::Relaxed);
    press(&mut window, Key::F);
    full.store(false, Ordering::Relaxed);
    for _ in 0..250 {
        window.step();
    }
    assert!(!shows(&window, "Not saved yet") && !window.state().bench().has_unwritten());
    drop(window);
    assert!(!Folder::open(&path, start(), &me()).unwrap().notebook.bags[0].finished);
}

#[test]
fn on_a_full_disk_everything_can_be_saved_elsewhere() {
    let (dir, path) = place();
    let (mut window, full) = on_a_full_disk(&path);
    note(&mut window, 0, "before");
    full.store(true, Ordering::Relaxed);
    note(&mut window, 0, "while full");
    assert!(shows(&window, "Not saved yet"));
    click(&mut window, "Save elsewhere…");
    let target = dir.path().join("stick");
    type_path(&mut window, "Into which folder (new or empty)", &target);
    click_with(&mut window, "Write it there");
    wait_to_read(&mut window, "everything is saved");
    assert!(
        !window.state().bench().has_unwritten() && !shows(&window, "Not saved yet"),
        "{}",
        names(&window)
    );
    press(&mut window, Key::Escape);
    note(&mut window, 0, "on the stick");
    assert!(!window.state().bench().has_unwritten());
    drop(window);
    let there = Folder::open(&target, start(), &me()).unwrap();
    assert_eq!((there.notebook.bags[0].pulls[0].note.as_str(), there.problems.len()), ("on the stick", 0));
}

#[test]
fn a_change_of_permissions_is_told_at_once_and_the_word_goes_when_it_is_over() {
    let (_dir, path) = place();
    let locked: Arc<AtomicBool> = Arc::default();
    let disk = Arc::new(Full(path.clone(), Arc::default(), locked.clone()));
    let mut window = over(Folder::create_on(disk, &path, &notebook(1), start(), &me()).unwrap());
    locked.store(true, Ordering::Relaxed);
    wait_to_read(&mut window, "can no longer be written: you have no permission");
    assert!(shows(&window, "Save elsewhere…"));
    locked.store(false, Ordering::Relaxed);
    wait_for(&mut window, "the word goes", |window| !shows(window, "can no longer be written"));
}

#[test]
fn a_folder_that_vanishes_is_told_at_once_and_found_again() {
    let (dir, path) = place();
    let mut window = made(&path, 1);
    let away = dir.path().join("away");
    std::fs::rename(&path, &away).unwrap();
    wait_to_read(&mut window, "folder is no longer there");
    assert!(shows(&window, "Save elsewhere…"));
    note(&mut window, 0, "while it was gone");
    assert!(window.state().bench().has_unwritten());
    std::fs::rename(&away, &path).unwrap();
    wait_for(&mut window, "writing what waited", |window| !window.state().bench().has_unwritten());
    wait_for(&mut window, "the notice goes", |window| !shows(window, "no longer there"));
    drop(window);
    let again = Folder::open(&path, start(), &me()).unwrap();
    assert_eq!(again.notebook.bags[0].pulls[0].note, "while it was gone");
}

fn bag_file(path: &Path) -> PathBuf {
    let years = std::fs::read_dir(path.join("bags")).unwrap().flatten();
    let files = years.flat_map(|year| std::fs::read_dir(year.path()).unwrap().flatten());
    files.map(|file| file.path()).find(|file| file.display().to_string().contains("quarry-road-")).unwrap()
}

#[test]
fn what_changes_from_outside_is_taken_over_and_can_be_undone() {
    let (_dir, path) = place();
    let mut window = made(&path, 1);
    note(&mut window, 0, "mine");
    let file = bag_file(&path);
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("roaster: \"Tin Gable\"", "roaster: \"Copper Gable\"")).unwrap();
    wait_to_read(&mut window, "1 record changed from outside");
    assert_eq!(
        (bag(&window).roaster.as_str(), bag(&window).pulls[0].note.as_str()),
        ("Copper Gable", "mine")
    );
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(bag(&window).roaster, "Tin Gable");
    // A file that no longer reads is told and changes nothing.
    for _ in 0..40 {
        window.step();
    }
    std::fs::write(&file, "(format: 1,").unwrap();
    wait_for(&mut window, "telling", |window| shows(window, "Found wrong: 1"));
    assert_eq!(bag(&window).name, "Quarry Road");
}

#[test]
fn a_conflict_copy_is_merged_while_the_window_is_open() {
    let (_dir, path) = place();
    let mut window = made(&path, 1);
    let file = bag_file(&path);
    let text = std::fs::read_to_string(&file).unwrap();
    let changed = format!("changed: \"{}\"", start());
    let later =
        text.replacen(&changed, "changed: \"2026-11-25T10:00:00Z\"", 1).replace("Tin Gable", "Zinc Gable");
    assert_ne!(text, later);
    let name = file.file_stem().unwrap().to_string_lossy().into_owned();
    let twin = file.with_file_name(format!("{name} (conflicted copy).ron"));
    std::fs::write(&twin, later).unwrap();
    wait_to_read(&mut window, "conflict copy that file sync left was merged");
    assert_eq!(bag(&window).roaster, "Zinc Gable");
    assert!(!twin.exists());
    click(&mut window, "Show");
    assert!(shows(&window, "Roaster Zinc Gable, the other says Tin Gable"), "{}", names(&window));
}

#[test]
fn edits_reach_the_files_in_an_idle_moment_and_then_nothing_is_drawn() {
    let (_dir, path) = place();
    let mut window = made(&path, 1);
    note(&mut window, 0, "soon in the file");
    assert!(!std::fs::read_to_string(bag_file(&path)).unwrap().contains("soon in the file"));
    for _ in 0..60 {
        window.step();
    }
    assert!(std::fs::read_to_string(bag_file(&path)).unwrap().contains("soon in the file"));
    let delay = window.output().viewport_output.values().map(|output| output.repaint_delay).min().unwrap();
    assert_eq!(delay, Duration::MAX, "no repaint is wanted");
}

#[test]
fn tables_are_written_from_the_window() {
    let (dir, path) = place();
    let mut window = made(&path, 3);
    press(&mut window, Key::N);
    click(&mut window, "Tables…");
    let target = dir.path().join("tables");
    type_path(&mut window, "Into which folder", &target);
    click_with(&mut window, "Write the tables");
    wait_to_read(&mut window, "Written into");
    let pulls = std::fs::read_to_string(target.join("pulls.csv")).unwrap();
    assert_eq!(pulls.lines().count(), 4, "{pulls}");
    assert!(target.join("columns.txt").exists() && target.join("traces.csv").exists());
    click_with(&mut window, "Write the tables");
    wait_to_read(&mut window, "is there already");
}
