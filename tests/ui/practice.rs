//! The practice bench, driven by its accessible names.

use std::time::{Duration, Instant};

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::domain::{Channel, Trace};
use thirdpull::practice::bench::{FIT_MISSES, HONESTY};
use thirdpull::practice::sitting::GRID;
use thirdpull::practice::{Bench, Handle, Pack};

use crate::support::*;

fn open(pulls: usize) -> Window {
    let mut window = window(pulls);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    assert!(shows(&window, "Practice bench"), "{}", names(&window));
    window
}

fn value(window: &Window, role: Role, label: &str) -> String {
    let node = window.get_by_role_and_label(role, label);
    node.accesskit_node().value().unwrap_or_default()
}

/// The fact of the cup that begins with a name: "Time 27.3 s +1.2".
fn fact(window: &Window, name: &str) -> String {
    let start = format!("{name} ");
    names(window)
        .split(" | ")
        .find(|text| text.starts_with(&start) && text.contains(char::is_numeric))
        .map(str::to_owned)
        .unwrap_or_else(|| panic!("{name}: {}", names(window)))
}

/// Types a number into a field and leaves it.
fn type_number(window: &mut Window, label: &str, text: &str) {
    window.get_by_role_and_label(Role::TextInput, label).focus();
    settle(window);
    type_keys(window, text);
    press(window, Key::Tab);
}

#[test]
fn the_bench_is_reached_by_key_shelf_and_name_and_left_again() {
    let mut window = open(2);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Next pull"), "{}", names(&window));
    click(&mut window, "Practice bench");
    assert!(!shows(&window, "Next pull"));
    // A key of the bag's page means nothing here, and no clock was started.
    press(&mut window, Key::Space);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Next pull · third"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::K);
    type_keys(&mut window, "practice");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "On the bench: usual coffee"), "{}", names(&window));
    // Every key of the page stands on the sheet.
    press(&mut window, Key::Questionmark);
    assert!(shows(&window, "Make the bench behave like this bag") && shows(&window, "On the practice bench"));
}

