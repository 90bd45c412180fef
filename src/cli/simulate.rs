//! `thirdpull simulate`: one pull from a description of puck and drive.

use super::{DONE, FAILED, FINDINGS, args::Given};
use crate::domain::Channel;
use crate::exchange::table::Table;
use crate::practice::fitting::profile;
use crate::puck::{Condition, Drive, DriveSpec, Puck, PuckFault, PuckSpec, PullTrace, Settings, simulate};
use serde::{Deserialize, Serialize};
use std::ffi::OsString;
use std::io::{Read, Write};

const HELP: &str = "\
thirdpull simulate – simulate one pull of espresso

USAGE
  thirdpull simulate [OPTIONS] FILE      FILE is a RON description; - reads standard input

OPTIONS
  --csv FILE     write the trace there; then the summary goes to standard output
  --every S      write one row every S seconds (default: every computed step)
  --summary      no trace, the summary only
  --replay FILE  let a recorded trace drive the pull: its pressure, and its water temperature if it
                 has one, replace those of the description, to the end of the record. Any table of
                 samples that the program imports will do. (stop_at_g: None) follows it to its end
  --example      print a complete description to start from
  -h, --help     this page

Without --csv or --summary the trace goes to standard output as CSV and the one-line summary to
standard error. Columns: time_s, head_bar (before the machine's losses), bed_bar, inflow_ml_s,
flow_g_s, cup_g, exit_c (leaving the puck), stream_tds_pct, resistance_bar_s_ml, then the
dissolved mass in the cup for each class of solubles, g.

THE DESCRIPTION
  ( puck: (dose_g: 18.0, flow: (permeability_m2: 3.8e-15), unevenness: (spread: 0.3)),
    drive: (pressure_bar: [(0, 3), (8, 3), (8, 9)], temperature_c: [(0, 93)], stop_at_g: 36) )
Everything left out keeps its default; --example shows all of it. Pressure, flow and temperature
are lists of (time_s, value) joined by straight lines; two points at one time make a step.
Pressure and flow are both ceilings: pressure alone is the usual machine, flow_ml_s beside a high
pressure is flow control.

Exit codes: 0 done; 1 done, but the puck choked, gushed or never filled the cup; 2 could not do it.
Everything is computed; nothing here replaces care with hot water and pressure on a real machine.
";

/// A description as read from a file.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Description {
    /// What lies in the basket.
    pub puck: PuckSpec,
    /// What the machine does.
    pub drive: DriveSpec,
    /// How finely to compute.
    pub settings: Settings,
}

impl Description {
    /// Reads RON.
    ///
    /// # Errors
    /// One sentence with line and column where they are known.
    pub fn read(text: &str) -> Result<Self, String> {
        options().from_str(text).map_err(|fault| {
            let at = fault.span.start;
            format!("line {}, column {}: {}", at.line, at.col, fault.code)
        })
    }

    /// Checks every number and simulates the pull.
    ///
    /// # Errors
    /// The fault of the first field out of range.
    pub fn simulate(&self) -> Result<PullTrace, PuckFault> {
        let (puck, drive) = (Puck::new(self.puck.clone())?, Drive::new(self.drive.clone())?);
        simulate(&puck, &drive, &self.settings)
    }
}

/// Lets a recorded trace drive the pull.
fn replay(drive: &mut DriveSpec, path: &std::path::Path) -> Result<(), String> {
    let read = Table::open(path).and_then(|table| table.import_guessed());
    let trace = read.map_err(|fault| fault.to_string())?.trace;
    let Some(pressure) = profile(&trace, Channel::Pressure, 0.0, 20.0) else {
        return Err("this trace has no pressure to replay".to_owned());
    };
    drive.duration_s = pressure.points().last().map_or(0.0, |p| p.0).clamp(0.0, 600.0);
    drive.pressure_bar = pressure;
    drive.flow_ml_s = None;
    if let Some(temperature) = profile(&trace, Channel::Temperature, 0.0, 130.0) {
        drive.temperature_c = temperature;
    }
    Ok(())
}

fn options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

/// Where a field named in a fault is written, if it is written just once.
fn place_of(field: &str, text: &str) -> Option<(usize, usize)> {
    let name = field
        .rsplit('.')
        .find(|part| {
            part.chars().next().is_some_and(char::is_alphabetic) && *part != "value" && *part != "time_s"
        })?
        .split('[')
        .next()?;
    let mut found = text.match_indices(name).filter(|(at, _)| {
        let rest = text.get(at + name.len()..).unwrap_or("").trim_start();
        let before = text.get(..*at).and_then(|b| b.chars().next_back());
        rest.starts_with(':') && !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
    });
    let (at, _) = found.next()?;
    if found.next().is_some() {
        return None;
    }
    let before = text.get(..at)?;
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    Some((line, column))
}

