//! The control charts of one coffee: single values with moving range, weighted average, cumulative sums.

use eframe::egui::{Id, Ui, Vec2, vec2};

use super::bar::head;
use crate::ui::app::App;
use crate::ui::theme::scale;
use crate::ui::widgets::{
    ChartPanel, ControlChart, control_chart, overline, pick, plotted, small, soft, tab_row,
};
use crate::units::{figure, in_a_row};
use crate::workbench::view::opening::{Chart, CoffeeRow, Opening};

/// False adjustments a month that can be chosen.
const ALARMS: [(f64, &str); 5] = [(0.5, "½"), (1.0, "1"), (2.0, "2"), (4.0, "4"), (8.0, "8")];
/// Pulls shown at once that can be chosen, beside all of them.
const SHOWN: [usize; 3] = [60, 120, 300];
/// Marked pulls that are listed beside the charts, the newest.
const LISTED: usize = 5;
/// Fewest pulls that zooming leaves.
const FEWEST: f32 = 12.0;

/// The stretch of pulls that the charts show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    /// Pulls shown.
    shown: f32,
    /// Newer pulls that lie to the right of them, out of sight.
    back: f32,
}

impl Default for Span {
    fn default() -> Self {
        // As many as can be told apart.
        Self { shown: 120.0, back: 0.0 }
    }
}

impl Span {
    /// Indices shown of `total` points.
    fn range(self, total: usize) -> std::ops::Range<usize> {
        let end = total.saturating_sub(self.back.round() as usize);
        end.saturating_sub(self.shown.round() as usize)..end
    }

    /// Goes back by `pulls`, or forward where that is negative.
    fn go_back(&mut self, pulls: f32, total: usize) {
        self.back += pulls;
        self.keep_within(total);
    }

    /// Shows `factor` times fewer pulls, the one at `share` (0 left … 1 right) staying where it is.
    fn zoom(&mut self, factor: f32, share: f32, total: usize) {
        if !(factor > 0.0 && share.is_finite()) {
            return;
        }
        let before = self.shown.min(total as f32);
        self.shown = before / factor.clamp(0.1, 10.0);
        self.shown = self.shown.clamp(FEWEST, (total as f32).max(FEWEST));
        self.back += (before - self.shown) * (1.0 - share);
        self.keep_within(total);
    }

    fn keep_within(&mut self, total: usize) {
        let most = total as f32;
        self.back =
            if self.back.is_finite() { self.back.clamp(0.0, (most - self.shown).max(0.0)) } else { 0.0 };
    }
}

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
                tab_row(
                    ui,
                    Id::unique("opening-quantity"),
                    word!("opening-charts-quantity"),
                    &names,
                    &mut self.opening.quantity,
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
        self.opening.span.keep_within(chart.points.len());
        let range = self.opening.span.range(chart.points.len());
        let drawn = panels(chart, range.clone());
        let left = (ui.max_rect().bottom() - ui.cursor().top() - 8.0).max(440.0);
        let side = 300.0;
        let wide = ui.available_width() > 860.0;
        let width = if wide { ui.available_width() - side - scale::GAP_5 } else { ui.available_width() };
        if wide {
            ui.horizontal_top(|ui| {
                let under = self.chart_moved(ui, &drawn, vec2(width, left), chart.points.len());
                ui.add_space(scale::GAP_4);
                ui.vertical(|ui| {
                    ui.set_width(side);
                    self.chart_side_ui(ui, &row, chart, under);
                });
            });
        } else {
            let under = self.chart_moved(ui, &drawn, vec2(width, 520.0), chart.points.len());
            self.chart_side_ui(ui, &row, chart, under);
        }
    }

    /// Draws the charts, and follows a hand that drags them, zooms or scrolls sideways; gives the point under the
    /// pointer, counted from the first of all.
    fn chart_moved(&mut self, ui: &mut Ui, drawn: &ControlChart, size: Vec2, total: usize) -> Option<usize> {
        let (response, under) = control_chart(ui, drawn, size);
        let span = &mut self.opening.span;
        let first = span.range(total).start;
        let inside = plotted(response.rect);
        let a_pull = inside.width() / drawn.count().max(1) as f32;
        let (zoom, sideways) = match response.hover_pos() {
            Some(_) => ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta().x)),
            None => (1.0, 0.0),
        };
        let by = response.drag_delta().x + sideways;
        if by != 0.0 {
            span.go_back(by / a_pull, total);
        }
        // A finger on the chart still moves the page up and down.
        ui.scroll_with_delta(vec2(0.0, response.drag_delta().y));
        if let Some(at) = response.hover_pos().filter(|_| zoom != 1.0) {
            span.zoom(zoom, ((at.x - inside.left()) / inside.width()).clamp(0.0, 1.0), total);
        }
        under.map(|at| at + first)
    }

    /// How many pulls are shown at once, where there is a choice.
    fn span_ui(&mut self, ui: &mut Ui, total: usize) {
        let some: Vec<usize> = SHOWN.into_iter().filter(|n| *n < total).collect();
        if some.is_empty() {
            return;
        }
        overline(ui, word!("opening-charts-pulls-shown"));
        let mut words: Vec<String> = some.iter().map(usize::to_string).collect();
        words.push(say!("opening-charts-all", n = total));
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let counts: Vec<usize> = some.iter().copied().chain([total]).collect();
        let shown = self.opening.span.range(total).len();
        let at = counts.iter().position(|n| *n == shown);
        let mut chosen = at;
        let id = Id::unique("opening-span");
        tab_row(ui, id, word!("opening-charts-pulls-shown"), &words, &mut chosen);
        if chosen != at
            && let Some(n) = chosen.and_then(|at| counts.get(at))
        {
            self.opening.span.shown = *n as f32;
            self.opening.span.keep_within(total);
        }
        ui.add_space(scale::GAP_2);
    }

    fn chart_side_ui(&mut self, ui: &mut Ui, row: &CoffeeRow, chart: &Chart, under: Option<usize>) {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        self.span_ui(ui, chart.points.len());
        overline(ui, word!("opening-charts-false-adjustments-a-month"));
        let current = self.preferences().false_a_month;
        let at = ALARMS.iter().position(|(v, _)| (v - current).abs() < 1e-9);
        let mut chosen = at;
        let words = ALARMS.map(|(_, word)| word);
        tab_row(
            ui,
            Id::unique("opening-alarms"),
            word!("opening-charts-false-adjustments-a-month"),
            &words,
            &mut chosen,
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
                rules = format!("{:.0}", chart.rules_run_length),
                all = format!("{:.0}", chart.all_run_length),
                readiness = row.readiness
            ),
        );
        if chart.provisional {
            small(ui, word!("opening-charts-fewer-than-twenty-points-the-limits"));
        }
        let marked = chart.marked();
        let shown = under.unwrap_or(chart.points.len().saturating_sub(1));
        if let Some(point) = chart.points.get(shown) {
            head(ui, &point.when);
            soft(
                ui,
                say!(
                    "opening-charts-with-dose-cup-warmth-and-ageing",
                    measured = figure(point.measured, 1),
                    unit = chart.unit,
                    value = figure(point.value, 1),
                    z = format!("{}{}", if point.z > 0.0 { "+" } else { "" }, figure(point.z, 1))
                ),
            );
            for (_, words) in marked.iter().filter(|(at, _)| *at == shown) {
                small(ui, say!("opening-charts-marked", words = in_a_row(words)));
            }
        }
        head(ui, word!("opening-charts-marked-pulls"));
        small(ui, word!("opening-charts-a-diamond-marks"));
        if marked.is_empty() {
            soft(ui, word!("opening-charts-none"));
        }
        for (at, words) in marked.iter().rev().take(LISTED) {
            if let Some(point) = chart.points.get(*at) {
                small(ui, format!("{}: {}", point.when, in_a_row(words)));
            }
        }
        if marked.len() > LISTED {
            small(ui, say!("opening-charts-more", n = marked.len() - LISTED));
        }
        head(ui, word!("opening-charts-phases"));
        for (at, words) in chart.phases.iter().rev().take(5) {
            if let Some(point) = chart.points.get(*at) {
                small(ui, format!("{}: {words}", point.when));
            }
        }
    }
}

