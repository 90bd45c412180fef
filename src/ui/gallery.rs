//! Every widget in every state on one page: what the eye checks after a change, and what pictures are taken of.

use eframe::egui::{
    self, CornerRadius, Frame, Id, Margin, Rect, Sense, Stroke, StrokeKind, Ui, Vec2, pos2, vec2,
};
use egui_plot::PlotPoint;

use super::theme::icons::Icon;
use super::theme::{self, Look, palette, scale};
use super::widgets::*;
use crate::units::{Quantity, UnitPreferences};

/// State of the gallery page.
#[derive(Debug, Default)]
pub struct Gallery {
    dark: bool,
    projector: bool,
    bar: bool,
    name: String,
    note: String,
    dose: String,
    wrong: String,
    marks: [Option<i8>; 6],
    liking: Option<u8>,
    roast: Option<usize>,
    flag: bool,
    view: StripCursor,
}

impl Gallery {
    /// The page with some fields filled.
    #[must_use]
    pub fn new() -> Self {
        Self {
            name: "Quarry Road".to_owned(),
            dose: "18.0".to_owned(),
            wrong: "360".to_owned(),
            marks: [Some(1), None, Some(0), Some(-1), None, None],
            liking: Some(6),
            roast: Some(1),
            flag: true,
            ..Self::default()
        }
    }

    /// Shows the page in one look.
    pub fn set_look(&mut self, dark: bool, projector: bool, bar: bool) {
        (self.dark, self.projector, self.bar) = (dark, projector, bar);
    }

    fn look(&self) -> Look {
        let look = match (self.projector, self.dark) {
            (true, _) => Look::PROJECTOR,
            (false, true) => Look::DARK,
            (false, false) => Look::LIGHT,
        };
        if self.bar { look.for_bar() } else { look }
    }

    /// Draws the page.
    pub fn ui(&mut self, ui: &mut Ui) {
        theme::apply(ui.ctx(), self.look());
        egui::CentralPanel::default_margins().show(ui, |ui| {
            egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.horizontal(|ui| {
                    title(ui, "Gallery");
                    toggle(ui, "Dark", &mut self.dark);
                    toggle(ui, "Projector", &mut self.projector);
                    toggle(ui, "Bar", &mut self.bar);
                });
                ui.columns(2, |columns| {
                    if let [left, right] = columns {
                        self.left(left);
                        self.right(right);
                    }
                });
            });
        });
    }

    fn left(&mut self, ui: &mut Ui) {
        overline(ui, "Next pull");
        let grind = HeroMove {
            what: "Grind".into(),
            from: "14.0".into(),
            to: "12.5".into(),
            words: "3 clicks finer".into(),
            icon: Icon::Finer,
        };
        let stays = "Dose 18.0 g, yield 40 g and 93 °C stay as they are".to_owned();
        Hero { moves: vec![grind], verdict: String::new(), stays }.show(ui);
        Hero { verdict: "Keep this recipe".into(), ..Hero::default() }.show(ui);
        overline(ui, "Clock");
        ClockFace {
            phase: ClockPhase::Dripping,
            seconds: "18.4",
            now_s: 18.4,
            first_drip_s: Some(6.2),
            target: Some(((25.0, 31.0), "25–31 s")),
            next: "Space: cup away",
        }
        .show(ui, 230.0);
        overline(ui, "Buttons");
        ui.horizontal_wrapped(|ui| {
            ui.add(Button::primary("Pull it").key("Space"));
            ui.add(Button::new("Keep this recipe").key("K").icon(Icon::Keeper));
            ui.add(Button::quiet("New bag").icon(Icon::Plus));
            ui.add_enabled(false, Button::new("Not now"));
            icon_button(ui, Icon::Undo, "Undo yield of pull 2", true);
            icon_button(ui, Icon::Redo, "Nothing to redo", false);
        });
        overline(ui, "Icons");
        ui.horizontal_wrapped(|ui| {
            let p = palette(ui);
            for icon in Icon::ALL {
                let (rect, _) = ui.allocate_exact_size(Vec2::splat(28.0), Sense::hover());
                icon.paint(ui.painter(), rect, p.ink);
            }
        });
        overline(ui, "Colours");
        swatches(ui);
        overline(ui, "Words");
        title(ui, "Title 26");
        heading(ui, "Heading 22");
        body(ui, "Body 18: 0123456789 − 1111.11 → 8888.88 °C ± × · … ½ ≤ ≥ µm çğşł Ωж");
        soft(ui, "Second rank, the same size");
        small(ui, "Small 16");
    }

    fn right(&mut self, ui: &mut Ui) {
        let units = UnitPreferences::default();
        overline(ui, "Fields");
        ui.horizontal_top(|ui| {
            NumberField::quantity("Dose", Id::unique("g-dose"), Quantity::Dose, units)
                .show(ui, &mut self.dose);
            let fault =
                Quantity::Yield.parse(&self.wrong, crate::units::Unit::Gram).err().map(|f| f.to_string());
            ui.vertical(|ui| {
                ui.set_max_width(300.0);
                NumberField::quantity("Yield", Id::unique("g-yield"), Quantity::Yield, units)
                    .fault(fault.as_deref(), true)
                    .show(ui, &mut self.wrong);
            });
        });
        TextField::new("Name on the bag", Id::unique("g-name")).show(ui, &mut self.name);
        TextField::new("Note", Id::unique("g-note")).hint("free words").rows(2).show(ui, &mut self.note);
        let words = ["light", "medium-light", "medium", "dark"];
        choice_row(ui, Id::unique("g-roast"), "Roast", &words, &mut self.roast, true);
        toggle(ui, "Spurting", &mut self.flag);
        overline(ui, "Marks");
        mark_head(ui, 430.0);
        let names = ["Sourness", "Bitterness", "Strength", "Body", "Astringency", "Sweetness"];
        for (at, (name, mark)) in names.iter().zip(self.marks.iter_mut()).enumerate() {
            mark_row(ui, Id::unique(("g-mark", at)), name, mark, 430.0);
        }
        liking_row(ui, Id::unique("g-liking"), &mut self.liking, 430.0);
        overline(ui, "Cautions and faults");
        caution_line(ui, Caution::Harm, "Steam and water at the group scald. Keep hands clear.");
        caution_line(ui, Caution::Note, "Let the cup cool a little before you taste.");
        fault_line(ui, "“18g2” is not a number; write digits with one decimal mark");
        overline(ui, "Strips");
        strips(ui, Id::unique("g-strips"), &sample_strips(), (0.0, 34.0), &mut self.view, 320.0, true);
        overline(ui, "Nothing yet");
        empty_state(
            ui,
            Icon::Bag,
            "No bag on the shelf",
            "A bag holds its pulls and what to change next.",
            Some(("Open a bag", "B")),
        );
    }
}