/// Writes the trace as CSV, one row for each step or one every `every_s`.
///
/// # Errors
/// When the sink cannot be written.
pub fn write_trace(trace: &PullTrace, every_s: Option<f64>, sink: &mut dyn Write) -> std::io::Result<()> {
    let series: [(&str, &[f64]); 9] = [
        ("time_s", &trace.time_s),
        ("head_bar", &trace.head_bar),
        ("bed_bar", &trace.bed_bar),
        ("inflow_ml_s", &trace.inflow_ml_s),
        ("flow_g_s", &trace.flow_g_s),
        ("cup_g", &trace.cup_g),
        ("exit_c", &trace.exit_c),
        ("stream_tds_pct", &trace.stream_tds_pct),
        ("resistance_bar_s_ml", &trace.resistance_bar_s_ml),
    ];
    let mut table = csv::Writer::from_writer(sink);
    let mut row: Vec<String> = series.iter().map(|(name, _)| (*name).to_owned()).collect();
    row.extend(trace.classes.iter().map(|c| format!("{c}_g")));
    table.write_record(&row)?;
    let columns = || series.iter().map(|(_, v)| *v).chain(trace.dissolved_g.iter().map(Vec::as_slice));
    let mut write = |value: &dyn Fn(&[f64]) -> f64| -> std::io::Result<()> {
        row.clear();
        row.extend(columns().map(|v| format!("{:.5}", value(v))));
        table.write_record(&row).map_err(std::io::Error::from)
    };
    match every_s {
        Some(every_s) => {
            let rows = (trace.end_s / every_s + 1e-9) as usize;
            for i in 0..=rows {
                write(&|v| trace.sample(v, i as f64 * every_s))?;
            }
        }
        None => {
            for i in 0..trace.time_s.len() {
                write(&|v| v.get(i).copied().unwrap_or(0.0))?;
            }
        }
    }
    table.flush()
}

/// Runs the command; `args` come without the words `thirdpull simulate`. Gives the exit code.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let mut fail = |sentence: String| -> std::io::Result<u8> {
        writeln!(err, "thirdpull simulate: {sentence}")?;
        Ok(FAILED)
    };
    let given = match Given::read(args, &["csv", "every", "replay"], &["summary", "example"]) {
        Ok(given) => given,
        Err(usage) => return fail(format!("{}; “thirdpull simulate --help” has the options", usage.0)),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    if given.has("example") {
        return match options().to_string_pretty(&Description::default(), ron::ser::PrettyConfig::default()) {
            Ok(text) => {
                writeln!(out, "{text}")?;
                Ok(DONE)
            }
            Err(fault) => fail(format!("cannot write the example: {fault}")),
        };
    }
    let every_s = match given.value("every").map(|v| v.to_string_lossy().parse::<f64>()) {
        None => None,
        Some(Ok(s)) if (0.001..=600.0).contains(&s) => Some(s),
        Some(_) => return fail("--every needs seconds, 0.001 to 600".to_owned()),
    };
    let [file] = given.free.as_slice() else {
        return fail("needs one FILE (or - for standard input); see --help".to_owned());
    };
    let shown = file.to_string_lossy();
    let text = if shown == "-" {
        let mut text = String::new();
        std::io::stdin().lock().read_to_string(&mut text).map(|_| text)
    } else {
        std::fs::read_to_string(file)
    };
    let text = match text {
        Ok(text) => text,
        Err(fault) => return fail(format!("cannot read {shown}: {fault}")),
    };
    let mut description = match Description::read(&text) {
        Ok(description) => description,
        Err(fault) => return fail(format!("{shown}, {fault}")),
    };
    if let Some(path) = given.value("replay")
        && let Err(fault) = replay(&mut description.drive, std::path::Path::new(path))
    {
        return fail(format!("{}: {fault}", path.to_string_lossy()));
    }
    let trace = match description.simulate() {
        Ok(trace) => trace,
        Err(fault) => {
            let place = match &fault {
                PuckFault::OutOfRange { field, .. } | PuckFault::Shape { field, .. } => {
                    place_of(field, &text)
                }
            };
            let place = place.map_or(String::new(), |(l, c)| format!(", line {l}, column {c}"));
            return fail(format!("{shown}{place}: {fault}"));
        }
    };
    if let Some(path) = given.value("csv") {
        let written = std::fs::File::create(path)
            .and_then(|file| write_trace(&trace, every_s, &mut std::io::BufWriter::new(file)));
        if let Err(fault) = written {
            return fail(format!("cannot write {}: {fault}", path.to_string_lossy()));
        }
        writeln!(out, "{}", trace.summary())?;
    } else if given.has("summary") {
        writeln!(out, "{}", trace.summary())?;
    } else {
        write_trace(&trace, every_s, out)?;
        writeln!(err, "{}", trace.summary())?;
    }
    let short = description.drive.stop_at_g.is_some() && !trace.reached_yield;
    Ok(if trace.condition == Condition::Ordinary && !short { DONE } else { FINDINGS })
}
