//! How fast traces are read and thinned, as ratios against a reference in the same run, and how well events, resistance
//! and channels are found on simulated pulls of known truth.
//!
//! `cargo bench --no-default-features --bench trace` times; `… -- accuracy 200` prints the accuracies on 200 pulls a
//! rig, `… -- misses 200` lists every channel that was not found.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "../core/trace_truth.rs"]
mod trace_truth;

use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

use thirdpull::domain::{Channel, Trace};
use thirdpull::exchange::table::Table;
use thirdpull::trace::{Alignment, Instruments, Overlay, OverlayPull, Setup, View, find_events, measure};

use thirdpull::units::UnitPreferences;
use thirdpull::workbench::view::compare::{Align, Compared, Wish, compare_at, zeros};
use thirdpull::workbench::view::expected::{About, read};

use trace_truth::{Errors, Rig, made};

/// The least time of several runs, milliseconds: the machine's other work only ever adds.
fn least_ms(runs: usize, mut work: impl FnMut()) -> f64 {
    (0..runs)
        .map(|_| {
            let began = Instant::now();
            work();
            began.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min)
}

fn wave(i: usize) -> [f64; 4] {
    let t = i as f64 * 0.01;
    [t, 9.0 + (t * 3.0).sin() * 0.2, 1.8 + (t * 5.0).sin() * 0.1, t * 0.05]
}

fn parsing() {
    // An hour at 100 Hz.
    let mut text = String::from("time (s),pressure (bar),flow (g/s),cup mass (g)\n");
    let mut log = String::new();
    for i in 0..360_000 {
        let [t, p, q, m] = wave(i);
        writeln!(text, "{t:.2},{p:.4},{q:.4},{m:.3}").unwrap();
        if i < 90_000 {
            writeln!(log, "{{\"t\":{},\"p\":{p:.4},\"q\":{q:.4},\"m\":{m:.3}}}", i * 10).unwrap();
        }
    }
    let mb = |bytes: usize, ms: f64| bytes as f64 / 1e6 / (ms / 1e3);
    let ours = least_ms(7, || {
        black_box(Table::parse(text.as_bytes()).unwrap());
    });
    let plain = least_ms(7, || {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut record = csv::ByteRecord::new();
        let mut fields = 0;
        while reader.read_byte_record(&mut record).unwrap() {
            fields += record.len();
        }
        black_box(fields);
    });
    let with_numbers = least_ms(5, || {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut record = csv::StringRecord::new();
        let mut sum = 0.0;
        while reader.read_record(&mut record).unwrap() {
            for field in &record {
                sum += field.parse::<f64>().unwrap();
            }
        }
        black_box(sum);
    });
    let json = least_ms(5, || {
        black_box(Table::parse(log.as_bytes()).unwrap());
    });
    let table = Table::parse(text.as_bytes()).unwrap();
    let import = least_ms(5, || {
        black_box(table.import_guessed().unwrap());
    });
    println!(
        "parse {:.1} MB of CSV to numbers: {:.0} MB/s ({ours:.1} ms)",
        text.len() as f64 / 1e6,
        mb(text.len(), ours)
    );
    println!("  csv crate, fields only: {:.0} MB/s, ratio {:.2}", mb(text.len(), plain), plain / ours);
    println!(
        "  csv crate and std parse: {:.0} MB/s, ratio {:.2}",
        mb(text.len(), with_numbers),
        with_numbers / ours
    );
    println!("parse {:.1} MB of JSON lines: {:.0} MB/s", log.len() as f64 / 1e6, mb(log.len(), json));
    println!("guess and import an hour at 100 Hz: {import:.1} ms");
}

fn drawing() {
    let pulls: Vec<Trace> = (0..200)
        .map(|k| {
            let shift = k as f64 * 0.1;
            let rows: Vec<[f64; 4]> = (0..3000).map(|i| wave(i * 2 + k)).collect();
            let time = (0..3000).map(|i| i as f64 * 0.02).collect();
            let column = |n: usize| rows.iter().map(|r| r[n] + shift).collect::<Vec<f64>>();
            Trace::new(time, [(Channel::Pressure, column(1)), (Channel::CupMass, column(3))]).unwrap()
        })
        .collect();
    let events: Vec<_> = pulls.iter().map(find_events).collect();
    let inputs: Vec<OverlayPull<'_>> = pulls
        .iter()
        .zip(&events)
        .enumerate()
        .map(|(key, (trace, events))| OverlayPull { key, trace, events })
        .collect();
    let overlay = Overlay::new(&inputs, Alignment::AsRecorded);
    let view = View { from_s: 0.0, to_s: 60.0, width_px: 800, height_px: 160 };
    let ms = least_ms(9, || {
        black_box(overlay.strips(view, &[0, 1, 2]));
    });
    let points = |exact: &[usize]| -> usize {
        let strips = overlay.strips(view, exact);
        strips.iter().flat_map(|s| &s.lines).flat_map(|l| &l.segments).map(Vec::len).sum()
    };
    let copy = least_ms(9, || {
        black_box(overlay.full().to_vec());
    });
    println!(
        "thin 200 pulls of 3000 samples, two strips (1.2 M points): {ms:.1} ms, {} points left; copying them all {copy:.1} ms, ratio {:.2}",
        points(&[0, 1, 2]),
        ms / copy
    );
    comparing(&pulls, &events);
    let one = least_ms(9, || {
        black_box(Overlay::new(&inputs[..1], Alignment::AsRecorded));
        black_box(find_events(&pulls[0]));
    });
    println!("one pull of 3000 samples: events and overlay in {one:.2} ms");
}

/// What the window asks for when pulls are compared: strips of all of them, whole and zoomed, and the points that are
/// then drawn each frame.
fn comparing(pulls: &[Trace], events: &[thirdpull::trace::Events]) {
    let names: Vec<String> = (0..pulls.len()).map(|n| format!("pull {n}")).collect();
    let compared: Vec<Compared<'_>> = pulls
        .iter()
        .zip(events)
        .zip(&names)
        .map(|((trace, events), name)| Compared { name, label: "", trace, events })
        .collect();
    let units = UnitPreferences::default();
    for (what, shown, group) in
        [("whole", None, false), ("zoomed to 6 s", Some((20.0, 26.0)), false), ("with median", None, true)]
    {
        let wish = Wish { align: Align::AsRecorded, shown, group, ..Wish::default() };
        let zeros = zeros(&compared, &wish);
        let ms = least_ms(5, || {
            black_box(compare_at(&compared, &zeros, &wish, None, &units));
        });
        let view = compare_at(&compared, &zeros, &wish, None, &units);
        let points: usize =
            view.strips.strips.iter().flat_map(|s| &s.lines).flat_map(|l| &l.runs).map(Vec::len).sum();
        println!("compare {} pulls, {what}: {ms:.1} ms once, {points} points to draw a frame", pulls.len());
    }
}

/// The reading of one pull against the puck model.
fn reading() {
    let about = About { dose_g: 18.0, basket_mm: 58.0, target_c: Some(93.0), pressure_bar: 9.0 };
    let (trace, _) = made(3, 1, Rig::PressureAndMass, false);
    let ms = least_ms(5, || {
        black_box(read(&trace, &about));
    });
    println!("read one pull against the model: {ms:.1} ms");
}

fn accuracy(pulls: u64) {
    for rig in [Rig::PressureAndMass, Rig::All, Rig::MassOnly, Rig::PressureOnly] {
        let mut errors = ["first drip", "pump on", "pump off"].map(|n| Errors::new(&format!("{rig:?} {n}")));
        let (mut within, mut points) = (0usize, 0usize);
        let (mut found, mut channelled, mut alarms, mut plain) = (0, 0, 0, 0);
        for number in 0..pulls {
            for open in [false, true] {
                let (trace, truth) = made(1000 + u64::from(open), number, rig, open);
                let events = find_events(&trace);
                let setup = Setup {
                    density_g_ml: thirdpull::puck::water::density_kg_m3(truth.water_c, 1.0) / 1000.0,
                    ..Setup::default()
                };
                let read = measure(&trace, &events, &setup, &Instruments::default());
                if let Some(at) = truth.channel_s {
                    channelled += 1;
                    found += usize::from(read.channels.iter().any(|sign| (sign.time_s - at).abs() < 2.0));
                    continue;
                }
                plain += 1;
                alarms += usize::from(!read.channels.is_empty());
                let [drip, on, off] = &mut errors;
                if rig != Rig::PressureOnly {
                    drip.add(events.first_drip.map(|e| e.time_s), truth.first_drip_s.unwrap());
                }
                if rig != Rig::MassOnly {
                    on.add(events.pump_on.map(|e| e.time_s), truth.pump_on_s);
                }
                off.add(events.pump_off.map(|e| e.time_s), truth.pump_off_s);
                let Some(curve) = read.resistance else { continue };
                for (t, r) in curve.time_s.iter().zip(&curve.bar_s_ml) {
                    if *t >= truth.first_drip_s.unwrap() + 3.0 {
                        let of = |series: &[f64]| truth.pull.sample(series, t - truth.pump_on_s);
                        let want = of(&truth.pull.bed_bar) * setup.density_g_ml / of(&truth.pull.flow_g_s);
                        points += 1;
                        within += usize::from((r / want - 1.0).abs() < 0.05);
                    }
                }
            }
        }
        for (line, bound) in errors.iter().zip([0.3, 0.15, 0.3]) {
            println!("{}", line.line(bound));
        }
        println!(
            "{rig:?}: {found} of {channelled} channels found, {alarms} false alarms in {plain} even pulls"
        );
        if points > 0 {
            println!(
                "{rig:?}: {:.1} % of {points} resistance values within 5 %",
                100.0 * within as f64 / points as f64
            );
        }
    }
}

/// Every channel that was missed and every false alarm, on other pulls than the accuracies are told from: for tuning.
fn misses(pulls: u64) {
    for rig in [Rig::PressureAndMass, Rig::MassOnly] {
        for number in 0..pulls {
            for open in [false, true] {
                let (trace, truth) = made(5000 + u64::from(open), number, rig, open);
                let events = find_events(&trace);
                let read = measure(&trace, &events, &Setup::default(), &Instruments::default());
                let flow = |t: f64| truth.pull.sample(&truth.pull.flow_g_s, t - truth.pump_on_s);
                let signs: Vec<String> = read
                    .channels
                    .iter()
                    .map(|c| format!("{:.1} s to {:.2} ({:.1} sd)", c.time_s, c.left, c.strength))
                    .collect();
                match truth.channel_s {
                    None if !signs.is_empty() => println!("{rig:?} {number}: false alarm {signs:?}"),
                    Some(at) if !read.channels.iter().any(|sign| (sign.time_s - at).abs() < 2.0) => println!(
                        "{rig:?} {number}: missed at {at:.1} s, {:.1} s after the drip, {:.1} s before the end; flow {:.2} before, {:.2} after 1 s, {:.2} after 2 s; seen {signs:?}",
                        at - truth.first_drip_s.unwrap_or(0.0),
                        truth.pump_off_s - at,
                        flow(at - 0.1),
                        flow(at + 1.0),
                        flow(at + 2.0),
                    ),
                    _ => {}
                }
            }
        }
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    if words.first().is_some_and(|w| w == "accuracy") {
        accuracy(words.get(1).and_then(|n| n.parse().ok()).unwrap_or(200));
    } else if words.first().is_some_and(|w| w == "misses") {
        misses(words.get(1).and_then(|n| n.parse().ok()).unwrap_or(200));
    } else {
        parsing();
        drawing();
        reading();
    }
}
