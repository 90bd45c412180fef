//! `thirdpull export picture`, run as a person or a script would.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn export(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thirdpull")).arg("export").args(args).output().unwrap()
}

fn pull(folder: &Path, name: &str, delay: f64) -> PathBuf {
    let path = folder.join(name);
    let mut text = String::from("time (s),pressure (bar),cup mass (g)\n");
    for i in 0..350 {
        let t = f64::from(i) * 0.1;
        let bar = if (1.0..30.0).contains(&t) { 9.0 } else { 0.0 };
        text += &format!("{t:.1},{bar},{:.2}\n", (t.min(30.0) - 7.0 - delay).max(0.0) * 1.7);
    }
    std::fs::write(&path, text).unwrap();
    path
}

#[test]
fn two_files_become_each_kind_of_picture() {
    let folder = tempfile::tempdir().unwrap();
    let (a, b) = (pull(folder.path(), "one.csv", 0.0), pull(folder.path(), "two.csv", 2.0));
    for (ending, start) in [("svg", &b"<svg "[..]), ("pdf", b"%PDF-1."), ("png", b"\x89PNG\r\n")] {
        let out = folder.path().join(format!("picture.{ending}"));
        let told = export(&[
            "picture",
            "--median",
            "--align",
            "first-drip",
            "--out",
            out.to_str().unwrap(),
            a.to_str().unwrap(),
            b.to_str().unwrap(),
        ]);
        assert_eq!(told.status.code(), Some(0), "{}", String::from_utf8_lossy(&told.stderr));
        let bytes = std::fs::read(&out).unwrap();
        assert!(bytes.starts_with(start) && bytes.len() > 2000, "{ending}: {}", bytes.len());
        if ending == "svg" {
            let text = String::from_utf8(bytes).unwrap();
            assert!(text.contains("seconds after first drip") && text.contains("Cup mass, g"));
        }
    }
}

#[test]
fn what_cannot_be_drawn_is_said_and_nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let a = pull(folder.path(), "one.csv", 0.0).display().to_string();
    let out = folder.path().join("picture.svg").display().to_string();
    for (args, want) in [
        (vec!["picture", &a], "--out"),
        (vec!["picture", "--out", "x.jpg", &a], ".png, .svg or .pdf"),
        (vec!["picture", "--out", &out, "--align", "noon", &a], "--align takes"),
        (vec!["picture", "--out", &out, "--align", "400g", &a], "another --align"),
        (vec!["picture", "--out", &out, "no-such.csv"], "no-such.csv"),
        (vec!["picture", "--out", &out], "which pulls"),
        (vec!["picture", "--out", &a, &a], ".png, .svg or .pdf"),
    ] {
        let told = export(&args);
        assert_eq!(told.status.code(), Some(2), "{args:?}");
        let said = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(said.contains(want), "{args:?}: {said}");
    }
    assert!(!Path::new(&out).exists());
    std::fs::write(&out, "mine").unwrap();
    assert_eq!(export(&["picture", "--out", &out, &a]).status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "mine");
}
