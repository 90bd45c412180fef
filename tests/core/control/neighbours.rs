//! What the other coffees on a grinder say.

use super::*;
use thirdpull::control::calibrate::{Watch, thresholds};
use thirdpull::control::charts::Side;
use thirdpull::control::habits::Habits;
use thirdpull::control::morning::{Morning, Night};
use thirdpull::control::neighbours::{DriftNews, Neighbour, News, SHARE, heard, shared, shared_drift};
use thirdpull::control::tracker::{Belief, Tracker};
use thirdpull::control::verdict::{Action, Moment, Policy, Reason, Scatter};

const CALM: Scatter = Scatter { p: 0.0, seen: 0.0, dof: 0.0 };
const NIGHT: Night = Night { days: 1.0, warmer_k: 0.0, room: (0.0, 0.0) };

fn told(off: f64, sd: f64) -> News {
    News { off, variance: sd * sd, own: 0.0, own_size: 0.1 }
}

/// Eight estimates of one quantity whose prior is wide: their precision-weighted mean. The eight schools of Gelman et
/// al., *Bayesian Data Analysis*, 5.5: effects and standard errors, "pooled estimate 7.7, standard error 4.1"
/// \[from memory\].
#[test]
fn complete_pooling_of_the_eight_schools() {
    let (y, se) = ([28., 8., -3., 7., -1., 1., 18., 12.], [15., 10., 16., 11., 9., 11., 10., 18.]);
    let news: Vec<News> = y.iter().zip(se).map(|(y, se)| told(*y, se)).collect();
    let found = shared(0.5, 1e5, &news);
    near(found.mean, 7.7, 0.05, "mean");
    near(found.sd, 4.1, 0.05, "sd");
    assert_eq!((found.heard, found.same_way), (8, 2), "28 ± 15 and 18 ± 10 lie on the mean's side by more");
}

/// Bayes' rule by hand: one neighbour, 10 % off ± 3 %, a chance of 0.04 of a shared shift of 10 %.
#[test]
fn one_neighbour_by_hand() {
    let found = shared(0.04, 0.10, &[told(-0.10, 0.03)]);
    let density = |v: f64| (-0.5 * 0.01 / v).exp() / v.sqrt();
    let (with, without) = (0.04 * density(0.0109), 0.96 * density(0.0009));
    near(found.p, with / (with + without), 1e-12, "p");
    near(found.mean, -0.10 * 0.01 / 0.0109, 1e-12, "mean");
    near(found.sd, (0.01f64 * 0.0009 / 0.0109).sqrt(), 1e-12, "sd");

    // It may have shifted by itself, with chance 0.1 and size 10 %: two ways of either, summed by hand.
    let found = shared(0.04, 0.10, &[News { own: 0.1, ..told(-0.10, 0.03) }]);
    let with = 0.04 * (0.9 * density(0.0109) + 0.1 * density(0.0209));
    let without = 0.96 * (0.9 * density(0.0009) + 0.1 * density(0.0109));
    near(found.p, with / (with + without), 1e-12, "p");
    // Nobody heard: the prior.
    let prior = shared(0.04, 0.10, &[]);
    assert!((prior.p - 0.04).abs() < 1e-12 && prior.mean == 0.0 && (prior.sd - 0.10).abs() < 1e-12);
    assert_eq!(prior.heard, 0);
}

/// The order of the news does not matter, agreement counts, contradiction speaks against.
#[test]
fn agreement_counts_and_order_does_not() {
    let n = |off: f64| News { own: 0.09, ..told(off, 0.035) };
    let p = |list: &[f64]| shared(0.04, 0.1, &list.iter().map(|v| n(*v)).collect::<Vec<_>>());
    let (one, two, three) = (p(&[-0.1]), p(&[-0.1, -0.1]), p(&[-0.1, -0.1, -0.1]));
    assert!(one.p < two.p && two.p < three.p && three.p > 0.98, "{one:?} {two:?} {three:?}");
    assert!(three.sd < two.sd && two.sd < one.sd);
    let (a, b) = (p(&[-0.1, 0.02, -0.12]), p(&[-0.12, -0.1, 0.02]));
    near(a.p, b.p, 1e-12, "p");
    near(a.mean, b.mean, 1e-12, "mean");
    let against = p(&[-0.1, 0.0, 0.0]);
    assert!(against.p < one.p && against.p < 0.04, "{against:?}");
    // Many neighbours stay quick and sane, nonsense is passed over.
    let many = p(&[-0.1; 40]);
    assert!(many.p > 0.999 && (many.mean + 0.1).abs() < 0.01, "{many:?}");
    let odd = shared(0.04, 0.1, &[n(f64::NAN), News { variance: 0.0, ..n(0.0) }, n(-0.1)]);
    near(odd.p, one.p, 1e-12, "only the sane one is heard");
    assert_eq!(odd.heard, 1);
}

