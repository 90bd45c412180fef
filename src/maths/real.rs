//! Numbers that may carry their derivatives: the same formula is written once and used for plain values and for
//! exact gradients (forward-mode automatic differentiation; A. Griewank and A. Walther, *Evaluating Derivatives*,
//! SIAM 2008, chapter 3 \[memory\]).

use super::{fast, normal};
use std::ops::{Add, Div, Mul, Neg, Sub};

/// What a formula may do with a number.
pub trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn constant(value: f64) -> Self;
    /// e to the power of this.
    fn exp(self) -> Self;
    /// Natural logarithm; defined above zero.
    fn ln(self) -> Self;
    /// Square root; defined above zero.
    fn sqrt(self) -> Self;
    /// Hyperbolic tangent.
    fn tanh(self) -> Self;
    /// ln(1 + eˣ), a smooth max(x, 0).
    fn softplus(self) -> Self;
    /// This or `limit`, whichever is larger.
    fn at_least(self, limit: f64) -> Self;
    /// This or `limit`, whichever is smaller.
    fn at_most(self, limit: f64) -> Self;
    /// Φ(x), the standard normal distribution function.
    fn normal_cdf(self) -> Self;
    /// ln Φ(x).
    fn normal_log_cdf(self) -> Self;
    /// Density of the standard normal.
    #[inline]
    fn normal_pdf(self) -> Self {
        (self * self * -0.5 - normal::LN_SQRT_2PI).exp()
    }
}

/// One number with what its kind carries along: enough to lift any smooth function onto it.
trait Chain: Copy {
    fn value(&self) -> f64;
    /// The number with function value `value` and derivative `slope` of that function at this number.
    fn chain(&self, value: f64, slope: f64) -> Self;
}

macro_rules! lift_functions {
    () => {
        #[inline]
        fn exp(self) -> Self {
            let e = fast::exp(self.value());
            self.chain(e, e)
        }
        #[inline]
        fn ln(self) -> Self {
            let v = self.value();
            self.chain(fast::ln(v), 1.0 / v)
        }
        #[inline]
        fn sqrt(self) -> Self {
            let r = self.value().sqrt();
            self.chain(r, 0.5 / r)
        }
        #[inline]
        fn tanh(self) -> Self {
            let e = fast::exp(2.0 * self.value().clamp(-20.0, 20.0));
            let t = (e - 1.0) / (e + 1.0);
            self.chain(t, 1.0 - t * t)
        }
        #[inline]
        fn softplus(self) -> Self {
            let v = self.value();
            if v > 30.0 {
                return self;
            }
            if v < -30.0 {
                return self.chain(0.0, 0.0);
            }
            let e = fast::exp(v);
            self.chain(fast::ln(1.0 + e), e / (1.0 + e))
        }
        #[inline]
        fn at_least(self, limit: f64) -> Self {
            if self.value() > limit { self } else { self.chain(limit, 0.0) }
        }
        #[inline]
        fn at_most(self, limit: f64) -> Self {
            if self.value() < limit { self } else { self.chain(limit, 0.0) }
        }
        #[inline]
        fn normal_cdf(self) -> Self {
            let v = self.value();
            self.chain(normal::cdf(v), normal::pdf(v))
        }
        #[inline]
        fn normal_log_cdf(self) -> Self {
            let v = self.value();
            self.chain(normal::log_cdf(v), normal::hazard(v))
        }
    };
}

impl Chain for f64 {
    #[inline]
    fn value(&self) -> f64 {
        *self
    }
    #[inline]
    fn chain(&self, value: f64, _slope: f64) -> Self {
        value
    }
}

impl Real for f64 {
    #[inline]
    fn constant(value: f64) -> Self {
        value
    }
    lift_functions!();
}

/// A value with its gradient against `P` unknowns.
#[derive(Debug, Clone, Copy)]
pub struct Dual<const P: usize> {
    /// The value.
    pub v: f64,
    /// Derivative against each unknown.
    pub d: [f64; P],
}

