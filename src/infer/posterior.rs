//! The posterior as a set of weighted worlds: draws from every fitted variant, weighted by its evidence and corrected
//! by tempered importance weights, with a Gaussian-process discrepancy on liking for what no variant can say.

use super::carry::{EarlierEvidence, starting_beliefs};
use super::evidence::{Kind, Marking, Noise, Observed, Shot, sites};
use super::fit::{Evidence, Fit, PriorForm, fit_from, log_likelihood, world_part};
use super::model::Prepared;
use super::{BagFacts, Bed, Frame, Latent, Point, SHAPES, Shape, UNKNOWNS, Unknown};
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
    /// The most probable world.
    middle: Option<Prepared<f64>>,
    /// The worlds, eight side by side, in their order.
    groups: Vec<Group>,
    guesses: Guesses,
}

/// Everything that is worked out once per bag, before its pulls: beliefs from priors and earlier bags.
#[derive(Debug, Clone, PartialEq)]
pub struct Beginning {
    /// For each variant its belief and the log evidence of the earlier bags.
    beliefs: Vec<(Shape, PriorForm, f64)>,
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
            .filter_map(|shape| {
                let (belief, evidence) = starting_beliefs(bag, gear, frame, shape, earlier, noise);
                PriorForm::new(&belief).map(|form| (*shape, form, evidence))
            })
            .collect();
        Self { beliefs }
    }
}

/// Eight worlds of the same variant side by side.
#[derive(Debug, Clone, PartialEq)]
struct Group {
    theta: [Lanes; UNKNOWNS],
    core: Prepared<Lanes>,
    shape: Shape,
}

impl Group {
    /// Of the first eight; where there are fewer, the last stands for the missing ones.
    fn new(thetas: &[&[f64]], shape: Shape) -> Self {
        let theta = std::array::from_fn(|at| {
            let each = thetas.iter().map(|theta| theta.get(at).copied().unwrap_or(0.0) as f32);
            let mut lanes = [each.clone().next_back().unwrap_or(0.0); LANES];
            for (slot, value) in lanes.iter_mut().zip(each) {
                *slot = value;
            }
            Lanes(lanes)
        });
        Self { core: Prepared::new(&world_part(&theta)), theta, shape }
    }

    fn cup(&self, point: &Point, has_temperature: bool) -> Latent<Lanes> {
        self.core.cup(point, &self.shape, has_temperature)
    }
}

#[derive(Debug, Clone, PartialEq)]
struct Discrepancy {
    places: Vec<[f64; 4]>,
    factor: Vec<f64>,
    /// Residual liking in each world, places × worlds.
    residual: Vec<Vec<f64>>,
    /// The same less each world's own guess of the discrepancy there, places × worlds.
    surprise: Vec<Vec<f64>>,
    /// Mean residual over the worlds, per place.
    mean: Vec<f64>,
}

impl Discrepancy {
    /// The kernel between the tasted places and another, and the weights there of what was found at them.
    fn weights(&self, place: &[f64; 4]) -> (Vec<f64>, Vec<f64>) {
        let k: Vec<f64> = self.places.iter().map(|p| kernel(p, place)).collect();
        let mut v = k.clone();
        dense::solve(&self.factor, &mut v);
        (k, v)
    }
}

/// One guess of the discrepancy for each world, as a sum of waves (random features of the kernel: Rahimi and Recht,
/// NIPS 2007). The waves are shared; their heights are each world's own and balance out over all worlds.
#[derive(Debug, Clone, PartialEq)]
struct Guesses {
    /// Direction and phase of each wave.
    waves: Vec<([f64; 4], f64)>,
    /// Height of each wave in each world, waves × worlds.
    heights: Vec<Vec<f64>>,
    /// Share of the discrepancy that is guessed at, 0–1.
    boldness: f64,
}

/// Waves that stand for the discrepancy.
const WAVES: usize = 32;
/// Recipes tasted after which the discrepancy is guessed at in full: before that the unknowns themselves are the doubt.
const FULLY_GUESSED: f64 = 4.0;

