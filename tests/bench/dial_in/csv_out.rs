//! Every pull of the main games as a table.

use crate::table::Row;

/// Writes the table.
pub fn write(path: &str, rows: &[Row]) -> Result<(), String> {
    let mut w = csv::Writer::from_path(path).map_err(|e| format!("{path}: {e}"))?;
    let fail = |e: csv::Error| format!("{path}: {e}");
    w.write_record([
        "agent",
        "world",
        "family",
        "drinker",
        "refractometer",
        "pull",
        "grind",
        "dose_g",
        "yield_g",
        "temperature_c",
        "time_s",
        "tds_pct",
        "sourness",
        "bitterness",
        "strength",
        "liking",
        "reach",
        "reach_at",
        "pulled_regret",
        "served_regret",
        "chance",
        "status",
        "fault",
    ])
    .map_err(fail)?;
    let maybe = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.3}"));
    let mark = |v: Option<i32>| v.map_or(String::new(), |v| v.to_string());
    for r in rows {
        for g in &r.main {
            for (n, t) in g.turns.iter().enumerate() {
                let taste = t.shot.taste.unwrap_or_default();
                let status = if t.settled {
                    "settled"
                } else if t.repeat {
                    "repeat"
                } else {
                    "adjust"
                };
                w.write_record([
                    r.name.clone(),
                    g.world.to_string(),
                    g.family.to_owned(),
                    g.drinker.clone(),
                    g.refractometer.to_string(),
                    (n + 1).to_string(),
                    t.recipe.grind.to_string(),
                    t.recipe.dose_g.to_string(),
                    t.recipe.yield_g.to_string(),
                    maybe(t.recipe.temperature_c),
                    t.shot.time_s.to_string(),
                    maybe(t.shot.tds_pct),
                    mark(taste.sourness),
                    mark(taste.bitterness),
                    mark(taste.strength),
                    mark(taste.liking),
                    format!("{:.3}", t.reach),
                    format!(
                        "{} {} {} {}",
                        t.reach_at.grind,
                        t.reach_at.dose_g,
                        t.reach_at.yield_g,
                        maybe(t.reach_at.temperature_c)
                    ),
                    format!("{:.3}", t.pulled_regret),
                    format!("{:.3}", t.served_regret),
                    maybe(t.chance),
                    status.to_owned(),
                    g.fault.clone().unwrap_or_default(),
                ])
                .map_err(fail)?;
            }
        }
    }
    w.flush().map_err(|e| format!("{path}: {e}"))
}
