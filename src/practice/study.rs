//! Prepared studies: a question, what to move, what to watch, what the model says (computed here, never written in the
//! file), what has been measured, what nobody knows.

use serde::{Deserialize, Serialize};

use super::bench::{Bench, BenchPull, Drawn, Handle};
use super::coffee::Coffee;
use super::exercise::{Setting, Station};
use super::palate::Palate;
use super::sitting::GRID;
use super::sweep::{Seen, Sweep, Watch, sweep};
use crate::puck::{PuckFault, Run};
use crate::units::{capital, figure};

/// A handle moved from one end to another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Which handle.
    pub handle: Handle,
    /// From.
    pub from: f64,
    /// To.
    pub to: f64,
    /// In how many steps, 2–400.
    pub count: usize,
}

/// One thing to compare.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Arm {
    /// Name.
    pub name: String,
    /// Handles set before pulling.
    #[serde(default)]
    pub set: Vec<(Handle, f64)>,
    /// What the machine does.
    #[serde(default)]
    pub drawn: Drawn,
}

/// What a study's author expects the model to bear out; `check` tells when it does not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Claim {
    /// The curve has its highest point inside the range.
    Peaks(Watch),
    /// The curve rises from the low end of the handle to the high end.
    Rises(Watch),
    /// The curve falls from the low end of the handle to the high end.
    Falls(Watch),
    /// The first arm has more of it than the second, by at least so much.
    More(Watch, String, String, f64),
    /// Two arms differ by less than so much.
    Alike(Watch, String, String, f64),
}

/// Something measured and published.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// What was found.
    pub what: String,
    /// Who and where.
    pub source: String,
    /// What of it was read: data, paper or abstract.
    pub read: Read,
    /// Under which conditions.
    #[serde(default)]
    pub under: String,
    /// What belongs on a plot.
    #[serde(default)]
    pub curves: Vec<MeasuredCurve>,
}

/// Measured points of one value against one handle, where the bench's axes are those of the source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredCurve {
    /// What was measured.
    pub of: Watch,
    /// The handle it runs over.
    pub over: Handle,
    /// `(handle value, watched value)`, handle values rising, in the units of both.
    pub points: Vec<(f64, f64)>,
}

/// What of a source was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Read {
    /// The data themselves.
    Data,
    /// The whole paper.
    Paper,
    /// The abstract.
    Abstract,
    /// Someone else's account of it.
    SecondHand,
}

/// A study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Study {
    /// Title.
    pub title: String,
    /// The question in one sentence.
    pub question: String,
    /// Coffee: name of a file under `coffees/`.
    pub coffee: String,
    /// Station: name of a file under `stations/`.
    pub station: String,
    /// Drinker: name of a file under `drinkers/`.
    pub drinker: String,
    /// Where it begins.
    pub start: Setting,
    /// Days since roast, 0–120.
    #[serde(default = "two_weeks")]
    pub age_days: f64,
    /// What is swept.
    #[serde(default)]
    pub sweep: Option<Range>,
    /// What is compared.
    #[serde(default)]
    pub arms: Vec<Arm>,
    /// Whether each arm's grind is moved until it takes as long as the first arm.
    #[serde(default)]
    pub same_time: bool,
    /// What to watch, most telling first.
    pub watch: Vec<Watch>,
    /// What the author expects the model to bear out.
    #[serde(default)]
    pub claims: Vec<Claim>,
    /// What has been measured.
    #[serde(default)]
    pub measured: Vec<Measured>,
    /// What nobody knows.
    pub unknown: Vec<String>,
    /// Questions for a class.
    #[serde(default)]
    pub ask: Vec<String>,
}

fn two_weeks() -> f64 {
    14.0
}

/// One arm, pulled.
#[derive(Debug, Clone)]
pub struct ArmRun {
    /// Its name.
    pub name: String,
    /// The bench as it stood for it.
    pub bench: Bench,
    /// The pull.
    pub pull: BenchPull,
    /// What came of it.
    pub seen: Seen,
    /// False when no grind gives it the time of the first arm.
    pub matched: bool,
}

/// A study, computed.
#[derive(Debug, Clone)]
pub struct StudyRun {
    /// The swept curve.
    pub sweep: Option<Sweep>,
    /// The arms.
    pub arms: Vec<ArmRun>,
    /// What the model says, in sentences made from the numbers.
    pub says: Vec<String>,
}

