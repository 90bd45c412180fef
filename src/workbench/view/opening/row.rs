//! One coffee of the bar: where to start, the last pull, what to do, and why.

use super::causes::Sample;
use super::chart::{Chart, Frame, chart};
use super::costly::Costly;
use super::held::{self, Doses};
use super::mixing::Mixing;
use super::rooms::{Change, Rooms};
use super::say::{
    clicks, how_sure, next_words, purge_words, readiness, recipe_words, said, start_words, time_of, when,
    window,
};
use super::{Place, Wish};
use crate::control::habits::Habits;
use crate::control::neighbours::Neighbour;
use crate::control::opening::CoffeeToOpen;
use crate::control::opening::{serve_words, window_words};
use crate::control::pulls::{KnownCauses, Reader, Reference, Watched};
use crate::control::series::Reading;
use crate::control::verdict::{Action, Policy, in_ten};
use crate::domain::{Bag, BagId, Keeper, Pull, PullId, Recipe, Station, StationId};
use crate::units::{Quantity, capital, rounded};
use crate::workbench::view::page::setting;

/// Where a coffee stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// No pull today.
    ToOpen,
    /// Pull the same once more.
    PullAgain,
    /// Move the grinder.
    Move,
    /// Look at the preparation.
    Preparation,
    /// Old and new beans are mixed: the level is passing through.
    Wait,
    /// The last pull cannot be judged.
    NotJudged,
    /// Nothing to touch.
    Serve,
}

/// The newest pull.
#[derive(Debug, Clone, PartialEq)]
pub struct LastPull {
    /// Which.
    pub id: PullId,
    /// "25.7 s".
    pub time: String,
    /// "19.0 g in, 35.0 g out".
    pub masses: String,
    /// "today 06:40", "yesterday 14:20", "21 Nov 06:41".
    pub when: String,
    /// Who pulled it, as it may be shown.
    pub who: String,
}

/// A pull of today and what was said after it.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedPull {
    /// Which.
    pub id: PullId,
    /// When.
    pub at: jiff::Timestamp,
    /// "06:43".
    pub when: String,
    /// "25.7 s".
    pub time: String,
    /// "Serve", "Move 2 clicks finer".
    pub words: String,
    /// "8 in 10 that nothing moved noticeably".
    pub figure: String,
    /// Probability that something moved.
    pub p_real: f64,
    /// Clicks towards coarser; 0 without a move.
    pub clicks_coarser: i64,
    /// Who pulled it, as it may be shown.
    pub who: String,
}

/// One coffee that is held.
#[derive(Debug, Clone, PartialEq)]
pub struct CoffeeRow {
    /// Its bag.
    pub bag: BagId,
    /// Its station.
    pub station: StationId,
    /// The bag's name.
    pub name: String,
    /// The station's name.
    pub station_name: String,
    /// "19.0 g in · 36.0 g out · 92.5 °C".
    pub recipe: String,
    /// "27 s, 25–31 s".
    pub window: String,
    /// Its range alone.
    pub serve: String,
    /// The window, seconds.
    pub window_s: (f64, f64),
    /// Where the window comes from.
    pub window_why: String,
    /// Where the grinder stands, or should stand to start.
    pub setting: String,
    /// Where to start this morning and why: "Start 1 click finer: the beans are a day older".
    pub start: String,
    /// "4.40 → 4.35" where the start is a move.
    pub start_move: String,
    /// "1 click finer: the beans are a day older" where the start is a move.
    pub start_how: String,
    /// The newest pull, of any day.
    pub last: Option<LastPull>,
    /// Where it stands.
    pub state: State,
    /// What to do, the largest words: "Serve", "Move 1 click finer".
    pub verdict: String,
    /// How to do it: "4.40 → 4.35, then grind 7 g through and throw it away".
    pub how: String,
    /// How sure: "92 in 100 that it is real".
    pub figure: String,
    /// Reasons, the most telling first.
    pub why: Vec<String>,
    /// The pulls of today, oldest first.
    pub judged: Vec<JudgedPull>,
    /// "next pull 25–29 s, 8 times in 10".
    pub next: String,
    /// Time, strength, yield: those with points enough.
    pub charts: Vec<Chart>,
    /// How readily it acts: "1.0 false adjustment a month allowed, 0.9 expected …".
    pub readiness: String,
    /// The grinder's warmth, where it counts.
    pub warmth: String,
    /// A change of bags today: how far the old beans are ground through; empty without one.
    pub mixing: String,
    /// Nobody has said yet how much of the old bag was left in the hopper.
    pub asks_old_beans: bool,
    /// Pulls of today, timed or not.
    pub pulls_today: usize,
    /// Percent off the target where it is believed to stand; positive is slower.
    pub off_pct: f64,
    /// Where the grinder should stand for the next pull.
    pub plan: Recipe,
}

