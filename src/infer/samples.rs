//! What the tests of several files here and of the advisor begin with.

use crate::domain::{Finer, Gear, GrindScale, Recipe, Scale};

/// The recipe to begin with.
pub(crate) const FIRST: Recipe =
    Recipe { grind: 15.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };

pub(crate) fn gear() -> Gear {
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
