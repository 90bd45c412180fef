//! Two coffees liked by the same tasters: paired tests that stand with few answers.

use crate::maths::tails;

/// What Student's t says of a mean difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Student {
    /// Student's t of the mean.
    pub t: f64,
    /// Its two-sided probability.
    pub p: f64,
    /// 95 % range of the mean difference.
    pub range95: (f64, f64),
}

/// Paired comparison of likings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paired {
    /// Pairs.
    pub n: usize,
    /// Mean of the differences, first less second.
    pub mean: f64,
    /// Student's t; `None` where all differences are alike: without a spread it knows no doubt, and tasters still have one.
    pub student: Option<Student>,
    /// Sum of the ranks of the positive differences, zeros dropped.
    pub w_plus: f64,
    /// Exact two-sided probability of the signed ranks.
    pub signed_rank_p: f64,
    /// Exact two-sided probability when signs are flipped at random.
    pub sign_flip_p: f64,
}

/// Compares paired likings. The exact tests count all sign patterns by adding one difference after another (ranks in
/// halves, differences to a millionth, to which all are rounded), so they serve any number of pairs up to 400. `None` with fewer than two pairs
/// or values that are not finite.
#[must_use]
pub fn paired(a: &[f64], b: &[f64]) -> Option<Paired> {
    // To a millionth, so that differences that are alike tie and none remains of likings that are.
    let d: Vec<f64> = a.iter().zip(b).map(|(x, y)| ((x - y) * 1e6).round() / 1e6).collect();
    let n = d.len();
    if a.len() != b.len() || !(2..=400).contains(&n) || d.iter().any(|v| !v.is_finite() || v.abs() > 1e6) {
        return None;
    }
    let nf = n as f64;
    let mean = d.iter().sum::<f64>() / nf;
    let sd = (d.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (nf - 1.0)).sqrt();
    let se = sd / nf.sqrt();
    let largest = d.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    // What is left by the rounding of sums is no spread.
    let student = (sd > 1e-9 * largest).then(|| {
        let t = mean / se;
        let half = tails::student_quantile(0.975, nf - 1.0) * se;
        let p = (2.0 * tails::student_cdf(-t.abs(), nf - 1.0)).min(1.0);
        Student { t, p, range95: (mean - half, mean + half) }
    });
    let moved: Vec<f64> = d.iter().copied().filter(|v| *v != 0.0).collect();
    let sizes: Vec<f64> = moved.iter().map(|v| v.abs()).collect();
    let ranks = super::ranking::shared_ranks(&sizes);
    let w_plus: f64 = moved.iter().zip(&ranks).filter(|(v, _)| **v > 0.0).map(|(_, r)| r).sum();
    Some(Paired {
        n,
        mean,
        student,
        w_plus,
        signed_rank_p: flip(&ranks, &moved, 2.0),
        sign_flip_p: flip(&sizes, &moved, 1e6),
    })
}

/// Two-sided probability, over all sign patterns, of a sum of signed `weights` as far from zero as the one seen.
fn flip(weights: &[f64], signs: &[f64], grid: f64) -> f64 {
    let units: Vec<i64> = weights.iter().map(|w| (w * grid).round() as i64).collect();
    let seen: i64 = units.iter().zip(signs).map(|(u, s)| if *s > 0.0 { *u } else { -*u }).sum();
    let mut reached = std::collections::BTreeMap::from([(0i64, 1.0f64)]);
    for u in &units {
        let mut next = std::collections::BTreeMap::new();
        for (sum, mass) in &reached {
            *next.entry(sum + u).or_insert(0.0) += mass / 2.0;
            *next.entry(sum - u).or_insert(0.0) += mass / 2.0;
        }
        reached = next;
        // Many uneven differences would grow without end; the likings of a scale never do.
        if reached.len() > 200_000 {
            return f64::NAN;
        }
    }
    reached.iter().filter(|(sum, _)| sum.abs() >= seen.abs()).map(|(_, m)| m).sum::<f64>().min(1.0)
}
