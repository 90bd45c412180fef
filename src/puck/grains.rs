//! Ground coffee as two populations of spheres, and how both follow the grind.

use super::fault::{PuckFault, within};
use serde::{Deserialize, Serialize};

/// Fines and boulders by volume. Image analysis of two coffees at eleven grinder settings (open data of H. Buckland
/// for Wadsworth et al., R. Soc. Open Sci. 13, 252031, 2026) shows one size of fines whatever the setting, and a share
/// of fines that falls as the coarse size grows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Grains {
    /// Volume share of the fines, 0–1.
    pub fines_share: f64,
    /// Radius of the fines, µm, 1–100.
    pub fines_radius_um: f64,
    /// Radius of the boulders, µm, 20–1500.
    pub boulders_radius_um: f64,
}

/// Sauter diameter of the coarse part at the reference fineness, µm (setting 1 of the data above).
pub const REFERENCE_COARSE_UM: f64 = 270.0;

impl Default for Grains {
    fn default() -> Self {
        Self { fines_share: 0.16, fines_radius_um: 25.0, boulders_radius_um: 170.0 }
    }
}

impl Grains {
    /// Populations at a coarse Sauter diameter, µm: fines of 13 µm radius with the share 0.31 (d/270 µm)^−1.8, which
    /// follows the measured shares within about a fifth of themselves. Grinders move the diameter linearly with clicks.
    pub fn at_coarse_diameter_um(diameter_um: f64) -> Self {
        Self {
            fines_share: (0.31 * (diameter_um / REFERENCE_COARSE_UM).powf(-1.8)).min(0.9),
            fines_radius_um: 13.0,
            boulders_radius_um: 0.5 * diameter_um,
        }
    }

    /// Sauter (volume to surface) diameter of everything together, µm.
    pub fn sauter_um(&self) -> f64 {
        2.0 / (self.fines_share / self.fines_radius_um + (1.0 - self.fines_share) / self.boulders_radius_um)
    }

    /// Factor on permeability when the grind moves from `from` to these grains: k ∝ (Sauter diameter)², the slope of
    /// Kozeny and Carman; the level must be fitted, since the law from dry sizes is off by orders of magnitude.
    pub fn permeability_ratio(&self, from: &Self) -> f64 {
        (self.sauter_um() / from.sauter_um()).powi(2)
    }

    /// The same coffee ground to `ratio` times the coarse size: boulders scale, fines keep their size, and their share
    /// moves as ratio^−1.8.
    pub fn coarser(&self, ratio: f64) -> Self {
        Self {
            fines_share: (self.fines_share * ratio.powf(-1.8)).clamp(0.0, 0.9),
            boulders_radius_um: self.boulders_radius_um * ratio,
            ..*self
        }
    }

    pub(crate) fn check(&self) -> Result<(), PuckFault> {
        within("grains.fines_share", self.fines_share, 0.0, 1.0)?;
        within("grains.fines_radius_um", self.fines_radius_um, 1.0, 100.0)?;
        within("grains.boulders_radius_um", self.boulders_radius_um, 20.0, 1500.0)
    }
}
