//! Why: which evidence moved the answer. For each kind of evidence of each pull, the covariance over drawn worlds
//! between its log-likelihood and the gain of the move says how much it spoke for the move.

use super::Case;
use super::answer::Voices;
use super::answer::{Change, Reason, Source, Status, Toward};
use super::decide::{Search, moved};
use super::facts::{RuleVoice, agreement};
use crate::domain::{Attribute, Lever, Recipe};
use crate::infer::{Kind, Posterior, Shot};
use crate::rules::Action;
use crate::units::{Quantity, capital, figure, in_a_row, in_use, listed};

/// How strongly one kind of evidence of one pull speaks for the move (positive) or against it.
#[derive(Debug, Clone, Copy)]
struct Voice {
    pull: usize,
    kind: Kind,
    weight: f64,
}

/// How many standard errors of the drawn worlds a voice must be clear of nothing.
const SURE_VOICE: f64 = 1.0;
/// Times (s) that are nothing to speak of where no window was named (common practice, no source).
const PLAIN_TIME_S: (f64, f64) = (23.0, 33.0);
/// Least liking that is no reason to move, and from which on no mark is one either.
const LIKED_WELL: u8 = 7;
const LIKED_VERY_MUCH: u8 = 8;

fn voices(posterior: &Posterior, search: &Search<'_>, to: usize, from: usize) -> Vec<Voice> {
    let (Some(a), Some(b)) = (search.seen.get(to), search.seen.get(from)) else { return Vec::new() };
    let gain: Vec<f64> = a.likings.iter().zip(&b.likings).map(|(x, y)| x - y).collect();
    let mean_gain = posterior.mean(&gain);
    let mut out = Vec::new();
    let first = posterior.observed.len().saturating_sub(12);
    for pull in first..posterior.observed.len() {
        let Some(logs) = posterior.log_likelihoods(pull) else { continue };
        let sound = posterior.sound.get(pull).copied().unwrap_or(0.0);
        for kind in Kind::ALL {
            let own: Vec<f64> =
                logs.iter().map(|l| l.get(Posterior::kind_index(kind)).copied().unwrap_or(0.0)).collect();
            let mean = posterior.mean(&own);
            let each = posterior.worlds.iter().zip(own.iter().zip(&gain));
            let each: Vec<(f64, f64)> =
                each.map(|(w, (l, g))| (w.weight, (l - mean) * (g - mean_gain))).collect();
            let weight: f64 = each.iter().map(|(w, product)| w * product).sum();
            let doubt: f64 = each.iter().map(|(w, product)| (w * (product - weight)).powi(2)).sum();
            // What the luck of the draw may say as well says nothing.
            if weight > SURE_VOICE * doubt.sqrt() {
                out.push(Voice { pull, kind, weight: weight * sound });
            }
        }
    }
    out.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(b.pull.cmp(&a.pull)));
    out
}

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
            (Attribute::Sourness, 2) => word!("advisor-reasons-far-too-sour"),
            (Attribute::Sourness, 1) => word!("advisor-reasons-too-sour"),
            (Attribute::Sourness, _) => word!("advisor-reasons-not-sour-enough"),
            (Attribute::Bitterness, 2) => word!("advisor-reasons-far-too-bitter"),
            (Attribute::Bitterness, 1) => word!("advisor-reasons-too-bitter"),
            (Attribute::Bitterness, _) => word!("advisor-reasons-not-bitter-enough"),
            (Attribute::Strength, 2) => word!("advisor-reasons-far-too-strong"),
            (Attribute::Strength, 1) => word!("advisor-reasons-too-strong"),
            (Attribute::Strength, -1) => word!("advisor-reasons-too-weak"),
            (Attribute::Strength, _) => word!("advisor-reasons-far-too-weak"),
            (Attribute::Body, 1..) => word!("advisor-reasons-too-heavy"),
            (Attribute::Body, _) => word!("advisor-reasons-too-thin"),
            (Attribute::Astringency, 1..) => word!("advisor-reasons-too-drying"),
            (Attribute::Astringency, _) => word!("advisor-reasons-not-drying-enough"),
            (Attribute::Sweetness, 1..) => word!("advisor-reasons-too-sweet"),
            (Attribute::Sweetness, _) => word!("advisor-reasons-not-sweet-enough"),
        };
        words.push((v.abs(), word));
    }
    words.sort_by_key(|(v, _)| -i32::from(*v));
    listed(&words.into_iter().take(3).map(|(_, w)| w).collect::<Vec<_>>())
}

