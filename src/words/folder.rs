//! Languages that a person added: one file `XX.ftl` each in a folder, and the one that is chosen.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::{Catalogue, put};

/// The file beside the languages that holds the tag of the chosen one.
const CHOSEN: &str = "chosen.txt";

/// A language that can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Language {
    /// Its tag, such as `en`.
    pub tag: String,
    /// Its own name for itself (the message `language-name`), else its tag.
    pub name: String,
    /// Why its file cannot be used, with the file's name and the line.
    pub damage: Option<String>,
}

fn read(path: &Path, tag: &str) -> Result<&'static Catalogue, String> {
    static READ: Mutex<Option<HashMap<(PathBuf, String), &'static Catalogue>>> = Mutex::new(None);
    let size = std::fs::metadata(path).map_err(|fault| format!("{}: {fault}", path.display()))?.len();
    if size > super::MAX_BYTES as u64 {
        return Err(format!("{}: the file is too large", path.display()));
    }
    let text = std::fs::read_to_string(path).map_err(|fault| format!("{}: {fault}", path.display()))?;
    let mut read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    let read = read.get_or_insert_default();
    // One catalogue a text, however often the folder is looked through.
    let key = (path.to_path_buf(), text);
    if let Some(catalogue) = read.get(&key) {
        return Ok(catalogue);
    }
    let catalogue = Catalogue::read(tag, &key.1).map_err(|damage| format!("{}, {damage}", path.display()))?;
    let catalogue: &'static Catalogue = Box::leak(Box::new(catalogue));
    read.insert(key, catalogue);
    Ok(catalogue)
}

/// English first, then the languages of the folder by their tags; a folder that is not there has none.
#[must_use]
pub fn languages(folder: &Path) -> Vec<Language> {
    let mut all = vec![Language { tag: "en".to_owned(), name: "English".to_owned(), damage: None }];
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    found.retain(|path| path.extension().is_some_and(|end| end == "ftl"));
    found.sort();
    for path in found {
        let Some(tag) = path.file_stem().and_then(|stem| stem.to_str()) else { continue };
        let (name, damage) = match read(&path, tag) {
            Ok(catalogue) => (catalogue.plain("language-name").unwrap_or(tag).to_owned(), None),
            Err(sentence) => (tag.to_owned(), Some(sentence)),
        };
        if tag != "en" {
            all.push(Language { tag: tag.to_owned(), name, damage });
        }
    }
    all
}

/// Puts a language of the folder in use and remembers it there; `None` puts the remembered one in use.
///
/// # Errors
/// A sentence with the file and the line when the language cannot be read (English is then in use), or when the
/// choice cannot be written down (the language is then in use all the same).
pub fn choose(folder: &Path, tag: Option<&str>) -> Result<(), String> {
    let kept = folder.join(CHOSEN);
    let wanted = match tag {
        Some(tag) => tag.to_owned(),
        None => std::fs::read_to_string(&kept).unwrap_or_default().trim().to_owned(),
    };
    // A tag is a file's name here: letters, digits and hyphens only, so that it stays inside the folder.
    let sound = wanted.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    let catalogue = match wanted.as_str() {
        "" | "en" => Ok(None),
        _ if !sound => Ok(None),
        other => read(&folder.join(format!("{other}.ftl")), other).map(Some),
    };
    put(catalogue.as_ref().ok().copied().flatten());
    catalogue?;
    if tag.is_some() {
        std::fs::create_dir_all(folder)
            .and_then(|()| std::fs::write(&kept, &wanted))
            .map_err(|fault| format!("{}: {fault}", kept.display()))?;
    }
    Ok(())
}
