//! Transport and exchange in one streamtube, marched along the water's own path.
//!
//! Time steps are the moments at which one cell's worth of liquid has passed, so that water moves from cell to cell
//! exactly and nothing is smeared. While a parcel crosses a cell, its concentration c and the grains' pools S_j obey
//!
//! ```text
//! ΔS_j = -a_j (S_j - κ_j c̄),   a_j = 1 - exp(-rate_j Δt),   c_out - c_in = -Σ ΔS_j
//! ```
//!
//! with c̄ the mean along the crossing for a constant source: both directions use exact exponentials, so any rate is
//! stable, nothing turns negative, and what leaves the grains arrives in the water to rounding. The box (cell,
//! parcel) is centred half a step after the parcel's middle enters the cell, which makes the scheme second order.
//! Cells are handled four at a time, deepest first, so that the plain loops fill the vector units.

// Indexed loops over small fixed arrays are what the compiler turns into vector code here.
#![allow(clippy::needless_range_loop)]

use super::solute::MOST_SOLUTES;

/// Most pools of one class.
pub const MOST_POOLS: usize = 9;
/// Cells come in blocks of this many.
pub const BLOCK: usize = 4;
type Block = [f64; BLOCK];
/// Pools, counted from the fastest, that answer the slope of c in time.
const SLOPED: usize = 3;

/// Coefficients of one class for one crossing.
#[derive(Debug, Clone, Copy)]
struct Crossing<const J: usize> {
    /// 1 − exp(−x) of each pool, x = rate Δt.
    take: [f64; J],
    /// κ_j (take + g(x)).
    give: [f64; J],
    /// κ_j g(x), g(x) = (1 + exp(−x))/2 − (1 − exp(−x))/x: the answer to a slope of c in time.
    slope: [f64; J],
    /// exp(−β), β = Σ give.
    keep: f64,
    /// (1 − exp(−β))/β.
    mean: f64,
    /// (1 − mean)/β.
    rest: f64,
    /// Σ slope, times `mean` and times `rest`.
    slope_mean: f64,
    slope_rest: f64,
}

/// exp(−x) for each x ≥ 0: the series of exp(−x/64) to the fifth power, squared six times. Relative error below 3e-6 for
/// x < 10 and 1e-9 for x < 3; between 0 and 1 always, and 5e-18 from x = 40 on. Plain arithmetic on all lanes at once, so that
/// the chains of operations run beside one another.
#[inline(always)]
fn decay<const N: usize>(x: &[f64; N]) -> [f64; N] {
    let mut p = [0.0; N];
    for n in 0..N {
        let y = if x[n] < 40.0 { x[n] } else { 40.0 } * (1.0 / 64.0);
        p[n] = 1.0 - y * (1.0 - y * (0.5 - y * (1.0 / 6.0 - y * (1.0 / 24.0 - y * (1.0 / 120.0)))));
    }
    for _ in 0..6 {
        for v in &mut p {
            *v *= *v;
        }
    }
    p
}

/// One number for each class.
type Each = [f64; MOST_SOLUTES];

/// Coefficients of all classes for one crossing, worked out side by side.
#[derive(Debug, Clone, Copy)]
struct Crossings<const J: usize> {
    take: [Each; J],
    give: [Each; J],
    slope: [Each; J],
    keep: Each,
    mean: Each,
    rest: Each,
    slope_sum: Each,
    give_sum: Each,
}

impl<const J: usize> Crossings<J> {
    #[inline(always)]
    fn new(rates_s: &[Each; J], kappas: &[Each; J], steps_s: &Each) -> Self {
        let zero = [0.0; MOST_SOLUTES];
        let (mut take, mut give, mut slope) = ([zero; J], [zero; J], [zero; J]);
        let (mut slope_sum, mut give_sum) = (zero, zero);
        for j in 0..J {
            let mut x = zero;
            for n in 0..MOST_SOLUTES {
                x[n] = rates_s[j][n] * steps_s[n];
            }
            let leave = decay(&x);
            for n in 0..MOST_SOLUTES {
                take[j][n] = 1.0 - leave[n];
                give[j][n] = kappas[j][n] * take[j][n];
            }
            // The slow pools of many answer a slope with next to nothing; they are spared the arithmetic.
            if j + SLOPED >= J {
                for n in 0..MOST_SOLUTES {
                    let near = x[n] * x[n] * (1.0 / 12.0 - x[n] * (1.0 / 24.0));
                    let safe = if x[n] > 1e-9 { x[n] } else { 1e-9 };
                    let far = 1.0 - 0.5 * take[j][n] - take[j][n] / safe;
                    slope[j][n] = kappas[j][n] * if x[n] < 0.05 { near } else { far };
                    slope_sum[n] += slope[j][n];
                    give[j][n] += slope[j][n];
                }
            }
            for n in 0..MOST_SOLUTES {
                give_sum[n] += give[j][n];
            }
        }
        let (mut keep, mut mean, mut rest) = (zero, zero, zero);
        for n in 0..MOST_SOLUTES {
            (keep[n], mean[n], rest[n]) = weights(give_sum[n]);
        }
        Self { take, give, slope, keep, mean, rest, slope_sum, give_sum }
    }