fn habits() -> Habits {
    Habits { sigma: 0.04, sigma_dof: 60.0, ageing: 0.0, ageing_sd: 0.003, ..Habits::flow_time() }
}

fn settled() -> Tracker {
    Tracker::new(habits(), Belief { level: 0.0, level_sd: 0.012, slope: 0.0, slope_sd: 0.002 })
}

fn opened(pulls: &[f64], others: &[&Morning]) -> Morning {
    let policy = Policy { flag: 0.6, ..Policy::default() };
    let others: Vec<_> = others.iter().map(|m| m.as_neighbour()).collect();
    let mut morning = Morning::open(settled(), NIGHT, &policy, heard(&habits(), &others, f64::INFINITY));
    for (at, y) in (0u32..).zip(pulls) {
        morning.pull(f64::from(at) * 60.0, *y, 1.0);
    }
    morning
}

/// The news of pulls that are all well prepared is their mean, as sure as their number and what was expected.
#[test]
fn news_is_the_mean_of_the_pulls() {
    let quiet = Habits {
        bad_share: 0.0,
        wander_pull: 0.0,
        wander_night: 0.0,
        drift_night: 0.0,
        jump_pull: 0.0,
        ..habits()
    };
    let start = Belief { level: 0.01, level_sd: 0.02, slope: 0.0, slope_sd: 0.0 };
    let mut morning = Morning::open(Tracker::new(quiet, start), NIGHT, &Policy::default(), None);
    assert!(morning.as_neighbour().news(f64::INFINITY).is_none(), "nothing before the first pull");
    morning.pull(0.0, -0.05, 1.0);
    morning.pull(60.0, -0.09, 1.0);
    let news = morning.as_neighbour().news(f64::INFINITY).expect("it was pulled");
    near(news.off, -0.07 - 0.01, 1e-9, "off");
    near(news.variance, 0.0004 + quiet.noise_variance() / 2.0, 1e-9, "variance");
    near(news.own, quiet.jump_night * (1.0 - SHARE), 1e-12, "own");
    let early = morning.as_neighbour().news(30.0).expect("the first was pulled");
    near(early.off, -0.06, 1e-9, "only what was pulled before");
}

/// Two neighbours 10 % fast make a start before the first pull; one quiet pull of its own makes it doubtful again; and
/// pulls that alone are no more than odd are found to be real.
#[test]
fn neighbours_are_heard_before_and_after() {
    let first = opened(&[-0.11, -0.10], &[]);
    let second = opened(&[-0.10, -0.12], &[]);
    let third = opened(&[], &[&first, &second]);
    let start = third.start();
    assert!(start.clicks_coarser < 0 || start.expected < -0.06, "{start:?}");
    assert!(
        start.words(1, 0.0).contains("other coffees have been running faster"),
        "{}",
        start.words(1, 0.0)
    );

    let alone = opened(&[-0.07, -0.06], &[]);
    let among = opened(&[-0.07, -0.06], &[&first, &second]);
    let verdict = among.judge(Moment::Opening(2), CALM);
    assert!(!matches!(alone.judge(Moment::Opening(2), CALM).action, Action::Move { .. }));
    assert!(matches!(verdict.action, Action::Move { clicks_coarser: -1, .. }), "{verdict:?}");
    assert!(
        verdict.reasons.iter().any(|r| matches!(r, Reason::Shared { same_way: 2, heard: 2, p } if *p > 0.8)),
        "{verdict:?}"
    );
    let words: Vec<String> = verdict.reasons.iter().map(|r| r.words("flow time")).collect();
    assert!(words[1].starts_with("2 of 2 other coffees on this grinder went the same way"), "{words:?}");

    // Heard afterwards is the same as heard before.
    let mut later = alone.clone();
    let others = [first.as_neighbour(), second.as_neighbour()];
    assert!(later.hear(heard(&habits(), &others, f64::INFINITY)));
    near(later.tracker().evidence().p_shift, among.tracker().evidence().p_shift, 1e-12, "p");
    assert!(!later.hear(heard(&habits(), &others, f64::INFINITY)), "nothing new");

    // Quiet neighbours point at these beans.
    let (calm, calmer) = (opened(&[0.01, -0.01], &[]), opened(&[0.0, 0.02], &[]));
    let own = opened(&[-0.13, -0.12], &[&calm, &calmer]).judge(Moment::Opening(2), CALM);
    assert!(own.reasons.contains(&Reason::Alone { heard: 2 }), "{own:?}");
    assert!(matches!(own.action, Action::Move { .. }), "its own shift is still found: {own:?}");
}

