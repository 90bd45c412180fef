//! The posterior as a set of weighted worlds: draws from every fitted variant, weighted by its evidence and corrected
//! by tempered importance weights, with a Gaussian-process discrepancy on liking for what no variant can say.

use super::carry::{EarlierEvidence, starting_beliefs};
use super::evidence::{Kind, Noise, Observed, Shot, sites};
use super::fit::{Fit, PriorForm, fit_from, log_posterior, predicted_marks, world_part};
use super::model::Prepared;
use super::{BagFacts, Frame, Latent, Point, SHAPES, Shape, UNKNOWNS, Unknown, forward};
use crate::domain::Gear;
use crate::maths::dense;
use crate::maths::draw::Draws;
use crate::maths::fast;
use crate::maths::lanes::{LANES, Lanes};

/// One drawn world.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// Its unknowns.
    pub theta: Vec<f64>,
    /// The part that decides the cup, worked out.
    pub core: Prepared<f64>,
    /// Its variant.
    pub shape: Shape,
    /// Its weight; all weights sum to 1.
    pub weight: f64,
}

/// The posterior over worlds.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// The frame of all points.
    pub frame: Frame,
    /// The noise assumed.
    pub noise: Noise,
    /// The fitted variants, most probable first.
    pub fits: Vec<Fit>,
    /// Drawn worlds.
    pub worlds: Vec<World>,
    /// The evidence, in order of pulling.
    pub observed: Vec<Observed>,
    /// Chance that each pull was soundly prepared.
    pub sound: Vec<f64>,
    discrepancy: Option<Discrepancy>,
    /// The worlds' cores, eight side by side, in the order of `worlds`; a group shares its variant.
    groups: Vec<(Prepared<Lanes>, Shape)>,
}

/// Everything that is worked out once per bag, before its pulls: beliefs from priors and earlier bags.
#[derive(Debug, Clone, PartialEq)]
pub struct Beginning {
    beliefs: Vec<(Shape, super::Gaussian, f64)>,
}

impl Beginning {
    /// Beliefs before the first pull.
    #[must_use]
    pub fn new(
        bag: &BagFacts,
        gear: &Gear,
        frame: &Frame,
        earlier: &[EarlierEvidence],
        noise: &Noise,
    ) -> Self {
        let beliefs = SHAPES
            .iter()
            .map(|shape| {
                let (belief, evidence) = starting_beliefs(bag, gear, frame, shape, earlier, noise);
                (*shape, belief, evidence)
            })
            .collect();
        Self { beliefs }
    }
}

#[derive(Debug, Clone, PartialEq)]
struct Discrepancy {
    places: Vec<[f64; 4]>,
    factor: Vec<f64>,
    /// Residual liking in each world, places × worlds.
    residual: Vec<Vec<f64>>,
}

/// Standard deviation of what the model cannot say about liking.
const DISCREPANCY_SD: f64 = 0.45;
/// Noise of liking beside the discrepancy.
const LIKING_NOISE: f64 = 0.75;
/// Length scales: ln time, ln ratio, ln dose, kelvin.
const SCALES: [f64; 4] = [0.3, 0.28, 0.12, 3.5];
/// Pulls kept in the discrepancy.
const MOST_PLACES: usize = 40;

fn kernel(a: &[f64; 4], b: &[f64; 4]) -> f64 {
    let r2: f64 = a.iter().zip(b).zip(SCALES).map(|((x, y), s)| ((x - y) / s) * ((x - y) / s)).sum();
    DISCREPANCY_SD * DISCREPANCY_SD * fast::exp(-0.5 * r2)
}

