//! The next pull in words: what to move, from where to where, what to expect, how sure, and why.

use super::page::{degrees, setting};
use super::words::lever_word;
use crate::domain::{Finer, Gear, Lever, Recipe, Tolerance};
use crate::units::{Quantity, UnitPreferences};
use crate::words::Name;

/// What the advice comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Change something.
    Adjust,
    /// Pull the same again.
    Repeat,
    /// Keep this recipe.
    Settled,
}

/// A value with its range: the 10th, 50th and 90th percentile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// One in ten is below.
    pub p10: f64,
    /// As likely above as below.
    pub p50: f64,
    /// One in ten is above.
    pub p90: f64,
}

/// Who says a reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Voice {
    /// The trade's rules.
    Rule,
    /// The model of this bag on this station.
    Model,
    /// A guard that holds the others back.
    Guard,
}

/// One plain sentence of why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// Who says it.
    pub voice: Voice,
    /// The rule's or guard's name.
    pub id: String,
    /// The sentence.
    pub text: String,
}

/// What to expect of a pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Time, seconds.
    pub time_s: Spread,
    /// Strength, percent.
    pub tds_pct: Spread,
    /// Extraction, percent.
    pub extraction_pct: Spread,
    /// Liking, 1–9.
    pub liking: Spread,
}

/// Another recipe worth a pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Idea {
    /// What to pull.
    pub recipe: Recipe,
    /// What to expect of it.
    pub expect: Expected,
    /// Chance, 0–1, that it is within half a liking point of the best reachable.
    pub chance_near_best: f64,
    /// Why one might choose it, in one sentence.
    pub text: String,
}

/// What to pull next, as the engine says it.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What it comes to.
    pub verdict: Verdict,
    /// What to pull next, on the gear's steps.
    pub recipe: Recipe,
    /// The recipe that the change is measured from; `None` before the first pull.
    pub from: Option<Recipe>,
    /// Whether what is to be pulled again was planned but not what the last pull was of.
    pub as_planned: bool,
    /// What to expect of it.
    pub expect: Expected,
    /// The recipe that would be served now.
    pub best: Recipe,
    /// Time to expect of it, seconds.
    pub best_time_s: f64,
    /// How far its values may wander before liking drops by half a point.
    pub tolerance: Tolerance,
    /// Chance, 0–1, that `best` is within half a liking point of the best reachable.
    pub chance_near_best: f64,
    /// Why, the weightiest first.
    pub reasons: Vec<Reason>,
    /// Other recipes worth a pull.
    pub alternatives: Vec<Idea>,
    /// What is believed about this bag, in plain sentences.
    pub beliefs: Vec<String>,
    /// What a night will change, if anything.
    pub tomorrow: Option<String>,
    /// Where rules and model disagree, if they do.
    pub conflict: Option<String>,
}

/// Which way a move goes, for a picture beside the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Burrs closer.
    Finer,
    /// Burrs apart.
    Coarser,
    /// More.
    Up,
    /// Less.
    Down,
    /// Set it; nothing to compare with.
    Set,
}

/// One lever's move in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MoveView {
    /// The lever.
    pub lever: Lever,
    /// "Grind".
    pub what: &'static str,
    /// "14.0"; empty where nothing is known.
    pub from: String,
    /// "12.5".
    pub to: String,
    /// "3 clicks finer".
    pub words: String,
    /// Which way.
    pub way: Way,
}

/// The hero of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct HeroView {
    /// "Next pull · third".
    pub over: String,
    /// What moves; empty when nothing does.
    pub moves: Vec<MoveView>,
    /// In place of moves.
    pub verdict: String,
    /// Whether the advice is to keep what was pulled.
    pub settled: bool,
    /// What stays.
    pub stays: String,
    /// What to expect: quantity and range, in the order shown.
    pub expect: Vec<(&'static str, String)>,
    /// "fairly sure, 7 in 10".
    pub sure: String,
    /// The chance as a number, 0–1.
    pub chance: f64,
    /// What it is the chance of.
    pub chance_of: &'static str,
    /// Why, the weightiest first.
    pub reasons: Vec<Reason>,
    /// The recipe that a pull would be planned with.
    pub recipe: Recipe,
}

/// The gear with its grinder's direction as the advice takes it: where the pulls say that it was entered the wrong way
/// round, they are believed, and the moves must be told in the same sense as the reasons.
fn as_believed(advice: &Advice, gear: &Gear) -> Gear {
    let mut gear = *gear;
    if advice.reasons.iter().any(|reason| reason.id == "guard.direction") {
        gear.grind.finer = gear.grind.finer.other();
    }
    gear
}

