//! The hand-over at a change of shift: in words for a terminal, and as one printed page.

use std::fmt::Write as _;

use super::chart::Chart;
use super::{Books, CoffeeRow, NO_KEEPER, Opening, Place, State, Sunk, Unkept, held};
use crate::exchange::picture::{Drawing, Hold, Rgb, Shape, text_width};
use crate::units::dates::in_full;
use crate::units::{Quantity, figure, listed, rounded};

/// Notes shown at most.
const NOTES: usize = 8;

/// For the next shift.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HandOver {
    /// "Hand-over, Wednesday 25 November, 14:00".
    pub title: String,
    /// Who pulled today: "JO 4, KV 2".
    pub people: String,
    /// What people wrote beside today's pulls, newest first.
    pub notes: Vec<String>,
    /// Sunk today, all coffees: "57 g sunk and purged, 1.34 EUR".
    pub sunk: String,
    /// Coffees that wait for a keeper.
    pub waiting: Vec<String>,
}

#[allow(clippy::too_many_arguments)]
pub(super) fn hand_over(
    books: &Books<'_>,
    coffees: &[CoffeeRow],
    unkept: &[Unkept],
    sinks: &[Sunk],
    place: Place<'_>,
    today: i32,
    shown: &dyn Fn(&str) -> String,
) -> HandOver {
    let mut people: Vec<(String, usize)> = Vec::new();
    let mut notes = Vec::new();
    let on_bar = |id| coffees.iter().any(|c| c.bag == id) || unkept.iter().any(|u| u.bag == id);
    for bag in books.bags.iter().filter(|b| on_bar(b.id)) {
        for pull in bag.live_pulls().rev().skip_while(|p| p.pulled_at > place.now) {
            if held::place(pull.pulled_at, place.zone).0 != today {
                break;
            }
            let who = if pull.pulled_by.is_empty() {
                word!("view-opening-sheet-nobody-named").to_owned()
            } else {
                shown(&pull.pulled_by)
            };
            match people.iter_mut().find(|(known, _)| *known == who) {
                Some((_, n)) => *n += 1,
                None => people.push((who, 1)),
            }
            if !pull.note.trim().is_empty() {
                let at = pull.pulled_at.to_zoned_datetime(place.zone.clone()).strftime("%H:%M").to_string();
                notes.push((pull.pulled_at, format!("{at} {}: {}", bag.name, pull.note.trim())));
            }
        }
    }
    people.sort();
    notes.sort_by_key(|note| std::cmp::Reverse(note.0));
    notes.truncate(NOTES);
    let people: Vec<String> = people.into_iter().map(|(who, n)| format!("{who} {n}")).collect();
    // A sum of nothing is minus nought.
    let lost: f64 = sinks.iter().filter_map(|s| s.today).map(|r| r.lost_g).sum::<f64>() + 0.0;
    let when = in_full(&place.now.to_zoned_datetime(place.zone.clone()));
    HandOver {
        title: say!("view-opening-sheet-hand-over", when = when),
        people: listed(&people),
        notes: notes.into_iter().map(|(_, words)| words).collect(),
        sunk: say!(
            "view-opening-sheet-g-sunk-and-purged-today",
            lost = rounded(Quantity::BeanMass, lost, 0),
            money = money(sinks)
        ),
        waiting: unkept.iter().map(|u| format!("{} ({}): {}", u.name, u.station, u.words)).collect(),
    }
}

/// What was lost today in money, where every loss has a price in one currency: ", 1.34 EUR".
fn money(sinks: &[Sunk]) -> String {
    let lost: Vec<&Sunk> = sinks.iter().filter(|s| s.today.is_some_and(|r| r.lost_g > 0.0)).collect();
    let costs: Option<Vec<f64>> = lost.iter().map(|s| s.today.and_then(|r| r.cost)).collect();
    match (costs, lost.first().map(|s| s.currency.as_str())) {
        (Some(costs), Some(currency)) if lost.iter().all(|s| s.currency == currency) => {
            format!(", {} {currency}", figure(costs.iter().sum(), 2))
        }
        _ => String::new(),
    }
}

