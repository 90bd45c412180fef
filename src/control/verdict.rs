//! From evidence to a verdict at the bar: serve, pull once more, move the grinder, or look at puck preparation.

use super::charts::Side;
use super::neighbours::Shared;
pub use super::scatter::{Pool, Scatter, scatter};
use super::tracker::{Evidence, Tracker};
use crate::maths::normal;
use crate::units::{degrees, figure, in_a_row};

/// What the café has decided: how readily to act.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Policy {
    /// Probability of a shift at which it counts as real (from [`super::calibrate`]).
    pub flag: f64,
    /// Probability of a shift at which the person is told that it moved, even where no move follows.
    pub tell: f64,
    /// As `flag`, when only one pull stands behind it.
    pub flag_first: f64,
    /// As `flag`, through the day.
    pub flag_day: f64,
    /// Probability of a shift at which another pull is asked for.
    pub again: f64,
    /// Probability, needed after a real shift, that the move brings the level nearer to the target.
    pub helps: f64,
    /// The same without a single recognisable shift (slow wander has added up).
    pub sure: f64,
    /// Half width of the window about the target on the chart's scale (0.07: 27 s ± 2 s).
    pub window: f64,
    /// Most clicks to move at once (1 or more).
    pub most_clicks: i64,
    /// Coffee to grind through after a move, grams.
    pub purge_g: f64,
    /// Pulls after which nothing more is asked for at one opening.
    pub most_pulls: u32,
}

impl Default for Policy {
    fn default() -> Self {
        Self {
            flag: 0.8,
            tell: 0.5,
            flag_first: 0.95,
            flag_day: 0.8,
            again: 0.3,
            helps: 0.55,
            sure: 0.95,
            window: 0.075,
            most_clicks: 6,
            purge_g: 5.0,
            most_pulls: 3,
        }
    }
}

/// When a pull is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// At the opening (or a check that is like it): so many pulls so far, this one included.
    Opening(u32),
    /// Through the day. Many pulls are judged, so each must be plainer; in return the next one is never far.
    Day,
}

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Action {
    /// Nothing calls for a change.
    Serve,
    /// Not clear yet: pull the same once more.
    PullAgain,
    /// Move the grinder, then grind the purge through.
    Move {
        /// Clicks towards coarser (negative: finer).
        clicks_coarser: i64,
        /// Grams to grind through and throw away.
        purge_g: f64,
    },
    /// The spread, not the level, is off: look at distribution, tamp, basket, dose.
    Preparation,
}

/// A reason, from what moved the answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// The level jumped: by how much (chart's scale), with what probability.
    Jumped {
        /// Change since things were last settled, chart's scale.
        by: f64,
        /// Probability that it is real.
        p: f64,
    },
    /// The level has been drifting: change a day, probability.
    Drifting {
        /// Change a day beyond or including ageing.
        a_day: f64,
        /// Probability that it is real.
        p: f64,
    },
    /// Other coffees on the grinder moved too.
    Shared {
        /// How many went the same way.
        same_way: u32,
        /// How many have been pulled this morning.
        heard: u32,
        /// Probability that the shift is one that all share, if it is real.
        p: f64,
    },
    /// Other coffees on the grinder drift too.
    DriftShared {
        /// How many go the same way.
        same_way: u32,
        /// How many have something to say of it.
        heard: u32,
        /// Probability that the drift is one that all share, if it is real.
        p: f64,
    },
    /// The other coffees on the grinder did not move.
    Alone {
        /// How many have been pulled this morning.
        heard: u32,
    },
    /// Small changes have added up to a level off target.
    AddedUp {
        /// Deviation from the target.
        level: f64,
        /// Probability that the level is off by more than half of the move.
        p: f64,
    },
    /// A shift is real, but the level is still as near the target as a click can bring it.
    WithinReach {
        /// Deviation from the target.
        level: f64,
    },
    /// The scatter is wider than usual, with what probability.
    Scatter {
        /// Probability.
        p: f64,
        /// Scatter seen, standard deviation on the chart's scale.
        seen: f64,
        /// Usual scatter.
        usual: f64,
    },
    /// The last pull looks badly prepared.
    BadPull {
        /// Probability.
        p: f64,
    },
    /// Nothing stands out: the probability that nothing moved noticeably.
    Quiet {
        /// Probability.
        p: f64,
    },
    /// Two ways of reading the last pulls are still open.
    Unclear {
        /// Probability of a shift.
        p: f64,
    },
}

