//! From a bag's records to a series.
#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use jiff::{SignedDuration, Timestamp, civil::date, tz::TimeZone};
use thirdpull::control::pulls::{KnownCauses, Reader, Reference, Watched, day_use, readings};
use thirdpull::domain::*;

use super::*;

fn grind() -> GrindScale {
    GrindScale {
        scale: Scale::new("grind", 0.0, 30.0, 0.5).unwrap(),
        finer: Finer::Lower,
        um_per_unit: None,
        retained_g: 0.5,
        stepless: false,
    }
}

/// A bag of an invented scenario with pulls of (day, grind, dose, cup, time, who, sink).
fn bag(pulls: &[(i64, f64, f64, f64, f64, &str, bool)]) -> Bag {
    let start: Timestamp = "2026-03-02T07:00:00Z".parse().unwrap();
    let id = |n: u8| Id::from_parts(start, [n; 10]);
    let recipe = Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };
    let pulls = pulls
        .iter()
        .enumerate()
        .map(|(i, &(day, grind, dose_g, yield_g, time_s, who, sink))| {
            let at = start + SignedDuration::from_hours(24 * day) + SignedDuration::from_secs(60 * i as i64);
            Pull {
                id: PullId(Id::from_parts(at, [i as u8; 10])),
                stamp: Stamp::new(at),
                pulled_at: at,
                station: StationId(id(1)),
                pulled_by: who.to_owned(),
                plan: None,
                used: Recipe { grind, dose_g, yield_g, ..recipe },
                time_s: Some(time_s),
                first_drip_s: None,
                tds_pct: None,
                taste: Taste::default(),
                flags: Flags { sink, ..Flags::default() },
                note: String::new(),
                has_trace: false,
            }
        })
        .collect();
    Bag {
        id: BagId(id(2)),
        stamp: Stamp::new(start),
        name: "Harbour blend".to_owned(),
        roaster: String::new(),
        roast: None,
        process: None,
        roasted_on: Some(date(2026, 2, 20)),
        opened_on: None,
        mass_g: None,
        price: None,
        station: StationId(id(1)),
        drinker: DrinkerId(id(3)),
        start: StartRecipe { grind: Some(14.0), dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
        time_window_s: None,
        keeper: Some(Keeper {
            recipe,
            time_s: Some(27.0),
            tolerance: Tolerance::default(),
            kept_at: start,
            from_pull: None,
        }),
        finished: false,
        note: String::new(),
        pulls,
    }
}

#[test]
fn readings_take_out_dose_and_cup() {
    let causes = KnownCauses { dose: (2.5, 0.1), cup: (0.7, 0.1) };
    let slow = 27.0 * (18.2f64 / 18.0).powf(2.5) * (37.0f64 / 36.0).powf(0.7) * 0.05f64.exp();
    let bag = bag(&[
        (0, 14.0, 18.0, 36.0, 27.0, "Ida", false),
        (1, 13.0, 18.2, 37.0, slow, "Noor", true),
        (1, 13.0, 18.0, 36.0, f64::NAN, "Ida", false),
        (1, 13.0, 18.0, 36.0, 0.0, "Ida", false),
    ]);
    let scale = grind();
    let reference = Reference::of_keeper(&bag, Watched::FlowTime).unwrap();
    let zone = TimeZone::UTC;
    let reader = Reader {
        what: Watched::FlowTime,
        reference,
        causes,
        station: bag.station,
        grind: &scale,
        zone: &zone,
    };
    let mut people = Vec::new();
    let got = readings(&bag, 3, &reader, &mut people);
    assert_eq!(got.len(), 2, "no time, no reading");
    near(got[0].value, 0.0, 1e-12, "on target");
    near(got[1].value, 0.05, 1e-12, "what dose and cup do not explain");
    assert_eq!(got[1].day - got[0].day, 1);
    assert_eq!(got[1].click - got[0].click, -2, "two steps finer");
    assert_eq!((got[0].bag_age_days, got[1].bag_age_days), (Some(10.0), Some(11.0)));
    assert_eq!(people, ["Ida", "Noor"]);
    assert!(Reference::of_keeper(&bag, Watched::Strength).is_none());
    let used = day_use(&bag, 5.0, &zone);
    assert_eq!(used.len(), 2);
    near(used[1].sunk_g, 18.2, 1e-12, "sunk");
    near(used[1].served_g, 36.0, 1e-12, "served");
    near(used[1].purged_g, 5.0, 1e-12, "one move, one purge");
}

/// Many weighed pulls in groups with their own levels: the exponents that made them come back, within their stated
/// errors; a single group of one pull teaches nothing.
#[test]
fn exponents_are_learnt() {
    let mut draws = Draws::new(5);
    let groups: Vec<Vec<(f64, f64, f64)>> = (0..60)
        .map(|_| {
            let level = 0.2 * draws.normal();
            (0..3)
                .map(|_| {
                    let (d, c) = (0.012 * draws.normal(), 0.025 * draws.normal());
                    (level + 2.9 * d + 0.6 * c + 0.03 * draws.normal(), d, c)
                })
                .collect()
        })
        .collect();
    let start = KnownCauses::start(Watched::FlowTime);
    let learnt = start.learn(&groups, 0.03);
    near(learnt.dose.0, 2.9, 3.0 * learnt.dose.1, "dose");
    near(learnt.cup.0, 0.6, 3.0 * learnt.cup.1, "cup");
    assert!(learnt.dose.1 < start.dose.1 / 2.0 && learnt.cup.1 < start.cup.1);
    near(start.learn(&[vec![(1.0, 0.1, 0.1)]], 0.03).dose.0, start.dose.0, 1e-12, "one pull");
}
