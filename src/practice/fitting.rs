//! "Make the bench behave like this bag": fits the bench's coffee to a recorded pull.

use thiserror::Error;

use super::bench::{Bench, BenchPull};
use super::coffee::Bed;
use super::sitting::GRID;
use crate::domain::{Channel, Trace};
use crate::puck::fit::{FitSettings, Free, Recorded, fit_while};
use crate::puck::{DriveSpec, Profile, PuckFault, PuckSpec, Settings};
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
    /// Recorded samples that were used, `(s, g)`.
    pub recorded: Vec<(f64, f64)>,
}

impl BenchFit {
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
/// trace where it has them, else the bench. `progress` hears a share 0–1 and answers whether to go on.
///
/// # Errors
/// [`FitFault`] says why it cannot be done.
pub fn fit_to(
    bench: &Bench,
    trace: &Trace,
    mut progress: impl FnMut(f64) -> bool,
) -> Result<BenchFit, FitFault> {
    let recorded = samples(trace)?;
    let mut stand = bench.clone();
    stand.channels.clear();
    drive_as(&mut stand, trace);
    let last_s = recorded.last().map_or(0.0, |(t, _)| *t);
    let drive = DriveSpec { stop_at_g: None, duration_s: last_s + 0.5, ..stand.drive()?.spec().clone() };
    let (times, masses) = recorded.iter().copied().unzip();
    let record = [Recorded::new(drive, times, masses)?];
    // The measured bed knows how pressure acts and needs but one number of a pull, and how much water fills it; a coffee
    // that runs by the usual law is met by that, if clearly better. Whichever meets the record is kept.
    let mut measured = stand.clone();
    measured.coffee.bed = Bed::Measured;
    measured.coffee.wet = PuckSpec::measured_2026().liquid_share;
    let first = fit_bed(&measured, &MEASURED_FREE, &record, |part| progress(0.4 * part))?;
    stand.coffee.bed = Bed::Usual;
    let second = fit_bed(&stand, &USUAL_FREE, &record, |part| progress(0.4 + 0.6 * part))?;
    let stand = if second.rms < CLEARLY * first.rms { second.bench } else { first.bench };
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

/// Has the machine do what was recorded: pressure and temperature follow the trace where it has them.
pub fn drive_as(bench: &mut Bench, trace: &Trace) {
    if let Some(pressure) = profile(trace, Channel::Pressure, 0.0, 20.0) {
        bench.drawn.pressure_bar = Some(pressure);
        // The record says when pressure acts, so nothing is left to fill.
        bench.bar.headspace_ml = 0.0;
    }
    if let Some(temperature) = profile(trace, Channel::Temperature, 1.0, 130.0) {
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

/// Cup mass below which a share says nothing, grams.
const LEAST_CUP_G: f64 = 5.0;

/// Lays a simulated pull against a record, wherever the recorded cup holds 5 g or more; `None` without such a moment.
#[must_use]
pub fn apart(pull: &BenchPull, trace: &Trace) -> Option<Apart> {
    let recorded = samples(trace).ok()?;
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

/// A bench fitted under one law of the bed, and its misfit (about a relative error of cup mass).
struct OneBed {
    bench: Bench,
    rms: f64,
}

/// Fits the free numbers of a bench's coffee, whose law stands.
fn fit_bed(
    stand: &Bench,
    free: &[Free],
    record: &[Recorded],
    mut progress: impl FnMut(f64) -> bool,
) -> Result<OneBed, FitFault> {
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
        let fitted = fit_while(&now, free, record, &settings, heard)?.ok_or(FitFault::Stopped)?;
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
    Ok(OneBed { bench, rms })
}

/// Usable samples of cup mass, evenly thinned, from the first that is finite.
fn samples(trace: &Trace) -> Result<Vec<(f64, f64)>, FitFault> {
    let mass = trace.get(Channel::CupMass).ok_or(FitFault::NoMass)?;
    let start_s = trace.time_s().first().copied().unwrap_or(0.0).min(0.0);
    let usable: Vec<(f64, f64)> = trace
        .time_s()
        .iter()
        .zip(mass)
        .filter(|(_, m)| m.is_finite() && (-50.0..1000.0).contains(*m))
        .map(|(t, m)| (t - start_s, m.max(0.0)))
        .filter(|(t, _)| *t < 300.0)
        .collect();
    let poured = usable.iter().filter(|(_, m)| *m > 1.0).count();
    if poured < 8 {
        return Err(FitFault::TooFew(poured));
    }
    let stride = usable.len().div_ceil(MOST_SAMPLES).max(1);
    let mut thinned: Vec<(f64, f64)> = usable.iter().step_by(stride).copied().collect();
    if let Some(last) = usable.last().filter(|last| thinned.last() != Some(last)) {
        thinned.push(*last);
    }
    Ok(thinned)
}

/// A recorded channel as a profile, its time zero where the record begins: finite samples kept within `low` to `high`, at
/// most four a second. `None` if the trace has no such channel or fewer than four usable samples.
#[must_use]
pub fn profile(trace: &Trace, channel: Channel, low: f64, high: f64) -> Option<Profile> {
    let samples = trace.get(channel)?;
    let start_s = trace.time_s().first().copied().unwrap_or(0.0).min(0.0);
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (t, v) in trace.time_s().iter().zip(samples) {
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
