//! Facts about a case that guards and rules look at, and what the rules make of them in this gear's own steps.

use super::answer::{Reason, Source};
use super::clauses::{PLAIN_TIME_S, taste_words};
use super::cups;
use super::decide::{is_of_its_own_style, moved};
use super::direction::{self, Speaks};
use super::hear::Heard;
use super::reach::{self, Reach};
use super::{Case, Desk, Settings};
use crate::domain::{Attribute, Gear, Lever, Recipe, Scale};
use crate::infer::{Frame, LEAST_EXTRACTION_PCT, MOST_EXTRACTION_PCT, Posterior, Shot, Unknown};
use crate::rules::{self, Action, Facts, Proposal};
use crate::trace::{cups_apart, times_apart};
use crate::units::{Quantity, figure, listed, rounded};

/// How many times shorter or longer than a window that was named a time may be and still be near it: one move of the grinder
/// by a few clicks mends that (common practice, no source).
pub(super) const NEAR_WINDOW: f64 = 1.3;

/// Named facts of a case; pulls are compared with those from `since` (from 0) on.
pub(super) fn facts(case: &Case, since: usize) -> Facts {
    let mut out = Facts::new();
    out.insert("pulls", case.shots.len() as f64);
    if case.bag.roast.is_some() {
        out.insert("darkness", case.bag.darkness());
    }
    let age = case
        .age_today
        .or_else(|| case.shots.iter().rev().find_map(|s| s.days_since_roast))
        .or(case.bag.days_since_roast);
    if let Some(age) = age {
        out.insert("days_since_roast", age);
        let today = case.shots.iter().filter(|s| s.days_since_roast.is_some_and(|d| (d - age).abs() < 0.5));
        let cups = today.clone().filter(|s| !s.taste.is_empty()).count();
        out.insert("cups_today", cups as f64);
        out.insert("pulls_today", today.count() as f64);
    }
    let Some(shot) = case.shots.last() else { return out };
    let mut put = |name: &'static str, value: Option<f64>| {
        if let Some(v) = value.filter(|v| v.is_finite()) {
            out.insert(name, v);
        }
    };
    // The time of another drink than was planned is not that of the recipe.
    let time_s = shot.ran_s().filter(|_| shot.missed_plan().is_none());
    put("time_s", time_s);
    let in_time = |t: f64| match case.aim.time_window_s {
        Some((from, to)) => (from..=to).contains(&t),
        // 22.95 s is written 23.
        None => (PLAIN_TIME_S.0 - 0.05..=PLAIN_TIME_S.1 + 0.05).contains(&t),
    };
    put("in_time", time_s.map(|t| f64::from(u8::from(in_time(t)))));
    put("first_drip_s", shot.dripped_s());
    put("ratio", shot.recipe.ratio());
    put("choked", Some(f64::from(u8::from(shot.choked))));
    put("spurting", Some(f64::from(u8::from(shot.spurting && !shot.choked))));
    put("channel", shot.gist.map(|_| shot.channel()));
    put("finer_faster_pct", direction::finer_faster_pct(case, since));
    // What little runs from a choked pull is no cup, and what jets did to one is not the recipe's.
    if !shot.choked {
        put("tds_pct", shot.tds_pct);
        put("extraction_pct", shot.extraction_pct());
    }
    if !shot.choked && !shot.spurting {
        let names = ["sourness", "bitterness", "strength", "body", "astringency", "sweetness"];
        for (attribute, name) in Attribute::ALL.into_iter().zip(names) {
            put(name, shot.taste.mark(attribute).map(|m| f64::from(m.value())));
        }
        put("liking", shot.taste.liking().map(f64::from));
    }
    if let (Some(t), Some((from, to))) = (time_s, case.aim.time_window_s) {
        put("outside_window_s", Some(if t < from { t - from } else { (t - to).max(0.0) }));
        put("in_window", Some(f64::from(u8::from((from..=to).contains(&t)))));
        let near = (from / NEAR_WINDOW..=to * NEAR_WINDOW).contains(&t);
        put("near_window", Some(f64::from(u8::from(near))));
    }
    out
}

/// Share of the standard time in which the bed rules the flow, from the means of the unknowns.
pub(super) fn flowing(mean: impl Fn(Unknown) -> f64) -> f64 {
    1.0 / (1.0 + libm::exp(mean(Unknown::DeadShare)))
}

