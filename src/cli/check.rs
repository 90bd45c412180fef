//! `thirdpull check`: is a notebook sound, and are the rule packs?

use std::ffi::OsString;
use std::io::Write;

use jiff::Timestamp;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS, usage};
use crate::store::{self, Problem};

const HELP: &str = "\
thirdpull check – check a notebook and its rule packs

USAGE
  thirdpull check [--notebook DIR]

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
  -h, --help       this page

Prints one line for each finding: file, line, column, what is wrong and what to do. Nothing is changed.
Exit codes: 0 all is well; 1 there are findings; 2 there is no notebook to check.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &[], &[]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let Some(path) = given.place.notebook.or_else(store::default_folder) else {
        return usage(err, "say where the notebook is with --notebook DIR");
    };
    if !path.is_dir() {
        writeln!(err, "thirdpull: {} is not a folder; name the notebook's folder", path.display())?;
        return Ok(FAILED);
    }
    let findings = store::check(&path, Timestamp::now());
    for finding in &findings {
        writeln!(out, "{}", line(finding))?;
    }
    if findings.is_empty() {
        writeln!(out, "{}: all is well", path.display())?;
        return Ok(DONE);
    }
    Ok(FINDINGS)
}

fn line(finding: &Problem) -> String {
    finding.to_string()
}
