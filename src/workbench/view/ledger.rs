//! The ledger: a bag's pulls as rows, each with what changed against the pull before.

use jiff::tz::TimeZone;

use super::page::{degrees, setting};
use crate::domain::{Attribute, Bag, Gear, Pull, PullId};
use crate::units::{Quantity, UnitPreferences};
use crate::words::Name;

/// A value and what changed against the pull before ("" for nothing).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cell {
    /// The value, without its unit.
    pub value: String,
    /// The difference, with its sign.
    pub delta: String,
}

/// One pull in the ledger.
#[derive(Debug, Clone, PartialEq)]
pub struct LedgerRow {
    /// Which pull.
    pub id: PullId,
    /// Its number, from 1.
    pub number: usize,
    /// Grinder setting.
    pub grind: Cell,
    /// Dose.
    pub dose: Cell,
    /// Drink in the cup.
    pub drink: Cell,
    /// Time.
    pub time: Cell,
    /// Strength; empty where not measured.
    pub strength: Cell,
    /// The six marks, in the order of entry.
    pub marks: [Option<i8>; 6],
    /// The worst marks in words: "sour, thin".
    pub taste: String,
    /// Liking.
    pub liking: Option<u8>,
    /// What went wrong in a word: "choked", "spurting", "sink".
    pub flag: &'static str,
    /// The keeper was kept from it.
    pub keeper: bool,
    /// A trace is kept for it.
    pub has_trace: bool,
    /// There is a note.
    pub has_note: bool,
    /// The whole row in one sentence, for screen readers.
    pub label: String,
}

/// Which rows are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LedgerFilter {
    /// All pulls.
    #[default]
    All,
    /// Only pulls with a trace.
    Traced,
    /// Only pulls that were tasted.
    Tasted,
    /// Without choked, spurting and sunk ones.
    Sound,
}

/// In which order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LedgerOrder {
    /// The newest first.
    #[default]
    Newest,
    /// The best liked first.
    Liking,
    /// The finest grind first.
    Grind,
    /// The fastest first.
    Time,
}

/// The rows of a bag's ledger.
#[must_use]
pub fn rows(
    bag: &Bag,
    gear: &Gear,
    filter: LedgerFilter,
    order: LedgerOrder,
    units: &UnitPreferences,
    zone: &TimeZone,
) -> Vec<LedgerRow> {
    let mut kept: Vec<(LedgerRow, &Pull)> = Vec::new();
    let mut before: Option<&Pull> = None;
    for (at, pull) in bag.live_pulls().enumerate() {
        let fits = match filter {
            LedgerFilter::All => true,
            LedgerFilter::Traced => pull.has_trace,
            LedgerFilter::Tasted => !pull.taste.is_empty(),
            LedgerFilter::Sound => !(pull.flags.choked || pull.flags.spurting || pull.flags.sink),
        };
        if fits {
            kept.push((row(bag, gear, at + 1, pull, before, units, zone), pull));
        }
        before = Some(pull);
    }
    match order {
        LedgerOrder::Newest => kept.reverse(),
        LedgerOrder::Liking => {
            kept.reverse();
            kept.sort_by_key(|(_, pull)| std::cmp::Reverse(pull.taste.liking()));
        }
        LedgerOrder::Grind => {
            let sign = gear.grind.finer.coarser_sign();
            kept.sort_by(|(_, a), (_, b)| (a.used.grind * sign).total_cmp(&(b.used.grind * sign)));
        }
        LedgerOrder::Time => {
            let time = |pull: &Pull| pull.time_s.unwrap_or(f64::INFINITY);
            kept.sort_by(|(_, a), (_, b)| time(a).total_cmp(&time(b)));
        }
    }
    kept.into_iter().map(|(row, _)| row).collect()
}

