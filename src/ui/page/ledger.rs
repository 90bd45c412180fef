//! The ledger: a bag's pulls, the newest first, each with what changed.

use eframe::egui::{
    Align2, CornerRadius, CursorIcon, Id, Painter, Rect, Role, ScrollArea, Sense, Stroke, Ui, Vec2,
    WidgetInfo, pos2, vec2,
};

use crate::domain::PullId;
use crate::ui::actions::{Action, Cap};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{Palette, look, palette, scale};
use crate::ui::widgets::{Button, empty_state, overline, pick, small, sparkline, taste_glyph};
use crate::units::Quantity;
use crate::words::Name;
use crate::workbench::view::ledger::{Cell, LedgerFilter, LedgerOrder, LedgerRow};

const ROW: f32 = 50.0;

const FILTERS: [(LedgerFilter, Name); 4] = [
    (LedgerFilter::All, name!("page-ledger-all-pulls")),
    (LedgerFilter::Traced, name!("page-ledger-with-a-trace")),
    (LedgerFilter::Tasted, name!("page-ledger-tasted")),
    (LedgerFilter::Sound, name!("page-ledger-without-mishaps")),
];

const ORDERS: [(LedgerOrder, Name); 4] = [
    (LedgerOrder::Newest, name!("page-ledger-newest-first")),
    (LedgerOrder::Liking, name!("page-ledger-best-liked-first")),
    (LedgerOrder::Grind, name!("page-ledger-finest-first")),
    (LedgerOrder::Time, name!("page-ledger-fastest-first")),
];

/// Left edges of the columns as shares of the room, and their widths, worked out once a frame.
struct Columns {
    number: f32,
    grind: f32,
    dose: f32,
    drink: f32,
    time: f32,
    strength: Option<f32>,
    taste: f32,
    liking: f32,
    trace: f32,
}

impl Columns {
    fn over(left: f32, width: f32, strength: bool) -> Self {
        // Right edges of right-aligned columns; the taste and the trace take what is left.
        let numbers = if strength { 5.0 } else { 4.0 };
        let each = ((width - 44.0 - 196.0) / numbers).clamp(48.0, 84.0);
        let at = |n: f32| left + 40.0 + each * n;
        Self {
            number: left + 26.0,
            grind: at(1.0),
            dose: at(2.0),
            drink: at(3.0),
            time: at(4.0),
            strength: strength.then(|| at(5.0)),
            taste: at(numbers) + 14.0,
            liking: at(numbers) + 14.0 + 60.0 + 26.0,
            trace: at(numbers) + 14.0 + 60.0 + 38.0,
        }
    }
}

impl App {
    pub(super) fn ledger_ui(&mut self, ui: &mut Ui, height: f32) {
        let top = ui.cursor().top();
        self.ledger_head_ui(ui);
        let rows = self.rows_view();
        let strength = self.gear().is_some_and(|gear| gear.refractometer);
        let width = ui.available_width();
        let columns = Columns::over(ui.cursor().left(), width - 12.0, strength);
        self.column_heads(ui, &columns);
        if rows.is_empty() {
            let any = self.bag().is_some_and(|bag| bag.live_pulls().next().is_some());
            if any {
                small(ui, word!("page-ledger-no-pull-fits-what-is-shown"));
            } else {
                let text = word!("page-ledger-pull-once-the-ledger-keeps-what");
                if empty_state(ui, Icon::Cup, word!("page-ledger-no-pull-yet"), text, None) {
                    self.act(&ui.ctx().clone(), Action::Clock);
                }
            }
            return;
        }
        let used = ui.cursor().top() - top;
        let tally = self.tally_view();
        let foot = if tally.text.is_empty() { 0.0 } else { 26.0 };
        let shown = self.pull().map(|pull| pull.id);
        let mut clicked = None;
        let mut wanted = Vec::new();
        let mut area = ScrollArea::vertical()
            .id_salt("ledger")
            .auto_shrink([false, false])
            .max_height((height - used - foot - 4.0).max(ROW * 2.0));
        if std::mem::take(&mut self.page.scroll_to_row)
            && let Some(at) = rows.iter().position(|row| Some(row.id) == shown)
        {
            area = area.vertical_scroll_offset((at as f32 - 2.0).max(0.0) * ROW);
        }
        ui.scope(|ui| {
            ui.spacing_mut().item_spacing = Vec2::ZERO;
            area.show_rows(ui, ROW, rows.len(), |ui, range| {
                for row in rows.get(range).unwrap_or_default() {
                    let chosen = shown == Some(row.id);
                    if self.row_ui(ui, row, &columns, chosen) {
                        clicked = Some(row.id);
                    }
                    if row.has_trace && !self.sparks.contains_key(&row.id) {
                        wanted.push(row.id);
                    }
                }
            });
        });
        if let (Some(bag), false) = (self.page.bag, wanted.is_empty()) {
            self.wanted_sparks = wanted.into_iter().rev().map(|pull| (bag, pull)).collect();
            ui.ctx().request_repaint();
        }
        if let Some(id) = clicked {
            if self.page.selected == Some(id) {
                self.act(&ui.ctx().clone(), Action::EditPull);
            }
            self.page.selected = Some(id);
        }
        if !tally.text.is_empty() {
            let p = palette(ui);
            let colour = if tally.high { p.warn } else { p.soft };
            crate::ui::widgets::text_line(ui, tally.text.clone(), scale::regular(scale::SMALL), colour)
                .on_hover_text(tally.text.clone());
        }
    }

