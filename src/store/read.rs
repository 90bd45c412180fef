//! From a file to a record of format 1, with a place and a piece of advice when it does not read.

use std::path::Path;

use serde::de::DeserializeOwned;

use super::disk::Disk;
use super::fault::{Problem, plain};
use super::v1::{FORMAT, FormatNumber};

/// Largest file of the notebook that is read, bytes. A bag with 50,000 pulls stays below it.
pub(crate) const LARGEST_FILE: u64 = 64 << 20;

/// Why a file was not taken.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadFault {
    /// Where, what, and what to do.
    pub(crate) problem: Problem,
    /// Whether the file is sound but of a newer format.
    pub(crate) newer: bool,
}

impl ReadFault {
    fn new(problem: Problem) -> Self {
        Self { problem, newer: false }
    }
}

/// What to do, and what is told of a file that was left out.
fn left_alone(todo: &str) -> String {
    say!("store-read-todo-and-left-alone", todo = todo)
}

pub(crate) fn options() -> ron::Options {
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .with_recursion_limit(48)
}

/// Reads a text file. `shown` is its path relative to the notebook.
pub(crate) fn read_text(disk: &dyn Disk, path: &Path, shown: &Path, limit: u64) -> Result<String, Problem> {
    let bytes = disk.read(path, limit).map_err(|fault| {
        let what = if fault.kind() == std::io::ErrorKind::FileTooLarge {
            say!("store-read-too-large", limit_mb = limit >> 20)
        } else {
            say!("store-read-unread", why = plain(&fault))
        };
        Problem::of_file(shown, what, word!("store-read-left-alone"))
    })?;
    match String::from_utf8(bytes) {
        Ok(text) => Ok(match text.strip_prefix('\u{feff}') {
            Some(rest) => rest.to_owned(),
            None => text,
        }),
        Err(fault) => {
            let good = fault.utf8_error().valid_up_to();
            let bytes = fault.as_bytes();
            let before = bytes.get(..good).unwrap_or_default();
            let line = before.iter().filter(|&&b| b == b'\n').count() + 1;
            let line_start = before.iter().rposition(|&b| b == b'\n').map_or(0, |at| at + 1);
            let column =
                String::from_utf8_lossy(before.get(line_start..).unwrap_or_default()).chars().count() + 1;
            let what = word!("store-read-not-text");
            let todo = left_alone(word!("store-read-todo-not-text"));
            Err(Problem { line, column, ..Problem::of_file(shown, what, todo) })
        }
    }
}

/// Reads a document of format 1.
pub(crate) fn parse<T: DeserializeOwned + FormatNumber>(text: &str, shown: &Path) -> Result<T, ReadFault> {
    let answer = options().from_str::<T>(text);
    let format = match &answer {
        Ok(document) => document.format(),
        // A newer file may well not parse; its number says more than the first place that looks odd.
        Err(_) => probe(text),
    };
    if let Some(number) = format.filter(|&number| number > FORMAT) {
        let what = say!("store-read-newer", format = number, known = FORMAT);
        let todo = left_alone(word!("store-read-todo-newer"));
        return Err(ReadFault { problem: Problem::of_file(shown, what, todo), newer: true });
    }
    let document = answer.map_err(|fault| ReadFault::new(place(&fault, shown)))?;
    match format {
        Some(FORMAT) => Ok(document),
        Some(number) => {
            let what = say!("store-read-no-such-format", format = number);
            let todo = left_alone(&say!("store-read-todo-format", format = FORMAT));
            Err(ReadFault::new(Problem { line: 1, ..Problem::of_file(shown, what, todo) }))
        }
        None => {
            let todo = left_alone(&say!("store-read-todo-format", format = FORMAT));
            let what = word!("store-read-no-format");
            Err(ReadFault::new(Problem { line: 1, ..Problem::of_file(shown, what, todo) }))
        }
    }
}

/// Reads a file of format 1.
pub(crate) fn read<T: DeserializeOwned + FormatNumber>(
    disk: &dyn Disk,
    path: &Path,
    shown: &Path,
) -> Result<T, ReadFault> {
    let text = read_text(disk, path, shown, LARGEST_FILE).map_err(ReadFault::new)?;
    parse(&text, shown)
}

/// The format number of a file that does not parse otherwise.
fn probe(text: &str) -> Option<u32> {
    #[derive(serde::Deserialize)]
    struct Probe {
        #[serde(default)]
        format: Option<u32>,
    }
    if let Ok(probe) = options().from_str::<Probe>(text) {
        return probe.format;
    }
    // Not RON as we know it: look at the first field by eye.
    let head: String = text.chars().take(400).filter(|c| !c.is_whitespace()).collect();
    let digits = head.split("format:").nth(1)?;
    let end = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
    digits.get(..end)?.parse().ok()
}

/// The place and the meaning of a fault of the reader.
pub(crate) fn place(fault: &ron::error::SpannedError, shown: &Path) -> Problem {
    use ron::error::Error as E;
    let todo = match &fault.code {
        E::Eof => word!("store-read-todo-closing"),
        E::ExpectedComma | E::ExpectedStructLikeEnd | E::ExpectedArrayEnd => word!("store-read-todo-comma"),
        E::ExpectedMapColon => word!("store-read-todo-colon"),
        E::ExpectedString => word!("store-read-todo-text"),
        E::ExpectedFloat | E::ExpectedInteger => word!("store-read-todo-number"),
        E::ExpectedBoolean => word!("store-read-todo-true-or-false"),
        E::MissingStructField { .. } => word!("store-read-todo-field"),
        E::DuplicateStructField { .. } => word!("store-read-todo-twice"),
        _ => word!("store-read-todo-mend"),
    };
    let what = say!("store-read-no-sense", why = fault.code);
    let (line, column) = (fault.span.start.line, fault.span.start.col);
    Problem { line, column, ..Problem::of_file(shown, what, left_alone(todo)) }
}
