//! The question: everything that is known when advice is asked for.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::cups;
use crate::domain::{Bag, Gear, Pull, PullId, Recipe, StartRecipe, Station, StationId, Taste, whole_pulls};
use crate::infer::{BagFacts, STANDARD_TEMPERATURE_C, Shot};
use crate::rules::{self, Packs};
use crate::trace::Gist;

/// Liking of an earlier bag's cup from which a new bag may begin at its setting.
const WORTH_BEGINNING_FROM: u8 = 6;
/// How far its drink and its dose may lie from those to begin with (ln), for its setting to be worth beginning from.
const ALIKE: f64 = 0.15;

/// How far from the plan, grams, somebody may choose another dose: by half a gram or a gram (common practice, no source).
const CHOSEN_DOSE_G: f64 = 1.0;

/// Where to begin and what is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// The recipe to begin with.
    pub start: StartRecipe,
    /// Time window of the house or the drinker, seconds.
    pub time_window_s: Option<(f64, f64)>,
}

/// Another bag on the same gear.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierBag {
    /// The bag.
    pub bag: BagFacts,
    /// Its pulls, oldest first.
    pub shots: Vec<Shot>,
}

/// All that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The bag.
    pub bag: BagFacts,
    /// What can be set and measured.
    pub gear: Gear,
    /// Where to begin.
    pub aim: Aim,
    /// Other bags on this gear by this drinker, oldest first.
    pub earlier: Vec<EarlierBag>,
    /// Pulls of this bag, oldest first.
    pub shots: Vec<Shot>,
    /// Age of the bag on the day of the question, days since the roast, where known.
    pub age_today: Option<f64>,
    /// Coffee left in the bag, grams, where known.
    pub coffee_left_g: Option<f64>,
    /// The rules to hear.
    pub packs: Packs,
}

/// How to answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Seed of every draw.
    pub seed: u64,
    /// Pulls that the person is still willing to spend on dialling in; fewer count where the coffee left is enough for fewer.
    pub pulls_willing: u32,
    /// Liking points that a gram of coffee is worth.
    pub cost_per_gram: f64,
    /// Whether one lever moves at a time, however much more two would promise.
    pub one_lever: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self { seed: 1, pulls_willing: 3, cost_per_gram: 0.002, one_lever: false }
    }
}

