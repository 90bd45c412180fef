//! The advisor as a library: determinism, reasons that follow the evidence, guards, bad and extreme input.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use super::trace_truth::{Rig, made};
use thirdpull::advisor::{
    Aim, BagFacts, Case, Outlook, Quantiles, Settings, Shot, Source, Status, Toward, advise, by_rules_alone,
    direction_reversed, taste_map,
};
use thirdpull::domain::{
    Attribute, Finer, Gear, GrindScale, Lever, Mark, Recipe, Roast, Scale, StartRecipe, Taste,
};
use thirdpull::infer::{Bed, GoesBy};
use thirdpull::trace::Gist;

fn gear(finer: Finer) -> Gear {
    Gear {
        grind: GrindScale {
            scale: Scale::new("grind", 0.0, 30.0, 0.5).unwrap(),
            finer,
            um_per_unit: Some(12.0),
            retained_g: 0.5,
            stepless: false,
        },
        dose_g: Scale::new("dose", 16.0, 20.0, 0.5).unwrap(),
        yield_g: Scale::new("yield", 26.0, 54.0, 1.0).unwrap(),
        temperature_c: Some(Scale::new("temperature", 88.0, 96.0, 1.0).unwrap()),
        pressure_bar: Some(9.0),
        refractometer: false,
    }
}

