//! Mends what can be mended without guessing, and says what was done. A backup is made first.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::archive::unpack;
use super::backup::{LIMITS, back_up_on, backups_on};
use super::disk::{Disk, SystemDisk, replace};
use super::fault::{Doing, StoreFault};
use super::folder::Folder;
use super::journal::{self, FileKey};
use super::load::{Kind, NOTEBOOK, find, shown};
use super::lock::Holder;
use super::read::{parse, read};
use super::settle::Document;
use super::v1;
use crate::domain::Id;
use crate::words::Name;

/// One thing that was mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mend {
    /// The file, relative to the notebook.
    pub file: PathBuf,
    /// What was wrong and what was done about it.
    pub what: String,
}

impl std::fmt::Display for Mend {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.file.display(), self.what)
    }
}

/// Mends the notebook at `path`: files that do not read are set aside and restored from the newest backup that has
/// them, copies left by file sync are merged, dangling drinkers get a placeholder, doubled pulls are merged, impossible
/// stamps and stale trace marks are corrected. Numbers and dates that look wrong are left to a person; see
/// [`super::check`]. Replaced contents stay readable as earlier versions.
///
/// # Errors
/// [`StoreFault`] when the notebook cannot be opened for writing or backed up first.
pub fn fix(path: &Path, now: Timestamp, holder: &Holder) -> Result<Vec<Mend>, StoreFault> {
    let disk = SystemDisk;
    super::folder::check_folder(&disk, path)?;
    back_up_on(&disk, path, now, super::UNWATCHED)?;
    let mut mends = Vec::new();
    let held = Folder::open(path, now, holder)?;
    if let Some(why) = held.why_read_only.clone() {
        return Err(StoreFault::ReadOnly(why));
    }
    let mut folder = held.folder;
    for problem in held.problems.iter().filter(|problem| problem.mended) {
        mends.push(Mend { file: problem.file.clone(), what: problem.what.clone() });
    }
    folder.keep_bad_journals(&mut mends)?;
    folder.restore_unreadable(&mut mends)?;
    // What was restored takes part in the rest, and edits that waited for it come in.
    let _ = folder.reload();
    folder.settle()?;
    folder.mend_records(now, &mut mends)?;
    Ok(mends)
}

impl Folder {
    fn mended(&self, mends: &mut Vec<Mend>, path: &Path, what: impl Into<String>) {
        mends.push(Mend { file: shown(&self.root, path).to_owned(), what: what.into() });
    }

    /// Copies journals with unreadable lines to `set-aside`, since settling empties them.
    fn keep_bad_journals(&mut self, mends: &mut Vec<Mend>) -> Result<(), StoreFault> {
        for entry in self.disk.list(&self.root.join("journal")).unwrap_or_default() {
            let Ok(bytes) = self.disk.read(&entry.path, journal::LARGEST) else { continue };
            let bad = journal::decode(&bytes).bad;
            if bad.is_empty() {
                continue;
            }
            self.keep_copy(&entry.path, &bytes)?;
            let what = say!("store-fix-journal-kept", n = bad.len());
            self.mended(mends, &entry.path, what);
        }
        Ok(())
    }

