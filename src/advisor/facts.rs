//! Facts about a case that guards and rules look at, and what the rules make of them in this gear's own steps.

use super::answer::{Reason, Source};
use super::decide::{USUAL_TIME_S, moved};
use super::hear::Changed;
use super::reasons::taste_words;
use super::{Case, Desk, Settings, reach};
use crate::domain::{Attribute, Gear, Lever, Recipe};
use crate::infer::{Frame, LEAST_EXTRACTION_PCT, MOST_EXTRACTION_PCT, Posterior, Shot, Unknown};
use crate::rules::{self, Action, Facts, Proposal};
use crate::units::{Quantity, figure, listed, rounded};

/// Whether the last pull fits so badly that it should be repeated before it is believed.
pub(super) fn odd_last_pull(case: &Case, posterior: &Posterior) -> bool {
    match case.shots.last() {
        Some(shot) if shot.choked => reach::stray_choke(case),
        _ => posterior.sound.last().is_some_and(|s| *s < 0.4) && !borne_out(case),
    }
}

/// Times (ln) of two pulls that agree.
const AGREES: f64 = 0.3;

/// Whether the last pull was a second one of the recipe before it, and ran alike: then it is a fact, not a stray.
fn borne_out(case: &Case) -> bool {
    let [.., before, last] = case.shots.as_slice() else { return false };
    let aimed = |shot: &Shot| case.gear.snap(&shot.aimed(case.aim.start.yield_g));
    let alike = before.time_s.zip(last.time_s).is_some_and(|(a, b)| libm::log(b / a).abs() < AGREES);
    alike && !before.choked && moved(&case.gear, &aimed(before), &aimed(last)).is_empty()
}

/// Named facts of a case.
pub(super) fn facts(case: &Case) -> Facts {
    let mut out = Facts::new();
    out.insert("pulls", case.shots.len() as f64);
    if case.bag.roast.is_some() {
        out.insert("darkness", case.bag.darkness());
    }
    let age = case
        .age_today
        .or_else(|| case.shots.iter().rev().find_map(|s| s.days_since_roast))
        .or(case.bag.days_since_roast);
    if let Some(age) = age {
        out.insert("days_since_roast", age);
        let today =
            case.shots.iter().filter(|s| s.days_since_roast.is_some_and(|d| (d - age).abs() < 0.5)).count();
        out.insert("pulls_today", today as f64);
    }
    let Some(shot) = case.shots.last() else { return out };
    let mut put = |name: &'static str, value: Option<f64>| {
        if let Some(v) = value.filter(|v| v.is_finite()) {
            out.insert(name, v);
        }
    };
    let time_s = shot.time_s.or_else(|| shot.gist?.time_s).filter(|t| t.is_finite() && !shot.choked);
    put("time_s", time_s);
    put("first_drip_s", shot.first_drip_s.or_else(|| shot.gist?.first_drip_s));
    put("tds_pct", shot.tds_pct);
    put("extraction_pct", shot.tds_pct.map(|s| s * shot.recipe.yield_g / shot.recipe.dose_g));
    put("ratio", shot.recipe.ratio());
    put("choked", Some(f64::from(u8::from(shot.choked))));
    put("spurting", Some(f64::from(u8::from(shot.spurting))));
    put("channel", shot.gist.map(|_| shot.channel()));
    let names = ["sourness", "bitterness", "strength", "body", "astringency", "sweetness"];
    for (attribute, name) in Attribute::ALL.into_iter().zip(names) {
        put(name, shot.taste.mark(attribute).map(|m| f64::from(m.value())));
    }
    put("liking", shot.taste.liking().map(f64::from));
    if let (Some(t), Some((from, to))) = (time_s, case.aim.time_window_s) {
        put("outside_window_s", Some(if t < from { t - from } else { (t - to).max(0.0) }));
        put("in_window", Some(f64::from(u8::from((from..=to).contains(&t)))));
    }
    out
}

/// Share of the standard time in which the bed rules the flow, from the means of the unknowns.
pub(super) fn flowing(mean: impl Fn(Unknown) -> f64) -> f64 {
    1.0 / (1.0 + libm::exp(mean(Unknown::DeadShare)))
}

/// Rise of ln time per grinder unit toward finer at the standard time, from the means of the unknowns.
pub(super) fn per_unit(mean: impl Fn(Unknown) -> f64) -> f64 {
    let of_flow = libm::exp(mean(Unknown::LnExponent) + mean(Unknown::LnSizePerUnit));
    (of_flow * flowing(mean)).max(1e-9)
}

