//! A station on disk.

use jiff::Timestamp;

use super::IdText;
use crate::domain;
use crate::store::text::{Num, record, words};

words!(
    /// Which way is finer.
    FinerWord of domain::Finer { "lower" = domain::Finer::Lower, "higher" = domain::Finer::Higher, }
);

record!(
    /// A settable range.
    Scale Inline check scale_is_sound { must min: Num, must max: Num, must step: Num, }
);

fn scale_is_sound(scale: &Scale) -> Result<(), domain::GearFault> {
    domain::Scale::new(word!("store-v1-scale"), scale.min.0, scale.max.0, scale.step.0).map(|_| ())
}

record!(
    /// A grinder.
    Grinder Lines check grinder_is_sound {
        may name: String,
        must min: Num,
        must max: Num,
        must step: Num,
        must finer: FinerWord,
        may um_per_unit: Option<Num>,
        may retained_g: Num,
        may stepless: bool,
    }
);

fn grinder_is_sound(grinder: &Grinder) -> Result<(), domain::GearFault> {
    domain::Scale::new(word!("store-v1-grinder"), grinder.min.0, grinder.max.0, grinder.step.0).map(|_| ())
}

record!(
    /// A machine.
    Machine Lines {
        may name: String,
        may pressure_bar: Option<Num>,
        may temperature_c: Option<Scale>,
    }
);

record!(
    /// A basket.
    Basket Inline { must diameter_mm: Num, must stated_dose_g: Num, }
);

record!(
    /// A station's file.
    Station Lines {
        may format: Option<u32>,
        must id: IdText,
        must made: Timestamp,
        must changed: Timestamp,
        may removed: Option<Timestamp>,
        must name: String,
        must grinder: Grinder,
        must machine: Machine,
        must basket: Basket,
        must dose_g: Scale,
        must yield_g: Scale,
        may refractometer: bool,
        may archived: bool,
        may note: String,
    }
);
