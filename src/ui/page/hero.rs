//! The next pull, and the clock that takes its place.

use eframe::egui::{Rect, Role, Sense, Ui, Vec2, WidgetInfo, vec2};

use crate::domain::{Lever, WayOfLiving};
use crate::ui::actions::{Action, Cap, key};
use crate::ui::app::App;
use crate::ui::state::Mode;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{look, palette, scale};
use crate::ui::widgets::{
    Button, Caution, ClockFace, ClockPhase, Hero, HeroMove, body, caution_line, overline, small, soft,
    standing_caution, standing_caution_beside, text_line, wrapped,
};
use crate::workbench::clock::ShotClock;
use crate::workbench::view::advice::{HeroView, Reason, Voice, Way, aim, shown};
use crate::workbench::view::care;
use crate::workbench::view::keeper::Keep;
use crate::workbench::view::page::{recipe_line, too_little};

/// Lines that the reason on the card may take before it is cut.
const REASON_LINES: usize = 2;

impl App {
    pub(super) fn hero_ui(&mut self, ui: &mut Ui) {
        if self.bag().is_some_and(|bag| bag.finished) {
            return self.finished_ui(ui);
        }
        let view = self.hero_view();
        match view.as_ref() {
            Some(view) if self.is_covered() => self.covered_ui(ui, view),
            Some(view) => self.shown_ui(ui, view),
            None => self.waiting_ui(ui),
        }
    }

    /// In place of the next pull where the bag is finished.
    fn finished_ui(&mut self, ui: &mut Ui) {
        let verdict = word!("page-hero-this-bag-is-used-up").to_owned();
        Hero { verdict, ..Hero::default() }.show(ui);
        soft(ui, word!("page-hero-its-pulls-stay-in-the-ledger"));
        ui.add_space(scale::GAP_2);
        let writable = self.bench.read_only().is_none();
        let button = Button::new(word!("page-hero-take-it-back")).icon(Icon::Bag).key(key(Action::FinishBag));
        if ui.add_enabled(writable, button).clicked() {
            self.act(&ui.ctx().clone(), Action::FinishBag);
        }
        ui.add_space(scale::GAP_2);
    }

    fn waiting_ui(&mut self, ui: &mut Ui) {
        let p = palette(ui);
        overline(ui, word!("page-hero-next-pull"));
        if let Some(fault) = self.advice_fault().map(str::to_owned) {
            caution_line(ui, Caution::Harm, &say!("page-hero-no-advice", fault = fault));
        } else {
            text_line(ui, word!("page-hero-working-it-out"), scale::semibold(scale::HERO), p.soft);
        }
        if let (Some(plan), Some(gear)) = (self.plan(), self.gear()) {
            soft(ui, recipe_line(&gear, &plan, &self.units()));
        }
        ui.add_space(scale::GAP_5 + scale::GAP_2);
        self.buttons_ui(ui, None);
    }

