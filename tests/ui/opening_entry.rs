//! The opening's entry by its keys.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

use crate::opening::{bar, open, pulls_today};
use crate::support::*;

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
