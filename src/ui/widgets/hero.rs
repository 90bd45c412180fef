//! The next pull in the largest type of the window.

use eframe::egui::{Align2, Rect, Role, Sense, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};

/// One lever's move.
#[derive(Debug, Clone, PartialEq)]
pub struct HeroMove {
    /// The lever in a word: "Grind".
    pub what: String,
    /// The value now; empty where nothing is known.
    pub from: String,
    /// The value to set.
    pub to: String,
    /// The move in words: "3 clicks finer".
    pub words: String,
    /// Which way, as a picture.
    pub icon: Icon,
}

/// What the hero says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hero {
    /// The moves; empty when nothing is to be changed.
    pub moves: Vec<HeroMove>,
    /// In place of moves: "Keep this recipe", "Pull the same again".
    pub verdict: String,
    /// What stays: "dose 18.0 g · yield 40 g · 93 °C stay as they are".
    pub stays: String,
}

impl Hero {
    /// Draws the moves or the verdict, and below it what stays.
    pub fn show(&self, ui: &mut Ui) {
        let p = palette(ui);
        if self.moves.is_empty() {
            self.line(ui, &self.verdict);
        }
        // The first move is the one to remember; further ones are told, at a size that still carries an arm's length.
        for (at, one) in self.moves.iter().enumerate() {
            Self::draw_move(ui, one, if at == 0 { scale::HERO } else { scale::HERO * 0.62 });
        }
        if !self.stays.is_empty() {
            super::text_line(ui, self.stays.clone(), scale::regular(scale::BODY), p.soft);
        }
    }

    fn line(&self, ui: &mut Ui, text: &str) {
        let p = palette(ui);
        let room = ui.available_width();
        let full = ui.painter().layout_no_wrap(text.to_owned(), scale::semibold(scale::HERO), p.ink);
        let size = (scale::HERO * (room / full.size().x.max(1.0)).min(1.0)).max(scale::HEADING);
        let text = eframe::egui::RichText::new(text).font(scale::semibold(size)).color(p.ink);
        ui.add(eframe::egui::Label::new(text).wrap());
    }

    fn draw_move(ui: &mut Ui, one: &HeroMove, largest: f32) {
        let p = palette(ui);
        // Shrinks as a whole where the window is narrow; never below the size of a heading.
        let room = ui.available_width();
        let measure = |size: f32| {
            let text = |text: &str, font| ui.painter().layout_no_wrap(text.to_owned(), font, p.ink);
            let what = text(&one.what, scale::regular(size));
            let from = text(&one.from, scale::regular(size));
            let to = text(&one.to, scale::semibold(size));
            let words = text(&one.words, scale::semibold(size * 0.66));
            (what, from, to, words)
        };
        let width = |size: f32| {
            let (what, from, to, words) = measure(size);
            let arrow = if one.from.is_empty() { 0.0 } else { from.size().x + size * 1.5 };
            what.size().x + size * 0.45 + arrow + to.size().x + size * 1.55 + words.size().x
        };
        let size = (largest * (room / width(largest)).min(1.0)).max(scale::HEADING);
        let (what, from, to, words) = measure(size);
        let (rect, response) = ui.allocate_exact_size(vec2(room, size * 1.22), Sense::hover());
        response.widget_info(|| {
            let from =
                if one.from.is_empty() { String::new() } else { say!("widgets-hero-from", from = one.from) };
            WidgetInfo::labeled(
                Role::Heading,
                true,
                say!("widgets-hero-to", what = one.what, from = from, to = one.to, words = one.words),
            )
        });
        let painter = ui.painter();
        let y = rect.center().y;
        let mut x = rect.left();
        let what_width = what.size().x;
        painter.galley_with_override_text_color(pos2(x, y - what.size().y / 2.0), what, p.soft);
        x += what_width + size * 0.45;
        if !one.from.is_empty() {
            let from_width = from.size().x;
            painter.galley_with_override_text_color(pos2(x, y - from.size().y / 2.0), from, p.soft);
            x += from_width + size * 0.35;
            painter.text(
                pos2(x + size * 0.4, y),
                Align2::CENTER_CENTER,
                "→",
                scale::regular(size * 0.9),
                p.soft,
            );
            x += size * 1.15;
        }
        let to_width = to.size().x;
        painter.galley(pos2(x, y - to.size().y / 2.0), to, p.ink);
        x += to_width + size * 0.55;
        let icon = Rect::from_center_size(pos2(x + size * 0.35, y + size * 0.04), Vec2::splat(size * 0.72));
        one.icon.paint(painter, icon, p.accent);
        x += size;
        painter.galley_with_override_text_color(
            pos2(x, y - words.size().y / 2.0 + size * 0.06),
            words,
            p.accent,
        );
    }
}
