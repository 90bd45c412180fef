//! Out of the window: the picture as PNG, SVG or PDF, the numbers as CSV.

use std::path::{Path, PathBuf};

use eframe::egui::{self, Context, Id, Ui};

use super::super::ask::{Picked, wait_for, write_file};
use super::CompareForm;
use crate::exchange::picture::{Kind, draw, write};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, TextField, fault_line, text_line};
use crate::workbench::view::compare::{CompareView, figure, write_numbers};

impl App {
    pub(super) fn compare_files_ui(&mut self, ui: &mut Ui, form: &mut CompareForm, view: &CompareView) {
        if let Some(picked) = form.saving.as_ref().and_then(|saving| saving.try_recv().ok()) {
            form.saving = None;
            if let Some(path) = picked {
                form.path = path.display().to_string();
                form.told = Some(save(form, view, &path, true));
            }
        }
        let mut typed = false;
        ui.horizontal(|ui| {
            ui.set_min_height(44.0);
            let idle = form.saving.is_none() && !form.members.is_empty();
            let button = Button::new("Save as…").icon(Icon::Trace);
            if ui
                .add_enabled(idle, button)
                .on_hover_text("Picture as PNG, SVG or PDF, or the numbers as CSV")
                .clicked()
            {
                form.saving = ask(ui.ctx());
                if form.saving.is_none() {
                    form.told = Some(Err("no file dialog could be opened; type the path instead".to_owned()));
                }
            }
            let field = TextField::new("File to write", Id::unique("compare-path"))
                .hint("or its path: .png .svg .pdf .csv")
                .width((ui.available_width() - 110.0).max(120.0));
            let response = field.bare(ui, &mut form.path).accessible_name("File to write");
            typed = response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
            typed |= ui.add(Button::new("Write")).clicked();
        });
        if typed {
            let path = PathBuf::from(form.path.trim().trim_matches('"'));
            form.told = Some(save(form, view, &path, false));
        }
        match &form.told {
            Some(Ok(sentence)) => {
                let colour = palette(ui).good;
                text_line(ui, sentence.clone(), scale::regular(scale::SMALL), colour);
            }
            Some(Err(sentence)) => {
                fault_line(ui, sentence);
            }
            None => {}
        }
    }
}

/// Writes what the file's ending asks for. A file that is there is replaced only when the system's dialog has asked.
fn save(form: &CompareForm, view: &CompareView, path: &Path, replace: bool) -> Result<String, String> {
    let numbers = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let present = form.present();
    let bytes = if numbers {
        let ends: Vec<String> = present.iter().map(|who| form.label(*who)).collect();
        let mut bytes = Vec::new();
        write_numbers(&form.compared(&present, &ends), &form.wish(&present), &mut bytes)
            .map_err(|why| why.to_string())?;
        bytes
    } else {
        let kind = Kind::of(path).ok_or("name a file that ends in .png, .svg, .pdf or .csv")?;
        let title = match present.len() {
            1 => view.names.0.clone(),
            n => format!("{n} pulls"),
        };
        write(&draw(&figure(view, &title, form.cursor.shown), 760.0, 620.0), kind)
            .map_err(|why| why.to_string())?
    };
    write_file(path, &bytes, replace)
}

/// Opens the system's file dialog on a thread of its own.
fn ask(ctx: &Context) -> Option<Picked> {
    let dialog = rfd::AsyncFileDialog::new()
        .set_title("Picture or numbers")
        .set_file_name("pulls.png")
        .add_filter("Picture", &["png", "svg", "pdf"])
        .add_filter("Numbers", &["csv"])
        .save_file();
    wait_for(ctx, dialog)
}
