//! Start and stop of a pull, found from the signal itself.

use std::collections::VecDeque;

use super::samples::Sample;
use crate::domain::{Channel, Trace, TraceFault};

/// When a recording starts and stops. The numbers are common practice, without a source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecorderRules {
    /// Seconds kept from before the start.
    pub before_s: f64,
    /// A rise of pressure by so much over its resting level starts it, bar.
    pub pressure_rise_bar: f64,
    /// A flow of so much starts it, g/s.
    pub flow_g_s: f64,
    /// A rise of cup mass by so much within two seconds starts it, grams (not so much that a cup was put down: 60 g).
    pub mass_rise_g: f64,
    /// So long without pressure, flow or growth of the cup stops it, seconds.
    pub quiet_s: f64,
    /// So long instead while a first wetting may be all that was, seconds: a pause that lets the bed soak.
    pub pause_s: f64,
    /// Pressure or flow for less than this in all, and less than `wetting_g` in the cup, may be a first wetting, seconds.
    pub wetting_s: f64,
    /// What may be in the cup after a first wetting, grams.
    pub wetting_g: f64,
    /// It stops after so long in any case, seconds.
    pub longest_s: f64,
}

impl Default for RecorderRules {
    fn default() -> Self {
        Self {
            before_s: 5.0,
            pressure_rise_bar: 1.0,
            flow_g_s: 0.5,
            mass_rise_g: 0.8,
            quiet_s: 4.0,
            pause_s: 20.0,
            wetting_s: 12.0,
            wetting_g: 3.0,
            longest_s: 300.0,
        }
    }
}

/// What a recorder is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RecorderState {
    /// Waiting for a pull to begin.
    Waiting,
    /// A pull runs.
    Running {
        /// When it began, on the instrument's clock, seconds.
        since_s: f64,
    },
    /// A pull is over; [`Recorder::take`] hands it out.
    Done,
}

/// Collects the samples of one pull. Memory is bounded by the longest pull.
#[derive(Debug, Clone)]
pub struct Recorder {
    rules: RecorderRules,
    state: RecorderState,
    samples: VecDeque<Sample>,
    rest_bar: Option<f64>,
    rest_at_s: f64,
    last_active_s: f64,
    /// How long water was pressed or ran since the start, seconds; whether it did at the last sample; what the cup held then.
    wet_s: f64,
    wet: bool,
    begin_g: Option<f64>,
    last_g: Option<f64>,
    peak_g: f64,
    manual: bool,
    lifted_since_s: Option<f64>,
}

/// Time constant with which the resting level of pressure follows upwards, seconds. Common practice, no source.
const REST_FOLLOWS_S: f64 = 5.0;
/// A slower scale than this does not start a recording, seconds between two readings.
const SLOWEST_SCALE_S: f64 = 2.0;

/// Most samples kept, whatever the rate (ten minutes at 200 Hz).
const MAX_SAMPLES: usize = 120_000;

impl Recorder {
    /// A recorder that waits.
    #[must_use]
    pub fn new(rules: RecorderRules) -> Self {
        Self {
            rules,
            state: RecorderState::Waiting,
            samples: VecDeque::new(),
            rest_bar: None,
            rest_at_s: f64::NEG_INFINITY,
            last_active_s: 0.0,
            wet_s: 0.0,
            wet: false,
            begin_g: None,
            last_g: None,
            peak_g: f64::NEG_INFINITY,
            manual: false,
            lifted_since_s: None,
        }
    }

    /// What it is doing.
    #[must_use]
    pub fn state(&self) -> RecorderState {
        self.state
    }

    /// The samples so far, oldest first, for drawing while they come.
    pub fn samples(&self) -> impl ExactSizeIterator<Item = &Sample> + DoubleEndedIterator {
        self.samples.iter()
    }

    /// What has come so far as a trace whose time starts with the first sample kept, for drawing while it comes.
    ///
    /// # Errors
    /// [`TraceFault`] when too little came.
    pub fn so_far(&self) -> Result<Trace, TraceFault> {
        let samples: Vec<Sample> = self.samples.iter().copied().collect();
        trace_of(&samples)
    }

    /// Starts at once, whatever the signal says; it then stops only by [`Recorder::stop`] or at the longest time.
    pub fn start(&mut self) {
        if let (RecorderState::Waiting, Some(last)) = (self.state, self.samples.back()) {
            self.state = RecorderState::Running { since_s: last.time_s };
            self.last_active_s = last.time_s;
            self.manual = true;
        }
    }

