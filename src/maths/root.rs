//! Roots of one function of one variable.

/// Root of a rising function inside a bracket by the Illinois rule (regula falsi with halving), falling back on
/// bisection. Stops when the bracket is narrower than `tolerance` or after 80 rounds; always returns a point of
/// `low..=high`. If the function does not change sign, the end nearer to zero in the sense of the sign is returned:
/// `high` when it is negative throughout, `low` when positive.
pub fn rising_root(low: f64, high: f64, start: f64, tolerance: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let mut fb = f(b);
    if fb <= 0.0 || fb.is_nan() {
        return b;
    }
    let mut fa = f(a);
    if fa >= 0.0 || fa.is_nan() {
        return a;
    }
    let mut x = if start > a && start < b { start } else { (a * fb - b * fa) / (fb - fa) };
    let mut side = 0i8;
    for round in 0..80 {
        if x <= a || x >= b || x.is_nan() || round % 12 == 11 {
            x = 0.5 * (a + b);
        }
        let fx = f(x);
        if fx > 0.0 {
            b = x;
            fb = fx;
            if side == 1 {
                fa *= 0.5;
            }
            side = 1;
        } else {
            a = x;
            fa = fx;
            if side == -1 {
                fb *= 0.5;
            }
            side = -1;
        }
        let next = (a * fb - b * fa) / (fb - fa);
        if b - a <= tolerance || (next - x).abs() <= 0.1 * tolerance || fx == 0.0 {
            return if next >= a && next <= b { next } else { x };
        }
        x = next;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_and_respects_the_bracket() {
        let root = rising_root(0.0, 4.0, 1.0, 1e-12, |x| x * x * x - 2.0);
        assert!((root - 2f64.cbrt()).abs() < 1e-11);
        assert!((rising_root(0.0, 4.0, 1.0, 1e-12, |_| -1.0) - 4.0).abs() < 1e-15);
        assert!(rising_root(0.0, 4.0, 1.0, 1e-12, |_| 1.0).abs() < 1e-15);
        let kink = rising_root(0.0, 1e6, 3.0, 1e-9, |x| (x - 5.0).max(100.0 * (x - 7.0)));
        assert!((kink - 5.0).abs() < 1e-8);
    }
}
