//! Diffusion out of a sphere, written as a few first-order pools.

use super::bed::Puck;
use super::solute::Solute;

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

/// Reduces a list to at most `most` pools by merging neighbours, cheapest first. Merging keeps the weight and the mean
/// time (Σ w/rate); its cost is the greatest change of the remaining share at any time after `seen_from_s`, since
/// what happens faster than one cell is crossed cannot be seen.
pub fn reduce(mut pools: Vec<Pool>, most: usize, seen_from_s: f64) -> Vec<Pool> {
    pools.sort_by(|a, b| a.rate_s.total_cmp(&b.rate_s));
    while pools.len() > most.max(1) {
        let mut best = (f64::INFINITY, 0, Pool { weight: 0.0, rate_s: 0.0 });
        for (i, pair) in pools.windows(2).enumerate() {
            let [a, b] = pair else { continue };
            let (merged, cost) = merge(*a, *b, seen_from_s);
            if cost < best.0 {
                best = (cost, i, merged);
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

fn merge(a: Pool, b: Pool, seen_from_s: f64) -> (Pool, f64) {
    let weight = a.weight + b.weight;
    let time = (a.weight / a.rate_s.max(1e-12) + b.weight / b.rate_s.max(1e-12)) / weight;
    let merged = Pool { weight, rate_s: 1.0 / time };
    let mut cost = 0.0_f64;
    let mut t = seen_from_s;
    for _ in 0..12 {
        let change = a.weight * (-a.rate_s * t).exp() + b.weight * (-b.rate_s * t).exp()
            - weight * (-merged.rate_s * t).exp();
        cost = cost.max(change.abs());
        t *= 2.0;
    }
    (merged, cost)
}
