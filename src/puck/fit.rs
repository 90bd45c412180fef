//! Fitting a puck to a recorded pull.

use super::bed::{Puck, PuckSpec};
use super::drive::{Drive, DriveSpec};
use super::fault::{PuckFault, misshapen, within};
use super::outcome::PullTrace;
use super::run::{Run, Settings, simulate_in};
use crate::maths::dense::{cholesky, solve};

/// A number of a puck that a fit may move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Free {
    /// Permeability k₀ (in its logarithm).
    Permeability,
    /// Porosity φ₀ (in its logarithm).
    Porosity,
    /// Gain of porosity by dissolution (in its logarithm).
    PorosityGain,
    /// Pressure of elastic squeeze (in its logarithm).
    Squeeze,
    /// How stiffness follows porosity.
    SqueezeFollows,
    /// Share of porosity that packing can take.
    Packing,
    /// Stress that packs (in its logarithm).
    PackingBar,
    /// How far packing takes what dissolution opens.
    PackingOfGain,
    /// Share of permeability that swelling takes.
    Swelling,
    /// Time constant of swelling (in its logarithm).
    SwellingTime,
    /// Share of permeability that moving fines take.
    Silting,
    /// Water that moves 63 % of those fines (in its logarithm).
    SiltingVolumes,
    /// Stress that opens what dissolution loosens, bar.
    Opening,
    /// Liquid share of the wet bed (in its logarithm).
    LiquidShare,
    /// Spread of permeability over the area.
    Spread,
    /// All diffusivities together (in the logarithm of one factor).
    Diffusivity,
    /// All broken shares together (one factor).
    BrokenShare,
    /// All solubles together (in the logarithm of one factor).
    Solubles,
    /// All liquid shares of the classes together (in the logarithm of one factor on capacity).
    Capacity,
}

impl Free {
    /// Reads the number out of a puck.
    pub fn get(self, spec: &PuckSpec) -> f64 {
        let f = &spec.flow;
        let first = spec.solutes.first();
        match self {
            Self::Permeability => f.permeability_m2.ln(),
            Self::Porosity => f.porosity.ln(),
            Self::PorosityGain => f.porosity_gain.max(1e-6).ln(),
            Self::Squeeze => f.squeeze_bar.ln(),
            Self::SqueezeFollows => f.squeeze_follows_porosity,
            Self::Packing => f.packing_share,
            Self::PackingBar => f.packing_bar.ln(),
            Self::PackingOfGain => f.packing_of_gain,
            Self::Swelling => f.swelling_share,
            Self::SwellingTime => f.swelling_time_s.ln(),
            Self::Silting => f.silting_share,
            Self::SiltingVolumes => f.silting_pore_volumes.ln(),
            Self::Opening => f.opening_bar,
            Self::LiquidShare => spec.liquid_share.ln(),
            Self::Spread => spec.unevenness.spread,
            Self::Diffusivity => first.map_or(0.0, |s| s.diffusivity_m2_s.ln()),
            Self::BrokenShare => first.map_or(0.0, |s| s.broken_share),
            Self::Solubles => first.map_or(0.0, |s| s.share.max(1e-9).ln()),
            Self::Capacity => first.map_or(0.0, |s| s.capacity().max(1e-6).ln()),
        }
    }

