//! Separation of causes: how much of what is left after the recipe comes with the person, the station, the coffee,
//! the day, and how much is plain scatter. A linear mixed model with crossed random factors.
//!
//! y = X b + Σ Z_i u_i + e, u_i ~ N(0, σ_i²), e ~ N(0, σ_e²). Variances by restricted maximum likelihood (Patterson
//! and Thompson, Biometrika 58:545–554, 1971 \[memory\]), through Henderson's mixed-model equations, found by EM steps
//! with extrapolation (SQUAREM; Varadhan and Roland, Scand. J. Stat. 35:335–353, 2008 \[memory\]).

use crate::maths::{dense, tails};

/// One factor: the level (0, 1, …) of every observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor<'a> {
    /// Name for messages ("person", "station").
    pub name: &'a str,
    /// Level of each observation, one for each value of `y`.
    pub level: Vec<usize>,
}

/// Why no fit was made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MixedFault {
    /// Lengths differ.
    #[error("{}", say!("control-mixed-length", what = what, got = got, want = want))]
    Length {
        /// Which list.
        what: String,
        /// Its length.
        got: usize,
        /// Number of values.
        want: usize,
    },
    /// Too little to fit.
    #[error("{}", say!("control-mixed-too-few", n = .0))]
    TooFew(usize),
    /// More levels than the fit is built for.
    #[error("{}", say!("control-mixed-too-many", n = .0))]
    TooMany(usize),
    /// Values that are not finite.
    #[error("{}", word!("control-mixed-not-finite"))]
    NotFinite,
    /// The fixed part is not of full rank, or the numbers are beyond arithmetic.
    #[error("{}", word!("control-mixed-singular"))]
    Singular,
}

/// One random factor, fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorFit {
    /// Name given.
    pub name: String,
    /// Variance between levels.
    pub variance: f64,
    /// Range of the standard deviation that the restricted likelihood supports at 95 % (profile).
    pub sd_range: (f64, f64),
    /// Best prediction of each level's effect (shrunk toward zero).
    pub effect: Vec<f64>,
    /// Standard error of that prediction.
    pub effect_se: Vec<f64>,
}

