//! One coffee that is held: its series since the keeper, what the station's past teaches, and today replayed pull by
//! pull.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::control::calibrate::Watch;
use crate::control::day::{GrinderHeat, RoomEffect};
use crate::control::habits::Habits;
use crate::control::morning::{Closed, Followed, Judged, Morning, Night, follow_together};
use crate::control::neighbours::Neighbour;
use crate::control::pulls::{KnownCauses, Reader, Reference, Watched, day_number, raw, readings};
use crate::control::series::Reading;
use crate::control::tracker::Belief;
use crate::control::verdict::{Policy, Start};
use crate::domain::{Bag, Pull, StationId};

use super::costly::Costly;
use super::rooms::Change;
use super::row::At;

/// Pulls of one bag that are looked at, newest first to be kept.
const MOST_PULLS: usize = 600;
/// Earlier bags of the station that habits are learnt from.
const EARLIER_BAGS: usize = 4;
/// Days before today on which the coffees of a grinder are followed together.
const TOGETHER_DAYS: i32 = 14;
/// Readings in which moves of the grinder are looked at.
const CLICKS_FROM: usize = 400;
/// Readings that the costly part of learning looks at.
const LEARN_FROM: usize = 150;

/// Day and seconds within it, where the bar is.
pub(super) fn place(at: Timestamp, zone: &TimeZone) -> (i32, f64) {
    let local = zone.to_datetime(at);
    let time = local.time();
    let seconds =
        f64::from(time.hour()) * 3600.0 + f64::from(time.minute()) * 60.0 + f64::from(time.second());
    (day_number(local.date()), seconds)
}

/// The pulls on a station that hold a keeper of that station: from the one it was kept from on, up to `now`.
pub(super) fn kept_pulls(bag: &Bag, station: StationId, now: Timestamp) -> Vec<Pull> {
    let Some(keeper) = bag.keeper.as_ref().filter(|_| bag.kept_on() == Some(station)) else {
        return Vec::new();
    };
    let kept_from =
        keeper.from_pull.and_then(|id| bag.live_pulls().find(|p| p.id == id)).map(|p| p.pulled_at);
    let from = kept_from.map_or(keeper.kept_at, |at| at.min(keeper.kept_at));
    let mut pulls: Vec<Pull> = bag
        .live_pulls()
        .rev()
        .skip_while(|p| p.pulled_at > now)
        .take_while(|p| p.pulled_at >= from)
        .filter(|p| p.station == station)
        .take(MOST_PULLS)
        .cloned()
        .collect();
    pulls.reverse();
    pulls
}

/// What is read and from whom, for one quantity.
pub(super) struct Series {
    /// The pulls that gave a reading, oldest first.
    pub pulls: Vec<Pull>,
    /// Their readings, one each.
    pub readings: Vec<Reading>,
}

/// Doses ground on a station: by day, as (seconds, grams).
pub(super) type Doses = BTreeMap<i32, Vec<(f64, f64)>>;

/// Reads the quantity from a bag's kept pulls.
pub(super) fn series(
    bag: &Bag,
    number: u32,
    mut pulls: Vec<Pull>,
    reader: &Reader<'_>,
    people: &mut Vec<String>,
) -> Series {
    pulls.retain(|p| raw(p, reader.what).is_some());
    let mut sheet = bag.sheet();
    sheet.pulls = pulls;
    let mut found = readings(&sheet, number, reader, people);
    if found.len() != sheet.pulls.len() {
        // A weight of nothing makes a reading that is no number; without a partner it cannot be shown.
        found.truncate(sheet.pulls.len().min(found.len()));
        sheet.pulls.truncate(found.len());
    }
    Series { pulls: sheet.pulls, readings: found }
}

/// Takes the grinder's warmth out of flow times; what is not known of it stays as doubt.
pub(super) fn cool(readings: &mut [Reading], doses: &Doses, heat: &GrinderHeat) {
    for r in readings {
        if let Some(day) = doses.get(&r.day) {
            let (effect, doubt) = heat.effect(day, r.at_s);
            r.value -= effect;
            r.doubt = libm::hypot(r.doubt, doubt);
        }
    }
}

/// Grams of recent grinding still felt by the grinder, and the change of the flow time expected of it (log scale) with its
/// standard deviation.
pub(super) fn warmth(doses: &Doses, heat: &GrinderHeat, day: i32, at_s: f64) -> (f64, (f64, f64)) {
    doses.get(&day).map_or((0.0, (0.0, 0.0)), |d| (heat.grams_felt(d, at_s), heat.effect(d, at_s)))
}

