//! Packets and backups: what goes out comes back, in part where asked, and a stranger's file can do no harm.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Command;

use thirdpull::store::{PackOptions, back_up, backups, read_backup, read_packet, unpack_backup};

use super::*;

const ALL: PackOptions = PackOptions { names: true, notes: true, traces: true };

fn with_trace(path: &Path) -> Opened {
    let mut start = notebook();
    start.bags[0].pulls[1].has_trace = true;
    let mut opened = Folder::create(path, &start, at(1000), &me()).unwrap();
    let trace = Trace::new(vec![0.0, 0.5, 1.0], [(Channel::Pressure, vec![1.0, 8.5, 9.0])]).unwrap();
    opened.folder.save_trace(PullId(id(101)), &trace).unwrap();
    opened
}

/// An empty notebook of someone else.
fn stranger(path: &Path) -> Opened {
    let holder = Holder { name: "Ned".into(), machine: "kitchen".into() };
    Folder::create(path, &Notebook::default(), at(1000), &holder).unwrap()
}

#[test]
fn a_bag_goes_out_is_answered_and_comes_back() {
    let (dir, path) = fresh();
    let mut mine = with_trace(&path);
    let file = dir.path().join("quarry.thirdpull");
    mine.folder.pack(&[BagId(id(10))], ALL, "Mara", at(1010), &file).unwrap();

    let mut theirs = stranger(&dir.path().join("theirs"));
    let packet = read_packet(&file).unwrap();
    assert_eq!((packet.from.as_str(), &packet.bags[..]), ("Mara", &["Quarry Road / washed".to_owned()][..]));
    let preview = theirs.folder.preview_packet(&packet).unwrap();
    // A bag, four pulls, a station, a drinker.
    assert_eq!((preview.added.len(), preview.traces, preview.conflicts.len()), (7, 1, 0), "{preview:?}");
    assert_eq!(theirs.folder.reload().0, Notebook::default());
    assert_eq!(theirs.folder.take_packet(&packet).unwrap(), preview);
    let (got, problems) = theirs.folder.reload();
    assert_eq!(problems, []);
    assert_eq!(
        (&got.bags, &got.stations, &got.drinkers),
        (&mine.notebook.bags, &mine.notebook.stations, &mine.notebook.drinkers)
    );
    assert_eq!(theirs.folder.load_trace(PullId(id(101))), mine.folder.load_trace(PullId(id(101))));

    let answer = Record::Pull(BagId(id(10)), Box::new(pull(500)));
    theirs.folder.commit(&[answer], &[], "an answer", at(1020)).unwrap();
    let reply = dir.path().join("reply.thirdpull");
    theirs.folder.pack(&[BagId(id(10))], ALL, "Ned", at(1030), &reply).unwrap();
    let merged = mine.folder.take_packet(&read_packet(&reply).unwrap()).unwrap();
    assert_eq!(merged.added, [RecordKey::Pull(BagId(id(10)), PullId(id(500)))]);
    assert!(merged.updated.is_empty() && merged.conflicts.is_empty(), "{merged:?}");
}

#[test]
fn without_names_and_notes_nothing_of_them_goes_out_and_nothing_is_overwritten_on_return() {
    let (dir, path) = fresh();
    let mut mine = with_trace(&path);
    let file = dir.path().join("quarry.thirdpull");
    let bare = PackOptions { names: false, notes: false, traces: false };
    mine.folder.pack(&[BagId(id(10))], bare, "Mara", at(1010), &file).unwrap();
    let text = gunzip(&file);
    for word in
        ["Mara", "Ilse", "MK", "Window bar", "a bit thin", "line one", "not a comment", "pressure_bar: ["]
    {
        assert!(!text.contains(word), "“{word}” is in the packet");
    }
    // Through a stranger's notebook and back.
    let mut theirs = stranger(&dir.path().join("theirs"));
    theirs.folder.take_packet(&read_packet(&file).unwrap()).unwrap();
    let reply = dir.path().join("reply.thirdpull");
    theirs.folder.pack(&[BagId(id(10))], ALL, "Ned", at(1030), &reply).unwrap();
    let before = mine.folder.reload().0;
    let merged = mine.folder.take_packet(&read_packet(&reply).unwrap()).unwrap();
    assert!(merged.is_nothing(), "{merged:?}");
    assert_eq!(mine.folder.reload().0, before);
}

/// The system's own gzip (RFC 1952) opens the container.
fn gunzip(file: &Path) -> String {
    let out = Command::new("gzip").arg("-dc").stdin(fs::File::open(file).unwrap()).output().unwrap();
    assert!(out.status.success(), "{out:?}");
    String::from_utf8(out.stdout).unwrap()
}

/// A packet as another program would write it, after the description of the format, packed by the system's gzip.
fn foreign(dir: &Path, parts: &[(&str, &str)]) -> std::path::PathBuf {
    let mut text = String::from("//// thirdpull 1\n");
    for (name, part) in parts {
        text.push_str(&format!("//// {} {name}\n{part}\n", part.len()));
    }
    gzip(dir, text.as_bytes())
}

fn gzip(dir: &Path, bytes: &[u8]) -> std::path::PathBuf {
    let plain = dir.join("plain");
    fs::write(&plain, bytes).unwrap();
    let file = dir.join("foreign.thirdpull");
    let _ = fs::remove_file(&file);
    let out = Command::new("gzip").arg("-c").stdin(fs::File::open(&plain).unwrap()).output().unwrap();
    fs::write(&file, out.stdout).unwrap();
    file
}

