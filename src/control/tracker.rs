//! The level of a coffee on a station from pull to pull: a small bank of Gaussian hypotheses ("nothing happened",
//! "jumped last night", "has been drifting since Tuesday"), each a two-state Kalman filter of level and slope, with
//! well and badly prepared pulls told apart by a two-width noise.
//!
//! After Harrison and Stevens, *Bayesian forecasting*, J. R. Stat. Soc. B 38:205–247, 1976 (multi-state models with
//! moment collapsing) and Adams and MacKay, *Bayesian online changepoint detection*, arXiv:0710.3742, 2007
//! \[both from memory\]. Deterministic; every step costs about a dozen small updates.

use super::charts::Side;
use super::habits::Habits;
use super::neighbours::{self, DriftNews, Shared, SharedDrift, log_normal};
use super::series::Reading;
use crate::maths::normal;

/// Where a level is believed to stand: deviation from the target on the chart's scale, and its change a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Mean deviation from the target.
    pub level: f64,
    /// Its standard deviation.
    pub level_sd: f64,
    /// Mean change a day.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
}

impl Belief {
    /// On target within `level_sd`, ageing as the habits expect.
    #[must_use]
    pub fn on_target(habits: &Habits, level_sd: f64) -> Self {
        Self { level: 0.0, level_sd, slope: habits.ageing, slope_sd: habits.ageing_sd }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Calm,
    Jump,
    /// A jump that the other coffees of the grinder had too.
    Shared,
    Drift,
    /// A drift that the other coffees of the grinder have too. It is made anew from a drift of the coffee's own each
    /// morning, for the others have said more since.
    SharedDrift,
}

#[derive(Debug, Clone, Copy)]
struct Hypothesis {
    weight: f64,
    level: f64,
    slope: f64,
    v_level: f64,
    v_both: f64,
    v_slope: f64,
    kind: Kind,
    born: u32,
    /// Level expected when the hypothesis was born.
    from: f64,
    /// Slope expected then, before any drift, and its variance.
    calm_slope: (f64, f64),
    /// Chance, of a drift, that it set in that night.
    chance: f64,
    /// Share of the last pull that it lays on bad preparation.
    bad: f64,
}

impl Kind {
    fn drifts(self) -> bool {
        matches!(self, Self::Drift | Self::SharedDrift)
    }
}

impl Hypothesis {
    /// Probability that the level lies farther than `least` from where it would be without the shift.
    fn p_moved(&self, least: f64) -> f64 {
        let (by, sd) = (self.level - self.from, self.v_level.max(1e-18).sqrt());
        normal::cdf((by - least) / sd) + normal::cdf((-by - least) / sd)
    }

    /// What the pulls since a drift set in say of the slope: mean and precision; `None` while they say nothing. `size` is
    /// the usual size of a drift, a day.
    fn slope_seen(&self, size: f64) -> Option<(f64, f64)> {
        let (calm, v_calm) = self.calm_slope;
        let before = v_calm + size * size;
        let precision = 1.0 / self.v_slope - 1.0 / before;
        let enough = precision.is_finite() && precision * before > 1e-6;
        enough.then(|| ((self.slope / self.v_slope - calm / before) / precision, precision))
    }

    /// This drift as one that the other coffees have too: the belief about its slope is theirs, not the usual size.
    fn shared(&self, heard: &SharedDrift, size: f64) -> Option<Self> {
        let usual = neighbours::SHARE / (1.0 - neighbours::SHARE);
        let sound = heard.log_odds.is_finite() && heard.mean.is_finite() && heard.variance > 0.0;
        let (calm, v_calm) = self.calm_slope;
        let (mean, before) = (calm + heard.mean, v_calm + heard.variance);
        let (log_gain, slope, v_slope) = match self.slope_seen(size) {
            None => (0.0, mean, before),
            Some((seen, precision)) => {
                let doubt = 1.0 / precision;
                let gain = log_normal(seen - mean, doubt + before)
                    - log_normal(seen - calm, doubt + v_calm + size * size);
                let v = 1.0 / (precision + 1.0 / before);
                (gain, v * (precision * seen + mean / before), v)
            }
        };
        let pull = self.v_both / self.v_slope;
        let out = Self {
            weight: usual * self.weight * libm::exp((heard.log_odds + log_gain).min(300.0)),
            level: self.level + pull * (slope - self.slope),
            slope,
            v_level: self.v_level + pull * pull * (v_slope - self.v_slope),
            v_both: pull * v_slope,
            v_slope,
            kind: Kind::SharedDrift,
            ..*self
        };
        (sound && out.weight.is_finite() && out.v_level > 0.0 && out.level.is_finite()).then_some(out)
    }

