//! Exercises: the list, the pulls of a sitting, the score in words, what was hidden, and the worksheet as a page.

use crate::domain::{Attribute, Finer, Lever, Mark, Recipe};
use crate::practice::exercise::Hidden;
use crate::practice::{Exercise, Pack, Pulled, ResultLine, Score};
use crate::units::{Quantity, UnitPreferences, capital, listed};
use crate::workbench::practice::{EngineRun, Seat};

/// One exercise in the list.
#[derive(Debug, Clone, PartialEq)]
pub struct ExerciseItem {
    /// File name without `.ron`.
    pub name: String,
    /// Title.
    pub title: String,
    /// "first day".
    pub level: &'static str,
}

/// All exercises, easiest first.
#[must_use]
pub fn list(pack: &Pack) -> Vec<ExerciseItem> {
    pack.graded()
        .into_iter()
        .map(|(name, exercise)| ExerciseItem {
            name: name.to_owned(),
            title: exercise.title.clone(),
            level: exercise.level.name(),
        })
        .collect()
}

/// "grind 14, 18.0 g in, 36.0 g out, 93 °C".
#[must_use]
pub fn recipe_words(recipe: &Recipe, decimals: usize, units: &UnitPreferences) -> String {
    let water = recipe
        .temperature_c
        .map_or(String::new(), |c| format!(", {}", units.value(Quantity::Temperature, c)));
    say!(
        "view-practice-exercises-grind-in-out",
        number = units.number(recipe.grind, decimals),
        value = units.value(Quantity::Dose, recipe.dose_g),
        value_2 = units.value(Quantity::Yield, recipe.yield_g),
        water = water
    )
}

/// What may be moved and what is shown, in one sentence.
#[must_use]
pub fn rules(exercise: &Exercise) -> String {
    use crate::practice::exercise::Show;
    let moves: Vec<&str> = exercise
        .moves
        .iter()
        .map(|one| match one.lever() {
            Lever::Grind => word!("view-practice-exercises-the-grind"),
            Lever::Dose => word!("view-practice-exercises-the-dose"),
            Lever::Yield => word!("view-practice-exercises-the-drink"),
            Lever::Temperature => word!("view-practice-exercises-the-water"),
        })
        .collect();
    let shows: Vec<&str> = exercise
        .shows
        .iter()
        .map(|one| match one {
            Show::Clock => word!("view-practice-exercises-the-clock"),
            Show::Strength => word!("view-practice-exercises-the-strength"),
            Show::Marks => word!("view-practice-exercises-the-drinkers-marks"),
            Show::Liking => word!("view-practice-exercises-the-drinkers-liking"),
            Show::Trace => word!("view-practice-exercises-the-strips"),
        })
        .collect();
    say!(
        "view-practice-exercises-you-may-move-you-see-at",
        listed = listed(&moves),
        listed_2 = listed(&shows),
        counted = say!("view-practice-exercises-count-pulls", n = exercise.most_pulls)
    )
}

/// The drinker's marks in words: "too sour, far too thin".
#[must_use]
pub fn marks_words(pulled: &Pulled) -> String {
    let words = |attribute: Attribute| match attribute {
        Attribute::Sourness => (word!("view-practice-exercises-sour"), word!("view-practice-exercises-flat")),
        Attribute::Bitterness => {
            (word!("view-practice-exercises-bitter"), word!("view-practice-exercises-tame"))
        }
        Attribute::Strength => {
            (word!("view-practice-exercises-strong"), word!("view-practice-exercises-weak"))
        }
        Attribute::Body => (word!("view-practice-exercises-heavy"), word!("view-practice-exercises-thin")),
        Attribute::Astringency => {
            (word!("view-practice-exercises-drying"), word!("view-practice-exercises-slick"))
        }
        Attribute::Sweetness => {
            (word!("view-practice-exercises-sweet"), word!("view-practice-exercises-little-sweet"))
        }
    };
    let said: Vec<String> = Attribute::ALL
        .into_iter()
        .filter_map(|attribute| {
            let mark = pulled.taste.mark(attribute).map(Mark::value)?;
            let (more, less) = words(attribute);
            match mark {
                0 => None,
                1 => Some(say!("view-practice-exercises-too", more = more)),
                -1 => Some(say!("view-practice-exercises-too-2", less = less)),
                high if high > 0 => Some(say!("view-practice-exercises-far-too", more = more)),
                _ => Some(say!("view-practice-exercises-far-too-2", less = less)),
            }
        })
        .collect();
    let any = Attribute::ALL.into_iter().any(|attribute| pulled.taste.mark(attribute).is_some());
    if said.is_empty() && any {
        word!("view-practice-exercises-all-just-right").to_owned()
    } else {
        listed(&said)
    }
}