/// How far off the target a coffee stands: "on target", "3 % slow".
fn level(row: &CoffeeRow) -> String {
    match row.off_pct {
        p if p.abs() < 1.0 => word!("view-opening-sheet-on-target").to_owned(),
        p if p > 0.0 => say!("view-opening-sheet-slow", p = format!("{p:.0}")),
        p => say!("view-opening-sheet-fast", p = format!("{:.0}", -p)),
    }
}

/// The whole opening as text for a terminal.
#[must_use]
pub fn text(view: &Opening) -> String {
    let mut out = String::new();
    let mut line = |text: &str| {
        let _infallible = writeln!(out, "{text}");
    };
    line(&format!("{}: {}", view.when, view.headline));
    if !view.room.is_empty() {
        line(&view.room);
    }
    if view.is_empty() {
        line(NO_KEEPER.word());
    }
    for row in &view.coffees {
        line("");
        line(&format!("{} · {}", row.name, row.station_name));
        line(&format!("  {}", verdict_line(row)));
        for why in &row.why {
            line(&format!("    {why}"));
        }
        line(&say!(
            "view-opening-sheet-grinder",
            setting = row.setting,
            recipe = row.recipe,
            window = row.window
        ));
        if row.state != State::ToOpen {
            line(&say!("view-opening-sheet-opened", start = row.start));
        }
        if let Some(last) = &row.last {
            let who = if last.who.is_empty() { String::new() } else { format!(", {}", last.who) };
            line(&say!(
                "view-opening-sheet-last-pull",
                when = last.when,
                time = last.time,
                masses = last.masses,
                who = who
            ));
        }
        line(&format!("  {}, {}", level(row), row.next));
        for pull in &row.judged {
            line(&format!("    {}  {:>8}  {} ({})", pull.when, pull.time, pull.words, pull.figure));
        }
        for words in [&row.warmth, &row.mixing] {
            if !words.is_empty() {
                line(&format!("  {words}"));
            }
        }
        for chart in &row.charts {
            line(&format!("  {}", chart.summary()));
        }
        line(&say!("view-opening-sheet-window-from", window_why = row.window_why));
        line(&format!("  {}", row.readiness));
    }
    if !view.unkept.is_empty() {
        line("");
        line(word!("view-opening-sheet-without-a-keeper"));
        for one in &view.unkept {
            line(&format!("  {} · {}: {}", one.name, one.station, one.words));
        }
    }
    if !view.list.is_empty() {
        line("");
        line(&say!("view-opening-sheet-opening-list", list_cost = view.list_cost));
        for (n, step) in view.list.iter().enumerate() {
            line(&format!("  {:>2}. {}", n + 1, step.words));
            if let Some(caution) = step.caution.filter(|c| first_time(view, n, c)) {
                line(&say!("view-opening-sheet-caution", caution = caution));
            }
        }
    }
    line("");
    line(word!("view-opening-sheet-coffee-sunk"));
    for sunk in &view.sunk {
        let week = if sunk.week.is_empty() { String::new() } else { format!("; {}", sunk.week) };
        line(&format!("  {}: {}{week}", sunk.coffee, sunk.words));
    }
    if !view.week.is_empty() {
        line(&format!("  {}", view.week));
    }
    line("");
    line(word!("view-opening-sheet-where-the-spread-comes-from"));
    line(&format!("  {}", view.causes.headline));
    for cause in &view.causes.parts {
        line(&format!("  {}: {}", cause.source.name(), cause.words));
    }
    for person in &view.causes.people {
        line(&format!("  {person}"));
    }
    line("");
    line(&view.hand_over.title);
    let people = if view.hand_over.people.is_empty() {
        word!("view-opening-sheet-nobody-yet")
    } else {
        view.hand_over.people.as_str()
    };
    line(&say!("view-opening-sheet-pulled-today", people = people));
    line(&format!("  {}", view.hand_over.sunk));
    for note in &view.hand_over.notes {
        line(&format!("  {note}"));
    }
    out
}

/// A caution is printed where it first counts for a coffee; read ten times it is read no more.
fn first_time(view: &Opening, at: usize, caution: &str) -> bool {
    !view.list.iter().take(at).any(|step| step.caution == Some(caution))
}

