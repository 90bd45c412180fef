//! The most probable unknowns and the curvature around them: damped Gauss–Newton on the log posterior (Laplace's
//! method), with exact gradients. A pull that fits nothing is given the weight with which it is believed to be sound,
//! newly at each step (a two-component mixture fitted by expectation–maximisation). A pull once believed bends the unknowns
//! until it fits, so that whether it was spoiled is asked of a fit that set out without it.

use super::evidence::{Either, MarkForm, Marking, Noise, Observed, sites};
use super::model::Prepared;
use super::prior::Gaussian;
use super::{Latent, Shape, UNKNOWNS, WORLD_UNKNOWNS};
use crate::maths::dense;
use crate::maths::lanes::Lanes;
use crate::maths::real::{Dual, Real};

const N: usize = UNKNOWNS;
const W: usize = WORLD_UNKNOWNS;

/// A fitted variant.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The variant.
    pub shape: Shape,
    /// Most probable unknowns.
    pub mode: Vec<f64>,
    /// Lower Cholesky factor of the precision there, N × N.
    pub precision_factor: Vec<f64>,
    /// Laplace's estimate of the log evidence, the variant's own weight included.
    pub log_evidence: f64,
    /// Chance that each pull was soundly prepared.
    pub sound: Vec<f64>,
    /// Steps taken.
    pub steps: usize,
}

impl Fit {
    /// Places of the pulls that this fit takes for spoiled, in order.
    pub fn spoiled(&self) -> impl Iterator<Item = usize> {
        self.sound.iter().enumerate().filter(|(_, sound)| **sound < 0.5).map(|(at, _)| at)
    }
}

/// Prior as mean and precision, made once per variant.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PriorForm {
    pub mean: Vec<f64>,
    pub precision: Vec<f64>,
    pub log_det_precision: f64,
}

impl PriorForm {
    pub fn new(prior: &Gaussian) -> Option<Self> {
        let factor = dense::cholesky(&prior.covariance, N)?;
        Some(Self {
            mean: prior.mean.clone(),
            precision: dense::inverse(&factor, N),
            log_det_precision: -dense::log_det(&factor, N),
        })
    }

    /// −½ (θ−m)ᵀ Λ (θ−m) and Λ (θ−m).
    pub fn quadratic(&self, theta: &[f64]) -> (f64, Vec<f64>) {
        let off: Vec<f64> = theta.iter().zip(&self.mean).map(|(t, m)| t - m).collect();
        let pull = dense::times(&self.precision, &off);
        (-0.5 * dense::dot(&off, &pull), pull)
    }
}

/// All that was observed, and how exactly.
#[derive(Clone, Copy)]
pub(super) struct Evidence<'a> {
    pub observed: &'a [Observed],
    pub noise: &'a Noise,
    pub has_temperature: bool,
}

/// Which pulls are thought to be spoiled.
#[derive(Clone, Copy)]
pub(super) enum Doubt {
    /// None of them, but the one named, which is.
    AllSoundBut(Option<usize>),
    /// Each by its own chance.
    Each,
}

impl Doubt {
    /// Chance that the pull at a place was spoiled, before looking at its numbers.
    fn of(self, at: usize, pull: &Observed) -> f64 {
        match self {
            Self::Each => pull.spoiled,
            Self::AllSoundBut(one) if one == Some(at) => 1.0 - 1e-9,
            Self::AllSoundBut(_) => 0.0,
        }
    }
}

/// The world part of a vector of unknowns.
pub(super) fn world_part<T: Real>(theta: &[T]) -> [T; W] {
    let mut out = [T::constant(0.0); W];
    for (o, t) in out.iter_mut().zip(theta) {
        *o = *t;
    }
    out
}

fn values(latent: &Latent<Dual<W>>) -> Latent<f64> {
    Latent {
        ln_time: latent.ln_time.v,
        extraction: latent.extraction.v,
        ln_strength: latent.ln_strength.v,
        strength_off: latent.strength_off.v,
        balance_off: latent.balance_off.v,
        uneven: latent.uneven.v,
        liking: latent.liking.v,
    }
}

