//! Dials in small invented worlds of four kinds, none of them the engine's own model, and prints how well it went.
//! Run: `cargo bench --no-default-features --bench advisor_worlds -- [worlds per kind] [first seed]`.
//! All worlds here are invented (no source); they exist to catch an engine that only knows itself.

// Helpers outside the test functions may stop a test too.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]
#![allow(clippy::print_stderr)]

use std::io::Write as _;

use thirdpull::advisor::{Aim, BagFacts, Case, Desk, EarlierBag, Settings, Shot, Status};
use thirdpull::domain::{Attribute, Finer, Gear, GrindScale, Mark, Recipe, Roast, Scale, StartRecipe, Taste};
use thirdpull::maths::draw::Draws;

/// What a recipe truly does.
struct Cup {
    time_s: f64,
    tds: f64,
    /// Marks before rounding: sour, bitter, strength, body, dry, sweet.
    marks: [f64; 6],
    liking: f64,
}

struct World {
    kind: usize,
    gear: Gear,
    um: f64,
    d_start: f64,
    start: StartRecipe,
    roast: Roast,
    p: [f64; 24],
    noise_time: f64,
    age_rate: f64,
}

fn between(d: &mut Draws, a: f64, b: f64) -> f64 {
    a + (b - a) * d.uniform()
}

impl World {
    fn new(kind: usize, seed: u64) -> Self {
        let mut d = Draws::new(seed * 7919 + kind as u64);
        let d = &mut d;
        let finer = if d.uniform() < 0.7 { Finer::Lower } else { Finer::Higher };
        let (min, max, step, um) = match (d.uniform() * 4.0) as usize {
            0 => (0.0, 30.0, 0.5, between(d, 9.0, 18.0)),
            1 => (1.0, 40.0, 1.0, between(d, 7.0, 14.0)),
            2 => (0.0, 10.0, 0.1, between(d, 30.0, 60.0)),
            _ => (0.0, 60.0, 1.0, between(d, 5.0, 10.0)),
        };
        let scale = Scale::new("grind", min, max, step).unwrap();
        let middle = scale.snap(between(d, min + 0.3 * (max - min), min + 0.6 * (max - min)));
        let known = d.uniform() < 0.4;
        let temperature = d.uniform() < 0.6;
        let gear = Gear {
            grind: GrindScale {
                scale,
                finer,
                um_per_unit: known.then_some(um),
                retained_g: 0.5,
                stepless: false,
            },
            dose_g: Scale::new("dose", 15.0, 20.0, 0.5).unwrap(),
            yield_g: Scale::new("yield", 24.0, 60.0, 1.0).unwrap(),
            temperature_c: temperature.then(|| Scale::new("t", 88.0, 96.0, 1.0).unwrap()),
            pressure_bar: Some(9.0),
            refractometer: d.uniform() < 0.4,
        };
        let mut p = [0.0; 24];
        for x in &mut p {
            *x = d.normal();
        }
        let roast = Roast::ALL[(d.uniform() * 5.0) as usize % 5];
        let grind_given = d.uniform() < 0.8;
        Self {
            kind,
            um,
            d_start: middle,
            start: StartRecipe {
                grind: grind_given.then_some(middle),
                dose_g: 18.0,
                yield_g: 36.0,
                temperature_c: temperature.then_some(93.0),
            },
            roast,
            p,
            noise_time: between(d, 0.04, 0.08),
            age_rate: between(d, 0.0, 0.03),
            gear,
        }
    }

