//! The strips of a page: which pulls are laid over each other, the legend, the values under the cursor.

use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use eframe::egui::{Align2, Id, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use egui_plot::PlotPoint;

use crate::domain::{BagId, PullId, Recipe, Trace};
use crate::ui::actions::Action;
use crate::ui::app::App;
use crate::ui::dialogs::Dialog;
use crate::ui::state::Aligned;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Making, Strip, StripBand, StripLine, Stroke3, empty_state, icon_button, line_at, overline,
    strips, text_line,
};
use crate::workbench::view::advice::shown;
use crate::workbench::view::foresee::Foresight;
use crate::workbench::view::strips::{Emphasis, Laid, StripsView, strips as strips_view, values_at};

/// What a strips view was made from.
pub type StripsKey = (BagId, u64, Vec<(PullId, Emphasis)>, bool, usize, bool);

/// Traces fetched in one frame at most, so that laying many over each other never freezes the window.
const FETCH: usize = 3;

const TABLE: f32 = 118.0;

pub(in crate::ui) fn stroke(emphasis: Emphasis) -> Stroke3 {
    match emphasis {
        Emphasis::This => Stroke3::This,
        Emphasis::Before => Stroke3::Before,
        Emphasis::Keeper => Stroke3::Keeper,
        Emphasis::Rest => Stroke3::Rest,
    }
}

/// The strips of a view as the widget takes them.
pub(in crate::ui) fn drawn(view: &StripsView) -> Vec<Strip> {
    let points = |run: &Vec<[f64; 2]>| run.iter().map(|[x, y]| PlotPoint::new(*x, *y)).collect();
    view.strips
        .iter()
        .map(|strip| Strip {
            name: strip.name.to_owned(),
            unit: strip.unit.to_owned(),
            range: strip.range,
            bands: strip
                .bands
                .iter()
                .map(|band| StripBand {
                    name: band.name.clone(),
                    time_s: band.edges.iter().map(|edge| edge[0]).collect(),
                    low: band.edges.iter().map(|edge| edge[1]).collect(),
                    high: band.edges.iter().map(|edge| edge[2]).collect(),
                })
                .collect(),
            lines: strip
                .lines
                .iter()
                .map(|line| StripLine {
                    name: line.name.clone(),
                    end: line.end.clone(),
                    stroke: stroke(line.emphasis),
                    runs: line.runs.iter().map(points).collect(),
                })
                .collect(),
            making: Making::default(),
        })
        .collect()
}

impl App {
    /// The pulls to lay over each other, each with its emphasis; only those with a trace.
    pub(in crate::ui) fn laid(&self) -> Vec<(PullId, Emphasis)> {
        let Some(bag) = self.bag() else { return Vec::new() };
        let Some(this) = self.pull().map(|pull| pull.id) else { return Vec::new() };
        let keeper = bag.keeper.as_ref().and_then(|keeper| keeper.from_pull);
        let traced: Vec<PullId> =
            bag.live_pulls().filter(|pull| pull.has_trace).map(|pull| pull.id).collect();
        let this_at = traced.iter().position(|id| *id == this);
        let before = match this_at {
            Some(at) => at.checked_sub(1).and_then(|at| traced.get(at)).copied(),
            None => bag
                .live_pulls()
                .take_while(|pull| pull.id != this)
                .filter(|pull| pull.has_trace)
                .last()
                .map(|pull| pull.id),
        };
        traced
            .into_iter()
            .filter_map(|id| {
                let emphasis = if id == this {
                    Emphasis::This
                } else if Some(id) == keeper {
                    Emphasis::Keeper
                } else if Some(id) == before {
                    Emphasis::Before
                } else if self.page.overlay_all || self.page.overlay.contains(&id) {
                    Emphasis::Rest
                } else {
                    return None;
                };
                Some((id, emphasis))
            })
            .collect()
    }

