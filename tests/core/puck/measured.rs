//! Measured means of one ground coffee at eleven pressures, reduced from the open tables of Waszkiewicz et al., Phys.
//! Fluids 38, 063113 (2026): 18.5 g, 56 mm basket, about 90 °C, means of 3 to 10 pulls, time zero = line pressure settled.

use thirdpull::puck::fit::*;
use thirdpull::puck::*;

/// Times of the flows, s.
pub const FLOW_TIMES: [f64; 11] = [10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 80.0, 100.0];
/// Bed pressure, bar; flow, g/s; cup mass at 20, 30, 40 and 60 s, g.
pub const FLOWS: [(f64, [f64; 11], [f64; 4]); 11] = [
    (0.76, [0.00, 0.02, 0.07, 0.10, 0.13, 0.13, 0.13, 0.11, 0.11, 0.13, 0.11], [0.2, 1.3, 2.6, 5.0]),
    (1.50, [0.05, 0.26, 0.29, 0.34, 0.34, 0.31, 0.29, 0.28, 0.29, 0.33, 0.41], [2.3, 5.7, 8.7, 14.5]),
    (3.01, [0.21, 0.57, 0.95, 1.26, 1.38, 1.36, 1.36, 1.29, 1.20, 1.01, 1.08], [6.0, 18.5, 32.2, 57.5]),
    (3.73, [0.12, 0.47, 0.90, 1.38, 1.67, 1.70, 1.67, 1.52, 1.48, 1.55, 1.64], [5.0, 18.4, 35.3, 66.1]),
    (4.57, [0.09, 0.43, 0.84, 1.41, 1.83, 1.91, 1.93, 1.89, 1.92, 2.00, 2.06], [4.4, 18.3, 37.2, 75.3]),
    (5.64, [0.11, 0.42, 0.90, 1.44, 1.88, 2.10, 2.16, 2.17, 2.14, 2.08, 1.94], [4.6, 18.9, 39.8, 83.1]),
    (6.78, [0.03, 0.20, 0.45, 0.85, 1.32, 1.71, 2.01, 2.12, 2.05, 1.97, 1.92], [2.2, 10.7, 27.8, 69.4]),
    (7.62, [0.08, 0.21, 0.43, 0.76, 1.14, 1.52, 1.84, 1.97, 1.91, 1.83, 1.85], [2.3, 10.0, 25.2, 63.7]),
    (8.76, [0.00, 0.14, 0.34, 0.61, 0.94, 1.41, 1.74, 1.98, 1.96, 1.90, 1.83], [1.5, 7.6, 21.5, 60.5]),
    (10.5, [0.02, 0.12, 0.32, 0.53, 0.86, 1.20, 1.49, 1.86, 1.90, 1.84, 1.78], [1.4, 6.9, 18.9, 54.8]),
    (12.5, [0.02, 0.09, 0.23, 0.39, 0.61, 0.90, 1.22, 1.61, 1.67, 1.62, 1.59], [1.0, 5.1, 14.1, 45.2]),
];

/// Strength of successive 5 s cups at 9 bar, %, and its standard error.
pub const STRENGTHS: [(f64, f64); 12] = [
    (24.36, 4.0),
    (23.48, 2.6),
    (25.16, 2.1),
    (16.75, 2.2),
    (9.20, 1.7),
    (5.11, 1.1),
    (2.92, 0.8),
    (1.81, 0.5),
    (1.23, 0.4),
    (0.82, 0.3),
    (0.55, 0.2),
    (0.48, 0.3),
];

pub const LEAD_S: f64 = 2.0;

pub fn drive(bed_bar: f64, until_s: f64) -> DriveSpec {
    DriveSpec {
        pressure_bar: Profile::lines(vec![(0.0, 0.0), (LEAD_S, bed_bar)]),
        temperature_c: Profile::flat(90.0),
        duration_s: until_s + LEAD_S,
        stop_at_g: None,
        ..DriveSpec::default()
    }
}