    /// Merges another hypothesis into this one: weights add, first and second moments are kept.
    fn absorb(&mut self, other: &Self) {
        let total = self.weight + other.weight;
        if total.is_nan() || total <= 0.0 {
            return;
        }
        let (a, b) = (self.weight / total, other.weight / total);
        let (dl, ds) = (other.level - self.level, other.slope - self.slope);
        self.v_level = a * self.v_level + b * other.v_level + a * b * dl * dl;
        self.v_both = a * self.v_both + b * other.v_both + a * b * dl * ds;
        self.v_slope = a * self.v_slope + b * other.v_slope + a * b * ds * ds;
        self.level += b * dl;
        self.slope += b * ds;
        self.from = a * self.from + b * other.from;
        self.weight = total;
    }

    /// All hypotheses that pass, as one; `None` when none does.
    fn merged<'a>(list: impl Iterator<Item = &'a Self>) -> Option<Self> {
        let mut out: Option<Self> = None;
        for x in list {
            match &mut out {
                Some(sum) => sum.absorb(x),
                None => out = Some(*x),
            }
        }
        out
    }
}

/// What the pulls so far say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Probability that the level jumped or began to drift since things were last settled.
    pub p_shift: f64,
    /// Probability of a shift that is large enough to be noticed: of a third of a usual jump or more.
    pub p_noticeable: f64,
    /// The part of `p_shift` that says drift.
    pub p_drift: f64,
    /// The part of `p_shift` that says a jump or a drift shared by the other coffees of the grinder.
    pub p_shared: f64,
    /// Which way the shift went, by its mean.
    pub side: Side,
    /// Deviation of the level from the target.
    pub level: f64,
    /// Its standard deviation.
    pub level_sd: f64,
    /// Change a day.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Probability that the last pull was badly prepared.
    pub p_last_bad: f64,
    /// Pulls since things were last settled.
    pub pulls: u32,
}

/// Farthest deviation that is looked at, chart's scale.
pub(super) const FARTHEST: f64 = 5.0;
/// How many hypotheses are kept.
const KEPT: usize = 20;
/// Nights after which a shift that nobody acted on counts as the new normal.
const MEMORY_NIGHTS: u32 = 6;
/// Part of a usual jump below which a shift is too small to be noticed (of 10 %: 3 %).
const NOTICEABLE: f64 = 0.3;
/// Wander of the ageing rate from day to day, chart's scale a day.
const SLOPE_WANDER: f64 = 5e-4;

/// Follows one coffee on one station.
#[derive(Debug, Clone)]
pub struct Tracker {
    habits: Habits,
    bank: Vec<Hypothesis>,
    night: u32,
    pulls: u32,
    last_bad: f64,
    log_evidence: f64,
    heard: Option<Shared>,
}

impl Tracker {
    /// Starts from a belief.
    #[must_use]
    pub fn new(habits: Habits, start: Belief) -> Self {
        let habits = habits.sane();
        let tame = |v: f64, limit: f64| if v.is_finite() { v.clamp(-limit, limit) } else { 0.0 };
        let sd = |v: f64| if v.is_finite() { v.clamp(0.0, 10.0) } else { 1.0 };
        let bank = vec![Hypothesis {
            weight: 1.0,
            level: tame(start.level, 10.0),
            slope: tame(start.slope, 1.0),
            v_level: sd(start.level_sd).powi(2),
            v_both: 0.0,
            v_slope: sd(start.slope_sd).powi(2),
            kind: Kind::Calm,
            born: 0,
            from: tame(start.level, 10.0),
            calm_slope: (0.0, 0.0),
            chance: 0.0,
            bad: 0.0,
        }];
        Self { habits, bank, night: 0, pulls: 0, last_bad: 0.0, log_evidence: 0.0, heard: None }
    }

    /// Follows a whole series (oldest first): nights, new bags (level known to 0.1 only), moves of the grinder, pulls.
    /// Pulls count with the scatter that [`Reading::noise_scale`] says. A move while a shift is likelier than not is taken
    /// as the answer to it.
    #[must_use]
    pub fn follow(habits: Habits, start: Belief, series: &[Reading]) -> Self {
        let mut tracker = Self::new(habits, start);
        let mut last: Option<&Reading> = None;
        for reading in series {
            if let Some(before) = last {
                if reading.day != before.day {
                    tracker.overnight(f64::from(reading.day.saturating_sub(before.day)), 0.0, 0.0);
                }
                if reading.bag != before.bag {
                    tracker.changed(0.0, 0.1);
                } else if reading.click != before.click {
                    if tracker.evidence().p_shift > 0.5 {
                        tracker.settle();
                    }
                    tracker.moved(reading.click.saturating_sub(before.click));
                }
            }
            tracker.pull(reading.value, reading.noise_scale(tracker.habits.noise_variance()));
            last = Some(reading);
        }
        tracker
    }

