//! Real pulls: fitted on one, another predicted. Source: Waszkiewicz et al., Phys. Fluids 38, 063113 (2026), open data
//! record 10.5281/zenodo.18046315. The files are not part of the project; the folder that holds them is named by the
//! environment variable THIRDPULL_OPEN_DATA, and without it these tests say that they were skipped.
//!
//! The drive is the recorded line pressure behind the machine's loss as measured without coffee (the bed pressure of the
//! files is computed from the recorded flow, which a prediction must not know).

use super::measured::{FLOWS, cups};
use thirdpull::practice::bench::MISSES;
use thirdpull::puck::fit::*;
use thirdpull::puck::*;

pub struct Shot {
    pub name: String,
    pub line_bar: f64,
    pub time_s: Vec<f64>,
    pub line: Vec<f64>,
    pub cup_g: Vec<f64>,
}

fn folder() -> Option<std::path::PathBuf> {
    let Some(folder) = std::env::var_os("THIRDPULL_OPEN_DATA") else {
        println!("skipped: THIRDPULL_OPEN_DATA is not set");
        return None;
    };
    Some(std::path::Path::new(&folder).join("espresso-under-pressure-2026"))
}

/// The published pulls and those of the instrument's own logs, by rising pressure.
pub fn shots() -> Option<Vec<Shot>> {
    let folder = folder()?;
    let list = |sub: &str| {
        let mut files: Vec<_> =
            std::fs::read_dir(folder.join(sub)).unwrap().map(|f| f.unwrap().path()).collect();
        files.sort();
        files
    };
    let mut shots = Vec::new();
    for file in list("shots") {
        let name = file.file_stem().unwrap().to_string_lossy().into_owned();
        let mut shot = Shot { name, line_bar: 0.0, time_s: vec![], line: vec![], cup_g: vec![] };
        let mut table = csv::Reader::from_path(&file).unwrap();
        for row in table.records() {
            let row = row.unwrap();
            let f = |i: usize| row[i].parse::<f64>().unwrap();
            shot.time_s.push(f(0));
            shot.line.push(f(1));
            shot.cup_g.push(f(3));
        }
        shots.push(shot);
    }
    for file in list("raw-logs") {
        let text = std::fs::read_to_string(&file).unwrap();
        let rows: Vec<[f64; 3]> = text
            .lines()
            .filter_map(|l| serde_json::from_str::<serde_json::Value>(l).ok())
            .filter_map(|v| Some([v["t"].as_f64()? / 1000.0, v["p2"].as_f64()? / 100.0, v["m"].as_f64()?]))
            .collect();
        // Time zero as in the files: the line has settled.
        let third = rows.len() / 3;
        let level = rows[third..2 * third].iter().map(|r| r[1]).sum::<f64>() / third as f64;
        let zero = rows.iter().position(|r| r[1] >= 0.95 * level).unwrap();
        let tare = rows[..zero].iter().map(|r| r[2]).sum::<f64>() / zero as f64;
        let from = rows[zero][0];
        let rows: Vec<_> = rows[zero..].iter().filter(|r| r[0] - from <= 100.0).collect();
        shots.push(Shot {
            name: format!("log {}", file.file_stem().unwrap().to_string_lossy()),
            line_bar: 0.0,
            time_s: rows.iter().map(|r| r[0] - from).collect(),
            line: rows.iter().map(|r| r[1]).collect(),
            cup_g: rows.iter().map(|r| r[2] - tare).collect(),
        });
    }
    for shot in &mut shots {
        shot.line_bar = shot.line.iter().sum::<f64>() / shot.line.len() as f64;
    }
    shots.sort_by(|a, b| a.line_bar.total_cmp(&b.line_bar));
    Some(shots)
}

/// The pump starts `LEAD_S` before the files' zero (the logs show the line rising for one and a half to two seconds).
pub const LEAD_S: f64 = 2.0;
/// Loss between line and bed, bar and g/s, as measured without coffee.
pub const LOSS_BAR: (f64, f64, f64) = (0.28316, 0.036709, 0.017184);
/// End of what is compared, s.
const UNTIL_S: f64 = 99.0;

pub fn drive(shot: &Shot, until_s: f64) -> DriveSpec {
    let mut points = vec![(0.0, 0.0)];
    for (t, p) in shot.time_s.iter().zip(&shot.line).step_by(10) {
        points.push((t + LEAD_S, p.max(0.0)));
    }
    DriveSpec {
        pressure_bar: Profile::lines(points),
        temperature_c: Profile::flat(90.0),
        duration_s: until_s + LEAD_S,
        stop_at_g: None,
        machine: Machine { loss_bar: LOSS_BAR, ..Machine::default() },
        ..DriveSpec::default()
    }
}

