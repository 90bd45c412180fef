//! What the tests of several files here begin with.

use crate::domain::{Gear, Recipe, StartRecipe, Taste};
use crate::infer::{BagFacts, Beginning, Frame, Noise, Posterior, Shot};

pub(super) use crate::infer::samples::{FIRST, gear};

/// What is believed after pulls of [`FIRST`] at other grinds: grind, seconds, liking.
pub(super) fn believed(gear: &Gear, pulls: &[(f64, f64, i64)]) -> Posterior {
    let pulled = |(label, (grind, time_s, liking)): (u32, &(f64, f64, i64))| {
        let mut taste = Taste::default();
        taste.set_liking(Some(*liking));
        Shot { time_s: Some(*time_s), taste, ..Shot::new(label, Recipe { grind: *grind, ..FIRST }) }
    };
    let shots: Vec<Shot> = (1..).zip(pulls).map(pulled).collect();
    let Recipe { grind, dose_g, yield_g, temperature_c } = FIRST;
    let frame = Frame::new(gear, &StartRecipe { grind: Some(grind), dose_g, yield_g, temperature_c }, None);
    let noise = Noise::default();
    let beginning = Beginning::new(&BagFacts::default(), gear, &frame, &[], &noise);
    Posterior::new(&beginning, &frame, &shots, &noise, 1, 160)
}
