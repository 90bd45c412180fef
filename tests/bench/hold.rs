//! Holding a recipe through simulated months with known shifts. One command: `cargo bench --bench hold`
//! (add `-- 4000` for more trials, `-- shared` for the second table alone, `-- 4000 9000` for seeds from 9000 on).
//!
//! The months come from worlds of their own, not from the tracker's model: other noise laws, dose and yield scatter,
//! other sensitivities, a click that does not do what the habits expect, rounded seconds. Three ways of holding see
//! the same pulls: this program, adjusting whenever the time leaves the window (usual practice), and plain
//! three-sigma limits. A second table holds three coffees on one grinder, each alone and with what the others say.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

use thirdpull::control::calibrate::{Watch, thresholds};
use thirdpull::control::charts::Side;
use thirdpull::control::habits::Habits;
use thirdpull::control::morning::{Followed, Morning, Night, follow_together};
use thirdpull::control::neighbours::heard;
use thirdpull::control::series::Reading;
use thirdpull::control::tracker::{Belief, Tracker};
use thirdpull::control::verdict::{Action, Moment, Policy, Scatter, judge, open_day};
use thirdpull::maths::{draw::Draws, normal};

const TARGET_S: f64 = 27.0;

/// Law of the shot-to-shot noise.
#[derive(Clone, Copy, PartialEq)]
enum Noise {
    Normal,
    /// Student's t with 4 degrees of freedom, scaled to the stated sigma.
    HeavyTails,
    /// Normal, and one pull in twenty channels: 10 to 25 % faster.
    Channels,
}

#[derive(Clone, Copy)]
struct World {
    name: &'static str,
    noise: Noise,
    /// Log scatter that nothing recorded explains.
    sigma: f64,
    dose_sd_g: f64,
    yield_sd_g: f64,
    dose_power: f64,
    yield_power: f64,
    ageing: f64,
    wander_night: f64,
    /// True change of log time for one click coarser.
    click: f64,
    rounding_s: f64,
    /// Pulls a day after the opening.
    day_pulls: u32,
}

impl World {
    /// Log scatter of raw time.
    fn raw_sigma(&self) -> f64 {
        let dose = self.dose_power * self.dose_sd_g / 18.0;
        let cup = self.yield_power * self.yield_sd_g / 36.0;
        (self.sigma.powi(2) + dose * dose + cup * cup).sqrt()
    }
}

struct Seen {
    time_s: f64,
    dose_g: f64,
    yield_g: f64,
}

struct Bar {
    world: World,
    draws: Draws,
    level: f64,
}

impl Bar {
    fn new(world: World, seed: u64) -> Self {
        let mut draws = Draws::new(seed);
        let level = 0.02 * draws.normal();
        Self { world, draws, level }
    }

    fn night(&mut self, extra: f64) {
        self.level += self.world.ageing + extra + self.world.wander_night * self.draws.normal();
    }

    fn pull(&mut self) -> Seen {
        let w = self.world;
        let noise = match w.noise {
            Noise::Normal => w.sigma * self.draws.normal(),
            Noise::HeavyTails => {
                let chi: f64 = (0..4).map(|_| self.draws.normal().powi(2)).sum();
                w.sigma * self.draws.normal() / (chi / 4.0).sqrt() / 2f64.sqrt()
            }
            Noise::Channels => {
                let bad = if self.draws.uniform() < 0.05 { -0.1 - 0.15 * self.draws.uniform() } else { 0.0 };
                w.sigma * self.draws.normal() + bad
            }
        };
        let dose_g = 18.0 + w.dose_sd_g * self.draws.normal();
        let yield_g = 36.0 + w.yield_sd_g * self.draws.normal();
        let log =
            self.level + noise + w.dose_power * (dose_g / 18.0).ln() + w.yield_power * (yield_g / 36.0).ln();
        let time_s = TARGET_S * log.exp();
        let time_s = if w.rounding_s > 0.0 { (time_s / w.rounding_s).round() * w.rounding_s } else { time_s };
        Seen { time_s, dose_g: (dose_g * 10.0).round() / 10.0, yield_g: (yield_g * 10.0).round() / 10.0 }
    }
}

/// A way of holding: may move at opening, and after each pull; `told` when it says that something moved.
trait Holder {
    fn open(&mut self) -> i64;
    fn pull(&mut self, seen: &Seen, in_day: u32) -> i64;
    fn told(&self) -> bool;
}