    /// The coefficients of one class.
    #[inline(always)]
    fn of(&self, n: usize) -> Crossing<J> {
        let mut one = Crossing {
            take: [0.0; J],
            give: [0.0; J],
            slope: [0.0; J],
            keep: self.keep[n],
            mean: self.mean[n],
            rest: self.rest[n],
            slope_mean: self.slope_sum[n] * self.mean[n],
            slope_rest: self.slope_sum[n] * self.rest[n],
        };
        for j in 0..J {
            one.take[j] = self.take[j][n];
            one.give[j] = self.give[j][n];
            one.slope[j] = self.slope[j][n];
        }
        one
    }

    /// The coefficients of one class for the first parcel a cell ever meets, which has no predecessor to take a slope from.
    fn first_of(&self, n: usize) -> Crossing<J> {
        let mut one = self.of(n);
        for j in 0..J {
            one.give[j] -= one.slope[j];
            one.slope[j] = 0.0;
        }
        (one.keep, one.mean, one.rest) = weights(self.give_sum[n] - self.slope_sum[n]);
        one.slope_mean = 0.0;
        one.slope_rest = 0.0;
        one
    }
}

/// exp(−β), (1 − exp(−β))/β and (1 − mean)/β as the box sees them.
#[inline(always)]
fn weights(beta: f64) -> (f64, f64, f64) {
    // Weight of the outgoing concentration in the mean: one half, the second-order box, as long as nothing that
    // enters a cell can leave it with the wrong sign.
    let theta = if beta > 2.0 { 1.0 - 1.0 / beta } else { 0.5 };
    let mean = 1.0 / (1.0 + theta * beta);
    let keep = 1.0 - beta * (1.0 - theta);
    (if keep > 0.0 { keep } else { 0.0 } * mean, mean, theta * mean)
}

impl<const J: usize> Crossing<J> {
    /// One parcel through one cell: returns the new concentration; `before` is the mean concentration of the last
    /// crossing of this cell and becomes that of this one.
    #[inline(always)]
    fn one(&self, pools: &mut [Block; J], before: &mut Block, lane: usize, c_in: f64) -> f64 {
        let mut source = 0.0;
        for j in 0..J {
            source += self.take[j] * pools[j][lane];
        }
        let plain = c_in * self.mean + source * self.rest;
        let was = before[lane].min(3.0 * plain);
        let middle = plain + self.slope_rest * was;
        for j in 0..J {
            let s = pools[j][lane];
            pools[j][lane] = (s - self.take[j] * s) + (self.give[j] * middle - self.slope[j] * was);
        }
        before[lane] = middle;
        c_in * self.keep + source * self.mean + self.slope_mean * was
    }

    /// Four parcels through four cells; adds what they gained to `gained`.
    #[inline(always)]
    fn four(&self, pools: &mut [Block; J], before: &mut Block, c: &mut Block, gained: &mut Block) {
        let (c_in, last) = (*c, *before);
        // What each pool would give to clean water.
        let mut gives = [[0.0; BLOCK]; J];
        for j in 0..J {
            for l in 0..BLOCK {
                gives[j][l] = self.take[j] * pools[j][l];
            }
        }
        // Two sums side by side: half the wait.
        let mut source = gives[0];
        if J > 1 {
            let mut other = gives[1];
            for j in 2..J {
                let sum = if j % 2 == 0 { &mut source } else { &mut other };
                for l in 0..BLOCK {
                    sum[l] += gives[j][l];
                }
            }
            for l in 0..BLOCK {
                source[l] += other[l];
            }
        }
        let mut plain = [0.0; BLOCK];
        let mut was = [0.0; BLOCK];
        let mut middle = [0.0; BLOCK];
        let mut out = [0.0; BLOCK];
        for l in 0..BLOCK {
            plain[l] = c_in[l] * self.mean + source[l] * self.rest;
        }
        for l in 0..BLOCK {
            // Never more than three times: the pools cannot turn negative then.
            let most = 3.0 * plain[l];
            was[l] = if last[l] < most { last[l] } else { most };
        }
        for l in 0..BLOCK {
            middle[l] = plain[l] + self.slope_rest * was[l];
            out[l] = c_in[l] * self.keep + source[l] * self.mean + self.slope_mean * was[l];
        }
        for j in 0..J {
            for l in 0..BLOCK {
                let mut left = pools[j][l] - gives[j][l];
                if j + SLOPED >= J {
                    left -= self.slope[j] * was[l];
                }
                pools[j][l] = left + self.give[j] * middle[l];
            }
        }
        for l in 0..BLOCK {
            gained[l] += out[l] - c_in[l];
        }
        *c = out;
        *before = middle;
    }
}

