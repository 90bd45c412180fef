//! The notebook as a whole: where it lies, earlier versions, backups, passing bags on, taking in what others pass on,
//! another place to write to.

mod backups;
mod elsewhere;
mod notebook;
mod pass_on;
mod tables;
mod take_in;
mod versions;

use std::path::PathBuf;

use eframe::egui::{self, Context, Id, Ui};

use super::ask::{Picked, wait_for};
use super::{Dialog, Fate, middle, part};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, TextField, body, entered, fault_line, text_line};
use crate::workbench::view::records::Showing;
use crate::workbench::{Finished, Job, typed_path};

use backups::BackupsForm;
use elsewhere::ElsewhereForm;
use pass_on::PassForm;
use tables::TablesForm;
use take_in::TakeForm;
use versions::VersionsForm;

/// Which sheet is open.
pub enum Sheet {
    /// The overview.
    Notebook,
    /// Earlier versions.
    Versions(VersionsForm),
    /// Backups.
    Backups(BackupsForm),
    /// Bags as one file.
    PassOn(PassForm),
    /// A packet or another notebook.
    TakeIn(TakeForm),
    /// Another folder for the notebook.
    Elsewhere(ElsewhereForm),
    /// Tables for other programs.
    Tables(TablesForm),
}

/// A sheet about the notebook, and what came of the last work.
pub struct KeepingForm {
    sheet: Sheet,
    fault: Option<String>,
    done: Option<String>,
}

impl KeepingForm {
    fn over(sheet: Sheet) -> Self {
        Self { sheet, fault: None, done: None }
    }

    pub(super) fn title(&self) -> &'static str {
        match &self.sheet {
            Sheet::Notebook => word!("dialogs-keeping-the-notebook"),
            Sheet::Versions(_) => word!("dialogs-keeping-earlier-versions"),
            Sheet::Backups(_) => word!("dialogs-keeping-backups"),
            Sheet::PassOn(_) => word!("dialogs-keeping-pass-on"),
            Sheet::TakeIn(form) => form.title(),
            Sheet::Elsewhere(_) => word!("dialogs-keeping-save-elsewhere"),
            Sheet::Tables(_) => word!("dialogs-keeping-tables"),
        }
    }

    /// Takes in what came of long work.
    pub(in crate::ui) fn hear(&mut self, outcome: Result<Finished, String>) {
        self.fault = None;
        self.done = None;
        if let Sheet::Backups(form) = &mut self.sheet {
            form.read_again();
        }
        match outcome {
            Err(sentence) => self.fault = Some(sentence),
            Ok(Finished::Passed { file, size }) => {
                self.done = Some(say!(
                    "dialogs-keeping-written-to-send-it-as-it",
                    file = file.display(),
                    size = size
                ));
            }
            Ok(Finished::Seen { packet, merged }) => {
                if let Sheet::TakeIn(form) = &mut self.sheet {
                    form.see(packet, merged);
                }
            }
            Ok(Finished::Taken) => {
                if let Sheet::TakeIn(form) = &mut self.sheet {
                    form.taken();
                }
            }
            Ok(Finished::Tabled { folder, left_out }) => {
                self.fault = left_out;
                self.done = Some(say!("dialogs-keeping-written-into", folder = folder.display()));
            }
            Ok(Finished::BackedUp(_)) => {
                self.done = Some(word!("dialogs-keeping-the-backup-was-made").to_owned())
            }
            Ok(Finished::Unpacked(folder)) => {
                self.done =
                    Some(say!("dialogs-keeping-unpacked-open-it-beside-this-one", folder = folder.display()));
            }
            Ok(Finished::WentBack) => {
                self.done = Some(word!("dialogs-keeping-the-notebook-stands-as-it-did").to_owned());
            }
            Ok(Finished::Elsewhere(folder)) => {
                self.done =
                    Some(say!("dialogs-keeping-the-notebook-now-lies-in-and", folder = folder.display()));
            }
        }
    }
}

impl Dialog {
    fn keeping(sheet: Sheet) -> Self {
        Self::Keeping(Box::new(KeepingForm::over(sheet)))
    }

    /// The overview of the notebook.
    #[must_use]
    pub fn notebook() -> Self {
        Self::keeping(Sheet::Notebook)
    }
}

impl App {
    /// Opens the earlier versions of the pull looked at, or of the bag.
    pub(in crate::ui) fn open_versions(&mut self) {
        let form = VersionsForm::of_the_page(self.page.bag, self.page.selected);
        self.dialog = Some(Dialog::keeping(Sheet::Versions(form)));
    }

