//! The middle and the spread of a group of traces.

use crate::domain::{Channel, Trace};

use super::filter::quantile;
use super::overlay::value_at;

/// Median and quartile band of a group on a common time grid. Places where fewer than half of the group (or fewer than
/// three) have a value are left out, so all numbers are finite.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Band {
    /// Times, seconds after the alignment point, rising.
    pub time_s: Vec<f64>,
    /// Lower edge: the `low` quantile.
    pub low: Vec<f64>,
    /// Median.
    pub median: Vec<f64>,
    /// Upper edge: the `high` quantile.
    pub high: Vec<f64>,
    /// How many pulls speak at each time.
    pub count: Vec<usize>,
}

/// Makes the band of a channel over `group` (traces with the time that counts as zero on each), at every `step_s` from
/// `from_s` to `to_s` (at most 20 000 places), between the quantiles `low` and `high` (0…1).
#[must_use]
pub fn band(
    group: &[(&Trace, f64)],
    channel: Channel,
    (from_s, to_s, step_s): (f64, f64, f64),
    (low, high): (f64, f64),
) -> Band {
    let mut out = Band::default();
    if !(step_s > 0.0 && to_s >= from_s && from_s.is_finite() && to_s.is_finite()) {
        return out;
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let places = (((to_s - from_s) / step_s) as usize).min(20_000);
    let needed = group.len().div_ceil(2).max(3.min(group.len())).max(1);
    let mut values = Vec::with_capacity(group.len());
    for place in 0..=places {
        #[allow(clippy::cast_precision_loss)]
        let t = from_s + place as f64 * step_s;
        values.clear();
        values.extend(group.iter().filter_map(|(trace, zero_s)| value_at(trace, channel, t + zero_s)));
        if values.len() < needed {
            continue;
        }
        let (Some(l), Some(m), Some(h)) =
            (quantile(&mut values, low), super::filter::median(&mut values), quantile(&mut values, high))
        else {
            continue;
        };
        out.time_s.push(t);
        out.low.push(l);
        out.median.push(m);
        out.high.push(h);
        out.count.push(values.len());
    }
    out
}
