//! What a pull is worth: its own cup, the chance that it is as good as any, what it may find for the cups after it, and
//! what it asks of the person.

use super::answer::Toward;
use super::decide::{Candidate, Search, moved};
use super::facts::{self, RuleVoice};
use super::{Case, Settings, reach};
use crate::domain::{Lever, Recipe};
use crate::maths::lanes::{self, Lanes};
use crate::maths::real::Real;

/// Weight of the chance that a pull comes near the best where no pull before it did.
const FIRST_HIT: f64 = 3.0;
/// What every lever beyond the first must promise.
const LEVER_COST: f64 = 0.15;
/// What all four at once must promise besides, while there are pulls to come: no cup can say what has done what.
const ALL_FOUR_COST: f64 = 0.35;
/// What moving the dose must promise where one lever is wanted at a time: the basket sets it, and the other levers are
/// moved first (common practice, no source).
const DOSE_LAST: f64 = 0.3;
/// What a usual move of dose, ratio or temperature must promise, and four times that for twice the move.
const INERTIA: f64 = 0.02;

/// Most pulls to come that what a pull may find is worth something for.
const MOST_PULLS: u32 = 6;
/// Weight of what a pull may find, for each pull that the person will still spend.
const DISCOVERY: f64 = 0.67;
/// Least gain that moves a person's own recipe before anything has been tasted.
const FIRST_GAIN: f64 = 0.15;
/// Largest loss of mean liking that finding out may cost.
const BOLDEST: f64 = 1.0;

/// What a move after a cup that is as it should be must gain, or one too small to be tasted.
const WORTH_A_SMALL_MOVE: f64 = 0.05;

/// How far (ln time) out of a named window a pull may be expected to run after one that kept it; not at all where the window
/// itself is out of the usual, since who named it knows the style better than the trade.
const OUT_OF_THE_WINDOW: f64 = 0.2;

/// What a lever may be worth and still be left where it is, so that fewer things change at once.
const TRIFLE: f64 = 0.01;

/// Chance in each world that a recipe with these likings is within half a point of the best, `tops`, the search's own
/// coarseness included.
fn close(likings: &[f64], tops: &[f64]) -> Vec<f64> {
    let far = likings.iter().zip(tops).map(|(own, top)| (0.5 - (top - own)) / 0.15);
    lanes::each(far, Lanes::normal_cdf)
}

/// Weighs the recipes of a search as the next pull.
pub(super) struct Worth<'a> {
    case: &'a Case,
    settings: &'a Settings,
    rules: &'a RuleVoice,
    current: Recipe,
    stay: usize,
    best: usize,
    /// Liking of the best recipe seen, per world.
    reachable: Vec<f64>,
    /// Chance, per world, that no pull so far came near the best.
    missed: Vec<f64>,
    /// Which way the clock of a style of its own asks for, where it comes first.
    clock: Option<Toward>,
    /// Pulls that may follow the next one: as many as the person will spend, and the coffee allows.
    to_come: u32,
}

impl<'a> Worth<'a> {
    /// `stay` is the current recipe, `best` has the largest mean liking of the search; `pulled` are the recipes that gave
    /// a cup so far.
    pub fn new(
        case: &'a Case,
        settings: &'a Settings,
        search: &Search<'_>,
        rules: &'a RuleVoice,
        current: Recipe,
        (stay, best): (usize, usize),
        pulled: &[usize],
    ) -> Self {
        let reachable = search.reachable();
        let mut missed = vec![1.0; reachable.len()];
        for candidate in pulled.iter().filter_map(|at| search.seen.get(*at)) {
            for (m, close) in missed.iter_mut().zip(close(&candidate.likings, &reachable)) {
                *m *= 1.0 - close;
            }
        }
        let willing = settings.pulls_willing.min(MOST_PULLS);
        let to_come = case.pulls_left().map_or(willing, |left| willing.min(left.saturating_sub(1)));
        let clock = reach::off_the_clock(case, search.posterior).filter(|_| facts::of_its_own_style(case));
        let clock = clock.map(|(toward, _)| toward);
        Self { case, settings, rules, current, stay, best, reachable, missed, clock, to_come }
    }

