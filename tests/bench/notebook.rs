//! How long a notebook takes to open and an edit to commit, against what the disk itself costs in the same run:
//! `read_the_bytes` reads the same files without understanding them, `append_and_sync` syncs a line of the same length.
//!
//! `cargo bench --no-default-features --bench notebook` times; `… -- figures` opens 100,000 pulls in 1,000 bags cold (the
//! system's own copy of the files is dropped first, where that is allowed) in a process of its own, and tells what the
//! shelf, a page, an edit and the memory come to.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::hint::black_box;
use std::io::Write;
use std::path::Path;
use std::sync::OnceLock;
use std::time::Instant;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use thirdpull::domain::{
    Attribute, Bag, BagId, Basket, DrinkerId, Finer, Flags, Gear, GrindScale, Id, Keeper, Mark, Notebook,
    Pull, PullId, Recipe, Record, Scale, Stamp, StartRecipe, Station, StationId, Taste, Tolerance,
};
use thirdpull::store::{Aside, Folder, Holder};
use thirdpull::units::UnitPreferences;
use thirdpull::workbench::view::ledger::{LedgerFilter, LedgerOrder, rows};
use thirdpull::workbench::view::opening::{Copies, Costly, Place, Wish, look_at};
use thirdpull::workbench::view::page::head;
use thirdpull::workbench::view::shelf::shelf;
use thirdpull::workbench::{Command, Workbench};

fn main() {
    if let Some(path) = std::env::var_os(CHILD) {
        return inside(Path::new(&path));
    }
    if std::env::args().any(|word| word == "figures") {
        return figures();
    }
    divan::main();
}

/// Names the notebook to the child that is measured.
const CHILD: &str = "THIRDPULL_BENCH_NOTEBOOK";

/// Makes the notebook, drops what the system remembers of it, and has it opened by a process that remembers nothing.
fn figures() {
    let path = folder(1000).join("notebook");
    for turn in 1..=3 {
        let synced = std::process::Command::new("sync").status().is_ok_and(|status| status.success());
        let cold = synced && fs::write("/proc/sys/vm/drop_caches", "3").is_ok();
        println!(
            "turn {turn}, {}",
            if cold { "cold" } else { "warm: the system does not let its caches be dropped" }
        );
        let status = std::process::Command::new(std::env::current_exe().unwrap()).env(CHILD, &path).status();
        assert!(status.unwrap().success());
    }
}

fn tell(what: &str, ms: f64, bound: f64) {
    let verdict = if ms <= bound { "held" } else { "MISSED" };
    println!("  {what}: {ms:.1} ms; bound {bound} ms {verdict}");
}

/// Resident memory now and at most, megabytes, where the system tells.
fn memory_mb(line: &str) -> Option<f64> {
    let told = fs::read_to_string("/proc/self/status").ok()?;
    let kb =
        told.lines().find(|one| one.starts_with(line))?.split_whitespace().nth(1)?.parse::<f64>().ok()?;
    Some(kb / 1024.0)
}

/// Processor's time of the whole process so far, where the system tells (in ticks of a hundredth of a second, which is
/// what Linux gives to programs).
fn processor_ms() -> Option<f64> {
    let told = fs::read_to_string("/proc/self/stat").ok()?;
    let ticks: Vec<f64> =
        told.rsplit_once(") ")?.1.split(' ').skip(11).take(2).filter_map(|text| text.parse().ok()).collect();
    (ticks.len() == 2).then(|| ticks.iter().sum::<f64>() * 10.0)
}

