//! The loop of a pull by keyboard alone, and its count of key presses.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::domain::{Attribute, Mark};

use crate::forms::fill;
use crate::support::*;

#[test]
fn a_pull_is_entered_in_under_15_key_presses() {
    let mut window = window(2);
    assert!(shows(&window, "Grind from 14.5 to 14.0, 1 click finer"), "{}", names(&window));
    let mut keys = Hand::of(&mut window);
    keys.clock();
    keys.window.run_steps(62);
    keys.clock();
    keys.window.run_steps(200);
    let before = keys.presses;
    keys.clock();
    // Yield, then two of the six marks; dose, grind, temperature and time are there already.
    keys.digits("37.2");
    keys.key(Key::Enter);
    keys.key(Key::Num4);
    keys.key(Key::ArrowDown);
    keys.key(Key::ArrowDown);
    keys.key(Key::Num2);
    keys.key(Key::Enter);
    let (presses, since) = (keys.presses, keys.presses - before);
    // Three marks of a mind made up: the yield read off, and each of the two marks.
    let hand = Hand { presses: since, thoughts: 3, ..Hand::of(&mut window) };
    println!(
        "{presses} key presses in all, {since} from cup away to the next advice, {:.1} s",
        hand.seconds(0.28)
    );
    assert!(presses < 15, "{presses}");
    assert!(since <= 12, "{since}");
    assert!(hand.seconds(0.28) <= 10.0);
    let bag = bag(&window);
    let pull = bag.live_pulls().next_back().unwrap();
    assert_eq!(bag.live_pulls().count(), 3);
    assert_eq!(pull.used.yield_g, 37.2);
    assert_eq!((pull.used.grind, pull.used.dose_g), (14.0, 18.0));
    let time = pull.time_s.unwrap();
    assert!((25.0..28.0).contains(&time), "{time}");
    assert!((6.0..7.0).contains(&pull.first_drip_s.unwrap()));
    assert_eq!(pull.taste.mark(Attribute::Sourness), Mark::new(1));
    assert_eq!(pull.taste.mark(Attribute::Body), Mark::new(-1));
    assert_eq!(pull.taste.mark(Attribute::Bitterness), None);
    assert!(shows(&window, "Grind from 14.0 to 13.5"), "the next advice is in the same place");
}

/// The same by taps, where the cup weighs what was planned: the clock's last tap, two marks, and saving.
#[test]
fn a_pull_is_entered_in_eight_taps() {
    let mut window = window(2);
    for (label, frames) in [("Pull it", 62), ("First drip", 200)] {
        window.get_by_label(label).click();
        window.run_steps(frames);
    }
    let mut hand = Hand::of(&mut window);
    for label in
        ["Cup away", "Sourness a little too much", "Body a little too little", "Save, show the next pull"]
    {
        hand.tap(label);
    }
    // Only the marks are thought about.
    hand.thoughts = 2;
    println!("{} taps, {:.1} s", hand.taps, hand.seconds(0.28));
    assert!(hand.taps <= 8 && hand.seconds(0.28) <= 10.0);
    let pull = bag(&window).live_pulls().next_back().unwrap().clone();
    assert_eq!((pull.used.grind, pull.used.yield_g), (14.0, 36.0));
    assert_eq!(pull.taste.mark(Attribute::Sourness), Mark::new(1));
    assert_eq!(pull.taste.mark(Attribute::Body), Mark::new(-1));
    assert!(shows(&window, "Grind from 14.0 to 13.5"), "the next advice is in the same place");
}

#[test]
fn wrong_numbers_keep_their_text_and_say_what_to_do() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27,5");
    fill(&mut window, "Yield, g", "360");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Is a decimal mark missing?"), "{}", names(&window));
    press(&mut window, Key::Enter);
    assert_eq!(bag(&window).live_pulls().count(), 2, "nothing is saved");
    click(&mut window, "Save, show the next pull");
    assert!(shows(&window, "Not saved yet"));
    // Saving put the focus back on the wrong field, with its text selected.
    type_keys(&mut window, "36");
    click(&mut window, "Save, show the next pull");
    let bag = bag(&window);
    assert_eq!(bag.live_pulls().next_back().unwrap().time_s, Some(27.5));
    assert_eq!(bag.live_pulls().next_back().unwrap().used.yield_g, 36.0);
}

