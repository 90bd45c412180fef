//! What one kind of evidence of one pull says for a move, in words.

use super::Case;
use super::answer::{Change, Toward};
use super::cups::{at_odds, liked_very_much};
use super::decide::{Search, moved};
use super::direction;
use super::facts::run_of;
use crate::domain::{Attribute, Lever, Recipe};
use crate::infer::{DRIP_SHARE, Kind, Noise, Posterior, Shot, Unknown};
use crate::units::{figure, listed};

/// Times (s) that are nothing to speak of where no window was named (common practice, no source).
pub(super) const PLAIN_TIME_S: (f64, f64) = (23.0, 33.0);
/// Least liking that is no reason to move.
const LIKED_WELL: u8 = 7;

/// The marks of a cup in words, strongest first; empty when nothing was marked away from just right.
pub(super) fn taste_words(shot: &Shot) -> String {
    marks_in_words(shot, &|_| true)
}

/// The same of some attributes alone.
fn marks_in_words(shot: &Shot, told: &dyn Fn(Attribute) -> bool) -> String {
    let mut words: Vec<(i8, &str)> = Vec::new();
    for attribute in Attribute::ALL.into_iter().filter(|attribute| told(*attribute)) {
        let Some(mark) = shot.taste.mark(attribute) else { continue };
        let v = mark.value();
        let word = match (attribute, v) {
            (_, 0) => continue,
            (Attribute::Sourness, 2) => word!("advisor-clauses-far-too-sour"),
            (Attribute::Sourness, 1) => word!("advisor-clauses-too-sour"),
            (Attribute::Sourness, _) => word!("advisor-clauses-not-sour-enough"),
            (Attribute::Bitterness, 2) => word!("advisor-clauses-far-too-bitter"),
            (Attribute::Bitterness, 1) => word!("advisor-clauses-too-bitter"),
            (Attribute::Bitterness, _) => word!("advisor-clauses-not-bitter-enough"),
            (Attribute::Strength, 2) => word!("advisor-clauses-far-too-strong"),
            (Attribute::Strength, 1) => word!("advisor-clauses-too-strong"),
            (Attribute::Strength, -1) => word!("advisor-clauses-too-weak"),
            (Attribute::Strength, _) => word!("advisor-clauses-far-too-weak"),
            (Attribute::Body, 1..) => word!("advisor-clauses-too-heavy"),
            (Attribute::Body, _) => word!("advisor-clauses-too-thin"),
            (Attribute::Astringency, 1..) => word!("advisor-clauses-too-drying"),
            (Attribute::Astringency, _) => word!("advisor-clauses-not-drying-enough"),
            (Attribute::Sweetness, 1..) => word!("advisor-clauses-too-sweet"),
            (Attribute::Sweetness, _) => word!("advisor-clauses-not-sweet-enough"),
        };
        words.push((v.abs(), word));
    }
    words.sort_by_key(|(v, _)| -i32::from(*v));
    listed(&words.into_iter().take(3).map(|(_, w)| w).collect::<Vec<_>>())
}

/// Least change that a clause may speak for: of an expected mark, and of ln time.
pub(super) const FELT_MARK: f64 = 0.05;
const FELT_TIME: f64 = 0.02;
/// How far (percent) a reading must be off what seems to suit.
const FELT_STRENGTH_PCT: f64 = 0.3;
const FELT_EXTRACTION_PCT: f64 = 0.5;
/// Least change of an expected mark by which one lever helps.
const LEANS: f64 = 0.01;

/// What a move is expected to do, beside which each clause is held: evidence may speak for a move in ways that no
/// sentence tells, but a sentence that a reader would turn round is none.
pub(super) struct Told<'a> {
    case: &'a Case,
    posterior: &'a Posterior,
    day: Option<f64>,
    /// The first pull (from 0) since something changed that nobody entered.
    since: usize,
    window_s: (f64, f64),
    /// What is expected of the recipe to pull, and of the one it is moved from.
    to: Expected,
    from: Expected,
    /// The levers that move, and what each alone would do.
    changes: &'a [Change],
    alone: Vec<Expected>,
}

