//! Packs: coffees, drinkers, stations, exercises and studies as RON files, those that ship and a teacher's own.
//!
//! One file holds one thing and says which: `Coffee( … )`, `Drinker( … )`, `Station( … )`, `Exercise( … )` or
//! `Study( … )`. Others refer to it by its file name without `.ron`. A teacher's file with the name of a shipped one
//! stands in its place.

use std::collections::BTreeMap;

use ron::extensions::Extensions;
use serde::Deserialize;

use super::coffee::Coffee;
use super::exercise::{Exercise, Hidden, Station};
use super::palate::Palate;
use super::shipped::SHIPPED;
use super::study::Study;

/// What one file holds.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[allow(clippy::large_enum_variant)] // Held for a moment, then sorted into the maps of a pack.
pub enum Entry {
    /// A coffee.
    Coffee(Coffee),
    /// A drinker.
    Drinker(Palate),
    /// A station.
    Station(Station),
    /// An exercise.
    Exercise(Exercise),
    /// A study.
    Study(Study),
}

/// How pack files are read: `Some(…)` may be left out.
#[must_use]
pub fn options() -> ron::Options {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
}

/// Reads one file.
///
/// # Errors
/// The parser's fault, with its place in the text.
pub fn read(text: &str) -> Result<Entry, ron::error::SpannedError> {
    options().from_str(text)
}

/// Everything that can be practised with, by name.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pack {
    /// Coffees.
    pub coffees: BTreeMap<String, Coffee>,
    /// Drinkers.
    pub drinkers: BTreeMap<String, Palate>,
    /// Stations.
    pub stations: BTreeMap<String, Station>,
    /// Exercises.
    pub exercises: BTreeMap<String, Exercise>,
    /// Studies.
    pub studies: BTreeMap<String, Study>,
}

/// The name by which a file is referred to: its file name without folder and `.ron`.
#[must_use]
pub fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.strip_suffix(".ron").unwrap_or(name)
}

impl Pack {
    /// What ships.
    #[must_use]
    pub fn shipped() -> Self {
        Self::of(SHIPPED.iter().copied())
    }

    /// What ships, with a teacher's own `(file name, text)` on top. Files that do not parse are left out; use
    /// [`super::check`] to say why.
    #[must_use]
    pub fn with<'a>(own: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        Self::of(SHIPPED.iter().copied().chain(own))
    }

    fn of<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let mut pack = Self::default();
        for (file, text) in files {
            if let Ok(entry) = read(text) {
                pack.put(stem(file), entry);
            }
        }
        pack
    }

    /// Puts an entry in under its name.
    pub fn put(&mut self, name: &str, entry: Entry) {
        let name = name.to_owned();
        match entry {
            Entry::Coffee(coffee) => drop(self.coffees.insert(name, coffee)),
            Entry::Drinker(palate) => drop(self.drinkers.insert(name, palate)),
            Entry::Station(station) => drop(self.stations.insert(name, station)),
            Entry::Exercise(exercise) => drop(self.exercises.insert(name, exercise)),
            Entry::Study(study) => drop(self.studies.insert(name, study)),
        }
    }

    /// What is hidden in an exercise; `None` when it names something that is not there.
    #[must_use]
    pub fn hidden(&self, exercise: &Exercise) -> Option<Hidden> {
        Some(Hidden {
            coffee: self.coffees.get(&exercise.coffee)?.clone(),
            palate: self.drinkers.get(&exercise.drinker)?.clone(),
            station: self.stations.get(&exercise.station)?.clone(),
        })
    }

    /// Exercises, easiest first, then by name.
    #[must_use]
    pub fn graded(&self) -> Vec<(&str, &Exercise)> {
        let mut all: Vec<_> =
            self.exercises.iter().map(|(name, exercise)| (name.as_str(), exercise)).collect();
        all.sort_by_key(|(name, exercise)| (exercise.level, *name));
        all
    }
}