    /// Liking of the best recipe seen, per world.
    pub fn reachable(&self) -> &[f64] {
        &self.reachable
    }

    /// Chance that a recipe comes near the best, and the chance that it is the first to do so.
    fn chances(&self, search: &Search<'_>, candidate: &Candidate) -> (f64, f64) {
        let worlds = &search.posterior.worlds;
        let each = worlds.iter().zip(close(&candidate.likings, &self.reachable)).zip(&self.missed);
        each.fold((0.0, 0.0), |(near, first), ((world, close), missed)| {
            let chance = world.weight * close;
            (near + chance, first + missed * chance)
        })
    }

    /// Expected improvement of a recipe over the best one.
    fn better(&self, search: &Search<'_>, candidate: &Candidate) -> f64 {
        let Some(best) = search.seen.get(self.best) else { return 0.0 };
        let worlds = &search.posterior.worlds;
        let each = worlds.iter().zip(candidate.likings.iter().zip(&best.likings));
        each.map(|(world, (own, best))| world.weight * (own - best).max(0.0)).sum()
    }

    /// Share of the pulls that the person would spend on dialling in for which there is coffee after the next one.
    fn spared(&self) -> f64 {
        f64::from(self.to_come) / f64::from(self.settings.pulls_willing.clamp(1, MOST_PULLS))
    }

    /// What the levers that a recipe moves must promise together.
    fn lever_cost(&self, recipe: &Recipe) -> f64 {
        let levers = self.levers(recipe);
        let all_four = if levers == Lever::ALL.len() { ALL_FOUR_COST * self.spared() } else { 0.0 };
        LEVER_COST * levers.saturating_sub(1) as f64 + all_four
    }

    fn moves_dose(&self, recipe: &Recipe) -> bool {
        moved(&self.case.gear, &self.current, recipe).contains(&Lever::Dose)
    }

    fn levers(&self, recipe: &Recipe) -> usize {
        moved(&self.case.gear, &self.current, recipe).len()
    }

    /// What a recipe's mean liking lacks of the best one's.
    pub fn behind(&self, search: &Search<'_>, at: usize) -> f64 {
        let mean = |at: usize| search.seen.get(at).map_or(f64::NEG_INFINITY, |c| c.mean);
        mean(self.best) - mean(at)
    }

    /// Whether a recipe is hardly better than the current one.
    pub fn gains_little(&self, search: &Search<'_>, at: usize) -> bool {
        self.behind(search, self.stay) - self.behind(search, at) < WORTH_A_SMALL_MOVE
    }

    /// Of some recipes within reach, the one with the best mean.
    pub fn best_of(&self, search: &Search<'_>, some: &[usize]) -> Option<usize> {
        let within = |at: &&usize| search.recipe(**at).is_some_and(|recipe| search.reach.holds(&recipe));
        let some = some.iter().filter(within).copied();
        some.min_by(|a, b| self.behind(search, *a).total_cmp(&self.behind(search, *b)))
    }

    /// Worth of a recipe as the next pull, in points of liking.
    pub fn value(&self, search: &Search<'_>, at: usize) -> f64 {
        let Some(candidate) = search.seen.get(at) else { return f64::NEG_INFINITY };
        let recipe = &candidate.recipe;
        let (near, first) = self.chances(search, candidate);
        let frame = &search.posterior.frame;
        candidate.mean
            + near
            + FIRST_HIT * first * self.spared()
            + DISCOVERY * f64::from(self.to_come) * self.better(search, candidate)
            + self.rules.bonus(&self.case.gear, &self.current, recipe)
            - self.settings.cost_per_gram * recipe.dose_g
            - self.lever_cost(recipe)
            - INERTIA * facts::distance(frame, &self.current, recipe, search.day)
    }

