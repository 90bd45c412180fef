//! `thirdpull read`, run as a person or a script would.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thirdpull")).arg("read").args(args).output().unwrap()
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Pump from 1 to 30 s at 9 bar, first drip at 8 s, 1.7 g/s; one spike of the scale at 20 s, which stands on 3 g.
fn file(folder: &Path, name: &str) -> PathBuf {
    let path = folder.join(name);
    let mut text = String::from("time (s),pressure (bar),cup mass (g)\n");
    for i in 0..400 {
        let t = f64::from(i) * 0.1;
        let ripple = (f64::from(i) * 12.9898).sin() * 0.02;
        let bar = if (1.0..30.0).contains(&t) { 9.0 + ripple } else { 0.0 };
        let mass = 3.0 + ripple + (t.min(30.0) - 8.0).max(0.0) * 1.7 + if i == 200 { 90.0 } else { 0.0 };
        text += &format!("{t:.1},{bar:.3},{mass:.2}\n");
    }
    std::fs::write(&path, text).unwrap();
    path
}

#[test]
fn a_file_is_read_with_uncertainties_and_cleaned_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "one.csv").display().to_string();
    let told = run(&[&path]);
    assert_eq!((told.status.code(), said(&told.stderr).as_str()), (Some(0), ""));
    let text = said(&told.stdout);
    for part in [
        "one.csv\n",
        // The scale is taken to trail by 0.2 s.
        "first drip: 7.8",
        "Spikes: 1 single sample lay far",
        "The puck resists with 5.1 bar s/ml half way.",
        "Against the model",
        "  at 20 g, ",
    ] {
        assert!(text.contains(part), "“{part}” is not in\n{text}");
    }
    let measures = text.split("Measures\n").nth(1).unwrap().split("\n\n").next().unwrap();
    assert!(measures.lines().count() > 6 && measures.lines().all(|line| line.contains(" ± ")), "{measures}");
    let cleaned = run(&["--clean", &path]);
    let text = said(&cleaned.stdout);
    assert!(text.contains("What was cleaned") && text.contains("The empty cup read 3.0"), "{text}");
    // The mended samples: the spike and the cup are gone.
    let cleaned = run(&["--clean", "--samples", &path]);
    let mut table = csv::Reader::from_reader(cleaned.stdout.as_slice());
    let header = table.headers().unwrap().clone();
    let column = |name: &str| header.iter().position(|one| one == name).unwrap();
    let (time, mass) = (column("time_s"), column("cup_mass_g"));
    let rows: Vec<(f64, f64)> = table
        .records()
        .map(|row| row.unwrap())
        .filter_map(|row| Some((row[time].parse().ok()?, row[mass].parse().ok()?)))
        .collect();
    assert!(rows.len() > 390 && header.iter().any(|name| name == "flow_g_s"), "{header:?}");
    let at = |t: f64| rows.iter().find(|row| (row.0 - t).abs() < 0.01).unwrap().1;
    assert!((at(20.0) - 12.0 * 1.7).abs() < 0.2 && at(4.0).abs() < 0.1, "{} {}", at(20.0), at(4.0));
    // Resistance as a table: 9 bar · 0.963 g/ml over 1.7 g/s.
    let table = run(&["--resistance", &path]);
    let mut table = csv::Reader::from_reader(table.stdout.as_slice());
    let near = table.records().map(|row| row.unwrap()).find(|row| row[1].starts_with("25.0")).unwrap();
    assert!((near[3].parse::<f64>().unwrap() - 5.1).abs() < 0.15, "{near:?}");
}

#[test]
fn folders_and_pulls_of_the_notebook_are_read_and_trouble_is_told() {
    let folder = tempfile::tempdir().unwrap();
    file(folder.path(), "a.csv");
    file(folder.path(), "b.csv");
    std::fs::write(folder.path().join("c.csv"), "words,more words\nno,number\n").unwrap();
    let place = folder.path().display().to_string();
    let told = run(&[&place]);
    assert_eq!(told.status.code(), Some(1));
    let text = said(&told.stdout);
    assert!(text.contains("a.csv\n") && text.contains("b.csv\n"), "{text}");
    assert!(said(&told.stderr).contains("c.csv: "), "{}", said(&told.stderr));
    for (args, want) in [
        (&[][..], "say what to read"),
        (&["/nowhere/a.csv"], "a.csv"),
        (&["--dose", "a lot", &place], "--dose takes"),
        (&["--scale-lag", "0.5", &place], "add --clean"),
        (&["01a0c450-96f8-7000-8000-000000000065", "--notebook", "/nowhere/at/all"], "/nowhere/at/all"),
    ] {
        let told = run(args);
        assert_eq!(told.status.code(), Some(2), "{args:?}");
        assert!(
            told.stdout.is_empty() && said(&told.stderr).contains(want),
            "{args:?}: {}",
            said(&told.stderr)
        );
    }
    let notebook = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook");
    let copy = folder.path().join("notebook");
    crate::folders::copy(&notebook, &copy);
    let trace = std::fs::read_dir(copy.join("traces")).unwrap().flatten().next().unwrap().path();
    let id = trace.file_stem().unwrap().to_string_lossy().into_owned();
    let told = run(&["--notebook", copy.to_str().unwrap(), &id]);
    assert_eq!(told.status.code(), Some(0), "{}", said(&told.stderr));
    assert!(said(&told.stdout).contains("first drip: "), "{}", said(&told.stdout));
}
