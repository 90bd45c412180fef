//! Requests: strict reading of the protocol, each fault with its field and a plain message.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

use crate::advisor::{Aim, BagFacts, Case, EarlierBag, Shot};
use crate::domain::{
    Attribute, Channel, Finer, Gear, GearFault, GrindScale, Mark, Process, Recipe, Roast, Scale, StartRecipe,
    Taste, Trace, TraceFault,
};
use crate::rules;
use crate::trace::Gist;
use crate::units::Quantity;

/// What is wrong with a line, and where.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fault {
    pub field: String,
    pub message: String,
}

impl Fault {
    pub fn new(field: &str, message: &str) -> Self {
        Self { field: field.to_owned(), message: message.to_owned() }
    }
}

/// A good request.
pub(super) enum Request {
    Open(Box<Case>),
    Shot(Box<Shot>, Option<Trace>),
    Ask,
}

/// Most samples of a trace.
const MOST_SAMPLES: usize = 200_000;
/// Most earlier bags and most pulls of each.
const MOST_EARLIER: usize = 50;
const MOST_EARLIER_SHOTS: usize = 2000;

/// Reads one line. `open` is the case that is open.
pub(super) fn request(text: &str, open: Option<&Case>) -> Result<Request, Fault> {
    let Once(value) = serde_json::from_str(text.trim().trim_start_matches('\u{feff}'))
        .map_err(|bad| Fault::new("", &not_json(&bad)))?;
    let Value::Object(map) = value else {
        return Err(Fault::new(
            "",
            "a request is one JSON object: {\"open\": …}, {\"shot\": …} or {\"ask\": {}}",
        ));
    };
    let mut entries = map.into_iter();
    let (Some((name, body)), None) = (entries.next(), entries.next()) else {
        return Err(Fault::new("", "a request has exactly one of the fields open, shot and ask"));
    };
    match name.as_str() {
        "open" => Ok(Request::Open(Box::new(case(Part::new("open", body)?)?))),
        "shot" => {
            let Some(case) = open else {
                return Err(Fault::new("shot", "a shot before any bag is open; send {\"open\": …} first"));
            };
            let label = u32::try_from(case.shots.len() + 1).unwrap_or(u32::MAX);
            let (shot, trace) = shot(Part::new("shot", body)?, &case.gear, label)?;
            Ok(Request::Shot(Box::new(shot), trace))
        }
        "ask" => {
            Part::new("ask", body)?.end()?;
            Ok(Request::Ask)
        }
        other => Err(Fault::new(
            &clip(other),
            "unknown request; a request has exactly one of the fields open, shot and ask",
        )),
    }
}

/// JSON in which no object has a field twice: of two pulls in one request one would be lost without a word.
struct Once(Value);

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(OnceVisitor).map(Self)
    }
}

struct OnceVisitor;

impl<'de> Visitor<'de> for OnceVisitor {
    type Value = Value;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut out = Vec::new();
        while let Some(Once(item)) = items.next_element()? {
            out.push(item);
        }
        Ok(Value::Array(out))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut out = Map::new();
        while let Some((name, Once(value))) = fields.next_entry::<String, Once>()? {
            if out.contains_key(&name) {
                return Err(A::Error::custom(format!("the field {} is given twice", clip(&name))));
            }
            out.insert(name, value);
        }
        Ok(Value::Object(out))
    }
}

/// What the reader found, without its own count of lines: a request is one line.
fn not_json(bad: &serde_json::Error) -> String {
    let text = bad.to_string();
    let what = text.rsplit_once(" at line ").map_or(text.as_str(), |(what, _)| what);
    let kind = if bad.is_data() { "unreadable" } else { "not JSON" };
    format!("{kind} at column {}: {what}", bad.column())
}

fn clip(text: &str) -> String {
    text.chars().take(60).collect()
}

/// An object being read: fields are taken out; what is left at the end is unknown.
struct Part {
    path: String,
    map: Map<String, Value>,
    /// Fields that were asked for.
    asked: Vec<String>,
}

impl Part {
    fn new(path: &str, value: Value) -> Result<Self, Fault> {
        match value {
            Value::Object(map) => Ok(Self { path: path.to_owned(), map, asked: Vec::new() }),
            other => Err(Fault::new(path, &format!("must be an object, not {}", kind(&other)))),
        }
    }

    fn path(&self, name: &str) -> String {
        format!("{}.{name}", self.path)
    }

    fn missing(&self, name: &str) -> Fault {
        Fault::new(&self.path(name), "is missing")
    }

