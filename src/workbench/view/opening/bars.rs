//! Bars side by side: the notebooks of several shops, read as they stand on disk.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::{Costly, Opening, Place, Wish, look};
use crate::store::{Aside, Folder, Holder, Problem};

/// One bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// The name of its folder.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
    /// What was found on it.
    pub opening: Opening,
    /// Files that could not be read.
    pub problems: Vec<Problem>,
}

/// Reads the notebook in a folder and looks at its bar. Nothing is locked or written. `station` names the only station
/// to look at; the units are the notebook's own. Bags that did not change are taken from `aside`.
///
/// # Errors
/// One sentence: no notebook there, or no such station.
pub fn bar_at(
    folder: &Path,
    now: Timestamp,
    zone: &TimeZone,
    wish: &Wish,
    station: Option<&str>,
    costly: &mut Costly,
    aside: Option<&Aside>,
) -> Result<Bar, String> {
    let opened =
        Folder::open_beside(folder, now, &Holder::here(), false, aside).map_err(|fault| fault.to_string())?;
    let notebook = &opened.notebook;
    let mut wish = wish.clone();
    if let Some(wanted) = station {
        let live = notebook.stations.iter().filter(|s| s.stamp.is_live() && !s.archived);
        let named = live.clone().find(|s| s.name.eq_ignore_ascii_case(wanted.trim()));
        let names: Vec<&str> = live.map(|s| s.name.as_str()).collect();
        wish.station = Some(
            named
                .ok_or_else(|| {
                    say!(
                        "view-opening-bars-no-station-is-called-there-are",
                        wanted = wanted,
                        join = names.join(", ")
                    )
                })?
                .id,
        );
    }
    let units = notebook.preferences.units;
    let opening = look(notebook, Place { now, zone, units: &units }, &wish, costly);
    Ok(Bar { name: name_of(folder), folder: folder.to_owned(), opening, problems: opened.problems })
}

/// What a folder is called: its own name, with that of the folder around it where it is only "notebook".
#[must_use]
pub fn name_of(folder: &Path) -> String {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let part = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned());
    let own = part(&whole).unwrap_or_else(|| whole.display().to_string());
    match whole.parent().and_then(part) {
        Some(around) if own.eq_ignore_ascii_case("notebook") => format!("{around}/{own}"),
        _ => own,
    }
}
