//! Any pulls of any bags over each other: which, aligned how, less what; read as an expert would; out as a picture or
//! as numbers.

mod files;
mod side;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use eframe::egui::{self, Context, Id, Rect, Response, Sense, Ui, pos2, vec2};

use super::ask::FileToWrite;
use super::{Dialog, Fate};
use crate::domain::{BagId, PullId, Trace};
use crate::trace::{Events, USUAL_STEPS, clean, find_events};
use crate::ui::app::App;
use crate::ui::page::strips::{drawn, stroke};
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Strip, StripCursor, TextField, choice_row, icon_button, pick, soft, strips, text_line, toggle,
};
use crate::workbench::Desk;
use crate::workbench::view::compare::{Align, CompareView, Compared, Wish, compare_at, zeros};
use crate::workbench::view::expected::{About, Reading, read};
use crate::workbench::view::strips::{Emphasis, values_at};

/// A pull, named by its bag and itself.
type Who = (BagId, PullId);

struct Loaded {
    name: String,
    trace: Arc<Trace>,
    events: Events,
    /// After the usual steps of cleaning, once that was asked for.
    cleaned: Option<Trace>,
}

type ToRead = (Who, Arc<Trace>, About);
type Read = (Who, Box<Reading>);
type ZerosKey = (Vec<Who>, u8, u64, Option<Who>);
type Key = (ZerosKey, Option<Who>, [bool; 4], Option<(u64, u64)>, Vec<String>, u64);

/// Pulls being compared.
pub struct CompareForm {
    members: BTreeSet<Who>,
    chosen: Option<Who>,
    picked: Option<Who>,
    labels: BTreeMap<Who, String>,
    align: Option<usize>,
    mass: String,
    difference: bool,
    group: bool,
    expected: bool,
    clean: bool,
    shows_reading: Option<usize>,
    cursor: StripCursor,
    loaded: BTreeMap<Who, Loaded>,
    zeros: Option<(ZerosKey, Vec<Option<f64>>)>,
    made: Option<(Key, CompareView, Vec<Strip>)>,
    desk: Desk<ToRead, Read>,
    asked: Option<Who>,
    reading: Option<Read>,
    file: FileToWrite,
}

impl CompareForm {
    /// Whether the worker still owes an answer.
    pub(super) fn is_busy(&self) -> bool {
        self.desk.is_busy()
    }

    fn new(ctx: &Context) -> Self {
        let waker = ctx.clone();
        let work = |(who, trace, about): ToRead| (who, Box::new(read(&trace, &about)));
        Self {
            members: BTreeSet::new(),
            chosen: None,
            picked: None,
            labels: BTreeMap::new(),
            align: Some(0),
            mass: "20".to_owned(),
            difference: false,
            group: false,
            expected: true,
            clean: false,
            shows_reading: Some(0),
            cursor: StripCursor::default(),
            loaded: BTreeMap::new(),
            zeros: None,
            made: None,
            desk: Desk::start(
                word!("dialogs-compare-reading-of-traces"),
                work,
                Box::new(move || waker.request_repaint()),
            ),
            asked: None,
            reading: None,
            file: FileToWrite::default(),
        }
    }

    fn align(&self) -> Align {
        match self.align {
            Some(1) => Align::FirstDrip,
            Some(2) => {
                let grams = crate::units::parse_number(&self.mass).ok().filter(|g| *g > 0.0 && *g < 1000.0);
                Align::CupMass(grams.unwrap_or(20.0))
            }
            Some(3) => Align::BestMatch,
            _ => Align::PumpOn,
        }
    }

    /// Those that are on and whose trace is at hand, in order.
    fn present(&self) -> Vec<Who> {
        let ready = |one: &Loaded| !self.clean || one.cleaned.is_some();
        self.members.iter().copied().filter(|who| self.loaded.get(who).is_some_and(ready)).collect()
    }

    fn label(&self, who: Who) -> String {
        self.labels.get(&who).cloned().unwrap_or_default()
    }

