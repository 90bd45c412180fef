//! Answers as JSON.

use serde_json::{Value, json};

use super::read::Fault;
use crate::advisor::{Advice, Change, Quantiles, Source, Status, Toward};
use crate::domain::{Lever, Recipe};

/// The error object.
pub(super) fn error(line: u64, fault: &Fault) -> Value {
    json!({"error": {"line": line, "field": fault.field, "message": fault.message}})
}

/// A number with at most three decimals.
fn rounded(v: f64) -> f64 {
    let r = (v * 1000.0).round() / 1000.0;
    if r.is_finite() { r } else { 0.0 }
}

fn range(q: &Quantiles) -> Value {
    json!({"p10": rounded(q.p10), "p50": rounded(q.p50), "p90": rounded(q.p90)})
}

fn recipe(r: &Recipe) -> Value {
    json!({"grind": r.grind, "dose_g": r.dose_g, "yield_g": r.yield_g, "temperature_c": r.temperature_c})
}

fn change(c: &Change) -> Value {
    let what = match c.lever {
        Lever::Grind => "grind",
        Lever::Dose => "dose_g",
        Lever::Yield => "yield_g",
        Lever::Temperature => "temperature_c",
    };
    let toward = match c.toward {
        Toward::Finer => "finer",
        Toward::Coarser => "coarser",
        Toward::Up => "up",
        Toward::Down => "down",
    };
    json!({"what": what, "from": c.from, "to": c.to, "steps": c.steps, "toward": toward})
}

/// The advice object.
pub(super) fn advice(a: &Advice) -> Value {
    let status = match a.status {
        Status::Adjust => "adjust",
        Status::Repeat => "repeat",
        Status::Settled => "settled",
    };
    let reasons: Vec<Value> = a
        .reasons
        .iter()
        .map(|r| {
            let from = match r.source {
                Source::Rule => "rule",
                Source::Model => "model",
                Source::Guard => "guard",
            };
            json!({"from": from, "id": r.id, "text": r.text})
        })
        .collect();
    json!({"advice": {
        "status": status,
        "recipe": recipe(&a.recipe),
        "changes": a.changes.iter().map(change).collect::<Vec<_>>(),
        "expect": {
            "time_s": range(&a.expect.time_s),
            "tds_pct": range(&a.expect.tds_pct),
            "extraction_pct": range(&a.expect.extraction_pct),
            "liking": range(&a.expect.liking),
        },
        "best": {"recipe": recipe(&a.best.recipe), "liking": range(&a.best.liking)},
        "chance_near_best": rounded(a.chance_near_best),
        "reasons": reasons,
    }})
}
