//! Playing games: an agent, a world, a calendar of pulls, and what is kept of each pull for the scores.

use std::time::Instant;

use crate::agents::{Agent, Who};
use crate::protocol::{Advice, Earlier, Recipe, Shot};
use crate::rng::Rng;
use crate::world::best::{Reach, reach};
use crate::world::setup::BagFacts;
use crate::world::shot::{self, When};
use crate::world::{Truth, World};

/// Kept of one pull. "Before" is the answer by which it was pulled, "after" the one to its record.
#[derive(Debug, Clone)]
pub struct Turn {
    /// True mean liking of the pulled recipe short of the best reachable that day.
    pub pulled_regret: f64,
    /// The same for the recipe that the agent would serve after the pull.
    pub served_regret: f64,
    /// Stated chance that the served recipe is near-best, after the pull.
    pub chance: Option<f64>,
    /// Whether the stated 80 % ranges (time, strength, liking) covered what happened; `None` where not stated or not seen.
    pub covered: [Option<bool>; 3],
    /// Widths of the same ranges.
    pub widths: [Option<f64>; 3],
    /// The answer after the pull said "settled".
    pub settled: bool,
    pub repeat: bool,
    pub dose_g: f64,
    /// Time that the answer took, milliseconds.
    pub answer_ms: f64,
    /// The recipe asked for was off the gear's steps or ranges.
    pub off_grid: bool,
    pub recipe: Recipe,
    pub shot: Shot,
    /// Best reachable liking that day, and where.
    pub reach: f64,
    pub reach_at: Recipe,
}

/// One game.
#[derive(Debug, Clone)]
pub struct Game {
    pub world: usize,
    pub family: &'static str,
    pub refractometer: bool,
    /// Whether the temperature can be set.
    pub temperature: bool,
    /// Whether the start recipe named a grind, and the grinder's micrometres are known.
    pub grind_known: bool,
    pub um_known: bool,
    /// Kind of drinker.
    pub drinker: String,
    pub turns: Vec<Turn>,
    /// Why the game broke off, if it did.
    pub fault: Option<String>,
}

/// Within this of the best reachable is near-best.
pub const NEAR: f64 = 0.5;

/// Dialling in: four pulls a sitting, a sitting a day.
pub fn dialling_in(pulls: usize) -> Vec<When> {
    (0..pulls).map(|n| When { day: (n / 4) as f64, of_sitting: n % 4 }).collect()
}

/// A bag over ten days, one to three pulls a day; the same for all agents in a world.
pub fn ten_days(seed: u64, world: usize) -> Vec<When> {
    let mut rng = Rng::keyed(&[seed, world as u64, 3]);
    (0..10)
        .flat_map(|day| {
            let n = 1 + rng.below(3);
            (0..n).map(move |i| When { day: f64::from(day), of_sitting: i })
        })
        .collect()
}

/// Best reachable on each day of a calendar.
pub fn reaches(world: &World, calendar: &[When]) -> Vec<Reach> {
    let mut kept: Vec<Reach> = Vec::new();
    let mut last_day = f64::NAN;
    for when in calendar {
        let r = match kept.last() {
            Some(r) if when.day == last_day => *r,
            Some(r) => {
                let from: Vec<Recipe> =
                    std::iter::once(r.recipe).chain(kept.first().map(|k| k.recipe)).collect();
                reach(&world.truth, &world.setup.gear, when.day, &from, false)
            }
            None => reach(&world.truth, &world.setup.gear, when.day, &[], true),
        };
        last_day = when.day;
        kept.push(r);
    }
    kept
}

/// Two earlier bags on the same gear by the same drinker, each dialled in by the careful barista in six to nine pulls.
pub fn earlier_bags(seed: u64, world: &World) -> Vec<Earlier> {
    world
        .others
        .iter()
        .enumerate()
        .map(|(i, (facts, truth))| {
            let mut rng = Rng::keyed(&[seed, world.index as u64, 4, i as u64]);
            let pulls = 6 + rng.below(4);
            Earlier { bag: facts.bag(), shots: dial(world, truth, facts, pulls, &mut rng) }
        })
        .collect()
}

fn dial(world: &World, truth: &Truth, facts: &BagFacts, pulls: usize, rng: &mut Rng) -> Vec<Shot> {
    let mut barista = crate::agents::barista::Barista::default();
    let mut open = world.setup.open();
    open.bag = facts.bag();
    let mut shots = Vec::new();
    let mut advice = barista.open(&open).unwrap_or_default();
    for when in dialling_in(pulls) {
        let shot = shot::pull(truth, &world.setup, facts, &advice.recipe, when, rng);
        advice = barista.shot(&shot).unwrap_or_default();
        shots.push(shot);
    }
    shots
}