/// Rise of ln time per grinder unit toward finer at the standard time, from the means of the unknowns.
pub(super) fn per_unit(mean: impl Fn(Unknown) -> f64) -> f64 {
    let of_flow = libm::exp(mean(Unknown::LnExponent) + mean(Unknown::LnSizePerUnit));
    (of_flow * flowing(mean)).max(1e-9)
}

/// The window that was named, where it is of a style of its own.
pub(super) fn own_style_s(case: &Case) -> Option<(f64, f64)> {
    case.aim.time_window_s.filter(|window_s| is_of_its_own_style(*window_s))
}

/// Whether such a window was named.
pub(super) fn of_its_own_style(case: &Case) -> bool {
    own_style_s(case).is_some()
}

/// How far apart two recipes are, squared, in usual moves of dose, ratio and temperature.
pub(super) fn distance(frame: &Frame, from: &Recipe, to: &Recipe, day: Option<f64>) -> f64 {
    let (a, b) = (frame.point(from, day), frame.point(to, day));
    let d = [(a.ln_dose - b.ln_dose) / 0.08, (a.kelvin - b.kelvin) / 2.5, (a.ln_ratio - b.ln_ratio) / 0.2];
    d.iter().map(|x| x * x).sum::<f64>()
}

/// The recipe that an action makes of `from`, in the gear's own steps (at least one, unless at the end of the scale).
pub(super) fn apply(action: &Action, from: &Recipe, gear: &Gear, per_unit: f64) -> Recipe {
    let grind = |ln_time: f64| {
        let steps = (ln_time / (per_unit * gear.grind.scale.step())).round().abs().clamp(1.0, 1e6) as i64;
        from.with(Lever::Grind, gear.grind.coarser_by(from.grind, if ln_time > 0.0 { -steps } else { steps }))
    };
    let by = |lever: Lever, delta: f64| {
        let (Some(scale), Some(value)) = (gear.scale(lever), from.get(lever)) else { return *from };
        let index = scale.index_of(value) as i64;
        let steps = (delta / scale.step()).round() as i64;
        let steps = if steps == 0 { delta.signum() as i64 } else { steps };
        from.with(lever, scale.at(usize::try_from((index + steps).max(0)).unwrap_or(0)))
    };
    match action {
        Action::Finer { time_pct } => grind(libm::log1p(time_pct / 100.0)),
        Action::Coarser { time_pct } => grind(-libm::log1p(time_pct / 100.0)),
        Action::Yield { percent } => by(Lever::Yield, from.yield_g * percent / 100.0),
        Action::Dose { grams } => by(Lever::Dose, *grams),
        Action::Temperature { kelvin } => by(Lever::Temperature, *kelvin),
        Action::Prepare => *from,
    }
}

/// Points of liking that a rule of full strength adds to a move before any cup was tasted.
const RULES_WEIGH: f64 = 0.6;

/// What the rules say about a case, as moves on this gear.
pub(super) struct RuleVoice {
    pub proposals: Vec<Proposal>,
    /// The recipe of each proposal.
    pub recipes: Vec<Recipe>,
    weight: f64,
}

impl RuleVoice {
    /// Pulls before `since` (from 0) were of another state of grinder, beans or room.
    pub fn new(case: &Case, posterior: &Posterior, current: &Recipe, since: usize) -> Self {
        let (proposals, _) = rules::evaluate(&case.packs, &facts(case, since));
        let slope = per_unit(|u| posterior.belief(u).0);
        let recipes = proposals.iter().map(|p| apply(&p.action, current, &case.gear, slope)).collect();
        let tasted = case.shots.iter().filter(|s| !s.taste.is_empty()).count();
        Self { proposals, recipes, weight: RULES_WEIGH / (1.0 + 0.5 * tasted as f64) }
    }

    /// Whether a rule that stands wants what a move does.
    pub fn speaks_for(&self, gear: &Gear, from: &Recipe, to: &Recipe) -> bool {
        let mut each = self.proposals.iter().zip(&self.recipes).filter(|(p, _)| p.overruled_by.is_empty());
        each.any(|(_, wanted)| agreement(gear, from, wanted, to) > 0.0)
    }

