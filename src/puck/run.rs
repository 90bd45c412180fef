//! The time loop of one pull.

use super::bed::{NO_SATURATION_KG_M3, Puck};
use super::column::{BLOCK, ClassStart, MOST_POOLS};
use super::drive::Drive;
use super::fault::{PuckFault, within};
use super::film::{Picture, TubePicture};
use super::grains::Grains;
use super::heat::HeatField;
use super::outcome::{ClassLedger, Condition, PullTrace, WaterLedger};
use super::pools::{Pool, pools_of, reduce};
use super::resistance::{WetState, openness};
use super::solute::{MOST_SOLUTES, Solute};
use super::streamtube::{Tube, when};
use super::tubes::{Path, cut, order};
use super::water::WaterTable;
use crate::maths::root::rising_root;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// How finely a pull is computed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Cells in depth, 4–400, rounded up to a multiple of four.
    pub cells: usize,
    /// Streamtubes that stand for the spread of permeability, 1–64; an even bed uses one.
    pub tubes: usize,
    /// First-order pools per class, 1–9.
    pub pools: usize,
    /// Time step of hydraulics and heat, and sampling of the trace, s, 0.005–1.
    pub step_s: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self { cells: 32, tubes: 12, pools: 5, step_s: 0.1 }
    }
}

impl Settings {
    /// Refuses values outside the ranges given with each field.
    ///
    /// # Errors
    /// [`PuckFault::OutOfRange`] names the field.
    pub fn check(&self) -> Result<(), PuckFault> {
        within("settings.cells", self.cells as f64, 4.0, 400.0)?;
        within("settings.tubes", self.tubes as f64, 1.0, 64.0)?;
        within("settings.pools", self.pools as f64, 1.0, MOST_POOLS as f64)?;
        within("settings.step_s", self.step_s, 0.005, 1.0)
    }
}

/// A pull in progress. It can be cloned at any moment and both copies carried on: that is a restart. Keeps its memory
/// for the next pull, so a loop over many pulls does not allocate.
#[derive(Debug, Clone, Default)]
pub struct Run {
    settings: Settings,
    tubes: Vec<Tube>,
    heat: Option<HeatField>,
    time_s: f64,
    headspace_ml: f64,
    pumped_ml: f64,
    bed_bar: f64,
    pore_ml: f64,
    first_drip_s: Option<f64>,
    done: bool,
    reached_yield: bool,
    pressure_cursor: usize,
    flow_cursor: usize,
    temperature_cursor: usize,
    rate_factors: [f64; MOST_SOLUTES],
    rate_factors_at_c: f64,
    // Samples.
    times_s: Vec<f64>,
    heads_bar: Vec<f64>,
    beds_bar: Vec<f64>,
    inflows_ml: Vec<f64>,
    cups_g: Vec<f64>,
    exits_c: Vec<f64>,
    solutes_g: [Vec<f64>; MOST_SOLUTES],
    /// Water entered, tube by tube, `samples` apart.
    entered: Vec<f64>,
    samples: usize,
    solubles_g: f64,
    /// Pools of each class, and what they were made for.
    pools: Vec<Vec<Pool>>,
    pools_for: Option<((Grains, usize, usize), Vec<Solute>)>,
}

fn water_table() -> &'static WaterTable {
    static TABLE: OnceLock<WaterTable> = OnceLock::new();
    TABLE.get_or_init(WaterTable::new)
}

/// Simulates a pull: a pure function of its three arguments.
///
/// # Errors
/// Settings out of range ([`PuckFault::OutOfRange`]); puck and drive were checked when they were made.
pub fn simulate(puck: &Puck, drive: &Drive, settings: &Settings) -> Result<PullTrace, PuckFault> {
    simulate_in(&mut Run::default(), puck, drive, settings)
}

/// As [`simulate`], in memory kept from an earlier pull.
///
/// # Errors
/// As [`simulate`].
pub fn simulate_in(
    run: &mut Run,
    puck: &Puck,
    drive: &Drive,
    settings: &Settings,
) -> Result<PullTrace, PuckFault> {
    run.begin(puck, drive, settings)?;
    while run.step(puck, drive) {}
    Ok(run.finish(puck))
}

