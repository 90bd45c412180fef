//! Records and their invariants: drinker, station, bag, pull, recipe, trace, notebook. No files, no clock, no text
//! for screens. Every record carries an [`Id`] that sorts by time and never collides between machines, and a
//! [`Stamp`] of when it was made, last changed and (perhaps) removed, so that two copies of a notebook can be
//! merged record by record.

mod bag;
mod gear;
mod id;
mod notebook;
mod pull;
mod recipe;
mod station;
mod taste;
mod trace;

pub use bag::{Bag, BagState, Keeper, Price, Process, Roast, Tolerance, whole_pulls};
pub use gear::{Finer, Gear, GearFault, GrindScale, Scale};
pub use id::{BagId, DrinkerId, Id, IdFault, PullId, StationId};
pub use notebook::{Difference, Drinker, Notebook, Preferences, Record, RecordKey, ThemeChoice, WayOfLiving};
pub use pull::{Flags, Pull};
pub use recipe::{Lever, Recipe, StartRecipe};
pub use station::{Basket, Station};
pub use taste::{Attribute, Mark, Taste};
pub(crate) use trace::gap_limit_s;
pub use trace::{Channel, Extent, Trace, TraceFault, usual_step_s};

/// When a record was made, last changed, and removed. `changed ≥ made` in a sound record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Stamp {
    /// When the record was first written.
    #[serde(with = "jiff::fmt::serde::timestamp::nanosecond::required")]
    pub made: jiff::Timestamp,
    /// When it was last edited; the later edit wins when two copies of a notebook are merged.
    #[serde(with = "jiff::fmt::serde::timestamp::nanosecond::required")]
    pub changed: jiff::Timestamp,
    /// When it was removed, if it was. A removed record stays in the file as a marker, so that a merge with an
    /// older copy does not bring it back.
    #[serde(with = "jiff::fmt::serde::timestamp::nanosecond::optional")]
    pub removed: Option<jiff::Timestamp>,
}

impl Stamp {
    /// A stamp for a record made at `now`.
    #[must_use]
    pub fn new(now: jiff::Timestamp) -> Self {
        Self { made: now, changed: now, removed: None }
    }

    /// The same stamp after an edit at `now`. The moment of change always rises, even when the clock stands still or
    /// goes back, so that a merge takes the later edit (undo included) for the newest word.
    #[must_use]
    pub fn edited(self, now: jiff::Timestamp) -> Self {
        let next = self.changed.checked_add(jiff::SignedDuration::from_nanos(1)).unwrap_or(self.changed);
        Self { changed: now.max(next), ..self }
    }

    /// Whether the record is in use, that is, not removed.
    #[must_use]
    pub fn is_live(&self) -> bool {
        self.removed.is_none()
    }
}
