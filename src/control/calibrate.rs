//! From false adjustments a month that a café puts up with to the probability at which a shift counts as real.
//!
//! The charts have exact run lengths ([`super::runlength`]); the change detector is a bank of filters without a
//! closed form, so its run length is counted over simulated months in which nothing happens but the habits' own
//! wander, ageing and bad pulls. Deterministic for a seed.

use super::habits::Habits;
use super::morning::{Morning, Night};
use super::neighbours::{Neighbour, Shared, heard};
use super::tracker::{Belief, Tracker};
use super::verdict::{Action, Moment, NOTHING_TO_FIX, Policy, Reason, Scatter};
use crate::maths::draw::Draws;

/// How a coffee is watched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watch {
    /// Pulls judged at each opening (1–6).
    pub opening_pulls: u32,
    /// Further pulls judged through the day (0–200).
    pub day_pulls: u32,
    /// Other coffees on the same grinder whose pulls have a say (0–20).
    pub neighbours: u32,
    /// Openings a month.
    pub openings_a_month: f64,
    /// False adjustments a month that the café puts up with: moves made while the true
    /// level lay within [`NOTHING_TO_FIX`] of the window, or in the wrong direction.
    pub false_a_month: f64,
}

/// Thresholds that keep to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// Probability of a shift at which it counts as real.
    pub flag: f64,
    /// False adjustments a month counted at that threshold.
    pub false_a_month: f64,
    /// Standard error of that count.
    pub false_a_month_se: f64,
    /// Probability of a shift at which another pull is asked for, so that this happens at about one quiet opening
    /// in eight.
    pub again: f64,
    /// Months simulated.
    pub months: u32,
}

/// Finds the thresholds. `effort` is about the number of pulls simulated for each trial (20 000 is good to 10 %).
#[must_use]
pub fn thresholds(habits: Habits, watch: &Watch, policy: &Policy, effort: u32, seed: u64) -> Thresholds {
    let habits = habits.sane();
    let openings =
        if watch.openings_a_month.is_finite() { watch.openings_a_month.clamp(1.0, 31.0) } else { 30.0 };
    let wanted = if watch.false_a_month.is_finite() { watch.false_a_month.clamp(0.02, 20.0) } else { 1.0 };
    let opening = watch.opening_pulls.clamp(1, 6);
    let a_day = opening + watch.day_pulls.min(200);
    let days = (f64::from(effort.clamp(500, 2_000_000)) / f64::from(a_day)).ceil().max(60.0) as u32;
    let world = World::new(&habits, days, (opening, a_day), watch.neighbours.min(20), seed);
    let months = f64::from(days) / openings;
    let all = world.pulls.len();
    // A quarter of the days finds the neighbourhood, all of them the place within it.
    let (mut low, mut high): (f64, f64) = (-4.0, 12.0);
    for _ in 0..5 {
        let mid = 0.5 * (low + high);
        let seen = world.alarms(&habits, policy, from_logit(mid), all / 4);
        if seen.alarms as f64 > wanted * months / 4.0 { low = mid } else { high = mid }
    }
    (low, high) = (low - 0.75, high + 0.25);
    let mut best = world.alarms(&habits, policy, from_logit(high), all);
    while best.alarms as f64 / months > wanted && high < 14.0 {
        (low, high) = (high, high + 1.0);
        best = world.alarms(&habits, policy, from_logit(high), all);
    }
    for _ in 0..4 {
        let mid = 0.5 * (low + high);
        let seen = world.alarms(&habits, policy, from_logit(mid), all);
        if seen.alarms as f64 / months > wanted {
            low = mid;
        } else {
            high = mid;
            best = seen;
        }
    }
    let mut firsts = best.after_first;
    firsts.sort_by(f64::total_cmp);
    let again = firsts.get(firsts.len() * 7 / 8).copied().unwrap_or(0.3);
    let flag = from_logit(high);
    Thresholds {
        flag,
        false_a_month: best.alarms as f64 / months,
        false_a_month_se: (best.alarms as f64).sqrt() / months,
        again: again.min(flag),
        months: months.round() as u32,
    }
}

fn from_logit(x: f64) -> f64 {
    1.0 / (1.0 + libm::exp(-x))
}

struct Seen {
    alarms: u64,
    after_first: Vec<f64>,
}

/// Quiet days, drawn once so that every trial sees the same.
struct World {
    /// True level and value of every pull of every day, the grinder untouched.
    pulls: Vec<Vec<(f64, f64)>>,
    new_bag: Vec<bool>,
    /// Pulls of each day that belong to the opening.
    opening: u32,
    /// The other coffees of each day: how far each lies from what is expected of it, in its own standard deviations, and
    /// the noise of its pulls at the opening.
    others: Vec<Vec<(f64, Vec<f64>)>>,
    /// How many of them are pulled before this coffee.
    before: Vec<usize>,
}

