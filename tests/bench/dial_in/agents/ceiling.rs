//! The ceiling: an agent that knows the worlds' own prior.
//!
//! Particles are hidden points of the very generator that draws the worlds, conditioned on all that was observed by
//! sequential Monte Carlo: the likelihood of each new shot is let in by degrees, particles are resampled and moved by
//! Crank–Nicolson proposals that keep the standard-normal prior (S. L. Cotter, G. O. Roberts, A. M. Stuart and D. White,
//! Statistical Science 28 (2013) 424–446; reference from memory).

use super::{Agent, Record, quantiles};
use crate::protocol::{Advice, Best, Expect, Open, Recipe, Shot};
use crate::rng::Rng;
use crate::world::best::climb_by;
use crate::world::setup::{BagFacts, Setup};
use crate::world::shot::{SPOILED, log_likelihood};
use crate::world::{OWN, SHARED, Truth};

/// Particles of the posterior, and how many of them take part in a decision.
const PARTICLES: usize = 1000;
const VOTERS: usize = 250;
/// Moves of each particle at each degree of a new shot.
const MOVES: usize = 3;

/// One shot with the day it was pulled on and the bag it belongs to (0 the bag in hand).
#[derive(Debug, Clone)]
struct Seen {
    bag: usize,
    shot: Shot,
    day: f64,
}

/// A hidden point with the truths that it stands for.
#[derive(Debug, Clone)]
struct Particle {
    z: Vec<f64>,
    truths: Vec<Truth>,
    /// Log likelihood of all shots fully let in.
    past: f64,
    /// Log likelihood of those that are being let in.
    fresh: f64,
}

/// The agent.
#[derive(Debug)]
pub struct Ceiling {
    setup: Setup,
    bags: Vec<BagFacts>,
    rng: Rng,
    seen: Vec<Seen>,
    particles: Vec<Particle>,
    record: Record,
    next: Recipe,
    day: f64,
    pulls: usize,
    reach: f64,
}

impl Ceiling {
    /// Knows the habits in `setup` and the facts of earlier bags, nothing hidden.
    pub fn new(setup: Setup, others: Vec<BagFacts>, key: u64) -> Self {
        let mut bags = vec![setup.facts.clone()];
        bags.extend(others);
        Self {
            setup,
            bags,
            rng: Rng::keyed(&[key, 13]),
            seen: Vec::new(),
            particles: Vec::new(),
            record: Record::default(),
            next: Recipe::default(),
            day: 0.0,
            pulls: 0,
            reach: 0.35,
        }
    }

    fn truths(&self, z: &[f64]) -> Vec<Truth> {
        let (shared, own) = z.split_at(SHARED);
        self.bags.iter().zip(own.chunks(OWN)).map(|(f, o)| Truth::build(&self.setup, f, shared, o)).collect()
    }

    /// Log likelihoods of the shots before `from` and from there on.
    fn judge(&self, truths: &[Truth], from: usize) -> (f64, f64) {
        let of =
            |s: &[Seen]| -> f64 { s.iter().map(|s| log_likelihood(&truths[s.bag], &s.shot, s.day)).sum() };
        let (a, b) = self.seen.split_at(from.min(self.seen.len()));
        (of(a), of(b))
    }

    /// Lets the shots from index `from` on into the posterior.
    fn learn(&mut self, from: usize) {
        let mut particles = std::mem::take(&mut self.particles);
        for p in &mut particles {
            p.fresh = self.judge(&p.truths, from).1;
        }
        let mut degree = 0.0;
        while degree < 1.0 {
            let step = next_degree(&particles, degree);
            let top = particles.iter().map(|p| p.fresh).fold(f64::NEG_INFINITY, f64::max);
            let weights: Vec<f64> =
                particles.iter().map(|p| ((step - degree) * (p.fresh - top)).exp()).collect();
            particles = resample(&particles, &weights, &mut self.rng);
            degree = step;
            for _ in 0..MOVES {
                let mut taken = 0;
                for p in &mut particles {
                    taken += usize::from(self.jump(p, from, degree));
                }
                let share = taken as f64 / particles.len() as f64;
                self.reach = (self.reach * if share < 0.2 { 0.8 } else { 1.2 }).clamp(0.08, 0.9);
            }
        }
        for p in &mut particles {
            p.past += p.fresh;
            p.fresh = 0.0;
        }
        self.particles = particles;
    }

