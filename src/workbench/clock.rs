//! The live clock of a pull, driven by one key: pump on, first drip, cup away.

/// Where the clock stands. Times are seconds on any steady scale that the front supplies (for example, since the
/// window opened); only differences matter.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ShotClock {
    /// Not started.
    #[default]
    Idle,
    /// Pump on; no drip yet.
    Pumping {
        /// When the pump went on.
        pump_on_s: f64,
    },
    /// Dripping into the cup.
    Dripping {
        /// When the pump went on.
        pump_on_s: f64,
        /// When the first drip fell.
        first_drip_s: f64,
    },
    /// Cup away.
    Stopped {
        /// Pump on to cup away, seconds.
        time_s: f64,
        /// Pump on to first drip, seconds, if it was marked.
        first_drip_s: Option<f64>,
    },
}

impl ShotClock {
    /// A second press of the same key within this many seconds is taken for a slip of a wet finger and ignored.
    pub const BOUNCE_S: f64 = 0.3;

    /// The one key: pump on, then first drip, then cup away. A press after the end changes nothing.
    #[must_use]
    pub fn pressed(self, now_s: f64) -> Self {
        match self {
            Self::Idle => Self::Pumping { pump_on_s: now_s },
            Self::Pumping { pump_on_s } if now_s - pump_on_s >= Self::BOUNCE_S => {
                Self::Dripping { pump_on_s, first_drip_s: now_s }
            }
            Self::Dripping { pump_on_s, first_drip_s } if now_s - first_drip_s >= Self::BOUNCE_S => {
                Self::Stopped {
                    time_s: (now_s - pump_on_s).max(0.0),
                    first_drip_s: Some((first_drip_s - pump_on_s).max(0.0)),
                }
            }
            other => other,
        }
    }

    /// Cup away without a mark for the first drip (or after it).
    #[must_use]
    pub fn stopped(self, now_s: f64) -> Self {
        match self {
            Self::Pumping { pump_on_s } => {
                Self::Stopped { time_s: (now_s - pump_on_s).max(0.0), first_drip_s: None }
            }
            Self::Dripping { pump_on_s, first_drip_s } => Self::Stopped {
                time_s: (now_s - pump_on_s).max(0.0),
                first_drip_s: Some((first_drip_s - pump_on_s).max(0.0)),
            },
            other => other,
        }
    }

    /// Seconds to show: running time, or the final time.
    #[must_use]
    pub fn shown_s(self, now_s: f64) -> f64 {
        match self {
            Self::Idle => 0.0,
            Self::Pumping { pump_on_s } | Self::Dripping { pump_on_s, .. } => (now_s - pump_on_s).max(0.0),
            Self::Stopped { time_s, .. } => time_s,
        }
    }

    /// Whether it runs, that is, whether the window must draw on.
    #[must_use]
    pub fn is_running(self) -> bool {
        matches!(self, Self::Pumping { .. } | Self::Dripping { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_key_runs_the_whole_pull() {
        let clock = ShotClock::default().pressed(10.0);
        assert_eq!(clock.pressed(10.1), clock, "a bounce is ignored");
        let clock = clock.pressed(16.5);
        assert!(clock.is_running());
        assert_eq!(clock.shown_s(20.0), 10.0);
        let clock = clock.pressed(37.0);
        assert_eq!(clock, ShotClock::Stopped { time_s: 27.0, first_drip_s: Some(6.5) });
        assert_eq!(clock.pressed(40.0), clock);
    }

    #[test]
    fn the_drip_may_go_unmarked() {
        let clock = ShotClock::default().pressed(0.0).stopped(25.0);
        assert_eq!(clock, ShotClock::Stopped { time_s: 25.0, first_drip_s: None });
        assert_eq!(ShotClock::Idle.stopped(1.0), ShotClock::Idle);
    }
}
