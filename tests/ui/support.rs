//! A window over a small invented notebook, with a fixed clock and an adviser that answers at once.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{self, Key};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use egui_kittest::{Harness, LazyRenderer};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use thirdpull::domain::*;
use thirdpull::ui::{App, Opened, Options, theme};
use thirdpull::workbench::view::advice::{Advice, Expected, Idea, Reason, Spread, Verdict, Voice};
use thirdpull::workbench::{Adviser, Question, Workbench};

use crate::painter::Painter;

pub type Window = Harness<'static, App>;

pub fn start() -> Timestamp {
    "2026-11-25T09:00:00Z".parse().unwrap()
}

fn id(n: u8) -> Id {
    let early = start() - jiff::SignedDuration::from_hours(48);
    Id::from_parts(early, [n; 10])
}

pub fn gear(refractometer: bool) -> Gear {
    let scale = |what, min, max, step| Scale::new(what, min, max, step).unwrap();
    Gear {
        grind: GrindScale {
            scale: scale("grind", 0.0, 30.0, 0.5),
            finer: Finer::Lower,
            um_per_unit: None,
            retained_g: 0.5,
            stepless: false,
        },
        dose_g: scale("dose", 16.0, 20.0, 0.1),
        yield_g: scale("yield", 20.0, 60.0, 0.5),
        temperature_c: Some(scale("temperature", 88.0, 96.0, 0.5)),
        pressure_bar: Some(9.0),
        refractometer,
    }
}

/// One station, one drinker, two bags; the first with `pulls` pulls, the second resting.
pub fn notebook(pulls: usize) -> Notebook {
    let mut notebook = Notebook::default();
    let stamp = Stamp::new(start());
    let station = Station {
        id: StationId(id(1)),
        stamp,
        name: "Attic kitchen".into(),
        grinder_name: "the little one".into(),
        machine_name: String::new(),
        gear: gear(true),
        basket: Basket { diameter_mm: 58.0, stated_dose_g: 18.0 },
        archived: false,
        note: String::new(),
    };
    let drinker =
        Drinker { id: DrinkerId(id(2)), stamp, name: "Odile".into(), archived: false, note: String::new() };
    let (station_id, drinker_id) = (station.id, drinker.id);
    let bag = |n: u8, name: &str| Bag {
        id: BagId(id(n)),
        stamp,
        name: name.into(),
        roaster: "Tin Gable".into(),
        roast: Some(Roast::MediumLight),
        process: Some(Process::Washed),
        roasted_on: Some(jiff::civil::date(2026, 11, 14)),
        opened_on: (n == 3).then(|| jiff::civil::date(2026, 11, 24)),
        mass_g: Some(250.0),
        price: None,
        station: station_id,
        drinker: drinker_id,
        start: StartRecipe { grind: Some(14.0), dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: Vec::new(),
    };
    notebook.put(Record::Station(Box::new(station)));
    notebook.put(Record::Drinker(Box::new(drinker)));
    let first = bag(3, "Quarry Road");
    let bag_id = first.id;
    notebook.put(Record::Bag(Box::new(first)));
    notebook.put(Record::Bag(Box::new(bag(4, "Two Lakes"))));
    for n in 0..pulls {
        let at = start() - jiff::SignedDuration::from_mins(10 * (pulls - n) as i64);
        let mut taste = Taste::default();
        taste.set_mark(Attribute::Sourness, Mark::new(2 - n as i64 % 3));
        taste.set_liking(Some(4 + n as i64 % 4));
        let pull = Pull {
            id: PullId(Id::from_parts(at, [n as u8; 10])),
            stamp: Stamp::new(at),
            pulled_at: at,
            station: station_id,
            pulled_by: String::new(),
            plan: None,
            used: Recipe {
                grind: 15.0 - n as f64 * 0.5,
                dose_g: 18.0,
                yield_g: 36.0,
                temperature_c: Some(93.0),
            },
            time_s: Some(18.0 + n as f64),
            first_drip_s: Some(6.0),
            tds_pct: None,
            taste,
            flags: Flags::default(),
            note: String::new(),
            has_trace: false,
        };
        notebook.put(Record::Pull(bag_id, Box::new(pull)));
    }
    notebook
}

/// Always one click finer than the last pull; the keeper once liking reached 8.
pub fn adviser() -> Adviser {
    Arc::new(|question: &Question| {
        let last = question.bag.live_pulls().next_back();
        let from = last.map(|pull| question.station.gear.snap(&pull.used));
        let start = Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };
        let base = from.unwrap_or(start);
        let settled = last.is_some_and(|pull| pull.taste.liking() >= Some(8));
        let recipe =
            if settled || from.is_none() { base } else { Recipe { grind: base.grind - 0.5, ..base } };
        let spread = |p50: f64, by: f64| Spread { p10: p50 - by, p50, p90: p50 + by };
        let expect = Expected {
            time_s: spread(28.0, 3.0),
            tds_pct: spread(9.0, 0.4),
            extraction_pct: spread(19.0, 1.0),
            liking: spread(7.0, 1.0),
        };
        let longer = Idea {
            recipe: Recipe { yield_g: 40.0, ..base },
            expect: Expected { time_s: spread(31.0, 3.0), ..expect },
            chance_near_best: 0.5,
            text: "a longer cup tames sourness".into(),
        };
        Advice {
            verdict: if settled { Verdict::Settled } else { Verdict::Adjust },
            recipe,
            from,
            as_planned: false,
            expect,
            best: recipe,
            best_time_s: 28.0,
            tolerance: Tolerance::default(),
            chance_near_best: 0.7,
            reasons: ["the last pull ran fast", "it was marked sour"]
                .map(|text| Reason { voice: Voice::Rule, id: "test".into(), text: text.into() })
                .to_vec(),
            alternatives: vec![longer],
            beliefs: vec!["one click changes the time by about 8 %".into()],
            tomorrow: None,
            conflict: None,
        }
    })
}

