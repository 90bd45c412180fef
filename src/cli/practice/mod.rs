//! `thirdpull practice`: everything that the practice pages show, without a window.

mod bench;
mod seat;

use std::ffi::OsString;
use std::io::Write;

use super::args::{Given, Usage};
use super::{DONE, FAILED, usage};
use crate::practice::Pack;
use crate::store;
use crate::workbench::practice::own;

const HELP: &str = "\
thirdpull practice – simulated pulls: bench, sweeps, studies, exercises

USAGE
  thirdpull practice bench [BENCH]                 one pull: the cup in numbers and words
  thirdpull practice inside SECOND [BENCH]         the bed at a moment, path by path, as CSV
  thirdpull practice sweep HANDLE [BENCH] [--from X --to Y --count N]    as CSV
  thirdpull practice studies                       the prepared studies
  thirdpull practice study NAME                    one of them: what the model says, what was measured
  thirdpull practice exercises                     the exercises, easiest first
  thirdpull practice seat NAME [SEAT]              pull at an exercise, serve, be scored
  thirdpull practice worksheet NAME [--word W] [--answers]     a page (HTML) to print
  thirdpull practice coffees                       coffees, drinkers and stations

BENCH
  --coffee NAME       name of a coffee's file without .ron (default: a usual coffee)
  --set HANDLE=VALUE  move a handle; may be given again. Handles: grind, dose, yield, temperature,
                      pressure, care, age, roast (0 light to 4 dark)
  --drive N           one of the drives by description, counted from 1 as “bench --drives” lists them
  --draw LINE=T:V,…   draw pressure (bar), flow (mL/s) or temperature (°C) over time (s) by points
  --like WHAT         first make the bench behave like a real pull: the id of a pull in the notebook
                      with a trace, or a trace file
  --csv FILE          also write the simulated trace there
  --drives            list the drives and stop

SEAT
  --word W            the word on the board; the same word gives everybody the same coffee
  --student NAME      who sits there
  --pull LEVER=V,…    pull with these levers (grind, dose, yield, temperature; others stay); “start”
                      pulls where the exercise begins. May be given again: one pull after another
  --hints N           take N hints
  --serve N           serve pull N: the score, the engine at the same coffee, what was hidden
  --results FILE      after --serve: add a line to this CSV file, which is made if it is not there

OPTIONS
  --notebook DIR      also use the files in DIR/practice, and pulls of that notebook
  -h, --help          this page

Everything is simulated; “thirdpull practice bench” says by how much it misses real pulls.
Exit codes: 0 done; 2 could not do it. Errors go to standard error.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    const VALUES: [&str; 15] = [
        "coffee", "set", "drive", "draw", "like", "csv", "from", "to", "count", "word", "student", "pull",
        "hints", "serve", "results",
    ];
    let given = match Given::read(args, &VALUES, &["answers", "drives"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let words: Vec<String> = given.free.iter().map(|word| word.to_string_lossy().into_owned()).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let pack = pack(&given);
    let text = match words.as_slice() {
        ["bench"] => bench::bench(&given, &pack),
        ["inside", second] => bench::inside_at(second, &given, &pack),
        ["sweep", handle] => bench::swept(handle, &given, &pack),
        ["studies"] => Ok(bench::studies(&pack)),
        ["study", name] => bench::study_told(name, &pack),
        ["coffees"] => Ok(bench::things(&pack)),
        ["exercises"] => Ok(seat::exercises(&pack)),
        ["seat", name] => seat::seat(name, &given, &pack),
        ["worksheet", name] => seat::worksheet(name, &given, &pack),
        _ => Err("say what: bench, inside SECOND, sweep HANDLE, studies, study NAME, coffees, exercises, seat NAME or \
                  worksheet NAME; --help explains"
            .to_owned()),
    };
    match text {
        Ok(text) => {
            out.write_all(text.as_bytes())?;
            Ok(DONE)
        }
        Err(sentence) => {
            writeln!(err, "thirdpull practice: {sentence}")?;
            Ok(FAILED)
        }
    }
}

/// What ships, and the notebook's own files where a notebook is named or the person has one.
fn pack(given: &Given) -> Pack {
    let place = given.place.notebook.clone().or_else(store::default_folder);
    place.map_or_else(Pack::shipped, |place| own::pack_of(&place))
}

/// The text given for an option.
fn text<'a>(given: &'a Given, name: &str) -> Option<std::borrow::Cow<'a, str>> {
    given.value(name).map(|value| value.to_string_lossy())
}

/// All values given for an option, in order.
fn all<'a>(given: &'a Given, name: &'a str) -> impl Iterator<Item = std::borrow::Cow<'a, str>> {
    given.values.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.to_string_lossy())
}

/// A number given for an option.
fn number(given: &Given, name: &str) -> Result<Option<f64>, String> {
    text(given, name).map(|value| read_number(&value).map_err(|why| format!("--{name}: {why}"))).transpose()
}

fn read_number(text: &str) -> Result<f64, String> {
    crate::units::parse_number(text).map_err(|fault| fault.to_string())
}

/// `name=value`.
fn pair(text: &str) -> Result<(&str, &str), String> {
    text.split_once('=')
        .map(|(name, value)| (name.trim(), value.trim()))
        .ok_or_else(|| format!("“{text}” is not NAME=VALUE"))
}

/// The entry of a map, or a sentence that lists what there is.
fn known<'m, T>(
    map: &'m std::collections::BTreeMap<String, T>,
    what: &str,
    name: &str,
) -> Result<&'m T, String> {
    map.get(name).ok_or_else(|| {
        let names: Vec<&str> = map.keys().map(String::as_str).collect();
        format!("there is no {what} “{name}”; known are {}", names.join(", "))
    })
}
