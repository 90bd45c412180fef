//! Bags kept aside as they were read, so that opening a large notebook reads anew only what changed. Reading a bag's own
//! file costs some fifteen times what taking it from aside does (`tests/bench/notebook.rs`).
//!
//! What lies aside is never the record: it may be deleted at any moment, lies outside the notebook, and is used only
//! where the same build of the program kept it and the file still has the length and the moment of change that it had
//! then. A file changed within the last moments before it was read is not kept, since a second change within the disk's
//! own resolution would not show.

use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use serde::{Deserialize, Serialize};

use super::outside::Sign;
use super::read::LARGEST_FILE;
use crate::domain::Bag;

/// A file changed less than this before it was read is not kept: some disks tell moments in steps of two seconds.
const TOO_FRESH: Duration = Duration::from_secs(4);
/// Ending of what lies aside.
const ENDING: &str = "bag";

/// A place beside the notebooks where bags are kept as they were read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    folder: PathBuf,
    /// Which build of the program keeps and takes.
    build: u64,
}

/// What is written for one bag.
#[derive(Serialize, Deserialize)]
struct Leaf<B> {
    build: u64,
    path: String,
    len: u64,
    modified_ns: u64,
    bag: B,
}

fn hashed(what: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    what.hash(&mut hasher);
    hasher.finish()
}

fn since_1970(moment: SystemTime) -> Option<Duration> {
    moment.duration_since(SystemTime::UNIX_EPOCH).ok()
}

impl Aside {
    /// Keeps bags in `folder`, which is made when the first is kept. `None` where the system does not tell this program's
    /// own file, so that another build could not be told from it.
    #[must_use]
    pub fn at(folder: PathBuf) -> Option<Self> {
        let own = std::env::current_exe().ok()?;
        let meta = std::fs::metadata(&own).ok()?;
        let changed = since_1970(meta.modified().ok()?)?;
        Some(Self { folder, build: hashed((own, meta.len(), changed)) })
    }

    /// The usual place: the platform's folder for what may be lost. `None` where it names none.
    #[must_use]
    pub fn usual() -> Option<Self> {
        let dirs = directories::ProjectDirs::from("", "", "thirdpull")?;
        Self::at(dirs.cache_dir().join("bags-as-read"))
    }

    /// What is aside of the notebook at `root`.
    pub(crate) fn of(&self, root: &Path) -> Shelf {
        let root = root.canonicalize().unwrap_or_else(|_| root.to_owned());
        Shelf {
            folder: self.folder.join(format!("{:016x}", hashed(&root))),
            root: root.display().to_string(),
            build: self.build,
            now: SystemTime::now(),
        }
    }
}

/// What is aside of one notebook, at one opening.
pub(crate) struct Shelf {
    folder: PathBuf,
    root: String,
    build: u64,
    /// When the reading began.
    now: SystemTime,
}

impl Shelf {
    fn place(&self, shown: &Path) -> PathBuf {
        self.folder.join(format!("{:016x}.{ENDING}", hashed(shown)))
    }

    fn full_name(&self, shown: &Path) -> String {
        format!("{}\n{}", self.root, shown.display())
    }

    /// The bag of a file, where the same build kept it as this very state of the file.
    pub(crate) fn take(&self, shown: &Path, sign: Sign) -> Option<Bag> {
        let place = self.place(shown);
        if std::fs::metadata(&place).ok()?.len() > LARGEST_FILE {
            return None;
        }
        let bytes = std::fs::read(place).ok()?;
        let (check, body) = bytes.split_first_chunk::<4>()?;
        if crc32fast::hash(body) != u32::from_le_bytes(*check) {
            return None;
        }
        // The build first: the rest has its build's own shape.
        let (build, _) = postcard::take_from_bytes::<u64>(body).ok()?;
        if build != self.build {
            return None;
        }
        let leaf = postcard::from_bytes::<Leaf<Bag>>(body).ok()?;
        let same = leaf.path == self.full_name(shown)
            && leaf.len == sign.0
            && Some(leaf.modified_ns) == sign.1.and_then(nanos);
        same.then_some(leaf.bag)
    }

    /// Keeps a bag as it was read from a file in this state. Nothing is told where that fails: it is read again.
    pub(crate) fn keep(&self, shown: &Path, sign: Sign, bag: &Bag) {
        let Some((modified, modified_ns)) = sign.1.and_then(|moment| Some((moment, nanos(moment)?))) else {
            return;
        };
        if self.now.duration_since(modified).is_ok_and(|age| age >= TOO_FRESH) {
            let leaf = Leaf { build: self.build, path: self.full_name(shown), len: sign.0, modified_ns, bag };
            let _ = self.write(&self.place(shown), &leaf);
        }
    }

    fn write(&self, place: &Path, leaf: &Leaf<&Bag>) -> std::io::Result<()> {
        let body = postcard::to_stdvec(leaf).map_err(std::io::Error::other)?;
        std::fs::create_dir_all(&self.folder)?;
        let mut file = tempfile::NamedTempFile::new_in(&self.folder)?;
        file.write_all(&crc32fast::hash(&body).to_le_bytes())?;
        file.write_all(&body)?;
        file.persist(place).map_err(|fault| fault.error)?;
        Ok(())
    }

    /// Takes away what lies aside for files that are not among `shown` any more, and what an interrupted write left.
    pub(crate) fn tidy<'a>(&self, shown: impl Iterator<Item = &'a Path>) {
        let wanted: std::collections::BTreeSet<PathBuf> = shown.map(|path| self.place(path)).collect();
        let Ok(entries) = std::fs::read_dir(&self.folder) else { return };
        for path in entries.flatten().map(|entry| entry.path()).filter(|path| !wanted.contains(path)) {
            let _ = std::fs::remove_file(path);
        }
    }
}

fn nanos(moment: SystemTime) -> Option<u64> {
    u64::try_from(since_1970(moment)?.as_nanos()).ok()
}