struct Ours {
    tracker: Tracker,
    policy: Policy,
    series: Vec<Reading>,
    day: i32,
    click: i64,
    told: bool,
    opening_only: bool,
}

impl Ours {
    fn new(habits: Habits, policy: Policy, opening_only: bool) -> Self {
        let tracker = Tracker::new(habits, Belief::on_target(&habits, 0.03));
        Self { tracker, policy, series: Vec::new(), day: 0, click: 0, told: false, opening_only }
    }
}

impl Holder for Ours {
    fn open(&mut self) -> i64 {
        self.day += 1;
        let start = open_day(&mut self.tracker, 1.0, 0.0, (0.0, 0.0), &self.policy);
        if start.clicks_coarser != 0 {
            self.tracker.moved(start.clicks_coarser);
            self.click += start.clicks_coarser;
        }
        start.clicks_coarser
    }

    fn pull(&mut self, seen: &Seen, in_day: u32) -> i64 {
        let mut value = (seen.time_s / TARGET_S).ln();
        value -= 2.2 * (seen.dose_g / 18.0).ln() + 0.8 * (seen.yield_g / 36.0).ln();
        self.series
            .push(Reading { click: self.click, ..Reading::plain(self.day, 60.0 * f64::from(in_day), value) });
        self.tracker.pull(value, 1.0);
        let calm = Scatter { p: 0.0, seen: 0.0, dof: 0.0 };
        let moment = if in_day <= 3 && self.opening_only || in_day <= 2 {
            Moment::Opening(in_day)
        } else {
            Moment::Day
        };
        let verdict = judge(&self.tracker, &self.policy, moment, calm);
        self.told = verdict.shift_found.is_some();
        verdict.taken(&mut self.tracker);
        match verdict.action {
            Action::Move { clicks_coarser, .. } => {
                self.click += clicks_coarser;
                clicks_coarser
            }
            _ => 0,
        }
    }

    fn told(&self) -> bool {
        self.told
    }
}

/// Adjust whenever the time leaves the target by more than `half_s` seconds, by as many clicks as the time is off.
struct Window {
    click: f64,
    half_s: f64,
}

fn clicks_for(off_s: f64, click: f64) -> i64 {
    ((-off_s / TARGET_S / click).round().abs().clamp(1.0, 6.0) * off_s.signum()) as i64
}

impl Holder for Window {
    fn open(&mut self) -> i64 {
        0
    }

    fn pull(&mut self, seen: &Seen, _: u32) -> i64 {
        let off = seen.time_s - TARGET_S;
        if off.abs() > self.half_s { clicks_for(off, self.click) } else { 0 }
    }

    fn told(&self) -> bool {
        false
    }
}

/// Three-sigma limits about the target, sigma from the moving ranges of the last thirty pulls.
struct ThreeSigma {
    click: f64,
    times: Vec<f64>,
}

impl Holder for ThreeSigma {
    fn open(&mut self) -> i64 {
        0
    }

    fn pull(&mut self, seen: &Seen, _: u32) -> i64 {
        self.times.push(seen.time_s);
        let from = self.times.len().saturating_sub(30);
        let chart = thirdpull::control::charts::Individuals::from_baseline(&self.times[from..], true);
        let sigma = chart.filter(|c| c.count >= 10).map_or(1.5, |c| c.sigma);
        let off = seen.time_s - TARGET_S;
        if off.abs() > 3.0 * sigma { clicks_for(off, self.click) } else { 0 }
    }

    fn told(&self) -> bool {
        false
    }
}

#[derive(Default)]
struct Tally {
    months: f64,
    moves: u64,
    false_moves: u64,
    windows: u64,
    chance: u64,
    chance_day: u64,
    day_windows: u64,
    square: f64,
    readings: u64,
    jumps: u64,
    jump_moved: u64,
    jump_told: u64,
    jump_third: u64,
    drifts: u64,
    drift_found: u64,
    drift_days: f64,
}

/// How a holder is made, fresh for every trial.
type Maker = Box<dyn Fn() -> Box<dyn Holder>>;

#[derive(Clone, Copy)]
enum Trial {
    Quiet,
    Jump(f64),
    Drift(f64),
}

