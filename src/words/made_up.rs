//! A made-up language, to see that every string comes from the catalogue and that a longer one still fits.

use std::borrow::Cow;
use std::sync::OnceLock;

use super::{Catalogue, ENGLISH};

/// English with accents, two letters in five doubled, each message between `⟦` and `⟧`.
///
/// It is 40 % longer than English, counted in letters.
#[must_use]
pub fn made_up() -> &'static Catalogue {
    static CELL: OnceLock<Catalogue> = OnceLock::new();
    CELL.get_or_init(|| changed(ENGLISH))
}

/// A whole file of a language made longer in the same way. For tests: it is kept for as long as the program runs.
#[must_use]
pub fn made_up_of(text: &str) -> &'static Catalogue {
    Box::leak(Box::new(changed(text)))
}

fn changed(text: &str) -> Catalogue {
    Catalogue::changed("en", text, longer, ('⟦', '⟧'))
}

fn longer(text: &str) -> Cow<'_, str> {
    let mut out = String::with_capacity(text.len() * 2);
    let mut letters = 0_usize;
    for letter in text.chars() {
        let accented = match letter {
            'a' => 'á',
            'e' => 'ë',
            'i' => 'í',
            'o' => 'ö',
            'u' => 'ü',
            'n' => 'ñ',
            'c' => 'ç',
            'A' => 'Å',
            'E' => 'É',
            'O' => 'Ø',
            other => other,
        };
        out.push(accented);
        if letter.is_alphabetic() {
            // The first and the third of every five, so that a short word grows too.
            if matches!(letters % 5, 0 | 2) {
                out.push(accented);
            }
            letters += 1;
        }
    }
    Cow::Owned(out)
}
