//! `thirdpull read`: traces read as an expert would, cleaned, and their resistance as a table.

use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

use super::args::{Given, Usage};
use super::export::open;
use super::{DONE, FAILED, FINDINGS, usage};
use crate::domain::{Notebook, PullId, Trace};
use crate::exchange::export;
use crate::exchange::table::Remembered;
use crate::store::Folder;
use crate::trace::{Cleaned, Step, USUAL_STEPS, clean};
use crate::units::{UnitPreferences, parse_number};
use crate::workbench::number_of;
use crate::workbench::view::expected::{About, read};
use crate::workbench::view::pieces::pieces_of;
use crate::workbench::view::reading::words;

const HELP: &str = "\
thirdpull read – read traces as an expert would: events, measures, what the puck model makes of them

USAGE
  thirdpull read [OPTIONS] WHAT...

  WHAT is a trace file, a folder of them, or the id of a pull in the notebook, one or more. Columns and
  units are guessed; a file may hold several pulls, and a long log is cut into its pulls.

OPTIONS
  --dose G             dry dose, grams (default 18)
  --basket MM          inner diameter of the basket, millimetres (default 58)
  --temperature C      temperature asked for, °C (default 93)
  --pressure BAR       the machine's pressure, where the trace has none (default 9)
                       A pull of the notebook brings its own four.
  --clean              mend spikes, repeats, a coarse display and the tare first, and say what was done
  --scale-lag S        with --clean: the scale trails by so many seconds
  --scale-smoothing S  with --clean: the scale smooths with this time constant
  --samples            print the samples instead, as CSV (with --clean the mended ones)
  --resistance         print resistance instead, as CSV: time, cup mass, resistance and its deviation
  --notebook DIR       the notebook's folder (default: your own)
  -h, --help           this page

Every figure stands with its standard deviation. Files are only read.
Exit codes: 0 read; 1 read, but some file gave no trace; 2 nothing could be read.
";

/// One pull to read.
struct Wanted {
    name: String,
    trace: Trace,
    about: About,
}

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let values = ["dose", "basket", "temperature", "pressure", "scale-lag", "scale-smoothing"];
    let given = match Given::read(args, &values, &["clean", "samples", "resistance"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    let wanted = steps(&given).and_then(|steps| Ok((steps, gather(&given)?)));
    let (steps, (pulls, refused)) = match wanted {
        Ok(wanted) => wanted,
        Err(sentence) => {
            writeln!(err, "thirdpull read: {sentence}")?;
            return Ok(FAILED);
        }
    };
    for sentence in &refused {
        writeln!(err, "thirdpull read: {sentence}")?;
    }
    let mut mended = Vec::with_capacity(pulls.len());
    for mut pull in pulls {
        let (trace, report) = clean(&pull.trace, &steps);
        pull.trace = trace;
        mended.push((pull, report));
    }
    if given.has("samples") {
        let named = mended.iter().map(|(pull, _)| (pull.name.as_str(), &pull.trace));
        export::write_traces_long(named, out)?;
    } else if given.has("resistance") {
        write_resistance(&mended, out)?;
    } else {
        for (pull, report) in &mended {
            tell(pull, report, out)?;
        }
    }
    Ok(match (mended.is_empty(), refused.is_empty()) {
        (true, _) => FAILED,
        (false, true) => DONE,
        (false, false) => FINDINGS,
    })
}

fn tell(pull: &Wanted, report: &[Cleaned], out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "{}", pull.name)?;
    let reading = read(&pull.trace, &pull.about);
    for part in words(&reading, &UnitPreferences::default()) {
        // What was done says more than what a second cleaning would do.
        if part.heading == "What cleaning does" && !report.is_empty() {
            writeln!(out, "\n  What was cleaned")?;
            for step in report {
                writeln!(out, "    {}", step.words())?;
            }
            continue;
        }
        writeln!(out, "\n  {}", part.heading)?;
        for line in part.lines {
            let mark = if line.outside { "! " } else { "" };
            let figure = if line.figure.is_empty() { String::new() } else { format!("  [{}]", line.figure) };
            writeln!(out, "    {mark}{}{figure}", line.sentence)?;
        }
    }
    writeln!(out)
}

