//! Keeping a recipe: the button names what it keeps, and the card says what is kept.

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::Notebook;

use crate::support::*;

/// Whether there is a button of this name.
fn button(window: &Window, label: &str) -> bool {
    window.query_by_role_and_label(Role::Button, label).is_some()
}

fn open(notebook: Notebook) -> Window {
    window_of(options(notebook, None), [1280.0, 800.0], 1.0)
}

/// The last of two pulls was liked very much: the advice is to keep its recipe.
fn settled() -> Notebook {
    let mut notebook = notebook(2);
    notebook.bags[0].pulls[1].taste.set_liking(Some(9));
    notebook
}

#[test]
fn the_button_names_the_pull_that_it_keeps() {
    let mut window = window(3);
    let pulls = bag(&window).pulls;
    // The card shows another grind than any pull had.
    assert!(shows(&window, "Grind from 14.0 to 13.5"), "{}", names(&window));
    assert!(button(&window, "Keep pull 3") && !button(&window, "Keep this recipe"), "{}", names(&window));
    press(&mut window, Key::ArrowDown);
    assert!(button(&window, "Keep pull 2"), "{}", names(&window));
    press(&mut window, Key::K);
    let keeper = bag(&window).keeper.unwrap();
    assert_eq!((keeper.from_pull, keeper.recipe), (Some(pulls[1].id), pulls[1].used));
    assert!(shows(&window, "Next pull · fourth · pull 2 is kept"), "{}", names(&window));
    assert!(button(&window, "Let the keeper go"), "{}", names(&window));
    press(&mut window, Key::ArrowDown);
    assert!(button(&window, "Keep pull 1 instead"), "{}", names(&window));
    press(&mut window, Key::ArrowUp);
    click(&mut window, "Let the keeper go");
    assert!(bag(&window).keeper.is_none());
    assert!(!shows(&window, "is kept"), "{}", names(&window));
}

#[test]
fn a_choked_pull_is_not_kept() {
    let mut notebook = notebook(2);
    notebook.bags[0].pulls[1].flags.choked = true;
    let mut window = open(notebook);
    press(&mut window, Key::K);
    assert!(bag(&window).keeper.is_none(), "{}", names(&window));
    assert!(!shows(&window, "Saved"), "{}", names(&window));
    let said =
        "Pull 2 choked, so it is no recipe to go by: choose a pull that ran through, or pull once more";
    assert!(shows(&window, said), "{}", names(&window));
    press(&mut window, Key::ArrowDown);
    press(&mut window, Key::K);
    let bag = bag(&window);
    assert_eq!(bag.keeper.unwrap().from_pull, Some(bag.pulls[0].id));
}

#[test]
fn once_it_is_kept_the_card_says_so() {
    let mut window = open(settled());
    assert!(shows(&window, "Grind 14.5 · dose 18.0 g"), "{}", names(&window));
    assert!(button(&window, "Keep this recipe"), "{}", names(&window));
    press(&mut window, Key::K);
    let pulls = bag(&window).pulls;
    assert_eq!(bag(&window).keeper.unwrap().from_pull, Some(pulls[1].id));
    assert!(shows(&window, "This recipe is kept"), "{}", names(&window));
    assert!(!shows(&window, "Keep this recipe"), "{}", names(&window));
    assert!(button(&window, "Let the keeper go"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert!(shows(&window, "Keep this recipe") && button(&window, "Keep this recipe"));
}

/// What another idea proposes was never pulled: it is the newest pull that can be kept.
#[test]
fn another_idea_is_not_what_is_kept() {
    let mut window = open(settled());
    press(&mut window, Key::A);
    assert!(shows(&window, "Another idea"), "{}", names(&window));
    assert!(button(&window, "Keep pull 2"), "{}", names(&window));
}
