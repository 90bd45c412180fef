//! The trace that the puck model expects of a pull before it is pulled: the time is the engine's, the shape the model's.
//!
//! Pulls of several pucks (they cover what is not known of this one) are simulated once over a range of permeabilities at
//! the smallest and the largest dose. For a recipe and a time, each puck's pull that reaches the yield at that time is
//! looked up by interpolation, which costs microseconds, so that the band follows a dragged lever. Pressure is taken as
//! flat after a short rise, since nobody has recorded it yet.

use super::compare::ExpectedBand;
use super::expected::{About, GRID, pucks};
use crate::domain::{Channel, Recipe, Station};
use crate::puck::{Drive, DriveSpec, Profile, Puck, PuckSpec, simulate};

/// What of a station decides the shape of a pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Press {
    /// Inner diameter of the basket, millimetres.
    pub basket_mm: f64,
    /// Pressure at flow, bar gauge.
    pub pressure_bar: f64,
    /// Smallest and largest dose, grams.
    pub dose_g: (f64, f64),
    /// Largest yield, grams.
    pub yield_g: f64,
}

impl Press {
    /// The station's.
    #[must_use]
    pub fn of(station: &Station) -> Self {
        let gear = &station.gear;
        Self {
            basket_mm: station.basket.diameter_mm,
            pressure_bar: gear.pressure_bar.unwrap_or(9.0),
            dose_g: (gear.dose_g.min(), gear.dose_g.max()),
            yield_g: gear.yield_g.max(),
        }
    }
}

/// Pulls of one puck, from the tightest to the most open: ln of the time at which each mass is reached.
type Family = Vec<Vec<f64>>;

/// Pulls worked out beforehand.
#[derive(Debug, Clone, PartialEq)]
pub struct Foresight {
    press: Press,
    masses_g: Vec<f64>,
    /// Puck by puck: at the smallest dose and at the largest.
    families: Vec<[Family; 2]>,
}

/// What is foreseen of a pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    /// Cup mass and flow against time.
    pub band: ExpectedBand,
    /// Middle of the expected first drip, seconds.
    pub first_drip_s: f64,
}

/// Permeability from one pull of a family to the next; the first is tightest.
const RATIO: f64 = 1.6;
/// Pulls of a family.
const STEPS: i32 = 10;
/// Permeability of the usual puck, m².
const USUAL_M2: f64 = 3.8e-15;
/// A first drip, grams.
const DRIP_G: f64 = 0.05;
/// Distance of the band's edges, seconds.
const PITCH_S: f64 = 0.25;

/// One foreseen pull.
struct Curve {
    times_s: Vec<f64>,
    end_s: f64,
}

impl Foresight {
    /// Simulates the pulls: some hundred of them, a fraction of a second. Not for the thread that draws.
    #[must_use]
    pub fn new(press: Press) -> Self {
        let most = press.yield_g.clamp(5.0, 150.0).ceil();
        let mut masses_g = vec![DRIP_G, 0.5];
        masses_g.extend((1..=most as u32).map(f64::from));
        let (low, high) = press.dose_g;
        let about = |dose_g: f64| About {
            dose_g: dose_g.clamp(5.0, 40.0),
            basket_mm: press.basket_mm,
            target_c: None,
            pressure_bar: press.pressure_bar,
        };
        let families = pucks(&about(low))
            .into_iter()
            .zip(pucks(&about(high)))
            .filter_map(|(small, large)| {
                Some([family(small, &press, &masses_g)?, family(large, &press, &masses_g)?])
            })
            .collect();
        Self { press, masses_g, families }
    }

    /// What it was made for.
    #[must_use]
    pub fn press(&self) -> &Press {
        &self.press
    }