    /// One Crank–Nicolson proposal on a random third of the coordinates.
    fn jump(&mut self, p: &mut Particle, from: usize, degree: f64) -> bool {
        let keep = (1.0 - self.reach * self.reach).sqrt();
        let mut z = p.z.clone();
        let share = self.rng.range(0.1, 0.6);
        for v in &mut z {
            if self.rng.chance(share) {
                *v = keep * *v + self.reach * self.rng.normal();
            }
        }
        let truths = self.truths(&z);
        let (past, fresh) = self.judge(&truths, from);
        let gain = past - p.past + degree * (fresh - p.fresh);
        let taken = self.rng.uniform().ln() < gain;
        if taken {
            *p = Particle { z, truths, past, fresh };
        }
        taken
    }

    fn decide(&mut self) -> Advice {
        // Voters: an even sample of the particles (all weigh the same after resampling).
        let every = (self.particles.len() / VOTERS).max(1);
        let voters: Vec<(&Truth, f64)> = self
            .particles
            .iter()
            .step_by(every)
            .filter_map(|p| p.truths.first())
            .map(|t| (t, t.ease(self.day)))
            .collect();
        if voters.is_empty() {
            return Advice::default();
        }
        let n = voters.len() as f64;
        let gear = &self.setup.gear;
        let mean = |r: &Recipe| voters.iter().map(|(t, e)| t.cup_liking(&t.cup(r, *e))).sum::<f64>() / n;
        // Candidates: a wide cloud, what was pulled, and the wishes of single particles.
        let mut cloud: Vec<Recipe> = self.record.asked.clone();
        cloud.push(self.record.begin());
        for i in 0..140 {
            let (t, _) = voters[(i * 7) % voters.len()];
            let rho = self.rng.normal() * 0.1;
            let dose_g = self.record.begin().dose_g + self.rng.range(-1.5, 1.5);
            cloud.push(gear.snap(Recipe {
                grind: t.grind_at(1.0 + rho),
                dose_g,
                yield_g: dose_g * self.rng.range(1.5, 3.0),
                temperature_c: Some(self.rng.range(88.0, 97.0)),
            }));
        }
        let mut best_of: Vec<f64> = Vec::with_capacity(voters.len());
        for (i, (t, e)) in voters.iter().enumerate() {
            let value = |r: &Recipe| t.cup_liking(&t.cup(r, *e));
            let start =
                cloud.iter().max_by(|a, b| value(a).total_cmp(&value(b))).copied().unwrap_or_default();
            let (v, r) = climb_by(gear, &start, 12, &value);
            best_of.push(v);
            if i % 5 == 0 {
                cloud.push(r);
            }
        }
        let start = cloud.iter().max_by(|a, b| mean(a).total_cmp(&mean(b))).copied().unwrap_or_default();
        let (served_mean, served) = climb_by(gear, &start, 10, &mean);
        let near = |r: &Recipe| {
            voters.iter().zip(&best_of).filter(|((t, e), b)| t.cup_liking(&t.cup(r, *e)) >= **b - 0.5).count()
                as f64
                / n
        };
        // The next pull: the likeliest to be near-best; what was pulled before only if nothing else comes close.
        cloud.push(served);
        let next = cloud.iter().max_by(|a, b| near(a).total_cmp(&near(b))).copied().unwrap_or(served);
        let (_, next) = climb_by(gear, &next, 3, &near);
        let chance = near(&served);
        self.next = next;
        let shortfall = best_of.iter().sum::<f64>() / n - served_mean;
        let settled = chance > 0.85 && shortfall < 0.4;
        if settled {
            self.next = served;
        }
        Advice {
            status: if settled { "settled" } else { "adjust" }.into(),
            recipe: self.next,
            expect: self.expect(&self.next.clone(), every),
            best: Best { recipe: served, liking: None },
            chance_near_best: Some(chance),
        }
    }

