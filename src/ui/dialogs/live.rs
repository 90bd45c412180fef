//! A live instrument: where it is reached, what it says, and the strips drawing while a pull runs.

use std::time::Duration;

use eframe::egui::{self, Context, Id, Ui};

use super::{Dialog, Fate, part};
use crate::domain::Trace;
use crate::trace::find_events;
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::page::strips::drawn;
use crate::ui::state::{EntryField, Mode};
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Caution, StripCursor, TextField, caution_line, choice_row, fault_line, icon_button, overline,
    pick, soft, strips, text_line,
};
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::{PullDraft, typed};
use crate::workbench::view::live::{LiveSession, Reach, serial_ports};
use crate::workbench::view::strips::{Emphasis, Laid, strips as strips_view};

/// Where an instrument is reached, as typed so far.
#[derive(Debug, Clone)]
pub struct LiveForm {
    reach: Option<usize>,
    places: [String; 3],
    baud: String,
    ports: Vec<String>,
    fault: Option<String>,
}

impl LiveForm {
    /// A form with the serial ports that the system knows of.
    #[must_use]
    pub fn new() -> Self {
        let ports = serial_ports();
        let first = ports.first().cloned().unwrap_or_default();
        let reach = usize::from(ports.is_empty());
        Self {
            reach: Some(reach),
            places: [first, "localhost:4000".to_owned(), String::new()],
            baud: "115200".to_owned(),
            ports,
            fault: None,
        }
    }
}

impl Default for LiveForm {
    fn default() -> Self {
        Self::new()
    }
}

impl App {
    /// Opens the dialog, or stops listening where that is what goes on.
    pub(in crate::ui) fn open_live(&mut self) {
        self.dialog = Some(Dialog::Live(Box::default()));
    }

    /// Takes in what the instrument said and asks for the next frame while it speaks.
    pub(in crate::ui) fn poll_live(&mut self, ctx: &Context) {
        let Some(live) = &mut self.live else { return };
        let over = live.poll();
        let pause = match (live.running_s(), live.is_flowing()) {
            (Some(_), _) => 40,
            (None, true) => 200,
            (None, false) => 500,
        };
        ctx.request_repaint_after(Duration::from_millis(pause));
        if over {
            self.page.cursor = StripCursor::default();
            ctx.request_repaint();
        }
    }

    pub(super) fn live_form_ui(&mut self, ui: &mut Ui, mut form: Box<LiveForm>) -> Fate {
        soft(ui, word!("dialogs-live-an-instrument-that-prints-numbers-one"));
        part(ui, word!("dialogs-live-where-it-is"));
        let words: Vec<&str> = Reach::ALL.iter().map(|reach| reach.name()).collect();
        choice_row(
            ui,
            Id::unique("live-reach"),
            word!("dialogs-live-where-the-instrument-is"),
            &words,
            &mut form.reach,
            false,
        );
        let at = form.reach.unwrap_or(0);
        let reach = Reach::ALL.get(at).copied().unwrap_or_default();
        ui.horizontal(|ui| {
            let Some(place) = form.places.get_mut(at) else { return };
            let (name, hint) = match reach {
                Reach::Serial => (word!("dialogs-live-serial-port"), "/dev/ttyUSB0 or COM3"),
                Reach::Network => (word!("dialogs-live-address"), "host:port"),
                Reach::File => (word!("dialogs-live-path-of-the-growing-file"), "/home/…/live.csv"),
            };
            let field = TextField::new(name, Id::unique(("live-place", at))).hint(hint).width(320.0);
            field.bare(ui, place).accessible_name(name);
            if reach == Reach::Serial {
                if !form.ports.is_empty()
                    && let Some(chosen) = pick(
                        ui,
                        Id::unique("live-ports"),
                        word!("dialogs-live-known-ports"),
                        word!("dialogs-live-known-ports"),
                        &form.ports,
                        150.0,
                    )
                {
                    *place = form.ports.get(chosen).cloned().unwrap_or_default();
                }
                let field =
                    TextField::new(word!("dialogs-live-bits-a-second"), Id::unique("live-baud")).width(110.0);
                field.bare(ui, &mut form.baud).accessible_name(word!("dialogs-live-bits-a-second"));
            }
        });
        if reach == Reach::Serial && form.ports.is_empty() {
            soft(ui, word!("dialogs-live-no-serial-port-is-known-to"));
        }
        caution_line(ui, Caution::Note, word!("dialogs-live-sensors-on-boilers-mains-wiring-or"));
        if let Some(fault) = &form.fault {
            fault_line(ui, fault);
        }
        let listening = self.live.as_ref().map(|live| live.place().to_owned());
        let mut go = ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
        let mut stop = false;
        ui.horizontal(|ui| {
            go |= ui
                .add(
                    Button::primary(word!("dialogs-live-listen"))
                        .key(Cap::CTRL_ENTER.text())
                        .icon(Icon::Trace),
                )
                .clicked();
            if let Some(place) = &listening {
                stop = ui.add(Button::new(word!("dialogs-live-stop-listening"))).clicked();
                soft(ui, say!("dialogs-live-listening-to", place = place));
            }
        });
        if stop {
            self.live = None;
            return Fate::Go(None);
        }
        if !go {
            return Fate::Stay(Dialog::Live(form));
        }
        let place = form.places.get(at).cloned().unwrap_or_default();
        match reach.source(&place, &form.baud).and_then(LiveSession::start) {
            Ok(session) => {
                self.live = Some(session);
                Fate::Go(None)
            }
            Err(sentence) => {
                form.fault = Some(sentence);
                Fate::Stay(Dialog::Live(form))
            }
        }
    }

