//! "Make the bench behave like this bag": fits the bench's coffee to a recorded pull.

use thiserror::Error;

use super::bench::{Bench, BenchPull};
use super::coffee::Bed;
use super::sitting::GRID;
use crate::domain::{Channel, Trace};
use crate::puck::fit::{FitSettings, Free, Recorded, fit_while};
use crate::puck::{DriveSpec, Profile, PuckFault, PuckSpec, PullTrace, Settings};
use crate::trace::{Events, find_events};
use crate::units::{Quantity, rounded};

/// Why a recorded pull cannot be fitted.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitFault {
    /// No cup mass.
    #[error("{}", word!("practice-fitting-no-mass"))]
    NoMass,
    /// Too little of it.
    #[error("{}", say!("practice-fitting-too-few", n = .0))]
    TooFew(usize),
    /// Stopped on request.
    #[error("{}", word!("practice-fitting-stopped"))]
    Stopped,
    /// Outside the simulator's range.
    #[error("{0}")]
    Puck(#[from] PuckFault),
}

/// A fitted bench and how well it meets the record.
#[derive(Debug, Clone)]
pub struct BenchFit {
    /// The bench with the fitted coffee, drawn to do what was recorded.
    pub bench: Bench,
    /// The fitted pull, under the recorded pressure and temperature.
    pub pull: BenchPull,
    /// Root mean square of the difference in cup mass, grams.
    pub rms_g: f64,
    /// Largest difference in cup mass, grams.
    pub worst_g: f64,
    /// Recorded samples that were used: seconds since pump on, grams in the cup.
    pub recorded: Vec<(f64, f64)>,
}

/// A fit that misses the recorded cup by more than this share of it in the mean is none.
pub const WORST_SHARE: f64 = 0.15;

impl BenchFit {
    /// Whether it meets the record well enough to stand on: within [`WORST_SHARE`] of the last cup, in the mean.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.rms_g.is_finite() && self.rms_g <= WORST_SHARE * self.last_g()
    }

    /// The last recorded cup, grams.
    #[must_use]
    pub fn last_g(&self) -> f64 {
        self.recorded.last().map_or(0.0, |(_, g)| *g)
    }

    /// A sentence for the screen.
    #[must_use]
    pub fn sentence(&self) -> String {
        say!(
            "practice-fitting-fitted",
            n = self.recorded.len(),
            rms = rounded(Quantity::Yield, self.rms_g, 1),
            worst = rounded(Quantity::Yield, self.worst_g, 1)
        )
    }
}

/// Samples of cup mass that a fit looks at.
const MOST_SAMPLES: usize = 60;

/// Grid while fitting: an even bed of a few pools says the same about cup mass in a fraction of the time.
const FIT_GRID: Settings = Settings { cells: 12, tubes: 3, pools: 3, step_s: 0.25 };

/// Fits a bench, standing as the pull was made (recipe, age, gear), to its trace. Pressure and temperature follow the
/// trace where it has them, else the bench. What the scale read before the first drip is the cup's, and what lies before
/// the pump starts is left out; where the trace does not show the pump, its first drip is laid onto the bench's.
/// `progress` hears a share 0–1 and answers whether to go on.
///
/// # Errors
/// [`FitFault`] says why it cannot be done.
pub fn fit_to(
    bench: &Bench,
    trace: &Trace,
    mut progress: impl FnMut(f64) -> bool,
) -> Result<BenchFit, FitFault> {
    let record = Record::of(trace)?;
    let mut stand = bench.clone();
    stand.channels.clear();
    drive_as(&mut stand, trace);
    // The measured bed knows how pressure acts and needs but one number of a pull, and how much water fills it; a coffee
    // that runs by the usual law is met by that, if clearly better. Whichever meets the record is kept.
    let mut measured = stand.clone();
    measured.coffee.bed = Bed::Measured;
    measured.coffee.wet = PuckSpec::measured_2026().liquid_share;
    let first = fit_laid(&measured, &MEASURED_FREE, &record, |part| progress(0.4 * part))?;
    stand.coffee.bed = Bed::Usual;
    let second = fit_laid(&stand, &USUAL_FREE, &record, |part| progress(0.4 + 0.6 * part))?;
    let OneBed { bench: stand, recorded, .. } = if second.rms < CLEARLY * first.rms { second } else { first };
    let pull = stand.pull(&GRID)?;
    let mut square = 0.0;
    let mut worst: f64 = 0.0;
    let shared: Vec<f64> = recorded
        .iter()
        .filter(|(t, _)| *t <= pull.trace.end_s + 1.0)
        .map(|(t, m)| pull.trace.sample(&pull.trace.cup_g, *t) - m)
        .collect();
    for off in &shared {
        square += off * off;
        worst = worst.max(off.abs());
    }
    let rms_g = (square / shared.len().max(1) as f64).sqrt();
    progress(1.0);
    Ok(BenchFit { bench: stand, pull, rms_g, worst_g: worst, recorded })
}

