//! The head of a bag's page, and the recipe that the next pull is planned from.

use jiff::civil::Date;

use crate::domain::{Bag, Gear, Notebook, Recipe};
use crate::units::capital;
use crate::units::{Quantity, UnitPreferences};

/// The head of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageHead {
    /// The bag's name.
    pub title: String,
    /// Roaster, process, roast, age, what is left: the parts known, in that order.
    pub facts: String,
    /// Station and drinker.
    pub place: String,
}

/// The head of a bag's page.
#[must_use]
pub fn head(notebook: &Notebook, bag: &Bag, today: Date, units: &UnitPreferences) -> PageHead {
    let mut facts: Vec<String> = Vec::new();
    if !bag.roaster.is_empty() {
        facts.push(bag.roaster.clone());
    }
    facts.extend(bag.process.map(|process| process.word().to_owned()));
    facts.extend(bag.roast.map(|roast| roast.word().to_owned()));
    if let Some(days) = bag.days_since_roast(today) {
        facts.push(if days < 0 {
            word!("view-page-roast-date-ahead-of-today").to_owned()
        } else {
            say!("view-page-day", days = days)
        });
    }
    // What is left of a finished bag is no longer in it.
    if let Some(left) = bag.grams_left().filter(|_| !bag.finished) {
        facts.push(if too_little(bag) {
            say!("view-page-too-little", value = units.value(Quantity::Dose, left))
        } else {
            let pulls = bag.pulls_left(usual_dose_g(bag)).map_or(String::new(), |n| {
                say!("view-page-about", counted = say!("view-page-count-pulls", n = n as usize))
            });
            say!("view-page-left", value = units.value(Quantity::BeanMass, left), pulls = pulls)
        });
    }
    let place: Vec<&str> = [
        notebook.station(bag.station).map(|station| station.name.as_str()),
        notebook.drinker(bag.drinker).map(|drinker| drinker.name.as_str()),
    ]
    .into_iter()
    .flatten()
    .collect();
    PageHead { title: bag.name.clone(), facts: capital(&facts.join(" · ")), place: place.join(" · ") }
}

/// The recipe to pull next when nobody has advised yet: the keeper, else what the last pull aimed at, else the start
/// (with the grinder's usual setting where it is not known).
#[must_use]
pub fn fallback_plan(bag: &Bag, gear: &Gear) -> Recipe {
    match &bag.keeper {
        Some(keeper) => gear.snap(&keeper.recipe),
        None => decide_from(bag, gear),
    }
}

/// The recipe that a change is decided from: what the last pull aimed at, else the start (with the grinder's usual setting
/// where it is not known). It tells nothing of the advice, nor of what is kept.
#[must_use]
pub fn decide_from(bag: &Bag, gear: &Gear) -> Recipe {
    let last = bag.live_pulls().next_back().map(|last| last.aimed(usual_yield_g(bag)));
    gear.snap(&last.unwrap_or_else(|| bag.start.recipe(gear.grind.usual())))
}

/// The plan of a pull that whoever pulled it decided on, starting from `from`: `from` where the hand missed it by no more
/// than usual, else what was set.
#[must_use]
pub fn decided(used: Recipe, from: Recipe, choked: bool, gear: &Gear) -> Recipe {
    let meant = used.meant(Some(from), choked, from.yield_g);
    let set = Recipe { yield_g: from.yield_g, ..meant };
    gear.snap(&if meant.aimed(Some(from)) == from { from } else { meant.aimed(Some(set)) })
}

/// Whether less is left in the bag than one pull takes.
#[must_use]
pub fn too_little(bag: &Bag) -> bool {
    bag.pulls_left(usual_dose_g(bag)) == Some(0)
}

/// Dose (g) of the last pull, or of the start.
fn usual_dose_g(bag: &Bag) -> f64 {
    bag.live_pulls().next_back().map_or(bag.start.dose_g, |pull| pull.used.dose_g)
}

/// Yield (g) of the last finished pull, or of the start.
pub(super) fn usual_yield_g(bag: &Bag) -> f64 {
    let finished = bag.live_pulls().rev().find(|pull| !pull.flags.choked);
    finished.map_or(bag.start.yield_g, |pull| pull.used.yield_g)
}

/// A grinder's setting as text, with the decimals of its scale.
#[must_use]
pub fn setting(gear: &Gear, value: f64, units: &UnitPreferences) -> String {
    units.number(value, gear.grind.scale.decimals().max(usize::from(value.fract() != 0.0)))
}

/// A recipe in one line: "grind 14.0 · dose 18.0 g · yield 36.0 g · 93 °C".
#[must_use]
pub fn recipe_line(gear: &Gear, recipe: &Recipe, units: &UnitPreferences) -> String {
    let mut parts = vec![
        say!("view-page-grind", setting = setting(gear, recipe.grind, units)),
        say!("view-page-dose", value = units.value(Quantity::Dose, recipe.dose_g)),
        say!("view-page-yield", value = units.value(Quantity::Yield, recipe.yield_g)),
    ];
    if let Some(t) = recipe.temperature_c.filter(|_| gear.temperature_c.is_some()) {
        parts.push(degrees(t, units));
    }
    parts.join(" · ")
}

