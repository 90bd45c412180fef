//! Any pulls over each other: aligned, subtracted from a chosen one, with the middle of the group and what the model
//! expects; as strips for the window, as a figure for a file, and as numbers for a table.

use std::io::{self, Write};

use super::strips::{BandView, Emphasis, Laid, LineView, StripsView, strips_of};
use crate::domain::{Channel, Trace};
use crate::exchange::export;
use crate::exchange::picture::{Curve, Figure, Mark, Panel, Ribbon};
use crate::trace::{Alignment, Events, band, best_match_s, difference};
use crate::units::{Quantity, UnitPreferences, rounded};

/// What is put at zero.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Align {
    /// The pump going on.
    #[default]
    PumpOn,
    /// The first drip.
    FirstDrip,
    /// So many grams in the cup.
    CupMass(f64),
    /// Each where it matches the chosen pull best; that one's pump on.
    BestMatch,
    /// Each trace's own zero.
    AsRecorded,
}

impl Align {
    /// What zero on the time axis is, as words for its foot.
    #[must_use]
    pub fn zero_words(self) -> String {
        match self {
            Self::PumpOn => word!("view-compare-seconds-after-pump-on").to_owned(),
            Self::FirstDrip => word!("view-compare-seconds-after-first-drip").to_owned(),
            Self::CupMass(grams) => {
                say!("view-compare-seconds-after-g-in-the-cup", drink = rounded(Quantity::BeanMass, grams, 0))
            }
            Self::BestMatch => word!("view-compare-seconds-after-pump-on-of-the").to_owned(),
            Self::AsRecorded => word!("view-compare-seconds-as-recorded").to_owned(),
        }
    }
}

/// One pull to compare.
#[derive(Debug, Clone, Copy)]
pub struct Compared<'a> {
    /// "Quarry Road 3".
    pub name: &'a str,
    /// Written at the end of its line.
    pub label: &'a str,
    /// Its samples.
    pub trace: &'a Trace,
    /// Its events.
    pub events: &'a Events,
}

/// A band that the model expects for the chosen pull, on that pull's own time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ExpectedBand {
    /// Channel by channel: (seconds, low, high) in base units.
    pub channels: Vec<(Channel, Vec<[f64; 3]>)>,
}

/// How they are compared.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wish {
    /// What is put at zero.
    pub align: Align,
    /// Place of the chosen pull among those given.
    pub chosen: usize,
    /// Place of a picked one, drawn to stand out.
    pub picked: Option<usize>,
    /// Show each less the chosen one.
    pub difference: bool,
    /// Show median and middle half of all.
    pub group: bool,
    /// Part of time that is looked at, for the detail drawn.
    pub shown: Option<(f64, f64)>,
}

/// Pulls compared.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CompareView {
    /// The strips with their bands.
    pub strips: StripsView,
    /// Names of pulls left out because they do not show what is put at zero.
    pub left_out: Vec<String>,
    /// Words under the time axis.
    pub zero: String,
    /// The name of the chosen pull and of the picked one.
    pub names: (String, Option<String>),
}

