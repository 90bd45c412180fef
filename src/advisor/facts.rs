//! Facts about a case that guards and rules look at.

use super::Case;
use crate::infer::Posterior;

/// Whether the last pull fits so badly that it should be repeated before it is believed.
pub(super) fn odd_last_pull(case: &Case, posterior: &Posterior) -> bool {
    let choked = case.shots.last().is_some_and(|s| s.choked);
    !choked && posterior.sound.last().is_some_and(|s| *s < 0.4)
}
