//! The notebook folder on disk: durable edits, one writer, readable files. `DEVELOPERS.md`, “The notebook on disk”, describes
//! every file for people who want to read or write them without the program.
//!
//! An edit is acknowledged when its line in the journal is synced ([`Folder::commit`]); the files that people read
//! are rewritten later, atomically ([`Folder::settle`]), from the journal and from what stands in them by then.

mod archive;
mod aside;
mod backup;
mod check;
mod commit;
mod disk;
mod elsewhere;
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
mod outside;
mod packet;
mod read;
mod replay;
mod rules;
mod settle;
mod text;
mod together;
mod traces;
mod v1;
mod versions;

use std::path::PathBuf;

pub use aside::Aside;
pub use backup::{
    BACKUPS_LIMIT_BYTES, Backup, back_up, back_up_if_due, back_up_watched, backups, read_backup,
    unpack_backup, unpack_backup_watched,
};
pub use check::{check, check_on};
pub(crate) use disk::folder_of;
pub use disk::{Disk, Entry, LockAnswer, LockGuard, SystemDisk, Tail};
pub use elsewhere::{save_elsewhere, save_elsewhere_on};
pub use fault::{Doing, Problem, StoreFault};
pub use fix::{Mend, fix};
pub use folder::{Access, Folder, Opened};
pub use lock::{Holder, holder_of};
pub use outside::{Glance, Outside, Refreshed, look, look_on};
pub use packet::{PackOptions, Packet, read_packet};
pub use rules::rule_packs;
pub use together::{Conflict, Merged};
pub use versions::Version;

/// Hears how much of long work is done, and of how much (0: not known); `false` stops it.
pub type Watch<'a> = &'a (dyn Fn(usize, usize) -> bool + Sync);

/// Hears nothing and stops nothing.
pub const UNWATCHED: Watch<'static> = &|_, _| true;

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
