//! The words of one coffee: its window, its verdict, how sure, its last pull.

use super::Wish;
use super::held::{self, Day};
use super::row::State;
use crate::control::calibrate::Thresholds;
use crate::control::morning::Judged;
use crate::control::verdict::{Action, Verdict, in_ten};
use crate::domain::{Bag, Gear, Pull, Recipe};
use crate::units::{Quantity, UnitPreferences, dates, figure, in_a_row, rounded};
use crate::workbench::view::advice::moves;
use crate::workbench::view::page::setting;

use super::notes::window_reason;

/// Half width of the window where neither a house window nor a tolerance is known, seconds (common practice, no
/// source).
const USUAL_WINDOW_S: f64 = 2.0;

/// "2 clicks finer" in the grinder's own words.
pub(super) fn clicks(gear: &Gear, from: &Recipe, by: i64, units: &UnitPreferences) -> String {
    let to = Recipe { grind: gear.grind.coarser_by(from.grind, by), ..*from };
    let words = moves(Some(from), &to, gear, units).into_iter().next().map(|m| m.words);
    words.unwrap_or_else(|| {
        format!(
            "{} {}",
            by.unsigned_abs(),
            if by > 0 { word!("view-opening-say-coarser") } else { word!("view-opening-say-finer") }
        )
    })
}

/// Half width of the window and where it comes from.
pub(super) fn window(bag: &Bag, target: f64, tolerance_s: Option<f64>) -> ((f64, f64), String) {
    if let Some((from, to)) = bag.time_window_s.filter(|(from, to)| *from < target && target < *to) {
        let why = match window_reason(&bag.note, (from, to)) {
            Some(reason) => say!("view-opening-say-set-by-the-bar", reason = reason),
            None => word!("view-opening-say-the-window-on-the-bags-sheet").to_owned(),
        };
        return ((from, to), why);
    }
    if let Some(by) = tolerance_s.filter(|t| *t > 0.0 && t.is_finite()) {
        let why = say!("view-opening-say-liking-falls-by-half-a-point", by = figure(by, 1));
        return (((target - by).max(1.0), target + by), why);
    }
    let why = word!("view-opening-say-2-s-either-way-common-practice").to_owned();
    ((target - USUAL_WINDOW_S, target + USUAL_WINDOW_S), why)
}

/// State, words and how of a verdict.
pub(super) fn said(
    verdict: &Verdict,
    gear: &Gear,
    stands: &Recipe,
    units: &UnitPreferences,
) -> (State, String, String) {
    match verdict.action {
        Action::Serve => (State::Serve, word!("view-opening-say-serve").to_owned(), String::new()),
        Action::PullAgain => (
            State::PullAgain,
            word!("view-opening-say-pull-once-more").to_owned(),
            word!("view-opening-say-the-same-again-nothing-moved").to_owned(),
        ),
        Action::Preparation => (
            State::Preparation,
            word!("view-opening-say-look-at-the-preparation").to_owned(),
            word!("view-opening-say-dose-distribution-tamp-basket-the").to_owned(),
        ),
        Action::Move { clicks_coarser, purge_g } => {
            let to = gear.grind.coarser_by(stands.grind, clicks_coarser);
            (
                State::Move,
                say!("view-opening-say-move", clicks = clicks(gear, stands, clicks_coarser, units)),
                say!(
                    "view-opening-say-then",
                    setting = setting(gear, stands.grind, units),
                    setting_2 = setting(gear, to, units),
                    purge_words = purge_words(purge_g)
                ),
            )
        }
    }
}

pub(super) fn purge_words(grams: f64) -> String {
    say!("view-opening-say-purge-g", coffee = rounded(Quantity::BeanMass, grams, 0))
}