    fn wish(&self, present: &[Who]) -> Wish {
        let place = |who: Option<Who>| present.iter().position(|one| Some(*one) == who);
        Wish {
            align: self.align(),
            chosen: place(self.chosen).unwrap_or(0),
            picked: place(self.picked),
            difference: self.difference,
            group: self.group,
            shown: self.cursor.shown,
        }
    }

    fn compared<'a>(&'a self, present: &[Who], labels: &'a [String]) -> Vec<Compared<'a>> {
        present
            .iter()
            .zip(labels)
            .filter_map(|(who, label)| {
                let one = self.loaded.get(who)?;
                let trace = one.cleaned.as_ref().filter(|_| self.clean).unwrap_or(&one.trace);
                Some(Compared { name: &one.name, label, trace, events: &one.events })
            })
            .collect()
    }

    /// What stands at the ends of the lines: the label typed, else a short name for those that stand out.
    fn ends(&self, present: &[Who]) -> Vec<String> {
        let few = present.len() <= 6;
        let one_bag = present.windows(2).all(|pair| matches!(pair, [a, b] if a.0 == b.0));
        present
            .iter()
            .map(|who| {
                let typed = self.label(*who);
                let out = few || Some(*who) == self.chosen || Some(*who) == self.picked;
                match (typed.is_empty(), out) {
                    (false, _) => typed,
                    (true, true) => {
                        let name = self.loaded.get(who).map(|one| one.name.clone()).unwrap_or_default();
                        let number = name.rsplit_once(' ').map(|(_, number)| number.to_owned());
                        if one_bag { number.unwrap_or(name) } else { name }
                    }
                    (true, false) => String::new(),
                }
            })
            .map(|name| if name.chars().count() > 12 { short(&name) } else { name })
            .collect()
    }

    fn make(&mut self, app: &App) {
        let present = self.present();
        let mass = if let Align::CupMass(grams) = self.align() { grams.to_bits() } else { 0 };
        let zeros_key: ZerosKey = (
            present.clone(),
            self.align.unwrap_or(0) as u8,
            mass,
            self.chosen.filter(|_| self.align == Some(3)),
        );
        let ends = self.ends(&present);
        let read_of = self.reading.as_ref().filter(|(who, _)| Some(*who) == self.chosen);
        let with_band = self.expected && read_of.is_some();
        let shown = self.cursor.shown.map(|(a, b)| (a.to_bits(), b.to_bits()));
        let picked = self.picked;
        let flags = [self.difference, self.group, with_band, self.clean];
        let key: Key =
            (zeros_key.clone(), picked, flags, shown, ends.clone(), chosen_bits(self.chosen, &present));
        if self.made.as_ref().is_some_and(|(known, ..)| *known == key) {
            return;
        }
        let wish = self.wish(&present);
        let compared = self.compared(&present, &ends);
        let at = match &self.zeros {
            Some((known, at)) if *known == zeros_key => at.clone(),
            _ => zeros(&compared, &wish),
        };
        let band = read_of.filter(|_| self.expected).and_then(|(_, reading)| reading.band.as_ref());
        let view = compare_at(&compared, &at, &wish, band, &app.units());
        let lines = drawn(&view.strips);
        self.zeros = Some((zeros_key, at));
        self.made = Some((key, view, lines));
    }
}

fn chosen_bits(chosen: Option<Who>, present: &[Who]) -> u64 {
    present.iter().position(|one| Some(*one) == chosen).map_or(u64::MAX, |at| at as u64)
}

/// "Quarry Road washed 3" as "Quarry R… 3".
fn short(name: &str) -> String {
    let (bag, number) = name.rsplit_once(' ').unwrap_or((name, ""));
    let head: String = bag.chars().take(8).collect();
    format!("{}… {number}", head.trim_end())
}

/// Traces read in one frame at most.
const FETCH: usize = 3;

