//! From a recipe to a cup, for one setting of the unknowns.
//!
//! - time: t = 27 s · (q + (1 − q) f) with ln f = n φ + a_d ln(dose) + a_y ln(yield) − a_T ΔT + drift·days + b·s and
//!   relative fineness φ = −ln(1 + c·(κ·Δ + δ))/c, where the reference setting is coarser by δ than the one that gives
//!   27 s; c = 1 is a power law in grain size, c → 0 a straight line, and beyond 1 the bed closes at a size of its own. q is the share of the time that passes whatever
//!   the grind: the machine builds its pressure and the bed fills before the first drip, and past a very coarse bed the
//!   machine's own resistance is left. s is the unevenness below: a bed ground too fine clogs (b > 0) or breaks into
//!   channels that make it faster again (b < −1).
//! - extraction: E = E∞ (1 − e^−z) e^−ℓs, ln z linear in ln ratio, ln time, fineness and temperature; s grows
//!   smoothly once log-time passes the point where the bed turns uneven, so that extraction peaks against fineness
//!   (Cameron et al., Matter 2:631, 2020).
//! - strength: S = E · dose / yield (Batali, Ristenpart and Guinard, Sci. Rep. 10:16450, 2020).
//! - liking: a top minus a bounded loss of the distance from the drinker's ideal strength and balance, which may be a
//!   tip, a hill or a plateau, steeper on one side; balance goes by extraction or, in one variant, mostly by the clock;
//!   in another the recipe itself, ratio and clock, is what is liked.
//!
//! The laws are common practice and local physics, not a claim that coffee obeys them; see the module above.

use super::{Point, Unknown, WORLD_UNKNOWNS};
use crate::maths::real::Real;

/// ln of the standard time, 27 s.
pub const LN_STANDARD_TIME: f64 = 3.295_836_866_004_329;
/// Width of the smooth bend where unevenness sets in, in ln time.
const BEND: f64 = 0.15;
/// Largest loss of liking from being far from the ideal.
pub const DEEPEST_LOSS: f64 = 6.5;

/// What a drinker goes by, of this coffee.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GoesBy {
    /// Strength and extraction.
    Cup,
    /// Strength, and the clock more than extraction: so do sour and bitter.
    Clock,
    /// Ratio and clock, the recipe rather than the cup, while the marks tell of strength and extraction all the same.
    Recipe,
}

/// What becomes of a bed that is ground ever finer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bed {
    /// It slows the water as some law between a straight line and a power of grain size has it, and may clog.
    Slows,
    /// It closes at a size that is not far off: time runs away from any power of grain size, and the pull chokes.
    Closes,
    /// It breaks into channels, so that it runs the faster the finer it is.
    Breaks,
}

/// One structural variant of the model: which way extraction is driven, what liking goes by, and what too fine a bed does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Short name.
    pub name: &'static str,
    /// Whether extraction is driven by time (true) or by grain size (false) at equal ratio.
    pub by_time: bool,
    /// What liking goes by.
    pub goes_by: GoesBy,
    /// What too fine a bed does.
    pub bed: Bed,
    /// Weight before any evidence, beside the others.
    pub weight: f64,
}

/// The variants fitted side by side; those whose bed closes or breaks only where the pulls speak of it (see `Posterior`).
pub const SHAPES: [Shape; 6] = [
    Shape { name: "time", by_time: true, goes_by: GoesBy::Cup, bed: Bed::Slows, weight: 0.35 },
    Shape { name: "grain", by_time: false, goes_by: GoesBy::Cup, bed: Bed::Slows, weight: 0.35 },
    Shape { name: "clock", by_time: true, goes_by: GoesBy::Clock, bed: Bed::Slows, weight: 0.17 },
    Shape { name: "recipe", by_time: true, goes_by: GoesBy::Recipe, bed: Bed::Slows, weight: 0.13 },
    Shape { name: "closing", by_time: true, goes_by: GoesBy::Cup, bed: Bed::Closes, weight: 0.1 },
    Shape { name: "channels", by_time: true, goes_by: GoesBy::Cup, bed: Bed::Breaks, weight: 0.1 },
];

/// Share of extraction in the balance of who goes by the clock, and by the recipe.
const BESIDE_THE_CLOCK: f64 = 0.3;
const BESIDE_THE_RECIPE: f64 = 0.1;

