//! The control charts of one coffee: single values with moving range, weighted average, cumulative sums.

use eframe::egui::{Id, Ui, vec2};

use super::bar::{fact, head};
use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{ChartPanel, ControlChart, choice_row, control_chart, overline, pick, small, soft};
use crate::workbench::view::opening::{Chart, CoffeeRow, Opening};

/// False adjustments a month that can be chosen.
const ALARMS: [(f64, &str); 5] = [(0.5, "½"), (1.0, "1"), (2.0, "2"), (4.0, "4"), (8.0, "8")];
/// Points shown at most: as many as can be told apart.
const SHOWN: usize = 120;

impl App {
    pub(super) fn opening_charts_ui(&mut self, ui: &mut Ui, view: &Opening) {
        let Some(row) = self.chosen_row(view).cloned() else {
            soft(ui, word!("opening-charts-charts-stand-here-once-a-coffee"));
            return;
        };
        let mut chosen = None;
        ui.horizontal_wrapped(|ui| {
            let names: Vec<String> =
                view.coffees.iter().map(|c| format!("{} · {}", c.name, c.station_name)).collect();
            let shown = format!("{} · {}", row.name, row.station_name);
            chosen = pick(
                ui,
                Id::unique("opening-chart-coffee"),
                word!("opening-charts-coffee-charted"),
                &shown,
                &names,
                340.0,
            );
            let names: Vec<&str> = row.charts.iter().map(|chart| chart.name).collect();
            if !names.is_empty() {
                choice_row(
                    ui,
                    Id::unique("opening-quantity"),
                    word!("opening-charts-quantity"),
                    &names,
                    &mut self.opening.quantity,
                    false,
                );
            }
        });
        if let Some(row) = chosen.and_then(|at| view.coffees.get(at)) {
            self.choose_coffee(row.bag);
        }
        let at = self.opening.quantity.unwrap_or(0).min(row.charts.len().saturating_sub(1));
        let Some(chart) = row.charts.get(at) else {
            soft(ui, word!("opening-charts-three-pulls-of-the-kept-recipe"));
            return;
        };
        let drawn = panels(chart);
        let left = (ui.max_rect().bottom() - ui.cursor().top() - 8.0).max(440.0);
        let side = 300.0;
        let wide = ui.available_width() > 860.0;
        let width = if wide { ui.available_width() - side - scale::GAP_5 } else { ui.available_width() };
        if wide {
            ui.horizontal_top(|ui| {
                let (_, under) = control_chart(ui, &drawn, vec2(width, left));
                ui.add_space(scale::GAP_4);
                ui.vertical(|ui| {
                    ui.set_width(side);
                    self.chart_side_ui(ui, &row, chart, under);
                });
            });
        } else {
            let (_, under) = control_chart(ui, &drawn, vec2(width, 520.0));
            self.chart_side_ui(ui, &row, chart, under);
        }
    }

    fn chart_side_ui(&mut self, ui: &mut Ui, row: &CoffeeRow, chart: &Chart, under: Option<usize>) {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        overline(ui, word!("opening-charts-false-adjustments-a-month"));
        let current = self.preferences().false_a_month;
        let at = ALARMS.iter().position(|(v, _)| (v - current).abs() < 1e-9);
        let mut chosen = at;
        let words = ALARMS.map(|(_, word)| word);
        choice_row(
            ui,
            Id::unique("opening-alarms"),
            word!("opening-charts-false-adjustments-a-month"),
            &words,
            &mut chosen,
            false,
        );
        if chosen != at
            && let Some((value, _)) = chosen.and_then(|at| ALARMS.get(at))
        {
            self.prefer(|preferences| preferences.false_a_month = *value);
        }
        small(
            ui,
            say!(
                "opening-charts-each-charts-limits-one-false-alarm",
                run_length = format!("{:.0}", chart.run_length),
                readiness = row.readiness
            ),
        );
        if chart.provisional {
            small(ui, word!("opening-charts-fewer-than-twenty-points-the-limits"));
        }
        let from = first(chart);
        let shown = under.map(|at| at + from).unwrap_or(chart.points.len().saturating_sub(1));
        if let Some(point) = chart.points.get(shown) {
            head(ui, &point.when);
            soft(
                ui,
                say!(
                    "opening-charts-with-dose-cup-warmth-and-ageing",
                    measured = format!("{:.1}", point.measured),
                    unit = chart.unit,
                    value = format!("{:.1}", point.value),
                    z = format!("{:+.1}", point.z)
                )
                .replace('-', "−"),
            );
            for (_, words) in chart.signals.iter().filter(|(at, _)| *at == shown) {
                fact(ui, word!("opening-charts-rule"), words);
            }
        }
        head(ui, word!("opening-charts-rules-that-fired"));
        if chart.signals.is_empty() {
            soft(ui, word!("opening-charts-none"));
        }
        for (at, words) in chart.signals.iter().rev().take(5) {
            if let Some(point) = chart.points.get(*at) {
                small(ui, format!("{}: {words}", point.when));
            }
        }
        head(ui, word!("opening-charts-phases"));
        for (at, words) in chart.phases.iter().rev().take(5) {
            if let Some(point) = chart.points.get(*at) {
                small(ui, format!("{}: {words}", point.when));
            }
        }
    }
}