impl Posterior {
    /// Fits all variants to the pulls and draws `count` worlds.
    #[must_use]
    pub fn new(
        beginning: &Beginning,
        frame: &Frame,
        shots: &[Shot],
        noise: &Noise,
        seed: u64,
        count: usize,
    ) -> Self {
        let newest = shots.iter().filter_map(|s| s.days_since_roast).reduce(f64::max);
        let observed: Vec<Observed> = shots.iter().map(|s| Observed::new(s, frame, newest)).collect();
        let has_temperature = frame.temperature_settable;
        let mut forms: Vec<PriorForm> = Vec::new();
        let mut fitted: Vec<(Fit, usize)> = Vec::new();
        let mut seen: Option<Vec<f64>> = None;
        for (shape, belief, evidence) in &beginning.beliefs {
            let Some(form) = PriorForm::new(belief) else { continue };
            // The second variant starts where the first ended (the unknowns mean the same), shifted by the
            // difference of the two priors.
            let start = match (&seen, forms.first()) {
                (Some(mode), Some(first)) => {
                    mode.iter().zip(&first.mean).zip(&form.mean).map(|((t, a), b)| t - a + b).collect()
                }
                _ => form.mean.clone(),
            };
            let steps = if observed.is_empty() { 0 } else { 25 };
            if let Some(mut fit) = fit_from(&start, &form, shape, &observed, noise, has_temperature, steps) {
                fit.log_evidence += evidence;
                if seen.is_none() {
                    seen = Some(fit.mode.clone());
                }
                fitted.push((fit, forms.len()));
            }
            forms.push(form);
        }
        let top = fitted.iter().map(|(f, _)| f.log_evidence).fold(f64::NEG_INFINITY, f64::max);
        // Evidence of a wrong model is overconfident; half of it is believed.
        let share: Vec<f64> = fitted.iter().map(|(f, _)| libm::exp(0.5 * (f.log_evidence - top))).collect();
        let total: f64 = share.iter().sum();
        let mut worlds = Vec::with_capacity(count + fitted.len());
        let mut draws = Draws::new(seed);
        for ((fit, form), share) in fitted.iter().zip(&share) {
            let share = share / total;
            let own = ((share * count as f64 / LANES as f64).round() as usize).max(1) * LANES;
            if let Some(form) = forms.get(*form) {
                draw_worlds(
                    &mut worlds,
                    &mut draws,
                    fit,
                    form,
                    &observed,
                    noise,
                    has_temperature,
                    own,
                    share,
                );
            }
        }
        let sum: f64 = worlds.iter().map(|w| w.weight).sum();
        if sum > 0.0 {
            for world in &mut worlds {
                world.weight /= sum;
            }
        }
        let mut sound = vec![0.0; observed.len()];
        for ((fit, _), share) in fitted.iter().zip(&share) {
            for (slot, s) in sound.iter_mut().zip(&fit.sound) {
                *slot += s * share / total;
            }
        }
        let mut fits: Vec<Fit> = fitted.into_iter().map(|(f, _)| f).collect();
        fits.sort_by(|a, b| b.log_evidence.total_cmp(&a.log_evidence));
        let groups = side_by_side(&worlds);
        let mut out =
            Self { frame: *frame, noise: *noise, fits, worlds, observed, sound, discrepancy: None, groups };
        out.discrepancy = out.learn_discrepancy();
        out
    }

    /// The cup of a point in one world.
    #[inline]
    #[must_use]
    pub fn latent(&self, world: &World, point: &Point) -> Latent<f64> {
        world.core.cup(point, &world.shape, self.frame.temperature_settable)
    }

    fn place(&self, point: &Point) -> [f64; 4] {
        let ln_time = self.fits.first().map_or(0.0, |fit| {
            forward(&world_part(&fit.mode), point, &fit.shape, self.frame.temperature_settable).ln_time
        });
        [ln_time, point.ln_ratio, point.ln_dose, point.kelvin]
    }

