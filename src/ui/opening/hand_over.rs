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
use crate::workbench::view::opening::{Opening, hand_over_page};

/// The file that the page goes to.
#[derive(Default)]
pub struct HandOverForm {
    file: FileToWrite,
}

impl App {
    pub(super) fn opening_hand_over_ui(&mut self, ui: &mut Ui, view: &Opening) {
        let p = palette(ui);
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        let button = Button::primary("Save as…").icon(Icon::Book);
        let file = &mut self.opening.hand_over.file;
        let told =
            file.show(ui, "or its path: .pdf .png .svg", (true, button), dialog, |path| bytes(view, path));
        if !told {
            small(ui, "One A4 page with a place to sign. Print the PDF from any viewer.");
        }
        head(ui, &view.hand_over.title);
        let people =
            if view.hand_over.people.is_empty() { "nobody yet" } else { view.hand_over.people.as_str() };
        fact(ui, "Pulled today", people);
        fact(ui, "Coffee", &view.hand_over.sunk);
        fact(ui, "Room", &view.room);
        for row in &view.coffees {
            ui.add_space(scale::GAP_2);
            let colour = p.ink;
            text_line(
                ui,
                format!("{} · {} · {}", row.name, row.station_name, row.verdict),
                scale::semibold(scale::BODY),
                colour,
            );
            let mut words = format!("grinder {} · {} · {}", row.setting, row.recipe, row.window);
            if let Some(last) = &row.last {
                let who = if last.who.is_empty() { String::new() } else { format!(", {}", last.who) };
                words += &format!(" · last {} {}{who}", last.time, last.when);
            }
            soft(ui, words);
            let more: Vec<&str> = [&row.how, &row.figure, &row.mixing, &row.warmth]
                .into_iter()
                .filter(|w| !w.is_empty())
                .map(String::as_str)
                .collect();
            if !more.is_empty() {
                small(ui, more.join(" · "));
            }
        }
        if !view.hand_over.waiting.is_empty() {
            head(ui, "Waiting");
            for one in &view.hand_over.waiting {
                small(ui, one.clone());
            }
        }
        if !view.hand_over.notes.is_empty() {
            head(ui, "Notes of today");
            for note in &view.hand_over.notes {
                body(ui, note.clone());
            }
        }
    }
}

fn bytes(view: &Opening, path: &Path) -> Result<Vec<u8>, String> {
    let kind = Kind::of(path).ok_or("name a file that ends in .pdf, .png or .svg")?;
    write(&hand_over_page(view), kind).map_err(|why| why.to_string())
}

fn dialog() -> impl Future<Output = Option<rfd::FileHandle>> + Send + 'static {
    rfd::AsyncFileDialog::new()
        .set_title("Hand-over")
        .set_file_name("hand-over.pdf")
        .add_filter("Page", &["pdf", "png", "svg"])
        .save_file()
}