impl Run {
    /// Prepares a pull; everything that the time loop needs is allocated here.
    ///
    /// # Errors
    /// Settings out of range.
    pub fn begin(&mut self, puck: &Puck, drive: &Drive, settings: &Settings) -> Result<(), PuckFault> {
        settings.check()?;
        let paths = cut(&puck.spec().unevenness, settings.tubes);
        self.begin_with(puck, drive, settings, &paths)
    }

    /// As [`Run::begin`] with the paths given instead of cut from the puck's spread.
    ///
    /// # Errors
    /// Settings out of range; no path, more than 80, or a path with a non-positive area or conductance.
    pub fn begin_with(
        &mut self,
        puck: &Puck,
        drive: &Drive,
        settings: &Settings,
        paths: &[Path],
    ) -> Result<(), PuckFault> {
        settings.check()?;
        within("paths", paths.len() as f64, 1.0, 80.0)?;
        for p in paths {
            within("paths.area_share", p.area_share, 1e-12, 1.0)?;
            within("paths.conductance", p.conductance, 1e-6, 1e6)?;
        }
        let mut paths = paths.to_vec();
        order(&mut paths);
        let spec = puck.spec();
        self.settings = Settings { cells: settings.cells.div_ceil(BLOCK) * BLOCK, ..*settings };
        self.pore_ml = puck.pore_volume_m3() * 1e6;
        self.solubles_g = puck.solubles_g();
        // Pools are worth keeping: a loop over pulls seldom changes grains and classes.
        let key = (spec.grains, settings.pools, settings.cells);
        if self.pools_for.as_ref().is_none_or(|(k, solutes)| *k != key || *solutes != spec.solutes) {
            self.pools = spec
                .solutes
                .iter()
                .map(|s| reduce(pools_of(s, puck), settings.pools, 0.25 / settings.cells as f64))
                .collect();
            self.pools_for = Some((key, spec.solutes.clone()));
        }
        let starts: Vec<ClassStart> = spec
            .solutes
            .iter()
            .zip(&self.pools)
            .map(|(s, pools)| class_start(pools, spec.dose_g * s.share, s.capacity()))
            .collect();
        self.tubes.resize_with(paths.len(), Tube::default);
        for (tube, path) in self.tubes.iter_mut().zip(&paths) {
            let mut column = std::mem::take(&mut tube.column);
            column.fill(self.settings.cells, &starts);
            if spec.saturation_kg_m3 < NO_SATURATION_KG_M3 {
                column.saturate_at(spec.saturation_kg_m3 * 1e-3 * self.pore_ml);
            }
            *tube = Tube {
                area_share: path.area_share,
                conductance: path.conductance,
                channel: path.channel,
                column,
                ..Tube::default()
            };
        }
        self.heat = Some(HeatField::new(puck));
        self.time_s = 0.0;
        self.headspace_ml = 0.0;
        self.pumped_ml = 0.0;
        self.bed_bar = 0.0;
        self.first_drip_s = None;
        self.done = false;
        self.reached_yield = false;
        self.pressure_cursor = 0;
        self.flow_cursor = 0;
        self.temperature_cursor = 0;
        self.rate_factors_at_c = f64::NAN;
        // Whole steps, one more for the last part of a step, and one for the sample at time zero.
        self.samples = (drive.spec().duration_s / settings.step_s).ceil() as usize + 2;
        for series in [
            &mut self.times_s,
            &mut self.heads_bar,
            &mut self.beds_bar,
            &mut self.inflows_ml,
            &mut self.cups_g,
            &mut self.exits_c,
        ] {
            series.clear();
            series.reserve(self.samples);
        }
        for series in &mut self.solutes_g {
            series.clear();
            series.resize(self.samples, 0.0);
        }
        self.entered.clear();
        self.entered.resize(self.samples * self.tubes.len(), 0.0);
        let start_c = spec.heat.start_c;
        self.record(0.0, 0.0, 0.0, 0.0, start_c);
        Ok(())
    }

    /// Time reached, s.
    pub fn time_s(&self) -> f64 {
        self.time_s
    }

