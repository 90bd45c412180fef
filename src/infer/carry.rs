//! What earlier bags on the same gear and by the same drinker tell about a new one: each unknown is carried over
//! with its own faithfulness (a grinder's scale wholly, a drinker's ideal mostly, a bag's extraction little).

use super::evidence::{Noise, Observed};
use super::fit::{Evidence, PriorForm, fit_from};
use super::prior::{Gaussian, START_COARSER_SD, prior};
use super::{BagFacts, Frame, Shape, Shot, UNKNOWNS, Unknown};
use crate::domain::Gear;

/// Pulls of an earlier bag that are heard: its last ones, which are nearest to the new bag.
const MOST_PULLS: usize = 60;

/// An earlier bag and its pulls.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierEvidence {
    /// The bag.
    pub bag: BagFacts,
    /// Its pulls, oldest first.
    pub shots: Vec<Shot>,
}

/// Correlation of an unknown, believed within `sd`, between two bags of the same station and drinker.
fn faithfulness(unknown: Unknown, sd: f64) -> f64 {
    use Unknown as U;
    match unknown {
        U::LnSizePerUnit => 0.98,
        U::LnExponent | U::LnCurvature | U::DeadShare => 0.85,
        U::TimeDose | U::TimeYield | U::TimeTemperature => 0.8,
        U::TimeAge => 0.5,
        // Where nobody named a setting the first bag's is anybody's guess, but the next bag's is as near to it as ever.
        U::StartCoarser => {
            let (named, narrower) = (0.75, START_COARSER_SD.0 / sd);
            libm::sqrt(1.0 - (1.0 - named * named) * narrower * narrower)
        }
        U::Exhaustion | U::Extent => 0.45,
        U::ExtentRatio | U::ExtentTime | U::ExtentFineness | U::ExtentTemperature => 0.75,
        U::UnevenOnset | U::LnUnevenLoss | U::TimeUneven => 0.6,
        U::LnIdealStrength => 0.93,
        U::IdealExtraction => 0.88,
        U::LnStrengthTolerance
        | U::LnBalanceTolerance
        | U::Asymmetry
        | U::StrengthAsymmetry
        | U::LnPower
        | U::Tilt => 0.9,
        U::TopLiking => 0.7,
        U::BalanceTemperature | U::BalanceTime | U::BalanceRatio | U::BalanceAge => 0.7,
        U::IdealTemperature | U::LnTemperatureTolerance => 0.8,
        U::UnevenCost => 0.8,
        _ => 0.95,
    }
}

/// The belief about a new bag, of prior mean `mean` and deviations `sd`, given the one about the last, of prior mean
/// `last_mean`: mean and covariance shrink toward the prior by each unknown's faithfulness ρ, and lost variance is put
/// back: C′ = R C R + (1 − R²) S².
fn hand_over(
    last: &Gaussian,
    last_mean: &[f64; UNKNOWNS],
    mean: &[f64; UNKNOWNS],
    sd: &[f64; UNKNOWNS],
) -> Gaussian {
    let rho: Vec<f64> = Unknown::ALL.iter().zip(sd).map(|(u, s)| faithfulness(*u, *s)).collect();
    let learnt = last.mean.iter().zip(last_mean).map(|(own, prior)| own - prior);
    let mean = learnt.zip(mean).zip(&rho).map(|((learnt, prior), r)| prior + r * learnt).collect();
    let mut covariance = last.covariance.clone();
    for (row, ri) in covariance.chunks_exact_mut(UNKNOWNS).zip(&rho) {
        for (slot, rj) in row.iter_mut().zip(&rho) {
            *slot *= ri * rj;
        }
    }
    for (i, (r, s)) in rho.iter().zip(sd).enumerate() {
        if let Some(slot) = covariance.get_mut(i * UNKNOWNS + i) {
            *slot += (1.0 - r * r) * s * s;
        }
    }
    Gaussian { mean, covariance }
}

