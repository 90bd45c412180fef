//! What the practice pages show: strips, the cup in numbers and words, handles, the line that says what all this is.

pub mod cup;
pub mod handles;
pub mod inside;
pub mod strips;
pub mod sweeps;

use crate::practice::HONESTY;
use crate::practice::bench::MISSES;
use crate::units::UnitPreferences;

/// One line for every screen of the bench.
#[must_use]
pub fn honesty_line() -> String {
    format!(
        "Simulated. Knows nothing of aroma, crema, milk or your machine. Fitted to one real pull it misses another by {} % \
         (median, worst moment).",
        MISSES.other_median_pct
    )
}

/// The whole of it.
#[must_use]
pub fn honesty_whole(units: &UnitPreferences) -> String {
    let n = |value: u32| units.number(f64::from(value), 0);
    format!(
        "{HONESTY} Against {} real pulls at several pressures (Waszkiewicz et al., Phys. Fluids 38, 063113, 2026, open \
         data): fitted to a pull's own record, the cup mass is off by {} % at its worst moment in the median pull and by \
         {} % in the worst. Fitted to one pull and asked about another at another pressure, it is off by {} % in the \
         median pair and by more than {} % in a quarter of them; {} % of the pairs stay within 15 %. It fails most where the real pulls \
         themselves do: one pull as the prediction of its repeat at the same pressure is off by {} to {} %.",
        n(MISSES.pulls),
        n(MISSES.own_median_pct),
        n(MISSES.own_worst_pct),
        n(MISSES.other_median_pct),
        n(MISSES.other_quarter_pct),
        n(MISSES.within_15_pct),
        n(MISSES.repeat_pct.0),
        n(MISSES.repeat_pct.1),
    )
}
