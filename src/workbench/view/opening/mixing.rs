//! A new bag poured onto old beans of the same coffee in the hopper.

use super::notes::old_beans_in;
use super::{Place, coffee, held};
use crate::control::day::{grams_until, new_bean_share, wait_for_new_bag};
use crate::domain::{Bag, Pull};
use crate::units::{Quantity, rounded};

/// How much of a hopper behaves as stirred (0 plug, 1 fully stirred); 0.3 suits a funnel (common practice, no source).
const STIRRED: f64 = 0.3;
/// Share of new beans at which the old ones count as gone.
const THROUGH: f64 = 0.95;
/// Days since the bag before was pulled within which its beans may still lie in the hopper.
const FRESH_DAYS: i32 = 1;

/// A change of bags on the day that is looked at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mixing {
    /// Old beans in the hopper when the new ones came, grams; `None` where nobody said.
    pub left_g: Option<f64>,
    /// Name of the bag before.
    pub before: String,
    /// Share of new beans in each pull of the day, 0–1, in the order of the pulls.
    shares: Vec<(crate::domain::PullId, f64)>,
    /// Grams of the new bag's hopper ground since.
    ground_g: f64,
}

impl Mixing {
    /// `None` unless the bag was first pulled today, soon after another bag of the same coffee.
    pub(super) fn of(bag: &Bag, earlier: &[&Bag], place: Place<'_>) -> Option<Self> {
        let today = held::place(place.now, place.zone).0;
        let day = |pull: &Pull| held::place(pull.pulled_at, place.zone).0;
        // Each grinder has its own hopper.
        let here = |p: &&Pull| p.station == bag.station && p.pulled_at <= place.now;
        let pulls: Vec<&Pull> = bag.live_pulls().filter(here).collect();
        if pulls.first().is_some_and(|p| day(p) != today) {
            return None;
        }
        let before = earlier.iter().rev().find(|b| coffee::same(b, bag))?;
        let last = before.live_pulls().rfind(here)?;
        if day(last) < today - FRESH_DAYS {
            return None;
        }
        let left_g = pulls.iter().find_map(|p| old_beans_in(&p.note));
        let mut ground_g = 0.0;
        let mut shares = Vec::new();
        for pull in pulls {
            let dose = if pull.used.dose_g.is_finite() { pull.used.dose_g.max(0.0) } else { 0.0 };
            let share = left_g.map_or(1.0, |left| new_bean_share(left, ground_g + dose / 2.0, STIRRED));
            shares.push((pull.id, share));
            ground_g += dose;
        }
        Some(Self { left_g, before: before.name.clone(), shares, ground_g })
    }

    /// Share of new beans in a pull.
    pub(super) fn share(&self, pull: crate::domain::PullId) -> f64 {
        self.shares.iter().find(|(id, _)| *id == pull).map_or(1.0, |(_, share)| *share)
    }

    /// Whether the level is passing through from the old beans to the new in a pull: not learnt from, not judged.
    pub(super) fn passing(&self, pull: crate::domain::PullId) -> bool {
        self.left_g.is_some() && wait_for_new_bag(self.share(pull))
    }

    /// What to say of it.
    pub(super) fn words(&self) -> String {
        let Some(left) = self.left_g else {
            return say!("view-opening-mixing-bag-changed-after-say-how-much", before = self.before);
        };
        let more = (grams_until(left, THROUGH, STIRRED) - self.ground_g).max(0.0);
        let now = new_bean_share(left, self.ground_g, STIRRED);
        if more < 1.0 {
            return say!("view-opening-mixing-the-old-beans-of-are-ground", before = self.before);
        }
        say!(
            "view-opening-mixing-about-new-beans-in-the-grounds",
            now = format!("{:.0}", now * 100.0),
            more = rounded(Quantity::BeanMass, more, 0)
        )
    }
}