    fn take(&mut self, name: &str) -> Option<Value> {
        self.asked.push(name.to_owned());
        self.map.remove(name)
    }

    /// A field that may be absent or null.
    fn maybe(&mut self, name: &str) -> Option<Value> {
        self.take(name).filter(|v| !v.is_null())
    }

    fn must(&mut self, name: &str) -> Result<Value, Fault> {
        self.take(name).ok_or_else(|| self.missing(name))
    }

    fn part(&mut self, name: &str) -> Result<Self, Fault> {
        let value = self.must(name)?;
        Self::new(&self.path(name), value)
    }

    fn number(&mut self, name: &str) -> Result<f64, Fault> {
        let value = self.must(name)?;
        number(&self.path(name), &value)
    }

    fn maybe_number(&mut self, name: &str) -> Result<Option<f64>, Fault> {
        match self.maybe(name) {
            Some(value) => number(&self.path(name), &value).map(Some),
            None => Ok(None),
        }
    }

    fn maybe_in(&mut self, name: &str, low: f64, high: f64, unit: &str) -> Result<Option<f64>, Fault> {
        match self.maybe_number(name)? {
            Some(v) if v < low || v > high => Err(Fault::new(
                &self.path(name),
                &format!("must be between {low} and {high} {unit}; {v} is outside"),
            )),
            other => Ok(other),
        }
    }

    fn quantity(&mut self, name: &str, quantity: Quantity) -> Result<f64, Fault> {
        let value = self.number(name)?;
        quantity.check(value).map_err(|bad| Fault::new(&self.path(name), &bad.to_string()))
    }

    fn maybe_quantity(&mut self, name: &str, quantity: Quantity) -> Result<Option<f64>, Fault> {
        match self.maybe_number(name)? {
            Some(value) => {
                quantity.check(value).map(Some).map_err(|bad| Fault::new(&self.path(name), &bad.to_string()))
            }
            None => Ok(None),
        }
    }

    fn flag(&mut self, name: &str) -> Result<bool, Fault> {
        match self.maybe(name) {
            None => Ok(false),
            Some(Value::Bool(b)) => Ok(b),
            Some(other) => {
                Err(Fault::new(&self.path(name), &format!("must be true or false, not {}", kind(&other))))
            }
        }
    }

    /// A whole number within a range, or nothing.
    fn whole(&mut self, name: &str, low: i64, high: i64) -> Result<Option<i64>, Fault> {
        let Some(value) = self.maybe(name) else { return Ok(None) };
        let v = number(&self.path(name), &value)?;
        if v.fract() != 0.0 || v < low as f64 || v > high as f64 {
            return Err(Fault::new(
                &self.path(name),
                &format!("must be a whole number from {low} to {high}; {v} is not"),
            ));
        }
        Ok(Some(v as i64))
    }

    fn end(self) -> Result<(), Fault> {
        match self.map.keys().next() {
            None => Ok(()),
            Some(name) => {
                let known = match self.asked.as_slice() {
                    [] => "none is known here".to_owned(),
                    asked => format!("known here: {}", asked.join(", ")),
                };
                Err(Fault::new(&self.path(&clip(name)), &format!("is no known field; {known}")))
            }
        }
    }
}

fn kind(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}

fn number(path: &str, value: &Value) -> Result<f64, Fault> {
    match value.as_f64() {
        Some(v) if v.is_finite() => Ok(v),
        Some(_) => Err(Fault::new(path, "must be a finite number")),
        None => Err(Fault::new(path, &format!("must be a number, not {}", kind(value)))),
    }
}

fn list(path: &str, value: Value) -> Result<Vec<Value>, Fault> {
    match value {
        Value::Array(items) => Ok(items),
        other => Err(Fault::new(path, &format!("must be a list, not {}", kind(&other)))),
    }
}

fn choice<T>(part: &mut Part, name: &str, known: &[(&str, T)]) -> Result<Option<T>, Fault>
where
    T: Copy,
{
    let Some(value) = part.maybe(name) else { return Ok(None) };
    let text = value.as_str().unwrap_or_default();
    match known.iter().find(|(word, _)| *word == text) {
        Some((_, found)) => Ok(Some(*found)),
        None => {
            let words: Vec<&str> = known.iter().map(|(w, _)| *w).collect();
            Err(Fault::new(&part.path(name), &format!("must be one of {}", words.join(", "))))
        }
    }
}