    /// Something is added for moving as the rules say and taken for moving against them, the less the more was tasted.
    pub fn bonus(&self, gear: &Gear, from: &Recipe, to: &Recipe) -> f64 {
        self.proposals
            .iter()
            .zip(&self.recipes)
            .filter(|(p, _)| p.overruled_by.is_empty())
            .map(|(p, wanted)| p.strength * agreement(gear, from, wanted, to))
            .sum::<f64>()
            .clamp(-1.5, 1.5)
            * self.weight
    }
}

/// −1…1: how far `to` goes the way from `from` to `wanted`.
pub(super) fn agreement(gear: &Gear, from: &Recipe, wanted: &Recipe, to: &Recipe) -> f64 {
    Lever::ALL
        .iter()
        .filter_map(|lever| {
            let scale = gear.scale(*lever)?;
            let want = scale.steps_between(from.get(*lever)?, wanted.get(*lever)?);
            let got = scale.steps_between(from.get(*lever)?, to.get(*lever)?);
            (want != 0).then(|| (got as f64 / want as f64).clamp(-1.0, 1.0))
        })
        .next()
        .unwrap_or(0.0)
}

/// The recipe that the rules alone would have pulled next; `None` when no rule wants a move.
#[must_use]
pub fn by_rules_alone(case: &Case) -> Option<Recipe> {
    let slope = {
        let frame = Frame::new(&case.gear, &case.aim.start, case.bag.days_since_roast);
        let shape = crate::infer::SHAPES.first()?;
        let (mean, _) = crate::infer::prior(&case.bag, &case.gear, &frame, shape);
        per_unit(|u| mean.get(u.at()).copied().unwrap_or(0.0))
    };
    let from = case.current();
    let (proposals, _) = rules::evaluate(&case.packs, &facts(case, 0));
    proposals
        .iter()
        .filter(|p| p.overruled_by.is_empty())
        .map(|p| apply(&p.action, &from, &case.gear, slope))
        .find(|r| !moved(&case.gear, &from, r).is_empty())
}

/// Numbers of pulls in words.
pub(super) fn run_of(pulls: &[u32]) -> String {
    match pulls {
        [first, .., last] if pulls.len() > 3 && last - first == pulls.len() as u32 - 1 => {
            format!("{first}–{last}")
        }
        few => listed(&few.iter().map(u32::to_string).collect::<Vec<_>>()),
    }
}

/// Least time (s) of a whole pull, and of a window that is wished for.
const LEAST_TIME_S: f64 = 4.0;
/// Brew water, °C, beyond which nobody pulls.
const BREW_WATER_C: (f64, f64) = (60.0, 105.0);
/// Drink over dose of anything from the shortest to the longest coffee (common practice, no source).
const USUAL_RATIO: std::ops::RangeInclusive<f64> = 0.7..=8.0;

/// What of a pull that ran cannot well be as it was written down, its time, its heat or its drink and dose, in sentences that
/// ask about it; `label` is its number, from 1.
#[must_use]
pub fn unlikely(label: u32, recipe: &Recipe, time_s: Option<f64>) -> Vec<String> {
    let time = time_s.filter(|time_s| *time_s < LEAST_TIME_S);
    let heat = recipe.temperature_c.filter(|t| !(BREW_WATER_C.0..=BREW_WATER_C.1).contains(t));
    let drink = recipe.ratio().filter(|ratio| !USUAL_RATIO.contains(ratio));
    let time = time.map(|time_s| say!("advisor-facts-unlikely-time", n = label, time_s = figure(time_s, 1)));
    let heat = heat.map(|heat_c| {
        let heat = rounded(Quantity::Temperature, heat_c, 0);
        say!("advisor-facts-unlikely-heat", n = label, heat = heat)
    });
    let drink = drink.map(|_| {
        let drink = rounded(Quantity::Yield, recipe.yield_g, 1);
        let coffee = rounded(Quantity::Dose, recipe.dose_g, 1);
        say!("advisor-facts-units", n = label, drink = drink, coffee = coffee)
    });
    time.into_iter().chain(heat).chain(drink).collect()
}

/// The same of the last pull.
fn unlikely_of_the_last(case: &Case) -> Vec<String> {
    let last = case.shots.last().filter(|shot| !shot.choked);
    last.map_or_else(Vec::new, |shot| unlikely(shot.label, &shot.recipe, shot.time_s))
}

