//! Exercises: the same seed is the same for everybody, scoring is fair and repeatable, rules of the game hold.

use thirdpull::domain::Lever;
use thirdpull::practice::class::{names, results_csv, seed_of, worksheet};
use thirdpull::practice::exercise::Move;
use thirdpull::practice::{Pack, ResultLine, Sitting, SittingFault};

fn begin(name: &str, seed: u64) -> Sitting {
    let pack = Pack::shipped();
    let exercise = &pack.exercises[name];
    Sitting::begin(exercise, &pack.hidden(exercise).expect("whole"), seed).expect("sound")
}

#[test]
fn the_same_word_gives_everybody_the_same() {
    let seed = seed_of("Tern 7");
    assert_eq!(seed, seed_of(" tern7 "));
    assert_ne!(seed, seed_of("tern 8"));
    let play = || {
        let mut sitting = begin("light-bag", seed);
        let start = sitting.start();
        let next = start.with(Lever::Grind, start.grind - 4.0);
        sitting.pull(&start).expect("a pull");
        sitting.pull(&next).expect("a pull");
        sitting.serve(2).expect("pulled");
        (sitting.pulled().to_vec(), sitting.score().expect("served"))
    };
    assert_eq!(play(), play());
    let hidden = |seed| begin("light-bag", seed).hidden().coffee.flow;
    assert!((hidden(seed) - hidden(seed + 1)).abs() > 1e-6, "another seed, another coffee");
    // Luck belongs to the number of the pull, not to what was set: two students meet the same second pull.
    let mut one = begin("light-bag", seed);
    let start = one.start();
    one.pull(&start).expect("a pull");
    one.pull(&start).expect("a pull");
    let doses: Vec<f64> = one.pulled().iter().map(|pulled| pulled.used.dose_g).collect();
    let mut other = begin("light-bag", seed);
    other.pull(&start.with(Lever::Yield, 40.0)).expect("a pull");
    other.pull(&start.with(Lever::Yield, 44.0)).expect("a pull");
    assert_eq!(doses, other.pulled().iter().map(|pulled| pulled.used.dose_g).collect::<Vec<_>>());
}

#[test]
fn serving_the_best_beats_serving_the_start_everywhere() {
    let pack = Pack::shipped();
    for name in pack.exercises.keys() {
        for seed in [0, seed_of("tern")] {
            let score = |best: bool| {
                let mut sitting = begin(name, seed);
                let recipe = if best { sitting.best().expect("reachable").recipe } else { sitting.start() };
                sitting.pull(&recipe).expect("a pull");
                sitting.serve(1).expect("pulled");
                sitting.score().expect("served")
            };
            let (good, poor) = (score(true), score(false));
            // The search tastes drinks on the way of one longer pull; the served one is pulled to its end.
            assert!(good.gap < 0.01 && good.passed, "{name} {seed}: {good:?}");
            assert!(poor.gap > 0.1, "{name} {seed}: {poor:?}");
            assert!(good.points > poor.points, "{name} {seed}: {} {}", good.points, poor.points);
            assert!(good.best.liking >= 5.5, "{name} {seed}: {good:?}");
            assert!((good.best.liking - poor.best.liking).abs() < 0.01, "{name} {seed}");
        }
    }
}

/// The search for the best cup is checked against every recipe of the grid on a small exercise.
#[test]
fn no_recipe_on_the_grid_beats_the_best() {
    use thirdpull::practice::Brew;
    use thirdpull::practice::best::liking_of;
    let sitting = begin("first-pull", 0);
    let best = sitting.best().expect("reachable");
    let hidden = sitting.hidden();
    let brew = Brew {
        coffee: &hidden.coffee,
        grinder: &hidden.station.grinder,
        bar: &hidden.station.bar,
        age_days: sitting.exercise().age_days,
    };
    let scale = sitting.gear().grind.scale;
    for at in 0..scale.count() {
        let recipe = sitting.start().with(Lever::Grind, scale.at(at));
        let liking = liking_of(&brew, &hidden.palate, &recipe).expect("within range");
        assert!(liking <= best.liking + 1e-3, "{} gives {liking}", recipe.grind);
    }
}

