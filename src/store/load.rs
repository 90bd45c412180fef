//! Reads all files of a notebook, on two threads.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::Timestamp;

use super::aside::Shelf;
use super::disk::Disk;
use super::fault::Problem;
use super::journal::FileKey;
use super::merge;
use super::outside::Glance;
use super::read::{ReadFault, read};
use super::v1;
use crate::domain::{Bag, BagId, Notebook, Record, Station, StationId};
use crate::units::Manner;

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
    /// Files that hold the same records, such as the conflict copies of file sync.
    pub(crate) twins: Vec<Twin>,
    main: Option<v1::Notebook>,
}

/// Two files that hold the same record; both were read, the later edit of each record counts.
#[derive(Debug, Clone)]
pub(crate) struct Twin {
    pub(crate) file: FileKey,
    /// The one that goes on (the shorter name).
    pub(crate) stays: PathBuf,
    /// The other one.
    pub(crate) copy: PathBuf,
}

impl Twin {
    pub(crate) fn new(file: FileKey, a: PathBuf, b: PathBuf) -> Self {
        let (stays, copy) =
            if (a.as_os_str().len(), &a) <= (b.as_os_str().len(), &b) { (a, b) } else { (b, a) };
        Self { file, stays, copy }
    }

    /// What to tell where the two stay as they are.
    pub(crate) fn problem(&self, root: &Path) -> Problem {
        let what = say!("store-load-same-record", file = shown(root, &self.stays).display());
        let todo = word!("store-load-todo-same-record");
        Problem::of_file(shown(root, &self.copy), what, todo)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Notebook,
    /// Another file beside `notebook.ron` that seems to be a copy of it.
    NotebookCopy,
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
pub(crate) fn find(disk: &dyn Disk, root: &Path, problems: &mut Vec<Problem>) -> Vec<(Kind, PathBuf)> {
    let mut jobs = vec![(Kind::Notebook, root.join(NOTEBOOK))];
    let mut list = |folder: &Path| {
        disk.list(folder).unwrap_or_else(|fault| {
            let what = say!("store-load-folder-unread", why = super::fault::plain(&fault));
            problems.push(Problem::of_file(
                shown(root, folder),
                what,
                word!("store-load-todo-folder-unread"),
            ));
            Vec::new()
        })
    };
    for entry in list(root) {
        let name = entry.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if !entry.is_dir && is_record_file(&entry.path) && name.starts_with("notebook") && name != NOTEBOOK {
            jobs.push((Kind::NotebookCopy, entry.path));
        }
    }
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
        Kind::Notebook | Kind::NotebookCopy => Content::Notebook(Box::new(read(disk, path, shown)?)),
        Kind::Station => {
            let station = read::<v1::Station>(disk, path, shown)?;
            let station = Station::try_from(station).map_err(|fault| ReadFault {
                problem: Problem::of_file(shown, fault.to_string(), word!("store-load-todo-scale")),
                newer: false,
            })?;
            Content::Station(Box::new(station))
        }
        Kind::Bag => {
            let mut bag = read::<v1::Bag>(disk, path, shown)?;
            merge::without_doubles(&mut bag);
            Content::Bag(Box::new(bag.into()))
        }
    })
}