/// Recipes tasted: a cup from the same recipe again, but for the slips of a hand, tells nothing of other recipes.
fn recipes_tasted(observed: &[Observed]) -> usize {
    let mut places: Vec<&Point> = Vec::new();
    for one in observed.iter().filter(|o| o.liking.is_some()) {
        if !places.iter().any(|other| other.same_but_for_slips(&one.point)) {
            places.push(&one.point);
        }
    }
    places.len()
}

impl Guesses {
    fn new(worlds: &[World], tasted: usize, draws: &mut Draws) -> Self {
        let boldness = (tasted as f64 / FULLY_GUESSED).min(1.0);
        let waves: Vec<([f64; 4], f64)> = (0..WAVES)
            .map(|_| (SCALES.map(|scale| draws.normal() / scale), std::f64::consts::TAU * draws.uniform()))
            .collect();
        let size = boldness * DISCREPANCY_SD * libm::sqrt(2.0 / WAVES as f64);
        let heights = waves.iter().map(|_| balanced(worlds, size, draws)).collect();
        Self { waves, heights, boldness }
    }

    /// Adds each world's guess at a place.
    fn add(&self, place: &[f64; 4], likings: &mut [f64]) {
        for ((direction, phase), heights) in self.waves.iter().zip(&self.heights) {
            let turn = direction.iter().zip(place).fold(*phase, |sum, (d, x)| sum + d * x);
            let wave = libm::cos(turn);
            for (slot, height) in likings.iter_mut().zip(heights) {
                *slot += wave * height;
            }
        }
    }
}

/// A normal draw for each world, their weighted mean taken out.
fn balanced(worlds: &[World], sd: f64, draws: &mut Draws) -> Vec<f64> {
    let mut own: Vec<f64> = worlds.iter().map(|_| sd * draws.normal()).collect();
    let mean: f64 = own.iter().zip(worlds).map(|(v, w)| v * w.weight).sum();
    for v in &mut own {
        *v -= mean;
    }
    own
}

/// Standard deviation of what the model cannot say about liking.
const DISCREPANCY_SD: f64 = 0.55;
/// Noise of liking beside the discrepancy.
const LIKING_NOISE: f64 = 0.65;
/// Length scales: ln time, ln ratio, ln dose, kelvin.
const SCALES: [f64; 4] = [0.3, 0.28, 0.12, 3.5];
/// One in this many groups of worlds is asked at a glance.
const GLANCED: usize = 4;
/// Pulls kept in the discrepancy.
const MOST_PLACES: usize = 40;

/// Variance of one given liking as the discrepancy sees it: wider for an old pull and for one that may be spoiled.
fn liking_variance(observed: &Observed, sound: f64) -> f64 {
    let old = 0.08 * 0.08 * observed.days_ago.min(60.0);
    (LIKING_NOISE * LIKING_NOISE + old) / sound.max(0.02)
}