/// The belief about a shared drift is the normalised product of prior and likelihoods, here summed on a grid.
#[test]
fn a_shared_drift_is_the_product_of_what_all_say() {
    let news = [(0.4, -0.03, 0.01), (-0.7, -0.012, 0.02), (1.3, -0.025, 0.006)]
        .map(|(log_gain, mean, sd)| DriftNews { age: 2, log_gain, mean, variance: sd * sd });
    let normal = |e: f64, sd: f64| (-0.5 * (e / sd).powi(2)).exp() / sd / (2.0 * std::f64::consts::PI).sqrt();
    let (step, mut whole, mut first, mut second) = (1e-5, 0.0, 0.0, 0.0);
    for i in -20_000..=20_000 {
        let d = f64::from(i) * step;
        let f = normal(d, 0.02)
            * news.iter().map(|n| n.log_gain.exp() * normal(d - n.mean, n.variance.sqrt())).product::<f64>();
        whole += f * step;
        first += f * d * step;
        second += f * d * d * step;
    }
    let other = DriftNews { age: 3, log_gain: 9.0, mean: 0.1, variance: 1e-4 };
    let wild = DriftNews { age: 2, log_gain: f64::NAN, mean: 0.1, variance: 1e-4 };
    let found = shared_drift(2, 0.02, &[&news[..], &[other, wild]].concat()).expect("three speak of it");
    near(found.log_odds, whole.ln(), 1e-9, "odds");
    near(found.mean, first / whole, 1e-9, "mean");
    near(found.variance, second / whole - (first / whole).powi(2), 1e-12, "variance");
    assert_eq!(found.same_way, 2, "the second lies within its own doubt");
    assert_eq!(shared_drift(1, 0.02, &news), None);
}

