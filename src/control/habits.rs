//! What is known about a station and a coffee before the day's first pull: noise, wander, ageing, the effect of a
//! click. Starts from the trade's usual values and learns from the series.

use super::series::Reading;
use super::tracker::{Belief, Tracker};

/// Neighbouring moves lean on the same pulls, and a level after a move on the click that was believed then: one move is worth
/// half of what it would be alone. With that, 39 of 40 simulated bars lie within two standard deviations.
const SHARED: f64 = 2.0;

/// Habits of one coffee on one station, on the chart's scale. For flow time that is the natural logarithm of the
/// time, so 0.04 reads "4 %".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Standard deviation of well-prepared pulls about their level.
    pub sigma: f64,
    /// Degrees of freedom that stand behind `sigma` (a prior worth 5, plus the pulls seen).
    pub sigma_dof: f64,
    /// Share of badly prepared pulls.
    pub bad_share: f64,
    /// How many times wider badly prepared pulls scatter.
    pub bad_width: f64,
    /// Wander of the level from one pull to the next.
    pub wander_pull: f64,
    /// Wander of the level from one day to the next, beyond ageing.
    pub wander_night: f64,
    /// Chance that the level jumps overnight.
    pub jump_night: f64,
    /// Chance that the level jumps between two pulls.
    pub jump_pull: f64,
    /// Usual size of a jump (standard deviation).
    pub jump_size: f64,
    /// Chance, each night, that a drift beyond ageing sets in.
    pub drift_night: f64,
    /// Usual size of such a drift, a day (standard deviation).
    pub drift_size: f64,
    /// Expected ageing, change a day.
    pub ageing: f64,
    /// Standard deviation of the ageing between bags.
    pub ageing_sd: f64,
    /// Change for one click coarser (negative for flow time).
    pub click: f64,
    /// Standard deviation of that change.
    pub click_sd: f64,
}

impl Habits {
    /// Starting values for flow time on the log scale. All are common practice without a source (shot-to-shot
    /// scatter of some percent; 0.3–1 s faster a day at 27 s; 2–5 s a mark on stepped grinders; one pull in twenty
    /// badly prepared) and give way to what the series shows.
    #[must_use]
    pub fn flow_time() -> Self {
        Self {
            sigma: 0.05,
            sigma_dof: 5.0,
            bad_share: 0.05,
            bad_width: 3.0,
            wander_pull: 0.001,
            wander_night: 0.005,
            jump_night: 0.08,
            jump_pull: 0.001,
            jump_size: 0.10,
            drift_night: 0.05,
            drift_size: 0.02,
            ageing: -0.012,
            ageing_sd: 0.008,
            click: -0.09,
            click_sd: 0.03,
        }
    }

    /// Starting values for strength or yield on the log scale: no ageing, and a grind click moves it little.
    #[must_use]
    pub fn strength_or_yield() -> Self {
        Self {
            sigma: 0.03,
            ageing: 0.0,
            ageing_sd: 0.003,
            click: -0.01,
            click_sd: 0.01,
            jump_size: 0.06,
            drift_size: 0.01,
            wander_night: 0.004,
            ..Self::flow_time()
        }
    }

    /// These habits with every number pulled into a range in which the mathematics stands; anything not finite
    /// falls back to the starting value.
    #[must_use]
    pub fn sane(self) -> Self {
        let base = Self::flow_time();
        let keep =
            |v: f64, low: f64, high: f64, base: f64| if v.is_finite() { v.clamp(low, high) } else { base };
        Self {
            sigma: keep(self.sigma, 1e-4, 2.0, base.sigma),
            sigma_dof: keep(self.sigma_dof, 3.0, 1e6, base.sigma_dof),
            bad_share: keep(self.bad_share, 0.0, 0.4, base.bad_share),
            bad_width: keep(self.bad_width, 1.0, 20.0, base.bad_width),
            wander_pull: keep(self.wander_pull, 0.0, 1.0, base.wander_pull),
            wander_night: keep(self.wander_night, 0.0, 1.0, base.wander_night),
            jump_night: keep(self.jump_night, 0.0, 0.4, base.jump_night),
            jump_pull: keep(self.jump_pull, 0.0, 0.4, base.jump_pull),
            jump_size: keep(self.jump_size, 1e-4, 5.0, base.jump_size),
            drift_night: keep(self.drift_night, 0.0, 0.4, base.drift_night),
            drift_size: keep(self.drift_size, 1e-5, 1.0, base.drift_size),
            ageing: keep(self.ageing, -0.5, 0.5, base.ageing),
            ageing_sd: keep(self.ageing_sd, 0.0, 0.5, base.ageing_sd),
            click: keep(self.click, -2.0, 2.0, base.click),
            click_sd: keep(self.click_sd, 0.0, 2.0, base.click_sd),
        }
    }

