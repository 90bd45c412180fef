//! Slips of the hand and refusals of the disk: nothing that was typed or timed is lost by them.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use eframe::egui::{self, Key, Modifiers, ViewportCommand, ViewportEvent, ViewportId};
use egui_kittest::kittest::Queryable as _;
use jiff::Timestamp;
use thirdpull::domain::{Attribute, Mark, PullId, Record, RecordKey, Trace};
use thirdpull::ui::Opened;
use thirdpull::workbench::{Backing, Workbench};

use crate::forms::fill;
use crate::support::*;

#[test]
fn a_half_typed_form_comes_back() {
    let mut window = window(2);
    press(&mut window, Key::B);
    type_keys(&mut window, "Half a name");
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Put it on the shelf"), "the first Esc leaves the field");
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Put it on the shelf") && shows(&window, "Put away, not saved: New bag"));
    click(&mut window, "Bring it back");
    assert!(shows(&window, "Half a name"), "{}", names(&window));
    // A form in which nothing was typed goes at the first Esc and without a word.
    let mut window = crate::support::window(2);
    press(&mut window, Key::B);
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Put it on the shelf") && !shows(&window, "Put away"), "{}", names(&window));
}

#[test]
fn escape_closes_an_open_list_before_the_form() {
    let mut window = window(2);
    press(&mut window, Key::F2);
    window.get_by_role_and_label(egui::accesskit::Role::ComboBox, "Station").click();
    settle(&mut window);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Change the bag"), "{}", names(&window));
}

#[test]
fn a_timed_pull_given_up_by_mistake_comes_back() {
    let mut window = window(2);
    for steps in [62, 200, 1] {
        window.key_press(Key::Space);
        window.run_steps(steps);
    }
    settle(&mut window);
    assert!(shows(&window, "Save, show the next pull"), "{}", names(&window));
    press(&mut window, Key::Escape);
    assert!(shows(&window, "The pull was not recorded"), "one Esc, as the button says");
    click(&mut window, "Bring it back");
    click(&mut window, "Save, show the next pull");
    let time_s = bag(&window).live_pulls().next_back().unwrap().time_s.unwrap();
    assert!((25.0..28.0).contains(&time_s), "{time_s}");
}

#[test]
fn marks_are_set_by_their_signs_too() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "++");
    press(&mut window, Key::O);
    type_keys(&mut window, "-");
    press(&mut window, Key::Enter);
    let taste = bag(&window).live_pulls().next_back().unwrap().taste;
    assert_eq!((taste.mark(Attribute::Sourness), taste.mark(Attribute::Body)), (Mark::new(2), Mark::new(-1)));
}

/// A disk that takes nothing while it is full.
struct Disk(Arc<AtomicBool>);

impl Backing for Disk {
    fn commit(&mut self, _: &[Record], _: &[RecordKey], _: &str, _: Timestamp) -> Result<(), String> {
        if self.0.load(Ordering::Relaxed) { Err("the disk is full".to_owned()) } else { Ok(()) }
    }

    fn save_trace(&mut self, _: PullId, _: &Trace) -> Result<(), String> {
        Ok(())
    }

    fn load_trace(&mut self, _: PullId) -> Result<Option<Trace>, String> {
        Ok(None)
    }
}

/// Asks the window to close; whether it would.
fn closes(window: &mut Window) -> bool {
    let root = window.input_mut().viewports.entry(ViewportId::ROOT).or_default();
    root.events.push(ViewportEvent::Close);
    window.step();
    let output = window.output().viewport_output.get(&ViewportId::ROOT).unwrap();
    let stays = output.commands.contains(&ViewportCommand::CancelClose);
    window.input_mut().viewports.entry(ViewportId::ROOT).or_default().events.clear();
    settle(window);
    !stays
}

