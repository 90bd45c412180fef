//! Keeping and sharing a notebook from the command line.

use crate::folders::copy;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn run(notebook: &Path, args: &[&str]) -> Output {
    let mut all = vec![args[0], "--notebook", notebook.to_str().unwrap()];
    all.extend(&args[1..]);
    Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .args(all)
        .env("THIRDPULL_NOTEBOOK", "/nowhere/at/all")
        .env("TZ", "UTC")
        .output()
        .unwrap()
}

fn said(out: &Output) -> String {
    String::from_utf8(out.stdout.clone()).unwrap()
}

fn complained(out: &Output) -> String {
    assert_eq!(out.status.code(), Some(2), "{}", said(out));
    String::from_utf8(out.stderr.clone()).unwrap()
}

fn done(out: &Output) -> String {
    assert_eq!(out.status.code(), Some(0), "{} {}", said(out), String::from_utf8_lossy(&out.stderr));
    said(out)
}

fn demo(dir: &tempfile::TempDir, name: &str) -> PathBuf {
    let to = dir.path().join(name);
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook"), &to);
    to
}

#[test]
fn a_bag_is_passed_on_into_the_present_folder() {
    let dir = tempfile::tempdir().unwrap();
    let (mine, theirs) = (demo(&dir, "mine"), empty(&dir, "theirs"));
    let name = a_bag(&mine);
    let here = dir.path().join("here");
    std::fs::create_dir(&here).unwrap();
    for out in [&["--out", "one.thirdpull"][..], &[]] {
        let before = std::fs::read_dir(&here).unwrap().count();
        let done_here = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
            .args(["pass-on", &name, "--notebook", mine.to_str().unwrap()])
            .args(out)
            .current_dir(&here)
            .output()
            .unwrap();
        done(&done_here);
        assert_eq!(std::fs::read_dir(&here).unwrap().count(), before + 1);
    }
    for file in std::fs::read_dir(&here).unwrap() {
        let file = file.unwrap().path();
        assert!(done(&run(&theirs, &["receive", file.to_str().unwrap()])).contains(&name));
    }
}

/// An empty notebook of someone else.
fn empty(dir: &tempfile::TempDir, name: &str) -> PathBuf {
    let to = dir.path().join(name);
    std::fs::create_dir_all(&to).unwrap();
    std::fs::write(to.join("notebook.ron"), "(format: 1)").unwrap();
    to
}

/// The name of some bag of the demo.
fn a_bag(notebook: &Path) -> String {
    let table = done(&run(notebook, &["export", "pulls"]));
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let at = rows.headers().unwrap().iter().position(|name| name == "bag").unwrap();
    rows.records().next().unwrap().unwrap().get(at).unwrap().to_owned()
}

#[test]
fn a_bag_is_passed_on_looked_at_and_taken() {
    let dir = tempfile::tempdir().unwrap();
    let (mine, theirs) = (demo(&dir, "mine"), empty(&dir, "theirs"));
    let name = a_bag(&mine);
    let file = dir.path().join("bag.thirdpull");
    let file_text = file.display().to_string();
    let wrote = done(&run(&mine, &["pass-on", &name, "--from", "Odile", "--out", &file_text]));
    assert!(wrote.starts_with("wrote 1 bag to"), "{wrote}");
    let again = complained(&run(&mine, &["pass-on", &name, "--out", &file_text]));
    assert!(again.contains("is there already"), "{again}");
    let looked = done(&run(&theirs, &["receive", &file_text]));
    assert!(looked.contains("From Odile") && looked.contains("Nothing was changed"), "{looked}");
    assert!(looked.contains(&format!("of {name}")) && looked.contains("Bag "), "{looked}");
    assert!(!done(&run(&theirs, &["export", "pulls"])).contains(&name));
    let took = done(&run(&theirs, &["receive", &file_text, "--take"]));
    assert!(!took.contains("Nothing was changed"), "{took}");
    assert!(done(&run(&theirs, &["export", "pulls"])).contains(&name));
    assert!(done(&run(&theirs, &["receive", &file_text])).contains("Nothing new"));
    // Without names nobody's name goes out; the system's own gzip shows every word of it.
    let bare = dir.path().join("bare.thirdpull");
    let bare_text = bare.display().to_string();
    let args =
        ["pass-on", &name, "--without-names", "--without-notes", "--without-traces", "--out", &bare_text];
    done(&run(&mine, &args));
    let text = Command::new("gzip").arg("-dc").stdin(std::fs::File::open(&bare).unwrap()).output().unwrap();
    let text = String::from_utf8(text.stdout).unwrap();
    let names = std::fs::read_to_string(mine.join("notebook.ron")).unwrap();
    let names = names.lines().filter_map(|line| line.trim().strip_prefix("name: \"")?.strip_suffix("\","));
    for name in names {
        assert!(!text.contains(name), "“{name}” went out");
    }
    assert!(text.contains("dose_g") && !text.contains("pressure_bar: ["));
}

