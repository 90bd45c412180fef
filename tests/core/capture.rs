//! Live capture: lines, samples, start and stop, and a TCP instrument that stalls, splits lines and breaks off.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::Write;
use std::net::TcpListener;
use std::time::{Duration, Instant};

use thirdpull::capture::{
    Event, LineReader, LineSplitter, RawLine, Reading, Recorder, RecorderRules, RecorderState, Sample,
    Source, replay, replay_lines, start,
};
use thirdpull::domain::{Channel, Trace};
use thirdpull::exchange::table::Table;

use crate::open_data;
use crate::trace_truth::{Rig, made};

#[test]
fn lines_come_whole_however_they_are_split() {
    let text = "a,b\r\n1,2\n\n3,4\r5,6\nlast";
    for size in 1..text.len() {
        let mut splitter = LineSplitter::default();
        let mut lines = Vec::new();
        for chunk in text.as_bytes().chunks(size) {
            splitter.push(chunk, |line| lines.push(line));
        }
        splitter.finish(|line| lines.push(line));
        let want: Vec<RawLine> =
            ["a,b", "1,2", "3,4", "5,6", "last"].map(|l| RawLine::Text(l.into())).to_vec();
        assert_eq!(lines, want, "chunks of {size}");
    }
    let mut splitter = LineSplitter::default();
    let mut lines = Vec::new();
    for _ in 0..3000 {
        splitter.push(&[b'x'; 1000], |line| lines.push(line));
    }
    splitter.push(b"\n1,2\n", |line| lines.push(line));
    assert_eq!(lines, [RawLine::TooLong, RawLine::Text("1,2".into())]);
}

#[test]
fn headers_rows_and_objects_become_samples_in_our_units() {
    let mut reader = LineReader::new();
    assert!(matches!(reader.read("12,3", 0.0), Reading::Unreadable(_)), "no header yet");
    assert_eq!(reader.read("# hello", 0.0), Reading::Comment);
    assert!(matches!(reader.read("time_ms;pressure_kpa;cup mass (g)", 0.0), Reading::Header(_)));
    let Reading::Sample(s) = reader.read("1500;900,5;12,25", 0.0) else { panic!() };
    assert_eq!((s.time_s, s.get(Channel::CupMass), s.get(Channel::Flow)), (1.5, Some(12.25), None));
    assert!((s.get(Channel::Pressure).unwrap() - 9.005).abs() < 1e-12);
    let Reading::Sample(s) = reader.read("1600;;nan", 0.0) else { panic!() };
    assert_eq!((s.get(Channel::Pressure), s.get(Channel::CupMass)), (None, None));
    for bad in ["1600;1;1", "1700;1", "1800;x;1", "{\"a\":", "1900;1;2;3"] {
        assert!(matches!(reader.read(bad, 0.0), Reading::Unreadable(_)), "{bad}");
    }
    let mut reader = LineReader::new();
    let Reading::Sample(s) =
        reader.read("{\"scale\":{\"weight_g\":4.5},\"pressure_bar\":8.5,\"on\":true}", 7.25)
    else {
        panic!()
    };
    assert_eq!((s.time_s, s.get(Channel::CupMass), s.get(Channel::Pressure)), (7.25, Some(4.5), Some(8.5)));
}

fn sample(reader: &mut LineReader, line: &str) -> Sample {
    match reader.read(line, 0.0) {
        Reading::Sample(sample) => sample,
        other => panic!("{line}: {other:?}"),
    }
}

#[test]
fn keys_of_later_objects_count_with_their_own_units() {
    let mut reader = LineReader::new();
    assert!(matches!(reader.read("{\"time_ms\":100}", 0.0), Reading::Unreadable(_)), "no quantity yet");
    let first = sample(&mut reader, "{\"time_ms\":200,\"pressure_bar\":9}");
    assert_eq!((first.time_s, first.get(Channel::Pressure)), (0.2, Some(9.0)));
    let later = sample(&mut reader, "{\"time_ms\":300,\"pressure_psi\":130.5,\"scale\":{\"weight_g\":4.5}}");
    assert!((later.get(Channel::Pressure).unwrap() - 8.9976).abs() < 1e-3, "{later:?}");
    assert_eq!(later.get(Channel::CupMass), Some(4.5));
    // Keys apart, line by line.
    let mut reader = LineReader::new();
    assert_eq!(sample(&mut reader, "{\"weight_g\":1}").get(Channel::CupMass), Some(1.0));
    let next = reader.read("{\"time_s\":1,\"flow_ml_s\":2}", 5.0);
    let Reading::Sample(next) = next else { panic!("{next:?}") };
    assert_eq!((next.time_s, next.get(Channel::Flow)), (1.0, Some(2.0)));
}

