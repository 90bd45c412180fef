//! The system's file dialog, asked on a thread of its own so that the window goes on drawing.

use std::path::PathBuf;
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
