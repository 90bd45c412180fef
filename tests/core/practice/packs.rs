//! The packs that ship pass their own check; every kind of fault is found and named with its place.

use thirdpull::practice::{Depth, Finding, Level, Pack, SHIPPED, check};

fn shown(findings: &[Finding]) -> String {
    findings.iter().map(|finding| format!("{finding}\n")).collect()
}

#[test]
fn what_ships_passes_the_full_check() {
    let findings = check(SHIPPED.iter().copied(), Depth::Full);
    assert!(findings.is_empty(), "{}", shown(&findings));
}

#[test]
fn the_list_of_shipped_files_is_whole() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/practice");
    let mut there = Vec::new();
    for folder in ["coffees", "drinkers", "stations", "exercises", "studies"] {
        for entry in std::fs::read_dir(root.join(folder)).expect("the folder is there").flatten() {
            there.push(format!("{folder}/{}", entry.file_name().display()));
        }
    }
    there.sort();
    let mut listed: Vec<&str> = SHIPPED.iter().map(|(file, _)| *file).collect();
    listed.sort_unstable();
    assert_eq!(there, listed);
}

#[test]
fn there_is_enough_for_a_course() {
    let pack = Pack::shipped();
    assert!(pack.coffees.len() >= 8 && pack.exercises.len() >= 12 && pack.studies.len() >= 6);
    for level in Level::ALL {
        assert!(pack.exercises.values().any(|exercise| exercise.level == level), "none for {}", level.name());
    }
    let graded = pack.graded();
    assert!(graded.is_sorted_by_key(|(name, exercise)| (exercise.level, *name)));
    for exercise in pack.exercises.values() {
        assert!(pack.hidden(exercise).is_some() && !exercise.questions.is_empty(), "{}", exercise.title);
    }
    for study in pack.studies.values() {
        assert!(!study.measured.is_empty() && !study.unknown.is_empty(), "{}", study.title);
    }
}

/// One shipped file with one replacement, checked alone; gives the findings.
fn broken(file: &str, from: &str, to: &str, depth: Depth) -> Vec<Finding> {
    let text = SHIPPED.iter().find(|(name, _)| *name == file).expect("ships").1;
    assert!(text.contains(from), "{file} has no {from:?}");
    let text = text.replacen(from, to, 1);
    check([(file, text.as_str())], depth)
}

/// Line and column of the first place where `wanted` stands in a shipped file, column moved by `on`.
fn place(file: &str, wanted: &str, on: usize) -> (usize, usize) {
    let text = SHIPPED.iter().find(|(name, _)| *name == file).expect("ships").1;
    let (line, column) = text
        .lines()
        .enumerate()
        .find_map(|(at, line)| line.find(wanted).map(|column| (at + 1, column + 1)))
        .expect("stands there");
    (line, column + on)
}