/// One pull as a line.
#[must_use]
pub fn pull_line(number: usize, pulled: &Pulled, decimals: usize, units: &UnitPreferences) -> String {
    let mut parts = vec![format!("{number}. {}", recipe_words(&pulled.used, decimals, units))];
    if let Some(time_s) = pulled.time_s {
        let drip = pulled.first_drip_s.map_or(String::new(), |s| {
            say!("view-practice-exercises-first-drip-s", number = units.number(s, 1))
        });
        parts.push(format!("{} s{drip}", units.number(time_s, 1)));
    }
    parts.extend(
        pulled.tds_pct.map(|tds| say!("view-practice-exercises-strength", number = units.number(tds, 2))),
    );
    let marks = marks_words(pulled);
    if !marks.is_empty() {
        parts.push(marks);
    }
    parts.extend(pulled.taste.liking().map(|liking| say!("view-practice-exercises-liking", liking = liking)));
    for (set, word) in [
        (pulled.flags.choked, word!("view-practice-exercises-choked")),
        (pulled.flags.spurting, word!("view-practice-exercises-spurting")),
        (pulled.flags.sink, word!("view-practice-exercises-poured-away")),
    ] {
        if set {
            parts.push(word.to_owned());
        }
    }
    parts.join(" · ")
}

/// The score in sentences.
#[must_use]
pub fn score_words(score: &Score, units: &UnitPreferences) -> Vec<String> {
    let n = |value: f64| units.number(value, 1);
    vec![
        say!(
            "view-practice-exercises-points-of-100",
            points = score.points,
            part = if score.passed {
                word!("view-practice-exercises-the-cup-passes")
            } else {
                word!("view-practice-exercises-not-near-enough-yet")
            }
        ),
        say!(
            "view-practice-exercises-your-cup-is-liked-the-best",
            n = n(score.served.liking),
            n_2 = n(score.best.liking),
            n_3 = n(score.gap)
        ),
        say!(
            "view-practice-exercises-poured-away-g-of-coffee",
            counted = say!("view-practice-exercises-count-pulls", n = score.pulls),
            sinks = score.sinks,
            coffee = units.value(Quantity::BeanMass, score.coffee_g),
            counted_2 = say!("view-practice-exercises-count-hints", n = score.hints)
        ),
    ]
}

/// How the engine did, in sentences: what it took, then each of its pulls.
#[must_use]
pub fn engine_words(engine: &EngineRun, decimals: usize, units: &UnitPreferences) -> Vec<String> {
    let how = if engine.settled {
        word!("view-practice-exercises-and-was-content")
    } else {
        word!("view-practice-exercises-and-ran-out-of-pulls")
    };
    let head = say!(
        "view-practice-exercises-the-engine-took-it-served-pull",
        counted = say!("view-practice-exercises-count-pulls", n = engine.pulled.len()),
        how = how,
        served = engine.served,
        number = units.number(engine.score.served.liking, 1),
        points = engine.score.points
    );
    let pulls = engine.pulled.iter().enumerate();
    std::iter::once(head)
        .chain(pulls.map(|(at, pulled)| pull_line(at + 1, pulled, decimals, units)))
        .collect()
}

/// What the bag says, as any bag does, and how old it is.
#[must_use]
pub fn bag_words(seat: &Seat, units: &UnitPreferences) -> String {
    let (hidden, exercise) = (seat.sitting().hidden(), seat.sitting().exercise());
    let finer = if hidden.station.grinder.finer == Finer::Lower {
        word!("view-practice-exercises-lower")
    } else {
        word!("view-practice-exercises-higher")
    };
    say!(
        "view-practice-exercises-the-bag-says-roast-days-ago",
        roast = hidden.coffee.roast.word(),
        number = units.number(exercise.age_days, 0),
        finer = finer
    )
}

