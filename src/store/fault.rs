//! What can go wrong, in sentences that can be shown as they are.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why the store could not do something. Nothing that was acknowledged before is lost.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StoreFault {
    /// Nothing stands at the path.
    #[error("{}", say!("store-fault-missing", folder = .0.display()))]
    Missing(PathBuf),
    /// A file stands where the notebook folder should be.
    #[error("{}", say!("store-fault-not-a-folder", file = .0.display()))]
    NotAFolder(PathBuf),
    /// The folder holds no notebook.
    #[error("{}", say!("store-fault-no-notebook", folder = .0.display()))]
    NoNotebook(PathBuf),
    /// A notebook is already there.
    #[error("{}", say!("store-fault-already-there", folder = .0.display()))]
    AlreadyThere(PathBuf),
    /// The notebook is open read-only.
    #[error("{}", say!("store-fault-read-only", why = .0))]
    ReadOnly(String),
    /// The folder went away while it was open.
    #[error("{}", say!("store-fault-vanished", folder = .0.display()))]
    Vanished(PathBuf),
    /// The file system refused.
    #[error("{}", say!("store-fault-io", doing = doing.key(), file = file.display(), why = why))]
    Io {
        /// The file or folder.
        file: PathBuf,
        /// What was being done.
        doing: Doing,
        /// Why, in plain words.
        why: String,
    },
    /// A file is not what it should be.
    #[error("{0}")]
    Text(Problem),
    /// A notebook was to be merged with itself.
    #[error("{}", say!("store-fault-itself", folder = .0.display()))]
    Itself(PathBuf),
    /// The person stopped it.
    #[error("{}", word!("store-fault-stopped"))]
    Stopped,
}

/// What the file system was asked to do with a file or a folder, and refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// To put it into a backup.
    BackUp,
    /// To say what stands there.
    Look,
    /// To make a folder.
    Make,
    /// To open it for writing.
    Open,
    /// To read it.
    Read,
    /// To remove it.
    Remove,
    /// To move it into `set-aside`.
    SetAside,
    /// To write it.
    Write,
}

impl Doing {
    /// The name by which a message tells them apart.
    const fn key(self) -> &'static str {
        match self {
            Self::BackUp => "back-up",
            Self::Look => "look",
            Self::Make => "make",
            Self::Open => "open",
            Self::Read => "read",
            Self::Remove => "remove",
            Self::SetAside => "set-aside",
            Self::Write => "write",
        }
    }
}

impl StoreFault {
    pub(crate) fn io(file: &Path, doing: Doing, fault: &io::Error) -> Self {
        Self::Io { file: file.to_owned(), doing, why: plain(fault) }
    }
}

/// A system fault in plain words.
pub(crate) fn plain(fault: &io::Error) -> String {
    use io::ErrorKind as K;
    match fault.kind() {
        K::StorageFull | K::QuotaExceeded => word!("store-fault-disk-full").into(),
        K::PermissionDenied => word!("store-fault-no-permission").into(),
        K::ReadOnlyFilesystem => word!("store-fault-disk-read-only").into(),
        K::NotFound => word!("store-fault-not-there").into(),
        K::IsADirectory => word!("store-fault-is-a-folder").into(),
        K::NotADirectory => word!("store-fault-path-through-a-file").into(),
        K::FileTooLarge => word!("store-fault-too-large").into(),
        K::InvalidFilename => word!("store-fault-name-not-allowed").into(),
        _ => fault.to_string(),
    }
}

/// Something found in a notebook's files that a person should know: where, what, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// The file, relative to the notebook folder where possible.
    pub file: PathBuf,
    /// Line, counted from 1; 0 when the whole file is meant.
    pub line: usize,
    /// Column, counted from 1; 0 when the whole line or file is meant.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub todo: String,
    /// Whether opening has put it right already, so that it only has to be told.
    pub mended: bool,
}

impl Problem {
    /// A problem of a whole file.
    #[must_use]
    pub fn of_file(file: &Path, what: impl Into<String>, todo: impl Into<String>) -> Self {
        Self {
            file: file.to_owned(),
            line: 0,
            column: 0,
            what: what.into(),
            todo: todo.into(),
            mended: false,
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if self.line > 0 {
            write!(f, ":{}", self.line)?;
            if self.column > 0 {
                write!(f, ":{}", self.column)?;
            }
        }
        write!(f, ": {}", self.what)?;
        if !self.todo.is_empty() {
            let end = if self.what.ends_with(['.', '?', '!']) { "" } else { "." };
            write!(f, "{end} {}", self.todo)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_to_do_follows_one_mark() {
        let said = |what: &str| Problem::of_file(Path::new("a.ron"), what, "Correct the number").to_string();
        assert_eq!(said("72 g is too much"), "a.ron: 72 g is too much. Correct the number");
        assert_eq!(said("200 °C: is it 93.3 °C?"), "a.ron: 200 °C: is it 93.3 °C? Correct the number");
    }
}