/// Least change that a clause may speak for: of an expected mark, and of ln time.
const FELT_MARK: f64 = 0.05;
const FELT_TIME: f64 = 0.02;

/// What a move is expected to do, beside which each clause is held: evidence may speak for a move in ways that no
/// sentence tells, but a sentence that a reader would turn round is none.
struct Told<'a> {
    case: &'a Case,
    posterior: &'a Posterior,
    day: Option<f64>,
    /// ln time and marks expected of the recipe to pull, and of the one it is moved from.
    to: (f64, [f64; 6]),
    from: (f64, [f64; 6]),
    /// Whether a lever moves that steers the clock: any but the temperature.
    by_the_clock: bool,
    coarser: bool,
    /// Coarser, or less coffee: what a choke asks for.
    opens: bool,
}

/// What a clause says of one or more pulls.
#[derive(Debug, Clone, PartialEq, Eq)]
enum What {
    Choked,
    Jets,
    Ran(String),
    Read(String, String),
    Marked(String),
    Liked(u8),
}

impl What {
    /// The clause; `again` where the clause before it spoke of the same one pull.
    fn say(&self, labels: &[u32], again: bool) -> String {
        let pulls = if again { 0 } else { labels.len() };
        let n = listed(&labels.iter().map(u32::to_string).collect::<Vec<_>>());
        match self {
            Self::Choked => say!("advisor-reasons-choked", pulls = pulls, n = n),
            Self::Jets => say!("advisor-reasons-jets", pulls = pulls, n = n),
            Self::Ran(time_s) => say!("advisor-reasons-ran", pulls = pulls, n = n, time_s = time_s),
            Self::Read(strength, extraction) => {
                say!(
                    "advisor-reasons-read",
                    pulls = pulls,
                    n = n,
                    strength = strength,
                    extraction = extraction
                )
            }
            Self::Marked(marks) => say!("advisor-reasons-marked", pulls = pulls, n = n, marks = marks),
            Self::Liked(liking) => say!("advisor-reasons-liked", pulls = pulls, n = n, liking = liking),
        }
    }
}

/// Most clauses of one sentence.
const CLAUSES: usize = 2;

impl<'a> Told<'a> {
    fn new(case: &'a Case, search: &Search<'a>, from: &Recipe, to: &Recipe, changes: &[Change]) -> Self {
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
            coarser,
            opens: coarser || less_dose,
        }
    }

    /// Whether the move is expected to lead away from what was marked, from that pull and from the last recipe, and no
    /// later cup says otherwise.
    fn cures(&self, shot: &Shot, attribute: Attribute) -> bool {
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
        (to - of(&self.posterior.expected_marks(&then))) * mark < -FELT_MARK
            && (to - of(&self.from.1)) * mark < 0.0
    }

    /// What one kind of evidence of one pull says for the move; nothing where it is as it should be, or where the move
    /// does not answer it.
    fn what(&self, shot: &Shot, kind: Kind, window_s: (f64, f64)) -> Option<What> {
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
                let words = marks_in_words(shot, &|attribute| self.cures(shot, attribute));
                (!words.is_empty()).then_some(What::Marked(words))
            }
            Kind::Liking => shot.taste.liking().filter(|l| *l < LIKED_WELL).map(What::Liked),
        }
    }
}

