//! The taste map, what-if, the trace to expect, and the reasons one by one.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::support::*;

/// With the engine itself, so that beliefs and advice are of one mind.
fn own(pulls: usize, size: [f32; 2], scale: f32) -> Window {
    let mut own = options(notebook(pulls), None);
    own.adviser = thirdpull::workbench::engine();
    window_of(own, size, scale)
}

fn labelled(window: &Window, part: &str) -> Option<String> {
    // Plain labels carry their text as value.
    let has = |text: Option<String>| text.filter(|text| text.contains(part));
    let mut nodes = window.query_all_by(|node| has(node.label()).is_some() || has(node.value()).is_some());
    let node = nodes.next()?.accesskit_node();
    has(node.label()).or_else(|| has(node.value()))
}

#[test]
fn the_taste_map_is_read_by_arrow_keys_and_in_words() {
    let mut window = own(3, [1280.0, 800.0], 1.0);
    press(&mut window, Key::V);
    assert!(shows(&window, "What it believes") && shows(&window, "Mean liking"), "{}", names(&window));
    let map = labelled(&window, "Taste map, grind across, yield up. Best: ").unwrap();
    assert!(map.contains("1: grind 15.0, yield 36.0 g, liking 4; 2: grind 14.5"), "{map}");
    assert!(shows(&window, "This is the next pull."), "{}", names(&window));
    let before = labelled(&window, ": expect time").unwrap();
    press(&mut window, Key::ArrowUp);
    press(&mut window, Key::ArrowUp);
    let after = labelled(&window, ": expect time").unwrap();
    assert!(before != after, "{before}");
    let grams = |text: &str| -> f64 {
        let (_, rest) = text.split_once("yield ").unwrap();
        rest.split_once(' ').unwrap().0.parse().unwrap()
    };
    assert!((grams(&after) - grams(&before) - 1.0).abs() < 1e-9, "two steps of half a gram: {after}");
    press_with(&mut window, Modifiers::SHIFT, Key::ArrowLeft);
    assert!(labelled(&window, ": expect time").unwrap() != after);
    press(&mut window, Key::End);
    assert_eq!(labelled(&window, ": expect time").unwrap(), before);
    click(&mut window, "As numbers");
    assert!(labelled(&window, "g: liking ").is_some_and(|cell| cell.contains(" ± ")), "{}", names(&window));
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Mean liking"));
}

#[test]
fn a_lever_moved_moves_what_is_expected() {
    let mut window = own(3, [1280.0, 800.0], 1.0);
    press(&mut window, Key::Y);
    assert!(shows(&window, "Expected trace"), "{}", names(&window));
    assert!(labelled(&window, "Strips. Flow in g/s").is_some(), "{}", names(&window));
    let before = labelled(&window, ": expect time").unwrap();
    for _ in 0..3 {
        click(&mut window, "Grind less");
    }
    let finer = labelled(&window, ": expect time").unwrap();
    assert!(before != finer && finer.contains("point"), "{finer}");
    let middle = |text: &str| -> f64 {
        let (_, rest) = text.split_once("expect time ").unwrap();
        rest.split_once('–').unwrap().0.parse().unwrap()
    };
    assert!(middle(&finer) > middle(&before), "finer takes longer: {before} / {finer}");
    let field = window.get_by_label("Yield, g");
    field.focus();
    window.run();
    type_keys(&mut window, "50");
    assert!(labelled(&window, ": expect time").unwrap().contains("yield 50.0 g"), "{}", names(&window));
    assert!(labelled(&window, "Yield slider").is_some());
    click(&mut window, "Next pull");
    assert_eq!(labelled(&window, ": expect time").unwrap(), before);
}

#[test]
fn beliefs_fit_every_size() {
    for (size, scale) in [([900.0, 600.0], 1.0), ([1280.0, 800.0], 1.5), ([1920.0, 1080.0], 1.0)] {
        for key in [Key::V, Key::Y] {
            let mut window = own(2, size, scale);
            press(&mut window, key);
            assert!(labelled(&window, ": expect time").is_some(), "{size:?}");
        }
    }
}

#[test]
fn an_empty_bag_has_beliefs_too() {
    let mut window = own(0, [1280.0, 800.0], 1.0);
    press(&mut window, Key::V);
    let map = labelled(&window, "Taste map, grind across").unwrap();
    assert!(!map.contains("Pulls in order"), "{map}");
}

#[test]
fn in_class_the_reasons_come_one_by_one() {
    let mut window = window(2);
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    assert!(shows(&window, "What would you change?") && !shows(&window, "the last pull ran fast"));
    press(&mut window, Key::W);
    assert!(!shows(&window, "the last pull ran fast"), "covered as long as the answer is");
    press(&mut window, Key::R);
    assert!(shows(&window, "Grind from") && !shows(&window, "the last pull ran fast"), "{}", names(&window));
    press(&mut window, Key::W);
    assert!(shows(&window, "the last pull ran fast") && !shows(&window, "it was marked sour"));
    click(&mut window, "Next reason, 2 of 2");
    assert!(shows(&window, "it was marked sour"));
    click(&mut window, "Hide the reasons");
    assert!(!shows(&window, "the last pull ran fast"));
    // Nor does another idea show before the answer does; covered again, the next answer begins with itself.
    press(&mut window, Key::A);
    assert!(shows(&window, "Another idea"));
    press(&mut window, Key::R);
    assert!(shows(&window, "What would you change?") && !shows(&window, "Another idea"));
    press(&mut window, Key::A);
    assert!(!shows(&window, "Another idea"));
}

#[test]
fn a_keepers_card_is_seen_and_written() {
    let mut window = own(3, [1280.0, 800.0], 1.0);
    press(&mut window, Key::J);
    assert!(shows(&window, "no keeper yet"), "{}", names(&window));
    press(&mut window, Key::K);
    press(&mut window, Key::J);
    let card = labelled(&window, "Bar card. Quarry Road: Grind 14.0").unwrap();
    assert!(
        card.contains("Dose 18.0 g") && card.contains("Yield 36.0 g") && card.contains("scalds"),
        "{card}"
    );
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("card.pdf");
    window.get_by_label("File to write").focus();
    window.run();
    type_keys(&mut window, path.to_str().unwrap());
    click(&mut window, "Write");
    assert!(shows(&window, "Written to"), "{}", names(&window));
    assert!(std::fs::read(&path).unwrap().starts_with(b"%PDF-1."));
    click(&mut window, "Write");
    assert!(shows(&window, "there already"));
}
