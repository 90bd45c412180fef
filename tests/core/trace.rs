//! Reading traces: events, overlay, bands.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use thirdpull::domain::{Channel, Trace};
use thirdpull::exchange::table::Table;
use thirdpull::trace::{Alignment, Overlay, OverlayPull, View, band, derived_flow, find_events, value_at};

use crate::open_data;

/// A made-up pull: pump at 2 s, pressure up in a second, first drip at 8.3 s, flow 1.8 g/s, pump off at 30 s.
fn made_up(shift_s: f64, rate: f64, noise: impl Fn(usize) -> f64) -> Trace {
    let time: Vec<f64> = (0..(36.0 * rate) as usize).map(|i| i as f64 / rate).collect();
    let pressure: Vec<f64> = time
        .iter()
        .enumerate()
        .map(|(i, t)| {
            let t = t - shift_s;
            let p = if t < 2.0 {
                0.0
            } else if t < 30.0 {
                9.0 * ((t - 2.0) / 1.0).min(1.0)
            } else {
                9.0 * (-(t - 30.0) / 0.3).exp()
            };
            p + 0.3 * noise(i)
        })
        .collect();
    let mass: Vec<f64> = time
        .iter()
        .enumerate()
        .map(|(i, t)| ((t - shift_s).min(30.5) - 8.3).max(0.0) * 1.8 + noise(i + 7919))
        .collect();
    Trace::new(time, [(Channel::Pressure, pressure), (Channel::CupMass, mass)]).unwrap()
}

fn ripple(i: usize) -> f64 {
    // Not random, but without a pattern a fit could use: ±0.05.
    ((i as f64 * 12.9898).sin() * 43758.5453).fract() * 0.1
}

#[test]
fn events_of_a_plain_pull_are_where_they_were_put() {
    for rate in [10.0, 50.0] {
        let events = find_events(&made_up(0.0, rate, ripple));
        let near = |event: Option<thirdpull::trace::Event>, want: f64, within: f64| {
            let event = event.unwrap();
            assert!((event.time_s - want).abs() < within, "{event:?} against {want}");
            assert!(event.confidence > 0.7);
        };
        near(events.pump_on, 2.0, 0.15);
        near(events.first_drip, 8.3, 0.3);
        near(events.pump_off, 30.0, 0.3);
        near(events.end, 30.5, 1.0);
    }
}

#[test]
fn traces_without_a_rise_or_without_anything_have_no_false_events() {
    let time: Vec<f64> = (0..300).map(|i| f64::from(i) * 0.1).collect();
    let flat = Trace::new(time.clone(), [(Channel::CupMass, (0..300).map(ripple).collect())]).unwrap();
    let events = find_events(&flat);
    assert_eq!((events.first_drip, events.pump_on, events.pump_off), (None, None, None));
    let choked = Trace::new(
        time.clone(),
        [(Channel::Pressure, time.iter().map(|t| if *t > 1.0 { 9.0 } else { 0.0 }).collect())],
    )
    .unwrap();
    let events = find_events(&choked);
    assert!(events.first_drip.is_none() && (events.pump_on.unwrap().time_s - 1.0).abs() < 0.15);
    let nothing = Trace::new(time.clone(), [(Channel::Flow, vec![f64::NAN; 300])]).unwrap();
    assert_eq!(find_events(&nothing), thirdpull::trace::Events::default());
}

/// Marked by eye from the printed numbers of the two logs: the line pressure leaves its resting level (mains, 2.4 and
/// 3.0 bar) for the pump's; the cup's mass leaves its flat stretch.
#[test]
fn real_logs_have_their_events_where_a_person_marks_them() {
    let Some(files) = open_data::files("raw-logs", "jsonl") else { return };
    for path in files {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let (pump, drip) = match name.as_str() {
            "5-2.jsonl" => ((1.9, 3.9), (13.0, 15.3)),
            "9-3.jsonl" => ((3.8, 5.8), (19.5, 22.6)),
            _ => continue,
        };
        let trace = Table::open(&path).unwrap().import_guessed().unwrap().trace;
        let events = find_events(&trace);
        let on = events.pump_on.unwrap();
        let first = events.first_drip.unwrap();
        println!(
            "{name}: pump on {:.2} ± {:.2}, first drip {:.2} ± {:.2}, off {:?}",
            on.time_s, on.sd_s, first.time_s, first.sd_s, events.pump_off
        );
        assert!(on.time_s > pump.0 && on.time_s < pump.1, "{name}: {on:?}");
        assert!(first.time_s > drip.0 && first.time_s < drip.1, "{name}: {first:?}");
        assert!(events.pump_off.is_none(), "{name} ends with the pump on");
    }
}

