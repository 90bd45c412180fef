//! Cleaning in named steps, against signals that are known.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use thirdpull::domain::{Channel, Trace};
use thirdpull::trace::{Step, USUAL_STEPS, clean, savitzky_golay, slope_at_points};
use thirdpull::units::Unit;

use crate::trace_truth::{Rig, made};

fn times(n: u32, step: f64) -> Vec<f64> {
    (0..n).map(|i| f64::from(i) * step).collect()
}

fn mass(trace: &Trace) -> &[f64] {
    trace.get(Channel::CupMass).unwrap()
}

/// Evenly spread over 0…1 and white: the i-th draw of a fixed stream (a mixing function after Steele, Lea and Flood,
/// OOPSLA 2014).
fn noise(i: usize) -> f64 {
    let mut z = (i as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

#[test]
fn a_known_lag_and_a_known_smoothing_are_undone() {
    let time = times(600, 0.05);
    let truth = |t: f64| (t - 5.0).max(0.0) * 1.5 + 0.2 * (t * 0.8).sin();
    let late: Vec<f64> = time.iter().map(|t| truth(t - 0.4)).collect();
    let trace = Trace::new(time.clone(), [(Channel::CupMass, late)]).unwrap();
    let (mended, report) = clean(&trace, &[Step::ScaleLag(0.4)]);
    for (t, m) in time.iter().zip(mass(&mended)).filter(|(t, m)| **t < 29.0 && m.is_finite()) {
        assert!((m - truth(*t)).abs() < 0.01, "{t}: {m}");
    }
    assert!(report[0].sentence.contains("0.40 s earlier"));
    // A first-order lag, stepped exactly.
    let (tau, mut y) = (0.5, truth(0.0));
    let keep = (-0.05f64 / tau).exp();
    let smooth: Vec<f64> = time
        .iter()
        .map(|t| {
            y = truth(*t) + (y - truth(*t)) * keep;
            y
        })
        .collect();
    let error = |values: &[f64]| {
        let parts = time.iter().zip(values).filter(|(t, _)| **t > 6.0 && **t < 29.0);
        parts.map(|(t, m)| (m - truth(*t)).abs()).fold(0.0, f64::max)
    };
    let trace = Trace::new(time.clone(), [(Channel::CupMass, smooth.clone())]).unwrap();
    let (mended, _) = clean(&trace, &[Step::ScaleSmoothing(tau)]);
    assert!(
        error(&smooth) > 0.5 && error(mass(&mended)) < 0.06,
        "{} {}",
        error(&smooth),
        error(mass(&mended))
    );
}

#[test]
fn a_coarse_display_is_joined_to_within_its_rounding() {
    let time = times(400, 0.05);
    let truth: Vec<f64> = time.iter().map(|t| 0.3 * t + 0.02 * t * t).collect();
    let shown: Vec<f64> = truth.iter().map(|m| m.round()).collect();
    let rms = |a: &[f64]| (a.iter().zip(&truth).map(|(x, y)| (x - y).powi(2)).sum::<f64>() / 400.0).sqrt();
    let trace = Trace::new(time, [(Channel::CupMass, shown.clone())]).unwrap();
    let (mended, report) = clean(&trace, &[Step::Quantisation]);
    assert!(report[0].changed > 200, "{report:?}");
    assert!(rms(mass(&mended)) < 0.4 * rms(&shown), "{} of {}", rms(mass(&mended)), rms(&shown));
    for (m, s) in mass(&mended).iter().zip(&shown) {
        assert!((m - s).abs() <= 0.5 + 1e-12);
    }
    // A fine display is left alone.
    let fine: Vec<f64> = truth.iter().enumerate().map(|(i, m)| m + 0.01 * noise(i)).collect();
    let trace = Trace::new(times(400, 0.05), [(Channel::CupMass, fine)]).unwrap();
    assert_eq!(clean(&trace, &[Step::Quantisation]).1[0].changed, 0);
}

#[test]
fn tare_and_its_drift_come_off_and_drops_spikes_and_repeats_are_counted() {
    let time: Vec<f64> = times(700, 0.05).into_iter().filter(|t| !(10.0..10.19).contains(t)).collect();
    let mut shown: Vec<f64> = time
        .iter()
        .enumerate()
        .map(|(i, t)| (t - 12.0).max(0.0) * 1.6 + 0.7 + 0.01 * t + 0.01 * noise(i))
        .collect();
    shown[300] += 30.0;
    let trace = Trace::new(time.clone(), [(Channel::CupMass, shown)]).unwrap();
    let (mended, report) = clean(&trace, &[Step::Dropped, Step::Spikes, Step::TareDrift]);
    assert_eq!((report[0].changed, report[1].changed), (4, 1), "{report:?}");
    assert!(report[2].sentence.contains("drifted by 0.6"), "{}", report[2].sentence);
    for (t, m) in time.iter().zip(mass(&mended)) {
        assert!((m - (t - 12.0).max(0.0) * 1.6).abs() < 0.1, "{t}: {m}");
    }
    // A scale at 10 Hz logged at 50 Hz.
    let held: Vec<f64> = times(500, 0.02).iter().map(|t| (t * 10.0).floor() * 0.17).collect();
    let trace = Trace::new(times(500, 0.02), [(Channel::CupMass, held)]).unwrap();
    let (mended, report) = clean(&trace, &[Step::Repeated]);
    assert!(report[0].changed > 350 && report[0].changed < 420, "{report:?}");
    assert!(mass(&mended).iter().filter(|m| m.is_finite()).count() >= 80);
}

/// Flow from mass and back: the stated noise gain, and a differentiator that agrees with the Savitzky–Golay filter of the
/// same window and degree 1, whose weights the reference file fixes (see `trace_filters`).
#[test]
fn flow_and_mass_come_from_each_other() {
    let time = times(600, 0.1);
    let grams: Vec<f64> = time.iter().enumerate().map(|(i, t)| 1.5 * t + 0.1 * (noise(i) - 0.5)).collect();
    let trace = Trace::new(time.clone(), [(Channel::CupMass, grams.clone())]).unwrap();
    let (with_flow, report) = clean(&trace, &[Step::FlowFromMass]);
    let flow = with_flow.get(Channel::Flow).unwrap();
    let reference = savitzky_golay(&grams, 15, 1, 1, 0.1);
    for at in 10..590 {
        assert!((flow[at] - reference[at]).abs() < 1e-9, "{at}: {} against {}", flow[at], reference[at]);
    }
    let sd = (flow[10..590].iter().map(|q| (q - 1.5).powi(2)).sum::<f64>() / 580.0).sqrt();
    let sigma = 0.1 / 12f64.sqrt();
    assert!(report[0].sentence.contains("1 g in mass becomes 0.60 g/s"), "{}", report[0].sentence);
    assert!((sd / sigma - 0.6).abs() < 0.1, "measured gain {}", sd / sigma);
    let only_flow = Trace::new(time.clone(), [(Channel::Flow, flow.to_vec())]).unwrap();
    let (back, _) = clean(&only_flow, &[Step::MassFromFlow]);
    assert!((mass(&back).last().unwrap() - 1.5 * 59.9).abs() < 0.5);
    let slope = slope_at_points(&time, mass(&back), 0.75);
    assert!((slope[300] - 1.5).abs() < 0.1);
}

/// Whatever comes in, the usual steps neither panic nor make a channel worse than missing.
#[test]
fn the_usual_steps_bear_simulated_pulls_and_nonsense() {
    for rig in [Rig::All, Rig::PressureOnly, Rig::MassOnly] {
        let (trace, truth) = made(31, 2, rig, false);
        let (mended, report) = clean(&trace, &USUAL_STEPS);
        assert_eq!(report.len(), USUAL_STEPS.len());
        assert!(report.iter().all(|one| one.sentence.ends_with('.') && !one.sentence.contains("NaN")));
        if let Some(cup) = mended.get(Channel::CupMass) {
            let (early, late) = (cup[2], cup.iter().copied().rfind(|v| v.is_finite()).unwrap());
            assert!(early.abs() < 0.3 && (late - truth.pull.yield_g).abs() < 2.0, "{early} {late}");
        }
    }
    let until = |last_s| {
        Trace::new(
            vec![0.0, 1e-9, 5.0, last_s],
            [(Channel::CupMass, vec![f64::NAN, 1e12, -1e12, 0.0]), (Channel::Flow, vec![f64::NAN; 4])],
        )
    };
    assert!(until(1e9).is_err(), "no pull takes thirty years");
    let strange = until(Trace::FARTHEST_S).unwrap();
    let all = [USUAL_STEPS.as_slice(), &[Step::ScaleLag(0.2), Step::ScaleSmoothing(0.3), Step::MassFromFlow]]
        .concat();
    let (_, report) = clean(&strange, &all);
    assert_eq!(report.len(), all.len());
}

/// Unit conversions by their definitions: 1 psi = 6894.757293168 Pa, 1 oz (avoirdupois) = 28.349523125 g (BIPM SI Brochure
/// 9th ed. and NIST SP 811, appendix B), °F by the ITS-90 definition of Celsius.
#[test]
fn units_convert_by_definition() {
    for (unit, value, want) in [
        (Unit::Psi, 130.0, 8.963_184_481),
        (Unit::Kilopascal, 900.0, 9.0),
        (Unit::Megapascal, 0.9, 9.0),
        (Unit::Ounce, 1.25, 35.436_903_906),
        (Unit::Fahrenheit, 200.0, 93.333_333_333),
    ] {
        assert!((unit.to_base(value) - want).abs() < 1e-8, "{unit:?}: {}", unit.to_base(value));
    }
}
/// Rounding is noise too: evenly spread over a step, so its standard deviation is the step over √12. The gain of a slope
/// over 1.5 s at 10 Hz is 0.60.
#[test]
fn the_noise_of_a_coarse_display_is_its_rounding() {
    let time = times(400, 0.1);
    let shown: Vec<f64> = time.iter().map(|t| ((t - 5.0).max(0.0) * 1.3).round()).collect();
    let trace = Trace::new(time, [(Channel::CupMass, shown)]).unwrap();
    let (_, report) = clean(&trace, &[Step::FlowFromMass]);
    assert!(report[0].sentence.contains("here 0.172 g/s"), "{}", report[0].sentence);
}
/// Pulls of a known flow, 1.5 g/s from 8 s to 28 s at 9 bar, as scales show them that are slow or round coarsely: the usual
/// steps keep flow, resistance and mass.
#[test]
fn the_usual_steps_keep_the_flow_of_slow_and_of_coarse_scales() {
    use thirdpull::trace::{Instruments, MeasureKind, Setup, find_events, measure};
    let truth = |t: f64| (t.min(28.0) - 8.0).max(0.0) * 1.5;
    // Rate of the log, of the scale's own readings (Hz), step of the display (g), noise (g).
    for (log_hz, scale_hz, step_g, noise_g) in [
        (10.0, 5.0, 0.1, 0.0),
        (10.0, 5.0, 0.01, 0.03),
        (100.0, 4.0, 0.1, 0.0),
        (100.0, 4.0, 0.01, 0.03),
        (10.0, 10.0, 0.5, 0.0),
        (10.0, 10.0, 0.5, 0.05),
        (10.0, 10.0, 1.0, 0.0),
        (100.0, 10.0, 1.0, 0.05),
    ] {
        let case = format!("{log_hz} Hz, {scale_hz} Hz, {step_g} g, ±{noise_g} g");
        let time: Vec<f64> = (0..(34.0 * log_hz) as u32).map(|i| f64::from(i) / log_hz).collect();
        let shown: Vec<f64> = time
            .iter()
            .map(|t| {
                let reading = (t * scale_hz + 1e-9).floor();
                let grams = truth(reading / scale_hz) + noise_g * (noise(reading as usize) - 0.5);
                (grams / step_g).round() * step_g
            })
            .collect();
        let pressure: Vec<f64> = time
            .iter()
            .enumerate()
            .map(|(i, t)| if (2.0..28.0).contains(t) { 9.0 } else { 0.0 } + 0.02 * noise(i + 5000))
            .collect();
        let channels = [(Channel::Pressure, pressure), (Channel::CupMass, shown)];
        let trace = Trace::new(time, channels).unwrap();
        let read = |trace: &Trace, kind| {
            let events = find_events(trace);
            let all = measure(trace, &events, &Setup::default(), &Instruments::default());
            all.get(kind).map_or(f64::NAN, |one| one.value)
        };
        let (mended, report) = clean(&trace, &USUAL_STEPS);
        println!(
            "{case}: flow {:.4} and {:.4} g/s, resistance {:.3} and {:.3}",
            read(&trace, MeasureKind::MeanFlow),
            read(&mended, MeasureKind::MeanFlow),
            read(&trace, MeasureKind::Resistance),
            read(&mended, MeasureKind::Resistance)
        );
        let flow = read(&mended, MeasureKind::MeanFlow);
        assert!((flow / 1.5 - 1.0).abs() < 0.03, "{case}: {flow} g/s; {report:?}");
        let resistance = read(&mended, MeasureKind::Resistance);
        assert!((resistance / (9.0 * 0.963 / 1.5) - 1.0).abs() < 0.03, "{case}: {resistance}");
        let drawn = mended.get(Channel::Flow).unwrap();
        let inside: Vec<f64> = mended
            .time_s()
            .iter()
            .zip(drawn)
            .filter(|(t, q)| **t > 10.0 && **t < 26.0 && q.is_finite())
            .map(|(_, q)| *q)
            .collect();
        let mean = inside.iter().sum::<f64>() / inside.len() as f64;
        assert!(inside.len() as f64 > 15.0 * log_hz && (mean / 1.5 - 1.0).abs() < 0.03, "{case}: {mean} g/s");
        let off: Vec<f64> = mended
            .time_s()
            .iter()
            .zip(mass(&mended))
            .filter(|(t, m)| **t > 9.0 && **t < 27.0 && m.is_finite())
            .map(|(t, m)| m - truth(*t))
            .collect();
        let bias = off.iter().sum::<f64>() / off.len() as f64;
        assert!(bias.abs() < 0.1 * step_g.max(1.5 / scale_hz), "{case}: {bias} g");
        let sentence = &report.iter().find(|one| one.step == Step::FlowFromMass).unwrap().sentence;
        assert!(step_g < 0.5 || !sentence.contains("here 0.000"), "{case}: {sentence}");
    }
}
