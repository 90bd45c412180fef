//! Logs of one JSON object a line: numbers under any keys, nested one level.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

use crate::trace::naming as header;

use super::number::{Cell, read_cell};
use super::text::{excerpt, is_comment};
use super::{Column, ImportFault, Layout, MAX_CELLS, MAX_COLUMNS, MAX_ROWS, Table};

/// Rows kept as text for the preview.
const FIRST_ROWS: usize = 8;

/// The object within a line: from its first brace on.
fn object(line: &[u8]) -> Option<&[u8]> {
    let start = line.iter().position(|&b| b == b'{')?;
    line.get(start..)
}

/// Whether the first lines that say anything hold JSON objects.
pub(crate) fn looks_like(text: &[u8]) -> bool {
    let mut seen = 0;
    let mut objects = 0;
    for line in text
        .split(|&b| b == b'\n')
        .map(<[u8]>::trim_ascii)
        .filter(|l| !l.is_empty() && !is_comment(l))
        .take(20)
    {
        seen += 1;
        let whole = line.starts_with(b"{") || line.starts_with(b"[");
        let within =
            object(line).is_some_and(|o| o.ends_with(b"}") && o.contains(&b':') && o.contains(&b'"'));
        objects += usize::from(whole || within);
    }
    seen > 0 && objects * 2 >= seen
}

/// Collects the numbers of one object.
struct Row<'t> {
    columns: &'t mut Vec<Column>,
    /// Column that the next key probably goes to: keys usually come in the same order in every line.
    next: usize,
    row: usize,
    line: u64,
    full: bool,
}

impl Row<'_> {
    fn column(&mut self, prefix: Option<&str>, key: &str) -> Option<&mut Column> {
        let fits = |column: &Column| match prefix {
            None => column.name == key,
            Some(prefix) => column
                .name
                .strip_prefix(prefix)
                .and_then(|rest| rest.strip_prefix('.'))
                .is_some_and(|rest| rest == key),
        };
        let guess = self.next;
        let found = match self.columns.get(guess) {
            Some(column) if fits(column) => Some(guess),
            _ => self.columns.iter().position(fits),
        };
        let index = match found {
            Some(index) => index,
            None if self.columns.len() >= MAX_COLUMNS => {
                self.full = true;
                return None;
            }
            None => {
                let name = prefix.map_or_else(|| key.to_owned(), |prefix| format!("{prefix}.{key}"));
                let mut column = Column { name, ..Column::default() };
                column.values.resize(self.row, f64::NAN);
                column.missing = self.row;
                self.columns.push(column);
                self.columns.len() - 1
            }
        };
        self.next = index + 1;
        let row = self.row;
        let column = self.columns.get_mut(index)?;
        if column.values.len() > row {
            column.values.truncate(row);
        }
        Some(column)
    }

    fn number(&mut self, prefix: Option<&str>, key: &str, value: f64) {
        if let Some(column) = self.column(prefix, key) {
            if value.is_finite() {
                column.values.push(value);
            } else {
                column.values.push(f64::NAN);
                column.not_finite += 1;
            }
        }
    }

    fn text(&mut self, prefix: Option<&str>, key: &str, text: &str) {
        let line = self.line;
        let cell = read_cell(text.trim().as_bytes(), true);
        let Some(column) = self.column(prefix, key) else { return };
        match cell {
            Cell::Number(value, mark) => column.push_number(value, mark, line),
            Cell::WithUnit(value, mark, unit) if column.cell_unit.is_none_or(|known| known == unit) => {
                column.cell_unit = Some(unit);
                column.push_number(value, mark, line);
            }
            Cell::Clock(value) if column.clock || column.samples() == 0 => {
                column.clock = true;
                column.values.push(value);
            }
            Cell::Empty => column.push_missing(),
            Cell::NotFinite => {
                column.values.push(f64::NAN);
                column.not_finite += 1;
            }
            Cell::Text | Cell::WithUnit(..) | Cell::Clock(_) => column.push_unreadable(line, text.as_bytes()),
        }
    }
}

/// A value under a key; `depth` 0 is the line's own object.
struct Value<'r, 't> {
    row: &'r mut Row<'t>,
    prefix: Option<&'r str>,
    key: &'r str,
}

impl<'de> DeserializeSeed<'de> for Value<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Value<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number")
    }
    fn visit_f64<E>(self, value: f64) -> Result<(), E> {
        self.row.number(self.prefix, self.key, value);
        Ok(())
    }
    #[allow(clippy::cast_precision_loss)]
    fn visit_i64<E>(self, value: i64) -> Result<(), E> {
        self.row.number(self.prefix, self.key, value as f64);
        Ok(())
    }
    #[allow(clippy::cast_precision_loss)]
    fn visit_u64<E>(self, value: u64) -> Result<(), E> {
        self.row.number(self.prefix, self.key, value as f64);
        Ok(())
    }
    fn visit_bool<E>(self, _value: bool) -> Result<(), E> {
        Ok(())
    }
    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
    fn visit_str<E>(self, text: &str) -> Result<(), E> {
        self.row.text(self.prefix, self.key, text);
        Ok(())
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        if self.prefix.is_some() {
            while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
            return Ok(());
        }
        while let Some(key) = map.next_key::<std::borrow::Cow<'de, str>>()? {
            map.next_value_seed(Value { row: self.row, prefix: Some(self.key), key: &key })?;
        }
        Ok(())
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        if self.prefix.is_some() {
            while seq.next_element::<IgnoredAny>()?.is_some() {}
            return Ok(());
        }
        let mut at = 0usize;
        loop {
            let name = at.to_string();
            if seq.next_element_seed(Value { row: self.row, prefix: Some(self.key), key: &name })?.is_none() {
                return Ok(());
            }
            at += 1;
        }
    }
}

