//! The advice and how it is put together.

use super::beliefs::{self, Belief, Slack};
use super::cups::{self, Cups};
use super::decide::{Search, moved};
use super::facts;
use super::hear::{hear, odd_last_pull};
use super::reach::{self, Reach};
use super::reasons::{self, Choice};
use super::worth::Worth;
use super::{Case, Desk, Settings};
use crate::domain::{Lever, Recipe};
use crate::infer::{Point, Posterior};
use crate::maths::lanes::{self, Lanes};
use crate::maths::normal;
use crate::maths::real::Real;

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Change something.
    Adjust,
    /// Pull the same again.
    Repeat,
    /// Keep this recipe.
    Settled,
}

/// Which way a lever moves, in the trade's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Toward {
    /// Grind finer.
    Finer,
    /// Grind coarser.
    Coarser,
    /// More.
    Up,
    /// Less.
    Down,
}

/// One lever to move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// The lever.
    pub lever: Lever,
    /// Value now.
    pub from: f64,
    /// Value to set.
    pub to: f64,
    /// Steps on the lever's own scale, positive toward higher numbers.
    pub steps: i64,
    /// Direction in words.
    pub toward: Toward,
}

/// A range: one in ten lies below `p10`, one in ten above `p90`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantiles {
    /// Tenth percentile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// Ninetieth percentile.
    pub p90: f64,
}

/// What to expect from a pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expect {
    /// Pump on to cup away, seconds.
    pub time_s: Quantiles,
    /// Strength, %.
    pub tds_pct: Quantiles,
    /// Extraction, %.
    pub extraction_pct: Quantiles,
    /// Liking, 1…9.
    pub liking: Quantiles,
}

/// The recipe that would be served now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// The recipe.
    pub recipe: Recipe,
    /// Its liking.
    pub liking: Quantiles,
    /// Its time, strength and extraction as well.
    pub expect: Expect,
}

/// Who speaks in a reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A rule of the trade.
    Rule,
    /// The fitted model.
    Model,
    /// A guard against bad evidence or bad settings.
    Guard,
}

/// One reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Who speaks.
    pub source: Source,
    /// Stable name of the rule, guard or kind of evidence.
    pub id: String,
    /// A plain sentence.
    pub text: String,
    /// Numbers of the pulls that it rests on.
    pub pulls: Vec<u32>,
}

/// Another recipe worth a thought.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// The recipe.
    pub recipe: Recipe,
    /// What to expect.
    pub expect: Expect,
    /// Chance that it is within half a point of the best reachable.
    pub chance_near_best: f64,
    /// Why one might choose it.
    pub text: String,
}

/// Other ideas beside the advice; each may be absent where it would be the same recipe.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Alternatives {
    /// One lever alone, where the advice moves more.
    pub simplest: Option<Alternative>,
    /// Less coffee at little loss.
    pub cheapest: Option<Alternative>,
    /// A larger chance of coming near the best, at more risk of a bad cup.
    pub boldest: Option<Alternative>,
    /// A smaller risk of a bad cup.
    pub safest: Option<Alternative>,
}

impl Alternatives {
    /// All that there are, in the order in which they are offered.
    pub fn each(&self) -> impl Iterator<Item = &Alternative> {
        [&self.simplest, &self.cheapest, &self.boldest, &self.safest].into_iter().flatten()
    }
}

/// How far one quantity may wander from the best recipe before mean liking drops by half a point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tolerances {
    /// Seconds shorter and longer (by grind).
    pub time_s: Slack,
    /// Grams of dose less and more.
    pub dose_g: Slack,
    /// Grams of drink less and more.
    pub yield_g: Slack,
    /// Kelvin less and more.
    pub temperature_c: Slack,
}

/// What the two voices said, before they were weighed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Voices {
    /// What the rules said, in their order of strength.
    pub rules: Vec<String>,
    /// What the model said.
    pub model: String,
    /// Where they disagree, in one sentence.
    pub conflict: Option<String>,
}

/// The whole advice.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What to do.
    pub status: Status,
    /// What to pull next; on the gear's steps and within its ranges.
    pub recipe: Recipe,
    /// What differs from what the last pull aimed at (or the start); empty unless `Adjust`.
    pub changes: Vec<Change>,
    /// What to expect from it.
    pub expect: Expect,
    /// What would be served now.
    pub best: Best,
    /// Chance that `best` is within half a point of the best reachable on this gear.
    pub chance_near_best: f64,
    /// Reasons, most important first.
    pub reasons: Vec<Reason>,
    /// Other ideas.
    pub alternatives: Alternatives,
    /// Tolerances of the best recipe.
    pub tolerances: Tolerances,
    /// Rules and model side by side.
    pub voices: Voices,
    /// What a night will change, where it will change anything.
    pub tomorrow: Option<String>,
    /// What is believed, in plain words.
    pub beliefs: Vec<Belief>,
}

