//! From lines to samples.

use serde_json::Value;

use crate::domain::Channel;
use crate::trace::naming::{Role, quantity, score, split_unit};
use crate::units::{Unit, parse_number};

/// One reading in the program's units; `None` where the instrument gave nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Seconds: the instrument's own clock, or the arrival when it has none. Never goes back within a connection.
    pub time_s: f64,
    values: [Option<f64>; 4],
}

impl Sample {
    /// A sample from its parts; numbers that are not finite count as missing.
    #[must_use]
    pub fn new(time_s: f64, values: [Option<f64>; 4]) -> Self {
        Self { time_s, values: values.map(|v| v.filter(|v| v.is_finite())) }
    }

    /// A channel's value (bar, g/s, g, °C).
    #[must_use]
    pub fn get(&self, channel: Channel) -> Option<f64> {
        self.values.get(channel as usize).copied().flatten()
    }
}

/// Which name means what: in the order of names as they came, the role and unit of each (`None`: not used).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mapping {
    /// Name (without its unit) and meaning.
    pub fields: Vec<(String, Option<(Role, Unit)>)>,
}

impl Mapping {
    /// Guesses from names that carry units; each role goes to its best name. A unit that is not written is the
    /// program's own (and seconds).
    #[must_use]
    pub fn guess<'a>(names: impl IntoIterator<Item = &'a str>) -> Self {
        let parts: Vec<(String, Option<Unit>)> = names
            .into_iter()
            .take(200)
            .map(|name| {
                let (name, unit) = split_unit(name);
                (name, unit.as_deref().and_then(Unit::from_text))
            })
            .collect();
        let mut fields: Vec<(String, Option<(Role, Unit)>)> =
            parts.iter().map(|(n, _)| (n.clone(), None)).collect();
        let roles = std::iter::once(Role::Time).chain(Channel::ALL.map(Role::Channel));
        let mut wants: Vec<(f64, usize, Role)> = Vec::new();
        for role in roles {
            for (at, (name, unit)) in parts.iter().enumerate() {
                let said = score(name, *unit, role);
                if said >= 0.25 {
                    wants.push((said, at, role));
                }
            }
        }
        wants.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        for (_, at, role) in wants {
            let taken = fields.iter().any(|(_, meaning)| meaning.is_some_and(|(r, _)| r == role));
            let unit = parts.get(at).and_then(|(_, unit)| *unit).filter(|unit| quantity(role).takes(*unit));
            let usual = match role {
                Role::Time => Unit::Second,
                Role::Channel(Channel::Pressure) => Unit::Bar,
                Role::Channel(Channel::Flow) => Unit::GramPerSecond,
                Role::Channel(Channel::CupMass) => Unit::Gram,
                Role::Channel(Channel::Temperature) => Unit::Celsius,
            };
            if let Some(slot) = fields.get_mut(at)
                && slot.1.is_none()
                && !taken
            {
                slot.1 = Some((role, unit.unwrap_or(usual)));
            }
        }
        Self { fields }
    }

    /// Whether any channel is named.
    #[must_use]
    pub fn is_useful(&self) -> bool {
        self.fields.iter().any(|(_, meaning)| matches!(meaning, Some((Role::Channel(_), _))))
    }
}

/// What a line turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// A reading.
    Sample(Sample),
    /// A header; what follows is read by it.
    Header(Mapping),
    /// Nothing: a comment.
    Comment,
    /// A line that could not be read, and why, as a sentence.
    Unreadable(String),
}

/// Reads lines one by one; never fails, never grows.
#[derive(Debug, Clone, Default)]
pub struct LineReader {
    mapping: Option<Mapping>,
    fixed: bool,
    last_time_s: Option<f64>,
    own_clock: Option<OwnClock>,
    /// Keys of objects so far, with their units, and what they mean; apart from the columns of rows.
    keys: Vec<String>,
    objects: Mapping,
    /// What the marks of each column of rows were so far.
    marks: Vec<Marks>,
}

/// The instrument's own clock, for lines that do not tell it.
#[derive(Debug, Clone, Copy)]
struct OwnClock {
    /// Its last time, and when that arrived, seconds.
    time_s: f64,
    arrived_s: f64,
    /// Its step before that, seconds.
    step_s: Option<f64>,
}

/// A clock that has told nothing for so long is silent, seconds; lines without a time then go on without it.
const SILENT_S: f64 = 1.0;
/// Longest step that a clock may have, seconds.
const LONGEST_STEP_S: f64 = 10.0;
/// Least step to a line without a time, seconds.
const LEAST_STEP_S: f64 = 1e-3;

impl OwnClock {
    /// The time of a line without one. What arrives before the clock speaks again lies before its next time, also when a
    /// stall of the connection has made it late.
    fn at_arrival(&self, arrived_s: f64) -> f64 {
        let passed_s = (arrived_s - self.arrived_s).max(0.0);
        let step_s = self.step_s.unwrap_or(0.0);
        let silent = passed_s >= SILENT_S.max(2.0 * step_s);
        self.time_s + if silent { passed_s } else { passed_s.min(0.9 * step_s) }
    }
}