impl Reason {
    /// One plain sentence, with the quantity's name ("flow time") and numbers as percent changes, as on a log scale.
    #[must_use]
    pub fn words(&self, what: &str) -> String {
        let pct = |v: f64| (libm::exp(v.abs().min(5.0)) - 1.0) * 100.0;
        let whole = |v: f64| figure(pct(v), 0);
        // A message chooses its words by this.
        let way = |v: f64| if v >= 0.0 { "up" } else { "down" };
        match *self {
            Self::Jumped { by, p } => say!(
                "control-verdict-jumped",
                what = what,
                way = way(by),
                percent = whole(by),
                sure = in_ten(p)
            ),
            Self::Drifting { a_day, p } => say!(
                "control-verdict-drifting",
                what = what,
                way = way(a_day),
                percent = figure(pct(a_day), 1),
                sure = in_ten(p)
            ),
            Self::Shared { same_way, heard, p } => {
                say!("control-verdict-shared", same_way = same_way, heard = heard, sure = in_ten(p))
            }
            Self::DriftShared { same_way, heard, p } => {
                say!("control-verdict-drift-shared", same_way = same_way, heard = heard, sure = in_ten(p))
            }
            Self::Alone { heard } => say!("control-verdict-alone", heard = heard),
            Self::AddedUp { level, p } => say!(
                "control-verdict-added-up",
                what = what,
                percent = whole(level),
                way = way(level),
                sure = in_ten(p)
            ),
            Self::WithinReach { level } if level.abs() < 0.01 => {
                say!("control-verdict-on-target", what = what)
            }
            Self::WithinReach { level } => {
                say!("control-verdict-within-reach", what = what, percent = whole(level), way = way(level))
            }
            Self::Scatter { p, seen, usual } => {
                say!("control-verdict-scatter", seen = whole(seen), usual = whole(usual), sure = in_ten(p))
            }
            Self::BadPull { p } => say!("control-verdict-bad-pull", sure = in_ten(p)),
            Self::Quiet { p } => say!("control-verdict-quiet", sure = in_ten(p)),
            Self::Unclear { p } => say!("control-verdict-unclear", sure = in_ten(p)),
        }
    }
}

/// A probability in plain words: "9 in 10", "99 in 100".
#[must_use]
pub fn in_ten(p: f64) -> String {
    let p = if p.is_finite() { p.clamp(0.0, 1.0) } else { 0.5 };
    if p >= 0.995 {
        word!("control-verdict-more-than-99").to_owned()
    } else if !(0.05..=0.95).contains(&p) {
        say!("control-verdict-in-100", n = ((p * 100.0).round() as u32).max(1))
    } else {
        say!("control-verdict-in-10", n = (p * 10.0).round() as u32)
    }
}

/// The answer at the bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What to do.
    pub action: Action,
    /// Probability that something moved since things were last settled, were it ever so little.
    pub p_real: f64,
    /// Probability that nothing moved noticeably.
    pub p_quiet: f64,
    /// Probability that the proposed move (or, without one, the nearest one) brings the level nearer to target.
    pub p_helps: f64,
    /// The way it moved, where that counts as real and is said. When the verdict is followed, call [`Verdict::taken`].
    pub shift_found: Option<Side>,
    /// Deviation of the level from target and the range that holds it 8 times in 10.
    pub level: f64,
    /// Lower and upper end of that range.
    pub level_range: (f64, f64),
    /// Why, most telling first.
    pub reasons: Vec<Reason>,
}

impl Verdict {
    /// Tells the tracker that the verdict was followed: a shift that was found is settled, a move is applied.
    pub fn taken(&self, tracker: &mut Tracker) {
        let answered = matches!(self.reasons.first(), Some(Reason::Jumped { .. } | Reason::Drifting { .. }));
        if self.shift_found.is_some() || answered {
            tracker.settle();
        }
        if let Action::Move { clicks_coarser, .. } = self.action {
            tracker.moved(clicks_coarser);
        }
    }
}

