//! One pull as it happens and as the person writes it down, and how likely a record is under a truth.

use super::setup::{BagFacts, Setup};
use super::{Cup, Truth};
use crate::protocol::{Recipe, Shot, Taste, tidy};
use crate::rng::{Rng, phi};

/// Share of pulls spoiled by bad preparation.
pub const SPOILED: f64 = 0.05;
const TDS_NOISE: f64 = 0.15;
const YIELD_NOISE_G: f64 = 0.5;
const DOSE_NOISE_G: f64 = 0.08;
/// Mean effects of bad preparation: log time, share of extraction, sour, bitter, liking.
const BAD: (f64, f64, f64, f64, f64) = (-0.4, 0.88, 1.1, 1.0, -2.2);

/// When a pull is made.
#[derive(Debug, Clone, Copy)]
pub struct When {
    /// Days since the bag was opened.
    pub day: f64,
    /// Number of the pull within its sitting.
    pub of_sitting: usize,
}

/// Draws a shot.
pub fn pull(truth: &Truth, setup: &Setup, facts: &BagFacts, r: &Recipe, when: When, rng: &mut Rng) -> Shot {
    // Fixed order of draws, so that agents who differ in one pull meet the same luck in the next.
    let [e_time, e_yield, e_dose, e_tds, e_drip, e_like, hour] = std::array::from_fn(|_| rng.normal());
    let e_marks: [f64; 6] = std::array::from_fn(|_| rng.normal());
    let [u_spoil, u_bad, u_give, u_like, u_spurt] = std::array::from_fn(|_| rng.uniform());
    let spoiled = u_spoil < SPOILED;
    let bad = if spoiled { 0.5 + u_bad } else { 0.0 };

    let gear = &setup.gear;
    let dose_g = tidy(((r.dose_g + DOSE_NOISE_G * e_dose) * 10.0).round() / 10.0);
    let yield_g = tidy(((r.yield_g + YIELD_NOISE_G * e_yield) * 10.0).round() / 10.0);
    let real = Recipe { dose_g, yield_g, ..*r };
    // Grinder and machine warm up during a sitting; the hour adds its own.
    let warm = 0.03 * (1.0 - (-(when.of_sitting as f64) / 2.0).exp()) + 0.015 * hour;
    let cup = worsen(truth.cup(&real, truth.ease(when.day) * warm.exp()), bad);
    let time_s = cup.time_s * (truth.time_noise * e_time).exp();
    let round = |v: f64| if setup.tenths { tidy((v * 10.0).round() / 10.0) } else { v.round() };
    let mut shot = Shot {
        grind: r.grind,
        dose_g,
        yield_g,
        temperature_c: r.temperature_c,
        time_s: round(time_s).max(1.0),
        days_since_roast: facts.days_since_roast.map(|d| tidy(d + when.day)),
        ..Shot::default()
    };
    if cup.choked {
        shot.choked = true;
        shot.time_s = round(time_s.min(60.0));
        shot.yield_g = tidy((yield_g * 0.2).round().max(5.0));
        return shot;
    }
    if setup.notes_drip {
        shot.first_drip_s =
            Some(round((cup.first_drip_s * (0.08 * e_drip).exp()).min(0.8 * time_s)).max(1.0));
    }
    if gear.refractometer {
        shot.tds_pct = Some(tidy(((cup.tds_pct + TDS_NOISE * e_tds).max(0.5) * 100.0).round() / 100.0));
    }
    shot.spurting = u_spurt < 0.7 * cup.uneven * cup.uneven + if spoiled { 0.35 } else { 0.0 };
    let mut d = truth.deviations(&cup);
    d[0] += BAD.2 * bad;
    d[1] += BAD.3 * bad;
    let drinker = &truth.drinker;
    // A mark is now and then left out.
    let mut marks = [None; 6];
    for i in 0..6 {
        let skipped = u_give < 0.12 && i == ((u_give / 0.12 * 6.0) as usize).min(5);
        if setup.gives[i] && !skipped {
            marks[i] = Some(drinker.mark(d[i] + drinker.mark_noise * e_marks[i]));
        }
    }
    let mut taste = Taste::default();
    taste.set_marks(marks);
    let mean = truth.cup_liking(&cup) + BAD.4 * bad;
    taste.liking =
        (u_like > 0.04).then_some((mean + drinker.liking_noise * e_like).round().clamp(1.0, 9.0) as i32);
    shot.taste = Some(taste);
    shot
}

