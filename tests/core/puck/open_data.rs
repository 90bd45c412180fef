//! Real pulls: fitted on one, another predicted. Source: Waszkiewicz et al., Phys. Fluids 38, 063113 (2026), open data
//! record 10.5281/zenodo.18046315. The files are not part of the project; the folder that holds them is named by the
//! environment variable THIRDPULL_OPEN_DATA, and without it these tests say that they were skipped.

use thirdpull::puck::fit::*;
use thirdpull::puck::*;

pub struct Shot {
    pub name: String,
    pub line_bar: f64,
    pub time_s: Vec<f64>,
    pub line: Vec<f64>,
    pub bed: Vec<f64>,
    pub cup_g: Vec<f64>,
}

pub fn shots() -> Option<Vec<Shot>> {
    let folder = std::env::var_os("THIRDPULL_OPEN_DATA")?;
    let folder = std::path::Path::new(&folder).join("espresso-under-pressure-2026/shots");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()).collect();
    files.sort();
    let mut shots = Vec::new();
    for file in files {
        let mut shot = Shot {
            name: file.file_stem().unwrap().to_string_lossy().into_owned(),
            line_bar: 0.0,
            time_s: vec![],
            line: vec![],
            bed: vec![],
            cup_g: vec![],
        };
        let mut table = csv::Reader::from_path(&file).unwrap();
        for row in table.records() {
            let row = row.unwrap();
            let f = |i: usize| row[i].parse::<f64>().unwrap();
            shot.time_s.push(f(0));
            shot.line.push(f(1));
            shot.bed.push(f(2));
            shot.cup_g.push(f(3));
        }
        shot.line_bar = shot.line.iter().sum::<f64>() / shot.line.len() as f64;
        shots.push(shot);
    }
    Some(shots)
}

/// The pump starts `LEAD_S` before the file's zero (the raw logs show the line rising for one and a half to two seconds).
pub const LEAD_S: f64 = 2.0;

pub fn drive(shot: &Shot, until_s: f64) -> DriveSpec {
    let mut points = vec![(0.0, 0.0)];
    for (t, p) in shot.time_s.iter().zip(&shot.bed).step_by(5) {
        points.push((t + LEAD_S, p.max(0.0)));
    }
    DriveSpec {
        pressure_bar: Profile::lines(points),
        temperature_c: Profile::flat(90.0),
        duration_s: until_s + LEAD_S,
        stop_at_g: None,
        ..DriveSpec::default()
    }
}

pub fn record(shot: &Shot, until_s: f64) -> Recorded {
    let (mut t, mut m) = (vec![], vec![]);
    let mut next = 0.0;
    for (time, cup) in shot.time_s.iter().zip(&shot.cup_g) {
        if *time >= next && *time <= until_s {
            t.push(time + LEAD_S);
            m.push(*cup);
            next += 1.0;
        }
    }
    Recorded::new(drive(shot, until_s), t, m).unwrap()
}

pub fn strengths() -> Vec<(f64, f64)> {
    let folder = std::env::var_os("THIRDPULL_OPEN_DATA").unwrap();
    let file = std::path::Path::new(&folder).join("espresso-under-pressure-2026/strength-by-5s-cup.csv");
    let mut table = csv::Reader::from_path(&file).unwrap();
    table.records().map(|r| { let r = r.unwrap(); (r[0].parse().unwrap(), r[1].parse().unwrap()) }).collect()
}

#[test]
fn explore() {
    let Some(shots) = shots() else {
        println!("skipped: THIRDPULL_OPEN_DATA is not set");
        return;
    };
    let mut start = PuckSpec {
        dose_g: 18.5,
        basket_diameter_mm: 56.0,
        bulk_density_kg_m3: 395.0,
        grains: Grains { fines_share: 0.30, fines_radius_um: 19.0, boulders_radius_um: 90.0 },
        solutes: vec![Solute { name: "all".into(), share: 0.192, diffusivity_m2_s: 1.06e-10, activation_kj_mol: 20.0, liquid_share: 0.33, broken_share: 0.16, broken_rate_s: 1.5 }],
        ..PuckSpec::default()
    };
    start.flow.porosity = 0.10;
    start.flow.porosity_gain = 0.15;
    start.flow.squeeze_bar = 10.0;
    start.flow.squeeze_follows_porosity = 0.3;
    start.flow.packing_share = 0.4;
    start.flow.packing_bar = 6.0;
    start.flow.permeability_m2 = 1.0e-15;
    start.heat = Heat { start_c: 25.0, basket_c: 85.0, ..Heat::default() };
    start.unevenness.spread = 0.25;
    let until = 70.0;
    let mut records: Vec<Recorded> = shots.iter().map(|s| record(s, until)).collect();
    for (s, r) in shots.iter().zip(&mut records) {
        if s.line_bar < 2.0 { r.weight = 0.4; }
        if s.name.contains("09.0bar") {
            let at = |t: f64| s.cup_g[s.time_s.partition_point(|x| *x < t).min(s.cup_g.len() - 1)];
            let mut sum = 0.0;
            for (t, tds) in strengths() {
                let from = 12.7 + t - 2.5;
                if from + 5.0 > until { break; }
                sum += 0.01 * tds * (at(from + 5.0) - at(from));
                r.dissolved_g.push((from + 5.0 + LEAD_S, sum));
            }
            println!("dissolved {:?}", r.dissolved_g);
        }
    }
    let settings = FitSettings { hold: 0.01, steps: 20, grid: Settings { cells: 12, tubes: 5, pools: 3, step_s: 0.5 }, ..FitSettings::default() };
    let base = vec![Free::Permeability, Free::PorosityGain, Free::Squeeze, Free::SqueezeFollows, Free::Packing, Free::PackingBar, Free::LiquidShare, Free::Diffusivity, Free::Capacity, Free::Solubles, Free::BrokenShare];
    let with = |more: &[Free]| { let mut v = base.clone(); v.extend_from_slice(more); v };
    for free in [base.clone(), with(&[Free::Spread]), with(&[Free::Swelling, Free::SwellingTime, Free::Silting, Free::Spread])] {
        let fitted = fit(&start, &free, &records, &settings).unwrap();
        println!("rms {} pulls {}", fitted.rms, fitted.pulls);
        for f in &free {
            println!("  {f:?} {:.4} (exp {:.4e})", f.get(&fitted.spec), f.get(&fitted.spec).exp());
        }
        let puck = Puck::new(fitted.spec.clone()).unwrap();
        for (shot, r) in shots.iter().zip(&records) {
            let d = Drive::new(drive(shot, 100.0)).unwrap();
            let trace = simulate(&puck, &d, &settings.grid).unwrap();
            let row: Vec<String> = [10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0]
                .iter()
                .map(|t| {
                    let i = shot.time_s.partition_point(|x| x < t).min(shot.cup_g.len() - 1);
                    format!("{:.1}/{:.1}", trace.sample(&trace.cup_g, t + LEAD_S), shot.cup_g[i])
                })
                .collect();
            let late = (trace.sample(&trace.cup_g, 82.0) - trace.sample(&trace.cup_g, 62.0)) / 20.0;
            println!("{:>24} drip {:.1} EY {:.1} late {:.2} | {}", shot.name, trace.first_drip_s.unwrap_or(0.0) - LEAD_S, trace.extraction_pct, late, row.join(" "));
            if !r.dissolved_g.is_empty() {
                let row: Vec<String> = r.dissolved_g.iter().map(|(t, g)| format!("{:.2}/{:.2}", trace.sample(&trace.dissolved_g[0], *t), g)).collect();
                println!("   dissolved {}", row.join(" "));
            }
        }
    }
}
