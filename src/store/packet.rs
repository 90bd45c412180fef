//! A bag, or a few, as one file to pass on: written here, read anywhere, answered and merged back.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::Watch;
use super::archive::{Limits, Packer, unpack};
use super::disk::{SystemDisk, replace};
use super::fault::{Doing, Problem, StoreFault};
use super::folder::Folder;
use super::merge;
use super::read::parse;
use super::settle::Document;
use super::text::{Ron, record};
use super::together::{Merged, Other};
use super::v1;
use crate::domain::{BagId, Id};

/// Limits for a file that may come from a stranger.
pub(super) const LIMITS: Limits = Limits { packed: 32 << 20, unpacked: 256 << 20, parts: 20_000 };

/// What goes into a packet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PackOptions {
    /// Names of drinkers, stations and of who pulled.
    pub names: bool,
    /// Notes of every kind.
    pub notes: bool,
    /// Traces.
    pub traces: bool,
}

record!(
    /// The first part of a packet.
    Head Lines {
        may format: Option<u32>,
        may from: String,
        must made: Timestamp,
    }
);

impl v1::FormatNumber for Head {
    fn format(&self) -> Option<u32> {
        self.format
    }
}

/// A packet, read and checked but not yet taken.
#[derive(Debug, Clone)]
pub struct Packet {
    /// Who sent it, as they wrote it (may be empty).
    pub from: String,
    /// When it was made.
    pub made: Timestamp,
    /// Names of the bags in it.
    pub bags: Vec<String>,
    /// Parts that could not be read.
    pub problems: Vec<Problem>,
    documents: Vec<Document>,
    traces: BTreeMap<Id, v1::Trace>,
}

/// Takes out what is not to be passed on, and marks the record where something was taken.
fn strip(unknown: &mut super::text::Unknown, texts: &mut [(&mut String, &str, bool)]) {
    let mut stripped = false;
    for (text, instead, keep) in texts.iter_mut() {
        if !*keep && text.as_str() != *instead {
            **text = (*instead).to_owned();
            stripped = true;
        }
    }
    if stripped {
        mark(unknown);
    }
}

/// Marks a record of which something does not go out.
fn mark(unknown: &mut super::text::Unknown) {
    if !unknown.has(merge::PARTIAL) {
        unknown.push(merge::PARTIAL.to_owned(), "true".to_owned());
    }
}

impl Folder {
    /// Writes bags, with the stations and drinkers that they name, as one file.
    ///
    /// # Errors
    /// [`StoreFault`] when a file cannot be read or the packet cannot be written.
    pub fn pack(
        &mut self,
        bags: &[BagId],
        options: PackOptions,
        from: &str,
        now: Timestamp,
        target: &Path,
    ) -> Result<(), StoreFault> {
        self.pack_watched(bags, options, from, now, target, super::UNWATCHED)
    }