/// Cups that must have been tasted before a recipe is kept, how likely it must be near the best, and what it may lack of
/// the best recipe found, in points of liking.
const ENOUGH_TASTED: usize = 3;
const SURE_ENOUGH: f64 = 0.9;
const AS_GOOD: f64 = 0.1;
/// The same for a recipe whose last cups, so many, were all good; with every further one the next would tell less, and
/// less will do, down to a least chance.
const GOOD_IN_A_ROW: usize = 3;
const SURE_ENOUGH_IN_A_ROW: f64 = 0.85;
const LESS_FOR_EACH_MORE: f64 = 0.05;
const LEAST_SURE: f64 = 0.7;
const AS_GOOD_IN_A_ROW: f64 = 0.2;
/// What a move must gain to be made on the word of an odd pull.
const WORTH_AN_ODD_PULL: f64 = 0.5;

/// Worlds drawn for one answer.
pub(super) const WORLDS: usize = 160;

/// Quantile of a weighted mixture of normals, by regula falsi within a bracket.
pub(super) fn mixture_quantile(parts: &[(f64, f64, f64)], p: f64) -> f64 {
    let low = parts.iter().map(|(_, m, s)| m - 8.0 * s).fold(f64::INFINITY, f64::min);
    let high = parts.iter().map(|(_, m, s)| m + 8.0 * s).fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high.is_finite()) {
        return 0.0;
    }
    let below = |x: f64| {
        let each = lanes::each(parts.iter().map(|(_, m, s)| (x - m) / s), Lanes::normal_cdf);
        parts.iter().zip(each).map(|((w, ..), below)| w * below).sum::<f64>() - p
    };
    // Regula falsi with the Illinois correction, safeguarded by its bracket.
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (-p, 1.0 - p);
    let tolerance = 1e-4 * (1.0 + low.abs().max(high.abs()));
    let mut side = 0;
    for round in 0..40 {
        let mid = if round < 4 { 0.5 * (a + b) } else { (a * fb - b * fa) / (fb - fa) };
        let f = below(mid);
        if f.abs() < 2e-5 || (b - a).abs() < tolerance {
            return mid;
        }
        if f < 0.0 {
            a = mid;
            fa = f;
            if side == -1 {
                fb *= 0.5;
            }
            side = -1;
        } else {
            b = mid;
            fb = f;
            if side == 1 {
                fa *= 0.5;
            }
            side = 1;
        }
    }
    0.5 * (a + b)
}

fn quantiles(parts: &[(f64, f64, f64)], map: impl Fn(f64) -> f64) -> Quantiles {
    Quantiles {
        p10: map(mixture_quantile(parts, 0.1)),
        p50: map(mixture_quantile(parts, 0.5)),
        p90: map(mixture_quantile(parts, 0.9)),
    }
}

/// Noise of a fresh pull beside what the worlds disagree on; that of its time is the posterior's.
const FRESH_STRENGTH_PCT: f64 = 0.22;
const FRESH_LIKING: f64 = 0.85;

/// What to expect of a recipe, pull-to-pull noise included.
pub(super) fn expect(posterior: &Posterior, point: &Point) -> Expect {
    let (weights, spare) = posterior.discrepancy_weights(point);
    let likings = posterior.likings_with(point, &weights);
    let liking_sd = FRESH_LIKING.hypot(spare);
    let mut time = Vec::with_capacity(posterior.worlds.len());
    let mut strength = time.clone();
    let mut extraction = time.clone();
    let mut liking = time.clone();
    for (world, like) in posterior.worlds.iter().zip(&likings) {
        let cup = posterior.latent(world, point);
        let s = libm::exp(cup.ln_strength);
        time.push((world.weight, cup.ln_time, posterior.noise.ln_time));
        strength.push((world.weight, s, FRESH_STRENGTH_PCT.hypot(0.015 * s)));
        extraction.push((world.weight, cup.extraction, 0.45));
        liking.push((world.weight, *like, liking_sd));
    }
    Expect {
        time_s: quantiles(&time, |v| libm::exp(v).clamp(0.5, 600.0)),
        tds_pct: quantiles(&strength, |v| v.clamp(0.0, 40.0)),
        extraction_pct: quantiles(&extraction, |v| v.clamp(0.0, 40.0)),
        liking: quantiles(&liking, |v| v.clamp(1.0, 9.0)),
    }
}

