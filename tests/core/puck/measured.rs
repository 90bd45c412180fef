//! Measured means of one ground coffee at eleven pressures, reduced from the open tables of Waszkiewicz et al., Phys.
//! Fluids 38, 063113 (2026): 18.5 g, 56 mm basket, about 90 °C, means of 3 to 10 pulls, time zero = line pressure settled.

use thirdpull::puck::*;

/// Bed pressure, bar; flow, g/s, at 10, 15, 20, 25, 30, 35, 40, 50, 60, 80 and 100 s; cup mass at 20, 30, 40 and 60 s, g.
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

fn pull(bed_bar: f64) -> PullTrace {
    let puck = Puck::new(PuckSpec::measured_2026()).unwrap();
    simulate(&puck, &Drive::new(drive(bed_bar, 100.0)).unwrap(), &Settings::default()).unwrap()
}

/// Cup mass of the mean pulls at all eleven pressures, from 5 g on: 8 % root mean square, 22 % at worst (one puck). The table is
/// itself the mean of three to ten pulls that scatter by a factor of 1.3 near 5 g (see `open_data`), so neighbouring rows
/// differ by chance: the row at 5.64 bar lies a fifth above the trend of its neighbours at 25 s. Where it fails: at 1.5 bar the
/// first 30 s run a fifth too slow.
#[test]
fn one_puck_follows_the_mean_pulls_at_all_pressures() {
    let (mut sum, mut count, mut worst) = (0.0, 0.0, 0.0_f64);
    for row in FLOWS {
        let trace = pull(row.0);
        let mut here = 0.0_f64;
        for (t, m) in cups(&row).into_iter().filter(|c| c.1 >= 5.0) {
            let e = trace.sample(&trace.cup_g, t + LEAD_S) / m - 1.0;
            sum += e * e;
            count += 1.0;
            here = here.max(e.abs());
        }
        println!("{:5.2} bar: worst {here:.3}", row.0);
        worst = worst.max(here);
    }
    let rms = f64::sqrt(sum / count);
    println!("rms {rms:.3}, worst {worst:.3} over {count} masses");
    assert!(rms < 0.085 && worst < 0.22, "{rms} {worst}");
}

/// Flow rises through the pull, more pressure slows the start, and late flow peaks between 4.5 and 7 bar and falls above:
/// out of packing, squeeze and dissolution, not of a table.
#[test]
fn late_flow_peaks_in_the_middle_and_falls() {
    let late: Vec<(f64, f64)> = FLOWS
        .iter()
        .map(|row| {
            let trace = pull(row.0);
            (row.0, trace.sample(&trace.flow_g_s, 50.0 + LEAD_S))
        })
        .collect();
    println!("{late:.2?}");
    let best = late.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    assert!((4.5..6.0).contains(&best.0), "{best:?}");
    assert!(late[10].1 < 0.85 * best.1, "measured 1.61 against 2.17 g/s: {late:?}");
    let early = |bar: f64| pull(bar).sample(&pull(bar).cup_g, 25.0 + LEAD_S);
    assert!(early(4.57) > early(7.62) && early(7.62) > early(12.5));
    let nine = pull(8.76);
    let flow = |t: f64| nine.sample(&nine.flow_g_s, t + LEAD_S);
    assert!(flow(15.0) < flow(25.0) && flow(25.0) < flow(35.0) && flow(35.0) < flow(45.0));
}

/// Strength of successive cups at 9 bar: within three standard errors of each (the first cup was measured once; it is
/// given 4 points) except where the error bars are a few tenths of a point, where half a point is allowed.
#[test]
fn strength_of_successive_cups() {
    let trace = pull(8.76);
    let all: Vec<f64> =
        (0..trace.time_s.len()).map(|i| trace.dissolved_g.iter().map(|s| s[i]).sum()).collect();
    for (i, (want, error)) in STRENGTHS.iter().enumerate() {
        // The mean trace passes 0.1 g at 12.7 s.
        let (from, to) = (12.7 + 5.0 * i as f64 + LEAD_S, 17.7 + 5.0 * i as f64 + LEAD_S);
        let mass = trace.sample(&trace.cup_g, to) - trace.sample(&trace.cup_g, from);
        let got = 100.0 * (trace.sample(&all, to) - trace.sample(&all, from)) / mass;
        println!("cup {i}: {got:.2} %, measured {want} ± {error}");
        assert!((got - want).abs() < 3.0 * error + 0.5, "cup {i}: {got} for {want}");
    }
}
