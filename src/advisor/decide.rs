//! The search over the gear's own grid: a coarse lattice first, then pattern moves in the gear's own steps around the
//! best, every recipe judged by its liking in every drawn world.

use super::answer::mixture_quantile;
use super::reach::Reach;
use crate::domain::{Gear, Lever, Recipe, Scale};
use crate::infer::{Frame, Point, Posterior};

/// A recipe with its liking in every world.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub recipe: Recipe,
    /// Liking per world.
    pub likings: Vec<f64>,
    /// Mean over worlds.
    pub mean: f64,
    /// The same without what a wished-for time takes away.
    pub liking: f64,
    /// Mean of ln time (s).
    pub ln_time: f64,
}

/// Times (s) within which most people like their espresso (common practice, no source).
pub(super) const USUAL_TIME_S: (f64, f64) = (20.0, 36.0);

/// Whether the middle of a window (s) lies outside the usual times: then it is that of a style that its owner knows better than
/// the trade, and what the clock goes by. One amid the usual times asks for nothing that taste does not ask for as well.
pub(super) fn is_of_its_own_style((from, to): (f64, f64)) -> bool {
    let (short, long) = USUAL_TIME_S;
    !(short * short..=long * long).contains(&(from * to))
}

/// Points of liking lost per unit of ln time outside the window, and at most.
const WINDOW_SLOPE: f64 = 1.75;
const WINDOW_DEEPEST: f64 = 0.7;
/// The same beyond that for a style of its own: who names one is to be led there, from however far.
const WINDOW_BEYOND: f64 = 0.7;
/// How fast the wish for a time fades: two tasted pulls halve it.
const WISH_FADES: f64 = 0.5;

/// Points of liking below the best at a glance beyond which a recipe is not looked at: far more than one glance in a
/// quarter of the worlds is off, and than any pull may cost.
const HOPELESS: f64 = 3.5;

/// All recipes looked at so far.
pub(super) struct Search<'a> {
    pub posterior: &'a Posterior,
    pub gear: &'a Gear,
    pub day: Option<f64>,
    /// Wished-for times, ln s.
    ln_window: (f64, f64),
    /// Whether they are of a style of its own.
    own_style: bool,
    /// What is left of the wish for that time, 0–1: what has been tasted outvotes it by and by.
    wish: f64,
    pub seen: Vec<Candidate>,
    /// What the next pull may be; what has been pulled may lie outside.
    pub reach: Reach,
    keys: std::collections::BTreeMap<[usize; 4], usize>,
    /// Grinder settings that can make sense, once they were asked for.
    free: std::cell::OnceCell<(f64, f64)>,
}

fn key(gear: &Gear, recipe: &Recipe) -> [usize; 4] {
    [
        gear.grind.scale.index_of(recipe.grind),
        gear.dose_g.index_of(recipe.dose_g),
        gear.yield_g.index_of(recipe.yield_g),
        match (gear.temperature_c, recipe.temperature_c) {
            (Some(scale), Some(t)) => scale.index_of(t),
            _ => 0,
        },
    ]
}

/// `count` settings spread evenly over part of a scale, ends included, without repeats.
fn spread(scale: &Scale, from: f64, to: f64, count: usize) -> Vec<f64> {
    let (a, b) = (scale.index_of(from.min(to)), scale.index_of(from.max(to)));
    let steps = (b - a).min(count.saturating_sub(1)).max(1);
    let mut out: Vec<f64> = (0..=steps)
        .map(|i| scale.at(a + ((b - a) as f64 * i as f64 / steps as f64).round() as usize))
        .collect();
    out.dedup();
    out
}

