//! What the other coffees on a grinder say about one of them. A shift of the grinder, the machine or the room is shared by
//! all; a shift of the beans belongs to one. Each coffee's pulls of this morning are summed up as [`News`], the news of
//! the others become a belief about the shared shift ([`shared`]), and [`super::tracker::Tracker::overnight_among`] takes
//! that belief up beside the coffee's own shifts.
//!
//! A slow drift shows over days and is put together over days: what each coffee's pulls since a drift set in say of its
//! slope ([`DriftNews`]) is multiplied ([`shared_drift`]), and each of a coffee's own drifts then also stands as one with
//! the slope that the others believe in, as much likelier as their pulls and its own make it.
//!
//! A normal hierarchical model with a chance that nothing is shared (Gelman et al., *Bayesian Data Analysis*, chapter 5,
//! for the normal part; the mixture is summed over who shifted alone, exactly up to `KEPT` terms).

use super::habits::Habits;
use super::tracker::{Belief, Tracker};

/// Share of overnight jumps that all coffees of a grinder have in common (common practice, no source).
pub const SHARE: f64 = 0.5;
/// Terms of the mixture that are kept.
const KEPT: usize = 64;
/// Ages of a drift that are told apart: it set in last night, or up to so many nights less one before.
pub const AGES: usize = 7;

/// What one coffee's pulls say of a drift that set in some nights ago: the likelihood of a change of `d` a day is
/// `exp(log_gain)` times the normal density of `d` about `mean`, against 1 for no drift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriftNews {
    /// Nights since it set in, last night being 0; below [`AGES`].
    pub age: usize,
    /// Natural logarithm of the factor before the density.
    pub log_gain: f64,
    /// Change a day beyond ageing, on the chart's scale.
    pub mean: f64,
    /// Variance of that.
    pub variance: f64,
}

/// What is believed of a drift that all coffees of the grinder share, before a coffee's own pulls are looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedDrift {
    /// Natural logarithm of how much likelier the others' pulls are with one than without any.
    pub log_odds: f64,
    /// Mean change a day beyond ageing, if there is one, on the chart's scale.
    pub mean: f64,
    /// Variance of that, if there is one.
    pub variance: f64,
    /// How many of the others have something to say of it.
    pub heard: u32,
    /// How many of them drift the way of the mean, by more than their own standard deviation.
    pub same_way: u32,
}

/// What one coffee's pulls of this morning say, on the chart's scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct News {
    /// How far they lie from what was expected of it this morning.
    pub off: f64,
    /// Variance of that: of the pulls and of what was expected.
    pub variance: f64,
    /// Chance that this coffee shifted by itself last night, 0–1.
    pub own: f64,
    /// Usual size of such a shift (standard deviation).
    pub own_size: f64,
}

/// What is believed of a shift that all coffees of the grinder share, before a coffee's own pulls are looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shared {
    /// Probability that there is one.
    pub p: f64,
    /// Its mean, if there is one, on the chart's scale.
    pub mean: f64,
    /// Its standard deviation, if there is one.
    pub sd: f64,
    /// How many other coffees have been heard.
    pub heard: u32,
    /// How many of them lie on the mean's side, by more than their own standard deviation.
    pub same_way: u32,
    /// What is believed of a shared drift, by the nights since it set in.
    pub drifts: [Option<SharedDrift>; AGES],
}

/// Another coffee on the grinder, this morning.
#[derive(Debug, Clone)]
pub struct Neighbour {
    /// What was expected of it: its own tracker after the night, at the setting of its first pull.
    expected: Belief,
    opened: Tracker,
    /// Its first pulls of today: seconds within the day, value on the chart's scale, noise scale.
    pulls: Vec<(f64, f64, f64)>,
}

impl Neighbour {
    /// `opened` stands where the coffee stood before its first pull of today; `pulls` are those at the setting that it was
    /// opened with, as (seconds within the day, deviation, noise scale), oldest first.
    #[must_use]
    pub fn new(opened: &Tracker, pulls: Vec<(f64, f64, f64)>) -> Self {
        Self { expected: opened.undisturbed(), opened: opened.clone(), pulls }
    }

    /// How many of its pulls were made before `at_s`.
    pub(super) fn pulled(&self, at_s: f64) -> usize {
        self.pulls.iter().filter(|(at, ..)| *at < at_s).count()
    }

    /// The same coffee when only its pulls before `at_s` were known.
    #[must_use]
    pub fn until(&self, at_s: f64) -> Self {
        let pulls = self.pulls.iter().filter(|(at, ..)| *at < at_s).copied().collect();
        Self { pulls, ..self.clone() }
    }

    /// What its pulls until `at_s`, of today and of the days before, say of a drift.
    #[must_use]
    pub fn drifts(&self, at_s: f64) -> Vec<DriftNews> {
        let mut tracker = self.opened.clone();
        for (_, value, scale) in self.pulls.iter().filter(|(at, ..)| *at < at_s) {
            tracker.pull(*value, *scale);
        }
        tracker.drift_news()
    }

    /// What its pulls before `at_s` say; `None` before the first.
    #[must_use]
    pub fn news(&self, at_s: f64) -> Option<News> {
        let h = self.opened.habits();
        let held = self.expected.level_sd * self.expected.level_sd;
        let free = held + h.jump_size * h.jump_size;
        // One Gaussian that may lie anywhere within a jump; what it learns from the pulls is the likelihood.
        let quiet = Habits { jump_pull: 0.0, ..*h };
        let start = Belief { level_sd: free.sqrt(), slope: 0.0, slope_sd: 0.0, ..self.expected };
        let mut tracker = Tracker::new(quiet, start);
        for (_, value, scale) in self.pulls.iter().filter(|(at, ..)| *at < at_s) {
            tracker.pull(*value, *scale);
        }
        let e = tracker.evidence();
        let weight = 1.0 / (e.level_sd * e.level_sd) - 1.0 / free;
        if e.pulls == 0 || !weight.is_finite() || weight <= 1e-9 {
            return None;
        }
        let mean = (e.level / (e.level_sd * e.level_sd) - self.expected.level / free) / weight;
        Some(News {
            off: mean - self.expected.level,
            variance: held + 1.0 / weight,
            own: h.jump_night * (1.0 - SHARE) + h.drift_night,
            own_size: h.jump_size,
        })
    }
}