    /// The habits in use.
    #[must_use]
    pub fn habits(&self) -> &Habits {
        &self.habits
    }

    /// Changes the habits (after learning), keeping what is believed of the level.
    pub fn set_habits(&mut self, habits: Habits) {
        self.habits = habits.sane();
    }

    /// A night (or `days` of them) passes: ageing, wander, and the chance of a jump or of a drift setting in.
    /// `expected` and `expected_sd` are a known extra change, for example from a warmer room.
    pub fn overnight(&mut self, days: f64, expected: f64, expected_sd: f64) {
        self.night_passes(days, expected, expected_sd);
        self.heard = None;
        self.branch(self.habits.jump_night, self.habits.drift_night);
    }

    /// As [`Tracker::overnight`] for one of several coffees on a grinder: a part of the jumps
    /// ([`neighbours::SHARE`]) is common to all, and what is believed of it is `shared`.
    pub fn overnight_among(&mut self, days: f64, expected: f64, expected_sd: f64, shared: &Shared) {
        self.night_passes(days, expected, expected_sd);
        self.heard = Some(*shared);
        let h = self.habits;
        let p = if shared.p.is_finite() { shared.p.clamp(0.0, 1.0 - 1e-9) } else { 0.0 };
        let common = Hypothesis::merged(self.bank.iter()).filter(|_| shared.mean.is_finite()).map(|whole| {
            let sd = if shared.sd.is_finite() { shared.sd.clamp(0.0, FARTHEST) } else { h.jump_size };
            Hypothesis {
                weight: p,
                level: whole.level + shared.mean.clamp(-FARTHEST, FARTHEST),
                v_level: whole.v_level + sd * sd,
                kind: Kind::Shared,
                born: self.night,
                from: whole.level,
                ..whole
            }
        });
        self.branch(h.jump_night * (1.0 - neighbours::SHARE), h.drift_night * (1.0 - neighbours::SHARE));
        let drifts: Vec<Hypothesis> = self
            .bank
            .iter()
            .filter(|x| x.kind == Kind::Drift)
            .filter_map(|x| {
                let age = usize::try_from(self.night.saturating_sub(x.born)).ok()?;
                x.shared(&(*shared.drifts.get(age)?)?, h.drift_size)
            })
            .collect();
        if let Some(common) = common {
            for x in &mut self.bank {
                x.weight *= 1.0 - p;
            }
            self.bank.push(common);
        }
        self.bank.extend(drifts.into_iter().map(|x| Hypothesis { weight: x.weight * (1.0 - p), ..x }));
        self.prune();
    }

    /// What the pulls so far say of a drift, to the other coffees of the grinder.
    #[must_use]
    pub fn drift_news(&self) -> Vec<DriftNews> {
        let steady: f64 = self.bank.iter().filter(|x| !x.kind.drifts()).map(|x| x.weight).sum();
        let age = |born: u32| {
            usize::try_from(self.night.saturating_sub(born)).ok().filter(|age| *age < neighbours::AGES)
        };
        let news = self.bank.iter().filter(|x| x.kind == Kind::Drift).filter_map(|x| {
            let (of, precision) = x.slope_seen(self.habits.drift_size)?;
            let (slope, v) = x.calm_slope;
            let size = self.habits.drift_size;
            let odds = libm::log(x.weight / steady) - libm::log(x.chance / (1.0 - x.chance));
            Some(DriftNews {
                age: age(x.born)?,
                log_gain: odds - log_normal(of - slope, v + size * size + 1.0 / precision),
                mean: of - slope,
                variance: v + 1.0 / precision,
            })
        });
        news.collect()
    }

    /// What the other coffees of the grinder had said when this day began to be looked at.
    #[must_use]
    pub fn heard(&self) -> Option<&Shared> {
        self.heard.as_ref()
    }

