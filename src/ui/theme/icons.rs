//! Icons, drawn as shapes so that no font has to have them. Each fits a square and is drawn in one colour.

use eframe::egui::epaint::{CubicBezierShape, PathShape};
use eframe::egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

/// What can be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Icon {
    /// A plus: add.
    Plus,
    /// A minus.
    Minus,
    /// A check mark.
    Check,
    /// A cross: close, take off.
    Cross,
    /// An arrow back: undo.
    Undo,
    /// An arrow forth: redo.
    Redo,
    /// A grinder's burrs closing in: finer.
    Finer,
    /// Burrs moving apart: coarser.
    Coarser,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// A filled bookmark: the keeper.
    Keeper,
    /// A cup.
    Cup,
    /// A triangle with a bar: caution.
    Caution,
    /// A curve over an axis: a trace.
    Trace,
    /// Two sliders: settings.
    Sliders,
    /// A key cap: keyboard.
    Key,
    /// A pen: edit.
    Pen,
    /// A drain: poured away.
    Sink,
    /// A bag of beans.
    Bag,
    /// A machine: station.
    Station,
    /// A person: drinker.
    Person,
    /// A circle with an i: more about this.
    About,
    /// A small wedge that points down: opens.
    Open,
    /// An eye.
    Eye,
    /// A book: the notebook.
    Book,
}

impl Icon {
    /// All icons, for the gallery.
    pub const ALL: [Self; 25] = [
        Self::Plus,
        Self::Minus,
        Self::Check,
        Self::Cross,
        Self::Undo,
        Self::Redo,
        Self::Finer,
        Self::Coarser,
        Self::Up,
        Self::Down,
        Self::Keeper,
        Self::Cup,
        Self::Caution,
        Self::Trace,
        Self::Sliders,
        Self::Key,
        Self::Pen,
        Self::Sink,
        Self::Bag,
        Self::Station,
        Self::Person,
        Self::About,
        Self::Open,
        Self::Eye,
        Self::Book,
    ];

    /// Draws the icon into a square about the middle of `rect`.
    pub fn paint(self, painter: &Painter, rect: Rect, colour: Color32) {
        let size = rect.width().min(rect.height());
        let square = Rect::from_center_size(rect.center(), Vec2::splat(size));
        let pen = Pen { painter, square, stroke: Stroke::new((size / 11.0).max(1.5), colour) };
        self.draw(&pen);
    }

