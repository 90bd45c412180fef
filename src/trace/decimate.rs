//! Fewer points for the screen, with a promise about what is kept.

/// Keeps, in every pixel column of a view, the first, the lowest, the highest and the last sample, in order of time.
///
/// The promise: for every column the smallest and largest value of the result equal those of the input exactly, and a
/// line drawn through the result enters and leaves each column where the full line does (M4; Jugel, Jerzak, Hackenbroich
/// and Markl, Proc. VLDB Endow. 7, 2014). One sample on either side of the view is kept, so that lines run to its edges.
///
/// `points` have rising, finite x and finite y; `from` < `to` are the view's x range and `columns` its width in pixels.
#[must_use]
pub fn min_max(points: &[[f64; 2]], from: f64, to: f64, columns: usize) -> Vec<[f64; 2]> {
    let start = points.partition_point(|p| p[0] < from).saturating_sub(1);
    let end = (points.partition_point(|p| p[0] <= to) + 1).min(points.len());
    let seen = points.get(start..end).unwrap_or_default();
    if columns == 0 || seen.len() <= columns * 2 || to <= from || to.is_nan() || from.is_nan() {
        return seen.to_vec();
    }
    #[allow(clippy::cast_precision_loss)]
    let per_x = columns as f64 / (to - from);
    let column_of = |x: f64| ((x - from) * per_x).floor();
    let mut out = Vec::with_capacity(columns * 4 + 8);
    let mut rest = seen;
    while let Some(&first) = rest.first() {
        let column = column_of(first[0]);
        let (mut low, mut high) = ((0, first[1]), (0, first[1]));
        let mut last = 0;
        for (at, point) in rest.iter().enumerate().skip(1) {
            if column_of(point[0]) != column {
                break;
            }
            last = at;
            if point[1] < low.1 {
                low = (at, point[1]);
            }
            if point[1] > high.1 {
                high = (at, point[1]);
            }
        }
        let mut keep = [0, low.0.min(high.0), low.0.max(high.0), last];
        keep.sort_unstable();
        let mut before = None;
        for at in keep {
            if before != Some(at)
                && let Some(&point) = rest.get(at)
            {
                out.push(point);
            }
            before = Some(at);
        }
        rest = rest.get(last + 1..).unwrap_or_default();
    }
    out
}

/// Places of the first and the last sample, and of every `size` samples of the lowest and the highest, rising.
///
/// The promise: of every such stretch the smallest and largest value of the result equal those of the input exactly, and
/// the result has at most two places a stretch and two more. `values` are finite.
#[must_use]
pub fn extremes_of_every(values: &[f64], size: usize) -> Vec<usize> {
    let size = size.max(1);
    let mut out: Vec<usize> = Vec::with_capacity(values.len() / size * 2 + 4);
    if !values.is_empty() {
        out.push(0);
    }
    let mut begin = 0;
    for stretch in values.chunks(size) {
        let (mut low, mut high) = ((0, f64::INFINITY), (0, f64::NEG_INFINITY));
        for (at, &value) in stretch.iter().enumerate() {
            if value < low.1 {
                low = (at, value);
            }
            if value > high.1 {
                high = (at, value);
            }
        }
        for at in [begin + low.0.min(high.0), begin + low.0.max(high.0)] {
            if out.last().is_some_and(|last| *last < at) {
                out.push(at);
            }
        }
        begin += stretch.len();
    }
    if out.last().is_some_and(|last| last + 1 < values.len()) {
        out.push(values.len() - 1);
    }
    out
}

