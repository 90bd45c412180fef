//! Grinder, person, bean or machine: where the spread of the flow times comes from.

use std::collections::BTreeMap;

use crate::control::mixed::{Factor, fit};
use crate::control::verdict::in_ten;
use crate::units::figure;

/// One timed pull with whom and what it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sample {
    /// Log deviation from the keeper's time, dose, cup and warmth taken out.
    pub value: f64,
    pub who: String,
    pub station: String,
    pub coffee: String,
    pub day: i32,
}

/// What the spread may come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Who pulled.
    Person,
    /// Grinder and machine.
    Station,
    /// The beans.
    Coffee,
    /// A coffee's day.
    Day,
    /// One pull and the next.
    Pull,
}

impl Source {
    const FACTORS: [Self; 4] = [Self::Person, Self::Station, Self::Coffee, Self::Day];

    /// Name for files and programs: "person", "station", "coffee", "day", "single pull".
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Person => "person",
            Self::Station => "station",
            Self::Coffee => "coffee",
            Self::Day => "day",
            Self::Pull => "single pull",
        }
    }

    /// Name for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Person => word!("view-opening-causes-person"),
            Self::Station => word!("view-opening-causes-station"),
            Self::Coffee => word!("view-opening-causes-coffee"),
            Self::Day => word!("view-opening-causes-day"),
            Self::Pull => word!("view-opening-causes-single-pull"),
        }
    }

    fn of(self, sample: &Sample) -> String {
        match self {
            Self::Person | Self::Pull => sample.who.clone(),
            Self::Station => sample.station.clone(),
            Self::Coffee => sample.coffee.clone(),
            Self::Day => format!("{} {}", sample.coffee, sample.day),
        }
    }
}

/// Share of the spread that one cause brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// What it is.
    pub source: Source,
    /// Share of the variance, 0–1.
    pub share: f64,
    /// Standard deviation in percent of the time, with the range that holds it at 95 %; none for the single pull.
    pub sd_pct: f64,
    /// That range, percent.
    pub range_pct: Option<(f64, f64)>,
    /// "12 % of the spread; 0–3 % of the time".
    pub words: String,
}

/// Where the spread comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Causes {
    /// The answer in one sentence.
    pub headline: String,
    /// Causes, the largest first.
    pub parts: Vec<Cause>,
    /// People who differ from the mean of all, only where a difference can be told at all.
    pub people: Vec<String>,
    /// Pulls behind it.
    pub pulls: usize,
}

/// Letters in place of names: "A", "B" … by the order of first appearance.
pub(super) fn letter(n: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    if n < 26 { letter.to_string() } else { format!("{letter}{}", n / 26) }
}

/// Days that are looked at.
pub(super) const DAYS: i32 = 28;
/// Pulls needed before causes are told apart (common practice, no source).
const FEWEST: usize = 20;

/// What the causes are separated from: it can go to a thread of its own, for the separation takes a second or more.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spread {
    pub(super) samples: Vec<Sample>,
    /// What may be shown for each person's name.
    pub(super) names: BTreeMap<String, String>,
}

impl Spread {
    /// Separates the causes.
    #[must_use]
    pub fn causes(&self) -> Causes {
        causes(&self.samples, &|name| self.names.get(name).cloned().unwrap_or_else(|| name.to_owned()))
    }
}

