//! The keeper's bar card: seen as it will be printed, and written as a file to print.

use std::path::Path;

use eframe::egui::{self, Align2, Role, Sense, Shape as Drawn, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::ask::FileToWrite;
use super::{Dialog, Fate};
use crate::exchange::picture::{Drawing, Hold, Kind, Shape, draw_card, write};
use crate::ui::actions::{self, Action};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, small};
use crate::workbench::view::bar_card::bar_card;

/// A card, made.
pub struct CardForm {
    drawing: Drawing,
    words: String,
    file: FileToWrite,
}

impl App {
    /// Opens the card of the page's keeper.
    pub(in crate::ui) fn open_card(&mut self) {
        let Some(bag) = self.bag() else { return };
        if bag.keeper.is_none() {
            let (name, key) = (&bag.name, actions::key(Action::Keep));
            return self.say(say!("dialogs-card-has-no-keeper-yet-keeps-one", name = name, key = key));
        }
        let (id, drinker) = (bag.id, bag.drinker);
        let Some(question) = self.question_of(id) else {
            return self.say_problem(word!("dialogs-card-the-station-of-this-bag-is"));
        };
        let notebook = self.bench.notebook();
        let drinker = notebook.drinker(drinker).map_or("", |drinker| drinker.name.as_str());
        match bar_card(&question, drinker, self.today(), &self.zone, &self.units()) {
            Ok(card) => {
                let figures: Vec<String> = card
                    .figures
                    .iter()
                    .map(|f| format!("{} {} {} {}", f.name, f.value, f.unit, f.within).trim().to_owned())
                    .collect();
                let lines: Vec<&str> =
                    card.parts.iter().flat_map(|part| &part.lines).map(String::as_str).collect();
                self.dialog = Some(Dialog::Card(Box::new(CardForm {
                    words: say!(
                        "dialogs-card-bar-card",
                        title = card.title,
                        join = figures.join(", "),
                        join_2 = lines.join(" ")
                    ),
                    drawing: draw_card(&card),
                    file: FileToWrite::default(),
                })));
            }
            Err(sentence) => self.say(sentence),
        }
    }

    pub(super) fn card_ui(&mut self, ui: &mut Ui, mut form: Box<CardForm>, height: f32) -> Fate {
        let tall = (height - 130.0).max(200.0);
        ui.vertical_centered(|ui| preview(ui, &form, tall));
        let button = Button::primary(word!("dialogs-card-save-as")).icon(Icon::Keeper);
        let CardForm { file, drawing, .. } = form.as_mut();
        if !file.show(ui, word!("dialogs-card-or-its-path-pdf-png-svg"), (true, button), dialog, |path| {
            bytes(drawing, path)
        }) {
            small(ui, word!("dialogs-card-one-a4-page-print-the-pdf"));
        }
        Fate::Stay(Dialog::Card(form))
    }
}

/// The page as it will be printed.
fn preview(ui: &mut Ui, form: &CardForm, height: f32) {
    let drawing = &form.drawing;
    let by = (height / drawing.height as f32).min(ui.available_width() / drawing.width as f32);
    let size = vec2(drawing.width as f32 * by, drawing.height as f32 * by);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &form.words));
    let painter = ui.painter().with_clip_rect(rect);
    let colour = |[r, g, b]: [u8; 3]| egui::Color32::from_rgb(r, g, b);
    let place = |[x, y]: [f64; 2]| pos2(rect.left() + x as f32 * by, rect.top() + y as f32 * by);
    painter.rect_filled(rect, 0.0, colour(drawing.paper));
    for shape in &drawing.shapes {
        match shape {
            Shape::Area { points, colour: fill } => {
                let points = points.iter().copied().map(place).collect();
                painter.add(Drawn::convex_polygon(points, colour(*fill), Stroke::NONE));
            }
            Shape::Line { points, colour: ink, width, .. } => {
                let points: Vec<_> = points.iter().copied().map(place).collect();
                painter.line(points, Stroke::new((*width as f32 * by).max(0.6), colour(*ink)));
            }
            Shape::Text { at, hold, size, bold, colour: ink, text } => {
                let size = *size as f32 * by;
                let font = if *bold { scale::semibold(size) } else { scale::regular(size) };
                let galley = painter.layout_no_wrap(text.clone(), font, colour(*ink));
                let anchor = match hold {
                    Hold::Left => Align2::LEFT_TOP,
                    Hold::Middle => Align2::CENTER_TOP,
                    Hold::Right => Align2::RIGHT_TOP,
                };
                let ascent =
                    galley.rows.first().and_then(|row| row.glyphs.first()).map_or(size, |g| g.font_ascent);
                let top = place(*at) - vec2(0.0, ascent);
                painter.galley(anchor.anchor_size(top, galley.size()).min, galley, colour(*ink));
            }
        }
    }
    ui.painter().rect_stroke(rect, 0.0, Stroke::new(1.0, palette(ui).edge), egui::StrokeKind::Outside);
}

/// What the file's ending asks for.
fn bytes(drawing: &Drawing, path: &Path) -> Result<Vec<u8>, String> {
    let kind = Kind::of(path).ok_or(word!("dialogs-card-name-a-file-that-ends-in"))?;
    write(drawing, kind).map_err(|why| why.to_string())
}

fn dialog() -> impl Future<Output = Option<rfd::FileHandle>> + Send + 'static {
    rfd::AsyncFileDialog::new()
        .set_title(word!("dialogs-card-bar-card-2"))
        .set_file_name("bar card.pdf")
        .add_filter(word!("dialogs-card-page"), &["pdf", "png", "svg"])
        .save_file()
}
