//! A person's own rule packs: `rules/*.ron`, and their worked cases, `rules/cases/*.ron` of the same name.

use std::path::{Path, PathBuf};

use super::fault::Problem;
use crate::rules::{self, Pack};
use crate::units::capital;

/// Largest file that is read as a pack, bytes.
const LARGEST: u64 = 1 << 20;

/// The packs of a notebook's folder that are sound, in the order of their names, and what is wrong with the others, which
/// are left out whole.
#[must_use]
pub fn rule_packs(root: &Path) -> (Vec<Pack>, Vec<Problem>) {
    let folder = root.join("rules");
    let mut files: Vec<PathBuf> = std::fs::read_dir(&folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    files.retain(|path| path.extension().is_some_and(|end| end == "ron"));
    files.sort();
    let (mut packs, mut problems) = (Vec::new(), Vec::new());
    let shown = |path: &Path| path.strip_prefix(root).unwrap_or(path).display().to_string();
    for file in files {
        let name = shown(&file);
        let text = match text_of(&file) {
            Ok(text) => text,
            Err(why) => {
                problems.push(Problem::of_file(Path::new(&name), why, word!("store-rules-todo-unread")));
                continue;
            }
        };
        let cases = file.file_name().map(|own| folder.join("cases").join(own));
        let cases = cases.and_then(|path| text_of(&path).ok().map(|text| (shown(&path), text)));
        let cases = cases.as_ref().map(|(name, text)| (name.as_str(), text.as_str()));
        let found = rules::check(&name, &text, cases);
        if found.is_empty() {
            packs.extend(rules::read_pack(&name, &text));
        }
        problems.extend(found.into_iter().map(|finding| Problem {
            line: finding.line,
            column: finding.column,
            ..Problem::of_file(Path::new(&finding.file), finding.what, capital(&finding.todo))
        }));
    }
    (packs, problems)
}

/// Text of a small file, or why it cannot be had.
fn text_of(path: &Path) -> Result<String, String> {
    match std::fs::metadata(path) {
        Ok(about) if about.len() > LARGEST => return Err(word!("store-rules-too-large").to_owned()),
        Ok(_) => {}
        Err(fault) => return Err(fault.to_string()),
    }
    std::fs::read_to_string(path).map_err(|fault| fault.to_string())
}
