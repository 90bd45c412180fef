//! A teacher's own practice files: read from the folder `practice` of a notebook, checked, laid over what ships.

use std::path::{Path, PathBuf};

use crate::practice::{Depth, Finding, Pack, check};
use crate::store::Problem;

/// Largest practice file that is read, bytes.
const LARGEST: u64 = 1 << 20;

/// Own files and what could not be read of them.
struct Own {
    texts: Vec<(String, String)>,
    problems: Vec<Problem>,
}

impl Own {
    fn read(root: &Path) -> Self {
        let mut files = Vec::new();
        collect(&root.join("practice"), 2, &mut files);
        files.sort();
        let mut own = Self { texts: Vec::new(), problems: Vec::new() };
        for file in files {
            let shown = file.strip_prefix(root).unwrap_or(&file).to_owned();
            let too_large = std::fs::metadata(&file).is_ok_and(|about| about.len() > LARGEST);
            if too_large {
                let (what, todo) =
                    (word!("store-rules-too-large"), word!("work-practice-own-a-practice-file-is-a-page"));
                own.problems.push(Problem::of_file(&shown, what, todo));
                continue;
            }
            match std::fs::read_to_string(&file) {
                Ok(text) => own.texts.push((shown.display().to_string(), text)),
                Err(fault) => {
                    let what = say!("work-practice-own-could-not-be-read", fault = fault);
                    own.problems.push(Problem::of_file(
                        &shown,
                        what,
                        word!("work-practice-own-save-it-as-plain-text-utf"),
                    ));
                }
            }
        }
        own
    }

    fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.texts.iter().map(|(file, text)| (file.as_str(), text.as_str()))
    }
}

/// What is wrong with the files below `practice/` in a notebook's folder; nothing when there is no such folder.
#[must_use]
pub fn findings(root: &Path, depth: Depth) -> Vec<Problem> {
    let own = Own::read(root);
    let mut problems: Vec<Problem> = check(own.pairs(), depth).into_iter().map(problem).collect();
    problems.extend(own.problems);
    problems.sort();
    problems
}

/// What ships, with the files below `practice/` in a notebook's folder on top; a file that does not read is left out.
#[must_use]
pub fn pack_of(root: &Path) -> Pack {
    Pack::with(Own::read(root).pairs())
}

fn problem(finding: Finding) -> Problem {
    let whole = Problem::of_file(Path::new(&finding.file), finding.what, finding.todo);
    Problem { line: finding.line, column: finding.column, ..whole }
}

fn collect(folder: &Path, depth: usize, into: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.is_dir() {
            if depth > 0 {
                collect(&path, depth - 1, into);
            }
        } else if path.extension().is_some_and(|end| end == "ron") {
            into.push(path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_files_lie_over_what_ships_and_faults_are_placed() {
        let place = tempfile::tempdir().unwrap();
        assert_eq!(pack_of(place.path()), Pack::shipped());
        assert!(findings(place.path(), Depth::Quick).is_empty());
        let folder = place.path().join("practice/coffees");
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("mine.ron"), "Coffee(name: \"Mine\")").unwrap();
        std::fs::write(folder.join("river-bend.ron"), "Coffee(\n  name: \"Other\",\n  flow: 99,\n)").unwrap();
        std::fs::write(folder.join("torn.ron"), "Coffee(\n  name: ").unwrap();
        std::fs::write(folder.join("large.ron"), vec![b' '; (1 << 20) + 1]).unwrap();
        let pack = pack_of(place.path());
        assert_eq!(pack.coffees["mine"].name, "Mine");
        assert_eq!(pack.coffees["river-bend"].name, "Other");
        assert_eq!(pack.coffees.len(), Pack::shipped().coffees.len() + 1);
        let found = findings(place.path(), Depth::Quick);
        let at: Vec<(usize, usize)> = found.iter().map(|one| (one.line, one.column)).collect();
        assert_eq!(at.len(), 3, "{found:?}");
        assert!(at.contains(&(0, 0)) && at.contains(&(3, 9)), "{found:?}");
    }
}
