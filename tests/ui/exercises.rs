//! Exercises of the practice bench, driven by their accessible names.

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::{Lever, Preferences, WayOfLiving};
use thirdpull::practice::Pack;
use thirdpull::workbench::practice::Seat;
use thirdpull::workbench::{Backing, Workbench};

use crate::support::*;

fn open() -> Window {
    let mut window = window(0);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    press(&mut window, Key::Num5);
    assert!(shows(&window, "Sit down") && shows(&window, "First day"), "{}", names(&window));
    window
}

fn type_into(window: &mut Window, label: &str, text: &str) {
    window.get_by_role_and_label(Role::TextInput, label).focus();
    settle(window);
    type_keys(window, text);
    press(window, Key::Tab);
}

/// Nothing has the focus, so that plain keys count.
fn let_go(window: &mut Window) {
    window.ctx.memory_mut(|memory| {
        if let Some(id) = memory.focused() {
            memory.surrender_focus(id);
        }
    });
    settle(window);
}

#[test]
fn a_student_dials_in_and_the_score_is_that_of_the_coffee_behind_the_word() {
    let pack = Pack::shipped();
    let mut window = open();
    click(&mut window, "Slow and harsh");
    type_into(&mut window, "Who sits here", "Ines");
    type_into(&mut window, "Word on the board", "tern 7");
    click(&mut window, "Sit down");
    // The same sitting without a window.
    let mut seat = Seat::take(&pack, "too-slow", "tern 7", "Ines").unwrap();
    let start = seat.plan;
    assert!(shows(&window, "Ines: The bag says"), "{}", names(&window));
    let_go(&mut window);
    press(&mut window, Key::Space);
    seat.pull().unwrap();
    let time = |seat: &Seat, at: usize| format!("{:.1} s", seat.sitting().pulled()[at].time_s.unwrap());
    assert!(shows(&window, &time(&seat, 0)), "{} in {}", time(&seat, 0), names(&window));
    press(&mut window, Key::H);
    assert!(shows(&window, &pack.exercises["too-slow"].hints[0]));
    let coarser = seat.levers()[0].1.snap(start.grind + 4.0);
    type_into(&mut window, "Next grind", &format!("{coarser}"));
    let left = seat.sitting().left();
    click(&mut window, &format!("Pull, {left} left"));
    seat.set(Lever::Grind, coarser);
    seat.pull().unwrap();
    seat.hint();
    assert!(shows(&window, &time(&seat, 1)), "{}", names(&window));
    // Nothing hidden is told before the end.
    let hidden = seat.sitting().hidden().clone();
    let drinker = thirdpull::units::capital(&hidden.palate.name);
    assert!(!shows(&window, &hidden.coffee.name) && !shows(&window, "The engine took"));
    click(&mut window, "Serve pull 2");
    seat.serve(2).unwrap();
    let score = seat.sitting().score().unwrap();
    assert!(shows(&window, &format!("{} points of 100", score.points)), "{}", names(&window));
    assert!(shows(&window, "The engine took ") && !shows(&window, &hidden.coffee.name));
    let_go(&mut window);
    press(&mut window, Key::R);
    assert!(shows(&window, &hidden.coffee.name) && !shows(&window, &drinker));
    click(&mut window, "Uncover: the drinker");
    assert!(shows(&window, &drinker));
    assert!(
        shows(&window, &format!("Ines · too-slow (tern 7) · {} points", score.points)),
        "{}",
        names(&window)
    );
    // Nothing of it touched the notebook.
    assert!(bag(&window).live_pulls().count() == 0 && window.state().bench().undo_name().is_none());
    click(&mut window, "Next student");
    assert!(shows(&window, "Sit down"));
}

