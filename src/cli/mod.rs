//! The commands beside the window. Results go to standard output, talk to standard error. Exit codes: 0 done,
//! 1 done but with findings, 2 could not do it.

pub mod advise;
mod args;
mod beliefs;
mod check;
mod demo;
mod export;
mod keeping;
mod opening;
mod picture;
mod practice;
mod read;
mod replay;
mod simulate;
mod tasting;
mod words;

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

use crate::advisor::Settings;
use crate::workbench::Wanted;
use args::Given;
pub use args::{Place, Usage};

/// Exit code: done.
pub const DONE: u8 = 0;
/// Exit code: done, with findings that want attention.
pub const FINDINGS: u8 = 1;
/// Exit code: could not do it.
pub const FAILED: u8 = 2;

const HELP: &str = "\
thirdpull – dial in espresso: a notebook, shot traces, and the next pull

USAGE
  thirdpull [--notebook DIR]        open the window
  thirdpull COMMAND [OPTIONS]       do one thing without a window

COMMANDS
  advise      read one JSON object a line, answer with what to pull next
  check       check a notebook and rule packs; say file, line, column and what to do
  export      write pulls, or one pull's trace, as CSV; all tables; or draw pulls as a picture
  pass-on     write bags as one file that anyone can open, answer and merge
  receive     look at such a file, and take it in
  merge       bring another copy of the notebook together with this one
  versions    earlier versions of a record: list them, go back to one
  backups     list backups, make one, go back to one
  opening     a café's morning: where to start, a verdict on each pull, the hand-over
  read        read traces as an expert would: events, measures, the model's view; clean them
  replay      play a trace as a live instrument, to standard output, a TCP port or a file
  practice    the practice bench: simulated pulls, sweeps, studies, exercises
  simulate    simulate one pull from a description of puck and water
  tasting     plan a blind tasting from a seed; judge counts and likings
  demo        write the demo notebook into an empty folder
  words       the words of the window, for a translator; what a language's file still lacks

OPTIONS
  --notebook DIR   the notebook's folder (default: your data folder, or $THIRDPULL_NOTEBOOK)
  --own, --demo    your own notebook, or the demo (default: your own once there is one)
  -h, --help       this page; after a command, that command's own page
  -V, --version    the version

Exit codes: 0 done; 1 done, with findings; 2 could not do it. Errors go to standard error.
";

const ADVISE_HELP: &str = "\
thirdpull advise – what to pull next, for scripts and home-built instruments

USAGE
  thirdpull advise [--notebook DIR] [--one-lever] < requests > answers

One JSON object a line in, one a line out, flushed at once, until the end of the input. It holds one
open bag in memory and writes nothing to disk, unless --notebook names a folder: then each bag opened
and each shot is recorded there too. With --one-lever no advice moves more than one lever. Units are
in the names; numbers are finite.

