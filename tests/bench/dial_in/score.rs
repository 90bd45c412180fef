//! From games to numbers, each with its standard error where it is a mean over worlds.

use crate::play::{Game, NEAR};

/// A mean over worlds with its standard error and the number of worlds.
#[derive(Debug, Clone, Copy, Default)]
pub struct Mean {
    pub value: f64,
    pub error: f64,
    pub n: usize,
}

impl Mean {
    /// Mean and standard error of a sample.
    pub fn of(v: &[f64]) -> Self {
        let n = v.len();
        if n == 0 {
            return Self { value: f64::NAN, error: f64::NAN, n };
        }
        let value = v.iter().sum::<f64>() / n as f64;
        let spread = v.iter().map(|x| (x - value).powi(2)).sum::<f64>() / (n.max(2) - 1) as f64;
        Self { value, error: (spread / n as f64).sqrt(), n }
    }

    /// Share of `true`.
    pub fn share(v: &[bool]) -> Self {
        let v: Vec<f64> = v.iter().map(|b| f64::from(u8::from(*b))).collect();
        Self::of(&v)
    }
}

/// Scores of one agent over a set of games of dialling in.
#[derive(Debug, Clone)]
pub struct Score {
    /// Share of worlds with a near-best pull within 3, within 5, never.
    pub within_3: Mean,
    pub within_5: Mean,
    pub never: Mean,
    /// Ninetieth percentile of the number of the first near-best pull; infinite when later than played.
    pub p90_pulls: f64,
    /// Regret of the served recipe after 3, 5, 8 pulls.
    pub regret: [Mean; 3],
    /// Share of worlds whose first "settled" was over a point short, of all worlds and of those that settled.
    pub false_settled: Mean,
    pub false_of_settled: Mean,
    pub settled: Mean,
    /// Coverage of the 80 % ranges of time, strength, liking, with their mean widths.
    pub coverage: [Mean; 3],
    pub width: [Mean; 3],
    /// Brier score of `chance_near_best`, that of always stating the base rate, mean claim and base rate.
    pub brier: Mean,
    pub brier_base: f64,
    pub claim: f64,
    pub truth: f64,
    /// Coffee until "settled" (or to the end), grams.
    pub grams: Mean,
    pub off_grid: usize,
    pub faults: usize,
    pub answer_ms: (f64, f64),
}

impl Score {
    /// Scores games.
    pub fn of(games: &[&Game]) -> Self {
        let whole: Vec<&&Game> = games.iter().filter(|g| g.fault.is_none() && !g.turns.is_empty()).collect();
        let first: Vec<Option<usize>> =
            whole.iter().map(|g| g.turns.iter().position(|t| t.pulled_regret <= NEAR)).collect();
        let within =
            |n: usize| Mean::share(&first.iter().map(|f| f.is_some_and(|i| i < n)).collect::<Vec<_>>());
        let mut counts: Vec<f64> =
            first.iter().map(|f| f.map_or(f64::INFINITY, |i| (i + 1) as f64)).collect();
        counts.sort_by(f64::total_cmp);
        let after = |n: usize| {
            Mean::of(
                &whole.iter().filter_map(|g| g.turns.get(n - 1)).map(|t| t.served_regret).collect::<Vec<_>>(),
            )
        };
        let settle: Vec<Option<bool>> =
            whole.iter().map(|g| g.turns.iter().find(|t| t.settled).map(|t| t.served_regret > 1.0)).collect();
        let turns = || whole.iter().flat_map(|g| g.turns.iter());
        let coverage = |i: usize| Mean::share(&turns().filter_map(|t| t.covered[i]).collect::<Vec<_>>());
        let width = |i: usize| Mean::of(&turns().filter_map(|t| t.widths[i]).collect::<Vec<_>>());
        let claims: Vec<(f64, f64)> = turns()
            .filter_map(|t| t.chance.map(|c| (c, f64::from(u8::from(t.served_regret <= NEAR)))))
            .collect();
        let n = claims.len().max(1) as f64;
        let truth = claims.iter().map(|c| c.1).sum::<f64>() / n;
        let squares: Vec<f64> = claims.iter().map(|c| (c.0 - c.1).powi(2)).collect();
        let grams: Vec<f64> = whole
            .iter()
            .map(|g| {
                let last = g.turns.iter().position(|t| t.settled).unwrap_or(g.turns.len() - 1);
                g.turns[..=last].iter().map(|t| t.dose_g).sum()
            })
            .collect();
        let mut times: Vec<f64> = turns().map(|t| t.answer_ms).collect();
        Self {
            within_3: within(3),
            within_5: within(5),
            never: Mean::share(&first.iter().map(Option::is_none).collect::<Vec<_>>()),
            p90_pulls: point(&mut counts, 0.9),
            regret: [after(3), after(5), after(8)],
            false_settled: Mean::share(&settle.iter().map(|s| *s == Some(true)).collect::<Vec<_>>()),
            false_of_settled: Mean::share(&settle.iter().flatten().copied().collect::<Vec<_>>()),
            settled: Mean::share(&settle.iter().map(Option::is_some).collect::<Vec<_>>()),
            coverage: std::array::from_fn(coverage),
            width: std::array::from_fn(width),
            brier: Mean::of(&squares),
            brier_base: truth * (1.0 - truth),
            claim: claims.iter().map(|c| c.0).sum::<f64>() / n,
            truth,
            grams: Mean::of(&grams),
            off_grid: turns().filter(|t| t.off_grid).count(),
            faults: games.len() - whole.len(),
            answer_ms: (point(&mut times, 0.5), point(&mut times, 0.95)),
        }
    }
}

/// The `p` point of a sample (nearest rank, reordered in place); NaN of nothing.
pub fn point(v: &mut [f64], p: f64) -> f64 {
    v.sort_by(f64::total_cmp);
    let n = v.len();
    if n == 0 {
        return f64::NAN;
    }
    v[((p * n as f64).ceil() as usize).clamp(1, n) - 1]
}

/// Mean over worlds of the mean regret of every pulled cup.
pub fn every_cup(games: &[&Game]) -> Mean {
    let v: Vec<f64> = games
        .iter()
        .filter(|g| g.fault.is_none() && !g.turns.is_empty())
        .map(|g| g.turns.iter().map(|t| t.pulled_regret).sum::<f64>() / g.turns.len() as f64)
        .collect();
    Mean::of(&v)
}