impl<'a> Search<'a> {
    pub fn new(
        posterior: &'a Posterior,
        gear: &'a Gear,
        day: Option<f64>,
        window: Option<(f64, f64)>,
    ) -> Self {
        let tasted = posterior.observed.iter().filter(|o| o.liking.is_some()).count();
        let (from, to) = window.unwrap_or(USUAL_TIME_S);
        Self {
            posterior,
            gear,
            day,
            ln_window: (libm::log(from.max(1.0)), libm::log(to.max(1.0))),
            own_style: window.is_some_and(is_of_its_own_style),
            wish: 1.0 / (1.0 + WISH_FADES * tasted as f64),
            reach: Reach::all(gear),
            seen: Vec::new(),
            keys: std::collections::BTreeMap::new(),
            free: std::cell::OnceCell::new(),
        }
    }

    pub fn point(&self, recipe: &Recipe) -> Point {
        self.posterior.frame.point(recipe, self.day)
    }

    /// Index of the candidate for a recipe, judged on first sight.
    pub fn look(&mut self, recipe: &Recipe) -> usize {
        let recipe = self.gear.snap(recipe);
        let key = key(self.gear, &recipe);
        if let Some(index) = self.keys.get(&key) {
            return *index;
        }
        let (mut likings, times) = self.posterior.imagined(&self.point(&recipe));
        let liking = self.posterior.mean(&likings);
        for (slot, ln_time) in likings.iter_mut().zip(&times) {
            *slot -= self.wish_denied(*ln_time);
        }
        let mean = self.posterior.mean(&likings);
        let ln_time = self.posterior.mean(&times);
        self.seen.push(Candidate { recipe, likings, mean, liking, ln_time });
        self.keys.insert(key, self.seen.len() - 1);
        self.seen.len() - 1
    }

    /// Points of liking that a time takes away by not being the one wished for. A time window is a wish, not a law; nor is
    /// the trade's own, which stands in where none was given.
    fn wish_denied(&self, ln_time: f64) -> f64 {
        let (from, to) = self.ln_window;
        let outside = (from - ln_time).max(ln_time - to).max(0.0);
        let denied = (WINDOW_SLOPE * outside).min(WINDOW_DEEPEST);
        let beyond = if self.own_style { outside - denied / WINDOW_SLOPE } else { 0.0 };
        self.wish * (denied + WINDOW_BEYOND * beyond)
    }

    /// The mean liking of a recipe at a glance, without what each world guesses of its own.
    fn glance(&self, recipe: &Recipe) -> f64 {
        let (liking, ln_time) = self.posterior.glance(&self.point(recipe));
        liking - self.wish_denied(ln_time)
    }

    /// Settings of the grinder that can make sense: mean time within 11–60 s at the reference dose and yield, or the
    /// whole scale where the grinder is hardly known.
    fn grind_window(&self) -> (f64, f64) {
        let (a, b) = *self.free.get_or_init(|| self.free_window());
        let (low, high) = self.reach.grind;
        (a.clamp(low, high), b.clamp(low, high))
    }

    fn free_window(&self) -> (f64, f64) {
        let scale = self.gear.grind.scale;
        let frame: &Frame = &self.posterior.frame;
        let (low, high) = (libm::log(11.0), libm::log(60.0));
        let inside = |grind: f64| {
            let recipe = Recipe {
                grind,
                dose_g: frame.dose_g,
                yield_g: frame.yield_g,
                temperature_c: Some(frame.temperature_c),
            };
            let point = frame.point(&recipe, self.day);
            let t = self.posterior.mean(&self.posterior.times(&point));
            t > low && t < high
        };
        let steps = 48.min(scale.count());
        let settings = spread(&scale, scale.min(), scale.max(), steps);
        let good: Vec<f64> = settings.iter().copied().filter(|g| inside(*g)).collect();
        match (good.first(), good.last()) {
            (Some(a), Some(b)) => (*a, *b),
            _ => (scale.min(), scale.max()),
        }
    }

