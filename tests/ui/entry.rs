//! The loop of a pull by keyboard alone, and its count of key presses.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::{Attribute, Mark};

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
    press(&mut window, Key::Enter);
    type_keys(&mut window, "360");
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