    fn covered_ui(&mut self, ui: &mut Ui, view: &HeroView) {
        let p = palette(ui);
        overline(ui, view.over.clone());
        text_line(ui, word!("page-hero-what-would-you-change"), scale::semibold(scale::HERO), p.ink);
        soft(ui, word!("page-hero-taste-look-at-the-strips-decide"));
        let mut asked = None;
        let writable = self.bench.read_only().is_none();
        ui.horizontal_wrapped(|ui| {
            let reveal = Button::primary(word!("page-hero-reveal")).icon(Icon::Eye);
            let buttons = [
                (reveal, Action::Reveal, true),
                (Button::new(word!("page-hero-pull-our-choice")), Action::Clock, writable),
                (Button::quiet(word!("page-hero-enter-by-hand")), Action::EnterByHand, writable),
                (Button::quiet(word!("page-hero-what-if")), Action::WhatIf, true),
            ];
            for (button, action, able) in buttons {
                if ui.add_enabled(able, button.key(key(action))).clicked() {
                    asked = Some(action);
                }
            }
        });
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    fn shown_ui(&mut self, ui: &mut Ui, view: &HeroView) {
        overline(ui, view.over.clone());
        let moves = view
            .moves
            .iter()
            .map(|one| HeroMove {
                what: one.what.to_owned(),
                from: one.from.clone(),
                to: one.to.clone(),
                words: one.words.clone(),
                icon: match one.way {
                    Way::Finer => Icon::Finer,
                    Way::Coarser => Icon::Coarser,
                    Way::Up => Icon::Up,
                    Way::Down => Icon::Down,
                    Way::Set => Icon::Check,
                },
            })
            .collect();
        Hero { moves, verdict: view.verdict.clone(), stays: view.stays.clone() }.show(ui);
        self.expect_ui(ui, view);
        if self.way() == WayOfLiving::Class {
            self.steps_ui(ui, view);
        } else if let Some(reason) = view.reasons.first() {
            self.first_reason_ui(ui, reason);
        }
        if self.page.why && self.way() != WayOfLiving::Class {
            self.reasons_ui(ui, view);
        }
        self.buttons_ui(ui, Some(view));
    }

    /// Class: one reason after the other, each when it is asked for.
    fn steps_ui(&mut self, ui: &mut Ui, view: &HeroView) {
        let (step, all) = (self.page.step.min(view.reasons.len()), view.reasons.len());
        for (at, reason) in view.reasons.iter().take(step).enumerate() {
            body(ui, format!("{}. {}", at + 1, reason.text));
        }
        let label = match step {
            _ if all == 0 => return,
            0 => word!("page-hero-first-reason").to_owned(),
            n if n < all => say!("page-hero-next-reason-of", n = n + 1, all = all),
            _ => word!("page-hero-hide-the-reasons").to_owned(),
        };
        if ui.add(Button::new(&label).key(key(Action::Why))).clicked() {
            self.step_reasons(all);
        }
    }

    /// Shows one reason more; after the last, none.
    pub(in crate::ui) fn step_reasons(&mut self, all: usize) {
        self.page.step = if self.page.step >= all { 0 } else { self.page.step + 1 };
    }

    fn first_reason_ui(&mut self, ui: &mut Ui, reason: &Reason) {
        let p = palette(ui);
        ui.horizontal(|ui| {
            let room = (ui.available_width() - 110.0).max(60.0);
            let text = if self.page.why { word!("page-hero-why") } else { reason.text.as_str() };
            let galley = wrapped(ui, text, scale::regular(scale::BODY), p.ink, room, REASON_LINES);
            let (rect, response) = ui.allocate_exact_size(galley.size(), Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(Role::Label, true, text));
            ui.painter().galley(rect.min, galley, p.ink);
            response.on_hover_text(text);
            let label = if self.page.why { word!("page-hero-less") } else { word!("page-hero-why-2") };
            if ui.add(Button::quiet(label).key(key(Action::Why))).clicked() {
                self.page.why = !self.page.why;
            }
        });
    }

    fn expect_ui(&self, ui: &mut Ui, view: &HeroView) {
        if view.expect.is_empty() {
            return;
        }
        ui.scope(|ui| {
            ui.spacing_mut().interact_size.y = 24.0;
            self.expect_line_ui(ui, view);
        });
    }

    fn expect_line_ui(&self, ui: &mut Ui, view: &HeroView) {
        let p = palette(ui);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            let plain = |ui: &mut Ui, text: &str| text_line(ui, text, scale::regular(scale::BODY), p.soft);
            let strong = |ui: &mut Ui, text: &str| text_line(ui, text, scale::semibold(scale::BODY), p.ink);
            plain(ui, word!("page-hero-expect"));
            for (at, (what, range)) in view.expect.iter().enumerate() {
                if at > 0 {
                    plain(ui, "·");
                }
                if *what != word!("view-advice-time") {
                    plain(ui, what);
                }
                strong(ui, range);
            }
            if !view.sure.is_empty() {
                ui.add_space(scale::GAP_4);
                chance_bar(ui, view.chance);
                text_line(ui, view.sure.clone(), scale::regular(scale::BODY), p.ink)
                    .on_hover_text(view.chance_of);
            }
        });
    }

    fn reasons_ui(&mut self, ui: &mut Ui, view: &HeroView) {
        let p = palette(ui);
        let row = |ui: &mut Ui, voice: &str, text: &str| {
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(74.0, 24.0), Sense::hover());
                ui.painter().text(
                    rect.left_center(),
                    eframe::egui::Align2::LEFT_CENTER,
                    voice,
                    scale::semibold(scale::SMALL),
                    p.soft,
                );
                body(ui, text);
            });
        };
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        for Reason { voice, text, .. } in &view.reasons {
            let said_by = match voice {
                Voice::Rule => word!("page-hero-trade"),
                Voice::Model => word!("page-hero-model"),
                Voice::Guard => word!("page-hero-guard"),
            };
            row(ui, said_by, text);
        }
        let advice = self.advice().cloned();
        if let Some(advice) = advice.filter(|_| self.page.idea == 0) {
            if let Some(conflict) = &advice.conflict {
                row(ui, word!("page-hero-at-odds"), conflict);
            }
            for (at, belief) in advice.beliefs.iter().take(4).enumerate() {
                row(ui, if at == 0 { word!("page-hero-believes") } else { "" }, belief);
            }
            if let Some(tomorrow) = &advice.tomorrow {
                row(ui, word!("page-hero-tomorrow"), tomorrow);
            }
        }
        ui.spacing_mut().item_spacing.y = scale::GAP_2;
        ui.add_space(scale::GAP_2);
    }

    fn buttons_ui(&mut self, ui: &mut Ui, view: Option<&HeroView>) {
        let mut asked = None;
        let keep = self.keep_now().unwrap_or(Keep::Nothing);
        let settled = matches!(keep, Keep::Recipe { .. });
        let nothing = matches!(keep, Keep::Nothing);
        let keep_label = keep.label();
        let too_little = self.bag().is_some_and(too_little);
        let mut care_at_grinder = view.is_some_and(|view| {
            view.moves.iter().any(|one| one.lever == Lever::Grind && !one.from.is_empty())
        });
        if too_little {
            let (used_up, change) = (key(Action::FinishBag), key(Action::EditBag));
            let text = say!("page-hero-too-little-is-left", used_up = used_up, change = change);
            caution_line(ui, Caution::Note, &text);
        }
        let writable = self.bench.read_only().is_none();
        ui.add_enabled_ui(writable, |ui| {
            ui.horizontal_wrapped(|ui| {
                let keep_button = |primary: bool| {
                    let button =
                        if primary { Button::primary(&keep_label) } else { Button::new(&keep_label) };
                    button.icon(Icon::Keeper).key(key(Action::Keep))
                };
                let pull_button = |primary: bool| {
                    let label = word!("page-hero-pull-it");
                    let button = if primary { Button::primary(label) } else { Button::new(label) };
                    button.key(key(Action::Clock)).width(150.0)
                };
                let mut buttons = [
                    (pull_button(!settled && !too_little), Action::Clock),
                    (keep_button(settled), Action::Keep),
                ];
                if settled {
                    buttons.reverse();
                }
                for (button, action) in buttons {
                    if nothing && action == Action::Keep {
                        continue;
                    }
                    if ui.add(button).clicked() {
                        asked = Some(action);
                    }
                }
                if too_little {
                    let button = Button::new(word!("page-hero-mark-it-used-up")).icon(Icon::Bag);
                    if ui.add(button.key(key(Action::FinishBag))).clicked() {
                        asked = Some(Action::FinishBag);
                    }
                }
                if self.advice().is_some_and(|advice| !advice.alternatives.is_empty()) {
                    let label = if self.page.idea > 0 {
                        word!("page-hero-next-idea")
                    } else {
                        word!("page-hero-another-idea")
                    };
                    if ui.add(Button::new(label).key(key(Action::AnotherIdea))).clicked() {
                        asked = Some(Action::AnotherIdea);
                    }
                }
                if ui
                    .add(Button::quiet(word!("page-hero-enter-by-hand")).key(key(Action::EnterByHand)))
                    .clicked()
                {
                    asked = Some(Action::EnterByHand);
                }
                if self.advice().is_some()
                    && ui.add(Button::quiet(word!("page-hero-taste-map")).key(key(Action::Beliefs))).clicked()
                {
                    asked = Some(Action::Beliefs);
                }
                if self.way() == WayOfLiving::Class
                    && ui
                        .add(Button::quiet(word!("page-hero-cover")).icon(Icon::Eye).key(key(Action::Reveal)))
                        .clicked()
                {
                    asked = Some(Action::Reveal);
                }
                if care_at_grinder {
                    care_at_grinder = !standing_caution_beside(ui, care::AT_THE_GRINDER.word());
                }
            });
        });
        if care_at_grinder {
            standing_caution(ui, care::AT_THE_GRINDER.word());
        }
        if let Some(action) = asked {
            self.act(&ui.ctx().clone(), action);
        }
    }

    pub(super) fn clock_ui(&mut self, ui: &mut Ui) {
        let Mode::Pulling(clock) = *self.page.mode() else { return };
        let units = self.units();
        let now_s = ui.ctx().input(|input| input.time);
        let seconds = units.number(clock.shown_s(now_s), 1);
        // What is expected of the advised recipe says nothing of one that the class decided on.
        let advice = self.advice().filter(|_| self.decided_from().is_none());
        let expect = advice.map(|advice| shown(advice, self.page.idea).1);
        let aim = aim(expect, self.bag().and_then(|bag| bag.time_window_s), &units);
        let (phase, next, drip) = match clock {
            ShotClock::Idle => (ClockPhase::Ready, word!("page-hero-space-pump-on"), None),
            ShotClock::Pumping { .. } => {
                (ClockPhase::Wetting, word!("page-hero-space-at-the-first-drip"), None)
            }
            ShotClock::Dripping { pump_on_s, first_drip_s } => (
                ClockPhase::Dripping,
                word!("page-hero-space-when-you-take-the-cup"),
                Some(first_drip_s - pump_on_s),
            ),
            ShotClock::Stopped { first_drip_s, .. } => (ClockPhase::Done, "", first_drip_s),
        };
        if let (Some(plan), Some(gear)) = (self.plan(), self.gear()) {
            overline(ui, recipe_line(&gear, &plan, &units));
        }
        ClockFace {
            phase,
            seconds: &seconds,
            now_s: clock.shown_s(now_s),
            first_drip_s: drip,
            target: aim.as_ref().map(|aim| (aim.range_s, aim.words.as_str())),
            next,
        }
        .show(ui, 216.0);
        let mut asked = None;
        ui.horizontal_wrapped(|ui| {
            let height = look(ui).target.max(scale::TARGET_BAR);
            let wide = (ui.available_width() * 0.5).clamp(160.0, 320.0);
            let pumping = matches!(clock, ShotClock::Pumping { .. });
            let label = if pumping { word!("page-hero-first-drip") } else { word!("page-hero-cup-away") };
            if ui.add(Button::primary(label).key(Cap::SPACE.text()).width(wide).height(height)).clicked() {
                asked = Some(Action::Clock);
            }
            if pumping
                && ui
                    .add(Button::new(word!("page-hero-cup-away")).key(key(Action::CupAway)).height(height))
                    .clicked()
            {
                asked = Some(Action::CupAway);
            }
            if ui
                .add(
                    Button::quiet(word!("page-hero-stop-record-nothing"))
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
    }
}

/// Ten small cells, filled as far as the chance goes: how sure, at a glance.
fn chance_bar(ui: &mut Ui, chance: f64) {
    let p = palette(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(84.0, 16.0), Sense::hover());
    let filled = (chance.clamp(0.0, 1.0) * 10.0).round() as usize;
    for at in 0..10 {
        let cell = Rect::from_min_size(rect.min + Vec2::new(at as f32 * 8.4, 2.0), vec2(6.4, 12.0));
        if at < filled {
            ui.painter().rect_filled(cell, 1.5, p.accent);
        } else {
            ui.painter().rect_stroke(
                cell,
                1.5,
                eframe::egui::Stroke::new(1.0, p.edge),
                eframe::egui::StrokeKind::Inside,
            );
        }
    }
}

/// A small line of care under the entry.
pub(super) fn care_line(ui: &mut Ui, text: &str) {
    small(ui, text);
}