/// Two coffees whose level and noise are known, three days after a drift may have set in: its probability by Bayes' rule,
/// each way summed on a grid, is the tracker's, but for the small wander of the slope that the tracker allows.
#[test]
fn probability_of_a_shared_drift_by_hand() {
    let still = Habits {
        sigma: 0.03,
        sigma_dof: 1e6,
        bad_share: 0.0,
        wander_pull: 0.0,
        wander_night: 0.0,
        jump_night: 0.0,
        jump_pull: 0.0,
        drift_night: 0.05,
        drift_size: 0.02,
        ageing: 0.0,
        ageing_sd: 0.0,
        ..Habits::flow_time()
    };
    let days = [[-0.03, -0.01], [-0.02, -0.05], [-0.07, -0.06]];
    let beside = [[-0.01, -0.04], [-0.03, -0.06], [-0.05, -0.04]];
    let on_target = Tracker::new(still, Belief::on_target(&still, 0.0));
    // A drift may have set in before the first day only.
    let follow = |days: &[[f64; 2]]| {
        let mut tracker = on_target.clone();
        for (n, pulls) in days.iter().enumerate() {
            tracker.overnight(1.0, 0.0, 0.0);
            if n == 0 {
                tracker.set_habits(Habits { drift_night: 0.0, ..still });
            }
            pulls.iter().for_each(|v| tracker.pull(*v, 1.0));
        }
        tracker
    };
    let mut other = follow(&beside[..2]);
    other.overnight(1.0, 0.0, 0.0);
    let today = beside[2].iter().zip([0.0, 60.0]).map(|(v, at)| (at, *v, 1.0)).collect();
    let heard = heard(&still, &[Neighbour::new(&other, today)], f64::INFINITY).expect("there is one");
    let mut tracker = follow(&days[..2]);
    tracker.overnight_among(1.0, 0.0, 0.0, &heard);
    days[2].iter().for_each(|v| tracker.pull(*v, 1.0));

    let likely = |days: &[[f64; 2]; 3], d: f64| {
        let off = (1u32..).zip(days).flat_map(|(n, pulls)| pulls.map(|v| v - f64::from(n) * d));
        (-0.5 * off.map(|e| e * e).sum::<f64>() / still.noise_variance()).exp()
    };
    let (mut both, mut one, mut two) = (0.0, 0.0, 0.0);
    for i in -20_000..=20_000 {
        let d = f64::from(i) * 1e-5;
        let prior = (-0.5 * (d / still.drift_size).powi(2)).exp() * 1e-5
            / (still.drift_size * (2.0 * std::f64::consts::PI).sqrt());
        both += prior * likely(&days, d) * likely(&beside, d);
        one += prior * likely(&days, d);
        two += prior * likely(&beside, d);
    }
    assert!(two > likely(&beside, 0.0), "the other drifts too");
    let chance = still.drift_night / (1.0 - still.drift_night);
    let shared = chance * both / (likely(&days, 0.0) * likely(&beside, 0.0));
    let own = chance * one / likely(&days, 0.0);
    let e = tracker.evidence();
    // No jumps, so all that is shared is the drift.
    near(e.p_shared, shared / (1.0 + own + shared), 0.01, "shared");
    near(e.p_drift, (own + shared) / (1.0 + own + shared), 0.01, "drift");
    println!("shared {:.4}, drift {:.4}, alone {:.4}", e.p_shared, e.p_drift, own / (1.0 + own));
    assert!(e.p_drift > own / (1.0 + own) + 0.1, "the other's word counts");
}

/// Three days of a slow drift that all three coffees share: more is found of it together than alone, it is called a drift,
/// and the reason counts the others that go the same way.
#[test]
fn a_drift_that_all_share_is_told_with_the_others() {
    let h = habits();
    let days = [[-0.02, -0.025], [-0.045, -0.035], [-0.06, -0.065]];
    let policy = Policy::default();
    let known = Tracker::new(h, Belief { level: 0.0, level_sd: 0.01, slope: 0.0, slope_sd: 0.001 });
    let before = |off: f64| {
        let mut tracker = known.clone();
        for pulls in &days[..2] {
            tracker.overnight(1.0, 0.0, 0.0);
            pulls.iter().for_each(|v| tracker.pull(v + off, 1.0));
        }
        tracker
    };
    let morning = |off: f64, others: &[Neighbour]| {
        let mut morning = Morning::open(before(off), NIGHT, &policy, heard(&h, others, f64::INFINITY));
        days[2].iter().for_each(|v| morning.pull(0.0, v + off, 1.0));
        morning
    };
    let others = [0.004, -0.003].map(|off| morning(off, &[]).as_neighbour());
    let (alone, among) = (morning(0.0, &[]), morning(0.0, &others));
    let (e, together) = (alone.tracker().evidence(), among.tracker().evidence());
    println!("alone {e:?}\ntogether {together:?}");
    assert!(together.p_shift > e.p_shift && together.p_shift > 0.9, "{together:?}");
    assert!(together.p_drift > 0.5 * together.p_shift && together.slope < -0.012, "{together:?}");
    let verdict = among.judge(Moment::Opening(2), CALM);
    assert_eq!(verdict.shift_found, Some(Side::Low));
    let shared =
        verdict.reasons.iter().find(|r| matches!(r, Reason::DriftShared { .. })).expect("it is told");
    assert!(matches!(shared, Reason::DriftShared { same_way: 2, heard: 2, p } if *p > 0.5), "{shared:?}");
    let words = shared.words("flow time");
    assert!(
        words.starts_with("2 of 2 other coffees on this grinder go the same way from day to day"),
        "{words}"
    );

    // Others that stay speak against it.
    let calm = [0.0, 0.01].map(|off| {
        let mut tracker = known.clone();
        for _ in 0..2 {
            tracker.overnight(1.0, 0.0, 0.0);
            [off, -off].iter().for_each(|v| tracker.pull(*v, 1.0));
        }
        let mut morning = Morning::open(tracker, NIGHT, &policy, None);
        [0.01, -0.005].iter().for_each(|v| morning.pull(0.0, *v, 1.0));
        morning.as_neighbour()
    });
    let beside = morning(0.0, &calm).tracker().evidence();
    assert!(beside.p_shared < 0.5 * together.p_shared && beside.p_shift < together.p_shift, "{beside:?}");
}

