//! The opening: a café's bar at one moment. What to pull, what to touch, and how sure that is.
//!
//! [`look`] turns a notebook and a moment into plain words and numbers; the window, `thirdpull opening` and the printed
//! sheet show the same. It reads only records and the moment that it is given. What is costly is kept in [`Costly`].

mod causes;
mod chart;
mod coffee;
mod costly;
mod held;
mod row;
mod sheet;
mod table;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::control::opening::{Step, cost, opening_list};
use crate::domain::{Bag, BagId, BagState, Notebook, Station, StationId};
use crate::units::UnitPreferences;

pub use causes::{Cause, Causes};
pub use chart::{Chart, ChartPoint};
pub use coffee::Sunk;
pub use costly::Costly;
pub use row::{CoffeeRow, JudgedPull, LastPull, State};
pub use sheet::{HandOver, hand_over_page, text};
pub use table::write_table;

/// What the café has chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// False adjustments a month and coffee that are put up with, 0.1–10.
    pub false_a_month: f64,
    /// Today's room less that of the last opening, kelvin.
    pub warmer_k: f64,
    /// Letters stand in place of names.
    pub hide_names: bool,
    /// Only this station.
    pub station: Option<StationId>,
    /// Pulls simulated for each trial of a threshold; 20 000 is good to 10 %.
    pub effort: u32,
}

impl Default for Wish {
    fn default() -> Self {
        Self { false_a_month: 1.0, warmer_k: 0.0, hide_names: false, station: None, effort: 20_000 }
    }
}

/// When and for whom.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The moment; later pulls are not looked at.
    pub now: Timestamp,
    /// Where the bar is.
    pub zone: &'a TimeZone,
    /// Units of what is shown.
    pub units: &'a UnitPreferences,
}

/// A coffee on the bar that nothing can be held to yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unkept {
    /// Its bag.
    pub bag: BagId,
    /// Its name.
    pub name: String,
    /// Its station.
    pub station: String,
    /// What is missing and what to do.
    pub words: String,
}

/// The bar at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// "Wednesday 25 November, 09:00".
    pub when: String,
    /// "2 of 3 ready to serve".
    pub headline: String,
    /// Coffees that are held, by station, then name.
    pub coffees: Vec<CoffeeRow>,
    /// Open bags without a keeper to hold to.
    pub unkept: Vec<Unkept>,
    /// The steps of the morning.
    pub list: Vec<Step>,
    /// "112 g and 8 minutes".
    pub list_cost: String,
    /// Where the spread comes from.
    pub causes: Causes,
    /// Coffee sunk, coffee by coffee.
    pub sunk: Vec<Sunk>,
    /// For the next shift.
    pub hand_over: HandOver,
    /// The stations of the bar: all that are in use.
    pub stations: Vec<(StationId, String)>,
}

impl Opening {
    /// Nothing on the bar can be held.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.coffees.is_empty()
    }
}

/// What to do when nothing can be held yet.
pub const NO_KEEPER: &str = "A coffee stands here once it has a keeper with a time: pull it until you like it, time the pull, then press K on \
     its page.";

