//! Rule packs as text: what a rule may say, and reading it with file, line and column on every fault.

use serde::Deserialize;

use crate::units::in_a_row;

/// Facts that a rule may name.
#[rustfmt::skip]
pub const FACTS: [&str; 25] = [
    "time_s", // pump on to cup away of the last pull, seconds
    "first_drip_s", // pump on to first drip of the last pull, seconds
    "sourness", // mark of the last pull, −2…2; absent for one that spurted
    "bitterness", // mark of the last pull, −2…2; absent for one that spurted
    "strength", // mark of the last pull, −2…2; absent for one that spurted
    "body", // mark of the last pull, −2…2; absent for one that spurted
    "astringency", // mark of the last pull, −2…2; absent for one that spurted
    "sweetness", // mark of the last pull, −2…2; absent for one that spurted
    "liking", // liking of the last pull, 1…9; absent for one that spurted
    "tds_pct", // strength of the last pull, %
    "extraction_pct", // extraction of the last pull, %
    "ratio", // drink over dose of the last pull
    "choked", // 1 when the last pull choked
    "spurting", // 1 when the last pull ran and spurted
    "channel", // how sure the last pull's trace is that a channel opened, 0 to 1; absent without a trace
    "pulls", // pulls of this bag so far
    "pulls_today", // pulls of this bag at its present age
    "cups_today", // those of them that were tasted
    "days_since_roast", // age of the bag, days
    "darkness", // roast, −2 light to 2 dark; absent where not known
    "outside_window_s", // seconds by which the last pull missed the house window, negative when too fast
    "finer_faster_pct", // percent by which the last pull ran faster than the last one that was ground coarser; absent without one
    "in_time", // 1 when the last pull ran within the window that was named, or 23 to 33 s where none was, else 0
    "in_window", // 1 when the last pull ran within a window that was named, else 0; absent without one
    "near_window", // 1 when the last pull ran within a window that was named or missed it by less than a third, else 0; absent without one
];

/// One condition.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub enum Condition {
    /// The fact is known and above a threshold.
    Above(String, f64),
    /// The fact is known and below a threshold.
    Below(String, f64),
    /// The fact is known and not zero.
    Is(String),
}

impl Condition {
    /// The fact it looks at.
    #[must_use]
    pub fn fact(&self) -> &str {
        match self {
            Self::Above(fact, _) | Self::Below(fact, _) | Self::Is(fact) => fact,
        }
    }
}

/// What to do, in physical terms.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub enum Action {
    /// Grind finer, so that the pull takes so many percent longer.
    Finer {
        /// Percent of time.
        time_pct: f64,
    },
    /// Grind coarser, so that a pull now so many percent slower than wanted comes right.
    Coarser {
        /// Percent of time.
        time_pct: f64,
    },
    /// More drink (negative: less), percent.
    Yield {
        /// Percent of the drink.
        percent: f64,
    },
    /// More dose (negative: less), grams.
    Dose {
        /// Grams.
        grams: f64,
    },
    /// Hotter (negative: cooler), kelvin.
    Temperature {
        /// Kelvin.
        kelvin: f64,
    },
    /// No setting: something about preparation or measuring first.
    Prepare,
}

impl Action {
    /// The action in two words, as worked cases name it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Finer { .. } => "finer",
            Self::Coarser { .. } => "coarser",
            Self::Yield { percent } if *percent > 0.0 => "more yield",
            Self::Yield { .. } => "less yield",
            Self::Dose { grams } if *grams > 0.0 => "more dose",
            Self::Dose { .. } => "less dose",
            Self::Temperature { kelvin } if *kelvin > 0.0 => "hotter",
            Self::Temperature { .. } => "cooler",
            Self::Prepare => "prepare",
        }
    }

    /// Size of the move, for checking.
    fn size(&self) -> (f64, f64) {
        match self {
            Self::Finer { time_pct } | Self::Coarser { time_pct } => (*time_pct, 100.0),
            Self::Yield { percent } => (percent.abs(), 50.0),
            Self::Dose { grams } => (grams.abs(), 5.0),
            Self::Temperature { kelvin } => (kelvin.abs(), 8.0),
            Self::Prepare => (1.0, 1.0),
        }
    }
}

/// One rule.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Stable name.
    pub id: String,
    /// All of these must hold.
    pub when: Vec<Condition>,
    /// None of these may hold.
    #[serde(default)]
    pub unless: Vec<Condition>,
    /// What to do.
    pub then: Action,
    /// How much it is believed, above 0 and at most 1.
    pub strength: f64,
    /// Why, as a clause without a full stop.
    pub because: String,
    /// Where it comes from, or "common practice, no source".
    pub source: String,
}

/// A pack.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// Format number, 1.
    pub format: u32,
    /// Name of the pack.
    pub name: String,
    /// Its rules.
    pub rules: Vec<Rule>,
}

