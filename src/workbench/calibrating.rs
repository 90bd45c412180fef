//! The opening for the window: looked at off the thread that draws.

use std::cell::RefCell;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::view::opening::{Bar, Causes, Costly, Opening, Place, Snapshot, Spread, Wish, bar_at, look_at};
use crate::store::Aside;
use crate::units::UnitPreferences;

/// What is asked.
#[derive(Debug, Clone)]
pub struct Calibrating {
    /// The notebook, as far as it is needed.
    pub snapshot: Snapshot,
    /// The moment.
    pub now: Timestamp,
    /// Where the bar is.
    pub zone: TimeZone,
    /// Units of what is shown.
    pub units: UnitPreferences,
    /// What the café has chosen.
    pub wish: Wish,
}

/// A worker's function that keeps what is costly from one look to the next.
pub fn calibrator() -> impl Fn(Calibrating) -> Opening + Send {
    let costly = RefCell::new(Costly::default());
    move |asked: Calibrating| {
        let place = Place { now: asked.now, zone: &asked.zone, units: &asked.units };
        look_at(&asked.snapshot.books(), place, &asked.wish, &mut costly.borrow_mut())
    }
}

/// A worker's function that separates the causes of a bar's spread.
pub fn separator() -> impl Fn(Spread) -> (Spread, Causes) + Send {
    |spread: Spread| {
        let causes = spread.causes();
        (spread, causes)
    }
}

/// Several bars to be looked at.
#[derive(Debug, Clone)]
pub struct ManyBars {
    /// Their folders.
    pub folders: Vec<std::path::PathBuf>,
    /// The moment.
    pub now: Timestamp,
    /// Where they are.
    pub zone: TimeZone,
    /// What is chosen for all of them.
    pub wish: Wish,
    /// Where bags that did not change are taken from.
    pub aside: Option<Aside>,
}

/// One answer a folder: the bar, or why it could not be looked at.
pub type BarAnswers = Vec<(std::path::PathBuf, Result<Bar, String>)>;

/// A worker's function for [`ManyBars`].
pub fn bar_reader() -> impl Fn(ManyBars) -> BarAnswers + Send {
    let costly = RefCell::new(Costly::default());
    move |asked: ManyBars| {
        let mut costly = costly.borrow_mut();
        let ManyBars { folders, now, zone, wish, aside } = asked;
        folders
            .into_iter()
            .map(|folder| {
                let bar = bar_at(&folder, now, &zone, &wish, None, &mut costly, aside.as_ref());
                (folder, bar)
            })
            .collect()
    }
}
