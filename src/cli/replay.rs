//! `thirdpull replay`: plays a trace as a live instrument.

use std::ffi::OsString;
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::net::TcpListener;
use std::path::Path;

use super::{DONE, FAILED, args::Given, args::Usage, usage};
use crate::capture::replay;
use crate::domain::Trace;
use crate::exchange::table::Table;
use crate::workbench::view::strips::channel_name;

const HELP: &str = "\
thirdpull replay – play a trace as if an instrument were sending it

USAGE
  thirdpull replay [OPTIONS] FILE      FILE is a table or a log of one JSON object a line

OPTIONS
  --rate N       N times as fast as it was (default 1); 0 sends all lines at once
  --tcp ADDRESS  listen there (127.0.0.1:0 takes any free port; the port is told on standard error)
                 and play the trace to whoever connects
  --to FILE      write to a new file that grows; it must not be there yet
  --part N       which run of the file, when its clock starts again within it (default: the first)
  --repeat       play it again and again until it is stopped
  -h, --help     this page

Without --tcp or --to the lines go to standard output. The first line is a header that names each
quantity with its unit, then one reading follows a line, as “Live” in the window reads them.
The columns of FILE are guessed; what was guessed is told on standard error.

Exit codes: 0 done; 2 could not do it.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["rate", "tcp", "to", "part"], &["repeat"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let [file] = given.free.as_slice() else { return usage(err, "say which one trace file to play") };
    let number = |name: &str, otherwise: f64| -> Result<f64, String> {
        let Some(text) = given.value(name) else { return Ok(otherwise) };
        let text = text.to_string_lossy();
        text.parse::<f64>()
            .ok()
            .filter(|v| v.is_finite() && *v >= 0.0)
            .ok_or_else(|| format!("--{name} takes a number from 0 up, not “{text}”"))
    };
    let (rate, part) = match (number("rate", 1.0), number("part", 1.0)) {
        (Ok(rate), Ok(part)) if part >= 1.0 => (rate, part),
        (Err(why), _) | (_, Err(why)) => return usage(err, &why),
        _ => return usage(err, "--part counts from 1"),
    };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let trace = match read(Path::new(file), part as usize - 1, err) {
        Ok(trace) => trace,
        Err(sentence) => return failed(err, &sentence),
    };
    let repeat = given.has("repeat");
    match (given.value("tcp"), given.value("to")) {
        (Some(_), Some(_)) => usage(err, "either --tcp or --to, not both"),
        (Some(address), None) => serve(&trace, rate, repeat, &address.to_string_lossy(), err),
        (None, Some(path)) => match File::create_new(path) {
            Ok(mut file) => ended(play(&trace, rate, repeat, &mut file), err),
            Err(why) => failed(err, &format!("{}: {why}; choose another file", path.to_string_lossy())),
        },
        (None, None) => play(&trace, rate, repeat, out).map(|()| DONE),
    }
}

fn read(path: &Path, part: usize, err: &mut dyn Write) -> Result<Trace, String> {
    let told = |fault: crate::exchange::table::ImportFault| format!("{}: {fault}", path.display());
    let table = Table::open(path).map_err(told)?;
    let guess = table.guess();
    let mut assignment = guess.assignment.clone();
    assignment.part = part;
    let imported = table.import(&assignment).map_err(told)?;
    let channels: Vec<String> = assignment
        .channels
        .iter()
        .map(|source| {
            let name = table.column_names().nth(source.index).unwrap_or_default().to_owned();
            format!("{} from “{name}”", channel_name(source.channel).to_lowercase())
        })
        .collect();
    let _unheard = writeln!(
        err,
        "{} samples over {:.1} s: {}",
        imported.trace.len(),
        imported.trace.duration_s(),
        channels.join(", ")
    );
    Ok(imported.trace)
}

fn play(trace: &Trace, rate: f64, repeat: bool, mut to: &mut dyn Write) -> std::io::Result<()> {
    loop {
        replay(trace, rate, &mut to, std::thread::sleep)?;
        if !repeat {
            return Ok(());
        }
        if rate <= 0.0 {
            // All at once, again and again, would only heat the room.
            std::thread::sleep(std::time::Duration::from_secs(1));
        }
    }
}

/// Plays to one connection after the other. A listener that goes away before the end does not end the program, so that
/// reconnecting can be tried; the end of the trace does, unless it repeats.
fn serve(trace: &Trace, rate: f64, repeat: bool, address: &str, err: &mut dyn Write) -> std::io::Result<u8> {
    let opened = TcpListener::bind(address).and_then(|listener| Ok((listener.local_addr()?, listener)));
    let (place, listener) = match opened {
        Ok(opened) => opened,
        Err(why) => return failed(err, &format!("{address}: {why}")),
    };
    writeln!(err, "listening on {place}")?;
    err.flush()?;
    loop {
        let (mut stream, who) = match listener.accept() {
            Ok(pair) => pair,
            Err(why) => return failed(err, &why.to_string()),
        };
        match play(trace, rate, repeat, &mut stream) {
            Ok(()) => return Ok(DONE),
            Err(why)
                if matches!(
                    why.kind(),
                    ErrorKind::BrokenPipe | ErrorKind::ConnectionReset | ErrorKind::ConnectionAborted
                ) =>
            {
                writeln!(err, "{who} has gone; waiting for the next")?;
            }
            Err(why) => return failed(err, &why.to_string()),
        }
    }
}

fn ended(outcome: std::io::Result<()>, err: &mut dyn Write) -> std::io::Result<u8> {
    match outcome {
        Ok(()) => Ok(DONE),
        Err(why) => failed(err, &why.to_string()),
    }
}

fn failed(err: &mut dyn Write, sentence: &str) -> std::io::Result<u8> {
    writeln!(err, "thirdpull replay: {sentence}")?;
    Ok(FAILED)
}
