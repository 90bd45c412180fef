//! Ranking of several coffees (ISO 8587): Friedman's test with ties, Page's test for a predicted order, least
//! significant differences of rank sums.

use crate::maths::{normal, tails};

/// Result of a ranking test.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranking {
    /// Rank sums, in the order of the samples (rank 1 is the smallest value given).
    pub rank_sums: Vec<f64>,
    /// Friedman's statistic, corrected for ties.
    pub statistic: f64,
    /// Its probability if all were alike, by chi-square.
    pub p_chi_square: f64,
    /// Its exact probability, where the table is small enough to count through (without ties).
    pub p_exact: Option<f64>,
    /// Kendall's coefficient of agreement, 0–1.
    pub agreement: f64,
    /// Two rank sums that differ by more than this differ at 5 %.
    pub least_difference: f64,
}

/// Ranks with ties shared, 1 for the smallest.
#[must_use]
pub fn shared_ranks(row: &[f64]) -> Vec<f64> {
    row.iter()
        .map(|x| {
            let below = row.iter().filter(|y| *y < x).count() as f64;
            let equal = row.iter().filter(|y| *y == x).count() as f64;
            below + (equal + 1.0) / 2.0
        })
        .collect()
}

/// Friedman's test on a table: a row for each taster, a column for each sample; the values may be ranks or scores.
/// `None` with fewer than two rows or samples, ragged rows, or values that are not finite.
#[must_use]
pub fn friedman(table: &[Vec<f64>]) -> Option<Ranking> {
    let p = table.first()?.len();
    let j = table.len();
    if j < 2 || p < 2 || table.iter().any(|r| r.len() != p || r.iter().any(|v| !v.is_finite())) {
        return None;
    }
    let ranks: Vec<Vec<f64>> = table.iter().map(|r| shared_ranks(r)).collect();
    let sums: Vec<f64> = (0..p).map(|c| ranks.iter().filter_map(|r| r.get(c)).sum()).collect();
    let (jf, pf) = (j as f64, p as f64);
    let squares: f64 = sums.iter().map(|r| r * r).sum();
    let raw = 12.0 / (jf * pf * (pf + 1.0)) * squares - 3.0 * jf * (pf + 1.0);
    // Ties: Σ (n³ − n) over groups, found as Σ (n² − 1) over members.
    let ties: f64 = table
        .iter()
        .flat_map(|row| row.iter().map(|x| (row.iter().filter(|y| *y == x).count() as f64).powi(2) - 1.0))
        .sum();
    let keep = 1.0 - ties / (jf * pf * (pf * pf - 1.0));
    let statistic = if keep > 1e-12 { (raw / keep).max(0.0) } else { 0.0 };
    Some(Ranking {
        p_chi_square: tails::chi_square_above(statistic, pf - 1.0),
        p_exact: (ties == 0.0).then(|| exact(&sums, j, p)).flatten(),
        agreement: statistic / (jf * (pf - 1.0)),
        least_difference: normal::quantile(0.975) * (jf * pf * (pf + 1.0) / 6.0).sqrt(),
        rank_sums: sums,
        statistic,
    })
}

/// Exact probability of a sum of squared rank sums at least as large, by adding taster after taster; `None` where
/// that is too much to count (more than four samples or twelve tasters).
fn exact(sums: &[f64], j: usize, p: usize) -> Option<f64> {
    if p > 4 || j > 12 {
        return None;
    }
    let orders = permutations(p);
    let each = 1.0 / orders.len() as f64;
    let mut reached = std::collections::BTreeMap::from([(vec![0u32; p], 1.0f64)]);
    for _ in 0..j {
        let mut next = std::collections::BTreeMap::new();
        for (state, mass) in &reached {
            for order in &orders {
                // Rank sums are used only through their squares: keep them sorted.
                let mut to: Vec<u32> = state.iter().zip(order).map(|(a, b)| a + b).collect();
                to.sort_unstable();
                *next.entry(to).or_insert(0.0) += mass * each;
            }
        }
        reached = next;
    }
    let seen: f64 = sums.iter().map(|s| s * s).sum();
    let square = |state: &[u32]| state.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
    Some(reached.iter().filter(|(s, _)| square(s) >= seen - 1e-6).map(|(_, m)| m).sum::<f64>().min(1.0))
}

fn permutations(p: usize) -> Vec<Vec<u32>> {
    let mut out = vec![Vec::new()];
    for _ in 0..p {
        let mut next = Vec::new();
        for row in &out {
            for v in 1..=p as u32 {
                if !row.contains(&v) {
                    let mut longer: Vec<u32> = row.clone();
                    longer.push(v);
                    next.push(longer);
                }
            }
        }
        out = next;
    }
    out
}

/// Page's test that the rank sums rise in the order of the columns: L, its normal score and one-sided probability.
/// (Limit formula of ISO 8587: L exceeds mean + z √variance.)
#[must_use]
pub fn page(rank_sums: &[f64], tasters: u32) -> (f64, f64, f64) {
    let (p, j) = (rank_sums.len() as f64, f64::from(tasters));
    let l: f64 = rank_sums.iter().enumerate().map(|(i, r)| (i as f64 + 1.0) * r).sum();
    let mean = j * p * (p + 1.0) * (p + 1.0) / 4.0;
    let sd = p * (p + 1.0) * (j * (p - 1.0)).sqrt() / 12.0;
    let z = if sd > 0.0 { (l - mean) / sd } else { 0.0 };
    (l, z, normal::cdf(-z))
}
