//! Nonlinear least squares by damped Gauss–Newton with exact gradients and scaled normal equations.

use super::dense;
use super::real::{Dual, Real};

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found<const P: usize> {
    /// Parameters.
    pub parameters: [f64; P],
    /// Their standard deviations.
    pub sd: [f64; P],
    /// Residual sum of squares.
    pub rss: f64,
    /// Steps taken.
    pub steps: usize,
}

/// Fits `model(parameters, x)` to `y` from `start`. `None` when the arithmetic fails or there are too few points.
#[must_use]
pub fn fit<const P: usize>(
    model: impl Fn(&[Dual<P>; P], f64) -> Dual<P>,
    x: &[f64],
    y: &[f64],
    start: [f64; P],
) -> Option<Found<P>> {
    if x.len() != y.len() || x.len() <= P {
        return None;
    }
    let look = |p: &[f64; P]| {
        let mut unknowns = [Dual::<P>::constant(0.0); P];
        for (i, (slot, v)) in unknowns.iter_mut().zip(p).enumerate() {
            *slot = Dual::unknown(*v, i);
        }
        let (mut rss, mut gradient, mut normal) = (0.0, vec![0.0; P], vec![0.0; P * P]);
        for (x, y) in x.iter().zip(y) {
            let f = model(&unknowns, *x);
            let r = y - f.v;
            rss += r * r;
            for (i, di) in f.d.iter().enumerate() {
                if let Some(g) = gradient.get_mut(i) {
                    *g += r * di;
                }
                for (j, dj) in f.d.iter().enumerate() {
                    if let Some(n) = normal.get_mut(i * P + j) {
                        *n += di * dj;
                    }
                }
            }
        }
        (rss, gradient, normal)
    };
    // Solves with rows and columns scaled to a unit diagonal.
    let scaled = |normal: &[f64], damping: f64| -> Option<(Vec<f64>, Vec<f64>)> {
        let scale: Vec<f64> =
            (0..P).map(|i| normal.get(i * P + i).map_or(1.0, |d| 1.0 / d.max(1e-300).sqrt())).collect();
        let mut a = normal.to_vec();
        for (i, (row, si)) in a.chunks_exact_mut(P).zip(&scale).enumerate() {
            for (j, (v, sj)) in row.iter_mut().zip(&scale).enumerate() {
                *v *= si * sj;
                if i == j {
                    *v += damping;
                }
            }
        }
        Some((dense::cholesky(&a, P)?, scale))
    };
    let mut p = start;
    let (mut rss, mut gradient, mut normal) = look(&p);
    let mut damping = 1e-3;
    let mut steps = 0;
    let mut quiet = 0;
    while steps < 2000 && quiet < 4 {
        steps += 1;
        let Some((factor, scale)) = scaled(&normal, damping) else {
            damping = (damping * 10.0f64).max(1e-12);
            continue;
        };
        let mut step: Vec<f64> = gradient.iter().zip(&scale).map(|(g, s)| g * s).collect();
        dense::solve(&factor, &mut step);
        let mut next = p;
        for ((n, s), d) in next.iter_mut().zip(&step).zip(&scale) {
            *n += s * d;
        }
        let (there, g, n) = look(&next);
        if there.is_finite() && there <= rss {
            quiet = if rss - there <= 1e-14 * rss { quiet + 1 } else { 0 };
            (p, rss, gradient, normal) = (next, there, g, n);
            damping *= 0.1;
        } else {
            damping = (damping * 4.0).max(1e-14);
            if damping > 1e12 {
                break;
            }
        }
    }
    let (factor, scale) = scaled(&normal, 0.0)?;
    let inverse = dense::inverse(&factor, P);
    let variance = rss / (x.len() - P) as f64;
    let mut sd = [0.0; P];
    for (i, (slot, s)) in sd.iter_mut().zip(&scale).enumerate() {
        *slot = (variance * inverse.get(i * P + i)?).max(0.0).sqrt() * s;
    }
    Some(Found { parameters: p, sd, rss, steps })
}
