//! What is wrong with a description of a puck or a drive.

/// A description that the simulator refuses, naming the field, the value and what is allowed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PuckFault {
    /// A number outside its physical range, or not a number.
    #[error("{}", say!("puck-fault-out-of-range", field = field, value = value, low = low, high = high))]
    OutOfRange {
        /// Dotted name of the field, with its unit as the last word.
        field: String,
        /// The refused value.
        value: f64,
        /// Smallest allowed value.
        low: f64,
        /// Largest allowed value.
        high: f64,
    },
    /// A list that is empty, too long, or whose times run backwards.
    #[error("{field}: {reason}")]
    Shape {
        /// Dotted name of the field.
        field: String,
        /// What is wrong with it.
        reason: String,
    },
}

/// Accepts `value` between `low` and `high` (both included); refuses everything else, NaN too.
pub(crate) fn within(field: &str, value: f64, low: f64, high: f64) -> Result<(), PuckFault> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(PuckFault::OutOfRange { field: field.to_owned(), value, low, high })
    }
}

/// Refuses with a reason.
pub(crate) fn misshapen<T>(field: &str, reason: impl Into<String>) -> Result<T, PuckFault> {
    Err(PuckFault::Shape { field: field.to_owned(), reason: reason.into() })
}