/// The cells of one class in one streamtube. Concentrations of water and grains are both per liquid volume of a cell.
#[derive(Debug, Clone, Default)]
struct ClassCells {
    /// Blocks of four cells, pool after pool within a block; cell 0 of block 0 is the deepest.
    pools: Vec<Block>,
    /// Parcels in the bed, deepest first, from `base`; twice as long as the bed so that moving on costs nothing.
    liquid: Vec<f64>,
    /// Mean concentration during the last crossing of each cell, deepest first.
    before: Vec<Block>,
}

/// One streamtube: up to four classes in `cells` cells, every class with the same number of pools.
#[derive(Debug, Clone, Default)]
pub struct Column {
    cells: usize,
    pools: usize,
    classes: Vec<ClassCells>,
    /// Rates and equilibrium ratios, pool by pool, class beside class.
    rates_s: [Each; MOST_POOLS],
    kappas: [Each; MOST_POOLS],
    base: usize,
    crossings: usize,
    /// Most that the water can hold of all classes together, per liquid volume of a cell; none: no limit.
    saturation: Option<f64>,
}

/// What a class starts with in every cell.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassStart {
    /// Rate (1/s at the reference temperature) of each pool, at most [`MOST_POOLS`].
    pub rates_s: Vec<f64>,
    /// Equilibrium ratio of each pool against the water (pool content per liquid volume over c).
    pub kappas: Vec<f64>,
    /// Content of each pool at the start, per liquid volume.
    pub contents: Vec<f64>,
}

impl Column {
    /// Sets up a dry, loaded column; reuses the memory of an earlier one. `cells` is rounded up to a multiple of
    /// [`BLOCK`]; missing pools count as empty.
    pub fn fill(&mut self, cells: usize, starts: &[ClassStart]) {
        let cells = cells.max(BLOCK).div_ceil(BLOCK) * BLOCK;
        self.cells = cells;
        self.pools = starts.iter().map(|s| s.rates_s.len()).max().unwrap_or(1).clamp(1, MOST_POOLS);
        self.base = 0;
        self.crossings = 0;
        self.saturation = None;
        let starts = starts.get(..MOST_SOLUTES).unwrap_or(starts);
        self.classes.resize_with(starts.len(), ClassCells::default);
        self.rates_s = Default::default();
        self.kappas = Default::default();
        for (n, (class, start)) in self.classes.iter_mut().zip(starts).enumerate() {
            // Slow pools first; missing ones come as empty pools of no rate.
            let mut order: Vec<usize> = (0..self.pools).collect();
            let raw = |v: &[f64], j: usize| v.get(j).copied().unwrap_or(0.0);
            order.sort_by(|a, b| raw(&start.rates_s, *a).total_cmp(&raw(&start.rates_s, *b)));
            let get = |v: &[f64], j: usize| order.get(j).map_or(0.0, |k| raw(v, *k));
            for j in 0..self.pools {
                if let (Some(rate), Some(kappa)) = (self.rates_s[j].get_mut(n), self.kappas[j].get_mut(n)) {
                    *rate = get(&start.rates_s, j);
                    *kappa = get(&start.kappas, j);
                }
            }
            class.pools.clear();
            for _ in 0..cells / BLOCK {
                for j in 0..self.pools {
                    class.pools.push([get(&start.contents, j); BLOCK]);
                }
            }
            class.before.clear();
            class.before.resize(cells / BLOCK, [0.0; BLOCK]);
            class.liquid.clear();
            class.liquid.resize(2 * cells, 0.0);
        }
    }

    /// Lets the bed start full of clean water instead of dry.
    pub fn flood(&mut self) {
        self.crossings = self.crossings.max(self.cells);
    }

    /// Lets the water hold at most `limit` of all classes together, per liquid volume of a cell. What a crossing dissolves
    /// beyond it goes back to the fastest pools of the cell, every class by the same factor.
    pub fn saturate_at(&mut self, limit: f64) {
        self.saturation = (limit > 0.0 && limit.is_finite()).then_some(limit);
    }