/// Where each pull has its zero; `None` where it does not show it.
#[must_use]
pub fn zeros(pulls: &[Compared<'_>], wish: &Wish) -> Vec<Option<f64>> {
    let plain = |alignment: Alignment| pulls.iter().map(|p| alignment.zero_s(p.trace, p.events)).collect();
    match wish.align {
        Align::PumpOn => plain(Alignment::PumpOn),
        Align::FirstDrip => plain(Alignment::FirstDrip),
        Align::CupMass(grams) => plain(Alignment::CupMass(grams)),
        Align::AsRecorded => plain(Alignment::AsRecorded),
        Align::BestMatch => {
            let Some(chosen) = pulls.get(wish.chosen) else { return vec![None; pulls.len()] };
            let zero = Alignment::PumpOn.zero_s(chosen.trace, chosen.events).unwrap_or(0.0);
            pulls
                .iter()
                .enumerate()
                .map(|(at, pull)| {
                    if at == wish.chosen {
                        Some(zero)
                    } else {
                        best_match_s(chosen.trace, pull.trace).map(|s| zero + s)
                    }
                })
                .collect()
        }
    }
}

/// Lays pulls over each other.
#[must_use]
pub fn compare(
    pulls: &[Compared<'_>],
    wish: &Wish,
    expected: Option<&ExpectedBand>,
    units: &UnitPreferences,
) -> CompareView {
    let zeros = zeros(pulls, wish);
    compare_at(pulls, &zeros, wish, expected, units)
}

/// As [`compare`] with zeros that are known already ([`zeros`]).
#[must_use]
pub fn compare_at(
    pulls: &[Compared<'_>],
    zeros: &[Option<f64>],
    wish: &Wish,
    expected: Option<&ExpectedBand>,
    units: &UnitPreferences,
) -> CompareView {
    let mut view = CompareView {
        zero: wish.align.zero_words(),
        names: (
            pulls.get(wish.chosen).map(|p| p.name.to_owned()).unwrap_or_default(),
            wish.picked.and_then(|at| pulls.get(at)).map(|p| p.name.to_owned()),
        ),
        ..CompareView::default()
    };
    let reference = pulls.get(wish.chosen).zip(zeros.get(wish.chosen).copied().flatten());
    let mut used: Vec<(usize, &Compared<'_>, f64)> = Vec::new();
    for (at, pull) in pulls.iter().enumerate() {
        match zeros.get(at).copied().flatten() {
            Some(zero) => used.push((at, pull, zero)),
            None => view.left_out.push(pull.name.to_owned()),
        }
    }
    // Differences are traces of their own.
    let differences: Vec<Option<Trace>> = used
        .iter()
        .map(|(_, pull, zero)| {
            let (chosen, its_zero) = reference.filter(|_| wish.difference)?;
            difference(pull.trace, *zero, chosen.trace, its_zero)
        })
        .collect();
    let shown: Vec<(usize, &Compared<'_>, f64, &Trace)> = used
        .iter()
        .zip(&differences)
        .filter(|(_, own)| !wish.difference || own.is_some())
        .map(|((at, pull, zero), own)| (*at, *pull, *zero, own.as_ref().unwrap_or(pull.trace)))
        .collect();
    let laid: Vec<Laid<'_>> = shown
        .iter()
        .map(|(at, pull, zero, trace)| Laid {
            name: pull.name.to_owned(),
            end: pull.label.to_owned(),
            emphasis: if *at == wish.chosen {
                Emphasis::This
            } else if wish.picked == Some(*at) {
                Emphasis::Keeper
            } else {
                Emphasis::Rest
            },
            shift_s: *zero,
            trace,
        })
        .collect();
    view.strips = strips_of(&laid, units, wish.shown, wish.difference);
    let group: Vec<(&Trace, f64)> = shown.iter().map(|(_, _, zero, trace)| (*trace, *zero)).collect();
    let span = view.strips.span_s;
    for strip in &mut view.strips.strips {
        let quantity = strip.channel.quantity();
        let scale = |v: f64| {
            let shown = units.convert(quantity, v).0;
            if wish.difference { shown - units.convert(quantity, 0.0).0 } else { shown }
        };
        if wish.group && group.len() >= 2 {
            let middle = band(&group, strip.channel, (span.0, span.1, 0.1), (0.25, 0.75));
            if middle.time_s.len() > 1 {
                let edges = middle.time_s.iter().zip(middle.low.iter().zip(&middle.high));
                strip.bands.push(BandView {
                    name: word!("view-compare-middle-half").to_owned(),
                    edges: edges.map(|(t, (l, h))| [*t, scale(*l), scale(*h)]).collect(),
                });
                let run = middle.time_s.iter().zip(&middle.median).map(|(t, m)| [*t, scale(*m)]).collect();
                let line = LineView {
                    name: word!("view-compare-median").to_owned(),
                    end: word!("view-compare-median").to_owned(),
                    emphasis: Emphasis::Before,
                    runs: vec![run],
                };
                let place = strip.lines.iter().position(|l| l.emphasis > Emphasis::Before);
                strip.lines.insert(place.unwrap_or(strip.lines.len()), line);
            }
        }
    }
    if let (Some(expected), Some((_, zero)), false) = (expected, reference, wish.difference) {
        view.strips.lay_band(word!("view-compare-expected"), expected, zero, units);
    }
    view
}

/// The view as a figure for a file.
#[must_use]
pub fn figure(view: &CompareView, title: &str, shown: Option<(f64, f64)>) -> Figure {
    let mark = |emphasis: Emphasis| match emphasis {
        Emphasis::This => Mark::This,
        Emphasis::Before => Mark::Median,
        Emphasis::Keeper => Mark::Picked,
        Emphasis::Rest => Mark::Rest,
    };
    let mut legend = vec![(Mark::This, view.names.0.clone())];
    legend.extend(view.names.1.clone().map(|name| (Mark::Picked, name)));
    let lines = || view.strips.strips.iter().flat_map(|strip| &strip.lines);
    let others = view
        .strips
        .strips
        .iter()
        .map(|strip| strip.lines.iter().filter(|line| line.emphasis == Emphasis::Rest).count())
        .max()
        .unwrap_or(0);
    if lines().any(|line| line.emphasis == Emphasis::Before) {
        legend.push((Mark::Median, word!("view-compare-median").to_owned()));
    }
    match others {
        0 => {}
        1 => legend.push((Mark::Rest, word!("view-compare-1-other-pull").to_owned())),
        n => legend.push((Mark::Rest, say!("view-compare-other-pulls", n = n))),
    }
    Figure {
        title: title.to_owned(),
        time_axis: view.zero.clone(),
        span_s: shown.unwrap_or(view.strips.span_s),
        panels: view
            .strips
            .strips
            .iter()
            .map(|strip| Panel {
                name: strip.name.to_owned(),
                unit: strip.unit.to_owned(),
                range: strip.range,
                bands: strip
                    .bands
                    .iter()
                    .map(|band| Ribbon { name: band.name.clone(), edges: band.edges.clone() })
                    .collect(),
                curves: strip
                    .lines
                    .iter()
                    .map(|line| Curve {
                        label: line.end.clone(),
                        mark: mark(line.emphasis),
                        runs: line.runs.clone(),
                    })
                    .collect(),
            })
            .collect(),
        legend,
    }
}

/// Every sample of every pull as CSV, long: name of the pull, seconds after zero, and each quantity in the program's
/// own units.
///
/// # Errors
/// When the sink cannot be written.
pub fn write_numbers(pulls: &[Compared<'_>], wish: &Wish, to: &mut dyn Write) -> io::Result<()> {
    let zeros = zeros(pulls, wish);
    let shifted: Vec<(String, Trace)> = pulls
        .iter()
        .zip(zeros)
        .filter_map(|(pull, zero)| {
            let zero = zero?;
            let channels: Vec<(Channel, Vec<f64>)> = Channel::ALL
                .into_iter()
                .filter_map(|channel| Some((channel, pull.trace.get(channel)?.to_vec())))
                .collect();
            // To the microsecond, so that a shift leaves no tails of digits.
            let time = pull.trace.time_s().iter().map(|t| ((t - zero) * 1e6).round() / 1e6).collect();
            let name = if pull.label.is_empty() { pull.name } else { pull.label };
            Some((name.to_owned(), Trace::new(time, channels).ok()?))
        })
        .collect();
    export::write_traces_long(shifted.iter().map(|(name, trace)| (name.as_str(), trace)), to)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::find_events;

    fn pull(delay: f64, flow: f64) -> Trace {
        let time: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.1).collect();
        let bar =
            time.iter().map(|t| if (2.0 + delay..32.0 + delay).contains(t) { 9.0 } else { 0.0 }).collect();
        let mass = time.iter().map(|t| (t.min(32.0 + delay) - 9.0 - delay).max(0.0) * flow).collect();
        Trace::new(time, [(Channel::Pressure, bar), (Channel::CupMass, mass)]).unwrap()
    }

    fn all<'a>(traces: &'a [Trace], events: &'a [Events]) -> Vec<Compared<'a>> {
        const NAMES: [&str; 3] = ["one", "two", "three"];
        traces
            .iter()
            .zip(events)
            .zip(NAMES)
            .map(|((trace, events), name)| Compared { name, label: name, trace, events })
            .collect()
    }

    #[test]
    fn differences_are_zero_to_itself_and_known_to_another() {
        let traces = [pull(0.0, 1.5), pull(3.0, 2.0)];
        let events: Vec<Events> = traces.iter().map(find_events).collect();
        let pulls = all(&traces, &events);
        for align in [Align::PumpOn, Align::FirstDrip, Align::BestMatch] {
            let wish = Wish { align, difference: true, ..Wish::default() };
            let view = compare(&pulls, &wish, None, &UnitPreferences::default());
            let mass = view.strips.strips.iter().find(|s| s.channel == Channel::CupMass).unwrap();
            let own = mass.lines.iter().find(|line| line.name == "one").unwrap();
            assert!(own.runs.iter().flatten().all(|p| p[1].abs() < 1e-9), "{align:?}");
            if align == Align::BestMatch {
                continue;
            }
            // Ten seconds after the first drip 5 g apart.
            let other = mass.lines.iter().find(|line| line.name == "two").unwrap();
            let at = if align == Align::PumpOn { 17.0 } else { 10.0 };
            let near =
                other.runs.iter().flatten().min_by(|a, b| (a[0] - at).abs().total_cmp(&(b[0] - at).abs()));
            let near = near.unwrap();
            assert!((near[1] - 5.0).abs() < 0.4, "{align:?}: {near:?}");
        }
    }

    #[test]
    fn the_median_lies_in_the_band_and_a_pull_without_the_zero_is_named() {
        let traces = [pull(0.0, 1.5), pull(1.0, 1.7), pull(2.0, 2.0)];
        let events: Vec<Events> = traces.iter().map(find_events).collect();
        let pulls = all(&traces, &events);
        let wish = Wish { group: true, ..Wish::default() };
        let view = compare(&pulls, &wish, None, &UnitPreferences::default());
        let mass = view.strips.strips.iter().find(|s| s.channel == Channel::CupMass).unwrap();
        let median = mass.lines.iter().find(|line| line.name == "median").unwrap();
        for ([t, l, h], [at, m]) in mass.bands[0].edges.iter().zip(&median.runs[0]) {
            assert!(t == at && l <= m && m <= h);
        }
        let wish = Wish { align: Align::CupMass(38.0), ..Wish::default() };
        let view = compare(&pulls, &wish, None, &UnitPreferences::default());
        assert_eq!(view.left_out, ["one"]);
        let figure = figure(&view, "three pulls", None);
        assert_eq!(figure.panels.len(), 2);
        let mut numbers = Vec::new();
        write_numbers(&pulls, &wish, &mut numbers).unwrap();
        let text = String::from_utf8(numbers).unwrap();
        assert!(text.lines().count() == 801 && text.contains("two,"), "{}", text.lines().count());
    }
}
