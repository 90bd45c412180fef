//! Pages as a whole: what they say, that they rest when nothing happens, that they survive any size.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

use thirdpull::domain::WayOfLiving;

use crate::support::*;

#[test]
fn the_next_pull_is_said_in_words() {
    let mut window = window(2);
    for part in [
        "Next pull · third",
        "Grind from 14.5 to 14.0, 1 click finer",
        "Dose 18.0 g · yield 36.0 g · 93 °C stay as they are",
        "25–31 s",
        "fairly sure, 7 in 10",
        "the last pull ran fast",
    ] {
        assert!(shows(&window, part), "{part}: {}", names(&window));
    }
    assert!(!shows(&window, "it was marked sour"));
    press(&mut window, Key::W);
    assert!(shows(&window, "it was marked sour") && shows(&window, "one click changes the time"));
    press(&mut window, Key::A);
    assert!(shows(&window, "Another idea · 1 of 1") && shows(&window, "4.0 g more"));
    press(&mut window, Key::A);
    assert!(shows(&window, "Next pull · third"));
}

#[test]
fn a_recipe_is_kept_and_let_go() {
    let mut window = window(2);
    press(&mut window, Key::K);
    let keeper = bag(&window).keeper.unwrap();
    assert_eq!(keeper.recipe.grind, 14.5);
    assert!(shows(&window, "keeper of Quarry Road"));
    assert!(shows(&window, "liking 5, keeper"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(bag(&window).keeper.is_none());
}

#[test]
fn a_bag_with_too_little_for_a_pull_says_what_to_do() {
    let mut notebook = notebook(2);
    notebook.bags[0].mass_g = Some(40.0);
    let mut window = window_of(options(notebook, None), [1280.0, 800.0], 1.0);
    let said = "4.0 g left, too little for a pull · Attic kitchen";
    assert!(shows(&window, said) && !shows(&window, "about 0 pulls"), "{}", names(&window));
    let to_do = "Too little is left for a pull: mark the bag used up (F) or correct its mass (F2)";
    assert!(shows(&window, to_do), "{}", names(&window));
    click(&mut window, "Mark it used up");
    assert!(bag(&window).finished);
}

#[test]
fn a_finished_bag_has_no_next_pull() {
    let mut window = window(2);
    press(&mut window, Key::F);
    assert!(bag(&window).finished);
    assert!(!shows(&window, "Next pull") && !shows(&window, "Pull it"), "{}", names(&window));
    assert!(!shows(&window, "214 g left"), "{}", names(&window));
    assert!(shows(&window, "This bag is used up"), "{}", names(&window));
    for key in [Key::Space, Key::E] {
        press(&mut window, key);
        assert!(!shows(&window, "Cup away") && !shows(&window, "Give up"), "{key:?}: {}", names(&window));
        assert!(shows(&window, "This bag is used up: take it back (F) before a pull"), "{}", names(&window));
    }
    click(&mut window, "Take it back");
    assert!(!bag(&window).finished);
    assert!(shows(&window, "Next pull · third") && shows(&window, "Pull it"), "{}", names(&window));
}

#[test]
fn the_reason_on_the_card_takes_two_lines_before_it_is_cut() {
    let reason = "pulls 1 and 2 ran through far faster than what this coffee wants, and you marked pull 1 far too \
                  sour and thin, which a finer grind answers";
    let height = |text: &'static str| {
        let mut own = options(notebook(2), None);
        let inner = own.adviser;
        own.adviser = std::sync::Arc::new(move |question| {
            let mut advice = inner(question);
            advice.reasons[0].text = text.into();
            advice
        });
        let window = window_of(own, [900.0, 600.0], 1.0);
        let rect = window.get_by_label(text).rect();
        assert!(rect.right() <= 900.0, "{rect:?}");
        rect.height()
    };
    let (one, two) = (height("it ran fast"), height(reason));
    assert!(two > one * 1.7 && two < one * 2.3, "{one} {two}");
}

#[test]
fn the_caution_at_the_grinder_stands_beside_a_move_of_the_grind() {
    let caution = "Move the burrs by the grinder's own dial";
    let mut window = window(2);
    assert!(shows(&window, caution), "{}", names(&window));
    // The other idea moves the yield alone.
    press(&mut window, Key::A);
    assert!(shows(&window, "4.0 g more") && !shows(&window, caution), "{}", names(&window));
}

#[test]
fn the_shelf_is_walked_and_searched() {
    let mut window = window(2);
    press(&mut window, Key::CloseBracket);
    assert!(shows(&window, "Next pull · first"), "{}", names(&window));
    press(&mut window, Key::OpenBracket);
    press(&mut window, Key::Slash);
    type_keys(&mut window, "lakes");
    assert!(window.query_by_label("Quarry Road, day 11 · Attic kitchen").is_none());
    window.get_by(|node| node.label().is_some_and(|l| l.starts_with("Two Lakes,"))).click();
    settle(&mut window);
    assert!(shows(&window, "Next pull · first"));
}

#[test]
fn nothing_is_drawn_while_nothing_happens() {
    let mut window = window(3);
    // Words at the foot fade by one planned frame; without them there is nothing to wait for.
    let before = window.state().frames();
    for _ in 0..50 {
        window.run();
    }
    let drawn = window.state().frames() - before;
    assert!(drawn <= 50, "each run is one frame that the harness asks for; {drawn} were drawn");
    let delay = window.output().viewport_output.values().map(|output| output.repaint_delay).min().unwrap();
    assert_eq!(delay, std::time::Duration::MAX, "no repaint is wanted");
}

#[test]
fn a_read_only_notebook_says_so_and_changes_nothing() {
    let mut window =
        window_of(options(notebook(2), Some("another window has it open")), [1280.0, 800.0], 1.0);
    assert!(shows(&window, "Reading only: another window has it open"));
    press(&mut window, Key::Space);
    assert!(shows(&window, "No pull can be recorded"), "{}", names(&window));
    press(&mut window, Key::K);
    assert!(bag(&window).keeper.is_none());
}

#[test]
fn the_demo_is_marked_and_left_by_one_action() {
    let mut demo = notebook(2);
    demo.demo = true;
    let mut window = window_of(options(demo, None), [1280.0, 800.0], 1.0);
    assert!(shows(&window, "Demo notebook"));
    click(&mut window, "Begin an empty notebook of my own");
    assert!(window.state().bench().notebook().bags.is_empty());
    assert!(shows(&window, "New station"), "{}", names(&window));
}

#[test]
fn every_dialog_opens_by_its_key_and_closes_by_esc() {
    let mut window = window(2);
    let plain = Modifiers::NONE;
    for (modifiers, key, title) in [
        (plain, Key::B, "New bag"),
        (plain, Key::F2, "Change the bag"),
        (plain, Key::S, "Stations"),
        (plain, Key::D, "Drinkers"),
        (plain, Key::T, "Attach a trace"),
        (plain, Key::N, "The notebook"),
        (plain, Key::H, "Earlier versions"),
        (Modifiers::COMMAND, Key::P, "Pass on"),
        (Modifiers::COMMAND, Key::O, "Take in"),
        (plain, Key::Questionmark, "Keys"),
        (plain, Key::P, "All is well"),
        (Modifiers::COMMAND, Key::Comma, "Settings"),
        (Modifiers::COMMAND, Key::K, "All actions"),
    ] {
        press_with(&mut window, modifiers, key);
        assert!(window.query_all_by_label("Close  Esc").next().is_some(), "{title} opens");
        assert!(shows(&window, title), "{title}: {}", names(&window));
        press(&mut window, Key::Escape);
        if window.query_all_by_label("Close  Esc").next().is_some() {
            press(&mut window, Key::Escape);
        }
        assert!(window.query_all_by_label("Close  Esc").next().is_none(), "{title} closes");
    }
}

#[test]
fn any_action_can_be_found_by_name() {
    let mut window = window(2);
    press_with(&mut window, Modifiers::COMMAND, Key::K);
    type_keys(&mut window, "drinkers");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "New drinker"), "{}", names(&window));
}

