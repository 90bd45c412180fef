//! One coffee through one day: from yesterday's close to a verdict after each pull, with what the other coffees on its
//! grinder say taken up as it comes, also after its own pulls.

use std::collections::BTreeSet;

use super::habits::Habits;
use super::neighbours::{Neighbour, Shared, heard};
use super::series::Reading;
use super::tracker::{Belief, Tracker};
use super::verdict::{Moment, Policy, Scatter, Start, Verdict, judge, open_among};

/// Pulls of a coffee that are news to the others: those of the opening.
const NEWS: usize = 3;

/// What lies between yesterday's close and this morning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Night {
    /// Days since the last pull.
    pub days: f64,
    /// How much warmer the room is, kelvin (or 1 where `room` is the whole effect).
    pub warmer_k: f64,
    /// Effect of one kelvin and its doubt, chart's scale.
    pub room: (f64, f64),
}

/// A coffee on one day.
#[derive(Debug, Clone)]
pub struct Morning {
    yesterday: Tracker,
    night: Night,
    policy: Policy,
    shared: Option<Shared>,
    start: Start,
    tracker: Tracker,
    /// Clicks towards coarser before the first pull.
    begun: i64,
    /// Seconds within the day, deviation, noise scale.
    pulls: Vec<(f64, f64, f64)>,
    /// How many of them stand at the setting of the first.
    alike: usize,
    /// A shift was found or the grinder moved: later news of the others is no longer about these pulls.
    settled: bool,
}

impl Morning {
    /// The day begins; `shared` is what the other coffees say so far, `None` for a coffee alone on its grinder.
    #[must_use]
    pub fn open(yesterday: Tracker, night: Night, policy: &Policy, shared: Option<Shared>) -> Self {
        let mut tracker = yesterday.clone();
        let start = open_among(&mut tracker, night.days, night.warmer_k, night.room, policy, shared.as_ref());
        Self {
            yesterday,
            night,
            policy: *policy,
            shared,
            start,
            tracker,
            begun: 0,
            pulls: Vec::new(),
            alike: 0,
            settled: false,
        }
    }

    /// The first day of all: no night lies before it.
    #[must_use]
    pub fn first(tracker: Tracker, policy: &Policy) -> Self {
        let night = Night { days: 0.0, warmer_k: 0.0, room: (0.0, 0.0) };
        let start = Start {
            clicks_coarser: 0,
            expected: tracker.evidence().level,
            expected_sd: tracker.evidence().level_sd,
            from_ageing: 0.0,
            from_room: 0.0,
            from_neighbours: 0.0,
            p_helps: 0.0,
        };
        Self {
            yesterday: tracker.clone(),
            night,
            policy: *policy,
            shared: None,
            start,
            tracker,
            begun: 0,
            pulls: Vec::new(),
            alike: 0,
            settled: true,
        }
    }

    /// Where to start.
    #[must_use]
    pub fn start(&self) -> &Start {
        &self.start
    }

    /// What was believed at yesterday's close.
    #[must_use]
    pub fn yesterday(&self) -> &Tracker {
        &self.yesterday
    }

    /// What is believed now.
    #[must_use]
    pub fn tracker(&self) -> &Tracker {
        &self.tracker
    }

    /// The belief to go on from.
    #[must_use]
    pub fn into_tracker(self) -> Tracker {
        self.tracker
    }