/// What a hot grinder does here: from pulls of one day, bag and setting against each other.
fn heat(readings: &[Reading], doses: &Doses, habits: &Habits) -> GrinderHeat {
    let start = GrinderHeat::default();
    let sound: Vec<&Reading> = readings.iter().filter(|r| !r.suspect).collect();
    let groups: Vec<Vec<(f64, f64)>> = sound
        .chunk_by(|a, b| (a.day, a.click, a.bag) == (b.day, b.click, b.bag))
        .map(|group| {
            let felt = |r: &Reading| doses.get(&r.day).map_or(0.0, |day| start.grams_felt(day, r.at_s));
            group.iter().map(|r| (felt(r), r.value)).collect()
        })
        .collect();
    // Badly prepared pulls are among them and scatter wider.
    let wide = 1.0 + habits.bad_share * (habits.bad_width * habits.bad_width - 1.0);
    start.learn_groups(&groups, (habits.noise_variance() * wide).sqrt())
}

/// What is known of flow times on a station before today.
pub(super) struct Known {
    pub habits: Habits,
    pub causes: KnownCauses,
    pub watch: Watch,
    /// What the grinder's own warmth does.
    pub heat: GrinderHeat,
    /// What a warmer or damper room does.
    pub room: RoomEffect,
}

/// Learns from the bag and the station's earlier ones, days before `today` only, so that what is learnt stands still
/// through a day.
pub(super) fn learn(bag: &Bag, at: &At<'_>, costly: &mut Costly) -> Known {
    let At { earlier, station, doses, rooms, .. } = at;
    let (zone, now) = (at.place.zone, at.place.now);
    let today = place(now, zone).0;
    let grind = &station.gear.grind;
    let mut habits = Habits::flow_time();
    if grind.stepless {
        // The smallest move that can be repeated is smaller than a click (common practice, no source).
        habits = Habits { click: -0.04, click_sd: 0.03, ..habits };
    }
    let mut causes = KnownCauses::start(Watched::FlowTime);
    let mut people = Vec::new();
    let past: Vec<(&Bag, Vec<Pull>, Reference)> = earlier
        .iter()
        .rev()
        .take(EARLIER_BAGS)
        .rev()
        .chain(std::iter::once(&bag))
        .filter_map(|b| {
            let mut pulls = kept_pulls(b, station.id, now);
            pulls.retain(|p| place(p.pulled_at, zone).0 < today);
            Some((*b, pulls, Reference::of_keeper(b, Watched::FlowTime)?))
        })
        .collect();
    let groups: Vec<Vec<(f64, f64, f64)>> =
        past.iter().flat_map(|(_, pulls, reference)| alike(pulls, reference, zone)).collect();
    causes = causes.learn(&groups, habits.sigma);
    let mut all = Vec::new();
    for (number, (b, pulls, reference)) in (0u32..).zip(&past) {
        let (what, station) = (Watched::FlowTime, station.id);
        let reader = Reader { what, reference: *reference, causes, station, grind, zone };
        all.extend(series(b, number, pulls.clone(), &reader, &mut people).readings);
    }
    let heat = heat(&all, doses, &habits.learn_scatter(&all));
    cool(&mut all, doses, &heat);
    habits = habits.learn_scatter(&all);
    habits = habits.learn_clicks(all.get(all.len().saturating_sub(CLICKS_FROM)..).unwrap_or(&all));
    habits = habits.learn_ageing(&all);
    let room = RoomEffect::default().learn(&nights(&all, &habits, |from, to| rooms.change(from, to)));
    let recent = all.get(all.len().saturating_sub(LEARN_FROM)..).unwrap_or(&all);
    let mut days: Vec<i32> = recent.iter().map(|r| r.day).collect();
    days.dedup();
    if days.len() >= 10 {
        // The pulls of today are not among them, so that this is worked out once a day.
        let past = format!("{} {today} {}", bag.id, all.len());
        habits = costly.habits(&past, habits, |habits| habits.learn_wander(recent));
    }
    Known { habits, causes, watch: watch(&all, today, at.wish.false_a_month), heat, room }
}

/// Nights over which the room is known: how much warmer, how much damper, the change of the level that ageing and the
/// grinder's moves do not explain, and its standard deviation.
fn nights(
    all: &[Reading],
    habits: &Habits,
    change: impl Fn(i32, i32) -> Change,
) -> Vec<(f64, f64, f64, f64)> {
    let mut out = Vec::new();
    for w in all.windows(2) {
        let [before, after] = w else { continue };
        let days = after.day.saturating_sub(before.day);
        if before.bag != after.bag || !(1..=3).contains(&days) || before.suspect || after.suspect {
            continue;
        }
        let Change { kelvin: Some(kelvin), percent } = change(before.day, after.day) else { continue };
        let (days, clicks) = (f64::from(days), after.click.saturating_sub(before.click) as f64);
        let left = after.value - before.value - days * habits.ageing - clicks * habits.click;
        let doubt = clicks * habits.click_sd;
        let variance = 2.0 * habits.sigma.powi(2)
            + days * (habits.wander_night.powi(2) + habits.ageing_sd.powi(2))
            + doubt * doubt;
        out.push((kelvin, percent.unwrap_or(0.0), left, variance.sqrt()));
    }
    out
}

