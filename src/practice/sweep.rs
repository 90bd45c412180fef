//! One handle of the bench against what comes of it.

use serde::{Deserialize, Serialize};

use super::bench::{Bench, BenchPull, Handle};
use super::palate::Palate;
use crate::puck::{Condition, PuckFault, PullTrace, Run, Settings};
use crate::words::Name;

/// What can be watched while a handle moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Watch {
    /// Pump on to cup away, seconds.
    Time,
    /// Pump on to first drip, seconds.
    FirstDrip,
    /// Strength, percent.
    Strength,
    /// Extraction, percent.
    Extraction,
    /// Early acids over late bitter matter in the cup.
    Balance,
    /// Share of extraction lost by uneven flow, percent.
    Unevenness,
    /// Dry coffee per drink, g/g.
    CoffeePerDrink,
    /// Liking of the usual drinker, 1–9.
    Liking,
    /// Drink in the cup 20 s after the pump stood at full pressure, grams.
    Cup20,
    /// As [`Watch::Cup20`], after 30 s.
    Cup30,
    /// As [`Watch::Cup20`], after 40 s.
    Cup40,
    /// As [`Watch::Cup20`], after 60 s.
    Cup60,
}

/// Seconds of full pressure after which the cup is weighed.
pub const CUP_TIMES: [f64; 4] = [20.0, 30.0, 40.0, 60.0];

/// Share of its highest pressure at which the pump stands at full pressure.
const SETTLED: f64 = 0.98;

impl Watch {
    /// Its name as it stands alone, as what a sentence speaks of, as what a pull has or has not, and where room is short.
    fn names(self) -> [Name; 4] {
        match self {
            Self::Time => [
                name!("practice-sweep-time"),
                name!("practice-sweep-the-time"),
                name!("practice-sweep-one-time"),
                name!("practice-sweep-time"),
            ],
            Self::FirstDrip => [
                name!("practice-sweep-first-drip"),
                name!("practice-sweep-the-first-drip"),
                name!("practice-sweep-one-first-drip"),
                name!("practice-sweep-first-drip"),
            ],
            Self::Strength => [
                name!("practice-sweep-strength"),
                name!("practice-sweep-the-strength"),
                name!("practice-sweep-one-strength"),
                name!("practice-sweep-strength"),
            ],
            Self::Extraction => [
                name!("practice-sweep-extraction"),
                name!("practice-sweep-the-extraction"),
                name!("practice-sweep-one-extraction"),
                name!("practice-sweep-extraction"),
            ],
            Self::Balance => [
                name!("practice-sweep-balance"),
                name!("practice-sweep-the-balance"),
                name!("practice-sweep-one-balance"),
                name!("practice-sweep-short-balance"),
            ],
            Self::Unevenness => [
                name!("practice-sweep-unevenness"),
                name!("practice-sweep-the-unevenness"),
                name!("practice-sweep-one-unevenness"),
                name!("practice-sweep-unevenness"),
            ],
            Self::CoffeePerDrink => [
                name!("practice-sweep-coffee-per-drink"),
                name!("practice-sweep-the-coffee-per-drink"),
                name!("practice-sweep-one-coffee-per-drink"),
                name!("practice-sweep-short-coffee-per-drink"),
            ],
            Self::Liking => [
                name!("practice-sweep-liking"),
                name!("practice-sweep-the-liking"),
                name!("practice-sweep-one-liking"),
                name!("practice-sweep-liking"),
            ],
            Self::Cup20 => [
                name!("practice-sweep-cup-20"),
                name!("practice-sweep-the-cup-20"),
                name!("practice-sweep-one-cup-20"),
                name!("practice-sweep-short-cup-20"),
            ],
            Self::Cup30 => [
                name!("practice-sweep-cup-30"),
                name!("practice-sweep-the-cup-30"),
                name!("practice-sweep-one-cup-30"),
                name!("practice-sweep-short-cup-30"),
            ],
            Self::Cup40 => [
                name!("practice-sweep-cup-40"),
                name!("practice-sweep-the-cup-40"),
                name!("practice-sweep-one-cup-40"),
                name!("practice-sweep-short-cup-40"),
            ],
            Self::Cup60 => [
                name!("practice-sweep-cup-60"),
                name!("practice-sweep-the-cup-60"),
                name!("practice-sweep-one-cup-60"),
                name!("practice-sweep-short-cup-60"),
            ],
        }
    }