fn toward(change: &Change) -> &'static str {
    match (change.lever, change.toward) {
        (Lever::Grind, Toward::Coarser) => word!("advisor-reasons-coarser"),
        (Lever::Grind, _) => word!("advisor-reasons-finer"),
        (Lever::Dose, Toward::Up) => word!("advisor-reasons-more-dose"),
        (Lever::Dose, _) => word!("advisor-reasons-less-dose"),
        (Lever::Yield, Toward::Up) => word!("advisor-reasons-more-yield"),
        (Lever::Yield, _) => word!("advisor-reasons-less-yield"),
        (Lever::Temperature, Toward::Up) => word!("advisor-reasons-more-heat"),
        (Lever::Temperature, _) => word!("advisor-reasons-less-heat"),
    }
}

/// Why more than one lever moves.
fn several_words(levers: usize, gain: f64, (several, single): (f64, f64)) -> String {
    if gain >= 0.1 {
        say!("advisor-reasons-several-gain", levers = levers, gain = figure(gain, 1))
    } else if several - single >= 0.02 {
        let in_100 = |chance: f64| figure(100.0 * chance, 0);
        say!(
            "advisor-reasons-several-chance",
            levers = levers,
            several = in_100(several),
            single = in_100(single)
        )
    } else {
        say!("advisor-reasons-several", levers = levers)
    }
}

/// A choice among the candidates of a search, and how it came about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    /// What to do.
    pub status: Status,
    /// The chosen candidate.
    pub to: usize,
    /// The candidate to measure changes from.
    pub from: usize,
    /// The best candidate that moves one lever.
    pub single: usize,
    /// The last pull is odd.
    pub odd: bool,
    /// The last pull is to be repeated before it is believed.
    pub again: bool,
    /// Another candidate promises a better cup than `from`.
    pub more_promised: bool,
    /// No cup has been tasted or measured.
    pub untasted: bool,
    /// It is kept for cups that could hardly be liked more.
    pub praised: bool,
}