/// Pulls of one recipe that ran more apart than preparation usually makes them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scatter {
    /// Their numbers.
    pub pulls: Vec<u32>,
    /// Shortest and longest time, seconds.
    pub times_s: (f64, f64),
    /// Standard deviation of their ln time.
    pub ln_time: f64,
}

/// Pulls of one recipe from which a scatter is read, and the least that is out of the ordinary (ln time): 4–8 % is usual
/// (common practice, no source); and what must be left of it without the pull farthest off, and from pull
/// to pull without the largest step.
const SCATTERED: usize = 4;
const LEAST_OUT_OF_ORDINARY: f64 = 0.13;
const LEFT_WITHOUT_ONE: f64 = 0.1;

/// The scatter of the newest pulls, where they are of one recipe and run far apart; one odd pull makes none.
pub(super) fn scatter(case: &Case) -> Option<Scatter> {
    let frame = Frame::new(&case.gear, &case.aim.start, None);
    let point = |shot: &Shot| frame.point(&shot.recipe, None);
    let newest = point(case.shots.last()?);
    let same = case.shots.iter().rev().take_while(|s| !s.choked && point(s).same_but_for_slips(&newest));
    let timed: Vec<(u32, f64)> = same
        .filter(|s| !s.tunnelled())
        .filter_map(|s| Some((s.label, s.time_s.filter(|t| t.is_finite() && *t > 1.0)?)))
        .collect();
    let sd = |logs: &[f64]| {
        let mean = logs.iter().sum::<f64>() / logs.len() as f64;
        (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (logs.len() as f64 - 1.0)).sqrt()
    };
    let mut logs: Vec<f64> = timed.iter().map(|(_, t)| libm::log(*t)).collect();
    if logs.len() < SCATTERED {
        return None;
    }
    let ln_time = sd(&logs);
    // From pull to pull, without the largest step: a change is one step, scatter is many.
    let mut steps: Vec<f64> = logs.windows(2).map(|two| two.iter().fold(0.0, |a, b| b - a).powi(2)).collect();
    steps.sort_by(f64::total_cmp);
    steps.pop();
    let between = (0.5 * steps.iter().sum::<f64>() / steps.len().max(1) as f64).sqrt();
    logs.sort_by(f64::total_cmp);
    let without = f64::min(sd(logs.get(1..)?), sd(logs.get(..logs.len() - 1)?));
    let times = timed.iter().map(|(_, t)| *t);
    let mut pulls: Vec<u32> = timed.iter().map(|(label, _)| *label).collect();
    pulls.sort_unstable();
    (ln_time > LEAST_OUT_OF_ORDINARY && without.min(between) > LEFT_WITHOUT_ONE).then(|| Scatter {
        pulls,
        times_s: (times.clone().fold(f64::INFINITY, f64::min), times.fold(0.0, f64::max)),
        ln_time,
    })
}

/// Whether the last pull's marks pull both ways, as the one before it did not: that speaks of the preparation.
pub(super) fn contradicts_itself(case: &Case) -> bool {
    let both = |shot: &Shot| {
        let far = |a| shot.taste.mark(a).is_some_and(|m| m.value() == 2);
        far(Attribute::Sourness) && far(Attribute::Bitterness)
    };
    match case.shots.as_slice() {
        [.., before, last] => both(last) && !both(before),
        [last] => both(last),
        [] => false,
    }
}

/// Whether a pull's cup is one to keep a recipe for: liked at least slightly, and nothing far from just right.
fn good_cup(shot: &Shot) -> bool {
    let far = |a| shot.taste.mark(a).is_some_and(|m| m.value().abs() == 2);
    shot.taste.liking().is_none_or(|l| l >= 6) && !Attribute::ALL.into_iter().any(far)
}

/// Whether a pull's cup was liked very much and nothing of it was marked off.
pub(super) fn great_cup(shot: &Shot) -> bool {
    let off = Attribute::ALL.into_iter().filter_map(|a| shot.taste.mark(a)).any(|mark| mark.value() != 0);
    !shot.choked && !off && shot.taste.liking().is_some_and(|l| f64::from(l) >= PRAISED_WHERE_RIGHT)
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

/// The cups tasted from a recipe, of those aimed at.
fn tasted_of<'a>(case: &'a Case, aimed: &[Recipe], recipe: &Recipe) -> Vec<&'a Shot> {
    let each = case.shots.iter().zip(aimed).filter(|(s, _)| !s.taste.is_empty() && !s.choked);
    each.filter(|(_, aimed)| moved(&case.gear, aimed, recipe).is_empty()).map(|(shot, _)| shot).collect()
}

