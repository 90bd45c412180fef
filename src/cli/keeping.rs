//! Commands that keep and share a notebook: `pass-on`, `receive`, `merge`, `versions`, `backups`.

use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS};
use crate::domain::{Bag, BagId, Notebook, RecordKey};
use crate::store::{self, Folder, Holder, Merged, PackOptions, Problem};
use crate::workbench::view::keeping::{backups, merged, packet_name, versions};
use crate::workbench::view::records::{Differs, Showing, record_name};
use crate::workbench::{Command, Finished, Job, Workbench};

const PASS_ON_HELP: &str = "\
thirdpull pass-on – write bags as one file that anyone can open, answer and merge

USAGE
  thirdpull pass-on [--notebook DIR] [OPTIONS] BAG...
  thirdpull pass-on [--notebook DIR] [OPTIONS] --all

A BAG is its name (any part of it that fits only one bag) or its id. The bag goes out with its pulls,
their traces, and the station and drinker that it names.

OPTIONS
  --out FILE          write there (default: the bag's name, in this folder); an existing file stays
  --without-names     leave out the names of drinkers and stations, and who pulled
  --without-notes     leave out notes of every kind
  --without-traces    leave out traces
  --from NAME         who passes it on, as the receiver sees it
  --notebook DIR      the notebook's folder (default: your own)
  -h, --help          this page

The file is gzip around plain text: “gzip -dc FILE” shows every word that goes out.
Exit codes: 0 written; 1 written, but a file of the notebook could not be read; 2 not written. Errors go to
standard error.
";

const RECEIVE_HELP: &str = "\
thirdpull receive – look at a file that someone passed on, and take it in

USAGE
  thirdpull receive [--notebook DIR] FILE            show what would change; change nothing
  thirdpull receive [--notebook DIR] FILE --take     take it in

Records that are not here yet come in. Of a record that is here, the later edit stands and the other one
is kept as an earlier version (“thirdpull versions”), so nothing is lost and taking it twice does no harm.
A file from a stranger cannot run anything or write outside the notebook; its size and depth are bounded.

OPTIONS
  --take           take it in
  --notebook DIR   the notebook's folder (default: your own)
  -h, --help       this page

Exit codes: 0 done; 1 done, but parts could not be read or differ on both sides; 2 could not do it.
";

const MERGE_HELP: &str = "\
thirdpull merge – bring another copy of the notebook together with this one

USAGE
  thirdpull merge [--notebook DIR] OTHER             show what would change; change nothing
  thirdpull merge [--notebook DIR] OTHER --take      merge OTHER into the notebook

OTHER is a notebook's folder: from another machine, a version control checkout, a colleague. It is only
read. Records meet one by one: the later edit stands, the other one is kept as an earlier version and
listed here. The order of merging does not matter, and merging again changes nothing. Rule packs and
practice files that are not here come along; of one that differs, the one that is here stays.

OPTIONS
  --take           merge
  --notebook DIR   the notebook's folder (default: your own)
  -h, --help       this page

Exit codes: 0 done; 1 done, but some records differ on both sides or could not be read; 2 could not do it.
";

const VERSIONS_HELP: &str = "\
thirdpull versions – earlier versions of a bag, of a pull, of a station or of a drinker

USAGE
  thirdpull versions [--notebook DIR] BAG              of the bag's own sheet
  thirdpull versions [--notebook DIR] BAG PULL         of its pull number PULL
  thirdpull versions [--notebook DIR] --station NAME
  thirdpull versions [--notebook DIR] --drinker NAME

Lists them, newest first, with a number, the date, and what going back would change.

OPTIONS
  --restore N      go back to version N; what stands now becomes an earlier version itself
  --notebook DIR   the notebook's folder (default: your own)
  -h, --help       this page

Exit codes: 0 done; 1 done, but a file of the notebook could not be read; 2 could not do it. Errors go to
standard error.
";

const BACKUPS_HELP: &str = "\
thirdpull backups – list backups of the notebook, make one, go back to one

USAGE
  thirdpull backups [--notebook DIR]                         list them, newest first
  thirdpull backups [--notebook DIR] --make                  make one now
  thirdpull backups [--notebook DIR] --unpack N --into DIR   as a notebook in a new folder
  thirdpull backups [--notebook DIR] --go-back N             the notebook itself as it was then

A backup is made by itself once a day. It holds every bag, station, drinker, rule pack, practice file and
earlier version, but no traces; those stay where they are, and one that is replaced goes to set-aside/.
Going back makes a backup of the present first; what was added since is marked as removed, not deleted.
Rule packs and practice files are brought by --unpack only.

OPTIONS
  --notebook DIR   the notebook's folder (default: your own)
  -h, --help       this page

Exit codes: 0 done; 1 done, but a file of the notebook could not be read; 2 could not do it. Errors go to
standard error.
";

type Told = Result<u8, String>;

/// Runs one of the commands.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(
    command: &str,
    args: Vec<OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> std::io::Result<u8> {
    let (help, with_value, bare): (&str, &[&str], &[&str]) = match command {
        "pass-on" => {
            (PASS_ON_HELP, &["out", "from"], &["all", "without-names", "without-notes", "without-traces"])
        }
        "receive" => (RECEIVE_HELP, &[], &["take"]),
        "merge" => (MERGE_HELP, &[], &["take"]),
        "versions" => (VERSIONS_HELP, &["restore", "station", "drinker"], &[]),
        _ => (BACKUPS_HELP, &["unpack", "into", "go-back"], &["make"]),
    };
    let mut found = Vec::new();
    let told = match Given::read(args, with_value, bare) {
        Ok(given) if given.help => {
            out.write_all(help.as_bytes())?;
            return Ok(DONE);
        }
        Ok(given) => {
            let mut text = String::new();
            let told = match command {
                "pass-on" => pass_on(&given, &mut text, &mut found),
                "receive" => take_in(&given, &mut text, &mut found, true),
                "merge" => take_in(&given, &mut text, &mut found, false),
                "versions" => versions_of(&given, &mut text, &mut found),
                _ => backups_of(&given, &mut text, &mut found),
            };
            out.write_all(text.as_bytes())?;
            let what = if command == "pass-on" { "left out: " } else { "" };
            for problem in &found {
                writeln!(err, "thirdpull {command}: {what}{problem}")?;
            }
            told
        }
        Err(Usage(why)) => Err(why),
    };
    match told {
        Ok(DONE) if !found.is_empty() => Ok(FINDINGS),
        Ok(code) => Ok(code),
        Err(sentence) => {
            writeln!(err, "thirdpull {command}: {sentence}")?;
            Ok(FAILED)
        }
    }
}

/// The notebook, open for writing unless someone else writes; what opening finds is added to `found`.
fn open(given: &Given, found: &mut Vec<Problem>) -> Result<Workbench, String> {
    let path = given.place.notebook.clone().or_else(store::default_folder);
    let path = path.ok_or("say where the notebook is with --notebook DIR")?;
    let opened = Folder::open(&path, Timestamp::now(), &Holder::here()).map_err(|fault| fault.to_string())?;
    found.extend(opened.problems);
    Ok(Workbench::new(opened.notebook, Some(Box::new(opened.folder)), opened.why_read_only))
}

/// Carries out long work and waits for it.
fn carry_out(bench: &mut Workbench, job: Job) -> Result<Finished, String> {
    let now = Timestamp::now();
    bench.begin(job, now, Box::new(|| ())).map_err(|refusal| refusal.to_string())?;
    let done = bench.wait_for_job(Duration::from_secs(24 * 3600), now);
    done.unwrap_or_else(|| Err("it took longer than a day".to_owned()))
}

fn free(given: &Given) -> Vec<String> {
    given.free.iter().map(|text| text.to_string_lossy().into_owned()).collect()
}

fn showing<'a>(notebook: &'a Notebook, zone: &'a TimeZone) -> Showing<'a> {
    Showing { notebook, units: &notebook.preferences.units, zone }
}

/// The one record that a person means by a name.
fn the_one<'a, T>(
    list: impl Iterator<Item = &'a T> + Clone,
    wanted: &str,
    what: &str,
    name: impl Fn(&T) -> (&str, String),
) -> Result<&'a T, String> {
    let needle = wanted.to_lowercase();
    let exact = list.clone().filter(|one| {
        let (name, id) = name(one);
        id == needle || name.to_lowercase() == needle
    });
    let found: Vec<&T> = exact.collect();
    let found = if found.is_empty() {
        list.clone().filter(|one| name(one).0.to_lowercase().contains(&needle)).collect()
    } else {
        found
    };
    match found.as_slice() {
        [one] => Ok(one),
        [] => {
            let names: Vec<String> = list.take(12).map(|one| name(one).0.to_owned()).collect();
            Err(format!("no {what} is called “{wanted}”; there are: {}", names.join(", ")))
        }
        many => {
            let names: Vec<String> =
                many.iter().map(|one| format!("{} ({})", name(one).0, name(one).1)).collect();
            Err(format!(
                "“{wanted}” fits more than one {what}: {}; give the whole name or the id",
                names.join(", ")
            ))
        }
    }
}

