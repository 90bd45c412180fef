//! Simulated pulls with known truth, seen through instruments with realistic faults. Shared by the tests and the bench.
//!
//! The pull comes from the puck model (random coffee, grind, basket, drive); what the instruments do to it is common
//! practice without a source: pressure noise 0.06 bar and 0.01 bar steps; a scale that lags 0.1–0.3 s, has 0.02 g of
//! noise, 0.01 or 0.1 g steps, drifts up to 0.005 g/s, and repeats its value between its own updates; a flow meter on the
//! water side with 0.15 ml/s of noise; 10–50 Hz with 5 ms jitter, one sample in a hundred dropped, one in three hundred
//! a spike.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, dead_code)]

use thirdpull::domain::{Channel, Trace};
use thirdpull::practice::Chance;
use thirdpull::puck::{
    self, Drive, DriveSpec, FlowLaw, Machine, Profile, Puck, PuckSpec, PullTrace, Settings, Unevenness,
    simulate,
};

/// What instruments a pull was seen through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rig {
    /// Pressure and scale; the pressure is there as soon as the pump runs.
    PressureAndMass,
    /// Pressure, water-side flow and scale on a small pump that first fills an empty space.
    All,
    /// Scale alone.
    MassOnly,
    /// Pressure alone.
    PressureOnly,
}

/// What really happened, on the trace's own clock.
#[derive(Debug, Clone)]
pub struct Truth {
    pub rig: Rig,
    pub pump_on_s: f64,
    /// When the first drop falls, that is, when 0.05 g has come out (a drop of water from a spout weighs about that;
    /// common practice, no source).
    pub first_drip_s: Option<f64>,
    pub pump_off_s: f64,
    /// When a channel opened, if one did while water was running through.
    pub channel_s: Option<f64>,
    /// The simulated pull; its time starts at `pump_on_s`.
    pub pull: PullTrace,
    pub dose_g: f64,
    pub area_m2: f64,
    pub depth_m: f64,
    pub water_c: f64,
}

/// Makes the `number`-th pull of a seed. `channelled`: whether a channel opens while it runs.
pub fn made(seed: u64, number: u64, rig: Rig, channelled: bool) -> (Trace, Truth) {
    let mut chance = Chance::new(seed, number * 8 + rig as u64);
    loop {
        if let Some(done) = attempt(&mut chance, rig, channelled) {
            return done;
        }
    }
}

fn attempt(chance: &mut Chance, rig: Rig, channelled: bool) -> Option<(Trace, Truth)> {
    let small_pump = rig == Rig::All;
    let dose_g = 16.0 + 4.0 * chance.uniform();
    let mut spec = PuckSpec {
        dose_g,
        headspace_ml: if small_pump { 8.0 + 15.0 * chance.uniform() } else { 0.0 },
        flow: FlowLaw {
            permeability_m2: 3.8e-15 * chance.factor(0.4),
            swelling_share: 0.2 * chance.uniform(),
            ..FlowLaw::default()
        },
        unevenness: Unevenness { spread: 0.2 * chance.uniform(), channels: Vec::new() },
        ..PuckSpec::default()
    };
    let bar = 7.0 + 3.0 * chance.uniform();
    let ramp_s = 0.3 + 0.7 * chance.uniform();
    let water_c = 90.0 + 5.0 * chance.uniform();
    let drive = Drive::new(DriveSpec {
        pressure_bar: Profile::lines(vec![(0.0, 0.0), (ramp_s, bar)]),
        temperature_c: Profile::flat(water_c),
        duration_s: 70.0,
        stop_at_g: Some(30.0 + 15.0 * chance.uniform()),
        machine: if small_pump { Machine::vibrating() } else { Machine::default() },
        ..DriveSpec::default()
    })
    .unwrap();
    let settings = Settings::default();
    let mut pull = simulate(&Puck::new(spec.clone()).unwrap(), &drive, &settings).unwrap();
    let drip = pull.first_drip_s?;
    // A pull as one is meant to run; the others are tried again.
    if !(14.0..=60.0).contains(&pull.end_s) || pull.end_s - drip < 8.0 {
        return None;
    }
    let mut opened = None;
    if channelled {
        let opens_at_s = drip + 3.0 + (pull.end_s - drip - 6.0) * chance.uniform();
        spec.unevenness.channels.push(puck::Channel {
            opens_at_s,
            area_share: 0.01 + 0.01 * chance.uniform(),
            gain: 40.0 + 40.0 * chance.uniform(),
            heals_in_s: (chance.uniform() < 0.5).then_some(3.0 + 5.0 * chance.uniform()),
        });
        pull = simulate(&Puck::new(spec.clone()).unwrap(), &drive, &settings).unwrap();
        if pull.end_s < opens_at_s + 2.5 {
            return None;
        }
        opened = Some(opens_at_s);
    }
    let puck = Puck::new(spec).unwrap();
    let on = 1.0 + 3.0 * chance.uniform();
    // What the pump delivers before any water reaches the bed fills the empty space above it.
    let full_s = pull.time_s.iter().zip(&pull.inflow_ml_s).find(|(_, q)| **q > 0.0).map_or(0.0, |(t, _)| *t);
    let filling = (full_s, if full_s > 0.0 { puck.spec().headspace_ml / full_s } else { 0.0 });
    let trace = seen(chance, rig, &pull, on, filling);
    let truth = Truth {
        rig,
        pump_on_s: on,
        first_drip_s: pull.time_at_g(0.05).map(|t| t + on),
        pump_off_s: on + pull.end_s,
        channel_s: opened.map(|t| t + on),
        dose_g,
        area_m2: puck.area_m2(),
        depth_m: puck.depth_m(),
        water_c,
        pull,
    };
    Some((trace, truth))
}

