//! What the engine believes, for people: alternatives, tolerances, tomorrow, unknowns in plain words, taste map.

use super::answer::{Alternative, Alternatives, Tolerances, chance_near, expect};
use super::decide::{Candidate, Search, moved};
use super::{Case, Desk, Outlook, Settings, facts};
use crate::domain::{Lever, Recipe};
use crate::infer::{LN_STANDARD_TIME, Posterior, Unknown};
use crate::units::figure;

/// One belief in plain words.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    /// Stable name.
    pub id: &'static str,
    /// A plain sentence.
    pub text: String,
    /// Middle of the belief, in the unit that the sentence uses.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// How far a quantity may wander either way before mean liking drops by half a point, in the quantity's own unit. `None`
/// for a way that costs less than that as far as was looked: half the grinder's scale, 3 g of dose, 15 g of drink, 6 K.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slack {
    /// How much less.
    pub less: Option<f64>,
    /// How much more.
    pub more: Option<f64>,
}

impl Slack {
    /// The smaller of both, which holds either way; `None` only where both ways are free.
    #[must_use]
    pub fn either_way(self) -> Option<f64> {
        match (self.less, self.more) {
            (Some(less), Some(more)) => Some(less.min(more)),
            (one, other) => one.or(other),
        }
    }
}

/// Mean and spread of liking over two levers.
#[derive(Debug, Clone, PartialEq)]
pub struct TasteMap {
    /// Lever across.
    pub across: Lever,
    /// Lever upward.
    pub up: Lever,
    /// Settings across, in rising order.
    pub across_values: Vec<f64>,
    /// Settings upward, in rising order.
    pub up_values: Vec<f64>,
    /// Mean liking, row by row (one row for each upward setting).
    pub mean: Vec<f64>,
    /// Standard deviation of mean liking (pull-to-pull noise left out), in the same order.
    pub sd: Vec<f64>,
}

/// Points of liking that one cup in ten must be worse or better by, and the share of worlds that a chance must be larger by,
/// before a person is told of more or less risk or of a larger chance.
const REALLY_OTHER_LIKING: f64 = 0.1;
const REALLY_OTHER_CHANCE: f64 = 0.02;
/// Recipes that a quick look speaks for and that are then looked at closely, at most.
const CLOSE_LOOKS: usize = 12;

/// Mean of the worst fifth of worlds: a quick look at what a recipe risks, fresh noise left out.
fn low_tail(posterior: &Posterior, likings: &[f64]) -> f64 {
    let mut pairs: Vec<(f64, f64)> =
        posterior.worlds.iter().zip(likings).map(|(w, l)| (*l, w.weight)).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut sum, mut left) = (0.0, 0.2);
    for (l, w) in pairs {
        let take = w.min(left);
        sum += take * l;
        left -= take;
        if left <= 0.0 {
            break;
        }
    }
    sum / 0.2
}

/// What other recipes than the advised one are measured by.
pub(super) struct Moves {
    /// The recipe that moves are counted from.
    pub from: Recipe,
    /// Where the advice moves more levers, the best recipe that moves one.
    pub single: Option<usize>,
    /// Whether only such moves are wanted.
    pub one_lever: bool,
}