pub(super) fn how_sure(j: &Judged) -> String {
    match j.verdict.action {
        Action::Serve if j.verdict.p_real > 0.5 => {
            say!("view-opening-say-that-it-moved-no-click-brings", in_ten = in_ten(j.verdict.p_real))
        }
        Action::Serve => say!("view-opening-say-that-nothing-moved", in_ten = in_ten(j.verdict.p_quiet)),
        Action::PullAgain => say!("view-opening-say-that-it-moved", in_ten = in_ten(j.verdict.p_real)),
        Action::Move { .. } if j.verdict.shift_found.is_some() => {
            say!("view-opening-say-that-it-is-real-not-noise", in_ten = in_ten(j.verdict.p_real))
        }
        Action::Move { .. } => {
            say!("view-opening-say-that-this-brings-it-nearer", in_ten = in_ten(j.verdict.p_helps))
        }
        Action::Preparation => say!("view-opening-say-that-the-spread-is-real", in_ten = in_ten(j.spread.p)),
    }
}

pub(super) fn time_of(pull: &Pull, units: &UnitPreferences) -> String {
    match pull.time_s {
        _ if pull.flags.choked => word!("view-opening-say-choked").to_owned(),
        Some(t) => units.value(Quantity::Time, t),
        None => word!("view-opening-say-not-timed").to_owned(),
    }
}

pub(super) fn when(pull: &Pull, today: i32, zone: &jiff::tz::TimeZone) -> String {
    let at = pull.pulled_at.to_zoned_datetime(zone.clone());
    match today - held::place(pull.pulled_at, zone).0 {
        0 => say!("view-opening-say-today", time = at.strftime("%H:%M")),
        1 => say!("view-opening-say-yesterday", time = at.strftime("%H:%M")),
        _ => dates::short(&at),
    }
}

pub(super) fn recipe_words(gear: &Gear, recipe: &Recipe, units: &UnitPreferences) -> String {
    let mut words = say!(
        "view-opening-say-in-out",
        value = units.value(Quantity::Dose, recipe.dose_g),
        value_2 = units.value(Quantity::Yield, recipe.yield_g)
    );
    if let Some(t) = recipe.temperature_c.filter(|_| gear.temperature_c.is_some()) {
        words += &format!(" · {}", crate::workbench::view::page::degrees(t, units));
    }
    words
}

pub(super) fn next_words(next: &(f64, f64), target: f64, units: &UnitPreferences) -> String {
    let back = |v: f64| target * libm::exp(v.clamp(-5.0, 5.0));
    say!(
        "view-opening-say-next-pull-8-times-in-10",
        span = units.span(Quantity::Time, back(next.0), back(next.1), 0)
    )
}

/// Where to start, and the reason alone (empty for none); `damp` is the part of the expected change that the air's humidity brings.
pub(super) fn start_words(day: &Day, moved: &str, kelvin: f64, damp: f64) -> (String, String) {
    let mut because = day.start.because(day.nights, kelvin);
    if damp.abs() >= 0.002 {
        because.push(word!("view-opening-say-the-airs-humidity-has-changed").to_owned());
    }
    let because = in_a_row(&because);
    // The move in the grinder's own words; what calls for none is still said.
    let words = match day.start.clicks_coarser {
        0 if because.is_empty() => word!("view-opening-say-start-where-it-closed").to_owned(),
        0 => say!("view-opening-say-start-where-it-closed-though", because = because),
        _ if because.is_empty() => say!("view-opening-say-start", moved = moved),
        _ => say!("view-opening-say-start-2", moved = moved, because = because),
    };
    (words, because)
}

pub(super) fn readiness(wish: &Wish, limits: Option<&Thresholds>) -> String {
    let Some(limits) = limits else {
        return word!("view-opening-say-how-readily-it-acts-is-still").to_owned();
    };
    say!(
        "view-opening-say-a-shift-counts-from-on-false",
        in_ten = in_ten(limits.flag),
        false_a_month = figure(limits.false_a_month, 2),
        false_a_month_se = figure(limits.false_a_month_se, 2),
        months = limits.months,
        false_a_month_2 = figure(wish.false_a_month, 1)
    )
}