#[test]
fn a_class_goes_through_its_list_and_its_results_and_sheets_become_files() {
    let place = tempfile::tempdir().unwrap();
    let mut window = open();
    click(&mut window, "Class list");
    window.get_by_role_and_label(Role::MultilineTextInput, "Names of the class").focus();
    settle(&mut window);
    for name in ["Ines", "Bo"] {
        type_keys(&mut window, name);
        press(&mut window, Key::Enter);
    }
    let_go(&mut window);
    for name in ["Ines", "Bo"] {
        click(&mut window, "Sit down");
        assert!(shows(&window, &format!("{name}: The bag says")), "{}", names(&window));
        let_go(&mut window);
        press(&mut window, Key::Space);
        click(&mut window, "Serve pull 1");
        click(&mut window, "Next student");
    }
    assert!(shows(&window, "everyone is done"), "{}", names(&window));
    for (what, file) in [("Worksheet", "sheet.html"), ("Answers", "answers.html"), ("Results", "r.csv")] {
        click(&mut window, &format!("Write to a file: {what}"));
        let path = place.path().join(file);
        type_into(&mut window, "File to write", &path.display().to_string());
        click(&mut window, "Write");
        assert!(shows(&window, "Written to "), "{}", names(&window));
    }
    let read = |file: &str| std::fs::read_to_string(place.path().join(file)).unwrap();
    let answer = &Pack::shipped().exercises["first-pull"].answer.clone();
    let safe = answer.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    assert!(!read("sheet.html").contains(&safe) && read("answers.html").contains(&safe));
    let csv = read("r.csv");
    let lines: Vec<&str> = csv.lines().collect();
    assert!(
        lines.len() == 3 && lines[1].starts_with("Ines,first-pull,,1,") && lines[2].starts_with("Bo,"),
        "{csv}"
    );
    // The same coffee, the same pull: the same score.
    assert_eq!(lines[1].split_once(',').unwrap().1, lines[2].split_once(',').unwrap().1);
}

#[test]
fn a_class_is_shown_one_thing_after_another() {
    let mut notebook = notebook(0);
    notebook.preferences = Preferences { way: WayOfLiving::Class, ..notebook.preferences };
    let mut window = window_of(options(notebook, None), [1280.0, 800.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    press(&mut window, Key::Num5);
    click(&mut window, "Sit down");
    let_go(&mut window);
    press(&mut window, Key::Space);
    click(&mut window, "Serve pull 1");
    assert!(shows(&window, "points of 100") && !shows(&window, "The engine took"), "{}", names(&window));
    click(&mut window, "Uncover: the best cup here");
    assert!(!shows(&window, "The engine took"));
    let_go(&mut window);
    press(&mut window, Key::R);
    assert!(shows(&window, "The engine took"));
    // Studies: the question first, then what the model says, then what was measured.
    press(&mut window, Key::Num4);
    click(&mut window, "Is nine bar a law?");
    assert!(
        shows(&window, "Ask the class") && !shows(&window, "Waszkiewicz et al., Phys."),
        "{}",
        names(&window)
    );
    click(&mut window, "Uncover: what the model says");
    assert!(!shows(&window, "What nobody knows"));
    let_go(&mut window);
    press(&mut window, Key::R);
    press(&mut window, Key::R);
    assert!(shows(&window, "Waszkiewicz et al., Phys.") && shows(&window, "What nobody knows"));
}

#[test]
fn a_teachers_own_files_are_used_and_their_faults_named() {
    use thirdpull::store::{Folder, Holder};
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book");
    let created = Folder::create(&book, &notebook(0), start(), &Holder::here()).unwrap();
    let folder = book.join("practice/exercises");
    std::fs::create_dir_all(&folder).unwrap();
    let text = include_str!("../../assets/practice/exercises/first-pull.ron");
    let mine = text.replacen("title: \"", "title: \"Mine: ", 1);
    std::fs::write(folder.join("mine.ron"), &mine).unwrap();
    std::fs::write(folder.join("torn.ron"), "Exercise(\n  title: 7,\n").unwrap();
    let backing: Box<dyn Backing> = Box::new(created.folder);
    let mut options = options(notebook(0), None);
    options.opened.bench = Workbench::new(notebook(0), Some(backing), None);
    let mut window = window_of(options, [1280.0, 800.0], 1.0);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    press(&mut window, Key::Num5);
    assert!(shows(&window, "Mine: "), "{}", names(&window));
    assert!(shows(&window, "torn.ron:2:"), "{}", names(&window));
}

#[test]
fn space_sits_down_after_a_click_on_the_part() {
    let mut window = window(0);
    press_with(&mut window, Modifiers::COMMAND, Key::B);
    click(&mut window, "Part of the bench: Exercises");
    press(&mut window, Key::Space);
    assert!(shows(&window, "The bag says"), "{}", names(&window));
}
