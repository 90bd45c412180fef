//! What was written once reads for ever; dates against published calendars; other programs read what is written here.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use thirdpull::store::{PackOptions, back_up, read_backup, read_packet};

use super::*;

const ALL: PackOptions = PackOptions { names: true, notes: true, traces: true };

fn golden(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/core/store").join(name)
}

/// A packet and a backup of format 1 as they first landed. (`THIRDPULL_WRITE_GOLDEN=1` wrote them.)
#[test]
fn packets_and_backups_of_format_1_read_for_ever() {
    let (packet_file, backup_file) = (golden("format-1-packet.thirdpull"), golden("format-1-backup.ron.gz"));
    let (_dir, path) = fresh();
    if std::env::var_os("THIRDPULL_WRITE_GOLDEN").is_some() {
        let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
        opened.folder.pack(&[BagId(id(10))], ALL, "Mara", at(1010), &packet_file).unwrap();
        fs::copy(back_up(&path, at(1020)).unwrap().path, &backup_file).unwrap();
        return;
    }
    assert_eq!(read_backup(&backup_file).unwrap(), (notebook(), vec![]));
    let packet = read_packet(&packet_file).unwrap();
    let mut theirs = Folder::create(&path, &Notebook::default(), at(1000), &me()).unwrap();
    theirs.folder.take_packet(&packet).unwrap();
    let (got, problems) = theirs.folder.reload();
    assert_eq!(
        (got.bags, got.stations, got.drinkers),
        (notebook().bags, notebook().stations, notebook().drinkers)
    );
    assert_eq!(problems, []);
}

/// A file of format 1 keeps its meaning whichever of its optional fields an older or a terser writer left out, and a
/// field that must be there is named.
#[test]
fn any_optional_field_may_be_missing() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let whole = fs::read_to_string(&file).unwrap();
    let must = ["format", "id", "made", "changed", "name", "station", "drinker", "start"];
    let (mut optional, mut named) = (0, 0);
    for (at_line, line) in whole.lines().enumerate() {
        let Some(field) = line.strip_prefix("    ").filter(|rest| !rest.starts_with(' ')) else { continue };
        let Some((field, value)) = field.split_once(": ") else { continue };
        if !value.ends_with(',') || value.ends_with("(,") {
            continue; // it goes over several lines
        }
        let kept: Vec<&str> =
            whole.lines().enumerate().filter(|(at, _)| *at != at_line).map(|(_, line)| line).collect();
        fs::write(&file, kept.join("\n")).unwrap();
        let opened = open(&path);
        if must.contains(&field) {
            assert_eq!(opened.notebook.bags.len(), 0, "{field}");
            assert!(opened.problems[0].to_string().contains(field), "{field}: {:?}", opened.problems);
            named += 1;
        } else {
            assert_eq!((opened.notebook.bags.len(), opened.problems.len()), (1, 0), "{field}");
            optional += 1;
        }
    }
    assert!(optional >= 8 && named >= 5, "{optional} and {named} in\n{whole}");
}