/// Mean cup mass, (s, g), from the masses and the flows of one row.
pub fn cups(row: &(f64, [f64; 11], [f64; 4])) -> Vec<(f64, f64)> {
    let (f, g) = (&row.1, &row.2);
    vec![
        (15.0, g[0] - 2.5 * (f[1] + f[2])),
        (20.0, g[0]),
        (25.0, g[0] + 2.5 * (f[2] + f[3])),
        (30.0, g[1]),
        (35.0, g[1] + 2.5 * (f[4] + f[5])),
        (40.0, g[2]),
        (50.0, g[2] + 5.0 * (f[6] + f[7])),
        (60.0, g[3]),
        (80.0, g[3] + 10.0 * (f[8] + f[9])),
    ]
}

pub fn records() -> Vec<Recorded> {
    FLOWS
        .iter()
        .map(|row| {
            let cups = cups(row);
            let (t, m) = cups.iter().map(|(t, m)| (t + LEAD_S, m.max(0.0))).unzip();
            let mut r = Recorded::new(drive(row.0, 80.0), t, m).unwrap();
            r.weight = if row.0 < 1.0 {
                0.3
            } else if row.0 < 2.0 {
                0.5
            } else {
                1.0
            };
            if row.0 == 8.76 {
                // First cup at the 0.1 g mark of the mean trace, 12.7 s.
                let at = |t: f64| {
                    let i = cups.partition_point(|c| c.0 < t).clamp(1, cups.len() - 1);
                    let (a, b) = (cups[i - 1], cups[i]);
                    (a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)).max(0.0)
                };
                let mut sum = 0.0;
                for (i, (tds, _)) in STRENGTHS.iter().enumerate() {
                    let from = 12.7 + 5.0 * i as f64;
                    sum += 0.01 * tds * (at(from + 5.0) - at(from));
                    r.dissolved_g.push((from + 5.0 + LEAD_S, sum));
                }
            }
            r
        })
        .collect()
}

fn show(spec: &PuckSpec, free: &[Free], rms: f64, grid: &Settings) {
    println!("rms {rms}");
    for f in free {
        print!("  {f:?} {:.4} ({:.3e})", f.get(spec), f.get(spec).exp());
    }
    println!();
    let puck = Puck::new(spec.clone()).unwrap();
    for row in &FLOWS {
        let trace = simulate(&puck, &Drive::new(drive(row.0, 100.0)).unwrap(), grid).unwrap();
        let line: Vec<String> = cups(row)
            .iter()
            .map(|(t, m)| format!("{:.1}/{:.1}", trace.sample(&trace.cup_g, t + LEAD_S), m))
            .collect();
        let flow = |t: f64| trace.sample(&trace.flow_g_s, t + LEAD_S);
        println!(
            "{:5.2} drip {:4.1} EY {:4.1} late {:.2}/{:.2} {:.2}/{:.2} | {}",
            row.0,
            trace.first_drip_s.unwrap_or(0.0) - LEAD_S,
            trace.extraction_pct,
            flow(50.0),
            row.1[7],
            flow(60.0),
            row.1[8],
            line.join(" ")
        );
        if row.0 == 8.76 {
            let all: Vec<f64> =
                (0..trace.time_s.len()).map(|i| trace.dissolved_g.iter().map(|s| s[i]).sum()).collect();
            let tds: Vec<String> = STRENGTHS
                .iter()
                .enumerate()
                .map(|(i, s)| {
                    let (a, b) = (12.7 + 5.0 * i as f64 + LEAD_S, 17.7 + 5.0 * i as f64 + LEAD_S);
                    let m = trace.sample(&trace.cup_g, b) - trace.sample(&trace.cup_g, a);
                    format!("{:.1}/{:.1}", 100.0 * (trace.sample(&all, b) - trace.sample(&all, a)) / m, s.0)
                })
                .collect();
            println!("      TDS {}", tds.join(" "));
        }
    }
}