impl CoffeeRow {
    pub(super) fn name_people(&mut self, shown: &dyn Fn(&str) -> String) {
        let known = |who: &mut String| *who = if who.is_empty() { String::new() } else { shown(who) };
        self.last.iter_mut().for_each(|last| known(&mut last.who));
        self.judged.iter_mut().for_each(|pull| known(&mut pull.who));
    }
}

/// A coffee with what the rest of the view is made from.
pub(super) struct Found {
    pub row: CoffeeRow,
    pub people: Vec<String>,
    pub samples: Vec<Sample>,
    pub to_open: CoffeeToOpen,
}

/// Grams to grind through after a move: what the grinder keeps, whole grams, 1 at least; 5 where that is not known.
pub(super) fn purge_g(station: &Station) -> f64 {
    let kept = station.gear.grind.retained_g;
    if kept > 0.0 && kept.is_finite() { kept.ceil().max(1.0) } else { Policy::default().purge_g }
}

/// What a coffee is looked at with.
pub(super) struct At<'a> {
    /// Earlier bags of the station, oldest first.
    pub earlier: &'a [&'a Bag],
    pub station: &'a Station,
    pub place: Place<'a>,
    pub wish: &'a Wish,
    pub doses: &'a Doses,
    pub rooms: &'a Rooms,
}

/// A coffee before the others on its grinder are heard.
pub(super) struct Prepared<'a> {
    bag: &'a Bag,
    keeper: &'a Keeper,
    target: f64,
    window_s: (f64, f64),
    window_why: String,
    known: held::Known,
    policy: Policy,
    people: Vec<String>,
    pulls: Vec<Pull>,
    times: held::Series,
    mixing: Option<Mixing>,
    kelvin: f64,
    percent: f64,
    room: (f64, f64),
}

impl Prepared<'_> {
    /// What it is followed by: readings, habits, policy.
    pub(super) fn series(&self) -> (&[Reading], Habits, Policy) {
        (&self.times.readings, self.known.habits, self.policy)
    }

    /// This coffee as the others on its grinder see it.
    pub(super) fn as_neighbour(&self, close: &held::Close) -> Neighbour {
        close.as_neighbour(&self.times.readings, &self.policy, self.room)
    }
}

