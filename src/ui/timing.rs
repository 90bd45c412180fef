//! How long frames take, told on standard error when asked for by the environment variable `THIRDPULL_TIMING`: the
//! moment of the first frame after the start, and at the end the count, median and largest time of all frames.

use std::time::{Duration, Instant};

/// Collects the times.
#[derive(Debug)]
pub struct Timing {
    started: Instant,
    frames: Vec<Duration>,
}

impl Timing {
    /// Starts counting when the environment asks for it.
    #[must_use]
    pub fn from_environment() -> Option<Self> {
        std::env::var_os("THIRDPULL_TIMING").map(|_| Self { started: Instant::now(), frames: Vec::new() })
    }

    /// Notes a frame that began at `began` and is laid out now.
    pub fn frame(&mut self, began: Instant) {
        if self.frames.is_empty() {
            eprintln!("first frame laid out after {} ms", self.started.elapsed().as_millis());
        }
        self.frames.push(began.elapsed());
    }

    /// Tells what was counted.
    pub fn tell(&mut self) {
        self.frames.sort();
        let at = |share: usize| {
            self.frames.get((self.frames.len() * share / 100).min(self.frames.len().saturating_sub(1)))
        };
        let ms = |time: Option<&Duration>| time.map_or(0.0, |time| time.as_secs_f64() * 1000.0);
        eprintln!(
            "{} frames: median {:.1} ms, 95 in 100 below {:.1} ms, largest {:.1} ms (layout, without painting)",
            self.frames.len(),
            ms(at(50)),
            ms(at(95)),
            ms(self.frames.last())
        );
    }
}