fn over(disk: &Arc<AtomicBool>) -> Window {
    let mut own = options(notebook(2), None);
    let bench = Workbench::new(notebook(2), Some(Box::new(Disk(Arc::clone(disk)))), None);
    own.opened = Opened { bench, place: "memory".into(), problems: Vec::new() };
    window_of(own, [1280.0, 800.0], 1.0)
}

#[test]
fn what_the_disk_refused_is_not_called_saved_and_not_dropped_on_closing() {
    let disk = Arc::new(AtomicBool::new(true));
    let mut window = over(&disk);
    press(&mut window, Key::K);
    assert!(
        shows(&window, "Not saved yet: the disk is full") && !shows(&window, "Saved:"),
        "{}",
        names(&window)
    );
    assert!(!closes(&mut window), "the window stays");
    assert!(shows(&window, "Not closed: what you did last is not on disk yet"));
    assert!(closes(&mut window), "asked once more it goes");

    let mut window = over(&disk);
    press(&mut window, Key::K);
    disk.store(false, Ordering::Relaxed);
    assert!(closes(&mut window), "there is room again: written while closing");
    assert!(!window.state().bench().has_unwritten());
}

#[test]
fn where_nothing_can_be_changed_no_form_is_filled_in_for_nothing() {
    for key in [Key::E, Key::B, Key::F2, Key::T, Key::Enter, Key::F] {
        let mut window =
            window_of(options(notebook(2), Some("another window has it open")), [1280.0, 800.0], 1.0);
        press(&mut window, key);
        let said = shows(&window, "Nothing can be changed here: another window has it open");
        assert!(said, "{key:?}: {}", names(&window));
        assert!(!shows(&window, "Save") && !shows(&window, "Put it on the shelf"), "{key:?}");
    }
}

#[test]
fn looks_change_without_asking_the_engine_again() {
    let asked = Arc::new(AtomicUsize::new(0));
    let mut own = options(notebook(2), None);
    let (inner, count) = (own.adviser, Arc::clone(&asked));
    own.adviser = Arc::new(move |question| {
        count.fetch_add(1, Ordering::Relaxed);
        inner(question)
    });
    let mut window = window_of(own, [1280.0, 800.0], 1.0);
    assert_eq!(asked.load(Ordering::Relaxed), 1);
    press_with(&mut window, Modifiers::COMMAND, Key::D);
    assert_eq!(asked.load(Ordering::Relaxed), 1, "a preference changes no advice");
    assert!(shows(&window, "Grind from 14.5 to 14.0"), "{}", names(&window));
    press(&mut window, Key::Delete);
    assert_eq!(asked.load(Ordering::Relaxed), 2, "a removed pull does");
}

#[test]
fn looks_change_within_the_frame() {
    let mut window = window(2);
    assert!(!window.ctx.global_style().visuals.dark_mode);
    window.key_press_modifiers(Modifiers::COMMAND, Key::D);
    window.step();
    assert!(
        window.ctx.global_style().visuals.dark_mode,
        "the frame that took the key is drawn in the new looks"
    );
    assert!(shows(&window, "Grind from 14.5 to 14.0"), "and with the advice that stands: {}", names(&window));
}

#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|fault| fault.to_string())
    }
}

#[test]
fn a_file_dropped_on_the_window_is_read_and_a_form_under_it_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pull.csv");
    std::fs::write(&path, "time_s,pressure_bar\n0,1\n0.1,2\n0.2,3\n").unwrap();
    let mut window = window(2);
    press(&mut window, Key::B);
    type_keys(&mut window, "Half a name");
    window.input_mut().dropped_files.push(Arc::new(Dropped(path)));
    window.step();
    let until = std::time::Instant::now() + std::time::Duration::from_secs(20);
    while !shows(&window, "3 rows") && std::time::Instant::now() < until {
        std::thread::sleep(std::time::Duration::from_millis(10));
        window.run_steps(2);
    }
    assert!(shows(&window, "3 rows") && shows(&window, "Attach a trace"), "{}", names(&window));
    click(&mut window, "Bring it back");
    assert!(shows(&window, "Half a name"));
}