    /// Recipes all over what the gear can do and makes sense.
    fn lattice(&self) -> Vec<Recipe> {
        let gear = self.gear;
        let (finest, coarsest) = self.grind_window();
        let grinds = spread(&gear.grind.scale, finest, coarsest, 8);
        let doses = spread(&gear.dose_g, gear.dose_g.min(), gear.dose_g.max(), 3);
        let yields = spread(&gear.yield_g, gear.yield_g.min(), gear.yield_g.max(), 6);
        let temperatures: Vec<Option<f64>> = gear
            .temperature_c
            .map_or_else(|| vec![None], |s| spread(&s, s.min(), s.max(), 3).into_iter().map(Some).collect());
        let mut out = Vec::with_capacity(grinds.len() * doses.len() * yields.len() * temperatures.len());
        for grind in grinds {
            for dose_g in &doses {
                for yield_g in &yields {
                    for temperature_c in &temperatures {
                        let (dose_g, yield_g, temperature_c) = (*dose_g, *yield_g, *temperature_c);
                        out.push(Recipe { grind, dose_g, yield_g, temperature_c });
                    }
                }
            }
        }
        out
    }

    /// Looks over the lattice, at recipes without hope only at a glance, then refines. Returns the index of the best mean.
    pub fn run(&mut self, anchors: &[Recipe]) -> usize {
        let glances: Vec<(Recipe, f64)> =
            self.lattice().into_iter().map(|recipe| (recipe, self.glance(&recipe))).collect();
        let top = glances.iter().map(|(_, liking)| *liking).fold(f64::NEG_INFINITY, f64::max);
        for (recipe, _) in glances.iter().filter(|(_, liking)| *liking >= top - HOPELESS) {
            self.look(recipe);
        }
        for anchor in anchors {
            self.look(anchor);
        }
        // Something within reach is always looked at.
        if let Some(first) = anchors.first() {
            self.look(&self.nearest_in_reach(first));
        }
        let mut order: Vec<usize> = self.choices().collect();
        order.sort_by(|a, b| self.mean(*b).total_cmp(&self.mean(*a)).then(a.cmp(b)));
        let mut best = order.first().copied().unwrap_or(0);
        for start in order.into_iter().take(2) {
            let end = self.climb(start);
            if self.mean(end) > self.mean(best) {
                best = end;
            }
        }
        best
    }

    /// The recipe at an index.
    pub fn recipe(&self, index: usize) -> Option<Recipe> {
        self.seen.get(index).map(|c| c.recipe)
    }

    /// A recipe with its grind, dose and yield brought within reach.
    fn nearest_in_reach(&self, recipe: &Recipe) -> Recipe {
        let (low, high) = self.reach.grind;
        let dose = self.gear.dose_g;
        let yield_g = recipe.yield_g.max(self.reach.yield_g.0).min(self.reach.yield_g.1);
        let near = recipe.with(Lever::Grind, recipe.grind.clamp(low, high)).with(Lever::Yield, yield_g);
        let mut near = self.gear.snap(&near);
        while near.dose_g > self.reach.dose_g.1 {
            let Some(less) = stepped(&near, Lever::Dose, &dose, -1) else { break };
            near = less;
        }
        near
    }

    /// Candidates that the next pull may be.
    pub fn choices(&self) -> impl Iterator<Item = usize> {
        self.seen.iter().enumerate().filter(|(_, c)| self.reach.holds(&c.recipe)).map(|(at, _)| at)
    }

    /// Mean liking of a candidate.
    pub fn mean(&self, index: usize) -> f64 {
        self.seen.get(index).map_or(f64::NEG_INFINITY, |c| c.mean)
    }

    fn scales(&self) -> Vec<(Lever, Scale)> {
        Lever::ALL.iter().filter_map(|l| self.gear.scale(*l).map(|s| (*l, s))).collect()
    }

