//! A class: names, a word that seeds everybody alike, results as a table, worksheets.

use super::exercise::{Exercise, Setting, Show};
use super::sitting::Score;
use crate::units::{Quantity, rounded, shortest, unit};
use crate::words::Name;

/// The seed that a word on the blackboard stands for (FNV-1a, 64 bits), never 0. Case and blanks do not matter.
#[must_use]
pub fn seed_of(word: &str) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325u64;
    for byte in
        word.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect::<String>().bytes()
    {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    hash.max(1)
}

/// Names from a typed or pasted list: one a line, blanks trimmed, empty lines and repetitions left out.
#[must_use]
pub fn names(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for name in text.lines().map(str::trim).filter(|name| !name.is_empty()) {
        if !all.iter().any(|known| known == name) {
            all.push(name.to_owned());
        }
    }
    all
}

/// One line of the results.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultLine {
    /// Who.
    pub student: String,
    /// Which exercise (file name without `.ron`).
    pub exercise: String,
    /// The word on the blackboard.
    pub word: String,
    /// How it went.
    pub score: Score,
}

/// Results as CSV with a header; numbers with a decimal point.
///
/// # Errors
/// Only when memory cannot be written, which the writer reports.
pub fn results_csv(lines: &[ResultLine]) -> Result<String, csv::Error> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record([
        "student",
        "exercise",
        "word",
        "pulls",
        "sinks",
        "coffee_g",
        "hints",
        "grind",
        "dose_g",
        "yield_g",
        "temperature_c",
        "liking",
        "best_liking",
        "gap",
        "passed",
        "points",
    ])?;
    for line in lines {
        let score = &line.score;
        let recipe = &score.served.recipe;
        table.write_record([
            harmless(&line.student),
            line.exercise.clone(),
            harmless(&line.word),
            score.pulls.to_string(),
            score.sinks.to_string(),
            format!("{:.1}", score.coffee_g),
            score.hints.to_string(),
            format!("{}", recipe.grind),
            format!("{}", recipe.dose_g),
            format!("{}", recipe.yield_g),
            recipe.temperature_c.map(|c| format!("{c}")).unwrap_or_default(),
            format!("{:.2}", score.served.liking),
            format!("{:.2}", score.best.liking),
            format!("{:.2}", score.gap),
            score.passed.to_string(),
            score.points.to_string(),
        ])?;
    }
    let bytes = table.into_inner().map_err(|fault| csv::Error::from(fault.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A typed text that no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t']) { format!("'{text}") } else { text.to_owned() }
}

/// What a printed worksheet holds; the answers are printed on a sheet of their own.
#[derive(Debug, Clone, PartialEq)]
pub struct Worksheet {
    /// Title.
    pub title: String,
    /// Level, in words.
    pub level: &'static str,
    /// The word on the blackboard.
    pub word: String,
    /// What to do.
    pub task: String,
    /// Where it begins, in words.
    pub start: String,
    /// Columns of the table to fill in.
    pub columns: Vec<String>,
    /// Rows to fill in.
    pub rows: usize,
    /// Questions, each with lines to write on.
    pub questions: Vec<String>,
    /// Usual cautions.
    pub cautions: Vec<&'static str>,
    /// Answers, in the order of the questions, and the teacher's last word.
    pub answers: Vec<String>,
}

/// Cautions for a class that goes from the screen to the machine (usual practice; local rules come first).
pub const CAUTIONS: [Name; 4] = [
    name!("practice-class-caution-hot"),
    name!("practice-class-caution-pressure"),
    name!("practice-class-caution-burrs"),
    name!("practice-class-caution-caffeine"),
];

/// The worksheet of an exercise.
#[must_use]
pub fn worksheet(exercise: &Exercise, word: &str) -> Worksheet {
    let mut columns = vec![
        word!("practice-class-column-pull").to_owned(),
        word!("practice-class-column-grind").to_owned(),
        say!("practice-class-column-dose", unit = unit(Quantity::Dose)),
        say!("practice-class-column-drink", unit = unit(Quantity::Yield)),
    ];
    if exercise.start.temperature_c.is_some() {
        columns.push(say!("practice-class-column-water", unit = unit(Quantity::Temperature)));
    }
    for show in &exercise.shows {
        let mut add = |words: &[&str]| columns.extend(words.iter().map(|word| (*word).to_owned()));
        match show {
            Show::Clock => {
                add(&[word!("practice-class-column-time"), word!("practice-class-column-first-drip")])
            }
            Show::Strength => add(&[word!("practice-class-column-strength")]),
            Show::Marks => add(&[
                word!("practice-class-column-sour"),
                word!("practice-class-column-bitter"),
                word!("practice-class-column-strong"),
                word!("practice-class-column-body"),
                word!("practice-class-column-dry"),
                word!("practice-class-column-sweet"),
            ]),
            Show::Liking => add(&[word!("practice-class-column-liking")]),
            Show::Trace => add(&[word!("practice-class-column-strips")]),
        }
    }
    columns.push(word!("practice-class-column-next").to_owned());
    let mut answers: Vec<String> = exercise.questions.iter().map(|q| q.answer.clone()).collect();
    answers.push(exercise.answer.clone());
    Worksheet {
        title: exercise.title.clone(),
        level: exercise.level.name(),
        word: word.to_owned(),
        task: exercise.task.clone(),
        start: start_words(&exercise.start),
        columns,
        rows: exercise.most_pulls,
        questions: exercise.questions.iter().map(|q| q.ask.clone()).collect(),
        cautions: CAUTIONS.map(Name::word).to_vec(),
        answers,
    }
}

fn start_words(start: &Setting) -> String {
    let grind = shortest(start.grind, 3);
    let dose = rounded(Quantity::Dose, start.dose_g, 1);
    let drink = rounded(Quantity::Yield, start.yield_g, 1);
    match start.temperature_c {
        Some(water_c) => {
            let water = rounded(Quantity::Temperature, water_c, 1);
            say!("practice-class-start-with-water", grind = grind, dose = dose, drink = drink, water = water)
        }
        None => say!("practice-class-start", grind = grind, dose = dose, drink = drink),
    }
}
