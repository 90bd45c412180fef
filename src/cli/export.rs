//! `thirdpull export`: pulls and traces as CSV.

use std::ffi::OsString;
use std::io::{BufWriter, ErrorKind, Write};
use std::path::Path;

use jiff::Timestamp;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS, usage};
use super::{beliefs, picture};
use crate::domain::{Notebook, PullId, Trace};
use crate::exchange::export;
use crate::store::{self, Folder, Holder, Problem};
use crate::workbench::{write_tables, write_traces};

const HELP: &str = "\
thirdpull export – write pulls and traces as CSV (and pulls as a spreadsheet)

USAGE
  thirdpull export [--notebook DIR] pulls              every pull, one row each
  thirdpull export [--notebook DIR] trace PULL_ID      the samples of one pull
  thirdpull export [--notebook DIR] traces             the samples of all pulls, one row a sample
  thirdpull export [--notebook DIR] all --out DIR      all of these into a folder, and pulls.xlsx
  thirdpull export [--notebook DIR] taste-map BAG      what the engine believes: mean liking over two levers
  thirdpull export [--notebook DIR] bar-card BAG --out FILE.pdf|png|svg   the keeper's card, to print
  thirdpull export dictionary                          what every column means

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
  --out FILE       write there instead of to standard output; an existing file is not overwritten
  --levers A,B     taste-map: grind, dose, yield or temperature, two of them (default grind,yield)
  -h, --help       this page

BAG is a bag's id (third column of the table of pulls) or its name.
Commas between fields, decimal points, UTF-8, units in the column names: R, Python and spreadsheets read
it at once. Pull ids stand in the first column of the table of pulls.
Exit codes: 0 written; 1 written, but a file of the notebook could not be read; 2 not written.
";

/// What of the help page is true only of a build that writes spreadsheets.
const OF_SPREADSHEETS: [&str; 2] = [" (and pulls as a spreadsheet)", ", and pulls.xlsx"];

/// The help page of this build.
fn help() -> String {
    let parts = if cfg!(feature = "xlsx") { &[][..] } else { &OF_SPREADSHEETS[..] };
    parts.iter().fold(HELP.to_owned(), |help, part| help.replace(part, ""))
}

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["out", "align", "size", "levers"], &["difference", "median"]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(help().as_bytes())?;
        out.write_all(picture::HELP.as_bytes())?;
        return Ok(DONE);
    }
    let wanted: Vec<String> = given.free.iter().map(|a| a.to_string_lossy().into_owned()).collect();
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    let mut left_out = Vec::new();
    if let Some((&"picture", what)) = wanted.split_first() {
        return match picture::make(what, &given, || open(&given, &mut left_out).map_err(Stop::words)) {
            Ok(()) => Ok(DONE),
            Err(sentence) => {
                writeln!(err, "thirdpull export: {sentence}")?;
                Ok(FAILED)
            }
        };
    }
    let result = match given.value("out") {
        Some(path) if wanted.first() == Some(&"bar-card") => open(&given, &mut left_out)
            .and_then(|opened| beliefs::bar_card(&opened, &wanted, Path::new(path)))
            .and_then(|bytes| to_file(Path::new(path), |to| to.write_all(&bytes).map_err(Stop::Io))),
        Some(path) if wanted == ["all"] => open(&given, &mut left_out).and_then(|(folder, notebook)| {
            let unread = write_tables(&folder, &notebook, Path::new(path), store::UNWATCHED);
            unread.map(|unread| left_out.extend(unread)).map_err(Stop::Told)
        }),
        None => write(&wanted, &given, out, &mut left_out),
        Some(path) => to_file(Path::new(path), |to| write(&wanted, &given, to, &mut left_out)),
    };
    for problem in &left_out {
        writeln!(err, "thirdpull export: left out: {problem}")?;
    }
    match result {
        Ok(()) if left_out.is_empty() => Ok(DONE),
        Ok(()) => Ok(FINDINGS),
        Err(Stop::Io(fault)) if given.value("out").is_none() => Err(fault),
        Err(Stop::Io(fault)) => {
            writeln!(
                err,
                "thirdpull export: the file could not be written: {fault}; nothing was left behind"
            )?;
            Ok(FAILED)
        }
        Err(Stop::Told(sentence)) => {
            writeln!(err, "thirdpull export: {sentence}")?;
            Ok(FAILED)
        }
    }
}