pub fn case(finer: Finer) -> Case {
    Case {
        bag: BagFacts {
            name: "Quarry Road".to_owned(),
            roast: Some(Roast::Medium),
            process: None,
            days_since_roast: Some(11.0),
        },
        gear: gear(finer),
        aim: Aim {
            start: StartRecipe { grind: Some(15.0), dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
            time_window_s: None,
        },
        earlier: vec![],
        shots: vec![],
        age_today: None,
        coffee_left_g: None,
        packs: thirdpull::rules::own_packs(),
    }
}

pub fn shot(label: u32, grind: f64, time_s: f64, marks: &[(Attribute, i64)], liking: Option<i64>) -> Shot {
    let mut taste = Taste::default();
    for (attribute, mark) in marks {
        taste.set_mark(*attribute, Mark::new(*mark));
    }
    taste.set_liking(liking);
    let recipe = Recipe { grind, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };
    Shot { time_s: Some(time_s), taste, days_since_roast: Some(11.0), ..Shot::new(label, recipe) }
}

/// What is believed after a case's pulls.
fn believed(case: &Case) -> thirdpull::infer::Posterior {
    use thirdpull::infer::{Beginning, Frame, Noise, Posterior};
    let frame = Frame::new(&case.gear, &case.aim.start, case.bag.days_since_roast);
    let noise = Noise::default();
    let beginning = Beginning::new(&case.bag, &case.gear, &frame, &[], &noise);
    Posterior::new(&beginning, &frame, &case.shots, &noise, 1, 160)
}

/// Weight of the variants whose liking goes by this, after a case's pulls.
fn weight_of(case: &Case, goes_by: GoesBy) -> f64 {
    believed(case).worlds.iter().filter(|w| w.shape.goes_by == goes_by).map(|w| w.weight).sum()
}

fn sound(q: &Quantiles) -> bool {
    q.p10.is_finite() && q.p90.is_finite() && q.p10 <= q.p50 && q.p50 <= q.p90
}

pub fn check_sound(case: &Case) -> thirdpull::advisor::Advice {
    let advice = advise(case, &Settings::default());
    for q in
        [&advice.expect.time_s, &advice.expect.tds_pct, &advice.expect.extraction_pct, &advice.expect.liking]
    {
        assert!(sound(q), "{q:?}");
    }
    assert!(!advice.reasons.is_empty());
    for recipe in [&advice.recipe, &advice.best.recipe] {
        for lever in Lever::ALL {
            if let (Some(scale), Some(value)) = (case.gear.scale(lever), recipe.get(lever)) {
                assert!(scale.holds(value), "{lever:?} {value}");
            }
        }
    }
    assert_eq!(advice.status == Status::Adjust, !advice.changes.is_empty());
    advice
}

#[test]
fn the_same_case_gives_the_same_advice() {
    let mut c = case(Finer::Lower);
    c.shots.push(shot(1, 15.0, 19.0, &[(Attribute::Sourness, 1)], Some(4)));
    let (a, b) = (advise(&c, &Settings::default()), advise(&c, &Settings::default()));
    assert_eq!(a, b);
    let threads: Vec<_> = (0..3)
        .map(|_| {
            let c = c.clone();
            std::thread::spawn(move || advise(&c, &Settings::default()))
        })
        .collect();
    for t in threads {
        assert_eq!(t.join().unwrap(), a);
    }
}

/// Fast and sour asks for finer, slow and bitter for coarser, on grinders of either direction; the reason names the
/// pull, the time and the marks that were given. (Common practice, no source.)
#[test]
fn flipped_evidence_flips_the_move_and_the_reason() {
    for finer in [Finer::Lower, Finer::Higher] {
        let mut fast = case(finer);
        fast.shots.push(shot(1, 15.0, 17.0, &[(Attribute::Sourness, 2), (Attribute::Strength, -1)], Some(3)));
        let mut slow = case(finer);
        slow.shots.push(shot(
            1,
            15.0,
            44.0,
            &[(Attribute::Bitterness, 2), (Attribute::Astringency, 2)],
            Some(3),
        ));
        let of = |c: &Case| {
            let advice = check_sound(c);
            let change = advice.changes.iter().find(|c| c.lever == Lever::Grind).copied();
            let reason = advice.reasons.iter().find(|r| r.id == "model.evidence").cloned();
            (change.map(|c| c.toward), reason.unwrap())
        };
        let (toward_fast, why_fast) = of(&fast);
        let (toward_slow, why_slow) = of(&slow);
        assert_eq!(toward_fast, Some(Toward::Finer));
        assert_eq!(toward_slow, Some(Toward::Coarser));
        assert!(why_fast.text.contains("finer") && why_slow.text.contains("coarser"));
        assert!(why_fast.text.contains("17 s") || why_fast.text.contains("sour"), "{}", why_fast.text);
        assert!(why_slow.text.contains("44 s") || why_slow.text.contains("bitter"), "{}", why_slow.text);
        assert_eq!(why_fast.pulls, [1]);
    }
}

#[test]
fn nineteen_seconds_and_sour_is_enough_for_the_rules_alone() {
    let mut c = case(Finer::Lower);
    c.shots.push(shot(1, 15.0, 19.0, &[(Attribute::Sourness, 1)], None));
    let next = by_rules_alone(&c).unwrap();
    assert!(next.grind < 15.0 && next.dose_g == 18.0 && next.yield_g == 36.0);
    assert!(check_sound(&c).reasons.iter().any(|r| r.source == Source::Rule && r.id == "rule.fast_and_sour"));
}

#[test]
fn a_choked_pull_asks_for_clearly_coarser() {
    let mut c = case(Finer::Lower);
    let mut s = shot(1, 15.0, 60.0, &[], None);
    s.choked = true;
    s.time_s = None;
    s.recipe.yield_g = 0.0;
    c.shots.push(s);
    let advice = check_sound(&c);
    let grind = advice.changes.iter().find(|c| c.lever == Lever::Grind).unwrap();
    assert!(grind.toward == Toward::Coarser && grind.steps >= 2, "{grind:?}");
}

/// Whatever else is on record, what choked once is never ground as fine again, and a choked pull's empty cup is not taken
/// for a planned yield.
#[test]
fn nothing_as_fine_as_what_choked_is_advised() {
    for (finer, sign) in [(Finer::Lower, 1.0), (Finer::Higher, -1.0)] {
        for beside in [16.0, 20.0, 26.0] {
            for seconds in [8.0, 14.0] {
                let mut case = case(finer);
                let at = |g: f64| if sign > 0.0 { g } else { 30.0 - g };
                case.shots.push(shot(1, at(beside), seconds, &[(Attribute::Sourness, 2)], Some(2)));
                let mut choked = shot(2, at(12.0), 60.0, &[], None);
                choked.choked = true;
                choked.recipe.yield_g = 0.0;
                case.shots.push(choked);
                let advice = check_sound(&case);
                assert!(sign * (advice.recipe.grind - at(12.0)) > 0.0, "{:?}", advice.recipe);
                let poured = advice.changes.iter().find(|c| c.lever == Lever::Yield);
                assert!(poured.is_none_or(|c| (c.from - 36.0).abs() < 1e-9), "{poured:?}");
            }
        }
    }
}

/// With nothing tasted only the grind is judged; the person's dose, yield and temperature stand.
#[test]
fn without_a_taste_only_the_grind_moves() {
    let mut unknown = case(Finer::Lower);
    unknown.aim.start.grind = None;
    let mut timed = case(Finer::Lower);
    timed.shots.push(shot(1, 15.0, 14.0, &[], None));
    let mut right = case(Finer::Lower);
    right.shots.push(shot(1, 15.0, 27.0, &[], None));
    for case in [&unknown, &timed, &right] {
        let advice = check_sound(case);
        assert_eq!((advice.recipe.dose_g, advice.recipe.yield_g), (18.0, 36.0));
        assert_eq!(advice.recipe.temperature_c, Some(93.0));
    }
    assert!(advise(&timed, &Settings::default()).recipe.grind < 15.0);
}

#[test]
fn a_grinder_entered_the_wrong_way_round_is_noticed() {
    // Entered as "lower is finer", yet higher numbers run slower.
    let mut c = case(Finer::Lower);
    for (n, (grind, time)) in
        [(15.0, 20.0), (17.0, 25.0), (19.0, 32.0), (21.0, 40.0), (18.0, 28.0)].iter().enumerate()
    {
        c.shots.push(shot(n as u32 + 1, *grind, *time, &[], Some(5)));
    }
    assert!(check_sound(&c).reasons.iter().any(|r| r.id == "guard.direction"));
    let mut right = case(Finer::Higher);
    right.shots.clone_from(&c.shots);
    assert!(!check_sound(&right).reasons.iter().any(|r| r.id == "guard.direction"));
}

/// A choke at an end of the scale, or beyond it, is answered by what is left: a coarser grind, or less coffee. (It was
/// a crash where a lower number is coarser.)
#[test]
fn a_choke_at_an_end_of_the_scale_is_answered() {
    for finer in [Finer::Lower, Finer::Higher] {
        for grind in [-3.0, 0.0, 0.3, 0.5, 14.0, 29.5, 30.0, 33.0] {
            for tasted in [false, true] {
                let mut case = case(finer);
                let on_scale = case.gear.grind.scale.snap(grind);
                let left = case.gear.grind.steps_coarser(on_scale, case.gear.grind.coarser_by(on_scale, 1));
                if tasted && left > 0 {
                    let coarsest = case.gear.grind.coarser_by(15.0, 100);
                    case.shots.push(shot(1, coarsest, 9.0, &[(Attribute::Sourness, 2)], Some(2)));
                }
                let mut choked = shot(2, grind, 60.0, &[], None);
                choked.choked = true;
                choked.recipe.yield_g = 0.0;
                case.shots.push(choked);
                let recipe = check_sound(&case).recipe;
                let coarser = case.gear.grind.steps_coarser(on_scale, recipe.grind);
                assert!(
                    if left > 0 { coarser > 0 } else { coarser == 0 && recipe.dose_g <= 17.5 },
                    "{finer:?} {grind} {tasted}: {recipe:?}"
                );
            }
        }
    }
}

/// One choke where the same grind ran before is put down to the preparation; a second is the grinder's.
#[test]
fn a_choke_where_others_ran_is_repeated_once() {
    let mut case = case(Finer::Lower);
    for label in 1..=3 {
        case.shots.push(shot(label, 12.0, 28.0, &[(Attribute::Sourness, 0)], Some(8)));
    }
    let mut choked = shot(4, 12.0, 60.0, &[], None);
    choked.choked = true;
    choked.recipe.yield_g = 0.0;
    case.shots.push(choked.clone());
    let once = check_sound(&case);
    assert_eq!((once.status, once.recipe.grind), (Status::Repeat, 12.0));
    let odd = once.reasons.iter().find(|r| r.id == "guard.odd_pull").unwrap();
    assert_eq!(odd.pulls, [4]);
    case.shots.push(Shot { label: 5, ..choked });
    let twice = check_sound(&case);
    assert!(twice.status == Status::Adjust && twice.recipe.grind > 12.0, "{:?}", twice.recipe);
}

/// What choked long ago at a finer setting says nothing of a setting that has run since.
#[test]
fn an_old_choke_does_not_condemn_a_setting_that_runs() {
    let mut case = case(Finer::Lower);
    let choked = |label, grind| {
        let mut made = Shot { choked: true, ..shot(label, grind, 60.0, &[], None) };
        made.recipe.yield_g = 0.0;
        made
    };
    case.shots.push(choked(1, 8.0));
    for label in 2..=4 {
        case.shots.push(shot(label, 13.0, 28.0, &[(Attribute::Sourness, 0)], Some(8)));
    }
    case.shots.push(choked(5, 13.0));
    let advice = check_sound(&case);
    assert_eq!((advice.status, advice.recipe.grind), (Status::Repeat, 13.0));
    // Had it run again, the choke would be forgotten.
    case.shots.push(shot(6, 13.0, 29.0, &[(Attribute::Sourness, 0)], Some(8)));
    assert!(check_sound(&case).recipe.grind <= 13.5);
}

/// One odd pull is doubted; pulls that are odd in the same way say that something has changed, and what was learnt before
/// is moved along the grinder by as much.
#[test]
fn pulls_that_are_odd_alike_say_that_something_changed() {
    for finer in [Finer::Lower, Finer::Higher] {
        for (time_s, mark, toward) in [(17.0, 2, Toward::Finer), (45.0, -2, Toward::Coarser)] {
            let mut case = case(finer);
            for label in 1..=4 {
                case.shots.push(shot(label, 15.0, 28.0, &[(Attribute::Sourness, 0)], Some(8)));
            }
            let odd = |label| shot(label, 15.0, time_s, &[(Attribute::Sourness, mark)], Some(4));
            case.shots.push(odd(5));
            let once = check_sound(&case);
            assert_ne!(once.status, Status::Settled, "{time_s}");
            if time_s < 28.0 {
                assert_eq!(once.status, Status::Repeat);
                assert!(once.reasons.iter().any(|r| r.id == "guard.odd_pull" && r.pulls == [5]));
            }
            // However many follow, the few before are not forgotten.
            for label in 6..=12 {
                case.shots.push(odd(label));
                let advice = check_sound(&case);
                let why = advice.reasons.iter().find(|r| r.id == "guard.changed").unwrap();
                assert_eq!((why.pulls.first(), why.pulls.last()), (Some(&5), Some(&label)));
                let grind = advice.changes.iter().find(|c| c.lever == Lever::Grind).unwrap();
                assert_eq!(grind.toward, toward);
                assert!((23.0..35.0).contains(&advice.expect.time_s.p50), "{:?}", advice.expect.time_s);
            }
        }
    }
}

/// Who follows the advice after a change is not sent back to where the same grind ran as badly as twice before.
#[test]
fn a_change_that_was_answered_is_not_forgotten() {
    for (time_s, mark) in [(18.5, 1), (45.0, -1)] {
        let mut case = case(Finer::Lower);
        for (label, time_s) in (1..).zip([28.0, 27.5, 28.5, 28.0]) {
            case.shots.push(shot(label, 15.0, time_s, &[(Attribute::Sourness, 0)], Some(8)));
        }
        for label in [5, 6] {
            case.shots.push(shot(label, 15.0, time_s, &[(Attribute::Sourness, mark)], Some(4)));
        }
        let told = check_sound(&case).recipe.grind;
        assert!((told - 15.0).abs() > 1.0, "{told}");
        for label in 7..=10 {
            case.shots.push(shot(label, told, 28.0, &[(Attribute::Sourness, 0)], Some(8)));
            let advice = check_sound(&case);
            let why = advice.reasons.iter().find(|r| r.id == "guard.changed").unwrap();
            assert_eq!((why.pulls.first(), why.pulls.last()), (Some(&5), Some(&label)));
            let grind = advice.recipe.grind;
            assert!((grind - told).abs() <= 1.0, "{time_s} s: {told}, then {grind} after pull {label}");
        }
    }
}

/// Nothing is changed about a cup that could hardly be liked more, and nothing is kept on the word of a poor one.
#[test]
fn a_praised_cup_is_kept_and_a_poor_one_is_not() {
    let right = [(Attribute::Sourness, 0), (Attribute::Bitterness, 0), (Attribute::Strength, 0)];
    let mut praised = case(Finer::Lower);
    for label in 1..=8 {
        praised.shots.push(shot(label, 15.0, 28.0, &right, Some(9)));
        let advice = check_sound(&praised);
        assert_eq!(advice.status == Status::Settled, label >= 3, "{label} pulls");
    }
    let mut poor = case(Finer::Lower);
    for label in 1..=8 {
        poor.shots.push(shot(label, 15.0, 28.0, &[(Attribute::Sourness, 2)], Some(4)));
        assert_ne!(check_sound(&poor).status, Status::Settled, "{label} pulls");
    }
}

/// Marks that pull both ways ask for the same pull with more care, once; then the settings are looked at.
#[test]
fn contradicting_marks_are_repeated_once() {
    let mut case = case(Finer::Lower);
    let both = [(Attribute::Sourness, 2), (Attribute::Bitterness, 2)];
    case.shots.push(shot(1, 15.0, 22.0, &both, Some(3)));
    let once = check_sound(&case);
    assert_eq!(once.status, Status::Repeat);
    assert!(once.reasons.iter().any(|r| r.id == "guard.contradiction"));
    case.shots.push(shot(2, 15.0, 21.0, &both, Some(3)));
    let twice = check_sound(&case);
    assert_eq!(twice.status, Status::Adjust);
    assert!(!twice.reasons.iter().any(|r| r.id == "guard.contradiction"));
}

/// The time comes before the taste (common practice, no source): a first pull off the clock is not answered by a grind
/// that takes it farther off, whatever it tasted of, and a gusher or a crawl moves the grinder.
#[test]
fn a_first_pull_off_the_clock_moves_towards_it() {
    for finer in [Finer::Lower, Finer::Higher] {
        for grind in [12.0, 15.0, 18.0] {
            for (attribute, liking) in [(Attribute::Sourness, 1), (Attribute::Bitterness, 3)] {
                for time_s in [7.0, 18.0, 39.0, 55.0] {
                    let mut case = case(finer);
                    case.shots.push(shot(1, grind, time_s, &[(attribute, 2)], Some(liking)));
                    let advice = check_sound(&case);
                    let finer = -case.gear.grind.steps_coarser(grind, advice.recipe.grind);
                    let toward = if time_s < 27.0 { finer } else { -finer };
                    let far = !(14.0..45.0).contains(&time_s);
                    assert!(toward >= i64::from(far), "{grind} {time_s} s {attribute:?}: {toward} steps");
                }
            }
        }
    }
}

/// A bed ground too fine may break into channels and run the faster the finer it is (Cameron et al., Matter 2:631, 2020):
/// pulls that finer did not slow are not answered by finer still, and one that it made much faster is put down to the bed.
#[test]
fn where_finer_runs_no_slower_the_bed_is_taken_for_broken() {
    let bad = [(Attribute::Sourness, 2), (Attribute::Strength, -2)];
    for finer in [Finer::Lower, Finer::Higher] {
        let at = |clicks: i64| gear(finer).grind.coarser_by(15.0, clicks);
        let after = |pulls: &[(i64, f64, i64)]| {
            let mut case = case(finer);
            for ((clicks, time_s, liking), label) in pulls.iter().zip(1..) {
                case.shots.push(shot(label, at(*clicks), *time_s, &bad, Some(*liking)));
            }
            let broken: f64 =
                believed(&case).worlds.iter().filter(|w| w.shape.bed == Bed::Breaks).map(|w| w.weight).sum();
            let advice = check_sound(&case);
            let from_start = case.gear.grind.steps_coarser(15.0, advice.recipe.grind);
            (from_start, broken, advice)
        };
        let (to, broken, advice) = after(&[(0, 24.0, 3), (-6, 5.0, 1)]);
        assert!(to > -6 && broken > 0.5, "{to} {broken}");
        let rules: Vec<_> = advice.reasons.iter().filter(|r| r.source == Source::Rule).collect();
        assert!(rules.iter().any(|r| r.id == "rule.finer_ran_faster" && r.pulls == [2]), "{rules:?}");
        assert!(!rules.iter().any(|r| r.id == "rule.gusher"), "{rules:?}");
        let (to, ..) = after(&[(0, 5.0, 1), (-6, 4.0, 1)]);
        assert!(to >= -6, "{to}");
        let (to, ..) = after(&[(0, 5.0, 1), (-6, 4.0, 1), (0, 5.0, 1)]);
        assert!(to > 0, "{to}");
        // Where finer takes longer, as it should, nothing of the kind is believed.
        let (_, broken, advice) = after(&[(0, 17.0, 3), (-3, 24.0, 4)]);
        assert!(broken < 0.2, "{broken}");
        assert!(!advice.reasons.iter().any(|r| r.id == "rule.finer_ran_faster"));
    }
}

/// A finer grind that ran faster days later tells of ageing, not of the bed.
#[test]
fn a_bag_that_aged_did_not_break() {
    let after = |days: f64| {
        let mut case = case(Finer::Lower);
        case.shots.push(shot(1, 15.0, 30.0, &[], Some(6)));
        let later = shot(2, 14.5, 19.0, &[], Some(6));
        case.shots.push(Shot { days_since_roast: Some(11.0 + days), ..later });
        let said = check_sound(&case).voices.rules;
        said.iter().any(|said| said.contains("ground finer and yet ran faster"))
    };
    assert!(after(0.0) && !after(9.0));
}

/// A recipe whose window lies outside all usual ones is begun with as it is.
#[test]
fn a_style_of_its_own_is_begun_with_as_it_is() {
    for window in [(12.0, 18.0), (40.0, 50.0)] {
        let mut case = case(Finer::Lower);
        case.aim.start.yield_g = 52.0;
        case.aim.time_window_s = Some(window);
        assert_eq!(check_sound(&case).status, Status::Repeat);
    }
}

/// The day of the question counts, not that of the last pull: a bag that stood for days runs faster, and this morning's
/// tongue is not tired by yesterday's cups.
#[test]
fn the_day_of_the_question_counts() {
    let mut case = case(Finer::Lower);
    for label in 1..=6 {
        case.shots.push(shot(label, 15.0, 28.0, &[(Attribute::Sourness, 0)], Some(8)));
    }
    let at = |age: Option<f64>| {
        let case = Case { age_today: age, ..case.clone() };
        let outlook = Outlook::new(&case, &Settings::default());
        let tired = check_sound(&case).reasons.iter().any(|r| r.id == "rule.fatigue");
        (outlook.expect(&case.current()).time_s.p50, tired)
    };
    let (now, later) = (at(Some(11.0)), at(Some(16.0)));
    // 0.3–1 s a day (common practice, no source).
    assert!((1.0..5.0).contains(&(now.0 - later.0)), "{} s, then {} s", now.0, later.0);
    assert!(now.1 && !later.1);
    assert_eq!(at(None), now);
    // Nothing is foreseen for a bag that was found again after a year.
    assert!(at(Some(400.0)).0 > 0.8 * now.0);
}

/// Chokes and earlier bags tell of a wrong entry too, and then everything that is said goes by what the pulls say.
#[test]
fn a_wrong_direction_is_turned_in_all_that_is_said() {
    // Entered as "lower is finer"; higher is.
    let pulls = [(14.0, 20.0), (12.0, 17.0), (16.0, 24.0), (18.0, 29.0), (24.0, 0.0)];
    let shots = |finest: usize| -> Vec<Shot> {
        let each = pulls.iter().zip(1u32..).take(finest).map(|((grind, time_s), label)| {
            let mut made = shot(label, *grind, *time_s, &[(Attribute::Sourness, 0)], Some(5));
            if *time_s < 1.0 {
                made = Shot { choked: true, time_s: None, taste: Taste::default(), ..made };
                made.recipe.yield_g = 0.0;
            }
            made
        });
        each.collect()
    };
    let mut choked = case(Finer::Lower);
    choked.shots = shots(5);
    let advice = check_sound(&choked);
    assert!(advice.reasons.iter().any(|r| r.id == "guard.direction"));
    let grind = advice.changes.iter().find(|c| c.lever == Lever::Grind).unwrap();
    assert!(grind.toward == Toward::Coarser && grind.to < 24.0, "{grind:?}");
    assert_eq!(advice.voices.conflict, None);
    // The same lines entered rightly get the same recipe.
    let mut right = case(Finer::Higher);
    right.shots = shots(5);
    assert_eq!(check_sound(&right).recipe, advice.recipe);
    // An earlier bag knows it before this one does.
    let mut earlier = case(Finer::Lower);
    let bag = thirdpull::advisor::EarlierBag { bag: earlier.bag.clone(), shots: shots(4) };
    earlier.earlier.push(bag);
    earlier.shots = vec![shot(1, 15.0, 19.0, &[(Attribute::Sourness, 2)], Some(3))];
    let advice = check_sound(&earlier);
    assert!(advice.reasons.iter().any(|r| r.id == "guard.direction"));
    assert!(advice.recipe.grind > 15.0, "{:?}", advice.recipe);
    // Three pulls are enough where a choke is among them.
    let mut few = case(Finer::Lower);
    few.shots = vec![shots(5)[0].clone(), shots(5)[3].clone(), shots(5)[4].clone()];
    assert!(check_sound(&few).reasons.iter().any(|r| r.id == "guard.direction"));
}

/// One badly prepared pull, or one choke where others ran, does not turn the grinder round, nor does a bag that gets
/// faster while its owner goes finer with it.
#[test]
fn one_odd_pull_or_an_ageing_bag_does_not_turn_the_grinder_round() {
    let pulls = |of: &[(f64, f64)]| -> Vec<Shot> {
        let each = of.iter().zip(1u32..).map(|((grind, time_s), label)| {
            if *time_s > 0.0 {
                return shot(label, *grind, *time_s, &[], Some(6));
            }
            let mut choked = Shot { choked: true, time_s: None, ..shot(label, *grind, 1.0, &[], None) };
            choked.recipe.yield_g = 0.0;
            choked
        });
        each.collect()
    };
    let odd: [&[(f64, f64)]; 3] = [
        &[(16.0, 27.0), (16.0, 28.0), (16.0, 27.5), (16.0, 28.0), (13.0, 20.0)],
        &[(15.0, 27.0), (15.0, 27.5), (16.5, 0.0)],
        &[(15.0, 27.6), (15.0, 25.4), (15.0, 26.4), (15.0, 28.9), (15.0, 25.3), (14.5, 18.5)],
    ];
    for shots in odd {
        let told = Case { shots: pulls(shots), ..case(Finer::Lower) };
        assert!(!direction_reversed(&told), "{shots:?}");
    }
    // 1 s a day faster (the trade's own figure), half a step finer every third day, four in the hundred each.
    for scatter in [0.0, 0.02, -0.03] {
        let mut ageing = case(Finer::Lower);
        for day in 0..17u32 {
            let moves = f64::from(day / 3);
            let ln_time = 0.04 * moves - 0.035 * f64::from(day) + scatter * f64::from(day % 2);
            let pulled = shot(day + 1, 15.0 - 0.5 * moves, 33.9 * ln_time.exp(), &[], Some(6));
            ageing.shots.push(Shot { days_since_roast: Some(5.0 + f64::from(day)), ..pulled });
        }
        assert!(!direction_reversed(&ageing), "{scatter}");
        // Entered the wrong way round it is found all the same, from moves that are worth more than the ageing.
        let mut wrong = ageing.clone();
        for (shot, day) in wrong.shots.iter_mut().zip(0u32..) {
            let moved = f64::from(day % 4);
            shot.recipe.grind = 15.0 + moved;
            shot.time_s =
                Some(27.0 * (0.08 * moved - 0.03 * f64::from(day) + 0.03 * f64::from(day % 3)).exp());
        }
        assert!(direction_reversed(&wrong), "{scatter}");
    }
}

/// A cup that is good again and again is kept, its chance does not fall by being confirmed, and one poor cup after it is
/// repeated before anything moves.
#[test]
fn a_good_cup_is_left_alone() {
    let right = [(Attribute::Sourness, 0), (Attribute::Bitterness, 0)];
    let mut good = case(Finer::Lower);
    let mut chances = Vec::new();
    for label in 1..=8 {
        good.shots.push(shot(label, 15.0, 27.0, &right, Some(8)));
        let advice = check_sound(&good);
        chances.push(advice.chance_near_best);
        assert_eq!(advice.status == Status::Settled, label >= 3, "{label} pulls: {:?}", advice.recipe);
    }
    assert!(chances.windows(2).all(|two| two[1] > two[0] - 0.05), "{chances:?}");
    let poor =
        |label| shot(label, 15.0, 27.0, &[(Attribute::Sourness, 1), (Attribute::Bitterness, 0)], Some(5));
    good.shots.push(poor(9));
    let once = check_sound(&good);
    assert_eq!((once.status, once.recipe.grind), (Status::Repeat, 15.0));
    assert!(once.reasons.iter().any(|r| r.id == "guard.stray_cup" && r.pulls == [9]));
    good.shots.push(poor(10));
    let twice = check_sound(&good);
    assert!(!twice.reasons.iter().any(|r| r.id == "guard.stray_cup"));
    assert_ne!(twice.status, Status::Settled);
}

/// Once kept, a recipe whose cups go on being good stays kept: each further one tells less than the one before.
#[test]
fn settled_outlasts_good_cups() {
    let mut same = case(Finer::Lower);
    same.gear.temperature_c = None;
    let mut settled = Vec::new();
    for label in 1..=12 {
        same.shots.push(shot(label, 15.0, 27.0, &[], Some(8)));
        settled.push(check_sound(&same).status == Status::Settled);
    }
    let from = settled.iter().position(|s| *s);
    assert!(from.is_some_and(|from| from < 8 && settled[from..].iter().all(|s| *s)), "{settled:?}");
}

/// A pull whose time was usual is answered by a move of some clicks, not by a leap off the clock (common practice, no
/// source): half as fast or slow again, and a little for what dose and drink add.
#[test]
fn a_pull_in_time_is_not_sent_off_the_clock() {
    use Attribute::{Astringency as A, Bitterness as B, Sourness as So, Strength as St};
    let marks: [&[(Attribute, i64)]; 6] =
        [&[(B, 2)], &[(A, 2)], &[(So, 2)], &[(St, -2)], &[(B, 1), (A, 1)], &[]];
    for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
        for (time_s, marks) in [24.0, 27.0, 33.0].into_iter().flat_map(|t| marks.map(|m| (t, m))) {
            for window in [None, Some((25.0, 30.0))] {
                let mut c = case(Finer::Lower);
                c.bag.roast = Some(roast);
                c.aim.time_window_s = window;
                c.gear.grind.um_per_unit = None;
                c.shots.push(shot(1, 15.0, time_s, marks, Some(4)));
                let advice = check_sound(&c);
                let expected_s = advice.expect.time_s.p50;
                let factor = (expected_s / time_s).max(time_s / expected_s);
                assert!(factor < 1.6, "{roast:?} {time_s} s {marks:?} {window:?}: {expected_s} s");
            }
        }
    }
}

