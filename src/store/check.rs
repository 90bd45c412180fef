//! Looks through a notebook for what a person should mend.

use std::path::Path;

use jiff::Timestamp;

use super::disk::SystemDisk;
use super::fault::Problem;
use super::load::load;

/// Validates the notebook at `path` as of `now`; an empty list means that all is well.
#[must_use]
pub fn check(path: &Path, now: Timestamp) -> Vec<Problem> {
    let _ = now;
    load(&SystemDisk, path).problems
}
