//! The puck: a simulator of one pull of espresso.
//!
//! [`simulate`] is a pure function of a [`Puck`] (what lies in the basket), a [`Drive`] (what the machine does) and
//! [`Settings`] (how finely to compute). Water enters as a sharp wetting front, flows by Darcy's law through parallel
//! streamtubes whose resistance follows pressure, dissolution, swelling and moving fines, and takes up several classes
//! of solubles from two populations of grains on its way; heat is carried along. Everything is validated when it is
//! built, so the time loop meets only physical numbers.

pub mod bed;
pub mod column;
pub mod drive;
pub mod emulator;
mod fault;
pub mod film;
pub mod fit;
pub mod grains;
mod heat;
pub mod nonlinear;
mod outcome;
pub mod pools;
pub mod profile;
pub mod resistance;
mod run;
pub mod solute;
mod streamtube;
pub mod tubes;
pub mod water;

pub use bed::{Channel, FlowLaw, Heat, NO_SATURATION_KG_M3, Puck, PuckSpec, SATURATION_KG_M3, Unevenness};
pub use drive::{Drive, DriveSpec, Machine};
pub use fault::PuckFault;
pub use film::{Film, Picture, TubePicture, simulate_filmed};
pub use grains::Grains;
pub use outcome::{ClassLedger, Condition, PullTrace, WaterLedger};
pub use profile::Profile;
pub use run::{Run, Settings, simulate, simulate_in};
pub use solute::{Solute, usual_solutes};