    /// What to expect of a recipe whose time lies, eight times in ten, between the first and the last of `times_s`. `None`
    /// where that is no pull that the model knows.
    #[must_use]
    pub fn expect(&self, recipe: &Recipe, times_s: [f64; 3]) -> Option<Foreseen> {
        let dose = recipe.dose_g;
        let (low, high) = self.press.dose_g;
        let share = if high > low { ((dose - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
        let mut curves = Vec::with_capacity(self.families.len() * 3);
        let mut middles = Vec::with_capacity(self.families.len());
        for pair in &self.families {
            for (at, time) in times_s.iter().enumerate() {
                let Some(curve) = self.curve(pair, share, recipe.yield_g, *time) else { continue };
                if at == 1 {
                    middles.extend(curve.times_s.first().copied());
                }
                curves.push(curve);
            }
        }
        if curves.len() < 6 || middles.is_empty() {
            return None;
        }
        middles.sort_by(f64::total_cmp);
        let first_drip_s = middles.get(middles.len() / 2).copied()?;
        let last = curves.iter().map(|curve| curve.end_s).fold(0.0, f64::max);
        let (mut cup, mut flow) = (Vec::new(), Vec::new());
        for at in 0..=((last / PITCH_S).ceil() as usize).min(2400) {
            let t = at as f64 * PITCH_S;
            let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
            let (mut slow, mut fast) = (f64::INFINITY, f64::NEG_INFINITY);
            for curve in &curves {
                let mass = self.mass(curve, t, recipe.yield_g);
                (least, most) = (least.min(mass), most.max(mass));
                // What has ended is taken to run on as it ended, so that the band has no steps.
                let (a, b) = ((t.min(curve.end_s) - 0.5).max(0.0), (t + 0.5).min(curve.end_s));
                if b > a {
                    let rate = (self.mass(curve, b, recipe.yield_g) - self.mass(curve, a, recipe.yield_g))
                        / (b - a).max(1e-6);
                    (slow, fast) = (slow.min(rate), fast.max(rate));
                }
            }
            cup.push([t, (least - 0.3).max(0.0), most + 0.3]);
            if slow <= fast {
                flow.push([t, (slow - 0.1).max(0.0), fast + 0.1]);
            }
        }
        let band = ExpectedBand { channels: vec![(Channel::Flow, flow), (Channel::CupMass, cup)] };
        Some(Foreseen { band, first_drip_s })
    }

    /// The pull of a puck that reaches the yield at a time.
    fn curve(&self, pair: &[Family; 2], share: f64, yield_g: f64, time_s: f64) -> Option<Curve> {
        if !(time_s.is_finite() && time_s > 1.0 && yield_g > 1.0) {
            return None;
        }
        let wanted = libm::log(time_s);
        let [small, large] = pair;
        let (a, b) = (self.of_time(small, yield_g, wanted)?, self.of_time(large, yield_g, wanted)?);
        let times_s = a
            .iter()
            .zip(&b)
            .map(|(a, b)| libm::exp(a + share * (b - a)))
            .take_while(|t| *t < time_s)
            .collect();
        Some(Curve { times_s, end_s: time_s })
    }

    /// ln times of the member of a family that reaches the yield at ln time `wanted`, between its neighbours.
    fn of_time(&self, family: &Family, yield_g: f64, wanted: f64) -> Option<Vec<f64>> {
        let ends: Vec<f64> = family.iter().map(|one| self.at_mass(one, yield_g)).collect();
        let place = ends.windows(2).position(|pair| match pair {
            [slow, fast] => *slow >= wanted && wanted >= *fast,
            _ => false,
        })?;
        let (slow, fast) = (family.get(place)?, family.get(place + 1)?);
        let (from, to) = (*ends.get(place)?, *ends.get(place + 1)?);
        let share = if from - to > 1e-9 { (from - wanted) / (from - to) } else { 0.0 };
        Some(slow.iter().zip(fast).map(|(a, b)| a + share * (b - a)).collect())
    }

    /// ln time at a mass; not a number where the pull never gets there.
    fn at_mass(&self, ln_times: &[f64], mass_g: f64) -> f64 {
        let after = self.masses_g.partition_point(|m| *m < mass_g);
        let at = |i: usize| Some((*self.masses_g.get(i)?, *ln_times.get(i)?));
        match (after.checked_sub(1).and_then(at), at(after)) {
            (Some((m0, a)), Some((m1, b))) => a + (b - a) * (mass_g - m0) / (m1 - m0),
            (None, Some((_, b))) => b,
            _ => f64::NAN,
        }
    }

    /// Mass in the cup at a time, grams.
    fn mass(&self, curve: &Curve, t: f64, yield_g: f64) -> f64 {
        if t >= curve.end_s {
            return yield_g;
        }
        let after = curve.times_s.partition_point(|one| *one < t);
        let at = |i: usize| match (curve.times_s.get(i), self.masses_g.get(i)) {
            (Some(t), Some(m)) => (*t, *m),
            _ => (curve.end_s, yield_g),
        };
        let Some(before) = after.checked_sub(1) else { return 0.0 };
        let ((t0, m0), (t1, m1)) = (at(before), at(after));
        if t1 > t0 { m0 + (m1 - m0) * (t - t0) / (t1 - t0) } else { m1 }
    }
}

fn family(mut spec: PuckSpec, press: &Press, masses_g: &[f64]) -> Option<Family> {
    let bar = press.pressure_bar.clamp(0.5, 20.0);
    let drive = Drive::new(DriveSpec {
        pressure_bar: Profile::lines(vec![(0.0, 0.0), (0.8, bar)]),
        duration_s: 240.0,
        stop_at_g: masses_g.last().map(|most| most + 0.5),
        ..DriveSpec::default()
    })
    .ok()?;
    let mut all = Vec::new();
    for step in 0..STEPS {
        spec.flow.permeability_m2 = USUAL_M2 * 9.0 / bar * RATIO.powi(step - STEPS / 2);
        let pull = simulate(&Puck::new(spec.clone()).ok()?, &drive, &GRID).ok()?;
        let times = masses_g
            .iter()
            .map(|mass| pull.time_at_g(*mass).filter(|t| *t > 0.0).map_or(f64::NAN, libm::log))
            .collect();
        all.push(times);
    }
    Some(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::puck::Settings;

    const PRESS: Press = Press { basket_mm: 58.0, pressure_bar: 9.0, dose_g: (16.0, 20.0), yield_g: 60.0 };

    fn recipe(dose_g: f64, yield_g: f64) -> Recipe {
        Recipe { grind: 10.0, dose_g, yield_g, temperature_c: None }
    }

    fn edges(seen: &Foreseen, wanted: Channel) -> &[[f64; 3]] {
        let found = seen.band.channels.iter().find(|(channel, _)| *channel == wanted);
        found.map_or(&[], |(_, edges)| edges)
    }

    /// Against the full model on a fine grid at a dose and a permeability that no family holds.
    #[test]
    fn a_simulated_pull_of_the_expected_time_lies_in_the_band() {
        let foresight = Foresight::new(PRESS);
        for (permeability_m2, dose_g, yield_g) in [(2.9e-15, 17.3, 31.0), (5.2e-15, 18.7, 43.0)] {
            let mut spec = PuckSpec { dose_g, ..PuckSpec::default() };
            spec.flow.permeability_m2 = permeability_m2;
            let drive = Drive::new(DriveSpec {
                pressure_bar: Profile::lines(vec![(0.0, 0.0), (0.8, 9.0)]),
                duration_s: 200.0,
                stop_at_g: Some(yield_g),
                ..DriveSpec::default()
            })
            .unwrap();
            let pull = simulate(&Puck::new(spec).unwrap(), &drive, &Settings::default()).unwrap();
            let t = pull.end_s;
            let seen = foresight.expect(&recipe(dose_g, yield_g), [t * 0.97, t, t * 1.03]).unwrap();
            let cup = edges(&seen, Channel::CupMass);
            assert!(cup.len() > 40);
            for [at, low, high] in cup.iter().filter(|edge| edge[0] <= t) {
                let mass = pull.sample(&pull.cup_g, *at);
                assert!(mass > low - 0.4 && mass < high + 0.4, "{at}: {mass} not in {low}–{high}");
            }
            let drip = pull.first_drip_s.unwrap();
            assert!((seen.first_drip_s - drip).abs() < 2.5, "{} {drip}", seen.first_drip_s);
        }
    }

    #[test]
    fn the_band_ends_at_the_yield_and_widens_with_doubt() {
        let foresight = Foresight::new(PRESS);
        let sure = foresight.expect(&recipe(18.0, 36.0), [27.0, 28.0, 29.0]).unwrap();
        let unsure = foresight.expect(&recipe(18.0, 36.0), [20.0, 28.0, 39.0]).unwrap();
        let last = |seen: &Foreseen| *edges(seen, Channel::CupMass).last().unwrap();
        assert!((last(&sure)[1] - 35.7).abs() < 1e-9 && (last(&sure)[2] - 36.3).abs() < 1e-9);
        let width = |seen: &Foreseen| -> f64 {
            let cup = edges(seen, Channel::CupMass);
            let at = cup.iter().find(|edge| edge[0] >= 20.0).unwrap();
            at[2] - at[1]
        };
        assert!(width(&unsure) > 1.5 * width(&sure));
        // Flow ends with the slowest pull, and never runs backwards.
        let flow = edges(&unsure, Channel::Flow);
        assert!(flow.last().unwrap()[0] <= 39.0 && flow.iter().all(|edge| edge[1] >= 0.0));
    }

    #[test]
    fn what_no_puck_does_gets_no_band() {
        let foresight = Foresight::new(PRESS);
        for times in [[0.2, 0.3, 0.4], [f64::NAN; 3], [900.0, 950.0, 990.0]] {
            assert!(foresight.expect(&recipe(18.0, 36.0), times).is_none());
        }
        assert!(foresight.expect(&recipe(18.0, 400.0), [25.0, 28.0, 30.0]).is_none());
        let odd = Press { basket_mm: 58.0, pressure_bar: 0.0, dose_g: (18.0, 18.0), yield_g: 0.0 };
        let _no_panic = Foresight::new(odd).expect(&recipe(18.0, 36.0), [25.0, 28.0, 30.0]);
    }
}