#[test]
fn a_mark_of_comments_within_a_text_cuts_nothing() {
    let mut reader = LineReader::new();
    let one = sample(&mut reader, "{\"note\":\"bag # 3\",\"time_s\":1,\"pressure_bar\":9}");
    assert_eq!((one.time_s, one.get(Channel::Pressure)), (1.0, Some(9.0)));
    let two = sample(&mut reader, "{\"time_s\":2,\"pressure_bar\":8} # steady");
    assert_eq!(two.get(Channel::Pressure), Some(8.0));
    assert!(matches!(reader.read("{\"time_s\":3} {\"time_s\":4}", 0.0), Reading::Unreadable(_)));
    assert_eq!(reader.read("# {\"time_s\":3}", 0.0), Reading::Comment);
}

#[test]
fn live_marks_that_may_part_thousands_are_not_taken() {
    let mut reader = LineReader::new();
    assert!(matches!(reader.read("time_ms;pressure_mbar", 0.0), Reading::Header(_)));
    assert_eq!(sample(&mut reader, "800;800").time_s, 0.8);
    assert_eq!(sample(&mut reader, "900;900").time_s, 0.9);
    for line in ["1.000;950", "1.100;950", "960;1.000"] {
        let Reading::Unreadable(why) = reader.read(line, 0.0) else { panic!("{line} was taken") };
        assert!(why.contains("thousands"), "{line}: {why}");
    }
    let mut reader = LineReader::new();
    assert!(matches!(reader.read("time_ms;pressure_psi", 0.0), Reading::Header(_)));
    for (line, psi) in [("0.000;130", 130.0), ("100.125;129.875", 129.875), ("200;131", 131.0)] {
        let got = sample(&mut reader, line).get(Channel::Pressure).unwrap();
        assert!((got - psi * 0.068_947_572_931_68).abs() < 1e-9, "{line}: {got}");
    }
}

fn record(trace: &Trace) -> Vec<Trace> {
    let mut reader = LineReader::new();
    let mut recorder = Recorder::new(RecorderRules::default());
    let mut pulls = Vec::new();
    for (_, line) in replay_lines(trace) {
        if let Reading::Sample(sample) = reader.read(&line, 0.0)
            && recorder.push(sample) == RecorderState::Done
        {
            pulls.push(recorder.take().unwrap());
        }
    }
    recorder.stop();
    if recorder.state() == RecorderState::Done {
        pulls.push(recorder.take().unwrap());
    }
    pulls
}

#[test]
fn start_and_stop_are_found_from_the_signal() {
    for rig in [Rig::PressureAndMass, Rig::All, Rig::MassOnly, Rig::PressureOnly] {
        for number in 0..5 {
            let (trace, truth) = made(5, number, rig, false);
            // A quiet minute before, so that a start must really be found.
            let shift = 60.0;
            let channels = Channel::ALL.into_iter().filter_map(|c| {
                let values = trace.get(c)?;
                Some((
                    c,
                    std::iter::repeat_n(values[0], 300).chain(values.iter().copied()).collect::<Vec<f64>>(),
                ))
            });
            let first = trace.time_s()[0];
            let time = (0..300)
                .map(|i| f64::from(i) * 0.2)
                .chain(trace.time_s().iter().map(|t| t - first + shift))
                .collect();
            let long = Trace::new(time, channels).unwrap();
            let pulls = record(&long);
            assert_eq!(pulls.len(), 1, "{rig:?} {number}");
            let got = pulls[0].duration_s();
            let run = truth.pump_off_s
                - if rig == Rig::MassOnly { truth.first_drip_s.unwrap() } else { truth.pump_on_s };
            assert!(got > run - 0.5 && got < run + 12.0, "{rig:?} {number}: {got} of {run}");
        }
    }
}

