//! The best cup that can be reached on a station with the moves that are allowed.

use super::brew::{Brew, Luck, cup_at};
use super::palate::{Impression, Palate};
use super::sweep::SWEEP_GRID;
use crate::domain::{Gear, Lever, Recipe, Scale};
use crate::puck::PuckFault;

/// A recipe and how much its cup is liked when everything goes as meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reached {
    /// The recipe.
    pub recipe: Recipe,
    /// Liking, 1–9.
    pub liking: f64,
}

/// Longest pull that counts as a cup, seconds.
pub const LONGEST_S: f64 = 75.0;

/// How much a recipe's cup is liked when everything goes as meant; 1 when the cup never fills.
///
/// # Errors
/// [`PuckFault`] names what lies outside the simulator's range.
pub fn liking_of(brew: &Brew<'_>, palate: &Palate, recipe: &Recipe) -> Result<f64, PuckFault> {
    let shot = brew.pull(recipe, &Luck::none(), None, LONGEST_S, &SWEEP_GRID)?;
    Ok(if shot.trace.reached_yield { palate.liking(&Impression::of(&shot.cup)) } else { 1.0 })
}

/// The drink of one pull that is liked best: one simulation to the largest drink, tasted on its way.
fn best_drink(
    brew: &Brew<'_>,
    palate: &Palate,
    recipe: &Recipe,
    drinks: Option<Scale>,
) -> Result<Reached, PuckFault> {
    let Some(drinks) = drinks else {
        return Ok(Reached { recipe: *recipe, liking: liking_of(brew, palate, recipe)? });
    };
    let whole = Recipe { yield_g: drinks.max(), ..*recipe };
    let puck = brew.puck(&whole, &Luck::none(), None)?;
    let shot = brew.pull(&whole, &Luck::none(), None, LONGEST_S, &SWEEP_GRID)?;
    let age = brew.coffee.age_marks(brew.age_days);
    let mut best = Reached { recipe: *recipe, liking: 1.0 };
    for at in 0..drinks.count() {
        let yield_g = drinks.at(at);
        let Some(time_s) = shot.trace.time_at_g(yield_g) else { break };
        let liking = palate.liking(&Impression::of(&cup_at(&puck, &shot.trace, time_s, age)));
        if liking > best.liking {
            best = Reached { recipe: Recipe { yield_g, ..*recipe }, liking };
        }
    }
    Ok(best)
}

/// Values of a scale, at most about `most` of them, around the whole range.
fn thinned(scale: Scale, most: usize) -> impl Iterator<Item = f64> {
    let stride = scale.count().div_ceil(most).max(1);
    (0..scale.count()).step_by(stride).map(move |at| scale.at(at))
}

/// Searches the allowed moves one after the other until none of them helps, each over its whole scale (grinders with
/// very many settings first coarsely, then step by step around the best). Deterministic.
///
/// # Errors
/// [`PuckFault`] names what lies outside the simulator's range.
pub fn best(
    brew: &Brew<'_>,
    palate: &Palate,
    gear: &Gear,
    start: &Recipe,
    moves: &[Lever],
) -> Result<Reached, PuckFault> {
    let drinks = moves.contains(&Lever::Yield).then_some(gear.yield_g);
    let start = gear.snap(start);
    let mut found = best_drink(brew, palate, &start, drinks)?;
    for round in 0..4 {
        let before = found.liking;
        for lever in [Lever::Grind, Lever::Dose, Lever::Temperature] {
            let Some(scale) = gear.scale(lever).filter(|_scale| moves.contains(&lever)) else { continue };
            let mut tried: Vec<f64> = if round == 0 { thinned(scale, 32).collect() } else { Vec::new() };
            let here = scale.index_of(found.recipe.get(lever).unwrap_or(scale.min()));
            let reach = scale.count().div_ceil(32).max(2);
            tried.extend((here.saturating_sub(reach)..=here + reach).map(|at| scale.at(at)));
            for value in tried {
                let candidate = best_drink(brew, palate, &found.recipe.with(lever, value), drinks)?;
                if candidate.liking > found.liking {
                    found = candidate;
                }
            }
        }
        if round > 0 && found.liking - before < 1e-3 {
            break;
        }
    }
    Ok(found)
}