/// Best number of clicks for a level, kept within `most`; 0 when no click brings it nearer.
#[must_use]
pub fn clicks_for(level: f64, click: f64, most: i64) -> i64 {
    let n = -level / click;
    if n.is_finite() { (n.round() as i64).clamp(-most.max(1), most.max(1)) } else { 0 }
}

/// Share of the window within which a level leaves nothing to fix (0.8 s of a window of ± 2 s).
pub const NOTHING_TO_FIX: f64 = 0.4;

/// Probability that moving `clicks` coarser brings the level nearer to the target and that there is something to
/// fix: the level lies beyond half of the move and beyond [`NOTHING_TO_FIX`] of the window.
#[must_use]
pub fn p_move_helps(tracker: &Tracker, clicks: i64, policy: &Policy) -> f64 {
    helps(clicks, tracker.habits().click, policy, |edge| tracker.p_above(edge))
}

fn helps(clicks: i64, click: f64, policy: &Policy, p_above: impl Fn(f64) -> f64) -> f64 {
    let half = -0.5 * clicks as f64 * click;
    let edge = half.abs().max(NOTHING_TO_FIX * policy.window);
    if half > 0.0 {
        p_above(edge)
    } else if half < 0.0 {
        1.0 - p_above(-edge)
    } else {
        0.0
    }
}

/// The verdict after the latest pull; `spread` is the scatter of the last openings. Where that is wide the level is moved
/// only if it is off even by that scatter; else the preparation is to be looked at, and a shift stays an open question.
#[must_use]
pub fn judge(tracker: &Tracker, policy: &Policy, moment: Moment, spread: Scatter) -> Verdict {
    let e = tracker.evidence();
    // One pull alone must be plainer than two.
    let flag = match moment {
        Moment::Opening(0 | 1) => policy.flag.max(policy.flag_first),
        Moment::Opening(_) => policy.flag,
        Moment::Day => policy.flag.max(policy.flag_day),
    };
    let flagged = e.p_shift >= flag;
    let real = e.p_shift >= flag.max(policy.tell);
    // A shift that counts as real is acted on as such; the café has chosen how often that may be wrong.
    let click = tracker.habits().click;
    let if_shifted = tracker.if_shifted().map(|(level, _)| {
        let n = clicks_for(level, click, policy.most_clicks);
        (n, helps(n, click, policy, |edge| tracker.p_above_if_shifted(edge)))
    });
    let acted_on = if_shifted.filter(|_| flagged);
    let n = acted_on.map_or_else(|| clicks_for(e.level, click, policy.most_clicks), |(n, _)| n);
    // What is told is not on condition of a shift.
    let p_helps = p_move_helps(tracker, n, policy);
    let p_acted_on = acted_on.map_or(p_helps, |(_, p)| p);
    let half = normal::quantile(0.9) * e.level_sd;
    let p_outside = tracker.p_above(policy.window) + 1.0 - tracker.p_above(-policy.window);
    let step = Action::Move { clicks_coarser: n, purge_g: policy.purge_g };
    // Another pull is worth its coffee where a shift, if it is one, would call for a move.
    let would_move = if_shifted.is_some_and(|(n, p)| n != 0 && p >= 0.5 * policy.helps);
    let unclear = e.p_shift >= policy.again && would_move || p_outside > 0.5;
    let can_ask = matches!(moment, Moment::Opening(n) if n < policy.most_pulls);
    let wide = spread.is_wide();
    let moves = n != 0 && p_acted_on >= if flagged { policy.helps } else { policy.sure };
    let mut reasons = Vec::new();
    let action = if wide && !(moves && helps_all_the_same(tracker, n, policy, flagged, spread)) {
        reasons.push(Reason::Scatter { p: spread.p, seen: spread.seen, usual: tracker.habits().sigma });
        Action::Preparation
    } else if flagged {
        reasons.push(shift_reason(&e, tracker));
        if moves {
            step
        } else if !real {
            reasons.clear();
            reasons.push(Reason::Unclear { p: e.p_shift });
            if can_ask { Action::PullAgain } else { Action::Serve }
        } else {
            reasons.push(Reason::WithinReach { level: e.level });
            Action::Serve
        }
    } else if moves {
        reasons.push(Reason::AddedUp { level: e.level, p: p_helps });
        step
    } else if unclear && can_ask {
        if e.p_last_bad > 0.5 {
            reasons.push(Reason::BadPull { p: e.p_last_bad });
        }
        reasons.push(Reason::Unclear { p: e.p_shift });
        Action::PullAgain
    } else if n != 0 && p_outside > 0.5 && p_helps >= policy.helps {
        // Asked often enough: the likeliest level lies outside the window and a click makes it better.
        reasons.push(Reason::AddedUp { level: e.level, p: p_helps });
        step
    } else {
        reasons.push(Reason::Quiet { p: 1.0 - e.p_noticeable });
        Action::Serve
    };
    // What is not said is not settled when the verdict is followed.
    let named = real && action != Action::Preparation;
    if flagged && (named || matches!(action, Action::Move { .. })) {
        reasons.extend(among(&e, tracker));
    }
    Verdict {
        action,
        p_real: e.p_shift,
        p_quiet: 1.0 - e.p_noticeable,
        p_helps,
        shift_found: named.then_some(e.side),
        level: e.level,
        level_range: (e.level - half, e.level + half),
        reasons,
    }
}

