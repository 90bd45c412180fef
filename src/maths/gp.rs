//! Gaussian-process regression with fixed hyperparameters (Rasmussen and Williams 2006, Algorithm 2.1, equations
//! 2.25–2.30 and 5.8) and closed forms for decisions on normals.

use super::{dense, fast, normal};

/// Stationary kernels on scaled distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kernel {
    /// s² exp(−r²/2).
    SquaredExponential,
    /// s² (1 + √3 r) exp(−√3 r).
    Matern32,
    /// s² (1 + √5 r + 5r²/3) exp(−√5 r).
    Matern52,
}

impl Kernel {
    /// Covariance of two places with signal variance `s2` and one length scale a coordinate.
    #[must_use]
    pub fn at(self, s2: f64, scales: &[f64], a: &[f64], b: &[f64]) -> f64 {
        let r2: f64 = a.iter().zip(b).zip(scales).map(|((x, y), s)| ((x - y) / s) * ((x - y) / s)).sum();
        let r = r2.sqrt();
        s2 * match self {
            Self::SquaredExponential => fast::exp(-0.5 * r2),
            Self::Matern32 => {
                let q = 3f64.sqrt() * r;
                (1.0 + q) * fast::exp(-q)
            }
            Self::Matern52 => {
                let q = 5f64.sqrt() * r;
                (1.0 + q + q * q / 3.0) * fast::exp(-q)
            }
        }
    }
}

/// A fitted process with zero mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Process {
    kernel: Kernel,
    s2: f64,
    scales: Vec<f64>,
    places: Vec<Vec<f64>>,
    factor: Vec<f64>,
    alpha: Vec<f64>,
    /// Log marginal likelihood of the data.
    pub log_evidence: f64,
}

impl Process {
    /// Conditions on values at places with a noise variance each. `None` when the covariance is not positive definite
    /// or lengths differ.
    #[must_use]
    pub fn new(
        kernel: Kernel,
        s2: f64,
        scales: &[f64],
        places: &[Vec<f64>],
        values: &[f64],
        noise: &[f64],
    ) -> Option<Self> {
        let n = places.len();
        if values.len() != n || noise.len() != n {
            return None;
        }
        let mut k = Vec::with_capacity(n * n);
        for (i, (a, own)) in places.iter().zip(noise).enumerate() {
            for (j, b) in places.iter().enumerate() {
                k.push(kernel.at(s2, scales, a, b) + if i == j { *own } else { 0.0 });
            }
        }
        let factor = dense::cholesky(&k, n)?;
        let mut alpha = values.to_vec();
        dense::solve(&factor, &mut alpha);
        let log_evidence = -0.5 * dense::dot(values, &alpha)
            - 0.5 * dense::log_det(&factor, n)
            - n as f64 * normal::LN_SQRT_2PI;
        Some(Self {
            kernel,
            s2,
            scales: scales.to_vec(),
            places: places.to_vec(),
            factor,
            alpha,
            log_evidence,
        })
    }

    /// Mean and covariance (row-major) of the latent function at new places.
    #[must_use]
    pub fn predict(&self, at: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
        let cross: Vec<Vec<f64>> = at
            .iter()
            .map(|x| self.places.iter().map(|p| self.kernel.at(self.s2, &self.scales, x, p)).collect())
            .collect();
        let mean = cross.iter().map(|k| dense::dot(k, &self.alpha)).collect();
        let whitened: Vec<Vec<f64>> = cross
            .into_iter()
            .map(|mut k| {
                dense::forward(&self.factor, &mut k);
                k
            })
            .collect();
        let mut covariance = Vec::with_capacity(at.len() * at.len());
        for (x, v) in at.iter().zip(&whitened) {
            for (y, w) in at.iter().zip(&whitened) {
                covariance.push(self.kernel.at(self.s2, &self.scales, x, y) - dense::dot(v, w));
            }
        }
        (mean, covariance)
    }
}

/// Expected improvement E[max(f − best, 0)] for f ~ N(mean, sd²).
#[must_use]
pub fn expected_improvement(mean: f64, sd: f64, best: f64) -> f64 {
    log_expected_improvement(mean, sd, best).exp()
}

