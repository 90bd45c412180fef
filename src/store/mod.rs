//! The notebook folder on disk: durable edits, one writer, readable files. `DEVELOPERS.md`, “The notebook on disk”, describes
//! every file for people who want to read or write them without the program.
//!
//! An edit is acknowledged when its line in the journal is synced ([`Folder::commit`]); the files that people read
//! are rewritten later, atomically ([`Folder::settle`]), from the journal and from what stands in them by then.

mod archive;
mod backup;
mod check;
mod commit;
mod disk;
mod fault;
mod fix;
mod folder;
#[cfg(test)]
mod fuzz;
mod journal;
mod load;
mod locate;
mod lock;
mod merge;
mod packet;
mod read;
mod replay;
mod settle;
mod text;
mod together;
mod traces;
mod v1;
mod versions;

use std::path::PathBuf;

pub use backup::{BACKUPS_LIMIT_BYTES, Backup, back_up, back_up_if_due, backups, read_backup, unpack_backup};
pub use check::{check, check_on};
pub use disk::{Disk, Entry, LockAnswer, LockGuard, SystemDisk, Tail};
pub use fault::{Problem, StoreFault};
pub use fix::{Mend, fix};
pub use folder::{Access, Folder, Opened};
pub use lock::Holder;
pub use packet::{PackOptions, Packet, read_packet};
pub use together::{Conflict, Merged};
pub use versions::Version;

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
