//! Smoothers for even steps (Savitzky–Golay) and for scattered points (LOWESS), and the delay between two traces.

/// Weights of the Savitzky–Golay filter (A. Savitzky and M. J. E. Golay, Anal. Chem. 36:1627, 1964): applied to
/// `window` even samples they give the `derivative`-th derivative, at the sample with index `at`, of the least-squares
/// polynomial of the given degree, for a step of `delta`.
///
/// Built from the discrete orthogonal (Gram) polynomials of the window, so no ill-conditioned system is solved. Empty when
/// the request makes no sense (`degree` ≥ `window`, `at` ≥ `window`, `derivative` > `degree`, `delta` ≤ 0).
#[must_use]
pub fn savitzky_golay_weights(
    window: usize,
    degree: usize,
    derivative: usize,
    delta: f64,
    at: usize,
) -> Vec<f64> {
    if degree >= window || at >= window || derivative > degree || delta <= 0.0 || delta.is_nan() {
        return Vec::new();
    }
    let half = (window - 1) as f64 / 2.0;
    let x: Vec<f64> = (0..window).map(|i| (i as f64 - half) / half.max(1.0)).collect();
    let place = (at as f64 - half) / half.max(1.0);
    // Three-term recurrence p_{k+1} = (x − a) p_k − b p_{k−1}; at `place` with all derivatives up to the wanted one.
    let mut weights = vec![0.0; window];
    let (mut before, mut now) = (vec![0.0; window], vec![1.0; window]);
    let (mut jet_before, mut jet) = (vec![0.0; derivative + 1], vec![0.0; derivative + 1]);
    if let Some(first) = jet.first_mut() {
        *first = 1.0;
    }
    let mut norm_before = 1.0;
    for k in 0..=degree {
        let norm: f64 = now.iter().map(|p| p * p).sum();
        let value = jet.get(derivative).copied().unwrap_or(0.0);
        for (weight, p) in weights.iter_mut().zip(&now) {
            *weight += value * p / norm;
        }
        let a = x.iter().zip(&now).map(|(x, p)| x * p * p).sum::<f64>() / norm;
        let b = if k == 0 { 0.0 } else { norm / norm_before };
        let next = x.iter().zip(now.iter().zip(&before)).map(|(x, (p, q))| (x - a) * p - b * q).collect();
        let next_jet = (0..=derivative)
            .map(|d| {
                let of = |jet: &[f64], d: usize| jet.get(d).copied().unwrap_or(0.0);
                let lower = if d > 0 { d as f64 * of(&jet, d - 1) } else { 0.0 };
                (place - a) * of(&jet, d) + lower - b * of(&jet_before, d)
            })
            .collect();
        (before, now) = (now, next);
        (jet_before, jet) = (jet, next_jet);
        norm_before = norm;
    }
    let scale = (half.max(1.0) * delta).powi(i32::try_from(derivative).unwrap_or(0));
    weights.iter().map(|w| w / scale).collect()
}

/// Filters even samples; the first and last half windows take the polynomial of the end window. Series shorter than the
/// window come back empty, as do requests without sense.
#[must_use]
pub fn savitzky_golay(
    values: &[f64],
    window: usize,
    degree: usize,
    derivative: usize,
    delta: f64,
) -> Vec<f64> {
    if values.len() < window || window == 0 {
        return Vec::new();
    }
    let half = window / 2;
    let centre = savitzky_golay_weights(window, degree, derivative, delta, half);
    if centre.is_empty() {
        return Vec::new();
    }
    (0..values.len())
        .map(|at| {
            let start = at.saturating_sub(half).min(values.len() - window);
            let part = values.get(start..start + window).unwrap_or_default();
            if at - start == half {
                part.iter().zip(&centre).map(|(v, w)| v * w).sum()
            } else {
                let ends = savitzky_golay_weights(window, degree, derivative, delta, at - start);
                part.iter().zip(&ends).map(|(v, w)| v * w).sum()
            }
        })
        .collect()
}

