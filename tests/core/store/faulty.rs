//! A disk in memory that fails on demand and forgets what was not synced, as real ones do in a power cut.
//!
//! What is durable is kept apart from a log of what is not yet: data of files (durable after the file's sync) and
//! names (durable after the folder's sync). A power cut keeps the durable part and, as the case may be, any prefix of
//! the log, or only its names, or only its data.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use thirdpull::store::{Disk, Entry, LockAnswer, LockGuard, Tail};

/// What stands on the disk.
#[derive(Debug, Clone, Default, PartialEq)]
struct State {
    names: BTreeMap<PathBuf, usize>,
    folders: BTreeSet<PathBuf>,
    data: BTreeMap<usize, Vec<u8>>,
}

#[derive(Debug, Clone)]
enum Step {
    Data { file: usize, content: Vec<u8> },
    Name { folder: PathBuf, change: Rename },
}

#[derive(Debug, Clone)]
enum Rename {
    Add(PathBuf, usize),
    Move(PathBuf, PathBuf),
    Remove(PathBuf),
    Folder(PathBuf),
}

impl State {
    fn apply(&mut self, step: &Step) {
        match step {
            Step::Data { file, content } => {
                self.data.insert(*file, content.clone());
            }
            Step::Name { change, .. } => match change {
                Rename::Add(path, file) => {
                    self.names.insert(path.clone(), *file);
                    self.data.entry(*file).or_default();
                }
                Rename::Move(from, to) => {
                    if let Some(file) = self.names.remove(from) {
                        self.names.insert(to.clone(), file);
                    }
                }
                Rename::Remove(path) => {
                    self.names.remove(path);
                }
                Rename::Folder(path) => {
                    self.folders.insert(path.clone());
                }
            },
        }
    }
}

#[derive(Debug, Default)]
struct Inner {
    durable: State,
    now: State,
    log: Vec<Step>,
    next_file: usize,
    operations: usize,
    /// The operation that fails once, and how.
    fail_at: Option<(usize, io::ErrorKind)>,
    /// From this operation on nothing works any more.
    dead_from: Option<usize>,
    locked: BTreeSet<PathBuf>,
}

/// How much of what was not synced a power cut leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Leaves {
    /// The first so many steps, the last of them half written if it is data.
    Prefix(usize),
    /// Names without their data.
    OnlyNames,
    /// Data without names.
    OnlyData,
}

#[derive(Debug, Clone, Default)]
pub(crate) struct FaultyDisk(Arc<Mutex<Inner>>);

impl FaultyDisk {
    /// Everything below a folder: path and text.
    pub(crate) fn below(&self, folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
        let inner = self.0.lock().unwrap();
        let inside = inner.now.names.iter().filter(|(path, _)| path.starts_with(folder));
        inside.map(|(path, file)| (path.clone(), inner.now.data[file].clone())).collect()
    }

    /// Counts of operations so far.
    pub(crate) fn operations(&self) -> usize {
        self.0.lock().unwrap().operations
    }

    /// Makes the operation with this number (from now on counted from 0) fail once.
    pub(crate) fn fail_once(&self, operation: usize, kind: io::ErrorKind) {
        let mut inner = self.0.lock().unwrap();
        inner.operations = 0;
        inner.fail_at = Some((operation, kind));
    }

    /// Makes every operation from this one on fail, as after a power cut.
    pub(crate) fn die_at(&self, operation: usize) {
        let mut inner = self.0.lock().unwrap();
        inner.operations = 0;
        inner.dead_from = Some(operation);
    }

    /// Works again.
    pub(crate) fn heal(&self) {
        let mut inner = self.0.lock().unwrap();
        (inner.fail_at, inner.dead_from) = (None, None);
    }

    /// How many unsynced steps there are.
    pub(crate) fn unsynced(&self) -> usize {
        self.0.lock().unwrap().log.len()
    }

