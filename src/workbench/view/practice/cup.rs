//! The cup in numbers and words.

use crate::domain::{Attribute, Trace};
use crate::practice::{BenchPull, Impression, Palate, Seen, Watch, apart};
use crate::puck::Condition;
use crate::units::{Quantity, UnitPreferences, capital, listed};

/// One number of the cup.
#[derive(Debug, Clone, PartialEq)]
pub struct CupFact {
    /// "Time".
    pub name: String,
    /// "27.3 s", or a dash.
    pub value: String,
    /// "+1.4" against before, or empty.
    pub change: String,
}

/// The cup.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CupView {
    /// The numbers.
    pub facts: Vec<CupFact>,
    /// How it tastes against the usual cup, and what went wrong, if anything.
    pub words: String,
    /// How it tastes against the one before; empty where there is none.
    pub against: String,
}

const WATCHED: [Watch; 6] =
    [Watch::Time, Watch::FirstDrip, Watch::Strength, Watch::Extraction, Watch::Balance, Watch::Unevenness];

/// A watched value with its unit.
#[must_use]
pub fn watched(watch: Watch, value: f64, units: &UnitPreferences) -> String {
    let text = units.number(value, watch.decimals());
    if watch.unit().is_empty() { text } else { format!("{text} {}", watch.unit()) }
}

/// How far the simulated cup lies from a real one, in a sentence; empty where they share no moment past 5 g.
#[must_use]
pub fn against_real(pull: &BenchPull, name: &str, trace: &Trace, units: &UnitPreferences) -> String {
    apart(pull, trace).map_or(String::new(), |apart| {
        say!(
            "view-practice-cup-against-the-real-pull",
            name = name,
            share = units.number(100.0 * apart.worst_share, 0),
            time = units.value(Quantity::Time, apart.at_s.round()),
            simulated = units.value(Quantity::Yield, apart.simulated_g),
            real = units.value(Quantity::Yield, apart.real_g)
        )
    })
}

/// The cup of a pull, against the one before where there is one.
#[must_use]
pub fn cup(now: &BenchPull, before: Option<&BenchPull>, units: &UnitPreferences) -> CupView {
    let palate = Palate::default();
    let seen = Seen::of(now, &palate);
    let old = before.map(|pull| Seen::of(pull, &palate));
    let fact = |watch: Watch| {
        let value = seen.get(watch);
        let change = value.zip(old.and_then(|old| old.get(watch))).map(|(new, old)| new - old);
        let least = 0.5 * 10f64.powi(-(watch.decimals() as i32));
        CupFact {
            name: capital(watch.short()),
            value: value.map_or("–".to_owned(), |value| watched(watch, value, units)),
            change: change.filter(|change| change.abs() >= least).map_or(String::new(), |change| {
                let sign = if change > 0.0 { "+" } else { "" };
                format!("{sign}{}", units.number(change, watch.decimals()))
            }),
        }
    };
    let mut words = match (now.trace.condition, now.trace.reached_yield) {
        (Condition::Choked, _) => word!("view-practice-cup-choked-next-to-nothing-falls-coarser").to_owned(),
        (_, false) => word!("view-practice-cup-the-cup-never-fills-within-two").to_owned(),
        (Condition::Gusher, _) => word!("view-practice-cup-a-gusher").to_owned(),
        _ => String::new(),
    };
    if now.trace.reached_yield && now.trace.condition != Condition::Choked {
        words += &tendencies(&now.felt, &Impression::default(), word!("view-practice-cup-the-usual-cup"));
    }
    let filled = |pull: &BenchPull| pull.trace.reached_yield;
    let against = before
        .filter(|old| filled(old) && filled(now))
        .map(|old| tendencies(&now.felt, &old.felt, word!("view-practice-cup-before")))
        .unwrap_or_default();
    CupView { facts: WATCHED.into_iter().map(fact).collect(), words, against }
}

/// Least difference that is named, marks.
const NAMED: f64 = 0.35;

/// How one cup tastes against another, in words: "Against before: much sourer, a little thinner."
#[must_use]
pub fn tendencies(felt: &Impression, other: &Impression, name: &str) -> String {
    let words = |attribute: Attribute| match attribute {
        Attribute::Sourness => (word!("view-practice-cup-sourer"), word!("view-practice-cup-less-sour")),
        Attribute::Bitterness => {
            (word!("view-practice-cup-more-bitter"), word!("view-practice-cup-less-bitter"))
        }
        Attribute::Strength => (word!("view-practice-cup-stronger"), word!("view-practice-cup-weaker")),
        Attribute::Body => (word!("view-practice-cup-fuller"), word!("view-practice-cup-thinner")),
        Attribute::Astringency => {
            (word!("view-practice-cup-drier-on-the-tongue"), word!("view-practice-cup-less-drying"))
        }
        Attribute::Sweetness => (word!("view-practice-cup-sweeter"), word!("view-practice-cup-less-sweet")),
    };
    let mut said: Vec<(f64, String)> = Attribute::ALL
        .into_iter()
        .filter_map(|attribute| {
            let off = felt.get(attribute) - other.get(attribute);
            let (more, less) = words(attribute);
            let word = if off > 0.0 { more } else { less };
            let how = match off.abs() {
                size if size < NAMED => return None,
                size if size < 0.9 => word!("view-practice-cup-a-little"),
                size if size < 2.0 => "",
                _ => word!("view-practice-cup-much"),
            };
            Some((off.abs(), format!("{how}{word}")))
        })
        .collect();
    said.sort_by(|a, b| b.0.total_cmp(&a.0));
    let list: Vec<String> = said.into_iter().map(|(_, word)| word).collect();
    if list.is_empty() {
        say!("view-practice-cup-tastes-like", name = name)
    } else {
        say!("view-practice-cup-against", name = name, listed = listed(&list))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::sitting::GRID;
    use crate::practice::{Bench, Handle};

    #[test]
    fn numbers_changes_and_words_come_from_the_pull() {
        let units = UnitPreferences::default();
        let bench = Bench::default();
        let before = bench.pull(&GRID).unwrap();
        let now = bench.with(Handle::Grind, 27.0).pull(&GRID).unwrap();
        let view = cup(&now, Some(&before), &units);
        assert_eq!(view.facts[0].value, format!("{:.1} s", now.trace.end_s));
        assert!(view.facts[0].change.starts_with('−'), "coarser is faster: {:?}", view.facts[0]);
        assert!(view.against.contains("sourer") && !view.against.contains("less sour"), "{}", view.against);
        assert_eq!(cup(&before, Some(&before), &units).against, "Tastes like before.");
        let choked =
            Bench { care: 1.0, ..bench.clone() }.with(Handle::Grind, 0.0).with(Handle::Pressure, 2.0);
        let choked = choked.pull(&GRID).unwrap();
        let view = cup(&choked, None, &units);
        assert!(view.words.contains("Choked") || view.words.contains("never fills"), "{}", view.words);
        assert_eq!(view.facts[2].value, "–");
    }
}
