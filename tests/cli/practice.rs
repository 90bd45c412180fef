//! `thirdpull practice`: all that the pages show, without a window; and a teacher's own files.

use std::path::Path;
use std::process::Command;

use thirdpull::practice::sitting::GRID;
use thirdpull::practice::{Bench, Handle, Pack};
use thirdpull::workbench::practice::Seat;

/// Exit code, standard output, standard error.
fn run(book: &Path, args: &[&str]) -> (Option<i32>, String, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .args(args)
        .arg("--notebook")
        .arg(book)
        .output()
        .expect("the program runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (run.status.code(), text(&run.stdout), text(&run.stderr))
}

fn told(args: &[&str]) -> String {
    let place = tempfile::tempdir().expect("a temporary folder");
    let all: Vec<&str> = std::iter::once("practice").chain(args.iter().copied()).collect();
    let (code, out, err) = run(place.path(), &all);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{args:?}");
    out
}

fn refused(args: &[&str], part: &str) {
    let place = tempfile::tempdir().expect("a temporary folder");
    let all: Vec<&str> = std::iter::once("practice").chain(args.iter().copied()).collect();
    let (code, out, err) = run(place.path(), &all);
    assert!(code == Some(2) && out.is_empty() && err.contains(part), "{args:?}: {code:?} {out} {err}");
}

#[test]
fn a_teachers_slip_is_named_with_line_and_column() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let book = place.path().join("book");
    assert_eq!(run(&book, &["demo"]).0, Some(0));
    let folder = book.join("practice/coffees");
    std::fs::create_dir_all(&folder).expect("can be made");
    std::fs::write(folder.join("mine.ron"), "Coffee(name: \"Mine\", flow: 1.2)").expect("can be written");
    assert_eq!(run(&book, &["check"]).0, Some(0), "{}", run(&book, &["check"]).1);
    // It can be put on the bench at once.
    let (code, out, _) = run(&book, &["practice", "bench", "--coffee", "mine"]);
    assert!(code == Some(0) && out.contains("coffee Mine"), "{out}");
    std::fs::write(folder.join("mine.ron"), "Coffee(\n  name: \"Mine\",\n  flow: 12,\n)")
        .expect("can be written");
    let (code, told, _) = run(&book, &["check"]);
    assert_eq!(code, Some(1));
    assert!(told.contains("mine.ron:3:9") && told.contains("flow is 12"), "{told}");
}

#[test]
fn the_bench_is_told_in_numbers() {
    let out = told(&["bench", "--coffee", "two-winters", "--set", "grind=20", "--set", "dose=18,5"]);
    let coffee = Pack::shipped().coffees["two-winters"].clone();
    let bench = Bench { coffee, ..Bench::default() }.with(Handle::Grind, 20.0).with(Handle::Dose, 18.5);
    let pull = bench.pull(&GRID).expect("sound");
    for part in [
        format!("Time: {:.1} s", pull.trace.end_s),
        format!("Strength: {:.2} %", pull.cup.tds_pct),
        format!("Extraction: {:.2} %", pull.cup.extraction_pct),
        "Simulated.".to_owned(),
        "Waszkiewicz".to_owned(),
    ] {
        assert!(out.contains(&part), "{part} in {out}");
    }
    let drawn = told(&["bench", "--draw", "pressure=0:3,8:3,10:9"]);
    let preset = told(&["bench", "--drive", "2"]);
    assert_eq!(drawn, preset, "the second drive is that line");
    assert!(told(&["bench", "--drives"]).contains("2 Gentle start"));
    refused(&["bench", "--set", "dose=99"], "the bench goes from");
    refused(&["bench", "--set", "charm=1"], "known are grind");
    refused(&["bench", "--coffee", "none such"], "known are");
    refused(&["bench", "--draw", "pressure=0;3"], "is not SECOND:VALUE");
    refused(&["bench", "--drive", "0"], "no such drive");
    refused(&["dance"], "say what");
}

#[test]
fn a_trace_written_by_one_bench_is_met_by_another() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let csv = place.path().join("pull.csv");
    let csv = csv.to_str().expect("utf-8");
    let first = told(&["bench", "--coffee", "two-winters", "--csv", csv]);
    let time = |text: &str| -> f64 {
        let line = text.lines().find(|line| line.starts_with("Time: ")).expect("a time");
        line.trim_start_matches("Time: ").trim_end_matches(" s").parse().expect("a number")
    };
    let fitted = told(&["bench", "--like", csv]);
    assert!(fitted.contains("Fitted to "), "{fitted}");
    assert!((time(&fitted) - time(&first)).abs() < 1.5, "{fitted}");
}