impl App {
    /// Opens the comparison with the pulls that the page shows.
    pub(in crate::ui) fn open_compare(&mut self, ctx: &Context) {
        let mut form = CompareForm::new(ctx);
        if let Some(bag) = self.page.bag {
            for (pull, emphasis) in self.laid() {
                form.members.insert((bag, pull));
                if emphasis == Emphasis::This {
                    form.chosen = Some((bag, pull));
                }
            }
        }
        self.dialog = Some(Dialog::Compare(Box::new(form)));
    }

    pub(super) fn compare_ui(
        &mut self,
        ui: &mut Ui,
        mut form: Box<CompareForm>,
        width: f32,
        height: f32,
    ) -> Fate {
        self.load_compared(ui, &mut form);
        self.ask_reading(&mut form);
        form.make(self);
        let side_width = 300.0f32.min(width * 0.32);
        ui.horizontal_top(|ui| {
            ui.allocate_ui_with_layout(
                vec2(side_width, height),
                egui::Layout::top_down(egui::Align::LEFT),
                |ui| {
                    ui.set_width(side_width);
                    self.compare_side_ui(ui, &mut form, height);
                },
            );
            ui.add_space(scale::GAP_4);
            let rest = width - side_width - scale::GAP_4 - 16.0;
            ui.allocate_ui_with_layout(vec2(rest, height), egui::Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_width(rest);
                ui.spacing_mut().item_spacing = vec2(scale::GAP_2, scale::GAP_2);
                self.compare_main_ui(ui, &mut form, height);
            });
        });
        Fate::Stay(Dialog::Compare(form))
    }

    fn load_compared(&mut self, ui: &Ui, form: &mut CompareForm) {
        let wanted: Vec<Who> =
            form.members.iter().copied().filter(|who| !form.loaded.contains_key(who)).collect();
        for who in wanted.iter().take(FETCH) {
            let name = self
                .bench
                .notebook()
                .bag(who.0)
                .map(|bag| format!("{} {}", bag.name, crate::workbench::number_of(bag, who.1)));
            match (self.bench.trace(who.0, who.1), name) {
                (Some(trace), Some(name)) => {
                    let events = find_events(&trace);
                    form.loaded.insert(*who, Loaded { name, trace, events, cleaned: None });
                }
                _ => {
                    form.members.remove(who);
                    form.file.told = Some(Err(word!("dialogs-compare-a-trace-could-not-be-read").to_owned()));
                }
            }
        }
        let raw = form.loaded.values_mut().filter(|one| form.clean && one.cleaned.is_none());
        let mut cleaned = 0;
        for one in raw.take(FETCH) {
            one.cleaned = Some(clean(&one.trace, &USUAL_STEPS).0);
            cleaned += 1;
        }
        if wanted.len() > FETCH || cleaned == FETCH {
            ui.ctx().request_repaint();
        }
        if form.chosen.is_none_or(|who| !form.members.contains(&who)) {
            form.chosen = form.members.iter().next_back().copied();
        }
        if form.picked == form.chosen || form.picked.is_some_and(|who| !form.members.contains(&who)) {
            form.picked = None;
        }
    }

    /// Has the chosen pull read on the worker.
    fn ask_reading(&mut self, form: &mut CompareForm) {
        if form.desk.poll()
            && let Some(Ok(done)) = form.desk.take()
        {
            form.reading = Some(done);
        }
        let Some(who) = form.chosen.filter(|who| form.asked != Some(*who)) else { return };
        let Some(loaded) = form.loaded.get(&who) else { return };
        let notebook = self.bench.notebook();
        let Some(bag) = notebook.bag(who.0) else { return };
        let Some(pull) = bag.pulls.iter().find(|pull| pull.id == who.1) else { return };
        let Some(about) = About::of(notebook, bag, pull) else { return };
        form.asked = Some(who);
        form.desk.ask((who, Arc::clone(&loaded.trace), about));
    }

    fn compare_main_ui(&mut self, ui: &mut Ui, form: &mut CompareForm, height: f32) {
        let top = ui.cursor().top();
        controls_ui(ui, form);
        let Some((key, view, lines)) = form.made.take() else { return };
        if lines.is_empty() {
            soft(ui, word!("dialogs-compare-choose-pulls-at-the-left-those"));
        } else {
            let left = (height - (ui.cursor().top() - top) - 120.0).max(160.0);
            let area = ui.available_rect_before_wrap();
            let mut cursor = form.cursor.clone();
            let id = Id::unique("compare-strips");
            let response = strips(ui, id, &lines, view.strips.span_s, &mut cursor, left, true);
            form.cursor = cursor;
            pick_line(
                ui,
                form,
                &response,
                &view,
                &lines,
                Rect::from_min_size(area.min, vec2(area.width(), left)),
            );
            self.compare_values_ui(ui, form, &view);
        }
        if !view.left_out.is_empty() {
            soft(ui, say!("dialogs-compare-without-what-is-put-at-zero", join = view.left_out.join(", ")));
        }
        self.compare_files_ui(ui, form, &view);
        form.made = Some((key, view, lines));
    }

    fn compare_values_ui(&mut self, ui: &mut Ui, form: &mut CompareForm, view: &CompareView) {
        let p = palette(ui);
        let units = self.units();
        ui.horizontal(|ui| {
            ui.set_min_height(36.0);
            ui.spacing_mut().item_spacing.x = scale::GAP_2;
            let all = view.strips.span_s;
            let zoomed = form.cursor.shown.is_some();
            if icon_button(ui, Icon::Plus, word!("dialogs-compare-closer-pgup"), true).clicked() {
                form.cursor.zoom(1.5, all);
            }
            if icon_button(ui, Icon::Minus, word!("dialogs-compare-wider-pgdn"), zoomed).clicked() {
                form.cursor.zoom(1.0 / 1.5, all);
            }
            if zoomed && ui.add(Button::quiet(word!("dialogs-compare-whole")).height(36.0)).clicked() {
                form.cursor.shown = None;
            }
            let Some(t) = form.cursor.cursor_s else {
                text_line(
                    ui,
                    say!("dialogs-compare-zero-point-at-a-strip-to", zero = view.zero),
                    scale::regular(scale::SMALL),
                    p.soft,
                );
                return;
            };
            text_line(
                ui,
                say!("dialogs-compare-at-s", number = units.number(t, 1)),
                scale::semibold(scale::SMALL),
                p.ink,
            );
            for (name, values) in values_at(&view.strips, t, &units) {
                text_line(ui, name, scale::regular(scale::SMALL), p.soft);
                for (emphasis, value) in values.iter().rev() {
                    let colour = stroke(*emphasis).colour(p);
                    text_line(ui, value.clone(), scale::semibold(scale::SMALL), colour);
                }
            }
        });
    }
}