/// Its logarithm, exact far into the tail, where σ(zΦ + φ) would cancel.
#[must_use]
pub fn log_expected_improvement(mean: f64, sd: f64, best: f64) -> f64 {
    let z = (mean - best) / sd;
    if z > -1.0 {
        return (sd * (z * normal::cdf(z) + normal::pdf(z))).ln();
    }
    // φ(z) (1 + z·m(−z)) with Mills' ratio m; the bracket as a series where it cancels.
    let t = -z;
    let bracket = if t < 30.0 {
        // 1 − t·m(t) from the continued fraction: m = 1/(t + c), so the bracket is c/(t + c).
        let mut tail = t;
        let mut k = 400.0;
        while k >= 2.0 {
            tail = t + k / tail;
            k -= 1.0;
        }
        let c = 1.0 / tail;
        c / (t + c)
    } else {
        let i = 1.0 / (t * t);
        i * (1.0 - 3.0 * i * (1.0 - 5.0 * i * (1.0 - 7.0 * i * (1.0 - 9.0 * i))))
    };
    sd.ln() - 0.5 * z * z - normal::LN_SQRT_2PI + bracket.ln()
}

/// Knowledge gradient E[max(a + b Z)] − max a over a finite set by the upper envelope of lines (Frazier, Powell and
/// Dayanik, INFORMS J. Comput. 21:599–613, 2009).
#[must_use]
pub fn knowledge_gradient(a: &[f64], b: &[f64]) -> f64 {
    let mut lines: Vec<(f64, f64)> = b.iter().copied().zip(a.iter().copied()).collect();
    lines.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.total_cmp(&y.1)));
    // Lines on the envelope with the place from which each leads.
    let mut hull: Vec<(f64, f64, f64)> = Vec::new();
    for (slope, height) in lines {
        let mut from = f64::NEG_INFINITY;
        while let Some((s, h, start)) = hull.last().copied() {
            if s == slope {
                hull.pop();
                continue;
            }
            let cross = (h - height) / (slope - s);
            if cross <= start {
                hull.pop();
            } else {
                from = cross;
                break;
            }
        }
        hull.push((slope, height, from));
    }
    hull.windows(2)
        .map(|pair| match pair {
            [(s, _, _), (t, _, c)] => (t - s) * log_expected_improvement(-c.abs(), 1.0, 0.0).exp(),
            _ => 0.0,
        })
        .sum()
}

/// Mean of the larger of two correlated normals (C. E. Clark, Oper. Res. 9:145–162, 1961).
#[must_use]
pub fn mean_of_larger(mean1: f64, sd1: f64, mean2: f64, sd2: f64, rho: f64) -> f64 {
    let theta = (sd1 * sd1 + sd2 * sd2 - 2.0 * rho * sd1 * sd2).max(0.0).sqrt();
    if theta <= 0.0 {
        return mean1.max(mean2);
    }
    let z = (mean1 - mean2) / theta;
    mean1 * normal::cdf(z) + mean2 * normal::cdf(-z) + theta * normal::pdf(z)
}

/// One ordered answer between `low` and `high` read through noise `noise_sd` from a normal belief: log evidence, mean and
/// variance of the belief after it (Chu and Ghahramani, J. Mach. Learn. Res. 6:1019–1041, 2005).
#[must_use]
pub fn ordinal_update(mean: f64, variance: f64, noise_sd: f64, low: f64, high: f64) -> (f64, f64, f64) {
    let s = (variance + noise_sd * noise_sd).sqrt();
    // Mirror, so that the interval lies to the left or across zero: all differences on the small side.
    let (a, b) = ((low - mean) / s, (high - mean) / s);
    let mirrored = a + b > 0.0;
    let (a, b) = if mirrored { (-b, -a) } else { (a, b) };
    let log_top = normal::log_cdf(b);
    let ratio = if a.is_finite() { libm::exp(normal::log_cdf(a) - log_top) } else { 0.0 };
    let log_p = log_top + libm::log1p(-ratio);
    let density = |x: f64| {
        if x.is_finite() { libm::exp(-0.5 * x * x - normal::LN_SQRT_2PI - log_p) } else { 0.0 }
    };
    let (fa, fb) = (density(a), density(b));
    let first = fa - fb;
    let second = if a.is_finite() { a * fa } else { 0.0 } - if b.is_finite() { b * fb } else { 0.0 };
    let shift = if mirrored { -first } else { first };
    (log_p, mean + variance / s * shift, variance + variance * variance / (s * s) * (second - first * first))
}
