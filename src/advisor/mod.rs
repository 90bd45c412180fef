//! What to pull next: one case (bag, gear, aim, earlier bags, pulls) in, one advice out. Pure: no clock, no files, the
//! same case and settings give the same advice bit for bit.

mod answer;
mod beliefs;
mod case;
mod clauses;
mod cups;
mod decide;
mod direction;
mod facts;
mod hear;
mod outlook;
mod reach;
mod reasons;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod samples;
mod worth;

pub use crate::infer::{BagFacts, Shot};
pub use answer::{
    Advice, Alternative, Alternatives, Best, Change, Expect, Quantiles, Reason, Source, Status, Tolerances,
    Toward, Voices,
};
pub use beliefs::{Belief, Slack, TasteMap};
pub use case::{Aim, Case, EarlierBag, Settings};
pub use direction::direction_reversed;
pub use facts::{by_rules_alone, unlikely};
pub use outlook::{Outlook, Standing};

use crate::infer::{Beginning, EarlierEvidence, Frame, Noise};

/// The advice for a case.
#[must_use]
pub fn advise(case: &Case, settings: &Settings) -> Advice {
    Desk::new(case).advise(case, settings)
}

/// What the engine believes over any two levers: mean and spread of liking, all else as in the best recipe.
#[must_use]
pub fn taste_map(
    case: &Case,
    settings: &Settings,
    across: crate::domain::Lever,
    up: crate::domain::Lever,
) -> TasteMap {
    beliefs::taste_map(&Desk::new(case), case, settings, across, up)
}

/// What is worked out once for a bag and stays true from pull to pull: the beliefs before its first pull, earlier bags
/// included. Keeping one saves time; it never changes an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Desk {
    frame: Frame,
    beginning: Beginning,
    /// What says that the grinder's direction was entered the wrong way round, where it was turned.
    reversed: Option<direction::Speaks>,
}

impl Desk {
    /// Works out the beliefs before the first pull. Only the bag, the gear, the aim and the earlier bags count.
    #[must_use]
    pub fn new(case: &Case) -> Self {
        let frame =
            Frame::new(&case.gear, &case.aim.start, case.bag.days_since_roast.or_else(|| case.first_day()));
        Self { beginning: beginning(case, &frame), frame, reversed: None }
    }

    /// The advice for a case that shares this desk's bag, gear, aim and earlier bags.
    #[must_use]
    pub fn advise(&self, case: &Case, settings: &Settings) -> Advice {
        let left_out = facts::cup_of_a_choke(case);
        let full = case.filled_in();
        let case = full.as_ref().unwrap_or(case);
        let mut advice = match self.turned(case) {
            Some((desk, case)) => answer::advise(&desk, &case, settings),
            None => answer::advise(self, case, settings),
        };
        advice.reasons.splice(0..0, left_out);
        advice
    }

    /// The desk and the case with the grinder's direction turned round, where the pulls say that it was entered the wrong
    /// way: they are believed, not the entry.
    fn turned(&self, case: &Case) -> Option<(Self, Case)> {
        let speaks = direction::reversed(case).filter(|_| self.reversed.is_none())?;
        let mut case = case.clone();
        case.gear.grind.finer = case.gear.grind.finer.other();
        Some((Self { reversed: Some(speaks), ..Self::new(&case) }, case))
    }
}

fn beginning(case: &Case, frame: &Frame) -> Beginning {
    let earlier: Vec<EarlierEvidence> =
        case.earlier.iter().map(|e| EarlierEvidence { bag: e.bag.clone(), shots: e.shots.clone() }).collect();
    Beginning::new(&case.bag, &case.gear, frame, &earlier, &Noise::default())
}
