//! The nonlinear two-population bed of Cameron et al. (Matter 2, 631, 2020): dispersion along the bed, diffusion inside
//! spheres of two sizes, and a surface rate k s (s − c)(c_sat − c). Slower than [`super::simulate`] by a factor of a
//! hundred and kept as the second opinion on its linear exchange, and for teaching.
//!
//! Finite volumes of second order in depth and radius, an L-stable two-stage implicit method of second order in time
//! (Alexander, SIAM J. Numer. Anal. 14, 1006, 1977), Newton's method on the liquid with the grains eliminated.

use super::fault::{PuckFault, within};

/// A bed full of clean water at time zero. SI units; the default is the authors' parameter file for 20 g in, 40 g out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NonlinearBed {
    /// Radius of the bed, m.
    pub radius_m: f64,
    /// Depth, m.
    pub depth_m: f64,
    /// Radii of fines and boulders, m.
    pub grain_radius_m: [f64; 2],
    /// Volume share of the fines.
    pub fines_share: f64,
    /// Grain share of the bed.
    pub grain_share: f64,
    /// Saturation of the liquid, kg/m³.
    pub saturation_kg_m3: f64,
    /// Start concentration in the grains, kg/m³.
    pub start_kg_m3: f64,
    /// Diffusivity in the grains, m²/s.
    pub diffusivity_m2_s: f64,
    /// Rate constant, m⁷/(kg² s).
    pub rate_m7_kg2_s: f64,
    /// Dispersion in units of depth² over the time of the pull.
    pub dispersion: f64,
    /// Beverage, kg, its density, kg/m³, and the time of the pull, s: they set the flow.
    pub beverage_kg: f64,
    /// Density of the beverage, kg/m³.
    pub beverage_kg_m3: f64,
    /// Time of the pull, s.
    pub pull_s: f64,
}

impl Default for NonlinearBed {
    fn default() -> Self {
        Self {
            radius_m: 0.0292,
            depth_m: 0.0187,
            grain_radius_m: [4.975e-5, 3.3541e-4],
            fines_share: 0.1624,
            grain_share: 0.8272,
            saturation_kg_m3: 212.4,
            start_kg_m3: 118.0,
            diffusivity_m2_s: 6.25e-10,
            rate_m7_kg2_s: 6e-7,
            dispersion: 0.01,
            beverage_kg: 0.040,
            beverage_kg_m3: 997.0,
            pull_s: 33.9,
        }
    }
}

/// Grid of [`NonlinearBed::solve`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NonlinearGrid {
    /// Cells in depth, 20–1000.
    pub cells: usize,
    /// Shells in each sphere, 4–200.
    pub shells: usize,
    /// Largest number of steps over the pull, 20–100000 (short first steps come on top).
    pub steps: usize,
}

impl Default for NonlinearGrid {
    fn default() -> Self {
        Self { cells: 200, shells: 48, steps: 200 }
    }
}

/// Radial system of one population: (1 + h·diffusion) s = right side, factored; the same for every depth.
struct Spheres {
    shells: usize,
    /// Below, on and above the diagonal per unit of time.
    below: Vec<f64>,
    above: Vec<f64>,
    /// Volume of each shell over that of the sphere.
    volume: Vec<f64>,
    /// Flux through the surface, per shell volume, of the outermost shell.
    surface: f64,
    /// Distance from the outermost centre to the surface over the diffusivity.
    skin: f64,
    // For the step at hand.
    factor: Vec<f64>,
    ratio: Vec<f64>,
    response: Vec<f64>,
    step: f64,
}

