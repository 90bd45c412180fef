//! Delimited tables: finding the delimiter and the then one pass over the rows.
//!
//! Rows of plain numbers are read by a scanner of our own that turns digits into numbers while it looks for the
//! delimiter, checks every byte for noise and counts lines; it keeps pace with a general reader followed by the standard
//! library's number parser (`tests/bench/trace.rs` measures both in one run). A line with quotation marks is split with
//! quotes obeyed; a quote never runs past the end of its line, so one stray mark cannot
//! swallow a file.

use crate::trace::naming as header;

use super::number::{Cell, Mark, plain_prefix, read_cell};
use super::text::{decode_cell, is_comment};
use super::{Column, Delimiter, ImportFault, Layout, MAX_CELLS, MAX_COLUMNS, MAX_ROWS, Problem, Table};

/// Lines looked at to find the layout.
const SAMPLE_LINES: usize = 250;
/// Rows kept as text for the preview.
const FIRST_ROWS: usize = 8;

/// A line with its number, counted from 1, without its end.
type Line<'a> = (u64, &'a [u8]);

fn lines(text: &[u8]) -> impl Iterator<Item = Line<'_>> {
    text.split(|&b| b == b'\n').enumerate().map(|(at, line)| (at as u64 + 1, trim(line)))
}

fn trim(bytes: &[u8]) -> &[u8] {
    bytes.trim_ascii_end()
}

impl Delimiter {
    const ORDER: [Self; 5] = [Self::Tab, Self::Semicolon, Self::Pipe, Self::Comma, Self::Spaces];

    fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Pipe => b'|',
            Self::Spaces => b' ',
        }
    }

    fn comma_is_mark(self) -> bool {
        self != Self::Comma
    }
}

/// Splits a line into fields, quotes obeyed, blanks around fields taken off.
fn split(line: &[u8], delimiter: Delimiter) -> Vec<Vec<u8>> {
    let mut fields = Vec::new();
    let mut field = Vec::new();
    let mut quoted = false;
    let mut bytes = line.iter().copied().peekable();
    while let Some(byte) = bytes.next() {
        let ends = !quoted
            && match delimiter {
                Delimiter::Spaces => byte == b' ' || byte == b'\t',
                other => byte == other.byte(),
            };
        if ends {
            if delimiter != Delimiter::Spaces || !field.is_empty() {
                fields.push(std::mem::take(&mut field));
            }
        } else if byte == b'"' && quoted && bytes.peek() == Some(&b'"') {
            field.push(b'"');
            bytes.next();
        } else if byte == b'"' && (quoted || field.iter().all(u8::is_ascii_whitespace)) {
            quoted = !quoted;
        } else {
            field.push(byte);
        }
    }
    if delimiter != Delimiter::Spaces || !field.is_empty() {
        fields.push(field);
    }
    for field in &mut fields {
        *field = field.trim_ascii().to_vec();
    }
    fields
}

/// Reads a field of a split line; a comma that is left within a field of a comma table was quoted, so it is a decimal mark.
fn field_cell(field: &[u8], delimiter: Delimiter) -> Cell {
    read_cell(field, delimiter.comma_is_mark() || field.contains(&b','))
}

fn is_number(cell: &Cell) -> bool {
    matches!(cell, Cell::Number(..) | Cell::WithUnit(..) | Cell::Clock(_) | Cell::NotFinite)
}

/// Numbers and non-empty fields of a split line.
fn tally(fields: &[Vec<u8>], delimiter: Delimiter) -> (usize, usize) {
    let mut numbers = 0;
    let mut filled = 0;
    for field in fields {
        let cell = field_cell(field, delimiter);
        numbers += usize::from(is_number(&cell));
        filled += usize::from(cell != Cell::Empty);
    }
    (numbers, filled)
}

fn is_data(fields: &[Vec<u8>], delimiter: Delimiter) -> bool {
    let (numbers, filled) = tally(fields, delimiter);
    numbers >= 1 && numbers * 2 >= filled
}