    /// Predictive ranges of a recipe, noise and bad preparation included.
    fn expect(&mut self, r: &Recipe, every: usize) -> Expect {
        let (mut time, mut tds, mut liking) = (Vec::new(), Vec::new(), Vec::new());
        for p in self.particles.iter().step_by(every) {
            let Some(t) = p.truths.first() else { continue };
            let cup = t.cup(r, t.ease(self.day) * 1.02);
            let bad = if self.rng.chance(SPOILED) { 1.0 } else { 0.0 };
            let noise = t.time_noise.hypot(0.022);
            time.push(cup.time_s * (noise * self.rng.normal() - 0.4 * bad).exp());
            tds.push(cup.tds_pct * (1.0 - 0.12 * bad) + 0.15 * self.rng.normal());
            let l = t.cup_liking(&cup) - 2.2 * bad + t.drinker.liking_noise * self.rng.normal();
            liking.push(l.round().clamp(1.0, 9.0));
        }
        Expect {
            time_s: quantiles(&mut time),
            tds_pct: quantiles(&mut tds),
            extraction_pct: None,
            liking: quantiles(&mut liking),
        }
    }
}

/// The next degree at which half of the weight is still effective.
fn next_degree(particles: &[Particle], degree: f64) -> f64 {
    let top = particles.iter().map(|p| p.fresh).fold(f64::NEG_INFINITY, f64::max);
    let effective = |d: f64| {
        let (s, q) = particles.iter().fold((0.0, 0.0), |(s, q), p| {
            let w = (d * (p.fresh - top)).exp();
            (s + w, q + w * w)
        });
        s * s / q / particles.len() as f64
    };
    if effective(1.0 - degree) >= 0.5 {
        return 1.0;
    }
    let (mut lo, mut hi) = (0.0, 1.0 - degree);
    for _ in 0..20 {
        let mid = 0.5 * (lo + hi);
        if effective(mid) >= 0.5 { lo = mid } else { hi = mid }
    }
    (degree + hi.max(0.01)).min(1.0)
}

/// Systematic resampling.
fn resample(particles: &[Particle], weights: &[f64], rng: &mut Rng) -> Vec<Particle> {
    let total: f64 = weights.iter().sum();
    let n = particles.len();
    let mut at = rng.uniform() * total / n as f64;
    let mut sum = 0.0;
    let mut kept = Vec::with_capacity(n);
    for (p, w) in particles.iter().zip(weights) {
        sum += w;
        while at < sum && kept.len() < n {
            kept.push(p.clone());
            at += total / n as f64;
        }
    }
    while kept.len() < n {
        kept.extend(particles.last().cloned());
    }
    kept
}

impl Agent for Ceiling {
    fn open(&mut self, open: &Open) -> Result<Advice, String> {
        self.record = Record::start(open);
        self.bags.truncate(1 + open.earlier.len());
        self.seen.clear();
        for (i, e) in open.earlier.iter().enumerate() {
            for (n, shot) in e.shots.iter().enumerate() {
                let day = match (shot.days_since_roast, e.bag.days_since_roast) {
                    (Some(now), Some(then)) => now - then,
                    _ => (n / 4) as f64,
                };
                self.seen.push(Seen { bag: i + 1, shot: shot.clone(), day });
            }
        }
        let length = SHARED + OWN * self.bags.len();
        self.particles = (0..PARTICLES)
            .map(|_| {
                let z: Vec<f64> = (0..length).map(|_| self.rng.normal()).collect();
                let truths = self.truths(&z);
                Particle { z, truths, past: 0.0, fresh: 0.0 }
            })
            .collect();
        // Earlier bags are let in a few shots at a time.
        let all = std::mem::take(&mut self.seen);
        for group in all.chunks(3) {
            let from = self.seen.len();
            self.seen.extend_from_slice(group);
            self.learn(from);
        }
        Ok(self.decide())
    }

    fn shot(&mut self, shot: &Shot) -> Result<Advice, String> {
        self.record.push(shot, Some(self.next));
        let day = match (shot.days_since_roast, self.record.open.bag.days_since_roast) {
            (Some(now), Some(then)) => now - then,
            _ => (self.pulls / 4) as f64,
        };
        self.pulls += 1;
        self.day = day;
        let from = self.seen.len();
        self.seen.push(Seen { bag: 0, shot: shot.clone(), day });
        self.learn(from);
        Ok(self.decide())
    }

    fn ask(&mut self) -> Result<Advice, String> {
        Ok(self.decide())
    }
}
