//! The practice bench and the demo notebook: simulated coffees that behave like real ones closely enough to learn
//! on, always said to be simulated. The truth behind them (a [`Coffee`], a [`Grinder`], a [`Palate`]) is known here
//! alone; the engine that gives advice never sees it.

pub mod brew;
pub mod chance;
pub mod coffee;
pub mod demo;
pub mod gear;
pub mod palate;

pub use brew::{Brew, Luck, Shot};
pub use chance::Chance;
pub use coffee::Coffee;
pub use gear::{Bar, Grinder, Marks};
pub use palate::{Cup, Impression, Palate};