/// What can hardly be is asked about once, and saved as it is by saving again; another number is no longer asked about.
#[test]
fn numbers_that_can_hardly_be_are_asked_about_once() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "0.5");
    click(&mut window, "Save, show the next pull");
    assert_eq!(bag(&window).live_pulls().count(), 2, "nothing is saved");
    assert!(shows(&window, "are these minutes"), "{}", names(&window));
    fill(&mut window, "Time, s", "27");
    fill(&mut window, "Yield, g", "9");
    assert!(!shows(&window, "are these minutes"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(bag(&window).live_pulls().count(), 2, "nothing is saved");
    assert!(shows(&window, "9.0 g of drink from 18.0 g of coffee"), "{}", names(&window));
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let pulls = bag(&window).live_pulls().count();
    assert_eq!((pulls, bag(&window).live_pulls().next_back().unwrap().used.yield_g), (3, 9.0));
}

#[test]
fn escape_puts_the_old_number_back_and_then_gives_up() {
    let mut window = window(1);
    press(&mut window, Key::E);
    type_keys(&mut window, "99");
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Save, show the next pull"), "the first Esc only puts the number back");
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Save, show the next pull"));
    assert_eq!(bag(&window).live_pulls().count(), 1);
}

#[test]
fn a_pull_is_changed_removed_undone_and_redone() {
    let mut window = window(2);
    press(&mut window, Key::ArrowDown);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Change pull 1"), "{}", names(&window));
    type_keys(&mut window, "33");
    press(&mut window, Key::Enter);
    press(&mut window, Key::L);
    press(&mut window, Key::Num9);
    press(&mut window, Key::Enter);
    let first = bag(&window).pulls[0].clone();
    assert_eq!((first.used.yield_g, first.taste.liking()), (33.0, Some(9)));
    assert!(shows(&window, "change of pull 1"));
    press_with(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(bag(&window).pulls[0].used.yield_g, 36.0);
    press_with(&mut window, Modifiers::COMMAND, Key::Y);
    assert_eq!(bag(&window).pulls[0].used.yield_g, 33.0);
    press(&mut window, Key::Delete);
    assert_eq!(bag(&window).live_pulls().count(), 1);
    click(&mut window, "Undo");
    assert_eq!(bag(&window).live_pulls().count(), 2);
}

#[test]
fn giving_up_the_clock_records_nothing() {
    let mut window = window(1);
    window.key_press(Key::Space);
    window.run_steps(40);
    assert!(shows(&window, "pump on, waiting for the first drip"), "{}", names(&window));
    assert!(shows(&window, "Never loosen the basket holder under pressure"));
    press(&mut window, Key::Escape);
    assert!(shows(&window, "nothing was recorded"));
    assert_eq!(bag(&window).live_pulls().count(), 1);
}

#[test]
fn a_choked_pull_needs_no_yield_and_warns_of_pressure() {
    let mut window = window(1);
    press(&mut window, Key::E);
    click(&mut window, "Choked");
    assert!(shows(&window, "still under pressure"));
    window.get_by_label("Yield, g").focus();
    settle(&mut window);
    press_with(&mut window, Modifiers::COMMAND, Key::A);
    press(&mut window, Key::Backspace);
    click(&mut window, "Save, show the next pull");
    let bag = bag(&window);
    let pull = bag.live_pulls().next_back().unwrap();
    assert!(pull.flags.choked);
    assert_eq!(pull.used.yield_g, 0.0);
}

#[test]
fn ctrl_enter_saves_the_pull_wherever_the_focus_is() {
    for place in ["Time, s", "Choked", "Sourness", "Note", "Give up", ""] {
        let mut window = window(1);
        press(&mut window, Key::E);
        type_keys(&mut window, "27");
        if place.is_empty() {
            let focused = window.ctx.memory(|memory| memory.focused()).unwrap();
            window.ctx.memory_mut(|memory| memory.surrender_focus(focused));
        } else {
            window.get_by_label(place).focus();
        }
        settle(&mut window);
        press_with(&mut window, Modifiers::COMMAND, Key::Enter);
        let bag = bag(&window);
        assert_eq!(bag.live_pulls().count(), 2, "{place}: {}", names(&window));
        let pull = bag.live_pulls().next_back().unwrap();
        assert_eq!((pull.time_s, pull.flags.choked), (Some(27.0), false), "{place}");
    }
    // A form over the entry keeps the keys to itself.
    let mut window = window(1);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    press_with(&mut window, Modifiers::COMMAND, Key::K);
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(bag(&window).live_pulls().count(), 1, "{}", names(&window));
}

/// The words on the key of the button that saves.
fn key_of_saving(window: &Window) -> String {
    let drawn = painted(window);
    let at = drawn.iter().position(|(text, _)| text == "Save, show the next pull").unwrap();
    drawn[at + 1].0.clone()
}

#[test]
fn enter_in_the_time_goes_on_to_the_marks() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    press(&mut window, Key::Enter);
    strike(&mut window, Key::Num5, "5");
    press(&mut window, Key::Enter);
    let pull = bag(&window).live_pulls().next_back().unwrap().clone();
    assert_eq!((pull.time_s, pull.used.yield_g), (Some(27.0), 36.0), "{}", names(&window));
    assert_eq!(pull.taste.mark(Attribute::Sourness), Mark::new(2));
}

#[test]
fn the_keys_of_the_form_live_after_a_click_on_paper() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    assert_eq!(key_of_saving(&window), "Ctrl Enter", "in a number Enter goes on");
    let blank = window.get_by_label("Save, show the next pull").rect().right_center();
    let blank = blank + eframe::egui::vec2(220.0, 0.0);
    window.hover_at(blank);
    window.drag_at(blank);
    window.drop_at(blank);
    settle(&mut window);
    assert_eq!(window.ctx.memory(|memory| memory.focused()), None);
    assert_eq!(key_of_saving(&window), "Enter");
    // What changes the ledger is not meant.
    press(&mut window, Key::Delete);
    assert_eq!(bag(&window).live_pulls().count(), 2);
    strike(&mut window, Key::O, "o");
    strike(&mut window, Key::Num1, "1");
    window.hover_at(blank);
    window.drag_at(blank);
    window.drop_at(blank);
    settle(&mut window);
    press(&mut window, Key::Enter);
    let pull = bag(&window).live_pulls().next_back().unwrap().clone();
    assert_eq!(bag(&window).live_pulls().count(), 3, "{}", names(&window));
    assert_eq!((pull.time_s, pull.taste.mark(Attribute::Body)), (Some(27.0), Mark::new(-2)));
}

