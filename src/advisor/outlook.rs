//! What any recipe would give, cheaply: the beliefs after a case's pulls held ready, so that a lever can be dragged and
//! the expectation follows within a frame.

use super::answer::{Expect, Tolerances, expect, next_day};
use super::beliefs;
use super::decide::Search;
use super::hear::{Heard, hear};
use super::{Case, Desk, Settings, TasteMap};
use crate::domain::{Gear, Lever, Recipe};
use crate::infer::{Point, Posterior};

/// Mean liking of a recipe and how sure that mean is (pull-to-pull noise left out).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Mean liking, 1–9.
    pub mean: f64,
    /// Standard deviation of that mean.
    pub sd: f64,
}

/// The beliefs after the pulls of one case. It gives the same expectation as the advice does.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    posterior: Posterior,
    case: Case,
    day: Option<f64>,
}

/// Settings of a lever that a map shows at most.
const MOST_SETTINGS: usize = 31;
/// Times between which a grinder's setting is worth showing, seconds (common practice, no source).
const SHOWN_TIME_S: (f64, f64) = (9.0, 65.0);

impl Outlook {
    /// Works the beliefs out: some milliseconds.
    #[must_use]
    pub fn new(case: &Case, settings: &Settings) -> Self {
        Self::of(&Desk::new(case), case, settings)
    }

    /// The same with the bag's desk at hand.
    #[must_use]
    pub fn of(desk: &Desk, case: &Case, settings: &Settings) -> Self {
        let full = case.filled_in();
        let case = full.as_ref().unwrap_or(case);
        let turned = desk.turned(case);
        let (desk, case) = turned.as_ref().map_or((desk, case), |(desk, case)| (desk, case));
        let Heard { posterior, changed, .. } = hear(desk, case, settings);
        let case = changed.map_or_else(|| case.clone(), |(_, case)| case);
        Self { posterior, day: next_day(&case), case }
    }

    /// What can be set.
    #[must_use]
    pub fn gear(&self) -> &Gear {
        &self.case.gear
    }

    /// What to expect of a recipe pulled next, pull-to-pull noise included.
    #[must_use]
    pub fn expect(&self, recipe: &Recipe) -> Expect {
        expect(&self.posterior, &self.point(recipe))
    }

    /// Mean liking of a recipe pulled next.
    #[must_use]
    pub fn standing(&self, recipe: &Recipe) -> Standing {
        let point = self.point(recipe);
        let (weights, spare) = self.posterior.discrepancy_weights(&point);
        let likings = self.posterior.likings_with(&point, &weights);
        let (mean, sd) = self.posterior.spread(&likings);
        Standing { mean: mean.clamp(1.0, 9.0), sd: sd.hypot(spare) }
    }

    /// Median time of a recipe, seconds.
    fn time_s(&self, recipe: &Recipe) -> f64 {
        let point = self.point(recipe);
        libm::exp(self.posterior.mean(&self.posterior.times(&point)))
    }

    /// Settings of a lever that are worth a look around `centre`: for the grind those that run neither as a gusher nor
    /// for ever, and what is named in `keep`; for the others the whole scale. In rising order, at most 31; the middle of
    /// the posterior's own temperature alone where none can be set.
    #[must_use]
    pub fn worth_showing(&self, lever: Lever, centre: &Recipe, keep: &[f64]) -> Vec<f64> {
        let Some(scale) = self.case.gear.scale(lever) else {
            return vec![self.posterior.frame.temperature_c];
        };
        let last = scale.count() - 1;
        let (mut from, mut to) = (0, last);
        if lever == Lever::Grind {
            let stride = last.div_ceil(120).max(1);
            let inside = |at: &usize| {
                let t = self.time_s(&centre.with(Lever::Grind, scale.at(*at)));
                t >= SHOWN_TIME_S.0 && t <= SHOWN_TIME_S.1
            };
            let seen: Vec<usize> = (0..=last).step_by(stride).filter(inside).collect();
            let here = scale.index_of(centre.grind);
            from = seen.first().copied().unwrap_or(here).min(here);
            to = seen.last().copied().unwrap_or(here).max(here);
            for value in keep {
                let at = scale.index_of(*value);
                (from, to) = (from.min(at), to.max(at));
            }
            // Never so narrow that it is no map.
            let least = 8.min(last);
            while to - from < least {
                from = from.saturating_sub(1);
                to = (to + 1).min(last);
            }
        }
        let shown = (to - from + 1).min(MOST_SETTINGS);
        let mut out: Vec<f64> = (0..shown)
            .map(|i| {
                scale.at(if shown > 1 {
                    from + (i * (to - from) + (shown - 1) / 2) / (shown - 1)
                } else {
                    from
                })
            })
            .collect();
        out.dedup();
        out
    }

    /// Mean liking over two levers with the given settings, all else as in `centre`.
    #[must_use]
    pub fn taste_map(
        &self,
        centre: &Recipe,
        (across, across_values): (Lever, Vec<f64>),
        (up, up_values): (Lever, Vec<f64>),
    ) -> TasteMap {
        let mut mean = Vec::with_capacity(across_values.len() * up_values.len());
        let mut sd = mean.clone();
        for u in &up_values {
            for a in &across_values {
                let standing = self.standing(&self.case.gear.snap(&centre.with(across, *a).with(up, *u)));
                mean.push(standing.mean);
                sd.push(standing.sd);
            }
        }
        TasteMap { across, up, across_values, up_values, mean, sd }
    }

    /// How far each quantity may wander from a recipe before its mean liking drops by half a point.
    #[must_use]
    pub fn tolerances(&self, recipe: &Recipe) -> Tolerances {
        let mut search = Search::new(&self.posterior, &self.case.gear, self.day, self.case.aim.time_window_s);
        beliefs::tolerances(&self.case, &mut search, recipe)
    }

    fn point(&self, recipe: &Recipe) -> Point {
        self.posterior.frame.point(recipe, self.day)
    }
}
