//! Invariants of the worlds themselves (`--check`): what the scores rest on.

use crate::agents::Record;
use crate::agents::random::sensible;
use crate::args::Args;
use crate::play::{dialling_in, reaches};
use crate::protocol::Recipe;
use crate::rng::Rng;
use crate::world::shot::log_likelihood;
use crate::world::{FAMILIES, World};

/// Runs all checks; the first that fails is the error.
pub fn check(args: &Args) -> Result<(), String> {
    let calendar = dialling_in(12);
    let (mut tops, mut starts, mut times, mut excess) = (Vec::new(), Vec::new(), Vec::new(), 0.0_f64);
    let mut near = [0_usize; 2];
    for i in 0..args.worlds {
        let w = World::new(args.seed, i, args.family);
        if args.family.is_none() && w.truth.family != FAMILIES[i % FAMILIES.len()] {
            return Err(format!("world {i} is of family {}", w.truth.family.name()));
        }
        let best = reaches(&w, &calendar);
        let again = reaches(&World::new(args.seed, i, args.family), &calendar);
        if best.iter().zip(&again).any(|(a, b)| a.liking.to_bits() != b.liking.to_bits()) {
            return Err(format!("world {i} is not the same twice"));
        }
        let mut rng = Rng::keyed(&[args.seed, i as u64, 99]);
        let gear = &w.setup.gear;
        let record = Record::start(&w.setup.open());
        let begin = record.begin();
        let within = |r: &Recipe| *r == gear.snap(*r);
        if !within(&best[0].recipe) || !within(&begin) {
            return Err(format!("world {i}: a recipe off the gear's steps"));
        }
        // Best reachable is at least any sampled recipe, in the sensible box, anywhere, and around itself.
        for k in 0..3000 {
            let r = match k % 3 {
                0 => sensible(&record, &mut rng),
                1 => gear.snap(Recipe {
                    grind: rng.range(gear.grind.min, gear.grind.max),
                    dose_g: rng.range(gear.dose_g.min, gear.dose_g.max),
                    yield_g: rng.range(gear.yield_g.min, gear.yield_g.max),
                    temperature_c: Some(rng.range(86.0, 97.0)),
                }),
                _ => {
                    let b = best[0].recipe;
                    gear.snap(Recipe {
                        grind: b.grind + gear.grind.step * (3.0 * rng.normal()).round(),
                        dose_g: b.dose_g + rng.normal(),
                        yield_g: b.yield_g + 3.0 * rng.normal(),
                        temperature_c: b.temperature_c.map(|t| t + 2.0 * rng.normal()),
                    })
                }
            };
            let l = w.truth.mean_liking(&r, 0.0);
            if !(1.0..=9.0).contains(&l) {
                return Err(format!("world {i}: mean liking {l} of {r:?}"));
            }
            excess = excess.max(l - best[0].liking);
            if k % 3 == 0 {
                near[0] += 1;
                near[1] += usize::from(l >= best[0].liking - 0.5);
            }
            let shot = w.pull(args.seed, k, &r, calendar[k % 12]);
            let finite = shot.time_s.is_finite()
                && (1.0..=120.0).contains(&shot.time_s)
                && shot.tds_pct.is_none_or(|t| (0.0..=30.0).contains(&t));
            let likely = log_likelihood(&w.truth, &shot, calendar[k % 12].day);
            if !finite || !likely.is_finite() {
                return Err(format!("world {i}: shot {shot:?}, likelihood {likely}"));
            }
        }
        if excess > 0.02 {
            return Err(format!("world {i}: a sampled recipe beats the best reachable by {excess:.3}"));
        }
        tops.push(best[0].liking);
        starts.push(best[0].liking - w.truth.mean_liking(&begin, 0.0));
        let cup = w.truth.cup(&best[0].recipe, 1.0);
        times.push(cup.time_s);
        if args.worlds <= 30 {
            println!(
                "{i:3} {:8} {:?} best {:.2} at {:?} (start {:?}): {:.0} s {:.1} % of {:.1} % uneven {:.2}",
                w.truth.family.name(),
                w.truth.drinker.kind,
                best[0].liking,
                best[0].recipe,
                begin,
                cup.time_s,
                cup.tds_pct,
                cup.extraction_pct,
                cup.uneven
            );
        }
    }
    let spread = |v: &mut Vec<f64>| {
        let q: Vec<String> = [0.05, 0.25, 0.5, 0.75, 0.95]
            .iter()
            .map(|p| format!("{:.2}", crate::score::point(v, *p)))
            .collect();
        q.join(" ")
    };
    println!("{} worlds hold their invariants; 5, 25, 50, 75, 95 % points:", args.worlds);
    println!("  best reachable liking {}", spread(&mut tops));
    println!("  start recipe short by {}", spread(&mut starts));
    println!("  time of the best      {}", spread(&mut times));
    println!("  near-best share of the sensible box {:.3}", near[1] as f64 / near[0].max(1) as f64);
    println!("  largest excess of a sampled recipe over the best found {excess:.4}");
    Ok(())
}