/// LOWESS (W. S. Cleveland, J. Am. Stat. Assoc. 74:829, 1979): at each x the line through the nearest `share` of the
/// points, tricube weights, with `rounds` of bisquare robustness. `x` must not fall; both slices have one length.
#[must_use]
pub fn lowess(x: &[f64], y: &[f64], share: f64, rounds: usize) -> Vec<f64> {
    let n = x.len().min(y.len());
    let nearest = ((share * n as f64 + 1e-10).floor().max(0.0) as usize).clamp(2, n.max(2));
    if n < 2 {
        return y.get(..n).unwrap_or_default().to_vec();
    }
    let mut robust = vec![1.0; n];
    let mut fitted = vec![0.0; n];
    for round in 0..=rounds {
        let mut left = 0;
        for (at, slot) in fitted.iter_mut().enumerate() {
            let here = x.get(at).copied().unwrap_or(0.0);
            while left + nearest < n
                && x.get(left + nearest).copied().unwrap_or(0.0) - here
                    < here - x.get(left).copied().unwrap_or(0.0)
            {
                left += 1;
            }
            let edge = |i: usize| (x.get(i).copied().unwrap_or(0.0) - here).abs();
            let width = edge(left).max(edge((left + nearest - 1).min(n - 1)));
            let (mut sw, mut swx, mut swy) = (0.0, 0.0, 0.0);
            let weight = |i: usize| {
                let d = edge(i);
                let near = if d <= 0.001 * width {
                    1.0
                } else if d > 0.999 * width {
                    0.0
                } else {
                    let u = d / width;
                    let c = 1.0 - u * u * u;
                    c * c * c
                };
                near * robust.get(i).copied().unwrap_or(0.0)
            };
            let point = |i: usize| (x.get(i).copied().unwrap_or(0.0), y.get(i).copied().unwrap_or(0.0));
            for i in 0..n {
                let (w, (px, py)) = (weight(i), point(i));
                sw += w;
                swx += w * px;
                swy += w * py;
            }
            if sw <= 0.0 {
                *slot = y.get(at).copied().unwrap_or(0.0);
                continue;
            }
            let (mx, my) = (swx / sw, swy / sw);
            let (mut sxx, mut sxy) = (0.0, 0.0);
            for i in 0..n {
                let (w, (px, py)) = (weight(i), point(i));
                sxx += w * (px - mx) * (px - mx);
                sxy += w * (px - mx) * (py - my);
            }
            *slot = if sxx > 0.0 { my + sxy / sxx * (here - mx) } else { my };
        }
        if round == rounds {
            break;
        }
        let residuals: Vec<f64> = y.iter().zip(&fitted).map(|(v, f)| (v - f).abs()).collect();
        let Some(middle) = super::filter::median(&mut residuals.clone()) else { break };
        if middle <= 0.0 {
            break;
        }
        for (slot, residual) in robust.iter_mut().zip(&residuals) {
            let u = residual / (6.0 * middle);
            *slot = if u <= 0.001 {
                1.0
            } else if u > 0.999 {
                0.0
            } else {
                (1.0 - u * u) * (1.0 - u * u)
            };
        }
    }
    fitted
}

/// By how much one even series lags another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delay {
    /// Whole samples; positive when `b` comes later than `a`.
    pub lag: i64,
    /// Normalised cross-correlation at that lag, −1…1.
    pub correlation: f64,
    /// Lag in samples with parts, by a parabola through the three highest.
    pub samples: f64,
}

/// The lag (at most `max_lag` samples either way) at which two even series agree best: normalised cross-correlation over
/// the overlap at each lag. `None` when nothing overlaps or one is flat.
#[must_use]
pub fn delay(a: &[f64], b: &[f64], max_lag: usize) -> Option<Delay> {
    let most = i64::try_from(max_lag.min(a.len().max(b.len()))).ok()?;
    let at = |lag: i64| -> Option<f64> {
        let (from_a, from_b) = (usize::try_from((-lag).max(0)).ok()?, usize::try_from(lag.max(0)).ok()?);
        let (a, b) = (a.get(from_a..)?, b.get(from_b..)?);
        let n = a.len().min(b.len());
        if n < 3 {
            return None;
        }
        let (a, b) = (a.get(..n)?, b.get(..n)?);
        let mean = |s: &[f64]| s.iter().sum::<f64>() / n as f64;
        let (ma, mb) = (mean(a), mean(b));
        let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
        for (x, y) in a.iter().zip(b) {
            ab += (x - ma) * (y - mb);
            aa += (x - ma) * (x - ma);
            bb += (y - mb) * (y - mb);
        }
        let value = ab / (aa * bb).sqrt();
        value.is_finite().then_some(value)
    };
    let (mut best, mut lag) = (f64::NEG_INFINITY, 0);
    for candidate in -most..=most {
        if let Some(value) = at(candidate)
            && value > best
        {
            (best, lag) = (value, candidate);
        }
    }
    if !best.is_finite() {
        return None;
    }
    let part = match (at(lag - 1), at(lag + 1)) {
        (Some(l), Some(r)) if l - 2.0 * best + r < 0.0 => 0.5 * (l - r) / (l - 2.0 * best + r),
        _ => 0.0,
    };
    Some(Delay { lag, correlation: best, samples: lag as f64 + part })
}
