//! The open notebook and its folder: versions, changes from outside, going back, saving elsewhere, work that is stopped.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use thirdpull::store::{Outside, UNWATCHED, back_up, look, read_packet, save_elsewhere, save_elsewhere_on};
use thirdpull::workbench::{Command, Finished, Job, Workbench};

use super::faulty::FaultyDisk;
use super::*;

const KEY: fn(u64) -> RecordKey = |number| RecordKey::Pull(BagId(id(10)), PullId(id(number)));

fn bench(opened: Opened) -> Workbench {
    Workbench::new(opened.notebook, Some(Box::new(opened.folder)), opened.why_read_only)
}

fn said(bench: &Workbench) -> String {
    bench.notices().iter().map(|notice| notice.text.as_str()).collect::<Vec<_>>().join(" | ")
}

fn with_note(bench: &mut Workbench, number: u64, words: &str, second: i64) {
    let mut pull = bench.notebook().pull(BagId(id(10)), PullId(id(number))).unwrap().clone();
    pull.note = words.into();
    bench.apply(Command::SavePull(BagId(id(10)), Box::new(pull)), at(second)).unwrap();
}

fn notes(bench: &mut Workbench, number: u64) -> Vec<String> {
    let versions = bench.versions(KEY(number)).unwrap();
    versions
        .iter()
        .map(|version| match &version.record {
            Record::Pull(_, pull) => pull.note.clone(),
            _ => panic!("a pull"),
        })
        .collect()
}

fn finish(bench: &mut Workbench, job: Job) -> Result<Finished, String> {
    bench.begin(job, at(4000), Box::new(|| ())).map_err(|refusal| refusal.to_string())?;
    bench.wait_for_job(Duration::from_secs(60), at(4000)).expect("an answer")
}

#[test]
fn every_edit_of_a_session_is_an_earlier_version_also_after_a_kill() {
    let (dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    for (second, words) in (2000..).zip(["one", "two", "three"]) {
        with_note(&mut bench, 101, words, second);
    }
    // As after a kill: only the journal has them.
    let copy = dir.path().join("killed");
    copy_all(&path, &copy);
    assert_eq!(notes(&mut bench, 101), ["a bit thin", "one", "two"]);
    bench.undo(at(2010)).unwrap();
    assert_eq!(notes(&mut bench, 101), ["a bit thin", "one", "two", "three"]);
    drop(bench);
    fs::remove_file(copy.join("holder.ron")).unwrap();
    let mut killed = super::keeping::bench(open(&copy));
    assert_eq!(notes(&mut killed, 101), ["a bit thin", "one", "two"]);
}

#[test]
fn an_earlier_version_is_restored_as_an_edit_and_keeps_its_trace() {
    let (_dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let older = bench.notebook().record(KEY(101)).unwrap();
    with_note(&mut bench, 101, "later", 2000);
    let trace = Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, 1.5])]).unwrap();
    bench.attach_trace(BagId(id(10)), PullId(id(101)), trace, at(2001)).unwrap();
    let name = bench.apply(Command::Restore(Box::new(older)), at(2002)).unwrap();
    assert_eq!(name, "earlier version of pull 2");
    let stands = bench.notebook().pull(BagId(id(10)), PullId(id(101))).unwrap();
    assert!(stands.note == "a bit thin" && stands.has_trace && stands.stamp.changed >= at(2002));
    bench.undo(at(2003)).unwrap();
    assert_eq!(bench.notebook().pull(BagId(id(10)), PullId(id(101))).unwrap().note, "later");
    let gone = Record::Pull(BagId(id(99)), Box::new(pull(1)));
    assert!(bench.apply(Command::Restore(Box::new(gone)), at(2004)).is_err());
}

fn hear(bench: &mut Workbench, path: &Path) -> bool {
    bench.heard(&look(path, false), at(3000))
}

