//! One coffee through one day: from yesterday's close to a verdict after each pull, with what the other coffees on its
//! grinder say taken up as it comes, also after its own pulls.

use std::collections::BTreeSet;

use super::habits::Habits;
use super::neighbours::{Neighbour, Shared, heard};
use super::series::Reading;
use super::tracker::{Belief, Tracker};
use super::verdict::{Action, Moment, Policy, Pool, Scatter, Start, Verdict, judge, open_among};

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

/// Where a coffee was left at the close of a day.
#[derive(Debug, Clone)]
pub struct Closed {
    /// What its pulls say.
    pub tracker: Tracker,
    /// The last verdict, where it asked for a move that no pull has shown since.
    pub asked: Option<Verdict>,
}

impl From<Tracker> for Closed {
    fn from(tracker: Tracker) -> Self {
        Self { tracker, asked: None }
    }
}

impl Closed {
    /// The belief after the night, nothing touched, and where to start.
    fn opened(&self, night: Night, policy: &Policy, shared: Option<&Shared>) -> (Tracker, Start) {
        let open = |tracker: &mut Tracker| {
            open_among(tracker, night.days, night.warmer_k, night.room, policy, shared)
        };
        let mut tracker = self.tracker.clone();
        let mut start = open(&mut tracker);
        if let Some(verdict) = &self.asked
            && let Action::Move { clicks_coarser: asked, .. } = verdict.action
        {
            let mut answered = self.tracker.clone();
            verdict.taken(&mut answered);
            let further = open(&mut answered);
            start.asked = asked;
            start.clicks_coarser = asked.saturating_add(further.clicks_coarser);
            start.p_helps = if further.clicks_coarser == 0 { verdict.p_helps } else { further.p_helps };
        }
        (tracker, start)
    }
}

/// A coffee on one day.
#[derive(Debug, Clone)]
pub struct Morning {
    yesterday: Closed,
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
    /// The grinder moved or the bag changed after the first pull: later pulls are no longer like the first.
    turned: bool,
}

/// A pull of today with its verdict.
#[derive(Debug, Clone)]
pub struct Judged {
    /// Index into the series.
    pub index: usize,
    /// What was said after it.
    pub verdict: Verdict,
    /// Scatter of the openings of the last five days, this pull included.
    pub spread: Scatter,
}

impl Judged {
    /// A shift was found, and the level is as near the target as a click can bring it.
    fn is_accepted(&self) -> bool {
        self.verdict.shift_found.is_some() && !matches!(self.verdict.action, Action::Move { .. })
    }
}