    fn learn_discrepancy(&self) -> Option<Discrepancy> {
        let tasted: Vec<(&Observed, f64)> = self
            .observed
            .iter()
            .zip(&self.sound)
            .filter(|(o, _)| o.liking.is_some())
            .map(|(o, s)| (o, *s))
            .collect();
        let tasted = tasted.get(tasted.len().saturating_sub(MOST_PLACES)..)?;
        if tasted.is_empty() {
            return None;
        }
        let places: Vec<[f64; 4]> = tasted.iter().map(|(o, _)| self.place(&o.point)).collect();
        let n = places.len();
        let mut k = vec![0.0; n * n];
        for (row, (a, (o, s))) in k.chunks_exact_mut(n).zip(places.iter().zip(tasted)) {
            for (slot, b) in row.iter_mut().zip(&places) {
                *slot = kernel(a, b);
            }
            let at = places.iter().position(|p| std::ptr::eq(p, a));
            let old = 0.08 * 0.08 * o.days_ago.min(60.0);
            if let Some(slot) = at.and_then(|at| row.get_mut(at)) {
                *slot += (LIKING_NOISE * LIKING_NOISE + old) / s.max(0.02);
            }
        }
        let factor = dense::cholesky(&k, n)?;
        let residual = tasted
            .iter()
            .map(|(o, _)| {
                let given = f64::from(o.liking.unwrap_or(5));
                self.cups(&o.point).into_iter().map(|(liking, _)| given - liking).collect()
            })
            .collect();
        Some(Discrepancy { places, factor, residual })
    }

    /// Weights of the residuals for the discrepancy at a point, and its remaining standard deviation there.
    #[must_use]
    pub fn discrepancy_weights(&self, point: &Point) -> (Vec<f64>, f64) {
        let Some(d) = &self.discrepancy else { return (Vec::new(), DISCREPANCY_SD) };
        let here = self.place(point);
        let k: Vec<f64> = d.places.iter().map(|p| kernel(p, &here)).collect();
        let mut v = k.clone();
        dense::solve(&d.factor, &mut v);
        let left = (DISCREPANCY_SD * DISCREPANCY_SD - dense::dot(&k, &v)).max(0.0);
        (v, left.sqrt())
    }

    /// Mean liking of a point in each world, discrepancy included.
    #[must_use]
    pub fn likings(&self, point: &Point) -> Vec<f64> {
        let (v, _) = self.discrepancy_weights(point);
        self.likings_with(point, &v)
    }

    /// The same with the discrepancy's weights already at hand.
    #[must_use]
    pub fn likings_with(&self, point: &Point, v: &[f64]) -> Vec<f64> {
        self.judged(point, v).0
    }

    /// Mean liking of a point in each world, discrepancy included, and ln time there.
    #[must_use]
    pub fn judged(&self, point: &Point, v: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let (mut likings, times): (Vec<f64>, Vec<f64>) = self.cups(point).into_iter().unzip();
        if let Some(d) = &self.discrepancy {
            for (weight, residual) in v.iter().zip(&d.residual) {
                for (slot, r) in likings.iter_mut().zip(residual) {
                    *slot += weight * r;
                }
            }
        }
        (likings, times)
    }

    /// Liking, without discrepancy, and ln time of a point in each world.
    fn cups(&self, point: &Point) -> Vec<(f64, f64)> {
        let mut out = Vec::with_capacity(self.worlds.len());
        for (core, shape) in &self.groups {
            let cup = core.cup(point, shape, self.frame.temperature_settable);
            out.extend(cup.liking.0.iter().zip(cup.ln_time.0).map(|(l, t)| (f64::from(*l), f64::from(t))));
        }
        out
    }

    /// Weighted mean of one number per world.
    #[must_use]
    pub fn mean(&self, values: &[f64]) -> f64 {
        self.worlds.iter().zip(values).map(|(w, v)| w.weight * v).sum()
    }

    /// Weighted mean and standard deviation of an unknown.
    #[must_use]
    pub fn belief(&self, unknown: Unknown) -> (f64, f64) {
        let pick = |w: &World| w.theta.get(unknown.at()).copied().unwrap_or(0.0);
        let mean: f64 = self.worlds.iter().map(|w| w.weight * pick(w)).sum();
        let var: f64 = self.worlds.iter().map(|w| w.weight * (pick(w) - mean) * (pick(w) - mean)).sum();
        (mean, var.max(0.0).sqrt())
    }

    /// Log-likelihood of each kind of evidence of one pull in each world.
    #[must_use]
    pub fn log_likelihoods(&self, pull: usize) -> Option<Vec<[f64; 4]>> {
        let observed = self.observed.get(pull)?;
        Some(
            self.worlds
                .iter()
                .map(|w| {
                    let latent = self.latent(w, &observed.point);
                    let marks = predicted_marks(&w.theta, &latent);
                    sites(observed, &latent, &marks, &self.noise).by_kind
                })
                .collect(),
        )
    }

