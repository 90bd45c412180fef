//! The notebook folder: what is acknowledged stays, what a person wrote stays, what does not read is named.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod aside;
mod check;
mod faults;
mod faulty;
mod formats;
mod hardship;
mod keeping;
mod kept;
mod kill;
mod passing_on;
mod together;

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use thirdpull::domain::{
    Attribute, Bag, BagId, Basket, Channel, Drinker, DrinkerId, Finer, Flags, Gear, GrindScale, Id, Keeper,
    Mark, Notebook, Preferences, Price, Process, Pull, PullId, Recipe, Record, RecordKey, Roast, Scale,
    Stamp, StartRecipe, Station, StationId, Taste, Tolerance, Trace,
};
use thirdpull::store::{Access, Folder, Holder, Opened, StoreFault};

pub(crate) fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_790_000_000 + second).unwrap()
}

pub(crate) fn id(number: u64) -> Id {
    let mut random = [0; 10];
    random[2..].copy_from_slice(&number.to_be_bytes());
    Id::from_parts(at(i64::try_from(number % 1_000_000).unwrap()), random)
}

pub(crate) fn me() -> Holder {
    Holder { name: "Mara".into(), machine: "bar-laptop".into() }
}

pub(crate) fn station() -> Station {
    let scale = |min, max, step| Scale::new("scale", min, max, step).unwrap();
    Station {
        id: StationId(id(1)),
        stamp: Stamp::new(at(0)),
        name: "Window bar".into(),
        grinder_name: "the \"big\" one\\left".into(),
        machine_name: "two groups".into(),
        gear: Gear {
            grind: GrindScale {
                scale: scale(0.0, 30.0, 0.5),
                finer: Finer::Lower,
                um_per_unit: Some(22.5),
                retained_g: 1.2,
                stepless: false,
            },
            dose_g: scale(16.0, 20.0, 0.1),
            yield_g: scale(25.0, 60.0, 1.0),
            temperature_c: Some(scale(88.0, 96.0, 0.5)),
            pressure_bar: Some(9.0),
            refractometer: true,
        },
        basket: Basket { diameter_mm: 58.5, stated_dose_g: 18.0 },
        archived: false,
        note: "line one\nline two\ttab \u{2028} ☕".into(),
    }
}

pub(crate) fn drinker() -> Drinker {
    Drinker {
        id: DrinkerId(id(2)),
        stamp: Stamp::new(at(0)),
        name: "Ilse".into(),
        archived: false,
        note: String::new(),
    }
}

pub(crate) fn bag(number: u64) -> Bag {
    Bag {
        id: BagId(id(number)),
        stamp: Stamp::new(at(5)),
        name: "Quarry Road / washed".into(),
        roaster: "Lantern Yard".into(),
        roast: Some(Roast::MediumLight),
        process: Some(Process::Washed),
        roasted_on: Some(jiff::civil::date(2026, 9, 1)),
        opened_on: Some(jiff::civil::date(2026, 9, 14)),
        mass_g: Some(250.0),
        price: Some(Price { amount: 12.5, currency: "EUR".into() }),
        station: StationId(id(1)),
        drinker: DrinkerId(id(2)),
        start: StartRecipe { grind: None, dose_g: 18.0, yield_g: 40.0, temperature_c: Some(93.0) },
        time_window_s: Some((25.0, 31.0)),
        keeper: Some(Keeper {
            recipe: recipe(12.5),
            time_s: Some(28.0),
            tolerance: Tolerance { time_s: Some(2.5), ..Tolerance::default() },
            kept_at: at(400),
            from_pull: Some(PullId(id(77))),
        }),
        finished: false,
        note: "// not a comment".into(),
        pulls: Vec::new(),
    }
}

pub(crate) fn recipe(grind: f64) -> Recipe {
    Recipe { grind, dose_g: 18.1, yield_g: 39.8, temperature_c: Some(93.0) }
}

pub(crate) fn pull(number: u64) -> Pull {
    let mut taste = Taste::default();
    taste.set_mark(Attribute::Sourness, Mark::new(1));
    taste.set_mark(Attribute::Body, Mark::new(-2));
    taste.set_liking(Some(6));
    Pull {
        id: PullId(id(number)),
        stamp: Stamp::new(at(i64::try_from(number).unwrap())),
        pulled_at: at(i64::try_from(number).unwrap()),
        station: StationId(id(1)),
        pulled_by: "MK".into(),
        plan: Some(recipe(14.0)),
        used: recipe(14.0),
        time_s: Some(27.4),
        first_drip_s: Some(6.1),
        tds_pct: Some(8.9),
        taste,
        flags: Flags { spurting: true, ..Flags::default() },
        note: "a bit thin".into(),
        has_trace: false,
    }
}

pub(crate) fn notebook() -> Notebook {
    let mut bag = bag(10);
    bag.pulls = (100..104).map(pull).collect();
    Notebook {
        demo: true,
        preferences: Preferences { zoom: 1.25, ..Preferences::default() },
        drinkers: vec![drinker()],
        stations: vec![station()],
        bags: vec![bag],
    }
}