impl Case {
    /// A case from domain records. `earlier` are other bags of the same drinker, oldest first. Only what was pulled on
    /// `station` counts, of the bag as of the earlier ones. `today` sets the age of the bag, `zone`, where the bar is, the
    /// day that each pull belongs to; nothing here reads a clock or asks the system where it stands.
    #[must_use]
    pub fn from_bag<'a>(
        bag: &Bag,
        station: &Station,
        earlier: impl IntoIterator<Item = &'a Bag>,
        today: Date,
        zone: &TimeZone,
    ) -> Self {
        let facts = |bag: &Bag, day: Date| BagFacts {
            name: bag.name.clone(),
            roast: bag.roast,
            process: bag.process,
            days_since_roast: bag.days_since_roast(day).map(f64::from),
        };
        let first_day =
            |bag: &Bag| bag.live_pulls().next().map_or(today, |p| zone.to_datetime(p.pulled_at).date());
        Self {
            bag: facts(bag, first_day(bag)),
            gear: station.gear,
            aim: Aim { start: bag.start, time_window_s: bag.time_window_s },
            earlier: earlier
                .into_iter()
                .filter(|other| other.id != bag.id && other.stamp.is_live())
                .map(|other| EarlierBag {
                    bag: facts(other, first_day(other)),
                    shots: shots(other, station.id, zone),
                })
                .filter(|other| !other.shots.is_empty())
                .collect(),
            shots: shots(bag, station.id, zone),
            age_today: bag.days_since_roast(today).map(f64::from),
            coffee_left_g: bag.grams_left(),
            packs: rules::own_packs(),
        }
    }

    /// Adds what the traces of `bag`, from whose records this case was made for `station`, say about its pulls.
    pub fn read_traces(
        &mut self,
        bag: &Bag,
        station: StationId,
        gist_of: impl Fn(PullId, &Recipe) -> Option<Gist>,
    ) {
        for (shot, (pull, _)) in self.shots.iter_mut().zip(pulled_on(bag, station)) {
            shot.gist = gist_of(pull.id, &pull.used);
        }
    }

    /// Age of the bag at its first pull that says so.
    #[must_use]
    pub fn first_day(&self) -> Option<f64> {
        self.shots.iter().find_map(|s| s.days_since_roast)
    }

    /// The case with a temperature for every pull where one can be set: one that was not said is taken to be the plan's,
    /// else the pull's before it, else the start's, else what is usual. `None` where nothing is missing.
    #[must_use]
    pub fn with_temperatures(&self) -> Option<Self> {
        let scale = self.gear.temperature_c?;
        let said = |recipe: &Recipe| recipe.temperature_c.filter(|t| t.is_finite());
        let begun = self.aim.start.temperature_c.filter(|t| t.is_finite());
        if begun.is_some() && self.shots.iter().all(|s| said(&s.recipe).is_some()) {
            return None;
        }
        let mut full = self.clone();
        let mut last = begun.unwrap_or_else(|| scale.snap(STANDARD_TEMPERATURE_C));
        full.aim.start.temperature_c = Some(last);
        for shot in &mut full.shots {
            let planned = shot.plan.as_ref().and_then(said);
            last = said(&shot.recipe).or(planned).unwrap_or(last);
            shot.recipe.temperature_c = Some(last);
        }
        Some(full)
    }

    /// The case as it is heard: with temperatures and ages where they were not said, and without the cups of chokes. `None`
    /// where that changes nothing.
    #[must_use]
    pub(super) fn filled_in(&self) -> Option<Self> {
        let steps = [Self::with_temperatures, Self::with_days, Self::without_cups_of_chokes];
        steps.iter().fold(None, |full: Option<Self>, step| step(full.as_ref().unwrap_or(self)).or(full))
    }

    /// The case with an age for every pull where some have one: a pull of unknown day is taken to be of the day of the one
    /// before it, else of the one after. `None` where nothing is missing, or nothing known.
    fn with_days(&self) -> Option<Self> {
        let day = |shot: &Shot| shot.days_since_roast.filter(|day| day.is_finite());
        let mut last = self.shots.iter().find_map(day)?;
        if self.shots.iter().all(|shot| day(shot).is_some()) {
            return None;
        }
        let mut full = self.clone();
        for shot in &mut full.shots {
            last = day(shot).unwrap_or(last);
            shot.days_since_roast = Some(last);
        }
        Some(full)
    }

    /// The case without what was said of the cups of chokes: there were none. `None` where nothing was.
    fn without_cups_of_chokes(&self) -> Option<Self> {
        let said = |shot: &Shot| shot.choked && !shot.taste.is_empty();
        if !self.shots.iter().any(said) {
            return None;
        }
        let mut bare = self.clone();
        bare.shots.iter_mut().filter(|shot| said(shot)).for_each(|shot| shot.taste = Taste::default());
        Some(bare)
    }

    /// Whole pulls that the coffee left is enough for, at the dose of [`Self::current`]; `None` where nobody said how much
    /// the bag held.
    #[must_use]
    pub fn pulls_left(&self) -> Option<u32> {
        whole_pulls(self.coffee_left_g?, self.current().dose_g)
    }

    /// What a pull aimed at, on the gear's steps.
    #[must_use]
    pub fn aimed(&self, shot: &Shot) -> Recipe {
        self.gear.snap(&shot.aimed(self.aim.start.yield_g))
    }

    /// The setting of the best liked pull, of about the recipe to begin with, of the earlier bag whose roast is nearest, of
    /// equals the newest: where to begin if nobody named a setting. `None` where no such cup of an earlier bag was good.
    pub(super) fn earlier_grind(&self) -> Option<f64> {
        let liked = |shot: &Shot| shot.taste.liking().filter(|liking| *liking >= WORTH_BEGINNING_FROM);
        // Another drink or dose wants another setting.
        let start = &self.aim.start;
        let alike = |shot: &Shot| {
            let apart = [shot.recipe.yield_g / start.yield_g, shot.recipe.dose_g / start.dose_g];
            apart.into_iter().all(|times| libm::log(times).abs() <= ALIKE)
        };
        let best = |bag: &EarlierBag| {
            let cups = bag.shots.iter().filter(|s| !s.choked && s.recipe.grind.is_finite() && alike(s));
            let best =
                cups.filter_map(|s| Some((liked(s)?, s.recipe.grind))).max_by_key(|(liking, _)| *liking);
            best.map(|(_, grind)| grind)
        };
        let off = |bag: &EarlierBag| (bag.bag.darkness() - self.bag.darkness()).abs();
        let each = self.earlier.iter().rev().filter_map(|bag| Some((off(bag), best(bag)?)));
        each.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, grind)| grind)
    }

    /// The plan of which the last pull had so different a dose alone that it is more likely a slip than a choice, where the
    /// pull before it had not.
    pub(super) fn slipped_dose(&self) -> Option<Recipe> {
        let slipped = |shot: &Shot| {
            shot.other_dose().filter(|plan| (plan.dose_g - shot.recipe.dose_g).abs() > CHOSEN_DOSE_G)
        };
        let (last, before) = self.shots.split_last()?;
        slipped(last).filter(|_| before.last().is_none_or(|shot| slipped(shot).is_none()))
    }

    /// The recipe to measure changes from: what the last pull aimed at, its plan where it missed the drink or the dose by
    /// accident, or the start.
    #[must_use]
    pub fn current(&self) -> Recipe {
        if let Some(full) = self.with_temperatures() {
            return full.current();
        }
        let grind = self.earlier_grind().unwrap_or_else(|| self.gear.grind.usual());
        let start = self.aim.start.recipe(grind);
        let recipe = self.shots.last().map_or(start, |shot| {
            let finished = self.shots.iter().rev().find(|s| !s.choked);
            // A cup with nothing to mend is pulled again as it was, whatever had been planned.
            let plan = shot.missed_plan().or_else(|| self.slipped_dose());
            if let Some(plan) = plan.filter(|_| !cups::perfect_cup(shot)) {
                return plan;
            }
            shot.aimed(finished.map_or(start.yield_g, |s| s.recipe.yield_g))
        });
        self.gear.snap(&recipe)
    }

    /// Whether the current recipe is not what the last pull, which ran, was of: to pull it is not to pull the same again.
    #[must_use]
    pub fn last_was_another(&self) -> bool {
        self.shots.last().is_some_and(|last| !last.choked && !last.aims_at(&self.current()))
    }
}

/// Live pulls of a bag on one station, with their numbers in the bag's ledger, from 1: another grinder's settings say nothing
/// of this one's.
fn pulled_on(bag: &Bag, station: StationId) -> impl Iterator<Item = (&Pull, u32)> {
    bag.live_pulls().zip(1u32..).filter(move |(pull, _)| pull.station == station)
}

/// The same as shots, each of the day that it was in `zone`.
fn shots(bag: &Bag, station: StationId, zone: &TimeZone) -> Vec<Shot> {
    pulled_on(bag, station)
        .map(|(pull, label)| {
            let day = zone.to_datetime(pull.pulled_at).date();
            Shot {
                label,
                plan: pull.plan,
                recipe: pull.used,
                time_s: pull.time_s,
                first_drip_s: pull.first_drip_s,
                tds_pct: pull.tds_pct,
                taste: pull.taste,
                choked: pull.flags.choked,
                spurting: pull.flags.spurting,
                days_since_roast: bag.days_since_roast(day).map(f64::from),
                gist: None,
            }
        })
        .collect()
}