REQUESTS
  {\"open\": {\"bag\": …, \"gear\": …, \"aim\": …, \"earlier\": […]}}   start a bag
  {\"shot\": {…}}                                              record a pulled shot
  {\"ask\": {}}                                                ask again with nothing new

  bag    name, roast (light medium_light medium medium_dark dark, or null), process (washed natural
         honey other, or null), days_since_roast (or null), mass_g (grams when full, or
         null: then the last pulls of the bag are not counted)
  gear   grind {min, max, step, finer: lower|higher, um_per_unit|null}, dose_g, yield_g and
         temperature_c {min, max, step} (temperature null where it cannot be set), pressure_bar|null,
         refractometer true|false
  aim    recipe {grind|null, dose_g, yield_g, temperature_c|null}, time_s [from, to]|null
  shot   grind, dose_g, yield_g, temperature_c|null, time_s; optional first_drip_s, tds_pct,
         days_since_roast, choked, spurting, trace, taste {sourness … sweetness −2…2, liking 1…9}

ANSWERS
  {\"advice\": {status, recipe, changes, expect, best, chance_near_best, reasons}}
  {\"error\": {line, field, message}}   to a bad line: nothing of it is taken, and reading goes on

EXAMPLE
  {\"open\":{\"bag\":{\"name\":\"Quarry Road\",\"roast\":\"medium_light\",\"process\":\"washed\",\"days_since_roast\":9},
   \"gear\":{\"grind\":{\"min\":0,\"max\":30,\"step\":0.5,\"finer\":\"lower\",\"um_per_unit\":null},
   \"dose_g\":{\"min\":16,\"max\":20,\"step\":0.5},\"yield_g\":{\"min\":20,\"max\":60,\"step\":1},
   \"temperature_c\":null,\"pressure_bar\":9,\"refractometer\":false},
   \"aim\":{\"recipe\":{\"grind\":14,\"dose_g\":18,\"yield_g\":36,\"temperature_c\":null},\"time_s\":null}}}
  (as one line)
  {\"shot\":{\"grind\":14,\"dose_g\":18,\"yield_g\":36.4,\"temperature_c\":null,\"time_s\":19,\"taste\":{\"sourness\":2}}}
";

/// How to open a window, where the build has one.
#[derive(Default)]
pub struct Window {
    /// Opens a notebook's window and runs it to its end.
    pub open: Option<fn(Wanted) -> Result<(), String>>,
    /// Opens the page that shows every control in every state.
    pub gallery: Option<fn() -> Result<(), String>>,
}

/// Runs the program. `args` come without the program's own name.
pub fn main(args: impl IntoIterator<Item = OsString>, window: &Window) -> ExitCode {
    let (mut out, mut err) = (std::io::stdout().lock(), std::io::stderr());
    let code = match run(args, window, &mut out, &mut err) {
        Ok(code) => code,
        Err(fault) if fault.kind() == std::io::ErrorKind::BrokenPipe => DONE,
        Err(fault) => {
            // Nothing is left to try when standard error fails too.
            let _unheard = writeln!(err, "thirdpull: cannot write: {fault}");
            FAILED
        }
    };
    ExitCode::from(code)
}

/// Runs the program with given outputs; gives the exit code.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    window: &Window,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> std::io::Result<u8> {
    let mut args: Vec<OsString> = args.into_iter().collect();
    let first = args.first().map(|a| a.to_string_lossy().into_owned());
    match first.as_deref() {
        Some("-h" | "--help" | "help") => {
            out.write_all(HELP.as_bytes())?;
            Ok(DONE)
        }
        Some("-V" | "--version") => {
            writeln!(out, "thirdpull {}", env!("CARGO_PKG_VERSION"))?;
            Ok(DONE)
        }
        Some(command) if !command.starts_with('-') => {
            let _name = args.remove(0);
            let command = command.to_owned();
            match (command.as_str(), &window.gallery) {
                ("gallery", Some(gallery)) => told(Some(gallery()), err),
                _ => dispatch(&command, args, out, err),
            }
        }
        _ => open_window(args, window, err),
    }
}

fn dispatch(
    command: &str,
    args: Vec<OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> std::io::Result<u8> {
    match command {
        "advise" => advise_command(args, out, err),
        "check" => check::run(args, out, err),
        "demo" => demo::run(args, out, err),
        "export" => export::run(args, out, err),
        "pass-on" | "receive" | "merge" | "versions" | "backups" => keeping::run(command, args, out, err),
        "opening" => opening::run(args, out, err),
        "read" => read::run(args, out, err),
        "practice" => practice::run(args, out, err),
        "replay" => replay::run(args, out, err),
        "simulate" => simulate::run(args, out, err),
        "tasting" => tasting::run(args, out, err),
        "words" => words::run(args, out, err),
        other => {
            writeln!(err, "thirdpull: there is no command “{other}”; “thirdpull --help” lists them")?;
            Ok(FAILED)
        }
    }
}

fn open_window(args: Vec<OsString>, window: &Window, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &[], &["demo", "own"]) {
        Ok(given) if given.free.is_empty() => given,
        Ok(_) => return usage(err, "one notebook at a time: thirdpull --notebook DIR"),
        Err(Usage(why)) => return usage(err, &why),
    };
    let wanted = match given.place.notebook {
        Some(path) => Wanted::At(path),
        None if given.has("demo") => Wanted::Demo,
        None if given.has("own") => Wanted::Own,
        None => Wanted::Usual,
    };
    told(window.open.as_ref().map(|open| open(wanted)), err)
}

fn told(opened: Option<Result<(), String>>, err: &mut dyn Write) -> std::io::Result<u8> {
    let sentence = match opened {
        Some(Ok(())) => return Ok(DONE),
        Some(Err(sentence)) => sentence,
        None => "this build has no window; “thirdpull --help” lists what it can do without one".to_owned(),
    };
    writeln!(err, "thirdpull: {sentence}")?;
    Ok(FAILED)
}

fn usage(err: &mut dyn Write, why: &str) -> std::io::Result<u8> {
    writeln!(err, "thirdpull: {why}; “thirdpull --help” explains")?;
    Ok(FAILED)
}

fn advise_command(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    match Given::read(args, &[], &["one-lever"]) {
        Ok(given) if given.help => {
            out.write_all(ADVISE_HELP.as_bytes())?;
            Ok(DONE)
        }
        Ok(given) if given.free.is_empty() => {
            let input = std::io::BufReader::new(std::io::stdin().lock());
            let settings = Settings { one_lever: given.has("one-lever"), ..Settings::default() };
            let keep = match given.place.notebook {
                None => None,
                Some(path) => match advise::Keep::open(&path, jiff::Timestamp::now()) {
                    Ok(keep) => Some(keep),
                    Err(sentence) => {
                        writeln!(err, "thirdpull advise: {sentence}")?;
                        return Ok(FAILED);
                    }
                },
            };
            let code = advise::run_as(input, out, settings, keep, err);
            Ok(u8::try_from(code).unwrap_or(FAILED))
        }
        Ok(_) => usage(err, "advise reads its requests from standard input"),
        Err(Usage(why)) => usage(err, &why),
    }
}
