//! `check` names file, line, column and what to do.

use std::fs;

use jiff::Timestamp;
use thirdpull::store::{Folder, Problem, back_up, check, fix};

use super::*;

fn now() -> Timestamp {
    at(5000)
}

/// Problems after replacing `from` by `to` (first place) in the bag's file, and the line on which `to` then stands.
fn after(from: &str, to: &str) -> (Vec<Problem>, usize) {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap().replace(&id(77).to_string(), &id(100).to_string());
    assert!(text.contains(from), "{from} is not in\n{text}");
    let text = text.replacen(from, to, 1);
    let line = text.get(..text.find(to).unwrap()).unwrap().lines().count().max(1);
    let line = if text.get(..text.find(to).unwrap()).unwrap().ends_with('\n') { line + 1 } else { line };
    fs::write(&file, text).unwrap();
    (check(&path, now()), line)
}

#[test]
fn a_sound_notebook_has_no_problems() {
    let (problems, _) = after("format: 1", "format: 1");
    assert_eq!(problems, []);
    // 2000 and 2024 do have that day.
    for day in ["2000-02-29", "2024-02-29"] {
        assert_eq!(after("roasted_on: \"2026-09-01\"", &format!("roasted_on: \"{day}\"")).0, []);
    }
}

#[test]
fn each_slip_is_named_at_its_line() {
    for (from, to, says) in [
        ("dose_g: 18.1,", "dose_g: 181.0,", "dose must be between 1 and 60 g"),
        ("time_s: 27.4", "time_s: 27400", "milliseconds"),
        ("first_drip_s: 6.1", "first_drip_s: 61", "after the end"),
        ("tds_pct: 8.9", "tds_pct: 89", "strength must be"),
        ("roasted_on: \"2026-09-01\"", "roasted_on: \"2031-09-01\"", "lies in the future"),
        ("opened_on: \"2026-09-14\"", "opened_on: \"2026-08-14\"", "before it was roasted"),
        ("roasted_on: \"2026-09-01\"", "roasted_on: \"2026-09-31\"", "cannot be read"),
        // The Gregorian calendar (reform of 1582, ISO 8601): 1900 and 2023 have no 29 February.
        ("roasted_on: \"2026-09-01\"", "roasted_on: \"2023-02-29\"", "cannot be read"),
        ("roasted_on: \"2026-09-01\"", "roasted_on: \"1900-02-29\"", "cannot be read"),
        ("roast: medium_light", "roast: mediumlight", "use one of light, medium_light"),
        ("sourness: 1", "sourness: 3", "from -2 to 2; 3 is not"),
        ("liking: 6", "liking: 10", "from 1 to 9"),
        ("name: \"Quarry", "nmae: \"Quarry", "name"),
        ("tds_pct: 8.9", "tsd_pct: 8.9", "`tsd_pct` is kept, not understood"),
        ("yield_g: 39.8,", "yield_g: 39.8 g,", "comma"),
        ("yield_g: 39.8,", "yield_g: NaN,", "finite"),
        ("yield_g: 39.8,", "yield_g: 1e999,", "finite"),
    ] {
        let (problems, line) = after(from, to);
        let found = problems.iter().find(|problem| problem.to_string().contains(says));
        let found = found.unwrap_or_else(|| panic!("{to}: “{says}” is not in {problems:?}"));
        // A missing field shows at the end of its record, everything else on its line.
        assert!(found.line == line || to.starts_with("nmae"), "{to} stands on line {line}: {found}");
        assert!(found.column > 0 && !found.todo.is_empty(), "{found}");
        assert!(found.file.starts_with("bags"), "{found}");
    }
}

#[test]
fn the_column_is_that_of_the_value() {
    let (problems, line) = after("dose_g: 18.1,", "dose_g: 181.0,");
    let [problem] = &problems[..] else { panic!("{problems:?}") };
    // "        recipe: (grind: 12.5, dose_g: " has 38 characters.
    assert_eq!((problem.line, problem.column), (line, 39));
}

