//! The normal distribution, kept exact in its tails.
//!
//! Sources: Φ through the complementary error function; far tail by the continued fraction of Mills' ratio
//! (M. Abramowitz and I. Stegun, *Handbook of Mathematical Functions*, 26.2.14 \[memory\]); quantile by
//! M. J. Wichura, Algorithm AS 241, Appl. Stat. 37:477–484, 1988 \[memory\], polished by one Halley step.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// ln √(2π).
pub const LN_SQRT_2PI: f64 = 0.918_938_533_204_672_7;

/// Density of the standard normal.
#[must_use]
pub fn pdf(x: f64) -> f64 {
    libm::exp(-0.5 * x * x - LN_SQRT_2PI)
}

/// Φ(x), the standard normal distribution function.
#[must_use]
pub fn cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// Mills' ratio (1 − Φ(x))/φ(x) for any finite `x`; for large `x` by continued fraction.
#[must_use]
pub fn mills(x: f64) -> f64 {
    if x < 5.0 {
        return cdf(-x) / pdf(x);
    }
    // Evaluate x + 1/(x + 2/(x + 3/(x + …))) from a depth at which the rest no longer matters.
    let depth = 60.0;
    let mut k = depth;
    let mut tail = x;
    while k >= 1.0 {
        tail = x + k / tail;
        k -= 1.0;
    }
    1.0 / tail
}

/// ln Φ(x), exact far into the lower tail.
#[must_use]
pub fn log_cdf(x: f64) -> f64 {
    if x < -5.0 {
        libm::log(mills(-x)) - 0.5 * x * x - LN_SQRT_2PI
    } else if x > 1.0 {
        libm::log1p(-cdf(-x))
    } else {
        libm::log(cdf(x))
    }
}

/// φ(x)/Φ(x), the hazard toward the lower tail.
#[must_use]
pub fn hazard(x: f64) -> f64 {
    if x < -5.0 { 1.0 / mills(-x) } else { pdf(x) / cdf(x) }
}

/// Φ⁻¹(p). Zero gives −∞, one gives +∞, anything outside NaN.
#[must_use]
pub fn quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    if p == 1.0 {
        return f64::INFINITY;
    }
    let x = wichura(p);
    // One Halley step on the smaller tail, so that nothing cancels.
    let (side, tail) = if p < 0.5 { (x, p) } else { (-x, 1.0 - p) };
    let e = (cdf(side) - tail) / pdf(side);
    if !e.is_finite() {
        return x;
    }
    let refined = side - e / (1.0 + 0.5 * side * e);
    if p < 0.5 { refined } else { -refined }
}

fn poly(c: &[f64], x: f64) -> f64 {
    c.iter().rev().fold(0.0, |acc, a| acc * x + a)
}

/// Φ⁻¹(p) for 0 < p < 1 by Wichura's formula alone, which is good to about 1e-15: for draws, of which there are many.
pub(super) fn wichura(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        let num = poly(
            &[
                3.387_132_872_796_366_5,
                133.141_667_891_784_38,
                1_971.590_950_306_551_3,
                13_731.693_765_509_46,
                45_921.953_931_549_87,
                67_265.770_927_008_7,
                33_430.575_583_588_13,
                2_509.080_928_730_122_7,
            ],
            r,
        );
        let den = poly(
            &[
                1.0,
                42.313_330_701_600_91,
                687.187_007_492_057_9,
                5_394.196_021_424_751,
                21_213.794_301_586_597,
                39_307.895_800_092_71,
                28_729.085_735_721_943,
                5_226.495_278_852_545,
            ],
            r,
        );
        return q * num / den;
    }
    let r = (-libm::log(if q < 0.0 { p } else { 1.0 - p })).sqrt();
    let value = if r <= 5.0 {
        let r = r - 1.6;
        poly(
            &[
                1.423_437_110_749_683_5,
                4.630_337_846_156_546,
                5.769_497_221_460_691,
                3.647_848_324_763_204_5,
                1.270_458_252_452_368_4,
                0.241_780_725_177_450_6,
                0.022_723_844_989_269_184,
                7.745_450_142_783_414e-4,
            ],
            r,
        ) / poly(
            &[
                1.0,
                2.053_191_626_637_759,
                1.676_384_830_183_803_8,
                0.689_767_334_985_1,
                0.148_103_976_427_480_08,
                0.015_198_666_563_616_457,
                5.475_938_084_995_345e-4,
                1.050_750_071_644_416_9e-9,
            ],
            r,
        )
    } else {
        let r = r - 5.0;
        poly(
            &[
                6.657_904_643_501_103,
                5.463_784_911_164_114,
                1.784_826_539_917_291_3,
                0.296_560_571_828_504_87,
                0.026_532_189_526_576_124,
                0.001_242_660_947_388_078_4,
                2.711_555_568_743_487_6e-5,
                2.010_334_399_292_288_1e-7,
            ],
            r,
        ) / poly(
            &[
                1.0,
                0.599_832_206_555_888,
                0.136_929_880_922_735_8,
                0.014_875_361_290_850_615,
                7.868_691_311_456_133e-4,
                1.846_318_317_510_054_8e-5,
                1.421_511_758_316_446e-7,
                2.044_263_103_389_939_8e-15,
            ],
            r,
        )
    };
    if q < 0.0 { -value } else { value }
}

/// P(X ≤ h, Y ≤ k) for two standard normals with correlation `rho`, by Gauss–Legendre quadrature of the
/// derivative against the correlation (Z. Drezner and G. Wesolowsky, J. Stat. Comput. Simul. 35:101–107, 1990,
/// in the arcsine form; \[memory\]). Good to about 1e-13 for |rho| ≤ 0.99.
#[must_use]
pub fn bivariate_cdf(h: f64, k: f64, rho: f64) -> f64 {
    let rho = rho.clamp(-1.0, 1.0);
    if rho >= 1.0 {
        return cdf(h.min(k));
    }
    if rho <= -1.0 {
        return (cdf(h) + cdf(k) - 1.0).max(0.0);
    }
    let top = libm::asin(rho);
    let pieces = 24;
    let width = top / f64::from(pieces);
    let mut sum = 0.0;
    for piece in 0..pieces {
        let mid = (f64::from(piece) + 0.5) * width;
        for (node, weight) in GAUSS_10 {
            for sign in [-1.0, 1.0] {
                let s = libm::sin(mid + sign * node * width * 0.5);
                let c2 = 1.0 - s * s;
                sum += weight * libm::exp(-(h * h + k * k - 2.0 * h * k * s) / (2.0 * c2));
            }
        }
    }
    cdf(h) * cdf(k) + sum * width * 0.5 / (2.0 * PI)
}

/// Positive nodes and weights of the ten-point Gauss–Legendre rule on −1…1.
const GAUSS_10: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_36),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];
