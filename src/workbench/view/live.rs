//! A live instrument at the page: what comes, whether a pull runs, and the pulls that are over and wait to be kept.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use crate::capture::{self, Event, Live, Mapping, Recorder, RecorderRules, RecorderState, Source};
use crate::domain::{Channel, Trace};
use crate::trace::{Events, cup_g, find_events, naming::Role};

/// How an instrument is reached, as chosen in a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Reach {
    /// A serial port.
    #[default]
    Serial,
    /// A TCP port.
    Network,
    /// A file that grows.
    File,
}

impl Reach {
    /// All, in the order of the form.
    pub const ALL: [Self; 3] = [Self::Serial, Self::Network, Self::File];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Serial => word!("view-live-serial-port"),
            Self::Network => word!("view-live-network"),
            Self::File => word!("view-live-file-that-grows"),
        }
    }

    /// Makes the source of what was typed.
    ///
    /// # Errors
    /// One sentence when it cannot be meant so.
    pub fn source(self, place: &str, baud: &str) -> Result<Source, String> {
        let place = place.trim().trim_matches('"');
        if place.is_empty() {
            return Err(match self {
                Self::Serial => word!("view-live-choose-or-type-the-serial-port").to_owned(),
                Self::Network => word!("view-live-type-the-address-as-host-port").to_owned(),
                Self::File => word!("view-live-type-the-path-of-the-file").to_owned(),
            });
        }
        Ok(match self {
            Self::Serial => {
                let baud = baud.trim().parse().ok().filter(|rate| (50..=4_000_000).contains(rate));
                let baud = baud.ok_or(word!("view-live-the-speed-is-a-whole-number"))?;
                Source::Serial { path: PathBuf::from(place), baud }
            }
            Self::Network => {
                let port = place.rsplit_once(':').and_then(|(host, port)| {
                    port.parse::<u16>().ok().filter(|port| *port > 0 && !host.is_empty())
                });
                if port.is_none() {
                    return Err(word!("view-live-an-address-is-host-port-such").to_owned());
                }
                Source::Tcp(place.to_owned())
            }
            Self::File => Source::File { path: PathBuf::from(place), from_end: true },
        })
    }
}

/// A pull that came from the instrument and is over.
#[derive(Debug, Clone)]
pub struct Caught {
    /// Its samples; time zero is a few seconds before the pump.
    pub trace: Trace,
    /// Its events.
    pub events: Events,
}

impl Caught {
    /// Over its samples.
    #[must_use]
    pub fn new(trace: Trace) -> Self {
        let events = find_events(&trace);
        Self { trace, events }
    }

    /// Pump on to cup away, seconds; without a sign of the pump, first drip to the end.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        let whole = self.trace.duration_s();
        self.events.pull_time_s().filter(|t| *t > 0.0 && *t <= whole).unwrap_or(whole)
    }

    /// What the scale gained over the pull, grams.
    #[must_use]
    pub fn yield_g(&self) -> Option<f64> {
        cup_g(&self.trace, &self.events)
    }
}

/// A running capture and what it has caught.
#[derive(Debug)]
pub struct LiveSession {
    place: String,
    live: Live,
    recorder: Recorder,
    connected: bool,
    waiting: Option<String>,
    mapping: Option<Mapping>,
    readings: u64,
    unreadable: u64,
    fault: Option<String>,
    ended: bool,
    last_came: Instant,
    caught: VecDeque<Caught>,
    drawn: Option<(u64, Trace)>,
}

/// Pulls kept that nobody has attended to; beyond it the oldest goes.
const MOST_CAUGHT: usize = 12;
/// A connected instrument that says nothing for so long is said to be silent.
const SILENT: Duration = Duration::from_secs(3);

