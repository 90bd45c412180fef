//! The list of unknowns. Each has a place in one vector; logarithms where the quantity is positive.

macro_rules! unknowns {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {
        /// One unknown and its place in the vector of unknowns.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        #[repr(usize)]
        pub enum Unknown { $($(#[$doc])* $name),+ }
        impl Unknown {
            /// All unknowns in vector order.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];
            /// Place in the vector.
            #[must_use]
            pub const fn at(self) -> usize { self as usize }
        }
    };
}

unknowns! {
    /// How much coarser the reference setting is than the one that gives the standard time, relative to grain size.
    StartCoarser,
    /// ln of the exponent of flow time against relative grain size.
    LnExponent,
    /// ln of the relative change of grain size for one unit of the grinder's scale.
    LnSizePerUnit,
    /// ln of the curvature of log-time against the scale (0 = power law, far below = straight).
    LnCurvature,
    /// ln of the odds of the share of the standard time in which nothing flows into the cup, or only the machine holds
    /// the flow back: it passes whatever the grind.
    DeadShare,
    /// Exponent of flow time against dose.
    TimeDose,
    /// Exponent of flow time against yield.
    TimeYield,
    /// Fall of the logarithm of flow time per kelvin.
    TimeTemperature,
    /// Change of the logarithm of flow time per day of age.
    TimeAge,
    /// Change of ln flow time per unit of unevenness: positive where the bed clogs, below −1 where channels make finer
    /// faster.
    TimeUneven,
    /// Extraction (%) at exhaustion of a perfectly even bed.
    Exhaustion,
    /// ln of the extent of extraction at ratio 2, 27 s, 93 °C.
    Extent,
    /// Slope of ln extent against ln ratio.
    ExtentRatio,
    /// Slope of ln extent against ln time.
    ExtentTime,
    /// Slope of ln extent against relative fineness at equal time.
    ExtentFineness,
    /// Slope of ln extent per kelvin.
    ExtentTemperature,
    /// ln time (per standard yield) at which the bed turns uneven.
    UnevenOnset,
    /// ln of the share of extraction lost per unit of ln time beyond the onset.
    LnUnevenLoss,
    /// ln of the drinker's ideal strength (%).
    LnIdealStrength,
    /// The drinker's ideal extraction (%): the middle of the balance axis.
    IdealExtraction,
    /// ln of the distance in ln strength that costs about a point of liking.
    LnStrengthTolerance,
    /// ln of the distance in extraction points that costs about a point of liking.
    LnBalanceTolerance,
    /// How much narrower the tolerance is on the over-extracted side.
    Asymmetry,
    /// The same for too strong a cup.
    StrengthAsymmetry,
    /// ln of the power of distance with which liking is lost: 1 a tip, 2 a round hill, 4 a plateau with walls.
    LnPower,
    /// How far strength and balance excuse or aggravate each other.
    Tilt,
    /// Mean liking of the best cup for this drinker from this bag.
    TopLiking,
    /// Shift of balance per kelvin beside extraction.
    BalanceTemperature,
    /// Brew temperature that this drinker would choose, °C.
    IdealTemperature,
    /// ln of the distance in kelvin that costs about a point of liking by itself.
    LnTemperatureTolerance,
    /// Shift of balance per unit of ln time beside extraction.
    BalanceTime,
    /// Points of liking lost per unit of unevenness.
    UnevenCost,
    /// Shift of balance per unit of ln ratio beside extraction.
    BalanceRatio,
    /// Shift of balance per day of age.
    BalanceAge,

    /// ln of marks per unit of ln strength.
    LnStrengthGain,
    /// ln of marks per point of balance.
    LnBalanceGain,
    /// Sourness mark per strength mark.
    SourStrength,
    /// Sourness mark per balance mark (negative: sour cups are under-extracted).
    SourBalance,
    /// Bitterness mark per strength mark.
    BitterStrength,
    /// Bitterness mark per balance mark.
    BitterBalance,
    /// Body mark per strength mark.
    BodyStrength,
    /// Body mark per balance mark.
    BodyBalance,
    /// Astringency mark per strength mark.
    DryStrength,
    /// Astringency mark per balance mark.
    DryBalance,
    /// Sweetness mark per strength mark.
    SweetStrength,
    /// Sweetness mark per balance mark.
    SweetBalance,
    /// Sweetness lost away from balance, on either side.
    SweetDistance,
    /// Habit of this drinker in marking sourness (marks given to the ideal cup).
    SourHabit,
    /// The same for bitterness.
    BitterHabit,
    /// The same for strength.
    StrengthHabit,
    /// The same for body.
    BodyHabit,
    /// The same for astringency.
    DryHabit,
    /// The same for sweetness.
    SweetHabit,
}

/// Number of unknowns.
pub const UNKNOWNS: usize = Unknown::ALL.len();
/// Number of unknowns of the puck, the bag and the drinker's liking; they come first.
pub const WORLD_UNKNOWNS: usize = Unknown::LnStrengthGain as usize;
