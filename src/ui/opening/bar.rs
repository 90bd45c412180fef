//! The coffees of the bar: a card each with its verdict, and the chosen one's pull and reasons below.

use eframe::egui::{
    Align2, CornerRadius, CursorIcon, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{keyed, state_icon};
use crate::domain::BagId;
use crate::ui::actions::Action;
use crate::ui::app::App;
use crate::ui::dialogs::Dialog;
use crate::ui::shelf::hairline;
use crate::ui::theme::{Palette, focus_ring, look, palette, scale};
use crate::ui::widgets::{
    Button, Caution, body, caution_line, elided, overline, size_for, small, soft, text_line, wrapped,
};
use crate::workbench::Command;
use crate::workbench::view::care;
use crate::workbench::view::opening::{Chart, CoffeeRow, JudgedPull, Opening, State};

/// Width that a card wants at least.
const CARD: f32 = 296.0;
/// Width down to which stations stand side by side, a column each.
const NARROW: f32 = 272.0;
/// Height of a card, and of one without its small chart.
const TALL: f32 = 214.0;
const SHORT: f32 = 132.0;
/// Points of the small chart.
const POINTS: usize = 20;
/// Sizes that a verdict may have, points.
const VERDICT: [f32; 6] = [28.0, 25.0, 22.0, 20.0, 18.0, 16.0];

impl App {
    pub(super) fn opening_bar_ui(&mut self, ui: &mut Ui, view: &Opening) {
        self.go_on(view);
        let chosen = self.chosen_row(view).cloned();
        let picked = bar_ui(ui, &view.coffees, chosen.as_ref().map(|row| row.bag));
        if let Some(bag) = picked {
            self.choose_coffee(bag);
            self.opening.focus_soon = Some(super::entry::QuickField::Time);
            ui.ctx().request_repaint();
        }
        if let Some(row) = &chosen {
            ui.add_space(scale::GAP_1);
            let top = ui.cursor().min;
            self.opening_entry_ui(ui, view, row);
            if picked.is_some() {
                // Where its pull is entered must be in sight.
                let entry = Rect::from_min_max(top, pos2(ui.max_rect().right(), ui.cursor().top()));
                ui.scroll_to_rect(entry, None);
            }
            self.chosen_ui(ui, row);
        }
        self.unkept_ui(ui, view);
    }

    /// Why, how sure, what is expected, and today's pulls of the chosen coffee.
    fn chosen_ui(&mut self, ui: &mut Ui, row: &CoffeeRow) {
        let p = palette(ui);
        if row.state == State::Move || (row.state == State::ToOpen && !row.start_move.is_empty()) {
            caution_line(ui, Caution::Harm, care::AT_THE_GRINDER.word());
        }
        hairline(ui);
        let mut asked = None;
        let half = (ui.available_width() - scale::GAP_5) / 2.0;
        ui.horizontal_top(|ui| {
            ui.vertical(|ui| {
                ui.set_width(half);
                ui.spacing_mut().item_spacing.y = scale::GAP_1;
                overline(ui, say!("opening-bar-why", name = row.name));
                for why in row.why.iter().take(3) {
                    body(ui, why.clone());
                }
                if row.state != State::ToOpen {
                    soft(ui, say!("opening-bar-opened", start = row.start));
                }
                for words in [&row.mixing, &row.warmth] {
                    if !words.is_empty() {
                        soft(ui, crate::units::capital(words));
                    }
                }
                soft(ui, crate::units::capital(&row.next));
                small(ui, say!("opening-bar-window", window = row.window, window_why = row.window_why));
                ui.horizontal_wrapped(|ui| {
                    if ui.add(Button::new(word!("opening-bar-change-the-window"))).clicked() {
                        asked = Some(None);
                    }
                    if ui.add(keyed(word!("opening-bar-bar-card"), Action::BarCard)).clicked() {
                        asked = Some(Some(Action::BarCard));
                    }
                });
            });
            ui.add_space(scale::GAP_4);
            ui.vertical(|ui| {
                ui.set_width(half);
                ui.spacing_mut().item_spacing.y = 2.0;
                overline(ui, word!("opening-bar-today"));
                if row.judged.is_empty() {
                    soft(ui, word!("opening-bar-no-pull-yet"));
                }
                for pull in row.judged.iter().rev().take(8) {
                    judged_ui(ui, p, pull, half);
                }
            });
        });
        match asked {
            Some(None) => self.open_window_form(row),
            Some(Some(action)) => self.act(&ui.ctx().clone(), action),
            None => {}
        }
    }

    /// Coffees that nothing can be held to yet, each with what to do.
    fn unkept_ui(&mut self, ui: &mut Ui, view: &Opening) {
        if view.unkept.is_empty() {
            return;
        }
        hairline(ui);
        overline(ui, word!("opening-bar-without-a-keeper"));
        let (mut go, mut inherit): (Option<BagId>, Option<usize>) = (None, None);
        for (at, one) in view.unkept.iter().enumerate() {
            ui.horizontal_wrapped(|ui| {
                if ui.add(Button::quiet(&one.name)).on_hover_text(word!("opening-bar-to-its-page")).clicked()
                {
                    go = Some(one.bag);
                }
                if let Some((_, from)) = &one.inherit {
                    let label = say!("opening-bar-hold-it-to-the-keeper-of", from = from);
                    if ui.add(Button::new(&label)).clicked() {
                        inherit = Some(at);
                    }
                } else {
                    small(ui, format!("{}: {}", one.station, one.words));
                }
            });
        }
        if let Some(bag) = go {
            self.page.go_to(Some(bag));
            self.opening.open = false;
        }
        if let Some((one, (keeper, _))) =
            inherit.and_then(|at| view.unkept.get(at)).and_then(|one| Some((one, one.inherit.as_ref()?)))
        {
            let mut keeper = keeper.clone();
            keeper.kept_at = self.now();
            self.edit(Command::Keep(one.bag, Some(keeper)));
        }
    }

    fn open_window_form(&mut self, row: &CoffeeRow) {
        let units = self.units();
        if let Some(bag) = self.bench.notebook().bag(row.bag)
            && let Some(form) = super::WindowForm::of(bag, row, &units)
        {
            self.dialog = Some(Dialog::Window(Box::new(form)));
        }
    }
}

/// A pull of today in one line: when, its time, who, and what was said.
fn judged_ui(ui: &mut Ui, p: &Palette, pull: &JudgedPull, width: f32) {
    let (rect, response) = ui.allocate_exact_size(vec2(width, 27.0), Sense::hover());
    let told = format!("{} · {}", pull.words, pull.figure);
    response.widget_info(|| {
        let name = [&pull.when, &pull.time, &pull.who, &told].map(String::as_str).join(" ");
        WidgetInfo::labeled(Role::Label, true, name)
    });
    let mut x = 0.0;
    let mut cell = |text: &str, size: f32, colour, cell: Option<f32>| {
        let room = cell.unwrap_or(width - x).max(0.0);
        let galley = elided(ui, text, scale::regular(size), colour, room);
        let used = galley.size().x;
        let at = pos2(rect.left() + x, rect.center().y - galley.size().y / 2.0);
        ui.painter().galley(at, galley, colour);
        x += cell.unwrap_or(used) + scale::GAP_2;
    };
    cell(&pull.when, scale::BODY, p.soft, Some(50.0));
    cell(&pull.time, scale::BODY, p.ink, Some(58.0));
    cell(&pull.who, scale::BODY, p.soft, Some(60.0));
    cell(&pull.words, scale::BODY, p.ink, None);
    cell(&pull.figure, scale::SMALL, p.soft, None);
}

fn colour(p: &Palette, state: State) -> eframe::egui::Color32 {
    match state {
        State::Serve => p.good,
        State::Move | State::Preparation | State::NotJudged | State::Wait => p.warn,
        State::ToOpen | State::PullAgain => p.ink,
    }
}

/// The cards: a column for each station where they fit side by side, else one row after the other. Gives the coffee that
/// was picked.
fn bar_ui(ui: &mut Ui, coffees: &[CoffeeRow], chosen: Option<BagId>) -> Option<BagId> {
    let width = ui.available_width();
    let stations: Vec<&[CoffeeRow]> = coffees.chunk_by(|a, b| a.station == b.station).collect();
    let wide = |columns: usize| (width - scale::GAP_3 * (columns.max(1) - 1) as f32) / columns.max(1) as f32;
    let by_station = stations.len() > 1 && wide(stations.len()) >= NARROW;
    let columns = if by_station {
        stations.len()
    } else {
        let columns = ((width + scale::GAP_3) / (CARD + scale::GAP_3)).floor().max(1.0) as usize;
        columns.min(coffees.len().max(1))
    };
    let card = wide(columns).min(if by_station { 620.0 } else { 460.0 });
    let rows = if by_station {
        stations.iter().map(|s| s.len()).max().unwrap_or(1)
    } else {
        coffees.len().div_ceil(columns)
    };
    // Half of the room is for the cards, so that the chosen one's entry stays in sight.
    let compact = rows as f32 * (TALL + scale::GAP_2) > ui.clip_rect().height() * 0.62;
    let show = |ui: &mut Ui, row: &CoffeeRow| {
        card_ui(ui, &Card { row, on: chosen == Some(row.bag), width: card, compact, by_station })
    };
    let mut picked = None;
    if by_station {
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_3;
            for station in &stations {
                ui.vertical(|ui| {
                    ui.set_width(card);
                    ui.spacing_mut().item_spacing.y = scale::GAP_2;
                    let ready = station.iter().filter(|row| row.state == State::Serve).count();
                    let name = station.first().map_or("", |row| row.station_name.as_str());
                    let count = say!("opening-bar-station-ready", ready = ready, all = station.len());
                    let font = scale::semibold(scale::HEADING);
                    let room = card - elided(ui, &count, font.clone(), palette(ui).ink, card).size().x;
                    // Where there is no room for both, the name gives way.
                    ui.horizontal(|ui| {
                        ui.spacing_mut().item_spacing.x = scale::GAP_2;
                        ui.scope(|ui| {
                            ui.set_max_width(room - scale::GAP_2);
                            text_line(ui, name, font.clone(), palette(ui).ink);
                        });
                        text_line(ui, count, font, palette(ui).soft);
                    });
                    for row in *station {
                        if show(ui, row) {
                            picked = Some(row.bag);
                        }
                    }
                });
            }
        });
    } else {
        for row in coffees.chunks(columns) {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = scale::GAP_3;
                for row in row {
                    if show(ui, row) {
                        picked = Some(row.bag);
                    }
                }
            });
        }
    }
    picked
}

