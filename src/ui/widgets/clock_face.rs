//! The running clock: seconds in large figures, and a bar that fills toward the target window.

use eframe::egui::{
    Align2, CornerRadius, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use crate::ui::theme::{palette, scale};

/// Where the pull stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockPhase {
    /// Nothing runs.
    Ready,
    /// Pump on, nothing in the cup.
    Wetting,
    /// Dripping.
    Dripping,
    /// Cup away.
    Done,
}

/// What the clock shows.
#[derive(Debug, Clone)]
pub struct ClockFace<'a> {
    /// Where the pull stands.
    pub phase: ClockPhase,
    /// Seconds as text, with one decimal.
    pub seconds: &'a str,
    /// Seconds as a number.
    pub now_s: f64,
    /// Seconds of the first drip, if marked.
    pub first_drip_s: Option<f64>,
    /// Window of time to aim at, seconds, and its words.
    pub target: Option<((f64, f64), &'a str)>,
    /// What the next press of the key does.
    pub next: &'a str,
}

impl ClockFace<'_> {
    /// Draws the clock over the full width; `height` points high.
    pub fn show(&self, ui: &mut Ui, height: f32) -> Response {
        let p = palette(ui);
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        let phase = match self.phase {
            ClockPhase::Ready => word!("widgets-clock-face-ready"),
            ClockPhase::Wetting => word!("widgets-clock-face-pump-on-waiting-for-the-first"),
            ClockPhase::Dripping => word!("widgets-clock-face-dripping"),
            ClockPhase::Done => word!("widgets-clock-face-cup-away"),
        };
        response.widget_info(|| {
            WidgetInfo::labeled(
                Role::Timer,
                true,
                say!("widgets-clock-face-clock-seconds", seconds = self.seconds, phase = phase),
            )
        });
        let painter = ui.painter();
        let figure = (height * 0.62).min(scale::CLOCK);
        // The figures keep their place: the decimal part grows to the right of a fixed mark.
        let (whole, part) =
            self.seconds.split_at(self.seconds.find(['.', ',']).unwrap_or(self.seconds.len()));
        let mark = rect.left() + figure * 1.28;
        let base = rect.top() + figure * 1.07;
        painter.text(pos2(mark, base), Align2::RIGHT_BOTTOM, whole, scale::semibold(figure), p.ink);
        painter.text(
            pos2(mark, base - figure * 0.115),
            Align2::LEFT_BOTTOM,
            format!("{part} s"),
            scale::regular(figure * 0.46),
            p.soft,
        );
        let words = rect.left() + figure * 1.28 + figure * 1.15;
        painter.text(
            pos2(words, rect.top() + figure * 0.39),
            Align2::LEFT_TOP,
            match self.phase {
                ClockPhase::Ready => word!("widgets-clock-face-ready-2"),
                ClockPhase::Wetting => word!("widgets-clock-face-pump-on"),
                ClockPhase::Dripping => word!("widgets-clock-face-dripping-2"),
                ClockPhase::Done => word!("widgets-clock-face-cup-away-2"),
            },
            scale::semibold(scale::HERO * 0.7),
            if matches!(self.phase, ClockPhase::Ready) { p.soft } else { p.accent },
        );
        painter.text(
            pos2(words, rect.top() + figure * 0.39 + scale::HERO * 0.98),
            Align2::LEFT_TOP,
            self.next,
            scale::regular(scale::BODY),
            p.soft,
        );
        let bar = Rect::from_min_max(
            pos2(rect.left(), rect.bottom() - 52.0),
            pos2(rect.right(), rect.bottom() - 26.0),
        );
        self.bar(ui, bar);
        response
    }

    fn bar(&self, ui: &Ui, bar: Rect) {
        let p = palette(ui);
        let painter = ui.painter();
        let span = self.target.map_or(40.0, |((_, to), _)| (to * 1.45).max(20.0)).max(self.now_s * 1.04);
        let x = |s: f64| bar.left() + bar.width() * (s / span).clamp(0.0, 1.0) as f32;
        painter.rect(bar, CornerRadius::same(5), p.raised, Stroke::new(1.0, p.edge), StrokeKind::Inside);
        if let Some(((from, to), words)) = self.target {
            let window = Rect::from_min_max(pos2(x(from), bar.top()), pos2(x(to), bar.bottom()));
            painter.rect(
                window.expand2(vec2(0.0, 5.0)),
                CornerRadius::same(3),
                p.selected,
                Stroke::new(2.0, p.accent),
                StrokeKind::Inside,
            );
            painter.text(
                pos2(window.center().x, bar.bottom() + 6.0),
                Align2::CENTER_TOP,
                words,
                scale::semibold(scale::SMALL),
                p.accent,
            );
        }
        if self.now_s > 0.0 {
            let filled = Rect::from_min_max(
                pos2(bar.left() + 3.0, bar.top() + 6.0),
                pos2(x(self.now_s).max(bar.left() + 6.0), bar.bottom() - 6.0),
            );
            painter.rect_filled(filled, CornerRadius::same(3), p.ink);
        }
        if let Some(drip) = self.first_drip_s {
            let at = x(drip);
            painter.vline(at, bar.y_range().expand(4.0), Stroke::new(3.0, p.keeper));
            painter.text(
                pos2(at, bar.bottom() + 6.0),
                Align2::CENTER_TOP,
                word!("widgets-clock-face-first-drip"),
                scale::regular(scale::SMALL),
                p.soft,
            );
        }
    }
}
