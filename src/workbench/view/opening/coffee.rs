//! Coffee sunk: grams and money today, against the last weeks, and what the coming week will want.

use jiff::tz::TimeZone;

use crate::control::pulls::day_use;
use crate::control::sunk::{DayUse, LossReport, WeekForecast, loss, week_forecast};
use crate::domain::{Bag, Price};
use crate::units::{Quantity, UnitPreferences};

/// Weeks that today is compared with.
const WEEKS: u32 = 8;

/// One coffee's losses.
#[derive(Debug, Clone, PartialEq)]
pub struct Sunk {
    /// The coffee's name.
    pub coffee: String,
    /// Today against the weeks before; `None` when nothing was ground today.
    pub today: Option<LossReport>,
    /// What the coming seven days will want; `None` without a whole week of record.
    pub forecast: Option<WeekForecast>,
    /// Currency of its price; empty without one.
    pub currency: String,
    /// Today in words.
    pub words: String,
    /// The forecast in words; empty without one.
    pub week: String,
}

/// A coffee's name without what numbers its bags, for "the same coffee again": letters only, "batch", "bag", "lot"
/// and "no" left out.
pub(super) fn family(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphabetic()).filter(|w| !w.is_empty()).map(str::to_lowercase);
    words.filter(|w| !matches!(w.as_str(), "batch" | "bag" | "lot" | "no")).collect::<Vec<_>>().join(" ")
}

/// Whether two bags hold the same coffee: one roaster, one name but for its number.
pub(super) fn same(one: &Bag, other: &Bag) -> bool {
    one.roaster == other.roaster && family(&one.name) == family(&other.name)
}

/// The week of all coffees together, ranges of independent coffees added in squares; empty without a forecast.
pub(super) fn whole_week(sinks: &[Sunk], units: &UnitPreferences) -> String {
    let all: Vec<WeekForecast> = sinks.iter().filter_map(|s| s.forecast).collect();
    if all.is_empty() {
        return String::new();
    }
    let kg: f64 = all.iter().map(|f| f.kg).sum();
    let half = all.iter().map(|f| (f.range_kg.1 - f.kg).powi(2)).sum::<f64>().sqrt();
    let shown = |v: f64| units.number(v, if kg < 1.0 { 2 } else { 1 });
    let without = match sinks.len() - all.len() {
        0 => String::new(),
        n => say!(
            "view-opening-coffee-without-a-whole-week-of-record",
            counted = say!("view-opening-coffee-count-coffees", n = n)
        ),
    };
    let (all, low, high) = (shown(kg), shown((kg - half).max(0.0)), shown(kg + half));
    if low == high {
        return say!("view-opening-coffee-next-week-kg-in-all", shown = all, without = without);
    }
    say!(
        "view-opening-coffee-next-week-kg-in-all-kg",
        shown = all,
        shown_2 = low,
        shown_3 = high,
        without = without
    )
}

/// Price for a kilogram.
fn per_kg(bag: &Bag) -> Option<(f64, &Price)> {
    let price = bag.price.as_ref()?;
    let mass = bag.mass_g.filter(|m| *m > 0.0)?;
    Some((price.amount / mass * 1000.0, price))
}

/// Losses of a coffee: `bags` are its bags, the one in use last; `purge_g` follows each move of the grinder.
pub(super) fn sunk(
    coffee: &str,
    bags: &[&Bag],
    purge_g: f64,
    today: i32,
    zone: &TimeZone,
    units: &UnitPreferences,
) -> Sunk {
    let days: Vec<DayUse> =
        bags.iter().flat_map(|bag| day_use(bag, purge_g, zone)).filter(|day| day.day <= today).collect();
    let price = bags.last().and_then(|bag| per_kg(bag));
    let report = loss(&days, today, WEEKS, price.map(|(p, _)| p));
    let forecast = week_forecast(&days, today, WEEKS, 0.8);
    let words = match &report {
        None => word!("view-opening-coffee-nothing-pulled-today").to_owned(),
        Some(r) => {
            let money = match (r.cost, price) {
                (Some(cost), Some((_, price))) => format!(", {} {}", units.number(cost, 2), price.currency),
                _ => String::new(),
            };
            let usual = match r.usual_g {
                Some(usual) => {
                    say!("view-opening-coffee-usual-g-a-day", usual = units.value(Quantity::BeanMass, usual))
                }
                None => String::new(),
            };
            say!(
                "view-opening-coffee-g-sunk-and-purged",
                lost = units.value(Quantity::BeanMass, r.lost_g),
                money = money,
                usual = usual
            )
        }
    };
    let week = forecast.map_or(String::new(), |f| {
        let kg = |v: f64| units.number(v, if f.kg < 1.0 { 2 } else { 1 });
        let (all, low, high) = (kg(f.kg), kg(f.range_kg.0), kg(f.range_kg.1));
        if low == high {
            return say!("view-opening-coffee-next-week-kg-by-the-pulls", kg = all);
        }
        say!("view-opening-coffee-next-week-kg-kg-by-the-pulls", kg = all, kg_2 = low, kg_3 = high)
    });
    let currency = price.map_or(String::new(), |(_, price)| price.currency.clone());
    Sunk { coffee: coffee.to_owned(), today: report, forecast, currency, words, week }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bags_of_one_coffee_are_recognised_by_name() {
        assert_eq!(family("Longshore blend, batch 32"), family("Longshore blend, batch 33"));
        assert_eq!(family("House #4"), "house");
        assert_ne!(family("Two Lakes honey"), family("Two Lakes washed"));
    }
}