#[test]
fn every_fault_is_named_with_its_place() {
    use Depth::{Full, Quick};
    let coffee = "coffees/slate-quarry.ron";
    let exercise = "exercises/first-pull.ron";
    let study = "studies/less-dose.ron";
    let station = "stations/school.ron";
    let drinker = "drinkers/bright.ron";
    // File, text to replace, replacement, depth, what the finding must say, where (text, columns on).
    type Case =
        (&'static str, &'static str, &'static str, Depth, &'static str, Option<(&'static str, usize)>);
    let cases: &[Case] = &[
        (coffee, "flow: 0.85", "flow: 99", Quick, "flow is 99", Some(("flow: 0.85", 6))),
        (coffee, "flow: 0.85", "flwo: 0.85", Quick, "flwo", Some(("flow: 0.85", 0))),
        (coffee, "flow: 0.85", "flow: fast", Quick, "Expected", None),
        (coffee, "roast: Light", "roast: Pale", Quick, "Pale", None),
        (coffee, "best_days: (12, 40)", "best_days: (40, 12)", Quick, "runs from 40 back to 12", None),
        (coffee, "name: \"Slate Quarry washed\"", "name: \" \"", Quick, "name says nothing", None),
        (coffee, "name: \"Slate Quarry washed\",", "name: \"Slate Quarry washed,", Quick, "", None),
        (coffee, "gas: 0.2,", "gas: 0.2", Quick, "Expected comma", None),
        (coffee, "solubles: 0.26", "solubles: NaN", Quick, "solubles is NaN", None),
        (drinker, "sourness: 0.7", "sourness: 7", Quick, "ideal.sourness is 7", Some(("sourness: 0.7", 10))),
        (
            station,
            "marks: (1, 50, 1)",
            "marks: (50, 1, 1)",
            Quick,
            "must not be above",
            Some(("marks: (1", 7)),
        ),
        (station, "dose_g: (15, 19, 0.5)", "dose_g: (15, 19, 0)", Quick, "step must be above 0", None),
        (exercise, "coffee: \"river-bend\"", "coffee: \"river-bent\"", Quick, "coffees/river-bent.ron", None),
        (exercise, "most_pulls: 6", "most_pulls: 60", Quick, "most_pulls is 60", Some(("most_pulls: 6", 12))),
        (exercise, "grind: 29", "grind: 29.5", Quick, "grind 29.5 cannot be set", Some(("grind: 29", 7))),
        (exercise, "dose_g: 17", "dose_g: 25", Quick, "dose_g 25 cannot be set", None),
        (
            exercise,
            "station: \"school\"",
            "station: \"kitchen\"",
            Quick,
            "cannot be set at this station",
            None,
        ),
        (exercise, "moves: [Grind]", "moves: []", Quick, "nothing may be moved", None),
        (exercise, "shows: [Clock, Marks, Liking]", "shows: []", Quick, "nothing is shown", None),
        (exercise, "level: FirstDay", "level: Hard", Quick, "Hard", None),
        (exercise, "answer:", "anser:", Quick, "anser", None),
        (exercise, "grind: 29", "grind: 22", Full, "it begins solved", Some(("start:", 7))),
        ("exercises/three-stops.ron", "grind: 22", "grind: 4", Full, "liked only", None),
        (study, "watch: [Strength,", "watch: [Colour,", Quick, "Colour", None),
        (study, "coffee: \"river-bend\"", "coffee: \"\"", Quick, "coffees/.ron", None),
        (study, "unknown: [\"", "unknown: [], ask: [\"", Quick, "", None),
        (
            study,
            "More(Strength, \"18.5 g to 37 g\", \"15.5 g to 37 g\", 0.3)",
            "More(Strength, \"15.5 g to 37 g\", \"18.5 g to 37 g\", 0.3)",
            Full,
            "does not bear this out",
            Some(("claims: [More", 9)),
        ),
        (study, "\"15.5 g to 37 g\", 0.3", "\"15 g\", 0.3", Full, "there is no arm “15 g”", None),
        (
            "studies/gentle-start.ron",
            "[(0, 3), (8, 3), (10, 9)]",
            "[(8, 3), (0, 3), (10, 9)]",
            Quick,
            "comes before",
            Some(("[(0, 3), (8, 3)", 0)),
        ),
        ("studies/saving-coffee.ron", "from: 15, to: 19", "from: 19, to: 19", Quick, "goes nowhere", None),
        (
            "exercises/jets.ron",
            "pull: 1",
            "pull: 9",
            Quick,
            "a surprise waits in pull 9",
            Some(("pull: 1", 6)),
        ),
    ];
    for &(file, from, to, depth, says, at) in cases {
        let found = broken(file, from, to, depth);
        assert!(!found.is_empty(), "{file}: {to} is not noticed");
        let hit = found.iter().find(|finding| finding.what.contains(says));
        let hit = hit.unwrap_or_else(|| panic!("{file}: {to} gives\n{}", shown(&found)));
        assert!(!hit.todo.is_empty() && hit.line > 0, "{hit}");
        if let Some((wanted, on)) = at {
            assert_eq!((hit.line, hit.column), place(file, wanted, on), "{hit}");
        }
    }
}

#[test]
fn a_second_file_of_the_same_name_is_named() {
    let text = "Coffee(name: \"one\")";
    let found = check([("a/mine.ron", text), ("b/mine.ron", text)], Depth::Quick);
    assert_eq!(found.len(), 1, "{}", shown(&found));
    assert!(found[0].what.contains("a/mine.ron") && found[0].file == "b/mine.ron");
}

#[test]
fn a_teachers_file_stands_in_place_of_a_shipped_one() {
    let pack = Pack::with([("mine/river-bend.ron", "Coffee(name: \"ours\", flow: 2)")]);
    assert_eq!(pack.coffees["river-bend"].name, "ours");
    assert_eq!(pack.coffees.len(), Pack::shipped().coffees.len());
}

#[test]
fn noise_never_panics_the_check() {
    for noise in [
        "",
        "\u{0}\u{1}",
        "((((((",
        "Coffee",
        "Coffee(",
        "Exercise()",
        "Study(title: 3)",
        "[]",
        "\u{feff}Coffee(name: \"a\")",
    ] {
        let found = check([("noise.ron", noise)], Depth::Full);
        assert!(found.iter().all(|finding| !finding.what.is_empty()));
    }
    let deep = "Coffee(".repeat(3000);
    assert!(!check([("deep.ron", deep.as_str())], Depth::Quick).is_empty());
}
