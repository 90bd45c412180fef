//! The control charts as a table for R, Python and spreadsheets.

use std::io::{self, Write};

use super::Opening;
use crate::control::pulls::Watched;

/// Columns, in order.
const COLUMNS: [&str; 22] = [
    "bar",
    "station",
    "coffee",
    "quantity",
    "unit",
    "pulled_at",
    "measured",
    "corrected",
    "centre",
    "lower_limit",
    "upper_limit",
    "z_sd",
    "moving_range_sd",
    "ewma_sd",
    "ewma_limit_sd",
    "cusum_high_sd",
    "cusum_low_sd",
    "phase",
    "rule_fired",
    "verdict",
    "p_real",
    "pulled_by",
];

/// Writes one row for each point of each chart (RFC 4180, UTF-8, decimal points). `corrected` has dose, cup, ageing
/// and the grinder's warmth taken out; columns ending in `_sd` are in standard deviations from the centre; verdicts
/// stand beside the pulls of the day; `bars` are (name, what was found) one by one.
///
/// # Errors
/// Only when `to` cannot be written.
pub fn write_table(bars: &[(&str, &Opening)], to: &mut dyn Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(to);
    table.write_record(COLUMNS)?;
    for (bar, row) in bars.iter().flat_map(|(bar, view)| view.coffees.iter().map(move |row| (*bar, row))) {
        for chart in &row.charts {
            for (i, point) in chart.points.iter().enumerate() {
                let number = |v: f64| format!("{v:.4}");
                let rule: Vec<&str> =
                    chart.signals.iter().filter(|(at, _)| *at == i).map(|(_, w)| w.as_str()).collect();
                let judged = row.judged.iter().find(|j| chart.what == Watched::FlowTime && j.at == point.at);
                table.write_record([
                    bar.to_owned(),
                    row.station_name.clone(),
                    row.name.clone(),
                    chart.what.key().to_owned(),
                    chart.unit.to_owned(),
                    point.at.to_string(),
                    number(point.measured),
                    number(point.value),
                    number(point.centre),
                    number(point.limits.0),
                    number(point.limits.1),
                    number(point.z),
                    point.range.map_or(String::new(), number),
                    number(point.ewma.z),
                    number(point.ewma.upper),
                    number(point.cusum.upper),
                    number(point.cusum.lower),
                    (point.phase + 1).to_string(),
                    rule.join("; "),
                    judged.map_or(String::new(), |j| j.words.clone()),
                    judged.map_or(String::new(), |j| number(j.p_real)),
                    judged.map_or(String::new(), |j| j.who.clone()),
                ])?;
            }
        }
    }
    table.flush()
}
