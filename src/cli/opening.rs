//! `thirdpull opening`: the bar at one moment, as text, JSON, a table, or the hand-over page to print.

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::args::{Given, Usage};
use super::export::{Stop, to_file};
use super::{DONE, FAILED, FINDINGS, usage};
use crate::exchange::picture::{self, Kind};
use crate::store;
use crate::workbench::view::opening::{
    Bar, Costly, Wish, bar_at, hand_over_page, text, write_json, write_table,
};

const HELP: &str = "\
thirdpull opening – what to pull, what to touch, and how sure that is

USAGE
  thirdpull opening [--notebook DIR] [OPTIONS] [DIR...]

Every coffee with a keeper: where to start from yesterday's close, a verdict after each pull of today
(serve, pull once more, move the grinder, look at the preparation), the opening list, where the spread
comes from, coffee sunk, and the hand-over. Further folders are notebooks of other bars, shown below
each other. Folders are read as they stand; nothing is locked or written.

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
  --as FORM        text (default), json (one object a bar and line), or csv (the control charts)
  --page FILE      the hand-over as one page: .pdf, .png or .svg; one bar only
  --out FILE       write there instead of to standard output; an existing file is not overwritten
  --at MOMENT      2026-11-17T07:05 here, or with a Z in UTC (default: now)
  --station NAME   only this station
  --alarms N       false adjustments a month and coffee that are put up with, 0.1–10 (default 1)
  --warmer K       today's room less that of the last opening, °C
  --hide-names     letters in place of names
  --effort N       pulls simulated for each trial of a threshold, 1000–200000 (default 20000, good to 10 %)
  -h, --help       this page

Exit codes: 0 written; 1 written, but a file of a notebook could not be read; 2 not written.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let values = ["as", "page", "out", "at", "station", "alarms", "warmer", "effort"];
    let given = match Given::read(args, &values, &["hide-names"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let (bars, form) = match wanted(&given).and_then(|asked| Ok((look(&given, &asked)?, asked.form))) {
        Ok(made) => made,
        Err(sentence) => {
            writeln!(err, "thirdpull opening: {sentence}")?;
            return Ok(FAILED);
        }
    };
    let mut code = DONE;
    for bar in &bars {
        for problem in &bar.problems {
            writeln!(err, "thirdpull opening: left out: {problem}")?;
            code = FINDINGS;
        }
    }
    let written = match given.value("out") {
        None => write(&bars, &form, out),
        Some(path) => to_file(Path::new(path), |to| write(&bars, &form, to)),
    };
    match written {
        Ok(()) => Ok(code),
        Err(Stop::Io(fault)) if given.value("out").is_none() => Err(fault),
        Err(Stop::Io(fault)) => {
            writeln!(err, "thirdpull opening: the file could not be written: {fault}")?;
            Ok(FAILED)
        }
        Err(Stop::Told(sentence)) => {
            writeln!(err, "thirdpull opening: {sentence}")?;
            Ok(FAILED)
        }
    }
}

enum Form {
    Text,
    Json,
    Csv,
    Page(PathBuf, Kind),
}

struct Asked {
    form: Form,
    now: Timestamp,
    wish: Wish,
    station: Option<String>,
}

fn wanted(given: &Given) -> Result<Asked, String> {
    let told = |name: &str| given.value(name).map(|v| v.to_string_lossy().into_owned());
    let form = match (told("as").as_deref(), given.value("page")) {
        (Some(_), Some(_)) => return Err("either --as or --page, not both".to_owned()),
        (None, Some(path)) => {
            let path = PathBuf::from(path);
            let kind = Kind::of(&path)
                .ok_or_else(|| format!("{}: a page is a .pdf, .png or .svg", path.display()))?;
            Form::Page(path, kind)
        }
        (None | Some("text"), None) => Form::Text,
        (Some("json"), None) => Form::Json,
        (Some("csv"), None) => Form::Csv,
        (Some(other), None) => return Err(format!("--as takes text, json or csv, not “{other}”")),
    };
    let number = |name: &str, range: std::ops::RangeInclusive<f64>, usual: f64| match told(name) {
        None => Ok(usual),
        Some(text) => crate::units::parse_number(&text).ok().filter(|v| range.contains(v)).ok_or_else(|| {
            format!("--{name} takes a number from {} to {}, not “{text}”", range.start(), range.end())
        }),
    };
    let now = match told("at") {
        None => Timestamp::now(),
        Some(text) => moment(&text)?,
    };
    let wish = Wish {
        false_a_month: number("alarms", 0.1..=10.0, 1.0)?,
        warmer_k: match given.value("warmer") {
            None => None,
            Some(_) => Some(number("warmer", -30.0..=30.0, 0.0)?),
        },
        hide_names: given.has("hide-names"),
        effort: number("effort", 1000.0..=200_000.0, 20_000.0)? as u32,
        ..Wish::default()
    };
    Ok(Asked { form, now, wish, station: told("station") })
}

/// A moment with its zone, or the clock on the wall here.
fn moment(text: &str) -> Result<Timestamp, String> {
    if let Ok(at) = text.parse::<Timestamp>() {
        return Ok(at);
    }
    text.parse::<jiff::civil::DateTime>()
        .ok()
        .and_then(|at| TimeZone::system().to_timestamp(at).ok())
        .ok_or_else(|| format!("--at takes a moment such as 2026-11-17T07:05, not “{text}”"))
}

fn look(given: &Given, asked: &Asked) -> Result<Vec<Bar>, String> {
    let mut folders: Vec<PathBuf> = given.place.notebook.clone().into_iter().collect();
    folders.extend(given.free.iter().map(PathBuf::from));
    if folders.is_empty() {
        folders.extend(store::default_folder());
    }
    if folders.is_empty() {
        return Err("say where the notebook is with --notebook DIR".to_owned());
    }
    if matches!(asked.form, Form::Page(..)) && folders.len() > 1 {
        return Err("one page holds one bar; name one folder".to_owned());
    }
    let zone = TimeZone::system();
    let mut costly = Costly::default();
    folders
        .iter()
        .map(|folder| {
            bar_at(folder, asked.now, &zone, &asked.wish, asked.station.as_deref(), &mut costly, None)
        })
        .collect()
}

fn write(bars: &[Bar], form: &Form, to: &mut dyn Write) -> Result<(), Stop> {
    match form {
        Form::Page(path, kind) => {
            let Some(bar) = bars.first() else { return Ok(()) };
            let bytes = picture::write(&hand_over_page(&bar.opening), *kind)
                .map_err(|why| Stop::Told(why.to_string()))?;
            return to_file(path, |to| to.write_all(&bytes).map_err(Stop::Io));
        }
        Form::Text => {
            for (at, bar) in bars.iter().enumerate() {
                if bars.len() > 1 {
                    let gap = if at > 0 { "\n" } else { "" };
                    writeln!(to, "{gap}== {} ==", bar.name).map_err(Stop::Io)?;
                }
                to.write_all(text(&bar.opening).as_bytes()).map_err(Stop::Io)?;
            }
        }
        Form::Json => {
            for bar in bars {
                write_json(&bar.opening, &bar.name, to).map_err(Stop::Io)?;
            }
        }
        Form::Csv => {
            let all: Vec<_> = bars.iter().map(|bar| (bar.name.as_str(), &bar.opening)).collect();
            write_table(&all, to).map_err(Stop::Io)?;
        }
    }
    Ok(())
}