/// Most keys that are remembered.
const MOST_KEYS: usize = 200;

/// Whether the marks of a column are decimal ones or may part thousands.
#[derive(Debug, Clone, Copy, Default)]
struct Marks {
    /// A mark that can only be a decimal one was seen.
    decimal: bool,
    /// Largest number without a mark.
    unmarked_high: f64,
    last: Option<f64>,
}

impl Marks {
    /// Takes the next number, and whether it may as well be a thousand times as large: beside hundreds without a mark it
    /// would then be nearer to the one before.
    fn doubts(&mut self, field: &str, value: f64) -> bool {
        let parts = field.trim_start_matches(['-', '+', '\u{2212}']).split_once(['.', ',']);
        let Some((before, behind)) = parts else {
            self.unmarked_high = self.unmarked_high.max(value.abs());
            self.last = Some(value);
            return false;
        };
        let parted = (1..=3).contains(&before.len()) && behind.len() == 3 && !before.starts_with('0');
        let far = |value: f64| self.last.map_or(0.0, |last| (value - last).abs());
        let whole = 1000.0 * value;
        let doubts = parted
            && !self.decimal
            && (100.0..1000.0).contains(&self.unmarked_high)
            && far(whole) < far(value);
        self.decimal |= !doubts;
        self.last = Some(if doubts { whole } else { value });
        doubts
    }
}

impl LineReader {
    /// A reader that learns its columns from the header or the keys.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A reader with columns chosen by the user; headers no longer change them.
    #[must_use]
    pub fn with_mapping(mapping: Mapping) -> Self {
        Self { mapping: Some(mapping), fixed: true, ..Self::default() }
    }

    /// Forgets the instrument's clock after a new connection (columns stay until a new header).
    pub fn reconnected(&mut self) {
        self.last_time_s = None;
        self.own_clock = None;
    }

    /// Reads one line that arrived at `arrived_s` (any steady clock, seconds).
    pub fn read(&mut self, line: &str, arrived_s: f64) -> Reading {
        let line = line.trim();
        if line.starts_with('{') {
            return self.object(line, arrived_s);
        }
        let line = line.split('#').next().unwrap_or_default().trim();
        if line.is_empty() { Reading::Comment } else { self.row(line, arrived_s) }
    }

    fn object(&mut self, line: &str, arrived_s: f64) -> Reading {
        let mut parts = serde_json::Deserializer::from_str(line).into_iter::<Value>();
        let first = parts.next();
        let rest = line.get(parts.byte_offset()..).unwrap_or_default().trim_start();
        let whole = rest.is_empty() || rest.starts_with('#');
        let Some(Ok(Value::Object(object))) = first.filter(|_| whole) else {
            return Reading::Unreadable(say!("capture-samples-no-object", line = short(line)));
        };
        let mut flat: Vec<(String, f64)> = Vec::new();
        for (key, value) in &object {
            match value {
                Value::Object(inner) => flat
                    .extend(inner.iter().filter_map(|(k, v)| number(v).map(|n| (format!("{key}.{k}"), n)))),
                other => flat.extend(number(other).map(|n| (key.clone(), n))),
            }
        }
        if !self.fixed {
            self.learn(flat.iter().map(|(key, _)| key.as_str()));
        }
        let chosen = self.mapping.as_ref().filter(|_| self.fixed);
        let mapping = chosen.unwrap_or(&self.objects);
        if !mapping.is_useful() {
            return Reading::Unreadable(word!("capture-samples-no-key").to_owned());
        }
        let mut values: Vec<(Role, f64)> = Vec::new();
        for (name, meaning) in &mapping.fields {
            let Some((role, unit)) = meaning else { continue };
            let found = flat.iter().find_map(|(key, value)| {
                let (bare, own) = split_unit(key);
                (key == name || bare == *name).then_some((own, *value))
            });
            if let Some((own, value)) = found {
                // A key that names its unit is in that unit, whatever an earlier one of the name was in.
                let own = own.as_deref().and_then(Unit::from_text);
                let unit = own.filter(|own| !self.fixed && quantity(*role).takes(*own)).unwrap_or(*unit);
                values.push((*role, unit.to_base(value)));
            }
        }
        self.sample(&values, arrived_s)
    }

