//! Entering a pull on the opening: time and cup, the rest is filled in; saving it goes on to the next coffee.

use eframe::egui::{Event, Id, Key, Modifiers, Ui, vec2};

use super::{draft_of, next_to_do};
use crate::domain::{BagId, Recipe};
use crate::ui::actions::{Action, Cap};
use crate::ui::app::App;
use crate::ui::put_away::PutAway;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{look, palette, scale};
use crate::ui::widgets::{
    Button, Caution, NumberField, TextField, caution_line, doubt_lines, fault_line, field_rows,
    let_go_of_focus, text_line, toggle,
};
use crate::units::{Quantity, parse_number};
use crate::workbench::Command;
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::{AskedOnce, Field, PullDraft};
use crate::workbench::view::care;
use crate::workbench::view::opening::notes::{Room, joined, old_beans_words, room_words};
use crate::workbench::view::opening::{CoffeeRow, Opening};

/// Width of the field for who pulls, points.
const PULLED_BY: f32 = 110.0;

/// A pull half entered.
#[derive(Debug, Clone)]
pub(in crate::ui) struct Quick {
    draft: PullDraft,
    opened: PullDraft,
    plan: Recipe,
    insist: bool,
    /// What was asked about when saving was tried.
    doubted: AskedOnce,
    /// Old beans in the hopper, grams, as typed.
    old_beans: String,
}

impl Quick {
    /// Whether something typed would be lost with it.
    pub(super) fn is_worth_keeping(&self) -> bool {
        self.draft != self.opened || !self.old_beans.trim().is_empty()
    }
}

/// The fields, in the order of the keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum QuickField {
    Time,
    Yield,
    Dose,
    Grind,
    PulledBy,
    OldBeans,
}

fn field_of(field: Field) -> Option<QuickField> {
    Some(match field {
        Field::Time => QuickField::Time,
        Field::Yield => QuickField::Yield,
        Field::Dose => QuickField::Dose,
        Field::Grind => QuickField::Grind,
        _ => return None,
    })
}

fn id(bag: BagId, field: QuickField) -> Id {
    Id::unique(("opening-entry", bag, field))
}

impl App {
    /// The clock's key on the opening: pump on, then cup away.
    pub(in crate::ui) fn press_opening_clock(&mut self, now_s: f64) {
        if self.opening.tab != Some(0) {
            return;
        }
        if let Some(why) = self.bench.read_only().map(str::to_owned) {
            return self.say_problem(say!("opening-entry-no-pull-can-be-recorded", why = why));
        }
        let Some(view) = self.opening.view() else { return };
        match self.opening.clock {
            Some((bag, clock)) => {
                if clock.shown_s(now_s) < ShotClock::BOUNCE_S {
                    return;
                }
                let stopped = clock.stopped(now_s);
                self.opening.clock = None;
                if let Some(row) = view.coffees.iter().find(|row| row.bag == bag)
                    && let Some(mut quick) = self.quick(row)
                {
                    quick.draft.time =
                        crate::workbench::draft::typed(Quantity::Time, stopped.shown_s(now_s), &self.units());
                    self.opening.drafts.insert(bag, quick);
                    self.choose_coffee(bag);
                    self.opening.focus = Some(QuickField::Yield);
                }
            }
            None => {
                if let Some(bag) = self.chosen_row(&view).map(|row| row.bag) {
                    self.choose_coffee(bag);
                    // Whoever starts the clock has chosen: the verdict on the last pull no longer goes on to another.
                    self.opening.go_on = None;
                    self.opening.clock = Some((bag, ShotClock::Idle.pressed(now_s)));
                }
            }
        }
    }

    /// To the time of the chosen coffee.
    pub(in crate::ui) fn enter_on_opening(&mut self) {
        self.opening.tab = Some(0);
        self.opening.focus = Some(QuickField::Time);
    }

    /// Stops the clock, gives up what is typed, or puts the page away.
    pub(in crate::ui) fn cancel_opening(&mut self) {
        if let Some((bag, clock)) = self.opening.clock.take() {
            let text = word!("opening-entry-the-clock-was-stopped-nothing-was");
            return self.set_aside(PutAway::QuickClock(bag, clock), text);
        }
        let chosen = self.opening.view().and_then(|view| self.chosen_row(&view).map(|row| row.bag));
        if let Some(bag) = chosen
            && let Some(quick) = self.opening.drafts.remove(&bag).filter(Quick::is_worth_keeping)
        {
            let text = word!("opening-entry-the-pull-was-not-recorded");
            return self.set_aside(PutAway::Quick(bag, Box::new(quick)), text);
        }
        self.opening.open = false;
    }

