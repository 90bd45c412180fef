//! How long a pull takes: one law per family of worlds, none of them the engine's.
//!
//! Every law gives about 27 s at the reference size (`rho` = 1), nominal dose, ratio 2 and 93 °C, and differs in how it
//! leaves that point: as a power, as an exponential behind a wetting delay, with a floor from the machine's own
//! resistance, with a compaction cliff that chokes, with channels that open when finer, with a bed that erodes during
//! the pull, or with a slope that dies out on both sides.

use super::Family;
use crate::rng::Draw;

/// Time of the reference pull, seconds.
pub const REFERENCE_S: f64 = 27.0;
/// A pull slower than this is abandoned as choked, seconds.
const ABANDON_S: f64 = 95.0;

/// What the water meets: sizes relative to the reference, all positive.
#[derive(Debug, Clone, Copy)]
pub struct Site {
    /// Effective grain size over the reference size (smaller is finer).
    pub rho: f64,
    /// Dose over the basket's nominal dose.
    pub dose: f64,
    /// Drink mass over twice the nominal dose.
    pub drink: f64,
    /// Water temperature less 93 °C.
    pub warmer_c: f64,
    /// Factor on the conductance from bean age and hour.
    pub ease: f64,
}

/// What the law gives.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    pub time_s: f64,
    pub first_drip_s: f64,
    pub choked: bool,
    /// Unevenness of the puck, 0 … 1.
    pub uneven: f64,
}

/// One world's law with its parameters.
#[derive(Debug, Clone)]
pub struct Flow {
    family: Family,
    slope: f64,
    dose_power: f64,
    drink_power: f64,
    wet_s: f64,
    share: f64,
    edge: f64,
    width: f64,
    thermal: f64,
}

impl Flow {
    /// Draws the parameters; every family reads the same number of coordinates.
    pub fn draw(family: Family, d: &mut Draw) -> Self {
        let (lo, hi) = match family {
            Family::Power => (2.2, 4.4),
            Family::Wetting => (2.6, 4.8),
            Family::Series => (4.0, 7.0),
            Family::Cliff => (1.2, 2.2),
            Family::Channel => (3.2, 5.2),
            Family::Erosion => (2.5, 4.5),
            Family::Thermal => (2.6, 4.6),
        };
        let (t_lo, t_hi) = if family == Family::Thermal { (0.018, 0.035) } else { (0.004, 0.014) };
        Self {
            family,
            slope: d.uniform(lo, hi),
            dose_power: d.uniform(1.6, 3.0),
            drink_power: d.uniform(0.65, 1.0),
            wet_s: d.uniform(3.5, 8.0),
            share: d.uniform(0.25, 0.5),
            edge: d.uniform(0.72, 0.90),
            width: d.uniform(0.025, 0.06),
            thermal: d.uniform(t_lo, t_hi),
        }
    }

    /// Time, first drip, choking and unevenness at a site.
    pub fn run(&self, s: &Site) -> Run {
        let thin = (-self.thermal * s.warmer_c).exp();
        let bed = s.dose.powf(self.dose_power) / s.ease;
        let r = s.rho;
        let mut uneven = logistic((self.edge * s.dose.powf(0.7) - r) / self.width);
        let mut choked = false;
        let mut drip = self.wet_s;
        let time_s = match self.family {
            Family::Power => {
                drip *= r.powf(-1.3) * s.dose;
                REFERENCE_S * r.powf(-self.slope) * bed * s.drink.powf(self.drink_power) * thin
            }
            Family::Wetting => {
                drip *= s.dose * s.dose / r;
                drip + (REFERENCE_S - self.wet_s) * (self.slope * (1.0 - r)).exp() * bed * s.drink * thin
            }
            Family::Series => {
                drip *= 0.5 + 0.5 / (r * r);
                REFERENCE_S * s.drink * thin * (self.share + (1.0 - self.share) * r.powf(-self.slope) * bed)
            }
            Family::Cliff => {
                // The bed closes at the size `shut`; heavier doses close earlier.
                let shut = (self.edge - 0.04) * s.dose.powf(0.8);
                let open = |x: f64, c: f64| x.powf(self.slope) * (1.0 - (c / x).powi(6));
                let kappa = open(r, shut) / open(1.0, self.edge - 0.04);
                choked = kappa < 0.16;
                uneven = logistic((shut + 0.07 - r) / self.width);
                drip /= kappa.max(0.2).sqrt();
                REFERENCE_S * s.drink * bed * thin / kappa.max(0.05)
            }
            Family::Channel => {
                let at = |x: f64| {
                    (x.powf(self.slope), 0.2 * ((self.edge - x) / (2.0 * self.width)).exp().min(40.0))
                };
                let (puck, jets) = at(r);
                let (puck1, jets1) = at(1.0);
                let total = (puck + jets) / (puck1 + jets1);
                uneven = jets / (puck + jets);
                drip *= 1.0 / r;
                REFERENCE_S * s.drink.powf(self.drink_power) * bed * thin / total
            }
            Family::Erosion => {
                // Mass m(t) = a t + b t² after the wetting time; a falls steeply with fineness, b hardly.
                drip *= s.dose / (r * r);
                let span = REFERENCE_S - self.wet_s;
                let a = (1.0 - self.share) / span * r.powf(self.slope) / (bed * thin);
                let b = self.share / (span * span) * r / thin;
                drip + ((a * a + 4.0 * b * s.drink).sqrt() - a) / (2.0 * b)
            }
            Family::Thermal => {
                let cap = 0.55 + self.share;
                drip *= 0.3 + 0.7 / r;
                let lean = cap * (self.slope * (1.0 - r) / cap).tanh();
                REFERENCE_S * lean.exp() * bed * s.drink.powf(self.drink_power) * thin
            }
        };
        choked |= time_s > ABANDON_S;
        let time_s = time_s.clamp(3.0, ABANDON_S);
        Run { time_s, first_drip_s: drip.clamp(1.0, 0.7 * time_s), choked, uneven }
    }
}

/// The logistic function.
pub fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}