#[test]
fn several_files_dropped_at_once_are_all_read_and_each_goes_to_a_pull() {
    let folder = tempfile::tempdir().unwrap();
    let within = folder.path().join("more");
    std::fs::create_dir(&within).unwrap();
    let table = |mass: f64| {
        let rows =
            (0..300).map(|i| format!("{:.1},{}\n", f64::from(i) * 0.1, f64::from(i - 60).max(0.0) * mass));
        format!("time_s,cup_mass_g\n{}", rows.collect::<String>())
    };
    for (path, mass) in [(folder.path().join("b.csv"), 0.1), (folder.path().join("a.csv"), 0.2)] {
        std::fs::write(path, table(mass)).unwrap();
    }
    std::fs::write(within.join("c.csv"), table(0.3)).unwrap();
    std::fs::write(folder.path().join("d.txt"), "no trace at all\n").unwrap();
    let mut window = window(3);
    for name in ["b.csv", "a.csv", "more", "d.txt"] {
        window.input_mut().dropped_files.push(Arc::new(Dropped(folder.path().join(name))));
    }
    window.step();
    let all = "Attach all 3, in order, to the 3 newest pulls without a trace";
    let until = std::time::Instant::now() + std::time::Duration::from_secs(20);
    while !shows(&window, all) && std::time::Instant::now() < until {
        std::thread::sleep(std::time::Duration::from_millis(10));
        window.run_steps(2);
    }
    assert!(shows(&window, "d.txt: "), "{}", names(&window));
    click(&mut window, all);
    assert!(bag(&window).live_pulls().all(|pull| pull.has_trace));
}

#[test]
fn the_clock_and_the_key_sheet_fit_their_windows() {
    let mut small = window_of(options(notebook(2), None), [900.0, 600.0], 1.0);
    small.key_press(Key::Space);
    small.run_steps(3);
    let rect = small.get_by_label("Stop, record nothing").rect();
    assert!(rect.right() <= 900.0, "{rect:?}");
    let mut usual = window(2);
    usual.event(egui::Event::Text("?".into()));
    settle(&mut usual);
    let last = usual.get_by_label("Quit").rect();
    assert!(last.bottom() < 760.0, "{last:?}");
}

#[test]
fn quitting_with_a_half_typed_pull_is_held_up_once() {
    let mut window = window(1);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    press_with(&mut window, Modifiers::COMMAND, Key::Q);
    assert!(shows(&window, "Not closed"), "{}", names(&window));
    assert!(shows(&window, "27"), "what was typed is still there");
}

#[test]
fn a_temperature_far_from_what_the_station_can_be_set_to_is_asked_about() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    fill(&mut window, "Temperature, °C", "93F");
    click(&mut window, "Save, show the next pull");
    assert_eq!(bag(&window).live_pulls().count(), 2, "nothing is saved");
    assert!(shows(&window, "93 °F is 33.9 °C; did you mean 93 °C?"), "{}", names(&window));
    // Saving put the focus on the field, with its text selected.
    type_keys(&mut window, "200 F");
    click(&mut window, "Save, show the next pull");
    let stored = bag(&window).live_pulls().next_back().unwrap().used.temperature_c.unwrap();
    assert!((stored - 93.333).abs() < 0.01, "{stored}");
}

#[test]
fn a_bare_number_in_the_other_scale_is_asked_about() {
    let mut notebook = notebook(2);
    notebook.preferences.units.temperature = thirdpull::units::TemperatureUnit::Fahrenheit;
    let mut window = window_of(options(notebook, None), [1280.0, 800.0], 1.0);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    fill(&mut window, "Temperature, °F", "93");
    click(&mut window, "Save, show the next pull");
    assert!(shows(&window, "93 °F is 33.9 °C; did you mean 93 °C?"), "{}", names(&window));
}

