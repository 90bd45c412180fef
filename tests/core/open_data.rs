//! Real measured pulls, when they are at hand: the folder named by `THIRDPULL_OPEN_DATA`.
//!
//! Source: Waszkiewicz et al., Under pressure: poroelastic regulation of flow in espresso brewing, Phys. Fluids 38,
//! 063113 (2026); open data record 10.5281/zenodo.18046315. The files are not part of this repository.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::PathBuf;

/// Files of the open data with this ending in the named subfolder, sorted; `None`, said aloud, when the data is absent.
pub fn files(folder: &str, ending: &str) -> Option<Vec<PathBuf>> {
    let Some(root) = std::env::var_os("THIRDPULL_OPEN_DATA") else {
        println!("skipped: THIRDPULL_OPEN_DATA is not set, so no real pulls were read");
        return None;
    };
    let mut found = Vec::new();
    let sources = std::fs::read_dir(&root).expect("THIRDPULL_OPEN_DATA names a folder");
    for source in sources.flatten() {
        let Ok(entries) = std::fs::read_dir(source.path().join(folder)) else { continue };
        found.extend(
            entries.flatten().map(|e| e.path()).filter(|p| p.extension().is_some_and(|e| e == ending)),
        );
    }
    found.sort();
    assert!(!found.is_empty(), "no .{ending} files under {folder} in THIRDPULL_OPEN_DATA");
    Some(found)
}
