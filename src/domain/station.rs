//! A station: one grinder, one machine, one basket, and what can be measured there.

use super::{Gear, Stamp, StationId};

/// The filter basket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Basket {
    /// Inner diameter at the bed, millimetres (30–80).
    pub diameter_mm: f64,
    /// Dose that its maker states, grams.
    pub stated_dose_g: f64,
}

/// A station.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Identifier; sorts by time.
    pub id: StationId,
    /// When made, changed, removed.
    pub stamp: Stamp,
    /// Name, for example "Window bar".
    pub name: String,
    /// The person's own words for the grinder (may be empty).
    pub grinder_name: String,
    /// The person's own words for the machine (may be empty).
    pub machine_name: String,
    /// What can be set and measured.
    pub gear: Gear,
    /// The basket.
    pub basket: Basket,
    /// Put away.
    pub archived: bool,
    /// Free words.
    pub note: String,
}