    /// Where the level is expected if nothing happened last night.
    #[must_use]
    pub fn undisturbed(&self) -> Belief {
        let old = self.bank.iter().filter(|x| x.kind == Kind::Calm || x.born < self.night);
        let whole = Hypothesis::merged(old).or_else(|| Hypothesis::merged(self.bank.iter()));
        whole.map_or(Belief { level: 0.0, level_sd: 1.0, slope: 0.0, slope_sd: 0.0 }, |x| Belief {
            level: x.level,
            level_sd: x.v_level.max(0.0).sqrt(),
            slope: x.slope,
            slope_sd: x.v_slope.max(0.0).sqrt(),
        })
    }

    fn night_passes(&mut self, days: f64, expected: f64, expected_sd: f64) {
        let days = if days.is_finite() { days.clamp(0.0, 60.0) } else { 1.0 };
        let expected = if expected.is_finite() { expected.clamp(-FARTHEST, FARTHEST) } else { 0.0 };
        let extra = if expected_sd.is_finite() { expected_sd.clamp(0.0, FARTHEST).powi(2) } else { 0.0 };
        self.night += 1;
        let h = self.habits;
        if self.bank.iter().any(|x| x.kind != Kind::SharedDrift) {
            self.bank.retain(|x| x.kind != Kind::SharedDrift);
        }
        for x in &mut self.bank {
            let calm = if x.kind.drifts() { x.calm_slope.0 } else { x.slope };
            x.from += calm * days + expected;
            x.level += x.slope * days + expected;
            x.v_level += 2.0 * days * x.v_both
                + days * days * x.v_slope
                + h.wander_night * h.wander_night * days
                + extra;
            x.v_both += days * x.v_slope;
            x.v_slope += SLOPE_WANDER * SLOPE_WANDER * days;
        }
    }

    /// Splits off the hypotheses "jumped just now" and "began to drift just now".
    fn branch(&mut self, jump: f64, drift: f64) {
        let h = self.habits;
        let Some(whole) = Hypothesis::merged(self.bank.iter()) else { return };
        for x in &mut self.bank {
            x.weight *= 1.0 - jump - drift;
        }
        let night = self.night;
        if jump > 0.0 {
            let v_level = whole.v_level + h.jump_size * h.jump_size;
            let from = whole.level;
            self.bank.push(Hypothesis {
                weight: jump,
                v_level,
                kind: Kind::Jump,
                born: night,
                from,
                ..whole
            });
        }
        if drift > 0.0 {
            // The first day of the drift has already acted on the level.
            let v = h.drift_size * h.drift_size;
            self.bank.push(Hypothesis {
                weight: drift,
                v_level: whole.v_level + v,
                v_both: whole.v_both + v,
                v_slope: whole.v_slope + v,
                kind: Kind::Drift,
                born: night,
                from: whole.level,
                calm_slope: (whole.slope, whole.v_slope),
                chance: drift,
                ..whole
            });
        }
        self.prune();
    }

    fn prune(&mut self) {
        let total: f64 = self.bank.iter().map(|x| x.weight).sum();
        if !(total.is_finite() && total > 0.0) {
            // Can only follow from numbers far outside anything real: fall back to what all agree on.
            if let Some(mut one) = Hypothesis::merged(self.bank.iter()) {
                one.weight = 1.0;
                one.kind = Kind::Calm;
                self.bank = vec![one];
            }
            return;
        }
        for x in &mut self.bank {
            x.weight /= total;
        }
        // Old shifts become the new normal.
        let oldest = self.night.saturating_sub(MEMORY_NIGHTS);
        for x in &mut self.bank {
            if x.kind != Kind::Calm && x.born < oldest {
                x.kind = Kind::Calm;
            }
        }
        // Two hypotheses of one kind and one night tell the same story; all calm ones are one.
        let mut i = 0;
        while i < self.bank.len() {
            let (head, tail) = self.bank.split_at_mut(i + 1);
            let Some(one) = head.last_mut() else { break };
            for other in tail.iter_mut() {
                if other.kind == one.kind && (one.kind == Kind::Calm || other.born == one.born) {
                    one.absorb(other);
                    other.weight = -1.0;
                }
            }
            self.bank.retain(|x| x.weight >= 0.0);
            i += 1;
        }
        if self.bank.len() > KEPT {
            self.bank.sort_by(|a, b| b.weight.total_cmp(&a.weight));
            self.bank.truncate(KEPT);
            let total: f64 = self.bank.iter().map(|x| x.weight).sum();
            for x in &mut self.bank {
                x.weight /= total;
            }
        }
    }

