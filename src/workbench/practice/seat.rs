//! A student at an exercise: what is planned, pulled, hinted, served; the score, and the engine playing the same coffee.

use jiff::Timestamp;

use crate::domain::{
    Bag, BagId, Basket, DrinkerId, Gear, Id, Lever, Pull, PullId, Recipe, Scale, Stamp, StartRecipe, Station,
    StationId,
};
use crate::practice::class::seed_of;
use crate::practice::exercise::Move;
use crate::practice::{Pack, Pulled, ResultLine, Score, Sitting, SittingFault};
use crate::workbench::view::advice::Verdict;
use crate::workbench::view::lever_word;
use crate::workbench::{Adviser, Question};

/// How the engine fared with the same coffee.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineRun {
    /// What it pulled until it was content, in order.
    pub pulled: Vec<Pulled>,
    /// Which of them it served, counted from 1.
    pub served: usize,
    /// Whether it said that it had found it, rather than running out of pulls.
    pub settled: bool,
    /// How its served cup scores.
    pub score: Score,
}

/// A student at an exercise.
#[derive(Debug, Clone)]
pub struct Seat {
    /// The exercise: its file's name without `.ron`.
    pub name: String,
    /// The word on the blackboard; everybody with the same word meets the same coffee.
    pub word: String,
    /// Who sits here.
    pub student: String,
    /// What is planned for the next pull.
    pub plan: Recipe,
    /// Hints taken so far.
    pub hints: Vec<String>,
    /// How it went, once scored.
    pub score: Option<Score>,
    sitting: Sitting,
}

impl Seat {
    /// Sits down. An empty word gives the coffee as written.
    ///
    /// # Errors
    /// One sentence when the exercise names something that is not there.
    pub fn take(pack: &Pack, name: &str, word: &str, student: &str) -> Result<Self, String> {
        let exercise = pack
            .exercises
            .get(name)
            .ok_or_else(|| say!("work-practice-seat-there-is-no-exercise", name = name))?;
        let hidden =
            pack.hidden(exercise).ok_or(word!("work-practice-seat-the-exercise-names-something-that-is"))?;
        let seed = if word.trim().is_empty() { 0 } else { seed_of(word) };
        let sitting = Sitting::begin(exercise, &hidden, seed).map_err(|fault| fault.to_string())?;
        Ok(Self {
            name: name.to_owned(),
            word: word.trim().to_owned(),
            student: student.trim().to_owned(),
            plan: sitting.start(),
            hints: Vec::new(),
            score: None,
            sitting,
        })
    }

    /// Says the exercise, the hints and what is hidden as the pack says them, where they are the same in all else.
    pub fn say_as(&mut self, pack: &Pack) {
        let Some(exercise) = pack.exercises.get(&self.name) else { return };
        let Some(hidden) = pack.hidden(exercise) else { return };
        if self.sitting.say_as(exercise, &hidden) {
            self.hints = exercise.hints.iter().take(self.hints.len()).cloned().collect();
        }
    }

    /// The sitting itself.
    #[must_use]
    pub fn sitting(&self) -> &Sitting {
        &self.sitting
    }

    /// The levers that may be moved, each with the gear's marks.
    #[must_use]
    pub fn levers(&self) -> Vec<(Lever, Scale)> {
        let moves = &self.sitting.exercise().moves;
        let all = [Move::Grind, Move::Dose, Move::Yield, Move::Temperature];
        let allowed = all.into_iter().filter(|one| moves.contains(one)).map(Move::lever);
        allowed.filter_map(|lever| Some((lever, self.sitting.gear().scale(lever)?))).collect()
    }

    /// Moves a lever of the plan to the nearest mark of the gear.
    pub fn set(&mut self, lever: Lever, value: f64) {
        if let Some((_, scale)) = self.levers().into_iter().find(|(one, _)| *one == lever) {
            self.plan = self.plan.with(lever, scale.snap(value));
        }
    }

    /// Pulls the plan.
    ///
    /// # Errors
    /// One sentence.
    pub fn pull(&mut self) -> Result<(), String> {
        let plan = self.plan;
        self.sitting.pull(&plan).map(|_| ()).map_err(told)
    }