/// Other recipes within reach than the advised one, `chosen`. Each differs from the others, and what is said of it holds
/// against the advised one: the simplest moves one lever where that moves more; the cheapest has less coffee and lacks
/// little of its liking; the boldest comes near the best cup with a larger chance, but one cup in ten is worse; the safest
/// is better in one cup in ten.
pub(super) fn alternatives(
    search: &Search<'_>,
    chosen: usize,
    reachable: &[f64],
    moves: &Moves,
) -> Alternatives {
    let posterior = search.posterior;
    let levers = |recipe: &Recipe| moved(search.gear, &moves.from, recipe).len();
    let Some(own) = search.seen.get(chosen) else { return Alternatives::default() };
    let near = |likings: &[f64]| -> f64 {
        let each = posterior.worlds.iter().zip(likings).zip(reachable);
        each.map(|((w, l), top)| if top - l < 0.25 { w.weight } else { 0.0 }).sum()
    };
    let make = |index: usize, text: &str| -> Option<Alternative> {
        let recipe = search.recipe(index)?;
        Some(Alternative {
            recipe,
            expect: expect(posterior, &search.point(&recipe)),
            chance_near_best: chance_near(search, index, reachable),
            text: text.to_owned(),
        })
    };
    // Of those that a quick look gives a score, the best of which a close look says the same.
    let pick = |text: &str,
                taken: &[&Option<Alternative>],
                score: &dyn Fn(&Candidate) -> Option<f64>,
                holds: &dyn Fn(&Alternative) -> bool|
     -> Option<Alternative> {
        let mut scored: Vec<(usize, f64)> = search
            .choices()
            .filter(|at| *at != chosen)
            .filter_map(|at| Some((at, search.seen.get(at)?)))
            .filter(|(_, c)| !moves.one_lever || levers(&c.recipe) < 2)
            .filter(|(_, c)| !taken.iter().copied().flatten().any(|other| other.recipe == c.recipe))
            .filter_map(|(at, c)| Some((at, score(c)?)))
            .collect();
        scored.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        scored.into_iter().take(CLOSE_LOOKS).filter_map(|(at, _)| make(at, text)).find(|one| holds(one))
    };
    let own_low = expect(posterior, &search.point(&own.recipe)).liking.p10;
    let own_tail = low_tail(posterior, &own.likings);
    let (own_near, own_chance) = (near(&own.likings), chance_near(search, chosen, reachable));

    let single = moves.single.filter(|at| {
        search.recipe(*at).is_some_and(|recipe| search.reach.holds(&recipe) && levers(&recipe) == 1)
    });
    let simplest = single.and_then(|at| make(at, word!("advisor-beliefs-simplest")));
    let cheapest = pick(
        word!("advisor-beliefs-cheapest"),
        &[&simplest],
        &|c| {
            let as_good = c.mean > own.mean - 0.35 && c.liking > own.liking - 0.35;
            (as_good && c.recipe.dose_g < own.recipe.dose_g - 1e-9).then_some(-c.recipe.dose_g + 0.2 * c.mean)
        },
        &|_| true,
    );
    let boldest = pick(
        word!("advisor-beliefs-boldest"),
        &[&simplest, &cheapest],
        &|c| {
            let near = near(&c.likings);
            let bold = c.mean > own.mean - 0.8 && near > own_near + REALLY_OTHER_CHANCE;
            (bold && low_tail(posterior, &c.likings) < own_tail).then_some(near)
        },
        &|one| {
            one.expect.liking.p10 < own_low - REALLY_OTHER_LIKING
                && one.chance_near_best > own_chance + REALLY_OTHER_CHANCE
        },
    );
    let safest = pick(
        word!("advisor-beliefs-safest"),
        &[&simplest, &cheapest, &boldest],
        &|c| {
            let tail = low_tail(posterior, &c.likings);
            (c.mean > own.mean - 0.4 && tail > own_tail).then_some(tail)
        },
        &|one| one.expect.liking.p10 > own_low + REALLY_OTHER_LIKING,
    );
    Alternatives { simplest, cheapest, boldest, safest }
}