    /// Writes the number into a puck, held inside the range that [`Puck::new`] allows.
    pub fn set(self, spec: &mut PuckSpec, value: f64) {
        let (low, high) = self.range();
        let v = value.clamp(low, high);
        let old = self.get(spec);
        let f = &mut spec.flow;
        match self {
            Self::Permeability => f.permeability_m2 = v.exp(),
            Self::Porosity => f.porosity = v.exp(),
            Self::PorosityGain => f.porosity_gain = v.exp(),
            Self::Squeeze => f.squeeze_bar = v.exp(),
            Self::SqueezeFollows => f.squeeze_follows_porosity = v,
            Self::Packing => f.packing_share = v,
            Self::PackingBar => f.packing_bar = v.exp(),
            Self::PackingOfGain => f.packing_of_gain = v,
            Self::Swelling => f.swelling_share = v,
            Self::SwellingTime => f.swelling_time_s = v.exp(),
            Self::Silting => f.silting_share = v,
            Self::SiltingVolumes => f.silting_pore_volumes = v.exp(),
            Self::Opening => f.opening_bar = v,
            Self::LiquidShare => spec.liquid_share = v.exp(),
            Self::Spread => spec.unevenness.spread = v,
            Self::Diffusivity => {
                for s in &mut spec.solutes {
                    s.diffusivity_m2_s = (s.diffusivity_m2_s * (v - old).exp()).clamp(1e-14, 1e-8);
                }
            }
            Self::BrokenShare => {
                for s in &mut spec.solutes {
                    s.broken_share = if old > 1e-9 { (s.broken_share * v / old).clamp(0.0, 1.0) } else { v };
                }
            }
            Self::Solubles => {
                for s in &mut spec.solutes {
                    s.share = (s.share * (v - old).exp()).clamp(0.0, 0.5);
                }
            }
            Self::Capacity => {
                for s in &mut spec.solutes {
                    let capacity = s.capacity() * (v - old).exp();
                    s.liquid_share = (1.0 / (1.0 + capacity)).clamp(0.02, 1.0);
                }
            }
        }
    }

    /// Range in the fitted variable.
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Permeability => (1.01e-18_f64.ln(), 9.9e-12_f64.ln()),
            Self::Porosity => (0.0051_f64.ln(), 0.59_f64.ln()),
            Self::PorosityGain => (1e-6_f64.ln(), 0.35_f64.ln()),
            Self::Squeeze => (1.01_f64.ln(), 900.0_f64.ln()),
            Self::SqueezeFollows => (0.0, 1.0),
            Self::Packing => (0.0, 0.97),
            Self::PackingBar => (0.11_f64.ln(), 900.0_f64.ln()),
            Self::PackingOfGain => (0.0, 1.0),
            Self::Swelling => (0.0, 0.89),
            Self::SwellingTime => (0.11_f64.ln(), 500.0_f64.ln()),
            Self::Silting => (0.0, 0.94),
            Self::SiltingVolumes => (0.011_f64.ln(), 900.0_f64.ln()),
            Self::Opening => (0.0, 20.0),
            Self::LiquidShare => (0.051_f64.ln(), 0.79_f64.ln()),
            Self::Spread => (0.0, 1.4),
            Self::Diffusivity => (1.1e-14_f64.ln(), 9.0e-9_f64.ln()),
            Self::BrokenShare => (0.0, 0.95),
            Self::Solubles => (1e-6_f64.ln(), 0.45_f64.ln()),
            Self::Capacity => (1e-3_f64.ln(), 40.0_f64.ln()),
        }
    }
}

/// Standard deviation of ln k₀ from pull to pull of one coffee at one grind by one hand: fitted to eleven pulls at eight
/// pressures of Waszkiewicz et al., Phys. Fluids 38, 063113 (2026), all else held at [`PuckSpec::measured_2026`].
pub const PULL_SPREAD_LN_PERMEABILITY: f64 = 0.077;

/// The puck to expect in the next pull of the same coffee. A pull's fit finds the level of permeability of that pull; only
/// part of its distance from `base` belongs to the coffee, the rest to that one preparation and will not come again. The part
/// kept is v/(v + s²), v the variance of ln k₀ with which the coffee was known before (0: known exactly, the base is the best
/// guess; infinite: unknown, all is kept) and s [`PULL_SPREAD_LN_PERMEABILITY`]. Other numbers are taken from the fit.
pub fn for_the_next_pull(base: &PuckSpec, fitted: &PuckSpec, coffee_sd_ln_permeability: f64) -> PuckSpec {
    let v = coffee_sd_ln_permeability * coffee_sd_ln_permeability;
    let s2 = PULL_SPREAD_LN_PERMEABILITY * PULL_SPREAD_LN_PERMEABILITY;
    let kept = if v.is_finite() { v / (v + s2) } else { 1.0 };
    let (from, to) = (Free::Permeability.get(base), Free::Permeability.get(fitted));
    let mut next = fitted.clone();
    Free::Permeability.set(&mut next, from + kept * (to - from));
    next
}

