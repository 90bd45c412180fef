//! The commands beside the window. Results go to standard output, talk to standard error. Exit codes: 0 done,
//! 1 done but with findings, 2 could not do it.

mod args;
mod simulate;

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

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
  export      write pulls, or one pull's trace, as CSV
  simulate    simulate one pull from a description of puck and water
  demo        write the demo notebook into an empty folder

OPTIONS
  --notebook DIR   the notebook's folder (default: your data folder, or $THIRDPULL_NOTEBOOK)
  --own, --demo    your own notebook, or the demo (default: your own once there is one)
  -h, --help       this page; after a command, that command's own page
  -V, --version    the version

Exit codes: 0 done; 1 done, with findings; 2 could not do it. Errors go to standard error.
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
        "simulate" => simulate::run(args, out, err),
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
