//! The keeper: what "keep" means as the page stands, the words of its button, and what the card says once a recipe is
//! kept.

use jiff::Timestamp;

use super::advice::{Advice, HeroView, Verdict};
use super::page::usual_yield_g;
use crate::domain::{Bag, Gear, Keeper, Pull, PullId, Tolerance};
use crate::workbench::number_of;

/// What "keep" means now.
#[derive(Debug, Clone, PartialEq)]
pub enum Keep {
    /// Nothing was pulled yet, so there is nothing to keep.
    Nothing,
    /// The pull of this number is meant, and it choked: it is refused.
    Choked(usize),
    /// What is meant is kept already: it is let go.
    LetGo,
    /// The settled recipe that the card shows.
    Recipe {
        /// What is to be kept.
        keeper: Box<Keeper>,
        /// Another recipe is let go for it.
        instead: bool,
    },
    /// A pull's recipe.
    Pull {
        /// Its number, from 1.
        number: usize,
        /// What is to be kept.
        keeper: Box<Keeper>,
        /// Another recipe is let go for it.
        instead: bool,
    },
}

impl Keep {
    /// The words of its button: they name what is kept or let go.
    #[must_use]
    pub fn label(&self) -> String {
        match self {
            Self::Nothing | Self::Recipe { instead: false, .. } => {
                word!("view-keeper-this-recipe").to_owned()
            }
            Self::Recipe { instead: true, .. } => word!("view-keeper-this-recipe-instead").to_owned(),
            Self::Choked(number) | Self::Pull { number, instead: false, .. } => {
                say!("view-keeper-pull", number = *number)
            }
            Self::Pull { number, instead: true, .. } => say!("view-keeper-pull-instead", number = *number),
            Self::LetGo => word!("view-keeper-let-go").to_owned(),
        }
    }

    /// What the bag's keeper becomes.
    ///
    /// # Errors
    /// A sentence that says what to do, where nothing can be kept.
    pub fn outcome(self) -> Result<Option<Box<Keeper>>, String> {
        match self {
            Self::Nothing => Err(word!("view-keeper-pull-once-before").to_owned()),
            Self::Choked(number) => Err(say!("view-keeper-choked", number = number)),
            Self::LetGo => Ok(None),
            Self::Recipe { keeper, .. } | Self::Pull { keeper, .. } => Ok(Some(keeper)),
        }
    }
}

/// What "keep" means now. With a pull selected: that pull's recipe (and letting go, when it is the keeper's already).
/// Else the advised best recipe when the engine calls it settled, else the newest pull's. `advice` is the one that the
/// card shows: `None` where it shows another.
#[must_use]
pub fn keep(
    bag: &Bag,
    gear: &Gear,
    advice: Option<&Advice>,
    selected: Option<PullId>,
    now: Timestamp,
) -> Keep {
    let chosen = selected.and_then(|id| bag.live_pulls().find(|pull| pull.id == id));
    let Some(newest) = bag.live_pulls().next_back() else { return Keep::Nothing };
    let kept = bag.keeper.as_ref();
    if let (None, Some(advice)) = (chosen, advice.filter(|advice| advice.verdict == Verdict::Settled)) {
        if kept.is_some_and(|keeper| gear.snap(&keeper.recipe) == gear.snap(&advice.best)) {
            return Keep::LetGo;
        }
        let usual_yield_g = usual_yield_g(bag);
        let same = |pull: &&Pull| {
            !pull.flags.choked && gear.snap(&pull.aimed(usual_yield_g)) == gear.snap(&advice.best)
        };
        let keeper = Box::new(Keeper {
            recipe: advice.best,
            time_s: Some(advice.best_time_s).filter(|t| t.is_finite()),
            tolerance: advice.tolerance,
            kept_at: now,
            from_pull: bag.live_pulls().rev().find(same).map(|pull| pull.id),
        });
        return Keep::Recipe { keeper, instead: kept.is_some() };
    }
    let pull = chosen.unwrap_or(newest);
    if kept.is_some_and(|keeper| keeper.from_pull == Some(pull.id)) {
        return Keep::LetGo;
    }
    let number = number_of(bag, pull.id);
    if pull.flags.choked {
        return Keep::Choked(number);
    }
    // Its time is of what was used, so the recipe is too.
    let keeper = Box::new(Keeper {
        recipe: pull.used,
        time_s: pull.time_s,
        tolerance: Tolerance::default(),
        kept_at: now,
        from_pull: Some(pull.id),
    });
    Keep::Pull { number, keeper, instead: kept.is_some() }
}