/// What is expected of a recipe.
struct Expected {
    ln_time: f64,
    marks: [f64; 6],
    strength_pct: f64,
    extraction_pct: f64,
}

impl Expected {
    fn of(search: &Search<'_>, recipe: &Recipe) -> Self {
        let (posterior, point) = (search.posterior, search.point(recipe));
        let mut own = Self {
            ln_time: 0.0,
            marks: posterior.expected_marks(&point),
            strength_pct: 0.0,
            extraction_pct: 0.0,
        };
        for world in &posterior.worlds {
            let cup = posterior.latent(world, &point);
            own.ln_time += world.weight * cup.ln_time;
            own.strength_pct += world.weight * libm::exp(cup.ln_strength);
            own.extraction_pct += world.weight * cup.extraction;
        }
        own
    }

    fn mark(&self, of: Attribute) -> f64 {
        of_marks(&self.marks, of)
    }
}

fn of_marks(marks: &[f64; 6], of: Attribute) -> f64 {
    Attribute::ALL.into_iter().zip(marks).find(|(a, _)| *a == of).map_or(0.0, |(_, mark)| *mark)
}

/// One clause: the numbers of the pulls that it is about, what it says of them, and the levers that it speaks for.
#[derive(Debug, Clone)]
pub(super) struct Clause {
    pub pulls: Vec<u32>,
    pub what: What,
    pub levers: Vec<Lever>,
}

/// What a clause says of one or more pulls.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum What {
    Choked,
    Jets,
    Ran(String),
    /// Ran faster though it was ground finer.
    RanFaster(String),
    /// Dripped after so many seconds; the pull itself was not timed.
    Dripped(String),
    /// Strength, or extraction, and what seems to suit.
    ReadStrength(String, String),
    ReadExtraction(String, String),
    Marked(String),
    Liked(u8),
    /// Better than the last cup, and the move goes back towards it.
    LikedBetter(u8),
    /// Has not gone as far as the move does.
    Untried(Lever, Toward),
    /// Lies on either side of the move of this lever.
    Between(Lever),
    /// Had the lever so, all else the same or not.
    HadIt(bool),
    /// Tells too little of the way: what is usual does.
    Usual,
}

impl What {
    /// The clause; `again` where the clause before it spoke of the same one pull.
    pub fn say(&self, labels: &[u32], again: bool) -> String {
        let pulls = if again { 0 } else { labels.len() };
        let n = run_of(labels);
        match self {
            Self::Choked => say!("advisor-clauses-choked", pulls = pulls, n = n),
            Self::Jets => say!("advisor-clauses-jets", pulls = pulls, n = n),
            Self::Ran(time_s) => say!("advisor-clauses-ran", pulls = pulls, n = n, time_s = time_s),
            Self::RanFaster(time_s) => {
                say!("advisor-clauses-ran-faster", pulls = pulls, n = n, time_s = time_s)
            }
            Self::Dripped(time_s) => say!("advisor-clauses-dripped", pulls = pulls, n = n, time_s = time_s),
            Self::ReadStrength(read, suits) => {
                say!("advisor-clauses-read-strength", pulls = pulls, n = n, read = read, suits = suits)
            }
            Self::ReadExtraction(read, suits) => {
                say!("advisor-clauses-read-extraction", pulls = pulls, n = n, read = read, suits = suits)
            }
            Self::Marked(marks) => say!("advisor-clauses-marked", pulls = pulls, n = n, marks = marks),
            Self::Liked(liking) => say!("advisor-clauses-liked", pulls = pulls, n = n, liking = liking),
            Self::LikedBetter(liking) => {
                say!("advisor-clauses-liked-better", pulls = pulls, n = n, liking = liking)
            }
            Self::Untried(lever, toward) => untried(*lever, *toward).to_owned(),
            Self::Between(lever) => {
                let lever = match lever {
                    Lever::Grind => "grind",
                    Lever::Dose => "dose",
                    Lever::Yield => "yield",
                    Lever::Temperature => "temperature",
                };
                say!("advisor-clauses-between", n = n, lever = lever)
            }
            Self::HadIt(true) => say!("advisor-clauses-was-like-it", n = n),
            Self::HadIt(false) => say!("advisor-clauses-had-it-so", n = n),
            Self::Usual => word!("advisor-clauses-by-what-is-usual").to_owned(),
        }
    }

