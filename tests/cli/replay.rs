//! `thirdpull replay`, run as a person or a script would.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::{BufRead, BufReader, Read};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Command, Stdio};

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_thirdpull"));
    command.arg("replay").stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

fn table(folder: &tempfile::TempDir) -> PathBuf {
    let path = folder.path().join("pull.csv");
    let mut text = String::from("time (ms),pressure (kPa),weight (g)\n");
    for i in 0..200 {
        text += &format!("{},{},{}\n", i * 100, i * 4, f64::from(i) / 4.0);
    }
    std::fs::write(&path, text).unwrap();
    path
}

#[test]
fn plays_to_standard_output_in_the_live_format() {
    let folder = tempfile::tempdir().unwrap();
    let done = program().args(["--rate", "0"]).arg(table(&folder)).output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    let text = String::from_utf8(done.stdout).unwrap();
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("time_s,pressure_bar,cup_mass_g"));
    assert_eq!(lines.next(), Some("0,0,0"));
    assert_eq!(text.lines().last(), Some("19.9,7.96,49.75"));
    assert_eq!(text.lines().count(), 201);
    assert!(String::from_utf8(done.stderr).unwrap().contains("200 samples over 19.9 s"));
}

#[test]
fn plays_at_the_rate_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let began = std::time::Instant::now();
    let done = program().args(["--rate", "20"]).arg(table(&folder)).output().unwrap();
    // 19.9 s at twenty times the speed: never quicker than a second.
    assert!(done.status.success() && began.elapsed().as_secs_f64() > 0.99, "{:?}", began.elapsed());
}

#[test]
fn serves_whoever_connects_and_outlives_one_that_goes() {
    let folder = tempfile::tempdir().unwrap();
    let mut child =
        program().args(["--rate", "200", "--tcp", "127.0.0.1:0"]).arg(table(&folder)).spawn().unwrap();
    let mut told = BufReader::new(child.stderr.take().unwrap()).lines();
    let address = told
        .find_map(|line| line.unwrap().strip_prefix("listening on ").map(str::to_owned))
        .expect("the address is told");
    // The first goes away after a line; the second still gets everything.
    let mut first = BufReader::new(TcpStream::connect(&address).unwrap());
    let mut line = String::new();
    first.read_line(&mut line).unwrap();
    assert_eq!(line, "time_s,pressure_bar,cup_mass_g\n");
    drop(first);
    let mut all = String::new();
    TcpStream::connect(&address).unwrap().read_to_string(&mut all).unwrap();
    assert_eq!(all.lines().count(), 201, "{all}");
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn writes_a_file_that_grows_and_never_into_one_that_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path().join("live.csv");
    let run = || program().args(["--rate", "0", "--to"]).arg(&to).arg(table(&folder)).output().unwrap();
    assert_eq!(run().status.code(), Some(0));
    assert_eq!(std::fs::read_to_string(&to).unwrap().lines().count(), 201);
    let again = run();
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8(again.stderr).unwrap().contains("choose another file"));
}

#[test]
fn bad_requests_are_refused_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let file = table(&folder).display().to_string();
    for (args, want) in [
        (vec!["--rate", "fast", &file], "takes a number"),
        (vec![], "which one trace file"),
        (vec!["no-such-file.csv"], "no-such-file.csv"),
        (vec!["--part", "9", &file], "there is no run 9"),
        (vec!["--tcp", "nowhere", &file], "nowhere"),
    ] {
        let done = program().args(&args).output().unwrap();
        assert_eq!(done.status.code(), Some(2), "{args:?}");
        let said = String::from_utf8(done.stderr).unwrap();
        assert!(said.contains(want), "{args:?}: {said}");
    }
}
