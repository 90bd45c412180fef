//! The best that a world can give on its gear's own grid: a coarse scan, then a climb over moves of one to three levers.

use super::Truth;
use crate::protocol::{Gear, Recipe, Steps};

/// Best recipe found and its true mean liking.
#[derive(Debug, Clone, Copy)]
pub struct Reach {
    pub recipe: Recipe,
    pub liking: f64,
}

/// A recipe as indices on the gear's grid.
type Spot = [usize; 4];

/// The gear's grid.
struct Grid {
    axes: [Option<Steps>; 4],
}

impl Grid {
    fn new(gear: &Gear) -> Self {
        Self { axes: [Some(gear.grind.steps()), Some(gear.dose_g), Some(gear.yield_g), gear.temperature_c] }
    }

    fn count(&self, axis: usize) -> usize {
        self.axes[axis].map_or(1, |s| s.count())
    }

    fn recipe(&self, s: &Spot) -> Recipe {
        let at = |i: usize| self.axes[i].map(|x| x.at(s[i]));
        Recipe {
            grind: at(0).unwrap_or(0.0),
            dose_g: at(1).unwrap_or(0.0),
            yield_g: at(2).unwrap_or(0.0),
            temperature_c: at(3),
        }
    }

    fn spot(&self, r: &Recipe) -> Spot {
        let wanted = [r.grind, r.dose_g, r.yield_g, r.temperature_c.unwrap_or(93.0)];
        std::array::from_fn(|i| self.axes[i].map_or(0, |x| x.index(wanted[i])))
    }

    /// About `n` indices spread over an axis, both ends included.
    fn spread(&self, axis: usize, n: usize) -> Vec<usize> {
        let count = self.count(axis);
        let n = n.min(count);
        let mut v: Vec<usize> =
            (0..n).map(|i| if n == 1 { count / 2 } else { i * (count - 1) / (n - 1) }).collect();
        v.dedup();
        v
    }
}

/// Best reachable `days` after opening. `from` are recipes to climb from besides those of the scan; with `scan` false
/// they are the only ones.
pub fn reach(truth: &Truth, gear: &Gear, days: f64, from: &[Recipe], scan: bool) -> Reach {
    let grid = Grid::new(gear);
    let ease = truth.ease(days);
    let value = |s: &Spot| truth.cup_liking(&truth.cup(&grid.recipe(s), ease));
    let mut starts: Vec<(f64, Spot)> = from.iter().map(|r| (f64::INFINITY, grid.spot(r))).collect();
    if scan {
        let mut seen: Vec<(f64, Spot)> = Vec::new();
        for &g in &grid.spread(0, 48) {
            // Sizes far from any espresso are skipped.
            for &d in &grid.spread(1, 3) {
                for &y in &grid.spread(2, 9) {
                    for &t in &grid.spread(3, 3) {
                        let s = [g, d, y, t];
                        seen.push((value(&s), s));
                    }
                }
            }
        }
        seen.sort_by(|a, b| b.0.total_cmp(&a.0));
        starts.extend(apart(&seen, &grid, 10));
    }
    let mut best = Reach { recipe: grid.recipe(&[0; 4]), liking: f64::NEG_INFINITY };
    for (_, s) in starts {
        let (v, s) = climb(s, &grid, 400, 3, &value);
        if v > best.liking {
            best = Reach { recipe: grid.recipe(&s), liking: v };
        }
    }
    best
}

/// Climbs any function of the recipe from one start on the gear's grid, at most `rounds` moves of one or two
/// levers: value and recipe.
pub fn climb_by(gear: &Gear, from: &Recipe, rounds: usize, value: &dyn Fn(&Recipe) -> f64) -> (f64, Recipe) {
    let grid = Grid::new(gear);
    let (v, s) = climb(grid.spot(from), &grid, rounds, 2, &|s| value(&grid.recipe(s)));
    (v, grid.recipe(&s))
}

/// The first `n` spots of a sorted list that are not near one another.
fn apart(sorted: &[(f64, Spot)], grid: &Grid, n: usize) -> Vec<(f64, Spot)> {
    let mut kept: Vec<(f64, Spot)> = Vec::new();
    for c in sorted.iter().take(400) {
        let near = kept.iter().any(|k| {
            (0..4).all(|i| {
                let gap = k.1[i].abs_diff(c.1[i]) as f64 / (grid.count(i).max(2) - 1) as f64;
                gap < [0.03, 0.6, 0.15, 0.6][i]
            })
        });
        if !near {
            kept.push(*c);
            if kept.len() == n {
                break;
            }
        }
    }
    kept
}

/// Climbs by the best move of up to `levers` levers until none helps, with strides that shrink to one step.
fn climb(
    mut s: Spot,
    grid: &Grid,
    rounds: usize,
    levers: usize,
    value: &dyn Fn(&Spot) -> f64,
) -> (f64, Spot) {
    let mut v = value(&s);
    let mut stride: [usize; 4] = std::array::from_fn(|i| (grid.count(i) / [40, 4, 10, 4][i]).max(1));
    for _ in 0..rounds {
        let mut found = (v, s);
        let mut try_spot = |moves: &[(usize, i64)]| {
            let mut t = s;
            for &(axis, sign) in moves {
                let to = t[axis] as i64 + sign * stride[axis] as i64;
                if to < 0 || to >= grid.count(axis) as i64 {
                    return;
                }
                t[axis] = to as usize;
            }
            let w = value(&t);
            if w > found.0 {
                found = (w, t);
            }
        };
        let axes: Vec<usize> = (0..4).filter(|a| grid.count(*a) > 1).collect();
        for (n, &a) in axes.iter().enumerate() {
            for i in [-1, 1] {
                try_spot(&[(a, i)]);
                for (m, &b) in axes.iter().enumerate().skip(n + 1) {
                    for j in [-1, 1] {
                        try_spot(&[(a, i), (b, j)]);
                        for &c in axes.iter().skip(m + 1).take(if levers > 2 { 4 } else { 0 }) {
                            for k in [-1, 1] {
                                try_spot(&[(a, i), (b, j), (c, k)]);
                            }
                        }
                    }
                }
            }
        }
        if found.0 > v {
            (v, s) = found;
        } else if stride.iter().all(|x| *x == 1) {
            break;
        } else {
            stride = stride.map(|x| (x / 2).max(1));
        }
    }
    (v, s)
}
