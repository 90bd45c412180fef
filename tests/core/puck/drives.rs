//! What a machine may do: follow its pump's limits, replay a record, change pressure and temperature on the way.

use thirdpull::puck::*;

fn pull(spec: &PuckSpec, drive: DriveSpec) -> PullTrace {
    let puck = Puck::new(spec.clone()).unwrap();
    simulate(&puck, &Drive::new(drive).unwrap(), &Settings::default()).unwrap()
}

/// A pull replayed from the pressure that was recorded on the bed is the same pull, whatever machine made it.
#[test]
fn a_recorded_pressure_replayed_gives_the_same_pull() {
    let spec = PuckSpec::default();
    let made = DriveSpec {
        pressure_bar: Profile::lines(vec![(0.0, 2.0), (6.0, 2.0), (10.0, 9.0), (25.0, 6.0)]),
        flow_ml_s: Some(Profile::flat(2.5)),
        machine: Machine { loss_bar: (0.3, 0.04, 0.02), ..Machine::vibrating() },
        stop_at_g: None,
        duration_s: 30.0,
        ..DriveSpec::default()
    };
    let first = pull(&spec, made);
    // Samples are means over the step that ends at their time.
    let pieces: Vec<(f64, f64)> =
        first.time_s.iter().copied().zip(first.bed_bar.iter().skip(1).copied()).collect();
    let replayed = DriveSpec {
        pressure_bar: Profile::steps(&pieces),
        stop_at_g: None,
        duration_s: 30.0,
        ..DriveSpec::default()
    };
    let again = pull(&spec, replayed);
    for (a, b) in first.cup_g.iter().zip(&again.cup_g) {
        assert!((a - b).abs() < 1e-6 * (1.0 + a), "{a} {b}");
    }
    assert!((first.extraction_pct - again.extraction_pct).abs() < 1e-6);
}

/// No sample lies above the pump's own curve (10 mL/s free, 15 bar at standstill), and wherever the set pressure is not
/// reached it lies on the curve.
#[test]
fn a_pump_follows_its_own_limit() {
    let mut spec = PuckSpec::default();
    spec.flow.permeability_m2 = 3e-14;
    let machine = Machine { loss_bar: (0.1, 0.02, 0.01), ..Machine::vibrating() };
    let trace = pull(&spec, DriveSpec { machine, stop_at_g: None, duration_s: 12.0, ..DriveSpec::default() });
    let mut bound = 0;
    for ((head, flow), bed) in trace.head_bar.iter().zip(&trace.inflow_ml_s).zip(&trace.bed_bar).skip(1) {
        let limit = 10.0 * (1.0 - head / 15.0);
        assert!(*flow <= limit + 1e-5, "{flow} mL/s at {head} bar");
        assert!((head - bed - (0.1 + 0.02 * flow + 0.01 * flow * flow)).abs() < 1e-6);
        if *head < 8.999 {
            assert!((flow - limit).abs() < 1e-5, "{flow} mL/s at {head} bar, the curve has {limit}");
            bound += 1;
        }
    }
    assert!(bound > 50, "the pump was the limit in {bound} samples");
}

/// Gentle starts delay the first drip, and the usual shapes all end in a cup.
#[test]
fn pressure_may_take_any_shape() {
    let first_drip = |points: &[(f64, f64)]| {
        let drive = DriveSpec {
            pressure_bar: Profile::lines(points.to_vec()),
            duration_s: 120.0,
            ..DriveSpec::default()
        };
        let trace = pull(&PuckSpec::default(), drive);
        assert!(trace.reached_yield, "{points:?}");
        trace.first_drip_s.unwrap()
    };
    let flat = first_drip(&[(0.0, 9.0)]);
    let prewet = first_drip(&[(0.0, 3.0), (8.0, 3.0), (8.0, 9.0)]);
    let ramp = first_drip(&[(0.0, 0.0), (10.0, 9.0)]);
    let bloom = first_drip(&[(0.0, 2.0), (5.0, 2.0), (5.0, 0.0), (15.0, 0.0), (15.0, 9.0)]);
    let decline = first_drip(&[(0.0, 9.0), (30.0, 5.0)]);
    assert!(
        flat < prewet && flat < ramp && prewet < bloom && decline < prewet,
        "{flat} {prewet} {ramp} {bloom} {decline}"
    );
}

/// Water that cools from 96 to 84 °C lies between the two ends in time and in what it takes of the late class.
#[test]
fn water_may_cool_on_the_way() {
    let with = |temperature_c: Profile| {
        let trace =
            pull(&PuckSpec::default(), DriveSpec { temperature_c, duration_s: 90.0, ..DriveSpec::default() });
        (trace.end_s, trace.ledger.last().unwrap().cup_g, *trace.exit_c.last().unwrap())
    };
    let (hot, cool) = (with(Profile::flat(96.0)), with(Profile::flat(84.0)));
    let falling = with(Profile::lines(vec![(0.0, 96.0), (30.0, 84.0)]));
    assert!(hot.0 < falling.0 && falling.0 < cool.0, "{hot:?} {falling:?} {cool:?}");
    assert!(hot.1 > falling.1 && falling.1 > cool.1, "{hot:?} {falling:?} {cool:?}");
    assert!(hot.2 > falling.2 && falling.2 > cool.2, "{hot:?} {falling:?} {cool:?}");
}
