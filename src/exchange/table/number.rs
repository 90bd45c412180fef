//! Numbers in cells. The plain case (up to 15 digits, small exponent) is exact with one multiplication or division of
//! two doubles that are themselves exact (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990);
//! everything else goes through the standard library.

use crate::units::Unit;

/// Which decimal mark a number carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    None,
    Point,
    Comma,
    /// A point behind one to three digits and before three, as where thousands are parted.
    PointOrThousands,
    /// Such a comma.
    CommaOrThousands,
}

impl Mark {
    /// The mark again, for a number of so many digits with so many of them behind it.
    #[inline]
    fn of(self, digits: usize, decimals: usize, begins_with_nought: bool) -> Self {
        match self {
            _ if decimals != 3 || !(4..=6).contains(&digits) || begins_with_nought => self,
            Self::Point => Self::PointOrThousands,
            Self::Comma => Self::CommaOrThousands,
            other => other,
        }
    }

    /// Whether the number may be whole, with its thousands parted.
    pub(crate) fn may_part_thousands(self) -> bool {
        matches!(self, Self::PointOrThousands | Self::CommaOrThousands)
    }
}

/// Two readings of a column in which every mark may part thousands: as decimals, and as whole numbers.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Thousands {
    /// A mark that can only be a decimal one was seen, or thousands without any.
    plain: bool,
    marked: usize,
    unmarked: usize,
    /// Largest number without a mark.
    unmarked_high: f64,
    /// Largest number, how far the numbers go up and down in all, and the longest step, in either reading.
    high: [f64; 2],
    way: [f64; 2],
    step: [f64; 2],
    falls: [usize; 2],
    last: Option<[f64; 2]>,
}

impl Thousands {
    /// Takes the next number of the column.
    #[inline]
    pub(crate) fn weigh(&mut self, value: f64, mark: Mark) {
        if self.plain {
            return;
        }
        let marked = mark.may_part_thousands();
        if !marked && (mark != Mark::None || value.abs() >= 1000.0) {
            self.plain = true;
            return;
        }
        let both = [value, if marked { value * 1000.0 } else { value }];
        self.marked += usize::from(marked);
        self.unmarked += usize::from(!marked);
        if !marked {
            self.unmarked_high = self.unmarked_high.max(value.abs());
        }
        let before = self.last.unwrap_or(both);
        let each = self.high.iter_mut().zip(&mut self.way).zip(self.step.iter_mut().zip(&mut self.falls));
        for (((high, way), (step, falls)), (now, before)) in each.zip(both.iter().zip(before)) {
            let far = (now - before).abs();
            *high = high.max(now.abs());
            *way += far;
            *step = step.max(far);
            *falls += usize::from(*now < before);
        }
        self.last = Some(both);
    }

    /// Whether the marks may well part thousands: beside hundreds without a mark the whole numbers lie closer together; or, in a clock, only they rise; or, where every number has a mark, only
    /// they make something real in `unit`.
    pub(crate) fn doubtful(&self, unit: Unit, is_time: bool) -> bool {
        if self.plain || self.marked == 0 {
            return false;
        }
        let [decimals, whole] = self.step;
        let closer = self.unmarked_high >= 100.0 && whole < decimals;
        let rises = is_time && matches!(self.falls, [falls, 0] if falls > 0);
        let [small, large] = match (unit, is_time) {
            // A fifth of a second is no pull; a tenth of a bar is no pump.
            (Unit::Millisecond | Unit::Microsecond, true) => self.way.map(|way| unit.to_base(way) / 0.2),
            (Unit::Millibar | Unit::Pascal, false) => self.high.map(|high| unit.to_base(high) / 0.1),
            _ => [1.0, 1.0],
        };
        let unreal = self.unmarked == 0 && small < 1.0 && large >= 10.0;
        closer || rises || unreal
    }
}

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Cell {
    Number(f64, Mark),
    /// A number followed by a known unit.
    WithUnit(f64, Mark, Unit),
    /// A time of day or a date with time, seconds (from midnight, or from 1970).
    Clock(f64),
    Empty,
    NotFinite,
    Text,
}