/// A click takes the line nearest to it.
fn pick_line(
    ui: &Ui,
    form: &mut CompareForm,
    response: &Response,
    view: &CompareView,
    lines: &[Strip],
    area: Rect,
) {
    let clicked = response.clicked() && response.interact_pointer_pos().is_some();
    let (Some(at), Some(t), true) = (response.interact_pointer_pos(), form.cursor.cursor_s, clicked) else {
        return;
    };
    let each = (area.height() - 24.0) / lines.len().max(1) as f32;
    let row = ((at.y - area.top()) / each).floor().max(0.0) as usize;
    let Some(strip) = view.strips.strips.get(row.min(lines.len().saturating_sub(1))) else { return };
    let share = 1.0 - f64::from((at.y - area.top() - each * row as f32) / (each - 6.0).max(1.0));
    let value = strip.range.0 + share * (strip.range.1 - strip.range.0);
    let near = |runs: &Vec<Vec<[f64; 2]>>| {
        runs.iter()
            .flatten()
            .map(|p| {
                let dx = (p[0] - t) / (view.strips.span_s.1 - view.strips.span_s.0).max(1e-9);
                let dy = (p[1] - value) / (strip.range.1 - strip.range.0).max(1e-9);
                dx.hypot(dy * 0.5)
            })
            .fold(f64::INFINITY, f64::min)
    };
    let best = strip
        .lines
        .iter()
        .filter(|line| line.name != word!("view-compare-median"))
        .min_by(|a, b| near(&a.runs).total_cmp(&near(&b.runs)));
    if let Some(line) = best {
        let who = form.loaded.iter().find(|(who, one)| one.name == line.name && form.members.contains(who));
        form.picked = who.map(|(who, _)| *who).filter(|who| Some(*who) != form.chosen);
        ui.ctx().request_repaint();
    }
}

