//! `thirdpull opening` on the demo notebook, as a person or a script would run it.

use std::path::Path;
use std::process::{Command, Output};

use crate::folders::copy;

fn demo() -> tempfile::TempDir {
    let to = tempfile::tempdir().expect("a folder");
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook"), to.path());
    to
}

fn opening(folder: &Path, more: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .args(["opening", "--effort", "1500", "--at", "2026-11-17T07:05:00Z", "--notebook"])
        .arg(folder)
        .args(more)
        .env("TZ", "UTC")
        .env("THIRDPULL_NOTEBOOK", "/nowhere/at/all")
        .output()
        .expect("the program starts")
}

fn said(run: &Output) -> String {
    String::from_utf8_lossy(&run.stdout).into_owned()
}

#[test]
fn the_bar_is_told_in_words() {
    let demo = demo();
    let run = opening(demo.path(), &[]);
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    let text = said(&run);
    for part in [
        "Tuesday 17 November, 07:05",
        "Longshore blend, batch 32 · ",
        "Opening list (",
        "Caution: ",
        "Coffee sunk",
        "Where the spread comes from",
        "Hand-over, Tuesday 17 November",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    // Reading takes no lock and leaves nothing behind.
    assert!(!demo.path().join("holder.ron").exists() && !demo.path().join("lock").exists());
}

#[test]
fn scripts_get_json_and_tables() {
    let demo = demo();
    let json = said(&opening(demo.path(), &["--as", "json", "--hide-names"]));
    let value: serde_json::Value = serde_json::from_str(json.trim()).expect("one object on one line");
    let blend =
        value["coffees"].as_array().unwrap().iter().find(|c| c["coffee"] == "Longshore blend, batch 32");
    let blend = blend.expect("the blend is on the bar");
    assert!(["pull_again", "move", "preparation"].contains(&blend["state"].as_str().unwrap()), "{blend}");
    let p = blend["today"][0]["p_real"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&p));
    assert_eq!(blend["today"][0]["pulled_by"].as_str().unwrap().chars().count(), 1, "a letter for a name");
    let csv = said(&opening(demo.path(), &["--as", "csv"]));
    let mut table = csv::Reader::from_reader(csv.as_bytes());
    let columns = table.headers().unwrap().clone();
    let at = |name: &str| columns.iter().position(|c| c == name).unwrap();
    let (value, low, high, rule) = (at("corrected"), at("lower_limit"), at("upper_limit"), at("rule_fired"));
    let mut rows = 0;
    for row in table.records() {
        let row = row.unwrap();
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        assert!(number(low) < number(high));
        // A value well inside its limits cannot be the one far outside.
        if row[rule].contains("one value far outside") {
            assert!(number(value) < number(low) * 1.2 || number(value) > number(high) * 0.8);
        }
        rows += 1;
    }
    assert!(rows > 30, "{rows}");
}

#[test]
fn the_hand_over_is_one_page_to_print() {
    let demo = demo();
    for (ending, start) in [("svg", &b"<svg "[..]), ("pdf", b"%PDF-1."), ("png", b"\x89PNG\r\n")] {
        let out = demo.path().join(format!("page.{ending}"));
        let run = opening(demo.path(), &["--page", out.to_str().unwrap()]);
        assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
        let bytes = std::fs::read(&out).unwrap();
        assert!(bytes.starts_with(start), "{ending}");
        let again = opening(demo.path(), &["--page", out.to_str().unwrap()]);
        assert_eq!(again.status.code(), Some(2), "an existing file stays");
    }
}

#[test]
fn several_bars_stand_below_each_other() {
    let (one, two) = (demo(), demo());
    let run = opening(one.path(), &[two.path().to_str().unwrap(), "--as", "json"]);
    assert_eq!(said(&run).lines().count(), 2);
    let text = said(&opening(one.path(), &[two.path().to_str().unwrap()]));
    assert_eq!(text.matches("\n== ").count() + usize::from(text.starts_with("== ")), 2, "{text}");
}

#[test]
fn what_is_not_understood_is_said() {
    let demo = demo();
    for (args, want) in [
        (&["--as", "xml"][..], "text, json or csv"),
        (&["--page", "x.jpg"], ".pdf, .png or .svg"),
        (&["--alarms", "0"], "--alarms takes a number"),
        (&["--at", "noon"], "--at takes a moment"),
        (&["--station", "the moon"], "no station is called"),
        (&["/nowhere/at/all"], "/nowhere/at/all"),
        (&["--page", "x.pdf", "/nowhere"], "one page holds one bar"),
    ] {
        let run = opening(demo.path(), args);
        assert_eq!(run.status.code(), Some(2), "{args:?}");
        let told = String::from_utf8_lossy(&run.stderr).into_owned();
        assert!(told.contains(want), "{args:?}: {told}");
    }
}