const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// A number for a sentence, with so many decimals at most; absurdly large ones without their hundreds of digits.
pub(super) fn said(value: f64, decimals: i32) -> String {
    if value.abs() >= 1e12 {
        return format!("{value:.3e}");
    }
    let scale = 10f64.powi(decimals);
    format!("{}", (value * scale).round() / scale)
}

/// Reads a plain number from the start of `bytes`, stopping at the first byte that cannot belong to it. Returns the
/// value, its decimal mark and how many bytes were used; `None` when it must be read the slow way.
#[inline]
pub(crate) fn plain_prefix(bytes: &[u8], comma_is_mark: bool) -> Option<(f64, Mark, usize)> {
    let mut at = 0;
    let mut negative = false;
    match bytes.first() {
        Some(b'-') => {
            negative = true;
            at = 1;
        }
        Some(b'+') => at = 1,
        _ => {}
    }
    let mut mantissa = 0u64;
    let mut digits = 0usize;
    let mut decimals = 0usize;
    let mut mark = Mark::None;
    while let Some(&byte) = bytes.get(at) {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            // Wrapping is harmless: 18 or more digits are refused below.
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            digits += 1;
            decimals += usize::from(mark != Mark::None);
        } else if mark == Mark::None && byte == b'.' {
            mark = Mark::Point;
        } else if mark == Mark::None && byte == b',' && comma_is_mark {
            mark = Mark::Comma;
        } else {
            break;
        }
        at += 1;
    }
    if digits == 0 || digits > 17 || mantissa > (1 << 53) {
        return None;
    }
    #[allow(clippy::cast_precision_loss)]
    let whole = mantissa as f64; // exact: at most 2^53
    let value = if decimals == 0 { whole } else { whole / POWERS.get(decimals)? };
    let mark = if decimals == 3 { mark.of(digits, decimals, whole < *POWERS.get(digits - 1)?) } else { mark };
    Some((if negative { -value } else { value }, mark, at))
}

/// Reads any cell, without surrounding blanks or quotes.
pub(crate) fn read_cell(cell: &[u8], comma_is_mark: bool) -> Cell {
    if cell.is_empty() {
        return Cell::Empty;
    }
    if let Some((value, mark, used)) = plain_prefix(cell, comma_is_mark)
        && used == cell.len()
    {
        return Cell::Number(value, mark);
    }
    slow_cell(&super::text::decode_cell(cell), comma_is_mark)
}

fn slow_cell(cell: &str, comma_is_mark: bool) -> Cell {
    let cell = cell.trim();
    let lower = cell.to_ascii_lowercase();
    match lower.as_str() {
        "" | "-" | "--" | "---" | "—" | "–" | "." | "null" | "none" | "na" | "n/a" | "#n/a" | "nil" | "?" =>
        {
            return Cell::Empty;
        }
        "nan" | "-nan" | "+nan" | "inf" | "-inf" | "+inf" | "infinity" | "-infinity" | "∞" | "-∞"
        | "#div/0!" | "1.#inf" | "-1.#ind" | "1.#qnan" => return Cell::NotFinite,
        _ => {}
    }
    let ends = |c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | 'e' | 'E' | '\u{2212}'));
    let split = cell.find(ends).unwrap_or(cell.len());
    let (number, rest) = cell.split_at(split);
    if let Some((value, mark)) = number_in(number, comma_is_mark) {
        if rest.trim().is_empty() {
            return if value.is_finite() { Cell::Number(value, mark) } else { Cell::NotFinite };
        }
        if let Some(unit) = Unit::from_text(rest) {
            return Cell::WithUnit(value, mark, unit);
        }
    }
    clock(cell).map_or(Cell::Text, Cell::Clock)
}

