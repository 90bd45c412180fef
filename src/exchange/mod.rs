//! Files that come from elsewhere or go elsewhere: tables of samples in ([`table`]), tables of pulls and traces out
//! ([`export`]). Reading never changes anything; every refusal is one sentence with the line and column.

pub mod export;
#[cfg(feature = "xlsx")]
pub mod spreadsheet;
pub mod table;