fn run(world: World, make: &dyn Fn() -> Box<dyn Holder>, trials: u64, seed: u64, tally: &mut Tally) {
    run_kind(world, make, None, trials, seed, tally);
}

/// Only trials of one kind, or of all.
fn run_kind(
    world: World,
    make: &dyn Fn() -> Box<dyn Holder>,
    only: Option<Trial>,
    trials: u64,
    seed: u64,
    tally: &mut Tally,
) {
    for trial in 0..trials * 3 {
        let sign = if trial % 2 == 0 { 1.0 } else { -1.0 };
        let kind = match trial % 3 {
            0 => Trial::Quiet,
            1 => Trial::Jump(sign * 1.1f64.ln()),
            _ => Trial::Drift(sign * 0.02),
        };
        if only.is_some_and(|only| std::mem::discriminant(&only) != std::mem::discriminant(&kind)) {
            continue;
        }
        let mut bar = Bar::new(world, seed + trial);
        let mut holder = make();
        let days = if matches!(kind, Trial::Quiet) { 40 } else { 10 + (trial * 7 % 11) as i32 };
        let mut hits = Vec::new();
        for day in 0..days {
            if day > 0 {
                bar.night(0.0);
            }
            let mut hit = false;
            let counting = matches!(kind, Trial::Quiet) && day >= 10;
            let mut note = |clicks: i64, level: &mut f64, told: bool| {
                if counting {
                    tally.moves += u64::from(clicks != 0);
                    let wrong = (clicks > 0) != (*level > 0.0);
                    tally.false_moves += u64::from(clicks != 0 && (level.abs() < 0.03 || wrong));
                    hit |= told || clicks > 0;
                }
                *level += clicks as f64 * world.click;
            };
            let clicks = holder.open();
            note(clicks, &mut bar.level, false);
            for i in 0..2 + world.day_pulls {
                let seen = bar.pull();
                let clicks = holder.pull(&seen, i + 1);
                note(clicks, &mut bar.level, holder.told());
            }
            if counting {
                hits.push(hit);
                tally.square += bar.level * bar.level;
                tally.readings += 1;
            }
        }
        tally.day_windows += hits.len() as u64;
        tally.chance_day += hits.iter().filter(|h| **h).count() as u64;
        tally.windows += hits.windows(3).count() as u64;
        tally.chance += hits.windows(3).filter(|w| w.contains(&true)).count() as u64;
        match kind {
            Trial::Quiet => tally.months += 1.0,
            Trial::Jump(by) => {
                tally.jumps += 1;
                bar.night(by);
                let clicks = holder.open();
                bar.level += clicks as f64 * world.click;
                let (mut moved, mut told) = (false, false);
                for i in 0..3 {
                    let seen = bar.pull();
                    let clicks = holder.pull(&seen, i + 1);
                    bar.level += clicks as f64 * world.click;
                    moved |= clicks != 0 && (clicks > 0) == (by > 0.0);
                    told |= holder.told() || moved;
                    if i == 1 {
                        tally.jump_moved += u64::from(moved);
                        tally.jump_told += u64::from(told);
                    }
                }
                tally.jump_third += u64::from(told);
            }
            Trial::Drift(a_day) => {
                tally.drifts += 1;
                let mut found = None;
                for day in 1..=10 {
                    bar.night(a_day);
                    let clicks = holder.open();
                    bar.level += clicks as f64 * world.click;
                    let mut hit = clicks != 0 && (clicks > 0) == (a_day > 0.0);
                    for i in 0..2 + world.day_pulls {
                        let seen = bar.pull();
                        let clicks = holder.pull(&seen, i + 1);
                        bar.level += clicks as f64 * world.click;
                        hit |= holder.told() || clicks != 0 && (clicks > 0) == (a_day > 0.0);
                    }
                    if hit {
                        found = Some(day);
                        break;
                    }
                }
                tally.drift_found += u64::from(found.is_some_and(|d| d <= 3));
                tally.drift_days += f64::from(found.unwrap_or(11));
            }
        }
    }
}

fn share(part: u64, whole: u64) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