/// A first pull is not sent out of the window that was named where the person's own recipe is expected to keep it: that
/// of a dark roast was, by a coarser grind.
#[test]
fn a_first_pull_keeps_the_named_window() {
    for roast in [None, Some(Roast::Light), Some(Roast::Medium), Some(Roast::Dark)] {
        for window in [(22.0, 34.0), (25.0, 30.0), (26.0, 29.0)] {
            let mut c = case(Finer::Lower);
            c.bag.roast = roast;
            c.aim.time_window_s = Some(window);
            let advice = check_sound(&c);
            let expected_s = advice.expect.time_s.p50;
            assert!((window.0..=window.1).contains(&expected_s), "{roast:?} {window:?}: {expected_s} s");
        }
    }
}

/// Thin or weak in good time is not answered with more water alone (definition of strength; common practice).
#[test]
fn thin_is_not_answered_with_more_water() {
    for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
        for (of, mark) in [(Attribute::Body, -1), (Attribute::Body, -2), (Attribute::Strength, -1)] {
            for liking in [None, Some(5), Some(7)] {
                let mut c = case(Finer::Lower);
                c.bag.roast = Some(roast);
                c.gear.temperature_c = None;
                c.gear.grind.um_per_unit = None;
                c.shots.push(shot(1, 15.0, 27.0, &[(of, mark)], liking));
                let advice = check_sound(&c);
                let more = advice.recipe.yield_g / advice.recipe.dose_g > 2.0 + 1e-9;
                assert!(!more, "{roast:?} {of:?} {mark} {liking:?}: {:?}", advice.recipe);
            }
        }
    }
}

/// What a first cup in good time tells is not answered the other way round by any lever, in the advice or another idea:
/// sourness falls and bitterness rises with extraction (Frost, Ristenpart and Guinard, J. Food Sci. 85:2530, 2020), which
/// rises with a finer grind, more drink from the coffee and heat (common practice); drying: common practice, no source.
#[test]
fn no_lever_goes_against_the_first_cup() {
    let (mut asked, mut moved) = (0, 0);
    for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
        for (of, marks) in
            [(Attribute::Sourness, 1..=2), (Attribute::Bitterness, 1..=2), (Attribute::Astringency, 2..=2)]
        {
            for (mark, liking, hot) in
                marks.flat_map(|mark| [(mark, None, false), (mark, Some(5), false), (mark, Some(5), true)])
            {
                for finer in [Finer::Lower, Finer::Higher] {
                    let mut c = case(finer);
                    c.bag.roast = Some(roast);
                    if !hot {
                        c.gear.temperature_c = None;
                    }
                    c.shots.push(shot(1, 15.0, 26.0, &[(of, mark)], liking));
                    let from = c.current();
                    let advice = check_sound(&c);
                    let ideas = advice.alternatives.each().map(|idea| &idea.recipe);
                    for to in ideas.chain([&advice.recipe]) {
                        let coarser = c.gear.grind.steps_coarser(from.grind, to.grind);
                        let hotter =
                            to.temperature_c.zip(from.temperature_c).map_or(0.0, |(to, from)| to - from);
                        let more = to.ratio().unwrap() - from.ratio().unwrap();
                        let what = format!("{roast:?} {of:?} {mark} {liking:?} {finer:?}: {to:?}");
                        match of {
                            Attribute::Sourness => {
                                assert!(coarser <= 0 && hotter >= 0.0 && more > -1e-6, "{what}")
                            }
                            Attribute::Bitterness => {
                                assert!(coarser >= 0 && hotter <= 0.0 && more < 1e-6, "{what}")
                            }
                            _ => assert!(coarser >= 0, "{what}"),
                        }
                        moved += usize::from(*to != from);
                        asked += 1;
                    }
                }
            }
        }
    }
    assert!(asked > 90 && moved > asked / 2, "{moved} of {asked}");
}

/// No sentence says the name that a rule or a reason goes by in the files.
#[test]
fn no_sentence_says_an_internal_name() {
    let mut said = 0;
    for time_s in [12.0, 18.0, 25.0, 38.0] {
        for (sour, bitter, strong) in [(0, 1, 0), (1, 0, 1), (2, 0, 0), (0, 2, -1), (1, 1, 1)] {
            let mut c = case(Finer::Lower);
            c.bag.roast = Some(Roast::Light);
            let marks =
                [(Attribute::Sourness, sour), (Attribute::Bitterness, bitter), (Attribute::Strength, strong)];
            // After a second cup rule and model may differ; after the first they hardly do.
            c.shots.push(shot(1, 15.0, time_s, &marks, Some(4)));
            c.shots.push(shot(2, 14.0, time_s + 3.0, &marks, Some(6)));
            let advice = check_sound(&c);
            let reasons = advice.reasons.iter().map(|r| &r.text);
            for text in reasons.chain(&advice.voices.rules).chain(&advice.voices.conflict) {
                assert!(!text.contains('_'), "{text}");
                said += usize::from(text.contains("rule"));
            }
        }
    }
    assert!(said > 1, "{said} sentences spoke of a rule");
}

/// No pull takes more coffee than the bag holds.
#[test]
fn no_dose_is_larger_than_what_is_left() {
    let left_g = 18.6;
    for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
        for time_s in [14.0, 17.0, 24.0, 28.0] {
            for marks in [(Attribute::Sourness, 2), (Attribute::Body, -2), (Attribute::Strength, -2)] {
                let mut c = case(Finer::Lower);
                c.bag.roast = Some(roast);
                c.shots.push(shot(1, 15.0, time_s, &[marks], Some(4)));
                c.coffee_left_g = Some(left_g);
                let dose_g = check_sound(&c).recipe.dose_g;
                assert!(dose_g <= left_g, "{roast:?} {time_s} s {marks:?}: {dose_g} g");
            }
        }
    }
}

/// What is advised is a move that can be tasted or weighed, or none.
#[test]
fn no_move_is_smaller_than_the_slips_of_a_hand() {
    for liking in [5, 7, 8, 9] {
        for time_s in [22.0, 27.0, 33.0] {
            let mut case = case(Finer::Lower);
            case.gear.dose_g = Scale::new("dose", 16.0, 20.0, 0.1).unwrap();
            for label in 1..=3 {
                case.shots.push(shot(label, 15.0, time_s, &[(Attribute::Strength, 0)], Some(liking)));
                let advice = check_sound(&case);
                let small = advice.changes.iter().all(|c| match c.lever {
                    Lever::Dose => (c.to - c.from).abs() < 0.35,
                    Lever::Yield => (c.to - c.from).abs() < 1.2,
                    Lever::Temperature | Lever::Grind => false,
                });
                let gain = Outlook::new(&case, &Settings::default());
                let gain = gain.standing(&advice.recipe).mean - gain.standing(&case.current()).mean;
                assert!(advice.changes.is_empty() || !small || gain > 0.03, "{:?} {gain}", advice.changes);
            }
        }
    }
}

/// One recipe that runs now so, now so, is a matter of preparation: it is said, and the next time is not promised more
/// closely than the last ones kept to.
#[test]
fn scatter_is_put_down_to_the_preparation() {
    let pulled = |times: &[f64]| {
        let each = times.iter().zip(1..).map(|(t, label)| shot(label, 15.0, *t, &[], Some(6)));
        Case { shots: each.collect(), ..case(Finer::Lower) }
    };
    let wild = check_sound(&pulled(&[22.0, 30.0, 22.0, 31.0]));
    let why = wild.reasons.iter().find(|r| r.id == "guard.scatter").unwrap();
    assert_eq!(why.pulls, [1, 2, 3, 4]);
    assert!(why.text.contains("22 to 31 s"), "{}", why.text);
    assert!(wild.expect.time_s.p10 < 22.9 && wild.expect.time_s.p90 > 29.5, "{:?}", wild.expect.time_s);
    // Neither usual scatter nor one odd pull is.
    for times in [[26.0, 28.0, 27.0, 29.0], [27.0, 28.0, 27.0, 19.0]] {
        let advice = check_sound(&pulled(&times));
        assert!(!advice.reasons.iter().any(|r| r.id == "guard.scatter"), "{times:?}");
    }
}

/// What is said to speak for a move is what the move answers: a fast pull for a slower one, a sour cup for a less sour one
/// as long as it still is, a choke for a grind that runs.
#[test]
fn no_reason_speaks_against_its_move() {
    let marks = [
        vec![(Attribute::Sourness, 1)],
        vec![(Attribute::Sourness, 2), (Attribute::Strength, -1)],
        vec![(Attribute::Bitterness, 1)],
        vec![(Attribute::Bitterness, 1), (Attribute::Astringency, 1)],
        vec![(Attribute::Strength, 1)],
        vec![(Attribute::Body, -1)],
    ];
    let mut heard = 0;
    for window in [None, Some((28.0, 34.0)), Some((15.0, 20.0))] {
        for marks in &marks {
            for first in [17.0, 25.0, 44.0] {
                let mut case = case(Finer::Lower);
                case.aim.time_window_s = window;
                case.shots.push(shot(1, 15.0, first, marks, Some(4)));
                for second in [None, Some((13.5, first * 1.2)), Some((16.5, first / 1.2))] {
                    case.shots.truncate(1);
                    if let Some((grind, time_s)) = second {
                        case.shots.push(shot(2, grind, time_s, &[(Attribute::Sourness, 0)], Some(6)));
                    }
                    let advice = check_sound(&case);
                    let (from, to) = window.unwrap_or((23.0, 33.0));
                    let Some(why) = advice.reasons.iter().find(|r| r.id == "model.evidence") else {
                        continue;
                    };
                    for shot in &case.shots {
                        let time_s = shot.time_s.unwrap();
                        if why.text.contains(&format!("pull {} ran", shot.label)) {
                            heard += 1;
                            let toward = advice.expect.time_s.p50 - time_s;
                            assert!(
                                (time_s < from && toward > 0.0) || (time_s > to && toward < 0.0),
                                "{window:?} {first} {second:?}: {} ({})",
                                why.text,
                                advice.expect.time_s.p50
                            );
                        }
                    }
                    assert!(second.is_none() || !why.text.contains("sour"), "{}", why.text);
                }
            }
        }
    }
    assert!(heard > 10, "{heard}");
}

/// Every move after a tasted pull names pulls that it rests on, and what it says of them is so: a pull that was liked
/// better is, and lies on the way; where no pull has gone as far yet, none has.
#[test]
fn every_move_names_its_pulls_and_says_what_is_so() {
    let (mut better, mut untried, mut moves) = (0, 0, 0);
    let grinds = [15.0, 13.5, 16.0, 14.5];
    let times = [27.0, 33.0, 24.0, 29.0];
    let likings = [
        [6, 4, 7, 5],
        [7, 5, 4, 6],
        [8, 6, 5, 7],
        [5, 6, 7, 8],
        [7, 7, 7, 7],
        [8, 8, 7, 8],
        [7, 8, 7, 8],
        [6, 6, 6, 6],
    ];
    for likings in likings {
        for marks in [
            vec![],
            vec![(Attribute::Bitterness, 1)],
            vec![(Attribute::Sourness, 1)],
            vec![(Attribute::Sweetness, 0)],
        ] {
            let mut c = case(Finer::Lower);
            let each = grinds.into_iter().zip(times).zip(likings).zip(1..);
            for (((grind, time_s), liking), label) in each {
                c.shots.push(shot(label, grind, time_s, &marks, Some(liking)));
                let advice = check_sound(&c);
                if advice.status != Status::Adjust {
                    continue;
                }
                moves += 1;
                let what = format!("{likings:?} {marks:?} {label}: {:?}", advice.reasons);
                assert!(advice.reasons.iter().any(|r| !r.pulls.is_empty()), "{what}");
                let why = advice.reasons.iter().find(|r| r.id == "model.evidence");
                let Some(why) = why.map(|r| &r.text) else { continue };
                let towards = |label: u32| {
                    let there = &c.shots[label as usize - 1].recipe;
                    advice.changes.iter().all(|c| {
                        let way = there.get(c.lever).unwrap() - c.from;
                        way == 0.0 || way * (c.to - c.from) > 0.0
                    })
                };
                for n in 1..label {
                    if why.contains(&format!("pull {n} was liked better")) {
                        better += 1;
                        assert!(likings[n as usize - 1] > liking && towards(n), "{what}");
                    }
                }
                let beyond = [
                    ("ground so fine", Lever::Grind, -1.0),
                    ("ground so coarse", Lever::Grind, 1.0),
                    ("so little coffee", Lever::Dose, -1.0),
                    ("so much coffee", Lever::Dose, 1.0),
                    ("so little drink", Lever::Yield, -1.0),
                    ("so much drink", Lever::Yield, 1.0),
                    ("so cool", Lever::Temperature, -1.0),
                    ("so hot", Lever::Temperature, 1.0),
                ];
                for (_, lever, way) in beyond.iter().filter(|(words, ..)| why.contains(words)) {
                    untried += 1;
                    let to = advice.recipe.get(*lever).unwrap();
                    let pulled = |s: &Shot| s.recipe.get(*lever).unwrap();
                    assert!(c.shots.iter().all(|s| (to - pulled(s)) * way > 0.0), "{what}");
                }
            }
        }
    }
    assert!(moves > 30 && better > 2 && untried > 2, "{moves} moves, {better} better, {untried} untried");
}

/// A pull that ran on past the drink planned is judged as the cup that it was, and that is said.
#[test]
fn a_pull_that_ran_on_is_named() {
    let says = |yield_g: f64, grind: f64| {
        let mut c = case(Finer::Lower);
        let mut ran_on = shot(1, grind, 33.0, &[(Attribute::Strength, -1)], Some(5));
        ran_on.plan = Some(Recipe { grind: 15.0, ..ran_on.recipe });
        ran_on.recipe.yield_g = yield_g;
        c.shots.push(ran_on);
        let advice = check_sound(&c);
        advice.reasons.into_iter().find(|r| r.id == "guard.ran_past").map(|r| (r.text, r.pulls))
    };
    let (text, pulls) = says(48.0, 15.0).expect("named");
    assert!(text.contains("48 g") && text.contains("36 g") && pulls == [1], "{text}");
    assert!(says(24.0, 15.0).is_some());
    // A gram or two is a slip of the hand; another grind is another recipe.
    assert_eq!(says(38.0, 15.0), None);
    assert_eq!(says(48.0, 14.0), None);
}