    /// Beverage in the cup so far, g.
    pub fn cup_g(&self) -> f64 {
        self.cups_g.last().copied().unwrap_or(0.0)
    }

    /// Pressure above the bed during the last step, bar.
    pub fn bed_bar(&self) -> f64 {
        self.bed_bar
    }

    /// The inside of the puck at this moment. Made on request only; a run that nobody looks into pays nothing.
    pub fn picture(&self, puck: &Puck) -> Picture {
        let spec = puck.spec();
        let (cells, classes) = (self.settings.cells, spec.solutes.len());
        let whole: f64 = self.tubes.iter().map(|t| t.area_share * t.intake.0).sum();
        let last_s = match self.times_s.as_slice() {
            [.., before, now] => now - before,
            _ => 0.0,
        };
        let tubes = self
            .tubes
            .iter()
            .map(|t| TubePicture {
                area_share: t.area_share,
                conductance: t.conductance,
                channel: t.channel,
                opening: t
                    .channel
                    .and_then(|c| spec.unevenness.channels.get(c))
                    .map_or(1.0, |c| c.factor(self.time_s)),
                front: t.entered.min(1.0),
                flow_share: if whole > 0.0 { t.area_share * t.intake.0 / whole } else { 0.0 },
                flux_mm_s: if last_s > 0.0 {
                    t.intake.0 * spec.liquid_share * puck.depth_m() * 1e3 / last_s
                } else {
                    0.0
                },
                dissolved: t.dissolved,
            })
            .collect();
        let mut picture = Picture {
            time_s: self.time_s,
            cells,
            classes: spec.solutes.iter().map(|s| s.name.clone()).collect(),
            start_g: spec.solutes.iter().map(|s| spec.dose_g * s.share).collect(),
            pore_ml: self.pore_ml,
            tubes,
            liquid_kg_m3: Vec::with_capacity(classes * self.tubes.len() * cells),
            remaining: Vec::with_capacity(classes * self.tubes.len() * cells),
            leaving_g: vec![0.0; classes],
            cup_g: vec![0.0; classes],
            temperature_c: self.heat.as_ref().map_or_else(Vec::new, |h| h.by_depth().to_vec()),
        };
        let many = cells as f64;
        let each = picture.start_g.iter().zip(&mut picture.leaving_g).zip(&mut picture.cup_g);
        for (l, ((start_g, leaving), cup)) in each.enumerate() {
            for tube in &self.tubes {
                let (grains, water) = tube.column.by_depth(l);
                picture
                    .remaining
                    .extend(grains.iter().map(|g| if *start_g > 0.0 { g / start_g } else { 0.0 }));
                picture.liquid_kg_m3.extend(water.iter().map(|w| w / self.pore_ml * 1e3));
                *leaving += tube.area_share * tube.held(l, many);
                if tube.entered > 1.0 {
                    *cup += tube.area_share * tube.fallen(l, tube.entered, tube.known_until(many), many);
                }
            }
        }
        picture
    }

    /// Takes one time step; false when the pull is over. The drive may differ from step to step (a lever moved by hand)
    /// as long as its duration does not grow beyond the one given to [`Run::begin`].
    pub fn step(&mut self, puck: &Puck, drive: &Drive) -> bool {
        let Some(mut heat) = self.heat.take() else { return false };
        let more = self.step_with(puck, drive, &mut heat);
        self.heat = Some(heat);
        more
    }