/// What a recipe makes of itself in one world.
#[derive(Debug, Clone, Copy)]
pub struct Latent<T> {
    /// ln of the time in seconds.
    pub ln_time: T,
    /// Extraction, %.
    pub extraction: T,
    /// ln of the strength in %.
    pub ln_strength: T,
    /// ln strength over the ideal, as the marks tell of it.
    pub strength_off: T,
    /// Balance: extraction points (and their like) over the ideal, as the marks tell of it.
    pub balance_off: T,
    /// Unevenness of the bed, ≥ 0.
    pub uneven: T,
    /// Mean liking.
    pub liking: T,
}

/// How a recipe runs in one world.
#[derive(Debug, Clone, Copy)]
pub struct Run<T> {
    /// ln of the time in seconds.
    pub ln_time: T,
    /// Unevenness of the bed, ≥ 0.
    pub uneven: T,
    /// Fineness relative to the setting that gives the standard time.
    fineness: T,
}

/// The unknowns with all that does not depend on the recipe worked out once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prepared<T> {
    curvature: T,
    growth: T,
    per_curvature: T,
    exponent: T,
    start: T,
    dead: T,
    ln_dead_time: T,
    time: [T; 4],
    exhaustion: T,
    extent: [T; 5],
    onset: T,
    clogging: T,
    loss: T,
    ln_ideal_strength: T,
    ideal_extraction: T,
    balance: [T; 4],
    asymmetry: T,
    strength_asymmetry: T,
    half_power: T,
    tip: T,
    per_strength: T,
    per_balance: T,
    tilt: T,
    ideal_kelvin: T,
    per_kelvin: T,
    top: T,
    uneven_cost: T,
}

impl<T: Real> Prepared<T> {
    /// Works out the constants of one world.
    #[inline]
    pub fn new(u: &[T; WORLD_UNKNOWNS]) -> Self {
        let get = |which: Unknown| u[which.at()];
        let curvature = get(Unknown::LnCurvature).exp();
        let exhaustion = get(Unknown::Exhaustion);
        // Beyond 0.6 and 7.4 a hill is a needle or a box, and single precision would overflow.
        let half_power = get(Unknown::LnPower).at_least(-0.5).at_most(2.0).exp() * 0.5;
        Self {
            curvature,
            growth: curvature * get(Unknown::LnSizePerUnit).exp(),
            per_curvature: T::constant(1.0) / curvature,
            exponent: get(Unknown::LnExponent).exp(),
            start: curvature * get(Unknown::StartCoarser),
            dead: get(Unknown::DeadShare),
            ln_dead_time: -((-get(Unknown::DeadShare)).softplus()) + LN_STANDARD_TIME,
            time: [
                get(Unknown::TimeDose),
                get(Unknown::TimeYield),
                get(Unknown::TimeTemperature),
                get(Unknown::TimeAge),
            ],
            exhaustion: exhaustion.at_least(8.0),
            extent: [
                get(Unknown::Extent),
                get(Unknown::ExtentRatio),
                get(Unknown::ExtentTime),
                get(Unknown::ExtentFineness),
                get(Unknown::ExtentTemperature),
            ],
            onset: get(Unknown::UnevenOnset),
            clogging: get(Unknown::TimeUneven),
            loss: get(Unknown::LnUnevenLoss).exp(),
            ln_ideal_strength: get(Unknown::LnIdealStrength),
            ideal_extraction: get(Unknown::IdealExtraction),
            balance: [
                get(Unknown::BalanceTemperature),
                get(Unknown::BalanceTime),
                get(Unknown::BalanceRatio),
                get(Unknown::BalanceAge),
            ],
            asymmetry: get(Unknown::Asymmetry),
            strength_asymmetry: get(Unknown::StrengthAsymmetry),
            half_power,
            tip: (half_power * LN_SOFT).exp(),
            per_strength: (-get(Unknown::LnStrengthTolerance)).exp(),
            per_balance: (-get(Unknown::LnBalanceTolerance)).exp(),
            tilt: get(Unknown::Tilt).tanh() * 1.6,
            ideal_kelvin: get(Unknown::IdealTemperature) - STANDARD,
            per_kelvin: (-get(Unknown::LnTemperatureTolerance)).exp(),
            top: get(Unknown::TopLiking),
            uneven_cost: get(Unknown::UnevenCost),
        }
    }

