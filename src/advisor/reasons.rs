//! Why: which evidence moved the answer. For each kind of evidence of each pull, the covariance over drawn worlds
//! between its log-likelihood and the gain of the move says how much it spoke for the move.

use super::Case;
use super::answer::Voices;
use super::answer::{Change, Reason, Source, Status, Toward};
use super::clauses::{Clause, FELT_MARK, Told, What};
use super::cups::{liked_very_much, tasted_of};
use super::decide::{Search, moved};
use super::facts::{self, RuleVoice, agreement, run_of};
use crate::domain::{Lever, Recipe};
use crate::infer::{Kind, Posterior, Shot};
use crate::rules::{Action, Proposal};
use crate::units::{Quantity, capital, figure, in_a_row, in_use, listed};

/// How strongly one kind of evidence of one pull speaks for the move (positive) or against it.
#[derive(Debug, Clone, Copy)]
struct Voice {
    pull: usize,
    kind: Kind,
    weight: f64,
    /// Whether it is clear of what the luck of the draw may say as well.
    sure: bool,
}

/// How many standard errors of the drawn worlds a voice must be clear of nothing.
const SURE_VOICE: f64 = 1.0;

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
            let sure = weight > SURE_VOICE * doubt.sqrt();
            out.push(Voice { pull, kind, weight: weight * sound, sure });
        }
    }
    out.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(b.pull.cmp(&a.pull)));
    out
}

/// Most clauses of one sentence.
const CLAUSES: usize = 2;
/// Least weight of a voice that is heard.
const HEARD: f64 = 0.01;
/// Least gain of liking that a move promises.
const PROMISED: f64 = 0.05;

/// What is said for a move: first what the newest pull says, which the reader has in the mouth, and what moved it most;
/// where that does not say which way, nor a rule of the trade does (`ruled`), what sent it this way. `promised` is whether
/// it promises a better cup, and is not made for finding out alone.
fn speaking(case: &Case, told: &Told<'_>, found: &[Voice], promised: bool, ruled: bool) -> Vec<Clause> {
    let mut out: Vec<Clause> = Vec::new();
    let say = |out: &mut Vec<Clause>, voice: &Voice, felt_mark: f64| {
        let Some(shot) = case.shots.get(voice.pull) else { return };
        let Some(clause) = told.clause(shot, voice.kind, felt_mark) else { return };
        if !voice.sure && !clause.what.says_which_way() {
            return;
        }
        // What two pulls say alike is said once.
        if let Some(said) = out.iter_mut().find(|said| said.what == clause.what) {
            said.pulls.extend(clause.pulls);
        } else if out.len() < CLAUSES && !out.iter().any(|said| said.what.is_a_reading_like(&clause.what)) {
            out.push(clause);
        }
    };
    let which_way = |out: &[Clause]| out.iter().any(|clause| clause.what.says_which_way());
    let newest = case.shots.len().saturating_sub(1);
    // A choke is answered first, whatever else is known.
    if let Some(choked) = case.shots.last().filter(|shot| shot.choked) {
        out.extend(told.clause(choked, Kind::Time, FELT_MARK));
    }
    for voice in found.iter().filter(|v| v.pull == newest && v.weight > 0.0) {
        if !which_way(&out) {
            say(&mut out, voice, FELT_MARK);
        }
    }
    found.iter().filter(|v| v.sure && v.weight > HEARD).for_each(|voice| say(&mut out, voice, FELT_MARK));
    // Where the grind moves for no reason yet, the newest time is one if the grind answers it.
    if out.len() < CLAUSES
        && !out.iter().any(|clause| clause.levers.contains(&Lever::Grind))
        && let Some(time) = case.shots.last().and_then(|last| told.clause(last, Kind::Time, FELT_MARK))
        && time.levers.contains(&Lever::Grind)
    {
        out.push(time);
    }
    // Where nothing sure says which way, what fits is still better than nothing.
    if !ruled && !which_way(&out) {
        found.iter().filter(|v| v.weight > 0.0).for_each(|voice| say(&mut out, voice, 0.0));
    }
    // A poor cup asks for a move whichever way; a good one would have been pulled again.
    if promised
        && out.is_empty()
        && let Some(last) = case.shots.last()
    {
        out.extend(told.clause(last, Kind::Liking, FELT_MARK));
    }
    if out.len() < CLAUSES && !ruled && !which_way(&out) {
        let first_cup = case.shots.iter().filter(|s| !s.taste.is_empty()).count() < 2;
        // What is usual says nothing against a style that somebody named, or a cup that was liked very much.
        let of_its_own = facts::of_its_own_style(case) || case.shots.last().is_some_and(liked_very_much);
        let usual = Clause { pulls: Vec::new(), what: What::Usual, levers: Vec::new() };
        let fits = |clause: &Clause| out.is_empty() || !matches!(clause.what, What::HadIt(_));
        let new_ground = || told.new_ground().filter(|clause| !promised && fits(clause));
        let usual = Some(usual).filter(|_| promised && first_cup && !of_its_own);
        let way = usual.or_else(new_ground);
        out.extend(way);
    }
    for clause in &mut out {
        clause.pulls.sort_unstable();
        clause.pulls.dedup();
    }
    // The newest first; what is about no pull last.
    out.sort_by_key(|clause| std::cmp::Reverse(clause.pulls.last().copied()));
    out
}