#[test]
fn what_looks_selected_is_what_is_removed() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "27");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(bag(&window).live_pulls().count(), 3);
    press(&mut window, Key::Delete);
    assert_eq!(bag(&window).live_pulls().count(), 2, "{}", names(&window));
    assert!(bag(&window).live_pulls().all(|pull| pull.time_s != Some(27.0)), "the newest went");
}

#[test]
fn a_time_of_nothing_is_refused_and_says_what_to_do() {
    let mut window = window(2);
    press(&mut window, Key::E);
    type_keys(&mut window, "0");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    assert_eq!(bag(&window).live_pulls().count(), 2, "nothing is saved");
    assert!(shows(&window, "leave it empty if it was not taken"), "{}", names(&window));
    // A choked pull needs none.
    press_with(&mut window, Modifiers::COMMAND, Key::A);
    press(&mut window, Key::Backspace);
    click(&mut window, "Choked");
    press_with(&mut window, Modifiers::COMMAND, Key::Enter);
    let pull = bag(&window).live_pulls().next_back().unwrap().clone();
    assert_eq!((pull.time_s, pull.flags.choked), (None, true), "{}", names(&window));
}

#[test]
fn nothing_to_keep_is_not_offered() {
    let window = window(0);
    assert!(shows(&window, "Pull it") && !shows(&window, "Keep this recipe"), "{}", names(&window));
}

#[test]
fn a_changed_pull_reads_as_the_ledger_reads_it() {
    let mut window = window(2);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Change pull 2"), "{}", names(&window));
    let field = |window: &Window| {
        let node = window.get_by_role_and_label(eframe::egui::Role::TextInput, "Grind");
        node.accesskit_node().value().unwrap_or_default()
    };
    assert_eq!(field(&window), "14.5");
    // Nothing that was set between the steps is lost.
    let mut between = notebook(2);
    between.bags[0].pulls[1].used.grind = 14.25;
    let mut window = window_of(options(between, None), [1280.0, 800.0], 1.0);
    press(&mut window, Key::Enter);
    assert_eq!(field(&window), "14.25");
}

/// The bar of the clock shows the time of what is in the basket, and what it is the time of.
#[test]
fn the_clock_aims_at_the_recipe_that_is_pulled() {
    let says = |window: &Window, words: &str| painted(window).iter().any(|(text, _)| text == words);
    let clock = |mut window: Window, idea: bool| {
        if idea {
            press(&mut window, Key::A);
        }
        window.key_press(Key::Space);
        window.run_steps(20);
        window
    };
    let advised = clock(window(2), false);
    assert!(says(&advised, "25–31 s"));
    let other = clock(window(2), true);
    assert!(says(&other, "28–34 s") && !says(&other, "25–31 s"), "another idea has a time of its own");
    let with_window = || {
        let mut notebook = notebook(2);
        notebook.bags[0].time_window_s = Some((24.0, 26.0));
        notebook
    };
    let at_home = clock(window_of(options(with_window(), None), [1280.0, 800.0], 1.0), false);
    assert!(says(&at_home, "25–31 s") && !says(&at_home, "24–26 s"));
    // Where nothing is told of the recipe there is the window of the house, and it is called so.
    let mut in_class = with_window();
    in_class.preferences.way = thirdpull::domain::WayOfLiving::Class;
    let in_class = clock(window_of(options(in_class, None), [1280.0, 800.0], 1.0), false);
    assert!(says(&in_class, "house window 24–26 s") && !says(&in_class, "25–31 s"));
}