    /// The line above the strips while an instrument is listened to. True when the strips below it are the live ones.
    pub(in crate::ui) fn live_ui(&mut self, ui: &mut Ui, height: f32) -> bool {
        let Some(live) = &self.live else { return false };
        let p = palette(ui);
        let top = ui.cursor().top();
        let (running, caught) = (live.running_s(), live.caught().cloned());
        let (sentence, waiting) = (live.sentence(), live.waiting_pulls());
        let units = self.units();
        let target = self.pull().map(|pull| pull.id);
        let number = self.bag().zip(target).map(|(bag, id)| crate::workbench::number_of(bag, id));
        let (mut begin, mut end, mut leave, mut attach, mut enter, mut discard) = Default::default();
        ui.horizontal(|ui| {
            ui.set_min_height(36.0);
            overline(ui, word!("dialogs-live-live"));
            match (running, &caught) {
                (Some(seconds), _) => {
                    let mass = live.last(crate::domain::Channel::CupMass);
                    let mass = mass.map_or(String::new(), |g| format!("   {} g", units.number(g, 1)));
                    let text = format!("{} s{mass}", units.number(seconds, 1));
                    text_line(ui, text, scale::semibold(scale::BODY), p.accent);
                    end = ui.add(Button::quiet(word!("dialogs-live-stop")).height(36.0)).clicked();
                }
                (None, Some(caught)) => {
                    let mass =
                        caught.yield_g().map_or(String::new(), |g| format!(", {} g", units.number(g, 1)));
                    let more = if waiting > 1 {
                        say!("dialogs-live-more-wait", waiting = waiting - 1)
                    } else {
                        String::new()
                    };
                    let text = say!(
                        "dialogs-live-pull-caught-s",
                        number = units.number(caught.time_s(), 1),
                        mass = mass,
                        more = more
                    );
                    text_line(ui, text, scale::semibold(scale::SMALL), p.ink);
                }
                (None, None) => {
                    begin = ui.add(Button::quiet(word!("dialogs-live-start-now")).height(36.0)).clicked();
                }
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.spacing_mut().item_spacing.x = 2.0;
                leave = icon_button(ui, Icon::Cross, word!("dialogs-live-stop-listening"), true).clicked();
            });
        });
        if running.is_none() && caught.is_some() {
            ui.horizontal_wrapped(|ui| {
                enter = ui.add(Button::new(word!("dialogs-live-enter-as-a-new-pull")).height(40.0)).clicked();
                if let Some(number) = number {
                    let label = say!("dialogs-live-to-pull", number = number);
                    attach = ui.add(Button::quiet(&label).height(40.0)).clicked();
                }
                discard = ui.add(Button::quiet(word!("dialogs-live-throw-away")).height(40.0)).clicked();
            });
        } else if running.is_none() {
            let response = text_line(ui, sentence.clone(), scale::regular(scale::SMALL), p.soft);
            response.on_hover_text(sentence);
        }
        if begin && let Some(live) = &mut self.live {
            live.begin();
        }
        if end && let Some(live) = &mut self.live {
            live.end();
        }
        if discard && let Some(live) = &mut self.live {
            live.take_caught();
        }
        if attach && let Some(pull) = target {
            self.attach_caught(pull);
        }
        if enter {
            self.enter_caught();
        }
        if leave {
            self.live = None;
            return false;
        }
        let left = (height - (ui.cursor().top() - top) - 2.0).max(160.0);
        self.live_strips_ui(ui, left)
    }

    fn live_strips_ui(&mut self, ui: &mut Ui, height: f32) -> bool {
        // The pull looked at lies behind, so that the eye can follow it.
        let (bag, before) = (self.page.bag, self.pull().filter(|pull| pull.has_trace).map(|pull| pull.id));
        let units = self.units();
        let behind = bag.zip(before).and_then(|(bag, pull)| self.bench.trace(bag, pull));
        let behind_name = self.bag().zip(before).map(|(bag, id)| crate::workbench::number_of(bag, id));
        let behind_zero = behind.as_ref().map(|trace| self.zero_of(trace));
        let Some(live) = &mut self.live else { return false };
        let caught = live.caught().map(|caught| {
            let zero = caught.events.pump_on.or(caught.events.first_drip).map_or(0.0, |e| e.time_s);
            (caught.trace.clone(), zero)
        });
        let (trace, zero): (&Trace, f64) = match (live.so_far(), &caught) {
            (Some(now), _) => now,
            (None, Some((trace, zero))) => (trace, *zero),
            (None, None) => return false,
        };
        let mut laid = vec![Laid {
            name: word!("dialogs-live-live-2").into(),
            end: String::new(),
            emphasis: Emphasis::This,
            shift_s: zero,
            trace,
        }];
        if let (Some(trace), Some(number)) = (&behind, behind_name) {
            laid.push(Laid {
                name: say!("dialogs-live-pull", number = number),
                end: number.to_string(),
                emphasis: Emphasis::Before,
                shift_s: behind_zero.unwrap_or(0.0),
                trace,
            });
        }
        let view = strips_view(&laid, &units);
        let lines = drawn(&view);
        // At least half a minute, so that the picture does not breathe with every reading.
        let span = (view.span_s.0.max(-5.0), view.span_s.1.max(30.0));
        let mut cursor = self.page.cursor.clone();
        strips(ui, Id::unique("live-strips"), &lines, span, &mut cursor, height, true);
        self.page.cursor = cursor;
        true
    }

    /// Where a kept trace has its pump going on.
    fn zero_of(&mut self, trace: &std::sync::Arc<Trace>) -> f64 {
        let key = std::sync::Arc::as_ptr(trace) as usize;
        match self.live_zero {
            Some((known, zero)) if known == key => zero,
            _ => {
                let zero = find_events(trace).pump_on.map_or(0.0, |e| e.time_s);
                self.live_zero = Some((key, zero));
                zero
            }
        }
    }

    fn attach_caught(&mut self, pull: crate::domain::PullId) {
        let Some(bag) = self.page.bag else { return };
        let now = self.now();
        let Some(trace) = self.live.as_ref().and_then(|live| live.caught()).map(|c| c.trace.clone()) else {
            return;
        };
        match self.bench.attach_trace(bag, pull, trace, now) {
            Ok(name) => {
                if let Some(live) = &mut self.live {
                    live.take_caught();
                }
                self.live_entry = None;
                self.sparks.remove(&pull);
                self.page.selected = Some(pull);
                let mut toasts = std::mem::take(&mut self.toasts);
                toasts.done(&mut self.bench, &name);
                self.toasts = toasts;
            }
            Err(refusal) => self.say_problem(refusal.to_string()),
        }
    }

    /// Opens the entry row with what the instrument knows; the trace goes along when it is saved.
    fn enter_caught(&mut self) {
        if !matches!(self.page.mode(), Mode::Advice | Mode::Pulling(_)) {
            return self.say(word!("dialogs-live-save-or-give-up-the-pull"));
        }
        let (Some(gear), Some(plan)) = (self.gear(), self.plan()) else { return };
        let units = self.units();
        let Some(caught) = self.live.as_ref().and_then(LiveSession::caught) else { return };
        let clock = ShotClock::Stopped {
            time_s: caught.time_s(),
            first_drip_s: caught.events.first_drip_after_s().filter(|s| *s > 0.0),
        };
        let yield_g = caught.yield_g();
        let mut draft = PullDraft::from_plan(plan, clock, &gear, &units);
        if let Some(grams) = yield_g {
            draft.yield_ = typed(crate::units::Quantity::Yield, grams, &units);
        }
        self.show_entry(draft, None, EntryField::Dose);
        self.live_entry = Some(self.page.visits);
    }

    /// A new pull was saved from the entry row: the trace that it came with goes along.
    pub(in crate::ui) fn entry_saved(&mut self, visit: u64, pull: crate::domain::PullId) {
        if self.live_entry == Some(visit) {
            self.attach_caught(pull);
        }
    }
}