/// The sentence of what is said for a move: the levers that it speaks for, why, and what moves besides.
fn evidence(speaking: &[Clause], changes: &[Change], promised: bool) -> Option<Reason> {
    let before = std::iter::once(None).chain(speaking.iter().map(|clause| Some(&clause.pulls)));
    let clauses: Vec<String> = speaking
        .iter()
        .zip(before)
        .map(|(clause, before)| {
            clause.what.say(&clause.pulls, clause.pulls.len() == 1 && before == Some(&clause.pulls))
        })
        .collect();
    let clauses = Some(listed(&clauses)).filter(|clauses| !clauses.is_empty())?;
    let mut pulls: Vec<u32> = speaking.iter().flat_map(|clause| &clause.pulls).copied().collect();
    pulls.sort_unstable();
    pulls.dedup();
    let served = |change: &Change| speaking.iter().any(|clause| clause.levers.contains(&change.lever));
    let finding_out = !promised && speaking.iter().all(|clause| clause.what.is_new_ground());
    let all = finding_out || !changes.iter().any(served);
    let (first, besides): (Vec<&Change>, Vec<&Change>) = changes.iter().partition(|c| all || served(c));
    let words = |changes: &[&Change]| listed(&changes.iter().map(|c| toward(c)).collect::<Vec<_>>());
    let moves = capital(&words(&first));
    let text = if finding_out {
        say!("advisor-reasons-finding-out", moves = moves, clauses = clauses)
    } else if besides.is_empty() {
        say!("advisor-reasons-evidence", moves = moves, clauses = clauses)
    } else {
        say!(
            "advisor-reasons-evidence-besides",
            moves = moves,
            clauses = clauses,
            n = besides.len(),
            besides = words(&besides)
        )
    };
    Some(Reason { source: Source::Model, id: "model.evidence".to_owned(), text, pulls })
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

/// Most earlier bags that are named.
const NAMED_BAGS: usize = 3;

/// Rise of a chance that speaks for itself.
const LIKELIER: f64 = 0.05;

/// Points of liking that speak for themselves: of fewer, the chance that they bring tells more.
const MUCH_BETTER: f64 = 0.3;

/// Why more than one lever moves, and whether by a better chance.
fn several_words(levers: usize, gain: f64, (several, single): (f64, f64)) -> (String, bool) {
    let likelier = several - single >= LIKELIER;
    if gain >= if likelier { MUCH_BETTER } else { 0.1 } {
        (say!("advisor-reasons-several-gain", levers = levers, gain = figure(gain, 1)), false)
    } else if likelier {
        let in_100 = |chance: f64| figure(100.0 * chance, 0);
        let (several, single) = (in_100(several), in_100(single));
        let text =
            say!("advisor-reasons-several-chance", levers = levers, several = several, single = single);
        (text, true)
    } else {
        (say!("advisor-reasons-several", levers = levers), false)
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
    /// The first pull (from 0) since something changed that nobody entered.
    pub since: usize,
    /// The best candidate that moves one lever.
    pub single: usize,
    /// The last pull is odd.
    pub odd: bool,
    /// The last pull is to be repeated before it is believed.
    pub again: bool,
    /// Nothing was said of the last pull's cup, which ran in good time.
    pub unsaid: bool,
    /// Another candidate promises a better cup than `from`.
    pub more_promised: bool,
    /// No cup has been tasted or measured.
    pub untasted: bool,
    /// It is kept for cups that could hardly be liked more.
    pub praised: bool,
    /// It was said that the gear leaves nothing to move.
    pub end_of_gear: bool,
}

/// Why `choice`; `near` gives a candidate's chance of being near the best.
pub(super) fn reasons(
    case: &Case,
    posterior: &Posterior,
    search: &Search<'_>,
    choice: &Choice,
    (changes, rules): (&[Change], &RuleVoice),
    near: &dyn Fn(usize) -> f64,
) -> Vec<Reason> {
    let Choice { status, to, from, single, odd, again, .. } = *choice;
    let liking = |at: usize| search.seen.get(at).map_or(0.0, |c| c.liking);
    let mut out = Vec::new();
    if odd && let Some(shot) = case.shots.last() {
        out.push(Reason {
            source: Source::Guard,
            id: "guard.odd_pull".to_owned(),
            text: if status == Status::Adjust {
                say!("advisor-reasons-odd-moves", n = shot.label)
            } else if shot.choked {
                say!("advisor-reasons-odd-choke", n = shot.label)
            } else if case.shots.len() == 1 {
                say!("advisor-reasons-odd-first", n = shot.label)
            } else {
                say!("advisor-reasons-odd-pull", n = shot.label)
            },
            pulls: vec![shot.label],
        });
    }
    let gain = liking(to) - liking(from);
    let promised = gain >= PROMISED;
    // Whether what was said leaves it open whose word the move goes by, and whether a better chance was named.
    let (mut unheard, mut likelier) = (false, false);
    if status == Status::Adjust && !case.shots.is_empty() {
        let found = voices(posterior, search, to, from);
        let recipe = search.recipe(to).unwrap_or_else(|| case.current());
        let told = Told::new(case, search, &recipe, changes, choice.since);
        let ruled = rules.speaks_for(&case.gear, &case.current(), &recipe);
        let speaking = speaking(case, &told, &found, promised, ruled);
        unheard = speaking.is_empty() && !ruled;
        out.extend(evidence(&speaking, changes, promised));
        if changes.len() > 1 {
            let gain = liking(to) - liking(single);
            let (text, chance) = several_words(changes.len(), gain, (near(to), near(single)));
            likelier = chance;
            let id = "model.several".to_owned();
            out.push(Reason { source: Source::Model, id, text, pulls: Vec::new() });
        }
    }
    if status == Status::Adjust
        && changes.iter().any(|c| c.lever == Lever::Grind && c.toward == Toward::Finer)
    {
        out.extend(ran_faster_with_age(case).filter(|_| !odd));
    }
    // Where nothing but chokes is known of a bag, it says where not to begin.
    let telling = |shots: &[Shot]| shots.iter().any(|shot| shot.tells() && !shot.choked);
    let bags: Vec<&str> =
        case.earlier.iter().filter(|e| telling(&e.shots)).map(|e| e.bag.name.trim()).collect();
    if case.shots.is_empty() && !bags.is_empty() {
        // The newest by name, the others by their number.
        let named: Vec<&str> =
            bags.iter().rev().filter(|name| !name.is_empty()).take(NAMED_BAGS).copied().collect();
        let others = bags.len() - named.len();
        out.push(Reason {
            source: Source::Model,
            id: "model.earlier".to_owned(),
            text: match named.is_empty() {
                true => say!("advisor-reasons-earlier-unnamed", n = others),
                false => {
                    let of = bags.len();
                    say!("advisor-reasons-earlier", of = of, bags = listed(&named), n = others)
                }
            },
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
    // What a move gains over a choke cannot be told in points of liking. Of a move that promises no better cup by itself
    // the reasons before it have said what it is made for, if it is a first one or has the better chance.
    let choked = case.shots.last().is_some_and(|shot| shot.choked);
    let first = case.shots.is_empty() && !out.is_empty();
    let silent = match status {
        Status::Adjust => choked || !promised && (likelier || first),
        Status::Repeat => choice.end_of_gear,
        Status::Settled => false,
    };
    let all: Vec<u32> = case.shots.iter().map(|shot| shot.label).collect();
    let last = match status {
        Status::Adjust => Reason {
            source: Source::Model,
            id: "model.gain".to_owned(),
            text: if !promised {
                word!("advisor-reasons-no-gain").to_owned()
            } else if case.shots.is_empty() {
                say!("advisor-reasons-gain-first", gain = figure(gain, 1))
            } else if unheard {
                let (n, pulls, gain) = (all.len(), run_of(&all), figure(gain, 1));
                if case.shots.iter().filter(|s| !s.taste.is_empty()).count() < 2 {
                    say!("advisor-reasons-gain-usual", gain = gain, n = n, pulls = pulls)
                } else {
                    say!("advisor-reasons-gain-by", gain = gain, n = n, pulls = pulls)
                }
            } else {
                say!("advisor-reasons-gain", gain = figure(gain, 1))
            },
            pulls: if unheard { all } else { Vec::new() },
        },
        Status::Repeat => Reason {
            source: Source::Model,
            id: "model.stay".to_owned(),
            text: if case.shots.is_empty() && !bags.is_empty() {
                if !choice.more_promised {
                    word!("advisor-reasons-stay-first-earlier").to_owned()
                } else if case.aim.start.grind.is_none() && case.earlier_grind().is_some() {
                    word!("advisor-reasons-stay-first-good-there").to_owned()
                } else {
                    word!("advisor-reasons-stay-first-as-named").to_owned()
                }
            } else if case.shots.is_empty() {
                word!("advisor-reasons-stay-first").to_owned()
            } else if facts::unknown(case) {
                say!("advisor-reasons-stay-unknown", n = all.last().copied().unwrap_or(0))
            } else if choice.unsaid && !choice.untasted {
                say!("advisor-reasons-stay-unsaid", n = all.last().copied().unwrap_or(0))
            } else if choice.unsaid {
                word!("advisor-reasons-stay-taste").to_owned()
            } else if again && case.last_was_another() {
                word!("advisor-reasons-stay-planned").to_owned()
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
        Status::Settled => {
            let kept = search.recipe(to).filter(|_| to != from);
            let back = kept.map_or_else(Vec::new, |recipe| tasted_of(case, &recipe));
            let back: Vec<u32> = back.iter().map(|shot| shot.label).collect();
            let text = match (back.last(), choice.praised) {
                (Some(n), true) => say!("advisor-reasons-settled-praised-back", n = n),
                (Some(n), false) => say!("advisor-reasons-settled-back", n = n),
                (None, true) => word!("advisor-reasons-settled-praised").to_owned(),
                (None, false) => word!("advisor-reasons-settled").to_owned(),
            };
            Reason { source: Source::Model, id: "model.settled".to_owned(), text, pulls: back }
        }
    };
    if !silent {
        out.push(last);
    }
    out
}

/// Part of its time by which a pull must run faster than one of the same recipe, so many days before, for its beans' age to
/// be named: more than the scatter of two pulls (common practice, no source). And the most that a day of age makes of it, for
/// no more than that and the scatter is put down to age: up to 1 s a day of some 27 (trade).
const FASTER_WITH_AGE: f64 = 0.12;
const FASTER_A_DAY: f64 = 0.037;
const OLDER_DAYS: f64 = 1.0;

/// That the last pull ran faster than one of the same recipe on an earlier day, the newest there is.
fn ran_faster_with_age(case: &Case) -> Option<Reason> {
    let (last, before) = case.shots.split_last()?;
    let (now_s, today) = (last.ran_s()?, last.days_since_roast?);
    let recipe = case.aimed(last);
    let (then, then_s, days) = before.iter().rev().find_map(|shot| {
        let alike = moved(&case.gear, &case.aimed(shot), &recipe).is_empty() && !shot.tunnelled();
        let days = today - shot.days_since_roast?;
        Some((shot, shot.ran_s()?, days)).filter(|_| alike && days >= OLDER_DAYS)
    })?;
    let faster = 1.0 - now_s / then_s;
    let by_age = FASTER_WITH_AGE..FASTER_WITH_AGE + FASTER_A_DAY * days;
    (by_age.contains(&faster) && !last.tunnelled()).then(|| Reason {
        source: Source::Model,
        id: "model.age".to_owned(),
        text: say!(
            "advisor-reasons-age",
            n = last.label,
            now_s = figure(now_s, 0),
            then = then.label,
            then_s = figure(then_s, 0),
            days = days.round()
        ),
        pulls: vec![then.label, last.label],
    })
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
    let named = |proposal: &Proposal| match case.shots.last().filter(|_| proposal.of_a_pull) {
        Some(shot) => say!("advisor-reasons-rule-of-pull", n = shot.label, because = proposal.because),
        None => say!("advisor-reasons-rule", because = capital(&proposal.because)),
    };
    let mut voices = Voices { model: move_words(case, current, chosen), ..Voices::default() };
    let (mut own, mut of_the_bag) = (Vec::new(), Vec::new());
    let mut asked = Vec::new();
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
        // Rules come in their order of strength; of those that ask for the same the first will do.
        let kind = std::mem::discriminant(&proposal.action);
        let said = agrees && asked.contains(&kind);
        if agrees {
            asked.push(kind);
        }
        let prepare = proposal.action == Action::Prepare && proposal.strength > 0.25;
        // Nor is said again what a guard of the same name has said.
        let guard = format!("guard.{}", proposal.id);
        if (agrees && !said || prepare) && !reasons.iter().any(|reason| reason.id == guard) {
            let reason = Reason {
                source: Source::Rule,
                id: format!("rule.{}", proposal.id),
                text: named(proposal),
                pulls: if proposal.of_a_pull { pulls.clone() } else { Vec::new() },
            };
            // What is said of the bag as it is moves nothing.
            let moves_nothing = proposal.action == Action::Prepare && !proposal.of_a_pull;
            if moves_nothing && !changes.is_empty() { of_the_bag.push(reason) } else { own.push(reason) }
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
    reasons.append(&mut of_the_bag);
    if case.shots.last().is_some_and(|shot| shot.choked) {
        reasons.push(Reason {
            source: Source::Guard,
            id: "guard.pressure".to_owned(),
            text: word!("advisor-reasons-pressure").to_owned(),
            pulls: Vec::new(),
        });
    }
    if moved(&case.gear, current, chosen).contains(&Lever::Grind) && !case.shots.is_empty() {
        reasons.push(Reason {
            source: Source::Guard,
            id: "guard.purge".to_owned(),
            text: word!("advisor-reasons-purge").to_owned(),
            pulls: Vec::new(),
        });
    }
    voices
}