fn verdict_line(row: &CoffeeRow) -> String {
    let mut words = row.verdict.clone();
    for part in [&row.how, &row.figure] {
        if !part.is_empty() {
            words += &format!(" · {part}");
        }
    }
    words
}

const INK: Rgb = [0x21, 0x1D, 0x17];
const SOFT: Rgb = [0x5C, 0x54, 0x46];
const HAIR: Rgb = [0xC9, 0xBF, 0xAC];
const BAND: Rgb = [0xE9, 0xE1, 0xCF];
const LINE: Rgb = [0x00, 0x72, 0xB2];

/// ISO 216 A4, points.
const PAGE: (f64, f64) = (595.28, 841.89);
const MARGIN: f64 = 42.0;

struct Page {
    shapes: Vec<Shape>,
    y: f64,
}

impl Page {
    fn put(&mut self, at: [f64; 2], hold: Hold, size: f64, bold: bool, colour: Rgb, text: &str) {
        let text = text.to_owned();
        self.shapes.push(Shape::Text { at, hold, size, bold, colour, text });
    }

    /// Text over as many lines as it needs, from `x` to `right`; moves down.
    fn block(&mut self, x: f64, right: f64, size: f64, bold: bool, colour: Rgb, text: &str) {
        for line in wrapped(text, right - x, size, bold) {
            self.y += size * 1.32;
            self.put([x, self.y], Hold::Left, size, bold, colour, &line);
        }
    }

    fn rule(&mut self) {
        self.y += 7.0;
        let points = vec![[MARGIN, self.y], [PAGE.0 - MARGIN, self.y]];
        self.shapes.push(Shape::Line { points, colour: HAIR, width: 0.7, dash: None });
    }

    fn left(&self) -> f64 {
        PAGE.1 - MARGIN - 14.0 - self.y
    }
}

