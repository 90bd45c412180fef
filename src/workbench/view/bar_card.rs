//! The bar card of a keeper: what to set, how far it may wander and why, what to do when it is off, what to heed.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::care;
use super::page::{degrees, setting};
use crate::advisor::Outlook;
use crate::domain::{Finer, Gear, Keeper, Lever, Tolerance};
use crate::exchange::picture::{Card, CardFigure, CardPart};
use crate::units::{Quantity, UnitPreferences, capital};
use crate::workbench::asking::Question;
use crate::workbench::{believing, engine};

/// Makes the card of a bag's keeper.
///
/// # Errors
/// One sentence when the bag has no keeper.
pub fn bar_card(
    question: &Question,
    drinker: &str,
    today: Date,
    zone: &TimeZone,
    units: &UnitPreferences,
) -> Result<Card, String> {
    let bag = &question.bag;
    let keeper =
        bag.keeper.as_ref().ok_or_else(|| say!("view-bar-card-has-no-keeper-yet-keep-a", name = bag.name))?;
    let gear = &question.station.gear;
    let outlook = believing::outlook(question);
    let known = keeper.tolerance;
    let tolerance = if known == Tolerance::default() {
        engine::tolerance(&outlook.tolerances(&keeper.recipe))
    } else {
        known
    };
    let time_s = keeper.time_s.unwrap_or_else(|| outlook.expect(&keeper.recipe).time_s.p50);
    let pulls = bag.live_pulls().count();
    let mut facts: Vec<String> = Vec::new();
    if !bag.roaster.is_empty() {
        facts.push(bag.roaster.clone());
    }
    facts.extend(bag.process.map(|process| process.word().to_owned()));
    facts.extend(bag.roast.map(|roast| roast.word().to_owned()));
    facts.extend(bag.roasted_on.map(|day| say!("view-bar-card-roasted", day = day)));
    let station = &question.station;
    let place: Vec<&str> = [&station.name, &station.grinder_name, &station.machine_name]
        .into_iter()
        .map(String::as_str)
        .collect();
    let place: Vec<&str> = place.into_iter().chain([drinker]).filter(|word| !word.is_empty()).collect();
    let kept = keeper.kept_at.to_zoned_datetime(zone.clone()).date();
    Ok(Card {
        title: bag.name.clone(),
        about: [capital(&facts.join(" · ")), place.join(" · ")]
            .into_iter()
            .filter(|line| !line.is_empty())
            .collect(),
        figures: figures(keeper, &tolerance, time_s, gear, units),
        parts: vec![
            why(&tolerance, pulls),
            CardPart {
                heading: word!("view-bar-card-when-it-is-off").to_owned(),
                lines: when_off(keeper, &tolerance, time_s, gear, &outlook, units),
            },
            CardPart {
                heading: word!("view-bar-card-take-care").to_owned(),
                lines: vec![
                    care::BEFORE_A_PULL.word().to_owned(),
                    say!("view-bar-card-after-a-choke", after_a_choke = care::AFTER_A_CHOKE.word()),
                    care::AT_THE_GRINDER.word().to_owned(),
                    care::AT_THE_STATION.word().to_owned(),
                ],
            },
        ],
        foot: say!(
            "view-bar-card-kept-printed-thirdpull",
            kept = kept,
            today = today,
            text = env!("CARGO_PKG_VERSION")
        ),
    })
}