fn first(chart: &Chart) -> usize {
    chart.points.len().saturating_sub(SHOWN)
}

fn panels(chart: &Chart) -> ControlChart {
    let from = first(chart);
    let points = chart.points.get(from..).unwrap_or(&[]);
    let all = |value: fn(&crate::workbench::view::opening::ChartPoint) -> f64| -> Vec<f64> {
        points.iter().map(value).collect()
    };
    let some = |values: Vec<f64>| values.into_iter().map(Some).collect::<Vec<_>>();
    let decimals = usize::from(chart.unit != "%") + 2 * usize::from(chart.unit == "%");
    let limit = chart.cusum_limit;
    let panels = vec![
        ChartPanel {
            title: say!("opening-charts-single-pulls", name = chart.name, unit = chart.unit),
            values: some(all(|q| q.value)),
            centre: all(|q| q.centre),
            lower: all(|q| q.limits.0),
            upper: all(|q| q.limits.1),
            band: chart.window,
            decimals,
            weight: 2.2,
            ..ChartPanel::default()
        },
        ChartPanel {
            title: word!("opening-charts-moving-range-sd").to_owned(),
            values: points.iter().map(|q| q.range).collect(),
            upper: vec![chart.range_limit; points.len()],
            decimals: 1,
            weight: 0.8,
            ..ChartPanel::default()
        },
        ChartPanel {
            title: word!("opening-charts-weighted-average-sd").to_owned(),
            values: some(all(|q| q.ewma.z)),
            centre: vec![0.0; points.len()],
            lower: all(|q| q.ewma.lower),
            upper: all(|q| q.ewma.upper),
            decimals: 1,
            weight: 1.1,
            ..ChartPanel::default()
        },
        ChartPanel {
            title: word!("opening-charts-cumulative-sums-sd-up-and-thinner").to_owned(),
            values: some(all(|q| q.cusum.upper)),
            second: some(all(|q| -q.cusum.lower)),
            upper: vec![limit; points.len()],
            lower: vec![-limit; points.len()],
            decimals: 1,
            weight: 1.1,
            ..ChartPanel::default()
        },
    ];
    let inside = |at: &usize| at.checked_sub(from);
    let mut phases: Vec<(usize, String)> =
        chart.phases.iter().filter_map(|(at, words)| Some((inside(at)?, words.clone()))).collect();
    if phases.first().is_none_or(|(at, _)| *at > 0)
        && let Some((_, words)) = chart.phases.iter().rev().find(|(at, _)| *at <= from)
    {
        phases.insert(0, (0, words.clone()));
    }
    ControlChart {
        panels,
        phases,
        fired: chart.signals.iter().filter_map(|(at, _)| inside(at)).collect(),
        hollow: points.iter().enumerate().filter(|(_, q)| q.suspect).map(|(i, _)| i).collect(),
        ends: (
            points.first().map_or(String::new(), |q| q.when.clone()),
            points.last().map_or(String::new(), |q| q.when.clone()),
        ),
        summary: say!("opening-charts-control-charts-moving-range-weighted", summary = chart.summary()),
    }
}
