//! The trade's words for what records hold.

use crate::domain::{Lever, Process, Roast};

/// A roast level in words.
#[must_use]
pub fn roast_word(roast: Roast) -> &'static str {
    match roast {
        Roast::Light => "light",
        Roast::MediumLight => "medium-light",
        Roast::Medium => "medium",
        Roast::MediumDark => "medium-dark",
        Roast::Dark => "dark",
    }
}

/// A process in words.
#[must_use]
pub fn process_word(process: Process) -> &'static str {
    match process {
        Process::Washed => "washed",
        Process::Natural => "natural",
        Process::Honey => "honey",
        Process::Other => "other",
    }
}

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
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