fn swatches(ui: &mut Ui) {
    let p = palette(ui);
    let roles = [
        ("ink", p.ink),
        ("soft", p.soft),
        ("accent", p.accent),
        ("warn", p.warn),
        ("bad", p.bad),
        ("good", p.good),
        ("this", p.this_pull),
        ("before", p.before),
        ("keeper", p.keeper),
        ("rest", p.rest),
        ("edge", p.edge),
    ];
    ui.horizontal_wrapped(|ui| {
        for (name, colour) in roles {
            Frame::NONE.inner_margin(Margin::same(2)).corner_radius(CornerRadius::same(4)).show(ui, |ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(64.0, 44.0), Sense::hover());
                let chip = Rect::from_min_max(rect.min, pos2(rect.right(), rect.top() + 22.0));
                ui.painter().rect(chip, 4.0, colour, Stroke::new(1.0, p.edge), StrokeKind::Inside);
                ui.painter().text(
                    rect.center_bottom(),
                    egui::Align2::CENTER_BOTTOM,
                    name,
                    scale::regular(scale::TICK),
                    p.ink,
                );
            });
        }
    });
}

fn sample_strips() -> Vec<Strip> {
    let curve = |end: f64, f: &dyn Fn(f64) -> f64| -> Vec<Vec<PlotPoint>> {
        vec![(0..=(end * 10.0) as usize).map(|i| i as f64 / 10.0).map(|t| PlotPoint::new(t, f(t))).collect()]
    };
    let line =
        |name: &str, end: &str, stroke, runs| StripLine { name: name.into(), end: end.into(), stroke, runs };
    let pressure = |peak: f64| move |t: f64| peak * (1.0 - (-t / 3.0).exp()) - 0.02 * t;
    let times: Vec<f64> = (0..=30).map(f64::from).collect();
    let low: Vec<f64> = times.iter().map(|t| 1.35 * (t - 9.0).max(0.0)).collect();
    let high: Vec<f64> = times.iter().map(|t| 1.85 * (t - 7.0).max(0.0)).collect();
    vec![
        Strip {
            name: "Pressure".into(),
            unit: "bar".into(),
            range: (0.0, 12.0),
            bands: Vec::new(),
            lines: vec![
                line("pull 1", "", Stroke3::Rest, curve(22.0, &pressure(8.0))),
                line("keeper", "K", Stroke3::Keeper, curve(30.0, &pressure(8.6))),
                line("pull 2", "2", Stroke3::Before, curve(24.0, &pressure(8.3))),
                line("pull 3", "3", Stroke3::This, curve(28.0, &pressure(9.0))),
            ],
            making: Making::default(),
        },
        Strip {
            name: "Cup mass".into(),
            unit: "g".into(),
            range: (0.0, 50.0),
            bands: vec![StripBand { name: "expected".into(), time_s: times, low, high }],
            lines: vec![
                line("keeper", "K", Stroke3::Keeper, curve(30.0, &|t| 1.5 * (t - 7.0).max(0.0))),
                line("pull 2", "2", Stroke3::Before, curve(24.0, &|t| 2.1 * (t - 5.0).max(0.0))),
                line("pull 3", "3", Stroke3::This, curve(28.0, &|t| 1.7 * (t - 6.0).max(0.0))),
            ],
            making: Making::default(),
        },
    ]
}

impl eframe::App for Gallery {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        Self::ui(self, ui);
    }
}