pub(super) fn tolerances(case: &Case, search: &mut Search<'_>, best: &Recipe) -> Tolerances {
    let centre = search.look(best);
    let top = search.seen.get(centre).map_or(0.0, |c| c.liking);
    let mut out = Tolerances::default();
    for lever in Lever::ALL {
        let Some(scale) = case.gear.scale(lever) else { continue };
        let Some(value) = best.get(lever) else { continue };
        // Off the gear's steps on purpose: things wander by less than a step.
        let edge = |sign: f64| -> Option<f64> {
            let reach = match lever {
                Lever::Grind => (scale.max() - scale.min()) * 0.5,
                Lever::Dose => 3.0,
                Lever::Yield => 15.0,
                Lever::Temperature => 6.0,
            };
            let drop = |x: f64| {
                let point = search.posterior.frame.point(&best.with(lever, value + sign * x), search.day);
                top - search.posterior.mean(&search.posterior.likings(&point))
            };
            let pieces = 14;
            let mut inside = 0.0;
            for i in 1..=pieces {
                // Finer near the recipe.
                let x = reach * (f64::from(i) / f64::from(pieces)).powi(2);
                if drop(x) >= 0.5 {
                    let (mut a, mut b) = (inside, x);
                    for _ in 0..10 {
                        let mid = 0.5 * (a + b);
                        if drop(mid) >= 0.5 { b = mid } else { a = mid }
                    }
                    return Some(0.5 * (a + b));
                }
                inside = x;
            }
            None
        };
        let slack = Slack { less: edge(-1.0), more: edge(1.0) };
        match lever {
            Lever::Grind => {
                let time = |x: f64| {
                    let point = search.posterior.frame.point(&best.with(Lever::Grind, value + x), search.day);
                    libm::exp(search.posterior.mean(&search.posterior.times(&point)))
                };
                let here = time(0.0);
                // Whichever way is finer on this grinder, a finer grind takes longer.
                for by in [slack.less.map(|less| -less), slack.more].into_iter().flatten() {
                    let change = time(by) - here;
                    // Past the setting at which a bed breaks both ways run faster: the nearer of the two holds.
                    let side = if change < 0.0 { &mut out.time_s.less } else { &mut out.time_s.more };
                    *side = Some(side.map_or(change.abs(), |other| other.min(change.abs())));
                }
            }
            Lever::Dose => out.dose_g = slack,
            Lever::Yield => out.yield_g = slack,
            Lever::Temperature => out.temperature_c = slack,
        }
    }
    out
}

/// Mean and standard deviation over the drawn worlds of what is worked out from the unknowns of each.
fn over_worlds(posterior: &Posterior, of: impl Fn(&dyn Fn(Unknown) -> f64) -> f64) -> (f64, f64) {
    let each: Vec<f64> = posterior
        .worlds
        .iter()
        .map(|world| of(&|unknown: Unknown| world.theta.get(unknown.at()).copied().unwrap_or(0.0)))
        .collect();
    posterior.spread(&each)
}

/// Change of ln time for a day of age, and how sure that is.
fn ageing(posterior: &Posterior) -> (f64, f64) {
    let (of_flow, sd) = posterior.belief(Unknown::TimeAge);
    let flowing = facts::flowing(|u| posterior.belief(u).0);
    (of_flow * flowing, sd * flowing)
}

/// What one more day of age will do to the recipe, and what to do about it.
pub(super) fn tomorrow(
    case: &Case,
    posterior: &Posterior,
    recipe: &Recipe,
    day: Option<f64>,
) -> Option<String> {
    let day = day?;
    let times = |recipe: &Recipe, day: f64| posterior.times(&posterior.frame.point(recipe, Some(day)));
    let apart =
        |later: &[f64], now: &[f64]| -> Vec<f64> { later.iter().zip(now).map(|(a, b)| a - b).collect() };
    let here = times(recipe, day);
    let (per_day, sd) = posterior.spread(&apart(&times(recipe, day + 1.0), &here));
    let now = expect(posterior, &posterior.frame.point(recipe, Some(day))).time_s.p50;
    let change = now * (libm::exp(per_day) - 1.0);
    let doubt = now * sd;

    if change.abs() < 0.1 {
        return Some(word!("advisor-beliefs-tomorrow-same").to_owned());
    }
    // How many days make up one step of the grinder against it, where its scale does not end there.
    let grind = case.gear.grind;
    let against = grind.coarser_by(recipe.grind, if change < 0.0 { -1 } else { 1 });
    let step_effect = (grind.steps_coarser(recipe.grind, against) != 0).then(|| {
        let there = times(&recipe.with(Lever::Grind, against), day);
        posterior.mean(&apart(&there, &here)).abs()
    });
    // A message chooses its words by this.
    let way = if change < 0.0 { "faster" } else { "slower" };
    let (by_s, doubt_s) = (figure(change.abs(), 1), figure(doubt, 1));
    let days = step_effect.filter(|e| *e > 1e-6).map(|effect| effect / per_day.abs());
    Some(match days {
        Some(days) if days <= 1.2 => say!(
            "advisor-beliefs-tomorrow-steps",
            way = way,
            by_s = by_s,
            doubt_s = doubt_s,
            steps = (1.0 / days).round().max(1.0)
        ),
        Some(days) if days < 30.0 => say!(
            "advisor-beliefs-tomorrow-days",
            way = way,
            by_s = by_s,
            doubt_s = doubt_s,
            days = figure(days, 0)
        ),
        _ => say!("advisor-beliefs-tomorrow", way = way, by_s = by_s, doubt_s = doubt_s),
    })
}