    /// Cells of the column.
    pub fn cells(&self) -> usize {
        self.cells
    }

    /// Moves every parcel on by one cell in `step_s`, with `rate_factors` on the rates of each class. Writes the
    /// concentration of the parcel that has just crossed the last cell to `out` (nothing if the front has not come
    /// that far) and what the water gained, per class and liquid volume of a cell, to `gained`.
    pub fn cross(&mut self, step_s: f64, rate_factors: &[f64], out: &mut [f64], gained: &mut [f64]) {
        let cells = self.cells;
        if self.base > cells {
            for class in &mut self.classes {
                class.liquid.copy_within(self.base..self.base + cells - 1, 0);
            }
            self.base = 0;
        }
        match self.pools {
            1 => self.march::<1>(step_s, rate_factors, out, gained),
            2 => self.march::<2>(step_s, rate_factors, out, gained),
            3 => self.march::<3>(step_s, rate_factors, out, gained),
            4 => self.march::<4>(step_s, rate_factors, out, gained),
            5 => self.march::<5>(step_s, rate_factors, out, gained),
            6 => self.march::<6>(step_s, rate_factors, out, gained),
            7 => self.march::<7>(step_s, rate_factors, out, gained),
            8 => self.march::<8>(step_s, rate_factors, out, gained),
            _ => self.march::<9>(step_s, rate_factors, out, gained),
        }
        if let Some(limit) = self.saturation {
            self.hold_below(limit, out, gained);
        }
        self.crossings += 1;
        self.base += 1;
    }

    /// Puts back what is dissolved beyond `limit`.
    fn hold_below(&mut self, limit: f64, out: &mut [f64], gained: &mut [f64]) {
        let (cells, base, pools) = (self.cells, self.base, self.pools);
        // Cells below the front hold nothing.
        let idle = (cells - 1).saturating_sub(self.crossings) / BLOCK * BLOCK;
        for first in (idle..cells).step_by(BLOCK) {
            let mut total = [0.0; BLOCK];
            for class in &self.classes {
                if let Some(c) = class.liquid.get(base + first..).and_then(|c| c.first_chunk::<BLOCK>()) {
                    for l in 0..BLOCK {
                        total[l] += c[l];
                    }
                }
            }
            let pair = [total[0].max(total[1]), total[2].max(total[3])];
            if pair[0] <= limit && pair[1] <= limit {
                continue;
            }
            for (lane, total) in total.into_iter().enumerate() {
                if total <= limit {
                    continue;
                }
                let too_much = 1.0 - limit / total;
                for (class, gained) in self.classes.iter_mut().zip(gained.iter_mut()) {
                    let fastest = class.pools.get_mut(first / BLOCK * pools + pools - 1);
                    if let (Some(c), Some(pool)) = (class.liquid.get_mut(base + first + lane), fastest) {
                        let back = *c * too_much;
                        *c -= back;
                        pool[lane] += back;
                        *gained -= back;
                    }
                }
            }
        }
        if self.crossings + 1 >= cells {
            for (out, class) in out.iter_mut().zip(&self.classes) {
                *out = class.liquid.get(base).copied().unwrap_or(0.0);
            }
        }
    }

    fn march<const J: usize>(
        &mut self,
        step_s: f64,
        rate_factors: &[f64],
        out: &mut [f64],
        gained: &mut [f64],
    ) {
        let cells = self.cells;
        // Cells that the front has not reached stay out: the first `idle` counted from the deep end.
        let idle = (cells - 1).saturating_sub(self.crossings);
        let fresh = self.crossings < cells;
        let (idle_blocks, idle_lanes) = (idle / BLOCK, idle % BLOCK);
        let (Some(rates), Some(kappas)) = (self.rates_s.first_chunk::<J>(), self.kappas.first_chunk::<J>())
        else {
            return;
        };
        let steps_s: Each = std::array::from_fn(|n| step_s * rate_factors.get(n).copied().unwrap_or(1.0));
        let crossings = Crossings::<J>::new(rates, kappas, &steps_s);
        for (l, class) in self.classes.iter_mut().enumerate() {
            let crossing = crossings.of(l);
            let Some(liquid) = class.liquid.get_mut(self.base..self.base + cells) else { return };
            if let Some(entering) = liquid.last_mut() {
                *entering = 0.0;
            }
            let mut sum = [0.0; BLOCK];
            let blocks = class
                .pools
                .chunks_exact_mut(J)
                .zip(liquid.chunks_exact_mut(BLOCK))
                .zip(class.before.iter_mut())
                .skip(idle_blocks);
            let mut skip_lanes = idle_lanes;
            for (n, ((pools, c), before)) in blocks.enumerate() {
                let (Ok(pools), Ok(c)) = (<&mut [Block; J]>::try_from(pools), <&mut Block>::try_from(c))
                else {
                    return;
                };
                if fresh && n == 0 {
                    // The front has just come to the first lane of this block.
                    let first = crossings.first_of(l);
                    for lane in skip_lanes..BLOCK {
                        let with = if lane == skip_lanes { &first } else { &crossing };
                        let new = with.one(pools, before, lane, c[lane]);
                        sum[lane] += new - c[lane];
                        c[lane] = new;
                    }
                    skip_lanes = 0;
                } else {
                    crossing.four(pools, before, c, &mut sum);
                }
            }
            if let Some(g) = gained.get_mut(l) {
                *g = (sum[0] + sum[1]) + (sum[2] + sum[3]);
            }
            if idle == 0
                && let (Some(o), Some(c)) = (out.get_mut(l), liquid.first())
            {
                *o = *c;
            }
        }
    }