#[test]
fn the_inside_sweeps_and_studies_are_tables() {
    let inside = told(&["inside", "12"]);
    let rows: Vec<&str> = inside.lines().filter(|line| !line.starts_with('#')).collect();
    assert!(rows[0].starts_with("time_s,path,depth_share") && rows.len() > 20, "{inside}");
    assert!(rows[1..].iter().all(|row| row.split(',').count() == rows[0].split(',').count()));
    assert!(inside.contains("# At 12"), "{inside}");
    let swept = told(&["sweep", "grind", "--from", "16", "--to", "28", "--count", "7"]);
    let times: Vec<f64> = swept
        .lines()
        .skip(1)
        .map(|row| row.split(',').nth(1).expect("a time").parse().expect("a number"))
        .collect();
    assert_eq!(times.len(), 7);
    assert!(times.is_sorted_by(|a, b| a > b), "coarser is faster: {times:?}");
    refused(&["sweep", "grind", "--count", "1"], "2 to 400");
    refused(&["sweep", "dose", "--from", "0", "--to", "1e9", "--count", "3"], "--from: the bench goes from");
    refused(&["sweep", "dose", "--to", "1e9", "--count", "3"], "--to: the bench goes from");
    for second in ["1e18", "400"] {
        refused(&["inside", second], "the pull lasts from 0 to");
    }
    for name in Pack::shipped().studies.keys() {
        assert!(told(&["studies"]).contains(&format!("{name}: ")));
    }
    let study = told(&["study", "pressure"]);
    assert!(study.contains("What the model says") && study.contains("What nobody knows"), "{study}");
}

#[test]
fn a_sitting_is_pulled_served_and_scored_as_in_the_window() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let csv = place.path().join("class.csv");
    let csv = csv.to_str().expect("utf-8");
    assert!(told(&["exercises"]).lines().count() >= 12 && told(&["coffees"]).contains("coffee river-bend"));
    let seat = |student: &str, more: &[&str]| {
        let mut args = vec!["seat", "too-slow", "--word", "tern 7", "--student", student, "--pull", "start"];
        args.extend(more);
        told(&args)
    };
    let open = seat("Ines", &["--hints", "1"]);
    let mut same = Seat::take(&Pack::shipped(), "too-slow", "tern 7", "").expect("sound");
    same.pull().expect("a pull");
    let time = format!("{:.1} s", same.sitting().pulled()[0].time_s.expect("a clock"));
    let hidden = same.sitting().hidden().coffee.name.clone();
    assert!(open.contains(&time) && open.contains("Hint: ") && !open.contains(&hidden), "{open}");
    same.serve(1).expect("pulled");
    let score = same.sitting().score().expect("served");
    for student in ["Ines", "=Bo"] {
        let end = seat(student, &["--serve", "1", "--results", csv]);
        let points = format!("{} points of 100", score.points);
        assert!(end.contains(&points) && end.contains("The engine took") && end.contains(&hidden), "{end}");
    }
    let table = std::fs::read_to_string(csv).expect("written");
    let lines: Vec<&str> = table.lines().collect();
    assert!(lines.len() == 3 && lines[0].starts_with("student,") && lines[2].starts_with("'=Bo,"), "{table}");
    // A last line without its end is ended first, and a table of something else is left alone.
    std::fs::write(csv, table.trim_end()).expect("can be written");
    seat("Ada", &["--serve", "1", "--results", csv]);
    let table = std::fs::read_to_string(csv).expect("written");
    let lines: Vec<&str> = table.lines().collect();
    assert!(lines.len() == 4 && lines[3].starts_with("Ada,") && table.ends_with('\n'), "{table}");
    std::fs::write(csv, "name;marks\nIda;3\n").expect("can be written");
    let served =
        ["seat", "too-slow", "--word", "tern 7", "--pull", "start", "--serve", "1", "--results", csv];
    refused(&served, "choose another file");
    assert_eq!(std::fs::read_to_string(csv).expect("there"), "name;marks\nIda;3\n");
    refused(&["seat", "too-slow", "--pull", "charm=1"], "no lever");
    refused(&["seat", "too-slow", "--serve", "1"], "");
    refused(&["seat", "no-such"], "known are");
    refused(&["seat", "too-slow", "--results", csv], "--serve");
    let (sheet, answers) =
        (told(&["worksheet", "too-slow", "--word", "tern 7"]), told(&["worksheet", "too-slow", "--answers"]));
    assert!(sheet.contains("tern 7") && sheet.contains("scald") && answers.contains("answers"));
}

/// A scale that cannot have stood under a pull is refused with what to do, and not shown as if it were met.
#[test]
fn a_record_that_no_bench_can_meet_is_refused() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let csv = place.path().join("odd.csv");
    let mut text = String::from("time_s,cup_mass_g\n");
    for k in 0..60 {
        text += &format!("{},{}\n", f64::from(k) * 0.5, if k % 2 == 0 { 2.0 } else { 90.0 });
    }
    std::fs::write(&csv, text).expect("can be written");
    refused(&["bench", "--like", csv.to_str().expect("utf-8")], "off the recorded");
}
