//! What the engine believes: the taste map, and what would come of any recipe.

use eframe::egui::{self, Id, Slider, Ui, vec2};

use super::{Dialog, Fate, first_focus};
use crate::domain::{Gear, Lever, Recipe};
use crate::ui::app::App;
use crate::ui::page::strips::drawn;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, MapLook, NumberField, Strip, StripCursor, body, choice_row, overline, pick, small, small_height,
    soft, strips, taste_map, text_line, toggle,
};
use crate::units::{Quantity, UnitPreferences, parse_number};
use crate::workbench::Believed;
use crate::workbench::draft::{typed, typed_setting};
use crate::workbench::view::advice::Advice;
use crate::workbench::view::lever_word;
use crate::workbench::view::strips::{Emphasis, Laid, StripsView, strips as strips_view};
use crate::workbench::view::taste_map::pairs;
use crate::workbench::view::what_if::{Against, WhatIf, what_if};

/// What is looked at.
pub struct BeliefsForm {
    sheet: Option<usize>,
    pair: usize,
    numbers: bool,
    /// The recipe looked at; `None` is the next pull, or where the advice is covered what it would change.
    recipe: Option<Recipe>,
    texts: [String; 4],
    texts_of: Option<Recipe>,
    cursor: StripCursor,
    made: Option<(Key, WhatIf, StripsView, Vec<Strip>)>,
    focused: bool,
}

/// Recipe, notebook's revision, whether the shapes of pulls are known, whether the last trace is at hand.
type Key = (Recipe, u64, bool, bool);

impl BeliefsForm {
    /// With the taste map, or with what-if.
    #[must_use]
    pub fn new(what_if: bool) -> Self {
        Self {
            sheet: Some(usize::from(what_if)),
            pair: 0,
            numbers: false,
            recipe: None,
            texts: Default::default(),
            texts_of: None,
            cursor: StripCursor::default(),
            made: None,
            focused: false,
        }
    }

    /// Name of the dialog.
    pub(super) fn title(&self) -> &'static str {
        if self.sheet == Some(1) {
            word!("dialogs-beliefs-what-if")
        } else {
            word!("dialogs-beliefs-what-it-believes")
        }
    }
}

fn map_id() -> Id {
    Id::unique("taste-map")
}

