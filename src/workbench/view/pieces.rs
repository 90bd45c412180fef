//! The pulls in a file or a folder: runs of its clock, and long logs cut where a pull begins and ends.

use std::path::{Path, PathBuf};

use super::live::Caught;
use crate::capture::{RecorderRules, cut_into_pulls};
use crate::domain::{Channel, Pull, Trace};
use crate::exchange::table::{Assignment, ImportFault, Note, Remembered, Table};
use crate::trace::{cups_apart, times_apart};
use crate::units::{Quantity, UnitPreferences, listed};

/// One pull found.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The file's name, with a number where it holds several.
    pub name: String,
    /// Its samples.
    pub trace: Trace,
    /// What was mended while reading.
    pub notes: Vec<Note>,
}

impl Piece {
    /// "shots.csv, 3 of 12 · 27.4 s · 38.2 g".
    #[must_use]
    pub fn words(&self, units: &UnitPreferences) -> String {
        let mass = self
            .trace
            .get(Channel::CupMass)
            .map(|mass| mass.iter().copied().filter(|v| v.is_finite()).fold(f64::NEG_INFINITY, f64::max));
        let grams = mass.filter(|m| *m > 1.0 && m.is_finite());
        let grams = grams
            .map_or(String::new(), |m| say!("view-pieces-up-to-g", mass = units.value(Quantity::Yield, m)));
        format!("{} · {} s{grams}", self.name, units.number(self.trace.duration_s(), 1))
    }
}

/// What a trace says otherwise than the pull that it is to be attached to, in one sentence with the numbers of both;
/// `None` where they agree or one of them says nothing.
#[must_use]
pub fn contradiction(pull: &Pull, trace: &Trace, units: &UnitPreferences) -> Option<String> {
    let read = Caught::new(trace.clone());
    let seen = read.events.pump_on.is_some_and(|on| on.is_seen()) && read.events.pull_time_s().is_some();
    let times = pull.time_s.zip(seen.then(|| read.time_s()));
    let cups = read.yield_g().map(|cup| (pull.used.yield_g, cup));
    let apart = |pair: Option<(f64, f64)>, of: fn(f64, f64) -> bool| pair.is_some_and(|(a, b)| of(a, b));
    if !apart(times, times_apart) && !apart(cups, cups_apart) {
        return None;
    }
    let told = |of: fn((f64, f64)) -> f64| {
        let time = times.map(|pair| units.value(Quantity::Time, of(pair)));
        let cup = cups.map(|pair| units.value(Quantity::Yield, of(pair)));
        listed(&time.into_iter().chain(cup).collect::<Vec<_>>())
    };
    Some(say!("view-pieces-the-pull-says-otherwise", pull = told(|pair| pair.0), trace = told(|pair| pair.1)))
}

/// A run longer than this is looked through for pulls, seconds (no pull meant to be drunk takes so long).
pub const LONG_S: f64 = 150.0;
/// Most files read from one folder.
const MOST_FILES: usize = 500;
/// Most pulls kept of one file or folder.
const MOST_PIECES: usize = 1000;
/// Endings of files in a folder that are tried.
const ENDINGS: [&str; 8] = ["csv", "tsv", "txt", "json", "jsonl", "ndjson", "log", "dat"];

/// All pulls of a table under an assignment.
///
/// # Errors
/// As [`Table::import_all`].
pub fn pieces(table: &Table, assignment: &Assignment, name: &str) -> Result<Vec<Piece>, ImportFault> {
    let mut found: Vec<(Trace, Vec<Note>)> = Vec::new();
    for imported in table.import_all(assignment)? {
        let long = imported.trace.duration_s() > LONG_S;
        let cut = if long { cut_into_pulls(&imported.trace, &RecorderRules::default()) } else { Vec::new() };
        if cut.is_empty() {
            found.push((imported.trace, imported.notes));
        } else {
            found.extend(cut.into_iter().map(|trace| (trace, imported.notes.clone())));
        }
    }
    found.truncate(MOST_PIECES);
    let count = found.len();
    Ok(found
        .into_iter()
        .enumerate()
        .map(|(at, (trace, notes))| {
            let name = if count > 1 {
                say!("view-pieces-of", name = name, at = at + 1, count = count)
            } else {
                name.to_owned()
            };
            Piece { name, trace, notes }
        })
        .collect())
}

