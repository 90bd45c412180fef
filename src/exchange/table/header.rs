//! Names of columns: taking the unit off, and what the words mean.

use crate::domain::Channel;
use crate::units::{Quantity, Unit};

use super::guess::Role;

/// A cell that is nothing but a unit, perhaps in brackets.
pub(crate) fn bare_unit(field: &str) -> Option<String> {
    let inner = field.trim().trim_matches(|c| matches!(c, '(' | ')' | '[' | ']' | '{' | '}' | '<' | '>'));
    Unit::from_text(inner).map(|_| inner.to_owned())
}

/// Takes a unit off a name: `pressure (bar)`, `pressure [kPa]`, `time / ms`, `cup mass, g`, `flow g/s`,
/// `pressure_kpa`, `flow_g_s`, `tempC`.
pub(crate) fn split_unit(field: &str) -> (String, Option<String>) {
    let field = field.trim().trim_start_matches('\u{feff}').trim();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}'), ('<', '>')] {
        if let Some((name, rest)) = field.rsplit_once(open)
            && let Some((inner, after)) = rest.split_once(close)
            && Unit::from_text(inner).is_some()
        {
            let name = format!("{} {}", name.trim(), after.trim());
            let name = name.trim_matches(|c: char| c.is_whitespace() || matches!(c, '_' | '-' | ':'));
            let name = if name.is_empty() { inner.trim() } else { name };
            return (name.to_owned(), Some(inner.trim().to_owned()));
        }
    }
    if Unit::from_text(field).is_some() {
        return (field.to_owned(), Some(field.to_owned()));
    }
    // The longest tail that is a unit, behind any mark; `g_s` and `ml s` count as `g/s`, `ml/s`.
    let marks = |c: char| c.is_whitespace() || matches!(c, '_' | '/' | ',' | ':' | ';' | '-' | '.');
    let starts: Vec<usize> = field.char_indices().filter(|&(_, c)| marks(c)).map(|(at, _)| at).collect();
    for &at in starts.iter().rev().take(4).rev() {
        let (name, tail) = field.split_at(at);
        let tail = tail.trim_matches(marks);
        let name = name.trim_end_matches(marks);
        if tail.is_empty() || name.is_empty() {
            continue;
        }
        let joined: String = tail.split(marks).filter(|part| !part.is_empty()).collect::<Vec<_>>().join("/");
        for candidate in [joined.as_str(), tail] {
            if Unit::from_text(candidate).is_some() {
                return (name.to_owned(), Some(candidate.to_owned()));
            }
        }
    }
    let camel = field
        .char_indices()
        .zip(field.chars().skip(1))
        .filter(|((_, a), b)| a.is_lowercase() && b.is_uppercase());
    if let Some(((at, c), _)) = camel.last() {
        let (name, tail) = field.split_at(at + c.len_utf8());
        if Unit::from_text(tail).is_some() {
            return (name.to_owned(), Some(tail.to_owned()));
        }
    }
    (field.to_owned(), None)
}