fn row(
    bag: &Bag,
    gear: &Gear,
    number: usize,
    pull: &Pull,
    before: Option<&Pull>,
    units: &UnitPreferences,
    zone: &TimeZone,
) -> LedgerRow {
    let cell = |quantity: Quantity, value: Option<f64>, old: Option<f64>| -> Cell {
        let Some(value) = value else { return Cell::default() };
        let (shown, _, decimals) = units.convert(quantity, value);
        let old = old.map(|old| units.convert(quantity, old).0);
        Cell {
            value: units.number(shown, decimals),
            delta: old.map_or(String::new(), |old| delta(shown - old, decimals, units)),
        }
    };
    let grind = Cell {
        value: setting(gear, pull.used.grind, units),
        delta: before.map_or(String::new(), |b| {
            delta(pull.used.grind - b.used.grind, gear.grind.scale.decimals(), units)
        }),
    };
    let marks = Attribute::ALL.map(|attribute| pull.taste.mark(attribute).map(|mark| mark.value()));
    let flag = match (pull.flags.choked, pull.flags.spurting, pull.flags.sink) {
        (true, ..) => word!("view-ledger-choked"),
        (_, true, _) => word!("view-ledger-spurting"),
        (_, _, true) => word!("view-ledger-sink"),
        _ => "",
    };
    let mut row = LedgerRow {
        id: pull.id,
        number,
        grind,
        dose: cell(Quantity::Dose, Some(pull.used.dose_g), before.map(|b| b.used.dose_g)),
        drink: cell(Quantity::Yield, Some(pull.used.yield_g), before.map(|b| b.used.yield_g)),
        time: cell(Quantity::Time, pull.time_s, before.and_then(|b| b.time_s)),
        strength: cell(Quantity::Strength, pull.tds_pct, before.and_then(|b| b.tds_pct)),
        marks,
        taste: taste_words(&marks),
        liking: pull.taste.liking(),
        flag,
        keeper: bag.keeper.as_ref().is_some_and(|keeper| keeper.from_pull == Some(pull.id)),
        has_trace: pull.has_trace,
        has_note: !pull.note.is_empty(),
        label: String::new(),
    };
    row.label = label(&row, gear, pull, units, zone);
    row
}

fn label(row: &LedgerRow, gear: &Gear, pull: &Pull, units: &UnitPreferences, zone: &TimeZone) -> String {
    let mut parts = vec![
        say!("view-ledger-pull", number = row.number),
        say!("view-ledger-grind", value = row.grind.value),
        say!("view-ledger-dose", value = units.value(Quantity::Dose, pull.used.dose_g)),
        say!("view-ledger-yield", value = units.value(Quantity::Yield, pull.used.yield_g)),
    ];
    if let Some(t) = pull.used.temperature_c.filter(|_| gear.temperature_c.is_some()) {
        parts.push(degrees(t, units));
    }
    if let Some(time) = pull.time_s {
        parts.push(units.value(Quantity::Time, time));
    }
    if let Some(tds) = pull.tds_pct {
        parts.push(say!("view-ledger-strength", value = units.value(Quantity::Strength, tds)));
    }
    if !row.taste.is_empty() {
        parts.push(row.taste.clone());
    }
    if let Some(liking) = row.liking {
        parts.push(say!("view-ledger-liking", liking = liking));
    }
    if !row.flag.is_empty() {
        parts.push(row.flag.to_owned());
    }
    if row.keeper {
        parts.push(word!("view-ledger-keeper").to_owned());
    }
    if row.has_trace {
        parts.push(word!("view-ledger-with-trace").to_owned());
    }
    let when = pull.pulled_at.to_zoned_datetime(zone.clone());
    parts.push(when.strftime("%Y-%m-%d %H:%M").to_string());
    parts.join(", ")
}

fn delta(by: f64, decimals: usize, units: &UnitPreferences) -> String {
    let text = units.number(by.abs(), decimals);
    if text.chars().all(|c| matches!(c, '0' | '.' | ',')) {
        return String::new();
    }
    format!("{}{text}", if by > 0.0 { "+" } else { "−" })
}