pub(super) enum Stop {
    Io(std::io::Error),
    Told(String),
}

impl Stop {
    /// As a sentence.
    pub(super) fn words(self) -> String {
        match self {
            Self::Io(fault) => fault.to_string(),
            Self::Told(sentence) => sentence,
        }
    }
}

/// Writes a file that was not there before: whole, or not at all.
pub(super) fn to_file(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> Result<(), Stop>,
) -> Result<(), Stop> {
    let there = || {
        Stop::Told(format!("“{}” is there already and stays as it is; choose another name", path.display()))
    };
    if path.exists() {
        return Err(there());
    }
    let folder = crate::store::folder_of(path);
    let draft = tempfile::Builder::new().prefix(".thirdpull-").tempfile_in(folder).map_err(|fault| {
        let why = match fault.kind() {
            ErrorKind::NotFound => "its folder is not there".to_owned(),
            ErrorKind::PermissionDenied => "its folder may not be written to".to_owned(),
            _ => fault.to_string(),
        };
        Stop::Told(format!("“{}” could not be made: {why}; choose another place", path.display()))
    })?;
    let mut to = BufWriter::new(draft);
    write(&mut to)?;
    let draft = to.into_inner().map_err(|fault| Stop::Io(fault.into_error()))?;
    match draft.persist_noclobber(path) {
        Ok(_file) => Ok(()),
        Err(fault) if fault.error.kind() == ErrorKind::AlreadyExists => Err(there()),
        Err(fault) => Err(Stop::Io(fault.error)),
    }
}

/// Writes what is wanted; files of the notebook that could not be read are named in `left_out`.
fn write(
    wanted: &[&str],
    given: &Given,
    to: &mut dyn Write,
    left_out: &mut Vec<Problem>,
) -> Result<(), Stop> {
    match wanted {
        ["dictionary"] => to.write_all(export::data_dictionary().as_bytes()).map_err(Stop::Io),
        ["pulls"] => {
            let (_, notebook) = open(given, left_out)?;
            export::write_pulls(&notebook, to).map_err(Stop::Io)
        }
        ["trace", id] => {
            let (folder, _) = open(given, &mut Vec::new())?;
            let id: PullId =
                id.parse().map_err(|fault: crate::domain::IdFault| Stop::Told(fault.to_string()))?;
            match trace(&folder, id)? {
                Some(trace) => export::write_trace(&trace, to).map_err(Stop::Io),
                None => Err(Stop::Told(format!("no trace is kept for pull {id}"))),
            }
        }
        ["bar-card", ..] => {
            Err(Stop::Told("say where the card goes with --out FILE.pdf, .png or .svg".to_owned()))
        }
        ["taste-map", bag] => {
            let opened = open(given, left_out)?;
            let levers = given.value("levers").map(|text| text.to_string_lossy().into_owned());
            beliefs::taste_map(&opened, bag, levers.as_deref(), to)
        }
        ["traces"] => {
            let (folder, notebook) = open(given, left_out)?;
            write_traces(&folder, &notebook, to, left_out, store::UNWATCHED).map(|_whole| ()).map_err(Stop::Io)
        }
        _ => Err(Stop::Told(
            "say what: pulls, trace PULL_ID, traces, taste-map BAG, bar-card BAG, picture, dictionary, or all with --out DIR".to_owned(),
        )),
    }
}

fn trace(folder: &Folder, id: PullId) -> Result<Option<Trace>, Stop> {
    folder.load_trace(id).map_err(|fault| Stop::Told(fault.to_string()))
}

/// Opens for reading: asks for no lock and writes nothing. Someone else may be writing at the same time; what stands on disk is what is exported.
pub(super) fn open(given: &Given, left_out: &mut Vec<Problem>) -> Result<(Folder, Notebook), Stop> {
    let path = given.place.notebook.clone().or_else(store::default_folder);
    let path = path.ok_or_else(|| Stop::Told("say where the notebook is with --notebook DIR".to_owned()))?;
    let opened = Folder::read(&path, Timestamp::now(), &Holder::here())
        .map_err(|fault| Stop::Told(fault.to_string()))?;
    left_out.extend(opened.problems);
    Ok((opened.folder, opened.notebook))
}