/// Words set in lines no wider than `width` points.
fn wrapped(text: &str, width: f64, size: f64, bold: bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let trial = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if !line.is_empty() && text_width(&trial, size, bold) > width {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        } else {
            line = trial;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The hand-over as one printed page, A4. What does not fit is counted at the foot, never cut in silence.
#[must_use]
pub fn hand_over_page(view: &Opening) -> Drawing {
    let mut page = Page { shapes: Vec::new(), y: MARGIN };
    let right = PAGE.0 - MARGIN;
    page.y += 12.0;
    page.put([MARGIN, page.y], Hold::Left, 18.0, true, INK, &view.hand_over.title);
    page.y += 3.0;
    let people = if view.hand_over.people.is_empty() {
        word!("view-opening-sheet-nobody-yet")
    } else {
        view.hand_over.people.as_str()
    };
    let under = say!(
        "view-opening-sheet-pulled-today-2",
        headline = view.headline,
        people = people,
        sunk = view.hand_over.sunk
    );
    page.block(MARGIN, right, 10.0, false, SOFT, &under);
    // The notes and a place to sign stay on the page.
    let notes = 60.0 + 14.0 * view.hand_over.notes.len() as f64;
    let many = view.coffees.len() > 6;
    let mut shown = 0;
    for row in &view.coffees {
        if page.left() < notes + if many { 52.0 } else { 88.0 } {
            break;
        }
        page.rule();
        coffee(&mut page, row, view, many);
        shown += 1;
    }
    if shown < view.coffees.len() {
        page.rule();
        let more = say!("view-opening-sheet-count-coffees", n = view.coffees.len() - shown);
        page.block(
            MARGIN,
            right,
            10.0,
            true,
            INK,
            &say!("view-opening-sheet-more-on-the-screen-or-one", more = more),
        );
    }
    page.rule();
    for waiting in view.hand_over.waiting.iter().take(4) {
        if page.left() > 60.0 {
            page.block(MARGIN, right, 9.5, false, SOFT, waiting);
        }
    }
    for note in &view.hand_over.notes {
        if page.left() > 60.0 {
            page.block(MARGIN, right, 9.5, false, INK, note);
        }
    }
    let foot = PAGE.1 - MARGIN;
    for (x, words) in [
        (MARGIN, word!("view-opening-sheet-handed-over-by")),
        (MARGIN + 260.0, word!("view-opening-sheet-taken-over-by")),
    ] {
        let points = vec![[x, foot - 12.0], [x + 240.0, foot - 12.0]];
        page.shapes.push(Shape::Line { points, colour: SOFT, width: 0.6, dash: None });
        page.put([x, foot], Hold::Left, 8.5, false, SOFT, words);
    }
    Drawing {
        width: PAGE.0,
        height: PAGE.1,
        title: view.hand_over.title.clone(),
        paper: [255, 255, 255],
        shapes: page.shapes,
    }
}

fn coffee(page: &mut Page, row: &CoffeeRow, view: &Opening, many: bool) {
    let right = PAGE.0 - MARGIN;
    let text_right = if many { right } else { right - 190.0 };
    let top = page.y;
    page.block(MARGIN, text_right, 12.0, true, INK, &format!("{} · {}", row.name, row.station_name));
    page.block(MARGIN, text_right, 12.0, true, INK, &verdict_line(row));
    let stands =
        say!("view-opening-sheet-grinder-2", setting = row.setting, recipe = row.recipe, window = row.window);
    page.block(MARGIN, text_right, 10.0, false, INK, &stands);
    let last = row.last.as_ref().map_or(word!("view-opening-sheet-no-pull-yet").to_owned(), |last| {
        let who =
            if last.who.is_empty() { String::new() } else { say!("view-opening-sheet-by", who = last.who) };
        say!(
            "view-opening-sheet-last-pull-2",
            when = last.when,
            time = last.time,
            who = who,
            level = level(row)
        )
    });
    page.block(MARGIN, text_right, 10.0, false, SOFT, &last);
    if many {
        return;
    }
    if let Some(sunk) = view.sunk.iter().find(|s| s.coffee == row.name) {
        page.block(MARGIN, text_right, 10.0, false, SOFT, &sunk.words);
    }
    if let Some(chart) = row.charts.first() {
        small_chart(page, chart, (right - 176.0, top + 8.0), (176.0, 62.0));
    }
    page.y = page.y.max(top + 76.0);
}

/// The last points of a chart, with its limits.
fn small_chart(page: &mut Page, chart: &Chart, (x, y): (f64, f64), (width, height): (f64, f64)) {
    let from = chart.points.len().saturating_sub(30);
    let points = chart.points.get(from..).unwrap_or(&[]);
    let all = || points.iter().flat_map(|p| [p.value, p.limits.0, p.limits.1]);
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    if low >= high || points.len() < 2 {
        return;
    }
    let at = |i: usize| x + width * (i as f64 + 0.5) / points.len() as f64;
    let up = |v: f64| y + height * (1.0 - (v - low) / (high - low));
    let lower = points.iter().enumerate().map(|(i, p)| [at(i), up(p.limits.0)]);
    let upper = points.iter().enumerate().rev().map(|(i, p)| [at(i), up(p.limits.1)]);
    page.shapes.push(Shape::Area { points: lower.chain(upper).collect(), colour: BAND });
    let target = vec![[x, up(chart.target)], [x + width, up(chart.target)]];
    if chart.target > low && chart.target < high {
        page.shapes.push(Shape::Line { points: target, colour: SOFT, width: 0.6, dash: Some([3.0, 2.0]) });
    }
    let line = points.iter().enumerate().map(|(i, p)| [at(i), up(p.value)]).collect();
    page.shapes.push(Shape::Line { points: line, colour: LINE, width: 1.3, dash: None });
    page.put([x + width, y + height + 9.0], Hold::Right, 8.0, false, SOFT, &chart_foot(chart, points.len()));
}

fn chart_foot(chart: &Chart, shown: usize) -> String {
    say!(
        "view-opening-sheet-of-the-last-dashed",
        to_lowercase = chart.name.to_lowercase(),
        counted = say!("view-opening-sheet-count-pulls", n = shown),
        target = format!("{:.0}", chart.target),
        unit = chart.unit
    )
}
