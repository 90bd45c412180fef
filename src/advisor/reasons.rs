//! Why: which evidence moved the answer. For each kind of evidence of each pull, the covariance over drawn worlds
//! between its log-likelihood and the gain of the move says how much it spoke for the move.

use super::answer::{Change, Reason, Source, Status, Toward};
use super::decide::Search;
use super::Case;
use crate::domain::{Attribute, Lever};
use crate::infer::{Kind, Posterior, Shot};

/// How strongly one kind of evidence of one pull speaks for the move (positive) or against it.
#[derive(Debug, Clone, Copy)]
struct Voice {
    pull: usize,
    kind: Kind,
    weight: f64,
}

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
            let weight: f64 = posterior
                .worlds
                .iter()
                .zip(own.iter().zip(&gain))
                .map(|(w, (l, g))| w.weight * (l - mean) * (g - mean_gain))
                .sum();
            out.push(Voice { pull, kind, weight: weight * sound });
        }
    }
    out.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(b.pull.cmp(&a.pull)));
    out
}

/// The marks of a cup in words, strongest first; empty when nothing was marked away from just right.
pub(super) fn taste_words(shot: &Shot) -> String {
    let mut words: Vec<(i8, &str)> = Vec::new();
    for attribute in Attribute::ALL {
        let Some(mark) = shot.taste.mark(attribute) else { continue };
        let v = mark.value();
        let word = match (attribute, v) {
            (_, 0) => continue,
            (Attribute::Sourness, 2) => "far too sour",
            (Attribute::Sourness, 1) => "too sour",
            (Attribute::Sourness, _) => "not sour enough",
            (Attribute::Bitterness, 2) => "far too bitter",
            (Attribute::Bitterness, 1) => "too bitter",
            (Attribute::Bitterness, _) => "not bitter enough",
            (Attribute::Strength, 2) => "far too strong",
            (Attribute::Strength, 1) => "too strong",
            (Attribute::Strength, -1) => "too weak",
            (Attribute::Strength, _) => "far too weak",
            (Attribute::Body, 1..) => "too heavy",
            (Attribute::Body, _) => "too thin",
            (Attribute::Astringency, 1..) => "too drying",
            (Attribute::Astringency, _) => "not drying enough",
            (Attribute::Sweetness, 1..) => "too sweet",
            (Attribute::Sweetness, _) => "not sweet enough",
        };
        words.push((v.abs(), word));
    }
    words.sort_by_key(|(v, _)| -i32::from(*v));
    let words: Vec<&str> = words.into_iter().take(3).map(|(_, w)| w).collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// What one kind of evidence of one pull says, as a clause.
fn clause(shot: &Shot, kind: Kind) -> Option<String> {
    let n = shot.label;
    match kind {
        Kind::Time if shot.choked => Some(format!("pull {n} choked")),
        Kind::Time => shot.time_s.map(|t| format!("pull {n} ran {t:.0} s")),
        Kind::Strength => shot.tds_pct.map(|s| {
            let extraction = s * shot.recipe.yield_g / shot.recipe.dose_g;
            format!("pull {n} read {s:.1} % strong, {extraction:.1} % extracted")
        }),
        Kind::Marks => {
            let words = taste_words(shot);
            if words.is_empty() {
                Attribute::ALL
                    .iter()
                    .any(|a| shot.taste.mark(*a).is_some())
                    .then(|| format!("you marked pull {n} just right"))
            } else {
                Some(format!("you marked pull {n} {words}"))
            }
        }
        Kind::Liking => shot.taste.liking().map(|l| format!("you gave pull {n} {l} of 9")),
    }
}

fn toward(change: &Change) -> String {
    let what = match change.lever {
        Lever::Grind => return match change.toward {
            Toward::Coarser => "a coarser grind".to_owned(),
            _ => "a finer grind".to_owned(),
        },
        Lever::Dose => "dose",
        Lever::Yield => "drink in the cup",
        Lever::Temperature => "heat",
    };
    format!("{} {what}", if change.toward == Toward::Up { "more" } else { "less" })
}

#[allow(clippy::too_many_arguments)]
pub(super) fn reasons(
    case: &Case,
    posterior: &Posterior,
    search: &Search<'_>,
    status: Status,
    to: usize,
    from: usize,
    changes: &[Change],
    odd: bool,
    several_gain: f64,
) -> Vec<Reason> {
    let mut out = Vec::new();
    if odd && let Some(shot) = case.shots.last() {
        out.push(Reason {
            source: Source::Guard,
            id: "guard.odd_pull".to_owned(),
            text: format!(
                "Pull {} does not fit the others; it counts for little until it is repeated.",
                shot.label
            ),
            pulls: vec![shot.label],
        });
    }
    if status == Status::Adjust && !case.shots.is_empty() {
        let found = voices(posterior, search, to, from);
        let speaking: Vec<(&Shot, String)> = found
            .iter()
            .filter(|v| v.weight > 0.01)
            .filter_map(|v| {
                let shot = case.shots.get(v.pull)?;
                clause(shot, v.kind).map(|c| (shot, c))
            })
            .take(2)
            .collect();
        let moves: Vec<String> = changes.iter().map(toward).collect();
        if !speaking.is_empty() {
            let clauses: Vec<&str> = speaking.iter().map(|(_, c)| c.as_str()).collect();
            let mut pulls: Vec<u32> = speaking.iter().map(|(s, _)| s.label).collect();
            pulls.sort_unstable();
            pulls.dedup();
            out.push(Reason {
                source: Source::Model,
                id: "model.evidence".to_owned(),
                text: format!("Because {}: that speaks for {}.", clauses.join(" and "), moves.join(" and ")),
                pulls,
            });
        }
        if changes.len() > 1 {
            out.push(Reason {
                source: Source::Model,
                id: "model.several".to_owned(),
                text: format!(
                    "Moving {} levers at once promises about {several_gain:.1} points more than any single move.",
                    changes.len()
                ),
                pulls: Vec::new(),
            });
        }
    }
    let gain = search.seen.get(to).map_or(0.0, |c| c.mean) - search.seen.get(from).map_or(0.0, |c| c.mean);
    out.push(match status {
        Status::Adjust => Reason {
            source: Source::Model,
            id: "model.gain".to_owned(),
            text: format!("Expected gain over the last recipe: about {:.1} points of liking.", gain.max(0.0)),
            pulls: Vec::new(),
        },
        Status::Repeat => Reason {
            source: Source::Model,
            id: "model.stay".to_owned(),
            text: if case.shots.is_empty() {
                "Nothing is known yet; begin with this recipe and taste it.".to_owned()
            } else {
                "No move promises more than this recipe does now; a second pull of it tells more.".to_owned()
            },
            pulls: Vec::new(),
        },
        Status::Settled => Reason {
            source: Source::Model,
            id: "model.settled".to_owned(),
            text: "Another change is not worth its coffee: this recipe is very likely within half a point of the best."
                .to_owned(),
            pulls: Vec::new(),
        },
    });
    out
}
