//! Where a slow rise out of noise begins.

/// Mass of the drop whose fall counts as the first drip, grams (a drop of water from a spout; common practice, no
/// source). Less cannot be seen: it has not fallen yet.
pub(crate) const DROP_G: f64 = 0.05;
/// How fast an empty scale may drift, grams a second (standard deviation; common practice, no source).
const DRIFT_G_S: f64 = 0.005;
/// Scales report at most about ten independent values a second, however often the log repeats them.
const INDEPENDENT_HZ: f64 = 10.0;

/// When the first drop fell, and the standard deviation of that time, seconds, from the samples around the onset of
/// the rise of cup mass, of which `late` is a time when it has surely begun.
///
/// The model is `b + d·t + c·(t − τ)₊ᵖ` with p of 1, 1.5, 2 or 3, c above zero and the drift d held near zero; every τ of
/// a grid and every p is fitted by least squares, and the time at which the fitted rise reaches [`DROP_G`] is averaged
/// over all of them with the weight of their likelihood. That time is far better determined than τ itself, which
/// trades against p.
pub(crate) fn first_drop(time: &[f64], mass: &[f64], sigma: f64, late: f64) -> Option<(f64, f64)> {
    let (first, last) = (*time.first()?, *time.last()?);
    if time.len() < 6 || last <= first {
        return None;
    }
    let samples = time.len() as f64;
    let independent = samples.min((last - first) * INDEPENDENT_HZ + 1.0);
    let step = ((late - first) / 120.0).max(0.01);
    let mut fits: Vec<(f64, f64)> = Vec::with_capacity(500);
    // Counted, since a time far from zero does not grow by a small step.
    let moments = ((late + 0.1 - first) / step).ceil().clamp(0.0, 200.0);
    #[allow(clippy::cast_possible_truncation)]
    for at in 0..(moments as i32) {
        let tau = first + step * f64::from(at);
        for power in POWERS {
            if let Some((scale, residual)) = fit(time, mass, tau, power, sigma) {
                let reach = match power {
                    Power::One => DROP_G / scale,
                    Power::OneAndHalf => libm::cbrt((DROP_G / scale) * (DROP_G / scale)),
                    Power::Two => (DROP_G / scale).sqrt(),
                    Power::Three => libm::cbrt(DROP_G / scale),
                };
                // A curve so flat that its drop falls after the rise is plain is no description of the rise.
                if tau + reach <= late + 0.5 {
                    fits.push((tau + reach, residual / samples * independent));
                }
            }
        }
    }
    let least = fits.iter().map(|f| f.1).fold(f64::INFINITY, f64::min);
    // The noise is taken from the best fit when that is worse than what was expected.
    let variance = (sigma * sigma).max(least / (independent - 4.0).max(1.0));
    let (mut total, mut mean) = (0.0, 0.0);
    for (t, residual) in &fits {
        let weight = libm::exp(-0.5 * (residual - least) / variance);
        total += weight;
        mean += weight * t;
    }
    if total <= 0.0 || !total.is_finite() {
        return None;
    }
    mean /= total;
    let mut spread = 0.0;
    for (t, residual) in &fits {
        spread += libm::exp(-0.5 * (residual - least) / variance) * (t - mean) * (t - mean);
    }
    Some((mean, (spread / total).sqrt()))
}

#[derive(Clone, Copy)]
enum Power {
    One,
    OneAndHalf,
    Two,
    Three,
}

const POWERS: [Power; 4] = [Power::One, Power::OneAndHalf, Power::Two, Power::Three];

/// Scale c and weighted residual of one fit; `None` when the rise would be downwards.
fn fit(time: &[f64], mass: &[f64], tau: f64, power: Power, sigma: f64) -> Option<(f64, f64)> {
    let n = time.len() as f64;
    let (mut x, mut t1, mut y, mut xx, mut tt, mut xt, mut xy, mut ty, mut yy) =
        (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (&t, &m) in time.iter().zip(mass) {
        let late = (t - tau).max(0.0);
        let rise = match power {
            Power::One => late,
            Power::OneAndHalf => late * late.sqrt(),
            Power::Two => late * late,
            Power::Three => late * late * late,
        };
        let t = t - tau;
        x += rise;
        t1 += t;
        y += m;
        xx += rise * rise;
        tt += t * t;
        xt += rise * t;
        xy += rise * m;
        ty += t * m;
        yy += m * m;
    }
    // Without the level; the drift pays for leaving zero.
    let (xx, tt, xt) =
        (xx - x * x / n, tt - t1 * t1 / n + (sigma / DRIFT_G_S) * (sigma / DRIFT_G_S), xt - x * t1 / n);
    let (xy, ty, yy) = (xy - x * y / n, ty - t1 * y / n, yy - y * y / n);
    let det = xx * tt - xt * xt;
    if det <= 1e-9 * xx * tt {
        return None;
    }
    let scale = (xy * tt - ty * xt) / det;
    let drift = (ty * xx - xy * xt) / det;
    (scale > 1e-4).then(|| (scale, (yy - scale * xy - drift * ty).max(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clean_rises_of_any_shape_give_the_moment_of_the_first_drop() {
        for (power, scale) in [(1.0, 1.5), (1.5, 0.8), (2.0, 0.3), (2.5, 0.15)] {
            let time: Vec<f64> = (0..90).map(|i| i as f64 * 0.1).collect();
            let mass: Vec<f64> =
                time.iter().map(|t| 0.3 - 0.01 * t + scale * (t - 5.0_f64).max(0.0).powf(power)).collect();
            let want = 5.0 + (DROP_G / scale).powf(1.0 / power);
            let to = mass.iter().position(|m| *m > 1.4).unwrap_or(90);
            let (got, sd) = first_drop(&time[..to], &mass[..to], 0.02, want + 0.5).unwrap();
            assert!((got - want).abs() < 0.12 && sd < 0.4, "{power}: {got} ± {sd} against {want}");
        }
    }

    /// Steps of the grid are far below what a double can tell apart at such times.
    #[test]
    fn the_grid_ends_whatever_the_clock_says() {
        let time: Vec<f64> = (0..40).map(|i| 1e17 + 16.0 * f64::from(i)).collect();
        let mass: Vec<f64> = (0..40).map(|i| f64::from((i - 20).max(0))).collect();
        let found = first_drop(&time, &mass, 0.02, time[20]);
        assert!(found.is_none_or(|(at, sd)| at.is_finite() && sd.is_finite()), "{found:?}");
    }
}
