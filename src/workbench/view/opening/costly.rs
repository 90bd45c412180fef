//! Answers that take long to work out, kept by what they were worked out from.

use std::collections::BTreeMap;

use crate::control::calibrate::{Thresholds, Watch, thresholds};
use crate::control::habits::Habits;
use crate::control::verdict::Policy;

/// Answers kept at most.
const MOST: usize = 400;

/// Keeps what is costly from one look to the next. Habits are learnt from the days before today, so that each coffee
/// is worked out once a day.
#[derive(Debug, Default)]
pub struct Costly {
    limits: BTreeMap<String, Thresholds>,
    /// How often thresholds were worked out anew; for tests.
    pub worked_out: u32,
}

impl Costly {
    /// As [`thresholds`], from the store where the same was asked before.
    pub(super) fn thresholds(
        &mut self,
        habits: Habits,
        watch: &Watch,
        policy: &Policy,
        effort: u32,
    ) -> Thresholds {
        // Numbers print as the shortest text that reads back as the same number, so that the key is exact.
        let key = format!("{habits:?} {watch:?} {policy:?} {effort}");
        if let Some(known) = self.limits.get(&key) {
            return *known;
        }
        if self.limits.len() >= MOST {
            self.limits.clear();
        }
        self.worked_out += 1;
        let found = thresholds(habits, watch, policy, effort, 5);
        self.limits.insert(key, found);
        found
    }
}
