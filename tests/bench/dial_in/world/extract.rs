//! How much is dissolved: one law per family, from the run of the pull, the size and the ratio.

use super::Family;
use super::flow::{REFERENCE_S, Run, Site};
use crate::rng::Draw;

/// One world's extraction law with its parameters.
#[derive(Debug, Clone)]
pub struct Extract {
    family: Family,
    rate: f64,
    power: f64,
    wash: f64,
    uneven_cost: f64,
    spread: f64,
    spread_power: f64,
    peak: f64,
    thermal: f64,
    ceiling_pct: f64,
}

impl Extract {
    /// Draws the parameters; every family reads the same number of coordinates.
    pub fn draw(family: Family, d: &mut Draw) -> Self {
        let (t_lo, t_hi) = if family == Family::Thermal { (0.014, 0.03) } else { (0.001, 0.009) };
        Self {
            family,
            rate: d.uniform(1.1, 2.1),
            power: d.uniform(0.4, 0.75),
            wash: d.uniform(0.75, 1.4),
            uneven_cost: d.uniform(0.25, 0.5),
            spread: d.uniform(0.2, 0.36),
            spread_power: d.uniform(2.5, 4.5),
            peak: d.uniform(-0.02, 0.16),
            thermal: d.uniform(t_lo, t_hi),
            ceiling_pct: d.uniform(14.0, 19.0),
        }
    }

    /// Extraction in percent of the dose, where the reference pull of this bag gives `reference_pct`; `ratio` is drink
    /// over dose.
    pub fn percent(&self, reference_pct: f64, s: &Site, run: &Run, ratio: f64) -> f64 {
        let t = run.time_s / REFERENCE_S;
        let r = s.rho;
        let warm = (self.thermal * s.warmer_c).exp();
        let wash = (1.0 - (-ratio / self.wash).exp()) / (1.0 - (-2.0 / self.wash).exp());
        let part = match self.family {
            Family::Power => {
                // Stretched-exponential kinetics; loss by a log-normal spread of paths that widens when finer.
                let gain = kinetics(self.rate, self.power, t);
                let loss = |x: f64| {
                    let v = (self.spread * x.powf(-self.spread_power)).powi(2);
                    0.42 * v / (1.0 + 0.35 * v)
                };
                wash * gain * (1.0 - loss(r).min(0.6)) / (1.0 - loss(1.0))
            }
            Family::Wetting => {
                // A plain hump against fineness; the clock does not enter.
                let hump = |x: f64| {
                    let v = (-x.ln() - self.peak) / (0.16 + 0.2 * self.spread);
                    1.0 - 0.12 * v * v / (1.0 + 0.5 * v.abs())
                };
                hump(r).max(0.2) / hump(1.0) * (ratio / 2.0).powf(0.2 + 0.15 * self.power)
            }
            Family::Series => {
                // Fines give all, boulders by diffusion.
                let two = |x: f64, clock: f64| {
                    let fines = (0.3 * x.powf(-1.8)).min(0.75);
                    fines + (1.0 - fines) * (1.0 - (-0.6 * self.rate * clock.sqrt() / x).exp())
                };
                wash * two(r, t) / two(1.0, 1.0) * (1.0 - self.uneven_cost * run.uneven)
            }
            Family::Cliff => {
                // Contact after the first drip, limited by how strong the drink can get.
                let contact = (run.time_s - run.first_drip_s).max(1.0) / (REFERENCE_S - 6.0);
                let free = wash * kinetics(self.rate, self.power, contact);
                let cap = self.ceiling_pct * ratio / reference_pct;
                (free.powi(-6) + cap.powi(-6)).powf(-1.0 / 6.0) * (1.0 - 0.8 * self.uneven_cost * run.uneven)
            }
            Family::Channel => {
                let slow = 1.0 + 0.22 * (1.6 * self.power * t.ln()).tanh();
                slow * (ratio / 2.0).powf(0.28) * (1.0 - 1.1 * self.uneven_cost * run.uneven.powf(0.8))
            }
            Family::Erosion => {
                // Three classes of solubles with rates of their own.
                let three = |x: f64| {
                    0.4 * (1.0 - (-4.0 * x).exp())
                        + 0.35 * (1.0 - (-self.rate * x).exp())
                        + 0.25 * (1.0 - (-0.5 * x).exp())
                };
                let x = t.powf(self.power) * (ratio / 2.0).powf(0.8) / r.sqrt();
                three(x) / three(1.0) * (1.0 - self.uneven_cost * run.uneven)
            }
            Family::Thermal => {
                let slow = 1.0 + 0.18 * (1.4 * t.ln()).tanh();
                slow * (ratio / 2.0).powf(0.15 + 0.2 * self.power) * (1.0 - self.uneven_cost * run.uneven)
            }
        };
        (reference_pct * part * warm).clamp(4.0, 29.0)
    }
}

/// Share dissolved at clock `t` (1 at the reference time), stretched-exponential.
fn kinetics(rate: f64, power: f64, t: f64) -> f64 {
    (1.0 - (-rate * t.powf(power)).exp()) / (1.0 - (-rate).exp())
}
