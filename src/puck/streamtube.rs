//! One streamtube on its way through a pull: water taken in, parcels moved on, outflow booked.

use super::column::Column;
use super::resistance::squeezed_bar;
use super::solute::MOST_SOLUTES;

/// One streamtube on its way through a pull. Volumes are in pore volumes of the tube.
#[derive(Debug, Clone, Default)]
pub(super) struct Tube {
    pub(super) area_share: f64,
    pub(super) conductance: f64,
    pub(super) channel: Option<usize>,
    pub(super) column: Column,
    /// Water that has entered; below 1 also the depth of the wetting front over the depth of the bed.
    pub(super) entered: f64,
    /// Greatest stress borne by the grains, bar.
    pub(super) packed_bar: f64,
    /// Marks passed: mark k lies at (k + ½) cells of water; every mark but the first moves the parcels on.
    pub(super) marks: usize,
    pub(super) last_mark_s: f64,
    pub(super) dissolved: f64,
    pub(super) dissolved_rate: f64,
    /// Cumulative outflow of each class up to the start of the parcel now leaving, and that parcel's concentration.
    pub(super) out_sum: [f64; MOST_SOLUTES],
    pub(super) out_now: [f64; MOST_SOLUTES],
    pub(super) out_before: [f64; MOST_SOLUTES],
    /// First sample whose outflow is not known yet.
    pub(super) pending: usize,
    /// Coefficients of the present step: pore volumes per second and bar; P_ref.
    pub(super) per_bar: f64,
    pub(super) squeeze_bar: f64,
    /// What the step will bring: pore volumes, and the time spent filling, s.
    pub(super) intake: (f64, f64),
}

/// Share of a step after which the water entered reaches `mark`, between `before` and `after`: the square of the front's
/// depth grows evenly while the bed fills, the volume itself afterwards.
pub(super) fn when(before: f64, after: f64, mark: f64) -> f64 {
    let measure = |u: f64| if u < 1.0 { 0.5 * u * u } else { u - 0.5 };
    let (a, b) = (measure(before), measure(after));
    if b > a { ((measure(mark) - a) / (b - a)).clamp(0.0, 1.0) } else { 1.0 }
}

impl Tube {
    /// Pore volumes that enter during `step_s` at a bed pressure, and the part of the step spent filling, s. The front
    /// advances by the exact solution for constant pressure: its depth squared grows evenly.
    #[inline]
    pub(super) fn takes(
        &self,
        bed_bar: f64,
        suction_bar: f64,
        step_s: f64,
        inertia_per_s: f64,
    ) -> (f64, f64) {
        let drive = squeezed_bar(bed_bar, self.squeeze_bar);
        let steady = self.per_bar * drive;
        let (mut entered, mut fill_s) = (0.0, 0.0);
        if self.entered < 1.0 {
            let filling = self.per_bar * (drive + suction_bar);
            if filling <= 0.0 {
                return (0.0, step_s);
            }
            fill_s = (1.0 - self.entered * self.entered) / (2.0 * filling);
            if fill_s > step_s {
                fill_s = step_s;
                entered = (self.entered * self.entered + 2.0 * filling * step_s).sqrt() - self.entered;
            } else {
                entered = 1.0 - self.entered;
            }
        }
        entered += steady * (step_s - fill_s);
        if inertia_per_s < 1e6 && step_s > 0.0 {
            let darcy = entered / step_s;
            let slowed = 2.0 / (1.0 + (1.0 + 4.0 * darcy / inertia_per_s).sqrt());
            entered *= slowed;
            fill_s = (fill_s / slowed.max(1e-9)).min(step_s);
        }
        (entered, fill_s)
    }

