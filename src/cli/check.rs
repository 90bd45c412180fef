//! `thirdpull check`: is a notebook sound, and are the rule packs?

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS, usage};
use crate::practice::Depth;
use crate::rules;
use crate::store::{self, Problem};
use crate::units::capital;

const HELP: &str = "\
thirdpull check – check a notebook, its rule packs and its practice files

USAGE
  thirdpull check [--notebook DIR] [--fix]

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
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
    let Some(path) = given.place.notebook.or_else(store::default_folder) else {
        return usage(err, "say where the notebook is with --notebook DIR");
    };
    if !path.is_dir() {
        let what = if path.exists() { "is a file, not a notebook's folder" } else { "is not there" };
        writeln!(
            err,
            "thirdpull check: “{}” {what}; name the notebook's folder with --notebook DIR",
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
    findings.extend(rule_packs(&path));
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

/// What is wrong with the person's own rule packs, `rules/*.ron`, and their cases, `rules/cases/*.ron` of the same name.
fn rule_packs(root: &Path) -> Vec<Problem> {
    let folder = root.join("rules");
    let mut packs: Vec<PathBuf> = std::fs::read_dir(&folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    packs.retain(|path| path.extension().is_some_and(|end| end == "ron"));
    packs.sort();
    let mut problems = Vec::new();
    for pack in packs {
        let shown = |path: &Path| path.strip_prefix(root).unwrap_or(path).display().to_string();
        let text = match text_of(&pack) {
            Ok(text) => text,
            Err(why) => {
                problems.push(Problem::of_file(
                    Path::new(&shown(&pack)),
                    why,
                    "A rule pack is a page of text",
                ));
                continue;
            }
        };
        let cases = pack.file_name().map(|name| folder.join("cases").join(name));
        let cases = cases.and_then(|path| text_of(&path).ok().map(|text| (shown(&path), text)));
        let cases = cases.as_ref().map(|(name, text)| (name.as_str(), text.as_str()));
        problems.extend(rules::check(&shown(&pack), &text, cases).into_iter().map(|finding| Problem {
            file: finding.file.into(),
            line: finding.line,
            column: finding.column,
            what: finding.what,
            todo: capital(&finding.todo),
        }));
    }
    problems
}

/// Text of a small file, or why it cannot be had.
fn text_of(path: &Path) -> Result<String, String> {
    match std::fs::metadata(path) {
        Ok(about) if about.len() > 1 << 20 => return Err("is larger than a megabyte".to_owned()),
        Ok(_) => {}
        Err(fault) => return Err(fault.to_string()),
    }
    std::fs::read_to_string(path).map_err(|fault| fault.to_string())
}
