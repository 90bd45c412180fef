//! Dates in words, in the language in use.

use jiff::ZonedDateTime;

use crate::words::Name;

const DAYS: [[Name; 2]; 7] = [
    [name!("view-dates-monday"), name!("view-dates-monday-short")],
    [name!("view-dates-tuesday"), name!("view-dates-tuesday-short")],
    [name!("view-dates-wednesday"), name!("view-dates-wednesday-short")],
    [name!("view-dates-thursday"), name!("view-dates-thursday-short")],
    [name!("view-dates-friday"), name!("view-dates-friday-short")],
    [name!("view-dates-saturday"), name!("view-dates-saturday-short")],
    [name!("view-dates-sunday"), name!("view-dates-sunday-short")],
];

const MONTHS: [[Name; 2]; 12] = [
    [name!("view-dates-january"), name!("view-dates-january-short")],
    [name!("view-dates-february"), name!("view-dates-february-short")],
    [name!("view-dates-march"), name!("view-dates-march-short")],
    [name!("view-dates-april"), name!("view-dates-april-short")],
    [name!("view-dates-may"), name!("view-dates-may-short")],
    [name!("view-dates-june"), name!("view-dates-june-short")],
    [name!("view-dates-july"), name!("view-dates-july-short")],
    [name!("view-dates-august"), name!("view-dates-august-short")],
    [name!("view-dates-september"), name!("view-dates-september-short")],
    [name!("view-dates-october"), name!("view-dates-october-short")],
    [name!("view-dates-november"), name!("view-dates-november-short")],
    [name!("view-dates-december"), name!("view-dates-december-short")],
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
    say!("view-dates-in-full", weekday = weekday, day = at.day(), month = month, time = at.strftime("%H:%M"))
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
            assert_eq!(short(&at), at.strftime("%-d %b %H:%M").to_string());
            assert_eq!(short_with_weekday(&at), at.strftime("%a %-d %b %H:%M").to_string());
        }
    }
}
