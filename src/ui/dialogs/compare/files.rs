//! Out of the window: the picture as PNG, SVG or PDF, the numbers as CSV.

use std::path::Path;

use eframe::egui::Ui;

use super::CompareForm;
use crate::exchange::picture::{Kind, draw, write};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::widgets::Button;
use crate::workbench::view::compare::{CompareView, figure, write_numbers};

impl App {
    pub(super) fn compare_files_ui(&mut self, ui: &mut Ui, form: &mut CompareForm, view: &CompareView) {
        let button = Button::new(word!("dialogs-compare-files-save-as")).icon(Icon::Trace);
        let mut file = std::mem::take(&mut form.file);
        let able = !form.members.is_empty();
        let hint = word!("dialogs-compare-files-or-its-path");
        file.show(ui, hint, (able, button), dialog, |path| bytes(form, view, path));
        form.file = file;
    }
}

/// What the file's ending asks for.
fn bytes(form: &CompareForm, view: &CompareView, path: &Path) -> Result<Vec<u8>, String> {
    let numbers = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let present = form.present();
    if numbers {
        let ends: Vec<String> = present.iter().map(|who| form.label(*who)).collect();
        let mut bytes = Vec::new();
        write_numbers(&form.compared(&present, &ends), &form.wish(&present), &mut bytes)
            .map_err(|why| why.to_string())?;
        Ok(bytes)
    } else {
        let kind = Kind::of(path).ok_or(word!("dialogs-compare-files-name-a-file-that-ends-in"))?;
        let title = match present.len() {
            1 => view.names.0.clone(),
            n => say!("dialogs-compare-files-pulls", n = n),
        };
        write(&draw(&figure(view, &title, form.cursor.shown), 760.0, 620.0), kind)
            .map_err(|why| why.to_string())
    }
}

fn dialog() -> impl Future<Output = Option<rfd::FileHandle>> + Send + 'static {
    rfd::AsyncFileDialog::new()
        .set_title(word!("dialogs-compare-files-picture-or-numbers"))
        .set_file_name("pulls.png")
        .add_filter(word!("dialogs-compare-files-picture"), &["png", "svg", "pdf"])
        .add_filter(word!("dialogs-compare-files-numbers"), &["csv"])
        .save_file()
}