#[test]
fn explore_means() {
    let Ok(starts) = std::env::var("EXPLORE") else { return };
    let starts: u64 = starts.parse().unwrap();
    let base = PuckSpec {
        dose_g: 18.5,
        basket_diameter_mm: 56.0,
        bulk_density_kg_m3: 395.0,
        grains: Grains { fines_share: 0.30, fines_radius_um: 19.0, boulders_radius_um: 90.0 },
        solutes: vec![Solute {
            name: "all".into(),
            share: 0.20,
            diffusivity_m2_s: 1.06e-10,
            activation_kj_mol: 20.0,
            liquid_share: 0.33,
            broken_share: 0.16,
            broken_rate_s: 1.5,
        }],
        heat: Heat { start_c: 25.0, basket_c: 85.0, ..Heat::default() },
        ..PuckSpec::default()
    };
    let records = records();
    let grid = Settings { cells: 12, tubes: 5, pools: 3, step_s: 0.5 };
    let settings = FitSettings { hold: 0.004, steps: 40, grid, floor_g: 1.5 };
    let free = [
        Free::Permeability,
        Free::PorosityGain,
        Free::Squeeze,
        Free::SqueezeFollows,
        Free::Packing,
        Free::PackingBar,
        Free::PackingOfGain,
        Free::LiquidShare,
        Free::Diffusivity,
        Free::Capacity,
        Free::Solubles,
        Free::BrokenShare,
        Free::Spread,
        Free::Swelling,
        Free::Silting,
    ];
    let mut seed = 12345u64;
    let mut uniform = move || {
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (seed >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut best: Option<Fitted> = None;
    let mut all = vec![];
    for _ in 0..starts {
        let mut start = base.clone();
        let mut u = |a: f64, b: f64| a + (b - a) * uniform();
        start.flow.porosity = u(0.06, 0.2);
        start.flow.porosity_gain = u(0.05, 0.3);
        start.flow.squeeze_bar = u(4.0, 20.0);
        start.flow.squeeze_follows_porosity = u(0.0, 1.0);
        start.flow.packing_share = u(0.1, 0.8);
        start.flow.packing_bar = u(2.0, 20.0);
        start.flow.packing_of_gain = u(0.1, 0.9);
        start.flow.permeability_m2 = u(-35.0_f64, -32.0).exp();
        start.flow.swelling_share = u(0.0, 0.3);
        start.flow.swelling_time_s = u(5.0, 20.0);
        start.flow.silting_share = u(0.0, 0.3);
        start.flow.silting_pore_volumes = u(1.0, 5.0);
        start.liquid_share = u(0.15, 0.4);
        start.unevenness.spread = u(0.05, 0.5);
        start.solutes[0].share = u(0.17, 0.26);
        start.solutes[0].diffusivity_m2_s = u(0.5e-10, 2.5e-10);
        start.solutes[0].broken_share = u(0.05, 0.5);
        start.solutes[0].liquid_share = u(0.25, 0.6);
        let f = fit(&start, &free, &records, &settings).unwrap();
        all.push(f.rms);
        if best.as_ref().is_none_or(|b| f.rms < b.rms) {
            println!("{} better {} ({} pulls)", all.len(), f.rms, f.pulls);
            best = Some(f);
        }
    }
    all.sort_by(f64::total_cmp);
    println!("{all:.3?}");
    let best = best.unwrap();
    show(&best.spec, &free, best.rms, &grid);
    println!("{:?}", best.spec.flow);
    println!("{:?} {:?} {}", best.spec.unevenness, best.spec.solutes, best.spec.liquid_share);
}

#[test]
fn polish() {
    if std::env::var("POLISH").is_err() {
        return;
    };
    let base = PuckSpec::measured_2026();
    let grid = Settings { cells: 16, tubes: 6, pools: 4, step_s: 0.25 };
    let settings = FitSettings { hold: 0.001, steps: 40, grid, floor_g: 1.0 };
    let free = [
        Free::Permeability,
        Free::PorosityGain,
        Free::Porosity,
        Free::Squeeze,
        Free::Packing,
        Free::PackingBar,
        Free::PackingOfGain,
        Free::LiquidShare,
        Free::Diffusivity,
        Free::Capacity,
        Free::Solubles,
        Free::BrokenShare,
        Free::Spread,
        Free::Swelling,
        Free::SwellingTime,
        Free::Silting,
    ];
    let mut records = records();
    for r in &mut records {
        if r.weight < 1.0 {
            r.weight *= 0.5;
        }
    }
    let f = fit(&base, &free, &records, &settings).unwrap();
    show(&f.spec, &free, f.rms, &grid);
    println!("{:?}", f.spec.flow);
    println!("{:?} {:?} {}", f.spec.unevenness, f.spec.solutes, f.spec.liquid_share);
}