    /// Whether it says which way to move, and not only that something should.
    pub fn says_which_way(&self) -> bool {
        !matches!(self, Self::Liked(_))
    }

    /// Whether both are readings of the same: one is enough.
    pub fn is_a_reading_like(&self, other: &Self) -> bool {
        matches!(
            (self, other),
            (Self::ReadStrength(..), Self::ReadStrength(..))
                | (Self::ReadExtraction(..), Self::ReadExtraction(..))
        )
    }

    /// Whether it says that nothing is known there yet.
    pub fn is_new_ground(&self) -> bool {
        matches!(self, Self::Untried(..) | Self::Between(_) | Self::HadIt(_))
    }
}

/// That no pull has gone as far yet.
fn untried(lever: Lever, toward: Toward) -> &'static str {
    match (lever, toward) {
        (Lever::Grind, Toward::Coarser) => word!("advisor-clauses-untried-coarser"),
        (Lever::Grind, _) => word!("advisor-clauses-untried-finer"),
        (Lever::Dose, Toward::Up) => word!("advisor-clauses-untried-more-dose"),
        (Lever::Dose, _) => word!("advisor-clauses-untried-less-dose"),
        (Lever::Yield, Toward::Up) => word!("advisor-clauses-untried-more-yield"),
        (Lever::Yield, _) => word!("advisor-clauses-untried-less-yield"),
        (Lever::Temperature, Toward::Up) => word!("advisor-clauses-untried-hotter"),
        (Lever::Temperature, _) => word!("advisor-clauses-untried-cooler"),
    }
}

impl<'a> Told<'a> {
    pub fn new(
        case: &'a Case,
        search: &Search<'a>,
        to: &Recipe,
        changes: &'a [Change],
        since: usize,
    ) -> Self {
        let from = case.current();
        let alone = changes.iter().map(|c| Expected::of(search, &from.with(c.lever, c.to)));
        Self {
            case,
            posterior: search.posterior,
            day: search.day,
            since,
            window_s: case.aim.time_window_s.unwrap_or(PLAIN_TIME_S),
            to: Expected::of(search, to),
            from: Expected::of(search, &from),
            changes,
            alone: alone.collect(),
        }
    }

    /// The levers that, moved alone, would do some good.
    fn levers(&self, does_good: impl Fn(&Expected) -> bool) -> Vec<Lever> {
        let good = self.changes.iter().zip(&self.alone).filter(|(_, alone)| does_good(alone));
        good.map(|(change, _)| change.lever).collect()
    }

    fn moves(&self, lever: Lever, toward: Toward) -> bool {
        self.changes.iter().any(|c| c.lever == lever && c.toward == toward)
    }

    /// What was marked of a pull and the move is expected to lead away from, from that pull and from the last recipe, with
    /// the levers that do so alone and that the trade moves for it (common practice, no source): the dose for strength and
    /// body alone, the heat for all but these. Nothing that a later cup says otherwise. `felt` is the least change of an
    /// expected mark.
    fn cured(&self, shot: &Shot, felt: f64) -> Vec<(Attribute, Vec<Lever>)> {
        let then = self.posterior.frame.point(&shot.meant(self.posterior.frame.yield_g), self.day);
        let then = self.posterior.expected_marks(&then);
        let each = Attribute::ALL.into_iter().filter_map(|attribute| {
            let mark = f64::from(shot.taste.mark(attribute)?.value());
            let newest = self.case.shots.iter().rev().find_map(|s| s.taste.mark(attribute))?;
            let (to, from) = (self.to.mark(attribute), self.from.mark(attribute));
            let stands = f64::from(newest.value()) * mark > 0.0;
            let cures = (to - of_marks(&then, attribute)) * mark < -felt && (to - from) * mark < 0.0;
            let mut levers = self.levers(|alone| (alone.mark(attribute) - from) * mark < -LEANS);
            // A coarser grind may help a sour or thin cup from a bed that ran unevenly, but not because it is so; nor does
            // less drink help what is not bitter or drying enough, or more of it what is weak.
            let finer_or_less_drink = match attribute {
                Attribute::Sourness => (mark > 0.0, mark < 0.0),
                Attribute::Bitterness | Attribute::Astringency => (mark < 0.0, mark > 0.0),
                Attribute::Strength | Attribute::Body => (mark < 0.0, mark < 0.0),
                Attribute::Sweetness => {
                    (self.moves(Lever::Grind, Toward::Finer), self.moves(Lever::Yield, Toward::Down))
                }
            };
            levers.retain(|lever| match lever {
                Lever::Dose => matches!(attribute, Attribute::Strength | Attribute::Body),
                Lever::Temperature => !matches!(attribute, Attribute::Strength | Attribute::Body),
                Lever::Grind => self.moves(Lever::Grind, Toward::Finer) == finer_or_less_drink.0,
                Lever::Yield => self.moves(Lever::Yield, Toward::Down) == finer_or_less_drink.1,
            });
            (stands && cures && !levers.is_empty()).then_some((attribute, levers))
        });
        each.collect()
    }

