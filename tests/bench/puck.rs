//! Speed of the puck simulator, side by side with a general method in the same run.
//!
//! The yardstick is the method of lines on upwind cells with an adaptive explicit Runge–Kutta pair (Bogacki and Shampine 3(2),
//! rtol 1e-6), one solute class of two first-order populations in one tube for 30 s: its true outlet error is 7.5e-3 of scale with
//! 100 cells and 3.5e-3 with 217 (first order in the cell). The full model is one pull of 30 s with four classes in twelve
//! streamtubes on the default grid, true outlet error 3.5e-3 at worst against the exact solutions (see tests/core/puck/exact.rs). So the
//! ratio at equal error is 48 (classes times tubes) times the yardstick at 217 over the full model: 314 to 348 in processor time. A run of
//! the yardstick is longer than a time slice, so on a busy machine its wall time says more than that.
//! Allocations are counted: `time_loop` starts from a prepared run and must show none.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]
// Helpers of benches may fail loudly.
#![allow(clippy::needless_range_loop)]

use thirdpull::puck::emulator::{Emulator, Question};
use thirdpull::puck::*;

#[global_allocator]
static ALLOCATOR: divan::AllocProfiler = divan::AllocProfiler::system();

fn main() {
    divan::main();
}

fn case(spread: f64) -> (Puck, Drive) {
    let puck =
        Puck::new(PuckSpec { unevenness: Unevenness { spread, channels: vec![] }, ..PuckSpec::default() })
            .unwrap();
    let drive = Drive::new(DriveSpec { duration_s: 30.0, stop_at_g: None, ..DriveSpec::default() }).unwrap();
    (puck, drive)
}

/// Four classes, twelve tubes, heat, everything.
#[divan::bench]
fn full_model_4_classes_12_tubes(bencher: divan::Bencher) {
    let (puck, drive) = case(0.3);
    let mut run = Run::default();
    let settings = Settings::default();
    bencher.bench_local(|| simulate_in(&mut run, &puck, &drive, &settings).unwrap().tds_pct);
}

#[divan::bench]
fn full_model_4_classes_1_tube(bencher: divan::Bencher) {
    let (puck, drive) = case(0.0);
    let mut run = Run::default();
    let settings = Settings::default();
    bencher.bench_local(|| simulate_in(&mut run, &puck, &drive, &settings).unwrap().tds_pct);
}

/// The time loop alone, from a run already begun.
#[divan::bench]
fn time_loop(bencher: divan::Bencher) {
    let (puck, drive) = case(0.3);
    let settings = Settings::default();
    bencher
        .with_inputs(|| {
            let mut run = Run::default();
            run.begin(&puck, &drive, &settings).unwrap();
            run
        })
        .bench_local_refs(|run| while run.step(&puck, &drive) {});
}

#[divan::bench]
fn emulator_prediction(bencher: divan::Bencher) {
    let emulator = Emulator::usual().unwrap();
    let q = Question {
        permeability_ratio: 1.1,
        coarse_ratio: 0.9,
        dose_g: 18.0,
        brew_ratio: 2.1,
        pressure_bar: 8.7,
        temperature_c: 92.0,
        spread: 0.25,
    };
    bencher.bench(|| emulator.predict(divan::black_box(&q)));
}

/// Method of lines: eps dc/dt = −q dc/dz + Σ k_j (s_j − c), beta_j ds_j/dt = −k_j (s_j − c), upwind cells, loaded bed.
/// True error 7.5e-3 at 100 cells (first order) and 3.5e-3, that of the full model, at 217.
#[divan::bench(args = [100, 217], sample_count = 20)]
fn yardstick_method_of_lines_1_class_1_tube(bencher: divan::Bencher, cells: usize) {
    bencher.bench(|| lines(divan::black_box(cells), 1e-6));
}

fn lines(cells: usize, rtol: f64) -> f64 {
    let (eps, l_over_u) = (0.3, 7.5);
    let pops = [(4.0, 2.0 * eps), (0.06, 3.0 * eps)];
    let n = cells;
    let dz = l_over_u / n as f64;
    let slope = |y: &[f64], d: &mut [f64]| {
        for i in 0..n {
            let up = if i == 0 { 0.0 } else { y[i - 1] };
            let mut gain = -(y[i] - up) / dz;
            for (p, (k, beta)) in pops.iter().enumerate() {
                let s = y[n * (p + 1) + i];
                gain += k * beta * (s - y[i]);
                d[n * (p + 1) + i] = -k * (s - y[i]);
            }
            d[i] = gain / eps;
        }
    };
    let mut y = vec![1.0; 3 * n];
    y[..n].fill(0.0);
    let (mut k1, mut k2, mut k3, mut k4) = (y.clone(), y.clone(), y.clone(), y.clone());
    let (mut stage, mut next) = (y.clone(), y.clone());
    let (mut t, mut h) = (0.0, 1e-3);
    slope(&y, &mut k1);
    let mut cup = 0.0;
    while t < 30.0 {
        h = f64::min(h, 30.0 - t);
        for i in 0..y.len() {
            stage[i] = y[i] + 0.5 * h * k1[i];
        }
        slope(&stage, &mut k2);
        for i in 0..y.len() {
            stage[i] = y[i] + 0.75 * h * k2[i];
        }
        slope(&stage, &mut k3);
        for i in 0..y.len() {
            next[i] = y[i] + h * (2.0 * k1[i] + 3.0 * k2[i] + 4.0 * k3[i]) / 9.0;
        }
        slope(&next, &mut k4);
        let mut error = 0.0_f64;
        for i in 0..y.len() {
            let e = h * (-5.0 / 72.0 * k1[i] + k2[i] / 12.0 + k3[i] / 9.0 - 0.125 * k4[i]);
            error = error.max(e.abs() / (1e-9 + rtol * y[i].abs().max(next[i].abs())));
        }
        if error <= 1.0 {
            t += h;
            std::mem::swap(&mut y, &mut next);
            std::mem::swap(&mut k1, &mut k4);
            cup += h * y[n - 1];
        }
        h *= (0.9 * error.max(1e-10).powf(-1.0 / 3.0)).clamp(0.2, 4.0);
        if h < 1e-9 {
            break;
        }
    }
    cup
}
