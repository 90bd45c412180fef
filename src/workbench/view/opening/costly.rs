//! Answers that take long to work out, kept by what they were worked out from.

use std::collections::BTreeMap;

use super::chart::Widths;
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
    /// Habits learnt from a bag's past, by bag, day and what was known before.
    habits: BTreeMap<String, Habits>,
    /// Limits of charts by run length.
    widths: BTreeMap<u64, Widths>,
    /// How many may still be worked out in this look.
    fresh: u32,
    stood_in: usize,
    /// How often thresholds were worked out anew; for tests.
    pub worked_out: u32,
}

impl Costly {
    /// A look begins; at most `fresh` answers are worked out in it.
    pub(super) fn begin(&mut self, fresh: u32) {
        self.fresh = fresh;
        self.stood_in = 0;
    }

    /// Habits from a bag's past, from the store where the same was learnt before; `known` is what `learn` starts from.
    /// `known` itself stands in when no more may be worked out in this look.
    pub(super) fn habits(
        &mut self,
        past: &str,
        known: Habits,
        learn: impl FnOnce(Habits) -> Habits,
    ) -> Habits {
        let key = format!("{past} {known:?}");
        if let Some(learnt) = self.habits.get(&key) {
            return *learnt;
        }
        if self.fresh == 0 {
            return known;
        }
        if self.habits.len() >= MOST {
            self.habits.clear();
        }
        let learnt = learn(known);
        self.habits.insert(key, learnt);
        learnt
    }

    /// Limits of the charts for a run length. Always worked out: a few hundredths of a second, once for a bar whose
    /// coffees are pulled alike.
    pub(super) fn widths(&mut self, run_length: f64) -> Widths {
        if self.widths.len() >= MOST {
            self.widths.clear();
        }
        *self.widths.entry(run_length.to_bits()).or_insert_with(|| Widths::for_run_length(run_length))
    }

    /// Answers of this look that were stood in for.
    pub(super) fn stood_in(&self) -> usize {
        self.stood_in
    }

    /// As [`thresholds`] for habits rounded to [`near`], from the store where the same was asked before. `None` when
    /// it is not known and no more may be worked out in this look.
    pub(super) fn thresholds(
        &mut self,
        habits: Habits,
        watch: &Watch,
        policy: &Policy,
        effort: u32,
    ) -> Option<Thresholds> {
        let habits = near(habits);
        // The purge costs coffee and changes no verdict.
        let window = (policy.window * 200.0).round() / 200.0;
        let policy = &Policy { window, purge_g: Policy::default().purge_g, ..*policy };
        // Numbers print as the shortest text that reads back as the same number, so that the key is exact.
        let key = format!("{habits:?} {watch:?} {policy:?} {effort}");
        if let Some(known) = self.limits.get(&key) {
            return Some(*known);
        }
        if self.fresh == 0 {
            self.stood_in += 1;
            return None;
        }
        self.fresh -= 1;
        if self.limits.len() >= MOST {
            self.limits.clear();
        }
        self.worked_out += 1;
        let found = thresholds(habits, watch, policy, effort, 5);
        self.limits.insert(key, found);
        Some(found)
    }
}

/// Habits rounded to steps that change no threshold by more than its own standard error, so that coffees alike share
/// one: scatter, wander and click to a twentieth of their logarithm, ageing to a tenth of a percent a day.
fn near(habits: Habits) -> Habits {
    let log = |v: f64| {
        if v.abs() < 1e-9 { v } else { v.signum() * libm::exp((libm::log(v.abs()) * 20.0).round() / 20.0) }
    };
    let plain = |v: f64| (v * 1000.0).round() / 1000.0;
    Habits {
        sigma: log(habits.sigma),
        sigma_dof: log(habits.sigma_dof),
        wander_night: log(habits.wander_night),
        bad_share: log(habits.bad_share),
        click: log(habits.click),
        click_sd: log(habits.click_sd),
        ageing: plain(habits.ageing),
        ageing_sd: plain(habits.ageing_sd),
        ..habits
    }
}
