//! Filters against reference files (each names its source and tolerance): Savitzky–Golay weights in exact rational
//! arithmetic and series by scipy 1.17.1; LOWESS by statsmodels 0.15.0; delay by normalised cross-correlation.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use thirdpull::trace::{delay, lowess, savitzky_golay, savitzky_golay_weights};

fn cases(name: &str) -> Vec<Value> {
    let path = format!("{}/tests/data/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let file: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let cases = file["cases"].as_array().unwrap().clone();
    assert!(cases.len() > 3, "{name} has {} cases", cases.len());
    cases
}

fn list(case: &Value, key: &str) -> Vec<f64> {
    case[key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn near(got: &[f64], want: &[f64], tolerance: f64, what: &str) {
    assert_eq!(got.len(), want.len(), "{what}");
    for (at, (g, w)) in got.iter().zip(want).enumerate() {
        assert!((g - w).abs() <= tolerance * w.abs().max(1.0), "{what} [{at}]: {g} against {w}");
    }
}

#[test]
fn savitzky_golay_agrees() {
    for case in cases("savitzky-golay") {
        let number = |key: &str| case[key].as_u64().unwrap() as usize;
        let (window, degree, derivative) = (number("window"), number("polynomial"), number("derivative"));
        let delta = case["delta"].as_f64().unwrap();
        let id = case["id"].as_str().unwrap();
        let weights = |at| savitzky_golay_weights(window, degree, derivative, delta, at);
        near(&weights(window / 2), &list(&case, "weights_centre"), 1e-9, id);
        near(&weights(0), &list(&case, "weights_first_point"), 1e-9, id);
        near(&weights(1), &list(&case, "weights_second_point"), 1e-9, id);
        let filtered = savitzky_golay(&list(&case, "y"), window, degree, derivative, delta);
        near(&filtered, &list(&case, "filtered_interp"), 1e-9, id);
    }
    assert!(savitzky_golay_weights(5, 5, 0, 1.0, 2).is_empty());
}

#[test]
fn lowess_agrees() {
    for case in cases("lowess") {
        let rounds = case["robustness_rounds"].as_u64().unwrap() as usize;
        let got = lowess(&list(&case, "x"), &list(&case, "y"), case["frac"].as_f64().unwrap(), rounds);
        near(&got, &list(&case, "fitted"), 1e-9, case["id"].as_str().unwrap());
    }
}

#[test]
fn delay_agrees() {
    for case in cases("trace-alignment") {
        let id = case["id"].as_str().unwrap();
        let max = case["max_lag_samples"].as_u64().unwrap() as usize;
        let got = delay(&list(&case, "a"), &list(&case, "b"), max).unwrap();
        assert_eq!(got.lag, case["best_lag_samples"].as_i64().unwrap(), "{id}");
        assert!((got.correlation - case["ncc_at_best"].as_f64().unwrap()).abs() < 1e-10, "{id}");
        let shift = got.samples * case["dt"].as_f64().unwrap();
        assert!((shift - case["subsample_shift_s"].as_f64().unwrap()).abs() < 1e-8, "{id}: {shift}");
    }
}
