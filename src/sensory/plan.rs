//! Plans: who gets which cup under which code in which order, all orders equally often, drawn from a seed.

use super::discrimination::Method;
use crate::maths::draw::Draws;

/// One set of cups for one taster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Serving {
    /// Taster, counted from 0.
    pub taster: usize,
    /// Set of this taster, counted from 0.
    pub set: usize,
    /// Samples in the order served, by index (0 is A). In a duo-trio the first cup is the open reference.
    pub order: Vec<usize>,
    /// Three-digit code under each cup.
    pub codes: Vec<u16>,
    /// Position (from 0) of the right answer, where there is one: the odd cup, the match, the cup of sample A.
    pub right: Option<usize>,
}

/// Orders of a method, all of them.
#[must_use]
pub fn orders(method: Method) -> Vec<(Vec<usize>, usize)> {
    match method {
        Method::Triangle => [[0, 0, 1], [0, 1, 0], [1, 0, 0], [1, 1, 0], [1, 0, 1], [0, 1, 1]]
            .into_iter()
            .map(|o| {
                let odd = usize::from(o.iter().sum::<usize>() == 1);
                let at = o.iter().position(|s| *s == odd).unwrap_or(0);
                (o.to_vec(), at)
            })
            .collect(),
        Method::DuoTrio => [[0, 0, 1], [0, 1, 0], [1, 0, 1], [1, 1, 0]]
            .into_iter()
            .map(|o| (o.to_vec(), if o[1] == o[0] { 1 } else { 2 }))
            .collect(),
        Method::PairedOneSided | Method::PairedTwoSided => vec![(vec![0, 1], 0), (vec![1, 0], 1)],
    }
}

/// A plan for `tasters` people and `sets` sets each: every order is used equally often (the rest, when the number
/// does not divide, drawn without repeats), shuffled over people. At most 3 triangles or duo-trios or 8 cups a
/// sitting make sense (common practice, no source); the caller says so.
#[must_use]
pub fn discrimination_plan(method: Method, tasters: usize, sets: usize, seed: u64) -> Vec<Serving> {
    let mut draws = Draws::new(seed);
    let all = orders(method);
    let total = tasters.min(1000) * sets.min(100);
    let mut chosen: Vec<usize> = Vec::with_capacity(total);
    while chosen.len() < total {
        let mut round: Vec<usize> = (0..all.len()).collect();
        shuffle(&mut round, &mut draws);
        round.truncate(total - chosen.len());
        chosen.extend(round);
    }
    // Rounds stay together so that a plan cut short is still nearly balanced; people are met in turn.
    chosen
        .iter()
        .enumerate()
        .filter_map(|(i, c)| {
            let (order, right) = all.get(*c)?;
            let codes = codes(order.len(), &mut draws);
            let tasters = tasters.clamp(1, 1000);
            Some(Serving {
                taster: i % tasters,
                set: i / tasters,
                order: order.clone(),
                codes,
                right: Some(*right),
            })
        })
        .collect()
}

/// Williams' square for `p` samples: every sample once in each place of a row set, every ordered pair of neighbours
/// equally often. `p` rows for even `p`, 2 `p` for odd. (Williams, Aust. J. Sci. Res. A 2:149, 1949 \[memory\].)
#[must_use]
pub fn williams(p: usize) -> Vec<Vec<usize>> {
    if p == 0 || p > 100 {
        return Vec::new();
    }
    let first: Vec<usize> =
        (0..p).map(|i| if i % 2 == 1 { i.div_ceil(2) } else { (p - i / 2) % p }).collect();
    let mut rows: Vec<Vec<usize>> = (0..p).map(|k| first.iter().map(|x| (x + k) % p).collect()).collect();
    if p % 2 == 1 && p > 1 {
        let mirrored: Vec<Vec<usize>> = rows.iter().map(|r| r.iter().rev().copied().collect()).collect();
        rows.extend(mirrored);
    }
    rows
}

/// A ranking or rating plan: rows of Williams' square dealt to the tasters in a shuffled order, samples relabelled at
/// random.
#[must_use]
pub fn ranking_plan(samples: usize, tasters: usize, seed: u64) -> Vec<Serving> {
    let rows = williams(samples);
    if rows.is_empty() {
        return Vec::new();
    }
    let mut draws = Draws::new(seed);
    let mut names: Vec<usize> = (0..samples).collect();
    shuffle(&mut names, &mut draws);
    let mut out = Vec::new();
    let mut deck: Vec<usize> = Vec::new();
    for taster in 0..tasters.min(1000) {
        if deck.is_empty() {
            deck = (0..rows.len()).collect();
            shuffle(&mut deck, &mut draws);
        }
        let Some(row) = deck.pop().and_then(|i| rows.get(i)) else { continue };
        let order: Vec<usize> = row.iter().filter_map(|i| names.get(*i).copied()).collect();
        let codes = codes(order.len(), &mut draws);
        out.push(Serving { taster, set: 0, order, codes, right: None });
    }
    out
}

/// Three-digit codes, all different within a set (up to 900 cups).
fn codes(n: usize, draws: &mut Draws) -> Vec<u16> {
    let mut out: Vec<u16> = Vec::with_capacity(n);
    while out.len() < n.min(900) {
        let code = 100 + (draws.uniform() * 900.0) as u16;
        if code < 1000 && !out.contains(&code) {
            out.push(code);
        }
    }
    out
}

fn shuffle(list: &mut [usize], draws: &mut Draws) {
    for i in (1..list.len()).rev() {
        let j = (draws.uniform() * (i as f64 + 1.0)) as usize;
        list.swap(i, j.min(i));
    }
}
