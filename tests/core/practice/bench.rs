//! The bench answers every position of its handles with finite numbers, and in the directions that are measured.

use crate::puck::measured::{FLOWS, STRENGTHS};
use thirdpull::domain::{Channel, Trace};
use thirdpull::practice::sitting::GRID;
use thirdpull::practice::sweep::{SWEEP_GRID, Seen};
use thirdpull::practice::{Bench, FitFault, Handle, Pack, Palate, Watch, fit_to, presets, sweep};
use thirdpull::workbench::view::practice::sweeps::{curves, run_study, studies_of};

fn finite(bench: &Bench, what: &str) {
    let pull = bench.pull(&SWEEP_GRID).unwrap_or_else(|fault| panic!("{what}: {fault}"));
    let cup = pull.cup;
    let liking = pull.liking(&Palate::default());
    for value in [cup.tds_pct, cup.extraction_pct, pull.trace.end_s, liking, pull.balance(), cup.unevenness] {
        assert!(value.is_finite() && value >= 0.0, "{what}: {value}");
    }
    assert!(pull.trace.mass_error(bench.recipe.dose_g) < 1e-9, "{what}");
}

#[test]
fn every_handle_at_both_ends_of_every_coffee_gives_numbers() {
    let pack = Pack::shipped();
    for (name, coffee) in &pack.coffees {
        for handle in Handle::ALL {
            let bench = Bench { coffee: coffee.clone(), ..Bench::default() };
            let (low, high, _) = bench.marks(handle);
            for value in [low, high, -1e300, 1e300, f64::NAN] {
                finite(&bench.with(handle, value), &format!("{name} {handle:?} {value}"));
            }
        }
    }
}

#[test]
fn every_preset_pulls() {
    for preset in presets() {
        let bench = Bench { drawn: preset.drawn, ..Bench::default() };
        let pull = bench.pull(&GRID).expect("within range");
        assert!(pull.trace.reached_yield, "{}: {}", preset.name, pull.trace.summary());
    }
}

#[test]
fn a_sweep_is_finite_ordered_and_repeatable() {
    let bench = Bench::default();
    for handle in Handle::ALL {
        let (low, high, _) = bench.marks(handle);
        let swept = sweep(&bench, handle, (high, low), 9, &Palate::default()).expect("within range");
        assert_eq!(swept.at.len(), 9);
        assert!(swept.at.is_sorted(), "{handle:?}");
        for watch in [Watch::Time, Watch::Strength, Watch::Extraction, Watch::Balance, Watch::CoffeePerDrink]
        {
            assert!(swept.curve(watch).iter().all(|(x, y)| x.is_finite() && y.is_finite()), "{handle:?}");
        }
        assert_eq!(swept, sweep(&bench, handle, (low, high), 9, &Palate::default()).expect("within range"));
    }
}

/// Directions: extraction peaks and falls with fineness (Cameron et al., Matter 2, 631, 2020, abstract); strength is
/// extraction times dose over drink (definition; Batali et al., Sci. Rep. 10, 16450, 2020); water thins with heat, so a
/// hotter pull is faster, 1.1 % a kelvin (IAPWS formulation of the viscosity of water, computed for 93 °C); total drink is
/// the strongest lever on strength and temperature a weak one (Schmieder et al., Foods 12, 2871, 2023; Klotz et al.,
/// Foods 9, 36, 2020, abstracts).
#[test]
fn directions_are_the_measured_ones() {
    let pack = Pack::shipped();
    let bench = Bench { coffee: pack.coffees["apricot-terrace"].clone(), ..Bench::default() };
    let palate = Palate::default();
    let swept = sweep(&bench, Handle::Grind, (4.0, 40.0), 37, &palate).expect("within range");
    let curve = swept.curve(Watch::Extraction);
    let (peak_at, peak) = swept.peak(Watch::Extraction).expect("cups were filled");
    let finest = curve.first().expect("filled");
    let coarsest = curve.last().expect("filled");
    assert!(peak_at > finest.0 && peak_at < coarsest.0, "the peak lies inside: {peak_at}");
    assert!(peak > finest.1 + 0.3 && peak > coarsest.1 + 2.0, "{finest:?} {peak} {coarsest:?}");

    let usual = Bench::default();
    let seen = |handle, value| {
        let pull = usual.with(handle, value).pull(&GRID).expect("within range");
        (pull.trace.end_s, pull.cup.tds_pct, pull.cup.extraction_pct, pull.cup.yield_g)
    };
    let (_, tds, extraction, drink) = seen(Handle::Yield, 36.0);
    assert!((tds * drink / 18.0 - extraction).abs() < 1e-6 * extraction);
    let (cool, warm) = (seen(Handle::Temperature, 90.0), seen(Handle::Temperature, 94.0));
    let per_kelvin = (cool.0 / warm.0).ln() / 4.0;
    assert!((0.007..0.014).contains(&per_kelvin), "{per_kelvin}");
    let (short, long) = (seen(Handle::Yield, 27.0), seen(Handle::Yield, 45.0));
    assert!((short.1 - long.1).abs() > 10.0 * (cool.1 - warm.1).abs());
}

