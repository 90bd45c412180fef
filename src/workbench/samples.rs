//! Small notebooks for tests of the workbench.
#![allow(missing_docs)]

use jiff::Timestamp;

use crate::domain::*;

pub fn gear() -> Gear {
    let scale = |what, min, max, step| Scale::new(what, min, max, step).unwrap();
    Gear {
        grind: GrindScale {
            scale: scale("grind", 0.0, 30.0, 0.5),
            finer: Finer::Lower,
            um_per_unit: None,
            retained_g: 0.5,
            stepless: false,
        },
        dose_g: scale("dose", 16.0, 20.0, 0.1),
        yield_g: scale("yield", 20.0, 60.0, 0.5),
        temperature_c: Some(scale("temperature", 88.0, 96.0, 0.5)),
        pressure_bar: Some(9.0),
        refractometer: true,
    }
}

pub fn notebook_with_pulls(count: usize, now: Timestamp) -> (Notebook, BagId) {
    let id = |n: u8| Id::from_parts(now, [n; 10]);
    let mut notebook = Notebook::default();
    let station = Station {
        id: StationId(id(1)),
        stamp: Stamp::new(now),
        name: "Kitchen".to_owned(),
        grinder_name: String::new(),
        machine_name: String::new(),
        gear: gear(),
        basket: Basket { diameter_mm: 58.0, stated_dose_g: 18.0 },
        archived: false,
        note: String::new(),
    };
    let drinker = Drinker {
        id: DrinkerId(id(2)),
        stamp: Stamp::new(now),
        name: "Ida".to_owned(),
        archived: false,
        note: String::new(),
    };
    let bag = Bag {
        id: BagId(id(3)),
        stamp: Stamp::new(now),
        name: "Quarry Road".to_owned(),
        roaster: String::new(),
        roast: Some(Roast::MediumLight),
        process: Some(Process::Washed),
        roasted_on: None,
        opened_on: None,
        mass_g: Some(250.0),
        price: None,
        station: station.id,
        drinker: drinker.id,
        start: StartRecipe { grind: Some(14.0), dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: Vec::new(),
    };
    let bag_id = bag.id;
    let station_id = station.id;
    notebook.put(Record::Station(Box::new(station)));
    notebook.put(Record::Drinker(Box::new(drinker)));
    notebook.put(Record::Bag(Box::new(bag)));
    for n in 0..count {
        let at = now + jiff::SignedDuration::from_secs(n as i64);
        let pull = Pull {
            id: PullId(Id::from_parts(at, [n as u8; 10])),
            stamp: Stamp::new(at),
            pulled_at: at,
            station: station_id,
            pulled_by: String::new(),
            plan: None,
            used: Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
            time_s: Some(19.0 + n as f64),
            first_drip_s: None,
            tds_pct: None,
            taste: Taste::default(),
            flags: Flags::default(),
            note: String::new(),
            has_trace: false,
        };
        notebook.put(Record::Pull(bag_id, Box::new(pull)));
    }
    (notebook, bag_id)
}
