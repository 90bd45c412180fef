//! One student at one exercise: pulls, hints, the served cup, the score.

use thiserror::Error;

use super::best::{Reached, best, liking_of};
use super::brew::{Brew, Luck};
use super::chance::Chance;
use super::exercise::{Exercise, Fault, Hidden, Move, Show};
use super::palate::Impression;
use crate::domain::{Attribute, Flags, Gear, GearFault, Lever, Recipe, Taste};
use crate::puck::{Channel, Condition, PuckFault, PullTrace, Settings};

/// Grid of exercise pulls, fine enough to look at.
pub const GRID: Settings = Settings { cells: 24, tubes: 8, pools: 4, step_s: 0.1 };

/// Seconds after which a pull without drink is abandoned.
const PATIENCE_S: f64 = 60.0;

/// Liking below which a cup is poured away.
pub const SINK_BELOW: f64 = 4.5;

/// Why a sitting cannot begin or a pull is not taken.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SittingFault {
    /// The exercise is used up.
    #[error("{}", say!("practice-sitting-no-pulls-left", n = .0))]
    NoPullsLeft(usize),
    /// The cup was served already.
    #[error("{}", word!("practice-sitting-served"))]
    Served,
    /// A lever that this exercise keeps still.
    #[error("{}", .0.kept())]
    Fixed(Move),
    /// Nothing was pulled yet.
    #[error("{}", word!("practice-sitting-nothing-pulled"))]
    NothingPulled,
    /// The station cannot be.
    #[error("{0}")]
    Gear(#[from] GearFault),
    /// Outside the simulator's range.
    #[error("{0}")]
    Puck(#[from] PuckFault),
}

/// A pull in an exercise, with what the student may see of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulled {
    /// What was planned.
    pub plan: Recipe,
    /// What was really used; the hand's errors are weighed, so they are seen.
    pub used: Recipe,
    /// Pump on to cup away, seconds, where the clock is shown.
    pub time_s: Option<f64>,
    /// Pump on to first drip, seconds, where the clock is shown.
    pub first_drip_s: Option<f64>,
    /// Strength, percent, where it is shown.
    pub tds_pct: Option<f64>,
    /// Marks and liking, as far as they are shown.
    pub taste: Taste,
    /// Choked, spurting; `sink` when the cup was poured away.
    pub flags: Flags,
    /// The strips, where they are shown.
    pub trace: Option<PullTrace>,
}

/// How a sitting went.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Pulls made.
    pub pulls: usize,
    /// Of them poured away: choked, or liked below [`SINK_BELOW`].
    pub sinks: usize,
    /// Dry coffee used, grams.
    pub coffee_g: f64,
    /// Hints taken.
    pub hints: usize,
    /// The served recipe and how much it is liked when everything goes as meant.
    pub served: Reached,
    /// The best that can be reached with the allowed moves.
    pub best: Reached,
    /// Liking points between the two, never negative.
    pub gap: f64,
    /// Whether the served cup is near enough.
    pub passed: bool,
    /// 0–100: 70 for the cup (none left at a gap of 3 points), 30 for thrift (each sink and each pull after the third
    /// costs), less 4 a hint.
    pub points: u32,
}

/// One student at one exercise. Everybody with the same seed meets the same hidden coffee, drinker and luck.
#[derive(Debug, Clone)]
pub struct Sitting {
    exercise: Exercise,
    hidden: Hidden,
    gear: Gear,
    seed: u64,
    pulled: Vec<Pulled>,
    sinks: usize,
    hints: usize,
    served: Option<Recipe>,
}

impl Sitting {
    /// Begins. `hidden` comes from the pack ([`super::pack::Pack::hidden`]) and is varied by the seed.
    ///
    /// # Errors
    /// [`SittingFault::Gear`] when the station cannot be.
    pub fn begin(exercise: &Exercise, hidden: &Hidden, seed: u64) -> Result<Self, SittingFault> {
        let hidden = varied(hidden, exercise.variety, seed);
        let gear = hidden.station.bar.gear(&hidden.station.grinder)?;
        Ok(Self {
            exercise: exercise.clone(),
            hidden,
            gear,
            seed,
            pulled: Vec::new(),
            sinks: 0,
            hints: 0,
            served: None,
        })
    }

    /// The exercise.
    #[must_use]
    pub fn exercise(&self) -> &Exercise {
        &self.exercise
    }

