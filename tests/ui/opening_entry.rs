//! The opening's entry by its keys.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::domain::{Pull, WayOfLiving};

use crate::opening::{NAMES, bar, open, open_sized, pulls_today};
use crate::support::*;

/// Whoever has typed a pull may clock the next one: the field that waits for its time has no use for a blank.
#[test]
fn the_clock_starts_right_after_a_pull_was_saved() {
    let mut window = open(bar());
    press(&mut window, Key::E);
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "36");
    press(&mut window, Key::Enter);
    assert_eq!(pulls_today(&window, "Harbour Steps").len(), 1, "{}", names(&window));
    // A keyboard sends the key and the blank that it types.
    window.event(eframe::egui::Event::Text(" ".into()));
    window.key_press(Key::Space);
    window.run_steps(260);
    assert!(shows(&window, "Cup away"), "{}", names(&window));
    press(&mut window, Key::Space);
    type_keys(&mut window, "36.4");
    press(&mut window, Key::Enter);
    let pulls: Vec<Pull> = NAMES.iter().flat_map(|name| pulls_today(&window, name)).collect();
    let clocked = pulls.iter().find(|pull| pull.used.yield_g == 36.4).unwrap();
    assert!((25.0..27.0).contains(&clocked.time_s.unwrap()), "{clocked:?}");
    // Behind a number no clock runs, and the blank is not typed: it would take the place of a number that is selected.
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    strike(&mut window, Key::Space, " ");
    type_keys(&mut window, "s");
    assert!(!shows(&window, "Cup away") && shows(&window, "27s"), "{}", names(&window));
}

#[test]
fn ctrl_enter_saves_wherever_the_focus_is() {
    let mut window = open(bar());
    press(&mut window, Key::E);
    type_keys(&mut window, "27.1");
    window.get_by_label("Choked").focus();
    settle(&mut window);
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let pulls = pulls_today(&window, "Harbour Steps");
    assert_eq!(pulls.len(), 1, "{}", names(&window));
    assert_eq!((pulls[0].time_s, pulls[0].flags.choked), (Some(27.1), false));
}

fn all_today(window: &Window) -> Vec<Pull> {
    NAMES.iter().flat_map(|name| pulls_today(window, name)).collect()
}

#[test]
fn whoever_arrives_types_at_once() {
    let mut window = open(bar());
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "36.2");
    press(&mut window, Key::Enter);
    let pulls = all_today(&window);
    assert_eq!(pulls.len(), 1, "{}", names(&window));
    assert_eq!((pulls[0].time_s, pulls[0].used.yield_g), (Some(24.1), 36.2));
}

#[test]
fn after_a_clocked_pull_that_serves_the_next_coffee_is_typed_at_once() {
    let mut window = open(bar());
    press(&mut window, Key::Space);
    window.run_steps(268);
    press(&mut window, Key::Space);
    type_keys(&mut window, "36");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Harbour Steps, Attic kitchen: Serve"), "{}", names(&window));
    type_keys(&mut window, "27.2");
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    assert_eq!(pulls_today(&window, "Quarry Road").len(), 1, "{}", names(&window));
}

#[test]
fn a_refused_number_keeps_the_focus_and_is_typed_over() {
    let mut window = open(bar());
    press(&mut window, Key::E);
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "abc");
    press(&mut window, Key::Enter);
    assert!(all_today(&window).is_empty() && shows(&window, "abc"), "{}", names(&window));
    type_keys(&mut window, "36.2");
    press(&mut window, Key::Enter);
    assert_eq!(all_today(&window).first().map(|pull| pull.used.yield_g), Some(36.2), "{}", names(&window));
    // By the button, too.
    let mut window = open(bar());
    press(&mut window, Key::E);
    type_keys(&mut window, "24.1");
    crate::forms::fill(&mut window, "Dose, g", "many");
    click(&mut window, "Save the pull");
    assert!(shows(&window, "Not saved yet"), "{}", names(&window));
    type_keys(&mut window, "18.2");
    press(&mut window, Key::Enter);
    assert_eq!(all_today(&window).first().map(|pull| pull.used.dose_g), Some(18.2), "{}", names(&window));
}

/// What can hardly be is asked about once; Enter again keeps it.
#[test]
fn numbers_that_can_hardly_be_are_asked_about_once() {
    let mut window = open(bar());
    press(&mut window, Key::E);
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    type_keys(&mut window, "9");
    press(&mut window, Key::Enter);
    assert!(all_today(&window).is_empty(), "nothing is saved");
    assert!(shows(&window, "9.0 g of drink from 18.0 g of coffee"), "{}", names(&window));
    press(&mut window, Key::Enter);
    assert_eq!(all_today(&window).first().map(|pull| pull.used.yield_g), Some(9.0), "{}", names(&window));
}

