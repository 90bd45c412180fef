//! A bag of coffee and its page.

use jiff::civil::Date;

use super::{BagId, DrinkerId, Pull, PullId, Recipe, Stamp, StartRecipe, StationId};

/// Roast level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum Roast {
    /// Light.
    Light,
    /// Medium-light.
    MediumLight,
    /// Medium.
    Medium,
    /// Medium-dark.
    MediumDark,
    /// Dark.
    Dark,
}

impl Roast {
    /// All levels, light to dark.
    pub const ALL: [Self; 5] = [Self::Light, Self::MediumLight, Self::Medium, Self::MediumDark, Self::Dark];

    /// The trade's word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Light => word!("domain-bag-light"),
            Self::MediumLight => word!("domain-bag-medium-light"),
            Self::Medium => word!("domain-bag-medium"),
            Self::MediumDark => word!("domain-bag-medium-dark"),
            Self::Dark => word!("domain-bag-dark"),
        }
    }

    /// Its name in tables, the same in every language: `light`, `medium-light`, `medium`, `medium-dark`, `dark`.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::MediumLight => "medium-light",
            Self::Medium => "medium",
            Self::MediumDark => "medium-dark",
            Self::Dark => "dark",
        }
    }
}

/// How the fruit was removed from the seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum Process {
    /// Washed.
    Washed,
    /// Natural.
    Natural,
    /// Honey.
    Honey,
    /// Anything else.
    Other,
}

impl Process {
    /// All, in the order shown.
    pub const ALL: [Self; 4] = [Self::Washed, Self::Natural, Self::Honey, Self::Other];

    /// The trade's word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Washed => word!("domain-bag-washed"),
            Self::Natural => word!("domain-bag-natural"),
            Self::Honey => word!("domain-bag-honey"),
            Self::Other => word!("domain-bag-other"),
        }
    }

    /// Its name in tables, the same in every language: `washed`, `natural`, `honey`, `other`.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Washed => "washed",
            Self::Natural => "natural",
            Self::Honey => "honey",
            Self::Other => "other",
        }
    }
}

/// What the bag cost.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Price {
    /// Amount, in whole units of the currency (0 or more).
    pub amount: f64,
    /// Currency as the person writes it, for example "EUR".
    pub currency: String,
}

/// Where a bag stands on the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BagState {
    /// Not opened yet.
    Resting,
    /// Opened, no keeper yet.
    DiallingIn,
    /// A keeper stands.
    Holding,
    /// Used up or put away.
    Finished,
}

/// How far one quantity may wander before liking drops by half a point; where it may wander further one way than the
/// other, the shorter of both. `None` where it is not known, or no way costs as much.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Tolerance {
    /// Seconds either way, pump on to cup away.
    pub time_s: Option<f64>,
    /// Grams of dose either way.
    pub dose_g: Option<f64>,
    /// Grams of drink either way.
    pub yield_g: Option<f64>,
    /// Kelvin either way.
    pub temperature_c: Option<f64>,
}

/// The settled recipe.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Keeper {
    /// The recipe.
    pub recipe: Recipe,
    /// Time to aim at, seconds.
    pub time_s: Option<f64>,
    /// How far things may wander.
    pub tolerance: Tolerance,
    /// When it was kept.
    #[serde(with = "jiff::fmt::serde::timestamp::nanosecond::required")]
    pub kept_at: jiff::Timestamp,
    /// The pull it was kept from, if one.
    pub from_pull: Option<PullId>,
}

/// A bag and its ledger.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Bag {
    /// Identifier; sorts by time.
    pub id: BagId,
    /// When made, changed, removed.
    pub stamp: Stamp,
    /// Name on the bag.
    pub name: String,
    /// Who roasted it (may be empty).
    pub roaster: String,
    /// Roast level, where known.
    pub roast: Option<Roast>,
    /// Process, where known.
    pub process: Option<Process>,
    /// Roast date, where known.
    pub roasted_on: Option<Date>,
    /// Day on which it was opened; `None` while it rests.
    pub opened_on: Option<Date>,
    /// Mass when full, grams.
    pub mass_g: Option<f64>,
    /// What it cost.
    pub price: Option<Price>,
    /// The station it is pulled on.
    pub station: StationId,
    /// The drinker it is dialled in for.
    pub drinker: DrinkerId,
    /// Where to begin.
    pub start: StartRecipe,
    /// Time window of the house or the drinker, seconds, where one is wanted.
    pub time_window_s: Option<(f64, f64)>,
    /// The settled recipe.
    pub keeper: Option<Keeper>,
    /// Used up or put away.
    pub finished: bool,
    /// Free words.
    pub note: String,
    /// Its pulls, oldest first (by [`Pull::pulled_at`], then id). Removed pulls stay in as markers.
    pub pulls: Vec<Pull>,
}