#[test]
fn a_part_that_cannot_be_read_is_named_and_keeps_no_other_out() {
    let (dir, path) = fresh();
    let mut mine = with_trace(&path);
    let file = dir.path().join("bag.thirdpull");
    mine.folder.pack(&[BagId(id(10))], ALL, "Ilse", at(2000), &file).unwrap();
    let mut parts = gunzip(&file).into_bytes();
    let backwards = format!("(format: 1, pull: \"{}\", time_s: [1, 0], flow_g_s: [1, 2])", id(700));
    for (name, part) in [("traces/b.ron", backwards.as_bytes()), ("bags/c.ron", &[0xff, 0xfe, 0xfd])] {
        parts.extend_from_slice(format!("//// {} {name}\n", part.len()).as_bytes());
        parts.extend_from_slice(part);
        parts.push(b'\n');
    }
    let packet = read_packet(&gzip(dir.path(), &parts)).unwrap();
    let said: Vec<String> = packet.problems.iter().map(ToString::to_string).collect();
    assert!(
        said.len() == 2 && said[0].contains("traces/b.ron") && said[1].contains("bags/c.ron"),
        "{said:?}"
    );
    assert_eq!(packet.bags.len(), 1);
    let theirs = dir.path().join("theirs");
    let merged = stranger(&theirs).folder.take_packet(&packet).unwrap();
    assert_eq!((merged.traces, merged.problems.len()), (1, 2), "{merged:?}");
}

#[test]
fn a_strangers_file_can_do_no_harm() {
    let (dir, path) = fresh();
    let mut mine = with_trace(&path);
    let head = ("packet.ron", "(format: 1, from: \"x\", made: \"2026-09-21T14:00:00Z\")");
    let refused = |file: &Path, says: &str| {
        let fault = read_packet(file).unwrap_err().to_string();
        assert!(fault.contains(says), "{says}: {fault}");
    };
    fs::write(dir.path().join("noise"), [0x1f, 0x8b, 8, 0, 1, 2, 3, 250, 251]).unwrap();
    refused(&dir.path().join("noise"), "not a file of this program");
    refused(dir.path(), "could not be read");
    refused(&gzip(dir.path(), b"hello"), "not a file of this program");
    refused(&gzip(dir.path(), b"//// thirdpull 1\n//// 999999999999 x\n"), "unfolds to more than 256 MB");
    refused(&gzip(dir.path(), b"//// thirdpull 1\n//// 100 packet.ron\n(format: 1"), "cut short");
    refused(&gzip(dir.path(), b"//// thirdpull 1\n"), "empty");
    refused(&foreign(dir.path(), &[("packet.ron", "(format: 2, made: \"x\")")]), "newer version");
    // 300 MB of zeros pack to 300 kB.
    let mut bomb = b"//// thirdpull 1\n//// 200000000 packet.ron\n".to_vec();
    bomb.resize(200_000_000, b' ');
    refused(&gzip(dir.path(), &bomb), "cut short");
    // A path that leads elsewhere is no path here, deep nesting and nonsense are named, the rest is taken.
    let nested = format!("(format: 1, x: {})", "(".repeat(100_000));
    let file = foreign(
        dir.path(),
        &[
            head,
            ("../../../../tmp/evil.ron", "boo"),
            ("bags/../../evil.ron", &nested),
            ("stations/a.ron", "(format: 1, id: \"../../evil\")"),
            ("traces/../x.ron", "(format: 1, pull: \"x\", time_s: [1])"),
        ],
    );
    let packet = read_packet(&file).unwrap();
    assert_eq!(packet.problems.len(), 3, "{:?}", packet.problems);
    assert!(mine.folder.take_packet(&packet).unwrap().is_nothing());
    assert!(!dir.path().join("evil.ron").exists());
    assert_eq!(mine.folder.reload().0, mine.notebook);
}

#[test]
fn backups_are_dated_bounded_and_can_be_restored() {
    let (dir, path) = fresh();
    let mut opened = with_trace(&path);
    opened.folder.commit(&[Record::Pull(BagId(id(10)), Box::new(pull(500)))], &[], "pull", at(1001)).unwrap();
    opened.folder.settle().unwrap();
    let expected = opened.folder.reload().0;
    // A hundred daily backups, and several on the last day.
    let day = 86_400;
    for number in (0..100).map(|n| n * day).chain([99 * day + 3600, 99 * day + 7200]) {
        back_up(&path, at(number)).unwrap();
    }
    let kept = backups(&path);
    let newest = kept.last().unwrap();
    assert_eq!(newest.made, at(99 * day + 7200));
    assert!((20..35).contains(&kept.len()), "{} backups are kept", kept.len());
    assert!(kept[0].made < at(40 * day), "the oldest is of {}", kept[0].made);
    assert_eq!(read_backup(&newest.path).unwrap(), (expected.clone(), vec![]));
    let target = dir.path().join("restored");
    unpack_backup(&newest.path, &target).unwrap();
    assert_eq!(open(&target).notebook, expected);
    assert!(unpack_backup(&newest.path, &target).is_err());
    assert!(gunzip(&newest.path).contains("Quarry Road / washed"));
    // A damaged one is refused.
    let mut bytes = fs::read(&newest.path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x40;
    fs::File::create(&newest.path).unwrap().write_all(&bytes).unwrap();
    assert!(read_backup(&newest.path).is_err());
}