fn write_resistance(pulls: &[(Wanted, Vec<Cleaned>)], out: &mut dyn Write) -> std::io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record(["pull", "time_s", "cup_mass_g", "resistance_bar_s_ml", "resistance_sd_bar_s_ml"])?;
    for (pull, _) in pulls {
        let Some(curve) = read(&pull.trace, &pull.about).measures.resistance else { continue };
        let rows = curve.time_s.iter().zip(&curve.mass_g).zip(curve.bar_s_ml.iter().zip(&curve.sd));
        for ((t, m), (r, sd)) in rows {
            let cells = [format!("{t:.3}"), format!("{m:.2}"), format!("{r:.4}"), format!("{sd:.4}")];
            table.write_record(std::iter::once(pull.name.clone()).chain(cells))?;
        }
    }
    table.flush()
}

/// The number behind an option, within a range.
fn number(given: &Given, name: &str, (from, to): (f64, f64)) -> Result<Option<f64>, String> {
    let Some(text) = given.value(name) else { return Ok(None) };
    let text = text.to_string_lossy();
    match parse_number(&text) {
        Ok(value) if (from..=to).contains(&value) => Ok(Some(value)),
        _ => Err(format!("--{name} takes a number from {from} to {to}, not “{text}”")),
    }
}

/// The steps of cleaning asked for; those that need a known scale come before the tare is taken off.
fn steps(given: &Given) -> Result<Vec<Step>, String> {
    let lag = number(given, "scale-lag", (0.01, 4.99))?.map(Step::ScaleLag);
    let smoothing = number(given, "scale-smoothing", (0.01, 4.99))?.map(Step::ScaleSmoothing);
    if !given.has("clean") {
        return match lag.or(smoothing) {
            None => Ok(Vec::new()),
            Some(_) => Err("what the scale does is mended by cleaning; add --clean".to_owned()),
        };
    }
    let known = lag.into_iter().chain(smoothing);
    let tare = USUAL_STEPS.iter().position(|step| *step == Step::TareDrift).unwrap_or(USUAL_STEPS.len());
    let (first, last) = USUAL_STEPS.split_at(tare);
    Ok(first.iter().copied().chain(known).chain(last.iter().copied()).collect())
}

fn gather(given: &Given) -> Result<(Vec<Wanted>, Vec<String>), String> {
    if given.free.is_empty() {
        return Err("say what to read: trace files, a folder of them, or ids of pulls".to_owned());
    }
    let usual = About {
        dose_g: number(given, "dose", (1.0, 60.0))?.unwrap_or(18.0),
        basket_mm: number(given, "basket", (20.0, 100.0))?.unwrap_or(58.0),
        target_c: Some(number(given, "temperature", (1.0, 110.0))?.unwrap_or(93.0)),
        pressure_bar: number(given, "pressure", (0.5, 20.0))?.unwrap_or(9.0),
    };
    let mut notebook: Option<(Folder, Notebook)> = None;
    let (mut pulls, mut refused) = (Vec::new(), Vec::new());
    for what in &given.free {
        let path = Path::new(what);
        let id = what.to_string_lossy().parse::<PullId>();
        match id {
            Ok(id) if !path.exists() => {
                if notebook.is_none() {
                    notebook = Some(open(given, &mut Vec::new()).map_err(|stop| stop.words())?);
                }
                if let Some((folder, notebook)) = &notebook {
                    pulls.push(of_notebook(folder, notebook, id)?);
                }
            }
            _ => match pieces_of(&[path.to_owned()], &Remembered::default()) {
                Ok((found, some)) => {
                    refused.extend(some);
                    pulls.extend(found.into_iter().map(|piece| Wanted {
                        name: piece.name,
                        trace: piece.trace,
                        about: usual,
                    }));
                }
                Err(sentence) => refused.push(sentence),
            },
        }
    }
    Ok((pulls, refused))
}

fn of_notebook(folder: &Folder, notebook: &Notebook, id: PullId) -> Result<Wanted, String> {
    let found =
        notebook.bags.iter().find_map(|bag| Some((bag, bag.live_pulls().find(|pull| pull.id == id)?)));
    let (bag, pull) = found.ok_or_else(|| format!("there is no pull {id} in the notebook"))?;
    let trace = folder.load_trace(id).map_err(|fault| fault.to_string())?;
    let trace = trace.ok_or_else(|| format!("no trace is kept for pull {id}"))?;
    let about = About::of(notebook, bag, pull).ok_or_else(|| format!("the station of pull {id} is gone"))?;
    Ok(Wanted { name: format!("{} {}", bag.name, number_of(bag, id)), trace, about })
}