#[test]
fn a_stations_temperatures_are_read_with_their_unit() {
    let mut window = window(1);
    press(&mut window, Key::S);
    click(&mut window, "Change");
    for (label, text) in [
        ("Smallest temperature, °C", "190 F"),
        ("Largest temperature, °C", "205F"),
        ("Step temperature, °C", "1,8F"),
        ("Smallest dose, g", "0.5 oz"),
    ] {
        fill(&mut window, label, text);
    }
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let gear = window.state().bench().notebook().stations[0].gear;
    let scale = gear.temperature_c.unwrap();
    assert!((scale.min() - 87.778).abs() < 0.01, "{scale:?}: {}", names(&window));
    assert!((scale.max() - 96.111).abs() < 0.01 && (scale.step() - 1.0).abs() < 0.01, "{scale:?}");
    assert!((gear.dose_g.min() - 14.175).abs() < 0.01, "{gear:?}");
}

#[test]
fn a_stations_temperature_in_the_other_scale_is_asked_about() {
    let mut window = window(1);
    press(&mut window, Key::S);
    click(&mut window, "Change");
    fill(&mut window, "Smallest temperature, °C", "88F");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(shows(&window, "88 °F is 31.1 °C; did you mean 88 °C?"), "{}", names(&window));
    let scale = window.state().bench().notebook().stations[0].gear.temperature_c.unwrap();
    assert_eq!(scale.min(), 88.0, "nothing is saved");
}

/// The key that the offer names; a clock may run afterwards.
fn bring_back(window: &mut Window) {
    assert!(shows(window, "Bring it back"), "{}", names(window));
    assert!(painted(window).iter().any(|(text, _)| text == "Ctrl R"), "the offer names its key");
    window.key_press_modifiers(Modifiers::COMMAND, Key::R);
    window.run_steps(4);
}

fn value(window: &Window, label: &str) -> String {
    use egui_kittest::kittest::NodeT as _;
    let node = window.get_by_role_and_label(egui::Role::TextInput, label);
    node.accesskit_node().value().unwrap_or_default()
}

#[test]
fn what_esc_gave_up_comes_back_by_one_key_wherever_it_was() {
    // A running clock of a bag's page, which goes on as if it had never been stopped.
    let mut window = window(2);
    window.key_press(Key::Space);
    window.run_steps(60);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Pull it"), "{}", names(&window));
    bring_back(&mut window);
    assert!(shows(&window, "Stop, record nothing"), "{}", names(&window));
    press(&mut window, Key::C);
    let time: f64 = value(&window, "Time, s").parse().unwrap();
    assert!(time > 6.0, "{time}");
    // Its entry.
    press(&mut window, Key::Escape);
    bring_back(&mut window);
    settle(&mut window);
    assert_eq!(value(&window, "Time, s").parse::<f64>().unwrap(), time);
    press(&mut window, Key::Escape);
    // Long after the words at the foot have gone, too.
    window.run_steps(200);
    assert!(!shows(&window, "Bring it back"));
    press_with(&mut window, Modifiers::COMMAND, Key::R);
    assert_eq!(value(&window, "Time, s").parse::<f64>().unwrap(), time);
    // A form that is open when another one comes back is put away in its place.
    press(&mut window, Key::Escape);
    press(&mut window, Key::B);
    type_keys(&mut window, "Half a name");
    press(&mut window, Key::Escape);
    press(&mut window, Key::Escape);
    press(&mut window, Key::D);
    bring_back(&mut window);
    settle(&mut window);
    assert!(shows(&window, "Half a name"), "{}", names(&window));
}

