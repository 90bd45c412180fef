//! Asking for advice: the question as records, the answer as plain values, and whoever answers it as a function, so
//! that the window and its tests do not depend on how the engine works.

use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;

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
    /// The day, in `zone`.
    pub today: Date,
    /// Where the bar is: decides which day a pull belongs to.
    pub zone: TimeZone,
    /// The notebook's revision.
    pub revision: u64,
    /// The rules to hear.
    pub packs: Packs,
    /// Whether one lever moves at a time, as the notebook's preferences have it.
    pub one_lever: bool,
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
    pub fn about(
        notebook: &Notebook,
        bag: BagId,
        today: Date,
        zone: &TimeZone,
        revision: u64,
    ) -> Option<Self> {
        let bag = notebook.bag(bag).filter(|bag| bag.stamp.is_live())?;
        let station = notebook.station(bag.station)?;
        let mut earlier: Vec<Bag> = notebook
            .bags
            .iter()
            .rev()
            .filter(|other| other.stamp.is_live() && other.id < bag.id && other.drinker == bag.drinker)
            .filter(|other| other.live_pulls().any(|pull| pull.station == bag.station))
            .take(Self::EARLIER)
            .cloned()
            .collect();
        earlier.reverse();
        let (bag, station) = (bag.clone(), station.clone());
        let packs = rules::own_packs();
        let zone = zone.clone();
        let one_lever = notebook.preferences.one_lever;
        Some(Self { bag, station, earlier, today, zone, revision, packs, one_lever, traces: Vec::new() })
    }

    /// Fetches the traces of the newest pulls.
    pub fn look_at_traces(&mut self, mut fetch: impl FnMut(PullId) -> Option<Arc<Trace>>) {
        let here = self.bag.live_pulls().filter(|pull| pull.station == self.station.id);
        let traced: Vec<PullId> = here.filter(|pull| pull.has_trace).map(|pull| pull.id).collect();
        let newest = traced.iter().rev().take(Self::TRACES).rev();
        self.traces = newest.filter_map(|pull| Some((*pull, fetch(*pull)?))).collect();
    }

    /// The question as the engine takes it.
    #[must_use]
    pub fn case(&self) -> Case {
        let mut case = Case::from_bag(&self.bag, &self.station, &self.earlier, self.today, &self.zone);
        case.packs = Arc::clone(&self.packs);
        case.read_traces(&self.bag, self.station.id, |pull, recipe| {
            let (_, trace) = self.traces.iter().find(|(of, _)| *of == pull)?;
            Some(Gist::read(trace, recipe))
        });
        case
    }

    /// Whether the same answer will do: only the notebook's revision has moved on.
    #[must_use]
    pub fn same_as(&self, other: &Self) -> bool {
        (self.today, &self.zone, &self.bag, &self.station, self.one_lever)
            == (other.today, &other.zone, &other.bag, &other.station, other.one_lever)
            && (&self.earlier, &self.packs, &self.traces) == (&other.earlier, &other.packs, &other.traces)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Channel, Id, StationId};
    use crate::workbench::samples;

    /// Pump on at 1 s, drops from 6 s, pump off then.
    fn trace_until(off_s: f64) -> Arc<Trace> {
        let time: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.1).collect();
        let pressure = time.iter().map(|t| if (1.0..off_s).contains(t) { 9.0 } else { 0.0 }).collect();
        let cup = time.iter().map(|t| 1.4 * (t.min(off_s) - 6.0).max(0.0)).collect();
        let channels = [(Channel::Pressure, pressure), (Channel::CupMass, cup)];
        Arc::new(Trace::new(time, channels).unwrap())
    }

    /// Breakfast in Auckland is still yesterday in Greenwich, an evening in Honolulu already tomorrow.
    #[test]
    fn a_pull_of_this_day_is_of_this_day_wherever_the_bar_is() {
        for (hours_east, utc) in [(12, "2026-09-21T20:30:00Z"), (-10, "2026-09-23T06:30:00Z")] {
            let zone = TimeZone::fixed(jiff::tz::offset(hours_east));
            let pulled_at: jiff::Timestamp = utc.parse().unwrap();
            let today = zone.to_datetime(pulled_at).date();
            assert_eq!(today, jiff::civil::date(2026, 9, 22));
            let (mut notebook, id) = samples::notebook_with_pulls(4, pulled_at);
            notebook.bags[0].roasted_on = Some(jiff::civil::date(2026, 9, 10));
            let case = Question::about(&notebook, id, today, &zone, 1).unwrap().case();
            assert_eq!(case.age_today, Some(12.0));
            let ages: Vec<Option<f64>> = case.shots.iter().map(|shot| shot.days_since_roast).collect();
            assert_eq!(ages, [Some(12.0); 4], "{hours_east} h east of Greenwich");
            assert_eq!(case.bag.days_since_roast, Some(12.0));
            // So too of an earlier bag, and a question asked elsewhere is another question.
            let mut later = notebook.bags[0].clone();
            later.id = BagId(Id::from_parts(pulled_at, [200; 10]));
            notebook.bags.push(later);
            let next = notebook.bags[1].id;
            let about = |zone: &TimeZone| Question::about(&notebook, next, today, zone, 1).unwrap();
            let case = about(&zone).case();
            assert_eq!(case.earlier[0].bag.days_since_roast, Some(12.0));
            assert!(case.earlier[0].shots.iter().all(|shot| shot.days_since_roast == Some(12.0)));
            assert!(about(&zone).same_as(&about(&zone)) && !about(&zone).same_as(&about(&TimeZone::UTC)));
        }
    }

    /// What was pulled on another station says nothing of this grinder, of the bag as of an earlier one, and each trace goes
    /// to its own pull.
    #[test]
    fn only_what_was_pulled_on_the_bags_station_counts() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(4, now);
        let elsewhere = StationId(Id::from_parts(now, [201; 10]));
        for at in [0, 2] {
            notebook.bags[0].pulls[at].station = elsewhere;
        }
        for pull in &mut notebook.bags[0].pulls {
            pull.has_trace = true;
            pull.time_s = None;
        }
        let mut later = notebook.bags[0].clone();
        later.id = BagId(Id::from_parts(now, [200; 10]));
        later.pulls.retain(|pull| pull.station == elsewhere);
        notebook.bags.push(later.clone());
        let today = jiff::civil::date(2026, 9, 22);
        let about =
            |notebook: &Notebook, id| Question::about(notebook, id, today, &TimeZone::UTC, 1).unwrap();
        let mut question = about(&notebook, id);
        let pulls: Vec<PullId> = notebook.bags[0].pulls.iter().map(|pull| pull.id).collect();
        let mut asked = Vec::new();
        question.look_at_traces(|pull| {
            asked.push(pull);
            Some(trace_until(if pull == pulls[1] { 24.0 } else { 33.0 }))
        });
        assert_eq!(asked, [pulls[1], pulls[3]]);
        let case = question.case();
        assert_eq!(case.shots.iter().map(|shot| shot.label).collect::<Vec<_>>(), [2, 4]);
        let ran: Vec<f64> = case.shots.iter().filter_map(|shot| shot.gist?.time_s).collect();
        assert!(ran.len() == 2 && ran[1] > ran[0] + 4.0, "{ran:?}");
        // The later bag has nothing of its own on its station; what the first had there is an earlier bag's.
        let next = about(&notebook, later.id).case();
        assert!(next.shots.is_empty());
        assert_eq!(next.earlier.iter().map(|bag| bag.shots.len()).collect::<Vec<_>>(), [2]);
        // Moved to the other station, the first bag's pulls there are what counts, and are heard of by the next bag there.
        let mut other = notebook.stations[0].clone();
        other.id = elsewhere;
        notebook.stations.push(other);
        notebook.bags[1].station = elsewhere;
        let next = about(&notebook, later.id).case();
        assert_eq!((next.shots.len(), next.earlier.len()), (2, 1));
        assert_eq!(next.earlier[0].shots.iter().map(|shot| shot.label).collect::<Vec<_>>(), [1, 3]);
    }

    #[test]
    fn the_newest_traces_are_fetched_and_reach_the_engine() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(15, now);
        for pull in &mut notebook.bags[0].pulls {
            pull.has_trace = true;
            pull.time_s = None;
        }
        let today = jiff::civil::date(2026, 9, 22);
        let mut question = Question::about(&notebook, id, today, &TimeZone::UTC, 1).unwrap();
        let plain = question.clone();
        let trace = trace_until(31.0);
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