/// Whether a move helps, beyond doubt, even if the level is known no better than the scatter seen allows.
fn helps_all_the_same(
    tracker: &Tracker,
    clicks: i64,
    policy: &Policy,
    shifted: bool,
    spread: Scatter,
) -> bool {
    let habits = tracker.habits();
    let stretch = (spread.seen / habits.sigma).max(1.0);
    let p = helps(clicks, habits.click, policy, |edge| tracker.p_above_stretched(edge, shifted, stretch));
    p >= policy.sure
}

/// What the other coffees on the grinder add to a shift that was found.
fn among(e: &Evidence, tracker: &Tracker) -> Option<Reason> {
    let heard = tracker.heard()?;
    let p = if e.p_shift > 0.0 { e.p_shared / e.p_shift } else { 0.0 };
    if e.p_drift > 0.5 * e.p_shift {
        let drift = heard.drifts.iter().flatten().max_by_key(|drift| drift.same_way)?;
        let (same_way, heard) = (drift.same_way, drift.heard);
        (p > 0.5 && same_way > 0).then_some(Reason::DriftShared { same_way, heard, p })
    } else if p > 0.5 && heard.same_way > 0 {
        Some(Reason::Shared { same_way: heard.same_way, heard: heard.heard, p })
    } else if p < 0.2 && heard.heard > 0 && heard.same_way == 0 {
        Some(Reason::Alone { heard: heard.heard })
    } else {
        None
    }
}

fn shift_reason(e: &Evidence, tracker: &Tracker) -> Reason {
    match tracker.drift_slope().filter(|_| e.p_drift > 0.5 * e.p_shift) {
        Some(a_day) => Reason::Drifting { a_day, p: e.p_shift },
        None => Reason::Jumped { by: tracker.shift_size(), p: e.p_shift },
    }
}

/// Where to start tomorrow (or this morning), from yesterday's close.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Clicks towards coarser from the setting of the last pull (negative: finer); 0 to leave it.
    pub clicks_coarser: i64,
    /// Clicks of it that the last verdict asked for, when no pull has followed since.
    pub asked: i64,
    /// Deviation expected if nothing is touched.
    pub expected: f64,
    /// Its standard deviation.
    pub expected_sd: f64,
    /// Part of it that ageing brings overnight.
    pub from_ageing: f64,
    /// Part of it that the warmer or colder room brings.
    pub from_room: f64,
    /// Part of it that the other coffees on the grinder have shown this morning.
    pub from_neighbours: f64,
    /// Probability that the move brings the first pull nearer to the target.
    pub p_helps: f64,
}

/// Effect of the room on flow time, log scale for one kelvin warmer, and its doubt. Direction and size differ
/// between bars; no source gives a number, so it starts near zero with a doubt three times as large and is learnt
/// (trade: warmer beans give fewer fines and faster pulls).
pub const ROOM_PER_KELVIN: (f64, f64) = (-0.001, 0.003);

/// Expected change from the other coffees on the grinder from which on it is spoken of, chart's scale.
const NEIGHBOURS_COUNT: f64 = 0.01;