    /// Pattern search from a candidate, in strides of the gear's own steps that halve until single steps are left.
    pub fn climb(&mut self, start: usize) -> usize {
        let scales = self.scales();
        let (finest, coarsest) = self.grind_window();
        let mut strides: Vec<i64> = scales
            .iter()
            .map(|(lever, scale)| {
                let span = match lever {
                    Lever::Grind => scale.steps_between(finest, coarsest).abs(),
                    _ => scale.count() as i64 - 1,
                };
                let parts = match lever {
                    Lever::Grind | Lever::Yield => 14,
                    _ => 5,
                };
                (span / parts).max(1)
            })
            .collect();
        let mut here = start;
        let mut rounds = 0;
        loop {
            rounds += 1;
            let mut best = here;
            let Some(recipe) = self.seen.get(here).map(|c| c.recipe) else { return here };
            for ((lever, scale), stride) in scales.iter().zip(&strides) {
                for sign in [-1, 1] {
                    if let Some(next) = stepped(&recipe, *lever, scale, sign * stride)
                        && self.reach.holds(&next)
                    {
                        let at = self.look(&next);
                        if self.mean(at) > self.mean(best) + 1e-9 {
                            best = at;
                        }
                    }
                }
            }
            if best != here {
                here = best;
            } else if strides.iter().all(|s| *s == 1) || rounds > 60 {
                return here;
            } else {
                for s in &mut strides {
                    *s = (*s / 2).max(1);
                }
            }
        }
    }

    /// Best recipe within reach that differs from `from` in one of `levers` only; the nearest within reach where there is
    /// none.
    pub fn best_single(&mut self, from: &Recipe, levers: &[Lever]) -> usize {
        let stay = self.look(&self.nearest_in_reach(from));
        let mut best = stay;
        let (finest, coarsest) = self.grind_window();
        for (lever, scale) in self.scales().into_iter().filter(|(lever, _)| levers.contains(lever)) {
            let (a, b) = match lever {
                Lever::Grind => (finest, coarsest),
                _ => (scale.min(), scale.max()),
            };
            let mut own = stay;
            for value in spread(&scale, a, b, 9) {
                let next = from.with(lever, value);
                if !self.reach.holds(&next) {
                    continue;
                }
                let at = self.look(&next);
                if self.mean(at) > self.mean(own) {
                    own = at;
                }
            }
            // Single steps around the best of this lever.
            for _ in 0..8 {
                let Some(recipe) = self.seen.get(own).map(|c| c.recipe) else { break };
                if !differs_only(self.gear, from, &recipe, lever) {
                    break;
                }
                let before = own;
                for stride in [-3, -1, 1, 3] {
                    if let Some(next) = stepped(&recipe, lever, &scale, stride)
                        && self.reach.holds(&next)
                    {
                        let at = self.look(&next);
                        if self.mean(at) > self.mean(own) {
                            own = at;
                        }
                    }
                }
                if own == before {
                    break;
                }
            }
            if self.mean(own) > self.mean(best) {
                best = own;
            }
        }
        best
    }

    /// ln of the time (s) that half of the pulls of a recipe are expected to stay under.
    fn middle_ln_time(&self, recipe: &Recipe) -> f64 {
        let worlds = self.posterior.worlds.iter();
        let times = self.posterior.times(&self.point(recipe));
        let parts: Vec<_> =
            worlds.zip(times).map(|(world, t)| (world.weight, t, self.posterior.noise.ln_time)).collect();
        mixture_quantile(&parts, 0.5)
    }

    /// The candidate at `start` where it is expected within the window; else one like it, but with `lever` moved as little as
    /// leads into its middle third, or as near to that as it goes.
    pub fn in_time(&mut self, start: usize, lever: Lever) -> usize {
        let Some((first, scale)) = self.recipe(start).zip(self.gear.scale(lever)) else { return start };
        let (from, to) = self.ln_window;
        let edge = (to - from).max(0.0) / 3.0;
        let off_the_middle = |ln_time: f64| (from + edge - ln_time).max(ln_time - (to - edge)).max(0.0);
        let (mut here, mut ln_time) = (first, self.middle_ln_time(&first));
        if (from..=to).contains(&ln_time) {
            return start;
        }
        let mut stride = (scale.count() as i64 / 8).max(1);
        loop {
            let each = [-stride, stride].into_iter().filter_map(|steps| stepped(&here, lever, &scale, steps));
            let each =
                each.filter(|next| self.reach.holds(next)).map(|next| (next, self.middle_ln_time(&next)));
            let nearest = each.min_by(|a, b| off_the_middle(a.1).total_cmp(&off_the_middle(b.1)));
            match nearest.filter(|(_, t)| off_the_middle(*t) < off_the_middle(ln_time) - 1e-9) {
                Some(nearer) => (here, ln_time) = nearer,
                None if stride == 1 => return self.look(&here),
                None => stride /= 2,
            }
        }
    }