/// The hero for an advice; `pulls` is how many pulls the bag has.
#[must_use]
pub fn hero(advice: &Advice, gear: &Gear, pulls: usize, units: &UnitPreferences) -> HeroView {
    let from = advice.from.filter(|_| pulls > 0);
    let moves = moves(from.as_ref(), &advice.recipe, &as_believed(advice, gear), units);
    let verdict = match advice.verdict {
        Verdict::Settled if !moves.is_empty() => word!("view-advice-go-back-to-this-recipe"),
        Verdict::Settled => word!("view-advice-keep-this-recipe"),
        Verdict::Repeat if advice.as_planned => word!("view-advice-pull-it-as-planned"),
        Verdict::Repeat => word!("view-advice-pull-the-same-again"),
        Verdict::Adjust if moves.is_empty() => word!("view-advice-pull-the-same-again"),
        Verdict::Adjust => "",
    };
    let show_moves = !moves.is_empty() && (advice.verdict == Verdict::Adjust || pulls == 0);
    let moved: Vec<&str> = if show_moves { moves.iter().map(|m| m.what).collect() } else { Vec::new() };
    HeroView {
        over: over(pulls),
        settled: advice.verdict == Verdict::Settled && !show_moves,
        verdict: if show_moves { String::new() } else { verdict.to_owned() },
        stays: stays(&advice.recipe, gear, &moved, pulls > 0, units),
        moves: if show_moves { moves } else { Vec::new() },
        expect: expect(&advice.expect, gear, units),
        sure: sure(advice.chance_near_best),
        chance: advice.chance_near_best,
        chance_of: word!("view-advice-chance-of-the-best-recipe-known"),
        reasons: advice.reasons.clone(),
        recipe: advice.recipe,
    }
}

/// The recipe that is shown, and what to expect of it: the advice's for 0, another idea's from 1 on; the advice's where
/// there is none such.
#[must_use]
pub fn shown(advice: &Advice, idea: usize) -> (Recipe, &Expected) {
    match idea.checked_sub(1).and_then(|at| advice.alternatives.get(at)) {
        Some(idea) => (idea.recipe, &idea.expect),
        None => (advice.recipe, &advice.expect),
    }
}

/// The time to aim at while a pull runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// From and to, seconds.
    pub range_s: (f64, f64),
    /// The range in words, with its name where it is not what is expected of the recipe.
    pub words: String,
}

/// What is expected of the recipe that is pulled; where nothing is told of it, the window that the `house` has for the
/// coffee, which is then called so.
#[must_use]
pub fn aim(expect: Option<&Expected>, house: Option<(f64, f64)>, units: &UnitPreferences) -> Option<Aim> {
    let sound = |range: &(f64, f64)| range.0.is_finite() && range.1.is_finite() && range.0 < range.1;
    let words = |(from, to)| units.span(Quantity::Time, from, to, 0);
    let expected = expect.map(|expect| (expect.time_s.p10, expect.time_s.p90)).filter(sound);
    expected.map(|range_s| Aim { range_s, words: words(range_s) }).or_else(|| {
        let range_s = house.filter(sound)?;
        Some(Aim { range_s, words: say!("view-advice-house-window", range = words(range_s)) })
    })
}

/// The hero for one of the other ideas (index from 0); the advice itself when there is none such.
#[must_use]
pub fn idea(advice: &Advice, at: usize, gear: &Gear, pulls: usize, units: &UnitPreferences) -> HeroView {
    let Some(idea) = advice.alternatives.get(at) else { return hero(advice, gear, pulls, units) };
    let from = advice.from.filter(|_| pulls > 0);
    let moves = moves(from.as_ref(), &idea.recipe, &as_believed(advice, gear), units);
    let moved: Vec<&str> = moves.iter().map(|m| m.what).collect();
    HeroView {
        over: say!("view-advice-another-idea-of", at = at + 1, alternatives = advice.alternatives.len()),
        settled: false,
        verdict: if moves.is_empty() {
            word!("view-advice-pull-the-same-again").to_owned()
        } else {
            String::new()
        },
        stays: stays(&idea.recipe, gear, &moved, pulls > 0, units),
        moves,
        expect: expect(&idea.expect, gear, units),
        sure: sure(idea.chance_near_best),
        chance: idea.chance_near_best,
        chance_of: word!("view-advice-chance-of-this-idea"),
        reasons: vec![Reason { voice: Voice::Model, id: String::new(), text: idea.text.clone() }],
        recipe: idea.recipe,
    }
}

