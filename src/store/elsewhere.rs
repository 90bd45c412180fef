//! The open notebook written into another folder, because the one it came from is full, read-only or gone.

use std::path::Path;
use std::sync::Arc;

use jiff::Timestamp;

use super::Watch;
use super::disk::{Disk, TEMPORARY, replace};
use super::fault::{Doing, StoreFault};
use super::folder::{Folder, Opened};
use super::load::NOTEBOOK;
use super::lock::Holder;
use super::read::LARGEST_FILE;
use super::text::Ron;
use super::v1;
use crate::domain::Notebook;

/// What is copied file by file; backups and files that were set aside stay where they are.
const FOLDERS: [&str; 7] = ["stations", "bags", "traces", "rules", "practice", "versions", "journal"];

/// Every file below a folder, as far as it can be read.
pub(super) fn files(disk: &dyn Disk, folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    // A folder that cannot be read any more is why a notebook is saved elsewhere.
    for entry in disk.list(folder).unwrap_or_default() {
        if entry.is_dir {
            files(disk, &entry.path, found);
        } else if !entry.path.to_string_lossy().ends_with(TEMPORARY) {
            found.push(entry.path);
        }
    }
}

/// Writes `notebook`, as it stands in memory, to the folder `target` and opens it there. What can still be read at
/// `old` (traces, earlier versions, rule packs, practice files, fields of a newer version) is taken along.
///
/// # Errors
/// [`StoreFault::AlreadyThere`] when something stands at `target`; faults of the file system; [`StoreFault::Stopped`].
pub fn save_elsewhere(
    old: &Path,
    target: &Path,
    notebook: &Notebook,
    now: Timestamp,
    holder: &Holder,
    watch: Watch<'_>,
) -> Result<Opened, StoreFault> {
    save_elsewhere_on(Arc::new(super::SystemDisk), old, target, notebook, now, holder, watch)
}

/// [`save_elsewhere`] on other files than the operating system's.
///
/// # Errors
/// As [`save_elsewhere`].
pub fn save_elsewhere_on(
    disk: Arc<dyn Disk>,
    old: &Path,
    target: &Path,
    notebook: &Notebook,
    now: Timestamp,
    holder: &Holder,
    watch: Watch<'_>,
) -> Result<Opened, StoreFault> {
    let there = disk.stat(target).map_err(|fault| StoreFault::io(target, Doing::Look, &fault))?;
    if there.as_ref().is_some_and(|entry| !entry.is_dir) {
        return Err(StoreFault::NotAFolder(target.to_owned()));
    }
    let occupied = disk.list(target).is_ok_and(|entries| !entries.is_empty());
    if occupied || target.starts_with(old) {
        return Err(StoreFault::AlreadyThere(target.to_owned()));
    }
    let mut found = Vec::new();
    for folder in FOLDERS {
        files(&*disk, &old.join(folder), &mut found);
    }
    let total = found.len();
    for (done, path) in found.into_iter().enumerate() {
        if !watch(done, total) {
            return Err(StoreFault::Stopped);
        }
        let Ok(name) = path.strip_prefix(old) else { continue };
        if let Ok(bytes) = disk.read(&path, LARGEST_FILE) {
            let copy = target.join(name);
            replace(&*disk, &copy, &bytes).map_err(|fault| StoreFault::io(&copy, Doing::Write, &fault))?;
        }
    }
    let main = target.join(NOTEBOOK);
    let text = match disk.read(&old.join(NOTEBOOK), LARGEST_FILE) {
        Ok(bytes) => bytes,
        Err(_gone) => {
            let document = v1::Notebook {
                format: Some(v1::FORMAT),
                demo: notebook.demo,
                preferences: Some(v1::Preferences::at(&notebook.preferences, now)),
                drinkers: notebook.drinkers.iter().map(v1::Drinker::from).collect(),
                unknown: Default::default(),
            };
            Ron::document(&document).into_bytes()
        }
    };
    replace(&*disk, &main, &text).map_err(|fault| StoreFault::io(&main, Doing::Write, &fault))?;
    let mut opened = Folder::open_on(disk, target, now, holder)?;
    // Whatever the copied files do not say: edits that could not be written, files that could not be read.
    let (mut put, mut take) = (Vec::new(), Vec::new());
    for change in opened.notebook.changes_to(notebook) {
        match change.after {
            Some(after) => put.push(after),
            None => take.push(change.key),
        }
    }
    if !(put.is_empty() && take.is_empty()) {
        opened.folder.commit(&put, &take, "saved elsewhere", now)?;
    }
    opened.folder.settle()?;
    opened.notebook = notebook.clone();
    Ok(opened)
}
