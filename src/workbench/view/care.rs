//! Cautions where a hand is about to act, and a tally of what has been tasted today.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::domain::Notebook;
use crate::words::Name;

/// Before a pull: heat and pressure.
pub const BEFORE_A_PULL: Name = name!("view-care-water-at-the-group-is-near-93");

/// After a choked pull: pressure is still there.
pub const AFTER_A_CHOKE: Name = name!("view-care-the-basket-is-still-under-pressure-stop");

/// When the grind is to be moved.
pub const AT_THE_GRINDER: Name = name!("view-care-move-the-burrs-by-the-grinders-own");

/// Before tasting.
pub const BEFORE_TASTING: Name = name!("view-care-let-it-cool-to-where-you-can");

/// On a station's page.
pub const AT_THE_STATION: Name = name!("view-care-work-on-boilers-wiring-safety-valves-and");

/// Caffeine of one espresso as measured over 131 bought ones: mean 107 mg, standard deviation 37 mg (Desbrow, Hall and
/// Irwin, J. Food Compos. Anal. 28, 2012, 114–118).
pub const CAFFEINE_PER_CUP_MG: (f64, f64) = (70.0, 145.0);

/// Caffeine over a day that raises no concern for healthy adults who are not pregnant: 400 mg; in one dose 200 mg
/// (EFSA Journal 13(5):4102, 2015).
pub const CAFFEINE_DAY_MG: f64 = 400.0;

/// What was tasted on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {
    /// Cups with marks or liking.
    pub cups: usize,
    /// The sentence to show; empty below two cups.
    pub text: String,
    /// Whether the day's published figure may have been reached.
    pub high: bool,
}

/// Counts the tasted pulls of `day` over all bags.
#[must_use]
pub fn tally(notebook: &Notebook, day: Date, zone: &TimeZone) -> Tally {
    let cups = notebook
        .bags
        .iter()
        .filter(|bag| bag.stamp.is_live())
        .flat_map(|bag| bag.live_pulls().rev())
        .filter(|pull| !pull.taste.is_empty() && pull.pulled_at.to_zoned_datetime(zone.clone()).date() == day)
        .count();
    let (low, high) = CAFFEINE_PER_CUP_MG;
    let tens = |mg: f64| (mg * cups as f64 / 10.0).round() * 10.0;
    let may_be_high = tens(high) >= CAFFEINE_DAY_MG;
    let mut text = String::new();
    if cups >= 2 {
        text = say!(
            "view-care-tasted-today-about-mg-caffeine-if",
            counted = say!("view-care-count-cups", n = cups),
            tens = tens(low),
            tens_2 = tens(high)
        );
        if may_be_high {
            text = say!("view-care-with-the-published-guidance", tally = text);
        }
    }
    Tally { cups, text, high: may_be_high }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    #[test]
    fn only_tasted_cups_of_the_day_count() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, _) = samples::notebook_with_pulls(5, now);
        let zone = TimeZone::UTC;
        let day = now.to_zoned_datetime(zone.clone()).date();
        assert_eq!(tally(&notebook, day, &zone).cups, 0);
        for pull in notebook.bags[0].pulls.iter_mut().take(3) {
            pull.taste.set_liking(Some(6));
        }
        let three = tally(&notebook, day, &zone);
        assert_eq!(three.cups, 3);
        assert!(three.high && three.text.contains("210–440 mg"), "{}", three.text);
        assert_eq!(tally(&notebook, day.tomorrow().unwrap(), &zone).cups, 0);
    }
}
