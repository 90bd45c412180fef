//! Liquid water and its saturation line, 0 to 130 °C and up to 15 bar, from the international releases.
//!
//! Density and heat capacity follow the industrial formulation IAPWS R7-97(2012), region 1, the saturation line its
//! region 4; viscosity follows IAPWS R12-08 with the critical term off (it is nil in the liquid). The check tables of
//! these releases are tests of this module. Pressures here are *absolute*: a gauge shows 1.01325 bar less at sea
//! level. Pure water stands for brew water; minerals shift nothing that a scale could see.

/// Lowest temperature covered, °C.
pub const LOWEST_C: f64 = 0.0;
/// Highest temperature covered, °C.
pub const HIGHEST_C: f64 = 130.0;
/// One standard atmosphere, bar.
pub const ATMOSPHERE_BAR: f64 = 1.01325;
const KELVIN: f64 = 273.15;
/// Specific gas constant of R7-97, J/(kg K).
const GAS_J_KG_K: f64 = 461.526;

/// R7-97 region 1: exponent of reduced pressure, exponent of reduced temperature, coefficient (Table 2).
const REGION_1: [(i32, i32, f64); 34] = [
    (0, -2, 0.146_329_712_131_67),
    (0, -1, -0.845_481_871_691_14),
    (0, 0, -3.756_360_367_204_0),
    (0, 1, 3.385_516_916_838_5),
    (0, 2, -0.957_919_633_878_72),
    (0, 3, 0.157_720_385_132_28),
    (0, 4, -0.016_616_417_199_501),
    (0, 5, 8.121_462_998_356_8e-4),
    (1, -9, 2.831_908_012_380_4e-4),
    (1, -7, -6.070_630_156_587_4e-4),
    (1, -1, -0.018_990_068_218_419),
    (1, 0, -0.032_529_748_770_505),
    (1, 1, -0.021_841_717_175_414),
    (1, 3, -5.283_835_796_993_0e-5),
    (2, -3, -4.718_432_107_326_7e-4),
    (2, 0, -3.000_178_079_302_6e-4),
    (2, 1, 4.766_139_390_698_7e-5),
    (2, 3, -4.414_184_533_084_6e-6),
    (2, 17, -7.269_499_629_759_4e-16),
    (3, -4, -3.167_964_484_505_4e-5),
    (3, 0, -2.827_079_798_531_2e-6),
    (3, 6, -8.520_512_812_010_3e-10),
    (4, -5, -2.242_528_190_800_0e-6),
    (4, -2, -6.517_122_289_560_1e-7),
    (4, 10, -1.434_172_993_792_4e-13),
    (5, -8, -4.051_699_686_011_7e-7),
    (8, -11, -1.273_430_174_164_1e-9),
    (8, -6, -1.742_487_123_063_4e-10),
    (21, -29, -6.876_213_129_553_1e-19),
    (23, -31, 1.447_830_782_852_1e-20),
    (29, -38, 2.633_578_166_279_5e-23),
    (30, -39, -1.194_762_264_007_1e-23),
    (31, -40, 1.822_809_458_140_4e-24),
    (32, -41, -9.353_708_729_245_8e-26),
];

/// R7-97 region 4 (Table 34).
const REGION_4: [f64; 10] = [
    1_167.052_145_276_7,
    -724_213.167_032_06,
    -17.073_846_940_092,
    12_020.824_702_470,
    -3_232_555.032_233_3,
    14.915_108_613_530,
    -4_823.265_736_159_1,
    405_113.405_420_57,
    -0.238_555_575_678_49,
    650.175_348_447_98,
];

/// R12-08 dilute-gas coefficients (Table 1).
const VISCOSITY_0: [f64; 4] = [1.67752, 2.20462, 0.6366564, -0.241605];
/// R12-08 finite-density coefficients: i, j, H_ij (Table 2).
const VISCOSITY_1: [(i32, i32, f64); 21] = [
    (0, 0, 0.520094),
    (1, 0, 0.0850895),
    (2, 0, -1.08374),
    (3, 0, -0.289555),
    (0, 1, 0.222531),
    (1, 1, 0.999115),
    (2, 1, 1.88797),
    (3, 1, 1.26613),
    (5, 1, 0.120573),
    (0, 2, -0.281378),
    (1, 2, -0.906851),
    (2, 2, -0.772479),
    (3, 2, -0.489837),
    (4, 2, -0.25704),
    (0, 3, 0.161913),
    (1, 3, 0.257399),
    (0, 4, -0.0325372),
    (3, 4, 0.0698452),
    (4, 5, 0.00872102),
    (3, 6, -0.00435673),
    (5, 6, -0.000593264),
];

/// Reduced pressure and inverse reduced temperature of region 1, and the two differences its terms are powers of.
fn reduced(temperature_c: f64, pressure_bar: f64) -> (f64, f64) {
    (pressure_bar * 0.1 / 16.53, 1386.0 / (temperature_c + KELVIN))
}

/// Density of liquid water, kg/m³, at an absolute pressure (R7-97 region 1: v = (RT/p) π γ_π).
/// Uncertainty below 0.01 % here. Finite for any finite input inside [`LOWEST_C`]..[`HIGHEST_C`] and 0.01 to 1000 bar;
/// callers clamp.
pub fn density_kg_m3(temperature_c: f64, pressure_bar: f64) -> f64 {
    let (pi, tau) = reduced(temperature_c, pressure_bar);
    let (a, b) = (7.1 - pi, tau - 1.222);
    let gamma_pi: f64 = REGION_1
        .iter()
        .filter(|(i, _, _)| *i > 0)
        .map(|&(i, j, n)| -n * f64::from(i) * a.powi(i - 1) * b.powi(j))
        .sum();
    // v = R T / p · π γ_π, with p in Pa; π/p is 1/p*.
    16.53e6 / (GAS_J_KG_K * (temperature_c + KELVIN) * gamma_pi)
}

