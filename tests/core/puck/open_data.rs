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

/// Fits the level of the permeability to one pull, all else as in the puck of the mean pulls.
pub fn fitted_on(shot: &Shot, hold: f64) -> PuckSpec {
    let settings = FitSettings { hold, ..FitSettings::default() };
    fit(&PuckSpec::measured_2026(), &[Free::Permeability], &[record(shot, 60.0)], &settings).unwrap().spec
}

/// Worst relative error of the cup mass from 5 g on, to the end of the record.
pub fn worst(spec: &PuckSpec, shot: &Shot) -> f64 {
    let puck = Puck::new(spec.clone()).unwrap();
    let trace = simulate(&puck, &Drive::new(drive(shot, 99.0)).unwrap(), &Settings::default()).unwrap();
    let mut worst = 0.0_f64;
    for (t, m) in shot.time_s.iter().zip(&shot.cup_g) {
        if *m >= 5.0 && *t <= 99.0 {
            worst = worst.max((trace.sample(&trace.cup_g, t + LEAD_S) / m - 1.0).abs());
        }
    }
    worst
}

#[test]
fn pairs() {
    let Some(shots) = shots() else {
        println!("skipped: THIRDPULL_OPEN_DATA is not set");
        return;
    };
    for hold in [0.05, 0.5, 100.0] {
        println!("hold {hold}");
        for a in &shots {
            let spec = fitted_on(a, hold);
            let row: Vec<String> = shots.iter().map(|b| format!("{:3.0}", 100.0 * worst(&spec, b))).collect();
            println!(
                "{:>22} k {:.2} | {}",
                a.name,
                spec.flow.permeability_m2 / PuckSpec::measured_2026().flow.permeability_m2,
                row.join(" ")
            );
        }
    }
}