    /// Takes the sentences of an exercise and of what it hides, where both are the same in all else. False, and nothing
    /// changes, where they are not.
    pub fn say_as(&mut self, exercise: &Exercise, hidden: &Hidden) -> bool {
        let mut said = self.exercise.clone();
        let (old, new) = (&mut self.hidden.clone(), varied(hidden, exercise.variety, self.seed));
        old.palate.name.clone_from(&new.palate.name);
        old.station.name.clone_from(&new.station.name);
        old.station.grinder.name.clone_from(&new.station.grinder.name);
        let same = said.say_as(exercise) && old.coffee.say_as(&new.coffee) && *old == new;
        if same {
            (self.exercise, self.hidden) = (said, new);
        }
        same
    }

    /// What can be set and measured at its station.
    #[must_use]
    pub fn gear(&self) -> &Gear {
        &self.gear
    }

    /// Where it begins, on the gear's own marks.
    #[must_use]
    pub fn start(&self) -> Recipe {
        self.gear.snap(&self.exercise.start.into())
    }

    /// What was pulled so far.
    #[must_use]
    pub fn pulled(&self) -> &[Pulled] {
        &self.pulled
    }

    /// Pulls still at hand.
    #[must_use]
    pub fn left(&self) -> usize {
        self.exercise.most_pulls.saturating_sub(self.pulled.len())
    }

    /// What was hidden; for showing at the end.
    #[must_use]
    pub fn hidden(&self) -> &Hidden {
        &self.hidden
    }

