//! Every command, run on the demo notebook in a folder of its own.

use crate::folders::copy;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn thirdpull(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .args(args)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env("THIRDPULL_NOTEBOOK", "/nowhere/at/all")
        .output()
        .expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("the program speaks UTF-8")
}

/// The demo notebook that is kept in the repository, copied so that nothing can change it.
fn demo() -> tempfile::TempDir {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook");
    let to = tempfile::tempdir().expect("a folder");
    copy(&from, to.path());
    to
}

fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut todo = vec![folder.to_owned()];
    while let Some(next) = todo.pop() {
        for entry in std::fs::read_dir(&next).expect("readable").flatten() {
            if entry.path().is_dir() {
                todo.push(entry.path());
            } else {
                let name = entry.path().strip_prefix(folder).expect("below").to_owned();
                found.push((name, std::fs::read(entry.path()).expect("readable")));
            }
        }
    }
    found.sort();
    found
}

#[test]
fn every_command_explains_itself() {
    for command in [
        &[][..],
        &["pass-on"],
        &["receive"],
        &["merge"],
        &["versions"],
        &["backups"],
        &["advise"],
        &["check"],
        &["words"],
        &["demo"],
        &["export"],
        &["opening"],
        &["read"],
        &["replay"],
        &["simulate"],
        &["tasting"],
    ] {
        let mut args = command.to_vec();
        args.push("--help");
        let run = thirdpull(&args);
        assert_eq!(run.status.code(), Some(0), "{args:?}");
        let help = text(&run.stdout);
        assert!(
            help.starts_with("thirdpull") && help.contains("USAGE") && help.len() > 300,
            "{args:?}: {help}"
        );
        assert!(run.stderr.is_empty());
    }
}

#[test]
fn what_is_not_understood_is_told_on_standard_error() {
    for (args, said) in [
        (&["brew"][..], "no command “brew”"),
        (&["export"], "say what"),
        (&["export", "--loud", "pulls"], "--loud"),
        (&["check", "--notebook", "/nowhere/at/all"], "is not there"),
        (&["check", "/nowhere/at/all"], "“/nowhere/at/all” is not there"),
        (&["check", "/nowhere/at", "/nowhere/all"], "one notebook at a time"),
        (&["check", "/nowhere/at", "--notebook", "/nowhere/all"], "one notebook at a time"),
        (&["export", "--notebook", "/nowhere/at/all", "pulls"], "/nowhere/at/all"),
        (&["demo"], "--notebook"),
        (&["simulate", "/nowhere.ron"], "/nowhere.ron"),
    ] {
        let run = thirdpull(args);
        assert_eq!(run.status.code(), Some(2), "{args:?}");
        assert!(run.stdout.is_empty(), "{args:?}");
        assert!(text(&run.stderr).contains(said), "{args:?}: {}", text(&run.stderr));
    }
}