#[test]
fn what_cannot_be_done_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    let noise = dir.path().join("noise.thirdpull");
    std::fs::write(&noise, b"noise").unwrap();
    let noise = noise.display().to_string();
    let me = mine.display().to_string();
    for (args, words) in [
        (&["pass-on"][..], "say which bag"),
        (&["pass-on", "no such bag"], "there are:"),
        (&["pass-on", "e"], "fits more than one"),
        (&["receive", &noise], "not a file of this program"),
        (&["receive"], "one file at a time"),
        (&["merge", &me], "this notebook itself"),
        (&["merge", "/nowhere/at/all"], "there is no folder"),
        (&["versions"], "say of which bag"),
        (&["backups", "--go-back", "7"], "there are 0 backups"),
        (&["backups", "--unpack", "x"], "--unpack wants a number"),
    ] {
        let why = complained(&run(&mine, args));
        assert!(why.contains(words), "{args:?}: {why}");
    }
}

#[test]
fn an_earlier_version_is_listed_and_restored() {
    let dir = tempfile::tempdir().unwrap();
    let (mine, other) = (demo(&dir, "mine"), demo(&dir, "other"));
    let name = a_bag(&mine);
    assert!(done(&run(&mine, &["versions", &name])).contains("no earlier version"));
    // The other copy has a later edit of the bag's sheet.
    let year = std::fs::read_dir(other.join("bags")).unwrap().flatten();
    let files = year.flat_map(|year| std::fs::read_dir(year.path()).unwrap().flatten());
    let file = files
        .map(|file| file.path())
        .find(|file| std::fs::read_to_string(file).unwrap().contains(&format!("    name: \"{name}\"")))
        .unwrap();
    let text = std::fs::read_to_string(&file).unwrap();
    let at = text.find("    changed: \"").unwrap();
    let (head, rest) = text.split_at(at);
    let rest = rest.split_once('\n').unwrap().1;
    let text = format!("{head}    changed: \"2026-12-24T10:00:00Z\",\n{rest}").replacen(
        "    roaster: \"",
        "    roaster: \"New ",
        1,
    );
    assert!(text.contains("\"New "), "{text}");
    std::fs::write(&file, text).unwrap();
    let other = other.display().to_string();
    let looked = run(&mine, &["merge", &other]);
    assert!(
        said(&looked).contains("1 record changed") && said(&looked).contains("Roaster"),
        "{}",
        said(&looked)
    );
    let took = run(&mine, &["merge", &other, "--take"]);
    assert!(took.status.code() < Some(2), "{}", said(&took));
    let listed = done(&run(&mine, &["versions", &name]));
    assert!(listed.contains("  1  ") && listed.contains("Roaster New "), "{listed}");
    assert!(done(&run(&mine, &["versions", &name, "--restore", "1"])).contains("is as it was"));
    let listed = done(&run(&mine, &["versions", &name]));
    assert!(listed.contains("→ New "), "{listed}");
}

#[test]
fn backups_are_made_listed_unpacked_and_gone_back_to() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    assert!(done(&run(&mine, &["backups"])).contains("no backup yet"));
    done(&run(&mine, &["backups", "--make"]));
    let listed = done(&run(&mine, &["backups"]));
    assert_eq!(listed.lines().count(), 1, "{listed}");
    assert!(listed.contains("just now"), "{listed}");
    let before = done(&run(&mine, &["export", "pulls"]));
    std::fs::remove_dir_all(mine.join("bags")).unwrap();
    std::fs::create_dir(mine.join("bags")).unwrap();
    assert_ne!(done(&run(&mine, &["export", "pulls"])), before);
    let into = dir.path().join("then").display().to_string();
    assert!(
        done(&run(&mine, &["backups", "--unpack", "1", "--into", &into])).contains("thirdpull --notebook")
    );
    assert_eq!(done(&run(Path::new(&into), &["export", "pulls"])), before);
    assert!(
        complained(&run(&mine, &["backups", "--unpack", "1", "--into", &into]))
            .contains("nothing was changed")
    );
    // The listing is in whole seconds, and the backup of the present is of a later one.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    assert!(done(&run(&mine, &["backups", "--go-back", "1"])).contains("backup of the present"));
    assert_eq!(done(&run(&mine, &["export", "pulls"])), before);
    assert_eq!(done(&run(&mine, &["backups"])).lines().count(), 2);
}