    fn draw(self, pen: &Pen<'_>) {
        match self {
            Self::Plus => {
                pen.line(&[(0.15, 0.5), (0.85, 0.5)]);
                pen.line(&[(0.5, 0.15), (0.5, 0.85)]);
            }
            Self::Minus => pen.line(&[(0.15, 0.5), (0.85, 0.5)]),
            Self::Check => pen.line(&[(0.14, 0.55), (0.4, 0.8), (0.86, 0.22)]),
            Self::Cross => {
                pen.line(&[(0.2, 0.2), (0.8, 0.8)]);
                pen.line(&[(0.8, 0.2), (0.2, 0.8)]);
            }
            Self::Undo => pen.turn(false),
            Self::Redo => pen.turn(true),
            Self::Finer => {
                pen.arrow((0.0, 0.5), (0.36, 0.5));
                pen.arrow((1.0, 0.5), (0.64, 0.5));
                pen.line(&[(0.5, 0.12), (0.5, 0.88)]);
            }
            Self::Coarser => {
                pen.arrow((0.38, 0.5), (0.0, 0.5));
                pen.arrow((0.62, 0.5), (1.0, 0.5));
                pen.line(&[(0.5, 0.12), (0.5, 0.88)]);
            }
            Self::Up => pen.arrow((0.5, 0.92), (0.5, 0.1)),
            Self::Down => pen.arrow((0.5, 0.08), (0.5, 0.9)),
            Self::Keeper => {
                pen.fill(&[(0.24, 0.08), (0.76, 0.08), (0.76, 0.66), (0.24, 0.66)]);
                pen.fill(&[(0.24, 0.64), (0.5, 0.64), (0.24, 0.92)]);
                pen.fill(&[(0.76, 0.64), (0.5, 0.64), (0.76, 0.92)]);
            }
            Self::Cup => {
                pen.line(&[(0.12, 0.3), (0.7, 0.3), (0.62, 0.78), (0.2, 0.78), (0.12, 0.3)]);
                pen.line(&[(0.69, 0.38), (0.88, 0.4), (0.84, 0.58), (0.66, 0.6)]);
            }
            Self::Caution => {
                pen.line(&[(0.5, 0.1), (0.95, 0.88), (0.05, 0.88), (0.5, 0.1), (0.95, 0.88)]);
                pen.line(&[(0.5, 0.38), (0.5, 0.62)]);
                pen.dot((0.5, 0.75), 0.06);
            }
            Self::Trace => {
                pen.line(&[(0.1, 0.1), (0.1, 0.9), (0.92, 0.9)]);
                pen.line(&[(0.18, 0.8), (0.32, 0.72), (0.42, 0.3), (0.62, 0.24), (0.9, 0.36)]);
            }
            Self::Sliders => {
                pen.line(&[(0.08, 0.3), (0.92, 0.3)]);
                pen.line(&[(0.08, 0.7), (0.92, 0.7)]);
                pen.dot((0.64, 0.3), 0.13);
                pen.dot((0.34, 0.7), 0.13);
            }
            Self::Key => {
                pen.frame((0.08, 0.18), (0.92, 0.82), 0.14);
                pen.line(&[(0.3, 0.64), (0.7, 0.64)]);
                pen.dot((0.32, 0.4), 0.05);
                pen.dot((0.5, 0.4), 0.05);
                pen.dot((0.68, 0.4), 0.05);
            }
            Self::Pen => {
                pen.line(&[(0.14, 0.86), (0.2, 0.62), (0.72, 0.1), (0.9, 0.28), (0.38, 0.8), (0.14, 0.86)]);
            }
            Self::Sink => {
                pen.line(&[(0.08, 0.28), (0.92, 0.28), (0.74, 0.62), (0.26, 0.62), (0.08, 0.28)]);
                pen.line(&[(0.5, 0.62), (0.5, 0.92)]);
            }
            Self::Bag => {
                pen.line(&[
                    (0.24, 0.08),
                    (0.76, 0.08),
                    (0.84, 0.92),
                    (0.16, 0.92),
                    (0.24, 0.08),
                    (0.76, 0.08),
                ]);
                pen.line(&[(0.22, 0.26), (0.78, 0.26)]);
                pen.ring((0.5, 0.6), 0.14);
            }
            Self::Station => {
                pen.line(&[(0.16, 0.92), (0.84, 0.92)]);
                pen.line(&[(0.26, 0.92), (0.26, 0.1), (0.84, 0.1), (0.84, 0.36), (0.26, 0.36)]);
                pen.line(&[(0.58, 0.36), (0.58, 0.54)]);
                pen.line(&[(0.46, 0.92), (0.46, 0.72), (0.72, 0.72), (0.72, 0.92)]);
            }
            Self::Person => {
                pen.ring((0.5, 0.3), 0.19);
                pen.curve([(0.12, 0.92), (0.16, 0.5), (0.84, 0.5), (0.88, 0.92)]);
            }
            Self::About => {
                pen.ring((0.5, 0.5), 0.42);
                pen.line(&[(0.5, 0.46), (0.5, 0.74)]);
                pen.dot((0.5, 0.29), 0.06);
            }
            Self::Open => pen.line(&[(0.2, 0.36), (0.5, 0.66), (0.8, 0.36)]),
            Self::Book => {
                pen.line(&[(0.5, 0.24), (0.5, 0.88)]);
                pen.line(&[(0.5, 0.24), (0.36, 0.14), (0.08, 0.14), (0.08, 0.78), (0.36, 0.78), (0.5, 0.88)]);
                pen.line(&[(0.5, 0.24), (0.64, 0.14), (0.92, 0.14), (0.92, 0.78), (0.64, 0.78), (0.5, 0.88)]);
            }
            Self::Eye => {
                pen.curve([(0.05, 0.5), (0.3, 0.1), (0.7, 0.1), (0.95, 0.5)]);
                pen.curve([(0.05, 0.5), (0.3, 0.9), (0.7, 0.9), (0.95, 0.5)]);
                pen.dot((0.5, 0.5), 0.13);
            }
        }
    }
}

struct Pen<'a> {
    painter: &'a Painter,
    square: Rect,
    stroke: Stroke,
}

impl Pen<'_> {
    fn at(&self, (x, y): (f32, f32)) -> Pos2 {
        pos2(self.square.left() + x * self.square.width(), self.square.top() + y * self.square.height())
    }

    fn line(&self, points: &[(f32, f32)]) {
        self.painter.line(points.iter().map(|&p| self.at(p)).collect(), self.stroke);
    }

    fn fill(&self, points: &[(f32, f32)]) {
        let points = points.iter().map(|&p| self.at(p)).collect();
        self.painter.add(Shape::Path(PathShape::convex_polygon(points, self.stroke.color, Stroke::NONE)));
    }

    fn dot(&self, at: (f32, f32), radius: f32) {
        self.painter.circle_filled(self.at(at), radius * self.square.width(), self.stroke.color);
    }

    fn ring(&self, at: (f32, f32), radius: f32) {
        self.painter.circle_stroke(self.at(at), radius * self.square.width(), self.stroke);
    }

    fn frame(&self, from: (f32, f32), to: (f32, f32), radius: f32) {
        self.painter.rect_stroke(
            Rect::from_min_max(self.at(from), self.at(to)),
            radius * self.square.width(),
            self.stroke,
            StrokeKind::Middle,
        );
    }

    fn curve(&self, points: [(f32, f32); 4]) {
        self.painter.add(CubicBezierShape::from_points_stroke(
            points.map(|p| self.at(p)),
            false,
            Color32::TRANSPARENT,
            self.stroke,
        ));
    }

    fn arrow(&self, from: (f32, f32), to: (f32, f32)) {
        self.line(&[from, to]);
        let (tail, tip) = (self.at(from), self.at(to));
        let along = (tip - tail).normalized() * self.square.width() * 0.2;
        let side = vec2(-along.y, along.x);
        let barbs = vec![tip - along + side, tip, tip - along - side];
        self.painter.line(barbs, self.stroke);
    }

    fn turn(&self, forth: bool) {
        let m = |x: f32| if forth { 1.0 - x } else { x };
        self.curve([(m(0.12), 0.42), (m(0.45), 0.06), (m(1.02), 0.3), (m(0.8), 0.86)]);
        self.line(&[(m(0.12), 0.1), (m(0.12), 0.44), (m(0.46), 0.44)]);
    }
}
