//! From false adjustments a month that a café puts up with to the probability at which a shift counts as real.
//!
//! The charts have exact run lengths ([`super::runlength`]); the change detector is a bank of filters without a
//! closed form, so its run length is counted over simulated months in which nothing happens but scatter, bad pulls, the
//! expected ageing and the habits' own wander. Deterministic for a seed.

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
    /// False adjustments a month that the café puts up with: moves that answer a shift where nothing shifted, and
    /// others made while the true level lay within [`NOTHING_TO_FIX`] of the window, or in the wrong direction.
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

/// Finds the thresholds; the false adjustments counted stay below those wanted by two standard errors. `effort` is about
/// the number of pulls simulated for each trial (20 000 is good to 10 %).
#[must_use]
pub fn thresholds(habits: Habits, watch: &Watch, policy: &Policy, effort: u32, seed: u64) -> Thresholds {
    let habits = habits.sane();
    let openings =
        if watch.openings_a_month.is_finite() { watch.openings_a_month.clamp(1.0, 31.0) } else { 30.0 };
    let wanted = if watch.false_a_month.is_finite() { watch.false_a_month.clamp(0.02, 20.0) } else { 1.0 };
    let opening = watch.opening_pulls.clamp(1, 6);
    let a_day = opening + watch.day_pulls.min(200);
    let coffees = 1 + watch.neighbours.min(MOST_NEIGHBOURS);
    let pulls = f64::from(effort.clamp(500, 2_000_000));
    let days = (pulls / f64::from(a_day * coffees)).ceil().max(60.0) as u32;
    let world = World::new(&habits, days, (opening, a_day), coffees, seed);
    let months = f64::from(days * coffees) / openings;
    let all = world.days.len();
    // The count must keep below what is wanted by twice its own standard error.
    let allowed = (wanted * months - 2.0 * (wanted * months).sqrt()).max(0.0);
    // A quarter of the days finds the neighbourhood, all of them the place within it.
    let (mut low, mut high): (f64, f64) = (-4.0, 12.0);
    for _ in 0..5 {
        let mid = 0.5 * (low + high);
        let seen = world.alarms(&habits, policy, from_logit(mid), all / 4);
        if seen.alarms as f64 > allowed / 4.0 { low = mid } else { high = mid }
    }
    (low, high) = (low - 0.75, high + 0.25);
    let mut best = world.alarms(&habits, policy, from_logit(high), all);
    while best.alarms as f64 > allowed && high < 14.0 {
        (low, high) = (high, high + 1.0);
        best = world.alarms(&habits, policy, from_logit(high), all);
    }
    for _ in 0..4 {
        let mid = 0.5 * (low + high);
        let seen = world.alarms(&habits, policy, from_logit(mid), all);
        if seen.alarms as f64 > allowed {
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

/// More coffees beside one than this are taken for as many: what each adds has become little.
const MOST_NEIGHBOURS: u32 = 5;

/// A coffee's quiet day.
struct Quiet {
    /// The first day of a bag, with no night before it.
    new_bag: bool,
    /// True level and value of every pull, the grinder untouched.
    pulls: Vec<(f64, f64)>,
}

/// Quiet days of the coffees of one grinder, drawn once so that every trial sees the same.
struct World {
    days: Vec<Vec<Quiet>>,
    /// Pulls of each day that belong to the opening.
    opening: usize,
}

/// A coffee in a trial: what is believed of it, and what the moves so far have done to its level.
struct Coffee {
    tracker: Tracker,
    moved: f64,
}

impl World {
    fn new(h: &Habits, days: u32, (opening, a_day): (u32, u32), coffees: u32, seed: u64) -> Self {
        let mut draws = Draws::new(seed);
        let mut standing = vec![0.0; coffees as usize];
        let days = (0..days)
            .map(|day| {
                let quiet = |(c, level): (u32, &mut f64)| {
                    // Bags of the coffees run out on different days.
                    let new_bag = day == 0 || (day + 5 * c).is_multiple_of(15);
                    if new_bag {
                        *level = 0.03 * draws.normal();
                    } else {
                        *level += h.ageing + h.wander_night * draws.normal();
                    }
                    let pulls = (0..a_day)
                        .map(|_| {
                            let wide = if draws.uniform() < h.bad_share { h.bad_width } else { 1.0 };
                            (*level, *level + h.sigma * wide * draws.normal())
                        })
                        .collect();
                    Quiet { new_bag, pulls }
                };
                (0..coffees).zip(&mut standing).map(quiet).collect()
            })
            .collect();
        Self { days, opening: opening as usize }
    }

    /// Holds the first `days` quiet days with a threshold and counts the moves made with nothing to fix, or
    /// in the wrong direction.
    fn alarms(&self, habits: &Habits, policy: &Policy, flag: f64, days: usize) -> Seen {
        let policy = Policy { flag, again: 1.1, ..*policy };
        let fresh = || Tracker::new(*habits, Belief::on_target(habits, 0.03));
        let night = Night { days: 1.0, warmer_k: 0.0, room: (0.0, 0.0) };
        let mut coffees: Vec<Coffee> = Vec::new();
        let mut seen = Seen { alarms: 0, after_first: Vec::new() };
        for today in self.days.iter().take(days) {
            coffees.resize_with(today.len(), || Coffee { tracker: fresh(), moved: 0.0 });
            let mut mornings: Vec<Morning> = coffees
                .iter_mut()
                .zip(today)
                .map(|(coffee, quiet)| {
                    if quiet.new_bag {
                        coffee.moved = 0.0;
                        Morning::first(fresh(), &policy)
                    } else {
                        Morning::open(coffee.tracker.clone(), night, &policy, None)
                    }
                })
                .collect();
            for (c, (coffee, quiet)) in coffees.iter_mut().zip(today).enumerate() {
                let said = said(&mornings, c, habits);
                let Some(morning) = mornings.get_mut(c) else { continue };
                morning.hear(said);
                let clicks = morning.start().clicks_coarser;
                if let Some((level, _)) = quiet.pulls.first().filter(|_| clicks != 0) {
                    // Ageing and what was left open yesterday would have given their start without the others.
                    let alone = Morning::open(morning.yesterday().clone(), night, &policy, None);
                    let idle = coffee.idle(*level, clicks, habits, &policy);
                    seen.alarms += u64::from(idle && alone.start().clicks_coarser != clicks);
                    morning.begin(clicks);
                    coffee.moved += clicks as f64 * habits.click;
                }
                for (i, pull) in (1u32..).zip(quiet.pulls.iter().take(self.opening)) {
                    coffee.pull(morning, *pull, Moment::Opening(i), &policy, &mut seen);
                }
            }
            for (c, (coffee, quiet)) in coffees.iter_mut().zip(today).enumerate() {
                let said = said(&mornings, c, habits);
                let Some(morning) = mornings.get_mut(c) else { continue };
                // The others are pulled too; the same pulls are looked at once more.
                if morning.hear(said)
                    && let Some((level, _)) = quiet.pulls.get(self.opening.saturating_sub(1))
                {
                    let moment = Moment::Opening(u32::try_from(self.opening).unwrap_or(u32::MAX));
                    coffee.judge(morning, *level, moment, &policy, &mut seen);
                }
                for pull in quiet.pulls.iter().skip(self.opening) {
                    coffee.pull(morning, *pull, Moment::Day, &policy, &mut seen);
                }
            }
            for (coffee, morning) in coffees.iter_mut().zip(mornings) {
                coffee.tracker = morning.into_tracker();
            }
        }
        seen
    }
}

/// What the other coffees have said so far.
fn said(mornings: &[Morning], c: usize, habits: &Habits) -> Option<Shared> {
    let others: Vec<Neighbour> =
        mornings.iter().enumerate().filter(|(n, _)| *n != c).map(|(_, m)| m.as_neighbour()).collect();
    heard(habits, &others, f64::INFINITY)
}

impl Coffee {
    /// Whether so many clicks would fix nothing, or go the wrong way.
    fn idle(&self, level: f64, clicks: i64, habits: &Habits, policy: &Policy) -> bool {
        let (before, by) = (level + self.moved, clicks as f64 * habits.click);
        before.abs() < NOTHING_TO_FIX * policy.window || before * by >= 0.0
    }

    fn pull(
        &mut self,
        morning: &mut Morning,
        (level, value): (f64, f64),
        moment: Moment,
        policy: &Policy,
        seen: &mut Seen,
    ) {
        morning.pull(0.0, value + self.moved, 1.0);
        let p = self.judge(morning, level, moment, policy, seen);
        if moment == Moment::Opening(1) {
            seen.after_first.push(p);
        }
    }

    /// Judges the pulls so far and does what is said; the probability that something moved.
    fn judge(
        &mut self,
        morning: &mut Morning,
        level: f64,
        moment: Moment,
        policy: &Policy,
        seen: &mut Seen,
    ) -> f64 {
        let habits = *morning.tracker().habits();
        let verdict = morning.judge(moment, Scatter { p: 0.0, seen: 0.0, dof: 0.0 });
        if let Action::Move { clicks_coarser, .. } = verdict.action {
            // Nothing jumps in these days: a move that answers a jump is false wherever the level stands.
            let slow = matches!(verdict.reasons.first(), Some(Reason::AddedUp { .. }));
            seen.alarms += u64::from(!slow || self.idle(level, clicks_coarser, &habits, policy));
            self.moved += clicks_coarser as f64 * habits.click;
        }
        morning.taken(&verdict);
        verdict.p_real
    }
}