#[test]
fn a_measured_pull_given_up_on_the_opening_comes_back_by_the_same_key() {
    use crate::opening::{bar, open, pulls_today};
    let mut window = open(bar());
    type_keys(&mut window, "24.5");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "36.5");
    press(&mut window, Key::Enter);
    // Saved; now one that is given up.
    assert_eq!(pulls_today(&window, "Harbour Steps").len(), 1);
    press(&mut window, Key::E);
    type_keys(&mut window, "24.9");
    press(&mut window, Key::Enter);
    for _ in 0..2 {
        press(&mut window, Key::Escape);
        if shows(&window, "The pull was not recorded") {
            break;
        }
    }
    assert_eq!(value(&window, "Time, s"), "");
    bring_back(&mut window);
    settle(&mut window);
    assert_eq!(value(&window, "Time, s"), "24.9", "{}", names(&window));
    press(&mut window, Key::Escape);
    press(&mut window, Key::Escape);
    // And its clock.
    let mut window = open(bar());
    window.key_press(Key::Space);
    window.run_steps(100);
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Cup away"), "{}", names(&window));
    bring_back(&mut window);
    assert!(shows(&window, "Cup away"), "{}", names(&window));
    press(&mut window, Key::Space);
    let time: f64 = value(&window, "Time, s").parse().unwrap();
    assert!(time > 10.0, "{time}");
}

/// After Enter a path is typed over, not what happens to have the next key.
#[test]
fn a_path_keeps_the_keyboard_after_enter() {
    let mut window = window(1);
    press(&mut window, Key::T);
    type_keys(&mut window, "/nowhere/pull.csv");
    press(&mut window, Key::Enter);
    wait_for(&mut window, "the fault", |window| shows(window, "there is no such file"));
    type_keys(&mut window, "/n");
    assert_eq!(value(&window, "Path of the file"), "/n", "{}", names(&window));
    press(&mut window, Key::Escape);
    press(&mut window, Key::Escape);
    press_with(&mut window, Modifiers::COMMAND, Key::O);
    let path = "A file that was passed on, or a notebook's folder";
    type_keys(&mut window, "/nowhere/packet");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "/n");
    assert_eq!(value(&window, path), "/n", "{}", names(&window));
    // On the opening no dialog keeps the keys of the page away.
    let mut window = crate::opening::open(crate::opening::bar());
    click(&mut window, "Part of the opening: Hand-over");
    window.get_by_label("File to write").focus();
    settle(&mut window);
    type_keys(&mut window, "/nowhere/page.doc");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Name a file that ends in"), "{}", names(&window));
    strike(&mut window, Key::Slash, "/");
    type_keys(&mut window, "n");
    assert_eq!(value(&window, "File to write"), "/n", "{}", names(&window));
}

/// A finger that rests on + or − is not ignored.
#[test]
fn a_held_stepper_goes_on_and_a_slow_finger_counts() {
    let mut window = window(2);
    press(&mut window, Key::E);
    let cup = |window: &Window| value(window, "Yield, g").parse::<f64>().unwrap();
    assert_eq!(cup(&window), 36.0);
    // A click is one step.
    click(&mut window, "Yield more");
    assert_eq!(cup(&window), 36.5);
    let at = window.get_by_label("Yield less").rect().center();
    window.hover_at(at);
    window.run_steps(1);
    window.drag_at(at);
    window.run_steps(2);
    assert_eq!(cup(&window), 36.0, "it counts when it is pressed");
    window.run_steps(3);
    window.drop_at(at);
    window.run_steps(2);
    assert_eq!(cup(&window), 36.0, "and once only");
    // Held, it goes on, faster with time.
    window.drag_at(at);
    window.run_steps(20);
    let after_2_s = 36.0 - cup(&window);
    window.run_steps(20);
    let after_4_s = 36.0 - cup(&window);
    assert!(after_2_s >= 3.0 && after_4_s > 2.5 * after_2_s, "{after_2_s} {after_4_s}");
    window.drop_at(at);
    settle(&mut window);
    let let_go = cup(&window);
    window.run_steps(20);
    assert_eq!(cup(&window), let_go);
    // Without a pointer too: a screen reader presses it.
    window.get_by_label("Yield more").click_accesskit();
    settle(&mut window);
    assert_eq!(cup(&window), let_go + 0.5);
}
