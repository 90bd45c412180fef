//! What can be known about one bag on one station for one drinker: unknowns with priors from physics, roast and the
//! trade; the evidence of pulls; the posterior as a set of weighted worlds; predictions from it.
//!
//! The model is local and deliberately loose: log-time against grind, dose, yield and temperature; extraction that
//! saturates, and falls again where the bed turns uneven; a drinker with an ideal strength and balance. Several
//! shapes of it are fitted side by side (which of them is right is one more unknown), pulls may be spoiled, and a
//! Gaussian-process discrepancy learns what none of the shapes can say. Nothing here imports `practice`: a model
//! that is tested on itself proves nothing.

mod carry;
mod evidence;
mod fit;
mod frame;
mod model;
mod posterior;
mod prior;
#[cfg(test)]
pub(crate) mod samples;
mod unknowns;

pub use carry::{EarlierEvidence, starting_beliefs};
pub use evidence::{DRIP_SHARE, Kind, LEAST_EXTRACTION_PCT, MOST_EXTRACTION_PCT, Noise, Observed, Shot};
pub use fit::{Fit, fit};
pub use frame::{BagFacts, Frame, Point, STANDARD_TEMPERATURE_C};
pub use model::{Bed, GoesBy, LN_STANDARD_TIME, Latent, SHAPES, Shape, forward};
pub use posterior::{Beginning, Posterior, SAME_STATE_DAYS, World};
pub use prior::{Gaussian, prior};
pub use unknowns::{UNKNOWNS, Unknown, WORLD_UNKNOWNS};
