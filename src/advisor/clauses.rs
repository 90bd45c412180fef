//! What one kind of evidence of one pull says for a move, in words.

use super::Case;
use super::answer::{Change, Toward};
use super::decide::Search;
use crate::domain::{Attribute, Lever, Recipe};
use crate::infer::{Kind, Posterior, Shot};
use crate::units::{figure, listed};

/// Times (s) that are nothing to speak of where no window was named (common practice, no source).
pub(super) const PLAIN_TIME_S: (f64, f64) = (23.0, 33.0);
/// Least liking that is no reason to move, and from which on no mark is one either.
const LIKED_WELL: u8 = 7;
const LIKED_VERY_MUCH: u8 = 8;

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

/// What a move is expected to do, beside which each clause is held: evidence may speak for a move in ways that no
/// sentence tells, but a sentence that a reader would turn round is none.
pub(super) struct Told<'a> {
    case: &'a Case,
    posterior: &'a Posterior,
    day: Option<f64>,
    /// ln time and marks expected of the recipe to pull, and of the one it is moved from.
    to: (f64, [f64; 6]),
    from: (f64, [f64; 6]),
    /// Whether a lever moves that steers the clock: any but the temperature.
    by_the_clock: bool,
    changes: &'a [Change],
    coarser: bool,
    /// Coarser, or less coffee: what a choke asks for.
    opens: bool,
}

/// What a clause says of one or more pulls.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum What {
    Choked,
    Jets,
    Ran(String),
    Read(String, String),
    Marked(String),
    Liked(u8),
    /// Better than the last cup, and the move goes back towards it.
    LikedBetter(u8),
    /// Speaks for the move by no single number that a clause could tell.
    Points,
    /// Has not gone as far as the move does.
    Untried(Lever, Toward),
    /// Lies on either side of the move.
    Between,
    /// Tells too little of the way: what is usual does.
    Usual,
}

impl What {
    /// The clause; `again` where the clause before it spoke of the same one pull.
    pub fn say(&self, labels: &[u32], again: bool) -> String {
        let pulls = if again { 0 } else { labels.len() };
        let n = listed(&labels.iter().map(u32::to_string).collect::<Vec<_>>());
        match self {
            Self::Choked => say!("advisor-clauses-choked", pulls = pulls, n = n),
            Self::Jets => say!("advisor-clauses-jets", pulls = pulls, n = n),
            Self::Ran(time_s) => say!("advisor-clauses-ran", pulls = pulls, n = n, time_s = time_s),
            Self::Read(strength, extraction) => {
                say!(
                    "advisor-clauses-read",
                    pulls = pulls,
                    n = n,
                    strength = strength,
                    extraction = extraction
                )
            }
            Self::Marked(marks) => say!("advisor-clauses-marked", pulls = pulls, n = n, marks = marks),
            Self::Liked(liking) => say!("advisor-clauses-liked", pulls = pulls, n = n, liking = liking),
            Self::LikedBetter(liking) => {
                say!("advisor-clauses-liked-better", pulls = pulls, n = n, liking = liking)
            }
            Self::Points => say!("advisor-clauses-points", pulls = pulls, n = n),
            Self::Untried(lever, toward) => untried(*lever, *toward).to_owned(),
            Self::Between => say!("advisor-clauses-between", n = n),
            Self::Usual => word!("advisor-clauses-by-what-is-usual").to_owned(),
        }
    }

    /// Whether it says which way to move, and not only that something should.
    pub fn says_which_way(&self) -> bool {
        !matches!(self, Self::Liked(_))
    }

    /// Whether it says that nothing is known there yet.
    pub fn is_new_ground(&self) -> bool {
        matches!(self, Self::Untried(..) | Self::Between)
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
        from: &Recipe,
        to: &Recipe,
        changes: &'a [Change],
    ) -> Self {
        let posterior = search.posterior;
        let expected = |recipe: &Recipe| {
            let point = search.point(recipe);
            (posterior.mean(&posterior.times(&point)), posterior.expected_marks(&point))
        };
        let coarser = changes.iter().any(|c| c.lever == Lever::Grind && c.toward == Toward::Coarser);
        let less_dose = changes.iter().any(|c| c.lever == Lever::Dose && c.toward == Toward::Down);
        Self {
            case,
            posterior,
            day: search.day,
            to: expected(to),
            from: expected(from),
            by_the_clock: changes.iter().any(|c| c.lever != Lever::Temperature),
            changes,
            coarser,
            opens: coarser || less_dose,
        }
    }

    /// Whether the move is expected to lead away from what was marked, from that pull and from the last recipe, and no
    /// later cup says otherwise.
    fn cures(&self, shot: &Shot, attribute: Attribute, felt: f64) -> bool {
        let Some(mark) = shot.taste.mark(attribute).map(|mark| f64::from(mark.value())) else { return false };
        let newest = self.case.shots.iter().rev().find_map(|s| s.taste.mark(attribute));
        if newest.is_some_and(|newest| f64::from(newest.value()) * mark <= 0.0) {
            return false;
        }
        let then = self.posterior.frame.point(&shot.meant(self.posterior.frame.yield_g), self.day);
        let of = |marks: &[f64; 6]| {
            Attribute::ALL.into_iter().zip(marks).find(|(a, _)| *a == attribute).map_or(0.0, |(_, v)| *v)
        };
        let to = of(&self.to.1);
        (to - of(&self.posterior.expected_marks(&then))) * mark < -felt
            && (to - of(&self.from.1)) * mark < 0.0
    }

