//! A whole pull against an independent scheme: mixed cells (first-order upwind), fixed time steps and three pools per
//! sphere, with the outputs that its authors computed for three pulls. The scheme is written out here once more; it must
//! reproduce its own published numbers, and on ever finer grids it must come to the simulator's answer.

use thirdpull::puck::tubes::Path;
use thirdpull::puck::*;

pub struct Scheme {
    pub cells: usize,
    pub dt: f64,
    pub pools: &'static [(f64, f64)],
}

pub const THREE: &[(f64, f64)] = &[(0.68119, 10.771), (0.23676, 110.92), (0.08205, 2895.8)];
pub const FOUR: &[(f64, f64)] = &[(0.63654, 10.152), (0.22117, 63.630), (0.09819, 494.47), (0.04410, 7768.3)];

/// Rows of (time, cup g, dissolved g per class), every `every` s.
pub fn composed(
    spec: &PuckSpec,
    bar: f64,
    kelvin: f64,
    tubes: &[f64],
    scheme: &Scheme,
    until: f64,
    density: f64,
) -> Vec<(f64, f64, Vec<f64>)> {
    let area = std::f64::consts::FRAC_PI_4 * (spec.basket_diameter_mm * 1e-3).powi(2);
    let depth = spec.dose_g * 1e-3 / (spec.bulk_density_kg_m3 * area);
    let eps = spec.liquid_share;
    let mu = water::viscosity_short_pa_s(kelvin - 273.15);
    let n = scheme.cells;
    let share = 1.0 / tubes.len() as f64;
    let cell_volume = eps * area * share * depth / n as f64;
    let kozeny = |x: f64| x * x * x / ((1.0 - x) * (1.0 - x));
    let psi = |p: f64| (1.0 - (1.0 - p.min(1.0)).powi(4)) / (4.0 * p);
    let total: f64 = spec.solutes.iter().map(|s| s.share).sum::<f64>() * spec.dose_g;
    struct TubeState {
        x: f64,
        front: f64,
        volume: Vec<f64>,
        mass: Vec<Vec<f64>>,
        pools: Vec<Vec<Vec<f64>>>,
        left: f64,
    }
    let rates: Vec<Vec<(f64, f64)>> = spec
        .solutes
        .iter()
        .map(|s| {
            let factor = s.rate_factor(kelvin - 273.15);
            let mut list = vec![(s.broken_share, s.broken_rate_s * factor)];
            let g = &spec.grains;
            for (f, a) in [(g.fines_share, g.fines_radius_um), (1.0 - g.fines_share, g.boulders_radius_um)] {
                for (w, kappa) in scheme.pools {
                    list.push((
                        (1.0 - s.broken_share) * f * w,
                        kappa * s.diffusivity_m2_s * factor / (a * 1e-6).powi(2),
                    ));
                }
            }
            list
        })
        .collect();
    let mut states: Vec<TubeState> = tubes
        .iter()
        .map(|x| TubeState {
            x: *x,
            front: 0.0,
            volume: vec![0.0; n],
            mass: vec![vec![0.0; n]; spec.solutes.len()],
            pools: spec
                .solutes
                .iter()
                .zip(&rates)
                .map(|(s, r)| {
                    r.iter().map(|(w, _)| vec![w * s.share * spec.dose_g * share / n as f64; n]).collect()
                })
                .collect(),
            left: total * share,
        })
        .collect();
    let mut cup_volume = 0.0;
    let mut cup = vec![0.0; spec.solutes.len()];
    let mut rows = Vec::new();
    let steps = (until / scheme.dt).round() as usize;
    for step in 0..steps {
        for s in &mut states {
            let dissolved = 1.0 - s.left / (total * share);
            let k = spec.flow.permeability_m2
                * s.x
                * psi(bar / spec.flow.squeeze_bar)
                * kozeny(spec.flow.porosity + spec.flow.porosity_gain * dissolved)
                / kozeny(spec.flow.porosity);
            let p = bar * 1e5;
            let mut dv = 0.0;
            let mut rest = scheme.dt;
            if s.front < depth {
                let to_end = (depth * depth - s.front * s.front) * mu * eps / (2.0 * k * p);
                let used = to_end.min(rest);
                let new = (s.front * s.front + 2.0 * k * p * used / (mu * eps)).sqrt().min(depth);
                dv += eps * area * share * (new - s.front);
                s.front = if used >= to_end { depth } else { new };
                rest -= used;
            }
            dv += k * area * share * p / (mu * depth) * rest;
            let parts = (dv / (0.5 * cell_volume)).ceil().max(1.0);
            for _ in 0..parts as usize {
                let mut inflow = dv / parts;
                let mut carried = vec![0.0; spec.solutes.len()];
                for i in 0..n {
                    let whole = s.volume[i] + inflow;
                    let out = (whole - cell_volume).max(0.0);
                    for (m, c) in s.mass.iter_mut().zip(&mut carried) {
                        let all = m[i] + *c;
                        let leaves = if whole > 0.0 { all * out / whole } else { 0.0 };
                        m[i] = all - leaves;
                        *c = leaves;
                    }
                    s.volume[i] = whole - out;
                    inflow = out;
                }
                cup_volume += inflow;
                for (a, b) in cup.iter_mut().zip(&carried) {
                    *a += b;
                }
            }
            s.left = 0.0;
            for (l, class) in spec.solutes.iter().enumerate() {
                for i in 0..n {
                    let wet = s.volume[i] / cell_volume;
                    let (mut up, mut down) = (s.mass[l][i], s.volume[i]);
                    for (pool, (w, rate)) in s.pools[l].iter().zip(&rates[l]) {
                        let a = (1.0 - (-rate * scheme.dt).exp()) * wet;
                        up += a * pool[i];
                        down += a * w * cell_volume * class.capacity();
                    }
                    let c = if down > 0.0 { up / down } else { 0.0 };
                    for (pool, (w, rate)) in s.pools[l].iter_mut().zip(&rates[l]) {
                        let a = (1.0 - (-rate * scheme.dt).exp()) * wet;
                        pool[i] -= a * (pool[i] - w * cell_volume * class.capacity() * c);
                        s.left += pool[i];
                    }
                    s.mass[l][i] = c * s.volume[i];
                }
            }
        }
        rows.push(((step + 1) as f64 * scheme.dt, cup_volume * density * 1e3, cup.clone()));
    }
    rows
}

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