    fn restore_unreadable(&mut self, mends: &mut Vec<Mend>) -> Result<(), StoreFault> {
        let mut ignored = Vec::new();
        let disk = self.disk.clone();
        let mut wanted: BTreeMap<String, PathBuf> = BTreeMap::new();
        for (kind, path) in find(&*disk, &self.root, &mut ignored) {
            let name = shown(&self.root, &path);
            let missing = matches!(disk.stat(&path), Ok(None));
            if missing || !is_sound(&*disk, &path, name, kind) {
                wanted.insert(name.to_string_lossy().replace('\\', "/"), path);
            }
        }
        for backup in backups_on(&*disk, &self.root).iter().rev() {
            let mut found = Vec::new();
            // A backup that is itself damaged is passed over.
            let _ = unpack(&*disk, &backup.path, LIMITS, |name, bytes| {
                if let Some(path) = wanted.get(name)
                    && let Ok(text) = String::from_utf8(bytes)
                    && parses(&text, Path::new(name))
                {
                    found.push((name.to_owned(), path.clone(), text));
                }
                Ok(())
            });
            for (name, path, text) in found {
                if matches!(disk.stat(&path), Ok(Some(_))) {
                    self.set_aside(&path)?;
                }
                replace(&*disk, &path, text.as_bytes())
                    .map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))?;
                wanted.remove(&name);
                let what = say!("store-fix-restored", made = backup.made);
                self.mended(mends, &path, what);
            }
        }
        Ok(())
    }

    fn mend_records(&mut self, now: Timestamp, mends: &mut Vec<Mend>) -> Result<(), StoreFault> {
        let disk = self.disk.clone();
        let traced: BTreeSet<Id> = disk
            .list(&self.root.join("traces"))
            .unwrap_or_default()
            .iter()
            .filter_map(|entry| entry.path.file_stem()?.to_string_lossy().parse().ok())
            .collect();
        let mut drinkers: BTreeMap<Id, PathBuf> = BTreeMap::new();
        for (id, path) in self.bags.clone() {
            let Ok(Some(mut bag)) = self.document::<v1::Bag>(&path)? else { continue };
            let before = bag.clone();
            let mut said = Vec::new();
            mend_bag(&mut bag, &traced, now, &mut said);
            drinkers.entry(bag.drinker.0).or_insert_with(|| path.clone());
            if bag != before {
                let lost = replaced(&before, &bag);
                self.store(
                    FileKey::Bag(id),
                    &path,
                    Some(&Document::Bag(Box::new(bag))),
                    lost,
                    BTreeSet::new(),
                )?;
                for what in said {
                    self.mended(mends, &path, what);
                }
            }
        }
        for (id, path) in self.stations.clone() {
            let Ok(Some(mut station)) = self.document::<v1::Station>(&path)? else { continue };
            let before = station.clone();
            if mend_stamp(station.made, &mut station.changed, now) {
                let lost = vec![v1::Entry::Station(Box::new(before))];
                let document = Document::Station(Box::new(station));
                self.store(FileKey::Station(id), &path, Some(&document), lost, BTreeSet::new())?;
                self.mended(mends, &path, STAMP.word());
            }
        }
        let main = self.root.join(NOTEBOOK);
        let Ok(old) = self.document::<v1::Notebook>(&main)? else { return Ok(()) };
        let mut notebook = old.clone().unwrap_or_else(v1::Notebook::empty);
        for drinker in &notebook.drinkers {
            drinkers.remove(&drinker.id.0);
        }
        for (&id, path) in &drinkers {
            notebook.drinkers.push(v1::Drinker {
                id: v1::IdText(id),
                made: Timestamp::UNIX_EPOCH,
                // Older than any real edit, so that the true record wins when it turns up.
                changed: Timestamp::UNIX_EPOCH,
                removed: None,
                name: "Unknown drinker".to_owned(),
                archived: false,
                note: String::new(),
                unknown: Default::default(),
            });
            let what = say!("store-fix-drinker-added", file = NOTEBOOK);
            self.mended(mends, path, what);
        }
        notebook.drinkers.sort_by_key(|drinker| drinker.id);
        if old.as_ref() != Some(&notebook) {
            if old.is_none() {
                self.mended(mends, &main, word!("store-fix-made-anew"));
            }
            let document = Document::Notebook(notebook);
            self.store(FileKey::Notebook, &main, Some(&document), Vec::new(), BTreeSet::new())?;
        }
        Ok(())
    }
}

const STAMP: Name = name!("store-fix-stamp");

/// Corrects a stamp; whether there was something to correct.
fn mend_stamp(made: Timestamp, changed: &mut Timestamp, now: Timestamp) -> bool {
    let sound = (*changed).min(now.max(made)).max(made);
    std::mem::replace(changed, sound) != sound
}

fn mend_bag(bag: &mut v1::Bag, traced: &BTreeSet<Id>, now: Timestamp, said: &mut Vec<String>) {
    let count = bag.pulls.len();
    super::merge::without_doubles(bag);
    if bag.pulls.len() < count {
        said.push(say!("store-fix-pulls-twice", n = count - bag.pulls.len()));
    }
    let mut stamps = mend_stamp(bag.made, &mut bag.changed, now);
    for pull in &mut bag.pulls {
        stamps |= mend_stamp(pull.made, &mut pull.changed, now);
        let has_trace = traced.contains(&pull.id.0);
        if pull.has_trace != has_trace {
            let was = if has_trace { "silent" } else { "without" };
            said.push(say!("store-fix-trace-mark", was = was, pull = pull.id.0));
            pull.has_trace = has_trace;
        }
    }
    if stamps {
        said.push(STAMP.to_string());
    }
    let pulls: BTreeSet<v1::IdText> = bag.pulls.iter().map(|pull| pull.id).collect();
    if let Some(keeper) = &mut bag.keeper
        && keeper.from_pull.is_some_and(|from| !pulls.contains(&from))
    {
        keeper.from_pull = None;
        said.push(word!("store-fix-keeper").to_owned());
    }
}

/// Records of `before` that `after` has otherwise.
fn replaced(before: &v1::Bag, after: &v1::Bag) -> Vec<v1::Entry> {
    let mut lost: Vec<v1::Entry> = before
        .pulls
        .iter()
        .filter(|pull| !after.pulls.contains(pull))
        .map(|pull| v1::Entry::Pull { bag: before.id, pull: Box::new(pull.clone()) })
        .collect();
    let sheet = |bag: &v1::Bag| v1::Bag { pulls: Vec::new(), ..bag.clone() };
    if sheet(before) != sheet(after) {
        lost.push(v1::Entry::Bag(Box::new(sheet(before))));
    }
    lost
}

fn is_sound(disk: &dyn Disk, path: &Path, name: &Path, kind: Kind) -> bool {
    let fault = match kind {
        Kind::Notebook | Kind::NotebookCopy => read::<v1::Notebook>(disk, path, name).err(),
        Kind::Station => read::<v1::Station>(disk, path, name).err(),
        Kind::Bag => read::<v1::Bag>(disk, path, name).err(),
    };
    // A file of a newer version is sound, only not for us.
    fault.is_none_or(|fault| fault.newer)
}

fn parses(text: &str, name: &Path) -> bool {
    if name == Path::new(NOTEBOOK) {
        parse::<v1::Notebook>(text, name).is_ok()
    } else if name.starts_with("stations") {
        parse::<v1::Station>(text, name).is_ok()
    } else {
        parse::<v1::Bag>(text, name).is_ok()
    }
}
