//! From a bag's pulls to a series: known causes taken out, on the log scale.

use std::collections::BTreeMap;

use super::series::Reading;
use super::sunk::DayUse;
use crate::domain::{Bag, GrindScale, Pull, StationId};
use crate::maths::dense;

/// Which quantity is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Watched {
    /// Pump on to cup away.
    FlowTime,
    /// Dissolved solids of the drink.
    Strength,
    /// Drink in the cup.
    Yield,
}

impl Watched {
    /// Its name in tables and other files, the same in every language: `time`, `strength`, `yield`.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::FlowTime => "time",
            Self::Strength => "strength",
            Self::Yield => "yield",
        }
    }
}

/// How much dose and cup mass account for: exponents in value ∝ dose^a · cup^b.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownCauses {
    /// Exponent of the dose and its standard deviation.
    pub dose: (f64, f64),
    /// Exponent of the drink mass and its standard deviation.
    pub cup: (f64, f64),
}

impl KnownCauses {
    /// Starting values. Flow time: dose to the power 2–3 at the same drink mass; the cup's share from 1 s for 2 g near
    /// the end of a 27 s, 36 g pull, which makes 0.7, and a little more for a slow start (trade, no source). Strength: a little more dose, a little stronger; more cup,
    /// thinner almost in proportion. Yield is itself what is set: nothing is taken out.
    #[must_use]
    pub fn start(what: Watched) -> Self {
        match what {
            Watched::FlowTime => Self { dose: (2.4, 0.8), cup: (0.8, 0.3) },
            Watched::Strength => Self { dose: (0.9, 0.3), cup: (-0.8, 0.2) },
            Watched::Yield => Self { dose: (0.0, 0.1), cup: (0.0, 1e-6) },
        }
    }

    /// What to subtract from the logarithm of a value for a pull whose dose and cup were off plan.
    #[must_use]
    pub fn part(&self, dose_over_plan: f64, cup_over_plan: f64) -> f64 {
        let log = |r: f64| if r > 0.0 && r.is_finite() { libm::log(r) } else { 0.0 };
        self.dose.0 * log(dose_over_plan) + self.cup.0 * log(cup_over_plan)
    }

    /// Learns the exponents from groups of raw log values (a group: one day, setting and bag) with the log ratios of
    /// dose and cup; the present values stand as a normal prior. Bayesian straight-line fit on deviations from each
    /// group's mean, `sigma` the scatter that stays.
    #[must_use]
    pub fn learn(self, groups: &[Vec<(f64, f64, f64)>], sigma: f64) -> Self {
        let w = 1.0 / (sigma * sigma);
        if !w.is_finite() {
            return self;
        }
        let prior = |sd: f64| 1.0 / (sd * sd).max(1e-12);
        let mut a = [prior(self.dose.1), 0.0, 0.0, prior(self.cup.1)];
        let mut b = [a[0] * self.dose.0, a[3] * self.cup.0];
        for group in groups {
            let kept: Vec<&(f64, f64, f64)> =
                group.iter().filter(|g| g.0.is_finite() && g.1.is_finite() && g.2.is_finite()).collect();
            let n = kept.len() as f64;
            if n < 2.0 {
                continue;
            }
            let mean = |f: fn(&(f64, f64, f64)) -> f64| kept.iter().map(|g| f(g)).sum::<f64>() / n;
            let (my, md, mc) = (mean(|g| g.0), mean(|g| g.1), mean(|g| g.2));
            for g in kept {
                let (y, d, c) = (g.0 - my, g.1 - md, g.2 - mc);
                a[0] += w * d * d;
                a[1] += w * d * c;
                a[2] += w * d * c;
                a[3] += w * c * c;
                b[0] += w * d * y;
                b[1] += w * c * y;
            }
        }
        let Some(l) = dense::cholesky(&a, 2) else { return self };
        dense::solve(&l, &mut b);
        let cov = dense::inverse(&l, 2);
        Self { dose: (b[0], cov[0].max(0.0).sqrt()), cup: (b[1], cov[3].max(0.0).sqrt()) }
    }
}

/// Where a series is referred to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Target of the quantity, raw unit (the keeper's time, strength or yield).
    pub target: f64,
    /// Planned dose, grams.
    pub dose_g: f64,
    /// Planned drink, grams.
    pub yield_g: f64,
}

