//! From chunks of bytes to lines.

/// Longest live line, bytes; the rest of a longer one is thrown away up to its end.
pub const MAX_LIVE_LINE_BYTES: usize = 4096;

/// A line as it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RawLine {
    /// A whole line without its end; bytes that are not UTF-8 are replaced.
    Text(String),
    /// A line longer than [`MAX_LIVE_LINE_BYTES`], thrown away.
    TooLong,
}

/// Puts split lines together. Memory is bounded by one line.
#[derive(Debug, Clone, Default)]
pub struct LineSplitter {
    pending: Vec<u8>,
    overlong: bool,
}

impl LineSplitter {
    /// Takes a chunk and hands on every line that it ends.
    pub fn push(&mut self, chunk: &[u8], mut each: impl FnMut(RawLine)) {
        let mut rest = chunk;
        while let Some(end) = rest.iter().position(|&b| b == b'\n' || b == b'\r') {
            let (head, tail) = rest.split_at(end);
            self.keep(head);
            if self.overlong {
                each(RawLine::TooLong);
            } else if !self.pending.trim_ascii().is_empty() {
                each(RawLine::Text(String::from_utf8_lossy(self.pending.trim_ascii()).into_owned()));
            }
            self.pending.clear();
            self.overlong = false;
            rest = tail.get(1..).unwrap_or_default();
        }
        self.keep(rest);
    }

    fn keep(&mut self, bytes: &[u8]) {
        if self.overlong || self.pending.len() + bytes.len() > MAX_LIVE_LINE_BYTES {
            self.overlong = true;
            self.pending.clear();
        } else {
            self.pending.extend_from_slice(bytes);
        }
    }

    /// Throws away a half line, after a connection broke.
    pub fn reset(&mut self) {
        self.pending.clear();
        self.overlong = false;
    }

    /// Hands on what is left as a last line, at the true end of an input.
    pub fn finish(&mut self, each: impl FnMut(RawLine)) {
        if !self.pending.is_empty() {
            self.push(b"\n", each);
        }
    }
}
