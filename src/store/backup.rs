//! Dated backups inside the notebook folder, thinned out with age and bounded in size.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use jiff::Timestamp;

use super::archive::{Limits, Packer, unpack};
use super::disk::{Disk, SystemDisk, replace};
use super::fault::{Doing, Problem, StoreFault};
use super::load::{NOTEBOOK, load};

pub(crate) const LIMITS: Limits = Limits { packed: 1 << 30, unpacked: 2 << 30, parts: 500_000 };

/// Bytes that all backups together may take; the newest two stay in any case.
pub const BACKUPS_LIMIT_BYTES: u64 = 200 << 20;

/// A backup in the notebook folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// Its file.
    pub path: PathBuf,
    /// When it was made.
    pub made: Timestamp,
    /// Its length, bytes.
    pub bytes: u64,
}

/// How far a clock may have been ahead when a backup was made, seconds; one that is later was dated by a clock that
/// went wrong.
const SLACK_S: i64 = 3600;

impl Backup {
    /// Whether it is dated later than it can have been made. Such a backup says nothing about whether another one is
    /// due, nor about the age of others, and is never thinned out.
    #[must_use]
    pub fn is_of_the_future(&self, now: Timestamp) -> bool {
        self.made.as_second().saturating_sub(now.as_second()) > SLACK_S
    }
}

/// Name of a backup's file, in coordinated universal time. A second one of the same second has `-2` behind it.
const NAME: &str = "%Y-%m-%dT%H%M%SZ";

/// What every backup's name ends with.
const ENDING: &str = ".ron.gz";

/// When the backup of this name was made, and the how many-eth of that second it is.
fn made_of(name: &str) -> Option<(Timestamp, u32)> {
    let stem = name.strip_suffix(ENDING)?;
    let (time, number) = match stem.rsplit_once("Z-") {
        Some((time, number)) => (format!("{time}Z"), number.parse().ok().filter(|number| *number > 1)?),
        None => (stem.to_owned(), 1),
    };
    let time = jiff::civil::DateTime::strptime(NAME, time).ok()?;
    Some((jiff::tz::TimeZone::UTC.to_timestamp(time).ok()?, number))
}

/// Folders whose files are backed up. Traces are not: they seldom change, and one that is replaced goes to `set-aside`.
const FOLDERS: [&str; 5] = ["stations", "bags", "rules", "practice", "versions"];

/// Backups of the notebook at `root`, oldest first.
#[must_use]
pub fn backups(root: &Path) -> Vec<Backup> {
    backups_on(&SystemDisk, root)
}

pub(crate) fn backups_on(disk: &dyn Disk, root: &Path) -> Vec<Backup> {
    let entries = disk.list(&root.join("backups")).unwrap_or_default();
    let mut found: Vec<((Timestamp, u32), Backup)> = entries
        .into_iter()
        .filter_map(|entry| {
            let made = made_of(&entry.path.file_name()?.to_string_lossy())?;
            Some((made, Backup { path: entry.path, made: made.0, bytes: entry.len }))
        })
        .collect();
    found.sort_by_key(|(made, _)| *made);
    found.into_iter().map(|(_, backup)| backup).collect()
}

/// Makes a backup of the notebook's files as they stand (settle first), and thins out old ones. Reads only what was
/// written atomically, so it may run on another thread beside the writer.
///
/// # Errors
/// [`StoreFault`] when the files cannot be read or the backup cannot be written.
pub fn back_up(root: &Path, now: Timestamp) -> Result<Backup, StoreFault> {
    back_up_on(&SystemDisk, root, now, super::UNWATCHED)
}

/// [`back_up`], watched.
///
/// # Errors
/// As [`back_up`]; [`StoreFault::Stopped`].
pub fn back_up_watched(root: &Path, now: Timestamp, watch: super::Watch<'_>) -> Result<Backup, StoreFault> {
    back_up_on(&SystemDisk, root, now, watch)
}

/// [`back_up`] unless one was made within the last 20 hours.
///
/// # Errors
/// As [`back_up`].
pub fn back_up_if_due(root: &Path, now: Timestamp) -> Result<Option<Backup>, StoreFault> {
    let all = backups(root);
    let newest =
        all.iter().rfind(|backup| !backup.is_of_the_future(now)).map(|backup| backup.made.as_second());
    let due = newest.is_none_or(|newest| now.as_second().saturating_sub(newest) > 20 * 3600);
    if due { back_up(root, now).map(Some) } else { Ok(None) }
}

fn files(disk: &dyn Disk, folder: &Path, found: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in disk.list(folder)? {
        if entry.is_dir {
            files(disk, &entry.path, found)?;
        } else if !entry.path.to_string_lossy().ends_with(super::disk::TEMPORARY) {
            found.push(entry.path);
        }
    }
    Ok(())
}

