//! How the permeability of wet coffee follows pressure, dissolution, swelling and moving fines.

use super::bed::FlowLaw;

/// P·ψ(P/P_ref): the pressure that still drives flow when the bed is squeezed elastically, bar. Rises with P up to
/// P_ref/4 and stays there (Waszkiewicz et al. 2026, small porosity). The gain per bar falls all the way.
pub fn squeezed_bar(pressure_bar: f64, squeeze_bar: f64) -> f64 {
    let p = (pressure_bar / squeeze_bar).clamp(0.0, 1.0);
    let rest = (1.0 - p) * (1.0 - p);
    0.25 * squeeze_bar * (1.0 - rest * rest)
}

/// Q/Q_ref of the same law at any porosity: h(p)/h(1), h(p) = ∫₀ᵖ (1−s)³/(1−Φ s) ds, `p` = P/P_ref; 1 beyond p = 1.
/// Closed form for Φ above 0.02, series below (each good to 1e-9).
pub fn poroelastic_flow_ratio(p: f64, porosity: f64) -> f64 {
    let h = |p: f64| -> f64 {
        let f = porosity;
        if f < 0.02 {
            // Σ Φᵐ ∫ sᵐ (1−s)³ ds, term by term.
            let mut sum = 0.0;
            let mut power = 1.0;
            for m in 0..8 {
                let m = f64::from(m);
                let i = |k: f64| p.powf(m + k) / (m + k);
                sum += power * (i(1.0) - 3.0 * i(2.0) + 3.0 * i(3.0) - i(4.0));
                power *= f;
            }
            return sum;
        }
        // With u = 1 − Φ s: (1−s)³ = ((u − g)/Φ)³, g = 1 − Φ.
        let g = 1.0 - f;
        let u = 1.0 - f * p;
        let part = |u: f64| u * u * u / 3.0 - 1.5 * g * u * u + 3.0 * g * g * u - g * g * g * u.ln();
        (part(1.0) - part(u)) / f.powi(4)
    };
    if p >= 1.0 { 1.0 } else { h(p.max(0.0)) / h(1.0) }
}

/// What the resistance of one path depends on besides the pressure of the moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WetState {
    /// Share of the solubles that have left the grains.
    pub(crate) dissolved: f64,
    /// Greatest stress that the grains have borne, bar.
    pub(crate) packed_bar: f64,
    /// Time since water reached this path, s.
    pub(crate) wet_s: f64,
    /// Pore volumes that have run through after the first drip.
    pub(crate) washed: f64,
}

/// Permeability over k₀ without the elastic squeeze, and the P_ref of the squeeze, bar.
#[inline]
pub(crate) fn openness(law: &FlowLaw, state: &WetState) -> (f64, f64) {
    let packing = if law.packing_share > 0.0 {
        law.packing_share * (1.0 - (-state.packed_bar / law.packing_bar).exp())
    } else {
        0.0
    };
    let opened = if law.opening_bar > 0.0 {
        let stress = state.packed_bar / law.opening_bar;
        1.0 - (-stress * stress).exp()
    } else {
        1.0
    };
    let porosity = law.porosity * (1.0 - packing)
        + law.porosity_gain * opened * state.dissolved * (1.0 - packing * law.packing_of_gain);
    // Both at once: κ(φ)/κ(φ₀).
    let (ratio, solid) = (porosity / law.porosity, (1.0 - law.porosity) / (1.0 - porosity));
    let mut open = ratio * ratio * ratio * solid * solid;
    if law.swelling_share > 0.0 {
        open *= 1.0 - law.swelling_share * (1.0 - (-state.wet_s / law.swelling_time_s).exp());
    }
    if law.silting_share > 0.0 {
        open *= 1.0 - law.silting_share * (1.0 - (-state.washed / law.silting_pore_volumes).exp());
    }
    let squeeze = if law.squeeze_follows_porosity > 0.0 {
        (law.squeeze_bar * (porosity / law.porosity).powf(law.squeeze_follows_porosity)).max(1e-3)
    } else {
        law.squeeze_bar
    };
    (open, squeeze)
}

/// Time for the wetting front to reach a depth, s, at constant pressure and permeability, with a series resistance:
/// t = μ ε/(P + P_cap) · (s²/(2k) + R A s/μ). SI units throughout; Pa s/m³ for the resistance.
#[allow(clippy::too_many_arguments)]
pub fn wetting_time_s(
    depth_m: f64,
    permeability_m2: f64,
    liquid_share: f64,
    viscosity_pa_s: f64,
    pressure_pa: f64,
    suction_pa: f64,
    area_m2: f64,
    series_pa_s_m3: f64,
) -> f64 {
    viscosity_pa_s * liquid_share / (pressure_pa + suction_pa)
        * (depth_m * depth_m / (2.0 * permeability_m2) + series_pa_s_m3 * area_m2 * depth_m / viscosity_pa_s)
}

/// Steady flow through a wet bed, m³/s, behind a series resistance: Q = P/(μ L/(k A) + R).
pub fn steady_flow_m3_s(
    depth_m: f64,
    permeability_m2: f64,
    viscosity_pa_s: f64,
    pressure_pa: f64,
    area_m2: f64,
    series_pa_s_m3: f64,
) -> f64 {
    pressure_pa / (viscosity_pa_s * depth_m / (permeability_m2 * area_m2) + series_pa_s_m3)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values computed independently for the reference note (quadrature of h).
    #[test]
    fn poroelastic_check_values() {
        for (f, p, want) in [
            (0.122, 0.5, 0.93423),
            (0.2, 0.9, 0.999882),
            (0.5, 0.3, 0.723902),
            (0.0, 0.5, 0.9375),
            (0.0, 0.9, 0.9999),
            (0.0, 0.3, 0.7599),
        ] {
            let got = poroelastic_flow_ratio(p, f);
            assert!((got - want).abs() < 6e-6, "{f} {p}: {got} {want}");
        }
        // The closed form meets the series where they change over.
        let (a, b) = (poroelastic_flow_ratio(0.4, 0.019_999_9), poroelastic_flow_ratio(0.4, 0.020_000_1));
        assert!((a - b).abs() < 1e-7);
        // The form used in the time loop is the limit of small porosity.
        let psi = squeezed_bar(4.0, 10.0) / squeezed_bar(10.0, 10.0);
        assert!((psi - poroelastic_flow_ratio(0.4, 0.0)).abs() < 1e-12);
    }
}
