//! The commands beside the window. Results go to standard output, talk to standard error. Exit codes: 0 done,
//! 1 done but with findings, 2 could not do it.

mod args;
mod demo;
mod simulate;

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

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
  -h, --help       this page; after a command, that command's own page
  -V, --version    the version

Exit codes: 0 done; 1 done, with findings; 2 could not do it. Errors go to standard error.
";

/// Runs the program. `args` come without the program's own name.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let (mut out, mut err) = (std::io::stdout().lock(), std::io::stderr());
    let code = match run(args, &mut out, &mut err) {
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
            dispatch(&command, args, out, err)
        }
        _ => window(args, err),
    }
}

fn dispatch(
    command: &str,
    args: Vec<OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> std::io::Result<u8> {
    match command {
        "demo" => demo::run(args, out, err),
        "simulate" => simulate::run(args, out, err),
        #[cfg(feature = "gui")]
        "gallery" => match crate::ui::run_gallery() {
            Ok(()) => Ok(DONE),
            Err(sentence) => {
                writeln!(err, "thirdpull: {sentence}")?;
                Ok(FAILED)
            }
        },
        other => {
            writeln!(err, "thirdpull: there is no command “{other}”; “thirdpull --help” lists them")?;
            Ok(FAILED)
        }
    }
}

fn window(args: Vec<OsString>, err: &mut dyn Write) -> std::io::Result<u8> {
    let _ = args;
    writeln!(err, "thirdpull: no window")?;
    Ok(FAILED)
}