    /// What one kind of evidence of one pull says for the move; nothing where it is as it should be, or where the move
    /// does not answer it. `felt_mark` is the least change of an expected mark that a clause may speak for.
    pub fn clause(&self, shot: &Shot, kind: Kind, felt_mark: f64) -> Option<Clause> {
        let (what, levers) = match kind {
            Kind::Time if shot.choked => self.choked(shot)?,
            Kind::Time if shot.tunnelled() => {
                // Jets that later pulls were free of are no longer a reason; nor is the time of a bed that tunnelled.
                let still = shot.spurting && self.case.shots.last().is_some_and(|last| last.spurting);
                (still && self.moves(Lever::Grind, Toward::Coarser))
                    .then(|| (What::Jets, vec![Lever::Grind]))?
            }
            Kind::Time => return self.ran(shot),
            // What jets did to a cup is not the recipe's.
            Kind::Strength | Kind::Marks | Kind::Liking if shot.spurting => return None,
            Kind::Strength => self.read(shot)?,
            Kind::Marks => return self.marked(shot, felt_mark),
            Kind::Liking => {
                let liking = shot.taste.liking()?;
                let last = self.case.shots.iter().rev().find_map(|s| s.taste.liking());
                let there = self.on_the_way_to(shot);
                let back = !there.is_empty();
                match back {
                    true if last.is_some_and(|last| liking > last) => (What::LikedBetter(liking), there),
                    true => return None,
                    // Only the newest liking, or one like it, is what a move leads away from.
                    false => {
                        let poor = liking < LIKED_WELL && last == Some(liking);
                        poor.then_some((What::Liked(liking), Vec::new()))?
                    }
                }
            }
        };
        Some(Clause { pulls: vec![shot.label], what, levers })
    }

    /// The marks of the newest cup that was marked speak, for it is what the reader has in the mouth; an older one's where
    /// they say the same. None of a cup that was liked very much, or that contradicts itself.
    fn marked(&self, shot: &Shot, felt_mark: f64) -> Option<Clause> {
        let newest = self.case.shots.iter().rev().find(|s| Self::marked_at_all(s))?;
        if self.pleases() || liked_very_much(newest) || newest.spurting || at_odds(newest) {
            return None;
        }
        let told = |shot: &Shot| {
            let cured = self.cured(shot, felt_mark);
            let words = marks_in_words(shot, &|attribute| cured.iter().any(|(of, _)| *of == attribute));
            (words, cured.into_iter().flat_map(|(_, levers)| levers).collect())
        };
        let (said, levers) = told(newest);
        let mut pulls = vec![newest.label];
        if shot.label != newest.label && told(shot).0 == said {
            pulls.push(shot.label);
        }
        (!said.is_empty()).then_some(Clause { pulls, what: What::Marked(said), levers })
    }

    /// Whether the newest cup was liked very much: then no fault of an older one is a reason any more.
    fn pleases(&self) -> bool {
        self.case.shots.iter().rev().find(|s| !s.taste.is_empty()).is_some_and(liked_very_much)
    }

    fn marked_at_all(shot: &Shot) -> bool {
        Attribute::ALL.into_iter().any(|attribute| shot.taste.mark(attribute).is_some())
    }

