//! `thirdpull export picture`: pulls over each other as a picture, or as a table of numbers.

use std::path::{Path, PathBuf};

use super::args::Given;
use crate::domain::{Notebook, PullId, Trace};
use crate::exchange::picture::{Kind, draw, write};
use crate::exchange::table::Table;
use crate::store::Folder;
use crate::trace::{Events, find_events};
use crate::units::UnitPreferences;
use crate::workbench::number_of;
use crate::workbench::view::compare::{Align, Compared, Wish, compare, figure};

/// The part of the help page that is about pictures.
pub(super) const HELP: &str = "\
PICTURES
  thirdpull export picture --out FILE.png|svg|pdf [OPTIONS] WHAT...

  WHAT is the id of a pull in the notebook or the path of a trace file, one or more; the first is
  the chosen one. Several traces in one file are all taken.
  --align HOW        pump-on (default), first-drip, best-match, as-recorded, or a mass such as 20g
  --difference       each less the chosen one
  --median           the median and the middle half of all
  --size WxH         points (default 760x620)
";

/// One pull with everything that a picture needs.
struct Named {
    name: String,
    label: String,
    trace: Trace,
    events: Events,
}

/// Makes the picture and writes it into a new file.
///
/// # Errors
/// One sentence.
pub(super) fn make(
    what: &[&str],
    given: &Given,
    open: impl FnOnce() -> Result<(Folder, Notebook), String>,
) -> Result<(), String> {
    let out = PathBuf::from(
        given.value("out").ok_or("say where the picture goes with --out FILE.png, .svg or .pdf")?,
    );
    let kind =
        Kind::of(&out).ok_or_else(|| format!("{}: a picture is a .png, .svg or .pdf", out.display()))?;
    let align = match given.value("align") {
        None => Align::PumpOn,
        Some(text) => align(&text.to_string_lossy())?,
    };
    let size = match given.value("size") {
        None => (760.0, 620.0),
        Some(text) => size(&text.to_string_lossy())?,
    };
    let pulls = gather(what, open)?;
    let compared: Vec<Compared<'_>> = pulls
        .iter()
        .map(|pull| Compared {
            name: &pull.name,
            label: &pull.label,
            trace: &pull.trace,
            events: &pull.events,
        })
        .collect();
    let wish =
        Wish { align, difference: given.has("difference"), group: given.has("median"), ..Wish::default() };
    let view = compare(&compared, &wish, None, &UnitPreferences::default());
    if view.strips.strips.is_empty() {
        return Err("no pull shows what is to be put at zero; choose another --align".to_owned());
    }
    let title = match pulls.as_slice() {
        [one] => one.name.clone(),
        many => format!("{} pulls", many.len()),
    };
    let bytes =
        write(&draw(&figure(&view, &title, None), size.0, size.1), kind).map_err(|why| why.to_string())?;
    let mut file = std::fs::File::create_new(&out)
        .map_err(|why| format!("{}: {why}; choose another file", out.display()))?;
    std::io::Write::write_all(&mut file, &bytes).map_err(|why| format!("{}: {why}", out.display()))
}

fn gather(
    what: &[&str],
    open: impl FnOnce() -> Result<(Folder, Notebook), String>,
) -> Result<Vec<Named>, String> {
    if what.is_empty() {
        return Err("say which pulls: ids of the notebook, or trace files".to_owned());
    }
    let mut open = Some(open);
    let mut notebook: Option<(Folder, Notebook)> = None;
    let mut pulls = Vec::new();
    for one in what {
        let path = Path::new(one);
        if !path.exists()
            && let Ok(id) = one.parse::<PullId>()
        {
            if notebook.is_none()
                && let Some(open) = open.take()
            {
                notebook = Some(open()?);
            }
            let Some((folder, notebook)) = &notebook else { continue };
            let bag = notebook.bags.iter().find(|bag| bag.live_pulls().any(|pull| pull.id == id));
            let bag = bag.ok_or_else(|| format!("there is no pull {id} in the notebook"))?;
            let trace = folder.load_trace(id).map_err(|fault| fault.to_string())?;
            let trace = trace.ok_or_else(|| format!("no trace is kept for pull {id}"))?;
            let number = number_of(bag, id);
            let events = find_events(&trace);
            pulls.push(Named {
                name: format!("{} {number}", bag.name),
                label: number.to_string(),
                trace,
                events,
            });
            continue;
        }
        let table = Table::open(path).map_err(|fault| format!("{one}: {fault}"))?;
        let all = table.import_all(&table.guess().assignment).map_err(|fault| format!("{one}: {fault}"))?;
        let stem = path.file_stem().map_or_else(|| (*one).to_owned(), |s| s.to_string_lossy().into_owned());
        let several = all.len() > 1;
        for (at, imported) in all.into_iter().enumerate() {
            let name = if several { format!("{stem} {}", at + 1) } else { stem.clone() };
            let label = (pulls.len() + 1).to_string();
            let events = find_events(&imported.trace);
            pulls.push(Named { name, label, trace: imported.trace, events });
        }
    }
    Ok(pulls)
}

fn align(text: &str) -> Result<Align, String> {
    Ok(match text {
        "pump-on" => Align::PumpOn,
        "first-drip" => Align::FirstDrip,
        "best-match" => Align::BestMatch,
        "as-recorded" => Align::AsRecorded,
        other => {
            let grams = other.strip_suffix('g').and_then(|n| n.trim().parse::<f64>().ok());
            let grams = grams.filter(|g| *g > 0.0 && *g < 1000.0);
            Align::CupMass(grams.ok_or_else(|| {
                format!("--align takes pump-on, first-drip, best-match, as-recorded or a mass such as 20g, not “{other}”")
            })?)
        }
    })
}

fn size(text: &str) -> Result<(f64, f64), String> {
    let parts = text.split_once(['x', '×']);
    let side = |n: &str| n.trim().parse::<f64>().ok().filter(|v| (160.0..=4000.0).contains(v));
    parts
        .and_then(|(w, h)| Some((side(w)?, side(h)?)))
        .ok_or_else(|| format!("--size takes WIDTHxHEIGHT in points, 160 to 4000, not “{text}”"))
}