impl World {
    fn new(h: &Habits, days: u32, (opening, a_day): (u32, u32), neighbours: u32, seed: u64) -> Self {
        let mut draws = Draws::new(seed);
        let (mut level, mut slope) = (0.0, h.ageing);
        let (mut pulls, mut new_bag) = (Vec::new(), Vec::new());
        for day in 0..days {
            let fresh = day % 15 == 0;
            if fresh {
                level = 0.03 * draws.normal();
                slope = h.ageing + h.ageing_sd * draws.normal();
            } else {
                level += slope + h.wander_night * draws.normal();
            }
            new_bag.push(fresh);
            let row = (0..a_day)
                .map(|_| {
                    level += h.wander_pull * draws.normal();
                    let wide = if draws.uniform() < h.bad_share { h.bad_width } else { 1.0 };
                    (level, level + h.sigma * wide * draws.normal())
                })
                .collect();
            pulls.push(row);
        }
        // After everything else, so that a coffee alone sees the same days.
        let (mut others, mut before) = (Vec::new(), Vec::new());
        for _ in 0..if neighbours > 0 { days } else { 0 } {
            let mut noise = || {
                let wide = if draws.uniform() < h.bad_share { h.bad_width } else { 1.0 };
                h.sigma * wide * draws.normal()
            };
            let mut row = Vec::new();
            for _ in 0..neighbours {
                let pulls = (0..opening).map(|_| noise()).collect();
                row.push((0.0, pulls));
            }
            for (off, _) in &mut row {
                *off = draws.normal();
            }
            before.push(((draws.uniform() * f64::from(neighbours + 1)) as usize).min(row.len()));
            others.push(row);
        }
        Self { pulls, new_bag, opening, others, before }
    }

    /// Holds the first `days` quiet days with a threshold and counts the moves made with nothing to fix, or
    /// in the wrong direction.
    fn alarms(&self, habits: &Habits, policy: &Policy, flag: f64, days: usize) -> Seen {
        let policy = Policy { flag, again: 1.1, ..*policy };
        let calm = Scatter { p: 0.0, seen: 0.0, dof: 0.0 };
        let mut tracker = Tracker::new(*habits, Belief::on_target(habits, 0.03));
        let mut seen = Seen { alarms: 0, after_first: Vec::new() };
        let mut grinder = 0.0;
        let night = Night { days: 1.0, warmer_k: 0.0, room: (0.0, 0.0) };
        for (day, (row, fresh)) in self.pulls.iter().zip(&self.new_bag).take(days).enumerate() {
            // The first day of a bag has no night before it.
            if *fresh {
                tracker = Tracker::new(*habits, Belief::on_target(habits, 0.03));
                grinder = 0.0;
            }
            let (early, all) = if *fresh { (None, None) } else { self.news(day, &tracker, habits) };
            let mut morning = if *fresh {
                Morning::first(tracker, &policy)
            } else {
                Morning::open(tracker, night, &policy, early)
            };
            for (i, (level, y)) in (1u32..).zip(row) {
                if i == 1 && morning.start().clicks_coarser != 0 {
                    let clicks = morning.start().clicks_coarser;
                    let (before, by) = (level + grinder, clicks as f64 * habits.click);
                    let idle = before.abs() < NOTHING_TO_FIX * policy.window || before * by >= 0.0;
                    // Ageing and what was left open yesterday would have given their start without the others.
                    let told = Morning::open(morning.yesterday().clone(), night, &policy, None);
                    seen.alarms += u64::from(idle && told.start().clicks_coarser != clicks);
                    morning.begin(clicks);
                    grinder += clicks as f64 * habits.click;
                }
                morning.pull(0.0, *y + grinder, 1.0);
                let moment = if i <= self.opening { Moment::Opening(i) } else { Moment::Day };
                let mut verdict = morning.judge(moment, calm);
                if i == 1 {
                    seen.after_first.push(verdict.p_real);
                }
                if i == self.opening && all.is_some() && !matches!(verdict.action, Action::Move { .. }) {
                    // The others are pulled too; the same pulls are looked at once more.
                    morning.hear(all);
                    verdict = morning.judge(moment, calm);
                }
                if let Action::Move { clicks_coarser, .. } = verdict.action {
                    let (before, by) = (level + grinder, clicks_coarser as f64 * habits.click);
                    let idle = before.abs() < NOTHING_TO_FIX * policy.window || before * by >= 0.0;
                    // Nothing jumps in these days: a move that answers a jump is false wherever the level stands.
                    let slow = matches!(verdict.reasons.first(), Some(Reason::AddedUp { .. }));
                    seen.alarms += u64::from(idle || !slow);
                    grinder += clicks_coarser as f64 * habits.click;
                }
                morning.taken(&verdict);
            }
            tracker = morning.into_tracker();
        }
        seen
    }

    /// What the other coffees say before this coffee's first pull, and when all are pulled.
    fn news(&self, day: usize, yesterday: &Tracker, habits: &Habits) -> (Option<Shared>, Option<Shared>) {
        let Some(others) = self.others.get(day) else { return (None, None) };
        // They are followed as long and as well as this coffee: the same doubt stands behind what is expected of them.
        let mut opened = yesterday.clone();
        opened.overnight(1.0, 0.0, 0.0);
        let expected = opened.undisturbed();
        let stand = |(off, pulls): &(f64, Vec<f64>)| {
            let level = expected.level + off * expected.level_sd;
            Neighbour::new(&opened, pulls.iter().map(|noise| (0.0, level + noise, 1.0)).collect())
        };
        let all: Vec<Neighbour> = others.iter().map(stand).collect();
        let early: Vec<Neighbour> = all
            .iter()
            .enumerate()
            .map(|(n, one)| {
                if Some(&n) < self.before.get(day) {
                    one.clone()
                } else {
                    Neighbour::new(&opened, Vec::new())
                }
            })
            .collect();
        (heard(habits, &early, 1.0), heard(habits, &all, 1.0))
    }
}