/// A field in which nothing was typed yet has no use for letters, signs and the keys that undo.
#[test]
fn the_keys_of_the_page_count_until_a_number_is_begun() {
    let mut window = open(bar());
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    assert_eq!(all_today(&window).len(), 1, "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(all_today(&window).is_empty(), "undone: {}", names(&window));
    strike(&mut window, Key::J, "j");
    assert!(shows(&window, "Bar card. "), "{}", names(&window));
    press(&mut window, Key::Escape);
    let time = window.get_by_role_and_label(eframe::egui::Role::TextInput, "Time, s");
    assert_eq!(time.accesskit_node().value().unwrap_or_default(), "", "the letter is not typed");
    press(&mut window, Key::E);
    press(&mut window, Key::ArrowDown);
    assert!(shows(&window, "Quarry Road: why"), "the arrows choose the coffee: {}", names(&window));
    press(&mut window, Key::F4);
    assert!(!shows(&window, "ready to serve"), "F4 goes back: {}", names(&window));
}

#[test]
fn the_key_sheet_tells_the_keys_of_the_opening() {
    let mut window = open(bar());
    window.event(eframe::egui::Event::Text("?".into()));
    settle(&mut window);
    assert!(shows(&window, "On the opening") && shows(&window, "Another coffee"), "{}", names(&window));
}

/// A step that the records tick was ticked by nobody: the page says so.
#[test]
fn the_list_says_which_steps_tick_themselves() {
    let mut window = open(bar());
    let told = "tick themselves";
    click(&mut window, "Part of the opening: List 0 of 21");
    assert!(!shows(&window, told), "{}", names(&window));
    click(&mut window, "Part of the opening: Coffees");
    press(&mut window, Key::E);
    type_keys(&mut window, "27.0");
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    click(&mut window, "Part of the opening: List 4 of 21");
    assert!(shows(&window, told), "{}", names(&window));
}

/// The window of 1280 by 800 at 150 %.
const ENLARGED: [f32; 2] = [853.0, 533.0];

#[test]
fn the_field_that_is_typed_into_is_in_sight() {
    let inside = |window: &Window, label: &str| {
        let rect = window.get_by_role_and_label(eframe::egui::Role::TextInput, label).rect();
        assert!(rect.top() > 0.0 && rect.bottom() <= ENLARGED[1], "{label}: {rect:?}");
    };
    let mut window = open_sized(bar(), ENLARGED, 1.5);
    inside(&window, "Time, s");
    type_keys(&mut window, "24.1");
    press(&mut window, Key::Enter);
    inside(&window, "Yield, g");
    press(&mut window, Key::Enter);
    inside(&window, "Time, s");
    press(&mut window, Key::ArrowDown);
    inside(&window, "Time, s");
    // Opened once more a part of the page begins at its top.
    click(&mut window, "Part of the opening: List 3 of 21");
    let first = "Put a known mass on the scale and compare";
    let top = window.get_by_label(first).rect().top();
    window.hover_at(eframe::egui::pos2(400.0, 400.0));
    window.event(eframe::egui::Event::MouseWheel {
        source: eframe::egui::MouseWheelSource::Wheel,
        unit: eframe::egui::MouseWheelUnit::Point,
        delta: eframe::egui::vec2(0.0, -300.0),
        phase: eframe::egui::TouchPhase::Move,
        modifiers: Modifiers::NONE,
    });
    settle(&mut window);
    assert!(window.get_by_label(first).rect().top() < top - 50.0, "it was scrolled");
    press(&mut window, Key::F4);
    press(&mut window, Key::F4);
    assert!((window.get_by_label(first).rect().top() - top).abs() < 1.0);
}

/// A station for each coffee, so that they stand in narrow columns.
fn stations() -> thirdpull::domain::Notebook {
    use thirdpull::domain::{Id, Record, StationId};
    let mut notebook = bar();
    for (n, name) in [(77, "Quarry Road"), (78, "Two Lakes")] {
        let mut station = notebook.stations[0].clone();
        station.id = StationId(Id::from_parts(start(), [n; 10]));
        station.name = format!("Window bar {n}");
        let bag = notebook.bags.iter_mut().find(|bag| bag.name == name).unwrap();
        bag.station = station.id;
        for pull in &mut bag.pulls {
            pull.station = station.id;
        }
        notebook.put(Record::Station(Box::new(station)));
    }
    notebook
}

#[test]
fn a_verdict_is_never_cut() {
    // 1366 by 768 at 150 %.
    let size = [911.0, 512.0];
    let mut notebook = stations();
    notebook.preferences.way = WayOfLiving::Bar;
    let mut window = open_sized(notebook, size, 1.0);
    press(&mut window, Key::E);
    for time in ["21.8", "21.6"] {
        type_keys(&mut window, time);
        press(&mut window, Key::Enter);
        press(&mut window, Key::Enter);
    }
    let card = window.get_by_label_contains("Harbour Steps, Attic kitchen: Move ").rect();
    assert!(card.width() < 300.0, "a narrow one: {card:?}");
    let drawn =
        painted(&window).iter().any(|(text, _)| text.starts_with("Move ") && text.ends_with(" finer"));
    assert!(drawn, "{}", names(&window));
    let cut = cut_off(&window);
    let lost: Vec<_> = cut.iter().filter(|text| text.starts_with("Move ")).collect();
    assert!(lost.is_empty(), "{lost:?}");
}

/// A click on a part of the page is no reason to hold the keyboard back.
#[test]
fn the_keys_count_after_a_click_on_a_part() {
    let mut window = open(bar());
    click(&mut window, "Part of the opening: List 0 of 21");
    click(&mut window, "Part of the opening: Coffees");
    type_keys(&mut window, "25");
    let time = window.get_by_role_and_label(eframe::egui::Role::TextInput, "Time, s");
    assert_eq!(time.accesskit_node().value().unwrap_or_default(), "25", "{}", names(&window));
    let mut window = open(bar());
    click(&mut window, "Part of the opening: List 0 of 21");
    click(&mut window, "Part of the opening: Coffees");
    window.key_press(Key::Space);
    window.run_steps(20);
    assert!(shows(&window, "Cup away"), "{}", names(&window));
}