    /// One pull: its deviation from the target on the chart's scale, known causes removed. `noise_scale` multiplies
    /// its scatter (1 for an ordinary pull, 3 for one that spurted, above 1 for a person who scatters more). A value
    /// that is not finite, or beyond anything real (a factor of e⁵ on the log scale), is passed over.
    pub fn pull(&mut self, deviation: f64, noise_scale: f64) {
        if deviation.is_nan() || deviation.abs() > FARTHEST {
            return;
        }
        let scale = if noise_scale.is_finite() { noise_scale.clamp(0.2, 20.0) } else { 1.0 };
        let h = self.habits;
        for x in &mut self.bank {
            x.v_level += h.wander_pull * h.wander_pull;
        }
        if h.jump_pull > 0.0 && self.pulls > 0 {
            self.branch(h.jump_pull, 0.0);
        }
        let good = h.noise_variance() * scale * scale;
        let widths = [(1.0 - h.bad_share, good), (h.bad_share, good * h.bad_width * h.bad_width)];
        let mut top_of_all = f64::NEG_INFINITY;
        let mut last_bad = 0.0;
        for x in &mut self.bank {
            let part = |(share, noise): (f64, f64)| {
                let s = x.v_level + noise;
                let e = deviation - x.level;
                (libm::log(share.max(1e-300)) - 0.5 * (e * e / s + libm::log(s)), s, e)
            };
            let (a, b) = (part(widths[0]), part(widths[1]));
            let top = a.0.max(b.0);
            let (wa, wb) = (libm::exp(a.0 - top), libm::exp(b.0 - top));
            let bad = wb / (wa + wb);
            let log_weight = libm::log(x.weight.max(1e-300)) + top + libm::log(wa + wb);
            // Posterior under either noise, collapsed to one Gaussian.
            let after = |s: f64, e: f64, weight: f64| {
                let (k, ks) = (x.v_level / s, x.v_both / s);
                Hypothesis {
                    weight,
                    level: x.level + k * e,
                    slope: x.slope + ks * e,
                    v_level: x.v_level * (1.0 - k),
                    v_both: x.v_both * (1.0 - k),
                    v_slope: x.v_slope - ks * x.v_both,
                    ..*x
                }
            };
            let mut both = after(a.1, a.2, 1.0 - bad);
            both.absorb(&after(b.1, b.2, bad));
            *x = Hypothesis { weight: log_weight, bad, ..both };
            top_of_all = top_of_all.max(log_weight);
        }
        let mut total = 0.0;
        for x in &mut self.bank {
            x.weight = libm::exp(x.weight - top_of_all);
            total += x.weight;
            last_bad += x.weight * x.bad;
        }
        self.last_bad = last_bad / total;
        self.log_evidence += top_of_all + libm::log(total) - 0.5 * libm::log(2.0 * std::f64::consts::PI);
        self.pulls += 1;
        self.prune();
    }

    /// The grinder was moved on purpose, `clicks` towards coarser: the expected change is applied with its doubt.
    /// After a move that answers a shift, call [`Tracker::settle`] first ([`super::verdict::Verdict::taken`] does
    /// both); a start that was planned from ageing leaves the question open whether something moved.
    pub fn moved(&mut self, clicks: i64) {
        let n = clicks.clamp(-1000, 1000) as f64;
        let h = self.habits;
        for x in &mut self.bank {
            x.level = (x.level + n * h.click).clamp(-FARTHEST, FARTHEST);
            x.from += n * h.click;
            x.v_level += (n * h.click_sd).powi(2).min(FARTHEST * FARTHEST);
        }
    }

    /// Another bag, or anything else known to change the level: by `change`, known to `change_sd`. The slope goes
    /// back to what is usual for ageing.
    pub fn changed(&mut self, change: f64, change_sd: f64) {
        self.settle();
        let (change, sd) = (
            if change.is_finite() { change.clamp(-FARTHEST, FARTHEST) } else { 0.0 },
            if change_sd.is_finite() { change_sd.clamp(0.0, 10.0) } else { 1.0 },
        );
        let h = self.habits;
        for x in &mut self.bank {
            x.level += change;
            x.v_level += sd * sd;
            x.slope = h.ageing;
            x.v_slope = h.ageing_sd * h.ageing_sd;
            x.v_both = 0.0;
        }
    }

    /// What was found has been dealt with or accepted: the present level is the new normal.
    pub fn settle(&mut self) {
        if let Some(mut one) = Hypothesis::merged(self.bank.iter()) {
            one.weight = 1.0;
            one.kind = Kind::Calm;
            self.bank = vec![one];
        }
        self.pulls = 0;
    }

