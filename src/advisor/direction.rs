//! Whether the pulls say that the grinder's direction was entered the wrong way round.

use super::Case;
use super::decide::USUAL_TIME_S;
use crate::infer::{Frame, SAME_STATE_DAYS, Shot};

/// Time (s) that a choked pull is taken to need at least, where only the direction counts: people give up by then.
pub(super) const CHOKED_TIME_S: f64 = 70.0;
/// Least rise of ln time over the settings pulled that is taken for a wrong entry: a fifth from many pulls, half from
/// three.
const LEAST_RISE: f64 = 0.2;
const LEAST_RISE_OF_THREE: f64 = 0.5;

/// Fall of ln time a day as a bag ages, and its spread: 0.3–1 s a day of some 27 (trade), none or twice that not ruled out.
const AGEING: (f64, f64) = (-0.025, 0.02);
/// Error of one pull's ln time at least: the scatter of a few pulls alone is never trusted.
const LEAST_SCATTER: f64 = 0.08;
/// Standard deviations by which times must rise toward what was called coarser, and must still without any one pull: one
/// badly prepared pull, or one choke, says nothing of the grinder.
const SURE_RISE: f64 = 3.5;
const LEAST_RISE_WITHOUT_ONE: f64 = 1.5;

/// ln of a pull's time, corrected for dose and yield by what is usual; `None` where it was not timed.
fn ln_time_of_bed(frame: &Frame, shot: &Shot, time_s: Option<f64>) -> Option<f64> {
    let time_s = time_s.filter(|t| t.is_finite() && *t > 1.0)?;
    let at = frame.point(&shot.meant(frame.yield_g), None);
    Some(libm::log(time_s) - at.usual_ln_time())
}

/// By how much the last pull ran faster than the last one before it, of those from `since` (from 0) on, that was ground
/// coarser, in percent and corrected for dose and yield; 0 or less where it took longer, as it should, and `None` where there
/// is no such pair within two days.
pub(super) fn finer_faster_pct(case: &Case, since: usize) -> Option<f64> {
    let frame = Frame::new(&case.gear, &case.aim.start, None);
    let (last, before) = case.shots.get(since..)?.split_last()?;
    let ln_time = |shot: &Shot| ln_time_of_bed(&frame, shot, shot.ran_s());
    let soon = |shot: &Shot| match (shot.days_since_roast, last.days_since_roast) {
        (Some(then), Some(now)) => (now - then).abs() <= SAME_STATE_DAYS,
        _ => true,
    };
    let coarser = |shot: &Shot| case.gear.grind.steps_coarser(last.recipe.grind, shot.recipe.grind) > 0;
    let other = before.iter().rev().filter(|shot| soon(shot) && coarser(shot)).find_map(ln_time)?;
    Some(100.0 * (1.0 - libm::exp(ln_time(last)? - other)))
}

/// A timed pull as the direction sees it.
#[derive(Debug, Clone, Copy)]
struct Timed {
    /// The setting, rising toward what was called coarser.
    called_coarser: f64,
    /// ln time, corrected for dose and yield.
    ln_time: f64,
    /// Age of the bag, days, where known.
    day: Option<f64>,
}

/// How ln time rises with the setting.
#[derive(Debug, Clone, Copy)]
struct Rise {
    /// Per grinder unit toward what was called coarser, and its standard deviation.
    slope: f64,
    sd: f64,
    /// Widest range of settings in one bag.
    span: f64,
    /// Pulls less one for each bag.
    count: f64,
}

/// Least squares over bags, each about its own middle (bags differ in time, the grinder does not), with what is usual of
/// ageing as a second regressor; `None` where fewer than two settings or too few pulls are left.
fn rise(bags: &[Vec<Timed>], without: Option<(usize, usize)>, least_count: f64) -> Option<Rise> {
    let (mut count, mut span, mut apart) = (0.0, 0.0, Vec::new());
    for (number, bag) in bags.iter().enumerate() {
        let timed: Vec<Timed> = bag
            .iter()
            .enumerate()
            .filter(|(at, _)| without != Some((number, *at)))
            .map(|(_, t)| *t)
            .collect();
        let n = timed.len() as f64;
        if n < 2.0 {
            continue;
        }
        let middle = |of: &dyn Fn(&Timed) -> f64| timed.iter().map(of).sum::<f64>() / n;
        let dated: Vec<f64> = timed.iter().filter_map(|t| t.day).collect();
        let usual_day = dated.iter().sum::<f64>() / dated.len().max(1) as f64;
        let day = |t: &Timed| t.day.unwrap_or(usual_day);
        let (x, y, d) = (middle(&|t| t.called_coarser), middle(&|t| t.ln_time), middle(&day));
        let highest = timed.iter().map(|t| t.called_coarser).fold(f64::NEG_INFINITY, f64::max);
        let lowest = timed.iter().map(|t| t.called_coarser).fold(f64::INFINITY, f64::min);
        span = f64::max(span, highest - lowest);
        count += n - 1.0;
        apart.extend(timed.iter().map(|t| (t.called_coarser - x, day(t) - d, t.ln_time - y)));
    }
    let sum = |of: &dyn Fn(&(f64, f64, f64)) -> f64| apart.iter().map(of).sum::<f64>();
    let (xx, xd, dd) = (sum(&|p| p.0 * p.0), sum(&|p| p.0 * p.1), sum(&|p| p.1 * p.1));
    if count < least_count || xx <= 1e-12 {
        return None;
    }
    let fitted = |variance: f64| {
        let prior = variance / (AGEING.1 * AGEING.1);
        let (xy, dy) = (sum(&|p| p.0 * p.2), sum(&|p| p.1 * p.2) + prior * AGEING.0);
        let det = (xx * (dd + prior) - xd * xd).max(1e-300);
        let slope = ((dd + prior) * xy - xd * dy) / det;
        let a_day = (xx * dy - xd * xy) / det;
        (slope, a_day, (variance * (dd + prior) / det).sqrt())
    };
    let least = LEAST_SCATTER * LEAST_SCATTER;
    let (slope, a_day, _) = fitted(least);
    let rest = sum(&|p| (p.2 - slope * p.0 - a_day * p.1).powi(2));
    let (slope, _, sd) = fitted((rest / (count - 1.0).max(1.0)).max(least));
    Some(Rise { slope, sd, span, count })
}