impl LiveSession {
    /// Starts listening.
    ///
    /// # Errors
    /// One sentence when no thread can be had.
    pub fn start(source: Source) -> Result<Self, String> {
        let place = match &source {
            Source::Tcp(address) => address.clone(),
            Source::File { path, .. } | Source::Serial { path, .. } => path.display().to_string(),
            Source::Stdin => word!("view-live-standard-input").to_owned(),
        };
        let began = Instant::now();
        let live = capture::start(source, None, move || began.elapsed().as_secs_f64())
            .map_err(|why| say!("view-live-no-thread-could-be-started", why = why))?;
        Ok(Self {
            place,
            live,
            recorder: Recorder::new(RecorderRules::default()),
            connected: false,
            waiting: None,
            mapping: None,
            readings: 0,
            unreadable: 0,
            fault: None,
            ended: false,
            last_came: began,
            caught: VecDeque::new(),
            drawn: None,
        })
    }

    /// Where it listens.
    #[must_use]
    pub fn place(&self) -> &str {
        &self.place
    }

    /// Takes in what has come. True when a pull has just ended.
    pub fn poll(&mut self) -> bool {
        let mut over = false;
        let events: Vec<Event> = self.live.drain().collect();
        for event in events {
            self.last_came = Instant::now();
            match event {
                Event::Connected => {
                    self.connected = true;
                    self.waiting = None;
                }
                Event::Waiting(why) => {
                    self.connected = false;
                    self.waiting = Some(why);
                }
                Event::Header(mapping) => self.mapping = Some(mapping),
                Event::Sample(sample) => {
                    self.readings += 1;
                    if self.recorder.push(sample) == RecorderState::Done {
                        over |= self.keep();
                        // The sample that ended a pull by starting the clock again belongs to what comes next.
                        self.recorder.push(sample);
                    }
                }
                Event::Unreadable(why) => {
                    self.unreadable += 1;
                    self.fault = Some(why);
                }
                Event::Ended => self.ended = true,
            }
        }
        over
    }

    fn keep(&mut self) -> bool {
        let Ok(trace) = self.recorder.take() else { return false };
        if self.caught.len() >= MOST_CAUGHT {
            self.caught.pop_front();
        }
        self.caught.push_back(Caught::new(trace));
        true
    }

    /// Starts a pull whatever the signal says.
    pub fn begin(&mut self) {
        self.recorder.start();
    }

    /// Ends the pull that runs. True when one was.
    pub fn end(&mut self) -> bool {
        self.recorder.stop();
        self.recorder.state() == RecorderState::Done && self.keep()
    }

    /// The oldest pull that waits to be kept.
    #[must_use]
    pub fn caught(&self) -> Option<&Caught> {
        self.caught.front()
    }

    /// How many wait.
    #[must_use]
    pub fn waiting_pulls(&self) -> usize {
        self.caught.len()
    }

    /// Takes it out, kept or thrown away.
    pub fn take_caught(&mut self) -> Option<Caught> {
        self.caught.pop_front()
    }

    /// Seconds since the pull began that runs, by the instrument's clock.
    #[must_use]
    pub fn running_s(&self) -> Option<f64> {
        match self.recorder.state() {
            RecorderState::Running { since_s } => {
                self.recorder.samples().next_back().map(|last| (last.time_s - since_s).max(0.0))
            }
            _ => None,
        }
    }

    /// Whether readings come.
    #[must_use]
    pub fn is_flowing(&self) -> bool {
        self.connected && self.last_came.elapsed() < SILENT
    }

    /// Readings taken in so far.
    #[must_use]
    pub fn readings(&self) -> u64 {
        self.readings
    }

    /// The last value of a channel.
    #[must_use]
    pub fn last(&self, channel: Channel) -> Option<f64> {
        self.recorder.samples().rev().take(20).find_map(|sample| sample.get(channel))
    }

    /// What has come of the pull that runs, and the time on it when it began; `None` while none runs.
    pub fn so_far(&mut self) -> Option<(&Trace, f64)> {
        let RecorderState::Running { since_s } = self.recorder.state() else { return None };
        let first = self.recorder.samples().next()?.time_s;
        if self.drawn.as_ref().is_none_or(|(at, _)| *at != self.readings) {
            self.drawn = self.recorder.so_far().ok().map(|trace| (self.readings, trace));
        }
        self.drawn.as_ref().map(|(_, trace)| (trace, since_s - first))
    }

