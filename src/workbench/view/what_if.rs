//! What if: the expectation of any recipe in words, beside that of the next pull.

use super::foresee::{Foreseen, Foresight};
use super::page::recipe_line;
use crate::advisor::{Outlook, Quantiles, Standing};
use crate::domain::{Gear, Recipe};
use crate::units::{Quantity, UnitPreferences};

/// What would come of a recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// "Grind 12.5 · dose 18.0 g · yield 40.0 g · 93 °C".
    pub recipe: String,
    /// Name, range, and the middle: time, strength, extraction, liking.
    pub rows: Vec<WhatRow>,
    /// Mean liking, without what differs from pull to pull.
    pub standing: Standing,
    /// The mean against that of the next pull, or of the recipe to change, in words.
    pub against: String,
    /// The trace to expect, where there is one.
    pub foreseen: Option<Foreseen>,
}

/// One expected quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatRow {
    /// "Time".
    pub name: &'static str,
    /// "24–31 s": eight pulls in ten.
    pub range: String,
    /// "27.3 s": as likely above as below.
    pub middle: String,
}

/// What a recipe is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Against {
    /// The next pull as advised.
    Next(Recipe),
    /// The recipe that a change is to be decided from, while the advice is covered.
    From(Recipe),
}

impl Against {
    /// The recipe itself.
    #[must_use]
    pub fn recipe(&self) -> Recipe {
        let (Self::Next(recipe) | Self::From(recipe)) = self;
        *recipe
    }

    fn words(&self, same: bool, by: f64, units: &UnitPreferences) -> String {
        let next = matches!(self, Self::Next(_));
        if same {
            return match next {
                true => word!("view-what-if-this-is-the-next-pull"),
                false => word!("view-what-if-this-is-the-recipe-to-change"),
            }
            .to_owned();
        }
        if by.abs() < 0.05 {
            return match next {
                true => word!("view-what-if-as-good-as-the-next-pull"),
                false => word!("view-what-if-as-good-as-the-recipe-to-change"),
            }
            .to_owned();
        }
        let way = if by > 0.0 { word!("view-what-if-above") } else { word!("view-what-if-below") };
        let number = units.number(by.abs(), 1);
        if next {
            say!("view-what-if-points-the-next-pull", number = number, way = way)
        } else {
            say!("view-what-if-points-the-recipe-to-change", number = number, way = way)
        }
    }
}

/// Works it out; cheap enough for every frame of a drag.
#[must_use]
pub fn what_if(
    outlook: &Outlook,
    foresight: Option<&Foresight>,
    recipe: &Recipe,
    against: &Against,
    units: &UnitPreferences,
) -> WhatIf {
    let gear: &Gear = outlook.gear();
    let expect = outlook.expect(recipe);
    let row = |name, quantity, q: Quantiles, decimals| WhatRow {
        name,
        range: units.span(quantity, q.p10, q.p90, decimals),
        middle: units.value(quantity, q.p50),
    };
    let standing = outlook.standing(recipe);
    let other = against.recipe();
    let by = standing.mean - outlook.standing(&other).mean;
    let against = against.words(gear.snap(recipe) == gear.snap(&other), by, units);
    let times = [expect.time_s.p10, expect.time_s.p50, expect.time_s.p90];
    let liking = &expect.liking;
    WhatIf {
        recipe: crate::units::capital(&recipe_line(gear, recipe, units)),
        rows: vec![
            row(word!("view-words-time"), Quantity::Time, expect.time_s, 0),
            row(word!("view-words-strength"), Quantity::Strength, expect.tds_pct, 1),
            row(word!("view-what-if-extraction"), Quantity::Extraction, expect.extraction_pct, 1),
            WhatRow {
                name: word!("view-what-if-liking"),
                range: format!("{}–{}", units.number(liking.p10, 0), units.number(liking.p90, 0)),
                middle: units.number(liking.p50, 1),
            },
        ],
        standing,
        against,
        foreseen: foresight.and_then(|foresight| foresight.expect(recipe, times)),
    }
}

impl WhatIf {
    /// All of it in one sentence.
    #[must_use]
    pub fn sentence(&self, units: &UnitPreferences) -> String {
        let rows: Vec<String> =
            self.rows.iter().map(|row| format!("{} {}", row.name.to_lowercase(), row.range)).collect();
        say!(
            "view-what-if-expect-mean-liking",
            recipe = self.recipe,
            join = rows.join(", "),
            number = units.number(self.standing.mean, 1),
            number_2 = units.number(self.standing.sd, 1),
            against = self.against
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advisor::{Case, Settings};
    use crate::workbench::samples;

    #[test]
    fn finer_is_slower_and_longer_is_weaker() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (notebook, _) = samples::notebook_with_pulls(3, now);
        let case = Case::from_bag(
            &notebook.bags[0],
            &notebook.stations[0],
            [],
            jiff::civil::date(2026, 9, 22),
            &jiff::tz::TimeZone::UTC,
        );
        let outlook = Outlook::new(&case, &Settings::default());
        let next = case.current();
        let finer = Recipe { grind: next.grind - 2.0, ..next };
        let longer = Recipe { yield_g: next.yield_g + 12.0, ..next };
        let at = |recipe: &Recipe| outlook.expect(recipe);
        assert!(at(&finer).time_s.p50 > at(&next).time_s.p50 + 1.0);
        assert!(at(&longer).tds_pct.p50 < at(&next).tds_pct.p50 - 0.5);
        let units = UnitPreferences::default();
        let against = Against::Next(next);
        let seen = what_if(&outlook, None, &finer, &against, &units);
        let text = seen.sentence(&units);
        assert!(text.contains("expect time ") && text.contains(" ± ") && text.contains("liking"), "{text}");
        assert_eq!(what_if(&outlook, None, &next, &against, &units).against, "This is the next pull.");
        let covered = what_if(&outlook, None, &next, &Against::From(next), &units).against;
        assert_eq!(covered, "This is the recipe to change.");
    }
}