    pub(super) fn strips_ui(&mut self, ui: &mut Ui, height: f32) {
        let start = ui.cursor().top();
        if self.live_ui(ui, height) {
            return;
        }
        let height = height - (ui.cursor().top() - start);
        let top = ui.cursor().top();
        let mut laid = self.laid();
        if matches!(self.dialog, Some(Dialog::Compare(_))) {
            // Behind the comparison, which covers nearly all of it, the page needs no crowd of its own.
            laid.retain(|(_, emphasis)| *emphasis != Emphasis::Rest);
        }
        if laid.is_empty() {
            overline(ui, word!("page-strips-strips"));
            let (text, action) = match self.pull() {
                Some(_) => (
                    word!("page-strips-drop-a-file-on-the-window"),
                    Some((word!("page-strips-attach-a-trace-file"), "T")),
                ),
                None => (word!("page-strips-a-pulls-trace-shows-here-laid"), None),
            };
            if empty_state(ui, Icon::Trace, word!("page-strips-no-trace"), text, action) {
                self.act(&ui.ctx().clone(), Action::Import);
            }
            return;
        }
        let traces = self.fetch(ui, &laid);
        let band = self.foreseen();
        let view = self.strips_view(&laid, &traces, band.as_ref());
        self.strips_head_ui(ui, &laid);
        let lines = self.lines(&laid, traces.len(), band.is_some(), &view);
        let left = (height - (ui.cursor().top() - top) - 2.0).max(160.0);
        let width = ui.available_width();
        let (area, _) = ui.allocate_exact_size(vec2(width, left), Sense::hover());
        let plots = Rect::from_min_max(area.min, pos2(area.right() - TABLE, area.bottom()));
        let mut cursor = self.page.cursor.clone();
        let mut child = ui.new_child(eframe::egui::UiBuilder::new().max_rect(plots).id_salt("strips"));
        strips(&mut child, Id::unique("strips"), &lines, view.span_s, &mut cursor, left, false);
        self.page.cursor = cursor;
        self.values_ui(ui, &view, Rect::from_min_max(pos2(plots.right() + 10.0, area.top()), area.max));
    }

    fn fetch(&mut self, ui: &Ui, laid: &[(PullId, Emphasis)]) -> BTreeMap<PullId, Arc<Trace>> {
        let mut traces = BTreeMap::new();
        let Some(bag) = self.page.bag else { return traces };
        let mut fetched = 0;
        for (pull, _) in laid.iter().rev() {
            if !self.bench.has_trace_at_hand(*pull) {
                if fetched >= FETCH || self.frames() < 2 {
                    ui.ctx().request_repaint();
                    continue;
                }
                fetched += 1;
            }
            if let Some(trace) = self.bench.trace(bag, *pull) {
                traces.insert(*pull, trace);
            }
        }
        traces
    }

    /// The trace to expect of the next pull, where it is to be seen: what it takes, to be worked out when needed.
    fn foreseen(&mut self) -> Option<(Rc<Foresight>, Recipe, [f64; 3])> {
        if self.page.no_expected || self.is_covered() {
            return None;
        }
        let (recipe, expect) = shown(self.advice()?, self.page.idea);
        let time = expect.time_s;
        Some((self.foresight()?, recipe, [time.p10, time.p50, time.p90]))
    }

    fn strips_view(
        &mut self,
        laid: &[(PullId, Emphasis)],
        traces: &BTreeMap<PullId, Arc<Trace>>,
        band: Option<&(Rc<Foresight>, Recipe, [f64; 3])>,
    ) -> std::rc::Rc<StripsView> {
        let Some(bag) = self.page.bag else { return std::rc::Rc::default() };
        let by_drip = self.page.aligned == Aligned::FirstDrip;
        let key = (bag, self.bench.revision(), laid.to_vec(), by_drip, traces.len(), band.is_some());
        let units = self.units();
        let notebook = self.bench.notebook();
        self.caches.strips.get(key, || {
            let Some(bag) = notebook.bag(bag) else { return StripsView::default() };
            let list: Vec<Laid<'_>> = laid
                .iter()
                .filter_map(|(id, emphasis)| {
                    let trace = traces.get(id)?;
                    let pull = bag.pulls.iter().find(|pull| pull.id == *id)?;
                    let number = crate::workbench::number_of(bag, *id);
                    Some(Laid {
                        name: say!("page-strips-pull", number = number),
                        end: if *emphasis == Emphasis::Rest { String::new() } else { number.to_string() },
                        emphasis: *emphasis,
                        shift_s: if by_drip { pull.first_drip_s.unwrap_or(0.0) } else { 0.0 },
                        trace,
                    })
                })
                .collect();
            let mut view = strips_view(&list, &units);
            if let Some(foreseen) = band.and_then(|(seer, recipe, times)| seer.expect(recipe, *times)) {
                let zero_s = if by_drip { foreseen.first_drip_s } else { 0.0 };
                view.lay_band(word!("page-strips-expected"), &foreseen.band, zero_s, &units);
                // A strip of its own for a band alone would make the others small.
                view.strips.retain(|strip| !strip.lines.is_empty());
            }
            view
        })
    }