/// The puck of the reference pulls, at one temperature throughout.
pub fn reference_puck(celsius: f64, k0: f64) -> PuckSpec {
    PuckSpec {
        solutes: vec![
            class("early", 0.10, 2.0e-10, 16.0, 0.60, 0.30, 2.0),
            class("middle", 0.06, 1.2e-10, 20.0, 0.50, 0.25, 1.5),
            class("late", 0.12, 0.5e-10, 30.0, 0.40, 0.20, 0.7),
        ],
        // The reference scheme knows no saturation.
        saturation_kg_m3: 10_000.0,
        heat: Heat { start_c: celsius, basket_w_k: 0.0, ..Heat::default() },
        flow: FlowLaw { permeability_m2: k0, ..FlowLaw::default() },
        ..PuckSpec::default()
    }
}

/// Means of five equally likely parts of a lognormal of mean 1 and spread 0.3 in the logarithm.
pub fn five_tubes() -> [f64; 5] {
    let (sigma, n) = (0.3_f64, 200_000);
    let mut sums = [0.0; 5];
    // Quantiles by summing the density.
    let (mut chance, mut part) = (0.0, 0);
    for i in 0..n {
        let z = -6.0 + 12.0 * (i as f64 + 0.5) / n as f64;
        let w = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt() * 12.0 / n as f64;
        if chance + 0.5 * w > 0.2 * (part + 1) as f64 && part < 4 {
            part += 1;
        }
        chance += w;
        sums[part] += 5.0 * w * (sigma * z - 0.5 * sigma * sigma).exp();
    }
    sums
}