#[test]
fn a_number_moves_the_cup_and_the_ghost_stays() {
    let mut window = open(0);
    let usual = Bench::default();
    let time = |bench: &Bench| bench.pull(&GRID).unwrap().trace.end_s;
    assert_eq!(fact(&window, "Time"), format!("Time {:.1} s", time(&usual)));
    type_number(&mut window, "Grind", "25");
    let coarser = usual.with(Handle::Grind, 25.0);
    let change = time(&coarser) - time(&usual);
    let want = format!("Time {:.1} s −{:.1}", time(&coarser), -change);
    assert_eq!(fact(&window, "Time"), want);
    assert!(shows(&window, "Against before: ") && shows(&window, "before"), "{}", names(&window));
    // By keys on the slider.
    window.get_by_role_and_label(Role::Slider, "Grind slider").focus();
    settle(&mut window);
    press(&mut window, Key::ArrowRight);
    assert_eq!(value(&window, Role::TextInput, "Grind"), "26");
    assert!(
        fact(&window, "Time").starts_with(&format!("Time {:.1} s", time(&usual.with(Handle::Grind, 26.0))))
    );
    // Out of range: said, nothing moved.
    type_number(&mut window, "Dose, g", "99");
    assert!(shows(&window, "The bench goes from 16.0 g to 20.0 g"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(value(&window, Role::TextInput, "Grind"), "22");
    assert!(fact(&window, "Time").starts_with(&format!("Time {:.1} s", time(&usual))));
    assert!(bag(&window).live_pulls().count() == 0 && window.state().bench().undo_name().is_none());
}

#[test]
fn the_drive_is_drawn_by_keys_and_by_dragging() {
    let mut window = open(0);
    let before = fact(&window, "Time");
    click(&mut window, "Draw it");
    let first = "Pressure point 2 of 2: 2.0 s 9.0 bar";
    window.get_by_label(first).focus();
    settle(&mut window);
    for _ in 0..6 {
        press(&mut window, Key::ArrowDown);
    }
    assert!(shows(&window, "Pressure point 2 of 2: 2.0 s 6.0 bar"), "{}", names(&window));
    let slower = fact(&window, "Time");
    assert_ne!(before, slower);
    press(&mut window, Key::Insert);
    assert!(shows(&window, "Pressure point 3 of 3: 7.0 s 6.0 bar"), "{}", names(&window));
    type_number(&mut window, "Point 2 value, bar", "4");
    assert!(shows(&window, "Pressure point 2 of 3: 2.0 s 4.0 bar"), "{}", names(&window));
    // Dragged down by hand: the value falls.
    let rect = window.get_by_label("Pressure point 3 of 3: 7.0 s 6.0 bar").rect();
    let (from, to) = (rect.center(), rect.center() + eframe::egui::vec2(0.0, 30.0));
    window.drag_at(from);
    window.step();
    for part in 1..=5 {
        window.hover_at(from + (to - from) * (part as f32 / 5.0));
        window.step();
    }
    window.drop_at(to);
    settle(&mut window);
    let left = window
        .query_all_by(|node| node.label().is_some_and(|l| l.starts_with("Pressure point 3 of 3: 7.0 s ")))
        .next()
        .and_then(|node| node.accesskit_node().label())
        .unwrap_or_else(|| panic!("{}", names(&window)));
    let bar: f64 = left.trim_end_matches(" bar").rsplit(' ').next().unwrap().parse().unwrap();
    assert!((2.0..5.0).contains(&bar), "{left}");
    assert!(shows(&window, "Follows the line drawn at the right") || shows(&window, "Drawn by hand"));
    click(&mut window, "As the machine");
    assert!(fact(&window, "Time").starts_with(&before), "{} {before}", fact(&window, "Time"));
    // Given back to the machine it is the first drive of the list; the key takes the next one.
    press(&mut window, Key::V);
    assert!(shows(&window, "Gentle start: 3 bar for 8 s, then 9"), "{}", names(&window));
    press(&mut window, Key::V);
    assert!(shows(&window, "Falling pressure: 9 bar sinking to 5"), "{}", names(&window));
}

#[test]
fn what_it_cannot_know_is_on_the_screen_with_its_measured_misses() {
    let mut window = open(0);
    let line = format!("misses another by {} %", FIT_MISSES.other_median_pct);
    assert!(shows(&window, "Simulated. Knows nothing of aroma") && shows(&window, &line));
    click(&mut window, "More about what is simulated");
    assert!(shows(&window, HONESTY.word()) && shows(&window, "Waszkiewicz"), "{}", names(&window));
}

fn with_trace(window: &mut Window, trace: Trace) {
    let bag = bag(window);
    let pull = bag.live_pulls().next_back().unwrap().id;
    window.state_mut().bench_mut().attach_trace(bag.id, pull, trace, start()).unwrap();
    settle(window);
}

#[test]
fn a_real_pull_lies_beside_and_the_bench_learns_to_behave_like_it() {
    let pack = Pack::shipped();
    let truth = Bench { coffee: pack.coffees["two-winters"].clone(), ..Bench::default() };
    let pull = truth.pull(&GRID).unwrap();
    let mass = (Channel::CupMass, pull.trace.cup_g.clone());
    let pressure = (Channel::Pressure, pull.trace.head_bar.clone());
    let trace = Trace::new(pull.trace.time_s.clone(), [mass, pressure]).unwrap();
    let mut window = open(2);
    press(&mut window, Key::L);
    assert!(shows(&window, "No pull of this bag has a trace"), "{}", names(&window));
    with_trace(&mut window, trace);
    press(&mut window, Key::L);
    assert!(shows(&window, "Beside: Quarry Road 2"), "{}", names(&window));
    let before = fact(&window, "Time");
    // Stopped: nothing has changed, and it is said.
    window.key_press(Key::F);
    window.step();
    if window.query_by_label("Stop").is_some() {
        window.get_by_label("Stop").click();
    }
    let until = Instant::now() + Duration::from_secs(60);
    while window.state().is_thinking() && Instant::now() < until {
        window.step();
        std::thread::sleep(Duration::from_millis(5));
    }
    settle(&mut window);
    assert!(shows(&window, "Stopped; the bench is as it was."), "{}", names(&window));
    assert_eq!(fact(&window, "Time"), before);
    click(&mut window, "Make the bench behave like this bag");
    let until = Instant::now() + Duration::from_secs(120);
    while window.state().is_thinking() && Instant::now() < until {
        window.step();
        std::thread::sleep(Duration::from_millis(5));
    }
    settle(&mut window);
    assert!(
        shows(&window, "Fitted to ") && shows(&window, "On the bench: as Quarry Road 2"),
        "{}",
        names(&window)
    );
    let seconds: f64 = fact(&window, "Time").split(' ').nth(1).unwrap().parse().unwrap();
    assert!((seconds - pull.trace.end_s).abs() < 1.5, "{seconds} {}", pull.trace.end_s);
    // The grinder's own scale of that station is on the handle now.
    assert_eq!(value(&window, Role::TextInput, "Grind"), "14.5");
    // What was fitted foretells a pull of the same coffee at another pressure, and by how much it misses stands there.
    let mut gentler = truth;
    gentler.bar.pressure_bar = 6.0;
    let pull = gentler.pull(&GRID).unwrap();
    let mass = (Channel::CupMass, pull.trace.cup_g.clone());
    let pressure = (Channel::Pressure, pull.trace.head_bar.clone());
    let trace = Trace::new(pull.trace.time_s.clone(), [mass, pressure]).unwrap();
    with_trace(&mut window, trace);
    press(&mut window, Key::L);
    press(&mut window, Key::L);
    let off = |window: &Window| -> f64 {
        let all = names(window);
        let said = all.split("against Quarry Road 2: off by ").nth(1).unwrap_or_else(|| panic!("{all}"));
        said.split(' ').next().unwrap().parse().unwrap()
    };
    let at_nine = off(&window);
    click(&mut window, "Pull it as the real one");
    let as_pulled = off(&window);
    // The two pressures alone part the cups by far more than the fit misses.
    assert!(as_pulled < 0.5 * at_nine, "{as_pulled} % against {at_nine} %");
    let seconds: f64 = fact(&window, "Time").split(' ').nth(1).unwrap().parse().unwrap();
    assert!((seconds - pull.trace.end_s).abs() < 0.15 * pull.trace.end_s, "{seconds} {}", pull.trace.end_s);
}

#[test]
fn every_part_survives_any_size() {
    for (size, zoom) in
        [([1280.0, 800.0], 1.0), ([1280.0, 800.0], 1.5), ([640.0, 480.0], 1.0), ([1920.0, 1080.0], 1.0)]
    {
        let mut window = window_of(options(notebook(1), None), size, zoom);
        press_with(&mut window, Modifiers::COMMAND, Key::B);
        assert!(shows(&window, "Time") && shows(&window, "Simulated."), "{size:?}");
    }
}