    fn step_with(&mut self, puck: &Puck, drive: &Drive, heat: &mut HeatField) -> bool {
        let asked = drive.spec();
        if self.done || self.times_s.len() >= self.samples || self.time_s >= asked.duration_s - 1e-9 {
            self.done = true;
            return false;
        }
        let spec = puck.spec();
        let from_s = self.time_s;
        let mut step_s = self.settings.step_s.min(asked.duration_s - from_s);
        let set_bar = asked.pressure_bar.mean(from_s, from_s + step_s, &mut self.pressure_cursor);
        let ceiling_ml_s = asked
            .flow_ml_s
            .as_ref()
            .map_or(f64::INFINITY, |f| f.mean(from_s, from_s + step_s, &mut self.flow_cursor));
        let water_c = asked.temperature_c.mean(from_s, from_s + step_s, &mut self.temperature_cursor);
        let water = water_table();
        let density_g_ml = water.density_kg_m3(water_c) * 1e-3;

        // The empty space above the bed fills first, without pressure.
        let mut head_s = 0.0;
        if self.headspace_ml < spec.headspace_ml {
            let rate = ceiling_ml_s.min(asked.machine.pump_free_ml_s).max(0.0);
            let needs = spec.headspace_ml - self.headspace_ml;
            let takes = (rate * step_s).min(if set_bar > 0.0 { needs } else { 0.0 });
            head_s = if takes < needs || rate <= 0.0 { step_s } else { needs / rate };
            self.headspace_ml = if head_s < step_s { spec.headspace_ml } else { self.headspace_ml + takes };
            self.pumped_ml += takes;
        }
        let bed_s = (step_s - head_s).max(0.0);
        let (viscosity, wet_c) = heat.wetted_means(water);
        if wet_c != self.rate_factors_at_c {
            for (f, s) in self.rate_factors.iter_mut().zip(&spec.solutes) {
                *f = s.rate_factor(wet_c);
            }
            self.rate_factors_at_c = wet_c;
        }

        // Permeability of every tube half way through the step.
        let depth = puck.depth_m();
        let middle_s = from_s + head_s + 0.5 * bed_s;
        let unit = spec.flow.permeability_m2 * 1e5 / (viscosity * spec.liquid_share * depth * depth);
        for tube in &mut self.tubes {
            let ahead = tube.dissolved_rate * (middle_s - tube.last_mark_s).max(0.0);
            let state = WetState {
                dissolved: (tube.dissolved + ahead).clamp(0.0, 1.0),
                packed_bar: tube.packed_bar,
                wet_s: middle_s,
                washed: (tube.entered - 1.0).max(0.0),
            };
            let (open, squeeze_bar) = openness(&spec.flow, &state);
            let cracked = tube
                .channel
                .and_then(|c| spec.unevenness.channels.get(c))
                .map_or(1.0, |c| c.factor(middle_s));
            tube.per_bar = unit * tube.conductance * open * cracked;
            tube.squeeze_bar = squeeze_bar;
        }

        // Pressure on the bed: as high as pressure set, flow ceiling and pump allow.
        let inertia = spec.flow.inertia_mm_s * 1e-3 / (spec.liquid_share * depth);
        let (tubes, pore_ml, suction) = (&self.tubes, self.pore_ml, spec.flow.suction_bar);
        let inflow_ml = |bed_bar: f64| -> f64 {
            tubes.iter().map(|t| t.area_share * t.takes(bed_bar, suction, bed_s, inertia).0).sum::<f64>()
                * pore_ml
        };
        let free = asked.machine.is_ideal() && ceiling_ml_s.is_infinite();
        let bed_bar = if bed_s <= 0.0 {
            0.0
        } else if free {
            set_bar
        } else {
            let machine = &asked.machine;
            let excess = |bed_bar: f64| {
                let flow = inflow_ml(bed_bar) / bed_s;
                let head_bar = bed_bar + machine.loss(flow);
                (head_bar - set_bar).max(flow - ceiling_ml_s).max(flow - machine.pump_limit_ml_s(head_bar))
            };
            rising_root(0.0, set_bar, self.bed_bar, 1e-9, excess)
        };
        self.bed_bar = bed_bar;

        // Stop exactly at the mass asked for.
        let cup_before = self.cup_g();
        let mut cup_ml = 0.0;
        let mut entered_ml = 0.0;
        for tube in &mut self.tubes {
            tube.intake = tube.takes(bed_bar, suction, bed_s, inertia);
            let intake = tube.intake.0;
            cup_ml +=
                tube.area_share * ((tube.entered + intake - 1.0).max(0.0) - (tube.entered - 1.0).max(0.0));
            entered_ml += tube.area_share * intake;
        }
        cup_ml *= pore_ml;
        entered_ml *= pore_ml;
        let mut share = 1.0;
        if let Some(stop_g) = asked.stop_at_g
            && cup_before + cup_ml * density_g_ml >= stop_g
        {
            // Within a step the cup grows almost linearly once it drips.
            share = ((stop_g - cup_before) / (cup_ml * density_g_ml)).clamp(0.0, 1.0);
            self.done = true;
            self.reached_yield = true;
        }
        let taken_s = bed_s * share;
        step_s = head_s + taken_s;

        // Move the water and let it dissolve.
        let until_s = from_s + step_s;
        let begin_s = from_s + head_s;
        let sample = self.times_s.len();
        let cells = self.settings.cells as f64;
        for (n, tube) in self.tubes.iter_mut().enumerate() {
            let (intake, fill_s) = tube.intake;
            let before = tube.entered;
            let after = before + share * intake;
            if before < 1.0 && after >= 1.0 {
                let drip_s = begin_s + (fill_s * share).min(taken_s);
                self.first_drip_s = Some(self.first_drip_s.map_or(drip_s, |t| t.min(drip_s)));
            }
            let stress = if after < 1.0 || before < 1.0 { bed_bar } else { 0.5 * bed_bar };
            tube.packed_bar = tube.packed_bar.max(stress);
            tube.entered = after;
            loop {
                let mark = (tube.marks as f64 + 0.5) / cells;
                if mark > after {
                    break;
                }
                let mark_s = begin_s + taken_s * when(before, after, mark);
                tube.pass_mark(mark_s, cells, &self.rate_factors, self.solubles_g);
                tube.settle(n, self.samples, &self.entered, sample, cells, &mut self.solutes_g);
            }
            if let Some(e) = self.entered.get_mut(n * self.samples + sample) {
                *e = after;
            }
            tube.settle(n, self.samples, &self.entered, sample + 1, cells, &mut self.solutes_g);
        }
        heat.advance(share * entered_ml / pore_ml, water_c, step_s);
        self.pumped_ml += share * entered_ml;
        self.time_s = until_s;
        let head_bar =
            if taken_s > 0.0 { bed_bar + asked.machine.loss(share * entered_ml / taken_s) } else { 0.0 };
        self.record(
            head_bar.min(set_bar.max(0.0)),
            bed_bar,
            share * entered_ml,
            cup_before + share * cup_ml * density_g_ml,
            heat.exit_c(),
        );
        !self.done
    }