    /// [`Folder::pack`], watched.
    ///
    /// # Errors
    /// As [`Folder::pack`]; [`StoreFault::Stopped`].
    pub fn pack_watched(
        &mut self,
        bags: &[BagId],
        options: PackOptions,
        from: &str,
        now: Timestamp,
        target: &Path,
        watch: Watch<'_>,
    ) -> Result<(), StoreFault> {
        if self.writer.is_some() {
            self.settle()?;
        }
        let fault = |fault: std::io::Error| StoreFault::io(target, Doing::Write, &fault);
        let mut packer = Packer::new().map_err(fault)?;
        let from = if options.names { from.to_owned() } else { String::new() };
        let head = Head { format: Some(v1::FORMAT), from, made: now, unknown: Default::default() };
        packer.add("packet.ron", Ron::document(&head).as_bytes()).map_err(fault)?;
        let (mut stations, mut drinkers, mut traces) = (BTreeSet::new(), BTreeSet::new(), Vec::new());
        for (done, id) in bags.iter().enumerate() {
            if !watch(done, bags.len()) {
                return Err(StoreFault::Stopped);
            }
            let Some(path) = self.bags.get(id).cloned() else { continue };
            let Some(mut bag) = self.document::<v1::Bag>(&path)?.map_err(StoreFault::Text)? else { continue };
            strip(&mut bag.unknown, &mut [(&mut bag.note, "", options.notes)]);
            stations.insert(bag.station);
            drinkers.insert(bag.drinker);
            for pull in &mut bag.pulls {
                let texts =
                    &mut [(&mut pull.note, "", options.notes), (&mut pull.pulled_by, "", options.names)];
                strip(&mut pull.unknown, texts);
                stations.insert(pull.station);
                if pull.has_trace {
                    let path = self.trace_path(crate::domain::PullId(pull.id.0));
                    let goes = options.traces && !matches!(self.disk.stat(&path), Ok(None));
                    if goes {
                        traces.push(pull.id.0);
                    } else {
                        pull.has_trace = false;
                        mark(&mut pull.unknown);
                    }
                }
            }
            packer.add(&format!("bags/{}.ron", bag.id.0), Ron::document(&bag).as_bytes()).map_err(fault)?;
        }
        for id in stations {
            let Some(path) = self.stations.get(&crate::domain::StationId(id.0)).cloned() else { continue };
            let Some(mut station) = self.document::<v1::Station>(&path)?.map_err(StoreFault::Text)? else {
                continue;
            };
            let texts =
                &mut [(&mut station.note, "", options.notes), (&mut station.name, "Station", options.names)];
            strip(&mut station.unknown, texts);
            let name = format!("stations/{}.ron", id.0);
            packer.add(&name, Ron::document(&station).as_bytes()).map_err(fault)?;
        }
        let main = self.root.join(super::load::NOTEBOOK);
        if let Some(mut notebook) = self.document::<v1::Notebook>(&main)?.map_err(StoreFault::Text)? {
            notebook.preferences = None;
            notebook.unknown = Default::default();
            notebook.drinkers.retain(|drinker| drinkers.contains(&drinker.id));
            for drinker in &mut notebook.drinkers {
                let texts = &mut [
                    (&mut drinker.note, "", options.notes),
                    (&mut drinker.name, "Drinker", options.names),
                ];
                strip(&mut drinker.unknown, texts);
            }
            packer.add("notebook.ron", Ron::document(&notebook).as_bytes()).map_err(fault)?;
        }
        let total = traces.len();
        for (done, id) in traces.into_iter().enumerate() {
            if !watch(done, total) {
                return Err(StoreFault::Stopped);
            }
            if let Some(trace) = self.load_trace(crate::domain::PullId(id))? {
                let text = Ron::document(&v1::Trace::of(crate::domain::PullId(id), &trace));
                packer.add(&format!("traces/{id}.ron"), text.as_bytes()).map_err(fault)?;
            }
        }
        let bytes = packer.finish().map_err(fault)?;
        replace(&*self.disk, target, &bytes).map_err(fault)
    }

    /// What taking a packet would do; nothing is changed.
    ///
    /// # Errors
    /// [`StoreFault`] when this notebook is read-only or cannot be read.
    pub fn preview_packet(&mut self, packet: &Packet) -> Result<Merged, StoreFault> {
        self.take(packet, false, super::UNWATCHED)
    }

    /// Merges a packet into the notebook, as [`Folder::merge_from`] does with a folder.
    ///
    /// # Errors
    /// [`StoreFault`]; trying again completes what was begun.
    pub fn take_packet(&mut self, packet: &Packet) -> Result<Merged, StoreFault> {
        self.take(packet, true, super::UNWATCHED)
    }

    /// [`Folder::take_packet`], watched.
    ///
    /// # Errors
    /// As [`Folder::take_packet`]; [`StoreFault::Stopped`].
    pub fn take_packet_watched(&mut self, packet: &Packet, watch: Watch<'_>) -> Result<Merged, StoreFault> {
        self.take(packet, true, watch)
    }

