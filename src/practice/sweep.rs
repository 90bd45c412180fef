//! One handle of the bench against what comes of it.

use serde::{Deserialize, Serialize};

use super::bench::{Bench, BenchPull, Handle};
use super::palate::Palate;
use crate::puck::{Condition, PuckFault, Run, Settings};

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
}

impl Watch {
    /// Name for an axis.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::FirstDrip => "first drip",
            Self::Strength => "strength",
            Self::Extraction => "extraction",
            Self::Balance => "acid–bitter ratio",
            Self::Unevenness => "unevenness",
            Self::CoffeePerDrink => "coffee per drink",
            Self::Liking => "liking",
        }
    }

    /// Name where room is short.
    #[must_use]
    pub fn short(self) -> &'static str {
        match self {
            Self::Balance => "acid–bitter",
            Self::CoffeePerDrink => "dose/drink",
            other => other.name(),
        }
    }

    /// Unit for an axis, or empty.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Time | Self::FirstDrip => "s",
            Self::Strength | Self::Extraction | Self::Unevenness => "%",
            Self::CoffeePerDrink => "g/g",
            Self::Balance | Self::Liking => "",
        }
    }

    /// Decimals worth showing.
    #[must_use]
    pub fn decimals(self) -> usize {
        match self {
            Self::Time | Self::FirstDrip | Self::Liking | Self::Unevenness => 1,
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

/// Threads that pull a sweep: the pulls are independent, and a window keeps running beside them.
const THREADS: usize = 2;

/// Moves a handle from `from` to `to` in `count` equal steps (2–400), all else as the bench stands.
///
/// The pulls are shared among two threads; every number and its place are those of one pull after another.
///
/// # Errors
/// [`PuckFault`] names what lies outside the simulator's range: that of the lowest value at fault.
pub fn sweep(
    bench: &Bench,
    handle: Handle,
    range: (f64, f64),
    count: usize,
    palate: &Palate,
) -> Result<Sweep, PuckFault> {
    sweep_on(THREADS, bench, handle, range, count, palate)
}

fn sweep_on(
    threads: usize,
    bench: &Bench,
    handle: Handle,
    (from, to): (f64, f64),
    count: usize,
    palate: &Palate,
) -> Result<Sweep, PuckFault> {
    let count = count.clamp(2, 400);
    let (low, high) = if from <= to { (from, to) } else { (to, from) };
    // Every so-manyth pull to each thread, because pulls grow longer towards one end of a handle.
    let share = |first: usize| -> Vec<(f64, Result<Seen, PuckFault>)> {
        let mut run = Run::default();
        let mut done = Vec::with_capacity(count / threads + 1);
        for k in (first..count).step_by(threads) {
            let moved = bench.with(handle, low + (high - low) * k as f64 / (count - 1) as f64);
            let seen = moved.pull_in(&mut run, &SWEEP_GRID).map(|pull| Seen::of(&pull, palate));
            let failed = seen.is_err();
            done.push((moved.get(handle), seen));
            if failed {
                break;
            }
        }
        done
    };
    let shares: Vec<Vec<(f64, Result<Seen, PuckFault>)>> = std::thread::scope(|scope| {
        let share = &share;
        let others: Vec<_> = (1..threads)
            .map(|first| (first, std::thread::Builder::new().spawn_scoped(scope, move || share(first))))
            .collect();
        let mut shares = vec![share(0)];
        // A thread that could not be had, or was lost, is no reason to go without its pulls.
        shares.extend(others.into_iter().map(|(first, thread)| {
            thread.ok().and_then(|thread| thread.join().ok()).unwrap_or_else(|| share(first))
        }));
        shares
    });
    let mut shares: Vec<_> = shares.into_iter().map(Vec::into_iter).collect();
    let mut swept = Sweep { handle, at: Vec::with_capacity(count), seen: Vec::with_capacity(count) };
    for k in 0..count {
        let Some((at, seen)) = shares.get_mut(k % threads).and_then(Iterator::next) else { break };
        swept.at.push(at);
        swept.seen.push(seen?);
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Against one pull after another: the same sweep without a second thread, and single pulls of the bench.
    #[test]
    fn a_sweep_shared_among_threads_is_the_sweep_of_one_pull_after_another() {
        let (bench, palate) = (Bench::default(), Palate::default());
        for (handle, from, to, count) in
            [(Handle::Grind, 10.0, 34.0, 12), (Handle::Pressure, 12.0, 3.0, 7), (Handle::Roast, 0.0, 4.0, 2)]
        {
            let serial = sweep_on(1, &bench, handle, (from, to), count, &palate).expect("within range");
            assert_eq!(serial.at.len(), count);
            for threads in [2, 3] {
                let shared = sweep_on(threads, &bench, handle, (from, to), count, &palate);
                assert_eq!(shared, Ok(serial.clone()), "{handle:?} on {threads}");
            }
            for (at, seen) in serial.at.iter().zip(&serial.seen) {
                let pull = bench.with(handle, *at).pull(&SWEEP_GRID).expect("within range");
                assert_eq!(*seen, Seen::of(&pull, &palate));
            }
        }
    }

    #[test]
    fn a_bench_outside_the_range_gives_the_fault_of_the_lowest_value_on_any_number_of_threads() {
        let mut bench = Bench::default();
        bench.bar.basket_mm = f64::NAN;
        let range = (14.0, 20.0);
        let serial = sweep_on(1, &bench, Handle::Dose, range, 9, &Palate::default()).expect_err("no basket");
        let direct = bench.with(Handle::Dose, 14.0).pull(&SWEEP_GRID).expect_err("no basket");
        assert_eq!(serial.to_string(), direct.to_string());
        for threads in [2, 4] {
            let shared = sweep_on(threads, &bench, Handle::Dose, range, 9, &Palate::default());
            assert_eq!(shared.expect_err("no basket").to_string(), direct.to_string());
        }
    }
}