/// A bag's facts, and how much it held when full, grams, where told.
fn bag(mut part: Part) -> Result<(BagFacts, Option<f64>), Fault> {
    let name = match part.maybe("name") {
        Some(Value::String(text)) => text.chars().take(400).collect(),
        Some(other) => {
            return Err(Fault::new(&part.path("name"), &format!("must be text, not {}", kind(&other))));
        }
        None => String::new(),
    };
    let roast = choice(
        &mut part,
        "roast",
        &[
            ("light", Roast::Light),
            ("medium_light", Roast::MediumLight),
            ("medium", Roast::Medium),
            ("medium_dark", Roast::MediumDark),
            ("dark", Roast::Dark),
        ],
    )?;
    let process = choice(
        &mut part,
        "process",
        &[
            ("washed", Process::Washed),
            ("natural", Process::Natural),
            ("honey", Process::Honey),
            ("other", Process::Other),
        ],
    )?;
    let days_since_roast = part.maybe_in("days_since_roast", 0.0, 3650.0, "days")?;
    let mass_g = part.maybe_quantity("mass_g", Quantity::BeanMass)?;
    part.end()?;
    Ok((BagFacts { name, roast, process, days_since_roast }, mass_g))
}

fn gear_fault(path: &str, fault: &GearFault) -> Fault {
    let field = match fault {
        GearFault::Step { .. } => format!("{path}.step"),
        GearFault::UpsideDown { .. } => format!("{path}.min"),
        _ => path.to_owned(),
    };
    Fault::new(&field, &fault.to_string())
}

fn scale(part: &mut Part, what: &'static str, quantity: Option<Quantity>) -> Result<Scale, Fault> {
    let mut edge = |name: &str| match quantity {
        Some(q) => part.quantity(name, q),
        None => part.number(name).and_then(|v| {
            if v.abs() <= 1e6 {
                Ok(v)
            } else {
                Err(Fault::new(&part.path(name), "must lie within a million of zero"))
            }
        }),
    };
    let min = edge("min")?;
    let max = edge("max")?;
    let step = part.number("step")?;
    if max > min && step > max - min {
        let span = format!("must be no wider than the range of {min} to {max}; {step} is");
        return Err(Fault::new(&part.path("step"), &span));
    }
    Scale::new(what, min, max, step).map_err(|bad| gear_fault(&part.path, &bad))
}

fn whole_scale(
    parent: &mut Part,
    name: &str,
    what: &'static str,
    quantity: Quantity,
) -> Result<Scale, Fault> {
    let mut part = parent.part(name)?;
    let out = scale(&mut part, what, Some(quantity))?;
    part.end()?;
    Ok(out)
}

fn gear(mut part: Part) -> Result<Gear, Fault> {
    let mut grind = part.part("grind")?;
    let grind_scale = scale(&mut grind, "grind", None)?;
    let finer = choice(&mut grind, "finer", &[("lower", Finer::Lower), ("higher", Finer::Higher)])?
        .ok_or_else(|| grind.missing("finer"))?;
    let um_per_unit = grind.maybe_in("um_per_unit", 1e-6, 1e6, "µm")?;
    grind.end()?;
    let dose_g = whole_scale(&mut part, "dose_g", "dose", Quantity::Dose)?;
    let yield_g = whole_scale(&mut part, "yield_g", "yield", Quantity::Yield)?;
    let temperature_c = match part.maybe("temperature_c") {
        Some(value) => {
            let mut inner = Part::new(&part.path("temperature_c"), value)?;
            let out = scale(&mut inner, "temperature", Some(Quantity::Temperature))?;
            inner.end()?;
            Some(out)
        }
        None => None,
    };
    let pressure_bar = part.maybe_quantity("pressure_bar", Quantity::Pressure)?;
    if !part.map.contains_key("refractometer") {
        return Err(part.missing("refractometer"));
    }
    let refractometer = part.flag("refractometer")?;
    part.end()?;
    Ok(Gear {
        grind: GrindScale { scale: grind_scale, finer, um_per_unit, retained_g: 0.0, stepless: false },
        dose_g,
        yield_g,
        temperature_c,
        pressure_bar,
        refractometer,
    })
}

