//! Linear systems without symmetry.

/// Solves A x = b for a general square matrix (n × n, row-major, n = `b.len()`) by elimination with row exchanges.
/// `None` when the sizes do not fit, the matrix is singular, or a number is not finite.
#[must_use]
pub fn solve_general(mut a: Vec<f64>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    if a.len() != n * n {
        return None;
    }
    for col in 0..n {
        let mut best = col;
        for row in col + 1..n {
            if a[row * n + col].abs() > a[best * n + col].abs() {
                best = row;
            }
        }
        let pivot = a[best * n + col];
        if !pivot.is_finite() || pivot == 0.0 {
            return None;
        }
        if best != col {
            for j in 0..n {
                a.swap(best * n + j, col * n + j);
            }
            b.swap(best, col);
        }
        let (top, below) = a.split_at_mut((col + 1) * n);
        let head = &top[col * n..];
        let b_col = b[col];
        for (row, line) in below.chunks_exact_mut(n).enumerate() {
            let factor = line[col] / pivot;
            if factor != 0.0 {
                for (x, h) in line[col..].iter_mut().zip(&head[col..]) {
                    *x -= factor * h;
                }
                b[col + 1 + row] -= factor * b_col;
            }
        }
    }
    for row in (0..n).rev() {
        let (line, tail) = (&a[row * n..(row + 1) * n], b[row + 1..].to_vec());
        let dot: f64 = line[row + 1..].iter().zip(&tail).map(|(p, q)| p * q).sum();
        b[row] = (b[row] - dot) / line[row];
    }
    b.iter().all(|x| x.is_finite()).then_some(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_and_refuses() {
        let x =
            solve_general(vec![0.0, 2.0, 1.0, 1.0, 0.0, 3.0, 2.0, -1.0, 0.5], vec![5.0, 10.0, 1.5]).unwrap();
        assert!((2.0 * x[1] + x[2] - 5.0).abs() < 1e-12);
        assert!((x[0] + 3.0 * x[2] - 10.0).abs() < 1e-12);
        assert!((2.0 * x[0] - x[1] + 0.5 * x[2] - 1.5).abs() < 1e-12);
        assert!(solve_general(vec![1.0, 2.0, 2.0, 4.0], vec![1.0, 2.0]).is_none());
        assert!(solve_general(vec![1.0], vec![f64::NAN]).is_none());
        assert!(solve_general(vec![1.0], vec![1.0, 2.0]).is_none());
    }
}
