//! How the pulls are heard: as they stand, or with a change in between that nobody entered.

use super::answer::WORLDS;
use super::decide::moved;
use super::{Case, Desk, Settings, direction, facts, reach};
use crate::control::habits::Habits;
use crate::control::verdict::Pool;
use crate::infer::{Frame, Noise, Posterior, SAME_STATE_DAYS, Shot};

/// Something changed between two pulls: the grinder, the dose, the beans or the room.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Changed {
    /// Place (from 0) of the first pull after it.
    pub since: usize,
    /// Numbers of the pulls after it that show it.
    pub pulls: Vec<u32>,
    /// Rise of ln time since.
    pub slower: f64,
}

/// A case as it is heard.
#[derive(Debug)]
pub(super) struct Heard {
    /// What is believed.
    pub posterior: Posterior,
    /// What changed, and the case with the pulls before it moved to the settings that would run so now.
    pub changed: Option<(Changed, Case)>,
    /// The newest pulls, where they scatter.
    pub scatter: Option<Scattered>,
    /// Whether they did not yet before the last pull.
    pub scatters_anew: bool,
}

/// Pulls of one recipe that ran more apart than preparation usually makes them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scattered {
    /// Their numbers.
    pub pulls: Vec<u32>,
    /// Shortest and longest time, seconds.
    pub times_s: (f64, f64),
    /// Standard deviation of their ln time.
    ln_time: f64,
}

/// Chance of having been soundly prepared below which a pull speaks for a change, if the next one agrees.
const DOUBTED: f64 = 0.5;
/// Places between two pulls that are tried.
const MOST_TURNS: usize = 3;
/// Least change of ln time, and in standard deviations of what was expected of each pull; and how far apart (ln time) pulls
/// that agree may lie, some three times the scatter of one.
const LEAST_CHANGE: f64 = 0.2;
const DOUBTS: f64 = 2.5;
const ALIKE: f64 = 0.3;
/// Pulls needed before and after a change.
const LEAST_PULLS: usize = 2;

fn posterior(desk: &Desk, shots: &[Shot], noise: &Noise, settings: &Settings) -> Posterior {
    Posterior::new(&desk.beginning, &desk.frame, shots, noise, settings.seed, WORLDS)
}

/// Hears a case.
pub(super) fn hear(desk: &Desk, case: &Case, settings: &Settings) -> Heard {
    let usual = Noise::default();
    let scatter = scattered(case, &case.shots);
    // Where one recipe runs now so, now so, no time says as much as usual.
    let noise =
        Noise { ln_time: scatter.as_ref().map_or(usual.ln_time, |s| s.ln_time.max(usual.ln_time)), ..usual };
    let as_it_stands = posterior(desk, &case.shots, &noise, settings);
    let heard = changed(desk, case, &as_it_stands, settings);
    let (posterior, changed) = heard.map_or((as_it_stands, None), |(heard, changed)| (heard, Some(changed)));
    let before = case.shots.split_last().map_or(&[][..], |(_, before)| before);
    let scatters_anew = scatter.is_some() && scattered(case, before).is_none();
    Heard { posterior, changed, scatter, scatters_anew }
}

/// Steps of ln time between pulls of one recipe, the largest left out, that are more than usual: a change is one step,
/// scatter is many.
const LEAST_STEPS: f64 = 0.1;

/// The newest pulls, where they are of one recipe and scatter; one badly prepared pull makes none.
fn scattered(case: &Case, shots: &[Shot]) -> Option<Scattered> {
    let frame = Frame::new(&case.gear, &case.aim.start, None);
    let point = |shot: &Shot| frame.point(&shot.recipe, None);
    let last = shots.last()?;
    let newest = point(last);
    // Over more days it is the beans' age that moves the clock.
    let today = last.days_since_roast;
    let soon = |s: &Shot| {
        s.days_since_roast.zip(today).is_none_or(|(then, now)| (now - then).abs() <= SAME_STATE_DAYS)
    };
    let same =
        shots.iter().rev().take_while(|s| !s.choked && soon(s) && point(s).same_but_for_slips(&newest));
    let mut timed: Vec<(u32, f64)> = same
        .filter(|s| !s.tunnelled())
        .filter_map(|s| Some((s.label, s.ran_s().filter(|t| *t > 1.0)?)))
        .collect();
    timed.reverse();
    let (_, first_s) = timed.first()?;
    let logs: Vec<f64> = timed.iter().map(|(_, t)| libm::log(t / first_s)).collect();
    let mut pool = Pool::new(&Habits::flow_time());
    pool.add(&logs);
    let found = pool.scatter();
    let steps = logs.iter().zip(logs.iter().skip(1)).map(|(a, b)| (b - a) * (b - a));
    let (sum, largest) = steps.clone().fold((0.0, 0.0f64), |(sum, most), step| (sum + step, most.max(step)));
    let between = libm::sqrt(0.5 * (sum - largest) / (found.dof - 1.0).max(1.0));
    let times = timed.iter().map(|(_, t)| *t);
    (found.is_wide() && between > LEAST_STEPS).then(|| Scattered {
        pulls: timed.iter().map(|(label, _)| *label).collect(),
        times_s: (times.clone().fold(f64::INFINITY, f64::min), times.fold(0.0, f64::max)),
        ln_time: found.seen,
    })
}

