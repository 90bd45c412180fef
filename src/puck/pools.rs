//! Diffusion out of a sphere, written as a few first-order pools.

use super::bed::Puck;
use super::solute::Solute;
use crate::maths::dense::{cholesky, solve};

/// Part of a class that leaves at one rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pool {
    /// Share of the class, 0–1.
    pub weight: f64,
    /// Rate at 90 °C, 1/s.
    pub rate_s: f64,
}

/// Weights and κ (rate = κ D/a²) of a five-pool stand-in for a diffusing sphere, worst error 8.4e-4 of the remaining share
/// over D t/a² from 5e-5 to 1.6 (fitted to the series of Carslaw and Jaeger, *Conduction of Heat in Solids*; the mean
/// time is within 0.2 % of a²/(15 D)).
const SPHERE: [(f64, f64); 5] = [
    (0.622188, 9.9982),
    (0.203928, 52.0773),
    (0.102969, 270.366),
    (0.046805, 1865.3817),
    (0.024110, 23183.9477),
];

/// Pools of one sphere of radius `radius_m` with diffusivity `d_m2_s`; the weights sum to 1.
pub fn sphere_pools(radius_m: f64, d_m2_s: f64) -> [Pool; 5] {
    SPHERE.map(|(weight, kappa)| Pool { weight, rate_s: kappa * d_m2_s / (radius_m * radius_m) })
}

/// All pools of a class in a puck: broken cells, fines and boulders, rates rising.
pub(crate) fn pools_of(solute: &Solute, puck: &Puck) -> Vec<Pool> {
    let grains = &puck.spec().grains;
    let mut pools = vec![Pool { weight: solute.broken_share, rate_s: solute.broken_rate_s }];
    for (share, radius_um) in
        [(grains.fines_share, grains.fines_radius_um), (1.0 - grains.fines_share, grains.boulders_radius_um)]
    {
        for p in sphere_pools(radius_um * 1e-6, solute.diffusivity_m2_s) {
            pools.push(Pool { weight: p.weight * share * (1.0 - solute.broken_share), ..p });
        }
    }
    pools.retain(|p| p.weight > 0.0);
    pools
}

/// Last time at which the remaining share is asked to be right, s.
const SEEN_UNTIL_S: f64 = 120.0;
/// Times at which it is compared.
const SEEN_TIMES: usize = 36;

/// Reduces a list to at most `most` pools whose remaining share, from `seen_from_s` to two minutes, is as near to that
/// of the full list as least squares can bring it. What happens before a cell is crossed cannot be seen, so
/// `seen_from_s` may be about that time. Starts from merging neighbours, then moves weights and rates by
/// Gauss and Newton; the sum of the weights is kept.
pub fn reduce(pools: Vec<Pool>, most: usize, seen_from_s: f64) -> Vec<Pool> {
    let most = most.max(1);
    if pools.len() <= most {
        return pools;
    }
    let from_s = seen_from_s.clamp(1e-3, 1.0);
    let ratio = (SEEN_UNTIL_S / from_s).powf(1.0 / (SEEN_TIMES - 1) as f64);
    let mut times_s = [0.0; SEEN_TIMES];
    let mut t = from_s;
    for slot in &mut times_s {
        *slot = t;
        t *= ratio;
    }
    let left = |pools: &[Pool], t: f64| pools.iter().map(|p| p.weight * (-p.rate_s * t).exp()).sum::<f64>();
    let want = times_s.map(|t| left(&pools, t));
    let mut best = merged(pools, most);
    let cost = |pools: &[Pool]| -> f64 {
        times_s.iter().zip(&want).map(|(t, w)| (left(pools, *t) - w).powi(2)).sum()
    };
    let (mut best_cost, mut damping) = (cost(&best), 1e-3);
    for _ in 0..12 {
        let Some(next) = nudged(&best, &times_s, &want, damping) else { break };
        let next_cost = cost(&next);
        if next_cost < best_cost {
            let gain = best_cost - next_cost;
            best = next;
            best_cost = next_cost;
            damping *= 0.2;
            if gain < 1e-3 * best_cost || best_cost < 1e-8 {
                break;
            }
        } else {
            damping *= 10.0;
        }
    }
    best
}

/// One damped step of Gauss and Newton in the logarithms of weights and rates; `None` if the equations fail.
fn nudged(pools: &[Pool], times_s: &[f64], want: &[f64], damping: f64) -> Option<Vec<Pool>> {
    let n = pools.len();
    let m = 2 * n;
    let total: f64 = pools.iter().map(|p| p.weight).sum();
    let mut normal = vec![0.0; m * m];
    let mut right = vec![0.0; m];
    let mut row = vec![0.0; m];
    let mut add = |row: &[f64], residual: f64| {
        for (i, a) in row.iter().enumerate() {
            for (j, b) in row.iter().enumerate() {
                if let Some(slot) = normal.get_mut(i * m + j) {
                    *slot += a * b;
                }
            }
            if let Some(slot) = right.get_mut(i) {
                *slot -= a * residual;
            }
        }
    };
    for (t, w) in times_s.iter().zip(want) {
        let mut have = 0.0;
        for (i, p) in pools.iter().enumerate() {
            let left = p.weight * (-p.rate_s * t).exp();
            have += left;
            if let [by_weight, by_rate] = row.get_mut(2 * i..2 * i + 2)? {
                *by_weight = left;
                *by_rate = -left * p.rate_s * t;
            }
        }
        add(&row, have - w);
    }
    // The sum of the weights stays.
    for (i, p) in pools.iter().enumerate() {
        if let [by_weight, by_rate] = row.get_mut(2 * i..2 * i + 2)? {
            *by_weight = 30.0 * p.weight;
            *by_rate = 0.0;
        }
    }
    add(&row, 0.0);
    for i in 0..m {
        let slot = normal.get_mut(i * m + i)?;
        *slot += damping * *slot + 1e-12;
    }
    let l = cholesky(&normal, m)?;
    solve(&l, &mut right);
    let mut next: Vec<Pool> = pools
        .iter()
        .zip(right.chunks_exact(2))
        .map(|(p, d)| {
            let d = |i: usize| d.get(i).copied().unwrap_or(0.0).clamp(-1.5, 1.5);
            Pool { weight: p.weight * d(0).exp(), rate_s: p.rate_s * d(1).exp() }
        })
        .collect();
    let sum: f64 = next.iter().map(|p| p.weight).sum();
    for p in &mut next {
        p.weight *= total / sum;
    }
    next.iter().all(|p| p.weight.is_finite() && p.rate_s.is_finite()).then_some(next)
}

/// Merges neighbours in rate, cheapest first (weight times squared distance in the logarithm); weight and mean time kept.
fn merged(mut pools: Vec<Pool>, most: usize) -> Vec<Pool> {
    pools.sort_by(|a, b| a.rate_s.total_cmp(&b.rate_s));
    while pools.len() > most {
        let mut best = (f64::INFINITY, 0, Pool { weight: 0.0, rate_s: 0.0 });
        for (i, pair) in pools.windows(2).enumerate() {
            let [a, b] = pair else { continue };
            let (ra, rb) = (a.rate_s.max(1e-9), b.rate_s.max(1e-9));
            let weight = a.weight + b.weight;
            let cost = a.weight * b.weight / weight * (rb / ra).ln().powi(2) / (1.0 + ra);
            if cost < best.0 {
                best = (cost, i, Pool { weight, rate_s: weight / (a.weight / ra + b.weight / rb) });
            }
        }
        pools.remove(best.1);
        if let Some(p) = pools.get_mut(best.1) {
            *p = best.2;
        } else {
            break;
        }
    }
    pools
}
