//! The trade's words for what records hold.

use crate::domain::Lever;

/// A lever in a word.
#[must_use]
pub fn lever_word(lever: Lever) -> &'static str {
    match lever {
        Lever::Grind => "Grind",
        Lever::Dose => "Dose",
        Lever::Yield => "Yield",
        Lever::Temperature => "Temperature",
    }
}
