//! The dial-in bench: hidden worlds, rival agents, one side-by-side table.
//!
//! `cargo bench --no-default-features --bench dial_in -- [options]`; `--help` lists them. Deterministic by seed; not in
//! the time of the tests.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod agents;
mod args;
mod check;
mod csv_out;
mod play;
mod protocol;
mod rng;
mod score;
mod table;
mod world;

use args::Args;
use play::{dialling_in, earlier_bags, in_parallel, play, reaches, ten_days};
use table::Row;
use world::World;

fn main() -> std::process::ExitCode {
    match Args::read().and_then(|a| run(&a)) {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("dial_in: {e}");
            std::process::ExitCode::FAILURE
        }
    }
}

fn run(args: &Args) -> Result<(), String> {
    if args.help {
        println!("{}", args::HELP);
        return Ok(());
    }
    if args.check {
        return check::check(args);
    }
    println!("{} worlds, {} pulls, seed {}", args.worlds, args.pulls, args.seed);
    let worlds: Vec<World> = (0..args.worlds).map(|i| World::new(args.seed, i, args.family)).collect();
    let calendar = dialling_in(args.pulls);
    let best = in_parallel(worlds.len(), args.threads, &|i| reaches(&worlds[i], &calendar));
    let aged: Vec<_> = worlds.iter().map(|w| ten_days(args.seed, w.index)).collect();
    let best_aged = if args.ageing {
        in_parallel(worlds.len(), args.threads, &|i| reaches(&worlds[i], &aged[i]))
    } else {
        Vec::new()
    };
    let short = dialling_in(args.pulls.min(5));
    let mut rows = Vec::new();
    for who in &args.agents {
        let main = in_parallel(worlds.len(), args.threads, &|i| {
            play(args.seed, &worlds[i], who, &calendar, &best[i], &[])
        });
        let ageing = in_parallel(best_aged.len(), args.threads, &|i| {
            play(args.seed, &worlds[i], who, &aged[i], &best_aged[i], &[])
        });
        let earlier = in_parallel(if args.earlier { worlds.len() } else { 0 }, args.threads, &|i| {
            let bags = earlier_bags(args.seed, &worlds[i]);
            play(args.seed, &worlds[i], who, &short, &best[i], &bags)
        });
        // Latency: alone on one thread, the last five answers of thirty.
        let long = dialling_in(30);
        let late_ms = worlds
            .iter()
            .take(args.latency)
            .flat_map(|w| {
                let game = play(args.seed, w, who, &long, &[], &[]);
                game.turns.iter().skip(25).map(|t| t.answer_ms).collect::<Vec<_>>()
            })
            .collect();
        eprintln!("{} has played", who.name());
        rows.push(Row { name: who.name().into(), main, ageing, earlier, late_ms });
    }
    table::print(&rows, args.pulls);
    if let Some(path) = &args.csv {
        csv_out::write(path, &rows)?;
    }
    Ok(())
}
