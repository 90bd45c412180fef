//! `thirdpull demo`: writes the demo notebook into a folder.

use std::ffi::OsString;
use std::io::Write;

use jiff::Timestamp;
use jiff::civil::Date;

use super::args::{Given, Usage};
use super::{DONE, FAILED};
use crate::store::Holder;
use crate::workbench::write_demo;

const HELP: &str = "\
thirdpull demo – write the demo notebook into an empty folder

USAGE
  thirdpull demo --notebook DIR [--anchor DATE]

An invented café, a home user and an evening class: bags, simulated pulls and their traces. No person, roaster or
coffee in it is real. The folder is a notebook like any other: open it with “thirdpull --notebook DIR”.

OPTIONS
  --notebook DIR   where to write it; the folder must not hold a notebook yet
  --anchor DATE    the day on which it should look fresh, such as 2026-11-25 (default: today)
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
    let given = Given::read(args, &["anchor"], &[])?;
    if given.help {
        return Ok(out.write_all(HELP.as_bytes()));
    }
    if let Some(stray) = given.free.first() {
        return Err(Usage(format!("“{}” is not expected here", stray.to_string_lossy())));
    }
    let path = given.place.notebook.as_ref();
    let path = path.ok_or_else(|| Usage("say where to write it: --notebook DIR".to_owned()))?;
    let anchor = match given.value("anchor") {
        None => jiff::ZonedDateTime::now().date(),
        Some(text) => text.to_str().and_then(|text| text.parse::<Date>().ok()).ok_or_else(|| {
            Usage(format!("--anchor wants a date such as 2026-11-25, not “{}”", text.to_string_lossy()))
        })?,
    };
    let holder = Holder { name: "thirdpull demo".to_owned(), machine: "this machine".to_owned() };
    // The day itself decides every stamp, so that two runs write the same files.
    let now = jiff::tz::TimeZone::UTC.to_timestamp(anchor.at(0, 0, 0, 0)).unwrap_or(Timestamp::UNIX_EPOCH);
    write_demo(path, anchor, now, &holder).map_err(Usage)?;
    Ok(writeln!(out, "wrote the demo notebook to {}", path.display()))
}
