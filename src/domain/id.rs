//! Identifiers that sort by time and never collide between machines (UUID version 7, RFC 9562 section 5.7).

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// Why a text is no identifier.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", say!("domain-id-fault", text = .0))]
pub struct IdFault(String);

/// One identifier: a UUID, written in lower case with hyphens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct Id(uuid::Uuid);

impl Id {
    /// Builds a version 7 UUID from a moment and 74 bits of randomness taken from `random` (10 bytes, of which 6
    /// bits are overwritten by the version and the variant).
    #[must_use]
    pub fn from_parts(at: jiff::Timestamp, random: [u8; 10]) -> Self {
        let millis = u64::try_from(at.as_millisecond()).unwrap_or(0);
        Self(uuid::Builder::from_unix_timestamp_millis(millis, &random).into_uuid())
    }

    /// A new identifier for `at`, with randomness from the operating system.
    #[must_use]
    pub fn fresh(at: jiff::Timestamp) -> Self {
        let seconds = u64::try_from(at.as_second()).unwrap_or(0);
        let nanos = u32::try_from(at.subsec_nanosecond()).unwrap_or(0);
        Self(uuid::Uuid::new_v7(uuid::Timestamp::from_unix(uuid::NoContext, seconds, nanos)))
    }

    /// The last eight hexadecimal digits: random, short enough for a file name beside a readable slug.
    #[must_use]
    pub fn short(&self) -> String {
        let text = self.0.simple().to_string();
        text.get(24..).unwrap_or("").to_owned()
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.hyphenated().fmt(f)
    }
}

impl FromStr for Id {
    type Err = IdFault;

    fn from_str(text: &str) -> Result<Self, IdFault> {
        uuid::Uuid::try_parse(text).map(Self).map_err(|_unreadable| IdFault(text.chars().take(60).collect()))
    }
}

macro_rules! typed_id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
        )]
        pub struct $name(pub Id);

        impl $name {
            /// A new identifier for `at`, with randomness from the operating system.
            #[must_use]
            pub fn fresh(at: jiff::Timestamp) -> Self {
                Self(Id::fresh(at))
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = IdFault;

            fn from_str(text: &str) -> Result<Self, IdFault> {
                text.parse().map(Self)
            }
        }
    };
}

typed_id!(
    /// Identifies a bag.
    BagId
);
typed_id!(
    /// Identifies a station.
    StationId
);
typed_id!(
    /// Identifies a drinker.
    DrinkerId
);
typed_id!(
    /// Identifies a pull.
    PullId
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sorts_by_time_and_round_trips() {
        let early = Id::from_parts(jiff::Timestamp::from_second(1_700_000_000).unwrap(), [9; 10]);
        let late = Id::from_parts(jiff::Timestamp::from_second(1_700_000_001).unwrap(), [0; 10]);
        assert!(early < late && early.to_string() < late.to_string());
        assert_eq!(early.to_string().parse::<Id>(), Ok(early));
        assert!("not-an-id".parse::<Id>().is_err());
        assert_eq!(early.short().len(), 8);
    }

    /// RFC 9562, Appendix A.6: the test vector of UUID version 7 (time 2022-02-22T19:22:22Z).
    #[test]
    fn matches_the_standard_test_vector() {
        let at = jiff::Timestamp::from_millisecond(0x017F_22E2_79B0).unwrap();
        let random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F];
        assert_eq!(Id::from_parts(at, random).to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
    }
}