/// What the neighbours' pulls before `at_s` say to a coffee of these habits; `None` without neighbours, so that a coffee
/// alone on its grinder is judged as ever.
#[must_use]
pub fn heard(habits: &Habits, neighbours: &[Neighbour], at_s: f64) -> Option<Shared> {
    if neighbours.is_empty() {
        return None;
    }
    let news: Vec<News> = neighbours.iter().filter_map(|n| n.news(at_s)).collect();
    let drifts: Vec<DriftNews> = neighbours.iter().flat_map(|n| n.drifts(at_s)).collect();
    Some(Shared {
        drifts: std::array::from_fn(|age| shared_drift(age, habits.drift_size, &drifts)),
        ..shared(habits.jump_night * SHARE, habits.jump_size, &news)
    })
}

/// Belief about a shared drift of this age and usual size `size` a day (standard deviation) after the news; `None` where
/// no news is of this age. (Product of normal densities with a normal prior, exact.)
#[must_use]
pub fn shared_drift(age: usize, size: f64, news: &[DriftNews]) -> Option<SharedDrift> {
    let sane = |n: &&DriftNews| {
        n.age == age
            && n.log_gain.is_finite()
            && n.mean.is_finite()
            && n.variance.is_finite()
            && n.variance > 0.0
    };
    let mut out: Option<SharedDrift> = None;
    for n in news.iter().filter(sane) {
        let none = SharedDrift { log_odds: 0.0, mean: 0.0, variance: size * size, heard: 0, same_way: 0 };
        let x = out.unwrap_or(none);
        let s = x.variance + n.variance;
        let e = n.mean - x.mean;
        out = Some(SharedDrift {
            log_odds: x.log_odds + n.log_gain + log_normal(e, s),
            mean: x.mean + x.variance / s * e,
            variance: x.variance * n.variance / s,
            heard: x.heard + 1,
            same_way: 0,
        });
    }
    out.map(|x| {
        let agrees = |n: &&DriftNews| n.mean * x.mean > 0.0 && n.mean * n.mean > n.variance;
        SharedDrift { same_way: count(news.iter().filter(sane).filter(agrees).count()), ..x }
    })
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// Logarithm of the normal density of variance `v` at a distance `e` from its mean.
pub(super) fn log_normal(e: f64, v: f64) -> f64 {
    -0.5 * (e * e / v + libm::log(2.0 * std::f64::consts::PI * v))
}

struct Term {
    log_weight: f64,
    mean: f64,
    variance: f64,
}

/// Belief about a shared shift of chance `chance` (0–1) and usual size `size` (standard deviation) after the news.
#[must_use]
pub fn shared(chance: f64, size: f64, news: &[News]) -> Shared {
    let log_density = |e: f64, v: f64| -0.5 * (e * e / v + libm::log(v));
    let log = |p: f64| libm::log(p.max(1e-300));
    let sane = |n: &&News| {
        n.off.is_finite()
            && n.variance.is_finite()
            && n.variance > 0.0
            && (0.0..1.0).contains(&n.own)
            && n.own_size.is_finite()
    };
    let news: Vec<&News> = news.iter().filter(sane).collect();
    let mut nothing = 0.0;
    let mut terms = vec![Term { log_weight: 0.0, mean: 0.0, variance: size * size }];
    for n in &news {
        // Stayed as it was, or shifted by itself as well.
        let kinds = [(1.0 - n.own, n.variance), (n.own, n.variance + n.own_size * n.own_size)];
        let kinds: Vec<(f64, f64)> =
            kinds.into_iter().filter(|(p, _)| *p > 0.0).map(|(p, v)| (log(p), v)).collect();
        nothing += log_sum(kinds.iter().map(|(p, v)| p + log_density(n.off, *v)));
        let mut next = Vec::with_capacity(terms.len() * kinds.len());
        for t in &terms {
            for (p, v) in &kinds {
                let s = t.variance + v;
                let gain = t.variance / s;
                next.push(Term {
                    log_weight: t.log_weight + p + log_density(n.off - t.mean, s),
                    mean: t.mean + gain * (n.off - t.mean),
                    variance: t.variance * (1.0 - gain),
                });
            }
        }
        next.sort_by(|a, b| b.log_weight.total_cmp(&a.log_weight));
        next.truncate(KEPT);
        terms = next;
    }
    let something = log_sum(terms.iter().map(|t| t.log_weight));
    let p = 1.0 / (1.0 + libm::exp(log(1.0 - chance) + nothing - log(chance) - something));
    let weight = |t: &Term| libm::exp(t.log_weight - something);
    let mean: f64 = terms.iter().map(|t| weight(t) * t.mean).sum();
    let variance: f64 = terms.iter().map(|t| weight(t) * (t.variance + (t.mean - mean).powi(2))).sum();
    let same = news.iter().filter(|n| n.off * mean > 0.0 && n.off * n.off > n.variance).count();
    Shared {
        p,
        mean,
        sd: variance.max(0.0).sqrt(),
        heard: count(news.len()),
        same_way: count(same),
        drifts: [None; AGES],
    }
}

/// Logarithm of the sum of exponentials.
fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    top + libm::log(logs.map(|l| libm::exp(l - top)).sum())
}