/// Chokes, each called coarser than everything that ran, that say the same: after one slow pull, and after more whose times
/// rose that way.
const CHOKES_AFTER_ONE: usize = 3;
const CHOKES_AFTER_A_RISE: usize = 2;
/// Rise of ln time among what ran that bears them out.
const RISE_BEFORE_CHOKES: f64 = 0.1;

/// Whether this bag's pulls ran slower toward what was called coarser until, there alone, they choked. One choke is an
/// accident, and a pump that fails chokes at any setting, so that more are asked for.
fn choked_toward_coarser(case: &Case) -> bool {
    let coarser = case.gear.grind.finer.coarser_sign();
    let at = |shot: &Shot| coarser * shot.recipe.grind;
    let choked: Vec<f64> = case.shots.iter().filter(|s| s.choked).map(at).collect();
    let ran = case.shots.iter().filter(|s| !s.tunnelled()).filter_map(|s| Some((at(s), s.ran_s()?)));
    let ran: Vec<(f64, f64)> = ran.filter(|(at, time_s)| at.is_finite() && *time_s > 1.0).collect();
    let finest = |a: &&(f64, f64), b: &&(f64, f64)| a.0.total_cmp(&b.0);
    let (Some(from), Some(to)) = (ran.iter().min_by(finest), ran.iter().max_by(finest)) else { return false };
    let apart = 0.5 * case.gear.grind.scale.step();
    if choked.iter().any(|at| at - to.0 < apart) {
        return false;
    }
    let rises = to.0 - from.0 > apart && libm::log(to.1 / from.1) > RISE_BEFORE_CHOKES;
    let slow = ran.iter().all(|(_, time_s)| *time_s > USUAL_TIME_S.1);
    choked.len() >= if rises { CHOKES_AFTER_A_RISE } else { CHOKES_AFTER_ONE } && (rises || slow)
}

/// What says that the direction was entered the wrong way round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Speaks {
    /// Pulls that choked toward what was called coarser.
    Chokes,
    /// Times of this bag.
    Times,
    /// Times of earlier bags; this one's are of one setting.
    EarlierTimes,
}

/// Whether a pull ran, and evenly, so that its time tells of the grind.
pub(super) fn tells_of_the_grind(shot: &Shot) -> bool {
    shot.ran_s().is_some() && !shot.tunnelled()
}

/// Whether the pulls, those of earlier bags on the same gear among them, say that the grinder's direction was entered the
/// wrong way round: corrected for dose, yield and the bag's age, times rise significantly toward what was called coarser,
/// whichever one pull is left out; or pulls choke there alone.
#[must_use]
pub fn direction_reversed(case: &Case) -> bool {
    reversed(case).is_some()
}

/// What says so, where it was.
pub(super) fn reversed(case: &Case) -> Option<Speaks> {
    if choked_toward_coarser(case) {
        return Some(Speaks::Chokes);
    }
    let coarser = case.gear.grind.finer.coarser_sign();
    let frame = Frame::new(&case.gear, &case.aim.start, None);
    let timed = |shots: &[Shot]| -> Vec<Timed> {
        // Of those that choked the finest called says most: past it everything chokes.
        let finest = |a: &&Shot, b: &&Shot| (coarser * a.recipe.grind).total_cmp(&(coarser * b.recipe.grind));
        let choked = shots.iter().filter(|s| s.choked).min_by(finest);
        let ran = shots.iter().filter(|s| tells_of_the_grind(s));
        let each = ran.chain(choked).filter(|s| s.recipe.grind.is_finite()).filter_map(|s| {
            let t = if s.choked { Some(CHOKED_TIME_S) } else { s.ran_s() };
            Some(Timed {
                called_coarser: coarser * s.recipe.grind,
                ln_time: ln_time_of_bed(&frame, s, t)?,
                day: s.days_since_roast.filter(|day| day.is_finite()),
            })
        });
        each.collect()
    };
    let bags = case.earlier.iter().map(|bag| bag.shots.as_slice()).chain([case.shots.as_slice()]);
    let bags: Vec<Vec<Timed>> = bags.map(timed).collect();
    let all = rise(&bags, None, 2.0)?;
    let least = if all.count < 3.0 { LEAST_RISE_OF_THREE } else { LEAST_RISE };
    if all.slope <= SURE_RISE * all.sd || all.slope * all.span <= least {
        return None;
    }
    let mut each = bags.iter().enumerate().flat_map(|(bag, of)| (0..of.len()).map(move |at| (bag, at)));
    let holds =
        each.all(|one| rise(&bags, Some(one), 1.0).is_some_and(|r| r.slope > LEAST_RISE_WITHOUT_ONE * r.sd));
    let own = bags.last().is_some_and(|own| rise(std::slice::from_ref(own), None, 1.0).is_some());
    holds.then_some(if own { Speaks::Times } else { Speaks::EarlierTimes })
}