    /// Opens passing on, with the bag on the page chosen.
    pub(in crate::ui) fn open_pass_on(&mut self) {
        let form = PassForm::new(self.page.bag, self.bench.notebook());
        self.dialog = Some(Dialog::keeping(Sheet::PassOn(form)));
    }

    /// Opens taking in; a file or folder that is named is looked at at once.
    pub(in crate::ui) fn open_take_in(&mut self, ctx: &Context, path: Option<PathBuf>) {
        let mut form = Box::new(KeepingForm::over(Sheet::TakeIn(TakeForm::default())));
        if let (Some(path), Sheet::TakeIn(take)) = (path, &mut form.sheet) {
            take.place.text = path.display().to_string();
            let job = take.look();
            self.begin(ctx, &mut form.fault, job);
        }
        self.dialog = Some(Dialog::Keeping(form));
    }

    /// Shows what came together last.
    pub(in crate::ui) fn open_merged(&mut self) {
        let mut form = TakeForm::default();
        form.taken();
        self.dialog = Some(Dialog::keeping(Sheet::TakeIn(form)));
    }

    /// Opens saving elsewhere.
    pub(in crate::ui) fn open_elsewhere(&mut self) {
        self.dialog = Some(Dialog::keeping(Sheet::Elsewhere(ElsewhereForm::default())));
    }

    fn begin(&mut self, ctx: &Context, fault: &mut Option<String>, job: Result<Job, String>) {
        let waker = ctx.clone();
        let now = self.now();
        let begun = job.and_then(|job| {
            let wake = Box::new(move || waker.request_repaint());
            self.bench.begin(job, now, wake).map_err(|refusal| refusal.to_string())
        });
        *fault = begun.err();
    }

    pub(super) fn keeping_ui(&mut self, ui: &mut Ui, mut form: Box<KeepingForm>, height: f32) -> Fate {
        // Esc is handled with all other keys; here only what the sheets share.
        let mut job = None;
        let mut next = None;
        let room = height - 40.0;
        match &mut form.sheet {
            Sheet::Notebook => next = self.notebook_sheet(ui, room),
            Sheet::Versions(sheet) => self.versions_sheet(ui, sheet, room),
            Sheet::Backups(sheet) => job = self.backups_sheet(ui, sheet, room - 60.0),
            Sheet::PassOn(sheet) => job = self.pass_on_sheet(ui, sheet, room - 60.0),
            Sheet::TakeIn(sheet) => job = self.take_in_sheet(ui, sheet, room - 60.0),
            Sheet::Elsewhere(sheet) => job = self.elsewhere_sheet(ui, sheet),
            Sheet::Tables(sheet) => job = self.tables_sheet(ui, sheet),
        }
        if let Some(job) = job {
            form.done = None;
            let ctx = ui.ctx().clone();
            self.begin(&ctx, &mut form.fault, job);
        }
        if let Some(lent) = self.bench.job() {
            let stop = progress_ui(ui, lent.name(), lent.part(), lent.is_stopping());
            if stop {
                lent.stop();
            }
        }
        if let Some(fault) = &form.fault {
            fault_line(ui, fault);
        }
        if let Some(done) = &form.done {
            done_line(ui, done);
        }
        match next {
            Some(sheet) => Fate::Go(Some(Dialog::keeping(sheet))),
            None if self.dialog.is_some() => Fate::Go(self.dialog.take()),
            None => Fate::Stay(Dialog::Keeping(form)),
        }
    }

    fn showing<'a>(&'a self, units: &'a crate::units::UnitPreferences) -> Showing<'a> {
        Showing { notebook: self.bench.notebook(), units, zone: &self.zone }
    }
}

/// Something went well, in words.
fn done_line(ui: &mut Ui, text: &str) {
    let p = palette(ui);
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = scale::GAP_2;
        let (rect, _) = ui.allocate_exact_size(egui::Vec2::splat(20.0), egui::Sense::hover());
        Icon::Check.paint(ui.painter(), rect, p.good);
        body(ui, text);
    });
}

/// How far long work has come; true when it is to stop.
fn progress_ui(ui: &mut Ui, name: &str, part: Option<f32>, stopping: bool) -> bool {
    let p = palette(ui);
    let mut stop = false;
    ui.horizontal(|ui| {
        let (rect, response) = ui.allocate_exact_size(egui::vec2(180.0, 10.0), egui::Sense::hover());
        ui.painter().rect_filled(rect, 5.0, p.hairline);
        let mut filled = rect;
        filled.set_width(rect.width() * part.unwrap_or(0.5));
        ui.painter().rect_filled(filled, 5.0, if part.is_some() { p.accent } else { p.edge });
        let text = match part {
            Some(part) => format!("{name}: {:.0} %", part * 100.0),
            None => format!("{name}…"),
        };
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ProgressIndicator, true, &text));
        let text = if stopping { word!("dialogs-keeping-stopping").to_owned() } else { text };
        let mut text = text;
        if let Some(first) = text.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        text_line(ui, text, scale::regular(scale::BODY), p.ink);
        stop = ui.add_enabled(!stopping, Button::new(word!("dialogs-keeping-stop")).height(36.0)).clicked();
    });
    stop
}