/// A recorded pull to fit to.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// What the machine did.
    pub drive: Drive,
    /// Times of the samples, s after the drive's zero, rising.
    pub time_s: Vec<f64>,
    /// Cup mass at those times, g.
    pub cup_g: Vec<f64>,
    /// Dissolved mass in the cup, (s, g), where it was measured; may be empty.
    pub dissolved_g: Vec<(f64, f64)>,
    /// Weight of this record against others.
    pub weight: f64,
}

impl Recorded {
    /// Checks lengths and finiteness.
    ///
    /// # Errors
    /// Vectors of different or zero length, times that run backwards, numbers that are not finite.
    pub fn new(drive: DriveSpec, time_s: Vec<f64>, cup_g: Vec<f64>) -> Result<Self, PuckFault> {
        if time_s.is_empty() || time_s.len() != cup_g.len() {
            return misshapen(
                "recorded",
                say!("puck-fit-lengths", times = time_s.len(), masses = cup_g.len()),
            );
        }
        let mut before = f64::NEG_INFINITY;
        for (t, m) in time_s.iter().zip(&cup_g) {
            within("recorded.time_s", *t, before.max(-600.0), 600.0)?;
            within("recorded.cup_g", *m, -1000.0, 10_000.0)?;
            before = *t;
        }
        Ok(Self { drive: Drive::new(drive)?, time_s, cup_g, dissolved_g: Vec::new(), weight: 1.0 })
    }

    /// Misfits, one a sample: ln of (modelled + floor) over (recorded + floor), the floor being `floor_g`, so that
    /// grams count at the start and shares later.
    fn misfit(&self, trace: &PullTrace, floor_g: f64, into: &mut Vec<f64>) {
        let scale = self.weight / ((self.time_s.len() + self.dissolved_g.len()) as f64).sqrt();
        for (t, g) in &self.dissolved_g {
            let model: f64 = trace.dissolved_g.iter().map(|s| trace.sample(s, *t)).sum();
            let floor_g = 0.1 * floor_g;
            into.push(scale * ((model + floor_g) / (g.max(0.0) + floor_g)).ln());
        }
        for (t, m) in self.time_s.iter().zip(&self.cup_g) {
            let model = trace.sample(&trace.cup_g, *t);
            into.push(scale * ((model + floor_g) / (m.max(0.0) + floor_g)).ln());
        }
    }
}

/// Result of a fit.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The puck with its free numbers set.
    pub spec: PuckSpec,
    /// Root mean square of the misfits (about a relative error of cup mass).
    pub rms: f64,
    /// Simulated pulls spent.
    pub pulls: usize,
}

/// How a fit is run.
#[derive(Debug, Clone, Copy)]
pub struct FitSettings {
    /// Grid of the simulations.
    pub grid: Settings,
    /// Cup mass below which errors count in grams rather than as shares, g.
    pub floor_g: f64,
    /// Weight that holds each free number to its start: one unit of it costs as much as a relative error this large.
    pub hold: f64,
    /// Most steps.
    pub steps: usize,
}

impl Default for FitSettings {
    fn default() -> Self {
        Self {
            grid: Settings { cells: 16, tubes: 6, pools: 4, step_s: 0.25 },
            floor_g: 2.0,
            hold: 0.01,
            steps: 40,
        }
    }
}

/// Fits the `free` numbers of a puck to one or more recorded pulls by Levenberg and Marquardt with differences for the
/// slopes. Deterministic; about (free + 1) simulated pulls a step and record.
///
/// # Errors
/// The start must be a valid puck, and the grid valid.
pub fn fit(
    start: &PuckSpec,
    free: &[Free],
    records: &[Recorded],
    settings: &FitSettings,
) -> Result<Fitted, PuckFault> {
    let fitted = fit_while(start, free, records, settings, |_| true)?;
    // Nobody stopped it; the start itself is the answer of no step at all.
    Ok(fitted.unwrap_or_else(|| Fitted { spec: start.clone(), rms: f64::INFINITY, pulls: 0 }))
}