/// The pull as the instruments show it.
fn seen(chance: &mut Chance, rig: Rig, pull: &PullTrace, on: f64, filling: (f64, f64)) -> Trace {
    let hertz = [10.0, 20.0, 50.0][(chance.uniform() * 3.0) as usize];
    let scale_hertz: f64 = if chance.uniform() < 0.5 { 10.0 } else { hertz };
    let scale_step = if chance.uniform() < 0.5 { 0.1 } else { 0.01 };
    let lag_s = 0.1 + 0.2 * chance.uniform();
    let drift = 0.01 * (chance.uniform() - 0.5);
    let tare = 0.2 * (chance.uniform() - 0.5);
    let after_drips = 0.3 + 1.2 * chance.uniform();
    let off = on + pull.end_s;
    let bed_end = pull.bed_bar.last().copied().unwrap_or(0.0);
    let end = off + 4.0;
    let true_cup = |t: f64| {
        if t <= on {
            0.0
        } else if t < off {
            pull.sample(&pull.cup_g, t - on).max(0.0)
        } else {
            pull.yield_g + after_drips * (1.0 - (-(t - off) / 1.2).exp())
        }
    };
    let (mut time, mut pressure, mut flow, mut mass) = (vec![], vec![], vec![], vec![]);
    let (mut lagged, mut held, mut next_update) = (0.0, tare, 0.0);
    let mut index = 0u32;
    loop {
        let nominal = f64::from(index) / hertz;
        index += 1;
        if nominal > end {
            break;
        }
        let t = nominal + 0.005 * chance.around(0.5);
        lagged += (true_cup(t) - lagged) * (1.0 - (-1.0 / (hertz * lag_s)).exp());
        let update = nominal + 1e-9 >= next_update;
        let noise = chance.around(0.02);
        if update {
            next_update = nominal + 1.0 / scale_hertz;
            held = ((lagged + tare + drift * t + noise) / scale_step).round() * scale_step;
        }
        let p = if t < on {
            0.0
        } else if t < off {
            pull.sample(&pull.bed_bar, t - on)
        } else {
            bed_end * (-(t - off) / 0.3).exp()
        };
        let q = if t < on || t > off {
            0.0
        } else if t - on < filling.0 {
            filling.1
        } else {
            pull.sample(&pull.inflow_ml_s, t - on)
        };
        let (np, nq) = (chance.around(0.06), chance.around(0.15));
        let (drop, spike) = (chance.uniform() < 0.01, chance.uniform() < 1.0 / 300.0);
        if drop && time.len() > 2 {
            continue;
        }
        time.push(t);
        pressure.push((((p + np) * 100.0).round() / 100.0) + if spike { 6.0 } else { 0.0 });
        flow.push(q + nq);
        mass.push(held + if spike { -9.0 } else { 0.0 });
    }
    let channels: Vec<(Channel, Vec<f64>)> = match rig {
        Rig::PressureAndMass => vec![(Channel::Pressure, pressure), (Channel::CupMass, mass)],
        Rig::All => vec![(Channel::Pressure, pressure), (Channel::Flow, flow), (Channel::CupMass, mass)],
        Rig::MassOnly => vec![(Channel::CupMass, mass)],
        Rig::PressureOnly => vec![(Channel::Pressure, pressure)],
    };
    Trace::new(time, channels).unwrap()
}

/// Errors of one kind over many pulls.
#[derive(Debug, Clone, Default)]
pub struct Errors {
    pub name: String,
    pub errors: Vec<f64>,
    pub missed: usize,
}

impl Errors {
    pub fn new(name: &str) -> Self {
        Self { name: name.to_owned(), ..Self::default() }
    }

    pub fn add(&mut self, found: Option<f64>, truth: f64) {
        match found {
            Some(found) => self.errors.push(found - truth),
            None => self.missed += 1,
        }
    }

    /// Share of all cases that were found within `bound`.
    pub fn share_within(&self, bound: f64) -> f64 {
        let hits = self.errors.iter().filter(|e| e.abs() <= bound).count();
        hits as f64 / (self.errors.len() + self.missed).max(1) as f64
    }

    pub fn line(&self, bound: f64) -> String {
        let mut sorted = self.errors.clone();
        sorted.sort_by(f64::total_cmp);
        let at =
            |q: f64| sorted.get(((sorted.len().max(1) - 1) as f64 * q) as usize).copied().unwrap_or(f64::NAN);
        format!(
            "{:<28} {:>5} cases, {:>5.1} % within {bound}; error 2.5 % {:+.3}, middle {:+.3}, 97.5 % {:+.3}; {} missed",
            self.name,
            self.errors.len() + self.missed,
            100.0 * self.share_within(bound),
            at(0.025),
            at(0.5),
            at(0.975),
            self.missed
        )
    }
}