/// Has the machine do what was recorded, from pump on: pressure and temperature follow the trace where it has them.
pub fn drive_as(bench: &mut Bench, trace: &Trace) {
    let start_s = pump_on_s(trace, &find_events(trace)).unwrap_or_else(|| begin_s(trace));
    if let Some(pressure) = profile_from(trace, start_s, Channel::Pressure, 0.0, 20.0) {
        bench.drawn.pressure_bar = Some(pressure);
        // The record says when pressure acts, so nothing is left to fill.
        bench.bar.headspace_ml = 0.0;
    }
    if let Some(temperature) = profile_from(trace, start_s, Channel::Temperature, 1.0, 130.0) {
        bench.drawn.temperature_c = Some(temperature);
    }
}

/// How far a simulated cup lies from a recorded one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// Largest difference of cup mass as a share of the recorded one, where that is 5 g or more and both still run.
    pub worst_share: f64,
    /// When, seconds after the record begins.
    pub at_s: f64,
    /// Recorded then, grams.
    pub real_g: f64,
    /// Simulated then, grams.
    pub simulated_g: f64,
}

/// First drips farther apart than this are no matter of the coffee, seconds.
const FAR_S: f64 = 5.0;

/// Cup mass below which a share says nothing, grams.
const LEAST_CUP_G: f64 = 5.0;

/// Lays a simulated pull against a record, wherever the recorded cup holds 5 g or more; `None` without such a moment.
#[must_use]
pub fn apart(pull: &BenchPull, trace: &Trace) -> Option<Apart> {
    let record = Record::of(trace).ok()?;
    // A record that shows no pump is taken to begin with it, unless the first drips then lie too far apart for that.
    let by_drip = || record.start_by(&pull.trace).filter(|at_s| (at_s - record.begin_s).abs() > FAR_S);
    let recorded = record.laid(record.start_s.or_else(by_drip).unwrap_or(record.begin_s));
    let shared = recorded.into_iter().filter(|(t, m)| *m >= LEAST_CUP_G && *t <= pull.trace.end_s);
    shared
        .map(|(at_s, real_g)| {
            let simulated_g = pull.trace.sample(&pull.trace.cup_g, at_s);
            Apart { worst_share: (simulated_g - real_g).abs() / real_g, at_s, real_g, simulated_g }
        })
        .max_by(|a, b| a.worst_share.total_cmp(&b.worst_share))
}

/// What is free where the bed follows the measured law, and where it follows the usual one.
const MEASURED_FREE: [Free; 2] = [Free::Permeability, Free::LiquidShare];
const USUAL_FREE: [Free; 4] = [Free::Permeability, Free::PorosityGain, Free::LiquidShare, Free::Packing];
/// The usual law has two more numbers to bend; it must miss by less than this share of what the measured one misses by.
const CLEARLY: f64 = 0.5;

/// A bench fitted under one law of the bed, its misfit (about a relative error of cup mass), and the record as it was laid
/// beside it.
struct OneBed {
    bench: Bench,
    rms: f64,
    recorded: Vec<(f64, f64)>,
}

/// How often a record without a start is laid anew onto the bench that was fitted to it.
const LAID: usize = 3;

/// Fits a bench to a record, as its start says. Where nothing says when the pump started, how much water fills the bed
/// cannot be told from when that was: the bench keeps what it has, and both first drips are laid upon each other.
fn fit_laid(
    stand: &Bench,
    free: &[Free],
    record: &Record,
    mut progress: impl FnMut(f64) -> bool,
) -> Result<OneBed, FitFault> {
    if let Some(start_s) = record.start_s {
        return fit_bed(stand, free, record.laid(start_s), progress);
    }
    let free: Vec<Free> = free.iter().copied().filter(|one| *one != Free::LiquidShare).collect();
    let mut bench = stand.clone();
    let mut laid = record.start_by(&bench.pull(&FIT_GRID)?.trace).unwrap_or(record.begin_s);
    let mut round = 0;
    loop {
        let heard = |part: f64| progress((round as f64 + part) / LAID as f64);
        let fitted = fit_bed(&bench, &free, record.laid(laid), heard)?;
        round += 1;
        let next = record.start_by(&fitted.bench.pull(&FIT_GRID)?.trace).unwrap_or(laid);
        if round >= LAID || (next - laid).abs() < 0.1 {
            return Ok(fitted);
        }
        (bench, laid) = (fitted.bench, next);
    }
}