/// A temperature without decimals that say nothing: "93 °C", "92.5 °C".
#[must_use]
pub fn degrees(temperature_c: f64, units: &UnitPreferences) -> String {
    let (value, unit, decimals) = units.convert(Quantity::Temperature, temperature_c);
    let decimals = if (value - value.round()).abs() < 0.05 { 0 } else { decimals };
    format!("{} {unit}", units.number(value, decimals))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    #[test]
    fn the_head_says_what_is_known_and_no_more() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, id) = samples::notebook_with_pulls(6, now);
        let bag = notebook.bag(id).unwrap();
        let head = head(&notebook, bag, jiff::civil::date(2026, 11, 25), &UnitPreferences::default());
        assert_eq!(head.facts, "Washed · medium-light · 142 g left, about 7 pulls");
        assert_eq!(head.place, "Kitchen · Ida");
    }

    #[test]
    fn the_head_says_where_too_little_is_left() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(6, now);
        let facts = |notebook: &Notebook| {
            let today = jiff::civil::date(2026, 11, 25);
            head(notebook, notebook.bag(id).unwrap(), today, &UnitPreferences::default()).facts
        };
        notebook.bags[0].mass_g = Some(125.9);
        assert!(too_little(&notebook.bags[0]));
        assert_eq!(facts(&notebook), "Washed · medium-light · 17.9 g left, too little for a pull");
        notebook.bags[0].mass_g = Some(125.999_999);
        assert!(facts(&notebook).ends_with("18 g left, about 1 pull"), "{}", facts(&notebook));
        notebook.bags[0].finished = true;
        assert_eq!(facts(&notebook), "Washed · medium-light");
        notebook.bags[0].mass_g = None;
        assert!(!too_little(&notebook.bags[0]));
    }

    #[test]
    fn without_advice_the_last_pull_is_repeated() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(1, now);
        notebook.bags[0].pulls[0].used.grind = 13.5;
        let plan = fallback_plan(notebook.bag(id).unwrap(), &samples::gear());
        assert_eq!(plan.grind, 13.5);
        let units = UnitPreferences::default();
        let line = recipe_line(&samples::gear(), &plan, &units);
        assert_eq!(line, "grind 13.5 · dose 18.0 g · yield 36.0 g · 93 °C");
    }

    #[test]
    fn what_was_decided_is_a_plan() {
        let gear = samples::gear();
        let from = Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };
        let slip = Recipe { dose_g: 18.1, yield_g: 36.8, ..from };
        assert_eq!(decided(slip, from, false, &gear), from);
        let finer = Recipe { grind: 13.0, ..from };
        assert_eq!(decided(finer, from, false, &gear), finer);
        assert_eq!(decided(Recipe { yield_g: 36.8, ..finer }, from, false, &gear), finer);
        let longer = Recipe { yield_g: 44.0, ..finer };
        assert_eq!(decided(longer, from, false, &gear), longer);
        // What little ran of a choked pull was not decided on.
        assert_eq!(decided(Recipe { yield_g: 5.0, ..finer }, from, true, &gear), finer);
    }

    #[test]
    fn what_is_decided_from_is_no_keeper() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let last = notebook.bags[0].pulls[1].used;
        let kept = Recipe { grind: last.grind - 3.0, ..last };
        notebook.bags[0].keeper = Some(crate::domain::Keeper {
            recipe: kept,
            time_s: None,
            tolerance: crate::domain::Tolerance::default(),
            kept_at: now,
            from_pull: None,
        });
        let bag = notebook.bag(id).unwrap();
        assert_eq!(fallback_plan(bag, &samples::gear()), kept);
        assert_eq!(decide_from(bag, &samples::gear()), last);
    }

    #[test]
    fn a_slip_of_the_hand_is_not_repeated() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(2, now);
        let gear = samples::gear();
        let planned = Recipe { grind: 13.5, ..notebook.bags[0].pulls[1].used };
        let pull = &mut notebook.bags[0].pulls[1];
        pull.plan = Some(planned);
        pull.used = Recipe { dose_g: planned.dose_g - 0.2, yield_g: planned.yield_g + 1.2, ..planned };
        let of = |notebook: &Notebook| fallback_plan(notebook.bag(id).unwrap(), &gear);
        assert_eq!(of(&notebook), planned);
        // More than a slip was meant.
        notebook.bags[0].pulls[1].used.yield_g = planned.yield_g + 4.0;
        assert_eq!(of(&notebook).yield_g, planned.yield_g + 4.0);
        // What little runs of a choked pull is not what was aimed at.
        let pull = &mut notebook.bags[0].pulls[1];
        pull.used = Recipe { yield_g: 6.0, ..planned };
        pull.flags.choked = true;
        assert_eq!(of(&notebook), planned);
        notebook.bags[0].pulls[1].plan = None;
        assert_eq!(of(&notebook).yield_g, notebook.bags[0].pulls[0].used.yield_g);
    }
}
