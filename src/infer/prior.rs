//! What is believed before the first pull, and where each number comes from. All widths are wide: a prior that
//! claims more than the trade knows would be found out by the next grinder.

use super::{BagFacts, Bed, Frame, GoesBy, Shape, UNKNOWNS, Unknown};
use crate::domain::Gear;

/// A normal belief over all unknowns: mean and covariance (row-major).
#[derive(Debug, Clone, PartialEq)]
pub struct Gaussian {
    /// Mean.
    pub mean: Vec<f64>,
    /// Covariance, UNKNOWNS × UNKNOWNS.
    pub covariance: Vec<f64>,
}

/// How far off, in grain sizes, a grind to begin with is that somebody named, and one out of the blue (standard deviations).
pub(super) const START_COARSER_SD: (f64, f64) = (0.16, 0.32);

/// Means and standard deviations of the independent prior.
#[must_use]
pub fn prior(
    bag: &BagFacts,
    gear: &Gear,
    frame: &Frame,
    shape: &Shape,
) -> ([f64; UNKNOWNS], [f64; UNKNOWNS]) {
    use Unknown as U;
    let mut mean = [0.0; UNKNOWNS];
    let mut sd = [1.0; UNKNOWNS];
    let mut set = |which: Unknown, m: f64, s: f64| {
        mean[which.at()] = m;
        sd[which.at()] = s;
    };
    let dark = bag.darkness();
    let roast_unknown = if bag.roast.is_none() { 1.3 } else { 1.0 };

    // The grinder. 10 µm move the clock by 2–4 s and a click by 2–5 s around 27 s (trade). With the laws of time below,
    // the geometric middle of each makes one micrometre 1/275 of an espresso grain and one click 4 % of it, of which the
    // middle here is a little less, so that the mean of so wide a belief stays near. Where the micrometres are not known,
    // the range of a scale spans somewhat more than one grain size (assumption); range and click are each right within a
    // factor of some 1.7 and together say more.
    let scale = gear.grind.scale;
    let range = (scale.max() - scale.min()).max(scale.step());
    let (ln_kappa, kappa_sd) = match gear.grind.um_per_unit {
        Some(um) if um > 0.0 && um.is_finite() => (libm::log(um / 275.0), 0.22),
        _ => {
            let by_range = libm::log(1.4 / range);
            let by_step = libm::log(0.037 / scale.step());
            (0.7 * by_range + 0.3 * by_step.clamp(by_range - 1.5, by_range + 1.5), 0.4)
        }
    };
    set(U::LnSizePerUnit, ln_kappa, kappa_sd);
    // The first drip comes after 6–7 s of 27 (trade), of which some is the bed's own wetting; what the machine holds
    // back adds to it. Wide: between a tenth and a third.
    set(U::DeadShare, -1.4, 0.5);
    // time ~ size^−n with n about 2–4 (trade; Kozeny–Carman gives 2, fines steepen it), 2.9 in the geometric middle, of
    // which the flow alone is steeper by what passes whatever the grind. Between a power of grain size (curvature 1) and
    // a straight line in log-time (0), both of which are in use.
    set(U::LnExponent, libm::log(3.6), 0.28);
    // A bed that closes does so at half the size of the standard grain, or between a quarter and two thirds of it
    // (assumption: what is pressed together lets less and less through, and chokes).
    let (curvature, curvature_sd) = if shape.bed == Bed::Closes { (2.0, 0.4) } else { (0.3, 0.5) };
    set(U::LnCurvature, libm::log(curvature), curvature_sd);
    // A starting grind is off by a few clicks, one out of the blue by twice that (common practice, no source). What is
    // off is the grain, not the clock: a pull far off the standard time speaks of a steep grinder too, and tastes of
    // its coarse or fine grain.
    let (named, unnamed) = START_COARSER_SD;
    set(U::StartCoarser, 0.0, if frame.grind_known { named } else { unnamed });
    set(U::TimeDose, 2.4, 0.8);
    set(U::TimeYield, 1.0, 0.2);
    set(U::TimeTemperature, 0.011, 0.008);
    // 0.3–1 s faster a day in the first two weeks (trade), of what the bed rules.
    set(U::TimeAge, -0.025, 0.015);
    // Too fine a bed clogs (compaction, fines) or breaks into channels that make it faster again (Cameron et al. 2020):
    // below −1 finer is faster. Sizes assumed, wide.
    let (by_uneven, uneven_sd) = if shape.bed == Bed::Breaks { (-1.7, 0.8) } else { (0.2, 0.6) };
    set(U::TimeUneven, by_uneven, uneven_sd);

    // The bag: 17–22 % from 1:2 in 27 s, which two standard deviations of the two together cover; exhaustion near 26 %;
    // darker roasts dissolve faster.
    set(U::Exhaustion, 26.0, 1.3 * roast_unknown);
    set(U::Extent, libm::log(1.35) + 0.06 * dark, 0.09 * roast_unknown);
    let (by_time, by_grain) = if shape.by_time { (0.4, 0.15) } else { (0.08, 0.9) };
    set(U::ExtentRatio, 0.45, 0.2);
    set(U::ExtentTime, by_time, 0.2);
    set(U::ExtentFineness, by_grain, 0.4);
    set(U::ExtentTemperature, 0.015, 0.02);
    set(U::UnevenOnset, libm::log(42.0), 0.35);
    set(U::LnUnevenLoss, libm::log(0.3), 0.7);

    // The drinker. Espresso is liked at 7–12 % strength and 18–22 % extraction (trade), which two standard deviations
    // cover.
    set(U::LnIdealStrength, libm::log(9.3) + 0.03 * dark, 0.15);
    set(U::IdealExtraction, 19.8 - 0.5 * dark, 1.0);
    set(U::LnStrengthTolerance, libm::log(0.17), 0.4);
    set(U::LnBalanceTolerance, libm::log(1.7), 0.4);
    set(U::Asymmetry, 0.0, 0.25);
    set(U::StrengthAsymmetry, 0.0, 0.25);
    set(U::LnPower, libm::log(1.9), 0.45);
    set(U::Tilt, 0.0, 0.35);
    set(U::TopLiking, 7.7, 0.7);
    set(U::BalanceTemperature, 0.08, 0.15);
    // 90–96 °C is the trade's range, darker roasts lower in it (common practice, no source).
    set(U::IdealTemperature, 93.0 - 0.5 * dark, 1.8);
    set(U::LnTemperatureTolerance, libm::log(5.0), 0.5);
    // Extraction alone moves some four points for one unit of ln time; who goes by the clock or the recipe has as much
    // from the clock itself (assumption, wide).
    let (by_clock, by_ratio) = match shape.goes_by {
        GoesBy::Cup => ((0.0, 1.0), (0.0, 0.3)),
        GoesBy::Clock | GoesBy::Recipe => ((5.0, 2.0), (1.0, 1.5)),
    };
    set(U::BalanceTime, by_clock.0, by_clock.1);
    set(U::BalanceRatio, by_ratio.0, by_ratio.1);
    set(U::UnevenCost, 1.5, 1.2);
    set(U::BalanceAge, 0.0, 0.06);

    // How the drinker marks: signs from the strength and extraction studies on drip coffee (Frost et al. 2020,
    // Batali et al. 2020), carried over to espresso with wide ranges.
    set(U::LnStrengthGain, -libm::log(0.18), 0.4);
    set(U::LnBalanceGain, -libm::log(1.8), 0.4);
    set(U::SourStrength, 0.3, 0.3);
    set(U::SourBalance, -0.9, 0.35);
    set(U::BitterStrength, 0.3, 0.3);
    set(U::BitterBalance, 0.9, 0.35);
    set(U::BodyStrength, 0.7, 0.3);
    set(U::BodyBalance, 0.15, 0.25);
    set(U::DryStrength, 0.2, 0.3);
    set(U::DryBalance, 0.6, 0.35);
    set(U::SweetStrength, -0.2, 0.3);
    set(U::SweetBalance, 0.1, 0.35);
    set(U::SweetDistance, 0.5, 0.35);
    for habit in [U::SourHabit, U::BitterHabit, U::StrengthHabit, U::BodyHabit, U::DryHabit, U::SweetHabit] {
        set(habit, 0.0, 0.3);
    }
    (mean, sd)
}

impl Gaussian {
    /// Independent normals.
    #[must_use]
    pub fn independent(mean: &[f64; UNKNOWNS], sd: &[f64; UNKNOWNS]) -> Self {
        let mut covariance = vec![0.0; UNKNOWNS * UNKNOWNS];
        for (i, s) in sd.iter().enumerate() {
            if let Some(slot) = covariance.get_mut(i * UNKNOWNS + i) {
                *slot = s * s;
            }
        }
        Self { mean: mean.to_vec(), covariance }
    }
}
