//! View models: what a screen, a printed page or a test shows, as plain words and numbers. No window is named here.

pub mod advice;
pub mod bar_card;
pub mod care;
pub mod compare;
pub mod expected;
pub mod foresee;
pub mod keeper;
pub mod keeping;
pub mod ledger;
pub mod live;
pub mod opening;
pub mod page;
pub mod pieces;
pub mod practice;
pub mod reading;
pub mod records;
pub mod shelf;
pub mod spark;
pub mod strips;
pub mod taste_map;
pub mod what_if;
mod words;

pub use words::{MARK_WORDS, lever_word};
