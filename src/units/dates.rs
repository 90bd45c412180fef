//! Dates in words, in the language in use.

use jiff::ZonedDateTime;
use jiff::civil::Date;

use crate::words::Name;

const DAYS: [[Name; 2]; 7] = [
    [name!("units-dates-monday"), name!("units-dates-monday-short")],
    [name!("units-dates-tuesday"), name!("units-dates-tuesday-short")],
    [name!("units-dates-wednesday"), name!("units-dates-wednesday-short")],
    [name!("units-dates-thursday"), name!("units-dates-thursday-short")],
    [name!("units-dates-friday"), name!("units-dates-friday-short")],
    [name!("units-dates-saturday"), name!("units-dates-saturday-short")],
    [name!("units-dates-sunday"), name!("units-dates-sunday-short")],
];

const MONTHS: [[Name; 2]; 12] = [
    [name!("units-dates-january"), name!("units-dates-january-short")],
    [name!("units-dates-february"), name!("units-dates-february-short")],
    [name!("units-dates-march"), name!("units-dates-march-short")],
    [name!("units-dates-april"), name!("units-dates-april-short")],
    [name!("units-dates-may"), name!("units-dates-may-short")],
    [name!("units-dates-june"), name!("units-dates-june-short")],
    [name!("units-dates-july"), name!("units-dates-july-short")],
    [name!("units-dates-august"), name!("units-dates-august-short")],
    [name!("units-dates-september"), name!("units-dates-september-short")],
    [name!("units-dates-october"), name!("units-dates-october-short")],
    [name!("units-dates-november"), name!("units-dates-november-short")],
    [name!("units-dates-december"), name!("units-dates-december-short")],
];

/// Weekday and month of a moment: index 0 in full, 1 short.
fn names(at: &ZonedDateTime, short: usize) -> (&'static str, &'static str) {
    let of = |all: &[[Name; 2]], place: usize| {
        all.get(place).and_then(|pair| pair.get(short)).map_or("", |n| n.word())
    };
    let day = usize::try_from(at.weekday().to_monday_zero_offset()).unwrap_or(0);
    let month = usize::try_from(at.month() - 1).unwrap_or(0);
    (of(&DAYS, day), of(&MONTHS, month))
}

/// "Wednesday 25 November, 06:50".
#[must_use]
pub fn in_full(at: &ZonedDateTime) -> String {
    let (weekday, month) = names(at, 0);
    say!("units-dates-in-full", weekday = weekday, day = at.day(), month = month, time = at.strftime("%H:%M"))
}

/// "25 November 2026, 06:50".
#[must_use]
pub fn with_year(at: &ZonedDateTime) -> String {
    let (_, month) = names(at, 0);
    let time = at.strftime("%H:%M");
    say!("units-dates-with-year", day = at.day(), month = month, year = at.strftime("%Y"), time = time)
}

/// "25 Nov 06:50".
#[must_use]
pub fn short(at: &ZonedDateTime) -> String {
    format!("{} {} {:02}:{:02}", at.day(), names(at, 1).1, at.hour(), at.minute())
}

/// "Wed 25 Nov 06:50".
#[must_use]
pub fn short_with_weekday(at: &ZonedDateTime) -> String {
    format!("{} {}", names(at, 1).0, short(at))
}

/// A date as people write it: year first, day and month by points, or the month by its name; without a year the last such
/// day up to `today`. A year has four digits, or two for one of this century. `None` where it is no date, or could be two: of
/// 3/4 nobody knows which is the month, and of 26-11-09 which is the year. Where points or a name put the day first, that
/// counts unless the year first would be nearer to `today`.
#[must_use]
pub fn read(text: &str, today: Date) -> Option<Date> {
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || "./-,".contains(c))
        .filter(|part| !part.is_empty())
        .collect();
    let named = parts.iter().position(|part| month_named(part).is_some());
    let number = |part: &&str| -> Option<i16> {
        (part.len() <= 4 && part.bytes().all(|b| b.is_ascii_digit())).then(|| part.parse().ok()).flatten()
    };
    let digits: Vec<&str> =
        parts.iter().enumerate().filter(|(at, _)| Some(*at) != named).map(|(_, part)| *part).collect();
    let numbers = digits.iter().map(number).collect::<Option<Vec<i16>>>()?;
    let year_first = parts.first().is_some_and(|part| part.len() == 4 && number(part).is_some());
    let points = text.contains('.');
    let (day, month, year) = match (named.and_then(|at| month_named(parts.get(at)?)), numbers.as_slice()) {
        (Some(month), [year, day]) if year_first => (*day, month, Some(*year)),
        (Some(month), [day]) => (*day, month, None),
        (Some(month), [day, year]) => (*day, month, Some(*year)),
        (None, [year, month, day]) if year_first => (*day, *month, Some(*year)),
        (None, [a, b, rest @ ..]) if rest.len() <= 1 && (points || *a > 12) => {
            (*a, *b, rest.first().copied())
        }
        (None, [a, b, rest @ ..]) if rest.len() <= 1 && *b > 12 => (*b, *a, rest.first().copied()),
        _ => return None,
    };
    let on = |year: i16, month: i16, day: i16| {
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    };
    let Some(year) = year else {
        return on(today.year(), month, day)
            .filter(|date| *date <= today)
            .or_else(|| on(today.year() - 1, month, day).filter(|date| *date <= today));
    };
    let written = if year_first { digits.first() } else { digits.last() };
    match written?.len() {
        4 => on(year, month, day),
        2 => {
            let date = on(2000 + year, month, day);
            // The same with the year first: the first part is then the year, the last the day.
            let other = match (named, numbers.as_slice()) {
                (Some(1), [first, last]) => on(2000 + first, month, *last),
                (None, [first, middle, last]) => on(2000 + first, *middle, *last),
                _ => None,
            };
            let far = |date: Date| (date - today).get_days().unsigned_abs();
            date.filter(|date| match other {
                Some(other) if points || named.is_some() => far(*date) <= far(other),
                Some(other) => *date == other,
                None => true,
            })
        }
        _ => None,
    }
}