#[test]
fn a_cup_put_down_is_no_pull() {
    let mut recorder = Recorder::new(RecorderRules::default());
    for i in 0..400 {
        let mass = if i < 100 { 0.0 } else { 215.0 };
        let state = recorder.push(Sample::new(f64::from(i) * 0.1, [None, None, Some(mass), None]));
        assert_eq!(state, RecorderState::Waiting, "{i}");
    }
    assert!(recorder.samples().len() < 60, "only the last seconds are kept");
}

#[test]
fn raw_logs_play_as_a_live_instrument() {
    let Some(files) = open_data::files("raw-logs", "jsonl") else { return };
    for path in files {
        let trace = Table::open(&path).unwrap().import_guessed().unwrap().trace;
        let pulls = record(&trace);
        assert_eq!(pulls.len(), 1);
        assert!(pulls[0].duration_s() > 110.0, "{}", pulls[0].duration_s());
    }
}

#[test]
fn replay_keeps_time_and_loses_nothing() {
    let (trace, _) = made(6, 0, Rig::All, false);
    let mut text = Vec::new();
    let mut waited = 0.0;
    replay(&trace, 4.0, &mut text, |pause| waited += pause.as_secs_f64()).unwrap();
    assert!((waited - trace.duration_s() / 4.0).abs() < 1e-6, "{waited}");
    assert_eq!(Table::parse(&text).unwrap().import_guessed().unwrap().trace, trace);
}

/// 8 000 lines with numbers of their own, in chunks that split lines anywhere, with stalls, and with the connection
/// broken off in mid-line and taken up again: every whole line arrives once and in order.
#[test]
fn a_tcp_instrument_may_stall_split_and_break_off() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let server = std::thread::spawn(move || {
        let mut next = 0u32;
        for part in 0..2 {
            let (mut stream, _) = listener.accept().unwrap();
            let mut text = String::from("time_s,cup_mass_g\n");
            for _ in 0..4000 {
                text += &format!("{:.2},{next}\n", f64::from(next) * 0.01);
                next += 1;
            }
            if part == 0 {
                text += "40.00,99";
            }
            for (at, chunk) in text.as_bytes().chunks(701).enumerate() {
                stream.write_all(chunk).unwrap();
                if at % 40 == 7 {
                    std::thread::sleep(Duration::from_millis(250));
                }
            }
        }
    });
    let began = Instant::now();
    let live = start(Source::Tcp(address), None, move || began.elapsed().as_secs_f64()).unwrap();
    let (mut got, mut connected) = (Vec::new(), 0);
    while got.len() < 8000 && began.elapsed() < Duration::from_secs(60) {
        match live.next_within(Duration::from_millis(500)) {
            Some(Event::Sample(sample)) => got.push(sample.get(Channel::CupMass).unwrap()),
            Some(Event::Connected) => connected += 1,
            Some(Event::Unreadable(why)) => panic!("{why}"),
            _ => {}
        }
    }
    live.stop();
    server.join().unwrap();
    assert_eq!(connected, 2);
    let want: Vec<f64> = (0..8000).map(f64::from).collect();
    assert!(got == want, "{} samples", got.len());
}

#[test]
fn a_growing_file_is_followed_and_begun_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("live.csv");
    let began = Instant::now();
    let live = start(Source::File { path: path.clone(), from_end: false }, None, move || {
        began.elapsed().as_secs_f64()
    })
    .unwrap();
    let wait_for = |want: f64| {
        while began.elapsed() < Duration::from_secs(30) {
            if let Some(Event::Sample(s)) = live.next_within(Duration::from_millis(100))
                && s.get(Channel::Pressure) == Some(want)
            {
                return;
            }
        }
        panic!("{want} never came");
    };
    assert!(
        matches!(live.next_within(Duration::from_secs(5)), Some(Event::Waiting(_))),
        "the file is not there yet"
    );
    let mut file = std::fs::File::create(&path).unwrap();
    file.write_all(b"time_s,pressure_bar\n0,1.5\n0.1,2").unwrap();
    wait_for(1.5);
    file.write_all(b".5\n").unwrap();
    wait_for(2.5);
    drop(file);
    std::fs::write(&path, "time_s,pressure_bar\n0,7\n").unwrap();
    wait_for(7.0);
    // Another file put under the name at once, longer than the one that was read.
    let other = folder.path().join("other.csv");
    std::fs::write(&other, "time_s,pressure_bar\n0,3\n0.1,3\n0.2,3\n0.3,4.5\n").unwrap();
    std::fs::rename(&other, &path).unwrap();
    wait_for(3.0);
    wait_for(4.5);
    drop(live);
}