/// Whether a number of the last pull cannot well be as written down.
pub(super) fn unlikely_numbers(case: &Case) -> bool {
    !unlikely_of_the_last(case).is_empty()
}

/// Whether the last pull missed the drink that was planned, as the one before it did not, or the dose.
pub(super) fn missed_the_plan(case: &Case) -> bool {
    let missed = |shot: &Shot| shot.missed_plan().is_some();
    let first = |(last, before): (&Shot, &[Shot])| missed(last) && !before.last().is_some_and(missed);
    case.shots.split_last().is_some_and(first) || case.slipped_dose().is_some()
}

/// Whether the last pull ran in good time and nothing was said of its cup.
pub(super) fn untasted_in_time(case: &Case) -> bool {
    let window_s = reach::window_s(case);
    case.shots.last().is_some_and(|shot| {
        let in_time = shot.ran_s().is_some_and(|t| (window_s.0..=window_s.1).contains(&t));
        in_time && is_untasted(shot)
    })
}

/// What the recipe to begin with asks of dose, drink and heat that this gear's ranges do not hold, before any pull.
fn outside_the_ranges(case: &Case) -> Vec<(Quantity, f64, Scale)> {
    let (start, gear) = (&case.aim.start, &case.gear);
    let asked = [
        (Quantity::Dose, Some(start.dose_g), Some(gear.dose_g)),
        (Quantity::Yield, Some(start.yield_g), Some(gear.yield_g)),
        (Quantity::Temperature, start.temperature_c, gear.temperature_c),
    ];
    let each = asked.into_iter().filter_map(|(quantity, value, scale)| Some((quantity, value?, scale?)));
    let outside =
        |(_, value, scale): &(Quantity, f64, Scale)| (scale.snap(*value) - value).abs() > scale.step();
    each.filter(|_| case.shots.is_empty()).filter(outside).collect()
}

/// Whether nothing at all was said of how the last pull went.
pub(super) fn unknown(case: &Case) -> bool {
    let timed = |shot: &Shot| shot.ran_s().is_some() || shot.dripped_s().is_some();
    case.shots.last().is_some_and(|shot| is_untasted(shot) && !shot.choked && !timed(shot))
}

fn is_untasted(shot: &Shot) -> bool {
    shot.taste.is_empty() && shot.reading().is_none() && !shot.tunnelled()
}

/// Seconds by which a time lies outside the window that was named; 0 without one.
pub(super) fn outside_the_window_s(case: &Case, time_s: f64) -> f64 {
    case.aim.time_window_s.map_or(0.0, |(from, to)| (from - time_s).max(time_s - to).max(0.0))
}