/// Lower-case words of a name, accents off, split at marks, at capitals and between letters and digits.
pub(crate) fn words(name: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let mut before: Option<char> = None;
    for c in name.chars() {
        let breaks = match before {
            Some(b) => (b.is_lowercase() && c.is_uppercase()) || (b.is_alphabetic() && c.is_numeric()),
            None => false,
        };
        if (breaks || !c.is_alphanumeric()) && !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        if c.is_alphanumeric() {
            for lower in c.to_lowercase() {
                word.push(plain(lower));
            }
        }
        before = Some(c);
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

fn plain(c: char) -> char {
    match c {
        'á' | 'à' | 'â' | 'ã' | 'ä' | 'å' | 'ą' => 'a',
        'é' | 'è' | 'ê' | 'ë' | 'ę' => 'e',
        'í' | 'ì' | 'î' | 'ï' => 'i',
        'ó' | 'ò' | 'ô' | 'õ' | 'ö' | 'ø' => 'o',
        'ú' | 'ù' | 'û' | 'ü' => 'u',
        'ç' | 'ć' => 'c',
        'ł' => 'l',
        'ń' | 'ñ' => 'n',
        'ś' => 's',
        'ż' | 'ź' => 'z',
        other => other,
    }
}

const TIME: &[&str] = &[
    "time",
    "elapsed",
    "timestamp",
    "clock",
    "seconds",
    "second",
    "secs",
    "sec",
    "millis",
    "milliseconds",
    "msec",
    "epoch",
    "uptime",
    "duration",
    "zeit",
    "dauer",
    "zeitstempel",
    "temps",
    "tempo",
    "tiempo",
    "tijd",
    "tid",
    "czas",
    "aika",
    "cas",
    "zaman",
    "время",
    "时间",
    "時間",
    "ms",
    "ts",
    "datetime",
    "date",
];
const PRESSURE: &[&str] = &[
    "pressure",
    "press",
    "pres",
    "druck",
    "pression",
    "pressione",
    "presion",
    "pressao",
    "druk",
    "tryck",
    "trykk",
    "cisnienie",
    "paine",
    "tlak",
    "basinc",
    "давление",
    "压力",
    "圧力",
    "bar",
    "kpa",
    "psi",
    "mpa",
];
const FLOW: &[&str] = &[
    "flow",
    "flowrate",
    "massflow",
    "waterflow",
    "durchfluss",
    "fluss",
    "durchflussrate",
    "debit",
    "portata",
    "flujo",
    "caudal",
    "fluxo",
    "vazao",
    "debiet",
    "stroom",
    "flode",
    "flow rate",
    "przeplyw",
    "virtaus",
    "prutok",
    "расход",
    "поток",
    "流量",
];
const MASS: &[&str] = &[
    "mass",
    "weight",
    "wt",
    "scale",
    "scales",
    "cup",
    "yield",
    "beverage",
    "drink",
    "grams",
    "gram",
    "gewicht",
    "masse",
    "waage",
    "tasse",
    "bezug",
    "poids",
    "peso",
    "massa",
    "vikt",
    "vekt",
    "masa",
    "waga",
    "paino",
    "hmotnost",
    "agirlik",
    "balance",
    "bilancia",
    "tazza",
    "вес",
    "масса",
    "重量",
    "質量",
];
const TEMPERATURE: &[&str] = &[
    "temperature",
    "temp",
    "tmp",
    "temperatur",
    "temperatura",
    "temperatuur",
    "lampotila",
    "teplota",
    "sicaklik",
    "температура",
    "温度",
    "celsius",
    "fahrenheit",
    "thermocouple",
    "degc",
    "degf",
];
/// Words that say the column is a wish, a raw reading or a statistic, not a measurement.
const NOT_MEASURED: &[&str] = &[
    "target",
    "set",
    "setpoint",
    "goal",
    "desired",
    "soll",
    "sollwert",
    "consigne",
    "obiettivo",
    "objetivo",
    "raw",
    "adc",
    "voltage",
    "volt",
    "volts",
    "error",
    "std",
    "stdev",
    "sd",
    "limit",
    "battery",
    "pwm",
    "duty",
    "power",
    "setting",
    "expected",
    "predicted",
    "model",
    "tds",
    "index",
    "count",
];

fn role_words(role: Role) -> &'static [&'static str] {
    match role {
        Role::Time => TIME,
        Role::Channel(Channel::Pressure) => PRESSURE,
        Role::Channel(Channel::Flow) => FLOW,
        Role::Channel(Channel::CupMass) => MASS,
        Role::Channel(Channel::Temperature) => TEMPERATURE,
    }
}

/// Letters that stand for a quantity in physics texts.
fn letter(role: Role) -> &'static [&'static str] {
    match role {
        Role::Time => &["t", "s"],
        Role::Channel(Channel::Pressure) => &["p"],
        Role::Channel(Channel::Flow) => &["q", "f"],
        Role::Channel(Channel::CupMass) => &["m", "w", "g"],
        Role::Channel(Channel::Temperature) => &["tc", "c", "θ", "t"],
    }
}

/// Words that make one of several columns of a quantity the better or the worse one.
fn preference(role: Role, word: &str) -> f64 {
    let (better, worse): (&[&str], &[&str]) = match role {
        Role::Time => {
            (&["elapsed", "shot", "pull", "rel", "relative"], &["date", "wall", "delta", "dt", "diff"])
        }
        Role::Channel(Channel::Pressure) => (
            &["bed", "puck", "basket", "group", "grouphead", "head", "brew", "portafilter"],
            &["line", "pump", "boiler", "steam", "inlet", "mains", "tank", "outlet", "ambient", "loss"],
        ),
        Role::Channel(Channel::Flow) => (
            &["out", "cup", "drip", "weight", "mass", "beverage", "drink"],
            &["in", "pump", "inlet", "mains", "bypass"],
        ),
        Role::Channel(Channel::CupMass) => (
            &["cup", "drink", "beverage", "out", "net", "yield"],
            &["dose", "in", "tank", "reservoir", "water", "gross", "tare"],
        ),
        Role::Channel(Channel::Temperature) => (
            &["basket", "group", "grouphead", "head", "brew", "puck", "coffee", "water", "mix"],
            &["boiler", "steam", "ambient", "room", "board", "chip", "cpu", "case"],
        ),
    };
    if better.contains(&word) {
        0.08
    } else if worse.contains(&word) {
        -0.12
    } else {
        0.0
    }
}