/// The strongest one or two marks in the trade's words; "just right" when every mark is.
#[must_use]
pub fn taste_words(marks: &[Option<i8>; 6]) -> String {
    const WORDS: [(Name, Name); 6] = [
        (name!("view-ledger-flat"), name!("view-ledger-sour")),
        (name!("view-ledger-not-bitter-enough"), name!("view-ledger-bitter")),
        (name!("view-ledger-weak"), name!("view-ledger-too-strong")),
        (name!("view-ledger-thin"), name!("view-ledger-heavy")),
        (name!("view-ledger-too-smooth"), name!("view-ledger-drying")),
        (name!("view-ledger-not-sweet"), name!("view-ledger-too-sweet")),
    ];
    let mut off: Vec<(i8, usize)> =
        marks.iter().enumerate().filter_map(|(at, mark)| mark.filter(|m| *m != 0).map(|m| (m, at))).collect();
    if off.is_empty() {
        return if marks.iter().any(Option::is_some) {
            word!("view-ledger-just-right").to_owned()
        } else {
            String::new()
        };
    }
    off.sort_by_key(|&(mark, at)| (std::cmp::Reverse(mark.abs()), at));
    let words: Vec<String> = off
        .iter()
        .take(2)
        .filter_map(|&(mark, at)| {
            let (low, high) = WORDS.get(at)?;
            let word = if mark > 0 { high } else { low };
            Some(if mark.abs() == 2 { say!("view-ledger-very", word = word) } else { word.to_string() })
        })
        .collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Mark;
    use crate::workbench::samples;

    fn check(filter: LedgerFilter, order: LedgerOrder) -> Vec<LedgerRow> {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(3, now);
        {
            let pulls = &mut notebook.bags[0].pulls;
            pulls[1].used.grind = 13.0;
            pulls[1].taste.set_mark(Attribute::Sourness, Mark::new(2));
            pulls[1].taste.set_mark(Attribute::Body, Mark::new(-1));
            pulls[1].taste.set_liking(Some(4));
            pulls[2].used.grind = 12.5;
            pulls[2].flags.spurting = true;
        }
        let units = UnitPreferences::default();
        rows(notebook.bag(id).unwrap(), &samples::gear(), filter, order, &units, &TimeZone::UTC)
    }

    #[test]
    fn rows_tell_what_changed() {
        let rows = check(LedgerFilter::All, LedgerOrder::Newest);
        assert_eq!(rows.iter().map(|row| row.number).collect::<Vec<_>>(), [3, 2, 1]);
        assert_eq!(rows[0].grind, Cell { value: "12.5".into(), delta: "−0.5".into() });
        assert_eq!(rows[0].dose.delta, "");
        assert_eq!(rows[1].time, Cell { value: "20.0".into(), delta: "+1.0".into() });
        assert_eq!(rows[1].taste, "very sour, thin");
        assert!(rows[1].label.starts_with("Pull 2, grind 13.0, dose 18.0 g"), "{}", rows[1].label);
        assert_eq!(rows[0].flag, "spurting");
    }

    #[test]
    fn filters_and_orders() {
        let numbers = |f, o| check(f, o).iter().map(|row| row.number).collect::<Vec<_>>();
        assert_eq!(numbers(LedgerFilter::Sound, LedgerOrder::Newest), [2, 1]);
        assert_eq!(numbers(LedgerFilter::Tasted, LedgerOrder::Newest), [2]);
        assert_eq!(numbers(LedgerFilter::Traced, LedgerOrder::Newest), Vec::<usize>::new());
        assert_eq!(numbers(LedgerFilter::All, LedgerOrder::Liking), [2, 3, 1]);
        assert_eq!(numbers(LedgerFilter::All, LedgerOrder::Grind), [3, 2, 1]);
        assert_eq!(numbers(LedgerFilter::All, LedgerOrder::Time), [1, 2, 3]);
    }
}