#[test]
fn a_long_log_is_cut_into_its_pulls() {
    let (mut time, mut pressure, mut mass) = (Vec::new(), Vec::new(), Vec::new());
    let mut clock = 0.0;
    for number in 0..6 {
        let (trace, _) = made(9, number, Rig::PressureAndMass, false);
        for _ in 0..400 {
            clock += 0.1;
            time.push(clock);
            pressure.push(0.0);
            mass.push(0.0);
        }
        let first = trace.time_s()[0];
        time.extend(trace.time_s().iter().map(|t| t - first + clock + 0.1));
        pressure.extend_from_slice(trace.get(Channel::Pressure).unwrap());
        mass.extend_from_slice(trace.get(Channel::CupMass).unwrap());
        clock = *time.last().unwrap();
    }
    let long = Trace::new(time, [(Channel::Pressure, pressure), (Channel::CupMass, mass)]).unwrap();
    let pulls = thirdpull::capture::cut_into_pulls(&long, &RecorderRules::default());
    assert_eq!(pulls.len(), 6);
    for (number, pull) in pulls.iter().enumerate() {
        let (_, truth) = made(9, number as u64, Rig::PressureAndMass, false);
        let events = thirdpull::trace::find_events(pull);
        let took = events.pull_time_s().unwrap();
        assert!((took - (truth.pump_off_s - truth.pump_on_s)).abs() < 0.4, "{number}: {took}");
    }
}

/// An hour at 100 Hz as fast as the line takes it: every reading arrives once and in order.
fn an_hour_arrives(live: &thirdpull::capture::Live, lines: u32) {
    let began = Instant::now();
    let mut next = 0u32;
    while next < lines && began.elapsed() < Duration::from_secs(120) {
        match live.next_within(Duration::from_millis(500)) {
            Some(Event::Sample(sample)) => {
                assert_eq!(sample.get(Channel::CupMass), Some(f64::from(next)));
                next += 1;
            }
            Some(Event::Unreadable(why)) => panic!("after {next}: {why}"),
            _ => {}
        }
    }
    assert_eq!(next, lines);
}

const HOUR: u32 = 360_000;

#[test]
fn an_hour_at_100_hz_over_tcp_loses_no_line() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let server = std::thread::spawn(move || {
        for part in 0..3 {
            let (mut stream, _) = listener.accept().unwrap();
            let mut text = String::from("time_s,cup_mass_g\n");
            for n in part * HOUR / 3..(part + 1) * HOUR / 3 {
                text += &format!("{:.2},{n}\n", f64::from(n) * 0.01);
            }
            text += "99999,1"; // Broken off in the middle of a line.
            for (at, chunk) in text.as_bytes().chunks(7001).enumerate() {
                stream.write_all(chunk).unwrap();
                if at % 100 == 50 {
                    std::thread::sleep(Duration::from_millis(300));
                }
            }
        }
    });
    let live = start(Source::Tcp(address), None, || 0.0).unwrap();
    an_hour_arrives(&live, HOUR);
    live.stop();
    server.join().unwrap();
}

