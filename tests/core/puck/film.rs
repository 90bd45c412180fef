//! Pictures of the inside of the puck: what they show adds up, and showing it changes nothing.

use thirdpull::puck::*;

fn uneven() -> Puck {
    let channel = Channel { opens_at_s: 12.0, area_share: 0.01, gain: 30.0, heals_in_s: None };
    let unevenness = Unevenness { spread: 0.3, channels: vec![channel] };
    Puck::new(PuckSpec { unevenness, ..PuckSpec::default() }).unwrap()
}

fn times() -> Vec<f64> {
    (0..60).map(|i| 0.5 * f64::from(i)).collect()
}

fn filmed() -> (PullTrace, Film) {
    simulate_filmed(&uneven(), &Drive::new(DriveSpec::default()).unwrap(), &Settings::default(), &times())
        .unwrap()
}

/// Grains, liquid and cup of every picture add up to the dose's solubles within 1e-12 of the dose, and what is in the cup is
/// what the trace says fell into it.
#[test]
fn mass_in_every_picture_is_the_mass_in_the_books() {
    let (trace, film) = filmed();
    assert!(film.pictures.len() > 40);
    for p in &film.pictures {
        for (l, start) in p.start_g.iter().enumerate() {
            let (grains, liquid, cup) = p.masses_g(l);
            assert!(
                (grains + liquid + cup - start).abs() < 1e-12 * 18.0,
                "{} s: {}",
                p.time_s,
                grains + liquid + cup - start
            );
            let fell = trace.sample(&trace.dissolved_g[l], p.time_s);
            assert!((cup - fell).abs() < 2e-3 * start, "{} s, class {l}: {cup} for {fell}", p.time_s);
        }
    }
    // The last moment against the ledger, to the last bits.
    let (puck, drive) = (uneven(), Drive::new(DriveSpec::default()).unwrap());
    let mut run = Run::default();
    run.begin(&puck, &drive, &Settings::default()).unwrap();
    while run.step(&puck, &drive) {}
    let last = run.picture(&puck);
    let trace = run.finish(&puck);
    for (l, class) in trace.ledger.iter().enumerate() {
        let (grains, liquid, cup) = last.masses_g(l);
        assert!((grains - class.grains_g).abs() < 1e-12, "{grains} {class:?}");
        assert!((liquid - class.liquid_g).abs() < 1e-12, "{liquid} {class:?}");
        assert!((cup - class.cup_g).abs() < 1e-12, "{cup} {class:?}");
    }
}

#[test]
fn pictures_show_the_front_the_flow_and_the_channel() {
    let (trace, film) = filmed();
    let cells = Settings::default().cells;
    for p in &film.pictures {
        assert_eq!(p.liquid_kg_m3.len(), p.classes.len() * p.tubes.len() * cells);
        assert_eq!(p.remaining.len(), p.liquid_kg_m3.len());
        assert!((p.tubes.iter().map(|t| t.area_share).sum::<f64>() - 1.0).abs() < 1e-12);
        let flow: f64 = p.tubes.iter().map(|t| t.flow_share).sum();
        assert!(p.time_s == 0.0 || (flow - 1.0).abs() < 1e-12, "{} s: {flow}", p.time_s);
        for (n, t) in p.tubes.iter().enumerate() {
            assert_eq!(t.channel.is_some() && p.time_s >= 12.0, p.is_open_channel(n), "{} s", p.time_s);
            for cell in 0..cells {
                // One more cell: the first parcel is drawn where it is about to enter.
                if p.wet(n, cell) <= 0.0 && cell > 0 && p.wet(n, cell - 1) <= 0.0 {
                    assert!(p.strength(n, cell) == 0.0 && (p.left_in_all(n, cell) - 1.0).abs() < 1e-12);
                }
            }
        }
    }
    // The front falls, by the law of the square root (a little faster, since the bed warms), and reaches the bottom of some tube at the first drip.
    let drip_s = trace.first_drip_s.unwrap();
    let deepest = |p: &Picture| p.tubes.iter().map(|t| t.front).fold(0.0, f64::max);
    for p in &film.pictures {
        assert_eq!(deepest(p) >= 1.0, p.time_s >= drip_s - 1e-9, "{} s", p.time_s);
    }
    let (one, four) = (deepest(film.at(1.0).unwrap()), deepest(film.at(4.0).unwrap()));
    assert!((2.0..2.3).contains(&(four / one)), "{one} {four}");
    // Late in the pull: the top is poorer than the bottom, the water stronger below, the channel more washed than the bed.
    let late = film.pictures.last().unwrap();
    let area = |t: &usize| late.tubes[*t].area_share;
    let middle = (0..late.tubes.len()).max_by(|a, b| area(a).total_cmp(&area(b))).unwrap();
    assert!(late.left_in_all(middle, 0) < late.left_in_all(middle, cells - 1));
    assert!(late.strength(middle, 1) < late.strength(middle, cells - 1));
    let channel = late.tubes.iter().position(|t| t.channel.is_some()).unwrap();
    assert!(late.tubes[channel].dissolved > late.tubes[middle].dissolved + 0.02);
    assert!(late.tubes[channel].flow_share > 10.0 * late.tubes[channel].area_share);
    assert_eq!(late.tubes.len(), 13);
}

#[test]
fn filming_changes_nothing_and_bad_times_are_refused() {
    let (puck, drive, grid) = (uneven(), Drive::new(DriveSpec::default()).unwrap(), Settings::default());
    assert_eq!(filmed().0, simulate(&puck, &drive, &grid).unwrap());
    assert!(simulate_filmed(&puck, &drive, &grid, &[3.0, 2.0]).is_err());
    assert!(simulate_filmed(&puck, &drive, &grid, &[f64::NAN]).is_err());
    let (_, none) = simulate_filmed(&puck, &drive, &grid, &[500.0]).unwrap();
    assert!(none.pictures.is_empty() && none.at(3.0).is_none());
    let picture = filmed().1.at(1e9).unwrap().clone();
    assert!(picture.liquid(99, 0).is_empty() && picture.left(0, 99).is_empty());
    assert_eq!(
        (picture.wet(99, 0), picture.strength(99, 0), picture.masses_g(99)),
        (0.0, 0.0, (0.0, 0.0, 0.0))
    );
}