/// Drops points that a straight line between kept ones passes within `tolerance` (vertical, in the units of y); both
/// ends and the lowest and highest point are kept exactly. For the thin grey lines of a crowd: with a tolerance of half
/// a pixel nothing can be seen to be missing, and a 3000-sample curve shrinks to some hundred points.
///
/// The method is the swing-door cone (one pass): a point is kept when no single line from the last kept point passes
/// within the tolerance of all points since.
#[must_use]
pub fn simplify(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let [first, .., _] = points else { return points.to_vec() };
    if tolerance <= 0.0 || tolerance.is_nan() {
        return points.to_vec();
    }
    let extreme = |sign: f64| {
        let mut best = 0;
        let mut top = f64::NEG_INFINITY;
        for (at, p) in points.iter().enumerate() {
            if p[1] * sign > top {
                top = p[1] * sign;
                best = at;
            }
        }
        best
    };
    let must = [extreme(1.0), extreme(-1.0)];
    let mut out = vec![*first];
    let mut anchor = *first;
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut previous = *first;
    for (at, &point) in points.iter().enumerate().skip(1) {
        let run = point[0] - anchor[0];
        let slope = (point[1] - anchor[1]) / run;
        // The line from the anchor to this point must pass all points since: its slope lies within the cone.
        if run > 0.0 && (slope < low || slope > high) && previous != anchor {
            out.push(previous);
            anchor = previous;
            (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
        }
        let run = point[0] - anchor[0];
        if run > 0.0 {
            low = low.max((point[1] - tolerance - anchor[1]) / run);
            high = high.min((point[1] + tolerance - anchor[1]) / run);
        }
        if must.contains(&at) {
            out.push(point);
            anchor = point;
            (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
        }
        previous = point;
    }
    if out.last() != points.last() {
        out.extend(points.last());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(n: usize) -> Vec<[f64; 2]> {
        (0..n)
            .map(|i| {
                let x = i as f64 * 0.02;
                [
                    x,
                    (x * 1.7).sin() * 4.0
                        + (i as f64 * 12.9898).sin() * 0.3
                        + if i % 997 == 3 { 9.0 } else { 0.0 },
                ]
            })
            .collect()
    }

    #[test]
    fn every_pixel_column_keeps_its_extremes() {
        let points = wave(6000);
        for (from, to, columns) in [(0.0, 120.0, 500), (10.0, 90.0, 333), (-5.0, 130.0, 64), (50.0, 51.0, 7)]
        {
            let kept = min_max(&points, from, to, columns);
            let per_x = columns as f64 / (to - from);
            let column = |x: f64| ((x - from) * per_x).floor();
            let extremes = |set: &[[f64; 2]]| {
                let mut map = std::collections::BTreeMap::new();
                for p in set.iter().filter(|p| p[0] >= from && p[0] <= to) {
                    let entry = map.entry(column(p[0]) as i64).or_insert((p[1], p[1]));
                    *entry = (f64::min(entry.0, p[1]), f64::max(entry.1, p[1]));
                }
                map
            };
            assert!(extremes(&points) == extremes(&kept), "{from}..{to} on {columns}");
            assert!(kept.len() <= columns * 4 + 8);
            assert!(kept.windows(2).all(|w| w[0][0] < w[1][0]));
        }
    }

    use proptest::prelude::*;

    /// Uneven steps, spikes, plateaus, repeated values.
    fn samples() -> impl Strategy<Value = Vec<[f64; 2]>> {
        let value = prop_oneof![4 => -1.0..12.0f64, 1 => Just(9.0), 1 => -500.0..500.0f64];
        prop::collection::vec((0.001..0.6f64, value), 2..400).prop_map(|steps| {
            let mut t = -3.0;
            steps
                .into_iter()
                .map(|(step, v)| {
                    t += step;
                    [t, v]
                })
                .collect()
        })
    }

    fn range(points: &[[f64; 2]]) -> (f64, f64) {
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p[1]), h.max(p[1])))
    }

    proptest! {
        #[test]
        fn every_stretch_keeps_its_extremes(points in samples(), size in 1usize..60) {
            let values: Vec<f64> = points.iter().map(|p| p[1]).collect();
            let kept: Vec<[f64; 2]> = extremes_of_every(&values, size).into_iter().map(|at| points[at]).collect();
            prop_assert!(kept.windows(2).all(|w| w[0][0] < w[1][0]));
            prop_assert!(kept.len() <= 2 * points.len().div_ceil(size) + 2);
            prop_assert!(kept.first() == points.first() && kept.last() == points.last());
            prop_assert!(kept.iter().all(|p| points.contains(p)));
            for stretch in points.chunks(size) {
                let (from, to) = (stretch[0][0], stretch[stretch.len() - 1][0]);
                let inside: Vec<_> = kept.iter().copied().filter(|p| p[0] >= from && p[0] <= to).collect();
                prop_assert_eq!(range(&inside), range(stretch));
            }
        }

        #[test]
        fn every_column_keeps_its_extremes_and_its_ends(points in samples(), columns in 1usize..80) {
            let (from, to) = (points[0][0], points[points.len() - 1][0]);
            let kept = min_max(&points, from, to, columns);
            let of = |set: &[[f64; 2]], column: f64| -> Vec<[f64; 2]> {
                let place = |x: f64| ((x - from) * (columns as f64 / (to - from))).floor();
                set.iter().copied().filter(|p| place(p[0]) == column).collect()
            };
            for column in 0..=columns {
                let (all, some) = (of(&points, column as f64), of(&kept, column as f64));
                prop_assert_eq!(range(&all), range(&some));
                prop_assert_eq!((all.first(), all.last()), (some.first(), some.last()));
            }
        }

        #[test]
        fn a_simplified_line_passes_every_sample_within_the_tolerance(points in samples(), tolerance in 0.001..3.0f64) {
            let kept = simplify(&points, tolerance);
            prop_assert_eq!(range(&kept), range(&points));
            let mut at = 0;
            for p in &points {
                while kept[at + 1][0] < p[0] {
                    at += 1;
                }
                let ([x0, y0], [x1, y1]) = (kept[at], kept[at + 1]);
                let y = y0 + (y1 - y0) * (p[0] - x0) / (x1 - x0);
                prop_assert!((y - p[1]).abs() <= tolerance + 1e-9, "{:?} against {}", p, y);
            }
        }
    }

    #[test]
    fn simplified_lines_stay_within_the_tolerance() {
        let points = wave(3000);
        for tolerance in [0.05, 0.5, 2.0] {
            let kept = simplify(&points, tolerance);
            assert!(kept.len() < points.len());
            let mut at = 0;
            for p in &points {
                while kept[at + 1][0] < p[0] {
                    at += 1;
                }
                let ([x0, y0], [x1, y1]) = (kept[at], kept[at + 1]);
                let y = y0 + (y1 - y0) * (p[0] - x0) / (x1 - x0);
                assert!((y - p[1]).abs() <= tolerance * 1.000_001, "{p:?} against {y}");
            }
            let top = |set: &[[f64; 2]]| set.iter().map(|p| p[1]).fold(f64::MIN, f64::max);
            assert_eq!(top(&kept), top(&points));
        }
    }
}