/// Why `choice`; `near` gives a candidate's chance of being near the best.
pub(super) fn reasons(
    case: &Case,
    posterior: &Posterior,
    search: &Search<'_>,
    choice: &Choice,
    changes: &[Change],
    near: &dyn Fn(usize) -> f64,
) -> Vec<Reason> {
    let Choice { status, to, from, single, odd, again, .. } = *choice;
    let liking = |at: usize| search.seen.get(at).map_or(0.0, |c| c.liking);
    let window_s = case.aim.time_window_s.unwrap_or(PLAIN_TIME_S);
    let mut out = Vec::new();
    if odd && let Some(shot) = case.shots.last() {
        out.push(Reason {
            source: Source::Guard,
            id: "guard.odd_pull".to_owned(),
            text: if shot.choked {
                say!("advisor-reasons-odd-choke", n = shot.label)
            } else if status == Status::Adjust {
                say!("advisor-reasons-odd-moves", n = shot.label)
            } else if case.shots.len() == 1 {
                say!("advisor-reasons-odd-first", n = shot.label)
            } else {
                say!("advisor-reasons-odd-pull", n = shot.label)
            },
            pulls: vec![shot.label],
        });
    }
    if status == Status::Adjust && !case.shots.is_empty() {
        let found = voices(posterior, search, to, from);
        let recipe = search.recipe(to).unwrap_or_else(|| case.current());
        let told = Told::new(case, search, &case.current(), &recipe, changes);
        let mut speaking: Vec<(Vec<u32>, What)> = Vec::new();
        for voice in found.iter().filter(|v| v.weight > 0.01) {
            let Some(shot) = case.shots.get(voice.pull) else { continue };
            let Some(what) = told.what(shot, voice.kind, window_s) else { continue };
            // What two pulls say alike is said once.
            if let Some((labels, _)) = speaking.iter_mut().find(|(_, said)| *said == what) {
                labels.push(shot.label);
            } else if speaking.len() < CLAUSES {
                speaking.push((vec![shot.label], what));
            }
        }
        speaking.iter_mut().for_each(|(labels, _)| labels.sort_unstable());
        // The newest first: it is what the reader has in the mouth.
        speaking.sort_by_key(|(labels, _)| std::cmp::Reverse(labels.last().copied()));
        let moves: Vec<&str> = changes.iter().map(toward).collect();
        if !speaking.is_empty() {
            let before = std::iter::once(None).chain(speaking.iter().map(|(labels, _)| Some(labels)));
            let clauses: Vec<String> = speaking
                .iter()
                .zip(before)
                .map(|((labels, what), before)| what.say(labels, labels.len() == 1 && before == Some(labels)))
                .collect();
            let mut pulls: Vec<u32> = speaking.iter().flat_map(|(labels, _)| labels).copied().collect();
            pulls.sort_unstable();
            pulls.dedup();
            out.push(Reason {
                source: Source::Model,
                id: "model.evidence".to_owned(),
                text: say!(
                    "advisor-reasons-evidence",
                    moves = capital(&listed(&moves)),
                    clauses = listed(&clauses)
                ),
                pulls,
            });
        }
        if changes.len() > 1 {
            out.push(Reason {
                source: Source::Model,
                id: "model.several".to_owned(),
                text: several_words(changes.len(), liking(to) - liking(single), (near(to), near(single))),
                pulls: Vec::new(),
            });
        }
    }
    let gain = liking(to) - liking(from);
    let telling = |shots: &[Shot]| shots.iter().any(Shot::tells);
    let bags: Vec<&str> =
        case.earlier.iter().filter(|e| telling(&e.shots)).map(|e| e.bag.name.as_str()).collect();
    if case.shots.is_empty() && !bags.is_empty() {
        out.push(Reason {
            source: Source::Model,
            id: "model.earlier".to_owned(),
            text: say!("advisor-reasons-earlier", bags = listed(&bags)),
            pulls: Vec::new(),
        });
    } else if case.shots.is_empty() && status == Status::Adjust {
        out.push(Reason {
            source: Source::Model,
            id: "model.usual".to_owned(),
            text: word!("advisor-reasons-usual").to_owned(),
            pulls: Vec::new(),
        });
    }
    // A first move that promises no better cup is made for a better chance, and the reason before says why.
    let silent = status == Status::Adjust && case.shots.is_empty() && gain < 0.05 && !out.is_empty();
    let last = match status {
        Status::Adjust => Reason {
            source: Source::Model,
            id: "model.gain".to_owned(),
            text: if gain >= 0.05 && case.shots.is_empty() {
                say!("advisor-reasons-gain-first", gain = figure(gain, 1))
            } else if gain >= 0.05 {
                say!("advisor-reasons-gain", gain = figure(gain, 1))
            } else {
                word!("advisor-reasons-no-gain").to_owned()
            },
            pulls: Vec::new(),
        },
        Status::Repeat => Reason {
            source: Source::Model,
            id: "model.stay".to_owned(),
            text: if case.shots.is_empty() && !bags.is_empty() {
                word!("advisor-reasons-stay-first-earlier").to_owned()
            } else if case.shots.is_empty() {
                word!("advisor-reasons-stay-first").to_owned()
            } else if again {
                word!("advisor-reasons-stay-check").to_owned()
            } else if choice.untasted {
                word!("advisor-reasons-stay-taste").to_owned()
            } else if choice.more_promised {
                word!("advisor-reasons-stay-again").to_owned()
            } else {
                word!("advisor-reasons-stay").to_owned()
            },
            pulls: Vec::new(),
        },
        Status::Settled => Reason {
            source: Source::Model,
            id: "model.settled".to_owned(),
            text: if choice.praised {
                word!("advisor-reasons-settled-praised").to_owned()
            } else {
                word!("advisor-reasons-settled").to_owned()
            },
            pulls: Vec::new(),
        },
    };
    if !silent {
        out.push(last);
    }
    out
}