impl FactorFit {
    /// Standard deviation between levels.
    #[must_use]
    pub fn sd(&self) -> f64 {
        self.variance.max(0.0).sqrt()
    }
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedFit {
    /// Fixed effects, intercept first.
    pub fixed: Vec<f64>,
    /// Their standard errors.
    pub fixed_se: Vec<f64>,
    /// Random factors, in the order given.
    pub factors: Vec<FactorFit>,
    /// Residual variance.
    pub residual: f64,
    /// Minus twice the restricted log likelihood.
    pub deviance: f64,
    /// Steps used.
    pub steps: u32,
    /// Whether the steps came to rest.
    pub settled: bool,
}

/// Fits the model. `columns` are the fixed covariates besides the intercept (each as long as `y`), for example the
/// deviation of the dose.
///
/// # Errors
/// [`MixedFault`].
pub fn fit(y: &[f64], columns: &[Vec<f64>], factors: &[Factor<'_>]) -> Result<MixedFit, MixedFault> {
    let problem = Problem::new(y, columns, factors)?;
    let start = vec![problem.spread / (factors.len() + 1) as f64; factors.len() + 1];
    let (theta, steps, settled) = problem.climb(start, None)?;
    let solved = problem.solve(&theta).ok_or(MixedFault::Singular)?;
    let p = problem.p;
    let mut at = p;
    let mut fits = Vec::new();
    for (k, factor) in factors.iter().enumerate() {
        let q = problem.q[k];
        let range = problem.profile(&theta, k, solved.deviance);
        fits.push(FactorFit {
            name: factor.name.to_owned(),
            variance: theta[k],
            sd_range: range,
            effect: solved.solution[at..at + q].to_vec(),
            effect_se: (at..at + q).map(|i| solved.inverse[i * problem.size + i].max(0.0).sqrt()).collect(),
        });
        at += q;
    }
    let mut fixed = solved.solution[..p].to_vec();
    fixed[0] += problem.mean;
    Ok(MixedFit {
        fixed,
        fixed_se: (0..p).map(|i| solved.inverse[i * problem.size + i].max(0.0).sqrt()).collect(),
        factors: fits,
        residual: theta[factors.len()],
        deviance: solved.deviance,
        steps,
        settled,
    })
}

struct Problem {
    n: usize,
    p: usize,
    q: Vec<usize>,
    size: usize,
    /// Cross products of all columns (fixed, then one column a level), and with y.
    cross: Vec<f64>,
    with_y: Vec<f64>,
    y_y: f64,
    spread: f64,
    /// Taken off y, to go back into the intercept.
    mean: f64,
}

struct Solved {
    solution: Vec<f64>,
    /// Inverse of the mixed-model matrix, already in the unit of a variance.
    inverse: Vec<f64>,
    residual_ss: f64,
    deviance: f64,
}

impl Problem {
    fn new(y: &[f64], columns: &[Vec<f64>], factors: &[Factor<'_>]) -> Result<Self, MixedFault> {
        let n = y.len();
        for (i, c) in columns.iter().enumerate() {
            if c.len() != n {
                return Err(MixedFault::Length {
                    what: say!("control-mixed-column", at = i + 1),
                    got: c.len(),
                    want: n,
                });
            }
        }
        for f in factors {
            if f.level.len() != n {
                return Err(MixedFault::Length { what: f.name.to_owned(), got: f.level.len(), want: n });
            }
        }
        if y.iter().chain(columns.iter().flatten()).any(|v| !v.is_finite()) {
            return Err(MixedFault::NotFinite);
        }
        let p = columns.len() + 1;
        if n < p + 2 {
            return Err(MixedFault::TooFew(n));
        }
        let q: Vec<usize> =
            factors.iter().map(|f| f.level.iter().max().map_or(0, |m| m.saturating_add(1))).collect();
        let levels = q.iter().fold(0usize, |a, b| a.saturating_add(*b));
        if levels > 300 {
            return Err(MixedFault::TooMany(levels));
        }
        let size = p + levels;
        // Centre y: the mean goes back into the intercept at the end, and small scatter on a large mean keeps its
        // digits.
        let mean = y.iter().sum::<f64>() / n as f64;
        let mut cross = vec![0.0; size * size];
        let mut with_y = vec![0.0; size];
        let mut y_y = 0.0;
        let mut entries: Vec<(usize, f64)> = Vec::new();
        for (row, value) in y.iter().enumerate() {
            entries.clear();
            entries.push((0, 1.0));
            entries.extend(columns.iter().enumerate().map(|(i, c)| (i + 1, c[row])));
            let mut base = p;
            for (f, width) in factors.iter().zip(&q) {
                entries.push((base + f.level[row], 1.0));
                base += width;
            }
            let centred = value - mean;
            for &(i, a) in &entries {
                with_y[i] += a * centred;
                for &(j, b) in &entries {
                    cross[i * size + j] += a * b;
                }
            }
            y_y += centred * centred;
        }
        let spread = (y_y / (n as f64 - 1.0)).max(1e-12);
        // The fixed part must be of full rank: no pivot may vanish against its own column.
        let fixed: Vec<f64> = (0..p * p).map(|i| cross[i / p * size + i % p]).collect();
        let pivots = dense::cholesky(&fixed, p).ok_or(MixedFault::Singular)?;
        if (0..p).any(|i| pivots[i * p + i].powi(2) < 1e-10 * fixed[i * p + i]) {
            return Err(MixedFault::Singular);
        }
        Ok(Self { n, p, q, size, cross, with_y, y_y, spread, mean })
    }

    /// Mixed-model equations for variances `theta` (factors, residual last).
    fn solve(&self, theta: &[f64]) -> Option<Solved> {
        let size = self.size;
        let residual = *theta.last()?;
        let mut a: Vec<f64> = self.cross.iter().map(|c| c / residual).collect();
        let mut at = self.p;
        let mut log_g = 0.0;
        for (k, q) in self.q.iter().enumerate() {
            for i in at..at + q {
                a[i * size + i] += 1.0 / theta[k];
            }
            log_g += *q as f64 * libm::log(theta[k]);
            at += q;
        }
        let l = dense::cholesky(&a, size)?;
        let mut solution: Vec<f64> = self.with_y.iter().map(|v| v / residual).collect();
        dense::solve(&l, &mut solution);
        // y'Py, without cancellation trouble: y'R⁻¹y − solution' right-hand side.
        let fitted = dense::dot(&solution, &self.with_y) / residual;
        let y_p_y = self.y_y / residual - fitted;
        let n = self.n as f64;
        let deviance = (n - self.p as f64) * libm::log(2.0 * std::f64::consts::PI)
            + n * libm::log(residual)
            + log_g
            + dense::log_det(&l, size)
            + y_p_y;
        // Residual sum of squares of y − X b − Z u.
        let twice = dense::times(&self.cross, &solution);
        let residual_ss =
            (self.y_y - 2.0 * dense::dot(&solution, &self.with_y) + dense::dot(&solution, &twice)).max(0.0);
        let inverse = dense::inverse(&l, size);
        deviance.is_finite().then_some(Solved { solution, inverse, residual_ss, deviance })
    }

    /// One EM step of the variances.
    fn em(&self, theta: &[f64], held: Option<usize>) -> Option<(Vec<f64>, f64)> {
        let s = self.solve(theta)?;
        let size = self.size;
        let mut next = theta.to_vec();
        let mut at = self.p;
        let floor = self.spread * 1e-12;
        for (k, q) in self.q.iter().enumerate() {
            let squares: f64 = s.solution[at..at + q].iter().map(|u| u * u).sum();
            let trace: f64 = (at..at + q).map(|i| s.inverse[i * size + i]).sum();
            if held != Some(k) && *q > 0 {
                next[k] = ((squares + trace) / *q as f64).max(floor);
            }
            at += q;
        }
        // E|e|² = |ê|² + trace of its conditional covariance.
        let trace: f64 = s.inverse.iter().zip(&self.cross).map(|(a, b)| a * b).sum();
        let last = next.len() - 1;
        next[last] = ((s.residual_ss + trace) / self.n as f64).max(floor);
        Some((next, s.deviance))
    }

    fn climb(&self, mut theta: Vec<f64>, held: Option<usize>) -> Result<(Vec<f64>, u32, bool), MixedFault> {
        let logs = |t: &[f64]| t.iter().map(|v| libm::log(*v)).collect::<Vec<f64>>();
        for step in 0..400u32 {
            let (one, before) = self.em(&theta, held).ok_or(MixedFault::Singular)?;
            let (two, _) = self.em(&one, held).ok_or(MixedFault::Singular)?;
            let (a, b, c) = (logs(&theta), logs(&one), logs(&two));
            let r: Vec<f64> = b.iter().zip(&a).map(|(x, y)| x - y).collect();
            let v: Vec<f64> = c.iter().zip(&b).zip(&r).map(|((x, y), r)| x - y - r).collect();
            let (rr, vv) = (dense::dot(&r, &r), dense::dot(&v, &v));
            if rr.sqrt() < 1e-10 {
                return Ok((two, step, true));
            }
            let mut best = two.clone();
            if vv > 0.0 {
                let stretch = (rr / vv).sqrt().clamp(1.0, 1e4);
                let leap: Vec<f64> = a
                    .iter()
                    .zip(&r)
                    .zip(&v)
                    .map(|((a, r), v)| {
                        libm::exp((a + 2.0 * stretch * r + stretch * stretch * v).clamp(-300.0, 300.0))
                    })
                    .map(|x| x.max(self.spread * 1e-12))
                    .collect();
                let mut leap = leap;
                if let Some(k) = held {
                    leap[k] = theta[k];
                }
                // Keep the leap only where it does not make the likelihood worse.
                if let Some((after, deviance)) = self.em(&leap, held)
                    && deviance <= before + 1e-9
                {
                    best = after;
                }
            }
            theta = best;
        }
        Ok((theta, 400, false))
    }

    /// Range of a factor's standard deviation in which the deviance, the others fitted anew, stays within 3.841 of
    /// its least value (95 % point of chi-square with one degree of freedom).
    fn profile(&self, theta: &[f64], k: usize, least: f64) -> (f64, f64) {
        let excess = |sd: f64| {
            let mut t = theta.to_vec();
            t[k] = (sd * sd).max(self.spread * 1e-12);
            let fitted = self.climb_roughly(t, k);
            fitted.map_or(f64::INFINITY, |d| d - least)
        };
        const LIMIT: f64 = 3.841_458_820_694_124;
        let best = theta[k].sqrt();
        let scale = self.spread.sqrt();
        let low = if excess(1e-4 * scale) <= LIMIT || best <= 1e-4 * scale {
            0.0
        } else {
            cross(1e-4 * scale, best, |sd| excess(sd) <= LIMIT)
        };
        let mut top = best.max(0.05 * scale) * 2.0;
        let mut tries = 0;
        while excess(top) <= LIMIT && tries < 12 {
            top *= 2.0;
            tries += 1;
        }
        let high = cross(best.max(1e-4 * scale), top, |sd| excess(sd) > LIMIT);
        (low, high)
    }

    /// Deviance with one variance held and the others at a few EM steps from where they were: near enough for a
    /// range.
    fn climb_roughly(&self, mut theta: Vec<f64>, held: usize) -> Option<f64> {
        let mut last = f64::INFINITY;
        for _ in 0..40 {
            let (next, deviance) = self.em(&theta, Some(held))?;
            if (last - deviance).abs() < 1e-5 {
                return Some(deviance);
            }
            last = deviance;
            theta = next;
        }
        Some(last)
    }
}

/// Point of `low..high` at which a condition turns true (false at `low`), to a thousandth.
fn cross(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let mid = (low * high).sqrt();
        if holds(mid) {
            high = mid
        } else {
            low = mid
        }
        if high / low < 1.0005 {
            break;
        }
    }
    (low * high).sqrt()
}

impl MixedFit {
    /// Share of the variance (factors and residual) that comes with each factor, 0–1, residual last.
    #[must_use]
    pub fn shares(&self) -> Vec<f64> {
        let all: Vec<f64> = self.factors.iter().map(|f| f.variance).chain([self.residual]).collect();
        let total: f64 = all.iter().sum();
        all.iter().map(|v| if total > 0.0 { v / total } else { 0.0 }).collect()
    }

    /// Probability that the effect of a level is above zero, taking the variances as known (normal), with `dof`
    /// degrees of freedom for the residual where that should widen it.
    #[must_use]
    pub fn p_above_zero(&self, factor: usize, level: usize, dof: f64) -> Option<f64> {
        let f = self.factors.get(factor)?;
        let (effect, se) = (f.effect.get(level)?, f.effect_se.get(level)?);
        Some(if *se > 0.0 { tails::student_cdf(effect / se, dof) } else { 0.5 })
    }
}