    /// Moves the parcels on at a mark (the first mark only starts the clock).
    pub(super) fn pass_mark(
        &mut self,
        mark_s: f64,
        cells: f64,
        rate_factors: &[f64; MOST_SOLUTES],
        solubles_g: f64,
    ) {
        if self.marks > 0 {
            let step_s = (mark_s - self.last_mark_s).max(0.0);
            let mut gained = [0.0; MOST_SOLUTES];
            let mut out = [0.0; MOST_SOLUTES];
            self.column.cross(step_s, rate_factors, &mut out, &mut gained);
            for ((sum, now), (before, new)) in
                self.out_sum.iter_mut().zip(&mut self.out_now).zip(self.out_before.iter_mut().zip(&out))
            {
                *sum += *now / cells;
                *before = *now;
                *now = *new;
            }
            if solubles_g > 0.0 {
                let more = gained.iter().sum::<f64>() / (cells * solubles_g);
                self.dissolved += more;
                self.dissolved_rate = if step_s > 0.0 { more / step_s } else { 0.0 };
            }
        }
        self.marks += 1;
        self.last_mark_s = mark_s;
    }

    /// Water that has entered when the parcel now known to leave has left altogether.
    pub(super) fn known_until(&self, cells: f64) -> f64 {
        // Mark k ran crossing k − 1, which fixes the parcel leaving between k and k + 1 cells of water.
        self.marks as f64 / cells
    }

    /// Writes the outflow of every waiting sample that is now known.
    pub(super) fn settle(
        &mut self,
        n: usize,
        stride: usize,
        entered: &[f64],
        upto: usize,
        cells: f64,
        solutes_g: &mut [Vec<f64>; MOST_SOLUTES],
    ) {
        let known = self.known_until(cells);
        let start = known - 1.0 / cells;
        while self.pending < upto {
            let Some(&water) = entered.get(n * stride + self.pending) else { return };
            if water > known {
                return;
            }
            if water > 1.0 {
                for (l, series) in solutes_g.iter_mut().enumerate() {
                    let (Some(sum), Some(now)) = (self.out_sum.get(l), self.out_now.get(l)) else { return };
                    if let Some(cup) = series.get_mut(self.pending) {
                        *cup += self.area_share * (sum + (water - start).max(0.0) * now);
                    }
                }
            }
            self.pending += 1;
        }
    }

    /// Writes the samples still waiting at the end: less than half a parcel beyond what is known, at the concentration of
    /// the parcel that is about to leave.
    pub(super) fn settle_rest(
        &mut self,
        n: usize,
        stride: usize,
        entered: &[f64],
        upto: usize,
        cells: f64,
        solutes_g: &mut [Vec<f64>; MOST_SOLUTES],
    ) {
        let known = self.known_until(cells);
        while self.pending < upto {
            let Some(&water) = entered.get(n * stride + self.pending) else { return };
            if water > 1.0 {
                for (l, series) in solutes_g.iter_mut().enumerate() {
                    if let Some(cup) = series.get_mut(self.pending) {
                        *cup += self.area_share * self.fallen(l, water, known, cells);
                    }
                }
            }
            self.pending += 1;
        }
    }

    /// Outflow of class `l` when `water` has entered, beyond `known` with the next parcel's concentration.
    pub(super) fn fallen(&self, l: usize, water: f64, known: f64, cells: f64) -> f64 {
        let get = |a: &[f64; MOST_SOLUTES]| a.get(l).copied().unwrap_or(0.0);
        let start = known - 1.0 / cells;
        if water <= known {
            return get(&self.out_sum) + (water - start).max(0.0) * get(&self.out_now);
        }
        get(&self.out_sum) + get(&self.out_now) / cells + (water - known) * self.column.next_out(l)
    }

    /// What has passed the last cell without having fallen into the cup (negative by the little that fell ahead).
    pub(super) fn held(&self, l: usize, cells: f64) -> f64 {
        let passed =
            self.out_sum.get(l).copied().unwrap_or(0.0) + self.out_now.get(l).copied().unwrap_or(0.0) / cells;
        if self.entered > 1.0 {
            passed - self.fallen(l, self.entered, self.known_until(cells), cells)
        } else {
            passed
        }
    }
}
