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

/// A count with its noun, for example "1 pull" or "7 pulls".
#[must_use]
pub fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
