//! The trade's words for what records hold.

use crate::domain::Lever;

/// A lever in a word.
#[must_use]
pub fn lever_word(lever: Lever) -> &'static str {
    match lever {
        Lever::Grind => word!("view-words-grind"),
        Lever::Dose => word!("view-words-dose"),
        Lever::Yield => word!("view-words-yield"),
        Lever::Temperature => word!("view-words-temperature"),
    }
}