pub(crate) fn fresh() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    (dir, path)
}

pub(crate) fn open(path: &Path) -> Opened {
    Folder::open(path, at(1000), &me()).unwrap()
}

pub(crate) fn bag_file(path: &Path) -> PathBuf {
    let year = fs::read_dir(path.join("bags")).unwrap().next().unwrap().unwrap().path();
    fs::read_dir(year).unwrap().next().unwrap().unwrap().path()
}

#[test]
fn what_is_written_is_read_back() {
    let (_dir, path) = fresh();
    let made = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    assert_eq!(made.problems, []);
    assert_eq!(made.access, Access::Writer);
    assert_eq!(made.notebook, notebook());
    drop(made);
    let again = open(&path);
    assert_eq!(again.problems, []);
    assert_eq!(again.notebook, notebook());
    let text = fs::read_to_string(bag_file(&path)).unwrap();
    for line in [
        "    format: 1,\n",
        "    roast: medium_light,\n",
        "    roasted_on: \"2026-09-01\",\n",
        "    price: (amount: 12.5, currency: \"EUR\"),\n",
        "            used: (grind: 14.0, dose_g: 18.1, yield_g: 39.8, temperature_c: 93.0),\n",
        "            taste: (sourness: 1, body: -2, liking: 6),\n",
    ] {
        assert!(text.contains(line), "{line} is not in\n{text}");
    }
}

#[test]
fn a_committed_edit_is_there_without_settling() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let mut expected = notebook();
    let mut changed = pull(101);
    changed.stamp.changed = at(1001);
    changed.used.yield_g = 41.0;
    let records =
        [Record::Pull(BagId(id(10)), Box::new(changed)), Record::Pull(BagId(id(10)), Box::new(pull(200)))];
    opened
        .folder
        .commit(&records, &[RecordKey::Pull(BagId(id(10)), PullId(id(102)))], "yield of pull 2", at(1001))
        .unwrap();
    for record in records {
        expected.put(record);
    }
    expected.take(RecordKey::Pull(BagId(id(10)), PullId(id(102))));
    // As after a kill: the folder never gets to settle.
    std::mem::forget(opened.folder);
    let copy = tempfile::tempdir().unwrap();
    copy_all(&path, copy.path());
    let again = open(copy.path());
    assert_eq!(again.problems, []);
    assert_eq!(again.notebook, expected);
    drop(again);
    assert_eq!(fs::metadata(copy.path().join("journal/bar-laptop.txt")).unwrap().len(), 0);
    assert_eq!(open(copy.path()).notebook, expected);
}

pub(crate) fn copy_all(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for item in fs::read_dir(from).unwrap() {
        let item = item.unwrap();
        let target = to.join(item.file_name());
        if item.path().is_dir() {
            copy_all(&item.path(), &target);
        } else {
            fs::copy(item.path(), target).unwrap();
        }
    }
}

#[test]
fn fields_of_a_newer_version_survive() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    let text = text
        .replacen("    name:", "    altitude_m: (1850, [1, 2], Some(\"x\")), // by hand\n    name:", 1)
        .replacen("yield_g: 39.8,", "yield_g: 39.8, bloom_s: 4.5,", 9)
        .replacen("            pulled_by:", "            moon: full,\n            pulled_by:", 9);
    fs::write(&file, text).unwrap();
    let mut opened = open(&path);
    assert_eq!(opened.problems, []);
    let mut edited = pull(101);
    edited.note = "edited".into();
    let mut sheet = bag(10);
    sheet.name = "Another name".into();
    let records = [Record::Pull(BagId(id(10)), Box::new(edited)), Record::Bag(Box::new(sheet))];
    opened.folder.commit(&records, &[], "note", at(1002)).unwrap();
    drop(opened);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("Another name") && text.contains("edited"), "{text}");
    assert!(text.contains("altitude_m: (1850, [1, 2], Some(\"x\"))"), "{text}");
    assert_eq!(text.matches("bloom_s: 4.5").count(), 9, "{text}");
    assert_eq!(text.matches("moon: full").count(), 4, "{text}");
    assert_eq!(open(&path).notebook.bags[0].pulls.len(), 4);
}