    fn cup(&self, r: &Recipe, day: f64) -> Cup {
        let p = &self.p;
        let sign = self.gear.grind.finer.coarser_sign();
        let t_c = r.temperature_c.unwrap_or(92.5);
        let size = (280.0 + 25.0 * p[0] + (r.grind - self.d_start) * sign * self.um).max(90.0);
        let ratio = r.yield_g / r.dose_g;
        match self.kind {
            0 => {
                // Two pools washed out by a Darcy flow; the drinker judges concentrations of three classes.
                let k = (size / 280.0).powf(2.6 + 0.3 * p[1]);
                let flow = 1.75 * (0.35 * p[2]).exp() * k / (r.dose_g / 18.0).powf(1.3)
                    * (1.0 + 0.011 * (t_c - 93.0))
                    * (self.age_rate * day).exp();
                let wet = 4.5 * (r.dose_g / 18.0) / k.powf(0.5);
                let time = wet + r.yield_g / flow;
                let contact = (time - 0.4 * wet) / (1.0 + 0.001 * size);
                let pool = |share: f64, rate: f64, ea: f64| {
                    let rate = rate * (280.0 / size).powf(1.1) * (1.0 + ea * (t_c - 93.0));
                    share * (1.0 - (-(rate * contact).powf(0.8) - 0.32 * ratio).exp())
                };
                let even = 1.0 - 0.28 / (1.0 + ((size - 205.0 - 20.0 * p[3]) / 18.0).exp());
                let acid = pool(9.0, 0.06, 0.004) * even;
                let mid = pool(7.0 + 0.5 * p[4], 0.04, 0.01) * even;
                let late = pool(12.0, 0.022, 0.02) * even;
                let total = acid + mid + late;
                let tds = total / ratio;
                let shares = [acid / total, late / total];
                let (s_acid, s_late) = (0.36 + 0.02 * p[5], 0.38 + 0.02 * p[6]);
                let want = 9.3 * (0.18 * p[7]).exp();
                let strong = (tds / want).ln() / 0.16;
                let sour = (shares[0] - s_acid) / 0.022 + 0.25 * strong;
                let bitter = (shares[1] - s_late) / 0.022 + 0.35 * strong + (1.0 - even) * 6.0;
                let loss = 0.55 * strong * strong + 0.25 * sour * sour + 0.3 * bitter * bitter;
                let liking = 7.8 + 0.4 * p[8] - 5.5 * (1.0 - (-(loss / 5.5)).exp());
                let marks = [
                    sour,
                    bitter,
                    strong,
                    0.7 * strong,
                    0.6 * bitter + 5.0 * (1.0 - even),
                    -0.3 * loss.sqrt(),
                ];
                Cup { time_s: time, tds, marks, liking }
            }
            1 => {
                // Response surface in strength and extraction; sharp drinker; extraction by grain size alone.
                let x = (size / 280.0).ln();
                let time = 27.0
                    * (0.35 * p[2] - (3.2 + 0.5 * p[1]) * x + 1.0 * x * x).exp()
                    * (r.dose_g / 18.0).powf(1.6)
                    * (r.yield_g / 36.0).powf(0.9)
                    * (-self.age_rate * day).exp();
                let z = (-x - 0.15 - 0.05 * p[3]) / 0.12;
                let ey = 19.0 + p[4] - 7.0 * x + 5.5 * (ratio / 2.0).ln() + 0.12 * (t_c - 93.0)
                    - 2.0 * ((1.0 + z.exp()).ln()) * 0.6;
                let ey = ey.clamp(8.0, 27.0);
                let tds = ey / ratio;
                let a = (tds / (9.0 * (0.2 * p[7]).exp())).ln() / 0.17;
                let b = (ey - 20.0 - 1.5 * p[5]) / 1.6;
                let dist = (a * a + b * b + 0.5 * p[6].tanh() * a * b).sqrt();
                let liking = 7.9 + 0.5 * p[8] - 1.25 * dist.powf(1.1);
                let marks = [
                    -0.9 * b + 0.3 * a,
                    0.9 * b + 0.3 * a + z.max(0.0) * 0.3,
                    a,
                    0.6 * a,
                    0.5 * b + z.max(0.0) * 0.5,
                    -0.5 * dist + 0.5,
                ];
                Cup { time_s: time, tds, marks, liking: liking.clamp(1.2, 8.9) }
            }
            2 => {
                // Two parallel paths, one of which runs away when ground fine; heat matters in itself.
                let k = (size / 280.0).powi(2);
                let run = 1.0 / (1.0 + ((size - 225.0 - 15.0 * p[3]) / 14.0).exp());
                let base = 1.9 * (0.35 * p[2]).exp() * k.powf(1.4) / (r.dose_g / 18.0).powf(1.8);
                let (q1, q2) = (0.65 * base * (1.0 - 0.6 * run), 0.35 * base * (1.0 + 3.0 * run));
                let q = (q1 + q2) * (1.0 + 0.008 * (t_c - 93.0)) * (self.age_rate * day).exp();
                let time = 5.0 + r.yield_g / q;
                let e = |share: f64, q: f64| {
                    let water = r.yield_g * q / (q1 + q2) / (share * r.dose_g);
                    let reach = 27.0 + 1.0 * p[4];
                    reach * (1.0 - (-(0.72 * water.powf(0.7) * (280.0 / size).powf(0.6))).exp()) * share
                };
                let ey = (e(0.65, q1) + e(0.35, q2)) * (1.0 + 0.008 * (t_c - 93.0));
                let tds = ey / ratio;
                let a = (tds - 9.4 - 1.6 * p[7]) / 1.5;
                let b = (ey - 19.6 - 1.4 * p[5]) / 1.7;
                let c = (t_c - 92.5 - 1.5 * p[6]) / 3.0;
                let dry = run * 2.5;
                let loss = a.abs().powf(1.5) * 0.9 + b.abs().powf(1.5) * 0.8 + 0.35 * c * c + 0.7 * dry;
                let liking = 8.0 + 0.4 * p[8] - loss;
                let marks = [
                    -0.9 * b - 0.3 * c + 0.2 * a,
                    0.8 * b + 0.4 * c + 0.3 * a + 0.3 * dry,
                    a,
                    0.7 * a,
                    dry + 0.3 * b,
                    -0.4 * loss + 0.3,
                ];
                Cup { time_s: time, tds, marks, liking: liking.clamp(1.0, 8.9) }
            }
            _ => {
                // Drinker who judges intensity and harshness with a plateau; flow sets harshness, little else does.
                let x = (r.grind - self.d_start) * sign * self.um / 280.0;
                let lt = (27.0f64).ln() + 0.4 * p[2] - (3.0 + 0.4 * p[1]) * x
                    + 2.2 * (r.dose_g / 18.0).ln()
                    + 0.7 * (r.yield_g / 36.0).ln()
                    - self.age_rate * day
                    - 0.01 * (t_c - 93.0);
                let time = 3.0 + 0.9 * lt.exp();
                let ey = (25.5 + p[4])
                    * (1.0
                        - (-(0.95 + 0.1 * p[3]) * (ratio / 2.0).powf(0.75) * (time / 27.0).powf(0.55)).exp())
                    * (1.15 + 0.004 * (t_c - 93.0));
                let tds = ey / ratio;
                let harsh = (time / (29.0 * (0.15 * p[5]).exp())).ln() / 0.22 + 0.12 * (t_c - 93.0);
                let thin = (tds / (9.2 * (0.2 * p[7]).exp())).ln() / 0.18;
                let soft = |v: f64| (v.abs() - 0.35).max(0.0);
                let liking =
                    7.8 + 0.5 * p[8] - 1.1 * soft(thin) - 0.9 * soft(harsh) - 0.25 * soft(thin) * soft(harsh);
                let marks = [
                    -0.8 * harsh + 0.3 * thin,
                    0.8 * harsh + 0.3 * thin,
                    thin,
                    0.8 * thin,
                    0.7 * harsh,
                    -0.3 * harsh.abs() + 0.2,
                ];
                Cup { time_s: time, tds, marks, liking: liking.clamp(1.0, 8.9) }
            }
        }
    }