/// [`back_up`] on other files than the operating system's.
pub(crate) fn back_up_on(
    disk: &dyn Disk,
    root: &Path,
    now: Timestamp,
    watch: super::Watch<'_>,
) -> Result<Backup, StoreFault> {
    let io = |path: &Path, fault: std::io::Error| StoreFault::io(path, Doing::BackUp, &fault);
    let mut found = vec![root.join(NOTEBOOK)];
    for folder in FOLDERS {
        let folder = root.join(folder);
        files(disk, &folder, &mut found).map_err(|fault| io(&folder, fault))?;
    }
    let mut packer = Packer::new().map_err(|fault| io(root, fault))?;
    let total = found.len();
    for (done, path) in found.into_iter().enumerate() {
        if !watch(done, total) {
            return Err(StoreFault::Stopped);
        }
        let name = path.strip_prefix(root).unwrap_or(&path).to_string_lossy().replace('\\', "/");
        match disk.read(&path, super::read::LARGEST_FILE) {
            Ok(bytes) => packer.add(&name, &bytes).map_err(|fault| io(&path, fault))?,
            Err(fault) if fault.kind() == std::io::ErrorKind::NotFound => {}
            Err(fault) => return Err(io(&path, fault)),
        }
    }
    let bytes = packer.finish().map_err(|fault| io(root, fault))?;
    let time = jiff::tz::TimeZone::UTC.to_datetime(now);
    let name = time.strftime(NAME).to_string();
    let folder = root.join("backups");
    let mut path = folder.join(format!("{name}{ENDING}"));
    let mut number = 1;
    while disk.stat(&path).map_err(|fault| io(&path, fault))?.is_some() {
        number += 1;
        path = folder.join(format!("{name}-{number}{ENDING}"));
    }
    replace(disk, &path, &bytes).map_err(|fault| io(&path, fault))?;
    thin_out(disk, root, now);
    Ok(Backup { path, made: now, bytes: bytes.len() as u64 })
}

/// Keeps every backup of the last two days, one a day for two weeks, one a week for ten weeks, one a month beyond; and
/// drops the oldest while all together are too large. Those dated in the future are left alone.
fn thin_out(disk: &dyn Disk, root: &Path, now: Timestamp) {
    let mut all = backups_on(disk, root);
    all.retain(|backup| !backup.is_of_the_future(now));
    let Some(newest) = all.last().map(|backup| backup.made.as_second()) else { return };
    let mut seen = BTreeSet::new();
    let mut bytes = 0;
    for (age, backup) in all.iter().rev().enumerate() {
        let seconds = backup.made.as_second();
        let days = (newest - seconds) / 86_400;
        let slot = match days {
            // Each has its own place, also those of one second.
            0..2 => (0, i64::try_from(age).unwrap_or(i64::MAX)),
            2..14 => (1, seconds.div_euclid(86_400)),
            14..70 => (2, seconds.div_euclid(7 * 86_400)),
            _ => (3, seconds.div_euclid(30 * 86_400)),
        };
        bytes += backup.bytes;
        if age >= 2 && (!seen.insert(slot) || bytes > BACKUPS_LIMIT_BYTES) {
            // A backup that cannot be removed now is removed next time.
            let _ = disk.remove(&backup.path);
            bytes -= backup.bytes;
        }
    }
}

/// Unpacks a backup into a new folder, from which it can be opened like any notebook.
///
/// # Errors
/// [`StoreFault::AlreadyThere`] when something stands at `target`; [`StoreFault::Text`] when the backup is damaged.
pub fn unpack_backup(backup: &Path, target: &Path) -> Result<(), StoreFault> {
    unpack_backup_watched(backup, target, super::UNWATCHED)
}

/// [`unpack_backup`], watched; how many files there will be is not known beforehand.
///
/// # Errors
/// As [`unpack_backup`]; [`StoreFault::Stopped`].
pub fn unpack_backup_watched(
    backup: &Path,
    target: &Path,
    watch: super::Watch<'_>,
) -> Result<(), StoreFault> {
    let disk = SystemDisk;
    let there = disk.stat(target).map_err(|fault| StoreFault::io(target, Doing::Look, &fault))?;
    let empty = there.as_ref().is_none_or(|entry| entry.is_dir)
        && disk.list(target).is_ok_and(|entries| entries.is_empty());
    if !empty {
        return Err(StoreFault::AlreadyThere(target.to_owned()));
    }
    let mut written: Vec<PathBuf> = Vec::new();
    let unpacked = unpack(&disk, backup, LIMITS, |name, bytes| {
        if !watch(written.len(), 0) {
            return Err(StoreFault::Stopped);
        }
        let path = Path::new(name);
        let inside = path.components().all(|part| matches!(part, Component::Normal(_)));
        let known = path == Path::new(NOTEBOOK) || FOLDERS.iter().any(|folder| path.starts_with(folder));
        if !(inside && known) {
            let what = say!("store-backup-leads-elsewhere", name = name);
            return Err(StoreFault::Text(Problem::of_file(backup, what, word!("store-backup-todo"))));
        }
        let path = target.join(path);
        written.push(path.clone());
        replace(&disk, &path, &bytes).map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))
    });
    if unpacked.is_err() {
        // Half a notebook must not be taken for one. Only what was written here goes; folders only when empty.
        for path in &written {
            let _ = disk.remove(path);
        }
        let above = |path: &PathBuf| path.parent().map(Path::to_owned);
        let mut folders: BTreeSet<PathBuf> = written.iter().filter_map(above).collect();
        folders
            .extend(folders.iter().filter_map(above).filter(|p| p.starts_with(target)).collect::<Vec<_>>());
        for folder in folders.iter().rev().filter(|folder| folder.starts_with(target)) {
            let _ = std::fs::remove_dir(folder);
        }
    }
    unpacked
}

/// The notebook in a backup, with what could not be read of it.
///
/// # Errors
/// [`StoreFault`] when the backup is damaged or there is no room to unpack it for a moment.
pub fn read_backup(backup: &Path) -> Result<(crate::domain::Notebook, Vec<Problem>), StoreFault> {
    let folder =
        tempfile::tempdir().map_err(|fault| StoreFault::io(&std::env::temp_dir(), Doing::Write, &fault))?;
    unpack_backup(backup, folder.path())?;
    let loaded = load(&SystemDisk, folder.path());
    Ok((loaded.notebook, loaded.problems))
}
