//! Reading a trace: gaps, decimation, overlay, events. Pure functions on samples; no files, no window.

mod band;
mod decimate;
mod events;
mod filter;
mod gaps;
mod overlay;

pub use band::{Band, band};
pub use decimate::{min_max, simplify};
pub use events::{Event, EventKind, Events, find_events};
pub use filter::{FLOW_HALF_WINDOW_S, derived_flow, despike, slope_at_points};
pub use gaps::{Gap, gaps, segments, usual_step_s};
pub use overlay::{
    Alignment, Cursor, Overlay, OverlayPull, Strip, StripLine, View, time_of_cup_mass, value_at,
};
