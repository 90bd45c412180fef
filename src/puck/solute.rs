//! Classes of soluble matter: how much there is, how it moves in the grain, how it shares itself with the water.

use super::fault::{PuckFault, misshapen, within};
use serde::{Deserialize, Serialize};

/// Most classes that one simulation carries (they share the vector units).
pub const MOST_SOLUTES: usize = 4;
/// Temperature at which rates are given, °C.
pub const RATE_REFERENCE_C: f64 = 90.0;
/// Molar gas constant, kJ/(mol K) (CODATA).
const GAS_KJ_MOL_K: f64 = 8.314_462_618e-3;

/// One class of solubles.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solute {
    /// Short name for tables, such as `acids`.
    pub name: String,
    /// Share of the dry dose, 0–0.5.
    pub share: f64,
    /// Effective diffusivity in the grain at 90 °C, m²/s, 1e-14–1e-8.
    pub diffusivity_m2_s: f64,
    /// Activation energy of the rates, kJ/mol, 0–100.
    pub activation_kj_mol: f64,
    /// Share of the class in the liquid when the soaked bed rests at equilibrium, 0.02–1.
    pub liquid_share: f64,
    /// Share lying in broken cells at the surface, 0–1.
    pub broken_share: f64,
    /// Rate of wash-out from broken cells at 90 °C, 1/s, 0–1000.
    pub broken_rate_s: f64,
}

impl Solute {
    /// Arrhenius factor on the rates at a temperature, 1 at 90 °C.
    pub fn rate_factor(&self, temperature_c: f64) -> f64 {
        (self.activation_kj_mol / GAS_KJ_MOL_K
            * (1.0 / (RATE_REFERENCE_C + 273.15) - 1.0 / (temperature_c + 273.15)))
            .exp()
    }

    /// Grain-side capacity against the liquid: equilibrium mass in the grains over that in the liquid.
    pub fn capacity(&self) -> f64 {
        (1.0 - self.liquid_share) / self.liquid_share
    }

    pub(crate) fn check(&self, at: usize) -> Result<(), PuckFault> {
        let f = |name: &str| format!("solutes[{at}].{name}");
        within(&f("share"), self.share, 0.0, 0.5)?;
        within(&f("diffusivity_m2_s"), self.diffusivity_m2_s, 1e-14, 1e-8)?;
        within(&f("activation_kj_mol"), self.activation_kj_mol, 0.0, 100.0)?;
        within(&f("liquid_share"), self.liquid_share, 0.02, 1.0)?;
        within(&f("broken_share"), self.broken_share, 0.0, 1.0)?;
        within(&f("broken_rate_s"), self.broken_rate_s, 0.0, 1000.0)
    }
}

pub(crate) fn check_all(solutes: &[Solute]) -> Result<(), PuckFault> {
    if solutes.is_empty() || solutes.len() > MOST_SOLUTES {
        return misshapen("solutes", say!("puck-solute-classes", n = solutes.len(), most = MOST_SOLUTES));
    }
    for (i, s) in solutes.iter().enumerate() {
        s.check(i)?;
    }
    within("solutes (sum of shares)", solutes.iter().map(|s| s.share).sum(), 0.0, 0.8)
}

/// The usual four classes: early acids with salts and trigonelline; sugars with chlorogenic acids; caffeine, the
/// measured tracer; late melanoidins, bitter lactones and astringent matter. Amounts and rates are starting values
/// fitted to trade targets (18 g in, 36 g out in half a minute, 21–22 % extraction), not to a paper.
pub fn usual_solutes() -> Vec<Solute> {
    let class = |name: &str, share, d, e, k, b, r| Solute {
        name: name.to_owned(),
        share,
        diffusivity_m2_s: d,
        activation_kj_mol: e,
        liquid_share: k,
        broken_share: b,
        broken_rate_s: r,
    };
    vec![
        class("acids", 0.060, 2.0e-10, 16.0, 0.60, 0.30, 2.0),
        class("sugars", 0.088, 1.6e-10, 18.0, 0.55, 0.275, 1.75),
        class("caffeine", 0.012, 1.2e-10, 20.0, 0.50, 0.25, 1.5),
        class("bitters", 0.120, 0.5e-10, 30.0, 0.40, 0.20, 0.7),
    ]
}