/// One coffee's card.
struct Card<'a> {
    row: &'a CoffeeRow,
    on: bool,
    width: f32,
    /// Without the small chart, for bars with many coffees.
    compact: bool,
    /// The station is named above it.
    by_station: bool,
}

/// Draws a card; whether it was picked.
fn card_ui(ui: &mut Ui, card: &Card<'_>) -> bool {
    let Card { row, on, width, compact, by_station } = *card;
    let look = look(ui);
    let p = look.palette;
    let (rect, response) =
        ui.allocate_exact_size(vec2(width, if compact { SHORT } else { TALL }), Sense::click());
    response.widget_info(|| {
        let words: Vec<&str> =
            [row.how.as_str(), row.figure.as_str()].into_iter().filter(|w| !w.is_empty()).collect();
        let name = format!("{}, {}: {}. {}", row.name, row.station_name, row.verdict, words.join(". "));
        WidgetInfo::selected(Role::ListItem, true, on, name)
    });
    if ui.is_rect_visible(rect) {
        let fill = if on {
            p.raised
        } else if response.hovered() {
            p.hover
        } else {
            p.shelf
        };
        let edge = if on { Stroke::new(2.5, p.accent) } else { Stroke::new(1.0, p.hairline) };
        ui.painter().rect(rect, CornerRadius::same(8), fill, edge, StrokeKind::Inside);
        let inner = rect.shrink(12.0);
        let room = inner.width();
        let put = |y: f32, x: f32, text: &str, font, colour| {
            let galley = elided(ui, text, font, colour, room - x);
            ui.painter().galley(pos2(inner.left() + x, inner.top() + y), galley, colour);
        };
        put(0.0, 0.0, &row.name, scale::semibold(scale::BODY), p.ink);
        let last = row.last.as_ref().map_or(word!("opening-bar-no-pull-yet-2").to_owned(), |last| {
            format!("{} {}", last.time, last.when)
        });
        let place = match by_station {
            true => say!("opening-bar-grinder-alone", setting = row.setting),
            false => say!("opening-bar-grinder", station_name = row.station_name, setting = row.setting),
        };
        let place = match (compact, row.state) {
            // Where it is to go stands below, from where to where.
            (true, State::Move) => last.clone(),
            (true, _) => format!("{place} · {last}"),
            (false, _) => place,
        };
        put(22.0, 0.0, &place, scale::regular(scale::SMALL), p.soft);
        let ink = colour(p, row.state);
        let icon = Rect::from_min_size(pos2(inner.left(), inner.top() + 52.0), vec2(26.0, 26.0));
        state_icon(row).paint(ui.painter(), icon, ink);
        // What is to be done is never cut: it grows smaller, and then takes a second line.
        let sizes: &[f32] = if row.verdict.chars().count() > 20 { &VERDICT[2..] } else { &VERDICT };
        let width = room - 34.0;
        let size = size_for(ui, std::iter::once(row.verdict.as_str()), scale::semibold, sizes, width);
        let galley = wrapped(ui, &row.verdict, scale::semibold(size), ink, width, 2);
        let top = if galley.rows.len() > 1 {
            icon.center().y - galley.size().y / 2.0
        } else {
            inner.top() + 47.0 + (28.0 - size) / 2.0
        };
        ui.painter().galley(pos2(inner.left() + 34.0, top), galley, ink);
        let (how, figure) = (scale::regular(scale::BODY), scale::regular(scale::SMALL));
        if compact && row.how.is_empty() {
            put(86.0, 0.0, &row.figure, figure, p.soft);
        } else {
            put(84.0, 0.0, &row.how, how, p.ink);
        }
        if !compact {
            put(107.0, 0.0, &row.figure, scale::regular(scale::SMALL), p.soft);
            let foot = pos2(inner.left(), inner.bottom());
            let font = scale::regular(scale::TICK);
            let at = pos2(inner.right(), foot.y);
            let last = ui.painter().text(at, Align2::RIGHT_BOTTOM, last, font.clone(), p.soft);
            // Beside the last pull the whole window where it finds room, else its range.
            let room = last.left() - inner.left() - scale::GAP_2;
            let wide = |words: &str| elided(ui, words, font.clone(), p.soft, f32::INFINITY).size().x;
            let words = if wide(&row.window) <= room { &row.window } else { &row.serve };
            let galley = elided(ui, words, font.clone(), p.soft, room);
            ui.painter().galley(foot - vec2(0.0, galley.size().y), galley, p.soft);
        }
        if let Some(chart) = row.charts.first().filter(|_| !compact) {
            let area = Rect::from_min_max(
                pos2(inner.left(), inner.top() + 132.0),
                pos2(inner.right(), inner.bottom() - 22.0),
            );
            small_chart(ui, p, chart, area);
        }
        focus_ring(ui, &response, 8.0);
    }
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// The last times within their window.
fn small_chart(ui: &Ui, p: &Palette, chart: &Chart, area: Rect) {
    let points = chart.points.get(chart.points.len().saturating_sub(POINTS)..).unwrap_or(&[]);
    let band = chart.window.unwrap_or((chart.target, chart.target));
    let all = points.iter().map(|q| q.measured).chain([band.0, band.1]).filter(|v| v.is_finite());
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    if low >= high || points.len() < 2 {
        return;
    }
    let y = |v: f64| area.bottom() - 3.0 - (area.height() - 6.0) * ((v - low) / (high - low)) as f32;
    let x = |i: usize| area.left() + area.width() * (i as f32 + 0.5) / points.len() as f32;
    let painter = ui.painter().with_clip_rect(area);
    painter.rect_filled(Rect::from_x_y_ranges(area.x_range(), y(band.1)..=y(band.0)), 0.0, p.band);
    for edge in [band.0, band.1] {
        painter.hline(area.x_range(), y(edge), Stroke::new(1.2, p.band_edge));
    }
    let line = points.iter().enumerate().map(|(i, q)| pos2(x(i), y(q.measured))).collect();
    painter.line(line, Stroke::new(1.5, p.this_pull));
    if let Some((i, last)) = points.iter().enumerate().next_back() {
        painter.circle_filled(pos2(x(i), y(last.measured)), 3.5, p.accent);
    }
}

/// A fact in one line: a soft heading and its words.
pub(super) fn fact(ui: &mut Ui, head: &str, words: &str) {
    if words.is_empty() {
        return;
    }
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(150.0, 24.0), Sense::hover());
        let galley = elided(ui, head, scale::semibold(scale::SMALL), palette(ui).soft, 146.0);
        ui.painter().galley(rect.min + vec2(0.0, 2.0), galley, palette(ui).soft);
        body(ui, words);
    });
}

/// A heading within a part of the page.
pub(super) fn head(ui: &mut Ui, words: &str) {
    let colour = palette(ui).ink;
    ui.add_space(scale::GAP_2);
    text_line(ui, words, scale::semibold(scale::HEADING), colour);
}