impl Spheres {
    fn new(radius: f64, diffusivity: f64, shells: usize) -> Self {
        // Shells crowd towards the surface.
        let edge = |k: usize| {
            let x = 1.0 - k as f64 / shells as f64;
            radius * (1.0 - x * x)
        };
        let volume = |k: usize| edge(k + 1).powi(3) - edge(k).powi(3);
        let middle = |k: usize| 0.5 * (edge(k) + edge(k + 1));
        let conduct = |k: usize| 3.0 * edge(k).powi(2) * diffusivity / (middle(k) - middle(k - 1));
        let below = (0..shells).map(|k| if k == 0 { 0.0 } else { conduct(k) / volume(k) }).collect();
        let above =
            (0..shells).map(|k| if k + 1 == shells { 0.0 } else { conduct(k + 1) / volume(k) }).collect();
        Self {
            shells,
            below,
            above,
            volume: (0..shells).map(|k| volume(k) / radius.powi(3)).collect(),
            surface: 3.0 * radius * radius / volume(shells - 1),
            skin: (radius - middle(shells - 1)) / diffusivity,
            factor: vec![0.0; shells],
            ratio: vec![0.0; shells],
            response: vec![0.0; shells],
            step: -1.0,
        }
    }

    /// Factors for a step and finds the answer of the shells to a unit surface flux.
    fn prepare(&mut self, step: f64) {
        if step == self.step {
            return;
        }
        self.step = step;
        let mut upper = 0.0;
        for (k, (below, above)) in self.below.iter().zip(&self.above).enumerate() {
            let pivot = 1.0 + step * (below + above) - step * below * upper;
            upper = step * above / pivot;
            if let (Some(f), Some(r)) = (self.factor.get_mut(k), self.ratio.get_mut(k)) {
                *f = 1.0 / pivot;
                *r = upper;
            }
        }
        let mut response = vec![0.0; self.shells];
        if let Some(last) = response.last_mut() {
            *last = step * self.surface;
        }
        self.solve(&mut response);
        self.response = response;
    }

    /// Solves in place.
    fn solve(&self, s: &mut [f64]) {
        let mut before = 0.0;
        for ((v, below), factor) in s.iter_mut().zip(&self.below).zip(&self.factor) {
            *v = (*v + self.step * below * before) * factor;
            before = *v;
        }
        let mut after = 0.0;
        for (v, ratio) in s.iter_mut().zip(&self.ratio).rev() {
            *v += ratio * after;
            after = *v;
        }
    }
}

impl NonlinearBed {
    /// Liquid share between the grains.
    pub fn liquid_share(&self) -> f64 {
        1.0 - self.grain_share
    }

    /// Darcy flux, m/s.
    pub fn flux_m_s(&self) -> f64 {
        self.beverage_kg
            / (self.beverage_kg_m3 * std::f64::consts::PI * self.radius_m * self.radius_m * self.pull_s)
    }

    fn check(&self, grid: &NonlinearGrid) -> Result<(), PuckFault> {
        within("radius_m", self.radius_m, 0.005, 0.1)?;
        within("depth_m", self.depth_m, 0.001, 0.1)?;
        within("grain_radius_m.0", self.grain_radius_m[0], 1e-6, 2e-3)?;
        within("grain_radius_m.1", self.grain_radius_m[1], 1e-6, 2e-3)?;
        within("fines_share", self.fines_share, 0.0, 1.0)?;
        within("grain_share", self.grain_share, 0.1, 0.95)?;
        within("saturation_kg_m3", self.saturation_kg_m3, 1.0, 2000.0)?;
        within("start_kg_m3", self.start_kg_m3, 1.0, 1000.0)?;
        within("start_kg_m3 against saturation", self.start_kg_m3, 1.0, self.saturation_kg_m3)?;
        within("diffusivity_m2_s", self.diffusivity_m2_s, 1e-13, 1e-8)?;
        within("rate_m7_kg2_s", self.rate_m7_kg2_s, 1e-10, 1e-2)?;
        within("dispersion", self.dispersion, 1e-4, 1.0)?;
        within("beverage_kg", self.beverage_kg, 1e-3, 1.0)?;
        within("beverage_kg_m3", self.beverage_kg_m3, 900.0, 1200.0)?;
        within("pull_s", self.pull_s, 1.0, 600.0)?;
        within("grid.cells", grid.cells as f64, 20.0, 1000.0)?;
        within("grid.shells", grid.shells as f64, 4.0, 200.0)?;
        within("grid.steps", grid.steps as f64, 20.0, 1e5)
    }

