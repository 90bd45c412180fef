//! A generic optimiser: Gaussian process on liking alone, expected improvement.

use super::random::{grind_reach, sensible};
use super::{Agent, Record, plain};
use crate::protocol::{Advice, Best, Expect, Open, Quantiles, Recipe, Shot};
use crate::rng::{Rng, phi};

/// The agent.
#[derive(Debug)]
pub struct Gp {
    rng: Rng,
    record: Record,
    next: Recipe,
}

/// A fitted process: centred data, lower Cholesky factor (row-major), weights, length and noise.
struct Fit {
    x: Vec<[f64; 4]>,
    factor: Vec<f64>,
    alpha: Vec<f64>,
    mean: f64,
    length: f64,
    noise: f64,
    evidence: f64,
}

/// Prior standard deviation of liking over the box.
const SPREAD: f64 = 1.8;

impl Gp {
    /// An optimiser with a stream of its own for candidates.
    pub fn new(key: u64) -> Self {
        Self { rng: Rng::keyed(&[key, 12]), record: Record::default(), next: Recipe::default() }
    }

    /// A recipe as a point: one unit is half the sensible box.
    fn point(&self, r: &Recipe) -> [f64; 4] {
        let b = self.record.begin();
        [
            (r.grind - b.grind) / grind_reach(&self.record),
            (r.dose_g - b.dose_g) / 1.0,
            (r.yield_g - b.yield_g) / (0.6 * b.dose_g),
            r.temperature_c.map_or(0.0, |t| (t - 93.0) / 3.0),
        ]
    }

    fn fit(&self) -> Option<Fit> {
        let (x, y): (Vec<[f64; 4]>, Vec<f64>) = self
            .record
            .shots
            .iter()
            .zip(&self.record.asked)
            .filter_map(|(s, a)| {
                let l = if s.choked { Some(1.0) } else { s.taste.and_then(|t| t.liking).map(f64::from) };
                l.map(|l| (self.point(a), l))
            })
            .unzip();
        let mut best: Option<Fit> = None;
        for length in [0.5, 0.8, 1.2, 2.0] {
            for noise in [0.5, 0.9] {
                let f = fit(&x, &y, length, noise)?;
                if best.as_ref().is_none_or(|b| f.evidence > b.evidence) {
                    best = Some(f);
                }
            }
        }
        best
    }

    fn decide(&mut self) -> Advice {
        let best = self.record.best();
        let Some(fit) = (if self.record.shots.is_empty() { None } else { self.fit() }) else {
            self.next = self.record.begin();
            return plain("adjust", self.next, best);
        };
        let top = fit.x.iter().map(|x| fit.predict(x).0).fold(f64::NEG_INFINITY, f64::max);
        let mut found = (f64::NEG_INFINITY, self.next);
        let mut serve = (f64::NEG_INFINITY, best.recipe);
        for r in &self.record.asked {
            let m = fit.predict(&self.point(r)).0;
            if m > serve.0 {
                serve = (m, *r);
            }
        }
        for _ in 0..600 {
            let r = sensible(&self.record, &mut self.rng);
            let (m, v) = fit.predict(&self.point(&r));
            let s = v.sqrt().max(1e-6);
            let z = (m - top) / s;
            let gain = (m - top) * phi(z) + s * (-0.5 * z * z).exp() / (std::f64::consts::TAU).sqrt();
            if gain > found.0 {
                found = (gain, r);
            }
        }
        self.next = found.1;
        let (m, v) = fit.predict(&self.point(&self.next));
        let half = 1.2816 * (v + fit.noise * fit.noise).sqrt();
        Advice {
            expect: Expect {
                liking: Some(Quantiles { p10: m - half, p50: m, p90: m + half }),
                ..Expect::default()
            },
            ..plain("adjust", self.next, Best { recipe: serve.1, liking: None })
        }
    }
}

/// Fits one process; `None` when the matrix is not positive definite.
fn fit(x: &[[f64; 4]], y: &[f64], length: f64, noise: f64) -> Option<Fit> {
    let n = x.len();
    if n == 0 {
        return None;
    }
    let mean = (y.iter().sum::<f64>() + 5.0) / (n as f64 + 1.0);
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let mut s = kernel(&x[i], &x[j], length) + if i == j { noise * noise } else { 0.0 };
            for k in 0..j {
                s -= l[i * n + k] * l[j * n + k];
            }
            l[i * n + j] = if i == j {
                if s <= 0.0 {
                    return None;
                }
                s.sqrt()
            } else {
                s / l[j * n + j]
            };
        }
    }
    let r: Vec<f64> = y.iter().map(|v| v - mean).collect();
    let half = forward(&l, &r);
    let evidence =
        -0.5 * half.iter().map(|v| v * v).sum::<f64>() - (0..n).map(|i| l[i * n + i].ln()).sum::<f64>();
    let mut alpha = half;
    for i in (0..n).rev() {
        let mut s = alpha[i];
        for k in i + 1..n {
            s -= l[k * n + i] * alpha[k];
        }
        alpha[i] = s / l[i * n + i];
    }
    Some(Fit { x: x.to_vec(), factor: l, alpha, mean, length, noise, evidence })
}

fn kernel(a: &[f64; 4], b: &[f64; 4], length: f64) -> f64 {
    let d: f64 = (0..4).map(|i| (a[i] - b[i]).powi(2)).sum();
    SPREAD * SPREAD * (-0.5 * d / (length * length)).exp()
}

/// Solves L v = b for a lower factor.
fn forward(l: &[f64], b: &[f64]) -> Vec<f64> {
    let n = b.len();
    let mut v = b.to_vec();
    for i in 0..n {
        let mut s = v[i];
        for k in 0..i {
            s -= l[i * n + k] * v[k];
        }
        v[i] = s / l[i * n + i];
    }
    v
}

impl Fit {
    /// Mean and variance of the true liking at a point.
    fn predict(&self, p: &[f64; 4]) -> (f64, f64) {
        let k: Vec<f64> = self.x.iter().map(|x| kernel(x, p, self.length)).collect();
        let m = self.mean + k.iter().zip(&self.alpha).map(|(a, b)| a * b).sum::<f64>();
        let h = forward(&self.factor, &k);
        let v = SPREAD * SPREAD - h.iter().map(|x| x * x).sum::<f64>();
        (m, v.max(1e-9))
    }
}

impl Agent for Gp {
    fn open(&mut self, open: &Open) -> Result<Advice, String> {
        self.record = Record::start(open);
        Ok(self.decide())
    }

    fn shot(&mut self, shot: &Shot) -> Result<Advice, String> {
        self.record.push(shot, Some(self.next));
        Ok(self.decide())
    }

    fn ask(&mut self) -> Result<Advice, String> {
        Ok(plain("repeat", self.next, self.record.best()))
    }
}