/// As [`fit`], asking `goes_on` before every simulated pull, with how many were made; `None` once it says no.
///
/// # Errors
/// As [`fit`].
pub fn fit_while(
    start: &PuckSpec,
    free: &[Free],
    records: &[Recorded],
    settings: &FitSettings,
    mut goes_on: impl FnMut(usize) -> bool,
) -> Result<Option<Fitted>, PuckFault> {
    let mut run = Run::default();
    let mut pulls = 0;
    let first: Vec<f64> = free.iter().map(|f| f.get(start)).collect();
    let mut misfits = |x: &[f64]| -> Result<Option<Vec<f64>>, PuckFault> {
        let mut spec = start.clone();
        for (f, v) in free.iter().zip(x) {
            f.set(&mut spec, *v);
        }
        let puck = Puck::new(spec)?;
        let mut all = Vec::new();
        for r in records {
            if !goes_on(pulls) {
                return Ok(None);
            }
            let trace = simulate_in(&mut run, &puck, &r.drive, &settings.grid)?;
            pulls += 1;
            r.misfit(&trace, settings.floor_g, &mut all);
        }
        let scale = (records.len().max(1) as f64).sqrt();
        for (v, s) in x.iter().zip(&first) {
            all.push(settings.hold * (v - s) * scale);
        }
        Ok(Some(all))
    };
    let cost = |r: &[f64]| r.iter().map(|v| v * v).sum::<f64>();
    let n = free.len();
    let mut x = first.clone();
    let Some(mut residual) = misfits(&x)? else { return Ok(None) };
    let mut best = cost(&residual);
    let mut damping = 1e-2;
    for _ in 0..settings.steps {
        let mut columns = Vec::with_capacity(n);
        for (i, f) in free.iter().enumerate() {
            let mut moved = x.clone();
            let (low, high) = f.range();
            let mut h = 1e-3;
            if let Some(v) = moved.get_mut(i) {
                if *v + h > high {
                    h = -h;
                }
                *v = (*v + h).clamp(low, high);
            }
            let Some(there) = misfits(&moved)? else { return Ok(None) };
            columns.push(there.iter().zip(&residual).map(|(a, b)| (a - b) / h).collect::<Vec<f64>>());
        }
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(p, q)| p * q).sum::<f64>();
        let mut improved = false;
        for _ in 0..8 {
            let mut normal = vec![0.0; n * n];
            for (i, a) in columns.iter().enumerate() {
                for (j, b) in columns.iter().enumerate() {
                    if let Some(slot) = normal.get_mut(i * n + j) {
                        *slot = dot(a, b) * if i == j { 1.0 + damping } else { 1.0 };
                        if i == j {
                            *slot += 1e-9;
                        }
                    }
                }
            }
            let mut step: Vec<f64> = columns.iter().map(|c| -dot(c, &residual)).collect();
            let Some(l) = cholesky(&normal, n) else { break };
            solve(&l, &mut step);
            let tried: Vec<f64> = free
                .iter()
                .zip(x.iter().zip(&step))
                .map(|(f, (v, d))| {
                    let (low, high) = f.range();
                    (v + d.clamp(-1.0, 1.0)).clamp(low, high)
                })
                .collect();
            let Some(there) = misfits(&tried)? else { return Ok(None) };
            let now = cost(&there);
            if now < best {
                improved = best - now > 1e-5 * best;
                x = tried;
                residual = there;
                best = now;
                damping = (damping * 0.3).max(1e-7);
                break;
            }
            damping *= 4.0;
        }
        if !improved {
            break;
        }
    }
    let mut spec = start.clone();
    for (f, v) in free.iter().zip(&x) {
        f.set(&mut spec, *v);
    }
    Ok(Some(Fitted { spec, rms: (best / records.len().max(1) as f64).sqrt(), pulls }))
}
