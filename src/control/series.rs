//! A series of readings of one coffee on one station, and the phases that deliberate changes cut it into.

/// Scale on which a quantity is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartScale {
    /// Natural logarithm: flow time, strength, yield (percent changes count alike anywhere).
    Log,
    /// As it is.
    Plain,
}

impl ChartScale {
    /// The value on the scale; `None` where it has none (a time of zero, a number that is not finite).
    #[must_use]
    pub fn of(self, raw: f64) -> Option<f64> {
        match self {
            Self::Log => (raw > 0.0 && raw.is_finite()).then(|| libm::log(raw)),
            Self::Plain => raw.is_finite().then_some(raw),
        }
    }

    /// Back to the raw unit.
    #[must_use]
    pub fn back(self, value: f64) -> f64 {
        match self {
            Self::Log => libm::exp(value),
            Self::Plain => value,
        }
    }
}

/// One pull's value on a chart, with what must be known to read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Day number (any origin, one a calendar day).
    pub day: i32,
    /// Seconds since the start of that day (0–86 400; later for a night bar).
    pub at_s: f64,
    /// Value on the chart's scale, known causes removed where that was possible.
    pub value: f64,
    /// Grinder setting, in steps towards coarser from any origin.
    pub click: i64,
    /// Bag, by number.
    pub bag: u32,
    /// Days since the bag was roasted, where known.
    pub bag_age_days: Option<f64>,
    /// Person, by number.
    pub who: u32,
    /// Standard deviation of what was taken out of the value, where that is not known for certain, chart's scale.
    pub doubt: f64,
    /// Whether the pull was seen to be badly prepared (choked, spurting): shown, but not learnt from.
    pub suspect: bool,
}

impl Reading {
    /// A reading with nothing but day, time and value.
    #[must_use]
    pub fn plain(day: i32, at_s: f64, value: f64) -> Self {
        Self { day, at_s, value, click: 0, bag: 0, bag_age_days: None, who: 0, doubt: 0.0, suspect: false }
    }

    /// How many times wider than an ordinary pull, of noise `variance`, it scatters: three times where it is suspect, and
    /// wider by what was taken out of it without certainty.
    #[must_use]
    pub fn noise_scale(&self, variance: f64) -> f64 {
        let own: f64 = if self.suspect { 3.0 } else { 1.0 };
        let wide = (own * own + self.doubt * self.doubt / variance).sqrt();
        if wide.is_finite() { wide } else { own }
    }
}

/// Why a phase begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseStart {
    /// First reading.
    First,
    /// The grinder was moved; steps towards coarser.
    Moved(i64),
    /// Another bag.
    Bag,
}

/// A stretch without a deliberate change.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Indices of its readings.
    pub range: std::ops::Range<usize>,
    /// Why it begins.
    pub start: PhaseStart,
}

/// Cuts a series into phases: a new one at every grinder move and every new bag (a move with a new bag counts as
/// the bag).
#[must_use]
pub fn phases(series: &[Reading]) -> Vec<Phase> {
    let mut out: Vec<Phase> = Vec::new();
    for (i, now) in series.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|j| series.get(j));
        let start = match before {
            None => Some(PhaseStart::First),
            Some(b) if b.bag != now.bag => Some(PhaseStart::Bag),
            Some(b) if b.click != now.click => Some(PhaseStart::Moved(now.click.saturating_sub(b.click))),
            Some(_) => None,
        };
        match (start, out.last_mut()) {
            (Some(start), _) => out.push(Phase { range: i..i + 1, start }),
            (None, Some(last)) => last.range.end = i + 1,
            (None, None) => {}
        }
    }
    out
}

/// The series with ageing and known grinder moves taken out, so that a chart over it shows only what was not
/// expected: `click` is the change for one click coarser, `ageing` the change a day. Everything is referred to the
/// setting and the day of the first reading, and each new bag starts a new age.
#[must_use]
pub fn expected_removed(series: &[Reading], click: f64, ageing: f64) -> Vec<f64> {
    let Some(first) = series.first() else { return Vec::new() };
    let mut origin = first.day;
    let mut bag = first.bag;
    series
        .iter()
        .map(|r| {
            if r.bag != bag {
                (bag, origin) = (r.bag, r.day);
            }
            let days = f64::from(r.day.saturating_sub(origin));
            r.value - r.click.saturating_sub(first.click) as f64 * click - days * ageing
        })
        .collect()
}
