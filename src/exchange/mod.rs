//! Files that come from elsewhere or go elsewhere: tables of samples in ([`table`]), tables of pulls and traces out
//! ([`export`]), strips as pictures ([`picture`]). Reading never changes anything; every refusal is one sentence with the line and column.

pub mod export;
pub mod kept;
pub mod picture;
#[cfg(feature = "xlsx")]
pub mod spreadsheet;
pub mod table;