/// What no barista would say at the bar (common practice, no source; found by one who read four hundred answers).
mod at_the_bar {
    use super::*;

    const SOUR: Attribute = Attribute::Sourness;
    const BITTER: Attribute = Attribute::Bitterness;

    fn told(case: &Case, id: &str) -> bool {
        check_sound(case).reasons.iter().any(|r| r.id == id)
    }

    /// So slow a pull that it is sour and bitter at once asks for coarser, not for the same again.
    #[test]
    fn what_cannot_be_drunk_is_not_repeated() {
        let both = [(SOUR, 2), (BITTER, 2), (Attribute::Strength, -2)];
        for pulls in [vec![(19.0, 43.0), (17.0, 74.0), (14.0, 271.0)], vec![(15.0, 120.0)]] {
            let mut c = case(Finer::Lower);
            c.aim.time_window_s = Some((22.0, 30.0));
            for (label, (grind, time_s)) in (1..).zip(&pulls) {
                let marks = if *time_s > 100.0 { both.as_slice() } else { &[(BITTER, 1)] };
                c.shots.push(shot(label, *grind, *time_s, marks, Some(1)));
            }
            let advice = check_sound(&c);
            assert_eq!(advice.status, Status::Adjust);
            assert!(advice.recipe.grind > c.current().grind, "{:?}", advice.recipe);
        }
        // In good time it is a riddle, and asked for again.
        let mut c = case(Finer::Lower);
        c.shots.push(shot(1, 15.0, 27.0, &both, Some(3)));
        assert_eq!(check_sound(&c).status, Status::Repeat);
    }

    /// Whatever earlier cups told, a weak cup is not answered with more drink from its coffee, nor a strong one with less,
    /// nor a weak one with less coffee or a strong one with more (definition of strength); a sour cup not cooler or coarser,
    /// and a bitter one not hotter, finer or, if not strong, with more drink (extraction rises with all of them: common
    /// practice, no source); a fast pull not with less coffee or, if it raced, coarser, and a slow one not finer. Where a
    /// finer grind ran faster the bed may have broken, and the grind is free. One may go back to a better cup.
    #[test]
    fn the_newest_cup_is_not_answered_the_wrong_way() {
        let mut moved = 0;
        let times_s = [
            (12.0, 16.0),
            (30.0, 41.0),
            (20.0, 33.0),
            (34.0, 19.0),
            (27.0, 17.0),
            (17.0, 18.0),
            (45.0, 26.0),
            (18.0, 24.0),
            (24.0, 30.0),
            (33.0, 27.0),
        ];
        for (first_s, second_s) in times_s {
            let may_have_broken = second_s < 0.7 * first_s;
            for (sour, bitter, strong) in
                [(0, 0, -2), (1, -1, -2), (0, 0, 2), (1, 0, 0), (2, -1, 1), (-1, 2, 0), (0, 1, -1), (0, 1, 1)]
            {
                for before in [(1, 0, 1), (-1, 1, -1), (0, 0, 0)] {
                    let mut c = case(Finer::Lower);
                    let marks = |(a, b, s)| [(SOUR, a), (BITTER, b), (Attribute::Strength, s)];
                    let mut one = shot(1, 15.0, first_s, &marks(before), Some(4));
                    (one.recipe.dose_g, one.recipe.yield_g) = (17.0, 38.0);
                    let mut two = shot(2, 13.0, second_s, &marks((sour, bitter, strong)), Some(5));
                    two.recipe.temperature_c = one.recipe.temperature_c.map(|t| t + 2.0);
                    c.shots.extend([one, two]);
                    let (now, next) = (c.current(), check_sound(&c).recipe);
                    let rises = |of: fn(&Recipe) -> Option<f64>| of(&next) > of(&now).map(|v| v + 1e-9);
                    let falls = |of: fn(&Recipe) -> Option<f64>| of(&next) < of(&now).map(|v| v - 1e-9);
                    let said = format!("{before:?} {sour} {bitter} {strong} {second_s}: {now:?} {next:?}");
                    assert!(strong > -2 && (strong > -1 || sour > 0) || !rises(Recipe::ratio), "{said}");
                    assert!(bitter < 1 || strong > 0 || !rises(Recipe::ratio), "{said}");
                    let (fast, slow) = (second_s < 20.0, second_s > 40.0);
                    assert!(may_have_broken || sour < 1 || slow || !rises(|r| Some(r.grind)), "{said}");
                    assert!(may_have_broken || bitter < 1 || fast || !falls(|r| Some(r.grind)), "{said}");
                    assert!(strong < 1 || !falls(Recipe::ratio), "{said}");
                    assert!(second_s <= 40.0 || !falls(|r| Some(r.grind)), "{said}");
                    assert!(may_have_broken || second_s >= 18.0 || !rises(|r| Some(r.grind)), "{said}");
                    assert!(sour < 1 || !falls(|r| r.temperature_c), "{said}");
                    assert!(bitter < 1 || !rises(|r| r.temperature_c), "{said}");
                    assert!(!(fast || strong < 0) || !falls(|r| Some(r.dose_g)), "{said}");
                    assert!(strong < 1 || !rises(|r| Some(r.dose_g)), "{said}");
                    moved += usize::from(next != now);
                }
            }
        }
        assert!(moved > 150, "{moved}");
    }

    /// Where even the coarsest setting has choked, less coffee is the way out, though the newest cup was weak.
    #[test]
    fn a_weak_cup_bars_no_way_out_of_a_choke() {
        for strong in [-2, -1] {
            for time_s in [41.0, 45.0, 52.0] {
                for sour in [-1, 0, 1] {
                    let mut c = case(Finer::Lower);
                    let marks = [(SOUR, sour), (BITTER, -sour), (Attribute::Strength, strong)];
                    c.shots.push(Shot { choked: true, ..shot(1, 30.0, 60.0, &[], None) });
                    c.shots.push(shot(2, 30.0, time_s, &marks, Some(3)));
                    let advice = check_sound(&c);
                    let moved = !advice.changes.is_empty() && advice.recipe.grind == 30.0;
                    let what = format!("{strong} {sour} {time_s} s: {:?}", advice.changes);
                    assert!(moved && advice.recipe.dose_g < 18.0, "{what}");
                }
            }
        }
    }

    /// Who is told to keep a recipe that is not the last one is told to go back to it, and to purge where the grind goes back
    /// as well.
    #[test]
    fn to_keep_an_earlier_recipe_is_to_go_back() {
        let right = [(SOUR, 0), (BITTER, 0), (Attribute::Strength, 0)];
        let cups = [(15.0, 27.0, 9), (15.0, 28.0, 9), (15.0, 27.0, 8), (16.0, 25.0, 5)];
        let advice_after = |pulls: usize| {
            let mut c = case(Finer::Lower);
            for (label, (grind, time_s, liking)) in (1..).zip(cups).take(pulls) {
                c.shots.push(shot(label, grind, time_s, &right, Some(liking)));
            }
            let advice = check_sound(&c);
            let reason = advice.reasons.iter().find(|r| r.id == "model.settled").cloned().expect("settled");
            (advice.recipe.grind, reason, advice.reasons.iter().any(|r| r.id == "guard.purge"))
        };
        let (grind, reason, purge) = advice_after(4);
        assert_eq!((grind, reason.pulls.as_slice(), purge), (15.0, [1, 2, 3].as_slice(), true));
        assert!(reason.text.starts_with("Go back to the recipe of pull 3"), "{}", reason.text);
        // From the recipe itself there is nothing to go back to.
        let (grind, reason, purge) = advice_after(3);
        assert_eq!((grind, purge), (15.0, false));
        assert!(!reason.text.contains("Go back"), "{}", reason.text);
    }

    /// Who moves on from a choke where as fine a grind ran is not told to pull the same again first.
    #[test]
    fn a_stray_choke_that_is_left_is_not_asked_for_again() {
        let mut moved = 0;
        let fast =
            [(-1, 24.0), (1, 24.0), (0, 27.0), (-1, 30.0), (1, 30.0), (1, 36.0)].map(|of| (of, 18.0, 6));
        let slow = [(-1, 39.0), (-1, 38.0), (-2, 39.0)].map(|of| (of, 37.0, 3));
        for ((before, time_s), first_s, liking) in fast.into_iter().chain(slow) {
            let mut c = case(Finer::Lower);
            let marks = [(SOUR, before), (BITTER, -before)];
            c.shots.push(shot(1, 13.0, first_s, &marks, Some(3)));
            c.shots.push(shot(2, 12.0, time_s, &marks, Some(liking)));
            c.shots.push(Shot { choked: true, time_s: None, ..shot(3, 14.0, 60.0, &[], None) });
            let advice = check_sound(&c);
            let odd = advice.reasons.iter().find(|r| r.id == "guard.odd_pull").expect("odd");
            let again = advice.status == Status::Repeat;
            assert_eq!((odd.text.contains("pull the same again"), odd.pulls.as_slice()), (again, &[3][..]));
            moved += usize::from(!again);
        }
        assert!(moved > 0);
    }

    /// Where the grind moves, it answers the clock; what else moves goes with it. The heat answers no reading of strength, and
    /// no reading of a cup that was liked very much speaks for any move.
    #[test]
    fn the_grind_answers_the_clock_and_no_great_cup_is_a_reason() {
        let (mut clock, mut besides, mut read) = (0, 0, 0);
        for roast in [Roast::Light, Roast::MediumLight, Roast::Medium, Roast::Dark] {
            for (first_s, next_s) in [(15.0, 19.0), (17.0, 20.0), (19.0, 21.0), (50.0, 38.0), (44.0, 36.0)] {
                for (sour, strong, liking) in
                    [(1, -1, 4), (1, 1, 5), (1, 0, 5), (0, -1, 6), (-1, 1, 5), (0, 0, 8)]
                {
                    let mut c = case(Finer::Lower);
                    c.bag.roast = Some(roast);
                    c.gear.refractometer = true;
                    let marks = [(SOUR, sour), (BITTER, -sour), (Attribute::Strength, strong)];
                    // A cup of which more was said, and all of it just right, would be pulled again.
                    let said = if liking >= 8 { marks.split_at(2).0 } else { &marks };
                    let cup = |label, grind, time_s, tds_pct, liking| {
                        let mut cup = shot(label, grind, time_s, said, Some(liking));
                        cup.tds_pct = Some(tds_pct);
                        cup
                    };
                    let next = if first_s < 25.0 { 14.0 } else { 16.0 };
                    c.shots.push(cup(1, 15.0, first_s, 7.6, 3));
                    c.shots.push(cup(2, next, next_s, 8.0, liking));
                    let advice = check_sound(&c);
                    let Some(reason) = advice.reasons.iter().find(|r| r.id == "model.evidence") else {
                        continue;
                    };
                    let text = &reason.text;
                    let moves = advice.changes.len();
                    if liking >= 8 {
                        assert!(!text.contains("pull 2 measured") && !text.contains("it measured"), "{text}");
                    }
                    read += usize::from(text.contains(" measured "));
                    let strength_alone = text.contains(" % strength (") && !text.contains(" and pull");
                    let answer = text.split(", because").next().unwrap();
                    assert!(!strength_alone || text.contains("marked") || !answer.contains("heat"), "{text}");
                    let grind = advice.changes.iter().any(|c| c.lever == Lever::Grind);
                    let because = text.split("because ").nth(1).unwrap_or_default();
                    let time_alone = because.starts_with("pull 2 ran ") && !because.contains(" and ");
                    if grind && time_alone {
                        assert!(answer == "A finer grind" || answer == "A coarser grind", "{text}");
                        clock += 1;
                        besides += usize::from(moves > 1);
                    }
                }
            }
        }
        assert!(clock > 3 && besides > 0 && read > 0, "{clock}, {besides} with more, {read} readings");
    }

