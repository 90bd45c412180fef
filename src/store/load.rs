//! Reads all files of a notebook, on two threads.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::Timestamp;

use super::disk::Disk;
use super::fault::Problem;
use super::read::{ReadFault, read};
use super::v1;
use crate::domain::{Bag, BagId, Notebook, Station, StationId};

/// A notebook as its files say.
#[derive(Debug, Default)]
pub(crate) struct Loaded {
    pub(crate) notebook: Notebook,
    /// When the preferences were last changed, where the file says so.
    pub(crate) preferences_changed: Option<Timestamp>,
    pub(crate) bags: BTreeMap<BagId, PathBuf>,
    pub(crate) stations: BTreeMap<StationId, PathBuf>,
    pub(crate) problems: Vec<Problem>,
    /// Whether `notebook.ron` is of a newer format.
    pub(crate) newer: bool,
    /// Whether `notebook.ron` is there.
    pub(crate) has_notebook: bool,
    /// The latest change of any record.
    pub(crate) newest: Option<Timestamp>,
}

enum Kind {
    Notebook,
    Station,
    Bag,
}

enum Content {
    Notebook(Box<v1::Notebook>),
    Station(Box<Station>),
    Bag(Box<Bag>),
}

/// Name of the file with format number, drinkers and preferences.
pub(crate) const NOTEBOOK: &str = "notebook.ron";

/// The path as shown to people: relative to the notebook.
pub(crate) fn shown<'a>(root: &Path, path: &'a Path) -> &'a Path {
    path.strip_prefix(root).unwrap_or(path)
}

fn is_record_file(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    !name.starts_with('.') && path.extension().is_some_and(|ending| ending == "ron")
}

/// Paths of all record files, in a fixed order.
fn find(disk: &dyn Disk, root: &Path, problems: &mut Vec<Problem>) -> Vec<(Kind, PathBuf)> {
    let mut jobs = vec![(Kind::Notebook, root.join(NOTEBOOK))];
    let mut list = |folder: &Path| {
        disk.list(folder).unwrap_or_else(|fault| {
            let what = format!("the folder could not be read: {}", super::fault::plain(&fault));
            problems.push(Problem::of_file(shown(root, folder), what, "Look at its permissions"));
            Vec::new()
        })
    };
    for entry in list(&root.join("stations")) {
        if !entry.is_dir && is_record_file(&entry.path) {
            jobs.push((Kind::Station, entry.path));
        }
    }
    for entry in list(&root.join("bags")) {
        if entry.is_dir {
            let inner = list(&entry.path).into_iter().filter(|inner| !inner.is_dir);
            jobs.extend(
                inner.filter(|inner| is_record_file(&inner.path)).map(|inner| (Kind::Bag, inner.path)),
            );
        } else if is_record_file(&entry.path) {
            jobs.push((Kind::Bag, entry.path));
        }
    }
    jobs
}

fn read_one(disk: &dyn Disk, root: &Path, kind: &Kind, path: &Path) -> Result<Content, ReadFault> {
    let shown = shown(root, path);
    Ok(match kind {
        Kind::Notebook => Content::Notebook(Box::new(read(disk, path, shown)?)),
        Kind::Station => {
            let station = read::<v1::Station>(disk, path, shown)?;
            let station = Station::try_from(station).map_err(|fault| ReadFault {
                problem: Problem::of_file(shown, fault.to_string(), "Correct the scale"),
                newer: false,
            })?;
            Content::Station(Box::new(station))
        }
        Kind::Bag => Content::Bag(Box::new(read::<v1::Bag>(disk, path, shown)?.into())),
    })
}

/// Reads everything; what does not read becomes a problem.
pub(crate) fn load(disk: &dyn Disk, root: &Path) -> Loaded {
    let mut loaded = Loaded::default();
    let jobs = find(disk, root, &mut loaded.problems);
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some((kind, path)) = jobs.get(at) else { return done };
            if matches!(kind, Kind::Notebook) && matches!(disk.stat(path), Ok(None)) {
                continue;
            }
            done.push((at, read_one(disk, root, kind, path)));
        }
    };
    let workers = std::thread::available_parallelism().map_or(1, |n| n.get()).clamp(1, 4);
    let mut done: Vec<(usize, Result<Content, ReadFault>)> = if jobs.len() < 8 || workers == 1 {
        work()
    } else {
        std::thread::scope(|scope| {
            let others: Vec<_> = (1..workers).map(|_| scope.spawn(work)).collect();
            let mut done = work();
            for other in others {
                match other.join() {
                    Ok(part) => done.extend(part),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            done
        })
    };
    done.sort_by_key(|(at, _)| *at);
    for (at, answer) in done {
        let Some((kind, path)) = jobs.get(at) else { continue };
        let is_notebook = matches!(kind, Kind::Notebook);
        loaded.has_notebook |= is_notebook;
        match answer {
            Ok(content) => loaded.take(root, path, content),
            Err(fault) => {
                loaded.newer |= is_notebook && fault.newer;
                loaded.problems.push(fault.problem);
            }
        }
    }
    loaded.notebook.bags.sort_by_key(|bag| bag.id);
    loaded.notebook.stations.sort_by_key(|station| station.id);
    loaded
}

impl Loaded {
    fn seen(&mut self, changed: Timestamp) {
        self.newest = self.newest.max(Some(changed));
    }

    fn take(&mut self, root: &Path, path: &Path, content: Content) {
        match content {
            Content::Notebook(disk) => {
                let disk = *disk;
                self.notebook.demo = disk.demo;
                if let Some(preferences) = disk.preferences {
                    self.preferences_changed = preferences.changed;
                    self.notebook.preferences = preferences.into();
                }
                self.newest = self.newest.max(self.preferences_changed);
                for drinker in disk.drinkers {
                    self.seen(drinker.changed);
                    self.notebook.put(crate::domain::Record::Drinker(Box::new(drinker.into())));
                }
            }
            Content::Station(station) => {
                self.seen(station.stamp.changed);
                if let Some(first) = self.stations.get(&station.id) {
                    self.problems.push(twice(root, path, first));
                    let known = self.notebook.stations.iter_mut().find(|known| known.id == station.id);
                    if let Some(known) = known.filter(|known| known.stamp.changed < station.stamp.changed) {
                        *known = *station;
                    }
                    return;
                }
                self.stations.insert(station.id, path.to_owned());
                self.notebook.stations.push(*station);
            }
            Content::Bag(bag) => {
                let newest = bag.pulls.iter().map(|pull| pull.stamp.changed).max();
                self.newest = self.newest.max(newest).max(Some(bag.stamp.changed));
                if let Some(first) = self.bags.get(&bag.id) {
                    self.problems.push(twice(root, path, first));
                    if let Some(known) = self.notebook.bags.iter_mut().find(|known| known.id == bag.id) {
                        super::merge::bags(known, *bag);
                    }
                    return;
                }
                self.bags.insert(bag.id, path.to_owned());
                self.notebook.bags.push(*bag);
            }
        }
    }
}

fn twice(root: &Path, path: &Path, first: &Path) -> Problem {
    let what = format!("the file holds the same record as {}", shown(root, first).display());
    Problem::of_file(shown(root, path), what, "Both were read and the later edit of each record is shown")
}
