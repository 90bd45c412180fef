//! Everyone who may choose the next pull, behind one trait that speaks the protocol's objects.

pub mod barista;
pub mod ceiling;
pub mod exec;
pub mod gp;
pub mod ours;
pub mod random;

use crate::protocol::{Advice, Best, Open, Quantiles, Recipe, Shot};
use crate::world::setup::{BagFacts, Setup};

/// Someone who is asked what to pull next.
pub trait Agent {
    /// Starts a bag; the answer names the first pull.
    fn open(&mut self, open: &Open) -> Result<Advice, String>;
    /// Takes a pulled shot; the answer names the next one.
    fn shot(&mut self, shot: &Shot) -> Result<Advice, String>;
    /// Asks again with nothing new.
    fn ask(&mut self) -> Result<Advice, String>;
}

/// Which agent, by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Who {
    Random,
    Barista,
    Gp,
    Ceiling,
    Exec(String),
    Ours(Option<String>),
}

impl Who {
    /// Name in tables.
    pub fn name(&self) -> &str {
        match self {
            Self::Random => "random",
            Self::Barista => "barista",
            Self::Gp => "gp-ei",
            Self::Ceiling => "ceiling",
            Self::Exec(_) => "exec",
            Self::Ours(_) => "ours",
        }
    }

    /// A fresh agent for one game. `setup` and `others` are for the one who knows the worlds' prior: they carry
    /// nothing hidden, only the habits from which the prior is drawn.
    pub fn make(&self, setup: &Setup, others: &[BagFacts], key: u64) -> Result<Box<dyn Agent>, String> {
        Ok(match self {
            Self::Random => Box::new(random::Random::new(key)),
            Self::Barista => Box::new(barista::Barista::default()),
            Self::Gp => Box::new(gp::Gp::new(key)),
            Self::Ceiling => Box::new(ceiling::Ceiling::new(setup.clone(), others.to_vec(), key)),
            Self::Exec(command) => Box::new(exec::Exec::start(command)?),
            Self::Ours(command) => ours::make(command.as_deref())?,
        })
    }
}

/// The pulls so far with the best-liked recipe, as any person keeps them.
#[derive(Debug, Clone, Default)]
pub struct Record {
    pub open: Open,
    pub shots: Vec<Shot>,
    /// The settings asked for, one per shot (the yield really drawn differs a little).
    pub asked: Vec<Recipe>,
}

impl Record {
    /// A new bag.
    pub fn start(open: &Open) -> Self {
        Self { open: open.clone(), ..Self::default() }
    }

    /// Adds a shot; what was asked is read back from what was drawn.
    pub fn push(&mut self, shot: &Shot, asked: Option<Recipe>) {
        self.shots.push(shot.clone());
        self.asked.push(asked.unwrap_or_else(|| self.open.gear.snap(recipe_of(shot))));
    }

    /// The start recipe on the gear's grid; an unknown grind is a third of the scale from the fine end.
    pub fn begin(&self) -> Recipe {
        let (g, s) = (&self.open.gear.grind, &self.open.aim.recipe);
        let third = (g.max - g.min) * 0.35;
        let unknown = if g.finer_sign() > 0.0 { g.max - third } else { g.min + third };
        self.open.gear.snap(Recipe {
            grind: s.grind.unwrap_or(unknown),
            dose_g: s.dose_g,
            yield_g: s.yield_g,
            temperature_c: s.temperature_c,
        })
    }

    /// Index of the best-liked pull by the mean of the likings of its recipe, drawn a third towards 5; ties to the later.
    pub fn best_index(&self) -> Option<usize> {
        let mut best: Option<(f64, usize)> = None;
        for (i, asked) in self.asked.iter().enumerate() {
            let likes: Vec<f64> = self
                .shots
                .iter()
                .zip(&self.asked)
                .filter(|(_, a)| *a == asked)
                .filter_map(|(s, _)| s.taste.and_then(|t| t.liking).map(f64::from))
                .collect();
            if likes.is_empty() {
                continue;
            }
            let n = likes.len() as f64;
            let mean = (likes.iter().sum::<f64>() + 0.33 * 5.0) / (n + 0.33);
            if best.is_none_or(|(v, _)| mean >= v) {
                best = Some((mean, i));
            }
        }
        best.map(|(_, i)| i)
    }

    /// The recipe to serve now by that record alone.
    pub fn best(&self) -> Best {
        let recipe =
            self.best_index().and_then(|i| self.asked.get(i)).copied().unwrap_or_else(|| self.begin());
        Best { recipe, liking: None }
    }
}

/// Settings of a shot.
pub fn recipe_of(s: &Shot) -> Recipe {
    Recipe { grind: s.grind, dose_g: s.dose_g, yield_g: s.yield_g, temperature_c: s.temperature_c }
}

/// An answer without expectations.
pub fn plain(status: &str, recipe: Recipe, best: Best) -> Advice {
    Advice { status: status.into(), recipe, best, ..Advice::default() }
}

/// 10, 50 and 90 % points of a sample (reordered in place).
pub fn quantiles(v: &mut [f64]) -> Option<Quantiles> {
    if v.is_empty() {
        return None;
    }
    v.sort_by(f64::total_cmp);
    let at = |p: f64| v[((p * (v.len() - 1) as f64).round() as usize).min(v.len() - 1)];
    Some(Quantiles { p10: at(0.1), p50: at(0.5), p90: at(0.9) })
}
