//! `thirdpull export`: pulls and traces as CSV.

use std::ffi::OsString;
use std::fs::File;
use std::io::{BufWriter, Write};

use jiff::Timestamp;

use super::args::{Given, Usage};
use super::picture;
use super::{DONE, FAILED, usage};
use crate::domain::{Notebook, PullId, Trace};
use crate::exchange::export;
use crate::store::{self, Folder, Holder};

const HELP: &str = "\
thirdpull export – write pulls and traces as CSV

USAGE
  thirdpull export [--notebook DIR] pulls              every pull, one row each
  thirdpull export [--notebook DIR] trace PULL_ID      the samples of one pull
  thirdpull export [--notebook DIR] traces             the samples of all pulls, one row a sample
  thirdpull export dictionary                          what every column means

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
  --out FILE       write there instead of to standard output; an existing file is not overwritten
  -h, --help       this page

Commas between fields, decimal points, UTF-8, units in the column names: R, Python and spreadsheets read
it at once. Pull ids stand in the first column of the table of pulls.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["out", "align", "size"], &["difference", "median"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        out.write_all(picture::HELP.as_bytes())?;
        return Ok(DONE);
    }
    let wanted: Vec<String> = given.free.iter().map(|a| a.to_string_lossy().into_owned()).collect();
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    if let Some((&"picture", what)) = wanted.split_first() {
        return match picture::make(what, &given, || open(&given).map_err(told)) {
            Ok(()) => Ok(DONE),
            Err(sentence) => {
                writeln!(err, "thirdpull export: {sentence}")?;
                Ok(FAILED)
            }
        };
    }
    let result = match given.value("out") {
        None => write(&wanted, &given, out),
        Some(path) => match File::create_new(path) {
            Ok(file) => {
                let mut file = BufWriter::new(file);
                write(&wanted, &given, &mut file).and_then(|()| file.flush().map_err(Stop::Io))
            }
            Err(fault) => {
                Err(Stop::Told(format!("{}: {fault}; choose another file", path.to_string_lossy())))
            }
        },
    };
    match result {
        Ok(()) => Ok(DONE),
        Err(Stop::Io(fault)) if given.value("out").is_none() => Err(fault),
        Err(Stop::Io(fault)) => {
            writeln!(err, "thirdpull export: the file could not be written: {fault}")?;
            Ok(FAILED)
        }
        Err(Stop::Told(sentence)) => {
            writeln!(err, "thirdpull export: {sentence}")?;
            Ok(FAILED)
        }
    }
}

enum Stop {
    Io(std::io::Error),
    Told(String),
}

fn told(stop: Stop) -> String {
    match stop {
        Stop::Io(fault) => fault.to_string(),
        Stop::Told(sentence) => sentence,
    }
}

fn write(wanted: &[&str], given: &Given, to: &mut dyn Write) -> Result<(), Stop> {
    match wanted {
        ["dictionary"] => to.write_all(export::data_dictionary().as_bytes()).map_err(Stop::Io),
        ["pulls"] => {
            let (_, notebook) = open(given)?;
            export::write_pulls(&notebook, to).map_err(Stop::Io)
        }
        ["trace", id] => {
            let (folder, _) = open(given)?;
            let id: PullId =
                id.parse().map_err(|fault: crate::domain::IdFault| Stop::Told(fault.to_string()))?;
            match trace(&folder, id)? {
                Some(trace) => export::write_trace(&trace, to).map_err(Stop::Io),
                None => Err(Stop::Told(format!("no trace is kept for pull {id}"))),
            }
        }
        ["traces"] => {
            let (folder, notebook) = open(given)?;
            let mut kept = Vec::new();
            for pull in
                notebook.bags.iter().filter(|bag| bag.stamp.is_live()).flat_map(|bag| bag.live_pulls())
            {
                if pull.has_trace
                    && let Some(found) = trace(&folder, pull.id)?
                {
                    kept.push((pull.id.to_string(), found));
                }
            }
            export::write_traces_long(kept.iter().map(|(id, trace)| (id.as_str(), trace)), to)
                .map_err(Stop::Io)
        }
        _ => Err(Stop::Told("say what: pulls, trace PULL_ID, traces, picture or dictionary".to_owned())),
    }
}

fn trace(folder: &Folder, id: PullId) -> Result<Option<Trace>, Stop> {
    folder.load_trace(id).map_err(|fault| Stop::Told(fault.to_string()))
}

/// Opens for reading. Someone else may be writing at the same time; what stands on disk is what is exported.
fn open(given: &Given) -> Result<(Folder, Notebook), Stop> {
    let path = given.place.notebook.clone().or_else(store::default_folder);
    let path = path.ok_or_else(|| Stop::Told("say where the notebook is with --notebook DIR".to_owned()))?;
    let opened = Folder::open(&path, Timestamp::now(), &Holder::here())
        .map_err(|fault| Stop::Told(fault.to_string()))?;
    Ok((opened.folder, opened.notebook))
}
