//! Average run lengths: how many points a chart takes, on average, until it signals, and the limits that give a
//! wanted run length. Normal values of known standard deviation, independent of one another.
//!
//! Cumulative sums and weighted averages by integral equation on Gauss–Legendre nodes (Crowder, Technometrics
//! 29:401–407, 1987 \[memory\]), run rules by Markov chain (Champ and Woodall 1987 \[memory\]). Two-sided sums from the
//! two one-sided ones (Kemp 1961 \[memory\]).

use std::collections::BTreeMap;

use super::rules::RunRule;
use crate::maths::{draw::Draws, gauss::gauss_legendre, general::solve_general, normal};

/// Longest run length that is computed; beyond it the answer is this number.
pub const LONGEST: f64 = 1e9;

/// Points until a single value lies beyond `width` standard deviations, when the mean is off by `shift_sd`.
#[must_use]
pub fn individuals(width: f64, shift_sd: f64) -> f64 {
    let p = normal::cdf(-width - shift_sd) + normal::cdf(shift_sd - width);
    tame(1.0 / p)
}

/// Width of the limits of single values that gives `run_length` points between false alarms.
#[must_use]
pub fn individuals_width(run_length: f64) -> f64 {
    -normal::quantile(0.5 / run_length.clamp(1.000_001, LONGEST))
}

/// Points until a moving range of two lies above `limit` standard deviations of a value. Two ranges in a row share a value,
/// so that this is no matter of their distribution alone: the run length from a last value x solves
/// L(x) = 1 + ∫ φ(y) L(y) dy over |y − x| ≤ limit, here as a sum of even Chebyshev polynomials met at their nodes.
#[must_use]
pub fn moving_range(limit: f64) -> f64 {
    if !(limit.is_finite() && limit > 0.0) {
        return 2.0;
    }
    const TERMS: usize = 30;
    /// Farther from the mean nothing counts.
    const FARTHEST: f64 = 8.0;
    let rule = gauss_legendre(64);
    let even = |x: f64| {
        // T₀, T₂, T₄ … by T₂ₙ₊₂ = 2 T₂ T₂ₙ − T₂ₙ₋₂.
        let t = (x / FARTHEST).clamp(-1.0, 1.0);
        let two = 2.0 * t * t - 1.0;
        let mut terms = [1.0; TERMS];
        terms[1] = two;
        for n in 2..TERMS {
            terms[n] = 2.0 * two * terms[n - 1] - terms[n - 2];
        }
        terms
    };
    let integral = |low: f64, high: f64| {
        let (half, mid) = (0.5 * (high - low), 0.5 * (high + low));
        let mut sums = [0.0; TERMS];
        for (x, w) in &rule {
            let y = mid + half * x;
            let weight = half * w * normal::pdf(y);
            for (sum, term) in sums.iter_mut().zip(even(y)) {
                *sum += weight * term;
            }
        }
        sums
    };
    let mut a = Vec::with_capacity(TERMS * TERMS);
    for i in 0..TERMS {
        let angle = (2 * i + 1) as f64 * std::f64::consts::PI / (4 * TERMS) as f64;
        let x = FARTHEST * libm::cos(angle);
        let within = integral((x - limit).max(-FARTHEST), (x + limit).min(FARTHEST));
        a.extend(even(x).iter().zip(within).map(|(here, there)| here - there));
    }
    let Some(terms) = solve_general(a, vec![1.0; TERMS]) else { return LONGEST };
    let all = integral(-FARTHEST, FARTHEST);
    // The first value has no range.
    tame(1.0 + terms.iter().zip(all).map(|(c, whole)| c * whole).sum::<f64>())
}

/// Upper limit of the moving range of two, standard deviations of a value, that gives `run_length` points between false
/// alarms.
#[must_use]
pub fn moving_range_limit(run_length: f64) -> f64 {
    find(0.05, 12.0, run_length, moving_range)
}

/// What marks a point on a set of charts over the same values, all in standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marks {
    /// Width of the limits of single values.
    pub single: f64,
    /// Upper limit of the moving range of two.
    pub range: f64,
    /// Weight of the newest value in the weighted average, above 0 to 1.
    pub lambda: f64,
    /// Width of its limits in standard deviations of the average.
    pub average: f64,
    /// Slack of the cumulative sums.
    pub slack: f64,
    /// Their decision value.
    pub sums: f64,
}

