//! The opening: the bar this morning on a page of its own. What it shows comes from `workbench::view::opening`, worked
//! out on a worker thread; the last answer stays on screen until the next one is ready.

mod bar;
mod bars;
mod charts;
mod day;
mod entry;
mod hand_over;
mod list;
mod window;

use std::collections::BTreeMap;
use std::rc::Rc;

use eframe::egui::{self, Context, Id, Layout, Ui};
use jiff::civil::Date;

use super::actions::{Action, Cap, key};
use super::app::App;
use super::theme::icons::Icon;
use super::theme::{look, palette, scale};
use super::widgets::{Button, empty_state, fault_line, icon_button, tab_row, text_line, title};
use crate::domain::{BagId, StationId};
use crate::words::Name;
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::PullDraft;
use crate::workbench::view::opening::{Causes, CoffeeRow, Copies, NO_KEEPER, Opening, Spread, State, Wish};
use crate::workbench::{Calibrating, Desk, calibrator, separator};

pub(super) use entry::Quick;
pub use hand_over::HandOverForm;
pub use window::WindowForm;

/// Thresholds worked out in one go, so that a newer question never waits long.
const AT_ONCE: u32 = 2;

/// What the answer on screen was worked out for.
#[derive(Debug, Clone, PartialEq)]
struct Asked {
    revision: u64,
    day: Date,
    wish: Wish,
}

/// The parts of the page.
const TABS: [Name; 6] = [
    name!("opening-coffees"),
    name!("opening-list"),
    name!("opening-charts"),
    name!("opening-day"),
    name!("opening-hand-over"),
    name!("opening-other-bars"),
];

/// Which of them is the list.
const LIST: usize = 1;

/// The page's own state.
pub(super) struct OpeningPage {
    /// It is shown in place of a bag's page.
    pub open: bool,
    /// Counts how often it was opened, so that each time it begins at its top.
    visit: u64,
    ctx: Context,
    tab: Option<usize>,
    chosen: Option<BagId>,
    station: Option<StationId>,
    copies: Copies,
    desk: Option<Desk<Calibrating, Opening>>,
    asked: Option<Asked>,
    view: Option<(Asked, Rc<Opening>)>,
    fault: Option<String>,
    drafts: BTreeMap<BagId, entry::Quick>,
    clock: Option<(BagId, ShotClock)>,
    /// The field that is to get the focus in the next frame.
    focus: Option<entry::QuickField>,
    /// The field that is to get it in the frame after that: a click still takes it from whatever was not clicked.
    focus_soon: Option<entry::QuickField>,
    /// A pull was entered: whose, and the notebook's revision since.
    go_on: Option<(BagId, u64)>,
    room: (String, String),
    quantity: Option<usize>,
    span: charts::Span,
    bars: bars::OtherBars,
    hand_over: HandOverForm,
    effort: u32,
    causes_desk: Option<Desk<Spread, (Spread, Causes)>>,
    causes_asked: Option<Spread>,
    causes: Option<(Spread, Causes)>,
}

impl OpeningPage {
    /// Closed, nothing asked, no thread started.
    pub(super) fn new(ctx: &Context) -> Self {
        Self {
            open: false,
            visit: 0,
            ctx: ctx.clone(),
            tab: Some(0),
            chosen: None,
            station: None,
            copies: Copies::default(),
            desk: None,
            asked: None,
            view: None,
            fault: None,
            drafts: BTreeMap::new(),
            clock: None,
            focus: None,
            focus_soon: None,
            go_on: None,
            room: (String::new(), String::new()),
            quantity: Some(0),
            span: charts::Span::default(),
            bars: bars::OtherBars::default(),
            hand_over: HandOverForm::default(),
            effort: Wish::default().effort,
            causes_desk: None,
            causes_asked: None,
            causes: None,
        }
    }

    /// Takes in what the workers have finished.
    pub(super) fn poll(&mut self) {
        if let Some(desk) = &mut self.desk
            && desk.poll()
            && let (Some(answer), Some(asked)) = (desk.take(), self.asked.clone())
        {
            match answer {
                Ok(view) => {
                    if view.unfinished > 0 {
                        // What is on screen stands; the rest is worked out a few at a time.
                        self.asked = None;
                    }
                    self.fault = None;
                    self.view = Some((asked, Rc::new(view)));
                }
                Err(sentence) => self.fault = Some(sentence),
            }
        }
        if let Some(desk) = &mut self.causes_desk
            && desk.poll()
            && let Some(Ok(done)) = desk.take()
        {
            self.causes = Some(done);
        }
        self.bars.poll();
    }