#[test]
fn the_rules_of_the_game_hold() {
    let mut sitting = begin("three-stops", 0);
    let start = sitting.start();
    assert_eq!(sitting.serve(1), Err(SittingFault::NothingPulled));
    assert_eq!(sitting.score().err(), Some(SittingFault::NothingPulled));
    let moved = start.with(Lever::Grind, start.grind + 1.0);
    let refused = sitting.pull(&moved).err();
    assert_eq!(refused, Some(SittingFault::Fixed(Move::Grind)));
    assert_eq!(refused.map(|why| why.to_string()).as_deref(), Some("this exercise keeps the grind as it is"));
    assert!(sitting.pulled().is_empty(), "a refused pull costs nothing");
    let most = sitting.exercise().most_pulls;
    for _ in 0..most {
        sitting.pull(&start).expect("a pull");
    }
    assert_eq!(sitting.pull(&start).err(), Some(SittingFault::NoPullsLeft(most)));
    sitting.serve(most).expect("pulled");
    assert_eq!(sitting.serve(1), Err(SittingFault::Served));
    assert_eq!(sitting.pull(&start).err(), Some(SittingFault::Served));
    let hints = sitting.exercise().hints.len();
    let before = sitting.score().expect("served");
    assert_eq!((0..hints + 3).filter(|_| sitting.hint().is_some()).count(), hints);
    let after = sitting.score().expect("served");
    assert_eq!(after.hints, hints);
    assert!(after.points < before.points);
}

#[test]
fn what_is_not_shown_is_not_there() {
    let pull = |name: &str| {
        let mut sitting = begin(name, 0);
        let start = sitting.start();
        sitting.pull(&start).expect("a pull").clone()
    };
    let tongue = pull("by-tongue");
    assert!(tongue.time_s.is_none() && tongue.tds_pct.is_none() && tongue.trace.is_none());
    assert!(tongue.taste.liking().is_some());
    let numbers = pull("numbers-only");
    assert!(numbers.taste.is_empty() && numbers.time_s.is_some() && numbers.tds_pct.is_some());
    let choked = pull("choked");
    assert!(choked.flags.choked && choked.flags.sink && choked.taste.is_empty());
    let jets = pull("jets");
    assert!(jets.flags.spurting && jets.trace.is_some());
}

#[test]
fn results_are_a_table_that_any_spreadsheet_reads() {
    let mut sitting = begin("first-pull", 0);
    let start = sitting.start();
    sitting.pull(&start).expect("a pull");
    sitting.serve(1).expect("pulled");
    let score = sitting.score().expect("served");
    let line = |student: &str| ResultLine {
        student: student.to_owned(),
        exercise: "first-pull".to_owned(),
        word: "tern".to_owned(),
        score: score.clone(),
    };
    let all: Vec<ResultLine> =
        names(" Ana \n\nBo, the \"tall\"\nAna\n=SUM(A1)\n").iter().map(|n| line(n)).collect();
    assert_eq!(all.len(), 3);
    let text = results_csv(&all).expect("in memory");
    let mut table = csv::Reader::from_reader(text.as_bytes());
    let header = table.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = table.records().map(|row| row.expect("a row")).collect();
    assert_eq!((header.len(), rows.len()), (16, 3));
    assert_eq!(&rows[1][0], "Bo, the \"tall\"");
    assert_eq!(&rows[2][0], "'=SUM(A1)", "no name is taken for a formula");
    assert_eq!(rows[0][3].parse(), Ok(1));
}

#[test]
fn a_worksheet_has_its_answers_apart() {
    let pack = Pack::shipped();
    for exercise in pack.exercises.values() {
        let sheet = worksheet(exercise, "tern");
        assert_eq!(sheet.rows, exercise.most_pulls);
        assert_eq!(sheet.answers.len(), sheet.questions.len() + 1);
        assert!(sheet.columns.len() >= 6 && !sheet.cautions.is_empty());
        assert!(!sheet.task.contains(&exercise.answer));
    }
}
