//! The system's file dialog, asked on a thread of its own so that the window goes on drawing.

use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};

use eframe::egui::Context;

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

/// Writes a file. One that is there is replaced only with `replace` (the system's dialog has asked). Says what was done.
pub fn write_file(path: &Path, bytes: &[u8], replace: bool) -> Result<String, String> {
    let mut options = OpenOptions::new();
    options.write(true);
    if replace {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let mut file = options.open(path).map_err(|why| match why.kind() {
        std::io::ErrorKind::AlreadyExists => "that file is there already; give another name".to_owned(),
        _ => format!("{}: {why}", path.display()),
    })?;
    file.write_all(bytes).map_err(|why| format!("{}: {why}", path.display()))?;
    Ok(format!("Written to {}", path.display()))
}
