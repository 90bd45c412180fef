//! What the engine believes about a bag, for the window: worked out off the thread that draws.

use std::cell::RefCell;
use std::sync::Arc;

use super::asking::Question;
use super::view::taste_map::{MapPoint, MapView, map_view};
use crate::advisor::{Outlook, Settings};
use crate::domain::{Lever, Recipe};

/// What is asked.
#[derive(Debug, Clone)]
pub struct Believing {
    /// The bag with all that bears on it.
    pub question: Question,
    /// The recipe that would be served now: what the levers not on the map stand at.
    pub best: Recipe,
    /// The next pull.
    pub next: Recipe,
    /// Lever across the map, lever up it.
    pub levers: (Lever, Lever),
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Believed {
    /// At which revision of the notebook, for which levers.
    pub of: (u64, (Lever, Lever)),
    /// Answers what any recipe would give.
    pub outlook: Arc<Outlook>,
    /// The taste map.
    pub map: MapView,
}

/// One answer: the beliefs from the notebook's records, then the map.
#[must_use]
pub fn believe(asked: &Believing) -> Believed {
    believe_with(asked, &Arc::new(outlook(&asked.question)))
}

/// A worker's function that keeps the beliefs as long as the question is about the same pulls.
pub fn believer() -> impl Fn(Believing) -> Believed + Send {
    let kept: RefCell<Option<(Question, Arc<Outlook>)>> = RefCell::new(None);
    move |asked: Believing| {
        let known =
            kept.borrow().as_ref().filter(|(q, _)| q.same_as(&asked.question)).map(|(_, o)| o.clone());
        let ready = known.unwrap_or_else(|| Arc::new(outlook(&asked.question)));
        *kept.borrow_mut() = Some((asked.question.clone(), Arc::clone(&ready)));
        believe_with(&asked, &ready)
    }
}

/// The beliefs after the pulls of a question's bag.
pub(super) fn outlook(question: &Question) -> Outlook {
    let case = question.case();
    Outlook::new(&case, &Settings::default())
}

fn believe_with(asked: &Believing, outlook: &Arc<Outlook>) -> Believed {
    let path: Vec<MapPoint> = asked
        .question
        .bag
        .live_pulls()
        .enumerate()
        .map(|(at, pull)| MapPoint { number: at + 1, recipe: pull.used, liking: pull.taste.liking() })
        .collect();
    Believed {
        of: (asked.question.revision, asked.levers),
        outlook: Arc::clone(outlook),
        map: map_view(outlook, &asked.best, &asked.next, path, asked.levers),
    }
}