/// The card of a bag that has a keeper: in place of the advice to keep its recipe that it is kept, else which pull is
/// kept beside whatever is advised.
#[must_use]
pub fn with_keeper(mut view: HeroView, bag: &Bag, gear: &Gear) -> HeroView {
    let Some(keeper) = &bag.keeper else { return view };
    if view.settled && gear.snap(&keeper.recipe) == gear.snap(&view.recipe) {
        view.verdict = word!("view-keeper-this-recipe-is-kept").to_owned();
        return view;
    }
    let number = keeper.from_pull.map_or(0, |pull| number_of(bag, pull));
    view.over = if number == 0 {
        say!("view-keeper-over-a-recipe-is-kept", over = view.over)
    } else {
        say!("view-keeper-over-pull-is-kept", over = view.over, number = number)
    };
    view
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Recipe;
    use crate::workbench::samples;

    /// The keeper that is kept.
    fn kept(keep: Keep) -> Keeper {
        *keep.outcome().unwrap().unwrap()
    }

    #[test]
    fn keeping_takes_the_selected_pull_and_lets_it_go_again() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let first = notebook.bags[0].pulls[0].id;
        let gear = samples::gear();
        let keeper = kept(keep(notebook.bag(id).unwrap(), &gear, None, Some(first), now));
        assert_eq!((keeper.from_pull, keeper.time_s), (Some(first), Some(19.0)));
        let newest = keep(notebook.bag(id).unwrap(), &gear, None, None, now);
        assert_eq!(newest.label(), "Keep pull 2");
        assert_eq!(kept(newest).time_s, Some(20.0));
        notebook.bags[0].keeper = Some(keeper);
        let of = |selected| keep(notebook.bag(id).unwrap(), &gear, None, selected, now);
        assert_eq!(of(Some(first)), Keep::LetGo);
        assert_eq!(of(Some(first)).outcome(), Ok(None));
        assert_eq!(of(None).label(), "Keep pull 2 instead");
        let (empty, id) = samples::notebook_with_pulls(0, now);
        assert_eq!(keep(empty.bag(id).unwrap(), &gear, None, None, now), Keep::Nothing);
        assert!(Keep::Nothing.outcome().is_err());
    }

    /// What is kept has the pull's time, and so the pull's own dose and cup.
    #[test]
    fn a_slip_of_the_hand_is_kept_as_it_was_pulled() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let pull = &mut notebook.bags[0].pulls[1];
        let planned = Recipe { grind: 13.5, ..pull.used };
        pull.plan = Some(planned);
        pull.used = Recipe { dose_g: planned.dose_g - 0.2, yield_g: planned.yield_g + 1.2, ..planned };
        let keeper = kept(keep(notebook.bag(id).unwrap(), &samples::gear(), None, None, now));
        let pull = &notebook.bags[0].pulls[1];
        assert_eq!((keeper.recipe, keeper.time_s), (pull.used, pull.time_s));
    }

    #[test]
    fn what_choked_is_refused() {
        let now = Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        notebook.bags[0].pulls[1].flags.choked = true;
        let choked = keep(notebook.bag(id).unwrap(), &samples::gear(), None, None, now);
        assert_eq!((choked.clone(), choked.label().as_str()), (Keep::Choked(2), "Keep pull 2"));
        assert!(choked.outcome().unwrap_err().contains("choose a pull that ran through"));
    }
}