/// Looks at the bar.
#[must_use]
pub fn look(notebook: &Notebook, place: Place<'_>, wish: &Wish, costly: &mut Costly) -> Opening {
    let Place { now, zone, units } = place;
    let today = held::place(now, zone).0;
    let stations: Vec<&Station> =
        notebook.stations.iter().filter(|s| s.stamp.is_live() && !s.archived).collect();
    let mut coffees = Vec::new();
    let mut unkept = Vec::new();
    let mut samples = Vec::new();
    let mut sinks = Vec::new();
    let mut all_people = People::default();
    let mut to_open = Vec::new();
    for station in stations.iter().filter(|s| wish.station.is_none_or(|id| id == s.id)) {
        let mut bags: Vec<&Bag> = notebook
            .bags
            .iter()
            .filter(|b| b.stamp.is_live() && b.station == station.id && b.stamp.made <= now)
            .collect();
        bags.sort_by_key(|b| b.id);
        let doses = doses(&bags, place, today);
        let mut shown: Vec<&Bag> = bags.iter().copied().filter(|b| on_the_bar(b, now)).collect();
        shown.sort_by(|a, b| a.name.cmp(&b.name));
        for bag in shown {
            let earlier: Vec<&Bag> = bags.iter().copied().filter(|b| b.id < bag.id).collect();
            let purge_g = row::purge_g(station);
            match row::row(bag, &earlier, station, place, wish, &doses, costly) {
                Ok(found) => {
                    all_people.meet(found.people.iter());
                    samples.extend(found.samples);
                    to_open.push(found.to_open);
                    coffees.push(found.row);
                }
                Err(words) => unkept.push(Unkept {
                    bag: bag.id,
                    name: bag.name.clone(),
                    station: station.name.clone(),
                    words,
                }),
            }
            let name = coffee::family(&bag.name);
            let mut same: Vec<&Bag> = bags
                .iter()
                .copied()
                .filter(|b| b.id != bag.id && b.roaster == bag.roaster && coffee::family(&b.name) == name)
                .collect();
            same.push(bag);
            sinks.push(coffee::sunk(&bag.name, &same, purge_g, today, zone, units));
        }
    }
    let shown = |name: &str| all_people.shown(name, wish.hide_names);
    for row in &mut coffees {
        row.name_people(&shown);
    }
    samples.retain(|s: &causes::Sample| s.day > today - causes::DAYS);
    let list = if to_open.is_empty() { Vec::new() } else { opening_list(&to_open, None) };
    let (grams, seconds) = cost(&list);
    let causes = causes::causes(&samples, &shown);
    let when = now.to_zoned_datetime(zone.clone()).strftime("%A %-d %B, %H:%M").to_string();
    let hand_over = sheet::hand_over(notebook, &coffees, &unkept, &sinks, place, today, &shown);
    Opening {
        headline: headline(&coffees),
        when,
        list_cost: format!("{grams:.0} g and {:.0} minutes", (seconds / 60.0).ceil()),
        coffees,
        unkept,
        list,
        causes,
        sunk: sinks,
        hand_over,
        stations: stations.iter().map(|s| (s.id, s.name.clone())).collect(),
    }
}

/// People by the order of first appearance.
#[derive(Debug, Default)]
struct People(Vec<String>);

impl People {
    fn meet<'a>(&mut self, names: impl Iterator<Item = &'a String>) {
        for name in names.filter(|n| !n.is_empty()) {
            if !self.0.contains(name) {
                self.0.push(name.clone());
            }
        }
    }

    fn shown(&self, name: &str, hide: bool) -> String {
        match self.0.iter().position(|n| n == name) {
            Some(at) if hide => causes::letter(at),
            _ if name.is_empty() => "nobody named".to_owned(),
            None if hide => "someone".to_owned(),
            _ => name.to_owned(),
        }
    }
}

/// Held or being dialled in; a bag that rests or is used up is not on the bar.
fn on_the_bar(bag: &Bag, now: Timestamp) -> bool {
    matches!(bag.state(), BagState::DiallingIn | BagState::Holding)
        && bag.live_pulls().next().is_none_or(|p| p.pulled_at <= now)
}

/// What was ground on a station, the last weeks.
fn doses(bags: &[&Bag], place: Place<'_>, today: i32) -> held::Doses {
    let mut doses: held::Doses = BTreeMap::new();
    for bag in bags {
        for pull in bag.live_pulls().rev() {
            let (day, at_s) = held::place(pull.pulled_at, place.zone);
            if day < today - 400 {
                break;
            }
            if pull.pulled_at <= place.now {
                doses.entry(day).or_default().push((at_s, pull.used.dose_g));
            }
        }
    }
    doses
}

fn headline(coffees: &[CoffeeRow]) -> String {
    let ready = coffees.iter().filter(|c| c.state == State::Serve).count();
    match coffees.len() {
        0 => "Nothing to hold yet".to_owned(),
        n if ready == n => format!("{} ready to serve", crate::units::counted(n, "coffee", "coffees")),
        n => format!("{ready} of {} ready to serve", crate::units::counted(n, "coffee", "coffees")),
    }
}