#[test]
fn the_demo_is_sound_and_can_be_made_again() {
    let kept = demo();
    let place = kept.path().display().to_string();
    for named in [&["check", "--notebook", &place][..], &["check", &place]] {
        let run = thirdpull(named);
        assert_eq!((run.status.code(), text(&run.stderr).as_str()), (Some(0), ""), "{}", text(&run.stdout));
        assert!(text(&run.stdout).contains(&place), "{named:?}: {}", text(&run.stdout));
    }
    let again = tempfile::tempdir().expect("a folder");
    let path = again.path().join("demo").display().to_string();
    let run = thirdpull(&["demo", "--notebook", &path, "--anchor", "2026-11-25"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    let made: Vec<_> = files(Path::new(&path))
        .into_iter()
        .filter(|(name, _)| !name.starts_with("journal") && name.extension().is_some_and(|e| e == "ron"))
        .filter(|(name, _)| !name.ends_with("holder.ron"))
        .collect();
    let kept: Vec<_> = files(kept.path())
        .into_iter()
        .filter(|(name, _)| name.extension().is_some_and(|e| e == "ron"))
        .collect();
    let names = |list: &[(PathBuf, Vec<u8>)]| list.iter().map(|(n, _)| n.clone()).collect::<Vec<_>>();
    assert_eq!(names(&made), names(&kept));
    for ((name, made), (_, kept)) in made.iter().zip(&kept) {
        assert!(
            made == kept,
            "{} differs: write demo-data/notebook again with `thirdpull demo`",
            name.display()
        );
    }
}

#[test]
fn a_broken_notebook_is_named_with_line_and_column() {
    let notebook = demo();
    let bag = files(notebook.path()).into_iter().find(|(name, _)| name.starts_with("bags")).expect("a bag");
    let broken = text(&bag.1).replacen("roast: ", "roast: ~", 1);
    std::fs::write(notebook.path().join(&bag.0), broken).expect("writable");
    let run = thirdpull(&["check", "--notebook", &notebook.path().display().to_string()]);
    assert_eq!(run.status.code(), Some(1));
    let said = text(&run.stdout);
    assert!(said.contains(&format!("{}:8:", bag.0.display())), "{said}");
}

#[test]
fn pulls_and_traces_are_exported_as_tables() {
    let notebook = demo();
    let place = notebook.path().display().to_string();
    let run = thirdpull(&["export", "--notebook", &place, "pulls"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    let mut table = csv::Reader::from_reader(run.stdout.as_slice());
    let header = table.headers().expect("a header").clone();
    let column = |name: &str| header.iter().position(|h| h == name).unwrap_or_else(|| panic!("{name}"));
    let rows: Vec<csv::StringRecord> = table.records().collect::<Result<_, _>>().expect("a sound table");
    assert!(rows.len() >= 120, "{} pulls", rows.len());
    // Definition of extraction: strength times drink over dose (Batali et al., Sci. Rep. 10, 16450, 2020).
    let mut checked = 0;
    for row in &rows {
        let number = |name: &str| row.get(column(name)).and_then(|t| t.parse::<f64>().ok());
        if let (Some(tds), Some(drink), Some(dose), Some(extraction)) =
            (number("strength_pct"), number("yield_g"), number("dose_g"), number("extraction_pct"))
        {
            assert!((extraction - tds * drink / dose).abs() < 0.01, "{row:?}");
            checked += 1;
        }
    }
    assert!(checked > 10, "{checked} pulls with a strength");
    let with_trace = rows.iter().find(|row| row.get(column("has_trace")) == Some("1")).expect("a trace");
    let id = with_trace.get(column("pull_id")).expect("an id");
    let run = thirdpull(&["export", "--notebook", &place, "trace", id]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    assert!(text(&run.stdout).starts_with("time_s,"), "{}", text(&run.stdout));
    assert!(text(&run.stdout).lines().count() > 100);
    let out = notebook.path().join("pulls.csv").display().to_string();
    assert_eq!(thirdpull(&["export", "--notebook", &place, "--out", &out, "pulls"]).status.code(), Some(0));
    let twice = thirdpull(&["export", "--notebook", &place, "--out", &out, "pulls"]);
    assert_eq!(twice.status.code(), Some(2), "an existing file is not overwritten");
}

#[test]
fn no_screen_gives_one_plain_sentence() {
    let run = thirdpull(&["--notebook", &demo().path().display().to_string()]);
    assert_eq!(run.status.code(), Some(2));
    let said = text(&run.stderr);
    assert!(said.contains("screen") || said.contains("no window"), "{said}");
    assert_eq!(said.lines().count(), 1, "{said}");
}

#[test]
fn an_export_names_what_it_had_to_leave_out() {
    let folder = demo();
    let bags: Vec<PathBuf> =
        files(folder.path()).into_iter().map(|f| f.0).filter(|f| f.starts_with("bags")).collect();
    std::fs::write(folder.path().join(&bags[0]), "(format: 1,\n  id: ").expect("written");
    let out = folder.path().join("pulls.csv");
    let place = folder.path().to_str().expect("UTF-8");
    let run = thirdpull(&["export", "--notebook", place, "pulls", "--out", out.to_str().expect("UTF-8")]);
    assert_eq!(run.status.code(), Some(1), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains(bags[0].to_str().expect("UTF-8")), "{}", text(&run.stderr));
    assert!(std::fs::read_to_string(&out).expect("written all the same").lines().count() > 1);
}

#[test]
fn an_export_that_fails_leaves_no_file_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("pulls.csv");
    let out = out.to_str().expect("UTF-8");
    let run = thirdpull(&["export", "--notebook", "/nowhere/at/all", "pulls", "--out", out]);
    assert_eq!(run.status.code(), Some(2));
    assert_eq!(std::fs::read_dir(folder.path()).expect("readable").count(), 0);
    std::fs::write(out, "mine").expect("written");
    let run = thirdpull(&["export", "dictionary", "--out", out]);
    assert_eq!(run.status.code(), Some(2));
    assert!(text(&run.stderr).contains("is there already"), "{}", text(&run.stderr));
    assert_eq!(std::fs::read_to_string(out).expect("still there"), "mine");
}

#[test]
fn the_taste_map_is_written_as_numbers() {
    let notebook = demo();
    let place = notebook.path().to_str().unwrap();
    let pulls = thirdpull(&["export", "--notebook", place, "pulls"]);
    let pulls = String::from_utf8(pulls.stdout).unwrap();
    let bag = pulls.lines().next_back().unwrap().split(',').nth(2).unwrap().to_owned();
    let map = thirdpull(&["export", "--notebook", place, "taste-map", &bag]);
    assert_eq!(map.status.code(), Some(0), "{}", String::from_utf8_lossy(&map.stderr));
    let text = String::from_utf8(map.stdout).unwrap();
    let head = "grind_setting,dose_g,yield_g,temperature_c,liking_mean_1_9,liking_sd,place";
    assert_eq!(text.lines().next(), Some(head));
    let mut likings = Vec::new();
    for row in text.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        assert_eq!(cells.len(), 7);
        likings.push(cells[4].parse::<f64>().unwrap());
        assert!(cells[5].parse::<f64>().unwrap() > 0.0);
    }
    assert!(likings.len() > 50 && likings.iter().all(|l| (1.0..=9.0).contains(l)));
    assert!(likings.iter().any(|l| (l - likings[0]).abs() > 0.3), "a map, not a plain");
    let by_dose = thirdpull(&["export", "--notebook", place, "taste-map", &bag, "--levers", "dose,grind"]);
    assert_eq!(by_dose.status.code(), Some(0));
    for (args, want) in [
        (["taste-map", "no such bag"].as_slice(), "no bag called"),
        (&["taste-map", &bag, "--levers", "grind,grind"], "two different levers"),
        (&["taste-map", &bag, "--levers", "grind,colour"], "not “colour”"),
    ] {
        let told = thirdpull(&[&["export", "--notebook", place], args].concat());
        assert_eq!(told.status.code(), Some(2));
        let said = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(said.contains(want), "{said}");
    }
}

#[test]
fn a_keepers_card_is_written_to_print() {
    let folder = tempfile::tempdir().unwrap();
    let notebook = demo();
    let place = notebook.path().to_str().unwrap();
    let pulls = String::from_utf8(thirdpull(&["export", "--notebook", place, "pulls"]).stdout).unwrap();
    let mut bags: Vec<&str> = pulls.lines().skip(1).filter_map(|row| row.split(',').nth(2)).collect();
    bags.dedup();
    let (mut written, mut refused) = (0, 0);
    for bag in bags {
        for (ending, start) in [("pdf", &b"%PDF-1."[..]), ("png", b"\x89PNG\r\n"), ("svg", b"<svg ")] {
            let out = folder.path().join(format!("{bag}.{ending}"));
            let told =
                thirdpull(&["export", "--notebook", place, "bar-card", bag, "--out", out.to_str().unwrap()]);
            if told.status.code() == Some(2) {
                let said = String::from_utf8_lossy(&told.stderr).into_owned();
                assert!(said.contains("no keeper yet"), "{said}");
                assert!(!out.exists());
                refused += 1;
                continue;
            }
            let bytes = std::fs::read(&out).unwrap();
            assert!(bytes.starts_with(start) && bytes.len() > 4000, "{ending}: {}", bytes.len());
            if ending == "svg" {
                let text = String::from_utf8(bytes).unwrap();
                assert!(text.contains(">Dose</text>") && text.contains("When it is off"));
            }
            written += 1;
        }
    }
    assert!(written >= 3 && refused >= 3, "{written} {refused}: the demo has bags of both kinds");
    let told = thirdpull(&["export", "--notebook", place, "bar-card", "x"]);
    assert!(String::from_utf8_lossy(&told.stderr).contains("--out FILE.pdf"));
}

#[test]
fn a_translator_gets_one_file_and_hears_what_is_still_missing() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("nl.ftl");
    let place = file.to_str().unwrap();
    let missing = || thirdpull(&["words", "--missing", place]);
    assert!(text(&missing().stderr).contains("cannot be read"));
    assert_eq!(missing().status.code(), Some(2));
    let whole = thirdpull(&["words"]);
    assert_eq!(whole.status.code(), Some(0));
    for id in ["language-name = ", "rule-choked-because = ", "study-hot-or-cool-title = "] {
        assert!(text(&whole.stdout).lines().any(|line| line.starts_with(id)), "{id}");
    }
    std::fs::write(&file, &whole.stdout).unwrap();
    let told = missing();
    assert_eq!((told.status.code(), told.stdout.len(), told.stderr.len()), (Some(0), 0, 0));
    let less = text(&whole.stdout).replacen("\nrule-choked-because = ", "\nrule-spelt-wrong = ", 1);
    std::fs::write(&file, less).unwrap();
    let told = missing();
    assert_eq!(told.status.code(), Some(1));
    let (more, said) = (text(&told.stdout), text(&told.stderr));
    assert!(more.contains("rule-choked-because = it choked") && more.lines().count() <= 3, "{more}");
    assert!(said.contains("nobody says “rule-spelt-wrong”") && said.contains(": 1 message"), "{said}");
    std::fs::write(&file, "a = een\nb = { $\n").unwrap();
    assert!(text(&missing().stderr).contains("line 2"));
}