/// The quantity that a role measures.
pub(crate) fn quantity(role: Role) -> Quantity {
    match role {
        Role::Time => Quantity::Time,
        Role::Channel(channel) => channel.quantity(),
    }
}

/// How well a name and its unit speak for a role, 0…1. Common practice in naming, no source.
pub(crate) fn score(name: &str, unit: Option<Unit>, role: Role) -> f64 {
    let words = words(name);
    let mut base: f64 = 0.0;
    for word in &words {
        let known = role_words(role);
        if known.contains(&word.as_str()) {
            base = base.max(0.8);
        } else if word.chars().count() >= 5
            && known.iter().any(|k| k.chars().count() >= 4 && word.contains(k))
        {
            base = base.max(0.6);
        }
    }
    let letters: Vec<&str> =
        words.iter().map(String::as_str).filter(|w| !w.chars().all(char::is_numeric)).collect();
    if let [only] = letters.as_slice()
        && letter(role).contains(only)
    {
        base = base.max(0.5);
    }
    match unit {
        Some(unit) if quantity(role).takes(unit) => base = if base > 0.0 { base + 0.2 } else { 0.45 },
        // "temps" with bar, "weight flow" in grams a second: the unit knows better than the word.
        Some(_) => base *= 0.15,
        None => {}
    }
    if base <= 0.0 {
        return 0.0;
    }
    // "cup" alone names a mass, but "cup flow" is a flow: the more particular word wins.
    let flow_like = words.iter().any(|w| FLOW.contains(&w.as_str()) || w == "rate");
    if flow_like && role == Role::Channel(Channel::CupMass) && unit != Some(Unit::Gram) {
        base *= 0.3;
    }
    if words.iter().any(|w| TEMPERATURE.contains(&w.as_str())) && role != Role::Channel(Channel::Temperature)
    {
        base *= 0.3;
    }
    if words.iter().any(|w| PRESSURE.contains(&w.as_str())) && role == Role::Channel(Channel::CupMass) {
        base *= 0.3;
    }
    if words.iter().any(|w| NOT_MEASURED.contains(&w.as_str())) {
        base *= 0.3;
    }
    base += words.iter().map(|w| preference(role, w)).sum::<f64>().clamp(-0.15, 0.15);
    base.clamp(0.0, 1.0)
}

/// Whether a name is only a place or a number: "column 3", "ch1", "sensor b", "x".
pub(crate) fn says_nothing(name: &str) -> bool {
    const EMPTY: &[&str] = &[
        "column", "col", "channel", "ch", "sensor", "value", "val", "data", "input", "ai", "analog",
        "unnamed", "field",
    ];
    words(name).iter().all(|word| {
        EMPTY.contains(&word.as_str()) || word.chars().count() == 1 || word.chars().all(char::is_numeric)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_come_off_names() {
        for (field, name, unit) in [
            ("pressure (bar)", "pressure", Some("bar")),
            ("Pressure [kPa]", "Pressure", Some("kPa")),
            ("pressure_kpa", "pressure", Some("kpa")),
            ("time / ms", "time", Some("ms")),
            ("cup mass, g", "cup mass", Some("g")),
            ("flow_g_s", "flow", Some("g/s")),
            ("flow g/s", "flow", Some("g/s")),
            ("flow (ml/s) out", "flow  out", Some("ml/s")),
            ("tds__percent", "tds", Some("percent")),
            ("elapsedMs", "elapsed", Some("Ms")),
            ("Temperatur in °C", "Temperatur in", Some("°C")),
            ("ms", "ms", Some("ms")),
            ("p1", "p1", None),
            ("pressure (line)", "pressure (line)", None),
            ("", "", None),
        ] {
            let (got_name, got_unit) = split_unit(field);
            assert_eq!(got_unit.as_deref(), unit, "{field}");
            assert_eq!(got_name.replace("  ", " "), name.replace("  ", " "), "{field}");
        }
    }

    #[test]
    fn words_are_split_and_plain() {
        assert_eq!(words("LinePressure1 débit"), ["line", "pressure", "1", "debit"]);
    }
}