    fn record(&mut self, head_bar: f64, bed_bar: f64, inflow_ml: f64, cup_g: f64, exit_c: f64) {
        self.times_s.push(self.time_s);
        self.heads_bar.push(head_bar);
        self.beds_bar.push(bed_bar);
        self.inflows_ml.push(inflow_ml);
        self.cups_g.push(cup_g);
        self.exits_c.push(exit_c);
    }

    /// Closes the books and hands out the trace. May be called at any moment; the run can go on afterwards only from a
    /// clone taken before.
    pub fn finish(&mut self, puck: &Puck) -> PullTrace {
        let spec = puck.spec();
        let cells = self.settings.cells as f64;
        let count = self.times_s.len();
        let classes = spec.solutes.len();
        for (n, tube) in self.tubes.iter_mut().enumerate() {
            tube.settle_rest(n, self.samples, &self.entered, count, cells, &mut self.solutes_g);
        }
        let last = count.saturating_sub(1);
        let cup_of = |l: usize| self.solutes_g.get(l).and_then(|s| s.get(last)).copied().unwrap_or(0.0);
        let mut ledger = Vec::with_capacity(classes);
        for (l, solute) in spec.solutes.iter().enumerate() {
            let mut grains = 0.0;
            let mut liquid = 0.0;
            for tube in &self.tubes {
                grains += tube.area_share / cells * tube.column.in_grains(l);
                // Parcels between the last cell and the cup, less what has fallen already.
                liquid += tube.area_share * (tube.column.in_liquid(l) / cells + tube.held(l, cells));
            }
            ledger.push(ClassLedger {
                name: solute.name.clone(),
                start_g: spec.dose_g * solute.share,
                grains_g: grains,
                liquid_g: liquid,
                cup_g: cup_of(l),
            });
        }
        let dissolved: f64 = ledger.iter().map(|c| c.cup_g).sum();
        let yield_g = self.cup_g();
        let between = |series: &[f64], i: usize| -> f64 {
            let now = series.get(i).copied().unwrap_or(0.0);
            i.checked_sub(1).and_then(|p| series.get(p)).map_or(now, |before| now - before)
        };
        let span = |i: usize| between(&self.times_s, i);
        let rate = |amount: f64, i: usize| if span(i) > 0.0 { amount / span(i) } else { 0.0 };
        let inflow_ml_s: Vec<f64> =
            self.inflows_ml.iter().enumerate().map(|(i, v)| if i == 0 { 0.0 } else { rate(*v, i) }).collect();
        let flow_g_s: Vec<f64> =
            (0..count).map(|i| if i == 0 { 0.0 } else { rate(between(&self.cups_g, i), i) }).collect();
        let stream_tds_pct = (0..count)
            .map(|i| {
                let fell = between(&self.cups_g, i);
                if i == 0 || fell <= 1e-9 {
                    return 0.0;
                }
                let solids: f64 = self.solutes_g.iter().take(classes).map(|s| between(s, i)).sum();
                100.0 * solids / fell
            })
            .collect();
        let resistance = self
            .beds_bar
            .iter()
            .zip(&inflow_ml_s)
            .map(|(p, q)| if *q > 1e-9 { p / q } else { 0.0 })
            .collect();
        let condition = match self.first_drip_s {
            None if self.beds_bar.iter().any(|p| *p > 0.0) => Condition::Choked,
            None => Condition::Ordinary,
            Some(drip_s) => {
                let pouring_s = self.time_s - drip_s;
                let mean = if pouring_s > 0.5 { yield_g / pouring_s } else { 1.0 };
                if mean < 0.1 {
                    Condition::Choked
                } else if mean > 5.0 {
                    Condition::Gusher
                } else {
                    Condition::Ordinary
                }
            }
        };
        let (mut bed, mut cup) = (0.0, 0.0);
        for tube in &self.tubes {
            bed += tube.area_share * tube.entered.min(1.0) * self.pore_ml;
            cup += tube.area_share * (tube.entered - 1.0).max(0.0) * self.pore_ml;
        }
        PullTrace {
            time_s: self.times_s.clone(),
            head_bar: self.heads_bar.clone(),
            bed_bar: self.beds_bar.clone(),
            inflow_ml_s,
            flow_g_s,
            cup_g: self.cups_g.clone(),
            exit_c: self.exits_c.clone(),
            stream_tds_pct,
            resistance_bar_s_ml: resistance,
            dissolved_g: self
                .solutes_g
                .iter()
                .take(classes)
                .map(|s| s.iter().take(count).copied().collect())
                .collect(),
            classes: spec.solutes.iter().map(|s| s.name.clone()).collect(),
            first_drip_s: self.first_drip_s,
            end_s: self.time_s,
            yield_g,
            tds_pct: if yield_g > 0.0 { 100.0 * dissolved / yield_g } else { 0.0 },
            extraction_pct: 100.0 * dissolved / spec.dose_g,
            condition,
            reached_yield: self.reached_yield,
            ledger,
            water: WaterLedger {
                pumped_ml: self.pumped_ml,
                headspace_ml: self.headspace_ml,
                bed_ml: bed,
                cup_ml: cup,
            },
            puck_c: self.heat.as_ref().map_or(spec.heat.start_c, HeatField::mixed_c),
        }
    }
}

/// Start of a class that lies in `pools`: `mass_g` spread evenly, per pore volume.
fn class_start(pools: &[Pool], mass_g: f64, capacity: f64) -> ClassStart {
    let total: f64 = pools.iter().map(|p| p.weight).sum();
    let scale = if total > 0.0 { 1.0 / total } else { 0.0 };
    ClassStart {
        rates_s: pools.iter().map(|p| p.rate_s).collect(),
        kappas: pools.iter().map(|p| p.weight * scale * capacity).collect(),
        contents: pools.iter().map(|p| p.weight * scale * mass_g).collect(),
    }
}
