//! Import of tables and logs, and export.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::Path;

use thirdpull::domain::{Channel, Trace};
use thirdpull::exchange::export;
use thirdpull::exchange::table::{
    Assignment, ImportFault, Imported, NoteKind, Role, Table, TimeSource, TimeZero,
};
use thirdpull::units::Unit;

use crate::open_data;

fn import(text: &str) -> Imported {
    let table = Table::parse(text.as_bytes()).unwrap_or_else(|fault| panic!("{fault}\n{text}"));
    table.import_guessed().unwrap_or_else(|fault| panic!("{fault}\n{text}"))
}

fn fault(bytes: &[u8]) -> ImportFault {
    match Table::parse(bytes).and_then(|table| table.import_guessed()) {
        Err(fault) => {
            assert!(!fault.sentence.is_empty() && fault.sentence.len() < 400, "{fault}");
            fault
        }
        Ok(imported) => panic!("taken: {imported:?}"),
    }
}

fn first(trace: &Trace, channel: Channel) -> f64 {
    trace.get(channel).unwrap_or_else(|| panic!("{channel:?} is missing"))[0]
}

/// Rows of a pull-like table: time and the channels asked for.
fn rows(n: usize, cells: impl Fn(f64) -> String) -> String {
    (0..n).map(|i| cells(i as f64 * 0.1) + "\n").collect()
}

#[test]
fn tables_in_any_common_wording() {
    // Header, and what stands between fields.
    let cases: &[(&str, &str)] = &[
        ("time (s),pressure (bar),cup mass (g)", ","),
        ("Time [ms];Pressure [kPa];Weight [g]", ";"),
        ("elapsed_ms\tpressure_kpa\tweight_g", "\t"),
        ("Zeit (s);Druck (bar);Gewicht (g)", ";"),
        ("temps (s);pression (bar);poids (g)", ";"),
        ("tempo (s);pressione (bar);peso (g)", ";"),
        ("tiempo (s);presión (bar);masa en taza (g)", ";"),
        ("tijd (s)|druk (bar)|gewicht (g)", "|"),
        ("t p m", " "),
        ("time_s  line pressure (psi)  cup mass (g)", "  "),
        ("seconds,psi,grams", ","),
        ("timeMs,pressureBar,weightG", ","),
    ];
    for (header, mark) in cases {
        let low = header.to_lowercase();
        let time = if ["[ms]", "_ms", "timems"].iter().any(|word| low.contains(word)) { 1000.0 } else { 1.0 };
        let pressure = if low.contains("kpa") {
            100.0
        } else if low.contains("psi") {
            14.503_774
        } else {
            1.0
        };
        let body = rows(100, |t| {
            format!("{:.3}{mark}{:.4}{mark}{:.2}", t * time, (2.0 + t * 0.5) * pressure, 4.0 * t)
        });
        let imported = import(&format!("{header}\n{body}"));
        let trace = &imported.trace;
        assert!((trace.time_s()[50] - 5.0).abs() < 1e-9, "{header}: {}", trace.time_s()[50]);
        assert!((trace.get(Channel::Pressure).unwrap()[50] - 4.5).abs() < 1e-4, "{header}");
        assert!((trace.get(Channel::CupMass).unwrap()[50] - 20.0).abs() < 1e-9, "{header}");
        assert!(imported.notes.is_empty(), "{header}: {:?}", imported.notes);
    }
}

