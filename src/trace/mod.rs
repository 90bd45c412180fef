//! Reading a trace: gaps, decimation, overlay, events. Pure functions on samples; no files, no window.

mod band;
mod channels;
mod clean;
mod decimate;
mod events;
mod filter;
mod gaps;
mod gist;
mod measures;
pub mod naming;
mod onset;
mod overlay;
mod resistance;
mod smooth;

pub use band::{Band, band};
pub use channels::ChannelSign;
pub use clean::{Cleaned, Step, USUAL as USUAL_STEPS, clean};
pub use decimate::{extremes_of_every, min_max, simplify};
pub use events::{Event, EventKind, Events, Instruments, find_events, find_events_with};
pub use filter::{FLOW_HALF_WINDOW_S, derived_flow, despike, slope_at_points};
pub use gaps::{Gap, gaps, segments, usual_step_s};
pub use gist::{Gist, cup_g, cups_apart, times_apart};
pub use measures::{Measure, MeasureKind, Measures, SETTLED_WITHIN, measure};
pub use overlay::{
    Alignment, Cursor, Overlay, OverlayPull, Strip, StripLine, View, best_match_s, difference,
    time_of_cup_mass, value_at,
};
pub use resistance::{ResistanceCurve, Setup, resistance};
pub use smooth::{Delay, delay, lowess, savitzky_golay, savitzky_golay_weights};