    /// Recipes like the one at `index` but with one of the levers that differ from `current` left there; none where only
    /// one differs.
    pub fn with_one_less(&mut self, index: usize, current: &Recipe) -> Vec<usize> {
        let Some(recipe) = self.recipe(index) else { return Vec::new() };
        let levers = moved(self.gear, current, &recipe);
        if levers.len() < 2 {
            return Vec::new();
        }
        let one_less = |lever: &Lever| current.get(*lever).map(|value| recipe.with(*lever, value));
        let mut left: Vec<Recipe> = levers.iter().filter_map(one_less).collect();
        left.retain(|recipe| self.reach.holds(recipe));
        left.iter().map(|recipe| self.look(recipe)).collect()
    }

    /// For each world, liking of the best recipe seen.
    pub fn reachable(&self) -> Vec<f64> {
        let mut best = vec![f64::NEG_INFINITY; self.posterior.worlds.len()];
        for candidate in &self.seen {
            for (slot, v) in best.iter_mut().zip(&candidate.likings) {
                *slot = slot.max(*v);
            }
        }
        best
    }
}

/// The recipe with one lever moved by a number of its own steps; `None` at the end of the scale.
pub(super) fn stepped(recipe: &Recipe, lever: Lever, scale: &Scale, steps: i64) -> Option<Recipe> {
    let value = recipe.get(lever)?;
    let from = scale.index_of(value) as i64;
    let to = (from + steps).clamp(0, scale.count() as i64 - 1);
    (to != from).then(|| recipe.with(lever, scale.at(usize::try_from(to).unwrap_or(0))))
}

/// Levers in which two recipes differ on this gear.
pub(super) fn moved(gear: &Gear, from: &Recipe, to: &Recipe) -> Vec<Lever> {
    key(gear, from)
        .iter()
        .zip(key(gear, to))
        .zip(Lever::ALL)
        .filter(|((a, b), _)| **a != *b)
        .map(|(_, lever)| lever)
        .collect()
}

fn differs_only(gear: &Gear, from: &Recipe, to: &Recipe, lever: Lever) -> bool {
    moved(gear, from, to).iter().all(|l| *l == lever)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advisor::samples::{FIRST, believed, gear};

    /// What a glance leaves out holds nothing better than what was found, and after some pulls it leaves out most.
    #[test]
    fn nothing_better_hides_in_what_a_glance_leaves_out() {
        let gear = gear();
        let all = [(15.0, 19.0, 4), (13.0, 25.0, 6), (12.0, 29.0, 7), (12.0, 30.0, 7), (10.0, 41.0, 4)];
        for pulls in [0, 1, 2, all.len()] {
            let posterior = believed(&gear, &all[..pulls]);
            let mut search = Search::new(&posterior, &gear, None, None);
            let best = search.run(&[FIRST]);
            let found = search.mean(best);
            let lattice = search.lattice();
            let left_out = lattice.iter().filter(|r| !search.keys.contains_key(&key(&gear, r))).count();
            for recipe in &lattice {
                let at = search.look(recipe);
                let (own, glanced) = (search.mean(at), search.glance(recipe));
                assert!(own <= found + 1e-9, "{pulls} pulls: {own} over {found} at {recipe:?}");
                assert!((own - glanced).abs() < 0.5 * HOPELESS, "{pulls} pulls: {own} and {glanced}");
            }
            if pulls == all.len() {
                assert!(left_out > lattice.len() / 2, "{left_out} of {}", lattice.len());
            }
        }
    }
}