/// Separates the causes. `shown` turns a person's name into what may be shown.
fn causes(samples: &[Sample], shown: &dyn Fn(&str) -> String) -> Causes {
    let pulls = samples.len();
    let short = |headline: String| Causes { headline, pulls, ..Causes::default() };
    if pulls < FEWEST {
        return short(say!(
            "view-opening-causes-not-enough-yet-timed-pulls-of",
            pulls = pulls,
            fewest = FEWEST
        ));
    }
    let mut factors = Vec::new();
    let mut levels: Vec<(Source, Vec<String>)> = Vec::new();
    for source in Source::FACTORS {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let mut order = Vec::new();
        let level: Vec<usize> = samples
            .iter()
            .map(|s| {
                let text = source.of(s);
                let next = known.len();
                *known.entry(text.clone()).or_insert_with(|| {
                    order.push(text);
                    next
                })
            })
            .collect();
        // Two levels to compare, and more pulls than levels.
        if (2..=140).contains(&order.len()) && order.len() * 2 <= pulls {
            factors.push(Factor { name: source.key(), level });
            levels.push((source, order));
        }
    }
    // Where every coffee has its own station the two say the same: keep the coffee.
    if let (Some(s), Some(c)) = (
        levels.iter().position(|l| l.0 == Source::Station),
        levels.iter().position(|l| l.0 == Source::Coffee),
    ) && factors.get(s).map(|f| &f.level) == factors.get(c).map(|f| &f.level)
    {
        factors.remove(s);
        levels.remove(s);
    }
    let y: Vec<f64> = samples.iter().map(|s| s.value).collect();
    let fitted = match fit(&y, &[], &factors) {
        Ok(fitted) => fitted,
        Err(fault) => return short(crate::units::capital(&fault.to_string())),
    };
    let pct = |sd: f64| (libm::exp(sd.clamp(0.0, 5.0)) - 1.0) * 100.0;
    let shares = fitted.shares();
    let mut parts: Vec<Cause> = Vec::new();
    // One factor each, in their order, as the fit keeps it.
    for ((f, share), (source, _)) in fitted.factors.iter().zip(&shares).zip(&levels) {
        let range = (pct(f.sd_range.0), pct(f.sd_range.1));
        parts.push(Cause {
            source: *source,
            share: *share,
            sd_pct: pct(f.sd()),
            range_pct: Some(range),
            words: say!(
                "view-opening-causes-of-the-spread-of-the-time",
                share = format!("{:.0}", share * 100.0),
                range = format!("{:.0}", range.0),
                range_2 = format!("{:.0}", range.1),
                name = source.name()
            ),
        });
    }
    let single = shares.last().copied().unwrap_or(1.0);
    let sd = pct(fitted.residual.max(0.0).sqrt());
    parts.push(Cause {
        source: Source::Pull,
        share: single,
        sd_pct: sd,
        range_pct: None,
        words: say!(
            "view-opening-causes-of-the-spread-of-the-time-2",
            single = format!("{:.0}", single * 100.0),
            sd = format!("{sd:.0}")
        ),
    });
    parts.sort_by(|a, b| b.share.total_cmp(&a.share));
    let most = parts.first().map_or(Source::Pull, |p| p.source);
    let person = levels.iter().position(|l| l.0 == Source::Person);
    let mut people = Vec::new();
    let mut about_people = String::new();
    if let Some(at) = person {
        let told = fitted.factors.get(at).is_some_and(|f| f.sd_range.0 > 0.0);
        about_people = if told {
            String::new()
        } else {
            word!("view-opening-causes-no-difference-between-people-can-be").to_owned()
        };
        let order = levels.get(at).map_or(&[][..], |(_, order)| order);
        if told && let Some(f) = fitted.factors.get(at) {
            let dof = (pulls as f64 - 2.0).max(3.0);
            for (level, (name, effect)) in order.iter().zip(&f.effect).enumerate() {
                let p = fitted.p_above_zero(at, level, dof).unwrap_or(0.5);
                let (way, p) = if *effect >= 0.0 {
                    (word!("view-opening-causes-slower"), p)
                } else {
                    (word!("view-opening-causes-faster"), 1.0 - p)
                };
                people.push(format!(
                    "{}: {} % {way} ({})",
                    shown(name),
                    figure(pct(effect.abs()), 1),
                    in_ten(p)
                ));
            }
        }
    }
    let what = match most {
        Source::Pull => word!("view-opening-causes-most-of-the-spread-comes-from"),
        Source::Day => word!("view-opening-causes-most-of-the-spread-comes-from-2"),
        Source::Coffee => word!("view-opening-causes-most-of-the-spread-comes-with"),
        Source::Station => word!("view-opening-causes-most-of-the-spread-comes-with-2"),
        Source::Person => word!("view-opening-causes-most-of-the-spread-comes-with-3"),
    };
    Causes { headline: format!("{what}{about_people}"), parts, people, pulls }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coffee_that_runs_slow_is_told_from_people_who_do_not_differ() {
        let mut draws = crate::maths::draw::Draws::new(4);
        let samples: Vec<Sample> = (0..60)
            .map(|i| Sample {
                value: if i % 2 == 0 { 0.0 } else { 0.2 } + 0.03 * draws.normal(),
                who: ["JO", "KV", "BT"][i / 2 % 3].to_owned(),
                station: "window".to_owned(),
                coffee: ["blend", "guest"][i % 2].to_owned(),
                day: i32::try_from(i / 6).unwrap(),
            })
            .collect();
        let found = causes(&samples, &|name| name.to_owned());
        assert_eq!(found.parts[0].source, Source::Coffee, "{found:?}");
        assert!(found.headline.contains("no difference between people"), "{found:?}");
        assert!(found.people.is_empty());
        assert!(causes(&samples[..10], &|n| n.to_owned()).headline.contains("Not enough yet"));
    }

    #[test]
    fn a_person_who_differs_is_told_and_can_be_hidden() {
        let mut draws = crate::maths::draw::Draws::new(5);
        let samples: Vec<Sample> = (0..120)
            .map(|i| Sample {
                value: [0.0, 0.15, -0.12, 0.03][i % 4] + 0.03 * draws.normal(),
                who: ["JO", "KV", "BT", "MI"][i % 4].to_owned(),
                station: "window".to_owned(),
                coffee: "blend".to_owned(),
                day: i32::try_from(i / 8).unwrap(),
            })
            .collect();
        let found = causes(&samples, &|name| if name == "KV" { letter(1) } else { letter(0) });
        assert_eq!(found.parts[0].source, Source::Person);
        assert!(found.people.iter().any(|l| l.starts_with("B: 1") && l.contains("slower")), "{found:?}");
        assert!(!found.people.iter().any(|l| l.contains("KV")));
    }
}