fn main() {
    let mut numbers = std::env::args().skip(1).filter_map(|a| a.parse::<u64>().ok());
    let (trials, seed) = (numbers.next().unwrap_or(400), numbers.next().unwrap_or(7_000));
    let only_shared = std::env::args().any(|a| a == "shared");
    let base = World {
        name: "normal noise",
        noise: Noise::Normal,
        sigma: 0.04,
        dose_sd_g: 0.0,
        yield_sd_g: 0.0,
        dose_power: 2.6,
        yield_power: 0.7,
        ageing: 0.0,
        wander_night: 0.003,
        click: -0.027,
        rounding_s: 0.1,
        day_pulls: 0,
    };
    let scales = World { name: "dose and yield vary, weighed", dose_sd_g: 0.2, yield_sd_g: 0.8, ..base };
    let heavy = World { name: "heavy tails", noise: Noise::HeavyTails, ..scales };
    let channels = World { name: "1 in 20 channels", noise: Noise::Channels, ..scales };
    let coarse = World { name: "one click is 8 %", click: -0.08, ..scales };
    let ageing = World { name: "ageing 1.2 % a day", ageing: -0.012, ..scales };
    let busy = World { name: "12 pulls a day judged", day_pulls: 10, ..scales };
    if only_shared {
        return table_of_three(scales, heavy, trials, seed);
    }
    println!(
        "{trials} trials of each kind a row; jump 10 % overnight, drift 2 % a day; σ: unexplained / raw, percent"
    );
    println!(
        "jump2: moved the right way within two pulls; told2: moved or said that it moved; told3: the same by the third\n\
         pull; drift3: the same within three days; chance: how often a day, or three days, without any shift give\n\
         the same answer; false: moves made within 0.8 s of the target or in the wrong direction, in quiet months;\n\
         rms: true level off target in quiet months; the second window is the narrowest that keeps to one false move a\n\
         month; ceil: found within two pulls by someone who knows the level\n\
         before, the noise and the size of the jump, at one false alarm in thirty openings"
    );
    println!(
        "{:<40}  {:<13} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>7} {:>6} {:>6}",
        "world and σ",
        "holder",
        "moves/m",
        "false/m",
        "jump2",
        "told2",
        "chance",
        "told3",
        "drift3",
        "chance",
        "days",
        "rms"
    );
    for world in [base, scales, coarse, heavy, channels, ageing, busy] {
        for sigma in [0.025, 0.03, 0.035, 0.04, 0.05, 0.06, 0.08] {
            if world.name != base.name && world.name != scales.name && ![0.03, 0.04, 0.06].contains(&sigma) {
                continue;
            }
            let world = World { sigma, ..world };
            report(world, trials, seed);
        }
    }
    table_of_three(scales, heavy, trials, seed);
}

/// What ten days of earlier pulls teach.
fn learnt(world: World) -> Habits {
    // What ten days of earlier pulls teach about the scatter.
    let mut warm = Bar::new(world, 99);
    let habits = Habits {
        ageing: world.ageing * 0.8,
        click: world.click * 1.12,
        click_sd: -world.click * 0.3,
        ..Habits::flow_time()
    };
    let mut series = Vec::new();
    for day in 0..40 {
        if day > 0 {
            warm.night(-world.ageing);
        }
        for i in 0..2 {
            let seen = warm.pull();
            let value = (seen.time_s / TARGET_S).ln()
                - 2.2 * (seen.dose_g / 18.0).ln()
                - 0.8 * (seen.yield_g / 36.0).ln();
            series.push(Reading::plain(day, f64::from(i) * 60.0, value));
        }
    }
    habits.learn_scatter(&series).learn_wander(&series)
}

