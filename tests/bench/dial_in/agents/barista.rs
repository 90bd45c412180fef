//! A careful barista's rule of thumb, played by a program.
//!
//! Fix the dose; grind to the time window with the local slope learned on the way; then taste: ratio for strength, grind
//! for sour against bitter, temperature last. One change at a time, back to the best cup after a bad move, the next
//! best idea from there, stop after three moves without gain or a cup that leaves nothing to wish.

use super::{Agent, Record, plain};
use crate::protocol::{Advice, Best, Open, Recipe, Shot};

/// Assumed slope of log time per micrometre finer: about 3 s of 27 for 10 µm (common practice).
const PER_UM: f64 = 0.011;
/// Assumed span of a whole grinder scale where its micrometres are unknown.
const SCALE_SPAN_UM: f64 = 420.0;

/// A move: shares of a "normal step" of grind (+ finer), drink (+ more) and temperature (+ hotter).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Move {
    finer: f64,
    longer: f64,
    hotter: f64,
}

/// What a normal step does to "under-extracted" and to "too strong", in marks, by the trade's rules.
const FINER: (f64, f64) = (-0.55, 0.3);
const LONGER: (f64, f64) = (-0.5, -0.7);
const HOTTER: (f64, f64) = (-0.3, 0.05);
/// A normal step of grind in log time, of drink as a share, of temperature in °C.
const STEP: (f64, f64, f64) = (0.14, 0.11, 1.5);

/// The agent.
#[derive(Debug, Default)]
pub struct Barista {
    record: Record,
    next: Recipe,
    /// Moves already tried from the best cup.
    tried: Vec<Move>,
    best: Option<Recipe>,
    without_gain: usize,
    /// Pulls that look badly prepared: no evidence.
    spoiled: Vec<usize>,
    settled: bool,
    /// Settings as fine as this (in fineness) choked or ran faster instead of slower: not to be tried again.
    too_fine: Option<f64>,
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
            .enumerate()
            .filter(|(i, s)| !s.choked && !self.spoiled.contains(i))
            .map(|(_, s)| (g.finer_sign() * s.grind, self.plain_log_time(s)))
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

    /// How good a pull seems, from liking and complaints together (less noisy than either).
    fn quality(s: &Shot) -> f64 {
        if s.choked {
            return 0.0;
        }
        let t = s.taste.unwrap_or_default();
        let complaints: f64 = [t.sourness, t.bitterness, t.strength, t.astringency]
            .into_iter()
            .flatten()
            .map(|m| f64::from(m.abs()))
            .sum();
        t.liking.map_or(6.8 - 0.9 * complaints, f64::from) - 0.35 * complaints
    }

    /// Mean quality, "under" and "strong" of all sound pulls of a recipe.
    fn view(&self, r: &Recipe) -> Option<(f64, f64, f64, f64)> {
        let (mut n, mut q, mut u, mut s, mut lt) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (i, shot) in self.record.shots.iter().enumerate() {
            if self.record.asked[i] != *r || self.spoiled.contains(&i) || shot.choked {
                continue;
            }
            let t = shot.taste.unwrap_or_default();
            let m = |x: Option<i32>| f64::from(x.unwrap_or(0));
            n += 1.0;
            q += Self::quality(shot);
            u += 0.75 * (m(t.sourness) - m(t.bitterness)) - 0.25 * m(t.astringency) - 0.2 * m(t.sweetness);
            s += 0.75 * m(t.strength) + 0.25 * m(t.body);
            lt += shot.time_s.max(1.0).ln();
        }
        (n > 0.0).then(|| ((q + 0.4 * 4.0) / (n + 0.4), u / n, s / n, lt / n))
    }

    /// The recipe of the best cup so far.
    fn favourite(&self) -> Option<Recipe> {
        let mut best: Option<(f64, Recipe)> = None;
        for r in &self.record.asked {
            if let Some((q, ..)) = self.view(r)
                && best.is_none_or(|b| q >= b.0)
            {
                best = Some((q, *r));
            }
        }
        best.map(|b| b.1)
    }

