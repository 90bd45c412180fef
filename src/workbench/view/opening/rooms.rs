//! The room, day by day, from what people wrote beside their pulls.

use std::collections::BTreeMap;

use super::notes::{Room, room_in};
use super::{Books, Place, held};
use crate::units::{Quantity, UnitPreferences};

/// Rooms by day.
#[derive(Debug, Default)]
pub(super) struct Rooms {
    by_day: BTreeMap<i32, Room>,
    /// Today's stands in a note.
    pub noted: bool,
}

/// How a room differs from that of an earlier day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Change {
    /// Kelvin warmer; `None` where either day has no temperature.
    pub kelvin: Option<f64>,
    /// Percent of relative humidity more.
    pub percent: Option<f64>,
}

impl Rooms {
    /// Reads them from the notes of all pulls up to the moment; of several on one day the first counts.
    /// `typed` is today's as long as no note tells it.
    pub(super) fn read(books: &Books<'_>, place: Place<'_>, typed: Room) -> Self {
        let mut first: BTreeMap<i32, (jiff::Timestamp, Room)> = BTreeMap::new();
        for bag in &books.bags {
            for pull in bag.live_pulls().filter(|p| !p.note.is_empty() && p.pulled_at <= place.now) {
                let Some(room) = room_in(&pull.note) else { continue };
                let day = held::place(pull.pulled_at, place.zone).0;
                match first.get(&day) {
                    Some((at, _)) if *at <= pull.pulled_at => {}
                    _ => {
                        first.insert(day, (pull.pulled_at, room));
                    }
                }
            }
        }
        let mut rooms: BTreeMap<i32, Room> = first.into_iter().map(|(day, (_, room))| (day, room)).collect();
        let today = held::place(place.now, place.zone).0;
        let noted = rooms.contains_key(&today);
        if typed != Room::default() {
            rooms.entry(today).or_insert(typed);
        }
        Self { by_day: rooms, noted }
    }

    /// From one day to another.
    pub(super) fn change(&self, from: i32, to: i32) -> Change {
        let (Some(a), Some(b)) = (self.by_day.get(&from), self.by_day.get(&to)) else {
            return Change::default();
        };
        let less = |b: Option<f64>, a: Option<f64>| Some(b? - a?);
        Change {
            kelvin: less(b.temperature_c, a.temperature_c),
            percent: less(b.humidity_pct, a.humidity_pct),
        }
    }

    /// The last day with a room before `today`.
    fn before(&self, today: i32) -> Option<i32> {
        self.by_day.range(..today).next_back().map(|(day, _)| *day)
    }

    /// Today's room in words; empty where nobody wrote it down.
    pub(super) fn words(&self, today: i32, units: &UnitPreferences) -> String {
        let Some(room) = self.by_day.get(&today) else { return String::new() };
        let mut words = Vec::new();
        words.extend(room.temperature_c.map(|t| units.value(Quantity::Temperature, t)));
        words.extend(room.humidity_pct.map(|h| say!("view-opening-rooms-humidity", h = format!("{h:.0}"))));
        let change = self.before(today).map(|from| self.change(from, today)).unwrap_or_default();
        let scale = units.convert(Quantity::Temperature, 1.0).0 - units.convert(Quantity::Temperature, 0.0).0;
        let unit = units.convert(Quantity::Temperature, 0.0).1;
        let mut than = Vec::new();
        if let Some(k) = change.kelvin.filter(|k| k.abs() >= 0.5) {
            than.push(format!(
                "{:.0} {unit} {}",
                (k * scale).abs(),
                if k > 0.0 { word!("view-opening-rooms-warmer") } else { word!("view-opening-rooms-colder") }
            ));
        }
        if let Some(p) = change.percent.filter(|p| p.abs() >= 0.5) {
            than.push(format!(
                "{:.0} % {}",
                p.abs(),
                if p > 0.0 { word!("view-opening-rooms-damper") } else { word!("view-opening-rooms-drier") }
            ));
        }
        let than = if than.is_empty() {
            String::new()
        } else {
            say!("view-opening-rooms-than-last-time", join = than.join(", "))
        };
        say!("view-opening-rooms-room", join = words.join(", "), than = than)
    }
}