    fn take(&mut self, packet: &Packet, write: bool, watch: Watch<'_>) -> Result<Merged, StoreFault> {
        self.settle()?;
        let mut other = Other {
            documents: BTreeMap::new(),
            versions: BTreeMap::new(),
            problems: packet.problems.clone(),
        };
        for document in &packet.documents {
            other.add(document.clone());
        }
        let mut merged = self.bring_together(other, None, write, watch)?;
        for (id, trace) in &packet.traces {
            let path: PathBuf = self.root.join("traces").join(format!("{id}.ron"));
            // A trace that is here already is never replaced by a packet's.
            if matches!(self.disk.stat(&path), Ok(None)) {
                merged.traces += 1;
                if write {
                    replace(&*self.disk, &path, Ron::document(trace).as_bytes())
                        .map_err(|fault| StoreFault::io(&path, Doing::Write, &fault))?;
                }
            }
        }
        Ok(merged)
    }
}

/// Reads a packet without taking anything from it. Nothing in it can name a path, run, or unfold beyond fixed limits.
///
/// # Errors
/// [`StoreFault`] when the file is no packet, is damaged, of a newer format, or too large.
pub fn read_packet(path: &Path) -> Result<Packet, StoreFault> {
    let mut packet = None;
    unpack(&SystemDisk, path, LIMITS, |name, bytes| take_part(&mut packet, name, bytes))?;
    packet.ok_or_else(|| {
        StoreFault::Text(Problem::of_file(
            path,
            word!("store-packet-empty"),
            word!("store-packet-todo-empty"),
        ))
    })
}

/// Adds a part to what was read so far; the first part is the head.
pub(super) fn take_part(packet: &mut Option<Packet>, name: &str, bytes: Vec<u8>) -> Result<(), StoreFault> {
    let shown = Path::new(name);
    let text = String::from_utf8(bytes).map_err(|_not_text| {
        Problem::of_file(shown, word!("store-packet-not-text"), word!("store-packet-todo-not-text"))
    });
    let Some(packet) = packet else {
        let text = text.map_err(StoreFault::Text)?;
        let head: Head = parse(&text, shown).map_err(|fault| StoreFault::Text(fault.problem))?;
        *packet = Some(Packet {
            from: head.from,
            made: head.made,
            bags: Vec::new(),
            problems: Vec::new(),
            documents: Vec::new(),
            traces: BTreeMap::new(),
        });
        return Ok(());
    };
    // One part that cannot be read does not keep the others out.
    let text = match text {
        Ok(text) => text,
        Err(problem) => {
            packet.problems.push(problem);
            return Ok(());
        }
    };
    // The name tells only what kind of record it is; where it goes follows from the record's id.
    let read = if name == "notebook.ron" {
        parse(&text, shown).map(|mut notebook: v1::Notebook| {
            notebook.preferences = None;
            // A packet says nothing about whether the notebook that takes it is a demo.
            notebook.demo = true;
            packet.documents.push(Document::Notebook(notebook));
        })
    } else if name.starts_with("stations/") {
        parse(&text, shown).map(|station| packet.documents.push(Document::Station(Box::new(station))))
    } else if name.starts_with("bags/") {
        parse(&text, shown).map(|mut bag: v1::Bag| {
            merge::without_doubles(&mut bag);
            packet.bags.push(bag.name.clone());
            packet.documents.push(Document::Bag(Box::new(bag)));
        })
    } else if name.starts_with("traces/") {
        parse(&text, shown).map(|trace: v1::Trace| match crate::domain::Trace::try_from(trace.clone()) {
            Ok(_) => {
                packet.traces.insert(trace.pull.0, trace);
            }
            Err(fault) => {
                let todo = word!("store-packet-todo-not-text");
                packet.problems.push(Problem::of_file(shown, fault.to_string(), todo));
            }
        })
    } else {
        Ok(()) // a kind of part that a newer version may know
    };
    if let Err(fault) = read {
        packet.problems.push(fault.problem);
    }
    Ok(())
}