#[test]
fn the_grind_for_a_time_gives_that_time() {
    let bench = Bench::default();
    for time_s in [18.0, 27.0, 40.0] {
        let grind = bench.grind_for(time_s, &GRID).expect("within range").expect("on the scale");
        let found = bench.with(Handle::Grind, grind).pull(&GRID).expect("within range").trace.end_s;
        assert!((found - time_s).abs() < 0.2, "{time_s}: {found}");
    }
    assert_eq!(bench.grind_for(0.5, &GRID).expect("within range"), None);
}

#[test]
fn studies_say_what_their_numbers_say() {
    let pack = Pack::shipped();
    for (name, study) in &pack.studies {
        let bench = study.bench(&pack.coffees[&study.coffee], &pack.stations[&study.station]);
        let run = study.run(&bench, &pack.drinkers[&study.drinker]).expect("within range");
        assert!(!run.says.is_empty(), "{name}");
        assert_eq!(run.arms.len(), study.arms.len());
        for sentence in &run.says {
            assert!(sentence.ends_with('.') && !sentence.contains("NaN"), "{name}: {sentence}");
        }
        if study.same_time {
            let first = run.arms[0].seen.time_s;
            for arm in &run.arms {
                assert!((arm.seen.time_s - first).abs() < 0.5, "{name}: {} {}", arm.name, arm.seen.time_s);
            }
        }
    }
    // The first number of the sentence about the swept extraction is the curve's own first point.
    let study = &pack.studies["finer-or-coarser"];
    let bench = study.bench(&pack.coffees[&study.coffee], &pack.stations[&study.station]);
    let run = study.run(&bench, &pack.drinkers[&study.drinker]).expect("within range");
    let first = run.sweep.as_ref().expect("it sweeps").curve(Watch::Extraction)[0];
    assert!(run.says[0].contains(&format!("{:.2} %", first.1)), "{}", run.says[0]);
}

fn recorded(bench: &Bench) -> Trace {
    let pull = bench.pull(&GRID).expect("within range");
    let channels =
        [(Channel::CupMass, pull.trace.cup_g.clone()), (Channel::Pressure, pull.trace.head_bar.clone())];
    Trace::new(pull.trace.time_s.clone(), channels).expect("sound")
}

/// A fit finds a coffee that pours as the recorded one did, from a start that does not.
#[test]
fn the_bench_learns_to_behave_like_a_record() {
    let pack = Pack::shipped();
    let truth = Bench { coffee: pack.coffees["two-winters"].clone(), ..Bench::default() };
    let trace = recorded(&truth);
    let start = Bench { coffee: pack.coffees["old-tin"].clone(), ..Bench::default() };
    let before = start.pull(&GRID).expect("within range").trace.end_s;
    let mut heard = Vec::new();
    let fit = fit_to(&start, &trace, |share| {
        heard.push(share);
        true
    });
    let fit = fit.expect("it fits");
    let end_s = trace.time_s().last().copied().expect("samples");
    assert!((before - end_s).abs() > 2.0, "the start is another coffee");
    assert!(fit.rms_g < 0.5 && fit.worst_g < 1.5, "{}", fit.sentence());
    assert!((fit.pull.trace.end_s - end_s).abs() < 1.0);
    assert!(heard.is_sorted() && heard.last() == Some(&1.0));
    // Stopped on request; no mass; too little mass.
    assert_eq!(fit_to(&start, &trace, |_| false).err(), Some(FitFault::Stopped));
    let time: Vec<f64> = (0..50).map(|k| f64::from(k) * 0.5).collect();
    let only = Trace::new(time.clone(), [(Channel::Pressure, vec![9.0; 50])]).expect("sound");
    assert_eq!(fit_to(&start, &only, |_| true).err(), Some(FitFault::NoMass));
    let dry = Trace::new(time, [(Channel::CupMass, vec![f64::NAN; 50])]).expect("sound");
    assert_eq!(fit_to(&start, &dry, |_| true).err(), Some(FitFault::TooFew(0)));
}

