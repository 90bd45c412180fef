//! What must hold for any puck and any drive.

use proptest::prelude::*;
use thirdpull::puck::tubes::Path;
use thirdpull::puck::*;

/// Cases per property: `THIRDPULL_CASES` (a million is fine on a quiet afternoon), 96 by default.
fn cases() -> ProptestConfig {
    let cases = std::env::var("THIRDPULL_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(96);
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

fn logarithmic(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low.ln()..=high.ln()).prop_map(move |x: f64| x.exp().clamp(low, high))
}

fn profile(low: f64, high: f64) -> impl Strategy<Value = Profile> {
    proptest::collection::vec((0.0..40.0_f64, low..=high), 1..6).prop_map(|mut points| {
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Profile::lines(points)
    })
}

prop_compose! {
    fn flow_law()(
        permeability_m2 in logarithmic(1e-18, 1e-11),
        porosity in 0.005..=0.6_f64,
        gain in 0.0..=1.0_f64,
        squeeze_bar in logarithmic(1.0, 10_000.0),
        squeeze_follows_porosity in 0.0..=1.0_f64,
        packing_share in 0.0..=0.98_f64,
        packing_bar in logarithmic(0.1, 1000.0),
        packing_of_gain in 0.0..=1.0_f64,
        swelling_share in 0.0..=0.9_f64,
        swelling_time_s in logarithmic(0.1, 600.0),
        silting_share in 0.0..=0.95_f64,
        (suction_bar, opening_bar, inertia_mm_s) in
            (0.0..=0.5_f64, prop_oneof![Just(0.0), 0.0..=100.0_f64], logarithmic(0.1, 1e9)),
    ) -> FlowLaw {
        FlowLaw {
            permeability_m2, porosity, porosity_gain: gain * (0.95 - porosity).min(0.8), squeeze_bar,
            squeeze_follows_porosity, packing_share, packing_bar, packing_of_gain, swelling_share, swelling_time_s,
            silting_share, silting_pore_volumes: 2.0, suction_bar, opening_bar, inertia_mm_s,
        }
    }
}

fn solute() -> impl Strategy<Value = Solute> {
    (
        0.0..=0.2_f64,
        logarithmic(1e-14, 1e-8),
        0.0..=100.0_f64,
        0.02..=1.0_f64,
        0.0..=1.0_f64,
        0.0..=1000.0_f64,
    )
        .prop_map(
            |(share, diffusivity_m2_s, activation_kj_mol, liquid_share, broken_share, broken_rate_s)| {
                Solute {
                    name: "x".into(),
                    share,
                    diffusivity_m2_s,
                    activation_kj_mol,
                    liquid_share,
                    broken_share,
                    broken_rate_s,
                }
            },
        )
}

fn channel() -> impl Strategy<Value = Channel> {
    (0.0..=30.0_f64, logarithmic(1e-4, 0.1), logarithmic(1.0, 1000.0), proptest::option::of(0.1..=600.0_f64))
        .prop_map(|(opens_at_s, area_share, gain, heals_in_s)| Channel {
            opens_at_s,
            area_share,
            gain,
            heals_in_s,
        })
}

prop_compose! {
    fn puck()(
        dose_g in 1.0..=50.0_f64,
        basket_diameter_mm in 20.0..=80.0_f64,
        bulk_density_kg_m3 in 200.0..=900.0_f64,
        headspace_ml in 0.0..=100.0_f64,
        liquid_share in 0.05..=0.8_f64,
        grains in (0.0..=1.0_f64, 1.0..=100.0_f64, logarithmic(20.0, 1500.0)),
        flow in flow_law(),
        spread in prop_oneof![Just(0.0), 0.0..=1.5_f64],
        channels in proptest::collection::vec(channel(), 0..3),
        solutes in proptest::collection::vec(solute(), 1..5),
        saturation_kg_m3 in logarithmic(50.0, 10_000.0),
        heat in (0.0..=130.0_f64, 500.0..=4000.0_f64, 0.0..=50.0_f64, 0.0..=130.0_f64),
    ) -> PuckSpec {
        PuckSpec {
            dose_g, basket_diameter_mm, bulk_density_kg_m3, headspace_ml, liquid_share,
            grains: Grains { fines_share: grains.0, fines_radius_um: grains.1, boulders_radius_um: grains.2 },
            flow, unevenness: Unevenness { spread, channels }, solutes, saturation_kg_m3,
            heat: Heat { start_c: heat.0, coffee_j_kg_k: heat.1, basket_w_k: heat.2, basket_c: heat.3 },
        }
    }
}

prop_compose! {
    fn drive()(
        pressure_bar in profile(0.0, 20.0),
        flow_ml_s in proptest::option::of(profile(0.0, 50.0)),
        temperature_c in profile(0.0, 130.0),
        duration_s in prop_oneof![Just(0.0), 0.0..=40.0_f64],
        stop_at_g in proptest::option::of(logarithmic(0.1, 500.0)),
        loss in (0.0..=2.0_f64, 0.0..=1.0_f64, 0.0..=0.5_f64),
        pump in (logarithmic(0.1, 1000.0), logarithmic(0.5, 1000.0)),
    ) -> DriveSpec {
        DriveSpec {
            pressure_bar, flow_ml_s, temperature_c, duration_s, stop_at_g,
            machine: Machine { loss_bar: loss, pump_free_ml_s: pump.0, pump_stall_bar: pump.1 },
        }
    }
}

const COARSE: Settings = Settings { cells: 8, tubes: 3, pools: 3, step_s: 0.5 };

fn finite(trace: &PullTrace) -> Result<(), String> {
    let series = [
        &trace.time_s,
        &trace.head_bar,
        &trace.bed_bar,
        &trace.inflow_ml_s,
        &trace.flow_g_s,
        &trace.cup_g,
        &trace.exit_c,
        &trace.stream_tds_pct,
        &trace.resistance_bar_s_ml,
    ];
    for (i, s) in series.iter().enumerate() {
        if s.len() != trace.time_s.len() {
            return Err(format!("series {i} has {} samples", s.len()));
        }
        if let Some(v) = s.iter().find(|v| !v.is_finite() || **v < -1e-9) {
            return Err(format!("series {i} holds {v}"));
        }
    }
    if trace.dissolved_g.iter().flatten().any(|v| !v.is_finite() || *v < 0.0) {
        return Err("dissolved mass".into());
    }
    if !(trace.tds_pct.is_finite() && trace.extraction_pct.is_finite() && trace.puck_c.is_finite()) {
        return Err("totals".into());
    }
    if trace.cup_g.windows(2).any(|w| w[1] < w[0] - 1e-12) {
        return Err("the cup loses mass".into());
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases())]

    /// Everything the constructors accept gives finite numbers and books that balance, to 1e-9 of the dose.
    #[test]
    fn no_nan_and_mass_balances(spec in puck(), asked in drive()) {
        let (puck, drive) = (Puck::new(spec.clone()), Drive::new(asked));
        prop_assume!(puck.is_ok());
        let (puck, drive) = (puck.unwrap(), drive.unwrap());
        let trace = simulate(&puck, &drive, &COARSE).unwrap();
        if let Err(what) = finite(&trace) {
            return Err(TestCaseError::fail(what));
        }
        prop_assert!(trace.mass_error(spec.dose_g) < 1e-9, "{}", trace.mass_error(spec.dose_g));
        let w = trace.water;
        prop_assert!((w.pumped_ml - w.headspace_ml - w.bed_ml - w.cup_ml).abs() <= 1e-9 * (1.0 + w.pumped_ml), "{w:?}");
        for c in &trace.ledger {
            prop_assert!(c.grains_g >= -1e-9 && c.cup_g >= 0.0 && c.cup_g <= c.start_g * (1.0 + 1e-9), "{c:?}");
        }
    }

    /// Numbers of any kind, NaN and infinities too, are refused or simulated, never a panic.
    #[test]
    fn absurd_inputs_are_refused_with_a_name(x in any::<f64>(), which in 0..14_usize) {
        let mut spec = PuckSpec::default();
        let mut asked = DriveSpec { duration_s: 5.0, ..DriveSpec::default() };
        match which {
            0 => spec.dose_g = x,
            1 => spec.basket_diameter_mm = x,
            2 => spec.liquid_share = x,
            3 => spec.flow.permeability_m2 = x,
            4 => spec.flow.porosity = x,
            5 => spec.grains.fines_radius_um = x,
            6 => spec.solutes[0].liquid_share = x,
            7 => spec.unevenness.spread = x,
            8 => spec.heat.start_c = x,
            9 => asked.pressure_bar = Profile::flat(x),
            10 => asked.temperature_c = Profile::lines(vec![(0.0, 90.0), (x, 90.0)]),
            11 => asked.duration_s = x,
            12 => asked.stop_at_g = Some(x),
            _ => asked.machine.loss_bar.2 = x,
        }
        match (Puck::new(spec), Drive::new(asked)) {
            (Ok(puck), Ok(drive)) => {
                prop_assume!(drive.spec().duration_s <= 60.0);
                prop_assert!(finite(&simulate(&puck, &drive, &COARSE).unwrap()).is_ok());
            }
            (Err(fault), _) | (_, Err(fault)) => prop_assert!(!fault.to_string().is_empty()),
        }
    }

    /// Finer never runs faster, all else equal and without channels.
    #[test]
    fn finer_never_faster(ratio in 0.6..0.99_f64, spread in 0.0..0.6_f64) {
        let base = PuckSpec { unevenness: Unevenness { spread, channels: vec![] }, ..PuckSpec::default() };
        let mut finer = base.clone();
        finer.grains = base.grains.coarser(ratio);
        finer.flow.permeability_m2 *= finer.grains.permeability_ratio(&base.grains);
        let time = |spec: PuckSpec| {
            let drive = Drive::new(DriveSpec { duration_s: 300.0, ..DriveSpec::default() }).unwrap();
            simulate(&Puck::new(spec).unwrap(), &drive, &COARSE).unwrap().end_s
        };
        prop_assert!(time(finer) >= time(base));
    }

    /// Hotter water is never more viscous.
    #[test]
    fn hotter_never_thicker(a in 0.0..130.0_f64, b in 0.0..130.0_f64, bar in 1.0..15.0_f64) {
        let (low, high) = (a.min(b), a.max(b));
        prop_assert!(water::viscosity_pa_s(high, bar) <= water::viscosity_pa_s(low, bar) * (1.0 + 1e-12));
    }

    /// More pressure never gives less water, as long as nothing packs; within what the coarse grid itself is off by, which
    /// the same pulls at half the step measure. (Near the squeeze pressure the law's flow hardly rises, so the two
    /// pulls differ by less than the half-second step resolves.)
    #[test]
    fn more_pressure_never_less_water(a in 0.5..14.0_f64, b in 0.5..14.0_f64, squeeze in 8.0..60.0_f64, spread in 0.0..0.6_f64) {
        let mut spec = PuckSpec { unevenness: Unevenness { spread, channels: vec![] }, ..PuckSpec::default() };
        spec.flow.squeeze_bar = squeeze;
        let puck = Puck::new(spec).unwrap();
        let pull = |bar: f64, settings: &Settings| {
            let drive = DriveSpec { pressure_bar: Profile::flat(bar), stop_at_g: None, duration_s: 30.0, ..DriveSpec::default() };
            simulate(&puck, &Drive::new(drive).unwrap(), settings).unwrap()
        };
        let fine = Settings { step_s: COARSE.step_s / 2.0, ..COARSE };
        let (less, more) = (a.min(b), a.max(b));
        let (low, high) = (pull(less, &COARSE), pull(more, &COARSE));
        let (low_fine, high_fine) = (pull(less, &fine), pull(more, &fine));
        for ((t, l), h) in low.time_s.iter().zip(&low.cup_g).zip(&high.cup_g) {
            let off = (l - low_fine.sample(&low_fine.cup_g, *t)).abs() + (h - high_fine.sample(&high_fine.cup_g, *t)).abs();
            prop_assert!(*h >= l - 1e-9 - off, "{h} under {l}, the grid is off by {off}");
        }
    }

    /// The order in which paths are given changes nothing, to the last bit.
    #[test]
    fn permutation_changes_nothing(seed in any::<u64>(), n in 2..8_usize) {
        let puck = Puck::new(PuckSpec::default()).unwrap();
        let drive = Drive::new(DriveSpec { duration_s: 25.0, ..DriveSpec::default() }).unwrap();
        let mut paths: Vec<Path> = (0..n)
            .map(|i| Path { area_share: 1.0 / n as f64, conductance: 0.5 + i as f64 / n as f64, channel: None })
            .collect();
        let pull = |paths: &[Path]| {
            let mut run = Run::default();
            run.begin_with(&puck, &drive, &COARSE, paths).unwrap();
            while run.step(&puck, &drive) {}
            run.finish(&puck)
        };
        let first = pull(&paths);
        for i in (1..n).rev() {
            paths.swap(i, (seed >> (7 * i)) as usize % (i + 1));
        }
        prop_assert_eq!(first, pull(&paths));
    }

    /// A pull stopped at any step and carried on from the copy ends as the one that was not stopped, to the last bit.
    #[test]
    fn a_restart_changes_nothing(spec in puck(), asked in drive(), stop in 0..60_usize) {
        let (puck, drive) = (Puck::new(spec), Drive::new(asked));
        prop_assume!(puck.is_ok());
        let (puck, drive) = (puck.unwrap(), drive.unwrap());
        let whole = simulate(&puck, &drive, &COARSE).unwrap();
        let mut run = Run::default();
        run.begin(&puck, &drive, &COARSE).unwrap();
        for _ in 0..stop {
            run.step(&puck, &drive);
        }
        let mut copy = run.clone();
        let _early = run.finish(&puck);
        while copy.step(&puck, &drive) {}
        prop_assert_eq!(whole, copy.finish(&puck));
    }
}

