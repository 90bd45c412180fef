//! A trace file: read, corrected, attached; and files that are none.

use std::io::Write as _;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

use crate::support::*;

fn file(folder: &tempfile::TempDir, name: &str, text: &[u8]) -> PathBuf {
    let path = folder.path().join(name);
    std::fs::File::create(&path).unwrap().write_all(text).unwrap();
    path
}

fn read(window: &mut Window, path: &std::path::Path) {
    if window.query_by_label("Path of the file").is_none() {
        press(window, Key::T);
    }
    window.get_by_label("Path of the file").focus();
    settle(window);
    press_with(window, Modifiers::COMMAND, Key::A);
    window.event(eframe::egui::Event::Text(path.display().to_string()));
    press(window, Key::Enter);
    wait_for(window, |window| {
        shows(window, "rows.") && !shows(window, "Working…")
            || shows(window, "line ")
            || shows(window, "this folder")
    });
}

fn wait_for(window: &mut Window, ready: impl Fn(&Window) -> bool) {
    let until = Instant::now() + Duration::from_secs(20);
    while !ready(window) && Instant::now() < until {
        std::thread::sleep(Duration::from_millis(10));
        window.run_steps(2);
    }
}

fn table() -> String {
    let mut text = "Zeit;Druck;Gewicht\n".to_owned();
    for i in 0..300 {
        let t = f64::from(i) / 10.0;
        text +=
            &format!("{t:.1};{:.2};{:.2}\n", 9.0f64.min(t * 3.0), (t - 6.0).max(0.0) * 1.6).replace('.', ",");
    }
    text
}

#[test]
fn a_table_is_read_corrected_and_attached() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(&folder, "pull.csv", table().as_bytes());
    let mut window = window(2);
    read(&mut window, &path);
    assert!(shows(&window, "300 rows"), "{}", names(&window));
    assert!(shows(&window, "Strips. Pressure in bar"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let bag = bag(&window);
    assert!(bag.pulls[1].has_trace && !bag.pulls[0].has_trace);
    assert!(shows(&window, "trace of pull 2"));
    assert!(shows(&window, "Strips. Pressure in bar, 1 pull: pull 2 up to 9.0"), "{}", names(&window));
    // The cursor by keyboard.
    let strips = window.get_by(|node| node.label().is_some_and(|l| l.starts_with("Strips. Pressure")));
    strips.focus();
    settle(&mut window);
    for _ in 0..4 {
        press(&mut window, Key::ArrowRight);
    }
    assert!(shows(&window, "At 2.0 s: Pressure bar 6.0; Cup mass g 0.0"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(!self::bag(&window).pulls[1].has_trace);
}

#[test]
fn files_that_are_no_trace_get_a_sentence_and_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = window(1);
    for (name, bytes) in [
        ("empty.csv", b"".as_slice()),
        ("noise.bin", &[0, 159, 146, 150, 0, 1, 2, 3, 255, 254, 0, 7]),
        ("words.csv", b"name;colour\nred;apple\nblue;plum\n"),
    ] {
        let path = file(&folder, name, bytes);
        read(&mut window, &path);
        assert!(!shows(&window, "What will be kept"), "{name}");
        press_with(&mut window, Modifiers::COMMAND, Key::Enter);
        assert!(!bag(&window).pulls[0].has_trace, "{name}");
    }
    read(&mut window, folder.path());
    assert!(shows(&window, "folder") || shows(&window, "directory"), "{}", names(&window));
}

#[test]
fn the_path_has_the_focus_and_a_missing_file_is_told_in_plain_words() {
    let mut window = window(1);
    press(&mut window, Key::T);
    window.event(eframe::egui::Event::Text("/nowhere/pull.csv".to_owned()));
    press(&mut window, Key::Enter);
    wait_for(&mut window, |window| shows(window, "cannot be read"));
    assert!(shows(&window, "there is no such file"), "{}", names(&window));
    assert!(!shows(&window, "os error"));
}

/// A trace of another pull is not taken without a word.
#[test]
fn a_trace_that_contradicts_its_pull_is_told_with_both_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = "time_s,pressure_bar,cup_mass_g\n".to_owned();
    for i in 0..340 {
        let t = f64::from(i) / 10.0;
        let bar = if (1.0..29.0).contains(&t) { 9.0f64.min((t - 1.0) * 4.0) } else { 0.0 };
        text += &format!("{t:.1},{bar:.2},{:.2}\n", (t.min(29.0) - 7.0).max(0.0) * 1.7);
    }
    let path = file(&folder, "pull.csv", text.as_bytes());
    let mut notebook = notebook(2);
    notebook.bags[0].pulls[0].time_s = Some(28.0);
    notebook.bags[0].pulls[0].used.yield_g = 37.0;
    notebook.bags[0].pulls[1].time_s = Some(5.4);
    notebook.bags[0].pulls[1].used.yield_g = 44.0;
    let mut window = window_of(options(notebook.clone(), None), [1280.0, 800.0], 1.0);
    read(&mut window, &path);
    assert!(shows(&window, "The pull says 5.4 s and 44.0 g, this trace 2"), "{}", names(&window));
    assert!(shows(&window, " s and 37.4 g. Is it the right one?"), "{}", names(&window));
    // The one that it fits says nothing, and it can be attached all the same.
    notebook.bags[0].pulls.pop();
    let mut window = window_of(options(notebook, None), [1280.0, 800.0], 1.0);
    read(&mut window, &path);
    assert!(shows(&window, "300 rows") || shows(&window, "340 rows"), "{}", names(&window));
    assert!(!shows(&window, "The pull says"), "{}", names(&window));
}
