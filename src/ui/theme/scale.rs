//! Type sizes and distances, in points. At 96 points an inch and an arm's length of 700 mm, 18 points of this face
//! are about 20 minutes of arc high, the preferred reading size (US NRC NUREG-0700 rev. 2, guideline 1.3.1-4).

use eframe::egui::{FontFamily, FontId};

/// Ticks of plots: 17 minutes of arc at 600 mm, the smallest type in the window.
pub const TICK: f32 = 14.0;
/// Labels of second rank.
pub const SMALL: f32 = 16.0;
/// Text, fields, buttons.
pub const BODY: f32 = 18.0;
/// Headings of a dialog or a group.
pub const HEADING: f32 = 22.0;
/// The bag's name over its page.
pub const TITLE: f32 = 26.0;
/// The next pull: what to move.
pub const HERO: f32 = 46.0;
/// Seconds of the running clock: about 3 cm high on a 96-points-an-inch screen.
pub const CLOCK: f32 = 150.0;

/// Hair.
pub const GAP_1: f32 = 4.0;
/// Between a label and its field.
pub const GAP_2: f32 = 8.0;
/// Between fields.
pub const GAP_3: f32 = 12.0;
/// Between groups.
pub const GAP_4: f32 = 16.0;
/// Between parts of a page.
pub const GAP_5: f32 = 24.0;
/// Around a page.
pub const GAP_6: f32 = 32.0;

/// Height of a control that a wet finger hits (WCAG 2.2, 2.5.5).
pub const TARGET: f32 = 44.0;
/// Height of a control in bar mode.
pub const TARGET_BAR: f32 = 56.0;
/// Height of a row in a table.
pub const ROW: f32 = 36.0;

/// Name of the heavier weight.
pub const SEMIBOLD: &str = "semibold";

/// Regular weight at a size.
#[must_use]
pub fn regular(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Semibold weight at a size.
#[must_use]
pub fn semibold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(SEMIBOLD.into()))
}