fn bag<'a>(notebook: &'a Notebook, wanted: &str) -> Result<&'a Bag, String> {
    let live = notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    the_one(live, wanted, "bag", |bag| (&bag.name, bag.id.to_string()))
}

fn pass_on(given: &Given, text: &mut String, found: &mut Vec<Problem>) -> Told {
    let mut bench = open(given, found)?;
    let wanted = free(given);
    let notebook = bench.notebook();
    let bags: Vec<BagId> = match (wanted.as_slice(), given.has("all")) {
        ([], true) => notebook.bags.iter().filter(|bag| bag.stamp.is_live()).map(|bag| bag.id).collect(),
        ([], false) => return Err("say which bag, or --all; “thirdpull pass-on --help” explains".to_owned()),
        (names, false) => {
            names.iter().map(|name| bag(notebook, name).map(|bag| bag.id)).collect::<Result<_, _>>()?
        }
        (_, true) => return Err("name bags, or say --all, not both".to_owned()),
    };
    let target =
        given.value("out").map_or_else(|| PathBuf::from(packet_name(notebook, &bags)), PathBuf::from);
    if target.exists() {
        return Err(format!("“{}” is there already; choose another name with --out", target.display()));
    }
    let options = PackOptions {
        names: !given.has("without-names"),
        notes: !given.has("without-notes"),
        traces: !given.has("without-traces"),
    };
    let from = given.value("from").map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let count = bags.len();
    match carry_out(&mut bench, Job::Pass { bags, options, from, target })? {
        Finished::Passed { file, size } => {
            let bags = if count == 1 { "1 bag".to_owned() } else { format!("{count} bags") };
            text.push_str(&format!("wrote {bags} to {} ({size})\n", file.display()));
            Ok(DONE)
        }
        _ => Err("something else was done; this is a fault of the program".to_owned()),
    }
}