#[test]
fn every_size_and_scale_can_be_drawn() {
    for (size, scale) in [
        ([900.0, 600.0], 1.0),
        ([870.0, 490.0], 2.2),
        ([1280.0, 800.0], 1.5),
        ([1920.0, 1080.0], 1.0),
        ([400.0, 300.0], 1.0),
    ] {
        let mut window = window_of(options(notebook(12), None), size, scale);
        press(&mut window, Key::E);
        press(&mut window, Key::Escape);
        press(&mut window, Key::Escape);
        press(&mut window, Key::F2);
        press(&mut window, Key::Escape);
        press(&mut window, Key::Escape);
        assert_eq!(bag(&window).live_pulls().count(), 12, "{size:?}");
    }
}

#[test]
fn the_foot_of_the_shelf_is_whole_in_every_window() {
    for size in [[1280.0, 800.0], [900.0, 600.0]] {
        let window = window_of(options(notebook(2), None), size, 1.0);
        for label in ["Opening", "Settings", "Keys"] {
            let rect = window.get_by_label(label).rect();
            assert!(rect.bottom() <= size[1], "{size:?}: {label}: {rect:?}");
        }
    }
}

#[test]
fn targets_are_large_enough_for_a_finger() {
    let window = window(2);
    for label in ["Pull it", "Keep pull 2", "Another idea", "Enter by hand", "New bag", "Stations"] {
        let rect = window.get_by_label(label).rect();
        assert!(rect.height() >= 44.0, "{label}: {}", rect.height());
    }
}