/// One worked case.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkedCase {
    /// What it is about.
    pub name: String,
    /// Facts given.
    pub facts: std::collections::BTreeMap<String, f64>,
    /// Rules that must fire (others may).
    pub fires: Vec<String>,
    /// Word of the strongest action, "nothing" when none may fire.
    pub first: String,
}

/// A file of worked cases.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cases {
    /// Format number, 1.
    pub format: u32,
    /// The cases.
    pub cases: Vec<WorkedCase>,
}

/// Something wrong with a pack: where, what, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Name of the file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub todo: String,
}

impl std::fmt::Display for Finding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}: {}; {}", self.file, self.line, self.column, self.what, self.todo)
    }
}

/// Reads RON with the place of a fault.
pub(super) fn read<T: for<'de> Deserialize<'de>>(file: &str, text: &str) -> Result<T, Finding> {
    ron::from_str(text).map_err(|bad| Finding {
        file: file.to_owned(),
        line: bad.span.start.line,
        column: bad.span.start.col,
        what: bad.code.to_string(),
        todo: word!("rules-pack-todo-text").to_owned(),
    })
}

/// Line and column of the first mention of `"needle"` in quotes.
pub(super) fn place(text: &str, needle: &str) -> (usize, usize) {
    let quoted = format!("\"{needle}\"");
    text.lines()
        .enumerate()
        .find_map(|(line, content)| {
            content.find(&quoted).map(|at| (line + 1, content.get(..at).map_or(0, |s| s.chars().count()) + 1))
        })
        .unwrap_or((1, 1))
}

impl Pack {
    /// Faults in what a readable pack says.
    #[must_use]
    pub fn faults(&self, file: &str, text: &str) -> Vec<Finding> {
        let mut out = Vec::new();
        let mut add = |needle: &str, what: String, todo: &str| {
            let (line, column) = place(text, needle);
            out.push(Finding { file: file.to_owned(), line, column, what, todo: todo.to_owned() });
        };
        if self.format != 1 {
            add(&self.name, say!("rules-pack-format", format = self.format), word!("rules-pack-todo-format"));
        }
        let mut seen = std::collections::BTreeSet::new();
        for rule in &self.rules {
            let id = rule.id.as_str();
            if !seen.insert(id) {
                add(id, say!("rules-pack-twice", id = id), word!("rules-pack-todo-twice"));
            }
            for condition in rule.when.iter().chain(&rule.unless) {
                let fact = condition.fact();
                if !FACTS.contains(&fact) {
                    add(
                        fact,
                        say!("rules-pack-fact", id = id, fact = fact),
                        &say!("rules-pack-todo-fact", facts = in_a_row(&FACTS)),
                    );
                }
                if let Condition::Above(_, v) | Condition::Below(_, v) = condition
                    && !v.is_finite()
                {
                    add(id, say!("rules-pack-threshold", id = id), word!("rules-pack-todo-threshold"));
                }
            }
            if rule.when.is_empty() {
                add(id, say!("rules-pack-no-condition", id = id), word!("rules-pack-todo-no-condition"));
            }
            if !(rule.strength > 0.0 && rule.strength <= 1.0) {
                add(
                    id,
                    say!("rules-pack-strength", id = id, strength = rule.strength),
                    word!("rules-pack-todo-strength"),
                );
            }
            let (size, most) = rule.then.size();
            if !(size > 0.0 && size <= most) {
                add(
                    id,
                    say!("rules-pack-size", id = id, size = size),
                    &say!("rules-pack-todo-size", most = most),
                );
            }
            if rule.because.trim().is_empty() || rule.source.trim().is_empty() {
                add(id, say!("rules-pack-because", id = id), word!("rules-pack-todo-because"));
            }
            let dead = rule.when.iter().any(|c| rule.unless.contains(c));
            if dead {
                add(id, say!("rules-pack-dead", id = id), word!("rules-pack-todo-dead"));
            }
        }
        for (index, a) in self.rules.iter().enumerate() {
            for b in self.rules.get(index + 1..).unwrap_or_default() {
                if a.when == b.when && a.unless == b.unless && opposite(&a.then, &b.then) {
                    add(
                        &b.id,
                        say!("rules-pack-opposite", a = a.id, b = b.id),
                        word!("rules-pack-todo-opposite"),
                    );
                }
            }
        }
        out
    }
}

/// Whether two actions pull one lever in opposite directions.
#[must_use]
pub fn opposite(a: &Action, b: &Action) -> bool {
    use Action as A;
    match (a, b) {
        (A::Finer { .. }, A::Coarser { .. }) | (A::Coarser { .. }, A::Finer { .. }) => true,
        (A::Yield { percent: x }, A::Yield { percent: y }) => x * y < 0.0,
        (A::Dose { grams: x }, A::Dose { grams: y }) => x * y < 0.0,
        (A::Temperature { kelvin: x }, A::Temperature { kelvin: y }) => x * y < 0.0,
        _ => false,
    }
}
