//! Whole conversations with the headless advisor over gear of all kinds, by people of all kinds: some follow the advice,
//! some pull what they like, some mistype. A short run by default; a thousand conversations take some minutes:
//! `THIRDPULL_FUZZ=1000000 cargo test --release --no-default-features --test core fuzz_advise`.
//! The seed of a failing conversation is in the message.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::Cursor;

use rand_core::{Rng as _, SeedableRng as _};
use rand_pcg::Pcg64;
use serde_json::{Map, Value, json};
use thirdpull::cli::advise::run;

/// Conversations to play: one in a thousand of the inputs that the other fuzz tests take, for each costs as much.
fn conversations() -> u64 {
    let inputs = std::env::var("THIRDPULL_FUZZ").ok().and_then(|n| n.parse::<u64>().ok());
    inputs.unwrap_or(20_000) / 1_000
}

struct Dice(Pcg64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0.next_u64() % n.max(1)
    }

    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    fn unit(&mut self) -> f64 {
        self.below(1 << 53) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.below(from.len() as u64) as usize].clone()
    }

    fn scale(&mut self, min: f64, steps: &[f64], counts: &[u64]) -> Value {
        let (step, count) = (self.pick(steps), self.pick(counts));
        json!({"min": min, "max": min + step * count as f64, "step": step})
    }

    fn on(&mut self, scale: &Value) -> f64 {
        let (min, max) = (scale["min"].as_f64().unwrap(), scale["max"].as_f64().unwrap());
        self.between(min, max)
    }

    fn bag(&mut self) -> Value {
        let roasts = [
            json!("light"),
            json!("medium_light"),
            json!("medium"),
            json!("medium_dark"),
            json!("dark"),
            Value::Null,
        ];
        let processes = [json!("washed"), json!("natural"), json!("honey"), json!("other"), Value::Null];
        let day = if self.one_in(3) { Value::Null } else { json!(self.below(60)) };
        let mass = if self.one_in(2) { Value::Null } else { json!(self.below(120)) };
        json!({"name": "Low Terrace", "roast": self.pick(&roasts), "process": self.pick(&processes),
               "days_since_roast": day, "mass_g": mass})
    }

    fn gear(&mut self) -> Value {
        let min = self.pick(&[0.0, 0.0, 1.0, 10.0, -20.0]);
        let mut grind = self.scale(min, &[1.0, 0.5, 0.1, 5.0, 0.25], &[0, 1, 2, 8, 30, 60, 400]);
        grind["finer"] = self.pick(&[json!("lower"), json!("higher")]);
        grind["um_per_unit"] =
            if self.one_in(2) { Value::Null } else { json!(10f64.powf(self.between(-1.0, 2.7))) };
        let temperature =
            if self.one_in(2) { Value::Null } else { self.scale(88.0, &[1.0, 0.5, 2.0], &[0, 1, 4, 8]) };
        json!({"grind": grind, "dose_g": self.scale(16.0, &[0.5, 0.1, 1.0], &[0, 1, 4, 10]),
               "yield_g": self.scale(26.0, &[1.0, 0.5, 2.0], &[0, 1, 5, 20, 28]), "temperature_c": temperature,
               "pressure_bar": self.pick(&[json!(9), json!(6), Value::Null]),
               "refractometer": self.one_in(2)})
    }

    /// A pull of `recipe`, or of whatever came into somebody's head.
    fn shot(&mut self, gear: &Value, advised: &Value) -> Value {
        let mut shot = Map::new();
        let follows = !self.one_in(3);
        for lever in ["grind", "dose_g", "yield_g", "temperature_c"] {
            let value = match (&gear[lever], &advised[lever]) {
                (Value::Null, _) => Value::Null,
                (_, told) if follows && told.is_number() => told.clone(),
                (scale, _) => json!(self.on(scale)),
            };
            shot.insert(lever.into(), value);
        }
        shot.insert(
            "time_s".into(),
            json!((self.between(5f64.ln(), 90f64.ln()).exp() * 10.0).round() / 10.0),
        );
        if self.one_in(10) {
            shot.insert("choked".into(), json!(true));
            shot.insert("yield_g".into(), json!(self.pick(&[0.0, 1.5, 8.0])));
        }
        let mut maybe = |dice: &mut Self, name: &str, odds: u64, value: &dyn Fn(&mut Self) -> Value| {
            if dice.one_in(odds) {
                let value = value(dice);
                shot.insert(name.into(), value);
            }
        };
        maybe(self, "spurting", 8, &|_| json!(true));
        maybe(self, "first_drip_s", 4, &|d| json!(d.between(1.0, 12.0)));
        maybe(self, "tds_pct", 3, &|d| json!(d.between(3.0, 18.0)));
        maybe(self, "days_since_roast", 3, &|d| json!(d.below(40)));
        maybe(self, "trace", 12, &|d| {
            let (bar, end) = (d.between(0.0, 12.0), d.below(60));
            json!({"t_s": (0..=end).collect::<Vec<_>>(),
                   "pressure_bar": (0..=end).map(|_| bar).collect::<Vec<_>>(),
                   "weight_g": (0..=end).map(|t| t as f64 * 0.9).collect::<Vec<_>>()})
        });
        if !self.one_in(4) {
            let mut taste = Map::new();
            for mark in ["sourness", "bitterness", "strength", "body", "astringency", "sweetness"] {
                if self.one_in(3) {
                    taste.insert(mark.into(), json!(self.below(5) as i64 - 2));
                }
            }
            if !self.one_in(3) {
                taste.insert("liking".into(), json!(1 + self.below(9)));
            }
            shot.insert("taste".into(), Value::Object(taste));
        }
        // What mistyping does: another unit, a comma too far, a word, a field too many.
        if self.one_in(8) {
            let (field, value) = self.pick(&[
                ("yield_g", json!(360)),
                ("time_s", json!(0)),
                ("time_s", json!(27_000)),
                ("tds_pct", json!(96)),
                ("dose_g", json!(-18)),
                ("grind", json!(1e300)),
                ("grind", json!("12")),
                ("taste", json!({"sourness": 3})),
                ("crema", json!(5)),
            ]);
            shot.insert(field.into(), value);
        }
        json!({ "shot": shot })
    }
}