/// Every table at once, read again by other programs: Python's zipfile and XML reader for the spreadsheet (ISO/IEC 29500),
/// its csv for the rest. Skipped where Python is missing.
#[test]
fn all_tables_are_written_and_read_by_another_program() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    let out = dir.path().join("tables");
    let into = out.display().to_string();
    done(&run(&mine, &["export", "all", "--out", &into]));
    assert!(complained(&run(&mine, &["export", "all", "--out", &into])).contains("is there already"));
    let pulls = done(&run(&mine, &["export", "pulls"]));
    assert_eq!(std::fs::read_to_string(out.join("pulls.csv")).unwrap(), pulls);
    assert_eq!(
        std::fs::read_to_string(out.join("traces.csv")).unwrap(),
        done(&run(&mine, &["export", "traces"]))
    );
    let notes = std::fs::read_to_string(out.join("columns.txt")).unwrap();
    for column in pulls.lines().next().unwrap().split(',') {
        assert!(notes.lines().any(|line| line.starts_with(column)), "{column} is not explained");
    }
    if !cfg!(feature = "xlsx") {
        println!("skipped: this build writes no spreadsheet");
        return;
    }
    let python = r#"
import csv, re, sys, zipfile
import xml.etree.ElementTree as ET
book = zipfile.ZipFile(sys.argv[1])
assert book.testzip() is None
n = {'m': 'http://schemas.openxmlformats.org/spreadsheetml/2006/main'}
words = [''.join(t.text or '' for t in si.iter('{%s}t' % n['m']))
         for si in ET.fromstring(book.read('xl/sharedStrings.xml')).findall('m:si', n)]
rows = []
for row in ET.fromstring(book.read('xl/worksheets/sheet1.xml')).iter('{%s}row' % n['m']):
    cells = {}
    for c in row.findall('m:c', n):
        column = 0
        for letter in re.match('[A-Z]+', c.get('r')).group():
            column = column * 26 + ord(letter) - 64
        v = c.find('m:v', n)
        if v is not None:
            cells[column - 1] = words[int(v.text)] if c.get('t') == 's' else float(v.text)
    rows.append(cells)
table = list(csv.reader(open(sys.argv[2], newline='', encoding='utf-8')))
assert len(rows) == len(table), (len(rows), len(table))
numbers = 0
for cells, line in zip(rows, table):
    for at, text in enumerate(line):
        cell = cells.get(at, '')
        if isinstance(cell, float):
            if table[0][at] == 'pulled_at':
                continue
            assert cell == float(text), (cell, text)
            numbers += 1
        else:
            assert cell == text or "'" + cell == text, (cell, text)
print(len(rows), numbers)
"#;
    let args = [out.join("pulls.xlsx"), out.join("pulls.csv")];
    match Command::new("python3").arg("-c").arg(python).args(args).output() {
        Ok(read) => {
            assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
            let said = said(&read);
            let numbers: usize = said.split_whitespace().nth(1).unwrap().parse().unwrap();
            assert!(numbers > 1000, "{said}");
        }
        Err(_) => println!("skipped: no python3 on this machine"),
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        if entry.path().is_dir() { found.extend(files(&entry.path())) } else { found.push(entry.path()) }
    }
    found.sort();
    found
}

/// What it said on standard error, with what was done all the same.
fn found_fault(out: &Output) -> String {
    let told = String::from_utf8(out.stderr.clone()).unwrap();
    assert_eq!(out.status.code(), Some(1), "{} {told}", said(out));
    told
}

#[test]
fn what_opening_finds_is_said_by_every_command_that_keeps() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    done(&run(&mine, &["backups"]));
    let journal = files(&mine.join("journal")).remove(0);
    std::fs::write(&journal, "no line of a journal\n").unwrap();
    let told = found_fault(&run(&mine, &["backups"]));
    assert!(told.contains("kept in set-aside"), "{told}");
    assert_eq!(
        std::fs::read_to_string(files(&mine.join("set-aside")).remove(0)).unwrap(),
        "no line of a journal\n"
    );
    done(&run(&mine, &["backups"]));
}