    /// Outlet concentration, kg/m³, and share of the initial solubles in the cup at each of `times_s` (rising), and the
    /// bookkeeping error as a share of the initial solubles.
    ///
    /// # Errors
    /// Numbers out of range, named.
    pub fn solve(&self, times_s: &[f64], grid: &NonlinearGrid) -> Result<(Vec<(f64, f64)>, f64), PuckFault> {
        self.check(grid)?;
        let n = grid.cells;
        let mut spheres = self.grain_radius_m.map(|a| Spheres::new(a, self.diffusivity_m2_s, grid.shells));
        let mut now = State {
            liquid: vec![0.0; n],
            grains: std::array::from_fn(|_| vec![self.start_kg_m3; n * grid.shells]),
            cup: 0.0,
        };
        let initial = self.start_kg_m3 * self.grain_share * self.depth_m;
        let largest = self.pull_s / grid.steps as f64;
        let (mut t, mut h) = (0.0, largest * 1e-4);
        let mut answers = Vec::with_capacity(times_s.len());
        let gamma = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
        let (mut stage, mut base) = (now.clone(), now.clone());
        for &want in times_s {
            within("times_s", want, t, 10.0 * self.pull_s)?;
            while t < want - 1e-12 {
                let step = h.min(want - t);
                stage.copy(&now);
                self.implicit(&now, &mut stage, &mut spheres, gamma * step);
                // now + (1 − γ)/γ (stage − now)
                base.blend(&now, &stage, (1.0 - gamma) / gamma);
                self.implicit(&base, &mut stage, &mut spheres, gamma * step);
                now.copy(&stage);
                t += step;
                h = (h * 1.25).min(largest);
            }
            answers.push((now.liquid.last().copied().unwrap_or(0.0), now.cup / initial));
        }
        let dz = self.depth_m / n as f64;
        let mut held: f64 = now.liquid.iter().sum::<f64>() * dz * self.liquid_share();
        for (i, (s, sphere)) in now.grains.iter().zip(&spheres).enumerate() {
            let share = if i == 0 { self.fines_share } else { 1.0 - self.fines_share } * self.grain_share;
            held += s
                .chunks_exact(grid.shells)
                .map(|cell| cell.iter().zip(&sphere.volume).map(|(s, v)| s * v).sum::<f64>())
                .sum::<f64>()
                * share
                * dz;
        }
        Ok((answers, (held + now.cup - initial) / initial))
    }

