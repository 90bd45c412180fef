//! A real pull of the notebook laid beside the bench.

use std::sync::Arc;

use crate::domain::{Bag, Notebook, Pull, PullId, Trace};
use crate::practice::{Bar, Bench, Coffee, Grinder};

/// A recorded pull and the bench as it stood for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// "Two Lakes 3".
    pub name: String,
    /// Its samples.
    pub trace: Arc<Trace>,
    /// Recipe, gear, age and roast as they were; the coffee's inner properties are still the usual ones.
    pub setting: Bench,
}

impl Beside {
    /// The bench set as for this pull, the coffee's inner properties taken from `from` where a fit may begin.
    #[must_use]
    pub fn stands(&self, from: &Bench) -> Bench {
        let mut bench = self.setting.clone();
        let roast = bench.coffee.roast;
        let name = bench.coffee.name.clone();
        bench.coffee = Coffee { roast, name, ..from.coffee.clone() };
        bench
    }
}

/// Micrometres over the whole of a grinder's scale where nothing is known of it (common practice, no source).
const USUAL_REACH_UM: f64 = 320.0;

/// The bench as a pull of the notebook was made on it. The grinder's marks are its own; what one of them does to the
/// grounds is taken from the station where it is known, else as usual.
#[must_use]
pub fn stands_as(notebook: &Notebook, bag: &Bag, pull: &Pull) -> Option<Bench> {
    let station = notebook.station(pull.station).or_else(|| notebook.station(bag.station))?;
    let gear = &station.gear;
    let scale = |scale: crate::domain::Scale| (scale.min(), scale.max(), scale.step());
    let reach = (gear.grind.scale.max() - gear.grind.scale.min()).max(gear.grind.scale.step());
    let usual = Bar::default();
    let used = pull.used;
    // A pull may lie outside of what the gear was said to do.
    let around = |(low, high, step): (f64, f64, f64), value: f64| (low.min(value), high.max(value), step);
    let bar = Bar {
        dose_g: around(scale(gear.dose_g), used.dose_g),
        yield_g: around(scale(gear.yield_g), used.yield_g),
        temperature_c: gear
            .temperature_c
            .map(|marks| used.temperature_c.map_or(scale(marks), |c| around(scale(marks), c))),
        usual_c: used.temperature_c.unwrap_or(usual.usual_c),
        pressure_bar: gear.pressure_bar.unwrap_or(usual.pressure_bar).clamp(1.0, 15.0),
        basket_mm: station.basket.diameter_mm.clamp(40.0, 70.0),
        refractometer: gear.refractometer,
        ..usual
    };
    let grinder = Grinder {
        name: station.grinder_name.clone(),
        marks: around(scale(gear.grind.scale), used.grind),
        finer: gear.grind.finer,
        stepless: gear.grind.stepless,
        gives_um: (used.grind, crate::practice::coffee::USUAL_COARSE_UM),
        um_per_unit: gear.grind.um_per_unit.unwrap_or(USUAL_REACH_UM / reach).clamp(0.05, 500.0),
        told: gear.grind.um_per_unit.is_some(),
        retained_g: gear.grind.retained_g,
    };
    let day = pull.pulled_at.to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    let usual = Bench::default();
    let age_days = bag.days_since_roast(day).map_or(usual.age_days, f64::from).clamp(1.0, 60.0);
    let coffee = Coffee {
        name: bag.name.clone(),
        roast: bag.roast.unwrap_or(usual.coffee.roast),
        process: bag.process.unwrap_or(usual.coffee.process),
        ..usual.coffee
    };
    Some(Bench {
        coffee,
        grinder,
        bar,
        recipe: used,
        age_days,
        care: usual.care,
        channels: Vec::new(),
        drawn: crate::practice::Drawn::default(),
    })
}

/// A pull of the notebook with its trace, ready to be laid beside; `None` when it or its station is gone.
#[must_use]
pub fn beside(notebook: &Notebook, bag: &Bag, pull: PullId, trace: Arc<Trace>) -> Option<Beside> {
    let found = bag.pulls.iter().find(|one| one.id == pull)?;
    Some(Beside {
        name: format!("{} {}", bag.name, crate::workbench::number_of(bag, pull)),
        setting: stands_as(notebook, bag, found)?,
        trace,
    })
}