    /// Stops at once.
    pub fn stop(&mut self) {
        if matches!(self.state, RecorderState::Running { .. }) {
            self.state = RecorderState::Done;
        }
    }

    /// Takes a sample and returns the state after it. Samples that come when a pull is done are not kept.
    pub fn push(&mut self, sample: Sample) -> RecorderState {
        if self.state == RecorderState::Done {
            return self.state;
        }
        if let Some(last) = self.samples.back()
            && sample.time_s <= last.time_s
        {
            // The instrument started again. A waiting recorder begins afresh; a running one ends here.
            match self.state {
                RecorderState::Waiting => self.samples.clear(),
                _ => {
                    self.state = RecorderState::Done;
                    return self.state;
                }
            }
        }
        let since_last_s = self.samples.back().map_or(0.0, |last| sample.time_s - last.time_s);
        self.samples.push_back(sample);
        match self.state {
            RecorderState::Waiting => self.wait(sample),
            RecorderState::Running { since_s } => self.run(sample, since_s, since_last_s),
            RecorderState::Done => {}
        }
        self.state
    }

    fn grown(&self, sample: &Sample, within_s: f64) -> Option<f64> {
        let now = sample.get(Channel::CupMass)?;
        // Looked up, not walked to: a clock that hardly moves puts very many samples into two seconds.
        let from = self.samples.partition_point(|s| sample.time_s - s.time_s > within_s);
        let earlier = self.samples.range(from..self.samples.len().saturating_sub(1).max(from));
        let then = earlier.into_iter().find_map(|s| s.get(Channel::CupMass))?;
        Some(now - then)
    }

    /// Seconds from the reading of the scale before this one, at most [`SLOWEST_SCALE_S`]; 0 without one.
    fn scale_step_s(&self, sample: &Sample) -> f64 {
        if sample.get(Channel::CupMass).is_none() {
            return 0.0;
        }
        let from = self.samples.partition_point(|s| sample.time_s - s.time_s > SLOWEST_SCALE_S);
        let earlier = self.samples.range(from..self.samples.len().saturating_sub(1).max(from));
        let before = earlier.rev().find(|s| s.get(Channel::CupMass).is_some());
        before.map_or(0.0, |s| sample.time_s - s.time_s)
    }

    fn wait(&mut self, sample: Sample) {
        let pressure = sample.get(Channel::Pressure);
        if let Some(p) = pressure {
            // The resting level follows slowly upwards, at every rate of samples alike, and at once downwards (mains
            // pressure, a released pump).
            let rest = self.rest_bar.unwrap_or(p);
            // What was before a pause of the instrument says little.
            let passed_s = (sample.time_s - self.rest_at_s).clamp(0.0, 1.0);
            let share = -libm::expm1(-passed_s / REST_FOLLOWS_S);
            self.rest_bar = Some(if p < rest { p } else { rest + share * (p - rest) });
            self.rest_at_s = sample.time_s;
        }
        let by_pressure = matches!((pressure, self.rest_bar), (Some(p), Some(rest)) if p - rest > self.rules.pressure_rise_bar);
        let by_flow = sample.get(Channel::Flow).is_some_and(|q| q > self.rules.flow_g_s);
        // A cup put down jumps by tens of grams at once; drink grows. Of a slow scale the reading before counts.
        let before_s = 1.5 * self.scale_step_s(&sample);
        let by_mass =
            self.grown(&sample, before_s.max(2.0)).is_some_and(|g| g > self.rules.mass_rise_g && g < 15.0)
                && self.grown(&sample, before_s.max(1.0)).is_some_and(|g| g > 0.3 * self.rules.mass_rise_g)
                && self.grown(&sample, before_s.max(0.35)).is_some_and(|g| g.abs() < 5.0);
        if by_pressure || by_flow || by_mass {
            self.state = RecorderState::Running { since_s: sample.time_s };
            self.last_active_s = sample.time_s;
            self.peak_g = f64::NEG_INFINITY;
            (self.wet_s, self.wet) = (0.0, by_pressure || by_flow);
            (self.begin_g, self.last_g) = (sample.get(Channel::CupMass), None);
        }
        while self.samples.len() > 1
            && self.samples.front().is_some_and(|first| {
                sample.time_s - first.time_s > self.rules.before_s || self.samples.len() > MAX_SAMPLES
            })
        {
            self.samples.pop_front();
        }
    }