    /// One implicit stage: `to` = `from` + h f(`to`).
    fn implicit(&self, from: &State, to: &mut State, spheres: &mut [Spheres; 2], h: f64) {
        let n = from.liquid.len();
        let dz = self.depth_m / n as f64;
        let eps = self.liquid_share();
        let q = self.flux_m_s();
        let d = self.dispersion * self.depth_m * self.depth_m / self.pull_s;
        // Area of grain surface per bed volume.
        let area = [
            3.0 * self.fines_share * self.grain_share / self.grain_radius_m[0],
            3.0 * (1.0 - self.fines_share) * self.grain_share / self.grain_radius_m[1],
        ];
        // Grains without surface flux, and their surface's answer to one.
        let mut alpha = [vec![0.0; n], vec![0.0; n]];
        let mut answer = [0.0; 2];
        for (p, sphere) in spheres.iter_mut().enumerate() {
            sphere.prepare(h);
            to.grains[p].copy_from_slice(&from.grains[p]);
            for (cell, a) in to.grains[p].chunks_exact_mut(sphere.shells).zip(&mut alpha[p]) {
                sphere.solve(cell);
                *a = cell.last().copied().unwrap_or(0.0);
            }
            answer[p] = sphere.response.last().copied().unwrap_or(0.0) + sphere.skin;
        }
        let flux = |p: usize, alpha: f64, c: f64| -> (f64, f64) {
            // κ s² + (1 − κ c) s − α = 0 with κ = answer · k (c_sat − c).
            let rate = answer[p] * self.rate_m7_kg2_s;
            let kappa = rate * (self.saturation_kg_m3 - c);
            let b = 1.0 - kappa * c;
            let root = (b * b + 4.0 * kappa * alpha).max(0.0).sqrt();
            let s = if kappa > 1e-12 { (root - b) / (2.0 * kappa) } else { alpha };
            let slope_c = -rate * s * s + rate * c * s - kappa * s;
            let slope_s = 2.0 * kappa * s + b;
            ((alpha - s) / answer[p], slope_c / slope_s / answer[p])
        };
        // Newton on the liquid: a tridiagonal system a round.
        let (mut low, mut mid, mut up, mut res) = (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        to.liquid.copy_from_slice(&from.liquid);
        for _ in 0..20 {
            let c = &to.liquid;
            for i in 0..n {
                let (g0, d0) = flux(0, alpha[0][i], c[i]);
                let (g1, d1) = flux(1, alpha[1][i], c[i]);
                let inflow =
                    if i == 0 { 0.0 } else { 0.5 * q * (c[i - 1] + c[i]) - d * (c[i] - c[i - 1]) / dz };
                let outflow = if i + 1 == n {
                    q * c[i]
                } else {
                    0.5 * q * (c[i] + c[i + 1]) - d * (c[i + 1] - c[i]) / dz
                };
                res[i] = eps * (c[i] - from.liquid[i])
                    - h * ((inflow - outflow) / dz + area[0] * g0 + area[1] * g1);
                low[i] = if i == 0 { 0.0 } else { -h * (0.5 * q + d / dz) / dz };
                up[i] = if i + 1 == n { 0.0 } else { h * (0.5 * q - d / dz) / dz };
                let own_in = if i == 0 { 0.0 } else { 0.5 * q - d / dz };
                let own_out = if i + 1 == n { q } else { 0.5 * q + d / dz };
                mid[i] = eps - h * ((own_in - own_out) / dz + area[0] * d0 + area[1] * d1);
            }
            // Thomas.
            for i in 1..n {
                let f = low[i] / mid[i - 1];
                mid[i] -= f * up[i - 1];
                res[i] -= f * res[i - 1];
            }
            let mut largest = 0.0_f64;
            let mut after = 0.0;
            for i in (0..n).rev() {
                let step = (res[i] - up[i] * after) / mid[i];
                after = step;
                let c = (to.liquid[i] - step).clamp(0.0, self.saturation_kg_m3);
                largest = largest.max((c - to.liquid[i]).abs());
                to.liquid[i] = c;
            }
            if largest < 1e-11 * self.saturation_kg_m3 {
                break;
            }
        }
        for (p, sphere) in spheres.iter().enumerate() {
            for (i, cell) in to.grains[p].chunks_exact_mut(sphere.shells).enumerate() {
                let g = flux(p, alpha[p][i], to.liquid[i]).0;
                for (s, r) in cell.iter_mut().zip(&sphere.response) {
                    *s -= g * r;
                }
            }
        }
        to.cup = from.cup + h * q * to.liquid.last().copied().unwrap_or(0.0);
    }
}

/// Liquid per cell, grains per cell and shell, and the cup's solubles per bed area.
#[derive(Debug, Clone)]
struct State {
    liquid: Vec<f64>,
    grains: [Vec<f64>; 2],
    cup: f64,
}

impl State {
    fn copy(&mut self, other: &Self) {
        self.liquid.copy_from_slice(&other.liquid);
        for (a, b) in self.grains.iter_mut().zip(&other.grains) {
            a.copy_from_slice(b);
        }
        self.cup = other.cup;
    }

    /// a + w (b − a)
    fn blend(&mut self, a: &Self, b: &Self, w: f64) {
        let mix = |x: f64, y: f64| x + w * (y - x);
        for ((o, x), y) in self.liquid.iter_mut().zip(&a.liquid).zip(&b.liquid) {
            *o = mix(*x, *y);
        }
        for ((o, x), y) in self.grains.iter_mut().zip(&a.grains).zip(&b.grains) {
            for ((o, x), y) in o.iter_mut().zip(x).zip(y) {
                *o = mix(*x, *y);
            }
        }
        self.cup = mix(a.cup, b.cup);
    }
}
