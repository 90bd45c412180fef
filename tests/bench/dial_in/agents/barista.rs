//! A careful barista's rule of thumb, played by a program.
//!
//! Fix the dose; grind to the time window with the local slope learned on the way; then taste: ratio for strength, grind
//! for sour against bitter, temperature last. One change at a time, back to the best cup after a bad move, the next
//! best idea from there, stop after three moves without gain or a cup that leaves nothing to wish.

use super::{Agent, Record, plain};
use crate::protocol::{Advice, Open, Recipe, Shot};

/// Assumed slope of log time per micrometre finer: about 3 s of 27 for 10 µm (common practice).
const PER_UM: f64 = 0.011;
/// Assumed span of a whole grinder scale where its micrometres are unknown.
const SCALE_SPAN_UM: f64 = 420.0;

/// What the barista may try from a cup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Idea {
    Finer,
    Coarser,
    MoreDrink,
    LessDrink,
    Hotter,
    Cooler,
}

/// The agent.
#[derive(Debug, Default)]
pub struct Barista {
    record: Record,
    next: Recipe,
    /// Ideas already tried from the best cup.
    tried: Vec<Idea>,
    best: Option<usize>,
    without_gain: usize,
    repeated: bool,
    settled: bool,
}

impl Barista {
    fn window(&self) -> (f64, f64) {
        self.record.open.aim.time_s.map_or((24.0, 33.0), |w| (w[0] - 2.0, w[1] + 3.0))
    }

