//! Numbers as people type them.

use thiserror::Error;

/// Why a text is not a usable number. Each variant's message says what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NumberFault {
    /// Nothing but white space.
    #[error("{}", word!("units-parse-empty"))]
    Empty,
    /// Two decimal marks, or marks that could be read in two ways.
    #[error("{}", say!("units-parse-ambiguous", text = .0))]
    Ambiguous(String),
    /// Not a number at all.
    #[error("{}", say!("units-parse-not-a-number", text = .0))]
    NotANumber(String),
    /// `nan`, `inf` or too large for a double.
    #[error("{}", say!("units-parse-not-finite", text = .0))]
    NotFinite(String),
}

/// Reads one number, with a decimal point or a decimal comma, an optional sign (ASCII or U+2212) and surrounding
/// space. Thousands marks are refused rather than guessed, because "1.234" and "1,234" would be silently wrong
/// by a factor of a thousand for somebody.
///
/// # Errors
/// [`NumberFault`], whose text can be shown as it is.
///
/// # Examples
/// ```
/// use thirdpull::units::parse_number;
/// assert_eq!(parse_number(" 18,2 ").unwrap(), 18.2);
/// assert_eq!(parse_number("−1.5").unwrap(), -1.5);
/// assert!(parse_number("1.234,5").is_err());
/// ```
pub fn parse_number(text: &str) -> Result<f64, NumberFault> {
    let trimmed = text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}' || c == '\u{200b}');
    if trimmed.is_empty() {
        return Err(NumberFault::Empty);
    }
    let shown = || -> String { trimmed.chars().take(40).collect() };
    let mut plain = String::with_capacity(trimmed.len());
    let mut marks = 0usize;
    for c in trimmed.chars() {
        match c {
            '0'..='9' | '+' | '-' | 'e' | 'E' => plain.push(c),
            '\u{2212}' | '\u{2013}' => plain.push('-'),
            '.' | ',' => {
                marks += 1;
                plain.push('.');
            }
            _ => {
                let lower = trimmed.to_lowercase();
                let bare = lower.trim_start_matches(['+', '-', '\u{2212}']);
                if matches!(bare, "nan" | "inf" | "infinity" | "∞") {
                    return Err(NumberFault::NotFinite(shown()));
                }
                return Err(NumberFault::NotANumber(shown()));
            }
        }
    }
    if marks > 1 {
        return Err(NumberFault::Ambiguous(shown()));
    }
    match plain.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => Err(NumberFault::NotFinite(shown())),
        Err(_unreadable) => Err(NumberFault::NotANumber(shown())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_type() {
        for (text, value) in [
            ("18", 18.0),
            ("18.2", 18.2),
            ("18,2", 18.2),
            (" +3 ", 3.0),
            ("−2", -2.0),
            (".5", 0.5),
            ("1e1", 10.0),
        ] {
            assert_eq!(parse_number(text), Ok(value), "{text}");
        }
    }

    #[test]
    fn refuses_the_rest_with_a_reason() {
        assert_eq!(parse_number("  "), Err(NumberFault::Empty));
        assert!(matches!(parse_number("1,234.5"), Err(NumberFault::Ambiguous(_))));
        for text in ["NaN", "inf", "-Infinity", "1e999"] {
            assert!(matches!(parse_number(text), Err(NumberFault::NotFinite(_))), "{text}");
        }
        for text in ["abc", "18g", "1 8", "--3", "٣", "-"] {
            assert!(matches!(parse_number(text), Err(NumberFault::NotANumber(_))), "{text}");
        }
    }
}