    fn best(&self, day: f64) -> f64 {
        let g = &self.gear;
        let temps: Vec<Option<f64>> =
            g.temperature_c.map_or(vec![None], |s| (0..s.count()).map(|i| Some(s.at(i))).collect());
        let mut best = f64::NEG_INFINITY;
        let n = g.grind.scale.count();
        for gi in 0..n {
            for di in 0..g.dose_g.count() {
                for yi in (0..g.yield_g.count()).step_by(2) {
                    for t in &temps {
                        let r = Recipe {
                            grind: g.grind.scale.at(gi),
                            dose_g: g.dose_g.at(di),
                            yield_g: g.yield_g.at(yi),
                            temperature_c: *t,
                        };
                        best = best.max(self.cup(&r, day).liking);
                    }
                }
            }
        }
        best
    }

    fn pull(&self, r: &Recipe, day: f64, label: u32, d: &mut Draws) -> Shot {
        let mut used = *r;
        used.yield_g += 0.5 * d.normal();
        let cup = self.cup(&used, day);
        let spoiled = d.uniform() < 0.05;
        let mut time = cup.time_s * (self.noise_time * d.normal()).exp();
        let mut tds = cup.tds + 0.15 * d.normal();
        let mut marks = cup.marks;
        let mut liking = cup.liking;
        if spoiled {
            time *= between(d, 0.6, 0.85);
            tds -= between(d, 0.5, 1.5);
            marks[0] += 1.0;
            marks[1] += 0.7;
            marks[4] += 1.0;
            liking -= between(d, 1.0, 2.5);
        }
        let mut taste = Taste::default();
        for (a, m) in Attribute::ALL.into_iter().zip(marks) {
            if d.uniform() < 0.85 {
                let v = (0.75 * m + 0.6 * d.normal()).round().clamp(-2.0, 2.0);
                taste.set_mark(a, Mark::new(v as i64));
            }
        }
        taste.set_liking(Some((liking + 0.7 * d.normal()).round().clamp(1.0, 9.0) as i64));
        let choked = time > 100.0;
        Shot {
            label,
            recipe: used,
            time_s: (!choked).then_some(time),
            first_drip_s: None,
            tds_pct: (self.gear.refractometer && !choked).then_some(tds),
            taste: if choked { Taste::default() } else { taste },
            choked,
            spurting: spoiled && d.uniform() < 0.3,
            days_since_roast: Some(10.0 + day),
            plan: None,
            gist: None,
        }
    }
}