    /// Expected marks at a point, in the order of [`crate::domain::Attribute::ALL`].
    #[must_use]
    pub fn expected_marks(&self, point: &Point) -> [f64; 6] {
        let mut out = [0.0; 6];
        for world in &self.worlds {
            let latent = self.latent(world, point);
            for (slot, mark) in out.iter_mut().zip(predicted_marks(&world.theta, &latent)) {
                *slot += world.weight * mark;
            }
        }
        out
    }

    /// The evidence that a kind stands for, in the order of [`Kind::ALL`].
    #[must_use]
    pub fn kind_index(kind: Kind) -> usize {
        kind as usize
    }
}

/// The worlds' cores, eight side by side. Their number is a multiple of eight and a group shares its variant.
fn side_by_side(worlds: &[World]) -> Vec<(Prepared<Lanes>, Shape)> {
    worlds
        .chunks_exact(LANES)
        .filter_map(|group| {
            let unknowns = std::array::from_fn(|at| {
                let mut lanes = [0.0f32; LANES];
                for (slot, world) in lanes.iter_mut().zip(group) {
                    *slot = world.theta.get(at).copied().unwrap_or(0.0) as f32;
                }
                Lanes(lanes)
            });
            group.first().map(|first| (Prepared::new(&unknowns), first.shape))
        })
        .collect()
}

/// Draws `count` worlds (an even number, in mirrored pairs) around a fit.
#[allow(clippy::too_many_arguments)]
fn draw_worlds(
    worlds: &mut Vec<World>,
    draws: &mut Draws,
    fit: &Fit,
    form: &PriorForm,
    observed: &[Observed],
    noise: &Noise,
    has_temperature: bool,
    count: usize,
    share: f64,
) {
    let mut thetas: Vec<Vec<f64>> = Vec::with_capacity(count);
    let mut logs: Vec<f64> = Vec::with_capacity(count);
    let mut z = vec![0.0; UNKNOWNS];
    for _ in 0..count / 2 {
        for slot in &mut z {
            *slot = draws.normal();
        }
        let half = 0.5 * dense::dot(&z, &z);
        let mut step = z.clone();
        dense::backward(&fit.precision_factor, &mut step);
        for sign in [1.0, -1.0] {
            let theta: Vec<f64> = fit.mode.iter().zip(&step).map(|(m, s)| m + sign * s).collect();
            let log = if observed.is_empty() {
                0.0
            } else {
                log_posterior(&theta, form, &fit.shape, observed, noise, has_temperature, 1.0) + half
            };
            thetas.push(theta);
            logs.push(log);
        }
    }
    let weights = tempered(&logs, 0.3);
    for (theta, weight) in thetas.into_iter().zip(weights) {
        worlds.push(World {
            core: Prepared::new(&world_part(&theta)),
            theta,
            shape: fit.shape,
            weight: weight * share,
        });
    }
}

/// Importance weights raised to the largest power (at most 1) that keeps the effective number of draws above
/// `least` of them; they sum to 1.
fn tempered(logs: &[f64], least: f64) -> Vec<f64> {
    let n = logs.len() as f64;
    let top = logs.iter().copied().filter(|l| l.is_finite()).fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return vec![1.0 / n.max(1.0); logs.len()];
    }
    let at = |power: f64| -> Vec<f64> {
        let raw: Vec<f64> =
            logs.iter().map(|l| if l.is_finite() { libm::exp(power * (l - top)) } else { 0.0 }).collect();
        let sum: f64 = raw.iter().sum();
        raw.into_iter().map(|w| w / sum).collect()
    };
    let mut power = 1.0;
    for _ in 0..12 {
        let w = at(power);
        let effective = 1.0 / w.iter().map(|x| x * x).sum::<f64>();
        if effective >= least * n {
            return w;
        }
        power *= 0.7;
    }
    at(power)
}
