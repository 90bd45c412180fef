//! From the journals into the notebook, at opening.

use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::disk::Disk;
use super::fault::{Problem, plain};
use super::folder::journal_path;
use super::journal::{self, Change, FileKey, Pending};
use super::load::{Loaded, load, shown};
use super::lock::Holder;
use crate::domain::{Notebook, RecordKey};

/// What the journals say.
#[derive(Default)]
pub(super) struct Replayed {
    pub(super) pending: Pending,
    pub(super) own_len: u64,
    pub(super) own_torn: bool,
    pub(super) own_lines: usize,
    pub(super) last: Option<Timestamp>,
    /// The own journal's text, where lines of it could not be read.
    pub(super) own_damaged: Option<Vec<u8>>,
    /// Why the own journal could not be read at all, so that nothing may be written in its place.
    pub(super) own_unread: Option<String>,
}

/// When a record was last changed, as the files and the journals read so far say.
fn changed_at(notebook: &Notebook, preferences: Option<Timestamp>, key: RecordKey) -> Option<Timestamp> {
    match key {
        RecordKey::Preferences => preferences,
        RecordKey::Drinker(id) => notebook.drinker(id).map(|drinker| drinker.stamp.changed),
        RecordKey::Station(id) => notebook.station(id).map(|station| station.stamp.changed),
        RecordKey::Bag(id) => notebook.bag(id).map(|bag| bag.stamp.changed),
        RecordKey::Pull(bag, pull) => notebook.pull(bag, pull).map(|pull| pull.stamp.changed),
    }
}

/// Reads the journals into the notebook. The own one is taken in sequence; one of another machine (left by file
/// sync) counts only where it is newer than the files.
pub(super) fn replay(
    disk: &dyn Disk,
    root: &Path,
    holder: &Holder,
    loaded: &mut Loaded,
    problems: &mut Vec<Problem>,
) -> Replayed {
    let own = journal_path(root, holder);
    let mut replayed = Replayed::default();
    let mut changes = Pending::default();
    let folder = root.join("journal");
    let entries = disk.list(&folder).unwrap_or_else(|fault| {
        // A notebook that was never written in has no such folder.
        if !matches!(disk.stat(&folder), Ok(None)) {
            replayed.own_unread = Some(plain(&fault));
        }
        Vec::new()
    });
    let mut files: Vec<PathBuf> = entries
        .into_iter()
        .filter(|entry| !entry.is_dir && entry.path.extension().is_some_and(|ending| ending == "txt"))
        .map(|entry| entry.path)
        .collect();
    // The own journal last, so that at equal moments its word counts.
    files.sort_by_key(|path| (*path == own, path.clone()));
    for path in files {
        let name = shown(root, &path).to_owned();
        let bytes = match disk.read(&path, journal::LARGEST) {
            Ok(bytes) => bytes,
            Err(fault) => {
                let why = plain(&fault);
                let what = say!("store-replay-journal-unread", why = why);
                if path == own {
                    replayed.own_unread = Some(why);
                }
                problems.push(Problem::of_file(&name, what, word!("store-replay-todo-journal-unread")));
                continue;
            }
        };
        let journal = journal::decode(&bytes);
        for (line, why) in &journal.bad {
            let what = say!("store-journal-unread", why = why);
            let todo = word!("store-replay-todo-edit-unread");
            problems.push(Problem { line: *line, ..Problem::of_file(&name, what, todo) });
        }
        let is_own = path == own;
        if is_own {
            replayed.own_len = journal.whole_len;
            replayed.own_torn = journal.whole_len < bytes.len() as u64;
            // Also what could not be read is emptied out by settling, once it is kept.
            replayed.own_lines = journal.edits.len() + journal.bad.len();
            replayed.own_damaged = (!journal.bad.is_empty()).then_some(bytes);
        }
        for edit in journal.edits {
            replayed.last = replayed.last.max(Some(edit.at));
            let at = edit.at;
            for entry in edit.put {
                if let Ok(record) = entry.into_record() {
                    let key = record.key();
                    note(&mut changes, loaded, key, Change { at, record: Some(record) }, is_own);
                }
            }
            for key in edit.take {
                note(&mut changes, loaded, key.into(), Change { at, record: None }, is_own);
            }
        }
    }
    for (&key, change) in changes.iter() {
        match &change.record {
            Some(record) => {
                if !loaded.notebook.put(record.clone()) {
                    let what = word!("store-replay-no-bag");
                    let todo = word!("store-replay-todo-no-bag");
                    problems.push(Problem::of_file(shown(root, &own), what, todo));
                }
            }
            None => loaded.notebook.take(key),
        }
    }
    replayed.pending = changes;
    replayed
}

/// All journals of another folder, each counting only where it is newer than that folder's files.
pub(super) fn other_journals(disk: &dyn Disk, root: &Path, problems: &mut Vec<Problem>) -> Pending {
    let entries = disk.list(&root.join("journal")).unwrap_or_default();
    if entries.iter().all(|entry| entry.len == 0) {
        return Pending::default();
    }
    // One journal is taken in sequence as its owner would; the machine's name does not matter here.
    let machine = entries.iter().find(|entry| entry.len > 0).and_then(|entry| entry.path.file_stem());
    let machine = machine.unwrap_or_default().to_string_lossy().into_owned();
    let mut loaded = load(disk, root);
    let holder = Holder { name: String::new(), machine };
    let mut told = Vec::new();
    let replayed = replay(disk, root, &holder, &mut loaded, &mut told);
    problems.append(&mut told);
    replayed.pending
}

fn note(changes: &mut Pending, loaded: &Loaded, key: RecordKey, change: Change, is_own: bool) {
    let on_disk = changed_at(&loaded.notebook, loaded.preferences_changed, key);
    let noted = changes.of(FileKey::of(key)).and_then(|file| file.get(&key)).map(|change| change.at);
    let wins = if is_own {
        on_disk.is_none_or(|then| then <= change.at) && noted.is_none_or(|then| then <= change.at)
    } else {
        on_disk.is_none_or(|then| then < change.at) && noted.is_none_or(|then| then < change.at)
    };
    if wins {
        changes.note(key, change);
    }
}