    /// A choke speaks as long as nothing has run since.
    fn choked(&self, shot: &Shot) -> Option<(What, Vec<Lever>)> {
        let since = self.case.shots.iter().rev().take_while(|s| s.label != shot.label);
        let opens = [
            (Lever::Grind, self.moves(Lever::Grind, Toward::Coarser)),
            (Lever::Dose, self.moves(Lever::Dose, Toward::Down)),
        ];
        let levers: Vec<Lever> =
            opens.into_iter().filter(|(_, moves)| *moves).map(|(lever, _)| lever).collect();
        let then = self.posterior.frame.point(&shot.meant(self.posterior.frame.yield_g), self.day);
        let slow = self.posterior.mean(&self.posterior.times(&then));
        let answers = !levers.is_empty() && self.to.ln_time < slow - FELT_TIME;
        (answers && since.into_iter().all(|s| s.choked)).then_some((What::Choked, levers))
    }

    /// A time off the clock speaks where the newest is off on the same side, and by the newest; none does where one recipe
    /// runs now so, now so. Where no pull was timed the first drip stands for the time.
    fn ran(&self, shot: &Shot) -> Option<Clause> {
        if self.posterior.noise.ln_time > Noise::default().ln_time {
            return None;
        }
        let by_drip = |s: &Shot| Some(s.dripped_s()? / DRIP_SHARE);
        let timed = |s: &Shot| s.ran_s().or_else(|| by_drip(s));
        let newest = self.case.shots.iter().rev().find(|s| timed(s).is_some())?;
        let (time_s, newest_s) = (timed(shot)?, timed(newest)?);
        let (by, slower) = (self.to.ln_time - libm::log(newest_s), self.to.ln_time - self.from.ln_time);
        let fast = time_s.max(newest_s) < self.window_s.0;
        let slow = time_s.min(newest_s) > self.window_s.1;
        let answers = (fast && by > FELT_TIME && slower > 0.0) || (slow && by < -FELT_TIME && slower < 0.0);
        // Not "ran 30 s" where 30 s would have been in time.
        let told = |time_s: f64| {
            figure(time_s, usize::from((self.window_s.0..=self.window_s.1).contains(&time_s.round())))
        };
        // Neither heat nor drink is moved for the clock's sake, and where the grind moves it alone answers the clock.
        let mut levers = self.levers(|alone| (alone.ln_time - self.from.ln_time) * slower > 0.0);
        let first = if levers.contains(&Lever::Grind) { Lever::Grind } else { Lever::Dose };
        levers.retain(|lever| *lever == first);
        let what = match newest.ran_s() {
            Some(t) if fast && self.moves(Lever::Grind, Toward::Coarser) => {
                // A fast pull asks for a coarser grind only where it broke the bed.
                direction::finer_faster_pct(self.case, self.since).filter(|faster| *faster > 0.0)?;
                What::RanFaster(told(t))
            }
            Some(t) => What::Ran(told(t)),
            None => What::Dripped(figure(newest.dripped_s()?, 0)),
        };
        let mut pulls = vec![newest.label];
        if shot.label != newest.label && shot.ran_s().is_some_and(|t| told(t) == told(newest_s)) {
            pulls.push(shot.label);
        }
        (answers && !levers.is_empty()).then_some(Clause { pulls, what, levers })
    }