/// Steppers, marks, lists and the buttons over the strips: 44 points at home, 56 at the bar.
#[test]
fn the_small_targets_are_large_enough_too() {
    for (way, least) in [(WayOfLiving::Home, 44.0), (WayOfLiving::Bar, 56.0)] {
        let mut notebook = notebook(2);
        notebook.preferences.way = way;
        let mut window = window_of(options(notebook, None), [1280.0, 800.0], 1.0);
        let large = |window: &Window, label: &str, sides: [bool; 2]| {
            let rect = window.get_by_label(label).rect();
            let (wide, high) = (rect.width() >= least, rect.height() >= least);
            assert!((wide || !sides[0]) && (high || !sides[1]), "{way:?}: {label}: {rect:?}");
        };
        for label in ["Why", "Which pulls", "In which order"] {
            large(&window, label, [false, true]);
        }
        press(&mut window, Key::E);
        for label in ["Dose less", "Dose more"] {
            large(&window, label, [true, true]);
        }
        large(&window, "Sourness a little too much", [false, true]);
        large(&window, "Sweetness far too little", [false, true]);
    }
}

#[test]
fn with_the_engine_itself_the_page_gives_advice() {
    let mut own = options(notebook(3), None);
    own.adviser = thirdpull::workbench::engine();
    let window = window_of(own, [1280.0, 800.0], 1.0);
    assert!(shows(&window, "in 10"), "{}", names(&window));
}

/// A hint of the page that was up when a key opened a dialog goes, and comes back when the dialog is closed.
#[test]
fn no_hint_shows_through_a_dialog() {
    let mut window = window(2);
    // The taste of a pull in words, over its row.
    let hint = |window: &Window| window.query_by_label("sour").is_some();
    let row = window.get_by_label_contains("Pull 2, grind").rect().center();
    assert!(!hint(&window));
    window.hover_at(row);
    window.run_steps(8);
    assert!(hint(&window), "{}", names(&window));
    press(&mut window, Key::Questionmark);
    window.run_steps(4);
    assert!(window.query_by_label("Close  Esc").is_some(), "{}", names(&window));
    assert!(!hint(&window), "{}", names(&window));
    press(&mut window, Key::Escape);
    window.hover_at(row + eframe::egui::vec2(2.0, 0.0));
    window.run_steps(8);
    assert!(hint(&window), "{}", names(&window));
}