#[test]
fn encodings_marks_quotes_comments_and_line_ends() {
    let plain = format!(
        "# made by hand\nZeit;Druck (bar);Temperatur (°C)\n{}",
        rows(30, |t| format!("{};{};{}", format!("{t:.1}").replace('.', ","), "9,1", "92,5"))
    );
    let want = import(&plain).trace;
    assert_eq!(first(&want, Channel::Temperature), 92.5);
    let utf8_mark = [&b"\xef\xbb\xbf"[..], plain.as_bytes()].concat();
    let latin1: Vec<u8> = plain.chars().map(|c| c as u32 as u8).collect();
    let utf16: Vec<u8> =
        [0xfeff_u16].into_iter().chain(plain.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let utf16_be: Vec<u8> =
        [0xfeff_u16].into_iter().chain(plain.encode_utf16()).flat_map(u16::to_be_bytes).collect();
    let windows = plain.replace('\n', "\r\n").into_bytes();
    let old_mac = plain.replace('\n', "\r").into_bytes();
    let quoted = plain
        .lines()
        .map(|line| match line.starts_with('#') {
            true => line.to_owned() + "\n",
            false => line.split(';').map(|f| format!("\"{f}\"")).collect::<Vec<_>>().join(";") + "\n",
        })
        .collect::<String>()
        .into_bytes();
    for bytes in [utf8_mark, latin1, utf16, utf16_be, windows, old_mac, quoted] {
        let got = Table::parse(&bytes).unwrap().import_guessed().unwrap();
        assert_eq!(got.trace, want);
    }
}

#[test]
fn a_quoted_decimal_comma_in_a_comma_table_is_a_decimal_mark() {
    let imported = import(&format!("time,pressure,flow\n{}", rows(20, |t| format!("{t},\"9,25\",\"2,5\""))));
    assert_eq!(first(&imported.trace, Channel::Pressure), 9.25);
    assert_eq!(first(&imported.trace, Channel::Flow), 2.5);
}

#[test]
fn marks_that_may_part_thousands_are_asked_about() {
    let grouped = |n: u32, mark: &str| {
        if n < 1000 { n.to_string() } else { format!("{}{mark}{:03}", n / 1000, n % 1000) }
    };
    let table = |header: &str, row: &dyn Fn(u32) -> String| {
        let body: String = (0..60).map(|i| row(i) + "\n").collect();
        format!("{header}\n{body}")
    };
    let cases = [
        table("time_ms;pressure_bar", &|i| format!("{};9", grouped(i * 100, "."))),
        table("time;pressure", &|i| format!("{};9", grouped(i * 100, "."))),
        table("time_ms,pressure_bar", &|i| format!("\"{}\",9", grouped(i * 100, ","))),
        table("time_s,pressure (mbar)", &|i| format!("{}.5,{}", i, grouped(i * 200, "."))),
        table("time_s,pressure (mbar)", &|i| format!("{}.5,9.{:03}", i, i % 7)),
        table("time_ms\tpressure_bar", &|i| format!("{}\t9", grouped(2_000 + i * 100, "."))),
    ];
    for text in &cases {
        let fault = fault(text.as_bytes());
        assert!(fault.sentence.contains("thousands"), "{fault}\n{text}");
    }
    // Ordinary columns, also such as drop noughts at the end or reach over a hundred.
    for (header, unit_bar, one, other) in [
        ("pressure (bar)", 1.0, "9.000", "9.125"),
        ("pressure (bar)", 1.0, "9", "9.125"),
        ("pressure (psi)", 0.068_947_572_931_68, "130", "129.875"),
        ("pressure (psi)", 0.068_947_572_931_68, "130.125", "131"),
        ("pressure (kPa)", 0.01, "900.125", "900.000"),
    ] {
        let text = format!(
            "time (s);{header}\n{}",
            (0..40)
                .map(|i| format!("{i}.250;{}\n", if i % 2 == 0 { one } else { other }))
                .collect::<String>()
        );
        let trace = import(&text).trace;
        let want = one.parse::<f64>().unwrap() * unit_bar;
        assert!((first(&trace, Channel::Pressure) - want).abs() < 1e-9, "{text}");
        assert_eq!(trace.time_s()[1], 1.25, "{text}");
    }
    let ordinary =
        import(&format!("time (ms);pressure (bar)\n{}", rows(60, |t| format!("{:.3};9.0", t * 1000.0))));
    assert!((ordinary.trace.duration_s() - 5.9).abs() < 1e-9);
}

#[test]
fn a_table_noted_by_hand_is_in_seconds() {
    for step in [2, 5, 10] {
        let body: String = (0..8).map(|i| format!("{},{}\n", i * step, i * 5)).collect();
        let trace = import(&format!("time,weight\n{body}")).trace;
        assert_eq!(trace.duration_s(), f64::from(7 * step), "{step}");
    }
    let body: String = (0..80).map(|i| format!("{},{}\n", i * 50, i)).collect();
    assert!((import(&format!("time,weight\n{body}")).trace.duration_s() - 3.95).abs() < 1e-9);
}

#[test]
fn a_clock_put_back_by_an_hour_runs_on() {
    let stamp = |i: u32| {
        let tenths = 2 * 36_000 + 59 * 600 + 500 + i;
        let tenths = if tenths >= 3 * 36_000 { tenths - 36_000 } else { tenths };
        format!(
            "2026-10-25 {:02}:{:02}:{:02}.{}",
            tenths / 36_000,
            tenths / 600 % 60,
            tenths / 10 % 60,
            tenths % 10
        )
    };
    let body: String = (0..300).map(|i| format!("{},9.0\n", stamp(i))).collect();
    assert!(body.contains("02:59:59.9,9.0\n2026-10-25 02:00:00.0"));
    let imported = import(&format!("clock,pressure\n{body}"));
    assert_eq!((imported.parts, imported.trace.len()), (1, 300), "{:?}", imported.notes);
    assert!((imported.trace.duration_s() - 29.9).abs() < 1e-6, "{:?}", imported.notes);
    // A clock that goes back by an hour and something is another run.
    let body = body.replace(" 02:00", " 01:58");
    assert_eq!(import(&format!("clock,pressure\n{body}")).parts, 2);
}

#[test]
fn units_in_a_row_of_their_own_or_behind_each_number() {
    let imported = import(&format!(
        "time,pressure,weight\nms,kPa,g\n{}",
        rows(20, |t| format!("{},900,{t}", t * 1000.0))
    ));
    assert!((imported.trace.time_s()[10] - 1.0).abs() < 1e-12);
    assert_eq!(first(&imported.trace, Channel::Pressure), 9.0);
    let imported = import(&format!("time,temp\n{}", rows(20, |t| format!("{t:.1} s,200 °F"))));
    assert!((first(&imported.trace, Channel::Temperature) - 93.333).abs() < 1e-3);
}

#[test]
fn without_a_header_the_numbers_speak() {
    let imported = import(&rows(300, |t| {
        format!("{t:.1},{:.2},{:.2},92.1", 9.0_f64.min(t * 3.0), (t - 6.0).max(0.0) * 1.8)
    }));
    assert_eq!(imported.trace.get(Channel::Pressure).unwrap()[100], 9.0);
    assert!((imported.trace.get(Channel::CupMass).unwrap()[200] - 25.2).abs() < 1e-9);
}

#[test]
fn wishes_and_raw_readings_do_not_displace_measurements() {
    let header = "time (s),target pressure (bar),pressure raw,pressure (bar),boiler temp (C),basket temp (C),flow target (ml/s),flow (ml/s)";
    let table = Table::parse(
        format!("{header}\n{}", rows(30, |t| format!("{t:.1},9,512,8.5,124,91,2,1.5"))).as_bytes(),
    )
    .unwrap();
    let guess = table.guess();
    assert_eq!(guess.assignment.source(Channel::Pressure).unwrap().index, 3);
    assert_eq!(guess.assignment.source(Channel::Temperature).unwrap().index, 5);
    assert_eq!(guess.assignment.source(Channel::Flow).unwrap().index, 7);
    let (_, others) =
        guess.others.iter().find(|(role, _)| *role == Role::Channel(Channel::Temperature)).unwrap();
    assert_eq!(others, &[4]);
}

#[test]
fn logs_of_objects_flat_nested_and_damaged() {
    let mut log: String = (0..200)
        .map(|i| format!("{{\"clock\":{{\"t_ms\":{}}},\"sensors\":{{\"pressure_kpa\":{},\"weight\":\"{:.1} g\",\"label\":\"x\"}},\"on\":true,\"none\":null}}\n", 5000 + i * 20, 900, i as f64 * 0.2))
        .collect();
    let imported = import(&log);
    assert!((imported.trace.time_s()[100] - 7.0).abs() < 1e-12);
    assert_eq!(first(&imported.trace, Channel::Pressure), 9.0);
    assert!((imported.trace.get(Channel::CupMass).unwrap()[100] - 20.0).abs() < 1e-12);
    log.push_str("{\"clock\":{\"t_ms\":9000},\"sensors\":{\"pressure_kpa\":NaN,\"weight\":\"40.0 g\"}}\n{\"clock\":{\"t_m");
    let imported = import(&log);
    assert_eq!(imported.trace.len(), 201);
    assert!(imported.trace.get(Channel::Pressure).unwrap()[200].is_nan());
    assert!(
        imported.notes.iter().any(|note| note.kind == NoteKind::Rows && note.line == Some(202)),
        "{:?}",
        imported.notes
    );
    let imported = import(
        "12:00:01.1 >> {\"t\":0.0,\"p\":8.9}\n12:00:01.2 >> {\"t\":0.1,\"p\":9.0}\n12:00:01.3 >> {\"t\":0.2,\"p\":9.1}\n",
    );
    assert_eq!(first(&imported.trace, Channel::Pressure), 8.9);
    assert_eq!(fault(b"[\n{\"t\":1,\n\"p\":2}\n]\n").line, Some(1));
}

#[test]
fn kilopascal_and_milliseconds_are_told_by_size_and_step() {
    let imported = import(&format!("t,p\n{}", rows(50, |t| format!("{},{}", t * 1000.0, 930.0))));
    assert!((imported.trace.duration_s() - 4.9).abs() < 1e-9);
    assert!((first(&imported.trace, Channel::Pressure) - 9.3).abs() < 1e-9);
    let imported = import(&format!("t,p,temp\n{}", rows(50, |t| format!("{t},{},{}", 131.0, 199.4))));
    assert!((first(&imported.trace, Channel::Pressure) - 9.032).abs() < 1e-3);
    assert!((first(&imported.trace, Channel::Temperature) - 93.0).abs() < 1e-9);
}

#[test]
fn gaps_repeats_strays_and_clock_times_are_mended_and_noted() {
    let mut text = String::from("time,pressure\n");
    for i in 0..300 {
        let t = f64::from(i) * 0.1 + if i >= 150 { 3.0 } else { 0.0 };
        text += &match i {
            40 => format!("{:.1},9\n{:.1},9\n", t, t),
            60 => "9999,9\n".to_owned(),
            80 => format!("{:.1},oops\n", t),
            90 => format!("{:.1},nan\n", t),
            91 => format!("{:.1},400\n", t),
            100 => ",9\n".to_owned(),
            110 => format!("{:.1},9\n", t - 0.25),
            _ => format!("{t:.1},9\n"),
        };
    }
    let imported = import(&text);
    let kinds: Vec<NoteKind> = imported.notes.iter().map(|note| note.kind).collect();
    for kind in [
        NoteKind::Gap,
        NoteKind::Repeat,
        NoteKind::Backwards,
        NoteKind::Unreadable,
        NoteKind::NotFinite,
        NoteKind::OutOfRange,
        NoteKind::NoTime,
    ] {
        assert!(kinds.contains(&kind), "{kind:?} in {:?}", imported.notes);
    }
    let line = |kind| imported.notes.iter().find(|note| note.kind == kind).unwrap().line;
    assert_eq!(line(NoteKind::Unreadable), Some(83));
    assert_eq!(line(NoteKind::Backwards), Some(63));
    assert_eq!(line(NoteKind::NoTime), Some(103));
    assert_eq!(line(NoteKind::Repeat), Some(43));
    assert_eq!(imported.trace.len(), 297, "{:?}", imported.notes);

    let midnight = rows(30, |t| format!("23:59:{:04.1},9.0", 58.0 + t)).replace("23:59:60", "0:00:00");
    let imported = import(&format!("clock,pressure\n{midnight}"));
    assert!((imported.trace.duration_s() - 2.9).abs() < 1e-6, "{:?}", imported.notes);
}

#[test]
fn a_clock_coarser_than_the_samples_is_spread() {
    let imported = import(&format!("time_s,pressure_bar\n{}", rows(100, |t| format!("{},9.0", t.floor()))));
    assert_eq!(imported.trace.len(), 100);
    assert!(imported.notes.iter().any(|note| note.kind == NoteKind::CoarseClock));
    let worst = imported
        .trace
        .time_s()
        .iter()
        .enumerate()
        .map(|(i, t)| (t - i as f64 * 0.1).abs())
        .fold(0.0, f64::max);
    assert!(worst < 0.11, "{worst}");
}

#[test]
fn several_runs_in_one_file_come_out_apart() {
    let one = rows(100, |t| format!("{t:.1},{:.2}", t));
    let table = Table::parse(format!("time,weight\n{one}{one}{one}").as_bytes()).unwrap();
    let all = table.import_all(&table.guess().assignment).unwrap();
    assert_eq!(all.len(), 3);
    assert!(all.iter().all(|run| run.trace.len() == 100 && run.parts == 3));
    assert_eq!(all[1].lines, (102, 201));
    let second = table.import(&Assignment { part: 1, ..table.guess().assignment }).unwrap();
    assert_eq!(second.trace, all[1].trace);
    assert!(table.import(&Assignment { part: 3, ..table.guess().assignment }).is_err());
}

#[test]
fn bad_files_get_a_sentence_with_the_place() {
    for (bytes, line, column, word) in [
        (&b""[..], None, None, "empty"),
        (b"  \n\n ", None, None, "empty"),
        (b"\x00\x01\x02\xff\xfe\x00\n\x03", Some(1), None, "not a text"),
        (b"hello\nworld, and more\n", Some(1), None, "no rows of numbers"),
        (b"time,pressure\n", Some(1), None, "no rows of numbers"),
        (b"time,colour\n1,2\n2,3\n3,3\n", None, None, "No column is pressure"),
        (b"time,pressure\n0,9\n1,wet\n2,dry\n3,so\n4,so\n5,so\n", Some(3), Some(2), "no number"),
        (b"time,pressure,flow\n0,9,1\n1,9\n2,9\n3,9\n4,9\n", Some(3), Some(3), "2 fields where 3"),
        (b"time,pressure\n9,9\n8,9\n7,9\n6,9\n5,9\n4,9\n3,9\n2,9\n1,9\n", Some(3), Some(1), "backwards"),
        (b"time (s);pressure (bar)\n0;9,1\n1;9,1\n2;9.1\n3;9,1\n", Some(4), Some(2), "mixes"),
        (b"time,pressure\n0,0,9,1\n0,1,9,2\n0,2,9,3\n", Some(2), None, "cannot be told apart"),
        (b"time (s),pressure (bar)\n0,930\n1,931\n2,932\n3,920\n", Some(2), Some(2), "Choose another unit"),
        (b"time,pressure\nnan,9\ninf,9\nnan,9\n", None, Some(1), "no finite number"),
        (
            b"{\"t\":1,\"p\":2}\n{\"t\":2,\"p\n{\"t\":3,\"p\n{\"t\":4,\n{\"t\":5,\"p\n",
            Some(2),
            Some(9),
            "JSON object",
        ),
    ] {
        let got = fault(bytes);
        assert!(got.sentence.contains(word), "“{}”: {got}", String::from_utf8_lossy(bytes));
        assert_eq!((got.line, got.column), (line, column), "{got}");
    }
    let long = [b"time,pressure\n0,9\n".to_vec(), vec![b'1'; 70_000]].concat();
    assert_eq!(fault(&long).line, Some(3));
}

#[test]
fn paths_that_are_no_files_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert!(Table::open(folder.path()).unwrap_err().sentence.contains("folder"));
    assert!(Table::open(&folder.path().join("absent.csv")).unwrap_err().sentence.contains("cannot be read"));
    // A gigabyte that takes no room on disk: refused by its length before a byte is read.
    let huge = folder.path().join("huge.csv");
    std::fs::File::create(&huge).unwrap().set_len(1 << 30).unwrap();
    let told = Table::open(&huge).unwrap_err();
    assert!(told.sentence.contains("1024 MB") && told.sentence.contains("256 MB"), "{told}");
    if Path::new("/dev/zero").exists() {
        assert!(Table::open(Path::new("/dev/zero")).unwrap_err().sentence.contains("no ordinary file"));
    }
}