/// Adds rows by their weights.
fn add_weighted(likings: &mut [f64], weights: &[f64], rows: &[Vec<f64>]) {
    for (weight, row) in weights.iter().zip(rows) {
        for (slot, r) in likings.iter_mut().zip(row) {
            *slot += weight * r;
        }
    }
}

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
        let mut fitted: Vec<(Fit, &PriorForm)> = Vec::new();
        let mut seen: Option<(Vec<f64>, &PriorForm)> = None;
        let mut suspects: Option<Vec<usize>> = None;
        let all = Evidence { observed: &observed, noise, has_temperature };
        let spoken_of = |bed: Bed| match bed {
            Bed::Slows => true,
            Bed::Closes => observed.iter().any(|o| o.ln_time.is_some() || o.choked),
            Bed::Breaks => may_have_broken(&observed),
        };
        for (shape, form, evidence) in beginning.beliefs.iter().filter(|(shape, ..)| spoken_of(shape.bed)) {
            // The second variant starts where the first ended (the unknowns mean the same), shifted by the
            // difference of the two priors.
            let start = match &seen {
                Some((mode, first)) => {
                    mode.iter().zip(&first.mean).zip(&form.mean).map(|((t, a), b)| t - a + b).collect()
                }
                None => form.mean.clone(),
            };
            let steps = if observed.is_empty() { 0 } else { 25 };
            if let Some(fit) = fit_from(&start, form, shape, &all, steps, None) {
                let few = observed.len() <= FEW;
                let mut asked = suspects.get_or_insert_with(|| suspicious(&fit.sound)).clone();
                let mut found = vec![fit];
                if shape.bed == Bed::Breaks && few {
                    // The same times may come from both sides of the setting at which the bed breaks.
                    let broken = fit_from(&broken(&form.mean), form, shape, &all, steps, None);
                    broken.into_iter().for_each(|fit| keep_once(&mut found, fit));
                } else if shape.bed == Bed::Breaks {
                    asked.clear();
                }
                for at in asked {
                    let without = fit_from(&form.mean, form, shape, &all, steps, Some(at));
                    match without.filter(|fit| fit.spoiled().any(|pull| pull == at)) {
                        Some(fit) => keep_once(&mut found, fit),
                        None => suspects.iter_mut().for_each(|s| s.retain(|other| *other != at)),
                    }
                }
                if seen.is_none() {
                    seen = found.first().map(|fit| (fit.mode.clone(), form));
                }
                for mut fit in found {
                    fit.log_evidence += evidence;
                    fitted.push((fit, form));
                }
            }
        }
        let top = fitted.iter().map(|(f, _)| f.log_evidence).fold(f64::NEG_INFINITY, f64::max);
        // Evidence of a wrong model is overconfident; three quarters of it are believed (set by the advisor's bench).
        let share: Vec<f64> = fitted.iter().map(|(f, _)| libm::exp(0.75 * (f.log_evidence - top))).collect();
        let total: f64 = share.iter().sum();
        let mut worlds = Vec::with_capacity(count + fitted.len());
        let mut draws = Draws::new(seed);
        for ((fit, form), share) in fitted.iter().zip(&share) {
            let share = share / total;
            let own = ((share * count as f64 / LANES as f64).round() as usize).max(1) * LANES;
            draw_worlds(&mut worlds, &mut draws, fit, form, &all, own, share);
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
        let middle = fits.first().map(|fit| Prepared::new(&world_part(&fit.mode)));
        let groups = side_by_side(&worlds);
        let guesses = Guesses::new(&worlds, recipes_tasted(&observed), &mut draws);
        let mut out = Self {
            frame: *frame,
            noise: *noise,
            fits,
            worlds,
            observed,
            sound,
            discrepancy: None,
            middle,
            groups,
            guesses,
        };
        out.discrepancy = out.learn_discrepancy(&mut draws);
        out
    }

    /// Whether some pull ran much faster than one that was ground coarser, or gushed no slower, as from a bed so fine that
    /// it breaks into channels.
    #[must_use]
    pub fn bed_may_have_broken(&self) -> bool {
        may_have_broken(&self.observed)
    }

    /// The cup of a point in one world.
    #[inline]
    #[must_use]
    pub fn latent(&self, world: &World, point: &Point) -> Latent<f64> {
        world.core.cup(point, &world.shape, self.frame.temperature_settable)
    }

    fn place(&self, point: &Point) -> [f64; 4] {
        let ln_time = self.middle.as_ref().map_or(0.0, |core| core.run(point).ln_time);
        [ln_time, point.ln_ratio, point.ln_dose, point.kelvin]
    }

    fn learn_discrepancy(&self, draws: &mut Draws) -> Option<Discrepancy> {
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
            if let Some(slot) = at.and_then(|at| row.get_mut(at)) {
                *slot += liking_variance(o, *s);
            }
        }
        let factor = dense::cholesky(&k, n)?;
        let residual: Vec<Vec<f64>> = tasted
            .iter()
            .map(|(o, _)| {
                let given = f64::from(o.liking.unwrap_or(5));
                self.cups(&o.point).0.into_iter().map(|liking| given - liking).collect()
            })
            .collect();
        // Each world's guess is conditioned on the pulls as a sample of the process is (Matheron's rule).
        let surprise = places
            .iter()
            .zip(&residual)
            .zip(tasted)
            .map(|((place, residual), (o, s))| {
                let noise = self.guesses.boldness * liking_variance(o, *s).sqrt();
                let mut guess = balanced(&self.worlds, noise, draws);
                self.guesses.add(place, &mut guess);
                residual.iter().zip(&guess).map(|(r, g)| r - g).collect()
            })
            .collect();
        let mean = residual.iter().map(|own| self.mean(own)).collect();
        Some(Discrepancy { places, factor, residual, surprise, mean })
    }

    /// Weights of the residuals for the discrepancy at a point, and its remaining standard deviation there.
    #[must_use]
    pub fn discrepancy_weights(&self, point: &Point) -> (Vec<f64>, f64) {
        let Some(d) = &self.discrepancy else { return (Vec::new(), DISCREPANCY_SD) };
        let (k, v) = d.weights(&self.place(point));
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
        let (mut likings, _) = self.cups(point);
        if let Some(d) = &self.discrepancy {
            add_weighted(&mut likings, v, &d.residual);
        }
        likings
    }

    /// Mean liking of a point in each world, with a guess of each world's own of what the discrepancy may be where nobody
    /// has tasted, and ln time there. Means are those of [`Self::likings`], but each world's best recipe is its own. This
    /// is what makes a search look further when pull after pull is merely good.
    #[must_use]
    pub fn imagined(&self, point: &Point) -> (Vec<f64>, Vec<f64>) {
        let (mut likings, times) = self.cups(point);
        let place = self.place(point);
        self.guesses.add(&place, &mut likings);
        if let Some(d) = &self.discrepancy {
            add_weighted(&mut likings, &d.weights(&place).1, &d.surprise);
        }
        (likings, times)
    }

    /// Mean liking of a point and mean ln time there, of every fourth group of worlds only: an estimate at a quarter of the
    /// work.
    #[must_use]
    pub fn glance(&self, point: &Point) -> (f64, f64) {
        let (mut liking, mut ln_time, mut share) = (0.0, 0.0, 0.0);
        let groups = self.groups.iter().zip(self.worlds.chunks(LANES));
        for (group, worlds) in groups.step_by(GLANCED) {
            let cup = group.cup(point, self.frame.temperature_settable);
            for ((world, own), time) in worlds.iter().zip(cup.liking.0).zip(cup.ln_time.0) {
                liking += world.weight * f64::from(own);
                ln_time += world.weight * f64::from(time);
                share += world.weight;
            }
        }
        let learnt =
            self.discrepancy.as_ref().map_or(0.0, |d| dense::dot(&d.weights(&self.place(point)).1, &d.mean));
        let share = share.max(f64::MIN_POSITIVE);
        (liking / share + learnt, ln_time / share)
    }

    /// ln time of a point in each world.
    #[must_use]
    pub fn times(&self, point: &Point) -> Vec<f64> {
        self.groups.iter().flat_map(|group| group.core.run(point).ln_time.0.map(f64::from)).collect()
    }

    /// Liking, without discrepancy, and ln time of a point in each world.
    fn cups(&self, point: &Point) -> (Vec<f64>, Vec<f64>) {
        let mut likings = Vec::with_capacity(self.worlds.len());
        let mut times = Vec::with_capacity(self.worlds.len());
        for group in &self.groups {
            let cup = group.cup(point, self.frame.temperature_settable);
            likings.extend(cup.liking.0.map(f64::from));
            times.extend(cup.ln_time.0.map(f64::from));
        }
        (likings, times)
    }

    /// Weighted mean of one number per world.
    #[must_use]
    pub fn mean(&self, values: &[f64]) -> f64 {
        self.worlds.iter().zip(values).map(|(w, v)| w.weight * v).sum()
    }

    /// Weighted mean and standard deviation of one number per world.
    #[must_use]
    pub fn spread(&self, values: &[f64]) -> (f64, f64) {
        let mean = self.mean(values);
        let squares = self.worlds.iter().zip(values).map(|(w, v)| w.weight * (v - mean) * (v - mean));
        (mean, squares.sum::<f64>().max(0.0).sqrt())
    }

    /// Weighted mean and standard deviation of an unknown.
    #[must_use]
    pub fn belief(&self, unknown: Unknown) -> (f64, f64) {
        let each = self.worlds.iter().map(|w| w.theta.get(unknown.at()).copied().unwrap_or(0.0));
        self.spread(&each.collect::<Vec<_>>())
    }

    /// Log-likelihood of each kind of evidence of one pull in each world.
    #[must_use]
    pub fn log_likelihoods(&self, pull: usize) -> Option<Vec<[f64; 4]>> {
        let observed = self.observed.get(pull)?;
        let of_group = |group: &Group| {
            let cup = group.cup(&observed.point, self.frame.temperature_settable);
            let marks = Marking::new(&group.theta).values(&cup);
            let kinds = sites(observed, &cup, &marks, &self.noise).by_kind;
            let of_lane = |lane: usize| kinds.map(|kind| kind.0.get(lane).copied().map_or(0.0, f64::from));
            std::array::from_fn::<_, LANES, _>(of_lane)
        };
        Some(self.groups.iter().flat_map(of_group).collect())
    }

    /// Expected marks at a point, in the order of [`crate::domain::Attribute::ALL`].
    #[must_use]
    pub fn expected_marks(&self, point: &Point) -> [f64; 6] {
        let mut out = [0.0; 6];
        for (group, worlds) in self.groups.iter().zip(self.worlds.chunks(LANES)) {
            let cup = group.cup(point, self.frame.temperature_settable);
            for (slot, marks) in out.iter_mut().zip(Marking::new(&group.theta).values(&cup)) {
                *slot += worlds.iter().zip(marks.0).map(|(w, mark)| w.weight * f64::from(mark)).sum::<f64>();
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

/// The worlds eight by eight. Their number is a multiple of eight and a group shares its variant.
fn side_by_side(worlds: &[World]) -> Vec<Group> {
    worlds
        .chunks_exact(LANES)
        .filter_map(|group| {
            let thetas: Vec<&[f64]> = group.iter().map(|world| &*world.theta).collect();
            group.first().map(|first| Group::new(&thetas, first.shape))
        })
        .collect()
}

/// Up to this many pulls each is a suspect; with more, only those with some doubt.
const FEW: usize = 8;
/// How sure a fit must be of a pull that is no suspect.
const SURELY_SOUND: f64 = 0.98;
/// Suspects at most while pulls are few, and when they are many: then each answer costs more, and one pull decides less.
const MOST_SUSPECTS: (usize, usize) = (3, 1);

/// Pulls of which to ask whether they were spoiled, the most doubtful first, from the chances that they were sound; one
/// that is thought spoiled already needs no asking.
fn suspicious(sound: &[f64]) -> Vec<usize> {
    let few = sound.len() <= FEW;
    let (least, most) = if few { (f64::INFINITY, MOST_SUSPECTS.0) } else { (SURELY_SOUND, MOST_SUSPECTS.1) };
    let mut all: Vec<(usize, f64)> =
        sound.iter().copied().enumerate().filter(|(_, s)| (0.5..least).contains(s)).collect();
    all.sort_by(|a, b| a.1.total_cmp(&b.1));
    all.into_iter().take(most).map(|(at, _)| at).collect()
}

/// ln time by which a finer grind must run faster to speak of a bed that broke: past the scatter of two pulls, and of one
/// that was badly prepared more often than not.
const BROKE_LN_TIME: f64 = 0.36;
/// ln of the time (s) of a gusher, which finer ought to slow.
const LN_GUSHER: f64 = 2.64;
/// Days within which two pulls are of the same bag in the same state.
pub const SAME_STATE_DAYS: f64 = 2.0;

/// Whether some pull ran much faster than one that was ground coarser, or gushed no slower.
fn may_have_broken(observed: &[Observed]) -> bool {
    let timed = || observed.iter().filter_map(|o| Some((o, o.ln_time?.0 - o.point.usual_ln_time())));
    timed().any(|(fine, fast)| {
        timed().any(|(coarse, slow)| {
            let finer = fine.point.coarser < coarse.point.coarser - 1e-9;
            let gushed = fast.max(slow) < LN_GUSHER;
            let soon = (fine.days_ago - coarse.days_ago).abs() <= SAME_STATE_DAYS;
            finer && soon && (fast < slow - BROKE_LN_TIME || gushed && fast <= slow)
        })
    })
}

/// How much finer than by the prior a search sets out from a bed that broke, relative to grain size: two deviations of a grind
/// that somebody named.
const BROKEN_FINER: f64 = 0.35;

/// Unknowns to set out from where the reference setting lies past the point at which the bed breaks.
fn broken(mean: &[f64]) -> Vec<f64> {
    let mut from = mean.to_vec();
    if let Some(start) = from.get_mut(Unknown::StartCoarser.at()) {
        *start -= BROKEN_FINER;
    }
    from
}

/// Adds a fit of the same variant unless one of the others tells the same story, with the same pulls spoiled: else it
/// would count twice. The more probable of the two stays.
fn keep_once(found: &mut Vec<Fit>, fit: Fit) {
    match found.iter_mut().find(|other| other.spoiled().eq(fit.spoiled())) {
        Some(other) if other.log_evidence < fit.log_evidence => *other = fit,
        Some(_) => {}
        None => found.push(fit),
    }
}

/// Draws for each world kept, with one pull on record; with more pulls, where each draw costs more and the fit is closer
/// to normal, fewer.
const DRAWS_PER_WORLD: f64 = 6.0;
/// Effective number of draws for each world kept, at least.
const LEAST_EFFECTIVE: f64 = 0.5;

/// Draws `count` worlds (an even number) around a fit: many draws in mirrored pairs, weighed by what they explain, of
/// which `count` are kept.
fn draw_worlds(
    worlds: &mut Vec<World>,
    draws: &mut Draws,
    fit: &Fit,
    form: &PriorForm,
    evidence: &Evidence<'_>,
    count: usize,
    share: f64,
) {
    let pulls = evidence.observed.len();
    let mut thetas: Vec<Vec<f64>> = Vec::with_capacity(count);
    // What each draw's own density took away.
    let mut halves: Vec<f64> = Vec::with_capacity(count);
    let mut z = vec![0.0; UNKNOWNS];
    let per_world = if pulls == 0 { 1.0 } else { (DRAWS_PER_WORLD / pulls as f64).max(1.0) };
    let many = (count as f64 * per_world) as usize;
    for _ in 0..many / 2 {
        for slot in &mut z {
            *slot = draws.normal();
        }
        let half = 0.5 * dense::dot(&z, &z);
        let mut step = z.clone();
        dense::backward(&fit.precision_factor, &mut step);
        for sign in [1.0, -1.0] {
            thetas.push(fit.mode.iter().zip(&step).map(|(m, s)| m + sign * s).collect());
            halves.push(half);
        }
    }
    let mut logs = vec![0.0; thetas.len()];
    if pulls > 0 {
        let groups = thetas.chunks(LANES).zip(halves.chunks(LANES)).zip(logs.chunks_mut(LANES));
        for ((thetas, halves), logs) in groups {
            let side_by_side: Vec<&[f64]> = thetas.iter().map(|theta| &**theta).collect();
            let group = Group::new(&side_by_side, fit.shape);
            let found = log_likelihood(&group.theta, &group.core, &fit.shape, evidence);
            for (((slot, theta), half), log) in logs.iter_mut().zip(thetas).zip(halves).zip(found.0) {
                *slot = f64::from(log) + form.quadratic(theta).0 + half;
            }
        }
    }
    let weights = tempered(&logs, LEAST_EFFECTIVE * count as f64 / logs.len().max(1) as f64);
    for theta in kept(&weights, count, draws.uniform()).into_iter().filter_map(|at| thetas.get(at)) {
        worlds.push(World {
            core: Prepared::new(&world_part(theta)),
            theta: theta.clone(),
            shape: fit.shape,
            weight: share / count as f64,
        });
    }
}

/// Indices of `count` draws kept by their weights, which sum to 1: systematic resampling from `start` in 0–1 (Kitagawa,
/// J. Comput. Graph. Stat. 5:1, 1996).
fn kept(weights: &[f64], count: usize, start: f64) -> Vec<usize> {
    let mut at = 0;
    let mut upto = weights.first().copied().unwrap_or(0.0);
    (0..count)
        .map(|i| {
            let aim = (i as f64 + start) / count as f64;
            while upto < aim && at + 1 < weights.len() {
                at += 1;
                upto += weights.get(at).copied().unwrap_or(0.0);
            }
            at
        })
        .collect()
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
