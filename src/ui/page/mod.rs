//! A bag's page: head, next pull or clock or entry, ledger and strips.

mod entry;
mod hero;
mod ledger;
pub(in crate::ui) mod strips;

use eframe::egui::{self, Frame, Layout, Margin, Ui, vec2};

use super::actions::Action;
use super::app::App;
use super::shelf::hairline;
use super::state::Mode;
use super::theme::icons::Icon;
use super::theme::{look, palette, scale};
use super::widgets::{Button, empty_state, fact_lines, icon_button, text_line, title};
use crate::domain::WayOfLiving;
use crate::workbench::view::page::head;

impl App {
    pub(super) fn draw(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        match self.way() {
            WayOfLiving::Home => self.shelf_ui(ui),
            WayOfLiving::Bar => self.tabs_ui(ui),
            WayOfLiving::Class => {}
        }
        if self.practice.open {
            return self.practice_ui(ui);
        }
        let frame =
            Frame::NONE.fill(p.page).inner_margin(Margin { left: 24, right: 20, top: 12, bottom: 10 });
        egui::CentralPanel::no_frame().frame(frame).show(ui, |ui| {
            self.banners_ui(ui);
            if self.opening.open {
                self.opening_ui(ui);
                return;
            }
            if self.bag().is_none() {
                self.no_bag_ui(ui);
                return;
            }
            let bottom = ui.max_rect().bottom();
            egui::ScrollArea::vertical().id_salt("page").auto_shrink(false).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = scale::GAP_2;
                let top = ui.cursor().top();
                self.head_ui(ui);
                self.top_ui(ui);
                ui.add_space(scale::GAP_1);
                hairline(ui);
                let scrolled = ui.max_rect().top() - top;
                let left = bottom - ui.cursor().top() + scrolled;
                self.lower_ui(ui, (left - 4.0).max(300.0));
            });
        });
    }

    fn top_ui(&mut self, ui: &mut Ui) {
        match self.page.mode() {
            Mode::Advice => self.hero_ui(ui),
            Mode::Pulling(_) => self.clock_ui(ui),
            Mode::Entry(_) => self.entry_ui(ui),
        }
    }

    fn lower_ui(&mut self, ui: &mut Ui, height: f32) {
        let width = ui.available_width();
        if self.way() == WayOfLiving::Class {
            self.strips_ui(ui, height);
            return;
        }
        if width < 860.0 {
            self.ledger_ui(ui, 320.0);
            hairline(ui);
            self.strips_ui(ui, 380.0);
            return;
        }
        let ledger_width = (width * 0.52).clamp(500.0, 720.0);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.allocate_ui_with_layout(
                vec2(ledger_width, height),
                Layout::top_down(egui::Align::LEFT),
                |ui| {
                    ui.set_max_width(ledger_width);
                    ui.spacing_mut().item_spacing.x = scale::GAP_2;
                    self.ledger_ui(ui, height);
                },
            );
            ui.add_space(scale::GAP_5);
            let rest = width - ledger_width - scale::GAP_5;
            ui.allocate_ui_with_layout(vec2(rest, height), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_max_width(rest);
                ui.spacing_mut().item_spacing.x = scale::GAP_2;
                self.strips_ui(ui, height);
            });
        });
    }

    fn head_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        let (today, units) = (self.today(), self.units());
        let Some(bag) = self.bag() else { return };
        let (head, finished) = (head(self.bench.notebook(), bag, today, &units), bag.finished);
        let mut asked = None;
        ui.horizontal(|ui| {
            let buttons = 4.0 * (look(ui).target + scale::GAP_1);
            let room = (ui.available_width() - buttons).max(60.0);
            ui.allocate_ui_with_layout(vec2(room, 52.0), Layout::top_down(egui::Align::LEFT), |ui| {
                ui.set_width(room);
                ui.spacing_mut().item_spacing.y = 0.0;
                title(ui, head.title.clone());
                let line = if head.facts.is_empty() {
                    head.place.clone()
                } else {
                    format!("{} · {}", head.facts, head.place)
                };
                let line = if finished { say!("page-finished", line = line) } else { line };
                // Where two lines are too few, pointing at it shows the whole.
                fact_lines(ui, &line, scale::regular(scale::SMALL), p.soft, 2);
            });
            ui.spacing_mut().item_spacing.x = scale::GAP_1;
            let undo = self
                .bench
                .undo_name()
                .map_or(word!("page-nothing-to-undo").to_owned(), |name| say!("page-undo", name = name));
            let redo = self
                .bench
                .redo_name()
                .map_or(word!("page-nothing-to-redo").to_owned(), |name| say!("page-redo", name = name));
            let (can_undo, can_redo) = (self.bench.undo_name().is_some(), self.bench.redo_name().is_some());
            if icon_button(ui, Icon::Pen, word!("page-change-the-bag-f2"), true).clicked() {
                asked = Some(Action::EditBag);
            }
            if icon_button(ui, Icon::Undo, &undo, can_undo).clicked() {
                asked = Some(Action::Undo);
            }
            if icon_button(ui, Icon::Redo, &redo, can_redo).clicked() {
                asked = Some(Action::Redo);
            }
            if self.way() == WayOfLiving::Home {
                let problems = self.all_problems().len();
                let label = match problems {
                    0 => word!("page-nothing-was-found-wrong").to_owned(),
                    n => say!("page-found-wrong-p", n = n),
                };
                if icon_button(ui, Icon::Caution, &label, problems > 0).clicked() {
                    asked = Some(Action::Problems);
                }
            } else if icon_button(ui, Icon::Sliders, word!("page-settings"), true).clicked() {
                asked = Some(Action::Settings);
            }
        });
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    fn banners_ui(&mut self, ui: &mut Ui) {
        self.read_only_ui(ui);
        if self.bench.notebook().demo && self.way() == WayOfLiving::Home {
            let p = palette(ui);
            let frame = Frame::NONE
                .fill(p.selected)
                .corner_radius(egui::CornerRadius::same(7))
                .inner_margin(Margin { left: 12, right: 4, top: 2, bottom: 2 });
            let mut begin = false;
            frame.show(ui, |ui| {
                ui.horizontal(|ui| {
                    ui.set_min_width(ui.available_width());
                    // The button first, so that the text takes the room that it leaves.
                    ui.with_layout(Layout::right_to_left(egui::Align::Center), |ui| {
                        if self.begin_own.is_some() {
                            let button =
                                Button::new(word!("page-begin-an-empty-notebook-of-my")).height(36.0);
                            begin = ui.add(button).clicked();
                        }
                        ui.with_layout(Layout::left_to_right(egui::Align::Center), |ui| {
                            let text = if ui.available_width() > 440.0 {
                                word!("page-demo-notebook-invented-coffees-and")
                            } else {
                                word!("page-demo-notebook-all-invented")
                            };
                            text_line(ui, text, scale::regular(scale::SMALL), p.ink);
                        });
                    });
                });
            });
            ui.add_space(scale::GAP_1);
            if begin {
                self.begin_own_notebook();
            }
        }
    }

    pub(super) fn begin_own_notebook(&mut self) {
        let Some(begin) = &mut self.begin_own else { return };
        match begin() {
            Ok(opened) => {
                self.begin_own = None;
                self.reopen(opened);
                if self.bag().is_none() {
                    self.new_bag();
                }
            }
            Err(sentence) => self.say_problem(sentence),
        }
    }

    fn no_bag_ui(&mut self, ui: &mut Ui) {
        ui.add_space(scale::GAP_6);
        let text = word!("page-a-bags-page-holds-its-pulls");
        if empty_state(
            ui,
            Icon::Bag,
            word!("page-no-bag-on-the-shelf-yet"),
            text,
            Some((word!("page-new-bag"), "B")),
        ) {
            self.act(&ui.ctx().clone(), Action::NewBag);
        }
    }

    /// Bar: one large tab for each open bag in place of the shelf.
    fn tabs_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        let frame = Frame::NONE.fill(p.shelf).inner_margin(Margin::symmetric(12, 8));
        egui::Panel::top("tabs").frame(frame).resizable(false).show(ui, |ui| {
            ui.horizontal(|ui| {
                let label = word!("page-opening");
                let here = self.opening.open;
                let button = if here { Button::primary(label) } else { Button::new(label) };
                if ui.add(button.icon(Icon::Cup).key("F4")).clicked() {
                    self.toggle_opening();
                }
                egui::ScrollArea::horizontal().id_salt("tab-row").show(ui, |ui| {
                    ui.horizontal(|ui| self.bag_tabs_ui(ui, here));
                });
            });
        });
    }

    /// A tab for each open bag; one that was come to otherwise is brought into view.
    fn bag_tabs_ui(&mut self, ui: &mut Ui, opening: bool) {
        for item in self.tabs_view().iter() {
            let chosen = !opening && self.page.bag == Some(item.id);
            let button = if chosen { Button::primary(&item.name) } else { Button::new(&item.name) };
            let response = ui.add(button).on_hover_text(&item.detail);
            if chosen && self.page.tab_shown != Some(item.id) {
                self.page.tab_shown = Some(item.id);
                response.scroll_to_me(Some(egui::Align::Center));
            }
            if response.clicked() {
                self.practice.open = false;
                self.opening.open = false;
                self.page.go_to(Some(item.id));
            }
        }
    }
}
