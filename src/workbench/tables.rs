//! All tables of a notebook, written into one folder.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use crate::domain::Notebook;
use crate::exchange::export;
use crate::store::{Folder, Problem, StoreFault, Watch};

/// Writes `pulls.csv`, `traces.csv` (one row a sample), `columns.txt` (what every column means) and, where this build can,
/// `pulls.xlsx` into the folder `target`, which is made if it is missing. Nothing that is there is overwritten.
///
/// Gives what had to be left out because it cannot be read.
///
/// # Errors
/// One sentence; files written before it stay.
pub fn write_tables(
    folder: &Folder,
    notebook: &Notebook,
    target: &Path,
    watch: Watch<'_>,
) -> Result<Vec<Problem>, String> {
    let fault = |name: &str, fault: std::io::Error| format!("“{}”: {fault}", target.join(name).display());
    std::fs::create_dir_all(target).map_err(|refused| fault("", refused))?;
    let new = |name: &str| match File::create_new(target.join(name)) {
        Ok(file) => Ok(BufWriter::new(file)),
        Err(refused) if refused.kind() == std::io::ErrorKind::AlreadyExists => Err(say!(
            "work-tables-is-there-already-choose-another-folder",
            join = target.join(name).display()
        )),
        Err(refused) => Err(fault(name, refused)),
    };
    let mut file = new("pulls.csv")?;
    export::write_pulls(notebook, &mut file)
        .and_then(|()| file.flush())
        .map_err(|refused| fault("pulls.csv", refused))?;
    let mut file = new("columns.txt")?;
    file.write_all(export::data_dictionary().as_bytes())
        .and_then(|()| file.flush())
        .map_err(|refused| fault("columns.txt", refused))?;
    #[cfg(feature = "xlsx")]
    {
        let bytes = crate::exchange::spreadsheet::pulls_as_xlsx(notebook)?;
        let mut file = new("pulls.xlsx")?;
        file.write_all(&bytes).and_then(|()| file.flush()).map_err(|refused| fault("pulls.xlsx", refused))?;
    }
    let mut file = new("traces.csv")?;
    let mut left_out = Vec::new();
    let whole = write_traces(folder, notebook, &mut file, &mut left_out, watch)
        .and_then(|whole| file.flush().map(|()| whole))
        .map_err(|refused| fault("traces.csv", refused))?;
    if whole { Ok(left_out) } else { Err(StoreFault::Stopped.to_string()) }
}

/// Writes the samples of all live pulls, one row a sample, one trace in memory at a time. Traces that cannot be read go to
/// `left_out`; the others are wanted all the same. Whether it came to the end, or was stopped by `watch`.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_traces(
    folder: &Folder,
    notebook: &Notebook,
    to: &mut dyn Write,
    left_out: &mut Vec<Problem>,
    watch: Watch<'_>,
) -> std::io::Result<bool> {
    let live = notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    let traced: Vec<_> =
        live.flat_map(|bag| bag.live_pulls()).filter(|pull| pull.has_trace).map(|pull| pull.id).collect();
    let mut table = export::LongTraces::begin(to)?;
    for (done, id) in traced.iter().enumerate() {
        if !watch(done, traced.len()) {
            return Ok(false);
        }
        match folder.trace_for_table(*id) {
            Ok(Some(trace)) => table.add(&id.to_string(), &trace)?,
            Ok(None) => {}
            Err(problem) => left_out.push(problem),
        }
    }
    table.end().map(|()| true)
}
