//! What the practice pages show: strips, the cup in numbers and words, handles, the line that says what all this is.

pub mod cup;
pub mod exercises;
pub mod handles;
pub mod inside;
pub mod sheet;
pub mod strips;
pub mod sweeps;

use crate::practice::HONESTY;
use crate::practice::bench::{FIT_CASES, FIT_MISSES, FitCase, MISSES};
use crate::units::{Quantity, UnitPreferences};

/// One line for every screen of the bench.
#[must_use]
pub fn honesty_line() -> String {
    say!(
        "view-practice-simulated-knows-nothing-of-aroma-crema",
        other_median_pct = FIT_MISSES.other_median_pct
    )
}

/// The whole of it.
#[must_use]
pub fn honesty_whole(units: &UnitPreferences) -> String {
    let n = |value: u32| units.number(f64::from(value), 0);
    say!(
        "view-practice-measured-against-real-pulls-at-several",
        honesty = HONESTY,
        n = n(FIT_MISSES.pulls),
        n_2 = n(FIT_MISSES.own_median_pct),
        n_3 = n(FIT_MISSES.own_worst_pct),
        n_4 = n(FIT_MISSES.other_median_pct),
        n_5 = n(FIT_MISSES.other_quarter_pct),
        n_6 = n(FIT_MISSES.within_15_pct),
        n_7 = n(MISSES.repeat_pct.0),
        n_8 = n(MISSES.repeat_pct.1)
    )
}

/// The same pull by pull in one sentence.
#[must_use]
pub fn misses_line(units: &UnitPreferences) -> String {
    let one = |case: &FitCase| {
        let bar = units.value(Quantity::Pressure, 0.1 * f64::from(case.line_dbar));
        format!("{bar} {}, {}", case.own_pct, case.others_pct)
    };
    let all: Vec<String> = FIT_CASES.iter().map(one).collect();
    say!("view-practice-it-fails-most-when-it-is", join = all.join("; "))
}

/// The same as a list: line pressure, the pull itself, others.
#[must_use]
pub fn misses_table(units: &UnitPreferences) -> Vec<String> {
    FIT_CASES
        .iter()
        .map(|case| {
            say!(
                "view-practice-fitted-to-a-pull-at-off",
                value = units.value(Quantity::Pressure, 0.1 * f64::from(case.line_dbar)),
                own_pct = case.own_pct,
                others_pct = case.others_pct
            )
        })
        .collect()
}