    /// Whether a recipe is within the slips of a hand of the current one and gains nothing: nobody tastes such a move, nor
    /// learns from it.
    fn is_trifling(&self, search: &Search<'_>, at: usize) -> bool {
        let small = search.recipe(at).is_some_and(|recipe| {
            recipe != self.current && search.point(&recipe).same_but_for_slips(&search.point(&self.current))
        });
        small && self.gains_little(search, at)
    }

    /// Whether a recipe is not sent out of the window that was named where the last pull kept it, nor right through that of
    /// a style of its own where the clock comes first. A wish for a time fades with what is tasted, but nobody who named one
    /// expects to be led far from it.
    fn keeps_window(&self, search: &Search<'_>, at: usize) -> bool {
        let Some(window_s) = self.case.aim.time_window_s else { return true };
        let (from, to) = (libm::log(window_s.0.max(1.0)), libm::log(window_s.1.max(1.0)));
        let last = self.case.shots.last().and_then(crate::infer::Shot::ran_s);
        let kept = last.is_some_and(|t| (window_s.0..=window_s.1).contains(&t));
        let room = if facts::of_its_own_style(self.case) { 0.0 } else { OUT_OF_THE_WINDOW };
        let near = from - room..=to + room;
        search.seen.get(at).is_some_and(|c| match self.clock {
            _ if kept => near.contains(&c.ln_time),
            Some(Toward::Finer) => c.ln_time <= to,
            Some(_) => c.ln_time >= from,
            None => true,
        })
    }

    /// The recipe to pull next that moves at most so many levers; `single` is the best that moves one.
    pub fn choose(&self, search: &Search<'_>, single: usize, most_levers: usize) -> usize {
        let trifling = self.is_trifling(search, single) || !self.keeps_window(search, single);
        let start = if trifling { self.stay } else { single };
        let worth = |at: usize| {
            let dose = most_levers == 1 && search.recipe(at).is_some_and(|recipe| self.moves_dose(&recipe));
            self.value(search, at) - if dose { DOSE_LAST } else { 0.0 }
        };
        let start = (start, worth(start));
        let few = |at: &usize| search.seen.get(*at).is_some_and(|c| self.levers(&c.recipe) <= most_levers);
        let sound = |at: &usize| self.keeps_window(search, *at) && !self.is_trifling(search, *at);
        // Of what is left: where the window bars the best, the best within it is what finding out is measured by.
        let left = || search.choices().filter(sound);
        let least = left().map(|at| self.behind(search, at)).fold(f64::INFINITY, f64::min).max(0.0);
        let each = left().filter(|at| self.behind(search, *at) < least + BOLDEST && few(at));
        let better = each.fold(start, |top, at| {
            let value = worth(at);
            if value > top.1 + 1e-9 { (at, value) } else { top }
        });
        better.0
    }

    /// Of `kept`, recipes like the one at `choice` but with one lever left where it is, the one worth most; `None` where
    /// each of them loses more than a trifle.
    pub fn simpler(&self, search: &Search<'_>, choice: usize, kept: &[usize]) -> Option<usize> {
        let least = self.value(search, choice) - TRIFLE;
        kept.iter()
            .map(|at| (*at, self.value(search, *at)))
            .filter(|(at, value)| {
                *value >= least && !self.is_trifling(search, *at) && self.keeps_window(search, *at)
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(at, _)| at)
    }

    /// Before any cup was tasted: the person's own recipe stands unless one lever, moved for a reason of the trade,
    /// promises more. Exploring can wait for evidence.
    pub fn first(&self, search: &Search<'_>, single: usize, stay: usize) -> usize {
        let plain = |at: usize| {
            search.seen.get(at).map_or(f64::NEG_INFINITY, |c| {
                c.mean
                    + self.chances(search, c).0
                    + self.rules.bonus(&self.case.gear, &self.current, &c.recipe)
            })
        };
        let stays = search.recipe(stay).is_some_and(|recipe| search.reach.holds(&recipe));
        if !stays || plain(single) - plain(stay) > FIRST_GAIN { single } else { stay }
    }
}