    /// Content of the grains of class `l`, summed over cells, per liquid volume of a cell.
    pub fn in_grains(&self, l: usize) -> f64 {
        self.classes.get(l).map_or(0.0, |c| c.pools.iter().map(|b| (b[0] + b[1]) + (b[2] + b[3])).sum())
    }

    /// Content of the water still in the bed, summed over cells, per liquid volume of a cell: every parcel that has
    /// not crossed the last cell.
    pub fn in_liquid(&self, l: usize) -> f64 {
        // After a crossing the parcel at `base - 1` has left; `base..base + cells - 1` remain.
        self.classes.get(l).map_or(0.0, |c| {
            c.liquid.get(self.base..self.base + self.cells - 1).map_or(0.0, |w| w.iter().sum())
        })
    }

    /// Content of the grains and of the water of class `l` in each cell, from the top down, per liquid volume of a cell. The
    /// parcel that is about to enter a cell counts as being in it, so the top cell holds fresh water.
    pub fn by_depth(&self, l: usize) -> (Vec<f64>, Vec<f64>) {
        let (mut grains, mut water) = (vec![0.0; self.cells], vec![0.0; self.cells]);
        if let Some(class) = self.classes.get(l) {
            // The deepest cell comes first in here.
            let sums = class.pools.chunks_exact(self.pools.max(1)).flat_map(|block| {
                let mut sum = [0.0; BLOCK];
                for pool in block {
                    for (s, p) in sum.iter_mut().zip(pool) {
                        *s += p;
                    }
                }
                sum
            });
            for (cell, sum) in grains.iter_mut().rev().zip(sums) {
                *cell = sum;
            }
            if let Some(parcels) = class.liquid.get(self.base..self.base + self.cells.saturating_sub(1)) {
                for (cell, c) in water.iter_mut().rev().zip(parcels) {
                    *cell = *c;
                }
            }
        }
        (grains, water)
    }

    /// Concentration of the parcel that will leave next.
    pub fn next_out(&self, l: usize) -> f64 {
        self.classes.get(l).and_then(|c| c.liquid.get(self.base)).copied().unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fast_decay_is_close_to_the_exponential() {
        for i in 0..400 {
            let x = f64::from(i) * 0.05;
            let rel = (decay(&[x])[0] / (-x).exp() - 1.0).abs();
            assert!(rel < 3e-6 * (1.0 + x * x * x), "{x} {rel}");
        }
        assert!(decay(&[1e9])[0] >= 0.0 && decay(&[1e9])[0] < 1e-17);
        assert!((decay(&[0.0])[0] - 1.0).abs() < 1e-16);
    }

    #[test]
    fn what_leaves_the_grains_is_in_the_water_or_the_cup() {
        let start = ClassStart {
            rates_s: vec![3.0, 0.1, 40.0],
            kappas: vec![0.5, 2.0, 0.0],
            contents: vec![10.0, 30.0, 5.0],
        };
        let mut column = Column::default();
        column.fill(10, &[start]);
        let first = column.in_grains(0);
        let (mut out, mut gained, mut cup) = ([0.0], [0.0], 0.0);
        for n in 0..200 {
            column.cross(0.05 + 0.01 * f64::from(n % 7), &[1.0], &mut out, &mut gained);
            if n + 1 >= column.cells() as i32 {
                cup += out[0];
            }
            let all = column.in_grains(0) + column.in_liquid(0) + cup;
            assert!((all - first).abs() < 1e-11 * first, "{n} {all} {first}");
        }
        assert!(cup > 0.5 * first);
    }
}