    /// Whether all that was may be a first wetting, after which the bed is left to soak. A scale alone does not tell.
    fn may_be_wetting(&self) -> bool {
        let in_cup_g = match (self.begin_g, self.last_g) {
            (Some(begin), Some(last)) => last - begin,
            _ => 0.0,
        };
        self.wet_s > 0.0 && self.wet_s < self.rules.wetting_s && in_cup_g < self.rules.wetting_g
    }

    fn run(&mut self, sample: Sample, since_s: f64, since_last_s: f64) {
        let rest = self.rest_bar.unwrap_or(0.0);
        let pressed =
            sample.get(Channel::Pressure).is_some_and(|p| p - rest > 0.5 * self.rules.pressure_rise_bar);
        let flowing = sample.get(Channel::Flow).is_some_and(|q| q > 0.4 * self.rules.flow_g_s);
        let growing = self.grown(&sample, 2.0).is_some_and(|g| g > 0.15);
        if pressed || flowing || growing {
            self.last_active_s = sample.time_s;
        }
        if self.wet {
            self.wet_s += since_last_s;
        }
        if sample.get(Channel::Pressure).is_some() || sample.get(Channel::Flow).is_some() {
            self.wet = pressed || flowing;
        }
        let mass = sample.get(Channel::CupMass);
        // A cup put down or taken off is no drink.
        let jump = mass.zip(self.last_g).map(|(now, last)| now - last).filter(|jump| jump.abs() > 15.0);
        self.begin_g = self.begin_g.map(|begin| begin + jump.unwrap_or(0.0)).or(mass);
        self.last_g = mass.or(self.last_g);
        let lifted = mass.is_some_and(|m| m < self.peak_g - 8.0) && !pressed;
        // One low reading is a slip of the scale; a cup taken away stays away.
        self.lifted_since_s = if lifted { self.lifted_since_s.or(Some(sample.time_s)) } else { None };
        let lifted = self.lifted_since_s.is_some_and(|since| sample.time_s - since > 0.4);
        self.peak_g = mass.map_or(self.peak_g, |m| m.max(self.peak_g));
        let quiet_s = if self.may_be_wetting() { self.rules.pause_s } else { self.rules.quiet_s };
        let quiet = !self.manual && sample.time_s - self.last_active_s > quiet_s;
        let long = sample.time_s - since_s > self.rules.longest_s || self.samples.len() >= MAX_SAMPLES;
        if (lifted && !self.manual) || quiet || long {
            self.state = RecorderState::Done;
        }
    }

    /// Hands the pull out as a trace whose time starts with the first sample kept, and waits for the next.
    ///
    /// # Errors
    /// [`TraceFault`] when too little came.
    pub fn take(&mut self) -> Result<Trace, TraceFault> {
        let samples: Vec<Sample> = std::mem::take(&mut self.samples).into();
        let (rest_bar, rest_at_s) = (self.rest_bar, self.rest_at_s);
        *self = Self::new(self.rules);
        (self.rest_bar, self.rest_at_s) = (rest_bar, rest_at_s);
        trace_of(&samples)
    }
}

/// Samples as a trace; channels that never came are left out.
fn trace_of(samples: &[Sample]) -> Result<Trace, TraceFault> {
    let start = samples.first().map_or(0.0, |s| s.time_s);
    let time_s = samples.iter().map(|s| s.time_s - start).collect();
    let channels = Channel::ALL.into_iter().filter_map(|channel| {
        let values: Vec<f64> = samples.iter().map(|s| s.get(channel).unwrap_or(f64::NAN)).collect();
        values.iter().any(|v| v.is_finite()).then_some((channel, values))
    });
    Trace::new(time_s, channels)
}

/// Cuts a long recording (an hour at 100 Hz, say) into its pulls, each with a few seconds before it, by the same rules
/// as live capture. A trace that holds one pull only may come back whole or a little shorter; one without a pull gives
/// none.
#[must_use]
pub fn cut_into_pulls(trace: &Trace, rules: &RecorderRules) -> Vec<Trace> {
    let mut recorder = Recorder::new(*rules);
    let mut pulls = Vec::new();
    for (at, &time_s) in trace.time_s().iter().enumerate() {
        let values = Channel::ALL.map(|channel| trace.get(channel).and_then(|v| v.get(at)).copied());
        if recorder.push(Sample::new(time_s, values)) == RecorderState::Done {
            pulls.extend(recorder.take());
        }
    }
    recorder.stop();
    if recorder.state() == RecorderState::Done {
        pulls.extend(recorder.take());
    }
    pulls
}