/// Guards: sentences about evidence or settings that cannot be as they seem. `next` is the recipe to pull, `best` the one that
/// would be served; `stray`: the last cup is a stray one.
pub(super) fn guards(
    desk: &Desk,
    case: &Case,
    (next, best): (&Recipe, &Recipe),
    heard: &Heard,
    stray: bool,
) -> Vec<Reason> {
    let mut out = Vec::new();
    let mut add = |id: &str, text: String, pulls: Vec<u32>| {
        out.push(Reason { source: Source::Guard, id: id.to_owned(), text, pulls });
    };
    if let Some(speaks) = desk.reversed {
        let told =
            case.shots.iter().filter(|s| s.choked || direction::tells_of_the_grind(s)).map(|s| s.label);
        let (text, pulls) = match speaks {
            Speaks::Chokes => (word!("advisor-facts-direction-chokes"), told.collect()),
            Speaks::Times => (word!("advisor-facts-direction"), told.collect()),
            Speaks::EarlierTimes => (word!("advisor-facts-direction-earlier"), Vec::new()),
        };
        add("guard.direction", text.to_owned(), pulls);
    }
    if let Some((_, to)) = case.aim.time_window_s.filter(|(_, to)| *to < LEAST_TIME_S) {
        add("guard.units", say!("advisor-facts-unlikely-window", to = figure(to, 1)), Vec::new());
    }
    for (quantity, asked, scale) in outside_the_ranges(case) {
        let from = rounded(quantity, scale.min(), 0);
        let (asked, to) = (rounded(quantity, asked, 0), rounded(quantity, scale.max(), 0));
        add(
            "guard.range_of_start",
            say!("advisor-facts-start-outside", asked = asked, from = from, to = to),
            Vec::new(),
        );
    }
    if let Some((changed, _)) = &heard.changed {
        let slope = per_unit(|u| heard.posterior.belief(u).0);
        let clicks = changed.slower.abs() / (slope * case.gear.grind.scale.step());
        add(
            "guard.changed",
            say!(
                "advisor-facts-changed",
                pulls = run_of(&changed.pulls),
                way = if changed.slower > 0.0 { "slower" } else { "faster" },
                n = clicks.round().max(1.0)
            ),
            changed.pulls.clone(),
        );
    }
    if let Some(shot) = case.shots.last() {
        let n = shot.label;
        let left_out = shot.reading().is_none() && !shot.choked;
        if let Some((strength, e)) = shot.tds_pct.zip(shot.extraction_pct()).filter(|_| left_out) {
            let (id, text) = if e < LEAST_EXTRACTION_PCT {
                let text = say!("advisor-facts-low-extraction", n = n, extraction = figure(e, 1));
                ("guard.low_extraction", text)
            } else if e > MOST_EXTRACTION_PCT {
                let text = say!("advisor-facts-impossible-extraction", n = n, extraction = figure(e, 0));
                ("guard.impossible_extraction", text)
            } else {
                let text = say!("advisor-facts-impossible-strength", n = n, strength = figure(strength, 1));
                ("guard.impossible_strength", text)
            };
            add(id, text, vec![n]);
        }
        for text in unlikely_of_the_last(case) {
            add("guard.units", text, vec![n]);
        }
        for text in trace_otherwise(shot) {
            add("guard.trace", text, vec![n]);
        }
        if let Some((at_s, sure)) = shot.gist.and_then(|g| g.channel).filter(|_| shot.channel() > 0.5) {
            add(
                "guard.channel",
                say!("advisor-facts-channel", n = n, at_s = figure(at_s, 0), tenths = figure(10.0 * sure, 0)),
                vec![n],
            );
        }
        if let Some(scatter) = &heard.scatter {
            let (from, to) = scatter.times_s;
            add(
                "guard.scatter",
                say!(
                    "advisor-facts-scatter",
                    pulls = run_of(&scatter.pulls),
                    from = figure(from, 0),
                    to = figure(to, 0)
                ),
                scatter.pulls.clone(),
            );
        }
        if let Some(plan) = shot.missed_plan() {
            let grams = |yield_g| rounded(Quantity::Yield, yield_g, 0);
            let (got, planned) = (grams(shot.recipe.yield_g), grams(plan.yield_g));
            add(
                "guard.ran_past",
                say!("advisor-facts-ran-past", n = n, got = got, planned = planned),
                vec![n],
            );
        }
        if let Some(plan) = shot.other_dose() {
            let grams = |dose_g| rounded(Quantity::Dose, dose_g, 1);
            let (got, planned) = (grams(shot.recipe.dose_g), grams(plan.dose_g));
            let again = if grams(next.dose_g) == planned { "yes" } else { "no" };
            add(
                "guard.other_dose",
                say!("advisor-facts-other-dose", n = n, got = got, planned = planned, again = again),
                vec![n],
            );
        }
        if let Some((pulls, least, best)) = cups::disagreeing(case) {
            let text = say!("advisor-facts-disagreeing", pulls = run_of(&pulls), least = least, best = best);
            add("guard.disagreeing", text, pulls);
        }
        if cups::disliked_though_right(case) {
            add("guard.unsaid", say!("advisor-facts-unsaid", n = n), vec![n]);
        }
        if cups::praised_though_off(case) {
            let (marks, liking) = (taste_words(shot), shot.taste.liking().unwrap_or_default());
            let text = say!("advisor-facts-praised-though-off", n = n, marks = marks, liking = liking);
            add("guard.praised_though_off", text, vec![n]);
        }
        if stray {
            add("guard.stray_cup", say!("advisor-facts-stray-cup", n = n), vec![n]);
        }
        if cups::contradicts_itself(case) {
            let marks = taste_words(shot);
            add("guard.contradiction", say!("advisor-facts-contradiction", n = n, marks = marks), vec![n]);
        }
    }
    let scale = case.gear.grind.scale;
    let index = scale.index_of(best.grind);
    if scale.count() > 1 && (index == 0 || index + 1 == scale.count()) && !case.shots.is_empty() {
        add("guard.range", word!("advisor-facts-range").to_owned(), Vec::new());
    }
    out
}

