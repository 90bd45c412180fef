//! Small dense matrices, row by row in one slice: just what a fit with some dozens of unknowns needs.

/// Lower Cholesky factor of a symmetric positive definite matrix (n × n, row-major; only the lower triangle is
/// read). `None` when it is not positive definite or not finite.
#[must_use]
pub fn cholesky(a: &[f64], n: usize) -> Option<Vec<f64>> {
    if a.len() != n * n {
        return None;
    }
    // Column by column, all rows below at once: each sum runs in the order of the columns, as row by row, but the sums
    // stand side by side for the vector units. Columns are kept as rows until the end.
    let mut columns = vec![0.0; n * n];
    let mut sums = vec![0.0; n];
    for j in 0..n {
        let below = sums.get_mut(j..)?;
        below.fill(0.0);
        let mut fours = columns.get(..j * n)?.chunks_exact(4 * n);
        for four in &mut fours {
            let (first, rest) = four.split_at(n);
            let (second, rest) = rest.split_at(n);
            let (third, fourth) = rest.split_at(n);
            let each = [first.get(j..)?, second.get(j..)?, third.get(j..)?, fourth.get(j..)?];
            let own = [*each[0].first()?, *each[1].first()?, *each[2].first()?, *each[3].first()?];
            let others = each[0].iter().zip(each[1]).zip(each[2].iter().zip(each[3]));
            for (sum, ((a, b), (c, d))) in below.iter_mut().zip(others) {
                *sum = *sum + own[0] * a + own[1] * b + own[2] * c + own[3] * d;
            }
        }
        for column in fours.remainder().chunks_exact(n) {
            let column = column.get(j..)?;
            let own = *column.first()?;
            for (sum, other) in below.iter_mut().zip(column) {
                *sum += own * other;
            }
        }
        let rest = a.get(j * n + j)? - *below.first()?;
        if rest.is_nan() || rest <= 0.0 || rest.is_infinite() {
            return None;
        }
        let diagonal = rest.sqrt();
        let column = columns.get_mut(j * n..(j + 1) * n)?;
        *column.get_mut(j)? = diagonal;
        let rows = a.chunks_exact(n).zip(column.iter_mut()).zip(sums.iter());
        for ((row, slot), sum) in rows.skip(j + 1) {
            *slot = (row.get(j)? - sum) / diagonal;
        }
    }
    let mut l = vec![0.0; n * n];
    for (j, column) in columns.chunks_exact(n).enumerate() {
        for (row, value) in l.chunks_exact_mut(n).zip(column).skip(j) {
            *row.get_mut(j)? = *value;
        }
    }
    Some(l)
}

/// Solves L x = b in place (L lower, n × n).
pub fn forward(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for i in 0..n {
        let (done, rest) = b.split_at_mut(i);
        if let (Some(row), Some(x)) = (l.get(i * n..i * n + i + 1), rest.first_mut()) {
            let dot: f64 = row.iter().zip(done.iter()).map(|(p, q)| p * q).sum();
            if let Some(d) = row.last() {
                *x = (*x - dot) / d;
            }
        }
    }
}

/// Solves Lᵀ x = b in place (L lower, n × n).
pub fn backward(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for i in (0..n).rev() {
        let (head, tail) = b.split_at_mut(i);
        if let (Some(row), Some(x)) = (l.get(i * n..i * n + i + 1), tail.first_mut()) {
            if let Some(d) = row.last() {
                *x /= d;
            }
            for (h, r) in head.iter_mut().zip(row) {
                *h -= r * *x;
            }
        }
    }
}

/// Solves (L Lᵀ) x = b in place.
pub fn solve(l: &[f64], b: &mut [f64]) {
    forward(l, b);
    backward(l, b);
}

/// ln det(L Lᵀ).
#[must_use]
pub fn log_det(l: &[f64], n: usize) -> f64 {
    2.0 * l.iter().step_by(n + 1).take(n).map(|d| libm::log(*d)).sum::<f64>()
}

