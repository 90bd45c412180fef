//! The engine's answer as plain values for the window.

use std::sync::Arc;

use super::asking::{Adviser, Question};
use super::view::advice::{Advice, Expected, Idea, Reason, Spread, Verdict, Voice};
use crate::advisor::{self, Expect, Quantiles, Settings, Source, Status, Tolerances};
use crate::domain::Tolerance;

/// The engine as an adviser.
#[must_use]
pub fn engine() -> Adviser {
    Arc::new(advise)
}

fn advise(question: &Question) -> Advice {
    let case = question.case();
    let advice = advisor::advise(&case, &Settings { one_lever: question.one_lever, ..Settings::default() });
    let spread = |q: Quantiles| Spread { p10: q.p10, p50: q.p50, p90: q.p90 };
    let expected = |expect: &Expect| Expected {
        time_s: spread(expect.time_s),
        tds_pct: spread(expect.tds_pct),
        extraction_pct: spread(expect.extraction_pct),
        liking: spread(expect.liking),
    };
    Advice {
        verdict: match advice.status {
            Status::Adjust => Verdict::Adjust,
            Status::Repeat => Verdict::Repeat,
            Status::Settled => Verdict::Settled,
        },
        recipe: advice.recipe,
        as_planned: case.last_was_another(),
        from: (!case.shots.is_empty()).then(|| case.current()),
        expect: expected(&advice.expect),
        best: advice.best.recipe,
        best_time_s: advice.best.expect.time_s.p50,
        tolerance: tolerance(&advice.tolerances),
        chance_near_best: advice.chance_near_best,
        reasons: advice
            .reasons
            .iter()
            .map(|reason| Reason {
                voice: match reason.source {
                    Source::Rule => Voice::Rule,
                    Source::Model => Voice::Model,
                    Source::Guard => Voice::Guard,
                },
                id: reason.id.clone(),
                text: reason.text.clone(),
            })
            .collect(),
        alternatives: advice
            .alternatives
            .each()
            .filter(|idea| idea.recipe != advice.recipe)
            .map(|idea| Idea {
                recipe: idea.recipe,
                expect: expected(&idea.expect),
                chance_near_best: idea.chance_near_best,
                text: idea.text.clone(),
            })
            .collect(),
        beliefs: advice.beliefs.iter().map(|belief| belief.text.clone()).collect(),
        tomorrow: advice.tomorrow.clone(),
        conflict: advice.voices.conflict.clone(),
    }
}

/// The smaller of both sides, as a keeper has it: within it liking holds either way.
pub(super) fn tolerance(found: &Tolerances) -> Tolerance {
    Tolerance {
        time_s: found.time_s.either_way(),
        dose_g: found.dose_g.either_way(),
        yield_g: found.yield_g.either_way(),
        temperature_c: found.temperature_c.either_way(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Attribute, Lever};
    use crate::workbench::samples;

    #[test]
    fn a_fast_sour_pull_is_answered_on_the_gears_steps() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, bag) = samples::notebook_with_pulls(2, now);
        for pull in &mut notebook.bags[0].pulls {
            pull.time_s = Some(16.0);
            pull.taste.set_mark(Attribute::Sourness, crate::domain::Mark::new(2));
        }
        let today = jiff::civil::date(2026, 11, 25);
        let question = Question::about(&notebook, bag, today, &jiff::tz::TimeZone::UTC, 1).unwrap();
        let advice = engine()(&question);
        assert!(question.station.gear.grind.scale.holds(advice.recipe.grind));
        assert!(advice.expect.time_s.p10 < advice.expect.time_s.p90);
        assert!(!advice.reasons.is_empty());
    }

    /// Who prefers one lever at a time asks another question than who does not, and gets it.
    #[test]
    fn a_preference_for_one_lever_reaches_the_engine() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let today = jiff::civil::date(2026, 11, 25);
        let moved = |advice: &Advice| {
            let from = advice.from.unwrap();
            Lever::ALL.iter().filter(|lever| from.get(**lever) != advice.recipe.get(**lever)).count()
        };
        let mut several = 0;
        for (time_s, of, mark) in [
            (16.0, Attribute::Sourness, 2),
            (27.0, Attribute::Sourness, 2),
            (27.0, Attribute::Strength, -2),
            (27.0, Attribute::Bitterness, 2),
        ] {
            let (mut notebook, bag) = samples::notebook_with_pulls(1, now);
            let pull = &mut notebook.bags[0].pulls[0];
            pull.time_s = Some(time_s);
            pull.taste.set_mark(of, crate::domain::Mark::new(mark));
            let free = Question::about(&notebook, bag, today, &jiff::tz::TimeZone::UTC, 1).unwrap();
            notebook.preferences.one_lever = true;
            let strict = Question::about(&notebook, bag, today, &jiff::tz::TimeZone::UTC, 1).unwrap();
            assert!(!strict.same_as(&free));
            assert!(moved(&engine()(&strict)) <= 1, "{time_s} {of:?}");
            several += usize::from(moved(&engine()(&free)) > 1);
        }
        assert!(several > 0);
    }
}