/// A badly prepared pull: faster, uneven, less extracted. `bad` 0 leaves the cup as it is.
fn worsen(mut cup: Cup, bad: f64) -> Cup {
    if bad > 0.0 {
        cup.time_s *= (BAD.0 * bad).exp();
        let kept = 1.0 - (1.0 - BAD.1) * bad;
        cup.extraction_pct *= kept;
        cup.tds_pct *= kept;
    }
    cup
}

/// Log likelihood of a recorded shot `day` days after opening, bad preparation allowed for.
pub fn log_likelihood(truth: &Truth, shot: &Shot, day: f64) -> f64 {
    let r = Recipe {
        grind: shot.grind,
        dose_g: shot.dose_g,
        yield_g: shot.yield_g,
        temperature_c: shot.temperature_c,
    };
    if shot.choked {
        // The yield written down is not the one aimed at: judge by the usual ratio.
        let aimed = Recipe { yield_g: 2.0 * shot.dose_g, ..r };
        let cup = truth.cup(&aimed, truth.ease(day));
        return if cup.choked { 0.0 } else { -3.0 - 0.1 * (60.0 - cup.time_s).max(0.0) };
    }
    let cup = truth.cup(&r, truth.ease(day) * 1.02);
    let good = (1.0 - SPOILED).ln() + log_good(truth, shot, &cup, 0.0, 0.022);
    let bad = SPOILED.ln() + log_good(truth, shot, &worsen(cup, 1.0), 1.0, 0.13);
    let top = good.max(bad);
    top + ((good - top).exp() + (bad - top).exp()).ln()
}

fn log_good(truth: &Truth, shot: &Shot, cup: &Cup, bad: f64, extra: f64) -> f64 {
    if cup.choked {
        return -25.0;
    }
    let drinker = &truth.drinker;
    let mut sum =
        log_normal_density((shot.time_s / cup.time_s).ln(), truth.time_noise.hypot(extra).hypot(0.01));
    if let Some(drip) = shot.first_drip_s {
        sum += log_normal_density((drip / cup.first_drip_s.min(0.8 * cup.time_s)).ln(), 0.11);
    }
    if let Some(tds) = shot.tds_pct {
        sum += log_normal_density(tds - cup.tds_pct, TDS_NOISE + 0.5 * bad);
    }
    let Some(taste) = shot.taste else { return sum };
    let mut d = truth.deviations(cup);
    d[0] += BAD.2 * bad;
    d[1] += BAD.3 * bad;
    for (i, mark) in taste.marks().iter().enumerate() {
        if let Some(m) = mark {
            let p = drinker.mark_chances(d[i])[(m + 2).clamp(0, 4) as usize];
            sum += (p + 1e-4).ln();
        }
    }
    if let Some(l) = taste.liking {
        let mean = truth.cup_liking(cup) + BAD.4 * bad;
        let sd = drinker.liking_noise.hypot(0.6 * bad);
        let up = if l >= 9 { 1.0 } else { phi((f64::from(l) + 0.5 - mean) / sd) };
        let down = if l <= 1 { 0.0 } else { phi((f64::from(l) - 0.5 - mean) / sd) };
        sum += (up - down + 1e-5).ln();
    }
    sum
}

/// Log of a normal density around 0.
fn log_normal_density(x: f64, sd: f64) -> f64 {
    -0.5 * (x / sd).powi(2) - sd.ln() - 0.918_938_533_204_672_8
}