impl Study {
    /// The bench on which it begins.
    #[must_use]
    pub fn bench(&self, coffee: &Coffee, station: &Station) -> Bench {
        Bench {
            coffee: coffee.clone(),
            grinder: station.grinder.clone(),
            bar: station.bar.clone(),
            recipe: self.start.into(),
            age_days: self.age_days,
            ..Bench::default()
        }
    }

    /// Computes it.
    ///
    /// # Errors
    /// [`PuckFault`] names what lies outside the simulator's range.
    pub fn run(&self, bench: &Bench, palate: &Palate) -> Result<StudyRun, PuckFault> {
        let sweep = match &self.sweep {
            Some(r) => Some(sweep(bench, r.handle, (r.from, r.to), r.count, palate)?),
            None => None,
        };
        let mut run = Run::default();
        let mut arms: Vec<ArmRun> = Vec::with_capacity(self.arms.len());
        for arm in &self.arms {
            let mut stand = bench.clone();
            for &(handle, value) in &arm.set {
                stand.set(handle, value);
            }
            stand.drawn = arm.drawn.clone();
            let mut matched = true;
            if let Some(first) = arms.first().filter(|_first| self.same_time) {
                match stand.grind_for(first.seen.time_s, &GRID)? {
                    Some(grind) => stand.recipe.grind = grind,
                    None => matched = false,
                }
            }
            let pull = stand.pull_in(&mut run, &GRID)?;
            let seen = Seen::of(&pull, palate);
            arms.push(ArmRun { name: arm.name.clone(), bench: stand, pull, seen, matched });
        }
        let mut says = Vec::new();
        for &watch in &self.watch {
            says.extend(sweep.as_ref().and_then(|swept| curve_sentence(swept, watch)));
            says.extend(arms_sentence(&arms, watch));
        }
        says.extend(sweep.as_ref().and_then(lost_sentence));
        Ok(StudyRun { sweep, arms, says })
    }
}

/// Least difference worth naming: what a careful person could measure, by kind.
#[must_use]
pub fn worth_naming(watch: Watch) -> f64 {
    match watch {
        Watch::Time | Watch::FirstDrip => 0.5,
        Watch::Strength | Watch::Extraction => 0.1,
        Watch::Balance => 0.01,
        Watch::Unevenness => 0.2,
        Watch::CoffeePerDrink => 0.003,
        Watch::Liking => 0.1,
        Watch::Cup20 | Watch::Cup30 | Watch::Cup40 | Watch::Cup60 => 1.0,
    }
}

fn shown(watch: Watch, value: f64) -> String {
    let unit = watch.unit();
    let gap = if unit.is_empty() { "" } else { " " };
    format!("{}{gap}{unit}", figure(value, watch.decimals()))
}

fn handle_shown(handle: Handle, value: f64) -> String {
    let unit = handle.unit();
    let gap = if unit.is_empty() { "" } else { " " };
    let decimals = usize::from((value - value.round()).abs() > 0.05);
    format!("{}{gap}{unit}", figure(value, decimals))
}

/// One sentence about one curve, from its numbers.
#[must_use]
pub fn curve_sentence(swept: &Sweep, watch: Watch) -> Option<String> {
    let curve = swept.curve(watch);
    let (first, last) = (*curve.first()?, *curve.last()?);
    let top = swept.peak(watch)?;
    let bottom = curve.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let least = worth_naming(watch);
    let the = watch.the();
    // How far the curve lies above both of its ends, and below both.
    let (above, below) = (top.1 - first.1.max(last.1), first.1.min(last.1) - bottom.1);
    let at = |(x, y): (f64, f64)| (handle_shown(swept.handle, x), shown(watch, y));
    let ((start, from), (end, to)) = (at(first), at(last));
    let ((peak, most), (valley, fewest)) = (at(top), at(bottom));
    let sentence = if top.1 - bottom.1 < least {
        say!("practice-study-stays", the = the, value = from)
    } else if below > 0.5 * least && below > above {
        say!(
            "practice-study-down-and-up",
            the = the,
            from = from,
            start = start,
            bottom = fewest,
            valley = valley,
            to = to,
            end = end
        )
    } else if above > 0.5 * least {
        say!(
            "practice-study-up-and-down",
            the = the,
            from = from,
            start = start,
            top = most,
            peak = peak,
            to = to,
            end = end
        )
    } else if last.1 > first.1 {
        say!("practice-study-rises", the = the, from = from, start = start, to = to, end = end)
    } else {
        say!("practice-study-falls", the = the, from = from, start = start, to = to, end = end)
    };
    Some(capital(&sentence))
}