/// Whole pulls of `dose_g` that `left_g` of coffee is enough for, grams; `None` where one is no number or the dose not above
/// zero. Half of what a scale shows is let pass: sums of doses are not exact.
#[must_use]
pub fn whole_pulls(left_g: f64, dose_g: f64) -> Option<u32> {
    let pulls = ((left_g + 0.05) / dose_g).floor();
    (dose_g > 0.0 && pulls.is_finite()).then(|| pulls.clamp(0.0, f64::from(u32::MAX)) as u32)
}

impl Bag {
    /// Pulls in use, oldest first.
    pub fn live_pulls(&self) -> impl DoubleEndedIterator<Item = &Pull> {
        self.pulls.iter().filter(|pull| pull.stamp.is_live())
    }

    /// The pull that tells on which station the keeper was kept: the one it was kept from (also a removed one), without one
    /// the first since.
    #[must_use]
    pub fn keeper_pull(&self) -> Option<&Pull> {
        let keeper = self.keeper.as_ref()?;
        let from = keeper.from_pull.and_then(|id| self.pulls.iter().find(|pull| pull.id == id));
        from.or_else(|| self.live_pulls().find(|pull| pull.pulled_at >= keeper.kept_at))
    }

    /// The station whose settings the keeper speaks of: that of [`Bag::keeper_pull`], else the bag's own. `None` without a
    /// keeper.
    #[must_use]
    pub fn kept_on(&self) -> Option<StationId> {
        self.keeper.as_ref()?;
        Some(self.keeper_pull().map_or(self.station, |pull| pull.station))
    }

    /// Days from the roast date to `day`; negative when the date lies ahead, `None` without a roast date.
    #[must_use]
    pub fn days_since_roast(&self, day: Date) -> Option<i32> {
        let roasted = self.roasted_on?;
        day.since(roasted).ok().map(|span| span.get_days())
    }

    /// Grams left in the bag: the full mass less every dose pulled (purges are not counted). Never below zero;
    /// `None` where the full mass is not known.
    #[must_use]
    pub fn grams_left(&self) -> Option<f64> {
        let used: f64 = self.live_pulls().map(|pull| pull.used.dose_g).filter(|d| d.is_finite()).sum();
        Some((self.mass_g? - used).max(0.0))
    }

    /// Whole pulls left at `dose_g` grams each. `None` without a known mass or with a dose that is not above zero.
    #[must_use]
    pub fn pulls_left(&self, dose_g: f64) -> Option<u32> {
        whole_pulls(self.grams_left()?, dose_g)
    }

    /// The bag without its pulls: cheap to copy, however many pulls there are.
    #[must_use]
    pub fn sheet(&self) -> Self {
        Self {
            pulls: Vec::new(),
            id: self.id,
            stamp: self.stamp,
            name: self.name.clone(),
            roaster: self.roaster.clone(),
            roast: self.roast,
            process: self.process,
            roasted_on: self.roasted_on,
            opened_on: self.opened_on,
            mass_g: self.mass_g,
            price: self.price.clone(),
            station: self.station,
            drinker: self.drinker,
            start: self.start,
            time_window_s: self.time_window_s,
            keeper: self.keeper.clone(),
            finished: self.finished,
            note: self.note.clone(),
        }
    }

    /// Where the bag stands on the shelf.
    #[must_use]
    pub fn state(&self) -> BagState {
        if self.finished {
            BagState::Finished
        } else if self.keeper.is_some() {
            BagState::Holding
        } else if self.opened_on.is_none() && self.live_pulls().next().is_none() {
            BagState::Resting
        } else {
            BagState::DiallingIn
        }
    }

    /// Puts the pulls into their order: by moment of pulling, then by id.
    pub fn sort_pulls(&mut self) {
        self.pulls.sort_by_key(|pull| (pull.pulled_at, pull.id));
    }
}
