//! What cups say by themselves: good, praised, stray, at odds with themselves.

use super::Case;
use super::decide::moved;
use super::reach::{self, FAR_OFF_S};
use crate::domain::{Attribute, Recipe};
use crate::infer::{SAME_STATE_DAYS, Shot};

/// Whether a cup was too sour and too bitter at once: far too much of both, or the water was seen to tunnel.
pub(super) fn at_odds(shot: &Shot) -> bool {
    let mark = |a| shot.taste.mark(a).map_or(0, |m| m.value());
    let (sour, bitter) = (mark(Attribute::Sourness), mark(Attribute::Bitterness));
    let least = if shot.tunnelled() { 1 } else { 2 };
    !shot.choked && sour.min(bitter) >= least
}

/// Whether the last pull's marks pull both ways, as the one before it did not: that speaks of the preparation. So slow a
/// pull that it rarely runs evenly is no riddle: it asks for coarser.
pub(super) fn contradicts_itself(case: &Case) -> bool {
    if case.shots.last().is_some_and(|last| last.ran_s().is_some_and(|t| t > FAR_OFF_S.1)) {
        return false;
    }
    match case.shots.as_slice() {
        [.., before, last] => at_odds(last) && !at_odds(before),
        [last] => at_odds(last),
        [] => false,
    }
}

/// Liking from which a cup is good.
const GOOD: f64 = 6.0;

/// Whether a pull's cup is one to keep a recipe for: liked at least slightly, and nothing far from just right unless it was
/// liked very much all the same.
fn good_cup(shot: &Shot) -> bool {
    let far_off = marks(shot).any(|mark| mark.abs() >= 2) && !liked_very_much(shot);
    shot.taste.liking().is_none_or(|l| f64::from(l) >= GOOD) && !far_off
}

/// Whether a pull's cup was said to be good, by its liking or, without one, by marks that are all just right.
fn said_good(shot: &Shot) -> bool {
    good_cup(shot) && (shot.taste.liking().is_some() || just_right(shot))
}

/// Marks given to a pull's cup.
fn marks(shot: &Shot) -> impl Iterator<Item = i8> {
    Attribute::ALL.into_iter().filter_map(|a| shot.taste.mark(a)).map(|mark| mark.value())
}

/// Marks, all just right, that say as much of a cup as a liking of which nothing was said.
const ENOUGH_MARKS: usize = 3;

/// Whether a pull's cup was liked very much and nothing of it was marked off; where no liking was given, whether enough of
/// it was marked, and all just right.
pub(super) fn great_cup(shot: &Shot) -> bool {
    let liked = match shot.taste.liking() {
        Some(liking) => f64::from(liking) >= PRAISED_WHERE_RIGHT,
        None => marks(shot).count() >= ENOUGH_MARKS,
    };
    !shot.choked && liked && marks(shot).all(|mark| mark == 0)
}

/// Whether a pull's cup was all that its drinker can say of one: nothing marked off, and liked as much as the scale has it, or
/// very much with enough of it marked, or no liking given.
pub(super) fn perfect_cup(shot: &Shot) -> bool {
    let enough = marks(shot).count() >= ENOUGH_MARKS;
    great_cup(shot) && (enough || shot.taste.liking().is_none_or(|liking| liking == 9))
}

/// Cups and their mean liking from which a recipe is kept without more ado: the scale has hardly anything above, or
/// nothing about them was marked off.
const PRAISED: (usize, f64) = (2, 8.5);
const PRAISED_WHERE_RIGHT: f64 = 8.0;

/// What the cups from a recipe say of keeping it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cups {
    /// None was tasted, or the last was poor.
    Poor,
    /// The last ones, so many, were good.
    Good(usize),
    /// As good as the scale can say, more than once.
    Praised,
}

/// The pulls that aimed at a recipe and whose cups were tasted.
pub(super) fn tasted_of<'a>(case: &'a Case, recipe: &Recipe) -> Vec<&'a Shot> {
    let tasted = case.shots.iter().filter(|s| !s.taste.is_empty() && !s.choked);
    tasted.filter(|shot| moved(&case.gear, &case.aimed(shot), recipe).is_empty()).collect()
}

/// Whether all that was marked of a cup, something at least, was just right.
fn just_right(shot: &Shot) -> bool {
    marks(shot).next().is_some() && marks(shot).all(|mark| mark == 0)
}

/// What the cups tasted from a recipe say of keeping it.
pub(super) fn cups_of(case: &Case, recipe: &Recipe) -> Cups {
    let of_it = tasted_of(case, recipe);
    let good = of_it.iter().rev().take_while(|shot| good_cup(shot)).count();
    if good == 0 {
        return Cups::Poor;
    }
    let likings: Vec<f64> = of_it.iter().filter_map(|s| s.taste.liking()).map(f64::from).collect();
    let mean = likings.iter().sum::<f64>() / likings.len().max(1) as f64;
    let right = of_it.iter().all(|shot| just_right(shot));
    let praise = if right { PRAISED_WHERE_RIGHT } else { PRAISED.1 };
    if likings.len() >= PRAISED.0 && mean >= praise { Cups::Praised } else { Cups::Good(good) }
}

