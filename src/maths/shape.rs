//! Curves through points: isotonic regression and monotone cubic interpolation.

/// Weighted isotonic regression by pooling adjacent violators, increasing.
#[must_use]
pub fn isotonic(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let mut blocks: Vec<(f64, f64, usize)> = Vec::new();
    for (v, w) in values.iter().zip(weights) {
        blocks.push((*v, *w, 1));
        while let [.., (v1, w1, n1), (v2, w2, n2)] = blocks.as_slice() {
            if v1 <= v2 {
                break;
            }
            let merged = ((v1 * w1 + v2 * w2) / (w1 + w2), w1 + w2, n1 + n2);
            blocks.truncate(blocks.len() - 2);
            blocks.push(merged);
        }
    }
    blocks.into_iter().flat_map(|(v, _, n)| std::iter::repeat_n(v, n)).collect()
}

/// Monotone piecewise cubic (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5:300–304, 1984).
#[derive(Debug, Clone, PartialEq)]
pub struct Pchip {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Pchip {
    /// Through points with rising `x`; `None` for fewer than two points or `x` that does not rise.
    #[must_use]
    pub fn new(x: &[f64], y: &[f64]) -> Option<Self> {
        let rising = x.windows(2).all(|p| matches!(p, [a, b] if b > a));
        if x.len() < 2 || x.len() != y.len() || !rising {
            return None;
        }
        let h: Vec<f64> = x.windows(2).filter_map(|p| Some(p.last()? - p.first()?)).collect();
        let d: Vec<f64> =
            y.windows(2).zip(&h).filter_map(|(p, h)| Some((p.last()? - p.first()?) / h)).collect();
        let end = |h0: f64, h1: f64, d0: f64, d1: f64| {
            let s = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
            if s * d0 <= 0.0 {
                0.0
            } else if d0 * d1 <= 0.0 && s.abs() > 3.0 * d0.abs() {
                3.0 * d0
            } else {
                s
            }
        };
        let mut slope = Vec::with_capacity(x.len());
        match (h.as_slice(), d.as_slice()) {
            ([_], [d0]) => slope.extend([*d0, *d0]),
            ([h0, h1, ..], [d0, d1, ..]) => {
                slope.push(end(*h0, *h1, *d0, *d1));
                for (hs, ds) in h.windows(2).zip(d.windows(2)) {
                    let ([ha, hb], [da, db]) = (hs, ds) else { continue };
                    let (w1, w2) = (2.0 * hb + ha, hb + 2.0 * ha);
                    slope.push(if da * db <= 0.0 { 0.0 } else { (w1 + w2) / (w1 / da + w2 / db) });
                }
                if let ([.., ha, hb], [.., da, db]) = (h.as_slice(), d.as_slice()) {
                    slope.push(end(*hb, *ha, *db, *da));
                }
            }
            _ => return None,
        }
        Some(Self { x: x.to_vec(), y: y.to_vec(), slope })
    }

    /// Slopes at the points.
    #[must_use]
    pub fn slopes(&self) -> &[f64] {
        &self.slope
    }

    /// Value at `at`; outside the points the end pieces go on.
    #[must_use]
    pub fn value(&self, at: f64) -> f64 {
        let i = self.x.partition_point(|x| *x <= at).clamp(1, self.x.len() - 1);
        let get = |v: &[f64], i: usize| v.get(i).copied().unwrap_or(0.0);
        let (x0, x1) = (get(&self.x, i - 1), get(&self.x, i));
        let h = x1 - x0;
        let t = (at - x0) / h;
        let (t2, t3) = (t * t, t * t * t);
        get(&self.y, i - 1) * (2.0 * t3 - 3.0 * t2 + 1.0)
            + get(&self.y, i) * (3.0 * t2 - 2.0 * t3)
            + h * get(&self.slope, i - 1) * (t3 - 2.0 * t2 + t)
            + h * get(&self.slope, i) * (t3 - t2)
    }
}