fn over(pulls: usize) -> String {
    const WORDS: [Name; 9] = [
        name!("view-advice-first"),
        name!("view-advice-second"),
        name!("view-advice-third"),
        name!("view-advice-fourth"),
        name!("view-advice-fifth"),
        name!("view-advice-sixth"),
        name!("view-advice-seventh"),
        name!("view-advice-eighth"),
        name!("view-advice-ninth"),
    ];
    let number =
        WORDS.get(pulls).map_or_else(|| say!("view-advice-number", pulls = pulls + 1), Name::to_string);
    say!("view-advice-next-pull", number = number)
}

/// The moves between two recipes, lever by lever. Without a `from` the grind is given as a setting to begin with.
#[must_use]
pub fn moves(from: Option<&Recipe>, to: &Recipe, gear: &Gear, units: &UnitPreferences) -> Vec<MoveView> {
    let Some(from) = from else {
        return vec![MoveView {
            lever: Lever::Grind,
            what: lever_word(Lever::Grind),
            from: String::new(),
            to: setting(gear, to.grind, units),
            words: word!("view-advice-to-begin-with").to_owned(),
            way: Way::Set,
        }];
    };
    let mut moves = Vec::new();
    for lever in Lever::ALL {
        let (Some(a), Some(b), Some(scale)) = (from.get(lever), to.get(lever), gear.scale(lever)) else {
            continue;
        };
        if (a - b).abs() < scale.step() * 0.25 {
            continue;
        }
        moves.push(one_move(lever, a, b, gear, units));
    }
    moves
}

fn one_move(lever: Lever, from: f64, to: f64, gear: &Gear, units: &UnitPreferences) -> MoveView {
    match lever {
        Lever::Grind => {
            let finer = match gear.grind.finer {
                Finer::Lower => to < from,
                Finer::Higher => to > from,
            };
            let steps = ((to - from) / gear.grind.scale.step()).abs();
            let whole = (steps - steps.round()).abs() < 0.05;
            let amount = if gear.grind.stepless {
                let marks = (to - from).abs();
                let rounded = (marks * 1000.0).round() / 1000.0;
                let decimals = (0..3).find(|n| {
                    let factor = 10f64.powi(*n);
                    ((rounded * factor).round() - rounded * factor).abs() < 1e-6
                });
                let amount = units.number(rounded, decimals.unwrap_or(3) as usize);
                format!(
                    "{amount} {}",
                    if rounded == 1.0 { word!("view-advice-mark") } else { word!("view-advice-marks") }
                )
            } else if whole {
                say!("view-advice-count-clicks", n = steps.round() as usize)
            } else {
                say!("view-advice-clicks", number = units.number(steps, 1))
            };
            MoveView {
                lever,
                what: lever_word(lever),
                from: setting(gear, from, units),
                to: setting(gear, to, units),
                words: format!(
                    "{amount} {}",
                    if finer { word!("view-advice-finer") } else { word!("view-advice-coarser") }
                ),
                way: if finer { Way::Finer } else { Way::Coarser },
            }
        }
        Lever::Dose | Lever::Yield => {
            let quantity = if lever == Lever::Dose { Quantity::Dose } else { Quantity::Yield };
            let (a, unit, decimals) = units.convert(quantity, from);
            let (b, ..) = units.convert(quantity, to);
            MoveView {
                lever,
                what: lever_word(lever),
                from: units.number(a, decimals),
                to: format!("{} {unit}", units.number(b, decimals)),
                words: format!(
                    "{} {unit} {}",
                    units.number((b - a).abs(), decimals),
                    if b > a { word!("view-advice-more") } else { word!("view-advice-less") }
                ),
                way: if b > a { Way::Up } else { Way::Down },
            }
        }
        Lever::Temperature => {
            let (a, unit, _) = units.convert(Quantity::Temperature, from);
            let (b, ..) = units.convert(Quantity::Temperature, to);
            let by = (b - a).abs();
            MoveView {
                lever,
                what: lever_word(lever),
                from: degrees(from, units).replace(&format!(" {unit}"), ""),
                to: degrees(to, units),
                words: format!(
                    "{} {unit} {}",
                    units.number(by, usize::from((by - by.round()).abs() > 0.05)),
                    if b > a { word!("view-advice-hotter") } else { word!("view-advice-cooler") }
                ),
                way: if b > a { Way::Up } else { Way::Down },
            }
        }
    }
}