    /// A new disk as it would be found after the power came back.
    pub(crate) fn after_power_cut(&self, leaves: Leaves) -> Self {
        let inner = self.0.lock().unwrap();
        let mut state = inner.durable.clone();
        for (at, step) in inner.log.iter().enumerate() {
            match (leaves, step) {
                (Leaves::Prefix(count), _) if at + 1 < count => state.apply(step),
                (Leaves::Prefix(count), Step::Data { file, content }) if at + 1 == count => {
                    let old = state.data.get(file).map_or(0, Vec::len).min(content.len());
                    let half = old + (content.len() - old).div_ceil(2);
                    state.data.insert(*file, content[..half].to_vec());
                }
                (Leaves::Prefix(count), _) if at + 1 == count => state.apply(step),
                (Leaves::OnlyNames, Step::Name { .. }) | (Leaves::OnlyData, Step::Data { .. }) => {
                    state.apply(step)
                }
                _ => {}
            }
        }
        let next_file = inner.next_file;
        Self(Arc::new(Mutex::new(Inner {
            durable: state.clone(),
            now: state,
            next_file,
            ..Inner::default()
        })))
    }

    fn act<T>(&self, work: impl FnOnce(&mut Inner) -> io::Result<T>) -> io::Result<T> {
        let mut inner = self.0.lock().unwrap();
        let operation = inner.operations;
        inner.operations += 1;
        if inner.dead_from.is_some_and(|from| operation >= from) {
            return Err(io::ErrorKind::NotConnected.into());
        }
        if let Some((_, kind)) = inner.fail_at.filter(|(at, _)| *at == operation) {
            return Err(kind.into());
        }
        work(&mut inner)
    }
}

impl Inner {
    fn log(&mut self, step: Step) {
        self.now.apply(&step);
        self.log.push(step);
    }

    fn sync_file(&mut self, file: usize) {
        let mine = |step: &Step| matches!(step, Step::Data { file: other, .. } if *other == file);
        self.log.retain(|step| !mine(step));
        if let Some(content) = self.now.data.get(&file) {
            self.durable.data.insert(file, content.clone());
        }
    }

    fn file(&self, path: &Path) -> io::Result<usize> {
        self.now.names.get(path).copied().ok_or_else(|| io::ErrorKind::NotFound.into())
    }

    fn add(&mut self, path: &Path) -> io::Result<usize> {
        let folder = path.parent().unwrap().to_owned();
        if !self.now.folders.contains(&folder) {
            return Err(io::ErrorKind::NotFound.into());
        }
        let file = self.next_file;
        self.next_file += 1;
        self.log(Step::Name { folder, change: Rename::Add(path.to_owned(), file) });
        Ok(file)
    }
}

struct FaultyTail(FaultyDisk, usize);

impl Tail for FaultyTail {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let file = self.1;
        // A failing append may leave half of its bytes behind.
        let answer = self.0.act(|inner| {
            let mut content = inner.now.data.get(&file).cloned().unwrap_or_default();
            content.extend_from_slice(bytes);
            inner.log(Step::Data { file, content });
            Ok(())
        });
        if answer.is_err() {
            let mut inner = self.0.0.lock().unwrap();
            let mut content = inner.now.data.get(&file).cloned().unwrap_or_default();
            content.extend_from_slice(&bytes[..bytes.len() / 2]);
            inner.log(Step::Data { file, content });
        }
        answer
    }

    fn sync(&mut self) -> io::Result<()> {
        let file = self.1;
        self.0.act(|inner| {
            inner.sync_file(file);
            Ok(())
        })
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        let file = self.1;
        self.0.act(|inner| {
            let mut content = inner.now.data.get(&file).cloned().unwrap_or_default();
            content.resize(usize::try_from(len).unwrap(), 0);
            inner.log(Step::Data { file, content });
            Ok(())
        })
    }
}

struct FaultyLock(FaultyDisk, PathBuf);

impl LockGuard for FaultyLock {}

impl Drop for FaultyLock {
    fn drop(&mut self) {
        self.0.0.lock().unwrap().locked.remove(&self.1);
    }
}

