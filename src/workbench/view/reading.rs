//! A pull read as an expert would, in words: events, what the model makes of them, measures, resistance along the cup,
//! and what cleaning would mend.

use super::expected::Reading;
use crate::trace::EventKind;
use crate::units::{Quantity, UnitPreferences};

/// One line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadLine {
    /// What it says.
    pub sentence: String,
    /// The number with its uncertainty and unit; empty where the sentence holds it.
    pub figure: String,
    /// Outside of what the model expects.
    pub outside: bool,
}

impl ReadLine {
    fn plain(sentence: String) -> Self {
        Self { sentence, figure: String::new(), outside: false }
    }
}

/// Lines under a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadPart {
    /// "Events".
    pub heading: &'static str,
    /// The lines; never empty.
    pub lines: Vec<ReadLine>,
}

/// Cup masses at which resistance is told, grams.
const AT_GRAMS: [f64; 7] = [5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0];

/// A number with its uncertainty: two figures of the uncertainty, and the value to the same place.
#[must_use]
pub fn with_sd(value: f64, sd: f64, unit: &str, units: &UnitPreferences) -> String {
    let digits = if sd > 0.0 { (1.0 - sd.log10().floor()).clamp(0.0, 4.0) as usize } else { 1 };
    let text = format!("{} ± {} {unit}", units.number(value, digits), units.number(sd, digits));
    text.trim_end().to_owned()
}

/// The words of a reading.
#[must_use]
pub fn words(reading: &Reading, units: &UnitPreferences) -> Vec<ReadPart> {
    let mut parts = Vec::new();
    let mut add = |heading, lines: Vec<ReadLine>| {
        if !lines.is_empty() {
            parts.push(ReadPart { heading, lines });
        }
    };
    let events = EventKind::ALL.into_iter().filter_map(|kind| {
        let event = reading.events.get(kind)?;
        let sure = if !event.is_seen() { word!("view-reading-a-guess") } else { "" };
        let when = with_sd(event.time_s, event.sd_s.max(0.1), "s", units);
        Some(ReadLine::plain(format!("{}: {when}{sure}", kind.name())))
    });
    add(word!("view-reading-events"), events.collect());
    let findings = reading.findings.iter().map(|finding| ReadLine {
        sentence: finding.sentence.clone(),
        figure: String::new(),
        outside: finding.outside,
    });
    let mut findings: Vec<ReadLine> = findings.collect();
    if findings.is_empty() {
        findings.push(ReadLine::plain(word!("view-reading-the-trace-shows-too-little-to").to_owned()));
    }
    add(word!("view-reading-against-the-model"), findings);
    let measures = reading.measures.list.iter().map(|measure| ReadLine {
        sentence: measure.sentence.clone(),
        figure: with_sd(measure.value, measure.sd, measure.unit, units),
        outside: false,
    });
    add(word!("view-reading-measures"), measures.collect());
    let along = AT_GRAMS.into_iter().filter_map(|grams| {
        let [t, value, sd] = reading.measures.resistance.as_ref()?.row_at_mass(grams)?;
        let drip = reading.events.first_drip?.time_s;
        Some(ReadLine::plain(say!(
            "view-reading-at-g-s-after-the-first",
            drink = units.value(Quantity::BeanMass, grams),
            number = units.number(t - drip, 1),
            with_sd = with_sd(value, sd, word!("view-reading-bar-s-ml"), units)
        )))
    });
    add(word!("view-reading-resistance-as-the-cup-fills"), along.collect());
    let cleaning = reading.cleaning.iter().map(|step| ReadLine::plain(step.words()));
    add(word!("view-reading-what-cleaning-does"), cleaning.collect());
    parts
}

#[cfg(test)]
mod tests {
    use super::super::expected::{About, read};
    use super::*;
    use crate::domain::{Channel, Trace};

    #[test]
    fn every_part_has_its_words_and_every_measure_an_uncertainty() {
        let time: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.1).collect();
        let ripple = |i: usize| (i as f64 * 12.9898).sin();
        let bar = time.iter().enumerate();
        let bar = bar.map(|(i, t)| if (2.0..32.0).contains(t) { 9.0 + 0.02 * ripple(i) } else { 0.0 });
        let mass = time.iter().enumerate();
        let mass = mass.map(|(i, t)| (t.min(32.0) - 9.0).max(0.0) * 1.7 + 0.02 * ripple(i + 7));
        let channels = [(Channel::Pressure, bar.collect()), (Channel::CupMass, mass.collect())];
        let trace = Trace::new(time.clone(), channels).unwrap();
        let about = About { dose_g: 18.0, basket_mm: 58.0, target_c: Some(93.0), pressure_bar: 9.0 };
        let reading = read(&trace, &about);
        let parts = words(&reading, &UnitPreferences::default());
        let headings: Vec<&str> = parts.iter().map(|part| part.heading).collect();
        assert_eq!(
            headings,
            ["Events", "Against the model", "Measures", "Resistance as the cup fills", "What cleaning does"]
        );
        for measure in &reading.measures.list {
            assert!(measure.sd > 0.0 && measure.sd.is_finite(), "{measure:?}");
            assert!(measure.sentence.ends_with(['.', ')']), "{measure:?}");
        }
        let along = &parts[3].lines;
        // 1.7 g/s at 9 bar: 9 · 0.963 / 1.7 = 5.1 bar s/ml (density of water at 93 °C, IAPWS SR6-08).
        assert!(
            along
                .iter()
                .any(|line| line.sentence.starts_with("at 20 g, 11.") && line.sentence.contains(": 5.1"))
        );
        let comma = UnitPreferences { decimal_comma: true, ..UnitPreferences::default() };
        assert_eq!(with_sd(5.123, 0.0456, "bar", &comma), "5,123 ± 0,046 bar");
        assert_eq!(with_sd(36.0, 12.3, "g", &comma), "36 ± 12 g");
        // Too little says so instead.
        let short = Trace::new(time[..5].to_vec(), [(Channel::CupMass, vec![0.0; 5])]).unwrap();
        let parts = words(&read(&short, &about), &UnitPreferences::default());
        assert!(parts[0].lines[0].sentence.contains("too little"), "{parts:?}");
    }
}