impl App {
    pub(super) fn beliefs_ui(
        &mut self,
        ui: &mut Ui,
        mut form: Box<BeliefsForm>,
        width: f32,
        height: f32,
    ) -> Fate {
        let (Some(gear), Some(advice)) = (self.gear(), self.advice().cloned()) else {
            soft(
                ui,
                if self.bag().is_some() {
                    word!("dialogs-beliefs-working-it-out")
                } else {
                    word!("dialogs-beliefs-choose-a-bag-first")
                },
            );
            return Fate::Stay(Dialog::Beliefs(form));
        };
        let pairs = pairs(&gear);
        let pair = pairs.get(form.pair).copied().unwrap_or((Lever::Grind, Lever::Yield));
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_4;
            choice_row(
                ui,
                Id::unique("beliefs-sheet"),
                word!("dialogs-beliefs-shown"),
                &[word!("dialogs-beliefs-taste-map"), word!("dialogs-beliefs-what-if")],
                &mut form.sheet,
                false,
            );
            if form.sheet != Some(1) {
                let word = |(a, b): &(Lever, Lever)| {
                    say!(
                        "dialogs-beliefs-and",
                        lever_word = lever_word(*a),
                        to_lowercase = lever_word(*b).to_lowercase()
                    )
                };
                let words: Vec<String> = pairs.iter().map(word).collect();
                let id = Id::unique("beliefs-levers");
                if let Some(at) =
                    pick(ui, id, word!("dialogs-beliefs-over-which-levers"), &word(&pair), &words, 230.0)
                {
                    form.pair = at;
                }
                toggle(ui, word!("dialogs-beliefs-as-numbers"), &mut form.numbers);
            }
        });
        let Some(believed) = self.believed(pair) else {
            soft(ui, word!("dialogs-beliefs-working-it-out"));
            ui.allocate_space(vec2(width, (height - 90.0).max(60.0)));
            return Fate::Stay(Dialog::Beliefs(form));
        };
        let against = self.decided_from().map_or(Against::Next(advice.recipe), Against::From);
        let recipe = form.recipe.map_or(against.recipe(), |recipe| gear.snap(&recipe));
        self.make_what_if(&mut form, &believed, &recipe, &against);
        let room = (height - 64.0).max(220.0);
        // The least height too: a dialog's area remembers how small another sheet was.
        let area = egui::ScrollArea::vertical().id_salt("beliefs").max_height(room).min_scrolled_height(room);
        let area = area.auto_shrink([false, true]);
        area.show(ui, |ui| {
            let narrow = width < 780.0;
            let part = if narrow { width - 16.0 } else { (width - scale::GAP_5 - 16.0) * 0.54 };
            let rest = if narrow { width - 16.0 } else { width - part - scale::GAP_5 - 16.0 };
            let tall = (room - 8.0).max(300.0);
            let mut both = |ui: &mut Ui, second: bool| {
                let wide = if second { rest } else { part };
                ui.allocate_ui_with_layout(
                    vec2(wide, 40.0),
                    egui::Layout::top_down(egui::Align::LEFT),
                    |ui| {
                        ui.set_width(wide);
                        ui.spacing_mut().item_spacing.y = scale::GAP_2;
                        match (form.sheet == Some(1), second) {
                            (false, false) => self.map_ui(ui, &mut form, &believed, &recipe, tall),
                            (false, true) => self.told_ui(ui, &mut form, &believed, &advice),
                            (true, false) => {
                                self.levers_ui(ui, &mut form, &gear, &recipe, &believed, &advice)
                            }
                            (true, true) => self.foreseen_ui(ui, &mut form, tall),
                        }
                    },
                );
            };
            if narrow {
                both(ui, false);
                both(ui, true);
            } else {
                ui.horizontal_top(|ui| {
                    ui.spacing_mut().item_spacing.x = scale::GAP_5;
                    both(ui, false);
                    both(ui, true);
                });
            }
        });
        Fate::Stay(Dialog::Beliefs(form))
    }

    /// What would come of the recipe looked at, with its strips; made anew only when something differs.
    fn make_what_if(
        &mut self,
        form: &mut BeliefsForm,
        believed: &Believed,
        recipe: &Recipe,
        against: &Against,
    ) {
        let foresight = self.foresight();
        let last = self.bag().and_then(|bag| {
            let pull = bag.live_pulls().rev().find(|pull| pull.has_trace)?;
            Some((bag.id, pull.id, crate::workbench::number_of(bag, pull.id)))
        });
        let trace = last.and_then(|(bag, pull, number)| Some((number, self.bench.trace(bag, pull)?)));
        let key = (*recipe, believed.of.0, foresight.is_some(), trace.is_some());
        if form.made.as_ref().is_some_and(|(known, ..)| *known == key) {
            return;
        }
        let units = self.units();
        let seen = what_if(&believed.outlook, foresight.as_deref(), recipe, against, &units);
        let laid: Vec<Laid<'_>> = trace
            .iter()
            .map(|(number, trace)| Laid {
                name: say!("dialogs-beliefs-pull", number = number),
                end: number.to_string(),
                emphasis: Emphasis::Before,
                shift_s: 0.0,
                trace,
            })
            .collect();
        let mut view = strips_view(&laid, &units);
        if let Some(foreseen) = &seen.foreseen {
            view.lay_band(word!("dialogs-beliefs-expected"), &foreseen.band, 0.0, &units);
            let channels = &foreseen.band.channels;
            view.strips.retain(|strip| channels.iter().any(|(channel, _)| *channel == strip.channel));
        }
        let lines = drawn(&view);
        form.made = Some((key, seen, view, lines));
    }

    fn map_ui(
        &mut self,
        ui: &mut Ui,
        form: &mut BeliefsForm,
        believed: &Believed,
        recipe: &Recipe,
        height: f32,
    ) {
        let units = self.units();
        let gear = *believed.outlook.gear();
        if form.numbers {
            return numbers_ui(ui, believed, &gear, &units);
        }
        ui.add_space(4.0);
        let covered = self.decided_from().is_some();
        let hint = if covered {
            word!("dialogs-beliefs-lines-equal-liking-covered")
        } else {
            word!("dialogs-beliefs-lines-equal-liking-hatched-unsure-by")
        };
        let under = small_height(ui, hint) + 2.0 * ui.spacing().item_spacing.y;
        let outcome = taste_map(
            ui,
            map_id(),
            &believed.map,
            &gear,
            &units,
            recipe,
            MapLook { height: (height - under).clamp(240.0, 620.0), covered },
        );
        if let Some(moved) = outcome.moved {
            form.recipe = Some(moved);
            ui.ctx().request_repaint();
        }
        if !form.focused {
            form.focused = first_focus(ui, map_id());
        }
        small(ui, hint);
    }

    /// The place looked at, in words, and what is believed beside it.
    fn told_ui(&mut self, ui: &mut Ui, form: &mut BeliefsForm, believed: &Believed, advice: &Advice) {
        self.read_out_ui(ui, form);
        let covered = self.decided_from().is_some();
        if !covered {
            ui.horizontal_wrapped(|ui| {
                let best = Button::new(word!("dialogs-beliefs-best")).key(word!("dialogs-beliefs-home"));
                if ui.add(best).clicked() {
                    form.recipe = Some(believed.map.best);
                }
                let next = Button::new(word!("dialogs-beliefs-next-pull")).key(word!("dialogs-beliefs-end"));
                if ui.add(next).clicked() {
                    form.recipe = Some(believed.map.next);
                }
            });
        }
        ui.add_space(scale::GAP_2);
        overline(ui, word!("dialogs-beliefs-what-it-believes"));
        for belief in &advice.beliefs {
            body(ui, belief.clone());
        }
        if let Some(tomorrow) = advice.tomorrow.as_ref().filter(|_| !covered) {
            body(ui, tomorrow.clone());
        }
    }

    fn read_out_ui(&mut self, ui: &mut Ui, form: &BeliefsForm) {
        let (p, units) = (palette(ui), self.units());
        let Some((_, seen, ..)) = &form.made else { return };
        ui.scope(|ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            ui.spacing_mut().interact_size.y = 26.0;
            let line = text_line(ui, seen.recipe.clone(), scale::semibold(scale::BODY), p.ink);
            // Read out as one sentence whenever it changes.
            line.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, seen.sentence(&units)));
            egui::Grid::new("what-if-rows").num_columns(3).spacing(vec2(scale::GAP_4, 2.0)).show(ui, |ui| {
                // The columns are as wide as their longest words.
                let cell = |ui: &mut Ui, text: String, font, colour| {
                    ui.add(egui::Label::new(egui::RichText::new(text).font(font).color(colour)).extend());
                };
                for row in &seen.rows {
                    cell(ui, row.name.to_owned(), scale::regular(scale::BODY), p.soft);
                    cell(ui, row.range.clone(), scale::semibold(scale::HEADING), p.ink);
                    cell(
                        ui,
                        say!("dialogs-beliefs-middle", middle = row.middle),
                        scale::regular(scale::SMALL),
                        p.soft,
                    );
                    ui.end_row();
                }
            });
            let (mean, sd) = (units.number(seen.standing.mean, 1), units.number(seen.standing.sd, 1));
            soft(ui, say!("dialogs-beliefs-mean-liking", mean = mean, sd = sd, against = seen.against));
        });
    }

    fn levers_ui(
        &mut self,
        ui: &mut Ui,
        form: &mut BeliefsForm,
        gear: &Gear,
        recipe: &Recipe,
        believed: &Believed,
        advice: &Advice,
    ) {
        let units = self.units();
        if form.texts_of != Some(*recipe) {
            form.texts = Lever::ALL.map(|lever| written(lever, recipe, gear, &units));
            form.texts_of = Some(*recipe);
        }
        let mut new = *recipe;
        for (at, lever) in Lever::ALL.into_iter().enumerate() {
            let (Some(scale_of), Some(value), Some(text)) =
                (gear.scale(lever), recipe.get(lever), form.texts.get_mut(at))
            else {
                continue;
            };
            let id = Id::unique(("what-if", at));
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = scale::GAP_4;
                let field = field(lever, id, gear, &units).step(scale_of.step());
                let outcome = ui.vertical(|ui| field.show(ui, text)).inner;
                if outcome.changed
                    && let Some(typed) = read(lever, text, &units)
                {
                    new = new.with(lever, scale_of.snap(typed));
                }
                ui.vertical(|ui| {
                    ui.add_space(24.0);
                    let mut place = scale_of.index_of(value);
                    ui.spacing_mut().slider_width = (ui.available_width() - 12.0).max(60.0);
                    // Track and handle 3:1 against the page, the part below the value in the accent.
                    let p = palette(ui);
                    let visuals = ui.visuals_mut();
                    for state in [
                        &mut visuals.widgets.inactive,
                        &mut visuals.widgets.hovered,
                        &mut visuals.widgets.active,
                    ] {
                        state.bg_fill = p.edge;
                    }
                    visuals.selection.bg_fill = p.accent;
                    let slider = Slider::new(&mut place, 0..=scale_of.count() - 1)
                        .show_value(false)
                        .trailing_fill(true);
                    let response = ui.add(slider);
                    let word = lever_word(lever);
                    let shown = written(lever, recipe, gear, &units);
                    response.widget_info(|| {
                        egui::WidgetInfo::slider(
                            true,
                            value,
                            say!("dialogs-beliefs-slider", word = word, shown = shown),
                        )
                    });
                    if response.changed() {
                        new = new.with(lever, scale_of.at(place));
                    }
                });
            });
        }
        if new != *recipe {
            form.recipe = Some(new);
            // What is being typed stays as typed.
            let focused = ui.memory(|memory| memory.focused());
            let typing = (0..4).any(|at| focused == Some(Id::unique(("what-if", at))));
            form.texts_of = if typing { Some(gear.snap(&new)) } else { None };
            ui.ctx().request_repaint();
        }
        if self.decided_from().is_none() {
            ui.horizontal_wrapped(|ui| {
                if ui.add(Button::new(word!("dialogs-beliefs-next-pull"))).clicked() {
                    form.recipe = Some(advice.recipe);
                }
                if ui.add(Button::new(word!("dialogs-beliefs-best"))).clicked() {
                    form.recipe = Some(believed.map.best);
                }
            });
        }
        self.read_out_ui(ui, form);
    }

    fn foreseen_ui(&mut self, ui: &mut Ui, form: &mut BeliefsForm, height: f32) {
        let Some((key, seen, view, lines)) = form.made.take() else { return };
        overline(ui, word!("dialogs-beliefs-expected-trace"));
        if seen.foreseen.is_none() {
            soft(
                ui,
                if key.2 {
                    word!("dialogs-beliefs-the-model-knows-no-pull-of")
                } else {
                    word!("dialogs-beliefs-working-it-out")
                },
            );
        }
        if !lines.is_empty() {
            let mut cursor = form.cursor.clone();
            let tall = (height - 84.0).clamp(200.0, 520.0);
            strips(ui, Id::unique("what-if-strips"), &lines, view.span_s, &mut cursor, tall, true);
            form.cursor = cursor;
            let dashed = lines.iter().any(|strip| !strip.lines.is_empty());
            small(
                ui,
                if dashed {
                    word!("dialogs-beliefs-band-expected-dashed-the-last-trace")
                } else {
                    word!("dialogs-beliefs-band-expected")
                },
            );
        }
        form.made = Some((key, seen, view, lines));
    }
}