fn ask(lines: &[String]) -> Vec<Value> {
    let mut out = Vec::new();
    assert_eq!(run(Cursor::new(lines.join("\n").into_bytes()), &mut out), 0);
    String::from_utf8(out).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect()
}

/// Whether `value` is one of the scale's own steps, within its ends.
fn on_scale(scale: &Value, value: &Value) -> bool {
    let Some(v) = value.as_f64() else { return scale.is_null() && value.is_null() };
    let (min, max, step) =
        (scale["min"].as_f64().unwrap(), scale["max"].as_f64().unwrap(), scale["step"].as_f64().unwrap());
    let steps = (v - min) / step;
    v >= min - 1e-9 && v <= max + 1e-9 && (steps - steps.round()).abs() < 1e-6
}

/// No part of an answer is null but the temperature of gear that has none.
fn has_nothing_missing(value: &Value, name: &str) -> bool {
    match value {
        Value::Null => name == "temperature_c",
        Value::Array(all) => all.iter().all(|v| has_nothing_missing(v, name)),
        Value::Object(map) => map.iter().all(|(k, v)| has_nothing_missing(v, k)),
        _ => true,
    }
}

/// What every answer owes, whatever was said before.
fn check(gear: &Value, answer: &Value, about: &str) {
    if let Some(error) = answer.get("error") {
        let message = error["message"].as_str().unwrap();
        assert!(
            message.len() > 5 && error["field"].is_string() && error["line"].is_u64(),
            "{about}: {error}"
        );
        return;
    }
    let advice = &answer["advice"];
    assert!(has_nothing_missing(advice, ""), "{about}: {advice}");
    for recipe in [&advice["recipe"], &advice["best"]["recipe"]] {
        for lever in ["grind", "dose_g", "yield_g", "temperature_c"] {
            assert!(on_scale(&gear[lever], &recipe[lever]), "{about}: {lever} of {recipe}");
        }
    }
    let changes = advice["changes"].as_array().unwrap();
    let status = advice["status"].as_str().unwrap();
    assert!(["adjust", "repeat", "settled"].contains(&status), "{about}: {status}");
    assert!(status == "adjust" || changes.is_empty(), "{about}: {status} with {changes:?}");
    for change in changes {
        let what = change["what"].as_str().unwrap();
        let (from, to) = (change["from"].as_f64().unwrap(), change["to"].as_f64().unwrap());
        assert!(change["to"] == advice["recipe"][what] && from != to, "{about}: {change}");
        let rising = to > from;
        // Unless the pulls say that the direction was entered the wrong way round, and the answer says so.
        let turned = advice["reasons"].as_array().unwrap().iter().any(|r| r["id"] == "guard.direction");
        let finer_is_higher = (gear["grind"]["finer"] == "higher") != turned;
        let toward = match (what, rising) {
            ("grind", rising) if rising == finer_is_higher => "finer",
            ("grind", _) => "coarser",
            (_, true) => "up",
            (_, false) => "down",
        };
        assert_eq!(change["toward"], toward, "{about}: {change}");
        let steps = change["steps"].as_f64().unwrap().abs();
        let step = gear[what]["step"].as_f64().unwrap();
        assert!(steps >= 1.0 && (steps * step - (to - from).abs()).abs() < step, "{about}: {change}");
    }
    for part in ["time_s", "tds_pct", "extraction_pct", "liking"] {
        let range = &advice["expect"][part];
        let [low, mid, high] = ["p10", "p50", "p90"].map(|p| range[p].as_f64().unwrap());
        assert!(0.0 <= low && low <= mid && mid <= high && high < 1000.0, "{about}: {part} {range}");
    }
    let chance = advice["chance_near_best"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&chance), "{about}: {chance}");
    let reasons = advice["reasons"].as_array().unwrap();
    assert!(
        !reasons.is_empty() && reasons.iter().all(|r| r["text"].as_str().is_some_and(|t| t.len() > 5)),
        "{about}"
    );
}

