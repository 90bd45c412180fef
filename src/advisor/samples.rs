//! What the tests of several files here begin with.

use crate::domain::{Finer, Gear, GrindScale, Recipe, Scale, StartRecipe, Taste};
use crate::infer::{BagFacts, Beginning, Frame, Noise, Posterior, Shot};

/// The recipe to begin with.
pub(super) const FIRST: Recipe =
    Recipe { grind: 15.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };

pub(super) fn gear() -> Gear {
    let scale = |min, max, step| Scale::new("test", min, max, step).unwrap();
    Gear {
        grind: GrindScale {
            scale: scale(0.0, 30.0, 0.5),
            finer: Finer::Lower,
            um_per_unit: Some(12.0),
            retained_g: 0.5,
            stepless: false,
        },
        dose_g: scale(16.0, 20.0, 0.5),
        yield_g: scale(26.0, 54.0, 1.0),
        temperature_c: Some(scale(88.0, 96.0, 1.0)),
        pressure_bar: Some(9.0),
        refractometer: false,
    }
}

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