#[derive(Default)]
struct Score {
    n: usize,
    within: [usize; 4],
    firsts: Vec<usize>,
    regret: [f64; 3],
    cover: [[usize; 2]; 3],
    brier: f64,
    claims: f64,
    right: f64,
    asked: usize,
    settled: usize,
    falsely: usize,
    pulled: f64,
    micros: Vec<f64>,
}

fn run(kind: usize, seed: u64, score: &mut Score, days: bool, earlier: usize) {
    let world = World::new(kind, seed);
    let mut d = Draws::new(seed * 31 + kind as u64 + 5);
    let mut bags = Vec::new();
    for e in 0..earlier {
        // An earlier bag: same gear and drinker, another coffee.
        let mut other = World::new(kind, seed);
        for i in [0, 2, 3, 4] {
            other.p[i] = 0.5 * other.p[i] + 0.85 * d.normal();
        }
        other.d_start = world.d_start;
        let mut case = Case {
            bag: BagFacts {
                name: format!("earlier {e}"),
                roast: Some(other.roast),
                process: None,
                days_since_roast: Some(10.0),
            },
            gear: other.gear,
            aim: Aim { start: other.start, time_window_s: None },
            earlier: bags.clone(),
            shots: vec![],
            age_today: None,
            coffee_left_g: None,
            packs: thirdpull::rules::own_packs(),
        };
        let desk = Desk::new(&case);
        for i in 0..6 {
            let a = desk.advise(&case, &Settings::default());
            case.shots.push(other.pull(&a.recipe, 0.0, i + 1, &mut d));
        }
        bags.push(EarlierBag { bag: case.bag.clone(), shots: case.shots.clone() });
    }
    let mut case = Case {
        bag: BagFacts {
            name: "w".into(),
            roast: Some(world.roast),
            process: None,
            days_since_roast: Some(10.0),
        },
        gear: world.gear,
        aim: Aim { start: world.start, time_window_s: None },
        earlier: bags,
        shots: vec![],
        age_today: None,
        coffee_left_g: None,
        packs: thirdpull::rules::own_packs(),
    };
    let mut best = world.best(0.0);
    let desk = Desk::new(&case);
    let mut first = None;
    let mut ever_settled = false;
    for pull in 1..=12u32 {
        let day = if days { f64::from(pull - 1) * 0.85 } else { 0.0 };
        if days {
            best = world.best(day);
        }
        let at = std::time::Instant::now();
        let advice = desk.advise(&case, &Settings::default());
        score.micros.push(at.elapsed().as_secs_f64() * 1e6);
        let served = world.cup(&advice.best.recipe, day).liking;
        if [4, 6, 9].contains(&pull) {
            let slot = match pull {
                4 => 0,
                6 => 1,
                _ => 2,
            };
            score.regret[slot] += best - served;
        }
        let right = f64::from(u8::from(best - served <= 0.5));
        if pull > 1 {
            score.brier += (advice.chance_near_best - right).powi(2);
            score.claims += advice.chance_near_best;
            score.right += right;
            score.asked += 1;
        }
        if advice.status == Status::Settled && !ever_settled {
            ever_settled = true;
            score.settled += 1;
            if best - served > 1.0 {
                score.falsely += 1;
            }
        }
        let mut advice = advice;
        if std::env::var("RANDOM").is_ok() {
            let g = &world.gear;
            // A sensible box: time 18–45 s at the start's dose, ratio 1.4–3.
            loop {
                let r = Recipe {
                    grind: g.grind.scale.at((d.uniform() * g.grind.scale.count() as f64) as usize),
                    dose_g: g.dose_g.at((d.uniform() * g.dose_g.count() as f64) as usize),
                    yield_g: g.yield_g.at((d.uniform() * g.yield_g.count() as f64) as usize),
                    temperature_c: g.temperature_c.map(|s| s.at((d.uniform() * s.count() as f64) as usize)),
                };
                let c = world.cup(&r, day);
                if (18.0..45.0).contains(&c.time_s) && (1.4..3.0).contains(&(r.yield_g / r.dose_g)) {
                    advice.recipe = r;
                    break;
                }
            }
        }
        let truth = world.cup(&advice.recipe, day);
        score.pulled += (best - truth.liking) / 12.0;
        if first.is_none() && best - truth.liking <= 0.5 {
            first = Some(pull);
        }
        let shot = world.pull(&advice.recipe, day, pull, &mut d);
        let inside = |q: &thirdpull::advisor::Quantiles, v: f64| usize::from(v >= q.p10 && v <= q.p90);
        if let Some(t) = shot.time_s {
            score.cover[0][0] += inside(&advice.expect.time_s, t);
            score.cover[0][1] += 1;
        }
        if let Some(s) = shot.tds_pct {
            score.cover[1][0] += inside(&advice.expect.tds_pct, s);
            score.cover[1][1] += 1;
        }
        if let Some(l) = shot.taste.liking() {
            score.cover[2][0] += inside(&advice.expect.liking, f64::from(l));
            score.cover[2][1] += 1;
        }
        if std::env::var("SHOW").is_ok() {
            eprintln!(
                "{pull}: {:?} true {:.1}s {:.1}% like {:.2} (best {best:.2}) chance {:.2} {:?} | {:?}",
                advice.recipe,
                truth.time_s,
                truth.tds,
                truth.liking,
                advice.chance_near_best,
                advice.status,
                advice.reasons.first().map(|r| r.text.clone())
            );
        }
        case.shots.push(shot);
    }
    score.n += 1;
    for (slot, limit) in score.within.iter_mut().zip([1, 3, 5, 12]) {
        *slot += usize::from(first.is_some_and(|f| f <= limit));
    }
    score.firsts.push(first.map_or(13, |f| f as usize));
}

