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

/// What is told of a file that was left out.
const LEFT_ALONE: &str = "The file is left as it is and everything else is opened";

pub(crate) fn options() -> ron::Options {
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .with_recursion_limit(48)
}

/// Reads a text file. `shown` is its path relative to the notebook.
pub(crate) fn read_text(disk: &dyn Disk, path: &Path, shown: &Path, limit: u64) -> Result<String, Problem> {
    let bytes = disk.read(path, limit).map_err(|fault| {
        let what = if fault.kind() == std::io::ErrorKind::FileTooLarge {
            format!("the file is larger than {} MB, so it was not read", limit >> 20)
        } else {
            format!("the file could not be read: {}", plain(&fault))
        };
        Problem::of_file(shown, what, LEFT_ALONE)
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
            let what = "the file is not text in UTF-8 from here on";
            let todo = format!("Restore it from a backup, or save it as UTF-8. {LEFT_ALONE}");
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
        let what =
            format!("the file was written by a newer version (format {number}; this one knows {FORMAT})");
        let todo = format!("Update the program to use it. {LEFT_ALONE}");
        return Err(ReadFault { problem: Problem::of_file(shown, what, todo), newer: true });
    }
    let document = answer.map_err(|fault| ReadFault::new(place(&fault, shown)))?;
    match format {
        Some(FORMAT) => Ok(document),
        Some(number) => {
            let what = format!("there is no format {number}");
            let todo = format!("Write `format: {FORMAT},` as the first field. {LEFT_ALONE}");
            Err(ReadFault::new(Problem { line: 1, ..Problem::of_file(shown, what, todo) }))
        }
        None => {
            let todo = format!("Write `format: {FORMAT},` as the first field. {LEFT_ALONE}");
            let what = "the file does not say its format number";
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
        E::Eof => "A closing bracket or quotation mark is missing",
        E::ExpectedComma | E::ExpectedStructLikeEnd | E::ExpectedArrayEnd => {
            "A comma between two fields, or a closing bracket, is missing near here"
        }
        E::ExpectedMapColon => "After the name of a field comes a colon",
        E::ExpectedString => "Put the text in double quotation marks",
        E::ExpectedFloat | E::ExpectedInteger => "Write a plain number with a decimal point, without a unit",
        E::ExpectedBoolean => "Write true or false",
        E::MissingStructField { .. } => "Add the field to the record that ends here",
        E::DuplicateStructField { .. } => "Take one of the two out",
        _ => "Mend this place in a text editor",
    };
    let what = format!("the file cannot be read here: {}", fault.code);
    let (line, column) = (fault.span.start.line, fault.span.start.col);
    Problem { line, column, ..Problem::of_file(shown, what, format!("{todo}. {LEFT_ALONE}")) }
}
