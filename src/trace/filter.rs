//! Filters for uneven samples: spikes out, slopes with a stated noise gain.

use crate::domain::{Channel, Trace};

use super::gaps::joined;

/// Median of finite numbers; `None` when there is none. Reorders the slice.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let even = values.len().is_multiple_of(2);
    let (below, &mut upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if !even {
        return Some(upper);
    }
    let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(0.5 * (lower + upper))
}

/// The q-quantile (0…1, nearest rank) of finite numbers; `None` when there is none. Reorders the slice.
pub(crate) fn quantile(values: &mut [f64], q: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let at = ((values.len() - 1) as f64 * q.clamp(0.0, 1.0)).round() as usize;
    let (_, value, _) = values.select_nth_unstable_by(at.min(values.len() - 1), f64::total_cmp);
    Some(*value)
}

/// Standard deviation of the noise of a curve sampled finely, from its second differences by their median (a normal
/// second difference has variance 6σ²; a median of absolute values of a normal is 0.6745σ). Steps of a coarse display
/// count as at least their rounding error.
pub(crate) fn noise(values: &[f64]) -> f64 {
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let mut seconds: Vec<f64> = finite
        .windows(3)
        .filter_map(|w| match w {
            [a, b, c] => Some((a - 2.0 * b + c).abs()),
            _ => None,
        })
        .collect();
    let seen = median(&mut seconds).map_or(0.0, |m| m / 0.6745 / 6.0_f64.sqrt());
    seen.max(rounding(&finite))
}

/// Standard deviation of the rounding of a display that stands still between its steps again and again (evenly spread over
/// a step: the step over √12); 0 where it does not.
pub(crate) fn rounding(finite: &[f64]) -> f64 {
    let moves_on = finite.windows(3).filter(|w| matches!(w, [a, b, c] if a == b && b != c)).count();
    if moves_on >= 5 { quantum(finite) / 12.0_f64.sqrt() } else { 0.0 }
}

/// The step of a display: the smallest difference of neighbouring values that is not zero, if most differences are
/// whole multiples of it; else 0.
pub(crate) fn quantum(values: &[f64]) -> f64 {
    let mut steps: Vec<f64> = values
        .windows(2)
        .filter_map(|w| match w {
            [a, b] if a != b => Some((b - a).abs()),
            _ => None,
        })
        .collect();
    let Some(least) = quantile(&mut steps, 0.02).filter(|s| *s > 1e-6) else { return 0.0 };
    let whole = steps.iter().filter(|s| ((**s / least) - (**s / least).round()).abs() < 0.05).count();
    if whole * 10 >= steps.len() * 9 { least } else { 0.0 }
}

/// Running median over `2·half + 1` neighbours (fewer at the ends).
pub(crate) fn running_median(values: &[f64], half: usize) -> Vec<f64> {
    let mut window = Vec::with_capacity(2 * half + 1);
    (0..values.len())
        .map(|at| {
            window.clear();
            let reach = half.min(at).min(values.len() - 1 - at);
            window.extend(
                values
                    .get(at - reach..=at + reach)
                    .unwrap_or_default()
                    .iter()
                    .copied()
                    .filter(|v| v.is_finite()),
            );
            median(&mut window).unwrap_or(f64::NAN)
        })
        .collect()
}

/// Takes single spikes out: a sample further than six noise deviations (and than `least`) from the median of its
/// neighbours becomes that median (F. R. Hampel's identifier, J. Am. Stat. Assoc. 69, 1974; the factor is our choice).
/// Neighbours are those that are there; missing samples stay missing. Returns the cleaned values and the indices changed.
#[must_use]
pub fn despike(values: &[f64], least: f64) -> (Vec<f64>, Vec<usize>) {
    let (places, there): (Vec<usize>, Vec<f64>) =
        values.iter().copied().enumerate().filter(|(_, v)| v.is_finite()).unzip();
    let smooth = running_median(&there, 3);
    let mut off: Vec<f64> = there.iter().zip(&smooth).map(|(v, s)| (v - s).abs()).collect();
    let limit = (median(&mut off).unwrap_or(0.0) / 0.6745 * 6.0).max(least);
    let mut changed = Vec::new();
    let mut clean = values.to_vec();
    for ((&at, v), &s) in places.iter().zip(&there).zip(&smooth) {
        if (v - s).abs() > limit
            && let Some(slot) = clean.get_mut(at)
        {
            changed.push(at);
            *slot = s;
        }
    }
    (clean, changed)
}

/// Slope of the least-squares line through the samples within `half_s` of each sample (at least two on each side
/// where there are so many); NaN where fewer than three samples are near, and at a missing sample. Uneven steps and missing
/// samples in between are allowed; lines do not reach over gaps.
///
/// Noise gain: with n samples evenly spread over the window of width w = 2·`half_s` and independent noise σ, the
/// slope's standard deviation is σ·√(12/n)/w. Delay: none inside (the window is centred); within `half_s` of an end the
/// window is one-sided.
#[must_use]
pub fn slope_at_points(time_s: &[f64], values: &[f64], half_s: f64) -> Vec<f64> {
    let mut out = slope_everywhere(time_s, values, half_s);
    for (slot, _) in out.iter_mut().zip(values).filter(|(_, v)| !v.is_finite()) {
        *slot = f64::NAN;
    }
    out
}

