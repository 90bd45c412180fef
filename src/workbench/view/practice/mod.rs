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
    format!(
        "Simulated. Knows nothing of aroma, crema, milk or your machine. Fitted to one real pull, it misses another by {} %.",
        FIT_MISSES.other_median_pct
    )
}

/// The whole of it.
#[must_use]
pub fn honesty_whole(units: &UnitPreferences) -> String {
    let n = |value: u32| units.number(f64::from(value), 0);
    format!(
        "{HONESTY} Measured against {} real pulls at several pressures (Waszkiewicz et al., Phys. Fluids 38, 063113, 2026, \
         open data), cup mass from 5 g to 99 s, worst moment of each. “Make the bench behave like this bag” comes within {} % of \
         the pull it was fitted to (median; {} % the worst), and within {} % of another one at another pressure (median; a \
         quarter are off by more than {} %, {} % stay within 15 %). Real pulls repeat no better: one as the prediction of its \
         repeat is off by {} to {} %.",
        n(FIT_MISSES.pulls),
        n(FIT_MISSES.own_median_pct),
        n(FIT_MISSES.own_worst_pct),
        n(FIT_MISSES.other_median_pct),
        n(FIT_MISSES.other_quarter_pct),
        n(FIT_MISSES.within_15_pct),
        n(MISSES.repeat_pct.0),
        n(MISSES.repeat_pct.1),
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
    format!(
        "It fails most when it is fitted at low pressure and asked about a higher one. Pull by pull, % of the pull itself and \
         of others: {}.",
        all.join("; ")
    )
}

/// The same as a list: line pressure, the pull itself, others.
#[must_use]
pub fn misses_table(units: &UnitPreferences) -> Vec<String> {
    FIT_CASES
        .iter()
        .map(|case| {
            format!(
                "fitted to a pull at {}: off by {} % of it, by {} % of others (median)",
                units.value(Quantity::Pressure, 0.1 * f64::from(case.line_dbar)),
                case.own_pct,
                case.others_pct
            )
        })
        .collect()
}