/// A pair of pseudo-terminals stands for the serial cable.
#[cfg(target_os = "linux")]
#[test]
fn an_hour_at_100_hz_over_a_serial_line_loses_no_line() {
    use std::os::fd::AsRawFd as _;
    let (ours, theirs) = serial2::SerialPort::pair().unwrap();
    let name = |port: &serial2::SerialPort| {
        std::fs::read_link(format!("/proc/self/fd/{}", port.as_raw_fd())).unwrap()
    };
    let (instrument, path) =
        if name(&theirs).starts_with("/dev/pts/") { (ours, name(&theirs)) } else { (theirs, name(&ours)) };
    let live = start(Source::Serial { path, baud: 115_200 }, None, || 0.0).unwrap();
    // What is sent before the port is open would be lost, as with a real cable.
    while live.next_within(Duration::from_secs(5)) != Some(Event::Connected) {}
    let server = std::thread::spawn(move || {
        let mut text = String::from("time_s,cup_mass_g\n");
        for n in 0..HOUR {
            text += &format!("{:.2},{n}\n", f64::from(n) * 0.01);
        }
        for (at, chunk) in text.as_bytes().chunks(997).enumerate() {
            instrument.write_all(chunk).unwrap();
            if at % 1000 == 500 {
                std::thread::sleep(Duration::from_millis(100));
            }
        }
        instrument
    });
    an_hour_arrives(&live, HOUR);
    live.stop();
    let instrument = server.join().unwrap();
    drop(instrument);
}
/// A pull that wets at 3 bar for 4 s, pauses for 8 s at `pause_bar`, then runs at 9 bar; pump on 8 s after `from_s`, first
/// drip at 24 s, end at 50 s. Time, pressure (bar) and cup mass (g) of 62 s.
fn wetted_and_paused(from_s: f64, rate_hz: f64, pause_bar: f64) -> Vec<(f64, f64, f64)> {
    (0..(62.0 * rate_hz) as u32)
        .map(|i| {
            let t = f64::from(i) / rate_hz;
            let pressure = match t {
                t if t < 8.0 => 0.0,
                t if t < 12.0 => (3.0f64).min((t - 8.0) * 6.0),
                t if t < 20.0 => pause_bar + (3.0 - pause_bar) * (-(t - 12.0) / 0.4).exp(),
                t if t < 50.0 => (9.0f64).min(pause_bar + (t - 20.0) * 8.0),
                t => 9.0 * (-(t - 50.0) / 0.3).exp(),
            };
            (from_s + t, pressure, (t.min(50.5) - 24.0).max(0.0) * 1.5)
        })
        .collect()
}

fn of_rows(rows: &[(f64, f64, f64)]) -> Trace {
    let channels = [
        (Channel::Pressure, rows.iter().map(|row| row.1).collect()),
        (Channel::CupMass, rows.iter().map(|row| row.2).collect()),
    ];
    Trace::new(rows.iter().map(|row| row.0).collect(), channels).unwrap()
}

#[test]
fn a_pause_after_wetting_neither_hides_the_pump_nor_ends_the_pull() {
    for rate_hz in [10.0, 50.0] {
        for pause_bar in [0.0, 0.4, 1.0] {
            let one = wetted_and_paused(0.0, rate_hz, pause_bar);
            let on = thirdpull::trace::find_events(&of_rows(&one)).pump_on.unwrap();
            assert!((on.time_s - 8.0).abs() < 0.5 && on.is_seen(), "{rate_hz} Hz, {pause_bar} bar: {on:?}");
            let two = [one, wetted_and_paused(62.0, rate_hz, pause_bar)].concat();
            let pulls = thirdpull::capture::cut_into_pulls(&of_rows(&two), &RecorderRules::default());
            assert_eq!(pulls.len(), 2, "{rate_hz} Hz, {pause_bar} bar");
            for pull in &pulls {
                let took = thirdpull::trace::find_events(pull).pull_time_s().unwrap();
                assert!((took - 42.0).abs() < 0.6, "{rate_hz} Hz, {pause_bar} bar: {took}");
            }
        }
    }
}

/// Only a pull that can still be wetting is waited for: one that has run ends as soon as before, with a scale or without.
#[test]
fn a_pull_that_has_run_is_not_waited_for() {
    for scale in [true, false] {
        let mut recorder = Recorder::new(RecorderRules::default());
        let mut over_s = None;
        for i in 0..700 {
            let t = f64::from(i) * 0.1;
            let pressure = if (10.0..38.0).contains(&t) { 9.0 } else { 0.0 };
            let mass = scale.then_some((t.min(38.0) - 16.0).max(0.0) * 1.6);
            if recorder.push(Sample::new(t, [Some(pressure), None, mass, None])) == RecorderState::Done {
                over_s = over_s.or(Some(t));
            }
        }
        assert!(over_s.is_some_and(|t| t < 45.0), "{scale}: {over_s:?}");
    }
}
/// Pressure alone: three pulls of 28 s at 9 bar, 60 s apart, the first with pump on at 20 s.
fn three_by_pressure(rate_hz: f64, bar_s: f64) -> Trace {
    let time: Vec<f64> = (0..(190.0 * rate_hz) as u32).map(|i| f64::from(i) / rate_hz).collect();
    let pressure = time
        .iter()
        .map(|t| {
            let t = (t - 20.0).rem_euclid(60.0);
            if t < 28.0 { (t * bar_s).min(9.0) } else { 9.0 * (-(t - 28.0) / 0.3).exp() }
        })
        .zip(&time)
        .map(|(p, t)| if *t < 20.0 { 0.0 } else { p })
        .collect();
    Trace::new(time, [(Channel::Pressure, pressure)]).unwrap()
}