fn inside(path: &Path) {
    let units = UnitPreferences::default();
    let today = jiff::civil::date(2026, 11, 25);
    let began = Instant::now();
    let opened = Folder::open(path, at(0), &me()).unwrap();
    let mut bench = Workbench::new(opened.notebook, Some(Box::new(opened.folder)), None);
    let groups = shelf(bench.notebook(), today, "");
    let opened_ms = began.elapsed().as_secs_f64() * 1000.0;
    let told = processor_ms().map_or(String::new(), |ms| format!(", {ms:.0} ms of processor on all threads"));
    tell(&format!("open to a usable shelf{told}"), opened_ms, 1000.0);
    assert_eq!(groups.iter().map(|group| group.items.len()).sum::<usize>(), 1000);
    let pulls: usize = bench.notebook().bags.iter().map(|bag| bag.pulls.len()).sum();
    assert_eq!(pulls, 100_000);
    let mut pages: Vec<f64> = (0..200)
        .map(|n| {
            let began = Instant::now();
            let bag = &bench.notebook().bags[n * 5];
            black_box(head(bench.notebook(), bag, today, &units));
            let all =
                rows(bag, &gear(), LedgerFilter::default(), LedgerOrder::default(), &units, &TimeZone::UTC);
            assert_eq!(all.len(), 100);
            black_box(shelf(bench.notebook(), today, ""));
            began.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    pages.sort_by(f64::total_cmp);
    tell("a bag's page of 100 pulls and the shelf anew, 95 in 100 below", pages[190], 30.0);
    // The disk's own sync and an edit by turns, so that both meet the same disk.
    let own = path.with_file_name("own-sync");
    let mut file = fs::OpenOptions::new().append(true).create(true).open(&own).unwrap();
    let (mut syncs, mut edits) = (Vec::new(), Vec::new());
    for n in 0..200u64 {
        let began = Instant::now();
        file.write_all(&[b'x'; 700]).unwrap();
        file.sync_data().unwrap();
        syncs.push(began.elapsed().as_secs_f64() * 1000.0);
        let (bag, mut changed) = {
            let bag = &bench.notebook().bags[(n as usize * 37) % 1000];
            (bag.id, bag.pulls[50].clone())
        };
        changed.note = format!("edit {n}");
        let began = Instant::now();
        bench.apply(Command::SavePull(bag, Box::new(changed)), at(2_000_000 + n)).unwrap();
        edits.push(began.elapsed().as_secs_f64() * 1000.0);
    }
    assert!(!bench.has_unwritten());
    syncs.sort_by(f64::total_cmp);
    edits.sort_by(f64::total_cmp);
    println!("  the disk's own sync: {:.1} ms, 95 in 100 below {:.1}", syncs[100], syncs[190]);
    tell("an edit acknowledged, beyond that", edits[100] - syncs[100], 10.0);
    tell("the same, of 95 in 100", edits[190] - syncs[190], 10.0);
    if let (Some(now), Some(most)) = (memory_mb("VmRSS"), memory_mb("VmHWM")) {
        let verdict = if most <= 250.0 { "held" } else { "MISSED" };
        println!("  memory {now:.0} MB, at most {most:.0} MB; bound 250 MB {verdict}");
    }
}

fn gear() -> Gear {
    let scale = |what, min, max, step| Scale::new(what, min, max, step).unwrap();
    Gear {
        grind: GrindScale {
            scale: scale("grind", 0.0, 30.0, 0.5),
            finer: Finer::Lower,
            um_per_unit: None,
            retained_g: 0.5,
            stepless: false,
        },
        dose_g: scale("dose", 16.0, 20.0, 0.1),
        yield_g: scale("yield", 20.0, 60.0, 0.5),
        temperature_c: Some(scale("temperature", 88.0, 96.0, 0.5)),
        pressure_bar: Some(9.0),
        refractometer: true,
    }
}

fn at(second: u64) -> Timestamp {
    Timestamp::from_second(1_700_000_000 + second as i64).unwrap()
}

fn id(number: u64) -> Id {
    let mut random = [0x5a; 10];
    random[2..].copy_from_slice(&number.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes());
    Id::from_parts(at(number), random)
}

fn pull(number: u64) -> Pull {
    let recipe = Recipe { grind: 14.5, dose_g: 18.0, yield_g: 40.0, temperature_c: Some(93.0) };
    let mut taste = Taste::default();
    for (attribute, mark) in Attribute::ALL.into_iter().zip([1, 0, -1, 0, 0, 1]) {
        taste.set_mark(attribute, Mark::new(mark));
    }
    taste.set_liking(Some(6));
    Pull {
        id: PullId(id(number)),
        stamp: Stamp::new(at(number)),
        pulled_at: at(number),
        station: StationId(id(1)),
        pulled_by: "MK".into(),
        plan: Some(recipe),
        used: Recipe { dose_g: 18.1 + (number % 7) as f64 / 10.0, yield_g: 39.7, ..recipe },
        time_s: Some(27.4),
        first_drip_s: Some(6.1),
        tds_pct: Some(8.9),
        taste,
        flags: Flags::default(),
        note: "a little thin, still fine".into(),
        has_trace: true,
    }
}

fn notebook(bags: u64, pulls: u64) -> Notebook {
    let bag = |number: u64| Bag {
        id: BagId(id(number * 1000)),
        stamp: Stamp::new(at(number * 1000)),
        name: format!("Bag {number}"),
        roaster: "Lantern Yard".into(),
        roast: None,
        process: None,
        roasted_on: None,
        opened_on: None,
        mass_g: Some(250.0),
        price: None,
        station: StationId(id(1)),
        drinker: DrinkerId(id(2)),
        start: StartRecipe { grind: Some(14.0), dose_g: 18.0, yield_g: 40.0, temperature_c: None },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: (0..pulls).map(|n| pull(number * 1000 + 1 + n)).collect(),
    };
    Notebook { bags: (0..bags).map(bag).collect(), ..Notebook::default() }
}

fn me() -> Holder {
    Holder { name: String::new(), machine: "bench".into() }
}

/// Folders that live as long as the run: (bags, folder).
fn folder(bags: u64) -> &'static Path {
    static FOLDERS: [OnceLock<tempfile::TempDir>; 2] = [OnceLock::new(), OnceLock::new()];
    let slot = &FOLDERS[usize::from(bags > 100)];
    slot.get_or_init(|| {
        let dir = tempfile::tempdir().unwrap();
        Folder::create(&dir.path().join("notebook"), &notebook(bags, 100), at(0), &me()).unwrap();
        dir
    })
    .path()
}

fn read_all(path: &Path) -> usize {
    fs::read_dir(path)
        .unwrap()
        .map(|item| {
            let path = item.unwrap().path();
            if path.is_dir() { read_all(&path) } else { fs::read(path).unwrap().len() }
        })
        .sum()
}

#[divan::bench(args = [100, 1000], sample_count = 5, sample_size = 1)]
fn read_the_bytes(bencher: divan::Bencher, bags: u64) {
    let path = folder(bags).join("notebook");
    bencher.bench(|| read_all(black_box(&path)));
}

#[divan::bench(args = [100, 1000], sample_count = 5, sample_size = 1)]
fn open(bencher: divan::Bencher, bags: u64) {
    let path = folder(bags).join("notebook");
    bencher.bench(|| {
        let opened = Folder::open(black_box(&path), at(0), &me()).unwrap();
        assert_eq!(opened.notebook.bags.len() as u64, bags);
        opened
    });
}

#[divan::bench(args = [100, 1000], sample_count = 200, sample_size = 1)]
fn commit(bencher: divan::Bencher, bags: u64) {
    let path = folder(bags).join("notebook");
    let mut opened = Folder::open(&path, at(0), &me()).unwrap();
    let mut number = 0;
    bencher.bench_local(|| {
        number += 1;
        let record = Record::Pull(BagId(id(1000)), Box::new(pull(1050 + number % 40)));
        opened.folder.commit(&[record], &[], "yield of a pull", at(number)).unwrap();
    });
}

#[divan::bench(sample_count = 200, sample_size = 1)]
fn append_and_sync(bencher: divan::Bencher) {
    let dir = tempfile::tempdir().unwrap();
    let mut file = fs::OpenOptions::new().append(true).create(true).open(dir.path().join("tail")).unwrap();
    let line = [b'x'; 700];
    bencher.bench_local(|| {
        file.write_all(&line).unwrap();
        file.sync_data().unwrap();
    });
}

/// A chain of bars: 50 stations, a year of 40 pulls a day each, a record of a coffee kept for two months at a time: the
/// last has 2400 pulls.
fn chain() -> &'static (Notebook, Timestamp) {
    static CHAIN: OnceLock<(Notebook, Timestamp)> = OnceLock::new();
    CHAIN.get_or_init(|| {
        const DAY: u64 = 86_400;
        let scale = |what, min, max, step| Scale::new(what, min, max, step).unwrap();
        let gear = Gear {
            grind: GrindScale {
                scale: scale("grind", 0.0, 30.0, 0.5),
                finer: Finer::Lower,
                um_per_unit: None,
                retained_g: 2.0,
                stepless: false,
            },
            dose_g: scale("dose", 16.0, 20.0, 0.1),
            yield_g: scale("yield", 20.0, 60.0, 0.5),
            temperature_c: None,
            pressure_bar: Some(9.0),
            refractometer: false,
        };
        let recipe = Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: None };
        let mut notebook = Notebook::default();
        for s in 0..50u64 {
            let station = StationId(id(s + 1));
            notebook.stations.push(Station {
                id: station,
                stamp: Stamp::new(at(0)),
                name: format!("Station {s}"),
                grinder_name: String::new(),
                machine_name: String::new(),
                gear,
                basket: Basket { diameter_mm: 58.0, stated_dose_g: 18.0 },
                archived: false,
                note: String::new(),
            });
            for span in 0..6u64 {
                let days = span * 61..(span * 61 + 61).min(365);
                let Some(first) = days.clone().next() else { continue };
                let made = first * DAY + 20_000 + s;
                let mut bag = notebook_bag(made, s, span, station);
                for day in days.clone() {
                    for k in 0..40u64 {
                        let second = day * DAY + 24_000 + k * 720 + s;
                        // Scatter of some percent without a random source: two waves that never meet.
                        let wave = (second as f64 * 0.37).sin() + (second as f64 * 1.93).cos();
                        bag.pulls.push(Pull {
                            used: recipe,
                            plan: None,
                            time_s: Some(27.0 * (0.025 * wave).exp()),
                            note: String::new(),
                            taste: Taste::default(),
                            tds_pct: None,
                            pulled_by: ["MK", "JO", "KV"][(k % 3) as usize].into(),
                            station,
                            ..pull(second)
                        });
                    }
                }
                bag.keeper = Some(Keeper {
                    recipe,
                    time_s: Some(27.0),
                    tolerance: Tolerance::default(),
                    kept_at: at(made),
                    from_pull: None,
                });
                bag.finished = span < 5;
                notebook.bags.push(bag);
            }
        }
        notebook.bags.sort_by_key(|bag| bag.id);
        let now = at(364 * DAY + 24_000 + 40 * 720);
        (notebook, now)
    })
}