pub fn options(notebook: Notebook, read_only: Option<&str>) -> Options {
    let demo = notebook.demo;
    let begin = move || {
        let bench = Workbench::new(Notebook::default(), None, None);
        Ok(Opened { bench, place: "memory".into(), problems: Vec::new() })
    };
    Options {
        opened: Opened {
            bench: Workbench::new(notebook, None, read_only.map(str::to_owned)),
            place: "memory".into(),
            problems: Vec::new(),
        },
        adviser: adviser(),
        begin_own: demo.then(|| Box::new(begin) as thirdpull::ui::BeginOwn),
        now: Box::new(start),
        zone: TimeZone::UTC,
        timing: None,
    }
}

pub fn window_of(options: Options, size: [f32; 2], scale: f32) -> Window {
    built(size, scale, move |ctx| App::new(ctx, options))
}

/// A window that keeps its settings in a folder.
pub fn window_remembering(options: Options, settings: &Path) -> Window {
    let settings = settings.to_owned();
    built([1280.0, 800.0], 1.0, move |ctx| App::new(ctx, options).remembering(&settings))
}

fn built(size: [f32; 2], scale: f32, app: impl FnOnce(&egui::Context) -> App) -> Window {
    let mut window = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(scale)
        .with_max_steps(24)
        .with_step_dt(0.1)
        .with_context_setup(theme::install)
        .renderer(LazyRenderer::new(Painter::default))
        .build_eframe(move |cc| app(&cc.egui_ctx));
    settle(&mut window);
    window
}

pub fn window(pulls: usize) -> Window {
    window_of(options(notebook(pulls), None), [1280.0, 800.0], 1.0)
}

/// Runs until the worker has answered and nothing wants to be drawn any more.
pub fn settle(window: &mut Window) {
    window.run_ok();
    wait_for(window, "the end of the thinking", |window| !window.state().is_thinking());
    window.run();
}

/// Longest wait for a thread. A busy machine takes minutes over what the tests' build computes in half of one.
const PATIENCE: Duration = Duration::from_secs(300);

/// Runs until something is so that a thread brings about.
pub fn wait_for(window: &mut Window, what: &str, ready: impl Fn(&Window) -> bool) {
    let until = Instant::now() + PATIENCE;
    while !ready(window) {
        assert!(Instant::now() < until, "{what} never came; shown: {}", names(window));
        std::thread::sleep(Duration::from_millis(25));
        window.step();
    }
}

pub fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    settle(window);
}

pub fn press_with(window: &mut Window, modifiers: egui::Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    settle(window);
}

/// Types into whatever has the focus, letter by letter as a keyboard does.
pub fn type_keys(window: &mut Window, text: &str) {
    for letter in text.chars() {
        window.event(egui::Event::Text(letter.to_string()));
        window.step();
    }
    settle(window);
}

