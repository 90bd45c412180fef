//! Where in a RON text a field stands, so that a fault in its value can be shown with line and column.

/// A place in a text, both counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Line.
    pub line: usize,
    /// Column, in characters.
    pub column: usize,
}

/// One open bracket: which entry of it is being read, and the last field name seen in it.
struct Level {
    index: usize,
    name: Option<String>,
}

/// Finds the value at a path such as `arms[1].drawn.pressure_bar`; where the whole path is not there, the longest part
/// of it that is. `None` when not even its first part is.
#[must_use]
pub fn locate(text: &str, path: &str) -> Option<Place> {
    let wanted: Vec<String> = path
        .replace('[', ".[")
        .split('.')
        .filter(|part| !part.is_empty())
        .map(|part| part.trim_matches(['[', ']']).to_owned())
        .collect();
    let mut best: Option<(usize, Place)> = None;
    let mut levels: Vec<Level> = Vec::new();
    // True where a value may begin: after an opening bracket, a comma or a colon.
    let mut fresh = true;
    let mut words = Words { text: text.chars().collect(), at: 0, line: 1, column: 1 };
    while let Some((word, place)) = words.next_word() {
        match word.as_str() {
            "(" | "[" | "{" => {
                if fresh {
                    note(&levels, &wanted, place, &mut best);
                }
                levels.push(Level { index: 0, name: None });
                fresh = true;
            }
            ")" | "]" | "}" => {
                levels.pop();
                fresh = false;
            }
            "," => {
                if let Some(level) = levels.last_mut() {
                    level.index += 1;
                    level.name = None;
                }
                fresh = true;
            }
            ":" => fresh = true,
            _ => {
                if words.colon_follows() {
                    if let Some(level) = levels.last_mut() {
                        level.name = Some(word);
                    }
                } else if fresh {
                    note(&levels, &wanted, place, &mut best);
                    // A name before a bracket (`Coffee(`, `Some(`) is part of the value, not a level of its own.
                    fresh = words.bracket_follows();
                }
            }
        }
    }
    best.map(|(_, place)| place)
}

/// Keeps the place when it matches more of the wanted path than any before.
fn note(levels: &[Level], wanted: &[String], place: Place, best: &mut Option<(usize, Place)>) {
    // The outermost bracket belongs to the file's own wrapper (`Coffee(`).
    let mut matched = 0;
    for level in levels {
        let Some(part) = wanted.get(matched) else { return };
        let named = level.name.as_ref() == Some(part);
        if named || (level.name.is_none() && part.parse() == Ok(level.index)) {
            matched += 1;
        } else if level.name.is_some() || matched > 0 {
            return;
        }
    }
    if matched > 0 && best.is_none_or(|(most, _)| matched > most) {
        *best = Some((matched, place));
    }
}

/// Splits a text into brackets, commas, colons and everything else, without comments.
struct Words {
    text: Vec<char>,
    at: usize,
    line: usize,
    column: usize,
}

impl Words {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.text.get(self.at + ahead).copied()
    }

    fn step(&mut self) -> Option<char> {
        let c = self.peek(0)?;
        self.at += 1;
        if c == '\n' {
            self.line += 1;
            self.column = 1;
        } else {
            self.column += 1;
        }
        Some(c)
    }

    fn skip(&mut self) {
        loop {
            match (self.peek(0), self.peek(1)) {
                (Some(c), _) if c.is_whitespace() => {
                    self.step();
                }
                (Some('/'), Some('/')) => {
                    while self.peek(0).is_some_and(|c| c != '\n') {
                        self.step();
                    }
                }
                (Some('/'), Some('*')) => {
                    let mut depth = 0usize;
                    loop {
                        match (self.peek(0), self.peek(1)) {
                            (Some('/'), Some('*')) => depth += 1,
                            (Some('*'), Some('/')) => depth -= 1,
                            (None, _) => return,
                            _ => {
                                self.step();
                                continue;
                            }
                        }
                        self.step();
                        self.step();
                        if depth == 0 {
                            break;
                        }
                    }
                }
                _ => return,
            }
        }
    }

    fn next_word(&mut self) -> Option<(String, Place)> {
        self.skip();
        let place = Place { line: self.line, column: self.column };
        let first = self.step()?;
        let mut word = String::from(first);
        if "()[]{},:".contains(first) {
            return Some((word, place));
        }
        if first == '"' {
            while let Some(c) = self.step() {
                word.push(c);
                match c {
                    '\\' => word.extend(self.step()),
                    '"' => break,
                    _ => {}
                }
            }
            return Some((word, place));
        }
        while self.peek(0).is_some_and(|c| !c.is_whitespace() && !"()[]{},:\"/".contains(c)) {
            word.extend(self.step());
        }
        Some((word, place))
    }

    fn follows(&self, wanted: &str) -> bool {
        let mut look = Self { text: Vec::new(), at: 0, line: 1, column: 1 };
        let ahead = self.text.iter().skip(self.at).copied();
        look.text = ahead.take(400).collect();
        look.skip();
        look.peek(0).is_some_and(|c| wanted.contains(c))
    }

    fn colon_follows(&self) -> bool {
        self.follows(":")
    }

    fn bracket_follows(&self) -> bool {
        self.follows("([{")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "\
// A comment: with (brackets)
Coffee(
    name: \"a, (b): c\",
    flow: 1.2, /* and: another */ best_days: (7, 99),
    list: [ (x: 1), (x: 2, y: (3)) ],
)";

    fn at(path: &str) -> Option<(usize, usize)> {
        locate(TEXT, path).map(|place| (place.line, place.column))
    }

    #[test]
    fn finds_fields_entries_and_the_nearest_known_part() {
        assert_eq!(at("name"), Some((3, 11)));
        assert_eq!(at("flow"), Some((4, 11)));
        assert_eq!(at("best_days"), Some((4, 46)));
        assert_eq!(at("best_days[1]"), Some((4, 50)));
        assert_eq!(at("list[1].y"), Some((5, 31)));
        assert_eq!(at("list[1].z"), Some((5, 21)));
        assert_eq!(at("gas"), None);
    }

    #[test]
    fn nothing_breaks_it() {
        for text in ["", "((((", "\"", "/* /*", "a:b:c", ")))", "x: [1,,,], (", "é: \"ü\\", "//"] {
            for path in ["", "a", "a[9].b", "[[", "x[0]"] {
                let _found = locate(text, path);
            }
        }
    }
}