#[test]
fn any_conversation_gets_sound_advice_or_a_sentence() {
    let (mut advised, mut refused) = (0, 0);
    for seed in 0..conversations() {
        let mut dice = Dice(Pcg64::seed_from_u64(seed));
        let gear = dice.gear();
        let recipe = |dice: &mut Dice, grind: Value| {
            json!({"grind": grind, "dose_g": dice.on(&gear["dose_g"]), "yield_g": dice.on(&gear["yield_g"]),
                   "temperature_c": if gear["temperature_c"].is_null() { Value::Null }
                                    else { json!(dice.on(&gear["temperature_c"])) }})
        };
        let grind = if dice.one_in(4) { Value::Null } else { json!(dice.on(&gear["grind"])) };
        let start = recipe(&mut dice, grind);
        let window = if dice.one_in(3) {
            let from = dice.between(8.0, 40.0);
            json!([from, from + dice.between(1.0, 20.0)])
        } else {
            Value::Null
        };
        let earlier: Vec<Value> = (0..if dice.one_in(4) { 1 + dice.below(2) } else { 0 })
            .map(|_| {
                let shots: Vec<Value> =
                    (0..1 + dice.below(6)).map(|_| dice.shot(&gear, &Value::Null)["shot"].clone()).collect();
                json!({"bag": dice.bag(), "shots": shots})
            })
            .collect();
        let open = json!({"open": {"bag": dice.bag(), "gear": gear, "aim": {"recipe": start, "time_s": window},
                                   "earlier": earlier}});
        let mut lines = vec![open.to_string()];
        let mut answers = ask(&lines);
        let mut last = answers[0].clone();
        check(&gear, &last, &format!("seed {seed}, open"));
        // The pulls are dealt beforehand but for what the advice says, so all of it is asked again each time: what comes
        // before must be answered as it was.
        for turn in 0..2 + dice.below(5) {
            lines.push(dice.shot(&gear, &last["advice"]["recipe"]).to_string());
            let again = ask(&lines);
            assert_eq!(again.len(), lines.len(), "seed {seed}, pull {turn}");
            assert_eq!(
                again[..answers.len()],
                answers,
                "seed {seed}, pull {turn}: the same lines, other answers"
            );
            last = again.last().unwrap().clone();
            check(&gear, &last, &format!("seed {seed}, pull {turn}, {}", lines.join("\n")));
            answers = again;
        }
        refused += answers.iter().filter(|a| a.get("error").is_some()).count();
        advised += answers.iter().filter(|a| a.get("advice").is_some()).count();
    }
    println!("{advised} advised, {refused} refused");
    assert!(advised > refused && refused > 0, "{advised} advised, {refused} refused: no fair mixture");
}