/// Reads one coffee and what is known of it.
///
/// # Errors
/// What is missing and what to do, in one sentence.
pub(super) fn prepare<'a>(bag: &'a Bag, at: &At<'_>, costly: &mut Costly) -> Result<Prepared<'a>, String> {
    let At { earlier, station, place, wish, doses, rooms } = *at;
    let Place { now, zone, .. } = place;
    let gear = &station.gear;
    let keeper = bag.keeper.as_ref().ok_or(word!("view-opening-row-no-keeper-yet-dial-it-in"))?;
    if bag.kept_on() != Some(station.id) {
        return Err(word!("view-opening-row-kept-on-another-grinder").to_owned());
    }
    let reference = Reference::of_keeper(bag, Watched::FlowTime)
        .filter(|r| r.target > 0.0 && r.target.is_finite())
        .ok_or(word!("view-opening-row-its-keeper-has-no-time-keep"))?;
    let today = held::place(now, zone).0;
    let target = reference.target;
    let ((low, high), window_why) = window(bag, target, keeper.tolerance.time_s);
    let half = (target - low).min(high - target).max(0.5);
    let known = held::learn(bag, at, costly);
    let policy = Policy {
        window: libm::log1p(half / target).clamp(0.02, 0.4),
        purge_g: purge_g(station),
        ..Policy::default()
    };
    let mut people = Vec::new();
    let (causes, station) = (known.causes, station.id);
    let reader = Reader { what: Watched::FlowTime, reference, causes, station, grind: &gear.grind, zone };
    let pulls = held::kept_pulls(bag, station, now);
    let mut times = held::series(bag, 0, pulls.clone(), &reader, &mut people);
    held::cool(&mut times.readings, doses, &known.heat);
    let mixing = Mixing::of(bag, earlier, place);
    if let Some(mixing) = &mixing {
        for (reading, pull) in times.readings.iter_mut().zip(&times.pulls) {
            reading.suspect |= mixing.passing(pull.id);
        }
    }
    let last_day = times.readings.iter().rev().map(|r| r.day).find(|day| *day < today);
    let change = last_day.map_or(Change::default(), |from| rooms.change(from, today));
    let kelvin = wish.warmer_k.or(change.kelvin).unwrap_or(0.0);
    let percent = change.percent.unwrap_or(0.0);
    let room = known.room.expected(kelvin, percent);
    let window_s = (low, high);
    Ok(Prepared {
        bag,
        keeper,
        target,
        window_s,
        window_why,
        known,
        policy,
        people,
        pulls,
        times,
        mixing,
        kelvin,
        percent,
        room,
    })
}