#[test]
fn changes_from_outside_are_taken_over_beside_ones_own_and_nothing_is_lost() {
    let (_dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    assert!(!hear(&mut bench, &path), "nothing happened yet");
    with_note(&mut bench, 101, "mine, still in the journal", 2000);
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    // By hand: the roaster's name, and the first pull's note, with stamps left as they were; and a field of the future.
    let edited = text.replace("Lantern Yard", "Lantern Row").replacen("a bit thin", "by hand", 1).replacen(
        "    name:",
        "    altitude_m: 1850,\n    name:",
        1,
    );
    fs::write(&file, edited).unwrap();
    assert!(hear(&mut bench, &path));
    assert!(!hear(&mut bench, &path), "only once");
    let bag = bench.notebook().bag(BagId(id(10))).unwrap();
    let note = |at: usize| bag.pulls[at].note.as_str();
    assert_eq!(
        (bag.roaster.as_str(), note(0), note(1)),
        ("Lantern Row", "by hand", "mine, still in the journal")
    );
    assert!(said(&bench).contains("2 records changed from outside"), "{}", said(&bench));
    // What the hand wrote over is an earlier version, and undo takes the hand's edit back.
    assert!(notes(&mut bench, 100).contains(&"a bit thin".to_owned()));
    assert_eq!(bench.undo_name(), Some("changes from outside"));
    bench.undo(at(3001)).unwrap();
    drop(bench);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("Lantern Yard") && text.contains("altitude_m: 1850"), "{text}");
    assert!(text.contains("mine, still in the journal"), "{text}");
}

