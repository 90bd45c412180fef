//! The practice bench against the plainest thing that must be done anyway: one pull of the simulator on the same grid.
//! Read the rows as ratios to `one_pull`.

// A bench that cannot set up its work must stop.
#![allow(clippy::expect_used)]

use thirdpull::domain::{Channel, Trace};
use thirdpull::practice::sitting::GRID;
use thirdpull::practice::sweep::SWEEP_GRID;
use thirdpull::practice::{Bench, Depth, Handle, Pack, Palate, SHIPPED, Sitting, check, demo, fit_to, sweep};
use thirdpull::puck::{Settings, simulate};
use thirdpull::units::UnitPreferences;
use thirdpull::workbench::practice::PracticeBench;
use thirdpull::workbench::view::practice::cup::cup;
use thirdpull::workbench::view::practice::inside::film;
use thirdpull::workbench::view::practice::strips::strips;

fn main() {
    divan::main();
}

/// The reference: the simulator alone, on its default grid.
#[divan::bench]
fn one_pull(bencher: divan::Bencher<'_, '_>) {
    let bench = Bench::default();
    let (puck, drive) = (bench.puck().expect("sound"), bench.drive().expect("sound"));
    bencher.bench(|| simulate(&puck, &drive, &Settings::default()));
}

/// A lever moved: puck, drive, pull, cup, impression. Wanted: 16 ms.
#[divan::bench]
fn lever_to_cup_default_grid() -> f64 {
    let bench = Bench::default().with(Handle::Grind, 21.0);
    let pull = bench.pull(&Settings::default()).expect("sound");
    pull.liking(&Palate::default())
}

/// A lever moved on the page: the pull, the cup in words, the strips and the film of the bed, as the window shows them.
/// Wanted: 16 ms together with the drawing itself.
#[divan::bench]
fn lever_to_new_picture(bencher: divan::Bencher<'_, '_>) {
    let mut page = PracticeBench::new(Pack::shipped(), std::sync::Arc::new(|| ()));
    let units = UnitPreferences::default();
    let mut finer = false;
    bencher.bench_local(|| {
        finer = !finer;
        page.set(Handle::Grind, if finer { 20.0 } else { 21.0 });
        let now = page.now().pull.as_ref().expect("sound");
        let before = page.before().and_then(|stand| stand.pull.as_ref().ok());
        let shown = strips(Some(&now.trace), before.map(|pull| &pull.trace), None, &units);
        (cup(now, before, &units), shown)
    });
}

/// The film of the bed, made anew after a lever moved while the inside is shown.
#[divan::bench]
fn film_of_the_bed() {
    let bench = Bench::default();
    let end_s = bench.pull(&GRID).expect("sound").trace.end_s;
    divan::black_box(film(&bench, end_s).expect("sound"));
}

#[divan::bench]
fn lever_to_cup_exercise_grid() -> f64 {
    let pull = Bench::default().with(Handle::Grind, 21.0).pull(&GRID).expect("sound");
    pull.liking(&Palate::default())
}

#[divan::bench]
fn lever_to_cup_sweep_grid() -> f64 {
    let pull = Bench::default().with(Handle::Grind, 21.0).pull(&SWEEP_GRID).expect("sound");
    pull.liking(&Palate::default())
}

/// Wanted: 100 ms.
#[divan::bench(sample_count = 10)]
fn sweep_of_sixty() {
    let swept = sweep(&Bench::default(), Handle::Grind, (10.0, 40.0), 60, &Palate::default());
    divan::black_box(swept.expect("sound"));
}

/// Wanted: 1 s.
#[divan::bench(sample_count = 5)]
fn fit_to_a_record(bencher: divan::Bencher<'_, '_>) {
    let pack = Pack::shipped();
    let truth = Bench { coffee: pack.coffees["two-winters"].clone(), ..Bench::default() };
    let pull = truth.pull(&GRID).expect("sound");
    let channels = [(Channel::CupMass, pull.trace.cup_g), (Channel::Pressure, pull.trace.head_bar)];
    let trace = Trace::new(pull.trace.time_s, channels).expect("sound");
    bencher.bench(|| fit_to(&Bench::default(), &trace, |_| true));
}

#[divan::bench(sample_count = 5)]
fn best_reachable(bencher: divan::Bencher<'_, '_>) {
    let pack = Pack::shipped();
    let exercise = &pack.exercises["three-pulls"];
    let sitting = Sitting::begin(exercise, &pack.hidden(exercise).expect("whole"), 7).expect("sound");
    bencher.bench(|| sitting.best());
}

/// Wanted: 300 ms.
#[divan::bench(sample_count = 5)]
fn demo_notebook() {
    divan::black_box(demo::notebook(jiff::civil::date(2026, 11, 25), 1).expect("sound"));
}

#[divan::bench(sample_count = 5)]
fn quick_check_of_all_that_ships() {
    divan::black_box(check(SHIPPED.iter().copied(), Depth::Quick));
}