/// Log-likelihood of all pulls in eight worlds side by side, each pull spoiled with its own chance.
pub(super) fn log_likelihood(
    theta: &[Lanes; UNKNOWNS],
    core: &Prepared<Lanes>,
    shape: &Shape,
    evidence: &Evidence<'_>,
) -> Lanes {
    let marking = Marking::new(theta);
    evidence.observed.iter().fold(Lanes::constant(0.0), |total, pull| {
        let cup = core.cup(&pull.point, shape, evidence.has_temperature);
        total + sites(pull, &cup, &marking.values(&cup), evidence.noise).mixture(pull.spoiled).0
    })
}

struct Local {
    log: f64,
    gradient: Vec<f64>,
    precision: Vec<f64>,
    sound: Vec<f64>,
}

/// Adds `w · g gᵀ` (sparse: world part dense, then a few marking unknowns) to the lower triangle.
fn add_outer(precision: &mut [f64], world: &[f64; W], own: &[(usize, f64)], weight: f64) {
    if weight <= 0.0 {
        return;
    }
    // Most evidence speaks of few unknowns.
    for (i, gi) in world.iter().enumerate().filter(|(_, gi)| **gi != 0.0) {
        let scaled = weight * gi;
        if let Some(row) = precision.get_mut(i * N..i * N + i + 1) {
            for (slot, gj) in row.iter_mut().zip(world) {
                *slot += scaled * gj;
            }
        }
    }
    for (at, g) in own {
        let scaled = weight * g;
        if let Some(row) = precision.get_mut(at * N..at * N + W) {
            for (slot, gj) in row.iter_mut().zip(world) {
                *slot += scaled * gj;
            }
        }
        for (other, h) in own {
            if other <= at
                && let Some(slot) = precision.get_mut(at * N + other)
            {
                *slot += scaled * h;
            }
        }
    }
}

fn linearise(
    theta: &[f64],
    prior: &PriorForm,
    shape: &Shape,
    evidence: &Evidence<'_>,
    doubt: Doubt,
) -> Local {
    let mut unknowns = [Dual::<W>::unknown(0.0, W); W];
    for (index, (slot, value)) in unknowns.iter_mut().zip(theta).enumerate() {
        *slot = Dual::unknown(*value, index);
    }
    let prepared = Prepared::new(&unknowns);
    let (mut log, pull) = prior.quadratic(theta);
    let mut gradient: Vec<f64> = pull.iter().map(|p| -p).collect();
    let mut precision = prior.precision.clone();
    let mut sound = Vec::with_capacity(evidence.observed.len());
    let marking = Marking::new(theta);
    for (at, one) in evidence.observed.iter().enumerate() {
        let latent = prepared.cup(&one.point, shape, evidence.has_temperature);
        let plain = values(&latent);
        let forms: [MarkForm<f64>; 6] = std::array::from_fn(|index| marking.form(index, &plain));
        let marks: [f64; 6] = std::array::from_fn(|index| forms.get(index).map_or(0.0, |f| f.value));
        let found = sites(one, &plain, &marks, evidence.noise);
        let (total, good) = found.mixture(doubt.of(at, one));
        log += total;
        sound.push(good);
        let mut push = |site: &Either<f64>, world: &[f64; W], own: &[(usize, f64)]| {
            let (slope, curvature) = site.mixed(good);
            for (g, w) in gradient.iter_mut().zip(world) {
                *g += slope * w;
            }
            for (at, g) in own {
                if let Some(slot) = gradient.get_mut(*at) {
                    *slot += slope * g;
                }
            }
            add_outer(&mut precision, world, own, curvature);
        };
        if one.ln_time.is_some() || one.choked {
            push(&found.time, &latent.ln_time.d, &[]);
        }
        if one.strength_pct.is_some() {
            push(&found.strength, &latent.ln_strength.d, &[]);
        }
        if one.spurting {
            push(&found.jets, &latent.uneven.d, &[]);
        }
        if one.liking.is_some() {
            push(&found.liking, &latent.liking.d, &[]);
        }
        for ((form, site), mark) in forms.iter().zip(&found.marks).zip(one.marks) {
            if mark.is_none() {
                continue;
            }
            let mut world = [0.0; W];
            for (((slot, s), b), u) in
                world.iter_mut().zip(&latent.strength_off.d).zip(&latent.balance_off.d).zip(&latent.uneven.d)
            {
                *slot = form.by_strength * s + form.by_balance * b + form.by_uneven * u;
            }
            push(site, &world, &form.own);
        }
    }
    Local { log, gradient, precision, sound }
}