/// The object of a line.
struct Object<'r, 't>(&'r mut Row<'t>);

impl<'de> DeserializeSeed<'de> for Object<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Object<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(word!("exchange-table-json-lines-object"))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<Key<'de>>()? {
            map.next_value_seed(Value { row: self.0, prefix: None, key: &key.0 })?;
        }
        Ok(())
    }
}

/// A key, borrowed from the line when it has no escapes.
#[derive(serde::Deserialize)]
#[serde(transparent)]
struct Key<'a>(#[serde(borrow)] std::borrow::Cow<'a, str>);

fn read_line(line: &[u8], row: &mut Row<'_>) -> Result<(), serde_json::Error> {
    let mut reader = serde_json::Deserializer::from_slice(line);
    Object(row).deserialize(&mut reader)?;
    reader.end()
}

/// Makes every column as long as the rows read so far.
fn level(columns: &mut [Column], rows: usize) {
    for column in columns {
        column.values.truncate(rows);
        while column.values.len() < rows {
            column.push_missing();
        }
    }
}

/// Reads a log.
pub(crate) fn parse(text: &[u8]) -> Result<Table, ImportFault> {
    let mut columns: Vec<Column> = Vec::new();
    let mut lines: Vec<u32> = Vec::new();
    let (mut broken, mut first_broken) = (0usize, None);
    for (at, raw) in text.split(|&b| b == b'\n').enumerate() {
        let number = at as u64 + 1;
        let line = raw.trim_ascii();
        if line.is_empty() || is_comment(line) {
            continue;
        }
        if lines.len() >= MAX_ROWS || (lines.len() + 1) * columns.len().max(1) > MAX_CELLS {
            return Err(ImportFault::at(
                number,
                say!("exchange-table-json-lines-too-long", rows = MAX_ROWS, numbers = MAX_CELLS),
            ));
        }
        let body = object(line).unwrap_or(line);
        let rows = lines.len();
        let mut row = Row { columns: &mut columns, next: 0, row: rows, line: number, full: false };
        let mut outcome = read_line(body, &mut row);
        let mut full = row.full;
        if outcome.is_err() {
            // Some writers put NaN and Infinity bare, which JSON does not know.
            if let Some(mended) = mend(body) {
                level(&mut columns, rows);
                let mut row = Row { columns: &mut columns, next: 0, row: rows, line: number, full: false };
                outcome = read_line(&mended, &mut row);
                full = row.full;
            }
        }
        match outcome {
            Ok(()) if full => {
                return Err(ImportFault::at(
                    number,
                    say!("exchange-table-json-lines-too-many-keys", most = MAX_COLUMNS),
                ));
            }
            Ok(()) => {
                lines.push(u32::try_from(number).unwrap_or(u32::MAX));
                level(&mut columns, lines.len());
            }
            Err(why) => {
                level(&mut columns, rows);
                broken += 1;
                if first_broken.is_none() {
                    let offset = line.len() - body.len();
                    first_broken = Some((number, offset + why.column().max(1), plain_words(&why, line)));
                }
            }
        }
    }
    if let Some((line, column, why)) = &first_broken
        && broken > 2 + lines.len() / 50
    {
        return Err(ImportFault::cell(
            *line,
            *column,
            say!("exchange-table-json-lines-too-many-broken", why = why, n = broken),
        ));
    }
    let first_rows = (0..lines.len().min(FIRST_ROWS))
        .map(|row| {
            columns
                .iter()
                .map(|column| match column.values.get(row) {
                    Some(value) if value.is_finite() => value.to_string(),
                    _ => String::new(),
                })
                .collect()
        })
        .collect();
    for column in &mut columns {
        let (name, unit) = header::split_unit(&column.name);
        column.name = name;
        column.unit_text = unit;
    }
    for column in &mut columns {
        // Lines that turned out broken half way may have been counted; count again what was kept.
        let absent = column.values.iter().filter(|v| v.is_nan()).count();
        column.not_finite = column.not_finite.min(absent);
        column.unreadable = column.unreadable.min(absent - column.not_finite);
        column.missing = absent - column.not_finite - column.unreadable;
    }
    columns.retain(|column| column.samples() > 0 || column.unreadable > 0);
    Table {
        layout: Layout::JsonLines,
        columns,
        lines,
        has_header: true,
        first_rows,
        problems: Vec::new(),
        ragged: 0,
        first_ragged: None,
        broken,
        first_broken,
    }
    .finish()
}

/// `NaN`, `Infinity` and `-Infinity` outside quotes as `null`; `None` when there is none.
fn mend(line: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::with_capacity(line.len());
    let mut quoted = false;
    let mut changed = false;
    let mut rest = line;
    while let [byte, tail @ ..] = rest {
        if *byte == b'\\' && quoted {
            out.push(*byte);
            if let Some(next) = tail.first() {
                out.push(*next);
            }
            rest = tail.get(1..).unwrap_or_default();
            continue;
        }
        if *byte == b'"' {
            quoted = !quoted;
        }
        let word = [&b"-Infinity"[..], b"Infinity", b"-inf", b"inf", b"NaN", b"nan"]
            .into_iter()
            .find(|w| rest.starts_with(w));
        match word {
            Some(word) if !quoted => {
                out.extend_from_slice(b"null");
                changed = true;
                rest = rest.get(word.len()..).unwrap_or_default();
            }
            _ => {
                out.push(*byte);
                rest = tail;
            }
        }
    }
    changed.then_some(out)
}

fn plain_words(why: &serde_json::Error, line: &[u8]) -> String {
    if why.is_eof() {
        say!("exchange-table-json-lines-cut-off", begins = excerpt(line))
    } else {
        say!("exchange-table-json-lines-not-whole", text = excerpt(line))
    }
}