/// One odd pull is put down to its preparation; others that are odd in the same way are not. What was learnt before still
/// holds for cups of the same time, so the earlier pulls are moved along the grinder by what the times differ.
fn changed(
    desk: &Desk,
    case: &Case,
    heard: &Posterior,
    settings: &Settings,
) -> Option<(Posterior, (Changed, Case))> {
    let odd = |at: usize, shot: &Shot| {
        if shot.choked {
            reach::last_run_as_fine(case.shots.get(..at).unwrap_or_default(), shot, &case.gear).is_some()
        } else {
            heard.sound.get(at).is_some_and(|sound| *sound < DOUBTED)
        }
    };
    let odd: Vec<bool> = case.shots.iter().enumerate().map(|(at, shot)| odd(at, shot)).collect();
    if odd.iter().filter(|odd| **odd).count() < LEAST_PULLS {
        return None;
    }
    // Where belief turns to doubt or back: of the newest such places the one that explains all pulls best.
    let turns = (1..odd.len()).rev().filter(|at| odd.get(at - 1) != odd.get(*at)).take(MOST_TURNS);
    let explains = |of: &Posterior| of.fits.first().map_or(f64::NEG_INFINITY, |fit| fit.log_evidence);
    let each = turns.filter_map(|at| {
        let (changed, moved) = changed_at(desk, case, at, &heard.noise, settings)?;
        Some((posterior(desk, &moved.shots, &heard.noise, settings), (changed, moved)))
    });
    each.max_by(|(a, _), (b, _)| explains(a).total_cmp(&explains(b)))
}

fn changed_at(
    desk: &Desk,
    case: &Case,
    at: usize,
    noise: &Noise,
    settings: &Settings,
) -> Option<(Changed, Case)> {
    let (before, after) = case.shots.split_at_checked(at)?;
    if after.len() < LEAST_PULLS || before.len() < LEAST_PULLS {
        return None;
    }
    let old = posterior(desk, before, noise, settings);
    let frame = &desk.frame;
    // What each later pull is off by, and the doubt of what was expected of it: wide after a move of the grinder.
    let mut off = Vec::with_capacity(after.len());
    for shot in after.iter().filter(|shot| !shot.tunnelled()) {
        let time_s = if shot.choked { Some(direction::CHOKED_TIME_S) } else { shot.ran_s() };
        let Some(time_s) = time_s.filter(|t| *t > 1.0) else { continue };
        let times = old.times(&frame.point(&shot.meant(frame.yield_g), shot.days_since_roast));
        let (mean, sd) = old.spread(&times);
        let doubt = sd.hypot(old.noise.ln_time);
        off.push((shot.label, libm::log(time_s) - mean, doubt));
    }
    let clear = |(_, off, doubt): &&(u32, f64, f64)| off.abs() >= LEAST_CHANGE.max(DOUBTS * doubt);
    let slower: Vec<f64> = off.iter().filter(clear).map(|(_, off, _)| *off).collect();
    let least = slower.iter().copied().reduce(f64::min)?;
    let most = slower.iter().copied().reduce(f64::max)?;
    if slower.len() < LEAST_PULLS || least * most < 0.0 || most - least > ALIKE {
        return None;
    }
    let slower = slower.iter().sum::<f64>() / slower.len() as f64;
    if off.iter().any(|(_, off, doubt)| (off - slower).abs() > ALIKE.max(DOUBTS * doubt)) {
        return None;
    }
    let agrees = |off: f64| (off - slower).abs() <= ALIKE;
    let pulls = off.iter().filter(|(_, off, _)| agrees(*off)).map(|(label, ..)| *label).collect();
    // Slower now: what used to be reached at a setting is now reached that much coarser.
    let coarser = slower / facts::per_unit(|u| old.belief(u).0) * desk.frame.coarser_sign;
    let mut moved = case.clone();
    for shot in moved.shots.iter_mut().take(at) {
        for recipe in std::iter::once(&mut shot.recipe).chain(shot.plan.as_mut()) {
            recipe.grind += coarser;
        }
    }
    Some((Changed { since: at, pulls, slower }, moved))
}

/// Whether the last pull fits so badly that it should be repeated before it is believed.
pub(super) fn odd_last_pull(case: &Case, posterior: &Posterior) -> bool {
    match case.shots.last() {
        Some(shot) if shot.choked => reach::stray_choke(case),
        _ => posterior.sound.last().is_some_and(|s| *s < 0.4) && !borne_out(case),
    }
}

/// Whether the last pull was a second one of the recipe before it, and ran alike: then it is a fact, not a stray.
fn borne_out(case: &Case) -> bool {
    let [.., before, last] = case.shots.as_slice() else { return false };
    let alike = before.ran_s().zip(last.ran_s()).is_some_and(|(a, b)| libm::log(b / a).abs() < ALIKE);
    alike && moved(&case.gear, &case.aimed(before), &case.aimed(last)).is_empty()
}
