//! A polynomial stand-in for the simulator, for inference: one prediction in under a microsecond.
//!
//! Time to the yield, first drip and the extracted share of each class are written as polynomials of total degree four in
//! seven settings (products of Chebyshev polynomials; logarithms of the times, logits of the shares), fitted by least
//! squares to the full model at points that fill the box evenly. [`Emulator::error`] measures it against the full model
//! at other points.

use super::bed::{Puck, PuckSpec, Unevenness};
use super::drive::{Drive, DriveSpec, Machine};
use super::fault::{PuckFault, misshapen, within};
use super::profile::Profile;
use super::run::{Run, Settings, simulate_in};
use super::solute::MOST_SOLUTES;
use crate::maths::dense::{cholesky, solve};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Settings of the emulator.
const INPUTS: usize = 7;
/// Quantities predicted: two times and up to four shares.
const OUTPUTS: usize = 2 + MOST_SOLUTES;
/// Total degree.
const DEGREE: usize = 4;
/// Longest pull that counts, s. Settings that take longer lie outside what was fitted.
pub const LONGEST_S: f64 = 120.0;

/// One pull to predict: flat pressure and temperature on a variant of the base puck.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// Permeability k₀ over that of the base puck.
    pub permeability_ratio: f64,
    /// Coarse grain size over that of the base puck (sets fines share and boulder radius, not permeability).
    pub coarse_ratio: f64,
    /// Dose, g.
    pub dose_g: f64,
    /// Yield over dose.
    pub brew_ratio: f64,
    /// Pressure, bar.
    pub pressure_bar: f64,
    /// Water temperature, °C.
    pub temperature_c: f64,
    /// Spread of permeability.
    pub spread: f64,
}

impl Question {
    fn coordinates(&self) -> [f64; INPUTS] {
        [
            self.permeability_ratio.ln(),
            self.coarse_ratio.ln(),
            self.dose_g,
            self.brew_ratio.ln(),
            self.pressure_bar.ln(),
            self.temperature_c,
            self.spread,
        ]
    }
}

/// Prediction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Pump start to the yield, s.
    pub time_s: f64,
    /// Pump start to the first drop, s.
    pub first_drip_s: f64,
    /// Share of each class in the cup, 0–1, in the order of the base puck's classes.
    pub class_shares: [f64; MOST_SOLUTES],
    /// Extraction, % of the dose.
    pub extraction_pct: f64,
    /// Strength, %.
    pub tds_pct: f64,
}

/// Low and high end of each setting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ranges {
    /// Lowest settings.
    pub low: Question,
    /// Highest settings.
    pub high: Question,
}

impl Default for Ranges {
    /// What can be set on usual gear: permeability 0.4–2.2 and grain size 0.7–1.4 times the base, 14–22 g, ratio 1.2–3.2,
    /// 5–11 bar, 84–98 °C, spread 0–0.8.
    fn default() -> Self {
        let q = |k, c, d, r, p, t, s| Question {
            permeability_ratio: k,
            coarse_ratio: c,
            dose_g: d,
            brew_ratio: r,
            pressure_bar: p,
            temperature_c: t,
            spread: s,
        };
        Self { low: q(0.4, 0.7, 14.0, 1.2, 5.0, 84.0, 0.0), high: q(2.2, 1.4, 22.0, 3.2, 11.0, 98.0, 0.8) }
    }
}

impl Ranges {
    /// The point of the box at shares `x` (0–1 each) of the fitted variables.
    pub fn at(&self, x: &[f64; 7]) -> Question {
        let (a, b) = (self.low.coordinates(), self.high.coordinates());
        let v: [f64; INPUTS] = std::array::from_fn(|i| a[i] + (b[i] - a[i]) * x[i]);
        Question {
            permeability_ratio: v[0].exp(),
            coarse_ratio: v[1].exp(),
            dose_g: v[2],
            brew_ratio: v[3].exp(),
            pressure_bar: v[4].exp(),
            temperature_c: v[5],
            spread: v[6],
        }
    }