/// Over simulated mornings of three coffees, shared and own jumps at the habits' own rates, of those given about p a share
/// of about p had shifted. (Reliability, Murphy 1973.) Seed 23.
#[test]
fn stated_probabilities_hold_among_neighbours() {
    let h = Habits {
        sigma_dof: 1e6,
        drift_night: 0.0,
        jump_pull: 0.0,
        jump_night: 0.2,
        ageing_sd: 0.0,
        ..habits()
    };
    let mut draws = Draws::new(23);
    let (mut bins, mut noticed) = ([(0.0, 0.0, 0u32); 5], [(0.0, 0.0, 0u32); 5]);
    let known = Tracker::new(h, Belief { level: 0.0, level_sd: 0.015, slope: 0.0, slope_sd: 0.0 });
    for _ in 0..2500 {
        let common = draws.uniform() < h.jump_night * SHARE;
        let by = h.jump_size * draws.normal();
        let mut shifted = [common; 3];
        let mut moved = [if common { by } else { 0.0 }; 3];
        let mut mornings = Vec::new();
        for (shifted, moved) in shifted.iter_mut().zip(&mut moved) {
            let mut level = 0.015 * draws.normal() + h.wander_night * draws.normal();
            if common {
                level += by;
            }
            if draws.uniform() < h.jump_night * (1.0 - SHARE) {
                *shifted = true;
                let own = h.jump_size * draws.normal();
                *moved += own;
                level += own;
            }
            let mut morning = Morning::open(known.clone(), NIGHT, &Policy::default(), None);
            for i in 0..2 {
                let wide = if draws.uniform() < h.bad_share { h.bad_width } else { 1.0 };
                morning.pull(f64::from(i), level + h.sigma * wide * draws.normal(), 1.0);
            }
            mornings.push(morning);
        }
        for c in 0..3 {
            let others: Vec<_> = (0..3).filter(|n| *n != c).map(|n| mornings[n].as_neighbour()).collect();
            let mut one = mornings[c].clone();
            one.hear(heard(&h, &others, f64::INFINITY));
            let e = one.tracker().evidence();
            // A shift that can be noticed is one of three hundredths of the time, a third of a usual one.
            let told =
                [(e.p_shift, shifted[c], &mut bins), (e.p_noticeable, moved[c].abs() > 0.03, &mut noticed)];
            for (p, was, bins) in told {
                let bin = &mut bins[((p * 5.0) as usize).min(4)];
                bin.0 += p;
                bin.1 += f64::from(u8::from(was));
                bin.2 += 1;
            }
        }
    }
    for (p, seen, n) in bins.into_iter().chain(noticed) {
        let n = f64::from(n);
        let (p, seen) = (p / n, seen / n);
        // Three coffees of a morning share their luck: a third as many count.
        let se = (p * (1.0 - p) / n * 3.0).sqrt();
        println!("stated {p:.3} seen {seen:.3} ± {se:.3} in {n}");
        near(seen, p, 3.0 * se + 0.02, "reliability");
    }
}

/// A fresh quiet world keeps to what was asked for with neighbours too, and a coffee alone is judged as ever.
#[test]
fn thresholds_hold_among_neighbours() {
    let watch =
        Watch { opening_pulls: 2, day_pulls: 0, neighbours: 2, openings_a_month: 30.0, false_a_month: 2.0 };
    let found = thresholds(habits(), &watch, &Policy::default(), 6000, 3);
    assert!(found.false_a_month <= 2.0 && found.false_a_month > 0.8, "{found:?}");
    assert_eq!(thresholds(habits(), &watch, &Policy::default(), 6000, 3), found, "same seed, same answer");
    assert!(heard(&habits(), &[], f64::INFINITY).is_none());
}
