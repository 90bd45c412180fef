//! Asking for advice: the question as records, the answer as plain values, and whoever answers it as a function, so
//! that the window and its tests do not depend on how the engine works.

use std::sync::Arc;

use jiff::civil::Date;

use super::view::advice::Advice;
use crate::advisor::Case;
use crate::domain::{Bag, BagId, Notebook, PullId, Station, Trace};
use crate::rules::{self, Packs};
use crate::trace::Gist;

/// All that is known when advice is asked for.
#[derive(Debug, Clone)]
pub struct Question {
    /// The bag with its pulls.
    pub bag: Bag,
    /// Its station.
    pub station: Station,
    /// Earlier bags of the same station and drinker, oldest first.
    pub earlier: Vec<Bag>,
    /// The day.
    pub today: Date,
    /// The notebook's revision.
    pub revision: u64,
    /// The rules to hear.
    pub packs: Packs,
    /// Traces of the bag's newest pulls, where they are kept.
    pub traces: Vec<(PullId, Arc<Trace>)>,
}

/// An answer, with what it answers.
#[derive(Debug, Clone)]
pub struct Answer {
    /// For which bag.
    pub bag: BagId,
    /// At which revision of the notebook.
    pub revision: u64,
    /// The advice.
    pub advice: Advice,
}

/// Whoever answers.
pub type Adviser = Arc<dyn Fn(&Question) -> Advice + Send + Sync>;

impl Question {
    /// Earlier bags handed over at most: the nearest in time tell the most, and the question must stay cheap.
    pub const EARLIER: usize = 12;
    /// Traces looked at, the newest: what an old pull's trace told has long been overtaken by later cups.
    pub const TRACES: usize = 12;

    /// The question for a bag; `None` when the bag or its station is gone.
    #[must_use]
    pub fn about(notebook: &Notebook, bag: BagId, today: Date, revision: u64) -> Option<Self> {
        let bag = notebook.bag(bag).filter(|bag| bag.stamp.is_live())?;
        let station = notebook.station(bag.station)?;
        let mut earlier: Vec<Bag> = notebook
            .bags
            .iter()
            .rev()
            .filter(|other| other.stamp.is_live() && other.id < bag.id && other.station == bag.station)
            .filter(|other| other.drinker == bag.drinker && other.live_pulls().next().is_some())
            .take(Self::EARLIER)
            .cloned()
            .collect();
        earlier.reverse();
        let (bag, station) = (bag.clone(), station.clone());
        let packs = rules::own_packs();
        Some(Self { bag, station, earlier, today, revision, packs, traces: Vec::new() })
    }

    /// Fetches the traces of the newest pulls.
    pub fn look_at_traces(&mut self, mut fetch: impl FnMut(PullId) -> Option<Arc<Trace>>) {
        let traced: Vec<PullId> =
            self.bag.live_pulls().filter(|pull| pull.has_trace).map(|pull| pull.id).collect();
        let newest = traced.iter().rev().take(Self::TRACES).rev();
        self.traces = newest.filter_map(|pull| Some((*pull, fetch(*pull)?))).collect();
    }

    /// The question as the engine takes it.
    #[must_use]
    pub fn case(&self) -> Case {
        let mut case = Case::from_bag(&self.bag, &self.station, &self.earlier, self.today);
        case.packs = Arc::clone(&self.packs);
        case.read_traces(&self.bag, |pull, recipe| {
            let (_, trace) = self.traces.iter().find(|(of, _)| *of == pull)?;
            Some(Gist::read(trace, recipe))
        });
        case
    }

    /// Whether the same answer will do: only the notebook's revision has moved on.
    #[must_use]
    pub fn same_as(&self, other: &Self) -> bool {
        (self.today, &self.bag, &self.station, &self.earlier, &self.packs, &self.traces)
            == (other.today, &other.bag, &other.station, &other.earlier, &other.packs, &other.traces)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Channel;
    use crate::workbench::samples;

    #[test]
    fn the_newest_traces_are_fetched_and_reach_the_engine() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(15, now);
        for pull in &mut notebook.bags[0].pulls {
            pull.has_trace = true;
            pull.time_s = None;
        }
        let today = jiff::civil::date(2026, 9, 22);
        let mut question = Question::about(&notebook, id, today, 1).unwrap();
        let plain = question.clone();
        // Pump on at 1 s, drops from 6 s, pump off at 31 s.
        let time: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.1).collect();
        let pressure = time.iter().map(|t| if (1.0..31.0).contains(t) { 9.0 } else { 0.0 }).collect();
        let cup = time.iter().map(|t| 1.4 * (t.min(31.0) - 6.0).max(0.0)).collect();
        let trace = Trace::new(time, [(Channel::Pressure, pressure), (Channel::CupMass, cup)]).unwrap();
        let trace = Arc::new(trace);
        let mut asked = Vec::new();
        question.look_at_traces(|pull| {
            asked.push(pull);
            Some(Arc::clone(&trace))
        });
        let newest: Vec<PullId> = notebook.bags[0].pulls[3..].iter().map(|pull| pull.id).collect();
        assert_eq!(asked, newest);
        assert!(!question.same_as(&plain));
        let case = question.case();
        assert!(case.shots[2].gist.is_none());
        let read = case.shots[14].gist.unwrap();
        assert!((read.time_s.unwrap() - 30.0).abs() < 0.5, "{read:?}");
    }
}