/// Looks at one coffee, with what the `others` on its grinder say.
pub(super) fn row(
    prepared: Prepared<'_>,
    before: &held::Close,
    others: &[Neighbour],
    at: &At<'_>,
    costly: &mut Costly,
) -> Found {
    let At { station, place, wish, doses, .. } = *at;
    let Place { now, zone, units } = place;
    let gear = &station.gear;
    let Prepared { bag, keeper, target, window_s: (low, high), window_why, mut known, .. } = prepared;
    let Prepared { policy: base, people, pulls, times, mixing, kelvin, percent, room, .. } = prepared;
    let (today, now_s) = held::place(now, zone);
    known.watch.neighbours = u32::try_from(others.len()).unwrap_or(0);
    let limits = costly.thresholds(known.habits, &known.watch, &base, wish.effort);
    let policy = limits.map_or(base, |limits| Policy { flag: limits.flag, again: limits.again, ..base });
    let day = held::day(&times.readings, before, &policy, room, others);
    let newest = pulls.last();
    let close = times.pulls.get(..day.first).and_then(|b| b.last()).map_or(keeper.recipe, |p| p.used);
    let begin = Recipe { grind: gear.grind.coarser_by(close.grind, day.start.clicks_coarser), ..close };
    let stands = newest.map_or(keeper.recipe, |p| p.used);
    let start_clicks = day.start.clicks_coarser;
    let moved = if start_clicks == 0 { String::new() } else { clicks(gear, &close, start_clicks, units) };
    let (start, because) = start_words(&day, &moved, kelvin, percent * known.room.per_percent.0);
    let start = capital(&start);
    let shown = |grind: f64| setting(gear, grind, units);
    let arrow = |from: &Recipe, to: &Recipe| format!("{} → {}", shown(from.grind), shown(to.grind));
    let judged_today: Vec<JudgedPull> = day
        .judged
        .iter()
        .filter_map(|j| {
            let pull = times.pulls.get(j.index)?;
            let (_, words, _) = said(&j.verdict, gear, &pull.used, units);
            Some(JudgedPull {
                id: pull.id,
                at: pull.pulled_at,
                when: pull.pulled_at.to_zoned_datetime(zone.clone()).strftime("%H:%M").to_string(),
                time: time_of(pull, units),
                words,
                figure: how_sure(j),
                p_real: j.verdict.p_real,
                clicks_coarser: match j.verdict.action {
                    Action::Move { clicks_coarser, .. } => clicks_coarser,
                    _ => 0,
                },
                who: pull.pulled_by.clone(),
            })
        })
        .collect();
    let judged_last = day.judged.last().filter(|j| {
        // The newest pull itself, not one before it that could be judged.
        times.pulls.get(j.index).map(|p| p.id) == newest.map(|p| p.id)
    });
    let passing = newest.is_some_and(|p| mixing.as_ref().is_some_and(|m| m.passing(p.id)));
    let pulled_today = newest.is_some_and(|p| held::place(p.pulled_at, zone).0 == today);
    let mut plan = begin;
    let (state, verdict, how, figure, why) = match judged_last {
        Some(_) if passing => {
            plan = stands;
            let share = newest.and_then(|p| mixing.as_ref().map(|m| m.share(p.id))).unwrap_or(0.5);
            let figure = say!(
                "view-opening-row-about-new-beans-in-that-pull",
                share = format!("{:.0}", share * 100.0)
            );
            let how = word!("view-opening-row-old-and-new-beans-are-mixed").to_owned();
            (State::Wait, word!("view-opening-row-wait").to_owned(), how, figure, Vec::new())
        }
        Some(j) => {
            let (state, words, how) = said(&j.verdict, gear, &stands, units);
            plan = match j.verdict.action {
                Action::Move { clicks_coarser, .. } => {
                    Recipe { grind: gear.grind.coarser_by(stands.grind, clicks_coarser), ..stands }
                }
                _ => stands,
            };
            let why = j
                .verdict
                .reasons
                .iter()
                .map(|r| capital(&r.words(word!("view-opening-row-flow-time"))))
                .collect();
            (state, words, how, how_sure(j), why)
        }
        None if pulled_today => {
            plan = stands;
            let choked = newest.is_some_and(|p| p.flags.choked);
            let words = if choked {
                word!("view-opening-row-choked-not-judged")
            } else {
                word!("view-opening-row-not-timed-not-judged")
            };
            let how = if choked {
                word!("view-opening-row-go-coarser-on-its-page-purge")
            } else {
                word!("view-opening-row-time-the-next-pull-or-put")
            };
            (State::NotJudged, words.to_owned(), how.to_owned(), String::new(), Vec::new())
        }
        None => {
            let moved = day.start.clicks_coarser;
            let verdict = match moved {
                0 => word!("view-opening-row-pull-one-to-open").to_owned(),
                n => say!("view-opening-row-start", clicks = clicks(gear, &close, n, units)),
            };
            let how = if moved == 0 {
                say!("view-opening-row-as-it-closed", shown = shown(close.grind))
            } else {
                say!(
                    "view-opening-row-then",
                    arrow = arrow(&close, &begin),
                    purge_words = purge_words(policy.purge_g)
                )
            };
            let figure = if moved == 0 {
                String::new()
            } else {
                say!("view-opening-row-that-it-helps", in_ten = in_ten(day.start.p_helps))
            };
            (State::ToOpen, verdict, how, figure, vec![start.clone()])
        }
    };
    let off = day.judged.last().map_or(day.start.expected, |j| j.verdict.level);
    let (felt, (warm, warm_sd)) = held::warmth(doses, &known.heat, today, now_s);
    let charts = charts(bag, &pulls, times, at, (low, high), &known, costly);
    let samples = charts.1;
    let row = CoffeeRow {
        bag: bag.id,
        station: station.id,
        name: bag.name.clone(),
        station_name: station.name.clone(),
        recipe: recipe_words(gear, &keeper.recipe, units),
        window: window_words(target, low, high, units),
        serve: serve_words(low, high, units),
        window_s: (low, high),
        window_why,
        setting: shown(plan.grind),
        start_move: if day.start.clicks_coarser == 0 { String::new() } else { arrow(&close, &begin) },
        start_how: match (moved.is_empty(), because.is_empty()) {
            (true, _) => String::new(),
            (false, true) => moved.clone(),
            (false, false) => say!("view-opening-row-moved-because", moved = moved, because = because),
        },
        start: start.clone(),
        last: newest.map(|p| LastPull {
            id: p.id,
            time: time_of(p, units),
            masses: say!(
                "view-opening-row-in-out",
                value = units.value(Quantity::Dose, p.used.dose_g),
                value_2 = units.value(Quantity::Yield, p.used.yield_g)
            ),
            when: when(p, today, zone),
            who: p.pulled_by.clone(),
        }),
        state,
        verdict,
        how,
        figure,
        why,
        judged: judged_today,
        next: next_words(&day.next, target, units),
        charts: charts.0,
        readiness: readiness(wish, limits.as_ref()),
        warmth: if warm.abs() < warm_sd.max(0.01) {
            String::new()
        } else {
            say!(
                "view-opening-row-grinder-warm",
                way = if warm < 0.0 { "faster" } else { "slower" },
                felt = rounded(Quantity::BeanMass, felt, 0),
                warm = format!("{:.0}", warm.abs() * 100.0)
            )
        },
        asks_old_beans: mixing.as_ref().is_some_and(|m| m.left_g.is_none()),
        mixing: mixing.as_ref().map_or(String::new(), Mixing::words),
        pulls_today: pulls.iter().rev().take_while(|p| held::place(p.pulled_at, zone).0 == today).count(),
        off_pct: (libm::exp(off.clamp(-5.0, 5.0)) - 1.0) * 100.0,
        plan,
    };
    let to_open = CoffeeToOpen {
        coffee: bag.name.clone(),
        station: station.name.clone(),
        purge_g: policy.purge_g,
        start: (start_clicks != 0).then(|| {
            (start_clicks, format!("{}; {because}", arrow(&close, &begin)).trim_end_matches("; ").to_owned())
        }),
        dose_g: keeper.recipe.dose_g,
        yield_g: keeper.recipe.yield_g,
        time_s: Some((target, (target - low).min(high - target).max(0.5))),
        temperature_c: keeper.recipe.temperature_c.filter(|_| gear.temperature_c.is_some()),
        bag_age_days: bag.days_since_roast(zone.to_datetime(now).date()).map(f64::from),
    };
    Found { row, people, samples, to_open }
}

