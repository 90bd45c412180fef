//! A live instrument at the page, and pulls compared.

use std::io::Write as _;
use std::net::TcpListener;
use std::time::Duration;

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::Channel;

use crate::support::*;

fn fill(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run_steps(3);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.event(eframe::egui::Event::Text(text.to_owned()));
    window.run_steps(3);
}

fn press_steps(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run_steps(6);
}

/// A TCP instrument that plays a pull of 28 s and 36 g, stalls in the middle and splits its lines.
fn instrument() -> (String, std::thread::JoinHandle<()>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let thread = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        let mut text = String::from("time_s,pressure_bar,cup_mass_g\n");
        for i in 0..450 {
            let t = f64::from(i) * 0.1;
            let bar = if (5.0..33.0).contains(&t) { 9.0 } else { 0.1 };
            text += &format!("{t:.1},{bar},{:.2}\n", (t.min(33.0) - 10.5).max(0.0) * 1.6);
        }
        for (at, chunk) in text.as_bytes().chunks(173).enumerate() {
            if stream.write_all(chunk).is_err() {
                return;
            }
            std::thread::sleep(Duration::from_millis(if at == 25 { 700 } else { 20 }));
        }
        // Held open until the window has what it wants.
        std::thread::sleep(Duration::from_secs(20));
    });
    (address, thread)
}

#[test]
fn a_pull_is_caught_drawn_and_kept_with_its_trace() {
    let mut window = window(2);
    press(&mut window, Key::I);
    assert!(shows(&window, "Live instrument"));
    press(&mut window, Key::Escape);
    press(&mut window, Key::I);
    window.get_by_label("Where the instrument is: Network").click();
    window.run_steps(3);
    fill(&mut window, "Address", "nowhere");
    press_steps(&mut window, "Listen");
    assert!(shows(&window, "host:port"), "{}", names(&window));
    let (address, _thread) = instrument();
    fill(&mut window, "Address", &address);
    press_steps(&mut window, "Listen");
    wait_for(&mut window, "the running pull", |window| {
        shows(window, "Strips. Pressure in bar, 1 pull: live")
    });
    assert!(shows(&window, "Stop"), "{}", names(&window));
    wait_for(&mut window, "the pull", |window| shows(window, "Pull caught: 28"));
    press_steps(&mut window, "Enter as a new pull");
    assert!(shows(&window, "28"), "{}", names(&window));
    press_steps(&mut window, "Save, show the next pull");
    wait_for(&mut window, "the saved pull", |window| bag(window).pulls.len() == 3);
    let saved = bag(&window).pulls[2].clone();
    assert!(saved.has_trace, "the trace goes along");
    assert!((saved.time_s.unwrap() - 28.0).abs() < 0.5, "{saved:?}");
    assert!((saved.used.yield_g - 36.0).abs() < 0.6, "{saved:?}");
    press_steps(&mut window, "Stop listening");
    assert!(!shows(&window, "Stop listening"));
}

fn traced(pulls: usize) -> Window {
    let mut options = options(notebook(pulls), None);
    let now = start();
    let bag = options.opened.bench.notebook().bags[0].clone();
    for (n, pull) in bag.pulls.iter().enumerate() {
        let time: Vec<f64> = (0..360).map(|i| f64::from(i) * 0.1).collect();
        let bar = time.iter().map(|t| if (1.0..30.0).contains(t) { 9.0 } else { 0.0 }).collect();
        let delay = 7.0 + n as f64;
        let mass = time.iter().map(|t| (t.min(30.0) - delay).max(0.0) * (1.5 + 0.1 * n as f64)).collect();
        let channels = [(Channel::Pressure, bar), (Channel::CupMass, mass)];
        let trace = thirdpull::domain::Trace::new(time, channels).unwrap();
        options.opened.bench.attach_trace(bag.id, pull.id, trace, now).unwrap();
    }
    window_of(options, [1280.0, 800.0], 1.0)
}

#[test]
fn pulls_are_compared_and_written_as_picture_and_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = traced(4);
    press(&mut window, Key::M);
    wait_for(&mut window, "the strips", |w| shows(w, "Strips. Pressure in bar, 2 pulls"));
    press_steps(&mut window, "All of Quarry Road");
    wait_for(&mut window, "all pulls", |w| shows(w, "Strips. Pressure in bar, 4 pulls"));
    press_steps(&mut window, "Median");
    wait_for(&mut window, "the median", |w| shows(w, "median up to"));
    press_steps(&mut window, "Aligned by: First drip");
    press_steps(&mut window, "Difference");
    wait_for(&mut window, "differences", |w| shows(w, "up to 0.0"));
    press_steps(&mut window, "Difference");
    press_steps(&mut window, "Shown at the left: Reading");
    wait_for(&mut window, "the reading", |w| shows(w, "The first drip came after") && shows(w, "pump on: "));
    for (name, start) in [("p.svg", "<svg "), ("p.pdf", "%PDF"), ("p.csv", "pull,time_s")] {
        let path = folder.path().join(name);
        fill(&mut window, "File to write", &path.display().to_string());
        press_steps(&mut window, "Write");
        assert!(shows(&window, "Written to"), "{}", names(&window));
        let text = String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned();
        assert!(text.starts_with(start), "{name}: {}", &text[..40.min(text.len())]);
        // A second time nothing is overwritten.
        press_steps(&mut window, "Write");
        assert!(shows(&window, "there already"), "{}", names(&window));
    }
}

#[test]
fn several_pulls_of_a_file_are_attached_and_columns_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("settings");
    let path = folder.path().join("two.csv");
    let mut text = String::from("a,b\n");
    for part in 0..2 {
        for i in 0..300 {
            let t = f64::from(i) * 0.1;
            text += &format!("{t:.1},{:.2}\n", (t - 6.0 - f64::from(part)).max(0.0) * 1.6);
        }
    }
    std::fs::write(&path, text).unwrap();
    let remembering =
        |pulls: usize| -> Window { window_remembering(options(notebook(pulls), None), &settings) };
    let open = |window: &mut Window| {
        press(window, Key::T);
        fill(window, "Path of the file", &path.display().to_string());
        press_steps(window, "Read");
        wait_for(window, "the file", |w| shows(w, "600 rows"));
    };
    let mut first = remembering(2);
    open(&mut first);
    // The columns say nothing; the person does.
    let choose = |window: &mut Window, list: &str, word: &str| {
        press_steps(window, list);
        press_steps(window, word);
    };
    if !shows(&first, "two.csv, 1 of 2") {
        choose(&mut first, "What a is", "time");
        choose(&mut first, "What b is", "cup mass");
    }
    wait_for(&mut first, "both pulls", |w| shows(w, "two.csv, 1 of 2"));
    press_steps(&mut first, "Attach all 2, in order, to the 2 newest pulls without a trace");
    assert!(bag(&first).pulls.iter().all(|pull| pull.has_trace));
    let kept = std::fs::read_to_string(settings.join("trace-columns.ron")).unwrap_or_default();
    if kept.is_empty() {
        return; // It was guessed right without a correction.
    }
    let mut second = remembering(1);
    open(&mut second);
    assert!(shows(&second, "as you set them"), "{}", names(&second));
}