    /// Name for an axis.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.names()[0].word()
    }

    /// Name as what a sentence speaks of, for example "the time".
    #[must_use]
    pub fn the(self) -> &'static str {
        self.names()[1].word()
    }

    /// Name as what a pull has or has not, for example "a time".
    #[must_use]
    pub fn one(self) -> &'static str {
        self.names()[2].word()
    }

    /// Name where room is short.
    #[must_use]
    pub fn short(self) -> &'static str {
        self.names()[3].word()
    }

    /// Unit for an axis, or empty.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Time | Self::FirstDrip => "s",
            Self::Strength | Self::Extraction | Self::Unevenness => "%",
            Self::CoffeePerDrink => "g/g",
            Self::Cup20 | Self::Cup30 | Self::Cup40 | Self::Cup60 => "g",
            Self::Balance | Self::Liking => "",
        }
    }

    /// Decimals worth showing.
    #[must_use]
    pub fn decimals(self) -> usize {
        match self {
            Self::Time | Self::FirstDrip | Self::Liking | Self::Unevenness => 1,
            Self::Cup20 | Self::Cup30 | Self::Cup40 | Self::Cup60 => 1,
            Self::Strength | Self::Extraction | Self::Balance => 2,
            Self::CoffeePerDrink => 3,
        }
    }
}

/// What came of one pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Pump on to cup away, seconds.
    pub time_s: f64,
    /// Pump on to first drip, seconds.
    pub first_drip_s: Option<f64>,
    /// Strength, percent.
    pub tds_pct: f64,
    /// Extraction, percent.
    pub extraction_pct: f64,
    /// Early acids over late bitter matter.
    pub balance: f64,
    /// Unevenness, 0–1.
    pub unevenness: f64,
    /// Dry coffee per drink, g/g; 0 for an empty cup.
    pub coffee_per_drink: f64,
    /// Liking, 1–9.
    pub liking: f64,
    /// Drink in the cup at [`CUP_TIMES`] after the pump stood at full pressure, grams; `None` where the cup was taken away
    /// before.
    pub cups_g: [Option<f64>; 4],
    /// Whether the cup was filled.
    pub filled: bool,
    /// Ordinary, choked or gusher.
    pub condition: Condition,
}

impl Seen {
    /// What came of a bench pull, tasted by one drinker.
    #[must_use]
    pub fn of(pull: &BenchPull, palate: &Palate) -> Self {
        let yield_g = pull.cup.yield_g;
        Self {
            time_s: pull.trace.end_s,
            first_drip_s: pull.trace.first_drip_s,
            tds_pct: pull.cup.tds_pct,
            extraction_pct: pull.cup.extraction_pct,
            balance: pull.balance(),
            unevenness: pull.cup.unevenness,
            coffee_per_drink: if yield_g > 0.05 { pull.puck.spec().dose_g / yield_g } else { 0.0 },
            liking: pull.liking(palate),
            cups_g: CUP_TIMES.map(|after_s| cup_after(&pull.trace, after_s)),
            filled: pull.trace.reached_yield,
            condition: pull.trace.condition,
        }
    }

    /// One watched value; `None` where the pull has none (no drip, or a cup that never filled).
    #[must_use]
    pub fn get(&self, watch: Watch) -> Option<f64> {
        match watch {
            Watch::FirstDrip => self.first_drip_s,
            Watch::Unevenness => Some(100.0 * self.unevenness),
            Watch::Cup20 => self.cups_g[0],
            Watch::Cup30 => self.cups_g[1],
            Watch::Cup40 => self.cups_g[2],
            Watch::Cup60 => self.cups_g[3],
            _ if !self.filled => None,
            Watch::Time => Some(self.time_s),
            Watch::Strength => Some(self.tds_pct),
            Watch::Extraction => Some(self.extraction_pct),
            Watch::Balance => Some(self.balance),
            Watch::CoffeePerDrink => Some(self.coffee_per_drink),
            Watch::Liking => Some(self.liking),
        }
    }
}

