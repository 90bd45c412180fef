//! Exercises: the list, the pulls of a sitting, the score in words, what was hidden, and the worksheet as a page.

use crate::domain::{Attribute, Finer, Lever, Mark, Recipe};
use crate::practice::class::{CAUTIONS, worksheet};
use crate::practice::exercise::Hidden;
use crate::practice::{Exercise, Pack, Pulled, ResultLine, Score, Worksheet};
use crate::units::{Quantity, UnitPreferences, counted, listed};
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
    let water = recipe.temperature_c.map_or(String::new(), |c| format!(", {}", units.value(Quantity::Temperature, c)));
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
            Show::Marks => "the drinker's marks",
            Show::Liking => "the drinker's liking",
            Show::Trace => "the strips",
        })
        .collect();
    format!("You may move {}. You see {}. {} at hand.", listed(&moves), listed(&shows), counted(exercise.most_pulls, "pull", "pulls"))
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
        let drip = pulled.first_drip_s.map_or(String::new(), |s| format!(", first drip {} s", units.number(s, 1)));
        parts.push(format!("{} s{drip}", units.number(time_s, 1)));
    }
    parts.extend(pulled.tds_pct.map(|tds| format!("strength {} %", units.number(tds, 2))));
    let marks = marks_words(pulled);
    if !marks.is_empty() {
        parts.push(marks);
    }
    parts.extend(pulled.taste.liking().map(|liking| format!("liking {liking}")));
    for (set, word) in
        [(pulled.flags.choked, "choked"), (pulled.flags.spurting, "spurting"), (pulled.flags.sink, "poured away")]
    {
        if set {
            parts.push(word.to_owned());
        }
    }
    parts.join(" · ")
}

/// The score in sentences.
#[must_use]
pub fn score_words(score: &Score, decimals: usize, units: &UnitPreferences) -> Vec<String> {
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
        format!("The best: {}.", recipe_words(&score.best.recipe, decimals, units)),
    ]
}

/// How the engine did, in a sentence.
#[must_use]
pub fn engine_words(engine: &EngineRun, units: &UnitPreferences) -> String {
    let how = if engine.settled { "and was content" } else { "and ran out of pulls" };
    format!(
        "The engine took {} {how}; its cup is liked {}, {} points.",
        engine.pulls,
        units.number(engine.score.served.liking, 1),
        engine.score.points
    )
}

/// What was hidden, in sentences.
#[must_use]
pub fn revealed(hidden: &Hidden, exercise: &Exercise, units: &UnitPreferences) -> Vec<String> {
    let grinder = &hidden.station.grinder;
    let finer = if grinder.finer == Finer::Lower { "lower" } else { "higher" };
    vec![
        format!("The coffee: {}, {} roast. {}", hidden.coffee.name, hidden.coffee.roast.word(), hidden.coffee.about),
        format!("The drinker: {}.", hidden.palate.name),
        format!(
            "The grinder: {} is finer, one mark is {} µm.",
            finer,
            units.number(grinder.um_per_unit * grinder.marks.2, 0)
        ),
        exercise.answer.clone(),
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

/// The worksheet of an exercise as a page for a browser to print; with `answers` the sheet for the teacher.
#[must_use]
pub fn worksheet_page(exercise: &Exercise, word: &str, answers: bool) -> String {
    let sheet: Worksheet = worksheet(exercise, word);
    let safe = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let title = safe(&sheet.title);
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{title}</title>\n<style>\
         body{{font:11pt/1.4 sans-serif;margin:18mm;color:#000}}h1{{font-size:18pt;margin:0}}\
         table{{border-collapse:collapse;width:100%;margin:6mm 0}}td,th{{border:1px solid #000;padding:2mm;\
         text-align:left;font-size:9pt}}td{{height:9mm}}.line{{border-bottom:1px solid #000;height:9mm}}\
         small{{font-size:9pt}}</style></head><body>\n<h1>{title}{}</h1>\n<p>{}{}</p>\n<p>{}</p>\n",
        if answers { " — answers" } else { "" },
        sheet.level,
        if sheet.word.is_empty() { String::new() } else { format!(" · word on the blackboard: {}", safe(&sheet.word)) },
        safe(&sheet.task)
    );
    if answers {
        let mut answers = sheet.answers.iter();
        page += "<ol>\n";
        for question in &sheet.questions {
            let answer = answers.next().map_or(String::new(), |answer| safe(answer));
            page += &format!("<li><p>{}</p><p><b>{answer}</b></p></li>\n", safe(question));
        }
        page += "</ol>\n";
        for rest in answers {
            page += &format!("<p>{}</p>\n", safe(rest));
        }
    } else {
        page += &format!("<p>Name: ______________________</p>\n<p>Begin at: {}</p>\n<table><tr>", safe(&sheet.start));
        for column in &sheet.columns {
            page += &format!("<th>{}</th>", safe(column));
        }
        page += "</tr>\n";
        for row in 1..=sheet.rows {
            page += &format!("<tr><td>{row}</td>{}</tr>\n", "<td></td>".repeat(sheet.columns.len().saturating_sub(1)));
        }
        page += "</table>\n<ol>\n";
        for question in &sheet.questions {
            page += &format!("<li>{}<div class=\"line\"></div><div class=\"line\"></div></li>\n", safe(question));
        }
        page += "</ol>\n<small><b>Before anyone goes to the machine</b><ul>\n";
        for caution in CAUTIONS {
            page += &format!("<li>{}</li>\n", safe(caution));
        }
        page += "</ul></small>\n";
    }
    page += "<p><small>Simulated; local rules and a teacher's word come first.</small></p>\n</body></html>\n";
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sheet_has_no_answers_and_the_other_one_has() {
        let pack = Pack::shipped();
        for (name, exercise) in &pack.exercises {
            let (sheet, answers) =
                (worksheet_page(exercise, "tern <7>", false), worksheet_page(exercise, "tern <7>", true));
            assert!(sheet.contains("tern &lt;7&gt;") && sheet.contains("scald"), "{name}");
            assert_eq!(sheet.matches("<tr>").count(), exercise.most_pulls + 1, "{name}");
            for question in &exercise.questions {
                let answer = question.answer.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
                assert!(!sheet.contains(&answer) && answers.contains(&answer), "{name}");
            }
        }
        let levels: Vec<&str> = list(&pack).iter().map(|item| item.level).collect();
        assert_eq!(levels.first(), Some(&"first day"));
        assert_eq!(levels.last(), Some(&"expert"));
    }
}