impl Reference {
    /// From a bag's keeper; `None` without a keeper or without a target for the quantity.
    #[must_use]
    pub fn of_keeper(bag: &Bag, what: Watched) -> Option<Self> {
        let keeper = bag.keeper.as_ref()?;
        let target = match what {
            Watched::FlowTime => keeper.time_s?,
            Watched::Yield => keeper.recipe.yield_g,
            Watched::Strength => {
                let from = keeper.from_pull?;
                bag.live_pulls().find(|p| p.id == from)?.tds_pct?
            }
        };
        Some(Self { target, dose_g: keeper.recipe.dose_g, yield_g: keeper.recipe.yield_g })
    }
}

/// The quantity of one pull, raw; `None` where it was not measured or the pull never flowed.
#[must_use]
pub fn raw(pull: &Pull, what: Watched) -> Option<f64> {
    if pull.flags.choked {
        return None;
    }
    match what {
        Watched::FlowTime => pull.time_s,
        Watched::Strength => pull.tds_pct,
        Watched::Yield => Some(pull.used.yield_g),
    }
    .filter(|v| v.is_finite() && *v > 0.0)
}

/// How a bag's pulls are read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reader<'a> {
    /// Quantity.
    pub what: Watched,
    /// Target and plan.
    pub reference: Reference,
    /// Known causes to take out.
    pub causes: KnownCauses,
    /// The station that is read; a pull of another one says nothing of its grinder.
    pub station: StationId,
    /// The grinder's scale.
    pub grind: &'a GrindScale,
    /// Where the bar is: decides which day a pull belongs to.
    pub zone: &'a jiff::tz::TimeZone,
}

/// Readings of a bag's pulls on one station: log deviation from the reference's target, dose and cup taken out. People are
/// numbered in the order in which `people` lists them (new names are appended). `bag_number` tells bags of one coffee apart.
/// Pulls without the quantity are left out.
#[must_use]
pub fn readings(bag: &Bag, bag_number: u32, reader: &Reader<'_>, people: &mut Vec<String>) -> Vec<Reading> {
    let Reader { what, reference, causes, station, grind, zone } = reader;
    let log = |v: f64| if v > 0.0 && v.is_finite() { libm::log(v) } else { 0.0 };
    bag.live_pulls()
        .filter(|pull| pull.station == *station)
        .filter_map(|pull| {
            let value = log(raw(pull, *what)?)
                - log(reference.target)
                - causes.part(pull.used.dose_g / reference.dose_g, pull.used.yield_g / reference.yield_g);
            let local = zone.to_datetime(pull.pulled_at);
            let who = match people.iter().position(|p| *p == pull.pulled_by) {
                Some(i) => i,
                None => {
                    people.push(pull.pulled_by.clone());
                    people.len() - 1
                }
            };
            value.is_finite().then(|| Reading {
                day: day_number(local.date()),
                at_s: seconds_of(local.time()),
                value,
                click: grind.steps_coarser(grind.scale.min(), pull.used.grind),
                bag: bag_number,
                bag_age_days: bag.days_since_roast(local.date()).map(f64::from),
                who: u32::try_from(who).unwrap_or(u32::MAX),
                doubt: 0.0,
                suspect: pull.flags.spurting,
            })
        })
        .collect()
}

/// Coffee used and sunk, day by day, from a bag's pulls (days counted in `zone`). Purges follow the grinder moves:
/// `purge_g` after each; another station's setting is no move.
#[must_use]
pub fn day_use(bag: &Bag, purge_g: f64, zone: &jiff::tz::TimeZone) -> Vec<DayUse> {
    let mut days: BTreeMap<i32, DayUse> = BTreeMap::new();
    let mut settings: BTreeMap<StationId, f64> = BTreeMap::new();
    for pull in bag.live_pulls() {
        let day = day_number(zone.to_datetime(pull.pulled_at).date());
        let entry = days.entry(day).or_insert(DayUse { day, ..DayUse::default() });
        let dose = if pull.used.dose_g.is_finite() { pull.used.dose_g.max(0.0) } else { 0.0 };
        if pull.flags.sink || pull.flags.choked {
            entry.sunk_g += dose;
        } else {
            entry.served_g += dose;
        }
        let before = settings.insert(pull.station, pull.used.grind);
        if before.is_some_and(|s| (s - pull.used.grind).abs() > 1e-9) && purge_g.is_finite() {
            entry.purged_g += purge_g.max(0.0);
        }
    }
    days.into_values().collect()
}

/// Days since the first of January of the year 1 (proleptic), one a calendar day.
#[must_use]
pub fn day_number(date: jiff::civil::Date) -> i32 {
    date.since(jiff::civil::date(1, 1, 1)).map_or(0, |span| span.get_days())
}

fn seconds_of(time: jiff::civil::Time) -> f64 {
    f64::from(time.hour()) * 3600.0 + f64::from(time.minute()) * 60.0 + f64::from(time.second())
}