    /// Whether a worker is at work.
    pub(super) fn is_busy(&self) -> bool {
        let waits = self.open && self.asked.is_none();
        waits
            || self.desk.as_ref().is_some_and(Desk::is_busy)
            || self.causes_desk.as_ref().is_some_and(Desk::is_busy)
            || self.bars.is_busy()
    }

    /// Whether closing would lose something typed.
    pub(super) fn would_lose(&self) -> bool {
        let runs = self.clock.as_ref().is_some_and(|(_, clock)| clock.is_running());
        runs || self.drafts.values().any(entry::Quick::is_worth_keeping)
    }

    /// Forgets what was said, to be said in another language.
    pub(super) fn say_again(&mut self) {
        (self.asked, self.view) = (None, None);
        (self.causes_asked, self.causes) = (None, None);
        self.bars.say_again();
    }

    /// Another notebook was opened.
    pub(super) fn forget(&mut self) {
        *self = Self::new(&self.ctx.clone());
    }

    fn view(&self) -> Option<Rc<Opening>> {
        self.view.as_ref().map(|(_, view)| Rc::clone(view))
    }
}

impl App {
    /// Simulates so many pulls for each trial of the opening's thresholds; for tests.
    pub fn set_opening_effort(&mut self, effort: u32) {
        self.opening.effort = effort;
    }

    /// Asks for the opening where what is on screen no longer stands.
    pub(super) fn ask_opening(&mut self) {
        if !self.opening.open {
            return;
        }
        let preferences = self.preferences();
        let wish = Wish {
            false_a_month: preferences.false_a_month,
            hide_names: preferences.hide_names,
            station: self.opening.station,
            effort: self.opening.effort,
            room: self.typed_room(),
            causes: false,
            ..Wish::default()
        };
        let asked = Asked { revision: self.bench.revision(), day: self.today(), wish };
        if self.opening.asked.as_ref() == Some(&asked) {
            return;
        }
        // The first answer stands in for what takes long; then it is worked out a few coffees at a time.
        let known = self.opening.view.as_ref().is_some_and(|(of, _)| *of == asked);
        let wish = Wish { fresh: if known { AT_ONCE } else { 0 }, ..asked.wish.clone() };
        let (now, zone, units) = (self.now(), self.zone.clone(), self.units());
        let snapshot = self.opening.copies.snapshot(self.bench.notebook(), now);
        let page = &mut self.opening;
        page.asked = Some(asked);
        let ctx = page.ctx.clone();
        let desk = page.desk.get_or_insert_with(|| {
            Desk::start("opening", calibrator(), Box::new(move || ctx.request_repaint()))
        });
        desk.ask(Calibrating { snapshot, now, zone, units, wish });
    }

    /// Where the spread comes from, asked for only while somebody looks; `None` while it is being worked out.
    fn opening_causes(&mut self, view: &Opening) -> Option<&Causes> {
        let page = &mut self.opening;
        let known = page.causes.as_ref().is_some_and(|(of, _)| *of == view.spread);
        if !known && page.causes_asked.as_ref() != Some(&view.spread) {
            page.causes_asked = Some(view.spread.clone());
            let ctx = page.ctx.clone();
            let desk = page.causes_desk.get_or_insert_with(|| {
                Desk::start("causes", separator(), Box::new(move || ctx.request_repaint()))
            });
            desk.ask(view.spread.clone());
        }
        page.causes.as_ref().filter(|_| known).map(|(_, causes)| causes)
    }

    /// What an action means while the opening is shown; whether it was one of the page's own.
    pub(super) fn act_on_opening(&mut self, ctx: &Context, action: Action) -> bool {
        let now_s = ctx.input(|input| input.time);
        match action {
            Action::Clock | Action::CupAway => self.press_opening_clock(now_s),
            Action::EnterByHand => self.enter_on_opening(),
            // With the focus nowhere Enter leads to what is to be typed.
            Action::EditPull if self.opening.tab == Some(0) => self.enter_on_opening(),
            Action::RowUp => self.move_coffee(-1),
            Action::RowDown => self.move_coffee(1),
            Action::Cancel if self.dialog.is_none() => self.cancel_opening(),
            // These are about a bag's page, which is not in sight.
            Action::AnotherIdea
            | Action::Keep
            | Action::Why
            | Action::Reveal
            | Action::EditPull
            | Action::RemovePull
            | Action::Overlay
            | Action::OverlayAll
            | Action::Align
            | Action::Expected => self.say(word!("opening-that-belongs-to-a-bags-page")),
            _ => return false,
        }
        true
    }