/// Plays one game.
pub fn play(
    seed: u64,
    world: &World,
    who: &Who,
    calendar: &[When],
    reaches: &[Reach],
    earlier: &[Earlier],
) -> Game {
    let mut game = Game {
        world: world.index,
        family: world.truth.family.name(),
        refractometer: world.setup.gear.refractometer,
        temperature: world.setup.gear.temperature_c.is_some(),
        grind_known: world.setup.start.grind.is_some(),
        um_known: world.setup.gear.grind.um_per_unit.is_some(),
        drinker: format!("{:?}", world.truth.drinker.kind),
        turns: Vec::with_capacity(calendar.len()),
        fault: None,
    };
    let facts: Vec<BagFacts> = world.others.iter().map(|o| o.0.clone()).collect();
    let result = who
        .make(
            &world.setup,
            &facts[..earlier.len().min(facts.len())],
            seed.wrapping_add(world.index as u64 * 7919),
        )
        .and_then(|mut agent| rounds(&mut *agent, seed, world, calendar, reaches, earlier, &mut game));
    game.fault = result.err();
    game
}

fn rounds(
    agent: &mut dyn Agent,
    seed: u64,
    world: &World,
    calendar: &[When],
    reaches: &[Reach],
    earlier: &[Earlier],
    game: &mut Game,
) -> Result<(), String> {
    let mut open = world.setup.open();
    open.earlier = earlier.to_vec();
    let gear = &world.setup.gear;
    let mut advice: Advice = agent.open(&open)?;
    for (n, when) in calendar.iter().enumerate() {
        let recipe = gear.snap(advice.recipe);
        let off = |a: f64, b: f64| (a - b).abs() > 1e-4;
        let off_grid = off(recipe.grind, advice.recipe.grind)
            || off(recipe.dose_g, advice.recipe.dose_g)
            || off(recipe.yield_g, advice.recipe.yield_g)
            || off(recipe.temperature_c.unwrap_or(0.0), advice.recipe.temperature_c.unwrap_or(0.0));
        let shot = world.pull(seed, n, &recipe, *when);
        let best = reaches.get(n).map_or(9.0, |r| r.liking);
        let seen = [
            (!shot.choked).then_some(shot.time_s),
            shot.tds_pct,
            shot.taste.and_then(|t| t.liking).map(f64::from),
        ];
        let stated = [advice.expect.time_s, advice.expect.tds_pct, advice.expect.liking];
        let covered = std::array::from_fn(|i| stated[i].zip(seen[i]).map(|(q, v)| q.covers(v)));
        let widths = std::array::from_fn(|i| stated[i].zip(seen[i]).map(|(q, _)| q.p90 - q.p10));
        let clock = Instant::now();
        advice = agent.shot(&shot)?;
        let answer_ms = clock.elapsed().as_secs_f64() * 1e3;
        let short = |r: &Recipe| (best - world.truth.mean_liking(r, when.day)).max(0.0);
        game.turns.push(Turn {
            pulled_regret: short(&recipe),
            served_regret: short(&gear.snap(advice.best.recipe)),
            chance: advice.chance_near_best,
            covered,
            widths,
            settled: advice.status == "settled",
            repeat: advice.status == "repeat",
            dose_g: recipe.dose_g,
            answer_ms,
            off_grid,
            recipe,
            shot,
            reach: best,
            reach_at: reaches.get(n).map(|r| r.recipe).unwrap_or_default(),
        });
    }
    // Asking again with nothing new must be answered.
    agent.ask().map(|_| ())
}

/// Applies `work` to the indices below `n` on up to `threads` threads; results in order, the same for any number.
pub fn in_parallel<T: Send>(n: usize, threads: usize, work: &(dyn Fn(usize) -> T + Sync)) -> Vec<T> {
    let next = std::sync::atomic::AtomicUsize::new(0);
    let mut done: Vec<(usize, T)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads.max(1))
            .map(|_| {
                scope.spawn(|| {
                    let mut mine = Vec::new();
                    loop {
                        let i = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                        if i >= n {
                            return mine;
                        }
                        mine.push((i, work(i)));
                    }
                })
            })
            .collect();
        workers.into_iter().flat_map(|w| w.join().unwrap_or_default()).collect()
    });
    done.sort_by_key(|d| d.0);
    done.into_iter().map(|d| d.1).collect()
}