impl Marks {
    /// Points until the first of them marks one, or one of the two rules of [`RunRule::CAFE`] does, while nothing happens.
    /// Counted over simulated values, good to 3 % below about 300 points and to 10 % below 4000; the same each time.
    #[must_use]
    pub fn run_length(&self) -> f64 {
        /// Values drawn at most, and alarms that are enough.
        const MOST: u32 = 400_000;
        const ENOUGH: u32 = 1500;
        let mut draws = Draws::new(7);
        let half = self.average * (self.lambda / (2.0 - self.lambda)).sqrt();
        let (mut points, mut alarms) = (0u32, 0u32);
        while points < MOST && alarms < ENOUGH {
            let (mut average, mut up, mut down, mut run) = (0.0, 0.0, 0.0, 0i32);
            let mut last: Option<f64> = None;
            while points < MOST {
                points += 1;
                let z = draws.normal();
                average = self.lambda * z + (1.0 - self.lambda) * average;
                up = f64::max(0.0, up + z - self.slack);
                down = f64::max(0.0, down - z - self.slack);
                let side = if z > 0.0 { 1 } else { -1 };
                run = if run.signum() == side { run + side } else { side };
                let range = last.replace(z).is_some_and(|last| (z - last).abs() > self.range);
                let beyond = z.abs() > self.single.min(3.0) || average.abs() > half;
                if range || beyond || up > self.sums || down > self.sums || run.abs() >= 8 {
                    alarms += 1;
                    break;
                }
            }
        }
        tame(f64::from(points) / f64::from(alarms.max(1)))
    }
}

/// Run length of a cumulative sum, both sides, started at zero. `k` and `h` in standard deviations.
#[must_use]
pub fn cusum(k: f64, h: f64, shift_sd: f64) -> f64 {
    let up = cusum_one_sided(k, h, shift_sd, 0.0);
    let down = cusum_one_sided(k, h, -shift_sd, 0.0);
    tame(1.0 / (1.0 / up + 1.0 / down))
}

/// Run length of the upper cumulative sum that starts at `start` (0 to `h`).
#[must_use]
pub fn cusum_one_sided(k: f64, h: f64, shift_sd: f64, start: f64) -> f64 {
    if !(k.is_finite() && h.is_finite() && shift_sd.is_finite() && start.is_finite()) || h <= 0.0 {
        return 1.0;
    }
    let rule = nodes(h, 0.0, h);
    let n = rule.len() + 1;
    // Unknowns: the run length from zero, then from every node.
    let mut a = vec![0.0; n * n];
    let froms = std::iter::once(0.0).chain(rule.iter().map(|r| r.0));
    for (i, from) in froms.enumerate() {
        a[i * n] -= normal::cdf(k - shift_sd - from);
        for (j, (s, w)) in rule.iter().enumerate() {
            a[i * n + j + 1] -= w * normal::pdf(s - from + k - shift_sd);
        }
        a[i * n + i] += 1.0;
    }
    let Some(lengths) = solve_general(a, vec![1.0; n]) else { return LONGEST };
    let from = start.clamp(0.0, h);
    let mut length = 1.0 + lengths[0] * normal::cdf(k - shift_sd - from);
    for ((s, w), l) in rule.iter().zip(&lengths[1..]) {
        length += w * l * normal::pdf(s - from + k - shift_sd);
    }
    tame(length)
}

/// Run length of a weighted average with steady limits, started on target. `width` in standard deviations of the
/// average, `shift_sd` in standard deviations of a value.
#[must_use]
pub fn ewma(lambda: f64, width: f64, shift_sd: f64) -> f64 {
    if !(lambda > 0.0 && lambda <= 1.0 && width > 0.0 && width.is_finite() && shift_sd.is_finite()) {
        return 1.0;
    }
    if lambda == 1.0 {
        return individuals(width, shift_sd);
    }
    let half = width * (lambda / (2.0 - lambda)).sqrt();
    let rule = nodes(half / lambda, -half, half);
    let n = rule.len();
    let mut a = vec![0.0; n * n];
    let weight = |y: f64, from: f64| normal::pdf((y - (1.0 - lambda) * from) / lambda - shift_sd) / lambda;
    for (i, (from, _)) in rule.iter().enumerate() {
        for (j, (y, w)) in rule.iter().enumerate() {
            a[i * n + j] -= w * weight(*y, *from);
        }
        a[i * n + i] += 1.0;
    }
    let Some(lengths) = solve_general(a, vec![1.0; n]) else { return LONGEST };
    tame(1.0 + rule.iter().zip(&lengths).map(|((y, w), l)| w * l * weight(*y, 0.0)).sum::<f64>())
}

/// Decision value h (in standard deviations) of a two-sided cumulative sum with slack `k` that gives `run_length`
/// points between false alarms.
#[must_use]
pub fn cusum_limit(k: f64, run_length: f64) -> f64 {
    let k = k.clamp(0.05, 3.0);
    find(0.05, 30.0, run_length, |h| cusum(k, h, 0.0))
}

/// Width of the limits of a weighted average that gives `run_length` points between false alarms.
#[must_use]
pub fn ewma_width(lambda: f64, run_length: f64) -> f64 {
    let lambda = lambda.clamp(0.01, 1.0);
    find(0.2, 6.0, run_length, |width| ewma(lambda, width, 0.0))
}

/// Points between false alarms, from alarms a month that the café puts up with and points a month. At least 1.
#[must_use]
pub fn from_false_alarms(alarms_a_month: f64, points_a_month: f64) -> f64 {
    let length = points_a_month / alarms_a_month.max(1e-9);
    if length.is_finite() { length.clamp(1.0, LONGEST) } else { LONGEST }
}

