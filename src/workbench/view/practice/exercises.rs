//! Exercises: the list, the pulls of a sitting, the score in words, what was hidden, and the worksheet as a page.

use crate::domain::{Attribute, Finer, Lever, Mark, Recipe};
use crate::practice::exercise::Hidden;
use crate::practice::{Exercise, Pack, Pulled, ResultLine, Score};
use crate::units::{Quantity, UnitPreferences, capital, counted, listed};
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
    format!(
        "grind {}, {} in, {} out{water}",
        units.number(recipe.grind, decimals),
        units.value(Quantity::Dose, recipe.dose_g),
        units.value(Quantity::Yield, recipe.yield_g)
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
            Lever::Grind => "the grind",
            Lever::Dose => "the dose",
            Lever::Yield => "the drink",
            Lever::Temperature => "the water",
        })
        .collect();
    let shows: Vec<&str> = exercise
        .shows
        .iter()
        .map(|one| match one {
            Show::Clock => "the clock",
            Show::Strength => "the strength",
            Show::Marks => "the drinker’s marks",
            Show::Liking => "the drinker’s liking",
            Show::Trace => "the strips",
        })
        .collect();
    format!(
        "You may move {}. You see {}. {} at hand.",
        listed(&moves),
        listed(&shows),
        counted(exercise.most_pulls, "pull", "pulls")
    )
}

/// The drinker's marks in words: "too sour, far too thin".
#[must_use]
pub fn marks_words(pulled: &Pulled) -> String {
    let words = |attribute: Attribute| match attribute {
        Attribute::Sourness => ("sour", "flat"),
        Attribute::Bitterness => ("bitter", "tame"),
        Attribute::Strength => ("strong", "weak"),
        Attribute::Body => ("heavy", "thin"),
        Attribute::Astringency => ("drying", "slick"),
        Attribute::Sweetness => ("sweet", "little sweet"),
    };
    let said: Vec<String> = Attribute::ALL
        .into_iter()
        .filter_map(|attribute| {
            let mark = pulled.taste.mark(attribute).map(Mark::value)?;
            let (more, less) = words(attribute);
            match mark {
                0 => None,
                1 => Some(format!("too {more}")),
                -1 => Some(format!("too {less}")),
                high if high > 0 => Some(format!("far too {more}")),
                _ => Some(format!("far too {less}")),
            }
        })
        .collect();
    let any = Attribute::ALL.into_iter().any(|attribute| pulled.taste.mark(attribute).is_some());
    if said.is_empty() && any { "all just right".to_owned() } else { listed(&said) }
}

/// One pull as a line.
#[must_use]
pub fn pull_line(number: usize, pulled: &Pulled, decimals: usize, units: &UnitPreferences) -> String {
    let mut parts = vec![format!("{number}. {}", recipe_words(&pulled.used, decimals, units))];
    if let Some(time_s) = pulled.time_s {
        let drip =
            pulled.first_drip_s.map_or(String::new(), |s| format!(", first drip {} s", units.number(s, 1)));
        parts.push(format!("{} s{drip}", units.number(time_s, 1)));
    }
    parts.extend(pulled.tds_pct.map(|tds| format!("strength {} %", units.number(tds, 2))));
    let marks = marks_words(pulled);
    if !marks.is_empty() {
        parts.push(marks);
    }
    parts.extend(pulled.taste.liking().map(|liking| format!("liking {liking}")));
    for (set, word) in [
        (pulled.flags.choked, "choked"),
        (pulled.flags.spurting, "spurting"),
        (pulled.flags.sink, "poured away"),
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
        format!(
            "{} points of 100: {}",
            score.points,
            if score.passed { "the cup passes" } else { "not near enough yet" }
        ),
        format!(
            "Your cup is liked {}; the best that can be reached here {}, {} away.",
            n(score.served.liking),
            n(score.best.liking),
            n(score.gap)
        ),
        format!(
            "{}, {} poured away, {} g of coffee, {}.",
            counted(score.pulls, "pull", "pulls"),
            score.sinks,
            units.number(score.coffee_g, 0),
            counted(score.hints, "hint", "hints")
        ),
    ]
}

/// How the engine did, in sentences: what it took, then each of its pulls.
#[must_use]
pub fn engine_words(engine: &EngineRun, decimals: usize, units: &UnitPreferences) -> Vec<String> {
    let how = if engine.settled { "and was content" } else { "and ran out of pulls" };
    let head = format!(
        "The engine took {} {how}. It served pull {}, which is liked {}: {} points.",
        counted(engine.pulled.len(), "pull", "pulls"),
        engine.served,
        units.number(engine.score.served.liking, 1),
        engine.score.points
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
    let finer = if hidden.station.grinder.finer == Finer::Lower { "lower" } else { "higher" };
    format!(
        "The bag says {} roast, {} days ago. On this grinder {finer} is finer.",
        hidden.coffee.roast.word(),
        units.number(exercise.age_days, 0)
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
        None => vec!["The engine is still pulling.".to_owned()],
        Some(Err(why)) => vec![format!("The engine could not play: {why}.")],
        Some(Ok(run)) => engine_words(run, decimals, units),
    };
    vec![
        one("The best cup here", format!("{}.", recipe_words(&score.best.recipe, decimals, units))),
        Covered { title: "The engine at the same coffee", says: engine },
        one(
            "The coffee",
            format!("{}, {} roast. {}", hidden.coffee.name, hidden.coffee.roast.word(), hidden.coffee.about),
        ),
        one("The drinker", format!("{}.", capital(&hidden.palate.name))),
        one(
            "The grinder",
            format!("One mark is {} µm.", units.number(grinder.um_per_unit * grinder.marks.2, 0)),
        ),
        one("In one sentence", exercise.answer.clone()),
    ]
}

/// One line of the class's results.
#[must_use]
pub fn result_line(line: &ResultLine) -> String {
    let who = if line.student.is_empty() { "nobody named" } else { &line.student };
    let word = if line.word.is_empty() { String::new() } else { format!(" ({})", line.word) };
    format!(
        "{who} · {}{word} · {} points · {} · {} poured away",
        line.exercise,
        line.score.points,
        counted(line.score.pulls, "pull", "pulls"),
        line.score.sinks
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