/// A fit can be stopped between any two of its pulls, and its progress never runs back.
#[test]
fn a_fit_stops_within_a_round() {
    let pull = Bench::default().pull(&GRID).expect("sound");
    let channels = [(Channel::CupMass, pull.trace.cup_g), (Channel::Pressure, pull.trace.head_bar)];
    let trace = Trace::new(pull.trace.time_s, channels).expect("a trace");
    let mut heard = Vec::new();
    let fit = fit_to(&Bench::default(), &trace, |part| {
        heard.push(part);
        true
    });
    assert!(fit.is_ok() && heard.is_sorted() && heard.last() == Some(&1.0), "{heard:?}");
    assert!(heard.len() > 20, "asked before every pull, not once a round: {}", heard.len());
    for stop_at in [1, 2, 7, heard.len() / 2] {
        let mut asked = 0;
        let stopped = fit_to(&Bench::default(), &trace, |_| {
            asked += 1;
            asked < stop_at
        });
        assert!(matches!(stopped, Err(FitFault::Stopped)) && asked == stop_at, "{stop_at} {asked}");
    }
}

/// What two threads pull is what one pull after another gives, in the order of the handle.
#[test]
fn a_sweep_on_two_threads_is_its_pulls_one_after_another() {
    let (bench, palate) = (Bench::default(), Palate::default());
    for count in [2, 3, 8] {
        let swept = sweep(&bench, Handle::Grind, (14.0, 30.0), count, &palate).expect("within range");
        assert_eq!((swept.at.len(), swept.seen.len()), (count, count));
        for (at, seen) in swept.at.iter().zip(&swept.seen) {
            let pull = bench.with(Handle::Grind, *at).pull(&SWEEP_GRID).expect("within range");
            assert_eq!(*seen, Seen::of(&pull, &palate));
        }
    }
}

/// Behind the cup after a time stand the eleven pressures of the source's table (Waszkiewicz et al., Phys. Fluids 38, 063113,
/// 2026), and the bed that follows its law comes near them; where nothing was published the plot says so.
#[test]
fn what_was_measured_stands_behind_the_curve_it_belongs_to() {
    let pack = Pack::shipped();
    let (bench, run) = run_study(&pack, "pressure-and-flow").expect("it runs");
    let swept = run.sweep.expect("it sweeps");
    let cups = [Watch::Cup20, Watch::Cup30, Watch::Cup40, Watch::Cup60];
    let view = curves(&swept, &cups, None, &studies_of(&pack, Handle::Pressure));
    let mut squares = Vec::new();
    for (at, curve) in view.curves.iter().enumerate() {
        let table: Vec<(f64, f64)> = FLOWS.iter().map(|row| (row.0, row.2[at])).collect();
        assert_eq!(curve.measured, table);
        assert!(curve.source.contains("Waszkiewicz et al."), "{}", curve.source);
        for (bar, cup_g) in table {
            let after = curve.points.partition_point(|point| point.0 < bar).min(curve.points.len() - 1);
            squares.push((curve.points[after].1 - cup_g).powi(2));
        }
    }
    let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    assert!(rms < 6.0, "{rms}");
    // Time to 36 g: nine pressures reach it within the table, and each line stands once though two studies know it.
    let time = curves(&swept, &[Watch::Time, Watch::Liking], None, &studies_of(&pack, Handle::Pressure));
    assert_eq!(time.curves[0].measured.len(), 9);
    assert_eq!(time.curves[1].source, "no measurement published on these axes");
    let mut lines = time.measured.clone();
    lines.sort();
    lines.dedup();
    assert_eq!(lines.len(), time.measured.len());
    // Nothing measured over pressure stands behind a sweep of another handle.
    let grind = sweep(&bench, Handle::Grind, (18.0, 22.0), 2, &Palate::default()).expect("within range");
    let grind = curves(&grind, &cups, None, &studies_of(&pack, Handle::Grind));
    assert!(grind.curves.iter().all(|curve| curve.measured.is_empty()));
}

/// The strengths of successive cups in the source's table, added up by hand for one point: 5 s from 12.7 s on hold 0.9 g at
/// 24.4 %; by 35.8 g the cup holds 3.6 g of coffee, 19.6 % of 18.5 g.
#[test]
fn the_measured_strengths_and_extractions_agree_with_each_other_and_with_the_table() {
    let pack = Pack::shipped();
    let curves = &pack.studies["longer-or-shorter"].measured[0].curves;
    let [strength, extraction] = curves.as_slice() else { panic!("two curves") };
    for ((drink_g, tds), (same_g, extracted)) in strength.points.iter().zip(&extraction.points) {
        assert_eq!(drink_g, same_g);
        let tolerance = 0.05 + 100.0 * 0.05 * tds / 100.0 / 18.5 + 0.05 * drink_g / 18.5;
        assert!((tds * drink_g / 18.5 - extracted).abs() < tolerance, "{drink_g}");
        assert!(*tds <= STRENGTHS[2].0, "no cup is stronger than its strongest part");
    }
}

