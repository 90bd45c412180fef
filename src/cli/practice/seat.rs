//! Exercises as text: the list, a sitting from first pull to score, results as CSV, the worksheet.

use std::io::Write as _;
use std::path::Path;

use super::bench::{lever, line};
use super::{all, known, number, pair, read_number, text};
use crate::cli::args::Given;
use crate::practice::{Pack, results_csv};
use crate::units::UnitPreferences;
use crate::workbench::engine;
use crate::workbench::practice::{Seat, play};
use crate::workbench::view::practice::exercises::{
    bag_words, covered, grind_decimals, list, pull_line, recipe_words, rules, score_words,
};
use crate::workbench::view::practice::honesty_line;
use crate::workbench::view::practice::sheet::worksheet_page;

/// The exercises, easiest first.
pub(super) fn exercises(pack: &Pack) -> String {
    let mut text = String::new();
    for item in list(pack) {
        line(&mut text, &format!("{}: {} ({})", item.name, item.title, item.level));
    }
    text
}

/// A worksheet, or its answers.
pub(super) fn worksheet(name: &str, given: &Given, pack: &Pack) -> Result<String, String> {
    let exercise = known(&pack.exercises, "exercise", name)?;
    Ok(worksheet_page(exercise, &text(given, "word").unwrap_or_default(), given.has("answers")))
}

/// A sitting: pulls, hints, and the score where a cup is served.
pub(super) fn seat(name: &str, given: &Given, pack: &Pack) -> Result<String, String> {
    let exercise = known(&pack.exercises, "exercise", name)?;
    let units = UnitPreferences::default();
    let (word, student) =
        (text(given, "word").unwrap_or_default(), text(given, "student").unwrap_or_default());
    let mut seat = Seat::take(pack, name, &word, &student)?;
    let decimals = grind_decimals(&seat);
    let fresh = seat.sitting().clone();
    let mut told = String::new();
    for sentence in [exercise.title.clone(), exercise.task.clone(), rules(exercise), bag_words(&seat, &units)]
    {
        line(&mut told, &sentence);
    }
    line(&mut told, &format!("It begins at {}.", recipe_words(&seat.plan, decimals, &units)));
    let hints = number(given, "hints")?.unwrap_or(0.0);
    for _ in 0..hints.clamp(0.0, 100.0) as usize {
        if seat.hint()
            && let Some(hint) = seat.hints.last()
        {
            line(&mut told, &format!("Hint: {hint}"));
        }
    }
    for pull in all(given, "pull") {
        set(&mut seat, &pull)?;
        seat.pull()?;
    }
    for (at, pulled) in seat.sitting().pulled().iter().enumerate() {
        line(&mut told, &pull_line(at + 1, pulled, decimals, &units));
    }
    match number(given, "serve")? {
        Some(number) => {
            seat.serve(number.max(0.0) as usize)?;
            let score = seat.sitting().score().map_err(|fault| fault.to_string())?;
            for sentence in score_words(&score, &units) {
                line(&mut told, &sentence);
            }
            let run = play(fresh, &engine(), |_| true).unwrap_or_else(|| Err("it was stopped".to_owned()));
            for thing in covered(&score, Some(&run), seat.sitting().hidden(), exercise, decimals, &units) {
                line(&mut told, &format!("{}:", thing.title));
                for sentence in &thing.says {
                    line(&mut told, &format!("  {sentence}"));
                }
            }
            seat.score = Some(score);
            if let Some(path) = given.value("results") {
                let path = Path::new(path);
                add(path, &seat).map_err(|why| format!("{}: {why}", path.display()))?;
            }
        }
        None if given.value("results").is_some() => {
            return Err("--results needs --serve N: only a served cup has a result".to_owned());
        }
        None => {}
    }
    line(&mut told, &honesty_line());
    Ok(told)
}

/// Moves the levers named in `grind=14,dose=18`; "start" goes back to where the exercise begins.
fn set(seat: &mut Seat, levers: &str) -> Result<(), String> {
    if levers.trim() == "start" {
        seat.plan = seat.sitting().start();
        return Ok(());
    }
    for one in levers.split(',') {
        let (name, value) = pair(one)?;
        let lever = lever(name).map_err(|why| format!("--pull: {why}"))?;
        if !seat.levers().iter().any(|(known, _)| *known == lever) {
            return Err(format!("--pull: the {name} stays as it is in this exercise"));
        }
        seat.set(lever, read_number(value).map_err(|why| format!("--pull {name}: {why}"))?);
    }
    Ok(())
}

/// Adds the result to a CSV file, with the head where the file is new; a last line without its end is ended first.
fn add(path: &Path, seat: &Seat) -> Result<(), String> {
    let Some(result) = seat.result() else { return Ok(()) };
    let csv = results_csv(&[result]).map_err(|why| why.to_string())?;
    let (head, row) = csv.split_once('\n').unwrap_or((&csv, ""));
    let standing = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        Err(why) => return Err(why.to_string()),
    };
    let first = standing.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let first = first.strip_prefix(b"\xef\xbb\xbf").unwrap_or(first);
    if !standing.is_empty() && first.trim_ascii_end() != head.trim_end().as_bytes() {
        return Err("it holds something else than results; choose another file for --results".to_owned());
    }
    let lines = match standing.last() {
        None => csv.clone(),
        Some(b'\n') => row.to_owned(),
        Some(_) => format!("\n{row}"),
    };
    let mut file =
        std::fs::OpenOptions::new().create(true).append(true).open(path).map_err(|why| why.to_string())?;
    file.write_all(lines.as_bytes()).map_err(|why| why.to_string())
}