pub fn click(window: &mut Window, label: &str) {
    if window.query_by_label(label).is_none() {
        println!("looked for “{label}” among: {}", names(window));
    }
    window.get_by_label(label).click();
    settle(window);
}

pub fn shows(window: &Window, part: &str) -> bool {
    window
        .query_all_by(|node| {
            node.label().is_some_and(|l| l.contains(part)) || node.value().is_some_and(|v| v.contains(part))
        })
        .next()
        .is_some()
}

/// Every text that is painted, with its colour: what has no name of its own too.
pub fn painted(window: &Window) -> Vec<(String, egui::Color32)> {
    fn walk(shape: &egui::Shape, into: &mut Vec<(String, egui::Color32)>) {
        match shape {
            egui::Shape::Vec(shapes) => shapes.iter().for_each(|shape| walk(shape, into)),
            egui::Shape::Text(text) => {
                let own = text.galley.job.sections.first().map(|section| section.format.color);
                let own = own.filter(|colour| *colour != egui::Color32::PLACEHOLDER);
                let colour = text.override_text_color.or(own).unwrap_or(text.fallback_color);
                into.push((text.galley.job.text.clone(), colour.gamma_multiply(text.opacity_factor)));
            }
            _ => {}
        }
    }
    let mut all = Vec::new();
    window.output().shapes.iter().for_each(|clipped| walk(&clipped.shape, &mut all));
    all
}

/// Every text that is painted with its end cut off.
pub fn cut_off(window: &Window) -> Vec<String> {
    fn walk(shape: &egui::Shape, into: &mut Vec<String>) {
        match shape {
            egui::Shape::Vec(shapes) => shapes.iter().for_each(|shape| walk(shape, into)),
            egui::Shape::Text(text) if text.galley.elided => into.push(text.galley.job.text.clone()),
            _ => {}
        }
    }
    let mut all = Vec::new();
    window.output().shapes.iter().for_each(|clipped| walk(&clipped.shape, &mut all));
    all
}

/// A key as a keyboard sends it: the key, and the letter that it types.
pub fn strike(window: &mut Window, key: Key, types: &str) {
    window.key_press(key);
    window.event(egui::Event::Text(types.to_owned()));
    settle(window);
}

/// Everything that has a name, for messages of failed tests.
pub fn names(window: &Window) -> String {
    let nodes = window.query_all_by(|node| node.label().is_some() || node.value().is_some());
    let name = |node: &egui_kittest::Node<'_>| {
        node.accesskit_node().label().or_else(|| node.accesskit_node().value())
    };
    nodes.filter_map(|node| name(&node)).collect::<Vec<_>>().join(" | ")
}

pub fn bag(window: &Window) -> Bag {
    window.state().bench().notebook().bags[0].clone()
}

/// Counts what a hand does.
pub struct Hand<'a> {
    pub window: &'a mut Window,
    pub presses: u32,
    pub taps: u32,
    /// Times that a person looks, reads or decides before going on.
    pub thoughts: u32,
}

impl<'a> Hand<'a> {
    pub fn of(window: &'a mut Window) -> Self {
        Self { window, presses: 0, taps: 0, thoughts: 0 }
    }

    pub fn key(&mut self, key: Key) {
        self.presses += 1;
        press(self.window, key);
    }

    /// The key of the clock, which goes on running.
    pub fn clock(&mut self) {
        self.presses += 1;
        self.window.key_press(Key::Space);
        self.window.run_steps(2);
    }

    pub fn digits(&mut self, text: &str) {
        for letter in text.chars() {
            self.presses += 1;
            self.window.event(egui::Event::Text(letter.to_string()));
            self.window.run_steps(2);
        }
    }

    pub fn tap(&mut self, label: &str) {
        self.taps += 1;
        self.thoughts += 1;
        click(self.window, label);
    }

    /// Seconds by the keystroke-level model: S. K. Card, T. P. Moran and A. Newell, *The keystroke-level model for user
    /// performance time with interactive systems*, Comm. ACM 23:396–410, 1980 \[values as remembered\]: a key press 0.28 s
    /// for an average typist that is no secretary, 0.50 s for random letters; pointing 1.10 s; making up one's mind
    /// 1.35 s.
    pub fn seconds(&self, press_s: f64) -> f64 {
        f64::from(self.presses) * press_s
            + f64::from(self.taps) * (1.10 + press_s)
            + f64::from(self.thoughts) * 1.35
    }
}