    /// What one kind of evidence of one pull says for the move; nothing where it is as it should be, or where the move
    /// does not answer it. `felt_mark` is the least change of an expected mark that a clause may speak for.
    pub fn what(&self, shot: &Shot, kind: Kind, window_s: (f64, f64), felt_mark: f64) -> Option<What> {
        let (ln_time, slower) = (self.to.0, self.to.0 - self.from.0);
        match kind {
            Kind::Time if shot.choked => {
                let then = self.posterior.frame.point(&shot.meant(self.posterior.frame.yield_g), self.day);
                let slow = self.posterior.mean(&self.posterior.times(&then));
                (self.opens && ln_time < slow - FELT_TIME).then_some(What::Choked)
            }
            Kind::Time if shot.spurting => self.coarser.then_some(What::Jets),
            Kind::Time => {
                let time_s = shot.time_s.filter(|t| t.is_finite() && *t > 1.0)?;
                let by = ln_time - libm::log(time_s);
                let answers = (time_s < window_s.0 && by > FELT_TIME && slower > 0.0)
                    || (time_s > window_s.1 && by < -FELT_TIME && slower < 0.0);
                // Not "ran 30 s" where 30 s would have been in time.
                let rounded = time_s.round();
                let decimals = usize::from((window_s.0..=window_s.1).contains(&rounded));
                (answers && self.by_the_clock).then(|| What::Ran(figure(time_s, decimals)))
            }
            Kind::Strength => shot.tds_pct.map(|s| {
                let extraction = s * shot.recipe.yield_g / shot.recipe.dose_g;
                What::Read(figure(s, 1), figure(extraction, 1))
            }),
            Kind::Marks if shot.taste.liking().is_some_and(|l| l >= LIKED_VERY_MUCH) => None,
            Kind::Marks => {
                let words = marks_in_words(shot, &|attribute| self.cures(shot, attribute, felt_mark));
                (!words.is_empty()).then_some(What::Marked(words))
            }
            Kind::Liking => {
                let liking = shot.taste.liking()?;
                let last = self.case.shots.iter().rev().find_map(|s| s.taste.liking());
                match self.heads_for(shot) {
                    true if last.is_some_and(|last| liking > last) => Some(What::LikedBetter(liking)),
                    true => None,
                    false => (liking < LIKED_WELL).then_some(What::Liked(liking)),
                }
            }
        }
    }

    /// Whether the move goes back towards a pull: by some lever, and by none away from it.
    fn heads_for(&self, shot: &Shot) -> bool {
        let aimed = self.case.aimed(shot);
        let each = self.changes.iter().filter_map(|change| {
            let way = aimed.get(change.lever)? - change.from;
            let near = self.case.gear.scale(change.lever)?.step() * 0.5;
            (way.abs() > near).then_some(way * (change.to - change.from) > 0.0)
        });
        let ways: Vec<bool> = each.collect();
        !ways.is_empty() && ways.iter().all(|towards| *towards)
    }

    /// Where the move goes that no pull has gone yet, with the pulls that show it: beyond all of them, or, by the one lever
    /// that moves, between two.
    pub fn new_ground(&self) -> Option<(Vec<u32>, What)> {
        let ran = || self.case.shots.iter().filter(|s| !s.choked);
        let at = |change: &Change| -> Vec<(u32, f64)> {
            ran().filter_map(|s| Some((s.label, self.case.aimed(s).get(change.lever)?))).collect()
        };
        let step = |change: &Change| self.case.gear.scale(change.lever).map_or(0.0, |s| 0.5 * s.step());
        let beyond = |change: &&Change| {
            let way = (change.to - change.from).signum();
            let tried = at(change);
            !tried.is_empty() && tried.iter().all(|(_, value)| (change.to - value) * way > step(change))
        };
        if let Some(change) = self.changes.iter().find(beyond) {
            return Some((ran().map(|s| s.label).collect(), What::Untried(change.lever, change.toward)));
        }
        let [only] = self.changes else { return None };
        let tried = at(only);
        let nearest = |side: f64| {
            let there = tried.iter().filter(|(_, value)| (value - only.to) * side > step(only));
            // Of pulls equally near the newest.
            there.rev().min_by(|a, b| (a.1 - only.to).abs().total_cmp(&(b.1 - only.to).abs()))
        };
        let apart = tried.iter().all(|(_, value)| (value - only.to).abs() > step(only));
        let (one, other) = (nearest(-1.0)?.0, nearest(1.0)?.0);
        apart.then(|| (vec![one.min(other), one.max(other)], What::Between))
    }
}