/// Whether the last pull choked though the recipe that it aimed at gave a good cup when it was last tasted: so it says more
/// of its preparation than of the recipe.
pub(super) fn choked_by_accident(case: &Case) -> bool {
    let before = case.shots.last().and_then(|last| tasted_of(case, &case.aimed(last)).pop());
    reach::stray_choke(case) && before.is_some_and(said_good)
}

/// Points of liking between two cups of one recipe that no palate explains, and how many such steps in a row make them
/// disagree.
const APART: u8 = 3;
const STEPS_APART: usize = 3;

/// The newest cups of the recipe that the last pull aimed at, where each was liked far better or worse than the one before
/// it: their pulls, and the least and the best liking.
pub(super) fn disagreeing(case: &Case) -> Option<(Vec<u32>, u8, u8)> {
    let last = case.shots.last()?;
    let of_it = tasted_of(case, &case.aimed(last));
    let liked: Vec<(u32, u8)> =
        of_it.iter().filter_map(|shot| Some((shot.label, shot.taste.liking()?))).collect();
    let steps = liked.iter().rev().zip(liked.iter().rev().skip(1));
    let apart = steps.take_while(|((_, newer), (_, older))| newer.abs_diff(*older) >= APART).count();
    let newest = liked.get(liked.len().checked_sub(apart + 1)?..)?;
    let (least, best) = (newest.iter().map(|l| l.1).min()?, newest.iter().map(|l| l.1).max()?);
    let told = apart >= STEPS_APART && liked.last()?.0 == last.label;
    told.then(|| (newest.iter().map(|(label, _)| *label).collect(), least, best))
}

/// Liking up to which a cup was disliked.
const DISLIKED: u8 = 4;

/// Whether the last pull's cup was disliked though all that was marked of it, and enough, was just right, as no cup before
/// it: nothing says what was wrong with it.
pub(super) fn disliked_though_right(case: &Case) -> bool {
    let unsaid = |shot: &Shot| {
        let disliked = shot.taste.liking().is_some_and(|liking| liking <= DISLIKED);
        !shot.choked && disliked && marks(shot).count() >= ENOUGH_MARKS && just_right(shot)
    };
    case.shots.split_last().is_some_and(|(last, before)| unsaid(last) && !before.iter().any(unsaid))
}

/// Liking from which no mark of a cup is a reason to move.
const LIKED_VERY_MUCH: u8 = 8;

/// Whether a cup was liked so much that nothing about it is a reason to move.
pub(super) fn liked_very_much(shot: &Shot) -> bool {
    shot.taste.liking().is_some_and(|liking| liking >= LIKED_VERY_MUCH)
}

/// Whether the last pull's cup was liked very much though something of it was marked far off, as no cup before it: one of
/// the two is a slip.
pub(super) fn praised_though_off(case: &Case) -> bool {
    let both = |shot: &Shot| !shot.choked && liked_very_much(shot) && marks(shot).any(|mark| mark.abs() >= 2);
    case.shots.split_last().is_some_and(|(last, before)| both(last) && !before.iter().any(both))
}

/// Points of liking below the cups before it that make a cup a stray one, and how far its ln time and its day may lie from
/// theirs: what ran otherwise, or days later, has a reason.
const STRAY: f64 = 2.0;
const STRAY_LN_TIME: f64 = 0.2;

/// Whether the last pull is the first poor cup after two good ones in a row from the same recipe: the palate, the puck or
/// the machine explain it better than the recipe. Not where it ran otherwise, or days later.
pub(super) fn stray_cup(case: &Case) -> bool {
    let Some(last) = case.shots.last() else { return false };
    if last.choked || last.taste.is_empty() {
        return false;
    }
    let of_it = tasted_of(case, &case.aimed(last));
    let [.., one, two, _] = of_it.as_slice() else { return false };
    let beside = |of: fn(&Shot) -> Option<f64>, most: f64| {
        of(two).zip(of(last)).is_none_or(|(then, now)| (now - then).abs() <= most)
    };
    let ln_time = |shot: &Shot| shot.ran_s().map(libm::log);
    if !beside(ln_time, STRAY_LN_TIME) || !beside(|shot| shot.days_since_roast, SAME_STATE_DAYS) {
        return false;
    }
    let liked = |shot: &Shot| shot.taste.liking().map(f64::from);
    let before: Vec<f64> = [one, two].into_iter().filter_map(|shot| liked(shot)).collect();
    let usual = before.iter().sum::<f64>() / before.len().max(1) as f64;
    let worse = !before.is_empty() && liked(last).is_some_and(|own| own <= usual - STRAY);
    let poor = !good_cup(last) && (before.is_empty() || liked(last).is_none());
    said_good(one) && said_good(two) && (worse || poor)
}
