//! Bags, stations, drinkers and settings through their forms.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::{Notebook, ThemeChoice, WayOfLiving};
use thirdpull::units::MassUnit;

use crate::support::*;

pub fn fill(window: &mut Window, label: &str, text: &str) {
    window.get_by_role_and_label(eframe::egui::Role::TextInput, label).focus();
    settle(window);
    press_with(window, Modifiers::COMMAND, Key::A);
    type_keys(window, text);
}

#[test]
fn a_bag_is_made_changed_finished_and_taken_back() {
    let mut window = window(1);
    press(&mut window, Key::B);
    type_keys(&mut window, "Larch Hollow");
    click(&mut window, "Roast: dark");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let bags = |window: &Window| window.state().bench().notebook().bags.clone();
    assert_eq!(bags(&window).len(), 3, "{}", names(&window));
    assert!(shows(&window, "Larch Hollow"));
    press(&mut window, Key::F2);
    fill(&mut window, "Roasted on", "yesterday");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let asked = ["write the date as 2026-11-25", "Write the date as 2026-11-25"];
    assert!(asked.iter().any(|words| shows(&window, words)), "{}", names(&window));
    fill(&mut window, "Roasted on", "20 Nov");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(shows(&window, "day 5"), "{}", names(&window));
    press(&mut window, Key::F);
    assert!(bags(&window).iter().any(|bag| bag.finished && bag.name == "Larch Hollow"));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(bags(&window).iter().all(|bag| !bag.finished));
}

#[test]
fn an_empty_notebook_asks_for_station_drinker_and_bag() {
    let mut window = window_of(options(Notebook::default(), None), [1280.0, 800.0], 1.0);
    assert!(shows(&window, "No bag on the shelf yet"));
    press(&mut window, Key::B);
    assert!(shows(&window, "New station"));
    type_keys(&mut window, "Shed");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(shows(&window, "New drinker"), "{}", names(&window));
    type_keys(&mut window, "Bram");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "New bag"), "{}", names(&window));
    type_keys(&mut window, "Cinder Lane");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let notebook = window.state().bench().notebook();
    assert_eq!((notebook.stations.len(), notebook.drinkers.len(), notebook.bags.len()), (1, 1, 1));
    assert!(shows(&window, "Next pull · first"));
}

#[test]
fn a_station_in_use_is_put_away_not_removed() {
    let mut window = window(1);
    press(&mut window, Key::S);
    click(&mut window, "Remove");
    assert!(shows(&window, "Put it away instead"), "{}", names(&window));
    click(&mut window, "Put away");
    assert!(window.state().bench().notebook().stations[0].archived);
    click(&mut window, "Take out");
    assert!(!window.state().bench().notebook().stations[0].archived);
    click(&mut window, "Change");
    fill(&mut window, "Step grind", "0");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(
        shows(&window, "the step must be above 0") || shows(&window, "The step must be above 0"),
        "{}",
        names(&window)
    );
    fill(&mut window, "Step grind", "0.25");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(window.state().bench().notebook().stations[0].gear.grind.scale.step(), 0.25);
}