    fn lines(
        &mut self,
        laid: &[(PullId, Emphasis)],
        fetched: usize,
        band: bool,
        view: &StripsView,
    ) -> std::rc::Rc<Vec<Strip>> {
        let Some(bag) = self.page.bag else { return std::rc::Rc::default() };
        let by_drip = self.page.aligned == Aligned::FirstDrip;
        let key = (bag, self.bench.revision(), laid.to_vec(), by_drip, fetched, band);
        self.caches.lines.get(key, || drawn(view))
    }

    fn strips_head_ui(&mut self, ui: &mut Ui, laid: &[(PullId, Emphasis)]) {
        let p = palette(ui);
        let mut asked = None;
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        ui.horizontal(|ui| {
            // Words only: no room for a finger is needed.
            ui.spacing_mut().interact_size.y = 24.0;
            overline(ui, word!("page-strips-strips"));
            let Some(bag) = self.bag() else { return };
            let mut shown: Vec<&(PullId, Emphasis)> =
                laid.iter().filter(|(_, emphasis)| *emphasis != Emphasis::Rest).collect();
            shown.sort_by_key(|(_, emphasis)| std::cmp::Reverse(*emphasis));
            for (id, emphasis) in shown {
                let (rect, _) = ui.allocate_exact_size(vec2(26.0, 20.0), Sense::hover());
                stroke(*emphasis).sample(ui, rect);
                let number = crate::workbench::number_of(bag, *id);
                let text = match emphasis {
                    Emphasis::Keeper => say!("page-strips-keeper", number = number),
                    _ => number.to_string(),
                };
                text_line(ui, text, scale::semibold(scale::SMALL), p.ink);
            }
            let rest = laid.iter().filter(|(_, emphasis)| *emphasis == Emphasis::Rest).count();
            if rest > 0 {
                text_line(ui, format!("+{rest}"), scale::regular(scale::SMALL), p.soft);
            }
        });
        // A row of its own, wrapped where it is narrow: no button may hide another.
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(2.0, 2.0);
            if let (Some(bag), Some(pull)) = (self.bag(), self.pull().filter(|pull| !pull.has_trace)) {
                let label =
                    say!("page-strips-attach-to", number_of = crate::workbench::number_of(bag, pull.id));
                if ui.add(Button::quiet(&label).key("T")).clicked() {
                    asked = Some(Action::Import);
                }
            }
            let label = match self.page.aligned {
                Aligned::PumpOn => word!("page-strips-from-pump-on"),
                Aligned::FirstDrip => word!("page-strips-from-first-drip"),
            };
            if ui.add(Button::quiet(label).key("L")).clicked() {
                asked = Some(Action::Align);
            }
            let all = Button::quiet(if self.page.overlay_all {
                word!("page-strips-fewer")
            } else {
                word!("page-strips-all")
            });
            if ui.add(all).on_hover_text(word!("page-strips-all-pulls-of-this-bag-over")).clicked() {
                asked = Some(Action::OverlayAll);
            }
            let covered = self.is_covered();
            let expected = Button::quiet(word!("page-strips-band")).on(!(self.page.no_expected || covered));
            let hint = word!("page-strips-shows-or-hides-the-trace-to");
            if ui.add_enabled(!covered, expected).on_hover_text(hint).clicked() {
                asked = Some(Action::Expected);
            }
            let live = Button::quiet(word!("page-strips-live"));
            if ui.add(live).on_hover_text(word!("page-strips-listen-to-a-live-instrument-i")).clicked() {
                asked = Some(Action::Live);
            }
            let compare = Button::quiet(word!("page-strips-compare"));
            if ui.add(compare).on_hover_text(word!("page-strips-any-pulls-of-any-bags-m")).clicked() {
                asked = Some(Action::Compare);
            }
        });
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    /// The values under the cursor, strip by strip, beside the strips; without a cursor the way to one.
    fn values_ui(&mut self, ui: &mut Ui, view: &StripsView, area: Rect) {
        let p = palette(ui);
        let units = self.units();
        if view.strips.is_empty() {
            return;
        }
        let t = self.page.cursor.cursor_s;
        let values = values_at(view, t.unwrap_or(f64::NEG_INFINITY), &units);
        let foot = 24.0;
        let each = (area.height() - foot) / view.strips.len() as f32;
        for (at, (_, values)) in values.iter().enumerate() {
            let slot = Rect::from_min_size(
                pos2(area.left(), area.top() + each * at as f32),
                vec2(area.width(), each - 6.0),
            );
            let unit = view.strips.get(at).map_or("", |strip| strip.unit);
            let line_height = (slot.height() / 4.0).min(19.0);
            let name = view.strips.get(at).map_or("", |strip| strip.name);
            let title = if t.is_some() { name.to_owned() } else { format!("{name}, {unit}") };
            let title_at = pos2(slot.left(), slot.top() + line_height * 0.5);
            line_at(ui, title_at, &title, scale::semibold(scale::TICK), p.ink, slot.width());
            for (n, (emphasis, value)) in values.iter().rev().take(3).enumerate() {
                let y = slot.top() + line_height * (n as f32 + 1.5);
                let colour = stroke(*emphasis).colour(p);
                if t.is_some() {
                    let sample = Rect::from_center_size(pos2(slot.left() + 10.0, y), vec2(20.0, 4.0));
                    stroke(*emphasis).sample(ui, sample);
                    let text = format!("{value} {unit}");
                    let font = scale::semibold(scale::TICK);
                    ui.painter().text(pos2(slot.right() - 2.0, y), Align2::RIGHT_CENTER, text, font, colour);
                }
            }
        }
        // The same table in words, for whoever does not see it.
        if let Some(t) = t {
            let told: Vec<String> = values
                .iter()
                .filter(|(_, values)| !values.is_empty())
                .map(|(name, values)| {
                    let list: Vec<&str> = values.iter().rev().map(|(_, value)| value.as_str()).collect();
                    format!("{name} {}", list.join(", "))
                })
                .collect();
            let response = ui.interact(area, Id::unique("strip-values"), Sense::hover());
            let label = say!("page-strips-at-s", number = units.number(t, 1), join = told.join("; "));
            response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &label));
        }
        let foot_at = pos2(area.left(), area.bottom() - foot / 2.0);
        let text = t.map_or(word!("page-strips-point-at-a-strip").to_owned(), |t| {
            say!("page-strips-at-s-2", number = units.number(t, 1))
        });
        let font = scale::regular(scale::TICK);
        line_at(ui, foot_at, &text, font, p.soft, area.width());
        let zoomed = self.page.cursor.shown.is_some();
        let spot = Rect::from_min_size(
            pos2(area.left() - 6.0, area.bottom() - foot - 38.0),
            vec2(area.width(), 38.0),
        );
        let mut child = ui.new_child(
            eframe::egui::UiBuilder::new()
                .max_rect(spot)
                .id_salt("zoom")
                .layout(eframe::egui::Layout::left_to_right(eframe::egui::Align::Center)),
        );
        child.spacing_mut().item_spacing.x = 0.0;
        let (mut closer, mut wider) = (false, false);
        if view.strips.len() <= 4 && each > 90.0 {
            closer = icon_button(&mut child, Icon::Plus, word!("page-strips-closer-pgup"), true).clicked();
            wider = icon_button(&mut child, Icon::Minus, word!("page-strips-wider-pgdn"), zoomed).clicked();
        }
        if closer {
            self.page.cursor.zoom(1.5, view.span_s);
        }
        if wider {
            self.page.cursor.zoom(1.0 / 1.5, view.span_s);
        }
    }
}