/// Published rows at 5, 10, 15, 20, 30, 40 s: cup g, dissolved early, middle, late, g.
pub type Rows = [[f64; 4]; 6];
pub const TIMES: [f64; 6] = [5.0, 10.0, 15.0, 20.0, 30.0, 40.0];
pub const S1: Rows = [
    [0.0, 0.0, 0.0, 0.0],
    [4.888, 0.7316, 0.3292, 0.4530],
    [12.153, 1.2160, 0.6032, 0.8964],
    [20.088, 1.4254, 0.7379, 1.1587],
    [37.179, 1.6262, 0.8715, 1.4178],
    [55.283, 1.7173, 0.9476, 1.5639],
];
pub const S2: Rows = [
    [0.0, 0.0, 0.0, 0.0],
    [4.871, 0.7155, 0.3209, 0.4350],
    [12.107, 1.1915, 0.5876, 0.8578],
    [19.988, 1.3966, 0.7190, 1.1105],
    [36.937, 1.5979, 0.8482, 1.3610],
    [54.883, 1.6961, 0.9241, 1.4990],
];
pub const S3: Rows = [
    [0.256, 0.0436, 0.0186, 0.0248],
    [4.979, 0.6305, 0.2922, 0.4113],
    [12.261, 1.1249, 0.5540, 0.8262],
    [20.181, 1.3734, 0.7032, 1.0943],
    [37.240, 1.6055, 0.8561, 1.3850],
    [55.327, 1.7075, 0.9385, 1.5447],
];

pub fn pulls() -> Vec<(&'static str, PuckSpec, f64, f64, Vec<f64>, Rows)> {
    vec![
        ("S1", reference_puck(93.0, 3.8e-15), 9.0, 366.15, vec![1.0], S1),
        ("S2", reference_puck(85.0, 5e-15), 6.0, 358.15, vec![1.0], S2),
        ("S3", reference_puck(93.0, 3.8e-15), 9.0, 366.15, five_tubes().to_vec(), S3),
    ]
}

/// The scheme written out above gives the published rows: dissolved masses to the last digit but two units, cup mass to
/// 7e-4 (the rows were made with a one-atmosphere density polynomial that is 0.065 % low against the steam tables).
#[test]
fn the_mixed_cell_scheme_reproduces_its_published_rows() {
    for (name, spec, bar, kelvin, tubes, want) in pulls() {
        let rho = water::density_kg_m3(kelvin - 273.15, 1.01325);
        let scheme = Scheme { cells: 40, dt: 0.05, pools: THREE };
        let rows = composed(&spec, bar, kelvin, &tubes, &scheme, 40.0, rho);
        for (t, w) in TIMES.iter().zip(want) {
            let r = &rows[(t / 0.05).round() as usize - 1];
            assert!((r.1 - w[0]).abs() <= 7.5e-4 * w[0] + 6e-4, "{name} {t}: cup {} for {}", r.1, w[0]);
            for (got, want) in r.2.iter().zip(&w[1..]) {
                assert!((got - want).abs() <= 2.6e-4, "{name} {t}: {got} for {want}");
            }
        }
    }
}

fn ours(spec: &PuckSpec, bar: f64, kelvin: f64, tubes: &[f64], settings: &Settings) -> PullTrace {
    let puck = Puck::new(spec.clone()).unwrap();
    let drive = Drive::new(DriveSpec {
        pressure_bar: Profile::flat(bar),
        temperature_c: Profile::flat(kelvin - 273.15),
        duration_s: 40.0,
        stop_at_g: None,
        ..DriveSpec::default()
    })
    .unwrap();
    let share = 1.0 / tubes.len() as f64;
    let paths: Vec<Path> =
        tubes.iter().map(|x| Path { area_share: share, conductance: *x, channel: None }).collect();
    let mut run = Run::default();
    run.begin_with(&puck, &drive, settings, &paths).unwrap();
    while run.step(&puck, &drive) {}
    run.finish(&puck)
}