pub(super) fn beliefs(case: &Case, posterior: &Posterior) -> Vec<Belief> {
    let mut out = Vec::new();
    let strength = posterior.belief(Unknown::LnIdealStrength);
    let mean = libm::exp(strength.0);
    out.push(Belief {
        id: "drinker.strength",
        text: say!(
            "advisor-beliefs-strength",
            mean = figure(mean, 1),
            low = figure(libm::exp(strength.0 - strength.1), 1),
            high = figure(libm::exp(strength.0 + strength.1), 1)
        ),
        mean,
        sd: mean * strength.1,
    });
    let (ideal, sd) = posterior.belief(Unknown::IdealExtraction);
    out.push(Belief {
        id: "drinker.extraction",
        text: say!("advisor-beliefs-extraction", ideal = figure(ideal, 1), sd = figure(sd, 1)),
        mean: ideal,
        sd,
    });
    // One step of the grinder, in percent of time at the standard time.
    let scale = case.gear.grind.scale;
    let step = scale.step();
    // In each world, since exponent and size are known together far better than each by itself.
    let (per_step, per_step_sd) = over_worlds(posterior, |of| step * facts::per_unit(of));
    out.push(Belief {
        id: "grinder.step",
        text: say!(
            "advisor-beliefs-step",
            percent = figure(100.0 * per_step, 0),
            sd = figure(100.0 * per_step_sd, 0)
        ),
        mean: 100.0 * per_step,
        sd: 100.0 * per_step_sd,
    });
    let (age, age_sd) = ageing(posterior);
    out.push(Belief {
        id: "bag.ageing",
        text: say!(
            "advisor-beliefs-ageing",
            way = if age < 0.0 { "faster" } else { "slower" },
            percent = figure(100.0 * age.abs(), 1),
            sd = figure(100.0 * age_sd, 1)
        ),
        mean: 100.0 * age,
        sd: 100.0 * age_sd,
    });
    // On the clock: a share of the time passes whatever the bed does.
    let (onset, onset_sd) = over_worlds(posterior, |of| {
        let flowing = facts::flowing(of);
        libm::log(
            (1.0 - flowing) * libm::exp(LN_STANDARD_TIME) + flowing * libm::exp(of(Unknown::UnevenOnset)),
        )
    });
    out.push(Belief {
        id: "bag.uneven",
        text: say!(
            "advisor-beliefs-uneven",
            onset_s = figure(libm::exp(onset), 0),
            low_s = figure(libm::exp(onset - onset_sd), 0),
            high_s = figure(libm::exp(onset + onset_sd), 0)
        ),
        mean: libm::exp(onset),
        sd: libm::exp(onset) * onset_sd,
    });
    let (top, top_sd) = posterior.belief(Unknown::TopLiking);
    out.push(Belief {
        id: "bag.top",
        text: say!("advisor-beliefs-top", top = figure(top, 1), sd = figure(top_sd, 1)),
        mean: top,
        sd: top_sd,
    });
    for (shot, sound) in case.shots.iter().zip(&posterior.sound) {
        if *sound < 0.3 && !shot.choked {
            out.push(Belief {
                id: "pull.spoiled",
                text: say!(
                    "advisor-beliefs-spoiled",
                    n = shot.label,
                    in_100 = figure(100.0 * (1.0 - sound), 0)
                ),
                mean: 1.0 - sound,
                sd: 0.0,
            });
        }
    }
    out
}

