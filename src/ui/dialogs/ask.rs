//! The system's file dialog, asked on a thread of its own so that the window goes on drawing.

use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};

use eframe::egui::{Context, Id, Ui};

use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, TextField, entered, fault_line, text_line};

/// The answer of a file dialog that is open: a path, or nothing when it was given up.
pub type Picked = Receiver<Option<PathBuf>>;

/// Waits for `dialog` on a thread of its own and wakes the window when it is answered. `None` when no thread could be
/// started.
pub fn wait_for(
    ctx: &Context,
    dialog: impl Future<Output = Option<rfd::FileHandle>> + Send + 'static,
) -> Option<Picked> {
    let (send, receive) = channel();
    let ctx = ctx.clone();
    std::thread::Builder::new()
        .name("file dialog".to_owned())
        .spawn(move || {
            let picked = pollster::block_on(dialog).map(|file| file.path().to_path_buf());
            // The window may be gone by then; then nobody waits for the answer.
            let _gone = send.send(picked);
            ctx.request_repaint();
        })
        .ok()?;
    Some(receive)
}

/// A file to write, chosen in the system's dialog or typed, and what became of it.
#[derive(Default)]
pub struct FileToWrite {
    path: String,
    picking: Option<Picked>,
    /// What was done, or why not.
    pub told: Option<Result<String, String>>,
}

impl FileToWrite {
    /// Draws `button`, which opens `dialog`, with the field beside it and what was done below; `bytes` makes the file's
    /// content for a path. A file that is there is replaced only when the system's dialog has asked. Gives whether
    /// something was told.
    pub fn show<D>(
        &mut self,
        ui: &mut Ui,
        hint: &str,
        (able, button): (bool, Button<'_>),
        dialog: impl FnOnce() -> D,
        bytes: impl FnOnce(&Path) -> Result<Vec<u8>, String>,
    ) -> bool
    where
        D: Future<Output = Option<rfd::FileHandle>> + Send + 'static,
    {
        let mut given = None;
        if let Some(picked) = self.picking.as_ref().and_then(|picking| picking.try_recv().ok()) {
            self.picking = None;
            if let Some(path) = picked {
                self.path = path.display().to_string();
                given = Some((path, true));
            }
        }
        ui.horizontal(|ui| {
            ui.set_min_height(44.0);
            if ui.add_enabled(able && self.picking.is_none(), button).clicked() {
                self.picking = wait_for(ui.ctx(), dialog());
                if self.picking.is_none() {
                    self.told = Some(Err(word!("dialogs-ask-no-file-dialog-could-be-opened").to_owned()));
                }
            }
            let field = TextField::new(word!("dialogs-ask-file-to-write"), Id::unique("file-to-write"))
                .hint(hint)
                .width((ui.available_width() - 110.0).max(120.0));
            let response = field.bare(ui, &mut self.path).accessible_name(word!("dialogs-ask-file-to-write"));
            let entered = entered(ui, &response, &self.path);
            if ui.add(Button::new(word!("dialogs-ask-write"))).clicked() || entered {
                given = Some((PathBuf::from(self.path.trim().trim_matches('"')), false));
            }
        });
        if let Some((path, replace)) = given {
            self.told = Some(bytes(&path).and_then(|bytes| write_file(&path, &bytes, replace)));
        }
        match &self.told {
            Some(Ok(sentence)) => {
                let colour = palette(ui).good;
                text_line(ui, sentence.clone(), scale::regular(scale::SMALL), colour);
            }
            Some(Err(sentence)) => {
                fault_line(ui, sentence);
            }
            None => {}
        }
        self.told.is_some()
    }
}

/// Writes a file. One that is there is replaced only with `replace` (the system's dialog has asked). Says what was done.
fn write_file(path: &Path, bytes: &[u8], replace: bool) -> Result<String, String> {
    let mut options = OpenOptions::new();
    options.write(true);
    if replace {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let mut file = options.open(path).map_err(|why| match why.kind() {
        std::io::ErrorKind::AlreadyExists => word!("dialogs-ask-that-file-is-there-already-give").to_owned(),
        _ => format!("{}: {why}", path.display()),
    })?;
    file.write_all(bytes).map_err(|why| format!("{}: {why}", path.display()))?;
    Ok(say!("dialogs-ask-written-to", path = path.display()))
}
