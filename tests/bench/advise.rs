//! Latency of one answer, beside a baseline in the same run: fitting and maximising a plain Gaussian process of the same
//! size (30 pulls, 600 candidate recipes). Run: `cargo bench --no-default-features --bench advise`.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

use divan::Bencher;
use thirdpull::advisor::{Aim, BagFacts, Case, Desk, Outlook, Settings, Shot};
use thirdpull::domain::{Attribute, Finer, Gear, GrindScale, Lever, Mark, Recipe, Scale, StartRecipe, Taste};
use thirdpull::maths::draw::Draws;
use thirdpull::maths::gp::{Kernel, Process, log_expected_improvement};

fn case(pulls: u32) -> Case {
    let scale = |a, b, s| Scale::new("bench", a, b, s);
    let (Ok(grind), Ok(dose_g), Ok(yield_g), Ok(heat)) =
        (scale(0.0, 30.0, 0.5), scale(16.0, 20.0, 0.5), scale(26.0, 54.0, 1.0), scale(88.0, 96.0, 1.0))
    else {
        std::process::exit(2)
    };
    let mut draws = Draws::new(7);
    let mut shots = Vec::new();
    for label in 1..=pulls {
        let grind = grind.snap(15.0 + 2.0 * draws.normal());
        let mut taste = Taste::default();
        for a in Attribute::ALL {
            taste.set_mark(a, Mark::new(draws.normal().round().clamp(-2.0, 2.0) as i64));
        }
        taste.set_liking(Some((6.0 + draws.normal()).round().clamp(1.0, 9.0) as i64));
        shots.push(Shot {
            label,
            recipe: Recipe { grind, dose_g: 18.0, yield_g: 36.0 + draws.normal(), temperature_c: Some(93.0) },
            time_s: Some(27.0 * (-0.1 * (grind - 15.0) + 0.05 * draws.normal()).exp()),
            first_drip_s: None,
            tds_pct: Some(9.2 + 0.2 * draws.normal()),
            taste,
            choked: false,
            spurting: false,
            days_since_roast: Some(10.0 + f64::from(label) * 0.2),
            plan: None,
            gist: None,
        });
    }
    Case {
        bag: BagFacts::default(),
        gear: Gear {
            grind: GrindScale {
                scale: grind,
                finer: Finer::Lower,
                um_per_unit: None,
                retained_g: 0.0,
                stepless: false,
            },
            dose_g,
            yield_g,
            temperature_c: Some(heat),
            pressure_bar: None,
            refractometer: true,
        },
        aim: Aim {
            start: StartRecipe { grind: Some(15.0), dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) },
            time_window_s: None,
        },
        earlier: vec![],
        shots,
        age_today: None,
        coffee_left_g: None,
        packs: thirdpull::rules::own_packs(),
    }
}

#[divan::bench(args = [0, 5, 30, 500], sample_count = 20, sample_size = 1)]
fn advise(bencher: Bencher, pulls: u32) {
    let case = case(pulls);
    let desk = Desk::new(&case);
    bencher.bench_local(|| desk.advise(&case, &Settings::default()));
}

/// What a dragged lever costs: the expectation of one recipe, the beliefs being ready.
#[divan::bench(args = [0, 5, 30, 500], sample_count = 100, sample_size = 1)]
fn outlook_expect(bencher: Bencher, pulls: u32) {
    let case = case(pulls);
    let outlook = Outlook::new(&case, &Settings::default());
    let mut grind = 10.0;
    bencher.bench_local(|| {
        grind = if grind > 20.0 { 10.0 } else { grind + 0.5 };
        outlook.expect(&Recipe { grind, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) })
    });
}

/// A whole taste map, the beliefs being ready.
#[divan::bench(args = [5, 30], sample_count = 20, sample_size = 1)]
fn outlook_map(bencher: Bencher, pulls: u32) {
    let case = case(pulls);
    let outlook = Outlook::new(&case, &Settings::default());
    let centre = case.current();
    bencher.bench_local(|| {
        let across = outlook.worth_showing(Lever::Grind, &centre, &[]);
        let up = outlook.worth_showing(Lever::Yield, &centre, &[]);
        outlook.taste_map(&centre, (Lever::Grind, across), (Lever::Yield, up))
    });
}

#[divan::bench(args = [5, 30], sample_count = 20, sample_size = 1)]
fn baseline_gaussian_process(bencher: Bencher, pulls: usize) {
    let mut draws = Draws::new(3);
    let mut places =
        |n: usize| -> Vec<Vec<f64>> { (0..n).map(|_| (0..4).map(|_| draws.uniform()).collect()).collect() };
    let (x, grid) = (places(pulls), places(600));
    let y: Vec<f64> = x.iter().map(|p| p.iter().sum()).collect();
    bencher.bench_local(|| {
        // A coarse search over one length scale, as a generic optimiser does over several.
        let mut best = f64::NEG_INFINITY;
        for scale in 1..=30 {
            let scales = [0.05 * f64::from(scale); 4];
            let Some(p) = Process::new(Kernel::Matern52, 1.0, &scales, &x, &y, &vec![0.5; pulls]) else {
                continue;
            };
            best = best.max(p.log_evidence);
        }
        let p = Process::new(Kernel::Matern52, 1.0, &[0.5; 4], &x, &y, &vec![0.5; pulls]);
        let gains: Vec<f64> = grid
            .iter()
            .filter_map(|g| {
                let (mean, var) = p.as_ref()?.predict(std::slice::from_ref(g));
                Some(log_expected_improvement(*mean.first()?, var.first()?.max(1e-12).sqrt(), 2.0))
            })
            .collect();
        (best, gains)
    });
}

fn main() {
    divan::main();
}
