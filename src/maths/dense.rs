//! Small dense matrices, row by row in one slice: just what a fit with some dozens of unknowns needs.

/// Lower Cholesky factor of a symmetric positive definite matrix (n × n, row-major; only the lower triangle is
/// read). `None` when it is not positive definite or not finite.
#[must_use]
pub fn cholesky(a: &[f64], n: usize) -> Option<Vec<f64>> {
    if a.len() != n * n {
        return None;
    }
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let (head, row_i) = l.split_at(i * n);
            let ri = row_i.get(..j)?;
            let rj = if j == i { ri } else { head.get(j * n..j * n + j)? };
            let dot: f64 = ri.iter().zip(rj).map(|(x, y)| x * y).sum();
            let rest = a.get(i * n + j)? - dot;
            let value = if i == j {
                if rest.is_nan() || rest <= 0.0 || rest.is_infinite() {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / *l.get(j * n + j)?
            };
            *l.get_mut(i * n + j)? = value;
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
    a.chunks_exact(x.len()).map(|row| dot(row, x)).collect()
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
}