    /// More drink is not poured for the clock's sake, though it takes longer.
    #[test]
    fn no_drink_is_poured_for_the_clock() {
        let mut poured = 0;
        for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
            for time_s in [19.0, 20.0, 21.0, 22.0] {
                for (drink_g, strong) in [(28.0, 1), (28.0, 2), (30.0, 1), (30.0, 2), (32.0, 1), (32.0, 2)] {
                    let mut c = case(Finer::Lower);
                    c.bag.roast = Some(roast);
                    let marks = |strong| [(SOUR, 1), (BITTER, 0), (Attribute::Strength, strong)];
                    c.shots.push(shot(1, 13.0, 24.0, &marks(-1), Some(3)));
                    let mut short = shot(2, 14.0, time_s, &marks(strong), Some(5));
                    short.recipe.yield_g = drink_g;
                    c.shots.push(short);
                    let advice = check_sound(&c);
                    let drink =
                        advice.changes.iter().all(|c| matches!(c.lever, Lever::Yield | Lever::Temperature));
                    let reason = advice.reasons.iter().find(|r| r.id == "model.evidence");
                    if let Some(reason) = reason.filter(|_| drink) {
                        assert!(!reason.text.contains(" ran "), "{}", reason.text);
                        poured += 1;
                    }
                }
            }
        }
        assert!(poured > 3, "{poured}");
    }

    /// A reading that a later one has mended is no reason any more.
    #[test]
    fn only_a_reading_that_stands_is_a_reason() {
        let (mut said, mut older) = (0, 0);
        let numbers = |text: &str| -> Vec<f64> {
            text.split([' ', '(']).filter_map(|word| word.parse().ok()).collect()
        };
        for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
            for first in [6.8, 7.6, 10.6, 11.4] {
                for second in [7.4, 8.4, 9.0, 9.6, 10.4] {
                    for (sour, liking) in [(0, 5), (1, 6), (-1, 6)] {
                        let mut c = case(Finer::Lower);
                        c.bag.roast = Some(roast);
                        c.gear.refractometer = true;
                        let marks = [(SOUR, sour), (BITTER, -sour)];
                        let cup = |label, grind, tds_pct, liking| {
                            let cup = shot(label, grind, 27.0, &marks, Some(liking));
                            Shot { tds_pct: Some(tds_pct), ..cup }
                        };
                        c.shots.extend([cup(1, 15.0, first, 4), cup(2, 14.5, second, liking)]);
                        let advice = check_sound(&c);
                        let Some(reason) = advice.reasons.iter().find(|r| r.id == "model.evidence") else {
                            continue;
                        };
                        let [strength, extraction] = [second, second * 2.0];
                        for part in reason.text.split(" and ").filter(|part| part.contains(" measured ")) {
                            let [.., read, suits] = numbers(part)[..] else { panic!("{part}") };
                            let (now, felt) =
                                if part.contains("strength") { (strength, 0.2) } else { (extraction, 0.4) };
                            assert!(
                                (suits - now) * (suits - read) > 0.0 && (suits - now).abs() > felt,
                                "{part} {now}"
                            );
                            said += 1;
                            older += usize::from(read != now);
                        }
                    }
                }
            }
        }
        assert!(said > 20 && older > 0, "{said}, {older} of them of the first pull");
    }

    /// A choke of the very recipe that gave a good cup before is pulled again, better prepared, whatever else was pulled.
    #[test]
    fn a_choke_of_a_good_recipe_is_pulled_again() {
        let marks = |off: i64| [(SOUR, off), (BITTER, -off)];
        for (time_s, liking) in [(24.0, 6), (28.0, 7), (30.0, 6), (34.0, 8), (36.0, 9)] {
            for off in [-1, 0, 1] {
                for before in [None, Some((13.0, 40.0)), Some((17.0, 18.0))] {
                    let mut c = case(Finer::Lower);
                    if let Some((grind, time_s)) = before {
                        c.shots.push(shot(1, grind, time_s, &marks(1), Some(3)));
                    }
                    let label = c.shots.len() as u32 + 1;
                    c.shots.push(shot(label, 15.0, time_s, &marks(off), Some(liking)));
                    let mut choke = shot(label + 1, 15.0, 60.0, &[], None);
                    choke.recipe.yield_g = 4.0;
                    c.shots.push(Shot {
                        choked: true,
                        plan: Some(c.shots[label as usize - 1].recipe),
                        ..choke
                    });
                    let advice = check_sound(&c);
                    let what = format!("{time_s} s, liked {liking}, {off}, {before:?}");
                    assert_eq!(advice.status, Status::Repeat, "{what}: {:?}", advice.changes);
                    let odd = advice.reasons.iter().find(|r| r.id == "guard.odd_pull").expect("odd");
                    assert!(odd.text.contains("pull the same again"), "{what}: {}", odd.text);
                }
            }
        }
    }

    /// A cup of which all that was marked is just right is pulled again, though nobody said how much it was liked.
    #[test]
    fn a_cup_that_is_just_right_is_left() {
        let all = Attribute::ALL.map(|attribute| (attribute, 0));
        for temperature in [true, false] {
            for (from, to) in [(25.0, 32.0), (24.0, 30.0)] {
                for roast in [Roast::Light, Roast::Medium, Roast::Dark] {
                    for marks in [&all[..3], &all[..]] {
                        let mut c = case(Finer::Lower);
                        c.bag.roast = Some(roast);
                        c.aim.time_window_s = Some((from, to));
                        c.gear.grind.um_per_unit = None;
                        if !temperature {
                            c.gear.temperature_c = None;
                        }
                        c.shots.push(shot(1, 15.0, 28.0, marks, None));
                        let advice = check_sound(&c);
                        assert_eq!(advice.status, Status::Repeat, "{roast:?} {:?}", advice.changes);
                    }
                }
            }
        }
    }

    /// A pull that nobody tasted, and that ran out of the window, is answered by the grind alone.
    #[test]
    fn a_time_alone_is_answered_by_the_grind() {
        for (time_s, toward) in [(40.0, Toward::Coarser), (48.0, Toward::Coarser), (18.0, Toward::Finer)] {
            for marks in [[(SOUR, 1), (BITTER, -1)], [(SOUR, -1), (BITTER, 1)], [(SOUR, 1), (BITTER, 1)]] {
                let mut c = case(Finer::Lower);
                c.shots.push(shot(1, 15.0, 27.0, &marks, Some(5)));
                c.shots.push(shot(2, if time_s > 30.0 { 13.0 } else { 17.0 }, time_s, &[], None));
                let advice = check_sound(&c);
                let moved: Vec<_> = advice.changes.iter().map(|c| (c.lever, c.toward)).collect();
                assert_eq!(moved, [(Lever::Grind, toward)], "{time_s} {marks:?}");
            }
        }
    }

    /// The first jets of a fast pull ask for better preparation, not for a coarser grind, which would make it faster still.
    /// Where they come again they are believed.
    #[test]
    fn fast_jets_are_not_answered_coarser() {
        let mut c = case(Finer::Higher);
        c.gear.grind.scale = Scale::new("grind", 0.0, 90.0, 2.0).unwrap();
        c.gear.grind.um_per_unit = None;
        c.bag.roast = Some(Roast::MediumLight);
        c.aim.start.grind = Some(50.0);
        c.aim.time_window_s = Some((28.0, 38.0));
        c.shots.push(shot(1, 50.0, 20.0, &[], Some(6)));
        c.shots.push(Shot { spurting: true, ..shot(2, 56.0, 21.3, &[], Some(1)) });
        let advice = check_sound(&c);
        assert_eq!((advice.status, advice.recipe.grind), (Status::Repeat, 56.0), "{:?}", advice.changes);
        assert!(told(&c, "rule.spurting"));
        c.shots.push(Shot { spurting: true, ..shot(3, 56.0, 22.0, &[], Some(2)) });
        assert_eq!(check_sound(&c).status, Status::Adjust);
        // A gusher is moved from at once, and finer.
        for time_s in [9.0, 12.0] {
            let mut c = case(Finer::Lower);
            c.shots.push(Shot { spurting: true, ..shot(1, 15.0, time_s, &[(SOUR, 2)], Some(1)) });
            assert!(check_sound(&c).recipe.grind < 15.0);
        }
    }

    /// A cup that ran on by accident is no recipe that anybody chose: the next change is told from the plan.
    #[test]
    fn an_accident_is_no_recipe() {
        let mut c = case(Finer::Lower);
        let plan = Recipe { yield_g: 40.0, ..shot(1, 15.0, 27.0, &[], None).recipe };
        let mut ran_on = shot(1, 15.0, 62.0, &[(BITTER, 2), (Attribute::Strength, -2)], Some(3));
        ran_on.plan = Some(plan);
        ran_on.recipe.yield_g = 52.0;
        c.shots.push(ran_on.clone());
        assert_eq!(c.current(), plan);
        let advice = check_sound(&c);
        assert!(advice.recipe.yield_g < 46.0, "{:?}", advice.recipe);
        // Where more than the drink was changed it was meant so.
        c.shots[0].recipe.grind = 14.0;
        assert_eq!(c.current().yield_g, 52.0);
    }

    /// A drink that cannot well be as written down is asked for again, and shown as it was written.
    #[test]
    fn an_unlikely_drink_moves_nothing() {
        let mut c = case(Finer::Lower);
        let mut typed = shot(1, 15.0, 27.0, &[(SOUR, 1)], Some(5));
        typed.recipe.yield_g = 3.6;
        typed.plan = Some(Recipe { yield_g: 36.0, ..typed.recipe });
        c.shots.push(typed);
        let advice = check_sound(&c);
        assert_eq!((advice.status, advice.recipe.yield_g), (Status::Repeat, 36.0));
        let said = advice.reasons.iter().find(|r| r.id == "guard.units").unwrap();
        assert!(said.text.contains("3.6 g"), "{}", said.text);
    }

    /// A basket takes a gram or two beside the dose it is made for: no move asks for more.
    #[test]
    fn no_move_empties_or_overfills_the_basket() {
        let marks = [
            vec![(SOUR, 2)],
            vec![(BITTER, 2)],
            vec![(Attribute::Strength, 2)],
            vec![(Attribute::Strength, -2)],
        ];
        for (time_s, marks) in
            [16.0, 24.0, 31.0, 40.0].into_iter().flat_map(|t| marks.clone().map(|m| (t, m)))
        {
            let mut c = case(Finer::Lower);
            c.gear.dose_g = Scale::new("dose", 12.0, 24.0, 0.5).unwrap();
            for label in 1..=2 {
                c.shots.push(shot(label, 15.0, time_s, &marks, Some(2)));
                let dose_g = check_sound(&c).recipe.dose_g;
                assert!((16.0..=20.0).contains(&dose_g), "{time_s} {marks:?}: {dose_g} g");
            }
        }
    }

    /// A choke tells of the grind alone, whatever was tasted before.
    #[test]
    fn a_choke_moves_the_grind_alone() {
        for liking in [3, 6] {
            let mut c = case(Finer::Lower);
            c.shots.push(shot(1, 16.0, 18.0, &[(SOUR, 1)], Some(liking)));
            let mut choked = Shot { choked: true, ..shot(2, 12.0, 60.0, &[], None) };
            choked.recipe.yield_g = 3.0;
            c.shots.push(choked);
            let advice = check_sound(&c);
            assert!(advice.changes.iter().all(|c| c.lever == Lever::Grind), "{:?}", advice.changes);
            assert!(advice.recipe.grind > 12.0 && advice.recipe.grind <= 16.0, "{:?}", advice.recipe);
        }
    }

    /// One choke does not bar the way where coarser pulls have since run so fast that it cannot have been the grind.
    #[test]
    fn a_refuted_choke_bars_no_way() {
        let mut c = case(Finer::Lower);
        c.aim.time_window_s = Some((25.0, 32.0));
        let mut choked = Shot { choked: true, ..shot(1, 15.0, 69.0, &[], None) };
        choked.recipe.yield_g = 2.0;
        c.shots.push(choked);
        for (label, grind, time_s) in [(2, 18.0, 7.0), (3, 16.5, 10.0), (4, 15.5, 12.4)] {
            c.shots.push(shot(label, grind, time_s, &[], None));
        }
        let advice = check_sound(&c);
        assert!(advice.recipe.grind < 15.5, "{:?} {:?}", advice.status, advice.recipe);
    }

    /// A cup that could not be liked more, nothing of it marked off, is pulled again.
    #[test]
    fn a_perfect_cup_is_pulled_again() {
        for (first, second) in [(4, 9), (8, 9), (9, 9)] {
            let mut c = case(Finer::Lower);
            c.shots.push(shot(1, 16.5, 21.0, &[(SOUR, 0)], Some(first)));
            c.shots.push(shot(2, 15.0, 26.0, &[(SOUR, 0), (BITTER, 0)], Some(second)));
            assert_ne!(check_sound(&c).status, Status::Adjust, "{first} {second}");
        }
    }

    /// From a pull within the window that was named none is sent far out of it, and none a little without a word.
    #[test]
    fn a_named_window_is_kept_from_within() {
        let marks =
            [vec![(SOUR, 2), (BITTER, -2)], vec![(BITTER, 2)], vec![(Attribute::Strength, -2)], vec![]];
        let mut told_so = 0;
        for window in [(22.0, 30.0), (25.0, 32.0), (28.0, 38.0)] {
            for (liking, marks) in [3, 5, 7].into_iter().flat_map(|l| marks.clone().map(|m| (l, m))) {
                let mut c = case(Finer::Lower);
                c.aim.time_window_s = Some(window);
                for (label, grind) in (1..).zip([15.0, 14.5, 15.5]) {
                    c.shots.push(shot(label, grind, 29.0, &marks, Some(liking)));
                    let advice = check_sound(&c);
                    let expected_s = advice.expect.time_s.p50;
                    let outside_s = (window.0 - expected_s).max(expected_s - window.1);
                    let what = format!("{window:?} {liking} {marks:?} {label}: {expected_s} s");
                    assert!(outside_s < 0.25 * 29.0, "{what}");
                    let said = advice.reasons.iter().any(|r| r.id == "guard.window");
                    assert!(said || outside_s < 2.5 || advice.status != Status::Adjust, "{what}");
                    assert!(!said || outside_s > 0.0, "{what}");
                    told_so += usize::from(said);
                }
            }
        }
        assert!(told_so > 0);
    }

    /// Only cups that were said to be good make a poor one a stray.
    #[test]
    fn no_stray_without_good_cups_before_it() {
        let mut c = case(Finer::Lower);
        let pulls: [(&[(Attribute, i64)], f64); 3] = [
            (&[(Attribute::Strength, -1)], 50.0),
            (&[(SOUR, 1), (BITTER, 1)], 47.0),
            (&[(Attribute::Astringency, 2)], 55.0),
        ];
        for (label, (marks, time_s)) in (1..).zip(pulls) {
            c.shots.push(shot(label, 15.0, time_s, marks, None));
        }
        assert!(!told(&c, "guard.stray_cup"));
        // Nor is a cup a poor one that was liked very much.
        let mut c = case(Finer::Lower);
        for label in 1..=2 {
            c.shots.push(shot(label, 15.0, 27.0, &[], Some(7)));
        }
        c.shots.push(shot(3, 15.0, 27.0, &[(Attribute::Sweetness, 2)], Some(8)));
        assert!(!told(&c, "guard.stray_cup"));
    }

    /// A lever is named as the answer to a time only if it moves the time that way, and no time is a reason that the last
    /// pull has already mended.
    #[test]
    fn levers_answer_what_they_are_said_to_answer() {
        let mut heard = 0;
        let times = [
            (14.0, 27.0),
            (17.0, 20.0),
            (45.0, 38.0),
            (50.0, 28.0),
            (20.0, 19.0),
            (15.0, 18.0),
            (42.0, 36.0),
        ];
        for (first, second) in times {
            for marks in [vec![], vec![(SOUR, 1)], vec![(BITTER, 1)], vec![(Attribute::Strength, 1)]] {
                for (liking, then) in [(3, 5), (5, 4), (6, 6), (6, 7), (7, 7)] {
                    let mut c = case(Finer::Lower);
                    c.shots.push(shot(1, 15.0, first, &marks, Some(liking)));
                    let moved: f64 = if first < 27.0 { -1.0 } else { 1.0 };
                    c.shots.push(shot(2, 15.0 + moved, second, &marks, Some(then)));
                    let why = check_sound(&c).reasons.into_iter().find(|r| r.id == "model.evidence");
                    let Some(why) = why.map(|r| r.text) else { continue };
                    let Some((levers, because)) = why.split_once(", because pull ") else { continue };
                    let (ran, plain) = (because.contains(" ran "), !because.contains(" and "));
                    let mended = (23.0..=33.0).contains(&second);
                    assert!(!mended || !because.contains("1 ran"), "{first} {second}: {why}");
                    if !ran || !plain {
                        continue;
                    }
                    heard += 1;
                    let against = if second < 23.0 {
                        ["oarser grind", "ess dose", "ess drink"]
                    } else {
                        ["iner grind", "ore dose", "ore drink"]
                    };
                    assert!(!against.iter().any(|a| levers.contains(a)), "{first} {second}: {why}");
                }
            }
        }
        assert!(heard > 5, "{heard}");
    }
}