#[test]
fn the_user_can_correct_the_guess() {
    let table = Table::parse(rows(50, |t| format!("{:.0},1.5,9.0", t * 10.0)).as_bytes()).unwrap();
    let mut assignment = Assignment {
        time: TimeSource::Every { step_s: 0.02 },
        channels: Vec::new(),
        zero: TimeZero::At(-1.0),
        part: 0,
    };
    assignment.set(Channel::Flow, Some((1, Unit::MillilitrePerSecond)));
    assignment.set(Channel::Pressure, Some((2, Unit::Bar)));
    let imported = table.import(&assignment).unwrap();
    assert!((imported.trace.time_s()[0] - 1.0).abs() < 1e-12);
    assert!((imported.trace.duration_s() - 0.98).abs() < 1e-12);
    assert_eq!(first(&imported.trace, Channel::Flow), 1.5);
    assignment.set(Channel::Flow, Some((2, Unit::Gram)));
    assert!(table.import(&assignment).unwrap_err().sentence.contains("no unit of flow"));
    assignment.set(Channel::Flow, Some((2, Unit::GramPerSecond)));
    assert!(table.import(&assignment).unwrap_err().sentence.contains("chosen twice"));
    assignment.set(Channel::Flow, Some((9, Unit::GramPerSecond)));
    assert!(table.import(&assignment).unwrap_err().sentence.contains("no column 10"));
}

