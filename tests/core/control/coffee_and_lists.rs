//! Coffee sunk, forecasts, hoppers, heat, the opening list.

use super::*;
use thirdpull::control::day::{GrinderHeat, grams_until, new_bean_share, wait_for_new_bag};
use thirdpull::control::opening::{CoffeeToOpen, StepKind, cost, opening_list};
use thirdpull::control::sunk::{DayUse, loss, week_forecast};

#[test]
fn loss_against_the_weeks_before() {
    let mut days: Vec<DayUse> = (0..14)
        .map(|d| DayUse { day: d, served_g: 900.0, sunk_g: 36.0, purged_g: 5.0 * f64::from(d % 2) })
        .collect();
    days.push(DayUse { day: 14, served_g: 900.0, sunk_g: 90.0, purged_g: 10.0 });
    let r = loss(&days, 14, 2, Some(30.0)).unwrap();
    near(r.lost_g, 100.0, 1e-12, "grams");
    near(r.cost.unwrap(), 3.0, 1e-12, "money");
    near(r.usual_g.unwrap(), 38.5, 1e-12, "usual");
    assert_eq!((r.compared, r.rank), (14, Some(1.0)));
    assert!(loss(&days, 99, 2, None).is_none());
}

/// The forecast's range is Student's for one further value (textbook prediction interval: mean ± t s √(1 + 1/n));
/// with equal weights it must be just that. Over seeded weeks it must hold about as often as it says.
#[test]
fn forecast_range_holds() {
    let mut draws = Draws::new(31);
    let (mut inside, mut all) = (0u32, 0u32);
    for _ in 0..300 {
        let days: Vec<DayUse> = (0..70)
            .map(|d| DayUse { day: d, served_g: 1000.0 + 250.0 * draws.normal(), ..DayUse::default() })
            .collect();
        let f = week_forecast(&days[..63], 63, 8, 0.8).unwrap();
        let truth: f64 = days[63..].iter().map(DayUse::ground_g).sum::<f64>() / 1000.0;
        inside += u32::from(truth >= f.range_kg.0 && truth <= f.range_kg.1);
        all += 1;
        assert_eq!(f.weeks, 8);
    }
    let share = f64::from(inside) / f64::from(all);
    println!("80 % range held {share:.3}");
    near(share, 0.8, 0.07, "coverage");
    assert!(week_forecast(&[], 0, 4, 0.8).is_none());
}

/// Washing out of a stirred volume: after one volume 1 − 1/e has been replaced (mass balance); all mixing laws
/// give the old grams back in the end.
#[test]
fn hopper_mixing() {
    near(new_bean_share(200.0, 200.0, 1.0), 1.0 - (-1.0f64).exp(), 1e-12, "stirred");
    assert_eq!((new_bean_share(200.0, 199.0, 0.0), new_bean_share(200.0, 201.0, 0.0)), (0.0, 1.0));
    for mixing in [0.1, 0.3, 1.0] {
        let step = 0.5;
        let old: f64 = (0..8000)
            .map(|i| step * (1.0 - new_bean_share(200.0, step * (f64::from(i) + 0.5), mixing)))
            .sum();
        near(old, 200.0, 0.1, "old beans out");
        near(new_bean_share(200.0, grams_until(200.0, 0.95, mixing), mixing), 0.95, 1e-9, "until");
    }
    assert!(wait_for_new_bag(0.5) && !wait_for_new_bag(0.95));
    assert_eq!(new_bean_share(f64::NAN, 1.0, 0.3), 0.0);
}

#[test]
fn rush_heat() {
    let heat = GrinderHeat::default();
    near(heat.grams_felt(&[(0.0, 18.0)], 1200.0), 9.0, 1e-12, "half-life");
    let learnt = heat.learn(&[(200.0, -0.06, 0.01), (150.0, -0.045, 0.01)]);
    // By hand: (2 · 0.06 + 1.5 · 0.045) / 0.01² over 1 / 0.015² + (2² + 1.5²) / 0.01².
    near(learnt.per_100_g, -1875.0 / 66_944.4, 1e-6, "learnt");
    assert_eq!(heat.per_100_g, 0.0, "nothing is expected before anything was seen");
    assert!(learnt.per_100_g_sd < 0.005);
}

