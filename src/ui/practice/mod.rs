//! The practice bench: a page beside the bags' pages, on which nothing touches the notebook.

mod bench;
mod class;
mod exercises;
mod inside;
mod strips;
mod sweeps;

use std::path::Path;
use std::sync::Arc;

use eframe::egui::{self, Context, Frame, Id, Key, Layout, Margin, Modifiers, Ui, vec2};

use super::app::App;
use super::cache::Kept;
use super::theme::icons::Icon;
use super::theme::{look, palette, scale};
use super::widgets::{StripCursor, fault_line, icon_button, small, tab_row, text_line, title};
use crate::practice::{Depth, Handle, Pack};
use crate::puck::film::Film;
use crate::ui::actions::Cap;
use crate::words::Name;
use crate::workbench::practice::{Classroom, Line, PracticeBench, own};
use crate::workbench::view::practice::inside::Tint;
use crate::workbench::view::practice::{honesty_line, honesty_whole, misses_line};

/// Keys of the page, as they stand on the key sheet.
pub const KEYS: [(Cap, Name); 11] = [
    (Cap::Sign("1 2 3 4 5"), name!("practice-the-bench-inside-the-puck-sweeps-studies")),
    (Cap::Sign("P"), name!("practice-play-the-pull-inside-the-puck-or")),
    (Cap::Sign("K"), name!("practice-hold-this-as-before-or-let-it")),
    (Cap::Sign("V"), name!("practice-the-next-drive-by-description")),
    (Cap::Sign("L"), name!("practice-lay-the-real-pull-beside-or-take")),
    (Cap::Sign("F"), name!("practice-make-the-bench-behave-like-this-bag")),
    (Cap::Sign("U"), name!("practice-all-as-at-the-beginning")),
    (Cap::Each(&[Cap::SPACE, Cap::Sign("H")]), name!("practice-exercises-sit-down-or-pull-the-next")),
    (Cap::Sign("R"), name!("practice-exercises-and-studies-uncover-one-thing-more")),
    (Cap::ESCAPE, name!("practice-stop-the-fit-else-back-to-the")),
    (Cap::Sign("← → ↑ ↓"), name!("practice-move-the-point-handle-or-cursor-that")),
];

/// What the practice page remembers.
#[derive(Default)]
pub(super) struct PracticePage {
    /// Whether it is shown in place of a bag's page.
    pub open: bool,
    bench: Option<PracticeBench>,
    tab: Option<usize>,
    texts: Vec<(Handle, String)>,
    line: Option<usize>,
    point: Option<usize>,
    point_texts: [String; 2],
    cursor: StripCursor,
    honest: bool,
    film: Kept<u64, Result<Film, String>>,
    tint: Tint,
    swept: Option<usize>,
    study: Option<String>,
    uncovered: usize,
    class: Option<Classroom>,
    exercises: exercises::ExercisePage,
    faults: Vec<String>,
    playing: bool,
    strips: Kept<(u64, bool), strips::Made>,
}

impl PracticePage {
    fn bench(&mut self, ctx: &Context) -> &mut PracticeBench {
        let waker = ctx.clone();
        self.bench.get_or_insert_with(|| {
            PracticeBench::new(Pack::shipped().said(), Arc::new(move || waker.request_repaint()))
        })
    }

    /// Whether long work is under way.
    pub fn is_busy(&self) -> bool {
        self.bench.as_ref().is_some_and(PracticeBench::is_busy)
            || self.class.as_ref().is_some_and(Classroom::is_busy)
    }

    /// Forgets what was said, to be said in another language.
    fn say_again(&mut self) {
        self.strips = Kept::default();
        if let Some(bench) = &mut self.bench {
            bench.say_again();
        }
    }

    /// Takes in what long work has finished.
    pub fn poll(&mut self) {
        if let Some(bench) = &mut self.bench {
            bench.poll();
        }
        if let Some(class) = &mut self.class {
            class.poll();
        }
    }

    /// Takes the last move back, or does it again. False when there is nothing.
    pub fn travel(&mut self, back: bool) -> bool {
        self.texts.clear();
        self.bench.as_mut().is_some_and(|bench| if back { bench.undo() } else { bench.redo() })
    }

    /// Stops what runs. False when nothing does.
    pub fn stop(&mut self) -> bool {
        let busy = self.bench.as_ref().is_some_and(|bench| bench.fitting().is_some());
        if let Some(bench) = &mut self.bench {
            bench.stop();
        }
        busy
    }

    fn drawn_line(&self) -> Line {
        Line::ALL.get(self.line.unwrap_or(0)).copied().unwrap_or(Line::Pressure)
    }
}

impl App {
    /// Opens the page, or goes back to the bag. The notebook's own practice files are read each time.
    pub(super) fn open_practice(&mut self, ctx: &Context) {
        self.practice.open = !self.practice.open;
        self.opening.open = false;
        let Some(place) = self.bench.place().filter(|_| self.practice.open) else { return };
        self.read_practice(ctx, Some(&place));
    }

    fn read_practice(&mut self, ctx: &Context, place: Option<&Path>) {
        let pack = place.map_or_else(Pack::shipped, own::pack_of).said();
        let faults = place.map(|place| own::findings(place, Depth::Quick)).unwrap_or_default();
        self.practice.faults = faults.iter().map(ToString::to_string).collect();
        self.class_room(ctx).set_pack(pack.clone());
        self.practice.bench(ctx).set_pack(pack);
    }

    /// Reads what can be practised with again, and forgets what was said, after another language was chosen.
    pub(super) fn say_practice_again(&mut self, ctx: &Context) {
        self.practice.say_again();
        if self.practice.bench.is_some() {
            let place = self.bench.place();
            self.read_practice(ctx, place.as_deref());
        }
    }

