//! What of the opening outlasts the window: the steps ticked today and the folders of other bars. It belongs to a person at
//! this machine and not to the notebook, so it lies beside the other settings, by notebook.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::control::opening::StepKind;
use crate::domain::BagId;
use crate::exchange::kept::Kept;

/// One notebook's.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
struct Leaf {
    bars: Vec<PathBuf>,
    /// The day that the ticks are of.
    day: Option<Date>,
    ticks: Vec<(StepKind, Option<BagId>)>,
    /// Steps that the records show as done and whose tick a person took away.
    unticked: Vec<(StepKind, Option<BagId>)>,
}

/// The steps ticked today and the other bars, by notebook.
#[derive(Debug, Clone, Default)]
pub struct Standing(Kept<BTreeMap<String, Leaf>>);

impl Standing {
    /// Opens the file; a missing one is empty, one that cannot be read is left as it is and not used.
    #[must_use]
    pub fn open(path: PathBuf) -> Self {
        Self(Kept::open(path))
    }

    /// Whether a step was ticked by hand on `day`. `notebook` names the notebook.
    #[must_use]
    pub fn is_ticked(&self, notebook: &str, day: Date, kind: StepKind, bag: Option<BagId>) -> bool {
        self.0
            .value
            .get(notebook)
            .is_some_and(|leaf| leaf.day == Some(day) && leaf.ticks.contains(&(kind, bag)))
    }

    /// Whether a person took the tick away on `day` that the records had given a step.
    #[must_use]
    pub fn is_unticked(&self, notebook: &str, day: Date, kind: StepKind, bag: Option<BagId>) -> bool {
        self.0
            .value
            .get(notebook)
            .is_some_and(|leaf| leaf.day == Some(day) && leaf.unticked.contains(&(kind, bag)))
    }

    /// Ticks a step of `day`, or takes its tick away, also one that the records give it; the ticks of other days go.
    ///
    /// # Errors
    /// One sentence when the file cannot be written; the tick stays in memory.
    pub fn tick(
        &mut self,
        notebook: &str,
        day: Date,
        kind: StepKind,
        bag: Option<BagId>,
        on: bool,
    ) -> Result<(), String> {
        let leaf = self.0.value.entry(notebook.to_owned()).or_default();
        if leaf.day != Some(day) {
            leaf.day = Some(day);
            leaf.ticks.clear();
            leaf.unticked.clear();
        }
        leaf.ticks.retain(|tick| *tick != (kind, bag));
        leaf.unticked.retain(|tick| *tick != (kind, bag));
        let list = if on { &mut leaf.ticks } else { &mut leaf.unticked };
        list.push((kind, bag));
        self.0.write()
    }

    /// The folders of other bars beside this notebook, in the order in which they were added.
    #[must_use]
    pub fn bars(&self, notebook: &str) -> &[PathBuf] {
        self.0.value.get(notebook).map_or(&[], |leaf| &leaf.bars)
    }

    /// Adds the folder of another bar, or takes it away.
    ///
    /// # Errors
    /// One sentence when the file cannot be written; the change stays in memory.
    pub fn show_bar(&mut self, notebook: &str, folder: &Path, shown: bool) -> Result<(), String> {
        let leaf = self.0.value.entry(notebook.to_owned()).or_default();
        match (shown, leaf.bars.iter().any(|bar| bar == folder)) {
            (true, false) => leaf.bars.push(folder.to_owned()),
            (false, true) => leaf.bars.retain(|bar| bar != folder),
            _ => return Ok(()),
        }
        self.0.write()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    const ONE: &str = "/notebooks/one";

    #[test]
    fn ticks_and_bars_outlast_the_window_and_ticks_only_their_day() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("settings").join("opening.ron");
        let day = jiff::civil::date(2026, 11, 25);
        let bag: Option<BagId> = Some(BagId("01a075f4-e9a0-7a2e-8dc6-3463e8e89785".parse().unwrap()));
        let bar = Path::new("/notebooks/other bar");
        let mut standing = Standing::open(path.clone());
        standing.tick(ONE, day, StepKind::WarmUp, None, true).unwrap();
        standing.tick(ONE, day, StepKind::Purge, bag, true).unwrap();
        standing.tick(ONE, day, StepKind::WarmUp, None, false).unwrap();
        standing.show_bar(ONE, bar, true).unwrap();
        standing.show_bar(ONE, bar, true).unwrap();
        let mut again = Standing::open(path.clone());
        assert!(again.is_ticked(ONE, day, StepKind::Purge, bag));
        assert!(!again.is_ticked(ONE, day, StepKind::WarmUp, None));
        assert!(!again.is_ticked(ONE, day, StepKind::Purge, None));
        assert!(!again.is_ticked("/notebooks/two", day, StepKind::Purge, bag));
        assert_eq!(again.bars(ONE), [bar]);
        // The next morning the list is fresh; the other bars stay.
        let next = day.tomorrow().unwrap();
        assert!(!again.is_ticked(ONE, next, StepKind::Purge, bag));
        again.tick(ONE, next, StepKind::Clean, None, true).unwrap();
        assert!(!again.is_ticked(ONE, day, StepKind::Purge, bag));
        again.show_bar(ONE, bar, false).unwrap();
        assert!(Standing::open(path).bars(ONE).is_empty());
    }

    #[test]
    fn a_file_that_does_not_read_is_left_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("opening.ron");
        std::fs::write(&path, "{ \"one\": (bars: 7) }").unwrap();
        let mut standing = Standing::open(path.clone());
        let why = standing.show_bar(ONE, Path::new("/x"), true).unwrap_err();
        assert!(why.contains("delete it"), "{why}");
        assert_eq!(standing.bars(ONE), [Path::new("/x")]);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "{ \"one\": (bars: 7) }");
    }
}
