//! One writer at a time: an operating-system lock, and a file beside it that says who holds it.

use std::path::Path;

use jiff::Timestamp;

use super::disk::{Disk, LockAnswer, LockGuard, replace};
use super::read::options;
use super::text::{Ron, record};

/// The locked file; empty, since a locked file cannot be read everywhere.
pub(crate) const LOCK: &str = "lock";
/// Who holds the lock.
pub(crate) const HOLDER: &str = "holder.ron";

/// Who opens a notebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// The person or the program's window, for example "Mara".
    pub name: String,
    /// The machine, for example "bar-laptop". Decides the name of the journal.
    pub machine: String,
}

impl Holder {
    /// The person and the machine as the system names them.
    #[must_use]
    pub fn here() -> Self {
        let variable = |name: &str| std::env::var(name).ok().filter(|value| !value.trim().is_empty());
        let machine = std::fs::read_to_string("/etc/hostname")
            .ok()
            .map(|text| text.trim().to_owned())
            .filter(|text| !text.is_empty())
            .or_else(|| variable("HOSTNAME"))
            .or_else(|| variable("COMPUTERNAME"));
        Self {
            name: variable("USER").or_else(|| variable("USERNAME")).unwrap_or_else(|| "someone".to_owned()),
            machine: machine.unwrap_or_else(|| "this machine".to_owned()),
        }
    }
}

record!(
    /// `holder.ron`.
    HolderText Lines {
        may name: String,
        may machine: String,
        must since: Timestamp,
    }
);

/// What came of asking to be the writer.
pub(crate) enum Asked {
    /// We are; `stale` names an earlier holder who never said goodbye. No guard where the disk knows no locks.
    Ours { guard: Option<Box<dyn LockGuard>>, stale: Option<(Holder, Timestamp)> },
    /// Someone else is.
    Theirs(Option<(Holder, Timestamp)>),
}

/// Who stands in `holder.ron`.
pub(crate) fn holder(disk: &dyn Disk, root: &Path) -> Option<(Holder, Timestamp)> {
    let bytes = disk.read(&root.join(HOLDER), 64 << 10).ok()?;
    let text = String::from_utf8(bytes).ok()?;
    let text: HolderText = options().from_str(&text).ok()?;
    Some((Holder { name: text.name, machine: text.machine }, text.since))
}

/// Who is named as having the notebook at `root` open, if somebody is.
#[must_use]
pub fn holder_of(disk: &dyn Disk, root: &Path) -> Option<Holder> {
    holder(disk, root).map(|(holder, _)| holder)
}

/// Asks for the lock.
///
/// # Errors
/// When the lock file cannot be made (a read-only folder, a full disk).
pub(crate) fn ask(disk: &dyn Disk, root: &Path) -> std::io::Result<Asked> {
    Ok(match disk.lock(&root.join(LOCK))? {
        LockAnswer::Held(guard) => Asked::Ours { guard: Some(guard), stale: holder(disk, root) },
        LockAnswer::Unsupported => Asked::Ours { guard: None, stale: holder(disk, root) },
        LockAnswer::Taken => Asked::Theirs(holder(disk, root)),
    })
}

/// Says who holds the lock from now on.
///
/// # Errors
/// Any fault of the file system.
pub(crate) fn sign(disk: &dyn Disk, root: &Path, holder: &Holder, now: Timestamp) -> std::io::Result<()> {
    let text = HolderText {
        name: holder.name.clone(),
        machine: holder.machine.clone(),
        since: now,
        unknown: Default::default(),
    };
    replace(disk, &root.join(HOLDER), Ron::document(&text).as_bytes())
}