    /// How a recipe at `point` runs.
    #[inline]
    pub fn run(&self, point: &Point) -> Run<T> {
        let grown = self.growth * point.coarser + self.start + 1.0;
        // Below a twentieth of the reference size the logarithm goes on as a straight line.
        let ln_grown = grown.at_least(0.05).ln() + (grown.at_most(0.05) - 0.05) * 20.0;
        let fineness = -(ln_grown * self.per_curvature);
        let [by_dose, by_yield, by_kelvin, by_day] = self.time;
        // ln of the time (s) that an even bed without dead time would take for the standard yield.
        let per_yield = self.exponent * fineness + LN_STANDARD_TIME + by_dose * point.ln_dose
            - by_kelvin * point.kelvin
            + by_day * point.day;
        let flow = per_yield + by_yield * point.ln_yield - LN_STANDARD_TIME;
        let uneven = ((per_yield - self.onset) * (1.0 / BEND)).softplus() * BEND;
        let ln_time = (flow + self.clogging * uneven - self.dead).softplus() + self.ln_dead_time;
        Run { ln_time, uneven, fineness }
    }

    /// The cup of a recipe at `point`.
    #[inline]
    pub fn cup(&self, point: &Point, shape: &Shape, has_temperature: bool) -> Latent<T> {
        let Run { ln_time, uneven, fineness } = self.run(point);
        let late = ln_time - LN_STANDARD_TIME;
        // Extraction.
        let [extent, by_ratio, by_time, by_fineness, by_kelvin] = self.extent;
        let ln_extent = extent
            + by_ratio * point.ln_ratio
            + by_time * late
            + by_fineness * fineness
            + by_kelvin * point.kelvin;
        let reached = -(-ln_extent.at_most(4.0).exp()).exp() + 1.0;
        let extraction = self.exhaustion * reached * (-(self.loss * uneven)).exp() + 0.05;
        // The frame counts the ratio from 2.
        let ln_ratio = point.ln_ratio + std::f64::consts::LN_2;
        let ln_strength = extraction.ln() - ln_ratio;
        // The drinker: what the marks tell of, and what liking goes by.
        let strength_off = ln_strength - self.ln_ideal_strength;
        let [b_kelvin, b_time, b_ratio, b_day] = self.balance;
        let over = extraction - self.ideal_extraction;
        let aside = b_kelvin * point.kelvin + b_day * point.day;
        let share = match shape.goes_by {
            GoesBy::Cup => 1.0,
            GoesBy::Clock => BESIDE_THE_CLOCK,
            GoesBy::Recipe => BESIDE_THE_RECIPE,
        };
        let balance = over * share + (b_time * late + b_ratio * point.ln_ratio + aside);
        let (balance_off, strength) = if shape.goes_by == GoesBy::Recipe {
            // The ratio they want is that of the cup they want.
            let ln_ideal_ratio = self.ideal_extraction.at_least(8.0).ln() - self.ln_ideal_strength;
            (over + aside, ln_ideal_ratio - ln_ratio)
        } else {
            (balance, strength_off)
        };
        let heavy = (self.strength_asymmetry * (strength * 6.0).tanh()).exp();
        let skew = (self.asymmetry * (balance * 0.5).tanh()).exp();
        let x = strength * self.per_strength * heavy;
        let y = balance * self.per_balance * skew;
        let mut square = x * x + y * y + self.tilt * x * y;
        if has_temperature {
            let z = (-self.ideal_kelvin + point.kelvin) * self.per_kelvin;
            square = square + z * z;
        }
        // (d² + ε)^(p/2) − ε^(p/2), bounded by the deepest loss.
        let powered = ((square + SOFT).ln() * self.half_power).exp() - self.tip;
        let loss = -((-(powered * (1.0 / DEEPEST_LOSS))).exp() - 1.0) * DEEPEST_LOSS;
        let liking = self.top - loss - self.uneven_cost * uneven;
        Latent { ln_time, extraction, ln_strength, strength_off, balance_off, uneven, liking }
    }
}

/// The cup of a recipe at `point` in the world with these unknowns.
#[inline]
pub fn forward<T: Real>(
    u: &[T; WORLD_UNKNOWNS],
    point: &Point,
    shape: &Shape,
    has_temperature: bool,
) -> Latent<T> {
    Prepared::new(u).cup(point, shape, has_temperature)
}

const STANDARD: f64 = super::frame::STANDARD_TEMPERATURE_C;
/// ln of what rounds off the tip of a sharp liking.
const LN_SOFT: f64 = -2.995_732_273_553_991;
/// Rounds off the tip of a sharp liking.
const SOFT: f64 = 0.05;
