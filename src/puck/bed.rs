//! The puck: what lies in the basket before water comes.

use super::fault::{PuckFault, misshapen, within};
use super::grains::Grains;
use super::solute::{Solute, check_all, usual_solutes};
use serde::{Deserialize, Serialize};

/// Most discrete channels in one puck.
pub const MOST_CHANNELS: usize = 4;

/// Strongest liquor that a bed gives, kg/m³: 24.3 % by mass of a liquor of 1.09 g/mL, the mean of the first three cups of 5 s in
/// the measured strengths of Waszkiewicz et al., Phys. Fluids 38, 063113 (2026; ±2.3 points). The density is an estimate (a third
/// of a unit a unit of mass fraction, common practice, no source). Moroney et al. (Chem. Eng. Sci. 137, 216, 2015) found 212.4
/// kg/m³ for drip coffee. The trace counts liquor at the density of water, so such liquor shows as 27.5 % there.
pub const SATURATION_KG_M3: f64 = 265.0;

/// A limit that no liquor reaches: nothing is held back.
///
/// The usual puck has no limit, although its first drops are then up to 40 % strong, which nobody has measured: a hard limit
/// takes most from its extraction just where that peaks against fineness and leaves the curve flat (0.15 points below the
/// peak at the finest grind of a fragile coffee instead of 0.6), and that fall is measured (Cameron et al., Matter 2, 631,
/// 2020).
pub const NO_SATURATION_KG_M3: f64 = 10_000.0;

/// How easily water passes and how that changes during the pull.
///
/// k = k₀ · ψ(P/P_ref) · κ(φ)/κ(φ₀) · swelling · silting, with κ(φ) = φ³/(1−φ)² (Kozeny and Carman),
/// φ = φ₀ + gain · opened(σ) · X − packing, X the share of the solubles dissolved, and ψ(p) = (1−(1−p)⁴)/(4p) (elastic squeeze,
/// Waszkiewicz et al., Phys. Fluids 38, 063113, 2026, in the limit of small porosity).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FlowLaw {
    /// k₀, permeability of the wet, unsqueezed bed, m², 1e-18–1e-11.
    pub permeability_m2: f64,
    /// φ₀, porosity that carries flow before anything dissolves, 0.005–0.6.
    pub porosity: f64,
    /// Gain of that porosity when everything soluble has gone, 0–0.8.
    pub porosity_gain: f64,
    /// P_ref, pressure at which the elastic squeeze closes the outlet, bar, 1–10000.
    pub squeeze_bar: f64,
    /// How the stiffness follows porosity: P_ref grows as (φ/φ₀)^m, m 0–1 (1 is the law of the paper).
    pub squeeze_follows_porosity: f64,
    /// Share of φ₀ that wet packing can take for good, 0–0.98. While the front falls, the dry coffee under it carries
    /// the whole pressure; what yields then does not spring back, so the loss follows the greatest stress borne.
    pub packing_share: f64,
    /// Stress that packs 63 % of that share, bar, 0.1–1000.
    pub packing_bar: f64,
    /// How far packing also takes the porosity that dissolution opens, 0 (not at all) to 1 (as much as of φ₀).
    pub packing_of_gain: f64,
    /// Share of the permeability that swelling takes, 0–0.9.
    pub swelling_share: f64,
    /// Time constant of swelling once wet, s, 0.1–600.
    pub swelling_time_s: f64,
    /// Share of the permeability that moving fines take, 0–0.95.
    pub silting_share: f64,
    /// Water, in pore volumes through the bed, that moves 63 % of those fines, 0.01–1000.
    pub silting_pore_volumes: f64,
    /// Capillary suction at the wetting front, bar, 0–0.5.
    pub suction_bar: f64,
    /// Stress that opens 63 % of what dissolution has loosened, bar, 0–100: the gain is multiplied by
    /// 1 − exp(−(σ/opening)²), σ the greatest stress borne. A bed that never bore more than a fraction of it keeps its first
    /// porosity however much dissolves (0: all opens at once).
    pub opening_bar: f64,
    /// Flux at which inertia doubles the resistance (Forchheimer), mm/s, 0.1–1e9.
    pub inertia_mm_s: f64,
}