fn aim(mut part: Part, gear: &Gear) -> Result<Aim, Fault> {
    let mut recipe = part.part("recipe")?;
    let grind = recipe.maybe_number("grind")?;
    if let Some(g) = grind {
        on_scale(&recipe.path("grind"), &gear.grind.scale, g)?;
    }
    let start = StartRecipe {
        grind,
        dose_g: recipe.quantity("dose_g", Quantity::Dose)?,
        yield_g: recipe.quantity("yield_g", Quantity::Yield)?,
        temperature_c: recipe.maybe_quantity("temperature_c", Quantity::Temperature)?,
    };
    if start.yield_g <= 0.0 {
        return Err(Fault::new(&recipe.path("yield_g"), "must be above 0 g"));
    }
    recipe.end()?;
    let time_window_s = match part.maybe("time_s") {
        None => None,
        Some(value) => {
            let path = part.path("time_s");
            let items = list(&path, value)?;
            let [from, to] = items.as_slice() else {
                return Err(Fault::new(&path, "must be two numbers, [from, to]"));
            };
            let check = |v: &Value| {
                number(&path, v)
                    .and_then(|v| Quantity::Time.check(v).map_err(|bad| Fault::new(&path, &bad.to_string())))
            };
            let (from, to) = (check(from)?, check(to)?);
            if from > to {
                return Err(Fault::new(&path, "must rise: [from, to], the shorter time first"));
            }
            Some((from, to))
        }
    };
    part.end()?;
    Ok(Aim { start, time_window_s })
}

/// A grind setting may lie somewhat off the scale (a re-zeroed grinder), never absurdly far.
fn on_scale(path: &str, scale: &Scale, value: f64) -> Result<(), Fault> {
    let room = (scale.max() - scale.min()) * 0.5 + 2.0 * scale.step();
    if value < scale.min() - room || value > scale.max() + room {
        return Err(Fault::new(
            path,
            &format!("{value} is far off this grinder's scale of {} to {}", scale.min(), scale.max()),
        ));
    }
    Ok(())
}

fn case(mut part: Part) -> Result<Case, Fault> {
    let (facts, coffee_left_g) = bag(part.part("bag")?)?;
    let gear = gear(part.part("gear")?)?;
    let aim = aim(part.part("aim")?, &gear)?;
    let mut earlier = Vec::new();
    if let Some(value) = part.maybe("earlier") {
        let path = part.path("earlier");
        let items = list(&path, value)?;
        if items.len() > MOST_EARLIER {
            return Err(Fault::new(&path, &format!("at most {MOST_EARLIER} earlier bags")));
        }
        for (index, item) in items.into_iter().enumerate() {
            let mut one = Part::new(&format!("{path}[{index}]"), item)?;
            let (facts, _) = bag(one.part("bag")?)?;
            let shots_path = one.path("shots");
            let items = list(&shots_path, one.must("shots")?)?;
            if items.len() > MOST_EARLIER_SHOTS {
                return Err(Fault::new(&shots_path, &format!("at most {MOST_EARLIER_SHOTS} shots")));
            }
            let mut shots = Vec::with_capacity(items.len());
            for (at, item) in items.into_iter().enumerate() {
                let label = u32::try_from(at + 1).unwrap_or(u32::MAX);
                shots.push(shot(Part::new(&format!("{shots_path}[{at}]"), item)?, &gear, label)?.0);
            }
            one.end()?;
            earlier.push(EarlierBag { bag: facts, shots });
        }
    }
    part.end()?;
    Ok(Case {
        bag: facts,
        gear,
        aim,
        earlier,
        shots: Vec::new(),
        age_today: None,
        coffee_left_g,
        packs: rules::own_packs(),
    })
}

fn shot(mut part: Part, gear: &Gear, label: u32) -> Result<(Shot, Option<Trace>), Fault> {
    let grind = part.number("grind")?;
    on_scale(&part.path("grind"), &gear.grind.scale, grind)?;
    let choked = part.flag("choked")?;
    if gear.temperature_c.is_some() && !part.map.contains_key("temperature_c") {
        return Err(Fault::new(&part.path("temperature_c"), "is missing; null where it is not known"));
    }
    let recipe = Recipe {
        grind,
        dose_g: part.quantity("dose_g", Quantity::Dose)?,
        yield_g: part.quantity("yield_g", Quantity::Yield)?,
        temperature_c: part.maybe_quantity("temperature_c", Quantity::Temperature)?,
    };
    let time_s = if part.map.contains_key("time_s") || choked {
        part.maybe_quantity("time_s", Quantity::Time)?
    } else {
        return Err(Fault::new(&part.path("time_s"), "is missing; null where it was not taken"));
    };
    if time_s.is_some_and(|t| t <= 0.0) && !choked {
        return Err(Fault::new(&part.path("time_s"), "must be above 0 s; null where it was not taken"));
    }
    let first_drip_s = part.maybe_quantity("first_drip_s", Quantity::Time)?;
    if let (Some(drip), Some(time)) = (first_drip_s, time_s)
        && drip > time
        && !choked
    {
        return Err(Fault::new(
            &part.path("first_drip_s"),
            &format!("the first drip ({drip} s) cannot fall after the cup is taken away ({time} s)"),
        ));
    }
    let tds_pct = part.maybe_quantity("tds_pct", Quantity::Strength)?;
    let days_since_roast = part.maybe_in("days_since_roast", 0.0, 3650.0, "days")?;
    let spurting = part.flag("spurting")?;
    let taste = match part.maybe("taste") {
        Some(value) => taste(Part::new(&part.path("taste"), value)?)?,
        None => Taste::default(),
    };
    let trace = match part.maybe("trace") {
        Some(value) => Some(trace(Part::new(&part.path("trace"), value)?)?),
        None => None,
    };
    if recipe.yield_g <= 0.0 && !choked {
        return Err(Fault::new(&part.path("yield_g"), "must be above 0 g unless the pull choked"));
    }
    part.end()?;
    let gist = trace.as_ref().map(|trace| Gist::read(trace, &recipe));
    let shot = Shot {
        label,
        plan: None,
        recipe,
        time_s,
        first_drip_s,
        tds_pct,
        taste,
        choked,
        spurting,
        days_since_roast,
        gist,
    };
    Ok((shot, trace))
}

