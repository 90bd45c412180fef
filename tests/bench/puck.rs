//! Speed of the puck simulator, side by side with a general-purpose scheme in the same run.
use thirdpull::puck::*;

fn main() {
    divan::main();
}

const POOLS: usize = 4;

fn case(spread: f64) -> (Puck, Drive) {
    let puck =
        Puck::new(PuckSpec { unevenness: Unevenness { spread, channels: vec![] }, ..PuckSpec::default() })
            .unwrap();
    let drive = Drive::new(DriveSpec { duration_s: 30.0, stop_at_g: None, ..DriveSpec::default() }).unwrap();
    (puck, drive)
}

#[divan::bench(args = [24, 32])]
fn full_pull_12_tubes(bencher: divan::Bencher, cells: usize) {
    let (puck, drive) = case(0.3);
    let mut run = Run::default();
    let settings = Settings { cells, pools: POOLS, ..Settings::default() };
    bencher.bench_local(|| simulate_in(&mut run, &puck, &drive, &settings).unwrap().tds_pct);
}

#[divan::bench(args = [24, 32])]
fn full_pull_1_tube(bencher: divan::Bencher, cells: usize) {
    let (puck, drive) = case(0.0);
    let mut run = Run::default();
    let settings = Settings { cells, pools: POOLS, ..Settings::default() };
    bencher.bench_local(|| simulate_in(&mut run, &puck, &drive, &settings).unwrap().tds_pct);
}
