//! Practice files of a notebook: read from its `practice` folder and checked.

use std::path::{Path, PathBuf};

use crate::practice::{Depth, Finding, check};
use crate::store::Problem;

/// Largest practice file that is read, bytes.
const LARGEST: u64 = 1 << 20;

/// What is wrong with the files below `practice/` in a notebook's folder; nothing when there is no such folder.
pub fn findings(root: &Path) -> Vec<Problem> {
    let mut files = Vec::new();
    collect(&root.join("practice"), 2, &mut files);
    files.sort();
    let mut problems = Vec::new();
    let mut texts: Vec<(String, String)> = Vec::new();
    for file in files {
        let shown = file.strip_prefix(root).unwrap_or(&file).to_owned();
        let too_large = std::fs::metadata(&file).is_ok_and(|about| about.len() > LARGEST);
        if too_large {
            problems.push(Problem::of_file(
                &shown,
                "is larger than a megabyte",
                "A practice file is a page of text",
            ));
            continue;
        }
        match std::fs::read_to_string(&file) {
            Ok(text) => texts.push((shown.display().to_string(), text)),
            Err(fault) => {
                let what = format!("could not be read: {fault}");
                problems.push(Problem::of_file(&shown, what, "Save it as plain text (UTF-8)"));
            }
        }
    }
    let pairs = texts.iter().map(|(file, text)| (file.as_str(), text.as_str()));
    problems.extend(check(pairs, Depth::Full).into_iter().map(problem));
    problems.sort();
    problems
}

fn problem(finding: Finding) -> Problem {
    Problem {
        file: PathBuf::from(finding.file),
        line: finding.line,
        column: finding.column,
        what: finding.what,
        todo: finding.todo,
    }
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