impl Disk for FaultyDisk {
    fn stat(&self, path: &Path) -> io::Result<Option<Entry>> {
        self.act(|inner| {
            if inner.now.folders.contains(path) {
                return Ok(Some(Entry { path: path.to_owned(), is_dir: true, len: 0, modified: None }));
            }
            let Ok(file) = inner.file(path) else { return Ok(None) };
            Ok(Some(Entry {
                path: path.to_owned(),
                is_dir: false,
                len: inner.now.data[&file].len() as u64,
                modified: None,
            }))
        })
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        self.act(|inner| {
            let inside = |path: &&PathBuf| path.parent() == Some(folder);
            let mut entries: Vec<Entry> = inner
                .now
                .folders
                .iter()
                .filter(inside)
                .map(|path| Entry { path: path.clone(), is_dir: true, len: 0, modified: None })
                .collect();
            entries.extend(inner.now.names.iter().filter(|(path, _)| inside(path)).map(|(path, file)| {
                Entry {
                    path: path.clone(),
                    is_dir: false,
                    len: inner.now.data[file].len() as u64,
                    modified: None,
                }
            }));
            entries.sort_by(|a, b| a.path.cmp(&b.path));
            Ok(entries)
        })
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        self.act(|inner| {
            let content = inner.now.data[&inner.file(path)?].clone();
            if content.len() as u64 > limit { Err(io::ErrorKind::FileTooLarge.into()) } else { Ok(content) }
        })
    }

    fn create_dir(&self, folder: &Path) -> io::Result<()> {
        self.act(|inner| {
            for part in folder.ancestors() {
                if !inner.now.folders.contains(part) {
                    let folder = part.parent().unwrap_or(Path::new("/")).to_owned();
                    inner.log(Step::Name { folder, change: Rename::Folder(part.to_owned()) });
                }
            }
            Ok(())
        })
    }

    fn write_new(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let file = self.act(|inner| {
            if inner.now.names.contains_key(path) {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            inner.add(path)
        })?;
        let written = self.act(|inner| {
            inner.log(Step::Data { file, content: bytes.to_vec() });
            Ok(())
        });
        if written.is_err() {
            self.0.lock().unwrap().log(Step::Data { file, content: bytes[..bytes.len() / 2].to_vec() });
        }
        written?;
        self.act(|inner| {
            inner.sync_file(file);
            Ok(())
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.act(|inner| {
            inner.file(from)?;
            let folder = to.parent().unwrap().to_owned();
            let change = Rename::Move(from.to_owned(), to.to_owned());
            inner.log(Step::Name { folder, change });
            Ok(())
        })
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.act(|inner| {
            if inner.now.names.contains_key(path) {
                let folder = path.parent().unwrap().to_owned();
                inner.log(Step::Name { folder, change: Rename::Remove(path.to_owned()) });
            }
            Ok(())
        })
    }

    fn sync_dir(&self, wanted: &Path) -> io::Result<()> {
        self.act(|inner| {
            let (synced, rest) = std::mem::take(&mut inner.log)
                .into_iter()
                .partition(|step| matches!(step, Step::Name { folder, .. } if folder == wanted));
            inner.log = rest;
            for step in &synced as &Vec<Step> {
                inner.durable.apply(step);
            }
            Ok(())
        })
    }

    fn tail(&self, path: &Path) -> io::Result<Box<dyn Tail>> {
        let file = self.act(|inner| match inner.file(path) {
            Ok(file) => Ok(file),
            Err(_) => inner.add(path),
        })?;
        Ok(Box::new(FaultyTail(self.clone(), file)))
    }

    fn may_write(&self, path: &Path) -> io::Result<()> {
        self.act(|inner| inner.file(path).map(|_| ()))
    }

    fn lock(&self, path: &Path) -> io::Result<LockAnswer> {
        self.act(|inner| {
            if inner.file(path).is_err() {
                inner.add(path)?;
            }
            if !inner.locked.insert(path.to_owned()) {
                return Ok(LockAnswer::Taken);
            }
            Ok(LockAnswer::Held(Box::new(FaultyLock(self.clone(), path.to_owned()))))
        })
    }
}