#[test]
fn pulls_align_by_event_and_read_the_same_under_the_cursor() {
    let (a, b) = (made_up(0.0, 50.0, |_| 0.0), made_up(3.5, 50.0, |_| 0.0));
    let (ea, eb) = (find_events(&a), find_events(&b));
    let pulls =
        [OverlayPull { key: 11, trace: &a, events: &ea }, OverlayPull { key: 22, trace: &b, events: &eb }];
    for alignment in [Alignment::PumpOn, Alignment::FirstDrip, Alignment::CupMass(20.0)] {
        let overlay = Overlay::new(&pulls, alignment);
        let shift = overlay.zero_s(22).unwrap() - overlay.zero_s(11).unwrap();
        assert!((shift - 3.5).abs() < 0.03, "{alignment:?}: {shift}");
        let read = overlay.cursor(5.0);
        for channel in [Channel::Pressure, Channel::CupMass] {
            let (x, y) = (read[0].get(channel).unwrap(), read[1].get(channel).unwrap());
            assert!((x - y).abs() < 0.1, "{alignment:?} {channel:?}: {x} and {y}");
        }
        assert_eq!(read[0].get(Channel::Temperature), None);
        assert_eq!(overlay.cursor(1e6)[0].get(Channel::CupMass), None);
    }
    let never = Overlay::new(&pulls, Alignment::CupMass(500.0));
    assert_eq!(never.not_aligned(), [11, 22]);
    assert!(never.full().is_empty());
}

#[test]
fn strips_are_finite_cut_at_gaps_and_keep_extremes() {
    let time: Vec<f64> = (0..3000).map(|i| f64::from(i) * 0.02 + if i > 1500 { 4.0 } else { 0.0 }).collect();
    let mut pressure: Vec<f64> = (0..3000).map(|i| 9.0 + ripple(i)).collect();
    pressure[700] = 12.5;
    pressure[100] = f64::NAN;
    let trace = Trace::new(time, [(Channel::Pressure, pressure)]).unwrap();
    let events = find_events(&trace);
    let overlay =
        Overlay::new(&[OverlayPull { key: 0, trace: &trace, events: &events }], Alignment::AsRecorded);
    let view = View { from_s: 0.0, to_s: 64.0, width_px: 300, height_px: 120 };
    for exact in [&[][..], &[0]] {
        let strips = overlay.strips(view, exact);
        assert_eq!(strips.len(), 1);
        let line = &strips[0].lines[0];
        assert_eq!(line.segments.len(), 2);
        assert!(line.segments.iter().flatten().flatten().all(|v| v.is_finite()));
        assert!(line.segments.iter().flatten().any(|p| p[1] == 12.5));
        assert!(line.segments.iter().map(Vec::len).sum::<usize>() < 1300);
    }
    assert_eq!(value_at(&trace, Channel::Pressure, 32.0), None, "inside the gap");
    assert!(value_at(&trace, Channel::Pressure, 2.0).is_some(), "over one missing sample");
}

#[test]
fn the_band_of_a_group_holds_its_middle() {
    let traces: Vec<Trace> = (0..9)
        .map(|k| {
            let time: Vec<f64> = (0..200).map(|i| f64::from(i) * 0.1 + f64::from(k) * 0.013).collect();
            let flow = time.iter().map(|t| t * 0.1 + f64::from(k)).collect();
            Trace::new(time, [(Channel::Flow, flow)]).unwrap()
        })
        .collect();
    let group: Vec<(&Trace, f64)> = traces.iter().map(|t| (t, 0.0)).collect();
    let got = band(&group, Channel::Flow, (0.0, 30.0, 0.5), (0.25, 0.75));
    assert!(got.time_s.last().unwrap() < &20.1, "no band where no pull is");
    for (i, t) in got.time_s.iter().enumerate().skip(1) {
        assert!((got.median[i] - (t * 0.1 + 4.0)).abs() < 1e-9);
        assert!((got.low[i] - (t * 0.1 + 2.0)).abs() < 1e-9 && (got.high[i] - (t * 0.1 + 6.0)).abs() < 1e-9);
    }
}

/// The authors' own smoothed flow stands in the files beside the mass it was made from.
#[test]
fn derived_flow_agrees_with_the_flow_published_beside_the_mass() {
    let Some(files) = open_data::files("shots", "csv") else { return };
    for path in files {
        let trace = Table::open(&path).unwrap().import_guessed().unwrap().trace;
        let flow = derived_flow(&trace).unwrap();
        let published = trace.get(Channel::Flow).unwrap();
        let inner = 20..trace.len() - 20;
        let n = inner.len() as f64;
        let rms = (inner.map(|i| (flow[i] - published[i]).powi(2)).sum::<f64>() / n).sqrt();
        println!("{}: rms difference {rms:.3} g/s", path.display());
        assert!(rms < 0.15, "{}: {rms}", path.display());
    }
}
