//! The practice bench and the demo notebook: simulated coffees that behave like real ones closely enough to learn
//! on, always said to be simulated. The truth behind them (a [`Coffee`], a [`Grinder`], a [`Palate`]) is known here
//! alone; the engine that gives advice never sees it.
//!
//! [`Bench`] is what can be moved and pulled; [`sweep()`] and [`Study`] ask it questions; [`Sitting`] is a student at an
//! [`Exercise`]; [`Pack`] holds everything that files describe, and [`check`] says what is wrong with them.

pub mod bench;
pub mod best;
pub mod brew;
pub mod chance;
mod check;
pub mod class;
pub mod coffee;
pub mod demo;
pub mod exercise;
pub mod fitting;
pub mod gear;
pub mod locate;
pub mod pack;
pub mod palate;
mod said;
mod shipped;
pub mod sitting;
pub mod study;
pub mod sweep;

pub use bench::{Bench, BenchPull, Drawn, HONESTY, Handle, Preset, presets};
pub use brew::{Brew, Luck, Shot};
pub use chance::Chance;
pub use check::{Depth, Finding, check, try_coffee};
pub use class::{ResultLine, Worksheet, results_csv, seed_of, worksheet};
pub use coffee::Coffee;
pub use exercise::{Exercise, Hidden, Level, Station};
pub use fitting::{Apart, BenchFit, FitFault, apart, drive_as, fit_to};
pub use gear::{Bar, Grinder, Marks};
pub use pack::Pack;
pub use palate::{Cup, Impression, Palate};
pub use said::sentences;
pub use shipped::SHIPPED;
pub use sitting::{Pulled, Score, Sitting, SittingFault};
pub use study::{Study, StudyRun};
pub use sweep::{Seen, Sweep, Watch, sweep};