    fn brew(&self) -> Brew<'_> {
        Brew {
            coffee: &self.hidden.coffee,
            grinder: &self.hidden.station.grinder,
            bar: &self.hidden.station.bar,
            age_days: self.exercise.age_days,
        }
    }

    fn levers(&self) -> Vec<Lever> {
        self.exercise.moves.iter().map(|m| m.lever()).collect()
    }

    /// Pulls a recipe (snapped to the gear's marks first).
    ///
    /// # Errors
    /// [`SittingFault`] when no pull is left, the cup is served, or a lever was moved that must stay.
    pub fn pull(&mut self, recipe: &Recipe) -> Result<&Pulled, SittingFault> {
        if self.served.is_some() {
            return Err(SittingFault::Served);
        }
        if self.left() == 0 {
            return Err(SittingFault::NoPullsLeft(self.exercise.most_pulls));
        }
        let plan = self.gear.snap(recipe);
        let start = self.start();
        for at in Move::ALL {
            let lever = at.lever();
            if !self.exercise.moves.contains(&at) && plan.get(lever) != start.get(lever) {
                return Err(SittingFault::Fixed(at));
            }
        }
        let pulled = self.make(plan)?;
        if pulled.flags.sink {
            self.sinks += 1;
        }
        self.pulled.push(pulled);
        self.pulled.last().ok_or(SittingFault::NothingPulled)
    }

    fn make(&self, plan: Recipe) -> Result<Pulled, SittingFault> {
        let number = self.pulled.len() + 1;
        let mut chance = Chance::new(self.seed, 1000 + number as u64);
        let luck = self.luck(number, &mut chance);
        let shot = self.brew().pull(&plan, &luck, None, PATIENCE_S, &GRID)?;
        let felt = Impression::of(&shot.cup);
        let choked = shot.trace.condition == Condition::Choked || shot.trace.yield_g < 5.0;
        let shows = |what| self.exercise.shows.contains(&what);
        let wanted: &[Attribute] = if shows(Show::Marks) { &Attribute::ALL } else { &[] };
        let mut taste = self.hidden.palate.taste(&felt, wanted, &mut chance);
        let measured = shot.cup.tds_pct + chance.around(0.07);
        if choked {
            taste = Taste::default();
        } else if !shows(Show::Liking) {
            taste.set_liking(None);
        }
        let tenth = |value: f64| (value * 10.0).round() / 10.0;
        Ok(Pulled {
            plan,
            used: Recipe { dose_g: tenth(shot.used.dose_g), yield_g: tenth(shot.used.yield_g), ..shot.used },
            time_s: shows(Show::Clock).then(|| tenth(shot.trace.end_s)),
            first_drip_s: shot.trace.first_drip_s.filter(|_| shows(Show::Clock)).map(tenth),
            tds_pct: (shows(Show::Strength) && !choked).then(|| (measured * 100.0).round().max(0.0) / 100.0),
            taste,
            flags: Flags {
                choked,
                spurting: !luck.channels.is_empty(),
                sink: choked || self.hidden.palate.liking(&felt) < SINK_BELOW,
            },
            trace: shows(Show::Trace).then_some(shot.trace),
        })
    }

    fn luck(&self, number: usize, chance: &mut Chance) -> Luck {
        let drawn = Luck::drawn(chance);
        let share = self.exercise.scatter;
        let calm = |factor: f64| libm::pow(factor, share);
        let mut luck = Luck {
            care: calm(drawn.care),
            loosen: calm(drawn.loosen),
            dose_off_g: share * drawn.dose_off_g,
            yield_off_g: share * drawn.yield_off_g,
            temperature_off_c: share * drawn.temperature_off_c,
            channels: Vec::new(),
        };
        for surprise in self.exercise.surprises.iter().filter(|surprise| surprise.pull == number) {
            match surprise.fault {
                Fault::Spurt(opens_at_s) => {
                    luck.care *= 1.6;
                    let channel =
                        Channel { opens_at_s, area_share: 0.010, gain: 40.0, heals_in_s: Some(9.0) };
                    luck.channels.push(channel);
                }
                Fault::Sloppy => {
                    luck.care *= 2.4;
                    luck.loosen *= 1.38;
                }
                Fault::Cool(by_c) => luck.temperature_off_c -= by_c,
                Fault::Dose(by_g) => luck.dose_off_g += by_g,
                Fault::Warm(share) => luck.loosen *= 1.0 + share,
            }
        }
        luck
    }

    /// The next hint, if there is one left.
    pub fn hint(&mut self) -> Option<&str> {
        let hint = self.exercise.hints.get(self.hints)?;
        self.hints += 1;
        Some(hint)
    }

    /// Serves the recipe of one of the pulls (counted from 1).
    ///
    /// # Errors
    /// [`SittingFault::NothingPulled`] when there is no such pull, [`SittingFault::Served`] the second time.
    pub fn serve(&mut self, number: usize) -> Result<(), SittingFault> {
        if self.served.is_some() {
            return Err(SittingFault::Served);
        }
        let pull = number.checked_sub(1).and_then(|at| self.pulled.get(at));
        self.served = Some(pull.ok_or(SittingFault::NothingPulled)?.plan);
        Ok(())
    }

    /// The recipe that was served.
    #[must_use]
    pub fn served(&self) -> Option<Recipe> {
        self.served
    }

    /// The best cup that the allowed moves reach. About a hundred to three hundred coarse pulls: off the drawing thread.
    ///
    /// # Errors
    /// [`SittingFault::Puck`] when the station lies outside the simulator's range.
    pub fn best(&self) -> Result<Reached, SittingFault> {
        Ok(best(&self.brew(), &self.hidden.palate, &self.gear, &self.start(), &self.levers())?)
    }

    /// Scores what was served, or the last pull where nothing was served yet.
    ///
    /// # Errors
    /// [`SittingFault::NothingPulled`] before the first pull.
    pub fn score(&self) -> Result<Score, SittingFault> {
        let recipe = self.served.or_else(|| self.pulled.last().map(|pulled| pulled.plan));
        let recipe = recipe.ok_or(SittingFault::NothingPulled)?;
        let liking = liking_of(&self.brew(), &self.hidden.palate, &recipe)?;
        let mut best = self.best()?;
        if liking > best.liking {
            best = Reached { recipe, liking };
        }
        let gap = best.liking - liking;
        let pulls = self.pulled.len();
        let cup = 70.0 * (1.0 - gap / 3.0).clamp(0.0, 1.0);
        let wasted = self.sinks as f64 * 8.0 + pulls.saturating_sub(3) as f64 * 2.0;
        let thrift = (30.0 - wasted).max(0.0);
        let points = (cup + thrift - 4.0 * self.hints as f64).clamp(0.0, 100.0).round() as u32;
        Ok(Score {
            pulls,
            sinks: self.sinks,
            coffee_g: self.pulled.iter().map(|pulled| pulled.used.dose_g).sum(),
            hints: self.hints,
            served: Reached { recipe, liking },
            best,
            gap,
            passed: gap <= self.exercise.near,
            points,
        })
    }
}

/// The hidden coffee as a seed makes it: a little denser or looser, gives a little more or less, and the drinker leans a
/// little. Seed 0 gives it as written.
fn varied(hidden: &Hidden, variety: f64, seed: u64) -> Hidden {
    let mut varied = hidden.clone();
    if seed == 0 || variety <= 0.0 {
        return varied;
    }
    let mut chance = Chance::new(seed, 1);
    varied.coffee.flow = (varied.coffee.flow * chance.factor(0.18 * variety)).clamp(0.1, 10.0);
    varied.coffee.acids = (varied.coffee.acids * chance.factor(0.05 * variety)).clamp(0.3, 3.0);
    varied.coffee.bitters = (varied.coffee.bitters * chance.factor(0.05 * variety)).clamp(0.3, 3.0);
    varied.palate.ideal.sourness += chance.around(0.15 * variety);
    varied.palate.ideal.strength += chance.around(0.15 * variety);
    varied
}
