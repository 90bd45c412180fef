//! Run rules: patterns in a row of standardised values that a single limit does not see.

use super::charts::Side;

/// A run rule on standardised values (distance from the centre in standard deviations). Western Electric, *Statistical
/// Quality Control Handbook*, 1956; trend and alternation after Nelson, J. Qual. Technol. 16:237, 1984 \[memory\].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RunRule {
    /// One value beyond three standard deviations.
    OneBeyondThree,
    /// Two of three beyond two, on one side.
    TwoOfThreeBeyondTwo,
    /// Four of five beyond one, on one side.
    FourOfFiveBeyondOne,
    /// Eight in a row on one side.
    EightOnOneSide,
    /// Six in a row steadily rising or falling.
    SixTrending,
    /// Fourteen in a row going up and down in turn: often two people or two baskets in turn.
    FourteenAlternating,
}

impl RunRule {
    /// The four zone rules of 1956.
    pub const WESTERN_ELECTRIC: [Self; 4] =
        [Self::OneBeyondThree, Self::TwoOfThreeBeyondTwo, Self::FourOfFiveBeyondOne, Self::EightOnOneSide];

    /// The two that suit a café: a wild value, and a run on one side. All four cry wolf every two weeks at six to
    /// nine pulls a day (run length 91.75 points; Champ and Woodall, Technometrics 29:393, 1987 \[memory\]).
    pub const CAFE: [Self; 2] = [Self::OneBeyondThree, Self::EightOnOneSide];

    /// Plain words for a chart.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::OneBeyondThree => word!("control-rules-one-beyond-three"),
            Self::TwoOfThreeBeyondTwo => word!("control-rules-two-of-three-beyond-two"),
            Self::FourOfFiveBeyondOne => word!("control-rules-four-of-five-beyond-one"),
            Self::EightOnOneSide => word!("control-rules-eight-on-one-side"),
            Self::SixTrending => word!("control-rules-six-trending"),
            Self::FourteenAlternating => word!("control-rules-fourteen-alternating"),
        }
    }
}

/// A rule that fired at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RuleSignal {
    /// Index of the point that completed the pattern.
    pub index: usize,
    /// The rule.
    pub rule: RunRule,
    /// The side; for alternation the side of the last value.
    pub side: Side,
}

/// Applies rules to standardised values. Every point that completes a pattern is reported, rules in the order given.
/// Values that are not finite break a run.
#[must_use]
pub fn run_rules(z: &[f64], rules: &[RunRule]) -> Vec<RuleSignal> {
    let mut out = Vec::new();
    // Where the run that a point belongs to began.
    let mut begun = 0;
    for (index, value) in z.iter().enumerate() {
        if !value.is_finite() {
            begun = index + 1;
            continue;
        }
        for &rule in rules {
            if let Some(side) = fires(z.get(begun..=index).unwrap_or(&[]), rule) {
                out.push(RuleSignal { index, rule, side });
            }
        }
    }
    out
}

fn fires(past: &[f64], rule: RunRule) -> Option<Side> {
    let last = *past.last()?;
    let of = |window: usize, need: usize, beyond: f64| {
        let tail = past.get(past.len().saturating_sub(window)..)?;
        let high = tail.iter().filter(|v| **v > beyond).count();
        let low = tail.iter().filter(|v| **v < -beyond).count();
        // The newest value must itself belong to the pattern.
        if high >= need && last > beyond {
            Some(Side::High)
        } else if low >= need && last < -beyond {
            Some(Side::Low)
        } else {
            None
        }
    };
    match rule {
        RunRule::OneBeyondThree => of(1, 1, 3.0),
        RunRule::TwoOfThreeBeyondTwo => of(3, 2, 2.0),
        RunRule::FourOfFiveBeyondOne => of(5, 4, 1.0),
        RunRule::EightOnOneSide => of(8, 8, 0.0),
        RunRule::SixTrending => {
            let tail = past.len().checked_sub(6).and_then(|from| past.get(from..))?;
            if tail.windows(2).all(|w| w[1] > w[0]) {
                Some(Side::High)
            } else if tail.windows(2).all(|w| w[1] < w[0]) {
                Some(Side::Low)
            } else {
                None
            }
        }
        RunRule::FourteenAlternating => {
            let tail = past.len().checked_sub(14).and_then(|from| past.get(from..))?;
            let swings = tail.windows(3).all(|w| (w[1] - w[0]) * (w[2] - w[1]) < 0.0);
            swings.then_some(if last >= 0.0 { Side::High } else { Side::Low })
        }
    }
}