/// All pulls of several files, and of the files in folders (not of folders within these), by name; and a sentence for
/// each file that gave none.
///
/// # Errors
/// One sentence when the only path named cannot be read as a folder, or no file there could be a trace.
pub fn pieces_of(paths: &[PathBuf], remembered: &Remembered) -> Result<(Vec<Piece>, Vec<String>), String> {
    let (mut files, mut refused) = (Vec::new(), Vec::new());
    for path in paths {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        match files_in(path) {
            Ok(some) => files.extend(some),
            Err(sentence) => refused.push(sentence),
        }
    }
    if files.is_empty() {
        return Err(if refused.is_empty() {
            word!("view-pieces-no-file-was-named").to_owned()
        } else {
            refused.join("; ")
        });
    }
    files.sort();
    files.dedup();
    if files.len() > MOST_FILES {
        refused.push(say!(
            "view-pieces-of-files-only-the-first-were",
            files = files.len(),
            most_files = MOST_FILES
        ));
        files.truncate(MOST_FILES);
    }
    let mut found = Vec::new();
    for file in files {
        let name = file.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let read = Table::open(&file).and_then(|table| {
            let assignment = remembered.recall(&table).unwrap_or_else(|| table.guess().assignment);
            pieces(&table, &assignment, &name)
        });
        match read {
            Ok(some) => found.extend(some),
            Err(fault) => refused.push(format!("{name}: {fault}")),
        }
        if found.len() >= MOST_PIECES {
            refused.push(say!("view-pieces-more-than-pulls-the-rest-was", most_pieces = MOST_PIECES));
            break;
        }
    }
    Ok((found, refused))
}

/// The files of a folder that could be traces.
fn files_in(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let listed = std::fs::read_dir(folder).map_err(|why| format!("{}: {why}", folder.display()))?;
    let files: Vec<PathBuf> = listed
        .flatten()
        .map(|entry| entry.path())
        .filter(|file| {
            let ending = file.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
            file.is_file() && ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
        })
        .collect();
    if files.is_empty() {
        return Err(say!(
            "view-pieces-no-table-or-log-is-in",
            folder = folder.display(),
            join = ENDINGS.join(", ")
        ));
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An hour at 100 Hz with nine pulls in it.
    #[test]
    fn an_hour_long_log_is_cut_into_its_pulls() {
        let mut text = String::from("time_ms,pressure_bar,cup_mass_g\n");
        for i in 0..360_000u32 {
            let t = f64::from(i) * 0.01;
            let within = t % 400.0 - 200.0;
            let on = (0.0..28.0).contains(&within);
            let mass =
                if (0.0..60.0).contains(&within) { (within.min(28.0) - 7.0).max(0.0) * 1.7 } else { 0.0 };
            text += &format!("{},{},{mass:.2}\n", i * 10, if on { 9.0 } else { 0.1 });
        }
        let table = Table::parse(text.as_bytes()).unwrap();
        let found = pieces(&table, &table.guess().assignment, "log.csv").unwrap();
        assert_eq!(found.len(), 9);
        assert_eq!(found[2].name, "log.csv, 3 of 9");
        for piece in &found {
            let events = crate::trace::find_events(&piece.trace);
            assert!((events.pull_time_s().unwrap() - 28.0).abs() < 0.5, "{:?}", events);
        }
    }

    #[test]
    fn a_folder_gives_every_pull_and_names_what_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let table = |from: f64| {
            let rows = (0..300).map(|i| format!("{:.1},{}\n", from + f64::from(i) * 0.1, (i - 60).max(0)));
            rows.collect::<String>()
        };
        std::fs::write(folder.path().join("a.csv"), format!("time_s,cup_mass_g\n{}", table(0.0))).unwrap();
        let two = format!("time_s,cup_mass_g\n{}{}", table(0.0), table(0.0));
        std::fs::write(folder.path().join("b.csv"), two).unwrap();
        std::fs::write(folder.path().join("c.txt"), "no trace at all\n").unwrap();
        std::fs::write(folder.path().join("d.pdf"), "not looked at").unwrap();
        let (found, refused) = pieces_of(&[folder.path().to_owned()], &Remembered::default()).unwrap();
        let names: Vec<&str> = found.iter().map(|piece| piece.name.as_str()).collect();
        assert_eq!(names, ["a.csv", "b.csv, 1 of 2", "b.csv, 2 of 2"]);
        assert!(refused.len() == 1 && refused[0].starts_with("c.txt: "), "{refused:?}");
        let empty = tempfile::tempdir().unwrap();
        assert!(pieces_of(&[empty.path().to_owned()], &Remembered::default()).is_err());
        // Files by name, with a folder among them that has none.
        let named = ["b.csv", "a.csv", "c.txt"].map(|name| folder.path().join(name));
        let named: Vec<PathBuf> = named.into_iter().chain([empty.path().to_owned()]).collect();
        let (found, refused) = pieces_of(&named, &Remembered::default()).unwrap();
        assert_eq!(found.iter().map(|piece| piece.name.as_str()).collect::<Vec<_>>(), names);
        assert!(refused.len() == 2 && refused[0].contains("in this folder"), "{refused:?}");
    }
}