fn controls_ui(ui: &mut Ui, form: &mut CompareForm) {
    let present = form.present();
    let names: Vec<String> =
        present.iter().filter_map(|who| form.loaded.get(who)).map(|one| one.name.clone()).collect();
    let name = |who: Option<Who>| who.and_then(|who| form.loaded.get(&who)).map(|one| one.name.clone());
    let (chosen, picked) = (name(form.chosen), name(form.picked));
    ui.horizontal_wrapped(|ui| {
        ui.set_min_height(44.0);
        let shown = chosen.unwrap_or_else(|| word!("dialogs-compare-no-pull").to_owned());
        legend(ui, Emphasis::This);
        if let Some(at) = pick(
            ui,
            Id::unique("compare-chosen"),
            word!("dialogs-compare-chosen-pull"),
            &shown,
            &names,
            190.0,
        ) {
            form.chosen = present.get(at).copied();
        }
        legend(ui, Emphasis::Keeper);
        let mut others = vec![word!("dialogs-compare-none-picked").to_owned()];
        others.extend(names.iter().cloned());
        let shown = picked.clone().unwrap_or_else(|| word!("dialogs-compare-none-picked").to_owned());
        if let Some(at) = pick(
            ui,
            Id::unique("compare-picked"),
            word!("dialogs-compare-picked-pull"),
            &shown,
            &others,
            190.0,
        ) {
            form.picked = at.checked_sub(1).and_then(|at| present.get(at)).copied();
        }
        if let Some(who) = form.picked.or(form.chosen) {
            let mut label = form.label(who);
            let field = TextField::new(word!("dialogs-compare-label"), Id::unique("compare-label"))
                .hint(word!("dialogs-compare-label-2"))
                .width(110.0);
            let response =
                field.bare(ui, &mut label).accessible_name(word!("dialogs-compare-label-of-the-picked-pull"));
            if response.changed() {
                let label: String = label.chars().take(24).collect();
                form.labels.insert(who, label);
            }
        }
        toggle(ui, word!("dialogs-compare-cleaned"), &mut form.clean)
            .on_hover_text(word!("dialogs-compare-spikes-repeats-a-coarse-display-and"));
    });
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = scale::GAP_3;
        let words = [
            word!("dialogs-compare-pump-on"),
            word!("dialogs-compare-first-drip"),
            word!("dialogs-compare-mass"),
            word!("dialogs-compare-best-match"),
        ];
        choice_row(
            ui,
            Id::unique("compare-align"),
            word!("dialogs-compare-aligned-by"),
            &words,
            &mut form.align,
            false,
        );
        if form.align == Some(2) {
            let field =
                TextField::new(word!("dialogs-compare-grams"), Id::unique("compare-mass")).width(64.0);
            field.bare(ui, &mut form.mass).accessible_name(word!("dialogs-compare-cup-mass-at-zero-g"));
        }
        toggle(ui, word!("dialogs-compare-difference"), &mut form.difference);
        toggle(ui, word!("dialogs-compare-median"), &mut form.group)
            .on_hover_text(word!("dialogs-compare-median-and-middle-half-of-all"));
        toggle(ui, word!("dialogs-compare-expected"), &mut form.expected);
    });
}

fn legend(ui: &mut Ui, emphasis: Emphasis) {
    let (rect, _) = ui.allocate_exact_size(vec2(24.0, 44.0), Sense::hover());
    let line = Rect::from_min_max(pos2(rect.left(), rect.top()), rect.max);
    stroke(emphasis).sample(ui, line);
}
