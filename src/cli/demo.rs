//! `thirdpull demo`: the demo notebook, written out.

use std::ffi::OsString;
use std::io::Write;

use jiff::{Timestamp, ZonedDateTime};

use super::args::{Given, Usage};
use super::{DONE, FAILED, holder, usage};
use crate::workbench::write_demo;

const HELP: &str = "\
thirdpull demo – write the demo notebook

USAGE
  thirdpull demo --notebook DIR [--anchor YYYY-MM-DD]

OPTIONS
  --notebook DIR   an empty folder, or one that does not exist yet
  --anchor DATE    the day on which its story should look fresh (default: today)
  -h, --help       this page

The notebook is made by a seeded generator: the same anchor gives the same notebook, byte for byte.
Everything in it is invented: the café, the kitchen, the class, the coffees and the people.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["anchor"], &[]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let Some(path) = given.place.notebook.as_ref() else {
        return usage(err, "say where with --notebook DIR");
    };
    let anchor = match given.value("anchor") {
        None => ZonedDateTime::now().date(),
        Some(text) => match text.to_string_lossy().parse() {
            Ok(date) => date,
            Err(_) => return usage(err, "write the anchor as year-month-day, for example 2026-11-25"),
        },
    };
    // The moment stamps only what the store writes about itself; taking the anchor's keeps the files the same.
    let moment =
        jiff::tz::TimeZone::UTC.to_timestamp(anchor.at(12, 0, 0, 0)).unwrap_or(Timestamp::UNIX_EPOCH);
    match write_demo(path, anchor, moment, &holder()) {
        Ok(()) => {
            writeln!(out, "wrote the demo notebook to {}", path.display())?;
            Ok(DONE)
        }
        Err(sentence) => {
            writeln!(err, "thirdpull: {sentence}")?;
            Ok(FAILED)
        }
    }
}