/// The delimiter that makes the most numbers in rows of one width, and that width.
fn find_delimiter(sample: &[Line<'_>]) -> Option<(Delimiter, usize)> {
    let mut best: Option<(f64, Delimiter, usize)> = None;
    for delimiter in Delimiter::ORDER {
        let mut widths = [0usize; MAX_COLUMNS + 2];
        let mut numbers_at = [0usize; MAX_COLUMNS + 2];
        let mut filled_at = [0usize; MAX_COLUMNS + 2];
        for (_, line) in sample {
            let fields = split(line, delimiter);
            let width = fields.len().min(MAX_COLUMNS + 1);
            if is_data(&fields, delimiter) {
                let (numbers, filled) = tally(&fields, delimiter);
                for (slot, more) in [(&mut widths, 1), (&mut numbers_at, numbers), (&mut filled_at, filled)] {
                    if let Some(slot) = slot.get_mut(width) {
                        *slot += more;
                    }
                }
            }
        }
        let Some((width, &rows)) = widths.iter().enumerate().max_by_key(|&(_, &rows)| rows) else { continue };
        let (numbers, filled) =
            (numbers_at.get(width).copied().unwrap_or(0), filled_at.get(width).copied().unwrap_or(0));
        if rows == 0 || filled == 0 {
            continue;
        }
        #[allow(clippy::cast_precision_loss)]
        let score = rows as f64 * (numbers as f64 / filled as f64) * if width >= 2 { 10.0 } else { 1.0 };
        if best.is_none_or(|(other, _, _)| score > other) {
            best = Some((score, delimiter, width));
        }
    }
    best.map(|(_, delimiter, width)| (delimiter, width))
}

struct Header {
    names: Vec<String>,
    units: Vec<Option<String>>,
    found: bool,
}

fn comment_body(line: &[u8]) -> &[u8] {
    let body = line.trim_ascii_start();
    let skip = body.iter().take_while(|b| matches!(b, b'#' | b'%' | b'!' | b'/')).count();
    body.get(skip..).unwrap_or_default().trim_ascii_start()
}

/// Fields of a header line; with blanks between fields, names of several words are held together when two or more
/// blanks, or a unit in brackets, show where they end.
fn header_fields(line: &[u8], delimiter: Delimiter, width: usize) -> Option<Vec<String>> {
    let fields: Vec<String> =
        split(line, delimiter).iter().map(|f| decode_cell(f).trim().to_owned()).collect();
    if fields.len() == width || (fields.len() + 1 == width && delimiter != Delimiter::Spaces) {
        return Some(fields);
    }
    if fields.len() == width + 1 && fields.last().is_some_and(String::is_empty) {
        return Some(fields);
    }
    if delimiter != Delimiter::Spaces {
        return None;
    }
    let text = decode_cell(line);
    let wide: Vec<String> = text
        .split("  ")
        .flat_map(|part| part.split('\t'))
        .map(|part| part.trim().to_owned())
        .filter(|part| !part.is_empty())
        .collect();
    if wide.len() == width {
        return Some(wide);
    }
    let mut joined: Vec<String> = Vec::new();
    let mut open = true;
    for word in fields {
        let bracketed = word.starts_with(['(', '[']);
        match joined.last_mut() {
            Some(last) if bracketed || open => {
                last.push(' ');
                last.push_str(&word);
            }
            _ => joined.push(word.clone()),
        }
        open = !word.ends_with([')', ']']);
    }
    (joined.len() == width).then_some(joined)
}

fn is_wordy(fields: &[Vec<u8>], delimiter: Delimiter) -> bool {
    fields.iter().any(|f| f.iter().any(|b| b.is_ascii_alphabetic() || *b >= 128))
        && !fields.iter().any(|f| is_number(&field_cell(f, delimiter)))
}

/// Whether the last field of the rows holds something: then a header that is one name short lacks the first name
/// (a column of row numbers), else the rows only end with a delimiter.
fn sample_fills_last(sample: &[Line<'_>], first_data: u64, delimiter: Delimiter, width: usize) -> bool {
    sample
        .iter()
        .filter(|(line, _)| *line >= first_data)
        .any(|(_, line)| split(line, delimiter).get(width - 1).is_some_and(|f| !f.is_empty()))
}

fn find_header(all_before: &[Line<'_>], delimiter: Delimiter, width: usize, index_first: bool) -> Header {
    let none = || Header { names: vec![String::new(); width], units: vec![None; width], found: false };
    let mut units_row: Option<Vec<Option<String>>> = None;
    for (_, line) in all_before.iter().rev() {
        let body = if is_comment(line.trim_ascii_start()) { comment_body(line) } else { line };
        if body.is_empty() {
            continue;
        }
        let Some(mut fields) = header_fields(body, delimiter, width) else {
            if is_comment(line.trim_ascii_start()) {
                continue;
            }
            break;
        };
        if index_first && fields.len() + 1 == width {
            fields.insert(0, String::new());
        }
        fields.resize(width, String::new());
        if !is_wordy(&fields.iter().map(|f| f.as_bytes().to_vec()).collect::<Vec<_>>(), delimiter) {
            break;
        }
        if units_row.is_none() {
            let units: Vec<Option<String>> = fields.iter().map(|f| header::bare_unit(f)).collect();
            let filled = fields.iter().filter(|f| !f.is_empty()).count();
            if width >= 2 && units.iter().flatten().count() == filled {
                units_row = Some(units);
                continue;
            }
        }
        let mut names = Vec::with_capacity(width);
        let mut units = Vec::with_capacity(width);
        for (at, field) in fields.iter().enumerate() {
            let (name, unit) = header::split_unit(field);
            names.push(name);
            units.push(unit.or_else(|| units_row.as_ref().and_then(|row| row.get(at).cloned().flatten())));
        }
        return Header { names, units, found: true };
    }
    match units_row {
        Some(units) => Header { names: vec![String::new(); width], units, found: true },
        None => none(),
    }
}

/// Reads a delimited text.
pub(crate) fn parse(text: &[u8]) -> Result<Table, ImportFault> {
    let sample: Vec<Line<'_>> = lines(text)
        .filter(|(_, line)| !line.is_empty() && !is_comment(line.trim_ascii_start()))
        .take(SAMPLE_LINES)
        .collect();
    let Some((delimiter, width)) = find_delimiter(&sample) else {
        let (line, _) = sample.first().copied().unwrap_or((1, b""));
        return Err(ImportFault::at(line, word!("exchange-table-delimited-no-rows")));
    };
    if width > MAX_COLUMNS {
        return Err(ImportFault::new(say!("exchange-table-delimited-too-many-columns", most = MAX_COLUMNS)));
    }
    let first_data = sample
        .iter()
        .find(|(_, line)| {
            let fields = split(line, delimiter);
            fields.len() == width && is_data(&fields, delimiter)
        })
        .map_or(1, |&(line, _)| line);
    // Where names stand, they say how many fields a row should have.
    let names = sample.iter().rev().filter(|(line, _)| *line < first_data).find_map(|(line, text)| {
        let fields = split(text, delimiter);
        let filled = fields.iter().rposition(|f| !f.is_empty()).map_or(0, |at| at + 1);
        (delimiter != Delimiter::Spaces && is_wordy(&fields, delimiter)).then_some((*line, filled))
    });
    let named = names.map_or(0, |(_, named)| named);
    let (width, first_data) = match names {
        Some((header, named)) if named > width && width >= 2 && named <= MAX_COLUMNS => {
            let data =
                |&&(line, text): &&Line<'_>| line > header && is_data(&split(text, delimiter), delimiter);
            (named, sample.iter().find(data).map_or(first_data, |&(line, _)| line))
        }
        _ => (width, first_data),
    };
    let before: Vec<Line<'_>> = lines(text).take_while(|&(line, _)| line < first_data).collect();
    let index_first = named + 1 == width && sample_fills_last(&sample, first_data, delimiter, width);
    let heading = find_header(&before, delimiter, width, index_first);
    if delimiter == Delimiter::Comma && !heading.found {
        doubled_commas(&before, width, first_data)?;
    }

    let mut columns: Vec<Column> = heading
        .names
        .iter()
        .zip(&heading.units)
        .map(|(name, unit)| Column { name: name.clone(), unit_text: unit.clone(), ..Column::default() })
        .collect();
    let row_bytes =
        sample.iter().rev().find(|(line, _)| *line >= first_data).map_or(16, |(_, l)| l.len() + 1);
    let expected = (text.len() / row_bytes.max(2) + 16).min(MAX_CELLS / width.max(1));
    for column in &mut columns {
        column.values.reserve(expected);
    }
    let mut table = Table {
        layout: Layout::Delimited(delimiter),
        columns,
        lines: Vec::with_capacity(expected),
        has_header: heading.found,
        first_rows: Vec::new(),
        problems: Vec::new(),
        ragged: 0,
        first_ragged: None,
        broken: 0,
        first_broken: None,
    };
    let skipped =
        before.iter().filter(|(_, line)| !line.is_empty()).count().saturating_sub(usize::from(heading.found));
    if skipped > 1 {
        table.problems.push(Problem {
            line: before.first().map(|&(line, _)| line),
            column: None,
            sentence: say!("exchange-table-delimited-skipped", n = skipped),
        });
    }
    read_rows(text, first_data, delimiter, width, &mut table)?;
    table.finish()
}

/// Commas both between fields and as decimal marks: a header with half as many names gives it away.
fn doubled_commas(before: &[Line<'_>], width: usize, first_data: u64) -> Result<(), ImportFault> {
    let names = before.last().map_or(0, |(_, line)| split(line, Delimiter::Comma).len());
    if names >= 2 && names < width && width <= names * 2 {
        return Err(ImportFault::at(
            first_data,
            say!("exchange-table-delimited-doubled-commas", names = names, fields = width),
        ));
    }
    Ok(())
}

fn read_rows(
    text: &[u8],
    first_data: u64,
    delimiter: Delimiter,
    width: usize,
    table: &mut Table,
) -> Result<(), ImportFault> {
    let comma_is_mark = delimiter.comma_is_mark();
    for (number, line) in lines(text) {
        if number < first_data || line.is_empty() || is_comment(line.trim_ascii_start()) {
            continue;
        }
        if table.lines.len() >= MAX_ROWS || (table.lines.len() + 1) * width > MAX_CELLS {
            return Err(ImportFault::at(
                number,
                say!("exchange-table-delimited-too-long", rows = MAX_ROWS, numbers = MAX_CELLS),
            ));
        }
        if table.first_rows.len() < FIRST_ROWS {
            let row = split(line, delimiter)
                .iter()
                .take(MAX_COLUMNS)
                .map(|f| decode_cell(f).into_owned())
                .collect();
            table.first_rows.push(row);
        }
        let (fields, surplus) = if line.contains(&b'"') {
            quoted_row(line, number, delimiter, &mut table.columns)
        } else if delimiter == Delimiter::Spaces {
            spaced_row(line, number, &mut table.columns)
        } else {
            plain_row(line, number, delimiter.byte(), comma_is_mark, &mut table.columns)
        };
        if fields < width || surplus {
            table.ragged += 1;
            table.first_ragged.get_or_insert((number, fields, width));
            for column in table.columns.iter_mut().skip(fields) {
                column.push_missing();
            }
        }
        table.lines.push(u32::try_from(number).unwrap_or(u32::MAX));
    }
    Ok(())
}

fn push(column: Option<&mut Column>, cell: Cell, raw: &[u8], line: u64) -> bool {
    let Some(column) = column else { return cell != Cell::Empty };
    match cell {
        Cell::Number(value, mark) => push_number(column, value, mark, line),
        Cell::WithUnit(value, mark, unit) if column.cell_unit.is_none_or(|known| known == unit) => {
            column.cell_unit = Some(unit);
            push_number(column, value, mark, line);
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
        Cell::Text | Cell::WithUnit(..) | Cell::Clock(_) => column.push_unreadable(line, raw),
    }
    false
}

#[inline]
fn push_number(column: &mut Column, value: f64, mark: Mark, line: u64) {
    column.push_number(value, mark, line);
    match mark {
        Mark::Point | Mark::PointOrThousands if column.first_point.is_none() => {
            column.first_point = Some(line);
        }
        Mark::Comma | Mark::CommaOrThousands if column.first_comma.is_none() => {
            column.first_comma = Some(line);
        }
        _ => {}
    }
}

/// One line without quotes. Returns the fields seen and whether there were more (filled) than columns.
fn plain_row(
    line: &[u8],
    number: u64,
    delimiter: u8,
    comma_is_mark: bool,
    columns: &mut [Column],
) -> (usize, bool) {
    let mut rest = line;
    let mut fields = 0;
    let mut surplus = false;
    loop {
        while let [b' ', tail @ ..] = rest {
            rest = tail;
        }
        let column = columns.get_mut(fields);
        let known = column.is_some();
        fields += usize::from(known);
        if let (Some(column), Some((value, mark, used))) = (column, plain_prefix(rest, comma_is_mark)) {
            let after = rest.get(used..).unwrap_or_default();
            match after {
                [] => {
                    push_number(column, value, mark, number);
                    return (fields, surplus);
                }
                [next, tail @ ..] if *next == delimiter => {
                    push_number(column, value, mark, number);
                    rest = tail;
                    continue;
                }
                _ => {}
            }
        }
        let end = rest.iter().position(|&b| b == delimiter);
        let cell = rest.get(..end.unwrap_or(rest.len())).unwrap_or_default().trim_ascii();
        let at = if known { fields - 1 } else { columns.len() };
        surplus |= push(columns.get_mut(at), read_cell(cell, comma_is_mark), cell, number);
        match end {
            Some(end) => rest = rest.get(end + 1..).unwrap_or_default(),
            None => return (fields, surplus),
        }
    }
}

fn spaced_row(line: &[u8], number: u64, columns: &mut [Column]) -> (usize, bool) {
    let mut fields = 0;
    let mut surplus = false;
    for cell in line.split(|&b| b == b' ' || b == b'\t').filter(|cell| !cell.is_empty()) {
        surplus |= push(columns.get_mut(fields), read_cell(cell, true), cell, number);
        fields += usize::from(fields < columns.len());
    }
    (fields, surplus)
}

fn quoted_row(line: &[u8], number: u64, delimiter: Delimiter, columns: &mut [Column]) -> (usize, bool) {
    let mut fields = 0;
    let mut surplus = false;
    for cell in split(line, delimiter) {
        surplus |= push(columns.get_mut(fields), field_cell(&cell, delimiter), &cell, number);
        fields += usize::from(fields < columns.len());
    }
    (fields, surplus)
}