/// How many pulls of a sweep never filled the cup, in a sentence; `None` where all did.
#[must_use]
pub fn lost_sentence(swept: &Sweep) -> Option<String> {
    match swept.seen.iter().filter(|seen| !seen.filled).count() {
        0 => None,
        n => Some(say!("practice-study-lost", n = n)),
    }
}

/// One sentence about all arms, against the first.
fn arms_sentence(arms: &[ArmRun], watch: Watch) -> Option<String> {
    let (first, others) = arms.split_first()?;
    let base = first.seen.get(watch)?;
    let told = |arm: &ArmRun| match arm.seen.get(watch) {
        Some(value) if (value - base).abs() < worth_naming(watch) => {
            say!("practice-study-arm-alike", arm = arm.name, value = shown(watch, value))
        }
        Some(value) => {
            let sign = if value > base { "+" } else { "\u{2212}" };
            let by = format!("{sign}{}", shown(watch, (value - base).abs()));
            say!("practice-study-arm-differs", arm = arm.name, value = shown(watch, value), by = by)
        }
        None => say!("practice-study-arm-no-cup", arm = arm.name),
    };
    let begin = say!("practice-study-arm", arm = first.name, value = shown(watch, base));
    let next =
        |before: String, arm: &ArmRun| say!("practice-study-arms-next", before = before, next = told(arm));
    let arms = others.iter().fold(begin, next);
    Some(capital(&say!("practice-study-arms", the = watch.the(), arms = arms)))
}

/// What two arms have of a value, in words.
fn two_arms(watch: Watch, (one, value): (&str, f64), (other, value_2): (&str, f64)) -> String {
    let (value, value_2) = (shown(watch, value), shown(watch, value_2));
    say!("practice-study-two-arms", one = one, value = value, other = other, value_2 = value_2)
}

impl StudyRun {
    /// Whether the model bears out a claim, and what it says instead when it does not.
    ///
    /// # Errors
    /// One sentence with the numbers.
    pub fn bears_out(&self, claim: &Claim) -> Result<(), String> {
        let curve = |watch: Watch| {
            let swept = self.sweep.as_ref().ok_or(word!("practice-study-no-sweep"))?;
            let curve = swept.curve(watch);
            match (curve.first().copied(), curve.last().copied(), swept.peak(watch)) {
                (Some(a), Some(b), Some(top)) => Ok((a, b, top)),
                _ => Err(say!("practice-study-no-pull-has", what = watch.one())),
            }
        };
        let arm = |watch: Watch, name: &str| {
            let arm = self.arms.iter().find(|arm| arm.name == name);
            let arm = arm.ok_or_else(|| say!("practice-study-no-arm", arm = name))?;
            arm.seen
                .get(watch)
                .ok_or_else(|| say!("practice-study-arm-without", arm = name, watch = watch.name()))
        };
        match claim {
            Claim::Peaks(watch) => {
                let (a, b, top) = curve(*watch)?;
                let inside = top.1 > a.1.max(b.1) + 0.25 * worth_naming(*watch);
                let told = || {
                    say!(
                        "practice-study-no-peak",
                        the = watch.the(),
                        from = shown(*watch, a.1),
                        to = shown(*watch, b.1),
                        top = shown(*watch, top.1)
                    )
                };
                inside.then_some(()).ok_or_else(told)
            }
            Claim::Rises(watch) | Claim::Falls(watch) => {
                let (a, b, _) = curve(*watch)?;
                let up = matches!(claim, Claim::Rises(_));
                let moved = if up { b.1 - a.1 } else { a.1 - b.1 };
                (moved >= worth_naming(*watch)).then_some(()).ok_or_else(|| {
                    say!(
                        "practice-study-goes",
                        the = watch.the(),
                        from = shown(*watch, a.1),
                        to = shown(*watch, b.1)
                    )
                })
            }
            Claim::More(watch, more, less, by) => {
                let (a, b) = (arm(*watch, more)?, arm(*watch, less)?);
                (a - b >= *by).then_some(()).ok_or_else(|| two_arms(*watch, (more, a), (less, b)))
            }
            Claim::Alike(watch, one, other, by) => {
                let (a, b) = (arm(*watch, one)?, arm(*watch, other)?);
                ((a - b).abs() < *by).then_some(()).ok_or_else(|| two_arms(*watch, (one, a), (other, b)))
            }
        }
    }
}