/// Drink in the cup, g, so many seconds after the pump first stood at full pressure.
fn cup_after(trace: &PullTrace, after_s: f64) -> Option<f64> {
    let most = trace.head_bar.iter().copied().fold(0.0, f64::max);
    let settled = trace.head_bar.iter().position(|bar| *bar >= SETTLED * most)?;
    let at_s = trace.time_s.get(settled)? + after_s;
    let after = trace.time_s.partition_point(|time_s| *time_s < at_s);
    let before = after.checked_sub(1)?;
    let (t0, t1) = (*trace.time_s.get(before)?, *trace.time_s.get(after)?);
    let (g0, g1) = (*trace.cup_g.get(before)?, *trace.cup_g.get(after)?);
    Some(g0 + (g1 - g0) * (at_s - t0) / (t1 - t0).max(1e-9))
}

/// Grid for sweeps: coarser than a shown trace, so that sixty pulls are done within a blink.
pub const SWEEP_GRID: Settings = Settings { cells: 16, tubes: 5, pools: 3, step_s: 0.2 };

/// A swept handle: where it stood and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// Which handle.
    pub handle: Handle,
    /// Its values, rising.
    pub at: Vec<f64>,
    /// What came of each.
    pub seen: Vec<Seen>,
}

/// Moves a handle from `from` to `to` in `count` equal steps (2–400), all else as the bench stands. The pulls are shared
/// between two threads; what comes back does not depend on which was faster.
///
/// # Errors
/// [`PuckFault`] names what lies outside the simulator's range.
pub fn sweep(
    bench: &Bench,
    handle: Handle,
    (from, to): (f64, f64),
    count: usize,
    palate: &Palate,
) -> Result<Sweep, PuckFault> {
    let count = count.clamp(2, 400);
    let (low, high) = if from <= to { (from, to) } else { (to, from) };
    // Every second pull each, so that both threads get their share of the slow ones.
    let share = |first: usize| {
        let mut run = Run::default();
        let pulls = (first..count).step_by(2).map(|k| {
            let moved = bench.with(handle, low + (high - low) * k as f64 / (count - 1) as f64);
            let seen = Seen::of(&moved.pull_in(&mut run, &SWEEP_GRID)?, palate);
            Ok((moved.get(handle), seen))
        });
        pulls.collect::<Result<Vec<_>, PuckFault>>()
    };
    let (even, odd) = std::thread::scope(|scope| {
        let odd = std::thread::Builder::new().spawn_scoped(scope, || share(1));
        let even = share(0);
        // Where there is no second thread, or it fell, the first does its share too.
        (even, odd.ok().and_then(|thread| thread.join().ok()).unwrap_or_else(|| share(1)))
    });
    let (even, odd) = (even?, odd?);
    let mut swept = Sweep { handle, at: Vec::with_capacity(count), seen: Vec::with_capacity(count) };
    for k in 0..count {
        let half = if k % 2 == 0 { &even } else { &odd };
        if let Some((at, seen)) = half.get(k / 2) {
            swept.at.push(*at);
            swept.seen.push(*seen);
        }
    }
    Ok(swept)
}

impl Sweep {
    /// Points of one curve, `(handle, value)`, without the pulls that have no value.
    #[must_use]
    pub fn curve(&self, watch: Watch) -> Vec<(f64, f64)> {
        self.at.iter().zip(&self.seen).filter_map(|(x, seen)| Some((*x, seen.get(watch)?))).collect()
    }

    /// Point with the largest value of one curve.
    #[must_use]
    pub fn peak(&self, watch: Watch) -> Option<(f64, f64)> {
        self.curve(watch).into_iter().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}
