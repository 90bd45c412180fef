//! The puck simulator against published tables, exact solutions and its own promises.
mod exact;
use thirdpull::puck::*;

fn class(name: &str, share: f64, d: f64, e: f64, k: f64, b: f64, r: f64) -> Solute {
    Solute {
        name: name.into(),
        share,
        diffusivity_m2_s: d,
        activation_kj_mol: e,
        liquid_share: k,
        broken_share: b,
        broken_rate_s: r,
    }
}
fn composed() -> PuckSpec {
    PuckSpec {
        solutes: vec![
            class("early", 0.10, 2.0e-10, 16.0, 0.60, 0.30, 2.0),
            class("middle", 0.06, 1.2e-10, 20.0, 0.50, 0.25, 1.5),
            class("late", 0.12, 0.5e-10, 30.0, 0.40, 0.20, 0.7),
        ],
        heat: Heat { start_c: 93.0, basket_w_k: 0.0, ..Heat::default() },
        ..PuckSpec::default()
    }
}
#[test]
fn s1() {
    for (cells, pools, step_s) in [(20, 5, 0.1), (40, 5, 0.1), (40, 9, 0.1), (80, 9, 0.05), (160, 9, 0.025)] {
        let puck = Puck::new(composed()).unwrap();
        let drive =
            Drive::new(DriveSpec { duration_s: 40.0, stop_at_g: None, ..DriveSpec::default() }).unwrap();
        let s = Settings { cells, pools, step_s, tubes: 1 };
        let t = simulate(&puck, &drive, &s).unwrap();
        println!(
            "{cells} {pools} {step_s} {} t36 {:?} err {:e}",
            t.summary(),
            t.time_at_g(36.0),
            t.mass_error(18.0)
        );
        for time in [5.0, 10.0, 15.0, 20.0, 30.0, 40.0] {
            let d: Vec<f64> = t.dissolved_g.iter().map(|s| t.sample(s, time)).collect();
            println!(
                "{time} {:.3} {:.4} {:.4?}",
                t.sample(&t.cup_g, time),
                t.sample(&t.inflow_ml_s, time) * 0.9627,
                d
            );
        }
        let drive = Drive::new(DriveSpec { duration_s: 40.0, ..DriveSpec::default() }).unwrap();
        println!("{}", simulate(&puck, &drive, &s).unwrap().summary());
    }
}