pub fn record(shot: &Shot) -> Recorded {
    let (mut t, mut m) = (vec![], vec![]);
    let mut next = 2.0;
    for (time, cup) in shot.time_s.iter().zip(&shot.cup_g) {
        if *time >= next && *time <= UNTIL_S {
            t.push(time + LEAD_S);
            m.push(*cup);
            next += if *time < 50.0 { 1.0 } else { 3.0 };
        }
    }
    Recorded::new(drive(shot, UNTIL_S), t, m).unwrap()
}

/// Level of permeability (and, if asked, the water that fills the bed) fitted to one pull, all else as in the puck of the
/// mean pulls.
pub fn fitted_on(shot: &Shot, free: &[Free]) -> PuckSpec {
    let settings = FitSettings { hold: 0.02, floor_g: 1.0, ..FitSettings::default() };
    fit(&PuckSpec::measured_2026(), free, &[record(shot)], &settings).unwrap().spec
}

fn worst_of(shot: &Shot, mut predicted: impl FnMut(f64) -> f64) -> f64 {
    let past = shot.time_s.iter().zip(&shot.cup_g).filter(|(t, m)| **m >= 5.0 && **t <= UNTIL_S);
    past.map(|(t, m)| (predicted(*t) / m - 1.0).abs()).fold(0.0, f64::max)
}

/// Worst relative error of the cup mass from 5 g on, to the end of the record.
pub fn worst(spec: &PuckSpec, shot: &Shot) -> f64 {
    let puck = Puck::new(spec.clone()).unwrap();
    let trace = simulate(&puck, &Drive::new(drive(shot, UNTIL_S)).unwrap(), &Settings::default()).unwrap();
    worst_of(shot, |t| trace.sample(&trace.cup_g, t + LEAD_S))
}

fn line(points: &[(f64, f64)], x: f64) -> f64 {
    Profile::lines(points.to_vec()).at(x)
}

/// Mean cup mass of all published pulls (57, these among them) at a bed pressure and time: the table of `measured`,
/// straight lines in the logarithms.
fn mean_of_all(bed_bar: f64, time_s: f64) -> f64 {
    let rows: Vec<(f64, f64)> = FLOWS
        .iter()
        .map(|row| {
            let mut points: Vec<(f64, f64)> = cups(row).iter().map(|(t, m)| (*t, m.max(0.01).ln())).collect();
            let at_60 = row.2[3];
            points.push((99.0, (at_60 + 10.0 * (row.1[8] + 2.0 * row.1[9] + row.1[10]) - row.1[10]).ln()));
            (row.0.ln(), line(&points, time_s))
        })
        .collect();
    line(&rows, bed_bar.ln()).exp()
}

fn pct(share: f64) -> u32 {
    (100.0 * share).round() as u32
}

fn quarter(sorted: &[f64], k: usize) -> f64 {
    sorted[(sorted.len() - 1) * k / 4]
}

/// What no model can beat: how far real pulls lie from one another. Asked is 15 % at every time past 5 g. One pull as
/// the prediction of its repeat at the same pressure misses by 18 to 145 %; the mean of all 57 pulls at the pull's own
/// pressure is within 15 % of 3 of these 11.
#[test]
fn repeats_scatter_by_more_than_is_asked() {
    let Some(shots) = shots() else { return };
    let mut repeats = Vec::new();
    for a in &shots {
        for b in shots.iter().filter(|b| b.name != a.name && (b.line_bar - a.line_bar).abs() < 0.15) {
            let points: Vec<(f64, f64)> = a.time_s.iter().copied().zip(a.cup_g.iter().copied()).collect();
            let profile = Profile::lines(points);
            let worst = worst_of(b, |t| profile.at(t));
            println!("{} as prediction of {}: worst {worst:.2}", a.name, b.name);
            repeats.push(pct(worst));
        }
    }
    let errors: Vec<f64> = shots
        .iter()
        .map(|s| {
            let e = worst_of(s, |t| mean_of_all(s.line_bar - 0.37, t));
            println!("mean of all pulls at the pressure of {}: worst {e:.2}", s.name);
            e
        })
        .collect();
    let (least, most) = MISSES.repeat_pct;
    assert_eq!((repeats.iter().min(), repeats.iter().max()), (Some(&least), Some(&most)));
    let within = errors.iter().filter(|e| **e <= 0.15).count();
    println!("within 15 %: {within} of {}", errors.len());
    assert!(within * 2 < errors.len(), "if the pulls lay closer, the model would have to do better");
}

