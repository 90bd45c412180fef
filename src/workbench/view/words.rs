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

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