/// The belief about `bag` before its first pull, for one variant, after all `earlier` bags in their order; with it
/// the log evidence that those bags give for the variant.
#[must_use]
pub fn starting_beliefs(
    bag: &BagFacts,
    gear: &Gear,
    frame: &Frame,
    shape: &Shape,
    earlier: &[EarlierEvidence],
    noise: &Noise,
) -> (Gaussian, f64) {
    // What the last bag that told anything taught, and the prior mean of that bag.
    let mut taught: Option<(Gaussian, [f64; UNKNOWNS])> = None;
    let begin = |bag: &BagFacts, taught: &Option<(Gaussian, [f64; UNKNOWNS])>| {
        let (mean, sd) = prior(bag, gear, frame, shape);
        let start = match taught {
            Some((belief, last_mean)) => hand_over(belief, last_mean, &mean, &sd),
            None => Gaussian::independent(&mean, &sd),
        };
        (start, mean)
    };
    let mut evidence = 0.0;
    for one in earlier {
        let shots = one.shots.get(one.shots.len().saturating_sub(MOST_PULLS)..).unwrap_or_default();
        let usable = shots.iter().any(|shot| shot.tells());
        if !usable {
            continue;
        }
        let (start, own_mean) = begin(&one.bag, &taught);
        let first_day = shots.iter().find_map(|s| s.days_since_roast).or(one.bag.days_since_roast);
        let own_frame = Frame { day: first_day.unwrap_or(0.0), ..*frame };
        let newest = shots.iter().filter_map(|s| s.days_since_roast).reduce(f64::max);
        let observed: Vec<Observed> = shots.iter().map(|s| Observed::new(s, &own_frame, newest)).collect();
        let fitted = PriorForm::new(&start).and_then(|form| {
            let all = Evidence { observed: &observed, noise, has_temperature: frame.temperature_settable };
            fit_from(&form.mean, &form, shape, &all, 25, None)
        });
        if let Some(fit) = fitted {
            let covariance = crate::maths::dense::inverse(&fit.precision_factor, UNKNOWNS);
            evidence += fit.log_evidence - libm::log(shape.weight);
            taught = Some((Gaussian { mean: fit.mode, covariance }, own_mean));
        }
    }
    (begin(bag, &taught).0, evidence)
}

#[cfg(test)]
mod tests {
    use super::super::SHAPES;
    use super::super::samples::{FIRST, gear};
    use super::*;
    use crate::domain::{Roast, StartRecipe};

    /// Prior means and deviations of a bag of such a roast.
    fn priors(roast: Roast) -> ([f64; UNKNOWNS], [f64; UNKNOWNS]) {
        let (gear, bag) = (gear(), BagFacts { roast: Some(roast), ..BagFacts::default() });
        let start = StartRecipe {
            grind: Some(FIRST.grind),
            dose_g: FIRST.dose_g,
            yield_g: FIRST.yield_g,
            temperature_c: FIRST.temperature_c,
        };
        prior(&bag, &gear, &Frame::new(&gear, &start, None), &SHAPES[0])
    }

    fn close(what: &str, a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12 * (1.0 + b.abs()), "{what}: {a} but {b}");
    }

    /// A bag that taught nothing leaves the next, of another roast, its own prior.
    #[test]
    fn a_bag_that_taught_nothing_leaves_the_next_its_prior() {
        let ((mean, sd), (dark, dark_sd)) = (priors(Roast::Medium), priors(Roast::Dark));
        assert_ne!(mean, dark);
        let next = hand_over(&Gaussian::independent(&mean, &sd), &mean, &dark, &dark_sd);
        let own = Gaussian::independent(&dark, &dark_sd);
        next.mean.iter().zip(&own.mean).for_each(|(a, b)| close("mean", *a, *b));
        next.covariance.iter().zip(&own.covariance).for_each(|(a, b)| close("covariance", *a, *b));
    }

    /// What a bag taught is handed over by its correlation ρ between bags: of two normals with deviation S the second, given
    /// the first as x with variance v, has mean ρ·x and variance ρ²·v + (1 − ρ²)·S², and what two unknowns were known by
    /// together shrinks by both of theirs (conditional normals, any textbook).
    #[test]
    fn what_was_taught_is_handed_over_by_its_correlation() {
        let (mean, sd) = priors(Roast::Medium);
        let mut taught = Gaussian::independent(&mean, &sd);
        let (i, j) = (Unknown::LnSizePerUnit.at(), Unknown::Extent.at());
        taught.mean[i] += 0.3;
        taught.mean[j] -= 0.05;
        for (a, b, of) in [(i, i, 0.01), (j, j, 0.002), (i, j, 0.001), (j, i, 0.001)] {
            taught.covariance[a * UNKNOWNS + b] = of;
        }
        let next = hand_over(&taught, &mean, &mean, &sd);
        let covariance = |i: usize, j: usize| next.covariance[i * UNKNOWNS + j];
        let (of_i, of_j) = (0.98, 0.45);
        close("mean", next.mean[i], mean[i] + of_i * 0.3);
        close("mean", next.mean[j], mean[j] - of_j * 0.05);
        close("variance", covariance(i, i), of_i * of_i * 0.01 + (1.0 - of_i * of_i) * sd[i] * sd[i]);
        close("variance", covariance(j, j), of_j * of_j * 0.002 + (1.0 - of_j * of_j) * sd[j] * sd[j]);
        close("covariance", covariance(i, j), of_i * of_j * 0.001);
        close("covariance", covariance(j, i), covariance(i, j));
    }

    /// A setting that nobody named is handed over as one that somebody did: as much of it is left open.
    #[test]
    fn a_setting_nobody_named_is_left_as_open_as_one_that_was() {
        let (named, unnamed) = START_COARSER_SD;
        let open = |sd: f64| {
            let rho = faithfulness(Unknown::StartCoarser, sd);
            libm::sqrt(1.0 - rho * rho) * sd
        };
        close("open", open(unnamed), open(named));
        assert!(open(named) > 0.1);
    }
}