/// Whether all that was marked of a cup, something at least, was just right.
fn just_right(shot: &Shot) -> bool {
    let marks: Vec<i8> =
        Attribute::ALL.into_iter().filter_map(|a| shot.taste.mark(a)).map(|m| m.value()).collect();
    !marks.is_empty() && marks.iter().all(|mark| *mark == 0)
}

/// What the cups tasted from a recipe, of those aimed at, say of keeping it.
pub(super) fn cups_of(case: &Case, aimed: &[Recipe], recipe: &Recipe) -> Cups {
    let of_it = tasted_of(case, aimed, recipe);
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

/// Points of liking below the cups before it that make a cup a stray one.
const STRAY: f64 = 2.0;

/// Whether the last pull is the first poor cup after two good ones in a row from the same recipe: the palate, the puck or
/// the machine explain it better than the recipe.
pub(super) fn stray_cup(case: &Case, aimed: &[Recipe]) -> bool {
    let Some((last, recipe)) = case.shots.last().zip(aimed.last()) else { return false };
    if last.choked || last.taste.is_empty() {
        return false;
    }
    let of_it = tasted_of(case, aimed, recipe);
    let [.., one, two, _] = of_it.as_slice() else { return false };
    let liked = |shot: &Shot| shot.taste.liking().map(f64::from);
    let before: Vec<f64> = [one, two].into_iter().filter_map(|shot| liked(shot)).collect();
    let usual = before.iter().sum::<f64>() / before.len().max(1) as f64;
    let worse = !before.is_empty() && liked(last).is_some_and(|own| own <= usual - STRAY);
    good_cup(one) && good_cup(two) && (worse || !good_cup(last))
}

/// Whether the window that was named lies wholly outside the usual times: then the recipe to begin with is of a style
/// that its owner knows better than the trade.
pub(super) fn of_its_own_style(case: &Case) -> bool {
    let usual = USUAL_TIME_S;
    case.aim.time_window_s.is_some_and(|(from, to)| to < usual.0 || from > usual.1)
}

/// How far apart two recipes are, squared, in usual moves of dose, ratio and temperature.
pub(super) fn distance(frame: &Frame, from: &Recipe, to: &Recipe, day: Option<f64>) -> f64 {
    let (a, b) = (frame.point(from, day), frame.point(to, day));
    let d = [(a.ln_dose - b.ln_dose) / 0.08, (a.kelvin - b.kelvin) / 2.5, (a.ln_ratio - b.ln_ratio) / 0.2];
    d.iter().map(|x| x * x).sum::<f64>()
}

/// The recipe that an action makes of `from`, in the gear's own steps (at least one, unless at the end of the scale).
pub(super) fn apply(action: &Action, from: &Recipe, gear: &Gear, per_unit: f64) -> Recipe {
    let grind = |ln_time: f64| {
        let steps = (ln_time / (per_unit * gear.grind.scale.step())).round().abs().clamp(1.0, 1e6) as i64;
        from.with(Lever::Grind, gear.grind.coarser_by(from.grind, if ln_time > 0.0 { -steps } else { steps }))
    };
    let by = |lever: Lever, delta: f64| {
        let (Some(scale), Some(value)) = (gear.scale(lever), from.get(lever)) else { return *from };
        let index = scale.index_of(value) as i64;
        let steps = (delta / scale.step()).round() as i64;
        let steps = if steps == 0 { delta.signum() as i64 } else { steps };
        from.with(lever, scale.at(usize::try_from((index + steps).max(0)).unwrap_or(0)))
    };
    match action {
        Action::Finer { time_pct } => grind(libm::log1p(time_pct / 100.0)),
        Action::Coarser { time_pct } => grind(-libm::log1p(time_pct / 100.0)),
        Action::Yield { percent } => by(Lever::Yield, from.yield_g * percent / 100.0),
        Action::Dose { grams } => by(Lever::Dose, *grams),
        Action::Temperature { kelvin } => by(Lever::Temperature, *kelvin),
        Action::Prepare => *from,
    }
}

/// What the rules say about a case, as moves on this gear.
pub(super) struct RuleVoice {
    pub proposals: Vec<Proposal>,
    /// The recipe of each proposal.
    pub recipes: Vec<Recipe>,
    weight: f64,
}

impl RuleVoice {
    pub fn new(case: &Case, posterior: &Posterior, current: &Recipe) -> Self {
        let (proposals, _) = rules::evaluate(&case.packs, &facts(case));
        let slope = per_unit(|u| posterior.belief(u).0);
        let recipes = proposals.iter().map(|p| apply(&p.action, current, &case.gear, slope)).collect();
        let tasted = case.shots.iter().filter(|s| !s.taste.is_empty()).count();
        Self { proposals, recipes, weight: 0.15 / (1.0 + 0.5 * tasted as f64) }
    }

    /// Weak evidence: a little is added for moving as the rules say, a little taken for moving against them.
    pub fn bonus(&self, gear: &Gear, from: &Recipe, to: &Recipe) -> f64 {
        self.proposals
            .iter()
            .zip(&self.recipes)
            .filter(|(p, _)| p.overruled_by.is_empty())
            .map(|(p, wanted)| p.strength * agreement(gear, from, wanted, to))
            .sum::<f64>()
            .clamp(-1.5, 1.5)
            * self.weight
    }
}

/// −1…1: how far `to` goes the way from `from` to `wanted`.
pub(super) fn agreement(gear: &Gear, from: &Recipe, wanted: &Recipe, to: &Recipe) -> f64 {
    Lever::ALL
        .iter()
        .filter_map(|lever| {
            let scale = gear.scale(*lever)?;
            let want = scale.steps_between(from.get(*lever)?, wanted.get(*lever)?);
            let got = scale.steps_between(from.get(*lever)?, to.get(*lever)?);
            (want != 0).then(|| (got as f64 / want as f64).clamp(-1.0, 1.0))
        })
        .next()
        .unwrap_or(0.0)
}

/// The recipe that the rules alone would have pulled next; `None` when no rule wants a move.
#[must_use]
pub fn by_rules_alone(case: &Case) -> Option<Recipe> {
    let slope = {
        let frame = Frame::new(&case.gear, &case.aim.start, case.bag.days_since_roast);
        let shape = crate::infer::SHAPES.first()?;
        let (mean, _) = crate::infer::prior(&case.bag, &case.gear, &frame, shape);
        per_unit(|u| mean.get(u.at()).copied().unwrap_or(0.0))
    };
    let from = case.current();
    let (proposals, _) = rules::evaluate(&case.packs, &facts(case));
    proposals
        .iter()
        .filter(|p| p.overruled_by.is_empty())
        .map(|p| apply(&p.action, &from, &case.gear, slope))
        .find(|r| !moved(&case.gear, &from, r).is_empty())
}

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

/// Whether the pulls, those of earlier bags on the same gear among them, say that the grinder's direction was entered the
/// wrong way round: corrected for dose, yield and the bag's age, times rise significantly toward what was called coarser,
/// whichever one pull is left out.
#[must_use]
pub fn direction_reversed(case: &Case) -> bool {
    let coarser = case.gear.grind.finer.coarser_sign();
    let frame = Frame::new(&case.gear, &case.aim.start, None);
    let timed = |shots: &[Shot]| -> Vec<Timed> {
        // Of those that choked the finest called says most: past it everything chokes.
        let finest = |a: &&Shot, b: &&Shot| (coarser * a.recipe.grind).total_cmp(&(coarser * b.recipe.grind));
        let choked = shots.iter().filter(|s| s.choked).min_by(finest);
        let ran = shots.iter().filter(|s| !s.tunnelled() && !s.choked);
        let each = ran.chain(choked).filter(|s| s.recipe.grind.is_finite()).filter_map(|s| {
            let t = if s.choked { Some(CHOKED_TIME_S) } else { s.time_s };
            let t = t.filter(|t| t.is_finite() && *t > 1.0)?;
            let p = frame.point(&s.meant(frame.yield_g), None);
            Some(Timed {
                called_coarser: coarser * s.recipe.grind,
                ln_time: libm::log(t) - 2.0 * p.ln_dose - 0.8 * p.ln_yield,
                day: s.days_since_roast.filter(|day| day.is_finite()),
            })
        });
        each.collect()
    };
    let bags = case.earlier.iter().map(|bag| bag.shots.as_slice()).chain([case.shots.as_slice()]);
    let bags: Vec<Vec<Timed>> = bags.map(timed).collect();
    let Some(all) = rise(&bags, None, 2.0) else { return false };
    let least = if all.count < 3.0 { LEAST_RISE_OF_THREE } else { LEAST_RISE };
    if all.slope <= SURE_RISE * all.sd || all.slope * all.span <= least {
        return false;
    }
    let mut each = bags.iter().enumerate().flat_map(|(bag, of)| (0..of.len()).map(move |at| (bag, at)));
    each.all(|one| rise(&bags, Some(one), 1.0).is_some_and(|r| r.slope > LEAST_RISE_WITHOUT_ONE * r.sd))
}

/// Numbers of pulls in words.
fn run_of(pulls: &[u32]) -> String {
    match pulls {
        [first, .., last] if pulls.len() > 3 && last - first == pulls.len() as u32 - 1 => {
            format!("{first}–{last}")
        }
        few => listed(&few.iter().map(u32::to_string).collect::<Vec<_>>()),
    }
}

/// Guards: sentences about evidence or settings that cannot be as they seem. `slope` is the rise of ln time per grinder unit toward finer.
pub(super) fn guards(
    desk: &Desk,
    case: &Case,
    best: &Recipe,
    changed: Option<&Changed>,
    (scattered, stray): (Option<&Scatter>, bool),
    slope: f64,
) -> Vec<Reason> {
    let mut out = Vec::new();
    let mut add = |id: &str, text: String, pulls: Vec<u32>| {
        out.push(Reason { source: Source::Guard, id: id.to_owned(), text, pulls });
    };
    if desk.reversed {
        add(
            "guard.direction",
            word!("advisor-facts-direction").to_owned(),
            case.shots.iter().filter(|s| s.time_s.is_some()).map(|s| s.label).collect(),
        );
    }
    if let Some(changed) = changed {
        let clicks = changed.slower.abs() / (slope * case.gear.grind.scale.step());
        add(
            "guard.changed",
            say!(
                "advisor-facts-changed",
                pulls = run_of(&changed.pulls),
                way = if changed.slower > 0.0 { "slower" } else { "faster" },
                n = clicks.round().max(1.0)
            ),
            changed.pulls.clone(),
        );
    }
    if let Some(shot) = case.shots.last() {
        let n = shot.label;
        let extraction = shot.tds_pct.map(|s| s * shot.recipe.yield_g / shot.recipe.dose_g);
        if let Some(e) = extraction.filter(|e| *e < LEAST_EXTRACTION_PCT && !shot.choked) {
            add(
                "guard.low_extraction",
                say!("advisor-facts-low-extraction", n = n, extraction = figure(e, 1)),
                vec![n],
            );
        }
        if let Some(e) = extraction.filter(|e| *e > MOST_EXTRACTION_PCT) {
            add(
                "guard.impossible_extraction",
                say!("advisor-facts-impossible-extraction", n = n, extraction = figure(e, 0)),
                vec![n],
            );
        }
        if shot.recipe.ratio().is_some_and(|r| !(0.7..=8.0).contains(&r)) && !shot.choked {
            add(
                "guard.units",
                say!(
                    "advisor-facts-units",
                    n = n,
                    drink = rounded(Quantity::Yield, shot.recipe.yield_g, 0),
                    coffee = rounded(Quantity::Dose, shot.recipe.dose_g, 0)
                ),
                vec![n],
            );
        }
        if let Some((at_s, sure)) = shot.gist.and_then(|g| g.channel).filter(|_| shot.channel() > 0.5) {
            add(
                "guard.channel",
                say!("advisor-facts-channel", n = n, at_s = figure(at_s, 0), tenths = figure(10.0 * sure, 0)),
                vec![n],
            );
        }
        if let Some(scatter) = scattered {
            let (from, to) = scatter.times_s;
            add(
                "guard.scatter",
                say!(
                    "advisor-facts-scatter",
                    pulls = run_of(&scatter.pulls),
                    from = figure(from, 0),
                    to = figure(to, 0)
                ),
                scatter.pulls.clone(),
            );
        }
        if stray {
            add("guard.stray_cup", say!("advisor-facts-stray-cup", n = n), vec![n]);
        }
        if contradicts_itself(case) {
            let marks = taste_words(shot);
            add("guard.contradiction", say!("advisor-facts-contradiction", n = n, marks = marks), vec![n]);
        }
    }
    let scale = case.gear.grind.scale;
    let index = scale.index_of(best.grind);
    if scale.count() > 1 && (index == 0 || index + 1 == scale.count()) && !case.shots.is_empty() {
        add("guard.range", word!("advisor-facts-range").to_owned(), Vec::new());
    }
    out
}

/// That the coffee left is enough for so few pulls, at most as many as the person would spend on dialling in, that the
/// choice of the next one counted them.
pub(super) fn last_of_the_bag(case: &Case, settings: &Settings) -> Option<Reason> {
    let left = case.pulls_left().filter(|left| *left <= settings.pulls_willing)?;
    Some(Reason {
        source: Source::Guard,
        id: "guard.last_coffee".to_owned(),
        text: say!("advisor-facts-last-coffee", n = left),
        pulls: Vec::new(),
    })
}