    /// Whether something so like this was pulled before that pulling it teaches little.
    fn known(&self, r: &Recipe) -> bool {
        let slope = self.slope();
        self.record.asked.iter().any(|a| {
            let warmer = (a.temperature_c.unwrap_or(0.0) - r.temperature_c.unwrap_or(0.0)).abs();
            (a == r)
                || (slope * (a.grind - r.grind).abs() < 0.035
                    && (a.yield_g / r.yield_g).ln().abs() < 0.035
                    && (a.dose_g - r.dose_g).abs() < 0.3
                    && warmer < 0.8)
        })
    }

    fn apply(&self, from: &Recipe, m: &Move) -> Recipe {
        let mut r = *from;
        if m.finer != 0.0 {
            r.grind = self.grind_for(from.grind, STEP.0 * m.finer);
        }
        if m.longer != 0.0 {
            let grams = from.yield_g * STEP.1 * m.longer;
            r.yield_g += grams.signum() * grams.abs().max(self.record.open.gear.yield_g.step);
        }
        r.yield_g = r.yield_g.clamp(1.2 * r.dose_g, 3.3 * r.dose_g);
        r.temperature_c = from.temperature_c.map(|t| t + STEP.2 * m.hotter);
        self.record.open.gear.snap(r)
    }

    /// The move that the trade's rules promise most from, from a cup with these complaints; `None` when none helps.
    fn choose(&self, from: &Recipe, under: f64, strong: f64, log_time: f64) -> Option<(Move, Recipe)> {
        let (lo, hi) = self.window();
        let mut found: Option<(f64, Move, Recipe)> = None;
        let sizes = [-2.0, -1.0, 0.0, 1.0, 2.0];
        for finer in sizes {
            for longer in sizes {
                for hotter in [-1.0, 0.0, 1.0] {
                    let levers = [finer, longer, hotter].iter().filter(|x| **x != 0.0).count();
                    if levers == 0
                        || levers > 2
                        || (hotter != 0.0 && (levers > 1 || from.temperature_c.is_none()))
                    {
                        continue;
                    }
                    let m = Move { finer, longer, hotter };
                    let r = self.apply(from, &m);
                    let fineness = self.record.open.gear.grind.finer_sign() * r.grind;
                    if self.known(&r) || self.too_fine.is_some_and(|f| fineness >= f) {
                        continue;
                    }
                    let u = under + FINER.0 * finer + LONGER.0 * longer + HOTTER.0 * hotter;
                    let s = strong + FINER.1 * finer + LONGER.1 * longer + HOTTER.1 * hotter;
                    let t = (log_time + STEP.0 * finer + 0.85 * (r.yield_g / from.yield_g).ln()).exp();
                    let outside = (lo / t).ln().max((t / hi).ln()).max(0.0);
                    let again = self.tried.iter().any(|x| {
                        x.finer * finer + x.longer * longer + x.hotter * hotter > 0.7 * norm(x) * norm(&m)
                    });
                    let cost = 0.06 * (levers as f64 - 1.0)
                        + 0.04 * (finer * finer + longer * longer)
                        + 2.0 * outside * outside
                        + 0.4 * hotter.abs()
                        + if again { 0.8 } else { 0.0 };
                    let gain = under * under + strong * strong - u * u - s * s - cost;
                    if found.as_ref().is_none_or(|f| gain > f.0) {
                        found = Some((gain, m, r));
                    }
                }
            }
        }
        found.filter(|f| f.0 > -1.6).map(|f| (f.1, f.2))
    }