    /// Shows the opening, or puts it away.
    pub(super) fn toggle_opening(&mut self) {
        self.opening.open = !self.opening.open;
        self.practice.open = false;
        self.opening.focus = self.opening.open.then_some(entry::QuickField::Time);
        if self.opening.open {
            self.opening.visit += 1;
            self.opening.asked = None;
            self.ask_opening();
        }
    }

    /// The coffee chosen on the page.
    fn chosen_row<'a>(&self, view: &'a Opening) -> Option<&'a CoffeeRow> {
        let chosen = self.opening.chosen.and_then(|id| view.coffees.iter().find(|row| row.bag == id));
        chosen.or_else(|| next_to_do(view, None)).or_else(|| view.coffees.first())
    }

    /// Chooses a coffee; the page of its bag is the one that other actions mean.
    fn choose_coffee(&mut self, bag: BagId) {
        self.opening.chosen = Some(bag);
        self.page.go_to(Some(bag));
    }

    /// Chooses the coffee before or after.
    pub(super) fn move_coffee(&mut self, by: isize) {
        let Some(view) = self.opening.view() else { return };
        let now = self.chosen_row(&view).map(|row| row.bag);
        let at = view.coffees.iter().position(|row| Some(row.bag) == now).unwrap_or(0);
        let next = at.saturating_add_signed(by).min(view.coffees.len().saturating_sub(1));
        if let Some(row) = view.coffees.get(next) {
            self.choose_coffee(row.bag);
            self.opening.focus = Some(entry::QuickField::Time);
        }
    }

    pub(super) fn opening_ui(&mut self, ui: &mut Ui) {
        self.ask_opening();
        self.opening.focus = self.opening.focus_soon.take().or(self.opening.focus);
        ui.spacing_mut().item_spacing.y = scale::GAP_2;
        let view = self.opening.view();
        self.opening_head_ui(ui, view.as_deref());
        if let Some(fault) = self.opening.fault.clone() {
            fault_line(ui, &say!("opening-the-opening-could-not-be-worked", fault = fault));
        }
        let tab = self.opening.tab.unwrap_or(0);
        let Some(view) = view else {
            text_line(
                ui,
                word!("opening-looking-at-the-bar"),
                scale::semibold(scale::HERO),
                palette(ui).soft,
            );
            return;
        };
        if view.is_empty() && view.unkept.is_empty() && tab != 5 {
            ui.add_space(scale::GAP_5);
            if empty_state(
                ui,
                Icon::Cup,
                word!("opening-nothing-to-hold-yet"),
                NO_KEEPER.word(),
                Some((word!("opening-back-to-the-bags"), Cap::ESCAPE.text())),
            ) {
                self.opening.open = false;
            }
            return;
        }
        let salt = ("opening", tab, self.opening.visit);
        egui::ScrollArea::vertical().id_salt(salt).auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_2;
            match tab {
                0 => self.opening_bar_ui(ui, &view),
                1 => self.opening_list_ui(ui, &view),
                2 => self.opening_charts_ui(ui, &view),
                3 => self.opening_day_ui(ui, &view),
                4 => self.opening_hand_over_ui(ui, &view),
                _ => self.opening_bars_ui(ui),
            }
        });
    }

    fn opening_head_ui(&mut self, ui: &mut Ui, view: Option<&Opening>) {
        let p = palette(ui);
        let mut asked = None;
        ui.horizontal(|ui| {
            let buttons = 3.0 * (look(ui).target + scale::GAP_1);
            let room = (ui.available_width() - buttons).max(60.0);
            ui.allocate_ui_with_layout(egui::vec2(room, 52.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_width(room);
                ui.spacing_mut().item_spacing.y = 0.0;
                title(
                    ui,
                    view.map_or(word!("opening-opening-2").to_owned(), |view| {
                        say!("opening-opening-3", headline = view.headline)
                    }),
                );
                if let Some(view) = view {
                    let mut line = view.when.clone();
                    if !view.room.is_empty() {
                        line += &format!(" · {}", view.room);
                    }
                    if view.unfinished > 0 {
                        line += word!("opening-working-out-how-readily-to-act");
                    }
                    text_line(ui, line, scale::regular(scale::SMALL), p.soft);
                }
            });
            ui.spacing_mut().item_spacing.x = scale::GAP_1;
            let undo = self.bench.undo_name().map_or(word!("opening-nothing-to-undo").to_owned(), |name| {
                say!("opening-undo", name = name)
            });
            let redo = self.bench.redo_name().map_or(word!("opening-nothing-to-redo").to_owned(), |name| {
                say!("opening-redo", name = name)
            });
            let (can_undo, can_redo) = (self.bench.undo_name().is_some(), self.bench.redo_name().is_some());
            if icon_button(ui, Icon::Undo, &undo, can_undo).clicked() {
                asked = Some(Action::Undo);
            }
            if icon_button(ui, Icon::Redo, &redo, can_redo).clicked() {
                asked = Some(Action::Redo);
            }
            if icon_button(ui, Icon::Cross, word!("opening-back-to-the-bags-f4"), true).clicked() {
                asked = Some(Action::Opening);
            }
        });
        ui.horizontal_wrapped(|ui| {
            // Room for the ring around the choice.
            ui.add_space(5.0);
            let done = view.map_or(0, |view| view.list.iter().filter(|s| self.is_ticked(s)).count());
            let all = view.map_or(0, |view| view.list.len());
            let list = say!("opening-list-of", done = done, all = all);
            let words: Vec<&str> = TABS
                .iter()
                .enumerate()
                .map(|(at, tab)| if at == LIST && all > 0 { list.as_str() } else { tab.word() })
                .collect();
            let id = Id::unique("opening-tab");
            let before = self.opening.tab;
            let label = word!("opening-part-of-the-opening");
            let row = tab_row(ui, id, label, &words, &mut self.opening.tab);
            // Whoever comes back to the coffees by a click may type at once.
            if self.opening.tab != before && self.opening.tab == Some(0) && !row.has_focus() {
                self.opening.focus_soon = Some(entry::QuickField::Time);
            }
            self.station_ui(ui, view);
        });
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    /// Which station is looked at, where there are several.
    fn station_ui(&mut self, ui: &mut Ui, view: Option<&Opening>) {
        let Some(view) = view.filter(|view| view.stations.len() > 1) else { return };
        let mut words = vec![word!("opening-all-stations").to_owned()];
        words.extend(view.stations.iter().map(|(_, name)| name.clone()));
        let at = self.opening.station.and_then(|id| view.stations.iter().position(|(s, _)| *s == id));
        let shown = at.and_then(|at| words.get(at + 1)).unwrap_or(&words[0]).clone();
        let picked = super::widgets::pick(
            ui,
            Id::unique("opening-station"),
            word!("opening-station-shown"),
            &shown,
            &words,
            150.0,
        );
        if let Some(picked) = picked {
            self.opening.station =
                picked.checked_sub(1).and_then(|at| view.stations.get(at)).map(|(id, _)| *id);
        }
    }
}