/// What several pulls say alike is said once, what one pull says twice names it once; heat is not moved for the clock's
/// sake, nor a weak cup answered with less coffee "because" it was weak; no mark of a cup that was liked very much is a
/// reason (common practice, no source).
#[test]
fn reasons_name_a_pull_once_and_fit_their_levers() {
    let marks = [
        vec![(Attribute::Bitterness, 2), (Attribute::Astringency, 1)],
        vec![(Attribute::Sourness, 2), (Attribute::Body, -1)],
        vec![(Attribute::Strength, -1)],
        vec![(Attribute::Sweetness, 1)],
    ];
    let (mut alike, mut it) = (0, 0);
    for settings in [Settings::default(), Settings { one_lever: true, ..Settings::default() }] {
        for roast in [Roast::Light, Roast::Dark] {
            for marks in &marks {
                for (first, second) in
                    [(18.0, 18.4), (19.0, 24.0), (40.0, 39.6), (27.0, 27.0), (26.0, 17.0), (28.0, 42.0)]
                {
                    for (liking, then) in [(3, 3), (5, 6), (8, 5)] {
                        let mut c = case(Finer::Lower);
                        c.bag.roast = Some(roast);
                        c.shots.push(shot(1, 15.0, first, marks, Some(liking)));
                        c.shots.push(shot(2, 15.0, second, marks, Some(then)));
                        let advice = advise(&c, &settings);
                        let why = advice.reasons.iter().find(|r| r.id == "model.evidence");
                        let Some(text) = why.map(|why| &why.text) else { continue };
                        let what = format!("{roast:?} {marks:?} {first} {second} {liking} {then}: {text}");
                        for n in 1..=2 {
                            assert!(text.matches(&format!("pull {n} ")).count() < 2, "{what}");
                        }
                        let both = text.contains("pulls 1 and 2 ");
                        assert!(!both || !text.contains(" it "), "{what}");
                        alike += usize::from(both);
                        it += usize::from(text.contains(" and it ") || text.contains("marked it "));
                        let only = |lever: Lever| advice.changes.iter().all(|change| change.lever == lever);
                        assert!(!only(Lever::Temperature) || !text.contains(" ran "), "{what}");
                        let less =
                            only(Lever::Dose) && advice.changes.iter().all(|c| c.toward == Toward::Down);
                        assert!(!less || !text.contains("too weak"), "{what}");
                        assert!(liking < 8 || !text.contains("marked pull 1 "), "{what}");
                    }
                }
            }
        }
    }
    assert!(alike > 3 && it > 3, "{alike} said alike, {it} said of it");
}

/// A temperature that was not said is the one that stood, not the middle of the scale.
#[test]
fn an_unsaid_temperature_is_the_one_that_stood() {
    let mut said = case(Finer::Lower);
    said.gear.temperature_c = Some(Scale::new("temperature", 85.0, 96.0, 1.0).unwrap());
    said.aim.start.temperature_c = Some(95.0);
    let pulled = shot(1, 14.0, 27.0, &[(Attribute::Sourness, 0)], Some(7));
    let at = |temperature_c| Shot { recipe: Recipe { temperature_c, ..pulled.recipe }, ..pulled.clone() };
    let unsaid = Case { shots: vec![at(None)], ..said.clone() };
    said.shots = vec![at(Some(95.0))];
    assert_eq!(unsaid.current(), said.current());
    assert_eq!(check_sound(&unsaid), check_sound(&said));
}

/// Where a window was named, a pull within it is no gusher and not too slow; and the first pulls off the clock are not
/// taken farther off it by any lever.
#[test]
fn a_persons_own_window_is_the_clock() {
    for (window, time_s) in [((10.0, 15.0), 12.0), ((48.0, 58.0), 50.0)] {
        let mut case = case(Finer::Lower);
        case.aim.time_window_s = Some(window);
        for label in 1..=3 {
            case.shots.push(shot(label, 15.0, time_s, &[(Attribute::Sourness, 0)], Some(8)));
            let advice = check_sound(&case);
            assert!(!advice.reasons.iter().any(|r| r.id == "rule.gusher" || r.id == "rule.very_slow"));
            let expected = advice.expect.time_s.p50;
            assert!((window.0 - 1.0..=window.1 + 1.0).contains(&expected), "{window:?}: {expected}");
        }
    }
    for (window, time_s) in [((48.0, 58.0), 46.0), ((28.0, 34.0), 25.0), ((15.0, 20.0), 21.0)] {
        for mark in [Attribute::Sourness, Attribute::Bitterness] {
            let mut case = case(Finer::Lower);
            case.aim.time_window_s = Some(window);
            case.shots.push(shot(1, 15.0, time_s, &[(mark, 1)], Some(5)));
            let outlook = Outlook::new(&case, &Settings::default());
            let next = check_sound(&case).recipe;
            let slower = outlook.expect(&next).time_s.p50 - outlook.expect(&case.current()).time_s.p50;
            assert!(if time_s < window.0 { slower > -0.1 } else { slower < 0.1 }, "{window:?}: {slower}");
        }
    }
}

/// A gusher, and a pull that hardly ran, are answered by the grind alone, whatever was tasted (common practice, no source).
#[test]
fn far_off_the_clock_only_the_grind_moves() {
    let thin = [(Attribute::Sourness, 2), (Attribute::Strength, -2), (Attribute::Body, -2)];
    let harsh = [(Attribute::Bitterness, 2), (Attribute::Strength, 2), (Attribute::Astringency, 1)];
    for (time_s, marks, toward) in [(10.0, thin, Toward::Finer), (58.0, harsh, Toward::Coarser)] {
        let mut case = case(Finer::Lower);
        for label in 1..=2 {
            case.shots.push(shot(label, 15.0, time_s, &marks, Some(2)));
            let moves: Vec<_> = check_sound(&case).changes.iter().map(|c| (c.lever, c.toward)).collect();
            assert_eq!(moves, [(Lever::Grind, toward)], "{time_s} s, pull {label}");
        }
    }
}

/// With coffee for one more pull nothing is tried for the sake of the pulls after it, and that is said; with plenty the
/// answer is as if nobody had counted.
#[test]
fn the_last_pull_of_a_bag_aims_at_its_cup() {
    let begun = [
        (vec![shot(1, 15.0, 19.0, &[(Attribute::Sourness, 1)], Some(4))], "fast"),
        (vec![shot(1, 15.0, 41.0, &[(Attribute::Bitterness, 1)], Some(5))], "slow"),
        (vec![shot(1, 15.0, 28.0, &[(Attribute::Strength, -1)], Some(5))], "weak"),
        (
            vec![
                shot(1, 15.0, 27.0, &[(Attribute::Sourness, 1)], Some(6)),
                shot(2, 14.0, 31.0, &[], Some(6)),
            ],
            "flat",
        ),
        (vec![shot(1, 15.0, 19.0, &[], Some(3)), shot(2, 13.0, 25.0, &[], Some(5))], "rising"),
    ];
    let mut gained = 0.0;
    for (shots, what) in begun {
        let pulled = Case { shots, ..case(Finer::Lower) };
        let outlook = Outlook::new(&pulled, &Settings::default());
        let with = |left: Option<f64>| {
            let advice = check_sound(&Case { coffee_left_g: left, ..pulled.clone() });
            let said = advice.reasons.iter().find(|r| r.id == "guard.last_coffee").map(|r| r.text.clone());
            (outlook.standing(&advice.recipe).mean, said, advice)
        };
        let (never_counted, last, plenty) = (with(None), with(Some(20.0)), with(Some(250.0)));
        assert_eq!(never_counted.2, plenty.2, "{what}");
        assert!(last.1.as_ref().is_some_and(|said| said.contains("one more pull")), "{what}: {:?}", last.1);
        assert!(with(Some(41.0)).1.is_some_and(|said| said.contains("2 more pulls")), "{what}");
        assert!(with(Some(9.0)).1.is_some_and(|said| said.contains("less coffee")), "{what}");
        // What a usual move asks for (one lever, none too far) may cost a little of the cup's mean.
        assert!(last.0 > never_counted.0 - 0.05, "{what}: {} after {}", last.0, never_counted.0);
        gained += last.0 - never_counted.0;
    }
    assert!(gained > 0.05, "{gained}");
}

/// Of an earlier bag with many pulls the last are heard, not the first: they are nearest to the new bag.
#[test]
fn the_last_pulls_of_an_earlier_bag_are_heard() {
    let telling =
        || (1..=4).map(|n| shot(n, 15.0, 17.0 + f64::from(n % 2), &[(Attribute::Sourness, 2)], Some(3)));
    let blank = |n| Shot { time_s: None, taste: Taste::default(), ..shot(n, 15.0, 1.0, &[], None) };
    let expected = |shots: Vec<Shot>| {
        let mut case = case(Finer::Lower);
        let bag = thirdpull::advisor::EarlierBag { bag: case.bag.clone(), shots };
        case.earlier.push(bag);
        let advice = check_sound(&case);
        (advice.recipe, advice.expect.time_s.p50)
    };
    let nothing = expected(vec![]);
    let short = expected(telling().collect());
    let long = expected((1..=80).map(blank).chain(telling()).collect());
    assert_eq!(short, long);
    assert_ne!(short, nothing);
}

#[test]
fn impossible_and_contradictory_evidence_is_named() {
    let mut c = case(Finer::Lower);
    let mut s = shot(1, 15.0, 27.0, &[(Attribute::Sourness, 2), (Attribute::Bitterness, 2)], Some(9));
    s.tds_pct = Some(18.0);
    c.shots.push(s);
    let reasons = check_sound(&c).reasons;
    assert!(reasons.iter().any(|r| r.id == "guard.impossible_extraction"));
    assert!(reasons.iter().any(|r| r.id == "guard.contradiction"));
    // A decimal mark lost: 0.9 % for 9.
    c.shots[0].tds_pct = Some(0.9);
    assert!(check_sound(&c).reasons.iter().any(|r| r.id == "guard.low_extraction"));
}

#[test]
fn poor_input_never_panics() {
    // One-step ranges.
    let mut c = case(Finer::Lower);
    let one = |v: f64| Scale::new("x", v, v, 1.0).unwrap();
    c.gear.grind.scale = one(15.0);
    c.gear.dose_g = one(18.0);
    c.gear.yield_g = one(36.0);
    c.gear.temperature_c = None;
    check_sound(&c);
    c.shots.push(shot(1, 15.0, 27.0, &[], Some(1)));
    assert_ne!(check_sound(&c).status, Status::Adjust);
    // Not-finite numbers in a shot.
    let mut c = case(Finer::Lower);
    let mut s = shot(1, f64::NAN, f64::INFINITY, &[], None);
    s.recipe.dose_g = 0.0;
    s.recipe.yield_g = f64::NAN;
    s.tds_pct = Some(f64::NAN);
    s.days_since_roast = Some(f64::NAN);
    c.shots.push(s);
    c.bag.days_since_roast = Some(f64::NAN);
    check_sound(&c);
    // Units mixed up, identical pulls.
    let mut c = case(Finer::Lower);
    for n in 0..8 {
        let mut s = shot(n + 1, 15.0, 27.0, &[(Attribute::Sourness, 0)], Some(5));
        s.recipe.yield_g = 360.0;
        c.shots.push(s);
    }
    assert!(check_sound(&c).reasons.iter().any(|r| r.id == "guard.units"));
}

#[test]
fn five_hundred_pulls_still_answer() {
    let mut c = case(Finer::Lower);
    for n in 0..500u32 {
        let grind = 12.0 + f64::from(n % 7);
        c.shots.push(shot(
            n + 1,
            grind,
            40.0 - 2.5 * f64::from(n % 7),
            &[(Attribute::Sourness, i64::from(n % 3) - 1)],
            Some(5),
        ));
    }
    check_sound(&c);
}

/// Every cell of a taste map says what is believed of its recipe, row by row, all else as in the best recipe; and no cell
/// promises much more than that does.
#[test]
fn the_taste_map_says_of_each_cell_what_is_believed() {
    let mut c = case(Finer::Lower);
    c.shots.push(shot(1, 15.0, 22.0, &[(Attribute::Sourness, 1)], Some(5)));
    c.shots.push(shot(2, 13.5, 29.0, &[(Attribute::Sourness, 0)], Some(7)));
    let map = taste_map(&c, &Settings::default(), Lever::Grind, Lever::Yield);
    assert_eq!(map.mean.len(), map.across_values.len() * map.up_values.len());
    assert_eq!(map.sd.len(), map.mean.len());
    let (best, outlook) = (check_sound(&c).best, Outlook::new(&c, &Settings::default()));
    let up = map.up_values.iter().flat_map(|up| map.across_values.iter().map(move |across| (*across, *up)));
    for ((grind, yield_g), (mean, sd)) in up.zip(map.mean.iter().zip(&map.sd)) {
        let recipe = best.recipe.with(Lever::Grind, grind).with(Lever::Yield, yield_g);
        let own = outlook.standing(&recipe);
        assert!((own.mean - mean).abs() < 0.05, "{recipe:?}: {mean} but {}", own.mean);
        assert!((own.sd - sd).abs() < 0.05, "{recipe:?}: {sd} but {}", own.sd);
    }
    let (least, most) = map.mean.iter().fold((9.0, 1.0), |(a, b), m| (f64::min(a, *m), f64::max(b, *m)));
    assert!(most - least > 1.0, "{least} to {most}");
    let own = outlook.standing(&best.recipe).mean;
    assert!(most < own + 0.3, "{most} but {own}");
}

/// Worked example of a range: with no evidence the expected time must be wide, with five agreeing pulls narrow.
#[test]
fn ranges_shrink_with_evidence() {
    let width = |c: &Case| {
        let q = advise(c, &Settings::default()).best.expect.time_s;
        (q.p90 / q.p10).ln()
    };
    let mut c = case(Finer::Lower);
    let before = width(&c);
    for n in 0..5 {
        c.shots.push(shot(
            n + 1,
            15.0,
            27.0 + f64::from(n % 2),
            &[(Attribute::Sourness, 0), (Attribute::Bitterness, 0)],
            Some(8),
        ));
    }
    assert!(before > 0.8 && width(&c) < 0.6 * before);
}

/// What the traces of simulated pulls say: those in which a channel opened, and those in which none did (traces made by the
/// puck model with an instrument's noise, as in `trace_truth`).
fn gists(channelled: bool) -> Vec<Gist> {
    let recipe = Recipe { grind: 15.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };
    (0..12).map(|n| Gist::read(&made(5, n, Rig::All, channelled).0, &recipe)).collect()
}

/// A fast pull whose trace shows a channel moves what is expected less than the same pull with an even trace, and the
/// advice says why; the same numbers without the sign leave no such sentence.
#[test]
fn a_channel_in_the_trace_makes_its_pull_count_for_less() {
    let with: Vec<Gist> = gists(true).into_iter().filter(|g| g.channel.is_some_and(|c| c.1 > 0.5)).collect();
    assert!(with.len() >= 8, "channels seen in {} of 12", with.len());
    let even: Vec<Gist> = gists(false).into_iter().filter(|g| g.channel.is_none()).collect();
    assert!(even.len() >= 10, "{} of 12 are even", even.len());

    let of = |gist: Option<Gist>, pulls: usize| {
        let mut c = case(Finer::Lower);
        c.shots.push(shot(1, 15.0, 28.0, &[(Attribute::Sourness, 0)], Some(7)));
        c.shots.push(shot(2, 15.0, 27.0, &[(Attribute::Sourness, 0)], Some(7)));
        c.shots.push(Shot { gist, ..shot(3, 15.0, 23.5, &[(Attribute::Sourness, 0)], Some(6)) });
        c.shots.truncate(pulls);
        c
    };
    // The mean over seeds: the drawn worlds of one seed scatter by a tenth of what is looked for.
    let expected = |c: &Case| {
        let ln_time = |seed| {
            Outlook::new(c, &Settings { seed, ..Settings::default() }).expect(&c.current()).time_s.p50.ln()
        };
        (1..9).map(ln_time).sum::<f64>() / 8.0
    };
    let before = expected(&of(None, 2));
    let (even, channelled) = (of(Some(even[0]), 3), of(Some(with[0]), 3));
    let (believed, doubted) = (expected(&even), expected(&channelled));
    let (plain, warned) = (check_sound(&even), check_sound(&channelled));
    assert!(believed < before - 0.02, "a sound fast pull moves what is expected: {before} {believed}");
    assert!(before - doubted < 0.8 * (before - believed), "{before} {doubted} {believed}");
    let guard = |a: &thirdpull::advisor::Advice| a.reasons.iter().find(|r| r.id == "guard.channel").cloned();
    let reason = guard(&warned).expect("the channel is named");
    assert_eq!(reason.pulls, [3]);
    assert!(reason.text.contains("pull 3") && guard(&plain).is_none(), "{}", reason.text);
}