/// Fits one variant from `start`, with the pull at `spoiled` taken for spoiled until all else is fitted. `None` only if
/// the arithmetic fails, which a sound prior excludes.
pub(super) fn fit_from(
    start: &[f64],
    prior: &PriorForm,
    shape: &Shape,
    evidence: &Evidence<'_>,
    most_steps: usize,
    spoiled: Option<usize>,
) -> Option<Fit> {
    let mut theta = start.to_vec();
    let mut steps = 0;
    // First every other pull is believed: else a bag that differs from the prior looks like nothing but spoiled pulls.
    // Then doubt is let in.
    let believing = Doubt::AllSoundBut(spoiled);
    let stages: &[Doubt] = if evidence.observed.is_empty() { &[] } else { &[believing, Doubt::Each] };
    let mut here = linearise(&theta, prior, shape, evidence, believing);
    for (stage, doubt) in stages.iter().enumerate() {
        if stage > 0 {
            here = linearise(&theta, prior, shape, evidence, *doubt);
        }
        let mut damping = 1e-3;
        let mut stuck = false;
        let until = steps + most_steps / 2;
        while steps < until && !stuck {
            steps += 1;
            let mut improved = false;
            for _ in 0..6 {
                let mut damped = here.precision.clone();
                for i in 0..N {
                    if let (Some(slot), Some(p)) = (damped.get_mut(i * N + i), prior.precision.get(i * N + i))
                    {
                        *slot += damping * (*slot + p);
                    }
                }
                let Some(factor) = dense::cholesky(&damped, N) else {
                    damping = (damping * 10.0).max(1e-3);
                    continue;
                };
                let mut step = here.gradient.clone();
                dense::solve(&factor, &mut step);
                let next: Vec<f64> = theta.iter().zip(&step).map(|(t, s)| t + s).collect();
                let there = linearise(&next, prior, shape, evidence, *doubt);
                if there.log.is_finite() && there.log >= here.log - 1e-9 {
                    let gain = there.log - here.log;
                    theta = next;
                    here = there;
                    damping = (damping * 0.2).max(1e-6);
                    improved = gain > if stage == 0 { 0.2 } else { 5e-3 };
                    break;
                }
                damping = (damping * 8.0).max(1e-2);
            }
            stuck = !improved;
        }
    }
    let factor = dense::cholesky(&here.precision, N)?;
    let log_evidence =
        here.log + 0.5 * prior.log_det_precision - 0.5 * dense::log_det(&factor, N) + libm::log(shape.weight);
    (log_evidence.is_finite()).then_some(Fit {
        shape: *shape,
        mode: theta,
        precision_factor: factor,
        log_evidence,
        sound: here.sound,
        steps,
    })
}

/// Fits one variant to the evidence, starting from the middle of the prior.
#[must_use]
pub fn fit(
    prior: &Gaussian,
    shape: &Shape,
    observed: &[Observed],
    noise: &Noise,
    has_temperature: bool,
) -> Option<Fit> {
    let form = PriorForm::new(prior)?;
    fit_from(&form.mean, &form, shape, &Evidence { observed, noise, has_temperature }, 25, None)
}