    /// Takes the next hint. False when none is left.
    pub fn hint(&mut self) -> bool {
        let hint = self.sitting.hint().map(str::to_owned);
        let there = hint.is_some();
        self.hints.extend(hint);
        there
    }

    /// Hints that are left.
    #[must_use]
    pub fn hints_left(&self) -> usize {
        self.sitting.exercise().hints.len().saturating_sub(self.hints.len())
    }

    /// Serves a pull, counted from 1.
    ///
    /// # Errors
    /// One sentence.
    pub fn serve(&mut self, number: usize) -> Result<(), String> {
        self.sitting.serve(number).map_err(told)
    }

    /// Whether the cup is served.
    #[must_use]
    pub fn is_served(&self) -> bool {
        self.sitting.served().is_some()
    }

    /// A line for the results, once scored.
    #[must_use]
    pub fn result(&self) -> Option<ResultLine> {
        Some(ResultLine {
            student: self.student.clone(),
            exercise: self.name.clone(),
            word: self.word.clone(),
            score: self.score.clone()?,
        })
    }
}

fn told(fault: SittingFault) -> String {
    fault.to_string()
}

/// The engine at an exercise, move by move, knowing what a student may know. `None` when `goes_on` says to stop.
pub fn play(
    mut sitting: Sitting,
    adviser: &Adviser,
    mut goes_on: impl FnMut(usize) -> bool,
) -> Option<Result<EngineRun, String>> {
    let start = sitting.start();
    let moves: Vec<Lever> = sitting.exercise().moves.iter().map(|one| one.lever()).collect();
    let (station, mut bag) = records(&sitting, start);
    let mut plan = start;
    let mut settled = false;
    while sitting.left() > 0 {
        if !goes_on(sitting.pulled().len()) {
            return None;
        }
        let pulled = match sitting.pull(&plan) {
            Ok(pulled) => pulled.clone(),
            Err(fault) => return Some(Err(fault.to_string())),
        };
        bag.pulls.push(record(&pulled, &station, sitting.pulled().len()));
        let question = Question {
            bag: bag.clone(),
            station: station.clone(),
            earlier: Vec::new(),
            today: day(),
            zone: jiff::tz::TimeZone::UTC,
            revision: sitting.pulled().len() as u64,
            packs: crate::rules::own_packs(),
            one_lever: false,
            traces: Vec::new(),
        };
        let advice = adviser(&question);
        if advice.verdict == Verdict::Settled {
            settled = true;
            break;
        }
        for lever in [Lever::Grind, Lever::Dose, Lever::Yield, Lever::Temperature] {
            let value = if moves.contains(&lever) { advice.recipe.get(lever) } else { start.get(lever) };
            if let Some(value) = value {
                plan = plan.with(lever, value);
            }
        }
    }
    // Content with the last; out of pulls, the one liked best, the later one of equals.
    let best = sitting
        .pulled()
        .iter()
        .enumerate()
        .max_by_key(|(at, pulled)| (pulled.taste.liking().unwrap_or(0), *at))
        .map_or(1, |(at, _)| at + 1);
    let served = if settled { sitting.pulled().len() } else { best };
    let scored = sitting.serve(served).and_then(|()| sitting.score());
    let pulled = sitting.pulled().to_vec();
    Some(scored.map(|score| EngineRun { pulled, served, settled, score }).map_err(told))
}

fn day() -> jiff::civil::Date {
    jiff::civil::date(2026, 1, 15)
}

fn moment(number: usize) -> Timestamp {
    // Ids sort by time: any fixed morning does.
    Timestamp::from_second(1_768_464_000 + 300 * number as i64).unwrap_or(Timestamp::UNIX_EPOCH)
}

