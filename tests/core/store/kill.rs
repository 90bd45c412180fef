//! Kills the writer with SIGKILL at random moments during a storm of edits: no acknowledged edit may be missing, no
//! file unreadable. Twenty kills in an ordinary run; `THIRDPULL_KILLS=2000` for the full count.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use rand_core::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::*;

const SLOTS: u64 = 40;
const FOLDER: &str = "THIRDPULL_TEST_STORM";

/// The child of [`killed_at_any_moment`]: edits without end, saying each acknowledged one. Does nothing by itself.
#[test]
fn storm_of_edits() {
    let Some(folder) = std::env::var_os(FOLDER) else { return };
    let round: u64 = std::env::var("THIRDPULL_TEST_ROUND").unwrap().parse().unwrap();
    let mut random = Pcg64Mcg::seed_from_u64(round);
    let mut opened = open(Path::new(&folder));
    assert_eq!(opened.access, Access::Writer);
    let mut out = std::io::stdout().lock();
    for number in 1.. {
        let slot = random.next_u64() % SLOTS;
        let mut pull = pull(1000 + slot);
        pull.note = format!("{round} {number}");
        pull.stamp.changed = at(i64::try_from(round * 100_000 + number).unwrap());
        let bag = BagId(id(10 + slot % 3));
        let now = pull.stamp.changed;
        opened.folder.commit(&[Record::Pull(bag, Box::new(pull))], &[], "storm", now).unwrap();
        writeln!(out, "acknowledged {slot} {round} {number}").unwrap();
        out.flush().unwrap();
        if random.next_u64() % 10 == 0 {
            opened.folder.settle().unwrap();
        }
    }
}

#[test]
fn killed_at_any_moment() {
    let kills: u64 = std::env::var("THIRDPULL_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(20);
    let (_dir, path) = fresh();
    let start =
        Notebook { bags: (10..13).map(bag).collect(), stations: vec![station()], ..Notebook::default() };
    drop(Folder::create(&path, &start, at(0), &me()).unwrap());
    let mut random = Pcg64Mcg::seed_from_u64(6);
    let mut promised = vec![(0, 0); usize::try_from(SLOTS).unwrap()];
    let mut acknowledged = 0;
    for round in 1..=kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "store::kill::storm_of_edits", "--nocapture", "--test-threads=1"])
            .env(FOLDER, &path)
            .env("THIRDPULL_TEST_ROUND", round.to_string())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let (begun, first) = std::sync::mpsc::channel();
        let reader = std::thread::spawn(move || {
            let lines = lines.map_while(Result::ok).filter(|line| line.contains("acknowledged"));
            lines.inspect(|_| begun.send(()).unwrap_or_default()).collect::<Vec<_>>()
        });
        // Most kills hit the storm; one in eight hits the opening.
        if round % 8 != 0 {
            let _ = first.recv_timeout(Duration::from_secs(20));
        }
        std::thread::sleep(Duration::from_micros(random.next_u64() % 30_000));
        child.kill().unwrap();
        child.wait().unwrap();
        for line in reader.join().unwrap() {
            // The pipe may have been cut within the last line.
            let numbers: Vec<u64> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
            if let [slot, round, number] = numbers[..] {
                promised[usize::try_from(slot).unwrap()] = (round, number);
                acknowledged += 1;
            }
        }
        // Every third time a copy is looked at, so that the next storm begins on what the kill left.
        let copy = tempfile::tempdir().unwrap();
        let opened = if round % 3 == 0 {
            copy_all(&path, copy.path());
            open(copy.path())
        } else {
            open(&path)
        };
        assert_eq!(opened.problems, [], "kill {round}");
        assert_eq!(opened.access, Access::Writer, "kill {round}");
        for (slot, &promise) in (0..).zip(&promised) {
            let found = opened.notebook.pull(BagId(id(10 + slot % 3)), PullId(id(1000 + slot)));
            let found = found.map_or((0, 0), |pull| {
                let numbers: Vec<u64> = pull.note.split(' ').map(|word| word.parse().unwrap()).collect();
                (numbers[0], numbers[1])
            });
            assert!(found >= promise, "kill {round}: slot {slot} holds {found:?}, promised was {promise:?}");
        }
    }
    println!("{kills} kills, {acknowledged} acknowledged edits, none lost");
    assert!(acknowledged > kills / 2, "the storm hardly began: {acknowledged} edits in {kills} rounds");
}