    fn decide(&mut self) -> Advice {
        let gear = self.record.open.gear.clone();
        let Some(last) = self.record.shots.last().cloned() else {
            self.next = self.record.begin();
            return plain("adjust", self.next, self.record.best());
        };
        let at = self.record.shots.len() - 1;
        let here = self.record.asked[at];
        let fineness = |r: &Recipe| gear.grind.finer_sign() * r.grind;
        let surprising = !last.choked && self.surprising(&last);
        let before = self.record.asked[..at].iter().position(|r| *r == here);
        if let Some(i) = before.filter(|i| self.spoiled.contains(i)) {
            // Pulled again after a suspicion: the same once more means that the puck really runs so.
            let ratio = last.time_s / self.record.shots[i].time_s;
            if surprising && (0.8..1.25).contains(&ratio) {
                self.spoiled.retain(|x| *x != i);
                self.too_fine = Some(fineness(&here).min(self.too_fine.unwrap_or(f64::INFINITY)));
            }
        } else if surprising {
            // Much too fast and bad at once: bad preparation. It counts for nothing; pull it again.
            self.spoiled.push(at);
            if Some(here) != self.best {
                let served = self.favourite().unwrap_or(here);
                self.next = here;
                return plain("repeat", here, Best { recipe: served, liking: None });
            }
        }
        if last.choked {
            self.too_fine = Some(fineness(&here).min(self.too_fine.unwrap_or(f64::INFINITY)));
            // Half way back to the finest that ran, else clearly coarser.
            let ran = (0..at).filter(|i| !self.record.shots[*i].choked).map(|i| self.record.asked[i].grind);
            let finest = ran
                .map(|g| gear.grind.finer_sign() * g)
                .filter(|f| *f < fineness(&here))
                .fold(f64::NEG_INFINITY, f64::max);
            let grind = if finest.is_finite() {
                gear.grind.finer_sign() * 0.5 * (finest + fineness(&here))
            } else {
                self.grind_for(here.grind, -0.5)
            };
            let r = gear.snap(Recipe { grind, ..here });
            if !self.record.asked.contains(&r) {
                self.next = r;
                let recipe = self.favourite().unwrap_or(r);
                return plain("adjust", r, Best { recipe, liking: None });
            }
        }
        let Some(served) = self.favourite() else {
            // Nothing ran yet: clearly coarser.
            self.next = gear.snap(Recipe { grind: self.grind_for(here.grind, -0.5), ..here });
            return plain("adjust", self.next, self.record.best());
        };
        let best = Best { recipe: served, liking: None };
        let (quality, under, strong, log_time) = self.view(&served).unwrap_or((5.0, 0.0, 0.0, 3.3));
        if self.best == Some(served) {
            self.without_gain += 1;
        } else {
            self.tried.clear();
            self.without_gain = 0;
            self.best = Some(served);
        }
        if self.settled || (quality >= 7.4 && under.abs() + strong.abs() < 0.3) || self.without_gain >= 8 {
            self.settled = true;
            self.next = served;
            return plain("settled", served, best);
        }
        // Far out of the time window and no good cup yet: the grind first.
        let (lo, hi) = self.window();
        let t = log_time.exp();
        if (t < lo || t > hi) && quality < 6.5 {
            let goal = (0.5 * (lo + hi)).ln() - log_time;
            // The tongue overrules the clock when they disagree clearly.
            let far = goal.abs() > 0.15 && goal * under > -0.15;
            let r =
                gear.snap(Recipe { grind: self.grind_for(served.grind, goal.clamp(-0.9, 0.9)), ..served });
            if far && !self.known(&r) && self.too_fine.is_none_or(|f| fineness(&r) < f) {
                self.tried.push(Move { finer: goal.signum(), longer: 0.0, hotter: 0.0 });
                self.next = r;
                return plain("adjust", r, best);
            }
        }
        if let Some((m, r)) = self.choose(&served, under, strong, log_time) {
            self.tried.push(m);
            self.next = r;
            return plain("adjust", r, best);
        }
        self.settled = true;
        self.next = served;
        plain("settled", served, best)
    }

    /// Much faster than the pulls before let expect, and disliked.
    fn surprising(&self, s: &Shot) -> bool {
        let g = &self.record.open.gear.grind;
        let at = self.record.shots.len() - 1;
        let before = (0..at).rev().find(|i| !self.record.shots[*i].choked && !self.spoiled.contains(i));
        let Some(p) = before.map(|i| &self.record.shots[i]) else { return false };
        let moved = self.slope() * g.finer_sign() * (s.grind - p.grind);
        let expected = self.plain_log_time(p) + moved;
        self.plain_log_time(s) < expected - 0.22 - 0.3 * moved.abs()
            && Self::quality(s) < Self::quality(p) - 1.0
    }
}

/// Length of a move.
fn norm(m: &Move) -> f64 {
    (m.finer * m.finer + m.longer * m.longer + m.hotter * m.hotter).sqrt()
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
        let recipe = self.favourite().unwrap_or(self.next);
        Ok(plain("repeat", self.next, Best { recipe, liking: None }))
    }
}