/// As [`slope_at_points`], and at missing samples too where the step over them is no gap.
pub(crate) fn slope_everywhere(time_s: &[f64], values: &[f64], half_s: f64) -> Vec<f64> {
    let mut out = vec![f64::NAN; time_s.len().min(values.len())];
    for run in joined(time_s, values) {
        let (time, value): (Vec<f64>, Vec<f64>) =
            run.iter().filter_map(|&at| Some((*time_s.get(at)?, *values.get(at)?))).unzip();
        let (Some(&first), Some(&last)) = (run.first(), run.last()) else { continue };
        let (mut from, mut to, mut here) = (0, 0, 0);
        for at in first..=last {
            let (Some(&now), Some(slot)) = (time_s.get(at), out.get_mut(at)) else { continue };
            while time.get(from).is_some_and(|&t| t < now - half_s) {
                from += 1;
            }
            while time.get(to).is_some_and(|&t| t <= now + half_s) {
                to += 1;
            }
            // The last sample of the run at or before this place.
            while run.get(here + 1).is_some_and(|&next| next <= at) {
                here += 1;
            }
            let (from, to) = (from.min(here.saturating_sub(2)), to.max((here + 3).min(time.len())));
            if to - from < 3 {
                continue;
            }
            let (ts, vs) = (time.get(from..to).unwrap_or_default(), value.get(from..to).unwrap_or_default());
            *slot = line_slope(ts, vs, now);
        }
    }
    out
}

fn line_slope(time: &[f64], value: &[f64], around: f64) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = time.len() as f64;
    let (mut st, mut sv, mut stt, mut stv) = (0.0, 0.0, 0.0, 0.0);
    for (&t, &v) in time.iter().zip(value) {
        let t = t - around;
        st += t;
        sv += v;
        stt += t * t;
        stv += t * v;
    }
    let spread = stt - st * st / n;
    if spread > 0.0 { (stv - st * sv / n) / spread } else { f64::NAN }
}

/// Half the width of the window from which flow is derived, seconds.
pub const FLOW_HALF_WINDOW_S: f64 = 0.75;

/// Flow into the cup, g/s, derived from cup mass: spikes out, then the local slope over ±[`FLOW_HALF_WINDOW_S`], also where
/// single masses are missing. `None` without cup mass. With 10 Hz samples and 0.05 g of noise the flow's standard deviation is 0.03 g/s.
#[must_use]
pub fn derived_flow(trace: &Trace) -> Option<Vec<f64>> {
    let mass = trace.get(Channel::CupMass)?;
    let (clean, _) = despike(mass, 0.5);
    Some(slope_everywhere(trace.time_s(), &clean, FLOW_HALF_WINDOW_S))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_of_a_line_are_exact_on_uneven_samples() {
        let time: Vec<f64> = (0..60).map(|i| i as f64 * 0.1 + if i % 3 == 0 { 0.03 } else { 0.0 }).collect();
        let mut value: Vec<f64> = time.iter().map(|t| 3.0 + 1.7 * t).collect();
        value[30] = f64::NAN;
        let slope = slope_at_points(&time, &value, 0.5);
        for (at, s) in slope.iter().enumerate() {
            assert!(if at == 30 { s.is_nan() } else { (s - 1.7).abs() < 1e-9 }, "{at}: {s}");
        }
    }

    /// The documented noise gain, against noise of a fixed stream (512 samples, bound of four standard errors).
    #[test]
    fn the_stated_noise_gain_holds() {
        let mut state = 9_u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let time: Vec<f64> = (0..2000).map(|i| i as f64 * 0.1).collect();
        let sigma = 0.1 / 12.0_f64.sqrt();
        let value: Vec<f64> = time.iter().map(|_| (uniform() - 0.5) * 0.1).collect();
        let slope = slope_at_points(&time, &value, 0.75);
        let inner = &slope[20..1980];
        let var = inner.iter().map(|s| s * s).sum::<f64>() / inner.len() as f64;
        let stated = sigma * (12.0_f64 / 15.0).sqrt() / 1.5;
        assert!((var.sqrt() / stated - 1.0).abs() < 0.15, "{} against {stated}", var.sqrt());
    }

    #[test]
    fn spikes_go_and_steps_stay() {
        let mut value: Vec<f64> = (0..100).map(|i| if i < 50 { 0.0 } else { 5.0 }).collect();
        value[20] = 40.0;
        let (clean, changed) = despike(&value, 0.5);
        assert_eq!(changed, [20]);
        assert_eq!(clean[20], 0.0);
        assert_eq!(clean[50], 5.0);
    }
}