fn number_in(text: &str, comma_is_mark: bool) -> Option<(f64, Mark)> {
    let marks = text.chars().filter(|c| matches!(c, '.' | ',')).count();
    if marks > 1 || text.is_empty() {
        return None;
    }
    let mark = match text.chars().find(|c| matches!(c, '.' | ',')) {
        Some(',') if comma_is_mark => Mark::Comma,
        Some(',') => return None,
        Some(_) => Mark::Point,
        None => Mark::None,
    };
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit()).then_some(text.len());
    let parts = text.trim_start_matches(['-', '+', '\u{2212}']).split_once(['.', ',']);
    let mark = match parts.and_then(|(before, behind)| Some((digits(before)?, digits(behind)?, before))) {
        Some((before, behind, text)) => mark.of(before + behind, behind, text.starts_with('0')),
        None => mark,
    };
    let plain: String = text
        .chars()
        .map(|c| match c {
            ',' => '.',
            '\u{2212}' => '-',
            other => other,
        })
        .collect();
    plain.parse::<f64>().ok().map(|value| (value, mark))
}

/// `m:ss.s`, `h:mm:ss.s`, or a date with a time (ISO 8601, with or without an offset), in seconds.
fn clock(cell: &str) -> Option<f64> {
    if !cell.contains(':') {
        return None;
    }
    let mut total = 0.0;
    let mut parts = 0;
    let mut sound = true;
    for part in cell.split(':') {
        let part = part.replace(',', ".");
        let digits = !part.is_empty() && part.chars().all(|c| c.is_ascii_digit() || c == '.');
        match part.parse::<f64>() {
            Ok(value) if digits && value < 100.0 => total = total * 60.0 + value,
            _ => sound = false,
        }
        parts += 1;
    }
    if sound && (2..=3).contains(&parts) {
        return Some(total);
    }
    #[allow(clippy::cast_precision_loss)]
    let seconds = |stamp: jiff::Timestamp| stamp.as_microsecond() as f64 / 1.0e6;
    if let Ok(stamp) = cell.parse::<jiff::Timestamp>() {
        return Some(seconds(stamp));
    }
    let local = cell.replacen(' ', "T", 1).replace(',', ".").parse::<jiff::civil::DateTime>().ok()?;
    local.in_tz("UTC").ok().map(|zoned| seconds(zoned.timestamp()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_short_way_equals_the_standard_library() {
        for text in [
            "0",
            "-0.0082",
            "9.204",
            "123456789012345",
            "0.1",
            "1e3",
            "-12.5e-2",
            "17.000000000000001",
            "99999999999999999999",
            ".5",
            "5.",
        ] {
            let want: f64 = text.parse().unwrap();
            match read_cell(text.as_bytes(), false) {
                Cell::Number(got, _) => assert_eq!(got.to_bits(), want.to_bits(), "{text}"),
                other => panic!("{text}: {other:?}"),
            }
        }
    }

    #[test]
    fn cells_are_told_apart() {
        assert_eq!(read_cell(b"9,2", true), Cell::Number(9.2, Mark::Comma));
        assert_eq!(read_cell(b"9,2", false), Cell::Text);
        assert_eq!(read_cell("−3.5".as_bytes(), false), Cell::Number(-3.5, Mark::Point));
        assert_eq!(read_cell("93.5 °C".as_bytes(), false), Cell::WithUnit(93.5, Mark::Point, Unit::Celsius));
        assert_eq!(read_cell(b"93.5 \xb0C", false), Cell::WithUnit(93.5, Mark::Point, Unit::Celsius));
        assert_eq!(read_cell(b"1e999", false), Cell::NotFinite);
        assert_eq!(read_cell(b"NaN", false), Cell::NotFinite);
        assert_eq!(read_cell(b"n/a", false), Cell::Empty);
        assert_eq!(read_cell(b"1.234,5", true), Cell::Text);
        assert_eq!(read_cell("١٢".as_bytes(), false), Cell::Text);
        assert_eq!(read_cell(b"pump", false), Cell::Text);
        assert_eq!(read_cell(b"1:02:03.5", false), Cell::Clock(3723.5));
        assert_eq!(read_cell(b"2026-01-01T00:00:01.25Z", false), Cell::Clock(1_767_225_601.25));
        assert_eq!(read_cell(b"2026-01-01 00:00:01,25", true), Cell::Clock(1_767_225_601.25));
    }
}