/// Fits the free numbers of a bench's coffee, whose law stands.
fn fit_bed(
    stand: &Bench,
    free: &[Free],
    recorded: Vec<(f64, f64)>,
    mut progress: impl FnMut(f64) -> bool,
) -> Result<OneBed, FitFault> {
    let last_s = recorded.last().map_or(0.0, |(t, _)| *t);
    let drive = DriveSpec { stop_at_g: None, duration_s: last_s + 0.5, ..stand.drive()?.spec().clone() };
    let (times, masses) = recorded.iter().copied().unzip();
    let record = [Recorded::new(drive, times, masses)?];
    // Where the bed is known from many pulls, one pull moves its numbers only as far as it must: one search, held to the
    // start. Where it is not, each search starts, and is held, where the one before ended.
    let (rounds, steps, hold) = if stand.coffee.bed == Bed::Measured { (1, 20, 0.05) } else { (5, 4, 0.01) };
    let start = stand.puck()?.spec().clone();
    let mut now = start.clone();
    if free.contains(&Free::Packing) {
        now.flow.packing_share = now.flow.packing_share.max(0.02);
    }
    // A step takes a slope for each free number and about two tries.
    let a_round = 1 + steps * (free.len() + 2);
    let mut rms = f64::INFINITY;
    for round in 0..rounds {
        let settings = FitSettings { grid: FIT_GRID, floor_g: 2.0, hold, steps };
        let heard = |pulls: usize| {
            let part = (pulls as f64 / a_round as f64).min(1.0);
            progress((round as f64 + part) / rounds as f64)
        };
        let fitted = fit_while(&now, free, &record, &settings, heard)?.ok_or(FitFault::Stopped)?;
        (now, rms) = (fitted.spec, fitted.rms);
    }
    let mut bench = stand.clone();
    let coffee = &mut bench.coffee;
    // The coffee's own ranges are narrower than the simulator's; a fit that runs out of them is held there.
    let factor = now.flow.permeability_m2 / start.flow.permeability_m2;
    coffee.flow = (coffee.flow * factor).clamp(0.01, 100.0);
    coffee.wet = now.liquid_share.clamp(0.06, 0.75);
    if coffee.bed == Bed::Usual {
        coffee.opening = now.flow.porosity_gain.clamp(0.0, 0.35);
        coffee.packing = now.flow.packing_share.clamp(0.0, 0.9);
    }
    Ok(OneBed { bench, rms, recorded })
}

/// Where a trace's own time begins to count, seconds: zero, or its first sample where that lies before.
fn begin_s(trace: &Trace) -> f64 {
    trace.time_s().first().copied().unwrap_or(0.0).min(0.0)
}

/// A record may begin so long before its pressure rises and still begin with the pump, seconds.
const RISE_S: f64 = 2.0;
/// Pressure above which a pump runs, and pressure without which none ran, bar.
const RUNS_BAR: f64 = 0.3;
const RAN_BAR: f64 = 1.0;

/// When the pump starts, on the trace's own time, where pressure or water going in shows it; a start within [`RISE_S`] of the
/// beginning is the beginning. `None` where the trace shows nothing of the pump.
fn pump_on_s(trace: &Trace, events: &Events) -> Option<f64> {
    let begin_s = begin_s(trace);
    let bar: Vec<(f64, f64)> = trace
        .get(Channel::Pressure)
        .into_iter()
        .flat_map(|bar| trace.time_s().iter().copied().zip(bar.iter().copied()))
        .filter(|(_, bar)| bar.is_finite())
        .collect();
    let start_s = if bar.iter().any(|(_, bar)| *bar > RAN_BAR) {
        let runs = bar.windows(2).position(|w| w.iter().all(|(_, bar)| *bar > RUNS_BAR))?;
        bar.get(runs.saturating_sub(1))?.0
    } else {
        events.pump_on.filter(|event| event.is_seen())?.time_s
    };
    Some(if start_s - begin_s > RISE_S { start_s } else { begin_s })
}

/// Below this an empty reading is the scale's own unrest, grams.
const SCALE_G: f64 = 0.5;