/// Share of the distance to the best recipe that is believed: the best of some hundred imagined recipes is a little too
/// good (set by the claims of the advisor's bench).
const BELIEVED: f64 = 0.7;

/// Chance that a recipe is within half a point of the best reachable.
pub(super) fn chance_near(search: &Search<'_>, index: usize, reachable: &[f64]) -> f64 {
    let Some(candidate) = search.seen.get(index) else { return 0.0 };
    let chance: f64 = search
        .posterior
        .worlds
        .iter()
        .zip(&candidate.likings)
        .zip(reachable)
        .map(|((w, own), best)| w.weight * normal::cdf((0.5 - BELIEVED * (best - own)) / 0.1))
        .sum();
    chance.clamp(0.01, 0.99)
}

/// The changes from one recipe to another.
pub(super) fn changes(case: &Case, from: &Recipe, to: &Recipe) -> Vec<Change> {
    moved(&case.gear, from, to)
        .into_iter()
        .filter_map(|lever| {
            let scale = case.gear.scale(lever)?;
            let (a, b) = (from.get(lever)?, to.get(lever)?);
            let steps = scale.steps_between(a, b);
            let toward = match lever {
                Lever::Grind => {
                    if case.gear.grind.steps_coarser(a, b) > 0 {
                        Toward::Coarser
                    } else {
                        Toward::Finer
                    }
                }
                _ if steps > 0 => Toward::Up,
                _ => Toward::Down,
            };
            Some(Change { lever, from: a, to: b, steps, toward })
        })
        .collect()
}

/// Days beyond the last pull over which a bag's ageing is foreseen.
const FORESEEN_DAYS: f64 = 7.0;

/// The day on which the next pull is expected: today where that is known and nothing was pulled later, else the last one's
/// plus the usual gap between pulls.
pub(super) fn next_day(case: &Case) -> Option<f64> {
    let days: Vec<f64> = case.shots.iter().filter_map(|s| s.days_since_roast).collect();
    if let Some(today) = case.age_today {
        return Some(days.last().map_or(today, |last| today.clamp(*last, last + FORESEEN_DAYS)));
    }
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if days.len() >= 3 => {
            Some(last + ((last - first) / (days.len() - 1) as f64).clamp(0.0, 3.0))
        }
        (_, Some(last)) => Some(*last),
        _ => case.bag.days_since_roast,
    }
}

/// Seconds by which a candidate is expected to run farther outside the window that was named than another.
fn out_of_the_window_s(case: &Case, search: &Search<'_>, at: usize, other: usize) -> f64 {
    if case.aim.time_window_s.is_none() {
        return 0.0;
    }
    let outside_s = |at: usize| {
        let time_s = search.recipe(at).map(|r| expect(search.posterior, &search.point(&r)).time_s.p50);
        time_s.map_or(0.0, |t| facts::outside_the_window_s(case, t))
    };
    outside_s(at) - outside_s(other)
}