fn figures(
    keeper: &Keeper,
    tolerance: &Tolerance,
    time_s: f64,
    gear: &Gear,
    units: &UnitPreferences,
) -> Vec<CardFigure> {
    let figure = |name: &str, quantity, value: f64, decimals: usize, by: Option<f64>| {
        let (shown, unit, usual) = units.convert(quantity, value);
        let scale = units.convert(quantity, 1.0).0 - units.convert(quantity, 0.0).0;
        CardFigure {
            name: name.to_owned(),
            value: units.number(shown, decimals.min(usual)),
            unit: unit.to_owned(),
            within: by.map_or(String::new(), |by| format!("± {} {unit}", units.number(by * scale, usual))),
        }
    };
    let recipe = &keeper.recipe;
    let finer = match gear.grind.finer {
        Finer::Lower => word!("view-bar-card-lower-is-finer"),
        Finer::Higher => word!("view-bar-card-higher-is-finer"),
    };
    let mut all = vec![
        CardFigure {
            name: word!("view-words-grind").to_owned(),
            value: setting(gear, recipe.grind, units),
            unit: String::new(),
            within: finer.to_owned(),
        },
        figure(word!("view-words-dose"), Quantity::Dose, recipe.dose_g, 2, tolerance.dose_g),
        figure(word!("view-words-yield"), Quantity::Yield, recipe.yield_g, 2, tolerance.yield_g),
        figure(word!("view-words-time"), Quantity::Time, time_s, 0, tolerance.time_s),
    ];
    if let Some(t) = recipe.temperature_c.filter(|_| gear.temperature_c.is_some()) {
        let mut one =
            figure(word!("view-words-temperature"), Quantity::Temperature, t, 1, tolerance.temperature_c);
        if let Some((value, _)) = degrees(t, units).split_once(' ') {
            one.value = value.to_owned();
        }
        all.push(one);
    }
    all
}

fn why(tolerance: &Tolerance, pulls: usize) -> CardPart {
    let lines = if *tolerance == Tolerance::default() {
        vec![word!("view-bar-card-no-figure-is-so-touchy-that").to_owned()]
    } else {
        vec![say!(
            "view-bar-card-within-one-figure-may-wander-the",
            counted = say!("view-bar-card-count-pulls", n = pulls)
        )]
    };
    CardPart { heading: word!("view-bar-card-how-far-it-may-wander").to_owned(), lines }
}