fn taste(mut part: Part) -> Result<Taste, Fault> {
    let mut out = Taste::default();
    let names = ["sourness", "bitterness", "strength", "body", "astringency", "sweetness"];
    for (attribute, name) in Attribute::ALL.into_iter().zip(names) {
        let mark = part.whole(name, -2, 2)?;
        out.set_mark(attribute, mark.and_then(Mark::new));
    }
    let liking = part.whole("liking", 1, 9)?;
    out.set_liking(liking);
    part.end()?;
    Ok(out)
}

fn samples(path: &str, value: Value, quantity: Quantity) -> Result<Vec<f64>, Fault> {
    let items = list(path, value)?;
    if items.len() > MOST_SAMPLES {
        return Err(Fault::new(path, &format!("at most {MOST_SAMPLES} samples")));
    }
    items
        .iter()
        .enumerate()
        .map(|(at, item)| {
            if item.is_null() {
                return Ok(f64::NAN);
            }
            let place = format!("{path}[{at}]");
            let v = number(&place, item)?;
            quantity.check(v).map_err(|bad| Fault::new(&place, &bad.to_string()))
        })
        .collect()
}

fn trace(mut part: Part) -> Result<Trace, Fault> {
    let path = part.path("t_s");
    let items = list(&path, part.must("t_s")?)?;
    if items.len() > MOST_SAMPLES {
        return Err(Fault::new(&path, &format!("at most {MOST_SAMPLES} samples")));
    }
    let mut time = Vec::with_capacity(items.len());
    for (at, item) in items.iter().enumerate() {
        let v = number(&format!("{path}[{at}]"), item)?;
        if !(-60.0..=3600.0).contains(&v) {
            return Err(Fault::new(&format!("{path}[{at}]"), "must be between -60 and 3600 s"));
        }
        time.push(v);
    }
    let mut channels = Vec::new();
    for (name, channel) in [
        ("pressure_bar", Channel::Pressure),
        ("flow_g_s", Channel::Flow),
        ("weight_g", Channel::CupMass),
        ("temperature_c", Channel::Temperature),
    ] {
        if let Some(value) = part.maybe(name) {
            // A cup on a scale may read a little below zero.
            let quantity = if channel == Channel::CupMass { Quantity::Flow } else { channel.quantity() };
            let read = if channel == Channel::CupMass {
                mass(&part.path(name), value)?
            } else {
                samples(&part.path(name), value, quantity)?
            };
            channels.push((channel, read));
        }
    }
    let path = part.path.clone();
    part.end()?;
    Trace::new(time, channels).map_err(|bad| {
        let field = match &bad {
            TraceFault::Time { .. } | TraceFault::Far { .. } => format!("{path}.t_s"),
            _ => path.clone(),
        };
        Fault::new(&field, &bad.to_string())
    })
}

/// Cup mass in grams; a scale may read below zero or carry the cup.
fn mass(path: &str, value: Value) -> Result<Vec<f64>, Fault> {
    let items = list(path, value)?;
    if items.len() > MOST_SAMPLES {
        return Err(Fault::new(path, &format!("at most {MOST_SAMPLES} samples")));
    }
    items
        .iter()
        .enumerate()
        .map(|(at, item)| {
            if item.is_null() {
                return Ok(f64::NAN);
            }
            let place = format!("{path}[{at}]");
            let v = number(&place, item)?;
            if (-500.0..=2000.0).contains(&v) {
                Ok(v)
            } else {
                Err(Fault::new(&place, "must be between -500 and 2000 g"))
            }
        })
        .collect()
}
