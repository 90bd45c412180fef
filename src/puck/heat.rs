//! Heat in the puck: one temperature at each depth for water and grains together.

use super::bed::Puck;
use super::water::{ATMOSPHERE_BAR, WaterTable, density_kg_m3, heat_capacity_j_kg_k};

/// Depth cells for heat.
pub(crate) const HEAT_CELLS: usize = 20;

/// Temperatures at [`HEAT_CELLS`] depths. Water that enters a cell first fills its pores, then pushes on at the cell's
/// mixed temperature (implicit, so any step is stable and the energy that enters is the energy found).
#[derive(Debug, Clone)]
pub(crate) struct HeatField {
    temperature_c: [f64; HEAT_CELLS],
    /// Water in each cell, share of its pores.
    wet: [f64; HEAT_CELLS],
    /// Heat capacity of the grains of a cell over that of the water that fills its pores.
    grains: f64,
    /// Exchange with the basket, per second, in units of the pores' heat capacity.
    basket_per_s: f64,
    basket_c: f64,
}

impl HeatField {
    pub(crate) fn new(puck: &Puck) -> Self {
        let spec = puck.spec();
        // Heat capacity of the water in the pores at a usual brew temperature, J/K.
        let pores = puck.pore_volume_m3()
            * density_kg_m3(90.0, ATMOSPHERE_BAR)
            * heat_capacity_j_kg_k(90.0, ATMOSPHERE_BAR);
        Self {
            temperature_c: [spec.heat.start_c; HEAT_CELLS],
            wet: [0.0; HEAT_CELLS],
            grains: spec.dose_g * 1e-3 * spec.heat.coffee_j_kg_k / pores,
            basket_per_s: spec.heat.basket_w_k / pores,
            basket_c: spec.heat.basket_c,
        }
    }

    /// Lets `pore_volumes` of water at `water_c` enter during `step_s`.
    pub(crate) fn advance(&mut self, pore_volumes: f64, water_c: f64, step_s: f64) {
        let mut inflow = pore_volumes * HEAT_CELLS as f64;
        let mut inflow_c = water_c;
        let wall = self.basket_per_s * step_s;
        for (t, wet) in self.temperature_c.iter_mut().zip(&mut self.wet) {
            let capacity = self.grains + *wet;
            // The reciprocal does not wait for the cell above.
            let share = 1.0 / (capacity + inflow + wall);
            *t = (capacity * *t + inflow * inflow_c + wall * self.basket_c) * share;
            let stays = inflow.min(1.0 - *wet);
            *wet = (*wet + stays).min(1.0);
            inflow = (inflow - stays).max(0.0);
            inflow_c = *t;
        }
    }

    /// Temperatures from the top down, °C.
    pub(crate) fn by_depth(&self) -> &[f64] {
        &self.temperature_c
    }

    /// Temperature of the liquid leaving the bed, °C.
    pub(crate) fn exit_c(&self) -> f64 {
        self.temperature_c.last().copied().unwrap_or(0.0)
    }

    /// Means over the wetted depth: viscosity, Pa s, and temperature, °C. Before any water, those of the top cell.
    pub(crate) fn wetted_means(&self, water: &WaterTable) -> (f64, f64) {
        let (mut viscosity, mut temperature, mut depth) = (0.0, 0.0, 0.0);
        for (t, wet) in self.temperature_c.iter().zip(&self.wet) {
            if *wet <= 0.0 && depth > 0.0 {
                break;
            }
            let share = wet.max(1e-9);
            viscosity += share * water.viscosity_pa_s(*t);
            temperature += share * t;
            depth += share;
        }
        (viscosity / depth, temperature / depth)
    }

    /// Mean temperature of water and grains, weighted by heat capacity, °C.
    pub(crate) fn mixed_c(&self) -> f64 {
        let (mut heat, mut capacity) = (0.0, 0.0);
        for (t, wet) in self.temperature_c.iter().zip(&self.wet) {
            heat += (self.grains + wet) * t;
            capacity += self.grains + wet;
        }
        heat / capacity
    }
}
