//! Dates in words, in the language in use.

use jiff::ZonedDateTime;

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

#[cfg(test)]
mod tests {
    use super::*;

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