/// That the last pull choked and yet its cup was spoken of.
pub(super) fn cup_of_a_choke(case: &Case) -> Option<Reason> {
    let n = case.shots.last().filter(|shot| shot.choked && !shot.taste.is_empty())?.label;
    let text = say!("advisor-facts-choked-cup", n = n);
    Some(Reason { source: Source::Guard, id: "guard.choked_cup".to_owned(), text, pulls: vec![n] })
}

/// Where the trace of a pull that ran says otherwise than what was written down, sentences that say so: it may be of another
/// pull, or a number a slip.
fn trace_otherwise(shot: &Shot) -> Vec<String> {
    let Some(gist) = shot.gist.filter(|_| !shot.choked) else { return Vec::new() };
    let n = shot.label;
    let times = shot.time_s.zip(gist.time_s).filter(|(said, measured)| times_apart(*said, *measured));
    let cup = gist.cup_g.filter(|measured| cups_apart(shot.recipe.yield_g, *measured));
    let times = times.map(|(said, measured)| {
        let (said, measured) = (figure(said, 0), figure(measured, 0));
        say!("advisor-facts-trace-time", n = n, measured = measured, said = said)
    });
    let cup = cup.map(|measured| {
        let grams = |yield_g| rounded(Quantity::Yield, yield_g, 0);
        let (said, measured) = (grams(shot.recipe.yield_g), grams(measured));
        say!("advisor-facts-trace-cup", n = n, measured = measured, said = said)
    });
    times.into_iter().chain(cup).collect()
}

/// That the gear leaves nothing to move: after a choke at the end of what it can do, or where each of its ranges holds one
/// setting.
pub(super) fn nothing_left(case: &Case, reach: &Reach, current: &Recipe) -> Option<Reason> {
    let last = case.shots.last()?;
    let fixed =
        Lever::ALL.into_iter().filter_map(|lever| case.gear.scale(lever)).all(|scale| scale.count() == 1);
    let blocked = last.choked && reach.leaves_nothing_against_a_choke(&case.gear, current);
    if !fixed && !blocked {
        return None;
    }
    let text = match last.choked {
        true => say!("advisor-facts-choked-at-the-end", n = last.label),
        false => word!("advisor-facts-fixed-gear").to_owned(),
    };
    let pulls = if last.choked { vec![last.label] } else { Vec::new() };
    Some(Reason { source: Source::Guard, id: "guard.nothing_left".to_owned(), text, pulls })
}

/// Whether a reason tells how something is taken and not what to do, or why.
pub(super) fn is_a_note(reason: &Reason) -> bool {
    let notes = ["guard.trace", "guard.channel", "guard.ran_past", "guard.other_dose", "guard.range"];
    notes.contains(&reason.id.as_str())
}

/// That a pull is expected to run outside the window that was named, and, where something was tasted, why it may.
pub(super) fn out_of_the_window(case: &Case, expected_s: f64, untasted: bool) -> Option<Reason> {
    let (from, to) = case.aim.time_window_s?;
    let (time_s, from, to) = (figure(expected_s, 0), figure(from, 0), figure(to, 0));
    Some(Reason {
        source: Source::Guard,
        id: "guard.window".to_owned(),
        text: if untasted {
            say!("advisor-facts-out-of-the-window-untasted", time_s = time_s, from = from, to = to)
        } else {
            say!("advisor-facts-out-of-the-window", time_s = time_s, from = from, to = to)
        },
        pulls: Vec::new(),
    })
}

/// That the coffee left is enough for so few pulls, at most as many as the person would spend on dialling in, that the
/// choice of the next one counted them.
pub(super) fn last_of_the_bag(case: &Case, settings: &Settings) -> Option<Reason> {
    let left = case.pulls_left().filter(|left| *left <= settings.pulls_willing)?;
    Some(Reason {
        source: Source::Guard,
        id: "guard.last_coffee".to_owned(),
        text: say!("advisor-facts-last-coffee", n = left),
        pulls: Vec::new(),
    })
}