fn stays(recipe: &Recipe, gear: &Gear, moved: &[&str], stays: bool, units: &UnitPreferences) -> String {
    let mut parts = Vec::new();
    for lever in Lever::ALL {
        if moved.contains(&lever_word(lever)) {
            continue;
        }
        let Some(value) = recipe.get(lever).filter(|_| gear.scale(lever).is_some()) else { continue };
        parts.push(match lever {
            Lever::Grind => say!("view-advice-grind", setting = setting(gear, value, units)),
            Lever::Dose => say!("view-advice-dose", value = units.value(Quantity::Dose, value)),
            Lever::Yield => say!("view-advice-yield", value = units.value(Quantity::Yield, value)),
            Lever::Temperature => degrees(value, units),
        });
    }
    let line = parts.join(" · ");
    let line = crate::units::capital(&line);
    if moved.is_empty() || parts.is_empty() || !stays {
        return line;
    }
    say!("view-advice-stays", line = line, n = parts.len())
}

fn expect(expected: &Expected, gear: &Gear, units: &UnitPreferences) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    if expected.time_s.p50.is_finite() {
        out.push((
            word!("view-advice-time"),
            units.span(Quantity::Time, expected.time_s.p10, expected.time_s.p90, 0),
        ));
    }
    let spread = |spread: Spread, decimals| {
        format!("{}–{}", units.number(spread.p10, decimals), units.number(spread.p90, decimals))
    };
    if gear.refractometer && expected.tds_pct.p50.is_finite() {
        out.push((word!("view-advice-strength"), format!("{} %", spread(expected.tds_pct, 1))));
    }
    if expected.liking.p50.is_finite() {
        let (low, high) = (expected.liking.p10.round(), expected.liking.p90.round());
        out.push((
            word!("view-advice-liking"),
            if low == high { units.number(low, 0) } else { format!("{}–{}", low, high) },
        ));
    }
    out
}