#[test]
fn trivial_pulls_are_exact() {
    let puck = Puck::new(PuckSpec::default()).unwrap();
    for drive in [
        DriveSpec { pressure_bar: Profile::flat(0.0), duration_s: 10.0, ..DriveSpec::default() },
        DriveSpec { duration_s: 0.0, ..DriveSpec::default() },
        DriveSpec { flow_ml_s: Some(Profile::flat(0.0)), duration_s: 10.0, ..DriveSpec::default() },
    ] {
        let trace = simulate(&puck, &Drive::new(drive).unwrap(), &Settings::default()).unwrap();
        assert_eq!((trace.yield_g, trace.extraction_pct, trace.tds_pct), (0.0, 0.0, 0.0));
        assert_eq!(trace.first_drip_s, None);
        assert!(trace.ledger.iter().all(|c| (c.grains_g - c.start_g).abs() < 1e-12));
    }
    let fault = Puck::new(PuckSpec { dose_g: 0.0, ..PuckSpec::default() }).unwrap_err();
    assert_eq!(fault.to_string(), "dose_g is 0, allowed is 1 to 50");
}

/// Halving the time step and doubling the cells moves the totals by what second order promises.
#[test]
fn the_whole_pull_converges() {
    let spec = PuckSpec { unevenness: Unevenness { spread: 0.3, channels: vec![] }, ..PuckSpec::default() };
    let puck = Puck::new(spec).unwrap();
    let drive = Drive::new(DriveSpec::default()).unwrap();
    let at = |cells: usize, step_s: f64| {
        let t = simulate(&puck, &drive, &Settings { cells, step_s, pools: 9, tubes: 12 }).unwrap();
        (t.end_s, t.extraction_pct)
    };
    let (a, b, c, best) = (at(16, 0.2), at(32, 0.1), at(64, 0.05), at(128, 0.025));
    println!("{a:?} {b:?} {c:?} {best:?}");
    assert!((b.0 - best.0).abs() < 0.03, "time {b:?} {best:?}");
    assert!((b.1 - best.1).abs() < 0.02, "extraction {b:?} {best:?}");
    assert!((c.1 - best.1).abs() < 0.5 * (a.1 - best.1).abs());
}
