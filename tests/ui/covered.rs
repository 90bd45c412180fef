//! Class: as long as the answer is covered nothing on the page, and nothing that opens from it, tells it.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::domain::{Recipe, WayOfLiving};

use crate::forms::fill;
use crate::support::*;

/// What the newest of two pulls was pulled at. The advice is one click finer.
const LAST: Recipe = Recipe { grind: 14.5, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };

fn class(own: thirdpull::ui::Options) -> Window {
    let mut window = window_of(own, [1280.0, 800.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    assert!(shows(&window, "What would you change?"), "{}", names(&window));
    window
}

/// With the engine itself, which draws the map.
fn engine() -> Window {
    let mut own = options(notebook(2), None);
    own.adviser = thirdpull::workbench::engine();
    class(own)
}

fn typed(window: &Window, field: &str) -> String {
    let node = window.get_by_role_and_label(eframe::egui::Role::TextInput, field);
    node.accesskit_node().value().unwrap_or_default()
}

fn newest(window: &Window) -> thirdpull::domain::Pull {
    bag(window).live_pulls().next_back().unwrap().clone()
}

/// No button leads to the best or to the next pull, and no sentence speaks of them.
fn assert_untold(window: &Window) {
    for button in ["Best", "Next pull"] {
        assert!(window.query_by_label(button).is_none(), "{button}: {}", names(window));
    }
    for told in ["Best: ", "Next pull: ", "next pull"] {
        assert!(!shows(window, told), "{told}: {}", names(window));
    }
}

#[test]
fn the_entry_begins_from_the_last_pull_and_keeps_what_the_class_chose() {
    let mut window = class(options(notebook(2), None));
    press(&mut window, Key::E);
    assert_eq!(typed(&window, "Grind"), "14.5", "{}", names(&window));
    type_keys(&mut window, "27");
    fill(&mut window, "Grind", "13");
    fill(&mut window, "Yield, g", "36.8");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let pull = newest(&window);
    assert_eq!(pull.used.grind, 13.0);
    assert_eq!(pull.plan.map(|plan| plan.grind), Some(13.0), "what the class chose");
    // What was left as it was is a plan too: a slip in the cup is none of the class's choice.
    let mut window = class(options(notebook(2), None));
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    fill(&mut window, "Yield, g", "36.8");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!((newest(&window).plan, newest(&window).used.yield_g), (Some(LAST), 36.8));
    // Once revealed, the advice is the plan.
    let mut window = class(options(notebook(2), None));
    press(&mut window, Key::R);
    press(&mut window, Key::E);
    assert_eq!(typed(&window, "Grind"), "14.0");
}

#[test]
fn the_clock_reads_what_the_class_began_from_to_the_end() {
    let mut window = class(options(notebook(2), None));
    window.key_press(Key::Space);
    window.run_steps(60);
    assert!(shows(&window, "grind 14.5 ·") && !shows(&window, "grind 14.0"), "{}", names(&window));
    assert!(!shows(&window, "25–31 s"), "nor the time to expect: {}", names(&window));
    // The answer revealed while the pump runs is no plan of the pull that runs.
    window.key_press(Key::R);
    window.run_steps(20);
    assert!(shows(&window, "grind 14.5 ·"), "{}", names(&window));
    press(&mut window, Key::C);
    assert_eq!(typed(&window, "Grind"), "14.5");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(newest(&window).plan, Some(LAST));
}

#[test]
fn what_if_begins_from_the_last_pull() {
    let mut window = engine();
    press(&mut window, Key::Y);
    assert!(shows(&window, "Grind 14.5 ·") && shows(&window, "This is the recipe to change."));
    assert_untold(&window);
    click(&mut window, "Grind less");
    assert!(
        shows(&window, "points below the recipe to change.") || shows(&window, "points above the recipe")
    );
    assert_untold(&window);
}

#[test]
fn the_map_hides_the_next_pull_and_the_best() {
    let mut window = engine();
    press(&mut window, Key::V);
    let place = "Grind 14.5 · dose 18.0 g · yield 36.0 g";
    assert!(shows(&window, place), "{}", names(&window));
    press(&mut window, Key::Home);
    press(&mut window, Key::End);
    assert!(shows(&window, place), "no key leads there: {}", names(&window));
    assert!(shows(&window, "Taste map, grind across") && shows(&window, "Pulls in order"));
    assert_untold(&window);
    let drawn = painted(&window);
    for told in ["best", "next"] {
        assert!(!drawn.iter().any(|(text, _)| text == told), "{told}");
    }
    // Revealed, all of it is there again.
    press(&mut window, Key::Escape);
    press(&mut window, Key::R);
    press(&mut window, Key::V);
    let drawn = painted(&window);
    for told in ["best", "next"] {
        assert!(drawn.iter().any(|(text, _)| text == told), "{told}");
    }
}

/// At home nothing is ever covered.
#[test]
fn only_class_covers() {
    let mut window = window(2);
    assert_eq!(window.state().bench().notebook().preferences.way, WayOfLiving::Home);
    press(&mut window, Key::E);
    assert_eq!(typed(&window, "Grind"), "14.0");
}

/// Undo is for what was done to the notebook: size, theme and mode are only looked at, and a step of theirs taken back
/// could uncover the answer.
#[test]
fn undo_never_changes_size_theme_or_mode() {
    let mut window = window(2);
    let pulls = |window: &Window| bag(window).live_pulls().count();
    let looks = |window: &Window| {
        let preferences = window.state().bench().notebook().preferences;
        (preferences.way, preferences.zoom, preferences.theme)
    };
    press(&mut window, Key::Delete);
    assert_eq!(pulls(&window), 1);
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    press_with(&mut window, Modifiers::COMMAND, Key::Plus);
    press_with(&mut window, Modifiers::COMMAND, Key::D);
    let as_class = (WayOfLiving::Class, 1.1, thirdpull::domain::ThemeChoice::Dark);
    assert_eq!(looks(&window), as_class);
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!((pulls(&window), looks(&window)), (2, as_class), "the pull comes back, nothing else");
    assert!(shows(&window, "What would you change?"), "still covered: {}", names(&window));
    // Nor does a change of looks take away what can be done again.
    press_with(&mut window, Modifiers::COMMAND, Key::Minus);
    press_with(&mut window, Modifiers::COMMAND, Key::Y);
    assert_eq!((pulls(&window), looks(&window).1), (1, 1.0));
    // Another preference is a step, and its undoing leaves the looks of later alone.
    press_with(&mut window, Modifiers::COMMAND, Key::Num1);
    press_with(&mut window, Modifiers::COMMAND, Key::Comma);
    click(&mut window, "Mass: oz");
    press(&mut window, Key::Escape);
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    let preferences = window.state().bench().notebook().preferences;
    assert_eq!(preferences.units.mass, thirdpull::units::MassUnit::Gram);
    assert_eq!(preferences.way, WayOfLiving::Class, "{}", names(&window));
}

/// Whoever has no keyboard at hand can do more than give the answer away.
#[test]
fn a_mouse_can_pull_enter_and_ask_what_if_while_the_answer_is_covered() {
    let mut window = engine();
    click(&mut window, "What if");
    assert!(shows(&window, "This is the recipe to change."), "{}", names(&window));
    press(&mut window, Key::Escape);
    click(&mut window, "Enter by hand");
    assert_eq!(typed(&window, "Grind"), "14.5");
    press(&mut window, Key::Escape);
    window.get_by_label("Pull our choice").click();
    window.run_steps(20);
    assert!(shows(&window, "grind 14.5 ·") && shows(&window, "Stop, record nothing"), "{}", names(&window));
    press(&mut window, Key::C);
    // There is no band to show or to hide, until the answer is revealed.
    let (mut window, _kept) = crate::pictures::with_traces([1280.0, 800.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    assert!(window.get_by_label("Band").accesskit_node().is_disabled());
    click(&mut window, "Reveal");
    assert!(!window.get_by_label("Band").accesskit_node().is_disabled());
}