#[test]
fn every_real_pull_imports_with_no_hand_work() {
    let Some(files) = open_data::files("shots", "csv") else { return };
    for path in files {
        let table = Table::open(&path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
        let preview = table.preview();
        assert!(preview.problems.is_empty(), "{:?}", preview.problems);
        let names: Vec<&str> = preview
            .assignment
            .channels
            .iter()
            .map(|source| preview.columns[source.index].name.as_str())
            .collect();
        assert_eq!(names, ["bed pressure", "flow", "cup mass"], "{}", path.display());
        let imported = table.import(&preview.assignment).unwrap();
        assert_eq!(imported.trace.len(), table.rows());
        assert!(imported.notes.is_empty(), "{:?}", imported.notes);
        // The file's name bears the line pressure; the bed has the machine's own loss less.
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let line_bar: f64 = name.trim_start_matches("line-").split("bar").next().unwrap().parse().unwrap();
        let mut bed: Vec<f64> = imported.trace.get(Channel::Pressure).unwrap().to_vec();
        bed.sort_by(f64::total_cmp);
        let median = bed[bed.len() / 2];
        assert!(median < line_bar && median > line_bar - 0.8, "{name}: {median}");
    }
}

#[test]
fn every_raw_log_imports_with_no_hand_work() {
    let Some(files) = open_data::files("raw-logs", "jsonl") else { return };
    for path in files {
        let table = Table::open(&path).unwrap();
        let preview = table.preview();
        let name_of = |index: usize| preview.columns[index].name.as_str();
        let TimeSource::Column { index, unit } = preview.assignment.time else { panic!("no time") };
        assert_eq!((name_of(index), unit), ("t", Unit::Millisecond));
        let pressure = preview.assignment.source(Channel::Pressure).unwrap();
        assert_eq!((name_of(pressure.index), pressure.unit), ("p2", Unit::Kilopascal));
        let mass = preview.assignment.source(Channel::CupMass).unwrap();
        assert_eq!((name_of(mass.index), mass.unit), ("m", Unit::Gram));
        assert_eq!(preview.assignment.channels.len(), 2, "{:?}", preview.assignment);
        let imported = table.import(&preview.assignment).unwrap();
        assert_eq!(imported.trace.len(), table.rows());
        // The file's name bears the set pressure in bar.
        let set: f64 =
            path.file_name().unwrap().to_string_lossy().split('-').next().unwrap().parse().unwrap();
        let late = imported.trace.get(Channel::Pressure).unwrap()[800];
        assert!((late - set).abs() < 0.3, "{late} against {set}");
    }
}

#[test]
fn a_trace_survives_export_and_import_to_the_last_bit() {
    let time: Vec<f64> = (0..100).map(|i| f64::from(i) * 0.1 + 1.0 / 3.0).collect();
    let wave: Vec<f64> = time.iter().map(|t| 9.0 + t.sin() / 7.0).collect();
    let mut mass: Vec<f64> = time.iter().map(|t| t * t / 3.0).collect();
    mass[17] = f64::NAN;
    let trace = Trace::new(time, [(Channel::Pressure, wave), (Channel::CupMass, mass)]).unwrap();
    let mut text = Vec::new();
    export::write_trace(&trace, &mut text).unwrap();
    assert_eq!(Table::parse(&text).unwrap().import_guessed().unwrap().trace, trace);
    let head = String::from_utf8(text).unwrap();
    assert!(head.starts_with("time_s,pressure_bar,cup_mass_g\n"), "{}", &head[..60]);
}

#[test]
fn real_pulls_survive_export_and_import() {
    let Some(mut files) = open_data::files("shots", "csv") else { return };
    files.extend(open_data::files("raw-logs", "jsonl").unwrap());
    for path in files {
        let trace = Table::open(&path).unwrap().import_guessed().unwrap().trace;
        let mut text = Vec::new();
        export::write_trace(&trace, &mut text).unwrap();
        assert_eq!(Table::parse(&text).unwrap().import_guessed().unwrap().trace, trace, "{}", path.display());
    }
}

/// A notebook of an invented café with one bag and two pulls.
fn notebook() -> thirdpull::domain::Notebook {
    use thirdpull::domain::*;
    let at = jiff::Timestamp::from_second(1_790_000_000).unwrap();
    let id = |n: u8| Id::from_parts(at, [n; 10]);
    let stamp = Stamp::new(at);
    let scale = |min, max, step| Scale::new("test", min, max, step).unwrap();
    let station = Station {
        id: StationId(id(1)),
        stamp,
        name: "Window bar".into(),
        grinder_name: "=the old one".into(),
        machine_name: String::new(),
        gear: Gear {
            grind: GrindScale {
                scale: scale(0.0, 40.0, 0.5),
                finer: Finer::Lower,
                um_per_unit: None,
                retained_g: 0.5,
                stepless: false,
            },
            dose_g: scale(14.0, 22.0, 0.1),
            yield_g: scale(20.0, 60.0, 0.5),
            temperature_c: None,
            pressure_bar: Some(9.0),
            refractometer: true,
        },
        basket: Basket { diameter_mm: 58.4, stated_dose_g: 18.0 },
        archived: false,
        note: String::new(),
    };
    let drinker =
        Drinker { id: DrinkerId(id(2)), stamp, name: "Ilse".into(), archived: false, note: String::new() };
    let used = Recipe { grind: 12.5, dose_g: 18.1, yield_g: 36.2, temperature_c: None };
    let mut taste = Taste::default();
    taste.set_mark(Attribute::Sourness, Mark::new(1));
    taste.set_liking(Some(6));
    let pull = |n: u8, note: &str, tds_pct| Pull {
        id: PullId(id(n)),
        stamp,
        pulled_at: at,
        station: station.id,
        pulled_by: "J".into(),
        plan: None,
        used,
        time_s: Some(27.4),
        first_drip_s: None,
        tds_pct,
        taste,
        flags: Flags { spurting: true, ..Flags::default() },
        note: note.into(),
        has_trace: false,
    };
    let mut gone = pull(5, "removed", None);
    gone.stamp.removed = Some(at);
    let bag = Bag {
        id: BagId(id(3)),
        stamp,
        name: "Quarry Road, washed".into(),
        roaster: "Hill \"&\" Daughters".into(),
        roast: Some(Roast::MediumLight),
        process: Some(Process::Washed),
        roasted_on: Some(jiff::civil::date(2026, 9, 11)),
        opened_on: None,
        mass_g: Some(250.0),
        price: None,
        station: station.id,
        drinker: drinker.id,
        start: StartRecipe { grind: None, dose_g: 18.0, yield_g: 36.0, temperature_c: None },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: vec![pull(3, "fine\nreally", Some(9.0)), pull(4, "", None), gone],
    };
    Notebook { drinkers: vec![drinker], stations: vec![station], bags: vec![bag], ..Notebook::default() }
}

#[test]
fn the_table_of_pulls_reads_back_with_a_general_reader() {
    let mut text = Vec::new();
    export::write_pulls(&notebook(), &mut text).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_slice());
    let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(names, export::PULL_COLUMNS.iter().map(|c| c.name).collect::<Vec<_>>());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 2, "a removed pull is not exported");
    let cell = |row: usize, name: &str| rows[row][names.iter().position(|n| n == name).unwrap()].to_owned();
    assert_eq!(cell(0, "bag"), "Quarry Road, washed");
    assert_eq!(cell(0, "roaster"), "Hill \"&\" Daughters");
    assert_eq!(cell(0, "note"), "fine\nreally");
    assert_eq!(cell(0, "grinder"), "'=the old one", "no formula for a spreadsheet");
    assert_eq!(cell(0, "drinker"), "Ilse");
    assert_eq!(cell(0, "station"), "Window bar");
    // Extraction = strength · drink / dose (Batali et al. 2020): 9.0 % · 36.2 g / 18.1 g = 18 %.
    assert!((cell(0, "extraction_pct").parse::<f64>().unwrap() - 18.0).abs() < 1e-12);
    assert_eq!(cell(1, "extraction_pct"), "");
    assert_eq!(cell(0, "days_since_roast_d"), "10");
    assert_eq!(
        (cell(0, "sourness_jar"), cell(0, "body_jar"), cell(0, "liking_1_9")),
        ("1".into(), String::new(), "6".into())
    );
    assert_eq!((cell(0, "spurting"), cell(0, "sink")), ("1".into(), "0".into()));
}