/// Inverse of L Lᵀ, row-major.
#[must_use]
pub fn inverse(l: &[f64], n: usize) -> Vec<f64> {
    let mut out = vec![0.0; n * n];
    let mut column = vec![0.0; n];
    for j in 0..n {
        column.fill(0.0);
        if let Some(x) = column.get_mut(j) {
            *x = 1.0;
        }
        solve(l, &mut column);
        for (row, c) in out.chunks_exact_mut(n).zip(&column) {
            if let Some(slot) = row.get_mut(j) {
                *slot = *c;
            }
        }
    }
    out
}

/// Dot product.
#[must_use]
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// A x for a row-major matrix with rows as long as `x`.
#[must_use]
pub fn times(a: &[f64], x: &[f64]) -> Vec<f64> {
    if x.is_empty() {
        return Vec::new();
    }
    let n = x.len();
    let mut out = Vec::with_capacity(a.len() / n);
    // Four rows side by side: each sum keeps its order, none waits for the others.
    let mut fours = a.chunks_exact(4 * n);
    for four in &mut fours {
        let (upper, lower) = four.split_at(2 * n);
        let ((first, second), (third, fourth)) = (upper.split_at(n), lower.split_at(n));
        let each = first.iter().zip(second).zip(third.iter().zip(fourth)).zip(x);
        out.extend(each.fold([0.0; 4], |[p, q, r, s], (((a, b), (c, d)), x)| {
            [p + a * x, q + b * x, r + c * x, s + d * x]
        }));
    }
    out.extend(fours.remainder().chunks_exact(n).map(|row| dot(row, x)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factor_solve_and_invert_agree() {
        let a = [4.0, 1.0, 0.5, 1.0, 3.0, -0.2, 0.5, -0.2, 2.0];
        let l = cholesky(&a, 3).unwrap();
        let mut x = vec![1.0, -2.0, 0.3];
        solve(&l, &mut x);
        let back = times(&a, &x);
        for (got, want) in back.iter().zip([1.0, -2.0, 0.3]) {
            assert!((got - want).abs() < 1e-14);
        }
        let inv = inverse(&l, 3);
        let col: Vec<f64> = (0..3).map(|i| inv[i * 3]).collect();
        assert!((times(&a, &col)[0] - 1.0).abs() < 1e-14);
        let det = 4.0 * (6.0 - 0.04) - (2.0 + 0.1) + 0.5 * (-0.2 - 1.5);
        assert!((log_det(&l, 3) - f64::ln(det)).abs() < 1e-12);
        assert!(cholesky(&[1.0, 2.0, 2.0, 1.0], 2).is_none());
        assert!(cholesky(&[f64::NAN], 1).is_none());
    }

    /// A factor of whole numbers comes back from its product to the bit, at every size: those that are no multiple of the
    /// rows and columns taken together as well.
    #[test]
    fn a_factor_of_whole_numbers_comes_back_exactly() {
        for n in 1..=14 {
            let entry = |i: usize, j: usize| match i.cmp(&j) {
                std::cmp::Ordering::Less => 0.0,
                std::cmp::Ordering::Equal => (1 + i % 3) as f64,
                std::cmp::Ordering::Greater => ((3 * i + 5 * j) % 7) as f64 - 3.0,
            };
            let product = |i: usize, j: usize| (0..n).map(|k| entry(i, k) * entry(j, k)).sum::<f64>();
            let want: Vec<f64> = (0..n * n).map(|at| entry(at / n, at % n)).collect();
            let a: Vec<f64> = (0..n * n).map(|at| product(at / n, at % n)).collect();
            assert_eq!(cholesky(&a, n), Some(want), "{n} rows");
            let x: Vec<f64> = (0..n).map(|i| (i as f64 - 4.0) * 0.5).collect();
            let rows = a.chunks_exact(n).map(|row| row.iter().zip(&x).map(|(p, q)| p * q).sum::<f64>());
            assert_eq!(times(&a, &x), rows.collect::<Vec<_>>());
            let mut bad = a.clone();
            bad[n * n - 1] -= 9.0;
            assert!(cholesky(&bad, n).is_none(), "{n}: not positive definite");
        }
    }
}
