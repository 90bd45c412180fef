//! The mixed model against published variance components.

use super::*;
use thirdpull::control::mixed::{Factor, MixedFault, fit};

/// Yield of dyestuff from six batches, five samples each: O. L. Davies (ed.), *Statistical Methods in Research and
/// Production*, 3rd ed. 1957, section 6.4, as shipped with the R package lme4.
const DYESTUFF: [f64; 30] = [
    1545., 1440., 1440., 1520., 1580., 1540., 1555., 1490., 1560., 1495., 1595., 1550., 1605., 1510., 1560.,
    1445., 1440., 1595., 1465., 1545., 1595., 1630., 1515., 1635., 1625., 1520., 1455., 1450., 1480., 1445.,
];

/// Diameters of growth inhibition, 24 plates by 6 samples of penicillin: Davies and Goldsmith (eds), *Statistical
/// Methods in Research and Production*, 4th ed. 1972, section 6.6, as shipped with the R package lme4.
const PENICILLIN: [u8; 144] = [
    27, 23, 26, 23, 23, 21, 27, 23, 26, 23, 23, 21, 25, 21, 25, 24, 24, 20, 26, 23, 25, 23, 23, 20, 25, 22,
    26, 22, 23, 20, 24, 22, 25, 23, 22, 19, 24, 20, 23, 21, 22, 19, 26, 22, 26, 24, 24, 21, 24, 21, 24, 22,
    22, 20, 24, 21, 24, 23, 22, 19, 26, 23, 26, 24, 24, 21, 25, 22, 26, 24, 24, 20, 26, 24, 26, 24, 25, 22,
    26, 23, 26, 23, 23, 20, 26, 23, 25, 24, 24, 22, 25, 22, 25, 23, 23, 20, 25, 21, 24, 23, 23, 20, 25, 22,
    24, 23, 23, 19, 24, 21, 23, 21, 21, 19, 26, 23, 26, 24, 24, 21, 25, 21, 24, 22, 22, 18, 25, 22, 25, 22,
    22, 20, 24, 21, 24, 22, 24, 19, 24, 21, 24, 22, 21, 18,
];

fn penicillin() -> (Vec<f64>, Vec<usize>, Vec<usize>) {
    let y = PENICILLIN.iter().map(|v| f64::from(*v)).collect();
    ((y), (0..144).map(|i| i / 6).collect(), (0..144).map(|i| i % 6).collect())
}

/// Published result of the dyestuff example (D. Bates et al., lme4): variances 1764 and 2451, mean 1527.5 with
/// standard error 19.38, deviance 319.654; computed again with R 4.2.2.
#[test]
fn one_way_dyestuff() {
    let batch: Vec<usize> = (0..30).map(|i| i / 5).collect();
    let got = fit(&DYESTUFF, &[], &[Factor { name: "batch", level: batch }]).unwrap();
    assert!(got.settled, "{} steps", got.steps);
    near(got.factors[0].variance, 1764.05, 0.01, "between");
    near(got.residual, 2451.25, 0.01, "within");
    near(got.fixed[0], 1527.5, 1e-6, "mean");
    near(got.fixed_se[0], 19.383_412, 1e-5, "its error");
    near(got.deviance, 319.654_276_842, 1e-6, "deviance");
    let want = [-17.606_851_4, 0.391_263_4, 28.562_225_6, -23.084_538_5, 56.733_187_7, -44.995_286_8];
    for (g, w) in got.factors[0].effect.iter().zip(want) {
        near(*g, w, 1e-4, "batch");
    }
}

/// The restricted likelihood of a balanced one-way layout has a closed form (Searle, Casella and McCulloch,
/// *Variance Components*, 1992, 3.8 \[memory\]); the ends of the range must lie 3.841 above its least value.
#[test]
fn profile_range_by_closed_form() {
    let batch: Vec<usize> = (0..30).map(|i| i / 5).collect();
    let got = fit(&DYESTUFF, &[], &[Factor { name: "batch", level: batch }]).unwrap();
    let (within, between) = (2451.25, 11_271.5);
    let deviance = |sd: f64| {
        let mut least = f64::INFINITY;
        let mut e: f64 = 1000.0;
        while e < 8000.0 {
            let tau = e + 5.0 * sd * sd;
            least = least.min(5.0 * (tau.ln() + between / tau) + 24.0 * (e.ln() + within / e));
            e += 0.5;
        }
        least
    };
    let best = deviance(1764.05f64.sqrt());
    let (low, high) = got.factors[0].sd_range;
    near(deviance(low) - best, 3.841, 0.03, "low end");
    near(deviance(high) - best, 3.841, 0.03, "high end");
    assert!(low > 5.0 && low < 20.0 && high > 84.0 && high < 130.0, "{low} {high}");
}