/// Fields of a newer version go wherever their record goes: into a packet, through a merge, into a backup and back.
#[test]
fn fields_of_a_newer_version_travel() {
    let (dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap().replacen(
        "    name:",
        "    altitude_m: [1, Some(2)],\n    name:",
        1,
    );
    fs::write(&file, text.replacen("            note:", "            moon: full,\n            note:", 1))
        .unwrap();
    let mut opened = open(&path);
    let packet = dir.path().join("bag.thirdpull");
    opened.folder.pack(&[BagId(id(10))], ALL, "", at(1010), &packet).unwrap();
    let backup = back_up(&path, at(1020)).unwrap().path;
    drop(opened);
    let empty = |name: &str| {
        let path = dir.path().join(name);
        (Folder::create(&path, &Notebook::default(), at(1000), &me()).unwrap(), path)
    };
    let (mut taken, taken_path) = empty("taken");
    taken.folder.take_packet(&read_packet(&packet).unwrap()).unwrap();
    let (mut merged, merged_path) = empty("merged");
    merged.folder.merge_from(&path).unwrap();
    let unpacked = dir.path().join("unpacked");
    thirdpull::store::unpack_backup(&backup, &unpacked).unwrap();
    for path in [taken_path, merged_path, unpacked] {
        let text = fs::read_to_string(bag_file(&path)).unwrap();
        assert!(text.contains("altitude_m: [1, Some(2)]") && text.contains("moon: full"), "{text}");
    }
}

/// Day counts against published ones: modified Julian dates (MJD 0 is 1858-11-17, and the standard epoch J2000.0 is MJD
/// 51 544.5: IAU), Julian dates of the worked examples in J. Meeus, "Astronomical Algorithms", chapter 7 (1957-10-04:
/// 2 436 116.5 at its end minus …, 1988-01-27: 2 447 187.5, 1999-01-01: 2 451 179.5, and 27 689 days between Halley's
/// perihelia of 1910-04-20 and 1986-02-09); recalled from memory.
#[test]
fn days_are_counted_as_published_calendars_count_them() {
    let mut bag = bag(10);
    for (from, to, days) in [
        ("1858-11-17", "2000-01-01", 51_544),
        ("1988-01-27", "1999-01-01", 2_451_179 - 2_447_187),
        ("1910-04-20", "1986-02-09", 27_689),
        // Leap years of the Gregorian calendar (ISO 8601): 2000 and 2024 are, 1900 and 2100 are not.
        ("2000-02-28", "2000-03-01", 2),
        ("2024-02-28", "2024-03-01", 2),
        ("1900-02-28", "1900-03-01", 1),
        ("2100-02-28", "2100-03-01", 1),
        ("2026-12-31", "2027-01-01", 1),
        ("2026-11-25", "2026-11-14", -11),
    ] {
        bag.roasted_on = Some(from.parse().unwrap());
        assert_eq!(bag.days_since_roast(to.parse().unwrap()), Some(days), "{from} to {to}");
    }
}

/// Moments against published pairs: RFC 3339, section 5.8 (offsets, fractions, the leap second of 1990), and POSIX seconds
/// that are known by heart (10⁹ is 2001-09-09T01:46:40Z; 2³¹ − 1 is 2038-01-19T03:14:07Z).
#[test]
fn moments_read_as_published() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let whole = fs::read_to_string(&file).unwrap();
    let made = format!("made: \"{}\"", at(5));
    assert!(whole.contains(&made), "{whole}");
    for (text, nanoseconds) in [
        ("1985-04-12T23:20:50.52Z", 482_196_050_520_000_000),
        ("1996-12-19T16:39:57-08:00", 851_042_397_000_000_000),
        ("1996-12-20T00:39:57Z", 851_042_397_000_000_000),
        ("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130_000_000),
        ("2001-09-09T01:46:40Z", 1_000_000_000_000_000_000),
        ("2038-01-19T03:14:07Z", 2_147_483_647_000_000_000),
    ] {
        fs::write(&file, whole.replacen(&made, &format!("made: \"{text}\""), 1)).unwrap();
        let opened = open(&path);
        assert_eq!(opened.problems, [], "{text}");
        assert_eq!(opened.notebook.bags[0].stamp.made.as_nanosecond(), nanoseconds, "{text}");
    }
    // A leap second is read as the second before it or after it, or refused by name; never as something else.
    fs::write(&file, whole.replacen(&made, "made: \"1990-12-31T23:59:60Z\"", 1)).unwrap();
    let opened = open(&path);
    match opened.notebook.bags.first() {
        Some(bag) => assert!((bag.stamp.made.as_second() - 662_688_000).abs() <= 1, "{}", bag.stamp.made),
        None => assert!(opened.problems[0].line > 0, "{:?}", opened.problems),
    }
}

/// Runs a program on a file; `None` (and a word about it) when the program is not here.
fn by(program: &str, args: &[&str]) -> Option<String> {
    match Command::new(program).args(args).output() {
        Ok(out) => {
            assert!(out.status.success(), "{program}: {}", String::from_utf8_lossy(&out.stderr));
            Some(String::from_utf8(out.stdout).unwrap())
        }
        Err(_) => {
            println!("skipped: no {program} on this machine");
            None
        }
    }
}

/// Python's own csv and gzip, and R's read.csv, say the same of our tables and packets as we do.
#[test]
fn other_programs_read_tables_and_packets() {
    let (dir, path) = fresh();
    let mut start = notebook();
    start.bags[0].pulls[0].note = "=SUM(A1) \"quoted\", é ☕\nnext line".into();
    start.bags[0].pulls[1].time_s = None;
    start.bags[0].pulls[2].tds_pct = Some(0.1 + 0.2);
    let mut opened = Folder::create(&path, &start, at(1000), &me()).unwrap();
    let table = dir.path().join("pulls.csv");
    thirdpull::exchange::export::write_pulls(&start, fs::File::create(&table).unwrap()).unwrap();
    let packet = dir.path().join("bag.thirdpull");
    opened.folder.pack(&[BagId(id(10))], ALL, "Mara", at(1010), &packet).unwrap();
    let (table, packet) = (table.display().to_string(), packet.display().to_string());
    let python = "import csv, gzip, sys\n\
        rows = list(csv.DictReader(open(sys.argv[1], newline='', encoding='utf-8')))\n\
        print(len(rows), repr(rows[0]['note']), rows[1]['time_s'] == '', float(rows[2]['strength_pct']) == 0.1 + 0.2)\n\
        text = gzip.open(sys.argv[2], 'rb').read()\n\
        head, rest = text.split(b'\\n', 1)\n\
        names = []\n\
        while rest:\n\
        \x20   line, rest = rest.split(b'\\n', 1)\n\
        \x20   mark, size, name = line.decode().split(' ', 2)\n\
        \x20   assert mark == '////'\n\
        \x20   part, rest = rest[:int(size)], rest[int(size) + 1:]\n\
        \x20   names.append(name.split('/')[0])\n\
        print(head.decode(), names)\n";
    if let Some(said) = by("python3", &["-c", python, &table, &packet]) {
        let lines: Vec<&str> = said.lines().collect();
        let note = "4 '\\'=SUM(A1) \"quoted\", é ☕\\nnext line' True True";
        assert_eq!(lines[0].replace("\"'=", "'\\'="), note.to_owned().replace("\"'=", "'\\'="), "{said}");
        assert_eq!(lines[1], "//// thirdpull 1 ['packet.ron', 'bags', 'stations', 'notebook.ron']");
    }
    let r = "a <- commandArgs(TRUE); d <- read.csv(a[1], encoding='UTF-8'); \
             cat(nrow(d), ncol(d), is.na(d$time_s[2]), d$dose_g[1], class(d$yield_g), d$strength_pct[3] == 0.1 + 0.2)";
    if let Some(said) = by("Rscript", &["-e", r, &table]) {
        let columns = thirdpull::exchange::export::PULL_COLUMNS.len();
        assert_eq!(said.trim(), format!("4 {columns} TRUE 18.1 numeric TRUE"));
    }
}
