//! The window in a made-up language 40 % longer than English: it comes from the catalogue, and it fits.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use thirdpull::ui::Options;
use thirdpull::words;
use thirdpull::workbench::language_file;

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

/// Names that are no words of the window: what the notebook calls its bags.
fn known() -> Vec<String> {
    notebook(3).bags.into_iter().map(|bag| bag.name).collect()
}

/// What is wrong with the names of a window: buttons that reach over its edge, words that are not in the catalogue.
fn look(window: &Window, size: [f32; 2], wrong: &mut Vec<String>, marked: &mut usize) {
    let known = known();
    for node in
        window.query_all_by(|node| node.label().is_some_and(|label| label.chars().any(char::is_alphabetic)))
    {
        let label = node.accesskit_node().label().unwrap_or_default();
        if label.contains('⟦') {
            *marked += 1;
        } else if !known.iter().any(|name| {
            label.strip_prefix(name.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with(", "))
        }) {
            wrong.push(format!("{size:?}: “{label}” is not in the catalogue"));
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
    words::put_for_thread(Some(words::made_up_of(&language_file())));
    let (mut wrong, mut marked) = (Vec::new(), 0);
    for size in [[1280.0, 800.0], [900.0, 600.0]] {
        let mut window = window_of(options(notebook(3), None), size, 1.0);
        look(&window, size, &mut wrong, &mut marked);
        for (modifiers, key) in DIALOGS {
            press_with(&mut window, modifiers, key);
            look(&window, size, &mut wrong, &mut marked);
            press(&mut window, Key::Escape);
            press(&mut window, Key::Escape);
        }
        press(&mut window, Key::F4);
        look(&window, size, &mut wrong, &mut marked);
        press(&mut window, Key::F4);
        press_with(&mut window, Modifiers::COMMAND, Key::B);
        for tab in [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5] {
            press(&mut window, tab);
            look(&window, size, &mut wrong, &mut marked);
        }
    }
    words::put_for_thread(None);
    wrong.sort();
    wrong.dedup();
    assert!(marked > 1000, "the window speaks the made-up language: {marked} names");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The engine's own advice, asked for in English, is asked for again and shown in the language that is chosen then; so
/// is what the opening and the practice bench have worked out.
#[test]
fn another_language_is_spoken_at_once_by_all_that_was_worked_out() {
    let size = [1280.0, 800.0];
    let options = Options { adviser: thirdpull::workbench::engine(), ..options(notebook(2), None) };
    let mut window = window_of(options, size, 1.0);
    press(&mut window, Key::W);
    assert!(shows(&window, "because") && !shows(&window, "⟦"), "{}", names(&window));
    let change = |window: &mut Window, id: &str| {
        words::put_for_thread(Some(words::made_up_of(&language_file())));
        let ctx = window.ctx.clone();
        window.state_mut().say_again(&ctx);
        settle(window);
        let (mut wrong, mut marked) = (Vec::new(), 0);
        look(window, size, &mut wrong, &mut marked);
        let told = words::found(id).is_some_and(|said| shows(window, said));
        words::put_for_thread(None);
        assert!(told && marked > 20 && wrong.is_empty(), "{told} {marked}: {}", wrong.join("\n"));
    };
    change(&mut window, "advisor-reasons-purge");
    let ctx = window.ctx.clone();
    window.state_mut().say_again(&ctx);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    press(&mut window, Key::Num4);
    assert!(shows(&window, "Hot to cool") && !shows(&window, "⟦"), "{}", names(&window));
    change(&mut window, "study-hot-or-cool-title");
}