    fn tally_view(&mut self) -> std::rc::Rc<crate::workbench::view::care::Tally> {
        let key = (self.bench.revision(), self.today());
        let (notebook, today, zone) = (self.bench.notebook(), self.today(), &self.zone);
        self.caches.tally.get(key, || crate::workbench::view::care::tally(notebook, today, zone))
    }

    fn ledger_head_ui(&mut self, ui: &mut Ui) {
        let mut asked = None;
        ui.horizontal(|ui| {
            ui.set_min_height(look(ui).target);
            overline(ui, word!("page-ledger-ledger"));
            let words = |list: &[&str]| list.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
            let shown =
                FILTERS.iter().find(|(filter, _)| *filter == self.page.filter).map_or("", |one| one.1.word());
            let names = words(&FILTERS.map(|one| one.1.word()));
            if let Some(at) =
                pick(ui, Id::unique("ledger-filter"), word!("page-ledger-which-pulls"), shown, &names, 148.0)
            {
                self.page.filter = FILTERS.get(at).map_or(LedgerFilter::All, |one| one.0);
            }
            let shown =
                ORDERS.iter().find(|(order, _)| *order == self.page.order).map_or("", |one| one.1.word());
            let names = words(&ORDERS.map(|one| one.1.word()));
            if let Some(at) = pick(
                ui,
                Id::unique("ledger-order"),
                word!("page-ledger-in-which-order"),
                shown,
                &names,
                158.0,
            ) {
                self.page.order = ORDERS.get(at).map_or(LedgerOrder::Newest, |one| one.0);
            }
            if self.page.selected.is_some()
                && ui.available_width() > 100.0
                && ui.add(Button::quiet(word!("page-ledger-change")).key(Cap::ENTER.text())).clicked()
            {
                asked = Some(Action::EditPull);
            }
        });
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    fn column_heads(&self, ui: &mut Ui, at: &Columns) {
        let p = palette(ui);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 22.0), Sense::hover());
        let units = self.units();
        let unit = |quantity| units.convert(quantity, 0.0).1;
        let painter = ui.painter();
        let font = scale::regular(scale::TICK);
        let right = |x: f32, text: &str| {
            painter.text(pos2(x, rect.center().y), Align2::RIGHT_CENTER, text, font.clone(), p.soft);
        };
        right(at.number, "#");
        right(at.grind, word!("page-ledger-grind"));
        right(at.dose, &say!("page-ledger-dose", unit = unit(Quantity::Dose)));
        right(at.drink, &say!("page-ledger-yield", unit = unit(Quantity::Yield)));
        right(at.time, word!("page-ledger-time-s"));
        if let Some(x) = at.strength {
            right(x, word!("page-ledger-str"));
        }
        painter.text(
            pos2(at.taste, rect.center().y),
            Align2::LEFT_CENTER,
            word!("page-ledger-taste"),
            font.clone(),
            p.soft,
        );
        right(at.liking + 4.0, word!("page-ledger-like"));
        painter.text(
            pos2(at.trace + 6.0, rect.center().y),
            Align2::LEFT_CENTER,
            word!("page-ledger-trace"),
            font.clone(),
            p.soft,
        );
        painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, p.hairline));
    }

    /// The pulls of the page, for what their rows share.
    fn rows_of_page(&self) -> impl Iterator<Item = PullId> + '_ {
        self.bag()
            .into_iter()
            .flat_map(|bag| bag.live_pulls().filter(|pull| pull.has_trace).map(|pull| pull.id))
    }

    fn row_ui(&self, ui: &mut Ui, row: &LedgerRow, at: &Columns, chosen: bool) -> bool {
        let p = palette(ui);
        let (_, rect) = ui.allocate_space(vec2(ui.available_width(), ROW));
        let response = ui.interact(rect, Id::unique(("row", row.id)), Sense::CLICK);
        response.widget_info(|| WidgetInfo::selected(Role::Row, true, chosen, &row.label));
        if ui.is_rect_visible(rect) {
            if chosen {
                ui.painter().rect_filled(rect, CornerRadius::same(4), p.selected);
            } else if response.hovered() {
                ui.painter().rect_filled(rect, CornerRadius::same(4), p.hover);
            }
            let painter = ui.painter();
            painter.hline(rect.x_range(), rect.bottom() - 0.5, Stroke::new(1.0, p.hairline));
            let number = if chosen { scale::semibold(scale::BODY) } else { scale::regular(scale::BODY) };
            let upper = rect.top() + 16.0;
            painter.text(pos2(at.number, upper), Align2::RIGHT_CENTER, row.number.to_string(), number, p.ink);
            if row.keeper {
                let mark =
                    Rect::from_center_size(pos2(at.number - 8.0, rect.bottom() - 14.0), Vec2::splat(16.0));
                Icon::Keeper.paint(painter, mark, p.keeper);
            } else if row.has_note {
                let mark =
                    Rect::from_center_size(pos2(at.number - 8.0, rect.bottom() - 14.0), Vec2::splat(13.0));
                Icon::Pen.paint(painter, mark, p.soft);
            }
            cell(painter, at.grind, rect, &row.grind, p);
            cell(painter, at.dose, rect, &row.dose, p);
            cell(painter, at.drink, rect, &row.drink, p);
            if row.flag.is_empty() {
                cell(painter, at.time, rect, &row.time, p);
            } else {
                let time = Cell { value: row.time.value.clone(), delta: String::new() };
                cell(painter, at.time, rect, &time, p);
                let below = pos2(at.time, rect.bottom() - 13.0);
                painter.text(below, Align2::RIGHT_CENTER, row.flag, scale::semibold(scale::TICK), p.bad);
            }
            if let Some(x) = at.strength {
                cell(painter, x, rect, &row.strength, p);
            }
            if row.marks.iter().any(Option::is_some) {
                let glyph = Rect::from_min_size(pos2(at.taste, rect.top() + 8.0), vec2(58.0, 34.0));
                taste_glyph(painter, glyph, &row.marks, p);
            }
            if let Some(liking) = row.liking {
                painter.text(
                    pos2(at.liking, rect.center().y),
                    Align2::RIGHT_CENTER,
                    liking.to_string(),
                    scale::semibold(scale::BODY),
                    p.ink,
                );
            }
            if let Some(Some(spark)) = self.sparks.get(&row.id).filter(|_| row.has_trace) {
                let room = Rect::from_min_max(
                    pos2(at.trace + 6.0, rect.top() + 10.0),
                    pos2((rect.right() - 8.0).min(at.trace + 96.0), rect.bottom() - 10.0),
                );
                let colour = if self.page.overlay.contains(&row.id) { p.accent } else { p.ink };
                let others = self.rows_of_page().filter_map(|id| self.sparks.get(&id)?.as_ref());
                sparkline(painter, room, &spark.points(others), Stroke::new(1.5, colour));
            }
        }
        let hint = if row.taste.is_empty() {
            word!("page-ledger-click-again-to-change-it").to_owned()
        } else {
            row.taste.clone()
        };
        response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text_at_pointer(hint).clicked()
    }
}

fn cell(painter: &Painter, right: f32, row: Rect, cell: &Cell, p: &Palette) {
    let at = pos2(right, row.top() + 16.0);
    painter.text(at, Align2::RIGHT_CENTER, &cell.value, scale::regular(scale::BODY), p.ink);
    if !cell.delta.is_empty() {
        let below = pos2(right, row.bottom() - 13.0);
        painter.text(below, Align2::RIGHT_CENTER, &cell.delta, scale::regular(scale::TICK), p.soft);
    }
}