/// The first coffee that wants something, looked for from the one after `after` on, round the bar.
fn next_to_do(view: &Opening, after: Option<BagId>) -> Option<&CoffeeRow> {
    let from = after.and_then(|id| view.coffees.iter().position(|row| row.bag == id)).map_or(0, |at| at + 1);
    let round = view.coffees.iter().skip(from).chain(view.coffees.iter().take(from));
    round.into_iter().find(|row| row.state != State::Serve)
}

/// The icon of a state: with the words, never alone.
fn state_icon(row: &CoffeeRow) -> Icon {
    match row.state {
        State::Serve => Icon::Check,
        State::ToOpen | State::PullAgain => Icon::Cup,
        State::Move if row.judged.last().is_some_and(|pull| pull.clicks_coarser < 0) => Icon::Finer,
        State::Move => Icon::Coarser,
        State::Preparation | State::NotJudged | State::Wait => Icon::Caution,
    }
}

/// Keys of the page, for the key sheet.
pub(super) const KEYS: [(Cap, Name); 6] = [
    (Cap::SPACE, name!("opening-keys-the-clock")),
    (Cap::ENTER, name!("opening-keys-from-the-time-to-the-cup")),
    (Cap::CTRL_ENTER, name!("opening-keys-save-wherever-you-are")),
    (Cap::Sign("↑ ↓"), name!("opening-keys-another-coffee")),
    (Cap::Sign("E"), name!("opening-keys-to-the-time")),
    (Cap::ESCAPE, name!("opening-keys-stop-the-clock-give-up")),
];

fn draft_of(app: &App, bag: BagId, row: &CoffeeRow) -> Option<PullDraft> {
    let gear = app.bench.notebook().station(row.station)?.gear;
    let mut draft = PullDraft::from_plan(row.plan, ShotClock::Idle, &gear, &app.units());
    let last = app.bench.notebook().bag(bag)?.live_pulls().next_back();
    if let Some(last) = last {
        draft.pulled_by.clone_from(&last.pulled_by);
    }
    Some(draft)
}

/// A button of the page with its key.
fn keyed<'a>(label: &'a str, action: Action) -> Button<'a> {
    Button::new(label).key(key(action))
}