    /// True when the question lies in the box.
    pub fn hold(&self, q: &Question) -> bool {
        let (a, b, v) = (self.low.coordinates(), self.high.coordinates(), q.coordinates());
        (0..INPUTS).all(|i| v[i] >= a[i] - 1e-9 && v[i] <= b[i] + 1e-9)
    }
}

/// Error against the full model over points of the box.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct EmulatorError {
    /// Points compared.
    pub points: usize,
    /// Points left out because the pull was longer than [`LONGEST_S`].
    pub too_long: usize,
    /// Root mean square and worst relative error of the time.
    pub time: (f64, f64),
    /// Root mean square and worst relative error of the first drip.
    pub first_drip: (f64, f64),
    /// Root mean square and worst error of extraction, percentage points.
    pub extraction_points: (f64, f64),
    /// Root mean square and worst error of strength, percentage points.
    pub tds_points: (f64, f64),
}

/// A term: the parent term times the Chebyshev polynomial of `degree` in `input`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Term {
    parent: u16,
    slot: u16,
}

/// The fitted polynomials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Emulator {
    ranges: Ranges,
    /// Share of each class in the dry dose.
    class_mass: [f64; MOST_SOLUTES],
    classes: usize,
    error: EmulatorError,
    /// One row of [`OUTPUTS`] for each term, in the order of [`terms`].
    rows: Vec<[f64; OUTPUTS]>,
    #[serde(skip)]
    terms: Vec<Term>,
}

/// All products of total degree up to [`DEGREE`], parents first.
fn terms() -> Vec<Term> {
    let mut list = vec![Term { parent: 0, slot: 0 }];
    let mut open: Vec<(u16, usize, usize)> = vec![(0, 0, 0)];
    while let Some((at, from, degree)) = open.pop() {
        for input in from..INPUTS {
            for d in 1..=DEGREE - degree {
                let slot = (input * (DEGREE + 1) + d) as u16;
                list.push(Term { parent: at, slot });
                open.push(((list.len() - 1) as u16, input + 1, degree + d));
            }
        }
    }
    list
}

const MOST_TERMS: usize = 336;

fn logit(p: f64) -> f64 {
    let p = p.clamp(1e-6, 1.0 - 1e-6);
    (p / (1.0 - p)).ln()
}

/// The base puck changed as a question asks, and its drive.
///
/// # Errors
/// When the changed puck lies outside the simulator's range.
pub fn full_model(base: &PuckSpec, q: &Question) -> Result<(Puck, Drive), PuckFault> {
    let mut spec = base.clone();
    spec.dose_g = q.dose_g;
    spec.grains = base.grains.coarser(q.coarse_ratio);
    spec.flow.permeability_m2 = base.flow.permeability_m2 * q.permeability_ratio;
    spec.unevenness = Unevenness { spread: q.spread, channels: Vec::new() };
    let drive = DriveSpec {
        pressure_bar: Profile::flat(q.pressure_bar),
        flow_ml_s: None,
        temperature_c: Profile::flat(q.temperature_c),
        duration_s: LONGEST_S + 5.0,
        stop_at_g: Some(q.dose_g * q.brew_ratio),
        machine: Machine::default(),
    };
    Ok((Puck::new(spec)?, Drive::new(drive)?))
}

/// Points that fill the unit box evenly (Kronecker's sequence of the generalised golden ratio); `skip` starts later.
fn spread_point(i: usize, skip: usize) -> [f64; INPUTS] {
    // The root of x⁸ = x + 1.
    let mut g = 1.5_f64;
    for _ in 0..60 {
        g = (1.0 + g).powf(1.0 / (INPUTS + 1) as f64);
    }
    std::array::from_fn(|d| (0.5 + (i + skip + 1) as f64 * g.powi(-(d as i32 + 1))).fract())
}