/// The number of a month that is named, in full or short, in the language in use.
fn month_named(part: &str) -> Option<i16> {
    let part = part.to_lowercase();
    let at = MONTHS.iter().position(|names| names.iter().any(|name| name.word().to_lowercase() == part))?;
    i16::try_from(at + 1).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn dates_are_read_as_people_write_them() {
        let today = date(2026, 11, 29);
        let read = |text: &str| read(text, today);
        let same = [
            "2026-11-09",
            "2026/11/9",
            "2026.11.09",
            "9.11.2026",
            "09.11.26",
            "9.11.",
            "9 November 2026",
            "9 Nov",
            "nov 9",
            "Nov 9, 2026",
            "2026 Nov 9",
            "9. November",
        ];
        for text in same {
            assert_eq!(read(text), Some(date(2026, 11, 9)), "{text}");
        }
        // Only one of the two can be the month.
        assert_eq!(read("19/11/2026"), Some(date(2026, 11, 19)));
        assert_eq!(read("11/19"), Some(date(2026, 11, 19)));
        // Without a year it is the last one.
        assert_eq!(read("3 Dec"), Some(date(2025, 12, 3)));
        assert_eq!(read("29 Nov"), Some(today));
        for text in
            ["", "3/4", "3/4/2026", "31.2.2026", "29 Feb", "9 Nov 2026 8", "Novem 9", "12", "20261109", "x"]
        {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn a_year_of_two_digits_must_not_be_a_day_as_well() {
        let today = date(2026, 11, 29);
        // Day and month by points or by name come first, unless the other way round lies nearer.
        assert_eq!(read("9.11.26", today), Some(date(2026, 11, 9)));
        assert_eq!(read("25.11.26", today), Some(date(2026, 11, 25)));
        assert_eq!(read("9 Nov 26", today), Some(date(2026, 11, 9)));
        assert_eq!(read("Nov 9, 26", today), Some(date(2026, 11, 9)));
        assert_eq!(read("11/19/26", today), Some(date(2026, 11, 19)));
        for text in [
            "26-11-09",
            "26.11.09",
            "26/11/09",
            "25-11-26",
            "26 Nov 09",
            "13/4/5",
            "9.11.6",
            "9.11.202",
            "9 Nov 202",
            "19/11/202",
        ] {
            assert_eq!(read(text, today), None, "{text}");
        }
    }

    proptest::proptest! {
        /// Every date comes back from each way of writing it by the time library.
        #[test]
        fn what_is_written_is_read(days in 0..36_500_i64, any in "\\PC{0,12}") {
            let today = date(2100, 1, 1);
            let day = date(2000, 1, 1).checked_add(jiff::Span::new().days(days)).unwrap();
            for form in ["%Y-%m-%d", "%d.%m.%Y", "%-d %b %Y", "%-d %B %Y", "%B %-d, %Y"] {
                let text = day.strftime(form).to_string();
                proptest::prop_assert_eq!(read(&text, today), Some(day), "{}", text);
            }
            let _ = read(&any, today);
        }
    }

    /// Against the formatting of the time library, over a leap year.
    #[test]
    fn every_day_and_month_has_its_name() {
        for day in 0..366 {
            let at = jiff::civil::date(2024, 1, 1)
                .at(6, 5, 0, 0)
                .to_zoned_datetime(jiff::tz::TimeZone::UTC)
                .unwrap();
            let at = at.checked_add(jiff::Span::new().days(day)).unwrap();
            assert_eq!(in_full(&at), at.strftime("%A %-d %B, %H:%M").to_string());
            assert_eq!(with_year(&at), at.strftime("%-d %B %Y, %H:%M").to_string());
            assert_eq!(short(&at), at.strftime("%-d %b %H:%M").to_string());
            assert_eq!(short_with_weekday(&at), at.strftime("%a %-d %b %H:%M").to_string());
        }
    }
}