/// What the system's dialog is to ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ask {
    Packet,
    Folder,
    NewPacket,
}

/// A path that is typed or chosen.
#[derive(Default)]
struct PathField {
    text: String,
    picking: Option<Picked>,
    /// What the system's dialog for a new file gave; there the person was asked before.
    agreed: Option<PathBuf>,
    missing: bool,
    seen: bool,
}

impl PathField {
    /// Gives the field the keyboard, once.
    fn focus_first(&mut self, ui: &Ui, id: &str) {
        self.seen = self.seen || super::first_focus(ui, Id::unique(("keeping-path", id)));
    }

    fn path(&self) -> Option<PathBuf> {
        typed_path(&self.text)
    }

    /// Draws the field and its buttons; true when a path was chosen or Enter was pressed.
    fn show(&mut self, ui: &mut Ui, label: &str, id: &str, asks: &[(&str, Ask)]) -> bool {
        let mut given = false;
        if let Some(picked) = self.picking.as_ref().and_then(|picking| picking.try_recv().ok()) {
            self.picking = None;
            if let Some(path) = picked {
                self.text = path.display().to_string();
                self.agreed = Some(path);
                given = true;
            }
        }
        ui.spacing_mut().item_spacing.y = scale::GAP_1;
        let label_id = crate::ui::widgets::small(ui, label).id;
        ui.spacing_mut().item_spacing.y = scale::GAP_3;
        ui.horizontal(|ui| {
            let wide = |word: &str| {
                let font = scale::regular(scale::BODY);
                let text = ui.painter().layout_no_wrap(word.to_owned(), font, egui::Color32::BLACK);
                text.size().x + 2.0 * scale::GAP_3 + ui.spacing().item_spacing.x
            };
            let buttons: f32 = asks.iter().map(|(word, _)| wide(word)).sum();
            // The field's own margins stand outside its width.
            let width = (ui.available_width() - buttons - 24.0).max(120.0);
            let field = TextField::new(label, Id::unique(("keeping-path", id))).width(width).limit(4000);
            let response = field.bare(ui, &mut self.text).labelled_by(label_id);
            given |= entered(ui, &response, &self.text);
            for (word, ask) in asks {
                if ui.add_enabled(self.picking.is_none(), Button::new(word)).clicked() {
                    let name =
                        self.path().and_then(|path| Some(path.file_name()?.to_string_lossy().into_owned()));
                    self.picking = ask_system(ui.ctx(), *ask, &name.unwrap_or_default());
                    self.missing = self.picking.is_none();
                }
            }
        });
        if self.missing {
            fault_line(ui, word!("dialogs-keeping-no-file-dialog-could-be-opened"));
        }
        given
    }
}

/// Opens the system's dialog on a thread of its own; the answer comes through the channel.
fn ask_system(ctx: &Context, ask: Ask, name: &str) -> Option<Picked> {
    let dialog = rfd::AsyncFileDialog::new();
    let packets = |dialog: rfd::AsyncFileDialog| {
        dialog
            .add_filter(word!("dialogs-keeping-passed-on"), &["thirdpull"])
            .add_filter(word!("dialogs-keeping-all-files"), &["*"])
    };
    let asked: std::pin::Pin<Box<dyn Future<Output = Option<rfd::FileHandle>> + Send>> = match ask {
        Ask::Packet => Box::pin(
            packets(dialog).set_title(word!("dialogs-keeping-a-file-that-was-passed-on")).pick_file(),
        ),
        Ask::Folder => Box::pin(dialog.set_title(word!("dialogs-keeping-a-folder")).pick_folder()),
        Ask::NewPacket => Box::pin(
            packets(dialog)
                .set_title(word!("dialogs-keeping-where-to-write-it"))
                .set_file_name(name)
                .save_file(),
        ),
    };
    wait_for(ctx, asked)
}

/// A place to propose for a new file or folder.
fn proposed(name: &str) -> String {
    let folder = directories::UserDirs::new()
        .map(|dirs| dirs.document_dir().unwrap_or_else(|| dirs.home_dir()).to_owned())
        .unwrap_or_default();
    folder.join(name).display().to_string()
}