impl Default for FlowLaw {
    fn default() -> Self {
        Self {
            permeability_m2: 3.8e-15,
            porosity: 0.17,
            porosity_gain: 0.05,
            squeeze_bar: 20.0,
            squeeze_follows_porosity: 0.0,
            packing_share: 0.0,
            packing_bar: 10.0,
            packing_of_gain: 0.0,
            swelling_share: 0.0,
            swelling_time_s: 10.0,
            silting_share: 0.0,
            silting_pore_volumes: 2.0,
            suction_bar: 0.0,
            opening_bar: 0.0,
            inertia_mm_s: 1e9,
        }
    }
}

impl FlowLaw {
    fn check(&self) -> Result<(), PuckFault> {
        within("flow.permeability_m2", self.permeability_m2, 1e-18, 1e-11)?;
        within("flow.porosity", self.porosity, 0.005, 0.6)?;
        within("flow.porosity_gain", self.porosity_gain, 0.0, 0.8)?;
        within("flow.porosity + flow.porosity_gain", self.porosity + self.porosity_gain, 0.005, 0.95)?;
        within("flow.squeeze_bar", self.squeeze_bar, 1.0, 10_000.0)?;
        within("flow.squeeze_follows_porosity", self.squeeze_follows_porosity, 0.0, 1.0)?;
        within("flow.packing_share", self.packing_share, 0.0, 0.98)?;
        within("flow.packing_bar", self.packing_bar, 0.1, 1000.0)?;
        within("flow.packing_of_gain", self.packing_of_gain, 0.0, 1.0)?;
        within("flow.swelling_share", self.swelling_share, 0.0, 0.9)?;
        within("flow.swelling_time_s", self.swelling_time_s, 0.1, 600.0)?;
        within("flow.silting_share", self.silting_share, 0.0, 0.95)?;
        within("flow.silting_pore_volumes", self.silting_pore_volumes, 0.01, 1000.0)?;
        within("flow.suction_bar", self.suction_bar, 0.0, 0.5)?;
        within("flow.opening_bar", self.opening_bar, 0.0, 100.0)?;
        within("flow.inertia_mm_s", self.inertia_mm_s, 0.1, 1e9)
    }
}

/// A crack or a soft spot: a small part of the area that opens at a moment and may heal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// When it opens, s after the pump starts, 0–600.
    pub opens_at_s: f64,
    /// Share of the bed's area, 1e-4–0.3.
    pub area_share: f64,
    /// Permeability against the rest once open, 1–1000.
    pub gain: f64,
    /// Time constant of healing, s, 0.1–600; absent: it stays open.
    #[serde(default)]
    pub heals_in_s: Option<f64>,
}

impl Channel {
    /// Factor on the permeability at a time.
    pub fn factor(&self, time_s: f64) -> f64 {
        let since = time_s - self.opens_at_s;
        if since < 0.0 {
            return 1.0;
        }
        1.0 + (self.gain - 1.0) * self.heals_in_s.map_or(1.0, |tau| (-since / tau).exp())
    }
}

/// How unevenly the bed lets water through.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Unevenness {
    /// Standard deviation of the logarithm of permeability over the area, 0–1.5.
    pub spread: f64,
    /// Discrete channels.
    pub channels: Vec<Channel>,
}

impl Unevenness {
    /// Spread of a bed by fineness and preparation: preparation · 0.245 · fineness^2.8, fineness being 1 at the setting
    /// where the yield of Cameron et al. (Matter 2, 631, 2020) begins to fall and growing as grains shrink (coarse size
    /// there over coarse size here); at most 1.5. `preparation` is 1 for that work's barista, less with even distribution.
    pub fn spread_for(fineness: f64, preparation: f64) -> f64 {
        let spread = preparation * 0.245 * fineness.powf(2.8);
        if spread.is_finite() { spread.clamp(0.0, 1.5) } else { 1.5 }
    }

