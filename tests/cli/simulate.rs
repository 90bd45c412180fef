//! `thirdpull simulate`, run as a script would.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::process::{Command, Output, Stdio};

fn simulate(args: &[&str], input: &str) -> Output {
    use std::io::Write;
    let mut child = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .arg("simulate")
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // The program may have finished (with --help) before it reads.
    let _unread = child.stdin.take().expect("piped").write_all(input.as_bytes());
    child.wait_with_output().expect("the program ends")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn writes_a_trace_and_a_summary() {
    let done = simulate(&["--every", "1", "-"], "(drive: (stop_at_g: 36))");
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let trace = text(&done.stdout);
    let mut table = csv::Reader::from_reader(trace.as_bytes());
    let header = table.headers().expect("a header").clone();
    assert_eq!(&header[0], "time_s");
    let cup = header.iter().position(|h| h == "cup_g").expect("cup mass");
    let rows: Vec<csv::StringRecord> = table.records().map(|r| r.expect("a row")).collect();
    let masses: Vec<f64> = rows.iter().map(|r| r[cup].parse().expect("a number")).collect();
    assert!(masses.len() > 20 && masses.windows(2).all(|w| w[1] >= w[0]));
    assert!(text(&done.stderr).contains("36.0 g in"), "{}", text(&done.stderr));
}

#[test]
fn the_example_is_a_description_that_runs() {
    let example = text(&simulate(&["--example"], "").stdout);
    let done = simulate(&["--summary", "-"], &example);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
}

#[test]
fn the_descriptions_in_demo_data_run() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/simulate");
    let mut seen = 0;
    for file in std::fs::read_dir(folder).expect("the folder").flatten() {
        let path = file.path().display().to_string();
        let done = simulate(&["--summary", &path], "");
        assert!(matches!(done.status.code(), Some(0 | 1)), "{path}: {}", text(&done.stderr));
        assert!(text(&done.stdout).contains("extraction"), "{path}");
        seen += 1;
    }
    assert!(seen >= 3);
}

/// A record of six bar drives the pull as six bar written in the description do, for as long as it lasts.
#[test]
fn a_recorded_trace_can_drive_the_pull() {
    let file = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("replay-six-bar.csv");
    let mut record = String::from("time (s),pressure (bar),cup mass (g)\n");
    for i in 0..=300 {
        record.push_str(&format!("{:.1},6.0,0.0\n", 0.1 * f64::from(i)));
    }
    std::fs::write(&file, record).expect("a scratch file");
    let path = file.display().to_string();
    let replayed = simulate(&["--summary", "--replay", &path, "-"], "(drive: (stop_at_g: None))");
    let written =
        simulate(&["--summary", "-"], "(drive: (stop_at_g: None, pressure_bar: [(0, 6)], duration_s: 30))");
    assert_eq!(replayed.status.code(), Some(0), "{}", text(&replayed.stderr));
    assert_eq!(text(&replayed.stdout), text(&written.stdout));
    let none = simulate(&["--summary", "--replay", "/nowhere.csv", "-"], "()");
    assert_eq!(none.status.code(), Some(2));
    assert!(text(&none.stderr).contains("/nowhere.csv"), "{}", text(&none.stderr));
}

#[test]
fn faults_name_the_place() {
    for (input, want) in [
        ("(puck: (dose_g: -3))", "line 1, column 9: dose_g is -3, allowed is 1 to 50"),
        ("(puck: (\n  dose: 3))", "line 2, column"),
        ("(drive: (pressure_bar: [(5, 9), (2, 9)]))", "comes before"),
        ("", "line 1"),
    ] {
        let done = simulate(&["-"], input);
        assert_eq!(done.status.code(), Some(2));
        assert!(text(&done.stderr).contains(want), "{input}: {}", text(&done.stderr));
        assert!(done.stdout.is_empty());
    }
    let none = simulate(&["no-such-file.ron"], "");
    assert_eq!(none.status.code(), Some(2));
    assert!(text(&simulate(&["--help"], "").stdout).contains("USAGE"));
}
