//! What the machine does to the puck: pressure, flow and temperature against time.

use super::fault::{PuckFault, within};
use super::profile::Profile;
use serde::{Deserialize, Serialize};

/// The machine between the set pressure and the bed. The default is ideal: no loss and a pump without limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Machine {
    /// Pressure lost on the way to the bed, bar: `.0 + .1 q + .2 q²`, q in mL/s. Each 0–100.
    pub loss_bar: (f64, f64, f64),
    /// Flow of the pump against no pressure, mL/s, 0.1–1000; the limit falls linearly to nothing at `pump_stall_bar`.
    pub pump_free_ml_s: f64,
    /// Pressure at which the pump delivers nothing, bar, 0.5–1000.
    pub pump_stall_bar: f64,
}

impl Default for Machine {
    fn default() -> Self {
        Self { loss_bar: (0.0, 0.0, 0.0), pump_free_ml_s: 1000.0, pump_stall_bar: 1000.0 }
    }
}

impl Machine {
    /// A small vibrating pump: 10 mL/s free, 15 bar at standstill (common practice, no source).
    pub fn vibrating() -> Self {
        Self { pump_free_ml_s: 10.0, pump_stall_bar: 15.0, ..Self::default() }
    }

    /// True when nothing in it limits or costs pressure.
    pub(crate) fn is_ideal(&self) -> bool {
        self.loss_bar == (0.0, 0.0, 0.0) && self.pump_free_ml_s >= 1000.0
    }

    pub(crate) fn loss(&self, flow_ml_s: f64) -> f64 {
        self.loss_bar.0 + flow_ml_s * (self.loss_bar.1 + flow_ml_s * self.loss_bar.2)
    }

    pub(crate) fn pump_limit_ml_s(&self, head_bar: f64) -> f64 {
        (self.pump_free_ml_s * (1.0 - head_bar / self.pump_stall_bar)).max(0.0)
    }
}

/// A pull as the machine is asked to run it. Pressure and flow are both ceilings: the machine pushes until the first
/// of them binds. Pressure alone is the usual machine; flow with a pressure ceiling is flow control.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DriveSpec {
    /// Pressure above the bed, bar gauge, values 0–20.
    pub pressure_bar: Profile,
    /// Flow ceiling, mL/s, values 0–50; absent: none.
    pub flow_ml_s: Option<Profile>,
    /// Temperature of the water entering the bed, °C, values 0–130.
    pub temperature_c: Profile,
    /// Longest pull, s, 0–600.
    pub duration_s: f64,
    /// The cup is taken away at this mass, g, 0.1–500; absent: at the end.
    pub stop_at_g: Option<f64>,
    /// Losses and pump.
    pub machine: Machine,
}

impl Default for DriveSpec {
    fn default() -> Self {
        Self {
            pressure_bar: Profile::flat(9.0),
            flow_ml_s: None,
            temperature_c: Profile::flat(93.0),
            duration_s: 60.0,
            stop_at_g: Some(36.0),
            machine: Machine::default(),
        }
    }
}

/// A drive whose every number has been checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    spec: DriveSpec,
}

impl Drive {
    /// Checks a description.
    ///
    /// # Errors
    /// [`PuckFault`] names the first field out of range, its value and the allowed range.
    pub fn new(spec: DriveSpec) -> Result<Self, PuckFault> {
        spec.pressure_bar.check("pressure_bar", 0.0, 20.0)?;
        if let Some(flow) = &spec.flow_ml_s {
            flow.check("flow_ml_s", 0.0, 50.0)?;
        }
        spec.temperature_c.check("temperature_c", 0.0, 130.0)?;
        within("duration_s", spec.duration_s, 0.0, 600.0)?;
        within("stop_at_g", spec.stop_at_g.unwrap_or(1.0), 0.1, 500.0)?;
        let m = &spec.machine;
        within("machine.loss_bar.0", m.loss_bar.0, 0.0, 100.0)?;
        within("machine.loss_bar.1", m.loss_bar.1, 0.0, 100.0)?;
        within("machine.loss_bar.2", m.loss_bar.2, 0.0, 100.0)?;
        within("machine.pump_free_ml_s", m.pump_free_ml_s, 0.1, 1000.0)?;
        within("machine.pump_stall_bar", m.pump_stall_bar, 0.5, 1000.0)?;
        Ok(Self { spec })
    }

    /// The checked description.
    pub fn spec(&self) -> &DriveSpec {
        &self.spec
    }
}