fn report(world: World, trials: u64, seed: u64) {
    let habits = learnt(world);
    let watch = Watch {
        opening_pulls: 2,
        day_pulls: world.day_pulls,
        neighbours: 0,
        openings_a_month: 30.0,
        false_a_month: 1.0,
    };
    let limits = thresholds(habits, &watch, &Policy::default(), 20_000, 5);
    let policy = Policy { flag: limits.flag, again: limits.again, ..Policy::default() };
    let ceiling = normal::cdf(2f64.sqrt() * 1.1f64.ln() / world.sigma - normal::quantile(1.0 - 0.5 / 30.0));
    let window =
        move |half_s: f64| -> Maker { Box::new(move || Box::new(Window { click: habits.click, half_s })) };
    // The narrowest window that keeps to one false move a month, which no bar would know.
    let wide = (8..120).map(|n| 0.25 * f64::from(n)).find(|half_s| {
        let mut t = Tally::default();
        run_kind(world, window(*half_s).as_ref(), Some(Trial::Quiet), trials, seed, &mut t);
        t.false_moves as f64 <= t.months
    });
    let wide = wide.unwrap_or(30.0);
    let name = format!("±{wide} s");
    let makers: [(&str, Maker); 4] = [
        ("this program", Box::new(move || Box::new(Ours::new(habits, policy, world.day_pulls == 0)))),
        ("window ±2 s", window(2.0)),
        (&name, window(wide)),
        ("3 sigma", Box::new(move || Box::new(ThreeSigma { click: habits.click, times: Vec::new() }))),
    ];
    for (i, (name, make)) in makers.iter().enumerate() {
        let mut t = Tally::default();
        run(world, make.as_ref(), trials, seed, &mut t);
        let lead = if i == 0 {
            format!("{:<30} {:>4.1}/{:>4.1}", world.name, 100.0 * world.sigma, 100.0 * world.raw_sigma())
        } else if i == 1 {
            format!(
                "  flag {:.2} learnt {:.3} {:.4} {:.2} ceil {:.0}",
                policy.flag,
                habits.sigma,
                habits.wander_night,
                habits.bad_share,
                100.0 * ceiling
            )
        } else {
            String::new()
        };
        println!(
            "{lead:<40}  {name:<13} {:>7.2} {:>7.2} {:>7.1} {:>7.1} {:>7.1} {:>7.1} {:>7.1} {:>7.1} {:>6.1} {:>6.2}",
            t.moves as f64 / t.months,
            t.false_moves as f64 / t.months,
            share(t.jump_moved, t.jumps),
            share(t.jump_told, t.jumps),
            share(t.chance_day, t.day_windows),
            share(t.jump_third, t.jumps),
            share(t.drift_found, t.drifts),
            share(t.chance, t.windows),
            t.drift_days / t.drifts.max(1) as f64,
            100.0 * (t.square / t.readings.max(1) as f64).sqrt()
        );
    }
}

/// Three coffees on one grinder, opened one after the other.
struct Three {
    bars: Vec<Bar>,
    series: Vec<Vec<Reading>>,
    click: Vec<i64>,
    habits: Habits,
    policy: Policy,
    /// The others have a say.
    among: bool,
    day: i32,
}

/// What was done to one coffee on one day: clicks and the true level before, as it came.
#[derive(Default)]
struct Done {
    /// At its start and after its own pulls.
    own: Vec<(i64, f64)>,
    /// When the others were pulled too.
    after: Vec<(i64, f64)>,
    /// Which way it was said to have moved: up or not.
    told: Vec<bool>,
}

impl Three {
    fn new(world: World, habits: Habits, policy: Policy, among: bool, seed: u64) -> Self {
        let bars = (0..3).map(|c| Bar::new(world, seed * 3 + c)).collect();
        Self { bars, series: vec![Vec::new(); 3], click: vec![0; 3], habits, policy, among, day: 0 }
    }

    fn night(&mut self, extra: [f64; 3]) {
        for (bar, by) in self.bars.iter_mut().zip(extra) {
            bar.night(by);
        }
    }

    fn turn(&mut self, c: usize, clicks: i64) -> (i64, f64) {
        let before = self.bars[c].level;
        self.bars[c].level += clicks as f64 * self.bars[c].world.click;
        self.click[c] += clicks;
        (clicks, before)
    }