    /// Variance to use for a well-prepared pull: the estimate, widened for how few pulls stand behind it (variance
    /// of Student's t with `sigma_dof` degrees of freedom).
    #[must_use]
    pub fn noise_variance(&self) -> f64 {
        let dof = self.sigma_dof.max(3.0);
        self.sigma * self.sigma * dof / (dof - 2.0)
    }

    /// Learns the shot-to-shot scatter from a series: differences of neighbours within one day, setting and bag
    /// (so that ageing, jumps and moves do not count), as a mixture of well and badly prepared pulls, the present
    /// value standing for its degrees of freedom. (Pooled repeatability: NIST/SEMATECH e-Handbook 2.4.4; mixture by
    /// the EM algorithm, Dempster, Laird and Rubin 1977 \[memory\].)
    #[must_use]
    pub fn learn_scatter(mut self, series: &[Reading]) -> Self {
        let pairs: Vec<f64> = series
            .windows(2)
            .filter(|w| w[0].day == w[1].day && w[0].click == w[1].click && w[0].bag == w[1].bag)
            .filter(|w| !w[0].suspect && !w[1].suspect)
            .map(|w| w[1].value - w[0].value)
            .filter(|d| d.is_finite())
            .collect();
        if pairs.is_empty() {
            return self;
        }
        let prior = self.sigma * self.sigma;
        // Neighbouring differences share a pull; three pulls give two differences and two degrees of freedom, but
        // their information is nearer to 2/3 of that.
        let worth = pairs.len() as f64 * if pairs.len() > 1 { 0.75 } else { 1.0 };
        let either_bad = 1.0 - (1.0 - self.bad_share) * (1.0 - self.bad_share);
        let wide = 1.0 + self.bad_width * self.bad_width;
        let mut variance = prior;
        for _ in 0..60 {
            let mut sum = 0.0;
            for d in &pairs {
                let like = |var: f64| libm::exp(-0.5 * d * d / var) / var.sqrt();
                let good = (1.0 - either_bad) * like(2.0 * variance);
                let bad = either_bad * like(wide * variance);
                let share = if good + bad > 0.0 { good / (good + bad) } else { 0.0 };
                sum += d * d * (share / 2.0 + (1.0 - share) / wide);
            }
            let next = (prior * self.sigma_dof + sum / pairs.len() as f64 * worth) / (self.sigma_dof + worth);
            let done = (next / variance - 1.0).abs() < 1e-9;
            variance = next.max(1e-10);
            if done {
                break;
            }
        }
        self.sigma = variance.sqrt();
        self.sigma_dof += worth;
        self
    }

    /// Chooses the nightly wander and the share of bad pulls under which the series is likeliest, weighed with how
    /// usual each value is (a factor of two in wander is one standard deviation). Run after
    /// [`Habits::learn_scatter`]; the series must be deviations from target. Ten days or more are wanted.
    #[must_use]
    pub fn learn_wander(self, series: &[Reading]) -> Self {
        let mut best = (f64::NEG_INFINITY, self);
        for wander_step in -3..=2 {
            for share_step in -2..=1 {
                let trial = Self {
                    wander_night: self.wander_night * libm::exp2(f64::from(wander_step) * 0.75),
                    bad_share: self.bad_share * libm::exp2(f64::from(share_step)),
                    ..self
                };
                let tracker = Tracker::follow(trial, Belief::on_target(&trial, 0.1), series);
                let usual =
                    -0.5 * (f64::from(wander_step) * 0.75).powi(2) - 0.5 * f64::from(share_step).powi(2);
                let score = tracker.log_evidence() + usual;
                if score > best.0 {
                    best = (score, trial);
                }
            }
        }
        best.1
    }