/// The trade's moves (common practice, no source), in the seconds that the engine expects of this grinder.
fn when_off(
    keeper: &Keeper,
    tolerance: &Tolerance,
    time_s: f64,
    gear: &Gear,
    outlook: &Outlook,
    units: &UnitPreferences,
) -> Vec<String> {
    let slack = tolerance.time_s.filter(|by| by.is_finite()).unwrap_or(3.0).clamp(1.0, 10.0);
    let seconds = |v: f64| units.value(Quantity::Time, v.round()).replace(".0", "").replace(",0", "");
    let recipe = &keeper.recipe;
    let click = if gear.grind.stepless { word!("view-bar-card-mark") } else { word!("view-bar-card-click") };
    let moved = |steps: i64| {
        let grind = gear.grind.coarser_by(recipe.grind, steps);
        let there = outlook.expect(&recipe.with(Lever::Grind, grind)).time_s.p50;
        let by = (there - outlook.expect(recipe).time_s.p50).abs();
        let way = if steps < 0 { word!("view-bar-card-finer") } else { word!("view-bar-card-coarser") };
        if gear.grind.scale.index_of(grind) == gear.grind.scale.index_of(recipe.grind) {
            return say!("view-bar-card-the-grinder-is-at-its-end", way = way);
        }
        say!(
            "view-bar-card-grind-one-to-about-s",
            click = click,
            way = way,
            setting = setting(gear, grind, units),
            number = units.number(by, 1),
            part = if steps < 0 { word!("view-bar-card-longer") } else { word!("view-bar-card-shorter") }
        )
    };
    let purge = gear.grind.retained_g;
    let after = if purge >= 0.2 {
        say!("view-bar-card-after-a-move-purge", value = units.value(Quantity::Dose, (purge * 2.0).ceil()))
    } else {
        String::new()
    };
    let spoon = units.value(Quantity::Yield, 2.0);
    vec![
        word!("view-bar-card-first-weigh-dose-and-cup-again").to_owned(),
        say!(
            "view-bar-card-under",
            seconds = seconds((time_s - slack).max(1.0)),
            moved = moved(-1),
            after = after
        ),
        say!("view-bar-card-over", seconds = seconds(time_s + slack), moved = moved(1), after = after),
        say!("view-bar-card-time-right-but-sour-and-thin", spoon = spoon),
        word!("view-bar-card-spurting-or-choked-prepare-a-new").to_owned(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::picture::{Shape, draw_card};
    use crate::workbench::samples;

    fn made(keep: bool) -> Result<Card, String> {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(4, now);
        let bag = &mut notebook.bags[0];
        for pull in &mut bag.pulls {
            pull.taste.set_liking(Some(7));
        }
        if keep {
            bag.keeper = Some(Keeper {
                recipe: bag.pulls[3].used,
                time_s: Some(28.4),
                tolerance: Tolerance::default(),
                kept_at: now,
                from_pull: None,
            });
        }
        let today = jiff::civil::date(2026, 9, 22);
        let question = Question::about(&notebook, id, today, &TimeZone::UTC, 1).unwrap();
        bar_card(&question, "Ida", today, &TimeZone::UTC, &UnitPreferences::default())
    }

    #[test]
    fn the_card_says_what_to_set_how_far_and_what_to_do() {
        let card = made(true).unwrap();
        let figures: Vec<(&str, &str, &str)> =
            card.figures.iter().map(|f| (f.name.as_str(), f.value.as_str(), f.unit.as_str())).collect();
        assert_eq!(figures[0].0, "Grind");
        assert!(figures.contains(&("Dose", "18.0", "g")) && figures.contains(&("Yield", "36.0", "g")));
        assert!(figures.contains(&("Time", "28", "s")) && figures.contains(&("Temperature", "93", "°C")));
        assert!(card.figures.iter().any(|f| f.within.starts_with("± ")), "worked out: {:?}", card.figures);
        let all: Vec<&String> = card.parts.iter().flat_map(|part| &part.lines).collect();
        let says = |part: &str| all.iter().any(|line| line.contains(part));
        assert!(says("half a point") && says("one click finer") && says("one click coarser"), "{all:?}");
        assert!(says("scalds") && says("licensed people") && says("unplug"));
        // What the drawing holds is what the card says.
        let drawing = draw_card(&card);
        let drawn = |want: &str| {
            drawing.shapes.iter().any(|shape| matches!(shape, Shape::Text { text, .. } if text == want))
        };
        assert!(card.figures.iter().all(|f| drawn(&f.value)) && drawn("Quarry Road"));
    }

    /// A keeper brewed cooler than suits the coffee: cooler costs half a point soon, hotter none within reach.
    #[test]
    fn a_figure_that_may_wander_one_way_only_is_held_to_the_other() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(6, now);
        let bag = &mut notebook.bags[0];
        for (pull, (heat_c, liking)) in
            bag.pulls.iter_mut().zip([(90.0, 6), (93.0, 8), (96.0, 8), (90.0, 6), (93.0, 8), (96.0, 8)])
        {
            pull.used.temperature_c = Some(heat_c);
            pull.time_s = Some(28.0);
            pull.taste.set_liking(Some(liking));
        }
        let recipe = bag.pulls[0].used;
        let tolerance = Tolerance::default();
        bag.keeper = Some(Keeper { recipe, time_s: Some(28.0), tolerance, kept_at: now, from_pull: None });
        let today = jiff::civil::date(2026, 9, 22);
        let question = Question::about(&notebook, id, today, &TimeZone::UTC, 1).unwrap();
        // As the taste map has it.
        let outlook = believing::outlook(&question);
        let liked = |heat_c: f64| outlook.standing(&recipe.with(Lever::Temperature, heat_c)).mean;
        assert!(liked(90.0) - liked(86.0) > 0.55, "{} {}", liked(90.0), liked(86.0));
        assert!((90..=96).all(|heat_c| liked(90.0) - liked(f64::from(heat_c)) < 0.45));
        let card = bar_card(&question, "Ida", today, &TimeZone::UTC, &UnitPreferences::default()).unwrap();
        let heat = card.figures.iter().find(|figure| figure.name == "Temperature").unwrap();
        assert!(heat.within.starts_with("± "), "{heat:?}");
    }

    #[test]
    fn without_a_keeper_there_is_no_card() {
        assert!(made(false).unwrap_err().contains("no keeper yet"));
    }
}