#[test]
fn what_cannot_be_read_is_left_out_with_a_word() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    let broken = files(&mine.join("bags")).remove(0);
    let name = broken.file_name().unwrap().to_string_lossy().into_owned();
    let count = files(&mine.join("bags")).len();
    std::fs::write(&broken, "(format: 1, id: ").unwrap();
    let packet = dir.path().join("all.thirdpull").display().to_string();
    let out = run(&mine, &["pass-on", "--all", "--out", &packet]);
    let told = found_fault(&out);
    assert!(told.contains("left out") && told.contains(&name), "{told}");
    assert!(said(&out).contains(&format!("wrote {} bags", count - 1)), "{}", said(&out));
    // Of the traces the sound ones are written.
    let mine = demo(&dir, "traces");
    let table = |text: &str| {
        text.lines()
            .filter_map(|line| line.split_once(','))
            .map(|(id, _)| id.to_owned())
            .collect::<std::collections::BTreeSet<_>>()
    };
    let whole = table(&done(&run(&mine, &["export", "traces"])));
    let broken = files(&mine.join("traces")).remove(0);
    let id = broken.file_stem().unwrap().to_string_lossy().into_owned();
    std::fs::write(&broken, "(format: 1, pull: ").unwrap();
    let out = run(&mine, &["export", "traces"]);
    let told = found_fault(&out);
    assert!(told.contains("left out") && told.contains(&id), "{told}");
    let mut rest = whole.clone();
    assert!(rest.remove(&id));
    assert_eq!(table(&said(&out)), rest);
    let into = dir.path().join("tables");
    let told = found_fault(&run(&mine, &["export", "all", "--out", into.to_str().unwrap()]));
    assert!(told.contains("left out") && told.contains(&id), "{told}");
    assert_eq!(table(&std::fs::read_to_string(into.join("traces.csv")).unwrap()), rest);
}

#[test]
fn what_only_reads_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    let bag = files(&mine.join("bags")).remove(0);
    let stem = bag.file_stem().unwrap().to_string_lossy().into_owned();
    std::fs::copy(&bag, bag.with_file_name(format!("{stem} (1).ron"))).unwrap();
    let trace = files(&mine.join("traces")).remove(0);
    let pull = trace.file_stem().unwrap().to_string_lossy().into_owned();
    let before = files(&mine);
    for args in [
        &["export", "pulls"][..],
        &["export", "trace", &pull],
        &["read", &pull],
        &["practice", "bench", "--like", &pull],
    ] {
        let out = run(&mine, args);
        assert!(out.status.code() < Some(2), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
        assert_eq!(files(&mine), before, "{args:?}");
    }
}

#[test]
fn rule_packs_and_practice_files_that_a_merge_brings_are_named() {
    let dir = tempfile::tempdir().unwrap();
    let (mine, other) = (demo(&dir, "mine"), demo(&dir, "other"));
    for file in ["rules/own.ron", "practice/coffees/own.ron"] {
        std::fs::create_dir_all(other.join(file).parent().unwrap()).unwrap();
        std::fs::write(other.join(file), "()").unwrap();
    }
    let from = other.display().to_string();
    for (args, there) in [(&["merge", &from][..], false), (&["merge", &from, "--take"], true)] {
        let told = done(&run(&mine, args));
        assert!(!told.contains("Nothing new") && told.contains("2 files of rules or practice"), "{told}");
        for file in ["rules/own.ron", "practice/coffees/own.ron"] {
            assert!(told.contains(file), "{told}");
            assert_eq!(mine.join(file).exists(), there, "{file}");
        }
    }
    assert!(done(&run(&mine, &["merge", &from])).contains("Nothing new"));
}

#[test]
fn a_backup_dated_in_the_future_is_listed_as_such() {
    let dir = tempfile::tempdir().unwrap();
    let mine = demo(&dir, "mine");
    std::fs::create_dir(mine.join("backups")).unwrap();
    std::fs::write(mine.join("backups/2199-01-02T030405Z.ron.gz"), "").unwrap();
    let listed = done(&run(&mine, &["backups"]));
    assert!(listed.contains("2199-01-02 03:04") && listed.contains("in the future"), "{listed}");
    assert!(!listed.contains("just now"), "{listed}");
}

#[test]
fn the_help_promises_a_spreadsheet_only_where_one_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let help = done(&run(dir.path(), &["export", "--help"]));
    assert_eq!(help.contains("pulls.xlsx"), cfg!(feature = "xlsx"), "{help}");
}