    /// What the keyboard asks of the page, before the keys that hold everywhere.
    pub(super) fn practice_keys(&mut self, ctx: &Context) {
        if ctx.text_edit_focused() || egui::Popup::is_any_open(ctx) {
            return;
        }
        let pressed = |key| ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        for (at, key) in [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5].into_iter().enumerate() {
            if pressed(key) {
                self.practice.tab = Some(at);
            }
        }
        match self.practice.tab {
            Some(1) if pressed(Key::P) => self.play_or_pause(),
            Some(3) if pressed(Key::R) => self.practice.uncovered += 1,
            Some(EXERCISES) => return self.exercise_keys(ctx),
            _ => {}
        }
        if pressed(Key::K) {
            self.practice.bench(ctx).hold();
        }
        if pressed(Key::V) {
            let bench = self.practice.bench(ctx);
            let count = crate::practice::presets().len();
            let next = bench.preset_at().map_or(0, |at| (at + 1) % count);
            bench.preset(next);
        }
        if pressed(Key::L) {
            self.lay_beside(ctx);
        }
        if pressed(Key::F) {
            self.fit_the_bench(ctx);
        }
        if pressed(Key::U) {
            self.practice.bench(ctx).reset();
        }
    }

    pub(super) fn practice_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        self.practice.bench(&ctx);
        let p = palette(ui);
        let frame =
            Frame::NONE.fill(p.page).inner_margin(Margin { left: 24, right: 20, top: 12, bottom: 10 });
        egui::CentralPanel::no_frame().frame(frame).show(ui, |ui| {
            self.practice_head_ui(ui);
            let mut tab = Some(self.practice.tab.unwrap_or(0));
            tab_row(
                ui,
                Id::unique("practice-tabs"),
                word!("practice-part-of-the-bench"),
                &TABS.map(Name::word),
                &mut tab,
            );
            self.practice.tab = tab;
            ui.add_space(scale::GAP_1);
            let faults = &self.practice.faults;
            if let Some(first) = faults.first() {
                let more = match faults.len() {
                    1 => String::new(),
                    n => say!("practice-and-more-thirdpull-check-lists-them", n = n - 1),
                };
                fault_line(ui, &say!("practice-in-the-notebooks-practice-files", first = first, more = more));
            }
            let foot = if self.practice.honest { 230.0 } else { 54.0 };
            let height = (ui.available_height() - foot).max(120.0);
            let area = egui::ScrollArea::vertical().id_salt("practice").max_height(height);
            area.auto_shrink(false).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = scale::GAP_2;
                match tab {
                    Some(1) => self.inside_ui(ui, height),
                    Some(2) => self.sweeps_ui(ui, height),
                    Some(3) => self.studies_ui(ui),
                    Some(EXERCISES) => self.exercises_ui(ui),
                    _ => self.practice_bench_ui(ui, height),
                }
            });
            self.honesty_ui(ui);
        });
    }

    fn practice_head_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        ui.horizontal(|ui| {
            let buttons = 3.0 * (look(ui).target + scale::GAP_1);
            let room = (ui.available_width() - buttons).max(60.0);
            ui.allocate_ui_with_layout(vec2(room, 52.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_width(room);
                ui.spacing_mut().item_spacing.y = 0.0;
                title(ui, word!("practice-practice-bench"));
                let name = self.practice.bench.as_ref().map_or("", |bench| bench.coffee_name());
                let line = say!("practice-on-the-bench", name = name);
                text_line(ui, line, scale::regular(scale::SMALL), p.soft);
            });
            ui.spacing_mut().item_spacing.x = scale::GAP_1;
            let bench = self.practice.bench.as_ref();
            let (can_undo, can_redo) = bench.map_or((false, false), |b| (b.can_undo(), b.can_redo()));
            if icon_button(ui, Icon::Undo, word!("practice-undo-the-last-move"), can_undo).clicked() {
                self.practice.travel(true);
            }
            if icon_button(ui, Icon::Redo, word!("practice-redo-the-move"), can_redo).clicked() {
                self.practice.travel(false);
            }
            if icon_button(ui, Icon::Cross, word!("practice-back-to-the-bag-esc"), true).clicked() {
                self.practice.open = false;
            }
        });
    }

    fn honesty_ui(&mut self, ui: &mut Ui) {
        let units = self.units();
        ui.add_space(scale::GAP_1);
        super::shelf::hairline(ui);
        // The button first, so that the text takes the room that it leaves, in any language.
        ui.with_layout(Layout::right_to_left(egui::Align::TOP), |ui| {
            ui.spacing_mut().interact_size.y = 28.0;
            let label = if self.practice.honest { word!("practice-less") } else { word!("practice-more") };
            let more = ui.add(super::widgets::Button::quiet(label).height(28.0));
            more.widget_info(|| {
                let label = say!("practice-about-what-is-simulated", label = label);
                egui::WidgetInfo::labeled(egui::Role::Button, true, label)
            });
            if more.clicked() {
                self.practice.honest = !self.practice.honest;
            }
            ui.with_layout(Layout::top_down(egui::Align::LEFT), |ui| {
                if self.practice.honest {
                    small(ui, honesty_whole(&units));
                    small(ui, misses_line(&units));
                } else {
                    small(ui, honesty_line());
                }
            });
        });
    }
}

/// Parts of the bench.
const TABS: [Name; 5] = [
    name!("practice-bench"),
    name!("practice-inside-the-puck"),
    name!("practice-sweeps"),
    name!("practice-studies"),
    name!("practice-exercises"),
];

/// Which of them are the exercises.
const EXERCISES: usize = 4;