/// A curve that goes down and up again is said as one, with its lowest point; and its numbers carry the person's own mark.
/// The shipped coffee "paper-mill" runs fastest near 4 bar: below, little pushes; above, the bed packs.
#[test]
fn a_valley_is_no_rise_and_no_fall() {
    use thirdpull::practice::study::curve_sentence;
    use thirdpull::units::{UnitPreferences, put};
    let pack = Pack::shipped();
    let study = &pack.studies["pressure-and-flow"];
    let bench = study.bench(&pack.coffees["paper-mill"], &pack.stations[&study.station]);
    let swept = sweep(&bench, Handle::Pressure, (3.0, 12.0), 19, &Palate::default()).expect("within range");
    let curve = swept.curve(Watch::Time);
    let lowest = curve.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)).expect("points");
    assert!(lowest.0 > 3.0 && lowest.0 < 6.0 && curve[0].1 > lowest.1 + 2.0, "{curve:?}");
    let told = curve_sentence(&swept, Watch::Time).expect("a sentence");
    let shown = |value: f64| format!("{value:.1} s");
    assert!(told.contains(&format!("down to {} at ", shown(lowest.1))), "{told}");
    assert!(told.contains(&format!("up to {}", shown(curve[curve.len() - 1].1))), "{told}");
    put(UnitPreferences { decimal_comma: true, ..UnitPreferences::default() });
    let comma = curve_sentence(&swept, Watch::Time).expect("a sentence");
    put(UnitPreferences::default());
    assert_eq!(comma.matches(',').count(), told.matches('.').count() - 1, "{comma}");
    assert!(comma.contains(&shown(lowest.1).replace('.', ",")), "{comma}");
}

/// A cup on the scale and seconds before the pump say nothing of the coffee: the fit is the same without them.
#[test]
fn neither_the_cup_nor_the_wait_before_the_pump_changes_a_fit() {
    let pack = Pack::shipped();
    let truth = Bench { coffee: pack.coffees["two-winters"].clone(), ..Bench::default() };
    let plain = recorded(&truth);
    let end_s = plain.time_s().last().copied().expect("samples");
    let with = |lead_s: f64, cup_g: f64, pressure: bool| {
        let lead: Vec<f64> = (0..(lead_s * 5.0) as usize).map(|k| k as f64 * 0.2).collect();
        let before = vec![0.0; lead.len()];
        let after = plain.time_s().iter().map(|t| t + lead_s);
        let time: Vec<f64> = lead.iter().copied().chain(after).collect();
        let channel = |which: Channel, add: f64| {
            let own = plain.get(which).expect("recorded").iter();
            (which, before.iter().chain(own).map(|v| v + add).collect::<Vec<f64>>())
        };
        let mut channels = vec![channel(Channel::CupMass, cup_g)];
        if pressure {
            channels.push(channel(Channel::Pressure, 0.0));
        }
        Trace::new(time, channels).expect("sound")
    };
    let fitted = |trace: &Trace| fit_to(&Bench::default(), trace, |_| true).expect("a fit");
    for pressure in [true, false] {
        let alone = fitted(&with(0.0, 0.0, pressure));
        assert!((alone.pull.trace.end_s - end_s).abs() < 2.5, "{} {end_s}", alone.pull.trace.end_s);
        for (lead_s, cup_g) in [(0.0, 3.0), (0.0, 200.0), (20.0, 0.0), (20.0, 200.0)] {
            let other = fitted(&with(lead_s, cup_g, pressure));
            let (a, b) = (&alone.pull, &other.pull);
            let off_s = b.trace.end_s - a.trace.end_s;
            let off_pct = b.cup.extraction_pct - a.cup.extraction_pct;
            println!("pressure {pressure}, lead {lead_s}, cup {cup_g}: {off_s:+.2} s {off_pct:+.3} %");
            assert!(
                off_s.abs() < 0.5 && off_pct.abs() < 0.2,
                "{lead_s} s, {cup_g} g: {off_s} s, {off_pct} %"
            );
            assert!(other.rms_g < 1.0, "{}", other.sentence());
        }
    }
}