/// Station and bag as a notebook would hold them; levers that must stay have one mark.
fn records(sitting: &Sitting, start: Recipe) -> (Station, Bag) {
    let gear = *sitting.gear();
    let moves: Vec<Lever> = sitting.exercise().moves.iter().map(|one| one.lever()).collect();
    let fixed = |lever: Lever, scale: Scale| {
        let at = start.get(lever).unwrap_or(scale.min());
        let one = || Scale::new(lever_word(lever), at, at, scale.step()).unwrap_or(scale);
        if moves.contains(&lever) { scale } else { one() }
    };
    let mut grind = gear.grind;
    grind.scale = fixed(Lever::Grind, grind.scale);
    let gear = Gear {
        grind,
        dose_g: fixed(Lever::Dose, gear.dose_g),
        yield_g: fixed(Lever::Yield, gear.yield_g),
        temperature_c: gear.temperature_c.map(|scale| fixed(Lever::Temperature, scale)),
        ..gear
    };
    let stamp = Stamp::new(moment(0));
    let id = |n: u8| Id::from_parts(moment(0), [n; 10]);
    let hidden = sitting.hidden();
    let station = Station {
        id: StationId(id(1)),
        stamp,
        name: hidden.station.name.clone(),
        grinder_name: String::new(),
        machine_name: String::new(),
        gear,
        basket: Basket { diameter_mm: hidden.station.bar.basket_mm, stated_dose_g: start.dose_g },
        archived: false,
        note: String::new(),
    };
    let age = (sitting.exercise().age_days.clamp(0.0, 120.0)) as i64;
    let roasted = day().checked_sub(jiff::Span::new().days(age)).ok();
    let bag = Bag {
        id: BagId(id(2)),
        stamp,
        name: "practice".to_owned(),
        roaster: String::new(),
        // The bag says its roast, as a real one does; nothing else of the coffee is told.
        roast: Some(hidden.coffee.roast),
        process: None,
        roasted_on: roasted,
        opened_on: None,
        mass_g: None,
        price: None,
        station: station.id,
        drinker: DrinkerId(id(3)),
        start: StartRecipe {
            grind: Some(start.grind),
            dose_g: start.dose_g,
            yield_g: start.yield_g,
            temperature_c: start.temperature_c,
        },
        time_window_s: None,
        keeper: None,
        finished: false,
        note: String::new(),
        pulls: Vec::new(),
    };
    (station, bag)
}

fn record(pulled: &Pulled, station: &Station, number: usize) -> Pull {
    let at = moment(number);
    Pull {
        id: PullId(Id::from_parts(at, [number as u8; 10])),
        stamp: Stamp::new(at),
        pulled_at: at,
        station: station.id,
        pulled_by: String::new(),
        plan: Some(pulled.plan),
        used: pulled.used,
        time_s: pulled.time_s,
        first_drip_s: pulled.first_drip_s,
        tds_pct: pulled.tds_pct,
        taste: pulled.taste,
        flags: pulled.flags,
        note: String::new(),
        has_trace: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::engine;

    #[test]
    fn a_seat_keeps_to_the_marks_and_the_engine_beats_standing_still() {
        let pack = Pack::shipped();
        assert!(Seat::take(&pack, "nothing", "", "").is_err());
        let mut seat = Seat::take(&pack, "too-slow", "tern 7", "Ines").unwrap();
        let start = seat.plan;
        seat.set(Lever::Grind, start.grind + 1e9);
        let (_, scale) = seat.levers()[0];
        assert_eq!(seat.plan.grind, scale.max());
        seat.plan = start;
        seat.pull().unwrap();
        assert!(seat.hint() && seat.hints.len() == 1);
        seat.serve(1).unwrap();
        assert!(seat.pull().is_err(), "served");
        let fresh = Seat::take(&pack, "too-slow", "tern 7", "").unwrap().sitting().clone();
        let still = seat.sitting().score().unwrap();
        let engine = play(fresh.clone(), &engine(), |_| true).unwrap().unwrap();
        assert!(!engine.pulled.is_empty() && engine.pulled.len() <= fresh.exercise().most_pulls);
        assert!(engine.served >= 1 && engine.served <= engine.pulled.len());
        assert!(engine.score.served.liking > still.served.liking, "{engine:?} {still:?}");
        seat.score = Some(still);
        assert_eq!(seat.result().unwrap().student, "Ines");
        assert!(play(fresh, &crate::workbench::engine(), |_| false).is_none());
    }
}