#[test]
fn what_points_to_nothing_or_stands_twice_is_found() {
    let (problems, _) = after(&format!("station: \"{}\"", id(1)), &format!("station: \"{}\"", id(3)));
    assert!(
        problems.iter().any(|p| p.what.contains("station is not in the notebook") && p.line > 1),
        "{problems:?}"
    );
    let (problems, _) = after(&format!("drinker: \"{}\"", id(2)), &format!("drinker: \"{}\"", id(3)));
    assert!(problems.iter().any(|p| p.what.contains("drinker is not")), "{problems:?}");
    let (problems, _) = after(&format!("id: \"{}\"", id(101)), &format!("id: \"{}\"", id(102)));
    assert!(problems.iter().any(|p| p.what.contains("twice")), "{problems:?}");
    let (problems, _) = after("note: \"a bit thin\"", "has_trace: true");
    assert!(
        problems.iter().any(|p| p.what.contains(&format!("traces/{}.ron is missing", id(100)))),
        "{problems:?}"
    );
    let (problems, _) = after("format: 1", "format: 2");
    assert!(problems.iter().any(|p| p.what.contains("newer version")), "{problems:?}");
}

#[test]
fn fix_mends_what_needs_no_guessing_and_says_so() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    back_up(&path, at(2000)).unwrap();
    let file = bag_file(&path);
    let good = fs::read_to_string(&file).unwrap();
    // A drinker's file that does not read (restored from the backup), a doubled pull, a stamp from the future, a trace
    // that is not there, a keeper's pull that is not there.
    fs::write(path.join("notebook.ron"), "(format: 1, drinkers: [(").unwrap();
    let second = good.find(&format!("id: \"{}\"", id(101))).unwrap();
    let third = good.find(&format!("id: \"{}\"", id(102))).unwrap();
    let open_at = |place: usize| good.get(..place).unwrap().rfind('(').unwrap();
    let doubled = good.get(open_at(second)..open_at(third)).unwrap();
    let mut text = good.clone();
    text.insert_str(open_at(third), &doubled.replace("a bit thin", "an older one").replace("2026", "2025"));
    let text = text
        .replacen(&format!("changed: \"{}\"", at(103)), &format!("changed: \"{}\"", at(9_000_000)), 1)
        .replacen("spurting: true", "has_trace: true, spurting: true", 1);
    fs::write(&file, text).unwrap();
    assert!(check(&path, now()).len() >= 5, "{:?}", check(&path, now()));
    let mends = fix(&path, now(), &me()).unwrap();
    let said: Vec<String> = mends.iter().map(ToString::to_string).collect();
    for words in [
        "restored as of",
        "stood there twice",
        "stamp was corrected",
        "has none; corrected",
        "keeper named a pull",
    ] {
        assert!(said.iter().any(|line| line.contains(words)), "“{words}” is not in {said:#?}");
    }
    assert_eq!(check(&path, now()), []);
    let mut expected = notebook();
    expected.bags[0].keeper.as_mut().unwrap().from_pull = None;
    expected.bags[0].pulls[3].stamp.changed = now();
    assert_eq!(open(&path).notebook, expected);
    assert_eq!(fix(&path, now(), &me()).unwrap(), []);
}

#[test]
fn findings_are_told_in_the_language_in_use() {
    use thirdpull::words::{made_up_of, put_for_thread};
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let folder = bag_file(&path).parent().unwrap().to_owned();
    for number in 0..40 {
        fs::write(folder.join(format!("slip-{number}.ron")), "(format: 1, id: 3").unwrap();
    }
    let look = || {
        let opened = open(&path).problems;
        [check(&path, now()), opened].concat()
    };
    let english = look();
    put_for_thread(Some(made_up_of(&thirdpull::workbench::language_file())));
    let other = look();
    put_for_thread(None);
    assert!(english.len() >= 80 && english.len() == other.len(), "{english:?}\n{other:?}");
    for problem in &other {
        assert!(problem.what.starts_with('⟦') && problem.todo.starts_with('⟦'), "{problem}");
    }
    assert!(english.iter().all(|problem| !problem.to_string().contains('⟦')), "{english:?}");
}