#[test]
fn files_that_come_go_and_break_outside_are_told() {
    let (_dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    // Another bag, as file sync brings it.
    let second = text.replace(&id(10).to_string(), &id(11).to_string());
    let second =
        (100..104).fold(second, |text, n| text.replace(&id(n).to_string(), &id(n + 500).to_string()));
    let brought = file.with_file_name("brought.ron");
    fs::write(&brought, second).unwrap();
    assert!(hear(&mut bench, &path));
    assert_eq!(bench.notebook().bags.len(), 2);
    // It breaks: told, and what is in memory stays.
    fs::write(&brought, "(format: 1, id: ").unwrap();
    assert!(!hear(&mut bench, &path));
    assert!(said(&bench).contains("brought.ron:1"), "{}", said(&bench));
    assert_eq!(bench.notebook().bags.len(), 2);
    // It goes: gone here too, and undo writes it anew.
    fs::remove_file(&brought).unwrap();
    assert!(hear(&mut bench, &path));
    assert_eq!(bench.notebook().bags.len(), 1);
    bench.undo(at(3001)).unwrap();
    drop(bench);
    assert_eq!(open(&path).notebook.bags.len(), 2);
}

#[test]
fn a_conflict_copy_that_arrives_is_merged_listed_and_set_aside() {
    let (_dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let file = bag_file(&path);
    let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
    let twin = file.with_file_name(format!("{stem} (1).ron"));
    let made = |second: i64| format!("changed: \"{}\"", at(second));
    let text = fs::read_to_string(&file).unwrap().replacen(&made(102), &made(900), 1);
    fs::write(&twin, text.replace("a bit thin", "in the bar")).unwrap();
    assert!(hear(&mut bench, &path));
    assert!(!twin.exists() && path.join("set-aside").exists());
    assert_eq!(bench.notebook().pull(BagId(id(10)), PullId(id(102))).unwrap().note, "in the bar");
    let (_, merged) = bench.last_merged().unwrap();
    assert!(merged.conflicts.iter().any(|conflict| conflict.key == KEY(102)), "{merged:?}");
    assert!(said(&bench).contains("conflict copy"), "{}", said(&bench));
    assert!(!hear(&mut bench, &path));
}

#[test]
fn a_folder_that_goes_and_comes_back_is_heard_of() {
    let (dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let away = dir.path().join("away");
    fs::rename(&path, &away).unwrap();
    assert_eq!(look(&path, false), Outside::Vanished);
    hear(&mut bench, &path);
    assert!(said(&bench).contains("no longer there"));
    with_note(&mut bench, 101, "meanwhile", 2000);
    assert!(bench.has_unwritten());
    fs::rename(&away, &path).unwrap();
    hear(&mut bench, &path);
    assert!(!bench.has_unwritten() && !said(&bench).contains("no longer there"), "{}", said(&bench));
    drop(bench);
    assert_eq!(open(&path).notebook.pull(BagId(id(10)), PullId(id(101))).unwrap().note, "meanwhile");
}

#[test]
fn saved_elsewhere_it_says_the_same_whatever_is_left_of_the_old_place() {
    let (dir, path) = fresh();
    let mut opened = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let trace = Trace::new(vec![0.0, 1.0], [(Channel::CupMass, vec![0.0, 1.5])]).unwrap();
    opened.folder.save_trace(PullId(id(101)), &trace).unwrap();
    drop(opened);
    let file = bag_file(&path);
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("    name:", "    altitude_m: 1850,\n    name:", 1)).unwrap();
    let mut expected = notebook();
    let mut unwritten = pull(101);
    unwritten.note = "not written yet".into();
    unwritten.stamp.changed = at(2000);
    expected.put(Record::Pull(BagId(id(10)), Box::new(unwritten)));
    // The old place can be read.
    let target = dir.path().join("elsewhere");
    let moved = save_elsewhere(&path, &target, &expected, at(2001), &me(), UNWATCHED).unwrap();
    assert_eq!((moved.notebook.clone(), moved.problems.len()), (expected.clone(), 0));
    assert_eq!(moved.folder.load_trace(PullId(id(101))), Ok(Some(trace)));
    drop(moved);
    assert_eq!(open(&target).notebook, expected);
    assert!(fs::read_to_string(bag_file(&target)).unwrap().contains("altitude_m: 1850"));
    // It is not taken twice, nor a place inside itself.
    for bad in [target.clone(), path.join("inside")] {
        let fault = save_elsewhere(&path, &bad, &expected, at(2001), &me(), UNWATCHED).unwrap_err();
        assert!(matches!(fault, StoreFault::AlreadyThere(_)), "{fault}");
    }
    // Nothing of it is left.
    let gone = dir.path().join("gone");
    let target = dir.path().join("third");
    let moved = save_elsewhere(&gone, &target, &expected, at(2001), &me(), UNWATCHED).unwrap();
    drop(moved);
    let again = open(&target);
    assert_eq!((again.notebook, again.problems), (expected.clone(), vec![]));
    // Parts of it cannot be read.
    let disk = FaultyDisk::default();
    drop(Folder::create_on(Arc::new(disk.clone()), Path::new("/n"), &expected, at(1000), &me()).unwrap());
    let mut tried = 0;
    for operation in 0..400 {
        let target = format!("/elsewhere-{operation}");
        disk.fail_once(operation, std::io::ErrorKind::Other);
        let moved = save_elsewhere_on(
            Arc::new(disk.clone()),
            Path::new("/n"),
            Path::new(&target),
            &expected,
            at(2001),
            &me(),
            UNWATCHED,
        );
        if moved.is_ok() {
            drop(moved);
            disk.heal();
            let again = Folder::open_on(Arc::new(disk.clone()), Path::new(&target), at(3000), &me()).unwrap();
            assert_eq!(again.notebook, expected, "operation {operation}");
            tried += 1;
        }
    }
    assert!(tried > 10, "{tried}");
}

#[test]
fn going_back_to_a_backup_is_an_edit_and_the_present_is_backed_up_first() {
    let (_dir, path) = fresh();
    let mut bench = bench(Folder::create(&path, &notebook(), at(1000), &me()).unwrap());
    let backup = back_up(&path, at(1500)).unwrap().path;
    with_note(&mut bench, 101, "later", 2000);
    bench.apply(Command::SavePull(BagId(id(10)), Box::new(pull(500))), at(2001)).unwrap();
    let present = bench.notebook().clone();
    let done = finish(&mut bench, Job::GoBack { backup, name: "the backup".into() }).unwrap();
    assert!(matches!(done, Finished::WentBack), "{done:?}");
    let bag = bench.notebook().bag(BagId(id(10))).unwrap();
    assert_eq!(bag.pulls[1].note, "a bit thin");
    assert_eq!(
        (bag.live_pulls().count(), bag.pulls.len()),
        (4, 5),
        "what came later is put aside, not deleted"
    );
    assert_eq!(bench.undo_name(), Some("going back to the backup"));
    let newest = bench.backups().pop().unwrap();
    assert_eq!(thirdpull::store::read_backup(&newest.path).unwrap().0.bags, present.bags);
    bench.undo(at(4001)).unwrap();
    let bag = bench.notebook().bag(BagId(id(10))).unwrap();
    assert_eq!((bag.pulls[1].note.as_str(), bag.live_pulls().count()), ("later", 5));
}

#[test]
fn taking_a_packet_is_one_step_to_undo_and_to_do_again() {
    let (dir, path) = fresh();
    let mut mine = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let file = dir.path().join("bag.thirdpull");
    let all = thirdpull::store::PackOptions { names: true, notes: true, traces: true };
    mine.folder.pack(&[BagId(id(10))], all, "Mara", at(1010), &file).unwrap();
    let mut theirs =
        bench(Folder::create(&dir.path().join("theirs"), &Notebook::default(), at(1000), &me()).unwrap());
    let seen = finish(&mut theirs, Job::LookAtPacket(file.clone())).unwrap();
    let Finished::Seen { packet: Some(packet), merged } = seen else { panic!("{seen:?}") };
    assert_eq!((merged.added.len(), merged.contents.len()), (7, 7));
    assert_eq!(theirs.notebook(), &Notebook::default());
    finish(&mut theirs, Job::TakePacket(packet)).unwrap();
    assert_eq!(theirs.notebook().bags, mine.notebook.bags);
    theirs.undo(at(4001)).unwrap();
    assert!(theirs.notebook().bags.is_empty());
    theirs.redo(at(4002)).unwrap();
    assert_eq!(theirs.notebook().bags[0].pulls.len(), 4);
    drop(theirs);
    assert_eq!(open(&dir.path().join("theirs")).notebook.bags[0].pulls.len(), 4);
    assert!(read_packet(&file).is_ok());
}

#[test]
fn while_long_work_has_the_folder_nothing_is_edited_and_it_can_be_stopped() {
    let (dir, path) = fresh();
    let mut folder = Folder::create(&path, &notebook(), at(1000), &me()).unwrap().folder;
    let other = dir.path().join("other");
    let mut many = notebook();
    many.bags = (0..40).map(|n| Bag { pulls: vec![pull(7000 + n)], ..bag(700 + n) }).collect();
    drop(Folder::create(&other, &many, at(1000), &me()).unwrap());
    // Stopped half way: whole records only, and trying again completes it.
    let calls = AtomicUsize::new(0);
    let stop = |_: usize, _: usize| calls.fetch_add(1, Ordering::Relaxed) < 20;
    assert_eq!(folder.merge_watched(&other, true, &stop), Err(StoreFault::Stopped));
    let half = folder.reload().0.bags.len();
    assert!((2..41).contains(&half), "{half} bags");
    folder.merge_from(&other).unwrap();
    assert_eq!(folder.reload().0.bags.len(), 41);
    drop(folder);
    let mut bench = bench(open(&path));
    bench.begin(Job::BackUp, at(4000), Box::new(|| ())).unwrap();
    let refused = bench.apply(Command::Finish(BagId(id(10)), true), at(4000)).unwrap_err().to_string();
    assert!(refused.contains("making the backup is not done yet"), "{refused}");
    assert!(bench.begin(Job::BackUp, at(4000), Box::new(|| ())).is_err());
    assert!(bench.wait_for_job(Duration::from_secs(60), at(4000)).unwrap().is_ok());
    bench.apply(Command::Finish(BagId(id(10)), true), at(4001)).unwrap();
    // A backup that is stopped while it is unpacked leaves nothing half done.
    let target = dir.path().join("unpacked");
    let backup = bench.backups().pop().unwrap().path;
    let stop = |done: usize, _: usize| done < 5;
    let stopped = thirdpull::store::unpack_backup_watched(&backup, &target, &stop);
    assert_eq!(stopped, Err(StoreFault::Stopped));
    assert!(!target.join("notebook.ron").exists() && !target.join("bags").exists());
}

#[test]
fn a_reader_becomes_the_writer_when_the_writer_has_gone_even_without_a_goodbye() {
    let (_dir, path) = fresh();
    let first = Folder::create(&path, &notebook(), at(1000), &me()).unwrap();
    let mut second = bench(open(&path));
    let held = |held| matches!(look(&path, true), Outside::There { held: now, .. } if now == held);
    assert!(held(true));
    second.heard(&look(&path, true), at(3000));
    assert!(second.read_only().unwrap().contains("Mara on bar-laptop"));
    assert!(second.is_held());
    drop(first);
    // As a crash leaves it: the lock is free, the name still stands there.
    let name = format!("(name: \"Mara\", machine: \"bar-laptop\", since: \"{}\")", at(1000));
    fs::write(path.join("holder.ron"), name).unwrap();
    assert!(held(false));
    assert!(second.heard(&look(&path, true), at(3001)));
    assert_eq!(second.read_only(), None);
    assert!(!second.is_held());
    with_note(&mut second, 101, "mine now", 3002);
    assert!(!second.has_unwritten());
    // A holder on another machine is never overruled by itself.
    drop(second);
    let name = name_of_another();
    fs::write(path.join("holder.ron"), &name).unwrap();
    let mut third = bench(open(&path));
    assert!(!third.heard(&look(&path, true), at(3003)) && third.may_take_over());
    assert!(third.reopen(at(3004), true) && third.read_only().is_none());
}

fn name_of_another() -> String {
    format!("(name: \"Ned\", machine: \"kitchen\", since: \"{}\")", at(1000))
}