/// What the full model answers, as the polynomials see it: ln time, ln first drip, logits; `None` if too long.
fn truth(
    run: &mut Run,
    base: &PuckSpec,
    q: &Question,
    grid: &Settings,
) -> Result<Option<[f64; OUTPUTS]>, PuckFault> {
    let (puck, drive) = full_model(base, q)?;
    let trace = simulate_in(run, &puck, &drive, grid)?;
    let (true, Some(drip_s)) = (trace.reached_yield, trace.first_drip_s) else { return Ok(None) };
    if trace.end_s > LONGEST_S {
        return Ok(None);
    }
    let mut out = [0.0; OUTPUTS];
    let values = [trace.end_s.ln(), drip_s.max(1e-3).ln()]
        .into_iter()
        .chain(trace.ledger.iter().map(|c| logit(if c.start_g > 0.0 { c.cup_g / c.start_g } else { 0.5 })));
    for (o, v) in out.iter_mut().zip(values) {
        *o = v;
    }
    Ok(Some(out))
}

impl Emulator {
    /// Fits an emulator of `base` over `ranges` to `points` simulated pulls, then measures its error at a third as many
    /// others. About a millisecond a point.
    ///
    /// # Errors
    /// A base or ranges that the simulator refuses; too few points (fewer than 700) or too few short enough.
    pub fn train(base: &PuckSpec, ranges: Ranges, points: usize, grid: &Settings) -> Result<Self, PuckFault> {
        within("points", points as f64, 700.0, 1e6)?;
        let terms = terms();
        let n = terms.len();
        let mut class_mass = [0.0; MOST_SOLUTES];
        for (m, s) in class_mass.iter_mut().zip(&base.solutes) {
            *m = s.share;
        }
        let mut emulator = Self {
            ranges,
            class_mass,
            classes: base.solutes.len(),
            error: EmulatorError::default(),
            rows: vec![[0.0; OUTPUTS]; n],
            terms,
        };
        let mut run = Run::default();
        let mut normal = vec![0.0; n * n];
        let mut right = vec![vec![0.0; n]; OUTPUTS];
        let mut used = 0;
        for i in 0..points {
            // A little towards the walls of the box, where polynomials are worst.
            let x = spread_point(i, 0)
                .map(|u| 0.5 - 0.5 * (std::f64::consts::PI * u).cos() * 0.4 + 0.6 * (u - 0.5));
            let q = ranges.at(&x.map(|u| u.clamp(0.0, 1.0)));
            let Some(want) = truth(&mut run, base, &q, grid)? else { continue };
            used += 1;
            let mut basis = [0.0; MOST_TERMS];
            emulator.basis(&q, &mut basis);
            let basis = basis.get(..n).unwrap_or(&[]);
            for (i, a) in basis.iter().enumerate() {
                if let Some(row) = normal.get_mut(i * n..i * n + i + 1) {
                    for (slot, b) in row.iter_mut().zip(basis) {
                        *slot += a * b;
                    }
                }
            }
            for (rhs, w) in right.iter_mut().zip(want) {
                for (slot, b) in rhs.iter_mut().zip(basis) {
                    *slot += b * w;
                }
            }
        }
        if used < 2 * n {
            return misshapen(
                "points",
                say!("puck-emulator-only", used = used, points = points, seconds = LONGEST_S),
            );
        }
        for i in 0..n {
            if let Some(d) = normal.get_mut(i * n + i) {
                *d += 1e-6;
            }
        }
        let Some(l) = cholesky(&normal, n) else {
            return misshapen("points", word!("puck-emulator-singular"));
        };
        for (o, rhs) in right.iter_mut().enumerate() {
            solve(&l, rhs);
            for (row, v) in emulator.rows.iter_mut().zip(rhs) {
                if let Some(slot) = row.get_mut(o) {
                    *slot = *v;
                }
            }
        }
        emulator.error = emulator.measure(base, points / 3, points + 7, grid)?;
        Ok(emulator)
    }