/// Moves the tracker through the night and says where to start. `warmer_k` is today's room less yesterday's, kelvin;
/// `room` the change for one kelvin and its doubt. A start off yesterday's setting is proposed only when it helps
/// with probability 0.8 or more; tell the tracker (`moved`) if it is taken.
#[must_use]
pub fn open_day(tracker: &mut Tracker, days: f64, warmer_k: f64, room: (f64, f64), policy: &Policy) -> Start {
    open_among(tracker, days, warmer_k, room, policy, None)
}

/// As [`open_day`] for one of several coffees on a grinder, with what the others say of a shift that all share.
#[must_use]
pub fn open_among(
    tracker: &mut Tracker,
    days: f64,
    warmer_k: f64,
    room: (f64, f64),
    policy: &Policy,
    shared: Option<&Shared>,
) -> Start {
    let before = tracker.evidence();
    let warmer = if warmer_k.is_finite() { warmer_k.clamp(-40.0, 40.0) } else { 0.0 };
    let from_room = warmer * room.0;
    let room_sd = (warmer * room.1).abs();
    let from_neighbours = match shared {
        Some(shared) => {
            let mut alone = tracker.clone();
            alone.overnight(days, from_room, room_sd);
            tracker.overnight_among(days, from_room, room_sd, shared);
            tracker.evidence().level - alone.evidence().level
        }
        None => {
            tracker.overnight(days, from_room, room_sd);
            0.0
        }
    };
    let e = tracker.evidence();
    let n = clicks_for(e.level, tracker.habits().click, policy.most_clicks);
    let p_helps = p_move_helps(tracker, n, policy);
    // Without a pull of its own behind it, a shift must be as plain as after one pull.
    let needed = if from_neighbours.abs() >= NEIGHBOURS_COUNT { policy.flag_first.max(0.8) } else { 0.8 };
    Start {
        clicks_coarser: if p_helps >= needed { n } else { 0 },
        asked: 0,
        expected: e.level,
        expected_sd: e.level_sd,
        from_ageing: e.level - before.level - from_room - from_neighbours,
        from_room,
        from_neighbours,
        p_helps,
    }
}

impl Start {
    /// One sentence: "start 1 click finer: the beans are a day older, it is 6 °C warmer than yesterday".
    #[must_use]
    pub fn words(&self, days: u32, warmer_k: f64) -> String {
        let clicks = self.clicks_coarser;
        let lead = match clicks {
            0 => word!("control-verdict-start-same").to_owned(),
            n if n > 0 => say!("control-verdict-start-coarser", n = n.unsigned_abs()),
            n => say!("control-verdict-start-finer", n = n.unsigned_abs()),
        };
        let because = self.because(days, warmer_k);
        if because.is_empty() {
            lead
        } else {
            say!("control-verdict-start", start = lead, because = in_a_row(&because))
        }
    }

    /// What makes the start differ from yesterday, one clause each.
    #[must_use]
    pub fn because(&self, days: u32, warmer_k: f64) -> Vec<String> {
        let mut because = Vec::new();
        if self.from_ageing.abs() >= 0.002 {
            because.push(say!("control-verdict-older", days = days.max(1)));
        }
        if self.from_room.abs() >= 0.002 && warmer_k.is_finite() {
            let by = degrees(warmer_k.abs(), 0);
            because.push(if warmer_k > 0.0 {
                say!("control-verdict-warmer", by = by)
            } else {
                say!("control-verdict-colder", by = by)
            });
        }
        if self.from_neighbours.abs() >= NEIGHBOURS_COUNT {
            let slower = self.from_neighbours > 0.0;
            because.push(
                if slower {
                    word!("control-verdict-others-slower")
                } else {
                    word!("control-verdict-others-faster")
                }
                .to_owned(),
            );
        }
        if self.asked != 0 {
            because.push(word!("control-verdict-asked").to_owned());
        } else if self.clicks_coarser != 0
            && (self.expected - self.from_ageing - self.from_room - self.from_neighbours).abs()
                > self.expected.abs() / 2.0
        {
            because.push(word!("control-verdict-closed-off").to_owned());
        }
        because
    }
}