    /// What the pulls so far say.
    #[must_use]
    pub fn evidence(&self) -> Evidence {
        let of = |kind: Kind| self.bank.iter().filter(|x| x.kind == kind).map(|x| x.weight).sum::<f64>();
        let least = NOTICEABLE * self.habits.jump_size;
        let p_noticeable: f64 = self.shifted().map(|x| x.weight * x.p_moved(least)).sum();
        let (jumped, drifts) = (of(Kind::Shared), of(Kind::SharedDrift));
        let (jump, drift) = (of(Kind::Jump) + jumped, of(Kind::Drift) + drifts);
        let whole = Hypothesis::merged(self.bank.iter());
        let (level, level_sd, slope, slope_sd) = whole.map_or((0.0, 1.0, 0.0, 1.0), |x| {
            (x.level, x.v_level.max(0.0).sqrt(), x.slope, x.v_slope.max(0.0).sqrt())
        });
        Evidence {
            p_shift: (jump + drift).clamp(0.0, 1.0),
            p_noticeable: p_noticeable.clamp(0.0, 1.0),
            p_drift: drift.clamp(0.0, 1.0),
            p_shared: (jumped + drifts).clamp(0.0, 1.0),
            side: if self.shift_size() >= 0.0 { Side::High } else { Side::Low },
            level,
            level_sd,
            slope,
            slope_sd,
            p_last_bad: self.last_bad.clamp(0.0, 1.0),
            pulls: self.pulls,
        }
    }

    /// The hypotheses that say something moved.
    fn shifted(&self) -> impl Iterator<Item = &Hypothesis> {
        self.bank.iter().filter(|x| x.kind != Kind::Calm)
    }

    /// Size of the shift, if there was one: the level now less the level when it set in.
    #[must_use]
    pub fn shift_size(&self) -> f64 {
        Hypothesis::merged(self.shifted()).map_or(0.0, |x| x.level - x.from)
    }

    /// Mean change a day, taking for granted that a drift set in, ageing included; `None` while none can have.
    #[must_use]
    pub fn drift_slope(&self) -> Option<f64> {
        Hypothesis::merged(self.bank.iter().filter(|x| x.kind.drifts())).map(|x| x.slope)
    }

    /// Mean level and change a day, taking for granted that something moved; `None` while nothing can have.
    #[must_use]
    pub fn if_shifted(&self) -> Option<(f64, f64)> {
        Hypothesis::merged(self.shifted()).map(|x| (x.level, x.slope))
    }

    /// Probability that the deviation of the level exceeds `edge`, taking for granted that something moved.
    #[must_use]
    pub fn p_above_if_shifted(&self, edge: f64) -> f64 {
        above(self.shifted(), edge, 1.0)
    }

    /// Natural logarithm of the probability density of all pulls so far under the habits (for choosing habits).
    #[must_use]
    pub fn log_evidence(&self) -> f64 {
        self.log_evidence
    }

    /// Probability that the deviation of the level exceeds `edge`.
    #[must_use]
    pub fn p_above(&self, edge: f64) -> f64 {
        above(self.bank.iter(), edge, 1.0)
    }

    /// As [`Tracker::p_above`], or where `shifted` as [`Tracker::p_above_if_shifted`], with every doubt about the level
    /// `stretch` times as large: what the pulls say when they scatter so many times wider than usual.
    pub(super) fn p_above_stretched(&self, edge: f64, shifted: bool, stretch: f64) -> f64 {
        if shifted { above(self.shifted(), edge, stretch) } else { above(self.bank.iter(), edge, stretch) }
    }

    /// Range that holds the next well-prepared pull with probability `share` (about its predicted mean).
    #[must_use]
    pub fn next_pull(&self, share: f64) -> (f64, f64) {
        let e = self.evidence();
        let half = normal::quantile(0.5 + share.clamp(0.0, 0.9999) / 2.0)
            * (e.level_sd * e.level_sd + self.habits.noise_variance()).sqrt();
        (e.level - half, e.level + half)
    }
}

fn above<'a>(bank: impl Iterator<Item = &'a Hypothesis>, edge: f64, stretch: f64) -> f64 {
    let (mut part, mut whole) = (0.0, 0.0);
    for x in bank {
        part += x.weight * normal::cdf((x.level - edge) / (stretch * x.v_level.max(1e-18).sqrt()));
        whole += x.weight;
    }
    if whole > 0.0 { (part / whole).clamp(0.0, 1.0) } else { 0.5 }
}