/// Crossed factors: lme4's penicillin example (published: 0.7169, 3.7309, 0.3024; mean 22.9722 ± 0.8086).
#[test]
fn crossed_penicillin() {
    let (y, plate, sample) = penicillin();
    let got =
        fit(&y, &[], &[Factor { name: "plate", level: plate }, Factor { name: "sample", level: sample }])
            .unwrap();
    assert!(got.settled);
    near(got.factors[0].variance, 0.716_905, 2e-5, "plate");
    near(got.factors[1].variance, 3.7309, 5e-5, "sample");
    near(got.residual, 0.302_415, 1e-5, "residual");
    near(got.fixed[0], 22.972_222, 1e-6, "mean");
    near(got.fixed_se[0], 0.8086, 5e-5, "its error");
    near(got.deviance, 330.860_589, 1e-5, "deviance");
    near(got.factors[1].effect[5], -3.003_745, 1e-4, "sample F");
    let shares = got.shares();
    near(shares.iter().sum(), 1.0, 1e-12, "shares");
}

/// The same with gaps and a fixed covariate; reference: lme4 under R 4.2.2.
#[test]
fn gaps_and_a_covariate() {
    let (y, plate, sample) = penicillin();
    let keep: Vec<usize> = (1..=144).filter(|i| !(i % 7 == 3 || i % 11 == 5)).map(|i| i - 1).collect();
    let dose: Vec<f64> =
        (1..=keep.len()).map(|i| (f64::from(u32::try_from(i * 37 % 11).unwrap()) - 5.0) / 10.0).collect();
    let got = fit(
        &keep.iter().map(|i| y[*i]).collect::<Vec<f64>>(),
        &[dose],
        &[
            Factor { name: "plate", level: keep.iter().map(|i| plate[*i]).collect() },
            Factor { name: "sample", level: keep.iter().map(|i| sample[*i]).collect() },
        ],
    )
    .unwrap();
    assert_eq!(keep.len(), 112);
    near(got.factors[0].variance, 0.756_003, 1e-4, "plate");
    near(got.factors[1].variance, 3.616_230, 1e-3, "sample");
    near(got.residual, 0.228_427_7, 1e-5, "residual");
    near(got.fixed[1], 0.010_225_4, 1e-5, "slope");
    near(got.fixed_se[1], 0.148_588_5, 1e-5, "its error");
    near(got.deviance, 249.227_611, 1e-5, "deviance");
    near(got.factors[1].effect[0], 2.299_465, 1e-4, "sample A");
}

/// Simulated dyestuff with no batch effect (Box and Tiao 1973, as shipped with lme4): the variance is zero.
#[test]
fn a_variance_may_be_zero() {
    let y = [
        7.298, 3.846, 2.434, 9.566, 7.99, 5.22, 6.556, 0.608, 11.788, -0.892, 0.11, 10.386, 13.434, 5.51,
        8.166, 2.212, 4.852, 7.092, 9.288, 4.98, 0.282, 9.014, 4.458, 9.446, 7.198, 1.722, 4.782, 8.106,
        0.758, 3.758,
    ];
    let batch: Vec<usize> = (0..30).map(|i| i / 5).collect();
    let got = fit(&y, &[], &[Factor { name: "batch", level: batch }]).unwrap();
    near(got.deviance, 161.828_277_8, 2e-3, "deviance");
    near(got.residual, 13.806, 0.05, "residual");
    assert!(got.factors[0].variance < 0.05 && got.factors[0].sd_range.0 == 0.0, "{:?}", got.factors[0]);
}

#[test]
fn faults_are_named() {
    let f = |level: Vec<usize>| [Factor { name: "person", level }];
    assert!(matches!(fit(&[1.0; 5], &[], &f(vec![0; 4])), Err(MixedFault::Length { .. })));
    assert!(matches!(fit(&[1.0, f64::NAN, 1.0, 2.0], &[], &f(vec![0; 4])), Err(MixedFault::NotFinite)));
    assert!(matches!(fit(&[1.0, 2.0], &[], &f(vec![0; 2])), Err(MixedFault::TooFew(2))));
    assert!(matches!(fit(&[1.0; 5], &[], &f(vec![usize::MAX; 5])), Err(MixedFault::TooMany(_))));
    let twice = vec![vec![1.0; 6]];
    assert!(matches!(
        fit(&[1.0, 2.0, 3.0, 1.0, 2.0, 4.0], &twice, &f(vec![0, 1, 0, 1, 0, 1])),
        Err(MixedFault::Singular)
    ));
    // One value throughout: nothing to share out, and nothing breaks.
    let flat = fit(&[2.0; 6], &[], &f(vec![0, 1, 0, 1, 0, 1]));
    assert!(flat.is_ok_and(|m| m.residual.is_finite() && m.fixed[0].is_finite()));
}
