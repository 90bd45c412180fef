//! The opening: a café's bar at one moment. What to pull, what to touch, and how sure that is.
//!
//! [`look`] turns a notebook and a moment into plain words and numbers; the window, `thirdpull opening` and the printed
//! sheet show the same. It reads only records and the moment that it is given. What is costly is kept in [`Costly`].

mod bars;
mod books;
mod causes;
mod chart;
mod coffee;
mod costly;
mod held;
mod json;
mod list;
mod mixing;
pub mod notes;
mod rooms;
mod row;
mod say;
mod sheet;
mod table;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::control::neighbours::Neighbour;
use crate::domain::{Bag, BagId, BagState, Keeper, Notebook, StationId};
use crate::units::UnitPreferences;
use crate::units::dates::in_full;
use crate::words::Name;

pub use bars::{Bar, bar_at, name_of};
pub use books::{Books, Copies, Snapshot};
pub use causes::{Cause, Causes, Source, Spread};
pub use chart::{Chart, ChartPoint};
pub use coffee::Sunk;
pub use costly::Costly;
pub use json::write_json;
pub use list::ListStep;
pub use row::{CoffeeRow, JudgedPull, LastPull, State};
pub use sheet::{HandOver, hand_over_page, text};
pub use table::write_table;

/// What the café has chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// False adjustments a month and coffee that are put up with, 0.1–10.
    pub false_a_month: f64,
    /// Today's room less that of the last opening, kelvin; `None` takes it from what was written down.
    pub warmer_k: Option<f64>,
    /// Today's room where no pull's note tells it yet.
    pub room: notes::Room,
    /// Letters stand in place of names.
    pub hide_names: bool,
    /// Only this station.
    pub station: Option<StationId>,
    /// Separate the causes in this look; else [`Opening::spread`] is there for it.
    pub causes: bool,
    /// Pulls simulated for each trial of a threshold; 20 000 is good to 10 %.
    pub effort: u32,
    /// Thresholds that may be worked out in this look; the others are stood in for until the next.
    pub fresh: u32,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            false_a_month: 1.0,
            warmer_k: None,
            room: notes::Room::default(),
            hide_names: false,
            causes: true,
            station: None,
            effort: 20_000,
            fresh: u32::MAX,
        }
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
#[derive(Debug, Clone, PartialEq)]
pub struct Unkept {
    /// Its bag.
    pub bag: BagId,
    /// Its name.
    pub name: String,
    /// Its station.
    pub station: String,
    /// What is missing and what to do.
    pub words: String,
    /// The keeper of the bag before of the same coffee, and that bag's name: it may be held to that.
    pub inherit: Option<(Box<Keeper>, String)>,
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
    pub list: Vec<ListStep>,
    /// "112 g and 8 minutes".
    pub list_cost: String,
    /// Where the spread comes from.
    pub causes: Causes,
    /// What they are separated from.
    pub spread: Spread,
    /// Coffee sunk, coffee by coffee.
    pub sunk: Vec<Sunk>,
    /// What the week will want of all coffees together; empty without a whole week of record.
    pub week: String,
    /// For the next shift.
    pub hand_over: HandOver,
    /// What is known of today's room: "room 24 °C, 6 °C warmer than at the last opening"; empty without.
    pub room: String,
    /// A note of today tells the room already.
    pub room_noted: bool,
    /// Coffees whose thresholds are stood in for; 0 when all are worked out.
    pub unfinished: usize,
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
pub const NO_KEEPER: Name = name!("view-opening-a-coffee-stands-here-once-it-has");

/// Looks at the bar of a notebook.
#[must_use]
pub fn look(notebook: &Notebook, place: Place<'_>, wish: &Wish, costly: &mut Costly) -> Opening {
    look_at(&Books::from(notebook), place, wish, costly)
}

/// Looks at the bar.
#[must_use]
pub fn look_at(books: &Books<'_>, place: Place<'_>, wish: &Wish, costly: &mut Costly) -> Opening {
    let Place { now, zone, units } = place;
    let today = held::place(now, zone).0;
    costly.begin(wish.fresh);
    let mut coffees = Vec::new();
    let mut unkept = Vec::new();
    let mut samples = Vec::new();
    let mut sinks = Vec::new();
    let mut all_people = People::default();
    let mut to_open = Vec::new();
    let rooms = rooms::Rooms::read(books, place, wish.room);
    for station in books.stations.iter().filter(|s| wish.station.is_none_or(|id| id == s.id)) {
        let bags: Vec<&Bag> =
            books.bags.iter().copied().filter(|b| b.station == station.id && b.stamp.made <= now).collect();
        let doses = doses(books, station.id, place, today);
        let mut shown: Vec<&Bag> = bags.iter().copied().filter(|b| on_the_bar(b, now)).collect();
        shown.sort_by(|a, b| a.name.cmp(&b.name));
        let earlier: Vec<Vec<&Bag>> =
            shown.iter().map(|bag| bags.iter().copied().filter(|b| b.id < bag.id).collect()).collect();
        let at = |earlier| row::At { earlier, station, place, wish, doses: &doses, rooms: &rooms };
        // All coffees of the grinder first: each is judged with what the others say.
        let prepared: Vec<_> = shown
            .iter()
            .zip(&earlier)
            .map(|(bag, earlier)| row::prepare(bag, &at(earlier), costly))
            .collect();
        let held: Vec<&row::Prepared<'_>> = prepared.iter().filter_map(|p| p.as_ref().ok()).collect();
        let series: Vec<_> = held.iter().map(|p| p.series()).collect();
        let closes = held::closes(&series, today);
        let seen: Vec<Neighbour> = held.iter().zip(&closes).map(|(p, close)| p.as_neighbour(close)).collect();
        let mut closed = closes.iter().enumerate();
        for ((bag, earlier), prepared) in shown.iter().zip(&earlier).zip(prepared) {
            let purge_g = row::purge_g(station);
            match prepared {
                Ok(prepared) => {
                    let Some((n, close)) = closed.next() else { continue };
                    let others = seen.iter().enumerate().filter(|(k, _)| *k != n);
                    let others: Vec<Neighbour> = others.map(|(_, one)| one.clone()).collect();
                    let found = row::row(prepared, close, &others, &at(earlier), costly);
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
                    inherit: inherited(bag, station.id, earlier),
                }),
            }
            let mut same: Vec<&Bag> =
                bags.iter().copied().filter(|b| b.id != bag.id && coffee::same(b, bag)).collect();
            same.push(bag);
            sinks.push(coffee::sunk(&bag.name, &same, purge_g, today, zone, units));
        }
    }
    let shown = |name: &str| all_people.shown(name, wish.hide_names);
    for row in &mut coffees {
        row.name_people(&shown);
    }
    // Without today's pulls, so that the separation stands for the day.
    samples.retain(|s: &causes::Sample| s.day > today - causes::DAYS && s.day < today);
    let names = samples.iter().map(|s| (s.who.clone(), shown(&s.who))).collect();
    let spread = Spread { samples, names };
    let list = list::list(&to_open, &coffees);
    let causes = if wish.causes { spread.causes() } else { Causes::default() };
    let when = in_full(&now.to_zoned_datetime(zone.clone()));
    let hand_over = sheet::hand_over(books, &coffees, &unkept, &sinks, place, today, &shown);
    Opening {
        headline: headline(&coffees),
        when,
        list_cost: list::cost(&list),
        coffees,
        unkept,
        list,
        causes,
        spread,
        week: coffee::whole_week(&sinks, units),
        sunk: sinks,
        hand_over,
        room: rooms.words(today, units),
        room_noted: rooms.noted,
        unfinished: costly.stood_in(),
        stations: books.stations.iter().map(|s| (s.id, s.name.clone())).collect(),
    }
}