#[test]
fn a_pull_starts_at_the_same_moment_at_every_rate() {
    for bar_s in [2.0, 3.0] {
        let mut starts = Vec::new();
        for rate_hz in [10.0, 100.0, 200.0] {
            let trace = three_by_pressure(rate_hz, bar_s);
            let mut recorder = Recorder::new(RecorderRules::default());
            let begun =
                trace.time_s().iter().zip(trace.get(Channel::Pressure).unwrap()).find_map(|(t, p)| {
                    match recorder.push(Sample::new(*t, [Some(*p), None, None, None])) {
                        RecorderState::Running { since_s } => Some(since_s),
                        _ => None,
                    }
                });
            starts.push(begun.unwrap_or_else(|| panic!("{bar_s} bar/s at {rate_hz} Hz never starts")));
            let pulls = thirdpull::capture::cut_into_pulls(&trace, &RecorderRules::default());
            assert_eq!(pulls.len(), 3, "{bar_s} bar/s at {rate_hz} Hz");
        }
        assert!(starts.iter().all(|s| (s - starts[0]).abs() <= 0.11), "{bar_s} bar/s: {starts:?}");
    }
}
/// A file chosen in the form is there already, with its header at its top and rows that are over; only what is appended
/// counts.
#[test]
fn a_file_with_its_header_at_the_top_is_listened_to_from_its_end() {
    use std::fs::OpenOptions;
    use thirdpull::workbench::view::live::Reach;
    let folder = tempfile::tempdir().unwrap();
    for (name, before, torn, appended) in [
        (
            "few.csv",
            "time_ms;pressure_bar;cup_mass_g\n0;1;1\n100;1;1\n".to_owned(),
            "",
            ["200;2,5;4\n", "300;2,5;4.5\n"],
        ),
        (
            "torn.csv",
            "time_ms;pressure_bar;cup_mass_g\n0;1;1\n".to_owned(),
            "200;2.",
            ["5;4\n", "300;2,5;4.5\n"],
        ),
        (
            "long.csv",
            (0..40_000).fold(String::from("time_ms;pressure_bar;cup_mass_g\n"), |text, i| {
                text + &format!("{i};1;1\n")
            }),
            "",
            ["40000;2,5;4\n", "40100;2,5;4.5\n"],
        ),
        (
            "objects.jsonl",
            "{\"time_ms\":0,\"pressure_bar\":1,\"weight_g\":1}\n".to_owned(),
            "",
            [
                "{\"time_ms\":200,\"pressure_bar\":2.5,\"weight_g\":4}\n",
                "{\"time_ms\":300,\"weight_g\":4.5}\n",
            ],
        ),
    ] {
        let path = folder.path().join(name);
        std::fs::write(&path, before + torn).unwrap();
        let source = Reach::File.source(&path.display().to_string(), "").unwrap();
        let began = Instant::now();
        let live = start(source, None, move || began.elapsed().as_secs_f64()).unwrap();
        while live.next_within(Duration::from_secs(5)).is_some_and(|event| event != Event::Connected) {}
        std::thread::sleep(Duration::from_millis(300));
        let mut file = OpenOptions::new().append(true).open(&path).unwrap();
        for line in appended {
            file.write_all(line.as_bytes()).unwrap();
        }
        let mut masses = Vec::new();
        while masses.len() < 2 && began.elapsed() < Duration::from_secs(10) {
            match live.next_within(Duration::from_millis(200)) {
                Some(Event::Sample(sample)) => masses.push(sample.get(Channel::CupMass)),
                Some(Event::Unreadable(why)) => panic!("{name}: {why}"),
                _ => {}
            }
        }
        assert_eq!(masses, [Some(4.0), Some(4.5)], "{name}");
    }
}
#[test]
fn a_slow_scale_alone_starts_a_recording() {
    for rate_hz in [1.0, 2.0, 2.5, 5.0, 10.0] {
        let time: Vec<f64> = (0..(240.0 * rate_hz) as u32).map(|i| f64::from(i) / rate_hz).collect();
        let mass = time
            .iter()
            .map(|t| {
                let (number, t) = ((t / 80.0).floor(), t.rem_euclid(80.0));
                // Pulled between 25 s and 50 s; the cup is taken off at 62 s.
                if t < 62.0 { (t.min(50.0) - 25.0).max(0.0) * 1.5 } else { -30.0 - number }
            })
            .collect();
        let trace = Trace::new(time, [(Channel::CupMass, mass)]).unwrap();
        let pulls = thirdpull::capture::cut_into_pulls(&trace, &RecorderRules::default());
        assert_eq!(pulls.len(), 3, "{rate_hz} Hz");
        assert!(pulls.iter().all(|pull| pull.duration_s() > 25.0), "{rate_hz} Hz");
    }
    // A cup put down on a slow scale is still no pull.
    let mut recorder = Recorder::new(RecorderRules::default());
    for i in 0..80 {
        let mass = if i < 20 { 0.0 } else { 215.0 };
        let state = recorder.push(Sample::new(f64::from(i) * 0.5, [None, None, Some(mass), None]));
        assert_eq!(state, RecorderState::Waiting, "{i}");
    }
}
/// A machine that sends its clock and a scale that does not, on one line: both are on the machine's clock.
#[test]
fn lines_without_a_time_are_on_the_clock_of_the_others() {
    // Arrival: at once, in a burst each second, after stalls of 0.4 s between any two lines, and not known at all.
    let arrivals: [fn(f64) -> f64; 4] = [
        |t| 5000.0 + t,
        |t| 5001.0 + (t + 0.001).floor(),
        |t| 5000.0 + 0.4 * (t / 0.4 - 0.001).ceil(),
        |_| 0.0,
    ];
    for (case, arrival) in arrivals.into_iter().enumerate() {
        let mut reader = LineReader::new();
        let mut recorder = Recorder::new(RecorderRules::default());
        let mut pulls = Vec::new();
        let mut push = |line: &str, arrived_s: f64, want_s: f64| {
            let Reading::Sample(sample) = reader.read(line, arrived_s) else {
                panic!("{case}: {line} is lost")
            };
            assert!((sample.time_s - want_s).abs() < 0.15, "{case}: {line} at {} s", sample.time_s);
            if recorder.push(sample) == RecorderState::Done {
                pulls.push(recorder.take().unwrap());
            }
        };
        for i in 0..500 {
            let t = f64::from(i) * 0.1;
            let pressure = if (8.0..36.0).contains(&t) { 9.0 } else { 0.1 };
            let line = format!("{{\"time_ms\":{},\"pressure_bar\":{pressure}}}", 100 * i);
            push(&line, arrival(t), t);
            let grams = ((t + 0.05).min(36.0) - 14.0).max(0.0) * 1.6;
            push(&format!("{{\"weight_g\":{grams:.2}}}"), arrival(t + 0.05), t + 0.05);
        }
        assert_eq!(pulls.len(), 1, "{case}");
        assert!(pulls[0].duration_s() > 30.0, "{case}: {}", pulls[0].duration_s());
    }
}

/// The machine falls silent and the scale goes on: its lines keep their own pace.
#[test]
fn lines_without_a_time_go_on_when_the_clock_falls_silent() {
    let mut reader = LineReader::new();
    for i in 0..20 {
        assert!(matches!(
            reader
                .read(&format!("{{\"time_ms\":{},\"pressure_bar\":9}}", 100 * i), 70.0 + f64::from(i) * 0.1),
            Reading::Sample(_)
        ));
    }
    let mut last_s = 1.9;
    for i in 1..60 {
        let Reading::Sample(sample) = reader.read("{\"weight_g\":4}", 71.9 + f64::from(i) * 0.1) else {
            panic!("line {i} is lost")
        };
        assert!(sample.time_s > last_s, "{i}: {} after {last_s}", sample.time_s);
        last_s = sample.time_s;
    }
    assert!((last_s - 7.8).abs() < 0.01, "{last_s}");
}