    /// Puts a half-entered pull back in its place; one that stands there is put away.
    pub(in crate::ui) fn bring_back_quick(&mut self, bag: BagId, quick: Quick) {
        let timed = !quick.draft.time.trim().is_empty();
        self.show_coffee(bag);
        if let Some(other) = self.opening.drafts.insert(bag, quick).filter(Quick::is_worth_keeping) {
            let text = word!("opening-entry-the-pull-was-not-recorded");
            self.set_aside(PutAway::Quick(bag, Box::new(other)), text);
        }
        self.opening.focus = Some(if timed { QuickField::Yield } else { QuickField::Time });
    }

    /// Lets a clock go on that was stopped; one that runs is put away.
    pub(in crate::ui) fn bring_back_quick_clock(&mut self, bag: BagId, clock: ShotClock) {
        self.show_coffee(bag);
        if let Some((other, running)) = self.opening.clock.replace((bag, clock)) {
            let text = word!("opening-entry-the-clock-was-stopped-nothing-was");
            self.set_aside(PutAway::QuickClock(other, running), text);
        }
        self.opening.focus = None;
    }

    /// To a coffee of the opening.
    fn show_coffee(&mut self, bag: BagId) {
        if !self.opening.open {
            self.toggle_opening();
        }
        self.practice.open = false;
        self.opening.tab = Some(0);
        self.opening.go_on = None;
        self.choose_coffee(bag);
    }

    /// The half-entered pull of a coffee. One that nobody has touched follows the plan.
    fn quick(&mut self, row: &CoffeeRow) -> Option<Quick> {
        let known = self.opening.drafts.get(&row.bag).filter(|q| q.is_worth_keeping() || q.plan == row.plan);
        if let Some(known) = known {
            return Some(known.clone());
        }
        let draft = draft_of(self, row.bag, row)?;
        Some(Quick {
            opened: draft.clone(),
            draft,
            plan: row.plan,
            insist: false,
            doubted: AskedOnce::default(),
            old_beans: String::new(),
        })
    }

    /// The field that waits for a time has no use for a blank and nothing to step from: there the clock's key starts the
    /// clock too, and the arrows choose the coffee.
    fn keys_from_the_time(&mut self, ui: &Ui, row: &CoffeeRow) {
        let time = id(row.bag, QuickField::Time);
        let focused = self.dialog.is_none() && ui.memory(|memory| memory.has_focus(time));
        if !focused || self.quick(row).is_none_or(|quick| !quick.draft.time.trim().is_empty()) {
            return;
        }
        let by = ui.input_mut(|input| {
            let mut pressed = |key| input.count_and_consume_key(Modifiers::NONE, key) as isize;
            pressed(Key::ArrowDown) - pressed(Key::ArrowUp)
        });
        if by != 0 {
            self.move_coffee(by);
            ui.ctx().request_repaint();
            return;
        }
        let pressed = ui.input_mut(|input| {
            let pressed = input.consume_key(Modifiers::NONE, Key::Space);
            if pressed {
                input.events.retain(|event| !matches!(event, Event::Text(text) if text == " "));
            }
            pressed
        });
        if pressed {
            ui.memory_mut(|memory| memory.surrender_focus(time));
            self.act(&ui.ctx().clone(), Action::Clock);
        }
    }