/// The newest keeper on the station of an earlier bag of the same coffee, to hold a new bag to.
fn inherited(bag: &Bag, station: StationId, earlier: &[&Bag]) -> Option<(Box<Keeper>, String)> {
    if bag.keeper.is_some() {
        return None;
    }
    let before = earlier.iter().rev().filter(|b| coffee::same(b, bag) && b.kept_on() == Some(station));
    before
        .filter_map(|b| Some((b.keeper.as_ref().filter(|k| k.time_s.is_some())?, b)))
        .map(|(keeper, b)| (Box::new(Keeper { from_pull: None, ..keeper.clone() }), b.name.clone()))
        .next()
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
            _ if name.is_empty() => word!("view-opening-nobody-named").to_owned(),
            None if hide => word!("view-opening-someone").to_owned(),
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
fn doses(books: &Books<'_>, station: StationId, place: Place<'_>, today: i32) -> held::Doses {
    let mut doses: held::Doses = BTreeMap::new();
    for bag in &books.bags {
        for pull in bag.live_pulls().rev() {
            let (day, at_s) = held::place(pull.pulled_at, place.zone);
            if day < today - 400 {
                break;
            }
            if pull.station == station && pull.pulled_at <= place.now {
                doses.entry(day).or_default().push((at_s, pull.used.dose_g));
            }
        }
    }
    doses
}

fn headline(coffees: &[CoffeeRow]) -> String {
    let ready = coffees.iter().filter(|c| c.state == State::Serve).count();
    match coffees.len() {
        0 => word!("view-opening-nothing-to-hold-yet").to_owned(),
        n if ready == n => {
            say!("view-opening-ready-to-serve", counted = say!("view-opening-count-coffees", n = n))
        }
        n => say!(
            "view-opening-of-ready-to-serve",
            ready = ready,
            counted = say!("view-opening-count-coffees", n = n)
        ),
    }
}