fn take_in(given: &Given, text: &mut String, found: &mut Vec<Problem>, packet: bool) -> Told {
    let [wanted] = given.free.as_slice() else {
        let what = if packet {
            "one file at a time: thirdpull receive FILE"
        } else {
            "one folder at a time: thirdpull merge OTHER"
        };
        return Err(what.to_owned());
    };
    let path = PathBuf::from(wanted);
    let mut bench = open(given, found)?;
    let zone = TimeZone::system();
    let look = if packet { Job::LookAtPacket(path.clone()) } else { Job::LookAtFolder(path.clone()) };
    let Finished::Seen { packet, merged: seen } = carry_out(&mut bench, look)? else {
        return Err("something else was done; this is a fault of the program".to_owned());
    };
    if let Some(packet) = &packet {
        let from = if packet.from.is_empty() {
            "someone who left out the name".to_owned()
        } else {
            packet.from.clone()
        };
        let made = packet.made.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d");
        text.push_str(&format!("From {from}, {made}: {}\n", packet.bags.join(", ")));
    }
    let findings = |seen: &Merged| !(seen.conflicts.is_empty() && seen.problems.is_empty());
    if !given.has("take") {
        text.push_str(&merged(showing(bench.notebook(), &zone), &seen).text());
        if !seen.is_nothing() {
            text.push_str("Nothing was changed. Add --take to take it in.\n");
        }
        return Ok(if findings(&seen) { FINDINGS } else { DONE });
    }
    let take = match packet {
        Some(packet) => Job::TakePacket(packet),
        None => Job::TakeFolder(path),
    };
    let Finished::Taken = carry_out(&mut bench, take)? else {
        return Err("something else was done; this is a fault of the program".to_owned());
    };
    let Some((before, taken)) = bench.last_merged() else { return Ok(DONE) };
    text.push_str(&merged(showing(before, &zone), taken).text());
    Ok(if findings(taken) { FINDINGS } else { DONE })
}

fn key_of(given: &Given, notebook: &Notebook) -> Result<RecordKey, String> {
    if let Some(name) = given.value("station") {
        let live = notebook.stations.iter().filter(|station| station.stamp.is_live());
        let found = the_one(live, &name.to_string_lossy(), "station", |s| (&s.name, s.id.to_string()))?;
        return Ok(RecordKey::Station(found.id));
    }
    if let Some(name) = given.value("drinker") {
        let live = notebook.drinkers.iter().filter(|drinker| drinker.stamp.is_live());
        let found = the_one(live, &name.to_string_lossy(), "drinker", |d| (&d.name, d.id.to_string()))?;
        return Ok(RecordKey::Drinker(found.id));
    }
    match free(given).as_slice() {
        [name] => Ok(RecordKey::Bag(bag(notebook, name)?.id)),
        [name, number] => {
            let bag = bag(notebook, name)?;
            let pulls = bag.live_pulls().count();
            let at = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
            let pull = at.and_then(|at| bag.live_pulls().nth(at));
            let pull =
                pull.ok_or_else(|| format!("{} has pulls 1 to {pulls}; “{number}” is none", bag.name))?;
            Ok(RecordKey::Pull(bag.id, pull.id))
        }
        _ => Err("say of which bag (and pull); “thirdpull versions --help” explains".to_owned()),
    }
}