pub(super) fn taste_map(desk: &Desk, case: &Case, settings: &Settings, across: Lever, up: Lever) -> TasteMap {
    let outlook = Outlook::of(desk, case, settings);
    let centre = desk.advise(case, settings).best.recipe;
    let values = |lever: Lever| {
        let named: Vec<f64> = case.shots.iter().filter_map(|shot| shot.recipe.get(lever)).collect();
        (lever, outlook.worth_showing(lever, &centre, &named))
    };
    outlook.taste_map(&centre, values(across), values(up))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advisor::samples::{FIRST, believed, gear};

    /// Whatever is advised, also what is pulled to find out more: other ideas differ from it and from each other, and what is
    /// said of each holds.
    #[test]
    fn whatever_is_advised_other_ideas_hold_against_it() {
        let gear = gear();
        let mut told = [0; 4];
        for pulls in [&[][..], &[(15.0, 19.0, 4)], &[(15.0, 19.0, 4), (13.0, 25.0, 6), (12.0, 29.0, 7)]] {
            let posterior = believed(&gear, pulls);
            let mut search = Search::new(&posterior, &gear, None, None);
            search.run(&[FIRST]);
            let single = search.best_single(&FIRST, &Lever::ALL);
            let reachable = search.reachable();
            let low = |at: usize| expect(&posterior, &search.point(&search.seen[at].recipe)).liking.p10;
            let near = |at: usize| -> f64 {
                let each = posterior.worlds.iter().zip(&search.seen[at].likings).zip(&reachable);
                each.filter(|((_, own), top)| **top - **own < 0.25).map(|((world, _), _)| world.weight).sum()
            };
            let advised: Vec<usize> = search.choices().step_by(23).collect();
            for chosen in advised {
                let levers = |at: usize| moved(&gear, &FIRST, &search.seen[at].recipe).len();
                let several = levers(chosen) > 1;
                let moves = Moves { from: FIRST, single: several.then_some(single), one_lever: false };
                let ideas = alternatives(&search, chosen, &reachable, &moves);
                let place = |idea: &Option<Alternative>| {
                    idea.as_ref().and_then(|i| search.seen.iter().position(|c| c.recipe == i.recipe))
                };
                let all = [&ideas.simplest, &ideas.cheapest, &ideas.boldest, &ideas.safest];
                let places = all.map(place);
                let [simplest, cheapest, boldest, safest] = places;
                let all: Vec<usize> = places.into_iter().flatten().chain([chosen]).collect();
                let what = format!("{} pulls: {chosen} {places:?}", pulls.len());
                assert!((1..all.len()).all(|at| !all[..at].contains(&all[at])), "told twice, {what}");
                for (n, place) in told.iter_mut().zip(places) {
                    *n += u32::from(place.is_some());
                }
                let own = &search.seen[chosen];
                if let Some(one) = simplest {
                    assert!(levers(one) == 1 && several, "{what}");
                }
                if let Some(less) = cheapest.map(|at| &search.seen[at]) {
                    assert!(less.recipe.dose_g < own.recipe.dose_g, "{what}");
                    assert!(less.mean > own.mean - 0.35 && less.liking > own.liking - 0.35, "{what}");
                }
                if let Some(at) = boldest {
                    assert!(low(at) < low(chosen), "no more risk: {} {}, {what}", low(at), low(chosen));
                    assert!(near(at) > near(chosen), "no larger chance: {what}");
                    let chance = |at| chance_near(&search, at, &reachable);
                    assert!(chance(at) > chance(chosen), "no larger chance: {what}");
                }
                if let Some(at) = safest {
                    assert!(low(at) > low(chosen), "no less risk: {} {}, {what}", low(at), low(chosen));
                }
            }
        }
        assert!(told.iter().all(|n| *n > 0), "each is told of now and then: {told:?}");
    }
}