fn show(name: &str, s: &mut Score) {
    let n = s.n as f64;
    let pct = |k: usize| 100.0 * k as f64 / n;
    s.firsts.sort_unstable();
    let p90 = s.firsts[(s.firsts.len() * 9 / 10).min(s.firsts.len() - 1)];
    s.micros.sort_by(f64::total_cmp);
    let cover = |c: [usize; 2]| 100.0 * c[0] as f64 / c[1].max(1) as f64;
    let asked = s.asked.max(1) as f64;
    let base = s.right / asked;
    println!(
        "{name:<12} n {:>3} | within 1/3/5 {:>3.0} {:>3.0} {:>3.0} never {:>4.1} p90 {:>2} | regret 3/5/8 {:.2} {:.2} {:.2} each {:.2} | cover t {:.0} s {:.0} l {:.0} | claim {:.2} right {:.2} brier {:.3} base {:.3} | settled {:.0}% false {:.1}% | ms {:.1} {:.1}",
        s.n,
        pct(s.within[0]),
        pct(s.within[1]),
        pct(s.within[2]),
        100.0 - pct(s.within[3]),
        p90,
        s.regret[0] / n,
        s.regret[1] / n,
        s.regret[2] / n,
        s.pulled / n,
        cover(s.cover[0]),
        cover(s.cover[1]),
        cover(s.cover[2]),
        s.claims / asked,
        base,
        s.brier / asked,
        base * (1.0 - base),
        pct(s.settled),
        100.0 * s.falsely as f64 / n,
        s.micros[s.micros.len() / 2] / 1e3,
        s.micros[s.micros.len() * 95 / 100] / 1e3,
    );
    std::io::stdout().flush().ok();
}

fn main() {
    let args: Vec<u64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let count = args.first().copied().unwrap_or(25);
    let seed = args.get(1).copied().unwrap_or(1);
    let days = std::env::var("DAYS").is_ok();
    let earlier = std::env::var("EARLIER").ok().and_then(|e| e.parse().ok()).unwrap_or(0);
    let only: Option<usize> = std::env::var("KIND").ok().and_then(|e| e.parse().ok());
    let mut all = Score::default();
    for kind in 0..4 {
        if only.is_some_and(|k| k != kind) {
            continue;
        }
        let mut score = Score::default();
        for s in seed..seed + count {
            run(kind, s, &mut score, days, earlier);
        }
        show(["classes", "surface", "two paths", "harshness"][kind], &mut score);
        all.n += score.n;
        for i in 0..4 {
            all.within[i] += score.within[i];
        }
        for i in 0..3 {
            all.regret[i] += score.regret[i];
            for j in 0..2 {
                all.cover[i][j] += score.cover[i][j];
            }
        }
        all.firsts.extend(score.firsts);
        all.brier += score.brier;
        all.claims += score.claims;
        all.right += score.right;
        all.asked += score.asked;
        all.settled += score.settled;
        all.falsely += score.falsely;
        all.pulled += score.pulled;
        all.micros.extend(score.micros);
    }
    show("all", &mut all);
}