fn panels(chart: &Chart, range: std::ops::Range<usize>) -> ControlChart {
    let from = range.start;
    let points = chart.points.get(range).unwrap_or(&[]);
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
    let inside = |at: &usize| at.checked_sub(from).filter(|at| *at < points.len());
    let mut phases: Vec<(usize, String)> =
        chart.phases.iter().filter_map(|(at, words)| Some((inside(at)?, words.clone()))).collect();
    if phases.first().is_none_or(|(at, _)| *at > 0)
        && let Some((_, words)) = chart.phases.iter().rev().find(|(at, _)| *at <= from)
    {
        phases.insert(0, (0, words.clone()));
    }
    let mut fired: Vec<usize> = chart.signals.iter().filter_map(|(at, _)| inside(at)).collect();
    fired.sort_unstable();
    fired.dedup();
    ControlChart {
        panels,
        phases,
        fired,
        hollow: points.iter().enumerate().filter(|(_, q)| q.suspect).map(|(i, _)| i).collect(),
        ends: (
            points.first().map_or(String::new(), |q| q.when.clone()),
            points.last().map_or(String::new(), |q| q.when.clone()),
        ),
        summary: say!("opening-charts-control-charts-moving-range-weighted", summary = chart.summary()),
    }
}

#[cfg(test)]
mod tests {
    use super::Span;

    #[test]
    fn a_stretch_of_pulls_is_scrolled_and_zoomed_within_what_there_is() {
        let mut span = Span::default();
        assert_eq!(span.range(600), 480..600, "the newest at first");
        assert_eq!((span.range(40), span.range(0)), (0..40, 0..0));
        span.go_back(100.0, 600);
        assert_eq!(span.range(600), 380..500);
        span.go_back(1e9, 600);
        assert_eq!(span.range(600), 0..120, "not beyond the first");
        span.go_back(-1e9, 600);
        assert_eq!(span.range(600), 480..600, "not beyond the last");
        span.go_back(200.0, 600);
        // The pull a quarter from the left, 280 + 30, stays there.
        span.zoom(2.0, 0.25, 600);
        assert_eq!(span.range(600), 295..355);
        span.zoom(0.5, 0.25, 600);
        assert_eq!(span.range(600), 280..400);
        for _ in 0..20 {
            span.zoom(0.5, 0.5, 600);
        }
        assert_eq!(span.range(600), 0..600, "all at most");
        for _ in 0..20 {
            span.zoom(3.0, 1.0, 600);
        }
        assert_eq!(span.range(600).len(), 12);
        span.zoom(f32::NAN, f32::NAN, 600);
        assert!(span.range(600).end <= 600);
    }
}
