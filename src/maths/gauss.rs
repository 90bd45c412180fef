//! Gauss–Legendre quadrature.

/// Nodes and weights of the `n`-point rule on −1..1, nodes rising (n up to about 100; `n` = 0 gives nothing).
/// Newton's method on the Legendre recurrence (Abramowitz and Stegun 25.4.29); exact to degree 2n − 1.
pub fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let mut rule = Vec::with_capacity(n);
    for i in 0..n {
        let mut x = -(std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..60 {
            let (mut p, mut before) = (1.0, 0.0);
            for k in 1..=n {
                let k = k as f64;
                let next = ((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k;
                before = p;
                p = next;
            }
            slope = n as f64 * (x * p - before) / (x * x - 1.0);
            let dx = p / slope;
            x -= dx;
            if dx.abs() < 1e-15 {
                break;
            }
        }
        rule.push((x, 2.0 / ((1.0 - x * x) * slope * slope)));
    }
    rule
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integrates_polynomials_exactly() {
        for n in 1..20 {
            let degree = 2 * n as i32 - 2;
            let area: f64 = gauss_legendre(n).iter().map(|(x, w)| w * x.powi(degree)).sum();
            assert!((area - 2.0 / f64::from(degree + 1)).abs() < 1e-13, "{n}");
        }
    }
}