    /// Learns the ageing from bags that were followed for three days or more: the change from the first readings to
    /// the last, the grinder's moves taken out, each bag a straight-line observation with scatter, wander and the
    /// moves' own doubt. (Conjugate normal update.) The doubt between bags stays at 0.003 a day or more.
    #[must_use]
    pub fn learn_ageing(mut self, series: &[Reading]) -> Self {
        let mut precision = 1.0 / (self.ageing_sd * self.ageing_sd).max(1e-12);
        let mut sum = precision * self.ageing;
        for bag in series.chunk_by(|a, b| a.bag == b.bag) {
            let kept: Vec<&Reading> = bag.iter().filter(|r| !r.suspect && r.value.is_finite()).collect();
            let ends = (kept.len() / 2).min(4);
            if ends == 0 {
                continue;
            }
            let (Some(head), Some(tail)) = (kept.get(..ends), kept.get(kept.len() - ends..)) else {
                continue;
            };
            let mean = |part: &[&Reading], f: &dyn Fn(&Reading) -> f64| {
                part.iter().map(|r| f(r)).sum::<f64>() / part.len() as f64
            };
            let days = mean(tail, &|r| f64::from(r.day)) - mean(head, &|r| f64::from(r.day));
            if days < 3.0 {
                continue;
            }
            let clicks = mean(tail, &|r| r.click as f64) - mean(head, &|r| r.click as f64);
            let change = mean(tail, &|r| r.value) - mean(head, &|r| r.value) - clicks * self.click;
            let variance = 2.0 * self.sigma * self.sigma / ends as f64
                + self.wander_night * self.wander_night * days
                + (clicks * self.click_sd).powi(2);
            let weight = days * days / variance;
            if weight.is_finite() && change.is_finite() {
                precision += weight;
                sum += weight * change / days;
            }
        }
        self.ageing = sum / precision;
        self.ageing_sd = (1.0 / precision).sqrt().max(self.ageing_sd.min(0.003));
        self
    }

    /// Learns the effect of a click from deliberate moves: `clicks` coarser, and the change seen with its standard
    /// deviation. (Conjugate normal update.)
    #[must_use]
    pub fn learn_click(mut self, clicks: i64, change: f64, change_sd: f64) -> Self {
        let n = clicks as f64;
        if clicks == 0 || !(change.is_finite() && change_sd > 0.0 && change_sd.is_finite()) {
            return self;
        }
        let (prior, seen) =
            (1.0 / (self.click_sd * self.click_sd).max(1e-12), n * n / (change_sd * change_sd));
        self.click = (prior * self.click + seen * change / n) / (prior + seen);
        self.click_sd = (1.0 / (prior + seen)).sqrt();
        self
    }

    /// Learns the effect of a click from the moves in a series (oldest first): the first pull after each move, at most one
    /// night later, against the level before it. A move is made because pulls ran off, and they lie farther off than the
    /// level did; so the level is the tracker's, with its doubt, and not the last pull's.
    #[must_use]
    pub fn learn_clicks(self, series: &[Reading]) -> Self {
        let mut learnt = self;
        for bag in series.chunk_by(|a, b| a.bag == b.bag) {
            if bag.windows(2).all(|w| w[0].click == w[1].click) {
                continue;
            }
            let variance = learnt.noise_variance();
            // The pull after a move may be a badly prepared one.
            let wide = 1.0 + learnt.bad_share * (learnt.bad_width * learnt.bad_width - 1.0);
            let mut tracker = Tracker::new(learnt, Belief::on_target(&learnt, 0.1));
            let mut last: Option<&Reading> = None;
            for reading in bag {
                let scale = reading.noise_scale(variance);
                let mut seen = None;
                if let Some(before) = last {
                    let days = reading.day.saturating_sub(before.day);
                    if days != 0 {
                        tracker.overnight(f64::from(days), 0.0, 0.0);
                    }
                    let clicks = reading.click.saturating_sub(before.click);
                    if clicks != 0 {
                        let e = tracker.evidence();
                        let spread = e.level_sd * e.level_sd + variance * wide * scale * scale;
                        let sd = (SHARED * spread).sqrt();
                        seen = (0..=1).contains(&days).then_some((clicks, reading.value - e.level, sd));
                        if e.p_shift > 0.5 {
                            tracker.settle();
                        }
                        tracker.moved(clicks);
                    }
                }
                tracker.pull(reading.value, scale);
                if let Some((clicks, change, sd)) = seen {
                    learnt = learnt.learn_click(clicks, change, sd);
                    // From the next move on.
                    tracker.set_habits(learnt);
                }
                last = Some(reading);
            }
        }
        learnt
    }
}
