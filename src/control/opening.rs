//! The opening list: the steps of a morning in order, made from the bar's own coffees, as data that a new hire can
//! follow and that a page or a print can show.

/// One coffee to open.
#[derive(Debug, Clone, PartialEq)]
pub struct CoffeeToOpen {
    /// Name on the bag.
    pub coffee: String,
    /// Station or grinder on which it is pulled.
    pub station: String,
    /// Coffee to grind through and throw away first, grams.
    pub purge_g: f64,
    /// Clicks to start off yesterday's setting, towards coarser, with the sentence that says why.
    pub start: Option<(i64, String)>,
    /// Dose, yield, and time with its window, from the keeper.
    pub dose_g: f64,
    /// Drink in the cup, grams.
    pub yield_g: f64,
    /// Target time and half width of the window, seconds.
    pub time_s: Option<(f64, f64)>,
    /// Brew temperature to check, °C.
    pub temperature_c: Option<f64>,
    /// Days since roast today, where known.
    pub bag_age_days: Option<f64>,
}

/// What a step asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum StepKind {
    /// Machine warm, pressures normal.
    WarmUp,
    /// Scale against a known mass.
    ScaleCheck,
    /// Basket clean and dry, shower screen flushed.
    Clean,
    /// Temperature at the group.
    TemperatureCheck,
    /// Move the grinder to the day's start.
    Grinder,
    /// Grind through.
    Purge,
    /// Pull and throw away.
    FirstPull,
    /// Pull, weigh, time: the one that is judged.
    JudgedPull,
    /// Taste.
    Taste,
    /// Write down and sign.
    Record,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Kind.
    pub kind: StepKind,
    /// The coffee it belongs to, by index; `None` for the bar as a whole.
    pub coffee: Option<usize>,
    /// What to do, one sentence.
    pub words: String,
    /// A caution shown beside it, where a hand is about to act.
    pub caution: Option<&'static str>,
    /// Coffee it costs, grams.
    pub coffee_g: f64,
    /// Time to allow, seconds (common practice, no source).
    pub seconds: f64,
}

const HOT: &str = "Steam, water and the group are hot: hands and face clear, and never unlock a basket holder under pressure.";
const BURRS: &str = "Unplug the grinder before opening it or reaching into the chute.";

/// The list for a bar. Steps for the whole bar come first, then coffee by coffee (common practice, no source).
#[must_use]
pub fn opening_list(coffees: &[CoffeeToOpen], scale_check_mass_g: Option<f64>) -> Vec<Step> {
    let step = |kind, coffee, words: String, caution, coffee_g: f64, seconds| Step {
        kind,
        coffee,
        words,
        caution,
        coffee_g: if coffee_g.is_finite() { coffee_g.max(0.0) } else { 0.0 },
        seconds,
    };
    let mut out = vec![
        step(
            StepKind::WarmUp,
            None,
            "Check that the machine has been on for 30 minutes or more and shows its usual pressures"
                .to_owned(),
            Some(HOT),
            0.0,
            20.0,
        ),
        step(
            StepKind::ScaleCheck,
            None,
            match scale_check_mass_g.filter(|m| m.is_finite() && *m > 0.0) {
                Some(mass) => {
                    format!("Put the {mass:.0} g mass on the scale: it must read {mass:.0} g within 0.1 g")
                }
                None => "Put a known mass on the scale and compare".to_owned(),
            },
            None,
            0.0,
            15.0,
        ),
        step(
            StepKind::Clean,
            None,
            "Flush the group for 3 seconds; basket clean and dry".to_owned(),
            Some(HOT),
            0.0,
            20.0,
        ),
    ];
    for (i, c) in coffees.iter().enumerate() {
        let at = Some(i);
        if let Some(t) = c.temperature_c {
            let words = format!("{}: the brew temperature should show {t:.1} °C, within 1 °C", c.station);
            out.push(step(StepKind::TemperatureCheck, at, words, None, 0.0, 5.0));
        }
        if let Some((clicks, why)) = c.start.as_ref().filter(|(n, _)| *n != 0) {
            let way = if *clicks > 0 { "coarser" } else { "finer" };
            let marks = if clicks.abs() == 1 { "click" } else { "clicks" };
            let words =
                format!("{}: move the grinder {} {marks} {way} ({why})", c.coffee, clicks.unsigned_abs());
            out.push(step(StepKind::Grinder, at, words, Some(BURRS), 0.0, 10.0));
        }
        if c.purge_g > 0.0 {
            let words = format!("{}: grind {:.0} g through and throw it away", c.coffee, c.purge_g);
            out.push(step(StepKind::Purge, at, words, None, c.purge_g, 10.0));
        }
        let recipe = match c.time_s {
            Some((t, half)) => format!("{:.1} g in, {:.0} g out, {t:.0} ± {half:.0} s", c.dose_g, c.yield_g),
            None => format!("{:.1} g in, {:.0} g out", c.dose_g, c.yield_g),
        };
        let first = format!("{}: pull one to warm the path and pour it away ({recipe})", c.coffee);
        out.push(step(StepKind::FirstPull, at, first, Some(HOT), c.dose_g, 50.0));
        let judged = format!("{}: pull, weigh and time; enter dose, cup and time ({recipe})", c.coffee);
        out.push(step(StepKind::JudgedPull, at, judged, Some(HOT), c.dose_g, 60.0));
        out.push(step(
            StepKind::Taste,
            at,
            format!("{}: let it cool a little, stir, taste", c.coffee),
            None,
            0.0,
            20.0,
        ));
        let record = format!("{}: do what the verdict says, then sign", c.coffee);
        out.push(step(StepKind::Record, at, record, None, 0.0, 10.0));
    }
    out
}

/// What a list costs: coffee in grams and time in seconds.
#[must_use]
pub fn cost(list: &[Step]) -> (f64, f64) {
    (list.iter().map(|s| s.coffee_g).sum(), list.iter().map(|s| s.seconds).sum())
}