#[test]
fn settings_take_effect_at_once_and_can_be_undone() {
    let mut window = window_of(options(notebook(2), None), [1280.0, 1100.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::Comma);
    click(&mut window, "Mass: oz");
    click(&mut window, "Theme: dark");
    click(&mut window, "What changes from pull to pull: one lever only");
    press(&mut window, Key::Escape);
    let preferences = window.state().bench().notebook().preferences;
    assert!(preferences.one_lever);
    assert_eq!(preferences.units.mass, MassUnit::Ounce);
    assert_eq!(preferences.theme, ThemeChoice::Dark);
    assert!(shows(&window, "0.63 oz"), "{}", names(&window));
    for _ in 0..3 {
        press_with(&mut window, Modifiers::COMMAND, Key::Z);
    }
    let preferences = window.state().bench().notebook().preferences;
    assert_eq!((preferences.units.mass, preferences.one_lever), (MassUnit::Gram, false));
}

#[test]
fn the_three_ways_of_living_show_what_they_should() {
    let mut window = window(2);
    assert!(shows(&window, "Search the shelf"));
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    assert_eq!(window.state().bench().notebook().preferences.way, WayOfLiving::Class);
    assert!(!shows(&window, "Search the shelf"));
    assert!(!shows(&window, "1 click finer"), "the advice is covered");
    press(&mut window, Key::R);
    assert!(shows(&window, "1 click finer"));
    press_with(&mut window, Modifiers::COMMAND, Key::Num2);
    let tab = window.get_by_role_and_label(eframe::egui::Role::Button, "Quarry Road");
    assert!(tab.rect().height() >= 56.0, "{}", tab.rect().height());
}

#[test]
fn class_stays_large_and_ctrl_0_is_the_persons_own_size() {
    let mut window = window(2);
    let zoom = |window: &Window| {
        let own = window.state().bench().notebook().preferences.zoom;
        (own, (window.ctx.zoom_factor() * 100.0).round())
    };
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    assert_eq!(zoom(&window), (1.0, 130.0));
    press_with(&mut window, Modifiers::COMMAND, Key::Num0);
    assert_eq!(zoom(&window), (1.0, 130.0));
    for _ in 0..2 {
        press_with(&mut window, Modifiers::COMMAND, Key::Plus);
    }
    assert_eq!(zoom(&window), (1.2, 156.0));
    press_with(&mut window, Modifiers::COMMAND, Key::Minus);
    assert_eq!(zoom(&window).0, 1.1);
    press_with(&mut window, Modifiers::COMMAND, Key::Num0);
    assert_eq!(zoom(&window), (1.0, 130.0));
    press_with(&mut window, Modifiers::COMMAND, Key::Num1);
    assert_eq!(zoom(&window), (1.0, 100.0));
}

#[test]
fn a_step_that_no_scale_holds_is_refused_in_its_field() {
    let mut window = window(1);
    press(&mut window, Key::S);
    click(&mut window, "Change");
    let step = |window: &Window| window.state().bench().notebook().stations[0].gear.grind.scale.step();
    fill(&mut window, "Step grind", "31");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(step(&window), 0.5, "nothing is saved");
    assert!(
        shows(&window, "Step grind: the step must fit at least once between 0 and 30"),
        "{}",
        names(&window)
    );
    // The focus is on the bad field, its text selected.
    type_keys(&mut window, "0.25");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(step(&window), 0.25, "{}", names(&window));
    // So it is for any other field, and the sentence names it as it is labelled.
    press(&mut window, Key::S);
    click(&mut window, "Change");
    fill(&mut window, "Largest temperature, °C", "hot");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(shows(&window, "Largest temperature: "), "{}", names(&window));
    type_keys(&mut window, "95");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let scale = window.state().bench().notebook().stations[0].gear.temperature_c.unwrap();
    assert_eq!(scale.max(), 95.0, "{}", names(&window));
}

#[test]
fn a_fault_under_a_number_leaves_its_row_as_it_was() {
    let mut window = window(1);
    press(&mut window, Key::S);
    click(&mut window, "Change");
    let rects = |window: &Window| {
        ["Smallest grind", "Largest grind", "Step grind"]
            .map(|label| window.get_by_role_and_label(eframe::egui::Role::TextInput, label).rect())
    };
    fill(&mut window, "Largest grind", "-1");
    let before = rects(&window);
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert!(shows(&window, "Largest grind: "), "{}", names(&window));
    let after = rects(&window);
    for (before, after) in before.iter().zip(after) {
        assert!((before.left() - after.left()).abs() < 1.0, "{before:?} {after:?}");
        assert!((before.width() - after.width()).abs() < 1.0, "{before:?} {after:?}");
        assert!((after.top() - rects(&window)[0].top()).abs() < 1.0, "all in one row: {after:?}");
    }
}

#[test]
fn the_settings_tell_the_size_that_the_keys_made() {
    let mut window = window_of(options(notebook(2), None), [1280.0, 1100.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::Plus);
    press_with(&mut window, Modifiers::COMMAND, Key::Comma);
    let lit = |window: &Window, part: &str| {
        use egui_kittest::kittest::NodeT as _;
        let found =
            window.query_by(|node| node.label().is_some_and(|l| l.starts_with("Zoom") && l.ends_with(part)));
        found.is_some_and(|node| {
            node.accesskit_node().toggled() == Some(eframe::egui::accesskit::Toggled::True)
        })
    };
    assert!(lit(&window, ": 110 %") && !lit(&window, ": 100 %"), "{}", names(&window));
    window
        .get_by(|node| node.label().is_some_and(|l| l.starts_with("Zoom") && l.ends_with(": 100 %")))
        .click();
    settle(&mut window);
    assert_eq!(window.state().bench().notebook().preferences.zoom, 1.0);
    assert!(lit(&window, ": 100 %") && !shows(&window, ": 110 %"), "{}", names(&window));
}
