//! The window in a made-up language 40 % longer than English: it comes from the catalogue, and it fits.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::words;

use crate::support::*;

/// Dialogs by their keys, as in `pages.rs`.
const DIALOGS: [(Modifiers, Key); 12] = [
    (Modifiers::NONE, Key::B),
    (Modifiers::NONE, Key::F2),
    (Modifiers::NONE, Key::S),
    (Modifiers::NONE, Key::D),
    (Modifiers::NONE, Key::N),
    (Modifiers::NONE, Key::H),
    (Modifiers::COMMAND, Key::P),
    (Modifiers::COMMAND, Key::O),
    (Modifiers::NONE, Key::Questionmark),
    (Modifiers::NONE, Key::P),
    (Modifiers::COMMAND, Key::Comma),
    (Modifiers::COMMAND, Key::K),
];

/// Buttons that reach over the window's edge, and how many names there are with and without the marks.
fn look(window: &Window, size: [f32; 2], wrong: &mut Vec<String>, counted: &mut (usize, usize)) {
    for node in
        window.query_all_by(|node| node.label().is_some_and(|label| label.chars().any(char::is_alphabetic)))
    {
        let label = node.accesskit_node().label().unwrap_or_default();
        if label.contains('⟦') {
            counted.0 += 1;
        } else {
            counted.1 += 1;
            println!("unmarked: {label}");
        }
        let rect = node.rect();
        let is_button = node.accesskit_node().role() == eframe::egui::accesskit::Role::Button;
        if is_button && rect.is_positive() && rect.left() < size[0] && rect.right() > size[0] + 1.0 {
            wrong.push(format!("{size:?}: “{label}” ends at {:.0}", rect.right()));
        }
    }
}

#[test]
fn a_longer_language_is_drawn_on_every_page() {
    words::put_for_thread(Some(words::made_up()));
    let (mut wrong, mut counted) = (Vec::new(), (0, 0));
    for size in [[1280.0, 800.0], [900.0, 600.0]] {
        let mut window = window_of(options(notebook(3), None), size, 1.0);
        look(&window, size, &mut wrong, &mut counted);
        for (modifiers, key) in DIALOGS {
            press_with(&mut window, modifiers, key);
            look(&window, size, &mut wrong, &mut counted);
            press(&mut window, Key::Escape);
            press(&mut window, Key::Escape);
        }
        press(&mut window, Key::F4);
        look(&window, size, &mut wrong, &mut counted);
        press(&mut window, Key::F4);
        press_with(&mut window, Modifiers::COMMAND, Key::B);
        for tab in [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5] {
            press(&mut window, tab);
            look(&window, size, &mut wrong, &mut counted);
        }
    }
    words::put_for_thread(None);
    println!("{} names from the catalogue, {} without a mark", counted.0, counted.1);
    assert!(counted.0 > 100, "the window speaks the made-up language");
    assert!(wrong.is_empty(), "cut off at the right edge:\n{}", wrong.join("\n"));
}
