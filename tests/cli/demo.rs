//! `thirdpull demo` writes a notebook once, the same twice, and refuses politely.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::panic)]

use std::path::Path;
use std::process::{Command, Output};

fn demo(folder: &Path, extra: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .arg("demo")
        .arg("--notebook")
        .arg(folder)
        .args(extra)
        .output()
        .expect("the program runs")
}

fn files(root: &Path, into: &mut Vec<(String, Vec<u8>)>, from: &Path) {
    for entry in std::fs::read_dir(root).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, into, from);
        } else {
            let name = path.strip_prefix(from).expect("below").display().to_string();
            into.push((name, std::fs::read(&path).expect("readable")));
        }
    }
    into.sort();
}

#[test]
fn writes_the_same_notebook_twice_and_never_over_another() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let all = |name: &str| {
        let folder = place.path().join(name);
        let run = demo(&folder, &["--anchor", "2026-11-25"]);
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let mut found = Vec::new();
        files(&folder, &mut found, &folder);
        found
    };
    let first = all("a");
    assert!(first.len() > 70 && first == all("b"));
    let again = demo(&place.path().join("a"), &["--anchor", "2026-11-25"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).starts_with("thirdpull demo: "));
}

#[test]
fn a_bad_date_is_named() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let run = demo(&place.path().join("a"), &["--anchor", "yesterday"]);
    assert_eq!(run.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&run.stderr).contains("“yesterday”"));
    assert!(!place.path().join("a").exists());
}
