//! What a simulated pull gives back.

use serde::Serialize;

/// How the pull went, by rule of thumb (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Condition {
    /// Nothing remarkable.
    Ordinary,
    /// No drip, or less than 0.1 g/s on average after the first drip while pressure was on.
    Choked,
    /// More than 5 g/s on average after the first drip.
    Gusher,
}

/// Where the mass of one class of solubles is when the pull ends, g.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClassLedger {
    /// Name of the class.
    pub name: String,
    /// In the dose at the start.
    pub start_g: f64,
    /// Still in the grains.
    pub grains_g: f64,
    /// Dissolved in the liquid that the puck keeps.
    pub liquid_g: f64,
    /// In the cup.
    pub cup_g: f64,
}

impl ClassLedger {
    /// start − (grains + liquid + cup), g; rounding only.
    pub fn error_g(&self) -> f64 {
        self.start_g - (self.grains_g + self.liquid_g + self.cup_g)
    }
}

/// Where the water is when the pull ends, mL at brew temperature.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct WaterLedger {
    /// Delivered by the pump.
    pub pumped_ml: f64,
    /// Above the bed.
    pub headspace_ml: f64,
    /// In the bed.
    pub bed_ml: f64,
    /// In the cup.
    pub cup_ml: f64,
}

/// One simulated pull: samples against time (all vectors have one length), totals, and where the mass went.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PullTrace {
    /// Time since the pump started, s.
    pub time_s: Vec<f64>,
    /// Pressure before the machine's own losses, bar, mean over the sample.
    pub head_bar: Vec<f64>,
    /// Pressure above the bed, bar, mean over the sample.
    pub bed_bar: Vec<f64>,
    /// Flow into the bed, mL/s, mean over the sample.
    pub inflow_ml_s: Vec<f64>,
    /// Flow into the cup, g/s, mean over the sample.
    pub flow_g_s: Vec<f64>,
    /// Beverage in the cup, g. Volume times the density of water at brew temperature.
    pub cup_g: Vec<f64>,
    /// Temperature of the liquid leaving the puck, °C.
    pub exit_c: Vec<f64>,
    /// Strength of what falls into the cup, % by mass, mean over the sample (0 while nothing falls).
    pub stream_tds_pct: Vec<f64>,
    /// Resistance of the bed, bar s/mL, 0 while no water moves.
    pub resistance_bar_s_ml: Vec<f64>,
    /// Dissolved mass in the cup, g, per class.
    pub dissolved_g: Vec<Vec<f64>>,
    /// Names of the classes.
    pub classes: Vec<String>,
    /// First drop from any path, s.
    pub first_drip_s: Option<f64>,
    /// When the pull ended, s.
    pub end_s: f64,
    /// Beverage at the end, g.
    pub yield_g: f64,
    /// Strength of the cup, % by mass.
    pub tds_pct: f64,
    /// Extraction: dissolved mass in the cup over the dose, %.
    pub extraction_pct: f64,
    /// Ordinary, choked or gusher.
    pub condition: Condition,
    /// True when the cup reached the mass asked for.
    pub reached_yield: bool,
    /// Solubles, class by class.
    pub ledger: Vec<ClassLedger>,
    /// Water.
    pub water: WaterLedger,
    /// Mean temperature of the puck at the end, °C.
    pub puck_c: f64,
}

impl PullTrace {
    /// Greatest bookkeeping error of any class, as a share of the dose.
    pub fn mass_error(&self, dose_g: f64) -> f64 {
        self.ledger.iter().map(|c| c.error_g().abs()).fold(0.0, f64::max) / dose_g
    }

    /// Time at which the cup held `mass_g`, by linear interpolation, s.
    pub fn time_at_g(&self, mass_g: f64) -> Option<f64> {
        let after = self.cup_g.partition_point(|m| *m < mass_g);
        let (t1, m1) = (*self.time_s.get(after)?, *self.cup_g.get(after)?);
        let Some(before) = after.checked_sub(1) else { return Some(t1) };
        let (t0, m0) = (*self.time_s.get(before)?, *self.cup_g.get(before)?);
        Some(t0 + (t1 - t0) * (mass_g - m0) / (m1 - m0))
    }

    /// Value of one of the sampled quantities at a time, by linear interpolation; ends are held.
    pub fn sample(&self, series: &[f64], time_s: f64) -> f64 {
        let after = self.time_s.partition_point(|t| *t < time_s);
        let at = |i: usize| Some((*self.time_s.get(i)?, *series.get(i)?));
        match (after.checked_sub(1).and_then(at), at(after)) {
            (Some((t0, a)), Some((t1, b))) => a + (b - a) * (time_s - t0) / (t1 - t0),
            (Some((_, a)), None) | (None, Some((_, a))) => a,
            (None, None) => 0.0,
        }
    }

    /// One line for people.
    pub fn summary(&self) -> String {
        let [cup_g, time_s] = [self.yield_g, self.end_s].map(|value| format!("{value:.1}"));
        let [strength, extraction] = [self.tds_pct, self.extraction_pct].map(|value| format!("{value:.2}"));
        let line = match self.first_drip_s {
            Some(t) => say!(
                "puck-outcome-line",
                drip_s = format!("{t:.1}"),
                cup_g = cup_g,
                time_s = time_s,
                strength = strength,
                extraction = extraction
            ),
            None => say!(
                "puck-outcome-no-drip",
                cup_g = cup_g,
                time_s = time_s,
                strength = strength,
                extraction = extraction
            ),
        };
        match self.condition {
            Condition::Ordinary => line,
            Condition::Choked => say!("puck-outcome-choked", line = line),
            Condition::Gusher => say!("puck-outcome-gusher", line = line),
        }
    }
}
