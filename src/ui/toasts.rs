//! Short words at the foot of the window, with undo where there is something to take back.

use std::collections::BTreeMap;
use std::time::Duration;

use eframe::egui::{
    self, Context, CornerRadius, Frame, Id, Margin, Role, Sense, Shadow, Stroke, Vec2, WidgetInfo,
};

use super::actions::{Action, key};
use super::app::App;
use super::theme::icons::Icon;
use super::theme::{look, palette, scale};
use super::widgets::Button;
use crate::workbench::{Notice, NoticeAction, NoticeLevel, Workbench};

/// Seconds that words stay.
const STAY_S: f64 = 7.0;

/// Seconds that they stay where they offer to bring something back.
const STAY_TO_BRING_BACK_S: f64 = 12.0;

/// Which notices are on screen, and since when.
#[derive(Debug, Default)]
pub struct Toasts {
    born: BTreeMap<u64, f64>,
}

impl Toasts {
    /// Reports an edit that was done; the report before it can no longer be undone by its button.
    pub fn done(&mut self, bench: &mut Workbench, name: &str) {
        bench.notices_mut().drop_action(NoticeAction::Undo);
        let text = if bench.has_unwritten() {
            say!("toasts-not-on-disk-yet", name = name)
        } else {
            say!("toasts-saved", name = name)
        };
        bench.notices_mut().add(Notice::done(text));
    }

    /// Draws what is to be said.
    pub(super) fn show(app: &mut App, ctx: &Context) {
        let now_s = ctx.input(|input| input.time);
        let list: Vec<Notice> = app.bench.notices().iter().cloned().collect();
        let mut next = f64::INFINITY;
        let mut shown: Vec<Notice> = Vec::new();
        for notice in list {
            let born = *app.toasts.born.entry(notice.number).or_insert(now_s);
            let stay =
                if notice.action == Some(NoticeAction::BringBack) { STAY_TO_BRING_BACK_S } else { STAY_S };
            let left = born + stay - now_s;
            if notice.lasting {
                if notice.action.is_some() {
                    shown.push(notice);
                }
            } else if left > 0.0 {
                next = next.min(left);
                shown.push(notice);
            } else {
                app.bench.notices_mut().dismiss(notice.number);
                app.toasts.born.remove(&notice.number);
            }
        }
        if shown.is_empty() {
            return;
        }
        if next.is_finite() {
            ctx.request_repaint_after(Duration::from_secs_f64(next.max(0.05)));
        }
        let from = shown.len().saturating_sub(3);
        // A dialog has its buttons at its foot; there the words come from above.
        let (side, offset) = if app.dialog.is_some() {
            (egui::Align2::CENTER_TOP, egui::vec2(0.0, 8.0))
        } else {
            (egui::Align2::RIGHT_BOTTOM, egui::vec2(-16.0, -16.0))
        };
        egui::Area::new(Id::unique("toasts"))
            .anchor(side, offset)
            // Above a dialog too: what it has to say is often about the dialog.
            .order(egui::Order::Tooltip)
            .show(ctx, |ui| {
                for notice in shown.drain(..).skip(from) {
                    one(app, ui, &notice);
                }
            });
    }
}

fn one(app: &mut App, ui: &mut egui::Ui, notice: &Notice) {
    let p = palette(ui);
    let problem = notice.level == NoticeLevel::Problem;
    let frame = Frame::NONE
        .fill(if problem { p.warn_back } else { p.raised })
        .stroke(Stroke::new(1.0, if problem { p.warn } else { p.edge }))
        .corner_radius(CornerRadius::same(8))
        // A button brings its own room at its side.
        .inner_margin(Margin {
            left: 14,
            right: if notice.action.is_some() { 6 } else { 14 },
            top: 4,
            bottom: 4,
        })
        .shadow(Shadow { offset: [0, 2], blur: 10, spread: 0, color: egui::Color32::from_black_alpha(50) });
    frame.show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.set_min_height(look(ui).target);
            let (rect, _) = ui.allocate_exact_size(Vec2::splat(20.0), Sense::hover());
            let (icon, colour) = match (problem, notice.action.is_some()) {
                (true, _) => (Icon::Caution, p.warn),
                (false, true) if notice.action != Some(NoticeAction::BringBack) => (Icon::Check, p.good),
                (false, _) => (Icon::About, p.soft),
            };
            icon.paint(ui.painter(), rect, colour);
            ui.scope(|ui| {
                ui.set_max_width(460.0);
                let text = egui::RichText::new(&notice.text).font(scale::regular(scale::BODY)).color(p.ink);
                let response = ui.add(egui::Label::new(text).wrap());
                response.widget_info(|| WidgetInfo::labeled(Role::Status, true, &notice.text));
            });
            let Some(action) = notice.action else { return };
            let button = match action {
                NoticeAction::Undo => Button::quiet(word!("toasts-undo")).key(key(Action::Undo)),
                NoticeAction::RetryWriting => Button::quiet(word!("toasts-try-again")),
                NoticeAction::BringBack => {
                    Button::quiet(word!("toasts-bring-it-back")).key(key(Action::BringBack))
                }
                NoticeAction::SaveElsewhere => Button::quiet(word!("toasts-save-elsewhere")),
                NoticeAction::ShowMerged => Button::quiet(word!("toasts-show")),
            };
            let clicked = ui.add(button).clicked();
            if action == NoticeAction::RetryWriting
                && ui.add(Button::quiet(word!("toasts-save-elsewhere"))).clicked()
            {
                app.open_elsewhere();
            }
            if !clicked {
                return;
            }
            match action {
                NoticeAction::Undo => app.act(&ui.ctx().clone(), Action::Undo),
                NoticeAction::BringBack => app.bring_back(),
                NoticeAction::SaveElsewhere => app.open_elsewhere(),
                NoticeAction::ShowMerged => {
                    app.bench.notices_mut().dismiss(notice.number);
                    app.open_merged();
                }
                NoticeAction::RetryWriting => {
                    let now = app.now();
                    match app.bench.retry_writing(now) {
                        Ok(()) => app.say(word!("toasts-saved-2")),
                        // The lasting notice says why.
                        Err(_refused) => app.say_problem(word!("toasts-it-is-still-refused-nothing-is")),
                    }
                }
            }
        });
    });
}