    fn check(&self) -> Result<(), PuckFault> {
        within("unevenness.spread", self.spread, 0.0, 1.5)?;
        if self.channels.len() > MOST_CHANNELS {
            return misshapen(
                "unevenness.channels",
                say!("puck-bed-channels", n = self.channels.len(), most = MOST_CHANNELS),
            );
        }
        for (i, c) in self.channels.iter().enumerate() {
            let f = |name: &str| format!("unevenness.channels[{i}].{name}");
            within(&f("opens_at_s"), c.opens_at_s, 0.0, 600.0)?;
            within(&f("area_share"), c.area_share, 1e-4, 0.3)?;
            within(&f("gain"), c.gain, 1.0, 1000.0)?;
            within(&f("heals_in_s"), c.heals_in_s.unwrap_or(1.0), 0.1, 600.0)?;
        }
        let area: f64 = self.channels.iter().map(|c| c.area_share).sum();
        within("unevenness.channels (sum of area_share)", area, 0.0, 0.5)
    }
}

/// Heat in the puck. One equation: water and grains share a temperature at each depth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Heat {
    /// Temperature of the dry puck, °C, 0–130.
    pub start_c: f64,
    /// Heat capacity of dry coffee, J/(kg K), 500–4000.
    pub coffee_j_kg_k: f64,
    /// Heat flow to the basket, W/K over the whole bed, 0–50.
    pub basket_w_k: f64,
    /// Temperature of the basket, °C, 0–130.
    pub basket_c: f64,
}

impl Default for Heat {
    fn default() -> Self {
        Self { start_c: 25.0, coffee_j_kg_k: 1600.0, basket_w_k: 0.3, basket_c: 80.0 }
    }
}

/// Everything about a puck, as written in a file. Fields left out keep the default puck's values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PuckSpec {
    /// Dry coffee, g, 1–50.
    pub dose_g: f64,
    /// Diameter of the bed, mm, 20–80.
    pub basket_diameter_mm: f64,
    /// Bulk density of the tamped dry bed, kg/m³, 200–900.
    pub bulk_density_kg_m3: f64,
    /// Empty space above the bed that must fill before pressure acts, mL, 0–100.
    pub headspace_ml: f64,
    /// Liquid per bed volume behind the wetting front, 0.05–0.8.
    pub liquid_share: f64,
    /// Fines and boulders.
    pub grains: Grains,
    /// Flow.
    pub flow: FlowLaw,
    /// Unevenness.
    pub unevenness: Unevenness,
    /// One to four classes of solubles.
    pub solutes: Vec<Solute>,
    /// Most that the liquor can hold of all classes together, kg/m³, 50–10000 ([`NO_SATURATION_KG_M3`]: no limit).
    pub saturation_kg_m3: f64,
    /// Heat.
    pub heat: Heat,
}

impl Default for PuckSpec {
    fn default() -> Self {
        Self {
            dose_g: 18.0,
            basket_diameter_mm: 58.0,
            bulk_density_kg_m3: 400.0,
            headspace_ml: 0.0,
            liquid_share: 0.30,
            grains: Grains::default(),
            flow: FlowLaw::default(),
            unevenness: Unevenness::default(),
            solutes: usual_solutes(),
            saturation_kg_m3: NO_SATURATION_KG_M3,
            heat: Heat::default(),
        }
    }
}