/// Does `work` on every job, on as many threads as pay, and gives the answers in the order of the jobs.
pub(crate) fn side_by_side<J: Sync, A: Send>(jobs: &[J], work: impl Fn(&J) -> A + Sync) -> Vec<A> {
    let next = AtomicUsize::new(0);
    let run = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(job) = jobs.get(at) else { return done };
            done.push((at, work(job)));
        }
    };
    let workers = std::thread::available_parallelism().map_or(1, |n| n.get()).clamp(1, 4);
    let mut done = if jobs.len() < 8 || workers == 1 {
        run()
    } else {
        std::thread::scope(|scope| {
            let manner = Manner::here();
            let other = move || manner.within(run);
            let others: Vec<_> = (1..workers).map(|_| scope.spawn(other)).collect();
            let mut done = run();
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
    done.into_iter().map(|(_, answer)| answer).collect()
}

/// Reads everything; what does not read becomes a problem.
pub(crate) fn load(disk: &dyn Disk, root: &Path) -> Loaded {
    load_beside(disk, root, None)
}

/// [`load`], with bags that did not change since `glance` taken from aside, and the others put there.
pub(crate) fn load_beside(disk: &dyn Disk, root: &Path, aside: Option<(&Shelf, &Glance)>) -> Loaded {
    let mut loaded = Loaded::default();
    let jobs = find(disk, root, &mut loaded.problems);
    let done = side_by_side(&jobs, |(kind, path)| {
        let missing = matches!(kind, Kind::Notebook) && matches!(disk.stat(path), Ok(None));
        let known = aside
            .filter(|_| *kind == Kind::Bag)
            .and_then(|(shelf, glance)| glance.0.get(path).map(|sign| (shelf, *sign)));
        if let Some(bag) = known.and_then(|(shelf, sign)| shelf.take(shown(root, path), sign)) {
            return Some(Ok(Content::Bag(Box::new(bag))));
        }
        let answer = (!missing).then(|| read_one(disk, root, kind, path));
        if let (Some((shelf, sign)), Some(Ok(Content::Bag(bag)))) = (known, &answer) {
            shelf.keep(shown(root, path), sign, bag);
        }
        answer
    });
    if let Some((shelf, _)) = aside {
        shelf.tidy(jobs.iter().filter(|(kind, _)| *kind == Kind::Bag).map(|(_, path)| shown(root, path)));
    }
    for ((kind, path), answer) in jobs.iter().zip(done) {
        let Some(answer) = answer else { continue };
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
    if let Some(main) = loaded.main.take() {
        loaded.take_main(main);
    }
    loaded.notebook.bags.sort_by_key(|bag| bag.id);
    loaded.notebook.stations.sort_by_key(|station| station.id);
    loaded
}

impl Loaded {
    fn seen(&mut self, changed: Timestamp) {
        self.newest = self.newest.max(Some(changed));
    }

    fn take_main(&mut self, main: v1::Notebook) {
        self.notebook.demo = main.demo;
        if let Some(preferences) = main.preferences {
            self.preferences_changed = preferences.changed;
            self.notebook.preferences = preferences.into();
        }
        self.newest = self.newest.max(self.preferences_changed);
        for drinker in main.drinkers {
            self.seen(drinker.changed);
            self.notebook.put(Record::Drinker(Box::new(drinker.into())));
        }
    }

    fn take(&mut self, root: &Path, path: &Path, content: Content) {
        match content {
            Content::Notebook(disk) => match &mut self.main {
                Some(main) => {
                    merge::notebook(main, *disk, &mut Vec::new());
                    let (stays, copy) = (root.join(NOTEBOOK), path.to_owned());
                    self.twins.push(Twin { file: FileKey::Notebook, stays, copy });
                }
                None => self.main = Some(*disk),
            },
            Content::Station(station) => {
                self.seen(station.stamp.changed);
                if let Some(first) = self.stations.get_mut(&station.id) {
                    let twin = Twin::new(FileKey::Station(station.id), first.clone(), path.to_owned());
                    first.clone_from(&twin.stays);
                    self.twins.push(twin);
                    if let Some(known) =
                        self.notebook.stations.iter_mut().find(|known| known.id == station.id)
                    {
                        merge::domain_stations(known, *station);
                    }
                    return;
                }
                self.stations.insert(station.id, path.to_owned());
                self.notebook.stations.push(*station);
            }
            Content::Bag(bag) => {
                let newest = bag.pulls.iter().map(|pull| pull.stamp.changed).max();
                self.newest = self.newest.max(newest).max(Some(bag.stamp.changed));
                if let Some(first) = self.bags.get_mut(&bag.id) {
                    let twin = Twin::new(FileKey::Bag(bag.id), first.clone(), path.to_owned());
                    first.clone_from(&twin.stays);
                    self.twins.push(twin);
                    if let Some(known) = self.notebook.bags.iter_mut().find(|known| known.id == bag.id) {
                        merge::domain_bags(known, &bag);
                    }
                    return;
                }
                self.bags.insert(bag.id, path.to_owned());
                self.notebook.bags.push(*bag);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each job takes long enough for every thread to get some.
    #[test]
    fn all_threads_speak_the_language_of_who_asked() {
        let jobs = [(); 16];
        crate::words::put_for_thread(Some(crate::words::made_up()));
        let said = side_by_side(&jobs, |()| {
            std::thread::sleep(std::time::Duration::from_millis(20));
            (std::thread::current().id(), word!("store-load-no-notebook"))
        });
        crate::words::put_for_thread(None);
        let threads: std::collections::HashSet<_> = said.iter().map(|(thread, _)| *thread).collect();
        let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
        assert_eq!(threads.len(), cores.clamp(1, 4));
        assert!(said.iter().all(|(_, text)| text.starts_with('⟦')), "{said:?}");
    }
}