    /// One sentence on the state of things.
    #[must_use]
    pub fn sentence(&self) -> String {
        if self.ended {
            return word!("view-live-the-instrument-has-ended").to_owned();
        }
        if !self.connected {
            return match &self.waiting {
                Some(why) => say!("view-live-no-connection-to-trying-again", place = self.place, why = why),
                None => say!("view-live-connecting-to", place = self.place),
            };
        }
        let wrong = match (self.unreadable, &self.fault) {
            (0, _) | (_, None) => String::new(),
            (n, Some(why)) => say!("view-live-lines-could-not-be-read-the", n = n, why = why),
        };
        if self.readings == 0 {
            return say!("view-live-connected-no-reading-yet", wrong = wrong);
        }
        if self.last_came.elapsed() >= SILENT {
            return say!(
                "view-live-connected-but-nothing-has-come-for",
                as_secs = self.last_came.elapsed().as_secs()
            );
        }
        let named: Vec<&str> = match &self.mapping {
            Some(mapping) => Channel::ALL
                .into_iter()
                .filter(|channel| {
                    mapping
                        .fields
                        .iter()
                        .any(|(_, m)| m.is_some_and(|(role, _)| role == Role::Channel(*channel)))
                })
                .map(super::strips::channel_name)
                .collect(),
            None => Vec::new(),
        };
        let what =
            if named.is_empty() { String::new() } else { format!(": {}", named.join(", ").to_lowercase()) };
        say!(
            "view-live-readings-the-pull-starts-by-itself",
            readings = self.readings,
            what = what,
            wrong = wrong
        )
    }
}

/// Serial ports that the system knows of.
#[must_use]
pub fn serial_ports() -> Vec<String> {
    let mut ports: Vec<String> = serial2::SerialPort::available_ports()
        .unwrap_or_default()
        .iter()
        .map(|path| path.display().to_string())
        .collect();
    ports.sort();
    ports.dedup();
    ports
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_checked_before_anything_is_opened() {
        assert_eq!(Reach::Network.source(" tower:4000 ", ""), Ok(Source::Tcp("tower:4000".into())));
        for bad in ["tower", "tower:", ":4000", "tower:0", "tower:70000", ""] {
            assert!(Reach::Network.source(bad, "").is_err(), "{bad}");
        }
        assert!(Reach::Serial.source("/dev/ttyUSB0", "fast").is_err());
        assert_eq!(
            Reach::Serial.source("/dev/ttyUSB0", "115200"),
            Ok(Source::Serial { path: "/dev/ttyUSB0".into(), baud: 115_200 })
        );
    }

    #[test]
    fn a_growing_file_gives_a_pull_with_time_and_yield() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("live.csv");
        std::fs::write(&path, "time_s,pressure_bar,cup_mass_g\n").unwrap();
        let mut session = LiveSession::start(Source::File { path: path.clone(), from_end: false }).unwrap();
        let mut text = String::from("time_s,pressure_bar,cup_mass_g\n");
        for i in 0..450 {
            let t = f64::from(i) * 0.1;
            let pressure = if (5.0..33.0).contains(&t) { 9.0 } else { 0.1 };
            text += &format!("{t:.1},{pressure},{:.2}\n", (t.min(33.0) - 11.0).max(0.0) * 1.6);
        }
        std::fs::write(&path, text).unwrap();
        let until = Instant::now() + Duration::from_secs(20);
        let mut over = false;
        while !over && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(20));
            over = session.poll();
        }
        let caught = session.caught().expect("a pull was caught");
        assert!((caught.time_s() - 28.0).abs() < 0.5, "{}", caught.time_s());
        assert!((caught.yield_g().unwrap() - 35.2).abs() < 0.5, "{:?}", caught.yield_g());
        assert_eq!(session.running_s(), None);
        assert!(session.take_caught().is_some() && session.caught().is_none());
    }
}