/// One thing to be uncovered at the end, and what it says.
#[derive(Debug, Clone, PartialEq)]
pub struct Covered {
    /// "The drinker".
    pub title: &'static str,
    /// What it says.
    pub says: Vec<String>,
}

/// What is uncovered at the end, one thing after another.
#[must_use]
pub fn covered(
    score: &Score,
    engine: Option<&Result<EngineRun, String>>,
    hidden: &Hidden,
    exercise: &Exercise,
    decimals: usize,
    units: &UnitPreferences,
) -> Vec<Covered> {
    let grinder = &hidden.station.grinder;
    let one = |title, says: String| Covered { title, says: vec![says] };
    let engine = match engine {
        None => vec![word!("view-practice-exercises-the-engine-is-still-pulling").to_owned()],
        Some(Err(why)) => vec![say!("view-practice-exercises-the-engine-could-not-play", why = why)],
        Some(Ok(run)) => engine_words(run, decimals, units),
    };
    vec![
        one(
            word!("view-practice-exercises-the-best-cup-here"),
            format!("{}.", recipe_words(&score.best.recipe, decimals, units)),
        ),
        Covered { title: word!("view-practice-exercises-the-engine-at-the-same-coffee"), says: engine },
        one(
            word!("view-practice-exercises-the-coffee"),
            say!(
                "view-practice-exercises-roast",
                name = hidden.coffee.name,
                roast = hidden.coffee.roast.word(),
                about = hidden.coffee.about
            ),
        ),
        one(word!("view-practice-exercises-the-drinker"), format!("{}.", capital(&hidden.palate.name))),
        one(
            word!("view-practice-exercises-the-grinder"),
            say!(
                "view-practice-exercises-one-mark-is-m",
                number = units.number(grinder.um_per_unit * grinder.marks.2, 0)
            ),
        ),
        one(word!("view-practice-exercises-in-one-sentence"), exercise.answer.clone()),
    ]
}

/// One line of the class's results.
#[must_use]
pub fn result_line(line: &ResultLine) -> String {
    let who =
        if line.student.is_empty() { word!("view-practice-exercises-nobody-named") } else { &line.student };
    let word = if line.word.is_empty() { String::new() } else { format!(" ({})", line.word) };
    say!(
        "view-practice-exercises-points-poured-away",
        who = who,
        exercise = line.exercise,
        word = word,
        points = line.score.points,
        counted = say!("view-practice-exercises-count-pulls", n = line.score.pulls),
        sinks = line.score.sinks
    )
}

/// Decimals of the grinder's scale at a seat.
#[must_use]
pub fn grind_decimals(seat: &Seat) -> usize {
    seat.sitting().gear().grind.scale.decimals()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_graded_and_nothing_hidden_is_told_before_the_end() {
        let (pack, units) = (Pack::shipped(), UnitPreferences::default());
        let levels: Vec<&str> = list(&pack).iter().map(|item| item.level).collect();
        assert_eq!((levels.first(), levels.last()), (Some(&"first day"), Some(&"expert")));
        for (name, exercise) in &pack.exercises {
            let mut seat = Seat::take(&pack, name, "tern 7", "Ines").unwrap();
            seat.pull().unwrap();
            let line = pull_line(1, &seat.sitting().pulled()[0], grind_decimals(&seat), &units);
            let told = [rules(exercise), bag_words(&seat, &units), line].join(" ");
            let hidden = seat.sitting().hidden().clone();
            assert!(
                !told.contains(&hidden.coffee.name) && !told.contains(&hidden.palate.name),
                "{name}: {told}"
            );
            seat.serve(1).unwrap();
            let score = seat.sitting().score().unwrap();
            assert!(score_words(&score, &units)[0].starts_with(&format!("{} points", score.points)));
            let shown = covered(&score, None, &hidden, exercise, 1, &units);
            let all: Vec<&str> = shown.iter().flat_map(|one| &one.says).map(String::as_str).collect();
            assert!(all.iter().any(|said| said.contains(&hidden.coffee.name)), "{name}");
            assert!(all.iter().any(|said| said.contains(&capital(&hidden.palate.name))), "{name}");
        }
    }
}