/// A pull that nobody timed is timed by its trace.
#[test]
fn a_trace_tells_the_time_that_nobody_took() {
    let untimed = |time_s: Option<f64>| {
        let mut c = case(Finer::Lower);
        let gist = Some(Gist { time_s, ..Gist::default() });
        c.shots.push(Shot { time_s: None, gist, ..shot(1, 15.0, 0.0, &[], None) });
        check_sound(&c).changes.iter().find(|c| c.lever == Lever::Grind).map(|c| c.toward)
    };
    assert_eq!(untimed(Some(14.0)), Some(Toward::Finer));
    assert_eq!(untimed(Some(55.0)), Some(Toward::Coarser));
    assert_eq!(untimed(None), None);
}

/// In a made-up language that marks each message, no sentence is without a mark, and a rule's own has one inside the
/// sentence around it.
#[test]
fn all_that_is_said_can_be_said_in_another_language() {
    use thirdpull::words::{made_up_of, put_for_thread};
    let mut fast = case(Finer::Lower);
    fast.shots.push(shot(1, 15.0, 17.0, &[(Attribute::Sourness, 2), (Attribute::Strength, -1)], Some(3)));
    let mut slow = case(Finer::Lower);
    slow.shots.push(shot(1, 15.0, 60.0, &[(Attribute::Bitterness, 2), (Attribute::Sourness, 2)], Some(2)));
    slow.shots.last_mut().unwrap().tds_pct = Some(19.0);
    let mut reversed = case(Finer::Lower);
    for (label, grind) in (1..).zip([10.0, 12.0, 14.0, 16.0, 18.0, 20.0]) {
        reversed.shots.push(shot(label, grind, 16.0 + 1.6 * (grind - 10.0), &[], Some(5)));
    }
    let english: Vec<_> = [&fast, &slow, &reversed].map(|c| advise(c, &Settings::default())).into();
    put_for_thread(Some(made_up_of(&thirdpull::workbench::language_file())));
    let other: Vec<_> = [&fast, &slow, &reversed].map(|c| advise(c, &Settings::default())).into();
    put_for_thread(None);
    let (mut said, mut rules) = (0, 0);
    for (before, advice) in english.iter().zip(&other) {
        assert_eq!(before.recipe, advice.recipe);
        let texts = advice
            .reasons
            .iter()
            .map(|r| &r.text)
            .chain(advice.beliefs.iter().map(|b| &b.text))
            .chain(advice.alternatives.each().map(|a| &a.text))
            .chain(&advice.voices.rules)
            .chain(&advice.voices.conflict)
            .chain(&advice.tomorrow)
            .chain([&advice.voices.model]);
        for text in texts {
            assert!(text.starts_with('⟦') && text.ends_with('⟧'), "{text}");
            said += 1;
        }
        for reason in advice.reasons.iter().filter(|r| r.source == Source::Rule && r.id != "rule.conflict") {
            assert!(reason.text.matches('⟦').count() == 2, "{}", reason.text);
            rules += 1;
        }
    }
    assert!(said > 30 && rules > 0, "{said} {rules}");
}

/// Sour and bitter that follow the clock while the refractometer reads the same are put down to the clock; where the
/// reading moves with the marks, extraction stays the likelier cause.
#[test]
fn marks_that_follow_the_clock_alone_are_put_down_to_it() {
    let by_clock = |strengths: [f64; 3]| {
        let mut c = case(Finer::Lower);
        let pulls = [(19.0, 17.0, 2, -1, 4), (27.0, 15.0, 0, 0, 8), (37.0, 13.0, -1, 2, 4)];
        for (round, (time_s, grind, sour, bitter, liking)) in pulls.into_iter().cycle().take(6).enumerate() {
            let marks = [(Attribute::Sourness, sour), (Attribute::Bitterness, bitter)];
            let label = u32::try_from(round + 1).unwrap();
            c.shots.push(Shot {
                tds_pct: Some(strengths[round % 3]),
                ..shot(label, grind, time_s, &marks, Some(liking))
            });
        }
        weight_of(&c, GoesBy::Clock)
    };
    let (same, moving) = (by_clock([9.6, 9.6, 9.6]), by_clock([8.2, 9.6, 10.8]));
    assert!(same > 0.9 && moving < 0.5, "{same} {moving}");
}

/// Who likes 1:2 in 27 s however strong and bitter they find it, and nothing else although they find nothing wrong with
/// it, goes by the recipe; whose liking follows their marks does not.
#[test]
fn a_liking_that_contradicts_the_marks_goes_by_the_recipe() {
    use Attribute::{Bitterness, Sourness, Strength};
    let by_recipe = |told: [[i64; 3]; 3]| {
        let mut c = case(Finer::Lower);
        let pulls = [(15.0, 27.0, 36.0, 8), (15.0, 34.0, 48.0, 3), (18.0, 18.0, 36.0, 4)];
        for (round, (grind, time_s, yield_g, liking)) in pulls.into_iter().cycle().take(9).enumerate() {
            let [sour, bitter, strong] = told[round % 3];
            let marks = [(Sourness, sour), (Bitterness, bitter), (Strength, strong)];
            let label = u32::try_from(round + 1).unwrap();
            let mut pull = shot(label, grind, time_s, &marks, Some(liking));
            pull.recipe.yield_g = yield_g;
            c.shots.push(pull);
        }
        weight_of(&c, GoesBy::Recipe)
    };
    let against = by_recipe([[-1, 1, 2], [0, 0, 0], [0, 0, 0]]);
    let with = by_recipe([[0, 0, 0], [0, 1, -2], [2, -1, 0]]);
    // The recipe's weight before any pull is 0.13.
    assert!(against > 0.26 && with < 0.13, "{against} {with}");
}

/// A pull that chokes a few clicks finer than two that ran in good time speaks for a bed that closes; one that merely runs
/// as much slower as a power of the grain size has it says nothing of it (Kozeny-Carman and fines: times go by the size to the
/// power of -2 to -4; a choke a click or two past a good pull is common practice, no source).
#[test]
fn a_bed_that_closes_is_known_by_its_choke() {
    let time_s = |clicks: f64| 30.0 * (1.0 - 12.0 / 275.0 * clicks).powf(-2.9);
    let closes = |chokes: bool| {
        let mut c = case(Finer::Lower);
        c.shots.push(shot(1, 18.0, time_s(-3.0), &[], None));
        c.shots.push(shot(2, 15.0, time_s(0.0), &[], None));
        c.shots.push(shot(3, 12.0, time_s(3.0), &[], None));
        if chokes {
            let last = c.shots.last_mut().unwrap();
            (last.choked, last.time_s) = (true, None);
        }
        let posterior = believed(&c);
        let closing = posterior.worlds.iter().filter(|w| w.shape.bed == Bed::Closes);
        closing.map(|w| w.weight).sum::<f64>()
    };
    let (choked, ran) = (closes(true), closes(false));
    // The weight before any pull is 0.1.
    assert!(choked > 0.15 && ran < 0.12, "{choked} {ran}");
}

/// A start that is off by a few clicks is more easily far off the clock on a steep grinder than on a flat one, so that a
/// first pull of 60 or of 11 s makes a steep one likelier than a pull of 27 s does (Bayes' rule, no outside source).
#[test]
fn a_first_pull_far_off_the_clock_speaks_of_a_steep_grinder() {
    use thirdpull::infer::Unknown;
    let steep = |time_s: f64| {
        let mut c = case(Finer::Lower);
        c.shots.push(shot(1, 15.0, time_s, &[], None));
        let posterior = believed(&c);
        posterior.belief(Unknown::LnExponent).0 + posterior.belief(Unknown::LnSizePerUnit).0
    };
    let (fast, usual, slow) = (steep(11.0), steep(27.0), steep(60.0));
    assert!(fast > usual + 0.05 && slow > usual + 0.05, "{fast} {usual} {slow}");
}

/// Around 27 s, 10 µm finer cost 2–4 s and one click 2–5 s (common practice, no source): what is expected of a grinder of
/// which nothing else is known is near the geometric middle of either.
#[test]
fn a_step_finer_takes_as_long_as_the_trade_says() {
    use thirdpull::infer::{Frame, Posterior};
    let slower_s = |gear: Gear, finer: f64| {
        let mut c = Case { gear, ..case(Finer::Lower) };
        c.shots.push(shot(1, 15.0, 27.0, &[], None));
        let posterior: Posterior = believed(&c);
        let frame = Frame::new(&c.gear, &c.aim.start, None);
        let ln_time = |grind: f64| {
            let recipe = Recipe { grind, ..c.shots[0].recipe };
            posterior.mean(&posterior.times(&frame.point(&recipe, None)))
        };
        27.0 * (ln_time(15.0 - finer) - ln_time(15.0))
    };
    // 12 µm a unit.
    let of_10_um = slower_s(gear(Finer::Lower), 10.0 / 12.0);
    let mut unknown = gear(Finer::Lower);
    unknown.grind.um_per_unit = None;
    unknown.grind.scale = Scale::new("grind", 0.0, 30.0, 1.0).unwrap();
    let of_a_click = slower_s(unknown, 1.0);
    assert!((of_10_um / 8.0_f64.sqrt() - 1.0).abs() < 0.12, "{of_10_um}");
    assert!((of_a_click / 10.0_f64.sqrt() - 1.0).abs() < 0.2, "{of_a_click}");
}

/// One thing changes at a time, unless more are clearly better: after a first pull that is a little off, most often one
/// lever moves and seldom more than two.
#[test]
fn one_thing_changes_at_a_time() {
    use Attribute::{Bitterness as B, Sourness as So, Strength as St};
    let marks: [&[(Attribute, i64)]; 6] =
        [&[(So, 1)], &[(B, 1)], &[(St, -1)], &[(St, 1)], &[(So, 1), (St, -1)], &[(B, 1), (St, 1)]];
    let mut moved = [0; 5];
    for time_s in [17.0, 20.0, 24.0, 28.0, 33.0, 40.0] {
        for marks in marks {
            let mut c = case(Finer::Lower);
            c.shots.push(shot(1, 15.0, time_s, marks, Some(5)));
            moved[advise(&c, &Settings::default()).changes.len()] += 1;
        }
    }
    let [_, one, two, more, all] = moved;
    assert!(one >= two && one >= 2 * (more + all) && all == 0, "{moved:?}");
}

/// In how many levers two recipes differ.
fn levers_between(from: &Recipe, to: &Recipe) -> usize {
    let apart = |lever: &&Lever| match (from.get(**lever), to.get(**lever)) {
        (Some(a), Some(b)) => (a - b).abs() > 1e-9,
        _ => false,
    };
    Lever::ALL.iter().filter(apart).count()
}

/// Who wants one lever at a time gets one, in the advice and in every other idea; who does not is offered the best single
/// move wherever the advice moves more.
#[test]
fn who_wants_one_lever_at_a_time_gets_one() {
    use Attribute::{Bitterness as B, Body, Sourness as So, Strength as St};
    let marks: [&[(Attribute, i64)]; 5] =
        [&[(So, 2)], &[(B, 2), (Body, -1)], &[(So, 1), (St, -1)], &[(B, 1), (St, 2)], &[(St, -2)]];
    let strict = Settings { one_lever: true, ..Settings::default() };
    let (mut several, mut ideas) = (0, 0);
    for first_s in [17.0, 27.0, 41.0] {
        for marks in marks {
            for second in [None, Some(25.0)] {
                let mut c = case(Finer::Lower);
                c.shots.push(shot(1, 15.0, first_s, marks, Some(4)));
                if let Some(time_s) = second {
                    c.shots.push(shot(2, 14.0, time_s, &[], Some(5)));
                }
                let what = format!("{first_s} s {marks:?} {second:?}");
                let from = c.current();
                let one = advise(&c, &strict);
                assert!(one.changes.len() <= 1, "{what}: {:?}", one.changes);
                for idea in one.alternatives.each() {
                    assert!(levers_between(&from, &idea.recipe) <= 1, "{what}: {idea:?}");
                    ideas += 1;
                }
                let free = advise(&c, &Settings::default());
                let simplest = free.alternatives.simplest.as_ref();
                assert_eq!(free.changes.len() > 1, simplest.is_some(), "{what}: {:?}", free.changes);
                several += usize::from(simplest.is_some());
            }
        }
    }
    assert!(several > 3 && ideas > 3, "{several} advised several, {ideas} other ideas");
}

/// The basket sets the first dose: what is changed of a person's own recipe before any cup was tasted is its grind, its
/// yield or its temperature (common practice, no source).
#[test]
fn a_first_pull_keeps_its_dose() {
    let mut moved = 0;
    for roast in [None, Some(Roast::Light), Some(Roast::Medium), Some(Roast::Dark)] {
        for yield_g in [28.0, 32.0, 36.0, 40.0, 48.0] {
            for time_window_s in [None, Some((20.0, 24.0)), Some((32.0, 40.0))] {
                let mut c = case(Finer::Lower);
                c.bag.roast = roast;
                c.aim.start.yield_g = yield_g;
                c.aim.time_window_s = time_window_s;
                let advice = advise(&c, &Settings::default());
                moved += advice.changes.len();
                assert_eq!(advice.recipe.dose_g, 18.0, "{roast:?} {yield_g} {time_window_s:?}");
            }
        }
    }
    assert!(moved > 10, "{moved}");
}

/// Nobody changed a lever who weighed two tenths of a gram too much or took the cup away a gram late: what comes next is
/// measured from the plan. Who pulled something else is taken at their word.
#[test]
fn a_slip_of_the_hand_is_no_change_of_plan() {
    let plan = shot(1, 15.0, 19.0, &[(Attribute::Sourness, 1)], Some(4)).recipe;
    let with = |used: Recipe, plan: Option<Recipe>, choked: bool| {
        let mut c = case(Finer::Lower);
        c.shots.push(Shot { plan, recipe: used, choked, ..shot(1, 15.0, 19.0, &[], Some(4)) });
        (c.current(), advise(&c, &Settings::default()))
    };
    let slipped = Recipe { dose_g: 18.3, yield_g: 37.4, ..plan };
    let (from, advice) = with(slipped, Some(plan), false);
    assert_eq!(from, plan);
    assert!(advice.changes.iter().all(|change| Some(change.from) == plan.get(change.lever)), "{advice:?}");
    let untouched = |lever: &Lever| advice.changes.iter().all(|change| change.lever != *lever);
    for lever in Lever::ALL.iter().filter(|lever| untouched(lever)) {
        assert_eq!(advice.recipe.get(*lever), plan.get(*lever));
    }
    // Without a plan there is only what was used; on the gear's steps.
    assert_eq!(with(slipped, None, false).0, Recipe { dose_g: 18.5, yield_g: 37.0, ..plan });
    for other in [
        Recipe { yield_g: 40.0, ..plan },
        Recipe { dose_g: 18.5, ..plan },
        Recipe { grind: 14.5, ..plan },
        Recipe { temperature_c: Some(94.0), ..plan },
    ] {
        assert_eq!(with(other, Some(plan), false).0, other);
    }
    // A choked pull says nothing against the planned yield.
    let long = Recipe { yield_g: 44.0, ..plan };
    assert_eq!(with(Recipe { yield_g: 6.0, ..plan }, Some(long), true).0, long);
}