/// The published rows carry first-order errors (their authors give 0.1–0.6 %). Refined and extrapolated, the same scheme
/// comes to the simulator's default grid within 0.3 % of each quantity, several times nearer than the published rows are.
#[test]
fn the_simulator_is_where_the_mixed_cell_scheme_converges_to() {
    for (name, spec, bar, kelvin, tubes, published) in pulls() {
        let rho = water::density_kg_m3(kelvin - 273.15, 1.01325);
        let run =
            |cells, dt| composed(&spec, bar, kelvin, &tubes, &Scheme { cells, dt, pools: FOUR }, 40.0, rho);
        let (coarse, fine) = (run(80, 0.025), run(160, 0.0125));
        let trace = ours(&spec, bar, kelvin, &tubes, &Settings::default());
        assert!(trace.mass_error(18.0) < 1e-9);
        let (mut us, mut them) = (0.0_f64, 0.0_f64);
        for (t, p) in TIMES.iter().zip(&published).skip(2) {
            let (a, b) =
                (&coarse[(t / 0.025).round() as usize - 1], &fine[(t / 0.0125).round() as usize - 1]);
            let limit = |a: f64, b: f64| 2.0 * b - a;
            let cup = limit(a.1, b.1);
            us = us.max((trace.sample(&trace.cup_g, *t) / cup - 1.0).abs());
            for l in 0..3 {
                let truth = limit(a.2[l], b.2[l]);
                us = us.max((trace.sample(&trace.dissolved_g[l], *t) / truth - 1.0).abs());
                them = them.max((p[l + 1] / truth - 1.0).abs());
            }
        }
        println!("{name}: simulator {us:.5}, published rows {them:.5} from the limit");
        assert!(us < 3e-3, "{name}: {us}");
        assert!(us < 0.25 * them, "{name}: {us} against {them}");
    }
}

/// First drip, time to 36 g, yield and strength of the reference pulls (the note gives 6.25 s, 29.332 s, 21.599 % and
/// 10.800 % for the first, and 29.25 s and 21.69 % on a fine grid).
#[test]
fn totals_of_the_reference_pulls() {
    let (_, spec, bar, kelvin, tubes, _) = pulls().remove(0);
    let trace = ours(&spec, bar, kelvin, &tubes, &Settings::default());
    // The scheme's steps are 0.05 s long.
    assert!((trace.first_drip_s.unwrap() - 6.25).abs() < 0.06);
    let t36 = trace.time_at_g(36.0).unwrap();
    assert!((t36 - 29.25).abs() < 0.07, "{t36}");
    let ey: f64 = trace.dissolved_g.iter().map(|d| trace.sample(d, t36)).sum::<f64>() / 18.0 * 100.0;
    assert!((ey - 21.69).abs() < 0.05, "{ey}");
}

/// Time to 36 g and yield against temperature: five rows of the note (made on the coarse grid: 0.09 s and 0.09 points
/// off its own limit at 93 °C, so the slopes are compared, to 2 %).
#[test]
fn temperature_moves_time_and_yield_as_tabled() {
    let rows = [
        (80.0, 34.26, 21.18, 1.353),
        (85.0, 32.20, 21.34, 1.374),
        (90.0, 30.35, 21.50, 1.394),
        (93.0, 29.33, 21.60, 1.406),
        (96.0, 28.37, 21.70, 1.418),
    ];
    let mut last: Option<(f64, f64, f64)> = None;
    for (i, (celsius, time, ey, late)) in rows.iter().enumerate() {
        let trace =
            ours(&reference_puck(*celsius, 3.8e-15), 9.0, celsius + 273.15, &[1.0], &Settings::default());
        let t36 = trace.time_at_g(36.0).unwrap();
        let at = |l: usize| trace.sample(&trace.dissolved_g[l], t36);
        let got = (t36, (at(0) + at(1) + at(2)) / 18.0 * 100.0, at(2));
        assert!((got.0 / time - 1.0).abs() < 6e-3, "{celsius}: {} for {time}", got.0);
        assert!((got.1 - ey).abs() < 0.13, "{celsius}: {} for {ey}", got.1);
        assert!((got.2 / late - 1.0).abs() < 0.01, "{celsius}: {} for {late}", got.2);
        if let (Some(before), Some(row)) = (last, i.checked_sub(1).map(|j| rows[j])) {
            assert!(((got.0 - before.0) / (time - row.1) - 1.0).abs() < 0.02);
            assert!(((got.1 - before.1) - (ey - row.2)).abs() < 0.012);
        }
        last = Some(got);
    }
}