impl<const P: usize> Dual<P> {
    /// The unknown with index `index`; an index past the end gives a constant.
    #[must_use]
    pub fn unknown(value: f64, index: usize) -> Self {
        let mut d = [0.0; P];
        if let Some(slot) = d.get_mut(index) {
            *slot = 1.0;
        }
        Self { v: value, d }
    }
}

impl<const P: usize> Real for Dual<P> {
    #[inline]
    fn constant(value: f64) -> Self {
        Self { v: value, d: [0.0; P] }
    }
    lift_functions!();
}

impl<const P: usize> Chain for Dual<P> {
    #[inline]
    fn value(&self) -> f64 {
        self.v
    }
    #[inline]
    fn chain(&self, value: f64, slope: f64) -> Self {
        let mut d = self.d;
        for x in &mut d {
            *x *= slope;
        }
        Self { v: value, d }
    }
}

impl<const P: usize> Add for Dual<P> {
    type Output = Self;
    #[inline]
    fn add(mut self, other: Self) -> Self {
        self.v += other.v;
        for (a, b) in self.d.iter_mut().zip(&other.d) {
            *a += b;
        }
        self
    }
}

impl<const P: usize> Sub for Dual<P> {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: Self) -> Self {
        self.v -= other.v;
        for (a, b) in self.d.iter_mut().zip(&other.d) {
            *a -= b;
        }
        self
    }
}

impl<const P: usize> Mul for Dual<P> {
    type Output = Self;
    #[inline]
    fn mul(mut self, other: Self) -> Self {
        for (a, b) in self.d.iter_mut().zip(&other.d) {
            *a = *a * other.v + b * self.v;
        }
        self.v *= other.v;
        self
    }
}

impl<const P: usize> Div for Dual<P> {
    type Output = Self;
    #[inline]
    fn div(mut self, other: Self) -> Self {
        let inverse = 1.0 / other.v;
        let ratio = self.v * inverse;
        for (a, b) in self.d.iter_mut().zip(&other.d) {
            *a = (*a - ratio * b) * inverse;
        }
        self.v = ratio;
        self
    }
}

impl<const P: usize> Neg for Dual<P> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl<const P: usize> Add<f64> for Dual<P> {
    type Output = Self;
    #[inline]
    fn add(mut self, other: f64) -> Self {
        self.v += other;
        self
    }
}

impl<const P: usize> Sub<f64> for Dual<P> {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: f64) -> Self {
        self.v -= other;
        self
    }
}

impl<const P: usize> Mul<f64> for Dual<P> {
    type Output = Self;
    #[inline]
    fn mul(self, other: f64) -> Self {
        self.chain(self.v * other, other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn formula<T: Real>(x: T, y: T) -> T {
        let smooth = (x * y).exp() / (y.softplus() + 1.0) - x.tanh() * 2.0 + (x * x + 1.0).sqrt().ln();
        (smooth + x.normal_cdf() * y.normal_pdf() - y.normal_log_cdf()) * (-y)
    }

    #[test]
    fn gradients_agree_with_central_differences() {
        for (x, y) in [(0.3, -0.7), (1.2, 0.4), (-0.5, 2.0)] {
            let got = formula(Dual::<2>::unknown(x, 0), Dual::<2>::unknown(y, 1));
            let h = 1e-5;
            let dx = (formula(x + h, y) - formula(x - h, y)) / (2.0 * h);
            let dy = (formula(x, y + h) - formula(x, y - h)) / (2.0 * h);
            assert!((got.v - formula(x, y)).abs() < 1e-14);
            assert!((got.d[0] - dx).abs() < 1e-7 * (1.0 + dx.abs()));
            assert!((got.d[1] - dy).abs() < 1e-7 * (1.0 + dy.abs()));
        }
    }
}