/// Isobaric heat capacity of liquid water, J/(kg K), at an absolute pressure (R7-97 region 1: −R τ² γ_ττ).
pub fn heat_capacity_j_kg_k(temperature_c: f64, pressure_bar: f64) -> f64 {
    let (pi, tau) = reduced(temperature_c, pressure_bar);
    let (a, b) = (7.1 - pi, tau - 1.222);
    let gamma_tt: f64 = REGION_1
        .iter()
        .map(|&(i, j, n)| n * a.powi(i) * f64::from(j) * f64::from(j - 1) * b.powi(j - 2))
        .sum();
    -GAS_J_KG_K * tau * tau * gamma_tt
}

/// Viscosity, Pa s, of water at a given density (R12-08, critical term off). About 1 % uncertain in the hot liquid.
pub fn viscosity_at_density_pa_s(temperature_c: f64, density_kg_m3: f64) -> f64 {
    let t = (temperature_c + KELVIN) / 647.096;
    let d = density_kg_m3 / 322.0;
    let dilute: f64 = VISCOSITY_0.iter().zip(0..).map(|(h, i)| h / t.powi(i)).sum();
    let dense: f64 =
        VISCOSITY_1.iter().map(|&(i, j, h)| h * (1.0 / t - 1.0).powi(i) * (d - 1.0).powi(j)).sum();
    1e-6 * 100.0 * t.sqrt() / dilute * (d * dense).exp()
}

/// Viscosity of liquid water, Pa s, at an absolute pressure (R12-08 fed with the R7-97 density).
pub fn viscosity_pa_s(temperature_c: f64, pressure_bar: f64) -> f64 {
    viscosity_at_density_pa_s(temperature_c, density_kg_m3(temperature_c, pressure_bar))
}

/// Viscosity of liquid water at 0.1 MPa, Pa s: IAPWS SR6-08(2011) equation 7, a four-term form within 0.21 % of
/// [`viscosity_pa_s`] over the whole range of this module.
pub fn viscosity_short_pa_s(temperature_c: f64) -> f64 {
    let x = (temperature_c + KELVIN) / 300.0;
    1e-6 * (280.68 * x.powf(-1.9) + 511.45 * x.powf(-7.7) + 61.131 * x.powf(-19.6) + 0.45903 * x.powf(-40.0))
}

/// Vapour pressure of water, bar absolute (R7-97 region 4, equation 30).
pub fn saturation_bar(temperature_c: f64) -> f64 {
    let n = &REGION_4;
    let t = temperature_c + KELVIN;
    let theta = t + n[8] / (t - n[9]);
    let a = theta * theta + n[0] * theta + n[1];
    let b = n[2] * theta * theta + n[3] * theta + n[4];
    let c = n[5] * theta * theta + n[6] * theta + n[7];
    10.0 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4)
}

/// Boiling temperature of water, °C, at an absolute pressure (R7-97 region 4, equation 31).
pub fn boiling_c(pressure_bar: f64) -> f64 {
    let n = &REGION_4;
    let beta = (pressure_bar * 0.1).powf(0.25);
    let e = beta * beta + n[2] * beta + n[5];
    let f = n[0] * beta * beta + n[3] * beta + n[6];
    let g = n[1] * beta * beta + n[4] * beta + n[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    0.5 * (n[9] + d - ((n[9] + d).powi(2) - 4.0 * (n[8] + n[9] * d)).sqrt()) - KELVIN
}

/// Viscosity and density at one atmosphere on a fine table, for the time loop: linear between points 0.5 K apart,
/// within 3e-5 of the releases. (Twelve bar more would change density by 0.05 % and viscosity by 0.1 %.)
#[derive(Debug, Clone)]
pub struct WaterTable {
    viscosity_pa_s: [f64; WaterTable::POINTS],
    density_kg_m3: [f64; WaterTable::POINTS],
}

impl WaterTable {
    const POINTS: usize = 262;
    const PER_K: f64 = 2.0;

    /// Fills the table from the releases (about 0.3 ms; build once and keep).
    pub fn new() -> Self {
        let at = |i: usize| i as f64 / Self::PER_K;
        Self {
            viscosity_pa_s: std::array::from_fn(|i| viscosity_pa_s(at(i), ATMOSPHERE_BAR)),
            density_kg_m3: std::array::from_fn(|i| density_kg_m3(at(i), ATMOSPHERE_BAR)),
        }
    }

    fn read(table: &[f64; Self::POINTS], temperature_c: f64) -> f64 {
        let x = temperature_c.clamp(LOWEST_C, HIGHEST_C) * Self::PER_K;
        let i = (x as usize).min(Self::POINTS - 2);
        match (table.get(i), table.get(i + 1)) {
            (Some(a), Some(b)) => a + (x - i as f64) * (b - a),
            _ => 0.0,
        }
    }

    /// Viscosity, Pa s; the temperature is clamped to the range of the module.
    pub fn viscosity_pa_s(&self, temperature_c: f64) -> f64 {
        Self::read(&self.viscosity_pa_s, temperature_c)
    }

    /// Density, kg/m³; the temperature is clamped to the range of the module.
    pub fn density_kg_m3(&self, temperature_c: f64) -> f64 {
        Self::read(&self.density_kg_m3, temperature_c)
    }
}

impl Default for WaterTable {
    fn default() -> Self {
        Self::new()
    }
}