/// A recorded cup on the trace's own time, what the scale read before the first drip taken off.
struct Record {
    /// Samples, `(s, g)`.
    cup: Vec<(f64, f64)>,
    /// Pump on; `None` where the trace does not show it.
    start_s: Option<f64>,
    /// First drip, where it was seen.
    drip_s: Option<f64>,
    /// Beginning of the trace.
    begin_s: f64,
}

impl Record {
    fn of(trace: &Trace) -> Result<Self, FitFault> {
        let mass = trace.get(Channel::CupMass).ok_or(FitFault::NoMass)?;
        let events = find_events(trace);
        let drip_s = events.first_drip.filter(|event| event.is_seen()).map(|event| event.time_s);
        let samples =
            || trace.time_s().iter().copied().zip(mass.iter().copied()).filter(|(_, m)| m.is_finite());
        let mut before: Vec<f64> =
            samples().filter(|(t, _)| drip_s.is_some_and(|drip_s| *t < drip_s)).map(|(_, m)| m).collect();
        before.sort_by(f64::total_cmp);
        let cup_g = before.get(before.len() / 2).copied().filter(|g| g.abs() > SCALE_G).unwrap_or(0.0);
        let cup: Vec<(f64, f64)> = samples()
            .map(|(t, m)| (t, m - cup_g))
            .filter(|(_, m)| (-50.0..1000.0).contains(m))
            .map(|(t, m)| (t, m.max(0.0)))
            .collect();
        let poured = cup.iter().filter(|(_, m)| *m > 1.0).count();
        if poured < 8 {
            return Err(FitFault::TooFew(poured));
        }
        Ok(Self { cup, start_s: pump_on_s(trace, &events), drip_s, begin_s: begin_s(trace) })
    }

    /// Samples from the start on, evenly thinned: seconds since, grams.
    fn laid(&self, start_s: f64) -> Vec<(f64, f64)> {
        let usable: Vec<(f64, f64)> = self
            .cup
            .iter()
            .map(|(t, m)| (t - start_s, *m))
            .filter(|(t, _)| (0.0..300.0).contains(t))
            .collect();
        let stride = usable.len().div_ceil(MOST_SAMPLES).max(1);
        let mut thinned: Vec<(f64, f64)> = usable.iter().step_by(stride).copied().collect();
        if let Some(last) = usable.last().filter(|last| thinned.last() != Some(last)) {
            thinned.push(*last);
        }
        thinned
    }

    /// When the pump started if the first drip fell as that of a simulated pull, on the trace's own time; both are looked
    /// for alike. `None` where either has none.
    fn start_by(&self, pull: &PullTrace) -> Option<f64> {
        let cup = [(Channel::CupMass, pull.cup_g.clone())];
        let drip = find_events(&Trace::new(pull.time_s.clone(), cup).ok()?).first_drip?;
        Some(self.drip_s? - drip.time_s)
    }
}

/// A recorded channel as a profile, its time zero where the record begins: finite samples kept within `low` to `high`, at
/// most four a second. `None` if the trace has no such channel or fewer than four usable samples.
#[must_use]
pub fn profile(trace: &Trace, channel: Channel, low: f64, high: f64) -> Option<Profile> {
    profile_from(trace, begin_s(trace), channel, low, high)
}

/// As [`profile`], its time zero at `start_s` of the trace's own time.
fn profile_from(trace: &Trace, start_s: f64, channel: Channel, low: f64, high: f64) -> Option<Profile> {
    let samples = trace.get(channel)?;
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (t, v) in trace.time_s().iter().zip(samples).filter(|(t, _)| **t >= start_s) {
        let far = points.last().is_none_or(|(before, _)| t - start_s - before >= 0.25);
        if v.is_finite() && far {
            points.push((t - start_s, v.clamp(low, high)));
        }
    }
    (points.len() >= 4).then(|| Profile::lines(points))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_record_of_the_pull_itself_is_met_and_a_fuller_one_missed_by_as_much() {
        let pull = Bench::default().pull(&GRID).unwrap();
        let record = |factor: f64| {
            let mass = pull.trace.cup_g.iter().map(|m| m * factor).collect();
            Trace::new(pull.trace.time_s.clone(), [(Channel::CupMass, mass)]).unwrap()
        };
        assert!(apart(&pull, &record(1.0)).unwrap().worst_share < 1e-9);
        // A quarter more in the real cup: the simulated one holds 1/1.25 of it at every moment.
        let quarter = apart(&pull, &record(1.25)).unwrap();
        assert!((quarter.worst_share - 0.2).abs() < 1e-9 && quarter.real_g >= 5.0, "{quarter:?}");
        assert!(apart(&pull, &record(0.1)).is_none(), "never 5 g");
    }
}