    pub(super) fn opening_entry_ui(&mut self, ui: &mut Ui, view: &Opening, row: &CoffeeRow) {
        self.keys_from_the_time(ui, row);
        if let Some((bag, clock)) = self.opening.clock
            && bag == row.bag
        {
            self.opening_clock_ui(ui, clock, row);
            return;
        }
        let Some(mut quick) = self.quick(row) else { return };
        let Some(gear) = self.bench.notebook().station(row.station).map(|s| s.gear) else { return };
        let units = self.units();
        let writable = self.bench.read_only().is_none();
        // A coffee that was chosen in this frame is drawn in the next.
        let drawn = self.chosen_row(view).is_none_or(|chosen| chosen.bag == row.bag);
        let come_to =
            self.opening.focus.take_if(|_| drawn).filter(|_| writable).map(|field| id(row.bag, field));
        if let Some(field) = come_to {
            ui.memory_mut(|memory| memory.request_focus(field));
            ui.ctx().request_repaint();
        }
        let faults = quick.draft.faults(&gear, &units);
        let insist = quick.insist;
        // Taken here, before a box that has the focus would answer to Enter.
        let keyed =
            self.dialog.is_none() && ui.input_mut(|input| input.consume_key(Modifiers::COMMAND, Key::Enter));
        let (mut save, mut focus, mut asked) = (keyed, None, None);
        ui.add_enabled_ui(writable, |ui| {
            let ids = |field| id(row.bag, field);
            let quantity = |label, field, quantity| NumberField::quantity(label, ids(field), quantity, units);
            let draft = &mut quick.draft;
            let one = NumberField::usual_width(ui);
            let widths = [one, one, one, one, PULLED_BY, one];
            let widths = widths.get(..if row.asks_old_beans { 6 } else { 5 }).unwrap_or(&widths);
            field_rows(ui, widths, |ui, at| match at {
                0 => {
                    let time = quantity(word!("view-words-time"), QuickField::Time, Quantity::Time).step(0.5);
                    if time.fault(faults.of(Field::Time), insist).show(ui, &mut draft.time).entered {
                        focus = Some(QuickField::Yield);
                    }
                }
                1 => {
                    let cup = quantity(word!("view-words-yield"), QuickField::Yield, Quantity::Yield);
                    let cup = cup.step(gear.yield_g.step()).fault(faults.of(Field::Yield), insist);
                    save |= cup.show(ui, &mut draft.yield_).entered;
                }
                2 => {
                    let dose = quantity(word!("view-words-dose"), QuickField::Dose, Quantity::Dose);
                    let dose = dose.step(gear.dose_g.step()).fault(faults.of(Field::Dose), insist);
                    save |= dose.show(ui, &mut draft.dose).entered;
                }
                3 => {
                    let scale = gear.grind.scale;
                    let id = ids(QuickField::Grind);
                    let grind = NumberField::plain(word!("view-words-grind"), id, scale.decimals(), units);
                    let grind = grind.step(scale.step()).start(scale.min());
                    save |= grind.fault(faults.of(Field::Grind), insist).show(ui, &mut draft.grind).entered;
                }
                4 => {
                    let by = TextField::new(word!("opening-entry-pulled-by"), ids(QuickField::PulledBy));
                    by.width(PULLED_BY).show(ui, &mut draft.pulled_by);
                }
                _ => {
                    let (label, id) =
                        (word!("opening-entry-old-beans-in-the-hopper"), ids(QuickField::OldBeans));
                    let field = NumberField::plain(label, id, 0, units).unit("g").step(50.0).start(200.0);
                    if field.show(ui, &mut quick.old_beans).entered {
                        focus = Some(QuickField::Time);
                    }
                }
            });
            ui.horizontal_wrapped(|ui| {
                let button = Button::primary(word!("opening-entry-save-the-pull"))
                    .key(Cap::ENTER.text())
                    .icon(Icon::Check);
                save |= ui.add(button).clicked();
                if ui
                    .add(Button::new(word!("opening-entry-start-the-clock")).key(Cap::SPACE.text()))
                    .clicked()
                {
                    asked = Some(Action::Clock);
                }
                toggle(ui, word!("opening-entry-choked"), &mut quick.draft.flags.choked);
                toggle(ui, word!("opening-entry-spurting"), &mut quick.draft.flags.spurting);
                toggle(ui, word!("opening-entry-sink"), &mut quick.draft.flags.sink);
            });
        });
        // What is typed next must be in sight, and its name with it.
        if let Some(field) = come_to.and_then(|field| ui.ctx().read_response(field)) {
            ui.scroll_to_rect(field.rect.expand2(vec2(0.0, 32.0)), None);
        }
        if quick.draft.flags.choked {
            caution_line(ui, Caution::Harm, care::AFTER_A_CHOKE.word());
        }
        if insist && let Some((_, text)) = faults.iter().next() {
            fault_line(ui, &say!("opening-entry-not-saved-yet", text = text));
        }
        quick.doubted.forget_unless(&self.quick_doubts(&quick, row));
        doubt_lines(ui, quick.doubted.standing());
        if quick.draft.time.trim().is_empty() && save && !quick.draft.flags.choked {
            // Enter in the cup's field before there is a time goes to the time.
            save = false;
            focus = Some(QuickField::Time);
        }
        if focus.is_some() {
            self.opening.focus = focus;
            ui.ctx().request_repaint();
        }
        self.opening.drafts.insert(row.bag, quick);
        if save {
            self.save_quick(ui, view, row);
        }
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    fn opening_clock_ui(&mut self, ui: &mut Ui, clock: ShotClock, row: &CoffeeRow) {
        let p = palette(ui);
        let now_s = ui.input(|input| input.time);
        let seconds = self.units().number(clock.shown_s(now_s), 1);
        let mut asked = None;
        ui.horizontal(|ui| {
            text_line(ui, format!("{seconds} s"), scale::semibold(64.0), p.ink);
            ui.vertical(|ui| {
                text_line(ui, row.name.clone(), scale::semibold(scale::BODY), p.ink);
                text_line(ui, row.window.clone(), scale::regular(scale::BODY), p.soft);
            });
            let height = look(ui).target.max(scale::TARGET_BAR);
            let cup = Button::primary(word!("opening-entry-cup-away"))
                .key(Cap::SPACE.text())
                .width(200.0)
                .height(height);
            if ui.add(cup).clicked() {
                asked = Some(Action::Clock);
            }
            if ui
                .add(
                    Button::quiet(word!("opening-entry-stop-record-nothing"))
                        .key(Cap::ESCAPE.text())
                        .height(height),
                )
                .clicked()
            {
                asked = Some(Action::Cancel);
            }
        });
        caution_line(ui, Caution::Harm, care::BEFORE_A_PULL.word());
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
        ui.ctx().request_repaint_after(std::time::Duration::from_millis(60));
    }

    fn quick_doubts(&self, quick: &Quick, row: &CoffeeRow) -> Vec<String> {
        let notebook = self.bench.notebook();
        let (Some(station), Some(bag)) = (notebook.station(row.station), notebook.bag(row.bag)) else {
            return Vec::new();
        };
        quick.draft.doubts(&station.gear, &self.units(), None, bag.live_pulls().count() + 1)
    }

    fn save_quick(&mut self, ui: &Ui, view: &Opening, row: &CoffeeRow) {
        let Some(mut quick) = self.opening.drafts.get(&row.bag).cloned() else { return };
        let Some(gear) = self.bench.notebook().station(row.station).map(|s| s.gear) else { return };
        let (units, now) = (self.units(), self.now());
        let room = if view.room_noted { String::new() } else { room_words(self.typed_room()) };
        let old = parse_number(&quick.old_beans).ok().filter(|g| (0.0..=5000.0).contains(g));
        let old = old.map(old_beans_words).unwrap_or_default();
        let note = joined(&[&quick.draft.note, &room, &old]);
        let draft = PullDraft { note, plan: Some(row.plan), ..quick.draft.clone() };
        let doubts = self.quick_doubts(&quick, row);
        match draft.finish(&gear, &units, None, row.station, now) {
            Ok(_) if quick.doubted.asks(doubts) => {
                ui.ctx().request_repaint();
                // Enter there saves.
                self.opening.focus = Some(QuickField::Yield);
                self.opening.drafts.insert(row.bag, quick);
            }
            Ok(pull) => {
                if self.edit(Command::SavePull(row.bag, Box::new(pull))) {
                    self.opening.drafts.remove(&row.bag);
                    self.after_quick(row);
                }
            }
            Err(faults) => {
                quick.insist = true;
                let_go_of_focus(ui.ctx());
                ui.ctx().request_repaint();
                self.opening.focus = faults.iter().find_map(|(field, _)| field_of(field));
                self.opening.drafts.insert(row.bag, quick);
            }
        }
    }

    /// After a pull the same coffee stays chosen until its verdict is there. Its time waits to be typed, and the clock's
    /// key counts there too.
    fn after_quick(&mut self, row: &CoffeeRow) {
        self.opening.chosen = Some(row.bag);
        self.opening.go_on = Some((row.bag, self.bench.revision()));
        self.opening.focus = Some(QuickField::Time);
    }

    /// Once the verdict on the pull just entered is there: where it is to serve, on to the next coffee that wants
    /// something.
    pub(super) fn go_on(&mut self, view: &Opening) {
        let Some((bag, revision)) = self.opening.go_on else { return };
        let current = self.opening.view.as_ref().is_some_and(|(of, _)| of.revision >= revision);
        if !current {
            return;
        }
        self.opening.go_on = None;
        let serves = view
            .coffees
            .iter()
            .find(|row| row.bag == bag)
            .is_some_and(|row| row.state == crate::workbench::view::opening::State::Serve);
        if serves && let Some(next) = next_to_do(view, Some(bag)) {
            let next = next.bag;
            self.choose_coffee(next);
            self.opening.focus = Some(QuickField::Time);
        }
    }

    /// The room as typed on the list.
    pub(super) fn typed_room(&self) -> Room {
        let (temperature, humidity) = &self.opening.room;
        let units = self.units();
        let unit = units.typed_unit(Quantity::Temperature);
        // A room is colder than any brew: the number alone is read, in the unit that is shown.
        let celsius = parse_number(temperature).ok().map(|t| unit.to_base(t));
        Room {
            temperature_c: celsius.filter(|t| (0.0..=50.0).contains(t)),
            humidity_pct: parse_number(humidity).ok().filter(|h| (0.0..=100.0).contains(h)),
        }
    }
}