    fn opening(&mut self) -> Vec<Done> {
        self.day += 1;
        let night = Night { days: 1.0, warmer_k: 0.0, room: (0.0, 0.0) };
        let calm = Scatter { p: 0.0, seen: 0.0, dof: 0.0 };
        let habits = self.habits;
        let known = |series: &[&Vec<Reading>]| {
            let start = Belief::on_target(&habits, 0.03);
            let coffees: Vec<_> = series
                .iter()
                .map(|readings| Followed {
                    habits,
                    start,
                    policy: self.policy,
                    readings: readings.as_slice(),
                })
                .collect();
            follow_together(&coffees, self.day - 14)
        };
        let all: Vec<&Vec<Reading>> = self.series.iter().collect();
        let known = if self.among { known(&all) } else { all.iter().flat_map(|s| known(&[s])).collect() };
        let mut mornings: Vec<Morning> =
            known.into_iter().map(|known| Morning::open(known, night, &self.policy, None)).collect();
        let among = self.among;
        let others = |mornings: &[Morning], c: usize| {
            let others: Vec<_> = mornings
                .iter()
                .enumerate()
                .filter(|(n, _)| *n != c && among)
                .map(|(_, m)| m.as_neighbour())
                .collect();
            heard(&habits, &others, f64::INFINITY)
        };
        let mut done: Vec<Done> = (0..3).map(|_| Done::default()).collect();
        for c in 0..3 {
            let shared = others(&mornings, c);
            mornings[c].hear(shared);
            // A start counts from the setting of the last pull; the last verdict may have been followed since.
            let last = self.series[c].last().map_or(self.click[c], |r| r.click);
            let start = mornings[c].start().clicks_coarser;
            if start != 0 {
                mornings[c].moved(start);
            }
            let further = start - (self.click[c] - last);
            if further != 0 {
                let turned = self.turn(c, further);
                done[c].own.push(turned);
            }
            for i in 1..=2u32 {
                let seen = self.bars[c].pull();
                let value = (seen.time_s / TARGET_S).ln()
                    - 2.2 * (seen.dose_g / 18.0).ln()
                    - 0.8 * (seen.yield_g / 36.0).ln();
                let at_s = 60.0 * (10 * c as u32 + i) as f64;
                let reading = Reading { click: self.click[c], ..Reading::plain(self.day, at_s, value) };
                self.series[c].push(reading);
                mornings[c].pull(at_s, value, 1.0);
                let verdict = mornings[c].judge(Moment::Opening(i), calm);
                if let Action::Move { clicks_coarser, .. } = verdict.action {
                    let turned = self.turn(c, clicks_coarser);
                    done[c].own.push(turned);
                }
                done[c].told.extend(verdict.shift_found.map(|side| side == Side::High));
                mornings[c].taken(&verdict);
            }
        }
        for c in 0..3 {
            let shared = others(&mornings, c);
            if among && mornings[c].hear(shared) {
                let verdict = mornings[c].judge(Moment::Opening(2), calm);
                if let Action::Move { clicks_coarser, .. } = verdict.action {
                    let turned = self.turn(c, clicks_coarser);
                    done[c].after.push(turned);
                }
                done[c].told.extend(verdict.shift_found.map(|side| side == Side::High));
                mornings[c].taken(&verdict);
            }
        }
        done
    }
}

#[derive(Default)]
struct Together {
    months: f64,
    moves: u64,
    false_moves: u64,
    /// Found within its own two pulls, by place in the morning.
    found: [u64; 3],
    /// Found by the end of the opening.
    found_all: u64,
    jumps: u64,
    own_found: u64,
    own_jumps: u64,
    /// Coffees that stayed, moved beside one that jumped.
    dragged: u64,
    stayed: u64,
    drift_found: u64,
    drift_told: u64,
    /// Times in three quiet days that as much was said or moved one way.
    chance: u64,
    threes: u64,
    drifts: u64,
}

