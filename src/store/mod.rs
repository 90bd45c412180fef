//! The notebook folder on disk: durable edits, one writer, readable files. `FORMAT.md` beside this file describes
//! every file for people who want to read or write them without the program.
//!
//! An edit is acknowledged when its line in the journal is synced ([`Folder::commit`]); the files that people read
//! are rewritten later, atomically ([`Folder::settle`]), from the journal and from what stands in them by then.

mod check;
mod disk;
mod fault;
mod folder;
mod journal;
mod load;
mod lock;
mod merge;
mod read;
mod settle;
mod text;
mod traces;
mod v1;

use std::path::PathBuf;

pub use check::check;
pub use disk::{Disk, Entry, LockAnswer, LockGuard, SystemDisk, Tail};
pub use fault::{Problem, StoreFault};
pub use folder::{Access, Folder, Opened};
pub use lock::Holder;

/// Environment variable that names the notebook folder.
pub const NOTEBOOK_VARIABLE: &str = "THIRDPULL_NOTEBOOK";

/// Where the notebook lives unless told otherwise: the environment variable [`NOTEBOOK_VARIABLE`], else a folder in
/// the platform's data directory. `None` when the platform names none (no home directory).
#[must_use]
pub fn default_folder() -> Option<PathBuf> {
    match std::env::var_os(NOTEBOOK_VARIABLE) {
        Some(path) if !path.is_empty() => Some(path.into()),
        _ => directories::ProjectDirs::from("", "", "thirdpull").map(|dirs| dirs.data_dir().join("notebook")),
    }
}
