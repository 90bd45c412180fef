//! The opening's entry by its keys.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::Pull;

use crate::opening::{NAMES, bar, open, pulls_today};
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
    // Behind a number the blank is typed, and no clock runs.
    press(&mut window, Key::E);
    type_keys(&mut window, "27 s");
    assert!(!shows(&window, "Cup away") && shows(&window, "27 s"), "{}", names(&window));
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