impl PuckSpec {
    /// One real ground coffee: the puck fitted to the mean pulls at all eleven pressures, 0.8 to 12.5 bar, and to the
    /// strengths of successive cups at 9 bar, of Waszkiewicz et al., Phys. Fluids 38, 063113 (2026): 18.5 g in a 56 mm basket,
    /// water at 90 °C, one class of solubles. Cup masses of the mean pulls are met within 8 % root mean square, and a
    /// pressure left out of the fit within 15 % (median of the worst moments, 28 % at the worst pressure). Late flow peaks
    /// near 5 bar and falls above. Single pulls scatter about it by 8 % in the permeability
    /// ([`super::fit::PULL_SPREAD_LN_PERMEABILITY`]), which is a factor of 1.3 in the cup mass near 5 g.
    pub fn measured_2026() -> Self {
        Self {
            dose_g: 18.5,
            basket_diameter_mm: 56.0,
            bulk_density_kg_m3: 395.0,
            headspace_ml: 0.0,
            liquid_share: 0.11649,
            grains: Grains { fines_share: 0.30, fines_radius_um: 19.0, boulders_radius_um: 90.0 },
            flow: FlowLaw {
                permeability_m2: 1.202e-14,
                porosity: 0.122593,
                porosity_gain: 0.151189,
                squeeze_bar: 4.26811,
                squeeze_follows_porosity: 1.0,
                packing_share: 0.312813,
                packing_bar: 4.64091,
                packing_of_gain: 0.0,
                swelling_share: 0.843229,
                swelling_time_s: 113.042,
                silting_share: 0.674578,
                silting_pore_volumes: 3.02725,
                opening_bar: 2.26225,
                ..FlowLaw::default()
            },
            unevenness: Unevenness { spread: 0.155707, channels: Vec::new() },
            solutes: vec![Solute {
                name: "all".to_owned(),
                share: 0.231746,
                diffusivity_m2_s: 5.10494e-11,
                activation_kj_mol: 20.0,
                liquid_share: 0.218694,
                broken_share: 0.0,
                broken_rate_s: 1.5,
            }],
            saturation_kg_m3: SATURATION_KG_M3,
            heat: Heat { start_c: 25.0, basket_c: 85.0, ..Heat::default() },
        }
    }
}

/// A puck whose every number has been checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Puck {
    spec: PuckSpec,
}

impl Puck {
    /// Checks a description.
    ///
    /// # Errors
    /// [`PuckFault`] names the first field out of range, its value and the allowed range.
    pub fn new(spec: PuckSpec) -> Result<Self, PuckFault> {
        within("dose_g", spec.dose_g, 1.0, 50.0)?;
        within("basket_diameter_mm", spec.basket_diameter_mm, 20.0, 80.0)?;
        within("bulk_density_kg_m3", spec.bulk_density_kg_m3, 200.0, 900.0)?;
        within("headspace_ml", spec.headspace_ml, 0.0, 100.0)?;
        within("liquid_share", spec.liquid_share, 0.05, 0.8)?;
        spec.grains.check()?;
        spec.flow.check()?;
        spec.unevenness.check()?;
        check_all(&spec.solutes)?;
        within("saturation_kg_m3", spec.saturation_kg_m3, 50.0, NO_SATURATION_KG_M3)?;
        within("heat.start_c", spec.heat.start_c, 0.0, 130.0)?;
        within("heat.coffee_j_kg_k", spec.heat.coffee_j_kg_k, 500.0, 4000.0)?;
        within("heat.basket_w_k", spec.heat.basket_w_k, 0.0, 50.0)?;
        within("heat.basket_c", spec.heat.basket_c, 0.0, 130.0)?;
        Ok(Self { spec })
    }

    /// The checked description.
    pub fn spec(&self) -> &PuckSpec {
        &self.spec
    }

    /// Area of the bed, m².
    pub fn area_m2(&self) -> f64 {
        std::f64::consts::FRAC_PI_4 * (self.spec.basket_diameter_mm * 1e-3).powi(2)
    }

    /// Depth of the bed, m.
    pub fn depth_m(&self) -> f64 {
        self.spec.dose_g * 1e-3 / (self.spec.bulk_density_kg_m3 * self.area_m2())
    }

    /// Liquid that fills the bed, m³.
    pub fn pore_volume_m3(&self) -> f64 {
        self.spec.liquid_share * self.area_m2() * self.depth_m()
    }

    /// Solubles in the dose, g.
    pub fn solubles_g(&self) -> f64 {
        self.spec.dose_g * self.spec.solutes.iter().map(|s| s.share).sum::<f64>()
    }
}