/// One move in the gear's own steps, in words.
fn move_words(case: &Case, from: &Recipe, to: &Recipe) -> String {
    let parts: Vec<String> = super::answer::changes(case, from, to)
        .iter()
        .map(|c| {
            let n = c.steps.unsigned_abs();
            let between = |quantity| {
                let units = in_use();
                let (from, _, decimals) = units.convert(quantity, c.from);
                (units.number(from, decimals), units.value(quantity, c.to))
            };
            match (c.lever, c.toward) {
                (Lever::Grind, Toward::Finer) => say!("advisor-reasons-steps-finer", n = n),
                (Lever::Grind, _) => say!("advisor-reasons-steps-coarser", n = n),
                (Lever::Dose, _) => {
                    let (from, to) = between(Quantity::Dose);
                    say!("advisor-reasons-dose", from = from, to = to)
                }
                (Lever::Yield, _) => {
                    let (from, to) = between(Quantity::Yield);
                    say!("advisor-reasons-yield", from = from, to = to)
                }
                (Lever::Temperature, _) => {
                    let (from, to) = between(Quantity::Temperature);
                    say!("advisor-reasons-temperature", from = from, to = to)
                }
            }
        })
        .collect();
    if parts.is_empty() { word!("advisor-reasons-no-change").to_owned() } else { in_a_row(&parts) }
}

/// Adds what the rules say (agreeing rules as reasons, disagreeing ones as a conflict) and sets both voices side by side.
pub(super) fn rule_reasons(
    case: &Case,
    rules: &RuleVoice,
    current: &Recipe,
    chosen: &Recipe,
    changes: &[Change],
    reasons: &mut Vec<Reason>,
) -> Voices {
    let pulls: Vec<u32> = case.shots.last().map(|s| s.label).into_iter().collect();
    let named = |text: &str| match case.shots.last() {
        Some(shot) => say!("advisor-reasons-rule-of-pull", n = shot.label, because = text),
        None => say!("advisor-reasons-rule", because = capital(text)),
    };
    let mut voices = Voices { model: move_words(case, current, chosen), ..Voices::default() };
    let mut own = Vec::new();
    for (proposal, wanted) in rules.proposals.iter().zip(&rules.recipes) {
        let moves = !moved(&case.gear, current, wanted).is_empty();
        let mut text = if proposal.action == Action::Prepare {
            proposal.because.clone()
        } else {
            let moves = move_words(case, current, wanted);
            say!("advisor-reasons-rule-moves", because = proposal.because, moves = moves)
        };
        if let Some(by) = proposal.overruled_by.first() {
            let stronger = rules.proposals.iter().find(|other| other.id == *by);
            let why = stronger.map_or(by, |other| &other.because);
            text = say!("advisor-reasons-overruled", said = text, by = why);
        }
        voices.rules.push(text);
        if !proposal.overruled_by.is_empty() {
            continue;
        }
        let agrees = moves && agreement(&case.gear, current, wanted, chosen) > 0.0;
        let prepare = proposal.action == Action::Prepare && proposal.strength > 0.25;
        if agrees || prepare {
            own.push(Reason {
                source: Source::Rule,
                id: format!("rule.{}", proposal.id),
                text: named(&proposal.because),
                pulls: pulls.clone(),
            });
        } else if moves && agreement(&case.gear, current, wanted, chosen) < 0.0 && voices.conflict.is_none() {
            voices.conflict = Some(say!(
                "advisor-reasons-conflict",
                rule = proposal.because,
                moves = move_words(case, current, wanted),
                model = voices.model
            ));
        }
    }
    if let Some(conflict) = &voices.conflict
        && !changes.is_empty()
    {
        own.push(Reason {
            source: Source::Rule,
            id: "rule.conflict".to_owned(),
            text: conflict.clone(),
            pulls,
        });
    }
    // Behind guards and the model's own evidence, before the plain expectation.
    let at =
        reasons.iter().position(|r| r.id == "model.gain" || r.id == "model.stay").unwrap_or(reasons.len());
    for reason in own.into_iter().rev() {
        reasons.insert(at, reason);
    }
    if changes.iter().any(|c| c.lever == Lever::Grind) && !case.shots.is_empty() {
        reasons.push(Reason {
            source: Source::Guard,
            id: "guard.purge".to_owned(),
            text: word!("advisor-reasons-purge").to_owned(),
            pulls: Vec::new(),
        });
    }
    voices
}