    /// A reading speaks where it is off what seems to suit, the newest reading is so too, and the move leads there; none of a
    /// cup that was liked very much.
    fn read(&self, shot: &Shot) -> Option<(What, Vec<Lever>)> {
        let (strength, extraction) = shot.reading().filter(|_| !self.pleases() && !liked_very_much(shot))?;
        let (newest_strength, newest_extraction) = self.case.shots.iter().rev().find_map(Shot::reading)?;
        let leads = |(read, newest): (f64, f64), suits: f64, felt: f64, of: fn(&Expected) -> f64| {
            let off = suits - read;
            let there = |expected: &Expected| (of(expected) - of(&self.from)) * off > 0.0;
            let stands = off.abs() > felt && (suits - newest) * off.signum() > felt;
            let answers = stands && there(&self.to) && (of(&self.to) - read) * off > 0.0;
            answers.then(|| (figure(read, 1), figure(suits, 1), self.levers(there)))
        };
        let suits = |unknown| self.posterior.belief(unknown).0;
        let (ideal, both) = (libm::exp(suits(Unknown::LnIdealStrength)), (strength, newest_strength));
        if let Some((read, ideal, mut levers)) = leads(both, ideal, FELT_STRENGTH_PCT, |e| e.strength_pct) {
            // Nor is the heat moved for the strength's sake.
            levers.retain(|lever| *lever != Lever::Temperature);
            if !levers.is_empty() {
                return Some((What::ReadStrength(read, ideal), levers));
            }
        }
        let (ideal, both) = (suits(Unknown::IdealExtraction), (extraction, newest_extraction));
        let (read, ideal, levers) = leads(both, ideal, FELT_EXTRACTION_PCT, |e| e.extraction_pct)?;
        Some((What::ReadExtraction(read, ideal), levers))
    }

    /// The levers that go back towards a pull; none where one goes away from it.
    fn on_the_way_to(&self, shot: &Shot) -> Vec<Lever> {
        let aimed = self.case.aimed(shot);
        let each = self.changes.iter().filter_map(|change| {
            let way = aimed.get(change.lever)? - change.from;
            let near = self.case.gear.scale(change.lever)?.step() * 0.5;
            (way.abs() > near).then_some((change.lever, way * (change.to - change.from) > 0.0))
        });
        let ways: Vec<(Lever, bool)> = each.collect();
        if ways.iter().any(|(_, towards)| !towards) {
            return Vec::new();
        }
        ways.into_iter().map(|(lever, _)| lever).collect()
    }

    /// Whether a pull had a lever where it is to go.
    fn has(&self, shot: &Shot, change: &Change) -> bool {
        let step = self.case.gear.scale(change.lever).map_or(0.0, |s| s.step());
        let had = shot.recipe.get(change.lever);
        had.is_some_and(|value| (value - change.to).abs() < 0.5 * step)
    }

    /// Where the move goes that no pull has gone yet, with the pulls that show it: beyond all of them, or, by the one lever
    /// that moves, between two; else the one that had it so.
    pub fn new_ground(&self) -> Option<Clause> {
        let ran = || self.case.shots.iter().filter(|s| !s.choked);
        let at = |change: &Change| -> Vec<(u32, f64)> {
            ran().filter_map(|s| Some((s.label, s.recipe.get(change.lever)?))).collect()
        };
        let step = |change: &Change| self.case.gear.scale(change.lever).map_or(0.0, |s| 0.5 * s.step());
        let beyond = |change: &&Change| {
            let way = (change.to - change.from).signum();
            let tried = at(change);
            !tried.is_empty() && tried.iter().all(|(_, value)| (change.to - value) * way > step(change))
        };
        if let Some(change) = self.changes.iter().find(beyond) {
            return Some(Clause {
                pulls: ran().map(|s| s.label).collect(),
                what: What::Untried(change.lever, change.toward),
                levers: vec![change.lever],
            });
        }
        let [only] = self.changes else { return None };
        let last = self.case.shots.last().map(|s| s.label);
        if let Some(had) = ran().rev().find(|s| Some(s.label) != last && self.has(s, only)) {
            let to = self.case.current().with(only.lever, only.to);
            let alike = moved(&self.case.gear, &self.case.aimed(had), &to).is_empty();
            return Some(Clause {
                pulls: vec![had.label],
                what: What::HadIt(alike),
                levers: vec![only.lever],
            });
        }
        let tried = at(only);
        let nearest = |side: f64| {
            let there = tried.iter().filter(|(_, value)| (value - only.to) * side > step(only));
            // Of pulls equally near the newest.
            there.rev().min_by(|a, b| (a.1 - only.to).abs().total_cmp(&(b.1 - only.to).abs()))
        };
        let (one, other) = (nearest(-1.0)?.0, nearest(1.0)?.0);
        Some(Clause {
            pulls: vec![one.min(other), one.max(other)],
            what: What::Between(only.lever),
            levers: vec![only.lever],
        })
    }
}