#[test]
fn the_dictionary_names_every_column() {
    let text = export::data_dictionary();
    for column in export::PULL_COLUMNS.iter().chain(export::TRACE_COLUMNS) {
        assert!(
            text.lines().any(|line| line.starts_with(column.name) && line.contains(column.meaning.word())),
            "{}",
            column.name
        );
    }
}
/// Two instruments write a line each at one moment: that is one row in two parts, and no coarse clock.
#[test]
fn lines_of_one_moment_from_two_instruments_are_one_row() {
    let (mut apart, mut joined) = (String::new(), String::new());
    for i in 0..80 {
        let (t, p, m) = (500 * i, if i > 10 { 9.0 } else { 0.0 }, f64::from((i - 20).max(0)) * 0.8);
        apart += &format!("{{\"time_ms\":{t},\"pressure_bar\":{p}}}\n{{\"time_ms\":{t},\"weight_g\":{m}}}\n");
        joined += &format!("{{\"time_ms\":{t},\"pressure_bar\":{p},\"weight_g\":{m}}}\n");
    }
    let (apart, joined) = (import(&apart), import(&joined));
    assert_eq!(apart.trace, joined.trace);
    assert_eq!(apart.notes, joined.notes);
}

/// The same under a clock that counts whole seconds: the pairs are spread, not their halves.
#[test]
fn pairs_of_lines_under_a_coarse_clock_are_spread_as_pairs() {
    let lines: String = (0..100)
        .map(|i| {
            let (s, m) = (i / 10, f64::from(i) * 0.2);
            format!("{{\"time_s\":{s},\"pressure_bar\":9}}\n{{\"time_s\":{s},\"weight_g\":{m}}}\n")
        })
        .collect();
    let imported = import(&lines);
    assert_eq!(imported.trace.len(), 100, "{:?}", imported.notes);
    for (i, t) in imported.trace.time_s().iter().enumerate() {
        assert!((t - i as f64 * 0.1).abs() < 1e-9, "{i}: {t}");
    }
}
/// Logging begins late in the first tick of a coarse clock and ends early in its last: the samples there keep their step.
#[test]
fn the_first_and_last_tick_of_a_coarse_clock_are_not_stretched() {
    for (from, to) in [(7, 254), (0, 254), (7, 260), (3, 251)] {
        let body: String = (from..to)
            .map(|i| format!("{},{:.2}\n", i / 10, (f64::from(i) * 0.1 - 5.0).max(0.0) * 1.5))
            .collect();
        let trace = import(&format!("time_s,cup_mass_g\n{body}")).trace;
        for (at, i) in (from..to).enumerate() {
            let (got, want) = (trace.time_s()[at], f64::from(i) * 0.1);
            assert!((got - want).abs() < 1e-9, "{from} to {to}: {got} for {want} s");
        }
    }
    // More samples in an end tick than in others still stay within it.
    let crowded = "0,1\n0,2\n0,3\n0,4\n1,5\n1,6\n2,7\n2,8\n3,9\n3,9\n3,9\n3,9\n";
    let trace = import(&format!("time_s,cup_mass_g\n{crowded}")).trace;
    let time = trace.time_s();
    assert!(time[0] >= 0.0 && time[3] < 1.0 && time[8] >= 3.0 && time[11] < 4.0, "{time:?}");
}
#[test]
fn milliseconds_noted_by_hand_are_no_microseconds() {
    for step in [2_000, 5_000, 10_000] {
        let body: String = (0..9).map(|i| format!("{},{}\n", i * step, i * 4)).collect();
        let trace = import(&format!("time,weight\n{body}")).trace;
        assert!((trace.duration_s() - f64::from(8 * step) / 1000.0).abs() < 1e-9, "{}", trace.duration_s());
    }
    // A clock of microseconds at 10 Hz is still told.
    let body: String = (0..300).map(|i| format!("{},{i}\n", i * 100_000)).collect();
    assert!((import(&format!("time,weight\n{body}")).trace.duration_s() - 29.9).abs() < 1e-9);
}

/// What a program reads is the same in every language.
#[test]
fn the_table_of_pulls_speaks_in_keys_in_every_language() {
    use thirdpull::words::{made_up_of, put_for_thread};
    let written = || {
        let mut text = Vec::new();
        export::write_pulls(&notebook(), &mut text).unwrap();
        String::from_utf8(text).unwrap()
    };
    let english = written();
    put_for_thread(Some(made_up_of(&thirdpull::workbench::language_file())));
    let other = written();
    put_for_thread(None);
    assert_eq!(other, english);
    // As it has been written until now, so that tables of different days go together.
    assert!(english.lines().nth(1).unwrap().contains(",medium-light,washed,"), "{english}");
}
