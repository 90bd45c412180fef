//! The opening list: the steps of a morning in order, made from the bar's own coffees, as data that a new hire can
//! follow and that a page or a print can show.

use crate::units::{Quantity, UnitPreferences, degrees, in_use, rounded};

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
    let hot = Some(word!("control-opening-hot"));
    let mut out = vec![
        step(StepKind::WarmUp, None, word!("control-opening-warm-up").to_owned(), hot, 0.0, 20.0),
        step(
            StepKind::ScaleCheck,
            None,
            match scale_check_mass_g.filter(|m| m.is_finite() && *m > 0.0) {
                Some(mass) => say!(
                    "control-opening-scale-with",
                    mass = rounded(Quantity::Yield, mass, 0),
                    least = rounded(Quantity::Yield, 0.1, 1)
                ),
                None => word!("control-opening-scale").to_owned(),
            },
            None,
            0.0,
            15.0,
        ),
        step(StepKind::Clean, None, word!("control-opening-clean").to_owned(), hot, 0.0, 20.0),
    ];
    for (i, c) in coffees.iter().enumerate() {
        let at = Some(i);
        if let Some(t) = c.temperature_c {
            let words = say!(
                "control-opening-temperature",
                station = c.station,
                temperature = rounded(Quantity::Temperature, t, 1),
                within = degrees(1.0, 0)
            );
            out.push(step(StepKind::TemperatureCheck, at, words, None, 0.0, 5.0));
        }
        if let Some((clicks, why)) = c.start.as_ref().filter(|(n, _)| *n != 0) {
            let n = clicks.unsigned_abs();
            let words = if *clicks > 0 {
                say!("control-opening-coarser", coffee = c.coffee, n = n, why = why)
            } else {
                say!("control-opening-finer", coffee = c.coffee, n = n, why = why)
            };
            let burrs = Some(word!("control-opening-burrs"));
            out.push(step(StepKind::Grinder, at, words, burrs, 0.0, 10.0));
        }
        if c.purge_g > 0.0 {
            let words = say!(
                "control-opening-purge",
                coffee = c.coffee,
                purge = rounded(Quantity::BeanMass, c.purge_g, 0)
            );
            out.push(step(StepKind::Purge, at, words, None, c.purge_g, 10.0));
        }
        let (first, judged) = pull_words(c, None);
        out.push(step(StepKind::FirstPull, at, first, hot, c.dose_g, 50.0));
        out.push(step(StepKind::JudgedPull, at, judged, hot, c.dose_g, 60.0));
        out.push(step(
            StepKind::Taste,
            at,
            say!("control-opening-taste", coffee = c.coffee),
            None,
            0.0,
            20.0,
        ));
        let record = say!("control-opening-record", coffee = c.coffee);
        out.push(step(StepKind::Record, at, record, None, 0.0, 10.0));
    }
    out
}

/// The words of a coffee's first pull and of the one that is judged. `window` is its window in words where more is known
/// of it than a half width.
#[must_use]
pub fn pull_words(c: &CoffeeToOpen, window: Option<&str>) -> (String, String) {
    let dose = rounded(Quantity::Dose, c.dose_g, 1);
    let drink = rounded(Quantity::Yield, c.yield_g, 0);
    let own = || c.time_s.map(|(t, half)| window_words(t, t - half, t + half, &in_use()));
    let recipe = match window.map(str::to_owned).or_else(own) {
        Some(window) => {
            say!("control-opening-timed-recipe", dose = dose, drink = drink, window = window)
        }
        None => say!("control-opening-recipe", dose = dose, drink = drink),
    };
    (
        say!("control-opening-first-pull", coffee = c.coffee, recipe = recipe),
        say!("control-opening-judged-pull", coffee = c.coffee, recipe = recipe),
    )
}

/// "aim 27 s, serve 25–31 s"; tenths where a whole second would say something else.
#[must_use]
pub fn window_words(target_s: f64, low_s: f64, high_s: f64, units: &UnitPreferences) -> String {
    say!(
        "control-opening-window",
        target = units.number(target_s, decimals(&[target_s])),
        range = range(low_s, high_s, units)
    )
}

/// "serve 25–31 s", where there is no room for more.
#[must_use]
pub fn serve_words(low_s: f64, high_s: f64, units: &UnitPreferences) -> String {
    say!("control-opening-serve", range = range(low_s, high_s, units))
}

fn range(low_s: f64, high_s: f64, units: &UnitPreferences) -> String {
    units.span(Quantity::Time, low_s, high_s, decimals(&[low_s, high_s]))
}

/// None where whole seconds say the same.
fn decimals(list: &[f64]) -> usize {
    usize::from(list.iter().any(|v| (v - v.round()).abs() > 0.05))
}

/// What a list costs: coffee in grams and time in seconds.
#[must_use]
pub fn cost(list: &[Step]) -> (f64, f64) {
    (list.iter().map(|s| s.coffee_g).sum(), list.iter().map(|s| s.seconds).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a second is said where there is one: 27 s ± 2.5 s is 24.5 to 29.5 s, not 25 to 29 s.
    #[test]
    fn the_list_says_the_window_that_counts() {
        let mut coffee = CoffeeToOpen {
            coffee: "Harbour blend".to_owned(),
            station: "Window bar".to_owned(),
            purge_g: 0.0,
            start: None,
            dose_g: 18.0,
            yield_g: 36.0,
            time_s: Some((27.0, 2.5)),
            temperature_c: None,
            bag_age_days: None,
        };
        let said = |coffee: &CoffeeToOpen| {
            let pulls = |s: &Step| matches!(s.kind, StepKind::FirstPull | StepKind::JudgedPull);
            opening_list(std::slice::from_ref(coffee), None)
                .into_iter()
                .filter(pulls)
                .map(|s| s.words)
                .collect::<Vec<_>>()
        };
        for words in said(&coffee) {
            assert!(words.contains("aim 27 s, serve 24.5–29.5 s"), "{words}");
        }
        coffee.time_s = Some((27.0, 2.0));
        for words in said(&coffee) {
            assert!(words.contains("aim 27 s, serve 25–29 s"), "{words}");
        }
    }
}
