//! What can go wrong, in sentences that can be shown as they are.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why the store could not do something. Nothing that was acknowledged before is lost.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StoreFault {
    /// Nothing stands at the path.
    #[error("there is no folder “{}”", .0.display())]
    Missing(PathBuf),
    /// A file stands where the notebook folder should be.
    #[error("“{}” is a file; a notebook is a folder", .0.display())]
    NotAFolder(PathBuf),
    /// The folder holds no notebook.
    #[error("“{}” holds no notebook (no notebook.ron, no bags)", .0.display())]
    NoNotebook(PathBuf),
    /// A notebook is already there.
    #[error("“{}” already holds a notebook; nothing was changed", .0.display())]
    AlreadyThere(PathBuf),
    /// The notebook is open read-only.
    #[error("this notebook is open for reading only: {0}")]
    ReadOnly(String),
    /// The folder went away while it was open.
    #[error(
        "the notebook folder “{}” is no longer there (drive taken out, network gone, folder moved?). Bring it back \
         and try again, or save the notebook elsewhere",
        .0.display()
    )]
    Vanished(PathBuf),
    /// The file system refused.
    #[error("“{}” {doing}: {why}", .file.display())]
    Io {
        /// The file or folder.
        file: PathBuf,
        /// What was being done, for example "could not be written".
        doing: &'static str,
        /// Why, in plain words.
        why: String,
    },
    /// A file is not what it should be.
    #[error("{0}")]
    Text(Problem),
    /// A notebook was to be merged with itself.
    #[error("“{}” is this notebook itself; name another folder", .0.display())]
    Itself(PathBuf),
    /// The person stopped it.
    #[error("stopped; nothing is lost")]
    Stopped,
}

impl StoreFault {
    pub(crate) fn io(file: &Path, doing: &'static str, fault: &io::Error) -> Self {
        Self::Io { file: file.to_owned(), doing, why: plain(fault) }
    }
}

/// A system fault in plain words.
pub(crate) fn plain(fault: &io::Error) -> String {
    use io::ErrorKind as K;
    match fault.kind() {
        K::StorageFull | K::QuotaExceeded => "the disk is full; free some space and try again".into(),
        K::PermissionDenied => "you have no permission to do this here".into(),
        K::ReadOnlyFilesystem => "the disk can only be read".into(),
        K::NotFound => {
            "it, or the folder that it is to lie in, is not there (drive taken out, folder moved or renamed?); bring it \
             back, or choose another place"
                .into()
        }
        K::IsADirectory => "it is a folder, not a file".into(),
        K::NotADirectory => "part of its path is a file, not a folder".into(),
        K::FileTooLarge => "it is too large".into(),
        K::InvalidFilename => "the file system does not allow this name".into(),
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
            write!(f, ". {}", self.todo)?;
        }
        Ok(())
    }
}
