//! The hand-over at a change of shift: on one screen, and as one page to print.

use std::path::Path;

use eframe::egui::Ui;

use super::bar::{fact, head};
use crate::exchange::picture::{Kind, write};
use crate::ui::app::App;
use crate::ui::dialogs::FileToWrite;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, body, small, soft, text_line};
use crate::workbench::view::opening::{CoffeeRow, Opening, hand_over_page};

/// The file that the page goes to.
#[derive(Default)]
pub struct HandOverForm {
    file: FileToWrite,
}

impl App {
    pub(super) fn opening_hand_over_ui(&mut self, ui: &mut Ui, view: &Opening) {
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        let button = Button::primary(word!("opening-hand-over-save-as")).icon(Icon::Book);
        let file = &mut self.opening.hand_over.file;
        let told = file.show(
            ui,
            word!("opening-hand-over-or-its-path-pdf-png-svg"),
            (true, button),
            dialog,
            |path| bytes(view, path),
        );
        if !told {
            small(ui, word!("opening-hand-over-one-a4-page-with-a-place"));
        }
        head(ui, &view.hand_over.title);
        let people = if view.hand_over.people.is_empty() {
            word!("opening-hand-over-nobody-yet")
        } else {
            view.hand_over.people.as_str()
        };
        fact(ui, word!("opening-hand-over-pulled-today"), people);
        fact(ui, word!("opening-hand-over-coffee"), &view.hand_over.sunk);
        fact(ui, word!("opening-hand-over-room"), &view.room);
        // Two columns where many coffees would not stand on one screen.
        let columns = if view.coffees.len() > 4 && ui.available_width() > 900.0 { 2 } else { 1 };
        let width = (ui.available_width() - scale::GAP_5 * (columns - 1) as f32) / columns as f32;
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = scale::GAP_5;
            for part in view.coffees.chunks(view.coffees.len().div_ceil(columns).max(1)) {
                ui.vertical(|ui| {
                    ui.set_width(width);
                    ui.spacing_mut().item_spacing.y = 1.0;
                    for row in part {
                        coffee_ui(ui, row, columns > 1);
                    }
                });
            }
        });
        if !view.hand_over.waiting.is_empty() {
            head(ui, word!("opening-hand-over-waiting"));
            for one in &view.hand_over.waiting {
                small(ui, one.clone());
            }
        }
        if !view.hand_over.notes.is_empty() {
            head(ui, word!("opening-hand-over-notes-of-today"));
            for note in &view.hand_over.notes {
                body(ui, note.clone());
            }
        }
    }
}

/// One coffee: where it stands, its recipe, its last pull, what is to be done.
fn coffee_ui(ui: &mut Ui, row: &CoffeeRow, tight: bool) {
    ui.add_space(if tight { scale::GAP_1 } else { scale::GAP_2 });
    let colour = palette(ui).ink;
    text_line(
        ui,
        format!("{} · {} · {}", row.name, row.station_name, row.verdict),
        scale::semibold(scale::BODY),
        colour,
    );
    let mut words =
        say!("opening-hand-over-grinder", setting = row.setting, recipe = row.recipe, window = row.window);
    if let Some(last) = &row.last {
        let who = if last.who.is_empty() { String::new() } else { format!(", {}", last.who) };
        words += &say!("opening-hand-over-last", time = last.time, when = last.when, who = who);
    }
    if tight {
        small(ui, words)
    } else {
        soft(ui, words)
    };
    let more: Vec<&str> = [&row.how, &row.figure, &row.mixing, &row.warmth]
        .into_iter()
        .filter(|w| !w.is_empty())
        .map(String::as_str)
        .collect();
    if !more.is_empty() {
        small(ui, more.join(" · "));
    }
}

fn bytes(view: &Opening, path: &Path) -> Result<Vec<u8>, String> {
    let kind = Kind::of(path).ok_or(word!("opening-hand-over-name-a-file-that-ends-in"))?;
    write(&hand_over_page(view), kind).map_err(|why| why.to_string())
}

fn dialog() -> impl Future<Output = Option<rfd::FileHandle>> + Send + 'static {
    rfd::AsyncFileDialog::new()
        .set_title(word!("opening-hand-over-hand-over"))
        .set_file_name("hand-over.pdf")
        .add_filter(word!("opening-hand-over-page"), &["pdf", "png", "svg"])
        .save_file()
}