fn hold_three(world: World, habits: Habits, policy: Policy, among: bool, trials: u64, seed: u64) -> Together {
    let mut t = Together::default();
    for trial in 0..trials * 4 {
        let by = if trial % 8 < 4 { 1.1f64.ln() } else { -1.1f64.ln() };
        let mut three = Three::new(world, habits, policy, among, seed + trial);
        let quiet = trial % 4 == 0;
        let days = if quiet { 40 } else { 10 + trial * 7 % 11 };
        let mut said = [[false; 3]; 3];
        for day in 0..days {
            if day > 0 {
                three.night([0.0; 3]);
            }
            let done = three.opening();
            if quiet && day >= 10 {
                for (c, done) in done.iter().enumerate() {
                    let up = |list: &[(i64, f64)]| list.iter().any(|(clicks, _)| *clicks > 0);
                    said[c][(day % 3) as usize] =
                        up(&done.own) || up(&done.after) || done.told.contains(&true);
                    t.threes += 1;
                    t.chance += u64::from(said[c].contains(&true));
                }
                for (clicks, level) in done.iter().flat_map(|d| d.own.iter().chain(&d.after)) {
                    let wrong = (*clicks > 0) != (*level > 0.0);
                    t.moves += 1;
                    t.false_moves += u64::from(level.abs() < 0.03 || wrong);
                }
            }
        }
        let right = |list: &[(i64, f64)], by: f64| list.iter().any(|(clicks, _)| (*clicks > 0) == (by > 0.0));
        match trial % 4 {
            0 => t.months += 3.0,
            1 => {
                three.night([by; 3]);
                for (place, done) in three.opening().iter().enumerate() {
                    t.jumps += 1;
                    t.found[place] += u64::from(right(&done.own, by));
                    t.found_all += u64::from(right(&done.own, by) || right(&done.after, by));
                }
            }
            2 => {
                let place = (trial / 4 % 3) as usize;
                let mut extra = [0.0; 3];
                extra[place] = by;
                three.night(extra);
                for (c, done) in three.opening().iter().enumerate() {
                    let all = done.own.iter().chain(&done.after);
                    if c == place {
                        t.own_jumps += 1;
                        t.own_found += u64::from(right(&done.own, by) || right(&done.after, by));
                    } else {
                        t.stayed += 1;
                        t.dragged += u64::from(all.count() > 0);
                    }
                }
            }
            _ => {
                let a_day = 0.02 * by.signum();
                let (mut found, mut told) = ([false; 3], [false; 3]);
                for _ in 0..3 {
                    three.night([a_day; 3]);
                    for (c, done) in three.opening().iter().enumerate() {
                        found[c] |= right(&done.own, a_day) || right(&done.after, a_day);
                        told[c] |= found[c] || done.told.contains(&(a_day > 0.0));
                    }
                }
                t.drifts += 3;
                t.drift_found += found.iter().filter(|f| **f).count() as u64;
                t.drift_told += told.iter().filter(|f| **f).count() as u64;
            }
        }
    }
    t
}

fn table_of_three(scales: World, heavy: World, trials: u64, seed: u64) {
    println!(
        "\nthree coffees on one grinder, opened one after the other, two pulls each; {trials} trials of each kind, seeds from \
         {seed}\n\
         alone: each judged by itself; among: with what the others say. jump 10 % of all three: found by its own second\n\
         pull as 1st, 2nd, 3rd of the morning, and by the end of the opening; own: the same for a jump of one coffee only;\n\
         dragged: coffees moved beside it that had not jumped; drift 2 % a day of all three, moved within three days;\n\
         told: moved or said that it moved; chance: how often three quiet days give that answer;\n\
         ± one standard error"
    );
    for (world, sigma) in [(scales, 0.025), (scales, 0.04), (scales, 0.06), (scales, 0.08), (heavy, 0.04)] {
        let world = World { sigma, ..world };
        let habits = learnt(world);
        for among in [false, true] {
            let neighbours = if among { 2 } else { 0 };
            let watch = Watch {
                opening_pulls: 2,
                day_pulls: 0,
                neighbours,
                openings_a_month: 30.0,
                false_a_month: 1.0,
            };
            let limits = thresholds(habits, &watch, &Policy::default(), 20_000, 5);
            let policy = Policy { flag: limits.flag, again: limits.again, ..Policy::default() };
            let t = hold_three(world, habits, policy, among, trials, seed);
            let each = t.jumps / 3;
            let se = |p: f64, n: u64| (p * (100.0 - p) / n.max(1) as f64).sqrt();
            let all = share(t.found_all, t.jumps);
            let own = share(t.own_found, t.own_jumps);
            println!(
                "{:<30} σ {:.1}  {}  flag {:.2}  moves {:.2}  false {:.2} ± {:.2}  jump {:.0} {:.0} {:.0}, all {:.1} ± {:.1}  \
                 own {:.1} ± {:.1}  dragged {:.1}  drift {:.1} told {:.1} ± {:.1} chance {:.1}",
                world.name,
                100.0 * sigma,
                if among { "among" } else { "alone" },
                policy.flag,
                t.moves as f64 / t.months,
                t.false_moves as f64 / t.months,
                (t.false_moves as f64).sqrt() / t.months,
                share(t.found[0], each),
                share(t.found[1], each),
                share(t.found[2], each),
                all,
                // Three coffees of one morning share their luck: count mornings, not coffees.
                se(all, each),
                own,
                se(own, t.own_jumps),
                share(t.dragged, t.stayed),
                share(t.drift_found, t.drifts),
                share(t.drift_told, t.drifts),
                se(share(t.drift_told, t.drifts), t.drifts / 3),
                share(t.chance, t.threes)
            );
        }
    }
}
