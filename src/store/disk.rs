//! The file operations that the store needs, behind a trait, so that tests can make every one of them fail.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// What a folder holds under one name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Full path.
    pub path: PathBuf,
    /// Whether it is a folder.
    pub is_dir: bool,
    /// Length in bytes (0 for a folder).
    pub len: u64,
    /// When its content was last changed, where the disk says so.
    pub modified: Option<std::time::SystemTime>,
}

/// An open file that grows at its end.
pub trait Tail: Send {
    /// Appends all bytes. They may be lost until [`Tail::sync`] returns.
    ///
    /// # Errors
    /// Any fault of the file system; part of the bytes may have been written.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Makes everything appended so far durable.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts the file to `len` bytes.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn cut(&mut self, len: u64) -> io::Result<()>;
}

/// Holds an operating-system lock until dropped.
pub trait LockGuard: Send {}

/// What came of asking for a lock.
pub enum LockAnswer {
    /// The lock is ours until the guard is dropped.
    Held(Box<dyn LockGuard>),
    /// Someone else holds it.
    Taken,
    /// The file system knows no locks.
    Unsupported,
}

/// The file operations of the store.
pub trait Disk: Send + Sync {
    /// What stands at `path`; `None` when nothing does.
    ///
    /// # Errors
    /// Any fault other than "not found".
    fn stat(&self, path: &Path) -> io::Result<Option<Entry>>;

    /// Everything directly inside a folder, sorted by path; empty when the folder does not exist.
    ///
    /// # Errors
    /// Any fault other than "not found".
    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>>;

    /// The whole file, or [`io::ErrorKind::FileTooLarge`] when it has more than `limit` bytes.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>>;

    /// Creates a folder and those above it; fine when it is there.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn create_dir(&self, folder: &Path) -> io::Result<()>;

    /// Writes a new file and syncs its content, but not its name.
    ///
    /// # Errors
    /// Any fault of the file system; part of the file may have been written.
    fn write_new(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Renames, replacing the target.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file; fine when it is not there.
    ///
    /// # Errors
    /// Any fault other than "not found".
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Makes the names in a folder durable.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn sync_dir(&self, folder: &Path) -> io::Result<()>;

    /// Opens (creating it where missing) a file for appending.
    ///
    /// # Errors
    /// Any fault of the file system.
    fn tail(&self, path: &Path) -> io::Result<Box<dyn Tail>>;

    /// Whether a file that is there may be written; nothing is changed.
    ///
    /// # Errors
    /// Why not: no permission, a disk that can only be read.
    fn may_write(&self, path: &Path) -> io::Result<()>;

    /// Asks for the exclusive lock on a file, creating it where missing.
    ///
    /// # Errors
    /// Any fault of the file system, such as a read-only folder.
    fn lock(&self, path: &Path) -> io::Result<LockAnswer>;
}

/// The operating system's files.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemDisk;

struct SystemTail(fs::File);

impl Tail for SystemTail {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        self.0.set_len(len)
    }
}

struct SystemLock(#[expect(dead_code, reason = "the lock lives as long as the open file")] fs::File);

impl LockGuard for SystemLock {}

fn found<T>(answer: io::Result<T>) -> io::Result<Option<T>> {
    match answer {
        Ok(value) => Ok(Some(value)),
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(fault) => Err(fault),
    }
}

impl Disk for SystemDisk {
    fn stat(&self, path: &Path) -> io::Result<Option<Entry>> {
        Ok(found(fs::metadata(path))?.map(|meta| Entry {
            path: path.to_owned(),
            is_dir: meta.is_dir(),
            len: if meta.is_dir() { 0 } else { meta.len() },
            modified: meta.modified().ok(),
        }))
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        let Some(items) = found(fs::read_dir(folder))? else { return Ok(Vec::new()) };
        let mut entries = Vec::new();
        for item in items {
            let path = item?.path();
            // A file that vanishes between listing and looking is simply not there.
            if let Some(entry) = self.stat(&path)? {
                entries.push(entry);
            }
        }
        entries.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(entries)
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        let file = fs::File::open(path)?;
        let len = file.metadata()?.len();
        let too_large = || io::Error::from(io::ErrorKind::FileTooLarge);
        if len > limit {
            return Err(too_large());
        }
        let mut bytes = Vec::with_capacity(usize::try_from(len).unwrap_or(0));
        file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > limit { Err(too_large()) } else { Ok(bytes) }
    }

    fn create_dir(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder)
    }

    fn write_new(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        found(fs::remove_file(path)).map(|_| ())
    }

    fn sync_dir(&self, folder: &Path) -> io::Result<()> {
        // Only Unix lets a folder be opened and synced; elsewhere the rename itself has to do.
        if cfg!(unix) { fs::File::open(folder)?.sync_all() } else { Ok(()) }
    }

    fn tail(&self, path: &Path) -> io::Result<Box<dyn Tail>> {
        let file = fs::OpenOptions::new().append(true).create(true).open(path)?;
        Ok(Box::new(SystemTail(file)))
    }

    fn may_write(&self, path: &Path) -> io::Result<()> {
        fs::OpenOptions::new().append(true).open(path).map(|_file| ())
    }

    fn lock(&self, path: &Path) -> io::Result<LockAnswer> {
        let file = fs::OpenOptions::new().write(true).create(true).truncate(false).open(path)?;
        match file.try_lock() {
            Ok(()) => Ok(LockAnswer::Held(Box::new(SystemLock(file)))),
            Err(fs::TryLockError::WouldBlock) => Ok(LockAnswer::Taken),
            Err(fs::TryLockError::Error(fault)) if fault.kind() == io::ErrorKind::Unsupported => {
                Ok(LockAnswer::Unsupported)
            }
            Err(fs::TryLockError::Error(fault)) => Err(fault),
        }
    }
}

/// Writes a file so that at every instant either the old or the new content stands under its name: a temporary file
/// in the same folder, flushed and synced, renamed over the old one, and the folder synced.
///
/// # Errors
/// Any fault of the file system. The old content still stands; the temporary file is taken away where possible.
pub(crate) fn replace(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = folder_of(path);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let temporary = folder.join(format!(".{name}{TEMPORARY}"));
    durable_dir(disk, folder)?;
    // A leftover of an interrupted write; there is one writer, so it is nobody's.
    disk.remove(&temporary)?;
    let written = disk.write_new(&temporary, bytes).and_then(|()| disk.rename(&temporary, path));
    if let Err(fault) = written {
        // The first fault is the one to tell; a second one while tidying up adds nothing.
        let _ = disk.remove(&temporary);
        return Err(fault);
    }
    disk.sync_dir(folder)
}

/// The folder that a path lies in; the present one for a bare name.
pub(crate) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Makes a folder, and those above it, so that their names survive a power cut.
///
/// # Errors
/// Any fault of the file system.
pub(crate) fn durable_dir(disk: &dyn Disk, folder: &Path) -> io::Result<()> {
    if folder.as_os_str().is_empty() || disk.stat(folder)?.is_some_and(|entry| entry.is_dir) {
        return Ok(());
    }
    let above = folder_of(folder);
    if folder.parent().is_some() {
        durable_dir(disk, above)?;
    }
    disk.create_dir(folder)?;
    if folder.parent().is_some() { disk.sync_dir(above) } else { Ok(()) }
}

/// Ending of the temporary files of [`replace`].
pub(crate) const TEMPORARY: &str = ".thirdpull-tmp";
