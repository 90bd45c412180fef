//! Opening a notebook: one's own, or on a first run a copy of the demo.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;

use super::bench::{Backing, Workbench};
use crate::domain::{Notebook, PullId, Record, RecordKey, Trace};
use crate::practice::demo;
use crate::store::{self, Aside, Folder, Holder, Problem};

/// Seed of the demo notebook, so that every first run shows the same story.
pub const DEMO_SEED: u64 = 1;

/// An open notebook and what came up while opening it.
pub struct Session {
    /// The open notebook.
    pub bench: Workbench,
    /// Its folder.
    pub path: PathBuf,
    /// What could not be read or looks odd.
    pub problems: Vec<Problem>,
    /// Whether a folder was made for it just now.
    pub fresh: bool,
}

impl Backing for Folder {
    fn commit(
        &mut self,
        after: &[Record],
        taken_out: &[RecordKey],
        name: &str,
        now: Timestamp,
    ) -> Result<(), String> {
        Self::commit(self, after, taken_out, name, now).map_err(|fault| fault.to_string())
    }

    fn save_trace(&mut self, pull: PullId, trace: &Trace) -> Result<(), String> {
        Self::save_trace(self, pull, trace).map_err(|fault| fault.to_string())
    }

    fn load_trace(&mut self, pull: PullId) -> Result<Option<Trace>, String> {
        Self::load_trace(self, pull).map_err(|fault| fault.to_string())
    }

    fn tidy(&mut self) -> Result<(), String> {
        // One file at a time keeps an idle moment short.
        if self.is_settled() || !self.is_writer() {
            return Ok(());
        }
        self.settle_some(1).map(|_all| ()).map_err(|fault| fault.to_string())
    }

    fn folder(&mut self) -> Option<&mut Folder> {
        Some(self)
    }

    fn trouble(&mut self) -> Vec<String> {
        self.take_trouble().iter().map(ToString::to_string).collect()
    }
}

/// Which notebook to open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// This folder; made empty if there is nothing.
    At(PathBuf),
    /// The person's own where there is one, else a copy of the demo.
    Usual,
    /// The copy of the demo.
    Demo,
    /// The person's own, made empty if there is none.
    Own,
}

/// Folder of the copy of the demo, beside the person's own notebook.
fn demo_folder(own: &Path) -> PathBuf {
    own.parent().map_or_else(|| own.join("demo"), |parent| parent.join("demo"))
}

impl Session {
    /// Opens the wanted notebook. `today` dates the demo's story when it has to be written; bags that did not change
    /// are taken from `aside`.
    ///
    /// # Errors
    /// One sentence that says what failed and what to do.
    pub fn open(
        wanted: &Wanted,
        now: Timestamp,
        today: Date,
        holder: &Holder,
        aside: Option<&Aside>,
    ) -> Result<Self, String> {
        let own = || {
            store::default_folder()
                .ok_or_else(|| word!("work-session-this-system-names-no-data-folder").to_owned())
        };
        match wanted {
            Wanted::At(path) => Self::open_or_make(path, now, holder, aside),
            Wanted::Own => Self::open_or_make(&own()?, now, holder, aside),
            Wanted::Demo => Self::open_demo(&demo_folder(&own()?), now, today, holder, aside),
            Wanted::Usual => {
                let own = own()?;
                if holds_notebook(&own) {
                    Self::open_or_make(&own, now, holder, aside)
                } else {
                    Self::open_demo(&demo_folder(&own), now, today, holder, aside)
                }
            }
        }
    }

    fn open_or_make(
        path: &Path,
        now: Timestamp,
        holder: &Holder,
        aside: Option<&Aside>,
    ) -> Result<Self, String> {
        let fresh = !path.exists() || is_empty_folder(path);
        let opened = if fresh {
            Folder::create(path, &Notebook::default(), now, holder)
        } else {
            Folder::open_beside(path, now, holder, true, aside)
        };
        let opened = opened.map_err(|fault| fault.to_string())?;
        let conflicts = opened.conflicts;
        let mut bench = Workbench::new(opened.notebook, Some(Box::new(opened.folder)), opened.why_read_only);
        bench.tell_conflicts(conflicts);
        bench.keep_aside(aside.cloned());
        let (packs, faulty) = store::rule_packs(path);
        if !packs.is_empty() {
            bench.hear_rules(packs);
        }
        let mut problems = opened.problems;
        problems.extend(faulty);
        Ok(Self { bench, path: path.to_owned(), problems, fresh })
    }

    fn open_demo(
        path: &Path,
        now: Timestamp,
        today: Date,
        holder: &Holder,
        aside: Option<&Aside>,
    ) -> Result<Self, String> {
        let fresh = !path.exists() || is_empty_folder(path);
        if fresh {
            write_demo(path, today, DEMO_SEED, now, holder)?;
        }
        let mut session = Self::open_or_make(path, now, holder, aside)?;
        session.fresh = fresh;
        Ok(session)
    }
}

/// How much a demo notebook holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DemoWritten {
    /// Bags.
    pub bags: usize,
    /// Pulls in all bags.
    pub pulls: usize,
    /// Traces.
    pub traces: usize,
}

/// Writes the demo notebook, its story ending on `anchor`, into a folder that is missing or empty.
///
/// # Errors
/// One sentence that says what failed and what to do.
pub fn write_demo(
    path: &Path,
    anchor: Date,
    seed: u64,
    now: Timestamp,
    holder: &Holder,
) -> Result<DemoWritten, String> {
    let (notebook, traces) = demo::notebook(anchor, seed).map_err(|fault| fault.to_string())?;
    let mut opened = Folder::create(path, &notebook, now, holder).map_err(|fault| fault.to_string())?;
    for (pull, trace) in &traces {
        opened.folder.save_trace(*pull, trace).map_err(|fault| fault.to_string())?;
    }
    let pulls = notebook.bags.iter().map(|bag| bag.pulls.len()).sum();
    Ok(DemoWritten { bags: notebook.bags.len(), pulls, traces: traces.len() })
}

fn holds_notebook(path: &Path) -> bool {
    path.join("notebook.ron").exists()
}

fn is_empty_folder(path: &Path) -> bool {
    std::fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_none())
}