    /// Whether what the other coffees say still counts: no shift was settled and the grinder did not move since its start.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !self.settled
    }

    /// The other coffees have more to say. Until a shift is found or the grinder moved after the first pull, the pulls
    /// so far are looked at anew; whether that was so.
    pub fn hear(&mut self, shared: Option<Shared>) -> bool {
        if self.settled || shared == self.shared {
            return false;
        }
        self.shared = shared;
        let Night { days, warmer_k, room } = self.night;
        let mut tracker = self.yesterday.clone();
        let start = open_among(&mut tracker, days, warmer_k, room, &self.policy, shared.as_ref());
        if self.pulls.is_empty() {
            self.start = start;
        }
        tracker.moved(self.begun);
        for (_, value, scale) in &self.pulls {
            tracker.pull(*value, *scale);
        }
        self.tracker = tracker;
        true
    }

    /// The grinder was moved before the first pull, clicks towards coarser: a start, which leaves open whether something
    /// shifted.
    pub fn begin(&mut self, clicks: i64) {
        self.begun = self.begun.saturating_add(clicks);
        self.tracker.moved(clicks);
    }

    /// The grinder was moved, clicks towards coarser: while a shift is likelier than not, the answer to it.
    pub fn moved(&mut self, clicks: i64) {
        let e = self.tracker.evidence();
        let first = self.pulls.is_empty();
        // What the others alone say is answered by a start, and no reason to look no further.
        let known = if first { e.p_shift - e.p_shared } else { e.p_shift };
        if known > 0.5 {
            self.settle();
        }
        if first {
            self.begin(clicks);
        } else {
            self.settled = true;
            self.tracker.moved(clicks);
        }
    }

    /// Another bag: the level is known to 0.1 only.
    fn changed(&mut self) {
        self.tracker.changed(0.0, 0.1);
        self.settled = true;
    }

    /// Readings of this day, from the grinder's setting and the bag before it on.
    fn read(&mut self, readings: &[Reading], before: Option<&Reading>) {
        let mut last = before;
        for r in readings {
            if let Some(before) = last {
                if r.bag != before.bag {
                    self.changed();
                } else if r.click != before.click {
                    self.moved(r.click.saturating_sub(before.click));
                }
            }
            self.pull(r.at_s, r.value, if r.suspect { 3.0 } else { 1.0 });
            last = Some(r);
        }
    }

    /// What was found is accepted: the present level is the new normal.
    pub fn settle(&mut self) {
        self.tracker.settle();
        self.settled = true;
    }

    /// A pull: seconds within the day, deviation, noise scale as in [`Tracker::pull`].
    pub fn pull(&mut self, at_s: f64, deviation: f64, noise_scale: f64) {
        self.tracker.pull(deviation, noise_scale);
        if self.alike == self.pulls.len() && !self.settled {
            self.alike += 1;
        }
        self.pulls.push((at_s, deviation, noise_scale));
    }

    /// The verdict after the latest pull.
    #[must_use]
    pub fn judge(&self, moment: Moment, spread: Scatter) -> Verdict {
        judge(&self.tracker, &self.policy, moment, spread)
    }

    /// The verdict was followed.
    pub fn taken(&mut self, verdict: &Verdict) {
        let before = self.tracker.evidence().pulls;
        verdict.taken(&mut self.tracker);
        let moved = matches!(verdict.action, super::verdict::Action::Move { .. });
        self.settled |= moved || self.tracker.evidence().pulls < before;
    }

    /// This coffee as the others of its grinder see it.
    #[must_use]
    pub fn as_neighbour(&self) -> Neighbour {
        let Night { days, warmer_k, room } = self.night;
        let mut opened = self.yesterday.clone();
        let _ = open_among(&mut opened, days, warmer_k, room, &self.policy, None);
        opened.moved(self.begun);
        Neighbour::new(&opened, self.pulls.iter().take(self.alike.min(NEWS)).copied().collect())
    }
}

/// One of several coffees on a grinder that are followed together.
#[derive(Debug, Clone, Copy)]
pub struct Followed<'a> {
    /// Its habits.
    pub habits: Habits,
    /// Where it starts.
    pub start: Belief,
    /// How readily it is acted on.
    pub policy: Policy,
    /// Its readings, oldest first.
    pub readings: &'a [Reading],
}

/// A coffee before its first pull of a day, that day's readings, and the one before them.
type Opened<'a> = (Morning, &'a [Reading], Option<&'a Reading>);

/// As [`Tracker::follow`] for the coffees of one grinder: from day `from` on each day counts with what the others said on
/// it, so that the answer to a shift that all shared is remembered as one. A coffee alone is followed as ever.
#[must_use]
pub fn follow_together(coffees: &[Followed<'_>], from: i32) -> Vec<Tracker> {
    let alone = coffees.len() < 2;
    let begins: Vec<usize> = coffees
        .iter()
        .map(|c| if alone { c.readings.len() } else { c.readings.partition_point(|r| r.day < from) })
        .collect();
    let mut trackers: Vec<Tracker> = coffees
        .iter()
        .zip(&begins)
        .map(|(c, begin)| Tracker::follow(c.habits, c.start, c.readings.get(..*begin).unwrap_or(&[])))
        .collect();
    let days: BTreeSet<i32> = coffees
        .iter()
        .zip(&begins)
        .flat_map(|(c, begin)| c.readings.get(*begin..).unwrap_or(&[]).iter().map(|r| r.day))
        .collect();
    for day in days {
        let opened: Vec<Option<Opened<'_>>> = coffees
            .iter()
            .zip(&trackers)
            .map(|(c, tracker)| {
                let (a, b) = (
                    c.readings.partition_point(|r| r.day < day),
                    c.readings.partition_point(|r| r.day <= day),
                );
                let today = c.readings.get(a..b).filter(|today| !today.is_empty())?;
                let before = a.checked_sub(1).and_then(|at| c.readings.get(at));
                let morning = match before {
                    None => Morning::first(tracker.clone(), &c.policy),
                    Some(r) => {
                        let days = f64::from(day.saturating_sub(r.day));
                        let night = Night { days, warmer_k: 0.0, room: (0.0, 0.0) };
                        Morning::open(tracker.clone(), night, &c.policy, None)
                    }
                };
                Some((morning, today, before))
            })
            .collect();
        let seen: Vec<Option<Neighbour>> = opened
            .iter()
            .map(|one| {
                let (morning, today, before) = one.as_ref()?;
                let mut morning = morning.clone();
                morning.read(today, *before);
                Some(morning.as_neighbour())
            })
            .collect();
        for (n, (one, tracker)) in opened.into_iter().zip(&mut trackers).enumerate() {
            let Some((mut morning, today, before)) = one else { continue };
            let others: Vec<Neighbour> =
                seen.iter().enumerate().filter(|(k, _)| *k != n).filter_map(|(_, o)| o.clone()).collect();
            if morning.is_open() {
                morning.hear(heard(tracker.habits(), &others, f64::INFINITY));
            }
            morning.read(today, before);
            *tracker = morning.into_tracker();
        }
    }
    trackers
}
