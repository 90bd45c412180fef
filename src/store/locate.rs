//! Where in a text a field stands, so that a finding about a value can name its line and column.

use super::fault::Problem;

/// One step on the way to a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step<'a> {
    /// Into a field of a record.
    Field(&'a str),
    /// Into an item of a list, counted from 0.
    Item(usize),
}

/// Line and column (from 1) of the value at the end of `way`; the nearest place above it when the way breaks off.
pub(crate) fn locate(text: &str, way: &[Step<'_>]) -> (usize, usize) {
    let mut scan = Scan { text, at: 0 };
    scan.space();
    // The `#![enable(…)]` head that RON allows.
    while scan.rest().starts_with("#!") {
        scan.at += scan.rest().find(']').map_or(scan.rest().len(), |at| at + 1);
        scan.space();
    }
    let mut best = scan.at;
    for step in way {
        match scan.enter(step) {
            Some(at) => best = at,
            None => break,
        }
    }
    position(text, best)
}

/// Puts the place of `way` into a problem.
pub(crate) fn placed(text: &str, way: &[Step<'_>], mut problem: Problem) -> Problem {
    (problem.line, problem.column) = locate(text, way);
    problem
}

fn position(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line = before.bytes().filter(|&b| b == b'\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Scan<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Skips white space and comments.
    fn space(&mut self) {
        loop {
            let rest = self.rest();
            let trimmed = rest.trim_start();
            self.at += rest.len() - trimmed.len();
            if trimmed.starts_with("//") {
                self.at += trimmed.find('\n').unwrap_or(trimmed.len());
            } else if trimmed.starts_with("/*") {
                let mut depth = 0usize;
                let bytes = trimmed.as_bytes();
                let mut at = 0;
                while at < bytes.len() {
                    match bytes.get(at..at + 2) {
                        Some(b"/*") => (depth, at) = (depth + 1, at + 2),
                        Some(b"*/") => (depth, at) = (depth - 1, at + 2),
                        _ => at += 1,
                    }
                    if depth == 0 {
                        break;
                    }
                }
                self.at += at;
            } else {
                return;
            }
        }
    }

    fn word(&mut self) -> &'a str {
        let rest = self.rest();
        let end = rest.find(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '.' | '+' | '-' | '#')));
        let word = rest.get(..end.unwrap_or(rest.len())).unwrap_or("");
        self.at += word.len();
        word
    }

    /// Skips a string that begins here, plain or raw.
    fn string(&mut self) {
        let rest = self.rest();
        let hashes = rest.bytes().skip(1).take_while(|&b| b == b'#').count();
        if rest.starts_with('r') && rest.as_bytes().get(1 + hashes) == Some(&b'"') {
            let close = format!("\"{}", "#".repeat(hashes));
            let body = 2 + hashes;
            let end = rest.get(body..).and_then(|body| body.find(&close)).map(|at| body + at + close.len());
            self.at += end.unwrap_or(rest.len());
            return;
        }
        let mut escaped = false;
        for (at, c) in rest.char_indices().skip(1) {
            match c {
                _ if escaped => escaped = false,
                '\\' => escaped = true,
                '"' => {
                    self.at += at + 1;
                    return;
                }
                _ => {}
            }
        }
        self.at = self.text.len();
    }

    fn at_string(&self) -> bool {
        let rest = self.rest();
        rest.starts_with('"')
            || (rest.starts_with('r')
                && rest.trim_start_matches('r').trim_start_matches('#').starts_with('"'))
    }

    /// Skips one value with everything in it, up to the comma or bracket behind it.
    fn value(&mut self) {
        let mut depth = 0usize;
        while let Some(byte) = self.byte() {
            if self.at_string() {
                self.string();
                continue;
            }
            match byte {
                b'(' | b'[' | b'{' => depth += 1,
                b')' | b']' | b'}' if depth == 0 => return,
                b')' | b']' | b'}' => depth -= 1,
                b',' if depth == 0 => return,
                b'/' if self.rest().starts_with("//") || self.rest().starts_with("/*") => {
                    self.space();
                    continue;
                }
                _ => {}
            }
            self.at += self.rest().chars().next().map_or(1, char::len_utf8);
        }
    }

    /// Goes into the value that begins here; the offset of the value found there.
    fn enter(&mut self, step: &Step<'_>) -> Option<usize> {
        // A name before the bracket: a record's own, `Some`, or a variant.
        if self.byte().is_some_and(|b| b.is_ascii_alphabetic() || b == b'_') && !self.at_string() {
            self.word();
            self.space();
        }
        if !matches!(self.byte(), Some(b'(' | b'[')) {
            return None;
        }
        self.at += 1;
        let mut index = 0;
        loop {
            self.space();
            if matches!(self.byte(), None | Some(b')' | b']' | b'}')) {
                return None;
            }
            match step {
                Step::Item(wanted) if *wanted == index => return Some(self.at),
                Step::Item(_) => {}
                Step::Field(wanted) => {
                    let name = self.word();
                    self.space();
                    if self.byte() != Some(b':') {
                        return None;
                    }
                    self.at += 1;
                    self.space();
                    if name == *wanted {
                        return Some(self.at);
                    }
                }
            }
            self.value();
            if self.byte() == Some(b',') {
                self.at += 1;
            }
            index += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_fields_behind_strings_and_comments() {
        let text = "#![enable(implicit_some)]\n// head (\nBag(\n  a: \"x, (\\\" y\", /* [ /* */ */\n  b: r#\"raw \" ,\"#,\n  list: [\n    (p: 1), // )\n    (p: (q: Some(2), r: é), s: \"ü\", dose: 18),\n  ],\n)";
        let way = [Step::Field("list"), Step::Item(1), Step::Field("dose")];
        assert_eq!(locate(text, &way), (8, 43));
        assert_eq!(locate(text, &[Step::Field("a")]), (4, 6));
        assert_eq!(locate(text, &[Step::Field("b")]), (5, 6));
        assert_eq!(locate(text, &[Step::Field("list"), Step::Item(1), Step::Field("none")]), (8, 5));
        assert_eq!(locate(text, &[Step::Field("list"), Step::Item(9)]), (6, 9));
        assert_eq!(locate("", &way), (1, 1));
        assert_eq!(locate("((((", &way), (1, 1));
    }
}