#[test]
fn a_file_that_does_not_read_is_named_and_never_touched() {
    let (_dir, path) = fresh();
    drop(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let good = fs::read_to_string(&file).unwrap();
    let broken = good.replacen("roaster: \"Lantern", "roaster: Lantern", 1);
    fs::write(&file, &broken).unwrap();
    let line = broken.lines().position(|line| line.contains("roaster")).unwrap() + 1;
    let mut opened = open(&path);
    assert_eq!(opened.access, Access::Writer);
    assert!(opened.notebook.bags.is_empty() && opened.notebook.stations.len() == 1);
    let [problem] = &opened.problems[..] else { panic!("{:?}", opened.problems) };
    assert_eq!((problem.line, problem.file.clone()), (line, file.strip_prefix(&path).unwrap().to_owned()));
    assert!(problem.column > 0 && !problem.todo.is_empty(), "{problem}");
    opened.folder.commit(&[Record::Pull(BagId(id(10)), Box::new(pull(300)))], &[], "pull", at(1003)).unwrap();
    drop(opened);
    assert_eq!(fs::read_to_string(&file).unwrap(), broken);
    // Mended by hand, the waiting edit comes in.
    fs::write(&file, good).unwrap();
    let opened = open(&path);
    assert_eq!(opened.problems, []);
    assert_eq!(opened.notebook.bags[0].pulls.len(), 5);
}

#[test]
fn a_second_window_reads_only_and_says_who_writes() {
    let (_dir, path) = fresh();
    let first = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let mut second = open(&path);
    let Access::ReadOnly { holder, since } = &second.access else { panic!() };
    assert_eq!((holder.as_str(), *since), ("Mara on bar-laptop", Some(at(1000))));
    assert_eq!(second.notebook, notebook());
    let refused = second.folder.commit(&[], &[], "nothing", at(1001));
    assert!(matches!(refused, Err(StoreFault::ReadOnly(_))), "{refused:?}");
    drop(second);
    drop(first);
    assert_eq!(open(&path).access, Access::Writer);
}

#[test]
fn traces_keep_every_sample() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let time: Vec<f64> = (0..500).map(|i| f64::from(i) * 0.1).collect();
    let mass: Vec<f64> =
        time.iter().map(|t| if *t < 5.0 { f64::NAN } else { t.sin() * 1e-3 + t / 3.0 }).collect();
    let trace = Trace::new(time, [(Channel::CupMass, mass)]).unwrap();
    let pull = PullId(id(101));
    assert_eq!(opened.folder.load_trace(pull), Ok(None));
    opened.folder.save_trace(pull, &trace).unwrap();
    assert_eq!(opened.folder.load_trace(pull).unwrap(), Some(trace));
    opened.folder.drop_trace(pull).unwrap();
    assert_eq!(opened.folder.load_trace(pull), Ok(None));
}

#[test]
fn an_edit_that_someone_else_overtook_is_told_and_kept() {
    let (_dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let mut mine = pull(101);
    (mine.note, mine.stamp.changed) = ("mine".into(), at(1001));
    let key = RecordKey::Pull(BagId(id(10)), PullId(id(101)));
    opened.folder.commit(&[Record::Pull(BagId(id(10)), Box::new(mine))], &[], "note", at(1001)).unwrap();
    // File sync brings a later edit of the same pull, and a pull of its own.
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    let (from, to) = (format!("changed: \"{}\"", at(101)), format!("changed: \"{}\"", at(1500)));
    let head = text.find(&from).unwrap();
    let theirs = text[head..].replacen(&from, &to, 1).replacen("a bit thin", "theirs", 1);
    fs::write(&file, format!("{}{theirs}", &text[..head])).unwrap();
    assert!(opened.folder.settle_some(0).is_ok_and(|done| !done));
    assert!(opened.folder.settle_some(1).unwrap());
    let [told] = &opened.folder.take_trouble()[..] else { panic!("nothing was told") };
    assert!(told.what.contains("changed by someone else"), "{told}");
    let note = |record: &Record| match record {
        Record::Pull(_, pull) => pull.note.clone(),
        _ => String::new(),
    };
    assert_eq!(note(&opened.folder.reload().0.record(key).unwrap()), "theirs");
    let earlier: Vec<String> = opened.folder.versions(key).unwrap().iter().map(|v| note(&v.record)).collect();
    assert_eq!(earlier, ["mine"]);
}

/// Files of format 1 as they first landed; they must read for ever. (`THIRDPULL_WRITE_GOLDEN=1` wrote them.)
#[test]
fn format_1_reads_for_ever() {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/core/store/format-1");
    let trace = Trace::new(vec![0.0, 0.5, 1.0], [(Channel::Pressure, vec![1.0, f64::NAN, 9.0])]).unwrap();
    if std::env::var_os("THIRDPULL_WRITE_GOLDEN").is_some() {
        let mut opened = Folder::create(&golden, &notebook(), at(1000), &me()).unwrap();
        opened.folder.save_trace(PullId(id(101)), &trace).unwrap();
        let record = Record::Pull(BagId(id(10)), Box::new(pull(200)));
        opened
            .folder
            .commit(&[record], &[RecordKey::Pull(BagId(id(10)), PullId(id(100)))], "golden", at(1001))
            .unwrap();
        std::mem::forget(opened.folder);
        return;
    }
    let (_dir, path) = fresh();
    copy_all(&golden, &path);
    let opened = open(&path);
    assert_eq!(opened.problems, []);
    let mut expected = notebook();
    expected.take(RecordKey::Pull(BagId(id(10)), PullId(id(100))));
    expected.put(Record::Pull(BagId(id(10)), Box::new(pull(200))));
    assert_eq!(opened.notebook, expected);
    assert_eq!(opened.folder.load_trace(PullId(id(101))), Ok(Some(trace)));
}