fn notebook_bag(made: u64, station: u64, span: u64, on: StationId) -> Bag {
    Bag {
        id: BagId(id(made)),
        stamp: Stamp::new(at(made)),
        name: format!("Coffee {station}, bag {span}"),
        roaster: "Lantern Yard".into(),
        roast: None,
        process: None,
        roasted_on: None,
        opened_on: None,
        mass_g: Some(5000.0),
        price: None,
        station: on,
        drinker: DrinkerId(id(2)),
        start: StartRecipe { grind: Some(14.0), dose_g: 18.0, yield_g: 36.0, temperature_c: None },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: Vec::new(),
    }
}

/// What the thread that draws does when the opening is called up for the first time.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn opening_of_a_chain_copied_first(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    bencher.bench_local(|| Copies::default().snapshot(black_box(notebook), *now));
}

/// And after each edit.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn opening_of_a_chain_copied_again(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let mut copies = Copies::default();
    let _first = copies.snapshot(notebook, *now);
    bencher.bench_local(|| copies.snapshot(black_box(notebook), *now));
}

/// What the worker does until the bar stands on the screen, usual thresholds standing in.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn opening_of_a_chain(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let snapshot = Copies::default().snapshot(notebook, *now);
    let units = UnitPreferences::default();
    let place = Place { now: *now, zone: &jiff::tz::TimeZone::UTC, units: &units };
    bencher.bench_local(|| {
        let wish = Wish { fresh: 0, causes: false, ..Wish::default() };
        let view = look_at(&snapshot.books(), place, &wish, &mut Costly::default());
        assert_eq!(view.coffees.len(), 50);
        view
    });
}

