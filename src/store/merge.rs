//! Brings two copies together, record by record: the later edit wins.

use crate::domain::{Bag, Pull};

/// Takes into `bag` what is newer in `other`, another copy of the same bag.
pub(crate) fn bags(bag: &mut Bag, mut other: Bag) {
    let pulls = std::mem::take(&mut other.pulls);
    if other.stamp.changed > bag.stamp.changed {
        other.pulls = std::mem::take(&mut bag.pulls);
        *bag = other;
    }
    for pull in pulls {
        pull_into(&mut bag.pulls, pull);
    }
    bag.sort_pulls();
}

fn pull_into(pulls: &mut Vec<Pull>, pull: Pull) {
    match pulls.iter_mut().find(|known| known.id == pull.id) {
        Some(known) if known.stamp.changed < pull.stamp.changed => *known = pull,
        Some(_) => {}
        None => pulls.push(pull),
    }
}
