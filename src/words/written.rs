//! Messages as they stand in a file.

/// The name of a message made of parts: small letters, digits and hyphens.
#[must_use]
pub fn id_of(parts: &[&str]) -> String {
    let sign = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    parts.join("-").chars().map(sign).collect()
}

/// A message without arguments as the line of a file, which reads back as the same text.
#[must_use]
pub fn written(id: &str, text: &str) -> String {
    let mut out = format!("{id} = ");
    let (inner, length) = (text.trim_matches(' '), text.chars().count());
    let from = length - text.trim_start_matches(' ').chars().count();
    let to = from + inner.chars().count();
    for (at, letter) in text.chars().enumerate() {
        match letter {
            '{' | '}' => out.push_str(&format!("{{ \"{letter}\" }}")),
            '\n' | '\r' => out.push_str(&format!("{{ \"\\u{:04X}\" }}", u32::from(letter))),
            // Those at the ends would not be read back.
            ' ' if at < from || at >= to => out.push_str("{ \" \" }"),
            other => out.push(other),
        }
    }
    out.push('\n');
    out
}
