//! Control charts for single values: individuals and moving range, exponentially weighted average, cumulative sums.
//!
//! All work on plain slices; put flow times on the log scale first (a 10 % slower pull then counts the same at 20 s
//! as at 35 s). Values that are not finite are passed over: they neither move a statistic nor signal.

use super::runlength;

/// Expected range of two standard normal values, 2/√π. (NIST/SEMATECH e-Handbook 6.3.2; exact.)
pub const D2_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Upper limit factor of the chart of moving ranges of two, 1 + 3 d3/d2.
pub const UPPER_RANGE_FACTOR: f64 = 3.266_531_919_288_596_4;

/// Individuals and moving-range chart of a baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Individuals {
    /// Mean of the baseline.
    pub centre: f64,
    /// Mean of the moving ranges of two.
    pub mean_range: f64,
    /// Standard deviation from the moving ranges, mean range / d2.
    pub sigma: f64,
    /// Values that the baseline held.
    pub count: usize,
}

impl Individuals {
    /// Chart of a baseline of at least two finite values; `None` with fewer. Moving ranges above 3.5 times the mean
    /// range are left out of the estimate once (Nelson 1982) when `trim` is set, so that one bad pull does not
    /// widen the limits. (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.)
    #[must_use]
    pub fn from_baseline(values: &[f64], trim: bool) -> Option<Self> {
        let kept: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
        if kept.len() < 2 {
            return None;
        }
        let ranges: Vec<f64> = kept.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
        let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
        let mut mean_range = mean(&ranges);
        if trim {
            let calm: Vec<f64> = ranges.iter().copied().filter(|r| *r <= 3.5 * mean_range).collect();
            if !calm.is_empty() {
                mean_range = mean(&calm);
            }
        }
        Some(Self { centre: mean(&kept), mean_range, sigma: mean_range / D2_OF_TWO, count: kept.len() })
    }

    /// Limits `width` standard deviations either side of the centre (3 by habit).
    #[must_use]
    pub fn limits(&self, width: f64) -> (f64, f64) {
        (self.centre - width * self.sigma, self.centre + width * self.sigma)
    }

    /// Upper limit of the moving range.
    #[must_use]
    pub fn range_limit(&self) -> f64 {
        UPPER_RANGE_FACTOR * self.mean_range
    }

    /// Fewer than twenty values: limits are provisional (common practice, no source).
    #[must_use]
    pub fn provisional(&self) -> bool {
        self.count < 20
    }
}

/// Which way a chart signals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above: slower, stronger, more.
    High,
    /// Below.
    Low,
}

/// How the limits of a weighted average chart behave at its start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limits {
    /// Steady limits from the first point.
    Steady,
    /// Limits that widen from the first point towards the steady ones.
    Widening,
}

/// Exponentially weighted moving average chart (Roberts 1959; NIST/SEMATECH e-Handbook 6.3.2.4).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ewma {
    /// Where the quantity should be.
    pub target: f64,
    /// Standard deviation of one value.
    pub sigma: f64,
    /// Weight of the newest value, above 0 to 1.
    pub lambda: f64,
    /// Width of the limits in standard deviations of the average.
    pub width: f64,
    /// Behaviour at the start.
    pub limits: Limits,
}

/// One point of a weighted average chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// The average.
    pub z: f64,
    /// Lower limit at this point.
    pub lower: f64,
    /// Upper limit at this point.
    pub upper: f64,
    /// Signal, if one.
    pub signal: Option<Side>,
}

impl Ewma {
    /// A chart whose steady limits give `run_length` points between false alarms, for normal values.
    #[must_use]
    pub fn for_run_length(target: f64, sigma: f64, lambda: f64, run_length: f64) -> Self {
        let lambda = lambda.clamp(0.01, 1.0);
        Self {
            target,
            sigma,
            lambda,
            width: runlength::ewma_width(lambda, run_length),
            limits: Limits::Steady,
        }
    }

    /// The chart over a series.
    #[must_use]
    pub fn run(&self, values: &[f64]) -> Vec<EwmaPoint> {
        let lambda = self.lambda.clamp(1e-6, 1.0);
        let mut z = self.target;
        let mut left = 1.0;
        values
            .iter()
            .map(|&x| {
                if x.is_finite() {
                    z = lambda * x + (1.0 - lambda) * z;
                    left *= (1.0 - lambda) * (1.0 - lambda);
                }
                let spread = match self.limits {
                    Limits::Steady => lambda / (2.0 - lambda),
                    Limits::Widening => lambda / (2.0 - lambda) * (1.0 - left),
                };
                let half = self.width * self.sigma * spread.sqrt();
                let (lower, upper) = (self.target - half, self.target + half);
                EwmaPoint { z, lower, upper, signal: side_of(x, z, lower, upper) }
            })
            .collect()
    }
}

fn side_of(x: f64, z: f64, lower: f64, upper: f64) -> Option<Side> {
    match x.is_finite() {
        true if z > upper => Some(Side::High),
        true if z < lower => Some(Side::Low),
        _ => None,
    }
}

/// Tabular cumulative-sum chart (Page 1954; NIST/SEMATECH e-Handbook 6.3.2.3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    /// Where the quantity should be.
    pub target: f64,
    /// Slack, in the unit of the values; half the shift to be found soonest.
    pub slack: f64,
    /// Decision value, in the unit of the values.
    pub limit: f64,
    /// Value at which both sums start (0, or half the limit for a fast start).
    pub head_start: f64,
}

/// One point of a cumulative-sum chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumPoint {
    /// Sum of what lies above target and slack.
    pub upper: f64,
    /// Sum of what lies below target and slack.
    pub lower: f64,
    /// Signal, if one.
    pub signal: Option<Side>,
}

impl Cusum {
    /// A chart that is quickest for a shift of `shift_sd` standard deviations and gives `run_length` points between
    /// false alarms, for normal values.
    #[must_use]
    pub fn for_run_length(target: f64, sigma: f64, shift_sd: f64, run_length: f64) -> Self {
        let k = (shift_sd / 2.0).clamp(0.05, 3.0);
        Self {
            target,
            slack: k * sigma,
            limit: runlength::cusum_limit(k, run_length) * sigma,
            head_start: 0.0,
        }
    }

    /// The chart over a series.
    #[must_use]
    pub fn run(&self, values: &[f64]) -> Vec<CusumPoint> {
        let (mut upper, mut lower) = (self.head_start, self.head_start);
        values
            .iter()
            .map(|&x| {
                let mut signal = None;
                if x.is_finite() {
                    upper = (upper + x - (self.target + self.slack)).max(0.0);
                    lower = (lower + (self.target - self.slack) - x).max(0.0);
                    signal = match (upper > self.limit, lower > self.limit) {
                        (true, false) => Some(Side::High),
                        (false, true) => Some(Side::Low),
                        (true, true) => Some(if upper >= lower { Side::High } else { Side::Low }),
                        (false, false) => None,
                    };
                }
                CusumPoint { upper, lower, signal }
            })
            .collect()
    }
}
