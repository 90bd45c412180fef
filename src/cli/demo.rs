//! `thirdpull demo`: writes the demo notebook into a folder.

use std::ffi::OsString;
use std::io::Write;

use jiff::Timestamp;
use jiff::civil::Date;

use super::args::{Given, Usage};
use super::{DONE, FAILED};
use crate::store::Holder;
use crate::workbench::{DEMO_SEED, write_demo};

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
    let seed =
        read(&given, "seed", "a whole number from 0 up", |text| text.parse().ok())?.unwrap_or(DEMO_SEED);
    let holder = Holder { name: "thirdpull demo".to_owned(), machine: "this machine".to_owned() };
    // The day itself decides every stamp, so that two runs write the same files.
    let now = jiff::tz::TimeZone::UTC.to_timestamp(anchor.at(0, 0, 0, 0)).unwrap_or(Timestamp::UNIX_EPOCH);
    let written = write_demo(path, anchor, seed, now, &holder).map_err(Usage)?;
    Ok(writeln!(
        out,
        "wrote {} bags, {} pulls and {} traces to {}",
        written.bags,
        written.pulls,
        written.traces,
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
    value
        .map(Some)
        .ok_or_else(|| Usage(format!("--{option} wants {wanted}, not “{}”", text.to_string_lossy())))
}