fn numbers_ui(ui: &mut Ui, believed: &Believed, gear: &Gear, units: &UnitPreferences) {
    let p = palette(ui);
    let columns = ((ui.available_width() - 120.0) / 92.0).floor().clamp(2.0, 8.0) as usize;
    let (head, rows) = believed.map.table(gear, units, columns, 9);
    egui::Grid::new("taste-numbers").spacing(vec2(scale::GAP_3, 2.0)).striped(true).show(ui, |ui| {
        ui.label("");
        for name in &head {
            text_line(ui, name.clone(), scale::regular(scale::TICK), p.soft);
        }
        ui.end_row();
        for (name, cells) in &rows {
            text_line(ui, name.clone(), scale::regular(scale::TICK), p.soft);
            for (cell, column) in cells.iter().zip(&head) {
                let label = text_line(ui, cell.clone(), scale::semibold(scale::TICK), p.ink);
                let text = say!("dialogs-beliefs-liking", column = column, name = name, cell = cell);
                label.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &text));
            }
            ui.end_row();
        }
    });
    small(ui, word!("dialogs-beliefs-mean-liking-its-standard-deviation"));
}

fn field(lever: Lever, id: Id, gear: &Gear, units: &UnitPreferences) -> NumberField<'static> {
    let word = lever_word(lever);
    match lever {
        Lever::Grind => NumberField::plain(word, id, gear.grind.scale.decimals(), *units),
        Lever::Dose => NumberField::quantity(word, id, Quantity::Dose, *units),
        Lever::Yield => NumberField::quantity(word, id, Quantity::Yield, *units),
        Lever::Temperature => NumberField::quantity(word, id, Quantity::Temperature, *units),
    }
}

fn quantity(lever: Lever) -> Option<Quantity> {
    match lever {
        Lever::Grind => None,
        Lever::Dose => Some(Quantity::Dose),
        Lever::Yield => Some(Quantity::Yield),
        Lever::Temperature => Some(Quantity::Temperature),
    }
}

fn written(lever: Lever, recipe: &Recipe, gear: &Gear, units: &UnitPreferences) -> String {
    let Some(value) = recipe.get(lever) else { return String::new() };
    match quantity(lever) {
        Some(quantity) => typed(quantity, value, units),
        None => typed_setting(value, gear.grind.scale.decimals(), units),
    }
}

fn read(lever: Lever, text: &str, units: &UnitPreferences) -> Option<f64> {
    match quantity(lever) {
        Some(quantity) => quantity.parse(text, units.typed_unit(quantity)).ok(),
        None => parse_number(text).ok(),
    }
}