/// A whole number from 1 on.
fn number(given: &Given, option: &str) -> Result<Option<usize>, String> {
    let Some(text) = given.value(option) else { return Ok(None) };
    let number = text.to_str().and_then(|text| text.parse::<usize>().ok()).and_then(|n| n.checked_sub(1));
    let wrong = || format!("--{option} wants a number from the list, not “{}”", text.to_string_lossy());
    number.map(Some).ok_or_else(wrong)
}

fn versions_of(given: &Given, text: &mut String, found: &mut Vec<Problem>) -> Told {
    let mut bench = open(given, found)?;
    let zone = TimeZone::system();
    let key = key_of(given, bench.notebook())?;
    let list = bench.versions(key)?;
    let name = record_name(showing(bench.notebook(), &zone), key, None);
    let rows = versions(showing(bench.notebook(), &zone), key, &list);
    if let Some(at) = number(given, "restore")? {
        let row = rows.get(at).ok_or_else(|| format!("there are {} versions of {name}", rows.len()))?;
        let (record, when) = (row.record.clone(), row.when.clone());
        bench
            .apply(Command::Restore(Box::new(record)), Timestamp::now())
            .map_err(|refusal| refusal.to_string())?;
        if bench.has_unwritten() {
            return Err(bench
                .notices()
                .iter()
                .map(|notice| notice.text.clone())
                .collect::<Vec<_>>()
                .join("; "));
        }
        text.push_str(&format!(
            "{name} is as it was on {when}; what stood before is kept as an earlier version\n"
        ));
        return Ok(DONE);
    }
    if rows.is_empty() {
        text.push_str(&format!("no earlier version of {name}\n"));
        return Ok(DONE);
    }
    text.push_str(&format!("earlier versions of {name}; going back would change:\n"));
    for (at, row) in rows.iter().enumerate() {
        let lines: Vec<String> = row.differs.iter().map(Differs::line).collect();
        text.push_str(&format!("{:>3}  {}  {}\n", at + 1, row.when, lines.join("; ")));
    }
    Ok(DONE)
}

fn backups_of(given: &Given, text: &mut String, found: &mut Vec<Problem>) -> Told {
    if !given.free.is_empty() {
        return Err("an option says what to do; “thirdpull backups --help” explains".to_owned());
    }
    let mut bench = open(given, found)?;
    let (zone, now) = (TimeZone::system(), Timestamp::now());
    if given.has("make") {
        if let Finished::BackedUp(made) = carry_out(&mut bench, Job::BackUp)? {
            text.push_str(&format!("wrote {}\n", made.path.display()));
        }
        return Ok(DONE);
    }
    let rows = backups(&bench.backups(), now, &zone);
    let chosen = |at: usize| rows.get(at).cloned().ok_or_else(|| format!("there are {} backups", rows.len()));
    if let Some(at) = number(given, "unpack")? {
        let into = given.value("into").ok_or("say where to: --into DIR, a folder that is new or empty")?;
        let row = chosen(at)?;
        carry_out(&mut bench, Job::Unpack { backup: row.path, target: PathBuf::from(into) })?;
        let into = into.to_string_lossy();
        text.push_str(&format!(
            "unpacked the backup of {}; open it with: thirdpull --notebook {into}\n",
            row.when
        ));
        return Ok(DONE);
    }
    if let Some(at) = number(given, "go-back")? {
        let row = chosen(at)?;
        let name = format!("the backup of {}", row.when);
        carry_out(&mut bench, Job::GoBack { backup: row.path, name })?;
        text.push_str(&format!(
            "the notebook is as it was on {}; a backup of the present was made before\n",
            row.when
        ));
        return Ok(DONE);
    }
    if rows.is_empty() {
        text.push_str("no backup yet; “thirdpull backups --make” makes one\n");
    }
    for (at, row) in rows.iter().enumerate() {
        text.push_str(&format!("{:>3}  {}  {:>16}  {:>9}\n", at + 1, row.when, row.ago, row.size));
    }
    Ok(DONE)
}
