//! `thirdpull check`: is a notebook sound, and are the rule packs?

use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;

use jiff::Timestamp;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS, usage};
use crate::practice::Depth;
use crate::store;

const HELP: &str = "\
thirdpull check – check a notebook, its rule packs and its practice files

USAGE
  thirdpull check [DIR] [--fix]

OPTIONS
  DIR              the notebook's folder (default: your own); --notebook DIR says the same
  --fix            mend what can be mended safely, after a backup, and say what was done
  -h, --help       this page

Prints one line for each finding: file, line, column, what is wrong and what to do. Nothing is
changed without --fix; numbers and dates that look wrong are always left to you.
Exit codes: 0 all is well; 1 there are findings; 2 there is no notebook to check.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &[], &["fix"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let named: Vec<PathBuf> =
        given.free.iter().map(PathBuf::from).chain(given.place.notebook.clone()).collect();
    let path = match named.as_slice() {
        [] => store::default_folder(),
        [one] => Some(one.clone()),
        _ => return usage(err, "check takes one notebook at a time"),
    };
    let Some(path) = path else {
        return usage(err, "say where the notebook is: thirdpull check DIR");
    };
    if !path.is_dir() {
        let what = if path.exists() { "is a file, not a notebook's folder" } else { "is not there" };
        writeln!(
            err,
            "thirdpull check: “{}” {what}; name the notebook's folder: thirdpull check DIR",
            path.display()
        )?;
        return Ok(FAILED);
    }
    let now = Timestamp::now();
    if given.switches.iter().any(|switch| switch == "fix") {
        match store::fix(&path, now, &store::Holder::here()) {
            Ok(mends) => {
                for mend in &mends {
                    writeln!(out, "mended: {mend}")?;
                }
            }
            Err(fault) => {
                writeln!(err, "thirdpull: nothing was mended: {fault}")?;
                return Ok(FAILED);
            }
        }
    }
    let mut findings = store::check(&path, now);
    findings.extend(store::rule_packs(&path).1);
    findings.extend(crate::workbench::practice::own::findings(&path, Depth::Full));
    for finding in &findings {
        writeln!(out, "{finding}")?;
    }
    if findings.is_empty() {
        writeln!(out, "{}: all is well", path.display())?;
        return Ok(DONE);
    }
    Ok(FINDINGS)
}
