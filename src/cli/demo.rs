//! `thirdpull demo`: writes the demo notebook into a folder.

use std::ffi::OsString;
use std::io::Write;

use jiff::Timestamp;
use jiff::civil::Date;

use super::args::{Given, Usage};
use super::{DONE, FAILED};
use crate::practice::demo::notebook;
use crate::store::{Folder, Holder};

const HELP: &str = "\
thirdpull demo – write the demo notebook into an empty folder

USAGE
  thirdpull demo --notebook DIR [--anchor DATE] [--seed N]

An invented café, a home user and an evening class: bags, simulated pulls and their traces. No person, roaster or
coffee in it is real. The folder is a notebook like any other: open it with “thirdpull --notebook DIR”.

OPTIONS
  --notebook DIR   where to write it; the folder must not hold a notebook yet
  --anchor DATE    the day on which it should look fresh, such as 2026-11-25 (default: today)
  --seed N         another whole number tells the same stories with other luck (default: 1)
  -h, --help       this page

Exit codes: 0 written; 2 not written. Errors go to standard error.
";

/// Seed of the demo notebook that ships.
pub const SEED: u64 = 1;

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    match make(args, out) {
        Ok(told) => {
            told?;
            Ok(DONE)
        }
        Err(Usage(sentence)) => {
            writeln!(err, "thirdpull demo: {sentence}")?;
            Ok(FAILED)
        }
    }
}

fn make(args: Vec<OsString>, out: &mut dyn Write) -> Result<std::io::Result<()>, Usage> {
    let given = Given::read(args, &["anchor", "seed"], &[])?;
    if given.help {
        return Ok(out.write_all(HELP.as_bytes()));
    }
    if let Some(stray) = given.free.first() {
        return Err(Usage(format!("“{}” is not expected here", stray.to_string_lossy())));
    }
    let path = given.place.notebook.as_ref();
    let path = path.ok_or_else(|| Usage("say where to write it: --notebook DIR".to_owned()))?;
    let anchor = read(&given, "anchor", "a date such as 2026-11-25", |text| text.parse::<Date>().ok())?;
    let anchor = anchor.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let seed = read(&given, "seed", "a whole number from 0 up", |text| text.parse().ok())?.unwrap_or(SEED);
    let (book, traces) = notebook(anchor, seed).map_err(|fault| Usage(fault.to_string()))?;
    let holder = Holder { name: "thirdpull demo".to_owned(), machine: "this machine".to_owned() };
    let fault = |fault: crate::store::StoreFault| Usage(fault.to_string());
    // The day itself decides every stamp, so that two runs write the same files.
    let now = jiff::tz::TimeZone::UTC
        .to_timestamp(anchor.at(0, 0, 0, 0))
        .unwrap_or(Timestamp::UNIX_EPOCH);
    let mut opened = Folder::create(path, &book, now, &holder).map_err(fault)?;
    for (id, trace) in &traces {
        opened.folder.save_trace(*id, trace).map_err(fault)?;
    }
    let pulls: usize = book.bags.iter().map(|bag| bag.pulls.len()).sum();
    Ok(writeln!(
        out,
        "wrote {} bags, {pulls} pulls and {} traces to {}",
        book.bags.len(),
        traces.len(),
        path.display()
    ))
}

fn read<T>(
    given: &Given,
    option: &str,
    wanted: &str,
    parse: impl Fn(&str) -> Option<T>,
) -> Result<Option<T>, Usage> {
    let Some(text) = given.value(option) else { return Ok(None) };
    let value = text.to_str().and_then(parse);
    value.map(Some).ok_or_else(|| Usage(format!("--{option} wants {wanted}, not “{}”", text.to_string_lossy())))
}
