//! The opening as one JSON object, for scripts and displays.

use std::io::{self, Write};

use serde_json::{Value, json};

use super::chart::Chart;
use super::{CoffeeRow, Opening, State};

impl State {
    /// The word for it in tables: "to_open", "pull_again", "move", "preparation", "not_judged", "serve".
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::ToOpen => "to_open",
            Self::PullAgain => "pull_again",
            Self::Move => "move",
            Self::Preparation => "preparation",
            Self::NotJudged => "not_judged",
            Self::Wait => "wait",
            Self::Serve => "serve",
        }
    }
}

/// Numbers that are not finite have no JSON; they are left out as null.
fn number(v: f64) -> Value {
    serde_json::Number::from_f64((v * 1e6).round() / 1e6).map_or(Value::Null, Value::Number)
}

fn coffee(row: &CoffeeRow) -> Value {
    json!({
        "bag": row.bag.to_string(),
        "coffee": row.name,
        "station": row.station_name,
        "state": row.state.word(),
        "verdict": row.verdict,
        "how": row.how,
        "sure": row.figure,
        "why": row.why,
        "start": row.start,
        "off_target_pct": number(row.off_pct),
        "next_pull": {
            "grind": number(row.plan.grind),
            "dose_g": number(row.plan.dose_g),
            "yield_g": number(row.plan.yield_g),
            "temperature_c": row.plan.temperature_c.map_or(Value::Null, number),
        },
        "window": row.window,
        "window_from": row.window_why,
        "readiness": row.readiness,
        "today": row.judged.iter().map(|j| json!({
            "pull": j.id.to_string(),
            "pulled_at": j.at.to_string(),
            "time": j.time,
            "verdict": j.words,
            "sure": j.figure,
            "p_real": number(j.p_real),
            "clicks_coarser": j.clicks_coarser,
            "pulled_by": j.who,
        })).collect::<Vec<_>>(),
        "charts": row.charts.iter().map(chart).collect::<Vec<_>>(),
    })
}

fn chart(chart: &Chart) -> Value {
    json!({
        "quantity": chart.what.key(),
        "unit": chart.unit,
        "target": number(chart.target),
        "pulls": chart.points.len(),
        "pulls_between_false_alarms": number(chart.run_length.round()),
        "pulls_between_false_alarms_of_rules": number(chart.rules_run_length.round()),
        "pulls_between_false_alarms_of_all": number(chart.all_run_length.round()),
        "sigma_log": number(chart.sigma),
        "provisional": chart.provisional,
        "signals": chart.signals.iter().filter_map(|(at, words)| {
            let point = chart.points.get(*at)?;
            Some(json!({ "pulled_at": point.at.to_string(), "rule": words }))
        }).collect::<Vec<_>>(),
    })
}

/// Writes the opening as one JSON object on one line; `bar` is the name of its notebook.
///
/// # Errors
/// Only when `to` cannot be written.
pub fn write_json(view: &Opening, bar: &str, to: &mut dyn Write) -> io::Result<()> {
    let all = json!({
        "bar": bar,
        "when": view.when,
        "headline": view.headline,
        "coffees": view.coffees.iter().map(coffee).collect::<Vec<_>>(),
        "without_keeper": view.unkept.iter().map(|u| json!({
            "bag": u.bag.to_string(), "coffee": u.name, "station": u.station, "todo": u.words,
        })).collect::<Vec<_>>(),
        "list": view.list.iter().map(|s| json!({
            "words": s.words, "caution": s.caution, "coffee_g": number(s.coffee_g), "seconds": number(s.seconds),
        })).collect::<Vec<_>>(),
        "causes": {
            "headline": view.causes.headline,
            "pulls": view.causes.pulls,
            "parts": view.causes.parts.iter().map(|c| json!({
                "cause": c.source.key(), "share": number(c.share), "sd_pct": number(c.sd_pct),
                "range_pct": c.range_pct.map_or(Value::Null, |(a, b)| json!([number(a), number(b)])),
            })).collect::<Vec<_>>(),
            "people": view.causes.people,
        },
        "sunk": view.sunk.iter().map(|s| json!({
            "coffee": s.coffee,
            "lost_g": s.today.map_or(Value::Null, |r| number(r.lost_g)),
            "cost": s.today.and_then(|r| r.cost).map_or(Value::Null, number),
            "usual_g": s.today.and_then(|r| r.usual_g).map_or(Value::Null, number),
            "week_kg": s.forecast.map_or(Value::Null, |f| number(f.kg)),
            "week_range_kg": s.forecast.map_or(Value::Null, |f| json!([number(f.range_kg.0), number(f.range_kg.1)])),
        })).collect::<Vec<_>>(),
        "hand_over": {
            "pulled_today": view.hand_over.people,
            "notes": view.hand_over.notes,
            "waiting": view.hand_over.waiting,
        },
    });
    serde_json::to_writer(&mut *to, &all)?;
    writeln!(to)
}