/// Run length of a set of run rules when the mean is off by `shift_sd`, by Markov chain over all patterns that can
/// still matter. The first four rules only; trend and alternation are not normal-zone rules and are passed over.
#[must_use]
pub fn rules(set: &[RunRule], shift_sd: f64) -> f64 {
    let has = |rule| set.contains(&rule);
    // Zone edges; a point falls in zone i when it lies between edge i and edge i + 1.
    let edges = [f64::NEG_INFINITY, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, f64::INFINITY];
    let chance: Vec<f64> =
        edges.windows(2).map(|e| normal::cdf(e[1] - shift_sd) - normal::cdf(e[0] - shift_sd)).collect();
    let mut states: BTreeMap<Pattern, usize> = BTreeMap::new();
    let mut order = vec![Pattern::default()];
    states.insert(Pattern::default(), 0);
    let mut moves: Vec<Vec<(usize, f64)>> = Vec::new();
    let mut at = 0;
    while let Some(&state) = order.get(at) {
        let mut row = Vec::new();
        for (zone, &p) in chance.iter().enumerate() {
            if let Some(next) = state.after(zone, &has) {
                let id = *states.entry(next).or_insert_with(|| {
                    order.push(next);
                    order.len() - 1
                });
                row.push((id, p));
            }
        }
        moves.push(row);
        at += 1;
    }
    // Survival: the run length is the sum over n of the chance that no signal has come by point n.
    let mut mass = vec![0.0; order.len()];
    mass[0] = 1.0;
    let (mut length, mut before) = (0.0, 1.0);
    for n in 0..2_000_000u32 {
        let alive: f64 = mass.iter().sum();
        length += alive;
        if alive < 1e-14 {
            break;
        }
        // Late on, the chance of surviving falls by a constant factor: sum the rest as a geometric series.
        let factor = alive / before;
        let mut next = vec![0.0; mass.len()];
        for (row, m) in moves.iter().zip(&mass) {
            for &(to, p) in row {
                next[to] += p * m;
            }
        }
        let coming = next.iter().sum::<f64>() / alive;
        if n > 200 && (coming - factor).abs() < 1e-13 && coming < 1.0 {
            length += alive * coming / (1.0 - coming);
            break;
        }
        before = alive;
        mass = next;
    }
    tame(length)
}

/// What the last points must be remembered for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Pattern {
    beyond_two: [u8; 2],
    beyond_one: [u8; 2],
    run: i8,
}

impl Pattern {
    /// The pattern after a point in `zone` (0 lowest … 7 highest), or `None` when a rule fires.
    fn after(self, zone: usize, has: &impl Fn(RunRule) -> bool) -> Option<Self> {
        if has(RunRule::OneBeyondThree) && (zone == 0 || zone == 7) {
            return None;
        }
        let mut next = Self::default();
        for (side, (two, one)) in [(zone >= 6, zone >= 5), (zone <= 1, zone <= 2)].into_iter().enumerate() {
            if has(RunRule::TwoOfThreeBeyondTwo) {
                let past = self.beyond_two[side];
                if two && past.count_ones() >= 1 {
                    return None;
                }
                next.beyond_two[side] = ((past << 1) | u8::from(two)) & 0b11;
            }
            if has(RunRule::FourOfFiveBeyondOne) {
                let past = self.beyond_one[side];
                if one && past.count_ones() >= 3 {
                    return None;
                }
                next.beyond_one[side] = ((past << 1) | u8::from(one)) & 0b1111;
            }
        }
        if has(RunRule::EightOnOneSide) {
            let sign: i8 = if zone >= 4 { 1 } else { -1 };
            let run = if self.run.signum() == sign { self.run + sign } else { sign };
            if run.abs() >= 8 {
                return None;
            }
            next.run = run;
        }
        Some(next)
    }
}

/// Gauss–Legendre nodes on `low..high`, in number fit for a kernel one standard deviation wide over `span` of them.
fn nodes(span: f64, low: f64, high: f64) -> Vec<(f64, f64)> {
    let count = (20.0 + 4.0 * span).clamp(24.0, 120.0) as usize;
    let (half, mid) = (0.5 * (high - low), 0.5 * (high + low));
    gauss_legendre(count).into_iter().map(|(x, w)| (mid + half * x, half * w)).collect()
}

fn tame(length: f64) -> f64 {
    if length.is_finite() { length.clamp(1.0, LONGEST) } else { LONGEST }
}

/// Smallest x of `low..high` whose rising `length` reaches `wanted`.
fn find(mut low: f64, mut high: f64, wanted: f64, length: impl Fn(f64) -> f64) -> f64 {
    let wanted = if wanted.is_nan() { 1.0 } else { wanted };
    for _ in 0..48 {
        let mid = 0.5 * (low + high);
        if length(mid) < wanted {
            low = mid
        } else {
            high = mid
        }
        if high - low < 1e-9 {
            break;
        }
    }
    0.5 * (low + high)
}
