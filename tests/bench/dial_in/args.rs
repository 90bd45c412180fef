//! Command line of the bench.

use lexopt::prelude::*;

use crate::agents::Who;
use crate::world::{FAMILIES, Family};

/// Shown by `--help`.
pub const HELP: &str = "\
dial_in: hidden worlds, rival agents, one table
  --worlds N      number of worlds (default 140)
  --pulls N       pulls of a game (default 12)
  --seed S        seed (default 1)
  --family F      only this family: power wetting series cliff channel erosion thermal
  --agent A       random barista gp ceiling exec ours, several by commas (default random,barista,gp)
  --exec COMMAND  program for the agents exec and ours, e.g. \"target/release/thirdpull advise\"
  --ageing        also a bag over ten days
  --earlier       also with two earlier bags given
  --latency N     also time the answers at 30 pulls in N worlds
  --all           --ageing --earlier --latency 8
  --threads N     threads (default 2)
  --csv FILE      every pull of the main games as a table
  --check         check the worlds' own invariants instead";

/// What was asked for.
#[derive(Debug)]
pub struct Args {
    pub worlds: usize,
    pub pulls: usize,
    pub seed: u64,
    pub family: Option<Family>,
    pub agents: Vec<Who>,
    pub ageing: bool,
    pub earlier: bool,
    pub latency: usize,
    pub threads: usize,
    pub csv: Option<String>,
    pub check: bool,
    pub help: bool,
}

impl Args {
    /// Reads the command line.
    pub fn read() -> Result<Self, String> {
        let mut a = Self {
            worlds: 140,
            pulls: 12,
            seed: 1,
            family: None,
            agents: Vec::new(),
            ageing: false,
            earlier: false,
            latency: 0,
            threads: 2,
            csv: None,
            check: false,
            help: false,
        };
        let mut names = "random,barista,gp".to_owned();
        let mut command = None;
        let mut p = lexopt::Parser::from_env();
        let text = |p: &mut lexopt::Parser| -> Result<String, String> {
            p.value().and_then(|v| v.string()).map_err(|e| e.to_string())
        };
        let count = |p: &mut lexopt::Parser| -> Result<u64, String> {
            p.value().and_then(|v| v.parse::<u64>()).map_err(|e| e.to_string())
        };
        while let Some(arg) = p.next().map_err(|e| e.to_string())? {
            match arg {
                Long("worlds") => a.worlds = count(&mut p)? as usize,
                Long("pulls") => a.pulls = (count(&mut p)? as usize).max(1),
                Long("seed") => a.seed = count(&mut p)?,
                Long("threads") => a.threads = count(&mut p)? as usize,
                Long("latency") => a.latency = count(&mut p)? as usize,
                Long("family") => {
                    let name = text(&mut p)?;
                    let found = FAMILIES.into_iter().find(|f| f.name() == name);
                    a.family = Some(found.ok_or_else(|| format!("no family {name}"))?);
                }
                Long("agent") => names = text(&mut p)?,
                Long("exec") => command = Some(text(&mut p)?),
                Long("csv") => a.csv = Some(text(&mut p)?),
                Long("ageing") => a.ageing = true,
                Long("earlier") => a.earlier = true,
                Long("all") => {
                    a.ageing = true;
                    a.earlier = true;
                    a.latency = 8;
                }
                Long("check") => a.check = true,
                Long("help") | Short('h') => a.help = true,
                // Cargo's own word for "run the benches".
                Long("bench") => {}
                other => return Err(other.unexpected().to_string()),
            }
        }
        for name in names.split(',') {
            a.agents.push(match name {
                "random" => Who::Random,
                "barista" => Who::Barista,
                "gp" | "gp-ei" => Who::Gp,
                "ceiling" => Who::Ceiling,
                "ours" => Who::Ours(command.clone()),
                "exec" => Who::Exec(command.clone().ok_or("--agent exec needs --exec COMMAND")?),
                _ => return Err(format!("no agent {name}; --help lists them")),
            });
        }
        Ok(a)
    }
}