#[cfg(test)]
mod tests {
    use super::super::samples::{FIRST, gear};
    use super::super::{BagFacts, Frame, SHAPES, Shot, Unknown, prior};
    use super::*;
    use crate::domain::{Attribute, Mark, Recipe, StartRecipe};

    /// A pull of every kind: measured and marked, a slow one with jets, a choke, a gusher of which little is said.
    fn pulls() -> Vec<Shot> {
        let cup = |label, grind: f64, time_s: f64, marks: [i64; 6], liking: i64| {
            let mut shot = Shot::new(label, Recipe { grind, ..FIRST });
            shot.time_s = Some(time_s);
            for (attribute, mark) in Attribute::ALL.into_iter().zip(marks) {
                shot.taste.set_mark(attribute, Mark::new(mark));
            }
            shot.taste.set_liking(Some(liking));
            shot
        };
        let mut measured = cup(1, 15.0, 27.0, [1, -1, 0, 0, 1, -2], 6);
        measured.tds_pct = Some(9.1);
        (measured.recipe.dose_g, measured.recipe.temperature_c) = (17.2, Some(95.0));
        let mut jets = cup(2, 12.0, 48.0, [2, 1, -2, -1, 2, 0], 3);
        (jets.spurting, jets.days_since_roast) = (true, Some(14.0));
        let mut choked = Shot::new(3, Recipe { grind: 7.0, yield_g: 0.0, ..FIRST });
        choked.choked = true;
        let mut gusher = Shot::new(4, Recipe { grind: 20.0, yield_g: 44.0, ..FIRST });
        (gusher.time_s, gusher.days_since_roast) = (Some(11.0), Some(16.0));
        vec![measured, jets, choked, gusher]
    }

    /// The gradient that a fit climbs along is that of its log-posterior, by central differences, in every variant, near
    /// the middle of the prior and off it, whether every pull is believed or each may be spoiled.
    #[test]
    fn the_gradient_is_that_of_the_log_posterior() {
        let gear = gear();
        let Recipe { grind, dose_g, yield_g, temperature_c } = FIRST;
        let start = StartRecipe { grind: Some(grind), dose_g, yield_g, temperature_c };
        let frame = Frame::new(&gear, &start, Some(12.0));
        let observed: Vec<Observed> = pulls().iter().map(|s| Observed::new(s, &frame, Some(16.0))).collect();
        let (noise, bag) = (Noise::default(), BagFacts::default());
        let evidence = Evidence { observed: &observed, noise: &noise, has_temperature: true };
        let mut felt = 0;
        for shape in &SHAPES {
            let (mean, sd) = prior(&bag, &gear, &frame, shape);
            let form = PriorForm::new(&Gaussian::independent(&mean, &sd)).unwrap();
            for (off, doubt) in [(0.0, Doubt::Each), (0.4, Doubt::Each), (-0.3, Doubt::AllSoundBut(None))] {
                let theta: Vec<f64> = mean.iter().zip(&sd).map(|(m, s)| m + off * s).collect();
                let here = linearise(&theta, &form, shape, &evidence, doubt);
                for (at, s) in sd.iter().enumerate() {
                    let beside = |by: f64| {
                        let mut theta = theta.clone();
                        theta[at] += by;
                        linearise(&theta, &form, shape, &evidence, doubt).log
                    };
                    let step = 1e-4 * s;
                    let slope = (beside(step) - beside(-step)) / (2.0 * step);
                    // In standard deviations of the prior, so that all weigh alike.
                    let (slope, claimed) = (slope * s, here.gradient[at] * s);
                    let what = format!("{shape:?} {off} {:?}: {claimed} but {slope}", Unknown::ALL[at]);
                    assert!((slope - claimed).abs() < 2e-4 * (1.0 + slope.abs()), "{what}");
                    felt += usize::from(slope.abs() > 1e-3);
                }
            }
        }
        assert!(felt > 200, "{felt}");
    }
}
