//! The steps of the morning, with what the records already say is done.

use super::State;
use super::row::CoffeeRow;
use crate::control::opening::{CoffeeToOpen, Step, StepKind, opening_list, pull_words};
use crate::domain::BagId;
use crate::units::{Quantity, rounded};

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct ListStep {
    /// What it asks for.
    pub kind: StepKind,
    /// The bag that it belongs to; `None` for the bar as a whole.
    pub bag: Option<BagId>,
    /// What to do, one sentence.
    pub words: String,
    /// A caution shown beside it, where a hand is about to act.
    pub caution: Option<&'static str>,
    /// Coffee it costs, grams.
    pub coffee_g: f64,
    /// Time to allow, seconds.
    pub seconds: f64,
    /// The records show that it is done.
    pub done: bool,
}

/// The list of a bar; `coffees` stand in the order of `to_open`.
pub(super) fn list(to_open: &[CoffeeToOpen], coffees: &[CoffeeRow]) -> Vec<ListStep> {
    if to_open.is_empty() {
        return Vec::new();
    }
    let steps = opening_list(to_open, None);
    steps
        .into_iter()
        .map(|Step { kind, coffee, words, caution, coffee_g, seconds }| {
            let row = coffee.and_then(|at| coffees.get(at));
            let done = row.is_some_and(|row| match kind {
                StepKind::Grinder | StepKind::Purge | StepKind::FirstPull => row.pulls_today > 0,
                StepKind::JudgedPull => !row.judged.is_empty(),
                StepKind::Record => row.state == State::Serve,
                _ => false,
            });
            // The move in the grinder's own words and numbers.
            let moved = row.filter(|row| kind == StepKind::Grinder && !row.start_move.is_empty());
            // The window as its card says it.
            let pulls = coffee.and_then(|at| to_open.get(at)).zip(row);
            let pulls = pulls.map(|(c, row)| pull_words(c, Some(&row.window)));
            let words = match (kind, moved, pulls) {
                (StepKind::FirstPull, _, Some((first, _))) => first,
                (StepKind::JudgedPull, _, Some((_, judged))) => judged,
                (_, Some(row), _) => say!(
                    "view-opening-list-move-the-grinder",
                    name = row.name,
                    start_move = row.start_move,
                    how = row.start_how
                ),
                _ => words,
            };
            ListStep { kind, bag: row.map(|row| row.bag), words, caution, coffee_g, seconds, done }
        })
        .collect()
}

/// What the list costs in words: "112 g and 8 minutes".
pub(super) fn cost(list: &[ListStep]) -> String {
    let grams: f64 = list.iter().map(|s| s.coffee_g).sum();
    let seconds: f64 = list.iter().map(|s| s.seconds).sum();
    say!(
        "view-opening-list-g-and-minutes",
        coffee = rounded(Quantity::BeanMass, grams, 0),
        ceil = format!("{:.0}", (seconds / 60.0).ceil())
    )
}