/// Where the spread of a chain comes from, which the window works out on a thread of its own.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn causes_of_a_chain(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let snapshot = Copies::default().snapshot(notebook, *now);
    let units = UnitPreferences::default();
    let place = Place { now: *now, zone: &jiff::tz::TimeZone::UTC, units: &units };
    let wish = Wish { fresh: 0, causes: false, ..Wish::default() };
    let view = look_at(&snapshot.books(), place, &wish, &mut Costly::default());
    bencher.bench_local(|| view.spread.causes());
}

/// One coffee's threshold at full effort.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn one_threshold(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let snapshot = Copies::default().snapshot(notebook, *now);
    let units = UnitPreferences::default();
    let place = Place { now: *now, zone: &jiff::tz::TimeZone::UTC, units: &units };
    let station = Some(notebook.stations[0].id);
    bencher.bench_local(|| {
        let wish = Wish { station, causes: false, ..Wish::default() };
        look_at(&snapshot.books(), place, &wish, &mut Costly::default())
    });
}

/// The chain's notebook from disk, its 730 000 pulls read whole.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn open_a_chain_from_disk(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    drop(Folder::create(&path, notebook, *now, &me()).unwrap());
    bencher.bench_local(|| {
        let opened = Folder::read(&path, *now, &me()).unwrap();
        assert_eq!(opened.notebook.bags.len(), 300);
    });
}

/// The same once its bags lie aside as they were read, as in the window from the second opening on.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn open_a_chain_from_disk_again(bencher: divan::Bencher) {
    let (notebook, now) = chain();
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    drop(Folder::create(&path, notebook, *now, &me()).unwrap());
    // A file changed a moment ago is not kept aside.
    std::thread::sleep(std::time::Duration::from_secs(5));
    let aside = Aside::at(dir.path().join("aside")).unwrap();
    let open = || Folder::open_beside(&path, *now, &me(), false, Some(&aside)).unwrap();
    let first = open();
    assert_eq!(&first.notebook, notebook);
    drop(first);
    bencher.bench_local(|| {
        let opened = open();
        assert_eq!(opened.notebook.bags.len(), 300);
        opened
    });
    assert_eq!(&open().notebook, notebook);
}

/// One word of the catalogue, as the window asks for thousands a frame.
#[divan::bench]
fn a_word() -> &'static str {
    thirdpull::words::word(black_box("language-name"))
}

/// The reference: a look into a map of as many texts.
#[divan::bench]
fn a_look_into_a_map(bencher: divan::Bencher) {
    let map: std::collections::HashMap<String, &str> =
        (0..2_500).map(|n| (format!("view-opening-row-{n}"), "text")).collect();
    bencher.bench_local(|| map.get(black_box("view-opening-row-1234")).copied());
}