/// How sure in words and figures. "7 in 10" is the chance that the best recipe known is within half a liking point
/// of the best that the gear can reach.
#[must_use]
pub fn sure(chance: f64) -> String {
    if !chance.is_finite() {
        return word!("view-advice-not-known-how-sure").to_owned();
    }
    let tenths = (chance.clamp(0.0, 1.0) * 10.0).round();
    let words = match tenths as u32 {
        0..=2 => word!("view-advice-a-first-guess"),
        3..=4 => word!("view-advice-not-sure-yet"),
        5..=6 => word!("view-advice-half-sure"),
        7..=8 => word!("view-advice-fairly-sure"),
        _ => word!("view-advice-sure"),
    };
    if tenths >= 10.0 {
        say!("view-advice-more-than-9-in-10", words = words)
    } else {
        say!("view-advice-in-10", words = words, tenths = tenths)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    fn recipe(grind: f64) -> Recipe {
        Recipe { grind, dose_g: 18.0, yield_g: 40.0, temperature_c: Some(93.0) }
    }

    fn advice(verdict: Verdict, from: Option<f64>, to: f64) -> Advice {
        let spread = |p10, p50, p90| Spread { p10, p50, p90 };
        Advice {
            verdict,
            recipe: recipe(to),
            from: from.map(recipe),
            as_planned: false,
            expect: Expected {
                time_s: spread(25.2, 28.0, 30.9),
                tds_pct: spread(8.6, 9.0, 9.4),
                extraction_pct: spread(18.0, 19.0, 20.0),
                liking: spread(6.1, 7.0, 7.9),
            },
            best: recipe(to),
            chance_near_best: 0.68,
            reasons: Vec::new(),
            alternatives: Vec::new(),
            best_time_s: 28.0,
            tolerance: Tolerance::default(),
            beliefs: Vec::new(),
            tomorrow: None,
            conflict: None,
        }
    }

    #[test]
    fn a_move_is_told_in_the_grinders_own_clicks() {
        let units = UnitPreferences::default();
        let hero = hero(&advice(Verdict::Adjust, Some(14.0), 12.5), &samples::gear(), 2, &units);
        assert_eq!(hero.over, "Next pull · third");
        let one = &hero.moves[0];
        assert_eq!((one.what, one.from.as_str(), one.to.as_str()), ("Grind", "14.0", "12.5"));
        assert_eq!((one.words.as_str(), one.way), ("3 clicks finer", Way::Finer));
        assert_eq!(hero.stays, "Dose 18.0 g · yield 40.0 g · 93 °C stay as they are");
        assert_eq!(hero.expect[0], ("time", "25–31 s".to_owned()));
        assert_eq!(hero.sure, "fairly sure, 7 in 10");
    }

    #[test]
    fn another_idea_says_what_to_expect_of_itself() {
        let units = UnitPreferences::default();
        let mut given = advice(Verdict::Adjust, Some(14.0), 12.5);
        let mut expect = given.expect;
        expect.time_s = Spread { p10: 17.0, p50: 19.0, p90: 21.6 };
        let text = "less coffee".to_owned();
        given.alternatives.push(Idea { recipe: recipe(13.0), expect, chance_near_best: 0.52, text });
        let shown = idea(&given, 0, &samples::gear(), 2, &units);
        assert_eq!(shown.expect[0], ("time", "17–22 s".to_owned()));
        let of = |idea| (super::shown(&given, idea).0.grind, super::shown(&given, idea).1.time_s.p50);
        assert_eq!((of(1), of(0), of(2)), ((13.0, 19.0), (12.5, given.expect.time_s.p50), of(0)));
        assert_eq!(
            (shown.sure.as_str(), shown.reasons[0].text.as_str()),
            ("half sure, 5 in 10", "less coffee")
        );
        assert_ne!(shown.chance_of, hero(&given, &samples::gear(), 2, &units).chance_of);
    }

    #[test]
    fn a_scale_that_runs_the_other_way_is_read_the_other_way() {
        let units = UnitPreferences::default();
        let mut gear = samples::gear();
        gear.grind.finer = Finer::Higher;
        let hero = hero(&advice(Verdict::Adjust, Some(14.0), 14.5), &gear, 2, &units);
        assert_eq!(hero.moves[0].words, "1 click finer");
        // Where the pulls say that this was entered the wrong way round, the move is told as they say.
        let mut turned = advice(Verdict::Adjust, Some(14.0), 14.5);
        let (id, text) = ("guard.direction".to_owned(), String::new());
        turned.reasons.push(Reason { voice: Voice::Guard, id, text });
        assert_eq!(super::hero(&turned, &gear, 2, &units).moves[0].words, "1 click coarser");
    }

    #[test]
    fn a_stepless_dial_moves_by_marks() {
        let units = UnitPreferences::default();
        let mut gear = samples::gear();
        gear.grind.stepless = true;
        gear.grind.scale = crate::domain::Scale::new("grind", 0.0, 10.0, 0.05).unwrap();
        let moved =
            |from: f64, to: f64| moves(Some(&recipe(from)), &recipe(to), &gear, &units)[0].words.clone();
        assert_eq!(moved(4.40, 4.35), "0.05 marks finer");
        assert_eq!(moved(4.0, 5.0), "1 mark coarser");
        assert_eq!(moved(4.0, 2.5), "1.5 marks finer");
    }

    #[test]
    fn before_the_first_pull_the_setting_is_the_hero() {
        let units = UnitPreferences::default();
        let hero = hero(&advice(Verdict::Adjust, None, 14.0), &samples::gear(), 0, &units);
        assert_eq!((hero.over.as_str(), hero.moves[0].to.as_str()), ("Next pull · first", "14.0"));
        assert_eq!(hero.stays, "Dose 18.0 g · yield 40.0 g · 93 °C");
    }

    #[test]
    fn settled_and_repeat_are_verdicts_with_the_whole_recipe() {
        let units = UnitPreferences::default();
        let hero_of = |verdict| hero(&advice(verdict, Some(14.0), 14.0), &samples::gear(), 4, &units);
        assert_eq!(hero_of(Verdict::Settled).verdict, "Keep this recipe");
        assert_eq!(hero_of(Verdict::Repeat).verdict, "Pull the same again");
        let planned = Advice { as_planned: true, ..advice(Verdict::Repeat, Some(14.0), 14.0) };
        assert_eq!(hero(&planned, &samples::gear(), 4, &units).verdict, "Pull it as planned");
        assert!(hero_of(Verdict::Settled).stays.starts_with("Grind 14.0"));
        // Not what the last pull was: nobody must take it for that.
        let back = hero(&advice(Verdict::Settled, Some(15.0), 14.0), &samples::gear(), 4, &units);
        assert_eq!((back.verdict.as_str(), back.settled), ("Go back to this recipe", true));
        assert!(back.stays.starts_with("Grind 14.0"));
    }
}