/// Groups of pulls of one day and setting: log of the time, of dose over plan, of cup over plan.
fn alike(pulls: &[Pull], reference: &Reference, zone: &TimeZone) -> Vec<Vec<(f64, f64, f64)>> {
    let log = |v: f64| if v > 0.0 { libm::log(v) } else { f64::NAN };
    let mut groups: Vec<Vec<(f64, f64, f64)>> = Vec::new();
    let mut last = None;
    for pull in pulls.iter().filter(|p| !p.flags.spurting) {
        let Some(time) = raw(pull, Watched::FlowTime) else { continue };
        let key = (place(pull.pulled_at, zone).0, pull.used.grind.to_bits());
        if last != Some(key) {
            groups.push(Vec::new());
            last = Some(key);
        }
        if let Some(group) = groups.last_mut() {
            let (dose, cup) = (pull.used.dose_g / reference.dose_g, pull.used.yield_g / reference.yield_g);
            group.push((log(time), log(dose), log(cup)));
        }
    }
    groups
}

/// How the coffee is watched, from the last four weeks of the series.
fn watch(all: &[Reading], today: i32, false_a_month: f64) -> Watch {
    let mut by_day: BTreeMap<i32, u32> = BTreeMap::new();
    for r in all.iter().filter(|r| r.day >= today.saturating_sub(28)) {
        *by_day.entry(r.day).or_default() += 1;
    }
    let open = by_day.len();
    let pulls: u32 = by_day.values().sum();
    let a_day = if open == 0 { 2 } else { (f64::from(pulls) / open as f64).round().max(1.0) as u32 };
    let span = by_day.keys().next().map_or(0, |first| today - first).clamp(0, 28);
    let openings =
        if span < 7 { 26.0 } else { (open as f64 / f64::from(span) * 30.0).round().clamp(4.0, 31.0) };
    let opening_pulls = a_day.clamp(1, 3);
    Watch {
        opening_pulls,
        neighbours: 0,
        day_pulls: a_day.saturating_sub(opening_pulls).min(60),
        openings_a_month: openings,
        false_a_month,
    }
}

/// Today: where it started, and what was said after each pull.
pub(super) struct Day {
    pub start: Start,
    /// Days since the last pull before today; 0 when there was none.
    pub nights: u32,
    pub judged: Vec<Judged>,
    /// Index of the first reading of today.
    pub first: usize,
    /// The flow time expected of the next pull, log deviation, 8 times in 10.
    pub next: (f64, f64),
}

/// Where a coffee stood at the close of its last day before today.
pub(super) struct Close {
    closed: Closed,
    /// Index of the first reading of today.
    first: usize,
    /// Days since the last pull before today; 0 when there was none.
    nights: u32,
}

/// Follows the coffees of one grinder through the days before `today`: readings, habits and policy of each.
pub(super) fn closes(coffees: &[(&[Reading], Habits, Policy)], today: i32) -> Vec<Close> {
    let first = |readings: &[Reading]| readings.partition_point(|r| r.day < today);
    let followed: Vec<Followed<'_>> = coffees
        .iter()
        .map(|(readings, habits, policy)| Followed {
            habits: *habits,
            start: Belief::on_target(habits, 0.05),
            policy: *policy,
            readings: readings.get(..first(readings)).unwrap_or(readings),
        })
        .collect();
    let closes = follow_together(&followed, today.saturating_sub(TOGETHER_DAYS));
    followed
        .iter()
        .zip(closes)
        .map(|(coffee, closed)| {
            let last = coffee.readings.last();
            Close {
                closed,
                first: coffee.readings.len(),
                nights: last.map_or(0, |r| u32::try_from(today.saturating_sub(r.day)).unwrap_or(0)),
            }
        })
        .collect()
}

impl Close {
    /// The day before its first pull; `room` is the change that today's room is expected to bring, and its doubt.
    fn morning(&self, policy: &Policy, room: (f64, f64)) -> Morning {
        let night = Night { days: f64::from(self.nights), warmer_k: 1.0, room };
        Morning::open(self.closed.clone(), night, policy, None)
    }

    /// This coffee as the others on its grinder see it.
    pub(super) fn as_neighbour(&self, readings: &[Reading], policy: &Policy, room: (f64, f64)) -> Neighbour {
        self.morning(policy, room).seen(readings, self.first)
    }
}

/// Replays today with a verdict after each pull, with what the other coffees on the grinder had said by then; the last
/// verdict with all that they have said since.
pub(super) fn day(
    readings: &[Reading],
    close: &Close,
    policy: &Policy,
    room: (f64, f64),
    others: &[Neighbour],
) -> Day {
    let (first, nights) = (close.first, close.nights);
    let mut morning = close.morning(policy, room);
    let judged = morning.replay(readings, first, others);
    let start = *morning.start();
    if judged.is_empty() && start.clicks_coarser != 0 {
        // The next pull is expected at the start that is advised.
        morning.moved(start.clicks_coarser);
    }
    let next = morning.tracker().next_pull(0.8);
    Day { start, nights, judged, first, next }
}