/// What little ran from a choked pull is not its ratio: the answer is the same whatever was written down.
#[test]
fn the_drops_of_a_choked_pull_are_not_its_yield() {
    let with = |yield_g: f64| {
        let mut c = case(Finer::Lower);
        let choked = shot(1, 9.0, 60.0, &[], None);
        let recipe = Recipe { yield_g, ..choked.recipe };
        c.shots.push(Shot { choked: true, recipe, ..choked });
        let advice = advise(&c, &Settings::default());
        (advice.recipe, advice.best.recipe, advice.expect.time_s.p50)
    };
    assert_eq!(with(6.0), with(36.0));
    assert_eq!(with(0.0), with(36.0));
}

/// Jets from a slow pull that tasted of the recipe speak of too fine a bed and not of bad preparation alone.
#[test]
fn jets_speak_of_too_fine_a_bed() {
    use thirdpull::infer::Unknown;
    let onset = |spurting: bool| {
        let mut c = case(Finer::Lower);
        for (label, grind, time_s) in [(1, 12.0, 41.0), (2, 11.0, 44.0)] {
            let marks = [(Attribute::Astringency, 1), (Attribute::Bitterness, 1)];
            c.shots.push(Shot { spurting, ..shot(label, grind, time_s, &marks, Some(4)) });
        }
        believed(&c).belief(Unknown::UnevenOnset).0
    };
    let (calm, jets) = (onset(false), onset(true));
    assert!(jets < calm - 0.1, "{jets} {calm}");
}

/// A person who asks for 25–30 s but likes the quick cups and not the slow ones is served a quick one in the end.
#[test]
fn what_was_tasted_outvotes_the_clock() {
    let mut c = case(Finer::Lower);
    c.aim.time_window_s = Some((25.0, 30.0));
    let bitter = [(Attribute::Bitterness, 1), (Attribute::Sourness, 0)];
    let right = [(Attribute::Bitterness, 0), (Attribute::Sourness, 0)];
    let pulls = [
        (15.0, 28.0, 6),
        (18.0, 20.0, 7),
        (18.0, 19.5, 7),
        (16.0, 26.0, 6),
        (21.0, 15.5, 7),
        (21.0, 16.0, 8),
    ];
    for (label, (grind, time_s, liking)) in (1..).zip(pulls) {
        let marks = if time_s > 21.0 { &bitter } else { &right };
        c.shots.push(shot(label, grind, time_s, marks, Some(liking)));
    }
    let served = check_sound(&c).best.recipe;
    let posterior = believed(&c);
    let point = posterior.frame.point(&served, Some(11.0));
    let time_s = posterior.mean(&posterior.times(&point)).exp();
    assert!(time_s < 19.0, "{time_s} {served:?}");
}

/// A pull ground finer than the one before it that ran a quarter faster all the same, thin, sour and hardly liked, was
/// badly prepared, with or without jets to be seen; even though channels that only this bag knows would explain it. A
/// pull that did what it should is believed.
#[test]
fn a_pull_that_contradicts_the_other_is_taken_for_spoiled() {
    use Attribute::{Astringency, Bitterness, Body, Sourness, Strength};
    let attributes = [Sourness, Bitterness, Strength, Body, Astringency];
    let with = |marks: [i64; 5]| -> Vec<(Attribute, i64)> { attributes.into_iter().zip(marks).collect() };
    let sound = |time_s: f64, marks: [i64; 5], liking: i64, spurting: bool| {
        let mut c = case(Finer::Lower);
        c.shots.push(shot(1, 15.0, 22.5, &with([1, 0, 0, 0, 0]), Some(4)));
        c.shots.push(Shot { spurting, ..shot(2, 14.0, time_s, &with(marks), Some(liking)) });
        believed(&c).sound.last().copied().unwrap_or(1.0)
    };
    let odd = sound(17.0, [2, 0, -1, -1, 1], 2, false);
    let jets = sound(17.0, [2, 0, -1, -1, 1], 2, true);
    let usual = sound(26.0, [0, 0, 0, 0, 0], 7, false);
    assert!(odd < 0.2 && jets < 0.3 && usual > 0.95, "{odd} {jets} {usual}");
}

/// Where two pulls were spoiled, one explanation of all that was seen counts once, from whichever of the two it was found.
#[test]
fn each_explanation_counts_once() {
    use Attribute::{Astringency, Bitterness, Sourness, Strength};
    let with = |sour: i64| [(Sourness, sour), (Bitterness, 0), (Strength, 0), (Astringency, 0)];
    let mut c = case(Finer::Lower);
    c.shots.push(shot(1, 15.0, 27.0, &with(0), Some(8)));
    c.shots.push(shot(2, 15.0, 20.0, &with(1), Some(3)));
    c.shots.push(shot(3, 14.0, 30.0, &with(0), Some(8)));
    c.shots.push(shot(4, 14.0, 22.0, &with(1), Some(3)));
    let fits = believed(&c).fits;
    let told: Vec<(&str, Vec<usize>)> =
        fits.iter().map(|fit| (fit.shape.name, fit.spoiled().collect())).collect();
    assert!(told.iter().any(|(_, spoiled)| *spoiled == [1, 3]), "{told:?}");
    for (at, one) in told.iter().enumerate() {
        assert!(!told.iter().skip(at + 1).any(|other| other == one), "{told:?}");
    }
}

/// Nobody said where to begin: many grinders also serve brews that are ground coarser, so that espresso lies rather in the
/// finer half of the scale (common practice, no source), whichever way its numbers run.
#[test]
fn an_unknown_start_is_sought_in_the_finer_half() {
    for finer in [Finer::Lower, Finer::Higher] {
        let mut c = case(finer);
        c.aim.start.grind = None;
        let grind = check_sound(&c).recipe.grind;
        let from_finest = if finer == Finer::Lower { grind } else { 30.0 - grind };
        assert!((9.0..=13.5).contains(&from_finest), "{finer:?} {grind}");
    }
}

/// A scale's range and its step each tell roughly how far a unit moves the burrs; where both say the same, that is known
/// better than from either (a mark is worth 2–5 s: common practice, no source), if not as well as where the micrometres
/// are known.
#[test]
fn range_and_step_together_tell_a_units_size() {
    use thirdpull::infer::{Frame, SHAPES, Unknown, prior};
    let relative_sd = |um_per_unit: Option<f64>| {
        let mut c = case(Finer::Lower);
        c.gear.grind.um_per_unit = um_per_unit;
        let frame = Frame::new(&c.gear, &c.aim.start, None);
        prior(&c.bag, &c.gear, &frame, &SHAPES[0]).1[Unknown::LnSizePerUnit.at()]
    };
    let (guessed, known) = (relative_sd(None), relative_sd(Some(12.0)));
    assert!(guessed > 1.3 * known && guessed < 0.45, "{guessed} {known}");
}

/// A quarter of a usual pull passes before the first drip, whatever the grind (common practice, no source). Two gushers far
/// apart on the scale and two seconds apart on the clock therefore do not make the grinder a flat one: nearer the usual
/// time a click moves the clock far more.
#[test]
fn gushers_do_not_make_a_flat_grinder() {
    let mut c = case(Finer::Lower);
    c.shots.push(shot(1, 27.0, 9.0, &[], None));
    c.shots.push(shot(2, 22.0, 11.0, &[], None));
    let posterior = believed(&c);
    let ln_time = |grind: f64| {
        let point = posterior.frame.point(&Recipe { grind, ..c.current() }, Some(11.0));
        posterior.mean(&posterior.times(&point))
    };
    let seen = (ln_time(22.0) - ln_time(27.0)) / 5.0;
    let to_come = (ln_time(12.0) - ln_time(17.0)) / 5.0;
    assert!(to_come > 2.0 * seen, "{to_come} {seen}");
}

/// Half a point of mean liking lies between a recipe and the end of its slack, on each side by itself; where a side has no
/// end, nothing as far as was looked costs as much. Against what the advisor expects of those recipes.
#[test]
fn a_slack_ends_where_half_a_point_is_lost_on_its_own_side() {
    let cooler =
        |heat_c: f64| Recipe { grind: 13.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(heat_c) };
    let (mut ends, mut one_sided) = (0, 0);
    for finer in [Finer::Lower, Finer::Higher] {
        let mut c = case(finer);
        for (label, (heat_c, liking)) in (1..).zip([(90.0, 6), (93.0, 8), (96.0, 8), (90.0, 6), (93.0, 8)]) {
            let one = shot(label, 13.0, 28.0, &[], Some(liking));
            c.shots.push(Shot { recipe: cooler(heat_c), ..one });
        }
        let outlook = Outlook::new(&c, &Settings::default());
        for recipe in [cooler(90.0), cooler(93.0), cooler(96.0), Recipe { grind: 10.0, ..cooler(93.0) }] {
            let found = outlook.tolerances(&recipe);
            let top = outlook.standing(&recipe).mean;
            let lost = |lever: Lever, by: f64| {
                let value = recipe.get(lever).unwrap();
                top - outlook.standing(&recipe.with(lever, value + by)).mean
            };
            for (lever, slack, reach) in [
                (Lever::Dose, found.dose_g, 3.0),
                (Lever::Yield, found.yield_g, 15.0),
                (Lever::Temperature, found.temperature_c, 6.0),
            ] {
                one_sided += usize::from(slack.less.is_some() != slack.more.is_some());
                for (sign, by) in [(-1.0, slack.less), (1.0, slack.more)] {
                    match by {
                        Some(by) => {
                            let lost = lost(lever, sign * by);
                            assert!((lost - 0.5).abs() < 0.03, "{lever:?} {sign} {by} of {recipe:?}: {lost}");
                            ends += 1;
                        }
                        None => assert!(
                            (1..=30).all(|i| lost(lever, sign * reach * f64::from(i) / 30.0) < 0.53),
                            "{lever:?} {sign} of {recipe:?}"
                        ),
                    }
                }
                let least = [slack.less, slack.more].into_iter().flatten().reduce(f64::min);
                assert_eq!(slack.either_way(), least);
            }
            // The grind in seconds: walking the scale, the nearest setting on each side that costs more than half a point
            // lies beyond the end, the last that costs less within.
            let here_s = outlook.expect(&recipe).time_s.p50;
            let sides = [(true, found.time_s.less), (false, found.time_s.more)];
            for (shorter, end_s) in sides {
                let step = if shorter == (finer == Finer::Lower) { 0.5 } else { -0.5 };
                let settings: Vec<f64> = (1..=30).map(|i| step * f64::from(i)).collect();
                let first = settings.iter().position(|by| lost(Lever::Grind, *by) >= 0.5);
                let Some(first) = first else {
                    assert!(end_s.is_none(), "{shorter} {end_s:?}");
                    continue;
                };
                let away = |at: usize| {
                    let by = at.checked_sub(1).and_then(|at| settings.get(at)).copied().unwrap_or(0.0);
                    let grind = recipe.grind + by;
                    (outlook.expect(&Recipe { grind, ..recipe }).time_s.p50 - here_s).abs()
                };
                let (within, beyond) = (away(first), away(first + 1));
                let end_s = end_s.unwrap();
                assert!(
                    (0.9 * within - 0.3..=1.1 * beyond + 0.3).contains(&end_s),
                    "{shorter} {within} {end_s} {beyond}"
                );
            }
        }
    }
    assert!(ends > 20 && one_sided > 0, "{ends} {one_sided}");
}

/// Other ideas are other recipes, each told once, and each is what its sentence says: less coffee; a worse low tail for
/// a larger chance; a better low tail.
#[test]
fn other_ideas_are_what_they_say_they_are() {
    let mut told = [0; 4];
    let cups = [(15.0, 19.0, 5), (13.5, 24.0, 6), (12.0, 29.0, 7), (10.5, 36.0, 5), (12.5, 27.0, 7)];
    for pulls in 0..=cups.len() {
        for (dose_g, yield_g) in [(18.0, 36.0), (19.5, 44.0), (16.0, 30.0)] {
            for off in [-2, 2] {
                let mut c = case(Finer::Lower);
                (c.aim.start.dose_g, c.aim.start.yield_g) = (dose_g, yield_g);
                for (label, (grind, time_s, liking)) in (1..).zip(cups.into_iter().take(pulls)) {
                    let sour = if time_s < 25.0 { 1 } else { 0 };
                    let one = shot(label, grind, time_s, &[(Attribute::Sourness, sour)], Some(liking + off));
                    c.shots.push(Shot { recipe: Recipe { dose_g, yield_g, ..one.recipe }, ..one });
                }
                for pulls_willing in [0, 6] {
                    let settings = Settings { pulls_willing, ..Settings::default() };
                    let advice = advise(&c, &settings);
                    let what =
                        format!("{pulls} pulls, {dose_g} g, {yield_g} g, {off}, {pulls_willing} willing");
                    let ideas = &advice.alternatives;
                    let all: Vec<&Recipe> = [&ideas.simplest, &ideas.cheapest, &ideas.boldest, &ideas.safest]
                        .into_iter()
                        .zip(&mut told)
                        .filter_map(|(idea, told)| {
                            *told += u32::from(idea.is_some());
                            idea.as_ref().map(|idea| &idea.recipe)
                        })
                        .chain([&advice.recipe])
                        .collect();
                    for (at, one) in all.iter().enumerate() {
                        assert!(all.iter().skip(at + 1).all(|other| other != one), "{what}: twice {one:?}");
                    }
                    let low = advice.expect.liking.p10;
                    assert!(advice.changes.len() > 1 || ideas.simplest.is_none(), "{what}");
                    if let Some(simplest) = &ideas.simplest {
                        assert_eq!(levers_between(&c.current(), &simplest.recipe), 1, "{what}");
                    }
                    if let Some(cheapest) = &ideas.cheapest {
                        assert!(cheapest.recipe.dose_g < advice.recipe.dose_g, "{what}");
                    }
                    if let Some(boldest) = &ideas.boldest {
                        assert!(
                            boldest.expect.liking.p10 < low,
                            "{what}: {boldest:?} at more risk than {low}"
                        );
                        let sure = advice.recipe == advice.best.recipe;
                        assert!(!sure || boldest.chance_near_best > advice.chance_near_best, "{what}");
                    }
                    if let Some(safest) = &ideas.safest {
                        assert!(safest.expect.liking.p10 > low, "{what}: {safest:?} at less risk than {low}");
                    }
                }
            }
        }
    }
    assert!(told.iter().all(|n| *n > 0), "each is told of now and then: {told:?}");
}
