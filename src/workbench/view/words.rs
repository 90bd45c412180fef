//! The trade's words for what records hold.

use crate::domain::Lever;
use crate::words::Name;

/// The five steps in words, from −2 to +2.
pub const MARK_WORDS: [Name; 5] = [
    name!("view-words-far-too-little"),
    name!("view-words-a-little-too-little"),
    name!("view-words-just-right"),
    name!("view-words-a-little-too-much"),
    name!("view-words-far-too-much"),
];

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