    /// The emulator of the default puck over the default ranges, with coefficients fitted beforehand (a test fits them
    /// again). `None` only if the built-in table were damaged.
    pub fn usual() -> Option<&'static Self> {
        static USUAL: OnceLock<Option<Emulator>> = OnceLock::new();
        USUAL
            .get_or_init(|| {
                let mut read: Self = ron::from_str(include_str!("emulator_usual.ron")).ok()?;
                read.terms = terms();
                (read.rows.len() == read.terms.len()).then_some(read)
            })
            .as_ref()
    }

    /// Writes the coefficients as RON, to keep beside a station.
    ///
    /// # Errors
    /// When RON cannot be written (not with finite coefficients).
    pub fn to_ron(&self) -> Result<String, ron::Error> {
        ron::to_string(self)
    }

    /// Ranges that were fitted.
    pub fn ranges(&self) -> &Ranges {
        &self.ranges
    }

    /// Error measured against the full model when it was fitted, at points not used for the fit.
    pub fn error(&self) -> &EmulatorError {
        &self.error
    }

    #[inline]
    fn basis(&self, q: &Question, basis: &mut [f64; MOST_TERMS]) {
        let (low, high, v) = (self.ranges.low.coordinates(), self.ranges.high.coordinates(), q.coordinates());
        let mut table = [1.0; INPUTS * (DEGREE + 1)];
        for (i, t) in table.chunks_exact_mut(DEGREE + 1).enumerate() {
            // Outside the box the nearest wall answers.
            let x = (2.0 * (v[i] - low[i]) / (high[i] - low[i]) - 1.0).clamp(-1.0, 1.0);
            let (mut before, mut now) = (1.0, x);
            for slot in t.iter_mut().skip(1) {
                *slot = now;
                (before, now) = (now, 2.0 * x * now - before);
            }
        }
        basis[0] = 1.0;
        for (i, term) in self.terms.iter().enumerate().skip(1) {
            let value = basis.get(usize::from(term.parent)).copied().unwrap_or(0.0)
                * table.get(usize::from(term.slot)).copied().unwrap_or(0.0);
            if let Some(slot) = basis.get_mut(i) {
                *slot = value;
            }
        }
    }

    /// Predicts. Settings outside the ranges are answered as at the nearest wall of the box ([`Ranges::hold`] tells).
    pub fn predict(&self, q: &Question) -> Answer {
        let mut basis = [0.0; MOST_TERMS];
        self.basis(q, &mut basis);
        let mut sums = [0.0; OUTPUTS];
        for (b, row) in basis.iter().zip(&self.rows) {
            for (s, c) in sums.iter_mut().zip(row) {
                *s += b * c;
            }
        }
        let mut class_shares = [0.0; MOST_SOLUTES];
        let mut extraction = 0.0;
        for (l, share) in class_shares.iter_mut().enumerate().take(self.classes) {
            *share = 1.0 / (1.0 + (-sums[2 + l]).exp());
            extraction += *share * self.class_mass[l];
        }
        Answer {
            time_s: sums[0].exp(),
            first_drip_s: sums[1].exp(),
            class_shares,
            extraction_pct: 100.0 * extraction,
            tds_pct: 100.0 * extraction / q.brew_ratio,
        }
    }

    /// Compares with the full model at `points` points of the box, other ones for each `skip`.
    ///
    /// # Errors
    /// As [`Emulator::train`].
    pub fn measure(
        &self,
        base: &PuckSpec,
        points: usize,
        skip: usize,
        grid: &Settings,
    ) -> Result<EmulatorError, PuckFault> {
        let mut run = Run::default();
        let mut error = EmulatorError::default();
        let add = |slot: &mut (f64, f64), e: f64| {
            slot.0 += e * e;
            slot.1 = slot.1.max(e.abs());
        };
        for i in 0..points {
            let q = self.ranges.at(&spread_point(i, skip));
            let Some(want) = truth(&mut run, base, &q, grid)? else {
                error.too_long += 1;
                continue;
            };
            error.points += 1;
            let got = self.predict(&q);
            let extraction: f64 =
                (0..self.classes).map(|l| 100.0 * self.class_mass[l] / (1.0 + (-want[2 + l]).exp())).sum();
            add(&mut error.time, got.time_s / want[0].exp() - 1.0);
            add(&mut error.first_drip, got.first_drip_s / want[1].exp() - 1.0);
            add(&mut error.extraction_points, got.extraction_pct - extraction);
            add(&mut error.tds_points, got.tds_pct - extraction / q.brew_ratio);
        }
        let n = error.points.max(1) as f64;
        for slot in
            [&mut error.time, &mut error.first_drip, &mut error.extraction_points, &mut error.tds_points]
        {
            slot.0 = (slot.0 / n).sqrt();
        }
        Ok(error)
    }
}