    /// Takes in keys not seen before; what was understood by then stays.
    fn learn<'a>(&mut self, keys: impl Iterator<Item = &'a str>) {
        let known = self.keys.len();
        if known == 0 {
            self.objects = self.mapping.clone().unwrap_or_default();
        }
        for key in keys {
            if self.keys.len() < MOST_KEYS && !self.keys.iter().any(|seen| seen == key) {
                self.keys.push(key.to_owned());
            }
        }
        if self.keys.len() == known {
            return;
        }
        let has = |fields: &[(String, Option<(Role, Unit)>)], role: Role| {
            fields.iter().any(|(_, meaning)| meaning.is_some_and(|(known, _)| known == role))
        };
        for (name, meaning) in Mapping::guess(self.keys.iter().map(String::as_str)).fields {
            let Some((role, unit)) = meaning else { continue };
            if !has(&self.objects.fields, role) {
                self.objects.fields.push((name, Some((role, unit))));
            }
        }
    }

    fn row(&mut self, line: &str, arrived_s: f64) -> Reading {
        let fields: Vec<&str> = fields(line);
        let numbers: Vec<Option<f64>> = fields.iter().map(|f| parse_number(f).ok()).collect();
        let wordy = fields.iter().any(|f| f.chars().any(char::is_alphabetic) && !is_missing(f));
        if wordy && numbers.iter().all(Option::is_none) {
            let mapping = Mapping::guess(fields);
            if !mapping.is_useful() {
                return Reading::Unreadable(say!("capture-samples-no-column", line = short(line)));
            }
            if !self.fixed {
                self.mapping = Some(mapping.clone());
                self.keys.clear();
            }
            self.marks.clear();
            return Reading::Header(mapping);
        }
        let Some(mapping) = self.mapping.as_ref() else {
            return Reading::Unreadable(word!("capture-samples-no-header").to_owned());
        };
        if fields.len() != mapping.fields.len() {
            return Reading::Unreadable(say!(
                "capture-samples-fields",
                n = fields.len(),
                wanted = mapping.fields.len()
            ));
        }
        let mut values: Vec<(Role, f64)> = Vec::new();
        self.marks.resize(fields.len(), Marks::default());
        let each = mapping.fields.iter().zip(&mut self.marks);
        for (((_, meaning), marks), (number, field)) in each.zip(numbers.iter().zip(&fields)) {
            match (meaning, number) {
                (Some(_), Some(value)) if marks.doubts(field, *value) => {
                    return Reading::Unreadable(say!("capture-samples-thousands", field = short(field)));
                }
                (Some((role, unit)), Some(value)) => values.push((*role, unit.to_base(*value))),
                (Some(_), None) if !is_missing(field) => {
                    return Reading::Unreadable(say!("capture-samples-no-number", field = short(field)));
                }
                _ => {}
            }
        }
        self.sample(&values, arrived_s)
    }

    fn sample(&mut self, values: &[(Role, f64)], arrived_s: f64) -> Reading {
        let own = values.iter().find(|(role, _)| *role == Role::Time).map(|(_, t)| *t);
        let mut time_s = own.or(self.own_clock.map(|clock| clock.at_arrival(arrived_s))).unwrap_or(arrived_s);
        if !time_s.is_finite() {
            return Reading::Unreadable(word!("capture-samples-time-not-finite").to_owned());
        }
        // A repeat or a step back of a second is a slip; a longer one is an instrument that started again.
        let slips = |last: f64, now: f64| now <= last && last - now < 1.0;
        if let Some(last) = self.last_time_s
            && slips(last, time_s)
        {
            let clock_rises = match (own, self.own_clock) {
                (Some(own), Some(clock)) => own > clock.time_s,
                (None, clock) => clock.is_some(),
                _ => false,
            };
            if !clock_rises {
                return Reading::Unreadable(word!("capture-samples-clock-back").to_owned());
            }
            // Only the time that was worked out for a line between them lies in the way.
            time_s = last + LEAST_STEP_S;
        }
        if let Some(own) = own {
            let before = self.own_clock.map(|clock| own - clock.time_s);
            let step_s = before.filter(|step| *step > 0.0 && *step <= LONGEST_STEP_S);
            self.own_clock = Some(OwnClock { time_s: own, arrived_s, step_s });
        }
        self.last_time_s = Some(time_s);
        let mut out = [None; 4];
        for (role, value) in values {
            if let Role::Channel(channel) = role
                && let Some(slot) = out.get_mut(*channel as usize)
            {
                *slot = Some(*value);
            }
        }
        Reading::Sample(Sample::new(time_s, out))
    }
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(n) => n.as_f64().filter(|v| v.is_finite()),
        Value::String(text) => parse_number(text).ok(),
        _ => None,
    }
}

fn is_missing(field: &str) -> bool {
    let lower = field.trim().to_ascii_lowercase();
    matches!(lower.as_str(), "" | "-" | "nan" | "null" | "none" | "na" | "n/a" | "inf" | "-inf")
}

/// Fields of a row: by semicolon or tab if there is one (a comma is then a decimal mark), else by comma, else by blanks.
fn fields(line: &str) -> Vec<&str> {
    for mark in [';', '\t', ','] {
        if line.contains(mark) {
            return line.split(mark).map(str::trim).collect();
        }
    }
    line.split_whitespace().collect()
}

fn short(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}
