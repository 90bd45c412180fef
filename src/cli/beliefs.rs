//! `thirdpull export taste-map` and `bar-card`: what the engine believes about a bag as numbers, and its keeper on a page.

use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use jiff::tz::TimeZone;

use super::export::Stop;
use crate::domain::{Bag, BagId, Lever, Notebook};
use crate::exchange::picture::{Kind, draw_card, write};
use crate::rules;
use crate::store::{self, Folder};
use crate::workbench::view::bar_card::bar_card as card_of;
use crate::workbench::view::taste_map::{pairs, write_map};
use crate::workbench::{Believing, Question, believe, engine};

/// The bag that a person means, by id or by name.
pub(super) fn bag<'a>(notebook: &'a Notebook, wanted: &str) -> Result<&'a Bag, String> {
    let live = || notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    if let Ok(id) = wanted.parse::<BagId>() {
        return live()
            .find(|bag| bag.id == id)
            .ok_or_else(|| format!("there is no bag {id} in the notebook"));
    }
    let named: Vec<&Bag> = live().filter(|bag| bag.name.eq_ignore_ascii_case(wanted.trim())).collect();
    match named.as_slice() {
        [one] => Ok(one),
        [] => Err(format!("there is no bag called “{wanted}”")),
        many => Err(format!("{} bags are called “{wanted}”; give the id of one", many.len())),
    }
}

/// The question about a bag as the window asks it today.
pub(super) fn question(notebook: &Notebook, folder: &Folder, bag: &Bag) -> Result<Question, String> {
    let zone = TimeZone::system();
    let today = zone.to_datetime(jiff::Timestamp::now()).date();
    let mut question = Question::about(notebook, bag.id, today, &zone, 0)
        .ok_or_else(|| format!("the station of “{}” is gone", bag.name))?;
    question.packs = rules::with_own(store::rule_packs(folder.path()).0);
    // A trace that cannot be read is left out here; `check` names it.
    question.look_at_traces(|pull| folder.load_trace(pull).ok().flatten().map(Arc::new));
    Ok(question)
}

fn lever(text: &str) -> Result<Lever, String> {
    Ok(match text.trim().to_ascii_lowercase().as_str() {
        "grind" => Lever::Grind,
        "dose" => Lever::Dose,
        "yield" => Lever::Yield,
        "temperature" => Lever::Temperature,
        other => return Err(format!("--levers takes two of grind, dose, yield, temperature, not “{other}”")),
    })
}

/// Writes the taste map of a bag as CSV.
pub(super) fn taste_map(
    (folder, notebook): &(Folder, Notebook),
    wanted: &str,
    levers: Option<&str>,
    to: &mut dyn Write,
) -> Result<(), Stop> {
    let (asked, gear) = (|| {
        let bag = bag(notebook, wanted)?;
        let question = question(notebook, folder, bag)?;
        let gear = question.station.gear;
        let levers = match levers.map(|text| text.split(',').map(lever).collect::<Result<Vec<_>, _>>()) {
            None => (Lever::Grind, Lever::Yield),
            Some(pair) => match pair?.as_slice() {
                [a, b] if a != b => (*a, *b),
                _ => return Err("--levers takes two different levers, such as grind,yield".to_owned()),
            },
        };
        if !pairs(&gear).iter().any(|(a, b)| (*a, *b) == levers || (*b, *a) == levers) {
            return Err("the temperature cannot be set at this bag's station".to_owned());
        }
        let advice = engine()(&question);
        Ok((Believing { question, best: advice.best, next: advice.recipe, levers }, gear))
    })()
    .map_err(Stop::Told)?;
    write_map(&believe(&asked).map, &gear, to).map_err(Stop::Io)
}

/// The bytes of the bar card of a bag's keeper, as the file's ending asks for.
pub(super) fn bar_card(
    (folder, notebook): &(Folder, Notebook),
    wanted: &[&str],
    path: &Path,
) -> Result<Vec<u8>, Stop> {
    (|| {
        let ["bar-card", name] = wanted else {
            return Err("say which bag: bar-card BAG, by its id or its name".to_owned());
        };
        let kind =
            Kind::of(path).ok_or_else(|| format!("{}: a card is a .pdf, .png or .svg", path.display()))?;
        let bag = bag(notebook, name)?;
        let question = question(notebook, folder, bag)?;
        let drinker = notebook.drinker(bag.drinker).map_or("", |drinker| drinker.name.as_str());
        let card = card_of(&question, drinker, question.today, &question.zone, &notebook.preferences.units)?;
        write(&draw_card(&card), kind).map_err(|why| why.to_string())
    })()
    .map_err(Stop::Told)
}