/// One number, the level of permeability, fitted to each pull's own record, and two (also the water that fills the bed).
#[test]
fn a_pull_is_met_by_one_or_two_numbers_of_its_own() {
    let Some(shots) = shots() else { return };
    for (free, median, most) in
        [(&[Free::Permeability][..], 0.12, 0.21), (&[Free::Permeability, Free::LiquidShare], 0.10, 0.18)]
    {
        let mut own: Vec<f64> = shots.iter().map(|s| worst(&fitted_on(s, free), s)).collect();
        println!("{free:?}: {own:.2?}");
        own.sort_by(f64::total_cmp);
        assert!(own[own.len() / 2] < median && own[own.len() - 1] < most, "{own:.3?}");
        if free.len() == 1 {
            // What the practice bench says of itself.
            assert_eq!(MISSES.pulls as usize, own.len());
            assert_eq!(
                (MISSES.own_median_pct, MISSES.own_worst_pct),
                (pct(own[own.len() / 2]), pct(own[own.len() - 1]))
            );
        }
    }
}

/// Every pull fitted, every other at another pressure predicted. The levels fitted to the pulls have a spread of 8 %, which
/// is a matter of each preparation and not of the coffee: carried over whole, they spoil the prediction of the next
/// pull; `for_the_next_pull` keeps the part that the coffee can account for (here next to nothing, since the base comes from 57
/// pulls). 28 % of the pairs are then within 15 % at every time past 5 g, as many as the mean of all pulls at the very
/// pressure reaches (`repeats_scatter_by_more_than_is_asked`).
#[test]
fn one_pull_fitted_others_predicted() {
    let Some(shots) = shots() else { return };
    let base = PuckSpec::measured_2026();
    let (mut whole, mut carried, mut levels) = (vec![], vec![], vec![]);
    for a in &shots {
        let spec = fitted_on(a, &[Free::Permeability]);
        let next = for_the_next_pull(&base, &spec, PULL_SPREAD_LN_PERMEABILITY / 57f64.sqrt());
        let level = (spec.flow.permeability_m2 / base.flow.permeability_m2).ln();
        levels.push(level);
        let row: Vec<(bool, f64, f64)> = shots
            .iter()
            .map(|b| ((a.line_bar - b.line_bar).abs() > 0.4, worst(&spec, b), worst(&next, b)))
            .collect();
        let shown: Vec<String> = row.iter().map(|e| format!("{:4.0}", 100.0 * e.2)).collect();
        println!("{:>22} ln k {level:+.3}, worst % of the others: {}", a.name, shown.join(" "));
        whole.extend(row.iter().filter(|e| e.0).map(|e| e.1));
        carried.extend(row.iter().filter(|e| e.0).map(|e| e.2));
    }
    let mean = levels.iter().sum::<f64>() / levels.len() as f64;
    let sd = (levels.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (levels.len() - 1) as f64).sqrt();
    println!("ln k of the pulls: mean {mean:+.3}, standard deviation {sd:.3}");
    for (name, list) in [("whole", &mut whole), ("what the coffee accounts for", &mut carried)] {
        list.sort_by(f64::total_cmp);
        let within = list.iter().filter(|e| **e <= 0.15).count();
        println!(
            "{name}: {within} of {} pairs within 15 %, quartiles {:.2} {:.2} {:.2}",
            list.len(),
            quarter(list, 1),
            quarter(list, 2),
            quarter(list, 3)
        );
    }
    // What the practice bench says of itself: it takes a fit over whole.
    let within = whole.iter().filter(|e| **e <= 0.15).count() as f64 / whole.len() as f64;
    assert_eq!(
        (MISSES.other_median_pct, MISSES.other_quarter_pct, MISSES.within_15_pct),
        (pct(quarter(&whole, 2)), pct(quarter(&whole, 3)), pct(within))
    );
    assert!((sd / PULL_SPREAD_LN_PERMEABILITY - 1.0).abs() < 0.25, "{sd}");
    assert!(carried.iter().filter(|e| **e <= 0.15).count() * 4 > carried.len());
    assert!(quarter(&carried, 2) < 0.28 && quarter(&carried, 2) < quarter(&whole, 2));
}