pub(super) fn advise(desk: &Desk, case: &Case, settings: &Settings) -> Advice {
    let heard = hear(desk, case, settings);
    let posterior = &heard.posterior;
    let case = heard.changed.as_ref().map_or(case, |(_, moved)| moved);
    let day = next_day(case);
    let own_style = facts::of_its_own_style(case);
    let mut search = Search::new(posterior, &case.gear, day, case.aim.time_window_s);
    let current = case.current();
    if !case.shots.is_empty() {
        search.reach = Reach::of_one_move(case, posterior, &current);
    }
    let aimed: Vec<Recipe> = case.shots.iter().map(|shot| case.aimed(shot)).collect();
    let anchors: Vec<Recipe> = std::iter::once(current).chain(aimed.iter().rev().take(12).copied()).collect();
    let best = search.run(&anchors);
    // As long as nobody has tasted or measured a cup, only the grind can be judged: by its time, or blindly where no
    // setting is known at all.
    let untasted = case.shots.iter().all(|s| s.taste.is_empty() && s.reading().is_none());
    let blind = untasted && (!case.shots.is_empty() || case.aim.start.grind.is_none());
    // The basket, not the taste, sets the first dose.
    let levers: &[Lever] = match (blind, untasted) {
        (true, _) => &[Lever::Grind],
        (false, true) => &[Lever::Grind, Lever::Yield, Lever::Temperature],
        (false, false) => &Lever::ALL,
    };
    let single = search.best_single(&current, levers);
    let stay = search.look(&current);
    // What was looked at since may be better than what the search came to.
    let best =
        search.choices().fold(best, |best, at| if search.mean(at) > search.mean(best) { at } else { best });
    let pulled: Vec<usize> =
        case.shots.iter().filter(|s| !s.choked).map(|s| search.look(&s.recipe)).collect();
    // What was pulled before something changed was another recipe.
    let since = heard.changed.as_ref().map_or(0, |(changed, _)| changed.since);
    let rules = facts::RuleVoice::new(case, posterior, &current, since);
    let worth = Worth::new(case, settings, &search, &rules, current, (stay, best), &pulled);

    // What would be served, and what to pull: the same unless something near it is worth more to know.
    let known = own_style || case.aim.start.grind.is_none() && case.earlier_grind().is_some();
    let mut choice = if untasted && case.shots.is_empty() && known {
        stay
    } else if untasted {
        worth.first(&search, single, stay)
    } else {
        worth.choose(&search, single, if settings.one_lever { 1 } else { Lever::ALL.len() })
    };
    loop {
        let fewer = search.with_one_less(choice, &current);
        let Some(simpler) = worth.simpler(&search, choice, &fewer) else { break };
        choice = simpler;
    }
    // Nor is a first pull sent farther out of a window that was named than the person's own recipe.
    if case.shots.is_empty() && out_of_the_window_s(case, &search, choice, stay) > 0.0 {
        choice = stay;
    }
    // Where no setting is known, one is begun with that is expected within the window that was named.
    if own_style && case.shots.is_empty() && case.aim.start.grind.is_none() {
        choice = search.in_time(choice, Lever::Grind);
    }
    // First pulls that ran far off the clock ask for the grind alone, and none is taken farther off it, by no lever; so does
    // a pull of which nothing but the clock is known.
    let choked = case.shots.last().is_some_and(|s| s.choked);
    let ln_time = |at: usize| search.seen.get(at).map_or(0.0, |c| c.ln_time);
    let slower = ln_time(choice) - ln_time(stay);
    let off = reach::off_the_clock(case, posterior)
        .filter(|(toward, far)| *far || if *toward == Toward::Finer { slower < 0.0 } else { slower > 0.0 });
    // Where the grinder cannot go there, the dose is left: out of a choke, and where nothing else is known.
    let stuck = search.reach.leaves_the_grind();
    let only_clock = reach::only_the_clock_spoke(case);
    if off.is_some() && !stuck || only_clock {
        let lever = if stuck { Lever::Dose } else { Lever::Grind };
        let mut by_clock = search.best_single(&current, &[lever]);
        // What is usually liked is no reason to miss the window of a style of its own.
        if own_style {
            by_clock = search.in_time(by_clock, lever);
        }
        // Where the clock asks for little and the grind has nothing to give, another lever may.
        let little = !only_clock && off.is_some_and(|(_, far)| !far);
        if !(little && by_clock == stay) {
            choice = by_clock;
        }
    }
    // A cup that is as it should be is pulled again before anything is tried for little.
    if let Some(last) = case.shots.last()
        && (cups::perfect_cup(last) || cups::great_cup(last) && worth.gains_little(&search, choice))
    {
        choice = stay;
    }
    let choice_recipe = search.recipe(choice).unwrap_or(current);
    let odd = odd_last_pull(case, posterior);
    // Another change is not worth its coffee where a recipe that was pulled, and whose last cup was good, is as good as
    // the best by a trifle and very likely near the best there is, or was praised more than once.
    let tasted = case.shots.iter().filter(|s| !s.taste.is_empty()).count();
    let sure = tasted >= ENOUGH_TASTED && !odd && !choked;
    let aimed_since: Vec<usize> = aimed.iter().skip(since).map(|recipe| search.look(recipe)).collect();
    let as_good = |at: usize, good: usize| {
        let (least, sure) = match good.checked_sub(GOOD_IN_A_ROW) {
            Some(more) => {
                let sure = SURE_ENOUGH_IN_A_ROW - LESS_FOR_EACH_MORE * more as f64;
                (AS_GOOD_IN_A_ROW, sure.max(LEAST_SURE))
            }
            None => (AS_GOOD, SURE_ENOUGH),
        };
        desk.reversed.is_none()
            && worth.behind(&search, at) <= least
            && chance_near(&search, at, worth.reachable()) >= sure
    };
    let said = |at: usize| search.recipe(at).map_or(Cups::Poor, |of| cups::cups_of(case, &of));
    let keeps = |at: &usize| match said(*at) {
        Cups::Praised => true,
        Cups::Good(good) => as_good(*at, good),
        Cups::Poor => false,
    };
    // The one in the machine first: nobody is sent to and fro between two that are as good.
    let newest = aimed_since.rchunks(1).next().unwrap_or_default();
    let mut each = [newest, &aimed_since].into_iter().filter_map(|some| worth.best_of(&search, some));
    let kept = if sure { each.find(keeps) } else { None };
    let praised = kept.is_some_and(|at| said(at) == Cups::Praised && !as_good(at, 1));
    let best = kept.unwrap_or(best);
    let best_recipe = search.recipe(best).unwrap_or(current);
    let chance_near_best = chance_near(&search, best, worth.reachable());
    // What is at odds with itself is asked for again before anything moves.
    let unsaid = facts::untasted_in_time(case) || facts::unknown(case);
    let riddle = cups::contradicts_itself(case)
        || facts::unlikely_numbers(case)
        || reach::to_prepare_again(case, posterior)
        || cups::choked_by_accident(case)
        || cups::disagreeing(case).is_some()
        || cups::disliked_though_right(case)
        || heard.scatters_anew
        || facts::missed_the_plan(case)
        || unsaid;
    let stray = cups::stray_cup(case);
    let again = odd || riddle || stray || heard.scatter.is_some();
    let gain = worth.value(&search, choice) - worth.value(&search, stay);
    let (status, recipe) = if case.shots.is_empty() {
        (if choice == stay { Status::Repeat } else { Status::Adjust }, choice_recipe)
    } else if kept.is_some() {
        (Status::Settled, best_recipe)
    } else if choice == stay
        || (again && (riddle || stray || gain < WORTH_AN_ODD_PULL) && search.reach.holds(&current))
    {
        (Status::Repeat, current)
    } else {
        (Status::Adjust, choice_recipe)
    };
    let changes = if status == Status::Adjust { changes(case, &current, &recipe) } else { Vec::new() };
    let expected = expect(posterior, &search.point(&recipe));
    let best_expect = expect(posterior, &search.point(&best_recipe));
    let at = search.look(&recipe);
    let mut reasons = facts::guards(desk, case, (&recipe, &best_recipe), &heard, stray);
    let stuck =
        facts::nothing_left(case, &search.reach, &current).filter(|_| status == Status::Repeat && !odd);
    let end_of_gear = stuck.is_some();
    reasons.extend(stuck);
    let near = |at: usize| chance_near(&search, at, worth.reachable());
    let more_promised = worth.behind(&search, stay) > 0.05;
    let chosen = Choice {
        status,
        to: at,
        from: stay,
        since,
        single,
        odd,
        again,
        unsaid,
        more_promised,
        untasted,
        praised,
        end_of_gear,
    };
    reasons.extend(reasons::reasons(case, posterior, &search, &chosen, (&changes, &rules), &near));
    let voices = reasons::rule_reasons(case, &rules, &current, &recipe, &changes, &mut reasons);
    if !case.shots.is_empty() {
        // A move is told of where it leads farther out, a recipe that stays where it is expected out.
        let out_s = match status {
            Status::Adjust => out_of_the_window_s(case, &search, at, stay),
            Status::Repeat | Status::Settled => facts::outside_the_window_s(case, expected.time_s.p50),
        };
        reasons.extend(facts::out_of_the_window(case, expected.time_s.p50, untasted).filter(|_| out_s > 1.0));
    }
    if status != Status::Settled {
        reasons.extend(facts::last_of_the_bag(case, settings));
    }
    // A move is told by what it is made for; what only counts for less, or lies at an end, comes after.
    if status == Status::Adjust {
        reasons.sort_by_key(facts::is_a_note);
    }
    let moves = beliefs::Moves {
        from: current,
        single: (changes.len() > 1).then(|| worth.choose(&search, single, 1)),
        one_lever: settings.one_lever,
    };
    let alternatives = beliefs::alternatives(&search, at, worth.reachable(), &moves);
    let tolerances = beliefs::tolerances(case, &mut search, &best_recipe);
    let tomorrow = beliefs::tomorrow(case, posterior, &recipe, day);
    let beliefs = beliefs::beliefs(case, posterior);
    Advice {
        status,
        recipe,
        changes,
        expect: expected,
        best: Best { recipe: best_recipe, liking: best_expect.liking, expect: best_expect },
        chance_near_best,
        reasons,
        alternatives,
        tolerances,
        voices,
        tomorrow,
        beliefs,
    }
}