#[test]
fn the_opening_list_is_in_order() {
    let coffee = CoffeeToOpen {
        coffee: "Harbour blend".to_owned(),
        station: "Window bar".to_owned(),
        purge_g: 10.0,
        start: Some((-1, "the beans are a day older".to_owned())),
        dose_g: 18.0,
        yield_g: 36.0,
        time_s: Some((27.0, 2.0)),
        temperature_c: Some(93.0),
        bag_age_days: Some(12.0),
    };
    let list = opening_list(&[coffee.clone(), CoffeeToOpen { start: None, ..coffee }], Some(200.0));
    let kinds: Vec<StepKind> = list.iter().map(|s| s.kind).collect();
    use StepKind as K;
    assert_eq!(
        kinds[..8],
        [
            K::WarmUp,
            K::ScaleCheck,
            K::Clean,
            K::TemperatureCheck,
            K::Grinder,
            K::Purge,
            K::FirstPull,
            K::JudgedPull
        ]
    );
    assert_eq!(kinds.iter().filter(|k| **k == K::Grinder).count(), 1);
    assert!(list[4].words.contains("1 click finer") && list[4].caution.is_some());
    let (grams, seconds) = cost(&list);
    near(grams, 2.0 * (10.0 + 36.0), 1e-12, "grams");
    assert!(seconds > 300.0);
}

/// The steps of the opening and its start speak in the units and with the decimal mark of the person who reads them.
/// (Conversions: NIST SP 811, appendix B.8: an ounce is 28.349 523 125 g; a difference of 1 K is 1.8 °F.)
#[test]
fn the_opening_speaks_in_the_units_in_use() {
    use thirdpull::units::{MassUnit, PressureUnit, TemperatureUnit, UnitPreferences, put};
    let coffee = CoffeeToOpen {
        coffee: "Harbour blend".to_owned(),
        station: "Window bar".to_owned(),
        purge_g: 10.0,
        start: None,
        dose_g: 18.0,
        yield_g: 36.0,
        time_s: Some((27.0, 2.0)),
        temperature_c: Some(93.5),
        bag_age_days: Some(12.0),
    };
    let start = thirdpull::control::verdict::Start {
        asked: 0,
        clicks_coarser: 0,
        expected: -0.02,
        expected_sd: 0.02,
        from_ageing: 0.0,
        from_room: -0.02,
        from_neighbours: 0.0,
        p_helps: 0.5,
    };
    let told = || {
        let steps = opening_list(std::slice::from_ref(&coffee), Some(200.0));
        let words: Vec<String> = steps.into_iter().map(|step| step.words).collect();
        (words.join("\n"), start.words(1, 6.0))
    };
    let (steps, because) = told();
    for part in
        ["200 g mass", "within 0.1 g", "93.5 °C, within 1 °C", "grind 10 g through", "18.0 g in, 36 g out"]
    {
        assert!(steps.contains(part), "{part}: {steps}");
    }
    assert!(because.contains("6 °C warmer"), "{because}");
    put(UnitPreferences {
        mass: MassUnit::Ounce,
        temperature: TemperatureUnit::Fahrenheit,
        pressure: PressureUnit::Psi,
        decimal_comma: true,
    });
    let (steps, because) = told();
    put(UnitPreferences::BASE);
    for part in ["7,05 oz mass", "200 °F, within 2 °F", "grind 0,4 oz through", "0,63 oz in, 1,27 oz out"] {
        assert!(steps.contains(part), "{part}: {steps}");
    }
    assert!(!steps.contains(" g ") && !steps.contains("°C"), "{steps}");
    assert!(because.contains("11 °F warmer"), "{because}");
}

/// One night tells of the room as one observation does of a normal mean (conjugate update by hand); temperature and
/// humidity that always move together cannot be told apart, and only their sum becomes sharp.
#[test]
fn the_room_is_learnt_by_bayes_rule() {
    let prior = thirdpull::control::day::RoomEffect::default();
    let (mean, sd) = prior.per_kelvin;
    let got = prior.learn(&[(6.0, 0.0, -0.03, 0.02)]);
    let (before, seen) = (1.0 / (sd * sd), 36.0 / 0.0004);
    near(got.per_kelvin.0, (before * mean + seen * (-0.03 / 6.0)) / (before + seen), 1e-12, "mean");
    near(got.per_kelvin.1, (1.0 / (before + seen)).sqrt(), 1e-12, "sd");
    near(got.per_percent.1, 0.001, 1e-12, "humidity was not seen");
    let together: Vec<_> = (0..200)
        .map(|i| {
            (
                if i % 2 == 0 { 5.0 } else { -5.0 },
                if i % 2 == 0 { 20.0 } else { -20.0 },
                if i % 2 == 0 { -0.04 } else { 0.04 },
                0.02,
            )
        })
        .collect();
    let got = prior.learn(&together);
    let (change, doubt) = got.expected(5.0, 20.0);
    near(change, -0.04, 0.002, "both");
    assert!(doubt < 0.0015, "{doubt}");
    assert!(got.expected(5.0, -20.0).1 > 5.0 * doubt, "{got:?}");
    assert!(prior.learn(&[(f64::NAN, 1.0, 1.0, 0.1), (1.0, 1.0, 1.0, 0.0)]).per_kelvin.0.is_finite());
}