impl Morning {
    /// The day begins; `shared` is what the other coffees say so far, `None` for a coffee alone on its grinder.
    #[must_use]
    pub fn open(yesterday: impl Into<Closed>, night: Night, policy: &Policy, shared: Option<Shared>) -> Self {
        let yesterday = yesterday.into();
        let (tracker, start) = yesterday.opened(night, policy, shared.as_ref());
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
            turned: false,
        }
    }

    /// The first day of all: no night lies before it.
    #[must_use]
    pub fn first(tracker: Tracker, policy: &Policy) -> Self {
        let night = Night { days: 0.0, warmer_k: 0.0, room: (0.0, 0.0) };
        let start = Start {
            clicks_coarser: 0,
            asked: 0,
            expected: tracker.evidence().level,
            expected_sd: tracker.evidence().level_sd,
            from_ageing: 0.0,
            from_room: 0.0,
            from_neighbours: 0.0,
            p_helps: 0.0,
        };
        Self {
            yesterday: tracker.clone().into(),
            night,
            policy: *policy,
            shared: None,
            start,
            tracker,
            begun: 0,
            pulls: Vec::new(),
            alike: 0,
            settled: true,
            turned: false,
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
        &self.yesterday.tracker
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
        self.look_anew();
        true
    }

    /// Looks at the pulls so far anew, from yesterday's close on.
    fn look_anew(&mut self) {
        let (mut tracker, start) = self.yesterday.opened(self.night, &self.policy, self.shared.as_ref());
        if self.pulls.is_empty() {
            self.start = start;
        }
        tracker.moved(self.begun);
        for (_, value, scale) in &self.pulls {
            tracker.pull(*value, *scale);
        }
        self.tracker = tracker;
    }

    /// The grinder was moved before the first pull, clicks towards coarser: a start, which leaves open whether something
    /// shifted.
    pub fn begin(&mut self, clicks: i64) {
        self.begun = self.begun.saturating_add(clicks);
        self.tracker.moved(clicks);
    }

    /// The grinder was moved, clicks towards coarser: while a shift is likelier than not, the answer to it.
    pub fn moved(&mut self, clicks: i64) {
        if self.pulls.is_empty() {
            // What was found yesterday is answered before the first pull; what the others say this morning is answered
            // by a start, and no reason to look no further.
            if self.yesterday.tracker.evidence().p_shift >= self.policy.flag.min(0.5) {
                self.yesterday.tracker.settle();
                self.look_anew();
            }
            return self.begin(clicks);
        }
        if self.tracker.evidence().p_shift >= self.policy.flag.min(0.5) {
            self.settle();
        }
        self.settled = true;
        self.turned = true;
        self.tracker.moved(clicks);
    }

    /// Another bag: the level is known to 0.1 only.
    fn changed(&mut self) {
        self.tracker.changed(0.0, 0.1);
        self.settled = true;
        self.turned = true;
    }

    /// Replays the readings of this day, those of `readings` from `first` on, with a verdict after each and with what the
    /// other coffees on the grinder had said by then; the last verdict with all that they have said since. Pulls
    /// count with the scatter that [`Reading::noise_scale`] says.
    pub fn replay(&mut self, readings: &[Reading], first: usize, others: &[Neighbour]) -> Vec<Judged> {
        let habits = *self.yesterday().habits();
        let (before, today) = readings.split_at_checked(first).unwrap_or((readings, &[]));
        let lately = today.first().map_or(i32::MIN, |r| r.day.saturating_sub(4));
        let earlier = before.get(before.partition_point(|r| r.day < lately)..).unwrap_or(&[]);
        let earlier = pooled(Pool::new(&habits), earlier);
        let mut judged: Vec<Judged> = Vec::new();
        let mut last = first.checked_sub(1).and_then(|at| readings.get(at));
        let mut heard_of = None;
        let (mut at_setting, mut moment) = (0u32, Moment::Day);
        for (index, r) in readings.iter().enumerate().skip(first) {
            let pulled: usize = others.iter().map(|other| other.pulled(r.at_s)).sum();
            if self.is_open() && heard_of != Some(pulled) {
                self.hear(heard(&habits, others, r.at_s));
                heard_of = Some(pulled);
            }
            match last {
                Some(before) if before.bag != r.bag => {
                    self.changed();
                    at_setting = 0;
                }
                Some(before) if before.click != r.click => {
                    self.moved(r.click.saturating_sub(before.click));
                    at_setting = 0;
                }
                _ if judged.last().is_some_and(Judged::is_accepted) => self.settle(),
                _ => {}
            }
            last = Some(r);
            at_setting += 1;
            self.pull(r.at_s, r.value, r.noise_scale(habits.noise_variance()));
            let opening = index - first < self.policy.most_pulls as usize;
            moment = if opening { Moment::Opening(at_setting) } else { Moment::Day };
            let spread = pooled(earlier, today.get(..=index - first).unwrap_or(today)).scatter();
            judged.push(Judged { index, verdict: self.judge(moment, spread), spread });
        }
        if self.is_open() && self.hear(heard(&habits, others, f64::INFINITY)) {
            let verdict = judged.last().map(|last| self.judge(moment, last.spread));
            if let Some((last, verdict)) = judged.last_mut().zip(verdict) {
                last.verdict = verdict;
            }
        }
        judged
    }

    /// How a replayed day ended.
    fn close(mut self, judged: Vec<Judged>) -> Closed {
        let last = judged.into_iter().next_back();
        if last.as_ref().is_some_and(Judged::is_accepted) {
            self.settle();
        }
        let asked = last.map(|j| j.verdict).filter(|v| matches!(v.action, Action::Move { .. }));
        Closed { tracker: self.tracker, asked }
    }

    /// What was found is accepted: the present level is the new normal.
    pub fn settle(&mut self) {
        self.tracker.settle();
        self.settled = true;
    }

    /// A pull: seconds within the day, deviation, noise scale as in [`Tracker::pull`].
    pub fn pull(&mut self, at_s: f64, deviation: f64, noise_scale: f64) {
        self.tracker.pull(deviation, noise_scale);
        if self.alike == self.pulls.len() && !self.turned {
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
        let moved = matches!(verdict.action, Action::Move { .. });
        self.turned |= moved;
        self.settled |= moved || self.tracker.evidence().pulls < before;
    }

    /// This coffee, before its first pull, as the others of its grinder see it after the readings of this day, those of
    /// `readings` from `first` on.
    #[must_use]
    pub fn seen(&self, readings: &[Reading], first: usize) -> Neighbour {
        let mut morning = self.clone();
        morning.replay(readings.get(..first.saturating_add(NEWS)).unwrap_or(readings), first, &[]);
        morning.as_neighbour()
    }

    /// This coffee as the others of its grinder see it.
    #[must_use]
    pub fn as_neighbour(&self) -> Neighbour {
        let Night { days, warmer_k, room } = self.night;
        let mut opened = self.yesterday().clone();
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

/// Adds readings to what is known of the scatter: pulls of one day and setting against each other.
fn pooled(mut pool: Pool, readings: &[Reading]) -> Pool {
    let sound: Vec<&Reading> = readings.iter().filter(|r| !r.suspect).collect();
    for group in sound.chunk_by(|a, b| (a.day, a.click, a.bag) == (b.day, b.click, b.bag)) {
        let values: Vec<f64> = group.iter().map(|r| r.value).collect();
        pool.add(&values);
    }
    pool
}

/// A coffee before its first pull of a day, its readings until that day's last, and the index of that day's first.
type Opened<'a> = (Morning, &'a [Reading], usize);

/// As [`Tracker::follow`] for the coffees of one grinder: from day `from` on each day is replayed as it was judged, with
/// what the others said on it, so that the answer to a shift that all shared is remembered as one.
#[must_use]
pub fn follow_together(coffees: &[Followed<'_>], from: i32) -> Vec<Closed> {
    let begins: Vec<usize> = coffees.iter().map(|c| c.readings.partition_point(|r| r.day < from)).collect();
    let mut closes: Vec<Closed> = coffees
        .iter()
        .zip(&begins)
        .map(|(c, begin)| Tracker::follow(c.habits, c.start, c.readings.get(..*begin).unwrap_or(&[])).into())
        .collect();
    let days: BTreeSet<i32> = coffees
        .iter()
        .zip(&begins)
        .flat_map(|(c, begin)| c.readings.get(*begin..).unwrap_or(&[]).iter().map(|r| r.day))
        .collect();
    for day in days {
        let opened: Vec<Option<Opened<'_>>> = coffees
            .iter()
            .zip(&closes)
            .map(|(c, close)| {
                let (a, b) = (
                    c.readings.partition_point(|r| r.day < day),
                    c.readings.partition_point(|r| r.day <= day),
                );
                let until = c.readings.get(..b).filter(|_| a < b)?;
                let morning = match a.checked_sub(1).and_then(|at| until.get(at)) {
                    None => Morning::first(close.tracker.clone(), &c.policy),
                    Some(r) => {
                        let days = f64::from(day.saturating_sub(r.day));
                        let night = Night { days, warmer_k: 0.0, room: (0.0, 0.0) };
                        Morning::open(close.clone(), night, &c.policy, None)
                    }
                };
                Some((morning, until, a))
            })
            .collect();
        let seen: Vec<Option<Neighbour>> = opened
            .iter()
            .map(|one| one.as_ref().map(|(morning, until, first)| morning.seen(until, *first)))
            .collect();
        for (n, (one, close)) in opened.into_iter().zip(&mut closes).enumerate() {
            let Some((mut morning, until, first)) = one else { continue };
            let others: Vec<Neighbour> =
                seen.iter().enumerate().filter(|(k, _)| *k != n).filter_map(|(_, o)| o.clone()).collect();
            let judged = morning.replay(until, first, &others);
            *close = morning.close(judged);
        }
    }
    closes
}
