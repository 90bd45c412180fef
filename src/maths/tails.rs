//! Tail probabilities of the usual test statistics: binomial, Student, chi-square, beta, gamma.
//!
//! Incomplete beta by the continued fraction of Abramowitz and Stegun 26.5.8 in Lentz's form, incomplete gamma by
//! series and continued fraction (6.5.29, 6.5.31) \[equation numbers from memory\]; log gamma from libm.

use super::normal;

const TINY: f64 = 1e-300;

/// Regularised incomplete beta I_x(a, b), for a, b > 0 and 0 ≤ x ≤ 1; NaN outside.
#[must_use]
pub fn beta_reg(a: f64, b: f64, x: f64) -> f64 {
    if !(a > 0.0 && b > 0.0 && (0.0..=1.0).contains(&x)) || a.is_infinite() || b.is_infinite() {
        return f64::NAN;
    }
    if x == 0.0 || x == 1.0 {
        return x;
    }
    let front = libm::exp(
        libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * libm::log(x) + b * libm::log1p(-x),
    );
    if x < (a + 1.0) / (a + b + 2.0) {
        (front * beta_fraction(a, b, x) / a).clamp(0.0, 1.0)
    } else {
        (1.0 - front * beta_fraction(b, a, 1.0 - x) / b).clamp(0.0, 1.0)
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let keep = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / keep(1.0 - (a + b) * x / (a + 1.0));
    let mut f = d;
    for m in 1..5000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / keep(1.0 + even * d);
        c = keep(1.0 + even / c);
        f *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / keep(1.0 + odd * d);
        c = keep(1.0 + odd / c);
        let step = d * c;
        f *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    f
}

/// Regularised upper incomplete gamma Q(a, x), for a > 0 and x ≥ 0; NaN outside.
#[must_use]
pub fn gamma_upper(a: f64, x: f64) -> f64 {
    if !(a > 0.0 && x >= 0.0) || a.is_infinite() {
        return f64::NAN;
    }
    if x == 0.0 {
        return 1.0;
    }
    if x.is_infinite() {
        return 0.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        for _ in 0..10_000 {
            n += 1.0;
            term *= x / n;
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        return (1.0 - front * sum).clamp(0.0, 1.0);
    }
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut f = d;
    for i in 1..10_000 {
        let i = f64::from(i);
        let an = -i * (i - a);
        b += 2.0;
        let inner = an * d + b;
        d = 1.0 / if inner.abs() < TINY { TINY } else { inner };
        c = b + an / c;
        if c.abs() < TINY {
            c = TINY;
        }
        let step = d * c;
        f *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    (front * f).clamp(0.0, 1.0)
}

/// P(X ≥ x) for chi-square with `dof` degrees of freedom.
#[must_use]
pub fn chi_square_above(x: f64, dof: f64) -> f64 {
    gamma_upper(dof / 2.0, x.max(0.0) / 2.0)
}

/// P(T ≤ t) for Student's t with `dof` degrees of freedom (any real number above 0; infinite gives the normal).
#[must_use]
pub fn student_cdf(t: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return normal::cdf(t);
    }
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let tail = 0.5 * beta_reg(dof / 2.0, 0.5, dof / (dof + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// Quantile of Student's t: `student_cdf(t) = p`, by bisection (absolute error about 1e-12 of its size).
#[must_use]
pub fn student_quantile(p: f64, dof: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) || dof.is_nan() || dof <= 0.0 {
        return f64::NAN;
    }
    if p < 0.5 {
        return -student_quantile(1.0 - p, dof);
    }
    let mut high = 1.0;
    while student_cdf(high, dof) < p && high < 1e12 {
        high *= 2.0;
    }
    bisect(0.0, high, |t| student_cdf(t, dof) >= p)
}

/// Quantile of the beta distribution.
#[must_use]
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || a.is_nan() || a <= 0.0 || b.is_nan() || b <= 0.0 {
        return f64::NAN;
    }
    bisect(0.0, 1.0, |x| beta_reg(a, b, x) >= p)
}

/// Smallest point of `low..high` at which a condition that turns true once is true.
fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if mid <= low || mid >= high {
            break;
        }
        if holds(mid) { high = mid } else { low = mid }
    }
    0.5 * (low + high)
}

/// P(X = k) for the binomial with `n` trials of chance `p`.
#[must_use]
pub fn binomial_point(k: u32, n: u32, p: f64) -> f64 {
    if k > n || !(0.0..=1.0).contains(&p) {
        return 0.0;
    }
    if p == 0.0 || p == 1.0 {
        let sure = if p == 0.0 { 0 } else { n };
        return f64::from(u8::from(k == sure));
    }
    let (k, n) = (f64::from(k), f64::from(n));
    libm::exp(
        libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0)
            + k * libm::log(p)
            + (n - k) * libm::log1p(-p),
    )
}

/// P(X ≥ k) for the binomial, by the exact sum (n to a million).
#[must_use]
pub fn binomial_at_least(k: u32, n: u32, p: f64) -> f64 {
    if k == 0 {
        return 1.0;
    }
    // Sum the smaller side, smallest terms first, so that nothing cancels.
    if f64::from(k) > f64::from(n) * p {
        (k..=n).rev().map(|i| binomial_point(i, n, p)).sum::<f64>().min(1.0)
    } else {
        (1.0 - (0..k).map(|i| binomial_point(i, n, p)).sum::<f64>()).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms: t with 1 and 2 degrees of freedom, chi-square with 2, I_x(1, b) = 1 − (1 − x)^b.
    #[test]
    fn closed_forms() {
        for t in [-3.0, -0.5, 0.0, 0.7, 12.0] {
            let cauchy = 0.5 + libm::atan(t) / std::f64::consts::PI;
            assert!((student_cdf(t, 1.0) - cauchy).abs() < 1e-13);
            let two = 0.5 + t / (2.0 * (2.0 + t * t).sqrt());
            assert!((student_cdf(t, 2.0) - two).abs() < 1e-13);
        }
        for x in [0.1, 1.0, 5.0, 40.0] {
            assert!((chi_square_above(x, 2.0) / libm::exp(-x / 2.0) - 1.0).abs() < 1e-12);
        }
        assert!((beta_reg(1.0, 3.0, 0.2) - (1.0 - 0.8f64.powi(3))).abs() < 1e-14);
        assert!(beta_reg(f64::NAN, 1.0, 0.5).is_nan());
    }

    /// Student's table: 97.5 % points 12.706, 4.303, 2.228, 1.984 for 1, 2, 10, 100 degrees of freedom
    /// (NIST/SEMATECH e-Handbook 1.3.6.7.2 \[from memory\]).
    #[test]
    fn quantiles() {
        for (dof, want) in [(1.0, 12.706), (2.0, 4.303), (10.0, 2.228), (100.0, 1.984)] {
            assert!((student_quantile(0.975, dof) - want).abs() < 5e-4);
        }
        assert!((student_quantile(0.975, f64::INFINITY) - 1.959_963_984_540_054).abs() < 1e-9);
        assert!((beta_quantile(beta_reg(2.5, 7.0, 0.3), 2.5, 7.0) - 0.3).abs() < 1e-10);
    }

    #[test]
    fn binomial_sums() {
        assert!((binomial_at_least(7, 10, 0.5) - 0.171_875).abs() < 1e-14);
        assert!((binomial_at_least(15, 24, 1.0 / 3.0) - 0.003_229_781_064_564_278).abs() < 1e-15);
        assert_eq!(binomial_at_least(0, 5, 0.5), 1.0);
        assert_eq!(binomial_at_least(6, 5, 0.5), 0.0);
    }
}