    /// Log time per grinder unit finer, from a slope assumed and the pulls so far (ridge regression).
    fn slope(&self) -> f64 {
        let g = &self.record.open.gear.grind;
        let um = g.um_per_unit.unwrap_or(SCALE_SPAN_UM / (g.max - g.min));
        let assumed = PER_UM * um;
        let points: Vec<(f64, f64)> = self
            .record
            .shots
            .iter()
            .filter(|s| !s.choked)
            .map(|s| (g.finer_sign() * s.grind, self.plain_log_time(s)))
            .collect();
        let n = points.len() as f64;
        if n < 2.0 {
            return assumed;
        }
        let (mx, my) =
            (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
        let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
        let sxy: f64 = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
        // Noise 7 %, assumed slope good to half where µm are known, else to four fifths.
        let doubt = if g.um_per_unit.is_some() { 0.45 } else { 0.7 };
        let weight = (0.07 / (doubt * assumed)).powi(2);
        let fitted = (sxy + weight * assumed) / (sxx + weight);
        fitted.clamp(0.3 * assumed, 3.0 * assumed)
    }

    /// Log time brought to the start recipe's dose and drink mass.
    fn plain_log_time(&self, s: &Shot) -> f64 {
        let b = self.record.begin();
        s.time_s.max(1.0).ln() - 2.0 * (s.dose_g / b.dose_g).ln() - 0.85 * (s.yield_g / b.yield_g).ln()
    }

    /// A grind `log_time` slower (finer) than that of `from`, at least one step when not nought.
    fn grind_for(&self, from: f64, log_time: f64) -> f64 {
        let g = &self.record.open.gear.grind;
        let mut units = log_time / self.slope();
        if units.abs() < g.step && units != 0.0 {
            units = g.step * units.signum();
        }
        (from + g.finer_sign() * units).clamp(g.min, g.max)
    }

    /// Ideas for a cup, most wanted first.
    fn ideas(&self, s: &Shot) -> Vec<(Idea, f64)> {
        let t = s.taste.unwrap_or_default();
        let m = |x: Option<i32>| f64::from(x.unwrap_or(0));
        let (sour, bitter, dry) = (m(t.sourness), m(t.bitterness), m(t.astringency));
        let strong = t.strength.or(t.body).map_or(0.0, f64::from);
        let sweet = m(t.sweetness);
        let under = sour - bitter - 0.5 * dry - 0.2 * sweet * f64::from(i32::from(sour >= bitter));
        let (lo, hi) = self.window();
        let mut v: Vec<(Idea, f64)> = Vec::new();
        let room = |slower: bool| if slower { s.time_s < hi * 1.15 } else { s.time_s > lo * 0.85 };
        // Strength is the ratio's business; a wish for more extraction helps the longer drink and the finer grind.
        v.push((Idea::MoreDrink, 1.15 * strong + 0.45 * under));
        v.push((Idea::LessDrink, -1.15 * strong - 0.45 * under));
        v.push((Idea::Finer, if room(true) { 0.85 * under - 0.25 * strong } else { 0.0 }));
        v.push((Idea::Coarser, if room(false) { -0.85 * under + 0.25 * strong } else { 0.0 }));
        if self.record.open.gear.temperature_c.is_some() {
            v.push((Idea::Hotter, 0.4 * under));
            v.push((Idea::Cooler, -0.4 * under));
        }
        v.retain(|(i, w)| *w > 0.2 && !self.tried.contains(i));
        v.sort_by(|a, b| b.1.total_cmp(&a.1));
        v
    }

    fn apply(&self, from: &Recipe, idea: Idea, wish: f64) -> Recipe {
        let big = if wish > 1.6 { 1.6 } else { 1.0 };
        let mut r = *from;
        match idea {
            Idea::Finer => r.grind = self.grind_for(from.grind, 0.12 * big),
            Idea::Coarser => r.grind = self.grind_for(from.grind, -0.12 * big),
            Idea::MoreDrink => r.yield_g += (0.12 * big * from.yield_g).max(1.5),
            Idea::LessDrink => r.yield_g -= (0.11 * big * from.yield_g).max(1.5),
            Idea::Hotter => r.temperature_c = from.temperature_c.map(|t| t + 1.5),
            Idea::Cooler => r.temperature_c = from.temperature_c.map(|t| t - 1.5),
        }
        let ratio = r.yield_g / r.dose_g;
        r.yield_g = r.dose_g * ratio.clamp(1.3, 3.2);
        self.record.open.gear.snap(r)
    }

    fn decide(&mut self) -> Advice {
        let Some(last) = self.record.shots.last().cloned() else {
            self.next = self.record.begin();
            return plain("adjust", self.next, self.record.best());
        };
        let here = self.record.asked.last().copied().unwrap_or_else(|| self.record.begin());
        let best = self.record.best();
        if self.settled {
            self.next = best.recipe;
            return plain("settled", self.next, best);
        }
        let (lo, hi) = self.window();
        let goal = 0.5 * (lo + hi);
        let liking = last.taste.and_then(|t| t.liking).unwrap_or(5);
        if last.choked {
            self.next =
                self.record.open.gear.snap(Recipe { grind: self.grind_for(here.grind, -0.8), ..here });
            return plain("adjust", self.next, best);
        }
        // Sour and bitter together, or jets: repair the puck, pull the same again, once.
        let t = last.taste.unwrap_or_default();
        let both = t.sourness.unwrap_or(0) > 0 && t.bitterness.unwrap_or(0) > 0;
        let odd = (last.spurting && liking < 7) || (both && liking <= 5 && self.surprising(&last));
        if odd && !self.repeated {
            self.repeated = true;
            self.next = here;
            return plain("repeat", self.next, best);
        }
        self.repeated = false;
        // A cup that leaves nothing to wish: keep it.
        let now_best = self.record.best_index();
        let gained = now_best.map(|i| self.record.asked[i])
            != self.best.and_then(|i| self.record.asked.get(i)).copied();
        if gained {
            self.tried.clear();
            self.without_gain = 0;
        } else {
            self.without_gain += 1;
        }
        self.best = now_best;
        let wishes: i32 = t.marks().iter().flatten().map(|m| m.abs()).sum();
        if (wishes == 0 && liking >= 7)
            || liking >= 9
            || (self.without_gain >= 4 && self.record.shots.len() >= 7)
        {
            self.settled = true;
            self.next = best.recipe;
            return plain("settled", self.next, best);
        }
        // Out of the time window: grind first, unless the cup is already good.
        if (last.time_s < lo || last.time_s > hi) && liking < 7 {
            let step = (goal / last.time_s).ln().clamp(-0.9, 0.9);
            let r = self.record.open.gear.snap(Recipe { grind: self.grind_for(here.grind, step), ..here });
            if !self.record.asked.contains(&r) {
                self.next = r;
                return plain("adjust", self.next, best);
            }
        }
        // Taste: from the best cup so far, the idea most wanted that was not yet tried there.
        let i = now_best.unwrap_or(self.record.shots.len() - 1);
        let (from, cup) = (self.record.asked[i], self.record.shots[i].clone());
        for (idea, wish) in self.ideas(&cup) {
            let r = self.apply(&from, idea, wish);
            self.tried.push(idea);
            if !self.record.asked.contains(&r) {
                self.next = r;
                return plain("adjust", self.next, best);
            }
        }
        // No idea left: a little more or less drink, a little finer or coarser, then keep the best.
        for idea in [Idea::MoreDrink, Idea::Finer, Idea::LessDrink, Idea::Coarser] {
            if self.tried.contains(&idea) || liking >= 8 {
                continue;
            }
            self.tried.push(idea);
            let r = self.apply(&from, idea, 1.0);
            if !self.record.asked.contains(&r) {
                self.next = r;
                return plain("adjust", self.next, best);
            }
        }
        self.settled = true;
        self.next = best.recipe;
        plain("settled", self.next, best)
    }

    /// Much faster than the pulls before let expect.
    fn surprising(&self, s: &Shot) -> bool {
        let g = &self.record.open.gear.grind;
        let before: Vec<&Shot> = self.record.shots.iter().rev().skip(1).filter(|p| !p.choked).collect();
        let Some(p) = before.first() else { return true };
        let expected = self.plain_log_time(p) + self.slope() * g.finer_sign() * (s.grind - p.grind);
        self.plain_log_time(s) < expected - 0.2
    }
}

impl Agent for Barista {
    fn open(&mut self, open: &Open) -> Result<Advice, String> {
        *self = Self { record: Record::start(open), ..Self::default() };
        Ok(self.decide())
    }

    fn shot(&mut self, shot: &Shot) -> Result<Advice, String> {
        self.record.push(shot, Some(self.next));
        Ok(self.decide())
    }

    fn ask(&mut self) -> Result<Advice, String> {
        Ok(plain("repeat", self.next, self.record.best()))
    }
}