/// The charts of a coffee, and its times as samples for the separation of causes.
fn charts(
    bag: &Bag,
    pulls: &[Pull],
    times: held::Series,
    at: &At<'_>,
    window: (f64, f64),
    known: &held::Known,
    costly: &mut Costly,
) -> (Vec<Chart>, Vec<Sample>) {
    let At { station, place, wish, .. } = *at;
    let gear = &station.gear;
    let watch = &known.watch;
    let base = bag.keeper.as_ref().map(|k| k.recipe);
    let moved = |by: i64| base.map_or(String::new(), |b| clicks(gear, &b, by, place.units));
    let points_a_month = watch.openings_a_month * f64::from(watch.opening_pulls + watch.day_pulls);
    let mut out = Vec::new();
    let mut samples = Vec::new();
    let mut held = Some(times);
    for what in [Watched::FlowTime, Watched::Strength, Watched::Yield] {
        let Some(reference) = Reference::of_keeper(bag, what) else { continue };
        let (habits, series) = match (what, held.take()) {
            (Watched::FlowTime, Some(times)) => (known.habits, times),
            _ => {
                let causes = KnownCauses::start(what);
                let (grind, zone) = (&gear.grind, place.zone);
                let reader = Reader { what, reference, causes, station: station.id, grind, zone };
                let mut nobody = Vec::new();
                let found = held::series(bag, 0, pulls.to_vec(), &reader, &mut nobody);
                (Habits::strength_or_yield(), found)
            }
        };
        if what == Watched::FlowTime {
            samples.extend(series.readings.iter().zip(&series.pulls).filter(|(r, _)| !r.suspect).map(
                |(r, p)| Sample {
                    value: r.value,
                    who: p.pulled_by.clone(),
                    station: station.name.clone(),
                    coffee: bag.name.clone(),
                    day: r.day,
                },
            ));
        }
        let frame = Frame {
            what,
            target: reference.target,
            window: (what == Watched::FlowTime).then_some(window),
            ageing: habits.ageing,
            false_a_month: wish.false_a_month,
            points_a_month,
            zone: place.zone,
            moved: &moved,
        };
        out.extend(chart(&series, &frame, costly));
    }
    (out, samples)
}
